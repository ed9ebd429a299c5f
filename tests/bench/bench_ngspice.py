"""The long comparison with ngspice: thousands of random circuits, and every fault of every harness model.

Run: python tests/bench/bench_ngspice.py [circuits]. Prints the worst differences; stops at the first
beyond the limit of the test suite.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path


def main() -> None:
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    from tests.test_against_ngspice import MODELS, check, random_questions, settled_questions
    from tracer.circuit import NO_CHANGE, Setup, build_circuit
    from tracer.faults import list_faults
    from tracer.harness_file.text import load_harness
    from tracer.settle import Settler

    circuits = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for first in range(1000, 1000 + circuits, 1000):  # seeds beyond those of the test suite
            seeds = range(first, min(first + 1000, 1000 + circuits))
            check(f"random circuits from seed {first}", list(random_questions(seeds)), folder)
        for path in MODELS:
            harness = load_harness(path)
            settler = Settler(build_circuit(harness))
            last = {n: c.positions[-1] for n, c in harness.controls.items()}
            faults = [("healthy", NO_CHANGE)]
            faults += [(f.name, v.change) for f in list_faults(harness) for v in f.variants]
            for state in (harness.state({}), harness.state(last), harness.state(last, engine_running=True)):
                label = harness.say_state(state)
                questions = list(settled_questions(settler, Setup(state), faults, label))
                check(f"{path.stem}, {label}", questions, folder)
    print(f"\n{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
