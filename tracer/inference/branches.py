"""Faults in one branch: as far as the current has one way only, and how much likelier a second one is there.

A vehicle with a second fault in a branch has it wherever the first one is, however much else its file describes: a
share of vehicles, IN_ONE_BRANCH, has one, and which it is goes by the rates of what lies in that branch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from tracer.circuit.model import Circuit
from tracer.faults import Fault
from tracer.harness.base_rates import FURTHER_FAULTS, IN_ONE_BRANCH
from tracer.harness.devices import SwitchContact
from tracer.harness.node import node_of

Way = tuple[str, ...]  # elements at a node of which the current takes one at a time


class Branches:
    """The branches of one vehicle, and the faults in them."""

    def __init__(self, circuit: Circuit, faults: Sequence[Fault]) -> None:
        self._circuit, self._faults = circuit, faults
        self._chains: dict[str, frozenset[str]] = {}
        self._beside: dict[str, frozenset[str]] = {}
        self._share: dict[str, float] = {}

    def likelier(self, one: Fault, two: Fault) -> float:
        """How many times as likely two faults are on one vehicle as faults that have nothing to do with each other:
        either may be the one that led to the other's neglect."""
        shares = [self._share_beside(a) for a, b in ((one, two), (two, one)) if b.name in self.beside(a)]
        if one.repair == two.repair or not shares:
            return 1.0
        return 1.0 + IN_ONE_BRANCH / FURTHER_FAULTS * sum(1 / share for share in shares)

    def beside(self, fault: Fault) -> frozenset[str]:
        """Names of the faults in its branch, without those of the same thing and of the same repair."""
        if fault.name not in self._beside:
            chain = {e for own in fault.elements for e in self._chain(own)} - {*fault.elements}
            found = {f.name: f for e in chain for f in self._of_element.get(e, ())}
            own = {*fault.elements}
            self._beside[fault.name] = frozenset(
                n for n, f in found.items() if f.repair != fault.repair and own.isdisjoint(f.elements))
        return self._beside[fault.name]

    def _share_beside(self, fault: Fault) -> float:
        """What lies in its branch, as a share of all rates."""
        if fault.name not in self._share:
            self._share[fault.name] = sum(self._rates[n] for n in self.beside(fault)) / self._all_rates
        return self._share[fault.name]

    @cached_property
    def _rates(self) -> dict[str, float]:
        return {f.name: f.rate for f in self._faults}

    @cached_property
    def _all_rates(self) -> float:
        return sum(self._rates.values())

    @cached_property
    def _of_element(self) -> dict[str, list[Fault]]:
        found: dict[str, list[Fault]] = {}
        for f in self._faults:
            for e in f.elements:
                found.setdefault(e, []).append(f)
        return found

    @cached_property
    def _ends(self) -> dict[str, tuple[str, str]]:
        return {d.name: (d.a, d.b) for d in (*self._circuit.linear, *self._circuit.ports)}

    @cached_property
    def _closed(self) -> set[str]:
        """Nodes from which the current has many ways: the body, and the battery, at whose clamp feeds part."""
        harness = self._circuit.harness
        batteries = {p.name for p in harness.parts.values() if p.kind == "battery"}
        nodes = {n for ends in self._ends.values() for n in ends}
        return {*harness.bodies(), *(n for n in nodes if node_of(n).owner in batteries)}

    @cached_property
    def _ways(self) -> dict[str, list[Way]]:
        """At each node the ways that the current may take. Contacts of one switch of which never two are closed at
        once are one way."""
        at: dict[str, dict[str, list[SwitchContact | None]]] = {}
        for d in (*self._circuit.linear, *self._circuit.ports):
            for node in (d.a, d.b):
                at.setdefault(node, {}).setdefault(d.name, []).append(d if isinstance(d, SwitchContact) else None)
        return {node: [*_in_turn(own)] for node, own in at.items()}

    def _chain(self, element: str) -> frozenset[str]:
        """An element with all before and behind it, through lamps as well, up to where the current parts."""
        if element not in self._chains:
            reached = {element}
            ahead = [(element, node) for node in self._ends.get(element, ())]
            while ahead:
                came, node = ahead.pop()
                others = [w for w in self._ways[node] if came not in w] if node not in self._closed else []
                if len(others) != 1 or reached.issuperset(others[0]):
                    continue
                reached.update(others[0])
                if len(others[0]) == 1:
                    ahead += [(others[0][0], n) for n in self._ends[others[0][0]] if n != node]
            self._chains[element] = frozenset(reached)
        return self._chains[element]


def _in_turn(own: dict[str, list[SwitchContact | None]]) -> Iterator[Way]:
    """The elements at a node, those of one switch that are closed in turn together."""
    contacts: dict[str, list[SwitchContact]] = {}
    for name, (device, *_) in own.items():
        if device is None:
            yield (name,)
        else:
            contacts.setdefault(device.control, []).append(device)
    for of_one in contacts.values():
        closed = [p for c in of_one for p in c.closed_in]
        if len(closed) == len({*closed}):
            yield tuple(c.name for c in of_one)
        else:
            yield from ((c.name,) for c in of_one)
