"""How well symptoms alone rank the true fault, over every fault of the harness models.

    python tests/bench/bench_ranking.py [MODEL …] [--cases N] [--pairs N] [--states N] [--seed N] [--singles]

A case is a fault at one of its severities. The symptoms are what a person would say of the simulated
vehicle in every state that takes under two minutes to set up: each lamp that is not as it should be, and
"everything else normal". The same again with a tenth of the judgements wrong (any other word), and with three
tenths of them missing. The rank is by group: suspects that look the same in all those states count as one.

Cases are drawn kind by kind in turn, so that rare kinds are not drowned by lamps; `--cases 0` takes every
fault. Calibration and Brier score use the same cases weighted by their base rates. Predictions of all single
faults are kept per state; every tenth case is weighed again by a fresh `Investigator` and must agree.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tracer.checking.survey import states_up_to_pairs
from tracer.circuit import NO_CHANGE, Change
from tracer.costs import LOOK_MIN, Standing, minutes_of
from tracer.evidence import WORDS, Evidence, LampSeen, Symptom, Test
from tracer.harness import Harness, VehicleState
from tracer.harness_file.text import load_harness
from tracer.likelihood import flash_probabilities, likely_word
from tracer.predictions import Panel
from tracer.suspects import Diagnosis, Hypothesis, Investigator, Suspect
from tracer.typed.readings import parse_value

MODELS = Path(__file__).parents[2] / "harness_models"
SET_UP_MIN = 2.0
EXCLUDED = 1e-3  # a true group with less than this share is called excluded
Looks = tuple[str, ...]


def quick_states(harness: Harness, most: int) -> list[VehicleState]:
    """The states up to two controls away from rest that are set up within two minutes, fewest controls first."""
    rest = Standing(harness.state({}))
    lamp = harness.lamps()[0].lamp
    return [
        s for s in states_up_to_pairs(harness, None)
        if minutes_of(Test("look", s, lamp=lamp), rest, harness) - LOOK_MIN < SET_UP_MIN
    ][:most]


class Kept(Investigator):
    """An investigator that keeps the panel of every hypothesis it has simulated."""

    def __init__(self, harness: Harness, most_states: int) -> None:
        super().__init__(harness)
        self.states = quick_states(harness, most_states)
        self._looks: dict[Change, Looks] = {}
        self._whole: dict[VehicleState, Panel] = {}

    def _weigh(self, rows, *rest):  # type: ignore[no-untyped-def]
        self._all = len(rows) == len(self.singles)
        return super()._weigh(rows, *rest)

    def _panel(self, state, table, active, known):  # type: ignore[no-untyped-def]
        if self._all:  # the single faults
            if state not in self._whole:
                self._whole[state] = self.predictor.panel(self.predictor.setup(state), table)
            return self._whole[state] if len(active) == len(table) else self._whole[state].rows(active)
        return super()._panel(state, table, active, known)

    def panels(self, change: Change) -> list[Panel]:
        """One row for each of the states."""
        table = self.predictor.table([change])
        return [self.predictor.panel(self.predictor.setup(s), table) for s in self.states]

    def looks(self, change: Change) -> Looks:
        """How every lamp looks in every state, in words."""
        if change not in self._looks:
            self._looks[change] = tuple(
                look for panel in self.panels(change) for look in self.say(panel)
            )
        return self._looks[change]

    def say(self, panel: Panel) -> list[str]:
        """Each lamp's look in row 0 of a panel, and the fuses that are blown."""
        p = self.predictor
        out = []
        for i in range(len(p.lamps)):
            word = likely_word(float(panel.flux[0, i]))
            if word != "dark" and p.flasher is not None:
                chance = {k: float(v[0]) for k, v in flash_probabilities(panel, i, p.electronic).items()}
                if chance["flashing"] >= 0.5:
                    rate = next((r for r in ("slow", "fast") if chance[r] > 0.5 * chance["flashing"]), "")
                    word += f", flashing {rate}".rstrip()
                elif not np.isnan(panel.load[0]) and panel.flux[0, i] - panel.least[0, i] > 0.3:
                    word += ", steady"
            out.append(word)
        return out


@dataclass
class Case:
    """One true hypothesis and how it was ranked in each regime."""

    kind: str
    truth: Hypothesis
    weight: float
    rank: int = 0
    share: float = 0.0
    first: float = 0.0
    right: bool = False
    brier: float = 0.0
    note: str = ""


