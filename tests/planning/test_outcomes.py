"""The outcomes that a reading is planned with."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from tracer.planning.engine import information_gain
from tracer.planning.outcomes import borders_between, reading_outcomes


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


# --- predictions without a gap --------------------------------------------------------------------


def volts_at_a_lamp() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A dead lamp leaves the whole 12 V at its feed; a bad joint before it, of any size, leaves any voltage below."""
    mu = np.array([12.0, *np.arange(11.75, 0.0, -0.25)])
    shares = np.zeros((len(mu), 2))
    shares[0, 0], shares[1:, 1] = 0.5, 0.5 / (len(mu) - 1)
    return mu, np.full(len(mu), 0.15), shares


def test_where_predictions_run_through_a_border_lies_where_it_tells_most_about_the_repair() -> None:
    """A quarter of a volt between neighbours is less than twice the 0.15 V that a meter may be off, so there is no
    gap anywhere; the voltage at the feed, which every electrician takes first, told nothing."""
    mu, sigma, shares = volts_at_a_lamp()
    assert not len(borders_between(mu, sigma))
    words, table = reading_outcomes(mu, sigma, False, shares)
    told = information_gain(shares.sum(axis=1), np.argmax(shares, axis=1), table)
    # All but a joint within two sigma of the whole supply (one of 47 resistances) is told from the lamp: of one bit.
    assert 0.85 < told < 1.0
    assert words[-1] == "above 12 V" and table[-1, 0] > 0.7
    assert table.sum(axis=0) == pytest.approx(1.0)


def test_where_one_repair_is_called_for_nothing_is_split() -> None:
    """However wide the predictions of one bad joint lie, no reading says anything of the repair."""
    mu, sigma, shares = volts_at_a_lamp()
    shares[0] = 0.0
    assert not len(borders_between(mu, sigma, shares))


def test_borders_in_gaps_stand_and_there_are_no_more_than_five() -> None:
    """Between 12 V and what begins at 6 V lies a gap; whatever is added lies within the rest."""
    mu, sigma, shares = volts_at_a_lamp()
    keep = (mu == 12.0) | (mu <= 6.0)
    found = borders_between(mu[keep], sigma[keep], shares[keep])
    assert 9.0 in found.tolist() and len(found) <= 5
    for some in (mu > 0, keep, keep | (mu == 9.0)):  # without a gap, with one, with two
        n = int(some.sum())
        each = np.eye(n) / n  # each resistance of another joint
        assert len(borders_between(mu[some], sigma[some], each)) == 5
