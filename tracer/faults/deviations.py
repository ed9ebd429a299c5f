"""Wiring that is otherwise than the file says and works: hypotheses beside faults, which nothing need be done about.

They come from lines that nobody followed, from the alternatives that a line names, and, rarely, from earth wires that
a later hand added. What changes nothing (a colour, a plug more in a sound wire) makes none: a joint more shows only
where it is bad, and "old repair" stands for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.copper import Nets
from tracer.faults.making import Fault, Rewired, sure
from tracer.harness.base_rates import DEVIATION_CHANCE, PRACTICE
from tracer.harness.devices import Conductor, FuseLink, Joint, Source, ends
from tracer.harness.model import Harness, Part, Wire
from tracer.harness.node import far_side, node_of, terminal_at

_BOLT_OHM = 0.01  # a bracket or a short wire of its own, clean
_MOST_EARTHS, _MOST_FUSES, _MOST_FEEDS, _MOST_BRANCHES, _MOST_UNITS = 8, 5, 2, 2, 2
_NEAREST, _NEARER = 3, 2.0  # so many earth points are so many times as likely as those further off
_WORD = 2  # ways through wires that a word common to both places is worth


def list_deviations(harness: Harness) -> tuple[Fault, ...]:
    """All deviations of the wiring from its file; `rate` is the odds of each against the line as it is written."""
    nets, places = Nets(harness), _Places(harness)
    found: dict[str, Fault] = {}
    for wire in harness.wires:
        if not wire.segments:
            continue
        found |= {f.name: f for f in _alternatives(wire, harness)}
        if not wire.traced:
            found |= {f.name: f for f in _untraced(wire, harness, nets, places)}
    for part in harness.parts.values():
        found |= {f.name: f for f in _bolted(part, places)}
        found |= {f.name: f for f in _added_earth(part, harness)}
    return tuple(found.values())


def _deviation(
    kind: str, tag: str, says: str, change: Change, share: float, nodes: tuple[str, str], rewired: Rewired,
    elements: tuple[str, ...], chance: str = "",
) -> Fault:
    """One way in which a line may be otherwise; `share` of the chance of its kind."""
    whole = DEVIATION_CHANCE[chance or kind]
    return Fault(
        f"{kind}: {tag}", kind, says, f"nothing to mend: {says}; correct the file", 0.2,
        whole * share / (1 - whole), sure(change), nodes[0], nodes if nodes[1] else None, elements, "nothing", 0.0,
        PRACTICE, False, None, rewired,
    )


def _alternatives(wire: Wire, harness: Harness) -> Iterator[Fault]:
    """The runs that a line names beside its own."""
    for run in wire.others:
        change, elements, nodes = _as_run(wire, run, harness)
        other = " > ".join(run)
        yield _deviation("alternative run", f"{wire.name}, {other}", f"wire {wire.name} runs {other}", change,
                         1 / len(wire.others), nodes, Rewired(wire.name, _with_plugs(wire, run)), elements)


def _with_plugs(wire: Wire, run: tuple[str, ...]) -> tuple[str, ...]:
    """An alternative of which only the ends are written, with what its wire passes on the way."""
    if len(run) > 2 or (run[0] != wire.run[0] and run[-1] != wire.run[-1]):
        return run
    return (run[0], *wire.run[1:-1], run[-1])


def _as_run(
    wire: Wire, run: tuple[str, ...], harness: Harness
) -> tuple[Change, tuple[str, ...], tuple[str, str]]:
    """A wire with another run: where one end is the same, the plugs on the way stay."""
    if run[0] == wire.run[0] or run[-1] == wire.run[-1]:
        last = run[0] == wire.run[0]
        change, seg = _moved(wire, last, _end(run[-1] if last else run[0], harness, last))
        return change, (seg.name,), (seg.a if last else seg.b, run[-1] if last else run[0])
    a, b = _end(run[0], harness, False), _end(run[-1], harness, True)
    ohm = sum(s.ohm for s in wire.segments)
    change = Change(tuple((s.name, OPEN_OHM) for s in wire.segments), (AddedBranch(a, b, ohm),))
    return change, tuple(s.name for s in wire.segments), (a, b)


def _end(point: str, harness: Harness, last: bool) -> str:
    """The node at which a run begins or ends: one that begins at a way leaves on its far half."""
    owner = harness.connectors.get(node_of(point).owner)
    return far_side(point) if owner is not None and owner.kind == "plug" and not last else point


def _moved(wire: Wire, last: bool, to: str) -> tuple[Change, Conductor]:
    """The last length of a wire (or its first) that leads to another point."""
    seg = wire.segments[-1] if last else wire.segments[0]
    kept = seg.a if last else seg.b
    return Change(((seg.name, OPEN_OHM),), (AddedBranch(kept, to, seg.ohm),)), seg


def _untraced(wire: Wire, harness: Harness, nets: Nets, places: _Places) -> Iterator[Fault]:
    """What a wire may be otherwise at either end. A strap between earth points is in sight."""
    if {wire.run[0], wire.run[-1]} <= harness.earths.keys():
        return
    for last in (True, False):
        end = wire.run[-1] if last else wire.run[0]
        if end in harness.earths:
            if _holds(harness, wire.run[0] if last else wire.run[-1], Source):
                continue  # its earthed pole has a strap of its own, in sight
            yield from _at_end(wire, last, "earthed elsewhere", _other_earths(wire, last, places))
            yield from _own_bolt(wire, last, harness)
            continue
        if _holds(harness, end, FuseLink):
            others = _other_fuses(end, harness, nets)
            yield from _at_end(wire, last, "fed elsewhere", others)
        elif end in harness.splices or harness.block_of(end) is not None:
            yield from _at_end(wire, last, "branches elsewhere", _next_joints(wire, end, harness, nets))


def _holds(harness: Harness, node: str, what: type[FuseLink] | type[Source]) -> bool:
    """Whether a terminal is that of a part with such a device in it."""
    part = harness.parts.get(node_of(node).owner)
    return part is not None and any(isinstance(d, what) for d in part.devices)


def _at_end(wire: Wire, last: bool, kind: str, others: Mapping[str, float] | Sequence[str]) -> Iterator[Fault]:
    # Where its own bolt is one more possibility it takes a third.
    whole = 2 / 3 if kind == "earthed elsewhere" else 1.0
    old, kept = (wire.run[-1], wire.run[0]) if last else (wire.run[0], wire.run[-1])
    weight = others if isinstance(others, Mapping) else dict.fromkeys(others, 1.0)
    for other, own in weight.items():
        change, seg = _moved(wire, last, other)
        run = (*wire.run[:-1], other) if last else (other, *wire.run[1:])
        yield _deviation(kind, f"{kept} at {other}", f"{kept} leads to {other}, not to {old}", change,
                         whole * own / sum(weight.values()), (seg.a if last else seg.b, other),
                         Rewired(wire.name, run), (seg.name,))


def _own_bolt(wire: Wire, last: bool, harness: Harness) -> Iterator[Fault]:
    """Earthed where it sits, through a bolt or a bracket of its own."""
    if all(e.body is None for e in harness.earths.values()):
        return
    body = harness.bodies()[0]
    change, seg = _moved(wire, last, body)
    kept, old = (wire.run[0], wire.run[-1]) if last else (wire.run[-1], wire.run[0])
    bolt = f"bolt of {node_of(kept).owner}"
    run = (*wire.run[:-1], bolt) if last else (bolt, *wire.run[1:])
    yield _deviation("earthed elsewhere", f"{kept} where it sits", f"{kept} is earthed where it sits, not at {old}",
                     change, 1 / 3, (seg.a if last else seg.b, ""), Rewired(wire.name, run, bolt=bolt), (seg.name,))


class _Places:
    """Which earth points are near to something: by the words of their places, and by what hangs together."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        bodies, poles = {*harness.bodies()}, {*harness.poles()}
        self._beside: dict[str, set[str]] = {}
        for d in harness.devices():
            a, b = ends(d)
            if not {a, b} & (bodies | poles):
                self._beside.setdefault(a, set()).add(b)
                self._beside.setdefault(b, set()).add(a)

    def common(self, node: str, name: str) -> int:
        """How many words a terminal and its part have in common with the place of a part or an earth point."""
        words = set(f"{self.harness.place_of(node)[0]} {node_of(node).owner}".casefold().split())
        return len(words & set(self.harness.place_of(name)[0].casefold().split()))

    def earths(self, node: str, but: str) -> list[str]:
        """The earth points other than its own, nearest first: so many wires, plugs and parts away, less what their
        places have in common. Behind the tail lamp's feed hangs the number-plate lamp, and behind that its bolt."""
        ways, seen, reached = 0, {node, but}, dict[str, int]()
        ahead = {n for t in self._terminals(node) for n in (t, *self._beside.get(t, ()))} - {but}
        while ahead:
            ways += 1
            seen |= ahead
            reached |= dict.fromkeys(ahead & self.harness.earths.keys(), ways)
            ahead = {n for at in ahead for n in self._beside.get(at, ())} - seen
        others = [e for e in self.harness.earths if e != but]
        return sorted(others, key=lambda e: reached.get(e, ways + 1) - _WORD * self.common(node, e))

    def _terminals(self, node: str) -> list[str]:
        owner = self.harness.parts.get(node_of(node).owner)
        return [node] if owner is None else [terminal_at(owner.name, t) for t in owner.terminals]


