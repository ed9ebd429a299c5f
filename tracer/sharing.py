"""Few rows in one vehicle state, solved from the network of another state that is at hand already.

A switch moved is a change like any other: for a dozen rows it costs less to carry it along in each of them than to
invert a network of a thousand nodes for them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tracer.changes import ChangeTable
from tracer.circuit import NO_CHANGE, Bools, Change, Circuit, Floats, Ints, Setup
from tracer.harness import VehicleState
from tracer.solution import Solution
from tracer.solver import Solver
from tracer.tangent import Tangent

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

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str]) -> Solution:
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
            near = out.volts_at(np.arange(len(self.circuit.nodes)), left)
            exact = self._of_volts(base, given, *self._all_nodes(base, given, near))
            out.put(left, exact)
            left = left[~exact.converged]
        if len(left):
            out.put(left, super()._solve(setup, table.rows(left), pulled_in))
        return out

    def linear_like(self, setup: Setup, pulled_in: frozenset[str]) -> tuple[Tangent, Floats, Ints, Ints] | None:
        """A linear network at hand, and the conductances (K,) that make the set-up of it between nodes a and b; none
        if it does not come out. The set-up is a plain vehicle state."""
        key = setup, pulled_in
        if key not in self._bases and (like := self._nearest(key)) is not None:
            key = like
        base = self.base(*key)
        tangent = self._tangent(*key, base)
        if tangent is None:
            return None
        delta = self._g(setup, pulled_in) - base.g
        at = np.flatnonzero(delta)
        a, b = self.circuit.branch_ends
        return tangent, delta[at], a[at], b[at]

    def _like(self, setup: Setup, rows: int, pulled_in: frozenset[str]) -> Key | None:
        """Whose network at hand differs least from that of the set-up; none if it is worth its own."""
        if not 0 < rows <= _FEW_ROWS or len(self.circuit.nodes) < _LARGE or setup.done.lamps:
            return None
        own = plain_of(setup), pulled_in
        return None if own in self._bases else self._nearest(own)

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
