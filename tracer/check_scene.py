"""What the rules of a harness check look at: the harness, its wiring as a graph, its healthy behaviour."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property

from tracer.devices import Conductor, Device
from tracer.errors import Mark
from tracer.findings import Finding
from tracer.harness import Harness, Part, Wire
from tracer.survey import Healthy, Survey
from tracer.wiring_graph import Neighbours, batteries, neighbours, poles, reached


class Scene:
    """One harness under check; everything is worked out once, when first asked for."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.live, self.earth = poles(harness)
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
        return Survey(self.harness)

    @cached_property
    def seen(self) -> list[Healthy]:
        """The healthy vehicle in every state tried."""
        return self.survey.until_all_used() if self.can_be_solved else []

    def mark_of(self, device: Device) -> Mark | None:
        """Where a device is written."""
        if isinstance(device, Conductor):
            return self.wire_of[device.name].mark
        part = self.part_of.get(device.name)
        return part.mark if part else None


Rule = Callable[[Scene], Iterator[Finding]]
