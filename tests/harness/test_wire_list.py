"""Wire lists as CSV: out, in, there and back, and every row that is refused with its reason."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from tests.check_harnesses import PLUG_13, RELAY
from tests.faces.test_commands import run as run
from tests.harness.test_harness_text import MODEL_FILES, SMALL
from tests.library import MODELS
from tests.long import in_turn
from tracer.errors import ProblemsError, TracerError
from tracer.harness.file.from_list import TO_FILL_IN, harness_from_list
from tracer.harness.file.text import dump_harness, load_harness, read_harness
from tracer.harness.file.wire_list import COLUMNS, wire_list_text
from tracer.harness.file.wires_in import lay_in
from tracer.harness.model import Harness

HEADING = "wire,from,through,to,size mm²,colour,length m,loom,temperature °C"
BASES = [p.read_text(encoding="utf-8") for p in MODEL_FILES] + [SMALL, RELAY, PLUG_13]


def _laid(listed: str, base: str = SMALL, add: bool = False) -> Harness:
    return lay_in(base, "h.yaml", listed, "l.csv", add)[1]


def _refused(listed: str, base: str = SMALL) -> list[str]:
    with pytest.raises(ProblemsError) as caught:
        lay_in(base, "h.yaml", listed, "l.csv")
    return [str(p) for p in caught.value.problems]


# --- there and back -----------------------------------------------------------------------------


@pytest.mark.parametrize("path", in_turn(MODEL_FILES, 0), ids=lambda p: p.stem)
@pytest.mark.parametrize("semicolons", [False, True])
def test_models_survive_a_wire_list(path: Path, semicolons: bool) -> None:
    text = path.read_text(encoding="utf-8")
    harness = load_harness(path)
    listed = wire_list_text(harness, semicolons)
    rows = list(csv.DictReader(listed.splitlines(), delimiter=";" if semicolons else ","))
    assert len(rows) == len(harness.wires)
    for row, wire in zip(rows, harness.wires, strict=True):  # one length, unless it differs from leg to leg
        legs = [float(x.replace(",", ".")) for x in row["length m"].split(" > ")]
        assert sum(legs) == pytest.approx(wire.length_m)
        assert len(legs) == (1 if len({s.length_m for s in wire.segments}) == 1 else len(wire.segments))
    new, made, unread = lay_in(text, str(path), listed, "l.csv")
    assert (made, unread) == (harness, ())
    assert wire_list_text(read_harness(new)) == wire_list_text(harness)
    # And into the dumped file, which has no usual values.
    assert lay_in(dump_harness(harness), "d", listed, "l.csv")[1] == harness


@pytest.mark.parametrize("text", BASES, ids=lambda t: t.splitlines()[0][:20])
def test_only_the_wires_change(text: str) -> None:
    harness = read_harness(text)
    new = lay_in(text, "h.yaml", wire_list_text(harness), "l.csv")[0]
    before, after = text.split("\nwires:")[0], new.split("\nwires:")[0]
    assert after == before
    again = lay_in(new, "h.yaml", wire_list_text(harness), "l.csv")[0]
    assert again == new


def test_a_changed_length_is_not_lost() -> None:
    """The comparison above is not vacuous."""
    listed = wire_list_text(read_harness(SMALL)).replace(",0.4,", ",0.5,")
    assert _laid(listed) != read_harness(SMALL)


_NAME = st.text(
    st.one_of(st.sampled_from(" ,;\"äöüÄß=+-@#:{}[]&*!|%\t½–"), st.characters(codec="utf-8", categories=("L", "N"))),
    min_size=1, max_size=12,
).map(lambda t: " ".join(t.split()))


@settings(max_examples=60, suppress_health_check=[HealthCheck.filter_too_much])
@given(
    part=_NAME, splice=_NAME, wire=_NAME, loom=_NAME, section=st.floats(0.01, 120), length=st.floats(0.001, 50),
    semicolons=st.booleans(),
)
@example(part="a", splice="b", wire="c", loom="d", section=1.5, length=1.125, semicolons=True)
def test_any_name_survives_a_wire_list(
    part: str, splice: str, wire: str, loom: str, section: float, length: float, semicolons: bool
) -> None:
    """Commas, quotation marks, umlauts, semicolons: whatever a harness may be named by."""
    for name in (part, splice, wire, loom):
        assume(name and not set(name) & set(".>,/'"))
    assume(len({n.lower() for n in (part, splice, "E1", "E2", "C1", "F1", "battery", "light switch")}) == 8)
    harness = read_harness(SMALL)
    text = dump_harness(harness).replace("left rear", "\0")

    def quoted(name: str) -> str:
        return "'" + name + "'"

    lines = [
        f"{line.split(':')[0]}: {{kind: lamp unit, lamps: {{stop + tail: P21/5W}}}}".replace("\0", quoted(part))
        if line.startswith("  \0") else line.replace("S1: under the dash", f"{quoted(splice)}: x")
        for line in text.splitlines()
    ]
    base = "\n".join(lines[: lines.index("wires:")]) + "\nwires:\n"
    base += (f"  - {{run: '{part}.stop > {splice}', name: {quoted(wire)}, size: {section!r} mm²}}\n"
             f"  - {{run: '{splice} > C1.3 > E1', length: [{length!r} m, 1 m], loom: {quoted(loom)}}}\n")
    made = read_harness(base)
    assert lay_in(base, "h", wire_list_text(made, semicolons), "l.csv")[1] == made
    assert read_harness(dump_harness(made)) == made


# --- what is read ----------------------------------------------------------------------------------


def test_european_list() -> None:
    """Byte-order mark, semicolons, decimal commas, other order of the columns, other headings."""
    listed = ("\ufeffTo;From;Via;Cross-section (mm²);Length in m;Color;Remark\r\n"
              'F1.in;battery.+;;"2,5";1,25;RD;"hot; always"\r\n'
              "left rear.tail;light switch.58;C1.3;0,75;3 > 0,2;gnbk;\r\n\r\n;;;;;;\r\n")
    new, harness, unread = lay_in(SMALL, "h.yaml", listed, "l.csv")
    assert unread == ("Remark",)
    assert [w.run for w in harness.wires] == [("battery.+", "F1.in"), ("light switch.58", "C1.3", "left rear.tail")]
    assert [w.section_mm2 for w in harness.wires] == [2.5, 0.75]
    assert [s.length_m for w in harness.wires for s in w.segments] == [1.25, 3.0, 0.2]
    assert [w.colour for w in harness.wires] == ["RD", "GNBK"]
    assert [w.loom for w in harness.wires] == ["main", "main"]  # as usual in that harness
    assert "size: 2.5 mm², colour: RD, length: 1.25 m}" in new


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators(separator: str) -> None:
    listed = separator.join(["from", "to", "length m"]) + "\n" + separator.join(["battery.+", "F1.in", "2.5"]) + "\n"
    assert _laid(listed).wires[0].length_m == 2.5


@pytest.mark.parametrize(("heading", "cell", "section"), [
    ("size", "1.5 mm²", 1.5), ("size mm²", "1.5", 1.5), ("Size [mm2]", "1,5", 1.5), ("section", "14 AWG", 2.0809),
    ("size AWG", "14", 2.0809), ("size AWG", "2,5 mm²", 2.5), ("cross section in mm²", "6", 6.0),
])
def test_units_in_heading_or_cell(heading: str, cell: str, section: float) -> None:
    wire = _laid(f'from;to;{heading}\nbattery.+;F1.in;"{cell}"\n').wires[0]
    assert wire.section_mm2 == pytest.approx(section, rel=1e-4)


def test_part_and_terminal_in_columns_of_their_own() -> None:
    listed = "from,from terminal,to,to terminal\nbattery,+,F1,in\nleft rear,earth,E1,\n"
    assert [w.run for w in _laid(listed).wires] == [("battery.+", "F1.in"), ("left rear.earth", "E1")]


def test_titles_above_the_heading_are_passed_over() -> None:
    assert len(_laid("sep=;\nWire list; rear\n\nfrom;to\nbattery.+;F1.in\n").wires) == 1


def test_added_rows_come_after_the_wires_that_are_there() -> None:
    before = read_harness(SMALL)
    new, harness, _ = lay_in(SMALL, "h.yaml", "from,to,wire\nE2,E1,bridge\nF1.in,E2,\n", "l.csv", add=True)
    assert harness.wires[: len(before.wires)] == before.wires
    assert [(w.name, w.run) for w in harness.wires[-2:]] == [("bridge", ("E2", "E1")), ("w7", ("F1.in", "E2"))]
    assert new.startswith(SMALL)


@pytest.mark.parametrize("text", [
    SMALL.split("wires:")[0],
    SMALL.split("wires:")[0] + "wires: []   # none yet\n",
    SMALL.split("wires:")[0] + "wires:\n# nothing yet\nbase rates: {wire open: 1}\n",
    SMALL.split("wires:")[0].replace("\n", "\r\n") + "wires: [F1.in > E1]\r\n",
], ids=["no section", "empty list", "blank, others below", "Windows"])
def test_into_a_file_with_its_wires_written_otherwise(text: str) -> None:
    new, harness, _ = lay_in(text, "h.yaml", "from,to\nE2,E1\n", "l.csv")
    assert [w.run for w in harness.wires] == [("E2", "E1")]
    assert ("base rates" in new) == ("base rates" in text)
    assert new.count("\r\n") in (0, new.count("\n"))


def test_a_file_on_one_line_is_left_alone() -> None:
    text = "{harness: x, system: 12 V negative earth, parts: {}, earths: {E1: a, E2: b}, wires: []}"
    with pytest.raises(TracerError, match=r"do not stand one below the other.* \(write them so"):
        lay_in(text, "h.yaml", "from,to\nE2,E1\n", "l.csv")


# --- what is refused -------------------------------------------------------------------------------


def test_every_rejected_row_is_named_at_its_cell() -> None:
    listed = (
        "wire,from,through,to,size mm²,colour,length m\n"
        "a,battery.+,,F1.in,2.5,RD,1\n"  # right
        "b,battery.+,,F1.uot,2.5,RD,1\n"
        "c,F1.out,C1.7,E1,1,RD,1\n"
        "d,,,E1,1,RD,1\n"
        "e,F1.out,,,1,RD,1\n"
        "f,F1.out,,E1,thick,RD,1\n"
        "g,F1.out,,E1,1,XX,1\n"
        "h,F1.out,,E1,1,RD,1 > 2\n"
        "a,F1.out,,E1,1,RD,1\n"
        'i,F1.out,,E1,1,RD,"1,5 A"\n'
        "k,F1.out,,E1,1,RD,0,5\n"
    )
    assert [x.split(" (")[0] for x in _refused(listed)] == [
        "l.csv:3:4: wire b: F1 has no terminal “uot”",
        "l.csv:4:3: wire c: way 7 of C1",
        "l.csv:5:2: the row has nothing under “from”",
        "l.csv:6:4: the row has nothing under “to”",
        "l.csv:7:5: wire f, size: “thick” is not a section",
        "l.csv:8:6: wire g, colour: “XX” is no colour of IEC 60757",
        "l.csv:9:7: wire h: 2 lengths for 1 conductor",
        "l.csv:10:1: two wires are named “a”",
        "l.csv:11:7: wire i, length: “A” is not a unit of length",
        "l.csv:12:8: 8 cells for 7 columns",
    ]
    assert all("(" in x for x in _refused(listed))


@pytest.mark.parametrize(("listed", "message"), [
    ("", "l.csv:1:1: no heading with the columns “from” and “to” was found (the first row names the columns: wire, "
     "from, from terminal, through, to, to terminal, size, colour, length, loom, temperature, flexes, traced, or; "
     "only from and to are needed)"),
    ("from,to,to\nE1,E2,E2\n", "l.csv:1:3: the column “to” stands there twice (leave one out)"),
    ("from,to\n", "l.csv: the list has a heading and no rows"),
    ("from,to,size\nE1,E2,1\n", "l.csv:2:3: size: “1” has no unit (name it in the heading, like “size mm²”, or in "
     "the cell)"),
    ('from,to\n"E1,E2\nE1,E2\n', "l.csv:2:1: this row cannot be read: unexpected end of data (a quotation mark is "
     "not closed, or stands inside a cell and must be doubled)"),
    ("from,to\nE1,E2,E1\n", "l.csv:2:3: 3 cells for 2 columns (a decimal comma needs quotes where commas separate "
     "the cells, or write a decimal point)"),
])
def test_lists_that_are_none(listed: str, message: str) -> None:
    assert _refused(listed) == [message]


def test_a_thousand_wrong_rows_are_all_named() -> None:
    found = _refused("from,to\n" + "E1,E9\n" * 1000)
    assert len(found) == 1000 and found[-1].startswith("l.csv:1001:2: wire w1000: no part, connector, splice")


def test_mistakes_of_the_harness_are_told_beside_those_of_the_list() -> None:
    assert [x.split(":")[0] for x in _refused("from,to\nE1,E9\n", SMALL.replace("8 A", "8"))] == ["h.yaml", "l.csv"]


# --- a new harness from a list ----------------------------------------------------------------------


def test_a_new_harness_has_all_wires_and_parts_and_says_what_to_fill_in() -> None:
    harness = read_harness(RELAY)
    text, _ = harness_from_list(wire_list_text(harness), "l.csv", "New", "12 V", "negative", "BS AU 7")
    with pytest.raises(ProblemsError) as caught:
        read_harness(text, "n.yaml")
    left = [str(p) for p in caught.value.problems]
    assert text.count(TO_FILL_IN) == len(left) + 2  # the two comments
    assert all(TO_FILL_IN in x or "expected a table" in x for x in left)
    # Filled in, it is the harness that the list came from.
    for old, new in [
        ("  horn: {kind: lamp, lamp: to fill in}", "  horn: {kind: load, power: 40 W}"),
        ("rating: to fill in", "rating: 15 A"), ("lamp: to fill in", "lamp: H3"),
        ("light switch: {kind: switch, control: to fill in, contacts: to fill in}",
         "light switch: {kind: switch, control: lights, contacts: {on: [30-56]}}"),
        ("horn button: {kind: switch, control: to fill in, contacts: to fill in}",
         "horn button: {kind: switch, control: horn push, contacts: {pressed: [in-31b]}}"),
        ("\nparts:", "\n  lights: [off, on]\n  horn push: [released, pressed]\nparts:"), ("ways: 2", "ways: 4"),
    ]:
        assert old in text
        text = text.replace(old, new)
    made = read_harness(text)
    assert made.wires == harness.wires
    assert {n: p.devices for n, p in made.parts.items()} == {n: p.devices for n, p in harness.parts.items()}
    assert (set(made.splices), set(made.earths)) == (set(harness.splices), set(harness.earths))


@pytest.mark.parametrize("path", in_turn(MODEL_FILES, 1), ids=lambda p: p.stem)
def test_new_harnesses_from_the_models_lists_ask_only_for_values(path: Path) -> None:
    harness = load_harness(path)
    text, _ = harness_from_list(wire_list_text(harness, True), "l.csv", "New", "12 V", "negative", "IEC 60757")
    wires = text.split("\nwires:\n")[1]
    assert wires.count("  - {run: ") == len(harness.wires)
    with pytest.raises(ProblemsError) as caught:
        read_harness(text.replace("IEC 60757", harness.colour_code or "IEC 60757"), "n.yaml")
    for problem in caught.value.problems:
        assert TO_FILL_IN in problem.message or "expected a table" in problem.message


def test_a_row_that_no_harness_could_have_is_named() -> None:
    with pytest.raises(ProblemsError) as caught:
        harness_from_list("from,to,size mm²\nF1.,E1,1\na/b.c,E1,x\n", "l.csv", "New", "12 V", "negative")
    assert [str(p).split(" (")[0] for p in caught.value.problems] == [
        "l.csv:2:1: “F1.” is no point of a run", "l.csv:3:1: “a/b.c” is no point of a run",
        "l.csv:3:3: size: “x” is not a section",
    ]


# --- the commands -----------------------------------------------------------------------------------


def test_commands_there_and_back(run: Any, tmp_path: Path) -> None:
    model, listed, new = MODEL_FILES[0], tmp_path / "l.csv", tmp_path / "new.yaml"
    shown = run("wires", model, "-o", listed, "--semicolons")
    count = len(load_harness(model).wires)
    assert (shown.status, shown.out) == (0, f"written: {listed}, {count} wires\n")
    assert listed.read_bytes().startswith(b"\xef\xbb\xbfwire;from;through;to;")
    assert run("wires", model, "--from", listed, "-o", new, "--json").data == {"written": str(new), "wires": count}
    assert load_harness(new) == load_harness(model)
    assert run("wires", model).out == wire_list_text(load_harness(model))
    assert run("wires", model, "--json").data["wires"] == count


def test_in_place_nothing_is_half_written(run: Any, tmp_path: Path) -> None:
    file, listed = tmp_path / "h.yaml", tmp_path / "l.csv"
    file.write_text(SMALL, encoding="utf-8")
    listed.write_text("from,to,note\nE1,E9,x\n", encoding="utf-8")
    shown = run("wires", file, "--from", listed, "-o", file)
    assert shown.status == 2
    assert f"error: {listed}:2:2: wire w1: no part, connector, splice or earth “E9”" in shown.err
    assert file.read_text(encoding="utf-8") == SMALL
    listed.write_text("from,to,note\nE1,E2,x\n", encoding="utf-8")
    shown = run("wires", file, "--from", listed, "-o", file)
    assert shown.status == 0 and shown.err.startswith("the column “note” is not read (")
    assert [w.run for w in load_harness(file).wires] == [("E1", "E2")]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["h.yaml", "l.csv"]


@pytest.mark.parametrize(("args", "message"), [
    (["--add"], "--add goes with --from LIST.csv"),
    (["--from", "l.csv"], "--from needs -o FILE"),
    (["--from", "l.csv", "-o", "x.yaml", "--semicolons"], "--semicolons is for writing a list"),
    (["--from", "none.csv", "-o", "x.yaml"], "none.csv: no such file"),
    (["-o", "no/such/folder.csv"], "cannot be written: no such file or directory"),
])
def test_wrong_use_of_wires(run: Any, args: list[str], message: str) -> None:
    shown = run("wires", MODEL_FILES[0], *args)
    assert shown.status == 2 and message in shown.err


def test_another_file_is_not_overwritten(run: Any, tmp_path: Path) -> None:
    other, listed = tmp_path / "other.yaml", tmp_path / "l.csv"
    other.write_text("mine", encoding="utf-8")
    run("wires", MODEL_FILES[0], "-o", listed)
    shown = run("wires", MODEL_FILES[0], "--from", listed, "-o", other)
    assert shown.status == 2 and "exists already; nothing was changed" in shown.err
    assert other.read_text(encoding="utf-8") == "mine"


def test_new_from_a_list(run: Any, tmp_path: Path) -> None:
    listed, new = tmp_path / "l.csv", tmp_path / "new.yaml"
    run("wires", MODEL_FILES[0], "-o", listed)
    assert run("new", new, "--wires", listed, "--colours", "IEC 60757", "--title", "Mine").status == 0
    assert run("check", new).status == 1
    listed.write_text("from,to\nF1.,E1\n", encoding="utf-8")
    shown = run("new", tmp_path / "no.yaml", "--wires", listed, "--json")
    assert shown.status == 2 and f"error: {listed}:2:1: “F1.” is no point of a run" in shown.err
    assert not (tmp_path / "no.yaml").exists()


def test_exported_heading_is_the_documented_one(run: Any) -> None:
    """What the names of the looms do not say, that a wire bends, adds a column."""
    text = run("wires", MODELS / "pickup.yaml").out
    assert text.splitlines()[0] == HEADING
    always = {c for c in COLUMNS if " " not in c} - {"flexes", "traced", "or"}
    assert {h.split()[0] for h in HEADING.split(",")} == always
    bullets = run("wires", MODELS / "bullets_1960s.yaml").out.splitlines()
    assert bullets[0] == f"{HEADING},flexes"
    assert sum(line.endswith(",yes") for line in bullets) == 1
    json.dumps(text)


# --- a list typed from a legend: designations for names, ways with a stroke, joints for splices -----------------

# Invented, names and all: a list as somebody types it from the legend of a drawing.
INVENTED = """\
no;from;to;via;mm²;colour
1;supply/-;strap 1;;16;BK
2;supply/+;live rail;;10;RD
3;live rail;F7/in;;1,5;RD
4;F7/out;pedal/in;;1,0;BK/RD
5;pedal/out;stop joint;C8/3;1,0;RD/BK
5a;stop joint;left rear/stop;C6/2;1,0;RD/BK
5b;stop joint;right rear/stop;C6a/2, C6b/1;1,0;RD/BK
6;left rear/earth;strap 2;C6/6;1,5;BN
7;F7/out;stalk/49;;1,0;BK/BU
8;stalk/49a;blinker/49;;1,0;BK/GN
9;blinker/49a;stalk/L;;1,0;BK/GN
"""


def test_a_list_becomes_parts_of_the_right_kinds() -> None:
    text, unread = harness_from_list(INVENTED, "l.csv", "Car", "12 V", "negative", "IEC 60757")
    assert unread == ()
    entries = dict(re.findall(r"^  ([\w ]+): ?(.*)$", text.split("\nwires:")[0].split("parts:\n")[1], re.M))
    assert {n: e.split(",")[0].strip("{}") for n, e in entries.items()} == {
        "supply": "kind: battery", "F7": "kind: fuse", "pedal": "kind: switch", "left rear": "kind: lamp unit",
        "right rear": "kind: switch",  # nothing says that it is a lamp: its earth is not in the list
        "stalk": "kind: switch", "blinker": "kind: flasher unit", "C8": "ways: 3", "C6": "ways: 6", "C6a": "ways: 2",
        "C6b": "ways: 1", "live rail": "", "stop joint": "", "strap 1": "", "strap 2": "",
    }
    splices, earths = text.split("splices:\n")[1].split("earths:\n")
    assert "live rail:" in splices and "stop joint:" in splices and earths.startswith("  strap 1:\n  strap 2:\n")
    assert "  - {run: stop joint > C6a/2 > C6b/1 > right rear/stop, name: 5b, colour: RD/BK, size: 1.0 mm²}" in text


@pytest.mark.parametrize(("name", "terminals", "kind"), [
    ("F7", "in out", "fuse"), ("fuse 3", "in", "fuse"), ("F7", "in x", "switch"), ("stop switch", "in out", "switch"),
    ("dip lamp", "feed earth", "lamp"), ("pod", "feed", "lamp"), ("pod", "feed tail", "switch"),
    ("pod", "earth", "lamp unit"), ("pod", "earth stop", "lamp unit"),
    ("supply", "+ -", "battery"), ("supply", "+", "battery"), ("supply", "+ acc", "switch"),
    ("ballast", "a b", "resistor"), ("ballast", "a c", "switch"),
    ("bridge", "anode cathode", "diode"), ("bridge", "anode in", "switch"),
])
def test_a_part_of_a_list_is_of_the_kind_whose_terminals_it_has_and_no_others(
    name: str, terminals: str, kind: str
) -> None:
    """One terminal that a kind does not have, and the part is no such thing, whatever else is at it; a part of which
    the list has not all is one as long as nothing speaks against it. An earth alone belongs to some lamps."""
    rows = "".join(f"{n},{name}.{t},S1\n" for n, t in enumerate(terminals.split(), 1))
    text, _ = harness_from_list(f"wire,from,to\n{rows}", "l.csv", "Car", "12 V", "negative", None)
    entry = next(line for line in text.splitlines() if line.startswith(f"  {name}: "))
    assert re.findall(r"kind: ([a-z ]+)", entry) == [kind]
