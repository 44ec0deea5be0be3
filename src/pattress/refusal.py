"""How an input is refused: what was found, what is allowed, what is nearest.

Every reader of a person's text raises a `Refusal`, so that a message looks the same whether a
quantity, a code or a key of the job file is meant.
"""

from collections.abc import Iterable, Mapping

from pattress.visible import is_seen

LONGEST_SHOWN = 60


class Refusal(ValueError):
    """A text or value cannot be taken.

    `found` is a noun phrase ("'75 kg', a mass"), `allowed` says what to write instead, `nearest`
    is the likeliest thing meant or "". Usual cause: a slip of the pen. Try the nearest.
    """

    def __init__(self, found: str, allowed: str, nearest: str = ""):
        super().__init__(found, allowed, nearest)
        self.found, self.allowed, self.nearest = found, allowed, nearest

    def __str__(self) -> str:
        return f"found {self.found}{advice(self.allowed, self.nearest)}"


def advice(allowed: str, nearest: str) -> str:
    """Return the lines that follow what was found; nothing for what is empty."""
    lines = (("allowed", allowed), ("nearest", nearest))
    return "".join(f"\n  {label}: {text}" for label, text in lines if text)


def as_found(value: object) -> str:
    """Return a value as its writer would know it: in quotes, shortened, never a wall of text."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        shown = value if len(value) <= LONGEST_SHOWN else value[: LONGEST_SHOWN - 3] + "..."
        return repr(shown) if is_seen(shown) or not shown.strip() else ascii(shown)
    if isinstance(value, Mapping):
        return "a table" if value else "an empty table"
    if isinstance(value, (list, tuple)):
        return "a list" if value else "an empty list"
    if isinstance(value, int) and abs(value) >= 10**LONGEST_SHOWN:
        return "a very long number"
    return str(value)


def nearest(found: object, allowed: Iterable[str]) -> str:
    """Return the allowed word that `found` most likely means, or "" when none is near."""
    from difflib import get_close_matches

    if not isinstance(found, str) or len(found) > LONGEST_SHOWN:
        return ""
    by_fold = {word.casefold(): word for word in allowed}
    matches = get_close_matches(found.strip().casefold(), by_fold, n=1, cutoff=0.5)
    return by_fold[matches[0]] if matches else ""


def word_list(words: Iterable[str]) -> str:
    """Return words as a list for people: "one, two, three"."""
    return ", ".join(words)
