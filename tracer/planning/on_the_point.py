"""What is looked at or measured where a repair would be made, before anything is taken apart on words alone.

A share near one is right if all that could be wrong is told as it is; what somebody tells is not. As long as nothing
but lamps speaks for it, two minutes at the very point are cheaper than the repair in vain, whatever the share.
(Common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import NO_CHANGE, Change
from tracer.faults import Fault
from tracer.harness.devices import ends
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.evidence import Reading, Test
from tracer.observation.forward_model import Predictor
from tracer.planning.confirmation import CHEAP_MIN, LEAST_DOUBT
from tracer.planning.costs import Standing, minutes_of

_TOLD: Final = 0.25  # of the battery's voltage, by which a reading must tell the repair from a sound vehicle
_STILL: Final = 0.7  # of what tells most, above which the quickest one will do
_MOST_POINTS, _MOST_RIVALS, _TRIED = 12, 8, 4
_SPEAKS: Final = 1.0  # ln by which a reading speaks for a repair, beside what a sound vehicle would show
_LEAST_LIT: Final = 1e-4  # share of a rival that counts
_LEAST_APART: Final = 0.05  # of what its rivals hold, that a voltage must tell from it where they are in doubt


def on_words_alone(diagnosis: Diagnosis, suspect: Hypothesis, row: int) -> bool:
    """Whether a repair longer than any look is proposed and nothing but lamps speaks for it. Whoever looks at the
    lamp that was complained of sees that it is so, and not why."""
    return suspect.repair_min > CHEAP_MIN and not any(
        isinstance(item, Reading) and not item.test.row.of_lamps
        and diagnosis.loglik[e, row] - diagnosis.healthy[e] > _SPEAKS
        for e, item in enumerate(diagnosis.evidence)
    )


def voltages_there(
    diagnosis: Diagnosis, suspect: Hypothesis, states: Sequence[VehicleState], standing: Standing,
    done: Collection[Test], may: Callable[[Test], bool],
) -> Iterator[Test]:
    """Voltages at the terminals that a suspect's faults touch, which tell it from a sound vehicle: those that tell it
    from the other suspects as well before the others, and of these the quickest first."""
    predictor = diagnosis.predictor
    points = _points(suspect.defects, predictor.harness)
    if not states or any(t.row.plain_volts and t.plus in points for t in done):
        return
    rivals = [s for s in diagnosis.suspects if s.repair != suspect.repair and s.share > _LEAST_LIT][:_MOST_RIVALS]
    changes = list(dict.fromkeys([suspect.change, NO_CHANGE, *(s.best.change for s in rivals)]))
    weight = np.zeros(len(changes))
    for s in rivals:
        weight[changes.index(s.best.change)] += s.share
    least, found = _TOLD * predictor.emf, list[tuple[float, Test]]()
    for state in states:
        for point, volts in zip(points, _volts(predictor, changes, points, state), strict=True):
            test = Test("volts", state, point, predictor.harness.reference)
            apart = np.abs(volts - volts[0]) > least
            if apart[changes.index(NO_CHANGE)] and may(test):
                found.append((float(weight[apart].sum()), test))
    most = max((told for told, _ in found), default=0.0)
    if weight.sum() >= LEAST_DOUBT and most < _LEAST_APART * weight.sum():
        return  # something is wrong, that is sure, and no voltage here says which
    best = [t for told, t in found if told >= _STILL * most]
    for test in sorted(best, key=lambda t: minutes_of(t, standing, predictor.harness))[:_TRIED]:
        shown, sound = predictor.observed(test, [suspect.change, NO_CHANGE])
        if abs(shown - sound) > least:
            yield test


def _volts(
    predictor: Predictor, changes: Sequence[Change], points: Sequence[str], state: VehicleState
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """(points, changes) V of each point, no meter connected; a state that was not solved tells nothing."""
    settled = predictor.settled(predictor.setup(state), predictor.table(changes))
    volts = settled.solution.volts[:, [predictor.circuit.node(p) for p in points]]
    return np.where(settled.usable[:, None], volts, 0.0).T


def _points(faults: Sequence[Fault], harness: Harness) -> list[str]:
    """Terminals that probes reach, at the ends of all that the faults change, beside what is metal or the battery."""
    by_name = {d.name: d for d in harness.devices()}
    shut = {*harness.bodies(), *harness.poles(), harness.reference, *harness.splices}
    found: dict[str, None] = {}
    for f in faults:
        change = f.variants[0].change
        touched = [f.node, *(f.across or ())]
        touched += [n for name, _ in change.set_ohm if name in by_name for n in ends(by_name[name])]
        touched += [n for x in change.added for n in (x.a, x.b)]
        found |= dict.fromkeys(n for n in touched if n and n not in shut and not node_of(n).inner)
    return list(found)[:_MOST_POINTS]
