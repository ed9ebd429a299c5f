"""What a job will take and what this workshop found before: page and guide say what the job says."""

from __future__ import annotations

import re
import shutil
from datetime import UTC, datetime
from functools import partial
from html import unescape
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.page.driving import client_of, heading, sent, started, vehicle
from tracer.guide import run_guide
from tracer.job.estimating import estimate_of
from tracer.job.job import Job
from tracer.job.learning import MEMORY_VARIABLE, Memory, Teacher, job_files
from tracer.units import minutes, percent

SEEN = "left rear reversing lamp dim, left rear tail faint when gear reverse"
EARTH = "clean and remake earth point E4"


def text_of(page: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]*>", " ", page)))


@pytest.fixture
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of jobs whose workshop has found three bad earths."""
    monkeypatch.setenv(MEMORY_VARIABLE, str(tmp_path / "memory.sqlite"))
    done = tmp_path / "done"
    done.mkdir()
    shutil.copy(MODELS / "pickup.yaml", done)
    for n in range(3):
        job = Job.create(done / f"{n}.yaml", done / "pickup.yaml", f"Invented pick-up {n}",
                         clock=partial(datetime, 2026, 3, 2, 9 + n, tzinfo=UTC))
        job.symptom(SEEN)
        job.prove_all({c.number: "ok" for c in job.repaired(EARTH).checks})
    teacher = Teacher(Memory(tmp_path / "memory.sqlite"), datetime(2026, 3, 9, tzinfo=UTC))
    learned = list(teacher.learn(job_files([done])))
    assert [x.became for x in learned] == ["learned"] * 3
    folder = tmp_path / "jobs"
    folder.mkdir()
    vehicle(folder)
    return folder


def test_the_page_says_what_the_plan_expects(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    assert f"/job/{name}/estimate" in client.get(f"/job/{name}/suspects").text
    page = client.get(f"/job/{name}/estimate").text
    own = estimate_of(Job(tmp_path / f"{name}.yaml"))
    assert heading(page) == f"About {minutes(own.minutes)} to a proven repair"
    assert f"between {minutes(own.low)} and {minutes(own.high)}" in text_of(page)
    for needs, share in own.parts:
        assert f"{percent(share)} {needs}" in text_of(page)
    assert own.dearest and own.dearest.repair in page


def test_where_nothing_is_left_to_estimate_the_page_says_so(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    assert "nothing was seen yet" in client.get(f"/job/{name}/estimate").text
    sent(client, name, what="words", words=SEEN, mark="a")
    sent(client, name, what="mended", repair=EARTH, mark="b")
    assert "/estimate" not in client.get(f"/job/{name}/suspects").text
    asked = client.get(f"/job/{name}/estimate")
    assert asked.status_code == 422 and "checks of the repair" in asked.text
    job = Job(tmp_path / f"{name}.yaml")
    assert job.proof
    job.prove_all({c.number: "ok" for c in job.proof.checks})
    assert "this job is closed" in client_of(tmp_path).get(f"/job/{name}/estimate").text


def test_suspects_on_the_page_say_how_often_they_were_seen_here(workshop: Path) -> None:
    client = client_of(workshop)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    said = text_of(client.get(f"/job/{name}/suspects").text)
    assert re.search(r"“earth (bad|open)” (about )?seen (about )?[a-z0-9 ]+ in 3 jobs here", said)
    assert "Seen in this workshop: 3 jobs of this workshop" in said


def test_without_a_memory_nothing_is_said_of_it(tmp_path: Path) -> None:
    vehicle(tmp_path)
    client = client_of(tmp_path)
    name = started(client)
    sent(client, name, what="words", words=SEEN, mark="a")
    assert "jobs here" not in client.get(f"/job/{name}/suspects").text


def test_the_guide_tells_both_at_any_question(workshop: Path) -> None:
    job = Job.create(workshop / "g.yaml", workshop / "pickup.yaml", "Invented pick-up")
    job.symptom(SEEN)
    typed, lines = iter(("e", "w", "d")), list[str]()

    def ask(prompt: str) -> str:
        lines.append(prompt)
        return next(typed)

    assert run_guide(job, ask, lines.append) == 0
    said = " ".join(" ".join(lines).split())
    own = estimate_of(job)
    assert f"about {minutes(own.minutes)} more; in four of five jobs like this between {minutes(own.low)}" in said
    assert "in 3 jobs here" in said and "e estimate" in said


def test_the_guide_has_nothing_to_estimate_before_something_was_seen(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "g.yaml", MODELS / "pickup.yaml")
    typed, lines = iter(("e", "d")), list[str]()

    def ask(prompt: str) -> str:
        lines.append(prompt)
        return next(typed)

    assert run_guide(job, ask, lines.append) == 0
    assert "nothing was seen yet" in " ".join(lines)
