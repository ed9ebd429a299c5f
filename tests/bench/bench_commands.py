"""Time, wall and CPU, and peak memory of the whole process of the commands that people wait for, targets beside.

What commands keep on disk for each other lies in a folder made for this run. A command is timed as in a job, after
the one that took in the last symptom; and again with nothing kept, as the first command is after the harness file or
the code changed.

    python tests/bench/bench_commands.py [--runs 3]
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.generated import harness_text  # noqa: E402
from tests.library import JOBS, MODELS  # noqa: E402
from tracer.cache import FOLDER_VARIABLE, NOWHERE  # noqa: E402

MODEL = ROOT / "harness_models" / "pickup.yaml"
DEMO = ("left rear reversing lamp dim, left rear tail faint when gear reverse",
        "right rear reversing lamp normal when gear reverse")
EIGHT = (*DEMO, "left rear stop normal when brake pedal pressed", "right rear stop normal when brake pedal pressed",
         "left rear tail normal when lamp switch side", "right rear tail normal when lamp switch side",
         "left number-plate lamp normal when lamp switch side",
         "left rear indicator normal when indicator stalk left")
WHOLE = ("left rear reversing dim, left rear tail faint when gear reverse",
         "right rear reversing normal when gear reverse")
# Of the jobs of the models those that make most work: relays, electronics, many suspects.
DEAREST = ("estate: lamp-check diode shorted", "estate: burnt relay contact", "lorry: relay contact",
           "LED: load resistor open", "13-pin: return of the lamps")


def as_installed(folder: Path) -> None:
    """Let the commands run as those of an installed program do: with their byte code beside them (in `folder`)."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = str(folder / "code")
    subprocess.run([sys.executable, "-m", "tracer", "--version"], stdout=subprocess.DEVNULL, check=True, cwd=ROOT)


def measure(*args: str) -> tuple[float, float]:
    """Wall seconds and MB of one command."""
    wall, _, memory = spent(*args)
    return wall, memory


def spent(*args: str, cache: str = "") -> tuple[float, float, float]:
    """Wall seconds, CPU seconds and MB of one command."""
    begun = time.perf_counter()
    own = os.environ | ({FOLDER_VARIABLE: cache} if cache else {})
    child = subprocess.Popen([sys.executable, "-m", "tracer", *args], stdout=subprocess.DEVNULL, env=own)
    _, status, usage = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) == 2:
        sys.exit(f"{args} failed")
    return time.perf_counter() - begun, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def job_of(path: Path, harness: Path, symptoms: tuple[str, ...]) -> str:
    measure("open", str(path), "--harness", str(harness))
    for text in symptoms:
        measure("symptom", str(path), text)
    return str(path)


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3, help="the best of so many")
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ[FOLDER_VARIABLE] = str(folder / "cache")
        as_installed(folder)
        whole = folder / "whole.yaml"
        whole.write_text(harness_text(), encoding="utf-8")
        demo = job_of(folder / "demo.yaml", MODEL, DEMO)
        told = job_of(folder / "told.yaml", MODEL, DEMO)
        eight = job_of(folder / "eight.yaml", MODEL, EIGHT)
        big = job_of(folder / "big.yaml", whole, WHOLE)
        dearest = [
            (f"next, {name}", None, ["next", job_of(folder / f"{k}.yaml", MODELS / f"{JOBS[name].model}.yaml",
                                                    JOBS[name].symptoms)])
            for k, name in enumerate(DEAREST)
        ]
        for what, target, args in (
            ("--help", 0.3, ["--help"]), ("check", None, ["check", str(MODEL)]),
            ("faults", None, ["faults", str(MODEL)]), ("suspects, demo job", None, ["suspects", demo]),
            ("suspects, 8 symptoms", 2.0, ["suspects", eight]), ("next, demo job", 1.0, ["next", demo]),
            ("reading, demo job", None, ["reading", told, "volts E4 when gear reverse", "3.4 V"]),
            ("next, generated whole vehicle", 2.0, ["next", big]), *dearest,
        ):
            found, bare = [spent(*args) for _ in range(runs)], [spent(*args, cache=NOWHERE) for _ in range(runs)]
            wall, cpu, memory = min(f[0] for f in found), min(f[1] for f in found), max(f[2] for f in found)
            aim = "" if target is None else f"   target < {target:g} s {'met' if wall < target else 'NOT MET'}"
            print(f"tracer {what:38} {wall:6.2f} s  {cpu:6.2f} s CPU  {memory:6.0f} MB   nothing kept "
                  f"{min(f[0] for f in bare):5.2f} s{aim}", flush=True)


if __name__ == "__main__":
    main()
