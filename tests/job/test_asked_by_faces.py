"""What faces ask of a job beside its steps: other names of its file, places, notes at things, an estimate, and what
may be written where."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.small_vehicle import TEXT
from tracer.errors import JobFileError, ReadingError, TracerError, UnknownNameError
from tracer.harness.file.text import read_harness
from tracer.job import photos
from tracer.job.estimating import estimate_of
from tracer.job.file import other_names
from tracer.job.job import Job
from tracer.job.photos import Noted, add_note, notes_of, photo_file
from tracer.job.what_if import WhatIf
from tracer.job.while_typing import completions
from tracer.observation.words.probes import parse_test

SAID = "tail dark, plate normal when ignition on, lights on"


@pytest.fixture
def job(tmp_path: Path) -> Job:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    return Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml")


@pytest.mark.parametrize("links", [0, 1, 3])
def test_other_names_of_a_file_are_counted(links: int, job: Job) -> None:
    for n in range(links):
        os.link(job.path, job.path.with_name(f"link{n}.yaml"))
    assert other_names(job.path) == links == Job(job.path).other_names


def test_a_file_that_is_not_there_has_no_other_name(tmp_path: Path) -> None:
    assert other_names(tmp_path / "none.yaml") == 0


# --- an estimate


def test_nothing_is_estimated_before_something_was_seen_nor_after_the_repair(job: Job) -> None:
    """As long as the repair stands; one that did not help leaves work to do."""
    with pytest.raises(JobFileError, match="nothing was seen yet"):
        estimate_of(job)
    job.symptom(SAID)
    before = job.path.read_bytes()
    found = estimate_of(job)
    assert found == estimate_of(job, job.next(record=False)) and job.path.read_bytes() == before
    job.repaired("1")
    with pytest.raises(JobFileError, match="the checks of the repair"):
        estimate_of(job)
    job.prove(1, "tail dark, plate normal")
    assert estimate_of(job)
    job.prove_all({c.number: "ok" for c in job.repaired("new lamp").checks})
    with pytest.raises(JobFileError, match="this job is closed"):
        estimate_of(job)


# --- places and notes


@pytest.mark.parametrize(("words", "there"), [("rear", True), ("REAR", True), ("ea", True), ("front", False)])
def test_a_place_is_one_of_this_vehicle(words: str, there: bool, job: Job) -> None:
    """By a part of its name, however it is written; else one like it is offered."""
    if there:
        job.need_place(words)
    else:
        with pytest.raises(UnknownNameError, match=f"no place “{words}”"):
            job.need_place(words)


def test_a_note_stands_at_its_thing_in_this_job_and_the_next(job: Job) -> None:
    """The latest first; one that is at nothing is no note at a thing, nor is one that was taken back."""
    add_note(job, "  green inside ", "tail")
    add_note(job, "sits loose", "F1")
    add_note(job, "in a hurry", "")
    job.undo()
    add_note(job, "of no thing", "")
    assert [(n.text, n.at, n.earlier) for n in notes_of(job)] == [("sits loose", "F1", False), (
        "green inside", "tail", False)]
    for words, at in (("", "tail"), ("  ", "tail"), ("green", "no such thing")):
        with pytest.raises(TracerError):
            add_note(job, words, at)
    with pytest.raises(ReadingError, match="no note yet"):
        add_note(job, " ", "")
    later = Job.create(job.path.with_name("later.yaml"), None, same_vehicle_as=job.path)
    add_note(later, "still green", "tail")
    notes = notes_of(later)
    assert [(n.text, n.earlier) for n in notes] == [
        ("still green", False), ("sits loose", True), ("green inside", True)]
    assert all(isinstance(n, Noted) for n in notes)


def test_only_a_photo_of_this_job_is_given_out(job: Job) -> None:
    with pytest.raises(UnknownNameError, match="no such photo"):
        photo_file(job, "0" * 16)
    assert photos.photos_of(job) == ()


# --- other writers, and what is tried


def test_what_others_recorded_meanwhile_is_read_as_long_as_the_harness_is_the_same(job: Job) -> None:
    mine, theirs = Job(job.path), Job(job.path)
    assert mine.refresh() and not mine.entries
    theirs.symptom(SAID)
    assert not mine.entries and mine.refresh() and len(mine.entries) == 1
    kept = mine.record
    assert mine.refresh() and mine.record is kept  # nothing new: nothing is read anew
    van = job.path.with_name("van.yaml")
    van.write_text(TEXT + "\n# edited\n", encoding="utf-8")
    theirs.note("the plug is green")
    assert not mine.refresh() and mine.record is kept


def test_a_test_is_noted_as_proposed_once(job: Job) -> None:
    job.symptom(SAID)
    tried, test = WhatIf(job), parse_test("volts at tail.feed when ignition on, lights on", job.harness)
    for _ in range(2):
        tried.was_proposed(test)
    assert [kind for kind, _ in tried.added] == ["proposed"] and len(job.events()) == 1


# --- what may be written where


def test_names_that_may_be_written_are_those_of_the_harness() -> None:
    """Each point of a run by its full name: terminals of parts, ways of connectors, splices and earths."""
    plug = TEXT.replace("splices:", "connectors: {C1: {ways: 2}, block: bullets}\nsplices:").replace(
        "S1 > tail.feed", "S1 > C1.1 > block > tail.feed")
    found, bare = completions(read_harness(plug, "small")), completions(None)
    assert found["controls"] == ["ignition", "lights"] and found["earths"] == ["E1", "E2"]
    points = found["points"]
    assert len(points) == len(set(points))
    assert {"battery.+", "tail.feed", "light switch.58", "F1.in", "S1", "E1", "E2"} <= {*points}
    assert {"C1.1", "C1.2", "block"} <= {*points}
    assert not {"C1", "C1.0", "C1.3", "tail"} & {*points}
    assert bare["points"] == bare["controls"] == bare["earths"] == [] and bare["kinds"] == found["kinds"]
    assert {"kind", "rating"} <= {*bare["kinds"]["fuse"]} and "rating" not in bare["kinds"]["switch"]
    assert "wires" in bare["top"] and "run" in bare["sections"]["wires"] and all(bare["sections"].values())


@pytest.mark.parametrize(("said", "kind"), [("light switch gets hot", "reading"), (SAID, "symptom")])
def test_what_got_hot_is_recorded_as_found_there_and_what_lamps_do_as_seen(said: str, kind: str, job: Job) -> None:
    job.symptom(said)
    assert [e.kind for e in job.events()] == [kind] and job.evidence
