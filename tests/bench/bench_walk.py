"""Random walks over jobs: entries of every kind and every command in any order; no traceback, no other status.

    .venv-tests/bin/python tests/bench/bench_walk.py --jobs 1000 [--first N] [--steps 25] [--models NAME …] [--light]

What goes wrong is printed with everything that was typed. `--first N --jobs 1` takes walk N again; `--light` leaves
out drawings and reports.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.walk import Walk

MODELS = Path(__file__).parents[2] / "harness_models"


def main() -> None:
    """Walk and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--steps", type=int, default=25)
    parser.add_argument("--models", nargs="*", default=sorted(p.stem for p in MODELS.glob("*.yaml")))
    parser.add_argument("--light", action="store_true")
    args = parser.parse_args()
    begun, wrong, refused, compared, commands = time.process_time(), 0, 0, 0, Counter[str]()
    for number in range(args.first, args.first + args.jobs):
        rng = random.Random(f"walk {number}")
        with tempfile.TemporaryDirectory() as folder:
            walk = Walk(MODELS / f"{rng.choice(args.models)}.yaml", Path(folder), rng, not args.light)
            walk.walk(args.steps)
        refused += walk.refused
        compared += walk.compared
        commands.update(step[0] for step in walk.steps)
        for said in walk.wrong:
            wrong += 1
            print(f"--- walk {number}, {walk.path.stem}\n{said}", flush=True)
    took = time.process_time() - begun
    each = ", ".join(f"{k} {n}" for k, n in commands.most_common())
    print(f"{args.jobs} jobs, {commands.total()} commands ({each}), "
          f"{refused} refused in words, {compared} compared with what stood before, {took:.0f} s of processor time: "
          f"{wrong} ended as they may not")


if __name__ == "__main__":
    main()
