"""Many changes at once, as arrays: what the solver adds to one base network for each hypothesis."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import ArrayLike, NDArray

from tracer.circuit.model import (
    LEAST_OHM,
    SUPPLY,
    AddedBranch,
    Bools,
    Change,
    Circuit,
    Floats,
    Ints,
    Setup,
    conductance_of,
)
from tracer.harness.devices import FuseLink
from tracer.harness.model import VehicleState

_WIDE = 64  # changes in a row
INVERTED = -2  # in `ChangeTable.when`: a relay contact that works the other way round


class OddPorts(Struct, frozen=True):
    """Ports whose current or light has a factor, few in each row; entries (E,) row by row.

    Attributes:
        row, port: Where they are.
        factor: On the port's current, 0 for a dead one.
        light: log10 of a factor on its light.
    """

    row: Ints
    port: Ints
    factor: Floats
    light: Floats

    @staticmethod
    def of(circuit: Circuit, changes: Sequence[Change]) -> OddPorts:
        """Those of changes, each a row."""
        entries: list[tuple[int, int, float, float]] = []
        for row, change in enumerate(changes):
            if not (change.dead or change.scaled or change.light):
                continue
            factor, light = _factors(circuit, change), dict[int, float]()
            for name, f in change.light:
                port = circuit.port_index[name]
                light[port] = light.get(port, 0.0) + f
            entries += [(row, k, factor.get(k, 1.0), light.get(k, 0.0)) for k in sorted({*factor, *light})]
        of_row, of_port = (np.array([x[k] for x in entries], dtype=np.intp) for k in (0, 1))
        return OddPorts(of_row, of_port, *(np.array([x[k] for x in entries], dtype=float) for k in (2, 3)))

    def rows(self, chosen: Ints | Bools | slice, count: int) -> OddPorts:
        """Those in some of `count` rows."""
        if isinstance(chosen, slice):
            chosen = np.arange(*chosen.indices(count))
        elif chosen.dtype == bool:
            chosen = np.flatnonzero(chosen)
        first, end = (np.searchsorted(self.row, chosen, side) for side in ("left", "right"))
        each = end - first
        last = np.cumsum(each)
        at = np.repeat(first - last + each, each) + np.arange(int(last[-1]) if len(last) else 0)
        return OddPorts(np.repeat(np.arange(len(each)), each), self.port[at], self.factor[at], self.light[at])


class ChangeTable(Struct, frozen=True, dict=True):
    """Rows of changes, H rows of at most K conductance changes each.

    Attributes:
        branch: (H, K) index of the changed branch, −1 for an added one.
        a, b: (H, K) end nodes; a = b = 0 where a row has fewer than K.
        target_s: (H, K) conductance that the branch is to have, S.
        through: (H, K) index into `tags` of what takes an added path away, −1 for nothing.
        emf_factor: (H,) factor on the current that the supply's EMF drives through its own resistance.
        running_factor: (H,) further factor on it while the engine runs.
        when: (H, K) index into `closing` where the change is a switch contact that closes in other
            positions, `INVERTED` for a relay contact that works the other way round, else −1.
        closing: Controls and the positions in which such a contact closes.
        rating: (H, fuses) factor on each fuse's rating, in the order of the circuit's fuse links.
        flasher_load: (H,) factor on the load that the flasher unit is made for.
        odd: The ports whose current or light has a factor.
    """

    circuit: Circuit
    branch: Ints
    a: Ints
    b: Ints
    target_s: Floats
    through: Ints
    tags: tuple[str, ...]
    emf_factor: Floats
    running_factor: Floats
    when: Ints
    closing: tuple[tuple[str, frozenset[str]], ...]
    rating: Floats
    flasher_load: Floats
    odd: OddPorts

    def __len__(self) -> int:
        return len(self.emf_factor)

    def is_healthy(self) -> bool:
        """Whether it is one row without any change."""
        factors = (self.odd.factor, self.emf_factor, self.running_factor, self.rating)
        return len(self) == 1 and not self.branch.shape[1] and all(bool((f == 1).all()) for f in factors)

    @property
    def port_factor(self) -> Floats:
        """(H, P) factor on each port's current, 0 for a dead one."""
        out = np.ones((len(self), len(self.circuit.ports)))
        out[self.odd.row, self.odd.port] = self.odd.factor
        return out

    @cached_property
    def used(self) -> Ints:
        """The places, counted row by row, in which a change stands: most rows change one thing, and a few many."""
        return np.flatnonzero(self.branch != -2)

    def used_ends(self) -> tuple[Ints, Ints, Ints]:
        """The row and the end nodes of each change in `used`."""
        row = self.used // max(self.branch.shape[1], 1)
        return row, self.a.reshape(-1)[self.used], self.b.reshape(-1)[self.used]

    @cached_property
    def set_branches(self) -> tuple[Ints, Ints, Floats]:
        """Row, branch and the conductance it is to have, of each change of a branch that the circuit has."""
        at = self.used[self.branch.reshape(-1)[self.used] >= 0]
        return at // max(self.branch.shape[1], 1), self.branch.reshape(-1)[at], self.target_s.reshape(-1)[at]

    @cached_property
    def other_ratings(self) -> Ints:
        """Rows in which some fuse has another rating than it should."""
        return np.flatnonzero((self.rating != 1).any(axis=1))

    def rows(self, chosen: Ints | Bools | slice) -> ChangeTable:
        width = self.branch.shape[1]
        if width > _WIDE:  # one row that changes hundreds of branches must not make all others as wide
            used = (self.branch[chosen] != -2).any(axis=0).nonzero()[0]
            width = int(used.max(initial=-1)) + 1
        return ChangeTable(
            self.circuit, self.branch[chosen, :width], self.a[chosen, :width], self.b[chosen, :width],
            self.target_s[chosen, :width], self.through[chosen, :width], self.tags,
            self.emf_factor[chosen], self.running_factor[chosen], self.when[chosen, :width], self.closing,
            self.rating[chosen], self.flasher_load[chosen], self.odd.rows(chosen, len(self)),
        )

    def with_branch(self, branch: Ints, target_s: Floats) -> ChangeTable:
        """One more column: set branch[h] to target_s[h] in row h. An earlier entry for the same
        branch in that row is dropped."""
        ends_a, ends_b = self.circuit.branch_ends
        same = self.branch == branch[:, None]
        keep = np.where(same, -2, self.branch)  # −2: dropped
        none = np.full(len(branch), -1, dtype=np.intp)
        return replace(
            self, branch=np.column_stack([keep, branch]),
            a=np.column_stack([np.where(same, 0, self.a), ends_a[branch]]),
            b=np.column_stack([np.where(same, 0, self.b), ends_b[branch]]),
            target_s=np.column_stack([np.where(same, 0.0, self.target_s), target_s]),
            through=np.column_stack([self.through, none]), when=np.column_stack([self.when, none]),
        )

    def emf_in(self, engine_running: bool) -> Floats:
        """Factor (H,) on the supply with the engine off or running."""
        return self.emf_factor * self.running_factor if engine_running else self.emf_factor

    def with_added(self, a: int, b: int, target_s: Floats) -> ChangeTable:
        """One more column: a path from a to b of target_s[h] in row h; less than nothing takes one away."""
        rows = len(self)
        none = np.full(rows, -1, dtype=np.intp)
        return replace(
            self, branch=np.column_stack([self.branch, none]),
            a=np.column_stack([self.a, np.full(rows, a, dtype=np.intp)]),
            b=np.column_stack([self.b, np.full(rows, b, dtype=np.intp)]),
            target_s=np.column_stack([self.target_s, target_s]), through=np.column_stack([self.through, none]),
            when=np.column_stack([self.when, none]),
        )

    def deltas(
        self, base_s: Floats, pinned_open: Bools, removed: Sequence[str], state: VehicleState
    ) -> Floats:
        """Conductance differences (H, K) against a base whose branches have `base_s` in `state`.

        What the set-up holds open stays open whatever the fault says, and paths through removed
        things are gone.
        """
        out = np.zeros(self.branch.shape)
        out.reshape(-1)[self.used] = self.used_deltas(base_s, pinned_open, removed, state)
        return out

    def used_deltas(
        self, base_s: Floats, pinned_open: Bools, removed: Sequence[str], state: VehicleState
    ) -> Floats:
        """The same of the changes in `used` alone."""
        used = self.used
        branch, target_s = self.branch.reshape(-1)[used], self.target_s.reshape(-1)[used]
        when, through = self.when.reshape(-1)[used], self.through.reshape(-1)[used]
        base_s, closed_s = np.append(base_s, 0.0), np.append(self.circuit.closed_s, 0.0)
        pinned_open = np.append(pinned_open, False)
        at = np.where(branch < 0, -1, branch)  # the last one stands for no branch
        moved_s = target_s
        if (when != -1).any():
            positions = dict(state.positions)
            closes = np.array([positions.get(c) in where for c, where in self.closing] + [False] * 2)
            closed_there_s = np.where(closes[when], target_s, 0.0)
            inverted_s = np.where(base_s[at] == 0.0, target_s, 0.0)
            moved_s = np.where(when >= 0, closed_there_s, np.where(when == INVERTED, inverted_s, target_s))
        # A burnt contact does not close a switch that stands open; only a stuck one does.
        burnt_and_open = (base_s[at] == 0.0) & (moved_s < 0.999 * closed_s[at])
        of_branch = np.where(pinned_open[at] | burnt_and_open, 0.0, moved_s - base_s[at])
        gone = np.array([t in removed for t in self.tags] + [False])
        return np.where(branch >= 0, of_branch, np.where(gone[through], 0.0, target_s))


