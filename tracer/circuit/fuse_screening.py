"""Which fuses a path that does not belong there blows, and in which vehicle states.

A whole vehicle has thousands of places where two wires can touch and dozens of states, and hardly any of these
touches blows a fuse. So each is first estimated with everything taken as it stands in the healthy vehicle: lit lamps
by their tangent (what a lamp takes bends below it: the estimate is on the safe side), dark ones as `warm_s` says,
diodes and relays as they are. Only what comes near a fuse's limit, moves a relay or wakes a diode is solved.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from msgspec import Struct

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.device_laws import BLOCKED_S, DARK_SHARE, warm_s
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import Bools, Floats, Ints, Setup

_NEAR = 0.7  # of what a fuse could yet carry: an estimate as near as this is not trusted
_SURE = 2.0  # and beyond this it blows
_WORSE = 1.03  # an estimate above that of a row that was solved by less than this is no news
_LEAST_A = 1e-3
_FOR_ROUNDING = 0.99
_STILL_V = 0.3  # a diode or a coil whose voltage moves by less does what it did
_COIL_NEAR = (0.8, 1.25)  # of the pick-up and of the drop-out voltage
_CUT_OFF = 1e-9


def blown(settler: Settler, setups: Iterable[Setup], table: ChangeTable) -> Bools:
    """(H, fuses): whether a row blows a fuse in any of the set-ups."""
    setups = list(setups)
    settler.know(setups)
    columns = dict[int, tuple[Floats, Floats]]()
    estimates = [_Estimate.of(settler, setup, columns) for setup in setups]
    doubtful = [settler.doubtful(setup, table) for setup in setups]
    out = np.zeros((len(table), len(settler.fuses)), dtype=bool)
    single = np.flatnonzero(_single(table))
    # The most that fuses were estimated to carry where a row was solved (as `_shares`), and the most that the path
    # itself carried then: what is no worse needs no second solution.
    seen, seen_a = np.zeros(out.shape), np.zeros(len(table))
    solved = np.zeros((len(setups), len(table)), dtype=bool)
    # What is solved is solved together; once it is known what blows, it can be told whether another fuse follows.
    for again in (False, True):
        rows = single[out[single].any(axis=1)] if again else single
        (a, b, s), asked = _paths(table, rows), []
        for k, estimate in enumerate(estimates):
            worth = np.ones(len(table), dtype=bool)
            if estimate is not None:
                worth[single] = False
                live, amps = estimate.live(a, b, s)
                at = rows[live]
                share, worth[at], sure = estimate.worth_solving(
                    a[live], b[live], s[live], amps, out[at], seen[at], seen_a[at]
                )
                out[at] |= sure
                told = worth[at] | sure.any(axis=1)
                at = at[told]
                seen[at], seen_a[at] = np.maximum(seen[at], share[told]), np.maximum(seen_a[at], np.abs(amps[told]))
                worth |= doubtful[k]
            asked.append(np.flatnonzero(worth & ~solved[k]))
            solved[k] |= worth
        found = settler.solve_several([(x, table.rows(r)) for x, r in zip(setups, asked, strict=True) if len(r)])
        for rows, settled in zip([r for r in asked if len(r)], found, strict=True):
            out[rows] |= settled.blown
    return out


def _single(table: ChangeTable) -> Bools:
    """Rows (H,) that add one path and do nothing else."""
    plain = ((table.branch == -1).sum(axis=1) == 1) & (table.branch < 0).all(axis=1) & (table.when == -1).all(axis=1)
    plain &= (table.rating == 1).all(axis=1)
    plain[table.odd.row[table.odd.factor != 1]] = False
    return np.asarray(plain & (table.emf_factor == 1) & (table.running_factor == 1))


def _paths(table: ChangeTable, rows: Ints) -> tuple[Ints, Ints, Floats]:
    column = (table.branch[rows] == -1).argmax(axis=1)
    return table.a[rows, column], table.b[rows, column], table.target_s[rows, column]


class _Estimate(Struct, frozen=True, dict=True):
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
    def of(settler: Settler, setup: Setup, columns: dict[int, tuple[Floats, Floats]]) -> _Estimate | None:
        """The estimate in a set-up; none where the healthy vehicle itself does not come to rest whole. `columns`
        keeps the networks that most set-ups share, and what they are between the ends of what is watched."""
        healthy = settler.healthy(setup)
        if healthy.blown.any() or healthy.restless.any() or not healthy.usable[0]:
            return None
        pulled = settler.pulled_in(healthy)
        z, laws, port_s, delta, a, b = settler.solver.linear_like(setup, pulled, warm_s)
        circuit = settler.circuit
        pa, pb = circuit.port_ends
        volts = healthy.solution.volts[0]
        port_v = volts[pa] - volts[pb]
        slope = np.maximum(laws.current_and_slope(port_v)[1], BLOCKED_S * ~laws.is_filament)
        dark = laws.is_filament & (np.abs(port_v) < DARK_SHARE * circuit.harness.system_v)
        bent = np.flatnonzero(~dark & (np.abs(slope - port_s) > 1e-3 * port_s))
        delta = np.append(delta, (slope - port_s)[bent])
        a, b = np.append(a, pa[bent]), np.append(b, pb[bent])
        u = z[:, a] - z[:, b]
        try:
            m = np.asarray(np.linalg.inv(np.diag(1 / delta) + u[a] - u[b]))
        except np.linalg.LinAlgError:
            return None
        fuses = [circuit.branch_index[f.name] for f in settler.fuses]
        coils = [circuit.branch_index[c] for c in settler.coils]
        diodes = np.flatnonzero(~laws.is_filament)
        ends_a, ends_b = circuit.branch_ends
        wa, wb = (np.concatenate([x[fuses], x[coils], y[diodes]]) for x, y in ((ends_a, pa), (ends_b, pb)))
        if id(z) not in columns:
            columns[id(z)] = z, z[:, wa] - z[:, wb]
        across = np.asarray(columns[id(z)][1] - u @ (m @ (u[wa] - u[wb]).T))
        f, c = len(fuses), slice(len(fuses), len(fuses) + len(coils))
        watched_v = volts[wa] - volts[wb]
        holds = healthy.pulled_in[0]
        held_v = np.abs(watched_v[c])
        contacts = {k.coil: k for k in settler.contacts}
        pick_up, drop_out = (np.array([getattr(contacts[k], n) for k in settler.coils]) for n in
                             ("pick_up_v", "drop_out_v"))
        least = np.where(holds, np.minimum(_COIL_NEAR[1] * drop_out, held_v - _STILL_V), -np.inf)
        most = np.where(holds, np.inf, np.maximum(_COIL_NEAR[0] * pick_up, held_v + _STILL_V))
        conducts = slope[diodes] > 0.1 * slope[diodes].max(initial=1.0)
        forward = watched_v[len(fuses) + len(coils):]
        wakes = np.where(conducts, np.inf, np.maximum(forward, 0.0) + _STILL_V)
        return _Estimate(
            volts, z, u, m, across, watched_v, across[wa[:f]] - across[wb[:f]], settler.fuse_s, settler.limit_a,
            (least, most), wakes,
        )

    def live(self, a: Ints, b: Ints, s: Floats) -> tuple[Ints, Floats]:
        """Of paths of `s` siemens from a to b those (R,) that may do something, and what they carry, in A.

        Nothing in a network of resistances carries more than the path that is added, or moves by more volts than
        the path's own ends do: what stays within the leeway of every fuse, coil and diode does nothing.
        """
        open_v = self.volts[a] - self.volts[b]
        fed = np.flatnonzero(np.abs(open_v) * s > _LEAST_A)  # the vehicle's own resistance can but lessen it
        s, ohm = s[fed], self._between(a[fed], b[fed])
        amps = open_v[fed] * s / (1 + s * ohm)
        most_a, most_v = self._leeway
        some = (np.abs(amps) > max(most_a, _LEAST_A)) | (np.abs(amps) * ohm > most_v)
        return fed[some], amps[some]

    @cached_property
    def _leeway(self) -> tuple[float, float]:
        """By how much any fuse's current (A), and any coil's or diode's voltage, may rise and nothing comes of it."""
        fuses, (least, most) = len(self.fuse_s), self.coil
        usual = np.abs(self.watched_v[:fuses]) * self.fuse_s
        coils, diodes = np.abs(self.watched_v[fuses:fuses + len(least)]), self.watched_v[fuses + len(least):]
        room = _NEAR * (self.limit_a - usual), np.concatenate([most - coils, coils - least, self.wakes_v - diodes])
        by_a, by_v = (_FOR_ROUNDING * float(np.min(x, initial=np.inf)) for x in room)
        return by_a, by_v

    def _between(self, a: Ints, b: Ints) -> Floats:
        """Resistance of the vehicle between nodes, Ω."""
        z, ends = self.z, self.u[a] - self.u[b]
        ohm = z[a, a] + z[b, b] - z[a, b] - z[b, a] - ((ends @ self.m) * ends).sum(axis=1)
        return np.asarray(np.maximum(ohm, 0.0))

    def worth_solving(
        self, a: Ints, b: Ints, s: Floats, amps: Floats, known: Bools, seen: Floats, seen_a: Floats
    ) -> tuple[Floats, Bools, Bools]:
        """For paths of `s` siemens from a to b that carry `amps`: what each fuse carries (H, F) as `_shares` has it,
        whether it may blow another fuse than those in `known` (H, F), and the fuses (H, F) that it blows beyond
        doubt. What carries no more than `seen` (H, F) and `seen_a` (H,) was solved before."""
        x = self.across[a] - self.across[b]
        moved = -amps[:, None] * x
        share = self._shares(moved)
        over = share > _NEAR
        new = over & (share > _WORSE * seen)
        coils, diodes = self._stirred(moved)
        worse = np.abs(amps) > _WORSE * seen_a
        worth = np.asarray((new & ~known).any(axis=1) | (coils | diodes) & worse)
        # One fuse far beyond its limit and no other near: that one blows, whatever the lamps do.
        clear = (share > _SURE).any(axis=1) & (over.sum(axis=1) == 1) & ~known.any(axis=1)
        clear &= ~coils & ~diodes
        worth[clear] = False
        gone = np.where(clear[:, None], over, known)
        # What is blown will be left blown: does that bring another fuse to its limit?
        count = gone.sum(axis=1)
        worth[new.any(axis=1) & (count > 1)] = True
        sure = np.zeros(known.shape, dtype=bool)
        at = np.flatnonzero(over.any(axis=1) & (count == 1) & ~worth)
        if not len(at):  # as on a vehicle without fuses
            return share, worth, sure
        fuse = gone[at].argmax(axis=1)
        # Two changes: the path, and the fuse's own conductance taken away.
        left = 1 / self.fuse_s[fuse] - self.fuses[fuse, fuse]
        cut_off = left * self.fuse_s[fuse] < _CUT_OFF
        left = np.where(cut_off, 1.0, left)
        to_fuse = x[at, fuse]
        ohm = 1 / s[at] + self._between(a[at], b[at]) + to_fuse**2 / left
        open_v = self.volts[a[at]] - self.volts[b[at]]
        by_path = (open_v + to_fuse * self.watched_v[fuse] / left) / ohm
        by_fuse = (to_fuse * by_path - self.watched_v[fuse]) / left
        moved = -by_path[:, None] * x[at] - by_fuse[:, None] * self.fuses[fuse]
        over = self._shares(moved) > _NEAR
        over[np.arange(len(at)), fuse] = False
        coils, diodes = self._stirred(moved)
        # Where the fuse alone fed what the path hangs on, nothing is left to blow.
        doubtful = (over.any(axis=1) | (coils | diodes) & (worse | clear)[at]) & ~cut_off
        worth[at] = doubtful
        settled = clear[at] & ~doubtful
        sure[at[settled], fuse[settled]] = True
        return share, worth, sure

    def _shares(self, moved: Floats) -> Floats:
        """(H, F) what each fuse carries beyond what it does when all is well, as a share of what it could yet carry,
        when the watched voltages move by so much (H, W)."""
        count = len(self.fuse_s)
        usual = np.abs(self.watched_v[:count]) * self.fuse_s
        now = np.abs(self.watched_v[:count] + moved[:, :count]) * self.fuse_s
        return np.asarray((now - usual) / (self.limit_a - usual))

    def _stirred(self, moved: Floats) -> tuple[Bools, Bools]:
        """Rows (H,) in which a relay may move, and those in which a diode may begin to conduct."""
        first, (least, most) = len(self.fuse_s), self.coil
        now = self.watched_v + moved
        coils = np.abs(now[:, first:first + len(least)])
        diodes = now[:, first + len(least):] > self.wakes_v
        outside = (coils < least) | (coils > most)
        return np.asarray(outside.any(axis=1)), np.asarray(diodes.any(axis=1))
