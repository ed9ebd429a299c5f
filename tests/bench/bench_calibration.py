"""Are stated shares right, class by class: every suspect of some hundreds of complaints, with whether it is true.

    python tests/bench/bench_calibration.py FILE [--models FILE …] [--cases N] [--first N] [--seed N] [--observer N]
                                            [--rates own|drawn|placed] [--again FILE]
    python tests/bench/bench_calibration.py FILE … --report

Vehicles, faults and people are those of `bench_hearing.py`. Each case is a line of FILE: what was said, each suspect
with its share, with the part of it that each class of fault has, and whether it is the true repair; and the same of
the ideal observer. Rates as there; `placed`: each place is drawn as often as the tool holds it, too. `--again` hears
the cases of another file once more (another version of the tool), without asking the ideal observer again.

The report has, for each group of cases: how often the true repair was expected to be first (the sum of the shares
stated for the first), and how often it was, in standard deviations of chance; the calibration error as in
`bench_hearing.py`; and for each class of fault how many cases were expected to be of it and how many were.
Classes that the tool has and the bench never draws stand in brackets: what they hold is wrong by construction, if not
in a workshop. So there is a second table "of what is drawn", with the shares that are left when it is known that it
is none of these.

Two faults in one branch are drawn in 4 of 47 vehicles, as published cases have them (`truth/two_faults.py`; not with
`--rates own`). Stated shares sum to one, so what is true of a vehicle goes to one suspect (`truth/repairs.credit`):
to that which names just what is wrong, and of two faults, where one explains all that was said and no suspect names
both, half to each. Before, each suspect was right that named any of it: who states that a lamp and its holder are bad
was right where the lamp is. Ranks count as before: either repair has to be made.

Which of its likely faults a case had is a throw of dice. The ideal observer knows the odds, and "by odds" takes them
in place of the throw: how often the tool's first is right, and its calibration error, with the same people and the
same words, and with less chance: what is left of it, how far odds differ from case to case within a bin, stands in
brackets. Of 450 cases a tool that is right in every bin shows 0.048 by the throw and 0.013 by odds, so that
only by odds 0.03 can be told from nothing. (That is as good as the observer's draws are many.)
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.bench_hearing import MODELS, Case, calibration
from tests.bench.kept import KeptInvestigator
from tests.bench.truth.as_rated import CLASS_OF, places_by_rates, weights_by_rates
from tests.bench.truth.circuit import netlist_of
from tests.bench.truth.faults import WEIGHTS, Key
from tests.bench.truth.further_faults import every
from tests.bench.truth.jobs import drawn
from tests.bench.truth.observer import Observer
from tests.bench.truth.person import sentence, speak
from tests.bench.truth.picture import know
from tests.bench.truth.repairs import credit, right
from tests.bench.truth.two_faults import OF_PUBLISHED, TWO, TwoFaults
from tests.bench.truth.vehicle import read_vehicle
from tracer import Job, TracerError, load_harness
from tracer.circuit.model import Floats
from tracer.inference.branches import Branches
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import Hypothesis

Record = dict[str, Any]
Things = Sequence[Sequence[Key]]  # of each thing that is wrong the right repairs
Odds = tuple[Things, float]  # what may be wrong, and its share with the ideal observer
_LEAST = 0.002  # shares below are summed up as "rest"
_LEAST_ODDS = 2e-4  # of which the ideal observer is asked


def class_of(hypothesis: Hypothesis, branches: Branches) -> str:
    """The bench's class of a hypothesis; in brackets what the bench never draws."""
    if len(hypothesis.faults) > 1:
        return TWO if in_one_branch(hypothesis, branches) else "(several)"
    kind = hypothesis.faults[0].kind
    return CLASS_OF.get(kind, f"({kind})")


def in_one_branch(hypothesis: Hypothesis, branches: Branches) -> bool:
    """Whether these are two faults, and one in the branch of the other."""
    if len(hypothesis.faults) != 2:
        return False
    one, two = hypothesis.faults
    return two.name in branches.beside(one) or one.name in branches.beside(two)


