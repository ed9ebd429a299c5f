"""Which added paths blow which fuse: what is estimated first, beside every row solved in every basic state.

    python tests/bench/bench_shorts.py [--whole]

Prints paths, those that blow a fuse, seconds of CPU of both ways, and how often they differ (never, else status 1).
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.generated import harness_text  # noqa: E402
from tracer.circuit.change_table import tabulate  # noqa: E402
from tracer.circuit.fuse_screening import blown  # noqa: E402
from tracer.circuit.fuses_and_relays import Settler  # noqa: E402
from tracer.circuit.model import Change, Setup, build_circuit  # noqa: E402
from tracer.faults import list_faults  # noqa: E402
from tracer.harness.file.text import load_harness, read_harness  # noqa: E402
from tracer.harness.model import Harness  # noqa: E402
from tracer.inference.hypotheses import basic_states  # noqa: E402

SUPPLIES = (0.93, 1.0, 1.05)  # share of the nominal voltage


def vehicles(whole: bool) -> Iterator[tuple[str, Harness]]:
    for path in sorted((ROOT / "harness_models").glob("*.yaml")):
        yield path.stem, load_harness(path)
    if whole:
        yield "generated whole vehicle", read_harness(harness_text(), "generated")


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--whole", action="store_true", help="the generated whole vehicle too")
    different = 0
    for name, harness in vehicles(parser.parse_args().whole):
        every = dict.fromkeys(v.change for f in list_faults(harness) for v in f.variants)
        changes = [c for c in every if c.added and not c.set_ohm]
        for supply in SUPPLIES:
            found, seconds = [], []
            for estimate in (True, False):
                begun, settler = time.process_time(), Settler(build_circuit(harness))
                table = tabulate(settler.circuit, changes)
                setups = [Setup(s, done=Change(emf_factor=supply)) for s in basic_states(harness)]
                found.append(
                    blown(settler, setups, table) if estimate
                    else np.any([settler.solve(s, table).blown for s in setups], axis=0)
                )
                seconds.append(time.process_time() - begun)
            differ = int((found[0] != found[1]).any(axis=1).sum())
            different += differ
            blow = int(found[1].any(axis=1).sum())
            print(f"{name:24} supply {supply:4.2f}: {len(changes):5} paths, {blow:4} blow a fuse; "
                  f"{seconds[0]:5.2f} s, all solved {seconds[1]:5.2f} s; {differ} differ", flush=True)
    sys.exit(different > 0)


if __name__ == "__main__":
    main()
