"""Commands on a job: each option does what its help says, and a wrong one leaves the job as it was."""

from __future__ import annotations

import io
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.faces.test_what_commands_print import ran as ran
from tests.small_vehicle import TEXT
from tracer.commands import job_commands, learn_command, record_commands
from tracer.commands.learn_command import _lesson_lines
from tracer.job.job import Job
from tracer.job.learning import Lesson
from tracer.job.what_if import state_mark
from tracer.observation.story import Story
from tracer.present.sheet.line import line_of, read_field

SAID = "tail dark, plate normal when ignition on, lights on"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml")
    return tmp_path / "job.yaml"


def data(ran: Any, *args: object) -> Any:
    return json.loads(ran(*args, "--json")[1])


# --- open


@pytest.mark.parametrize(("options", "story"), [
    ((), Story()), (("--runs",), Story(runs=True)), (("--does-not-run",), Story(runs=False)),
    (("--driven-here", "--always"), Story(driven_here=True, always=True)),
    (("--brought-here", "--sometimes"), Story(driven_here=False, always=False)),
    (("--work", "radio", "--work", "washed", "--where", "C1", "--since", "May"),
     Story(work=("radio", "washed"), where="C1", since="May")),
])
def test_a_job_is_opened_with_the_story_that_was_told(
    options: tuple[str, ...], story: Story, job: Path, ran: Any
) -> None:
    new, more = job.with_name("new.yaml"), ("--vehicle", "AB 12", "--traffic", "keeps left")
    assert ran("open", new, job.with_name("van.yaml"), *options, *more)[0] == 0
    assert Job(new).story == story and Job(new).vehicle == "AB 12" and Job(new).harness.traffic == "keeps left"


@pytest.mark.parametrize("options", [(), ("--complaint", "dark")])
def test_a_job_without_a_vehicle_is_not_opened(options: tuple[str, ...], job: Path, ran: Any) -> None:
    status, said, err = ran("open", job.with_name("new.yaml"), *options)
    assert status == 2 and not said and "say which vehicle" in err and not job.with_name("new.yaml").exists()
    assert ran("open", job.with_name("new.yaml"), "--same-vehicle-as", job)[0] == 0


