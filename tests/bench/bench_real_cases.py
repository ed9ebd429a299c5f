"""How high the tool puts the causes of published cases (`tests/real_cases/`), and after what was measured there.

    python tests/bench/bench_real_cases.py [CASE …]

Each row: the case, the place of its cause among the suspects from what was seen alone, its place if each repair that
is part of one search stood for itself, and the share of all suspects that would mend it; the same after what was
measured ("·" where the source measured nothing that can be typed), and who leads in the end.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.real_cases.table import CASES
from tests.real_cases.telling import RealCase, Standing, play
from tracer import TracerError


def place(standing: Standing) -> str:
    return f"{standing.rank or '–':>4} {standing.alone or '–':>4} {standing.share:6.1%}"


def row(case: RealCase, first: Standing, after: Standing) -> str:
    later = place(after) if case.was_measured else "   ·            "
    return f"{case.id}  {place(first)}  {later}  {after.leader_share:4.0%} {after.leader}"


def counted(label: str, hits: Sequence[bool]) -> str:
    return f"{label}: {sum(hits)} of {len(hits)}" + (f", {sum(hits) / len(hits):.0%}" if hits else "")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("cases", nargs="*", metavar="CASE", help="R01, C03, …; all if none is named")
    wanted = parser.parse_args().cases
    if unknown := sorted(set(wanted) - {c.id for c in CASES}):
        parser.error(f"no case {', '.join(unknown)}: there are " + ", ".join(c.id for c in CASES))
    played: list[tuple[RealCase, Standing, Standing]] = []
    print("case  seen: rank, alone, share  measured: the same  leader in the end")
    with tempfile.TemporaryDirectory() as folder:
        for case in CASES:
            if wanted and case.id not in wanted:
                continue
            try:
                first, after = play(case, Path(folder))
            except TracerError as error:
                print(f"{case.id}  not played: {error}")
                continue
            played.append((case, first, after))
            print(row(case, first, after), flush=True)
    real = [p for p in played if p[0].id.startswith("R")]
    answered = [p for p in played if p[0].id.startswith("C")]
    print(counted("real cases, first from what was seen", [f.rank == 1 for _, f, _ in real]))
    print(counted("real cases, among the first three from what was seen", [(f.rank or 99) <= 3 for _, f, _ in real]))
    print(counted("real cases, first after all that was told", [a.rank == 1 for _, _, a in real]))
    print(counted("those that were measured, first after that", [a.rank == 1 for c, _, a in real if c.was_measured]))
    print(counted("practitioners' answers, among the first three", [(a.rank or 99) <= 3 for _, _, a in answered]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
