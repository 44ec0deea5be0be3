"""The templates, and the one environment that prints them: everything escaped, nothing undefined."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from pattress.handover.line_breaks import whole


@cache
def _environment() -> Environment:
    loader = PackageLoader("pattress.handover", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, auto_reload=False,
    )
    environment.filters["whole"] = whole
    table = environment.get_template("table.html")
    environment.globals["style"] = Markup(loader.get_source(environment, "page.css")[0])
    environment.globals["table_of"] = lambda rows: Markup(table.render(table=rows))
    return environment


def render(template: str, **context: Any) -> str:
    """Return a template printed with its context, as HTML that needs nothing from outside."""
    return _environment().get_template(template).render(**context)
