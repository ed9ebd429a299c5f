"""The demo plays through to a proven repair, and the README says what it shows."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tracer.commands import _COMMANDS

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def played() -> str:
    done = subprocess.run(
        [sys.executable, str(ROOT / "demo" / "play.py")],
        capture_output=True, text=True, encoding="utf-8", check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_demo_ends_proven(played: str) -> None:
    assert "status: closed: repaired and proven" in played
    assert "REPAIR: clean and remake earth point E4" in played  # the planted fault
    for name in ("circuit.svg", "circuit.png", "report.html", "report.md", "job.yaml"):
        assert (ROOT / "demo" / "out" / name).stat().st_size > 1000


def test_the_readme_shows_what_the_demo_prints(played: str) -> None:
    """Every line of output quoted in the README's walk-through is printed by the demo."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    walk = text[text.index("## A job, step by step") : text.index("## Your own vehicle")]
    printed = {line.strip() for line in played.splitlines()}
    quoted = [
        line.strip() for block in re.findall(r"```\n(.*?)```", walk, re.S) for line in block.splitlines()
        if line.strip() and not line.startswith("$") and "…" not in line
    ]

    assert len(quoted) > 30
    assert [q for q in quoted if q not in printed] == []


def test_the_readme_names_every_command() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")

    assert [c for c in _COMMANDS if f"`{c}`" not in text and f"tracer {c}" not in text] == []
