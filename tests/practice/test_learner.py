"""A learner's progress is the learner's own, and two who finish at once lose nothing."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tracer.errors import TracerError
from tracer.practice.debrief import Debrief
from tracer.practice.learner import FOLDER_VARIABLE, file_of, note, progress
from tracer.practice.plan_player import Played

PLAN = Played(True, 10.0, 3, 0, (), ())


def result(found: bool, minutes: float) -> Debrief:
    return Debrief(("x",), ("y",), found, minutes, 0, (), 0, (), PLAN, "", (), ())


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "learners"))


def test_progress_is_counted_by_level_beside_the_plan() -> None:
    note("Ann", "a van", 2, result(True, 25.0))
    note("Ann", "a van", 2, result(False, 90.0))
    note("Bo", "a van", 1, result(True, 10.0))
    assert progress("Ann") == (
        "level 2 (a bad contact or a bad earth): 1 of 2 found, 2.5 times the minutes of the tool's own plan",)


def test_two_at_once_lose_nothing() -> None:
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda n: note("Ann", "a van", 1, result(True, n + 1.0)), range(24)))
    assert progress("Ann")[0].startswith("level 1 (a lamp, its holder or a fuse): 24 of 24 found")


def test_damaged_lines_are_counted_and_passed_over() -> None:
    note("Ann", "a van", 1, result(True, 10.0))
    with file_of("Ann").open("ab") as file:
        file.write(b"\xff\xfe nonsense\n{}\n")
    assert progress("Ann")[-1] == "2 lines of ann.jsonl cannot be read and are left out"


@pytest.mark.parametrize("name", ["../up", "a/b", "", "a\nb\x1b[2J", "x" * 41, ".hidden"])
def test_a_name_that_could_be_a_path_is_refused(name: str) -> None:
    with pytest.raises(TracerError, match="cannot be kept as a name"):
        file_of(name)


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "file" / "below"))
    with pytest.raises(TracerError, match="cannot be kept"):
        note("Ann", "a van", 1, result(True, 1.0))
