"""The states that were seen: each whole, or only a value of 64 bits made of it, in bounded memory.

Keeping a short value instead of a state is the hash compaction of Wolper and Leroy, "Reliable
Hashing Without Collision Detection", CAV 1993, with the eight bytes that they recommend (so
said in the abstract of Stern and Dill, "Improved Probabilistic Verification by Hash
Compaction", CHARME 1995, which was read; the papers themselves were not).
"""

from hashlib import blake2b
from math import expm1, fsum, log1p
from mmap import mmap
from struct import calcsize

BITS = 64
WHOLE_OVERHEAD = 260        # of a state kept whole, beside its own bytes: dictionary, tuple, number; measured with CPython 3.11 [bytes]
COMPACT_STATE = 20          # of a state kept as a value: value, the one before it, number of the move [bytes]
FULLEST = 0.9               # share of the table that may be filled


def value_of(key: bytes) -> int:
    """Return the value of 64 bits that stands for a state; never 0."""
    return int.from_bytes(blake2b(key, digest_size=BITS // 8).digest(), "little") or 1


def chance_of_omission(states: int, bits: int = BITS) -> float:
    """Return the chance that any two of so many different states have the same value, so that one may have been missed.

    1 - (1 - 1/2^b)(1 - 2/2^b)...(1 - (n-1)/2^b) for values that are drawn evenly: the birthday
    problem (textbook, from memory); for many states by its bound n(n-1) / 2^(b+1).
    """
    if states > 10_000:
        return -expm1(-states * (states - 1) / 2 ** (bits + 1))
    return -expm1(fsum(log1p(-place / 2**bits) for place in range(1, states)))


class Full(Exception):
    """There is no room for another state in the memory allowed."""


class Whole:
    """States kept whole: exact."""

    def __init__(self, room: int) -> None:
        self.room, self.size = room, 0
        self.seen: dict[bytes, tuple[bytes | None, int]] = {}

    def __len__(self) -> int:
        return len(self.seen)

    @staticmethod
    def name_of(key: bytes, value: int) -> bytes:
        """Return what a state is known by here."""
        return key

    def add(self, name: bytes, before: bytes | None, move: int) -> bool:
        """Keep a state, the one before it (None at power-up) and the number of the move; return whether it is new."""
        if name in self.seen:
            return False
        self.size += len(name) + WHOLE_OVERHEAD
        if self.size > self.room:
            raise Full
        self.seen[name] = (before, move)
        return True

    def before(self, name: bytes) -> tuple[bytes | None, int]:
        """Return the state before this one (None at power-up) and the number of the move from there."""
        return self.seen[name]


class Compact:
    """States kept as values of 64 bits in one table of fixed size; the chance of a missed state is `chance_of_omission`."""

    def __init__(self, room: int) -> None:
        self.slots = max(8, room // COMPACT_STATE)
        # Zeros that take no memory before they are written.
        self.values, self.befores, self.moves = (
            memoryview(mmap(-1, self.slots * calcsize(code))).cast(code) for code in ("Q", "Q", "I"))
        self.count = 0

    def __len__(self) -> int:
        return self.count

    @staticmethod
    def name_of(key: bytes, value: int) -> int:
        """Return what a state is known by here."""
        return value

    def add(self, name: int, before: int | None, move: int) -> bool:
        """As `Whole.add`."""
        slot = self._slot(name)
        if self.values[slot] == name:
            return False
        if self.count >= FULLEST * self.slots:
            raise Full
        self.values[slot], self.befores[slot], self.moves[slot] = name, before or 0, move
        self.count += 1
        return True

    def before(self, name: int) -> tuple[int | None, int]:
        """As `Whole.before`."""
        slot = self._slot(name)
        return self.befores[slot] or None, self.moves[slot]

    def _slot(self, name: int) -> int:
        """Return where a value is, or would be: the next free place from where it belongs."""
        slot = (name >> 8) % self.slots         # the lowest bits say which process keeps it
        while self.values[slot] not in (0, name):
            slot = slot + 1 if slot + 1 < self.slots else 0
        return slot
