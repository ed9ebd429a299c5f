"""The relays of a circuit: whether each is where its coil's voltage puts it, and what its contacts then do."""

from __future__ import annotations

import numpy as np

from tracer.circuit.change_table import INVERTED, ChangeTable, found, numbers, set_branch
from tracer.circuit.model import Bools, Circuit, Ints, conductance_of
from tracer.circuit.solution import Solution
from tracer.harness.devices import RelayContact

_MANY_MOVED = 16  # relays: as many as a network of another state is used with


class Relays:
    """Coils and their contacts, as arrays.

    Attributes:
        contacts: In the order of the circuit.
        coils: Names, in the order of their first contacts.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.contacts = [d for d in circuit.linear if isinstance(d, RelayContact)]
        self._contact_of = numbers(circuit, (c.name for c in self.contacts))
        by_coil = {c.coil: c for c in reversed(self.contacts)}
        self.coils = list(dict.fromkeys(c.coil for c in self.contacts))
        self._coil_of = numbers(circuit, self.coils)
        self._contact_branch = np.array([circuit.branch_index[c.name] for c in self.contacts], dtype=np.intp)
        self._contact_s = np.array([conductance_of(c.ohm) for c in self.contacts])
        self._makes = np.array([c.makes for c in self.contacts], dtype=bool)
        own = [[k for k, c in enumerate(self.contacts) if c.coil == name] for name in self.coils]
        most = max(map(len, own), default=0)
        # (coils, most) the contacts of each coil, −1 for none
        self._contacts_of = np.array([x + [-1] * (most - len(x)) for x in own], dtype=np.intp).reshape(len(own), most)
        self._coil_watch = np.array([circuit.watch_index[c] for c in self.coils], dtype=np.intp)
        self._pick_up_v = np.array([by_coil[c].pick_up_v for c in self.coils])
        self._drop_out_v = np.array([by_coil[c].drop_out_v for c in self.coils])

    def deaf(self, table: ChangeTable) -> tuple[Bools, Bools]:
        """(H, contacts): relay contacts that the fault itself holds (burnt, stuck), deaf to their coil, and those
        that work the other way round."""
        held, inverts = np.zeros((2, len(table), len(self.contacts)), dtype=bool)
        row, contact, column = found(self._contact_of, table)
        inverted = table.when[row, column] == INVERTED
        held[row, contact] = True
        inverts[row[inverted], contact[inverted]] = True
        return held & ~inverts, inverts

    def misplaced(
        self, solution: Solution, table: ChangeTable, pulled: Bools, was_in: Bools
    ) -> tuple[Ints, Bools]:
        """The first coil (H,) whose relay is not where its voltage puts it, and whether there is one."""
        if not self.coils:
            return np.zeros(len(pulled), dtype=np.intp), np.zeros(len(pulled), dtype=bool)
        volts = np.abs(solution.watched_v[:, self._coil_watch])
        # Switched on from rest it needs the pick-up voltage; having let go once in this search
        # it holds down to the drop-out voltage.
        should = volts >= np.where(pulled & was_in, self._drop_out_v, self._pick_up_v)
        row, coil, column = found(self._coil_of, table)
        is_open = table.target_s[row, column] == 0
        should[row[is_open], coil[is_open]] = False
        wrong = should != pulled
        return wrong.argmax(axis=1), wrong.any(axis=1) & solution.converged

    def moved(
        self, table: ChangeTable, rows: Bools, coil: Ints, pulled: Bools, held: Bools, inverts: Bools
    ) -> ChangeTable:
        """Rows with the contacts of a coil of each put where it now holds them, unless a fault does."""
        # One column for all rows, whichever contact each moves: a column a contact would make rows as wide as there
        # are relays.
        for own in self._contacts_of.T:
            column = own[coil]
            chosen = rows & (column >= 0) & ~held[np.arange(len(coil)), column]
            if chosen.any():
                closed = (pulled[np.arange(len(coil)), coil] == self._makes[column])
                closed ^= inverts[np.arange(len(coil)), column]
                target = np.where(closed, self._contact_s[column], 0.0)
                table = set_branch(table, np.where(chosen, self._contact_branch[column], -1), target)
        return table

    def nearer(
        self, base: frozenset[str], table: ChangeTable, pulled: Bools, held: Bools, inverts: Bools
    ) -> tuple[frozenset[str], ChangeTable]:
        """Which coils hold in the network that rows go on from, and the rows against it. Where most have many relays
        otherwise than in `base`, as along a chain of them, it is one in which they are as in most rows: what a row
        costs grows with the cube of what it changes."""
        here = np.array([c in base for c in self.coils], dtype=bool)
        far = (pulled != here).sum(axis=1) > _MANY_MOVED
        if 2 * np.count_nonzero(far) <= len(far):
            return base, table
        most = 2 * pulled.sum(axis=0) > len(pulled)
        for k in np.flatnonzero(most != here):
            apart = pulled[:, k] != most[k]  # those that never moved it say so from here on
            if apart.any():
                table = self.moved(table, apart, np.full(len(pulled), k), pulled, held, inverts)
        return frozenset(c for c, holds in zip(self.coils, most, strict=True) if holds), table
