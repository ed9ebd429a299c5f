"""Faults of connectors: crossed, joined or wet ways, crust on one half, the whole thing unplugged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from msgspec.structs import replace

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.making import Fault, Variant, fault, leak, opened, sure
from tracer.harness.base_rates import ACROSS_HALVES, ON_ONE_HALF, WATER_OHM, WET_OHM
from tracer.harness.devices import Joint, ends
from tracer.harness.model import Connector, Harness
from tracer.harness.node import far_side, node_of, terminal_at


class Links(NamedTuple):
    """What hangs together without any connector way and without any earth, as numbered pieces.

    Attributes:
        piece: That of each node.
        beside: For each piece the pieces next to it with the way that leads there; with none, itself, where it is
            more than a single node.
        earthed: Nodes from which a wire leads to an earth point, to the battery's earthed pole or to the body.
        live: The battery's live pole.
        place: Where the first part or splice along the wire at a node is, if that is told.
    """

    piece: Mapping[str, int]
    beside: Sequence[Sequence[tuple[int, str]]]
    earthed: frozenset[str]
    live: str
    place: Mapping[str, str]


def links_off_earth(harness: Harness) -> Links:
    """The pieces of the wiring; what ends at an earth joins nothing. Lamps of both halves of a plug are bolted to one
    earth point, so that what meets there does not lie on one side."""
    live, pole = harness.poles()
    meeting = {*harness.bodies(), *harness.earths, pole}
    joined: dict[str, list[str]] = {}
    ways: list[tuple[str, str]] = []
    earthed: set[str] = set()
    for d in harness.devices():
        a, b = ends(d)
        if a in meeting or b in meeting:
            for node in {a, b} - meeting:
                joined.setdefault(node, [])
                earthed.add(node)
            continue
        through_way = isinstance(d, Joint) and d.kind == "way"
        for one, other in ((a, b), (b, a)):
            reached = joined.setdefault(one, [])
            if not through_way:
                reached.append(other)
        if through_way:
            ways.append((a, b))
    piece: dict[str, int] = {}
    beside: list[list[tuple[int, str]]] = []
    for start in joined:
        if start in piece:
            continue
        number = piece[start] = len(beside)
        beside.append([(number, "")] if joined[start] else [])
        todo = [start]
        while todo:
            for node in joined[todo.pop()]:
                if node not in piece:
                    piece[node] = number
                    todo.append(node)
    for a, b in ways:  # a way is called by the node on its one side
        beside[piece[a]].append((piece[b], a))
        beside[piece[b]].append((piece[a], a))
    return Links(piece, beside, frozenset(earthed), live, _places(harness))


def _places(harness: Harness) -> dict[str, str]:
    found: dict[str, str] = {}
    for wire in harness.wires:
        for s in wire.segments:
            for node, other in ((s.a, s.b), (s.b, s.a)):
                thing = harness.splices.get(other) or harness.parts.get(node_of(other).owner)
                if thing is not None and thing.place:
                    found[node] = thing.place
    return found


def connector_halves(connector: Connector, links: Links) -> dict[int, bool]:
    """For each way: does its primed node belong to the same half as that of the first way?

    A harness lists an earth wire from the lamp and a feed wire from the fuse, so the side at which
    a conductor "arrives" is not one half of the plug. Ways whose ends meet elsewhere in the wiring
    (through the lamps of one unit, say) tell which ends lie together, and a way may tell it of two
    others; where nothing tells, the half towards the battery is the one with the live pole or an
    earth on it, and else the direction as written stands.
    """
    own = {terminal_at(connector.name, w) for w in range(1, connector.ways + 1)}
    half: dict[int, int] = {}  # of each piece: those that other connectors join are one
    for node in sorted(own | {far_side(n) for n in own}):
        start = links.piece.get(node, -1)
        # A node that nothing but its own way leads to belongs to no part.
        if start not in half and start >= 0 and any(way not in own for _, way in links.beside[start]):
            half[start], todo = start, [start]
            while todo:
                for piece, through in links.beside[todo.pop()]:
                    if piece not in half and through not in own:
                        half[piece] = start
                        todo.append(piece)
    ends = {
        w: tuple(_End(half.get(links.piece.get(n, -1)), links.place.get(n, "")) for n in (c, far_side(c)))
        for w in range(1, connector.ways + 1) for c in [terminal_at(connector.name, w)]
    }
    wired = [
        w for w, e in ends.items()
        if e != (_NOWHERE, _NOWHERE) or terminal_at(connector.name, w) in links.earthed
    ]
    live = half.get(links.piece.get(links.live, -1))
    same: dict[int, bool] = {}
    while len(same) < len(wired):
        left = [w for w in wired if w not in same]
        # What is told best goes first, so that a way of which nothing is known yet waits for those that know it.
        votes = {w: sum(_vote(ends[w], ends[o]) * (1 if s else -1) for o, s in same.items()) for w in left}
        way = max(left, key=lambda w: (abs(votes[w]), -w))
        same[way] = votes[way] > 0 if votes[way] else _leaves_battery(connector.name, way, ends[way], live, links)
    return {w: same[w] == same[wired[0]] for w in wired}


class _End(NamedTuple):
    """Where one end of a way leads: the half by the wiring, and the place of what comes first there."""

    half: int | None
    place: str


_NOWHERE = _End(None, "")
# Wires that go to one place leave a plug on one side; what hangs together by way of the whole vehicle may have passed
# it by without a connector being written down.
_PLACE_COUNTS = 3


def _vote(one: Sequence[_End], other: Sequence[_End]) -> int:
    """Above 0 where two ways (what is at their ends) lie the same way round, below where the other way round."""
    (a, b), (oa, ob) = one, other
    return _alike(a, oa) + _alike(b, ob) - _alike(a, ob) - _alike(b, oa)


def _alike(x: _End, y: _End) -> int:
    return (x.half is not None and x.half == y.half) + _PLACE_COUNTS * (x.place != "" and x.place == y.place)


def _leaves_battery(name: str, way: int, ends: Sequence[_End], live: int | None, links: Links) -> bool:
    """Whether the primed node of a way is the one away from the battery, as far as it alone tells."""
    here, there = (e.half for e in ends)
    if live is not None and live in (here, there) and here != there:
        return here == live
    near, far = terminal_at(name, way) in links.earthed, terminal_at(name, way, far=True) in links.earthed
    return near or not far


def connector_faults(connector: Connector, links: Links, harness: Harness) -> Iterator[Fault]:
    """Faults of one connector; `links` as `links_off_earth` gives them."""
    halves = connector_halves(connector, links)
    for i, j in connector.neighbours():
        if i not in halves or j not in halves:
            continue
        ai, bi = terminal_at(connector.name, i), terminal_at(connector.name, i, far=True)
        aj, bj = terminal_at(connector.name, j), terminal_at(connector.name, j, far=True)
        if halves[i] != halves[j]:
            aj, bj = bj, aj
        names = (f"{connector.name} way {i}", f"{connector.name} way {j}")
        tag = f"{connector.name} ways {i} and {j}"
        crossed = Change(
            set_ohm=tuple((n, OPEN_OHM) for n in names),
            added=(AddedBranch(ai, bj, 0.003, connector.name), AddedBranch(aj, bi, 0.003, connector.name)),
        )
        yield fault("ways crossed", tag, f"pins {i} and {j} of {connector.name} are swapped",
                     f"change ways {i} and {j} of {connector.name} back", sure(crossed), ai, None, names)
        yield from _joined(connector.name, tag, ((ai, aj), (bi, bj)), names, harness)
    yield from _whole_connector(connector, halves)


def _joined(
    name: str, tag: str, halves: Sequence[tuple[str, str]], ways: tuple[str, str], harness: Harness
) -> Iterator[Fault]:
    """Two ways joined: across both halves, or by crust on one of them, where it stays when the plug is pulled."""
    repair, node = f"dry and clean {name}", halves[0][0]
    both = tag.replace(f"{name} ", "")
    wet = fault("ways joined", tag, f"{both} of {name} are joined (water, corrosion)", repair,
                leak(*halves[0], WET_OHM, name), node, None, ways)
    yield replace(wet, rate=wet.rate * ACROSS_HALVES)
    for one, two in halves:
        to = next((node_of(s.b if s.a == n else s.a).near for n in (one, two) for s in harness.legs(n)), "")
        if not to:
            continue
        crust = fault("ways joined", f"{tag}, half to {to}", f"crust joins {both} of {name} on the half of the wire "
                      f"to {to}", repair, leak(one, two, WET_OHM), one, None, ways)
        yield replace(crust, rate=crust.rate * ON_ONE_HALF)


def _whole_connector(connector: Connector, halves: dict[int, bool]) -> Iterator[Fault]:
    """Unplugged; and water, which joins all neighbours and corrodes all ways at once."""
    if len(halves) < 2:
        return
    name = connector.name
    ways = tuple(f"{name} way {w}" for w in halves)
    first = terminal_at(name, next(iter(halves)))
    yield fault("connector unplugged", name, f"{name} is unplugged", f"plug {name} together", opened(*ways), first,
                None, ways)
    beside = [(i, j) for i, j in connector.neighbours() if i in halves and j in halves]
    wet = []
    for between, contact, weight in WATER_OHM:
        added = tuple(
            AddedBranch(terminal_at(name, i), terminal_at(name, j, far=halves[i] != halves[j]), between, name)
            for i, j in beside
        )
        ohms = tuple((w, contact) for w in ways)
        wet.append(Variant(weight, Change(set_ohm=ohms, added=added), f"ways about {contact:g} Ω"))
    yield fault("connector wet", name, f"water stands in {name}: ways corroded, leaks between neighbours",
                f"dry and clean {name}", wet, first, None, ways)
