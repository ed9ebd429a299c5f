"""Whole jobs on vehicles that ngspice answers for: the tool beside the habits of the workshop.

Faults of every harness model, drawn evenly over their kinds (or by base rate). The evidence comes from ngspice with
wire lengths, lamps, battery, contacts, eye and meter that the tool is not told (`spice_vehicle.py`). In
the same job, with the same minutes for everything: the tool; half-splitting; the most probable part first;
the tool's ranking without tests; random tests, and two stricter ones: random of the tests that the tool has picked
out, and random of those that tell something (`habits.py` says how each works).

A repair is right if it is the true one or the simulated vehicle is cured by it. Anything else counts as a wrong part
where it renews or remakes something (lamp, fuse, wire, splice, switch, unit), and is counted apart as cleaned or
refitted in vain where it does not (earth, holder, way, plug, adjustment).

    python tests/bench/bench_habits.py [--cases N] [--seed N] [--by kind|rate] [--models NAME ...] [--even] [--show]
"""

from __future__ import annotations

import argparse
import random
import signal
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.habits import (
    Pool,
    at_random,
    evenly,
    half_splitting,
    likeliest_first,
    most_probable_first,
    ours,
)
from tests.bench.kept import KeptInvestigator
from tests.bench.ledger import Ledger, fresh, symptoms_of
from tests.bench.spice_vehicle import SpiceVehicle
from tests.ngspice import NoOperatingPointError
from tracer.faults import Fault, list_faults
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Symptom
from tracer.planning.candidates import Candidates
from tracer.planning.costs import Standing
from tracer.planning.cures import cures, rows_to_plan_with
from tracer.planning.engine import entropy_bits, information_gain

MODELS = Path(__file__).parents[2] / "harness_models"
TARGETS = {"half-splitting": 0.6, "most probable first": 0.5, "random tests": 0.35}
_EVEN = "the tool, even costs"
_LEAST_SHARE = 1e-4  # ten such tests and more are not asked of anybody
_RANDOM: dict[str, Pool] = {"random tests": "any", "random near tests": "near", "random telling tests": "telling"}


@dataclass
class Tally:
    """What the jobs came to. `bound`: tests at least needed where faults come as the belief says; `own_bound`: the
    same for the faults drawn; `firsts`: rank of the true repair after the symptoms."""

    done: dict[str, list[Ledger]] = field(default_factory=dict)
    bound: list[float] = field(default_factory=list)
    own_bound: list[float] = field(default_factory=list)
    firsts: list[int] = field(default_factory=list)
    silent: int = 0
    unsolved: int = 0


def tests_at_least(diagnosis: Diagnosis, true_share: float) -> tuple[float, float]:
    """Tests that nobody can do with less of, on average: entropy of the repairs over the most bits that any test
    tells about them. That is the average over faults as common as the belief says. Where they are drawn evenly over
    their kinds, rare ones come more often than that: what it takes to find this very one, if every test tells the
    most there is, is the second number (-log2 of its share in place of the entropy)."""
    rows, shares = rows_to_plan_with(diagnosis)
    every = list(Candidates(diagnosis, rows).all())
    _, label = cures(diagnosis, rows)
    most = max([0.05, *(information_gain(shares, label, c.likelihood) for c in every)])
    return entropy_bits(np.bincount(label, weights=shares)) / most, -np.log2(max(true_share, _LEAST_SHARE)) / most


