"""The templates of every HTML page of the project: whatever is put into them is escaped, and can be seen."""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

# Control characters, and those that turn the direction of the text after them, show as what they are.
_UNSEEN: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_UNIT: Final = re.compile(r"(?<=[0-9]) (?=(?:V|Ω|A|W|min)\b|%)")  # a number stays with its unit


def plain(text: str) -> str:
    """Text without characters that cannot be seen."""
    return _UNSEEN.sub("\ufffd", text)


@cache
def templates() -> Environment:
    """The templates that lie beside this module; a name that a template misspells is an error."""
    return Environment(
        loader=PackageLoader("tracer.present"), autoescape=True, undefined=StrictUndefined, finalize=_shown,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )


def _shown(value: object) -> object:
    """What a template prints: markup as it is, anything else as text that can be seen (and is escaped next)."""
    return _UNIT.sub("\u00a0", plain(value)) if isinstance(value, str) and not isinstance(value, Markup) else value
