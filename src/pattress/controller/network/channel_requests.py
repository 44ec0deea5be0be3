"""What may be requested of a channel, in words: `on`, `off`, `toggle`, `up`, `down`, or a level.

The same grammar for MQTT and HTTP. A JSON value says the same: `"on"`, `true`, `false`, `3`.
Nothing is guessed: one byte more or less than the grammar allows and it is no request.
"""

LONGEST = 16            # of any request, quotes and blanks around it included [B]
BLANK = b" \t\r\n"      # what JSON allows around a value (RFC 8259, section 2)


def allowed(top):
    """Return what a channel of this highest level understands, for a person."""
    return "on, off, toggle, up, down, true, false, or 0 to {}".format(top)


def parsed(payload, core):
    """Return (verb, level) of a payload, None when it says nothing we know. `core` has the verbs."""
    if not 0 < len(payload) <= LONGEST:
        return None
    word = bytes(payload).strip(BLANK)
    if len(word) > 2 and word[0] == 34 and word[-1] == 34:      # a JSON string
        return _verb(word[1:-1], core)
    if word == b"true":
        return core.ON, 0
    if word == b"false":
        return core.OFF, 0
    if _is_level(word):
        return core.SET, int(word)
    return _verb(word, core)


def _is_level(word):
    """Return whether these are one or two decimal digits, without a zero that means nothing."""
    if not 1 <= len(word) <= 2 or (len(word) == 2 and word[0] == 48):
        return False
    for byte in word:
        if not 48 <= byte <= 57:
            return False
    return True


def _verb(word, core):
    for verb, known in enumerate(core.VERBS):
        if verb != core.SET and word == known.encode():
            return verb, 0
    return None
