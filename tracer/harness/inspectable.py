"""Things that a person looks over for damage: a wire, a splice, an earth point, a plug, a lamp, its holder, a part.

The `plus`, `minus` and `lamp` of a test name one: a wire by its two ends, a lamp by its own name and the part it sits
in (`plus`), its holder by the first live contact in it (`plus`), all else by its name (`plus`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

from msgspec import Struct

from tracer.harness.devices import Filament, FuseLink, SwitchContact
from tracer.harness.model import Control, Harness, Part
from tracer.harness.node import node_of

ThingKind = Literal["wire", "splice", "earth point", "connector", "lamp", "holder", "fuse", "part"]

# What to look for. (Common practice, no source.)
_LOOK_FOR: Final = {
    "wire": "rubbed through, pinched, melted, green?", "splice": "green, burnt, a wire come out?",
    "earth point": "loose, rusty, paint under it?", "connector": "green, wet, burnt, a contact pushed back?",
    "lamp": "broken or bridged filament, black glass, the wrong type?", "holder": "green, burnt, a flat contact?",
    "fuse": "blown, of another rating, a loose or stray wire at it?",
    "part": "water, rust, a loose mounting, wires added or changed over?",
}


class Thing(Struct, frozen=True):
    """One thing to look over; `name` and `other` are the ends of a wire, `name` alone anything else."""

    kind: ThingKind
    name: str
    other: str = ""

    @property
    def bare(self) -> bool:
        """Whether insulation or tape is handled at it: then the battery is disconnected first."""
        return self.kind in ("wire", "splice")


def thing_at(harness: Harness, plus: str, minus: str, lamp: str) -> Thing:
    """The thing that a test of these points looks over."""
    if minus:
        return Thing("wire", plus, minus)
    if node_of(plus).inner:
        return Thing("holder", next((f.bulb for f in harness.lamps() if f.a == plus), ""))
    if lamp:
        return Thing("lamp", lamp)
    if plus in harness.splices:
        return Thing("splice", plus)
    if plus in harness.earths:
        return Thing("earth point", plus)
    if plus in harness.connectors:
        return Thing("connector", plus)
    return Thing("fuse" if any(isinstance(d, FuseLink) for d in harness.parts[plus].devices) else "part", plus)


def points_of(harness: Harness, thing: Thing) -> tuple[str, str, str]:
    """`plus`, `minus` and `lamp` of a test that looks a thing over."""
    if thing.kind in ("lamp", "holder"):
        part = part_of_bulb(harness, thing.name)
        contact = next(f.a for f in part.lamps if f.bulb == thing.name)
        return (part.name if thing.kind == "lamp" else contact), "", thing.name
    return thing.name, thing.other, ""


def part_of_bulb(harness: Harness, bulb: str) -> Part:
    """The part in which a lamp sits."""
    return next(p for p in harness.parts.values() if any(f.bulb == bulb for f in p.lamps))


def things_in(harness: Harness) -> Iterator[Thing]:
    """Everything that can be looked over."""
    for wire in harness.wires:
        for s in wire.segments:
            yield Thing("wire", s.a, s.b)
    yield from (Thing("splice", name) for name in harness.splices)
    yield from (Thing("earth point", name) for name in harness.earths)
    yield from (Thing("connector", name) for name in harness.connectors)
    for bulb in dict.fromkeys(f.bulb for f in harness.lamps()):
        yield Thing("lamp", bulb)
        yield Thing("holder", bulb)
    for part in harness.parts.values():
        yield Thing("fuse" if any(isinstance(d, FuseLink) for d in part.devices) else "part", part.name)


def holder_of(part: Part, joint: str) -> str:
    """The lamp whose holder a contact (a joint's name) belongs to; "" if it is of the whole part."""
    return next((f.bulb for f in part.lamps if joint in f.holder), "")


def say_look(harness: Harness, thing: Thing, a: str, b: str) -> str:
    """What to look over, and for what. `a` and `b`: the ends of a wire in words."""
    look_for = _LOOK_FOR[thing.kind]
    match thing.kind:
        case "wire" if {thing.name, thing.other} & harness.earths.keys() and _is_strap(harness, thing):
            return f"look at the strap from {a} to {b}: loose, rusty, strands broken?"
        case "wire":
            return f"look along the wire from {a} to {b}, with its clips and grommets: {look_for}"
        case "splice":
            return f"take the tape off splice {thing.name} and look: {look_for}"
        case "connector" if harness.block_of(thing.name):
            return f"look at block {thing.name}: a bullet out or loose, green, burnt?"
        case "connector":
            return f"look into both halves of {thing.name}: {look_for}"
        case "lamp":
            return f"look at it: {look_for}"
        case "holder":
            return f"look into its holder: {look_for}"
        case "fuse":
            return f"look at it: {look_for}"
    return f"look at {'' if thing.kind == 'part' else thing.kind + ' '}{thing.name}: {look_for}"


def say_moved(harness: Harness, thing: Thing, a: str, b: str) -> str:
    """What to move to and fro. `a` and `b`: the ends of a wire in words."""
    match thing.kind:
        case "wire":
            return f"the {'strap' if _is_strap(harness, thing) else 'wire'} from {a} to {b}, along all of it"
        case "splice":
            return f"the wires at splice {thing.name}"
        case "connector":
            return f"{thing.name} and the wires into it"
        case "lamp" | "holder":
            return f"the lamp {thing.name} in its holder"
        case "fuse":
            return f"fuse {thing.name} in its clips"
        case "earth point":
            return f"the eyelets at earth point {thing.name}"
    lever = ", work its plunger or lever by hand" if _set_to_a_lever(harness, thing.name) else ""
    return f"{thing.name} and the wires at it{lever}"


def is_linked(part: Part, control: Control) -> bool:
    """Whether a pedal or lever works a switch that is set to it; a knob of several positions carries its contacts
    itself."""
    return not part.name.startswith(control.name) and (
        len(control.positions) == 2 or control.sprung or bool(control.drives))


def _set_to_a_lever(harness: Harness, name: str) -> bool:
    part = harness.parts.get(name)
    contacts = [d for d in part.devices if isinstance(d, SwitchContact)] if part is not None else []
    return part is not None and any(is_linked(part, harness.controls[d.control]) for d in contacts)


def _is_strap(harness: Harness, thing: Thing) -> bool:
    """Whether a wire joins two earth points, or one of them and the battery."""
    batteries = {p.name for p in harness.parts.values() if p.kind == "battery"}
    return all(n in harness.earths or node_of(n).owner in batteries for n in (thing.name, thing.other))


def length_m(harness: Harness, thing: Thing) -> float:
    """The length of a wire in m, 0 for anything else."""
    if thing.kind != "wire":
        return 0.0
    ends = {thing.name, thing.other}
    return max((s.length_m for w in harness.wires for s in w.segments if {s.a, s.b} == ends), default=0.0)


def bulb_positions(harness: Harness) -> dict[str, Filament]:
    """The first filament of each glass by bulb name."""
    found: dict[str, Filament] = {}
    for f in harness.lamps():
        found.setdefault(f.bulb, f)
    return found
