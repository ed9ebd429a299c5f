"""The JSON Schema: valid itself, agrees with the reader on good files, and catches common slips."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from tracer.errors import TracerError
from tracer.harness.file.schema import schema
from tracer.harness.file.starter import STARTERS, starter_text
from tracer.harness.file.text import BASE_KEYS, OVERLAY_KEYS, dump_harness, load_harness, read_harness
from tracer.harness.part_kinds import KINDS

MODELS = sorted((Path(__file__).parents[2] / "harness_models").glob("*.yaml"))
VALIDATOR = jsonschema.Draft202012Validator(schema())
GOOD = """\
harness: Test
system: 12 V negative earth
colours: IEC 60757
controls: {light: [off, on]}
parts:
  F1: {kind: fuse, rating: 8 A}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
connectors: {C1: {ways: 6}}
splices: {S1: here}
earths: {E1: there}
wires:
  - {run: F1.out > C1.3 > left rear.tail, size: 1 mm², colour: GN, length: 1 m}
"""


def _as_text(text: str) -> Any:
    """As the reader takes it: every scalar a string."""
    return yaml.load(text, Loader=yaml.BaseLoader)


def _as_typed(text: str) -> Any:
    """As an editor takes it: numbers and truth values."""
    return yaml.safe_load(text)


def test_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    assert json.loads(json.dumps(schema())) == schema()


@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
@pytest.mark.parametrize("load", [_as_text, _as_typed])
def test_models_are_valid(path: Path, load: Any) -> None:
    VALIDATOR.validate(load(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
def test_dumped_models_are_valid(path: Path) -> None:
    VALIDATOR.validate(_as_text(dump_harness(load_harness(path))))


@pytest.mark.parametrize("what", list(STARTERS))
def test_starters_are_valid(what: str) -> None:
    VALIDATOR.validate(_as_text(starter_text(what=what)))


def test_overlay_is_valid() -> None:
    VALIDATOR.validate(_as_text("overlay: x\nremove: [w1]\nparts: {F1: {kind: fuse, rating: 5 A}}\n"))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rating: 8 A", "rating: 8"),
        ("rating: 8 A", "rating: 8 W"),
        ("rating: 8 A", "place: here"),
        ("rating: 8 A", "raiting: 8 A, rating: 8 A"),
        ("kind: fuse", "kind: fuze"),
        ("P21/5W", "P22W"),
        ("12 V negative", "13 V negative"),
        ("IEC 60757", "IEC 60575"),
        ("{ways: 6}", "{place: here}"),
        ("{ways: 6}", "{ways: six}"),
        ("{light: [off, on]}", "{light: [off]}"),
        ("size: 1 mm²", "size: 1 mm"),
        ("length: 1 m}", "length: [1 m, 2 A]}"),
        ("run: F1.out > C1.3 > left rear.tail", "run: F1.out"),
        ("run:", "runn:"),
        ("harness:", "harnes:"),
        ("earths: {E1: there}", "earths: E1"),
        ("F1: {", "F.1: {"),
        ("earths:", "base rates: {wire opn: 1}\nearths:"),
        ("earths:", "remove: [w1]\nearths:"),
    ],
)
def test_slips_are_caught_by_schema_and_reader_alike(old: str, new: str) -> None:
    assert VALIDATOR.is_valid(_as_text(GOOD))
    bad = GOOD.replace(old, new, 1)
    assert bad != GOOD
    assert not VALIDATOR.is_valid(_as_text(bad))
    with pytest.raises(TracerError):
        read_harness(bad)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rating: 8 A", "rating: 8,5 a".replace(",", ".")),
        ("rating: 8 A", 'rating: "8,5 A"'),
        ("size: 1 mm²", "size: 14 awg"),
        ("size: 1 mm²", "size: 1.5mm2"),
        ("length: 1 m}", "length: [40 cm, 0.2 m]}"),
        ("{ways: 6}", "{standard: ISO 1724}"),
        ("{ways: 6}", "6"),
        ("splices: {S1: here}", "splices: [S1, S2]"),
        ("earths: {E1: there}", "earths: [E1]"),
        ("C1.3", "C1/3"),
        ("stop + tail: P21/5W", "stop + tail: 21/5 W"),
        ("{light: [off, on]}", "{light: {positions: [off, on], sprung: yes, also: x}}"),
        ("splices: {S1: here}", "splices:"),
        ("12 V negative earth", "24v Positive Earth"),
        ("earths:", "base rates: {wire open: 1.5}\nearths:"),
        ("{run: F1.out > C1.3 > left rear.tail, size: 1 mm², colour: GN, length: 1 m}", "F1.out > left rear.tail"),
    ],
)
def test_what_the_reader_accepts_is_valid(old: str, new: str) -> None:
    good = GOOD.replace(old, new, 1)
    assert good != GOOD
    read_harness(good)
    VALIDATOR.validate(_as_text(good))
    VALIDATOR.validate(_as_typed(good))


def test_every_key_has_a_description() -> None:
    """Editors show it; a key without one is a key nobody explained."""

    def walk(node: Any, path: str) -> list[str]:
        missing = []
        if isinstance(node, dict):
            for name, value in node.get("properties", {}).items():
                if isinstance(value, dict) and "const" not in value and name != "kind":
                    missing += [] if value.get("description") else [f"{path}/{name}"]
                missing += walk(value, f"{path}/{name}")
            for key in ("additionalProperties", "items"):
                missing += walk(node.get(key), f"{path}/{key}")
            for key in ("anyOf", "oneOf"):
                for i, value in enumerate(node.get(key, [])):
                    missing += walk(value, f"{path}/{key}/{i}")
        return missing

    whole = schema()
    assert walk(whole, "") == []
    for name, kind in whole["$defs"].items():
        assert kind["description"] and walk(kind, name) == []


def test_schema_follows_the_tables() -> None:
    whole = schema()
    assert set(whole["$defs"]) == set(KINDS)
    assert set(whole["properties"]) == set(BASE_KEYS) | set(OVERLAY_KEYS)


@pytest.mark.parametrize(("ways", "good"), [
    ("{ways: 1}", True), ("{ways: 0}", False), ("{ways: 200}", True), ("{ways: 201}", False), ("200", True),
    ("201", False), ("{ways: 40, rows: 20}", True), ("{ways: 40, rows: 21}", False), ("{ways: 40, rows: 0}", False),
    ("{kind: bullets, ways: 200}", True), ("{kind: bullets, ways: 201}", False), ("bullets", True),
    ("{rows: 2}", False),
])
def test_the_schema_counts_as_far_as_the_reader_does(ways: str, good: bool) -> None:
    text = GOOD.replace("C1: {ways: 6}", f"C1: {{ways: 6}}, C2: {ways}")
    assert VALIDATOR.is_valid(_as_typed(text)) == good
    if good:
        read_harness(text)
        return
    with pytest.raises(TracerError):
        read_harness(text)
