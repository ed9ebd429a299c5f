"""What is solved for one of things that are built alike holds for all of them.

Two hundred lamps on one splice, each with a wire of the same length, are images of each other: a bad joint at one
does to its own lamp and to all others what the same joint at any other does to that one's. To exchange two twins
(`limbs`) changes nothing, so that of rows that differ in nothing but which twins they are about one is solved. The
same goes for twenty lamps on a fuse and thirty such fuses: there a whole *branch* is exchanged for another, and in it
one lamp for another.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterator, Sequence
from functools import cached_property
from typing import TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tracer.circuit.change_table import ChangeTable
from tracer.circuit.limbs import MOST_PLACES, Limbs, find_limbs
from tracer.circuit.model import Bools, Change, Circuit, Floats, Ints, Setup

_FEW_TWINS = 16  # are not worth looking for them in thousands of rows
_FEW_BRANCHES = 4  # of those
_FEW_ROWS = 300
_MOST_CHANGES, _MOST_PORTS = 3, 2  # of a row that is compared with others …
_MANY_CHANGES = 64  # … or so many, where whole branches are exchanged alone
_WORTH = 0.8  # share of the rows that are left

Codes = NDArray[np.int64]
_Found = TypeVar("_Found", bound=np.generic)


class _Moved(Struct, frozen=True):
    """What is exchanged in each row, twins of one level.

    Attributes:
        lead: (H, 2) the limbs in the row that was solved, −1 for none.
        there: (H, 2) where these stand once whole branches were exchanged.
        own: (H, 2) and where they belong.
        still: (H, 2) another twin of each, which the row that was solved leaves alone; −1 for none.
        ports, fuses: As in `Limbs`.
    """

    lead: Ints
    there: Ints
    own: Ints
    still: Ints
    ports: Ints
    fuses: Ints


class Alike(Struct, frozen=True):
    """Rows of a table of which one stands for others.

    Attributes:
        first: (R,) the rows to be solved, rising.
        of: (H,) which of them stands for each row.
        moved: What is to be exchanged then, branches before limbs.
    """

    first: Ints
    of: Ints
    moved: tuple[_Moved, ...]

    def of_ports(self, found: NDArray[_Found], column: Ints) -> NDArray[_Found]:
        """(H, X) what was found of ports (R, X), of which each stands in a `column` (P,), −1 for none."""
        return self._exchanged(found, column, "ports")

    def of_fuses(self, found: NDArray[_Found]) -> NDArray[_Found]:
        """(H, fuses) what was found of fuses (R, fuses)."""
        return self._exchanged(found, np.arange(found.shape[1]), "fuses")

    def _exchanged(self, found: NDArray[_Found], column: Ints, which: str) -> NDArray[_Found]:
        out = found[self.of]
        rows = np.flatnonzero(self.first[self.of] != np.arange(len(self.of)))
        solved = self.of[rows]
        for moved in self.moved:
            its: Ints = getattr(moved, which)
            # The columns of each limb's; the last row is that of none.
            at = np.append(column, -1)[np.vstack([its, np.full((1, its.shape[1]), -1)])]
            for source, target in ((moved.still, moved.there), (moved.lead, moved.own)):
                for k in range(2):
                    for come, to in zip(at[source[rows, k]].T, at[target[rows, k]].T, strict=True):
                        some = np.flatnonzero((to >= 0) & (come >= 0))
                        out[rows[some], to[some]] = found[solved[some], come[some]]
        return out


class Twins:
    """The twins of one circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit

    def alike(
        self, setup: Setup, table: ChangeTable, apart: Collection[int] = (), tags: Sequence[Hashable] = ()
    ) -> Alike | None:
        """Which rows have an image among the others in a set-up; none if that saves little.

        Args:
            apart: Nodes at which something is looked at: what hangs there has no twin.
            tags: Of each port; where they differ, limbs are no twins. None: all the same.
        """
        done = setup.done
        if len(table) < _FEW_ROWS or done.gone or done.remakes or not self._levels:
            return None
        kinds = []
        for limbs in self._levels:
            kind = _by_tags(limbs, tags) if tags else limbs.kind.copy()
            own = self._in(done, limbs, apart)
            kind[own] = len(kind) + own  # what something is done to has no twin
            kinds.append(kind)
        return _compared(self._levels, kinds, table)

    @property
    def any(self) -> bool:
        """Whether there are any."""
        return bool(self._levels)

    def _in(self, done: Change, limbs: Limbs, apart: Collection[int]) -> Ints:
        """The limbs that something is done to on purpose, or that are looked at."""
        c = self._circuit
        nodes = [n for x in done.added for n in (x.a, x.b)] + [n for x in done.lamps for n in (x.a, x.b)]
        nodes += done.ohmmeter or ()
        branches = [name for name, _ in (*done.set_ohm, *done.contacts, *done.ratings)]
        ports = [*done.dead, *(name for name, _ in (*done.scaled, *done.light))]
        found = {
            *(int(limbs.of_node[n]) for n in apart), *(int(limbs.of_node[c.node(n)]) for n in nodes),
            *(int(limbs.of_branch[c.branch_index[n]]) for n in branches),
            *(int(limbs.of_port[c.port_index[n]]) for n in ports),
        }
        return np.array(sorted(found - {-1}), dtype=np.intp)

    @cached_property
    def _levels(self) -> list[Limbs]:
        """Branches of limbs first, then limbs."""
        c = self._circuit
        limbs = find_limbs(c, _FEW_TWINS) if len(c.ports) >= _FEW_TWINS else None
        if limbs is None:
            return []
        further = find_limbs(c, _FEW_BRANCHES, limbs)
        return [limbs] if further is None else [further, limbs]


