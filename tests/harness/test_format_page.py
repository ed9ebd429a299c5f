"""The page on the harness format runs: its files load, its commands print what it says, its tables are complete."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from tests.faces.test_commands import run as run
from tracer.checking.rules import check
from tracer.harness.file.fields import LIMITS
from tracer.harness.file.parts import COMMON_KEYS
from tracer.harness.file.runs import WIRE_KEYS
from tracer.harness.file.schema import schema
from tracer.harness.file.text import BASE_KEYS, load_harness, read_harness
from tracer.harness.file.usual import USUAL_KEYS
from tracer.harness.file.wire_list import wire_list_text
from tracer.harness.lamp_purposes import PURPOSES
from tracer.harness.part_kinds import KINDS

MODELS = Path(__file__).parents[2] / "harness_models"
PAGE = (MODELS / "README.md").read_text(encoding="utf-8")
FILES = dict(re.findall(r"```yaml\n# (\S+\.yaml)\n(.*?)```", PAGE, re.S))
README = (MODELS.parent / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the files of the page, and those that it describes as mistakes."""
    for name, text in FILES.items():
        (tmp_path / name).write_text(f"# {name}\n{text}", encoding="utf-8")
    lines = FILES["lamp.yaml"].splitlines(keepends=True)
    (tmp_path / "forgot.yaml").write_text("".join(lines[:-1]), encoding="utf-8")
    swapped = FILES["unit.yaml"].replace("C1.1 >", "C1.x >").replace("C1.2 >", "C1.1 >").replace("C1.x >", "C1.2 >")
    # Changed over at the unit: the ways stay with their feeds.
    swapped = swapped.replace("58 > C1.2", "58 > C1.1").replace("54 > C1.1", "54 > C1.2")
    swapped = swapped.replace("left rear.tail", "left rear.x").replace("left rear.stop", "left rear.tail")
    (tmp_path / "swapped.yaml").write_text(swapped.replace("left rear.x", "left rear.stop"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _sessions() -> Iterator[tuple[str, list[str]]]:
    """Every command of the page with the lines that it is said to print."""
    for block in re.findall(r"```\n(\$ .*?)```", PAGE, re.S):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, printed = part.partition("\n")
            yield command, printed.splitlines()


def test_every_command_prints_what_the_page_says(run: Any, folder: Path) -> None:
    sessions = list(_sessions())
    assert len(sessions) >= 7
    for command, said in sessions:
        words = [a or b for a, b in re.findall(r'"([^"]*)"|(\S+)', command)]
        assert words[0] == "tracer"
        shown = run(*words[1:])
        assert shown.status == 0, (command, shown.err)
        printed = shown.out.splitlines()
        if "…" not in said:
            assert printed == said, command
        at = 0
        for line in said:  # in this order, with gaps where the page says so
            if line != "…":
                assert line in printed[at:], (command, line)
                at += printed[at:].index(line) + 1


@pytest.mark.parametrize("name", [n for n in FILES if n != "led.yaml"])
def test_files_of_the_page_are_sound(folder: Path, name: str) -> None:
    harness = load_harness(folder / name)
    assert [str(f) for f in check(harness)] == []
    jsonschema.Draft202012Validator(schema()).validate(yaml.safe_load(FILES[name]))


def test_the_overlay_of_the_page_fits(folder: Path) -> None:
    harness = load_harness(folder / "unit.yaml", [folder / "led.yaml"])
    assert [str(f) for f in check(harness)] == []


def test_the_example_list_is_what_the_unit_exports(folder: Path) -> None:
    block = PAGE.split("```csv\n")[1].split("```")[0]
    rows = wire_list_text(load_harness(folder / "unit.yaml")).splitlines()
    assert [row for row in block.splitlines() if row not in rows] == []
    assert block.splitlines()[0] == rows[0]


def test_the_vehicle_end_is_short_and_sound() -> None:
    path = MODELS / "rear_end.yaml"
    assert len(path.read_text(encoding="utf-8").splitlines()) < 65
    assert [str(f) for f in check(load_harness(path))] == []


def _rows(heading: str) -> dict[str, str]:
    table = PAGE.split(heading)[1].split("\n\n")[0]
    return {row.split("|")[1]: row for row in table.splitlines() if row.startswith("| `")}


def test_the_table_of_kinds_is_complete() -> None:
    rows = _rows("| kind | terminals | takes |\n")
    for name, kind in KINDS.items():
        row = next((r for first, r in rows.items() if f"`{name}`" in first), None)
        assert row is not None, f"no row of the table is about the kind “{name}”"
        assert [s for s in kind.settings if f"`{s}`" not in row] == [], name


def test_the_table_of_sections_is_complete() -> None:
    text = PAGE.split("**Sections")[1].split("**Kinds")[0]
    assert [k for k in (*BASE_KEYS, *USUAL_KEYS, *WIRE_KEYS, *COMMON_KEYS) if f"`{k}`" not in text] == []
    assert LIMITS and [p for p in PURPOSES if p not in PAGE.split("**What a lamp is for**")[1]] == []


def test_the_table_of_models_is_complete() -> None:
    named = re.findall(r"`(\w+\.yaml)`", PAGE.split("## The models")[1])
    assert sorted(named) == sorted(p.name for p in MODELS.glob("*.yaml"))


def test_the_readme_leads_here_and_its_own_example_is_whole() -> None:
    assert "harness_models/README.md" in README
    (example,) = re.findall(r"```yaml\n(harness:.*?)```", README, re.S)
    assert [str(f) for f in check(read_harness(example))] == []


def test_check_with_an_overlay_that_is_wrong_or_not_there(run: Any, folder: Path) -> None:
    (folder / "wrong.yaml").write_text("overlay: x\nwires: [S1 > E9]\n", encoding="utf-8")
    shown = run("check", "unit.yaml", "--overlay", "wrong.yaml")
    assert shown.status == 1
    assert shown.out.splitlines() == [
        "error: wrong.yaml:2:14: wire w14: no part, connector, splice or earth “E9” "
        "(did you mean “E2” or “E1”?)", "1 error",
    ]
    shown = run("check", "unit.yaml", "--overlay", "none.yaml")
    assert shown.status == 2 and "none.yaml: no such file" in shown.err
