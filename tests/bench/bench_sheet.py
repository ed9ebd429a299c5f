"""The plan on a sheet beside the plan that thinks anew at each step: minutes over simulated jobs.

A fault is planted, the symptoms are told, and the job is done twice from there: once asking the tool after every
answer, once by its sheet, as far as that goes and then by the tool again. Printed for each job: boxes, seconds to
make the sheet, kilobytes, minutes either way; at the end the ratio of the sums.

    python tests/bench/bench_sheet.py [MODEL ...] [--jobs N] [--minutes M] [--seed N]
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.bench_jobs import symptoms  # noqa: E402
from tracer.faults import Fault  # noqa: E402
from tracer.harness.file.text import load_harness  # noqa: E402
from tracer.inference.diagnose import Investigator  # noqa: E402
from tracer.job.job import Job  # noqa: E402
from tracer.job.typed import parse_test, parse_value, state_words, test_key  # noqa: E402
from tracer.job.values import Symptom, Test  # noqa: E402
from tracer.job.what_if import WhatIf  # noqa: E402
from tracer.observation.evidence import Evidence  # noqa: E402
from tracer.planning.costs import PROVE_MIN, minutes_of  # noqa: E402
from tracer.practice.simulated_vehicle import PracticeVehicle  # noqa: E402
from tracer.present.conversation.core import answer  # noqa: E402
from tracer.present.conversation.screens import Mend, NotDone, Read  # noqa: E402
from tracer.present.sheet.page import sheet_html  # noqa: E402
from tracer.present.sheet.tree import Box, Sheet, Way, grow  # noqa: E402

MODELS = Path(__file__).parents[2] / "harness_models"
MOST_STEPS = 25


@dataclass
class Garage:
    """A simulated vehicle and what is wrong with it."""

    vehicle: PracticeVehicle
    fault: Fault

    def read(self, job: WhatIf, test: Test, also: tuple[str, ...]) -> tuple[str, tuple[tuple[str, str], ...]]:
        value = self.vehicle.answer(test)
        looks = self.vehicle.looks(test.state) if also else {}
        return value, tuple((lamp, looks[lamp]) for lamp in also)

    def tell(self, job: WhatIf, test: Test, also: tuple[str, ...]) -> None:
        value, others = self.read(job, test, also)
        job.was_proposed(test)
        answer(job, NotDone(test_key(test)) if value == "could not" else Read(test_key(test), value, others))

    def mended(self, job: Job, what: str) -> bool:
        own = next((s for s in job.suspects() if s.repair == self.fault.repair), None)
        return what == self.fault.repair or (own is not None and what in own.inseparable)


def anew(job: WhatIf, garage: Garage, minutes: float = 0.0) -> tuple[float, bool]:
    """Minutes to the right repair asking the tool after every answer, and whether it came to that."""
    for _ in range(MOST_STEPS):
        p = job.next()
        if p.test is not None:
            minutes += minutes_of(p.test, job.standing, job.harness)
            garage.tell(job, p.test, p.also)
        elif p.kind == "repair":
            minutes += p.cost + PROVE_MIN
            if garage.mended(job, p.says):
                return minutes, True
            job.repaired_in_vain(p.says)
        else:
            break
    return minutes, False


def by_sheet(sheet: Sheet, job: WhatIf, garage: Garage) -> tuple[float, bool, bool]:
    """Minutes by the sheet, whether it came to the right repair, and whether the sheet alone led there."""
    box: Box | None = sheet.boxes[0]
    minutes = 0.0
    while box is not None:
        minutes += box.minutes
        if isinstance(box.screen, Mend):
            minutes += PROVE_MIN
            if garage.mended(job, box.screen.what):
                return minutes, True, True
            job.repaired_in_vain(box.screen.what)
            box = next(w.to for w in box.ways if w.kind == "not cured")
        elif box.ways:
            test = parse_test(box.test, job.harness)
            also = next((tuple(x for x, _ in w.also) for w in box.ways if w.also), ())
            value, others = garage.read(job, test, also)
            way = next((w for w in box.ways if _taken(w, test, value, others)), None)
            garage.tell(job, test, also)
            box = way.to if way else None
        else:
            box = None
    total, right = anew(job, garage, minutes)
    return total, right, False


def _taken(way: Way, test: Test, value: str, others: tuple[tuple[str, str], ...]) -> bool:
    if way.kind == "not done":
        return value == "could not"
    if way.kind != "read":
        return False
    if test.row.unit:
        shown = parse_value(value, test.kind, test.lamp, bool(test.in_hand)).low
        return way.low <= shown <= way.high
    return _word(way.value) == _word(value) and all(
        _word(a) == _word(b) for (_, a), (_, b) in zip(way.also, others, strict=True))


def _word(look: str) -> str:
    return "flashing" if re.search("flashing|fast|slow", look) else look.split(",")[0].replace("bright", "normal")


def brought(tool: Investigator, rng: random.Random) -> tuple[Garage, list[Evidence]]:
    """A vehicle with a fault drawn by its rate, and what is told of it; one that shows nowhere is not brought."""
    while True:
        fault = rng.choices(tool.faults, [f.rate for f in tool.faults])[0]
        variant = rng.choices(fault.variants, [v.weight for v in fault.variants])[0]
        supply_v = rng.uniform(0.95, 1.01) * tool.harness.system_v
        vehicle = PracticeVehicle(tool.harness, variant.change, supply_v, [fault])
        if told := symptoms(tool, vehicle, rng):
            return Garage(vehicle, fault), told


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("models", nargs="*", default=["pickup", "tow_7pin", "motorcycle_6v"])
    parser.add_argument("--jobs", type=int, default=10, help="of each model")
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    sums, rows, alone = [0.0, 0.0], 0, 0
    for model in args.models:
        rng = random.Random(f"{model} {args.seed}")
        tool = Investigator(load_harness(MODELS / f"{model}.yaml"))
        for _ in range(args.jobs):
            garage, told = brought(tool, rng)
            with tempfile.TemporaryDirectory() as folder:
                job = Job.create(Path(folder) / "job.yaml", MODELS / f"{model}.yaml")
                for s in told:
                    assert isinstance(s, Symptom)
                    job.symptom(f"{', '.join(x.says() for x in s.seen)} when {state_words(s.state)}")
                began = time.monotonic()
                sheet = grow(job, minutes=args.minutes)
                took = time.monotonic() - began
                size = len(sheet_html(job, sheet).encode()) / 1000
                first, right = anew(WhatIf(job), garage)
                second, also_right, only = by_sheet(sheet, WhatIf(job), garage)
            rows, alone = rows + 1, alone + only
            sums = [sums[0] + first, sums[1] + second]
            print(f"{model:14} {garage.fault.name[:38]:38} {len(sheet.boxes):3} boxes {took:5.0f} s {size:4.0f} kB "
                  f"{sheet.covered:4.0%}  anew {first:5.0f} {'' if right else '✗'}  sheet {second:5.0f} "
                  f"{'' if also_right else '✗'} {'' if only else '(left it)'}  ratio so far "
                  f"{sums[1] / sums[0]:.3f}", flush=True)
    print(f"{rows} jobs: anew {sums[0]:.0f} min, by sheet {sums[1]:.0f} min, ratio {sums[1] / sums[0]:.3f}; "
          f"the sheet alone led to the repair in {alone}")


if __name__ == "__main__":
    main()
