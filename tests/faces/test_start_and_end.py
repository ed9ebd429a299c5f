"""How a command begins and ends as a process: what it reads in, how wide it writes, and that nothing said is lost."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tracer.present.screen import width

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("told", [None, "", "x", "0", "-5", "40", "100", "132"])
def test_the_width_is_that_of_the_terminal(told: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    if told is not None:
        monkeypatch.setenv("COLUMNS", told)
    assert width() == min(shutil.get_terminal_size((80, 24)).columns, 100)


def test_without_standard_output_it_is_the_usual_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setattr(sys, "__stdout__", None)
    assert width() == 80


AT_END = """
import atexit, sys, threading, time
from tracer import __main__ as program
atexit.register(lambda: print("what was to be done at the end"))
if {beside}:
    threading.Thread(target=lambda: (time.sleep(0.1), print("what another was at"))).start()
def main():
    sys.stdout.write("said last")  # and not sent on yet
    sys.exit({status})
import tracer.commands
tracer.commands.main = main
program.main()
"""


@pytest.mark.parametrize("status", [0, 1, 2])
@pytest.mark.parametrize("beside", [False, True])
def test_a_command_ends_with_its_status_and_all_it_said(status: int, beside: bool) -> None:
    """Also where somebody else in the process is still at work."""
    done = subprocess.run([sys.executable, "-c", AT_END.format(status=status, beside=beside)], text=True,
                          capture_output=True, env=os.environ | {"PYTHONPATH": str(ROOT)}, timeout=60)
    assert done.returncode == status, done.stderr
    assert "said last" in done.stdout and "what was to be done at the end" in done.stdout
    assert ("what another was at" in done.stdout) == beside


def test_a_step_reads_in_nothing_that_it_does_not_use() -> None:
    """Each of these takes a hundredth of the start of every command, or more."""
    unused = {"sqlite3", "zipfile", "shutil", "secrets", "random", "tempfile", "networkx", "pandas", "scipy"}
    code = f"import sys, tracer.commands.job_commands, tracer.planning.next_step; print(*{unused} & {{*sys.modules}})"
    done = subprocess.run([sys.executable, "-c", code], text=True, capture_output=True,
                          env=os.environ | {"PYTHONPATH": str(ROOT)}, timeout=60)
    assert done.returncode == 0 and done.stdout == "\n", done.stdout + done.stderr
