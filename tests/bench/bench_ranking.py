"""How well symptoms alone rank the true fault, over every fault of the harness models.

    python tests/bench/bench_ranking.py [MODEL …] [--states N] [--cases N] [--severities] [--searched N] [--pairs N]

A case is a fault at one of its severities. The symptoms are what a person would say of the simulated
vehicle in every state that takes under two minutes to set up: each lamp that is not as it should be, and
"everything else normal". The same again with a tenth of the judgements wrong (any other word), and with three
tenths of them missing. The rank is by group: suspects that look the same in all those states count as one.

By default every fault is a case, in the first 24 of those states (`--states 0`: all of them). The singles are
weighed from kept likelihoods (`kept_ranking.py`). `--check N` weighs every Nth by the real `Investigator` too, which
must agree to 1e-9 on the same simulation, and to 1e-6 on its own, whose last digits differ. `--searched N` weighs N
cases a model, drawn kind by kind in turn so that rare kinds are not drowned by lamps, with the search for pairs; the
two-fault cases always are. Calibration and Brier score use the cases weighted by their base rates.
"""

from __future__ import annotations

import argparse
import sys
import time
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.kept_ranking import FLASHES, KeptRanking, Searching, seen_as
from tracer.checking.survey import states_up_to_pairs
from tracer.circuit.model import NO_CHANGE, Change
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.evidence import WORDS, LampSeen, Symptom, Test
from tracer.planning.costs import LOOK_MIN, Standing, minutes_of

MODELS = Path(__file__).parents[2] / "harness_models"
SET_UP_MIN = 2.0
EXCLUDED = 1e-3  # a true group with less than this share is called excluded
RANKED, SCORED = 30, 40  # leading suspects that are put into groups; that the Brier score counts one by one
EQUAL = 1e-9
REGIMES = {"as simulated": (0.0, 0.0), "10 % wrong": (0.1, 0.0), "30 % missing": (0.0, 0.3)}


def quick_states(harness: Harness, most: int) -> list[VehicleState]:
    """The states up to two controls away from rest that are set up within two minutes, fewest controls first."""
    rest = Standing(harness.state({}))
    lamp = harness.lamps()[0].lamp
    return [
        s for s in states_up_to_pairs(harness, None)
        if minutes_of(Test("look", s, lamp=lamp), rest, harness) - LOOK_MIN < SET_UP_MIN
    ][: most or None]


@dataclass(frozen=True)
class Case:
    """One true hypothesis, and how it was ranked in one regime.

    Attributes:
        weight: Base rate.
        rank: Of the true group, 0 if it is not among the first.
        share: Of the true group.
        first: Share of the first group.
        right: The first group is the true one.
    """

    kind: str
    truth: Hypothesis
    weight: float
    rank: int = 0
    share: float = 0.0
    first: float = 0.0
    right: bool = False
    brier: float = 0.0
    note: str = ""


@dataclass(frozen=True)
class Ranked:
    """One suspect: what mends it, its share, its likeliest hypothesis, the set of those that look like that one."""

    repair: str
    share: float
    best: Hypothesis
    alike: int


def symptoms(
    kept: KeptRanking, change: Change, wrong: float, missing: float, rng: np.random.Generator
) -> list[Symptom]:
    """What a person would say of the vehicle, state by state, states with something odd first."""
    shape = len(kept.states), len(kept.lamps)
    usual, now = (kept.looks_of(c).reshape(shape) for c in (NO_CHANGE, change))
    # Lit all the time where it should flash.
    flashes, plain = usual % len(FLASHES) > 0, now % len(FLASHES) == 0
    now = np.where(flashes & plain & (now > 0), now + FLASHES.index("steady"), now)
    odd = now != usual
    passed_over = odd & (rng.random(shape) < missing)
    # Who has not looked at one of them cannot speak of all others.
    others = (rng.random(shape[0]) >= missing) & ~passed_over.any(axis=1)
    # One lamp in ten of the normal ones is judged by itself at all.
    misjudged = rng.random(shape) < np.where(odd, wrong, wrong / 10)
    said = (odd & ~passed_over) | misjudged & ~odd
    found: list[Symptom] = []
    for k, state in enumerate(kept.states):
        each = [
            another_word(kept.lamps[i], now[k, i], rng) if misjudged[k, i] else seen_as(kept.lamps[i], now[k, i])
            for i in np.flatnonzero(said[k])
        ]
        if each or others[k]:
            found.append(Symptom(state, tuple(each), bool(others[k]), asked=True))  # sent to look at every lamp
    return sorted(found, key=lambda s: not s.seen)


