"""The snapshot store: whatever is cut, torn or reordered, the old state or the new one comes back."""

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress import interpreter
from pattress.controller.digest import CORE
from pattress.controller.drivers.store import (
    ANOTHER_PLAN, DAMAGED, LONGEST, NOTHING, SEQUENCES, WHOLE, Files, Store, judge, pack,
)

TAG, PAGE = 0x5EED1234, 8
OLD, NEW = b"\x01\x01\x00\x03", b"\x00\x01\x02\x02"


class PowerCut(BaseException):
    """The power is gone in the middle of a write."""


class TearingFlash:
    """Two slots of pages. What is not yet synchronised reaches the flash in any order, or in part, or never."""

    def __init__(self, slots=(b"", b"")):
        self.lasting = list(slots)
        self.pending = []           # (slot, offset, content); offset -1: the slot is emptied
        self.cut_after = None
        self.operations = 0

    def read(self, slot):
        content = self.lasting[slot]
        for operation in self.pending:
            if operation[0] == slot:
                content = applied(content, operation)
        return content

    def write(self, slot, record):
        self._do((slot, -1, b""))
        for offset in range(0, len(record), PAGE):
            self._do((slot, offset, record[offset:offset + PAGE]))
        self._tick()
        self.lasting, self.pending = [self.read(0), self.read(1)], []

    def _do(self, operation):
        self._tick()
        self.pending.append(operation)

    def _tick(self):
        if self.cut_after == self.operations:
            raise PowerCut
        self.operations += 1

    def aftermaths(self):
        """Yield every pair of slots that the cut may have left."""
        for count in range(len(self.pending) + 1):
            for reached in combinations(self.pending, count):
                slots = list(self.lasting)
                for operation in reached:
                    slots[operation[0]] = applied(slots[operation[0]], operation)
                yield tuple(slots)
                if reached and reached[-1][1] >= 0:         # the last one torn after each of its bytes
                    slot, offset, content = reached[-1]
                    for length in range(len(content)):
                        torn = list(slots)
                        torn[slot] = torn[slot][:offset + length] + bytes(b ^ 0xA5 for b in torn[slot][offset + length:])
                        yield tuple(torn)


def applied(content, operation):
    """Return a slot after one operation; pages that were never written read as erased."""
    _, offset, page = operation
    if offset < 0:
        return b""
    return content[:offset].ljust(offset, b"\xff") + page + content[offset + len(page):]


def store_on(flash, kind=Store):
    return kind(flash, TAG, len(OLD))


def lasting(flash):
    """Return what a fresh start finds."""
    return store_on(flash).restore()


def saved(*snapshots, kind=Store):
    flash = TearingFlash()
    store = store_on(flash, kind)
    assert store.restore() is None
    for snapshot in snapshots:
        assert store.save(snapshot)
    return flash, store


def every_cut(before, snapshot, kind=Store):
    """Yield what is restored after each cut of a save, whatever part of the pending writes arrived."""
    whole, store = saved(*before, kind=kind)
    first = whole.operations
    store.save(snapshot)
    for boundary in range(first, whole.operations + 1):
        flash, store = saved(*before, kind=kind)
        flash.cut_after = boundary
        if boundary < whole.operations:
            with pytest.raises(PowerCut, match="^$"):
                store.save(snapshot)
        else:
            store.save(snapshot)
        for slots in flash.aftermaths():
            yield lasting(TearingFlash(slots))


# Cut anywhere.

@pytest.mark.parametrize("before", [(), (OLD,), (NEW, OLD), (OLD, NEW, OLD)], ids=len)
def test_a_cut_at_every_boundary_leaves_the_old_snapshot_or_the_new(before):
    found = list(every_cut(before, NEW))
    assert len(found) > 100
    assert set(found) == {before[-1] if before else None, NEW}
    assert found[-1] == NEW


class OneSlot(Store):
    """Writes over the newest slot, as a store must not."""

    def save(self, snapshot):
        self._newest = 1
        return super().save(snapshot)


def test_a_store_that_overwrites_its_newest_slot_would_be_noticed():
    assert None in set(every_cut((OLD,), NEW, OneSlot))


class Unsynchronised(TearingFlash):
    """Says it is done before the pages have reached the flash."""

    def write(self, slot, record):
        for offset in range(0, len(record), PAGE):
            self.pending.append((slot, offset, record[offset:offset + PAGE]))


def test_a_flash_that_does_not_wait_would_be_noticed():
    flash = Unsynchronised()
    store = store_on(flash)
    store.restore()
    for snapshot in (OLD, NEW, OLD):
        store.save(snapshot)
    assert None in {lasting(TearingFlash(slots)) for slots in flash.aftermaths()}


