"""DC nodal analysis of one set-up under many changes at once.

One healthy network a set-up is inverted; every hypothesis is a low-rank correction of it
(Woodbury), reduced to the non-linear ports, on which Newton runs for all hypotheses together:

    v_ports = v_open − Z · (i(v_ports) − g0 · v_ports)

Of many rows most are solved by `tangent`, which starts from the healthy solution and works only on what
moves; this is the way of the healthy row itself and of those that are left.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.change_table import ChangeTable, tabulate
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.full_newton import LAST_STEP_V, Part, solve_all_nodes, solve_together
from tracer.circuit.held_together import CUT_OFF_LIMIT_A
from tracer.circuit.linearised import Changes, Found, Tangent
from tracer.circuit.low_rank import CUT_OFF, LowRank
from tracer.circuit.model import (
    NO_CHANGE,
    OHMMETER_OHM,
    OHMMETER_V,
    Bools,
    Circuit,
    Floats,
    Ints,
    Setup,
)
from tracer.circuit.network import Moves, Network, Networks, Rows
from tracer.circuit.one_core import one_core
from tracer.circuit.solution import GivenVolts, Solution

PORT_TOLERANCE_V = 1e-9
RESIDUAL_LIMIT_A = 1e-6
_KEPT_BYTES = 100e6  # of inverses
_FEW_ROWS = 24  # not worth a tangent network
_ROWS_AT_ONCE = 2048  # from nothing …
_SQUARES_AT_ONCE = 4_000_000  # … or fewer: they need the square of the ports in memory
_NEAR_AT_ONCE = 8192  # of those near the healthy vehicle: with fewer, calls take longer than what is done in them
_NEAR_LIGHTS = 1_000_000  # … or fewer: of rows times ports …
_NEAR_ENTRIES = 4_000_000  # … and of the matrices (rows, changes, changes or ports) that go with them
_FINISHED_AT_ONCE = 400
_FINISHED_ENTRIES = 1_000_000  # of their node voltages, of several set-ups together
# numbers of changes in rows that go together …
_WIDTHS = ((0, 1), (2, 4), (5, 8), (9, 16), (17, 32), (33, 64), (65, 128), (129, 10**9))
_FEW_TOGETHER, _WIDE = 150, 64  # … if there are more rows than this, or one is as wide
VERY_LARGE = 500  # nodes: a network's inverse is worth more than …
_FEW_ALONE = 2  # rows solved on all nodes


class _Begun(Struct):
    """Rows of a set-up, of which some are `left` to be solved; `healthy` (n,) voltages to begin from."""

    setup: Setup
    table: ChangeTable
    base: Network
    out: Solution
    left: Ints
    healthy: Floats | None = None


class Solver:
    """Solves set-ups of one circuit; keeps the factored base of each."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._networks = Networks(circuit)
        self._bases: OrderedDict[tuple[Setup, frozenset[str]], Network] = OrderedDict()
        self._tangents: dict[tuple[Setup, frozenset[str]], Tangent | None] = {}
        a, b = circuit.branch_ends
        self._watched = a[circuit.watched], b[circuit.watched]

    def solve(
        self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str] = frozenset(), of: int = 0
    ) -> Solution:
        """Solve every row of `table` in `setup`, relays held as `pulled_in` says, no fuse blowing. `of`: how many
        rows were asked for, if these are some of them that have to be solved again."""
        with one_core():
            return self._solve(setup, table, pulled_in, max(of, len(table)))

    def _solve(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], of: int) -> Solution:
        return self._solve_each([(setup, table, pulled_in, False)])[0]

    def _solve_each(self, asked: Sequence[tuple[Setup, ChangeTable, frozenset[str], bool]]) -> list[Solution]:
        """Rows of several set-ups, each with the network of its own, by its tangents even if they are few where that
        is asked; what takes all nodes is solved together."""
        begun = [self._begun(*one) for one in asked]
        self._finish(begun)
        for x in begun:
            at_once = max(min(_ROWS_AT_ONCE, _SQUARES_AT_ONCE // max(len(x.base.laws), 1) ** 2), 1)
            for first in range(0, len(x.left), at_once):
                self._far(x.setup, x.table, x.base, x.out, x.left[first:first + at_once])
        return [x.out for x in begun]

    def _begun(self, setup: Setup, table: ChangeTable, pulled_in: frozenset[str], by_tangents: bool) -> _Begun:
        """Solve what the tangent network of the healthy vehicle can."""
        base = self.base(setup, pulled_in)
        if by_tangents:
            self._tangent(setup, pulled_in, base)
        out = Solution.empty(len(table), len(self.circuit.nodes), len(base.laws), len(self._watched[0]))
        begun = _Begun(setup, table, base, out, np.arange(len(table)))
        if len(table) >= _FEW_ROWS or (setup, pulled_in) in self._tangents:
            moves = Moves(
                *self._deltas(setup, base, table), table.port_factor, table.emf_in(setup.state.engine_running),
                np.full((len(table), 2), -1, dtype=np.intp),
            )
            begun.left = self._by_tangent(setup, pulled_in, base, moves, out)
            tangent = self._tangents.get((setup, pulled_in))
            begun.healthy = None if tangent is None else tangent.volts
        return begun

    def _by_tangent(
        self, setup: Setup, pulled_in: frozenset[str], base: Network, moves: Moves, out: Solution
    ) -> Ints:
        """Solve rows with the network `base` of a set-up, linearised where the healthy vehicle stands; those (rows,)
        that do not come out."""
        tangent = self._tangent(setup, pulled_in, base)
        if tangent is None:
            return np.arange(len(moves))
        left = [np.zeros(0, dtype=np.intp)]
        factor = moves.factor
        if len(base.pa) > factor.shape[1]:  # test lamps are never faulty
            factor = np.hstack([factor, np.ones((len(moves), len(base.pa) - factor.shape[1]))])
        dead = factor == 0
        emf = setup.done.emf_in(setup.state.engine_running)
        for some, (delta, a, b) in by_width(moves.d, moves.a, moves.b):
            changes = tangent.without_dead(dead[some], delta, a, b, base.pa, base.pb)
            untied = base.untied(changes.d, changes.a, changes.b)
            norton = np.zeros_like(untied[0])
            norton[:, :changes.norton.shape[1]] = changes.norton
            meter = moves.meter[some]
            if (meter >= 0).any():
                at = (untied[0] == 1 / OHMMETER_OHM) & (untied[1] == meter[:, :1]) & (untied[2] == meter[:, 1:])
                norton[at] = OHMMETER_V / OHMMETER_OHM
            for fine, columns in by_width(*untied, norton):
                width, ports = max(columns[0].shape[1], 1), max(len(base.laws), 1)
                most = _NEAR_ENTRIES // (width * max(width, ports)), _NEAR_LIGHTS // ports
                at_once = max(min(_NEAR_AT_ONCE, *most), 1)
                for first in range(0, len(fine), at_once):
                    part = slice(first, first + at_once)
                    rows = some[fine[part]]
                    found = tangent.solve(
                        Changes(*(x[part] for x in columns)), factor[rows], moves.emf[rows] - 1.0
                    )
                    accepted = found.good & (found.residual_a <= RESIDUAL_LIMIT_A / 2)
                    _put(out, rows, found)
                    looked = accepted & (found.doubtful | _hanging(found, base.laws.leaks or setup.done.ohmmeter))
                    if looked.any():
                        at = np.flatnonzero(looked)
                        its = moves.rows(rows[at])
                        volts = GivenVolts(found.volts.at(at, np.arange(len(self.circuit.nodes))))
                        given = base.rows(its.d, its.a, its.b, its.factor, its.emf * emf, its.meter)
                        breach, lacking = base.breaches(volts.volts, given, found.port_i[at])
                        limit = np.where(found.doubtful[at], CUT_OFF_LIMIT_A, RESIDUAL_LIMIT_A)
                        accepted[at] &= (breach <= limit) & (lacking <= CUT_OFF_LIMIT_A)
                        out.put_volts(rows[at], volts)
                        out.port_v[rows[at]] = found.as_shifted(at, volts.volts, base.pa, base.pb)
                    left.append(rows[~accepted])
        return np.sort(np.concatenate(left))

    def _finish(self, begun: Sequence[_Begun]) -> None:
        """Solve rows that the tangent networks left nearly so, or as on the healthy vehicle, by Newton on all nodes;
        those that resist it are left."""
        waiting: list[tuple[_Begun, Ints, Rows, Floats]] = []
        nodes = np.arange(len(self.circuit.nodes))
        for x in begun:
            if x.healthy is None:
                continue
            rows, x.left = x.left, x.left[:0]
            for first in range(0, len(rows), _FINISHED_AT_ONCE):
                some = rows[first:first + _FINISHED_AT_ONCE]
                near = np.tile(x.healthy, (len(some), 1))
                at = np.flatnonzero(x.out.converged[some])
                near[at] = x.out.volts_at(nodes, some[at])
                if sum(len(w[1]) for w in waiting) * len(nodes) > _FINISHED_ENTRIES:
                    self._make_exact(waiting)
                    waiting = []
                waiting.append((x, some, self._given(x.setup, x.base, x.table.rows(some)), near))
        self._make_exact(waiting)

    def _make_exact(self, waiting: Sequence[tuple[_Begun, Ints, Rows, Floats]]) -> None:
        found = self._all_nodes_of([(x.base, given, near) for x, _, given, near in waiting])
        for (x, some, given, _), (volts, done) in zip(waiting, found, strict=True):
            exact = self._of_volts(x.base, given, volts, done)
            x.out.put(some, exact)
            x.left = np.concatenate([x.left, some[~exact.converged]])

    def _deltas(self, setup: Setup, base: Network, part: ChangeTable) -> tuple[Floats, Ints, Ints]:
        return part.deltas(base.g, base.pinned, setup.done.gone, setup.state), part.a, part.b

    def _given(self, setup: Setup, base: Network, part: ChangeTable) -> Rows:
        emf = part.emf_in(setup.state.engine_running) * setup.done.emf_in(setup.state.engine_running)
        return base.rows(*self._deltas(setup, base, part), part.port_factor, emf)

    def _all_nodes_of(self, asked: Sequence[tuple[Network, Rows, Floats]]) -> list[tuple[Floats, Bools]]:
        """Rows of several networks by Newton on all nodes, first from voltages (H, n) that are almost there, and then
        from nothing."""
        orders = [self._networks.order_with(base, given) for base, given, _ in asked]
        # No node is further from another than all batteries in series, which charging makes a little more.
        most = 1.25 * sum(s.volts for s in self.circuit.sources) + OHMMETER_V
        out = [(np.clip(near, -most, most), np.zeros(len(given), dtype=bool)) for _, given, near in asked]
        for nearly in (True, False):
            together: dict[tuple[int, int], list[tuple[int, Ints]]] = {}
            for k, ((base, _, near), (_, done)) in enumerate(zip(asked, out, strict=True)):
                rows = np.flatnonzero(np.isfinite(near).all(axis=1) if nearly else ~done)
                plain = len(base.laws) == len(self.circuit.ports)  # else it has test lamps of its own
                if len(rows):
                    together.setdefault((id(orders[k]), -1 if plain else id(base)), []).append((k, rows))
            for several in together.values():
                parts = [Part(asked[k][0], asked[k][1].rows(rows), out[k][0][rows] if nearly else None)
                         for k, rows in several]
                found = solve_together(orders[several[0][0]], parts)
                for (k, rows), (volts, done) in zip(several, found, strict=True):
                    out[k][0][rows], out[k][1][rows] = volts, done
        return out

    def _of_volts(self, base: Network, given: Rows, volts: Floats, done: Bools) -> Solution:
        """Node voltages (H, n) as a solution; rows that were not `done` are not to be used."""
        v = volts[:, base.pa] - volts[:, base.pb]
        watched = volts[:, self._watched[0]] - volts[:, self._watched[1]]
        residual = base.residual(volts, given)
        good = done & (residual <= 10 * RESIDUAL_LIMIT_A)
        i = base.laws.current_and_slope(v)[0] * given.on
        return Solution(v, i, watched, residual, good, volts.shape[1]).with_volts(GivenVolts(volts))

    def _far(self, setup: Setup, table: ChangeTable, base: Network, out: Solution, rows: Ints) -> None:
        """Solve rows from nothing."""
        given = self._given(setup, base, table.rows(rows))
        if len(rows) <= _FEW_ALONE and len(self.circuit.nodes) >= VERY_LARGE:
            found, done = solve_all_nodes(base, self._networks.order_with(base, given), given)
            out.put(rows, self._of_volts(base, given, found, done))
            rows = rows[~out.converged[rows]]
            given = self._given(setup, base, table.rows(rows))
        # Rows with few changes must not pay for the width of the few with many.
        for some, (d, a, b) in by_width(given.d, given.a, given.b):
            out.put(rows[some], self._solve_rows(base, replace(given.rows(some), d=d, a=a, b=b)))

    def _tangent(self, setup: Setup, pulled_in: frozenset[str], base: Network) -> Tangent | None:
        """The network linearised at its healthy solution; none if that does not come out."""
        key = (setup, pulled_in)
        if key not in self._tangents:
            given = self._given(setup, base, tabulate(self.circuit, [NO_CHANGE]))
            order = self._networks.order_with(base, given)
            volts, exact = solve_all_nodes(base, order, given)
            residual = base.residual(volts, given)
            fine = exact[0] and residual[0] <= 10 * RESIDUAL_LIMIT_A
            self._tangents[key] = Tangent(
                base, self._watched, volts[0], base.injected * given.emf[0], float(residual[0])
            ) if fine else None
            self._forget()
        return self._tangents[key]

    def _forget(self) -> None:
        """Drop the inverses that were not asked for longest."""
        kept = int(_KEPT_BYTES / (8.0 * max(len(self.circuit.nodes), 1) ** 2)) + 2
        while len(self._bases) > 1 and len(self._bases) + len(self._tangents) > kept:
            key, _ = self._bases.popitem(last=False)
            self._tangents.pop(key, None)

    def base(self, setup: Setup, pulled_in: frozenset[str]) -> Network:
        key = (setup, pulled_in)
        if key not in self._bases:
            self._bases[key] = self._networks.make(setup, pulled_in)
            self._forget()
        self._bases.move_to_end(key)
        return self._bases[key]

    def cold(self, setup: Setup) -> Floats:
        """Node voltages (n,) with all relays at rest and all lamps cold: a rough guess, quickly made."""
        return self._networks.make(setup, frozenset()).cold(setup.done.emf_in(setup.state.engine_running))

    def _solve_rows(self, base: Network, given: Rows) -> Solution:
        rows, width = given.d.shape
        z, pa, pb = base.z, base.pa, base.pb
        d, a, b, on, base_s = given.d, given.a, given.b, given.on, given.base_s
        zp = z[pa] - z[pb]  # (P, n)
        zpp = zp[:, pa] - zp[:, pb]
        v0 = np.outer(given.emf, z @ base.injected) + z @ base.meter
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
        residual, lacking = base.breaches(volts, given)
        slow = ~ok | (residual > RESIDUAL_LIMIT_A) | (lacking > _limit(base.laws))
        if correction is not None:  # what looked cut off may hang on a leak
            cut = np.array([h for h, _ in correction.islands], dtype=np.intp)
            slow[cut] |= lacking[cut] > CUT_OFF_LIMIT_A
        if not base.laws.is_filament.all():
            slow |= _on_blocked_diodes(z_ports, base.laws, slope * on, base_s)
        watched = volts[:, self._watched[0]] - volts[:, self._watched[1]]
        out = Solution(v, i, watched, residual, ok, len(self.circuit.nodes)).with_volts(GivenVolts(volts))
        at = np.flatnonzero(slow)
        if len(at):
            its = given.rows(at)
            out.put(at, self._of_volts(base, its, *self._all_nodes_of([(base, its, volts[at])])[0]))
        return out


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
        v[live] = laws.reached(vl, vl - np.clip(change, -6.0, 6.0) * (1.0 if step < 30 else 0.6))
        change = np.maximum(np.abs(change), np.abs(v[live] - vl))
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


def by_width(
    d: Floats, a: Ints, b: Ints, norton: Floats | None = None
) -> Iterator[tuple[Ints, tuple[Any, ...]]]:
    """Rows with about the same number of real changes, and these alone; few rows are not worth parting."""
    real = d != 0
    used = real.sum(axis=1)
    columns = [x for x in (d, a, b, norton) if x is not None]
    apart = len(d) > _FEW_TOGETHER or used.max(initial=0) >= _WIDE
    for low, high in _WIDTHS if apart else ((0, 10**9),):
        rows = np.flatnonzero((used >= low) & (used <= high))
        if len(rows):
            order = np.argsort(~real[rows], axis=1, kind="stable")[:, :int(used[rows].max())]
            yield rows, tuple(x[rows[:, None], order] for x in columns)


def _limit(laws: PortLaws) -> float:
    """The residual above which a row gets a second look: where a line may hang on the leak of an LED (1 µS)
    alone, 60 nA are 30 mV."""
    return CUT_OFF_LIMIT_A if laws.leaks else RESIDUAL_LIMIT_A


def _hanging(found: Found, easily: object) -> Bools:
    """Rows that may have a line which nothing but a leak or an ohmmeter holds, as they `easily` have where there is
    one: the tangent network measures its breach of Kirchhoff's law at what moves, which does not see the rounding
    there."""
    cut: Bools = (found.volts.null != 0).any(axis=(1, 2))
    return found.shaky | (cut if easily else cut & (found.residual_a > CUT_OFF_LIMIT_A))


def _put(out: Solution, rows: Ints, found: Found) -> None:
    part = Solution(found.port_v, found.port_i, found.watched_v, found.residual_a, found.good, out.nodes)
    out.put(rows, part.with_volts(found.volts))


def _branch(circuit: Circuit, a: str, b: str, s: float) -> tuple[Ints, Ints, Floats]:
    return np.array([circuit.node(a)]), np.array([circuit.node(b)]), np.array([s])