def _weighed(earths: Sequence[str]) -> dict[str, float]:
    return {e: _NEARER if k < _NEAREST else 1.0 for k, e in enumerate(earths)}


def _other_earths(wire: Wire, last: bool, places: _Places) -> dict[str, float]:
    """Other earth points, and the earth terminals of units at the same place, each with its weight."""
    end, kept = (wire.run[-1], wire.run[0]) if last else (wire.run[0], wire.run[-1])
    harness = places.harness
    near = {p.name: places.common(kept, p.name) for p in harness.parts.values()}
    units = [
        terminal_at(n, "earth") for n, common in near.items()
        if harness.parts[n].lamps and "earth" in harness.parts[n].terminals and n != node_of(kept).owner and common
        and harness.legs(terminal_at(n, "earth"))
    ]
    units.sort(key=lambda node: -near[node_of(node).owner])
    return _weighed(places.earths(kept, end)[:_MOST_EARTHS]) | dict.fromkeys(units[:_MOST_UNITS], 1.0)


def _other_fuses(end: str, harness: Harness, nets: Nets) -> list[str]:
    """The same side of other fuses, each piece of copper once."""
    terminal, found = node_of(end).terminal, dict[str, str]()
    most = _MOST_FUSES if terminal == "out" else _MOST_FEEDS
    for part in harness.parts.values():
        node = terminal_at(part.name, terminal)
        if _holds(harness, node, FuseLink) and not nets.same(node, end):
            found.setdefault(nets.of(node), node)
    return list(found.values())[:most]


