"""What saves typing: usual values by loom, ranges of ways, switches earthed by their case, fuses of British glass."""

from __future__ import annotations

import jsonschema
import pytest
import yaml

from tracer.checking.rules import check
from tracer.errors import ProblemsError
from tracer.faults import list_faults
from tracer.harness.file.dump import dump_harness
from tracer.harness.file.schema import schema
from tracer.harness.file.text import read_harness
from tracer.harness.file.wires_in import lay_in
from tracer.harness.model import Harness

BASE = """\
harness: Invented small loom
system: 12 V negative earth
colours: BS AU 7
usual: {size: 1.5 mm², length: 1 m, by loom: {rear: {size: 1 mm², colour: GN, traced: no}}}
controls: {door: [closed, open]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  door switch: {kind: switch, control: door, contacts: {open: [31b-31]}, earth at: E2}
  lamp: {kind: lamp, lamp: R5W}
connectors: {C1: 6, C2: 6}
earths: [E1, E2]
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - {run: F1.out > lamp.feed, colour: P}
  - {run: lamp.earth > door switch.31b, loom: rear}
"""


def told(text: str) -> list[str]:
    with pytest.raises(ProblemsError) as caught:
        read_harness(text, "f")
    return [str(p) for p in caught.value.problems]


def wires(harness: Harness) -> list[tuple[str, tuple[str, ...], float, str]]:
    return [(w.name, w.run, w.section_mm2, w.colour) for w in harness.wires]


def test_what_is_usual_in_a_loom_goes_before_what_is_usual() -> None:
    harness = read_harness(BASE)
    assert wires(harness)[2:] == [("w3", ("F1.out", "lamp.feed"), 1.5, "P"),
                                  ("w4", ("lamp.earth", "door switch.31b"), 1.0, "GN")]
    assert [w.traced for w in harness.wires] == [True, True, True, False]
    own = read_harness(BASE.replace("loom: rear}\n", "loom: rear, size: 4 mm²}\n"))
    assert own.wires[-1].section_mm2 == 4.0
    assert read_harness(dump_harness(harness)) == harness
    jsonschema.Draft202012Validator(schema()).validate(yaml.safe_load(BASE))


@pytest.mark.parametrize(("old", "new", "message"), [
    ("by loom: {rear: {size: 1 mm², colour: GN, traced: no}}", "by loom: rear", "usual, by loom: expected looms"),
    ("{size: 1 mm², colour: GN, traced: no}", "1 mm²", "usual, rear: expected a table"),
    ("{size: 1 mm², colour: GN, traced: no}", "{size: 1 mm², loom: x}", "usual, rear: “loom” is not known here"),
    ("{size: 1 mm², colour: GN, traced: no}", "{size: 1}", "usual, rear, size: “1” has no unit"),
    ("{size: 1 mm², colour: GN, traced: no}", "{colour: XX}", "usual, rear, colour: “XX” "),
])
def test_wrong_usual_values_are_told_with_their_place(old: str, new: str, message: str) -> None:
    found = told(BASE.replace(old, new))
    assert len(found) == 1 and found[0].startswith("f:4:") and message in found[0] and "(" in found[0]


def test_a_range_is_as_many_wires_as_it_has_ways() -> None:
    harness = read_harness(BASE + "  - {run: C1.3-5 > C2.5-3, colour: [R, G, N], loom: rear, name: ribbon}\n"
                                  "  - C1/1–2 > E1\n  - C2.1 > E2\n")
    assert wires(harness)[4:] == [
        ("ribbon", ("C1.3", "C2.5"), 1.0, "R"), ("ribbon 2", ("C1.4", "C2.4"), 1.0, "G"),
        ("ribbon 3", ("C1.5", "C2.3"), 1.0, "N"), ("w8", ("C1.1", "E1"), 1.5, ""), ("w9", ("C1.2", "E1"), 1.5, ""),
        ("w10", ("C2.1", "E2"), 1.5, ""),
    ]
    assert read_harness(dump_harness(harness)) == harness
    jsonschema.Draft202012Validator(schema()).validate(yaml.safe_load(
        BASE + "  - {run: C1.3-5 > C2.5-3, colour: [R, G, N]}\n"))


