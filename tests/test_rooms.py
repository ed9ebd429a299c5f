"""Data flows one way: no room imports one further down, no modules import in a circle, third parties have owners.

Every import statement counts, type-only and late ones too, and there is no list of exceptions.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

PACKAGE = Path(__file__).parents[1] / "tracer"
FACES = ("commands", "guide", "page", "__main__")

# From the ground up; a module may import from its own room and the rooms before it.
ROOMS: tuple[tuple[str, ...], ...] = (
    ("errors", "units", "cache"),
    ("standards",),
    ("harness",),
    ("circuit",),
    ("faults",),
    ("observation",),
    ("inference",),
    ("safety",),
    ("planning",),
    ("checking",),
    ("memory",),
    ("patterns",),
    ("job",),
    ("present",),
    ("practice",),
    FACES,
)
RANK = {name: row for row, names in enumerate(ROOMS) for name in names}
OWNERS = {
    "yaml": {"harness.file", "job"},
    "click": {"commands"},
    "pygraphviz": {"present.drawing"},
    "dataclasses": set(),  # records are structs: a command defines half of three hundred kinds at its start
}
AT_MOST_IN_ROOT = 6


def named(path: Path) -> str:
    """Dotted name below `tracer`; "" for the package itself."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {named(p): p for p in sorted(PACKAGE.rglob("*.py"))}


@cache
def imported(path: Path) -> tuple[str, ...]:
    return tuple(_imported(path))


def _imported(path: Path) -> Iterator[str]:
    """Full names of what a module imports; `from package import module` names the module."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (a.name for a in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path.name}: relative import"
            for a in node.names:
                inner = f"{node.module}.{a.name}"
                yield inner if inner.removeprefix("tracer.") in MODULES else node.module


def own_imports(name: str) -> set[str]:
    found = {i.removeprefix("tracer.") for i in imported(MODULES[name]) if i.startswith("tracer.")}
    return {i for i in found if i in MODULES}


def room(name: str) -> str:
    return name.split(".")[0]


def test_every_module_stands_in_a_room() -> None:
    assert {room(n) for n in MODULES if n} <= set(RANK)


def test_the_root_holds_few_files() -> None:
    assert len([p for p in PACKAGE.iterdir() if p.is_file()]) <= AT_MOST_IN_ROOT


def test_no_module_imports_from_a_room_further_down() -> None:
    for name in (n for n in MODULES if n):
        for other in own_imports(name):
            assert RANK[room(other)] <= RANK[room(name)], f"{name} imports {other}"
        for i in imported(MODULES[name]):
            for library, owners in OWNERS.items():
                if i.split(".")[0] == library:
                    assert any(name == o or name.startswith(o + ".") for o in owners), f"{name} imports {i}"


def test_no_modules_import_in_a_circle() -> None:
    graph = nx.DiGraph((n, other) for n in MODULES if n for other in own_imports(n))
    assert [sorted(c) for c in nx.strongly_connected_components(graph) if len(c) > 1] == []


FACES_TAKE = ("errors", "units", "job", "present", "practice", *FACES)


@pytest.mark.parametrize("name", [n for n in MODULES if room(n) in FACES])
def test_a_face_takes_no_lower_room_by_the_back_door(name: str) -> None:
    assert {i for i in own_imports(name) if room(i) not in FACES_TAKE and i} == set()


@pytest.mark.parametrize("name", sorted({r for rooms in ROOMS[1:] for r in rooms} - {"page", "__main__"}))
def test_a_room_says_what_comes_in_and_what_goes_out(name: str) -> None:
    said = ast.get_docstring(ast.parse(MODULES[name].read_text(encoding="utf-8"))) or ""
    assert len(said.split()) >= 25, f"tracer/{name}/__init__.py: what comes in, what goes out, who may call it"


ASKS_A_KIND = re.compile(r"(?:\bpart|parts\[[^\]]*\])\.kind (?:==|!=|in|not in) \(?\"")


def test_no_module_tells_parts_apart_by_the_name_of_their_kind() -> None:
    """A new kind of part is whole by its devices: asked by name, it would be left out wherever it was forgotten."""
    found = {name: ASKS_A_KIND.findall(path.read_text(encoding="utf-8")) for name, path in MODULES.items()}
    assert not {name: uses for name, uses in found.items() if uses}
