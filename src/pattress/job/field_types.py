"""The kinds of value a job file holds: how each is read, and its words for people and editors.

A field is `Annotated[TYPE, READER]`: the type is what a checker of types and the rest of the program see, the
reader is the one function that reads the value and raises `Refusal`. It carries a JSON Schema whose description
is the text of "allowed:".
"""

import re
from collections.abc import Callable
from datetime import date
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, BeforeValidator, Discriminator, Field, GetCoreSchemaHandler, PlainValidator, Tag, WithJsonSchema
from pydantic_core import CoreSchema

from pattress.controller.network.host_names import is_name
from pattress.job.action import Action, parse_action
from pattress.job.code import Code, parse_code
from pattress.job.rule import ALLOWED as RULES
from pattress.job.rule import Rule, parse_rule
from pattress.job.system import SYSTEMS, System, parse_system
from pattress.job.wish import ALLOWED as WISHES
from pattress.job.wish import Wish, parse_wish
from pattress.quantity import allowed_words, parse
from pattress.refusal import Refusal, as_found, nearest
from pattress.visible import is_seen, shown

UNKNOWN: Final = "unknown"
Unknown = Literal["unknown"]
OR_UNKNOWN = ', or "unknown"'
TABLE, WORD = "(table)", "(word)"      # tags of a union; never a key of a job file
LONGEST_TEXT = 2000
MOST_PARTS = 4                         # of a key joined by dots
EVENLY: Final = "evenly spaced"
MEASURED: Final = "measured"
CEILING: Final = "ceiling"                    # a height: hangs from the ceiling in front of the wall

_HOST = re.compile(r"(?=.{1,253}(?::|$))[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?(?::([1-9][0-9]{0,4}))?")

SPEEDS = f'"{EVENLY}", or a list of the share of full speed at each step, such as ["45 %", "70 %", "100 %"]'
BROKER = '"none", or the host of the broker, with a port if it is not 1883: "192.168.1.10" or "broker.home:1884"'
HOST_NAME = 'a name of 1 to 32 small letters, digits and inner hyphens, such as "hall-2"'
TIME_SERVER = '"router" for the home\'s own, "none", or a host, with a port if it is not 123: "192.168.1.10" or "time.home"'
COUNTRY = f'two capital letters of ISO 3166-1, such as "GB"{OR_UNKNOWN}'
DAY = "a day as year-month-day, such as 2026-11-25"


class Reader(WithJsonSchema):
    """What reads a field, beside the type it returns: ``power: Annotated[float, quantity("W")]``; its schema carries the words of "allowed:"."""

    __slots__ = ("read",)

    def __init__(self, read: Callable[[object], object], json_type: str | list[str], allowed: str):
        super().__init__({"type": json_type, "description": allowed})
        self.read = read

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return PlainValidator(self.read).__get_pydantic_core_schema__(source, handler)


def quantity(unit: str, *, above: float | None = None, least: float | None = None, most: float | None = None) -> Reader:
    """Return the reader of a quantity in that unit, within the given SI bounds."""
    bounds = {"above": above, "least": least, "most": most}

    def read(found: object) -> float:
        return parse(found, unit, **bounds)

    return Reader(read, "string" if unit else ["string", "number"], allowed_words(unit, **bounds))


def or_unknown(unit: str, *, word: str | tuple[str, ...] = UNKNOWN, elsewhere: str = "", **bounds: float) -> Reader:
    """Return the reader of a quantity that may also be "unknown", or other words; `elsewhere` says where another such quantity belongs."""
    words = (word,) if isinstance(word, str) else word
    quoted = '" or "'.join(words)
    allowed = f'{allowed_words(unit, **bounds)}, or "{quoted}"{elsewhere and "; "}{elsewhere}'

    def read(found: object) -> float | str:
        if found in words:
            return str(found)
        try:
            return parse(found, unit, **bounds)
        except Refusal as refusal:
            raise type(refusal)(refusal.found, allowed, refusal.nearest or nearest(found, words)) from None

    return Reader(read, "string" if unit else ["string", "number"], allowed)


def whole(least: int, most: int, *, even: bool = False, unknown: bool = False) -> Reader:
    """Return the reader of a whole number from `least` to `most`, perhaps even, perhaps "unknown"."""
    allowed = f"{'an even' if even else 'a'} whole number from {least} to {most}{OR_UNKNOWN if unknown else ''}"

    def read(found: object) -> int | str:
        if unknown and found == UNKNOWN:
            return UNKNOWN
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= most or (even and found % 2):
            raise Refusal(as_found(found), allowed, _number_in(found, least, most))
        return found

    return Reader(read, ["integer", "string"] if unknown else "integer", allowed)


def _number_in(found: object, least: int, most: int) -> str:
    """Return the number at the end of a text such as "GP2" or "3", when it may stand here; else ""."""
    match = re.fullmatch(r"[A-Za-z ]{0,8}([0-9]{1,9})", found) if isinstance(found, str) else None
    return str(int(match[1])) if match and least <= int(match[1]) <= most else ""


def number(*, above: float | None = None, least: float | None = None, most: float, unknown: bool = False) -> Reader:
    """Return the reader of a plain number, perhaps "unknown"."""
    low = f"above {above:g}" if least is None else f"from {least:g}"
    allowed = f"a number {low}, at most {most:g}{OR_UNKNOWN if unknown else ''}"

    def read(found: object) -> float | str:
        if unknown and found == UNKNOWN:
            return UNKNOWN
        if isinstance(found, bool) or not isinstance(found, (int, float)) or not _is_inside(found, above, least, most):
            raise Refusal(as_found(found), allowed)
        return float(found)

    return Reader(read, ["number", "string"] if unknown else "number", allowed)


