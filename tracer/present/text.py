"""What is done to every text before it is shown: signs that cannot be seen are shown, numbers keep their units."""

from __future__ import annotations

import re
from typing import Final

# Control characters, and those that turn the direction of the text after them or end a line unseen.
UNSEEN: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
_UNIT: Final = re.compile(r"(?<=[0-9]) (?=(?:V|Ω|A|W|min|mm²)(?!\w)|%)")


def plain(text: str) -> str:
    """Text in which every character that cannot be seen shows as "\ufffd"; line breaks and tabs stay."""
    return UNSEEN.sub("\ufffd", text)


def with_units(text: str) -> str:
    """Text in which no line ends between a number and its unit."""
    return _UNIT.sub("\u00a0", text)
