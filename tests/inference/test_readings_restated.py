"""How likely a reading is, once more number by number: every kind of meter, every form of a value, many predictions,
beside the error model written down without arrays."""

from __future__ import annotations

import math
from itertools import pairwise, product

import numpy as np
import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.inference.reading_likelihood import undescribed_value, value_loglik, wiggled_loglik
from tracer.observation.evidence import Reading, Value
from tracer.observation.words.readings import parse_test, parse_value

HARNESS = load_harness(MODELS / "rear_end.yaml")
VOLTS = parse_test("volts left rear.stop when brake pedal pressed", HARNESS)
DROP = parse_test("volt drop left rear.stop to left rear.earth when brake pedal pressed", HARNESS)
OHMS = parse_test("ohms left rear.stop to body", HARNESS)
AMPS = parse_test("amps S2 to left rear.stop when brake pedal pressed", HARNESS)
EMF = 12.0


def phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))


def between(low: float, high: float, mu: float, sigma: float, span: tuple[float, float]) -> float:
    """Three readings in a hundred stray anywhere over the span; of what no vehicle gives something is left."""
    inside = phi((high - mu) / sigma) - phi((low - mu) / sigma)
    if (low - mu) / sigma > 0:
        inside = phi(-(low - mu) / sigma) - phi(-(high - mu) / sigma)
    stray = max(0.0, min(high, span[1]) - max(low, span[0])) / (span[1] - span[0])
    return max(math.log(0.97 * inside + 0.03 * stray) if 0.97 * inside + 0.03 * stray > 0 else -math.inf, -50.0)


def scale(ohm: float) -> float:
    return math.log10(min(ohm if math.isfinite(ohm) else 1e7, 1e7) + 0.15)


def volts_off(v: float, lower: float, higher: float, measured: bool) -> float:
    lost = min(abs(v), abs(EMF - abs(v)))
    drop = math.hypot(0.15 * lost + 0.06, 0.8 * min(lost, 0.4))
    battery = (0.006 if measured else 0.03) * abs(v)
    gap = 0.35 * max(abs(v - lower), abs(v - higher))
    return math.sqrt((0.008 * abs(v)) ** 2 + 0.015**2 + battery**2 + drop**2 + gap**2)


def amps_off(x: float, lower: float, higher: float) -> float:
    gap = 0.35 * max(abs(x - lower), abs(x - higher))
    return math.sqrt((0.03 * x) ** 2 + (0.08 * x) ** 2 + 0.03**2 + gap**2)


def ohms_off(mu: float, lower: float, higher: float) -> float:
    gap = 0.35 * max(abs(mu - lower), abs(mu - higher))
    return math.sqrt(0.06**2 + (0.15 / (10**mu * math.log(10))) ** 2 + (0.7 if mu > 5 else 0.0) ** 2 + gap**2)


NEIGHBOURS = ([0, 0, 1, 2, 3, 4, 5], [1, 2, 3, 4, 5, 6, 6])  # of seven severities, one after the other


@pytest.mark.parametrize("measured", [False, True])
@pytest.mark.parametrize("typed", [
    "0 V", "0.03 V", "5.5 V", "11.8 V", "12.40 V", "-0.2 V", "-11 V", "5 to 9 V", "below 2 V", "above 11 V", "20 V",
])
def test_volts(typed: str, measured: bool) -> None:
    value = parse_value(typed, "volts")
    at = [0.0, 0.1, 0.5, 5.0, 11.0, 12.3, -3.0]
    low, high = value.low, value.high
    if not high > low:
        low, high = low - value.resolution / 2, high + value.resolution / 2
    for test in (VOLTS, DROP):
        found = value_loglik(np.array(at), value, Reading(test, value), EMF, measured, *map(np.array, NEIGHBOURS))
        for k, v in enumerate(at):
            off = volts_off(v, at[NEIGHBOURS[0][k]], at[NEIGHBOURS[1][k]], measured)
            assert found[k] == pytest.approx(between(low, high, v, off, (-14.4, 14.4)), rel=1e-6, abs=1e-9), v


@pytest.mark.parametrize("typed", ["0 A", "0.35 A", "1.8 A", "4.20 A", "1 to 3 A", "above 5 A", "below 1 A", "29 A"])
def test_amps(typed: str) -> None:
    value = parse_value(typed, "current")
    at = [0.0, 0.2, 0.4, 1.75, 3.5, 8.0, 28.0]
    low, high = value.low, value.high
    if not high > low:
        low, high = low - value.resolution / 2, high + value.resolution / 2
    found = value_loglik(np.array(at), value, Reading(AMPS, value), EMF, False, *map(np.array, NEIGHBOURS))
    for k, x in enumerate(at):
        off = amps_off(x, at[NEIGHBOURS[0][k]], at[NEIGHBOURS[1][k]])
        assert found[k] == pytest.approx(between(low, high, x, off, (-0.1, 30.0)), rel=1e-6, abs=1e-9), x


