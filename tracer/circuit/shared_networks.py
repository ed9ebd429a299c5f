"""Few rows in each of many set-ups, solved together from the network of the state in which every control stands as
assumed.

A switch moved is a change like any other: for a dozen rows it costs less to carry it along in each of them than to
invert a network of a thousand nodes for them. And rows that change one network are solved at once whatever set-up
they belong to. Which network is taken depends on what is asked alone, never on what was asked before: the last
digits of a share must not tell the history of a job.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tracer.circuit.change_table import ChangeTable, on_ports, pinned_open
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.model import (
    NO_CHANGE,
    OHMMETER_OHM,
    Circuit,
    Floats,
    Ints,
    Setup,
    TestLamp,
    conductance_of,
)
from tracer.circuit.network import Moves, Network
from tracer.circuit.one_core import one_core
from tracer.circuit.port_newton import MOST_STRONG
from tracer.circuit.solution import Solution
from tracer.circuit.solver import VERY_LARGE, Solver, by_width
from tracer.harness.devices import FuseLink

_FEW_ROWS = 400
_LARGE = 40  # nodes; networks of fewer are quickly inverted
_MOST_MOVED = 16  # branches that the states may differ in
_KEPT_STATES = 2000
_LEFT_AT_ONCE = 400

Key = tuple[Setup, frozenset[str]]


class Asked(Struct, frozen=True):
    """Rows of one set-up, relays held as `pulled_in` says; `of`: how many rows were asked for, if these are some of
    them that have to be solved again."""

    setup: Setup
    table: ChangeTable
    pulled_in: frozenset[str] = frozenset()
    of: int = 0


class SharingSolver(Solver):
    """Solves few rows with the network of another state, or of the vehicle before a test."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self._assumed = circuit.harness.state({})
        self._conductances: dict[Key, Floats] = {}
        self._linear: dict[Key, tuple[Floats, Floats]] = {}
        self._held: dict[Setup, frozenset[str]] = {}

    def solve_several(self, asked: Sequence[Asked]) -> list[Solution]:
        """Solutions of rows of several set-ups, as `solve` gives them one by one. What is solved from one network is
        solved at once: forty set-ups of a few dozen rows take little longer than two."""
        with one_core():
            found: dict[int, Solution] = {}
            together: dict[Key, list[int]] = {}
            alone = list[int]()
            asked = [_without_swaps(one) for one in asked]
            lamps = tuple(dict.fromkeys(lamp for one in asked for lamp in one.setup.done.lamps))
            for k, one in enumerate(asked):
                like = self._like(one.setup, max(one.of, len(one.table)), one.pulled_in) if len(one.table) else None
                if like is not None and one.setup.done.lamps:
                    # All test lamps into one network, in which each set-up takes out those that it has not.
                    done = replace(like[0].done, lamps=lamps)
                    like = replace(like[0], done=done), like[1]
                if like is None:
                    alone.append(k)
                else:
                    together.setdefault(like, []).append(k)
            found |= zip(alone, self._solve_alone([asked[k] for k in alone]), strict=True)
            for like, several in together.items():
                found |= zip(several, self._solve_like(like, [asked[k] for k in several]), strict=True)
        return [found[k] for k in range(len(asked))]

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], of: int) -> Solution:
        return self.solve_several([Asked(setup, table, pulled_in, of)])[0]

    def _solve_alone(self, asked: Sequence[Asked]) -> list[Solution]:
        """Rows solved with the networks of their own set-ups."""
        # Few rows go the same way whether many were asked for before or not.
        return self._solve_each([
            (one.setup, one.table, one.pulled_in, bool(len(one.table)) and one.setup == plain_of(one.setup))
            for one in asked
        ])

    def _solve_like(self, like: Key, asked: Sequence[Asked]) -> list[Solution]:
        """Rows of several set-ups, solved with the network `like`."""
        base = self.base(*like)
        moves = _joined([self._moves(one, base, like[0].done.lamps) for one in asked])
        out = Solution.empty(len(moves), len(self.circuit.nodes), len(base.laws), len(self._watched[0]))
        left = self._by_tangent(*like, base, moves, out)
        # Paths that the circuit does not have need another order of elimination, which a large network's inverse is
        # not worth; nor is one for each of a dozen ohmmeters, which have a row or two left each.
        known = np.asarray(base.order.knows(moves.a[left], moves.b[left]).all(axis=1))
        metered = moves.meter[left, 0] >= 0
        for first in range(0, len(left), _LEFT_AT_ONCE):
            part = slice(first, first + _LEFT_AT_ONCE)
            for chosen, on_all in ((known, True), (~known & metered, True), (~known & ~metered, False)):
                rows = left[part][chosen[part]]
                if not len(rows):
                    continue
                its = moves.rows(rows)
                emf = its.emf * like[0].done.emf_in(like[0].state.engine_running)
                given = base.rows(its.d, its.a, its.b, its.factor, emf, its.meter)
                if on_all or len(self.circuit.nodes) >= VERY_LARGE:
                    volts = out.volts_at(np.arange(len(self.circuit.nodes)), rows)
                    exact = self._of_volts(base, given, *self._all_nodes_of([(base, given, volts)])[0])
                    out.put(rows, exact)
                    continue
                # A row is padded to the width of the widest, and what is worked with here goes by it.
                for some, (d, a, b) in by_width(given.d, given.a, given.b):
                    its_own = replace(given.rows(some), d=d, a=a, b=b)
                    out.put(rows[some], self._solve_rows(base, its_own))
        left = left[~out.converged[left]]
        found, first, ports = [], 0, len(self.circuit.ports)
        for one in asked:
            own = out.rows(slice(first, first + len(one.table)))
            if like[0].done.lamps:
                lamps = [ports + like[0].done.lamps.index(lamp) for lamp in one.setup.done.lamps]
                own = own.with_ports(np.append(np.arange(ports), lamps).astype(np.intp))
            rows = left[(left >= first) & (left < first + len(one.table))] - first
            if len(rows):
                of = one.of or len(one.table)
                own.put(rows, super()._solve(one.setup, one.table.rows(rows), one.pulled_in, of))
            found.append(own)
            first += len(one.table)
        return found

    def _moves(self, one: Asked, base: Network, lamps: Sequence[TestLamp]) -> Moves:
        """Rows, and what their own set-up does beyond it, as changes to a network with some test `lamps`."""
        circuit, table, state, done = self.circuit, one.table, one.setup.state, one.setup.done
        g = self._g(one.setup, one.pulled_in)
        changed = np.flatnonzero(g != base.g)
        ea, eb = circuit.branch_ends
        added = [(circuit.node(x.a), circuit.node(x.b), conductance_of(x.ohm)) for x in done.added]
        meter = (circuit.node(done.ohmmeter[0]), circuit.node(done.ohmmeter[1])) if done.ohmmeter else (-1, -1)
        if done.ohmmeter:
            added.append((*meter, 1 / OHMMETER_OHM))
        port_on = np.ones(len(circuit.ports))
        on_ports(circuit, done, port_on)
        own = (
            np.append((g - base.g)[changed], [s for *_, s in added]),
            np.append(ea[changed], [a for a, *_ in added]).astype(np.intp),
            np.append(eb[changed], [b for _, b, _ in added]).astype(np.intp),
        )
        rows = table.deltas(g, pinned_open(circuit, one.setup), done.gone, state), table.a, table.b
        d, a, b = (_beside(x, y) for x, y in zip(own, rows, strict=True))
        factors = table.port_factor * port_on
        if lamps:
            factors = _beside(factors, np.tile([float(lamp in done.lamps) for lamp in lamps], (len(table), 1)))
        meters = np.empty((len(table), 2), dtype=np.intp)
        meters[:] = meter
        return Moves(d, a, b, factors, table.emf_in(state.engine_running), meters)

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
        if not 0 < rows <= _FEW_ROWS or len(self.circuit.nodes) < _LARGE:
            return None
        plain = plain_of(setup)
        if len(self.circuit.ports) > MOST_STRONG:
            # Hundreds of lamps may light by one switch, or go out by one fuse: no tangent leads there.
            return None if plain == setup or self._goes_dark(setup) else (plain, pulled_in)
        return self._nearest(setup, pulled_in) or (None if plain == setup else (plain, pulled_in))

    def _goes_dark(self, setup: Setup) -> bool:
        """Whether a fuse is out in it, hundreds of lamps hanging on each."""
        fuses = {d.name for d in self.circuit.linear if isinstance(d, FuseLink)}
        return len(self.circuit.ports) > MOST_STRONG * len(fuses) and any(n in fuses for n, _ in setup.done.set_ohm)

    def _nearest(self, setup: Setup, pulled_in: frozenset[str]) -> Key | None:
        """The state as assumed, relays at rest or where the healthy vehicle has them, if the set-up is not far
        from it."""
        there = self.assumed(setup)
        keys = dict.fromkeys([(there, frozenset[str]()), (there, self._held.get(there, frozenset[str]()))])
        if (setup, pulled_in) in keys:
            return None
        here = self._g(setup, pulled_in)
        moved = [int((self._g(*key) != here).sum()) for key in keys]
        least = min(moved)
        return list(keys)[moved.index(least)] if least <= _MOST_MOVED else None

    def assumed(self, setup: Setup) -> Setup:
        """The state as assumed, battery and engine as in a set-up."""
        state = replace(self._assumed, engine_running=setup.state.engine_running)
        return replace(plain_of(setup), state=state, phase="lit")

    def hold(self, setup: Setup, pulled_in: frozenset[str]) -> None:
        """Take note of the relays that hold in a state as assumed when all is well."""
        self._held[setup] = pulled_in

    def _g(self, setup: Setup, pulled_in: frozenset[str]) -> Floats:
        key = setup, pulled_in
        if key not in self._conductances:
            if len(self._conductances) > _KEPT_STATES:
                self._conductances.clear()
            self._conductances[key] = self.circuit.conductances(setup, pulled_in)
        return self._conductances[key]


