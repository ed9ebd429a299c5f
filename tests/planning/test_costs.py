"""What a test costs, minute by minute: the way there, what is in the hand, how the vehicle is set, the battery.

What things take stands in the harness file or in a row; how it adds up is worked out here.
"""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.observation.actions import PART_MIN, Intervention
from tracer.observation.evidence import Test, inspection
from tracer.observation.test_kinds import EYES, KINDS
from tracer.observation.words.readings import parse_test
from tracer.planning.constraints import Limits, allowed
from tracer.planning.costs import (
    ALONG_MIN,
    BATTERY_MIN,
    CLEANED_IN_VAIN_MIN,
    ENGINE_MIN,
    HOLD_ALONE_MIN,
    IN_HAND_MIN,
    LOOK_MIN,
    PICK_UP_MIN,
    TAPE_MIN,
    WRONG_PART_MIN,
    Standing,
    TestPrice,
    after_test,
    in_vain_minutes,
    minutes_of,
)

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST = HARNESS.state({})
PRESSED = HARNESS.state({"brake pedal": "pressed"})
NOTE = LOOK_MIN - KINDS["look"].minutes
CONTROL = 0.2  # minutes to change a control of which the file says nothing


def test(words: str) -> Test:
    return parse_test(words, HARNESS)


test.__test__ = False  # type: ignore[attr-defined]  # not a test for pytest


def price(made: Test, state: VehicleState = REST, **where: Any) -> float:
    return minutes_of(made, Standing(state, **where), HARNESS)


def test_a_place_is_opened_once() -> None:
    """The corner with the lamps: 2 minutes by the file; whoever has the lid off measures on."""
    at_lamp = test("volts left rear.stop when brake pressed")
    closed, opened = price(at_lamp, PRESSED), price(at_lamp, PRESSED, opened=frozenset({"left rear corner"}))
    assert closed - opened == pytest.approx(2)
    assert after_test(at_lamp, Standing(PRESSED), HARNESS).opened == {"left rear corner"}
    both = test("volt drop left rear.earth to right rear.earth when brake pressed")
    assert price(both, PRESSED) - price(both, PRESSED, opened=frozenset({"left rear corner"})) == pytest.approx(2)
    assert after_test(both, Standing(PRESSED, frozenset({"dash"})), HARNESS).opened == {
        "dash", "left rear corner", "right rear corner"}
    to_body = Test("drop", PRESSED, "left rear.earth", "body")
    assert price(to_body, PRESSED) == price(replace(to_body, plus="right rear.earth"), PRESSED)


def test_of_two_things_in_one_place_the_dearer_way_there_counts() -> None:
    """Fuses and splice S1 are in the fuse box; its splices want five minutes, and are opened with it."""
    fuse, splice = HARNESS.place_of("F3.in"), HARNESS.place_of("S1")
    assert fuse[0] == splice[0] == "fuse box" and fuse[1] < splice[1] == 5
    for made in (Test("ohms", REST, "F3.in", "S1"), Test("ohms", REST, "S1", "F3.in")):
        assert price(made) - price(made, opened=frozenset({"fuse box"})) == pytest.approx(5)


def test_an_instrument_is_picked_up_once_and_eyes_are_at_hand() -> None:
    volts, look = test("volts left rear.stop when brake pressed"), test("look left rear stop when brake pressed")
    assert price(volts, PRESSED, instrument=EYES) - price(volts, PRESSED, instrument="voltmeter") == pytest.approx(
        PICK_UP_MIN)
    assert price(look, PRESSED, instrument="voltmeter") == price(look, PRESSED, instrument=EYES) == pytest.approx(
        LOOK_MIN)
    held = Standing(PRESSED, instrument="voltmeter")
    assert after_test(look, held, HARNESS).instrument == "voltmeter"
    assert after_test(volts, Standing(PRESSED), HARNESS).instrument == "voltmeter"


def test_controls_are_set_and_a_sprung_one_is_held_by_a_prop_once() -> None:
    look = test("look left rear stop when brake pressed")
    assert price(look) - price(look, PRESSED) == pytest.approx(CONTROL + HOLD_ALONE_MIN)
    assert price(look, propped=frozenset({"brake pedal"})) - price(look, PRESSED) == pytest.approx(CONTROL)
    after = after_test(look, Standing(REST), HARNESS)
    assert after.state == PRESSED and after.propped == {"brake pedal"}
    released = test("look left rear tail when lamp switch side")
    assert price(released, PRESSED) - price(released, released.state) == pytest.approx(2 * CONTROL)  # and let go of
    assert after_test(released, after, HARNESS).propped == {"brake pedal"}  # the prop is still at hand
    assert after_test(released, Standing(REST), HARNESS).propped == frozenset()


def test_an_engine_is_dear_to_start_and_cheap_to_stop() -> None:
    running, look = replace(REST, engine_running=True), test("look left rear tail when lamp switch off")
    started = replace(look, state=running)
    assert price(started) - price(look) == pytest.approx(ENGINE_MIN)
    assert 0 < price(look, running) - price(look) < 0.5


