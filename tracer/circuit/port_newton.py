"""Newton's method on the ports whose voltages move, for many rows at once.

Ports that hardly act on their own voltage carry what their law says at the voltages found so far; the strong
ones are solved together, on themselves alone. Both in turn, until nothing moves: most rows have few of either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from tracer.circuit.device_laws import PortLaws
from tracer.circuit.low_rank import chosen_columns
from tracer.circuit.model import Bools, Floats, Ints

# Where the stray current's own slope shifts its port by less than this share, its law is followed without Newton.
_WEAK = 0.005
# A port is found when its last step was less than these, V and in the current it stands for, A.
_LAST_STEP_V = 1e-6
_LAST_STEP_A = 2e-9
_LEAVES_ENOUGH = 0.5
# Of the conductance with which blocked diodes stand in the network (`linearised._HELD_S`), what is left when they
# take it away again: a thousandth where electronics of a megohm hold the part beside them, a millionth where nothing
# but the leak to the reference does. By then the wire that came off has taken as many digits again.
_HANGS = 1e-5
_FAR = 0.25  # share of its voltage by which a port has moved when Newton's slope is not to be trusted
_MOST_STEPS = 40
_MOST_ROUNDS = 12
_PATIENT_ROUNDS = 5  # then all ports that move count as strong
# Rows with about as many strong ports go together: solving m of them takes about m² + m³/15 of these units, ten
# nanoseconds, and some thousands are worth another turn of Newton's steps.
_ANOTHER_TURN = 20_000
_ALL_STRONG = 36  # or fewer ports move: then all count as strong from the beginning, which needs half the turns
_CARRIED_PORTS = 24
_WORTH_CARRYING = 0.5  # share of the rows that are not found yet
_FEW_PORTS = 2  # whose currents are spread one by one
_ENTRIES_AT_ONCE = 1_000_000
_WIDE = 32  # changes in a row
_QUICKLY_REACHED = 100_000  # entries
MOST_STRONG = 150  # ports solved together: their matrix costs the cube, all nodes of a network nearly a line


class _Work(Struct, frozen=True):
    """What Newton works with, h rows, and in place from `v` on: they belong together at all times."""

    xk: Floats  # (h, K, P) what a current in each change does
    undo: Floats  # (h, K, K)
    factor: Floats  # (h, P) on the ports' currents
    v: Floats  # (h, P) voltages
    c: Floats  # (h, P) stray currents
    across: Floats  # (h, K) what these make across the changes
    more: Floats  # (h, K) and what the changes draw for that
    error: Floats  # (h,) largest error of a stray current, A
    done: Bools  # (h,) not given up
    own: Floats  # (h, P) what a current in each port does to itself, in Ω; not a number until somebody asks


class _Chosen(Struct, frozen=True):
    """What is known of ports (any shape), gathered once for all steps of Newton's; `laws` and `on` in one row."""

    laws: PortLaws
    on: Floats
    is_filament: Bools
    v: Floats  # where their tangents are taken, and the currents and slopes there
    i: Floats
    g: Floats
    diode: tuple[Ints, ...]  # where those that are diodes stand
    diode_laws: PortLaws | None


class Moved(Struct, frozen=True):
    """What Newton found."""

    c: Floats  # (h, P) stray currents
    v: Floats  # (h, P) voltages
    across: Floats  # (h, K) what the stray currents make across the changes
    more: Floats  # (h, K) and what the changes draw for that
    error: Floats  # (h,) largest error of a stray current, A
    done: Bools  # (h,)
    hanging: Bools  # (h,) done, but for what hangs on blocked diodes


