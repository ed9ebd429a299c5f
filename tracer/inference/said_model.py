"""Symptoms: what people tell of what they saw and heard.

What somebody complains of unasked is weighed by `statement_model`; answers to a question, and that something is as it
should be, by the error of a look.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.model import VehicleState
from tracer.inference.likelihood import Unasked, carelessly, symptom_parts
from tracer.inference.repeated_judgements import cells_of
from tracer.inference.same_lamp import NO_COMPLAINTS, Complaints, complaints_in, contrasts, lit_again
from tracer.inference.shown import Shown
from tracer.inference.side_by_side import side_by_side
from tracer.inference.statement_model import Sayable, Volunteer
from tracer.inference.told import Memory, Told
from tracer.inference.word_model import SHIFTS, UNSHIFTED
from tracer.observation.evidence import Symptom


def hear(
    item: Symptom, shown: Shown, memory: Memory, sayable: Sayable, complained: Complaints = NO_COMPLAINTS
) -> Told:
    """What a symptom says of the active hypotheses, given what was said before. `complained`: what all symptoms
    complain of, by lamp."""
    predictor = shown.predictor
    panel, sound = shown.panel(item.state), predictor.healthy(item.state)
    cells = cells_of(panel.flux)
    before, usually = (
        side_by_side(item, own.flux, recalled, predictor.lamp_index, sayable.mirror)
        for own, recalled in ((panel, memory.recall(shown, cells, item.light)),
                              (sound, memory.recall_usual(sound, item.light)))
    )
    complaints = complaints_in(item, sayable)
    again = lit_again(item, complained)
    ours, theirs = (
        {**_unasked(item, complaints, Volunteer(sayable, item, *of, again)),
         **dict(contrasts(item, complained, sayable, *of))}
        for of in ((shown.panel, shown.blows), (predictor.healthy, _never))
    )
    said = [symptom_parts(predictor, item, shown.panel, before, by, ours) for by in SHIFTS]
    usual = [symptom_parts(predictor, item, predictor.healthy, usually, by, theirs) for by in SHIFTS]
    memory.note(shown, item, cells, sound)
    at_random = {k: sayable.at_random(item.seen[k]) for k in complaints}
    for each in (said, usual):
        each.append(carelessly(each[UNSHIFTED], item, predictor, at_random))
    return Told(tuple(said), tuple(usual))


def _unasked(item: Symptom, complaints: list[int], told: Volunteer) -> Unasked:
    return {k: partial(told.loglik, item.seen[k]) for k in complaints}


def _never(fuse: str, state: VehicleState, once: bool) -> Floats:
    """On a sound vehicle no fuse blows."""
    return np.zeros(1)
