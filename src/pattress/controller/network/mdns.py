"""Found without a name server: answers multicast questions for this controller.

Multicast DNS (RFC 6762) and DNS-based service discovery (RFC 6763), both from memory; the
service is that of W3C WoT Discovery, `_wot._tcp` with `td` and `type` (from memory). The
`Responder` is pure; `serve` is the edge.
"""

import asyncio
import os
import socket

from .domain_names import (
    A, ANSWER, ANY, AUTHORITY, INTERNET, LAST_WORD, NSEC, PTR, QUESTION, SRV, TXT, UNICAST_WANTED, BadPacket, entries,
    header, is_there, name_bytes, record, two,
)
from .reach import addresses, listening, resolved
from .host_names import NAMES, numbered

GROUP, PORT = "224.0.0.251", 5353
HOST_S, OTHER_S, LEGACY_S = 120, 4500, 10       # how long others may keep it: RFC 6762, sections 10 and 6.7
RESPONSE = 0x8400                               # a response, authoritative (18.2, 18.4)
IPPROTO_IP = 0                                  # the interpreter on the board has no name for it
LOOK_S = 0.05
ADDRESS_S = 5                                   # between two looks whether our address is still the same
AT_ONCE = 2                                     # packets judged in one look; a flood gets no more than its share
SECOND, QUARTER = 20, 5                         # looks that take as long at least: nothing is told everyone again before (section 6)
LATER_S, TAKEN_S = 1, 5                         # before the next try for a name (8.2; 8.1, the way for simple devices)
NONE, LATER, TAKEN = range(3)                   # what others make of our name: nothing, they ask for it too and go first, it is theirs

SERVICE = (b"_wot", b"_tcp", b"local")
ALL_SERVICES = (b"_services", b"_dns-sd", b"_udp", b"local")    # RFC 6763, section 9


class Responder:
    """Knows the records of one controller.

    `name` is its host name without `.local`, `title` what a person sees in a list, `address`
    its IPv4 address as text, `port` that of its page.
    """

    def __init__(self, name, title, address, port=80):
        self.name, self._wanted, self._title, self._port = name, name, title, port
        self._address = bytes([int(part) for part in address.split(".")])
        self.is_claimed = False         # nobody objected to our name: only then is anything answered (8.1)
        self.conflict = NONE
        self._looks = 0
        self._told = {}                 # when each record was last told everyone

    @property
    def host(self):
        return (self.name.encode(), b"local")

    @property
    def instance(self):
        return (shortened(self._title),) + SERVICE

    def rename(self):
        """Take the next name: home, home-2 ... home-9, and again home (RFC 6762, section 9)."""
        stem, wanted = numbered(self._wanted)
        number = numbered(self.name)[1] + 1
        self.name = self._wanted if number == wanted + NAMES else "{}-{}".format(stem, number)

    def probe(self):
        """Return the question whether our name is free, with the record we mean to use (8.1). Until the announcement it is nobody's."""
        self.is_claimed, self.conflict = False, NONE
        return (header(0, 0, questions=1, authority=1) + name_bytes(self.host) + two(ANY)
                + two(INTERNET | UNICAST_WANTED) + self._records(HOST_S, 0)[A])

    def announcement(self, leaving=False):
        """Return all our records unasked: from here on the name is ours; with a lifetime of 0 when we leave (8.3, 10.1)."""
        self.is_claimed = True
        records = self._records(0 if leaving else HOST_S, LAST_WORD, 0 if leaving else OTHER_S)
        kept = [records[kind] for kind in (PTR, SRV, TXT, A)]
        return header(0, RESPONSE, answers=len(kept)) + b"".join(kept)

    def look(self):
        """Note that we look for packets once more, LOOK_S after the last time at least."""
        self._looks += 1

    async def answer(self, packet, source_port=PORT):
        """Return (reply, is it for the asker alone) to a packet; (None, False) when it asks nothing of us.

        The others have their turn between two entries of it.
        """
        try:
            return await self._reply(packet, source_port != PORT)
        except BadPacket:
            return None, False

    async def _reply(self, packet, legacy):
        flags = int.from_bytes(packet[2:4], "big")
        owners = ((SERVICE, (PTR,)), (ALL_SERVICES, (ALL_SERVICES,)),
                  (tuple([label.lower() for label in self.instance]), (SRV, TXT)), (self.host, (A,)))
        asked, question, alone, pause = [], None, True, SECOND
        for section, at, kind, entry_class, seconds, content in entries(packet):
            await asyncio.sleep(0)
            if flags & 0x8000:
                if kind == A and seconds and content != self._address and is_there(packet, at, self.host):
                    self.conflict = TAKEN
            elif section == QUESTION:
                alone = alone and entry_class & UNICAST_WANTED
                for owner, kinds in owners:
                    if entry_class & 0x7FFF in (INTERNET, 255) and is_there(packet, at, owner):
                        wanted = [ours for ours in kinds if kind in (ANY, PTR if ours == ALL_SERVICES else ours)]
                        if owner == self.host and not wanted:
                            wanted = (NSEC,)        # 6.1: we hold nothing else under this name
                        asked += [ours for ours in wanted if ours not in asked]
                        question = question or name_bytes(owner) + two(kind) + two(entry_class & 0x7FFF)
            elif section == ANSWER:     # 7.1: what the asker holds already
                if kind == PTR and PTR in asked and not legacy and 2 * seconds >= OTHER_S and is_there(packet, at, SERVICE):
                    asked.remove(PTR)
            elif section == AUTHORITY:  # somebody asks for a name that is to be theirs: whoever has the name says so sooner (8.1)
                pause = QUARTER
                if kind == A and content > self._address and not self.is_claimed and is_there(packet, at, self.host):
                    self.conflict = max(self.conflict, LATER)
        if flags & 0xF800 or not self.is_claimed:       # 18.3: another operation than a query is ignored
            return None, False
        if not legacy and not alone:
            asked = [ours for ours in asked if self._looks - self._told.get(ours, -SECOND) >= pause]
            for ours in asked:
                self._told[ours] = self._looks
        if not asked:
            return None, False
        records = self._records(LEGACY_S, 0, LEGACY_S) if legacy else self._records(HOST_S, LAST_WORD, OTHER_S)
        also = [kind for kind in (SRV, TXT, A) if PTR in asked and kind not in asked]
        body = b"".join([records[kind] for kind in asked + also])
        if legacy:                      # 6.7: an ordinary answer, with the number and the question
            return packet[:2] + header(0, RESPONSE, 1, len(asked), additional=len(also))[2:] + question + body, True
        return header(0, RESPONSE, answers=len(asked), additional=len(also)) + body, bool(alone)

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


