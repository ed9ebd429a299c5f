"""What was told unasked and stands alone against the likeliest suspect is looked at again before anybody gives up."""

from __future__ import annotations

from pathlib import Path

from tests.library import MODELS
from tracer.job.job import Job
from tracer.observation.evidence import Symptom
from tracer.planning.live_hypotheses import Living
from tracer.planning.look_again import complaints_to_look_at
from tracer.planning.next_step import Proposal

SALOON = MODELS / "saloon_1970s.yaml"
# The wires to the right indicators and to the reversing lamps rub on each other in the body loom (both run through
# C1); the second sentence names the lamp switch in place of the indicator stalk.
SAID = ("left reversing lamp lit when indicator stalk right", "right reversing lamp lit when lamp switch side",
        "right front indicator lit when gear reverse")


def _next(job: Job, *seen: tuple[str, str]) -> Proposal:
    for test, shown in seen:
        job.reading(test, shown)
    return job.next(record=False)


def test_a_complaint_with_a_slip_in_it_is_not_given_up(tmp_path: Path) -> None:
    """Three things told, one of them of another switch: "not described" leads, and nobody has looked yet."""
    job = Job.create(tmp_path / "job.yaml", SALOON)
    for said in SAID:
        job.symptom(said)
    step = _next(job, ("look right reversing lamp when ignition on", "dark"))
    assert job.diagnosis.undescribed > 0.5
    assert step.kind == "test" and step.says.startswith("check once more")
    assert step.test is not None and step.test.lamp == "left reversing lamp"
    assert dict(step.test.state.positions)["indicator stalk"] == "right", "in the state in which it was complained of"

    step = _next(job, ("look left reversing lamp when indicator stalk right", "normal, flashing"))
    assert step.kind != "give up"
    first = job.evidence[0]
    assert isinstance(first, Symptom)
    living = Living(job.diagnosis, [s.rows[0] for s in job.suspects()[:3]])
    asked = {(c.test.lamp, c.test.state) for c in complaints_to_look_at(job.diagnosis, living, set())}
    assert ("left reversing lamp", first.state) not in asked, "nobody is sent to look at it twice"
    assert "GN and GW wires in the body loom" in job.suspects()[0].repair
