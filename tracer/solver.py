"""DC nodal analysis of one set-up under many changes at once.

One healthy network a set-up is factored; every hypothesis is a low-rank correction of it
(Woodbury), reduced to the non-linear ports, on which Newton runs for all hypotheses together:

    v_ports = v_open − Z · (i(v_ports) − g0 · v_ports)

The base network holds each filament's cold conductance g0, so that a lamp behind an open switch is
an ordinary node and not a floating one. What still floats is tied to the reference by `LEAK_S`
and reads 0 V.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
from threadpoolctl import ThreadpoolController

from tracer.changes import ChangeTable, pinned_open
from tracer.circuit import (
    LEAST_OHM,
    OHMMETER_OHM,
    OHMMETER_V,
    Bools,
    Circuit,
    Floats,
    Ints,
    Setup,
    conductance_of,
)
from tracer.filament import PortLaws
from tracer.low_rank import CUT_OFF, LowRank, islands, stamp

LEAK_S = 1e-9
# Parts that float in the base network are tied to the reference at one node by this, S, or else their
# resistances would be small differences of gigaohms. Changes that reach such a part take the tie away.
TIE_S = 0.01
PORT_TOLERANCE_V = 1e-9
LAST_STEP_V = 1e-6
RESIDUAL_LIMIT_A = 1e-6
CUT_OFF_LIMIT_A = 1e-8
_KEPT_BASES = 256


@dataclass(frozen=True)
class Solution:
    """Solved rows of one set-up; rows as in the table, nodes and ports as in the circuit.

    Attributes:
        volts: (H, nodes) against the reference node.
        port_v: (H, ports + test lamps) voltage a → b.
        port_i: (H, ports + test lamps) current a → b, A.
        residual_a: (H,) largest breach of Kirchhoff's current law at any node, A.
        converged: (H,) rows that may be used.
    """

    volts: Floats
    port_v: Floats
    port_i: Floats
    residual_a: Floats
    converged: Bools


@dataclass(frozen=True)
class _Base:
    """The factored healthy network of one set-up."""

    g: Floats  # (B,) branch conductances
    matrix: Floats  # (n, n) with g0 of the ports and the leaks
    z: Floats  # its inverse
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
        order = np.argsort(~dead, axis=1, kind="stable")[:, :int(dead.sum(axis=1).max(initial=0))]
        gone = np.where(np.take_along_axis(dead, order, axis=1), -self.base_s[order], 0.0)
        return np.hstack([delta, gone]), np.hstack([a, self.pa[order]]), np.hstack([b, self.pb[order]])

    def untied(self, delta: Floats, a: Ints, b: Ints) -> tuple[Floats, Ints, Ints]:
        """Changes (H, K), and one more for each island that a row's changes reach: its tie goes."""
        real = delta != 0
        reached = np.zeros((len(delta), len(self.tied) + 1), dtype=bool)
        row = np.broadcast_to(np.arange(len(delta))[:, None], a.shape)
        reached[row, np.where(real, self.island[a], -1)] = True
        reached[row, np.where(real, self.island[b], -1)] = True
        reached = reached[:, :-1]
        ends = np.broadcast_to(self.tied, reached.shape)
        return (
            np.hstack([delta, np.where(reached, -TIE_S, 0.0)]), np.hstack([a, ends]),
            np.hstack([b, np.zeros_like(ends)]),
        )


