"""Every kind of test, action, repair and proof on every kind of vehicle, either pole earthed, in every state: what
must stand there and what must not, in which order, and what is never asked for.

What is demanded is written here from the rule book, not taken from the table of rules.

All of it takes two minutes of a processor. Unless TRACER_WHOLE_WALK=1 is set, a vehicle is asked one test in twenty
of every kind and action, drawn by a fixed seed and differently for each vehicle; every kind of test, action and
vehicle is met in any case.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from functools import cache
from itertools import product
from pathlib import Path
from typing import Final, get_args

import pytest
from msgspec.structs import replace

from tracer.faults import Fault, list_faults
from tracer.harness.base_rates import RATES
from tracer.harness.devices import Conductor, Joint
from tracer.harness.file.text import load_harness
from tracer.harness.model import Connector, Control, Harness, VehicleState, Wire
from tracer.harness.vehicle_kinds import VEHICLES
from tracer.observation.actions import Action, Intervention
from tracer.observation.evidence import Test
from tracer.observation.test_kinds import TestKind
from tracer.safety.advice import Facts, Now, cautions_of, of_look, of_repair, of_test, of_tracing, said_by, steps_of
from tracer.safety.hazards import FAULT_HAZARDS
from tracer.safety.lines import lines_of
from tracer.safety.order import PHASES
from tracer.safety.permitted import forbidden
from tracer.safety.rules import BY_NAME, RULES

MODELS = Path(__file__).parents[2] / "harness_models"
BASES: Final = ("pickup", "lorry_24v", "car_1950s", "motorcycle_6v")  # minus, minus and two batteries, plus, plus
GRADES: Final = ("danger", "caution", "note")
WHOLE: Final = os.environ.get("TRACER_WHOLE_WALK") == "1"
ONE_IN: Final = 1 if WHOLE else 20
CONTROLS: Final = {
    "walk gear": Control("walk gear", ("forward", "neutral", "reverse"), "neutral", drives=("forward", "reverse")),
    "walk handbrake": Control("walk handbrake", ("on", "released"), "on", rolls=("released",)),
    "walk key": Control("walk key", ("off", "on", "start"), "on"),
}


@cache
def vehicle(base: str, kind: str) -> Harness:
    """A model as another kind of vehicle, with a gear lever, a handbrake, a starter position and a bullet."""
    harness = load_harness(MODELS / f"{base}.yaml")
    wire = Conductor("walk wire", "F1.out", "walk block.1", 0.01)
    harness = replace(
        harness, connectors={**harness.connectors, "walk block": Connector("walk block", 2, kind="bullets")},
        joints=(*harness.joints, Joint("walk block bullet 1", "walk block.1", "walk block", "bullet")),
        wires=(*harness.wires, Wire("walk", ("F1.out", "walk block.1"), (wire,))))
    controls = {n: replace(c, drives=None) for n, c in harness.controls.items()} | CONTROLS
    return replace(harness, vehicle=(kind,), controls=controls, ignition="contact breaker")


@cache
def states(base: str, kind: str) -> tuple[VehicleState, ...]:
    harness = vehicle(base, kind)
    moved: list[dict[str, str]] = [
        {}, {"walk gear": "reverse"}, {"walk handbrake": "released"}, {"walk key": "start"},
        {"walk gear": "forward", "walk handbrake": "released"}, {"brake pedal": "pressed"},
    ]
    return tuple(harness.state(m, running) for m in moved for running in (False, True))


def actions(harness: Harness) -> Iterator[tuple[Intervention, ...]]:
    """Nothing, and each thing that can be done on purpose."""
    lamps = harness.lamps()
    unit = next(p for p in harness.parts.values() if p.lamps)
    switch = next(p for p in harness.parts.values() if p.kind == "switch")
    splice = next(iter(harness.splices))
    bulbs = list(dict.fromkeys(f.bulb for f in lamps))
    end = f"{unit.name}.{unit.terminals[0]}"
    made: dict[str, Intervention] = {
        "unplug": Intervention("unplug", next(iter(harness.connectors))),
        "pull bullet": Intervention("pull bullet", "walk block.1"),
        "pull fuse": Intervention("pull fuse", "F1"), "new fuse": Intervention("new fuse", "F1"),
        "take out lamp": Intervention("take out lamp", lamps[0].bulb),
        "good lamp": Intervention("good lamp", lamps[0].bulb),
        "earth lead": Intervention("earth lead", end), "feed lead": Intervention("feed lead", end, "F1.out"),
        "swap lamps": Intervention("swap lamps", bulbs[0], bulbs[1]),
        "part splice": Intervention("part splice", splice, harness.far_ends(splice)[0]),
        "take wires off": Intervention("take wires off", switch.name),
        "disconnect battery": Intervention("disconnect battery", ""),
    }
    assert set(made) == set(get_args(Action)), "an action that the walk does not know"
    yield ()
    yield from ((i,) for i in made.values())


def every_test(base: str, kind: str) -> Iterator[Test]:
    harness = vehicle(base, kind)
    lamp, body = harness.lamps()[0], harness.reference
    connector, splice = next(iter(harness.connectors)), next(iter(harness.splices))
    unit = next(p for p in harness.parts.values() if p.lamps)
    point = f"{unit.name}.{unit.terminals[0]}"
    live, earthed = harness.poles()
    for state, done in product(states(base, kind), actions(harness)):
        yield Test("look", state, lamp=lamp.lamp, done=done)
        yield from (Test("volts", state, n, body, done=done) for n in (point, splice))
        yield Test("drop", state, point, splice, done=done)
        yield from (Test("ohms", state, a, b, done=done) for a, b in ((point, body), (live, body), (live, earthed)))
        yield Test("ohms", state, lamp.a, lamp.b, done=(Intervention("take out lamp", lamp.bulb),))
        yield from (Test(k, state, point, body, done=done) for k in ("test lamp", "LED tester"))
        yield Test("known-good lamp", state, point, f"{unit.name}.earth", done=done)
        yield Test("lamp for fuse", state, "F1.in", "F1.out", done=done)
        yield Test("current", state, *next((s.a, s.b) for w in harness.wires for s in w.segments), done=done)
    for state in states(base, kind):
        yield from (Test("wiggle", state, n, m, lamp.lamp)
                    for n, m in ((connector, ""), (earthed, harness.far_ends(earthed)[0])))
        yield from (Test("crimp", state, n, m) for n, m in (
            (splice, harness.far_ends(splice)[0]), (harness.far_ends(splice)[0], splice),
            (live, harness.far_ends(live)[0])))
        yield Test("inspect", harness.at_rest(), *next((s.a, s.b) for w in harness.wires for s in w.segments))
        yield Test("inspect", harness.at_rest(), connector, done=(Intervention("unplug", connector),))


@cache
def drawn_of(base: str, kind: str) -> tuple[tuple[int, Test], ...]:
    """The tests of one vehicle, numbered: of each kind and action one in `ONE_IN`, at least one."""
    groups: dict[tuple[str, ...], list[tuple[int, Test]]] = {}
    for n, test in enumerate(dict.fromkeys(every_test(base, kind))):
        groups.setdefault((test.kind, *(i.action for i in test.done)), []).append((n, test))
    drawn = random.Random(f"{base} {kind} 1")
    return tuple(x for own in groups.values() for x in drawn.sample(own, -(-len(own) // ONE_IN)))


def must_not_be_asked(test: Test, harness: Harness) -> bool:
    """The rule book's list, state and test alone."""
    off = any(i.action == "disconnect battery" for i in test.done)
    if test.kind == "ohms" and not test.in_hand and {test.plus, test.minus} == {*harness.poles()}:
        return True
    if test.kind == "wiggle" and test.minus:
        return True
    if test.at_rest or test.in_hand:
        return False
    s = test.state
    return (
        s["walk key"] == "start"
        or (s.engine_running and (s["walk gear"] != "neutral" or s["walk handbrake"] == "released"))
        or (s.engine_running and (off or test.kind == "ohms"))
    )


