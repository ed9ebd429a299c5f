"""Sizes that a reader can hold: functions, classes and modules; what is over says why, and may only shrink."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "tracer"
FUNCTION, CLASS, MODULE = 60, 250, 400

# Lines that each may have at most, and why it is not split. A ceiling may fall, never rise; an entry that is no
# longer needed fails until it goes.
CEILINGS: dict[str, tuple[int, str]] = {
    "observation/forward_model.py Predictor": (273, "one cache of healthy panels that every question is asked of"),
    "circuit/linearised.py solve": (70, "one pass over large arrays, kept together for speed"),
}


def sizes() -> Iterator[tuple[str, int, int]]:
    """Every module, class and function: its name, its lines, and the lines that its kind may have."""
    for path in sorted(PACKAGE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        name = path.relative_to(PACKAGE).as_posix()
        yield name, text.count("\n"), MODULE
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
                lines = (node.end_lineno or 0) - node.lineno + 1
                yield f"{name} {node.name}", lines, CLASS if isinstance(node, ast.ClassDef) else FUNCTION


def test_nothing_is_larger_than_a_reader_can_hold() -> None:
    over = {n: lines for n, lines, most in sizes() if lines > CEILINGS.get(n, (most, ""))[0]}
    assert not over


def test_no_ceiling_outlives_its_need() -> None:
    """What has been split leaves the list."""
    largest: dict[str, tuple[int, int]] = {}
    for name, lines, most in sizes():
        largest[name] = max(largest.get(name, (0, most)), (lines, most))
    idle = [n for n in CEILINGS if n not in largest or largest[n][0] <= largest[n][1]]
    assert not idle


def test_every_ceiling_says_why() -> None:
    assert all(len(why.split()) >= 4 for _, why in CEILINGS.values())