def suspects(diagnosis: Diagnosis, true: Things, odds: Sequence[Odds], branches: Branches) -> list[Record]:
    """Each suspect, how far it is the true repair, what odds the ideal observer gives it, and the share of each class
    of fault in it."""
    repairs = [s.repair for s in diagnosis.suspects]
    correct, chances = np.array(credit(repairs, true)), np.zeros(len(repairs))
    for things, p in odds:
        chances += p * np.array(credit(repairs, things))
    out = []
    for s, is_true, chance in zip(diagnosis.suspects, correct.tolist(), chances.tolist(), strict=True):
        kinds: dict[str, float] = {}
        for row in s.rows:
            name = class_of(diagnosis.hypotheses[row], branches)
            kinds[name] = kinds.get(name, 0.0) + float(diagnosis.share[row])
        if s.share >= _LEAST or is_true:
            out.append({"repair": s.repair, "share": s.share, "right": is_true, "odds": round(chance, 5),
                        "kinds": {k: round(p, 5) for k, p in kinds.items() if p > 1e-4}})
    return out


class Listener:
    """The tool, which has solved a vehicle for one complaint and knows it for the next."""

    def __init__(self, path: Path, folder: Path) -> None:
        self._path, self._file = path, folder / f"{path.stem}.job.yaml"
        self.harness = load_harness(path)
        self._investigator = KeptInvestigator(self.harness)
        self._branches = Branches(self._investigator.predictor.circuit, self._investigator.faults)

    def heard(self, said: Iterable[str], true: Things, odds: Sequence[Odds]) -> Record:
        """What it makes of a complaint; `odds` as the ideal observer has them."""
        self._file.unlink(missing_ok=True)
        job = Job.create(self._file, self._path, "bench")
        for text in said:
            try:
                job.symptom(text)
            except TracerError as error:
                print(f"  refused: {text}: {error}", flush=True)
        told = job._understood.history
        diagnosis = self._investigator.diagnose(told.evidence, story=told.story)
        searches = [(s.repair, *s.along) for s in diagnosis.searches]
        keys = [key for own in true for key in own]
        by_search = next((n for n, every in enumerate(searches, 1) if any(right(r, keys) for r in every)), 0)
        credits = credit([s.repair for s in diagnosis.suspects], true)
        by_repair = next((n for n, (s, own) in enumerate(zip(diagnosis.suspects, credits, strict=True), 1)
                          if own or right(s.repair, keys)), 0)
        return {"rank": by_repair, "search": by_search,
                "suspects": suspects(diagnosis, true, odds, self._branches),
                "undescribed": diagnosis.undescribed}


def collect(args: argparse.Namespace, path: Path, folder: Path) -> Iterable[Record]:
    """The cases of one vehicle."""
    known = know(netlist_of(read_vehicle(path.read_text(encoding="utf-8"))))
    listener = Listener(path, folder)
    weights: Mapping[str, float] = weights_by_rates(listener.harness, known) if args.rates != "own" else WEIGHTS
    places = places_by_rates(listener.harness, known) if args.rates == "placed" else None
    two = None
    if args.rates != "own":
        both = TwoFaults(known.net, every(known.net, weights), weights, places)
        weights = {**weights, TWO: OF_PUBLISHED / (1 - OF_PUBLISHED) * sum(weights.values())}
        two = both.make if both else None
    observer = Observer.of(known, args.observer, int(args.seed), weights, places, two)
    for number in range(args.first, args.first + args.cases):
        rng = random.Random(f"{args.seed} {path.stem} {number}")
        fault, _, found = drawn(known, rng, (), weights, places, two)
        said = speak(known, found, rng)
        best = observer.ranking(said)
        odds = [(c, round(p, 6)) for c, p in observer.odds(said) if p > _LEAST_ODDS]
        yield {
            "vehicle": path.stem, "number": number, "kind": fault.kind, "fault": fault.says, "things": fault.things,
            "said": [sentence(known, s) for s in said],
            "about": [[s.word, len(s.about), s.word == "blows" or all(known.lit(s.at, x) for x in s.about)]
                      for s in said],
            "ideal": next((n for n, (c, _) in enumerate(best, 1) if c[0] in fault.cures), 0),
            "ideal share": sum(p for c, p in best if c[0] in fault.cures), "ideal first": best[0][1] if best else 0.0,
            "ideal kinds": observer.classes(said), "odds": odds,
            **listener.heard([sentence(known, s) for s in said], fault.things, odds),
        }


