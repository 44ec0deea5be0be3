"""MQTT 3.1.1 control packets: bytes to send, and a reader of what arrives. Pure.

Section numbers are those of the OASIS Standard "MQTT Version 3.1.1", 29 October 2014 (from
memory). Only what a client needs that publishes and subscribes with QoS 0 and 1.
"""

CONNECT, CONNACK, PUBLISH, PUBACK = 1, 2, 3, 4
SUBSCRIBE, SUBACK, PINGREQ, PINGRESP, DISCONNECT = 8, 9, 12, 13, 14
TOO_LONG = 0            # no packet of the standard: a PUBLISH longer than the reader's limit, its end dropped

PING = b"\xc0\x00"      # 3.12
LIMIT = 512             # longest packet that is kept whole [B]; a longer PUBLISH is read past, however long it is
LONGEST = 268_435_455   # the standard's own limit (2.2.3)
SHOWN = 100             # of a topic that does not fit [B]

# What a broker may send to this client, with the shortest and longest body; 2.2.1 and 2.2.2.
_EXPECTED = {CONNACK: (2, 2), PUBLISH: (3, LONGEST), PUBACK: (2, 2), SUBACK: (3, LIMIT), PINGRESP: (0, 0)}


class Malformed(Exception):
    """Bytes that no broker may send. The connection must be closed (4.8)."""


def remaining_length(length):
    """Return a length as it stands in the fixed header (2.2.3)."""
    if not 0 <= length <= LONGEST:
        raise ValueError("length must be 0 to 268435455, found {}".format(length))
    coded = bytearray()
    while True:
        length, digit = length >> 7, length & 0x7F
        coded.append(digit | 0x80 if length else digit)
        if not length:
            return bytes(coded)


def text(content):
    """Return bytes, UTF-8 already, with their length before them (1.5.3)."""
    if len(content) > 65535:
        raise ValueError("text must be at most 65535 bytes, found {}".format(len(content)))
    return len(content).to_bytes(2, "big") + content


def connect(client, keep_alive, will_topic, will, user=None, password=None):
    """Return a CONNECT for a clean session with a retained will of QoS 1 (3.1).

    All but `keep_alive` [s] are bytes. A password without a user is not allowed (3.1.2.9).
    """
    flags = 0x02 | 0x04 | 0x08 | 0x20       # clean session 3.1.2.4, will 3.1.2.5, its QoS 1 3.1.2.6, retained 3.1.2.7
    body = text(client) + text(will_topic) + text(will)
    if user is not None:
        flags |= 0x80
        body += text(user)
        if password is not None:
            flags |= 0x40
            body += text(password)
    body = text(b"MQTT") + bytes((4, flags)) + keep_alive.to_bytes(2, "big") + body
    return b"\x10" + remaining_length(len(body)) + body


def publish_head(topic, length, packet=0, retain=False):
    """Return all of a PUBLISH but its payload of `length` bytes; QoS 1 if `packet` is not 0 (3.3)."""
    body = text(topic) + (packet.to_bytes(2, "big") if packet else b"")
    return bytes((0x30 | (2 if packet else 0) | (1 if retain else 0),)) + remaining_length(len(body) + length) + body


def publish(topic, payload, packet=0, retain=False):
    """Return a PUBLISH; QoS 1 if `packet` is not 0, else QoS 0 (3.3)."""
    return publish_head(topic, len(payload), packet, retain) + payload


def puback(packet):
    """Return a PUBACK (3.4)."""
    return b"\x40\x02" + packet.to_bytes(2, "big")


def subscribe(packet, topic_filter, qos=1):
    """Return a SUBSCRIBE to one filter (3.8); its fixed header carries 0010 (3.8.1)."""
    body = packet.to_bytes(2, "big") + text(topic_filter) + bytes((qos,))
    return b"\x82" + remaining_length(len(body)) + body


def refusal(code):
    """Return what a return code of CONNACK says, which is not 0 (3.2.2.3)."""
    words = ("this protocol version is refused,this client name is refused,the broker is out of service,user name or password is malformed,"
             "not allowed").split(",")
    return words[code - 1] if code <= len(words) else "the broker refuses"


