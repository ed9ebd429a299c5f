"""The full text of every message about a harness file: where, what is wrong, what would be right."""

from __future__ import annotations

import pytest

from tracer.errors import ProblemsError
from tracer.harness.file.text import read_harness

# One line is replaced by each case, so that the line numbers in the messages can be counted here.
BASE = """\
harness: Test
system: 12 V negative earth
colours: IEC 60757
controls:
  ignition: {positions: [off, on], assumed: on}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W}}
connectors: {C3: {ways: 6}}
splices: {S1: here}
earths: {E1: there}
wires:
  - {run: F1.out > left rear.tail}
"""
EMPTY = "(a harness file begins with “harness: ” and a title)"
FIRST = (
    "(it has sections: harness, system, vehicle, ignition, traffic, colours, usual, controls, parts, connectors, "
    "splices, earths, wires, base rates)"
)
NAMES = "(names may contain spaces but none of . > , / ')"
ANCHOR = "(write it out; a text that begins with & or * needs quotes)"
TWIN = "(a twin-filament lamp is written like “stop + tail: P21/5W”)"
WIRE = "(write it like {run: F1.out > C1.3 > left rear.tail, size: 1.5 mm², length: 3 m})"


def messages(text: str) -> list[str]:
    with pytest.raises(ProblemsError) as caught:
        read_harness(text, "f")
    assert str(caught.value) == "\n".join(str(p) for p in caught.value.problems)
    return [str(p) for p in caught.value.problems]


def with_line(number: int, line: str) -> str:
    lines = BASE.splitlines()
    lines[number - 1] = line
    return "\n".join(lines) + "\n"


def test_base_is_good() -> None:
    read_harness(BASE)


