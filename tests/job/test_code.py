"""The text form of a button's code: one form per frame, and errors that say what to write."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pattress.controller.infrared.protocols import ADDRESS_BITS, CHECK_BITS, COMMAND_BITS, PROTOCOLS
from pattress.job.code import Code, CodeError, canonical, code, format_code, kaseikyo_check, parse_code

# A busy machine must not fail a test: no time limits.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def codes(draw, protocols=range(1, len(PROTOCOLS))):
    protocol = draw(st.sampled_from(list(protocols)))
    address = draw(st.integers(0, (1 << ADDRESS_BITS[protocol]) - 1))
    command = draw(st.integers(0, (1 << COMMAND_BITS[protocol]) - 1))
    return canonical(Code(protocol, address, command))


def test_the_tables_have_one_row_per_protocol():
    assert len(PROTOCOLS) == len(ADDRESS_BITS) == len(COMMAND_BITS) == len(CHECK_BITS) == len(set(PROTOCOLS))


def test_the_numbers_never_move():
    """Bundles on boards depend on these; appending is the only change allowed."""
    assert PROTOCOLS[:23] == (
        "none", "nec", "necx", "nec32", "samsung", "jvc", "kaseikyo", "aeha",
        "rc5", "rc6", "rc6a20", "rc6a24", "rc6a32", "rc6mce", "sirc12", "sirc15", "sirc20",
        "sharp", "denon", "rca", "hash", "sanyo", "rc5sz",
    )


@unhurried
@given(codes())
def test_text_and_back(found):
    assert parse_code(format_code(found)) == found
    assert parse_code(format_code(found).upper().replace("0X", "0x")) == found
    assert canonical(found) == found
    assert code(protocol=found.name, address=found.address, command=found.command) == found


def test_every_number_of_an_address_fits_the_boards_small_integer():
    """A MicroPython small int on a 32-bit board holds 30 bits and the sign."""
    assert max(ADDRESS_BITS) <= 30 and max(COMMAND_BITS) <= 30


@pytest.mark.parametrize(
    "text, message",
    [
        ("nec 0x04:0x08", Code(1, 4, 8)),
        ("nec 4 : 8", Code(1, 4, 8)),
        ("NEC 0x4:8", Code(1, 4, 8)),
        ("nec 007:08", Code(1, 7, 8)),
        ("nek 0x04:0x08", r"found 'nek 0x04:0x08', whose protocol is not known here\n  allowed: nec, necx, .*, rc5sz\n  nearest: nec 0x04:0x08"),
        ("nec 0x104:0x08", r"found nec with address 0x104\n  allowed: address of nec from 0x0 to 0xff \(8 bits\)"),
        ("rc5 0x04:200", r"found rc5 with command 0xc8\n  allowed: command of rc5 from 0x0 to 0x7f \(7 bits\)"),
        ("nec 0x04", r"found 'nec 0x04'\n  allowed: protocol address:command, as in 'nec 0x04:0x08'; protocols nec, .*, rc5sz"),
        ("none 0x0:0x0", r"found 'none 0x0:0x0', whose protocol is not known here\n  allowed: .*"),
        ("necx 0x807f:0x05", r"found necx 0x807f:0x05, the very frame of nec 0x80:0x05\n  allowed: nec 0x80:0x05"),
        ("aeha 0x2002123:0x1234", r"found aeha 0x2002123:0x1234, whose check this maker's remotes never send\n  allowed: kaseikyo 0x2002123:0x12"),
        ("aeha 0x5aaa123:0x3400", r"found aeha 0x5aaa123:0x3400, whose check this maker's remotes never send\n"
                                  r"  allowed: aeha with a check that fits, as learnt from the remote"),
        ("kaseikyo 0x5aaa123:0x34", r"found kaseikyo 0x5aaa123:0x34, whose check this maker's remotes never send\n  allowed: aeha with .*"),
        ("aeha 0x5aaa123:0x3470", Code(7, 0x5AAA123, 0x3470)),      # 3, 1, 2, 3, 4, 0, 7 and the parity 15 make 15
        ("aeha 0x6314121:0x3456", Code(7, 0x6314121, 0x3456)),      # Fujitsu sends no check (JP1 Remotes wiki)
    ],
)
def test_the_words_of_a_refusal(text, message):
    if isinstance(message, Code):
        assert parse_code(text) == message
    else:
        with pytest.raises(CodeError) as caught:
            parse_code(text)
        assert re.fullmatch(message, str(caught.value), re.DOTALL)


def test_the_words_when_numbers_are_refused():
    with pytest.raises(CodeError, match=r"^found protocol number 99\n  allowed: 1 to "):
        code(protocol=99, address=0, command=0)
    with pytest.raises(CodeError, match=r"^found 'nek', whose protocol is not known here\n"):
        code(protocol="nek", address=0, command=0)


@pytest.mark.parametrize("nothing", [None, 5, "", b"nec 0x04:0x08", "nec 0x04:0x" + "0" * 5000])
def test_what_is_no_code_is_refused_with_the_same_words(nothing):
    with pytest.raises(CodeError, match="^found .*\n  allowed: protocol address:command"):
        parse_code(nothing)


def test_a_table_entry_whose_bytes_are_inverses_is_plain_nec():
    """0x807f05 in a `necx` table is sent as nec 0x8005 (measured with ir-ctl 1.22.1)."""
    assert canonical(Code(2, 0x807F, 0x05)) == Code(1, 0x80, 0x05)
    # kernel rule: nec32 byte2<<24 | byte1<<16 | byte4<<8 | byte3 with byte 3, 4 inverses is necx
    assert canonical(Code(3, 0x3085, 0xD02F)) == Code(2, 0x8530, 0x2F)


@pytest.mark.parametrize("frame", ["40040543FDBB"])
def test_check_byte_of_a_recorded_frame(frame):
    """A frame of a remote EUR648251, first bit sent = most significant, as noted in infrared.md."""
    octets = [int(f"{octet:08b}"[::-1], 2) for octet in bytes.fromhex(frame)]
    vendor = octets[0] | octets[1] << 8
    assert vendor == 0x2002
    address = vendor << 12 | octets[3] << 4 | octets[2] >> 4
    assert kaseikyo_check(address=address, command=octets[4]) == octets[5]
