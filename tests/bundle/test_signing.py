"""A signed bundle as a controller takes it: announced, whole and newer or not at all, whatever is changed on its way.

Seen through the controller's own `announcement` and `arriving` here; `tests/bench/test_carrying.py` sends it over real sockets.
"""

import asyncio
import hmac
import json
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress import interpreter
from pattress.bundle.signing import announced, announcement
from pattress.controller import arriving
from pattress.controller.announcement import REASONS, Announcements, Refused, signature
from pattress.controller.arriving import Arriving, is_inside
from pattress.controller.sequence import PLACES, keeping, newest
from pattress.controller.sequence import written as written_sequence
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

    def __init__(self, folder, known=0):
        folder.mkdir()
        self.slots, self.folder, self.still, self.now = Slots(str(folder)), folder, lambda: True, 0
        if known is not None:
            list(keeping(self.slots, known))
        self.power()

    def power(self):
        """Let what the board holds in memory begin anew."""
        self.judge = Announcements(self.slots, bytes.fromhex(KEY))
        self.arriving = Arriving(self.slots, lambda: self.now, lambda: self.still())

    def pass_trial(self):
        """Let the program that was taken start, and be healthy."""
        self.slots.healthy()

    def take(self, stream, piece=700):
        """Give it an announcement, a line, and what follows, by pieces; return what it says."""
        line, _, rest = stream.partition(b"\n")
        left, self.read = [rest], 0

        async def read(most):
            taken = min(piece, most)
            data, left[0] = left[0][:taken], left[0][taken:]
            self.read += len(data)
            return data

        try:
            announced = self.judge.accept(line)
            try:
                return asyncio.run(self.arriving.take(announced, read)), announced[0]
            finally:
                self.judge.is_busy = False
        except Refused as refused:
            return str(refused)

    @property
    def runs(self):
        """Return the number of the program that would start, None when there is none."""
        slot = self.slots.record()["slot"]
        return json.loads((self.folder / slot / "plan.json").read_text())["number"] if slot in self.slots.whole() else None


@pytest.fixture()
def board(tmp_path):
    return Board(tmp_path / "flash")


def announcing(manifest, sequence, key=KEY):
    """Return the line that announces a manifest."""
    return announcement(manifest, key=key, sequence=sequence).encode() + b"\n"


def stream(folder, sequence, key=KEY):
    return announcing((folder / "manifest.json").read_bytes(), sequence, key) + b"".join(content for _, content in announced(folder))


def test_a_signed_program_is_taken_whole_and_runs_next_on_trial(board, bundles):
    assert board.take(stream(bundles[0], 5)) == ("a", 5)
    assert board.runs == 1 and newest(board.slots) == 5
    assert (board.folder / "main.py").read_bytes() == (bundles[0] / "root" / "main.py").read_bytes()
    board.pass_trial()
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
    unsigned = b"pattress 2 5 100 " + b"0" * 64
    before = sorted(board.folder.iterdir())
    for bad in (stream(bundles[0], 5, OTHER), unsigned + b"\n", unsigned + b" \n", unsigned + b" " + b"0" * 64 + b"\n", b"\n" * 9, b"",
                said.replace(b" 5 ", b" 6 ", 1), said.replace(b"pattress", b"Pattress", 1), b"x" * 5000, b"\xff" * 300):
        assert board.take(bad) == "not signed with the key of this controller" and board.read == 0
    assert sorted(board.folder.iterdir()) == before and newest(board.slots) == 0


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
    board.pass_trial()
    said = stream(bundles[1], 7)
    place = places_of(bundles[1], said)[kind]
    for flip in (1, 0x80):
        changed = said[:place] + bytes([said[place] ^ flip]) + said[place + 1:]
        assert board.take(changed) in REASONS and board.runs == 1


