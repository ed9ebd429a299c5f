"""Whole jobs on vehicles whose wiring is otherwise than the typed file: nothing traced, one to three lines wrong.

A vehicle is drawn from a typed file by changing one to three of its wires (earthed at another point or where it sits,
fed from another fuse, branching off another joint) so that it works as before, and by one fault. ngspice answers for
it and knows only the truth (`spice_vehicle.py`). The same job is done twice: with the typed file, every wire of which
says `traced: no`, and with the true diagram. A second job on the vehicle, another fault, is done with what the first
one settled and without. The typed file is one of the models given, or, with `--made`, one that the patterns make of
random answers, half of the questions answered and half “don't know”: each vehicle its own.

    python tests/bench/bench_no_diagram.py [FILE ...] [--cases N] [--first N] [--seed N] [--second] [--out FILE]
    python tests/bench/bench_no_diagram.py --made 40 [--first N] [--seed N] [--second] [--out FILE]

Each job is written to FILE as a line of JSON as it ends; what stands there is not done again (`--report` prints the
table alone).
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

import numpy as np
from msgspec.structs import replace

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.kept import KeptInvestigator
from tests.bench.ledger import Ledger, symptoms_of
from tests.bench.spice_vehicle import SpiceVehicle, log_flux_differs
from tests.ngspice import NoOperatingPointError
from tracer.circuit.model import NO_CHANGE
from tracer.faults import Fault, list_faults
from tracer.harness.devices import Joint
from tracer.harness.file.dump import dump_harness
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import EarthPoint, Harness, Wire
from tracer.harness.node import node_of
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import basic_states
from tracer.inference.settled_lines import SettledLine, settled_lines
from tracer.job.history import IN_VAIN
from tracer.job.wiring import overlay_text
from tracer.observation.evidence import Evidence, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.patterns.answers import Answers
from tracer.patterns.file_text import harness_from_answers
from tracer.planning.costs import Standing
from tracer.planning.next_step import propose

MODELS = Path(__file__).parents[2] / "harness_models"
SMALL = ("rear_end", "bullets_1960s", "motorcycle_6v", "car_1950s")
MOST_STEPS = 40
CONFIDENT = 0.9  # share from which on a wrong repair is one that was sure
_BOLT_OHM = 0.01


@dataclass
class Played:
    """How one job went."""

    proven: bool = False
    minutes: float = 0.0
    tests: int = 0
    wrong: list[str] = field(default_factory=list)
    confident: bool = False
    right: int = 0  # lines settled as they are
    misled: int = 0  # lines settled as they are not
    lines: list[str] = field(default_factory=list)  # what was settled, those that are not so with a question mark
    seconds: float = 0.0


@dataclass
class Case:
    """One vehicle: what is otherwise, its fault, and the jobs done on it."""

    model: str
    number: int
    otherwise: list[str]
    fault: str
    jobs: dict[str, Played] = field(default_factory=dict)
    there: dict[str, bool] = field(default_factory=dict)  # job: whether its fault lies where a line is otherwise


# --- vehicles


def made(number: int, seed: int) -> Harness:
    """A vehicle of the patterns of which somebody could answer half of the questions."""
    rng, answers = random.Random(f"{seed} made {number}"), Answers()
    while (question := answers.due()) is not None:
        said = rng.choice(list(question.choices)) if question.choices else f"Invented vehicle {number}"
        answers = answers.with_answer(question.id, said if rng.random() < 0.5 else "?")
    return read_harness(harness_from_answers(answers))


def untraced(harness: Harness) -> Harness:
    """The typed file of which nobody followed a wire but the battery's; one that says itself what was followed stays
    as it is."""
    if harness.unsure:
        return harness
    poles = {*harness.poles()}
    return replace(
        harness, wires=tuple(replace(w, traced=bool(poles & {*w.run})) for w in harness.wires),
        parts={n: replace(p, traced=False) for n, p in harness.parts.items()})


def rerun(wire: Wire, last: bool, to: str) -> Wire:
    """A wire whose one end is somewhere else."""
    at = -1 if last else 0
    segments = list(wire.segments)
    segments[at] = replace(segments[at], b=to) if last else replace(segments[at], a=to)
    run = (*wire.run[:-1], to) if last else (to, *wire.run[1:])
    return replace(wire, run=run, segments=tuple(segments))


def one_change(harness: Harness, rng: random.Random) -> tuple[Harness, str] | None:
    """The vehicle with one line otherwise, drawn without the tool's list of what may be."""
    poles = {*harness.poles()}
    wire = rng.choice([w for w in harness.wires if not w.traced and not poles & {*w.run}])
    last = wire.run[-1] in harness.earths or rng.random() < 0.5
    end, kept = (wire.run[-1], wire.run[0]) if last else (wire.run[0], wire.run[-1])
    owner = harness.parts.get(node_of(end).owner)
    if end in harness.earths:
        body = harness.earths[end].body
        others = [e for e in harness.earths if e != end]
        if body is not None and rng.random() < 0.3:
            bolt = f"own bolt {len(harness.earths)}"
            made = replace(harness, earths={**harness.earths, bolt: EarthPoint(bolt, body)},
                           joints=(*harness.joints, Joint(f"{bolt} earth joint", bolt, body, "earth", _BOLT_OHM)))
            return exchanged(made, wire, rerun(wire, last, bolt)), f"{wire.name}: {kept} earthed where it sits"
        if not others:
            return None
        to = rng.choice(others)
    elif owner is not None and owner.kind == "fuse":
        fuses = [f"{p.name}.{node_of(end).terminal}" for p in harness.parts.values()
                 if p.kind == "fuse" and p is not owner]
        if not fuses:
            return None
        to = rng.choice(fuses)
    elif end in harness.splices:
        near = {s.b if s.a == end else s.a for s in harness.legs(end)} & set(harness.splices)
        if not near:
            return None
        to = rng.choice(sorted(near))
    else:
        return None
    if len(harness.legs(end)) < 2 and end not in harness.earths:
        return None  # it would leave nothing there
    return exchanged(harness, wire, rerun(wire, last, to)), f"{wire.name}: {kept} at {to}, not {end}"


