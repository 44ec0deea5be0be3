"""The sheet of one thing: what it is, what was asked, the findings that concern it, and what would cure them."""

from dataclasses import dataclass

from pattress.web import things
from pattress.web.findings import Shown, shown
from pattress.web.home import Room, room_of
from pattress.web.sheet import Asked, NoSuchSheet


@dataclass(frozen=True, slots=True)
class ThingSheet:
    """One thing beside the drawing."""

    room: Room
    path: str
    name: str
    what: str
    findings: tuple[Shown, ...]        # about it
    touched: tuple[Shown, ...]         # about other things, reckoned with a value of this one


def view(asked: Asked) -> ThingSheet:
    """Return the sheet of the thing in the address; raises NoSuchSheet."""
    section, key = asked.place["section"], asked.place.get("key", "")
    design = asked.design
    if not things.is_there(design.job, section, key):
        raise NoSuchSheet(f"This job has no {section} {key}".rstrip() + ".")
    what = things.SINGLE.get(section) or things.NAMED[section]
    thing = getattr(design.job, section)[key] if key else None
    return ThingSheet(
        room=room_of(design, f"{section}/{key}" if key else section), path=f"{section}/{key}" if key else section,
        name=getattr(thing, "name", key.replace("_", " ")) or what, what=what if key else "",
        findings=tuple(shown(finding, design.accepted) for finding in things.findings_of(design, section, key)),
        touched=tuple(shown(finding, design.accepted) for finding in things.touched_by(design, section, key)),
    )