def test_the_battery_is_taken_off_once_for_all_that_is_measured_dead() -> None:
    """And goes on again for what is measured live."""
    ohms, volts = test("ohms left rear.earth to E1"), test("volts left rear.stop when brake pressed")
    assert price(ohms) - price(ohms, battery_off=True) == pytest.approx(BATTERY_MIN)
    assert price(volts, PRESSED, battery_off=True) - price(volts, PRESSED) == pytest.approx(BATTERY_MIN)
    dead, live = (after_test(t, Standing(REST), HARNESS) for t in (ohms, volts))
    assert dead.battery_off and not live.battery_off
    assert dead.state == REST and live.state == PRESSED  # nothing is set while no current flows
    assert after_test(replace(ohms, state=PRESSED), Standing(REST), HARNESS).state == REST
    assert price(replace(ohms, state=PRESSED)) == price(ohms)


def test_a_lamp_in_the_hand_asks_for_no_battery_and_no_switch() -> None:
    bulb = HARNESS.lamp("left rear stop")
    held = Test("ohms", PRESSED, bulb.a, bulb.b, done=(Intervention("take out lamp", bulb.bulb),))
    there: dict[str, Any] = {"opened": frozenset({HARNESS.place_of(bulb.a)[0]}), "instrument": "ohmmeter"}
    off, on = price(held, battery_off=True, **there), price(held, **there)
    assert off == on == pytest.approx(IN_HAND_MIN + Intervention("take out lamp", bulb.bulb).row.minutes)
    assert after_test(held, Standing(REST, battery_off=True), HARNESS).battery_off
    assert not after_test(held, Standing(REST), HARNESS).battery_off
    in_place = Test("ohms", PRESSED, "left rear.stop", "left rear.earth")
    assert price(in_place, **there) == pytest.approx(KINDS["ohms"].minutes + NOTE + BATTERY_MIN)


def test_a_joint_that_is_always_live_is_laid_bare_and_closed_with_the_battery_off() -> None:
    """Off to lay it bare, on to read, off to close it again; where it was off, two changes are left. Its tape comes
    off and on as well. A splice behind the brake switch is dead until the pedal is pressed."""
    box = frozenset({"fuse box", "boot floor"})
    fed, dead = Test("volts", REST, "S1", "body"), Test("volts", REST, "S2", "body")
    own = KINDS["volts"].minutes + NOTE + TAPE_MIN
    assert price(fed, opened=box, instrument="voltmeter") == pytest.approx(own + 3 * BATTERY_MIN)
    assert price(fed, opened=box, instrument="voltmeter", battery_off=True) == pytest.approx(own + 2 * BATTERY_MIN)
    assert after_test(fed, Standing(REST), HARNESS).battery_off
    assert price(dead, opened=box, instrument="voltmeter") == pytest.approx(own)
    assert not after_test(dead, Standing(REST), HARNESS).battery_off
    two = Test("drop", REST, "S2", "S3")
    assert price(two, opened=box, instrument="voltmeter") == pytest.approx(
        KINDS["drop"].minutes + NOTE + 2 * TAPE_MIN)
    ohms = Test("ohms", REST, "S2", "S3")  # the ohmmeter is not held to live metal; that price is another's
    assert price(ohms, opened=box, instrument="ohmmeter", battery_off=True) == pytest.approx(
        KINDS["ohms"].minutes + NOTE)


def test_who_looks_along_a_wire_needs_a_minute_a_metre_and_no_switch() -> None:
    """From C1 to the left tail lamp are 3.2 m; from the lamp to its earth 0.3 m. Through a plug or a fuse nobody
    needs the battery off, nor anything set."""
    everywhere = frozenset(HARNESS.place_of(n)[0] for n in ("C1.1", "left rear.tail", "E1", "S2"))
    wire = next(s for w in HARNESS.wires for s in w.segments if s.b == "left rear.tail")
    long, short = (test(f"inspect {w}") for w in (f"{wire.a} to {wire.b}", "left rear.earth to E1"))
    base = KINDS["inspect"].minutes + NOTE
    dead: dict[str, Any] = {"opened": everywhere, "battery_off": True}
    assert price(long, PRESSED, **dead) == pytest.approx(base + 3.2 * ALONG_MIN)
    assert price(short, PRESSED, **dead) == pytest.approx(base + 0.3 * ALONG_MIN)
    assert price(long, opened=everywhere) == pytest.approx(base + 3.2 * ALONG_MIN + BATTERY_MIN)  # it may be bare
    assert price(test("inspect S2"), **dead) == pytest.approx(base + TAPE_MIN)
    plug, kick = test("inspect C1"), frozenset({"left kick panel"})
    assert price(plug, PRESSED, opened=kick) == price(plug, opened=kick, battery_off=True) == price(plug, opened=kick)
    assert after_test(plug, Standing(PRESSED, kick, battery_off=True), HARNESS) == Standing(
        PRESSED, kick, battery_off=True)
    assert after_test(plug, Standing(PRESSED, kick), HARNESS) == Standing(PRESSED, kick)


