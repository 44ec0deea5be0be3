"""Found without a name server: answers multicast questions for this controller.

Multicast DNS (RFC 6762) and DNS-based service discovery (RFC 6763), both from memory; the
service is that of W3C WoT Discovery, `_wot._tcp` with `td` and `type` (from memory). The
`Responder` is pure; `serve` is the edge.
"""

import asyncio
import os
import socket

from .domain_names import (
    A, ANY, INTERNET, LAST_WORD, NSEC, PTR, SRV, TXT, UNICAST_WANTED, BadPacket, header, name_bytes, read_answers,
    read_questions, record, two,
)
from .reach import listening, resolved

GROUP, PORT = "224.0.0.251", 5353
HOST_S, OTHER_S, LEGACY_S = 120, 4500, 10       # how long others may keep it: RFC 6762, sections 10 and 6.7
ANSWER = 0x8400                                 # a response, authoritative (18.2, 18.4)
IPPROTO_IP = 0                                  # the interpreter on the board has no name for it
LOOK_S = 0.05
AT_ONCE = 4                                     # packets judged in one look; a flood gets no more than its share

SERVICE = (b"_wot", b"_tcp", b"local")
ALL_SERVICES = (b"_services", b"_dns-sd", b"_udp", b"local")    # RFC 6763, section 9


class Responder:
    """Knows the records of one controller.

    `name` is its host name without `.local`, `title` what a person sees in a list, `address`
    its IPv4 address as text, `port` that of its page.
    """

    def __init__(self, name, title, address, port=80):
        self.name, self._title, self._port = name, title, port
        self._address = bytes([int(part) for part in address.split(".")])
        self.is_taken = False           # somebody else answers for our name

    @property
    def host(self):
        return (self.name.encode(), b"local")

    @property
    def instance(self):
        return (shortened(self._title),) + SERVICE

    def rename(self):
        """Take the next name: home, home-2, home-3 (RFC 6762, section 9)."""
        stem, hyphen, number = self.name.rpartition("-")
        if hyphen and number.isdigit():
            self.name = "{}-{}".format(stem, int(number) + 1)
        else:
            self.name += "-2"
        self.is_taken = False

    def probe(self):
        """Return the question whether our name is free, with the record we mean to use (8.1)."""
        return (header(0, 0, questions=1, authority=1) + name_bytes(self.host) + two(ANY)
                + two(INTERNET | UNICAST_WANTED) + self._records(HOST_S, 0)[A])

    def announcement(self, leaving=False):
        """Return all our records unasked; with a lifetime of 0 when we leave (8.3, 10.1)."""
        records = self._records(0 if leaving else HOST_S, LAST_WORD, 0 if leaving else OTHER_S)
        kept = [records[kind] for kind in (PTR, SRV, TXT, A)]
        return header(0, ANSWER, answers=len(kept)) + b"".join(kept)

    def answer(self, packet, source_port=PORT):
        """Return (reply, is it for the asker alone) to a packet; (None, False) when it asks nothing of us."""
        try:
            number, flags, questions, at = read_questions(packet)
            answers = read_answers(packet, at)
        except BadPacket:
            return None, False
        if flags & 0x8000:
            self._mind(answers)
            return None, False
        if flags & 0x7800:              # 18.3: another operation than a query is ignored
            return None, False
        legacy = source_port != PORT
        asked = self._asked(questions, [] if legacy else answers)
        if not asked:
            return None, False
        records = self._records(LEGACY_S, 0, LEGACY_S) if legacy else self._records(HOST_S, LAST_WORD, OTHER_S)
        also = [kind for kind in (SRV, TXT, A) if PTR in asked and kind not in asked]
        body = b"".join([records[kind] for kind in asked + also])
        if legacy:                      # 6.7: an ordinary answer, with the number and the question
            name, kind, asked_class = questions[0]
            question = name_bytes(name) + two(kind) + two(asked_class & 0x7FFF)
            return header(number, ANSWER, 1, len(asked), additional=len(also)) + question + body, True
        alone = all([asked_class & UNICAST_WANTED for _, _, asked_class in questions])
        return header(0, ANSWER, answers=len(asked), additional=len(also)) + body, bool(alone)

    def _asked(self, questions, known):
        """Return which of our records answer, without those the asker holds already (7.1)."""
        instance = tuple([label.lower() for label in self.instance])
        asked = []
        for name, kind, asked_class in questions:
            if asked_class & 0x7FFF not in (INTERNET, 255):
                continue
            for owner, kinds in ((SERVICE, (PTR,)), (ALL_SERVICES, (ALL_SERVICES,)), (instance, (SRV, TXT)), (self.host, (A,))):
                if name == owner:
                    for ours in kinds:
                        if kind in (ANY, PTR if ours == ALL_SERVICES else ours) and ours not in asked:
                            asked.append(ours)
            if name == self.host and kind not in (A, ANY) and NSEC not in asked:
                asked.append(NSEC)      # 6.1: we hold nothing else under this name
        for name, kind, _, seconds, _ in known:
            if name == SERVICE and kind == PTR and seconds * 2 >= OTHER_S and PTR in asked:
                asked.remove(PTR)
        return asked

    def _mind(self, answers):
        for name, kind, _, seconds, content in answers:
            if name == self.host and kind == A and seconds and content != self._address:
                self.is_taken = True

    def _records(self, host_s, last_word, other_s=OTHER_S):
        unique = INTERNET | last_word   # PTR records are shared: never the last word (10.2)
        location = b"\x00\x00\x00\x00" + two(self._port) + name_bytes(self.host)
        return {
            PTR: record(SERVICE, PTR, INTERNET, other_s, name_bytes(self.instance)),
            ALL_SERVICES: record(ALL_SERVICES, PTR, INTERNET, other_s, name_bytes(SERVICE)),
            SRV: record(self.instance, SRV, unique, host_s, location),
            TXT: record(self.instance, TXT, unique, other_s, text_record()),
            A: record(self.host, A, unique, host_s, self._address),
            NSEC: record(self.host, NSEC, unique, host_s, name_bytes(self.host) + b"\x00\x01\x40"),     # bit 1: A
        }