async def keep_found(name, title, radio, port, multicast=PORT):
    """Answer for a name at whatever address the radio has, for good."""
    while True:
        address = (await addresses(radio))[0]
        answering = asyncio.create_task(serve(Responder(name, title, address, port), address, port=multicast))
        try:
            while not answering.done() and (await addresses(radio))[0] == address:
                await asyncio.sleep(ADDRESS_S)
            if answering.done():
                await answering         # raises what it failed with
        finally:
            answering.cancel()


async def serve(responder, address, group=GROUP, port=PORT):
    """Ask for our name, announce it and answer until cancelled; `address` is that of our interface."""
    link, everyone = listening(port), resolved(group, port)
    try:
        link.setblocking(False)
        _join(link, group, address)
        await respond(link, responder, everyone)
    finally:
        try:
            link.sendto(responder.announcement(leaving=True), everyone)
        except OSError:
            pass
        link.close()


async def respond(link, responder, everyone):
    """The same over a socket that is there; `everyone` is where the group is reached."""
    while True:
        await _claim(link, responder, everyone)
        while not responder.conflict:           # somebody says they have our name: then it is asked for anew (section 9)
            await _listen(link, responder, everyone, LOOK_S)


async def _claim(link, responder, everyone):
    """Probe three times, a quarter of a second apart, until nobody objects; then announce twice (8.1, 8.3)."""
    await asyncio.sleep(os.urandom(1)[0] / 1024)
    probes = 0
    while probes < 3:
        link.sendto(responder.probe(), everyone)
        await _listen(link, responder, everyone, 0.25)
        probes += 1
        if responder.conflict:
            probes = 0
            if responder.conflict == TAKEN:
                responder.rename()
            await _listen(link, responder, everyone, TAKEN_S if responder.conflict == TAKEN else LATER_S)
    for _ in range(2):
        link.sendto(responder.announcement(), everyone)
        await _listen(link, responder, everyone, 1)


async def _listen(link, responder, everyone, seconds):
    """Answer what comes, for a while."""
    for _ in range(int(seconds / LOOK_S)):
        await asyncio.sleep(LOOK_S)
        responder.look()
        for _ in range(AT_ONCE):
            try:
                packet, source = link.recvfrom(1500)
            except OSError:             # nothing more
                break
            reply, alone = await responder.answer(packet, source_port(source))
            if reply is not None:
                try:
                    link.sendto(reply, source if alone else everyone)
                except OSError:         # no room to send: the asker will ask again
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
