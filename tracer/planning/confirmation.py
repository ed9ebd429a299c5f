"""Measurements that confirm one suspect directly, made before anything is dismantled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

import numpy as np

from tracer.circuit.model import NO_CHANGE, Change, Floats
from tracer.faults import Fault
from tracer.faults.copper import Nets
from tracer.harness.devices import FilamentLaw, Joint, RelayContact, Source
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of, terminal_at
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.reading_likelihood import ohm_scale
from tracer.inference.visual_inspection import where_seen
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Reading, Test, inspection
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.forward_model import Predictor
from tracer.observation.test_kinds import TestKind
from tracer.planning.costs import IN_HAND_MIN, WRONG_PART_MIN, Standing, minutes_of
from tracer.safety.feeds import Shorts
from tracer.safety.permitted import forbidden

# What a workshop or an owner added, which the harness file does not show.
ADDED = frozenset({"added load", "added joint", "added feed", "switch bypassed"})
_TOLD_DECADES = 0.3  # of resistance, by which a direct confirmation must tell bad from sound
_TOLD_V = 0.3  # the same of a volt drop
_AS_GOOD = 0.7  # share of the most that a drop can tell, above which the quickest one will do
_MOST_LAMPS_OUT = 4
CHEAP_MIN: Final = 3.0  # a repair this short is its own quickest test (fitting a lamp or a fuse)
# Of a repair, below which nothing is looked at or measured for what no probe reaches.
LEAST_DOUBT: Final = 0.03
MUCH_DOUBT: Final = 0.1  # above which the thing itself is looked at first
_IN_SIGHT = 0.6  # how often what is wrong there is seen, below which a look clears nothing
_OF_REPAIR = 0.5  # of the minutes of a repair, above which it is no look on the way
_HOLDERS: Final = frozenset({"holder bad", "holder open"})
_LIT, _WHOLE = 0.5, 0.9  # of the battery's voltage at a lamp that is lit; of what a sound one has, that is the whole
_TRIED = 4  # volt drops worked out with the meter connected
May = Callable[[Test], bool]


def spans(fault: Fault, harness: Harness) -> tuple[tuple[str, str], ...]:
    """Pairs of terminals between which the volt drop of a fault lies, as far as probes reach them.

    A splice has nothing across it: it is measured from leg to leg, at the nearest terminals that its wires lead to,
    and the millivolts of the wires come on top. Of a part whose contacts all fail, any contact will do.
    """
    change = fault.variants[0].change
    raised = set() if change.added else {name for name, _ in change.set_ohm}
    if fault.across is not None:
        a, b = (_outside(n, raised, harness) for n in fault.across)
        found = [(x, y) for x in a for y in b if x != y]
    else:
        ends = [(d.a, d.b) for d in harness.devices() if not isinstance(d, Source) and d.name in raised]
        if fault.node in harness.splices:
            far = dict.fromkeys(b if a == fault.node else a for a, b in ends)
            ends = list(combinations(far, 2))
        found = ends
    return tuple((a, b) for a, b in found if not (node_of(a).inner or node_of(b).inner))


def _outside(node: str, raised: Collection[str], harness: Harness) -> list[str]:
    """The terminals of a flasher or relay that lead to a place inside it, without the devices `raised`; of a terminal
    that one. Not through a lamp's holder or the clips of a fuse: they are suspects of their own."""
    if not node_of(node).inner:
        return [node]
    inner = [
        d for d in harness.devices()
        if (isinstance(d, RelayContact) or (isinstance(d, Joint) and d.kind == "winding")) and d.name not in raised
    ]
    reached = [node]
    for n in reached:
        if node_of(n).inner:
            reached += [x for d in inner if n in (d.a, d.b) for x in (d.a, d.b) if x not in reached]
    return [n for n in reached if not node_of(n).inner]


