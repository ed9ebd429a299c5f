"""Whether the tests of a room bite: mutants drawn at random over rooms, each run against that room's own tests.

    REACHED=FILE python -m pytest -n 0 -p tests.bench.reached tests/planning     (for each room once)
    python tests/bench/bench_mutants.py --count 300 --seed 1 --rooms observation planning --reached FILE…
    python tests/bench/bench_mutants.py --first 100 --count 20 --seed 1 …          (the 101st to the 120th of these)
    python tests/bench/bench_mutants.py --forked …                         (a third of the time, see `forked.py`)

A mutant changes one place of one module: a comparison turned round, a sign, `and` for `or`, a condition negated, a
constant moved. It lives in a copy of the tree, never in the tree itself. Where it is known which tests reach a
function, a mutant in it is run against these alone, the quickest first. A test that fails kills it only if it passes
on the tree as it is. Printed are the share killed, by room, and every survivor with its line before and after: what
survives changes nothing, or wants a test that states the law it breaks.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.forked import Forked  # noqa: E402

ROOMS: Final = {
    "observation": ("observation",), "inference": ("inference",), "safety": ("safety",), "planning": ("planning",),
    "job": ("job",), "harness/file": ("harness",), "commands": ("faces",), "guide": ("faces",),
}
# Files that every copy needs; the rest of the tree plays no part.
COPIED: Final = (
    "tracer", "tests", "harness_models", "demo", "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE",
)
_WAITS: Final = 6.0  # times its seconds of processor that a mutant may take by the clock
COMPARED: Final[dict[type[ast.cmpop], type[ast.cmpop]]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}
REACHED: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
}


@dataclass(frozen=True)
class Mutant:
    """One changed place: module, line, and the source of the whole module with the change."""

    room: str
    path: Path
    line: int
    before: str
    after: str
    source: str
    inside: tuple[int, int] | None  # first and last line of the function that holds it
    tree: ast.Module  # of the changed module, with the lines of the sound one


def _places(tree: ast.Module) -> list[ast.AST]:
    """Nodes that can be changed; types and what is raised are left alone."""
    aside: list[ast.AST] = []
    for n in ast.walk(tree):
        if isinstance(n, (ast.Assert, ast.Raise, ast.arguments)):
            aside.append(n)
        elif isinstance(n, ast.AnnAssign):
            aside.append(n.annotation)
        elif isinstance(n, (ast.FunctionDef, ast.AsyncFunctionDef)) and n.returns:
            aside.append(n.returns)
    skipped = {id(x) for n in aside for x in ast.walk(n)}
    return [n for n in ast.walk(tree) if id(n) not in skipped and _changeable(n)]


def _changeable(node: ast.AST) -> bool:
    match node:
        case ast.Compare():
            return type(node.ops[0]) in COMPARED
        case ast.BinOp():
            return type(node.op) in REACHED and not isinstance(node.left, ast.JoinedStr)
        case ast.Constant():
            return isinstance(node.value, (int, float)) and not isinstance(node.value, bool)
        case ast.BoolOp() | ast.If() | ast.IfExp():
            return True
    return False


def _changed(node: ast.AST) -> None:
    """Change one node in place."""
    if isinstance(node, ast.Compare):
        node.ops[0] = COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BoolOp):
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif isinstance(node, ast.BinOp):
        node.op = REACHED[type(node.op)]()
    elif isinstance(node, (ast.If, ast.IfExp)):
        node.test = ast.UnaryOp(ast.Not(), node.test)
    elif isinstance(node, ast.Constant):
        assert isinstance(node.value, (int, float))
        node.value = node.value + 1 if isinstance(node.value, int) else node.value * 2 + 0.1


def drawn(room: str, dice: random.Random) -> Mutant:
    """A mutant of a room, every changeable place of it as likely as any other."""
    path, chosen = dice.choice(_every_place(room))
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    node = _places(tree)[chosen]
    before = ast.unparse(node).splitlines()[0]
    _changed(node)
    after = ast.unparse(node).splitlines()[0]
    line = getattr(node, "lineno", 0)
    inside = _function(ast.parse(text), line)
    source = ast.unparse(ast.fix_missing_locations(tree))
    return Mutant(room, path.relative_to(ROOT), line, before, after, source, inside, tree)


@cache
def _every_place(room: str) -> list[tuple[Path, int]]:
    paths = sorted((ROOT / "tracer" / room).rglob("*.py"))
    return [(p, k) for p in paths for k in range(len(_places(ast.parse(p.read_text(encoding="utf-8")))))]


def _function(tree: ast.Module, line: int) -> tuple[int, int] | None:
    """First line, decorators included, and last line of the outermost function that holds a line."""
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            first = min([node.lineno, *(d.lineno for d in node.decorator_list)])
            if first <= line <= (node.end_lineno or 0):
                return first, node.end_lineno or 0
    return None


class Reach:
    """Which tests enter which lines of which module, by files of `tests.bench.reached`."""

    def __init__(self, files: list[Path]) -> None:
        self.tests: dict[str, tuple[float, set[tuple[str, int]]]] = {}
        for file in files:
            for test, (spent, names) in json.loads(file.read_text(encoding="utf-8")).items():
                places = {(name.rpartition(":")[0], int(name.rpartition(":")[2])) for name in names}
                self.tests[test] = spent, places

    def of(self, mutant: Mutant) -> list[str]:
        """The tests of its room that can notice it, the quickest first."""
        module = mutant.path.relative_to("tracer").as_posix()
        own = {n: x for n, x in self.tests.items() if n.startswith(tuple(f"{t}/" for t in tests_of(mutant.room)))}
        found = [(spent, n) for n, (spent, places) in own.items() if mutant.inside is None or any(
            m == module and mutant.inside[0] <= line <= mutant.inside[1] for m, line in places)]
        # What no test enters may have made a table while its module was read: any of them may notice.
        return [n for _, n in sorted(found or [(spent, n) for n, (spent, _) in own.items()])]

    def quickest(self, mutant: Mutant, most_s: float) -> tuple[list[str], float]:
        """Those of them that take no more than so many seconds of processor together, and what they take."""
        tests, total = list[str](), 0.0
        for name in self.of(mutant):
            spent = self.tests[name][0]
            if tests and total + spent > most_s:
                break
            tests.append(name)
            total += spent
        return tests, total


def tests_of(room: str) -> list[str]:
    """The folders of tests that have to notice."""
    return [f"tests/{name}" for name in ROOMS[room] if (ROOT / "tests" / name).is_dir()]


class Trial:
    """Runs mutants in copies of the tree; one that takes ten times the processor that the tests do counts as killed,
    and one that waits for what never comes."""

    def __init__(self, reach: Reach, most_s: float) -> None:
        self.reach, self.most_s = reach, most_s
        self._sound: dict[str, bool] = {}

    def killed(self, mutant: Mutant, copy: Path) -> bool:
        """Whether the room's own tests fail on it."""
        tests, spent = tests_of(mutant.room), 200.0
        if self.reach.tests:
            tests, spent = self.reach.quickest(mutant, self.most_s)
        if not tests:
            return False
        target = copy / mutant.path
        sound = target.read_text(encoding="utf-8")
        target.write_text(mutant.source, encoding="utf-8")
        try:
            failed = self._failed(tests, copy, 60.0 + 10.0 * spent)
        finally:
            target.write_text(sound, encoding="utf-8")
        return failed is not None and (failed == "" or self._passes(failed, copy))

    def _failed(self, tests: list[str], copy: Path, most_s: float) -> str | None:
        """The first test that fails, "" if they did not end or not begin; None if none does."""
        command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-rfE"]
        command += tests
        surroundings = {**os.environ, "PYTHONPATH": str(copy), "OPENBLAS_NUM_THREADS": "1"}

        def limited() -> None:  # of processor: on a busy machine the clock says nothing of the mutant
            resource.setrlimit(resource.RLIMIT_CPU, (int(most_s), int(most_s) + 5))

        try:
            done = subprocess.run(command, cwd=copy, env=surroundings, capture_output=True, text=True,
                                  timeout=_WAITS * most_s, check=False, preexec_fn=limited)
        except subprocess.TimeoutExpired:
            return ""
        if done.returncode == 0:
            return None
        named = re.search(r"^(?:FAILED|ERROR) (tests/.*?)(?: - .*)?$", done.stdout, re.MULTILINE)
        return named[1] if named and "::" in named[1] else ""

    def _passes(self, test: str, copy: Path) -> bool:
        """Whether it passes on the tree as it is."""
        if test not in self._sound:
            self._sound[test] = self._failed([test], copy, 600.0) is None
        return self._sound[test]


