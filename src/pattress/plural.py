"""A count and what is counted, in words: "1 relay", "2 relays"."""


def counted(count: int, one: str, many: str = "") -> str:
    """Return a count with the word for one or for many: "1 step", "3 steps", "0 presses".

    `many` is `one` with an s where it is not given; a verb gives both, "fails" and "fail".
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
