"""Tests that could be made next, each with the outcomes that the living hypotheses predict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from tracer.evidence import BY_HAND, inspection, wiggling
from tracer.inspection import (
    CHANGES,
    CHANGES_NOT,
    FOUND,
    NOTHING,
    find_chances,
    move_chances,
    shows_in,
    worth_inspecting,
    worth_moving,
)
from tracer.interventions import interventions, new_fuses, things_to_do
from tracer.living import Living
from tracer.looks import Looks
from tracer.measurements import Measurements
from tracer.outcomes import Candidate
from tracer.suspects import Diagnosis


class Candidates:
    """Generates candidates for the living hypotheses, `rows` of a diagnosis."""

    def __init__(self, diagnosis: Diagnosis, rows: Sequence[int]) -> None:
        self.living = Living(diagnosis, rows)

    def all(self) -> Iterator[Candidate]:
        """Every candidate: looks first, then voltages, drops, continuity, test lamp, interventions."""
        for c in self._of_changes():
            if c.test.kind in BY_HAND:  # eyes and hands part what no current tells apart
                yield c
            else:
                yield Candidate(c.test, c.outcomes, c.likelihood[:, self.living.one_of], c.also)

    def _of_changes(self) -> Iterator[Candidate]:
        """The same, with likelihoods by `changes`; those of what is done by hand by `rows`."""
        living, looks, meters = self.living, Looks(self.living), Measurements(self.living)
        states = living.work_states()
        # What is solved together takes far less time than one after the other.
        living.solve([
            *((state, ()) for state in looks.states()),
            *((state, (done,)) for state in states[:2] for done in things_to_do(living)),
        ])
        yield from looks.candidates()
        living.settle(states)
        for state in states:
            yield from meters.voltages(state)
        yield from meters.continuity()
        yield from meters.in_hand()
        yield from new_fuses(living, looks)
        lit = meters.test_lamps(states[:2])
        for state in states[:2]:
            yield from (c for c in lit if c.test.state == state)
            yield from interventions(living, looks, state)
        yield from self._inspections()
        yield from self._wiggles()

    def _inspections(self) -> Iterator[Candidate]:
        """Looks along wires and into plugs, where a suspect's fault may be in sight."""
        living, harness = self.living, self.living.harness
        for thing in worth_inspecting(living.hypotheses, living.shares, living.diagnosis.evidence, harness):
            found = find_chances(living.hypotheses, thing, harness)
            yield Candidate(inspection(harness, thing), (FOUND, NOTHING), np.array([found, 1 - found]))

    def _wiggles(self) -> Iterator[Candidate]:
        """A lamp complained of is watched while what may be loose is moved."""
        living, predictor, harness = self.living, self.living.predictor, self.living.harness
        state = living.work_states()[0]
        for lamp in living.affected_lamps()[:1]:
            shows = shows_in(living.panel(state), predictor.healthy(state), predictor.lamp_index[lamp])
            for thing in worth_moving(living.hypotheses, living.shares, harness):
                moves = move_chances(living.hypotheses, thing, shows[living.one_of], harness)
                test = wiggling(harness, thing, state, lamp)
                yield Candidate(test, (CHANGES, CHANGES_NOT), np.array([moves, 1 - moves]))
