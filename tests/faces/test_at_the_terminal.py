"""What hangs on the terminal: how wide lines are, and whether what is typed stands on it already."""

from __future__ import annotations

import os
import signal
import sys
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.noting import noting
from tracer import guide
from tracer.commands import new_command
from tracer.errors import TracerError
from tracer.guide import keyboard, run_guide, terminal_ask, terminal_guide
from tracer.guide.talk import Ask, Say
from tracer.job.job import Job
from tracer.present import screen

JOB = cast("Job", None)


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Somebody who types “yes”; what happens meanwhile."""
    seen: list[str] = []
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr("builtins.input", lambda: noting(seen, "(typed)", "yes"))
    monkeypatch.setattr(guide, "show", lambda text, end="\n": seen.append(text + end))
    monkeypatch.setattr(guide, "wait_for_line", lambda: seen.append("(waits)"))
    monkeypatch.setattr(guide, "run_guide", lambda job, ask, say, width: int(ask("Which? > ") == "yes"))
    return seen


def wide(monkeypatch: pytest.MonkeyPatch, columns: int | None) -> None:
    """A terminal of so many columns, or none."""
    monkeypatch.delenv("COLUMNS", raising=False)

    def size(*_: int) -> os.terminal_size:
        if columns is None:
            raise OSError
        return os.terminal_size((columns, 24))

    monkeypatch.setattr(os, "get_terminal_size", size)


@pytest.mark.parametrize(("columns", "width"), [(20, 20), (79, 79), (100, 100), (101, 100), (300, 100), (None, 80)])
def test_lines_are_as_wide_as_the_terminal_and_never_over_a_hundred(
    columns: int | None, width: int, terminal: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eighty where nobody knows: of commands, of the guide and of the questions of a new vehicle."""
    wide(monkeypatch, columns)
    asked: list[int] = []

    def guided(job: Job, ask: Ask, say: Say, wide: int) -> int:
        asked.append(wide)
        return 0

    def questioned(ask: Ask, say: Say, wide: int) -> Any:
        asked.append(wide)
        raise TracerError("stopped")

    monkeypatch.setattr(guide, "run_guide", guided)
    terminal_guide(JOB)
    monkeypatch.setattr("tracer.guide.new_vehicle.ask_for_vehicle", questioned)
    with pytest.raises(TracerError, match="stopped"):
        new_command._by_questions()
    assert asked == [width, width] and screen.width() == width


@pytest.mark.parametrize(("asked", "width"), [(10, 40), (39, 40), (40, 40), (41, 41), (132, 132)])
def test_the_guide_wants_forty_columns(asked: int, width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    monkeypatch.setattr(guide, "Guide", lambda job, ask, say, width: noting(made, width, SimpleNamespace(run=int)))
    assert run_guide(JOB, str, print, asked) == 0 and made == [width]


def test_what_is_typed_at_a_terminal_stands_there_already(terminal: list[str]) -> None:
    assert terminal_guide(JOB) == 1 and terminal == ["Which? > ", "(waits)", "(typed)"]


def test_lines_of_a_pipe_are_repeated_behind_their_question(
    terminal: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: False))
    assert terminal_guide(JOB, lines=True) == 1 and terminal == ["Which? > ", "(typed)", "yes\n"]


@pytest.mark.parametrize("stdin", [None, SimpleNamespace(isatty=lambda: False)])
def test_no_terminal_and_no_lines_is_no_guide(
    stdin: Any, terminal: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", stdin)
    with pytest.raises(TracerError, match="not a terminal"):
        terminal_guide(JOB)
    assert not terminal


def test_a_single_question_is_asked_in_the_same_way(terminal: list[str]) -> None:
    assert terminal_ask("Which? > ") == "yes" and terminal == ["Which? > ", "(waits)", "(typed)"]


# --- the keyboard


@pytest.fixture
def keys(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What becomes of typed keys, on either system; on Windows two are waiting."""
    seen, waiting = list[str](), ["a", "b"]
    windows = SimpleNamespace(kbhit=lambda: bool(waiting), getwch=lambda: seen.append(waiting.pop()))
    monkeypatch.setitem(sys.modules, "msvcrt", windows)
    flush = SimpleNamespace(TCIFLUSH=1, error=OSError, tcflush=lambda stream, which: seen.append(f"flushed {which}"))
    monkeypatch.setattr(keyboard, "termios", flush, raising=False)
    wait = SimpleNamespace(select=lambda *what: seen.append("waited"))
    monkeypatch.setattr(keyboard, "select", wait, raising=False)
    return seen


@pytest.mark.parametrize("posix", [True, False])
def test_typed_ahead_keys_are_thrown_away_in_the_manner_of_the_system(
    posix: bool, keys: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keyboard, "_POSIX", posix)
    keyboard.forget_typed()
    assert keys == (["flushed 1"] if posix else ["b", "a"])


@pytest.mark.parametrize("posix", [True, False])
def test_a_line_is_waited_for_where_the_system_can(
    posix: bool, keys: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it cannot, the read waits itself; and what wakes it afterwards is what woke it before."""
    before = signal.set_wakeup_fd(-1)
    monkeypatch.setattr(keyboard, "_POSIX", posix)
    keyboard.wait_for_line()
    assert keys == (["waited"] if posix else []) and signal.set_wakeup_fd(before) == -1
