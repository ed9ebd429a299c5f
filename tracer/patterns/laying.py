"""Wires, joints and earth points: each line laid out over the zones of the vehicle, as looms branch.

A line runs from the terminal that feeds it outward. Where three or more ends meet in a zone there is a joint (a
splice, or a block of bullets); where it enters a zone that has a plug it passes a way of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from msgspec import Struct, field

from tracer.patterns.chosen import SOCKET, Part, Vehicle
from tracer.patterns.pattern_files import ZoneRow
from tracer.units import parse_quantity

NEAR_M: Final = 0.3  # from a joint or a plug to a terminal in the same zone
_TO_PLUG_M: Final = 0.6
_LEAST_M: Final = 0.1
_WITHOUT_GIVER: Final = ("switch", "flasher unit", "battery")  # what a line that only takes leads to


class Laid(Struct, frozen=True):
    """One wire: its points, the length of each piece in m, the line it is part of, the questions it stands on."""

    points: tuple[str, ...]
    lengths: tuple[float, ...]
    line: str
    pattern: str
    loom: str
    flexes: bool = False
    asked: frozenset[str] = frozenset()


class Place(Struct, frozen=True):
    """Where a joint, plug or earth point is. `says`: what it is there for."""

    place: str
    access: str
    says: str = ""


class Layout(Struct):
    """All wires of a vehicle, and the things between them by name."""

    wires: list[Laid] = field(default_factory=list)
    splices: dict[str, Place] = field(default_factory=dict)
    blocks: dict[str, Place] = field(default_factory=dict)
    plugs: dict[str, tuple[int, Place]] = field(default_factory=dict)
    earths: dict[str, Place] = field(default_factory=dict)
    earth_of: dict[str, str] = field(default_factory=dict)  # bolted part → its earth point


class _End(Struct, frozen=True):
    point: str
    zone: str
    part: Part


class _Run(Struct, frozen=True):
    """A wire on its way: its points and lengths so far."""

    points: tuple[str, ...]
    lengths: tuple[float, ...] = ()
    more: float = 0.0  # of the piece that is under way
    asked: frozenset[str] = frozenset()

    def on(self, length: float) -> _Run:
        return _Run(self.points, self.lengths, self.more + length, self.asked)

    def to(self, point: str, length: float = 0.0, asked: frozenset[str] = frozenset()) -> _Run:
        piece = round(max(self.more + length, _LEAST_M), 2)
        return _Run((*self.points, point), (*self.lengths, piece), 0.0, self.asked | asked)


class Layer:
    """Lays out the lines of one vehicle."""

    def __init__(self, vehicle: Vehicle) -> None:
        self._v = vehicle
        self._joints = vehicle.known["joints"]
        self._steel = vehicle.known["body"] == "steel"
        self._plug_of: dict[str, str] = {}
        self.out = Layout()

    def lay(self) -> Layout:
        ends: dict[str, tuple[list[_End], list[_End]]] = {}
        for part in self._v.parts:
            for line_of, which in ((part.gives, 0), (part.takes, 1)):
                for terminal, line in line_of.items():
                    point = f"{SOCKET if part.of('socket') else part.name}.{terminal}"
                    pair = ends.setdefault(self._v.line(line), ([], []))
                    pair[which].append(_End(point, part.zone, part))
        self._battery_earth(ends)
        for line, (giving, taking) in ends.items():
            if line == "earth" and self._steel:
                continue
            self._line(line, giving, taking)
        self._earths(ends)
        return self.out

    # --- a line -----------------------------------------------------------------------------------

    def _line(self, line: str, giving: list[_End], taking: list[_End]) -> None:
        everything = [*giving, *taking]
        if len(everything) < 2:
            return
        root = giving[0] if giving else next((e for e in taking if e.part.of(*_WITHOUT_GIVER)), taking[0])
        back = not giving or line.endswith((" earth", " return")) or line == "earth"
        rest: dict[str, list[_End]] = {}
        for e in everything:
            if e is not root:
                rest.setdefault(e.zone, []).append(e)
        tree = self._tree(root.zone, set(rest))
        asked = frozenset(q for e in everything for q in e.part.asked)
        fork = _Fork(self, line, root.part.pattern, rest, tree, back, asked)
        start = _Run((root.point,), more=NEAR_M, asked=root.part.asked)
        fork.arrive(root.zone, "", start, at_root=True)

    def _tree(self, root: str, zones: set[str]) -> dict[str, set[str]]:
        """The zones that a line passes, each with those beside it."""
        tree: dict[str, set[str]] = {root: set()}
        for zone in zones:
            for a, b in self._way(root, zone):
                tree.setdefault(a, set()).add(b)
                tree.setdefault(b, set()).add(a)
        return tree

    def _way(self, a: str, b: str) -> Iterator[tuple[str, str]]:
        up_a, up_b = self._up(a), self._up(b)
        common = next(z for z in up_a if z in up_b)
        for up in (up_a, up_b):
            steps = up[: up.index(common) + 1]
            yield from pairwise(steps)

    def _up(self, zone: str) -> list[str]:
        out = [zone]
        while self._v.zones[out[-1]].behind:
            out.append(self._v.zones[out[-1]].behind)
        return out

    def zone(self, name: str) -> ZoneRow:
        return self._v.zones[name]

    def crosses(self, a: str, b: str) -> ZoneRow:
        """The zone whose plug lies between two that are beside each other: the one further out."""
        return self._v.zones[a if self._v.zones[a].behind == b else b]

    @property
    def bullets(self) -> bool:
        return self._joints == "bullets"

    @property
    def plugs(self) -> bool:
        return self._joints == "plugs"

    def joint(self, zone: str, line: str) -> str:
        """A new splice or block in a zone."""
        row = self._v.zones[zone]
        place = Place(*row.joints, line)
        holder, letter = (self.out.blocks, "B") if self.bullets else (self.out.splices, "S")
        name = f"{letter}{len(holder) + 1}"
        holder[name] = place
        return name

    def sleeve(self, zone: ZoneRow, line: str) -> str:
        name = f"B{len(self.out.blocks) + 1}"
        self.out.blocks[name] = Place(*zone.plug, line)
        return name

    def way(self, zone: ZoneRow) -> str:
        """The next way of the plug at which a loom enters a zone."""
        if zone.zone not in self._plug_of:
            self._plug_of[zone.zone] = f"C{len(self._plug_of) + 1}"
        name = self._plug_of[zone.zone]
        used = self.out.plugs[name][0] if name in self.out.plugs else 0
        self.out.plugs[name] = (used + 1, Place(*zone.plug, f"to the {zone.zone} loom"))
        return f"{name}.{used + 1}"

    def emit(self, run: _Run, line: str, pattern: str, zone: str, back: bool) -> None:
        points, lengths = run.points, run.lengths
        if back:
            points, lengths = points[::-1], lengths[::-1]
        row = self._v.zones[zone]
        flexes = row.flexes
        self.out.wires.append(Laid(points, lengths, line, pattern, row.loom, flexes, run.asked | {"joints"}))

    # --- earth ------------------------------------------------------------------------------------

    def _battery_earth(self, ends: dict[str, tuple[list[_End], list[_End]]]) -> None:
        """The battery's earthed pole on its point; with a body that does not conduct everything leads there."""
        pole = ends["earth"][0][0]
        place, access = "battery strap", pole.part.access
        self.out.earths["E1"] = Place(place if self._steel else "battery’s earthed pole", access, "battery")
        self.out.wires.append(Laid((pole.point, "E1"), (0.4,), "earth", "supply", "battery",
                                   asked=frozenset(("earth",))))
        if not self._steel:
            ends["earth"][0][:] = [_End("E1", pole.zone, pole.part)]

    def _earths(self, ends: dict[str, tuple[list[_End], list[_End]]]) -> None:
        if not self._steel:
            return
        for e in ends["earth"][1]:
            self._to_earth(e)
        for part in self._v.parts:
            if part.earth_at:
                self.out.earth_of[part.name] = self._point(part, part.zone)

    def _to_earth(self, e: _End) -> None:
        zone = self._v.zones[e.zone]
        shared = self._shares(e)
        at = zone.behind if shared and zone.behind else e.zone
        run = _Run((e.point,), asked=e.part.asked)
        if zone.plug[0] and "{" not in zone.zone and e.zone.startswith(("left ", "right ")):
            if self.plugs:
                run = run.to(self.way(zone), 0.2)
            elif self.bullets:
                run = run.to(self.sleeve(zone, "earth"), 0.2)
        run = run.to(self._point(e.part, at), NEAR_M + (parse_quantity(zone.length, "length") if shared else 0.0))
        self.emit(run, "earth", e.part.pattern, e.zone, back=False)

    def _shares(self, e: _End) -> bool:
        where = "front earths" if e.zone.endswith("front") else "rear earths"
        return self._v.known[where] == "shared" and e.zone.startswith(("left ", "right "))

    def _point(self, part: Part, zone: str) -> str:
        row = self._v.zones[zone]
        place = row.earth[0] if not part.earth_at else f"{part.place}, where it is bolted"
        found = next((n for n, p in self.out.earths.items() if p.place == place), "")
        if not found:
            found = f"E{len(self.out.earths) + 1}"
            access = part.access if part.earth_at else row.earth[1]
            self.out.earths[found] = Place(place, access)
        return found


