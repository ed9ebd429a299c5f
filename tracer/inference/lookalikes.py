"""Suspects that look the same in every vehicle state: one group until a meter splits them, and with what."""

from __future__ import annotations

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Ints
from tracer.harness.model import VehicleState
from tracer.harness.node import node_of
from tracer.inference.diagnosis import Diagnosis, Split, Suspect
from tracer.inference.explanation import states_tried
from tracer.inference.hypotheses import basic_states
from tracer.inference.reading_likelihood import reading_sigma
from tracer.inference.word_model import likely_words
from tracer.observation.evidence import Reading, Symptom, Test, by_hand

_LEADING = 12
_SEEN_APART = 1.0  # ln likelihood of what was looked over, by which two suspects are not the same any more
_TOLD_APART = 4.0  # standard deviations between two readings that nobody takes for each other


def with_groups(diagnosis: Diagnosis) -> Diagnosis:
    """The diagnosis with `alike`, `inseparable` and `splits` filled in for the leading suspects.

    Two suspects are alike if every lamp is called the same, and flashes or not, in every basic state and every
    state that was tried. Where the same element changes in the same way, no electrical test splits them; a look along
    two wires may have.
    """
    leading = [s for s in diagnosis.suspects[:_LEADING] if s.share > 1e-4]
    if len(leading) < 2:
        return diagnosis
    predictor = diagnosis.predictor
    table = predictor.table([s.best.change for s in leading])
    seen: list[Ints] = []
    states = dict.fromkeys([*states_tried(diagnosis), *basic_states(predictor.harness)])
    for panel in predictor.looks([(predictor.setup(state), table) for state in states]):
        seen += [likely_words(panel.flux), (panel.flux - panel.least > 0.3).astype(np.intp)]
    looks = [row.tobytes() for row in np.hstack([np.zeros((len(leading), 0), dtype=np.intp), *seen])]
    changes = [_changes(diagnosis, s) for s in leading]
    by_eye = _by_eye(diagnosis, leading)
    splits = _splits(diagnosis, leading)
    grouped = []
    for k, s in enumerate(leading):
        alike = [j for j in range(len(leading)) if j != k and looks[j] == looks[k]]
        same = [j for j in alike if changes[j] <= changes[k] or changes[k] <= changes[j]]
        same = [j for j in same if abs(by_eye[j] - by_eye[k]) < _SEEN_APART]
        measured = [splits[k, j] for j in alike if j not in same and j < k and (k, j) in splits]
        grouped.append(replace(
            s, alike=tuple(leading[j].repair for j in alike), inseparable=tuple(leading[j].repair for j in same),
            splits=tuple(measured),
        ))
    return replace(diagnosis, suspects=(*grouped, *diagnosis.suspects[len(leading):]))


def _by_eye(diagnosis: Diagnosis, leading: list[Suspect]) -> list[float]:
    """ln likelihood of all that was found, or not, where things were looked over or moved, under each suspect."""
    found = [e for e, i in enumerate(diagnosis.evidence) if by_hand(i)]
    return [float(diagnosis.loglik[found, s.rows[0]].sum()) for s in leading]


def _changes(diagnosis: Diagnosis, suspect: Suspect) -> frozenset[object]:
    """What the hypotheses change that make up most of a suspect's share."""
    found: list[object] = []
    total = 0.0
    for i in suspect.rows:
        found.append(diagnosis.hypotheses[i].change)
        total += float(diagnosis.share[i])
        if total > 0.9 * suspect.share:
            break
    return frozenset(found)


def _splits(diagnosis: Diagnosis, leading: list[Suspect]) -> dict[tuple[int, int], Split]:
    """For pairs (k, j) of leading suspects the voltage that tells them apart most cheaply, if one does: in the state
    in which most was wrong, at any terminal that a probe reaches, against the body."""
    predictor = diagnosis.predictor
    harness, state = predictor.harness, _telling_state(diagnosis)
    known = {*harness.bodies(), harness.reference}
    nodes = [n for n in predictor.circuit.nodes if not node_of(n).inner and n not in known]
    settled = predictor.settled(predictor.setup(state), predictor.table([s.best.change for s in leading]))
    volts = settled.solution.volts[:, [predictor.circuit.node(n) for n in nodes]]
    here = np.arange(len(leading))
    sigma = np.array([
        reading_sigma(v, predictor.emf, predictor.supply_measured, here, here) for v in volts.T
    ]).T
    minutes = np.array([harness.place_of(n)[1] for n in nodes])
    out: dict[tuple[int, int], Split] = {}
    for k in range(len(leading)):
        for j in range(k):
            apart = np.abs(volts[k] - volts[j]) / np.maximum(sigma[k], sigma[j])
            clear = np.flatnonzero((apart > _TOLD_APART) & settled.usable[k] & settled.usable[j])
            if len(clear):
                at = min(clear, key=lambda n: (minutes[n], -apart[n]))
                test = Test("volts", state, nodes[at], harness.reference)
                out[k, j] = Split(leading[j].repair, test, float(volts[k, at]), float(volts[j, at]))
    return out


def _telling_state(diagnosis: Diagnosis) -> VehicleState:
    """The state in which a healthy vehicle would least have shown what was seen."""
    if not diagnosis.evidence:
        return basic_states(diagnosis.predictor.harness)[0]
    at_rest = np.array([isinstance(i, Reading) and i.test.at_rest for i in diagnosis.evidence])
    item = diagnosis.evidence[int(np.argmin(np.where(at_rest, 0.0, diagnosis.healthy)))]
    return item.state if isinstance(item, Symptom) else item.test.state