RUNS = [
    ("{run: F1.uot > E1}", ["f:14:11: wire w1: F1 has no terminal “uot” (did you mean “out”?)"]),
    ("{run: F1.out > C3.7 > E1}", ["f:14:20: wire w1: way 7 of C3 (C3 has 6 ways)"]),
    ("{run: F1.out > C3.0 > E1}", ["f:14:20: wire w1: way 0 of C3 (C3 has 6 ways)"]),
    ("{run: F1.out > C3.a > E1}", ["f:14:20: wire w1: way “a” of C3 (ways are numbers; C3 has 6 ways)"]),
    ("{run: F1.out > left raer.tail}",
     ["f:14:20: wire w1: no part or connector “left raer” (did you mean “left rear”?)"]),
    ("{run: F1.out > chassis}",
     ["f:14:20: wire w1: no part, connector, splice or earth “chassis” "
      "(known: battery, F1, left rear, C3, S1, E1)"]),
    ("{run: F1.out > e1}", ["f:14:20: wire w1: no part, connector, splice or earth “e1” "
                            "(did you mean “E1” or “S1” or “F1”?)"]),
    ("{run: F1 > E1}", ["f:14:11: wire w1: F1 without a terminal (one of F1.in, F1.out)"]),
    ("{run: F1/uot > C3/9}", ["f:14:11: wire w1: F1 has no terminal “uot” (did you mean “out”?)",
                              "f:14:20: wire w1: way 9 of C3 (C3 has 6 ways)"]),
    ("{run: left rear.31 > E1}",
     ["f:14:11: wire w1: left rear has no terminal “31” (its earth is left rear.earth)"]),
    ("{run: C3 > E1}", ["f:14:11: wire w1: C3 without a way (C3.1 to C3.6)"]),
    ("{run: S1.1 > E1.a}", ["f:14:11: wire w1: S1 is a splice and has no terminals (write S1 alone)",
                            "f:14:18: wire w1: E1 is an earth and has no terminals (write E1 alone)"]),
    ("{run: F1.out}", ["f:14:11: wire w1: a run needs at least two points (write it like F1.out > lamp.feed)"]),
    ("{run: E1 > E1}", ["f:14:16: wire w1: “E1” stands twice in a row"]),
    ("{run: F1.out > > E1}", ["f:14:20: wire w1: a point is missing in the run (points are separated by one >)"]),
    ("{run: F1.out -> E1}",
     ["f:14:18: wire w1: “->” in the run (points are separated by > alone: F1.out > lamp.feed)"]),
    ("{run: F1.out → E1}",
     ["f:14:18: wire w1: “→” in the run (points are separated by > alone: F1.out > lamp.feed)"]),
    ("{run: 'F1.uot > E1'}", ["f:14:12: wire w1: F1 has no terminal “uot” (did you mean “out”?)"]),
    ("{run: [F1.out, E1]}", ["f:14:11: wire w1, run: expected a text, found a list"]),
    ("{runn: F1.out > E1}", ["f:14:6: wire w1: “runn” is not known here (did you mean “run”?)"]),
    ("{run:F1.out > E1}", [f"f:14:5: wire w1: “run” is missing {WIRE}",
                           "f:14:6: wire w1: “run:F1.out > E1” is not known here (a colon needs a space after it)"]),
    ("{run: " + "S1 > E1 > " * 50 + "S1}", ["f:14:11: wire w1: 101 points in one run (at most 100: two wires?)"]),
    ("{size: 1 mm²}", [f"f:14:5: wire w1: “run” is missing {WIRE}"]),
    ("[]", [f"f:14:5: wire w1: expected a run {WIRE}"]),
    ("{run: S1 > E1, size: 1.5}", ["f:14:26: wire w1, size: “1.5” has no unit (write it like 1.5 mm² or 14 AWG)"]),
    ("{run: S1 > E1, size: 1 m}",
     ["f:14:26: wire w1, size: “m” is not a unit of section (write it like 1.5 mm² or 14 AWG)"]),
    ("{run: S1 > E1, size: 1,5 mm²}",
     ["f:14:26: wire w1, size: “1” has no unit (write it like 1.5 mm² or 14 AWG)",
      "f:14:28: wire w1: “5 mm²” is not known here (a comma ends the value: write the decimal point as a point)"]),
    ("{run: S1 > E1, size: 0 mm²}",
     ["f:14:26: wire w1, size: “0 mm²” is out of range (above 0 and up to 120 mm²)"]),
    ("{run: S1 > E1, size: 150 mm²}",
     ["f:14:26: wire w1, size: “150 mm²” is out of range (above 0 and up to 120 mm²)"]),
    ("{run: S1 > E1, length: 0 m}", ["f:14:28: wire w1, length: “0 m” is out of range (above 0 and up to 50 m)"]),
    ("{run: S1 > E1, length: -1 m}", ["f:14:28: wire w1, length: “-1 m” is out of range (above 0 and up to 50 m)"]),
    ("{run: S1 > E1, length: 51 m}", ["f:14:28: wire w1, length: “51 m” is out of range (above 0 and up to 50 m)"]),
    ("{run: S1 > E1, length: [1 m, 2 m]}",
     ["f:14:28: wire w1: 2 lengths for 1 conductor (one length, or one a conductor)"]),
    ("{run: S1 > E1, length: [1 A]}",
     ["f:14:29: wire w1, length: “A” is not a unit of length (write it like 0.4 m)"]),
    ("{run: S1 > E1, colour: green}", ["f:14:28: wire w1, colour: “green” is no colour of IEC 60757 (write GN)"]),
    ("{run: S1 > E1, colour: GU}",
     ["f:14:28: wire w1, colour: “GU” is no colour of IEC 60757 (in BS AU 7 it would be green with blue)"]),
    ("{run: S1 > E1, colour: GX}",
     ["f:14:28: wire w1, colour: “GX” is no colour of IEC 60757 (letters: BK black, BN brown, RD red, OG orange, "
      "YE yellow, GN green, BU blue, VT violet, GY grey, WH white, PK pink, GD gold, TQ turquoise, SR silver, "
      "GNYE green-and-yellow)"]),
    ("{run: S1 > E1, name: a.b}", [f"f:14:27: the wire name “a.b” contains “.” {NAMES}"]),
]


@pytest.mark.parametrize(("wire", "expected"), RUNS, ids=[w for w, _ in RUNS])
def test_wires(wire: str, expected: list[str]) -> None:
    assert messages(with_line(14, f"  - {wire}")) == expected


def test_two_wires_of_one_name() -> None:
    assert messages(BASE + "  - {run: S1 > E1, name: w1}\n") == [
        "f:15:26: two wires are named “w1” (wires without a name are w1, w2, … in the order of the file)"
    ]