def confirmation(
    predictor: Predictor, faults: Sequence[Fault], change: Change, states: Sequence[VehicleState], standing: Standing,
    done: Collection[Test], doubt: float = 1.0, shorts: Shorts | None = None, may: May = lambda test: True,
) -> Test | None:
    """A direct measurement across what would be repaired; None where the repair is itself the quickest test or it was
    measured already.

    Args:
        faults: What is taken to be wrong, together the circuit change `change`.
        states: Vehicle states to choose from, likeliest to be worth measuring in first.
        done: Tests made since the repair was last tried.
        doubt: How likely it is something else.
        shorts: Feeds without a fuse that may lie on the body: then nothing is measured live.
        may: Whether a test can be made as things are; another one is looked for in place of what cannot.
    """
    found = (_confirmation(predictor, f, change, states, standing, done, doubt, shorts, may) for f in faults)
    return next((t for t in found if t is not None), None)


def _confirmation(
    predictor: Predictor, fault: Fault, change: Change, states: Sequence[VehicleState], standing: Standing,
    done: Collection[Test], doubt: float, shorts: Shorts | None, may: May,
) -> Test | None:
    harness = predictor.harness
    if fault.kind in ADDED:
        # The likeliest of what was added is found by what it does; whether anything was added at all, by looking.
        seen = [inspection(harness, thing) for thing in where_seen(fault, harness)]
        found = seen and not {(t.kind, t.plus) for t in done} & {(t.kind, t.plus) for t in seen}
        return seen[0] if found and may(seen[0]) else None
    glass = lamp_in_hand(fault, harness, states[0]) if states else None
    if glass is not None:
        known = any(t.in_hand == glass.in_hand and {t.plus, t.minus} == {glass.plus, glass.minus} for t in done)
        worth = doubt * WRONG_PART_MIN > IN_HAND_MIN  # to get it out is part of the repair
        return glass if worth and not known and may(glass) else None
    if fault.repair_min <= CHEAP_MIN or (fault.across is None and not fault.renews):
        return None
    if fault.kind in _HOLDERS:
        return _whole_supply(predictor, fault, change, states, standing, done, doubt, shorts, may)
    pairs = spans(fault, harness)
    if not pairs:
        # What several wires share is parted where the doubt that is left is worth it.
        alone = parted(fault, harness)
        if alone in done:
            return None
        if alone and may(alone) and doubt * WRONG_PART_MIN > minutes_of(alone, standing, harness) and (
            _told_ohms(predictor, alone, change)
        ):
            return alone
        touching = [] if fault.across is not None else [isolated(fault, harness, out) for out in (False, True)]
        if {*touching} & {*done}:
            return None
        return next((t for t in touching if t is not None and may(t) and _told_ohms(predictor, t, change)), None)
    told = _drops(predictor, pairs, change, states)
    told *= [[may(Test("drop", s, a, b)) for s in states] for a, b in pairs]
    most = float(told.max(initial=0.0))
    near = [(pairs[k], states[s]) for k, s in np.argwhere((told > _TOLD_V) & (told >= _AS_GOOD * most)).tolist()]
    if any(_measured(pair, done, harness) for pair, _ in near) or (not near and _measured(pairs[0], done, harness)):
        return None
    drops = [Test("drop", state, a, b) for (a, b), state in near]
    drops.sort(key=lambda t: minutes_of(t, standing, harness))
    drops = [t for t in drops[:_TRIED] if may(t) and not forbidden(t, harness, shorts)]
    for test in drops:
        shown, sound = predictor.observed(test, [change, NO_CHANGE])
        if abs(shown - sound) > _TOLD_V:
            return test
    held = next((s for s in states if may(Test("ohms", s, *pairs[0]))), states[0])
    ohms = [Test("ohms", held, a, b) for a, b in pairs[:_TRIED]]
    ohms = [t for t in ohms if t not in done and may(t) and not forbidden(t, harness, shorts)]
    return next((t for t in ohms if _told_ohms(predictor, t, change)), None)