@pytest.mark.parametrize("typed", [
    "0 ohm", "0.3 ohm", "5 ohm", "470 ohm", "12 kohm", "2 Mohm", "open", "1 to 10 ohm", "above 1 kohm", "below 2 ohm",
])
def test_ohms(typed: str) -> None:
    """Within a twentieth on the scale of decades; what is open or "above" has no end."""
    value = parse_value(typed, "ohms")
    at = [0.0, 0.2, 3.0, 50.0, 1e4, 3e5, math.inf]
    low, high = scale(value.low), scale(value.high)
    if not value.high > value.low:
        low, high = low - 0.02, high + 0.02
    if math.isinf(value.high):
        low, high = (min(low, 6.3) if value.low == value.high else low), math.inf
    found = value_loglik(np.array(at), value, Reading(OHMS, value), EMF, False, *map(np.array, NEIGHBOURS))
    mu = [scale(x) for x in at]
    for k, m in enumerate(mu):
        off = ohms_off(m, mu[NEIGHBOURS[0][k]], mu[NEIGHBOURS[1][k]])
        assert found[k] == pytest.approx(between(low, high, m, off, (-1.0, 7.5)), rel=1e-6, abs=1e-9), at[k]


@pytest.mark.parametrize("test", [VOLTS, DROP, AMPS])
def test_a_prediction_that_is_none_counts_as_what_nobody_described(test: object) -> None:
    """A meter in volts or amperes; an ohmmeter shows open."""
    made = VOLTS if test is VOLTS else DROP if test is DROP else AMPS
    value = parse_value("1.5 A" if made is AMPS else "1.5 V", made.kind)
    rows = np.arange(3)
    found = value_loglik(np.array([math.nan, math.inf, 1.5]), value, Reading(made, value), EMF, False, rows, rows)
    stray = undescribed_value(value, made.kind, EMF)
    assert found[:2].tolist() == [stray, stray] and found[2] > stray
    assert stray == pytest.approx(math.log(value.resolution / (30.0 if made is AMPS else 1.3 * EMF)))


@pytest.mark.parametrize(("typed", "kind", "p"), [
    ("11.8 V", "volts", 0.1 / 15.6), ("11.80 V", "drop", 0.01 / 15.6), ("above 11 V", "volts", None),
    ("1 to 3 A", "current", 2 / 30), ("2.0 A", "current", 0.1 / 30), ("above 0 A", "current", 1.0),
    ("5 to 7 ohm", "ohms", (scale(7) - scale(5)) / 8), ("5 to 5.1 ohm", "ohms", 0.04 / 8), ("open", "ohms", 0.3),
    ("above 1 kohm", "ohms", 0.3), ("dark", "test lamp", 1 / 5), ("dark or faint", "test lamp", 2 / 5),
    ("could not do it", "ohms", 1.0), ("-9 to 9 V", "volts", 1.0), ("8 to 20 V", "volts", 12 / 15.6),
])
def test_what_nobody_described_shows_anything(typed: str, kind: str, p: float | None) -> None:
    value = parse_value(typed, kind)  # type: ignore[arg-type]
    if p is None:
        p = min((value.high - value.low) / 15.6, 1.0)
    assert undescribed_value(value, kind, EMF) == pytest.approx(math.log(p))  # type: ignore[arg-type]


SOUND = {"volts": 12.0, "drop": 0.2, "current": 1.75, "ohms": 5.0}


@pytest.mark.parametrize("kind", ["volts", "ohms"])
def test_a_reading_moves_between_what_is_bad_and_what_is_sound(kind: str) -> None:
    """Three tenths of the way at least, and beyond neither by more than the meter errs; where bad and sound show
    hardly apart, something else was moved."""
    ohms = kind == "ohms"
    volts = [-1.0, 0.0, 0.5, 1.0, 3.0, 6.0, 11.0, 12.0, 12.7, 12.9, 13.5]
    marks = [0.0, 0.3, 2.0, 2.6, 5.0, 80.0, 1e5, math.inf] if ohms else volts
    loose = 4 * 0.06 if ohms else 2 * 0.03 * EMF + 0.06
    sound = SOUND[kind]
    for low, high in ((a, b) for a, b in product(marks, marks) if a < b):
        stays, comes = wiggled_loglik(np.array(marks), sound, Value(low, high, 0.1), kind, EMF)  # type: ignore[arg-type]
        for k, bad in enumerate(marks):
            lo, hi, one, two = (scale(x) if ohms else x for x in (low, high, bad, sound))
            least, most = min(one, two), max(one, two)
            reached = lo > least - loose and hi < most + loose and hi - lo > 0.3 * (most - least) and (
                most - least > loose)
            assert math.exp(comes[k]) == pytest.approx(0.95 if reached else 0.05), (low, high, bad)
            assert math.exp(stays[k]) == pytest.approx(0.05)
    nothing = wiggled_loglik(np.array([math.nan]), sound, Value(0.0, 3.0, 0.1), "volts", EMF)[1]
    assert math.exp(nothing[0]) == pytest.approx(0.05)


def test_a_reading_is_likelier_the_nearer_it_was_predicted() -> None:
    """On either side, for every kind of meter."""
    for test, kind, unit, at in ((VOLTS, "volts", "V", np.linspace(0, 14, 57)), (AMPS, "current", "A", np.linspace(
            0, 20, 41)), (OHMS, "ohms", "ohm", 10 ** np.linspace(-0.5, 5, 45))):
        for shown in at[[5, 20, 30]].tolist():
            value = parse_value(f"{shown:.2f} {unit}", kind)  # type: ignore[arg-type]
            rows = np.arange(len(at))
            found = value_loglik(np.full(1, value.low), value, Reading(test, value), EMF, False, rows[:1], rows[:1])
            others = value_loglik(at, value, Reading(test, value), EMF, False, rows, rows)
            below = others[at < value.low]
            assert all(a <= b + 1e-9 for a, b in pairwise(below.tolist())), (kind, shown)
            assert found[0] > others.min()
