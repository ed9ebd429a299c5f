"""Seconds of the commands on a job of 1,000 entries: readings at a few terminals, symptoms, notes, withdrawals.

    python tests/bench/bench_large_job.py [entries]
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tracer.harness.file.text import load_harness
from tracer.job import file as job_file
from tracer.job.job import Job
from tracer.job.text import WITHDRAWN, Event
from tracer.observation.words.readings import parse_test, parse_value, test_as_data, value_as_data
from tracer.observation.words.symptoms import parse_symptom, symptom_as_data

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
TERMINALS = ("C1.5", "C2.4", "C2.5", "left rear.earth", "right rear.reversing", "C7.2", "E4", "C1.1")


def large_job(folder: Path, entries: int, seed: int = 1) -> Path:
    """A job file with that many entries on an invented pick-up, with a lost earth behind them."""
    path, model, rng = folder / "job.yaml", folder / MODEL.name, random.Random(seed)
    shutil.copy(MODEL, model)
    harness = load_harness(model)
    made = Job.create(path, model, "Invented pick-up", "reversing lamp weak")
    seen = ("left rear reversing lamp dim, left rear tail faint when gear reverse",
            "right rear reversing lamp normal when gear reverse")
    time, events = datetime(2026, 1, 5, 8, tzinfo=UTC), list[Event]()
    while len(events) < entries:
        n, turn = len(events) + 1, len(events) % 10
        time += timedelta(minutes=1)
        if turn in (0, 1):
            events.append(Event(n, time, "symptom", symptom_as_data(parse_symptom(seen[turn], harness))))
        elif turn == 8:
            events.append(Event(n, time, "note", {"text": "bootlid trim off"}))
        elif turn == 9:
            events.append(Event(n, time, WITHDRAWN, {"entry": n - 1}))
        else:
            test = parse_test(f"volts {rng.choice(TERMINALS)} when gear reverse", harness)
            value = parse_value("3.4 V" if test.plus in ("C2.5", "left rear.earth", "E4") else "11.9 V", "volts", "")
            events.append(Event(n, time, "reading", {"test": test_as_data(test), "value": value_as_data(value)}))
    path.unlink()
    job_file.create(path, made.record.header, events)
    return path


def main() -> None:
    """Print a table."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    from tests.bench.bench_commands import spent

    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        job = str(large_job(Path(folder), entries))
        print(f"{entries} entries, {Path(job).stat().st_size / 1000:.0f} kB")
        reading = ("reading", job, "volts C1.5 when gear reverse", "11.9 V")
        for args in (("suspects", job), ("next", job), reading, ("report", job, "-o", f"{folder}/report.html")):
            seconds, cpu, mb = spent(*args)
            print(f"tracer {args[0]:10} {seconds:6.2f} s  {cpu:6.2f} s CPU  {mb:6.0f} MB", flush=True)


if __name__ == "__main__":
    main()
