"""Each caution and each line of the order on a small invented vehicle made for it: where it applies, and beside it
where it does not."""

from __future__ import annotations

from functools import cache

import pytest
from msgspec.structs import replace

from tracer.faults import find_fault, list_faults
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness
from tracer.observation.words.probes import parse_test
from tracer.safety.advice import Facts, Now, cautions_of, of_look, of_repair, of_test, of_tracing, said_by, steps_of
from tracer.safety.facts import is_electronic
from tracer.safety.feeds import Feeds, feeds_of

VEHICLE = """\
harness: Lamps at every place that asks for care, invented
system: 12 V negative earth
vehicle: car
ignition: contact breaker
usual: {size: 1 mm², length: 1 m}
controls:
  ignition: {positions: [off, on], assumed: on}
  lights: [off, on]
  brake pedal: {positions: [released, pressed], sprung: yes}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A, place: cabin}
  light switch: {kind: switch, control: lights, contacts: {on: [in-out]}, place: dash}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [in-out]}, place: pedal box}
  relay: {kind: relay, place: cabin}
  cabin lamp: {kind: lamp, lamp: R5W, place: cabin}
  bay lamp: {kind: lamp, lamp: R5W, place: engine bay}
  cooling lamp: {kind: lamp, lamp: R5W, place: radiator}
  seat lamp: {kind: lamp, lamp: R5W, place: under the seat}
  floor lamp: {kind: lamp, lamp: R5W, place: under the floor}
  sill lamp: {kind: lamp, lamp: R5W, place: left sill}
  bag lamp: {kind: lamp, lamp: R5W, place: airbag bracket}
  volt lamp: {kind: lamp, lamp: R5W, place: high voltage box}
  high lamp: {kind: lamp, lamp: R5W, place: high on the roof}
  xenon lamp: {kind: lamp, lamp: R5W, place: beside the xenon unit}
  module lamp: {kind: lamp, lamp: R5W, place: cabin}
  stop lamp: {kind: lamp, lamp: P21W, place: cabin}
  led lamp: {kind: lamp, lamp: LED 0.5 W, place: cabin}
connectors:
  C1: {ways: 1, place: cabin}
splices: {S1: {place: cabin}, S2: {place: cabin}}
earths: {E1: battery, E2: {place: cabin}}
wires:
  - battery.- > E1
  - {run: battery.+ > S2, name: feed}
  - S2 > relay.30
  - S2 > F1.in
  - F1.out > light switch.in
  - F1.out > brake switch.in
  - brake switch.out > C1.1 > stop lamp.feed
  - stop lamp.earth > E2
  - light switch.out > S1
  - S1 > relay.86
  - relay.85 > E2
""" + "".join(f"  - S1 > {n} lamp.feed\n  - {n} lamp.earth > E2\n" for n in (
    "cabin", "bay", "cooling", "seat", "floor", "sill", "bag", "volt", "high", "xenon", "module", "led"))

USUAL = {"local rules", "secured", "coil", "probe"}


@cache
def vehicle(kind: str = "car") -> Harness:
    return read_harness(VEHICLE.replace("vehicle: car", f"vehicle: {kind}"))


def volts(lamp: str, harness: Harness | None = None) -> Facts:
    own = harness or vehicle()
    return of_test(parse_test(f"volts {lamp} lamp.feed when lights on", own), own, Now(own.at_rest()))


def names(facts: Facts) -> set[str]:
    return set(said_by([facts]))


@pytest.mark.parametrize(("lamp", "more"), {
    "cabin": set(), "seat": set(), "high": set(), "bay": {"fan"}, "cooling": {"fan"}, "floor": {"underneath"},
    "sill": {"underneath"}, "bag": {"airbag"}, "volt": {"high voltage"}, "xenon": {"discharge lamp"},
}.items())
def test_a_place_is_warned_of_where_hands_come_to_it_and_nowhere_else(lamp: str, more: set[str]) -> None:
    """Under a seat nobody lies; "high" alone is no high voltage."""
    assert names(volts(lamp)) == USUAL | more


def test_no_fan_is_waited_for_beside_a_running_engine() -> None:
    harness = vehicle()
    test = parse_test("volts bay lamp.feed when lights on, engine running", harness)
    assert "fan" not in names(of_test(test, harness)) and "engine" in names(of_test(test, harness))


