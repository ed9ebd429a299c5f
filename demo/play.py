"""Plays one invented job through the real commands, printing what a person would type and see.

The vehicle is simulated: it has one planted fault and a slightly low battery, neither of which the
tool is told. Whatever test is proposed, the simulated vehicle answers it.
"""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

from tracer.faults import find_fault, list_faults
from tracer.harness_file.text import load_harness
from tracer.practice import PracticeVehicle
from tracer.typed.readings import test_from_data

HERE = Path(__file__).resolve().parent
OUT = HERE / "out"
HARNESS = HERE.parent / "harness_models" / "pickup.yaml"
JOB = "job.yaml"
PLANTED = "earth open: E4 earth joint"
MOST_STEPS = 12


def tracer(*args: str, quiet: bool = False) -> str:
    """Run one command in demo/out; show command and output unless `quiet`."""
    done = subprocess.run(
        [sys.executable, "-m", "tracer", *args], cwd=OUT, text=True, encoding="utf-8", capture_output=True,
        env={**os.environ, "COLUMNS": "92"}, check=False,
    )
    if not quiet:
        print("\n$ tracer " + " ".join(shlex.quote(a) if " " in a or '"' in a else a for a in args))
        print(done.stdout.rstrip())
    if done.stderr:
        print(done.stderr.rstrip(), file=sys.stderr)
    if done.returncode == 2:
        sys.exit(f"tracer {args[0]} failed")
    return done.stdout


def title(text: str) -> None:
    print(f"\n=== {text} ===")


def main() -> None:
    """The whole job."""
    OUT.mkdir(exist_ok=True)
    for old in OUT.iterdir():
        old.unlink()
    harness = load_harness(HARNESS)
    truth = find_fault(list_faults(harness), PLANTED).variants[0].change
    vehicle = PracticeVehicle(harness, truth, supply_v=12.3)
    harness_path = os.path.relpath(HARNESS, OUT)

    title("1. Is the harness typed right?")
    tracer("check", harness_path)
    title("2. The job, and what was seen")
    tracer("open", JOB, "--harness", harness_path, "--vehicle", "Invented pick-up, plate T 1970",
           "--complaint", "Left reversing lamp is weak and something red glows with it")
    tracer("symptom", JOB, "left rear reversing lamp dim, left rear tail faint when gear reverse")
    tracer("symptom", JOB, "right rear reversing lamp normal when gear reverse")
    title("3. What could it be?")
    tracer("suspects", JOB)
    title("4. Test, read, narrow down")
    for _ in range(MOST_STEPS):
        tracer("next", JOB)
        step = json.loads(tracer("next", JOB, "--json", quiet=True))
        if "test" not in step:
            break
        test = test_from_data(step["test"], harness)
        tracer("reading", JOB, step["test"]["key"], vehicle.answer(test))
        leading = json.loads(tracer("suspects", JOB, "--json", quiet=True))["suspects"][0]
        if step["kind"] == "repair" and leading["share"] > 0.8:
            break
    title("5. The circuit, with the suspect and the path of the current")
    tracer("draw", JOB, "-o", "circuit.svg")
    tracer("draw", JOB, "-o", "circuit.png")
    title("6. Repair, and proof")
    tracer("repaired", JOB, "1", "--part", "ring terminal", "--minutes", "12")
    checks = json.loads(tracer("repaired", JOB, "--json", quiet=True))["checks"]
    results = [f"--proof={c['number']}=ok" for c in checks]
    tracer("repaired", JOB, *results)
    title("7. The record")
    tracer("report", JOB, "-o", "report.html")
    tracer("report", JOB, "-o", "report.md")
    left = sorted(f"demo/out/{p.name}" for p in OUT.iterdir() if not p.name.startswith("."))
    print("\nleft beside the demo: " + ", ".join(left))


if __name__ == "__main__":
    main()
