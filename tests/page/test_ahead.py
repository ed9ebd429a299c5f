"""Working ahead: the first step is the same with and without it, and whatever happens meanwhile harms nothing."""

from __future__ import annotations

import shutil
import threading
from pathlib import Path
from threading import Event

import pytest

from tests.page.driving import MODELS, client_of, heading, sent, vehicle
from tracer.errors import JobFileError
from tracer.job.job import Job
from tracer.job.what_if import WhatIf
from tracer.page import ahead
from tracer.page.ahead import Ahead
from tracer.page.folder import Folder, OpenJob

MODEL = "rear_end"
SEEN = "left stop dark when brake pedal pressed"


def job_in(folder: Path, complaint: str = "") -> Job:
    vehicle(folder, MODEL)
    return Job.create(folder / "job.yaml", folder / f"{MODEL}.yaml", "Invented T 1970", complaint)


def finished() -> None:
    """What is being worked out ahead is done."""
    for thread in threading.enumerate():
        if thread.name == "ahead":
            thread.join(60)
            assert not thread.is_alive()


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> tuple[Event, Event]:
    """Work ahead that stands still: set by it when it has begun, and by the test when it may go on."""
    begun, go_on = Event(), Event()
    usual = WhatIf.next

    def held_up(self: WhatIf, *args: object, **named: object) -> object:
        begun.set()
        assert go_on.wait(60)
        return usual(self, record=False)

    monkeypatch.setattr(WhatIf, "next", held_up)
    return begun, go_on


@pytest.mark.parametrize("complaint", [SEEN, "it is bewitched"])
def test_the_first_step_is_the_same_with_and_without_it(tmp_path: Path, complaint: str) -> None:
    pages = []
    for own, works_ahead in ((tmp_path / "without", False), (tmp_path / "with", True)):
        own.mkdir()
        job_in(own, complaint)
        client = client_of(own, ahead=works_ahead)
        assert client.get("/job/job").status_code == 200
        finished()
        to = sent(client, "job", what="words", words=SEEN, mark="a").headers["Location"]
        pages.append(client.get(to).text.partition("<main")[2])
    assert heading(pages[0]) == heading(pages[1])
    expected = [[w for w in page.replace("<", " ").split() if w.isdecimal()] for page in pages]
    assert expected[0] == expected[1]  # minutes and shares too


def test_what_was_worked_out_is_used(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    one, own = Ahead(job.path), job.investigator
    finished()
    assert one.give(job, wait=False)
    assert job.investigator is not own and job.record.events == ()


def test_nothing_waits_for_it_but_who_asks_for_the_step(tmp_path: Path, held: tuple[Event, Event]) -> None:
    """An entry is acknowledged while it goes on, and the step is told when it is over."""
    begun, go_on = held
    job_in(tmp_path)
    client = client_of(tmp_path, ahead=True)
    client.get("/job/job")
    assert begun.wait(60)
    to = sent(client, "job", what="words", words=SEEN, mark="a").headers["Location"]
    assert client.get("/").status_code == 200
    assert not go_on.is_set() and len(Job(tmp_path / "job.yaml").record.events) == 1
    threading.Timer(0.2, go_on.set).start()
    assert 'name="test"' in client.get(to).text
    finished()


def test_two_devices_begin_it_once(tmp_path: Path, held: tuple[Event, Event]) -> None:
    begun, go_on = held
    job_in(tmp_path)
    client = client_of(tmp_path, ahead=True)
    for _ in range(3):
        client.get("/job/job")
    assert begun.wait(60) and sum(t.name == "ahead" for t in threading.enumerate()) == 1
    go_on.set()
    finished()
    client.get("/job/job")
    assert not any(t.name == "ahead" for t in threading.enumerate())


def test_what_has_not_begun_is_not_waited_for(tmp_path: Path, held: tuple[Event, Event]) -> None:
    """Another job's is under way, for however long."""
    begun, go_on = held
    first = job_in(tmp_path)
    Ahead(first.path)
    assert begun.wait(60)
    second = Job.create(tmp_path / "second.yaml", first.harness_path)
    one = Ahead(second.path)
    assert one.give(second, wait=True) and not go_on.is_set()
    go_on.set()
    finished()


def test_a_job_that_is_deleted_meanwhile_and_a_harness_that_is_changed(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    opened = OpenJob(job)
    job.path.unlink()
    opened.work_ahead()
    opened.take_ahead(wait=True)  # nothing was found, and nothing is said of it
    finished()
    vehicle(tmp_path, "trailer_7pin")
    other = Job.create(tmp_path / "other.yaml", tmp_path / "trailer_7pin.yaml")
    one = Ahead(other.path)
    finished()
    shutil.copy(MODELS / f"{MODEL}.yaml", tmp_path / "trailer_7pin.yaml")
    changed = Job(other.path)
    assert one.give(changed, wait=True) and changed.investigator.harness == changed.harness


def test_only_before_something_was_told(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    job.symptom(SEEN)
    client = client_of(tmp_path, ahead=True)
    client.get("/job/job")
    assert not any(t.name == "ahead" for t in threading.enumerate())


def test_a_failure_in_it_is_told_by_the_step_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = job_in(tmp_path)

    def fails(path: Path) -> Job:
        raise JobFileError("no")

    monkeypatch.setattr(ahead, "Job", fails)
    with Folder(tmp_path).job("job") as opened:
        opened.work_ahead()
        opened.take_ahead(wait=True)
        assert opened.job.path == job.path
    finished()
