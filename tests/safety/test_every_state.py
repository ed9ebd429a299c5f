"""Which states may be asked for, and what is put back after a reading in them: every state of a small invented
vehicle whose controls start it, drive it and let it roll, beside the same rules in plain words."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest
from msgspec.structs import replace

from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness, VehicleState
from tracer.observation.words.probes import parse_test
from tracer.safety.advice import Now, of_look, of_test, steps_of, warning
from tracer.safety.facts import cranks, is_electronic
from tracer.safety.permitted import forbidden, permitted_states, refused, safe_state, safe_states, state_hazard

VEHICLE = """\
harness: A car that could start, drive and roll, invented
system: 12 V negative earth
vehicle: car
controls:
  ignition: {positions: [off, on, start], assumed: on, sprung: [start]}
  starter pedal: {positions: [up, half, down], sprung: yes}
  gear: {positions: [neutral, first, reverse], drives: [first, reverse]}
  handbrake: {positions: [pulled, released], rolls: [released]}
  trolley: {positions: [chocked, free], assumed: free, rolls: [free]}
  lights: [off, on]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  light switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  tail: {kind: lamp, lamp: R5W}
  flasher unit: {kind: flasher unit, works: electronic}
  bimetal: {kind: flasher unit, works: thermal}
splices: {S1: }
earths: {E1: , E2: }
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > S1
  - S1 > light switch.in
  - S1 > flasher unit.49
  - light switch.out > tail.feed
  - tail.earth > E2
"""


@cache
def vehicle() -> Harness:
    return read_harness(VEHICLE, "vehicle")


@cache
def every_state() -> tuple[VehicleState, ...]:
    controls = vehicle().controls
    return tuple(
        VehicleState(tuple(zip(controls, positions, strict=True)), running)
        for positions in product(*(c.positions for c in controls.values())) for running in (False, True)
    )


def by_hand(state: VehicleState) -> str:
    """The rules in plain words: nobody turns the starter, drives, or lets it roll under its own engine. A trolley
    that always stands free is nothing that the step changes."""
    if state["ignition"] == "start" or state["starter pedal"] != "up":
        return "the starter would turn"
    if state.engine_running and state["gear"] != "neutral":
        return "in gear with the engine running"
    if state.engine_running and state["handbrake"] == "released":
        return "the handbrake released with the engine running"
    return ""


def test_every_state_is_refused_for_what_it_would_do() -> None:
    harness, states = vehicle(), every_state()
    assert len(states) == 3 * 3 * 3 * 2 * 2 * 2 * 2
    assert [state_hazard(s, harness) for s in states] == [by_hand(s) for s in states]
    assert permitted_states(states, harness) == [s for s in states if not by_hand(s)]
    for state in states:
        assert cranks(harness, state) == (by_hand(state) == "the starter would turn")
        assert (by_hand(state) in warning(state, harness)) and bool(warning(state, harness)) == bool(by_hand(state))


def test_a_state_is_made_safe_by_changing_only_what_makes_it_dangerous() -> None:
    """The starter goes to where the control is taken to stand, the engine stops; everything else stays as it was."""
    harness = vehicle()
    for state in every_state():
        made = safe_state(state, harness)
        assert not by_hand(made)
        for name, position in state.positions:
            turns = (name, position) == ("ignition", "start") or (name == "starter pedal" and position != "up")
            assert made[name] == (harness.controls[name].assumed if turns else position)
        still = replace(made, engine_running=state.engine_running)
        assert made.engine_running == (state.engine_running and not by_hand(still))
    made_safe = safe_states(every_state(), harness)
    assert len(set(made_safe)) == len(made_safe) == len([s for s in every_state() if not by_hand(s)])


def test_what_a_reading_moved_is_put_back() -> None:
    """Out of gear again, the handbrake on again where the step released it, the prop out of what springs back."""
    harness = vehicle()
    for state in every_state():
        if by_hand(state) or state.engine_running:
            continue
        for before in (None, harness.at_rest(), state):
            facts = replace(of_test(parse_test("volts tail.feed when lights on", harness), harness,
                                    Now(before)), state=state)
            back = [s.text for s in steps_of(facts) if s.phase == "back"]
            wanted = []
            moved = state["handbrake"] == "released" or (before is not None and before["trolley"] == "chocked"
                                                          and state["trolley"] == "free")
            rolls = [n for n, p in (("handbrake", "released"), ("trolley", "free")) if state[n] == p]
            if state["gear"] != "neutral":
                wanted.append("Out of gear again.")
            elif moved and rolls:
                wanted.append(" and ".join(rolls).capitalize() + " put on again.")
            assert back == wanted, (state, before)


def test_what_is_held_is_let_go_by_the_prop() -> None:
    state = vehicle().state({"starter pedal": "down", "ignition": "start"})
    back = [s.text for s in steps_of(of_look(state, vehicle())) if s.phase == "back"]
    assert back == ["Prop out of the ignition and the starter pedal."]


def test_a_look_is_set_in_the_words_that_are_given_else_in_its_own() -> None:
    state = vehicle().state({"lights": "on"})
    own, given = (steps_of(of_look(state, vehicle()), setting=words) for words in ("", "Do as drawn."))
    assert [s.text for s in given] == ["Do as drawn."] and "lights on" in own[0].text
    after = steps_of(of_look(state, vehicle(), Now(None, battery_off=True)))
    assert [s.phase for s in after] == ["safe", "set"] and "Battery on again" in after[0].text


@pytest.mark.parametrize(("point", "off"), [("S1", True), ("F1.in", False), ("F1.out", False), ("tail.feed", False)])
def test_the_battery_comes_off_only_to_bare_what_is_live(point: str, off: bool) -> None:
    """A probe on a terminal bares nothing, live or not."""
    found = steps_of(of_test(parse_test(f"volts {point} when lights on", vehicle()), vehicle(),
                             Now(vehicle().at_rest())))
    assert any("minus lead off" in s.text for s in found) == off


def test_a_flasher_unit_is_electronic_where_the_file_says_so() -> None:
    harness = vehicle()
    assert is_electronic(harness, "flasher unit.49") and not is_electronic(harness, "bimetal.49")
    assert is_electronic(harness, "S1"), "the splice's wire leads to the unit"
    assert not is_electronic(harness, "tail.feed") and not is_electronic(harness, "E2")
    lamp = parse_test("test lamp at S1 when lights on", harness)
    assert forbidden(lamp, harness) == "a filament test lamp on LEDs or electronics"
    assert not forbidden(parse_test("test lamp at tail.feed when lights on", harness), harness)


@pytest.mark.parametrize(("text", "reason"), [
    ("ohms battery.+ to battery.-", "across the battery"), ("ohms tail.feed to body", ""),
    ("ohms F1.in to battery.-", "across the battery"), ("volts battery.+ to battery.- when lights on", ""),
])
def test_an_ohmmeter_never_lies_across_the_battery(text: str, reason: str) -> None:
    test = parse_test(text, vehicle())
    assert reason in forbidden(test, vehicle()) and bool(forbidden(test, vehicle())) == bool(reason)
    assert (refused(test, vehicle()) is None) == (not reason)


def test_an_ohmmeter_needs_the_engine_stopped() -> None:
    still = parse_test("ohms tail.feed to body when lights on", vehicle())
    running = replace(still, state=replace(still.state, engine_running=True))
    assert forbidden(running, vehicle()) == "an ohmmeter with the engine running"
    assert refused(still, vehicle()) is None
    told = refused(running, vehicle())
    assert told is not None and "the battery stays on while the engine runs" in told[0]
