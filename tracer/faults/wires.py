"""Faults of wires, straps, splices and looms, and wires put on each other's terminals."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import combinations

from msgspec.structs import replace

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.faults.copper import Nets, bodies_near, unguarded
from tracer.faults.making import Fault, Variant, fault, in_common, leak, opened, resistive
from tracer.harness.base_rates import JOINED_OHM, LASTING_SHORT_OHM, SHORT_OHM, UNFUSED_SHORT
from tracer.harness.devices import Conductor, Source
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at

_IN_TRUNK_M = 0.8  # shorter lengths are branches, which keep company with few
_TRUNK_WIRES = 12  # of a loom, the longest


def wire_faults(harness: Harness) -> Iterator[Fault]:
    """Each length of wire: open, bad, rubbed through to the body. One between earth points, or from one of them to
    the battery's earthed pole, is a strap."""
    poles = {s.plus if harness.positive_earth else s.minus for s in harness.devices() if isinstance(s, Source)}
    bodies, burning = bodies_near(harness), unguarded(harness)
    for wire in harness.wires:
        for s in wire.segments:
            ends, earths = {s.a, s.b}, harness.earths.keys()
            if ends <= earths | poles and ends & earths:
                yield from _strap_faults(s)
            else:
                for f in _length_faults(s, harness, bodies, burning):
                    burns = f.kind == "wire to body" and f.node in burning
                    yield replace(f, rate=f.rate * UNFUSED_SHORT) if burns else f


def _strap_faults(d: Conductor) -> Iterator[Fault]:
    span = _span(d)
    strap = f"the strap {span}"
    yield fault("strap open", span, f"{strap} is broken or missing", f"renew {strap}", opened(d.name), d.a,
                (d.a, d.b), (d.name,))
    yield fault("strap bad", span, f"{strap} is loose or corroded", f"renew {strap}", resistive(d.name), d.a,
                (d.a, d.b), (d.name,))


def _span(d: Conductor) -> str:
    # Which half of a way a wire sits in follows from its other end; people do not read primes.
    return f"{node_of(d.a).near} – {node_of(d.b).near}"


def _length_faults(
    d: Conductor, harness: Harness, bodies: Mapping[str, str], burning: Collection[str]
) -> Iterator[Fault]:
    span = _span(d)
    wire = f"{d.colour} wire".strip()
    repair = f"repair the {wire} {span}"
    yield fault("wire open", span, f"the {wire} {span} is broken", repair, opened(d.name), d.a, (d.a, d.b), (d.name,))
    yield fault("wire bad", span, f"the {wire} {span} is corroded or hangs by a few strands", repair,
                resistive(d.name), d.a, (d.a, d.b), (d.name,))
    if not {d.a, d.b} & harness.earths.keys() and bodies:
        # Somewhere along it: not in the splice, where it would be a fault of all its wires.
        at = d.b if d.a in harness.splices and d.b not in harness.splices else d.a
        ohm = LASTING_SHORT_OHM if at in burning else SHORT_OHM
        shorts = leak(at, bodies.get(at, harness.bodies()[0]), ohm, wording="")
        yield fault("wire to body", span, f"the {wire} {span} is rubbed through to the body", repair, shorts, at,
                    None, (d.name,))


def splice_faults(harness: Harness) -> Iterator[Fault]:
    """A splice as a whole, and one of its legs."""
    for splice in harness.splices:
        legs = harness.legs(splice)
        if len(legs) < 2:
            continue
        names, repair = tuple(s.name for s in legs), f"remake splice {splice}"
        yield fault("splice open", splice, f"splice {splice} has come apart", repair, opened(*names), splice, None,
                    names)
        yield fault("splice bad", splice, f"splice {splice} is corroded", repair, in_common(names), splice, None,
                    names)
        for s in legs if len(legs) > 2 else ():
            far = node_of(s.b if s.a == splice else s.a).near
            leg = f"the {s.colour} leg to {far}".replace("  ", " ")
            yield fault("splice leg open", f"{splice} to {far}", f"{leg} has come out of splice {splice}", repair,
                        opened(s.name), splice, (s.a, s.b), (s.name,))
            yield fault("splice leg bad", f"{splice} to {far}", f"{leg} is corroded in splice {splice}", repair,
                        resistive(s.name), splice, (s.a, s.b), (s.name,))


def joined_wires(harness: Harness) -> Iterator[Fault]:
    """Wires that run side by side: same loom, and both leave from or arrive at one place."""
    segments = [s for w in harness.wires for s in w.segments if s.loom]
    looms: dict[str | None, list[tuple[Conductor, set[str]]]] = {}
    for s in segments:
        looms.setdefault(s.loom, []).append((s, _owners(s)))
    pairs = []
    for s in segments:
        (_, owners), *later = looms[s.loom]
        looms[s.loom] = later
        pairs += [(s, t) for t, others in later if owners & others and not {s.a, s.b} & {t.a, t.b}]
    for one, two in pairs:
        ends = [{s.a, s.b} & harness.earths.keys() for s in (one, two)]
        if all(ends):
            continue
        # On metal a feed finds the body before it finds an earth wire; where nothing else is earth, that is its
        # short.
        if any(harness.earths[n].body is not None for own in ends for n in own):
            continue
        yield _joined(one, two)


def _joined(one: Conductor, two: Conductor) -> Fault:
    tag = f"{_span(one)} and {_span(two)}"
    # Where along the loom they touch is found by opening it: one repair for all runs of two colours.
    both = " and ".join(sorted({one.colour, two.colour})) if one.colour and two.colour else ""
    repair = f"part and repair the {both} wires in the {one.loom} loom" if both else f"part and repair {tag}"
    says = f"the wires {tag} are rubbed or melted together"
    return fault("wires joined", tag, says, repair, leak(one.b, two.b, JOINED_OHM), one.b, None,
                 (one.name, two.name))


