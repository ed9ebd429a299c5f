"""No entry of any kind, in any order, stops any command (a fixed small budget; `bench_walk.py` walks for longer)."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS
from tests.long import rest_long
from tests.walk import Walk
from tracer.errors import TracerError
from tracer.job.job import Job

TRAILER = MODELS / "trailer_7pin.yaml"


@pytest.mark.parametrize("number", rest_long(range(3)))
def test_a_walk_at_random_ends_no_command_otherwise_than_it_may(number: int, tmp_path: Path) -> None:
    rng = random.Random(f"suite {number}")
    walk = Walk(TRAILER, tmp_path, rng, heavy=False)
    walk.walk(14)
    assert not walk.wrong, walk.wrong[0]
    assert walk.refused < len(walk.steps) - 3, "hardly anything typed is understood: the walk tries nothing"


def test_what_is_taken_back_leaves_the_job_as_it_stood(tmp_path: Path) -> None:
    """Entries of every kind, each taken back at once: status and shares are those before it."""
    walk = Walk(MODELS / "rear_end.yaml", tmp_path, random.Random("taken back"), heavy=False)
    walk.call("symptom", str(walk.job), "left rear stop dim when brake pedal pressed")
    walk.holds()
    for enter in (Walk.symptom, Walk.reading, Walk.repaired, Walk.reading):
        stands = len(walk.live.record.living)
        while len(walk.live.record.living) == stands:  # until it is understood
            enter(walk)
            walk.live.refresh()
        if len(walk.live.record.living) == stands + 1:
            Walk.undo(walk)
            walk.holds()
    assert not walk.wrong, walk.wrong[0]
    assert walk.compared == 4


def test_a_walk_tells_when_a_share_is_no_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """That it would see what it looks for."""
    walk = Walk(TRAILER, tmp_path, random.Random("not a number"), heavy=False)
    walk.call("symptom", str(walk.job), "left lamp unit stop dim when brake pedal pressed")
    monkeypatch.setattr("tracer.inference.diagnose.chastened",
                        lambda result, factor, failed: (np.full(len(factor), np.nan), 0.0))
    monkeypatch.setenv("TRACER_CACHE", "off")
    walk.holds()
    assert walk.wrong


def test_a_repair_is_recorded_beside_a_test_lamp_at_a_sound_lamp(tmp_path: Path) -> None:
    """The light of a test lamp is no lamp of the vehicle, of which something could be complained."""
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    job.symptom("left lamp unit stop dark when brake switch pressed")
    job.reading("test lamp at left lamp unit.stop when brake switch pressed", "normal")
    proof = job.repaired("1")
    assert [c.because for c in proof.checks].count("the complaint") == 1


@pytest.mark.parametrize("said", ["left stop whole when brake pedal pressed", "left stop holds and is whole"])
def test_a_lamp_that_is_whole_is_no_look(said: str, tmp_path: Path) -> None:
    """It is said of fuses; of a lamp it does not say how it looks, and the reader went round in a circle."""
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    with pytest.raises(TracerError, match=r"how it looks|fuses blow"):
        job.symptom(said)
    assert job.evidence == ()


def test_readings_that_cannot_be_leave_something_to_weigh(tmp_path: Path) -> None:
    """59 V in a vehicle of 12 V, twice, and what comes after: no hypothesis allows for it, and none is left alone."""
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    job.symptom("left lamp unit stop dark when brake switch pressed")
    for _ in range(2):
        job.reading("volts at left lamp unit.stop when brake switch pressed", "59 V")
    job.reading("volts at left lamp unit.stop when brake switch pressed", "12.1 V")
    assert abs(job.diagnosis.share.sum() + job.diagnosis.undescribed - 1) < 1e-9
    assert job.next().says
