"""Small files must never cost much: CPU seconds and MB of the commands on odd little harnesses, at three sizes each.

Lamps on one splice behind a fuse that they overload, relays that switch each other in a chain, many lamps on fuses of
their own, splices that are all joined to each other, and a long job. Everything in them is invented; no vehicle is
wired like this, but a file may be, by haste, by a generator or on the way to something sensible. Growth is the
exponent between the smallest and the largest size: 1 is linear.

    python tests/bench/bench_small_files.py [--only relays] [--limit 120] [--largest]
"""

from __future__ import annotations

import argparse
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.bench_commands import as_installed  # noqa: E402
from tests.bench.bench_large_job import large_job  # noqa: E402
from tracer.cache import FOLDER_VARIABLE, NOWHERE  # noqa: E402

MOST_S, MOST_MB = 5.0, 500.0

_HEAD = """harness: Invented odd harness
system: 12 V negative earth
usual: {size: 1.5 mm², length: 1 m}
controls:
  lights: {positions: [off, on]}
parts:
  battery: {kind: battery}
"""


def _switch(rest: str = "") -> str:
    return f"  switch: {{kind: switch, control: lights, contacts: {{on: [in-out]}}}}\n{rest}"


def _lamp(i: int) -> str:
    return f"  lamp {i}: {{kind: lamp, lamp: 5 W, earth at: E1}}\n"


def lamps_on_one_fuse(n: int) -> str:
    """`n` lamps of 5 W on one splice behind a fuse of 20 A: from 48 on they overload it."""
    parts = _switch("  F1: {kind: fuse, rating: 20 A}\n") + "".join(map(_lamp, range(n)))
    wires = ["battery.- > E1", "battery.+ > F1.in", "F1.out > switch.in", "switch.out > S1"]
    wires += [f"S1 > lamp {i}.feed" for i in range(n)]
    return _harness(parts, ["S1"], wires)


def chained_relays(n: int) -> str:
    """Each of `n` relays switches the coil of the next; the last lights a lamp."""
    parts = _switch("".join(f"  K{i}: {{kind: relay}}\n" for i in range(n))) + _lamp(1)
    wires = ["battery.- > E1", "battery.+ > S1", "S1 > switch.in", "switch.out > K0.86"]
    for i in range(n):
        wires += [f"K{i}.85 > E1", f"S1 > K{i}.30", f"K{i}.87 > {f'K{i + 1}.86' if i + 1 < n else 'lamp 1.feed'}"]
    return _harness(parts, ["S1"], wires)


def many_lamps(n: int, on_a_fuse: int = 20) -> str:
    """`n` lamps of 5 W behind one switch, twenty on a fuse, a wire each from their splice."""
    groups = range(-(-n // on_a_fuse))
    parts = _switch("".join(f"  F{g}: {{kind: fuse, rating: 15 A}}\n" for g in groups))
    parts += "".join(map(_lamp, range(n)))
    wires = ["battery.- > E1", "battery.+ > switch.in", "switch.out > S0"]
    for g in groups:
        wires += [f"S0 > F{g}.in", f"F{g}.out > T{g}"]
    wires += [f"T{i // on_a_fuse} > lamp {i}.feed" for i in range(n)]
    return _harness(parts, ["S0", *(f"T{g}" for g in groups)], wires)


def meshed_splices(n: int) -> str:
    """`n` splices, every one joined to every other; a switch feeds the first, a lamp hangs on the last."""
    names = [f"S{i}" for i in range(n)]
    wires = ["battery.- > E1", "battery.+ > F1.in", "F1.out > switch.in", "switch.out > S0"]
    wires += [f"S{n - 1} > lamp 1.feed", *(f"{a} > {b}" for a, b in combinations(names, 2))]
    return _harness(_switch("  F1: {kind: fuse, rating: 10 A}\n") + _lamp(1), names, wires)


def _harness(parts: str, splices: Sequence[str], wires: Sequence[str]) -> str:
    return (f"{_HEAD}{parts}splices: [{', '.join(splices)}]\nearths: [E1]\nwires:\n"
            + "".join(f"  - {w}\n" for w in wires))


@dataclass(frozen=True)
class Case:
    """Harnesses of one build: their sizes (the last is the one held to the targets) and what is run on them."""

    name: str
    text: Callable[[int], str]
    sizes: Sequence[int]
    symptom: str
    commands: Sequence[str] = ("check", "check --sneak", "chart", "symptom", "suspects", "next", "draw")


CASES = (
    Case("lamps on one splice, 20 A", lamps_on_one_fuse, (50, 100, 200), "lamp 1 dark when lights on"),
    Case("relays in a chain", chained_relays, (10, 20, 40), "lamp 1 dark when lights on"),
    Case("lamps, 20 on a fuse", many_lamps, (150, 300, 600), "lamp 1 dark when lights on"),
    Case("splices fully meshed", meshed_splices, (15, 30, 60), "lamp 1 dark when lights on"),
)
ENTRIES = (2500, 5000, 10000)


def spent(args: Sequence[str], cache: str, limit_s: int) -> tuple[float, float]:
    """CPU seconds and MB of one command; infinite seconds when it was stopped at `limit_s`."""
    own = os.environ | {FOLDER_VARIABLE: cache, "OPENBLAS_NUM_THREADS": "1"}

    def bounded() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s))

    child = subprocess.Popen([sys.executable, "-m", "tracer", *args], stdout=subprocess.DEVNULL,
                             stderr=subprocess.PIPE, env=own, preexec_fn=bounded)
    assert child.stderr is not None
    said = child.stderr.read().decode("utf-8", "replace")
    _, status, usage = os.wait4(child.pid, 0)
    code = os.waitstatus_to_exitcode(status)
    if code == 2 or "Traceback" in said:
        sys.exit(f"{args} failed:\n{said}")
    return (math.inf if code < 0 else usage.ru_utime + usage.ru_stime), usage.ru_maxrss / 1024


