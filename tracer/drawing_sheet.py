"""The sheet round the picture: title above, suspects, test points and legend below, the size of the paper."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from tracer import standards
from tracer.devices import Conductor, Device, Joint
from tracer.drawing_canvas import INK, PAPER, Canvas, Page, wrap
from tracer.drawing_graph import Picture
from tracer.drawing_layout import Layout
from tracer.drawing_scope import place_words
from tracer.drawing_signs import (
    LINE,
    SIZE,
    Look,
    arrows_along,
    draw_flags,
    draw_marks,
    draw_way,
    draw_wire,
    flags_width,
    marks_width,
)

if TYPE_CHECKING:
    from tracer.drawing import View

MARGIN: Final = 25.0
LEAST: Final = 9.0 / SIZE  # lettering never smaller than 9 pt
MOST: Final = 1.15
A_SIZES: Final = ((595.0, 842.0), (842.0, 1191.0), (1191.0, 1684.0), (1684.0, 2384.0))  # A4 to A1


@dataclass(frozen=True)
class Entry:
    """One entry of the key: a sign and words."""

    sign: Callable[[Canvas, float, float], None]
    sign_width: float
    lines: tuple[str, ...]


def compose(canvas: Canvas, layout: Layout, picture: Picture, look: Look, view: View) -> Page:
    """Draw title, picture and key, and choose the paper."""
    best: tuple[float, float, float, float] | None = None
    for portrait in A_SIZES:
        for w, h in (portrait, portrait[::-1]):
            room = w - 2 * MARGIN
            height = _head(None, view, room) + layout.height + _foot(None, 0, layout, picture, look, view, room)
            scale = min(room / layout.width, (h - 2 * MARGIN) / height, MOST)
            if scale < 1 and scale >= LEAST:  # lettering round the picture takes its share of the scale
                inner = room / scale
                height = _head(None, view, inner) + layout.height + _foot(None, 0, layout, picture, look, view, inner)
                scale = min(room / layout.width, (h - 2 * MARGIN) / height, MOST)
            if scale >= LEAST and (best is None or scale > best[2] + 0.02):
                best = (w, h, scale, room / scale)
        if best:
            break
    if best is None:  # a roll of paper
        inner = max(layout.width, 500.0)
        height = _head(None, view, inner) + layout.height + _foot(None, 0, layout, picture, look, view, inner)
        best = (inner + 2 * MARGIN, height + 2 * MARGIN, 1.0, inner)
    w, h, scale, inner = best
    top = _head(canvas, view, inner)
    shift = max(0.0, (inner - layout.width) / 2)
    shifted = Canvas()
    layout.draw(shifted)
    canvas.ops += shifted.moved(shift, top)
    _foot(canvas, top + layout.height, layout, picture, look, view, inner)
    return Page(w, h, scale, MARGIN, MARGIN)


def _head(canvas: Canvas | None, view: View, width: float) -> float:
    """Title, subtitle and vehicle state; returns their height."""
    y = 8.0
    texts = [(view.title, 14.0, True, 2), (view.subtitle, SIZE + 1, False, 3)]
    texts.append((f"Vehicle state: {view.state}" if view.state else "", SIZE + 1, False, 3))
    for text, size, bold, lines in texts:
        for line in wrap(text, width, size, lines, bold) if text else ():
            if canvas is not None:
                canvas.text(0, y, line, size, bold=bold)
            y += size * 1.3
    if canvas is not None:
        canvas.line([(0, y - 3), (width, y - 3)], 0.8)
    return y + 7


def _foot(
    canvas: Canvas | None, y: float, layout: Layout, picture: Picture, look: Look, view: View, width: float
) -> float:
    """The key in columns; returns its height."""
    columns = max(1, int(width // 250))
    column = width / columns
    start, y = y, y + 10
    if canvas is not None:
        canvas.line([(0, y), (width, y)], 0.8)
    y += 10
    for heading, entries in _sections(picture, look, view, column - 12):
        if not entries:
            continue
        if canvas is not None:
            canvas.text(0, y, heading, SIZE, bold=True)
        y += LINE + 2
        tops = [y] * columns
        for entry in entries:
            n = min(range(columns), key=lambda i: tops[i])
            if canvas is not None:
                x = n * column
                entry.sign(canvas, x, tops[n])
                for i, line in enumerate(entry.lines):
                    canvas.text(x + entry.sign_width, tops[n] + LINE * i, line, SIZE)
            tops[n] += LINE * len(entry.lines) + 3
        y = max(tops) + 3
    return y - start


def _sections(picture: Picture, look: Look, view: View, width: float) -> list[tuple[str, list[Entry]]]:
    return [
        ("Suspects", _suspects(view, width)),
        ("Test points", _test_points(picture, view, width)),
        ("Signs and letters", _legend(picture, look, view, width)),
    ]


def _suspects(view: View, width: float) -> list[Entry]:
    out = []
    for mark in sorted(view.suspects, key=lambda m: m.rank):
        w = marks_width((mark.rank,)) + 5

        def sign(c: Canvas, x: float, y: float, rank: int = mark.rank) -> None:
            draw_marks(c, x, y, (rank,))

        out.append(Entry(sign, w, tuple(wrap(mark.says, width - w, SIZE, 3))))
    return out


def _test_points(picture: Picture, view: View, width: float) -> list[Entry]:
    out = []
    for label, node in view.test_points:
        w = flags_width((label,)) + 5
        place = place_words(picture.harness, node)
        words = f"{node}: {place}" if place else node

        def sign(c: Canvas, x: float, y: float, label: str = label) -> None:
            draw_flags(c, x, y, (label,))

        out.append(Entry(sign, w, tuple(wrap(words, width - w, SIZE, 2))))
    return out


def _legend(picture: Picture, look: Look, view: View, width: float) -> list[Entry]:
    devices: list[Device] = [d for r in picture.runs for d in r.devices]
    drawn = [*devices, *(d for u in picture.units.values() for d in u.devices)]
    out: list[Entry] = []
    sign_w = 34.0

    def add(sign: Callable[[Canvas, float, float], None], words: str) -> None:
        out.append(Entry(sign, sign_w, tuple(wrap(words, width - sign_w, SIZE, 3))))

    def wire(look: Look) -> Callable[[Canvas, float, float], None]:
        sample = Conductor("sample", "", "", 0.0)
        return lambda c, x, y: draw_wire(c, [(x + 2, y), (x + 27, y)], sample, look)

    if any(look.live(d.name) for d in drawn):
        def current(c: Canvas, x: float, y: float) -> None:
            wire(Look(flow={"sample": 1.0}))(c, x, y)
            c.polygon([(x + 10.4, y - 3.6), (x + 10.4, y + 3.6), (x + 17.6, y)], INK)

        add(current, "carries current, in the direction of the arrow")
    if look.back_feed & {d.name for d in drawn}:
        def back(c: Canvas, x: float, y: float) -> None:
            wire(Look(flow={"sample": 1.0}))(c, x, y)
            arrows_along(c, [(x + 2, y), (x + 27, y)], True, 13)

        add(back, "back-feed: current by a way that was not intended")
    if view.suspects:
        add(wire(Look(ranks={"sample": (1,)})), "suspect, with its number in the list")
    if any(isinstance(d, Joint) and d.kind == "way" for d in devices):
        add(lambda c, x, y: draw_way(c, (x + 14, y), False), "connector way: C2/3 is way 3 of C2")
    if any(u.kind == "dot" for u in picture.units.values()) or any(
        n in picture.harness.splices for r in picture.runs for n in r.nodes
    ):
        add(lambda c, x, y: c.circle((x + 14, y), 3.0, INK), "splice, or wires joined at a terminal")
    if any(u.kind == "end" for u in picture.units.values()):
        add(lambda c, x, y: c.circle((x + 14, y), 2.6, PAPER, width=1.2), "goes on, not drawn")
    if view.volts:
        out.append(Entry(lambda c, x, y: c.text(x, y, "9.9 V", SIZE), sign_w, tuple(wrap(
            "voltage against the body; it holds down to the next figure", width - sign_w, SIZE, 2))))
    words = _colours(picture, [d for d in devices if isinstance(d, Conductor)])
    if words:
        text = f"{picture.harness.colour_code}: {words}; the figure is the section in mm²"
        out.append(Entry(lambda c, x, y: None, 0.0, tuple(wrap(text, width, SIZE, 6))))
    return out


def _colours(picture: Picture, conductors: list[Conductor]) -> str:
    """The colour letters that occur, spelt out."""
    table = standards.COLOUR_CODES.get(picture.harness.colour_code, {})
    found: dict[str, str] = {}
    words_to_letters = {v: k for k, v in table.items()}
    for d in conductors:
        for word in standards.colour_words(d.colour, picture.harness.colour_code) or () if table else ():
            found[words_to_letters[word]] = word
    return ", ".join(f"{k} {found[k]}" for k in sorted(found))

