"""Which names a controller may have in the home. Loaded only for those who ask."""

NAMES = 9           # that a controller may take when others have its own: home, home-2 ... home-9


def is_name(name):
    """Return whether a text may be a controller's name: 1 to 32 small letters, digits, hyphens inside."""
    if not 1 <= len(name) <= 32 or name[0] == "-" or name[-1] == "-":
        return False
    for letter in name:
        if letter not in "abcdefghijklmnopqrstuvwxyz0123456789-":
            return False
    return True


def numbered(name):
    """Return a name without the number at its end, and that number, 1 when there is none: home-2 is (home, 2)."""
    stem, _, number = name.rpartition("-")
    try:
        return (stem, int(number)) if stem else (name, 1)
    except ValueError:
        return name, 1