def tabulate(circuit: Circuit, changes: Sequence[Change], swapped: Sequence[tuple[str, str]] = ()) -> ChangeTable:
    """Arrange changes as arrays. `swapped` bulbs carry their faults with them to the other place.

    Raises:
        SolverError: A change names a node, branch or filament that the circuit does not have.
    """
    if swapped:
        changes = [moved(circuit, c, swapped) for c in changes]
    most = max((len(c.set_ohm) + len(c.added) + len(c.contacts) + len(c.inverted) +
                bool(c.battery_ohm) * len(circuit.sources) for c in changes), default=0)
    shape = (len(changes), most)
    links = [d.name for d in circuit.linear if isinstance(d, FuseLink)]
    rating = np.ones((len(changes), len(links)))
    # Listed by places in the arrays, counted row by row: writing single numbers into arrays takes longer.
    branches, paths = list[tuple[int, int, float]](), list[tuple[int, int, int, float]]()
    through, when = dict[int, int](), dict[int, int]()
    tags: dict[str, int] = {}
    closing: dict[tuple[str, frozenset[str]], int] = {}
    index, closed_s = circuit.branch_index, circuit.closed_s
    for row, change in enumerate(changes):
        place = row * most
        for name, ohm in change.set_ohm:
            branches.append((place, index[name], conductance_of(ohm)))
            place += 1
        for extra in change.added:
            paths.append((place, circuit.node(extra.a), circuit.node(extra.b), conductance_of(extra.ohm)))
            if extra.through:
                through[place] = tags.setdefault(extra.through, len(tags))
            place += 1
        for name, where in change.contacts:
            branches.append((place, index[name], closed_s[index[name]]))
            when[place] = closing.setdefault((circuit.control_of(name), where), len(closing))
            place += 1
        for name in change.inverted:
            branches.append((place, index[name], closed_s[index[name]]))
            when[place] = INVERTED
            place += 1
        for path in _weakened(circuit, change) if change.battery_ohm else ():
            paths.append((place, *path))
            through[place] = tags.setdefault(SUPPLY, len(tags))
            place += 1
        for name, f in change.ratings:
            rating[row, links.index(name)] *= f
    at, of = (np.array([x[k] for x in branches], dtype=np.intp) for k in range(2))
    path_at, path_a, path_b = (np.array([x[k] for x in paths], dtype=np.intp) for k in range(3))
    ends_a, ends_b = circuit.branch_ends
    return ChangeTable(
        circuit,
        _filled(shape, -2, (at, of), (path_at, -1)),
        _filled(shape, 0, (at, ends_a[of]), (path_at, path_a)),
        _filled(shape, 0, (at, ends_b[of]), (path_at, path_b)),
        _filled(shape, 0.0, (at, [x[2] for x in branches]), (path_at, [x[3] for x in paths])),
        _filled(shape, -1, (list(through), list(through.values()))), tuple(tags),
        np.array([c.emf_factor / circuit.weakened(c.battery_ohm) if c.battery_ohm else c.emf_factor for c in changes],
                 dtype=float),
        np.array([c.running_factor for c in changes], dtype=float),
        _filled(shape, -1, (list(when), list(when.values()))), tuple(closing), rating,
        np.array([c.flasher_load for c in changes], dtype=float), OddPorts.of(circuit, changes),
    )


