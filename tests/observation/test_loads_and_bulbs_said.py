"""Weak horns, bulbs that keep blowing, and lights of a trailer that is or is not in the file (all invented)."""

from __future__ import annotations

from functools import cache

import pytest

from tests.library import MODELS
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.symptoms import read_by_rules, symptom_as_data, symptom_from_data


@cache
def own(model: str) -> HealthyStates:
    return healthy_states(load_harness(MODELS / f"{model}.yaml"))


def heard(said: str, model: str) -> str:
    healthy, base = own(model), own(model).harness.state({})
    out = []
    for s in read_by_rules(said, healthy.harness, healthy).symptoms:
        moved = [f"{c} {p}" for c, p in s.state.positions if p != base[c]]
        moved += ["engine running"] * s.state.engine_running
        out.append(f"{'; '.join(x.says() for x in s.seen)} when {', '.join(moved) or 'at rest'}")
    return " / ".join(out)


def asked(said: str, model: str) -> TracerError:
    with pytest.raises(TracerError) as caught:
        read_by_rules(said, own(model).harness, own(model))
    return caught.value


@pytest.mark.parametrize("said", [
    "horn weak", "the horn is very quiet", "horn sounds feeble", "horn only croaks", "hooter sounds strangled",
])
def test_a_horn_that_is_weak_is_neither_dead_nor_well(said: str) -> None:
    assert heard(said, "saloon_1970s") == "horn weak when horn button pressed"


@pytest.mark.parametrize(("said", "model", "meant"), [
    ("wipers slow", "tractor", "wiper weak when wiper switch on"),
    ("heater fan slow", "saloon_1970s", "heater blower weak when blower switch on"),
    ("heater fan slow when I put the headlights on", "saloon_1970s",
     "heater blower weak when lamp switch head, blower switch on"),
    ("horn weak when I rev it", "saloon_1970s", "horn weak when horn button pressed, engine running"),
    ("horn silent", "saloon_1970s", "horn does not work when horn button pressed"),
    ("horn sometimes weak", "tractor", "horn sometimes weak when horn button pressed"),
])
def test_loads_that_are_weak_or_dead(said: str, model: str, meant: str) -> None:
    assert heard(said, model) == meant


def test_weak_is_kept_in_a_job_file() -> None:
    harness = own("tractor").harness
    for said in ("horn weak when horn button pressed", "horn sometimes weak when horn button pressed"):
        (symptom,) = read_by_rules(said, harness).symptoms
        assert symptom_from_data(symptom_as_data(symptom), harness) == symptom


@pytest.mark.parametrize("said", [
    "left tail keeps blowing bulbs", "keeps eating bulbs at the left tail", "left tail bulbs don't last",
    "it goes through left tail bulbs like nobody's business", "left tail bulb keeps popping",
    "left tail bulbs keep blowing every month",
])
def test_bulbs_that_keep_blowing_are_no_dark_lamp(said: str) -> None:
    """They had too many volts, were shaken, or sit loose: each is offered, and it says so plainly."""
    found = asked(said, "saloon_1970s")

    assert "too many volts" in found.message and "shaken" in found.message
    assert found.choices == (
        "left rear tail bright when lamp switch side, engine running",
        "left rear tail sometimes dark, as it is moved when lamp switch side",
        "left rear tail dark when lamp switch side")


@pytest.mark.parametrize("said", ["keeps blowing bulbs", "bulbs never last", "chews through bulbs"])
def test_bulbs_of_no_lamp_in_particular_are_asked_back(said: str) -> None:
    assert "too many volts" in asked(said, "saloon_1970s").message


def test_a_bulb_that_blew_is_a_dark_lamp() -> None:
    assert heard("left tail bulb blew", "saloon_1970s") == "left rear tail dark when lamp switch side"


@pytest.mark.parametrize(("said", "meant"), [
    ("caravan left tail dead, car left tail fine",
     "trailer left tail dark; car left rear tail normal when lamp switch side"),
    ("the car's left tail is dead", "car left rear tail dark when lamp switch side"),
    ("tractor lights OK", "car left rear tail normal; car right rear tail normal when lamp switch side"),
    ("trailer brake lights come on with the left indicator",
     "trailer left stop lit; trailer right stop lit when indicator stalk left"),
])
def test_of_two_vehicles_the_one_that_was_named(said: str, meant: str) -> None:
    assert heard(said, "tow_7pin") == meant


def test_stop_lamps_with_the_indicators_are_asked_back_with_both_at_once() -> None:
    both = "trailer left stop lit, trailer right stop lit when indicator stalk left"
    assert any(both in c for c in asked("trailer brake lights come on with the indicators", "tow_7pin").choices)


def test_a_trailer_that_is_not_in_the_file_is_not_its_vehicle() -> None:
    for said in ("trailer lights out, tractor lights OK",
                 "trailer lights dead out in the field but tractor lights ok",
                 "tractor lights fine but the trailer is dead"):
        assert "this vehicle has no “trailer" in asked(said, "tractor").message


def test_what_tows_a_trailer_is_not_in_its_file() -> None:
    dark = "left lamp unit tail dark; right lamp unit tail dark when side lights on"
    assert heard("trailer lights out, tractor lights OK", "trailer_7pin") == dark
    assert "this vehicle has no “car left tail”" in asked("the car's left tail is dead", "trailer_7pin").message


def test_a_fuse_is_that_of_both_sides() -> None:
    assert "fuse F2 blows" in heard("brake light fuse keeps blowing", "saloon_1970s")


@pytest.mark.parametrize(("said", "meant"), [
    ("fuse 2 blown", "fuse F2 blew when at rest"),
    ("F1, F2 and F3 are blown", "fuse F1 blew; fuse F2 blew; fuse F3 blew when at rest"),
    ("F1 and F2 OK, tails out",
     "fuse F1 holds; fuse F2 holds when at rest / left rear tail dark; right rear tail dark when lamp switch side"),
    ("horn, blower and brake lights dead",
     "horn does not work when horn button pressed / heater blower does not work when blower switch on / left rear "
     "stop dark; right rear stop dark when brake pedal pressed"),
    ("F2 keeps blowing, 3 gone since Monday", "fuse F2 blows when at rest"),  # three fuses, and not F3
])
def test_what_is_said_of_several_fuses_or_loads_is_said_of_each(said: str, meant: str) -> None:
    assert heard(said, "saloon_1970s") == meant