def _whole_supply(
    predictor: Predictor, fault: Fault, change: Change, states: Sequence[VehicleState], standing: Standing,
    done: Collection[Test], doubt: float, shorts: Shorts | None, may: May,
) -> Test | None:
    """Nobody gets a probe onto the contact inside a holder. But where the whole supply stands between the terminals
    of a lamp that is dim, what is bad lies between them (common practice, no source). None where that is known, or
    hardly in doubt."""
    pairs = supplied(fault, predictor.harness)
    if doubt < LEAST_DOUBT or any(_measured(pair, done, predictor.harness) for pair in pairs):
        return None
    kind: dict[bool, TestKind] = {True: "volts", False: "drop"}
    tests = [Test(kind[b == predictor.harness.reference], s, a, b) for a, b in pairs for s in states]
    tests = [t for t in tests if may(t) and not forbidden(t, predictor.harness, shorts)]
    for test in sorted(tests, key=lambda t: minutes_of(t, standing, predictor.harness))[:_TRIED]:
        shown, sound = np.abs(predictor.observed(test, [change, NO_CHANGE]))
        if sound > _LIT * predictor.emf and shown > _WHOLE * sound:
            return test
    return None


def supplied(fault: Fault, harness: Harness) -> list[tuple[str, str]]:
    """Of a bad contact in a lamp's holder the terminals between which the lamps lie that it is in the way of."""
    part = harness.parts.get(node_of(fault.node).owner)
    if part is None or fault.kind not in _HOLDERS:
        return []
    contacts = {f.a for f in part.lamps if {*fault.elements} & {*f.holder}}
    own = {terminal_at(part.name, t) for t in part.terminals if t != "earth"}
    feeds = dict.fromkeys(d.a for d in part.devices if isinstance(d, Joint) and d.b in contacts and d.a in own)
    earth = terminal_at(part.name, "earth") if "earth" in part.terminals else harness.reference
    return [(feed, earth) for feed in feeds]


def in_sight(
    faults: Sequence[Fault], harness: Harness, done: Collection[Test], standing: Standing
) -> Iterator[Test]:
    """Looks at what would be repaired, where what is wrong there is mostly seen, nobody has looked yet, and they take
    little beside the repair: whoever frees a contact has the lamp out first, who remakes a splice its tape off."""
    known = {t.thing(harness) for t in done if t.at_rest}
    for f in faults:
        for thing, seen in where_seen(f, harness).items():
            test = inspection(harness, thing)
            if seen >= _IN_SIGHT and thing not in known and minutes_of(test, standing, harness) < (
                    _OF_REPAIR * f.repair_min + harness.place_of(f.node)[1]):
                yield test


def was_found(faults: Iterable[Fault], diagnosis: Diagnosis) -> bool:
    """Whether somebody has seen one of these faults where he looked for it."""
    harness = diagnosis.predictor.harness
    seen = {i.test.thing(harness) for i in diagnosis.evidence
            if isinstance(i, Reading) and i.test.at_rest and i.value.found}
    return any(not seen.isdisjoint(where_seen(f, harness)) for f in faults)


def around_holder(test: Test, faults: Iterable[Fault], harness: Harness) -> bool:
    """Whether a test is made at the terminals of a lamp and not across what is bad in its holder."""
    return any((test.plus, test.minus) in supplied(f, harness) for f in faults)


def _drops(
    predictor: Predictor, pairs: Sequence[tuple[str, str]], change: Change, states: Sequence[VehicleState]
) -> Floats:
    """(pairs, states) V by which each drop is other than on a sound vehicle, no meter connected."""
    nodes = np.array([[predictor.circuit.node(n) for n in pair] for pair in pairs])
    table, found = predictor.table([change, NO_CHANGE]), []
    for state in states:
        settled = predictor.settled(predictor.setup(state), table)
        drop = settled.solution.volts[:, nodes[:, 0]] - settled.solution.volts[:, nodes[:, 1]]
        found.append(np.abs(drop[0] - drop[1]) * settled.usable.all())
    return np.array(found).T


