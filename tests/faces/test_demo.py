"""The demo's jobs play through to a proven repair, and README and demo/jobs.md say what they show."""

from __future__ import annotations

import os
import re
import runpy
import subprocess
import sys
from pathlib import Path

import pytest

from tracer.commands import COMMANDS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
JOBS = (ROOT / "demo" / "jobs.md").read_text(encoding="utf-8")
PLANTED = {
    "pickup": "clean and remake earth point E4",
    "trailer": "change ways 5 and 6 of X1 back",
    "motorcycle": "clean or renew way C1.4",
}
HEADINGS = {
    "pickup": (README, "## A job, step by step", "## All commands"),
    "trailer": (JOBS, "## Crossed ways", "## A contact"),
    "motorcycle": (JOBS, "## A contact", "## Tests of your own"),
}


def played_here(name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> str:
    """In this process, which knows the vehicle from other tests."""
    monkeypatch.setattr(sys, "argv", ["play.py", name])
    monkeypatch.syspath_prepend(ROOT / "demo")
    monkeypatch.setenv("COLUMNS", "92")
    runpy.run_path(str(ROOT / "demo" / "play.py"), run_name="__main__")
    return capsys.readouterr().out


def played_as_a_program(name: str) -> str:
    done = subprocess.run(
        [sys.executable, str(ROOT / "demo" / "play.py"), name],
        capture_output=True, text=True, encoding="utf-8", check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def lettering(svg: str) -> list[str]:
    """All that is written in a drawing."""
    return sorted(t for t in re.findall(r">([^<>]+)<", svg) if t.strip())


@pytest.mark.parametrize("name", [pytest.param(n, marks=[pytest.mark.long] if n != "pickup" else [])
                                  for n in PLANTED])
def test_a_job_ends_proven_and_its_page_shows_it(
    name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:
    shown = played_as_a_program(name) if name == "pickup" else played_here(name, capsys, monkeypatch)
    page, start, stop = HEADINGS[name]
    walk = page[page.index(start) : page.index(stop)]
    printed = {line.strip() for line in shown.splitlines()}
    blocks = re.findall(r"```\n(.*?)```", walk, re.S)
    quoted = [line.strip() for block in blocks for line in block.splitlines()]
    quoted = [q for q in quoted if q and not q.startswith("$") and "…" not in q]

    assert f"REPAIR: {PLANTED[name]}" in shown
    assert f"repair: {PLANTED[name]}\nstatus: closed: repaired and proven" in shown
    for file in ("circuit.svg", "circuit.png", "report.html", "report.md", "job.yaml"):
        assert (ROOT / "demo" / "out" / name / file).stat().st_size > 1000
    if name == "pickup":  # the picture in the README says what is drawn now; where its lines run is Graphviz's affair
        drawn = (ROOT / "demo" / "out" / name / "circuit.svg").read_text(encoding="utf-8")
        kept = (ROOT / "demo" / "circuit.svg").read_text(encoding="utf-8")
        assert "(demo/circuit.svg)" in walk
        assert lettering(drawn) == lettering(kept), "sh demo/run; cp demo/out/pickup/circuit.svg demo"
    assert len(quoted) >= 8
    assert [q for q in quoted if q not in printed] == []


def test_the_readme_names_every_command() -> None:
    assert [c for c in COMMANDS if f"`{c}`" not in README and f"tracer {c}" not in README] == []
