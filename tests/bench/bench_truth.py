"""Hold the tool against a truth that shares nothing with it: whole jobs, and the voltages of every lamp.

    python tests/bench/bench_truth.py [--models FILE …] [--random-vehicles N] [--jobs N] [--first N] [--seed N]
                                      [--kinds CLASS …] [--voltages N] [--observer N] [--seconds S] [--out DIR]
                                      [--fresh] [--report]

Every job is printed and written to DIR/results.jsonl as it ends; jobs found there are not run again (`--fresh`
forgets them, `--report` prints the tables of what is there). `--jobs` is a count for each vehicle; `--first K --jobs
1` plays job K alone, which is how one is replayed, with the same `--kinds` (classes of fault to draw from).
`DIR/jobs` holds each job file, the calls that made it and the traceback of a crash. `--observer` is the number of
draws of the ideal observer (0: without; each place gets at least one), `--voltages N` compares N random pairs of
state and fault instead of playing jobs; where a lamp is off it is solved again by each law in which the tool is known
to differ (`voltages.Law`), and the law is named by which it is so no more. What is simplified: one fault at a time, a
blown fuse is renewed before the next state is set.

How it counts, where that was changed: a repair's stated share is what the proposal is said to be sure of
(`Proposal.sure`), with what is mended on the way, since `right` counts that too; before, it was the share of the
suspect alone. An eyelet that is cleaned or renewed by itself, and feeds changed back at two lamps that undo two
crossed ways, were counted wrong and are right. Wires that end in bullets had no name here: every repair of one was
counted wrong. A lamp that shines and should be dark was told as "normal", which in a sentence means as it should be;
it is "lit normal". What burns in any state is no job, not only what burns at rest. The confirmation before a repair
takes three minutes; before, the repair's own were counted twice. A reading that the proof asks for once more is made
on the vehicle as it is, and takes as long. A switch that a pedal works may be set wrong; before, to adjust one was
always in vain. A lamp that burns between the flashes was told as dark. An electronic flasher unit for LED lamps of
24 V stood still with one of two missing; it doubles its rate. Straps and windings were no classes of their own:
older seeds draw other faults now.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from tests.bench.truth.circuit import Netlist, netlist_of
from tests.bench.truth.faults import WEIGHTS
from tests.bench.truth.jobs import Outcome, play
from tests.bench.truth.observer import Observer
from tests.bench.truth.oracle import Oracle
from tests.bench.truth.picture import know
from tests.bench.truth.random_vehicles import random_vehicle
from tests.bench.truth.tables import beside_oracle, failures, reliability, table
from tests.bench.truth.vehicle import read_vehicle
from tests.bench.truth.voltages import Pair, against_ngspice, pairs

MODELS = Path(__file__).parents[2] / "harness_models"


def vehicles(args: argparse.Namespace) -> dict[str, tuple[Path, Netlist]]:
    """The harness files asked for, and those made at random, written to where the results go."""
    files = [Path(m) for m in args.models] if args.models is not None else sorted(MODELS.glob("*.yaml"))
    for n in range(args.random_vehicles):
        path = args.out / "random" / f"random-{args.seed}-{n}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(random_vehicle(f"{args.seed} {n}"), encoding="utf-8")
        files.append(path)
    return {f.stem: (f, netlist_of(read_vehicle(f.read_text(encoding="utf-8")))) for f in files}


def jobs(args: argparse.Namespace) -> list[Outcome]:
    """Play what is not yet in the results."""
    found = results(args.out)
    known_jobs = {(o.vehicle, o.number) for o in found}
    for name, (path, net) in vehicles(args).items():
        todo = [n for n in range(args.first, args.first + args.jobs) if (name, n) not in known_jobs]
        if not todo:
            continue
        known, begun = know(net), time.monotonic()
        observer = Observer.of(known, args.observer, args.seed) if args.observer else None
        oracle = Oracle.of(observer, path) if observer is not None else None
        print(f"{name}: {len(known.states)} states, {len(net.lamps)} lamps, ideal observer of "
              f"{len(observer.draws) if observer else 0} draws in {time.monotonic() - begun:.0f} s", flush=True)
        for n in todo:
            outcome = play(name, n, path, known, oracle, str(args.seed), args.out / "jobs", args.seconds,
                           args.kinds)
            if observer is None:
                outcome.ideal = -1
            with (args.out / "results.jsonl").open("a", encoding="utf-8") as file:
                file.write(json.dumps(outcome.as_data(), ensure_ascii=False) + "\n")
            found.append(outcome)
            print(f"  {line(outcome)}", flush=True)
    return found


def line(o: Outcome) -> str:
    """One job in a line."""
    wrong = "".join(f" {what}: {', '.join(x)}" for what, x in (("wrong", o.wrong), ("in vain", o.vain)) if x)
    ranks = f"rank {o.rank} (ideal {o.ideal})"
    beside = f" (oracle {o.oracle:.0f})" if o.oracle >= 0 else ""
    took = f"{o.minutes:.0f} min{beside} | {o.seconds:.0f} s"
    return f"{o.number} {o.kind}: {o.fault} | {ranks} | {o.end}{wrong} | {took} {o.error}"


def results(out: Path) -> list[Outcome]:
    """What was played before."""
    path = out / "results.jsonl"
    if not path.exists():
        return []
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    for row in rows:
        row["stated"] = [(float(p), bool(good)) for p, good in row["stated"]]
    return [Outcome(**row) for row in rows]


def report(found: list[Outcome]) -> None:
    """All tables."""
    if not found:
        print("no jobs")
        return
    print("\n" + table(found, lambda o: o.vehicle, "vehicle"))
    print("\n" + table(found, lambda o: o.kind, "class of fault"))
    print("\n" + reliability(found))
    print("\n" + beside_oracle(found))
    print("\nwhat did not go as it should:\n" + failures(found), flush=True)


def voltages(args: argparse.Namespace) -> None:
    """Compare lamp voltages pair by pair; what differs is printed at once."""
    models = vehicles(args)
    count, worst, missing = against_ngspice(models, min(args.voltages, 12), args.seed)
    print(f"the bench's own solver beside ngspice: {count} circuits, worst lamp {worst} V, {missing} without answer",
          flush=True)
    found: list[Pair] = []
    for pair in pairs(models, args.voltages, args.seed):
        found.append(pair)
        if pair.off or pair.error or pair.blown != pair.tool_blown:
            print(f"  {pair.says()}", flush=True)
    lamps = sum(p.lamps for p in found)
    print(f"{len(found)} pairs, {lamps} voltages: {sum(bool(p.off) for p in found)} pairs with a lamp off by more "
          f"than 0.2 V ({sum(len(p.off) for p in found)} lamps; by none of the named laws "
          f"{sum(bool(p.left) for p in found)} pairs, {sum(p.left for p in found)} lamps), "
          f"{sum(p.blown != p.tool_blown for p in found)} with other fuses blown, "
          f"{sum(bool(p.error) for p in found)} without an answer; broken filaments shown with another voltage "
          f"than their contacts have: {sum(bool(p.broken) for p in found)}")
    for law in sorted({p.law for p in found} - {""}):
        own = [p for p in found if p.law == law]
        print(f"  {law}: {len(own)} pairs, {sum(len(p.off) for p in own)} lamps")
    by_vehicle: dict[str, list[Pair]] = {}
    by_kind: dict[str, list[Pair]] = {}
    for p in found:
        by_vehicle.setdefault(p.vehicle, []).append(p)
        by_kind.setdefault(p.fault.partition(":")[0], []).append(p)
    for title, groups in (("vehicle", by_vehicle), ("kind of fault", by_kind)):
        print(f"{title:24} | pairs | off | by no named law | other fuses")
        for name, own in sorted(groups.items()):
            off, left = sum(bool(p.off) for p in own), sum(bool(p.left) for p in own)
            other = sum(p.blown != p.tool_blown for p in own)
            print(f"{name:24} | {len(own):5} | {off:3} | {left:15} | {other:11}")


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--models", nargs="*", default=None)
    parser.add_argument("--random-vehicles", type=int, default=0)
    parser.add_argument("--kinds", nargs="*", default=(), choices=sorted(WEIGHTS))
    parser.add_argument("--jobs", type=int, default=4)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--voltages", type=int, default=0)
    parser.add_argument("--observer", type=int, default=400)
    parser.add_argument("--seconds", type=float, default=300.0)
    parser.add_argument("--out", type=Path, default=Path("truth_out"))
    parser.add_argument("--fresh", action="store_true")
    parser.add_argument("--report", action="store_true")
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    if args.fresh:
        (args.out / "results.jsonl").unlink(missing_ok=True)
    if args.voltages:
        voltages(args)
    elif args.report:
        report(results(args.out))
    else:
        report(jobs(args))


if __name__ == "__main__":
    main()
