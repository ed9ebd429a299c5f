"""Data flows one way: no module imports one further down the line, and third parties have their owners."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "tracer"

# From text to commands. A module may import from its own row and the rows above it.
LAYERS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("words and units", ("errors", "units", "standards", "kept")),
    ("harness", ("devices", "harness", "purposes", "lamps", "kinds", "base_rates")),
    ("harness text", ("harness_file",)),
    ("circuit", ("filament", "circuit", "flashing", "changes", "low_rank", "elimination", "responses", "network",
                 "all_nodes", "moving_ports", "tangent", "solution", "solver", "sharing", "settle", "overload",
                 "netlist")),
    ("faults", ("faults",)),
    ("evidence", ("terminals", "things", "on_purpose", "evidence", "consistency", "typed", "predictions")),
    (
        "ranking",
        (
            "ranking", "eyes", "hitting_sets", "hypotheses", "likelihood", "pairs", "said_before",
            "searched", "several", "supply", "diagnosis", "suspects", "paths", "directions", "reasons", "sensitivity",
            "groups", "practice", "undescribed", "inspection", "kept_diagnoses", "expectations",
        ),
    ),
    (
        "test choice",
        (
            "planning", "costs", "cautions", "limits", "outcomes", "in_hand", "in_sight", "direct", "living", "looks",
            "measurements", "interventions", "candidates", "next_test", "proof",
        ),
    ),
    ("checking", ("checking", "simulation",)),
    ("job", ("differences", "job_text", "job_file", "history", "vehicle_memory", "job")),
    ("drawing and report", ("drawing", "view", "report")),
    ("commands", ("guide", "commands", "__main__")),
)
RANK = {name: row for row, (_, names) in enumerate(LAYERS) for name in names}
OWNERS = {
    "yaml": {"harness_file", "job_text"},
    "click": {"commands"},
    "pygraphviz": {"drawing"},
}


def modules() -> Iterator[tuple[str, Path]]:
    """Top name (module or folder) and file of every module."""
    for path in sorted(PACKAGE.rglob("*.py")):
        top = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if top != "__init__":
            yield top, path


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (a.name for a in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_every_module_has_a_place() -> None:
    assert {top for top, _ in modules()} <= set(RANK)


@pytest.mark.parametrize(("top", "path"), list(modules()), ids=lambda x: x.name if isinstance(x, Path) else x)
def test_no_module_imports_one_further_down(top: str, path: Path) -> None:
    for name in imported(path):
        parts = name.split(".")
        if parts[0] == "tracer" and len(parts) > 1:
            assert RANK[parts[1]] <= RANK[top], f"{path.name} imports {name}"
        for library, owners in OWNERS.items():
            if parts[0] == library:
                assert top in owners, f"{path.name} imports {library}"