def symptoms(kept: Kept, change: Change, wrong: float, missing: float, rng: random.Random) -> list[Evidence]:
    """What a person would say of the vehicle, state by state, states with something odd first."""
    lamps = [f.lamp for f in kept.predictor.lamps]
    healthy, seen = kept.looks(NO_CHANGE), kept.looks(change)
    found: list[tuple[bool, Symptom]] = []
    for k, state in enumerate(kept.states):
        good, bad = healthy[k * len(lamps):(k + 1) * len(lamps)], seen[k * len(lamps):(k + 1) * len(lamps)]
        said, others = [], rng.random() >= missing
        for lamp, g, b in zip(lamps, good, bad, strict=True):
            if "flashing" in g and b != "dark" and "," not in b:
                b += ", steady"  # lit all the time where it should flash
            if g == b:
                if rng.random() < wrong / 10:  # one lamp in ten of the normal ones is judged by itself at all
                    said.append(misjudged(lamp, b, rng))
                continue
            if rng.random() < missing:
                others = False  # who has not looked at that one cannot speak of all others
                continue
            said.append(misjudged(lamp, b, rng) if rng.random() < wrong else look(lamp, b))
        if said or others:
            found.append((bool(said), Symptom(state, tuple(said), others)))
    found.sort(key=lambda f: not f[0])
    return [s for _, s in found]


def look(lamp: str, text: str) -> LampSeen:
    seen = parse_value(text, "look", lamp).seen
    assert seen is not None
    return LampSeen(lamp, seen.words, seen.flash)


def misjudged(lamp: str, text: str, rng: random.Random) -> LampSeen:
    """Any other word than the true one."""
    return LampSeen(lamp, frozenset([rng.choice([w for w in WORDS if w not in text.split(",")[0]])]))


def matches(kept: Kept, suspect: Suspect, truth: Hypothesis) -> bool:
    """The suspect's repair is the one that mends the truth, or it looks the same in every state."""
    if suspect.repair == truth.repair:
        return True
    return kept.looks(suspect.best.change) == kept.looks(truth.change)


def group_rank(kept: Kept, d: Diagnosis, truth: Hypothesis, deepest: int = 30) -> tuple[int, float, float, bool]:
    """Rank of the true group (0: not among the first), its share, the first group's share, whether that is right.
    Where "not described" has nearly all, the list of the least bad is ranked just the same."""
    groups: list[tuple[Looks, float, bool]] = []
    at: dict[Looks, int] = {}
    for s in d.suspects[:deepest]:
        looks = kept.looks(s.best.change)
        hit = matches(kept, s, truth)
        if looks in at:
            old = groups[at[looks]]
            groups[at[looks]] = (looks, old[1] + s.share, old[2] or hit)
        else:
            at[looks] = len(groups)
            groups.append((looks, s.share, hit))
    groups.sort(key=lambda g: -g[1])
    rank = next((n for n, g in enumerate(groups, 1) if g[2]), 0)
    share = sum(g[1] for g in groups if g[2])
    return rank, share, groups[0][1] if groups else 0.0, bool(groups) and groups[0][2]


def brier_of(kept: Kept, d: Diagnosis, truth: Hypothesis) -> float:
    """Squared error over groups of looks, 0..2."""
    right, wrong = 0.0, {"undescribed": d.undescribed}
    for s in d.suspects[:40]:
        if matches(kept, s, truth):
            right += s.share
        else:
            wrong[s.repair] = s.share
    return (1 - right) ** 2 + sum(p * p for p in wrong.values())


def judge(kept: Kept, case: Case, evidence: list[Evidence], pairs: bool, check: bool) -> Case:
    d = kept.diagnose(evidence, pairs=pairs)
    total = float(d.share.sum() + d.undescribed)
    assert abs(total - 1) < 1e-9, total
    if check:
        fresh = Investigator(kept.harness).diagnose(evidence, pairs=pairs)
        assert [s.repair for s in fresh.suspects[:5]] == [s.repair for s in d.suspects[:5]]
        for one, two in zip(fresh.suspects[:5], d.suspects[:5], strict=True):
            # The last digit of a voltage decides which of equally good pairs are simulated.
            assert abs(one.share - two.share) < 2e-3, (one.repair, one.share, two.share)
    rank, share, first, right = group_rank(kept, d, case.truth)
    top = d.suspects[0]
    note = f"rank {rank}, share {share:.4f}; first {top.share:.3f} {top.best.says()}; undescribed {d.undescribed:.3f}"
    return Case(case.kind, case.truth, case.weight, rank, share, first, right, brier_of(kept, d, case.truth), note)


def single_cases(kept: Kept, wanted: int, rng: random.Random) -> list[Case]:
    """Every fault, or `wanted` of them kind by kind in turn, each at one severity drawn by its weight."""
    by_fault: dict[str, list[Hypothesis]] = {}
    for h in kept.singles:
        by_fault.setdefault(h.faults[0].name, []).append(h)
    kinds: dict[str, list[str]] = {}
    for name, hs in by_fault.items():
        kinds.setdefault(hs[0].faults[0].kind, []).append(name)
    for names in kinds.values():
        rng.shuffle(names)
    order = [names[n] for n in range(max(map(len, kinds.values()))) for names in kinds.values() if n < len(names)]
    out = []
    for name in order:
        hs = by_fault[name]
        h = rng.choices(hs, [x.prior for x in hs])[0]
        if kept.looks(h.change) == kept.looks(NO_CHANGE):
            out.append(Case(h.faults[0].kind, h, 0.0, -1))  # shows nowhere
            continue
        out.append(Case(h.faults[0].kind, h, sum(x.prior for x in hs)))
        if wanted and sum(c.rank != -1 for c in out) >= wanted:
            break
    return out


