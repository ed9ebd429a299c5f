"""`tracer practise` typed line by line: what is not understood loses nothing, and the end tells how it went."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.commands import main
from tracer.harness.file.text import load_harness
from tracer.practice.hidden_faults import draw
from tracer.practice.learner import FOLDER_VARIABLE

REAR = MODELS / "rear_end.yaml"


def typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], args: list[str], *lines: str
          ) -> tuple[int, str]:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    with pytest.raises(SystemExit) as left:
        main(["practise", *args])
    said = capsys.readouterr()
    return int(left.value.code or 0), said.out + said.err


def test_a_whole_exercise_and_the_progress_after_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "learners"))
    job = str(tmp_path / "lesson.yaml")
    status, said = typed(monkeypatch, capsys, [str(REAR), "--level", "2", "--seed", "2", "--as", "Ann", "-o", job],
                         "nonsense", "repair", "look when brake pedal pressed", "quit")
    assert status == 0
    assert "The customer says: " in said
    assert "> nonsense\n? “nonsense” does not say which kind of test (write it like “volts at" in said
    assert "To go on: tracer practise" in said
    fault = draw(load_harness(REAR), 2, 2).faults[0]
    assert fault.says not in said
    status, said = typed(monkeypatch, capsys, [job], "hint", f"repair {fault.repair}")
    assert status == 0
    assert f"{fault.repair}: done, and every lamp does what it should." in said
    assert f"Found: {fault.says}" in said
    status, said = typed(monkeypatch, capsys, [job, "--as", "Ann", "--progress"])
    assert status == 0 and said.startswith("level 2 (a bad contact or a bad earth): 1 of 1 found")


def test_giving_up_tells_the_answer_with_status_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, said = typed(monkeypatch, capsys, [str(REAR), "--seed", "4", "-o", str(tmp_path / "a.yaml")],
                         "suspects", "give up")
    assert status == 1 and "exercise of level 1 " in said
    assert re.findall(r"^(?:.*> suspects\n)? ?(\d+) +[\d.]+%  ", said, re.MULTILINE) == [str(n) for n in range(1, 9)]
    assert "It was: " in said
    assert "minutes" in said


def test_a_name_that_cannot_be_kept_is_told_before_anything_begins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, said = typed(monkeypatch, capsys, [str(REAR), "--as", "../x", "-o", str(tmp_path / "a.yaml")])
    assert status == 2
    assert "cannot be kept as a name" in said
    assert not (tmp_path / "a.yaml").exists()
