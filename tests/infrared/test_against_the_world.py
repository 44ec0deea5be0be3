"""Both ways against independent programs: ir-ctl (v4l-utils) and irsimsend, irsimreceive (lirc), with real keymaps.

ir-ctl 1.22.1 and lirc 0.10.1 of Debian 12 were used when the expectations were written.
"""

import random

import pytest

from pattress.controller.infrared import protocols as p
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.infrared.scancode import KERNEL_NAMES, KEYMAPS, KeymapError, from_scancode, read_keymap
from pattress.job.code import Code, canonical
from tests.infrared.reference_programs import (
    build_shim,
    lircd_remote,
    read_by_irsimreceive,
    sent_by_ir_ctl,
    sent_by_irsimsend,
    to_scancode,
)

EACH = 25


@pytest.fixture(scope="module")
def shim(tmp_path_factory):
    return build_shim(tmp_path_factory.mktemp("shim"))


@pytest.fixture(scope="module")
def keymaps():
    """Every keymap of the machine that holds a code we decode, by file name."""
    files = sorted(KEYMAPS.glob("*.toml"))
    assert files, f"{KEYMAPS} is missing: install the Debian package ir-keytable"
    found = {}
    for file in files:
        try:
            found[file.name] = read_keymap(file)
        except KeymapError as error:
            assert "none of a protocol decoded here" in str(error)
    return found


def some_codes(protocol, seed, count=EACH):
    source = random.Random(f"{protocol}-{seed}")
    codes = []
    while len(codes) < count:
        address = 0x800F if protocol == p.RC6MCE else source.getrandbits(p.ADDRESS_BITS[protocol])
        if protocol == p.RC5SZ:
            address &= 0x5F | 0x20
        code = canonical(Code(protocol, address, source.getrandbits(p.COMMAND_BITS[protocol])))
        if code.protocol == protocol and code not in codes:
            codes.append(code)
    return codes


@pytest.mark.parametrize("kernel_name", KERNEL_NAMES)
def test_what_ir_ctl_encodes_decodes_to_the_same_scancode(kernel_name, shim, tmp_path):
    codes = some_codes(from_scancode(kernel_name, 0x800F0001 if kernel_name == "rc6_mce" else 0x0001).protocol, "ir-ctl")
    sent = [to_scancode(code) for code in codes]
    frames, carriers, warnings = sent_by_ir_ctl(shim, tmp_path, *(
        word for name, scancode in sent for word in ("-S", f"{name}:{scancode:#x}")))
    assert "warning" not in warnings
    assert [[found.code for found in decode(frame)] for frame in frames] == [[code] for code in codes]
    assert abs(carriers[0] - signal(codes[0]).carrier) <= 100         # 38 kHz there, 455/12 kHz here


# ir-ctl sends JVC with a unit of 525 us and Sharp with spaces of 1000 and 2000 us: legal for the kernel, off nominal
NEARNESS = dict.fromkeys(KERNEL_NAMES, 1) | {"jvc": 40}


@pytest.mark.parametrize("kernel_name", [name for name in KERNEL_NAMES if name != "sharp"])
def test_our_frames_have_the_durations_ir_ctl_sends(kernel_name, shim, tmp_path):
    for code in some_codes(from_scancode(kernel_name, 0x800F0001 if kernel_name == "rc6_mce" else 0x0001).protocol, "same", 8):
        name, scancode = to_scancode(code)
        (frame,), _, _ = sent_by_ir_ctl(shim, tmp_path, "-S", f"{name}:{scancode:#x}")
        ours = signal(code).durations[:-1]
        assert len(frame) == len(ours)
        assert max(abs(there - here) for there, here in zip(frame, ours)) <= NEARNESS[kernel_name]


