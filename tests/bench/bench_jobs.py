"""How well whole jobs go: plant faults, let the tool work, count.

For a sample of the faults of a harness (drawn uniformly over kinds, and again by base rate), a
simulated vehicle with that fault, a battery voltage the tool is not told and a wire-length error
answers the symptoms and every proposed test. Printed: rank of the true repair after the symptoms,
share proven at the end, minutes, tests, engine starts and wrong repairs tried.

    python tests/bench/bench_jobs.py [HARNESS] [--cases N] [--seed N]
"""

from __future__ import annotations

import argparse
import random
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tracer.faults import Fault, Variant
from tracer.faults.mending import mended_by
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import basic_states
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom
from tracer.observation.words.readings import parse_value
from tracer.planning.costs import PROVE_MIN, Standing, after_test, minutes_of
from tracer.planning.next_step import propose
from tracer.practice.simulated_vehicle import PracticeVehicle

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"


@dataclass
class Outcome:
    """How one job went."""

    fault: str
    rank: int
    proven: bool
    wrong: int
    tests: int
    minutes: float
    starts: int
    seconds: float


def symptoms(investigator: Investigator, vehicle: PracticeVehicle, rng: random.Random) -> list[Evidence]:
    """Up to two states in which something is wrong, up to three lamps in each, as a person would say."""
    healthy = PracticeVehicle(investigator.harness, type(vehicle.truth)())
    found: list[Evidence] = []
    states = basic_states(investigator.harness)
    rng.shuffle(states)
    for state in states:
        good, bad = healthy.looks(state), vehicle.looks(state)
        odd = [lamp for lamp in good if good[lamp] != bad[lamp]]
        if not odd:
            continue
        seen = []
        for lamp in odd[:3]:
            value = parse_value(bad[lamp], "look", lamp).seen
            assert value is not None
            # A lamp that flashes on a sound vehicle and is merely lit now is not called normal: it does not flash.
            still = "flash" in good[lamp] and value.flash is None and "dark" not in value.words
            seen.append(LampSeen(lamp, value.words, "steady" if still else value.flash))
        found.append(Symptom(state, tuple(seen)))
        if len(found) == 2:
            break
    return found


def resting_v(harness: Harness, rng: random.Random) -> float:
    """A battery at rest, between half charged and full (V)."""
    return rng.uniform(11.9, 12.7) * harness.system_v / 12


def parts_of(fault: Fault) -> frozenset[str]:
    """Repairs that together mend what is one fault of two lamps; none of any other."""
    if fault.kind != "both lamps dead":
        return frozenset()
    return frozenset(f"new lamp: {bulb}" for bulb in fault.repair.removeprefix("new lamps: ").split(" and "))


def play(investigator: Investigator, fault: Fault, variant: Variant, rng: random.Random) -> Outcome | None:
    """One job from symptoms to proof; None if the fault shows nowhere."""
    begun = time.monotonic()
    vehicle = PracticeVehicle(investigator.harness, variant.change, resting_v(investigator.harness, rng), [fault])
    evidence = symptoms(investigator, vehicle, rng)
    if not evidence:
        return None
    harness = investigator.harness
    first = evidence[-1]
    assert isinstance(first, Symptom)
    standing, minutes, tests, starts, wrong = Standing(first.state), 0.0, 0, 0, 0
    tried: dict[str, float] = {}
    diagnosis = investigator.diagnose(evidence)
    mends, parts, made = mended_by(investigator.faults)[fault.name], parts_of(fault), set[str]()
    rank = next((n for n, s in enumerate(diagnosis.suspects, 1) if s.repair == fault.repair), 10**6)
    for _ in range(25):
        step = propose(diagnosis, standing)
        if step.kind == "test" or (step.kind == "repair" and step.test is not None):
            test = step.test
            assert test is not None
            minutes += minutes_of(test, standing, harness)
            starts += test.state.engine_running and not standing.state.engine_running
            standing = after_test(test, standing, harness)
            tests += 1
            evidence.append(Reading(test, parse_value(vehicle.answer(test), test.kind, test.lamp)))
        elif step.kind == "repair" and step.suspect is not None:
            minutes += step.suspect.best.repair_min + PROVE_MIN
            made.add(step.suspect.repair)
            # Whoever renews a wire renews its terminals; who has renewed one lamp after the other has renewed both.
            if step.suspect.repair in mends or (parts and parts <= made):
                return Outcome(fault.name, rank, True, wrong, tests, minutes, starts, time.monotonic() - begun)
            wrong += step.suspect.repair not in parts
            tried[step.suspect.repair] = 1e-6
        else:
            break
        diagnosis = investigator.diagnose(evidence, discount=tried)
    return Outcome(fault.name, rank, False, wrong, tests, minutes, starts, time.monotonic() - begun)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("harness", nargs="?", default=str(MODEL))
    parser.add_argument("--cases", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--by", choices=("kind", "rate"), default="kind")
    args = parser.parse_args()
    rng = random.Random(args.seed)
    investigator = Investigator(load_harness(args.harness))
    kinds: dict[str, list[Fault]] = {}
    for fault in investigator.faults:
        kinds.setdefault(fault.kind, []).append(fault)
    outcomes: list[Outcome] = []
    silent = 0
    while len(outcomes) + silent < args.cases:
        if args.by == "kind":
            fault = rng.choice(kinds[rng.choice(sorted(kinds))])
        else:
            fault = rng.choices(investigator.faults, [f.rate for f in investigator.faults])[0]
        variant = rng.choices(fault.variants, [v.weight for v in fault.variants])[0]
        outcome = play(investigator, fault, variant, rng)
        if outcome is None:
            silent += 1
            continue
        outcomes.append(outcome)
        if not outcome.proven or outcome.wrong:
            print(f"  {outcome}  ({variant.says})", flush=True)
    ranks = np.array([o.rank for o in outcomes])
    print(f"{len(outcomes)} jobs ({silent} faults that show nowhere left out), by {args.by}")
    print(f"true repair first after symptoms {np.mean(ranks == 1):.0%}, in the first three {np.mean(ranks <= 3):.0%}")
    print(f"proven {np.mean([o.proven for o in outcomes]):.1%}, wrong repairs a job "
          f"{np.mean([o.wrong for o in outcomes]):.3f}")
    print(f"tests {np.mean([o.tests for o in outcomes]):.2f}, minutes {np.mean([o.minutes for o in outcomes]):.1f}, "
          f"engine starts {sum(o.starts for o in outcomes)}, "
          f"seconds a job {np.mean([o.seconds for o in outcomes]):.1f}")


if __name__ == "__main__":
    main()
