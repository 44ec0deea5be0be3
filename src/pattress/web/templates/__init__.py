"""The templates, and the one environment that prints them: everything escaped, nothing undefined."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from pattress.finding import Verdict
from pattress.handover.line_breaks import whole

# A mark by shape for each verdict, beside its word.
MARKS = {Verdict.HOLDS: "\u2713", Verdict.TIGHT: "\u25b3", Verdict.UNKNOWN: "?", Verdict.FAILS: "\u2715"}


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("pattress.web", "templates"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False,
    )
    environment.filters["svg"] = Markup             # for drawings of our own making only
    environment.filters["whole"] = whole
    environment.globals["marks"] = {str(verdict): mark for verdict, mark in MARKS.items()}
    for pieces in ("parts", "fields"):
        environment.globals[pieces] = environment.get_template(f"{pieces}.html").module
    return environment


def render(template: str, **context: Any) -> str:
    """Return a template printed with its context."""
    return _environment().get_template(template).render(**context)