def another_word(lamp: str, look: int, rng: np.random.Generator) -> LampSeen:
    """Any other word than the true one."""
    true = WORDS[int(look) // len(FLASHES)]
    return LampSeen(lamp, frozenset([str(rng.choice([w for w in WORDS if w != true]))]))


def ranked_singles(
    kept: KeptRanking, evidence: Sequence[Symptom], check: bool
) -> tuple[list[Ranked], float]:
    """The leading suspects of single faults, and the share of "not described"."""
    weighed = kept.weigh(evidence)
    assert abs(weighed.share.sum() + weighed.undescribed - 1) < EQUAL
    for real, allowed in ((Searching(kept), EQUAL), (Investigator(kept.harness), 1e-6)) if check else ():
        d = real.diagnose(evidence, pairs=False)
        assert [h.repair for h in d.hypotheses] == [h.repair for h in kept.singles]
        gap = max(np.abs(d.share - weighed.share).max(), abs(d.undescribed - weighed.undescribed))
        assert gap < allowed, gap
    return [
        Ranked(kept.singles[row].repair, share, kept.singles[row], int(kept.alike[kept.change_of[row]]))
        for _, share, row in kept.by_repair(weighed.share, SCORED)
    ], weighed.undescribed


def ranked_searched(
    kept: KeptRanking, investigator: Searching, evidence: Sequence[Symptom]
) -> tuple[list[Ranked], float]:
    """The leading suspects with the search for pairs."""
    d = investigator.diagnose(evidence)
    assert abs(d.share.sum() + d.undescribed - 1) < EQUAL
    leading = d.suspects[:SCORED]
    alike = kept.alike_of([s.best.change for s in leading])
    return [Ranked(s.repair, s.share, s.best, a) for s, a in zip(leading, alike, strict=True)], d.undescribed


def judge(kept: KeptRanking, case: Case, suspects: Sequence[Ranked], undescribed: float) -> Case:
    """Rank and share of the true group: a suspect whose repair is the one that mends the truth, or that looks the
    same in every state. Where "not described" has nearly all, the list of the least bad is ranked just the same."""
    alike, = kept.alike_of([case.truth.change])
    hits = [s.repair == case.truth.repair or s.alike == alike for s in suspects]
    groups: dict[int, tuple[float, bool]] = {}
    for s, hit in list(zip(suspects, hits, strict=True))[:RANKED]:
        share, old = groups.get(s.alike, (0.0, False))
        groups[s.alike] = share + s.share, old or hit
    order = sorted(groups.values(), key=lambda g: -g[0])
    rank = next((n for n, (_, hit) in enumerate(order, 1) if hit), 0)
    share = sum(share for share, hit in order if hit)
    right = sum(s.share for s, hit in zip(suspects, hits, strict=True) if hit)
    wrong = [undescribed, *(s.share for s, hit in zip(suspects, hits, strict=True) if not hit)]
    top = suspects[0]
    note = (f"rank {rank}, share {share:.4f}; first {top.share:.3f} {top.best.says()}; "
            f"undescribed {undescribed:.3f}")
    return replace(
        case, rank=rank, share=share, first=order[0][0], right=order[0][1],
        brier=(1 - right) ** 2 + sum(p * p for p in wrong), note=note,
    )


def single_cases(kept: KeptRanking, each_severity: bool, rng: np.random.Generator) -> tuple[list[Case], int]:
    """Every fault that shows somewhere, at one severity drawn by its weight or at each, kind by kind in turn; and how
    many show nowhere."""
    by_fault: dict[str, list[int]] = {}
    for row, h in enumerate(kept.singles):
        by_fault.setdefault(h.faults[0].name, []).append(row)
    kinds: dict[str, list[str]] = {}
    for name, rows in by_fault.items():
        kinds.setdefault(kept.singles[rows[0]].faults[0].kind, []).append(name)
    for names in kinds.values():
        rng.shuffle(names)
    order = [names[n] for n in range(max(map(len, kinds.values()))) for names in kinds.values() if n < len(names)]
    silent = kept.alike[kept.change_of] == kept.alike[kept.healthy]
    out, unseen = [], 0
    for name in order:
        rows = by_fault[name]
        weight = kept.prior[rows]
        drawn = rows if each_severity else [rows[int(rng.choice(len(rows), p=weight / weight.sum()))]]
        for row in drawn:
            h = kept.singles[row]
            if silent[row]:
                unseen += 1
            else:
                out.append(Case(h.faults[0].kind, h, float(h.prior if each_severity else weight.sum())))
    return out, unseen


def pair_cases(kept: KeptRanking, wanted: int, rng: np.random.Generator) -> tuple[list[Case], int]:
    """Random pairs in which both faults show in the symptom; and how many were drawn for that."""
    kinds: dict[str, list[Hypothesis]] = {}
    for h in kept.singles:
        kinds.setdefault(h.faults[0].kind, []).append(h)
    names = sorted(kinds)
    out: list[Case] = []
    drawn = 0
    while len(out) < wanted and drawn < 40 * wanted:
        batch: list[tuple[Hypothesis, Hypothesis, Hypothesis]] = []
        while len(batch) < 2 * wanted:
            a, b = (kinds[k][int(rng.integers(len(kinds[k])))] for k in rng.choice(names, 2))
            if set(a.faults[0].elements) & set(b.faults[0].elements) or a.repair == b.repair:
                continue
            both = Hypothesis((*a.faults, *b.faults), (*a.variants, *b.variants), a.prior * b.prior)
            batch.append((a, b, both))
        kept.alike_of([x.change for three in batch for x in three])
        for a, b, both in batch:
            drawn += 1
            one, two, together = kept.alike_of([x.change for x in (a, b, both)])
            if together not in (one, two):
                out.append(Case(f"{a.faults[0].kind} + {b.faults[0].kind}", both, 1.0))
            if len(out) == wanted:
                break
    return out, drawn


def table(title: str, cases: Sequence[Case]) -> None:
    ranks = np.array([c.rank for c in cases])
    weight = np.array([c.weight for c in cases])
    shares = np.array([c.share for c in cases])
    found = ranks > 0
    print(f"{title}: {len(cases)} cases; first {np.mean(ranks == 1):.1%}, in the first 3 "
          f"{np.mean(found & (ranks <= 3)):.1%}, in the first 5 {np.mean(found & (ranks <= 5)):.1%}; "
          f"excluded (share under {EXCLUDED:g}) {int((shares < EXCLUDED).sum())}; by base rate: first "
          f"{np.average(ranks == 1, weights=weight):.1%}, first 3 "
          f"{np.average(found & (ranks <= 3), weights=weight):.1%}; Brier "
          f"{np.average([c.brier for c in cases], weights=weight):.4f}", flush=True)


def calibration(title: str, cases: Sequence[Case]) -> None:
    print(f"calibration of the first group, {title} (cases weighted by base rate)")
    weight = np.array([c.weight for c in cases])
    first = np.array([c.first for c in cases])
    right = np.array([c.right for c in cases])
    error = 0.0
    for k in range(10):
        here = (np.minimum((first * 10).astype(int), 9) == k) & (weight > 0)
        if here.any():
            said, true = np.average(first[here], weights=weight[here]), np.average(right[here], weights=weight[here])
            error += abs(said - true) * weight[here].sum() / weight.sum()
            print(f"  {k / 10:.1f}–{(k + 1) / 10:.1f}: {here.sum():5d} cases, said {said:.3f}, right {true:.3f}")
    print(f"  expected calibration error {error:.4f}")


@dataclass
class Tally:
    """Everything that was judged, by title."""

    cases: dict[str, list[Case]]
    misses: int

    def add(self, title: str, done: Sequence[Case]) -> None:
        for case in done:
            if self.misses and (not 0 < case.rank <= self.misses or case.share < EXCLUDED):
                print(f"  [{title}] {case.truth.says()}: {case.note}", flush=True)
        if done:
            table(title, done)
        self.cases.setdefault(title, []).extend(done)


def run(path: Path, args: argparse.Namespace, tally: Tally) -> None:
    """All cases of one model."""
    begun = time.process_time()
    rng = np.random.default_rng([args.seed, zlib.crc32(path.stem.encode())])
    harness = load_harness(path)
    kept = KeptRanking(harness, quick_states(harness, args.states))
    cases, unseen = single_cases(kept, args.severities, rng)
    print(f"\n{path.stem}: {len(kept.investigator.faults)} faults, {len(kept.singles)} with severities, "
          f"{len(kept.states)} states; {unseen} of {unseen + len(cases)} show nowhere; simulated in "
          f"{time.process_time() - begun:.0f} s", flush=True)
    chosen = cases[: args.cases or None]
    for title, (wrong, missing) in REGIMES.items():
        if args.only and args.only not in title:
            continue
        done = []
        for n, case in enumerate(chosen):
            evidence = symptoms(kept, case.truth.change, wrong, missing, rng)
            found = ranked_singles(kept, evidence, bool(args.check) and n % args.check == 0)
            done.append(judge(kept, case, *found))
        tally.add(title, done)
    investigator = Searching(kept)
    for title, (wrong, missing) in REGIMES.items():
        if args.searched and (not args.only or args.only in title):
            tally.add(f"{title}, pairs searched", [
                judge(kept, case, *ranked_searched(
                    kept, investigator, symptoms(kept, case.truth.change, wrong, missing, rng)
                )) for case in cases[: args.searched]
            ])
    if args.pairs:
        pairs, drawn = pair_cases(kept, args.pairs, rng)
        print(f"{drawn} pairs drawn to find {len(pairs)} in which both show", flush=True)
        tally.add("two faults", [
            judge(kept, case, *ranked_searched(kept, investigator, symptoms(kept, case.truth.change, 0.0, 0.0, rng)))
            for case in pairs
        ])
    print(f"{path.stem}: {time.process_time() - begun:.0f} s", flush=True)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("models", nargs="*", type=Path, default=sorted(MODELS.glob("*.yaml")))
    parser.add_argument("--cases", type=int, default=0, help="faults a model; 0 for every one")
    parser.add_argument("--severities", action="store_true", help="every fault at each of its severities")
    parser.add_argument("--searched", type=int, default=0, help="cases a model weighed with the search for pairs")
    parser.add_argument("--pairs", type=int, default=0, help="two-fault cases a model")
    parser.add_argument("--states", type=int, default=24, help="at most so many vehicle states; 0 for all")
    parser.add_argument("--only", default="", help="one regime")
    parser.add_argument("--misses", type=int, default=0, metavar="N", help="print cases below rank N, or excluded")
    parser.add_argument("--check", type=int, default=0, metavar="N", help="weigh every Nth case afresh as well")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    tally = Tally({}, args.misses)
    for path in args.models:
        run(path, args, tally)
    print("\nall models")
    for title, cases in tally.cases.items():
        table(title, cases)
        if title != "two faults":
            calibration(title, cases)
    known = tally.cases.get("as simulated", [])
    for kind, count in sorted(Counter(c.kind for c in known).items()):
        ranks = [c.rank for c in known if c.kind == kind]
        print(f"  {kind}: {count} cases, first {np.mean([r == 1 for r in ranks]):.0%}, "
              f"first 3 {np.mean([0 < r <= 3 for r in ranks]):.0%}")


if __name__ == "__main__":
    main()
