"""One line on where a job is, tests by their short names, what is said of safety only once, and a file while it is
typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS, Clock
from tracer.errors import JobFileError, ProblemsError, UnknownNameError
from tracer.job.file import append, create, read
from tracer.job.job import Job
from tracer.job.text import Event, JobHeader
from tracer.job.while_typing import completions, look_at
from tracer.observation.words.readings import test_as_data, test_key

REAR_END = MODELS / "rear_end.yaml"
DARK = "left rear stop dark when brake pedal pressed"
LOOK = "look left rear stop when brake pedal pressed"


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", REAR_END, "Invented car", "no stop light", Clock())


def propose(job: Job, words: str) -> str:
    test = job.find_test(words)
    job.add([("proposed", {"key": test_key(test), "test": test_as_data(test)})])
    return test_key(test)


def test_the_status_goes_from_nothing_to_proven(job: Job) -> None:
    """A check that failed is said before those that are left; a second repair begins anew; what is taken back does
    not count."""
    assert job.status() == "open: no symptom recorded yet"
    job.note("tea")
    assert job.status() == "open: no symptom recorded yet"
    job.symptom(DARK)
    assert job.status() == "open" and job.proof is None and not job.closed
    with pytest.raises(JobFileError, match="no repair is recorded yet"):
        job.prove(1, "ok")
    events = job.events()
    job.prove_all({})
    assert job.events() == events
    proof = job.repaired("cleaned all earths")
    numbers = [c.number for c in proof.checks]
    assert len(numbers) > 1 and job.status() == f"repaired; proof checks left: {', '.join(map(str, numbers))}"
    job.prove(1, "ok")
    assert job.status() == f"repaired; proof checks left: {', '.join(map(str, numbers[1:]))}" and not job.closed
    job.prove_all(dict.fromkeys(numbers[1:], "ok"))
    assert job.closed and job.status() == "closed: repaired and proven"
    job.prove(1, "left rear stop dark")
    assert job.status() == "open: proof check 1 failed" and not job.closed
    assert job.prove(2, "ok").understood == "check 2: as expected"
    job.prove(1, "ok")
    assert job.closed
    again = job.repaired("new lamp")
    assert not job.closed and job.status().startswith("repaired; proof checks left: 1")
    job.undo()
    assert job.closed and len(again.checks) == len(numbers)
    with pytest.raises(UnknownNameError, match="no proof check"):
        job.prove(0, "ok")
    assert job.reason(job.suspects()[0]) == job.reason(job.suspects()[0], job.diagnosis)


def test_a_proposed_test_is_found_by_its_short_name_in_any_letters(job: Job) -> None:
    key = propose(job, LOOK)
    assert job.find_test(f" {key.lower()} ") == job.find_test(LOOK)
    assert key in job.proposed and [*job.proposed.values()] == [job.find_test(LOOK)]
    other = "Z" + key[1:]
    with pytest.raises(UnknownNameError, match="was proposed in this job") as error:
        job.find_test(other)
    assert key in (error.value.hint or "")
    fresh = Job.create(job.path.with_name("fresh.yaml"), REAR_END, clock=Clock())
    with pytest.raises(UnknownNameError) as error:
        fresh.find_test("L-12ab")
    assert "none so far" in (error.value.hint or "")


def test_what_was_said_of_safety_is_that_of_tests_proposed_before_the_last_entry(job: Job) -> None:
    """A caution is shown once; but that of a step that nobody has answered yet was perhaps not read."""
    propose(job, "volts left rear.stop when brake pedal pressed")
    assert job.said == frozenset()
    job.reading(LOOK, "dark")
    assert job.said
    job.undo()
    assert job.said == frozenset()


# --- A file by hand --------------------------------------------------------------------------------------


def test_entries_are_added_only_where_the_list_of_entries_ends_the_file(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    create(path, JobHeader("van.yaml", "a" * 64, "Van", "dark"), [Event(1, Clock()(), "note", {"text": "tea"})])
    whole = path.read_text(encoding="utf-8")
    head, events = whole.split("events:\n")
    moved = head.replace("complaint: dark\n", "") + "events:\n" + events + "complaint:\n"
    flow = head + "events: [{number: 1, time: 2026-03-04T09:00:00+01:00, kind: note, text: tea}]\n"
    for text in (moved, flow):
        path.write_text(text, encoding="utf-8")
        assert len(read(path).events) == 1
        with pytest.raises(ProblemsError, match="no entry can be added"):
            append(path, "note", {"text": "more"}, Clock()())
        assert path.read_text(encoding="utf-8") == text
    path.write_text(head + "events:\n", encoding="utf-8")
    assert append(path, "note", {"text": "first"}, Clock()()).number == 1
    path.write_text(head + "events:\n" + "".join(f"    {x}\n" for x in events.splitlines()), encoding="utf-8")
    assert append(path, "note", {"text": "second"}, Clock()()).number == 2
    assert path.read_text(encoding="utf-8").count("\n    - number:") == 2


# --- While a harness is typed ----------------------------------------------------------------------------


def test_a_sound_text_is_good_and_an_error_has_its_place() -> None:
    text = REAR_END.read_text(encoding="utf-8")
    good = look_at(text, "rear end")
    assert good.good and good.harness is not None and "left rear stop" in good.healthy
    assert not [f for f in good.findings if f["severity"] == "error"]
    broken = look_at(text.replace("left rear.stop", "left rear.stopp"), "rear end")
    assert not broken.good and broken.harness is None and broken.healthy == ""
    line = next(n for n, x in enumerate(text.splitlines(), 1) if "left rear.stop" in x)
    assert line in [f["line"] for f in broken.findings]
    assert not look_at("", "nothing").good and not look_at("parts: [", "half").good


def test_what_may_come_next_are_the_names_of_the_harness() -> None:
    nothing = completions(None)
    assert nothing["points"] == nothing["controls"] == nothing["earths"] == []
    assert {"parts", "wires", "splices"} <= {*nothing["top"]} and "lamp" in nothing["kinds"]
    assert "place" in nothing["sections"]["splices"] and "run" in nothing["sections"]["wires"]
    known = completions(look_at(REAR_END.read_text(encoding="utf-8"), "rear end").harness)
    assert known["controls"] == ["lamp switch", "brake pedal", "indicator stalk"]
    assert known["earths"] == ["E1", "E2", "E3", "E4"]
    ways = [p for p in known["points"] if p.startswith("C1.")]
    assert ways == [f"C1.{way}" for way in range(1, 7)]  # six ways by the file
    assert {"left rear.stop", "F1.in", "S2", "E1"} <= {*known["points"]}
