"""Ranges as they are said, and prices of tests, each held to the same thing in plain words over everything that can
be: every border and size, every test from everywhere a job may stand."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Test
from tracer.observation.test_kinds import EYES
from tracer.observation.words.readings import parse_test, parse_value
from tracer.planning.branches import _apart, _range, _said
from tracer.planning.costs import Standing, after_test, minutes_of
from tracer.safety.facts import opens_fed

# --- what is said of a range, and what a job understands by it

BORDERS = (-np.inf, -80.0, -12.0, -0.5, 0.0, 0.5, 5.0, 12.0, np.inf)
VOLTS = tuple(x / 4 for x in range(-59 * 4, 59 * 4 + 1))


@pytest.mark.parametrize(("low", "high"), [(a, b) for a, b in product(BORDERS, BORDERS) if a < b and (a, b) != (
    -np.inf, np.inf) and b > -60 and (b < np.inf or a > -60)])
def test_a_job_understands_a_range_of_volts_as_it_is_meant(low: float, high: float) -> None:
    """Every value of it that can be predicted, from the lowest on, and none beyond a border. "Below" is said of the
    size, since whoever reads "below 5 V" thinks of a meter that shows next to nothing: it is said only where nothing
    is predicted further below nought than that."""
    for least in (x for x in (-50.0, -12.5, -12.0, -5.0, -4.75, -0.5, 0.0, 0.25, 4.0, 11.0, 20.0) if low < x <= high):
        said = _range(low, high, "V", least, False)
        value = parse_value(said, "volts")
        for x in VOLTS:
            if low < x <= high and x >= least:
                assert value.low <= x <= value.high, (said, x)
            if x > high or x < low:
                size = "below" in said and x < low
                assert size or not value.low < x < value.high, (said, x)
        assert ("below" in said) == (low == -np.inf and high > 0 and least >= -high), said
        assert ("above" in said) == (high == np.inf)


@pytest.mark.parametrize(("low", "high", "least", "said"), [
    (1.0, np.inf, 6.6, "open"), (1.0, np.inf, 6.5, "above 1 Ω"), (1.0, np.inf, 0.3, "above 1 Ω"),
    (-np.inf, 0.2, -1.0, "below 0.2 Ω"), (-np.inf, 300.0, 2.0, "below 300 Ω"), (0.2, 300.0, 1.0, "0.2 to 300 Ω"),
])
def test_a_range_of_ohms_is_open_where_all_in_it_is(low: float, high: float, least: float, said: str) -> None:
    """`least` on the scale of ohms: what lies above it a meter shows as open."""
    assert _range(low, high, "Ω", least, True) == said and parse_value(said, "ohms").high >= min(high, 1e9)


@pytest.mark.parametrize(("border", "ohms", "said"), [
    (12.3456, False, 12.3), (0.04567, False, 0.0457), (-3.4567, False, -3.46), (0.0, True, 0.85), (1.0, True, 9.85),
    (-2.0, True, 0.01), (3.0, True, 1000.0), (-0.83, True, 0.01),
])
def test_a_border_is_said_in_three_digits_without_the_ohms_of_the_leads(
    border: float, ohms: bool, said: float,
) -> None:
    """0.15 Ω of them, and never less than a hundredth."""
    assert _said(border, ohms) == pytest.approx(said, rel=1e-9)


@pytest.mark.parametrize("lamps", [("tail",), ("tail", "stop"), ("left tail", "tail", "left tail too")])
def test_looks_that_are_said_together_are_told_apart(lamps: tuple[str, ...]) -> None:
    """Also where the name of one lamp is part of another's."""
    looks = ("dark", "normal or bright", "faint", "dim")[:len(lamps)]
    words = ", ".join(f"{lamp} {look}" for lamp, look in zip(lamps, looks, strict=True))
    assert _apart(words, lamps) == tuple(zip(lamps, looks, strict=True))


