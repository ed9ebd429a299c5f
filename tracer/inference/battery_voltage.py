"""The battery's voltage as one unknown that all voltage readings share.

A battery at 11.9 V makes every reading low by the same share. Taken one by one such readings would each
speak for a weak battery or a bad joint; taken together they only tell the battery's voltage (a nuisance
parameter, summed out over a grid).
"""

from __future__ import annotations

import numpy as np

from tracer.circuit.model import Floats, Ints
from tracer.inference.reading_likelihood import SUPPLY_SHARE

_STEPS = np.arange(-4, 5)
# Shares of the nominal supply; a step is less than two meter errors.
FACTORS: Floats = np.asarray(1.0 + 0.018 * _STEPS, dtype=np.float64)


class SupplyDoubt:
    """How likely each supply is under each of `rows` hypotheses, given the readings so far."""

    def __init__(self, rows: int) -> None:
        prior = -0.5 * ((FACTORS - 1.0) / SUPPLY_SHARE) ** 2
        self._log = np.repeat((prior - np.logaddexp.reduce(prior))[:, None], rows, axis=1)

    def weigh(self, active: Ints, loglik: Floats, times: int = 1) -> Floats:
        """ln probability of a reading given those before it, for the rows `active`; what it tells about the
        supply is kept. `loglik` (supplies, active) is the same at each of `FACTORS`. Of a reading that was made some
        `times` it is the mean of what each of them told."""
        # What they were before sums to one: what each reading told was taken off.
        after = self._log[:, active] + times * loglik
        most = after.max(axis=0)
        base = np.where(np.isfinite(most), most, 0.0)
        with np.errstate(divide="ignore"):
            told = base + np.log(np.exp(after - base).sum(axis=0))
        self._log[:, active] = after - told
        return np.asarray(told / times)
