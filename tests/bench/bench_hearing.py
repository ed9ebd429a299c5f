"""How well complaints are heard: ranks after one to three statements, beside the ideal observer on the same words.

    python tests/bench/bench_hearing.py [--models FILE …] [--cases N] [--observer N] [--seed N]

Faults, vehicles and people are those of `bench_truth.py`, which share nothing with the tool; nothing is measured. A
case prints a line where the ideal observer, who knows how all was drawn, has the true repair among its first three
and the tool has not. `--observer` is the number of its draws (each place gets at least one; with few it is worse than
an ideal one). Calibration error: of the share stated for the first repair, in ten bins.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.truth.circuit import netlist_of
from tests.bench.truth.jobs import drawn
from tests.bench.truth.observer import Observer
from tests.bench.truth.person import sentence, speak
from tests.bench.truth.picture import know
from tests.bench.truth.repairs import right
from tests.bench.truth.vehicle import read_vehicle
from tracer import Job, TracerError

MODELS = Path(__file__).parents[2] / "harness_models"
Case = tuple[int, int, int, float]  # rank by repair, by search, of the ideal observer; share stated for the first


def case(path: Path, observer: Observer, number: int, seed: str, folder: Path) -> Case:
    """One vehicle with a fault, and what somebody says of it."""
    rng = random.Random(f"{seed} {path.stem} {number}")
    fault, _, found = drawn(observer.known, rng)
    said = speak(observer.known, found, rng)
    job = Job.create(folder / f"{path.stem}-{number}.yaml", path, "bench")
    for statement in said:
        try:
            job.symptom(sentence(observer.known, statement))
        except TracerError as error:
            print(f"  refused: {sentence(observer.known, statement)}: {error}")
    by_repair = job.suspects()
    rank = next((n for n, s in enumerate(by_repair, 1) if right(s.repair, fault.cures)), 0)
    searches = [(s.repair, *s.along) for s in job.diagnosis.searches]
    by_search = next((n for n, all_ in enumerate(searches, 1) if any(right(r, fault.cures) for r in all_)), 0)
    ideal = observer.rank(said, fault.cures)
    if 1 <= ideal <= 3 and not 1 <= rank <= 3:
        words = "; ".join(sentence(observer.known, s) for s in said)
        print(f"  {number}: {fault.kind}, {fault.says}: {rank} ({by_search}), ideal {ideal}; “{words}”, led by "
              f"{by_repair[0].repair} {by_repair[0].share:.0%}", flush=True)
    return rank, by_search, ideal, by_repair[0].share


def summary(name: str, cases: Sequence[Case]) -> str:
    ranks = np.array([c[:3] for c in cases])
    first, three = (ranks == 1).mean(axis=0), ((ranks >= 1) & (ranks <= 3)).mean(axis=0)
    shares = [f"{a:4.0%} {b:4.0%}" for a, b in zip(first, three, strict=True)]
    return f"{name:14} | {len(cases):5} | {shares[0]} | {shares[1]} | {shares[2]} | {calibration(cases):.3f}"


def calibration(cases: Sequence[Case]) -> float:
    stated, hit = np.array([c[3] for c in cases]), np.array([c[0] == 1 for c in cases], dtype=float)
    which = np.minimum((10 * stated).astype(int), 9)
    return float(np.abs(np.bincount(which, weights=stated - hit, minlength=10)).sum() / len(cases))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--models", nargs="+", type=Path, default=[MODELS / "rear_end.yaml"])
    parser.add_argument("--cases", type=int, default=40)
    parser.add_argument("--observer", type=int, default=600)
    parser.add_argument("--seed", default="1")
    args = parser.parse_args()
    every: list[Case] = []
    lines = []
    with tempfile.TemporaryDirectory() as folder:
        for path in args.models:
            known = know(netlist_of(read_vehicle(path.read_text(encoding="utf-8"))))
            observer = Observer.of(known, args.observer, int(args.seed))
            print(f"{path.stem}: ideal observer of {len(observer.draws)} draws", flush=True)
            own = [case(path, observer, n, args.seed, Path(folder)) for n in range(args.cases)]
            every += own
            lines.append(summary(path.stem, own))
    print("vehicle        | cases | by repair | by search | ideal     | calibration error")
    print("               |       | 1st  in 3 | 1st  in 3 | 1st  in 3 |")
    print("\n".join([*lines, summary("all", every)]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
