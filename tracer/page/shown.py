"""Small words and pictures of the templates: shares, minutes, a bar, a wire's colours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from markupsafe import Markup, escape

from tracer.present.conversation.screens import Answer
from tracer.units import minutes, percent

# Only for the eye beside the letters, which carry the meaning.
_SHADES: Final = {
    "black": "#111", "brown": "#7a4a1e", "red": "#c8102e", "orange": "#f57c00", "yellow": "#ffd500",
    "green": "#1b8a3a", "blue": "#1554b8", "violet": "#7b2d8e", "purple": "#7b2d8e", "grey": "#8a8a8a",
    "slate": "#8a8a8a", "white": "#fff", "pink": "#f29bb7", "gold": "#c9a227", "turquoise": "#1fb5ad",
    "silver": "#c9c9c9", "light green": "#8fd14f",
}


def filters() -> dict[str, Callable[..., Any]]:
    return {"percent": percent, "minutes": minutes, "bar": bar, "swatch": swatch, "table": table}


def table(answer: Answer, lamp: str) -> list[tuple[str, str]]:
    """The looks of several lamps, that of the test first."""
    return [(lamp, answer.value), *answer.also]


def bar(share: float | None) -> Markup:
    """A bar behind a button, as wide as the share; drawn, so that no style stands in the page."""
    if share is None:
        return Markup()
    return Markup('<svg class="bar" aria-hidden="true" width="100%" height="100%"><rect width="{}%" height="100%" '
                  'fill="#e4e4df"/></svg>').format(max(0, min(100, round(share * 100))))


def swatch(colours: Sequence[str]) -> Markup:
    """A piece of wire: the main colour with the tracer along it."""
    shades = [_SHADES.get(c, "") for c in (colours[0].split("-and-") if len(colours) == 1 else colours)]
    if not shades or not all(shades):
        return Markup()
    along = f'<rect x="1" y="5" width="34" height="4" fill="{escape(shades[1])}"/>' if len(shades) > 1 else ""
    return Markup('<svg class="wire" aria-hidden="true" width="36" height="14"><rect x="1" y="1" width="34" '
                  f'height="12" fill="{escape(shades[0])}" stroke="#111"/>{along}</svg>')
