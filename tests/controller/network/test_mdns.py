"""Names on the wire, read and written against an independent library, and the responder on a real socket."""

import asyncio
import selectors
import socket
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from zeroconf import DNSAddress, DNSIncoming, DNSOutgoing, DNSPointer, DNSQuestion, DNSService, DNSText, ServiceBrowser, Zeroconf

from pattress.controller.network import mdns
from pattress.controller.network.domain_names import ANY, A, BadPacket, address_of, entries, is_there, labels, question
from pattress.controller.network.host_names import NAMES, numbered
from pattress.controller.network.mdns import LATER, NONE, QUARTER, SECOND, TAKEN, Responder, shortened
from pattress.controller.network.reach import is_address

from . import broker, places

SERVICE, HOST, INSTANCE = "_wot._tcp.local.", "home.local.", "Küche und Flur._wot._tcp.local."
QUERY = 0x0000


def responder(name="home", address="192.0.2.7"):
    ours = Responder(name, "Küche und Flur", address, 80)
    ours.is_claimed = True
    return ours


def replied(ours, packet, source_port=mdns.PORT):
    answering = ours.answer(packet, source_port)
    try:
        while True:
            answering.send(None)        # the others' turn
    except StopIteration as done:
        return done.value


def asking(*questions, known=()):
    """Return a multicast query, written by the independent library."""
    out = DNSOutgoing(QUERY)
    for name, kind in questions:
        out.add_question(DNSQuestion(name, kind, 1))
    for record in known:
        out.add_answer_at_time(record, 0)
    return out.packets()[0]


def answers(packet):
    """Return the records of a reply, read by the independent library."""
    incoming = DNSIncoming(packet)
    assert incoming.valid
    return incoming.answers()


def of(kind, records):
    return [record for record in records if isinstance(record, kind)]


def test_a_browser_gets_all_it_needs_in_one_answer():
    reply, alone = replied(responder(), asking((SERVICE, 12)))
    records = answers(reply)
    assert not alone
    assert [record.alias for record in of(DNSPointer, records)] == [INSTANCE]
    assert [(record.server, record.port) for record in of(DNSService, records)] == [(HOST, 80)]
    assert [record.text for record in of(DNSText, records)] == [b"\x13td=/.well-known/wot\x0atype=Thing\x0bscheme=http"]
    assert [socket.inet_ntoa(record.address) for record in of(DNSAddress, records)] == ["192.0.2.7"]
    assert all(record.unique for record in records if not isinstance(record, DNSPointer))       # 10.2
    assert [record.ttl for record in of(DNSAddress, records)] == [120]                           # section 10


@pytest.mark.parametrize("name, kind, found", [
    (HOST, 1, DNSAddress), ("HOME.local.", 1, DNSAddress), (INSTANCE, 33, DNSService), (INSTANCE, 16, DNSText), (HOST, 255, DNSAddress),
    ("_services._dns-sd._udp.local.", 12, DNSPointer),
])
def test_single_questions_are_answered(name, kind, found):
    reply, _ = replied(responder(), asking((name, kind)))
    assert of(found, answers(reply))


@pytest.mark.parametrize("name, kind", [("other.local.", 1), ("_http._tcp.local.", 12), (SERVICE, 1), ("local.", 1)])
def test_other_questions_are_left_to_others(name, kind):
    assert replied(responder(), asking((name, kind))) == (None, False)


def test_a_host_without_the_address_asked_for_says_so():
    reply, _ = replied(responder(), asking((HOST, 28)))
    assert [(record.name, record.type) for record in answers(reply)] == [(HOST, 47)]             # NSEC, 6.1


def test_what_the_asker_knows_is_not_told_again():
    fresh, half_gone = DNSPointer(SERVICE, 12, 1, 4500, INSTANCE), DNSPointer(SERVICE, 12, 1, 2000, INSTANCE)
    assert replied(responder(), asking((SERVICE, 12), known=[fresh])) == (None, False)             # 7.1
    assert replied(responder(), asking((SERVICE, 12), known=[half_gone]))[0]


def test_an_ordinary_resolver_gets_an_ordinary_answer():
    """Section 6.7: from another port; its number and question come back, nothing may be kept long or as the last word."""
    packet = question(4711, labels("home.local"), A)
    reply, alone = replied(responder(), packet, 40000)
    incoming = DNSIncoming(reply)
    assert alone and incoming.id == 4711 and [asked.name for asked in incoming.questions] == [HOST]
    assert [(record.ttl, record.unique) for record in incoming.answers()] == [(10, False)]
    assert address_of(reply, 4711, labels("home.local")) == "192.0.2.7"