def pair_cases(kept: Kept, wanted: int, rng: random.Random) -> tuple[list[Case], int]:
    """Random pairs in which both faults show in the symptom; and how many were drawn for that."""
    kinds: dict[str, list[Hypothesis]] = {}
    for h in kept.singles:
        kinds.setdefault(h.faults[0].kind, []).append(h)
    out: list[Case] = []
    drawn = 0
    while len(out) < wanted and drawn < 40 * wanted:
        drawn += 1
        a, b = (rng.choice(kinds[k]) for k in rng.choices(sorted(kinds), k=2))
        if set(a.faults[0].elements) & set(b.faults[0].elements) or a.repair == b.repair:
            continue
        both = Hypothesis((*a.faults, *b.faults), (*a.variants, *b.variants), a.prior * b.prior)
        looks = kept.looks(both.change)
        if looks in (kept.looks(a.change), kept.looks(b.change)):
            continue
        out.append(Case(f"{a.faults[0].kind} + {b.faults[0].kind}", both, 1.0))
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
    cases: list[Case] = field(default_factory=list)


REGIMES = {"as simulated": (0.0, 0.0), "10 % wrong": (0.1, 0.0), "30 % missing": (0.0, 0.3)}


def run(path: Path, args: argparse.Namespace, tally: dict[str, Tally]) -> None:
    begun = time.monotonic()
    rng = random.Random(f"{args.seed} {path.stem}")
    kept = Kept(load_harness(path), args.states)
    cases = single_cases(kept, args.cases, rng)
    silent = sum(c.rank == -1 for c in cases)
    cases = [c for c in cases if c.rank != -1]
    print(f"\n{path.stem}: {len(kept.faults)} faults, {len(kept.singles)} with severities, "
          f"{len(kept.states)} states; {silent} drawn that show nowhere", flush=True)
    for name, (wrong, missing) in REGIMES.items():
        if args.only and args.only not in name:
            continue
        done = []
        for n, case in enumerate(cases):
            evidence = symptoms(kept, case.truth.change, wrong, missing, rng)
            done.append(judge(kept, case, evidence, not args.singles, args.check and n % args.check == 0))
            last = done[-1]
            if args.misses and not 0 < last.rank <= args.misses:
                print(f"  [{name}] {last.truth.says()}: {last.note}", flush=True)
        table(name, done)
        tally.setdefault(name, Tally()).cases.extend(done)
    if args.pairs:
        pairs, drawn = pair_cases(kept, args.pairs, rng)
        done = []
        for case in pairs:
            done.append(judge(kept, case, symptoms(kept, case.truth.change, 0.0, 0.0, rng), True, False))
            last = done[-1]
            if args.misses and not 0 < last.rank <= 5:
                print(f"  [pair] {last.truth.says()}: {last.note}", flush=True)
        print(f"{drawn} pairs drawn to find {len(pairs)} in which both show")
        if done:
            table("two faults", done)
            tally.setdefault("two faults", Tally()).cases.extend(done)
    print(f"{path.stem}: {time.monotonic() - begun:.0f} s", flush=True)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("models", nargs="*", type=Path, default=sorted(MODELS.glob("*.yaml")))
    parser.add_argument("--cases", type=int, default=40, help="faults a model; 0 for every one")
    parser.add_argument("--pairs", type=int, default=15, help="two-fault cases a model")
    parser.add_argument("--states", type=int, default=24, help="at most so many vehicle states")
    parser.add_argument("--singles", action="store_true", help="weigh single faults only (much faster)")
    parser.add_argument("--only", default="", help="one regime")
    parser.add_argument("--misses", type=int, default=0, metavar="N", help="print cases ranked below N")
    parser.add_argument("--check", type=int, default=0, metavar="N", help="weigh every Nth case afresh as well")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    tally: dict[str, Tally] = {}
    for path in args.models:
        run(path, args, tally)
    print("\nall models")
    for name, found in tally.items():
        table(name, found.cases)
        if name != "two faults":
            calibration(name, found.cases)
    kinds = Counter(c.kind for c in tally.get("as simulated", Tally()).cases)
    for kind in sorted(kinds):
        ranks = [c.rank for c in tally["as simulated"].cases if c.kind == kind]
        print(f"  {kind}: {kinds[kind]} cases, first {np.mean([r == 1 for r in ranks]):.0%}, "
              f"first 3 {np.mean([0 < r <= 3 for r in ranks]):.0%}")


if __name__ == "__main__":
    main()