def test_colour_without_a_code() -> None:
    text = with_line(14, "  - {run: S1 > E1, colour: GN}").replace("colours: IEC 60757\n", "")
    assert messages(text) == [
        "f:13:28: wire w1, colour: the harness does not say which colour code it uses "
        "(add a line “colours: IEC 60757” or “colours: BS AU 7”)"
    ]


def test_colour_of_the_other_code() -> None:
    text = with_line(14, "  - {run: S1 > E1, colour: GNYE}").replace("IEC 60757", "BS AU 7")
    assert messages(text) == [
        "f:14:28: wire w1, colour: “GNYE” is no colour of BS AU 7 (in IEC 60757 it would be green-and-yellow)"
    ]


PARTS = [
    ("F2: {kind: fuze, rating: 8 A}", ["f:7:14: F2: no kind of part “fuze” (did you mean “fuse” or “buzzer”?)"]),
    ("F2: {kind: fuse, rating: 8}", ["f:7:28: F2, rating: “8” has no unit (write it like 8 A)"]),
    ("F2: {kind: fuse, rating: 8 V}", ["f:7:28: F2, rating: “V” is not a unit of current (write it like 8 A)"]),
    ("F2: {kind: fuse, rating: big}", ["f:7:28: F2, rating: “big” is not a current (write it like 8 A)"]),
    ("F2: {kind: fuse, rating: 126 A}", ["f:7:28: F2, rating: “126 A” is out of range (above 0 and up to 125 A)"]),
    ("F2: {kind: fuse, rating: 0 A}", ["f:7:28: F2, rating: “0 A” is out of range (above 0 and up to 125 A)"]),
    ("F2: {kind: fuse, rating: [8 A]}", ["f:7:28: F2, rating: expected a current, found a list"]),
    ("F2: {kind: fuse}", ["f:7:7: F2: “rating” is missing (amperes printed on it, like 8 A)"]),
    ("F2: {kind: fuse, raiting: 8 A}",
     ["f:7:20: F2: “raiting” is not known for a fuse (did you mean “rating”?)"]),
    ("F2: {kind: fuse, rating: 8 A, place: front, left}",
     ["f:7:47: F2: “left” is not known for a fuse (a comma ends the value: a text that contains one needs quotes)"]),
    ("F2: fuse", ["f:7:7: F2: its kind is missing (write it like {kind: fuse, rating: 8 A})"]),
    ("F.2: {kind: diode}", [f"f:7:4: the part name “F.2” contains “.” {NAMES}"]),
    ("f1: {kind: diode}",
     ["f:8:3: “F1” and “f1” (line 7) differ only in capitals (use one spelling, or two different names)"]),
    ("F1: {kind: fuse, rating: 5 A}", ["f:8:3: “F1” is written twice (first at line 7, column 3)"]),
    ("S1: {kind: diode}",
     ["f:11:11: the splice “S1” has the name of a part (line 7) "
      "(parts, connectors, splices and earths need different names)"]),
    ("D: {kind: diode, also: F1}", ["f:7:3: D: also “F1” already means F1"]),
    ("F1 clip: {kind: diode}", ["f:8:3: F1: “F1 clip” is already a name in F1 clip (rename the part)"]),
    ("left rear tail: {kind: lamp, lamp: 5 W}",
     ["f:9:3: left rear: a lamp “left rear tail” is already in left rear tail (rename the part or the lamp)"]),
    ("L: {kind: lamp, lamp: P12W}",
     ["f:7:25: L, lamp: “P12W” is no lamp "
      "(did you mean “P21W” or “PY21W” or “P21/5W”? or watts like 21 W or LED 2 W)"]),
    ("L: {kind: lamp, lamp: 251 W}", ["f:7:25: L, lamp: a lamp of “251 W” is out of range (0.1 to 250 W)"]),
    ("L: {kind: lamp, lamp: P21/5W}", [f"f:7:25: L, lamp: P21/5W has 2 filaments, 1 lamp name is given {TWIN}"]),
    ("L: {kind: lamp, lamp: 5 W, earth at: E2}", ["f:7:40: L, earth at: no earth “E2” (did you mean “E1”?)"]),
    ("U: {kind: lamp unit, lamps: {stop + tail: P21W}}",
     [f"f:7:45: U, lamps, stop + tail: P21W has one filament, 2 lamp names are given {TWIN}"]),
    ("U: {kind: lamp unit, lamps: {stop: 21 W, earth: 5 W}}",
     ["f:7:44: U, lamps: “earth” is the common earth’s name (each lamp needs its own name)"]),
    ("U: {kind: lamp unit, lamps: {stop + stop: P21/5W}}",
     ["f:7:32: U, lamps: “stop” is named twice (each lamp needs its own name)"]),
    ("U: {kind: lamp unit, lamps: P21W}",
     ["f:7:31: U, lamps: expected names and lamps (write it like {stop + tail: P21/5W, indicator: P21W})"]),
    ("X: {kind: switch, control: ignitoin, contacts: {on: [30-15]}}",
     ["f:7:30: X, control: no control “ignitoin” (did you mean “ignition”?)"]),
    ("X: {kind: switch, control: ignition, contacts: {onn: [30-15]}}",
     ["f:7:51: X, contacts: ignition has no position “onn” (did you mean “on”?)"]),
    ("X: {kind: switch, control: ignition, contacts: {on: [30 15]}}",
     ["f:7:50: X, contacts: the switch joins nothing in any position (write it like {on: [30-58]})",
      "f:7:56: X, contacts: “30 15” is no pair of terminals (write it like 30-58)"]),
    ("X: {kind: switch, control: ignition, contacts: {on: [5-5, 1-2]}}",
     ["f:7:56: X, contacts: “5-5” joins a terminal to itself"]),
    ("X: {kind: switch, contacts: {on: [1-2]}}", ["f:7:6: X: “control” is missing (the control that moves it)"]),
    ("X: {kind: flasher unit, works: termic}",
     ["f:7:34: X, works: “termic” is no choice (choose thermal or electronic)"]),
    ("X: {kind: diode, access: 601 min}", ["f:7:28: X, access: “601 min” is out of range (0 to 600 min)"]),
    ("X: {kind: diode, place: ''}", ["f:7:27: X, place: nothing is written here"]),
]


