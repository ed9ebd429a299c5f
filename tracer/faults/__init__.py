"""Every fault a harness can have, with base rate, repair and what it changes in the circuit.

In comes a harness; out go `Fault`s, each with its variants by severity as `circuit.model.Change`s. Inference weighs
them, checking and the simulation list them; nothing here knows what was observed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from tracer.errors import UnknownNameError, did_you_mean
from tracer.faults.additions import additions
from tracer.faults.bullets import bullet_faults
from tracer.faults.connectors import connector_faults, links_off_earth
from tracer.faults.deviations import list_deviations
from tracer.faults.earths import earth_faults
from tracer.faults.handiwork import handiwork
from tracer.faults.lamps import aged_alike, lamp_faults, several_shorted
from tracer.faults.making import Fault, Rewired, Variant
from tracer.faults.parts import joint_pair, part_faults
from tracer.faults.wires import (
    changed_over,
    earth_mates,
    joined_wires,
    loom_mates,
    place_mates,
    splice_faults,
    wire_faults,
)
from tracer.harness.base_rates import (
    BENDING_BREAKS,
    FLEXES_LOOSE,
    FLEXES_RATE,
    GIVEN,
    SHARED_EARTH,
    UNTRACED_JOINT,
    brought,
)
from tracer.harness.devices import Joint
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.units import whole_number

__all__ = ["Fault", "Rewired", "Variant", "find_fault", "list_deviations", "list_faults"]


def list_faults(harness: Harness) -> tuple[Fault, ...]:
    """All single faults of the harness, in the order parts, joints, wires, additions."""
    found: list[Fault] = []
    for part in harness.parts.values():
        found += part_faults(part, harness)
        found += lamp_faults(part, harness)
    for joint in harness.joints:
        found += _joint_faults(joint)
    found += bullet_faults(harness)
    found += earth_faults(harness)
    links = links_off_earth(harness)
    for connector in harness.plugs():
        found += connector_faults(connector, links, harness)
    found += wire_faults(harness)
    found += changed_over(harness)
    found += splice_faults(harness)
    found += joined_wires(harness)
    found += loom_mates(harness)
    found += earth_mates(harness)
    found += place_mates(harness, tuple(found))
    found += additions(harness)
    found += handiwork(harness)
    found += aged_alike(harness)
    found += several_shorted(found)
    unseen = {s.name for w in harness.wires if not w.traced for s in w.segments}
    scaled = []
    for fault in found:
        own = fault.rate
        if fault.kind in ("earth bad", "earth open") and _shared(fault.node, harness):
            fault = replace(fault, rate=fault.rate * SHARED_EARTH)
        if fault.kind in ("old repair bad", "old repair open") and unseen.intersection(fault.elements):
            fault = replace(fault, rate=fault.rate * UNTRACED_JOINT)
        given = harness.base_rates.get(fault.kind)
        if given is not None:  # of all forms of one fault together
            fault = replace(fault, rate=given * own / brought(fault.kind), source=GIVEN)
        scaled.append(fault)
    return tuple(_worn_by_bending(scaled, harness))


def _worn_by_bending(faults: Sequence[Fault], harness: Harness) -> Iterator[Fault]:
    """The same; what bends breaks and chafes oftener, and shows it when it is moved."""
    bent = {s.name for w in harness.wires for s in w.segments if s.flexes}
    for f in faults:
        if f.kind in BENDING_BREAKS and bent.intersection(f.elements):
            yield replace(f, rate=f.rate * FLEXES_RATE, comes_and_goes=max(f.comes_and_goes, FLEXES_LOOSE))
        else:
            yield f


def _shared(earth: str, harness: Harness) -> bool:
    """Whether an earth point serves several units, or the battery, which serves all."""
    legs = harness.legs(earth)
    batteries = {p.name for p in harness.parts.values() if p.kind == "battery"}
    return len(legs) > 1 or any(node_of(end).owner in batteries for s in legs for end in (s.a, s.b))


def find_fault(faults: Sequence[Fault], name: str) -> Fault:
    """The fault called `name`, or the one whose number in the list it is (from 1).

    Raises:
        UnknownNameError: With the nearest names.
    """
    number = whole_number(name)
    if number is not None and 1 <= number <= len(faults):
        return faults[number - 1]
    wanted = name.casefold().replace("–", "-")
    for fault in faults:
        if fault.name.casefold().replace("–", "-") == wanted:
            return fault
    raise UnknownNameError(f"no fault “{name}”", did_you_mean(name, [f.name for f in faults]))


def _joint_faults(d: Joint) -> Iterator[Fault]:
    if d.kind == "way":
        yield from joint_pair("way bad", "way open", d, f"way {d.a} makes poor contact", f"clean or renew way {d.a}")
