"""A test with the outcomes that the living hypotheses predict; into which outcomes the readings of a meter fall."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.planning.costs import ALSO_MIN, Standing, minutes_of

OHM_SIGMA: Final = 0.12  # decades by which a reading in ohms is off, on the scale of `reading_likelihood.ohm_scale`
# A stray reading (slipped probe) lies anywhere on the scale; that it lies where another suspect would
# have put it is several times rarer than the stray share of `likelihood`.
_STRAY: Final = 0.005
_MOST_BINS: Final = 6


@dataclass(frozen=True)
class Candidate:
    """A test and, for each outcome, its probability under each living hypothesis, (O, H). `also`: lamps that are
    seen with the one looked at and told as well; `again`: that was said already, and may be wrong."""

    test: Test
    outcomes: tuple[str, ...]
    likelihood: Floats
    also: tuple[str, ...] = ()
    again: bool = False

    def minutes(self, standing: Standing, harness: Harness) -> float:
        return minutes_of(self.test, standing, harness) + ALSO_MIN * len(self.also)


def reading_outcomes(mu: Floats, sigma: Floats, ohms: bool) -> tuple[tuple[str, ...], Floats]:
    """The outcomes of a reading in words, and their probabilities (O, H); one outcome if nothing is told apart.

    Args:
        mu, sigma: (H,) what each hypothesis predicts and how far a meter may be off: V, or
            `reading_likelihood.ohm_scale` if `ohms`.
    """
    borders = borders_between(mu, sigma)
    if not len(borders):
        return ("anything",), np.ones((1, len(mu)))
    below = 1 / (1 + np.exp(-1.702 * np.clip((borders[:, None] - mu) / sigma, -40, 40)))
    edges = np.vstack([np.zeros(len(mu)), below, np.ones(len(mu))])
    table = (1 - _STRAY) * np.diff(edges, axis=0) + _STRAY / (len(borders) + 1)
    shown = [10**x - 0.15 if ohms else x for x in borders]
    unit = "Ω" if ohms else "V"
    words = [f"below {shown[0]:.2g} {unit}"]
    words += [f"{low:.2g} to {high:.2g} {unit}" for low, high in pairwise(shown)]
    return (*words, f"above {shown[-1]:.2g} {unit}"), table


def borders_between(mu: Floats, sigma: Floats) -> Floats:
    """Values between the clusters of predictions that a meter can tell apart, at most a few."""
    order = np.argsort(mu)
    m, s = mu[order], sigma[order]
    gap = np.diff(m)
    clear = gap > 2.0 * np.maximum(s[:-1], s[1:])
    at = np.flatnonzero(clear)
    at = at[np.argsort(-gap[at], kind="stable")][: _MOST_BINS - 1]
    return np.sort((m[at] + m[at + 1]) / 2)