@pytest.mark.parametrize(("part", "expected"), PARTS, ids=[p for p, _ in PARTS])
def test_parts(part: str, expected: list[str]) -> None:
    assert messages(with_line(7, f"  {part}")) == expected


OTHERS = [
    (2, "system: 13 V negative earth",
     ["f:2:9: system: “13 V negative earth” is not understood "
      "(6 V, 12 V or 24 V, then “negative earth” or “positive earth”)"]),
    (3, "colours: DIN", ["f:3:10: colours: no colour code “DIN” (choose IEC 60757 or BS AU 7)"]),
    (3, "usual: {sise: 1 mm²}", ["f:3:9: usual: “sise” is not known here (did you mean “size”?)"]),
    (3, "wirs: []", ["f:3:1: the file: “wirs” is not known here (did you mean “wires”?)"]),
    (3, "base rates: {wire opn: 1}",
     ["f:3:14: base rates: no kind of fault “wire opn” "
      "(did you mean “wire open” or “wires joined” or “diode open”?)"]),
    (3, "base rates: {wire open: -1}",
     ["f:3:25: base rates, wire open: “-1” is not a number from 0 to 9999 (usual: 0.12)"]),
    (5, "  ignition: {positions: [off, on], asumed: on}",
     ["f:5:36: control ignition: “asumed” is not known here (did you mean “assumed”?)"]),
    (5, "  ignition: {positions: [off, on], assumed: onn}",
     ["f:5:45: control ignition: no position “onn” (did you mean “on”?)"]),
    (5, "  ignition: [off]",
     ["f:5:13: control ignition: a control has at least two positions (write it like [off, on])"]),
    (5, "  ignition: [off, on, on]", ["f:5:23: control ignition: position “on” is written twice"]),
    (5, "  ignition: off", ["f:5:13: control ignition: its positions are missing (write it like [off, on])"]),
    (5, "  ignition: {positions: [off, on], sprung: maybe}",
     ["f:5:44: control ignition, sprung: “maybe” is neither yes nor no"]),
    (5, "  ignition: {positions: [off, on], minutes: 3}",
     ["f:5:45: control ignition, minutes: “3” has no unit (write it like 5 min)"]),
    (5, "  key=lock: [off, on]",
     ["f:5:6: the control name “key=lock” contains “=” (names may contain spaces but none of , =)"]),
    (5, "  ignition: {positions: [off, on], also: key}\n  lock: {positions: [off, on], also: [Key]}",
     ["f:6:3: lock: also “Key” already means ignition"]),
    (5, "  ignition: [off, on]\n  Ignition: [off, on]",
     ["f:6:3: the controls “Ignition” and “ignition” differ only in capitals (use two different names)"]),
    (10, "connectors: {C3: {place: here}}",
     ["f:10:18: connector C3: “ways” is missing (write it like {ways: 6, place: boot})"]),
    (10, "connectors: {C3: {ways: six}}", ["f:10:25: connector C3, ways: “six” is not a number from 1 to 200"]),
    (10, "connectors: {C3: {ways: 6, rows: 9}}", ["f:10:34: connector C3: 9 rows for 6 ways"]),
    (10, "connectors: {C3: six}",
     ["f:10:18: connector C3: its ways are missing (write it like {ways: 6, place: boot})"]),
    (10, "connectors: {C3: 201}", ["f:10:18: connector C3, ways: “201” is not a number from 1 to 200"]),
    (11, "splices: here",
     ["f:11:10: splices: expected a table of names (one line each, like “  S1: behind the dash”)"]),
    (11, "splices: [S1, S2, S1]", ["f:11:19: splices: “S1” is written twice"]),
    (11, "splices: [S1, {S2: x}]", ["f:11:15: splices: expected a text, found a table"]),
    (10, "connectors: {C3: {standard: ISO 1725}}",
     ["f:10:29: connector C3: no socket standard “ISO 1725” "
      "(did you mean “ISO 1724” or “ISO 3732” or “ISO 11446”?)"]),
    (10, "connectors: {C3: {standard: ISO 1724, ways: 6}}",
     ["f:10:45: connector C3: a socket of ISO 1724 has 7 ways, not 6"]),
    (10, "connectors: [C3]", ["f:10:13: connectors: expected a table of names (one line each, like “  F1: …”)"]),
    (11, "splices: {S1: [here]}", ["f:11:15: splice S1: expected its place, found a list"]),
    (12, "earths: {E1: {plaice: x}}",
     ["f:12:15: earth E1: “plaice” is not known here (did you mean “place” or “access”?)"]),
    (12, "earths: {E1: {body: F1}}", ["f:12:10: the body “F1” has the name of a part (give the body another name)"]),
]