@pytest.mark.parametrize(("kind", "lamp", "propped"), [
    ("lorry", "floor", True), ("lorry", "sill", True), ("lorry", "cabin", False), ("lorry", "seat", False),
    ("bus", "floor", True), ("car", "floor", False),
])
def test_a_body_is_propped_where_hands_go_below_it(kind: str, lamp: str, propped: bool) -> None:
    assert ("raised body" in names(volts(lamp, vehicle(kind)))) == propped


def test_the_ignition_coil_is_spared_where_it_is_live_and_the_engine_stands() -> None:
    harness = vehicle()
    assert "coil" in names(of_look(harness.state({"ignition": "on"}), harness))
    assert "coil" not in names(of_look(harness.state({"ignition": "off"}), harness))
    assert "coil" not in names(of_look(harness.state({"ignition": "on"}, engine_running=True), harness))
    electronic = replace(harness, ignition="electronic")
    assert "coil" not in names(of_look(harness.state({"ignition": "on"}), electronic))


def test_a_pedal_that_must_be_held_is_propped_and_the_prop_comes_out() -> None:
    harness = vehicle()
    pressed = of_test(parse_test("volts stop lamp.feed when brake pedal pressed", harness), harness)
    assert "prop" in names(pressed) and pressed.held == ("brake pedal",)
    assert "Prop out of the brake pedal." in [s.text for s in steps_of(pressed) if s.phase == "back"]
    assert "prop" not in names(volts("stop"))
    assert not any("Prop" in s.text for s in steps_of(volts("stop")))
    looked = of_look(harness.state({"brake pedal": "pressed"}), harness)
    assert steps_of(looked)[-1].text == "Prop out of the brake pedal."


@pytest.mark.parametrize(("node", "electronic"), {
    "led lamp.feed": True, "led lamp.earth": True, "cabin lamp.feed": False, "relay.86": False,
    "S1": True,  # the LEDs hang on it
    "S2": False, "E2": True, "C1.1": False, "F1.out": False,
}.items())
def test_what_hangs_on_electronics_by_one_wire_counts_as_electronics(node: str, electronic: bool) -> None:
    """A filament test lamp at a splice feeds what is wired to it; what lies further off it does not reach first."""
    assert is_electronic(vehicle(), node) == electronic


@pytest.mark.parametrize(("name", "electronic"), {
    "control unit": True, "ecu": True, "lamp module": True, "electronic box": True, "control knob": False,
    "unit": False,
}.items())
def test_a_control_unit_is_known_by_its_name(name: str, electronic: bool) -> None:
    harness = read_harness(VEHICLE.replace("  module lamp:", f"  {name}:").replace("module lamp.", f"{name}."))
    assert is_electronic(harness, f"{name}.feed") == electronic


def test_a_lead_or_a_test_lamp_on_electronics_is_warned_of_and_a_voltmeter_is_not() -> None:
    harness = vehicle()
    lit = of_test(parse_test("test lamp at led lamp.feed when lights on", harness), harness)
    assert "electronics" in names(lit) and "electronics" not in names(volts("led"))
    plain = of_test(parse_test("test lamp at cabin lamp.feed when lights on", harness), harness)
    assert "electronics" not in names(plain)


# --- the order of a repair


def repair(name: str, now: Now | None = None) -> list[tuple[str, str]]:
    harness = vehicle()
    facts = of_repair([find_fault(list_faults(harness), name)], harness, now or Now(harness.at_rest()))
    return [(s.phase, s.text) for s in steps_of(facts, "mend it")]


def test_a_lamp_is_changed_cold_and_a_fuse_need_not_cool() -> None:
    """Neither needs the battery off."""
    assert repair("filament open: cabin lamp") == [
        ("safe", "Everything off, ignition off. Let the lamp cool."), ("do", "Mend it.")]
    assert repair("fuse blown: F1") == [("safe", "Everything off, ignition off."), ("do", "Mend it.")]


def test_a_wire_is_mended_with_the_lead_off_which_goes_on_last() -> None:
    off = "Take the battery's minus lead off (minus is earthed here) and keep it clear of the post."
    on = ("back", "Battery on again: its minus lead back on.")
    wire = "wire open: S1 – cabin lamp.feed"
    assert repair(wire) == [("safe", f"Everything off, ignition off. {off}"), ("do", "Mend it."), on]
    left = Now(vehicle().at_rest(), battery_off=True)
    assert repair(wire, left) == [("safe", "The battery stays off (minus lead)."), ("do", "Mend it."), on]
    assert repair("fuse blown: F1", left)[-1] == on, "whoever finds it off puts it on again"


