"""What the eye finds where something is looked over, and what changes when it is moved: by fault, not by circuit.

Two faults that are the same to every current (a wire rubbed through to the body, and its neighbour in the same
splice) are told apart so.

All its figures stand here. They are judgement: common practice, no source. Nobody has counted how often somebody who
looks along a wire finds where it is rubbed through; what is meant is a mechanic who knows what to look for, with a
hand lamp and a mirror, in a loom that can be reached.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from tracer.circuit.model import OPEN_OHM, Bools, Floats
from tracer.faults import Fault
from tracer.harness.inspectable import Thing, ThingKind, holder_of, thing_at
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.inference.wire_ends import across, end_chances
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.test_kinds import KINDS, TestKind

if TYPE_CHECKING:
    from tracer.inference.hypotheses import Hypothesis

# Kind of fault → where it is seen, and how likely it is then found there, if it is there. Kinds that are left out lie
# inside something closed (contacts of switches and relays, windings, diodes) or are only heard or measured.
VISIBLE: Final[Mapping[str, tuple[tuple[ThingKind, ...], float]]] = {
    # Bare copper and a shiny spot on the metal; what hides is behind a clip or under other wires of the loom.
    "wire to body": (("wire",), 0.8),
    "wires joined": (("wire",), 0.6),  # melted loom is plain, two thin spots under tape are not
    # Copper mostly breaks inside sound insulation, and corrodes there; only ends and sharp bends show it.
    "wire open": (("wire",), 0.3),
    "wire bad": (("wire",), 0.3),
    "strap open": (("wire",), 0.9),  # hangs free
    "strap bad": (("wire",), 0.7),
    # With the tape off.
    "splice open": (("splice",), 0.8),
    "splice bad": (("splice",), 0.7),
    "splice leg open": (("splice",), 0.8),
    "splice leg bad": (("splice",), 0.6),
    "earth open": (("earth point",), 0.8),
    "earth bad": (("earth point",), 0.7),  # rust and paint are seen, not what is under the eyelet
    "terminal off": (("part", "fuse"), 0.8),
    "terminal bad": (("part", "fuse"), 0.6),
    "eyelet open": (("earth point",), 0.8),
    "eyelet bad": (("earth point",), 0.5),
    "mounting open": (("part",), 0.7),
    "mounting bad": (("part",), 0.6),
    "battery terminal bad": (("part",), 0.8),
    "way open": (("connector",), 0.7),  # pushed back, spread, burnt; a cracked crimp is not seen
    "way bad": (("connector",), 0.8),
    "bullet out": (("connector",), 0.8),  # one that only came half out looks well
    "bullet bad": (("connector",), 0.6),
    "block bad": (("connector",), 0.6),
    # Colours against those of the other wires in the block.
    "bullet in the wrong block": (("connector",), 0.6),
    "bullets changed over": (("connector",), 0.6),
    "ways crossed": (("connector",), 0.6),  # colours that change from one half to the other
    "ways joined": (("connector",), 0.8),
    "connector wet": (("connector",), 0.9),
    "connector unplugged": (("connector",), 0.9),
    "wires changed over": (("part",), 0.6),  # colours against the diagram
    "lamp unit wet": (("part", "holder"), 0.9),
    "filament open": (("lamp",), 0.9),
    "lamp missing": (("lamp",), 0.9),
    "filaments bridged": (("lamp",), 0.5),
    "wrong lamp": (("lamp",), 0.8),  # watts are printed on the base, and often worn
    "single lamp for twin": (("lamp",), 0.9),
    "twin lamp for single": (("lamp",), 0.9),
    "lamps exchanged": (("lamp",), 0.8),
    "lamp turned round": (("lamp",), 0.5),
    "LED fitted": (("lamp",), 0.9),
    "LED fitted reversed": (("lamp",), 0.3),  # that it is an LED is seen, not which way round it works
    "holder corroded": (("holder",), 0.9),
    "holder shorted": (("holder",), 0.7),
    "holders shorted": (("holder",), 0.6),  # of each that is looked at
    "both lamps dead": (("lamp",), 0.9),
    "feeds exchanged": (("part",), 0.6),
    "stray live end": (("splice", "fuse"), 0.8),
    "old repair bad": (("wire",), 0.7),
    "old repair open": (("wire",), 0.8),
    "holder bad": (("holder",), 0.8),
    "holder open": (("holder",), 0.8),
    "fuse blown": (("fuse",), 0.9),
    "wrong fuse": (("fuse",), 0.9),
    "wrong flasher": (("part",), 0.7),  # the load is printed on it
    "wrong relay": (("part",), 0.7),
    "switch dead": (("part",), 0.3),  # its plug is off
    "switch out of adjustment": (("part",), 0.5),  # a pedal that does not reach it
    "added load": (("part",), 0.7),
    "added joint": (("part",), 0.7),
    "added feed": (("part",), 0.7),
    "switch bypassed": (("part",), 0.7),
    "earth cut": (("wire",), 0.8),
}
# How often something looks bad that is not the cause: old joints are never clean.
FALSE_FIND: Final[Mapping[ThingKind, float]] = {
    "wire": 0.05, "splice": 0.1, "earth point": 0.1, "connector": 0.1, "lamp": 0.05, "holder": 0.1, "fuse": 0.03,
    "part": 0.08,
}
# What comes and goes sits tight and looks well most of the time.
OF_LOOSE: Final = 0.6
# A lamp that is watched while a thing is moved changes if what is loose lies there and shows in that lamp. What is
# bad for good is sometimes moved into contact as well; anywhere else another wire was moved with it.
MOVES_LOOSE, MOVES_LASTING, MOVES_ELSE = 0.7, 0.15, 0.04
# A switch that its pedal does not reach, or does not let go of, is worked at its plunger by hand, and the lamp obeys;
# one that is worn through or welded does not.
MOVES_WORKED = 0.9
MOVES_UNDESCRIBED = 0.2
_SHOWS = 0.3  # decades of light between a lamp with the fault and without, that are seen to come and go
_MOST_WIGGLES = 6
# Kinds that show when the lamp or fuse is measured in the hand.
_SEEN_IN_HAND: Final = frozenset({
    "filament open", "both lamps dead", "lamp missing", "filaments bridged", "fuse blown", "wrong fuse",
})
_MOST_INSPECTIONS = 12
_LEAST_FOUND = 0.01  # probability to find it there, below which a look is not thought of
# A cause that the harness file does not describe may be in sight there as well.
FOUND_UNDESCRIBED: Final = 0.15


def where_seen(fault: Fault, harness: Harness) -> Mapping[Thing, float]:
    """The things at which a fault is seen, and how likely it is found there."""
    places, share = VISIBLE.get(fault.kind, ((), 0.0))
    return {thing: share for kind in places for thing in _at(fault, kind, harness)}


def _at(fault: Fault, kind: ThingKind, harness: Harness) -> Iterator[Thing]:
    """The things of one kind that a fault is in."""
    match kind:
        case "wire":
            ends = [(s.a, s.b) for w in harness.wires for s in w.segments if s.name in fault.elements]
            yield from (Thing("wire", a, b) for a, b in ends)
        case "splice" | "earth point":
            if fault.node in (harness.splices if kind == "splice" else harness.earths):
                yield Thing(kind, fault.node)
        case "lamp":
            own = [f.bulb for f in harness.lamps() if f.name in fault.elements]
            yield from (Thing("lamp", bulb) for bulb in dict.fromkeys(own))
        case "holder":
            part = harness.parts[node_of(fault.node).owner]
            bulbs = dict.fromkeys(holder_of(part, name) for name in fault.elements)
            # The earth contact of a whole unit belongs to the holder of each of its lamps.
            for bulb in bulbs if "" not in bulbs else dict.fromkeys(f.bulb for f in part.lamps):
                yield Thing("holder", bulb)
        case "connector":
            yield Thing(kind, node_of(fault.node).owner)
        case _:
            owner = harness.parts.get(node_of(fault.node).owner)
            if owner is not None and (owner.kind == "fuse") == (kind == "fuse"):
                yield Thing(kind, owner.name)


def find_chances(hypotheses: Sequence[Hypothesis], thing: Thing, harness: Harness) -> Floats:
    """(H,) probability that something is found where a thing is looked over."""
    share: dict[str, float] = {}
    for f in {f.name: f for h in hypotheses for f in h.faults}.values():
        if f.kind in VISIBLE and thing.kind in VISIBLE[f.kind][0]:
            share[f.name] = where_seen(f, harness).get(thing, 0.0)
    link = f"{thing.name} link"
    missed = np.ones(len(hypotheses))
    for k, h in enumerate(hypotheses):
        for f in h.faults:
            own = share.get(f.name, 0.0)
            missed[k] *= 1 - (own if h.awake == 1 else OF_LOOSE * own)
        if thing.kind == "fuse" and any(name == link and ohm >= OPEN_OHM for name, ohm in h.change.set_ohm):
            missed[k] = min(missed[k], 1 - VISIBLE["fuse blown"][1])  # by a short somewhere else
    return np.asarray(1 - missed * (1 - FALSE_FIND[thing.kind]))


def where_moved(fault: Fault, harness: Harness) -> set[Thing]:
    """The things whose moving moves a fault that can be loose; a lamp is moved in its holder."""
    if not fault.comes_and_goes:
        return set()
    places = ("fuse",) if fault.kind in ("clip bad", "clip open") else VISIBLE.get(fault.kind, (("part",), 0.0))[0]
    found = {thing for kind in places for thing in _at(fault, kind, harness)}
    found = {Thing("holder", t.name) if t.kind == "lamp" else t for t in found}
    # Whoever moves a part moves what is in it and what hangs on it: holders, terminals, the ends of its wires.
    ends = [e for t in found if t.kind == "wire" for e in (t.name, t.other)]
    owners = {node_of(n).owner for n in (fault.node, *ends) if n}
    return found | {thing_at(harness, o, "", "") for o in owners if o in harness.parts}  # a fuse in its clips


def worked_at(fault: Fault) -> Thing | None:
    """The switch that is worked by hand to see whether it is set wrong; one that is renewed for it is a knob."""
    if fault.kind != "switch out of adjustment" or fault.renews:
        return None
    return Thing("part", node_of(fault.node).owner)


def shows_in(panel: Panel, predictor: Predictor, test: Test) -> Bools:
    """(H,) whether the lamp that is watched looks otherwise under a hypothesis than on a sound vehicle.

    Args:
        panel: What the hypotheses make of the lamps in the state of the test.
    """
    usual, lamp = predictor.healthy(test.state), predictor.lamp_index[test.lamp]
    apart = [np.abs(np.maximum(a[:, lamp], -3.0) - np.maximum(b[0, lamp], -3.0))
             for a, b in ((panel.flux, usual.flux), (panel.least, usual.least))]
    return np.asarray(np.maximum(*apart) > _SHOWS)


def move_chances(hypotheses: Sequence[Hypothesis], thing: Thing, shows: Bools, harness: Harness) -> Floats:
    """(H,) probability that a lamp changes while a thing is moved; `shows` (H,) as `shows_in`."""
    there: dict[str, bool] = {}
    missed = np.ones(len(hypotheses))
    for k, h in enumerate(hypotheses):
        for f in h.faults if shows[k] else ():
            if f.name not in there:
                there[f.name] = thing in where_moved(f, harness)
            if thing == worked_at(f):
                missed[k] = min(missed[k], 1 - MOVES_WORKED)
            elif there[f.name]:
                missed[k] = min(missed[k], 1 - (MOVES_LOOSE if h.awake < 1 else MOVES_LASTING))
    return np.asarray(1 - missed * (1 - MOVES_ELSE))


def hand_chances(
    test: Test, hypotheses: Sequence[Hypothesis], shows: Callable[[Test], Bools], along: Callable[[Test], Floats],
    harness: Harness,
) -> Floats:
    """(H,) probability that something is found in an inspection, that the lamp changes when a thing is moved, or that
    volts are lost at the end of a wire.

    Args:
        shows: (H,) as `shows_in`, for the lamp and the state of a test; asked only where a thing is moved.
        along: (H,) V of the volt drop along a whole wire; asked only where its end is measured.
    """
    if test.row.at_end:
        return end_chances(test, hypotheses, along(across(test)), harness)
    if not test.row.moves:
        return find_chances(hypotheses, test.thing(harness), harness)
    return move_chances(hypotheses, test.thing(harness), shows(test), harness)


def worth_moving(hypotheses: Sequence[Hypothesis], shares: Floats, harness: Harness) -> list[Thing]:
    """The things at which suspects that come and go may be loose, and the switches that may be out of adjustment, the
    likeliest first."""
    weight: dict[Thing, float] = {}
    for h, share in zip(hypotheses, shares.tolist(), strict=True):
        worked = {t for f in h.faults if (t := worked_at(f)) is not None}
        for thing in worked | {t for f in h.faults for t in where_moved(f, harness) if h.awake < 1}:
            weight[thing] = weight.get(thing, 0.0) + share
    likely = [t for t, w in weight.items() if w > _LEAST_FOUND]
    return sorted(likely, key=lambda t: (-round(weight[t], 6), t.kind, t.name, t.other))[:_MOST_WIGGLES]


def found_loglik(reading: Reading, chances: Floats) -> Floats:
    """ln probability (H,) of what was found or changed; no hypothesis is ever excluded by it."""
    if reading.value.found is None:
        return np.zeros(len(chances))
    return np.asarray(np.log(chances if reading.value.found else 1 - chances))


def say_chance(p: float, kind: TestKind) -> str:
    """What a suspect predicts for a look at a thing, or for moving it."""
    row = KINDS[kind]
    assert row.findings is not None
    found, nothing = row.findings
    return f"{found} ({row.chance.format(round(10 * p))})" if p >= 0.25 else nothing


def worth_inspecting(
    hypotheses: Sequence[Hypothesis], shares: Floats, evidence: Sequence[Evidence], harness: Harness
) -> list[Thing]:
    """The things not yet looked over at which the hypotheses' faults may be seen, the likeliest to be found first.

    A lamp or fuse that can be measured in the hand is looked at there anyhow: it is proposed alone only where it may
    be of the wrong type.

    Args:
        shares: (H,) how likely the hypotheses are.
    """
    done = {
        i.test.thing(harness) for i in evidence
        if isinstance(i, Reading) and i.test.at_rest and i.value.found is not None
    }
    weight: dict[Thing, float] = {}
    known: dict[str, Mapping[Thing, float]] = {}
    for h, share in zip(hypotheses, shares.tolist(), strict=True):
        for f in h.faults:
            if f.name not in known:
                known[f.name] = {} if f.kind in _SEEN_IN_HAND else where_seen(f, harness)
            for thing, seen in known[f.name].items():
                weight[thing] = weight.get(thing, 0.0) + share * seen
    likely = [t for t, w in weight.items() if t not in done and w > _LEAST_FOUND]
    return sorted(likely, key=lambda t: -round(weight[t], 6))[:_MOST_INSPECTIONS]
