"""What the hypotheses that are still weighed show: every set-up solved once, however many pieces of evidence ask.

What a set-up shows does not change however often it is looked at: one solution serves every entry of a job. Rows are
only ever dropped, so that what was solved for more of them holds for those left.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import OPEN_OHM, Bools, Change, Floats, Ints, Setup
from tracer.harness.model import VehicleState
from tracer.inference.statement_model import Sayable
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Panel


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

    def gone(self, fuse: str) -> Bools:
        """(A,) whether a fuse is blown whatever is switched on."""
        link = f"{fuse} link"
        return np.array([
            any(name == link and ohm >= OPEN_OHM for name, ohm in self.changes[i].set_ohm) for i in self.active
        ])

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