def steps(case: Case, size: int, folder: Path) -> Iterator[tuple[str, list[str]]]:
    """The commands of a case with their arguments, in the order of a job."""
    harness, job = folder / f"h{size}.yaml", folder / f"job{size}.yaml"
    harness.write_text(case.text(size), encoding="utf-8")
    shown = {
        "check": ["check", str(harness)], "check --sneak": ["check", str(harness), "--sneak"],
        "chart": ["chart", str(harness), "-o", str(folder / "chart.html")],
        "symptom": ["symptom", str(job), case.symptom], "suspects": ["suspects", str(job)],
        "next": ["next", str(job)], "draw": ["draw", str(job), "-o", str(folder / "out.svg")],
    }
    yield "open", ["open", str(job), "--harness", str(harness)]
    for name in case.commands:
        yield name, shown[name]


def long_jobs(folder: Path) -> dict[str, list[list[str]]]:
    """The commands on jobs of many entries, by name, one a size."""
    made: dict[str, list[list[str]]] = {"suspects": [], "next": [], "report": []}
    for entries in ENTRIES:
        own = folder / f"e{entries}"
        own.mkdir()
        job = str(large_job(own, entries))
        made["suspects"].append(["suspects", job])
        made["next"].append(["next", job])
        made["report"].append(["report", job, "-o", str(own / "report.html")])
    return made


def row(name: str, sizes: Sequence[int], found: Sequence[tuple[float, float]]) -> str:
    """One line: seconds and MB at each size, the growth, and whether the largest keeps the targets."""
    cells = "  ".join(f"{s:6.2f} s {mb:5.0f} MB" for s, mb in found)
    growth = (math.log(max(found[-1][0], 0.01) / max(found[0][0], 0.01)) / math.log(sizes[-1] / sizes[0])
              if len(found) > 1 and math.isfinite(found[-1][0]) else math.nan)
    met = found[-1][0] <= MOST_S and found[-1][1] <= MOST_MB
    return f"  {name:14} {cells}   growth {growth:5.2f}   {'met' if met else 'NOT MET'}"


def main() -> None:
    """Print a table a case."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="the cases with this in their name")
    parser.add_argument("--command", default="", help="this command alone, after what it needs")
    parser.add_argument("--limit", type=int, default=120, help="CPU seconds after which a command is stopped")
    parser.add_argument("--largest", action="store_true", help="the largest size alone")
    given = parser.parse_args()
    begun = time.process_time()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        as_installed(folder)
        for case in CASES:
            if given.only not in case.name:
                continue
            sizes = case.sizes[-1:] if given.largest else case.sizes
            print(f"{case.name}: {', '.join(map(str, sizes))}; largest "
                  f"{len(case.text(sizes[-1]).encode()) / 1000:.0f} kB", flush=True)
            each = {size: dict(steps(case, size, folder)) for size in sizes}
            for size in sizes:
                spent(each[size].pop("open"), NOWHERE, given.limit)
            for command in case.commands:
                if given.command in command or command == "symptom":
                    found = [spent(each[size][command], NOWHERE, given.limit) for size in sizes]
                    print(row(command, sizes, found), flush=True)
        if given.only in "long job":
            sizes = ENTRIES[-1:] if given.largest else ENTRIES
            print(f"long job: {', '.join(map(str, sizes))} entries")
            for command, runs in long_jobs(folder).items():
                if given.command in command:
                    found = [spent(args, NOWHERE, given.limit) for args in runs[-len(sizes):]]
                    print(row(command, sizes, found), flush=True)
    print(f"(the bench itself: {time.process_time() - begun:.1f} s)")


if __name__ == "__main__":
    main()
