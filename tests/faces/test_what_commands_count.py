"""What commands count and choose from: how many there are, which are told, and what is asked for."""

from __future__ import annotations

import json
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import click
import pytest

from tests.faces.test_what_commands_print import ran as ran
from tests.small_vehicle import TEXT
from tracer.commands.entering import chosen
from tracer.errors import SymptomError, TracerError
from tracer.job.job import Job
from tracer.job.what_if import state_mark
from tracer.present.sheet.line import line_of, read_field

TAIL = "tail: {kind: lamp, lamp: R5W, earth at: E2}"
PLUG = TEXT.replace("earths: {E1: battery, E2: rear}", "connectors: {C1: {ways: 1}}\nearths: {E1: battery}").replace(
    "E2", "E1").replace("  plate: {kind: lamp, lamp: C5W, earth at: E1}\n", "").replace(
    "  - S1 > plate.feed\n", "").replace("S1 > tail.feed", "S1 > C1.1 > tail.feed")
TWO_EARTHS = TEXT.replace(TAIL, "tail: {kind: lamp, lamp: R5W, earth at: E2}\n  stop: {kind: lamp, lamp: P21W, "
                                "earth at: E1}") + "  - S1 > stop.feed\n"


@pytest.fixture
def harness(tmp_path: Path) -> Path:
    path = tmp_path / "small.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.fixture
def job(harness: Path) -> Path:
    path = harness.with_name("job.yaml")
    Job.create(path, harness)
    return path


# --- a harness


@pytest.mark.parametrize(("text", "says"), [
    (TEXT, "6 parts, 7 conductors, 0 connectors, 2 earth points, 2 lamps"),
    (PLUG, "5 parts, 7 conductors, 1 connector, 1 earth point, 1 lamp"),
    (TWO_EARTHS, "7 parts, 8 conductors, 0 connectors, 2 earth points, 3 lamps"),
])
def test_one_of_a_thing_is_told_as_one(text: str, says: str, harness: Path, ran: Any) -> None:
    harness.write_text(text, encoding="utf-8")
    status, said, _ = ran("check", harness)
    assert status == 0 and said.splitlines()[0].endswith(f"invented: {says}")


@pytest.mark.parametrize(("wires", "unsure"), [
    ([], 0), (["{run: S1 > plate.feed, traced: no}"], 1),
    (["{run: S1 > plate.feed, or: [S1 > tail.feed]}"], 1),
    (["{run: S1 > plate.feed, traced: no}", "{run: S1 > tail.feed, traced: no}"], 2),
])
def test_wires_that_nobody_followed_are_counted(wires: list[str], unsure: int, harness: Path, ran: Any) -> None:
    """Those that may lead elsewhere by a mark of their own, and those that nobody has followed."""
    text = TEXT
    for wire in wires:
        text = text.replace(f"  - {wire[6:].split(',')[0]}\n", f"  - {wire}\n")
    harness.write_text(text, encoding="utf-8")
    said = ran("check", harness)[1]
    assert ("wires not followed on the vehicle" in said) == (unsure > 0)
    assert unsure == 0 or f"\n{unsure} of 7 wires not followed" in said


DOUBTFUL = TEXT.replace("rating: 10 A", "rating: 60 A")
WRONG = TEXT.replace("rating: 10 A", "rating: 0.1 A")


@pytest.mark.parametrize(("text", "status", "error", "warning"), [
    (TEXT, 0, False, False), (DOUBTFUL, 0, False, True), (WRONG, 1, True, False),
])
def test_what_is_wrong_with_a_harness_is_told_and_what_is_doubtful_only_where_it_is_asked(
    text: str, status: int, error: bool, warning: bool, harness: Path, ran: Any
) -> None:
    """By `check` both, and that there is nothing; where a job is opened only what makes its answers wrong."""
    harness.write_text(text, encoding="utf-8")
    found, said, _ = ran("check", harness)
    assert found == status and ("no errors, nothing doubtful" in said) == (not error and not warning)
    assert (" error: " in said, " warning: " in said) == (error, warning)
    opened, _, noted = ran("open", harness.with_name("job.yaml"), harness)
    assert opened == 0 and ("note: " in noted) == error and "warning" not in noted


