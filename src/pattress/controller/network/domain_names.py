"""Domain names on the wire: questions, records and answers (RFC 1035, section 4). Pure.

Used to look up the broker without the interpreter's own look-up, which blocks, and to answer
multicast questions for this controller (RFC 6762).
"""

A, PTR, TXT, AAAA, SRV, NSEC, ANY = 1, 12, 16, 28, 33, 47, 255
INTERNET = 1
UNICAST_WANTED = 0x8000     # RFC 6762, section 5.4: top bit of a question's class
LAST_WORD = 0x8000          # RFC 6762, section 10.2: top bit of a record's class, "cache flush"
LONGEST_LABEL, LONGEST_NAME = 63, 255
HOPS = 16                   # compressed names may point so often
MOST = 32                   # entries that are looked at in one section of a message
QUESTION, ANSWER, AUTHORITY, ADDITIONAL = range(4)      # the sections (section 4.1)


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


def entries(packet):
    """Give (section, place of the name, kind, class, seconds, content) of each question and record of a message, in order.

    A name is only walked past here, and `is_there` compares one, so the work for each grows with its own
    bytes, whatever it points to: whoever takes packets from anybody lets the others have their turn between two.
    Raises BadPacket.
    """
    at = 12
    if len(packet) < at:
        raise BadPacket("{} bytes are no message".format(len(packet)))
    for section in (QUESTION, ANSWER, AUTHORITY, ADDITIONAL):
        count = _number(packet, 4 + 2 * section)
        if count > MOST:
            raise BadPacket("{} entries".format(count))
        for _ in range(count):
            name, at = at, _after_name(packet, at)
            end = at + 4 if section == QUESTION else at + 10
            seconds, content = 0, b""
            if section != QUESTION and end <= len(packet):
                seconds = _number(packet, at + 4) << 16 | _number(packet, at + 6)
                end += _number(packet, at + 8)
                content = packet[at + 10:end]
            if end > len(packet):
                raise BadPacket("an entry is cut off")
            yield section, name, _number(packet, at), _number(packet, at + 2), seconds, content
            at = end


def is_there(packet, at, name):
    """Return whether a name of labels in small letters stands at a place; follows pointers (section 4.1.4)."""
    hops = HOPS
    for label in name + (b"",):
        while at + 1 < len(packet) and packet[at] >= 0xC0:
            target = _number(packet, at) & 0x3FFF
            hops -= 1
            if target >= at or not hops:        # a pointer points back, so it cannot go round
                return False
            at = target
        end = at + 1 + len(label)
        if end > len(packet) or packet[at] != len(label) or packet[at + 1:end].lower() != label:
            return False
        at = end
    return True


def address_of(packet, number, name):
    """Return the IPv4 address that answers a question, as text; "" when the answer holds none, None when it is none. Raises BadPacket."""
    if packet[:2] != two(number) or not packet[2:3] > b"\x7f":
        return None
    for section, at, kind, _, _, content in entries(packet):
        if section > ANSWER:
            break
        if section == QUESTION and not is_there(packet, at, name):      # a multicast answer repeats no question (RFC 6762, section 6)
            return None
        if section and kind == A and len(content) == 4:                 # its owner may be an alias of `name` by then (CNAME)
            return "{}.{}.{}.{}".format(content[0], content[1], content[2], content[3])
    return ""


def _after_name(packet, at):
    """Return where reading goes on after a name (section 4.1.4)."""
    end = min(len(packet), at + LONGEST_NAME)
    while at < end:
        size = packet[at]
        if size >= 0xC0:
            return at + 2
        at += 1 + size
        if not size:
            return at
        if size > LONGEST_LABEL:
            break
    raise BadPacket("a name that cannot be read")


def _number(packet, at):
    return packet[at] << 8 | packet[at + 1]
