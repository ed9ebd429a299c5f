"""Which fuses a path that does not belong there blows, and in which vehicle states.

A whole vehicle has thousands of places where two wires can touch and dozens of states, and hardly any of these
touches blows a fuse. So each is first estimated with everything taken as it stands in the healthy vehicle: lamps by
their tangent (what a lamp takes bends below it: the estimate is on the safe side), diodes and relays as they are.
Only what comes near a fuse's limit, moves a relay or wakes a diode is solved.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tracer.changes import ChangeTable
from tracer.circuit import Bools, Floats, Ints, Setup
from tracer.settle import Settler

_NEAR = 0.7  # of a fuse's limit: as near as this the estimate is not trusted
_WORSE = 1.03  # an estimate above that of a row that was solved by less than this is no news
_LEAST_A = 1e-3
_FELT = 0.02  # of it; a fuse that gets less of the path's current has nothing to do with it
_STILL_V = 0.3  # a diode or a coil whose voltage moves by less does what it did
_COIL_NEAR = (0.8, 1.25)  # of the pick-up and of the drop-out voltage
_CUT_OFF = 1e-9


def blown(settler: Settler, setups: Iterable[Setup], table: ChangeTable) -> Bools:
    """(H, fuses): whether a row blows a fuse in any of the set-ups."""
    out = np.zeros((len(table), len(settler.fuses)), dtype=bool)
    single = np.flatnonzero(_single(table))
    path = _paths(table, single)
    # The most, as shares of what blows them, that fuses were estimated to carry where a row was solved, and the
    # most that the path itself carried then: what is no worse needs no second solution.
    seen, seen_a = np.zeros((len(single), len(settler.fuses))), np.zeros(len(single))
    for setup in setups:
        worth = np.ones(len(table), dtype=bool)
        estimate = _Estimate.of(settler, setup)
        if estimate is not None:
            share, amps, worth[single] = estimate.worth_solving(*path, out[single], seen, seen_a)
            solved = worth[single]
            seen[solved] = np.maximum(seen[solved], share[solved])
            seen_a[solved] = np.maximum(seen_a[solved], amps[solved])
        rows = np.flatnonzero(worth)
        if len(rows):
            out[rows] |= settler.solve(setup, table.rows(rows)).blown
    return out


def _single(table: ChangeTable) -> Bools:
    """Rows (H,) that add one path and do nothing else."""
    plain = ((table.branch == -1).sum(axis=1) == 1) & (table.branch < 0).all(axis=1) & (table.when == -1).all(axis=1)
    for factors in (table.port_factor, table.rating):
        plain &= (factors == 1).all(axis=1)
    return np.asarray(plain & (table.emf_factor == 1) & (table.running_factor == 1))


def _paths(table: ChangeTable, rows: Ints) -> tuple[Ints, Ints, Floats]:
    column = (table.branch[rows] == -1).argmax(axis=1)
    return table.a[rows, column], table.b[rows, column], table.target_s[rows, column]


@dataclass(frozen=True)
class _Estimate:
    """The healthy vehicle in one set-up, linear.

    Attributes:
        volts: (n,) node voltages.
        z: (n, n) inverse of a network like it, and `u`, `m` what leads from it to the right one:
            Z = z − u m uᵀ, with u (n, K) and m (K, K).
        across: (n, W) the columns of Z between the ends of what is watched.
        watched_v: (W,) and the voltage between them: fuses first, then coils, then diodes.
        fuses: (F, W) the same between the ends of each fuse.
        fuse_s: (F,) conductance of the fuses.
        limit_a: (F,) what blows them.
        coil: (least, most) voltages (C,) between which nothing happens.
        wakes_v: (D,) forward voltage at which a diode would begin to conduct.
    """

    volts: Floats
    z: Floats
    u: Floats
    m: Floats
    across: Floats
    watched_v: Floats
    fuses: Floats
    fuse_s: Floats
    limit_a: Floats
    coil: tuple[Floats, Floats]
    wakes_v: Floats

    @staticmethod
    def of(settler: Settler, setup: Setup) -> _Estimate | None:
        """The estimate in a set-up; none where the healthy vehicle itself does not come to rest whole."""
        healthy = settler.healthy(setup)
        if healthy.blown.any() or healthy.restless.any() or not healthy.usable[0]:
            return None
        linear = settler.solver.linear_like(setup, settler.pulled_in(healthy))
        if linear is None:
            return None
        t, delta, a, b = linear
        circuit, laws = settler.circuit, t.laws
        pa, pb = circuit.port_ends
        volts = healthy.solution.volts[0]
        port_v = volts[pa] - volts[pb]
        slope = np.maximum(laws.current_and_slope(port_v)[1], 1e-3 * ~laws.is_filament)
        bent = np.flatnonzero(np.abs(slope - t.g) > 1e-3 * t.g)
        delta = np.append(delta, (slope - t.g)[bent])
        a, b = np.append(a, pa[bent]), np.append(b, pb[bent])
        u = t.z[:, a] - t.z[:, b]
        try:
            m = np.asarray(np.linalg.inv(np.diag(1 / delta) + u[a] - u[b]))
        except np.linalg.LinAlgError:
            return None
        fuses = [circuit.branch_index[f.name] for f in settler.fuses]
        coils = [circuit.branch_index[c] for c in settler.coils]
        diodes = np.flatnonzero(~laws.is_filament)
        ends_a, ends_b = circuit.branch_ends
        wa, wb = (np.concatenate([x[fuses], x[coils], y[diodes]]) for x, y in ((ends_a, pa), (ends_b, pb)))
        across = t.z[:, wa] - t.z[:, wb]
        across = np.asarray(across - u @ (m @ (u[wa] - u[wb]).T))
        f, c = len(fuses), slice(len(fuses), len(fuses) + len(coils))
        watched_v = volts[wa] - volts[wb]
        pulled = healthy.pulled_in[0]
        held_v = np.abs(watched_v[c])
        contacts = {k.coil: k for k in settler.contacts}
        pick_up, drop_out = (np.array([getattr(contacts[k], n) for k in settler.coils]) for n in
                             ("pick_up_v", "drop_out_v"))
        least = np.where(pulled, np.minimum(_COIL_NEAR[1] * drop_out, held_v - _STILL_V), -np.inf)
        most = np.where(pulled, np.inf, np.maximum(_COIL_NEAR[0] * pick_up, held_v + _STILL_V))
        conducts = slope[diodes] > 0.1 * slope[diodes].max(initial=1.0)
        forward = watched_v[len(fuses) + len(coils):]
        wakes = np.where(conducts, np.inf, np.maximum(forward, 0.0) + _STILL_V)
        return _Estimate(
            volts, t.z, u, m, across, watched_v, across[wa[:f]] - across[wb[:f]], settler.fuse_s, settler.limit_a,
            (least, most), wakes,
        )

    def worth_solving(
        self, a: Ints, b: Ints, s: Floats, known: Bools, seen: Floats, seen_a: Floats
    ) -> tuple[Floats, Floats, Bools]:
        """For paths of `s` siemens from a to b: the share (H, F) of what blows each fuse that it carries, the current
        (H,) of the path in A, and whether it may blow another fuse than those in `known` (H, F). What carries no
        more than `seen` (H, F) and `seen_a` (H,) was solved before."""
        share, worth = np.zeros(known.shape), np.zeros(len(s), dtype=bool)
        open_v = self.volts[a] - self.volts[b]
        ends = self.u[a] - self.u[b]
        r = self.z[a, a] + self.z[b, b] - self.z[a, b] - self.z[b, a] - ((ends @ self.m) * ends).sum(axis=1)
        r = np.maximum(r, 0.0)
        amps = open_v * s / (1 + s * r)
        rows = np.flatnonzero(np.abs(amps) > _LEAST_A)
        x = self.across[a[rows]] - self.across[b[rows]]
        moved = -amps[rows, None] * x
        share[rows] = self._shares(moved)
        over = share[rows] > _NEAR
        new = over & (share[rows] > _WORSE * seen[rows])
        coils, diodes = self._stirred(moved)
        worth[rows] = (new & ~known[rows]).any(axis=1) | coils | diodes & (np.abs(amps[rows]) > _WORSE * seen_a[rows])
        # What is blown already will be left blown: does that bring another fuse to its limit?
        count = known[rows].sum(axis=1)
        worth[rows[new.any(axis=1) & (count > 1)]] = True
        at = np.flatnonzero(over.any(axis=1) & (count == 1) & ~worth[rows])
        again = rows[at]
        fuse = known[again].argmax(axis=1)
        # Two changes: the path, and the fuse's own conductance taken away.
        left = 1 / self.fuse_s[fuse] - self.fuses[fuse, fuse]
        cut_off = left * self.fuse_s[fuse] < _CUT_OFF
        left = np.where(cut_off, 1.0, left)
        to_fuse = x[at, fuse]
        ohm = 1 / s[again] + r[again] + to_fuse**2 / left
        by_path = (open_v[again] + to_fuse * self.watched_v[fuse] / left) / ohm
        by_fuse = (to_fuse * by_path - self.watched_v[fuse]) / left
        moved = -by_path[:, None] * x[at] - by_fuse[:, None] * self.fuses[fuse]
        over = self._shares(moved) > _NEAR
        over[np.arange(len(again)), fuse] = False
        coils, diodes = self._stirred(moved)
        worth[again] = over.any(axis=1) | coils | diodes | cut_off
        return share, np.abs(amps), worth

    def _shares(self, moved: Floats) -> Floats:
        """(H, F) current of each fuse as a share of what blows it when the watched voltages move by so much (H, W); 0
        for a fuse that has nothing to do with it."""
        count = len(self.fuse_s)
        felt = np.abs(moved[:, :count]) * (self.fuse_s / self.limit_a) > _FELT
        return np.where(felt, np.abs(self.watched_v[:count] + moved[:, :count]) * (self.fuse_s / self.limit_a), 0.0)

    def _stirred(self, moved: Floats) -> tuple[Bools, Bools]:
        """Rows (H,) in which a relay may move, and those in which a diode may begin to conduct."""
        first, (least, most) = len(self.fuse_s), self.coil
        now = self.watched_v + moved
        coils = np.abs(now[:, first:first + len(least)])
        diodes = now[:, first + len(least):] > self.wakes_v
        outside = (coils < least) | (coils > most)
        return np.asarray(outside.any(axis=1)), np.asarray(diodes.any(axis=1))