def again(cases: Sequence[Record], models: Mapping[str, Path], folder: Path) -> Iterable[Record]:
    """The same cases heard once more."""
    for name in dict.fromkeys(case["vehicle"] for case in cases):
        listener = Listener(models[name], folder)
        for case in cases:
            if case["vehicle"] == name:
                odds = [(_things(of), p) for of, p in case["odds"]]
                yield {**case, **listener.heard(case["said"], _things(case["things"]), odds)}


def _things(told: Sequence[Sequence[Sequence[str]]]) -> Things:
    """As they were before they were written to a file."""
    return [[tuple(key) for key in own] for own in told]


# --- the report


def _case(r: Record) -> Case:
    return r["rank"], r["search"], r["ideal"], r["suspects"][0]["share"] if r["suspects"] else 0.0


def given_drawn(r: Record) -> Record:
    """The same with the shares that suspects have where it is known that the fault is of a class that is drawn."""
    kept = []
    for s in r["suspects"]:
        kinds = {k: p for k, p in s["kinds"].items() if not k.startswith("(")}
        kept.append({**s, "kinds": kinds, "share": sum(kinds.values())})
    whole = sum(s["share"] for s in kept) or 1.0
    kept = sorted(({**s, "share": s["share"] / whole} for s in kept), key=lambda s: -s["share"])
    rank = next((n for n, s in enumerate(kept, 1) if s["right"]), 0)
    return {**r, "suspects": kept, "rank": rank}


def _z(expected: float, found: float, variance: float) -> str:
    return f"{(found - expected) / math.sqrt(variance):+5.1f}" if variance > 0 else "    –"


def _by_odds(records: Sequence[Record], stated: Floats) -> str:
    """How often the first is right by the ideal observer's odds, and the calibration error by these."""
    if any("odds" not in s for r in records for s in r["suspects"][:1]):
        return "    –"
    odds = np.array([r["suspects"][0]["odds"] if r["suspects"] else 0.0 for r in records])
    error, chance = error_by_odds(stated, odds)
    return f"{odds.sum():5.1f}   {error:.3f} ({chance:.3f})"


def error_by_odds(stated: Floats, odds: Floats) -> tuple[float, float]:
    """The calibration error by odds, and what it would be on so many cases if in no bin the odds differed from what
    was stated but by chance: by how far they differ from case to case within each."""
    which = np.minimum((10 * stated).astype(int), 9)
    off = stated - odds
    many = np.bincount(which, minlength=10)[which]
    left = off - np.bincount(which, weights=off, minlength=10)[which] / many
    spread = np.sqrt(np.bincount(which, weights=left**2, minlength=10)[which] / np.maximum(many - 1, 1))
    spread = np.where(many > 1, spread, left.std())  # of a case by itself, as of all
    dice = np.random.default_rng(0).normal(size=(400, len(off)))
    found = [np.abs(np.bincount(which, weights=row * spread, minlength=10)).sum() for row in dice]
    error = np.abs(np.bincount(which, weights=off, minlength=10)).sum()
    return float(error / len(off)), float(np.mean(found) / len(off))


def groups(records: Sequence[Record], title: str, of: Callable[[Record], str]) -> str:
    """One row for each group of cases."""
    lines = [f"{title:28} | cases | by repair | by search | ideal     | expected | first | z     | calibration     | "
             "by odds               ",
             f"{'':28} |       | 1st  in 3 | 1st  in 3 | 1st  in 3 |          |       |       | error (chance)  | "
             "first   error (chance)"]
    named: dict[str, list[Record]] = {}
    for r in records:
        named.setdefault(of(r), []).append(r)
    for name, own in [*sorted(named.items()), ("all", list(records))][:None if len(named) > 1 else 1]:
        cases = [_case(r) for r in own]
        ranks, stated = np.array([c[:3] for c in cases]), np.array([c[3] for c in cases])
        first, three = (ranks == 1).mean(axis=0), ((ranks >= 1) & (ranks <= 3)).mean(axis=0)
        came_true = np.array([float(r["suspects"][0]["right"]) if r["suspects"] else 0.0 for r in own])
        error, chance = calibration(stated, came_true)
        shares = " | ".join(f"{a:4.0%} {b:4.0%}" for a, b in zip(first, three, strict=True))
        hit = came_true.sum()
        z = _z(stated.sum(), hit, float((stated * (1 - stated)).sum()))
        lines.append(f"{name:28} | {len(own):5} | {shares} | {stated.sum():8.1f} | {hit:5.1f} | {z} | "
                     f"{error:.3f} ({chance:.3f})   | {_by_odds(own, stated)}")
    return "\n".join(lines)


