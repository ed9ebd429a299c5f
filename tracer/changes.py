"""Many changes at once, as arrays: what the solver adds to one base network for each hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tracer.circuit import AddedBranch, Bools, Change, Circuit, Floats, Ints, Setup, conductance_of
from tracer.devices import FuseLink
from tracer.harness import VehicleState

INVERTED = -2  # in `ChangeTable.when`: a relay contact that works the other way round


@dataclass(frozen=True)
class ChangeTable:
    """Rows of changes, H rows of at most K conductance changes each.

    Attributes:
        branch: (H, K) index of the changed branch, −1 for an added one.
        a, b: (H, K) end nodes; a = b = 0 where a row has fewer than K.
        target_s: (H, K) conductance that the branch is to have, S.
        through: (H, K) index into `tags` of what takes an added path away, −1 for nothing.
        port_factor: (H, P) factor on each port's current, 0 for a dead one.
        emf_factor: (H,) factor on the supply.
        running_factor: (H,) further factor on it while the engine runs.
        when: (H, K) index into `closing` where the change is a switch contact that closes in other
            positions, `INVERTED` for a relay contact that works the other way round, else −1.
        closing: Controls and the positions in which such a contact closes.
        rating: (H, fuses) factor on each fuse's rating, in the order of the circuit's fuse links.
        port_light: (H, P) log10 of a factor on each port's light.
        flasher_load: (H,) factor on the load that the flasher unit is made for.
    """

    circuit: Circuit
    branch: Ints
    a: Ints
    b: Ints
    target_s: Floats
    through: Ints
    tags: tuple[str, ...]
    port_factor: Floats
    emf_factor: Floats
    running_factor: Floats
    when: Ints
    closing: tuple[tuple[str, frozenset[str]], ...]
    rating: Floats
    port_light: Floats
    flasher_load: Floats

    def __len__(self) -> int:
        return len(self.emf_factor)

    def is_healthy(self) -> bool:
        """Whether it is one row without any change."""
        factors = (self.port_factor, self.emf_factor, self.running_factor, self.rating)
        return len(self) == 1 and not self.branch.shape[1] and all(bool((f == 1).all()) for f in factors)

    @cached_property
    def odd_ports(self) -> tuple[Ints, Ints]:
        """Rows and ports whose current or light has a factor: few."""
        odd = np.flatnonzero((self.port_factor != 1) | (self.port_light != 0))
        row, port = np.divmod(odd, max(self.port_factor.shape[1], 1))
        return row, port

    @cached_property
    def other_ratings(self) -> Ints:
        """Rows in which some fuse has another rating than it should."""
        return np.flatnonzero((self.rating != 1).any(axis=1))

    def rows(self, chosen: Ints | Bools | slice) -> ChangeTable:
        taken = ChangeTable(
            self.circuit, self.branch[chosen], self.a[chosen], self.b[chosen], self.target_s[chosen],
            self.through[chosen], self.tags, self.port_factor[chosen], self.emf_factor[chosen],
            self.running_factor[chosen], self.when[chosen], self.closing, self.rating[chosen],
            self.port_light[chosen], self.flasher_load[chosen],
        )
        if isinstance(chosen, slice) and chosen.step is None and "odd_ports" in self.__dict__:
            first, end, _ = chosen.indices(len(self))
            row, port = self.odd_ports
            part = slice(*np.searchsorted(row, (first, end)))
            taken.__dict__["odd_ports"] = row[part] - first, port[part]
        return taken

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
        base_s, closed_s = np.append(base_s, 0.0), np.append(self.circuit.closed_s, 0.0)
        pinned_open = np.append(pinned_open, False)
        at = np.where(self.branch < 0, -1, self.branch)  # the last one stands for no branch
        target_s = self.target_s
        if (self.when != -1).any():
            positions = dict(state.positions)
            closes = np.array([positions.get(c) in where for c, where in self.closing] + [False] * 2)
            moved_s = np.where(closes[self.when], target_s, 0.0)
            inverted_s = np.where(base_s[at] == 0.0, target_s, 0.0)
            target_s = np.where(self.when >= 0, moved_s, np.where(self.when == INVERTED, inverted_s, target_s))
        # A burnt contact does not close a switch that stands open; only a stuck one does.
        burnt_and_open = (base_s[at] == 0.0) & (target_s < 0.999 * closed_s[at])
        of_branch = np.where(pinned_open[at] | burnt_and_open, 0.0, target_s - base_s[at])
        gone = np.array([t in removed for t in self.tags] + [False])
        of_added = np.where(gone[self.through], 0.0, self.target_s)
        return np.where(self.branch >= 0, of_branch, np.where(self.branch == -1, of_added, 0.0))


def tabulate(circuit: Circuit, changes: Sequence[Change], swapped: Sequence[tuple[str, str]] = ()) -> ChangeTable:
    """Arrange changes as arrays. `swapped` bulbs carry their faults with them to the other place.

    Raises:
        SolverError: A change names a node, branch or filament that the circuit does not have.
    """
    if swapped:
        changes = [moved(circuit, c, swapped) for c in changes]
    most = max((len(c.set_ohm) + len(c.added) + len(c.contacts) + len(c.inverted) for c in changes), default=0)
    shape = (len(changes), most)
    branch, a, b = (np.full(shape, -1, dtype=np.intp), np.zeros(shape, dtype=np.intp), np.zeros(shape, dtype=np.intp))
    branch[:] = -2
    target, through = np.zeros(shape), np.full(shape, -1, dtype=np.intp)
    tags: dict[str, int] = {}
    factor = np.ones((len(changes), len(circuit.ports)))
    emf, running = np.ones(len(changes)), np.ones(len(changes))
    when = np.full(shape, -1, dtype=np.intp)
    closing: dict[tuple[str, frozenset[str]], int] = {}
    links = [d.name for d in circuit.linear if isinstance(d, FuseLink)]
    rating = np.ones((len(changes), len(links)))
    light, flasher = np.zeros(factor.shape), np.array([c.flasher_load for c in changes], dtype=float)
    ends_a, ends_b = circuit.branch_ends
    for row, change in enumerate(changes):
        k = 0
        for name, ohm in change.set_ohm:
            i = circuit.branch_index[name]
            branch[row, k], a[row, k], b[row, k] = i, ends_a[i], ends_b[i]
            target[row, k] = conductance_of(ohm)
            k += 1
        for extra in change.added:
            branch[row, k], a[row, k], b[row, k] = -1, circuit.node(extra.a), circuit.node(extra.b)
            target[row, k] = conductance_of(extra.ohm)
            if extra.through:
                through[row, k] = tags.setdefault(extra.through, len(tags))
            k += 1
        for name, where in change.contacts:
            i = circuit.branch_index[name]
            branch[row, k], a[row, k], b[row, k] = i, ends_a[i], ends_b[i]
            target[row, k] = circuit.closed_s[i]
            when[row, k] = closing.setdefault((circuit.control_of(name), where), len(closing))
            k += 1
        for name in change.inverted:
            i = circuit.branch_index[name]
            branch[row, k], a[row, k], b[row, k] = i, ends_a[i], ends_b[i]
            target[row, k], when[row, k] = circuit.closed_s[i], INVERTED
            k += 1
        for name, f in change.light:
            light[row, circuit.port_index[name]] += f
        for name, f in change.ratings:
            rating[row, links.index(name)] *= f
        for name in change.dead:
            factor[row, circuit.port_index[name]] = 0.0
        for name, f in change.scaled:
            factor[row, circuit.port_index[name]] *= f
        emf[row], running[row] = change.emf_factor, change.running_factor
    return ChangeTable(
        circuit, branch, a, b, target, through, tuple(tags), factor, emf, running, when, tuple(closing), rating,
        light, flasher,
    )


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
    added = tuple(
        AddedBranch(nodes.get(x.a, x.a), nodes.get(x.b, x.b), x.ohm, other[x.through])
        if x.through in other else x
        for x in change.added
    )
    return replace(
        change, added=added, dead=tuple(place.get(d, d) for d in change.dead),
        scaled=tuple((place.get(n, n), f) for n, f in change.scaled),
        light=tuple((place.get(n, n), f) for n, f in change.light),
    )


def pinned_open(circuit: Circuit, setup: Setup) -> Bools:
    """Branches (B,) that the set-up itself holds open."""
    pinned = np.zeros(len(circuit.linear), dtype=bool)
    for name, ohm in setup.done.set_ohm:
        pinned[circuit.branch_index[name]] = conductance_of(ohm) == 0.0
    return pinned