def loom_mates(harness: Harness) -> Iterator[Fault]:
    """Wires of one loom that have no place in common and lie side by side all the same, in its trunk. Of all lengths
    of two pieces of copper the two longest stand for the rest: to the lamps it is one fault, and one repair."""
    nets = Nets(harness)
    looms: dict[str, dict[str, Conductor]] = {}
    for s in (s for w in harness.wires for s in w.segments if s.loom and s.length_m >= _IN_TRUNK_M):
        longest, net = looms.setdefault(s.loom or "", {}), nets.of(s.a)
        if not nets.earth(s.a) and (net not in longest or longest[net].length_m < s.length_m):
            longest[net] = s
    for longest in looms.values():
        trunk = sorted(longest.values(), key=lambda s: -s.length_m)[:_TRUNK_WIRES]
        for one, two in combinations(trunk, 2):
            if not _owners(one) & _owners(two):
                yield _joined(one, two)


def place_mates(harness: Harness, found: Iterable[Fault]) -> Iterator[Fault]:
    """Wires of one loom that have no part in common and end at one place, as at a steering column or behind a dash:
    there they lie side by side, however short they are. Of two pieces of copper of which no pair is `found` yet the
    longest such pair stands for the rest."""
    nets, segments = Nets(harness), {s.name: s for w in harness.wires for s in w.segments}
    pairs = [tuple(segments[e] for e in f.elements) for f in found if f.kind == "wires joined"]
    known = {(one.loom, frozenset((nets.of(one.a), nets.of(two.a)))) for one, two in pairs}
    looms: dict[str, dict[str, list[tuple[Conductor, set[str]]]]] = {}
    for s in segments.values():
        places = {_place(n, harness) for n in (s.a, s.b)} - {""}
        if s.loom and places and not nets.earth(s.a):
            looms.setdefault(s.loom, {}).setdefault(nets.of(s.a), []).append((s, places))
    for loom, by_net in looms.items():
        for one, two in combinations(by_net, 2):
            if (loom, frozenset((one, two))) in known:
                continue
            beside = [(s, t) for s, here in by_net[one] for t, there in by_net[two] if here & there]
            if beside:
                yield _joined(*max(beside, key=lambda p: p[0].length_m + p[1].length_m))


def _place(node: str, harness: Harness) -> str:
    owner = node_of(node).owner
    thing = harness.splices.get(node) or harness.parts.get(owner) or harness.connectors.get(owner)
    return (thing.place if thing is not None else None) or ""


def earth_mates(harness: Harness) -> Iterator[Fault]:
    """Where no body conducts, a feed that is rubbed through finds the earth wires of its loom, wherever they lead.
    All of them are one piece of copper: the longest stands for those that have no place in common with the feed."""
    if any(e.body is not None for e in harness.earths.values()):
        return
    nets = Nets(harness)
    looms: dict[str, list[Conductor]] = {}
    for s in (s for w in harness.wires for s in w.segments if s.loom):
        looms.setdefault(s.loom or "", []).append(s)
    for own in looms.values():
        earths = [s for s in own if nets.earth(s.a)]
        for feed in own:
            if not earths or nets.earth(feed.a) or any(_owners(e) & _owners(feed) for e in earths):
                continue
            yield _joined(feed, max(earths, key=lambda s: s.length_m))


def _owners(s: Conductor) -> set[str]:
    return {node_of(n).owner for n in (s.a, s.b)}


def changed_over(harness: Harness) -> Iterator[Fault]:
    """Two wires put on each other's terminals at a part, after a repair. Of two on one terminal of a lamp unit, which
    go on from there to another thing, it is the one or the other."""
    for part in harness.parts.values():
        if len(part.terminals) < 3 or part.electronic:  # an electronic unit has a plug, whose ways cross
            continue
        nodes = {terminal_at(part.name, t): t for t in part.terminals}
        ends: dict[str, list[Conductor]] = {}
        for wire in harness.wires:
            for s in wire.segments:
                for node in (s.a, s.b):
                    if node in nodes:
                        ends.setdefault(node, []).append(s)
        for (n1, on1), (n2, on2) in combinations(ends.items(), 2):
            ways = [(s1, s2) for s1 in on1 for s2 in on2 if s1.name != s2.name]
            if "earth" in (nodes[n1], nodes[n2]) or not ways or len(on1) * len(on2) > (2 if part.lamps else 1):
                continue
            variants = [Variant(1 / len(ways), _swapped(n1, s1, n2, s2)) for s1, s2 in ways]
            pair = f"{nodes[n1]} and {nodes[n2]}"
            yield fault("wires changed over", f"{part.name} {pair}",
                        f"the wires on {pair} of {part.name} are swapped",
                        f"change the wires {pair} at {part.name} back", variants, n1, None,
                        tuple(dict.fromkeys(s.name for way in ways for s in way)))


def _swapped(n1: str, s1: Conductor, n2: str, s2: Conductor) -> Change:
    """The wires `s1` on `n1` and `s2` on `n2`, each on the other's terminal."""
    far1, far2 = (s.b if s.a == n else s.a for n, s in ((n1, s1), (n2, s2)))
    return Change(
        set_ohm=((s1.name, OPEN_OHM), (s2.name, OPEN_OHM)),
        added=(AddedBranch(far1, n2, s1.ohm), AddedBranch(far2, n1, s2.ohm)),
    )
