"""Names of nodes are put together and taken apart in one module, and come out as they went in."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer import load_harness
from tracer.circuit.model import build_circuit
from tracer.harness.node import Node, far_side, inside, node_of, terminal_at

PACKAGE = Path(__file__).parents[2] / "tracer"
# What reads text that people wrote, where a stroke or a point is no node's: sizes of wire, watts of twin filaments,
# positions between two, runs of a harness file, typed terminals before they are known, ends in vague lists, years,
# and the line that comes back from a sheet.
READERS = {
    "units.py", "harness/lamp_laws.py", "harness/file/parts.py", "harness/file/runs.py", "harness/file/dump.py",
    "harness/file/wire_list.py", "harness/file/bullets.py", "harness/file/vague_ends.py", "memory/finds.py",
    "present/sheet/line.py",
    "harness/model.py", "harness/devices.py", "harness/node.py", "observation/words/terminals.py",
    "observation/words/words.py", "observation/words/readings.py",
}
MARKS = {".", "/", "'"}
CUTS = {"rsplit", "rpartition", "rstrip", "endswith", "split", "partition", "removesuffix"}


@pytest.mark.parametrize(("name", "node"), [
    ("left rear.stop", Node("left rear.stop", "left rear", "stop")),
    ("C1.12", Node("C1.12", "C1", "12")),
    ("C1.12'", Node("C1.12'", "C1", "12", far=True)),
    ("left rear/stop live", Node("left rear/stop live", "left rear", inner="stop live")),
    ("battery.+", Node("battery.+", "battery", "+")),
    ("S4", Node("S4", "S4")),
    ("body", Node("body", "body")),
])
def test_a_name_is_taken_apart(name: str, node: Node) -> None:
    assert node_of(name) == node


def test_halves_of_a_way() -> None:
    """Both halves of way 12 are one way; a terminal that is no way is on neither side."""
    near, far = node_of("C1.12"), node_of("C1.12'")
    assert (near.is_way, far.is_way, far.near, near.near) == (True, True, "C1.12", "C1.12")
    assert not node_of("left rear.stop").is_way and node_of("left rear.stop").near == "left rear.stop"


@pytest.mark.parametrize("model", sorted(MODELS.glob("*.yaml")), ids=lambda p: p.stem)
def test_every_node_of_every_model_is_put_together_again(model: Path) -> None:
    for name in build_circuit(load_harness(model)).nodes:
        node = node_of(name)
        built = inside(node.owner, node.inner) if node.inner else (
            terminal_at(node.owner, node.terminal, node.far) if node.terminal else node.owner)
        assert built == name
        assert not node.far or far_side(node.near) == name


def surgery(tree: ast.AST) -> Iterator[int]:
    """Lines that cut a text at a mark of node names, or look for one in it."""
    for x in ast.walk(tree):
        if isinstance(x, ast.Call) and isinstance(x.func, ast.Attribute):
            first = x.args[0] if x.args else None
            if isinstance(first, ast.Constant) and first.value in MARKS and (
                (x.func.attr in CUTS and x.func.attr != "rstrip") or (x.func.attr == "rstrip" and first.value == "'")
                or (x.func.attr == "replace" and first.value == "'")
            ):
                yield x.lineno
        if isinstance(x, ast.Compare) and isinstance(x.left, ast.Constant) and x.left.value in MARKS and any(
            isinstance(op, (ast.In, ast.NotIn)) for op in x.ops
        ):
            yield x.lineno
        if isinstance(x, ast.JoinedStr) and any(
            isinstance(part, ast.Constant) and str(part.value) == "'" for part in x.values
        ):
            yield x.lineno


def test_only_one_module_takes_names_apart() -> None:
    found = [
        f"{path.relative_to(PACKAGE)}:{line}" for path in sorted(PACKAGE.rglob("*.py"))
        if str(path.relative_to(PACKAGE)) not in READERS
        for line in surgery(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert found == []
