"""Which of thousands of possible tests are worth planning with."""

from __future__ import annotations

import numpy as np

from tracer.circuit.model import Floats, Ints
from tracer.inference.diagnosis import Diagnosis
from tracer.planning.costs import Standing
from tracer.planning.engine.core import xlogx
from tracer.planning.outcomes import Candidate

_CHECKS = 30
_PARTING_CHECKS = 28
_LEAST_PARTED = 0.002  # minutes saved a minute, below which parting two suspects is not planned for
_LEAST_BITS = 0.02  # a test that tells less only promises what the error model grants everything


def screened(
    every: list[Candidate], prior: Floats, label: Ints, standing: Standing, diagnosis: Diagnosis, price: Floats
) -> list[Candidate]:
    """The candidates to plan with: those with most bits about the repair per minute, the few with most bits
    at all, and those that part the suspects which the ones before leave together; the later steps of a
    plan need these."""
    harness = diagnosis.predictor.harness
    if not len(every):
        return []
    start = np.cumsum([0, *(len(c.outcomes) for c in every)])[:-1]
    shown = _shown(every, prior[:-1], label[:-1])
    share = np.bincount(label[:-1], weights=prior[:-1]) / prior[:-1].sum()
    bits = _bits(shown, share, start)
    minutes = np.array([c.minutes(standing, harness) for c in every])
    first = [
        *np.argsort(-bits / (minutes + 0.3), kind="stable")[: _CHECKS - 12], *np.argsort(-bits, kind="stable")[:12]
    ]
    chosen = dict.fromkeys(int(i) for i in first if bits[i] > _LEAST_BITS)
    # Minutes lost by taking one suspect for another, by pairs, as far as the chosen tests leave them alike.
    alike = _alike(shown, start)
    one, two = np.triu_indices(len(share), 1)
    lost = np.minimum(price[one], price[two]) * np.minimum(share[one], share[two])
    lost = lost * alike[:, list(chosen)].min(axis=1, initial=1.0)
    parted = 1 - alike
    for _ in range(_PARTING_CHECKS):
        gain = lost @ parted / (minutes + 0.5)
        gain[list(chosen)] = 0.0
        # Of those that are as good but for the last digits, added up in one and the same order, the first.
        near = np.flatnonzero(gain >= gain.max() * (1 - 1e-9))
        best = int(near[((parted[:, near].T * lost).sum(axis=1) / (minutes[near] + 0.5)).argmax()])
        if gain[best] < _LEAST_PARTED:
            break
        chosen[best] = None
        lost = lost * alike[:, best]
    # Looks at several lamps that tell the same are one test; the first (complained of, cheapest) stands
    # for them.
    kept: dict[tuple[str, bytes], Candidate] = {}
    for i in chosen:
        c = every[i]
        kept.setdefault((c.test.kind, np.round(c.likelihood * 8).tobytes()), c)
    return list(kept.values())


def _shown(every: list[Candidate], prior: Floats, label: Ints) -> Floats:
    """(outcomes of all candidates, R) probabilities of what each repair's hypotheses show together."""
    table = np.vstack([c.likelihood for c in every])
    of = (label[:, None] == np.arange(label.max() + 1)) * prior[:, None]
    return np.asarray(table @ (of / of.sum(axis=0)))


def _alike(shown: Floats, start: Ints) -> Floats:
    """(pairs of repairs, candidates) share of the cases in which both of a pair show the same."""
    rows = np.ascontiguousarray(shown.T)
    pairs = [np.add.reduceat(np.minimum(own, rows[k:]), start, axis=1) for k, own in enumerate(rows, 1)]
    return np.concatenate(pairs)


def _bits(shown: Floats, share: Floats, start: Ints) -> Floats:
    """Bits that each candidate tells about the repair, rounded, so that of equal looks the first (at a lamp
    complained of) stays first."""
    joint = shown * share
    told = np.add.reduceat(xlogx(joint).sum(axis=1) - xlogx(joint.sum(axis=1)), start)
    return np.asarray(np.round(told - xlogx(share).sum(), 3))
