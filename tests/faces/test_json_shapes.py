"""Every command's --json output has the shape that the page shows."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tracer.commands import COMMANDS, main
from tracer.job.learning import MEMORY_VARIABLE

ROOT = Path(__file__).parents[2]
MODEL = str(ROOT / "harness_models" / "trailer_7pin.yaml")
TEXT = (ROOT / "demo" / "json.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^## tracer (\w+)\n.*?```json\n(.*?)```", TEXT, re.S | re.M)
SHAPES = {name: json.loads(block) for name, block in BLOCKS}
LEAVES: dict[str, Callable[[Any], bool]] = {
    "text": lambda x: isinstance(x, str),
    "number": lambda x: isinstance(x, (int, float)) and not isinstance(x, bool),
    "yes or no": lambda x: isinstance(x, bool),
}
LED = "overlay: LED\nparts:\n  left lamp unit: {lamps: {stop + tail: LED 3/0.5 W}}\n"
JOB = "job.yaml"
CALLS: tuple[tuple[str, ...], ...] = (
    ("check", MODEL, "--sneak"), ("check", MODEL.replace("trailer_7pin", "rear_end"), "--sneak"),
    ("check", "broken.yaml"),
    ("about",), ("new", "new.yaml"), ("wires", MODEL), ("chart", MODEL),
    ("simulate", MODEL, "--set", "indicators=left", "--volts", "S2", "--fault", "splice open: S4"),
    ("faults", MODEL),
    ("open", JOB, "--harness", MODEL), ("symptom", JOB, "both stop lamps dark when brake pedal pressed"),
    ("suspects", JOB), ("next", JOB),
    ("plan", JOB, "-o", "plan.html", "--minutes", "0.02"),
    ("reading", JOB, "volts X1.6 when brake pedal pressed", "12.2 V"), ("undo", JOB),
    ("differs", JOB, "led.yaml"), ("differs", JOB), ("report", JOB), ("repaired", JOB, "1", "--minutes", "5"),
    ("draw", JOB, "-o", "a.svg"), ("guide", JOB), ("page",), ("report", JOB),
    ("open", "next.yaml", "--same-vehicle-as", JOB), ("report", "next.yaml"),
    ("repaired", JOB, *(f"--proof={n}=ok" for n in range(1, 6))), ("learn", "."), ("suspects", "next.yaml"),
    ("practise", MODEL, "--seed", "4", "-o", "lesson.yaml"), ("practise", "lesson.yaml"),
)


def differences(data: Any, shape: Any, at: str = "") -> list[str]:
    """Where the data are not of the shape."""
    if isinstance(shape, str):
        return [] if LEAVES[shape](data) else [f"{at}: {data!r} is not “{shape}”"]
    if isinstance(shape, list):
        if not isinstance(data, list):
            return [f"{at}: not a list"]
        return [d for x in data for d in differences(x, shape[0], f"{at}[]")]
    if not isinstance(data, dict):
        return [f"{at}: not a table"]
    if len(shape) == 1 and next(iter(shape)).startswith("<"):
        return [d for k, x in data.items() for d in differences(x, next(iter(shape.values())), f"{at}.{k}")]
    known = {k.removesuffix("?"): k for k in shape}
    out = [f"{at}: “{k}” is not on the page" for k in data if k not in known]
    out += [f"{at}: “{k}” is missing" for k, full in known.items() if k == full and k not in data]
    for k, x in data.items():
        if k in known and not (x is None and known[k].endswith("?")):
            out += differences(x, shape[known[k]], f"{at}.{k}")
    return out


def test_the_page_has_every_command() -> None:
    assert set(SHAPES) == set(COMMANDS) - {"schema"}


def test_every_command_prints_its_shape(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(MEMORY_VARIABLE, "memory.sqlite")
    (tmp_path / "led.yaml").write_text(LED, encoding="utf-8")
    (tmp_path / "broken.yaml").write_text("harness: x\nsystem: 13 V\nparts: {}\nwires: []\n", encoding="utf-8")
    wrong = []
    for call in CALLS:
        with pytest.raises(SystemExit) as left:
            main([*call, "--json"])
        shown = capsys.readouterr()
        assert left.value.code == (1 if call == ("check", "broken.yaml") else 0), shown.err  # for scripts
        wrong += [f"{call[0]}{d}" for d in differences(json.loads(shown.out), SHAPES[call[0]])]

    assert wrong == [], "\n".join(wrong)
    assert {call[0] for call in CALLS} == set(SHAPES)


def test_a_wrong_shape_is_told() -> None:
    assert differences({"a": 1, "c": []}, {"a": "text", "b?": "text"}) == [
        ": “c” is not on the page", ".a: 1 is not “text”",
    ]
