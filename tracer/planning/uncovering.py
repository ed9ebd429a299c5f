"""In which states a look at the lamps uncovers most of what could be wrong, solved as far as the choice needs it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.cache import Arrays
from tracer.circuit.model import Bools
from tracer.harness.base_rates import FURTHER_FAULTS
from tracer.harness.model import VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import by_change

MOST_LOOKS: Final = 9
_WORTH: Final = 0.0005  # probability of a further fault that one more state must uncover to be asked for
RISK: Final = FURTHER_FAULTS  # of a further fault, before anything was looked at


def uncovering(
    investigator: Investigator, first: Sequence[VehicleState], states: Sequence[VehicleState]
) -> tuple[list[VehicleState], float]:
    """The states to look in, those that come `first` and then of all `states` those that uncover most, and the
    probability of a further fault that all of them leave hidden."""

    def work_out() -> Arrays:
        chosen, left = _Choice(investigator, states).begun_with(first)
        return {"chosen": np.array([states.index(s) for s in chosen], dtype=np.intp), "left": np.array([left])}

    found = investigator.kept.recall(
        "uncovering states", (investigator.predictor.supply_v, tuple(first), tuple(states)), work_out,
        lambda found: found["chosen"].dtype == np.intp and found["chosen"].ndim == 1
        and bool((found["chosen"] >= 0).all() and (found["chosen"] < len(states)).all())
        and found["left"].shape == (1,) and found["left"].dtype == float
        and bool((found["left"] >= 0).all() and (found["left"] <= 1.01 * RISK).all()))
    return [states[k] for k in found["chosen"].tolist()], float(found["left"][0])


class _Choice:
    """Which state uncovers most of what is still hidden. A fault can be uncovered only where something flows through
    what it changes; that bound tells in most cases which states need not be solved, and of the others only what is
    hidden by then is."""

    def __init__(self, investigator: Investigator, states: Sequence[VehicleState]) -> None:
        predictor = investigator.predictor
        self._investigator, self._states = investigator, states
        self._changes, one_of = by_change(investigator.singles)
        weight = np.bincount(one_of, weights=[h.prior for h in investigator.singles])
        self._weight = weight / weight.sum() * RISK
        predictor.know(states)
        table = predictor.table(self._changes)
        stirred = predictor.disturbed([(predictor.setup(s), table) for s in states])
        self._stirred = dict(zip(states, stirred, strict=True))
        self._shown: dict[VehicleState, Bools] = {}  # of what was hidden when it was solved

    def begun_with(self, first: Sequence[VehicleState]) -> tuple[list[VehicleState], float]:
        """As `uncovering`."""
        chosen: list[VehicleState] = []
        hidden = np.ones(len(self._changes), dtype=bool)
        for state in first:
            chosen.append(state)
            hidden &= ~self._solve(state, hidden)
        while len(chosen) < MOST_LOOKS and (left := [s for s in self._states if s not in chosen]):
            best = max(left, key=lambda s: self._most(s, hidden))
            while best not in self._shown:
                self._solve(best, hidden)
                best = max(left, key=lambda s: self._most(s, hidden))
            if self._most(best, hidden) < _WORTH:
                break
            chosen.append(best)
            hidden &= ~self._shown[best]
        return chosen, float(self._weight[hidden].sum())

    def _most(self, state: VehicleState, hidden: Bools) -> float:
        """How much of what is hidden the state uncovers; at most, as long as it was not solved."""
        shown = self._shown.get(state, self._stirred[state])
        return float(self._weight[hidden & shown].sum())

    def _solve(self, state: VehicleState, hidden: Bools) -> Bools:
        """(A,): whether some lamp or fuse shows that not all is well, of what is hidden."""
        rows = np.flatnonzero(hidden & self._stirred[state])
        shown = self._investigator.shown(self._changes)
        if len(rows) < len(self._changes):
            shown.keep(rows)
        self._shown[state] = np.zeros(len(self._changes), dtype=bool)
        if len(rows):
            panel, healthy = shown.panel(state), self._investigator.predictor.healthy(state)
            # Another word needs about a third of a decade at "normal"; a lamp that comes on needs to be seen.
            visible = np.maximum(panel.flux, healthy.flux) > -2.5
            other = (np.abs(panel.flux - healthy.flux) > 0.35) & visible
            flash = (np.abs((panel.flux - panel.least) - (healthy.flux - healthy.least)) > 0.5) & visible
            self._shown[state][rows] = (other | flash).any(axis=1) | panel.blown.any(axis=1)
        return self._shown[state]
