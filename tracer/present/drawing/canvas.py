"""A sheet of paper: lines, shapes and lettering in points, written as SVG, PNG or PDF.

SVG is written here; PNG and PDF are the same strokes handed to Graphviz as a picture with every
position fixed (nothing is laid out again), so that the three formats show the same.
"""

from __future__ import annotations

import itertools
import math
import re
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Final, Literal
from xml.sax.saxutils import escape, quoteattr

import pygraphviz
from msgspec import Struct, field
from msgspec.structs import replace

from tracer.errors import DrawingError
from tracer.present.drawing.lettering import clean, width_of

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
FONT: Final = "Arial"
SVG_FONTS: Final = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
PNG_DPI: Final = 150
INK: Final = "#000000"
PAPER: Final = "#ffffff"


def element_id(kind: str, name: str) -> str:
    """The id that a thing has in the SVG: the same for the same name in every picture."""
    slug = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:40]
    return f"{kind}-{slug}-{zlib.crc32(name.encode('utf-8', 'replace')):08x}"


class Stroke(Struct, frozen=True):
    points: tuple[Point, ...]
    width: float
    colour: str
    dash: tuple[float, float] | None = None


class Shape(Struct, frozen=True):
    points: tuple[Point, ...]  # two points of an ellipse: centre, radii
    ellipse: bool
    fill: str  # "" for none
    colour: str
    width: float


class Lettering(Struct, frozen=True):
    at: Point  # the middle of the line's height
    text: str
    size: float
    anchor: Anchor
    bold: bool
    colour: str


class Opening(Struct, frozen=True):
    id: str
    title: str
    data: str


class Closing(Struct, frozen=True):
    pass


Op = Stroke | Shape | Lettering | Opening | Closing


class Canvas(Struct):
    """What is drawn so far, in points, x to the right and y down."""

    ops: list[Op] = field(default_factory=list)

    def line(
        self, points: Sequence[Point], width: float = 1.0, colour: str = INK, dash: tuple[float, float] | None = None
    ) -> None:
        self.ops.append(Stroke(tuple(points), width, colour, dash))

    def polygon(self, points: Sequence[Point], fill: str = "", colour: str = INK, width: float = 1.0) -> None:
        self.ops.append(Shape(tuple(points), False, fill, colour, width))

    def rect(
        self, x: float, y: float, w: float, h: float, fill: str = "", colour: str = INK, width: float = 1.0
    ) -> None:
        self.polygon([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill, colour, width)

    def circle(
        self, at: Point, radius: float, fill: str = "", colour: str = INK, width: float = 1.0
    ) -> None:
        self.ops.append(Shape((at, (radius, radius)), True, fill, colour, width))

    def text(
        self, x: float, y: float, text: str, size: float = 10.0, anchor: Anchor = "start", bold: bool = False,
        colour: str = INK,
    ) -> None:
        """One line of lettering; `y` is the middle of its height."""
        if text:
            self.ops.append(Lettering((x, y), text, size, anchor, bold, colour))

    @contextmanager
    def group(self, id: str, title: str, data: str = "") -> Iterator[None]:
        self.ops.append(Opening(id, title, data))
        yield
        self.ops.append(Closing())

    def named(self) -> set[str]:
        """The names of the groups in which something is drawn."""
        found: set[str] = set()
        groups: list[str] = []
        for op in self.ops:
            if isinstance(op, Opening):
                groups.append(op.data)
            elif isinstance(op, Closing):
                groups.pop()
            else:
                found.update(groups)
        return found

    def moved(self, dx: float, dy: float) -> list[Op]:
        """Everything drawn so far, somewhere else."""

        def shift(points: tuple[Point, ...]) -> tuple[Point, ...]:
            return tuple((x + dx, y + dy) for x, y in points)

        out: list[Op] = []
        for op in self.ops:
            match op:
                case Stroke():
                    out.append(replace(op, points=shift(op.points)))
                case Shape(ellipse=True):
                    out.append(replace(op, points=(*shift(op.points[:1]), op.points[1])))
                case Shape():
                    out.append(replace(op, points=shift(op.points)))
                case Lettering():
                    out.append(replace(op, at=shift((op.at,))[0]))
                case _:
                    out.append(op)
        return out

    def boxes(self) -> list[tuple[float, float, float, float, str]]:
        """The rectangle that each line of lettering takes: left, top, right, bottom, text."""
        out = []
        for op in self.ops:
            if isinstance(op, Lettering):
                w = width_of(op.text, op.size, op.bold)
                x = op.at[0] - {"start": 0.0, "middle": w / 2, "end": w}[op.anchor]
                out.append((x, op.at[1] - op.size * 0.42, x + w, op.at[1] + op.size * 0.42, op.text))
        return out


class Page(Struct, frozen=True):
    """The sheet: its size in points and where the canvas lies on it."""

    width: float
    height: float
    scale: float = 1.0
    left: float = 0.0
    top: float = 0.0

    def at(self, p: Point) -> Point:
        return self.left + p[0] * self.scale, self.top + p[1] * self.scale


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if value else "0"


def to_svg(canvas: Canvas, page: Page, title: str) -> bytes:
    """The sheet as an SVG document."""
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(page.width)}pt" height="{_n(page.height)}pt" '
        f'viewBox="0 0 {_n(page.width)} {_n(page.height)}" role="img" font-family="{SVG_FONTS}">\n'
        f"<title>{escape(clean(title))}</title>\n"
        f'<rect width="{_n(page.width)}" height="{_n(page.height)}" fill="{PAPER}"/>\n'
    ]
    out += [_svg_op(op, page) + "\n" for op in canvas.ops]
    out.append("</svg>\n")
    return "".join(out).encode("utf-8")