def cases(args: argparse.Namespace) -> list[tuple[str, Fault, int]]:
    """(model, fault, number of its severity), evenly over models and kinds."""
    rng = random.Random(args.seed)
    out: list[tuple[str, Fault, int]] = []
    paths = [p for p in sorted(MODELS.glob("**/*.yaml")) if not args.models or p.stem in args.models]
    faults: dict[str, tuple[Fault, ...]] = {}
    for path in paths:
        try:
            harness = load_harness(path)
        except Exception as error:  # an overlay is no harness
            print(f"left out: {path.name}: {error}")
            continue
        if harness.lamps():
            faults[str(path)] = list_faults(harness)
    while len(out) < args.cases:
        for name, own in faults.items():
            kinds: dict[str, list[Fault]] = {}
            for f in own:
                kinds.setdefault(f.kind, []).append(f)
            if args.by == "kind":
                fault = rng.choice(kinds[rng.choice(sorted(kinds))])
            else:
                fault = rng.choices(own, [f.rate for f in own])[0]
            severity = rng.choices(range(len(fault.variants)), [v.weight for v in fault.variants])[0]
            out.append((name, fault, severity))
    # Vehicle by vehicle, the small ones first, the drawn order kept.
    return sorted(out[: args.cases], key=lambda c: (len(faults[c[0]]), c[0]))


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--by", choices=("kind", "rate"), default="kind")
    parser.add_argument("--models", nargs="*", default=[])
    parser.add_argument("--case", type=int, nargs="*", default=[], help="only these of the cases drawn")
    parser.add_argument("--only", action="store_true", help="the tool alone")
    parser.add_argument("--even", action="store_true", help="the tool also as if every test cost the same")
    parser.add_argument("--random-every", type=int, default=1, help="random tests in every N-th job only (slow)")
    parser.add_argument("--show", action="store_true", help="every step of jobs that went wrong")
    parser.add_argument("--all", action="store_true", help="every step of all jobs")
    args = parser.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # stopped from outside: report what there is
    investigators: dict[str, Investigator] = {}
    tally = Tally()
    begun = time.monotonic()
    try:
        for number, case in enumerate(cases(args)):
            if args.case and number not in args.case:
                continue
            one_job(args, number, case, investigators, tally)
    except KeyboardInterrupt:
        print("stopped early")
    finally:
        report(tally, args.by)
        print(f"{time.monotonic() - begun:.0f} s")
    return 0


def one_job(
    args: argparse.Namespace, number: int, case: tuple[str, Fault, int], investigators: dict[str, Investigator],
    tally: Tally,
) -> None:
    """One vehicle with one fault, worked on by the tool and by every habit."""
    path, fault, severity = case
    if path not in investigators:
        investigators.clear()  # jobs come vehicle by vehicle: what was kept of the last one is of no use any more
        investigators[path] = KeptInvestigator(load_harness(path))
    investigator = investigators[path]
    rng = random.Random(f"{args.seed} {number}")
    try:
        vehicle = SpiceVehicle(investigator.harness, fault.variants[severity].change, rng, fault=fault)
        evidence = symptoms_of(vehicle, investigator, rng)
    except NoOperatingPointError:
        tally.unsolved += 1
        return
    if not evidence:
        tally.silent += 1
        return
    assert isinstance(evidence[-1], Symptom)
    ledger = Ledger(investigator.harness, fault, Standing(evidence[-1].state), investigator.faults, number)
    diagnosis = investigator.diagnose(evidence)
    tally.firsts.append(next((n for n, s in enumerate(diagnosis.suspects, 1) if s.repair == fault.repair), 10**6))
    true_share = next((s.share for s in diagnosis.suspects if s.repair == fault.repair), 0.0)
    bound, own_bound = tests_at_least(diagnosis, true_share)
    tally.bound.append(bound)
    tally.own_bound.append(own_bound)
    books = {"the tool": fresh(ledger)}
    ours(investigator, vehicle.copy(), books["the tool"], evidence, diagnosis)
    if args.even:
        books[_EVEN] = fresh(ledger)
        evenly(investigator, vehicle.copy(), books[_EVEN], evidence, diagnosis)
    if not args.only:
        names = ["half-splitting", "most probable first", "ranking, no tests"]
        names += [*_RANDOM] if number % args.random_every == 0 else []
        for name in names:
            books[name] = fresh(ledger)
        half_splitting(investigator, vehicle.copy(), books["half-splitting"], evidence)
        most_probable_first(investigator, vehicle.copy(), books["most probable first"], evidence)
        likeliest_first(vehicle.copy(), books["ranking, no tests"], diagnosis)
        for name, pool in _RANDOM.items():
            if name in books:
                at_random(investigator, vehicle.copy(), books[name], evidence, diagnosis, rng, pool)
    for name, book in books.items():
        tally.done.setdefault(name, []).append(book)
    own = books["the tool"]
    spent = ", ".join(f"{name} {book.minutes:.0f}" for name, book in books.items())
    print(f"{Path(path).stem}: {fault.name}: min: {spent}; tests {own.tests}", flush=True)
    if args.all or not own.proven or own.wrong:
        print(f"  {Path(path).stem} case {number}: {fault.name} ({fault.variants[severity].says}): "
              f"{'proven' if own.proven else 'NOT PROVEN'}, wrong {own.wrong}, in vain {own.cleaned}", flush=True)
        if args.show or args.all:
            print("      " + "; ".join(
                f"{investigator.harness.say_state(e.state)}: {', '.join(s.says() for s in e.seen)}"
                for e in evidence if isinstance(e, Symptom)))
            print("\n".join(f"      {line}" for line in own.log), flush=True)