def _is_inside(found: float, above: float | None, least: float | None, most: float) -> bool:
    return (above is None or found > above) and (least is None or found >= least) and found <= most


def text(longest: int = 60, shortest: int = 1) -> Reader:
    """Return the reader of a text in quotes on one line, or on several when it may be long."""
    one_line = longest <= 200
    allowed = f"text in quotes, {shortest} to {longest} characters{' on one line' if one_line else ''}"

    def read(found: object) -> str:
        if not isinstance(found, str) or not shortest <= len(found.strip()) <= longest:
            raise Refusal(as_found(found), allowed)
        if not is_seen(found) if one_line else shown(plain := found.replace("\t", " ")) != plain:
            raise Refusal(as_found(found), allowed)
        return found.strip()

    return Reader(read, "string", allowed)


def _as_list(found: object) -> object:
    return [found] if isinstance(found, str) else found


def _list_schema(least: int) -> WithJsonSchema:
    """Return the schema of a list of texts; one text may stand without the brackets."""
    rows = {"type": "array", "items": {"type": "string"}, "minItems": least}
    return WithJsonSchema({"anyOf": [{"type": "string"}, rows], "description": "a list of texts in quotes, or one text"})


# A table that may also be a word: Annotated[Annotated[Inrush, AS_TABLE] | Annotated[Unknown, AS_WORD], TABLE_OR_WORD].
AS_TABLE, AS_WORD = Tag(TABLE), Tag(WORD)
TABLE_OR_WORD = Discriminator(lambda found: TABLE if isinstance(found, (dict, BaseModel)) else WORD)


def joined_keys(of_tables: bool) -> BeforeValidator:
    """Return a reader that joins keys of several parts by dots, so that `relay.lamp = 5` needs no quotes.

    `of_tables` says whether the values at the bottom are tables themselves.
    """

    def is_bottom(value: object) -> bool:
        if not isinstance(value, dict) or not value:
            return True
        return of_tables and not all(isinstance(inner, dict) for inner in value.values())

    def join(found: object) -> object:
        if not isinstance(found, dict):
            return found
        flat: dict[str, object] = {}
        rows = [(key, value, 1) for key, value in found.items()]
        while rows:
            key, value, parts = rows.pop(0)
            if is_bottom(value) or parts == MOST_PARTS:
                if key in flat:
                    raise Refusal(f"a table with two values for {key}", "each key once")
                flat[key] = value
            else:
                rows[:0] = [(f"{key}.{part}", inner, parts + 1) for part, inner in value.items()]
        return flat

    return BeforeValidator(join)


def _read_speeds(found: object) -> str | tuple[float, ...]:
    if found == EVENLY:
        return EVENLY
    if not isinstance(found, list) or not found:
        raise Refusal(as_found(found), SPEEDS)
    speeds = []
    for speed in found:
        try:
            speeds.append(parse(speed, "", above=0.0, most=1.0))
        except Refusal as refusal:
            raise Refusal(f"a list with {refusal.found}", SPEEDS) from None
    return tuple(speeds)


def _host(allowed: str) -> Callable[[object], str]:
    """Return what reads a host with a port, or a word that looks like one."""
    def read(found: object) -> str:
        if isinstance(found, str) and (match := _HOST.fullmatch(found)) and int(match[1] or 0) <= 65535:
            return found
        raise Refusal(as_found(found), allowed)
    return read


def _read_host_name(found: object) -> str:
    if not isinstance(found, str) or not is_name(found):
        raise Refusal(as_found(found), HOST_NAME)
    return found


def _read_date(found: object) -> str:
    try:
        if type(found) is date:
            return found.isoformat()
        if isinstance(found, str):
            return date.fromisoformat(found).isoformat()
    except ValueError:
        pass
    raise Refusal(as_found(found), DAY)


def _read_country(found: object) -> str:
    if found == UNKNOWN or isinstance(found, str) and re.fullmatch("[A-Z]{2}", found):
        return str(found)
    raise Refusal(as_found(found), COUNTRY)


def _read_code(found: object) -> Code | str:
    return UNKNOWN if found == UNKNOWN else parse_code(found)


Act = Annotated[Action, Reader(parse_action, "string", 'what to do, such as "toggle pendant", "set ceiling 3" or "off everything"')]
AnyCode = Annotated[Code | Unknown, Reader(_read_code, "string", f'a code such as "nec 0x04:0x08"{OR_UNKNOWN}')]
Says = Annotated[Wish, Reader(parse_wish, "string", f"a sentence such as {WISHES}")]
RuleSays = Annotated[Rule, Reader(parse_rule, "string", f"a sentence such as {RULES}")]
MainsSystem = Annotated[System, Reader(parse_system, "string", SYSTEMS)]
Speeds = Annotated[Literal["evenly spaced"] | tuple[float, ...], Reader(_read_speeds, ["string", "array"], SPEEDS)]
Broker = Annotated[str, Reader(_host(BROKER), "string", BROKER)]
HostName = Annotated[str, Reader(_read_host_name, "string", HOST_NAME)]
TimeServer = Annotated[str, Reader(_host(TIME_SERVER), "string", TIME_SERVER)]
Country = Annotated[str, Reader(_read_country, "string", COUNTRY)]
Day = Annotated[str, Reader(_read_date, "string", DAY)]
Name = Annotated[str, text(60)]
Key = Annotated[str, text(60)]
Acts = Annotated[tuple[Act, ...], BeforeValidator(_as_list), Field(min_length=1), _list_schema(1)]
Names = Annotated[tuple[Name, ...], BeforeValidator(_as_list), _list_schema(0)]
