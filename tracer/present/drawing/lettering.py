"""Lettering: how wide it is, and how it is cut to fit."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from tracer.present.drawing.font_widths import BOLD, REGULAR, UNKNOWN
from tracer.present.text import with_units

_ILLEGAL: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]|[\x7f-\x9f\ufffe\uffff]")
# Marks that turn the direction of the text round them: a name could make its neighbours unreadable.
_DIRECTION: Final = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def clean(text: str) -> str:
    """The text on one line, without characters that XML or a printer cannot take."""
    return " ".join(_DIRECTION.sub("", _ILLEGAL.sub("\ufffd", text)).split())


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width in points of a line of lettering, in the widest of the fonts that may draw it."""
    total = 0.0
    widths = BOLD if bold else REGULAR
    for char in text:
        if char in widths:
            total += widths[char]
        elif unicodedata.combining(char) or unicodedata.category(char) in ("Cf", "Mn", "Me"):
            continue
        else:
            total += widths.get(unicodedata.normalize("NFD", char)[0], UNKNOWN)
    return total * size / 1000


def shorten(text: str, width: float, size: float, bold: bool = False) -> str:
    """The text, cut and ended with “…” where it is wider than `width`."""
    if width_of(text, size, bold) <= width:
        return text
    while text and width_of(text + "…", size, bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(
    text: str, width: float, size: float, lines: int = 99, bold: bool = False, stretch: float = 1.5
) -> list[str]:
    """The text broken into at most `lines` lines; the last one is shortened.

    No line is wider than `width`, but for a single word, which may be `stretch` times as wide rather than be broken.
    """
    out: list[str] = []
    rest = with_units(clean(text))
    while rest and len(out) < lines - 1 and width_of(rest, size, bold) > width:
        fits = 1
        while fits < len(rest) and width_of(rest[: fits + 1], size, bold) <= width:
            fits += 1
        space = rest.rfind(" ", 0, fits + 1)
        hyphen = rest.rfind("-", 0, fits) + 1
        cut = max(space, hyphen)
        if cut <= 0:
            cut = _end_of_word(rest, stretch * width, size, bold) or fits
        out.append(rest[:cut].rstrip())
        rest = rest[cut:].lstrip()
    if rest:
        whole = " " not in rest and width_of(rest, size, bold) <= stretch * width
        out.append(rest if whole else shorten(rest, width, size, bold))
    return [line.replace("\u00a0", " ") for line in out]


def _end_of_word(text: str, width: float, size: float, bold: bool) -> int:
    """Where the first word ends, if it is no wider than `width`; else 0."""
    end = next((i for i, c in enumerate(text) if c in " -"), len(text))
    end += text[end : end + 1] == "-"
    return end if width_of(text[:end], size, bold) <= width else 0