@pytest.mark.parametrize(("damage", "count"), [(("kind: battery", "kind: batery"), "1 error"), (
    ("kind: l", "kind: L4"), "2 errors")])
def test_problems_are_counted(damage: tuple[str, str], count: str, harness: Path, ran: Any) -> None:
    harness.write_text(TEXT.replace(*damage), encoding="utf-8")
    status, said, _ = ran("check", harness)
    assert status == 1 and said.splitlines()[-1] == count
    assert sum(line.startswith("error: ") for line in said.splitlines()) == int(count.split()[0])


def test_the_number_of_a_fault_is_its_place_among_all_whichever_are_shown(harness: Path, ran: Any) -> None:
    every = json.loads(ran("faults", harness, "--json")[1])
    assert [f["number"] for f in every] == list(range(1, len(every) + 1))
    kind = every[len(every) // 2]["kind"]
    some = json.loads(ran("faults", harness, "--kind", kind, "--json")[1])
    assert some == [f for f in every if f["kind"] == kind] and 0 < len(some) < len(every)
    shown = re.findall(r"^ *(\d+) +[\d.]+%  ", ran("faults", harness, "--kind", kind)[1], re.MULTILINE)
    assert [int(n) for n in shown] == [f["number"] for f in some]


# --- a job


def test_the_three_that_lead_are_told_after_each_entry(job: Path, ran: Any) -> None:
    told = json.loads(ran("symptom", job, "tail dark when lights on", "--json")[1])
    suspects = [(s.repair, s.share) for s in Job(job).suspects()]
    assert len(suspects) > 4
    assert [x["repair"] for x in told["leading"]] == [repair for repair, _ in suspects[:3]]
    assert [x["share"] for x in told["leading"]] == pytest.approx([share for _, share in suspects[:3]])


def test_a_line_of_a_sheet_stands_alone_and_a_test_with_what_it_showed(job: Path, ran: Any) -> None:
    """With a test beside the line nothing is recorded, nor with a test that showed nothing."""
    test = "volts at tail.feed when lights on"
    line = line_of(state_mark(Job(job)), [read_field(test, "12.1 V")])
    for wrong in ((test, "12.1 V", "--from-plan", line), (test, "--from-plan", line), (test,), ()):
        status, _, said = ran("reading", job, *wrong)
        assert status == 2 and ("--from-plan" in said) and not Job(job).entries
    assert ran("reading", job, "--from-plan", line)[0] == 0
    assert len(Job(job).entries) == 1
    assert ran("reading", job, test, "12.2 V")[0] == 0
    assert len(Job(job).entries) == 2


@pytest.mark.parametrize(("depth", "status"), [("0", 2), ("1", 0), ("30", 0), ("31", 2)])
def test_a_sheet_is_one_step_deep_or_as_many_as_a_page_holds(depth: str, status: int, job: Path, ran: Any) -> None:
    Job(job).symptom("tail dark, plate normal when lights on")
    sheet = job.with_name("sheet.html")
    found, _, said = ran("plan", job, "-o", sheet, "--depth", depth, "--minutes", "0.01")
    assert found == status and sheet.exists() == (status == 0) and (status == 0 or "1<=x<=30" in said)


@pytest.mark.parametrize(("typed", "taken"), [
    (["1"], "tail dark"), (["2"], "plate dark"), (["0"], None), (["3", "-1", "x", "2"], "plate dark"),
])
def test_one_of_the_ready_sentences_is_taken_or_none(
    typed: list[str], taken: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever else is typed is asked for again."""
    left = list(typed)
    monkeypatch.setattr(click.termui, "visible_prompt_func", lambda prompt: left.pop(0))
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True))
    error = SymptomError("not clear", "say which", ("tail dark", "plate dark"))
    if taken is None:
        with pytest.raises(TracerError, match="nothing recorded"):
            chosen(error)
    else:
        assert chosen(error) == taken
    assert not left
