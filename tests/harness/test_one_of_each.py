"""Small files taken apart: one of a thing where many may stand, what lies at the border of a size, and where in a
list or file something wrong is told to stand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tracer.errors import ProblemsError
from tracer.harness.file import nodes
from tracer.harness.file.dump import dump_harness
from tracer.harness.file.from_list import harness_from_list
from tracer.harness.file.nodes import Notes, parse_yaml, read_text_file
from tracer.harness.file.schema import schema
from tracer.harness.file.text import read_harness
from tracer.harness.file.way_ranges import expanded
from tracer.harness.file.wire_list import COLUMNS, read_wire_list
from tracer.harness.file.wires_in import lay_in
from tracer.harness.part_kinds import KINDS

BASE = """\
harness: Test
system: 12 V negative earth
controls:
  lights: [off, on]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  tail: {kind: lamp, lamp: R5W}
connectors: {C1: {ways: 6}, C2: {ways: 6}}
splices: {S1: }
earths: {E1: }
wires:
  - battery.- > E1
"""


def told(text: str) -> list[tuple[int | None, int | None, str]]:
    with pytest.raises(ProblemsError) as caught:
        read_harness(text)
    return [(p.line, p.column, p.message) for p in caught.value.problems]


# --- the schema


def walk(part: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str, Any]]:
    if isinstance(part, dict):
        for key, value in part.items():
            yield at, key, value
            yield from walk(value, (*at, key))
    elif isinstance(part, list):
        for value in part:
            yield from walk(value, at)


def test_one_of_anything_is_enough_but_of_a_controls_positions() -> None:
    """Where a list or a table may stand, one with a single entry may; where text may stand for nothing, it is empty.
    As many ways as the reader counts, and as many rows."""
    found = [(at, key, value) for at, key, value in walk(schema()) if key in ("minItems", "minProperties")]
    assert len(found) > 10
    for at, _, value in found:
        assert value == (2 if "controls" in at else 1), at
    assert {value for _, key, value in walk(schema()) if key == "maxLength"} == {0}
    bounds = {(key, value) for _, key, value in walk(schema()["properties"]["connectors"]) if key in (
        "minimum", "maximum")}
    assert bounds == {("minimum", 1), ("maximum", 200), ("maximum", 20)}
    rates = {(key, value) for _, key, value in walk(schema()["properties"]["base rates"]) if key in (
        "minimum", "maximum")}
    assert rates == {("minimum", 0)}


def test_every_setting_of_every_kind_stands_in_the_schema_with_what_it_means() -> None:
    for name, kind in KINDS.items():
        part = schema()["$defs"][name]
        assert {*kind.settings} <= {*part["properties"]} and not part["additionalProperties"]
        assert part["required"] == ["kind", *(k for k, s in kind.settings.items() if s.required)]
        for key, setting in kind.settings.items():
            assert part["properties"][key]["description"] == setting.means
            choices = part["properties"][key].get("enum")
            assert setting.type != "choice" or choices == [*setting.choices]


# --- what need not be written


def test_what_is_usual_is_not_written() -> None:
    """A file that was written by hand and read stays as short as it was."""
    wires = ("  - {run: battery.+ > C1.1 > C2.1 > tail.feed, length: 3 m}\n"
             "  - {run: F1.in > C1.2 > F1.out, length: [1 m, 2 m]}\n")
    written = dump_harness(read_harness(BASE.replace("battery}", "battery}\n  relay: {kind: relay}") + wires))
    lines = [line.strip() for line in written.splitlines()]
    for line in ("battery: {kind: battery}", "relay: {kind: relay}", "F1: {kind: fuse, rating: 8 A}",
                 "tail: {kind: lamp, lamp: R5W}", "lights: [off, on]", "C1: {ways: 6}", "S1: ''", "E1: ''",
                 "- {run: battery.- > E1, size: 1 mm², length: 1 m}",
                 "- {run: battery.+ > C1.1 > C2.1 > tail.feed, size: 1 mm², length: 3 m}",
                 "- {run: F1.in > C1.2 > F1.out, size: 1 mm², length: [1 m, 2 m]}"):
        assert line in lines, line


def test_a_wire_is_named_where_its_place_in_the_list_does_not_say_its_name() -> None:
    listed = "wire,from,to,size mm²\nw1,F1.out,S1,1\nw3,F1.in,S2,1\n,S1,S2,1\nw4,S1,S3,1\n"
    text, _ = harness_from_list(listed, "list", "It", "12 V", "negative")
    wires = text.partition("wires:\n")[2].splitlines()
    assert ["name" in w for w in wires] == [False, True, False, False] and "name: w3" in wires[1]


# --- sizes


@pytest.mark.parametrize(("size", "message"), [(50, ""), (51, "is too large: 0.0 MB")])
def test_a_file_is_read_whole_up_to_the_most(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int, message: str,
) -> None:
    monkeypatch.setattr(nodes, "MAX_BYTES", 50)
    path = tmp_path / "f.yaml"
    path.write_bytes(b"a" * size)
    if not message:
        assert read_text_file(path) == "a" * size
        parse_yaml("a" * size, "f", Notes())
        return
    with pytest.raises(ProblemsError) as caught:
        read_text_file(path)
    assert [p.message for p in caught.value.problems] == [message]
    with pytest.raises(ProblemsError, match="too large"):
        parse_yaml("a" * size, "f", Notes())


@pytest.mark.parametrize("size", [nodes.MAX_BYTES])
def test_the_largest_file_is_five_megabytes(size: int) -> None:
    assert (size, nodes.MAX_DEPTH, nodes.MAX_NODES) == (5_000_000, 12, 100_000), "as the page on the format says"


@pytest.mark.parametrize(("depth", "good"), [(12, True), (13, False)])
def test_brackets_are_closed_within_twelve(depth: int, good: bool) -> None:
    text = "[" * depth + "]" * depth
    if good:
        parse_yaml(text, "f", Notes())
        return
    with pytest.raises(ProblemsError, match="nested more than 12 levels deep"):
        parse_yaml(text, "f", Notes())


@pytest.mark.parametrize(("nodes_in_all", "good"), [(5, True), (6, False)])
def test_entries_are_counted_one_by_one(monkeypatch: pytest.MonkeyPatch, nodes_in_all: int, good: bool) -> None:
    """A list of four is five, and so is a table of two: keys count as well."""
    monkeypatch.setattr(nodes, "MAX_NODES", 5)
    for text in ("[" + ", ".join("a" * (nodes_in_all - 1)) + "]",
                 "{a: 1, b: 2}" if good else "{a: 1, b: [2]}"):
        if good:
            parse_yaml(text, "f", Notes())
            continue
        with pytest.raises(ProblemsError, match="more than 5 entries"):
            parse_yaml(text, "f", Notes())


@pytest.mark.parametrize(("written", "line", "column"), [
    ("a: b\nc: d\x00", 2, 5), ("\x07", 1, 1), ("a\n\n\x1b", 3, 1), ("ab\u2028", 1, 3),
])
def test_a_character_that_cannot_stand_there_is_told_where_it_stands(written: str, line: int, column: int) -> None:
    with pytest.raises(ProblemsError, match="cannot stand in a harness file") as caught:
        parse_yaml(written, "f", Notes())
    assert [(p.line, p.column) for p in caught.value.problems] == [(line, column)]


@pytest.mark.parametrize(("written", "message", "line", "column"), [
    ("\ta: b", "a tab in the indentation", 1, 1), ("a: b\n  \tc: d", "a tab in the indentation", 2, 3),
    ("a:\tb", "a tab in the line", 1, 3),
])
def test_a_tab_is_told_where_it_stands(written: str, message: str, line: int, column: int) -> None:
    with pytest.raises(ProblemsError) as caught:
        parse_yaml(written, "f", Notes())
    assert [(p.message, p.line, p.column) for p in caught.value.problems] == [(message, line, column)]
    parse_yaml("a: b  # \t a comment", "f", Notes())


@pytest.mark.parametrize(("written", "line", "column", "likely"), [
    (b"\xe4", 1, 1, "ä"), (b"a\nb\xfc", 2, 2, "ü"), ("ä".encode() + b"\xe4", 1, 2, "ä"), (b"\x80", 1, 1, ""),
])
def test_a_byte_that_is_no_utf_8_is_told_where_it_stands(
    tmp_path: Path, written: bytes, line: int, column: int, likely: str,
) -> None:
    path = tmp_path / "f.yaml"
    path.write_bytes(written)
    with pytest.raises(ProblemsError) as caught:
        read_text_file(path)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (line, column)
    assert problem.message == f"byte 0x{written[-1]:02X} is not UTF-8"
    assert (f"in Latin-1 it would be “{likely}”" in (problem.hint or "")) == bool(likely)


def test_a_file_in_utf_16_is_told_as_that_and_a_mark_at_the_start_is_nothing(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    for order in ("utf-16-le", "utf-16-be"):
        path.write_bytes("\ufeffa: b".encode(order))
        with pytest.raises(ProblemsError, match="not UTF-8 but UTF-16"):
            read_text_file(path)
    path.write_bytes("\ufeffa: b".encode())
    assert read_text_file(path) == "a: b"


# --- where something stands


@pytest.mark.parametrize("quoted", [
    "tail.earth > E1 > E9", "'tail.earth > E1 > E9'", '"tail.earth > E1 > E9"', '"tail.earth \\x3E E1 > E9"',
    "{run: tail.earth > E1 > E9}", "{run: 'tail.earth > E1 > E9'}",
])
def test_a_point_is_told_at_its_own_column(quoted: str) -> None:
    """Of a text with an escape in it at the text: nobody counts its characters."""
    text = BASE + f"  - {quoted}\n"
    line, at = text.count("\n"), 5 + (0 if "\\" in quoted else quoted.index("E9"))
    assert told(text) == [(line, at, "wire w2: no part, connector, splice or earth “E9”")]


@pytest.mark.parametrize(("row", "cell"), [
    ("F1.out,,tail.,1", 3), ("F1.,,tail.feed,1", 1), ("F1.out,C1./2,tail.feed,1", 2),
    ("F1.out,C1.1 > C2./2,tail.feed,1", 2), ("F1.out,C1.1 > C2.2 > C3.,tail.feed,1", 2),
])
def test_a_point_of_a_list_is_told_in_its_own_cell(row: str, cell: int) -> None:
    """However many points stand before it."""
    with pytest.raises(ProblemsError) as caught:
        harness_from_list(f"from,through,to,size mm²\nF1.in,,S1,1\n{row}\n", "list", "It", "12 V", "negative")
    assert [(p.line, p.column) for p in caught.value.problems] == [(3, cell)]


# --- lists


@pytest.mark.parametrize(("titles", "found"), [(0, True), (9, True), (10, False)])
def test_a_heading_stands_within_the_first_ten_rows(titles: int, found: bool) -> None:
    """Blank rows are none."""
    text = "".join(f"title {n}\n\n" for n in range(titles)) + "from,to,size mm²\nF1.in,S1,1\n"
    notes = Notes()
    wires = read_wire_list(text, "list", notes).wires
    assert len(wires) == found and bool(notes.problems) != found
    assert not found or wires[0].mark.line == 2 * titles + 2


def test_of_a_list_every_row_that_is_wrong_is_named() -> None:
    """Ten thousand of them, where a harness file stops at a hundred."""
    rows = "".join(f"F{n}.in,,1\n" for n in range(150))
    with pytest.raises(ProblemsError) as caught:
        harness_from_list("from,to,size mm²\n" + rows, "list", "It", "12 V", "negative")
    assert len(caught.value.problems) == 150
    text = BASE + "".join(f"  - tail.feed > X{n}\n" for n in range(150))
    assert len(told(text)) == 101


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("key", COLUMNS)
def test_every_heading_of_a_column_means_it(separator: str, key: str) -> None:
    """In small letters or large, with a unit in brackets or behind it, in any place of the row."""
    for heading in (key, *COLUMNS[key], key.upper()):
        cells = {"from": "F1.in", "to": "S1"}
        others = [k for k in ("from", "to") if k != key]
        rows = [heading, *others], ["1 mm²", *(cells[k] for k in others)]
        text = "".join(separator.join(row) + "\n" for row in rows)
        notes = Notes()
        found = read_wire_list(text, "list", notes)
        assert not found.unread, heading
        assert len(found.wires) == 1


@pytest.mark.parametrize(("heading", "cell", "meant"), [
    ("size mm²", "1.5", "1.5 mm²"), ("Size (mm²)", "1.5", "1.5 mm²"), ("size in mm²", "1.5", "1.5 mm²"),
    ("size [mm²]:", "1.5", "1.5 mm²"), ("mm²", "1.5", "1.5 mm²"), ("mm2", "1.5", "1.5 mm²"), ("AWG", "14", "14 AWG"),
    ("size awg", "14", "14 AWG"), ("size", "1.5 mm²", "1.5 mm²"), ("length cm", "50", "50 cm"),
    ("length m", "50 cm", "50 cm"), ("temp °C", "60", "60 °C"), ("length m", "1 > 2.5", "1 m > 2.5 m"),
    ("length", "1 m > 250 cm", "1 m > 250 cm"), ("size", "1.5", ""), ("length", "1 > 2 m", ""),
])
def test_a_bare_number_has_the_unit_of_its_heading(heading: str, cell: str, meant: str) -> None:
    notes = Notes()
    found = read_wire_list(f"{heading},from,to\n{cell},F1.in,S1\n", "list", notes)
    (wire,) = found.wires
    entries: Any = {k: v for k, (_, v) in wire.entries.items() if k != "run"}  # type: ignore[union-attr]
    said = [" > ".join(n.text for n in getattr(v, "items", [v])) for v in entries.values()]
    assert said == ([meant] if meant else []) and [p.message.endswith("has no unit") for p in notes.problems] == (
        [] if meant else [True])


# --- ranges


@pytest.mark.parametrize(("line", "runs"), [
    ("C1.3-5 > C2.1-3", ["C1.3 > C2.1", "C1.4 > C2.2", "C1.5 > C2.3"]),
    ("C1.3-5 > C2.6-4", ["C1.3 > C2.6", "C1.4 > C2.5", "C1.5 > C2.4"]),
    ("C1.2 – 2 > S1", ["C1.2 > S1"]), ("C1.1..2 > E1", ["C1.1 > E1", "C1.2 > E1"]),
    ("F1.out > C1.1 to 2", ["F1.out > C1.1", "F1.out > C1.2"]), ("F1.out > S1", ["F1.out > S1"]),
    ("C1.1-2 > C2.1-2 > C3.3-4", ["C1.1 > C2.1 > C3.3", "C1.2 > C2.2 > C3.4"]),
])
def test_a_range_stands_for_a_wire_a_way(line: str, runs: list[str]) -> None:
    """Counted up or down; only the first wire keeps the name, each has its own colour."""
    notes = Notes()
    count = len(runs)
    root: Any = parse_yaml(f"wires:\n  - {line}\n  - {{run: {line}, name: rib, size: 1 mm², colour: ["
                           f"{', '.join('GN' if n % 2 else 'RD' for n in range(count))}]}}\n", "f", notes)
    plain, full = (expanded(root.entries["wires"][1], notes).items[part] for part in (
        slice(0, count), slice(count, None)))
    assert [n.text for n in plain] == runs and not notes.problems  # type: ignore[union-attr]
    tables: Any = full
    assert [t.entries["run"][1].text for t in tables] == runs
    assert [t.entries["name"][1].text for t in tables] == ["rib", *(f"rib {n}" for n in range(2, count + 1))]
    if count > 1:
        assert [t.entries["colour"][1].text for t in tables] == ["GN" if n % 2 else "RD" for n in range(count)]


@pytest.mark.parametrize(("line", "message"), [
    ("C1.1-2 > C2.1-3", "the ranges of one line have as many ways each: 1-2 has 2 and 1-3 has 3"),
    ("C1.1-201 > S1", "201 wires in one line, at most 200"),
    ("{run: C1.1-3 > S1, colour: [GN, RD]}", "2 colours for 3 wires"),
])
def test_a_range_that_does_not_fit_is_refused_as_a_whole(line: str, message: str) -> None:
    notes = Notes()
    root: Any = parse_yaml(f"wires:\n  - {line}\n", "f", notes)
    assert expanded(root.entries["wires"][1], notes).items == [] and [p.message for p in notes.problems] == [message]
    long: Any = parse_yaml(f"wires:\n  - {' > '.join(f'C1.1-{n}' for n in range(2, 20))}\n", "f", notes)
    assert not expanded(long.entries["wires"][1], notes).items and len(notes.problems.pop().message) == 120
    most: Any = parse_yaml("wires:\n  - C1.1-200 > S1\n", "f", notes)
    assert len(expanded(most.entries["wires"][1], notes).items) == 200


# --- a list laid into a file


FILE = """\
# about this file
harness: Test
system: 12 V negative earth
parts:
  battery: {kind: battery}
  tail: {kind: lamp, lamp: R5W}
