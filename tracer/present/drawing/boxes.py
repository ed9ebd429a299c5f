"""What every box has: columns for the runs that join it, a size, and a way to draw itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from typing import Literal

from msgspec import Struct

from tracer.harness.devices import Device
from tracer.present.drawing.canvas import INK, PAPER, Canvas, element_id
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import clean, shorten
from tracer.present.drawing.signs import SIZE, Look, lead

Edge = Literal["top", "bottom"]


class Cell(Struct, frozen=True):
    """A column at the upper or lower edge of a box: where a run joins, `port` from its left."""

    key: str
    width: float
    port: float


class Box:
    """The paper that a unit takes. Drawn with its upper left corner anywhere."""

    def __init__(
        self, unit: Unit, look: Look, top: Sequence[str], bottom: Sequence[str], room: Mapping[str, float]
    ) -> None:
        self.unit = unit
        self.look = look
        self.room = room
        self.keys: dict[Edge, list[str]] = {"top": list(top), "bottom": list(bottom)}
        self.cells: dict[Edge, list[Cell]] = {"top": [], "bottom": []}
        self.width = self.height = 0.0

    def port(self, edge: Edge, key: str) -> float:
        """Where a run joins, from the left of the box."""
        x = 0.0
        for cell in self.cells[edge]:
            if cell.key == key:
                return x + cell.port
            x += cell.width
        raise KeyError(key)

    def draw(self, canvas: Canvas, x: float, y: float) -> None:
        raise NotImplementedError

    def frame(self, canvas: Canvas, x: float, y: float, suspect: bool) -> None:
        """The outline; broken where the whole part is suspected."""
        if suspect:
            w, h = self.width, self.height
            canvas.line([(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)], 2.6, INK, (6.0, 4.0))
        else:
            canvas.rect(x, y, self.width, self.height, PAPER, INK, 0.9)


def short_terminal(unit: Unit, node: str) -> str:
    """The terminal's own name: "15" of "ignition switch.15"."""
    name = node.removeprefix(f"{unit.part.name}.") if unit.part is not None else node
    return shorten(clean(name), 90.0, SIZE)


def group_of(canvas: Canvas, device: Device) -> AbstractContextManager[None]:
    """The group that a page finds the device by."""
    return canvas.group(element_id("dev", device.name), device.name, device.name)


def stub(canvas: Canvas, x: float, y1: float, y2: float, look: Look, *names: str) -> None:
    """A vertical lead."""
    lead(canvas, [(x, y1), (x, y2)], look, *names)