def _next_joints(wire: Wire, end: str, harness: Harness, nets: Nets) -> list[str]:
    """The splices and blocks next to the one in which a wire ends, along other wires; and, of the leg of a joint that
    a fuse feeds, the other fuses."""
    own = {s.name for s in wire.segments}
    block = harness.block_of(end)
    start = block.name if block is not None else end
    ends = [start, *(j.a for j in harness.joints if j.kind == "bullet" and j.b == start)]
    found: dict[str, None] = {}
    for node in ends:
        for s in harness.legs(node):
            far = s.b if s.a == node else s.a
            there = harness.block_of(far)
            name = there.name if there is not None else far
            if s.name not in own and name != start and (name in harness.splices or there is not None):
                found.setdefault(name)
    joints = list(found)[:_MOST_BRANCHES]
    fused = [terminal_at(p.name, "out") for p in harness.parts.values()
             if _holds(harness, terminal_at(p.name, "out"), FuseLink)]
    if any(nets.same(n, end) for n in fused):
        joints += [n for n in fused if not nets.same(n, end)][:_MOST_FEEDS]
    return joints


def _bolted(part: Part, places: _Places) -> Iterator[Fault]:
    """A part that the file bolts to one earth point, and that may sit on another: on those that the file names beside
    it, or, where nobody saw it, on any."""
    own = next((d for d in part.devices if isinstance(d, Joint) and d.kind == "stud"), None)
    if own is None:
        return
    named = [e for e in part.others if e != own.b]
    near = [] if part.traced else [e for e in places.earths(own.a, own.b) if e not in named]
    for kind, others in (("alternative run", dict.fromkeys(named, 1.0)),
                         ("earthed elsewhere", _weighed(near[:_MOST_EARTHS]))):
        for other, weight in others.items():
            change = Change(((own.name, OPEN_OHM),), (AddedBranch(own.a, other, own.ohm),))
            yield _deviation(kind, f"{part.name} at {other}", f"{part.name} is bolted at {other}, not at {own.b}",
                             change, weight / sum(others.values()), (own.a, other),
                             Rewired(part.name, earth=other), (own.name,))


def _added_earth(part: Part, harness: Harness) -> Iterator[Fault]:
    """A later hand gave a lamp unit an earth of its own beside the one in the file. Where readings have told of one,
    it is in the file, and there is no second."""
    earth, bolt = terminal_at(part.name, "earth"), f"bolt of {part.name}"
    if not part.lamps or "earth" not in part.terminals or all(e.body is None for e in harness.earths.values()):
        return
    if bolt in harness.earths:
        return
    legs = [w for w in harness.wires for s in w.segments if earth in (s.a, s.b)]
    if not legs:
        return
    change = Change(added=(AddedBranch(earth, harness.bodies()[0], _BOLT_OHM),))
    chance = "earth added" if all(w.traced for w in legs) else "earth added, untraced"
    rewired = Rewired("", (earth, bolt), bolt=bolt, beside=tuple(s.name for s in harness.legs(earth)))
    yield _deviation("earth added", part.name, f"{part.name} has an added earth where it sits", change, 1.0,
                     (earth, ""), rewired, (f"{part.name} added earth",), chance)