def wrong_words(f: Facts) -> Iterator[str]:
    """What is said that must not be, and what is not said that must."""
    said = cautions_of(f)
    danger = " ".join(c.text for c in said if c.grade == "danger")
    everything = " ".join(c.text for c in said)
    kind, state, earthed = f.harness.vehicle[0], f.state, "plus" if f.harness.positive_earth else "minus"
    if [GRADES.index(c.grade) for c in said] != sorted(GRADES.index(c.grade) for c in said):
        yield "a caution before a danger"
    if kind == "motorcycle" and "chock" in everything:
        yield "a motorcycle on chocks"
    if f"{'minus' if earthed == 'plus' else 'plus'} lead" in everything:
        yield "the wrong lead"
    if state is not None:
        driving, rolling = state["walk gear"] != "neutral", state["walk handbrake"] == "released"
        ways = ("stand",) if kind == "motorcycle" else ("chocked",)
        moves = driving or state.engine_running or (rolling and kind != "motorcycle")
        if moves and not (driving and state.engine_running) and not any(w in danger for w in ways):
            yield "nothing holds the vehicle"
        if driving and not state.engine_running and "engine off" not in danger:
            yield "in gear, and not a word of the engine"
        if driving and state.engine_running and "Never in gear with the engine running" not in danger:
            yield "in gear with the engine running"
        if state.engine_running and not driving and not all(w in danger for w in ("neutral", "exhaust")):
            yield "an engine without neutral or exhaust"
        if state.engine_running and "engine off" in danger and "Engine running" in danger:
            yield "engine off and running at once"
        if state["walk key"] == "start" and "starter" not in danger:
            yield "the starter"
        if rolling and "handbrake on" in everything:
            yield "handbrake on and released at once"
    elif "exhaust" in everything or "coil" in everything:
        yield "an engine or an ignition at a dead step"
    hands_in = bool(f.nodes) or f.what == "trace"
    if kind == "caravan" and hands_in and not all(w in danger for w in ("mains", "gas", "battery off")):
        yield "a caravan without mains, battery, gas"
    if kind != "caravan" and "mains" in everything:
        yield "mains in a car"
    if kind not in ("lorry", "bus") and "air" in danger.split():
        yield "air springs where there are none"
    if kind in ("lorry", "bus") and f.what == "trace" and "propped" not in danger:
        yield "a body that is not propped"
    if f.short and "Fire" not in danger:
        yield "a short without a word of fire"
    again = cautions_of(replace(f, now=replace(f.now, said=said_by([f]))))
    if [c for c in again if c.grade == "danger"] != [c for c in said if c.grade == "danger"]:
        yield "a danger was shortened"
    if any(g == "note" for g, _ in lines_of(again)) or any(c.grade == "caution" and not c.again for c in again):
        yield "said twice in full"


