"""Where on a drawing each thing is, so that a page can tell what a finger points at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.present.drawing.canvas import Closing, Lettering, Op, Opening, Shape, Stroke
from tracer.present.drawing.draw import draw_on_canvas
from tracer.present.drawing.lettering import width_of
from tracer.present.drawing.view import View

_ROOM: Final = 3.0  # points around a sign that still belong to it


class Target(Struct, frozen=True):
    """A thing of the harness and the rectangle of one of its signs, in shares of the sheet."""

    thing: str
    left: float
    top: float
    right: float
    bottom: float


def targets(harness: Harness, view: View) -> list[Target]:
    """All signs of parts, connectors, splices and earth points, and their names.

    Raises:
        DrawingError: As `draw`.
    """
    canvas, page = draw_on_canvas(harness, view)
    owners = _owners(harness)
    found: list[Target] = []
    groups: list[str] = []
    boxes: dict[int, tuple[str, list[tuple[float, float]]]] = {}
    for number, op in enumerate(canvas.ops):
        if isinstance(op, Opening):
            groups.append(owners.get(op.data, ""))
        elif isinstance(op, Closing):
            groups.pop()
        else:
            thing = next((g for g in reversed(groups) if g), "")
            if isinstance(op, Lettering) and op.text in _things(harness):
                thing = op.text
            if thing:
                boxes[number] = thing, list(_corners(op))
    for thing, corners in boxes.values():
        xs, ys = zip(*(page.at(c) for c in corners), strict=True)
        found.append(Target(thing, (min(xs) - _ROOM) / page.width, (min(ys) - _ROOM) / page.height,
                            (max(xs) + _ROOM) / page.width, (max(ys) + _ROOM) / page.height))
    return found


def _things(harness: Harness) -> set[str]:
    return {*harness.parts, *harness.connectors, *harness.splices, *harness.earths}


def _owners(harness: Harness) -> dict[str, str]:
    """Device → the thing that it belongs to; wires belong to none."""
    known = _things(harness)
    out = {d.name: p.name for p in harness.parts.values() for d in p.devices}
    out |= {j.name: node_of(j.a).owner for j in harness.joints if node_of(j.a).owner in known}
    return out


def _corners(op: Op) -> Iterator[tuple[float, float]]:
    match op:
        case Shape(ellipse=True):
            (x, y), (rx, ry) = op.points
            yield from ((x - rx, y - ry), (x + rx, y + ry))
        case Shape() | Stroke():
            yield from op.points
        case Lettering():
            w = width_of(op.text, op.size, op.bold)
            x = op.at[0] - {"start": 0.0, "middle": w / 2, "end": w}[op.anchor]
            yield from ((x, op.at[1] - op.size / 2), (x + w, op.at[1] + op.size / 2))
