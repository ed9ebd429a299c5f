"""The long comparison with ngspice: thousands of random circuits, every harness model in every vehicle state with
a fault of every kind (or of some kinds, in turn), and every fault of it in three states.

Prints the worst differences; stops at the first beyond 5 mV, half a per cent of a voltage or of a current. The test
suite allows a tenth of these volts; what is beyond that here is a battery cut off at both poles, whose place between
leaks of a gigaohm is no reading of anything.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from dataclasses import replace
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.circuit.test_against_ngspice import (
    MODELS,
    Question,
    compare,
    one_of_each_kind,
    random_questions,
    settled_questions,
)
from tests.ngspice import operating_points
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import NO_CHANGE, Setup, build_circuit
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness

MOST_V = 5e-3


def check_all(name: str, questions: list[Question], folder: Path) -> None:
    """Check all. Those for which ngspice finds no operating point from nothing are given our answer to start from,
    which it is free to leave; those for which it finds none even so are named and left out."""
    found = operating_points([q.text for q in questions], folder)
    helped = []
    for q in [q for q, one in zip(questions, found, strict=True) if isinstance(one, str)]:
        start = "\n".join(f".nodeset v(n{i})={v!r}" for i, v in enumerate(map(float, q.volts)) if i)
        helped.append(replace(q, text=q.text.replace("\n.end", f"\n{start}\n.end", 1)))
    again = operating_points([q.text for q in helped], folder) if helped else []
    for q, one in zip(helped, again, strict=True):
        said = "starts from our answer" if isinstance(one, dict) else "finds no operating point"
        print(f"ngspice {said}: {q.label}")
    compare(name, [*questions, *helped], [*found, *again], MOST_V)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=5000, help="random circuits")
    parser.add_argument("--models", nargs="*", help="names of models; usual: all")
    parser.add_argument("--states", type=int, default=0, help="at most so many states of each model; 0: every one")
    parser.add_argument("--kinds", type=int, default=0,
                        help="in each state faults of so many kinds, other ones in the next; 0: of every kind")
    parser.add_argument("--skip-every-fault", action="store_true", help="leave out the three states with every fault")
    chosen = parser.parse_args()
    circuits = chosen.circuits
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for first in range(1000, 1000 + circuits, 1000):  # seeds beyond those of the test suite
            seeds = range(first, min(first + 1000, 1000 + circuits))
            check_all(f"random circuits from seed {first}", list(random_questions(seeds)), folder)
        for path in [p for p in MODELS if not chosen.models or p.stem in chosen.models]:
            harness = load_harness(path)
            settler = Settler(build_circuit(harness))
            every = [
                harness.state(dict(zip(harness.controls, positions, strict=True)), engine)
                for positions in product(*(c.positions for c in harness.controls.values()))
                for engine in (False, True)
            ]
            step = max(1, len(every) // chosen.states) if chosen.states else 1
            some = []
            for turn, state in enumerate(every[::step]):
                kinds = one_of_each_kind(harness, turn)
                if chosen.kinds:
                    kinds = [kinds[(turn * chosen.kinds + k) % len(kinds)] for k in range(chosen.kinds)]
                faults = [("healthy", NO_CHANGE), *kinds]
                some += list(settled_questions(settler, Setup(state), faults, harness.say_state(state)))
                some += list(settled_questions(settler, Setup(state, "dark"), faults[:1], "dark phase"))
                if len(some) > 1000:
                    check_all(f"{path.stem}, {turn + 1} of {len(every)} states", some, folder)
                    some = []
            if some:
                check_all(f"{path.stem}, to the last of {len(every)} states", some, folder)
            print(f"{path.stem}: {len(every)} states, {time.perf_counter() - started:.0f} s", flush=True)
            if chosen.skip_every_fault:
                continue
            last = {n: c.positions[-1] for n, c in harness.controls.items()}
            faults = [("healthy", NO_CHANGE)]
            faults += [(f.name, v.change) for f in list_faults(harness) for v in f.variants]
            for state in (harness.state({}), harness.state(last), harness.state(last, engine_running=True)):
                label = harness.say_state(state)
                questions = list(settled_questions(settler, Setup(state), faults, label))
                check_all(f"{path.stem}, {label}", questions, folder)
    print(f"\n{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