def on_ports(circuit: Circuit, change: Change, factor: Floats) -> None:
    """Put what a change does to filaments and diodes on the factors (P,) of their currents."""
    for port, f in _factors(circuit, change).items():
        factor[port] *= f


def _factors(circuit: Circuit, change: Change) -> dict[int, float]:
    """Port → what a change multiplies its current by, of those where it does."""
    out = {circuit.port_index[name]: 0.0 for name in change.dead}
    for name, f in change.scaled:
        port = circuit.port_index[name]
        out[port] = out.get(port, 1.0) * f
    return out


def _weakened(circuit: Circuit, change: Change) -> Iterator[tuple[int, int, float]]:
    """For each battery that has more resistance inside: its nodes, and the conductance it lacks (below 0), S."""
    for s in circuit.sources:
        own_s = 1 / max(s.ohm, LEAST_OHM)
        yield circuit.node(s.plus), circuit.node(s.minus), own_s / circuit.weakened(change.battery_ohm) - own_s


def _filled(shape: tuple[int, int], usual: float, *entries: tuple[ArrayLike, ArrayLike]) -> NDArray[Any]:
    """An array full of what is usual, but for the entries: places, counted row by row, and what stands there."""
    out = np.full(shape, usual)
    for places, values in entries:
        out.reshape(-1)[np.asarray(places, dtype=np.intp)] = values
    return out


