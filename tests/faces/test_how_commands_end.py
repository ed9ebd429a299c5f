"""How any command ends: its status, what is said of an error and where, and what is set up before it."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import click
import pytest

from tracer import commands
from tracer.commands import COMMANDS, cli, main
from tracer.errors import Problem, ProblemsError, SymptomError, TracerError

TALKS = {"guide", "page", "practise"}


@pytest.fixture(autouse=True)
def thresholds() -> Iterator[None]:
    """Those of the tests come back."""
    before = gc.get_threshold()
    yield
    gc.set_threshold(*before)


def ended(monkeypatch: pytest.MonkeyPatch, does: Any) -> Any:
    """The status of a command that does this."""
    def command(**_: Any) -> Any:
        if isinstance(does, BaseException):
            raise does
        return does

    monkeypatch.setattr(cli, "main", command)
    with pytest.raises(SystemExit) as left:
        main(["schema"])
    return left.value.code


USAGE = click.UsageError("say which")


@pytest.mark.parametrize(("does", "status", "says"), [
    (0, 0, ""), (1, 1, ""), (7, 7, ""), (None, 0, ""), ("done", 0, ""), (click.exceptions.Exit(0), 0, ""),
    (click.exceptions.Exit(3), 3, ""), (USAGE, 2, "Error: say which\n"), (BrokenPipeError(), 0, ""),
    (KeyboardInterrupt(), 130, "stopped; everything recorded so far is saved\n"),
    (click.exceptions.Abort(), 130, "stopped; everything recorded so far is saved\n"),
    (OSError(2, "No such file", "van.yaml"), 2, "error: van.yaml: No such file\n"),
    (OSError(28, "No space left"), 2, "error: No space left\n"), (OSError("odd"), 2, "error: odd\n"),
    (TracerError("no lamp"), 2, "error: no lamp\n"), (TracerError("no", "say it"), 2, "error: no\n  hint: say it\n"),
    (SymptomError("which", "", ("a", "b")), 2, "error: which\n  1. a\n  2. b\n"),
    (ProblemsError([Problem("no wire", "", "van.yaml", 3, 1), Problem("no lamp", "", "van.yaml", 4, 1)]), 2, None),
])
def test_every_end_has_its_status_and_its_sentence(
    does: Any, status: int, says: str | None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(commands, "_leave_pipe", lambda: None)
    assert ended(monkeypatch, does) == status
    out, err = capsys.readouterr()
    if says is None:
        assert [line.split(":")[0] for line in err.splitlines()] == ["error", "error"]
        assert "no wire" in err.splitlines()[0] and "no lamp" in err.splitlines()[1]
    else:
        assert err == says
    assert not out


def test_what_is_left_to_be_written_is_written_where_there_is_a_console(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program without one has no streams at all; a pipe that is closed then is no failure."""
    flushed: list[str] = []
    monkeypatch.setattr(sys, "stdout", SimpleNamespace(flush=lambda: flushed.append("out"), isatty=bool))
    monkeypatch.setattr(sys, "stderr", None)
    assert ended(monkeypatch, 1) == 1 and flushed == ["out"]

    def closed() -> None:
        raise BrokenPipeError

    monkeypatch.setattr(sys, "stdout", SimpleNamespace(flush=closed, isatty=bool))
    monkeypatch.setattr(commands, "_leave_pipe", lambda: flushed.append("left"))
    assert ended(monkeypatch, 1) == 0 and flushed == ["out", "left"]


@pytest.mark.parametrize(("args", "alone"), [
    *((([name]), name not in TALKS) for name in COMMANDS), ([], False), (["--help"], False), (["--version"], False),
    (["schame"], False), (["check", "guide"], True), (["guide", "check"], False),
])
def test_seconds_are_counted_where_nobody_is_asked_meanwhile(args: list[str], alone: bool) -> None:
    assert commands._answers_alone(args) == alone


@pytest.mark.parametrize("args", [["schema"], ["guide", "job.yaml"], []])
@pytest.mark.parametrize("typed", [True, False])
def test_a_talk_looks_for_what_nobody_uses_more_often(
    args: list[str], typed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It goes on for a day; whether the words come from a shell or from a program."""
    monkeypatch.setattr(cli, "main", lambda **_: 0)
    monkeypatch.setattr(sys, "argv", ["tracer", *args] if typed else ["tracer", "check"])
    with pytest.raises(SystemExit):
        main(None if typed else args)
    assert gc.get_threshold()[0] == (commands._NEW_OBJECTS if args[:1] == ["schema"] else commands._NEW_IN_TALK)
    assert commands._NEW_OBJECTS > commands._NEW_IN_TALK


@pytest.mark.parametrize("read", [True, False])
def test_numbers_are_worked_out_on_one_core_where_that_can_still_be_told(
    read: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in commands._ONE_CORE:
        monkeypatch.setenv(name, "8")
    monkeypatch.setattr(sys, "modules", {k: v for k, v in sys.modules.items() if read or k != "numpy"})
    ended(monkeypatch, 0)
    assert [os.environ[name] for name in commands._ONE_CORE] == ["8" if read else "1"] * 3


@pytest.mark.parametrize(("typed", "status", "says"), [
    ("suspcts", 2, "no command “suspcts” (did you mean “suspects”"), ("--suspects", 2, "No such option"),
    ("--help", 0, ""), ("-h", 0, ""), ("--version", 0, ""),
])
def test_a_word_that_is_no_command_is_answered_by_one_like_it(
    typed: str, status: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main([typed])
    assert left.value.code == status and says in capsys.readouterr().err


def test_the_help_lists_every_command_in_its_order(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    lines = [line.split()[0] for line in capsys.readouterr().out.partition("Commands:")[2].splitlines() if line]
    assert [word for word in lines if word in COMMANDS] == list(COMMANDS)
