"""A choice of devices as boxes, dots and earth signs, joined by runs that go from supply to earth."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import cached_property
from typing import Literal

import networkx as nx
from msgspec import Struct, field

from tracer.harness.devices import Conductor, Device, Filament, Joint, Resistor, Source, ends
from tracer.harness.model import Harness, Part
from tracer.harness.node import node_of, terminal_at
from tracer.present.drawing.scope import Slope, slope_of

Side = Literal["top", "bottom", "free"]


class Unit(Struct):
    """One thing in the picture that runs end at.

    Kinds: "part" (or one electrically separate half of it), "dot" (a splice or a tap), "earth",
    "end" (a run that the picture does not follow further), "bend" (nothing is drawn).
    """

    id: str
    kind: Literal["part", "dot", "earth", "end", "bend"]
    node: str = ""
    part: Part | None = None
    devices: tuple[Device, ...] = ()
    sides: dict[str, Side] = field(default_factory=dict)  # terminal node → side, parts only
    half: str = ""  # "1 of 2" where a part is drawn in halves


class Run(Struct):
    """A line between two units: its devices in order from `upper` to `lower`.

    `nodes` has one node more than there are devices; `at_upper` and `at_lower` are the terminals.
    A leg without devices looks `like` the wire that it prolongs.
    """

    upper: str
    lower: str
    at_upper: str
    at_lower: str
    devices: tuple[Device, ...]
    nodes: tuple[str, ...]
    like: Device | None = None

    def turned(self) -> Run:
        devices, nodes = self.devices[::-1], self.nodes[::-1]
        return Run(self.lower, self.upper, self.at_lower, self.at_upper, devices, nodes, self.like)


class Picture(Struct, dict=True):
    """Units by id, and runs whose `upper` units lie above their `lower` ones."""

    harness: Harness
    units: dict[str, Unit]
    runs: list[Run]

    @cached_property
    def untraced(self) -> frozenset[str]:
        """Names of the wires that nobody followed on the vehicle, or that may run otherwise, and of the mountings
        that nobody saw."""
        parts = (p for p in self.harness.parts.values() if not p.traced or p.others)
        mountings = (d.name for p in parts for d in p.devices if isinstance(d, Joint) and d.kind == "stud")
        return frozenset((*(w.name for w in self.harness.wires if not w.traced or w.others), *mountings))

    def names(self) -> set[str]:
        """Every name under which something in the picture can be marked."""
        found: set[str] = set()
        for d in (*(d for r in self.runs for d in r.devices), *(d for u in self.units.values() for d in u.devices)):
            found.update((d.name, *ends(d)))
            if isinstance(d, Filament):
                found.add(d.lamp)
            if isinstance(d, Conductor) and d.wire:
                found.add(d.wire)
            if isinstance(d, Joint) and d.kind in ("way", "bullet"):
                found.add(node_of(d.a).owner)
        return found | {u.part.name for u in self.units.values() if u.part is not None}

    def runs_at(self, unit: str) -> tuple[list[Run], list[Run]]:
        """Runs that enter from above, and runs that leave below."""
        return [r for r in self.runs if r.lower == unit], [r for r in self.runs if r.upper == unit]


def build_picture(harness: Harness, elements: Iterable[str]) -> Picture:
    """The devices named in `elements` as units and runs."""
    slope, wanted = slope_of(harness), frozenset(elements)
    chosen = [d for d in slope.devices if d.name in wanted]
    split: frozenset[str] = frozenset()
    while True:
        builder = _Builder(harness, slope, chosen, split)
        picture = builder.picture()
        circular = _circular_parts(picture) - split
        if not circular:
            return _without_circles(picture)
        split |= circular


def _circular_parts(picture: Picture) -> frozenset[str]:
    graph = nx.DiGraph((r.upper, r.lower) for r in picture.runs)
    found = set()
    for ring in nx.strongly_connected_components(graph):
        if len(ring) > 1 or any(graph.has_edge(u, u) for u in ring):
            for unit in (picture.units[u] for u in ring):
                if unit.part is not None and len(_groups(unit.devices)) > 1:
                    found.add(unit.part.name)
    return frozenset(found)


def _without_circles(picture: Picture) -> Picture:
    """What still runs in a circle goes back up beside the picture, through two bends."""
    while True:
        graph = nx.MultiDiGraph()
        for i, r in enumerate(picture.runs):
            graph.add_edge(r.upper, r.lower, key=i)
        try:
            ring = nx.find_cycle(graph)
        except nx.NetworkXNoCycle:
            return picture
        i = ring[-1][2]
        run = picture.runs[i]
        low, high = f"bend low {i}", f"bend high {i}"
        turned = run.turned()
        first, last = run.devices[:1], run.devices[-1:]
        picture.units[low] = Unit(low, "bend", devices=first)
        picture.units[high] = Unit(high, "bend", devices=last)
        picture.runs[i] = Run(high, low, run.at_lower, run.at_upper, turned.devices, turned.nodes)
        picture.runs += [
            Run(run.upper, low, run.at_upper, run.at_upper, (), (run.at_upper,), first[0] if first else None),
            Run(high, run.lower, run.at_lower, run.at_lower, (), (run.at_lower,), last[0] if last else None),
        ]


def _groups(devices: Iterable[Device]) -> list[list[Device]]:
    """Devices that hang together, in their first order."""
    devices = list(devices)
    graph: nx.Graph[str] = nx.Graph(ends(d) for d in devices)
    member = {n: i for i, ring in enumerate(nx.connected_components(graph)) for n in ring}
    out: dict[int, list[Device]] = defaultdict(list)
    for d in devices:
        out[member[ends(d)[0]]].append(d)
    return list(out.values())


class _Builder:
    def __init__(self, harness: Harness, slope: Slope, chosen: list[Device], split: frozenset[str]) -> None:
        self.harness = harness
        self.slope = slope
        self.units: dict[str, Unit] = {}
        self.runs: list[Run] = []
        self.unit_of: dict[str, str] = {}  # node → unit
        self.outside: list[Device] = []
        self.earth_names = set(harness.earths)
        self.body_ends = 0
        self._parts(chosen, split)
        self.touch: dict[str, list[Device]] = defaultdict(list)
        for d in self.outside:
            for node in ends(d):
                self.touch[node].append(d)

    def _parts(self, chosen: list[Device], split: frozenset[str]) -> None:
        owner = {d.name: p for p in self.harness.parts.values() for d in p.devices}
        inside: dict[str, list[Device]] = defaultdict(list)
        for d in chosen:
            part = owner.get(d.name)
            if isinstance(d, Joint) and d.kind == "earth" and d.a in self.earth_names:
                self._earth(d.a, d)
            elif part is None or (isinstance(d, Joint) and d.kind == "stud"):
                self.outside.append(d)
            else:
                inside[part.name].append(d)
        for name, devices in inside.items():
            part = self.harness.parts[name]
            groups = _groups(devices) if name in split else [devices]
            for number, group in enumerate(groups, 1):
                half = f"{number} of {len(groups)}" if len(groups) > 1 else ""
                unit = Unit(f"part {name} {number}", "part", part=part, devices=tuple(group), half=half)
                self.units[unit.id] = unit
                for node in dict.fromkeys(n for d in group for n in ends(d)):
                    self.unit_of[node] = unit.id

    def _earth(self, node: str, joint: Joint | None = None) -> str:
        id = f"earth {node}"
        if id not in self.units:
            self.units[id] = Unit(id, "earth", node)
            self.unit_of[node] = id
        if joint is not None:
            self.units[id].devices += (joint,)
        return id

    def picture(self) -> Picture:
        for node in list(self.touch):
            if node in self.earth_names:
                self._earth(node)
            elif node not in self.unit_of and node not in self.slope.bodies and len(self.touch[node]) != 2:
                kind: Literal["dot", "end"] = "dot" if len(self.touch[node]) > 2 else "end"
                self._dot(node, kind)
        self._taps()
        self._trace()
        self._drop_bare_earths()
        self._choose_sides()
        self._straighten()
        self._terminals_without_runs()
        return Picture(self.harness, self.units, self.runs)

    def _drop_bare_earths(self) -> None:
        """An earth point with nothing but lamps bolted to it has its sign at each: one more would be a loose end."""
        joined = {end for run in self.runs for end in (run.upper, run.lower)}
        shown = {u.node: u for u in reversed(self.units.values()) if u.kind == "earth" and u.id in joined}
        for bare in [u for u in self.units.values() if u.kind == "earth" and u.id not in joined and u.node in shown]:
            shown[bare.node].devices += bare.devices
            del self.units[bare.id]

    def _dot(self, node: str, kind: Literal["dot", "end"]) -> str:
        id = f"{kind} {node}"
        self.units[id] = Unit(id, kind, node)
        self.unit_of[node] = id
        return id

    def _taps(self) -> None:
        """Several conductors on one terminal meet in a dot outside the box."""
        for node, devices in self.touch.items():
            unit = self.units.get(self.unit_of.get(node, ""))
            if unit is not None and unit.kind == "part" and len(devices) > 1:
                dot = f"dot {node}"
                self.units[dot] = Unit(dot, "dot", node)
                self.runs.append(Run(unit.id, dot, node, node, (), (node,)))

    def _end_at(self, node: str, device: Device) -> str | None:
        if isinstance(device, Joint) and device.kind == "stud" and node in self.earth_names:
            return self._mounting(node, device)
        if f"dot {node}" in self.units:
            return f"dot {node}"
        if node in self.unit_of:
            return self.unit_of[node]
        if node in self.slope.bodies:
            self.body_ends += 1
            id = f"body {node} {self.body_ends}"
            self.units[id] = Unit(id, "earth", node)
            return id
        return None

    def _mounting(self, node: str, device: Joint) -> str:
        """A lamp bolted to an earth point shows that point's sign by itself."""
        if self.touch[node] == [device]:  # nothing else is earthed there: the point's own sign serves
            return self.unit_of[node]
        id = f"earth {node} of {device.name}"
        self.units[id] = Unit(id, "earth", node)
        return id

    def _trace(self) -> None:
        used: set[str] = set()
        starts = [n for n in self.touch if n in self.unit_of or n in self.slope.bodies]
        for start in [*starts, *self.touch]:  # the second round finds rings without any unit
            for first in self.touch[start]:
                if first.name in used:
                    continue
                if start not in self.unit_of and start not in self.slope.bodies:
                    self._dot(start, "dot")
                upper = self._end_at(start, first)
                assert upper is not None
                node, device = start, first
                devices, nodes = [], [start]
                while True:
                    used.add(device.name)
                    a, b = ends(device)
                    node = b if a == node else a
                    devices.append(device)
                    nodes.append(node)
                    lower = self._end_at(node, device)
                    if lower is not None:
                        break
                    device = next(d for d in self.touch[node] if d.name not in used)
                self.runs.append(Run(upper, lower, start, node, tuple(devices), tuple(nodes)))

    def _choose_sides(self) -> None:
        for unit in self.units.values():
            if unit.kind != "part":
                continue
            used = [n for r in self.runs for u, n in ((r.upper, r.at_upper), (r.lower, r.at_lower)) if u == unit.id]
            assert unit.part is not None
            own = {terminal_at(unit.part.name, t) for t in unit.part.terminals}
            nodes = [n for n in dict.fromkeys(n for d in unit.devices for n in ends(d)) if n in own or n in used]
            for node in nodes:
                unit.sides[node] = self._side(unit, node)

    def _side(self, unit: Unit, node: str) -> Side:
        if any(isinstance(d, Source) for d in unit.devices):
            return "bottom"
        consumers = [
            d for d in unit.devices if isinstance(d, Filament) or (isinstance(d, Resistor) and d.role == "load")
        ]
        if consumers:  # the lamps of a unit stand upright however they are fed
            near: set[str] = {node}
            for _ in range(3):
                near |= {n for d in unit.devices if isinstance(d, Joint) and near & set(ends(d)) for n in ends(d)}
            votes = sum((c.a in near) - (c.b in near) for c in consumers)
            if votes:
                return "top" if votes > 0 else "bottom"
        mine = self.slope.key(node)
        others = [self.slope.key(o) for d in unit.devices for o in ends(d) if node in ends(d) and o != node]
        above = sum(o > mine for o in others)
        return "bottom" if above * 2 >= len(others) and above else "top"

    def _straighten(self) -> None:
        """Turn every run so that it goes down; bend those whose two ends look the same way."""
        out: list[Run] = []
        for run in self.runs:
            first, second = self._looks(run.upper, run.at_upper), self._looks(run.lower, run.at_lower)
            if first == second and first != "free":
                bend = f"bend {len(out)}"
                wire = run.devices[:: 1 if first == "top" else -1][:1]
                like = wire[0] if wire else None
                self.units[bend] = Unit(bend, "bend", devices=wire)
                if first == "top":
                    out.append(Run(bend, run.upper, run.at_upper, run.at_upper, (), (run.at_upper,), like))
                    out.append(Run(bend, run.lower, run.at_upper, run.at_lower, run.devices, run.nodes))
                else:
                    out.append(Run(run.upper, bend, run.at_upper, run.at_lower, run.devices, run.nodes))
                    out.append(Run(run.lower, bend, run.at_lower, run.at_lower, (), (run.at_lower,), like))
                continue
            up = first == "top" or second == "bottom"
            if first == second:
                up = self.slope.key(run.at_lower) > self.slope.key(run.at_upper)
            out.append(run.turned() if up else run)
        self.runs = out

    def _looks(self, unit: str, node: str) -> Side:
        """From which side a run arrives at a unit."""
        found = self.units[unit]
        if found.kind == "earth":
            return "top"
        return found.sides.get(node, "free") if found.kind == "part" else "free"

    def _terminals_without_runs(self) -> None:
        """Terminals that nothing in the picture is connected to are not drawn, if others are."""
        for unit in self.units.values():
            if unit.kind == "part":
                inner = {n for d in unit.devices for n in ends(d)}
                unit.sides = {n: s for n, s in unit.sides.items() if n in inner}
