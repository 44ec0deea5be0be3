"""Files as somebody else may hand them over: valid ones, damaged and poisoned, drawn from a seed."""

import re

ACTING = ["\x1b[2J\x1b[31m", "\x1b]0;title\x07", "\u202e", "\u2066", "\u2028", "\u0085", "\x07", "\x7f", "\r", "\U000e0041", "\x00"]
BLANK = ["\u3164", "\u2800", "\u0301\u0301", "\u115f", " "]
NUMBERS = ["1e308", "-1e308", "1e999", "inf", "nan", "-inf", "-16", "0", "-0.0", "9" * 50, "9" * 1900, "9" * 6000, "0x" + "f" * 1500, "1e-320", "NaN", "Infinity",
           "1_0", "true", "1979-05-27", "07:32:00", "18446744073709551616", "-1", "65536", "1.5"]
WORDS = ["", "unknown", "none", "auto", "1e308 A", "-16 A", "0 A", "1e-300 V", "12 furlongs", "../../etc/passwd", "/etc/passwd", "C:\\x", "a" * 1900, "a" * 100_000,
         "=1+1", "{0}", "%s%n", "<script>alert(1)</script>", "'; drop", "$(reboot)", "\\u0000", "\\ud800", "toggle", "everything", "nec 0x04:0x08"]
NESTS = ["[" * 20, "[" * 60, "[" * 30_000, "{" * 30, '{"a":' * 3000, "{ a = " * 40, "[[[[[[[[1]]]]]]]]", "[[]]", "{}", "[]", "null"]
_VALUE = re.compile(r'"(?:\\.|[^"\\\n])*"|\b[0-9][0-9a-zA-Z_.+-]*|\btrue\b|\bfalse\b|\bnull\b')
_KEY = re.compile(r'^[ \t]*"?([\w.-]+)"?\s*[=:]|^[ \t]*\[+([^\]\n]+)\]', re.MULTILINE)


def hostile(text, random):
    """Return the bytes of a text with up to four things done to it."""
    for _ in range(random.choice((0, 1, 1, 1, 1, 2, 2, 3, 4))):
        text = random.choice(WAYS)(text, random)[:600_000]
    content = text.encode("utf-8", "surrogatepass")
    if random.random() < 0.05:
        place = random.randrange(len(content) + 1)
        content = content[:place] + random.randbytes(random.choice((1, 4, 40))) + content[place:]
    return content


def word(random):
    """Return a text without quotes that a value may hold."""
    chosen = random.choice(WORDS)
    if random.random() < 0.5:
        chosen = chosen[: random.randrange(20)] + random.choice(ACTING + BLANK)
    return chosen


def value(random):
    """Return a value as a file may write it: bare, or in quotes, with what acts in it raw or as an escape."""
    way = random.randrange(5)
    if way == 0:
        return random.choice(NUMBERS)
    if way == 1:
        return random.choice(NESTS)
    chosen = word(random)
    if way == 2:
        return '"' + "".join(f"\\u{ord(one):04x}" if not one.isprintable() and ord(one) < 0x10000 else one for one in chosen.replace("\\", "").replace('"', "")) + '"'
    return f'"{chosen}"'


def _other_value(text, random):
    found = list(_VALUE.finditer(text))
    if not found:
        return text + value(random)
    one = random.choice(found)
    return text[: one.start()] + value(random) + text[one.end():]


def _longer_value(text, random):
    found = list(_VALUE.finditer(text))
    if not found:
        return text
    one = random.choice(found)
    at = random.randrange(one.start(), one.end() + 1)
    return text[:at] + random.choice(ACTING + BLANK + ["\\n", "\\u001b[31m", "\\u202e", "0" * 400, '"', "'", "\\"]) + text[at:]


def _other_key(text, random):
    found = list(_KEY.finditer(text))
    if not found:
        return text
    one = random.choice(found)
    start, end = one.span(1) if one[1] is not None else one.span(2)
    other = random.choice((word(random), f'"{word(random)}"', "a." * 300 + "a", f'"{chr(92)}u001b[31m"', "a", "format", "files", "part", "sources", "b" * 1500, '"x] #"', "__proto__"))
    return text[:start] + other + text[end:]


def _lines_moved(text, random):
    lines = text.split("\n")
    one, other = sorted((random.randrange(len(lines)), random.randrange(len(lines))))
    piece = lines[one: min(other, one + 12)]
    way = random.randrange(4)
    if way == 0:
        del lines[one: one + len(piece)]
    elif way == 1:
        lines[other:other] = piece * random.choice((1, 2, 300))
    elif way == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        lines.insert(one, random.choice((f"{word(random)} = {value(random)}", f"[{word(random)}]", f"[[{word(random)}]]", value(random), "a.a.a.a = 1\n" * 200, "x" * 3000)))
    return "\n".join(lines)


def _cut(text, random):
    at = random.randrange(len(text) + 1)
    return text[:at] if random.random() < 0.5 else text[at:]


def _letters(text, random):
    for _ in range(random.choice((1, 3, 20))):
        at = random.randrange(len(text) + 1)
        text = text[:at] + random.choice(("", "\n", "=", '"', "[", "]", "{", "}", "#", ".", ",", "-", "0", "é", *ACTING)) + text[at + random.randrange(2):]
    return text


def _whole(text, random):
    return random.choice((
        lambda: "", lambda: "\ufeff" + text, lambda: text.replace("\n", "\r\n"), lambda: text.replace("\n", "\r"), lambda: text * 20, lambda: random.choice(NESTS),
        lambda: "a." * 900 + "a = 1", lambda: "\n".join("[" + "a." * 500 + f"b{number}]" for number in range(100)), lambda: "x = " + "[" * 5000 + "]" * 5000,
        lambda: "x" * 300_000, lambda: '"""' * 5000, lambda: "'''\\" * 5000, lambda: '"""\\' * 5000, lambda: "\n" * 100_000, lambda: "a=1\n" * 50_000,
        lambda: "x = " + "9" * 4500, lambda: "# " + word(random) + "\n" + text))()


WAYS = (_other_value, _other_value, _other_value, _longer_value, _longer_value, _other_key, _lines_moved, _cut, _letters, _whole)
