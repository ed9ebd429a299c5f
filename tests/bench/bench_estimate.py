"""What a job was estimated to take before it was begun, and what it took: simulated jobs, worked by the plan.

Faults are drawn by base rate, the vehicle is that of `bench_jobs.py` (a battery voltage that the tool is not told).
Whoever works has a pace of his own, and each step goes better or worse: his minutes are drawn about the tool's, by
dice that the tool does not know. A job that is not proven counts with the minutes of tracing by hand on top.

Printed: in how many jobs the minutes lay within the range, below and above it; with `--fit` the factor and the spread
about the plan's ends that would hold four of five of these jobs (to be set in `planning/estimate.py` from other jobs
than those it is then judged by).

    python tests/bench/bench_estimate.py [HARNESS…] [--cases N] [--seed N] [--fit] [--keep FILE]
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.bench.bench_jobs import play, resting_v, symptoms
from tracer.errors import ReadingError
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.observation.evidence import Symptom
from tracer.planning.costs import GIVE_UP_MIN, Standing
from tracer.planning.estimate import AS_PLANNED, SPREAD, End, minutes_within, plan_ends
from tracer.planning.next_step import propose
from tracer.practice.simulated_vehicle import PracticeVehicle

MODELS = Path(__file__).parents[2] / "harness_models"
Row = tuple[list[End], float]
# How far people and their steps differ (of the logarithm; common practice, no source).
PACE, STEP = 0.25, 0.4


def foreseen(investigator: Investigator, seed: int, number: int) -> tuple[list[End], int, int] | None:
    """The ends foreseen for a job drawn by this seed, its fault and its severity; None if nothing shows."""
    dice = random.Random(f"{seed} {number}")
    faults = investigator.faults
    fault = dice.choices(faults, [f.rate for f in faults])[0]
    variant = dice.choices(fault.variants, [v.weight for v in fault.variants])[0]
    eyes = random.Random(number)
    vehicle = PracticeVehicle(investigator.harness, variant.change, resting_v(investigator.harness, eyes), [fault])
    try:
        evidence = symptoms(investigator, vehicle, eyes)
    except ReadingError:  # a look for which nobody has one word
        return None
    if not evidence:
        return None
    first = evidence[-1]
    assert isinstance(first, Symptom)
    diagnosis, standing = investigator.diagnose(evidence), Standing(first.state)
    planned = propose(diagnosis, standing).planned
    assert planned is not None
    return list(plan_ends(planned, diagnosis, standing)), faults.index(fault), fault.variants.index(variant)


def rows_of(harness: str, cases: int, seed: int, keep: str | None = None) -> list[Row]:
    """Ends foreseen and minutes taken, job by job; each written into the file `keep` as it is done."""
    investigator = Investigator(load_harness(harness))
    rows: list[Row] = []
    number = 0
    while len(rows) < cases:
        number += 1
        found = foreseen(investigator, seed, number)
        if found is None:
            continue
        ends, which, severity = found
        fault = investigator.faults[which]
        done = play(investigator, fault, fault.variants[severity], random.Random(number))
        assert done is not None
        minutes = done.minutes + (0.0 if done.proven else GIVE_UP_MIN)
        rows.append((ends, by_hand(minutes, done.tests + 1, random.Random(f"hand {seed} {number}"))))
        if keep:
            with open(keep, "a", encoding="utf-8") as file:
                file.write(json.dumps([[list(e) for e in ends], rows[-1][1]]) + "\n")
    return rows


def by_hand(minutes: float, steps: int, dice: random.Random) -> float:
    """What somebody takes for a job of so many minutes by the tool's tables, in so many steps."""
    pace = math.exp(dice.gauss(0.0, PACE))
    return minutes * pace * float(np.mean([math.exp(dice.gauss(0.0, STEP)) for _ in range(max(steps, 1))]))


def held(rows: Sequence[Row], factor: float, spread: float) -> tuple[float, float, float]:
    """Shares of the jobs that took less than the range, lay within it, and took more."""
    below = within = 0
    for ends, minutes in rows:
        low, _, high = minutes_within(ends, factor, spread)
        below += minutes < low
        within += low <= minutes <= high
    return below / len(rows), within / len(rows), 1 - (below + within) / len(rows)


def fitted(rows: Sequence[Row]) -> tuple[float, float]:
    """Factor and spread with which a tenth of the jobs takes less and a tenth more, as near as that can be had."""
    best = min(
        ((abs(b - 0.1) + abs(a - 0.1) + 0.5 * abs(w - 0.8), f, s)
         for f in np.arange(0.7, 2.01, 0.05) for s in np.arange(0.1, 0.85, 0.05)
         for b, w, a in [held(rows, float(f), float(s))]),
    )
    return float(best[1]), float(best[2])


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    usual = [str(MODELS / f"{n}.yaml") for n in ("rear_end", "trailer_7pin")]
    parser.add_argument("harness", nargs="*", default=usual)
    parser.add_argument("--cases", type=int, default=100, help="jobs on each harness")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fit", action="store_true")
    parser.add_argument("--keep", metavar="FILE", help="write what was foreseen and taken as JSON lines")
    args = parser.parse_args()
    rows: list[Row] = []
    for harness in args.harness:
        begun = time.monotonic()
        own = rows_of(harness, args.cases, args.seed, args.keep)
        rows += own
        below, within, above = held(own, AS_PLANNED, SPREAD)
        ratio = [math.log(m / minutes_within(e)[1]) for e, m in own if m > 0]
        took, mean = np.mean([m for _, m in own]), np.mean([minutes_within(e)[1] for e, _ in own])
        print(f"{Path(harness).stem}: {len(own)} jobs, {took:.0f} min taken on average, expected {mean:.0f}; within "
              f"the range {within:.0%}, below {below:.0%}, above {above:.0%}; taken to expected "
              f"{math.exp(float(np.median(ratio))):.2f} in the middle ({time.monotonic() - begun:.0f} s)", flush=True)
    below, within, above = held(rows, AS_PLANNED, SPREAD)
    print(f"all {len(rows)} jobs: within the range {within:.1%}, below {below:.1%}, above {above:.1%}")
    if args.fit:
        factor, spread = fitted(rows)
        print(f"fits these: factor {factor:.2f}, spread {spread:.2f}; below, within, above "
              + ", ".join(f"{x:.1%}" for x in held(rows, factor, spread)))


if __name__ == "__main__":
    main()