def _copied(folder: Path) -> Path:
    folder.mkdir()
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "out"))
        else:
            shutil.copy(source, folder / name)
    # Nothing is written while a mutant is there (-B): what is compiled before is compiled once, not for each of them.
    compiling = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPATH": str(folder)}
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", "--collect-only", "tests"]
    subprocess.run(command, cwd=folder, env=compiling, capture_output=True, check=False)
    return folder


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="*", default=[r for r in ROOMS if (ROOT / "tracer" / r).is_dir()])
    parser.add_argument("--most", type=float, default=120.0, help="seconds of the tests that may notice one")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--reached", nargs="*", type=Path, default=[], help="files of tests.bench.reached")
    parser.add_argument("--first", type=int, default=0, help="how many of the mutants to pass over")
    parser.add_argument("--forked", action="store_true", help="try those in functions in copies of this process")
    args = parser.parse_args()
    dice = random.Random(args.seed)
    mutants = [drawn(dice.choice(args.rooms), dice) for _ in range(args.first + args.count)][args.first:]
    trial = Trial(Reach(args.reached), args.most)
    tally: dict[str, list[bool]] = {}
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(args.workers) as pool:
        copies = [_copied(Path(folder) / str(k)) for k in range(args.workers)]

        def one(mutant: Mutant) -> bool:
            copy = copies.pop()
            try:
                return trial.killed(mutant, copy)
            finally:
                copies.append(copy)

        inside = [m for m in mutants if m.inside is not None] if args.forked else []
        if inside:
            here = Forked(ROOT, sorted({t for m in inside for t in tests_of(m.room)}), [m.path for m in inside])
        tried = [m for m in mutants if m not in inside]

        def verdicts() -> Iterator[tuple[Mutant, bool]]:
            yield from zip(tried, pool.map(one, tried), strict=True)
            for mutant in inside:
                tests, spent = trial.reach.quickest(mutant, args.most)
                try:
                    dead = bool(tests) and here.killed(mutant.path, mutant.tree, tests, 60.0 + 10.0 * spent)
                except ValueError:  # it lies in what a function is made with, as its defaults, and not in its body
                    dead = one(mutant)
                yield mutant, dead

        for mutant, dead in verdicts():
            tally.setdefault(mutant.room, []).append(dead)
            print(f"{'killed' if dead else 'lives '} {mutant.path}:{mutant.line}", file=sys.stderr, flush=True)
            if not dead:
                print(f"survived: {mutant.path}:{mutant.line}: {mutant.before}  →  {mutant.after}", flush=True)
    for room, found in sorted(tally.items()):
        print(f"{room:<14} {sum(found):>4} of {len(found):>4} killed ({sum(found) / len(found):.0%})")
    every = [d for found in tally.values() for d in found]
    print(f"all: {sum(every)} of {len(every)} killed ({sum(every) / len(every):.1%}), "
          f"{(time.perf_counter() - begun) / 60:.0f} min")


if __name__ == "__main__":
    main()
