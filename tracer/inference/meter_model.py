"""Readings: what an instrument showed. It tells everybody the same; severities between the grid's and one unknown
battery are summed out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import NO_CHANGE, Floats, Ints
from tracer.faults import Variant
from tracer.inference.battery_voltage import FACTORS, SupplyDoubt
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.reading_likelihood import value_loglik, wiggled_loglik
from tracer.inference.shown import Shown
from tracer.inference.told import Told
from tracer.inference.unknown_to_ohmmeters import Unknown, it_matters, mixed, unknown_of
from tracer.observation.evidence import Reading, Test, Value

_FINER_STEP = 1.8  # more than the finer grid has from one severity to the next, and less than the coarse one

Steps = dict[Test, dict[Variant, tuple[float, float]]]  # test → severity → what it shows, and at the next severity


class Meter:
    """Readings of one job, weighed for hypotheses whose changes are `shown`."""

    def __init__(self, shown: Shown, rows: Sequence[Hypothesis], one_of: Ints, steps: Steps) -> None:
        """`one_of` (H,): the change of each row. `steps` is filled by single faults and serves several at once."""
        self._shown, self._rows, self._one_of, self._steps = shown, rows, one_of, steps
        self._prev, self._following = _neighbours(rows, one_of)
        self._single = all(len(h.faults) <= 1 for h in rows)
        self._row_of = np.zeros(len(shown.changes), dtype=np.intp)  # a row of each change
        self._row_of[one_of] = np.arange(len(rows))
        self._supply = SupplyDoubt(len(shown.changes))
        self._weighed: dict[tuple[Test, Value], tuple[Ints, Floats]] = {}
        self._stepped: set[Test] = set()
        self._nears: tuple[Ints, dict[Test, Floats]] = shown.active, {}  # as long as the same rows are active

    def read(self, item: Reading, of_sound: float) -> Told:
        """What a reading says of the active hypotheses; `of_sound`: its ln probability on a sound vehicle."""
        test, predictor = item.test, self._shown.predictor
        predicted = self._shown.observed(test)
        if self._single and test not in self._stepped:  # at its first entry most rows are alive
            self._stepped.add(test)
            self._steps.setdefault(test, {}).update(self._steps_of(predicted))
        own = self._loglik(item, predicted, self._near(test, predicted))
        if len(both := self._shown.either_way(test)) > 1:  # as likely closed as open
            own = np.logaddexp(own, self._opened_loglik(item, both[1])) - np.log(2.0)
        unknown = unknown_of(predictor) if test.row.log_scale and not item.value.told_nothing else None
        if unknown is not None:
            own = self._whatever_it_is(item, unknown, own)
        moved = None
        if item.value.wiggled:
            unmoved = float(predictor.observed(test, [NO_CHANGE])[0])
            moved = wiggled_loglik(predicted, unmoved, item.value, test.kind, predictor.emf)
        return Told((own[None],), (np.full((1, 1), of_sound / item.times),), moved=moved)

    def _whatever_it_is(self, item: Reading, unknown: Unknown, own: Floats) -> Floats:
        """`own` (A,), but where the reading goes through what no ohmmeter tells, whatever that shows."""
        predictor, active = self._shown.predictor, self._shown.active
        bare = [self._shown.changes[i].with_new(unknown.names) for i in active]
        apart, shut = (predictor.observed(item.test, [c | x for c in bare]) for x in (unknown.apart, unknown.shut))
        matters = it_matters(apart, shut)
        if not matters.any():
            return own
        p, f = _among(active, self._prev), _among(active, self._following)
        of_open, of_shut = (value_loglik(x, item.value, item, predictor.emf, True, p, f) for x in (apart, shut))
        return np.where(matters, mixed(of_open, of_shut, apart, shut, item.value), own)

    def _near(self, test: Test, predicted: Floats) -> Floats:
        """What several faults would show if the one that matters most were a step more or less severe: (A,)."""
        if self._single:
            return predicted
        if self._nears[0] is not self._shown.active:
            self._nears = self._shown.active, {}
        known = self._nears[1]
        if test not in known:
            rows = self._row_of[self._shown.active]
            known[test] = np.array([
                self._stepped_on(self._rows[r], test, v) for r, v in zip(rows, predicted, strict=True)
            ])
        return known[test]

    def _stepped_on(self, row: Hypothesis, test: Test, predicted: float) -> float:
        if len(row.faults) < 2:
            return predicted
        steps = self._steps.get(test, {})
        here, there = max((steps[v] for v in row.variants if v in steps), default=(0.0, 0.0),
                          key=lambda s: abs(s[1] - s[0]) if np.isfinite(s).all() else 0.0)
        if test.row.log_scale:  # which may be open in both
            return there if there != here else predicted
        return predicted + there - here

    def _loglik(self, item: Reading, predicted: Floats, near: Floats) -> Floats:
        """`near`: as `_near`. Without it several faults would be judged by a sharper rule than one alone, whose
        grid of severities is coarse too, and win by that. What readings said before is kept at every supply
        (supplies, rows)."""
        key, active = (item.test, item.value), self._shown.active
        if key not in self._weighed:
            n = len(active)
            p, f = _among(active, self._prev), _among(active, self._following)
            every = predicted
            if near is not predicted:
                every = np.concatenate([predicted, near])
                p = np.where(p == np.arange(n), n + np.arange(n), p)
                spread = np.arange(n, 2 * n)
                p, f = np.concatenate([p, spread]), np.concatenate([f, spread])
            emf, known = self._shown.predictor.emf, self._shown.predictor.supply_measured
            if known or not item.test.row.of_supply:
                found = [value_loglik(every, item.value, item, emf, known, p, f)[:n]]
            else:
                found = [value_loglik(every * x, item.value, item, emf * x, True, p, f)[:n] for x in FACTORS]
            self._weighed[key] = active, np.array(found)
        rows, said = self._weighed[key]
        if len(rows) != len(active):
            said = said[:, np.searchsorted(rows, active)]
        return said[0] if len(said) == 1 else self._supply.weigh(active, said, item.times)

    def _opened_loglik(self, item: Reading, predicted: Floats) -> Floats:
        """Of an ohmmeter's reading where flasher units stand open."""
        emf, known, active = self._shown.predictor.emf, self._shown.predictor.supply_measured, self._shown.active
        beside = _among(active, self._prev), _among(active, self._following)
        return value_loglik(predicted, item.value, item, emf, known, *beside)

    def _steps_of(self, predicted: Floats) -> dict[Variant, tuple[float, float]]:
        """For each severity of each single fault what a test shows, and what it would show at the next severity that
        differs more; only where there is one."""
        shown = dict(zip(self._shown.active.tolist(), predicted.tolist(), strict=True))
        out: dict[Variant, tuple[float, float]] = {}
        for row, change in zip(self._rows, self._one_of.tolist(), strict=True):
            here = shown.get(change)
            if here is None or not row.variants:
                continue
            beside = (int(self._prev[change]), int(self._following[change]))
            near = [shown[n] for n in beside if n != change and n in shown]
            if near:
                out[row.variants[0]] = (here, max(near, key=lambda v: abs(v - here)))
        return out