@pytest.mark.parametrize(("known", "note"), [
    ({"harness_changed": True}, "van.yaml has changed since"), ({"other_names": 1}, "has another name too"),
    ({"learned": SimpleNamespace(note="rates")}, "note: rates"), ({}, ""),
])
def test_what_is_odd_about_a_job_is_noted_beside_its_answers(
    known: dict[str, Any], note: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    usual = {"harness_changed": False, "learned": SimpleNamespace(note=""), "other_names": 0,
             "record": SimpleNamespace(header=SimpleNamespace(harness="van.yaml"))}
    monkeypatch.setattr(job_commands, "Job", lambda path: SimpleNamespace(**usual | known))
    job_commands._job("job.yaml")
    out, err = capsys.readouterr()
    assert not out and note in err and err.count("note: ") == bool(note)


# --- suspects


def test_each_suspect_has_its_reasons_by_its_number_and_no_other_number_has(job: Path, ran: Any) -> None:
    Job(job).symptom(SAID)
    every = data(ran, "suspects", job, "--all")["suspects"]
    for n in (1, 2, len(every)):
        (one,) = data(ran, "suspects", job, "--why", n)["suspects"]
        assert one["repair"] == every[n - 1]["repair"]
        assert every[n - 1]["repair"] in " ".join(ran("suspects", job, "--why", n)[1].split())
    for n in (0, -1, 9999):
        status, said, err = ran("suspects", job, "--why", n)
        assert status == 2 and not said and f"no suspect {n}: there are " in err


@pytest.mark.parametrize(("recorded", "nothing_fits", "status"), [(0, True, 0), (1, True, 1), (1, False, 0)])
def test_evidence_that_nothing_explains_is_bad_news(
    recorded: int, nothing_fits: bool, status: int, job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(recorded):
        Job(job).symptom(SAID)
    monkeypatch.setattr("tracer.inference.diagnosis.Diagnosis.nothing_fits", nothing_fits)
    assert ran("suspects", job, "--json")[0] == status


def test_three_faults_at_once_are_searched_where_it_is_asked(job: Path, ran: Any) -> None:
    Job(job).symptom(SAID)
    plain, wide = data(ran, "suspects", job), data(ran, "suspects", job, "--triples")
    assert plain["not_searched"].endswith("; three faults at once") and plain["searched"]["triples"] == 0
    assert plain["not_searched"].startswith(wide["not_searched"]) and "three" not in wide["not_searched"]
    assert wide["searched"]["triples"] > 0 and plain["base_rate_margins"] and plain["evidence_count"] == 1


def test_nothing_is_reasoned_of_nothing(job: Path, ran: Any) -> None:
    """Before anything was seen there is no reason for a suspect, and no rate that would matter."""
    found = data(ran, "suspects", job)
    assert found["base_rate_margins"] == [] and found["evidence_count"] == 0 and found["suspects"]
    assert all(not s.get("path") and not s.get("fits") for s in found["suspects"])


@pytest.mark.parametrize("option", ["--all", "--triples", "--explain", "--why=1"])
def test_reasons_are_told_in_full_on_demand(option: str, job: Path, ran: Any) -> None:
    Job(job).symptom(SAID)
    short, long = ran("suspects", job)[1], ran("suspects", job, option)[1]
    assert ("current: " in long or "fault: " in long) and short != long


# --- entries


def test_the_line_of_a_sheet_may_come_from_standard_input(
    job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    test = "volts at tail.feed when ignition on, lights on"
    line = line_of(state_mark(Job(job)), [read_field(test, "12.1 V")])
    monkeypatch.setattr("sys.stdin", io.StringIO(line + "\n"))
    status, said, _ = ran("reading", job, "--from-plan", "-")
    assert status == 0 and said.startswith("recorded: ") and "\nstatus: " in said and len(Job(job).entries) == 1


@pytest.mark.parametrize(("kind", "was"), [
    ("symptom", SAID), ("reading", "12.1 V"), ("repaired", "new lamp"), ("proof", "ok"),
])
def test_what_was_taken_back_is_said(kind: str, was: str, job: Path, ran: Any) -> None:
    opened = Job(job)
    opened.symptom(SAID)
    if kind == "reading":
        opened.reading("volts at tail.feed when ignition on, lights on", "12.1 V")
    if kind in ("repaired", "proof"):
        opened.repaired("new lamp", results={1: "ok"} if kind == "proof" else {})
    taken = data(ran, "undo", job)
    assert taken["kind"] == kind and was in taken["was"]
    assert taken["withdrawn"] == next(e.number for e in Job(job).events() if e.withdrawn)
    assert ran("undo", job)[1].startswith("withdrawn, entry ") or kind == "symptom"


def test_nothing_is_left_to_be_taken_back(job: Path, ran: Any) -> None:
    assert ran("undo", job)[0] == 2


# --- repaired


@pytest.mark.parametrize(("options", "says"), [
    ((), "say what was repaired"), (("--proof", "1=ok", "--proof", "1=ok"), "--proof 1 is given twice"),
    (("new lamp", "--proof", "1"), "write N=ok"), (("new lamp", "--proof", "=ok"), "write N=ok"),
    (("new lamp", "--proof", "1= "), "write N=ok"), (("new lamp", "--proof", "one=ok"), "write N=ok"),
    (("new lamp", "--minutes", "10001"), "10000"), (("new lamp", "--minutes", "-1"), "0<=x<="),
])
def test_a_repair_that_is_half_said_is_not_recorded(options: tuple[str, ...], says: str, job: Path, ran: Any) -> None:
    Job(job).symptom(SAID)
    before = job.read_bytes()
    status, said, err = ran("repaired", job, *options)
    assert status == 2 and not said and says in err and job.read_bytes() == before


def test_a_repair_goes_on_to_its_checks_and_ends_closed_or_open(job: Path, ran: Any) -> None:
    """Status 1 where a check showed something else; checks are listed until all are made."""
    Job(job).symptom(SAID)
    status, said, _ = ran("repaired", job, "new lamp", "--minutes", "0", "--part", "R5W", "--part", "grease")
    assert status == 0 and said.startswith("repair: new lamp\n") and "Check the repair" in said
    repair = Job(job).repairs[-1].data
    assert repair["parts"] == ["R5W", "grease"] and repair["minutes"] == 0
    checks = data(ran, "repaired", job)["checks"]
    assert [c["result"] for c in checks] == [None] * len(checks)
    bad = ran("repaired", job, "--proof", "1=tail dark, plate normal")
    assert bad[0] == 1 and "status: " in bad[1]
    assert ran("repaired", job, "new wire")[0] == 0
    numbers = [c["number"] for c in data(ran, "repaired", job)["checks"]]
    status, said, err = ran("repaired", job, *(f"--proof={n}=ok" for n in numbers))
    assert status == 0 and "closed" in said and "Check the repair" not in said and "opened it again" not in err
    found = data(ran, "repaired", job)
    assert found["closed"] and [c["result"] for c in found["checks"]] == ["ok"] * len(numbers)
    assert "this job is closed" in ran("next", job)[1]
    assert "another repair opened it again" in ran("repaired", job, "new fuse F1")[2] and not Job(job).closed


# --- draw and report


@pytest.mark.parametrize(("options", "says"), [
    (("--for", "customer", "--photos"), "--photos belongs"), (("--rate", "60 €"), "belong to --for customer"),
    (("--rate", ""), "belong to --for customer"), (("--price", "R5W=3 €"), "belong to --for customer"),
    (("--tax", "with VAT"), "belong to --for customer"), (("--head", "van.yaml"), "belong to --for customer"),
    (("-o", "r.txt"), "no known ending"), (("--for", "customer", "-o", "r.txt"), "no known ending"),
])
def test_options_of_the_other_report_are_refused(
    options: tuple[str, ...], says: str, job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(job.parent)
    status, said, err = ran("report", job, *options)
    assert status == 2 and not said and says in err and not Path("r.txt").exists()


@pytest.mark.parametrize(("name", "begins"), [
    ("r.html", "<!doctype html>"), ("r.HTM", "<!doctype html>"), ("r.md", "#"), ("r.markdown", "#"),
])
@pytest.mark.parametrize("reader", ["file", "customer"])
def test_a_report_is_written_in_the_form_of_its_ending(
    reader: str, name: str, begins: str, job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_commands, "_drawing", lambda opened: None)
    out = job.with_name(name)
    assert ran("report", job, "--for", reader, "-o", out) == (0, f"written: {out}\n", "")
    assert out.read_text(encoding="utf-8").lower().startswith(begins)


def test_the_page_for_the_customer_has_the_workshop_s_head_and_its_prices(job: Path, ran: Any) -> None:
    Job(job).symptom(SAID)
    Job(job).repaired("new lamp", ["R5W"], 30.0)
    head = job.with_name("head.txt")
    head.write_text("Invented Garage\n", encoding="utf-8")
    bare, full = (ran("report", job, "--for", "customer", *more) for more in (
        (), ("--head", head, "--rate", "60 €", "--price", "R5W=3 €", "--tax", "tax is in it")))
    assert bare[0] == full[0] == 0
    for words in ("Invented Garage", "30.00 €", "3.00 €", "33.00 €", "tax is in it"):
        assert words in full[1]
    assert "Invented Garage" not in bare[1] and "€" not in bare[1] and "tax is in it" not in bare[1]


@pytest.mark.parametrize(("options", "says"), [
    (("--state", "lights on", "--set", "lights=on"), "not by both"), (("--suspect", "1"), "needs a job"),
    (("--set", "lights=on"), None), (("--state", "lights on"), None), ((), None),
])
def test_a_harness_is_drawn_in_one_state(options: tuple[str, ...], says: str | None, job: Path, ran: Any) -> None:
    out = job.with_name("c.svg")
    status, said, err = ran("draw", job.with_name("van.yaml"), "-o", out, *options)
    assert (status == 0) == (says is None) == out.exists() and (says or "") in err
    assert said == (f"written: {out}\n" if says is None else "")


@pytest.mark.parametrize("name", ["c.gif", "c", "c.svg.txt"])
def test_a_drawing_of_no_known_kind_is_refused(name: str, job: Path, ran: Any) -> None:
    status, _, err = ran("draw", job, "-o", job.with_name(name))
    assert status == 2 and "write .svg, .png or .pdf" in err and not job.with_name(name).exists()


# --- learn


def lessons(*became: tuple[str, str]) -> list[Lesson]:
    return [Lesson(Path(f"{n}.yaml"), what, why) for n, (what, why) in enumerate(became)]


def test_what_became_of_files_is_counted_and_told_why_where_they_taught_nothing() -> None:
    assert _lesson_lines([]) == []
    some = lessons(("learned", ""), ("known", ""), ("learned", ""), ("passed over", "still open"), ("twice", "as a"),
                   ("passed over", ""), ("forgotten", "long ago"))
    first, *why = _lesson_lines(some)
    assert first == ("2 learned, 1 known already, 1 forgotten before and left so, 1 the same job again, "
                     "2 passed over")
    assert why == ["  3.yaml: still open", "  4.yaml: as a"]


@pytest.mark.parametrize("more", [-1, 0, 1, 5])
def test_of_many_that_taught_nothing_the_first_are_named_and_the_rest_counted(more: int) -> None:
    most = learn_command._MOST_SAID
    lines = _lesson_lines(lessons(*[("passed over", "open")] * (most + more)))
    assert len(lines) == 1 + min(most, most + more) + (more > 0)
    assert (lines[-1] == f"  … and {more} more") == (more > 0)


@pytest.mark.parametrize(("n", "says"), [(0, "0 jobs"), (1, "1 job"), (2, "2 jobs")])
def test_one_job_is_told_as_one(n: int, says: str) -> None:
    assert learn_command._jobs(n) == says


@pytest.mark.parametrize("reader", ["file", "customer"])
def test_a_report_for_programs_is_printed_or_written_as_asked(reader: str, job: Path, ran: Any) -> None:
    """With -o it is written, and what is printed says where; without, the data are printed."""
    out = job.with_name("r.md")
    assert data(ran, "report", job, "--for", reader, "-o", out) == {"written": str(out)} and out.exists()
    out.unlink()
    assert "written" not in data(ran, "report", job, "--for", reader) and not out.exists()


def test_the_workshop_s_own_head_is_not_written_over(job: Path, ran: Any) -> None:
    head = job.with_name("head.md")
    head.write_text("Invented Garage\n", encoding="utf-8")
    status, _, err = ran("report", job, "--for", "customer", "--head", head, "-o", head)
    assert status == 2 and "head.md" in err and head.read_text(encoding="utf-8") == "Invented Garage\n"