def _by_tags(limbs: Limbs, tags: Sequence[Hashable]) -> Ints:
    """(limbs,) their kinds, those apart whose ports have other `tags`."""
    known: dict[Hashable, int] = {}
    return np.array([
        known.setdefault((k, *(tags[p] for p in its if p >= 0)), len(known))
        for k, its in zip(limbs.kind.tolist(), limbs.ports.tolist(), strict=True)
    ], dtype=np.intp)


class _Entries(Struct, frozen=True):
    """What rows of a table change (H, ·): branches and paths, then ports; unused places as of no limb."""

    branch: Ints
    a: Ints
    b: Ints
    port: Ints
    said: list[Codes]  # all else that is to be the same

    def at(self, limbs: Limbs) -> tuple[Ints, Ints]:
        """(H, X) the limb of each of these things, −1 for none, and its place there."""
        unused, none = self.branch == -2, self.port < 0
        of = [np.where(unused, -1, limbs.of_node[x]) for x in (self.a, self.b)]
        limb = [limbs.of_branch[self.branch], *of, np.where(none, -1, limbs.of_port[self.port])]
        place = limbs.branch[self.branch], limbs.node[self.a], limbs.node[self.b], limbs.port[self.port]
        return np.hstack(limb), np.hstack(place)


def _entries(part: ChangeTable, most: int) -> _Entries:
    columns = np.argsort(part.branch == -2, axis=1, kind="stable")[:, :most]
    branch, a, b, when = (np.take_along_axis(x, columns, axis=1) for x in (part.branch, part.a, part.b, part.when))
    target_s = np.take_along_axis(part.target_s, columns, axis=1)
    port = np.full((len(part), _MOST_PORTS), -1, dtype=np.intp)
    factor, light = np.ones(port.shape), np.zeros(port.shape)
    its = part.odd.row, np.arange(len(part.odd.row)) - np.searchsorted(part.odd.row, part.odd.row)
    port[its], factor[its], light[its] = part.odd.port, part.odd.factor, part.odd.light
    whole = np.column_stack([part.emf_factor, part.running_factor, part.flasher_load])
    return _Entries(branch, a, b, port, [when, *(_bits(x) for x in (target_s, factor, light, whole))])


def _compared(levels: Sequence[Limbs], kinds: Sequence[Ints], table: ChangeTable) -> Alike | None:
    """The rows of a table by their images, twins having one of the `kinds` (limbs,) of their level."""
    used, lit = (table.branch != -2).sum(axis=1), np.bincount(table.odd.row, minlength=len(table))
    fits = (lit <= _MOST_PORTS) & (table.rating == 1).all(axis=1)
    lead = np.arange(len(table))
    about = [np.full((len(table), 2), -1, dtype=np.intp) for _ in levels]
    for least, most, within in ((0, _MOST_CHANGES, levels), (_MOST_CHANGES + 1, _MANY_CHANGES, levels[:-1])):
        rows = np.flatnonzero(fits & (used >= least) & (used <= most))
        if not within or not len(rows):
            continue
        keys, own, few = _keys(within, kinds, _entries(table.rows(rows), most))
        rows, known = rows[few], dict[bytes, int]()
        lead[rows] = [known.setdefault(key, row) for row, key in zip(rows.tolist(), _each(keys[few]), strict=True)]
        for each, its in zip(about, own, strict=False):
            each[rows] = its[few]
    return _gathered(levels, kinds, lead, about)


