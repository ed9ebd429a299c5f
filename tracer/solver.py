"""DC nodal analysis of one set-up under many changes at once.

One healthy network a set-up is inverted; every hypothesis is a low-rank correction of it
(Woodbury), reduced to the non-linear ports, on which Newton runs for all hypotheses together:

    v_ports = v_open − Z · (i(v_ports) − g0 · v_ports)

The base network holds each filament's cold conductance g0, so that a lamp behind an open switch is
an ordinary node and not a floating one. What still floats is tied to the reference by `LEAK_S`
and reads 0 V. Of many rows most are solved by `tangent`, which starts from the healthy solution and
works only on what moves; this is the way of the healthy row itself and of those that are left.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from threadpoolctl import ThreadpoolController

from tracer.changes import ChangeTable, pinned_open
from tracer.circuit import (
    LEAST_OHM,
    OHMMETER_OHM,
    OHMMETER_V,
    Bools,
    Change,
    Circuit,
    Floats,
    Ints,
    Setup,
    conductance_of,
)
from tracer.elimination import inverse, islands, neighbours, solved, without_remains
from tracer.filament import PortLaws
from tracer.low_rank import CUT_OFF, LowRank, chosen_columns
from tracer.solution import GivenVolts, Solution
from tracer.tangent import Changes, Found, Tangent

LEAK_S = 1e-9
# Parts that float in the base network are tied to the reference at one node by this, S, or else their
# resistances would be small differences of gigaohms. Changes that reach such a part take the tie away.
TIE_S = 0.01
PORT_TOLERANCE_V = 1e-9
LAST_STEP_V = 1e-6
RESIDUAL_LIMIT_A = 1e-6
CUT_OFF_LIMIT_A = 4e-10  # 0.4 mV on a line that nothing but a leak of 1 MΩ holds
_KEPT_BYTES = 100e6  # of inverses
_FEW_ROWS = 24  # not worth a tangent network
_ROWS_AT_ONCE = 2048
_FEW_BESIDE = 400  # rows for which what is done on purpose is worth no network of its own
_LARGE = 100  # nodes


@dataclass(frozen=True)
class _Base:
    """The factored healthy network of one set-up."""

    g: Floats  # (B,) branch conductances
    branches: tuple[tuple[Ints, Ints, Floats], ...]  # all conductances, with g0 of the ports, but the leaks
    z: Floats  # (n, n) inverse of their nodal matrix with the leaks, node 0 held at 0 V
    injected: Floats  # (n,) currents of the batteries at EMF factor 1
    meter: Floats  # (n,) current of the ohmmeter, which no battery's state changes
    v0: Floats  # (n,) open-port voltages from `injected`
    v_meter: Floats  # (n,) and from `meter`
    pa: Ints
    pb: Ints
    laws: PortLaws
    port_on: Floats  # (P,) 0 where the set-up itself took the lamp out
    base_s: Floats  # (P,) conductance the base gives each port
    pinned: Bools
    island: Ints  # (n,) number of the tied island that a node belongs to, −1 for none
    tied: Ints  # (islands,) the node by which each is tied to the reference

    def without_dead(self, dead: Bools, delta: Floats, a: Ints, b: Ints) -> tuple[Floats, Ints, Ints]:
        """Changes (H, K) and those that take the base conductance of dead ports (H, P) away.

        Newton could take it away too, but where nothing else hangs on a dead lamp only as the
        difference of two nearly equal numbers.
        """
        order, taken = chosen_columns(dead)
        gone = np.where(taken, -self.base_s[order], 0.0)
        return np.hstack([delta, gone]), np.hstack([a, self.pa[order]]), np.hstack([b, self.pb[order]])

    def untied(self, delta: Floats, a: Ints, b: Ints) -> tuple[Floats, Ints, Ints]:
        """Changes (H, K), and one more for each island that a row's changes reach: its tie goes."""
        if not len(self.tied):
            return delta, a, b
        real = delta != 0
        reached = np.sort(np.hstack([np.where(real, self.island[x], -1) for x in (a, b)]), axis=1)
        first = (reached >= 0) & (np.diff(reached, axis=1, prepend=-1) != 0)
        ends = np.where(first, self.tied[reached], 0)
        return (
            np.hstack([delta, np.where(first, -TIE_S, 0.0)]), np.hstack([a, ends]),
            np.hstack([b, np.zeros_like(ends)]),
        )


