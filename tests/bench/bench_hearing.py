"""How well complaints are heard: ranks after one to three statements, beside the ideal observer on the same words.

    python tests/bench/bench_hearing.py [--models FILE …] [--cases N] [--observer N] [--seed N]
                                        [--rates own|told|drawn] [--terms] [--gaps N]

Faults, vehicles and people are those of `bench_truth.py`, which share nothing with the tool; nothing is measured. A
case prints a line where the ideal observer, who knows how all was drawn, has the true repair among its first three
and the tool has not. `--observer` is the number of its draws (each place gets at least one; with few it is worse than
an ideal one). Calibration error: of the share stated for the first repair, in ten bins;
in brackets what chance alone makes of it on so many cases if every share is right.

The bench draws rare classes of fault more often than life has them, which the ideal observer knows. `--rates told`
tells the tool too, as base rates of the vehicle; `--rates drawn` draws each class as often as the tool holds it. What
is left between the two then is hearing, and not priors. `--terms` prints for each such case what decides: ln of
prior, statements and silence of the true repair's best hypothesis less those of the leader's. `--gaps N` lists in the
end the N cases in which the tool gave the true repair least beside what the ideal observer gave it.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.truth.as_rated import rates_told, weights_by_rates
from tests.bench.truth.circuit import netlist_of
from tests.bench.truth.faults import WEIGHTS, Key
from tests.bench.truth.jobs import drawn
from tests.bench.truth.observer import Observer
from tests.bench.truth.person import sentence, speak
from tests.bench.truth.picture import know
from tests.bench.truth.repairs import right
from tests.bench.truth.vehicle import read_vehicle
from tracer import Job, TracerError
from tracer.circuit.model import Floats

MODELS = Path(__file__).parents[2] / "harness_models"
Case = tuple[int, int, int, float]  # rank by repair, by search, of the ideal observer; share stated for the first
Gap = tuple[float, str]  # ln of the tool's share of the true repair over the ideal observer's; the case in a line
_LEAST_SHARE = 1e-6  # of which more is told than that it is none


@dataclass(frozen=True)
class Setting:
    """What is heard: the vehicle, who judges it beside the tool, and how often each class of fault is drawn."""

    path: Path
    observer: Observer
    weights: Mapping[str, float]
    seed: str
    terms: bool
    gaps: list[Gap]


def setting(path: Path, args: argparse.Namespace, folder: Path) -> Setting:
    text = path.read_text(encoding="utf-8")
    known = know(netlist_of(read_vehicle(text)))
    harness = Job.create(folder / f"{path.stem}.yaml", path, "bench").harness
    weights: Mapping[str, float] = WEIGHTS
    if args.rates == "told":
        rates = "".join(f"  {kind}: {rate:.6f}\n" for kind, rate in rates_told(harness, known).items())
        path = folder / path.name.replace(".yaml", ".told.yaml")
        path.write_text(f"{text}\nbase rates:\n{rates}", encoding="utf-8")
    elif args.rates == "drawn":
        weights = weights_by_rates(harness, known)
    observer = Observer.of(known, args.observer, int(args.seed), weights)
    return Setting(path, observer, weights, args.seed, args.terms, [])


def terms(job: Job, cures: Sequence[Key]) -> str:
    """ln of each term of the weighing, of the true repair's best hypothesis less those of the leader's."""
    d = job.diagnosis
    true = next((s for s in d.suspects if right(s.repair, cures)), None)
    if true is None:
        return "    the true repair is none of the suspects"
    (a, b), told = (true.rows[0], d.suspects[0].rows[0]), d.loglik.sum(axis=0)
    prior = math.log(d.hypotheses[a].prior / d.hypotheses[b].prior)
    apart = f"prior {prior:+.1f}, told {told[a] - told[b]:+.1f}, silence {d.unsaid[a] - d.unsaid[b]:+.1f}"
    return f"    {true.share:.1%} {d.hypotheses[a].faults[0].name}: {apart} against {d.hypotheses[b].faults[0].name}"


def case(at: Setting, number: int, folder: Path) -> Case:
    """One vehicle with a fault, and what somebody says of it."""
    path, observer = at.path, at.observer
    rng = random.Random(f"{at.seed} {path.stem.removesuffix('.told')} {number}")
    fault, _, found = drawn(observer.known, rng, (), at.weights)
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
    ranking = observer.ranking(said)
    ideal = next((n for n, (cures, _) in enumerate(ranking, 1) if cures[0] in fault.cures), 0)
    words = "; ".join(sentence(observer.known, s) for s in said)
    own = sum(s.share for s in by_repair if right(s.repair, fault.cures))
    best = sum(p for cures, p in ranking if cures[0] in fault.cures)
    gap = math.log(max(own, _LEAST_SHARE) / max(best, _LEAST_SHARE))
    at.gaps.append((gap, f"{path.stem} {number}: {fault.kind}, {fault.says}: {own:.2%}, ideal {best:.1%}; “{words}”, "
                         f"led by {by_repair[0].repair} {by_repair[0].share:.0%}" + ("\n" + terms(job, fault.cures)
                                                                                 if at.terms else "")))
    if 1 <= ideal <= 3 and not 1 <= rank <= 3:
        print(f"  {number}: {fault.kind}, {fault.says}: {rank} ({by_search}), ideal {ideal}; “{words}”, led by "
              f"{by_repair[0].repair} {by_repair[0].share:.0%}", flush=True)
        if at.terms:
            print(terms(job, fault.cures), flush=True)
    return rank, by_search, ideal, by_repair[0].share


def summary(name: str, cases: Sequence[Case]) -> str:
    ranks = np.array([c[:3] for c in cases])
    first, three = (ranks == 1).mean(axis=0), ((ranks >= 1) & (ranks <= 3)).mean(axis=0)
    shares = [f"{a:4.0%} {b:4.0%}" for a, b in zip(first, three, strict=True)]
    error, by_chance = calibration(np.array([c[3] for c in cases]), np.array([c[0] == 1 for c in cases], dtype=float))
    return f"{name:14} | {len(cases):5} | {shares[0]} | {shares[1]} | {shares[2]} | {error:.3f} ({by_chance:.3f})"


def calibration(stated: Floats, hit: Floats) -> tuple[float, float]:
    """The error of shares stated for the first beside whether it was right, and what it would be on so many cases if
    each share were exactly the chance of being right."""
    which = np.minimum((10 * stated).astype(int), 9)

    def error(came_true: Floats) -> float:
        return float(np.abs(np.bincount(which, weights=stated - came_true, minlength=10)).sum() / len(stated))

    chance = np.random.default_rng(0)
    by_chance = [error((chance.random(len(stated)) < stated).astype(float)) for _ in range(400)]
    return error(hit), float(np.mean(by_chance))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--models", nargs="+", type=Path, default=[MODELS / "rear_end.yaml"])
    parser.add_argument("--cases", type=int, default=40)
    parser.add_argument("--observer", type=int, default=600)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--rates", choices=("own", "told", "drawn"), default="own")
    parser.add_argument("--terms", action="store_true")
    parser.add_argument("--gaps", type=int, default=0)
    args = parser.parse_args()
    every: list[Case] = []
    lines, gaps = [], list[Gap]()
    with tempfile.TemporaryDirectory() as folder:
        for path in args.models:
            at = setting(path, args, Path(folder))
            print(f"{path.stem}: ideal observer of {len(at.observer.draws)} draws", flush=True)
            own = [case(at, n, Path(folder)) for n in range(args.cases)]
            every += own
            gaps += at.gaps
            lines.append(summary(path.stem, own))
    print("vehicle        | cases | by repair | by search | ideal     | calibration error")
    print("               |       | 1st  in 3 | 1st  in 3 | 1st  in 3 |")
    print("\n".join([*lines, summary("all", every)]))
    for gap, said in sorted(gaps)[:args.gaps]:
        print(f"ln {gap:+.1f}  {said}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