def moved(circuit: Circuit, change: Change, swapped: Sequence[tuple[str, str]]) -> Change:
    """The change with the faults of swapped bulbs at their new places."""
    other = dict([*swapped, *((b, a) for a, b in swapped)])
    place: dict[str, str] = {}
    nodes: dict[str, str] = {}
    for bulb, there in other.items():
        for here_name, there_name in zip(circuit.bulbs[bulb], circuit.bulbs[there], strict=False):
            place[here_name] = there_name
            here, target = (circuit.ports[circuit.port_index[n]] for n in (here_name, there_name))
            nodes[here.a], nodes[here.b] = target.a, target.b

    def path(x: AddedBranch) -> AddedBranch:
        if x.through not in other:
            return x
        return replace(x, a=nodes.get(x.a, x.a), b=nodes.get(x.b, x.b), through=other[x.through])

    return change.renamed(lambda name: place.get(name, name), path)


def pinned_open(circuit: Circuit, setup: Setup) -> Bools:
    """Branches (B,) that the set-up itself holds open."""
    pinned = np.zeros(len(circuit.linear), dtype=bool)
    for name, ohm in setup.done.set_ohm:
        pinned[circuit.branch_index[name]] = conductance_of(ohm) == 0.0
    return pinned


def numbers(circuit: Circuit, names: Iterable[str]) -> Ints:
    """For each branch its number among `names`, −1 for none; the last two stand for no branch."""
    out = np.full(len(circuit.linear) + 2, -1, dtype=np.intp)
    for k, name in enumerate(names):
        out[circuit.branch_index[name]] = k
    return out


def found(number_of: Ints, table: ChangeTable) -> tuple[Ints, Ints, Ints]:
    """Where rows change a branch that has a number: the row, the number, and the column of the change."""
    number = number_of[table.branch]
    row, column = np.nonzero(number >= 0)
    return row, number[row, column], column


def set_branch(table: ChangeTable, branch: Ints, target_s: Floats) -> ChangeTable:
    """Set branch[h] in the rows where it is ≥ 0; other rows get an empty column."""
    wide = table.with_branch(np.maximum(branch, 0), target_s)
    none = branch < 0
    wide.branch[none, :-1] = table.branch[none]
    wide.a[none, :-1], wide.b[none, :-1] = table.a[none], table.b[none]
    wide.target_s[none, :-1], wide.when[none, :-1] = table.target_s[none], table.when[none]
    wide.branch[none, -1] = -2
    wide.a[none, -1] = wide.b[none, -1] = 0
    wide.target_s[none, -1] = 0.0
    return wide