def test_an_unfused_feed_is_measured_before_the_battery_is_connected_again() -> None:
    harness = vehicle()
    facts = of_repair([find_fault(list_faults(harness), "wire to body: battery.+ – S2")], harness)
    short = [s.text for s in steps_of(replace(facts, short=True), "mend it")]
    assert short[-2:] == ["Ohmmeter from the feed to the body once more: near 0 Ω the battery stays off.",
                          "Battery on again: its minus lead back on."]
    assert not any("Ohmmeter" in s.text for s in steps_of(facts, "mend it"))


# --- the order of a test


def steps(text: str, now: Now | None = None) -> list[tuple[str, str]]:
    harness = vehicle()
    found = steps_of(of_test(parse_test(text, harness), harness, now or Now(harness.at_rest())))
    return [(s.phase, s.text) for s in found]


OFF = "Everything off, ignition off."
LEAD_OFF = "Take the battery's minus lead off (minus is earthed here) and keep it clear of the post."


def test_a_plain_reading_asks_for_nothing_to_be_switched_off() -> None:
    assert [p for p, _ in steps("volts cabin lamp.feed when lights on")] == ["set", "read"]


def test_after_dead_work_the_battery_goes_on_before_a_live_reading() -> None:
    found = steps("volts cabin lamp.feed when lights on", Now(vehicle().at_rest(), battery_off=True))
    assert found[0] == ("safe", "Battery on again: its minus lead back on.")
    assert [p for p, _ in found] == ["safe", "set", "read"]


def test_ohms_are_measured_with_the_lead_off() -> None:
    assert steps("ohms cabin lamp.feed to body")[0] == ("safe", f"{OFF} {LEAD_OFF}")
    left = steps("ohms cabin lamp.feed to body", Now(vehicle().at_rest(), battery_off=True))
    assert left[0] == ("safe", "The battery stays off (minus lead).")


def test_a_lamp_comes_out_cold_and_goes_back_with_everything_off() -> None:
    found = steps("volts cabin lamp.feed when lights on with cabin lamp out")
    assert found[0] == ("safe", f"{OFF} Let the lamp cool.") and [p for p, _ in found] == [
        "safe", "do", "set", "read", "back"]
    assert found[-1][1].startswith("Everything off; then ")
    plug = steps("volts cabin lamp.feed when lights on with C1 unplugged")
    assert plug[0] == ("safe", OFF), "a plug need not cool"


def test_a_splice_that_is_always_live_is_bared_and_taped_with_the_battery_off() -> None:
    """S2 hangs on the battery; S1 is dead with the lights off, and is bared with everything off."""
    fed = steps("volts S2 when lights on")
    assert fed[0] == ("safe", f"{OFF} {LEAD_OFF}")
    assert fed[1:3] == [("do", "Take the tape off splice S2; keep the bare joint clear of metal."),
                        ("do", "Battery on again: its minus lead back on.")]
    assert fed[-1] == ("back", f"{OFF} {LEAD_OFF} Then tape splice S2 again.")
    dead = steps("volts S1 when lights on")
    assert dead[0] == ("safe", OFF) and dead[-1] == ("back", "Everything off; then tape splice S1 again.")
    left = steps("volts S2 when lights on", Now(vehicle().at_rest(), battery_off=True))
    assert left[0] == ("safe", "The battery stays off (minus lead).") and left[2] == fed[2]


# --- what is fed without a fuse


def test_a_relay_counts_as_closed_as_soon_as_anything_is_switched_on() -> None:
    """What its coil hangs on is not followed: with the lights on it may have pulled in."""
    harness = vehicle()
    feeds = Feeds(harness)
    assert "relay.87" not in feeds.unfused(harness.at_rest()) and "relay.30" in feeds.unfused(harness.at_rest())
    assert "relay.87" in feeds.unfused(harness.state({"lights": "on"}))
    assert "relay.87" not in feeds.live_at_rest


def test_what_is_fed_is_worked_out_once_for_each_vehicle() -> None:
    one, two = vehicle(), vehicle("lorry")
    found = feeds_of(one), feeds_of(two)
    assert (feeds_of(one), feeds_of(two)) == found and found[0] is feeds_of(one) and found[1] is feeds_of(two)
    assert found[0].harness is one and found[1].harness is two


def test_tracing_by_hand_names_what_it_takes() -> None:
    assert {"battery", "lead", "new fuse", "plug", "probe", "secured", "local rules"} <= names(of_tracing(vehicle()))
    assert steps_of(of_tracing(vehicle())) == ()
    assert {c.grade for c in cautions_of(of_tracing(vehicle()))} == {"caution", "note"}
