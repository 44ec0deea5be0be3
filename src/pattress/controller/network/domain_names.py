"""Domain names on the wire: questions, records and answers (RFC 1035, section 4). Pure.

Used to look up the broker without the interpreter's own look-up, which blocks, and to answer
multicast questions for this controller (RFC 6762).
"""

A, PTR, TXT, AAAA, SRV, NSEC, ANY = 1, 12, 16, 28, 33, 47, 255
INTERNET = 1
UNICAST_WANTED = 0x8000     # RFC 6762, section 5.4: top bit of a question's class
LAST_WORD = 0x8000          # RFC 6762, section 10.2: top bit of a record's class, "cache flush"
LONGEST_LABEL, LONGEST_NAME = 63, 255
HOPS = 16                   # compressed names may point so often; a circle ends here


class BadPacket(Exception):
    """Bytes that are no message of the domain name system."""


def name_bytes(name):
    """Return a name of labels, a tuple of bytes, uncompressed (section 3.1)."""
    packed = bytearray()
    for label in name:
        if not 1 <= len(label) <= LONGEST_LABEL:
            raise ValueError("a label must be 1 to 63 bytes, found {}".format(len(label)))
        packed.append(len(label))
        packed.extend(label)
    packed.append(0)
    if len(packed) > LONGEST_NAME:
        raise ValueError("a name must be at most 255 bytes, found {}".format(len(packed)))
    return bytes(packed)


def labels(host):
    """Return a host name given as text as labels, in small letters."""
    return tuple([label.encode() for label in host.rstrip(".").lower().split(".")])


def question(number, name, kind, asked_class=INTERNET):
    """Return a query with recursion desired (section 4.1)."""
    return header(number, 0x0100, questions=1) + name_bytes(name) + two(kind) + two(asked_class)


def header(number, flags, questions=0, answers=0, authority=0, additional=0):
    """Return the head of a message (section 4.1.1)."""
    return two(number) + two(flags) + two(questions) + two(answers) + two(authority) + two(additional)


def record(name, kind, record_class, seconds, content):
    """Return one resource record (section 4.1.3)."""
    return (name_bytes(name) + two(kind) + two(record_class) + seconds.to_bytes(4, "big")
            + two(len(content)) + content)


def two(number):
    return number.to_bytes(2, "big")


def read_questions(packet):
    """Return (number, flags, questions, where the answers begin); a question is (name, kind, class)."""
    if len(packet) < 12:
        raise BadPacket("{} bytes are no message".format(len(packet)))
    count, at, found = _number(packet, 4), 12, []
    if count > 16:
        raise BadPacket("{} questions".format(count))
    for _ in range(count):
        name, at = read_name(packet, at)
        if at + 4 > len(packet):
            raise BadPacket("a question is cut off")
        found.append((name, _number(packet, at), _number(packet, at + 2)))
        at += 4
    return _number(packet, 0), _number(packet, 2), found, at


def read_answers(packet, at):
    """Return the answer records from `at` on, each (name, kind, class, seconds, content)."""
    count, found = _number(packet, 6), []
    if count > 32:
        raise BadPacket("{} answers".format(count))
    for _ in range(count):
        name, at = read_name(packet, at)
        if at + 10 > len(packet):
            raise BadPacket("a record is cut off")
        end = at + 10 + _number(packet, at + 8)
        if end > len(packet):
            raise BadPacket("a record is cut off")
        found.append((name, _number(packet, at), _number(packet, at + 2),
                      _number(packet, at + 4) << 16 | _number(packet, at + 6), bytes(packet[at + 10:end])))
        at = end
    return found


def read_name(packet, at):
    """Return (labels in small letters, where reading goes on); follows pointers (section 4.1.4)."""
    found, after, length = [], -1, 0
    for _ in range(HOPS + LONGEST_NAME):
        if at >= len(packet):
            break
        size = packet[at]
        if size == 0:
            return tuple(found), at + 1 if after < 0 else after
        if size >= 0xC0:
            if at + 1 >= len(packet):
                break
            if after < 0:
                after = at + 2
            target = (size & 0x3F) << 8 | packet[at + 1]
            if target >= at:
                break           # a pointer points back, so it cannot go round
            at = target
        elif size > LONGEST_LABEL or at + 1 + size > len(packet):
            break
        else:
            length += size + 1
            if length >= LONGEST_NAME:
                break
            found.append(bytes(packet[at + 1:at + 1 + size]).lower())
            at += 1 + size
    raise BadPacket("a name that cannot be read")


def address_of(packet, number, name):
    """Return the IPv4 address that answers a question, as text; "" when the answer holds none, None when it is none."""
    found_number, flags, questions, at = read_questions(packet)
    if found_number != number or not flags & 0x8000:
        return None
    if questions and questions[0][0] != name:       # a multicast answer repeats no question (RFC 6762, section 6)
        return None
    for _, kind, _, _, content in read_answers(packet, at):
        if kind == A and len(content) == 4:         # its owner may be an alias of `name` by then (CNAME)
            return "{}.{}.{}.{}".format(content[0], content[1], content[2], content[3])
    return ""


def is_address(host):
    """Return whether a text is an IPv4 address."""
    parts = host.split(".")
    return len(parts) == 4 and all([part.isdigit() and len(part) <= 3 and int(part) < 256 for part in parts])


def _number(packet, at):
    return packet[at] << 8 | packet[at + 1]
