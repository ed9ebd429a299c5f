"""Things looked over or moved by hand, and ends of wires: what is found goes by the fault itself and not only by what
it changes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.model import Bools, Floats, Ints
from tracer.inference.heat import hot_chances, is_hot
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.shown import Shown
from tracer.inference.visual_inspection import found_loglik, hand_chances, shows_in
from tracer.observation.evidence import Reading, Test


def find(item: Reading, shown: Shown, rows: Sequence[Hypothesis], kept: Ints, at: Ints) -> Floats:
    """ln probability (H,) of what was found or moved.

    Args:
        kept: Which of the rows are still weighed; elsewhere nothing is taken to show.
        at: For each of them, where among the active changes its own is.
    """

    def shows(test: Test) -> Bools:
        found = np.zeros(len(rows), dtype=bool)
        found[kept] = shows_in(shown.panel(test.state), shown.predictor, test)[at]
        return found

    def along(test: Test) -> Floats:
        found = np.zeros(len(rows))
        found[kept] = shown.observed(test)[at]
        return found

    if item.test.row.at_end:
        return found_loglik(item, hand_chances(item.test, rows, shows, along, shown.predictor.harness))
    thing = item.test.thing(shown.predictor.harness)
    if not item.test.row.moves and is_hot(item.value, thing):
        return found_loglik(item, hot_chances(rows, thing, shown.predictor.harness))
    return found_loglik(item, hand_chances(item.test, rows, shows, along, shown.predictor.harness))