def test_announcements_and_farewells_are_read_by_others():
    ours = responder()
    told = answers(ours.announcement())
    assert {type(record) for record in told} == {DNSPointer, DNSService, DNSText, DNSAddress}
    assert {record.ttl for record in answers(ours.announcement(leaving=True))} == {0}


# RFC 6762, sections 8 and 9 (from memory).

def test_a_rival_s_record_is_a_conflict_and_our_own_echo_is_none():
    ours, rival = responder(), responder(address="192.0.2.8")
    replied(ours, ours.announcement())
    replied(ours, rival.announcement(leaving=True))
    assert ours.conflict == NONE
    replied(ours, rival.announcement())
    assert ours.conflict == TAKEN
    incoming = DNSIncoming(ours.probe())
    assert incoming.valid and [asked.name for asked in incoming.questions] == [HOST] and incoming.num_authorities == 1


def test_of_two_that_ask_for_a_name_at_once_the_one_with_the_later_address_gets_it():
    lower, higher = responder(), responder(address="192.0.2.8")
    probe, other = lower.probe(), higher.probe()
    assert replied(lower, other) == replied(higher, probe) == (None, False)
    assert (lower.conflict, higher.conflict) == (LATER, NONE)
    higher.announcement()
    reply, alone = replied(higher, lower.probe())                        # who has the name says so
    replied(lower, reply)
    assert alone and (lower.conflict, higher.conflict) == (TAKEN, NONE)


@pytest.mark.parametrize("name, others", [("home", "home-{}"), ("hall-2", "hall-{}"), ("7", "7-{}")])
def test_the_names_that_a_controller_may_take_end(name, others):
    ours, taken = responder(name), []
    for _ in range(NAMES):
        ours.rename()
        taken.append(ours.name)
    number = numbered(name)[1]
    assert taken == [others.format(number + more) for more in range(1, NAMES)] + [name]


def look(ours, times):
    for _ in range(times):
        ours.look()


def test_everyone_is_told_a_record_once_a_second_and_who_asks_for_the_name_sooner():
    """Section 6; a look takes 50 ms."""
    ours = responder()
    asked, probe = asking((SERVICE, 12)), responder(address="192.0.2.9").probe()
    assert (SECOND, QUARTER) == (1 / mdns.LOOK_S, 0.25 / mdns.LOOK_S)
    assert replied(ours, asked)[0] and not replied(ours, asked)[0] and replied(ours, asking((HOST, 28)))[0]
    look(ours, SECOND - 1)
    assert not replied(ours, asked)[0]
    assert replied(ours, question(1, labels("home.local"), A), 40000)[0] and replied(ours, probe)[1]      # told one alone
    look(ours, 1)
    assert replied(ours, asked)[0]
    for looks, is_told in ((SECOND, True), (QUARTER - 1, False), (1, True)):
        look(ours, looks)
        assert (replied(ours, probe.replace(b"\x00\xff\x80\x01", b"\x00\xff\x00\x01"))[0] is not None) == is_told


def test_a_long_title_is_cut_between_letters():
    assert shortened("ä" * 40) == "ä".encode() * 31 and shortened("") == b"controller"


def test_addresses_are_told_from_names():
    assert is_address("192.0.2.7") and not any(map(is_address, ["192.0.2", "192.0.2.256", "a.b.c.d", "broker.local", "1.2.3.4.5", "1..2.3"]))


@pytest.mark.parametrize("packet, words", [
    (b"", "0 bytes are no message"), (bytes(11), "11 bytes are no message"), (question(1, labels("a.b"), A)[:-1], "an entry is cut off"),
    (bytes((0, 0, 0x80, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 0, 9)), "an entry is cut off"),
    (bytes((0, 0, 0x80, 0, 0xFF, 0xFF)) + bytes(300), "65535 entries"),
    (bytes((0, 0, 0x80, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0x40, 1, 0, 1)), "a name that cannot be read"),
    (bytes((0, 0, 0x80, 0, 0, 1, 0, 0, 0, 0, 0, 0)) + b"\x01a" * 128 + bytes(5), "a name that cannot be read"),
])
def test_a_broken_packet_is_named_as_such(packet, words):
    with pytest.raises(BadPacket, match=f"^{words}$"):
        list(entries(packet))


