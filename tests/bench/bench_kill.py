"""Kill a program that appends to a job file 200 times at random moments, and print what was left.

Run: python tests/bench/bench_kill.py [kills] [seed]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tracer.job.file import create, read


def main() -> None:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    from tests.job.test_job_file import HEADER, kill_while_appending

    kills, seed = [*map(int, sys.argv[1:]), *(200, 2)[len(sys.argv) - 1 :]]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        create(path, HEADER)
        started = time.perf_counter()
        seen = kill_while_appending(path, kills, seed)
        for what, count in seen.items():
            print(f"{what}: {count}")
        print(f"events in the file: {len(read(path).events)} in {path.stat().st_size} bytes")
        print(f"every acknowledged event was there after each kill; {time.perf_counter() - started:.1f} s")


if __name__ == "__main__":
    main()
