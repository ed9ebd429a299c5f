"""The error model of eyes, ears and meters, worked by hand from what its comments say of people and instruments.

Lights and loads are set here, and not solved: what is held is what people make of them.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, get_args

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, Floats
from tracer.harness.file.text import load_harness
from tracer.inference.battery_voltage import FACTORS, SupplyDoubt
from tracer.inference.likelihood import (
    OTHERS_FLOOR,
    PLAIN_EYE,
    as_meant,
    carelessly,
    compared_loglik,
    contradicted,
    flash_probabilities,
    fuse_loglik,
    lamp_loglik,
    lens_loglik,
    look_loglik,
    only_loglik,
    other_loglik,
    others_loglik,
    relay_loglik,
    told_apart,
    word_at_random,
)
from tracer.inference.load_likelihood import load_loglik
from tracer.inference.pulsing_lamps import by_phases, pulsing
from tracer.inference.reading_likelihood import (
    current_sigma,
    ohm_scale,
    ohm_sigma,
    reading_sigma,
    undescribed_value,
    value_loglik,
    wiggled_loglik,
)
from tracer.inference.word_model import word_probability
from tracer.observation.evidence import (
    Compared,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    Reading,
    RelaySeen,
    Sound,
    Symptom,
    Value,
)
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value

HARNESS = load_harness(MODELS / "glass_fibre.yaml")
STOP, OTHER = "left rear stop", "right rear stop"


@cache
def predictor() -> Predictor:
    return Predictor(HARNESS)


def phi(x: float) -> float:
    """The normal distribution."""
    return 0.5 * math.erfc(-x / math.sqrt(2))


@cache
def sound() -> Panel:
    """With the brake pedal pressed: both stop lamps lit, all else dark."""
    state = HARNESS.state({"brake pedal": "pressed"})
    return predictor().panel(predictor().setup(state), predictor().table([NO_CHANGE]))


def panel(rows: int = 1, **lights: list[float]) -> Panel:
    """That of so many vehicles, with these lights (log10 of flux) instead."""
    p = sound().rows(np.zeros(rows, dtype=np.intp))
    flux = p.flux.copy()
    for name, own in lights.items():
        flux[:, predictor().lamp_index[name.replace("_", " ")]] = own
    return replace(p, flux=flux, least=flux)


def chance(loglik: Any) -> list[float]:
    return list(np.exp(np.asarray(loglik)).ravel())


# --- eyes


def test_two_lamps_side_by_side_are_told_apart_by_a_quarter() -> None:
    """A border at 0.10 decades, soft by 0.05: alike within Φ(±2), at the border as often as not; and what is too dark
    to see is alike."""
    alike, border, twice = told_apart(np.array([0.0, 0.1, 0.3]), np.zeros(3))
    assert alike == pytest.approx([phi(-2), phi(2) - phi(-2), phi(-2)])
    assert border == pytest.approx([phi(-4), 0.5 - phi(-4), 0.5]) and twice[2] == pytest.approx(phi(4))
    assert told_apart(np.array([-2.5]), np.array([-9.0]))[0] == pytest.approx(alike)
    assert told_apart(np.zeros(1), np.array([0.3]))[0] == pytest.approx(twice[::-1])


def test_who_sees_one_lamp_dark_seldom_calls_it_dimmer() -> None:
    """Three times in ten as far as he calls it dark, which of the least light that counts he does not always, and of
    none at all ever; where both shine 1.5 % name any of the three."""
    lit = panel(3, left_rear_stop=[0.0, -2.5, -6.0], right_rear_stop=[0.3, 0.3, 0.3])
    both, dark, none = chance(compared_loglik(lit, predictor(), Compared(STOP, OTHER, "dimmer")))
    assert both == pytest.approx(0.985 * phi(4) + 0.005, rel=1e-4)
    called_dark = float(word_probability(np.array(-2.5), frozenset({"dark"}), 0.0))
    assert 0.6 < called_dark < 0.9 and dark == pytest.approx((1 - 0.7 * called_dark) * 0.99, rel=1e-3)
    again = chance(compared_loglik(lit, predictor(), Compared(OTHER, STOP, "brighter")))
    assert none == pytest.approx(0.3 * 0.99, rel=1e-3)
    assert again == pytest.approx([both, dark, none])
    doubtful = chance(compared_loglik(lit, predictor(), Compared(STOP, OTHER, "dimmer", doubtful=True)))
    assert doubtful[0] == pytest.approx(0.7 * phi(4) + 0.1, rel=1e-4)
    broken = replace(lit, usable=np.array([False, True, True]))
    assert chance(compared_loglik(broken, predictor(), Compared(STOP, OTHER, "alike")))[0] == pytest.approx(1 / 3)


def flashes(contrast: float, per_min: float, load: float, electronic: bool, **how: bool) -> dict[str, float]:
    p = panel(left_rear_stop=[0.0])
    least = p.flux.copy()
    lamp = predictor().lamp_index[STOP]
    least[:, lamp] -= contrast
    p = replace(p, least=least, per_min=np.array([per_min]), load=np.array([load]))
    return {k: float(v[0]) for k, v in flash_probabilities(p, lamp, electronic, **how).items()}


@pytest.mark.parametrize(("contrast", "per_min", "varies"), [
    (1.0, 90.0, 1.0), (0.0, 90.0, 0.0), (0.3, 90.0, 0.5), (1.0, 60.0, 1.0), (1.0, 120.0, 1.0), (1.0, 10.0, 1.0),
    (1.0, 400.0, 1.0),
])
def test_whether_a_lamp_flashes_and_how_fast(contrast: float, per_min: float, varies: float) -> None:
    """A lamp that varies by a factor of two flashes as often as not, one that varies by ten for sure. At a border of
    60 or 120 a minute half of those who would say it call it slow (0.6) or fast (0.92)."""
    slow, fast = (1 / (1 + math.exp(way * math.log(per_min / border) / 0.12)) for way, border in ((1, 60), (-1, 120)))
    found = flashes(contrast, per_min, 1.0, True, surely=True)
    assert (found["flashing"], found["slow"], found["fast"]) == pytest.approx(
        (varies, varies * 0.6 * slow, varies * 0.92 * fast), abs=0.004)
    assert found["steady"] == pytest.approx(1 - found["flashing"])
    slips = flashes(contrast, per_min, 1.0, True)
    assert slips["flashing"] == pytest.approx(0.02 + 0.96 * found["flashing"])
    assert slips["fast"] == pytest.approx(slips["flashing"] * (0.03 + 0.89 * fast))
    assert slips["slow"] == pytest.approx(slips["flashing"] * (0.03 + 0.57 * slow))


def test_a_thermal_unit_stops_where_its_load_is_half_and_an_electronic_one_does_not() -> None:
    for load, runs in ((0.2, 0.0), (0.5, 0.5), (1.0, 1.0)):
        thermal = flashes(1.0, 90.0, load, False, surely=True, as_filed=True)
        assert thermal["flashing"] == pytest.approx(runs, abs=0.01)
        assert flashes(1.0, 90.0, load, True, surely=True)["flashing"] == pytest.approx(1.0, abs=0.01)
    # Two in ten go fast instead where a lamp is missed, whatever the file calls them.
    other = flashes(1.0, 90.0, 0.2, False, surely=True)
    assert other["flashing"] == pytest.approx(0.2, abs=0.01) and other["fast"] == pytest.approx(0.2 * 0.92, abs=0.01)
    assert flashes(1.0, 60.0, 1.0, False, surely=True)["fast"] == pytest.approx(0.0, abs=0.01)


def test_of_one_light_that_may_be_any_of_several_lamps_one_at_least_looks_so() -> None:
    lit = panel(2, left_rear_stop=[-0.4, -5.0], right_rear_stop=[-0.1, 0.0])
    looks = tuple(LampSeen(n, frozenset({"dark"})) for n in (STOP, OTHER))
    one, two = (np.exp(lamp_loglik(lit, predictor(), s, sound())) for s in looks)
    found = np.exp(lens_loglik(lit, predictor(), LensSeen(looks), sound()))
    assert found == pytest.approx(1 - (1 - one) * (1 - two)) and found[1] > 0.9 > found[0]


def test_what_is_only_so_with_a_control_was_seen_otherwise_without_it() -> None:
    lit = panel(2, left_rear_stop=[-5.0, 0.0])
    dark = LampSeen(STOP, frozenset({"dark"}))
    assert chance(only_loglik(lit, sound(), predictor(), dark, PLAIN_EYE)) == pytest.approx([0.02, 0.98], abs=0.01)


def test_everything_else_normal_is_said_after_a_glance() -> None:
    """Of each other lamp 85 of a hundred would have seen it dark; the whole remark never counts for more than
    1:500."""
    index = predictor().lamp_index[STOP]
    dark = panel(2, left_rear_stop=[-5.0, 0.0])
    missed, right = chance(other_loglik(dark, sound(), predictor(), index))
    assert missed == pytest.approx(0.15, abs=0.01) and right == pytest.approx(1.0, abs=0.02)
    whole = others_loglik(dark, sound(), predictor(), frozenset())
    named = others_loglik(dark, sound(), predictor(), frozenset({STOP}))
    assert whole[0] - named[0] == pytest.approx(math.log(missed)) and named[0] == pytest.approx(named[1])
    every = panel(1, **{n.replace(" ", "_"): [0.0 if n not in (STOP, OTHER) else -5.0]
                        for n in predictor().lamp_index})
    assert others_loglik(every, sound(), predictor(), frozenset())[0] == OTHERS_FLOOR == math.log(0.002)


def test_a_careless_person_says_anything_one_time_in_ten() -> None:
    state = HARNESS.state({"brake pedal": "pressed"})
    item = Symptom(state, (LampSeen(STOP, frozenset({"dark"})),), others_normal=True)
    said = np.log(np.array([[0.5, 0.0001], [0.5, 0.5]]))
    found = np.exp(carelessly(said, item, predictor()))
    dark = word_at_random(frozenset({"dark"}), float(sound().flux[0, predictor().lamp_index[STOP]]))
    assert dark == pytest.approx(0.2)
    assert found == pytest.approx(0.9 * np.exp(said) + 0.1 * np.array([[dark], [0.3]]))
    # Where something should be dark, "bright" and "normal" are one word of four.
    assert word_at_random(frozenset({"bright"}), -9.0) == pytest.approx(1 / 8)
    assert word_at_random(frozenset({"dark"}), -9.0) == pytest.approx(1 / 4)
    meant = as_meant(replace(item, state=HARNESS.state({}), seen=(LampSeen(STOP, frozenset({"bright"})),)),
                     predictor())
    assert isinstance(meant, Symptom) and isinstance(meant.seen[0], LampSeen)
    assert meant.seen[0].words == {"bright", "normal"}
    assert list(contradicted(np.array([-3.0, -1.0]), -1.5)) == [True, False]


def test_a_lamp_that_pulses_is_called_by_either_phase() -> None:
    """It burns between full and a tenth: who is sent to look names one as often as the other; who comes unasked by
    the one he comes with. Where it goes dark in between three of ten say that it goes out."""
    p = panel(3, left_rear_stop=[0.0, 0.0, 0.0])
    lamp, least = predictor().lamp_index[STOP], p.flux.copy()
    least[:, lamp] = [-1.0, -3.0, -0.2]
    p = replace(p, least=least)
    assert pulsing(p, lamp, sound()).tolist() == [True, False, False]

    def called(light: Floats) -> Floats:
        return np.where(light < -0.5, 1.0, 0.0)

    assert by_phases(p, lamp, sound(), called).tolist() == [0.5, 0.0, 0.0]
    assert by_phases(p, lamp, sound(), called, unasked=True).tolist() == [1.0, 0.3, 0.0]
    assert by_phases(p, lamp, None, called).tolist() == [0.0, 0.0, 0.0]


# --- ears, fuses, loads


@pytest.mark.parametrize(("pulled", "restless", "clicks", "buzzes"), [
    (True, False, 0.99 * 0.90, 0.01), (False, False, 0.99 * 0.03, 0.01), (True, True, 0.05 * 0.90, 0.95),
])
def test_what_is_heard_of_a_relay(pulled: bool, restless: bool, clicks: float, buzzes: float) -> None:
    """A click is missed one time in ten and imagined three times in a hundred; a buzz is hard to miss."""
    p = replace(panel(), pulled_in=np.array([[pulled]]), restless=np.array([[restless]]))
    (relay,) = predictor().relays
    found = {s: chance(relay_loglik(p, predictor(), RelaySeen(relay, s)))[0] for s in get_args(Sound)}
    assert found == pytest.approx({"clicks": clicks, "buzzes": buzzes, "silent": 1 - clicks - buzzes})
    unsolved = replace(p, usable=np.array([False]))
    assert chance(relay_loglik(unsolved, predictor(), RelaySeen(relay, "clicks"))) == pytest.approx([1 / 3])


def test_a_flasher_unit_is_heard_where_it_flashes() -> None:
    p = replace(panel(3), per_min=np.array([90.0, 0.0, np.nan]))
    unit = next(n for n, x in HARNESS.parts.items() if x.flashes)
    assert chance(relay_loglik(p, predictor(), RelaySeen(unit, "clicks"))) == pytest.approx(
        [0.99 * 0.9, 0.99 * 0.03, 0.99 * 0.03])


def test_a_fuse_and_a_load_are_hardly_ever_mistaken() -> None:
    blown = replace(panel(2), blown=np.array([[True] * len(predictor().fuses), [False] * len(predictor().fuses)]))
    name = predictor().fuses[1]
    assert chance(fuse_loglik(blown, predictor(), FuseSeen(name, True))) == pytest.approx([0.97, 0.03])
    assert chance(fuse_loglik(blown, predictor(), FuseSeen(name, False))) == pytest.approx([0.03, 0.97])
    powers = [0.0, 0.02, 0.24, 0.26, 0.6, 0.9]
    p = replace(panel(6), power=np.array([[w] * len(predictor().loads) for w in powers]))
    load = predictor().loads[0]
    works = chance(load_loglik(p, predictor(), LoadSeen(load, True)))
    assert works == pytest.approx([0.02, 0.02, 0.02, 0.98, 0.98, 0.98])
    assert chance(load_loglik(p, predictor(), LoadSeen(load, False))) == pytest.approx([1 - w for w in works])
    weak = chance(load_loglik(p, predictor(), LoadSeen(load, True, weak=True)))
    assert weak == pytest.approx([0.02, 0.98, 0.98, 0.98, 0.98, 0.02])
    unsolved = replace(p, usable=np.zeros(6, dtype=bool))
    assert chance(load_loglik(unsolved, predictor(), LoadSeen(load, True))) == [0.5] * 6
    lead = replace(panel(2), lead_blown=np.array([True, False]))
    assert chance(look_loglik(lead, predictor(), Value(lead_blew=True))) == pytest.approx([0.95, 0.02])
    assert look_loglik(lead, predictor(), Value()).tolist() == [0.0, 0.0]


# --- meters

ONE = np.zeros(1, dtype=np.intp)


def sigma(volts: float, measured: bool, beside: tuple[float, float] | None = None) -> float:
    v = np.array([volts, *(beside or (volts, volts))])
    return float(reading_sigma(v, 12.0, measured, np.array([1, 1, 2]), np.array([2, 1, 2]))[0])


def test_the_errors_of_a_voltage_add_up_as_squares() -> None:
    """Gauss: the meter's 0.8 % and 15 mV, the battery's 3 % where it was not measured and 0.6 % where it was, 15 % of
    what is lost on the way and 60 mV of joints, and 0.35 of what lies between two severities."""
    assert sigma(0.0, True) == pytest.approx(math.hypot(0.015, 0.06))
    assert sigma(12.0, True) == pytest.approx(math.sqrt(0.096**2 + 0.015**2 + 0.072**2 + 0.06**2))
    assert sigma(12.0, False) == pytest.approx(math.sqrt(0.096**2 + 0.015**2 + 0.36**2 + 0.06**2))
    half = math.sqrt(0.048**2 + 0.015**2 + 0.18**2 + (0.15 * 6 + 0.06) ** 2 + (0.8 * 0.4) ** 2)
    assert sigma(6.0, False) == pytest.approx(half)
    assert sigma(-6.0, False) == pytest.approx(half)
    assert sigma(6.0, False, (5.0, 8.0)) == pytest.approx(math.hypot(half, 0.35 * 2))
    small = math.sqrt((0.008 * 0.1) ** 2 + 0.015**2 + (0.03 * 0.1) ** 2 + (0.015 + 0.06) ** 2 + 0.08**2)
    assert sigma(0.1, False) == pytest.approx(small)
    amps = current_sigma(np.array([4.0, 3.0, 6.0]), np.array([1, 1, 2]), np.array([2, 1, 2]))
    assert amps[0] == pytest.approx(math.sqrt(0.12**2 + 0.32**2 + 0.03**2 + 0.7**2))


def test_ohms_are_judged_by_decades_above_what_the_leads_have() -> None:
    """0.15 Ω of leads: below it nothing is told apart; above 100 kΩ what shows is the damp."""
    assert ohm_scale(np.array([0.0, 0.85, 99.85, math.inf])) == pytest.approx([math.log10(0.15), 0.0, 2.0, 7.0])
    mu = np.array([2.0, 1.0, 2.5, 6.0])
    own = ohm_sigma(mu, np.array([1, 1, 2, 3]), np.array([2, 1, 2, 3]))
    leads = [0.15 / (10**m * math.log(10)) for m in mu]
    assert own[0] == pytest.approx(math.sqrt(0.06**2 + leads[0] ** 2 + 0.35**2))
    assert own[1] == pytest.approx(math.hypot(0.06, leads[1]))
    assert own[3] == pytest.approx(math.hypot(0.06, 0.7), abs=1e-6)


def reading(test: str, value: str) -> Reading:
    made = parse_test(test, HARNESS)
    return Reading(made, parse_value(value, made.kind, made.lamp))


def read(test: str, value: str, *predicted: float) -> list[float]:
    item, p = reading(test, value), np.array(predicted)
    rows = np.arange(len(p))
    return chance(value_loglik(p, item.value, item, 12.0, False, rows, rows))


VOLTS = "volts left rear.stop when brake pedal pressed"


def test_a_voltage_is_as_likely_as_the_errors_make_it() -> None:
    """The part of the normal curve between half a step on each side, and three in a hundred anywhere on the meter."""
    s = sigma(12.0, False)
    stray = 0.03 * 0.1 / 28.8
    near, far = read(VOLTS, "11.8 V", 12.0, 0.0)
    assert near == pytest.approx(0.97 * (phi(-0.15 / s) - phi(-0.25 / s)) + stray, rel=1e-3)
    assert far == pytest.approx(stray, rel=1e-3)
    (between,) = read(VOLTS, "11 to 13 V", 12.0)
    assert between == pytest.approx(0.97 * (phi(1 / s) - phi(-1 / s)) + 0.03 * 2 / 28.8, rel=1e-3)
    unsolved, _ = read(VOLTS, "11.8 V", math.nan, 12.0)
    assert unsolved == pytest.approx(0.1 / (1.3 * 12))
    assert read(VOLTS, "could not", 12.0, 0.0) == [1.0, 1.0]


def test_ohms_are_as_likely_as_the_errors_make_them() -> None:
    test = "ohms left rear.stop to body"
    right, wrong = read(test, "100 ohm", 100.0, 10.0)
    assert right > 20 * wrong and read(test, "open", math.inf)[0] > 0.8 > 0.1 > read(test, "open", 10.0)[0]
    assert read(test, "open", 1e6)[0] > read(test, "open", 1e4)[0]
    assert read(test, "0.1 ohm", 0.0)[0] == pytest.approx(read(test, "0 ohm", 0.1)[0], rel=0.5)


def test_what_nobody_described_shows_anything_on_the_meter() -> None:
    """Uniform over what the meter may show: 1.3 of the battery's volts, 30 A, eight decades of ohms."""
    def anything(test: str, value: str) -> float:
        item = reading(test, value)
        return math.exp(undescribed_value(item.value, item.test.kind, 12.0))

    assert anything(VOLTS, "11.8 V") == pytest.approx(0.1 / 15.6)
    assert anything(VOLTS, "11.80 V") == pytest.approx(0.01 / 15.6)
    assert anything(VOLTS, "9 to 12 V") == pytest.approx(3 / 15.6) and anything(VOLTS, "could not") == 1.0
    assert anything("ohms left rear.stop to body", "open") == pytest.approx(0.3)
    assert anything("ohms left rear.stop to body", "100 ohm") == pytest.approx(0.04 / 8)
    decade = math.log10(100.15 / 10.15)
    assert anything("ohms left rear.stop to body", "10 to 100 ohm") == pytest.approx(decade / 8)


