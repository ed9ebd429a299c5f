"""What was told unasked and stands alone against the likeliest suspect is looked at again before anybody gives up."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.shared import unremarked
from tracer.job.job import Job
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import test_key
from tracer.practice.simulated_vehicle import PracticeVehicle

SALOON = MODELS / "saloon_1970s.yaml"
# The wires to the right indicators and to the reversing lamps rub on each other in the body loom (both run through
# C1); the second sentence names the lamp switch in place of the indicator stalk.
SAID = ("left reversing lamp lit when indicator stalk right", "right reversing lamp lit when lamp switch side",
        "right front indicator lit when gear reverse")


WORN = "wires joined: reversing switch.out – C1.4 and S8 – C1.6"
# What is proposed first, and looked at, on the way.
LOOKED = (
    "look left rear tail when ignition on, gear reverse", "look right reversing lamp when ignition on, gear reverse",
    "look right front indicator when ignition on, gear reverse, indicator stalk left",
    "look right rear indicator when ignition on, gear reverse", "look right front indicator when ignition on",
    "look right rear indicator when ignition on",
)


@pytest.mark.long
@pytest.mark.parametrize("looked", [LOOKED, ()], ids=["from the last look on", "from what was told on"])
def test_a_complaint_with_a_slip_in_it_is_not_given_up(tmp_path: Path, looked: Sequence[str]) -> None:
    """Three things told, one of them of another switch: "not described" leads. Whoever follows the proposals at the
    vehicle comes to the repair, and is sent nowhere twice to look at what was told wrongly."""
    job = Job.create(tmp_path / "job.yaml", SALOON)
    for said in SAID:
        job.symptom(said)
    fault = next(f for f in job.investigator.faults if f.name == WORN)
    vehicle = PracticeVehicle(job.investigator.harness, fault.variants[0].change, 12.3, [fault])
    with unremarked():
        for words in looked:
            job.reading(words, vehicle.answer(parse_test(words, job.harness)))
    if looked:
        assert job.diagnosis.undescribed > 0.5
    steps: list[str] = []
    for _ in range(8):
        step = job.next()
        assert step.kind != "give up", steps
        steps.append(step.says)
        if step.test is None:
            break
        job.reading(test_key(step.test), vehicle.answer(step.test))
        if len(steps) == 1 and not looked:
            assert job.diagnosis.undescribed > 0.5
    assert fault.repair in steps[-1], steps
    again = [says for says in steps if says.startswith("check once more")]
    assert len(set(again)) == len(again)


def test_what_was_told_wrongly_is_looked_at_before_anybody_gives_up(tmp_path: Path) -> None:
    """Somebody has looked at all else: only what he told of the other switch is left to speak against the repair."""
    job = Job.create(tmp_path / "job.yaml", SALOON)
    for said in SAID:
        job.symptom(said)
    with unremarked():
        for test, shown in (
            ("look left rear tail when gear reverse", "dark"),
            ("look right reversing lamp when gear reverse", "normal"),
            ("look right front indicator when gear reverse, indicator stalk left", "normal"),
            ("look right rear indicator when gear reverse", "normal"),
            ("look right front indicator when ignition on", "dark"),
            ("look right rear indicator when ignition on", "dark"),
        ):
            job.reading(test, shown)
    step = job.next()
    assert step.says.startswith("check once more") and step.test is not None
    assert (step.test.lamp, step.test.state["lamp switch"]) == ("right reversing lamp", "side")
    job.reading(test_key(step.test), "dark")
    after = job.next()
    assert after.kind == "repair" and after.says == "part and repair the GN and GW wires in the body loom"
