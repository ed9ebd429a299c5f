"""The drawing of a sub-circuit: supply at the top, earth at the bottom, ready to pin over the bench.

The style is that of paper current-flow diagrams: every wire with its colour letters and section,
every connector way, splice and earth point by name. Nothing depends on colour alone.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Literal, TypeVar

from msgspec.structs import replace

from tracer.errors import DrawingError, did_you_mean
from tracer.harness.devices import Conductor, Joint
from tracer.harness.model import Harness
from tracer.present.drawing.canvas import Canvas, Page, to_graphviz, to_svg
from tracer.present.drawing.graph import build_picture
from tracer.present.drawing.layout import VERY_LARGE, Layout, lay_out
from tracer.present.drawing.lettering import clean, shorten
from tracer.present.drawing.scope import slope_of
from tracer.present.drawing.sheet import Sheet, choose_sheet, compose
from tracer.present.drawing.signs import SIZE, Flag, Look
from tracer.present.drawing.view import View

_Placed = TypeVar("_Placed", Joint, Conductor)


def draw(harness: Harness, view: View, fmt: Literal["svg", "png", "pdf"]) -> bytes:
    """The view as SVG, PNG or PDF; the three show the same picture.

    Raises:
        DrawingError: Nothing to draw, a device that the harness does not have, or Graphviz failed.
    """
    if fmt not in ("svg", "png", "pdf"):
        raise DrawingError(f"“{fmt}” is no format for drawings", "svg, png or pdf")
    canvas, page = draw_on_canvas(harness, view)
    return to_svg(canvas, page, view.title) if fmt == "svg" else to_graphviz(canvas, page, fmt)


def draw_on_canvas(harness: Harness, view: View) -> tuple[Canvas, Page]:
    """The strokes and lettering of a view, and the sheet they are for.

    Raises:
        DrawingError: As `draw`.
    """
    slope = slope_of(harness)
    unknown = sorted(view.elements - slope.by_name.keys())
    if unknown:
        raise DrawingError(f"no device “{unknown[0]}” in this harness", did_you_mean(unknown[0], slope.by_name))
    elements = view.elements or frozenset(slope.by_name)
    harness = with_crossed(harness, view)
    if not elements:
        raise DrawingError("there is nothing to draw", "the harness has no devices")
    picture = build_picture(harness, _with_whole_lamps(harness, elements))
    look = _look(harness, view)
    styles = [
        replace(look, beside=beside, name_width=width)
        for width in (96.0, 74.0) for beside in ((False, True) if view.volts else (False,))
    ]
    best: tuple[Sheet, Look, Layout] | None = None
    left_out: tuple[str, ...] | None = None
    for style in styles:
        layout = lay_out(picture, style)
        if left_out is None:
            left_out = _left_out(layout, elements)
        style = replace(style, left_out=left_out)
        sheet = choose_sheet(layout, picture, style, view)
        if best is None or sheet.better_than(best[0]):
            best = (sheet, style, layout)
        if len(layout.slots) > VERY_LARGE:
            break
    assert best is not None
    canvas = Canvas()
    page = compose(canvas, best[0], best[2], picture, best[1], view)
    return canvas, page


def _left_out(layout: Layout, elements: frozenset[str]) -> tuple[str, ...]:
    """What should be in the picture and is not: the sheet says so."""
    trial = Canvas()
    layout.draw(trial)
    return tuple(sorted(elements - trial.named()))


def _with_whole_lamps(harness: Harness, elements: frozenset[str]) -> frozenset[str]:
    """A holder's contact is drawn at its lamp: the lamp comes with it."""
    held = {c for f in harness.lamps() if f.name in elements for c in f.holder}
    more: set[str] = set()
    for lamp in harness.lamps():
        loose = (elements & set(lamp.holder)) - held
        if loose and lamp.name not in elements:
            more |= {lamp.name, *lamp.holder}
            held |= set(lamp.holder)
    return elements | (more & slope_of(harness).by_name.keys())


def with_crossed(harness: Harness, view: View) -> Harness:
    """The harness with ways and wires where the suspect taken as true has them."""
    if not view.crossed:
        return harness

    def moved(device: _Placed) -> _Placed:
        a, b = view.crossed.get(device.name, (device.a, device.b))
        return replace(device, a=a, b=b)

    wires = tuple(replace(w, segments=tuple(moved(s) for s in w.segments)) for w in harness.wires)
    return replace(harness, joints=tuple(moved(j) for j in harness.joints), wires=wires)


def _positions(harness: Harness, state: str) -> dict[str, str]:
    """Where the controls stand: at rest, but for those that the state's words name (`Harness.say_state`)."""
    said = {words.strip() for words in state.split(",")}
    return {
        c.name: next((p for p in c.positions if f"{c.name} {p}" in said), c.positions[0])
        for c in harness.controls.values()
    }


def _look(harness: Harness, view: View) -> Look:
    ranks: dict[str, list[int]] = defaultdict(list)
    for mark in view.suspects:
        for element in mark.elements:
            ranks[element].append(mark.rank)
    flags: dict[str, list[Flag]] = defaultdict(list)
    for label, node in view.test_points:
        flags[node].append(Flag(label, shorten(clean(view.measured.get(label, "")), 96.0, SIZE, True)))
    return Look(
        {n: tuple(sorted(set(r))) for n, r in ranks.items()}, {n: tuple(f) for n, f in flags.items()},
        view.volts, view.flow, view.back_feed, view.lamps, harness.colour_code,
        positions=_positions(harness, view.state), crossed=frozenset(view.crossed),
    )
