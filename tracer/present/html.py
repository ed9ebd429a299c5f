"""The templates of every HTML page of the project: whatever is put into them is escaped, and can be seen."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from tracer.present.text import plain, with_units


@cache
def templates() -> Environment:
    """The templates that lie beside this module; a name that a template misspells is an error."""
    made = Environment(
        loader=PackageLoader("tracer.present"), autoescape=True, undefined=StrictUndefined, finalize=_shown,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )
    made.filters["exactly"] = escape  # sign by sign, for what comes back
    return made


def _shown(value: object) -> object:
    """What a template prints: markup as it is, anything else as text that can be seen (and is escaped next)."""
    return with_units(plain(value)) if isinstance(value, str) and not isinstance(value, Markup) else value