def exchanged(harness: Harness, old: Wire, new: Wire) -> Harness:
    return replace(harness, wires=tuple(new if w is old else w for w in harness.wires))


def works_alike(typed: Harness, true: Harness) -> bool:
    """Whether every lamp of the sound vehicle does what the file says."""
    states = basic_states(typed)
    one, two = (SpiceVehicle(h, NO_CHANGE, random.Random(0), tolerances=False) for h in (typed, true))
    one.prepare(states)
    two.prepare(states)
    return not any(
        log_flux_differs(a[x][k], b[x][k]) for s in states for a, b in [(one.flux(s), two.flux(s))] for x in a
        for k in (0, 1)
    )


def vehicle_of(typed: Harness, rng: random.Random) -> tuple[Harness, list[str]] | None:
    """A vehicle with one to three lines otherwise, that works; None where 60 draws find none."""
    count = rng.choice((1, 1, 2, 2, 3))
    for _ in range(60):
        true, said = typed, list[str]()
        for _ in range(100):  # a small vehicle has not three lines that may be otherwise
            if len(said) == count:
                break
            made = one_change(true, rng)
            if made is not None and made[1].partition(":")[0] not in {s.partition(":")[0] for s in said}:
                true, said = made[0], [*said, made[1]]
        try:
            if said and works_alike(typed, true):
                return true, said
        except NoOperatingPointError:
            continue
    return None


