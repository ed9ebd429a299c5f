"""What every box has: columns for the runs that join it, a size, and a way to draw itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Literal

from tracer.harness.devices import Device, Joint, Resistor
from tracer.present.drawing.canvas import Canvas, element_id
from tracer.present.drawing.graph import Unit
from tracer.present.drawing.lettering import clean, shorten
from tracer.present.drawing.scope import ends
from tracer.present.drawing.signs import SIZE, Look, lead

Edge = Literal["top", "bottom"]


@dataclass(frozen=True)
class Cell:
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


def short_terminal(unit: Unit, node: str) -> str:
    """The terminal's own name: "15" of "ignition switch.15"."""
    name = node.removeprefix(f"{unit.part.name}.") if unit.part is not None else node
    return shorten(clean(name), 90.0, SIZE)


@dataclass(frozen=True)
class Chain:
    """Devices in series between two terminals (or inner joints) of a part."""

    start: str
    end: str
    devices: tuple[Device, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(d.name for d in self.devices)

    @property
    def main(self) -> Device:
        """The device that is more than a contact of a holder."""
        return next((d for d in self.devices if not isinstance(d, Joint)), self.devices[0])


def chains_of(unit: Unit) -> list[Chain]:
    """The devices of a part as chains, clips and links in series taken together."""
    touch: dict[str, list[Device]] = {}
    for d in unit.devices:
        for node in ends(d):
            touch.setdefault(node, []).append(d)
    stops = {n for n, ds in touch.items() if n in unit.sides or len(ds) != 2}
    out: list[Chain] = []
    used: set[str] = set()
    for start in [*(n for n in touch if n in stops), *touch]:  # in the order of the part, in every process
        for first in touch[start]:
            if first.name in used:
                continue
            node, device, devices = start, first, [first]
            while True:
                used.add(device.name)
                a, b = ends(device)
                node = b if a == node else a
                following = [d for d in touch[node] if d.name not in used]
                if node in stops or not following:
                    break
                device = following[0]
                devices.append(device)
            out.append(Chain(start, node, tuple(devices)))
    order = {d.name: i for i, d in enumerate(unit.devices)}
    # What lies across a coil is told beside it: there is no room for two signs between two terminals.
    coils = [c for c in out if isinstance(c.main, Resistor) and c.main.role == "coil"]
    for coil in coils:
        across = [c for c in out if c is not coil and {c.start, c.end} == {coil.start, coil.end}]
        out = [c for c in out if c not in across and c is not coil]
        out.append(Chain(coil.start, coil.end, (*coil.devices, *(d for c in across for d in c.devices))))
    return sorted(out, key=lambda c: min(order[n] for n in c.names))


def group_of(canvas: Canvas, device: Device) -> AbstractContextManager[None]:
    """The group that a page finds the device by."""
    return canvas.group(element_id("dev", device.name), device.name, device.name)


def stub(canvas: Canvas, x: float, y1: float, y2: float, look: Look, *names: str) -> None:
    """A vertical lead."""
    lead(canvas, [(x, y1), (x, y2)], look, *names)
