"""The outcomes that a reading is planned with."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from tracer.planning.outcomes import reading_outcomes


def test_a_reading_falls_beyond_a_border_as_often_as_the_normal_law_says() -> None:
    """Two suspects, 0 V ± 1 V and 10 V ± 3 V: the border lies at 5 V, five and one and two thirds standard deviations
    away. The logistic with the factor 1.702 stands for the normal integral within 0.0095 (Haley 1952, from memory);
    five in a thousand readings are taken to be anything."""
    words, table = reading_outcomes(np.array([0.0, 10.0]), np.array([1.0, 3.0]), ohms=False)
    assert words == ("below 5 V", "above 5 V")
    assert table.sum(axis=0) == pytest.approx(1.0)
    below = norm.cdf([5.0, (5.0 - 10.0) / 3.0])
    assert table[0] == pytest.approx(below, abs=0.0095 + 0.005)
    assert 0.0 < table[1, 0] < 0.005


def test_predictions_that_a_meter_cannot_tell_apart_have_one_outcome() -> None:
    words, table = reading_outcomes(np.array([10.0, 10.1]), np.array([0.1, 0.1]), ohms=False)
    assert words == ("anything",) and table.tolist() == [[1.0, 1.0]]


def test_the_outcomes_of_an_ohmmeter_are_told_in_ohms() -> None:
    """The scale is log10 of the resistance and 0.15 Ω of leads: half-way between 0.85 Ω and 99.85 Ω lies 9.85 Ω."""
    words, _ = reading_outcomes(np.array([0.0, 2.0]), np.array([0.1, 0.1]), ohms=True)
    assert words == ("below 9.8 Ω", "above 9.8 Ω")