def fault_of(
    typed: Harness, true: Harness, said: Sequence[str], rng: random.Random, share: float
) -> tuple[Fault, int]:
    """A fault of the vehicle that the typed file knows by the same repair: a share of them at a point that a line
    really leads to, or by the file does."""
    known = {f.repair for f in list_faults(typed)}
    moved = {s.partition(":")[0] for s in said}
    own = {x.name for w in true.wires if w.name in moved for x in w.segments}
    every = [f for f in list_faults(true) if f.repair in known and not own.intersection(f.elements)]
    points = where_otherwise(typed, true, said)
    there = [f for f in every if node_of(f.node).owner in points]
    pool = there if there and rng.random() < share else every
    fault = rng.choices(pool, [f.rate for f in pool])[0]
    return fault, rng.choices(range(len(fault.variants)), [v.weight for v in fault.variants])[0]


def where_otherwise(typed: Harness, true: Harness, said: Sequence[str]) -> set[str]:
    """The points that a line really leads to where the file has it elsewhere, and those that it has there by the
    file: not what hangs on its other end, whose lamps would be most of all faults."""
    filed = {w.name: w.run for w in typed.wires}
    moved = [({w.run[0], w.run[-1]}, {filed[w.name][0], filed[w.name][-1]}) for w in true.wires
             if w.name in {s.partition(":")[0] for s in said}]
    return {node_of(n).owner for one, two in moved for n in one ^ two}


class NoDiagram(SpiceVehicle):
    """A clamp goes round the wire that the test names; one that is not there cannot be clamped."""

    def answer(self, test: Test) -> str:
        if test.row.takes_wire and not any(
            {s.a, s.b} == {test.plus, test.minus} for w in self.harness.wires for s in w.segments
        ):
            return "could not do it"
        return super().answer(test)


# --- jobs


def play(
    investigator: Investigator, vehicle: SpiceVehicle, fault: Fault, evidence: Sequence[Evidence], true: Harness
) -> tuple[Played, tuple[SettledLine, ...]]:
    """Every step as the tool proposes it."""
    begun, told = time.monotonic(), list(evidence)
    assert isinstance(evidence[-1], Symptom)
    ledger = Ledger(investigator.harness, fault, Standing(evidence[-1].state), investigator.faults)
    tried: dict[str, float] = {}
    before: dict[str, int] = {}
    skipped: list[Test] = []
    out = Played()
    diagnosis = investigator.diagnose(told)
    for _ in range(MOST_STEPS):
        step = propose(diagnosis, ledger.standing, skipped=skipped, tried=before)
        if step.test is not None:
            value = parse_value(ledger.test(step.test, vehicle, step.also), step.test.kind, step.test.lamp)
            if value.told_nothing:
                skipped.append(step.test)
                continue
            told += [Reading(step.test, value), *ledger.seen_with(step.test, vehicle, step.also)]
        elif step.kind == "repair" and step.suspect is not None:
            own = step.suspect
            done = ledger.repair(own.best.defects, vehicle)
            if done:
                break
            out.confident |= own.share > CONFIDENT
            tried[own.repair] = IN_VAIN * tried.get(own.repair, 1.0)
            before[own.repair] = len(told)
        else:
            break
        diagnosis = investigator.diagnose(told, discount=tried)
    out.proven, out.minutes, out.tests, out.wrong = ledger.proven, ledger.minutes, ledger.tests, ledger.wrong
    lines = settled_by(investigator, told, diagnosis, fault) if out.proven else ()
    for line in lines:
        right = is_so(line, investigator.harness, true)
        out.right, out.misled = out.right + right, out.misled + (not right)
        out.lines.append(line.says if right else f"{line.says} ?")
    out.seconds = time.monotonic() - begun
    return out, lines


def settled_by(
    investigator: Investigator, told: Sequence[Evidence], diagnosis: Diagnosis, fault: Fault
) -> tuple[SettledLine, ...]:
    suspect = next((s for s in diagnosis.suspects if s.repair == fault.repair), None)
    return settled_lines(investigator, told, suspect.best) if suspect is not None else ()