@pytest.mark.parametrize("tail, at, is_ours", [
    (b"\x04home\x05local\x00", 12, True), (b"\x05local\x00\x04home\xc0\x0c", 19, True), (b"\x04HOME\x05Local\x00", 12, True),
    (b"\x04home\x05local\x01x\x00", 12, False), (b"\x04home\x00", 12, False), (b"\x04home\x05local", 12, False),
    (b"\xc0\x0c\x00", 12, False), (b"\xc0\x12\x00", 12, False), (b"\x04home\xc0", 12, False),      # points at itself, forward, nowhere
    (b"\x04home\x05local\x00" + b"".join(bytes((0xC0, 12 if not n else 22 + 2 * n)) for n in range(15)), 52, True),
    (b"\x04home\x05local\x00" + b"".join(bytes((0xC0, 12 if not n else 22 + 2 * n)) for n in range(16)), 54, False),     # too often
])
def test_a_name_is_compared_where_it_stands_and_where_it_points(tail, at, is_ours):
    assert is_there(bytes(12) + tail, at, labels("home.local")) == is_ours


def hold_against_hostile_bytes(noise, packet, place, byte):
    packet = bytearray(packet)
    packet[place % len(packet)] = byte
    for one in (noise, bytes(packet), bytes(packet[:place % len(packet)])):
        for source_port in (mdns.PORT, 40000):
            reply, _ = replied(responder(), one, source_port)
            assert reply is None or DNSIncoming(reply).valid
        for read in (lambda: address_of(one, 1, ()), lambda: list(entries(one))):
            try:
                read()
            except BadPacket:
                pass


HOSTILE = dict(noise=st.binary(max_size=80), packet=st.sampled_from([asking((SERVICE, 12), (HOST, 1)), responder().announcement()]),
               place=st.integers(0, 300), byte=st.integers(0, 255))


@settings(max_examples=2000)
@given(**HOSTILE)
def test_hostile_packets_do_no_harm(noise, packet, place, byte):
    hold_against_hostile_bytes(noise, packet, place, byte)


@pytest.mark.soak
@settings(max_examples=100_000)
@given(**HOSTILE)
def test_hostile_packets_do_no_harm_in_the_long_run(noise, packet, place, byte):
    hold_against_hostile_bytes(noise, packet, place, byte)


SERVE = """
import asyncio
from simulated import Board, live
from radio import mdns

board = Board()
mdns.TAKEN_S = SETTINGS.get("taken_s", mdns.TAKEN_S)
ours = mdns.Responder("home", "Home", SETTINGS.get("address", "127.0.0.1"), 8080)
names = []

async def watch():
    while True:
        if names[-1:] != [ours.name]:
            names.append(ours.name)
        await asyncio.sleep(0.02)

asyncio.run(live(board, SETTINGS["stop"], watch(), mdns.serve(ours, SETTINGS.get("address", "127.0.0.1"), port=SETTINGS["port"])))
board.report(names=names)
"""


def test_a_controller_answers_on_its_socket(place):
    port = broker.free_port()
    with places.Running(*place, SERVE, port=port) as board, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as link:
        link.settimeout(0.2)
        for _ in range(50):
            link.sendto(b"noise", ("127.0.0.1", port))
            link.sendto(question(9, labels("home.local"), ANY), ("127.0.0.1", port))
            try:
                reply = link.recv(1500)
                break
            except OSError:
                time.sleep(0.05)
        assert address_of(reply, 9, labels("home.local")) == "127.0.0.1"
    assert board.said["names"] == ["home"]


OBJECTIONS = [responder(name, "127.0.0.9").announcement() for name in ["home", *(f"home-{number}" for number in range(2, NAMES + 1))]]


def test_on_its_socket_too_a_controller_that_is_objected_to_takes_its_time(tmp_path):
    """Here one second between two tries, to be quick; without a wait there are six names and more."""
    port, folder = broker.free_port(), places.write_place(tmp_path, "micropython")
    with places.Running(folder, "micropython", SERVE, port=port, taken_s=1) as board, socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as link:
        for _ in range(12):
            for objection in OBJECTIONS:
                link.sendto(objection, ("127.0.0.1", port))
                time.sleep(0.02)                # as fast as they are looked at
    assert 2 <= len(board.said["names"]) <= 4


