"""The conversation by itself: what comes next, what a reply does, and what a late or repeated reply does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.errors import JobFileError, TracerError
from tracer.job.job import Job
from tracer.present.conversation.core import answer, screen_of
from tracer.present.conversation.screens import (
    Checked,
    Closed,
    Mend,
    Mended,
    NotDone,
    Prove,
    Read,
    Remark,
    Seen,
    Step,
    TakeBack,
    Told,
)

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
SEEN = Told("left rear reversing lamp dim, left rear tail faint when gear reverse")


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", MODEL, "Invented pick-up")


def test_from_what_was_seen_to_the_closed_job(job: Job) -> None:
    assert isinstance(screen_of(job), Seen)
    assert answer(job, SEEN).recorded.startswith("seen: ")
    step = screen_of(job)
    assert isinstance(step, Step) and step.unit == "V" and step.answers
    said = answer(job, Read(step.name, step.answers[0].value))
    assert "likely causes" in said.changed
    mend = screen_of(job)
    assert isinstance(mend, Mend)
    answer(job, Mended(mend.what))
    for _ in range(12):
        screen = screen_of(job)
        if not isinstance(screen, Prove):
            break
        answer(job, Checked(screen.check.number, screen.of_repair, "ok"))
    assert isinstance(screen_of(job), Closed)


def test_each_wire_at_a_point_has_its_letters_and_colours(job: Job) -> None:
    answer(job, SEEN)
    step = screen_of(job)
    assert isinstance(step, Step)
    marks = [w for line in step.lines for w in line.wires]
    assert ("BN", ("brown",)) in [(w.letters, w.colours) for w in marks]


def test_a_number_that_is_tapped_is_recorded_as_near_it(job: Job) -> None:
    answer(job, SEEN)
    step = screen_of(job)
    assert isinstance(step, Step)
    answer(job, Read(step.name, step.answers[0].value))
    value = job.record.living[-1].data["value"]
    assert value["high"] - value["low"] == pytest.approx(0.4)  # twice 0.2 V, within which outcomes are one


def test_what_comes_twice_with_one_mark_is_recorded_once(job: Job) -> None:
    first, again = answer(job, SEEN, "m"), answer(Job(job.path), SEEN, "m")
    assert first.number == again.number == 1
    answer(job, Remark("rust"), "m")  # another kind of entry is another thing
    job = Job(job.path)
    assert [e.kind for e in job.record.events] == ["symptom", "note"]


def test_a_reply_to_what_has_moved_on_is_refused(job: Job) -> None:
    answer(job, SEEN)
    answer(job, Mended("new ring at E4"))
    number = job.repairs[-1].number
    answer(job, TakeBack(number))
    with pytest.raises(JobFileError):
        answer(job, Checked(1, number, "ok"))
    with pytest.raises(JobFileError):
        answer(job, TakeBack(number))


def test_several_looks_are_recorded_whole_or_not_at_all(job: Job) -> None:
    answer(job, SEEN)
    before = job.path.read_bytes()
    with pytest.raises(TracerError):
        answer(job, Read("look left rear tail when lamp switch side", "normal", (("no such lamp", "dark"),)))
    assert job.path.read_bytes() == before


def test_a_test_that_could_not_be_done_is_not_shown_again(job: Job) -> None:
    answer(job, SEEN)
    first = screen_of(job)
    assert isinstance(first, Step)
    answer(job, NotDone(first.name))
    second = screen_of(job)
    assert isinstance(second, Step) and second.name != first.name