def _told_ohms(predictor: Predictor, test: Test, change: Change) -> bool:
    shown, sound = ohm_scale(either_way(predictor, [test], [change, NO_CHANGE])[0]).T
    return bool(np.abs(shown[:, None] - sound).min() > _TOLD_DECADES)  # whichever way a flasher unit stands


def measured(faults: Sequence[Fault], done: Collection[Test], harness: Harness) -> bool:
    """Whether one of these faults was measured directly."""
    return any(_measured(pair, done, harness) for f in faults for pair in spans(f, harness)) or any(
        parted(f, harness) in done or (parted(f, harness) is None and {isolated(f, harness), isolated(
            f, harness, lamps_out=True)} & {*done}) for f in faults
    )


def _measured(pair: tuple[str, str], done: Collection[Test], harness: Harness) -> bool:
    """Whether it was measured between these points, or at both against the body in one state: their difference is
    the drop across. (To look along a wire is not to measure it.)"""
    done = [t for t in done if not t.row.by_hand]
    if any({t.plus, t.minus} == {*pair} for t in done):
        return True
    ends = [{t.plus for t in done if t.row.one_point and t.row.plain_volts and t.state == s and not t.done}
            | {harness.reference} for s in {t.state for t in done}]
    return any({*pair} <= e for e in ends)


def lamp_in_hand(fault: Fault, harness: Harness, state: VehicleState) -> Test | None:
    """A lamp that is said to be broken, taken out, looked at and measured: it comes out for the new one anyhow. None
    for other faults, and for LEDs, which an ohmmeter does not light."""
    own = next((f for f in harness.lamps() if fault.kind == "filament open" and f.name in fault.elements), None)
    if own is None or not isinstance(own.law, FilamentLaw):
        return None
    return Test("ohms", state, own.a, own.b, done=(Intervention("take out lamp", own.bulb),))


def shared_points(repairs: Sequence[Sequence[Fault]], harness: Harness) -> list[set[str]]:
    """Points between which the ohmmeter shows several of these repairs' faults alike: one of the wires of a splice is
    rubbed through to the body, and a reading there does not say which."""
    points = [
        frozenset((t.plus, t.minus)) for faults in repairs
        for t in dict.fromkeys(isolated(f, harness) for f in faults) if t is not None
    ]
    return [{*p} for p, count in Counter(points).items() if count > 1]


def unmeasured(suspects: Sequence[Suspect], before: Mapping[str, set[Test]], harness: Harness) -> set[int]:
    """Those of the suspects whose repair was made in vain and which were not measured since. `before`: repair → tests
    since it was made."""
    blurred = shared_points([s.best.defects for s in suspects], harness) if before else []
    return {
        k for k, s in enumerate(suspects)
        if s.repair in before and not measured(s.best.defects, [
            t for t in before[s.repair] if not t.row.battery_off or {t.plus, t.minus} not in blurred], harness)
    }


def isolated(fault: Fault, harness: Harness, lamps_out: bool = False) -> Test | None:
    """Ohms between two things that touch and should not, everything switched off and the plugs at the ends of the
    wires concerned pulled, so that nothing else joins them; None for other faults. `lamps_out`: the lamps of the one
    that has fewer are taken out as well, if there are filaments at both: cold ones in parallel have less than an ohm,
    beside which a leak is not seen."""
    change = fault.variants[0].change
    joined = next((x for x in change.added if not (node_of(x.a).inner or node_of(x.b).inner)), None)
    if joined is None or change.set_ohm or change.scaled:
        return None
    ends = {joined.a, joined.b}
    metal = {*harness.bodies()}
    loose = ends - metal
    near = ends | {
        n for w in harness.wires for s in w.segments
        if s.a in loose or s.b in loose or s.name in fault.elements for n in (s.a, s.b)
    }
    done = unplugged(near, harness, joined.through)
    if lamps_out:
        pulled = {i.target for i in done}
        at_ends = [_bulbs_at(n, harness, pulled) for n in (joined.a, joined.b)]
        fewer = min((x for x in at_ends if x is not None), key=len, default=[])
        if len(fewer) <= _MOST_LAMPS_OUT:
            done = (*done, *(Intervention("take out lamp", bulb) for bulb in fewer))
    return Test("ohms", harness.at_rest(), joined.a, joined.b, done=done)


