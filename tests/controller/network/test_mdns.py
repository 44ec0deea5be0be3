"""Names on the wire, read and written against an independent library, and the responder on a real socket."""

import socket
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from zeroconf import DNSAddress, DNSIncoming, DNSOutgoing, DNSPointer, DNSQuestion, DNSService, DNSText, ServiceBrowser, Zeroconf

from pattress.controller.network import mdns
from pattress.controller.network.domain_names import ANY, A, BadPacket, address_of, is_address, labels, question, read_answers, read_questions
from pattress.controller.network.mdns import Responder, shortened

from . import broker, places

SERVICE, HOST, INSTANCE = "_wot._tcp.local.", "home.local.", "Küche und Flur._wot._tcp.local."
QUERY = 0x0000


def responder():
    return Responder("home", "Küche und Flur", "192.0.2.7", 80)


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
    reply, alone = responder().answer(asking((SERVICE, 12)))
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
    reply, _ = responder().answer(asking((name, kind)))
    assert of(found, answers(reply))


@pytest.mark.parametrize("name, kind", [("other.local.", 1), ("_http._tcp.local.", 12), (SERVICE, 1), ("local.", 1)])
def test_other_questions_are_left_to_others(name, kind):
    assert responder().answer(asking((name, kind))) == (None, False)


def test_a_host_without_the_address_asked_for_says_so():
    reply, _ = responder().answer(asking((HOST, 28)))
    assert [(record.name, record.type) for record in answers(reply)] == [(HOST, 47)]             # NSEC, 6.1


def test_what_the_asker_knows_is_not_told_again():
    fresh, half_gone = DNSPointer(SERVICE, 12, 1, 4500, INSTANCE), DNSPointer(SERVICE, 12, 1, 2000, INSTANCE)
    assert responder().answer(asking((SERVICE, 12), known=[fresh])) == (None, False)             # 7.1
    assert responder().answer(asking((SERVICE, 12), known=[half_gone]))[0]


def test_an_ordinary_resolver_gets_an_ordinary_answer():
    """Section 6.7: from another port; its number and question come back, nothing may be kept long or as the last word."""
    packet = question(4711, labels("home.local"), A)
    reply, alone = responder().answer(packet, 40000)
    incoming = DNSIncoming(reply)
    assert alone and incoming.id == 4711 and [asked.name for asked in incoming.questions] == [HOST]
    assert [(record.ttl, record.unique) for record in incoming.answers()] == [(10, False)]
    assert address_of(reply, 4711, labels("home.local")) == "192.0.2.7"


def test_announcements_and_farewells_are_read_by_others():
    ours = responder()
    told = answers(ours.announcement())
    assert {type(record) for record in told} == {DNSPointer, DNSService, DNSText, DNSAddress}
    assert {record.ttl for record in answers(ours.announcement(leaving=True))} == {0}


def test_a_name_that_is_taken_is_left_for_the_next():
    ours = responder()
    rival = Responder("home", "Other", "192.0.2.8")
    ours.answer(ours.announcement())                        # our own echo is no rival
    assert not ours.is_taken
    ours.answer(rival.announcement())
    assert ours.is_taken
    ours.rename()
    assert (ours.name, ours.is_taken) == ("home-2", False)
    ours.rename()
    assert ours.name == "home-3"
    incoming = DNSIncoming(ours.probe())
    assert incoming.valid and [asked.name for asked in incoming.questions] == ["home-3.local."] and incoming.num_authorities == 1


def test_a_long_title_is_cut_between_letters():
    assert shortened("ä" * 40) == "ä".encode() * 31 and shortened("") == b"controller"


def test_addresses_are_told_from_names():
    assert is_address("192.0.2.7") and not any(map(is_address, ["192.0.2", "192.0.2.256", "a.b.c.d", "broker.local", "1.2.3.4.5", "1..2.3"]))


@pytest.mark.parametrize("packet, words", [
    (b"", "0 bytes are no message"), (bytes(11), "11 bytes are no message"), (question(1, labels("a.b"), A)[:-1], "a question is cut off"),
    (bytes((0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0xC0, 12, 0, 1, 0, 1)), "a name that cannot be read"),
    (bytes((0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0xC0, 18, 0, 1, 0, 1, 1, 97, 0)), "a name that cannot be read"),      # points forward
    (bytes((0, 0, 0, 0, 0xFF, 0xFF)) + bytes(300), "65535 questions"),
    (bytes((0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0x40, 1, 0, 1)), "a name that cannot be read"),
])
def test_a_broken_packet_is_named_as_such(packet, words):
    with pytest.raises(BadPacket, match=f"^{words}$"):
        read_questions(packet)


def hold_against_hostile_bytes(noise, packet, place, byte):
    packet = bytearray(packet)
    packet[place % len(packet)] = byte
    for one in (noise, bytes(packet), bytes(packet[:place % len(packet)])):
        reply, _ = responder().answer(one)
        assert reply is None or DNSIncoming(reply).valid
        for read in (lambda: address_of(one, 1, ()), lambda: read_answers(one, read_questions(one)[3])):
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
ours = mdns.Responder("home", "Home", "127.0.0.1", 8080)
asyncio.run(live(board, SETTINGS["stop"], mdns.serve(ours, "127.0.0.1", port=SETTINGS["port"])))
board.report(name=ours.name)
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
    assert board.said["name"] == "home"


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
                if found:
                    break
                time.sleep(0.05)
        finally:
            browser.close()
    assert found == [(HOST, 8080, b"/.well-known/wot")]
