"""Fuses that blow and relays that move: the outer loop around the solver, per hypothesis.

A row whose relay is not where its coil voltage puts it gets its contacts moved; a row whose fuse carries too much
gets that fuse opened, the one that holds shortest first; both are solved again until nothing changes. A coil is
quicker than a fuse (some 10 ms, common practice, no source; ISO 8820-3 lets a blade fuse hold six times its rating
for 20 to 100 ms), so a fuse opens when no relay has still to move. A relay that never comes to rest is reported as
buzzing.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracer.circuit.blown_together import solved
from tracer.circuit.change_table import INVERTED, ChangeTable, pinned_open, tabulate
from tracer.circuit.model import NO_CHANGE, AddedBranch, Bools, Circuit, Floats, Ints, Setup, conductance_of, distinct
from tracer.circuit.resting_states import RestingStates
from tracer.circuit.settled import Settled, first_to_blow, joined
from tracer.circuit.shared_networks import Asked, SharingSolver
from tracer.circuit.solution import Solution
from tracer.harness.devices import FuseLink, RelayContact
from tracer.standards.fuses import blowing_time_s, blows_at

_LEAST_PASSES = 12
_HEALTHY_KEPT = 1000  # set-ups
_NEAR = 0.99  # of what blows a fuse
_NOTHING_A = 1e-6  # no lamp shows it and no relay feels it


@dataclass(frozen=True)
class _Case:
    """Rows of one set-up on their way to rest.

    Attributes:
        base_pulled: The coils that hold in the network from which the rows are solved.
        pulled, was_in: (H, coils) relays as they stand, and those that have held before.
        held, inverts: (H, contacts) that the fault itself holds, and those that work the other way round.
        of: How many rows began.
        before: The relays as they stood in earlier passes.
        overloaded: (H,) in which of these passes a fuse carried too much.
    """

    setup: Setup
    table: ChangeTable
    base_pulled: frozenset[str]
    pulled: Bools
    was_in: Bools
    held: Bools
    inverts: Bools
    of: int
    before: Sequence[NDArray[np.int8]] = ()
    overloaded: Sequence[Bools] = ()


@dataclass(frozen=True)
class _Again:
    """Rows of a case that are to be solved again.

    Attributes:
        rows: Where they stand in the case that they are from.
        over, fuse, amps: Those in which a fuse blew, which one, and at what current, A.
    """

    case: _Case
    rows: Ints
    over: Ints
    fuse: Ints
    amps: Floats


class Settler:
    """Solves set-ups of one circuit, letting fuses blow and relays move."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.solver = SharingSolver(circuit)
        self.fuses = [d for d in circuit.linear if isinstance(d, FuseLink)]
        self._fuse_branch = np.array([circuit.branch_index[f.name] for f in self.fuses], dtype=np.intp)
        self._fuse_of = self._numbers(f.name for f in self.fuses)
        self._fuse_watch = np.array([circuit.watch_index[f.name] for f in self.fuses], dtype=np.intp)
        self.limit_a = np.array([blows_at(f.kind) * f.rating_a for f in self.fuses])
        self.fuse_s = np.array([conductance_of(f.cold_ohm()) for f in self.fuses])
        self.contacts = [d for d in circuit.linear if isinstance(d, RelayContact)]
        self._contact_of = self._numbers(c.name for c in self.contacts)
        by_coil = {c.coil: c for c in reversed(self.contacts)}
        self.coils = list(dict.fromkeys(c.coil for c in self.contacts))
        self._coil_of = self._numbers(self.coils)
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
        # A pass moves one coil, so that a chain of relays takes as many as it has, and as many again where what the
        # last one does makes all let go.
        self._most_passes = max(_LEAST_PASSES, 2 * len(self.coils) + 2)
        self._resting = RestingStates(circuit, self.contacts, self.solver)
        self.known: OrderedDict[Setup, Settled] = OrderedDict()
        self._still: dict[Setup, bool] = {}

    def _numbers(self, names: Iterable[str]) -> Ints:
        """For each branch its number among `names`, −1 for none; the last two stand for no branch."""
        out = np.full(len(self.circuit.linear) + 2, -1, dtype=np.intp)
        for k, name in enumerate(names):
            out[self.circuit.branch_index[name]] = k
        return out

    def solve(self, setup: Setup, table: ChangeTable) -> Settled:
        """Solve every row of `table` in `setup`, fuses and relays included."""
        return self.solve_several([(setup, table)])[0]

    def solve_several(self, asked: Sequence[tuple[Setup, ChangeTable]]) -> list[Settled]:
        """The same for rows of several set-ups, which takes far less time than one after the other."""
        assumed = dict.fromkeys(self.solver.assumed(setup) for setup, _ in asked)
        self.know(s for s in assumed if self._may_pull_in(s))
        for setup in assumed:
            self.solver.hold(setup, self._healthy_pulled_in(setup))
        self.know(setup for setup, table in asked if table.is_healthy() or self._may_pull_in(setup))
        cases: list[_Case] = []
        of: list[tuple[int, Ints]] = []
        for k, (setup, table) in enumerate(asked):
            if table.is_healthy():
                continue
            doubtful = self.doubtful(setup, table)
            for case, rows in ((self._case, ~doubtful), (self._from_rest, doubtful)):
                if rows.any() or (not len(table) and case == self._case):
                    cases.append(case(setup, table if rows.all() else table.rows(rows)))
                    of.append((k, np.flatnonzero(rows)))
        found: dict[int, list[tuple[Ints, Settled]]] = {}
        for (k, at), settled in zip(of, self._settle(cases), strict=True):
            found.setdefault(k, []).append((at, settled))
        return [joined(found[k]) if k in found else self.healthy(setup) for k, (setup, _) in enumerate(asked)]

    def doubtful(self, setup: Setup, table: ChangeTable) -> Bools:
        """Rows (H,) that may have more than one resting state, and are settled from all relays at rest."""
        if not self._resting.any:
            return np.zeros(len(table), dtype=bool)
        plain = replace(setup, done=NO_CHANGE)
        pulled_in = self._healthy_pulled_in(plain)
        if not pulled_in:
            return np.zeros(len(table), dtype=bool)
        return self._resting.doubtful(plain, table, pulled_in, self.healthy(plain).solution.volts[0])

    def know(self, setups: Iterable[Setup]) -> None:
        """Find what the healthy vehicle does in set-ups that will be asked for."""
        new = [s for s in dict.fromkeys(setups) if s not in self.known]
        if not new:
            return
        table = tabulate(self.circuit, [NO_CHANGE])
        self.known |= zip(new, self._settle([self._from_rest(s, table) for s in new]), strict=True)
        while len(self.known) > max(_HEALTHY_KEPT, len(new)):
            self.known.popitem(last=False)

    def _case(self, setup: Setup, table: ChangeTable) -> _Case:
        at_rest = self._healthy_pulled_in(setup)
        resting = np.array([c in at_rest for c in self.coils], dtype=bool)
        start = np.tile(resting, (len(table), 1))  # a table may be empty
        was_in = np.zeros(start.shape, dtype=bool)
        return _Case(setup, table, at_rest, start, was_in, *self._deaf(table), len(table))

    def _from_rest(self, setup: Setup, table: ChangeTable) -> _Case:
        none = np.zeros((len(table), len(self.coils)), dtype=bool)
        return _Case(setup, table, frozenset(), none, none, *self._deaf(table), len(table))

    def _deaf(self, table: ChangeTable) -> tuple[Bools, Bools]:
        """(H, contacts): relay contacts that the fault itself holds (burnt, stuck), deaf to their coil, and those
        that work the other way round."""
        held, inverts = np.zeros((2, len(table), len(self.contacts)), dtype=bool)
        row, contact, column = _found(self._contact_of, table)
        inverted = table.when[row, column] == INVERTED
        held[row, contact] = True
        inverts[row[inverted], contact[inverted]] = True
        return held & ~inverts, inverts

    def _healthy_pulled_in(self, setup: Setup) -> frozenset[str]:
        return self.pulled_in(self.healthy(setup)) if self._may_pull_in(setup) else frozenset()

    def _may_pull_in(self, setup: Setup) -> bool:
        """Whether a relay may pull in on the healthy vehicle; if that is known at no great expense."""
        if not self.coils or setup.done.disconnected:
            return False
        return setup in self.known or self.solver.shared(setup) or not self._is_still(setup)

    def pulled_in(self, settled: Settled) -> frozenset[str]:
        """The coils that hold in a solution of one row."""
        return frozenset(c for c, p in zip(self.coils, settled.pulled_in[0], strict=True) if p)

    def healthy(self, setup: Setup) -> Settled:
        """The vehicle without a fault, from all relays at rest; asked for again and again."""
        self.know([setup])
        return self.known[setup]

    def disturbed(self, setup: Setup, table: ChangeTable) -> Bools:
        """Rows (H,) whose lamps may look otherwise than those of the healthy vehicle in this set-up. Where nothing
        flows through what a row changes, all stays as it is."""
        healthy = self.healthy(setup)
        out = np.ones(len(table), dtype=bool)
        if not healthy.usable[0] or healthy.restless.any() or healthy.blown.any() or healthy.lead_blown.any():
            return out
        volts, amps, (row, port) = healthy.solution.volts[0], healthy.solution.port_i[0], table.odd_ports
        g = self.circuit.conductances(setup, self.pulled_in(healthy))
        deltas = table.deltas(g, pinned_open(self.circuit, setup), setup.done.gone, setup.state)
        out = (np.abs(deltas * (volts[table.a] - volts[table.b])) > _NOTHING_A).any(axis=1)
        share = np.abs(table.port_factor[row, port] - 1) + (table.port_light[row, port] != 0)
        out[row[np.abs(amps[port]) * share > _NOTHING_A]] = True
        out |= (table.emf_in(setup.state.engine_running) != 1) | (table.flasher_load != 1)
        return np.asarray(out | (table.rating != 1).any(axis=1) | self.doubtful(setup, table))

    def _is_still(self, setup: Setup) -> bool:
        """Whether no coil gets near its drop-out voltage while all relays are at rest. Cold lamps, taken for hot
        ones, let more through to it than hot ones do."""
        if setup in self._still:
            return self._still[setup]
        volts = self.solver.cold(setup)
        a, b = self.circuit.branch_ends
        least = {c.coil: c.drop_out_v for c in self.contacts}
        coils = [self.circuit.branch_index[c] for c in least]
        near = np.abs(volts[a[coils]] - volts[b[coils]]) > 0.4 * np.array(list(least.values()))
        self._still[setup] = not near.any()
        return self._still[setup]

    def _settle(self, cases: Sequence[_Case], passes: int = 0) -> list[Settled]:
        """Each case brought to rest, all of them together pass by pass."""
        asked = [Asked(c.setup, c.table, c.base_pulled, c.of) for c in cases]
        solutions = solved(self.solver, [f.name for f in self.fuses], asked)
        found = [self._judged(c, solution, passes) for c, solution in zip(cases, solutions, strict=True)]
        again = [a for _, a in found if a is not None]
        later = iter(self._settle([a.case for a in again], passes + 1) if again else ())
        for out, a in found:
            if a is not None:
                self._put(out, a, next(later))
        return [out for out, _ in found]

    def _judged(self, case: _Case, solution: Solution, passes: int) -> tuple[Settled, _Again | None]:
        """A case as far as it is at rest, and what of it is to be solved again."""
        setup, table, pulled, was_in, held = case.setup, case.table, case.pulled, case.was_in, case.held
        blown = np.zeros((len(table), len(self.fuses)), dtype=bool)
        blow_s, restless = np.full(blown.shape, np.inf), np.zeros(pulled.shape, dtype=bool)
        lead_blown = np.zeros(len(table), dtype=bool)
        out = Settled(solution, blown, blow_s, pulled.copy(), restless, lead_blown)
        if not len(table):
            return out, None
        fuse, amps, over = self._overloaded(solution, table, setup)
        coil, moves = self._misplaced(solution, table, pulled, was_in)
        now = np.hstack([pulled, was_in]).astype(np.int8)
        # Where relays go round in a circle the last pass can be told: all between would come out as before. A fuse
        # that carries too much somewhere on the way round will blow.
        ends, round_again, doomed = np.zeros((3, len(table)), dtype=bool)
        for length, then in enumerate(reversed(case.before), 1):
            same = (then == now).all(axis=1)
            round_again |= same
            doomed |= same & np.any(case.overloaded[-length:], axis=0)
            if (self._most_passes - passes) % length == 0:
                ends |= same
        blows = over & (~moves | round_again)
        ends = ends & ~over & ~doomed | (passes >= self._most_passes)
        restless[ends & moves, coil[ends & moves]] = True
        again = (blows | moves) & ~ends
        rows = np.flatnonzero(again)
        if not len(rows):
            return out, None
        sub, sub_pulled, sub_was = table.rows(rows), pulled[rows].copy(), (was_in | pulled)[rows]
        over_rows = np.flatnonzero(blows[rows])
        leads = _leads(setup)
        if len(over_rows):
            wired = blows[rows] & (fuse[rows] < len(self.fuses))
            if wired.any():
                branch = np.where(wired, self._fuse_branch[np.minimum(fuse[rows], len(self.fuses) - 1)], -1)
                sub = set_branch(sub, branch, np.zeros(len(rows)))
            for k, lead in enumerate(leads, len(self.fuses)):
                gone = np.where(blows[rows] & (fuse[rows] == k), -conductance_of(lead.ohm), 0.0)
                if gone.any():
                    sub = sub.with_added(self.circuit.node(lead.a), self.circuit.node(lead.b), gone)
        move_only = moves[rows] & ~blows[rows]
        if move_only.any():
            chosen = coil[rows]
            sub_pulled[move_only, chosen[move_only]] ^= True
            sub = self._move_contacts(sub, move_only, chosen, sub_pulled, held[rows], case.inverts[rows])
        # A fuse that blows makes another network, in which nothing has happened yet.
        earlier = [np.where(blows[rows, None], np.int8(-1), x[rows]) for x in (*case.before, now)]
        left = replace(
            case, table=sub, pulled=sub_pulled, was_in=sub_was, held=held[rows], inverts=case.inverts[rows],
            before=earlier, overloaded=[x[rows] for x in (*case.overloaded, over)],
        )
        return out, _Again(left, rows, rows[over_rows], fuse[rows[over_rows]], amps[rows[over_rows]])

    def _put(self, out: Settled, again: _Again, later: Settled) -> None:
        """Fill in what was solved again."""
        rows = again.rows
        for k in np.flatnonzero(later.buzzing):
            row = int(rows[k])
            here = out.solution.port_v[row].copy(), out.solution.watched_v[row].copy()
            out.between[row] = later.between.get(int(k), here)
        out.solution.put(rows, later.solution)
        out.blown[rows], out.blow_s[rows] = later.blown, later.blow_s
        out.lead_blown[rows] = later.lead_blown
        for k in distinct(again.fuse):
            gone = again.over[again.fuse == k]
            if k >= len(self.fuses):
                out.lead_blown[gone] = True
                continue
            link = self.fuses[k]
            out.blown[gone, k] = True
            out.blow_s[gone, k] = blowing_time_s(link.kind, again.amps[again.fuse == k] / link.rating_a)
        out.pulled_in[rows], out.restless[rows] = later.pulled_in, later.restless

    def _overloaded(self, solution: Solution, table: ChangeTable, setup: Setup) -> tuple[Ints, Floats, Bools]:
        """The fuse (H,) that blows first or comes nearest to it, its current in A (H,) and whether it blows (H,).
        Those of temporary leads come after those of the vehicle."""
        leads = _leads(setup)
        if not self.fuses and not leads:
            none = np.zeros(len(table))
            return none.astype(np.intp), none, none.astype(bool)
        fuse_s, limit = self.fuse_s.copy(), self.limit_a
        for name, ohm in setup.done.set_ohm:
            if (fuse := int(self._fuse_of[self.circuit.branch_index[name]])) >= 0:
                fuse_s[fuse] = conductance_of(ohm)
        across = solution.watched_v.take(self._fuse_watch, axis=1)
        np.abs(across, out=across)
        row, changed, column = _found(self._fuse_of, table)
        # Most rows can be told by the voltage alone.
        near = (across * fuse_s > _NEAR * limit).any(axis=1)
        near[row] = near[table.other_ratings] = True
        near |= bool(leads)
        rows = np.flatnonzero(near)
        amps = across[rows] * fuse_s
        place = np.cumsum(near)[row] - 1
        amps[place, changed] = across[row, changed] * table.target_s[row, column]
        ratio = amps / (limit * table.rating[rows])
        for lead in leads:
            ends = np.array([self.circuit.node(lead.a), self.circuit.node(lead.b)])
            taken = np.where((table.branch == -1) & (table.a == ends[0]) & (table.b == ends[1]), table.target_s, 0.0)
            carries = conductance_of(lead.ohm) + np.minimum(taken, 0.0).sum(axis=1)
            through = np.abs(np.diff(solution.volts_at(ends), axis=1)[:, 0]) * carries
            limit = np.append(limit, blows_at("blade") * lead.fuse_a)
            ratio = np.column_stack([ratio, through / limit[-1]])
        worst, most = np.zeros(len(table), dtype=np.intp), np.zeros(len(table))
        worst[rows] = first_to_blow(ratio, [f.kind for f in self.fuses]) if len(rows) else 0
        most[rows] = ratio[np.arange(len(rows)), worst[rows]]
        return worst, most * limit[worst], (most > 1.0) & solution.converged

    def _misplaced(
        self, solution: Solution, table: ChangeTable, pulled: Bools, was_in: Bools
    ) -> tuple[Ints, Bools]:
        """The first coil (H,) whose relay is not where its voltage puts it, and whether there is one."""
        if not self.coils:
            return np.zeros(len(pulled), dtype=np.intp), np.zeros(len(pulled), dtype=bool)
        volts = np.abs(solution.watched_v[:, self._coil_watch])
        # Switched on from rest it needs the pick-up voltage; having let go once in this search
        # it holds down to the drop-out voltage.
        should = volts >= np.where(pulled & was_in, self._drop_out_v, self._pick_up_v)
        row, coil, column = _found(self._coil_of, table)
        is_open = table.target_s[row, column] == 0
        should[row[is_open], coil[is_open]] = False
        wrong = should != pulled
        return wrong.argmax(axis=1), wrong.any(axis=1) & solution.converged

    def _move_contacts(
        self, table: ChangeTable, rows: Bools, coil: Ints, pulled: Bools, held: Bools, inverts: Bools
    ) -> ChangeTable:
        # One column for all rows, whichever contact each moves: a column a contact would make rows as wide as there
        # are relays.
        for moved in self._contacts_of.T:
            column = moved[coil]
            chosen = rows & (column >= 0) & ~held[np.arange(len(coil)), column]
            if chosen.any():
                closed = (pulled[np.arange(len(coil)), coil] == self._makes[column])
                closed ^= inverts[np.arange(len(coil)), column]
                target = np.where(closed, self._contact_s[column], 0.0)
                table = set_branch(table, np.where(chosen, self._contact_branch[column], -1), target)
        return table


def _found(number_of: Ints, table: ChangeTable) -> tuple[Ints, Ints, Ints]:
    """Where rows change a branch that has a number: the row, the number, and the column of the change."""
    numbers = number_of[table.branch]
    row, column = np.nonzero(numbers >= 0)
    return row, numbers[row, column], column


def _leads(setup: Setup) -> list[AddedBranch]:
    """Temporary leads with a fuse."""
    return [x for x in setup.done.added if x.fuse_a]


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
