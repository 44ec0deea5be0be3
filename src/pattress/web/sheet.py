"""What a sheet of the page is: an address, a pure view, a template, and the actions it offers."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pattress.design import Design
from pattress.web.draft import Draft, Version
from pattress.web.news import News


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that was posted."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Asked:
    """One request to a sheet, as plain values.

    `version` is what the draft held when the request came; views use nothing else of it. `place`
    are the parts of the address in braces, `query` and `form` the last value of each name.
    """

    draft: Draft
    version: Version
    news: News
    place: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    form: Mapping[str, str] = field(default_factory=dict)
    uploads: Mapping[str, Upload] = field(default_factory=dict)

    @property
    def design(self) -> Design:
        """Return the design of the version."""
        return self.version.design


@dataclass(frozen=True, slots=True)
class Go:
    """After an action: go to an address of this page, with a word about what was done."""

    to: str
    said: str = ""


@dataclass(frozen=True, slots=True)
class Stay:
    """After an action that was refused: show the same sheet with this context, and say why on top."""

    context: Any
    said: str
    status: int = 422


@dataclass(frozen=True, slots=True)
class Document:
    """What a view returns in place of a context: a file to be shown as it is, or saved when `save`."""

    name: str
    media: str
    content: bytes
    save: bool = False


class NoSuchSheet(Exception):
    """The address names a thing that the job does not have; the text says which."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. `title` is its word in the row of sheets, "" when it is reached from elsewhere.

    `view` returns the frozen context that the template prints as `sheet`. An action is named by the
    form's field `do` up to a colon, what follows is for the action; it may take its time, as it runs in a thread of its own.
    """

    path: str
    title: str
    template: str
    view: Callable[[Asked], Any]
    actions: Mapping[str, Callable[[Asked], Go | Stay]] = field(default_factory=dict)
