"""How many vehicles of random answers are healthy at once: a number of seeds, each read and checked.

    python -m tests.bench.bench_patterns [FIRST] [LAST]
"""

from __future__ import annotations

import sys
import time

from tests.patterns.vehicles import at_random
from tracer.checking.rules import check
from tracer.harness.file.text import read_harness
from tracer.patterns.file_text import harness_from_answers


def main() -> None:
    """Print each vehicle that is not healthy, and how many are."""
    first, last = (int(x) for x in (sys.argv[1:3] if len(sys.argv) > 2 else ("0", "200")))
    started, sound, lamps, wires, asked = time.monotonic(), 0, 0, 0, 0
    for seed in range(first, last):
        answers = at_random(seed)
        harness = read_harness(harness_from_answers(answers), f"vehicle {seed}")
        found = [str(f) for f in check(harness)]
        sound += not found
        lamps, wires = max(lamps, len(harness.lamps())), max(wires, len(harness.wires))
        asked = max(asked, len(answers.said))
        for line in found[:4]:
            print(line)
        if found:
            print("   ", "; ".join(f"{q}: {a}" for q, a in answers.said.items()))
    print(f"{sound} of {last - first} vehicles healthy at once; at most {lamps} lamps, {wires} wires, "
          f"{asked} answers; {time.monotonic() - started:.0f} s")


if __name__ == "__main__":
    main()
