"""What is said of safety along simulated jobs on all models.

Faults are planted evenly over the kinds of every model; the tool works on each job until it is repaired, as in
`bench_jobs.py`. Of every proposal (tests, repairs, and the proof checks after them) it is counted whether each danger
that the vehicle state, the vehicle and the step demand stands there (demanded here from the rule book, not taken from
the table of rules), whether anything was proposed that never may be, and how many lines of caution stood above it.

    python tests/bench/bench_safety.py [--proposals N] [--seed N] [--models NAME ...]
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.bench_jobs import resting_v
from tracer.circuit.model import Change
from tracer.faults import Fault
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import basic_states
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.planning.costs import Standing, after_test
from tracer.planning.next_step import Proposal, propose
from tracer.planning.repair_proof import plan_proof
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.safety.advice import Caution, Now, of_test, said_by
from tracer.safety.lines import lines_of
from tracer.safety.permitted import permitted_states

MODELS = Path(__file__).parents[2] / "harness_models"
MOST_STEPS = 12


@dataclass
class Count:
    """What was counted."""

    proposals: int = 0
    jobs: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    heads: Counter[tuple[str, str]] = field(default_factory=Counter)
    lines: Counter[str] = field(default_factory=Counter)
    missing: list[str] = field(default_factory=list)
    illegal: list[str] = field(default_factory=list)


def demanded(state: VehicleState | None, test: Test | None, harness: Harness) -> Iterator[str]:
    """Words that a danger must hold in this step."""
    if test is not None and test.plus and "caravan" in harness.vehicle and (
        "caravan" in harness.place_of(test.plus)[0] or "caravan" in test.plus
    ):
        yield "mains"
    if state is None:
        return
    if state.engine_running:
        yield "exhaust"
    for name, control in harness.controls.items():
        if name == "gear" and state[name] in ("reverse", "forward"):
            yield "engine off"
        if control.rolls and state[name] in control.rolls and state[name] != control.assumed:
            yield "chocked"


def never(state: VehicleState, harness: Harness) -> bool:
    position = dict(state.positions)
    return "start" in position.values() or (state.engine_running and position.get("gear") in ("reverse", "forward"))


def look_at(
    cautions: Sequence[Caution], state: VehicleState | None, test: Test | None, harness: Harness, what: str,
    count: Count,
) -> None:
    count.proposals += 1
    count.kinds[what] += 1
    danger = " ".join(c.text for c in cautions if c.grade == "danger")
    for word in demanded(state, test, harness):
        if word not in danger:
            count.missing.append(f"{harness.title}, {what}: no “{word}” ({test.says(harness) if test else state})")
    if state is not None and never(state, harness):
        count.illegal.append(f"{harness.title}, {what}: {harness.say_state(state)}")
    for c in cautions:
        count.heads[c.grade, c.head] += 1
    for grade, _ in lines_of(cautions):
        count.lines[grade] += 1


def symptoms(tool: Investigator, vehicle: PracticeVehicle, rng: random.Random) -> list[Evidence]:
    """What is seen in up to two states in which something is wrong, up to three lamps in each."""
    healthy, found = PracticeVehicle(tool.harness, Change()), list[Evidence]()
    states = permitted_states(basic_states(tool.harness), tool.harness)
    rng.shuffle(states)
    for state in states:
        good, bad = healthy.looks(state), vehicle.looks(state)
        seen = []
        for lamp in [x for x in good if good[x] != bad[x]][:3]:
            value = parse_value(bad[lamp], "look", lamp).seen
            assert value is not None
            seen.append(LampSeen(lamp, value.words, value.flash))
        found += [Symptom(state, tuple(seen))] if seen else []
        if len(found) == 2:
            break
    return found


def set_to(test: Test) -> VehicleState | None:
    return None if test.dead or test.in_hand else test.state


def job(tool: Investigator, fault: Fault, rng: random.Random, count: Count, most: int) -> None:
    """One job, counted step by step."""
    variant = rng.choices(fault.variants, [v.weight for v in fault.variants])[0]
    alone = sum(p.kind == "battery" for p in tool.harness.parts.values()) == 1
    supply_v = resting_v(tool.harness, rng) if alone else None
    vehicle = PracticeVehicle(tool.harness, variant.change, supply_v, [fault])
    evidence = symptoms(tool, vehicle, rng)
    if not evidence:
        return
    count.jobs += 1
    first = evidence[-1]
    assert isinstance(first, Symptom)
    standing, said, tried = Standing(first.state), frozenset[str](), dict[str, int]()
    for _ in range(MOST_STEPS):
        step: Proposal = propose(tool.diagnose(evidence), standing, tried=tried, said=said)
        test = step.test
        look_at(step.cautions, set_to(test) if test else None, test, tool.harness, step.kind, count)
        if count.proposals >= most:
            return
        if test is not None:
            said |= said_by([of_test(test, tool.harness)])
            standing = after_test(test, standing, tool.harness)
            evidence.append(Reading(test, parse_value(vehicle.answer(test), test.kind, test.lamp)))
        elif step.kind == "repair" and step.suspect is not None:
            if step.suspect.repair == fault.repair:
                proof = plan_proof(tool, evidence, Now(standing.state, standing.battery_off, said))
                for c in proof.checks:
                    look_at(c.cautions, c.state, None, tool.harness, "proof check", count)
                return
            tried[step.suspect.repair] = len(evidence)
        else:
            return


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--proposals", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--models", nargs="*", default=[])
    args = parser.parse_args()
    rng, count = random.Random(args.seed), Count()
    paths = [p for p in sorted(MODELS.glob("*.yaml")) if not args.models or p.stem in args.models]
    for n, path in enumerate(paths, 1):
        tool = Investigator(load_harness(path))
        kinds: dict[str, list[Fault]] = {}
        for f in tool.faults:
            kinds.setdefault(f.kind, []).append(f)
        until = args.proposals * n // len(paths)
        while count.proposals < until:
            job(tool, rng.choice(kinds[rng.choice(sorted(kinds))]), rng, count, until)
        print(f"  {path.stem}: {count.proposals} proposals so far", flush=True)
    told = sum(count.lines.values()) - count.lines["note"]
    print(f"{count.proposals} proposals of {count.jobs} jobs on {len(paths)} models: "
          + ", ".join(f"{n} {k}" for k, n in count.kinds.most_common()))
    print(f"proposed though never permitted: {len(count.illegal)}; dangers missing: {len(count.missing)}")
    for line in (*count.illegal, *count.missing):
        print(f"  {line}")
    print(f"lines a proposal: danger {count.lines['danger'] / count.proposals:.2f}, "
          f"caution {count.lines['caution'] / count.proposals:.2f} (target at most 1), "
          f"both {told / count.proposals:.2f}, note {count.lines['note'] / count.proposals:.2f}")
    for (grade, head), n in sorted(count.heads.items(), key=lambda x: (x[0][0], -x[1])):
        print(f"  {grade:<8} {head:<16} {n}")
    return 1 if count.illegal or count.missing else 0


if __name__ == "__main__":
    sys.exit(main())
