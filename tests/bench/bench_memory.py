"""What a workshop's memory is worth: made-up workshops whose rates differ from ours, and jobs drawn from them.

A workshop's rate of each kind is three times ours, ours, or a third of it, by chance; or all are ours. Jobs on one
vehicle are drawn by these rates, told as up to two states with up to three odd lamps each, and learned as closed jobs
are: by the repair that was right, whose kinds share the find as they stood after the symptoms. Then new jobs are
ranked by the shipped, the learned and the true rates, single faults only. Printed: log-loss of the right repair, the
share of the possible gain that learning brings, the worst of all workshops; how long a folder and a question take.

    python tests/bench/bench_memory.py [HARNESS] [--workshops N] [--jobs N] [--new N] [--folder N]
"""

from __future__ import annotations

import argparse
import math
import random
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.kept_ranking import KeptRanking, seen_as
from tracer.circuit.model import Floats, Ints
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.file.text import load_harness
from tracer.inference.bayes import posterior
from tracer.inference.hypotheses import basic_states
from tracer.inference.likelihood import as_meant
from tracer.inference.unmodelled_cause import Undescribed
from tracer.job.learning import Memory, Teacher, job_files
from tracer.job.text import Event, JobHeader, new_content
from tracer.memory.finds import Group, equipment
from tracer.memory.posterior import Bundle, Counts, rates_for
from tracer.observation.evidence import Symptom

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
OURS = Group("", "")
FACTORS = (1 / 3, 1.0, 3.0)


@dataclass(frozen=True)
class Told:
    """A job as it begins: what is wrong, ln likelihood (H,) of what was told, and ln likelihood of it undescribed."""

    truth: int
    loglik: Floats
    beyond: float


class Shop:
    """One vehicle, on which jobs are drawn and ranked by whatever rates."""

    def __init__(self, harness: str | Path) -> None:
        read = load_harness(harness)
        self.kept = KeptRanking(read, basic_states(read))
        kept = self.kept
        self.kinds = sorted({h.faults[0].kind for h in kept.singles})
        self.kind_of = np.array([self.kinds.index(h.faults[0].kind) for h in kept.singles])
        self.equipment = dict(equipment(kept.investigator.faults))
        self.sound = kept.looks[kept.healthy]
        odd = kept.looks[kept.change_of] != self.sound
        self.shows = np.flatnonzero(odd.any(axis=1))
        self._told: dict[tuple[Symptom, ...], tuple[Floats, float]] = {}

    def prior(self, factor: Mapping[str, float]) -> Floats:
        """(H,) of the singles."""
        own = np.array([factor.get(k, 1.0) for k in self.kinds])
        weights = self.kept.prior * own[self.kind_of]
        return np.asarray(weights / weights.sum())

    def draw(self, factor: Mapping[str, float], dice: random.Random) -> Told:
        """A job whose fault shows somewhere."""
        weights = self.prior(factor)[self.shows]
        truth = int(dice.choices(self.shows.tolist(), weights.tolist())[0])
        evidence = self._complaint(self.kept.looks[self.kept.change_of[truth]], dice)
        if evidence not in self._told:
            heard = [as_meant(e, self.kept.predictor) for e in evidence]
            undescribed = Undescribed(self.kept.investigator.sayable)
            beyond = float(sum(undescribed.weigh(e) for e in heard))
            self._told[evidence] = self.kept.weigh(evidence).loglik, beyond
        return Told(truth, *self._told[evidence])

    def _complaint(self, looks: Ints, dice: random.Random) -> tuple[Symptom, ...]:
        lamps, states = self.kept.lamps, list(enumerate(self.kept.states))
        dice.shuffle(states)
        found: list[Symptom] = []
        for k, state in states:
            here = slice(k * len(lamps), (k + 1) * len(lamps))
            odd = np.flatnonzero(looks[here] != self.sound[here]).tolist()[:3]
            if odd:
                found.append(Symptom(state, tuple(seen_as(lamps[i], int(looks[here][i])) for i in odd)))
            if len(found) == 2:
                break
        return tuple(found)

    def ranked(self, job: Told, factor: Mapping[str, float], undescribed: float = UNDESCRIBED) -> Floats:
        """(H,) shares before anything is measured."""
        return posterior(self.prior(factor), job.loglik[None], undescribed, [job.beyond]).share

    def loss(self, jobs: Sequence[Told], factor: Mapping[str, float], undescribed: float = UNDESCRIBED) -> float:
        """Mean −ln of the share that the right repair gets."""
        repair = self.kept.repair_of
        return -float(np.mean([
            math.log(max(float(self.ranked(j, factor, undescribed)[repair == repair[j.truth]].sum()), 1e-12))
            for j in jobs
        ]))

    def learned(self, jobs: Sequence[Told]) -> tuple[dict[str, float], float]:
        """The rates after these jobs were closed."""
        finds = np.zeros(len(self.kinds))
        repair = self.kept.repair_of
        for job in jobs:
            own = repair == repair[job.truth]
            share = self.ranked(job, {}) * own
            share = share if share.sum() > 0 else self.kept.prior * own
            finds += np.bincount(self.kind_of, share / share.sum(), len(self.kinds))
        bundle = Bundle(OURS, len(jobs), self.equipment, dict(zip(self.kinds, finds.tolist(), strict=True)))
        rates = rates_for(Counts((bundle,)), OURS, self.equipment)
        return dict(rates.factor), rates.undescribed