def test_what_is_done_for_a_test_is_paid_with_the_way_there() -> None:
    """Everything done adds its own minutes; what is touched for it is opened as well."""
    look = test("look left rear stop when brake pressed")
    pulled = replace(look, done=(Intervention("unplug", "C1"),))
    assert price(pulled, PRESSED) - price(look, PRESSED) == pytest.approx(
        Intervention("unplug", "C1").row.minutes + 4)
    two = replace(look, done=(*pulled.done, Intervention("pull fuse", "F3")))
    assert price(two, PRESSED, opened=frozenset({"fuse box"})) - price(pulled, PRESSED) == pytest.approx(
        Intervention("pull fuse", "F3").row.minutes)
    assert after_test(two, Standing(PRESSED), HARNESS).opened == {"left kick panel", "fuse box"}
    parted = Test("ohms", REST, "S2", "body", done=(Intervention("part splice", "S2", "left rear.stop"),))
    first = price(parted, opened=frozenset({"boot floor"}))
    again = price(parted, opened=after_test(parted, Standing(REST), HARNESS).opened)
    assert first - again == pytest.approx(PART_MIN)  # the other wires of a parted splice lie bare already


def test_a_price_is_worked_out_once_for_all_places_a_job_may_stand_in() -> None:
    made = [test("volts left rear.stop when brake pressed"), test("ohms left rear.earth to E1"), test("inspect S2")]
    for t in made:
        found = TestPrice(t, HARNESS)
        for where in (Standing(REST), Standing(PRESSED, frozenset({"boot floor"}), "voltmeter", True)):
            assert found.minutes(where) == minutes_of(t, where, HARNESS)
            assert found.after(where) == after_test(t, where, HARNESS)
            assert found.minutes(found.after(where)) <= found.minutes(where) + 1e-9  # nothing is dearer made again


def test_a_repair_in_vain_is_paid_once_and_a_renewed_part_is_the_dearer() -> None:
    faults = list_faults(HARNESS)
    earth, bad_earth = (find_fault(faults, f"earth {how}: E1") for how in ("open", "bad"))
    lamp = find_fault(faults, "filament open: left rear stop")
    assert not earth.renews and earth.repair == bad_earth.repair and lamp.renews
    assert in_vain_minutes([earth, bad_earth]) == CLEANED_IN_VAIN_MIN < in_vain_minutes([lamp]) == WRONG_PART_MIN
    assert in_vain_minutes([lamp, lamp, earth]) == WRONG_PART_MIN + CLEANED_IN_VAIN_MIN
    renewed = replace(bad_earth, renews=True)
    assert in_vain_minutes([earth, renewed]) == in_vain_minutes([renewed, earth]) == WRONG_PART_MIN
    assert in_vain_minutes([]) == 0


@pytest.mark.parametrize(("limits", "words", "may"), [
    (Limits(engine_off=True), "volts left rear.stop when brake pressed", True),
    (Limits(without=frozenset({"voltmeter"})), "volts left rear.stop when brake pressed", False),
    (Limits(without=frozenset({"voltmeter"})), "test lamp left rear.stop when brake pressed", True),
    (Limits(only=frozenset({"test lamp"})), "test lamp left rear.stop when brake pressed", True),
    (Limits(only=frozenset({"test lamp"})), "volts left rear.stop when brake pressed", False),
    (Limits(only=frozenset({"test lamp"})), "look left rear stop when brake pressed", True),  # everybody has eyes
    (Limits(at="left rear"), "volts left rear.stop when brake pressed", True),
    (Limits(at="LEFT REAR corner"), "volts left rear.stop when brake pressed", True),
    (Limits(at="right rear"), "volts left rear.stop when brake pressed", False),
    (Limits(at="left rear"), "volt drop left rear.earth to right rear.earth when brake pressed", False),
    (Limits(at="left rear"), "volt drop left rear.earth to E1 when brake pressed", True),
    (Limits(at="left rear"), "look left rear stop when brake pressed", False),  # no terminal is touched anywhere
    (Limits(alone=True), "volts left rear.stop when brake pressed", False),
    (Limits(alone=True), "volts left rear.tail when lamp switch side", True),
    (Limits(alone=True), "look left rear stop when brake pressed", True),
])
def test_what_can_be_done_from_where_somebody_stands(limits: Limits, words: str, may: bool) -> None:
    assert allowed(test(words), HARNESS, limits) == may


def test_nobody_who_keeps_the_engine_off_is_sent_to_run_it() -> None:
    running = Test("look", replace(PRESSED, engine_running=True), lamp="left rear stop")
    assert allowed(running, HARNESS, Limits()) and not allowed(running, HARNESS, Limits(engine_off=True))


def test_to_look_a_lamp_over_it_comes_out() -> None:
    """Which is part of the price, and no way back is paid twice."""
    thing = test("inspect C1").thing(HARNESS)
    looked = inspection(HARNESS, thing)
    assert looked.done == (Intervention("unplug", "C1"),)
    assert price(looked, opened=frozenset({"left kick panel"})) == pytest.approx(
        KINDS["inspect"].minutes + NOTE + Intervention("unplug", "C1").row.minutes)
