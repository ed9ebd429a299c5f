"""The numbers that the list of suspects prints: one after the other, and what `repaired JOB N` takes."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer import Job
from tracer.present.job_words import overview
from tracer.present.suspects_screen import explained_lines, ranked, suspects_lines

NUMBERED = re.compile(r" ?(\d+)\.\s+([<>]?)([\d.]+)\s?%\s+(.*)")
TOLD = {
    "a search leads": ("rear_end", "F3 blows when brake pedal pressed"),
    "a search further down": ("saloon_1970s", "both stop lamps dark"),
    "what no test parts": ("rear_end", "left rear stop dark when brake pedal pressed"),
}


@pytest.fixture(params=TOLD, ids=str)
def job(request: pytest.FixtureRequest, tmp_path: Path) -> Job:
    model, said = TOLD[request.param]
    made = Job.create(tmp_path / "job.yaml", Path(MODELS) / f"{model}.yaml", "")
    made.symptom(said)
    return made


def test_numbers_run_from_one_and_shares_fall(job: Job) -> None:
    found = job.diagnosis
    for lines in (suspects_lines(job, found, 80), explained_lines(job, found, ranked(found), 80)):
        rows = [m for line in lines if (m := NUMBERED.match(line))]
        assert [int(m[1]) for m in rows] == list(range(1, len(rows) + 1)) and len(rows) >= 3
        shares = [float(m[3]) for m in rows]
        assert shares == sorted(shares, reverse=True)


def test_the_number_is_what_repaired_takes(job: Job, tmp_path: Path) -> None:
    for number, suspect in ranked(job.diagnosis)[:4]:
        copy = tmp_path / f"copy-{number}.yaml"
        shutil.copy(job.path, copy)
        other = Job(copy)
        other.take_over(job)
        other.repaired(str(number))
        assert other.repairs[-1].data["repair"] == suspect.repair


def test_every_suspect_has_one_number(job: Job) -> None:
    assert sorted(s.repair for s in job.diagnosis.listed) == sorted(s.repair for s in job.suspects())


def test_what_stands_together_is_counted_once(job: Job) -> None:
    """The lines of the whole list hold everything, each share once."""
    whole = [job.diagnosis.standing_together(s)[0] for _, s in ranked(job.diagnosis, whole=True)]
    assert sum(whole) == pytest.approx(sum(s.share for s in job.suspects()), abs=0.05)
    assert sum(whole) <= 1


def test_the_guide_counts_alike(job: Job) -> None:
    rows = [line.split() for line in overview(job, 80) if re.match(r" \d\s+<?[\d.]+\s?%", line)]
    assert [r[0] for r in rows] == ["1", "2", "3"]