def workshop(kinds: Sequence[str], dice: random.Random) -> dict[str, float]:
    """True factors on our rates, by kind."""
    return {k: dice.choice(FACTORS) for k in kinds}


def folder_of_jobs(folder: Path, harness: Path, count: int) -> None:
    """That many closed jobs on one harness, as short as jobs are: three symptoms or readings, a repair, its proof."""
    dice, start = random.Random(4), datetime(2026, 1, 5, 8, tzinfo=UTC)
    (folder / "van.yaml").write_bytes(harness.read_bytes())
    faults = Shop(harness).kept.investigator.faults
    weights = [f.rate for f in faults]
    for n in range(count):
        fault = dice.choices(faults, weights)[0]
        dark = {"lamp": "invented", "words": ["dark"]}
        data: list[tuple[str, dict[str, Any]]] = [
            ("symptom", {"text": "invented", "state": {"ignition": "on"}, "seen": [dark]}),
            *[("proposed", {"key": f"V-{k}", "test": {"test": "volts", "state": {"ignition": "on"}, "plus": "E4"}})
              for k in range(3)],
            ("repaired", {"repair": fault.repair, "parts": ["invented"], "kinds": {fault.kind: 1.0},
                          "checks": [{"number": k, "state": {"ignition": "on"}} for k in (1, 2)]}),
            *[("proof", {"check": k, "good": True, "found": "ok"}) for k in (1, 2)],
        ]
        events = [Event(k, start + timedelta(minutes=30 * n + k), *e) for k, e in enumerate(data, 1)]
        (folder / f"job{n:04d}.yaml").write_bytes(new_content(JobHeader("van.yaml", "0" * 64), events))


def timed(harness: Path, count: int) -> None:
    """Seconds that a folder takes, and milliseconds that a question does."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder_of_jobs(folder, harness, count)
        memory = Memory(folder / "memory.sqlite")
        start = time.perf_counter()
        lessons = list(Teacher(memory, datetime.now(UTC)).learn(job_files([folder])))
        took = time.perf_counter() - start
        took_again, one = [], memory.jobs()[0].id
        for _ in range(9):
            begun = time.perf_counter()
            counts = memory.counts(without=one)
            took_again.append(time.perf_counter() - begun)
        print(f"{count} job files: {sum(x.became == 'learned' for x in lessons)} learned in {took:.1f} s; file "
              f"{memory.path.stat().st_size / 1e3:.0f} kB; a question {1e3 * float(np.median(took_again)):.1f} ms "
              f"({counts.jobs} jobs)", flush=True)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("harness", nargs="?", default=str(MODEL))
    parser.add_argument("--workshops", type=int, default=10)
    parser.add_argument("--jobs", type=int, default=300)
    parser.add_argument("--new", type=int, default=100, help="jobs ranked in each workshop")
    parser.add_argument("--folder", type=int, default=1000)
    args = parser.parse_args()
    shop = Shop(args.harness)
    print(f"{args.harness}: log-loss of the first ranking of {args.new} new jobs", flush=True)
    rows = []
    for n in range(args.workshops + 3):
        dice = random.Random(100 + n)
        same = n >= args.workshops
        true = {} if same else workshop(shop.kinds, dice)
        old = [shop.draw(true, dice) for _ in range(args.jobs)]
        new = [shop.draw(true, dice) for _ in range(args.new)]
        shipped, best = shop.loss(new, {}), shop.loss(new, true)
        few, many = (shop.loss(new, *shop.learned(old[:k])) for k in (10, args.jobs))
        gain = (shipped - many) / (shipped - best) if shipped > best else math.nan
        print(f"{'rates as ours' if same else f'workshop {n}':>14}: shipped {shipped:.3f}, after 10 jobs {few:.3f} "
              f"({few / shipped - 1:+.2%}), after {args.jobs} {many:.3f}, by the true rates {best:.3f}"
              + ("" if same else f"; {gain:.0%} of the gain"), flush=True)
        rows.append((shipped, few, many, best, same))
    table = np.array(rows)
    differ = table[table[:, 4] == 0]
    total = differ[:, :4].mean(axis=0)
    print(f"{len(differ)} workshops together: {(total[0] - total[2]) / (total[0] - total[3]):.0%} of the gain; "
          f"after 10 jobs at worst {(table[:, 1] / table[:, 0]).max() - 1:+.2%}")
    timed(Path(args.harness), args.folder)


if __name__ == "__main__":
    main()
