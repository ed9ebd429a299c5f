"""Where a lamp was dim, a repair is proven by the meter as well as by the eye."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.errors import ReadingError
from tracer.job.job import Job

TRAILER = MODELS / "trailer_7pin.yaml"


def _job(tmp_path: Path, look: str, *readings: tuple[str, str]) -> Job:
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    job.symptom(f"left lamp unit stop {look} when brake switch pressed")
    for test, value in readings:
        job.reading(test, value)
    return job


def test_what_was_measured_on_a_dim_lamp_is_measured_again(tmp_path: Path) -> None:
    """The looks alone do not close the job, a drop as large as before keeps what was known, a small one closes it."""
    job = _job(tmp_path, "dim", ("volts at left lamp unit.stop when brake switch pressed", "9.4 V"))
    before = job.evidence
    proof = job.repaired("1")
    last = proof.checks[-1]
    assert last.again is not None and last.state["brake pedal"] == "pressed"
    assert all(c.again is None for c in proof.checks[:-1]) and proof.checks[0].because == "the complaint"
    assert last.measured(job.harness).endswith("V)")
    job.prove_all({c.number: "ok" for c in proof.checks[:-1]})
    assert not job.closed, "nobody measured yet"
    with pytest.raises(ReadingError, match="proves nothing"):
        job.prove(last.number, "could not")
    job.prove(last.number, "9.3 V")
    assert not job.closed and not job.proof_results[last.number].good
    assert len(job.evidence) == len(before) + 1, "what was seen before the repair still counts"
    assert job.next().says

    again = job.repaired("1")
    job.prove_all({c.number: "ok" for c in again.checks[:-1]} | {again.checks[-1].number: "12.1 V"})
    assert job.closed
    assert Job(job.path).closed, "the file says the same"


def test_a_reading_that_became_another_starts_afresh(tmp_path: Path) -> None:
    job = _job(tmp_path, "dim", ("volts at left lamp unit.stop when brake switch pressed", "9.4 V"))
    proof = job.repaired("1")
    job.prove_all({c.number: "ok" for c in proof.checks[:-1]} | {proof.checks[-1].number: "10.6 V"})
    assert not job.closed
    assert len(job.evidence) == 1


def test_a_sound_reading_made_again_says_nothing_of_the_complaint(tmp_path: Path) -> None:
    """Twelve volts before and after, by somebody who skips the checks: the repair may well have helped."""
    fine = ("volts at right lamp unit.stop when brake switch pressed", "12.1 V")
    job = _job(tmp_path, "dim", fine)
    job.repaired("1")
    job.reading(*fine)
    assert len(job.evidence) == 1


@pytest.mark.parametrize("look, readings", [
    ("dark", [("volts at left lamp unit.stop when brake switch pressed", "0 V")]),  # nobody takes dark for lit
    ("dim", []),  # nothing was measured
    ("dim", [("volts at left lamp unit.stop when brake switch pressed", "12.2 V")]),  # as it should be
    ("dim", [("ohms left lamp unit.earth to body", "8 ohm")]),  # the battery off and the meter's own current
])
def test_nothing_is_measured_again_where_it_would_tell_nothing(
    look: str, readings: list[tuple[str, str]], tmp_path: Path
) -> None:
    proof = _job(tmp_path, look, *readings).repaired("1")
    assert [c.again for c in proof.checks if c.again is not None] == []


def test_what_was_only_measured_is_only_measured_again(tmp_path: Path) -> None:
    """Nobody complained of a lamp: looks alone would say nothing of what was found."""
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    job.reading("volts at left lamp unit.stop when brake switch pressed", "9.4 V")
    assert job.repaired("1").checks[-1].again is not None


def test_a_lamp_that_was_dimmer_than_its_like_is_measured_again(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", TRAILER)
    job.symptom("left lamp unit stop dimmer than right lamp unit stop when brake pedal pressed")
    job.reading("volts at left lamp unit.stop when brake switch pressed", "9.4 V")
    assert job.repaired("1").checks[-1].again is not None


def test_of_several_readings_the_one_furthest_from_right_is_made_again(tmp_path: Path) -> None:
    job = _job(tmp_path, "dim", ("volts at left lamp unit.stop when brake switch pressed", "9.6 V"),
               ("volt drop left lamp unit.earth to body when brake switch pressed", "2.6 V"))
    last = job.repaired("1").checks[-1]
    assert last.again is not None and last.again.test.plus == "left lamp unit.earth"