class MovingPorts(Struct, frozen=True):
    """The ports of a network linearised where the healthy vehicle stands."""

    laws: PortLaws
    on: Floats  # (P,) factor on the current of each port that the set-up itself makes
    v: Floats  # (P,) healthy voltages
    i: Floats  # (P,) and currents
    g: Floats  # (P,) their tangents' slopes
    reach: Floats  # (P,) how far each voltage may move before the current strays from the tangent
    xp: Floats  # (P, P) voltage across ports by a current drawn from each

    def solve(self, start: Floats, xk: Floats, undo: Floats, moved: Bools, factor: Floats) -> Moved:
        """Newton on the ports that `moved` (h, P) from where the tangents hold, and on those that move in turn.

        Args:
            start: (h, P) voltages without any stray current; they are worked in.
            xk, undo: (h, K, P), (h, K, K) what the changes do to them.
            factor: (h, P) on each port's current.
        """
        rows = len(moved)
        w = _Work(xk, undo, factor, start, np.zeros(moved.shape), np.zeros(xk.shape[:2]),
                  np.zeros(xk.shape[:2]), np.zeros(rows), np.ones(rows, dtype=bool), np.full(moved.shape, np.nan))
        seen = moved | (factor == 0)
        few = moved.sum(axis=1) <= _ALL_STRONG
        weak, strong = moved & ~few[:, None], moved & few[:, None]
        left = np.arange(rows)
        for step in range(_MOST_ROUNDS):
            w.error[left] = 0.0
            at, port, bend, before, waiting = self._follow(w, left, weak, strong, step > _PATIENT_ROUNDS)
            self._solve_strong(w, left[strong[left].any(axis=1)], strong, 2 if step else 0)
            change = np.abs(w.v[at, port] - before)
            error = np.abs(bend) * change
            np.maximum.at(w.error, at, error)
            waiting[at[~((change < _LAST_STEP_V) & (error < _LAST_STEP_A))]] = True
            away = w.v[left]
            away -= self.v
            row, port = true_places((np.abs(away, out=away) > self.reach) & ~seen[left])
            weak[left[row], port] = seen[left[row], port] = waiting[left[row]] = True
            left = left[waiting[left] & w.done[left]]
            if not len(left):
                break
        w.done[left] = False
        hanging = self._on_blocked_diodes(w) & w.done
        return Moved(w.c, w.v, w.across, w.more, w.error, w.done, hanging)

    def _follow(
        self, w: _Work, rows: Ints, weak: Bools, strong: Bools, all_strong: bool
    ) -> tuple[Ints, Ints, Floats, Floats, Bools]:
        """Let the `weak` ports, which hardly act on their own voltage, carry what their laws say. Those that do act
        become `strong`, in place; in their rows (h,), the last of what is returned, the others wait. Before it: row,
        port, slope of the stray current and voltage of each port that was followed."""
        waiting = np.zeros(len(weak), dtype=bool)
        row, port = true_places(weak[rows])
        if not len(row):  # as mostly in the first round
            return row, port, np.zeros(0), np.zeros(0), waiting
        at = rows[row]
        v = w.v[at, port]
        c, bend, _ = self._strays(self._chosen(port), v, w.factor[at, port], _MOST_STEPS)
        tight = ~(np.abs(bend) * np.abs(self._own(w, at, port)) <= (0.0 if all_strong else _WEAK))
        strong[at[tight], port[tight]], weak[at[tight], port[tight]] = True, False
        waiting[at[tight]] = True
        kept = ~waiting[at]
        row, port, at = row[kept], port[kept], at[kept]
        c, bend, v = c[kept], bend[kept], v[kept]
        more = c - w.c[at, port]
        w.c[at, port] = c
        drawing = np.bincount(row, minlength=len(rows)) > 0
        self._draw(w, rows[drawing], (np.cumsum(drawing) - 1)[row], port, more)
        return at, port, bend, v, waiting

    def _own(self, w: _Work, at: Ints, port: Ints) -> Floats:
        """(e,) what a current in each of these ports (e,), each in the row that `at` (e,) says, does to itself. It is
        the same in every round, and worked out once."""
        new = np.flatnonzero(np.isnan(w.own[at, port]))
        if len(new):
            row, column, width = at[new], port[new], w.xk.shape[1]
            own = self.xp[column, column]
            if width > _WIDE:
                # `undo` once an entry would be gigabytes where a splice of many wires comes apart.
                rows, which = np.unique(row, return_inverse=True)
                its = w.xk[rows]
                own = own - np.einsum("hkp,hkp->hp", its, w.undo[rows] @ its)[which, column]
            elif width:
                across, by_changes = w.xk[row, :, column], np.empty(len(new))
                for part in blocks(len(new), width, width):
                    by_changes[part] = (across[part] * times(w.undo[row[part]], across[part])).sum(axis=1)
                own = own - by_changes
            w.own[row, column] = own
        return w.own[at, port]

    def _draw(self, w: _Work, rows: Ints, row: Ints, port: Ints, c: Floats) -> None:
        """Add what further stray currents c (e,) do: of ports (e,), each in one of the `rows` (h,), which `row` (e,)
        says in ascending order; there is one in every row."""
        ports = len(self.v)
        for part in blocks(len(rows), ports, max(w.xk.shape[1], 1)):
            its = rows[part]
            entries = slice(*np.searchsorted(row, (part.start, part.stop)))
            at = row[entries] - part.start
            used = np.bincount(port[entries], minlength=ports) > 0
            drawn = np.zeros((len(its), int(used.sum())))
            drawn[at, (np.cumsum(used) - 1)[port[entries]]] = c[entries]
            xk = w.xk[its]
            by_each = xk[at, :, port[entries]] * c[entries, None]
            across = np.add.reduceat(by_each, np.searchsorted(at, np.arange(len(its))))
            more = times(w.undo[its], across)
            w.across[its] += across
            w.more[its] += more
            v = along(more, xk)
            v -= drawn @ (self.xp if used.all() else self.xp[used])  # a copy of all takes as long as what is done
            w.v[its] += v

    def _solve_strong(self, w: _Work, rows: Ints, strong: Bools, step: int) -> None:
        """Newton on the strong ports (h, P) alone, all rows with about as many of them together."""
        count = strong[rows].sum(axis=1)
        w.done[rows[count > MOST_STRONG]] = False
        rows, count = rows[count <= MOST_STRONG], count[count <= MOST_STRONG]
        for low, high in _groups(np.bincount(count)):
            some = rows[(count > low) & (count <= high)]
            at_once = max(_ENTRIES_AT_ONCE // high**2, 1)
            for first in range(0, len(some), at_once):
                part = some[first:first + at_once]
                self._solve_ports(w, part, *chosen_columns(strong[part]), step)

    def _solve_ports(self, w: _Work, rows: Ints, port: Ints, taken: Bools, begin: int) -> None:
        """Newton on the ports (h, m) that are `taken` in rows (h,), from step `begin`."""
        at = rows[:, None]
        before = w.c[at, port] * taken
        v, factor = w.v[at, port], w.factor[at, port] * taken
        across = w.xk[at, :, port]  # (h, m, K)
        z = self.xp[port[:, :, None], port[:, None]]
        if across.shape[2] == 1:
            z -= across * (w.undo[rows] * np.swapaxes(across, 1, 2))
        elif across.shape[2]:
            z -= across @ (w.undo[rows] @ np.swapaxes(across, 1, 2))
        z *= taken[:, :, None]  # what only fills a row up stays where it is
        self._newton_steps(w, rows, port, taken, v + times(z, before), v, factor, z, begin)
        c = w.c[at, port] * taken - before
        if port.shape[1] > _FEW_PORTS:
            row, column = true_places(taken)
            self._draw(w, rows, row, port[row, column], c[row, column])
            return
        by = np.einsum("hmk,hm->hk", across, c)
        drawn = times(w.undo[rows], by)
        w.across[rows] += by
        w.more[rows] += drawn
        w.v[rows] += along(drawn, w.xk[rows]) - along(c, self.xp[port])

    def _newton_steps(
        self, w: _Work, rows: Ints, port: Ints, taken: Bools, start: Floats, v: Floats, factor: Floats, z: Floats,
        begin: int,
    ) -> None:
        """Stray currents so that v = start − z c(v), rows that settle leaving the others."""
        eye = np.eye(port.shape[1])
        laws = self._chosen(port, taken)
        going = np.ones(len(rows), dtype=bool)
        for step in range(begin, _MOST_STEPS):
            c, bend, secant = self._strays(laws, v, factor, step)
            c *= taken
            bend *= taken
            change = _solved(eye + z * bend[:, None, :], v - start + times(z, c))
            before = v
            v = v - np.minimum(np.maximum(change, -6.0), 6.0) * (1.0 if step < 25 else 0.6)
            if laws.diode_laws is not None:
                diode = laws.diode
                v[diode] = laws.diode_laws.reached(before[diode], v[diode])
                change = v - before
            error = np.abs(bend * change).max(axis=1)
            settled = (np.abs(change).max(axis=1) < _LAST_STEP_V) & (error < _LAST_STEP_A) & ~secant.any(axis=1)
            last = (settled | (step == _MOST_STEPS - 1)) & going
            if last.any():
                row, column = np.nonzero(taken & last[:, None])
                # By their tangents to where the last step led: there all currents add up to the last digit.
                w.c[rows[row], port[row, column]] = (c + bend * (v - before))[row, column]
                w.error[rows[last]], w.done[rows[last]] = error[last], settled[last]
                going &= ~last
                left = np.count_nonzero(going)
                if not left:
                    break
                # To take a few out of all arrays costs more than to carry them along, as long as they have few ports.
                if left < (_WORTH_CARRYING if port.shape[1] <= _CARRIED_PORTS else 1.0) * len(rows):
                    rows, port, taken = rows[going], port[going], taken[going]
                    start, v, factor, z = (x[going] for x in (start, v, factor, z))
                    laws, going = self._chosen(port, taken), np.ones(left, dtype=bool)

    def _chosen(self, port: Ints, taken: Bools | None = None) -> _Chosen:
        """What ports (any shape) do; with `taken`, of the same shape, their diodes as well."""
        is_filament, flat = self.laws.is_filament[port], port.ravel()
        diode = () if taken is None else (taken & ~is_filament).nonzero()
        return _Chosen(
            self.laws.pick(flat), self.on[flat], is_filament, self.v[port], self.i[port], self.g[port], diode,
            self.laws.pick(port[diode]) if diode and len(diode[0]) else None,
        )

    def _strays(self, of: _Chosen, v: Floats, factor: Floats, step: int) -> tuple[Floats, Floats, Bools]:
        """Stray currents of ports at voltages (any shape), their slopes, and where these are secants: i/v is the
        better slope while far away from a filament's solution."""
        i, slope = of.laws.current_and_slope(v.ravel())
        i, slope = (i * of.on).reshape(v.shape) * factor, (slope * of.on).reshape(v.shape) * factor
        c = i - of.i - of.g * (v - of.v)
        far = np.zeros(v.shape, dtype=bool)
        if step % 15 < 2:
            far = np.abs(v - of.v) > _FAR * np.maximum(np.abs(v), np.abs(of.v))
            far &= of.is_filament & (np.abs(v) > 1e-9)
            slope = np.where(far, i / np.where(far, v, 1.0), slope)
        return c, slope - of.g, far

    def _on_blocked_diodes(self, work: _Work) -> Bools:
        """Rows (h,) in which some part may hang on nothing but diodes that block: there 1 − zg is rounding."""
        out = np.zeros(len(work.c), dtype=bool)
        diodes = np.flatnonzero(~self.laws.is_filament)
        rows = np.flatnonzero((work.c[:, diodes] != 0).any(axis=1))
        if not len(rows):
            return out
        _, slope = self._law(diodes, work.v[np.ix_(rows, diodes)])
        g = self.g[diodes]
        blocked = np.where(slope < 1e-3 * g, g, 0.0)
        w = work.xk[np.ix_(rows, np.arange(work.xk.shape[1]), diodes)]
        z = self.xp[np.ix_(diodes, diodes)] - np.swapaxes(w, 1, 2) @ (work.undo[rows] @ w)
        rest = z * blocked[:, None, :]
        # The sum of the squares of what is taken from 1 says in most rows that enough is left.
        few = np.flatnonzero((rest**2).sum(axis=(1, 2)) > _LEAVES_ENOUGH)
        if len(few):
            left = np.linalg.svd(np.eye(len(diodes)) - rest[few], compute_uv=False)[:, -1]
            out[rows[few]] = left < _HANGS
        return out

    def _law(self, port: Ints, v: Floats) -> tuple[Floats, Floats]:
        i, slope = self.laws.pick(port).current_and_slope(v)
        return i * self.on[port], slope * self.on[port]


def _groups(rows: Ints) -> Iterator[tuple[int, int]]:
    """Numbers of ports in (low, high] that are solved together, from how many `rows` there are of each number."""
    cost = np.arange(len(rows)) ** 2 * (1 + np.arange(len(rows)) / 15)
    low = high = waiting = 0
    for count in np.flatnonzero(rows[1:]) + 1:
        if waiting and waiting * (cost[count] - cost[high]) > _ANOTHER_TURN:
            yield low, high
            low, waiting = high, 0
        high, waiting = int(count), waiting + int(rows[count])
    if waiting:
        yield low, high


def _solved(matrices: Floats, right: Floats) -> Floats:
    """x (h, m) of (h, m, m) · x = (h, m); `right` itself if one of them has no solution."""
    if right.shape[1] == 1:
        return np.asarray(right / matrices[:, 0])
    try:
        return np.asarray(np.linalg.solve(matrices, right[:, :, None])[:, :, 0], dtype=np.float64)
    except np.linalg.LinAlgError:
        return right


def blocks(rows: int, *each: int) -> Iterator[slice]:
    """Rows in parts small enough to stay where they are quickly reached."""
    at_once = max(_QUICKLY_REACHED // max(math.prod(each), 1), 1)
    for first in range(0, rows, at_once):
        yield slice(first, first + at_once)


def true_places(mask: Bools) -> tuple[Ints, Ints]:
    """Rows and columns where a mask (h, P) is true, row by row; several times faster than `np.nonzero` of two
    dimensions."""
    row, column = np.divmod(mask.ravel().nonzero()[0], mask.shape[1])
    return row, column


def along(currents: Floats, x: Floats) -> Floats:
    """(h, K) · (h, K, X)."""
    if x.shape[1] == 1:
        return np.asarray(currents * x[:, 0])
    return np.asarray(np.einsum("hk,hkx->hx", currents, x))


def times(matrices: Floats, vectors: Floats) -> Floats:
    """(h, K, K) · (h, K)."""
    return np.asarray(np.einsum("hkl,hl->hk", matrices, vectors))
