"""What is inside a part, as chains: devices in series between two terminals."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from tracer.harness.devices import Device, Diode, Joint, Resistor, ends
from tracer.present.drawing.graph import Unit


class Chain(Struct, frozen=True):
    """Devices in series between two terminals (or inner joints) of a part; `across` is told beside them."""

    start: str
    end: str
    devices: tuple[Device, ...]
    across: tuple[Device, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(d.name for d in (*self.devices, *self.across))

    @property
    def signs(self) -> tuple[Device, ...]:
        """The devices that have a sign of their own, in order: all but the contacts of a holder or a clip."""
        return tuple(d for d in self.devices if not isinstance(d, Joint)) or self.devices[:1]


def chains_of(unit: Unit) -> list[Chain]:
    """The devices of a part as chains, in the order of the part."""
    order = {d.name: i for i, d in enumerate(unit.devices)}
    out = _quenched(_through_contacts(_in_series(unit), unit))
    return sorted(out, key=lambda c: min(order[n] for n in c.names))


def tangled(chains: Sequence[Chain], unit: Unit) -> bool:
    """Chains meet inside the part, where there is no terminal: a row of chains would not show that."""
    met: set[str] = set()
    for chain in chains:
        for node in {chain.start, chain.end} - unit.sides.keys():
            if node in met:
                return True
            met.add(node)
    return any(c.start == c.end for c in chains)


def _in_series(unit: Unit) -> list[Chain]:
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
    return out


def _through_contacts(chains: list[Chain], unit: Unit) -> list[Chain]:
    """A contact between a terminal and a point where several chains meet belongs to the first of them."""
    for contact in [c for c in chains if all(isinstance(d, Joint) for d in c.devices)]:
        inner = [n for n in (contact.start, contact.end) if n not in unit.sides]
        if len(inner) != 1:
            continue
        terminal = contact.end if contact.start in inner else contact.start
        others = [c for c in chains if c is not contact and inner[0] in (c.start, c.end)]
        if len(others) < 2 or any(all(isinstance(d, Joint) for d in c.devices) for c in others):
            continue
        moved = {id(c): replace(c, start=terminal if c.start in inner else c.start,
                                end=terminal if c.end in inner else c.end) for c in others}
        first = moved[id(others[0])]
        at_end = others[0].end in inner
        series = (*first.devices, *contact.devices) if at_end else (*contact.devices, *first.devices)
        moved[id(others[0])] = replace(first, devices=series)
        chains = [moved.get(id(c), c) for c in chains if c is not contact]
    return chains


def _quenched(chains: list[Chain]) -> list[Chain]:
    """A diode or a resistor across a coil is told beside it: there is no need for a sign of its own."""
    for coil in [c for c in chains if any(isinstance(d, Resistor) and d.works_contacts for d in c.devices)]:
        across = [c for c in chains if {c.start, c.end} == {coil.start, coil.end} and all(
            isinstance(d, Diode) or (isinstance(d, Resistor) and not d.works_contacts) for d in c.devices)]
        if across and coil in chains:
            told = tuple(d for c in across for d in c.devices)
            chains = [replace(c, across=told) if c is coil else c for c in chains if c not in across]
    return chains