def text_record():
    """Return the pairs of W3C WoT Discovery: where the description lies, and that it is one thing (RFC 6763, section 6)."""
    packed = b""
    for pair in (b"td=/.well-known/wot", b"type=Thing", b"scheme=http"):
        packed += bytes((len(pair),)) + pair
    return packed


def shortened(title):
    """Return a title as a label: at most 63 bytes of UTF-8, no letter cut in two."""
    label = title.encode()[:63]
    while True:
        try:
            label.decode()
            return label or b"controller"
        except UnicodeError:
            label = label[:-1]


async def serve(responder, address, group=GROUP, port=PORT):
    """Ask for our name, announce it and answer until cancelled; `address` is that of our interface."""
    link, everyone = listening(port), resolved(group, port)
    try:
        link.setblocking(False)
        _join(link, group, address)
        await _claim(link, responder, everyone)
        while True:
            _look(link, responder, everyone)
            if responder.is_taken:
                responder.rename()
                await _claim(link, responder, everyone)
            await asyncio.sleep(LOOK_S)
    finally:
        try:
            link.sendto(responder.announcement(leaving=True), everyone)
        except OSError:
            pass
        link.close()


async def _claim(link, responder, everyone):
    """Probe three times, a quarter of a second apart, until nobody objects; then announce twice (8.1, 8.3)."""
    await asyncio.sleep(os.urandom(1)[0] / 1024)
    probes = 0
    while probes < 3:
        link.sendto(responder.probe(), everyone)
        await asyncio.sleep(0.25)
        _look(link, responder, everyone)
        probes += 1
        if responder.is_taken:
            responder.rename()
            probes = 0
    for _ in range(2):
        link.sendto(responder.announcement(), everyone)
        await asyncio.sleep(1)


def _look(link, responder, everyone):
    for _ in range(AT_ONCE):
        try:
            packet, source = link.recvfrom(1500)
        except OSError:                 # nothing more
            return
        reply, alone = responder.answer(packet, source_port(source))
        if reply is not None:
            try:
                link.sendto(reply, source if alone else everyone)
            except OSError:             # no room to send: the asker will ask again
                pass


def source_port(source):
    """Return the port of a sender, which the interpreter on a PC gives packed."""
    if isinstance(source, tuple):
        return source[1]
    return source[2] << 8 | source[3]


def _join(link, group, address):
    """Listen to the group on one interface, and send to it there when there are several (RFC 1112)."""
    membership = b"".join([bytes([int(part) for part in host.split(".")]) for host in (group, address)])
    link.setsockopt(IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, membership)
    if hasattr(socket, "IP_MULTICAST_IF"):
        link.setsockopt(IPPROTO_IP, socket.IP_MULTICAST_IF, membership[4:])
