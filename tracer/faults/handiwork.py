"""What hands leave behind: feeds of two lamps exchanged, a live end of something removed, old repairs in wires."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.copper import Nets, bodies_near
from tracer.faults.making import Fault, fault, opened, resistive, sure
from tracer.harness.devices import Conductor, SwitchContact
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at

_STRAY_OHM = 0.05
_LONG_M = 1.0  # a shorter wire is renewed rather than joined in the middle


class _End(NamedTuple):
    """The feed of a lamp at its part: terminal, the one wire on it, and that wire's other end."""

    node: str
    wire: Conductor
    far: str
    place: str


def handiwork(harness: Harness) -> Iterator[Fault]:
    """Everything that somebody did to the wiring and did wrong."""
    nets = Nets(harness)
    yield from _feeds_exchanged(harness, nets)
    yield from _stray_ends(harness, nets)
    yield from _old_repairs(harness)
    yield from _bypassed(harness)
    yield from _cut_earths(harness)


def _feeds_exchanged(harness: Harness, nets: Nets) -> Iterator[Fault]:
    """The feeds of two lamps that sit side by side or are fed from one plug, each on the other's terminal. Within one
    unit they are wires changed over."""
    ends: list[_End] = []
    for part in harness.parts.values():
        for terminal in part.terminals if part.lamps else ():
            node = terminal_at(part.name, terminal)
            legs = harness.legs(node)
            if len(legs) == 1 and not nets.earth(node):
                ends.append(_End(node, legs[0], legs[0].b if legs[0].a == node else legs[0].a, part.place))
    for one, two in _side_by_side(ends, harness):
        if _owner(one.node) == _owner(two.node) or one.wire.loom != two.wire.loom or nets.same(one.far, two.far):
            continue
        s1, s2 = one.wire, two.wire
        change = Change(
            set_ohm=((s1.name, OPEN_OHM), (s2.name, OPEN_OHM)),
            added=(AddedBranch(one.far, two.node, s1.ohm), AddedBranch(two.far, one.node, s2.ohm)),
        )
        pair = f"{one.node} and {two.node}"
        yield fault("feeds exchanged", pair, f"the wires on {pair} are on each other’s terminals",
                    f"change the wires on {pair} back", sure(change), one.node, None, (s1.name, s2.name))


def _side_by_side(ends: Sequence[_End], harness: Harness) -> Iterator[tuple[_End, _End]]:
    """Ends at one place, or fed from one plug, two by two."""
    beside: dict[tuple[str, str], list[int]] = {}
    near = [
        [("place", e.place)] * (e.place != "") + [("plug", p) for p in (_owner(e.far),) if p in harness.connectors]
        for e in ends
    ]
    for k, keys in enumerate(near):
        for key in keys:
            beside.setdefault(key, []).append(k)
    for k, keys in enumerate(near):
        for other in sorted({n for key in keys for n in beside[key] if n > k}):
            yield ends[k], ends[other]


def _stray_ends(harness: Harness, nets: Nets) -> Iterator[Fault]:
    """Something was taken out, and its feed was left where it was: bare, live, and touching the body at times."""
    if all(e.body is None for e in harness.earths.values()):
        return
    bodies = bodies_near(harness)
    places = [*harness.splices, *(terminal_at(p.name, "out") for p in harness.parts.values() if p.kind == "fuse")]
    for node in places:
        legs = tuple(s.name for s in harness.legs(node))
        if legs and not nets.earth(node):
            body = bodies.get(node, harness.bodies()[0])
            yield fault("stray live end", node, f"a stray live end on {node} touches the body",
                        f"take out or insulate the stray wire on {node}",
                        sure(Change(added=(AddedBranch(node, body, _STRAY_OHM),))), node, None, legs)


def _old_repairs(harness: Harness) -> Iterator[Fault]:
    """A twist, a crimp or a soldered joint in the middle of a wire: the same to every current as the wire's own
    break, but in sight under tape or a sleeve."""
    for wire in harness.wires:
        for s in wire.segments:
            if s.length_m < _LONG_M or {s.a, s.b} <= harness.earths.keys():
                continue
            span = f"{node_of(s.a).near} – {node_of(s.b).near}"
            joint = f"an old repair in the {s.colour} wire {span}".replace("the  wire", "the wire")
            repair = joint.replace("an old", "remake the old")
            yield fault("old repair bad", span, f"{joint} makes poor contact", repair, resistive(s.name), s.a,
                        (s.a, s.b), (s.name,))
            yield fault("old repair open", span, f"{joint} has parted", repair, opened(s.name), s.a, (s.a, s.b),
                        (s.name,))


def _bypassed(harness: Harness) -> Iterator[Fault]:
    """A wire from one terminal of a switch to another, so that it need no longer be switched on; the wires taken off
    the switch keep it."""
    for part in harness.parts.values():
        for d in part.devices:
            if isinstance(d, SwitchContact):
                repair = f"take off the wire that bypasses {part.name}"
                one, two = (node_of(n).terminal for n in (d.a, d.b))
                yield fault("switch bypassed", f"{part.name} {one} to {two}",
                            f"a wire bypasses {part.name} from {one} to {two}", repair,
                            sure(Change(added=(AddedBranch(d.a, d.b, _STRAY_OHM),))), d.a, None, (d.name,))


def _cut_earths(harness: Harness) -> Iterator[Fault]:
    """An earth wire cut off and left: in sight, and its ends need only be joined."""
    for wire in harness.wires:
        for s in wire.segments:
            if ({s.a, s.b} & harness.earths.keys()) and not {s.a, s.b} <= harness.earths.keys():
                span = f"{node_of(s.a).near} – {node_of(s.b).near}"
                cut = f"the {s.colour} earth wire {span}".replace("the  earth", "the earth")
                yield fault("earth cut", span, f"{cut} was cut", f"join {cut} again", opened(s.name), s.a,
                            (s.a, s.b), (s.name,))


def _owner(node: str) -> str:
    return node_of(node).owner
