"""A test with the outcomes that the living hypotheses predict; into which outcomes the readings of a meter fall."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Bools, Floats
from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.planning.costs import ALSO_MIN, Standing, minutes_of
from tracer.planning.engine.core import xlogx

# A stray reading (slipped probe) lies anywhere on the scale; that it lies where another suspect would
# have put it is several times rarer than the stray share of `likelihood`.
_STRAY: Final = 0.005
_MOST_BINS: Final = 6
_MOST_PLACES: Final = 24  # between the predictions of one test, where a border is thought of
LEAST_BITS: Final = 0.02  # about the repair that a border without a gap, or a finer word, must add


class Candidate(Struct, frozen=True):
    """A test and, for each outcome, its probability under each living hypothesis, (O, H). `also`: lamps that are
    seen with the one looked at and told as well; `again`: that was said already, and may be wrong."""

    test: Test
    outcomes: tuple[str, ...]
    likelihood: Floats
    also: tuple[str, ...] = ()
    again: bool = False

    def minutes(self, standing: Standing, harness: Harness) -> float:
        return minutes_of(self.test, standing, harness) + ALSO_MIN * len(self.also)


def reading_outcomes(
    mu: Floats, sigma: Floats, ohms: bool, shares: Floats | None = None
) -> tuple[tuple[str, ...], Floats]:
    """The outcomes of a reading in words, and their probabilities (O, H); one outcome if nothing is told apart.

    Args:
        mu, sigma: (H,) what each hypothesis predicts and how far a meter may be off: V, or
            `reading_likelihood.ohm_scale` if `ohms`.
        shares: (H, R) of the hypotheses by the repair that is called for.
    """
    borders = borders_between(mu, sigma, shares)
    if not len(borders):
        return ("anything",), np.ones((1, len(mu)))
    below = _below(borders, mu, sigma)
    edges = np.vstack([np.zeros(len(mu)), below, np.ones(len(mu))])
    table = (1 - _STRAY) * np.diff(edges, axis=0) + _STRAY / (len(borders) + 1)
    shown = [10**x - 0.15 if ohms else x for x in borders]
    unit = "Ω" if ohms else "V"
    words = [f"below {shown[0]:.2g} {unit}"]
    words += [f"{low:.2g} to {high:.2g} {unit}" for low, high in pairwise(shown)]
    return (*words, f"above {shown[-1]:.2g} {unit}"), table


def borders_between(mu: Floats, sigma: Floats, shares: Floats | None = None) -> Floats:
    """Values between the clusters of predictions that a meter can tell apart, at most a few.

    A bad joint of any resistance leaves no gap between the supply and nothing. Where the predictions run through,
    borders lie where they tell most about the repair (`shares` as in `reading_outcomes`): a lamp that gets all of the
    supply is one thing, one that gets the least bit less is another.
    """
    order = np.argsort(mu)
    m, s = mu[order], sigma[order]
    gap = np.diff(m)
    clear = gap > 2.0 * np.maximum(s[:-1], s[1:])
    at = np.flatnonzero(clear)
    at = at[np.argsort(-gap[at], kind="stable")][: _MOST_BINS - 1]
    found = np.sort((m[at] + m[at + 1]) / 2)
    if shares is None or len(found) == _MOST_BINS - 1:
        return found
    places = (m[:-1] + m[1:])[(gap > 0.0) & ~clear] / 2
    if len(places) > _MOST_PLACES:
        places = places[np.linspace(0, len(places) - 1, _MOST_PLACES).round().astype(int)]
    return _with_telling(found, places, mu, sigma, shares) if len(places) else found


def _below(borders: Floats, mu: Floats, sigma: Floats) -> Floats:
    """(B, H) how likely a reading is below each border."""
    return np.asarray(1 / (1 + np.exp(-1.702 * np.clip((borders[:, None] - mu) / sigma, -40, 40))))


def _with_telling(found: Floats, places: Floats, mu: Floats, sigma: Floats, shares: Floats) -> Floats:
    """The borders with those of other places, one after the other, that tell most about the repair; the least that
    each must tell is a part of what is in doubt, as these are shares of all hypotheses."""
    every = np.sort(np.concatenate([found, places]))
    joint = np.vstack([np.zeros(shares.shape[1]), _below(every, mu, sigma) @ shares, shares.sum(axis=0)])
    borders: Bools = np.isin(every, found)
    for _ in range(_MOST_BINS - 1 - len(found)):
        at = np.concatenate([[0], np.flatnonzero(borders) + 1, [len(joint) - 1]])
        here = np.arange(1, len(joint) - 1)
        right = np.searchsorted(at, here)
        low, high = joint[here] - joint[at[right - 1]], joint[at[right]] - joint[here]
        bits = doubt(low + high) - doubt(low) - doubt(high)
        bits[borders] = 0.0
        best = int(bits.argmax())
        if bits[best] < LEAST_BITS * shares.sum():
            break
        borders[best] = True
    return np.asarray(every[borders])


def doubt(joint: Floats) -> Floats:
    """(N,) bits of doubt about the repair, times their probability, in each row of masses by repair."""
    return np.asarray(xlogx(joint.sum(axis=1)) - xlogx(joint).sum(axis=1))
