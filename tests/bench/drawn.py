"""What chance gives one vehicle of the benches: wires, lamps, contacts, how bad its fault is, what the eye finds."""

from __future__ import annotations

import math
import random

from msgspec.structs import replace

from tracer.circuit.model import NO_CHANGE, OPEN_OHM, AddedBranch, Change, Circuit, Linear
from tracer.faults import Fault
from tracer.harness.devices import (
    Conductor,
    Filament,
    FilamentLaw,
    FlasherContact,
    Joint,
    RelayContact,
    SwitchContact,
)
from tracer.harness.model import Harness
from tracer.observation.evidence import Test

# What the eye finds where something is looked over, by this bench's own dice and not by the tool's table: how often a
# fault in plain sight is found by who looks right at it, one that mostly hides inside sound insulation, and how often
# something looks bad that is not the cause. (Drawn a vehicle and thing; common practice, no source.)
_FINDS, _FINDS_HIDDEN, _FALSE_FINDS = 0.7, 0.25, 0.08
_HIDDEN = ("wire open", "wire bad")
_CLOSED = ("switch", "relay", "flasher", "dimmer", "diode", "buzzer", "motor", "load", "battery low", "not charging",
           "charging")  # the fault lies inside something that nobody opens to look


def drawn(circuit: Circuit, rng: random.Random) -> Circuit:
    """The circuit as this one vehicle has it."""

    def own(d: Linear) -> Linear:
        if isinstance(d, Conductor):
            return replace(d, ohm=d.ohm * rng.uniform(0.8, 1.2))
        if isinstance(d, Joint) and d.kind != "winding":  # a winding's turns are as they were counted
            return replace(d, ohm=d.ohm * math.exp(rng.gauss(0.0, 0.5)))
        if isinstance(d, (SwitchContact, RelayContact, FlasherContact)):
            return replace(d, ohm=d.ohm * rng.uniform(1.0, 2.0))  # worn, never better than new
        return d

    ports = []
    for p in circuit.ports:
        if isinstance(p, Filament) and isinstance(p.law, FilamentLaw):
            p = replace(p, law=replace(p.law, i0=p.law.i0 * rng.uniform(0.92, 1.08)))
        ports.append(p)
    return replace(circuit, linear=tuple(own(d) for d in circuit.linear), ports=tuple(ports))


def severity(truth: Change, rng: random.Random) -> Change:
    """The fault at a severity of its own, within half a step of the one it was listed at."""
    factor = math.exp(rng.uniform(-0.55, 0.55))

    def own(ohm: float) -> float:
        return ohm * factor if 0.1 < ohm < OPEN_OHM else ohm

    added = tuple(AddedBranch(x.a, x.b, own(x.ohm), x.through) for x in truth.added)
    return replace(truth, set_ohm=tuple((n, own(ohm)) for n, ohm in truth.set_ohm), added=added)


def looked_over(
    test: Test, fault: Fault, truth: Change, harness: Harness, dice: random.Random, chance: bool = True
) -> bool:
    """Whether something is found where a thing is looked over: the fault, or by `chance` what is not the cause."""
    likely = _finds(test, fault, truth, harness, not chance)
    seen, mistaken = (dice.random() < x for x in (likely, _FALSE_FINDS * chance))
    return seen or mistaken


def _finds(test: Test, fault: Fault, truth: Change, harness: Harness, always: bool) -> float:
    """How likely the fault itself is found there."""
    if truth == NO_CHANGE or fault.kind.startswith(_CLOSED):
        return 0.0
    if test.minus:  # a wire: its copper, not what its ends are joined to
        ends = {test.plus, test.minus}
        here = {s.name for w in harness.wires for s in w.segments if {s.a, s.b} == ends}
        there = bool(here & set(fault.elements)) and fault.kind.startswith(("wire ", "wires joined", "strap"))
    elif test.lamp:
        own = {f.name for f in harness.lamps() if f.bulb == test.lamp}
        holder = {n for f in harness.lamps() if f.bulb == test.lamp for n in f.holder}
        there = bool((holder if "/" in test.plus else own) & set(fault.elements))
        there = there and not fault.kind.startswith("added")
    elif test.plus in harness.splices:
        there = fault.kind.startswith("splice") and fault.node == test.plus
    elif test.plus in harness.connectors:
        there = any(e.startswith(f"{test.plus} way ") for e in fault.elements)
    else:  # a part or earth point, and whatever is mounted, clamped or clipped to it
        blown = (f"{test.plus} link", OPEN_OHM) in truth.set_ohm
        devices = harness.parts[test.plus].devices if test.plus in harness.parts else ()
        own = {test.plus, *(d.name for d in devices)}
        if fault.kind != "lamp unit wet":  # lamps and their contacts are seen with the lamp out
            own -= {n for f in harness.lamps() for n in (f.name, *f.holder)}
        of_wire = fault.kind.startswith(("wire ", "wires joined", "strap"))
        there = blown or bool(own & {*fault.elements, fault.node}) or (
            fault.node.startswith(f"{test.plus}.") and not of_wire
        )
    if always:
        return float(there)
    return (_FINDS_HIDDEN if fault.kind in _HIDDEN else _FINDS) * there