def test_cut_off_at_any_place_the_former_program_stays(board, bundles):
    board.take(stream(bundles[0], 5))
    board.pass_trial()
    whole = stream(bundles[1], 10)
    for number, end in enumerate(range(whole.index(b"\n") + 1, len(whole), len(whole) // 60)):
        assert board.take(stream(bundles[1], 10 + number)[:end]) == "cut off" and board.runs == 1
    assert board.take(stream(bundles[1], 1000)) == ("b", 1000) and board.runs == 2


def test_a_file_longer_than_any_program_has_is_refused(board, bundles):
    manifest = (bundles[0] / "manifest.json").read_bytes()
    said = announcing(manifest, 5) + manifest + b"9999999\n"
    assert board.take(said) == "longer than a program" and board.runs is None
    assert board.take(announcing(b"x" * 40_000, 6)) == "longer than a program" and board.read == 0


def test_what_is_no_number_is_refused(board, bundles):
    manifest = (bundles[0] / "manifest.json").read_bytes()
    for sequence, length in ((5, b"ten\n"), (6, b"-1\n"), (7, b"\xff\n")):
        assert board.take(announcing(manifest, sequence) + manifest + length) in REASONS


def test_a_slow_one_is_given_up(board, bundles):
    said = stream(bundles[0], 5)

    def pass_time():
        board.now += 60
        return True

    board.still = pass_time
    assert board.take(said) == "too slow" and board.runs is None


def test_a_second_one_at_once_is_refused_and_its_announcement_is_spent(board):
    first, second = announcing(b"one", 5).strip(), announcing(b"two", 6).strip()
    assert board.judge.accept(first) == (5, 3, sha256(b"one").hexdigest())
    for says in ("another one is arriving", "not newer than the newest one"):
        with pytest.raises(Refused, match=f"^{says}$"):
            board.judge.accept(second)


# Which slot, and which number.

def test_until_the_newest_has_passed_its_trial_no_other_takes_the_place_of_the_proven_one(board, bundles):
    board.take(stream(bundles[0], 5))
    board.pass_trial()
    assert board.take(stream(bundles[1], 6)) == (("b"), 6)
    for number in (7, 8):                           # before its restart, and while it runs on trial
        assert board.take(stream(bundles[1], number)) == "the newest one is still on trial" and board.read == 0
        assert board.runs == 2 and json.loads((board.folder / "a" / "plan.json").read_text())["number"] == 1
        assert board.slots.whole() == ["a", "b"]
        board.slots.note(board.slots.record() | {"tries": 1})
    board.pass_trial()
    assert board.take(stream(bundles[1], 9)) == ("a", 9)


@pytest.mark.parametrize("harm", [lambda old: b"", lambda old: b"0", lambda old: old[:-1], lambda old: b"1" + old[1:], lambda old: b"\xff" * 20,
                                  lambda old: b" " + old, lambda old: old[:1], None])
def test_damage_to_one_place_of_the_sequence_lets_no_old_program_back(board, bundles, harm):
    board.take(stream(bundles[0], 500))
    board.pass_trial()
    for place in PLACES:
        file = board.folder / place
        whole = file.read_bytes()
        file.unlink() if harm is None else file.write_bytes(harm(whole))
        board.power()
        assert board.take(stream(bundles[1], 499)) == "not newer than the newest one" and board.runs == 1
        file.write_bytes(whole)
    (board.folder / PLACES[0]).unlink()
    board.power()
    assert board.take(stream(bundles[1], 501)) == ("b", 501)
    assert {(board.folder / place).read_bytes() for place in PLACES} == {written_sequence(501)}       # mended


def test_where_the_sequence_is_lost_in_both_places_nothing_is_taken(tmp_path, bundles):
    for known in (None, 500):
        board = Board(tmp_path / str(known), known)
        for place in PLACES if known else ():
            (board.folder / place).write_bytes(b"5")
        board.power()
        assert board.take(stream(bundles[0], 600)) == "the number of the newest one is lost here, put one over USB"
        assert board.read == 0 and board.runs is None


@given(st.integers(0, 10**10), st.integers(0, 10**10), st.integers(0, 3))
def test_a_sequence_never_goes_back_wherever_its_keeping_is_cut(tmp_path_factory, first, second, cut):
    slots = Slots(str(tmp_path_factory.mktemp("flash")))
    list(keeping(slots, first))
    for _ in zip(range(cut), keeping(slots, second), strict=False):
        pass
    assert newest(slots) in (first, max(first, second))
    list(keeping(slots, min(first, second)))
    assert newest(slots) in (first, max(first, second))


# Names in a manifest.

@pytest.mark.parametrize("name", ["../outside.py", "a/../../outside", "/outside", "core//x", "core/./x", "..", ".", "", "root/../network.json",
                                  "root/network.json", "root/sequence.0", "root/start.json", "root/in/main.py", "manifest.json", "manifest.new"])
def test_a_signed_manifest_that_names_a_file_outside_its_place_writes_nothing_there(board, bundles, name):
    board.take(stream(bundles[0], 5))
    board.pass_trial()
    manifest = json.dumps({"files": {name: sha256(b"evil").hexdigest()}}, indent=1).encode()
    before = {path: path.read_bytes() for path in board.folder.parent.rglob("*") if path.is_file() and "sequence" not in path.name}
    assert board.take(announcing(manifest, 6) + manifest + b"4\nevil") == "a file outside its place"
    after = {path: path.read_bytes() for path in board.folder.parent.rglob("*") if path.is_file() and "sequence" not in path.name}
    assert {path: content for path, content in after.items() if path.name != "manifest.new"} == before
    assert board.runs == 1


def test_every_file_of_a_bundle_is_inside_its_place(written):
    assert all(is_inside(name) for name in written[1].files) and any(name.startswith("root/") for name in written[1].files)


MEMORY = """
import asyncio, gc, sys
sys.path[:0] = ["", "bundle/root"]
from start import Slots
from bundle import announcement, arriving, sequence

most = [0]
said = open("said", "rb")
slots = Slots("flash")
for _ in sequence.keeping(slots, 1):
    pass

async def read(length):
    gc.collect()
    most[0] = max(most[0], gc.mem_alloc())
    return said.read(length)

judge = announcement.Announcements(slots, bytes([15] * 32))
taking = arriving.Arriving(slots, lambda: 0, lambda: True)
gc.collect()
before = gc.mem_alloc()
announced = judge.accept(said.readline().strip())
print(asyncio.run(taking.take(announced, read)), announced[0], most[0] - before)
"""
HELD = 16_384       # bytes, with numbers of 64 bits; a board's are half as wide


def test_on_the_board_a_whole_bundle_is_taken_in_little_memory(written, tmp_path):
    folder, manifest = written
    said = stream(folder, 5)
    (tmp_path / "said").write_bytes(said)
    (tmp_path / "bundle").symlink_to(folder)
    (tmp_path / "flash").mkdir()
    slot, sequence, held = interpreter.run(in_bundle_words(MEMORY, "Announcements", "Arriving", "accept", "announcement", "keeping", "sequence", "take"), folder=tmp_path)[-1].split()
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
