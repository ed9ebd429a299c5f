"""Megohms: what an ohmmeter shows of insulation."""

from __future__ import annotations

import numpy as np
import pytest

from tests.library import MODELS
from tracer import load_harness
from tracer.inference.reading_likelihood import undescribed_value, value_loglik
from tracer.observation.evidence import Reading
from tracer.observation.test_kinds import TestKind
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value

HARNESS = load_harness(MODELS / "pickup.yaml")
TEST = parse_test("ohms left rear.stop to body", HARNESS)


def _weighed(shown: str, *predicted: float) -> tuple[np.ndarray, float]:
    reading, own = Reading(TEST, parse_value(shown, "ohms")), np.arange(len(predicted))
    found = value_loglik(np.array(predicted), reading.value, reading, 12.6, True, own, own)
    return found, undescribed_value(reading.value, "ohms", 12.6)


@pytest.mark.parametrize("shown", ["1489 kohm", "2 Mohm", "open", "300 kohm"])
def test_whatever_insulation_shows_is_expected_of_a_sound_one(shown: str) -> None:
    """A megohm by the circuit; a factor of five from it is a day's weather, and another meter says `open`."""
    (sound, short), random = _weighed(shown, 997009.0, 0.3)
    assert sound > random
    assert sound > short + 2


def test_what_is_meant_in_a_harness_is_read_as_sharply_as_before() -> None:
    """A coil of 85 Ω is none of 150 Ω: four times the spread of the meter away, by hand 0.25 of 0.06 decades."""
    (own, other), _ = _weighed("85 ohm", 85.0, 150.0)
    assert own > other + 2


@pytest.mark.parametrize(("kind", "shown"), [
    ("volts", "0 to 40 V"), ("current", "0 to 100 A"), ("ohms", "0.001 ohm to 900 Mohm"),
])
def test_no_reading_is_likelier_than_certain_however_wide_it_was_told(kind: TestKind, shown: str) -> None:
    """Under "not described" a meter may show anything it has: wider than that is no better than certain."""
    assert -0.1 < undescribed_value(parse_value(shown, kind), kind, 12.6) <= 0.0
