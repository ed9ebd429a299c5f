"""The commands that lead elsewhere: to a page, a sheet, a conversation, or to somebody who knows the installation."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import click
import pytest

from tests.faces.test_what_commands_print import ran as ran
from tests.noting import noting
from tests.small_vehicle import TEXT
from tracer.commands import about_command, output
from tracer.job.job import Job
from tracer.present.screen import Progress


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "van.yaml").write_text(TEXT, encoding="utf-8")
    Job.create(tmp_path / "job.yaml", tmp_path / "van.yaml")
    return tmp_path / "job.yaml"


# --- the page


@pytest.mark.parametrize(("options", "given"), [
    ((), (False, None)), (("--lan",), (True, None)), (("--port", "1"), (False, 1)),
    (("--port", "65535"), (False, 65535)), (("--port", "0"), None), (("--port", "65536"), None),
])
def test_a_page_is_served_as_its_options_say(
    options: tuple[str, ...], given: tuple[bool, int | None] | None, job: Path, ran: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    served: list[Any] = []
    monkeypatch.setattr("tracer.page.server.serve", lambda *asked: noting(served, asked[:3], 5))
    assert ran("page", job.parent, *options)[0] == (2 if given is None else 5)
    assert [(Path(f).resolve(), *rest) for f, *rest in served] == ([(job.parent.resolve(), *given)] if given else [])


def test_the_jobs_of_a_page_are_told_to_programs_and_nothing_is_served(
    job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tracer.page.server.serve", lambda *_: pytest.fail("served"))
    assert len(json.loads(ran("page", job.parent, "--json")[1])) == 1


# --- the sheet


@pytest.fixture
def grown(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """With what a sheet is grown, and what was noted meanwhile."""
    asked: dict[str, Any] = {"notes": [], "cut": ""}

    def grow(job: Job, depth: int, minutes: float, progress: Any) -> Any:
        asked.update(depth=depth, minutes=minutes)
        for share in (0.0, 0.26, 1.0):
            progress(share, 7)
        return SimpleNamespace(boxes=[1] * 7, covered=0.93, by_sheet=41.6, anew=30.2, cut=asked["cut"])

    monkeypatch.setattr("tracer.present.sheet.tree.grow", grow)
    monkeypatch.setattr("tracer.present.sheet.page.sheet_html", lambda job, sheet: "<html>")
    monkeypatch.setattr(Progress, "note", lambda text: asked["notes"].append(text))
    return asked


@pytest.mark.parametrize(("options", "depth", "minutes"), [
    ((), 8, 0.9), (("--depth", "30", "--minutes", "60"), 30, 60.0), (("--depth", "1", "--minutes", "0.01"), 1, 0.01),
    (("--depth", "31"), None, None), (("--minutes", "60.1"), None, None), (("--minutes", "0"), None, None),
    (("--minutes", "nan"), None, None),
])
def test_a_sheet_is_grown_as_its_options_say(
    options: tuple[str, ...], depth: int | None, minutes: float | None, job: Path, ran: Any, grown: dict[str, Any]
) -> None:
    out = job.with_name("plan.html")
    assert ran("plan", job, "-o", out, *options)[0] == (2 if depth is None else 0)
    assert (grown.get("depth"), grown.get("minutes")) == (depth, minutes) and out.exists() == (depth is not None)


@pytest.mark.parametrize("cut", ["", "the time was up"])
def test_a_sheet_is_told_with_what_it_covers_and_how_far_it_is_meanwhile(
    cut: str, job: Path, ran: Any, grown: dict[str, Any]
) -> None:
    grown["cut"] = cut
    said = ran("plan", job, "-o", job.with_name("plan.HTM"))[1].splitlines()
    assert said[1] == f"7 boxes lead to a repair in 93 % of the cases{f' ({cut})' if cut else ''}"
    assert said[2].startswith("about 42 min to a proven repair by the sheet, 30 min when each")
    bars = [note.partition("]")[0].lstrip("[") for note in grown["notes"]]
    assert [(b.count("#"), len(b)) for b in bars] == [(0, 20), (5, 20), (20, 20)]
    assert grown["notes"][1].endswith("26 % of the cases, 7 boxes")


@pytest.mark.parametrize("name", ["plan.pdf", "plan"])
def test_a_sheet_of_another_ending_is_refused(name: str, job: Path, ran: Any, grown: dict[str, Any]) -> None:
    assert ran("plan", job, "-o", job.with_name(name))[0] == 2 and "depth" not in grown


# --- the guide and the installation


def test_where_a_job_stands_is_told_to_programs_and_nobody_is_asked(
    job: Path, ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []
    monkeypatch.setattr("tracer.guide.terminal_guide", lambda job, lines: noting(asked, lines, 3))
    told = json.loads(ran("guide", job, "--json")[1])
    assert told == {"job": str(job), "status": Job(job).status(), "closed": False} and not asked
    assert ran("guide", job)[0] == ran("guide", job, "--lines")[0] == 3 and asked == [False, True]


@pytest.mark.parametrize("in_the_way", [[], ["no font"]])
def test_an_installation_that_cannot_work_is_bad_news(
    in_the_way: list[str], ran: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(about_command, "looked_over", lambda folder: {"in_the_way": in_the_way, "folder": folder})
    monkeypatch.setattr(about_command, "looked_over_lines", lambda found, width: ["looked over"])
    assert ran("about", "--folder", "jobs")[:2] == (1 if in_the_way else 0, "looked over\n")
    assert json.loads(ran("about", "--json")[1])["folder"] == "."


@pytest.mark.parametrize("value", [None, 0.0, -3.5, float("inf"), float("-inf"), float("nan")])
def test_a_number_is_one_that_can_be_counted_with(value: float | None) -> None:
    if value is None or abs(value) < 10:
        assert output.finite(click.Context(click.Command("x")), click.Option(["--x"]), value) == value
    else:
        with pytest.raises(click.BadParameter, match="a number is needed"):
            output.finite(click.Context(click.Command("x")), click.Option(["--x"]), value)
