"""Whether the tests of a room bite: mutants drawn at random over rooms, each run against that room's own tests.

    python tests/bench/bench_mutants.py --count 300 --seed 1 --rooms observation inference planning job

A mutant changes one place of one module: a comparison turned round, a sign, `and` for `or`, a condition negated, a
constant moved. It lives in a copy of the tree, never in the tree itself. Printed are the share killed, by room, and
every survivor with its line before and after: what survives changes nothing, or wants a test that states the law it
breaks.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[2]
ROOMS: Final = {
    "observation": ("observation",), "inference": ("inference",), "safety": ("safety",), "planning": ("planning",),
    "job": ("job",), "harness/file": ("harness",), "commands": ("faces",), "guide": ("faces",),
}
# Files that every copy needs; the rest of the tree plays no part.
COPIED: Final = ("tracer", "tests", "harness_models", "demo", "pyproject.toml", "README.md", "DEVELOPERS.md")
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
    paths = sorted((ROOT / "tracer" / room).rglob("*.py"))
    every = [(p, k) for p in paths for k in range(len(_places(ast.parse(p.read_text(encoding="utf-8")))))]
    path, chosen = dice.choice(every)
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    node = _places(tree)[chosen]
    before = ast.unparse(node).splitlines()[0]
    _changed(node)
    after = ast.unparse(node).splitlines()[0]
    line = getattr(node, "lineno", 0)
    return Mutant(room, path.relative_to(ROOT), line, before, after, ast.unparse(ast.fix_missing_locations(tree)))


def tests_of(room: str) -> list[str]:
    """The folders of tests that have to notice."""
    return [f"tests/{name}" for name in ROOMS[room] if (ROOT / "tests" / name).is_dir()]


def killed(mutant: Mutant, copy: Path, most_s: float) -> bool:
    """Whether the room's own tests fail on it; one that runs for ever counts as killed."""
    target = copy / mutant.path
    sound = target.read_text(encoding="utf-8")
    target.write_text(mutant.source, encoding="utf-8")
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider"]
    command += tests_of(mutant.room)
    surroundings = {**os.environ, "PYTHONPATH": str(copy), "OPENBLAS_NUM_THREADS": "1"}
    try:
        done = subprocess.run(command, cwd=copy, env=surroundings, capture_output=True, timeout=most_s, check=False)
        return done.returncode != 0
    except subprocess.TimeoutExpired:
        return True
    finally:
        target.write_text(sound, encoding="utf-8")


def _copied(folder: Path) -> Path:
    folder.mkdir()
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "out", "bench"))
        else:
            shutil.copy(source, folder / name)
    return folder


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", nargs="*", default=[r for r in ROOMS if (ROOT / "tracer" / r).is_dir()])
    parser.add_argument("--most", type=float, default=120.0, help="seconds for one mutant")
    parser.add_argument("--workers", type=int, default=2)
    args = parser.parse_args()
    dice = random.Random(args.seed)
    mutants = [drawn(dice.choice(args.rooms), dice) for _ in range(args.count)]
    tally: dict[str, list[bool]] = {}
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(args.workers) as pool:
        copies = [_copied(Path(folder) / str(k)) for k in range(args.workers)]

        def one(mutant: Mutant) -> bool:
            copy = copies.pop()
            try:
                return killed(mutant, copy, args.most)
            finally:
                copies.append(copy)

        for mutant, dead in zip(mutants, pool.map(one, mutants), strict=True):
            tally.setdefault(mutant.room, []).append(dead)
            if not dead:
                print(f"survived: {mutant.path}:{mutant.line}: {mutant.before}  →  {mutant.after}", flush=True)
    for room, found in sorted(tally.items()):
        print(f"{room:<14} {sum(found):>4} of {len(found):>4} killed ({sum(found) / len(found):.0%})")
    every = [d for found in tally.values() for d in found]
    print(f"all: {sum(every)} of {len(every)} killed ({sum(every) / len(every):.1%}), "
          f"{(time.perf_counter() - begun) / 60:.0f} min")


if __name__ == "__main__":
    main()
