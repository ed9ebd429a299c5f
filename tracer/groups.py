"""Suspects that look the same in every vehicle state: one group until a meter splits them."""

from __future__ import annotations

from dataclasses import replace

from tracer.likelihood import likely_word
from tracer.reasons import states_tried
from tracer.suspects import Diagnosis, basic_states

_LEADING = 12


def with_groups(diagnosis: Diagnosis) -> Diagnosis:
    """The diagnosis with `alike` filled in for the leading suspects.

    Two suspects are alike if every lamp is called the same, and flashes or not, in every basic state
    and every state that was tried.
    """
    leading = [s for s in diagnosis.suspects[:_LEADING] if s.share > 1e-4]
    if len(leading) < 2:
        return diagnosis
    predictor = diagnosis.predictor
    table = predictor.table([s.best.change for s in leading])
    looks: list[list[str]] = [[] for _ in leading]
    for state in dict.fromkeys([*states_tried(diagnosis), *basic_states(predictor.harness)]):
        panel = predictor.panel(predictor.setup(state), table)
        for k in range(len(leading)):
            for i in range(len(predictor.lamps)):
                flashes = panel.flux[k, i] - panel.least[k, i] > 0.3
                looks[k].append(likely_word(float(panel.flux[k, i])) + ("~" if flashes else ""))
    grouped = [
        replace(s, alike=tuple(t.repair for j, t in enumerate(leading) if j != k and looks[j] == looks[k]))
        for k, s in enumerate(leading)
    ]
    return replace(diagnosis, suspects=(*grouped, *diagnosis.suspects[len(leading):]))
