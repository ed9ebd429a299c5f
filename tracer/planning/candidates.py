"""Tests that could be made next, each with the outcomes that the living hypotheses predict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from msgspec.structs import replace

from tracer.circuit.kept_healthy import remember_asked
from tracer.circuit.model import Bools, Floats
from tracer.harness.model import VehicleState
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.visual_inspection import hand_chances, shows_in, worth_inspecting, worth_moving
from tracer.inference.wire_ends import across, worth_probing
from tracer.observation.evidence import Test, inspection, wiggling
from tracer.planning.candidate_actions import bridged, bridges, fuses_to_try, interventions, new_fuses, things_to_do
from tracer.planning.candidate_looks import Looks
from tracer.planning.candidate_readings import Measurements
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate

_WORTH_A_STATE = 0.02  # of the suspects' share


class Candidates:
    """Generates candidates for the living hypotheses, `rows` of a diagnosis; `alone` as of `Living`."""

    def __init__(self, diagnosis: Diagnosis, rows: Sequence[int], alone: bool = False) -> None:
        self.living = Living(diagnosis, rows, alone)

    def all(self) -> Iterator[Candidate]:
        """Every candidate: looks first, then voltages, drops, continuity, test lamp, interventions."""
        for c in self._of_changes():
            if c.test.row.by_hand:  # eyes and hands part what no current tells apart
                yield c
            else:
                yield replace(c, likelihood=c.likelihood[:, self.living.one_of])

    def _of_changes(self) -> Iterator[Candidate]:
        """The same, with likelihoods by `changes`; those of what is done by hand by `rows`."""
        living, looks, meters = self.living, Looks(self.living), Measurements(self.living)
        states = living.work_states()
        acting = self._acting(states)
        predictor, looked_at = living.predictor, looks.states()
        remember_asked(predictor.settler, [predictor.setup(s) for s in looked_at], predictor.supply_v)
        # What is solved together takes far less time than one after the other.
        living.solve([
            *((state, ()) for state in looked_at),
            *((state, (done,)) for state in acting for done in things_to_do(living)),
            *((state, (done,)) for state, done in bridges(living)),
            *fuses_to_try(living),
        ])
        yield from looks.candidates()
        living.settle(states, [*meters.held_to_lamps(acting), *self._drops])
        for state in states:
            yield from meters.voltages(state)
        yield from meters.battery_at_rest()
        yield from meters.continuity()
        yield from meters.in_hand()
        yield from new_fuses(living, looks)
        yield from bridged(living, looks)
        lit = meters.at_lamps(acting)
        for state in acting:
            yield from (c for c in lit if c.test.state == state)
            yield from interventions(living, looks, state)
        yield from self._by_hand()

    def _acting(self, states: Sequence[VehicleState]) -> Sequence[VehicleState]:
        """The states in which something is done to the vehicle: the second as well only where it stirs suspects that
        the first does not."""
        living = self.living
        table = [(living.predictor.setup(state), living.table) for state in states[:2]]
        stirred = [rows[living.one_of] for rows in living.predictor.disturbed(table)]
        shares = living.shares
        new = len(stirred) > 1 and shares[stirred[1] & ~stirred[0]].sum() > _WORTH_A_STATE * shares.sum()
        return states[:2] if new else states[:1]

    @cached_property
    def _crimps(self) -> list[Test]:
        """The tests of the ends of wires."""
        living = self.living
        ends = worth_probing(living.hypotheses, living.shares, living.diagnosis.evidence, living.harness)
        return [Test("crimp", living.work_states()[0], end, other) for end, other in ends]

    @property
    def _drops(self) -> list[Test]:
        """The volt drops that tell what they show: one for both ends of a wire."""
        return list({frozenset((test.plus, test.minus)): across(test) for test in self._crimps}.values())

    def _by_hand(self) -> Iterator[Candidate]:
        """Looks along wires and into plugs, where a suspect's fault may be in sight; a lamp complained of is watched
        while what may be loose is moved; the ends of a wire, where it and what it is fastened to are suspects."""
        living, harness = self.living, self.living.harness
        state = living.work_states()[0]
        here = worth_inspecting(living.hypotheses, living.shares, living.diagnosis.evidence, harness)
        loose = worth_moving(living.hypotheses, living.shares, harness)
        tests = [inspection(harness, thing) for thing in here]
        tests += [wiggling(harness, thing, state, lamp) for lamp in living.affected_lamps()[:1] for thing in loose]
        found: dict[Test, Floats] = {}
        for one in self._drops:
            volts = living.shown(one)
            found |= {one: volts, replace(one, plus=one.minus, minus=one.plus): -volts}
        for test in (*tests, *self._crimps):
            chances = hand_chances(test, living.hypotheses, self._shows, lambda t: found[t][living.one_of], harness)
            assert test.row.findings is not None
            yield Candidate(test, test.row.findings, np.array([chances, 1 - chances]))

    def _shows(self, test: Test) -> Bools:
        """(rows,) whether the lamp that is watched looks otherwise than on a sound vehicle."""
        living = self.living
        return np.asarray(shows_in(living.panel(test.state), living.predictor, test)[living.one_of])
