"""What a face asks a job beside its suspects: marks of who sent what, where something stands in the file, and
the side of the road."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from tests.library import Clock
from tests.small_vehicle import TEXT
from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.job.new_harness import QUESTIONS, answers_text
from tracer.job.text import place_of
from tracer.job.vehicle import traffic_overlay
from tracer.job.while_typing import look_at


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml", clock=Clock())


def test_what_was_marked_is_known_again_and_nothing_else_is(job: Job) -> None:
    """Also after it was taken back: whoever sends it again has not seen that."""
    with job.marking("one"):
        job.note("tea")
    job.note("coffee")
    assert job.has_marked("one") and not job.has_marked("two") and not job.has_marked("")
    with pytest.raises(ZeroDivisionError), job.marking("two"):
        raise ZeroDivisionError
    job.note("milk")
    assert not job.has_marked("two"), "a mark ends with what it was for, however that ends"
    for _ in range(3):
        job.undo()
    assert job.has_marked("one") and not job.record.living


def test_where_something_of_an_entry_stands_in_the_file(job: Job) -> None:
    job.symptom("tail dark, plate normal when ignition on, lights on")
    job.note("tea")
    lines = job.path.read_text(encoding="utf-8").splitlines()

    def line(number: int, *where: str | int) -> str:
        mark = place_of(job.path, "job.yaml", number, where)
        assert mark is not None and mark.file == "job.yaml"
        written = lines[(mark.line or 0) - 1]
        assert not written[:(mark.column or 1) - 1].strip(" -"), "the column is where it begins"
        return written.strip(" -")

    assert line(1).startswith("number: 1") and line(2).startswith("number: 2")
    assert line(1, "kind") == "kind: symptom" and line(2, "text") == "text: tea"
    assert line(1, "seen").startswith("seen:") and "plate" in line(1, "seen", 1)
    assert "words" in line(1, "seen", 0, "words") and line(1, "nothing such").startswith("number: 1")
    assert place_of(job.path, "job.yaml", 9, ()) is None


def test_the_side_of_the_road_is_left_or_right() -> None:
    text = "overlay: traffic keeps left\ntraffic: keeps left\n"
    assert traffic_overlay("keeps left") == {"name": "traffic", "text": text}
    with pytest.raises(JobFileError, match="no side “middle”"):
        traffic_overlay("middle")


def test_a_text_that_is_being_typed_is_good_as_long_as_nothing_is_an_error() -> None:
    """A note or a warning is none."""
    good, half, wrong = (look_at(x, "t") for x in (TEXT, "parts: [", TEXT.replace("S1 > tail", "S7 > tail")))
    assert good.good and good.harness is not None and "tail" in good.healthy
    assert all(f["severity"] != "error" for f in good.findings)
    for found in (half, wrong):
        assert not found.good and found.harness is None and found.healthy == ""
        assert found.findings and all(f["severity"] == "error" and f["line"] for f in found.findings)
    assert "S7" in wrong.findings[0]["message"] and wrong.findings[0]["column"] > 1
    unsafe = look_at(TEXT.replace("rating: 10 A", "rating: 100 A"), "t")
    assert unsafe.harness is not None and unsafe.good == all(f["severity"] != "error" for f in unsafe.findings)


def test_a_file_of_answers_has_each_part_once_and_under_it_its_questions() -> None:
    lines = answers_text().splitlines()
    parts = list(dict.fromkeys(q.part for q in QUESTIONS))
    assert [x[2:] for before, x in pairwise(lines) if before == ""] == parts
    for q in QUESTIONS:
        at = next(k for k, x in enumerate(lines) if x.startswith(f"#{q.id}: "))
        assert lines[at - 1].startswith(f"# {q.text}") and (" Only with " in lines[at - 1]) == bool(q.when)
        assert lines[at] == f"#{q.id}: {' | '.join(q.choices) or q.default}"
