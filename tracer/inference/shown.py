"""What the hypotheses that are still weighed show: every set-up solved once, however many pieces of evidence ask.

What a set-up shows does not change however often it is looked at: one solution serves every entry of a job. Rows are
only ever dropped, so that what was solved for more of them holds for those left.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import OPEN_OHM, Change, Floats, Ints, Setup
from tracer.harness.model import VehicleState
from tracer.inference.statement_model import Sayable
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Panel

# A fuse that is blown anyhow is told as one that blows in a certain state. (Judgement.)
BLOWN_BEFORE: Final = 0.01


class Shown:
    """Panels and readings of the changes (A,) still weighed.

    Attributes:
        active: (A,) their numbers among `changes`, rising.
    """

    def __init__(self, sayable: Sayable, changes: Sequence[Change]) -> None:
        self.sayable, self.predictor, self.changes = sayable, sayable.predictor, changes
        self.active: Ints = np.arange(len(changes), dtype=np.intp)
        self._table = self.predictor.table(changes)
        self._panels: dict[VehicleState, tuple[Ints, Panel]] = {}
        self._looks: dict[Setup, tuple[Ints, Panel]] = {}
        self._values: dict[Test, tuple[Ints, Floats]] = {}
        self._fuses: dict[tuple[str, VehicleState, bool], tuple[Ints, Floats]] = {}

    @property
    def states(self) -> int:
        """How many vehicle states were looked at so far."""
        return len(self._panels)

    def keep(self, active: Ints) -> None:
        """Weigh no others any more; `active` are some of those active so far, rising."""
        self.active = active

    def panel(self, state: VehicleState) -> Panel:
        """The lamps of the undisturbed vehicle."""
        if state not in self._panels:
            self._panels[state] = self.active, self._solve(state)
        solved, panel = self._panels[state]
        return panel if len(solved) == len(self.active) else panel.rows(np.searchsorted(solved, self.active))

    def _solve(self, state: VehicleState) -> Panel:
        return self.predictor.looks([(self.predictor.setup(state), self._table.rows(self.active))])[0]

    def blows(self, fuse: str, state: VehicleState, once: bool = False) -> Floats:
        """(A,) probability that a fuse is told to blow in a state: it does, or it is blown and a new one does. One
        that was blown once, for no known reason, is seldom told as one that blows. `once`: it was found blown, and
        nobody has fitted a new one."""
        key = fuse, state, once
        if key not in self._fuses:
            link, panel = f"{fuse} link", self.panel(state)
            p = np.asarray(panel.blown[:, self.predictor.fuses.index(fuse)], dtype=np.float64)
            gone = [k for k, i in enumerate(self.active) if _opens(self.changes[i], link)]
            if gone and once:
                p[gone] = 1.0
            elif gone:
                new = Change(renewed=(link,))
                table = self.predictor.table([self.changes[self.active[k]] for k in gone], new)
                renewed = self.predictor.panel(self.predictor.setup(state, new), table)
                p[gone] = np.where(renewed.blown[:, self.predictor.fuses.index(fuse)], 1.0, BLOWN_BEFORE)
            self._fuses[key] = self.active, p
        solved, p = self._fuses[key]
        return p if len(solved) == len(self.active) else p[np.searchsorted(solved, self.active)]

    def look(self, test: Test) -> Panel:
        """The lamps with what a test does on purpose."""
        done = test.change(self.predictor.circuit)
        setup = self.predictor.setup(test.state, done)
        if setup not in self._looks:
            table = self.predictor.table([self.changes[i] for i in self.active], done)
            self._looks[setup] = self.active, self.predictor.panel(setup, table)
        solved, panel = self._looks[setup]
        return panel if len(solved) == len(self.active) else panel.rows(np.searchsorted(solved, self.active))

    def observed(self, test: Test) -> Floats:
        """(A,) what an instrument shows."""
        if test not in self._values:
            self._values[test] = self.active, self.predictor.observed(test, [self.changes[i] for i in self.active])
        solved, values = self._values[test]
        return values if len(solved) == len(self.active) else values[np.searchsorted(solved, self.active)]


def _opens(change: Change, link: str) -> bool:
    return any(name == link and ohm >= OPEN_OHM for name, ohm in change.set_ohm)