@dataclass(frozen=True)
class _Done:
    """What is done on purpose for a test, as changes to the network of the plain vehicle state."""

    d: Floats  # (D,) conductance differences
    a: Ints
    b: Ints
    g: Floats  # (B,) branch conductances with them
    pinned: Bools
    removed: tuple[str, ...]
    port_on: Floats  # (P,)
    ohmmeter: tuple[int, int] | None


class Solver:
    """Solves set-ups of one circuit; keeps the factored base of each."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._blas = ThreadpoolController()
        self._bases: OrderedDict[tuple[Setup, frozenset[str]], _Base] = OrderedDict()
        self._tangents: dict[tuple[Setup, frozenset[str]], Tangent | None] = {}
        a, b = circuit.branch_ends
        self._watched = a[circuit.watched], b[circuit.watched]

    def solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str] = frozenset()) -> Solution:
        """Solve every row of `table` in `setup`, relays held as `pulled_in` says, no fuse blowing."""
        # Matrices of a few hundred rows are several times slower when handed round between cores.
        with self._blas.limit(limits=1, user_api="blas"):
            return self._solve(setup, table, pulled_in)

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str]) -> Solution:
        plain = _plain(setup)
        if plain is not None and 0 < len(table) <= _FEW_BESIDE and len(self.circuit.nodes) >= _LARGE:
            base = self.base(plain, pulled_in)
            if not base.laws.leaks:
                out = Solution.empty(len(table), len(base.v0), len(base.laws), len(self._watched[0]))
                left = self._near(plain, table, pulled_in, base, out, self._done(setup, pulled_in, base))
                if len(left):
                    self._far(setup, table, self.base(setup, pulled_in), out, left)
                return out
        base = self.base(setup, pulled_in)
        out = Solution.empty(len(table), len(base.v0), len(base.laws), len(self._watched[0]))
        left = np.arange(len(table))
        if len(table) >= _FEW_ROWS or (setup, pulled_in) in self._tangents:
            left = self._near(setup, table, pulled_in, base, out)
        for first in range(0, len(left), _ROWS_AT_ONCE):
            rows = left[first:first + _ROWS_AT_ONCE]
            self._far(setup, table, base, out, rows)
        return out

    def _near(
        self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], base: _Base, out: Solution,
        done: _Done | None = None,
    ) -> Ints:
        """Solve what the tangent network of the healthy vehicle can; the rows that it cannot. `done` is what
        is done on purpose beyond the set-up of the network."""
        tangent = self._tangent(setup, pulled_in, base)
        if tangent is None:
            return np.arange(len(table))
        left = []
        for first in range(0, len(table), _ROWS_AT_ONCE):
            rows = np.arange(first, min(first + _ROWS_AT_ONCE, len(table)))
            part = table.rows(rows)
            supply = part.emf_in(setup.state.engine_running) - 1.0
            extra = len(base.pa) - part.port_factor.shape[1]
            factor = np.hstack([part.port_factor, np.ones((len(part), extra))])  # test lamps are never faulty
            deltas = self._deltas(setup, base, part)
            if done is not None:
                factor = factor * done.port_on
                each = len(part), len(done.d)
                delta = part.deltas(done.g, done.pinned, done.removed, setup.state)
                deltas = (
                    np.hstack([np.broadcast_to(done.d, each), delta]),
                    np.hstack([np.broadcast_to(done.a, each), part.a]),
                    np.hstack([np.broadcast_to(done.b, each), part.b]),
                )
            for some, (delta, a, b) in _by_width(*deltas):
                changes = tangent.without_dead(factor[some] == 0, delta, a, b, base.pa, base.pb)
                untied = base.untied(changes.d, changes.a, changes.b)
                norton = np.zeros_like(untied[0])
                norton[:, :changes.norton.shape[1]] = changes.norton
                if done is not None and done.ohmmeter is not None:
                    meter = (untied[0] == 1 / OHMMETER_OHM) & (untied[1] == done.ohmmeter[0])
                    norton[meter & (untied[2] == done.ohmmeter[1])] = OHMMETER_V / OHMMETER_OHM
                for fine, (d, a1, b1, n1) in _by_width(*untied, norton):
                    these = some[fine]
                    found = tangent.solve(Changes(d, a1, b1, n1), factor[these], supply[these])
                    accepted = _accepted(found)
                    if base.laws.leaks or setup.done.ohmmeter:
                        breach = self._breach(base, part.rows(these), found, setup)
                        accepted &= breach <= _limit(base.laws)
                    _put(out, rows[these], found)
                    for k in np.flatnonzero(found.nearly & ~accepted) if done is None else ():
                        accepted[k] = self._finished(setup, base, part.rows(these[[k]]), rows[these[k]], out)
                    left.append(rows[these[~accepted]])
        return np.concatenate(left)

    def _breach(self, base: _Base, part: ChangeTable, found: Found, setup: Setup) -> Floats:
        """(H,) largest breach of Kirchhoff's law at any node, A. The tangent network measures it at what moves,
        which does not see the rounding on a line that nothing but a leak or an ohmmeter holds."""
        n = len(base.v0)
        volts = found.volts.at(np.arange(len(part)), np.arange(n))
        d, a, b = base.untied(*base.without_dead(part.port_factor == 0, *self._deltas(setup, base, part)))
        extra = len(base.pa) - part.port_factor.shape[1]
        factor = np.hstack([part.port_factor, np.ones((len(part), extra))])
        running = setup.state.engine_running
        emf = part.emf_in(running) * setup.done.emf_in(running)
        return self._residual(base, volts, d, a, b, factor * base.port_on, base.base_s * (factor != 0), emf)

    def _done(self, setup: Setup, pulled_in: frozenset[str], base: _Base) -> _Done:
        """What is done in `setup` as changes to the network of the plain vehicle state."""
        circuit, done = self.circuit, setup.done
        g = circuit.conductances(setup, pulled_in)
        changed = np.flatnonzero(g != base.g)
        ea, eb = circuit.branch_ends
        added = [(circuit.node(x.a), circuit.node(x.b), conductance_of(x.ohm)) for x in done.added]
        ohmmeter = (circuit.node(done.ohmmeter[0]), circuit.node(done.ohmmeter[1])) if done.ohmmeter else None
        if ohmmeter:
            added.append((*ohmmeter, 1 / OHMMETER_OHM))
        port_on = np.ones(len(circuit.ports))
        for name in done.dead:
            port_on[circuit.port_index[name]] = 0.0
        for name, factor in done.scaled:
            port_on[circuit.port_index[name]] *= factor
        return _Done(
            np.append((g - base.g)[changed], [s for *_, s in added]),
            np.append(ea[changed], [a for a, *_ in added]).astype(np.intp),
            np.append(eb[changed], [b for _, b, _ in added]).astype(np.intp),
            g, pinned_open(circuit, setup), done.removed, port_on, ohmmeter,
        )

    def _deltas(self, setup: Setup, base: _Base, part: ChangeTable) -> tuple[Floats, Ints, Ints]:
        return part.deltas(base.g, base.pinned, setup.done.removed, setup.state), part.a, part.b

    def _finished(self, setup: Setup, base: _Base, one: ChangeTable, row: int, out: Solution) -> bool:
        """Make one row that nearly came out exact, if that takes few steps."""
        d, a, b = base.untied(*base.without_dead(one.port_factor == 0, *self._deltas(setup, base, one)))
        factor = np.append(one.port_factor[0], np.ones(len(base.pa) - one.port_factor.shape[1]))
        on, base_s = factor * base.port_on, base.base_s * (factor != 0)
        running = setup.state.engine_running
        emf = float(one.emf_in(running)[0]) * setup.done.emf_in(running)
        volts, v, i, done = self._one_by_one(base, d[0], a[0], b[0], on, base_s, emf, out.volts_of(row))
        if not done:
            return False
        self._put_row(base, out, row, volts, v, i, (d, a, b, on, base_s, emf))
        return bool(out.converged[row])

    def _put_row(
        self, base: _Base, out: Solution, row: int, volts: Floats, v: Floats, i: Floats,
        of: tuple[Floats, Ints, Ints, Floats, Floats, float],
    ) -> None:
        d, a, b, on, base_s, emf = of
        residual = self._residual(base, volts[None], d, a, b, on[None], base_s[None], np.array([emf]))
        watched = volts[self._watched[0]] - volts[self._watched[1]]
        good = residual <= 10 * RESIDUAL_LIMIT_A
        part = Solution(v[None], i[None], watched[None], residual, good, out.nodes)
        out.put(np.array([row]), part.with_volts(GivenVolts(volts[None])))

    def _far(self, setup: Setup, table: ChangeTable, base: _Base, out: Solution, rows: Ints) -> None:
        """Solve rows from nothing."""
        part = table.rows(rows)
        running = setup.state.engine_running
        emf = part.emf_in(running) * setup.done.emf_in(running)
        # Rows with few changes must not pay for the width of the few with many.
        for some, (delta, a, b) in _by_width(*self._deltas(setup, base, part)):
            changes = base.untied(*base.without_dead(part.port_factor[some] == 0, delta, a, b))
            for fine, (d, a1, b1) in _by_width(*changes):
                these = some[fine]
                solved_rows = self._solve_rows(base, d, a1, b1, part.port_factor[these], emf[these])
                out.put(rows[these], solved_rows)

    def _tangent(self, setup: Setup, pulled_in: frozenset[str], base: _Base) -> Tangent | None:
        """The network linearised at its healthy solution; none if that does not come out."""
        key = (setup, pulled_in)
        if key not in self._tangents:
            none, emf = np.zeros((1, 0)), setup.done.emf_in(setup.state.engine_running)
            no_node = none.astype(np.intp)
            healthy = self._solve_rows(
                base, none, no_node, no_node, np.ones((1, len(self.circuit.ports))), np.array([emf])
            )
            # What hangs on leaks is known to a nanoampere only.
            volts, _, _, exact = self._one_by_one(
                base, none[0], no_node[0], no_node[0], base.port_on, base.base_s, emf, healthy.volts[0]
            )
            self._tangents[key] = Tangent(
                base.z, base.laws, base.port_on, base.base_s, (base.pa, base.pb), self._watched, volts,
                base.injected * emf, float(healthy.residual_a[0]),
            ) if healthy.converged[0] and exact else None
            self._forget()
        return self._tangents[key]

    def _forget(self) -> None:
        """Drop the inverses that were not asked for longest."""
        kept = int(_KEPT_BYTES / (8.0 * max(len(self.circuit.nodes), 1) ** 2)) + 2
        while len(self._bases) > 1 and len(self._bases) + len(self._tangents) > kept:
            key, _ = self._bases.popitem(last=False)
            self._tangents.pop(key, None)

    def base(self, setup: Setup, pulled_in: frozenset[str]) -> _Base:
        key = (setup, pulled_in)
        if key not in self._bases:
            self._bases[key] = self._factor(setup, pulled_in)
            self._forget()
        self._bases.move_to_end(key)
        return self._bases[key]

    def cold(self, setup: Setup) -> Floats:
        """Node voltages (n,) with all relays at rest and all lamps cold: a rough guess, quickly made."""
        return self._factor(setup, frozenset(), rough=True).v0

    def _factor(self, setup: Setup, pulled_in: frozenset[str], rough: bool = False) -> _Base:
        circuit, n = self.circuit, len(self.circuit.nodes)
        lamps = setup.done.lamps
        laws = PortLaws([*circuit.ports, *(t.law for t in lamps)])
        pa, pb = circuit.port_ends
        pa = np.append(pa, [circuit.node(t.a) for t in lamps]).astype(np.intp)
        pb = np.append(pb, [circuit.node(t.b) for t in lamps]).astype(np.intp)
        port_on = np.ones(len(laws))
        for name in setup.done.dead:
            port_on[circuit.port_index[name]] = 0.0
        for name, factor in setup.done.scaled:
            port_on[circuit.port_index[name]] *= factor
        base_s = laws.base_s * port_on
        g = circuit.conductances(setup, pulled_in)
        injected, meter = np.zeros(n), np.zeros(n)
        running = setup.state.engine_running
        branches = [(*circuit.branch_ends, g), (pa, pb, base_s)]
        for added in setup.done.added:
            branches.append(_branch(circuit, added.a, added.b, conductance_of(added.ohm)))
        sources = [(s.plus, s.minus, s.emf(running), s.ohm, injected) for s in circuit.sources]
        if setup.done.disconnected:
            sources = []
        if setup.done.ohmmeter:
            sources.append((*setup.done.ohmmeter, OHMMETER_V, OHMMETER_OHM, meter))
        driven = []
        for plus_name, minus_name, emf, ohm, into in sources:
            plus, minus = circuit.node(plus_name), circuit.node(minus_name)
            s = 1 / max(ohm, LEAST_OHM)
            branches.append(_branch(circuit, plus_name, minus_name, s))
            driven += [plus, minus]
            into[plus] += s * emf
            into[minus] -= s * emf
        near = neighbours(n, branches)
        island, tied = islands(near, driven)
        to_ground = np.full(n, LEAK_S)
        to_ground[tied] += TIE_S
        if rough:
            z = np.zeros((0, 0))
            v0, v_meter = solved(near, to_ground, injected * setup.done.emf_in(running) + meter), meter
        else:
            z = inverse(near, to_ground)
            v0, v_meter = z @ injected, z @ meter
        branches.append((tied, np.zeros_like(tied), np.full(len(tied), TIE_S)))
        return _Base(g, tuple(branches), z, injected, meter, v0, v_meter, pa, pb, laws, port_on, base_s,
                     pinned_open(circuit, setup), island, tied)

    def _solve_rows(
        self, base: _Base, d: Floats, a: Ints, b: Ints, factor: Floats, emf: Floats
    ) -> Solution:
        rows, width = d.shape
        z, pa, pb = base.z, base.pa, base.pb
        extra = len(pa) - factor.shape[1]
        factor = np.hstack([factor, np.ones((rows, extra))])  # test lamps are never faulty
        on = factor * base.port_on
        base_s = base.base_s * (factor != 0)  # that of dead ports is among the changes
        zp = z[pa] - z[pb]  # (P, n)
        zpp = zp[:, pa] - zp[:, pb]
        v0 = base.v0 * emf[:, None] + base.v_meter
        correction = LowRank(z, d, a, b) if width else None
        z_ports = np.broadcast_to(zpp, (rows, *zpp.shape))
        v_open_all = v0
        if correction is not None:
            wp = np.swapaxes(correction.w[:, pa] - correction.w[:, pb], 1, 2)  # (H, K, P)
            z_ports = zpp - np.einsum("hkp,hkq->hpq", wp, correction.scale(wp))
            v_open_all = correction.apply(v0)
        v_open = v_open_all[:, pa] - v_open_all[:, pb]
        v, ok = _newton(z_ports, v_open, base.laws, on, base_s)
        i, slope = base.laws.current_and_slope(v)
        i = i * on
        away = i - base_s * v  # what the base does not already carry
        volts = v0 - away @ zp
        if correction is not None:
            volts = correction.apply(volts)
        residual = self._residual(base, volts, d, a, b, on, base_s, emf)
        slow = ~ok | (residual > _limit(base.laws))
        if correction is not None:  # what looked cut off may hang on a leak
            cut = np.array([h for h, _ in correction.islands], dtype=np.intp)
            slow[cut] |= residual[cut] > CUT_OFF_LIMIT_A
        if not base.laws.is_filament.all():
            slow |= _on_blocked_diodes(z_ports, base.laws, slope * on, base_s)
        for row in np.flatnonzero(slow):
            given = base, d[row], a[row], b[row], on[row], base_s[row], float(emf[row])
            near = self._one_by_one(*given, volts[row]) if np.isfinite(volts[row]).all() else None
            volts[row], v[row], i[row], ok[row] = near if near and near[3] else self._one_by_one(*given)
            residual[row] = self._residual(
                base, volts[[row]], d[[row]], a[[row]], b[[row]], on[[row]], base_s[[row]], emf[[row]]
            )[0]
            ok[row] = ok[row] and residual[row] <= 10 * RESIDUAL_LIMIT_A
        watched = volts[:, self._watched[0]] - volts[:, self._watched[1]]
        return Solution(v, i, watched, residual, ok, len(base.v0)).with_volts(GivenVolts(volts))

    @staticmethod
    def _residual(
        base: _Base, volts: Floats, d: Floats, a: Ints, b: Ints, on: Floats, base_s: Floats, emf: Floats
    ) -> Floats:
        v = volts[:, base.pa] - volts[:, base.pb]
        i, _ = base.laws.current_and_slope(v)
        left = i * on - base_s * v
        net = LEAK_S * volts - base.injected * emf[:, None] - base.meter
        row = np.arange(len(volts))[:, None]
        for ends_a, ends_b, s in base.branches:
            through = s * (volts[:, ends_a] - volts[:, ends_b])
            np.add.at(net, (row, ends_a), through)
            np.add.at(net, (row, ends_b), -through)
        np.add.at(net, (row, base.pa), left)
        np.add.at(net, (row, base.pb), -left)
        flow = d * (np.take_along_axis(volts, a, 1) - np.take_along_axis(volts, b, 1))
        np.add.at(net, (row, a), flow)
        np.add.at(net, (row, b), -flow)
        net[:, 0] = 0.0  # the reference takes whatever the rest leaves
        return np.asarray(np.abs(net).max(axis=1))

    @staticmethod
    def _one_by_one(
        base: _Base, d: Floats, a: Ints, b: Ints, on: Floats, base_s: Floats, emf: float, start: Floats | None = None
    ) -> tuple[Floats, Floats, Floats, bool]:
        """Full nodal Newton for one row: the slow way, for rows that the fast way could not settle. `start`
        is a solution to be made more exact."""
        n = len(base.v0)
        ground = np.full(n, LEAK_S)
        injected = base.injected * emf + base.meter
        # `d` takes the base conductance of dead ports away, so it must be there.
        branches = [x for x in base.branches if x[0] is not base.pa]
        branches.append((base.pa, base.pb, base.base_s - base_s))
        volts = np.zeros(n) if start is None else start.copy()
        done = False
        for step in range(200) if start is None else range(4, 12):
            v = volts[base.pa] - volts[base.pb]
            i, slope = base.laws.current_and_slope(v)
            # Secant steps first (they cannot diverge on a filament), Newton to finish.
            g = base.laws.secant(v, i, slope) if step % 12 < 4 else slope
            near = neighbours(n, [*branches, (base.pa, base.pb, g * on), (a, b, d)])
            into = injected.copy()
            rest = (i - g * v) * on
            np.add.at(into, base.pa, -rest)
            np.add.at(into, base.pb, rest)
            new = solved(without_remains(near), ground, into)
            change = np.clip(new - volts, -5.0, 5.0)
            volts = volts + change
            if step % 12 >= 4 and np.abs(change).max() < LAST_STEP_V:
                done = True
                break
        v = volts[base.pa] - volts[base.pb]
        return volts, v, base.laws.current_and_slope(v)[0] * on, done


def _newton(z: Floats, v_open: Floats, laws: PortLaws, on: Floats, base_s: Floats) -> tuple[Floats, Bools]:
    """Solve v = v_open − z (i(v) − base_s v) for all rows; rows that settled leave the batch."""
    rows, ports = v_open.shape
    v = v_open.copy()
    converged = np.zeros(rows, dtype=bool)
    live = np.arange(rows)
    eye = np.eye(ports)
    for step in range(60):
        vl = v[live]
        i, slope = laws.current_and_slope(vl)
        i, slope = i * on[live], slope * on[live]
        error = vl - v_open[live] + np.einsum("hpq,hq->hp", z[live], i - base_s[live] * vl)
        # Secant, i/v, is the better slope while far away from a filament's solution.
        far = step % 15 < 2
        slope = laws.secant(vl, i, slope) if far else slope
        jacobian = eye + z[live] * (slope - base_s[live])[:, None, :]
        try:
            change = np.linalg.solve(jacobian, error[:, :, None])[:, :, 0]
        except np.linalg.LinAlgError:
            break
        v[live] = vl - np.clip(change, -6.0, 6.0) * (1.0 if step < 30 else 0.6)
        # The size of the step decides, not that of the error: behind a dead lamp hangs nothing but the
        # leak, and there an error of nanovolts is one of volts. Newton squares what is left.
        settled = np.abs(change).max(axis=1, initial=0.0) < (PORT_TOLERANCE_V if far else LAST_STEP_V)
        converged[live[settled]] = True
        live = live[~settled]
        if not len(live):
            break
    return v, converged


def _on_blocked_diodes(z: Floats, laws: PortLaws, slope: Floats, base_s: Floats) -> Bools:
    """Rows (H,) in which some part hangs on nothing but diodes that block: see `without_dead`."""
    diodes = np.flatnonzero(~laws.is_filament)
    base_s = base_s[:, diodes]
    blocked = np.where(slope[:, diodes] < 1e-3 * base_s, base_s, 0.0)
    rest = np.eye(len(diodes)) - z[..., diodes, :][..., diodes] * blocked[:, None, :]
    return np.asarray(np.linalg.svd(rest, compute_uv=False)[:, -1] < CUT_OFF)


def _plain(setup: Setup) -> Setup | None:
    """The set-up without what is done on purpose, but for the battery; none if that leaves it as it is, or
    if test lamps are connected."""
    done = setup.done
    plain = Change(emf_factor=done.emf_factor, running_factor=done.running_factor, disconnected=done.disconnected)
    return None if done.lamps or plain == replace(done, swapped=()) else replace(setup, done=plain)


def _by_width(
    d: Floats, a: Ints, b: Ints, norton: Floats | None = None
) -> Iterator[tuple[Ints, tuple[Any, ...]]]:
    """Rows with about the same number of real changes, and these alone."""
    real = d != 0
    used = real.sum(axis=1)
    columns = [x for x in (d, a, b, norton) if x is not None]
    for low, high in ((0, 0), (1, 1), (2, 2), (3, 4), (5, 8), (9, 10**9)):
        rows = np.flatnonzero((used >= low) & (used <= high))
        if len(rows):
            order = np.argsort(~real[rows], axis=1, kind="stable")[:, :int(used[rows].max())]
            yield rows, tuple(x[rows[:, None], order] for x in columns)


def _limit(laws: PortLaws) -> float:
    """The residual above which a row gets a second look: where a line may hang on the leak of an LED (1 µS)
    alone, 60 nA are 30 mV."""
    return CUT_OFF_LIMIT_A if laws.leaks else RESIDUAL_LIMIT_A


def _accepted(found: Found) -> Bools:
    """Rows that need no second look; what looked cut off may hang on a leak."""
    cut = (found.volts.null != 0).any(axis=(1, 2))
    return np.asarray(found.good & (found.residual_a <= np.where(cut, CUT_OFF_LIMIT_A, RESIDUAL_LIMIT_A / 2)))


def _put(out: Solution, rows: Ints, found: Found) -> None:
    part = Solution(found.port_v, found.port_i, found.watched_v, found.residual_a, found.good, out.nodes)
    out.put(rows, part.with_volts(found.volts))


def _branch(circuit: Circuit, a: str, b: str, s: float) -> tuple[Ints, Ints, Floats]:
    return np.array([circuit.node(a)]), np.array([circuit.node(b)]), np.array([s])
