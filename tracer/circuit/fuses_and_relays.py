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

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tracer.cache import Kept
from tracer.circuit.blown_together import solved
from tracer.circuit.change_table import ChangeTable, pinned_open, set_branch, tabulate
from tracer.circuit.fuses import Fuses, with_fuse
from tracer.circuit.model import NO_CHANGE, Bools, Circuit, Floats, Ints, Setup, conductance_of, distinct
from tracer.circuit.relays import Relays
from tracer.circuit.resting_states import RestingStates
from tracer.circuit.settled import Settled, joined
from tracer.circuit.shared_networks import Asked, SharingSolver
from tracer.circuit.solution import Solution
from tracer.circuit.twins import Twins
from tracer.standards.fuses import blowing_time_s

_LEAST_PASSES = 12
_HEALTHY_KEPT = 1000  # set-ups
_NEAR = 0.99  # of what blows a fuse
_NOTHING_A = 1e-6  # no lamp shows it and no relay feels it


class _Case(Struct, frozen=True):
    """Rows of one set-up on their way to rest.

    Attributes:
        base_pulled: The coils that hold in the network from which the rows are solved.
        pulled, was_in: (H, coils) relays as they stand, and those that have held before.
        held, inverts: (H, contacts) that the fault itself holds, and those that work the other way round.
        of: How many rows began.
        before: The relays as they stood in earlier passes, as `_noted`.
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
    before: Sequence[NDArray[np.uint8]] = ()
    overloaded: Sequence[Bools] = ()


class _Again(Struct, frozen=True):
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
        self.twins = Twins(circuit)
        self._fuses, self._relays = Fuses(circuit), Relays(circuit)
        self.fuses, self.limit_a, self.fuse_s = self._fuses.links, self._fuses.limit_a, self._fuses.cold_s
        self.contacts, self.coils = self._relays.contacts, self._relays.coils
        # A pass moves one coil, so that a chain of relays takes as many as it has, and as many again where what the
        # last one does makes all let go.
        self._most_passes = max(_LEAST_PASSES, 2 * len(self.coils) + 2)
        self._resting = RestingStates(circuit, self.contacts, self.solver)
        self.known: OrderedDict[Setup, Settled] = OrderedDict()
        self._still: dict[Setup, bool] = {}
        self.kept: Kept | None = None  # what is kept of it between commands, see `kept_healthy`

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
        self.know_resting(setup for setup, table in asked if not table.is_healthy())
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

    def know_resting(self, setups: Iterable[Setup]) -> None:
        """Find what `doubtful` and `disturbed` will need of the relays at rest in several set-ups."""
        if not self._resting.any:
            return
        plain = dict.fromkeys(replace(s, done=NO_CHANGE) for s in setups)
        self.know(s for s in plain if self._may_pull_in(s))
        self._resting.know([(s, self._healthy_pulled_in(s)) for s in plain])

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
        return _Case(setup, table, at_rest, start, was_in, *self._relays.deaf(table), len(table))

    def _from_rest(self, setup: Setup, table: ChangeTable) -> _Case:
        none = np.zeros((len(table), len(self.coils)), dtype=bool)
        return _Case(setup, table, frozenset(), none, none, *self._relays.deaf(table), len(table))

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

    def disturbed(self, setup: Setup, table: ChangeTable, least_a: float = _NOTHING_A) -> Bools:
        """Rows (H,) whose lamps may look otherwise than those of the healthy vehicle in this set-up. Where nothing
        flows through what a row changes (less than `least_a`), all stays as it is."""
        healthy = self.healthy(setup)
        out = np.ones(len(table), dtype=bool)
        if not healthy.usable[0] or healthy.restless.any() or healthy.blown.any() or healthy.lead_blown.any():
            return out
        volts, amps, odd = healthy.solution.volts[0], healthy.solution.port_i[0], table.odd
        g = self.circuit.conductances(setup, self.pulled_in(healthy))
        deltas = table.used_deltas(g, pinned_open(self.circuit, setup), setup.done.gone, setup.state)
        changed, a, b = table.used_ends()
        out = np.zeros(len(table), dtype=bool)
        out[changed[np.abs(deltas * (volts[a] - volts[b])) > least_a]] = True
        share = np.abs(odd.factor - 1) + (odd.light != 0)
        out[odd.row[np.abs(amps[odd.port]) * share > least_a]] = True
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
        fuse, amps, over = self._fuses.overloaded(solution, table, setup)
        coil, moves = self._relays.misplaced(solution, table, pulled, was_in)
        now = _noted(pulled, was_in)
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
        leads = with_fuse(setup)
        if len(over_rows):
            wired = blows[rows] & (fuse[rows] < len(self.fuses))
            if wired.any():
                branch = np.where(wired, self._fuses.branch[np.minimum(fuse[rows], len(self.fuses) - 1)], -1)
                sub = set_branch(sub, branch, np.zeros(len(rows)))
            for k, lead in enumerate(leads, len(self.fuses)):
                gone = np.where(blows[rows] & (fuse[rows] == k), -conductance_of(lead.ohm), 0.0)
                if gone.any():
                    sub = sub.with_added(self.circuit.node(lead.a), self.circuit.node(lead.b), gone)
        move_only = moves[rows] & ~blows[rows]
        if move_only.any():
            chosen = coil[rows]
            sub_pulled[move_only, chosen[move_only]] ^= True
            sub = self._relays.moved(sub, move_only, chosen, sub_pulled, held[rows], case.inverts[rows])
        # A fuse that blows makes another network, in which nothing has happened yet.
        earlier = [np.where(blows[rows, None], np.uint8(0), x[rows]) for x in (*case.before, now)]
        base, sub = self._relays.nearer(case.base_pulled, sub, sub_pulled, held[rows], case.inverts[rows])
        left = replace(
            case, table=sub, base_pulled=base, pulled=sub_pulled, was_in=sub_was, held=held[rows],
            inverts=case.inverts[rows], before=earlier, overloaded=[x[rows] for x in (*case.overloaded, over)],
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


def _noted(pulled: Bools, was_in: Bools) -> NDArray[np.uint8]:
    """How relays stand (H, bytes), eight in a byte, to be compared with how they stood; nothing is as all zeros."""
    some = np.ones((len(pulled), 1), dtype=bool)
    return np.packbits(np.hstack([some, pulled, was_in]), axis=1)
