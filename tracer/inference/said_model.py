"""Symptoms: what people tell of what they saw and heard."""

from __future__ import annotations

from tracer.inference.likelihood import carelessly, symptom_parts
from tracer.inference.repeated_judgements import cells_of
from tracer.inference.shown import Shown
from tracer.inference.told import Memory, Told
from tracer.inference.word_model import SHIFTS, UNSHIFTED
from tracer.observation.evidence import Symptom


def hear(item: Symptom, shown: Shown, memory: Memory) -> Told:
    """What a symptom says of the active hypotheses, given what was said before."""
    predictor = shown.predictor
    cells, sound = cells_of(shown.panel(item.state).flux), predictor.healthy(item.state)
    before, usually = memory.recall(shown, cells, item.light), memory.recall_usual(sound, item.light)
    said = [symptom_parts(predictor, item, shown.panel, before, by) for by in SHIFTS]
    usual = [symptom_parts(predictor, item, predictor.healthy, usually, by) for by in SHIFTS]
    memory.note(shown, item, cells, sound)
    for each in (said, usual):
        each.append(carelessly(each[UNSHIFTED], item, predictor))
    return Told(tuple(said), tuple(usual), UNSHIFTED)