def classes(records: Sequence[Record]) -> str:
    """How many cases were expected to be of each class of fault, and how many were."""
    expected: dict[str, list[float]] = {}
    ideal: dict[str, float] = {}
    found: dict[str, int] = {}
    for r in records:
        found[r["kind"]] = found.get(r["kind"], 0) + 1
        here: dict[str, float] = {}
        for s in r["suspects"]:
            for k, p in s["kinds"].items():
                here[k] = here.get(k, 0.0) + p
        for k, p in here.items():
            expected.setdefault(k, []).append(p)
        for k, p in r["ideal kinds"].items():
            ideal[k] = ideal.get(k, 0.0) + p
    lines = [f"{'class of fault':28} | expected | were | z     | ideal expected"]
    for k in sorted(expected.keys() | found.keys(), key=lambda k: -sum(expected.get(k, ()))):
        own, were = np.array(expected.get(k, ())), found.get(k, 0)
        if own.sum() >= 0.5 or were:
            z = _z(own.sum(), were, float((own * (1 - own)).sum()))
            lines.append(f"{k:28} | {own.sum():8.1f} | {were:4} | {z} | {ideal.get(k, 0.0):6.1f}")
    return "\n".join(lines)


def shares(records: Sequence[Record]) -> str:
    """Reliability of all stated shares, of the first and of the others."""
    lines = ["stated share  | first: number, expected, true, by odds | others: number, expected, true, by odds"]
    edges = (0.0, 0.01, 0.03, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97, 1.001)
    for low, high in pairwise(edges):
        row = f"{low:5.2f} to {high:4.2f} "
        for which in (slice(0, 1), slice(1, None)):
            found = [s for r in records for s in r["suspects"][which]]
            own = [(s["share"], s["right"], s.get("odds", math.nan)) for s in found if low <= s["share"] < high]
            count, true, odds = (sum(x[k] for x in own) for k in range(3))
            row += f" | {len(own):5} {count:7.1f} {true:7.1f} {odds:7.1f}"
        lines.append(row)
    return "\n".join(lines)


def report(records: Sequence[Record]) -> str:
    def statement(r: Record) -> str:
        word, many, lit = r["about"][0]
        return f"{'one' if many == 1 else 'several'} {word}" + ("" if lit else " unasked")

    def leads(r: Record) -> str:
        kinds = r["suspects"][0]["kinds"] if r["suspects"] else {}
        return max(kinds, key=lambda k: kinds[k]) if kinds else "none"

    def ideal_first(r: Record) -> str:
        return f"{int(10 * min(r['ideal first'], 0.999)) / 10:.1f}"

    drawn_alone = [given_drawn(r) for r in records]
    return "\n\n".join([
        groups(records, "vehicle", lambda r: r["vehicle"]),
        groups(drawn_alone, "of what is drawn", lambda r: r["vehicle"]),
        groups(records, "statements", lambda r: str(len(r["said"]))),
        groups(records, "said first", statement),
        groups(records, "class that leads", leads),
        groups(records, "stated for the first", lambda r: f"{int(10 * min(_case(r)[3], 0.999)) / 10:.1f}"),
        groups(records, "ideal: for its first", ideal_first),
        shares(records), "of what is drawn:\n" + shares(drawn_alone), classes(records)])


def read(paths: Iterable[Path]) -> list[Record]:
    return [json.loads(line) for path in paths for line in path.read_text(encoding="utf-8").splitlines()]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--models", nargs="+", type=Path, default=[MODELS / "rear_end.yaml"])
    parser.add_argument("--cases", type=int, default=40)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--observer", type=int, default=1500)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--rates", choices=("own", "drawn", "placed"), default="placed")
    parser.add_argument("--again", type=Path)
    parser.add_argument("--report", action="store_true")
    args = parser.parse_args()
    if args.report:
        print(report(read(args.files)))
        return 0
    with tempfile.TemporaryDirectory() as name, args.files[0].open("a", encoding="utf-8") as file:
        folder = Path(name)
        models = {p.stem: p for p in MODELS.glob("*.yaml")}
        sources = [again(read([args.again]), models, folder)] if args.again else [
            collect(args, path, folder) for path in args.models]
        for records in sources:
            for record in records:
                file.write(json.dumps(record, ensure_ascii=False) + "\n")
                file.flush()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