class _Fork:
    """One line on its way outward."""

    def __init__(
        self, layer: Layer, line: str, pattern: str, rest: dict[str, list[_End]], tree: dict[str, set[str]],
        back: bool, asked: frozenset[str],
    ) -> None:
        self._layer, self._line, self._pattern = layer, line, pattern
        self._rest, self._tree, self._back = rest, tree, back
        self._asked = asked  # on which the line as a whole stands

    def arrive(self, zone: str, came_from: str, run: _Run, at_root: bool = False) -> None:
        """Go on from a zone: to its terminals and to the zones behind it, over a joint where there are several."""
        here = self._rest.get(zone, [])
        onward = sorted(self._tree[zone] - {came_from})
        several = len(here) + len(onward) >= 2
        if not at_root:
            run = self._enter(zone, came_from, run, several)
        if several:
            joint = self._layer.joint(zone, self._line)
            between = frozenset() if run.asked else self._asked  # from joint to joint
            self._emit(run.to(joint, 0.0, between), zone, self._back)
            run = _Run((joint,))
        for e in here:
            back = self._back and (not several or not e.part.of(*_WITHOUT_GIVER))
            self._emit(run.to(e.point, NEAR_M, e.part.asked), zone, back)
        for child in onward:
            self.arrive(child, zone, run)

    def _enter(self, zone: str, came_from: str, run: _Run, several: bool) -> _Run:
        layer = self._layer
        between = layer.crosses(came_from, zone)
        length = parse_quantity(between.length, "length")
        if not between.plug[0] or not (layer.plugs or layer.bullets):
            return run.on(length)
        inward = between.zone != zone  # from the far end towards the dash: first the long piece
        before = length - min(_TO_PLUG_M, length) if inward else min(_TO_PLUG_M, length)
        run = run.on(before)
        if layer.plugs:
            run = run.to(layer.way(between))
        elif not several:  # a block joins and parts the loom at once
            run = run.to(layer.sleeve(between, self._line))
        return run.on(length - before)

    def _emit(self, run: _Run, zone: str, back: bool) -> None:
        self._layer.emit(run, self._line, self._pattern, zone, back)

