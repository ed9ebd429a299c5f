"""What goes by the fault and not by the circuit, fault by fault: what is seen, what moves, what is hot, what volts
are lost at a wire's end, and what a story makes of its rate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from itertools import product

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tracer.circuit.model import OPEN_OHM
from tracer.faults import Fault
from tracer.harness.base_rates import AWAKE_SHARE, LEFT_BY_TRYING
from tracer.harness.inspectable import Thing
from tracer.harness.lamp_purposes import words_of
from tracer.harness.node import node_of
from tracer.inference.heat import hot_chances, is_hot
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.story_weights import OF_THE_STARTER, WORK_MAKES, say_weights, weights
from tracer.inference.visual_inspection import (
    FALSE_FIND,
    VISIBLE,
    find_chances,
    found_loglik,
    move_chances,
    say_chance,
    where_moved,
    where_seen,
    worked_at,
    worth_inspecting,
    worth_moving,
)
from tracer.inference.wire_ends import AT_END, end_chances, worth_probing
from tracer.observation.evidence import Evidence, Reading, Test, Value, inspection
from tracer.observation.story import WORK, Story

TOOL = tool_on(MODELS / "rear_end.yaml")
HARNESS = TOOL.harness
PRESSED = HARNESS.state({"brake pedal": "pressed"})


@cache
def rows() -> tuple[Hypothesis, ...]:
    """Every fault at its plainest, every fourth once more as one that comes and goes, and some pairs."""
    plain = [Hypothesis((f,), f.variants[-1:], 0.01) for f in TOOL.faults]
    loose = [replace(h, awake=AWAKE_SHARE) for h in plain[::4]]
    pairs = [Hypothesis((a.faults[0], b.faults[0]), (*a.variants, *b.variants), 0.001)
             for a, b in zip(plain[::7], plain[3::7], strict=False)]
    return (*plain, *loose, *pairs, *(h for h in TOOL.singles if "has blown" in h.variants[0].says))


@cache
def things() -> tuple[Thing, ...]:
    """Some of each kind."""
    every = dict.fromkeys(t for f in TOOL.faults for t in (*where_seen(f, HARNESS), *where_moved(f, HARNESS)))
    kinds: dict[str, list[Thing]] = {}
    for t in every:
        kinds.setdefault(t.kind, []).append(t)
    return tuple(t for own in kinds.values() for t in own[::max(len(own) // 2, 1)])


# --- by eye


def test_a_fault_is_seen_at_things_of_its_own_kind_and_nowhere_else() -> None:
    for f in TOOL.faults:
        kinds, share = VISIBLE.get(f.kind, ((), 0.0))
        seen = where_seen(f, HARNESS)
        assert {*seen.values()} <= {share} and {t.kind for t in seen} <= {*kinds}, f.name
        for t in seen:
            if t.kind in ("splice", "earth point"):
                assert t.name == f.node
            elif t.kind == "wire":
                assert any(s.name in f.elements and {s.a, s.b} == {t.name, t.other}
                           for w in HARNESS.wires for s in w.segments)
            elif t.kind in ("part", "fuse"):
                assert t.name == node_of(f.node).owner
                assert (HARNESS.parts[t.name].kind == "fuse") == (t.kind == "fuse")
            elif t.kind == "connector":
                assert t.name == node_of(f.node).owner in HARNESS.connectors
            else:
                assert t.name in {x.bulb for x in HARNESS.lamps()}


def test_what_is_found_there_is_missed_by_each_fault_in_turn() -> None:
    """By each with its own share, of what comes and goes with six tenths of it; a fuse that a short has blown is seen
    nine times in ten; and old things look bad now and then."""
    for thing in things():
        found = find_chances(rows(), thing, HARNESS)
        for h, p in zip(rows(), found.tolist(), strict=True):
            missed = 1.0
            for f in h.faults:
                missed *= 1 - where_seen(f, HARNESS).get(thing, 0.0) * (1.0 if h.awake == 1 else 0.6)
            opened = {n for n, ohm in h.change.set_ohm if ohm >= OPEN_OHM}
            if thing.kind == "fuse" and f"{thing.name} link" in opened:
                missed = min(missed, 0.1)
            assert p == pytest.approx(1 - missed * (1 - FALSE_FIND[thing.kind])), (thing, h.says())


def test_what_moves_is_what_lies_there_and_shows() -> None:
    """Seven times in ten what is loose, nine a switch out of adjustment worked by hand, fifteen in a hundred what is
    bad for good; four in a hundred whatever is moved, and nothing else where the lamp does not show it."""
    shows = np.arange(len(rows())) % 3 != 0
    for thing in things():
        found = move_chances(rows(), thing, shows, HARNESS)
        for h, own, p in zip(rows(), shows.tolist(), found.tolist(), strict=True):
            missed = 1.0
            for f in h.faults if own else ():
                if thing == worked_at(f):
                    missed = min(missed, 0.1)
                elif thing in where_moved(f, HARNESS):
                    missed = min(missed, 0.3 if h.awake < 1 else 0.85)
            assert p == pytest.approx(1 - missed * 0.96), (thing, h.says())


def test_only_what_can_be_loose_is_moved() -> None:
    for f in TOOL.faults:
        moved = where_moved(f, HARNESS)
        assert bool(moved) <= bool(f.comes_and_goes)
        assert all(t.kind != "lamp" for t in moved), "a lamp is moved in its holder"
        own = worked_at(f)
        assert (own is not None) == (f.kind == "switch out of adjustment" and not f.renews)


@pytest.mark.parametrize("scale", [1.0, 0.05, 1e-5])
def test_what_is_worth_a_look_is_what_holds_most_of_it(scale: float) -> None:
    """Twelve things at most, none below a hundredth, none that was looked over with a find or without; of two that
    hold as much the first. Lamps and fuses that are measured in the hand wait for that."""
    share = np.array([scale * (1 + (k * 7919) % 13) / 200 for k in range(len(rows()))])
    in_hand = {"filament open", "both lamps dead", "lamp missing", "filaments bridged", "fuse blown", "wrong fuse"}
    weight: dict[Thing, float] = {}
    for h, s in zip(rows(), share.tolist(), strict=True):
        for f in h.faults:
            for thing, p in (where_seen(f, HARNESS) if f.kind not in in_hand else {}).items():
                weight[thing] = weight.get(thing, 0.0) + s * p
    order = sorted((t for t, w in weight.items() if w > 0.01), key=lambda t: -round(weight[t], 6))
    assert worth_inspecting(rows(), share, [], HARNESS) == order[:12]
    if len(order) > 3:
        told: list[Evidence] = [Reading(inspection(HARNESS, order[1]), Value(found=False)),
                                Reading(inspection(HARNESS, order[2]), Value(-math.inf, math.inf))]
        rest = [t for t in order if t != order[1]]
        assert worth_inspecting(rows(), share, told, HARNESS) == rest[:12]
    weight = {}
    for h, s in zip(rows(), share.tolist(), strict=True):
        own = {t for f in h.faults if (t := worked_at(f)) is not None}
        for f in h.faults if h.awake < 1 else ():
            own |= where_moved(f, HARNESS)
        for thing in own:
            weight[thing] = weight.get(thing, 0.0) + s
    wiggled = sorted((t for t, w in weight.items() if w > 0.01),
                     key=lambda t: (-round(weight[t], 6), t.kind, t.name, t.other))
    assert worth_moving(rows(), share, HARNESS) == wiggled[:6]


def test_a_find_is_said_as_likely_as_it_is_and_nothing_where_it_is_hardly() -> None:
    assert say_chance(0.25, "inspect") == "found (by 2 of 10)" and say_chance(0.249, "inspect") == "nothing"
    assert say_chance(0.86, "wiggle") == "changes (in 9 of 10)" and say_chance(0.1, "wiggle") == "does not"
    chances = np.array([0.1, 0.5, 0.9])
    test = inspection(HARNESS, things()[0])
    assert np.exp(found_loglik(Reading(test, Value(found=True)), chances)) == pytest.approx(chances)
    assert np.exp(found_loglik(Reading(test, Value(found=False)), chances)) == pytest.approx(1 - chances)
    assert found_loglik(Reading(test, Value()), chances).tolist() == [0.0] * 3


# --- heat

BURNT = {"way open", "holder open", "switch never makes", "switch dead", "relay stuck open", "splice open",
         "splice leg open", "eyelet open", "earth open", "terminal off", "old repair open", "fuse blown"}
LOADED = {"wire to body", "wires joined", "ways joined", "holder shorted", "stray live end", "wrong lamp",
          "wrong fuse", "added load", "relay coil shorted", "charging too high"}


def test_what_is_hot_lies_there_and_carries_more_than_it_should() -> None:
    for thing in things():
        found = hot_chances(rows(), thing, HARNESS)
        for h, p in zip(rows(), found.tolist(), strict=True):
            most = 0.02
            for f in h.faults:
                if thing in where_seen(f, HARNESS) or thing.name == node_of(f.node).owner:
                    bad = f.kind.endswith((" bad", " corroded", " wet"))
                    most = max(most, 0.3 if f.kind in LOADED else 0.15 if f.kind in BURNT else 0.5 if bad else 0.02)
            assert p == pytest.approx(most), (thing, h.says())


@pytest.mark.parametrize(("kind", "found", "text", "hot"), [
    ("wire", True, "found, hot", True), ("wire", False, "hot", False), ("lamp", True, "burnt", False),
    ("connector", True, "melted", True), ("connector", True, "found", False), ("wire", None, "hot", False),
])
def test_a_lamp_is_always_hot_and_says_nothing_by_it(kind: str, found: bool | None, text: str, hot: bool) -> None:
    assert is_hot(Value(found=found, text=text), Thing(kind, "x")) == hot  # type: ignore[arg-type]


# --- the ends of wires


@pytest.mark.parametrize("end", [("E1", "C1.5"), ("left rear.stop", "S2"), ("S2", "left rear.stop"), ("C1.3'", "S2")])
@pytest.mark.parametrize("volts", [0.0, 0.04, 0.1, 0.5, 8.0])
def test_volts_are_lost_at_the_end_where_it_is_bad(end: tuple[str, str], volts: float) -> None:
    """A twentieth of what is bad along the wire is; the share of the wire's volts that is not its own copper's; from
    50 mV on now and then, from 200 mV on as good as always. A meter errs three times in a hundred either way."""
    lengths = {s.name: s.ohm for w in HARNESS.wires for s in w.segments if {s.a, s.b} == {*end}}
    test = Test("crimp", PRESSED, *end)
    found = end_chances(test, rows(), np.full(len(rows()), volts), HARNESS)
    for h, p in zip(rows(), found.tolist(), strict=True):
        bad = {name: ohm for name, ohm in h.change.set_ohm if name in lengths}
        there, added = 0.0, 0.0
        for f in h.faults if bad else ():
            if {*f.elements} & {*lengths}:
                at_end = f.kind in AT_END or (f.kind in ("earth open", "earth bad") and f.across is None)
                along = {"wire open": 0.05, "wire bad": 0.05, "strap open": 0.25, "strap bad": 0.25}.get(f.kind, 0.0)
                there = max(there, float(f.node == end[0]) if at_end else along)
        for name, ohm in bad.items():
            added = max(added, 1 - lengths[name] / max(ohm, lengths[name]))
        told = min(max((volts * added - 0.05) / 0.15, 0.0), 1.0)
        assert p == pytest.approx(0.03 + 0.94 * told * h.awake * there), h.says()


def test_an_end_is_probed_where_something_else_of_the_wire_is_suspected_too() -> None:
    """Eight of them at most, none below a hundredth, none that was measured."""
    share = np.full(len(rows()), 0.004)
    own = worth_probing(rows(), share * 5, [], HARNESS)
    assert 0 < len(own) <= 8 and len({*own}) == len(own)
    assert all(any({s.a, s.b} == {*e} for w in HARNESS.wires for s in w.segments) for e in own)
    told: list[Evidence] = [Reading(Test("crimp", PRESSED, *own[0]), Value(found=True))]
    assert own[0] not in worth_probing(rows(), share * 5, told, HARNESS)
    could_not: list[Evidence] = [Reading(Test("crimp", PRESSED, *own[0]), Value(-math.inf, math.inf))]
    assert worth_probing(rows(), share * 5, could_not, HARNESS) == own
    assert worth_probing(rows(), share * 1e-4, [], HARNESS) == []
    alone = [h for h in rows() if len(h.faults) == 1 and h.faults[0].node == own[0][0]
             and h.faults[0].kind in AT_END][:1]
    assert worth_probing(alone, np.ones(len(alone)), [], HARNESS) == [], "nothing else of that wire is suspected"


# --- stories

PLACES = ("", "left rear", "nowhere such")
STORIES = [
    *(Story(None, None, work, where)
      for work, where in product([*((w,) for w in WORK), ("radio", "washed")], PLACES)),
    *(Story(runs, driven, ("washed",), "left rear") for runs, driven in product((None, True, False), (None, True))),
]


@pytest.mark.parametrize("story", STORIES, ids=lambda s: s.says() or "nothing")
def test_what_a_story_makes_of_each_fault(story: Story) -> None:
    """Near the work in full, elsewhere by three tenths of it; what was found good is good there alone, and everywhere
    by three tenths where no place was said. What serves the starter is sound where it cranks, and a suspect where it
    does not."""
    found, place = weights(story, TOOL.faults, HARNESS), words_of(story.where)
    for f in TOOL.faults:
        factor = 1.0
        near = place and place <= words_of(f"{f.name} {f.repair} {HARNESS.place_of(f.node)[0]}")
        for work in story.work:
            made = WORK_MAKES[work].get(f.kind, 1.0)
            if made < 1:
                made = min(1.0, made / LEFT_BY_TRYING.get(f.kind, 1.0))
                factor *= made if near else 1.0 if place else made**0.3
            else:
                factor *= made if near or not place else made**0.3
        if f.kind in OF_THE_STARTER:
            if story.runs is True or story.driven_here is True:
                factor *= 0.05
            elif story.runs is False:
                factor *= 5.0
        assert found.get(f.name, 1.0) == pytest.approx(factor), f.name
        assert (f.name in found) == (factor != 1.0)
    said = say_weights(story, TOOL.faults, HARNESS)
    assert bool(said) == bool(found) and len({x.split(" × ")[0] for x in said}) == len(said)


def strongest(said: Sequence[str]) -> list[float]:
    return [max(float(x.split(" × ")[1]), 1 / float(x.split(" × ")[1])) for x in said]


def test_the_strongest_is_said_first() -> None:
    said = say_weights(Story(work=("lamp changed", "washed"), where="left rear"), TOOL.faults, HARNESS)
    assert strongest(said) == sorted(strongest(said), reverse=True) and len(said) > 3
    own: list[Fault] = list(TOOL.faults)
    assert say_weights(Story(), own, HARNESS) == []
