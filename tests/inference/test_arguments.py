"""Where the formulas of `bayes` refuse their arguments, and where they do not yet: closed forms at the borders."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tracer.inference.bayes import (
    brier,
    expected_calibration_error,
    group_shares,
    interval_loglik,
    log_loss,
    ordered_word_probabilities,
    passed_test_probability,
    posterior,
    reading_loglik,
    tempered,
)

NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize("call", [
    lambda: posterior([], []), lambda: posterior([[1.0]], []), lambda: posterior([0.0, 0.0], []),
    lambda: posterior([1.0, -0.1], []), lambda: posterior([1.0, NAN], []), lambda: posterior([1.0, INF], []),
    lambda: posterior([1.0], [], -0.1), lambda: posterior([1.0], [], 1.0),
    lambda: posterior([1.0, 1.0], [[0.0]]), lambda: posterior([1.0], [[0.0]], 0.1, []),
    lambda: posterior([1.0], [[0.0]], 0.1, [0.0, 0.0]), lambda: posterior([1.0], [0.0, 0.0]),
    lambda: posterior([1.0], [[NAN]]), lambda: posterior([1.0], [[INF]]), lambda: posterior([1.0], [[-INF]]),
    lambda: posterior([1.0], [[0.0]], 0.1, [NAN]),
    lambda: group_shares([0.5, 0.5], ["a"]),
    lambda: ordered_word_probabilities(0.0, [0.0, 0.0], 1.0, 0.0),
    lambda: ordered_word_probabilities(0.0, [1.0, 0.0], 1.0, 0.0),
    lambda: ordered_word_probabilities(0.0, 0.0, 1.0, 0.0),
    lambda: ordered_word_probabilities(0.0, [0.0, 1.0], 0.0, 0.0),
    lambda: ordered_word_probabilities(0.0, [0.0, 1.0], [1.0, -1.0], 0.0),
    lambda: ordered_word_probabilities(0.0, [0.0, 1.0], 1.0, -0.1),
    lambda: ordered_word_probabilities(0.0, [0.0, 1.0], 1.0, 1.1),
    lambda: ordered_word_probabilities(NAN, [0.0, 1.0], 1.0, 0.0),
    lambda: reading_loglik(1.0, [1.0], 1.0, -0.1), lambda: reading_loglik(1.0, [NAN], 1.0, 0.1),
    lambda: reading_loglik(1.0, [1.0], 0.0, 0.1), lambda: reading_loglik(1.0, [1.0], -1.0, 0.0),
    lambda: reading_loglik(1.0, [1.0], 1.0, 0.1, 1.1), lambda: reading_loglik(1.0, [1.0], 1.0, 0.1, -0.1),
    lambda: reading_loglik(1.0, [1.0], 1.0, 0.1, 0.1, (1.0, 1.0)),
    lambda: reading_loglik(1.0, [1.0], 1.0, 0.0, 0.1, (1.0, 0.0)),
    lambda: interval_loglik(1.0, 1.0, [1.0], 1.0), lambda: interval_loglik(1.0, 0.0, [1.0], 1.0),
    lambda: passed_test_probability(-0.1), lambda: passed_test_probability(1.1),
    lambda: passed_test_probability(NAN), lambda: passed_test_probability(0.5, -1),
    lambda: tempered([], 1.0), lambda: tempered([0.0], 1.0), lambda: tempered([1.0, -1.0, 3.0], 1.0),
    lambda: tempered([1.0, NAN], 1.0), lambda: tempered([1.0], -0.1),
    lambda: brier([[1.0, 0.0]], [2]), lambda: brier([[1.0, 0.0]], [-1]), lambda: log_loss([[1.0, 0.0]], [0, 1]),
    lambda: log_loss([1.0, 0.0], [0]), lambda: expected_calibration_error(np.zeros((0, 2)), []),
])
def test_what_cannot_be_is_refused(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError):
        call()


def test_borders_are_taken() -> None:
    """No share for none of these, a slip that is certain, a case alone, no test passed."""
    assert posterior([1.0, 0.0], []).share == pytest.approx([1.0, 0.0])
    none = posterior([2.0, 6.0], [], 0.0)
    assert none.undescribed == 0.0 and none.log_evidence == 0.0 and len(none.surprise) == 0
    assert ordered_word_probabilities(0.0, [0.0], 1.0, 0.0) == pytest.approx([0.5, 0.5])
    assert ordered_word_probabilities(9.0, [0.0, 1.0], 1.0, 1.0) == pytest.approx([1 / 3] * 3)
    assert ordered_word_probabilities(-INF, [0.0, 1.0], 1.0, 0.0) == pytest.approx([1.0, 0.0, 0.0])
    assert passed_test_probability([0.0, 1.0, 0.5], 2) == pytest.approx([1.0, 0.0, 0.25])
    assert passed_test_probability(1.0, 0) == 1.0
    assert tempered([1.0, 4.0, 0.0], 0.5) == pytest.approx([1 / 3, 2 / 3, 0.0])
    assert tempered([1.0, 4.0, 0.0], 0.0) == pytest.approx([0.5, 0.5, 0.0])
    assert log_loss([[0.25, 0.75]], [1]) == pytest.approx(-np.log(0.75)) and log_loss([[1.0, 0.0]], [1]) == INF
    assert brier([[0.25, 0.75]], [1]) == pytest.approx(2 * 0.25**2)
    assert expected_calibration_error([[0.25, 0.75]], [1]) == pytest.approx(0.25)
    # Two bins of ten: 0.75 and right, 0.95 and wrong.
    assert expected_calibration_error([[0.25, 0.75], [0.95, 0.05]], [1, 1]) == pytest.approx((0.25 + 0.95) / 2)
    # In one bin what is too sure makes up for what is not sure enough.
    assert expected_calibration_error([[0.25, 0.75], [0.75, 0.25]], [1, 1]) == pytest.approx(0.25)
    # Who is certain stands in the last bin, with who is nearly so.
    assert expected_calibration_error([[1.0, 0.0]], [0]) == 0.0
    assert expected_calibration_error([[1.0, 0.0], [0.95, 0.05]], [1, 0]) == pytest.approx((1 - 0.05) / 2)


def test_a_meter_shows_a_value_by_its_step_or_its_density() -> None:
    """The normal density, and with a last digit the part of it between half a step below and half a step above."""
    at = 1 / np.sqrt(2 * np.pi) / 0.5
    assert np.exp(reading_loglik(1.0, [1.0, 2.0], 0.5, 0.0)) == pytest.approx([at, at * np.exp(-2.0)])
    assert np.exp(reading_loglik(1.0, [1.0], 0.5, 0.01)) == pytest.approx([at * 0.01], rel=1e-3)
    # A stray value may be anywhere in its range, and nowhere else.
    assert np.exp(reading_loglik(3.0, [90.0], 0.5, 0.0, 0.2, (0.0, 4.0))) == pytest.approx([0.2 / 4])
    assert reading_loglik(5.0, [90.0], 0.5, 0.0, 0.2, (0.0, 4.0)) == pytest.approx([-INF])
    assert np.exp(reading_loglik(4.0, [90.0], 0.5, 0.0, 0.2, (0.0, 4.0))) == pytest.approx([0.2 / 4])
    assert np.exp(interval_loglik(1.0, 3.0, [90.0], 0.5, 0.2, (0.0, 4.0))) == pytest.approx([0.2 * 2 / 4])
    assert np.exp(interval_loglik(3.0, INF, [90.0], 0.5, 0.2, (0.0, 4.0))) == pytest.approx([0.8 + 0.2 / 4])
    # Far up the right tail as far down the left one.
    up, down = interval_loglik(8.0, 9.0, [0.0], 1.0), interval_loglik(-9.0, -8.0, [0.0], 1.0)
    assert up == pytest.approx(down) and up[0] > -INF


def test_shares_add_up_by_label_largest_first() -> None:
    found = group_shares([0.125, 0.375, 0.25, 0.5], ["a", "b", "a", "c"])
    assert list(found.items()) == [("c", 0.5), ("a", 0.375), ("b", 0.375)]


def test_surprise_is_told_piece_by_piece() -> None:
    """A fair and a double-headed coin as likely: heads 3/4, then heads again 5/6, by Bayes' rule."""
    heads = [np.log(0.5), 0.0]
    found = posterior([1.0, 1.0], [heads, heads])
    assert np.exp(-found.surprise) == pytest.approx([3 / 4, 5 / 6]) and found.share == pytest.approx([0.2, 0.8])
    assert found.log_evidence == pytest.approx(np.log(5 / 8))