class Solver:
    """Solves set-ups of one circuit; keeps the factored base of each."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._blas = ThreadpoolController()
        self._bases: OrderedDict[tuple[Setup, frozenset[str]], _Base] = OrderedDict()

    def solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str] = frozenset()) -> Solution:
        """Solve every row of `table` in `setup`, relays held as `pulled_in` says, no fuse blowing."""
        # Matrices of a few hundred rows are several times slower when handed round between cores.
        with self._blas.limit(limits=1, user_api="blas"):
            return self._solve(setup, table, pulled_in)

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str]) -> Solution:
        base, running = self.base(setup, pulled_in), setup.state.engine_running
        delta = table.deltas(base.g, base.pinned, setup.done.removed, setup.state)
        delta, a, b = base.untied(*base.without_dead(table.port_factor == 0, delta, table.a, table.b))
        used = (delta != 0).sum(axis=1)
        order = np.argsort(delta == 0, axis=1, kind="stable")  # real changes first
        delta = np.take_along_axis(delta, order, axis=1)
        a, b = (np.take_along_axis(x, order, axis=1) for x in (a, b))
        out: Solution | None = None
        # Rows with few changes must not pay for the width of the few with many.
        for low, high in ((0, 0), (1, 1), (2, 2), (3, 4), (5, 10**9)):
            rows = np.flatnonzero((used >= low) & (used <= high))
            if not len(rows):
                continue
            width = min(high, int(used[rows].max()))
            part = self._solve_rows(
                setup, base, delta[rows, :width], a[rows, :width], b[rows, :width],
                table.port_factor[rows], table.emf_in(running)[rows] * setup.done.emf_in(running),
            )
            if len(rows) == len(table):
                return part
            if out is None:
                out = _empty(len(table), part)
            for name in ("volts", "port_v", "port_i", "residual_a", "converged"):
                getattr(out, name)[rows] = getattr(part, name)
        if out is None:
            n, p = len(base.v0), len(base.laws)
            return Solution(np.zeros((0, n)), np.zeros((0, p)), np.zeros((0, p)), np.zeros(0), np.zeros(0, bool))
        return out

    def base(self, setup: Setup, pulled_in: frozenset[str]) -> _Base:
        key = (setup, pulled_in)
        if key not in self._bases:
            self._bases[key] = self._factor(setup, pulled_in)
            while len(self._bases) > _KEPT_BASES:
                self._bases.popitem(last=False)
        self._bases.move_to_end(key)
        return self._bases[key]

    def _factor(self, setup: Setup, pulled_in: frozenset[str]) -> _Base:
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
        matrix, injected, meter = np.zeros((n, n)), np.zeros(n), np.zeros(n)
        ea, eb = circuit.branch_ends
        stamp(matrix, ea, eb, g)
        stamp(matrix, pa, pb, base_s)
        for added in setup.done.added:
            ends = np.array([circuit.node(added.a)]), np.array([circuit.node(added.b)])
            stamp(matrix, *ends, np.array([conductance_of(added.ohm)]))
        sources = [(s.plus, s.minus, s.emf(setup.state.engine_running), s.ohm, injected) for s in circuit.sources]
        if setup.done.disconnected:
            sources = []
        if setup.done.ohmmeter:
            sources.append((*setup.done.ohmmeter, OHMMETER_V, OHMMETER_OHM, meter))
        for plus_name, minus_name, emf, ohm, into in sources:
            plus, minus = circuit.node(plus_name), circuit.node(minus_name)
            s = 1 / max(ohm, LEAST_OHM)
            stamp(matrix, np.array([plus]), np.array([minus]), np.array([s]))
            into[plus] += s * emf
            into[minus] -= s * emf
        island, tied = islands(matrix, [circuit.node(x) for plus, minus, *_ in sources for x in (plus, minus)])
        stamp(matrix, tied, np.zeros_like(tied), np.full(len(tied), TIE_S))
        matrix[np.diag_indices(n)] += LEAK_S
        # The reference is held at 0 V by a conductance far above any other.
        matrix[0, 0] += 1e9
        z: Floats = np.linalg.inv(matrix).astype(np.float64)
        return _Base(g, matrix, z, injected, meter, z @ injected, z @ meter, pa, pb, laws, port_on, base_s,
                     pinned_open(circuit, setup), island, tied)

    def _solve_rows(
        self, setup: Setup, base: _Base, d: Floats, a: Ints, b: Ints, factor: Floats, emf: Floats
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
        slow = ~ok | (residual > RESIDUAL_LIMIT_A)
        if correction is not None:  # what looked cut off may hang on a leak
            cut = np.array([h for h, _ in correction.islands], dtype=np.intp)
            slow[cut] |= residual[cut] > CUT_OFF_LIMIT_A
        if not base.laws.is_filament.all():
            slow |= _on_blocked_diodes(z_ports, base.laws, slope * on, base_s)
        for row in np.flatnonzero(slow):
            volts[row], v[row], i[row], ok[row] = self._one_by_one(
                base, d[row], a[row], b[row], on[row], base_s[row], emf[row]
            )
            residual[row] = self._residual(
                base, volts[[row]], d[[row]], a[[row]], b[[row]], on[[row]], base_s[[row]], emf[[row]]
            )[0]
            ok[row] = ok[row] and residual[row] <= 10 * RESIDUAL_LIMIT_A
        return Solution(volts, v, i, residual, ok)

    @staticmethod
    def _residual(
        base: _Base, volts: Floats, d: Floats, a: Ints, b: Ints, on: Floats, base_s: Floats, emf: Floats
    ) -> Floats:
        v = volts[:, base.pa] - volts[:, base.pb]
        i, _ = base.laws.current_and_slope(v)
        left = i * on - base_s * v
        net = volts @ base.matrix - base.injected * emf[:, None] - base.meter
        row = np.arange(len(volts))[:, None]
        np.add.at(net, (row, base.pa), left)
        np.add.at(net, (row, base.pb), -left)
        flow = d * (np.take_along_axis(volts, a, 1) - np.take_along_axis(volts, b, 1))
        np.add.at(net, (row, a), flow)
        np.add.at(net, (row, b), -flow)
        net[:, 0] = 0.0  # the reference takes whatever the rest leaves
        return np.asarray(np.abs(net).max(axis=1))

    @staticmethod
    def _one_by_one(
        base: _Base, d: Floats, a: Ints, b: Ints, on: Floats, base_s: Floats, emf: float
    ) -> tuple[Floats, Floats, Floats, bool]:
        """Full nodal Newton for one row: the slow way, for rows that the fast way could not settle."""
        linear = base.matrix.copy()
        stamp(linear, a, b, d)
        stamp(linear, base.pa, base.pb, -base_s)
        volts = np.zeros(len(linear))
        done = False
        for step in range(200):
            v = volts[base.pa] - volts[base.pb]
            i, slope = base.laws.current_and_slope(v)
            # Secant steps first (they cannot diverge on a filament), Newton to finish.
            g = base.laws.secant(v, i, slope) if step % 12 < 4 else slope
            matrix = linear.copy()
            stamp(matrix, base.pa, base.pb, g * on)
            injected = base.injected * emf + base.meter
            rest = (i - g * v) * on
            np.add.at(injected, base.pa, -rest)
            np.add.at(injected, base.pb, rest)
            new = np.linalg.solve(matrix, injected)
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


def _empty(rows: int, like: Solution) -> Solution:
    n, p = like.volts.shape[1], like.port_v.shape[1]
    return Solution(
        np.zeros((rows, n)), np.zeros((rows, p)), np.zeros((rows, p)), np.zeros(rows), np.zeros(rows, dtype=bool)
    )
