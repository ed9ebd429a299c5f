"""What the hypotheses that are still weighed show: every set-up solved once, however many pieces of evidence ask.

What a set-up shows does not change however often it is looked at: one solution serves every entry of a job. Rows are
only ever dropped, so that what was solved for more of them holds for those left.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import cached_property
from typing import Any, Final

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from tracer.cache import Kept
from tracer.circuit.model import OPEN_OHM, Change, Floats, Ints, Setup
from tracer.harness.model import VehicleState
from tracer.inference.kept_panels import as_arrays, fits, of_arrays
from tracer.inference.statement_model import Sayable
from tracer.observation.evidence import Test
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.tables import Tables

# A fuse that is blown anyhow is told as one that blows in a certain state. (Judgement.)
BLOWN_BEFORE: Final = 0.01

_MOST_BYTES: Final = 50_000_000  # of what was solved before
_MOST_KEPT: Final = 300_000  # lights in a state: more would fill what is kept of all jobs


class SolvedBefore(Struct, dict=True):
    """What all of some changes show, for every entry of a job: what was solved while none was dropped yet, which is
    the same whatever else was asked. Rows of a few that were left may differ in their last digits. What the lamps do
    in a state is `kept` for the next command, and for the next job on the vehicle."""

    predictor: Predictor
    changes: Sequence[Change]
    kept: Kept = field(default_factory=Kept)
    panels: dict[Hashable, Panel] = field(default_factory=dict)
    values: dict[Test, Floats] = field(default_factory=dict)
    size: int = 0

    @cached_property
    def tables(self) -> Tables:
        return Tables(self.predictor, self.changes)

    def of(self, predictor: Predictor, changes: Sequence[Change]) -> bool:
        return self.predictor is predictor and self.changes == changes

    def panel(self, at: VehicleState | Setup, solve: Callable[[], Panel]) -> Panel:
        """What all of them show in a state or a set-up, as it was kept or as `solve` finds it."""
        if at in self.panels:
            return self.panels[at]
        count, p = len(self.changes), self.predictor
        if not count or count * len(p.lamps) > _MOST_KEPT:
            found = solve()
        else:
            like = Panel.empty(count, len(p.lamps), len(p.fuses), len(p.relays), len(p.loads))
            arrays = self.kept.recall("all single faults", (at, p.supply_v), lambda: as_arrays(solve()),
                                      lambda found: fits(found, like))
            found = of_arrays(arrays, count)
        if self._has_room(found.arrays()):
            self.panels[at] = found
        return found

    def readings(self, test: Test, solve: Callable[[], Floats]) -> Floats:
        """The same of what an instrument shows."""
        if test in self.values:
            return self.values[test]
        shapes = [(n, len(self.changes)) for n in (1, 2)]
        found: Floats = self.kept.recall(
            "all single faults, measured", (test, self.predictor.supply_v), lambda: {"shown": solve()},
            lambda found: found["shown"].shape in shapes and found["shown"].dtype.kind == "f")["shown"]
        if self._has_room([found]):
            self.values[test] = found
        return found

    def _has_room(self, found: Sequence[NDArray[Any]]) -> bool:
        """Whether it may be remembered as well; nobody writes to it then."""
        for x in found:
            self.size += x.nbytes
            x.flags.writeable = False
        return self.size < _MOST_BYTES


class Shown:
    """Panels and readings of the changes (A,) still weighed.

    Attributes:
        active: (A,) their numbers among `changes`, rising.
    """

    def __init__(self, sayable: Sayable, changes: Sequence[Change], before: SolvedBefore | None = None) -> None:
        """`before`: what was solved of the same changes for other evidence."""
        self.sayable, self.predictor, self.changes = sayable, sayable.predictor, changes
        self.active: Ints = np.arange(len(changes), dtype=np.intp)
        self._before = before
        self._tables = Tables(self.predictor, changes) if before is None else before.tables
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
            self._panels[state] = self.active, self._panel(state, lambda: self._solve(state))
        solved, panel = self._panels[state]
        return panel if len(solved) == len(self.active) else panel.rows(np.searchsorted(solved, self.active))

    def whole(self, state: VehicleState) -> Panel | None:
        """The panel of a state that was looked at while no change was dropped yet."""
        solved, panel = self._panels.get(state, (self.active[:0], None))
        return panel if len(solved) == len(self.changes) else None

    def looks(self, states: Sequence[VehicleState], changes: Sequence[Change]) -> list[Panel]:
        """The lamps of any changes in several states; where all of its own were looked at together, its own as they
        came out there."""
        known, table = [self.whole(state) for state in states], self.predictor.table(changes)
        at = np.array([self._place.get(c, -1) for c in changes], dtype=np.intp)
        new = np.flatnonzero(at < 0)
        asked = [np.arange(len(changes)) if panel is None else new for panel in known]
        found = iter(self.predictor.looks([
            (self.predictor.setup(state), table if len(rows) == len(changes) else table.rows(rows))
            for state, rows in zip(states, asked, strict=True) if len(rows)]))
        out = []
        for panel, rows in zip(known, asked, strict=True):
            if panel is None:
                out.append(next(found))
            else:
                mine = panel.rows(np.maximum(at, 0))
                out.append(mine.with_rows(rows, next(found)) if len(rows) else mine)
        return out

    @cached_property
    def _place(self) -> dict[Change, int]:
        return {c: k for k, c in enumerate(self.changes)}

    @property
    def _all(self) -> SolvedBefore | None:
        """What knows what all of the changes show, as long as none was dropped."""
        return self._before if len(self.active) == len(self.changes) else None

    def _panel(self, at: VehicleState | Setup, solve: Callable[[], Panel]) -> Panel:
        return solve() if self._all is None else self._all.panel(at, solve)

    def _solve(self, state: VehicleState) -> Panel:
        return self._tables.look(self.predictor.setup(state), self.active)

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
            self._looks[setup] = self.active, self._panel(setup, lambda: self.predictor.panel(setup, table))
        solved, panel = self._looks[setup]
        return panel if len(solved) == len(self.active) else panel.rows(np.searchsorted(solved, self.active))

    def observed(self, test: Test) -> Floats:
        """(A,) what an instrument shows, a flasher unit's contact being closed."""
        shown: Floats = self.either_way(test)[0]
        return shown

    def either_way(self, test: Test) -> Floats:
        """(1, A), or (2, A) where it matters whether a flasher unit is closed at rest or open, in this order."""
        if test not in self._values:
            changes = [self.changes[i] for i in self.active]

            def solve() -> Floats:
                return either_way(self.predictor, [test], changes)[0]

            self._values[test] = self.active, solve() if self._all is None else self._all.readings(test, solve)
        solved, values = self._values[test]
        return values if len(solved) == len(self.active) else values[:, np.searchsorted(solved, self.active)]


def _opens(change: Change, link: str) -> bool:
    return any(name == link and ohm >= OPEN_OHM for name, ohm in change.set_ohm)