class Home:
    """A network without sockets, in time of its own: what is sent to everyone comes to everyone, the sender too."""

    def __init__(self):
        self.now, self.links, self.sent = 0.0, [], []       # sent: (second, packet)

    def link(self):
        self.links.append(Link(self))
        return self.links[-1]

    def run(self, seconds, *tasks):
        """Let tasks run for so many seconds, none of which passes here."""
        home = self

        class Leap(selectors.SelectSelector):
            def select(self, timeout=None):
                home.now += timeout or 0.0
                return []

        loop = asyncio.SelectorEventLoop(Leap())
        loop.time = lambda: home.now
        try:
            begun = [loop.create_task(task) for task in tasks]
            loop.run_until_complete(asyncio.wait(begun, timeout=seconds))
            for task in begun:
                assert not task.done()
                task.cancel()
            loop.run_until_complete(asyncio.gather(*begun, return_exceptions=True))
        finally:
            loop.close()


class Link:
    """A socket there: `to` everyone or one link."""

    def __init__(self, home):
        self.home, self.come = home, []

    def sendto(self, packet, to):
        self.home.sent.append((self.home.now, packet))
        for link in self.home.links if to == "everyone" else [to[2]]:
            link.come.append((packet, ("", mdns.PORT, self)))

    def recvfrom(self, most):
        if not self.come:
            raise BlockingIOError
        return self.come.pop(0)


def test_of_two_controllers_of_one_name_that_start_at_once_one_keeps_it_and_the_other_takes_the_next():
    """As after a power cut, fifty times; each waits up to a quarter of a second by chance."""
    for _ in range(50):
        home, ours = Home(), [Responder("home", "Home", f"192.0.2.{number}") for number in (7, 8)]
        home.run(12, *[mdns.respond(home.link(), one, "everyone") for one in ours])
        assert sorted(one.name for one in ours) == ["home", "home-2"] and all(one.is_claimed for one in ours)


def test_one_that_comes_later_leaves_the_name_to_who_has_it():
    home, first, later = Home(), Responder("home", "Home", "192.0.2.7"), Responder("home", "Home", "192.0.2.8")

    async def come_later():
        await asyncio.sleep(5)
        await mdns.respond(home.link(), later, "everyone")

    home.run(15, mdns.respond(home.link(), first, "everyone"), come_later())
    assert (first.name, later.name) == ("home", "home-2")


def objected_to(seconds, after):
    """Return (names that a controller took, packets that it sent) while somebody objects ten times a second to all of them, and is quiet after."""
    home, ours, names = Home(), Responder("home", "Home", "192.0.2.7"), []
    link, rival = home.link(), home.link()

    async def object_to_all():
        while True:
            if home.now < seconds:
                for objection in OBJECTIONS:
                    rival.sendto(objection, (None, mdns.PORT, link))
            if names[-1:] != [ours.name]:
                names.append(ours.name)
            await asyncio.sleep(0.5)

    home.run(seconds + after, mdns.respond(link, ours, "everyone"), object_to_all())
    return names, [at for at, packet in home.sent if packet not in OBJECTIONS], ours


def test_objections_for_fifteen_seconds_cost_three_names_at_most_and_then_a_name_is_found():
    """Five seconds after each: RFC 6762, section 8.1."""
    names, sent, ours = objected_to(15, 8)
    assert 2 <= len(names) - 1 <= 3 and ours.is_claimed and ours.name == names[-1]


def test_ten_minutes_of_objections_fill_the_network_with_nothing():
    names, sent, ours = objected_to(600, 8)
    assert set(names) == {"home", *(f"home-{number}" for number in range(2, NAMES + 1))} and ours.is_claimed
    assert len(sent) < 600 and len(names) <= 600 / 5


def test_an_independent_browser_finds_the_controller(tmp_path):
    """Over real multicast on the loopback interface, at the port of the standard."""
    found = []

    class Listener:
        def add_service(self, zeroconf, kind, name):
            info = zeroconf.get_service_info(kind, name)
            found.append((info.server, info.port, info.properties[b"td"]))

        def update_service(self, *_):
            pass

    folder = places.write_place(tmp_path, "cpython")
    with places.Running(folder, "cpython", SERVE, port=mdns.PORT):
        browser = Zeroconf(interfaces=["127.0.0.1"])
        try:
            ServiceBrowser(browser, SERVICE, Listener())
            for _ in range(200):
                if any(server == HOST for server, *_ in found):
                    break
                time.sleep(0.05)
        finally:
            browser.close()
    assert (HOST, 8080, b"/.well-known/wot") in found       # beside others that this machine may run
