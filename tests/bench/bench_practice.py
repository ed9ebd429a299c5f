"""Hidden faults worked by the tool's own plan through the exercise: how many reach the right repair.

    python tests/bench/bench_practice.py [--cases N] [--seed N] [--models NAME ...]
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tracer.errors import TracerError
from tracer.practice.hidden_faults import LEVELS
from tracer.practice.plan_player import play_plan

MODELS = Path(__file__).parents[2] / "harness_models"


def main() -> None:
    """Draw, play and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--cases", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--models", nargs="*", default=sorted(p.stem for p in MODELS.glob("*.yaml")))
    args = parser.parse_args()
    rng = random.Random(args.seed)
    played, found, minutes = Counter[int](), Counter[int](), Counter[int]()
    vain, begun = 0, time.process_time()
    while sum(played.values()) < args.cases:
        model, seed = rng.choice(args.models), rng.randrange(10**6)
        level = 1 + sum(played.values()) % 6  # the seventh wants a file that nobody has followed
        try:
            went = play_plan(MODELS / f"{model}.yaml", level, seed)
        except TracerError as error:
            print(f"  {model}, level {level}, seed {seed}: left out: {error}", flush=True)
            continue
        played[level] += 1
        found[level] += went.found
        minutes[level] += round(went.minutes)
        vain += bool(went.in_vain)
        if not went.found or went.in_vain:
            print(f"  {model}, level {level}, seed {seed}: found {went.found}, in vain: {'; '.join(went.in_vain)}",
                  flush=True)
    for level, what in LEVELS.items():
        if played[level]:
            print(f"level {level} ({what}): {found[level]} of {played[level]} put right, "
                  f"{minutes[level] / played[level]:.0f} min each")
    total = sum(played.values())
    print(f"{sum(found.values())} of {total} put right ({sum(found.values()) / total:.1%}), a sound part renewed in "
          f"{vain}; {(time.process_time() - begun) / total:.1f} s of processor time each")


if __name__ == "__main__":
    main()
