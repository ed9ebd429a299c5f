"""Few rows in one vehicle state, solved from the network of another state that is at hand already.

A switch moved is a change like any other: for a dozen rows it costs less to carry it along in each of them than to
invert a network of a thousand nodes for them.
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
    """Solves few rows with whatever network of a like state it keeps."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self._conductances: dict[Key, Floats] = {}
        self._linear: dict[Key, tuple[Floats, Floats]] = {}

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str]) -> Solution:
        if setup.done.swapped:  # the table has it already
            setup = replace(setup, done=replace(setup.done, swapped=()))
        like = self._like(setup, len(table), pulled_in)
        if like is None:
            return super()._solve(setup, table, pulled_in)
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
            out.put(left, super()._solve(setup, table.rows(left), pulled_in))
        return out

    def linear_like(
        self, setup: Setup, pulled_in: frozenset[str], port_s: Callable[[PortLaws, float], Floats]
    ) -> tuple[Floats, PortLaws, Floats, Floats, Ints, Ints]:
        """A linear network at hand in which each port has the conductance (P,) that `port_s` gives it: its inverse
        (n, n), the ports' laws and conductances, and the conductances (K,) that make the plain vehicle state `setup`
        of it between nodes a and b."""
        key = setup, pulled_in
        if key not in self._bases and (like := self._nearest(key)) is not None:
            key = like
        base = self.base(*key)
        if key not in self._linear:
            given = port_s(base.laws, self.circuit.harness.system_v)
            self._linear = {key: (given, base.inverse(given))}  # one is enough: it serves most states
        given, z = self._linear[key]
        delta = self._g(setup, pulled_in) - base.g
        at = np.flatnonzero(delta)
        a, b = self.circuit.branch_ends
        return z, base.laws, given, delta[at], a[at], b[at]

    def at_hand(self, setup: Setup) -> bool:
        """Whether a row of the set-up needs no network of its own."""
        if len(self.circuit.nodes) < _LARGE or setup.done.lamps:
            return False
        return self._nearest((plain_of(setup), frozenset())) is not None

    def _like(self, setup: Setup, rows: int, pulled_in: frozenset[str]) -> Key | None:
        """Whose network at hand differs least from that of the set-up; none if it is worth its own."""
        if not 0 < rows <= _FEW_ROWS or len(self.circuit.nodes) < _LARGE or setup.done.lamps:
            return None
        own = plain_of(setup), pulled_in
        if own not in self._bases:
            return self._nearest(own)
        return None if own[0] == setup or self.base(*own).laws.leaks else own

    def _nearest(self, key: Key) -> Key | None:
        (setup, _), own = key, self._g(*key)
        best, fewest = None, _MOST_MOVED + 1
        for other, base in self._bases.items():
            if other[0].state.engine_running != setup.state.engine_running or other[0].done != setup.done:
                continue
            moved = int((base.g != own).sum())
            if moved < fewest and not base.laws.leaks:
                best, fewest = other, moved
        return best

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