def publication(flags, body, is_whole=True):
    """Return (topic, packet, payload) of a PUBLISH, packet 0 for QoS 0 (3.3); not `is_whole`: of one that is TOO_LONG.

    Raises Malformed: QoS 2 was never granted, 3 does not exist (3.3.1.2); a topic is UTF-8
    without U+0000 (1.5.3) and without wildcards (3.3.2.1); a packet number is never 0 (2.3.1).
    """
    qos = flags >> 1 & 3
    if qos > 1:
        raise Malformed("a publication of QoS {}".format(qos))
    if not qos and flags & 8:
        raise Malformed("a repeated publication of QoS 0")      # 3.3.1.1
    end = 2 + (body[0] << 8 | body[1])
    topic = bytes(body[2:end])
    payload_at = end + 2 if qos else end
    if payload_at > len(body):
        raise Malformed("a publication shorter than its topic")
    if not topic or b"\x00" in topic or b"+" in topic or b"#" in topic:
        raise Malformed("a topic that nobody may publish to")
    try:
        if is_whole:                    # else it may be cut within a letter
            topic.decode()
    except UnicodeError:
        raise Malformed("a topic that is not UTF-8")
    packet = body[end] << 8 | body[end + 1] if qos else 0
    if qos and not packet:
        raise Malformed("packet number 0")
    return topic, packet, bytes(body[payload_at:])


class Reader:
    """Takes bytes as they come and gives back whole packets, out of one buffer of `limit` bytes."""

    def __init__(self, limit=LIMIT):
        self._buffer = bytearray(limit)
        self._limit = limit
        self._first = -1        # first byte of the packet under way, -1 between packets
        self._length = 0        # its remaining length
        self._shift = 0         # places of the length seen so far, in bits; -1 when complete
        self._got = 0           # bytes of the body seen
        self._number = bytearray(2)     # the packet number behind a topic that does not fit
        self.is_long = False    # a packet that does not fit is under way: nothing else can come before its end

    def feed(self, data):
        """Return a list of (kind, flags, body) that `data` completes. Raises Malformed."""
        packets = []
        at, end = 0, len(data)
        while at < end:
            if self._first < 0:
                self._begin(data[at])
                at += 1
            elif self._shift >= 0:
                self._lengthen(data[at])
                at += 1
            else:
                at += self._keep(data, at)
            if self._first >= 0 and self._shift < 0 and self._got == self._length:
                packets.append(self._packet())
        return packets

    def _begin(self, first):
        kind, flags = first >> 4, first & 15
        if kind not in _EXPECTED or (flags and kind != PUBLISH):
            raise Malformed("a packet that begins with 0x{:02x}".format(first))
        self._first, self._length, self._shift, self._got = first, 0, 0, 0

    def _lengthen(self, digit):
        self._length |= (digit & 0x7F) << self._shift
        self._shift += 7
        if digit & 0x80:
            if self._shift > 21:
                raise Malformed("a length of more than four bytes")
            return
        self._shift = -1
        shortest, longest = _EXPECTED[self._first >> 4]
        if not shortest <= self._length <= longest:
            raise Malformed("a packet of kind {} with {} bytes".format(self._first >> 4, self._length))
        self.is_long = self._length > self._limit

    def _keep(self, data, at):
        """Take what belongs to the body; return how many bytes that were."""
        part = min(self._length - self._got, len(data) - at)
        kept = min(part, self._limit - self._got)
        if kept > 0:
            self._buffer[self._got:self._got + kept] = data[at:at + kept]
        if self.is_long:
            for place in (0, 1):
                behind = 2 + (self._buffer[0] << 8 | self._buffer[1]) + place - self._got
                if 0 <= behind < part:
                    self._number[place] = data[at + behind]
        self._got += part
        return part

    def _packet(self):
        kind, flags = self._first >> 4, self._first & 15
        self._first = -1
        if self.is_long:
            self.is_long = False
            number = self._number if flags & 6 else b""
            if self._limit < 2 + (self._buffer[0] << 8 | self._buffer[1]) + len(number) <= self._length:
                return TOO_LONG, flags, text(bytes(self._buffer[2:SHOWN])) + number
            return TOO_LONG, flags, bytes(self._buffer)
        return kind, flags, bytes(memoryview(self._buffer)[:self._length])