def _bulbs_at(node: str, harness: Harness, pulled: Collection[str], but: str = "") -> list[str] | None:
    """The filament lamps that copper alone, without the wire `but`, joins a node to, these plugs being pulled; None
    where that is earth."""
    metal = {*harness.bodies(), *harness.earths}
    reached = _joined_to(node, harness, pulled, but, metal)
    own = [f for f in harness.lamps() if isinstance(f.law, FilamentLaw) and not reached.isdisjoint((f.a, f.b))]
    return list(dict.fromkeys(f.bulb for f in own)) if metal.isdisjoint(reached) else None


def _joined_to(
    node: str, harness: Harness, pulled: Collection[str], but: str = "", ends: Collection[str] = ()
) -> set[str]:
    """What copper joins to a node, these plugs being pulled, without the wire `but`, up to the nodes `ends`."""
    ahead, reached = [node], {node}
    while ahead:
        at = ahead.pop()
        if at not in ends:
            new = {n for n, way, name in harness.copper.get(at, ()) if way not in pulled and name != but} - reached
            ahead += new
            reached |= new
    return reached


def parted(fault: Fault, harness: Harness) -> Test | None:
    """Ohms to earth from a wire rubbed through to the body, or where no body conducts to an earth wire: at its
    end in a splice which is parted, its lamps out and its plug pulled, so that neither the other wires nor cold
    filaments say anything (common practice, no source); None for other faults, and between two splices."""
    change = fault.variants[0].change
    if len(change.added) != 1 or change.set_ohm or change.scaled:
        return None
    rubbed = change.added[0].a, change.added[0].b
    if rubbed[1] in harness.bodies():
        feeds, earth, ends = set(fault.elements), rubbed[1], []
    elif fault.kind == "wires joined" and all(e.body is None for e in harness.earths.values()):
        nets = Nets(harness)
        if nets.earth(rubbed[0]) == nets.earth(rubbed[1]):
            return None
        live, dead = rubbed if nets.earth(rubbed[1]) else rubbed[::-1]
        feeds = {s.name for w in harness.wires for s in w.segments if nets.same(s.a, live)} & {*fault.elements}
        earth, ends = harness.reference, [dead]
    else:
        return None
    for s in (s for w in harness.wires for s in w.segments if s.name in feeds):
        for splice, far in ((s.a, s.b), (s.b, s.a)):
            if splice in harness.splices and far not in harness.splices and len(harness.legs(splice)) > 1:
                pulled = unplugged([far], harness)
                bulbs = _bulbs_at(far, harness, {i.target for i in pulled}, s.name) or []
                out = [Intervention("take out lamp", b) for b in bulbs[:_MOST_LAMPS_OUT]]
                alone = Intervention("part splice", splice, far)
                # The black wire may go through the plug that is pulled: then to its own end.
                cut = [n for n in ends if earth not in _joined_to(n, harness, {i.target for i in pulled})]
                return Test("ohms", harness.at_rest(), splice, (*cut, earth)[0], done=(alone, *pulled, *out))
    return None


def unplugged(nodes: Iterable[str], harness: Harness, but: str = "") -> tuple[Intervention, ...]:
    """The plugs and the bullets pulled that terminals are in."""
    nodes = list(nodes)
    owners = {node_of(n).owner for n in nodes} & {c.name for c in harness.plugs()} - {but}
    bullets = sorted({n for n in nodes if harness.is_bullet(n)})
    return (*(Intervention("unplug", c) for c in sorted(owners)), *(Intervention("pull bullet", n) for n in bullets))