@pytest.mark.parametrize(("number", "line", "expected"), OTHERS, ids=[line for _, line, _ in OTHERS])
def test_other_sections(number: int, line: str, expected: list[str]) -> None:
    assert messages(with_line(number, line)) == expected


FILES = [
    ("", [f"f: is empty {EMPTY}"]),
    ("# only a comment\n", [f"f: is empty {EMPTY}"]),
    ("- a\n", [f"f:1:1: is not a harness file {FIRST}"]),
    ("hello\n", [f"f:1:1: is not a harness file {FIRST}"]),
    ("harness: a\n", ["f:1:1: “system” is missing (write a line “system: 12 V negative earth”)",
                      "f:1:1: the section “parts” is missing", "f:1:1: the section “wires” is missing"]),
    ("overlay: a\n",
     ["f:1:1: is an overlay, not a harness (give the harness file first and this one as its overlay)"]),
    ("harness: &a x\n",
     [f"f:1:10: anchors are not used in harness files: “a” {ANCHOR}"]),
    ("harness: *a\n",
     [f"f:1:10: anchors are not used in harness files: “a” {ANCHOR}"]),
    ("harness: !!python/name:x y\n",
     ["f:1:10: tags are not used in harness files: “tag:yaml.org,2002:python/name:x” "
      "(a text that begins with ! needs quotes)"]),
    ("harness: !x y\n",
     ["f:1:10: tags are not used in harness files: “!x” (a text that begins with ! needs quotes)"]),
    ("parts:\n\tF1: x\n", ["f:2:1: a tab in the indentation (use spaces)"]),
    ("parts:\n  \tF1: x\n", ["f:2:3: a tab in the indentation (use spaces)"]),
    ("harness: a\tb\n", ["f:1:11: a tab in the line (use spaces)"]),
    ("harness: a\0b\n", ["f:1:11: character U+0000 cannot stand in a harness file (is the file damaged?)"]),
    ("harness: a\nx: \x1b\n", ["f:2:4: character U+001B cannot stand in a harness file (is the file damaged?)"]),
    ("harness: a\n---\nharness: b\n", ["f:2:1: a second document begins (one harness a file; drop the “---”)"]),
    ("? [a]\n: b\n",
     ["f:1:3: a list or table stands where a name belongs (a name that begins with [ or { needs quotes)"]),
    ("harness: 'a\n",
     ["f:2:1: cannot be read as YAML: while scanning a quoted scalar found unexpected end of stream "
      "(a quotation mark is not closed)"]),
    ("harness: a: b\n",
     ["f:1:11: cannot be read as YAML: mapping values are not allowed in this context "
      "(a colon inside a text needs quotes; or the indentation is wrong)"]),
    ("parts:\n  F1: x\n F2: y\n",
     ["f:3:2: cannot be read as YAML: while parsing a block mapping did not find expected key "
      "(this line is indented otherwise than the lines above it)"]),
    ("- " * 20, ["f:1:25: nested more than 12 levels deep (is a bracket not closed?)"]),
]


