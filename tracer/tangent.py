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
# Where the stray current's own slope shifts its port by less than this share, no Newton step is needed.
_WEAK = 0.04
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
_LADDER_V = 10.0 ** np.arange(-1.0, -7.1, -0.25)
_STEPS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 10**9)


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
        vx = self.vx + supply[:, None] * self.supply_x
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
            vx -= np.einsum("hk,hkx->hx", s, xk)
        else:
            xk, undo, r = np.zeros((rows, 0, len(self.vx))), np.zeros((rows, 0, 0)), np.zeros((rows, 0, 0))
            s = known = np.zeros((rows, 0))
        living = factor != 0
        scaled = living & (factor != 1)
        moves = ((np.abs(vx[:, :ports] - self.v) > self.reach) & living | scaled).any(axis=1) & good
        c = np.zeros((rows, ports))
        stray, nearly = np.zeros(rows), np.zeros(rows, dtype=bool)
        at = np.flatnonzero(moves)
        if len(at):
            found = self._newton(vx[at], xk[at, :, :ports], undo[at], living[at], factor[at])
            c[at], stray[at], good[at], nearly[at] = found
            known[at] -= np.einsum("hkp,hp->hk", xk[at, :, :ports], c[at])
            s[at] = _times(undo[at], known[at]) - norton[at]
            vx[at] = self.vx + supply[at, None] * self.supply_x - c[at] @ self.xp
            vx[at] -= np.einsum("hk,hkx->hx", s[at], xk[at])
        # What each changed branch was taken to carry beyond what it should at the voltages found.
        ends = known - _times(r, norton) - _times(r, s)
        breach = s - (d * ends - norton)
        if null.shape[2]:
            at = np.flatnonzero((null != 0).any(axis=(1, 2)))
            breach[at], fed = self._shifted(breach[at], null[at], s[at], d[at], r[at], from_a[at], from_b[at],
                                            a[at], b[at], c[at], supply[at])
            good[at] &= ~fed
        breach = np.abs(breach).max(axis=1, initial=0.0)
        residual = self.residual_a + np.maximum(breach, stray)
        v = vx[:, :ports]
        i = np.where(living, self.i + self.g * (v - self.v) + c, 0.0)
        good &= np.isfinite(vx).all(axis=1) & np.isfinite(breach)
        volts = Superposed(self, a, b, s, null, c, supply)
        return Found(v, i, vx[:, ports:], residual, good, nearly & np.isfinite(vx).all(axis=1), volts)

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

    def _newton(
        self, vx: Floats, wp: Floats, undo: Floats, living: Bools, factor: Floats
    ) -> tuple[Floats, Floats, Bools, Bools]:
        """Stray currents (h, P), their largest error (h,), whether they were found (h,), and whether all but
        for what hangs on blocked diodes."""
        rows, ports = factor.shape
        start = vx[:, :ports]
        zpp = self.xp[:, :ports]
        own = np.diagonal(zpp) - np.einsum("hkp,hkl,hlp->hp", wp, undo, wp, optimize=True)
        v = start.copy()
        c = np.zeros((rows, ports))
        error = np.full(rows, np.inf)
        done = np.zeros(rows, dtype=bool)
        live = np.arange(rows)
        for step in range(_MOST_STEPS):
            vl = v[live]
            active = ((np.abs(vl - self.v) > self.reach) | (factor[live] != 1) | (c[live] != 0)) & living[live]
            at, port = np.nonzero(active)
            va, fa = vl[at, port], factor[live[at], port]
            i, slope = self._law(port, va)
            i, slope = i * fa, slope * fa
            cl = np.zeros((len(live), ports))
            cl[at, port] = i - self.i[port] - self.g[port] * (va - self.v[port])
            # Secant, i/v, is the better slope while far away from a filament's solution.
            secant = np.zeros(len(live), dtype=bool)
            if step % 15 < 2:
                away = np.abs(va - self.v[port]) > _FAR * np.maximum(np.abs(va), np.abs(self.v[port]))
                use = self.laws.is_filament[port] & (np.abs(va) > 1e-9) & away
                slope = np.where(use, i / np.where(use, va, 1.0), slope)
                secant[at[use]] = True
            bend = np.zeros((len(live), ports))
            bend[at, port] = slope - self.g[port]
            c[live] = cl
            new = start[live] - cl @ zpp
            t = _times(undo[live], np.einsum("hkp,hp->hk", wp[live], cl))
            new += np.einsum("hk,hkp->hp", t, wp[live])
            strong = np.abs(bend) * np.abs(own[live]) > _WEAK
            wrong = vl - new
            self._step(wrong, strong, bend, wp[live], undo[live])
            v[live] = vl - np.clip(wrong, -6.0, 6.0) * (1.0 if step < 25 else 0.6)
            largest = np.abs(wrong).max(axis=1)
            error[live] = np.abs(bend * wrong).max(axis=1)
            settled = (largest < _LAST_STEP_V) & (error[live] < _LAST_STEP_A) & ~(secant & strong.any(axis=1))
            done[live[settled]] = True
            live = live[~settled]
            if not len(live):
                break
        hanging = self._on_blocked_diodes(v, c, wp, undo) & done
        return c, error, done & ~hanging, hanging

    def _on_blocked_diodes(self, v: Floats, c: Floats, wp: Floats, undo: Floats) -> Bools:
        """Rows (h,) in which some part may hang on nothing but diodes that block: there 1 − zg is rounding."""
        out = np.zeros(len(v), dtype=bool)
        diodes = np.flatnonzero(~self.laws.is_filament)
        rows = np.flatnonzero((c[:, diodes] != 0).any(axis=1))
        if not len(rows):
            return out
        _, slope = self._law(diodes, v[np.ix_(rows, diodes)])
        g = self.g[diodes]
        blocked = np.where(slope < 1e-3 * g, g, 0.0)
        w = wp[np.ix_(rows, np.arange(wp.shape[1]), diodes)]
        z = self.xp[np.ix_(diodes, diodes)] - np.swapaxes(w, 1, 2) @ (undo[rows] @ w)
        rest = np.eye(len(diodes)) - z * blocked[:, None, :]
        out[rows] = np.linalg.svd(rest, compute_uv=False)[:, -1] < CUT_OFF
        return out

    def _law(self, port: Ints, v: Floats) -> tuple[Floats, Floats]:
        i, slope = self.laws.pick(port).current_and_slope(v)
        return i * self.on[port], slope * self.on[port]

    def _step(self, wrong: Floats, strong: Bools, bend: Floats, wp: Floats, undo: Floats) -> None:
        """Turn what strong ports are wrong by into Newton's steps, in place."""
        count = strong.sum(axis=1)
        order = np.argsort(~strong, axis=1, kind="stable")
        zpp = self.xp[:, :strong.shape[1]]
        low = 0
        for high in _STEPS:
            rows = np.flatnonzero((count > low) & (count <= high))
            low = high
            if not len(rows):
                continue
            m = int(count[rows].max())
            s = order[rows, :m]
            used = strong[rows[:, None], s]
            z = zpp[s[:, :, None], s[:, None, :]]
            if wp.shape[1]:
                w = np.swapaxes(wp[rows[:, None], :, s], 1, 2)  # (h, K, m)
                z = z - np.swapaxes(w, 1, 2) @ (undo[rows] @ w)
            jacobian = np.eye(m) + z * np.where(used, bend[rows[:, None], s], 0.0)[:, None, :]
            right = wrong[rows[:, None], s]
            if m == 1:
                x: Floats = right / jacobian[:, 0]
            else:
                try:
                    x = np.asarray(np.linalg.solve(jacobian, right[:, :, None])[:, :, 0], dtype=np.float64)
                except np.linalg.LinAlgError:
                    continue
            wrong[rows[:, None], s] = np.where(used, x, right)


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