wires:   # mine
  - battery.- > E1

# two earths
earths: {E1: , E2: }
"""
LISTED = "from,to,size mm²,length m\ntail.earth,E2,1,1\n"
NEW = "  - {run: tail.earth > E2, size: 1 mm², length: 1 m"


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("add", [False, True])
def test_only_the_wires_of_a_file_are_exchanged(ending: str, add: bool) -> None:
    """All other lines stay as typed, comments and blank lines above the next section with it, in the file's own line
    ends; added wires come after its own."""
    lines = FILE.splitlines()
    text, harness, _ = lay_in(ending.join(lines) + ending, "f", LISTED, "list", add)
    own = lines[7:8] if add else []
    assert text == ending.join([*lines[:7], *own, f"{NEW}}}", *lines[8:]]) + ending
    assert len(harness.wires) == 1 + add


@pytest.mark.parametrize(("wires", "kept"), [
    ("wires: []\n", "wires:"), ("wires: [battery.- > E1]\n", "wires:"), ("wires:\n", "wires:"), ("", "wires:"),
])
def test_wires_are_laid_in_where_none_were_or_in_one_line(wires: str, kept: str) -> None:
    text, harness, _ = lay_in(FILE.partition("wires:")[0] + "earths: {E1: , E2: }\n" + wires, "f", LISTED, "list")
    assert text.splitlines()[-2:] == [kept, f"{NEW}}}"] and len(harness.wires) == 1


# --- positions of another control


@pytest.mark.parametrize(("part", "problems"), [
    ("{kind: dimmer, control: lights, steps: {on: 5 ohm}}", []),
    ("{kind: dimmer, control: lights, steps: {of: 5 ohm}}", ["it, steps: lights has no position “of”"]),
    ("{kind: dimmer, control: light, steps: {of: 5 ohm}}", ["it, control: no control “light”"]),
    ("{kind: switch, control: lights, contacts: {on: [a-b]}}", []),
    ("{kind: switch, control: lights, contacts: {of: [a-b]}}", ["it, contacts: lights has no position “of”"]),
    ("{kind: switch, control: light, contacts: {of: [a-b]}}", ["it, control: no control “light”"]),
    ("{kind: switch, control: lights, contacts: {on: [a-b, b-a]}}", []),
    ("{kind: switch, control: lights, contacts: {on: [a-a]}}", [
        "it, contacts: “a-a” joins a terminal to itself", "it, contacts: the switch joins nothing in any position"]),
    ("{kind: switch, control: lights, contacts: {on: [a-b-c]}}", [
        "it, contacts: “a-b-c” is no pair of terminals", "it, contacts: the switch joins nothing in any position"]),
    ("{kind: switch, control: lights, contacts: {on: []}}", [
        "it, contacts: the switch joins nothing in any position"]),
    ("{kind: switch, control: lights}", ["it: “contacts” is missing"]),
])
def test_positions_are_those_of_the_control_that_is_named(part: str, problems: list[str]) -> None:
    """Of a control that is not there nothing is said besides."""
    text = BASE.replace("battery}", f"battery}}\n  it: {part}")
    if problems:
        assert sorted(message for _, _, message in told(text)) == sorted(problems)
    else:
        assert len(read_harness(text).parts["it"].devices) >= 1
