"""A signed bundle as a controller takes it: whole and newer or not at all, whatever is changed on its way.

Seen through the controller's own `arriving` here; `tests/bench/test_carrying.py` sends it over real sockets.
"""

import asyncio
import hmac
import json
from hashlib import sha256

import pytest

from pattress import interpreter
from pattress.bundle.signing import signed_head, signed_stream
from pattress.controller import arriving
from pattress.controller.arriving import REASONS, Arriving, Refused, signature
from pattress.controller.start import Slots

from ..bench.toys import toy
from .words import in_bundle_words

KEY, OTHER = "0f" * 32, "1e" * 32

# RFC 4231, test cases 1 and 2 (key, data, HMAC-SHA-256), from memory; recomputed here by an independent library.
PUBLISHED = [
    (b"\x0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
    (b"Jefe", b"what do ya want for nothing?", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"),
]


@pytest.mark.parametrize("key, data, published", PUBLISHED)
def test_the_signature_is_that_of_rfc_4231(key, data, published):
    assert signature(key, data).hex() == published == hmac.new(key, data, sha256).hexdigest()


@pytest.fixture(scope="module")
def bundles(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bundles")
    return toy(folder / "one", 1), toy(folder / "two", 2, start="MORE = 1\n")


class Board:
    """A flash in a folder, and what takes programs there; `still` says whether nothing stirs."""

    def __init__(self, folder):
        self.slots, self.folder, self.still, self.now = Slots(str(folder)), folder, lambda: True, 0
        self.arriving = Arriving(self.slots, bytes.fromhex(KEY), lambda: self.now, lambda: self.still())

    def take(self, stream, piece=700):
        """Give it a stream by pieces; return what it says."""
        left = [stream]

        async def read(most):
            taken = min(piece, most)
            data, left[0] = left[0][:taken], left[0][taken:]
            return data

        try:
            return asyncio.run(self.arriving.take(read))
        except Refused as refused:
            return str(refused)

    @property
    def runs(self):
        """Return the number of the program that would start, None when there is none."""
        slot = self.slots.record()["slot"]
        return json.loads((self.folder / slot / "plan.json").read_text())["number"] if slot in self.slots.whole() else None


@pytest.fixture()
def board(tmp_path):
    return Board(tmp_path)


def stream(folder, sequence, key=KEY):
    return b"".join(content for _, content in signed_stream(folder, key=key, sequence=sequence))


def test_a_signed_program_is_taken_whole_and_runs_next_on_trial(board, bundles):
    assert board.take(stream(bundles[0], 5)) == ("a", 5)
    assert board.runs == 1 and (board.folder / "sequence").read_text() == "5"
    assert (board.folder / "main.py").read_bytes() == (bundles[0] / "root" / "main.py").read_bytes()
    (board.folder / "b").mkdir()
    (board.folder / "b" / "left over.py").write_text("of an earlier program")
    assert board.take(stream(bundles[1], 6), piece=1) == ("b", 6)
    assert board.runs == 2 and board.slots.record()["trial"]
    assert (board.folder / "start.mpy").read_bytes() == (bundles[1] / "root" / "start.mpy").read_bytes()
    assert not (board.folder / "b" / "left over.py").exists()


def test_said_again_or_older_is_refused_and_changes_nothing(board, bundles):
    board.take(stream(bundles[0], 5))
    for sequence in (5, 4, 0):
        assert board.take(stream(bundles[1], sequence)) == "not newer than the newest one"
    assert board.runs == 1


def test_a_sequence_is_spent_when_it_begins_so_that_a_part_cannot_be_said_again(board, bundles):
    said = stream(bundles[0], 5)
    assert board.take(said[:2000]) == "cut off"
    assert board.take(said) == "not newer than the newest one"
    assert board.take(stream(bundles[0], 6)) == ("a", 6)


def test_another_key_or_none_is_refused_before_anything_is_written(board, bundles):
    said = stream(bundles[0], 5)
    unsigned = b"pattress 1 5 100 " + b"0" * 64
    for bad in (stream(bundles[0], 5, OTHER), unsigned + b"\n", unsigned + b" \n", unsigned + b" " + b"0" * 64 + b"\n", b"\n" * 9,
                said.replace(b" 5 ", b" 6 ", 1), said.replace(b"pattress", b"Pattress", 1)):
        assert board.take(bad) == "not signed with the key of this controller"
    assert board.take(b"x" * 5000) == "longer than a program"
    assert list(board.folder.iterdir()) == []


def places_of(folder, said):
    """Return, by the kind of byte, a place of it in a stream."""
    head = said.index(b"\n")
    manifest = head + 1 + (folder / "manifest.json").stat().st_size
    length = said.index(b"\n", manifest)
    return {"word": 0, "sequence": said.index(b" 7 ") + 1, "manifest's length": said.index(b" 7 ") + 3, "manifest's digest": head - 80,
            "signature": head - 1, "end of the head": head, "manifest": head + 40, "last of the manifest": manifest - 1,
            "file's length": manifest, "end of a length": length, "file": length + 5, "last of a file": len(said) - 1}


@pytest.mark.parametrize("kind", [
    "word", "sequence", "manifest's length", "manifest's digest", "signature", "end of the head", "manifest", "last of the manifest",
    "file's length", "end of a length", "file", "last of a file"])
def test_one_changed_byte_anywhere_is_refused_and_the_former_program_stays(board, bundles, kind):
    board.take(stream(bundles[0], 5))
    said = stream(bundles[1], 7)
    place = places_of(bundles[1], said)[kind]
    for flip in (1, 0x80):
        changed = said[:place] + bytes([said[place] ^ flip]) + said[place + 1:]
        assert board.take(changed) in REASONS and board.runs == 1


def test_cut_off_at_any_place_the_former_program_stays(board, bundles):
    board.take(stream(bundles[0], 5))
    length = len(stream(bundles[1], 6))
    for number, end in enumerate(range(0, length, length // 60)):
        assert board.take(stream(bundles[1], 10 + number)[:end]) == "cut off" and board.runs == 1
    assert board.take(stream(bundles[1], 1000)) == ("b", 1000) and board.runs == 2


def test_a_file_longer_than_any_program_has_is_refused(board, bundles):
    manifest = (bundles[0] / "manifest.json").read_bytes()
    said = signed_head(manifest, key=KEY, sequence=5) + manifest + b"9999999\n"
    assert board.take(said) == "longer than a program" and board.runs is None
    assert board.take(signed_head(b"x" * 40_000, key=KEY, sequence=6)) == "longer than a program"


def test_what_is_no_number_is_refused(board, bundles):
    manifest = (bundles[0] / "manifest.json").read_bytes()
    for sequence, length in ((5, b"ten\n"), (6, b"-1\n"), (7, b"\xff\n")):
        assert board.take(signed_head(manifest, key=KEY, sequence=sequence) + manifest + length) in REASONS


def test_a_slow_one_is_given_up(board, bundles):
    said = stream(bundles[0], 5)

    def pass_time():
        board.now += 60
        return True

    board.still = pass_time
    assert board.take(said) == "too slow" and board.runs is None


def test_a_second_one_at_once_is_refused(board):
    async def both():
        async def never(most):
            await asyncio.sleep(3600)

        first = asyncio.create_task(board.arriving.take(never))
        await asyncio.sleep(0)
        with pytest.raises(Refused, match="^another one is arriving$"):
            await board.arriving.take(never)
        first.cancel()

    asyncio.run(both())


MEMORY = """
import asyncio, gc, sys
sys.path[:0] = ["", "bundle/root"]
from start import Slots
from bundle import arriving

most = [0]
said = open("said", "rb")

async def read(length):
    gc.collect()
    most[0] = max(most[0], gc.mem_alloc())
    return said.read(length)

taking = arriving.Arriving(Slots("flash"), bytes([15] * 32), lambda: 0, lambda: True)
gc.collect()
before = gc.mem_alloc()
print(*asyncio.run(taking.take(read)), most[0] - before)
"""
HELD = 16_384       # bytes, with numbers of 64 bits; a board's are half as wide


def test_on_the_board_a_whole_bundle_is_taken_in_little_memory(written, tmp_path):
    folder, manifest = written
    said = stream(folder, 5)
    (tmp_path / "said").write_bytes(said)
    (tmp_path / "bundle").symlink_to(folder)
    (tmp_path / "flash").mkdir()
    slot, sequence, held = interpreter.run(in_bundle_words(MEMORY, "Arriving", "take"), folder=tmp_path)[-1].split()
    assert (slot, sequence) == ("a", "5") and len(said) > 5 * HELD > 5 * int(held)
    assert all((tmp_path / "flash" / "a" / name).read_bytes() == (folder / name).read_bytes() for name in manifest.files)
    print(f"most memory held while {len(said)} bytes arrive: {held} bytes")


def test_flash_is_written_only_while_nothing_stirs(board, bundles, monkeypatch):
    """Each write, rename and removal finds that it was just asked whether anything stirs, and that nothing did."""
    asked, writes = [0], [0]

    def still():
        asked[0] += 1
        return asked[0] % 3 == 0        # somebody is at a switch most of the time

    def checked(real):
        def done(*given):
            assert asked[0] % 3 == 0 and asked[0] > writes[0]
            writes[0] = asked[0]
            return real(*given)
        return done

    class File:
        def __init__(self, *given):
            self._file = open(*given)
            self.write, self.read = checked(self._file.write), self._file.read

        def __enter__(self):
            return self

        def __exit__(self, *raised):
            self._file.close()

        close = __exit__

        def __iter__(self):
            return iter(self._file)

    def noted(*given):                  # a record is written beside and renamed in one go, as a snapshot is
        writes[0] = 0
        checked(lambda *row: None)()
        with monkeypatch.context() as inner:
            inner.setattr(arriving.os, "rename", rename)
            note(*given)

    rename, note = arriving.os.rename, board.slots.note
    monkeypatch.setattr(arriving, "open", File, raising=False)
    for name in ("rename", "remove", "mkdir"):
        monkeypatch.setattr(arriving.os, name, checked(getattr(arriving.os, name)))
    monkeypatch.setattr(arriving, "LOOK_S", 0)
    monkeypatch.setattr(board.slots, "note", noted)
    board.still = still
    assert board.take(stream(bundles[0], 5)) == ("a", 5)
    assert writes[0] > 8 and asked[0] > 60
