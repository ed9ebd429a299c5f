"""The fast way to solve many rows: each as a small difference from the healthy vehicle.

At the healthy operating point of a set-up every port is replaced by its tangent. On that linear network a
fault's few conductance changes are a low-rank correction, exact for all ports that stay about where they
were. Newton runs on those that move, which are few: nobody's work grows with the size of the vehicle.

    v = v_healthy + Z · (what the changes inject − c(v)),  c(v) = i(v) − (i* + g* (v − v*))

Rows that do not come out are marked and solved by the solver's slower ways.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from tracer.circuit.device_laws import LEAKY_BASE_S
from tracer.circuit.low_rank import CUT_OFF, chosen_columns
from tracer.circuit.model import Bools, Floats, Ints
from tracer.circuit.network import Network
from tracer.circuit.port_newton import MovingPorts, along, blocks, times, true_places

# A port whose current strays from its tangent by less than this, A, is taken to follow it.
_STRAY_A = 1.5e-7
_LEAK_STRAY_A = 1e-10  # of LEDs: on their leak of a microsiemens a whole line may hang
# Conductance of a diode in the tangent network: so much less than the wires beside it that
# taking it away leaves digits of what leaks, and so much more than a leak that what hangs on it is not cut off.
_HELD_S = 1e-3
_SHIFTED_V = 5e-4  # more than rounding leaves between a port's voltage and that of its nodes
# What a part that nothing feeds may read before it is shifted to 0 V; a leak of gigaohms would feed it more.
_STILL_V = 2.0
_MANY_ENDS = 5
_MOST_LOST = 1e7  # of some fifteen digits so many may be lost that volts are right to a microvolt
_LADDER_V = (10.0 ** np.arange(-1.0, -7.1, -0.25))[::-1]


class Changes(Struct, frozen=True):
    """Rows of changes against the tangent network.

    Attributes:
        d, a, b: (h, K) conductance differences and the nodes between which they are.
        norton: (h, K) the constant part of a tangent's current that goes with it, A.
    """

    d: Floats
    a: Ints
    b: Ints
    norton: Floats


class Superposed(Struct, frozen=True):
    """Node voltages as the healthy ones plus what currents between some nodes add.

    Attributes:
        s: (h, K) current drawn between a and b.
        null: (h, K, Q) how each part that the row cuts off may shift as a whole: 0 V on average.
        strays: (h,) row in `c` of those in which a port strays from its tangent, −1 for the others.
        c: (strays, P) stray currents of the ports.
        supply: (h,) factor on the supply less 1.
    """

    tangent: Tangent
    a: Ints
    b: Ints
    s: Floats
    null: Floats
    strays: Ints
    c: Floats
    supply: Floats

    def at(self, rows: Ints, nodes: Ints) -> Floats:
        cut = (self.null[rows] != 0).any(axis=(1, 2))
        if not cut.any():
            return self._unshifted(rows, nodes)
        out = np.empty((len(rows), len(nodes)))
        out[~cut] = self._unshifted(rows[~cut], nodes)
        v = self._unshifted(rows[cut], np.arange(len(self.tangent.volts)))
        out[cut] = (v - self._shift(rows[cut], v))[:, nodes]
        return out

    def _unshifted(self, rows: Ints, nodes: Ints) -> Floats:
        t = self.tangent
        v = np.broadcast_to(t.volts[nodes], (len(rows), len(nodes))) + self.supply[rows, None] * t.supply[nodes]
        some = np.flatnonzero(self.strays[rows] >= 0)
        if len(some):
            c = self.c[self.strays[rows[some]]]
            ports = np.flatnonzero(c.any(axis=0))
            v[some] -= c[:, ports] @ t.x[nodes[:, None], ports].T
        if t.responses.all_kept or len(nodes) < len(rows):  # else what each row does is less than what each node does
            z = t.responses.of_each(nodes)
            for k in range(self.a.shape[1]):
                v -= self.s[rows, k, None] * (z[self.a[rows, k]] - z[self.b[rows, k]])
        else:
            v -= t.responses.volts(self.a[rows], self.b[rows], self.s[rows])[nodes].T
        return v

    def _shift(self, rows: Ints, v: Floats) -> Floats:
        """(rows, n) by how much the parts that rows cut off are too high, each as a whole, in voltages `v`."""
        t, parts = self.tangent, self.null.shape[2]
        currents = np.swapaxes(self.null[rows], 1, 2).reshape(-1, self.null.shape[1])
        a, b = np.repeat(self.a[rows], parts, axis=0), np.repeat(self.b[rows], parts, axis=0)
        shift = t.responses.volts(a, b, currents).T.reshape(len(rows), parts, -1)
        shift = np.swapaxes(shift, 1, 2)
        return times(shift, _least(shift, v))


class Found(Struct, frozen=True):
    """What `Tangent.solve` found; rows that are not `good` are to be solved otherwise."""

    port_v: Floats
    port_i: Floats
    watched_v: Floats
    residual_a: Floats
    good: Bools
    doubtful: Bools  # good if all its node voltages say so
    shaky: Bools  # good if they say so of each part as a whole
    volts: Superposed

    def as_shifted(self, rows: Ints, volts: Floats, pa: Ints, pb: Ints) -> Floats:
        """(rows, P) voltages of the ports, given those of all nodes (rows, n): what hangs on a part that was cut off
        is shifted with it. 38 nA through the leak of an LED are nothing to Kirchhoff's law, and 38 mV across it."""
        v, own = volts[:, pa] - volts[:, pb], self.port_v[rows]
        return np.asarray(np.where(np.abs(v - own) < _SHIFTED_V, own, v))


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
        # What hangs on the leak of LEDs alone must not look cut off.
        least = np.where(self.laws.is_filament | self.held, 0.0, LEAKY_BASE_S)
        self.g: Floats = np.where(self.held, _HELD_S, np.maximum(slope, least) * self.on)
        self.responses = network.responses(self.g)
        wa, wb = watched
        xa, xb = np.append(pa, wa)[:, None], np.append(pb, wb)[:, None]
        x = self.responses.volts(xa, xb, np.ones(xa.shape))
        self.x, self.xw = (np.ascontiguousarray(part) for part in np.split(x, [len(pa)], axis=1))  # (n, P), (n, W)
        self.xp: Floats = self.x[pa] - self.x[pb]  # (P, P)
        self.xpw: Floats = self.xw[pa] - self.xw[pb]  # (P, W)
        self.vw: Floats = volts[wa] - volts[wb]
        driven = np.flatnonzero(injected)
        reference = np.zeros_like(driven)
        self.supply: Floats = self.responses.volts(driven[None], reference[None], injected[driven][None])[:, 0]
        self.supply_v: Floats = self.supply[pa] - self.supply[pb]
        self.supply_w: Floats = self.supply[wa] - self.supply[wb]
        self.norton: Floats = self.i - self.g * self.v
        self.reach = self._reach()
        self.moving = MovingPorts(self.laws, self.on, self.v, self.i, self.g, self.reach, self.xp)

    def _reach(self) -> Floats:
        """(P,) how far each port's voltage may move before its current strays from the tangent."""
        away = np.concatenate([-_LADDER_V, _LADDER_V])[:, None]
        v = self.v + away
        i = self.laws.current_and_slope(v)[0] * self.on
        stray = np.abs(i - self.i - self.g * (v - self.v)).reshape(2, len(_LADDER_V), -1).max(axis=0)
        near = stray < np.where(self.laws.is_filament, _STRAY_A, _LEAK_STRAY_A)
        near[0] = True  # nothing is taken to be nearer
        reach = _LADDER_V[np.logical_and.accumulate(near).sum(axis=0) - 1]
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
        good, (doubtful, shaky) = np.ones(rows, dtype=bool), np.zeros((2, rows), dtype=bool)
        null = np.zeros((rows, width, 0))
        if width:
            r = self.responses.across(a, b)
            root = np.sqrt(np.abs(d))
            signed = np.sign(d) * root
            m = np.eye(width) + signed[:, :, None] * r * root[:, None, :]
            inverse, null = _inverse(m, root)
            doubtful, shaky = _doubtful(m, inverse, null, d)
            undo = root[:, :, None] * inverse * signed[:, None, :]
            across = self.volts[a] - self.volts[b] + supply[:, None] * (self.supply[a] - self.supply[b])
            known = across + times(r, norton)
            s = times(undo, known) - norton
        else:
            undo = r = np.zeros((rows, 0, 0))
            s = known = np.zeros((rows, 0))
        v, i, moved = np.empty((rows, ports)), np.empty((rows, ports)), np.empty((rows, ports), dtype=bool)
        # Each part while it is at hand: these arrays are large, and to go through them takes most of the time.
        for part in blocks(rows, ports, max(width, 1)):
            self._ends(v[part], self.v, a[part], b[part], s[part], self.x, supply[part], self.supply_v)
            away = np.subtract(v[part], self.v)
            np.multiply(away, self.g, out=i[part])
            i[part] += self.i
            np.greater(np.abs(away, out=away), self.reach, out=moved[part])
        # Few ports are dead or have another bulb.
        odd = true_places(factor != 1)
        dead = odd[0][factor[odd] == 0], odd[1][factor[odd] == 0]
        moved[odd] = True
        moved[dead] = False
        at = np.flatnonzero(moved.any(axis=1))
        c, stray = np.zeros((0, ports)), np.zeros(rows)
        strays = np.full(rows, -1, dtype=np.intp)
        strays[at] = np.arange(len(at))
        if len(at):
            xk = self.x[a[at]] - self.x[b[at]]  # (h, K, P)
            found = self.moving.solve(v[at], xk, undo[at], moved[at], factor[at])
            c, stray[at] = found.c, found.error
            good[at] = found.done & ~found.hanging
            known[at] -= found.across
            s[at] -= found.more
        # What each changed branch was taken to carry beyond what it should at the voltages found.
        ends = known - times(r, norton) - times(r, s)
        breach = s - (d * ends - norton)
        if null.shape[2]:
            cut = np.flatnonzero((null != 0).any(axis=(1, 2)))
            breach[cut], fed = self._shifted(breach[cut], null[cut], s[cut], d[cut], r[cut], a[cut], b[cut],
                                             supply[cut], strays[cut], c)
            good[cut] &= ~fed
        breach = np.abs(breach).max(axis=1, initial=0.0)
        residual = self.residual_a + np.maximum(breach, stray)
        watched = np.empty((rows, len(self.vw)))
        self._ends(watched, self.vw, a, b, s, self.xw, supply, self.supply_w)
        for part in blocks(len(at), ports):
            now = found.v[part] - self.v
            now *= self.g
            now += self.i
            now += c[part]
            v[at[part]], i[at[part]] = found.v[part], now
            watched[at[part]] -= c[part] @ self.xpw
        i[dead] = 0.0
        finite = np.isfinite(s.sum(axis=1)) & np.isfinite(supply)
        finite[at] &= np.isfinite(c.sum(axis=1))
        volts = Superposed(self, a, b, s, null, strays, c, supply)
        return Found(v, i, watched, residual, good & finite & np.isfinite(breach), doubtful, shaky, volts)

    @staticmethod
    def _ends(
        out: Floats, healthy: Floats, a: Ints, b: Ints, s: Floats, x: Floats, supply: Floats, of_supply: Floats
    ) -> None:
        """Fill in the voltages (h, X) across ports or what else `x` (n, X) is of, the currents (h, K) between a and b
        given."""
        for part in blocks(*out.shape, max(a.shape[1], 1)):
            if a.shape[1] == 1:
                moved = x.take(a[part, 0], axis=0)
                moved -= x.take(b[part, 0], axis=0)
                moved *= s[part]
            else:
                moved = along(s[part], x[a[part]] - x[b[part]])
            np.subtract(healthy, moved, out=out[part])
        other = np.flatnonzero(supply)
        out[other] += supply[other, None] * of_supply

    def _shifted(
        self, breach: Floats, null: Floats, s: Floats, d: Floats, r: Floats, a: Ints, b: Ints, supply: Floats,
        strays: Ints, c: Floats,
    ) -> tuple[Floats, Bools]:
        """The breach (h, K) when each part cut off has the voltage that lets its currents add up, and rows in
        which that is not 0 V: something still feeds it."""
        change = null + d[:, :, None] * (r @ null)
        by = -_least(change, breach)
        fed = np.zeros(len(breach), dtype=bool)
        from_a, from_b = (self.responses.at(x, a, b) for x in (a, b))
        moved = np.flatnonzero(strays >= 0)
        its = c[strays[moved]]
        for nodes, z in ((a, from_a), (b, from_b)):
            v = self.volts[nodes] + supply[:, None] * self.supply[nodes] - times(z, s + times(null, by))
            v[moved] -= np.einsum("hkp,hp->hk", self.x[nodes[moved]], its)
            shift = np.abs(z @ null)
            largest = np.maximum(np.abs(from_a @ null).max(axis=1), np.abs(from_b @ null).max(axis=1))
            inside = (shift > 1e-3 * largest[:, None]) & (shift > 0)
            fed |= (inside.any(axis=2) & (np.abs(v) > _STILL_V)).any(axis=1)
        return breach + times(change, by), fed