@pytest.mark.parametrize(("line", "message"), [
    ("C1.3-5 > C2.1-2", "the ranges of one line have as many ways each: 3-5 has 3 and 1-2 has 2"),
    ("{run: C1.1-3 > C2.1-3, colour: [R, G]}", "2 colours for 3 wires"),
    ("C1.1-900 > C2.1-900", "900 wires in one line, at most 200"),
    ("C1.5-7 > C2.4-6", "way 7 of C1"),
    ("{run: C1.1 > C2.1, colour: [R, G]}", "colour: expected a text, found a list"),
])
def test_ranges_that_do_not_fit(line: str, message: str) -> None:
    found = told(BASE + f"  - {line}\n")
    assert (message in found[0] and found[0].startswith("f:18:") and "(" in found[0].removeprefix("f:18:")) or (
        "expected a text" in message)


def test_a_list_is_laid_into_a_file_with_ranges_and_looms() -> None:
    text = BASE + "  - {run: C1.3-5 > C2.5-3, colour: [R, G, N], loom: rear}\n"
    listed = "from,to,size mm²,loom,colour,traced\nC2.1,E2,1.5,rear,GN,no\n"
    new, made, _ = lay_in(text, "f", listed, "l.csv", add=True)
    assert len(made.wires) == 8 and "C1.3-5" in new
    assert "  - {run: C2.1 > E2, size: 1.5 mm²" in new  # usual elsewhere, not in this loom
    exchanged, again, _ = lay_in(text, "f", "from,to,loom\nC2.1,E2,rear\n", "l.csv")
    assert len(again.wires) == 1 and again.wires[0].section_mm2 == 1.0 and "C2.1 > E2" in exchanged


def test_a_switch_bolted_on_earths_its_terminal_without_a_wire() -> None:
    harness = read_harness(BASE.replace("C1: 6, C2: 6", "").replace("connectors: {}\n", ""))
    assert [str(f) for f in check(harness)] == []
    assert any("door switch" in f.repair and "earth" in f.repair + f.kind for f in list_faults(harness))
    wrong = told(BASE.replace("[31b-31]", "[30-out]"))
    assert "“earth at” goes with a terminal 31" in wrong[0] and "write its contacts like" in wrong[0]


# 35 A blows it, 17.5 A are borne for good (common practice, no source); 1.5 mm² bears 17.0 A at 50 °C, and a fuse may
# be 1.15 times that (checking.behaviour): 19.6 A. As a blade fuse of 35 A it is far too large for such a wire.
GLASS = """\
harness: Invented fuse
system: 12 V negative earth
controls: {lights: [off, on]}
usual: {size: 1.5 mm²}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 35 A, type: British glass}
  switch: {kind: switch, control: lights, contacts: {on: [30-58]}}
  left tail: {kind: lamp, lamp: R5W, earth at: E2}
earths: [E1, E2]
wires: [battery.- > E1, battery.+ > F1.in, F1.out > switch.30, switch.58 > left tail.feed]
"""


def test_a_fuse_marked_with_what_blows_it_is_none_too_large() -> None:
    assert [str(f) for f in check(read_harness(GLASS))] == []
    blade = [f.rule for f in check(read_harness(GLASS.replace(", type: British glass", "")))]
    assert blade and set(blade) == {"wire too thin"}
    # The other way round it bears half: 42 W of lamps take 4 A, a British glass fuse marked 6 A bears 3.
    heavy = GLASS.replace("R5W", "50 W")
    assert [f.rule for f in check(read_harness(heavy.replace("35 A", "6 A")))] == ["fuse overloaded"]
    assert [f.rule for f in check(read_harness(heavy.replace("35 A, type: British glass", "6 A, type: glass")))] == []


@pytest.mark.parametrize(("letter", "told_of"), [
    ("B", "makers’ B is flasher unit.49"), ("L", "makers’ L is flasher unit.49a"),
    ("P", "makers’ P is flasher unit.C, or say “tell-tale: P”"),
])
def test_makers_letters_of_a_flasher_unit_are_known(letter: str, told_of: str) -> None:
    text = BASE.replace("  lamp: {kind", "  flasher unit: {kind: flasher unit}\n  lamp: {kind")
    assert told_of in told(text + f"  - F1.out > flasher unit.{letter}\n")[0]
