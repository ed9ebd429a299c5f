"""Fits what the traits of a reading weigh, and says how well the choice among readings does on lists left out.

    python tests/bench/fit_readings.py [--write] [--sure P] [--surer P]

Each list of `tests/observation/told/` that the rules of speech were written without is left out in turn: examples are
all the other lists, the weights are fitted to the other fresh ones. A sentence is right, wrong (understood otherwise
than meant), a choice (asked, and what was meant stands among the three) or without (asked, and it does not). The
judge is `judged.py`. `--write` fits the weights to all of them, into `likened/weights.py`.

The lists have been written by several people asked to vary the same complaints; a person who speaks otherwise than
all of them is not among them.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.judged import judge_of
from tests.bench.make_examples import ROOT, TOLD, Told, examples_of, fresh, lexicon, told_in
from tracer.errors import TracerError
from tracer.observation.words.likened.decided import SURE, SURER
from tracer.observation.words.likened.examples import Examples
from tracer.observation.words.likened.weighed import Reading, readings, weighed
from tracer.observation.words.sentences import symptoms_written
from tracer.observation.words.spelling import spelled_right
from tracer.observation.words.symptoms import read_by_rules

Numbers = NDArray[np.float64]
_WEIGHTS = ROOT / "tracer" / "observation" / "words" / "likened" / "weights.py"
_HEAD = '''"""What the traits of a reading weigh. Fitted by `tests/bench/fit_readings.py`, not by hand."""

from typing import Final

WEIGHTS: Final[dict[str, float]] = {
'''
_HOLD = 1.0  # the prior: each weight is held to nought as by one sentence that says so
_STEPS, _STEP = 400, 0.05


class Case(Struct):
    """A sentence with its readings, and which of them are what was meant."""

    told: Told
    found: list[Reading]
    right: list[bool]


def cases_of(each: Sequence[Told], examples: Examples) -> list[Case]:
    return [_case(told, examples) for told in each]


def _case(told: Told, examples: Examples) -> Case:
    words = lexicon(told.model)
    spelled, _ = spelled_right(told.text, words)
    try:
        read, choices = read_by_rules(told.text, words.harness, words.healthy).symptoms, []
    except TracerError as error:
        read, choices = (), [symptoms_written(c, words.harness) for c in error.choices]
    found = readings(spelled, words, read, choices, examples)
    judge = judge_of(words)
    return Case(told, found, [judge.judged(r.symptoms, told.meaning).right for r in found])


def fitted(cases: Sequence[Case]) -> dict[str, float]:
    """The weights under which what was meant is likeliest."""
    cases = [c for c in cases if any(c.right)]
    names = sorted({name for c in cases for r in c.found for name in r.traits})
    rows = np.array([[r.traits.get(n, 0.0) for n in names] for c in cases for r in c.found])
    right = np.array([r for c in cases for r in c.right])
    of = np.array([n for n, c in enumerate(cases) for _ in c.found])
    spread = rows.std(axis=0) + 1e-6
    weights = _descended(rows / spread, right, of, len(cases)) / spread
    return {n: round(float(w), 3) for n, w in zip(names, weights, strict=True)}


def _descended(rows: Numbers, right: NDArray[np.bool_], of: NDArray[np.int_], count: int) -> Numbers:
    """Gradient descent on the log probability of any right reading, steps scaled to each weight's own slope."""
    weights, mean, square = (np.zeros(rows.shape[1]) for _ in range(3))
    for step in range(1, _STEPS + 1):
        score = rows @ weights
        most = np.full(count, -np.inf)
        np.maximum.at(most, of, score)
        odds = np.exp(score - most[of])
        likely, meant = (w / np.bincount(of, w, count)[of] for w in (odds, odds * right))
        slope = ((likely - meant) @ rows + _HOLD * weights) / count
        mean, square = 0.9 * mean + 0.1 * slope, 0.99 * square + 0.01 * slope**2
        weights -= _STEP * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.99**step)) + 1e-9)
    return weights


def outcome(case: Case, weights: dict[str, float], sure: float, surer: float) -> str:
    """What becomes of a sentence; as of `decided.py`."""
    right = {id(r.traits): ok for r, ok in zip(case.found, case.right, strict=True)}
    found = weighed(case.found, weights)
    if not found:
        return "without"
    first, read = found[0], next((r for r in found if r.source.rules), None)
    if read is not None:
        said, offered = read is first and read.sure >= sure, [read, *(r for r in found if r is not read)][:3]
    else:
        said = first.sure >= surer and not first.source.unknown and not first.source.left_open
        offered = found[:3]
    if said:
        return "right" if right[id(first.traits)] else "wrong"
    return "choice" if any(right[id(r.traits)] for r in offered) else "without"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--sure", type=float, default=SURE)
    parser.add_argument("--surer", type=float, default=SURER)
    parser.add_argument("--show", action="store_true", help="what is wrong or without")
    args = parser.parse_args()
    paths = sorted(TOLD.glob("*.txt"))
    lists = {p.stem: told_in(p) for p in paths}
    cases = {p.stem: cases_of(lists[p.stem], Examples([*examples_of(
        t for name, each in lists.items() if name != p.stem for t in each)])) for p in paths if fresh(p)}
    whole = Counter[str]()
    print(f"{'list':6}{'sentences':>10}{'right':>8}{'choice':>8}{'without':>9}{'wrong':>7}  %")
    for name, each in cases.items():
        weights = fitted([c for other, some in cases.items() if other != name for c in some])
        found = [outcome(c, weights, args.sure, args.surer) for c in each]
        for case, so in zip(each, found, strict=True):
            if args.show and so in ("wrong", "without"):
                print(f"      {so}: {case.told.model}|{case.told.text}|{case.told.meaning}")
        whole.update(Counter(found))
        print(_line(name, Counter(found)), flush=True)
    print(_line("all", whole))
    if args.write:
        weights = fitted([c for each in cases.values() for c in each])
        rows = "".join(f'    "{n}": {w},\n' for n, w in weights.items())
        _WEIGHTS.write_text(f"{_HEAD}{rows}}}\n", encoding="utf-8")


def _line(name: str, found: Counter[str]) -> str:
    count = found.total()
    shares = [100 * found[k] / count for k in ("right", "choice", "without", "wrong")]
    return f"{name:6}{count:10}{shares[0]:8.1f}{shares[1]:8.1f}{shares[2]:9.1f}{shares[3]:7.1f}"


if __name__ == "__main__":
    main()