def _doubtful(m: Floats, inverse: Floats, null: Floats, d: Floats) -> tuple[Bools, Bools]:
    """Rows (h,) of changes d (h, K) in which a digit too many may be lost, since many ends come off at once (a
    splice) and leave parts on nothing; and those in which the rounding of m (h, K, K), which is 1 and something,
    comes back many times larger in what its inverse is applied to, in whatever units the changes are."""
    parts = (null != 0).any(axis=1).sum(axis=1)
    doubtful = (parts > 1) | (parts == 1) & ((d != 0).sum(axis=1) >= _MANY_ENDS)
    if m.shape[1] == 1:
        return doubtful, np.zeros(len(m), dtype=bool)
    lost = times(np.abs(inverse), np.abs(m).sum(axis=2) + 1)
    return doubtful, np.asarray(lost.max(axis=1) > _MOST_LOST)


def _least(matrices: Floats, vectors: Floats) -> Floats:
    """Least squares (h, Q) of (h, n, Q) · x = (h, n); columns of nothing get nothing."""
    turned = np.swapaxes(matrices, 1, 2)
    size = turned @ matrices
    scale = np.sqrt(np.einsum("hqq->hq", size))
    scale = np.where(scale > 0, 1 / np.where(scale > 0, scale, 1.0), 0.0)
    size = size * scale[:, :, None] * scale[:, None, :]
    size += np.where(scale > 0, 0.0, 1.0)[:, :, None] * np.eye(size.shape[1])
    right = times(turned, vectors) * scale
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
