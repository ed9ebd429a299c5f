"""Several faults are judged by the same rule as one: the grid of severities is as coarse for them."""

from __future__ import annotations

from pathlib import Path

from tests.shared import unremarked
from tracer.harness.file.text import load_harness
from tracer.job.job import Job

MODEL = Path(__file__).parents[2] / "harness_models" / "motorcycle_6v.yaml"


def test_a_measured_contact_leads_and_no_unseen_second_fault(tmp_path: Path) -> None:
    """10 Ω at way 4 of C1 feed a tail lamp of 5 W at 6 V. The lamp out, a meter reads the battery's voltage there;
    with the lamp in, 4.3 V stand across the way. A second fault that nothing shows must not share the lead."""
    assert load_harness(MODEL).positive_earth
    job = Job.create(tmp_path / "job.yaml", MODEL)
    job.symptom("rear lamp tail faint, headlamp pilot normal, speedometer lamp normal when lamp switch pilot")
    with unremarked():
        job.reading("volts rear lamp.tail when lamp switch pilot, rear lamp tail out", "-6.16 V")
        job.reading("volts rear lamp.tail when lamp switch pilot", "-1.82 V")
    before = job.suspects()[:8]
    with unremarked():
        job.reading("volts C2.1 when lamp switch pilot", "-1.82 V")
        job.reading("volt drop C1.4 to C1.4' when lamp switch pilot", "-4.31 V")

    assert all(len(s.best.faults) == 1 for s in before)
    assert job.suspects()[0].repair == "clean or renew way C1.4"
    assert job.suspects()[0].share > 0.9
