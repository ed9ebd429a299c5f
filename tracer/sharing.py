"""Few rows in one vehicle state, solved from the network of the state in which every control stands as assumed.

A switch moved is a change like any other: for a dozen rows it costs less to carry it along in each of them than to
invert a network of a thousand nodes for them. Which network is taken depends on what is asked alone, never on what
was asked before: the last digits of a share must not tell the history of a job.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tracer.changes import ChangeTable
from tracer.circuit import NO_CHANGE, Bools, Change, Circuit, Floats, Ints, Setup
from tracer.filament import PortLaws
from tracer.harness import VehicleState
from tracer.solution import Solution
from tracer.solver import Solver

_FEW_ROWS = 400
_LARGE = 100  # nodes; networks of fewer are quickly inverted
_MOST_MOVED = 16  # branches that the states may differ in
_KEPT_STATES = 2000

Key = tuple[Setup, frozenset[str]]


class SharingSolver(Solver):
    """Solves few rows with the network of another state, or of the vehicle before a test."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self._assumed = circuit.harness.state({})
        self._conductances: dict[Key, Floats] = {}
        self._linear: dict[Key, tuple[Floats, Floats]] = {}

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], of: int) -> Solution:
        if setup.done.swapped:  # the table has it already
            setup = replace(setup, done=replace(setup.done, swapped=()))
        like = self._like(setup, of, pulled_in) if len(table) else None
        if like is None:
            if len(table) and setup == plain_of(setup):
                # Few rows go the same way whether many were asked for before or not.
                self._tangent(setup, pulled_in, self.base(setup, pulled_in))
            return super()._solve(setup, table, pulled_in, of)
        there, relays = like
        base = self.base(there, relays)
        here, done = _as_in(table, setup.state), self._done(setup, pulled_in, base)
        out = Solution.empty(len(table), len(self.circuit.nodes), len(base.laws), len(self._watched[0]))
        left = self._near(there, here, relays, base, out, done)
        if len(left) and done.ohmmeter is None:
            part = here.rows(left)
            own = part.deltas(done.g, done.pinned, done.removed, there.state), part.a, part.b
            d, a, b = (
                np.hstack([np.broadcast_to(x, (len(left), len(x))), y])
                for x, y in zip((done.d, done.a, done.b), own, strict=True)
            )
            running = there.state.engine_running
            emf = part.emf_in(running) * there.done.emf_in(running)
            given = base.rows(d, a, b, part.port_factor * done.port_on, emf)
            # Paths that the circuit does not have would need another order of elimination.
            if base.order.knows(given.a, given.b).all():
                near = out.volts_at(np.arange(len(self.circuit.nodes)), left)
                exact = self._of_volts(base, given, *self._all_nodes(base, given, near))
            else:
                exact = self._solve_rows(base, given)
            out.put(left, exact)
            left = left[~exact.converged]
        if len(left):
            out.put(left, super()._solve(setup, table.rows(left), pulled_in, of))
        return out

    def linear_like(
        self, setup: Setup, pulled_in: frozenset[str], port_s: Callable[[PortLaws, float], Floats]
    ) -> tuple[Floats, PortLaws, Floats, Floats, Ints, Ints]:
        """A linear network at hand in which each port has the conductance (P,) that `port_s` gives it: its inverse
        (n, n), the ports' laws and conductances, and the conductances (K,) that make the plain vehicle state `setup`
        of it between nodes a and b."""
        key = self._nearest(setup, pulled_in) or (setup, pulled_in)
        base = self.base(*key)
        if key not in self._linear:
            given = port_s(base.laws, self.circuit.harness.system_v)
            if len(self._linear) > 1:
                self._linear.popitem()  # the first serves most states
            self._linear[key] = given, base.inverse(given)
        given, z = self._linear[key]
        delta = self._g(setup, pulled_in) - base.g
        at = np.flatnonzero(delta)
        a, b = self.circuit.branch_ends
        return z, base.laws, given, delta[at], a[at], b[at]

    def shared(self, setup: Setup) -> bool:
        """Whether a row of the set-up is solved without a network of its own."""
        return self._like(setup, 1, frozenset()) is not None

    def _like(self, setup: Setup, rows: int, pulled_in: frozenset[str]) -> Key | None:
        """With whose network few rows of the set-up are solved; none if it is worth its own."""
        if not 0 < rows <= _FEW_ROWS or len(self.circuit.nodes) < _LARGE or setup.done.lamps:
            return None
        plain = plain_of(setup)
        key = self._nearest(plain, pulled_in) if plain == setup else (plain, pulled_in)
        return None if key is None or self.base(*key).laws.leaks else key

    def _nearest(self, setup: Setup, pulled_in: frozenset[str]) -> Key | None:
        """The state as assumed with all relays at rest, if a plain state is not far from it."""
        assumed = replace(setup, state=replace(self._assumed, engine_running=setup.state.engine_running), phase="lit")
        key = assumed, frozenset[str]()
        if key == (setup, pulled_in):
            return None
        moved = int((self._g(*key) != self._g(setup, pulled_in)).sum())
        return key if moved <= _MOST_MOVED else None

    def _g(self, setup: Setup, pulled_in: frozenset[str]) -> Floats:
        key = setup, pulled_in
        if key not in self._conductances:
            if len(self._conductances) > _KEPT_STATES:
                self._conductances.clear()
            self._conductances[key] = self.circuit.conductances(setup, pulled_in)
        return self._conductances[key]


def plain_of(setup: Setup) -> Setup:
    """The set-up without what is done on purpose, but for the battery."""
    done = setup.done
    if done == NO_CHANGE:
        return setup
    plain = Change(emf_factor=done.emf_factor, running_factor=done.running_factor, disconnected=done.disconnected)
    return replace(setup, done=plain)


def _as_in(table: ChangeTable, state: VehicleState) -> ChangeTable:
    """The rows with switch contacts that close in other positions open or closed as they are in the state."""
    moved: Bools = table.when >= 0
    if not moved.any():
        return table
    positions = dict(state.positions)
    closes = np.array([positions.get(control) in where for control, where in table.closing], dtype=bool)
    target_s = np.where(moved & ~closes[np.where(moved, table.when, 0)], 0.0, table.target_s)
    return replace(table, target_s=target_s, when=np.where(moved, -1, table.when))
