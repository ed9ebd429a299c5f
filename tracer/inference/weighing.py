"""Weighing as a state: evidence comes in piece by piece, four models say what it tells, and the state keeps what each
hypothesis and each kind of observer has come to.

The models: said (`said_model`), look (`look_model`), meter (`meter_model`), by hand (`by_hand_model`). Each can be
asked alone; what they share is what the hypotheses show (`shown`) and what lamps were called before (`told.Memory`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import Floats, Ints, distinct
from tracer.inference.by_hand_model import find
from tracer.inference.fresh import times_of
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.likelihood import by_permanence, undescribed_loglik
from tracer.inference.look_model import see
from tracer.inference.meter_model import Meter, Steps
from tracer.inference.said_model import hear
from tracer.inference.same_lamp import complaints_of
from tracer.inference.shown import Shown
from tracer.inference.told import OBSERVERS, Memory, Told
from tracer.observation.evidence import Evidence, Reading, Symptom, Test, Value, by_hand

# A hypothesis this far (natural log) behind the best is not simulated for further evidence: four
# plain contradictions behind. A single fault that explains something may yet be half of a pair.
HOPELESS = 40.0
_EXPLAINS = 3.0  # ln likelihood gained over a healthy vehicle
_ALL_IN_STATES = 6  # states in which every single fault is simulated, the oddest first

Parts = list[tuple[Ints, Floats, float]]  # rows, their gain (N, rows), how likely all that is on a sound vehicle


class Weighing:
    """What every row has come to.

    Attributes:
        out: (E, H) ln probability of each piece of evidence, given those weighed before it.
    """

    def __init__(
        self, shown: Shown, rows: Sequence[Hypothesis], one_of: Ints, steps: Steps, evidence: Sequence[Evidence],
        parts: Parts | None = None,
    ) -> None:
        """`one_of` (H,): the change of each row; `evidence`: all that comes; `parts` as in `weigh`."""
        self._sayable = shown.sayable
        self._shown, self._rows, self._one_of, self._parts = shown, rows, one_of, parts
        self._total = np.log(np.maximum([h.prior for h in rows], 1e-300))
        self._loose = np.array([h.awake < 1 for h in rows])
        self._kept: Ints = np.arange(len(rows))
        self._gained = np.zeros(len(rows))
        # (S, H) ln weight of each kind of observer, with what was seen so far.
        self._observer = np.repeat(np.log(OBSERVERS)[:, None], len(rows), axis=1)
        active, self._at = np.unique(one_of, return_inverse=True)
        shown.keep(active)
        self._memory = Memory(len(shown.changes), len(shown.predictor.lamps))
        self._meter = Meter(shown, rows, one_of, steps)
        self._part_of: dict[tuple[Test, Value], int] = {}
        self._complained = complaints_of(evidence, shown.sayable)
        self.out = np.zeros((len(evidence), len(rows)))

    def take(self, e: int, item: Evidence, of_sound: float) -> None:
        """Weigh one piece of evidence, of those that go by what the circuit shows."""
        told = self._told(item, of_sound)
        ll = self._loglik(told, item)
        kept = self._kept
        self._total[kept] += ll
        # A row that was given up comes no nearer to the one that leads.
        leading = float(ll[self._total[kept].argmax()])
        self.out[e] = min(times_of(item) * undescribed_loglik(item, self._shown.predictor), leading)
        self.out[e, kept] = ll
        self._give_up(told, item)

    def take_by_hand(self, e: int, item: Reading, of_sound: float) -> None:
        """Weigh what was looked over or moved."""
        self.out[e] = find(item, self._shown, self._rows, self._kept, self._at)
        if self._parts is not None:
            self._parts.append((self._kept, self.out[e, self._kept][None] - of_sound, of_sound))

    def _told(self, item: Evidence, of_sound: float) -> Told:
        if isinstance(item, Symptom):
            return hear(item, self._shown, self._memory, self._sayable, self._complained)
        if item.test.row.of_lamps:
            return see(item, self._shown, self._memory, of_sound)
        return self._meter.read(item, of_sound)

    def _loglik(self, told: Told, item: Evidence) -> Floats:
        """ln probability of the rows kept, over all observers; what it tells of the observer is kept."""
        kept, loose = self._kept, self._loose[self._kept]
        each = []
        for said, usual in zip(told.said, told.usual, strict=True):
            lasting, now_and_then = told.moved or by_permanence(said, usual, item)
            each.append(np.where(loose, now_and_then[self._at], lasting[self._at]))
        if len(each) == 1:
            return each[0] * times_of(item)
        before = np.logaddexp.reduce(self._observer[:, kept], axis=0)
        for k, by_him in enumerate(each):
            self._observer[k, kept] += by_him
        return np.asarray(np.logaddexp.reduce(self._observer[:, kept], axis=0) - before)

    def _give_up(self, told: Told, item: Evidence) -> None:
        """Drop the rows that are far behind. With `parts`, one that explains something is kept however badly it
        fits."""
        kept = self._kept
        hopeful = self._total[kept] > self._total[kept].max() - HOPELESS
        if self._parts is not None:
            said, usual = told.said[told.plain], told.usual[told.plain]
            gain, times = said - usual, times_of(item)
            self._note((kept, times * gain[:, self._at], times * float(usual.sum())), item)
            self._gained[kept] += times * np.maximum(gain, 0.0).sum(axis=0)[self._at]
            hopeful |= (self._gained[kept] > _EXPLAINS) | (self._shown.states < _ALL_IN_STATES)
        if not hopeful.all():
            self._kept = kept[hopeful]
            self._shown.keep(distinct(self._one_of[self._kept]))
            self._at = np.searchsorted(self._shown.active, self._one_of[self._kept])

    def _note(self, part: tuple[Ints, Floats, float], item: Evidence) -> None:
        """Add what a piece of evidence gains to `parts`; what the same reading gains, made again, to what it gained
        before. Pairs are looked for in what these hold together: a hundred times the same is one thing said."""
        assert self._parts is not None
        if isinstance(item, Reading):
            place = self._part_of.setdefault((item.test, item.value), len(self._parts))
            if place < len(self._parts):
                kept, before, usual = self._parts[place]
                now, gain, once_more = part
                self._parts[place] = now, before[:, np.searchsorted(kept, now)] + gain, usual + once_more
                return
        self._parts.append(part)


def weigh(
    rows: Sequence[Hypothesis], one_of: Ints, evidence: Sequence[Evidence], shown: Shown, steps: Steps,
    healthy: Floats | None = None, parts: Parts | None = None,
) -> Floats:
    """ln probabilities (E, H).

    Args:
        one_of: (H,) which of the changes of `shown` is that of each row.
        steps: As in `meter_model`.
        healthy: (E,) the same of a healthy vehicle; with it the oddest evidence is weighed first.
        parts: Is filled with the rows still simulated, their gain over the healthy vehicle (N, rows), thing by thing,
            and how likely all that is on a healthy vehicle.
    """
    state = Weighing(shown, rows, one_of, steps, evidence, parts)
    of_sound = np.zeros(len(evidence)) if healthy is None else healthy
    for e in _order(evidence, healthy):
        if not by_hand(evidence[e]):
            state.take(e, evidence[e], float(of_sound[e]))
    for e, item in enumerate(evidence):
        if by_hand(item):
            state.take_by_hand(e, item, float(of_sound[e]))
    return state.out


def _order(evidence: Sequence[Evidence], healthy: Floats | None) -> Sequence[int]:
    """The oddest first, so that what does not fit is dropped early; looks made as tests after what was said, which
    they may repeat. What differs only by rounding keeps its order: the same reading taken a hundred times."""
    if healthy is None:
        return range(len(evidence))
    again = np.array([isinstance(i, Reading) and i.test.row.of_lamps for i in evidence])
    return [int(e) for e in np.lexsort((np.round(healthy / [times_of(i) for i in evidence], 6), again))]