def _keys(levels: Sequence[Limbs], kinds: Sequence[Ints], entries: _Entries) -> tuple[Codes, list[Ints], Bools]:
    """What is the same for rows that are images of each other; (H, 2) the limbs of each level that a row is about;
    and whether it is about no more than these."""
    things = np.hstack([entries.branch, entries.a, entries.b, entries.port])
    inside, every = np.zeros(things.shape, dtype=bool), np.ones(len(things), dtype=bool)
    own, codes = list[Ints](), [*entries.said]
    for limbs, kind in reversed([*zip(levels, kinds, strict=False)]):  # a twin in a branch says where it is there
        limb, place = entries.at(limbs)
        its, few = _first_two(limb)
        every &= few
        name = kind if limbs is levels[0] else _within(levels[0], limbs, kind)
        where = np.where(inside, MOST_PLACES - 1, place)
        codes.append(np.where(limb < 0, -1, (name[limb] * 2 + (limb == its[:, 1:])) * MOST_PLACES + where))
        inside |= limb >= 0
        own.insert(0, its)
    codes.append(np.where(inside, -5, things))
    return np.ascontiguousarray(np.hstack(codes).astype(np.int64)), own, every


def _within(branches: Limbs, limbs: Limbs, kind: Ints) -> Ints:
    """(limbs,) the same number for twins, and for those that are where such twins are in another branch that is a
    twin: the place of the first of them. Those in no branch have others."""
    first = _first_nodes(limbs)
    inner = branches.of_node[first] >= 0
    place: dict[int, int] = {}
    for k, where in zip(kind.tolist(), branches.node[first].tolist(), strict=True):
        place.setdefault(k, where)
    return np.where(inner, [place[k] for k in kind.tolist()], MOST_PLACES + kind)


def _first_nodes(limbs: Limbs) -> Ints:
    node, first = np.flatnonzero(limbs.of_node >= 0), np.zeros(len(limbs.kind), dtype=np.intp)
    first[limbs.of_node[node[::-1]]] = node[::-1]
    return first


def _gathered(levels: Sequence[Limbs], kinds: Sequence[Ints], lead: Ints, about: Sequence[Ints]) -> Alike | None:
    """`lead` (H,): the row that stands for each; `about` (H, 2): which limbs of each level a row is about."""
    count = len(lead)
    first = np.flatnonzero(lead == np.arange(count))
    if len(first) > _WORTH * count:
        return None
    moved = list[_Moved]()
    for limbs, kind, own in zip(levels, kinds, about, strict=True):
        solved = own[lead]
        there = _there(levels[0], limbs, solved, moved[0]) if moved else solved
        moved.append(_Moved(solved, there, own, _still(kind, solved), limbs.ports, limbs.fuses))
    return Alike(first, np.searchsorted(first, lead), tuple(moved))


def _there(branches: Limbs, limbs: Limbs, solved: Ints, moved: _Moved) -> Ints:
    """(H, 2) where the limbs of the row that was solved stand once its branches were exchanged: at the same places of
    other branches."""
    first = _first_nodes(limbs)
    branch = np.append(branches.of_node[first], -1)
    at = np.full((len(branches.kind) + 1, MOST_PLACES), -1, dtype=np.intp)
    inner = np.flatnonzero(branch[:-1] >= 0)
    at[branch[inner], branches.node[first[inner]]] = inner
    place, out = np.append(branches.node[first], -1), solved.copy()
    for k in range(2):
        its = (solved >= 0) & (branch[solved] >= 0) & (branch[solved] == moved.lead[:, k:k + 1])
        out = np.where(its, at[moved.own[:, k:k + 1], place[solved]], out)
    return out


def _still(kind: Ints, solved: Ints) -> Ints:
    """(H, 2) another twin of each limb, neither of the two; of each kind three are looked at."""
    three: dict[int, list[int]] = {}
    for i, k in enumerate(kind.tolist()):
        three.setdefault(k, []).append(i)
    some = [(three[k] + [-1] * 3)[:3] for k in kind.tolist()]
    its = np.array([*some, [-1] * 3], dtype=np.intp)[solved]  # (H, 2, 3)
    free = (its >= 0) & (its != solved[:, :1, None]) & (its != solved[:, 1:, None])
    found = np.take_along_axis(its, free.argmax(axis=2)[..., None], 2)[..., 0]
    return np.where(free.any(axis=2), found, -1)


def _first_two(limbs: Ints) -> tuple[Ints, Bools]:
    """(H, 2) the different limbs among those of each row (H, X), in their order, −1 for none; and whether these are
    all."""
    out = np.full((len(limbs), 2), -1, dtype=np.intp)
    left = limbs >= 0
    for k in range(2):
        some = left.any(axis=1)
        out[some, k] = limbs[some, left[some].argmax(axis=1)]
        left &= limbs != out[:, k:k + 1]
    return out, np.asarray(~left.any(axis=1))


def _bits(x: Floats) -> Codes:
    return np.ascontiguousarray(x, dtype=np.float64).view(np.int64)


def _each(keys: Codes) -> Iterator[bytes]:
    width, whole = keys.shape[1] * keys.itemsize, keys.tobytes()
    return (whole[k:k + width] for k in range(0, len(whole), width))