def _neighbours(rows: Sequence[Hypothesis], one_of: Ints) -> tuple[Ints, Ints]:
    """For each change (`one_of` gives the change of a row) that of the same fault at the next lower and higher
    severity (itself at the ends)."""
    count = int(one_of.max(initial=-1)) + 1
    prev, following = np.arange(count), np.arange(count)
    for i in range(1, len(rows)):
        same = rows[i].faults == rows[i - 1].faults and (len(rows[i].faults) == 1 or _next_to(rows[i - 1], rows[i]))
        # Two severities of a scale have what lies between them; two ways to fail have not.
        if same and (len(rows[i].faults[0].variants) > 2 or rows[i].faults[0].scale is not None):
            prev[one_of[i]], following[one_of[i - 1]] = one_of[i - 1], one_of[i]
    return prev, following


def _next_to(one: Hypothesis, two: Hypothesis) -> bool:
    """Whether these are two severities of one fault beside the same deviations, so near to each other that they are
    of the finer grid. Of the coarse one only some are tried beside a deviation, and the gaps may be wide."""
    a, b = one.variants[0].severity, two.variants[0].severity
    if not one.one_defect or one.variants[1:] != two.variants[1:] or not a or not b:
        return False
    return 1 / _FINER_STEP < b / a < _FINER_STEP


def _among(active: Ints, neighbour: Ints) -> Ints:
    """For each active row the place of its neighbour among the active ones; its own if that was dropped."""
    wanted = neighbour[active]
    at = np.minimum(np.searchsorted(active, wanted), len(active) - 1)
    return np.where(active[at] == wanted, at, np.arange(len(active)))