@pytest.mark.parametrize(("text", "expected"), FILES, ids=[repr(t[:30]) for t, _ in FILES])
def test_files_that_are_no_harness(text: str, expected: list[str]) -> None:
    assert messages(text) == expected


def test_duplicate_keys_name_both_places() -> None:
    assert messages(BASE + "system: 6 V negative earth\n") == [
        "f:15:1: “system” is written twice (first at line 2, column 1)"
    ]


def test_all_errors_are_told_at_once_in_the_order_of_the_file() -> None:
    text = with_line(8, "  F1: {kind: fuze, rating: 8 A}").replace("left rear.tail", "left rear.tale > C3.9")
    assert messages(text) == [
        "f:8:14: F1: no kind of part “fuze” (did you mean “fuse” or “buzzer”?)",
        "f:14:20: wire w1: left rear has no terminal “tale” (did you mean “tail”?)",
        "f:14:37: wire w1: way 9 of C3 (C3 has 6 ways)",
    ]


def test_an_error_is_not_told_again_by_what_refers_to_it() -> None:
    """A part with a slip is one error, not one for each wire that reaches it."""
    text = BASE.replace("tail: P21/5W", "tail: P21") + "  - {run: S1 > left rear.stop}\n"
    assert [m.split(": ")[0] for m in messages(text)] == ["f:9:53"]


def test_misspelt_section_is_one_error() -> None:
    assert messages(BASE.replace("parts:", "prats:")) == [
        "f:6:1: the file: “prats” is not known here (did you mean “parts” or “earths” or “base rates”?)"
    ]


OVERLAYS = [
    ("parts: {}\n", ["o:1:1: “overlay” is missing (write a line “overlay: what differs”)"]),
    ("overlay: x\nremove: [w9]\n",
     ["o:2:10: remove: the harness has no “w9” (did you mean “w1”?)"]),
    ("overlay: x\ncolours: BS AU 7\n", ["o:2:10: colours: the harness uses IEC 60757, not BS AU 7"]),
    ("overlay: x\nharness: y\n",
     ["o:2:1: is a harness, not an overlay (an overlay begins with “overlay: what differs”)"]),
    ("overlay: x\nwires: [F1.in > C3.8]\n", ["o:2:17: wire w2: way 8 of C3 (C3 has 6 ways)"]),
    ("overlay: x\nremove: {w1: x}\n",
     ["o:2:9: remove: expected a list, found a table (write it like [one, two])"]),
    ("overlay: x\nparts: {F9: {rating: 5 A}}\n",
     ["o:2:9: the harness has no part “F9” that this could change (did you mean “F1”?; a new part needs its kind)"]),
]


@pytest.mark.parametrize(("overlay", "expected"), OVERLAYS, ids=[repr(o) for o, _ in OVERLAYS])
def test_overlays(overlay: str, expected: list[str]) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_harness(BASE, "f", [(overlay, "o")])
    assert [str(p) for p in caught.value.problems] == expected
