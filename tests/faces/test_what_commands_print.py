"""What commands say and write: lines, files, statuses, and the plain sentence for what was typed wrongly."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import click
import pytest

from tests.library import MODELS
from tracer.commands import main
from tracer.commands.output import parse_settings, table, wrapped

SMALL = MODELS / "rear_end.yaml"
SAID = "left rear stop dark when brake pedal pressed"
LED = "overlay: LED\nparts:\n  number-plate lamp: {lamp: LED 1 W}\n"


@pytest.fixture
def ran(capsys: pytest.CaptureFixture[str]) -> Any:
    """(status, what was said, what was said as an error) of one command."""
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main([str(a) for a in args])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out, shown.err

    return call


@pytest.fixture
def job(tmp_path: Path, ran: Any) -> Path:
    path, harness = tmp_path / "job.yaml", tmp_path / "van.yaml"
    harness.write_bytes(SMALL.read_bytes())
    assert ran("open", path, harness)[0] == 0 == ran("symptom", path, SAID)[0]
    return path


@pytest.mark.parametrize("typed", ["gear", "=reverse", "gear=", " = ", "gear= "])
def test_half_a_setting_is_refused(typed: str) -> None:
    with pytest.raises(click.UsageError, match="write CONTROL=POSITION"):
        parse_settings([typed])


def test_settings_are_taken_with_blanks_around_them_and_each_once() -> None:
    assert parse_settings(["gear = reverse", "lamp switch=side=on"]) == {"gear": "reverse", "lamp switch": "side=on"}
    with pytest.raises(click.UsageError, match="gear is given twice"):
        parse_settings(["gear=reverse", "gear=neutral"])


def test_a_paragraph_hangs_below_its_first_line_unless_it_is_told_otherwise() -> None:
    text = " ".join(["word"] * 40)
    hanging, flush = wrapped(text, "  · ").splitlines(), wrapped(text, "  · ", "> ").splitlines()
    assert hanging[0].startswith("  · word") and all(line.startswith("    word") for line in hanging[1:])
    assert flush[0].startswith("  · word") and all(line.startswith("> word") for line in flush[1:])
    assert len(hanging) > 1 and wrapped("", "- ") == "- "


def test_columns_are_as_wide_as_what_stands_in_them() -> None:
    assert table([["a", "bbb"], ["cccc", "d"]], ["x", "y"]) == "x     y\na     bbb\ncccc  d"


def test_what_differs_is_told_as_recorded_and_then_as_what_differs(ran: Any, job: Path) -> None:
    overlay = job.with_name("led.yaml")
    overlay.write_text(LED, encoding="utf-8")
    assert ran("differs", job)[1].splitlines()[1].endswith("in nothing")
    recorded, after = ran("differs", job, overlay)[1], ran("differs", job)[1]
    assert recorded.startswith(f"recorded what differs: {overlay}") and after.startswith("differs from van.yaml:")
    assert recorded.splitlines()[1:] == after.splitlines()[1:] and "number-plate lamp" in after


def test_what_was_taken_back_is_told_in_its_words(ran: Any, job: Path) -> None:
    ran("repaired", job, "1")
    repair = ran("undo", job)[1]
    assert "left rear stop" in repair.splitlines()[0] and "repair" in repair.splitlines()[0]
    assert SAID in ran("undo", job)[1].splitlines()[0]


def test_a_list_for_spreadsheets_that_want_semicolons_says_that_it_is_utf_8(ran: Any, tmp_path: Path) -> None:
    """By its byte order mark; a list with commas has none."""
    for options, mark in (((), b""), (("--semicolons",), b"\xef\xbb\xbf")):
        path = tmp_path / f"{len(options)}.csv"
        assert ran("wires", SMALL, "-o", path, *options)[0] == 0
        assert path.read_bytes().startswith(mark) and path.read_bytes()[len(mark):len(mark) + 1].isalpha()


def test_the_shares_of_all_faults_are_one(ran: Any) -> None:
    every = json.loads(ran("faults", SMALL, "--json")[1])
    assert sum(f["share"] for f in every) == pytest.approx(1.0)
    shown = [float(x) for x in re.findall(r"^ *\d+ +([\d.]+)%  ", ran("faults", SMALL)[1], re.MULTILINE)]
    assert len(shown) == len(every) and sum(shown) == pytest.approx(100.0, abs=0.0005 * len(every))


def test_a_report_is_what_its_ending_says(ran: Any, job: Path) -> None:
    for ending, begins in ((".html", "<!doctype html>"), (".md", "# ")):
        out = job.with_name(f"r{ending}")
        status, said, err = ran("report", job, "-o", out)
        assert (status, said.strip(), err) == (0, f"written: {out}", "")
        assert out.read_text(encoding="utf-8").lower().startswith(begins)


def test_where_the_harness_no_longer_fits_the_bare_record_is_given_with_status_one(ran: Any, job: Path) -> None:
    """To read; a program that asks for data gets an error instead."""
    harness = job.with_name("van.yaml")
    harness.write_text(harness.read_text(encoding="utf-8").replace("brake pedal", "foot pedal"), encoding="utf-8")
    status, said, err = ran("report", job)
    assert status == 1 and SAID in said and err.startswith("note: only the bare record")
    status, said, err = ran("report", job, "--json")
    assert status == 2 and not said and err.startswith("error: ") and "bare record" not in err


def test_every_problem_of_a_harness_is_told_at_its_place(ran: Any, tmp_path: Path) -> None:
    broken = tmp_path / "broken.yaml"
    broken.write_text("harness: x\nsystem: 13 V\nparts: {}\nwires: 3\n", encoding="utf-8")
    told = {command: ran(command, broken, *more) for command, more in (("check", ()), ("faults", ()))}
    assert told["check"][0] == 1 and told["faults"][0] == 2
    assert len([line for line in told["faults"][2].splitlines() if line.startswith("error: ")]) == 2
    assert all("broken.yaml:" in text for _, out, err in told.values() for text in [out + err])
