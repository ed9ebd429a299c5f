"""`tracer learn`: what it takes in, forgets, gives away and takes over, and what it says of that."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.faces.test_what_commands_print import ran as ran
from tests.memory.test_store import job as learned
from tests.small_vehicle import TEXT
from tracer.job.job import Job
from tracer.memory.store import MEMORY_VARIABLE, Memory


@pytest.fixture
def memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Memory:
    monkeypatch.setenv(MEMORY_VARIABLE, str(tmp_path / "memory.sqlite"))
    return Memory(tmp_path / "memory.sqlite")


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    """A folder with one job that is closed and one that is open."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    for name in ("closed", "open"):
        job = Job.create(folder / f"{name}.yaml", tmp_path / "van.yaml", complaint=name)
        job.symptom("tail dark, plate normal when ignition on, lights on")
        if name == "closed":
            proof = job.repaired("1")
            job.prove_all({c.number: "ok" for c in proof.checks})
    return folder


def became(ran: Any, *args: object) -> dict[str, str]:
    return {Path(x["file"]).name: x["became"] for x in json.loads(ran("learn", *args, "--json")[1])["files"]}


def test_a_folder_teaches_its_closed_jobs_once(ran: Any, memory: Memory, jobs: Path) -> None:
    assert ran("learn")[:2] == (0, "nothing is learned yet: the shipped base rates hold\n")
    assert became(ran, jobs) == {"closed.yaml": "learned", "open.yaml": "passed over"}
    assert became(ran, jobs) == {"closed.yaml": "known", "open.yaml": "passed over"}
    said = ran("learn", jobs)[1].splitlines()
    assert said[0] == "1 known already, 1 passed over" and said[1].startswith("  open.yaml: ")
    assert "1 job in " in " ".join(said) and memory.counts().jobs == 1


def test_a_job_that_was_forgotten_stays_so_until_somebody_names_it(ran: Any, memory: Memory, jobs: Path) -> None:
    closed = jobs / "closed.yaml"
    assert "was not known; it will not be learned from a folder" in ran("learn", "--forget", closed)[1]
    assert became(ran, jobs)["closed.yaml"] == "forgotten" and memory.counts().jobs == 0
    assert became(ran, closed) == {"closed.yaml": "learned"} and memory.counts().jobs == 1
    said = ran("learn", "--forget", closed)[1]
    assert f"{closed}: forgotten" in said and "was not known" not in said and memory.counts().jobs == 0


def test_a_folder_without_jobs_is_told(ran: Any, memory: Memory, jobs: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert ran("learn", tmp_path / "empty")[1].startswith(f"no job files in {tmp_path / 'empty'}\n")
    assert "no job files" not in ran("learn")[1] + ran("learn", jobs)[1]
    assert ran("learn", tmp_path / "nowhere")[0] == 2


def test_what_is_given_away_is_taken_over_once(ran: Any, memory: Memory, tmp_path: Path) -> None:
    memory.learn([learned("a"), learned("b", outcome="given up")])
    out = tmp_path / "out.sqlite"
    assert f"written: {out}, with 2 jobs" in ran("learn", "--export", out)[1].splitlines()
    memory.forget("a")
    other = tmp_path / "other.sqlite"
    Memory(other).learn([learned("c")])
    said = ran("learn", "--merge", out, "--merge", other)[1].splitlines()
    assert f"{other}: taken over what is new of it, 1 job" in said and memory.counts().jobs == 2
    assert f"{other}: taken over what is new of it, 0 jobs" in ran("learn", "--merge", other)[1].splitlines()


@pytest.mark.parametrize(("options", "learns", "says"), [
    ((), False, ""), (("--when-closed",), True, "jobs are learned as soon as they are proven"),
    (("--not-when-closed",), False, "jobs are learned on demand only"),
])
def test_when_jobs_are_learned_is_what_was_said_last(
    options: tuple[str, ...], learns: bool, says: str, ran: Any, memory: Memory
) -> None:
    """And stays so where nothing is said."""
    said = ran("learn", *options)[1]
    assert says in said and ("jobs are learned" in said) == bool(says)
    assert json.loads(ran("learn", "--json")[1])["learned_when_closed"] == memory.learns_when_closed == learns


def test_what_was_found_is_told_with_the_commonest_first(ran: Any, memory: Memory) -> None:
    memory.learn([learned("a"), learned("b", group=2), learned("c", outcome="given up"),
                  learned("d", outcome="not described")])
    said = ran("learn")[1].splitlines()
    assert "found in 2, not described by the harness file 1, given up 1" in " ".join(" ".join(said).split())
    assert said[-2:] == ["     1.5 × holder bad", "     0.5 × filament open"]
    data = json.loads(ran("learn", "--json")[1])
    assert (data["jobs"], data["found"], data["not_described"], data["given_up"]) == (4, 2, 1, 1)
    by_group = {(g["vehicle"], g["age"]): g["finds"].get("holder bad") for g in data["groups"]}
    assert by_group["tractor", "1960s"] == 0.75


def test_a_workshop_without_a_memory_is_told_so(ran: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(MEMORY_VARIABLE, "off")
    status, said, err = ran("learn")
    assert status == 2 and not said and "keeps no memory" in err