BOARD = Path(__file__).with_name("littlefs.py")


def test_on_the_boards_file_system_a_cut_at_every_flash_operation_leaves_the_old_or_the_new():
    """littlefs2 itself, over a block device that stops in the middle of an erase or a program."""
    program = BOARD.read_text("utf-8").replace("DRIVERS", repr(str(BOARD.parent)))
    said = [tuple(int(word) for word in line.split()) for line in interpreter.run(program, folder=CORE.parent)]
    (cuts, olds, news, others), in_two_goes, with_one_slot = said
    assert cuts > 30 and others == 0
    assert olds > 15 and news > 10 and olds + news == cuts
    assert in_two_goes[0] > cuts and in_two_goes[3] == 0    # nor does it lean on the file system to keep a file whole
    assert with_one_slot[3] > 0                             # and one slot would be found out by the same cuts


# Damage.

@given(st.integers(0, 1), st.binary(max_size=60))
def test_damage_in_one_slot_gives_the_other_and_a_report(slot, junk):
    flash, _ = saved(OLD, NEW)
    flash.lasting[slot] = junk
    store = store_on(flash)
    assert store.restore() == (NEW if slot == 0 else OLD)
    assert store.found[slot] == (DAMAGED if junk else NOTHING) and store.found[1 - slot] == WHOLE


@given(st.integers(0, 19), st.integers(1, 255))
def test_any_changed_byte_is_found(place, change):
    record = bytearray(pack(OLD, 7, TAG))
    record[place] ^= change
    assert judge(bytes(record), TAG, len(OLD)) == DAMAGED


@given(st.binary(max_size=40), st.binary(max_size=40))
def test_junk_in_both_slots_gives_none_and_the_store_goes_on(first, second):
    flash = TearingFlash((first, second))
    store = store_on(flash)
    assert store.restore() is None
    assert store.save(NEW) and lasting(flash) == NEW


def test_a_slot_that_is_damaged_is_told_from_a_whole_one():
    flash, _ = saved(OLD)
    flash.lasting[1] = b"rust"
    store = store_on(flash)
    store.restore()
    assert store.found == [WHOLE, DAMAGED]


def test_the_levels_of_another_plan_are_nobodys():
    flash, _ = saved(OLD, NEW)
    other = Store(flash, TAG + 1, len(OLD))
    assert other.restore() is None and other.found == [ANOTHER_PLAN, ANOTHER_PLAN]
    assert Store(flash, TAG, len(OLD) + 2).restore() is None
    assert other.save(OLD)
    assert store_on(flash).restore() is None    # an older one of the first plan does not come back


def test_flash_that_fails_to_keep_a_record_costs_the_new_one_only():
    flash, store = saved(OLD)
    keep = flash.write
    flash.write = lambda slot, record: keep(slot, record[:-1] + b"\0")
    assert not store.save(NEW)
    flash.write = refusing
    assert not store.save(NEW)
    assert store.failed == 2 and lasting(flash) == OLD
    flash.write = keep
    assert store.save(NEW) and lasting(flash) == NEW


def refusing(slot, record):
    raise OSError(5)


def test_of_a_file_that_grew_no_more_is_read_than_shows_that_it_is_no_record(tmp_path):
    files = Files(str(tmp_path))
    (tmp_path / "snapshot.0").write_bytes(pack(bytes(255), 1, TAG) + bytes(1 << 20))
    assert len(files.read(0)) == LONGEST + 1 and judge(files.read(0), TAG, 255) == DAMAGED


# Wear and age.

def test_equal_content_is_not_written_again():
    flash, store = saved(OLD)
    count = flash.operations
    assert store.save(OLD) and store.saves == 1 and flash.operations == count
    again = store_on(flash)
    again.restore()
    assert again.save(OLD) and flash.operations == count


def test_saves_take_turns_between_the_slots_and_the_sequence_wraps():
    flash = TearingFlash((pack(OLD, SEQUENCES - 1, TAG), b""))
    for number in range(6):
        store = store_on(flash)
        store.restore()
        assert store.save(bytes((number,) * 4))
        assert lasting(flash) == bytes((number,) * 4)
    assert [int.from_bytes(slot[4:8], "little") for slot in flash.lasting] == [4, 3]


def test_files_of_this_machine_hold_it_too(tmp_path):
    store = Store(Files(str(tmp_path)), TAG, len(OLD))
    assert store.restore() is None and store.found == [NOTHING, NOTHING]
    assert store.save(OLD) and store.save(NEW)
    assert Store(Files(str(tmp_path)), TAG, len(OLD)).restore() == NEW
    assert sorted(path.name for path in tmp_path.iterdir()) == ["snapshot.0", "snapshot.1"]
