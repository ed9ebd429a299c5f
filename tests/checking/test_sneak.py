"""The sneak scan against the published patterns of sneak circuits.

Patterns and clues: Boeing Sneak Circuit Analysis Handbook D2-118341-1 (NASA, 1970; contents as quoted),
MIL-STD-785B task 205 ("no failed part"). Cases: P. L. Clemens, Sneak Circuit Analysis (2002), example 1;
a club article on the same fault of late-1960s cars.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tracer.checking.rules import check
from tracer.checking.sneak import NO_FAILED_PART, Case, SneakReport, open_joints, sneak_scan
from tracer.checking.survey import amps_of, states_up_to_pairs
from tracer.circuit.model import NO_CHANGE
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.inference.current_paths import flow
from tracer.observation.forward_model import Predictor

MODELS = Path(__file__).parents[2] / "harness_models"

RADIO = """\
harness: Radio, brake lamps and hazard warning
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls:
  ignition: {positions: [off, on], assumed: on}
  brake pedal: [released, pressed]
  hazard switch: [off, on]
  turn switch: [off, left, right]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 15 A}
  F2: {kind: fuse, rating: 15 A}
  ignition switch: {kind: switch, control: ignition, contacts: {on: [30-15]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [in-out]}}
  hazard switch: {kind: switch, control: hazard switch, contacts: {on: [49a-L, 49a-R]}}
  turn switch: {kind: switch, control: turn switch, contacts: {off: [54-L, 54-R], left: [54-R], right: [54-L]}}
  flasher unit: {kind: flasher unit, works: electronic, load: 42 W}
  radio: {kind: load, power: 20 W}
  left rear: {kind: lamp unit, lamps: {stop: P21W}, for: {stop: [stop, indicator left]}}
  right rear: {kind: lamp unit, lamps: {stop: P21W}, for: {stop: [stop, indicator right]}}
splices: {S1: dash, S2: left, S3: right}
earths: {E1: bulkhead, E2: rear, E3: dash}
wires:
  - battery.- > E1
  - {run: battery.+ > F1.in}
  - {run: battery.+ > F2.in}
  - F1.out > ignition switch.30
  - ignition switch.15 > S1
  - {run: S1 > radio.feed, name: radio feed}
  - radio.earth > E3
  - {run: S1 > brake switch.in, name: brake feed}
  - brake switch.out > turn switch.54
  - F2.out > flasher unit.49
  - flasher unit.49a > hazard switch.49a
  - turn switch.L > S2
  - hazard switch.L > S2
  - S2 > left rear.stop
  - turn switch.R > S3
  - hazard switch.R > S3
  - S3 > right rear.stop
  - left rear.earth > E2
  - right rear.earth > E2
