"""The fast way to solve many rows: each as a small difference from the healthy vehicle.

At the healthy operating point of a set-up every port is replaced by its tangent. On that linear network a
fault's few conductance changes are a low-rank correction, exact for all ports that stay about where they
were. Newton runs on those that move, which are few: nobody's work grows with the size of the vehicle.

    v = v_healthy + Z · (what the changes inject − c(v)),  c(v) = i(v) − (i* + g* (v − v*))

Rows that do not come out are marked and solved by the solver's slower ways.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracer.circuit import Bools, Floats, Ints
from tracer.low_rank import CUT_OFF, chosen_columns
from tracer.network import Network

# A port whose current strays from its tangent by less than this, A, is taken to follow it.
_STRAY_A = 1.5e-7
_LEAK_STRAY_A = 1e-9  # of LEDs: on their leak of a microsiemens a whole line may hang
# Where the stray current's own slope shifts its port by less than this share, its law is followed without Newton.
_WEAK = 0.01
# Conductance of a diode in the tangent network: so much less than the wires beside it that
# taking it away leaves digits of what leaks, and so much more than a leak that what hangs on it is not cut off.
_HELD_S = 1e-3
# What a part that nothing feeds may read before it is shifted to 0 V; a leak of gigaohms would feed it more.
_STILL_V = 2.0
_MANY_ENDS = 5
_LAST_STEP_V = 1e-6
_LAST_STEP_A = 2e-9
_FAR = 0.25  # share of its voltage by which a port has moved when Newton's slope is not to be trusted
_MOST_STEPS = 40
_MOST_ROUNDS = 12
_PATIENT_ROUNDS = 5  # then all ports that move count as strong
_LADDER_V = 10.0 ** np.arange(-1.0, -7.1, -0.25)
_STRONG_PORTS = (2, 8, 32, 128, 10**9)  # rows with about as many go together
_FEW_PORTS = 6  # whose currents are spread one by one
_ENTRIES_AT_ONCE = 1_000_000


@dataclass(frozen=True)
class Changes:
    """Rows of changes against the tangent network.

    Attributes:
        d, a, b: (h, K) conductance differences and the nodes between which they are.
        norton: (h, K) the constant part of a tangent's current that goes with it, A.
    """

    d: Floats
    a: Ints
    b: Ints
    norton: Floats


@dataclass(frozen=True)
class Superposed:
    """Node voltages as the healthy ones plus what currents between some nodes add.

    Attributes:
        s: (h, K) current drawn between a and b.
        null: (h, K, Q) how each part that the row cuts off may shift as a whole: 0 V on average.
        c: (h, P) stray currents of the ports.
        supply: (h,) factor on the supply less 1.
    """

    tangent: Tangent
    a: Ints
    b: Ints
    s: Floats
    null: Floats
    c: Floats
    supply: Floats

    def at(self, rows: Ints, nodes: Ints) -> Floats:
        t = self.tangent
        cut = (self.null[rows] != 0).any(axis=(1, 2))
        every = np.arange(len(t.volts)) if cut.any() else nodes
        v = np.broadcast_to(t.volts[every], (len(rows), len(every))) + self.supply[rows, None] * t.supply[every]
        strays = (self.c[rows] != 0).any(axis=1)
        v[strays] -= self.c[rows[strays]] @ t.x[every, :self.c.shape[1]].T
        shift = np.zeros((int(cut.sum()), self.null.shape[2], len(every)))
        for k in range(self.a.shape[1]):
            w = t.z[self.a[rows, k]] - t.z[self.b[rows, k]]
            if len(every) != len(t.volts):
                w = w[:, every]
            v -= self.s[rows, k, None] * w
            shift += self.null[rows[cut], k, :, None] * w[cut][:, None]
        v[cut] -= _times(np.swapaxes(shift, 1, 2), _least(np.swapaxes(shift, 1, 2), v[cut]))
        return v if len(every) == len(nodes) else v[:, nodes]


@dataclass(frozen=True)
class Found:
    """What `Tangent.solve` found; rows that are not `good` are to be solved otherwise."""

    port_v: Floats
    port_i: Floats
    watched_v: Floats
    residual_a: Floats
    good: Bools
    nearly: Bools  # not good, but for what hangs on nanoamperes
    volts: Superposed


@dataclass(frozen=True)
class _Work:
    """What Newton works with, h rows, and in place from `vx` on: they belong together at all times."""

    xk: Floats  # (h, K, P + W) what a current in each change does
    undo: Floats  # (h, K, K)
    factor: Floats  # (h, P) on the ports' currents
    vx: Floats  # (h, P + W) voltages
    c: Floats  # (h, P) stray currents
    across: Floats  # (h, K) what these make across the changes
    more: Floats  # (h, K) and what the changes draw for that
    error: Floats  # (h,) largest error of a stray current, A
    done: Bools  # (h,) not given up


@dataclass(frozen=True)
class _Moved:
    """What Newton found."""

    c: Floats  # (h, P) stray currents
    vx: Floats  # (h, P + W)
    across: Floats  # (h, K) what the stray currents make across the changes
    more: Floats  # (h, K) and what the changes draw for that
    error: Floats  # (h,) largest error of a stray current, A
    done: Bools  # (h,)
    hanging: Bools  # (h,) done, but for what hangs on blocked diodes


class Tangent:
    """The network of one set-up linearised where the healthy vehicle stands."""

    def __init__(
        self, network: Network, watched: tuple[Ints, Ints], volts: Floats, injected: Floats, residual_a: float
    ) -> None:
        """`volts` (n,) is the healthy solution of the network, `injected` (n,) what its supplies inject."""
        self.laws, self.on, self.volts, self.residual_a = network.laws, network.port_on, volts, residual_a
        pa, pb = network.pa, network.pb
        self.v: Floats = volts[pa] - volts[pb]
        i, slope = self.laws.current_and_slope(self.v)
        # Diodes that do not leak; whether they conduct now or not, a fault may make them block.
        self.held: Bools = ~self.laws.is_filament & (network.base_s > _HELD_S)
        self.i: Floats = i * self.on
        self.g: Floats = np.where(self.held, _HELD_S, slope * self.on)
        self.z = network.inverse(self.g)
        xa, xb = np.append(pa, watched[0]), np.append(pb, watched[1])
        self.x: Floats = np.ascontiguousarray(self.z[:, xa] - self.z[:, xb])  # (n, P + W)
        self.xp: Floats = self.x[pa] - self.x[pb]  # (P, P + W)
        self.vx: Floats = volts[xa] - volts[xb]
        self.supply: Floats = self.z @ injected
        self.supply_x: Floats = self.supply[xa] - self.supply[xb]
        self.norton: Floats = self.i - self.g * self.v
        self.reach = self._reach()

    def _reach(self) -> Floats:
        """(P,) how far each port's voltage may move before its current strays from the tangent."""
        reach = np.full(len(self.v), _LADDER_V[-1])
        for step in _LADDER_V[::-1]:
            stray = np.zeros(len(self.v))
            for v in (self.v - step, self.v + step):
                i = self.laws.current_and_slope(v)[0] * self.on
                stray = np.maximum(stray, np.abs(i - self.i - self.g * (v - self.v)))
            limit = np.where(self.laws.is_filament, _STRAY_A, _LEAK_STRAY_A)
            reach = np.where((stray < limit) & (reach >= step / 2), step, reach)
        # What hangs on a diode that blocks hangs on nanoamperes.
        return np.where(self.held, 1e-11, reach)

    def without_dead(self, dead: Bools, delta: Floats, a: Ints, b: Ints, pa: Ints, pb: Ints) -> Changes:
        """Changes (H, K) and those that take the tangents of dead ports (H, P) away."""
        order, taken = chosen_columns(dead)
        gone = np.where(taken, -self.g[order], 0.0)
        norton = np.where(taken, self.norton[order], 0.0)
        return Changes(
            np.hstack([delta, gone]), np.hstack([a, pa[order]]), np.hstack([b, pb[order]]),
            np.hstack([np.zeros_like(delta), norton]),
        )

    def solve(self, changes: Changes, factor: Floats, supply: Floats) -> Found:
        """Rows of changes; `factor` (h, P) on each port's current, `supply` (h,) factor on the supplies less 1."""
        rows, width = changes.d.shape
        ports = len(self.v)
        a, b, d, norton = changes.a, changes.b, changes.d, changes.norton
        good = np.ones(rows, dtype=bool)
        null = np.zeros((rows, width, 0))
        if width:
            xk = self.x[a] - self.x[b]  # (h, K, P + W)
            from_a, from_b = (self.z[x[:, :, None], a[:, None]] - self.z[x[:, :, None], b[:, None]] for x in (a, b))
            r = from_a - from_b
            root = np.sqrt(np.abs(d))
            signed = np.sign(d) * root
            inverse, null = _inverse(np.eye(width) + signed[:, :, None] * r * root[:, None, :], root)
            # Where many ends come off at once (a splice) and leave parts on nothing, a digit too many is lost here.
            parts = (null != 0).any(axis=1).sum(axis=1)
            good = (parts == 0) | (parts == 1) & ((d != 0).sum(axis=1) < _MANY_ENDS)
            undo = root[:, :, None] * inverse * signed[:, None, :]
            across = self.volts[a] - self.volts[b] + supply[:, None] * (self.supply[a] - self.supply[b])
            known = across + _times(r, norton)
            s = _times(undo, known) - norton
            vx = self.vx - _along(s, xk)
        else:
            xk, undo, r = np.zeros((rows, 0, len(self.vx))), np.zeros((rows, 0, 0)), np.zeros((rows, 0, 0))
            s = known = np.zeros((rows, 0))
            vx = np.repeat(self.vx[None], rows, axis=0)
        other = np.flatnonzero(supply)
        vx[other] += supply[other, None] * self.supply_x
        # Few ports are dead or have another bulb.
        odd = np.nonzero(factor != 1)
        dead = odd[0][factor[odd] == 0], odd[1][factor[odd] == 0]
        moved = np.abs(vx[:, :ports] - self.v) > self.reach
        moved[odd] = True
        moved[dead] = False
        at = np.flatnonzero(moved.any(axis=1) & good)
        c = np.zeros((rows, ports))
        stray, nearly = np.zeros(rows), np.zeros(rows, dtype=bool)
        if len(at):
            found = self._newton(vx[at], xk[at], undo[at], moved[at], factor[at])
            c[at], vx[at], stray[at] = found.c, found.vx, found.error
            good[at], nearly[at] = found.done & ~found.hanging, found.hanging
            known[at] -= found.across
            s[at] -= found.more
        # What each changed branch was taken to carry beyond what it should at the voltages found.
        ends = known - _times(r, norton) - _times(r, s)
        breach = s - (d * ends - norton)
        if null.shape[2]:
            cut = np.flatnonzero((null != 0).any(axis=(1, 2)))
            breach[cut], fed = self._shifted(breach[cut], null[cut], s[cut], d[cut], r[cut], from_a[cut], from_b[cut],
                                             a[cut], b[cut], c[cut], supply[cut])
            good[cut] &= ~fed
        breach = np.abs(breach).max(axis=1, initial=0.0)
        residual = self.residual_a + np.maximum(breach, stray)
        v = vx[:, :ports]
        i = v - self.v
        i *= self.g
        i += self.i
        i[at] += c[at]
        i[dead] = 0.0
        finite = np.isfinite(vx.sum(axis=1))
        volts = Superposed(self, a, b, s, null, c, supply)
        return Found(v, i, vx[:, ports:], residual, good & finite & np.isfinite(breach), nearly & finite, volts)

    def _shifted(
        self, breach: Floats, null: Floats, s: Floats, d: Floats, r: Floats, from_a: Floats, from_b: Floats,
        a: Ints, b: Ints, c: Floats, supply: Floats,
    ) -> tuple[Floats, Bools]:
        """The breach (h, K) when each part cut off has the voltage that lets its currents add up, and rows in
        which that is not 0 V: something still feeds it."""
        change = null + d[:, :, None] * (r @ null)
        by = -_least(change, breach)
        fed = np.zeros(len(breach), dtype=bool)
        for nodes, z in ((a, from_a), (b, from_b)):
            v = self.volts[nodes] + supply[:, None] * self.supply[nodes] - _times(z, s + _times(null, by))
            v -= np.einsum("hkp,hp->hk", self.x[nodes, :c.shape[1]], c)
            shift = np.abs(z @ null)
            largest = np.maximum(np.abs(from_a @ null).max(axis=1), np.abs(from_b @ null).max(axis=1))
            inside = (shift > 1e-3 * largest[:, None]) & (shift > 0)
            fed |= (inside.any(axis=2) & (np.abs(v) > _STILL_V)).any(axis=1)
        return breach + _times(change, by), fed

    def _newton(self, start: Floats, xk: Floats, undo: Floats, moved: Bools, factor: Floats) -> _Moved:
        """Newton on the ports that `moved` (h, P) from where the tangents hold, and on those that move in turn.

        Args:
            start: (h, P + W) voltages without any stray current.
            xk, undo: (h, K, P + W), (h, K, K) what the changes do to them.
            factor: (h, P) on each port's current.
        """
        rows, ports = moved.shape
        w = _Work(xk, undo, factor, start.copy(), np.zeros((rows, ports)), np.zeros(xk.shape[:2]),
                  np.zeros(xk.shape[:2]), np.zeros(rows), np.ones(rows, dtype=bool))
        weak, strong, seen = moved.copy(), np.zeros(moved.shape, dtype=bool), moved | (factor == 0)
        left = np.arange(rows)
        for step in range(_MOST_ROUNDS):
            w.error[left] = 0.0
            at, port, bend, before, waiting = self._follow(w, left, weak, strong, step > _PATIENT_ROUNDS)
            self._solve_strong(w, left[strong[left].any(axis=1)], strong, 2 if step else 0)
            change = np.abs(w.vx[at, port] - before)
            error = np.abs(bend) * change
            np.maximum.at(w.error, at, error)
            waiting[at[~((change < _LAST_STEP_V) & (error < _LAST_STEP_A))]] = True
            away = w.vx[left, :ports]
            away -= self.v
            row, port = np.nonzero((np.abs(away, out=away) > self.reach) & ~seen[left])
            weak[left[row], port] = seen[left[row], port] = waiting[left[row]] = True
            left = left[waiting[left] & w.done[left]]
            if not len(left):
                break
        w.done[left] = False
        hanging = self._on_blocked_diodes(w) & w.done
        return _Moved(w.c, w.vx, w.across, w.more, w.error, w.done, hanging)

    def _follow(
        self, w: _Work, rows: Ints, weak: Bools, strong: Bools, all_strong: bool
    ) -> tuple[Ints, Ints, Floats, Floats, Bools]:
        """Let the `weak` ports, which hardly act on their own voltage, carry what their laws say. Those that do act
        become `strong`, in place; in their rows (h,), the last of what is returned, the others wait. Before it: row,
        port, slope of the stray current and voltage of each port that was followed."""
        waiting = np.zeros(len(weak), dtype=bool)
        row, port = np.nonzero(weak[rows])
        at = rows[row]
        v, across, own = w.vx[at, port], w.xk[at, :, port], self.xp[port, port]
        c, bend, _ = self._strays(port, v, w.factor[at, port], _MOST_STEPS)
        if across.shape[1]:
            own = own - (across * _times(w.undo[at], across)).sum(axis=1)
        tight = ~(np.abs(bend) * np.abs(own) <= (0.0 if all_strong else _WEAK))
        strong[at[tight], port[tight]], weak[at[tight], port[tight]] = True, False
        waiting[at[tight]] = True
        kept = ~waiting[at]
        row, port, at = row[kept], port[kept], at[kept]
        c, bend, v = c[kept], bend[kept], v[kept]
        more = np.zeros((len(rows), weak.shape[1]))
        more[row, port] = c - w.c[at, port]
        w.c[at, port] = c
        some = np.flatnonzero(np.bincount(row, minlength=len(rows)))
        self._draw(w, rows[some], more[some])
        return at, port, bend, v, waiting

    def _draw(self, w: _Work, rows: Ints, c: Floats) -> None:
        """Add what further stray currents c (h, P) do."""
        xk = w.xk[rows]
        across = np.einsum("hkp,hp->hk", xk[:, :, :c.shape[1]], c)
        more = _times(w.undo[rows], across)
        w.across[rows] += across
        w.more[rows] += more
        w.vx[rows] += _along(more, xk) - c @ self.xp

    def _solve_strong(self, w: _Work, rows: Ints, strong: Bools, step: int) -> None:
        """Newton on the strong ports (h, P) alone, all rows with about as many of them together."""
        count = strong[rows].sum(axis=1)
        low = 0
        for high in _STRONG_PORTS:
            some = rows[(count > low) & (count <= high)]
            low = high
            at_once = max(_ENTRIES_AT_ONCE // min(high, strong.shape[1]) ** 2, 1)
            for first in range(0, len(some), at_once):
                part = some[first:first + at_once]
                self._solve_ports(w, part, *chosen_columns(strong[part]), step)

    def _solve_ports(self, w: _Work, rows: Ints, port: Ints, taken: Bools, begin: int) -> None:
        """Newton on the ports (h, m) that are `taken` in rows (h,), from step `begin`."""
        at = rows[:, None]
        before = w.c[at, port] * taken
        v, factor = w.vx[at, port], w.factor[at, port] * taken
        across = w.xk[at, :, port]  # (h, m, K)
        z = self.xp[port[:, :, None], port[:, None]]
        if across.shape[2] == 1:
            z -= across * (w.undo[rows] * np.swapaxes(across, 1, 2))
        elif across.shape[2]:
            z -= across @ (w.undo[rows] @ np.swapaxes(across, 1, 2))
        z *= taken[:, :, None]  # what only fills a row up stays where it is
        self._newton_steps(w, rows, port, taken, v + _times(z, before), v, factor, z, begin)
        c = w.c[at, port] * taken - before
        if port.shape[1] > _FEW_PORTS:
            more = np.zeros((len(rows), w.c.shape[1]))
            row, column = np.nonzero(taken)
            more[row, port[row, column]] = c[row, column]
            self._draw(w, rows, more)
            return
        by = np.einsum("hmk,hm->hk", across, c)
        drawn = _times(w.undo[rows], by)
        w.across[rows] += by
        w.more[rows] += drawn
        w.vx[rows] += _along(drawn, w.xk[rows]) - _along(c, self.xp[port])

    def _newton_steps(
        self, w: _Work, rows: Ints, port: Ints, taken: Bools, start: Floats, v: Floats, factor: Floats, z: Floats,
        begin: int,
    ) -> None:
        """Stray currents so that v = start − z c(v), rows that settle leaving the others."""
        eye = np.eye(port.shape[1])
        for step in range(begin, _MOST_STEPS):
            c, bend, secant = self._strays(port, v, factor, step)
            c *= taken
            bend *= taken
            change = _solved(eye + z * bend[:, None, :], v - start + _times(z, c))
            before, v = v, v - np.clip(change, -6.0, 6.0) * (1.0 if step < 25 else 0.6)
            diode = np.nonzero(taken & ~self.laws.is_filament[port])
            if len(diode[0]):
                v[diode] = self.laws.pick(port[diode]).reached(before[diode], v[diode])
                change = v - before
            error = np.abs(bend * change).max(axis=1)
            settled = (np.abs(change).max(axis=1) < _LAST_STEP_V) & (error < _LAST_STEP_A) & ~secant.any(axis=1)
            last = settled | (step == _MOST_STEPS - 1)
            if last.any():
                row, column = np.nonzero(taken & last[:, None])
                w.c[rows[row], port[row, column]] = c[row, column]
                w.error[rows[last]], w.done[rows[last]] = error[last], settled[last]
                rows, port, taken, start, v, factor, z = (
                    x[~last] for x in (rows, port, taken, start, v, factor, z)
                )
                if not len(rows):
                    break

    def _strays(self, port: Ints, v: Floats, factor: Floats, step: int) -> tuple[Floats, Floats, Bools]:
        """Stray currents of ports at voltages (any shape), their slopes, and where these are secants: i/v is the
        better slope while far away from a filament's solution."""
        i, slope = self._law(port.ravel(), v.ravel())
        i, slope = i.reshape(v.shape) * factor, slope.reshape(v.shape) * factor
        here, g = self.v[port], self.g[port]
        c = i - self.i[port] - g * (v - here)
        far = np.zeros(v.shape, dtype=bool)
        if step % 15 < 2:
            far = np.abs(v - here) > _FAR * np.maximum(np.abs(v), np.abs(here))
            far &= self.laws.is_filament[port] & (np.abs(v) > 1e-9)
            slope = np.where(far, i / np.where(far, v, 1.0), slope)
        return c, slope - g, far

    def _on_blocked_diodes(self, work: _Work) -> Bools:
        """Rows (h,) in which some part may hang on nothing but diodes that block: there 1 − zg is rounding."""
        out = np.zeros(len(work.c), dtype=bool)
        diodes = np.flatnonzero(~self.laws.is_filament)
        rows = np.flatnonzero((work.c[:, diodes] != 0).any(axis=1))
        if not len(rows):
            return out
        _, slope = self._law(diodes, work.vx[np.ix_(rows, diodes)])
        g = self.g[diodes]
        blocked = np.where(slope < 1e-3 * g, g, 0.0)
        w = work.xk[np.ix_(rows, np.arange(work.xk.shape[1]), diodes)]
        z = self.xp[np.ix_(diodes, diodes)] - np.swapaxes(w, 1, 2) @ (work.undo[rows] @ w)
        rest = np.eye(len(diodes)) - z * blocked[:, None, :]
        out[rows] = np.linalg.svd(rest, compute_uv=False)[:, -1] < CUT_OFF
        return out

    def _law(self, port: Ints, v: Floats) -> tuple[Floats, Floats]:
        i, slope = self.laws.pick(port).current_and_slope(v)
        return i * self.on[port], slope * self.on[port]


def _solved(matrices: Floats, right: Floats) -> Floats:
    """x (h, m) of (h, m, m) · x = (h, m); `right` itself if one of them has no solution."""
    if right.shape[1] == 1:
        return np.asarray(right / matrices[:, 0])
    try:
        return np.asarray(np.linalg.solve(matrices, right[:, :, None])[:, :, 0], dtype=np.float64)
    except np.linalg.LinAlgError:
        return right


def _along(currents: Floats, x: Floats) -> Floats:
    """(h, K) · (h, K, X)."""
    if x.shape[1] == 1:
        return np.asarray(currents * x[:, 0])
    return np.asarray(np.einsum("hk,hkx->hx", currents, x))


def _times(matrices: Floats, vectors: Floats) -> Floats:
    """(h, K, K) · (h, K)."""
    return np.asarray(np.einsum("hkl,hl->hk", matrices, vectors))


def _least(matrices: Floats, vectors: Floats) -> Floats:
    """Least squares (h, Q) of (h, n, Q) · x = (h, n); columns of nothing get nothing."""
    turned = np.swapaxes(matrices, 1, 2)
    size = turned @ matrices
    scale = np.sqrt(np.einsum("hqq->hq", size))
    scale = np.where(scale > 0, 1 / np.where(scale > 0, scale, 1.0), 0.0)
    size = size * scale[:, :, None] * scale[:, None, :]
    size += np.where(scale > 0, 0.0, 1.0)[:, :, None] * np.eye(size.shape[1])
    right = _times(turned, vectors) * scale
    return np.asarray(np.linalg.solve(size, right[:, :, None])[:, :, 0] * scale)


def _inverse(m: Floats, root: Floats) -> tuple[Floats, Floats]:
    """Inverse of each m (h, K, K); where it cuts parts off, the pseudo-inverse and the currents
    (h, K, Q) that shift each of them."""
    rows, width = m.shape[:2]
    null = np.zeros((rows, width, 0))
    if width == 1:
        cut = ~(np.abs(m[:, 0, 0]) > CUT_OFF)
        if cut.any():
            null = np.where(cut, root[:, 0], 0.0)[:, None, None]
        return np.where(cut[:, None, None], 0.0, 1 / np.where(cut[:, None, None], 1.0, m)), null
    try:
        inverse: Floats = np.asarray(np.linalg.inv(m), dtype=np.float64)
        doubtful = np.flatnonzero(~(np.abs(inverse).max(axis=(1, 2)) < 1 / CUT_OFF))
    except np.linalg.LinAlgError:
        inverse, doubtful = np.zeros_like(m), np.arange(rows)
    if len(doubtful):
        left, size, right = np.linalg.svd(m[doubtful])
        keep = size > CUT_OFF
        scale = np.where(keep, 1 / np.where(keep, size, 1.0), 0.0)
        inverse[doubtful] = np.swapaxes(right, 1, 2) @ (scale[:, :, None] * np.swapaxes(left, 1, 2))
        most = int((~keep).sum(axis=1).max())
        null = np.zeros((rows, width, most))
        last = np.swapaxes(right * ~keep[:, :, None], 1, 2)[:, :, width - most:]
        null[doubtful] = root[doubtful][:, :, None] * last
    return inverse, null