def _beside(first: NDArray[Any], then: NDArray[Any]) -> NDArray[Any]:
    """Columns of one array, or one row of them for all, before those of another."""
    out = np.empty((len(then), first.shape[-1] + then.shape[1]), dtype=then.dtype)
    out[:, :first.shape[-1]], out[:, first.shape[-1]:] = first, then
    return out


def plain_of(setup: Setup) -> Setup:
    """The set-up without what is done on purpose, but for the battery."""
    done = setup.done
    if done == NO_CHANGE:
        return setup
    return replace(setup, done=done.only(lambda row: row.of_supply))


def _without_swaps(one: Asked) -> Asked:
    """Bulbs that changed places did so in the table already, and new fuses are whole there."""
    if not one.setup.done.remakes:
        return one
    return replace(one, setup=replace(one.setup, done=one.setup.done.only(lambda row: not row.in_table)))


def _joined(parts: Sequence[Moves]) -> Moves:
    """Rows of several below each other; those with fewer changes get some that change nothing."""
    if len(parts) == 1:
        return parts[0]
    rows, width = sum(len(p) for p in parts), max(p.d.shape[1] for p in parts)
    d, a, b = np.zeros((rows, width)), *np.zeros((2, rows, width), dtype=np.intp)
    first = 0
    for p in parts:
        its = slice(first, first + len(p)), slice(p.d.shape[1])
        d[its], a[its], b[its] = p.d, p.a, p.b
        first += len(p)
    factor, emf, meter = (np.concatenate([getattr(p, n) for p in parts]) for n in ("factor", "emf", "meter"))
    return Moves(d, a, b, factor, emf, meter)