"""

# Two feeds with their own switches and lamps, and a lamp on the cross-member between the two legs.
H_BRIDGE = """\
harness: H with a lamp on the cross-member
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m}
controls: {one: [off, on], two: [off, on]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  switch one: {kind: switch, control: one, contacts: {on: [in-out]}}
  switch two: {kind: switch, control: two, contacts: {on: [in-out]}}
  lamp one: {kind: lamp, lamp: P21W, for: work}
  lamp two: {kind: lamp, lamp: P21W, for: work}
  cross lamp: {kind: lamp, lamp: 2.2 W, for: panel}
splices: {S1: feed, S2: leg one, S3: leg two}
earths: {E1: battery, E2: left, E3: right}
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > S1
  - S1 > switch one.in
  - S1 > switch two.in
  - switch one.out > S2
  - switch two.out > S3
  - S2 > lamp one.feed
  - S3 > lamp two.feed
  - {run: S2 > cross lamp.feed, name: cross in}
  - {run: cross lamp.earth > S3, name: cross out}
  - lamp one.earth > E2
  - lamp two.earth > E3
"""

# One unit with two lamps on one earth, and a second lamp on each feed elsewhere: the inverted Y.
GROUND_DOME = """\
harness: Ground dome
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m}
controls: {side lights: [off, on], brake pedal: [released, pressed]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  light switch: {kind: switch, control: side lights, contacts: {on: [in-out]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [in-out]}}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
  right rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
splices: {S1: feed, S2: tail, S3: stop}
earths: {E1: battery, E2: left, E3: right}
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > S1
  - S1 > light switch.in
  - S1 > brake switch.in
  - light switch.out > S2
  - brake switch.out > S3
  - S2 > left rear.tail
  - S2 > right rear.tail
  - {run: S3 > left rear.stop, name: left stop}
  - S3 > right rear.stop
  - left rear.earth > E2
  - right rear.earth > E3
"""


@cache
def _scan(text: str) -> SneakReport:
    return sneak_scan(read_harness(text))


@cache
def _pickup() -> tuple[Harness, SneakReport]:
    harness = load_harness(MODELS / "pickup.yaml")
    return harness, sneak_scan(harness)


def _case(report: SneakReport, opened: str) -> Case:
    return next(c for c in report.cases if c.opened == opened)


@pytest.mark.parametrize("text", [RADIO, H_BRIDGE, GROUND_DOME], ids=["radio", "H", "ground dome"])
def test_the_harnesses_are_sound(text: str) -> None:
    """What the scan finds is not a mistake in the file."""
    assert check(read_harness(text)) == ()


# --- published cases ----------------------------------------------------------------------------


def test_radio_is_fed_through_the_brake_switch_with_no_failed_part() -> None:
    """Clemens example 1: ignition off, hazard on, brake pressed: the radio
    plays in flash rhythm. Nothing is broken, and the report says so."""
    healthy = _scan(RADIO).healthy
    assert healthy.label == NO_FAILED_PART == "no failed part"
    (radio,) = [f for f in healthy.fed if f.consumer == "radio"]
    assert radio.look == "fed flashing"
    assert radio.states == ("ignition off, brake pedal pressed, hazard switch on",)
    assert not radio.by_design


def test_radio_is_fed_backwards_as_the_article_says() -> None:
    """A club article: "power from the 4 ways fed backwards through the brake light switch"."""
    healthy = _scan(RADIO).healthy
    (radio,) = [f for f in healthy.fed if f.consumer == "radio"]
    assert "brake switch (in-out)" in radio.path and "hazard switch" in radio.path
    assert any("brake switch.in backwards" in t for t in radio.through)
    (feed,) = [b for b in healthy.both_ways if b.wire == "brake feed"]
    assert (feed.forward, feed.backward) == (
        "ignition on, brake pedal pressed", "ignition off, brake pedal pressed, hazard switch on")
    assert not feed.by_design
    assert "no failed part" in _scan(RADIO).as_text()


def test_a_diode_in_the_brake_feed_cures_it() -> None:
    """What blocks the reverse current ends the sneak path: a counter-example for the test above."""
    cured = RADIO.replace(
        "{run: S1 > brake switch.in, name: brake feed}", "S1 > D1.anode\n  - D1.cathode > brake switch.in")
    cured = cured.replace("  radio: {kind", "  D1: {kind: diode}\n  radio: {kind")
    assert not [f for f in _scan(cured).healthy.fed if f.consumer == "radio"]
    assert not [b for b in _scan(cured).healthy.both_ways if "D1" in b.run]


# --- published patterns -------------------------------------------------------------------------


def test_h_pattern_current_in_the_cross_member_reverses() -> None:
    """Clue of the H: "can current in the cross-member reverse?"."""
    healthy = _scan(H_BRIDGE).healthy
    assert {b.wire for b in healthy.both_ways} == {"cross in", "cross out"}
    for b in healthy.both_ways:
        assert {b.forward, b.backward} == {"one on", "two on"}
        assert b.forward_a == pytest.approx(b.backward_a, rel=0.02)


def test_h_pattern_lamp_on_the_cross_member_lights_from_either_side() -> None:
    healthy = _scan(H_BRIDGE).healthy
    (cross,) = healthy.fed
    assert cross.consumer == "cross lamp" and set(cross.states) == {"one on", "two on"}
    assert any("filament" in t for t in cross.through)


def test_ground_dome_with_lifted_earth_feeds_the_neighbour() -> None:
    """Clue of the ground dome: "lose one return - where does its current go?"."""
    report = _scan(GROUND_DOME)
    lifted = _case(report, "earth point E2")
    fed = {(f.consumer, s) for f in lifted.fed for s in f.states if f.instead_of == "dark"}
    # Stop pressed, no indicator path: the tail filament of the unit lights.
    assert ("left rear tail", "brake pedal pressed") in fed
    assert not [c for c, _ in fed if c == "right rear stop"]


def test_lifted_earth_is_masked_while_only_the_tail_lamp_is_on() -> None:
    """The tail lamp still shines, its current returns through cold filaments."""
    lifted = _case(_scan(GROUND_DOME), "earth point E2")
    tail = next(f for f in lifted.fed if f.consumer == "left rear tail" and "side lights on" in f.states
                and f.instead_of == "normal")
    assert tail.look == "normal" and any("stop filament" in t for t in tail.through)


def test_lifted_earth_turns_the_current_of_the_other_feed_round() -> None:
    lifted = _case(_scan(GROUND_DOME), "earth point E2")
    assert "left stop" in {b.wire for b in lifted.both_ways}


def test_healthy_ground_dome_shows_nothing() -> None:
    """The volt drop of a sound common earth is no sneak path."""
    healthy = _scan(GROUND_DOME).healthy
    assert (healthy.both_ways, healthy.fed) == ((), ())


# --- the pick-up --------------------------------------------------------------------------------


def test_pickup_tell_tale_carries_current_both_ways_by_design() -> None:
    """A single tell-tale between the two sides (common practice, no source) is the only such thing, and
    the report says that it is meant."""
    _, report = _pickup()
    healthy = report.healthy
    assert {b.run for b in healthy.both_ways} == {
        "S8 > C6.2 > indicator tell-tale.feed", "S9 > C6.3 > indicator tell-tale.earth"}
    assert all("indicator tell-tale" in b.by_design for b in healthy.both_ways)
    assert [f.consumer for f in healthy.fed] == ["indicator tell-tale"] and healthy.fed[0].by_design
    assert "By design" in report.as_text()


def test_pickup_lost_rear_earth() -> None:
    """A circuit worked by hand: with the right rear earth open and reverse engaged the tail filament of that
    unit glows, and with the side lights alone it runs at nearly full voltage through its neighbours."""
    harness, report = _pickup()
    lost = _case(report, "earth point E5")
    reverse = harness.say_state(harness.state({"gear": "reverse"}))
    side = harness.say_state(harness.state({"lamp switch": "side"}))
    tail = [f for f in lost.fed if f.consumer == "right rear tail"]
    assert reverse in next(f for f in tail if f.instead_of == "dark").states
    masked = next(f for f in tail if f.look == f.instead_of == "normal")
    assert masked.states[0] == side


def test_pickup_opens_every_earth_and_shared_joint() -> None:
    harness, report = _pickup()
    opened = [c.opened for c in report.cases]
    assert opened[0] == "" and set(opened[1:]) == set(open_joints(harness))
    for name in (*(f"earth point {e}" for e in harness.earths), *(f"splice {s}" for s in harness.splices),
                 "way C2/5", "way C3/5", "way C4/6", "way C5/6", "way C6/5"):
        assert name in opened


def test_text_is_narrow_and_data_are_plain() -> None:
    for report in (_scan(RADIO), _scan(GROUND_DOME), _pickup()[1]):
        assert max(map(len, report.as_text().splitlines())) <= 80
        data = report.as_data()
        assert json.loads(json.dumps(data)) == data
        assert len(data["cases"]) == len(report.cases)


# --- the batch against one solve at a time -----------------------------------------------------


def test_currents_of_a_batch_equal_those_of_single_solves() -> None:
    """Second path: `paths.flow` solves one case; `amps_of` takes all rows of a table at once."""
    harness = load_harness(MODELS / "pickup.yaml")
    p = Predictor(harness)
    changes = [NO_CHANGE, *list(open_joints(harness).values())[::5]]
    for state in states_up_to_pairs(harness)[::17]:
        table, setup = p.table(changes), p.setup(state)
        amps = amps_of(p, setup, table, p.settled(setup, table))
        for row, change in enumerate(changes):
            signed = flow(p, setup, change).signed
            single = np.array([signed[d.name] for d in p.circuit.linear])
            assert np.abs(amps[row] - single).max() < 1e-5


def test_states_cover_both_positions_of_an_assumed_control() -> None:
    """Ignition off matters, although a person who names no position means on."""
    harness = read_harness(RADIO)
    states = states_up_to_pairs(harness)
    assert len(states) == len(set(states)) <= 200
    assert harness.state({"ignition": "off", "brake pedal": "pressed", "hazard switch": "on"}) in states
    assert len(states_up_to_pairs(harness, 7)) == 7
