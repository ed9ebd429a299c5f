"""Weighing hypotheses: priors, likelihoods of what was seen, posterior shares and scores.

Pure numbers. A hypothesis is an index 0..H-1; whoever calls knows what it stands for. Logarithms
are natural unless a name says otherwise. Bad arguments raise ValueError: they are mistakes of the
caller, never of the person who typed a reading.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Label = TypeVar("Label", bound=Hashable)
_erfc = np.frompyfunc(math.erfc, 1, 1)
_PIECES_AT_ONCE = 256


class Posterior(Struct, frozen=True, eq=False):
    """What is believed after the evidence.

    Attributes:
        share: (H,) probability of each hypothesis.
        undescribed: Probability that the truth is none of them; share.sum() + undescribed = 1.
        log_evidence: ln of the probability of all evidence under everything together.
        surprise: (E,) -ln of the probability of each piece of evidence given those before it;
            their sum is -log_evidence. A large one marks a reading nothing expected.
    """

    share: Array
    undescribed: float
    log_evidence: float
    surprise: Array


def posterior(
    prior: ArrayLike, loglik: ArrayLike, undescribed_prior: float = 0.0, undescribed_loglik: ArrayLike = ()
) -> Posterior:
    """Bayes' rule over hypotheses and one "none of these".

    Evidence is taken as independent given the hypothesis. What was not looked at is no evidence: leave
    it out, or give it a row of zeros.

    Args:
        prior: (H,) weights, at least one above zero; scaled to sum to 1 - undescribed_prior.
        loglik: (E, H) ln of the probability (or density) of each piece of evidence; -inf is allowed.
        undescribed_prior: Prior share of "none of these", 0 <= value < 1.
        undescribed_loglik: (E,) ln probability of the same evidence under "none of these", in the
            same unit as `loglik` (a density must not be compared with a probability). May be left
            out when `undescribed_prior` is 0.

    Returns:
        The posterior; its shares sum to one.

    Raises:
        ValueError: Shapes that do not fit, negative or non-finite priors, NaN or +inf likelihoods,
            or evidence that is impossible under every hypothesis and under "none of these".
    """
    weights = np.asarray(prior, dtype=float)
    table = np.asarray(loglik, dtype=float)
    if weights.ndim != 1 or not np.all(np.isfinite(weights)) or np.any(weights < 0) or weights.sum() <= 0:
        raise ValueError("prior must be a vector of finite weights >= 0, not all zero")
    if not 0.0 <= undescribed_prior < 1.0:
        raise ValueError("undescribed_prior must be in [0, 1)")
    table = table.reshape(0, weights.size) if table.size == 0 else table
    beyond = np.asarray(undescribed_loglik, dtype=float)
    if undescribed_prior == 0.0 and beyond.size == 0:
        beyond = np.zeros(table.shape[0])
    if table.ndim != 2 or table.shape[1] != weights.size or beyond.shape != (table.shape[0],):
        raise ValueError("loglik must be (E, H) and undescribed_loglik (E,)")
    start = np.append(weights / weights.sum() * (1.0 - undescribed_prior), undescribed_prior)
    joint = _safe_log(start)
    totals = [_logsumexp_rows(joint[None])]
    for first in range(0, len(table), _PIECES_AT_ONCE):  # long jobs have a table of a gigabyte
        part = slice(first, first + _PIECES_AT_ONCE)
        rows = np.column_stack([table[part], beyond[part]])
        if np.any(np.isnan(rows)) or np.any(rows == np.inf):
            raise ValueError("log-likelihoods must not be NaN or +inf")
        after = np.vstack([joint, rows]).cumsum(axis=0)[1:]  # each piece of evidence
        totals.append(_logsumexp_rows(after))
        joint = after[-1]
    total = np.concatenate(totals)
    if total[-1] == -np.inf:
        raise ValueError("the evidence is impossible under every hypothesis; give a share to none of these")
    share = np.exp(joint - total[-1])
    share /= share.sum()
    return Posterior(share[:-1], float(share[-1]), float(total[-1] - total[0]), -np.diff(total))


def group_shares(share: ArrayLike, labels: Sequence[Label]) -> dict[Label, float]:
    """Shares added up by label (part, repair, group of faults no test can tell apart).

    Args:
        share: (H,) probabilities.
        labels: H labels.

    Returns:
        Label to share, largest first; equal shares keep the order of first appearance.

    Raises:
        ValueError: Different lengths.
    """
    totals: dict[Label, float] = {}
    for label, value in zip(labels, np.asarray(share, dtype=float).tolist(), strict=True):
        totals[label] = totals.get(label, 0.0) + value
    return dict(sorted(totals.items(), key=lambda item: -item[1]))


def ordered_word_probabilities(x: ArrayLike, borders: ArrayLike, softness: ArrayLike, slip: float) -> Array:
    """Probability of each of K ordered words ("off", "dim", …) for a quantity judged by eye.

    Ordered probit with a lapse: the eye sees x plus Gaussian noise and names the interval; with
    probability `slip` the word is any of the K (ordered regression: P. McCullagh, J. R. Stat. Soc. B
    42, 1980).

    Args:
        x: (...,) true value on the scale of the borders (log10 of flux for lamps); -inf is "dark".
        borders: (K-1,) rising borders between neighbouring words.
        softness: Standard deviation of the judgement, > 0; one number or (K-1,), one per border.
        slip: Probability of a random word, 0..1.

    Returns:
        (..., K) probabilities; each row sums to one.

    Raises:
        ValueError: Borders that do not rise, softness <= 0, slip outside 0..1, NaN in x.
    """
    value = np.asarray(x, dtype=float)[..., None]
    edge = np.asarray(borders, dtype=float)
    soft = np.broadcast_to(np.asarray(softness, dtype=float), edge.shape)
    if edge.ndim != 1 or np.any(np.diff(edge) <= 0) or np.any(soft <= 0):
        raise ValueError("borders must be a rising vector and softness above zero")
    if not 0.0 <= slip <= 1.0 or np.any(np.isnan(value)):
        raise ValueError("slip must be in 0..1 and x must not be NaN")
    return words_between(normal_cdf((edge - value) / soft), slip)


def words_between(below: Array, slip: float) -> Array:
    """Probability of each of K words from (..., K-1) probabilities that each border between them is above what is
    seen; `slip` as of `ordered_word_probabilities`."""
    # Borders of different softness cross far out in the tails, where "below border 2" would come out
    # less probable than "below border 1"; the running maximum takes that back.
    below = np.maximum.accumulate(below, axis=-1)
    least = np.zeros_like(below[..., :1])
    ends = np.concatenate([least, below, least + 1.0], axis=-1)
    words: Array = (1.0 - slip) * np.diff(ends, axis=-1) + slip / (below.shape[-1] + 1)
    return words


def reading_loglik(
    shown: float,
    predicted: ArrayLike,
    sigma: ArrayLike,
    resolution: float,
    tail_share: float = 0.0,
    tail_range: tuple[float, float] = (0.0, 1.0),
) -> Array:
    """ln of the probability that a meter shows `shown`.

    The display is the true value plus Gaussian error, rounded to the resolution; with probability
    `tail_share` the reading has nothing to do with the prediction (slipped probe, wrong pin) and is
    uniform over `tail_range`. With resolution 0 the result is the ln of a density instead.

    Args:
        shown: Displayed value, in the unit of `predicted`.
        predicted: (H,) value expected under each hypothesis.
        sigma: (H,) or one number: standard deviation of instrument and model together, > 0.
        resolution: Step of the last digit, >= 0.
        tail_share: 0..1.
        tail_range: (low, high) that a stray reading may take.

    Returns:
        (H,) log-likelihoods; -inf where impossible.

    Raises:
        ValueError: NaN, sigma <= 0, resolution < 0, tail_share outside 0..1 or an empty range.
    """
    if resolution < 0:
        raise ValueError("resolution must be >= 0")
    if resolution > 0:
        half = resolution / 2
        return interval_loglik(shown - half, shown + half, predicted, sigma, tail_share, tail_range)
    mean, spread = _mean_and_spread(predicted, sigma, tail_share, tail_range)
    z = (shown - mean) / spread
    density = (1.0 - tail_share) * np.exp(-0.5 * z * z) / (spread * math.sqrt(2 * math.pi))
    if tail_range[0] <= shown <= tail_range[1]:
        density = density + tail_share / (tail_range[1] - tail_range[0])
    return _safe_log(density)


def interval_loglik(
    low: float,
    high: float,
    predicted: ArrayLike,
    sigma: ArrayLike,
    tail_share: float = 0.0,
    tail_range: tuple[float, float] = (0.0, 1.0),
) -> Array:
    """ln of the probability that a value lies between two bounds ("over 11 V", "between 2 and 4 A").

    Args:
        low: Lower bound, may be -inf.
        high: Upper bound, > low, may be +inf.
        predicted: (H,) value expected under each hypothesis.
        sigma: (H,) or one number: standard deviation, > 0.
        tail_share: Probability of a value that has nothing to do with the prediction.
        tail_range: (low, high) over which such values are uniform.

    Returns:
        (H,) log-likelihoods; -inf where impossible.

    Raises:
        ValueError: As `reading_loglik`, or high <= low.
    """
    if not low < high:
        raise ValueError("the interval is empty")
    mean, spread = _mean_and_spread(predicted, sigma, tail_share, tail_range)
    lower, upper = (low - mean) / spread, (high - mean) / spread
    # Phi(upper) - Phi(lower) loses every digit far up the right tail; its mirror image does not.
    mirrored = lower > 0
    inside = normal_cdf(np.where(mirrored, -lower, upper)) - normal_cdf(np.where(mirrored, -upper, lower))
    overlap = max(0.0, min(high, tail_range[1]) - max(low, tail_range[0]))
    return _safe_log((1.0 - tail_share) * inside + tail_share * overlap / (tail_range[1] - tail_range[0]))


def passed_test_probability(activation: ArrayLike, passes: int = 1) -> Array:
    """Probability that an intermittent fault shows nothing in a number of tests.

    Args:
        activation: (...,) chance that the fault is awake during one test, 0..1.
        passes: How many separate tests were passed.

    Returns:
        (1 - activation) ** passes, shape of `activation`.

    Raises:
        ValueError: activation outside 0..1 or passes < 0.
    """
    awake = np.asarray(activation, dtype=float)
    if np.any((awake < 0) | (awake > 1)) or np.any(np.isnan(awake)) or passes < 0:
        raise ValueError("activation must be in 0..1 and passes >= 0")
    return np.asarray((1.0 - awake) ** passes, dtype=float)


def tempered(prior: ArrayLike, power: float) -> Array:
    """Prior raised to a power and scaled to sum to one: 1 trusts it, 0 makes all possible ones equal.

    Failure rates from one kind of vehicle order the suspects of another better than they size them;
    a power below one keeps the order and limits what a wrong rate can cost.

    Args:
        prior: (H,) weights >= 0, not all zero. Zeros stay zero.
        power: >= 0.

    Returns:
        (H,) probabilities.

    Raises:
        ValueError: Negative or non-finite weights, all zero, negative power.
    """
    weights = np.asarray(prior, dtype=float)
    if not np.all(np.isfinite(weights)) or np.any(weights < 0) or weights.sum() <= 0 or power < 0:
        raise ValueError("prior must be finite, >= 0 and not all zero; power >= 0")
    scaled = np.where(weights > 0, (weights / weights.max()) ** power, 0.0)
    return np.asarray(scaled / scaled.sum(), dtype=float)


def brier(probability: ArrayLike, truth: ArrayLike) -> float:
    """Mean over cases of the summed squared error (G. W. Brier, Mon. Weather Rev. 78, 1950), 0..2.

    Args:
        probability: (N, K) shares.
        truth: (N,) index of what was true.

    Raises:
        ValueError: Shapes that do not fit or an index outside 0..K-1 (also for the scores below).
    """
    p, true = _cases(probability, truth)
    return float(np.mean(np.sum((p - np.eye(p.shape[1])[true]) ** 2, axis=1)))


def log_loss(probability: ArrayLike, truth: ArrayLike) -> float:
    """Mean of -ln of the share given to the truth, in nats; inf if that share was ever zero."""
    p, true = _cases(probability, truth)
    return float(-np.mean(_safe_log(p[np.arange(true.size), true])))


def expected_calibration_error(probability: ArrayLike, truth: ArrayLike, bins: int = 10) -> float:
    """How far the share of the first suspect is from how often it is right, 0..1.

    Cases are put into `bins` equal bins [a, b) by the share of their first suspect; the result is
    the mean |share - frequency| weighted by the cases in each bin.
    """
    p, true = _cases(probability, truth)
    top = p.argmax(axis=1)
    confidence, right = p[np.arange(true.size), top], (top == true).astype(float)
    which = np.minimum((confidence * bins).astype(int), bins - 1)
    gap = np.bincount(which, weights=confidence - right, minlength=bins)
    return float(np.abs(gap).sum() / true.size)


def _cases(probability: ArrayLike, truth: ArrayLike) -> tuple[Array, NDArray[np.int64]]:
    p, true = np.asarray(probability, dtype=float), np.asarray(truth, dtype=np.int64)
    fits = p.ndim == 2 and true.shape == p.shape[:1] and true.size > 0
    if not fits or np.any((true < 0) | (true >= p.shape[1])):
        raise ValueError("probability must be (N, K), truth (N,) with values 0..K-1, N > 0")
    return p, true


def _mean_and_spread(
    predicted: ArrayLike, sigma: ArrayLike, tail_share: float, tail_range: tuple[float, float]
) -> tuple[Array, Array]:
    mean, spread = np.broadcast_arrays(np.asarray(predicted, dtype=float), np.asarray(sigma, dtype=float))
    if np.any(np.isnan(mean)) or not np.all(spread > 0):
        raise ValueError("predicted must not be NaN and sigma must be above zero")
    if not 0.0 <= tail_share <= 1.0 or not tail_range[0] < tail_range[1]:
        raise ValueError("tail_share must be in 0..1 and tail_range must rise")
    return mean, spread


def normal_cdf(z: Array) -> Array:
    """Probability that a standard normal variable is at most z."""
    x = np.asarray(-z / math.sqrt(2.0), dtype=float)
    out = np.where(x < 0, 2.0, 0.0)  # as `math.erfc` has it far out, where half of a grid lies
    near = ~((x < -6.0) | (x > 28.0))
    out[near] = _erfc(x[near])
    return 0.5 * out


def _safe_log(value: Array) -> Array:
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(value), dtype=float)


def _logsumexp_rows(table: Array) -> Array:
    top = table.max(axis=1, keepdims=True)
    base = np.where(np.isfinite(top), top, 0.0)
    return base[:, 0] + _safe_log(np.exp(table - base).sum(axis=1))
