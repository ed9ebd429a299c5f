"""Plays an invented job through the real commands, printing what a person would type and see.

    python demo/play.py [pickup | trailer | motorcycle] [folder]

The vehicle is simulated: it has one planted fault and a battery that is not quite as the tool assumes, neither
of which the tool is told. Whatever test is proposed, the simulated vehicle answers it.
"""

from __future__ import annotations

import io
import os
import re
import shlex
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path

from stories import STORIES, Story

from tracer import Job, find_fault, list_faults, load_harness
from tracer.commands import main as command_line
from tracer.practice.simulated_vehicle import PracticeVehicle

HERE = Path(__file__).resolve().parent
JOB = "job.yaml"
MOST_STEPS = 12


def tracer(*args: str) -> str:
    """Run one command and show it with its output."""
    out, complaints, status = io.StringIO(), io.StringIO(), 0
    with redirect_stdout(out), redirect_stderr(complaints):
        try:
            command_line(list(args))
        except SystemExit as left:
            status = int(left.code or 0)
    print("\n$ tracer " + " ".join(shlex.quote(a) if set(a) & set(" \"'<>") else a for a in args))
    print(out.getvalue().rstrip(), flush=True)
    if complaints.getvalue():
        print(complaints.getvalue().rstrip(), file=sys.stderr)
    if status == 2:
        sys.exit(f"tracer {args[0]} failed")
    return out.getvalue()


def title(text: str) -> None:
    print(f"\n=== {text} ===", flush=True)


def play(story: Story, folder: Path) -> None:
    """One job from complaint to report; what it writes stays in `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    model = HERE.parent / "harness_models" / story.harness
    harness = load_harness(model)
    fault = find_fault(list_faults(harness), story.planted)
    truth = next(v for v in fault.variants if v.says.startswith(story.severity)).change
    vehicle = PracticeVehicle(harness, truth, story.supply_v, [fault])
    os.environ["COLUMNS"] = "92"
    with chdir(folder):
        _commands(story, vehicle, os.path.relpath(model, folder))
    left = ", ".join(sorted(p.name for p in folder.iterdir() if not p.name.startswith(".")))
    print(f"\nleft in {folder.name}: {left}")


def _commands(story: Story, vehicle: PracticeVehicle, harness_path: str) -> None:
    title("1. Is the harness typed right?")
    tracer("check", harness_path)
    title("2. The job, and what was seen")
    tracer("open", JOB, "--harness", harness_path, "--vehicle", story.vehicle, "--complaint", story.complaint)
    for seen in story.seen:
        tracer("symptom", JOB, seen)
    for words in story.measured:
        tracer("reading", JOB, words, vehicle.answer(Job(JOB).find_test(words)))
    title("3. What could it be?")
    tracer("suspects", JOB)
    title("4. Test, read, narrow down")
    for _ in range(MOST_STEPS):
        named = re.search(r"(?:TEST|confirm,) (\S+?)[,:]", tracer("next", JOB))
        if named is None:  # a repair, or nothing more to test
            break
        tracer("reading", JOB, named[1], vehicle.answer(Job(JOB).find_test(named[1])))
    title("5. The circuit, with the suspect and the path of the current")
    tracer("draw", JOB, "-o", "circuit.svg")
    tracer("draw", JOB, "-o", "circuit.png")
    title("6. Repair, and proof")
    fitted = ("--part", story.part) if story.part else ()
    done = tracer("repaired", JOB, "1", *fitted, "--minutes", story.minutes)
    checks = re.findall(r"^ (\d+)\. \[", done, re.MULTILINE)
    tracer("repaired", JOB, *(f"--proof={number}=ok" for number in checks))
    title("7. The record")
    tracer("report", JOB, "-o", "report.html")
    tracer("report", JOB, "-o", "report.md")


def main() -> None:
    """Play the job that was asked for."""
    name = sys.argv[1] if len(sys.argv) > 1 else "pickup"
    if name not in STORIES:
        sys.exit(f"no job “{name}”: {', '.join(STORIES)}")
    play(STORIES[name], Path(sys.argv[2]) if len(sys.argv) > 2 else HERE / "out" / name)


if __name__ == "__main__":
    main()