def _svg_op(op: Op, page: Page) -> str:
    s = page.scale
    match op:
        case Opening():
            data = f" data-name={quoteattr(clean(op.data))}" if op.data else ""
            return f'<g id="{op.id}"{data}><title>{escape(clean(op.title))}</title>'
        case Closing():
            return "</g>"
        case Stroke():
            path = " ".join(f"{_n(x)},{_n(y)}" for x, y in map(page.at, op.points))
            dash = f' stroke-dasharray="{_n(op.dash[0] * s)} {_n(op.dash[1] * s)}"' if op.dash else ""
            return (f'<polyline points="{path}" fill="none" stroke="{op.colour}" '
                    f'stroke-width="{_n(op.width * s)}"{dash}/>')
        case Shape(ellipse=True):
            (x, y), (rx, ry) = page.at(op.points[0]), op.points[1]
            return (f'<ellipse cx="{_n(x)}" cy="{_n(y)}" rx="{_n(rx * s)}" ry="{_n(ry * s)}" '
                    f'fill="{op.fill or "none"}" stroke="{op.colour}" stroke-width="{_n(op.width * s)}"/>')
        case Shape():
            path = " ".join(f"{_n(x)},{_n(y)}" for x, y in map(page.at, op.points))
            return (f'<polygon points="{path}" fill="{op.fill or "none"}" stroke="{op.colour}" '
                    f'stroke-width="{_n(op.width * s)}"/>')
        case Lettering():
            x, y = page.at(op.at)
            size = op.size * s
            weight = ' font-weight="bold"' if op.bold else ""
            return (f'<text x="{_n(x)}" y="{_n(y + 0.35 * size)}" font-size="{_n(size)}" text-anchor="{op.anchor}" '
                    f'fill="{op.colour}"{weight}>{escape(op.text)}</text>')