@pytest.mark.parametrize(("low", "high", "predicted", "moves"), [
    (3.0, 11.5, 0.0, True), (11.0, 11.8, 0.0, False), (3.0, 11.5, 12.0, False), (3.0, 11.5, 11.5, False),
    (-4.0, 11.5, 0.0, False), (3.0, 14.0, 0.0, False),
])
def test_a_reading_that_moves_speaks_for_a_contact_that_comes_and_goes(
    low: float, high: float, predicted: float, moves: bool
) -> None:
    """A third of the way between bad and sound at least, and nothing beyond either."""
    stays, comes = wiggled_loglik(np.array([predicted]), 12.0, Value(low, high, 0.1), "volts", 12.0)
    assert chance(stays) == pytest.approx([0.05]) and chance(comes) == pytest.approx([0.95 if moves else 0.05])


def test_readings_that_are_all_low_tell_the_battery_and_no_fault() -> None:
    """Each of ten shows what a battery at 0.964 gives: the first is a little unlikely, the last is expected."""
    doubt = SupplyDoubt(1)
    at = np.where(np.isclose(FACTORS, 0.964), 0.0, -5.0)[:, None]
    told = [float(doubt.weigh(ONE, at)[0]) for _ in range(10)]
    assert told[0] < told[1] < 0 and told[-1] == pytest.approx(0.0, abs=1e-3)
    once, ten = SupplyDoubt(1), SupplyDoubt(1)
    assert float(ten.weigh(ONE, at, times=10)[0]) == pytest.approx(sum(told) / 10)
    assert math.exp(float(once.weigh(ONE, np.zeros((len(FACTORS), 1)))[0])) == pytest.approx(1.0)
