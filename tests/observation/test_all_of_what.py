"""All of one vehicle, of one side or of one function, and what goes without being named (all sentences invented;
common practice, no source)."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import LampSeen
from tracer.observation.words.symptoms import read_by_rules

Looks = dict[str, tuple[frozenset[str], str | None]]


def looks(model: str, said: str) -> Looks:
    """Lamp → what it is called, and whether it flashes."""
    harness = load_harness(MODELS / f"{model}.yaml")
    return {k.lamp: (k.words, k.flash) for s in read_by_rules(said, harness).symptoms for k in s.seen
            if isinstance(k, LampSeen)}


def called(model: str, said: str) -> dict[str, str]:
    return {lamp: " or ".join(sorted(words)) for lamp, (words, _) in looks(model, said).items()}


@pytest.mark.parametrize("said", [
    "nothing on the caravan works, car all ok", "car all ok, nothing on the caravan works",
    "nothing on the caravan works; car is all fine", "no caravan lights work, car ok",
])
def test_all_of_the_one_vehicle_after_nothing_of_the_other(said: str) -> None:
    """"Car all ok" is not said of the caravan that was just spoken of."""
    harness = load_harness(MODELS / "tow_13pin.yaml")
    lamps = {f.lamp for f in harness.lamps()}
    car = {n for n in lamps if n.startswith("car ")}
    assert called("tow_13pin", said) == {n: "normal" if n in car else "dark" for n in lamps}


@pytest.mark.parametrize("said", [
    "all offside markers dead", "all the offside markers dead", "all right markers dead", "all o/s markers u/s",
    "off side markers dead",
])
def test_all_right_is_a_side_before_a_lamp(said: str) -> None:
    assert called("lorry_24v", said) == {"right front marker": "dark", "right rear marker": "dark"}


def test_all_right_is_fine_elsewhere() -> None:
    found = called("pickup", "headlamps all right, both tails dead")
    assert found.pop("left rear tail") == found.pop("right rear tail") == "dark"
    assert set(found.values()) == {"normal"} and all("headlamp" in n for n in found)


@pytest.mark.parametrize("said", [
    "left repeater not flashing, the rest of the left side is",
    "left repeater isn't flashing but the rest of the left side are",
])
def test_who_does_what_another_does_not_flashes(said: str) -> None:
    """Of the left side the indicators flash; of its tail lamp nothing was said."""
    found = looks("glass_fibre", said)
    assert {n: flash for n, (_, flash) in found.items()} == {
        "left repeater": "steady", "left front indicator": "flashing", "left rear indicator": "flashing"}


@pytest.mark.parametrize("said", [
    "main beam tell-tale out but the beams work", "blue main beam light on the dash doesn't light but the beams do",
])
def test_the_beams_after_their_tell_tale_are_the_main_beams(said: str) -> None:
    assert called("car_1950s", said) == {
        "main beam tell-tale": "dark", "left headlamp main": "normal", "right headlamp main": "normal"}


@pytest.mark.parametrize("said", ["{} are fine", "no {}", "the {} flicker over bumps"])
def test_beams_are_what_headlamps_have(said: str) -> None:
    found = looks("car_1950s", said.format("beams"))
    assert found == looks("car_1950s", said.format("headlights")) and all("headlamp" in n for n in found)


def test_a_parking_brake_is_the_handbrake() -> None:
    assert called("estate_1990s", "parking brake light doesn't come on with the handbrake up") == {
        "handbrake tell-tale": "dark"}


def states(model: str, said: str) -> set[tuple[str, str]]:
    """Lamp, and the position of each control that was moved."""
    harness = load_harness(MODELS / f"{model}.yaml")
    rest = dict(harness.at_rest().positions)
    return {(k.lamp, ", ".join(f"{c} {p}" for c, p in s.state.positions if p != rest[c]))
            for s in read_by_rules(said, harness).symptoms for k in s.seen if isinstance(k, LampSeen)}


@pytest.mark.parametrize("said", [
    "fog tell-tale lit, fog lamp dead", "fog lamp dead, fog tell-tale lit",
    "fog tell-tale lit but the fog lamp isn't",
])
def test_a_tell_tale_is_told_of_where_its_lamps_are_on(said: str) -> None:
    """Whichever comes first: lit while its lamp was switched off would be another thing."""
    there = {state for _, state in states("lorry_24v", said)}
    assert len(there) == 1 and "fog switch on" in there.pop()
    assert called("lorry_24v", said)["right rear fog"] == "dark"


def test_a_door_that_is_shut_is_a_state_and_one_that_is_slammed_a_knock() -> None:
    def moved(said: str) -> bool:
        [symptom] = read_by_rules(said, load_harness(MODELS / "saloon_led.yaml")).symptoms
        return any(isinstance(k, LampSeen) and k.moved for k in symptom.seen)

    assert not moved("interior light doesn't go out when the door is shut")
    assert moved("left tail goes out when the door is slammed")


@pytest.mark.parametrize(("said", "lamps"), [
    ("trailer left stop out, the car one works", {"trailer left stop": "dark", "car left rear stop": "normal"}),
    ("trailer right tail dim, the car's one is fine", {"trailer right tail": "dim", "car right rear tail": "normal"}),
])
def test_the_one_of_the_car_is_that_of_the_same_side(said: str, lamps: dict[str, str]) -> None:
    assert called("tow_7pin", said) == lamps


@pytest.mark.parametrize("said", ["trailer dead", "the trailer is completely dead", "trailer dead, car all ok"])
def test_a_vehicle_that_is_dead_is_so_altogether(said: str) -> None:
    lamps = {f.lamp for f in load_harness(MODELS / "tow_7pin.yaml").lamps()}
    found = called("tow_7pin", said)
    assert {n for n, look in found.items() if look == "dark"} == {n for n in lamps if n.startswith("trailer ")}
    assert {n for n, look in found.items() if look != "dark"} in (set(), {n for n in lamps if n.startswith("car ")})


@pytest.mark.parametrize("said", [
    "headlights dim with the heater fan on", "when the blower is on the headlights go dim",
    "when the heater fan is running both headlights dim",
])
def test_a_fan_that_is_on_is_a_state(said: str) -> None:
    found = states("saloon_1970s", said)
    assert {lamp for lamp, _ in found} >= {"left headlamp dip", "right headlamp dip"}
    assert any("blower switch on" in state for _, state in found)


@pytest.mark.parametrize("said", ["both stops on permanently", "the stop lights are on constantly"])
def test_what_is_on_permanently_is_lit_without_its_switch(said: str) -> None:
    found = states("saloon_1970s", said)
    assert {lamp for lamp, _ in found} == {"left rear stop", "right rear stop"}
    assert not any("brake" in state for _, state in found)


def test_backs_are_rear_ones() -> None:
    """And "doesnt" is "doesn't"."""
    assert looks("pickup", "front indicators ok, backs dead") == looks("pickup", "front indicators ok, rears dead")
    assert looks("pickup", "left stop doesnt do anything") == looks("pickup", "left stop doesn't do anything")


@pytest.mark.parametrize(("after", "before"), [
    ("stop lamps ok, tails dead both", "stop lamps ok, both tails dead"),
    ("stop lights very weak both", "both stop lights very weak"), ("plates out both", "both plate lights out"),
])
def test_both_may_come_last(after: str, before: str) -> None:
    assert looks("pickup", after) == looks("pickup", before)
