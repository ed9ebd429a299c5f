"""An ohmmeter through a flasher unit: hot-wire units stand open at rest, others closed, and no file says which
(common practice, no source)."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import MODELS, reading_on, tool_on
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Change
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.expected_results import expectations
from tracer.observation.flasher_at_rest import either_way
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_readings import Measurements
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.live_hypotheses import Living

# From the indicator switch through the flasher unit and S2 to the horn, which is 2 Ω of 6 V, and its button.
THROUGH = "ohms indicator switch.49a to horn button.31b"
BEHIND = "ohms flasher unit.49a to indicator switch.49a"
SAID = "left front indicator dark, left rear indicator dark when indicator switch left"


@cache
def tool() -> Investigator:
    return tool_on(MODELS / "motorcycle_6v.yaml")


def diagnosed(*readings: tuple[str, str]) -> Diagnosis:
    harness = tool().harness
    return tool().diagnose([parse_symptom(SAID, harness), *(reading_on(harness, t, v) for t, v in readings)])


def test_a_path_through_the_unit_is_open_or_closed_and_any_other_is_what_it_is() -> None:
    predictor, dead = tool().predictor, Change(set_ohm=(("flasher unit contact", OPEN_OHM),))
    through, behind = (reading_on(tool().harness, t, "open").test for t in (THROUGH, BEHIND))
    both, one = either_way(predictor, [through, behind], [NO_CHANGE, dead])
    assert both.shape == (2, 2) and one.shape == (1, 2)
    assert 1.0 < both[0, 0] < 4.0 and np.isinf(both[[0, 1, 1], [1, 0, 1]]).all()
    assert (one < 0.5).all()
    assert predictor.observed(through, [NO_CHANGE]) == pytest.approx(both[0, :1])


def test_open_through_the_unit_hardly_speaks_against_what_lies_elsewhere() -> None:
    """At most as closed and as open by turns: a half. By a unit that is always closed, "open" told of a break on
    the way, and the clip of the fuse that was loose fell to a fifteenth."""
    before = diagnosed(("volts front stop switch.15 to body when indicator switch left, ignition on", "0 V"))
    after = diagnosed(("volts front stop switch.15 to body when indicator switch left, ignition on", "0 V"),
                      (THROUGH, "open"))
    clip = [next(s.share for s in d.suspects if s.repair == "clean the clips of F2") for d in (before, after)]
    assert clip[1] > clip[0] / 2
    shows = next(e.shows for e in expectations(after, after.evidence[-1].test, 40)  # type: ignore[union-attr]
                 if e.repair == "clean the clips of F2")
    assert shows.endswith(" or open")


def test_a_plan_knows_that_such_a_reading_goes_either_way() -> None:
    """It is not offered as one that parts a sound path from a broken one for certain."""
    diagnosis = diagnosed()
    living = Living(diagnosis, rows_to_plan_with(diagnosis)[0])
    tests = [reading_on(tool().harness, t, "open").test for t in (THROUGH, BEHIND)]
    through, behind = Measurements(living).ohms(tests)
    clip = int(living.one_of[[h.repair for h in living.hypotheses].index("clean the clips of F2")])
    for candidate, most in ((through, 0.5), (behind, 1.0)):
        assert candidate.likelihood.sum(axis=0) == pytest.approx(1.0)
        assert candidate.likelihood[:, clip].max() == pytest.approx(most, abs=0.03)