def test_real_scancodes_of_every_kernel_keymap_decode_to_themselves(keymaps, shim, tmp_path):
    """All distinct codes of the machine's keymap files, encoded by ir-ctl."""
    codes = sorted({code for keymap in keymaps.values() for _, code in keymap.buttons if to_scancode(code)})
    assert len(codes) > 1300 and len(keymaps) > 60
    seen = []
    for start in range(0, len(codes), 200):
        words = [word for code in codes[start:start + 200] for word in ("-S", "{}:{:#x}".format(*to_scancode(code)))]
        frames, _, warnings = sent_by_ir_ctl(shim, tmp_path, *words)
        assert "warning" not in warnings
        seen += [decode(frame) for frame in frames]
    assert [[found.code for found in frames] for frames in seen] == [[code] for code in codes]


def test_a_samsung_keymap_sent_by_ir_ctl_decodes(keymaps, shim, tmp_path):
    """Its own encoder has no Samsung; it sends this table as plain pulse distance."""
    name = "samsung_ak59_00125a.toml"
    for key, code in keymaps[name].buttons[:10]:
        if code.protocol == p.SAMSUNG:
            frames, _, _ = sent_by_ir_ctl(shim, tmp_path, "-k", str(KEYMAPS / name), "-K", key)
            assert [found.code for found in decode(frames[0])] == [code]
    assert sum(code.protocol == p.SAMSUNG for _, code in keymaps[name].buttons) == 7


def test_the_scancodes_that_two_protocols_claim_are_reported_as_the_kernel_does():
    """0x807f05 in a necx table is sent as nec 0x8005; TiVo's 0x3085d02f as necx (measured with ir-ctl)."""
    assert from_scancode("necx", 0x807F05) == from_scancode("nec", 0x8005) == Code(p.NEC, 0x80, 0x05)
    assert from_scancode("nec32", 0x3085D02F).protocol == p.NECX


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_what_irsimsend_encodes_decodes_to_the_same_code(protocol, tmp_path):
    codes = some_codes(protocol, "irsimsend")
    pair = protocol in (p.SHARP, p.DENON)
    durations = sent_by_irsimsend(tmp_path, lircd_remote(protocol, codes), count=2 if pair else 1)
    found = [frame.code for frame in decode(durations) if not frame.repeat and frame.trusted]
    assert found == codes


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_irsimreceive_reads_what_we_send(protocol, tmp_path):
    codes = some_codes(protocol, "irsimreceive")
    captures = [signal(code).durations[:-1] for code in codes]
    answers = read_by_irsimreceive(tmp_path, lircd_remote(protocol, codes), captures)
    assert [key for key, _ in answers] == [f"KEY_{place}" for place in range(len(codes))]


def test_a_nec_ditto_of_irsimsend_is_a_repeat(tmp_path):
    remote = lircd_remote(p.NEC, [Code(p.NEC, 0x04, 0x08)]).replace("gap 40000", "repeat 9000 2250\nflags CONST_LENGTH\ngap 108000")
    remote = remote.replace("flags SPACE_ENC\n", "").replace("flags CONST_LENGTH", "flags SPACE_ENC|CONST_LENGTH")
    found = decode(sent_by_irsimsend(tmp_path, remote, count=3))
    assert [(frame.code, frame.repeat) for frame in found] == [
        (Code(p.NEC, 4, 8), False), (Code(p.NEC, 4, 8), True), (Code(p.NEC, 4, 8), True)]


@pytest.mark.parametrize("text, message", [
    (None, r"remote.toml: found no readable file \(it is not there\)\n  allowed: TOML with \[\[protocols\]\] tables, as "),
    ("protocols = 3", r"remote.toml: found no \[\[protocols\]\] tables\n"),
    ("[[protocols]\n", r"remote.toml: found no readable file \(it is no TOML: "),
    ('[[protocols]]\nprotocol = "imon"\n[protocols.scancodes]\n0x01 = "KEY_A"\n',
     r"remote.toml: found 1 code, none of a protocol decoded here\n  allowed: nec, necx, "),
])
def test_the_words_about_a_keymap_that_cannot_be_used(tmp_path, text, message):
    file = tmp_path / "remote.toml"
    if text is not None:
        file.write_text(text)
    with pytest.raises(KeymapError, match=message):
        read_keymap(file)