def is_so(line: SettledLine, typed: Harness, true: Harness) -> bool:
    """Whether the vehicle has a line as it was settled; its own bolt by any name."""
    filed, wire = (next((w for w in h.wires if w.name == line.line), None) for h in (typed, true))
    new = line.deviation.rewired if line.deviation is not None else None
    if wire is None or filed is None:
        return new is None
    if new is not None and new.bolt:
        return any(n.startswith("own bolt") for n in wire.run)
    return wire.run == (filed.run if new is None else new.run)


def brought(
    job: str, typed: Harness, truth: Harness, said: Sequence[str], tool: Investigator, rng: random.Random,
    args: argparse.Namespace,
) -> tuple[Fault, NoDiagram, list[Evidence]] | None:
    """A fault, the vehicle that has it, and what is told of it; one that shows nowhere is not brought. None where
    eight draws show nothing."""
    for draw in range(8):
        fault, severity = fault_of(typed, truth, said, rng, args.there)
        dice = random.Random(f"{args.seed} {typed.title} {job} {draw} {fault.name}")
        vehicle = NoDiagram(truth, fault.variants[severity].change, dice, fault=fault)
        if evidence := symptoms_of(vehicle, tool, rng):
            return fault, vehicle, list(evidence)
    return None


def one_case(
    model: str, typed: Harness, number: int, args: argparse.Namespace, investigators: dict[str, Investigator]
) -> Case | None:
    """One vehicle; None where its fault shows nowhere."""
    rng = random.Random(f"{args.seed} {model} {number}")
    drawn = vehicle_of(typed, rng)
    if drawn is None:
        return None
    true, said = drawn
    truth = replace(true, wires=tuple(replace(w, traced=True) for w in true.wires),
                    parts={n: replace(p, traced=True) for n, p in true.parts.items()})
    if model not in investigators:  # one typed file stands for many vehicles
        investigators[model] = KeptInvestigator(typed)
    with_file = investigators[model]
    case: Case | None = None
    learned: tuple[SettledLine, ...] = ()
    with_truth = Investigator(truth)
    for job in ("first", "second") if args.second else ("first",):
        try:
            drawn_job = brought(job, typed, truth, said, with_truth, rng, args)
            if drawn_job is None:
                return case
            fault, vehicle, evidence = drawn_job
            case = case or Case(model, number, said, fault.name)
            case.there[job] = node_of(fault.node).owner in where_otherwise(typed, true, said)
            case.jobs[f"{job}, true diagram"], _ = play(with_truth, vehicle.copy(), fault, evidence, true)
            case.jobs[f"{job}, no diagram"], lines = play(with_file, vehicle.copy(), fault, evidence, true)
            if job == "first":
                learned = lines
            elif learned:
                laid = read_harness(dump_harness(typed), "typed", [(overlay_text(typed, learned), "learned")])
                case.jobs["second, learned"], _ = play(Investigator(laid), vehicle.copy(), fault, evidence, true)
        except NoOperatingPointError:
            return case
    return case


# --- what it came to


def report(cases: Sequence[Case]) -> None:
    if not cases:
        print("no jobs")
        return
    lines = [len(c.otherwise) for c in cases]
    print(f"{len(cases)} vehicles, {np.mean(lines):.2f} lines otherwise a vehicle")
    print(f"{'job':22}{'jobs':>5}{'proven':>9}{'minutes':>9}{'tests':>7}{'wrong parts':>13}{'sure and wrong':>16}"
          f"{'lines right':>13}{'wrong':>7}")
    for name in dict.fromkeys(n for c in cases for n in c.jobs):
        own = [c.jobs[name] for c in cases if name in c.jobs]
        print(f"{name:22}{len(own):>5}{np.mean([p.proven for p in own]):>9.1%}"
              f"{np.mean([p.minutes for p in own]):>9.1f}"
              f"{np.mean([p.tests for p in own]):>7.2f}{np.mean([len(p.wrong) for p in own]):>13.3f}"
              f"{np.mean([p.confident for p in own]):>16.1%}{sum(p.right for p in own):>13}"
              f"{sum(p.misled for p in own):>7}")
    for job in ("first", "second"):
        both = [(c.jobs[f"{job}, no diagram"].minutes, c.jobs[f"{job}, true diagram"].minutes) for c in cases
                if {f"{job}, no diagram", f"{job}, true diagram"} <= c.jobs.keys()]
        if both:
            a, b = np.array(both).T
            print(f"{job} job: {a.sum() / b.sum():.2f} times the minutes of the true diagram")
    learned = [c for c in cases if "second, learned" in c.jobs]
    report_learned("", learned)
    report_learned(", its fault where a line is otherwise", [c for c in learned if c.there.get("second")])


