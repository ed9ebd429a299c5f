"""What a chosen test may show, as answers that a job takes: each with its share of the cases, all of them together.

A number falls into one of a few ranges with borders between what the suspects predict; a look is one of the words;
for lamps seen together, all of their looks. Whoever plans ahead goes on from each.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import NO_CHANGE, Floats
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.reading_likelihood import OHM_LEADS, current_sigma, ohm_scale, ohm_sigma, reading_sigma
from tracer.inference.visual_inspection import hand_chances, shows_in
from tracer.inference.word_model import word_probability
from tracer.observation.evidence import Test
from tracer.observation.flasher_at_rest import either_way
from tracer.planning.candidate_looks import LOOK_OUTCOMES, Looks
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import borders_between
from tracer.planning.viewpoints import together

_REPAIRS: Final = 24  # as many as a step is chosen by
_ROWS_A_REPAIR: Final = 4
_LEAST: Final = 0.002  # share below which an answer is not gone on from
_SOUND: Final = 0.005  # share of the sound vehicle at least
_MOST_V: Final = 60.0
_OPEN_SCALE: Final = 6.5  # of `ohm_scale`, above which a meter shows open


class Branch(Struct, frozen=True):
    """One answer.

    Attributes:
        value: As a job takes it.
        share: Of the cases, 0 to 1.
        also: (lamp, look) of lamps seen from the same place.
        low, high: Of a number, in the unit of the test; an open end is infinite.
    """

    value: str
    share: float
    also: tuple[tuple[str, str], ...] = ()
    low: float = -np.inf
    high: float = np.inf


def branches_of(diagnosis: Diagnosis, test: Test, also: Sequence[str] = ()) -> tuple[Branch, ...]:
    """The answers to a test that the living hypotheses lead to, likeliest first for words, rising for numbers."""
    rows = [r for s in diagnosis.suspects[:_REPAIRS] for r in s.rows[:_ROWS_A_REPAIR]]
    living = Living(diagnosis, rows)
    shares = living.shares / living.shares.sum()
    if test.row.findings is not None:
        found = hand_chances(
            test, living.hypotheses,
            lambda t: np.asarray(shows_in(living.panel(t.state), living.predictor, t)[living.one_of]),
            lambda t: np.asarray(living.predictor.observed(t, living.changes)[living.one_of]), living.harness,
        )
        return _kept(test.row.findings, np.array([found, 1 - found]) @ shares)
    by_change = np.zeros(len(living.changes))
    np.add.at(by_change, living.one_of, shares)
    if test.row.of_lamps:
        return _looks(living, test, also, by_change)
    if test.row.shows_light:
        shown = living.predictor.observed(test, living.changes)
        words = (["dark"], ["faint"], ["dim"], ["normal", "bright"])
        table = np.array([word_probability(shown, frozenset(w)) for w in words])
        return _kept(LOOK_OUTCOMES[:4], table @ by_change)
    return _numbers(living, test, by_change)


def _looks(living: Living, test: Test, also: Sequence[str], shares: Floats) -> tuple[Branch, ...]:
    lamps = (test.lamp, *also)
    tables = Looks(living).outcomes(living.panel(test.state, test.done), lamps, test.state)
    if not also:
        return _kept(LOOK_OUTCOMES, tables[0] @ shares)
    said, joint = together(lamps, list(tables), LOOK_OUTCOMES)
    found = []
    for words, share in zip(said[:-1], (joint @ shares)[:-1].tolist(), strict=True):  # the last: anything else
        looks = _apart(words, lamps)
        if share >= _LEAST:
            found.append(Branch(looks[0][1], share, looks[1:]))
    return tuple(sorted(found, key=lambda b: -b.share))


def _apart(words: str, lamps: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """The looks lamp by lamp of an outcome of `together`."""
    starts: list[int] = []
    for lamp in lamps:  # whose name may be part of the one before
        starts.append(words.index(f", {lamp} ", starts[-1]) + 2 if starts else 0)
    ends = [*(s - 2 for s in starts[1:]), len(words)]
    return tuple(
        (lamp, words[start + len(lamp) + 1 : end]) for lamp, start, end in zip(lamps, starts, ends, strict=True)
    )


def _kept(words: Sequence[str], shares: Floats) -> tuple[Branch, ...]:
    found = [Branch(w, float(s)) for w, s in zip(words, shares, strict=True) if s >= _LEAST]
    return tuple(sorted(found, key=lambda b: -b.share))


def _numbers(living: Living, test: Test, shares: Floats) -> tuple[Branch, ...]:
    """Ranges of what a meter shows. The sound vehicle counts too, so that a suspect who is alone can be cleared."""
    unknown = max(living.diagnosis.undescribed, _SOUND)
    # A reading that may go either way is so as often as the other.
    shown = either_way(living.predictor, [test], [*living.changes, NO_CHANGE])[0]
    ways, rows = shown.shape
    shares = np.tile(np.append(shares * (1 - unknown), unknown), ways) / ways
    beside = [np.append(x, rows - 1) for x in living.beside]
    prev, following = (np.concatenate([x + rows * k for k in range(ways)]) for x in beside)
    ohms, mu = test.row.log_scale, shown.ravel()
    if ohms:
        mu = ohm_scale(mu)
        sigma = ohm_sigma(mu, prev, following)
    elif test.row.of_supply:
        sigma = reading_sigma(mu, living.predictor.emf, living.predictor.supply_measured, prev, following)
    else:
        sigma = current_sigma(mu, prev, following)
    # The sound vehicle calls for no repair.
    by_repair = np.pad(living.by_repair * (1 - unknown), (0, 1))
    by_repair[-1, -1] = unknown
    borders = borders_between(mu, sigma, np.vstack([by_repair / ways] * ways))
    if not len(borders):
        return ()
    edges = [-np.inf, *borders.tolist(), np.inf]
    # As they are said, so that no number falls between what is shown and what is meant.
    told = [-np.inf, *(_said(x, ohms) for x in borders.tolist()), np.inf]
    out = []
    for (low, high), (least, most) in zip(pairwise(told), pairwise(edges), strict=True):
        own = (mu > least) & (mu <= most)
        share = float(shares[own].sum())
        if share >= _LEAST:
            value = _range(low, high, test.row.unit, float(mu[own].min()), ohms)
            out.append(Branch(value, share, (), low, high))
    return tuple(out)


def _said(border: float, ohms: bool) -> float:
    return float(f"{max(10**border - OHM_LEADS, 0.01) if ohms else border:.3g}")


def _range(low: float, high: float, unit: str, least: float, ohms: bool) -> str:
    """A range as a job takes it; `least`: the lowest value predicted in it."""
    if high == np.inf:
        return "open" if ohms and least > _OPEN_SCALE else f"above {low:g} {unit}"
    if low == -np.inf and (ohms or (high > 0 and least >= -high)):  # "below" is said of the size
        return f"below {high:g} {unit}"
    low = max(low, -_MOST_V)
    # With a minus after the word that parts them both need their unit.
    return f"{low:g} to {high:g} {unit}" if high >= 0 else f"{low:g} {unit} to {high:g} {unit}"
