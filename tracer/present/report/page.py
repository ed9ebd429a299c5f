"""Blocks of a report as a self-contained HTML page, by the templates; the drawing in it is checked first."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final
from xml.etree import ElementTree

from markupsafe import Markup

from tracer.errors import DrawingError
from tracer.present.html import templates
from tracer.present.report.words import Block

_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"


def as_html(title: str, kind: str, blocks: Sequence[Block], drawing_svg: str | None) -> str:
    """A page that needs nothing but itself.

    Raises:
        DrawingError: The drawing is not plain SVG.
    """
    svg = Markup(_checked_svg(drawing_svg)) if drawing_svg else ""  # the one thing that is not escaped
    page = templates().get_template("report.html")
    return page.render(title=title, kind=kind, blocks=blocks, svg=svg, policy=_POLICY)


def _checked_svg(svg: str) -> str:
    """The SVG element alone.

    Raises:
        DrawingError: Not SVG, or something in it could act or reach outside the page.
    """
    text = svg[svg.find("<svg") :]
    if not text.startswith("<svg") or "<!" in text.replace("<!--", ""):
        raise DrawingError("the drawing for the report is not SVG")
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError as error:
        raise DrawingError(f"the drawing for the report is not SVG: {error}") from error
    for element in root.iter():
        name = str(element.tag).rpartition("}")[2].casefold()
        for key, value in element.attrib.items():
            key = key.rpartition("}")[2].casefold()
            outside = key in ("href", "src") and not value.startswith("#")
            if key.startswith("on") or outside or re.search(r"url\(\s*['\"]?(?!#|['\"])", value):
                raise DrawingError("the drawing for the report reaches outside the page")
        styled = name == "style" and re.search(r"@import|url\(\s*['\"]?(?!#|['\"])", element.text or "")
        if styled or name in ("script", "foreignobject", "iframe", "image", "set", "animate"):
            raise DrawingError("the drawing for the report has active parts")
    return text.strip()
