"""What comes and goes is moved first, or that is offered second (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tracer import Job

SAID = "left rear tail sometimes dark when lamp switch side"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    made = Job.create(tmp_path_factory.mktemp("loose") / "job.yaml", Path(MODELS) / "rear_end.yaml", "")
    made.symptom(SAID)
    return made


def test_moving_it_stands_among_the_first_two(job: Job) -> None:
    first = [o.says for o in job.next(record=False).options[:2]]
    assert any("wiggle" in says for says in first), first


def test_one_good_voltage_does_not_clear_a_loose_contact(job: Job, tmp_path: Path) -> None:
    """Seven times in ten it is asleep while somebody measures: a full voltage behind the plug leaves it a suspect,
    and takes a plug that is open for good out of the list."""
    before = {s.repair: s.share for s in job.suspects()}
    read = Job.create(tmp_path / "job.yaml", Path(MODELS) / "rear_end.yaml", "")
    read.symptom(SAID)
    read.reading("volts at left rear.tail when lamp switch side", "12.3 V")
    after = {s.repair: s.share for s in read.suspects()}
    assert after["clean or renew way C1.1"] > 0.3 * before["clean or renew way C1.1"]
    steady = Job.create(tmp_path / "steady.yaml", Path(MODELS) / "rear_end.yaml", "")
    steady.symptom("left rear tail dark when lamp switch side")
    steady.reading("volts at left rear.tail when lamp switch side", "12.3 V")
    assert {s.repair: s.share for s in steady.suspects()}["clean or renew way C1.1"] < 0.01
