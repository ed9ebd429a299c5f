"""Time and peak memory of the whole process of the commands that people wait for.

    python tests/bench/bench_commands.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"


def measure(*args: str) -> tuple[float, float]:
    """Seconds and MB of one command."""
    begun = time.perf_counter()
    child = subprocess.Popen([sys.executable, "-m", "tracer", *args], stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) == 2:
        sys.exit(f"{args} failed")
    return time.perf_counter() - begun, usage.ru_maxrss / 1024


def main() -> None:
    """Print a table."""
    with tempfile.TemporaryDirectory() as folder:
        job = str(Path(folder) / "job.yaml")
        measure("open", job, "--harness", str(MODEL))
        measure("symptom", job, "left rear reversing lamp dim, left rear tail faint when gear reverse")
        measure("symptom", job, "right rear reversing lamp normal when gear reverse")
        for args in (["--help"], ["check", str(MODEL)], ["suspects", job], ["next", job], ["faults", str(MODEL)]):
            runs = [measure(*args) for _ in range(3)]
            name = " ".join(a for a in args if not a.startswith(folder) and a != str(MODEL))
            print(f"tracer {name:10} {min(r[0] for r in runs):6.2f} s  {max(r[1] for r in runs):6.0f} MB")


if __name__ == "__main__":
    main()
