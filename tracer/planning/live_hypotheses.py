"""The hypotheses still alive in a job, the vehicle states worth a test, and what the lamps do there under each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats, Ints
from tracer.circuit.settled import Settled
from tracer.faults import Fault
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis, basic_states, by_change
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.meter_readings import asked_of, read_beside
from tracer.safety.permitted import permitted_states, safe_states

UNSEEN = -2.8  # log10 of light below which a lamp is as good as dark
SAME_LOOK = 0.15  # decades of light that nobody tells from the same


class Living:
    """The living hypotheses, `rows` of a diagnosis.

    Attributes:
        hypotheses: Those of the rows, in order.
        changes, one_of: As `by_change` of them; all that is predicted here goes by `changes`.
        nodes: Terminals at the suspects' faults.
        alone: Whether nobody holds a control for who has a meter in his hands.
    """

    def __init__(self, diagnosis: Diagnosis, rows: Sequence[int], alone: bool = False) -> None:
        self.diagnosis, self.alone = diagnosis, alone
        self.predictor: Predictor = diagnosis.predictor
        self.harness: Harness = diagnosis.predictor.harness
        self.rows = list(rows)
        self.hypotheses: list[Hypothesis] = [diagnosis.hypotheses[i] for i in rows]
        self.changes, self.one_of = by_change(self.hypotheses)
        self.table = self.predictor.table(self.changes)
        self.nodes = sorted({n for f in self.faults() for n in _fault_nodes(f)})
        self._panels: dict[tuple[VehicleState, tuple[Intervention, ...]], Panel] = {}
        self._settleds: dict[VehicleState, Settled] = {}
        self._shown: dict[Test, Floats] = {}

    @property
    def shares(self) -> Floats:
        """(rows,) how likely the hypotheses are."""
        return np.asarray(self.diagnosis.share[self.rows])

    @cached_property
    def by_repair(self) -> Floats:
        """(changes, repairs) shares, together one."""
        names = {r: k for k, r in enumerate(dict.fromkeys(h.repair for h in self.hypotheses))}
        out = np.zeros((len(self.changes), len(names)))
        np.add.at(out, (self.one_of, np.array([names[h.repair] for h in self.hypotheses])), self.shares)
        return np.asarray(out / out.sum())

    @cached_property
    def beside(self) -> tuple[Ints, Ints]:
        """For each of the changes that of the same fault at the next lower and higher severity that is alive (itself
        at the ends): what lies between two of them belongs to both, and no reading parts a suspect from another that
        may be as bad."""
        degrees: dict[int, list[tuple[float, int]]] = {}
        for h, change in zip(self.hypotheses, self.one_of.tolist(), strict=True):
            severity = h.variants[0].severity
            if len(h.faults) == 1 and severity is not None and h.faults[0].scale is not None:
                degrees.setdefault(id(h.faults[0]), []).append((severity, change))
        prev, following = np.arange(len(self.changes)), np.arange(len(self.changes))
        for own in degrees.values():
            for (_, lower), (_, higher) in pairwise(sorted(own)):
                prev[higher], following[lower] = lower, higher
        return prev, following

    def faults(self, most: int | None = None) -> list[Fault]:
        """The faults of the hypotheses (of the first `most`), those that stand in several as often."""
        return [f for h in self.hypotheses[:most] for f in h.faults]

    def work_states(self) -> list[VehicleState]:
        """States in which something was wrong, likeliest to be worth measuring in; else all that were seen."""
        return [*self._work_states]

    @cached_property
    def _work_states(self) -> list[VehicleState]:
        found: dict[VehicleState, float] = {}
        for e, item in enumerate(self.diagnosis.evidence):
            if isinstance(item, Reading) and item.test.at_rest:
                continue
            state = item.state if isinstance(item, Symptom) else item.test.state
            wrong = float(np.max(self.diagnosis.loglik[e]) - self.diagnosis.healthy[e])
            found[state] = max(wrong, found.get(state, 0.0))
        order = safe_states(sorted(found, key=lambda s: -found[s]), self.harness)
        basic = permitted_states(basic_states(self.harness), self.harness)
        states = self._engine_off(order)[:3] or basic[:3]
        if self.alone and all(self._held(s) for s in states):
            states += self._most_stirred([s for s in basic if not self._held(s) and s not in states])
        return states

    def _held(self, state: VehicleState) -> bool:
        return any(c.needs_holding(state[n]) for n, c in self.harness.controls.items())

    def _most_stirred(self, states: Sequence[VehicleState]) -> list[VehicleState]:
        """The one of some states in which most of the suspects show."""
        rows = self.predictor.disturbed([(self.predictor.setup(s), self.table) for s in states])
        stirred = [float(self.shares[own[self.one_of]].sum()) for own in rows]
        return [states[int(np.argmax(stirred))]] if max(stirred, default=0.0) > 0 else []

    def _engine_off(self, states: Sequence[VehicleState]) -> list[VehicleState]:
        """The states with the engine stopped wherever every suspect then lights every lamp as before: the higher
        voltage of a running engine alone is no reason to start it."""
        out: list[VehicleState] = []
        for state in states:
            stopped = replace(state, engine_running=False)
            out.append(stopped)
            if state.engine_running:
                here, there = self.panel(state), self.panel(stopped)
                same = np.abs(np.maximum(here.flux, UNSEEN) - np.maximum(there.flux, UNSEEN)) < SAME_LOOK
                if not same.all():
                    out.append(state)
        return list(dict.fromkeys(out))

    def affected_lamps(self) -> list[str]:
        """Lamps named in the evidence, those that were not as they should be first."""
        return [*self._affected_lamps]

    @cached_property
    def _affected_lamps(self) -> list[str]:
        named: dict[str, bool] = {}
        for e, item in enumerate(self.diagnosis.evidence):
            wrong = bool(self.diagnosis.healthy[e] < -2.5)
            for seen in item.seen if isinstance(item, Symptom) else [item.value.seen]:
                if isinstance(seen, LampSeen) and seen.lamp in self.predictor.lamp_index:  # not a test lamp
                    named[seen.lamp] = named.get(seen.lamp, False) or wrong
        return sorted(named, key=lambda n: not named[n])

    def panel(self, state: VehicleState, done: tuple[Intervention, ...] = ()) -> Panel:
        """What the lamps do in a state, with things done to the vehicle."""
        self.solve([(state, done)])
        return self._panels[state, done]

    def solve(self, looks: Iterable[tuple[VehicleState, tuple[Intervention, ...]]]) -> None:
        """Find what the lamps do in states, with things done to them, that are not known yet."""
        new = [x for x in dict.fromkeys(looks) if x not in self._panels]
        if not new:
            return
        asked = []
        for state, done in new:
            change = Test("look", state, done=done).change(self.predictor.circuit)
            table = self.predictor.table(self.changes, change) if change.remakes else self.table
            asked.append((self.predictor.setup(state, change), table))
        self._panels |= zip(new, self.predictor.looks(asked), strict=True)

    def settle(self, states: Sequence[VehicleState], tests: Sequence[Test]) -> None:
        """Solve the undisturbed vehicle in several states, and what instruments show in tests, all at once."""
        predictor = self.predictor
        tests = list(dict.fromkeys(tests))
        asked = asked_of(tests, self.changes, predictor.circuit, predictor.setup, predictor.table)
        plain = [(predictor.setup(state), self.table) for state in states]
        shown, settled = read_beside(predictor.settler, asked, plain)
        self._shown |= zip(tests, (values for values, _ in shown), strict=True)
        self._settleds |= zip(states, settled, strict=True)

    def shown(self, test: Test) -> Floats:
        """What a test's instrument shows, (changes,)."""
        if test not in self._shown:
            self._shown[test] = self.predictor.observed(test, self.changes)
        return self._shown[test]

    def settled(self, state: VehicleState) -> Settled:
        """The undisturbed vehicle in a state."""
        if state not in self._settleds:
            self._settleds[state] = self.predictor.settled(self.predictor.setup(state), self.table)
        return self._settleds[state]


def _fault_nodes(fault: Fault) -> Iterator[str]:
    for node in (fault.node, *(fault.across or ())):
        if node:
            yield node