def to_graphviz(canvas: Canvas, page: Page, fmt: Literal["png", "pdf"]) -> bytes:
    """The sheet as PNG or PDF, drawn by Graphviz at the given positions."""
    graph = pygraphviz.AGraph(directed=False)
    strokes: list[str] = []
    graph.node_attr.update(
        shape="none", margin="0", width="0", height="0", fixedsize="true", fontname=FONT, label=""
    )
    graph.add_node("corner 1", pos="0,0")
    graph.add_node("corner 2", pos=f"{page.width - 1:.2f},{page.height - 1:.2f}")
    for number, op in enumerate(canvas.ops):
        if isinstance(op, Lettering):
            add_lettering(graph, f"text {number}", op, page)
        elif isinstance(op, (Stroke, Shape)):
            strokes.append(_xdot(op, page))
    graph.graph_attr.update(
        _background=" ".join(strokes), pad="0", margin="0", bgcolor=PAPER, dpi=str(PNG_DPI if fmt == "png" else 72)
    )
    try:
        data = graph.draw(format=fmt, prog="nop2")
    except (ValueError, OSError) as error:
        raise DrawingError(f"Graphviz could not draw the picture as {fmt.upper()}: {error}") from error
    if not isinstance(data, bytes) or not data:
        raise DrawingError(f"Graphviz drew nothing as {fmt.upper()}", "SVG is always possible")
    return data


def add_lettering(graph: pygraphviz.AGraph, name: str, op: Lettering, page: Page) -> None:
    x, y = page.at(op.at)
    size = op.size * page.scale
    width = width_of(op.text, size, op.bold)
    # A cell, since Graphviz centres plain labels on a width of its own reckoning. It is roomy where the page
    # allows, or Graphviz complains on standard error when a substitute font is wider.
    room = 1.3 * width + 6
    if op.anchor == "start":
        left, right, align = x, min(x + room, page.width - 1), "LEFT"
    elif op.anchor == "end":
        left, right, align = max(x - room, 0.0), x, "RIGHT"
    else:
        half = min(room / 2, x, page.width - 1 - x)
        left, right, align = x - half, x + half, "CENTER"
    cell = f'FIXEDSIZE="TRUE" WIDTH="{right - left:.0f}" HEIGHT="{1.6 * size:.0f}" ALIGN="{align}"'
    words = escape(op.text).replace("\\", "\\\\")  # "\\N" would be the node's name even here
    table = (f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR><TD {cell}>'
             f'<FONT FACE="{FONT}{" Bold" * op.bold}" COLOR="{op.colour}" POINT-SIZE="{size:.2f}">{words}</FONT>'
             "</TD></TR></TABLE>")
    centre = left + round(right - left) / 2 if op.anchor == "start" else right - round(right - left) / 2
    graph.add_node(
        name, pos=f"{centre:.2f},{page.height - y:.2f}", label=f"<{table}>", shape="plain", fixedsize="false"
    )


def _xdot(op: Stroke | Shape, page: Page) -> str:
    def where(p: Point) -> str:
        x, y = page.at(p)
        return f"{x:.2f} {page.height - y:.2f}"

    style = f"setlinewidth({op.width * page.scale:.2f})"
    pen = f"c {len(op.colour)} -{op.colour} S {len(style)} -{style} "
    if isinstance(op, Stroke):
        pieces = _dashes(op.points, op.dash) if op.dash else [op.points]
        return pen + " ".join(f"L {len(p)} " + " ".join(map(where, p)) for p in pieces)
    fill = f"C {len(op.fill)} -{op.fill} " if op.fill else ""
    if op.ellipse:
        rx, ry = (r * page.scale for r in op.points[1])
        return f"{pen}{fill}{'E' if op.fill else 'e'} {where(op.points[0])} {rx:.2f} {ry:.2f}"
    return f"{pen}{fill}{'P' if op.fill else 'p'} {len(op.points)} " + " ".join(map(where, op.points))


def _dashes(points: Sequence[Point], dash: tuple[float, float]) -> list[tuple[Point, ...]]:
    """A polyline cut into its dashes, so that every format dashes alike."""
    out: list[tuple[Point, ...]] = []
    on, left, current = True, dash[0], [points[0]]
    for (x1, y1), (x2, y2) in itertools.pairwise(points):
        length, done = math.hypot(x2 - x1, y2 - y1), 0.0
        while length - done > left:
            done += left
            p = (x1 + (x2 - x1) * done / length, y1 + (y2 - y1) * done / length)
            if on:
                out.append((*current, p))
            on, left, current = not on, dash[0] if not on else dash[1], [p]
        left -= length - done
        current.append((x2, y2))
    if on and len(current) > 1:
        out.append(tuple(current))
    return out
