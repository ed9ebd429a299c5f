"""Faults of connectors: crossed, joined or wet ways, the whole thing unplugged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.making import Fault, Variant, fault, opened, sure
from tracer.harness.base_rates import WATER_OHM, WET_OHM
from tracer.harness.devices import Joint, Source
from tracer.harness.model import Connector, Harness
from tracer.harness.node import far_side, terminal_at


class Links(NamedTuple):
    """What hangs together without any connector way, as numbered pieces.

    Attributes:
        piece: That of each node.
        beside: For each piece the pieces next to it with the way that leads there; with none, itself, where it is
            more than a single node.
    """

    piece: Mapping[str, int]
    beside: Sequence[Sequence[tuple[int, str]]]


def links_off_body(harness: Harness) -> Links:
    """The pieces of the wiring; what has an end on the body joins nothing."""
    bodies = set(harness.bodies())
    joined: dict[str, list[str]] = {}
    ways: list[tuple[str, str]] = []
    for d in harness.devices():
        a, b = (d.plus, d.minus) if isinstance(d, Source) else (d.a, d.b)
        if a in bodies or b in bodies:
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
    return Links(piece, beside)


def connector_halves(connector: Connector, links: Links) -> dict[int, bool]:
    """For each way: does its primed node belong to the same half as that of the first way?

    A harness lists an earth wire from the lamp and a feed wire from the fuse, so the side at which
    a conductor "arrives" is not one half of the plug. Ways whose ends meet elsewhere in the wiring
    (through the lamps of one unit, say) tell which ends lie together; where nothing tells, the
    direction as written stands.
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
    label = {node: half[k] for w in own for node in (w, far_side(w)) if (k := links.piece.get(node, -1)) in half}
    used = [w for w in range(1, connector.ways + 1) if terminal_at(connector.name, w) in label]
    same: dict[int, bool] = {}
    for way in used:
        here, there = terminal_at(connector.name, way), terminal_at(connector.name, way, far=True)
        a, b = label.get(here, -1), label.get(there, -2)
        votes = 0
        for other, other_same in same.items():
            here, there = terminal_at(connector.name, other), terminal_at(connector.name, other, far=True)
            oa, ob = label.get(here, -3), label.get(there, -4)
            straight, turned = (a == oa) + (b == ob), (a == ob) + (b == oa)
            votes += (straight - turned) * (1 if other_same else -1)
        same[way] = votes >= 0
    return same


def connector_faults(connector: Connector, links: Links) -> Iterator[Fault]:
    """Faults of one connector; `links` as `links_off_body` gives them."""
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
        yield fault("ways crossed", tag, f"ways {i} and {j} of {connector.name} are changed over",
                     f"change ways {i} and {j} of {connector.name} back", sure(crossed), ai, None, names)
        wet = [Variant(w, Change.of(added=(AddedBranch(ai, aj, ohm, connector.name),)), f"about {ohm:g} Ω")
               for ohm, w in WET_OHM]
        yield fault("ways joined", tag, f"ways {i} and {j} of {connector.name} are joined (water, corrosion)",
                     f"dry and clean {connector.name}", wet, ai, None, names)
    yield from _whole_connector(connector, halves)


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
    for leak, contact, weight in WATER_OHM:
        added = tuple(
            AddedBranch(terminal_at(name, i), terminal_at(name, j, far=halves[i] != halves[j]), leak, name)
            for i, j in beside
        )
        ohms = tuple((w, contact) for w in ways)
        wet.append(Variant(weight, Change(set_ohm=ohms, added=added), f"ways about {contact:g} Ω"))
    yield fault("connector wet", name, f"water stands in {name}: ways corroded, leaks between neighbours",
                f"dry and clean {name}", wet, first, None, ways)
