"""The names that a compiled module brings with it: the table at its head, without those that the format has a number for."""


def _number(data: bytes, at: int) -> tuple[int, int]:
    """Return a number of seven bits a byte, the highest first, and where it ends."""
    number = 0
    while True:
        number, at = number << 7 | data[at] & 0x7F, at + 1
        if not data[at - 1] & 0x80:
            return number, at


def names_in(module: bytes) -> list[str]:
    """Return the names in a module of format 6, sorted."""
    assert module[:2] == b"M\x06"
    count, at = _number(module, 4)
    _, at = _number(module, at)         # how many other objects
    names = []
    for _ in range(count):
        length, at = _number(module, at)
        if not length & 1:              # else it is the number of a name
            names.append(module[at:at + (length >> 1)].decode())
            at += (length >> 1) + 1
    return sorted(names)
