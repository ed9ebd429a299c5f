"""What the rules of a harness check look at: the harness, its wiring as a graph, its healthy behaviour."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cached_property

from tracer.checking.findings import Finding
from tracer.checking.survey import Healthy, Survey
from tracer.checking.wiring_graph import Neighbours, batteries, neighbours, reached
from tracer.errors import Mark
from tracer.harness.devices import Conductor, Device, Filament, FuseLink, Resistor
from tracer.harness.model import Harness, Part, Wire
from tracer.harness.node import node_of, terminal_at


class Scene:
    """One harness under check; everything is worked out once, when first asked for."""

    def __init__(self, harness: Harness, survey: Survey | None = None) -> None:
        self.harness = harness
        self._survey = survey
        self.live, self.earth = harness.poles()
        self.shared_ways: set[str] = set()  # ways that more than one wire passes, reported as such
        self.lone: set[str] = set()  # terminals already reported, so that their effects are not

    @cached_property
    def graph(self) -> Neighbours:
        return neighbours(self.harness)

    @cached_property
    def from_live(self) -> frozenset[str]:
        """Nodes that the live pole reaches in some position of the contacts."""
        return reached(self.graph, self.live)

    @cached_property
    def from_earth(self) -> frozenset[str]:
        return reached(self.graph, self.earth)

    @cached_property
    def conductors(self) -> dict[str, list[Conductor]]:
        """The conductors that end at each node."""
        found: dict[str, list[Conductor]] = {}
        for wire in self.harness.wires:
            for s in wire.segments:
                found.setdefault(s.a, []).append(s)
                found.setdefault(s.b, []).append(s)
        return found

    @cached_property
    def mounted(self) -> frozenset[str]:
        """Nodes that a part's own mounting joins: its earth terminal and the earth point."""
        studs = [
            j for p in self.harness.parts.values() for j in p.devices if getattr(j, "kind", "") == "stud"
        ]
        return frozenset(n for j in studs for n in (j.a, j.b))  # type: ignore[union-attr]

    @cached_property
    def wire_of(self) -> dict[str, Wire]:
        """The written wire of each conductor by the conductor's name."""
        return {s.name: w for w in self.harness.wires for s in w.segments}

    @cached_property
    def part_of(self) -> dict[str, Part]:
        """The part of each device by the device's name."""
        return {d.name: p for p in self.harness.parts.values() for d in p.devices}

    @property
    def can_be_solved(self) -> bool:
        return bool(batteries(self.harness))

    @cached_property
    def survey(self) -> Survey:
        return self._survey or Survey(self.harness)

    @cached_property
    def seen(self) -> list[Healthy]:
        """The healthy vehicle in every state tried."""
        return self.survey.until_all_used(self._cut_off()) if self.can_be_solved else []

    def _cut_off(self) -> set[str]:
        """Lamps, loads, coils and fuses that lack a wire on one side, so that no state can light them."""
        found: set[str] = set()
        for d in self.harness.devices():
            if isinstance(d, (Filament, Resistor)):
                live, earth = ({n for n in (d.a, d.b) if n in nodes} for nodes in (self.from_live, self.from_earth))
                if not live or len(live | earth) < 2:
                    found.add(d.lamp if isinstance(d, Filament) else d.name)
            elif isinstance(d, FuseLink):
                part = self.part_of[d.name]
                if any(terminal_at(part.name, t) not in self.conductors for t in part.terminals):
                    found.add(d.name)
        return found

    def explained(self, start: str, without: Iterable[str]) -> bool:
        """Whether a terminal without a wire, which was reported, is why nothing flows behind `start`."""
        nodes = reached(self.graph, start, without=frozenset(without))
        owners = {node_of(lone).owner for lone in self.lone}
        return bool(self.lone) and self.live not in nodes and any(
            node_of(n).terminal and node_of(n).owner in owners for n in nodes)

    def mark_of(self, device: Device) -> Mark | None:
        """Where a device is written."""
        if isinstance(device, Conductor):
            return self.wire_of[device.name].mark
        part = self.part_of.get(device.name)
        return part.mark if part else None


Rule = Callable[[Scene], Iterator[Finding]]