def wrong_order(f: Facts) -> Iterator[str]:
    """What is done in the wrong order, or not said."""
    harness, test = f.harness, f.test
    earthed, several = "plus" if harness.positive_earth else "minus", len(
        [p for p in harness.parts.values() if p.kind == "battery"]) > 1
    steps = steps_of(f, "the repair")
    text = [s.text for s in steps]
    phases = [PHASES.index(s.phase) for s in steps]
    if phases != sorted(phases):
        yield "phases out of order"
    off = [i for i, x in enumerate(text) if f"{earthed} lead" in x and (("ake " in x and " off" in x) or "stay" in x)]
    on = [i for i, x in enumerate(text) if "on again:" in x]
    if several and any("Take the battery's" in x for x in text):
        yield "one of two batteries"
    if test is None:
        ends = off[:1] == [0] and on[-1:] == [len(text) - 1]
        if f.what == "repair" and "battery lead off" in f.hazards and not ends:
            yield "a repair that does not begin with the lead off and end with it on"
        return
    live = not test.dead and not any(i.action == "disconnect battery" for i in test.done)
    reading = next(i for i, s in enumerate(steps) if s.phase == "read")
    if live and f.now.battery_off and not any(i < reading for i in on):
        yield "live after dead without the battery on again"
    if live and f.now.battery_off and not f.opens_fed and on[:1] != [0]:
        yield "battery on again is not the first line"
    if not live and not test.in_hand and (test.battery_off(harness) or f.short) and (off[:1] != [0] or on):
        yield "dead, and the battery is not taken off first"
    if test.in_hand and not f.short and off:
        yield "the battery taken off for a lamp in the hand"
    setting = [i for i, s in enumerate(steps) if s.phase == "set"]
    done = [i for i, s in enumerate(steps) if s.phase == "do"]
    if setting and done and max(done) > min(setting):
        yield "something is done after the state was set"
    if done and not ("Everything off" in text[0] or "stay" in text[0] or "on again" in text[0]):
        yield "done without everything off"
    bared = any(i.action in ("take wires off", "part splice", "pull bullet") for i in test.done)
    if bared and not any("Insulate each bare end" in x for x in text):
        yield "bare ends"
    back = " ".join(s.text for s in steps if s.phase == "back")
    if any(i.action == "unplug" for i in test.done) and "together" not in back:
        yield "a plug left apart"