# --- what a test costs

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST, PRESSED = HARNESS.state({}), HARNESS.state({"brake pedal": "pressed"})
TESTS = (
    "volts left rear.stop when brake pedal pressed", "volts S2 when brake pedal pressed",
    "volts S1 when everything off", "test lamp at left rear.stop when everything off",
    "volt drop left rear.stop to left rear.earth when brake pedal pressed", "ohms left rear.earth to E1",
    "ohms S2 to body", "look left rear stop when brake pedal pressed",
    "look left rear stop when brake pedal pressed, lamp switch side",
    "amps S2 to left rear.stop when brake pedal pressed", "inspect S2", "inspect C1", "inspect left rear.earth to E1",
    "volts left rear.stop when brake pedal pressed with C1 unplugged",
    "look right rear stop when brake pedal pressed with left rear stop/tail out",
)


def by_hand(test: Test, at: Standing) -> float:
    """The minutes of a test, thing by thing, as the table of prices in the manual has them."""
    minutes = test.row.minutes + 0.5  # it is written down
    fed = opens_fed(test, HARNESS)
    dead = test.battery_off(HARNESS)
    if fed:
        minutes += 4.0 if at.battery_off else 6.0
    elif (dead and not at.battery_off) or (not dead and at.battery_off and not test.at_rest):
        minutes += 2.0
    if test.at_rest:
        thing = test.thing(HARNESS)
        lengths = (s.length_m for w in HARNESS.wires for s in w.segments if {s.a, s.b} == {thing.name, thing.other})
        along = next(lengths, 0.0)
        minutes += 1.5 if thing.kind == "splice" else along
    elif not dead:
        for name, control in HARNESS.controls.items():
            if at.state[name] != test.state[name]:
                minutes += control.minutes
                if control.needs_holding(test.state[name]) and name not in at.propped:
                    minutes += 1.5
    if test.instrument not in ("eyes", at.instrument) and test.instrument != EYES:
        minutes += 0.3
    places: dict[str, float] = {}
    nodes = [n for n in test.touched if n != "body"]
    for i in test.done:
        minutes += i.row.minutes
        nodes += i.row.nodes(HARNESS, i.target, i.other)
    for node in nodes:
        place, access = HARNESS.place_of(node)
        places[place] = max(access, places.get(place, 0.0))
    for i in test.done:
        places |= i.row.opens(i.target)
    minutes += sum(access for place, access in places.items() if place not in at.opened)
    if "probe at live contacts" in test.row.hazards:
        minutes += 1.5 * len([n for n in test.touched if n in HARNESS.splices])
    return minutes


@pytest.mark.parametrize("words", TESTS)
def test_a_test_costs_what_its_parts_cost_from_wherever_a_job_stands(words: str) -> None:
    """And leaves it where it was made: the state, unless nothing was set; every place open; the battery off where it
    had to be; what was propped stays propped."""
    test = parse_test(words, HARNESS)
    places = [frozenset[str](), frozenset({HARNESS.place_of("left rear.stop")[0]}), frozenset({
        HARNESS.place_of("S2")[0], HARNESS.place_of("C1.1")[0]})]
    for state, off, opened, instrument, propped in product(
            (REST, PRESSED), (False, True), places, (EYES, "voltmeter", test.instrument),
            (frozenset[str](), frozenset({"brake pedal"}))):
        at = Standing(state, opened, instrument, off, propped)
        assert minutes_of(test, at, HARNESS) == pytest.approx(by_hand(test, at)), at
        left = after_test(test, at, HARNESS)
        assert left.state == (state if test.dead else test.state)
        assert left.opened >= opened and left.propped == propped | {
            c for c, p in test.state.positions if HARNESS.controls[c].needs_holding(p)}
        assert left.battery_off == (test.battery_off(HARNESS) or opens_fed(test, HARNESS) or (off and test.at_rest))
        assert left.instrument == (instrument if test.instrument == EYES else test.instrument)
        again = minutes_of(test, left, HARNESS)
        assert again <= minutes_of(test, at, HARNESS) + 2.0, "but for the battery, what is done is done"
