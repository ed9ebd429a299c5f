"""Where the time of a step goes: `next` on ten jobs on shipped models and on two generated vehicles, cold (nothing
kept) and warm (after the command that took in the last symptom). `--models`: on a job of every model instead;
`--random N`: on N vehicles made at random, of 40 to 150 wires, each with a fault of its own.

Each run is a process of its own. A second one (`step_parts.py`), with a clock around each part that takes some
hundredths itself, tells what its parts took beyond the parts they called: start (interpreter, imports), reading the
file, listing the faults, solving, weighing, gathering candidates, planning, and the rest (putting the job together,
printing).

    python tests/bench/bench_steps.py [--runs 1] [--jobs estate] [--models] [--random 30]
"""

from __future__ import annotations

import argparse
import json
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.step_parts import PARTS  # noqa: E402

PROGRAM = ROOT / "tests" / "bench" / "step_parts.py"
JOBS = ("saloon: fuse shared by four circuits", "saloon: thermal flasher with a lamp out", "lorry: relay contact",
        "lorry: fuse of one side", "estate: lamp-check diode shorted", "estate: burnt relay contact",
        "LED: load resistor open", "LED: common earth of the rear lamps", "13-pin: return of the lamps",
        "7-pin: fuse of the right side lights")
COLUMNS = ("start", *PARTS, "rest")
_FEWEST, _MOST = 40, 150  # wires of vehicles made at random


def step(job: Path, cache: str) -> dict[str, Any]:
    """What `next` takes on a job as a whole, as a user runs it; by part; and what it proposes."""
    from tracer.cache import FOLDER_VARIABLE, NOWHERE
    from tracer.memory.store import MEMORY_VARIABLE

    # What this user's workshop has learned would make another job of it.
    env = os.environ | {MEMORY_VARIABLE: NOWHERE, FOLDER_VARIABLE: cache, "OPENBLAS_NUM_THREADS": "1"}
    env["PYTHONPATH"] = str(ROOT)
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # a user's program is compiled once, not at every step
    _, cpu, wall = _run(["-m", "tracer"], job, env)
    said, _, _ = _run([str(PROGRAM)], job, env)
    shown: dict[str, Any] = json.loads(said)
    return shown | {"cpu": cpu, "wall": wall}


def _run(program: Sequence[str], job: Path, env: Mapping[str, str]) -> tuple[str, float, float]:
    """What `next` says, and the seconds of CPU and of waiting that it takes."""
    begun = time.perf_counter()
    run = subprocess.Popen([sys.executable, *program, "next", str(job), "--json"], env=env, stdout=subprocess.PIPE,
                           text=True)
    assert run.stdout is not None
    said = run.stdout.read()
    _, status, usage = os.wait4(run.pid, 0)
    if os.waitstatus_to_exitcode(status):
        sys.exit(f"next on {job.name} failed")
    return said, usage.ru_utime + usage.ru_stime, time.perf_counter() - begun


def jobs(folder: Path, wanted: str) -> dict[str, Path]:
    """Jobs with their symptoms told, by name."""
    from tests.bench.bench_commands import WHOLE, job_of
    from tests.bench.generated import harness_text
    from tests.library import JOBS as KNOWN
    from tests.library import MODELS

    made = {}
    for k, name in enumerate(JOBS):
        if wanted in name:
            model = MODELS / f"{KNOWN[name].model}.yaml"
            made[name] = Path(job_of(folder / f"{k}.yaml", model, KNOWN[name].symptoms))
    for halves in (1, 2):
        name = f"generated whole vehicle, {halves} halves"
        if wanted in name:
            text = folder / f"whole{halves}.yaml"
            text.write_text(harness_text(halves), encoding="utf-8")
            made[name] = Path(job_of(folder / f"big{halves}.yaml", text, WHOLE))
    return made


def job_of_every_model(folder: Path) -> dict[str, Path]:
    """The first job of each model in the library."""
    from tests.bench.bench_commands import job_of
    from tests.library import JOBS as KNOWN
    from tests.library import MODELS

    first = {job.model: name for name, job in reversed(KNOWN.items())}
    return {model: Path(job_of(folder / f"{model}.yaml", MODELS / f"{model}.yaml", KNOWN[name].symptoms))
            for model, name in first.items()}


def jobs_at_random(folder: Path, count: int, seed: int = 3) -> dict[str, Path]:
    """Jobs on vehicles made at random; the fault of each is drawn, and what one sees of it told."""
    from tests.bench.bench_commands import job_of
    from tests.bench.bench_recorded import sentences
    from tests.bench.truth.random_vehicles import random_vehicle
    from tracer import TracerError, list_faults, load_harness

    made: dict[str, Path] = {}
    for n in range(20 * count):
        path, dice = folder / f"random{n}.yaml", random.Random(f"{seed} {n}")
        path.write_text(random_vehicle(f"{seed} {n}"), encoding="utf-8")
        harness = load_harness(path)
        wires = sum(len(w.segments) for w in harness.wires)
        faults = [f.name for f in list_faults(harness)]
        while _FEWEST <= wires <= _MOST and len(made) < count:
            try:
                said = sentences(path, dice.choice(faults), dice)
            except TracerError:
                continue
            if said:
                made[f"random {n}, {wires} wires"] = Path(job_of(folder / f"random{n}.job.yaml", path, tuple(said)))
                break
    return made


def table(title: str, made: dict[str, Path], cache: str, runs: int) -> None:
    """Run the jobs and print what each takes, line by line."""
    print(f"\n{title}: CPU s\n{'':46}{'wall':>7}{'CPU':>7}" + "".join(f"{c:>11}" for c in COLUMNS) + "  min to go")
    found = []
    for name, job in made.items():
        one = min((step(job, cache) for _ in range(runs)), key=lambda x: float(x["cpu"]))
        print(f"{name:46}{one['wall']:7.2f}{one['cpu']:7.2f}" + "".join(f"{one.get(c, 0.0):11.2f}" for c in COLUMNS)
              + f"{one['proposed'].get('expected_minutes', float('nan')):11.2f}", flush=True)
        found.append(one)
    for kind in ("cpu", "wall"):
        all_s = sorted(one[kind] for one in found)
        most = all_s[min(int(0.95 * len(all_s)), len(all_s) - 1)]
        print(f"{kind:5} mean {statistics.mean(all_s):.3f} s, 95 % {most:.2f} s, most {all_s[-1]:.2f} s", flush=True)


def main() -> None:
    """Print two tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1, help="the best of so many")
    parser.add_argument("--jobs", default="", help="those with this in their name")
    parser.add_argument("--models", action="store_true", help="a job of every model instead")
    parser.add_argument("--random", type=int, default=0, help="jobs on so many vehicles made at random instead")
    given = parser.parse_args()
    from tests.bench.bench_commands import as_installed
    from tracer.cache import FOLDER_VARIABLE, NOWHERE

    with tempfile.TemporaryDirectory() as name:
        folder, cache = Path(name), str(Path(name) / "kept")
        os.environ[FOLDER_VARIABLE] = cache
        as_installed(folder)
        made = job_of_every_model(folder) if given.models else {}
        made |= jobs_at_random(folder, given.random) if given.random else {}
        made = made or jobs(folder, given.jobs)
        for title, kept in (("cold", NOWHERE), ("warm", cache)):
            table(title, made, kept, given.runs)


if __name__ == "__main__":
    main()