def report_learned(words: str, cases: Sequence[Case]) -> None:
    """Second jobs with what the first one settled, beside the same without."""
    both = [(c.jobs["second, learned"], c.jobs["second, no diagram"]) for c in cases]
    if not both:
        return
    minutes, tests, seconds = (
        (sum(getattr(p, name) for p, _ in both), sum(getattr(q, name) for _, q in both))
        for name in ("minutes", "tests", "seconds"))
    print(f"second job with what the first one settled{words}: {minutes[0] / minutes[1]:.3f} times the minutes "
          f"without, {tests[0]} tests for {tests[1]}, {seconds[0] / seconds[1]:.2f} times the seconds of work; "
          f"faster on {sum(p.minutes < q.minutes for p, q in both)}, "
          f"slower on {sum(p.minutes > q.minutes for p, q in both)} of {len(both)} vehicles")


def read(path: Path) -> list[Case]:
    if not path.exists():
        return []
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    return [Case(**{**r, "jobs": {n: Played(**p) for n, p in r["jobs"].items()}}) for r in rows]


def vehicles(args: argparse.Namespace) -> Iterator[tuple[str, int, Callable[[], Harness]]]:
    """What is to be done: name and number of each vehicle, and its typed file."""
    for number in range(args.first, args.first + (args.made or args.cases)):
        if args.made:
            yield "made", number, lambda n=number: made(n, args.seed)  # type: ignore[misc]
        else:
            for path in args.files:
                yield path.stem, number, lambda p=path: untraced(load_harness(p))  # type: ignore[misc]


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("files", nargs="*", type=Path, default=[MODELS / f"{m}.yaml" for m in SMALL])
    parser.add_argument("--cases", type=int, default=15, help="of each file")
    parser.add_argument("--made", type=int, default=0, help="vehicles of the patterns, instead of the files")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--second", action="store_true")
    parser.add_argument("--there", type=float, default=0.5, help="share of faults where a line is otherwise")
    parser.add_argument("--out", type=Path, default=Path("no_diagram.jsonl"))
    parser.add_argument("--minutes", type=float, default=15.0, help="after which no new vehicle is begun")
    parser.add_argument("--report", action="store_true")
    args = parser.parse_args()
    cases, begun, known = read(args.out), time.monotonic(), dict[str, Investigator]()
    done = {(c.model, c.number) for c in cases}
    for name, number, typed in vehicles(args) if not args.report else ():
        late = time.monotonic() - begun > 60 * args.minutes
        if (name, number) in done or late:
            continue
        if args.made:
            known.clear()
        case = one_case(name, typed(), number, args, known)
        if case is None or not case.jobs:
            print(f"{name} {number}: shows nowhere", flush=True)
            continue
        cases.append(case)
        with args.out.open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(case), ensure_ascii=False) + "\n")
        said = "; ".join(f"{n}: {'proven' if p.proven else 'NOT PROVEN'} {p.minutes:.0f} min, {p.tests} tests"
                         + (f", wrong {p.wrong}" if p.wrong else "") + f" ({p.seconds:.0f} s)"
                         for n, p in case.jobs.items())
        print(f"{name} {number} [{'; '.join(case.otherwise)}] {case.fault}: {said}", flush=True)
    report(cases)


if __name__ == "__main__":
    main()