@pytest.mark.parametrize("kind", list(VEHICLES))
@pytest.mark.parametrize("base", BASES)
def test_every_test_on_every_vehicle(base: str, kind: str) -> None:
    harness, wrong, count = vehicle(base, kind), set[str](), 0
    tests = drawn_of(base, kind)
    assert {t.kind for _, t in tests} == set(get_args(TestKind)), "a kind that the walk does not know"
    for n, test in tests:
        stood = harness.at_rest() if n % 2 else harness.state({}, engine_running=n % 3 == 0)
        before = Now(stood, battery_off=n % 2 == 0)
        facts = of_test(test, harness, before)
        count += 1
        if must_not_be_asked(test, harness) != bool(forbidden(test, harness)):
            wrong.add(f"asked or not: {test.kind} {forbidden(test, harness)!r} {test}")
        wrong |= {f"{test.kind} {[i.action for i in test.done]}: {w}" for w in wrong_words(facts)}
        for f in (facts, replace(facts, now=replace(before, battery_off=not before.battery_off)),
                  replace(facts, short=True, now=replace(before, battery_off=False))):
            wrong |= {f"{test.kind} {[i.action for i in test.done]}: {w}" for w in wrong_order(f)}
    assert count > 700 / ONE_IN
    assert sorted(wrong) == []


@pytest.mark.parametrize("kind", list(VEHICLES))
@pytest.mark.parametrize("base", BASES)
def test_every_repair_proof_look_and_trace_on_every_vehicle(base: str, kind: str) -> None:
    harness, wrong = vehicle(base, kind), set[str]()
    one: dict[str, Fault] = {f.kind: f for f in faults(base)}
    for name, fault in one.items():
        for now in (Now(harness.at_rest()), Now(battery_off=True)):
            facts = of_repair([fault], harness, now)
            wrong |= {f"repair of {name}: {w}" for w in (*wrong_words(facts), *wrong_order(facts))}
            heads = {c.head for c in cautions_of(facts)}
            if fault.repair.startswith("new lamp") and not {"hot lamp", "approved lamp"} <= heads:
                wrong.add(f"a lamp repair without its cautions: {name}")
            if fault.repair.startswith("new fuse") and "fuse" not in heads:
                wrong.add("a fuse without its caution")
            if "holder" in fault.repair and "hot lamp" not in heads:
                wrong.add(f"a holder without a word of the hot lamp: {name}")
            joined = fault.repair.startswith(("repair the", "remake", "renew the strap"))
            if joined and not {"sparks", "battery"} <= heads:
                wrong.add(f"wires without battery or sparks: {name}")
    for state, proof in product(states(base, kind), (False, True)):
        facts = of_look(state, harness, Now(harness.at_rest(), battery_off=True), proof)
        wrong |= {f"look: {w}" for w in wrong_words(facts)}
        if "on again" not in steps_of(facts)[0].text:
            wrong.add("a look without the battery on again")
    wrong |= {f"trace: {w}" for w in wrong_words(of_tracing(harness))}
    assert sorted(wrong) == []


@cache
def faults(base: str) -> tuple[Fault, ...]:
    return list_faults(load_harness(MODELS / f"{base}.yaml"))


def test_the_tables_name_every_kind_and_every_rule_can_be_said() -> None:
    assert set(FAULT_HAZARDS) <= set(RATES)
    assert len(BY_NAME) == len(RULES) and all(r.grade in GRADES and r.source and r.text.endswith(".") for r in RULES)
    assert [GRADES.index(r.grade) for r in RULES] == sorted(GRADES.index(r.grade) for r in RULES)
    assert max(len(r.text) for r in RULES) < 200
    spoken: set[str] = set()
    for base, kind in product(BASES, VEHICLES):
        harness = vehicle(base, kind)
        for _, test in drawn_of(base, kind):
            spoken |= said_by([of_test(test, harness)])
        repairs = {f.kind: f for f in faults(base)}.values()
        spoken |= said_by([of_tracing(harness), *(of_repair([f], harness) for f in repairs)])
    by_name = {"airbag", "high voltage", "discharge lamp", "electronics", "short", "standing", "fan"}
    assert set(BY_NAME) - spoken <= by_name


def test_the_walk_finds_what_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of these rules taken away, or the battery left out of the steps, is found by the walk's own demands."""
    harness = vehicle("car_1950s", "car")
    running, gear = harness.state({}, True), harness.state({"walk gear": "reverse"})
    assert not [*wrong_words(of_look(running, harness)), *wrong_words(of_look(gear, harness))]
    monkeypatch.setattr("tracer.safety.rules.RULES", tuple(r for r in RULES if r.grade != "danger"))
    assert [*wrong_words(of_look(running, harness))] == [
        "nothing holds the vehicle", "an engine without neutral or exhaust"]
    assert "in gear, and not a word of the engine" in [*wrong_words(of_look(gear, harness))]
    dead = of_test(Test("ohms", harness.state({}), "F1.out", harness.reference), harness)
    assert not [*wrong_order(dead)]
    monkeypatch.setattr("tracer.safety.order.lead_off", lambda h: "Take the battery's minus lead off.")
    assert [*wrong_order(dead)] == ["dead, and the battery is not taken off first"]
