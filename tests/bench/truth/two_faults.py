"""Two faults in one branch: where the current has one way only, neglect goes on along it.

Of 47 published cases 4 had two or three faults in one branch, where the first hid the second (R21: lamp, feed wire
and housing earth of one headlamp; R25: earth lead and feed contact of one indicator; R35: switch and flasher unit).
Drawn are breaks, bad contacts, dead lamps and contacts that never make, as those were; the first as often as it is
drawn by itself, the second by the same weights out of its branch. Either repair is right: both have to be made.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tests.bench.truth.circuit import Edit, Netlist, Resistance
from tests.bench.truth.faults import Fault, Key, Maker

TWO = "two in one branch"
OF_PUBLISHED = 4 / 47


@dataclass
class _Drawn:
    """A maker, how often it is drawn, what it repairs, and where it sits."""

    make: Maker
    weight: float
    cure: Key
    elements: frozenset[str]
    mates: list[int] | None = field(default=None)  # numbers of those in its branch, once they were looked for


class TwoFaults:
    """All that can be drawn of one vehicle, by its places in the circuit."""

    def __init__(
        self, net: Netlist, found: Mapping[str, Sequence[Maker]], weights: Mapping[str, float],
        places: Mapping[str, Sequence[float]] | None = None,
    ) -> None:
        """`found`: makers by class; `weights` and `places` as in `further_faults.draw`."""
        self._net = net
        self._all: list[_Drawn] = []
        for kind, own in found.items():
            each = places[kind] if places is not None else [1.0] * len(own)
            for make, weight in zip(own, each, strict=True):
                fault = make(random.Random(0))
                where = elements(fault.edit)
                if where and weight > 0:
                    self._all.append(_Drawn(make, weights[kind] * weight / sum(each), fault.cures[0], where))
        self._at: dict[str, list[int]] = {}
        for k, d in enumerate(self._all):
            for e in d.elements:
                self._at.setdefault(e, []).append(k)
        self._meet: dict[str, list[str]] = {}
        for name, (a, b) in _ends(net).items():
            for node in {a, b}:
                self._meet.setdefault(node, []).append(name)
        self._firsts = [k for k in range(len(self._all)) if self.mates(k)]

    def __bool__(self) -> bool:
        return bool(self._firsts)

    def make(self, rng: random.Random) -> Fault:
        """One fault, and another in its branch."""
        first = rng.choices(self._firsts, [self._all[k].weight for k in self._firsts])[0]
        mates = self.mates(first)
        second = rng.choices(mates, [self._all[k].weight for k in mates])[0]
        one, two = (self._made(k, rng) for k in (first, second))
        return Fault(TWO, f"{one.says}, and {two.says}", one.edit | two.edit, one.cures + two.cures,
                     one.seen + two.seen, one.ends + two.ends, (one.cures, two.cures))

    def _made(self, k: int, rng: random.Random) -> Fault:
        """The k-th, where its maker has several ways, in one that breaks or worsens something."""
        return next(f for f in iter(lambda: self._all[k].make(rng), None) if elements(f.edit))

    def mates(self, k: int) -> list[int]:
        """What else can be drawn in the branch of the k-th, with another repair."""
        own = self._all[k]
        if own.mates is None:
            reached = {e for x in own.elements for e in self.branch(x)} - own.elements
            near = {m for e in reached for m in self._at.get(e, ())}
            own.mates = sorted(m for m in near if self._all[m].cure != own.cure
                               and not self._all[m].elements & own.elements)
        return own.mates

    def branch(self, element: str) -> set[str]:
        """All that an element's current goes through as a whole, before and behind it."""
        ends, net = _ends(self._net), self._net
        poles = {x for b in net.batteries for x in (b.plus, b.minus)}
        stops = {net.ground, *net.vehicle.bodies.values()} | poles
        reached, ahead = {element}, [(element, n) for n in ends[element]]
        while ahead:
            came, node = ahead.pop()
            if node in stops:
                continue
            others = [e for e in self._meet[node] if e != came and not self._in_turn(came, e)]
            turns = all(self._in_turn(others[0], e) for e in others[1:]) if others else False
            if not turns or reached.issuperset(others):
                continue
            reached.update(others)
            if len(others) == 1:
                ahead += [(others[0], n) for n in ends[others[0]] if n != node]
        return reached

    def _in_turn(self, one: str, two: str) -> bool:
        """Whether these are contacts of one switch that are never closed together."""
        a, b = (_contact(self._net.resistances.get(x)) for x in (one, two))
        return a is not None and b is not None and a[0] == b[0] and not a[1] & b[1]


def elements(edit: Edit) -> frozenset[str]:
    """The elements that an edit makes worse or breaks; none where it does anything else."""
    if edit.add or edit.swap or edit.emf != 1.0 or edit.series_ohm or any(closed for _, closed in edit.stuck):
        return frozenset()
    if any(factor > 0 for _, factor in edit.lamp):
        return frozenset()
    return frozenset(name for name, _ in (*edit.ohm, *edit.lamp, *edit.stuck))


def _ends(net: Netlist) -> dict[str, tuple[str, str]]:
    return {**{r.name: (r.a, r.b) for r in net.resistances.values()},
            **{x.name: (x.a, x.b) for x in net.lamps.values()},
            **{d.name: (d.a, d.b) for d in net.diodes.values()}}


def _contact(r: Resistance | None) -> tuple[str, frozenset[str]] | None:
    if r is None or r.contact is None or r.contact.kind != "switch":
        return None
    return r.contact.by, r.contact.closed
