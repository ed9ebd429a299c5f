"""When a fuse is said to blow: what is switched on then has blown it, what was on already would have before."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tracer.harness.model import VehicleState
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.meant_states import LIT_ABOVE
from tracer.inference.statement_model import BLOWN_EARLIER, OTHER_FUSE, OTHER_STATE, REST
from tracer.observation.actions import Intervention
from tracer.observation.evidence import FuseSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value

TOOL = tool_on(MODELS / "pickup.yaml")
AT_REST, BRAKING = TOOL.harness.state({}), TOOL.harness.state({"brake pedal": "pressed"})
FUSE = "F1"


def blown_in(state: VehicleState, among: Sequence[Hypothesis]) -> np.ndarray:
    """Which hypotheses blow the fuse in a state."""
    predictor = TOOL.predictor
    panel = predictor.panel(predictor.setup(state), predictor.table([h.change for h in among]))
    return np.asarray(panel.blown[:, predictor.fuses.index(FUSE)], dtype=bool)


def odds(state: VehicleState, seen: FuseSeen) -> float:
    """Of what blows it by braking alone, against what blows it at rest already."""
    found = TOOL.diagnose([Symptom(state, (seen,))], pairs=False)
    alone = [k for k, h in enumerate(found.hypotheses) if len(h.faults) == 1]
    rest, brake = (blown_in(s, [found.hypotheses[k] for k in alone]) for s in (AT_REST, BRAKING))
    share = np.asarray(found.share)[alone]
    by_braking, at_rest = float(share[brake & ~rest].sum()), float(share[rest].sum())
    assert by_braking > 0 and at_rest > 0
    return by_braking / at_rest


def test_what_blows_it_at_rest_is_seldom_told_as_blown_by_the_brakes() -> None:
    """Bayes: one in so many of those who have it blown at rest say "when I brake", and those who slip. What else is
    dead with a fuse that blew before, and goes unmentioned, speaks against it as well."""
    slips = OTHER_FUSE + OTHER_STATE + REST
    told, unsaid = odds(BRAKING, FuseSeen(FUSE, True)), odds(AT_REST, FuseSeen(FUSE, True, whenever=True))

    assert (1 - slips) / (BLOWN_EARLIER + slips) < told / unsaid


def test_without_a_word_of_when_it_may_be_blown_by_any_of_its_uses() -> None:
    """Each lamp that hangs on it is lit in one of the states that are tried, and few are."""
    uses, fed = TOOL.sayable.uses(FUSE), TOOL.sayable.fed_by(FUSE)
    tool = TOOL.predictor
    lit = {tool.lamps[k].lamp for s in uses for k in np.flatnonzero(tool.healthy(s).flux[0] > LIT_ABOVE)}

    assert fed <= lit and 1 < len(uses) <= 5


def test_another_fuse_may_have_been_meant_by_hand() -> None:
    """Whose fuse F2 blows, and no other, says it of each of the others alike: ε_fuse / (fuses - 1). Whose fuses all
    hold says it out of carelessness alone."""
    predictor = TOOL.predictor
    panel = predictor.panel(predictor.setup(AT_REST), predictor.table([h.change for h in TOOL.singles]))
    other, blown = predictor.fuses.index("F2"), np.asarray(panel.blown, dtype=bool)
    shorts, sound = np.flatnonzero(blown[:, other] & (blown.sum(axis=1) == 1)), np.flatnonzero(~blown.any(axis=1))
    rows = [TOOL.singles[k] for k in (*shorts[:3], sound[0])]
    *meant, careless = np.exp(TOOL.weigh(rows, [Symptom(AT_REST, (FuseSeen(FUSE, True),))]))[0]

    assert meant == pytest.approx([OTHER_FUSE / (len(predictor.fuses) - 1)] * 3, rel=0.01)
    assert careless < meant[0] / 100


def test_that_the_fuse_of_a_lead_blows_everybody_sees_alike() -> None:
    """Whatever eyes there are: 0.95 where the lead meets a short, 0.02 where it meets none, as on a sound vehicle."""
    tool = tool_on(MODELS / "rear_end.yaml")
    pressed = tool.harness.state({"brake pedal": "pressed"})
    test = Test("look", pressed, lamp="left rear stop", done=(Intervention("feed lead", "left rear.stop", "F3.in"),))
    blown = parse_value("the lead's fuse blows", "look", "left rear stop")
    found = tool.diagnose([Reading(test, blown)], pairs=False)
    assert found.healthy == pytest.approx([math.log(0.02)])
    assert {*found.loglik[0].round(6)} == {round(math.log(p), 6) for p in (0.95, 0.02)}
    likelier = {h.faults[0].kind for h, ll in zip(found.hypotheses, found.loglik[0], strict=True) if ll > -1}
    assert {"wire to body", "holder shorted"} & likelier and not {"filament open", "wire open"} & likelier