def report(tally: Tally, by: str) -> None:
    """The figures of all jobs together."""
    done, bound, firsts = tally.done, tally.bound, tally.firsts
    silent, unsolved = tally.silent, tally.unsolved
    jobs = len(firsts)
    print(f"{jobs} jobs by {by} (left out: {silent} faults that show nowhere, {unsolved} without an operating point)")
    rank = np.array(firsts)
    print(f"true repair first after symptoms {np.mean(rank == 1):.0%}, in the first three {np.mean(rank <= 3):.0%}")
    mine = done.get("the tool", [])
    if not mine:
        return
    for name, books in done.items():
        minutes = np.array([b.minutes for b in books])
        wrong = [len(b.wrong) for b in books]
        own = np.array([b.truth.repair_min for b in books])
        line = (
            f"{name:<20} {minutes.mean():6.1f} min (median {np.median(minutes):.1f}; without the right repair's "
            f"own {np.mean(minutes - own):.1f}), proven {np.mean([b.proven for b in books]):.1%}, jobs with a wrong "
            f"part {np.mean(np.array(wrong) > 0):.1%} ({np.mean(wrong):.2f} a job), with something sound cleaned or "
            f"refitted {np.mean([bool(b.cleaned) for b in books]):.1%}, tests "
            f"{np.mean([b.tests for b in books]):.2f}, engine starts {sum(b.starts for b in books)}"
        )
        if name != "the tool":
            same_jobs = np.mean([b.minutes for b in mine if b.number in {c.number for c in books}])
            line += f", the tool takes {same_jobs / minutes.mean():.2f} of it"
            line += f" (target {TARGETS[name]})" if name in TARGETS else ""
        print(line)
    tests, bound = np.array([b.tests for b in mine]), bound[: len(mine)]  # a job stopped early has no steps
    print(f"tests {tests.mean():.2f}, entropy bound {np.mean(bound):.2f}: ratio {tests.mean() / np.mean(bound):.2f}, "
          f"difference {np.mean(tests - bound):.2f} (target 1.3)")
    for_these = np.mean(tally.own_bound[: len(mine)])
    print(f"  bound for the very faults drawn {for_these:.2f}: ratio {tests.mean() / for_these:.2f}")
    even = np.array([b.tests for b in done.get(_EVEN, [])])
    if len(even) == len(bound):
        print(f"tests {even.mean():.2f} where every test is taken to cost the same and nothing is confirmed: ratio "
              f"{even.mean() / np.mean(bound):.2f}, difference {np.mean(even - bound):.2f}")
    for purpose in ("choosing", "confirming", "after a repair in vain"):
        each = [b.spent.get(purpose, []) for b in mine]
        print(f"  of these {purpose}: {np.mean([len(x) for x in each]):.2f} a job, "
              f"{np.mean([sum(x) for x in each]):.1f} min; in {np.mean([bool(x) for x in each]):.0%} of the jobs")
    least = np.mean([b.bound for b in mine])
    print(f"minutes {np.mean([b.minutes for b in mine]):.1f}, expected from the symptoms on "
          f"{np.mean([b.expected for b in mine]):.1f}, no plan can expect less than {least:.1f} (cheapest step times "
          f"entropy, and the repair): ratio {np.mean([b.minutes for b in mine]) / least:.2f}")
    kinds = Counter(b.truth.kind for b in mine if b.wrong or not b.proven)
    if kinds:
        print("failures by kind: " + ", ".join(f"{k} {n}" for k, n in kinds.most_common()))


if __name__ == "__main__":
    sys.exit(main())
