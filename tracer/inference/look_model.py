"""Looks: what somebody who was sent to look at one lamp saw."""

from __future__ import annotations

import numpy as np

from tracer.inference.likelihood import carelessly, look_loglik
from tracer.inference.repeated_judgements import cells_of
from tracer.inference.shown import Shown
from tracer.inference.told import Memory, Told
from tracer.inference.word_model import SHIFTS, UNSHIFTED, Eye
from tracer.observation.evidence import Reading


def see(item: Reading, shown: Shown, memory: Memory, of_sound: float) -> Told:
    """What a look says of the active hypotheses; `of_sound`: its ln probability on a sound vehicle."""
    panel, known = shown.look(item.test), shown.predictor.healthy(item.test.state)
    cells = cells_of(panel.flux)
    before = memory.recall(shown, cells, "")
    mates = shown.sayable.seen_as_one(shown.predictor.lamp_index[item.test.lamp]) if item.test.lamp else ()
    said = [look_loglik(panel, shown.predictor, item.value, known, Eye(by), before, mates)[None] for by in SHIFTS]
    usual = [np.full((1, 1), of_sound) for _ in SHIFTS]
    memory.note(shown, item, cells)
    if item.value.seen is not None:
        for each in (said, usual):
            each.append(carelessly(each[UNSHIFTED], item, shown.predictor))
    else:  # that a fuse blew everybody sees alike
        said, usual = said[:1], usual[:1]
    return Told(tuple(said), tuple(usual))
