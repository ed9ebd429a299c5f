"""How many of a thing a file may have, what holds where it does not say, and who means whom: one line of a small file
at a time."""

from __future__ import annotations

import pytest

from tracer.errors import Mark, ProblemsError
from tracer.harness.file.bullets import Seats, numbered_in
from tracer.harness.file.fields import Fields
from tracer.harness.file.nodes import MAX_PROBLEMS, Notes, TableNode, TextNode
from tracer.harness.file.runs import MAX_POINTS
from tracer.harness.file.text import read_harness
from tracer.harness.file.usual import Usual, loom_bends
from tracer.harness.model import Connector, Harness

BASE = """\
harness: Test
system: 12 V negative earth
colours: IEC 60757
controls:
  lights: [off, on]
parts:
  battery: {kind: battery}
  switch: {kind: switch, control: lights, contacts: {on: [in-out]}}
  tail: {kind: lamp, lamp: R5W}
connectors: {C1: {ways: 6}, B1: bullets}
splices: {S1: }
earths: {E1: }
wires:
  - tail.earth > E1
"""
MARK = Mark("f", 1, 1)


def read(old: str = "", new: str = "") -> Harness:
    assert old in BASE
    return read_harness(BASE.replace(old, new) if old else BASE)


def told(old: str, new: str) -> str:
    """Everything that is said of the file with one text exchanged."""
    with pytest.raises(ProblemsError) as caught:
        read(old, new)
    return "\n".join(str(p) for p in caught.value.problems)


# --- what holds where nothing is said


def test_what_is_not_said_is_as_usual() -> None:
    harness = read()
    control, connector, wire = harness.controls["lights"], harness.connectors["C1"], harness.wires[0]
    assert (control.assumed, control.sprung, control.minutes, control.drives, control.rolls) == (
        "off", False, 0.2, None, None)
    assert (connector.ways, connector.rows, connector.kind, connector.access_min) == (6, 1, "plug", 0.0)
    assert (harness.splices["S1"].access_min, harness.earths["E1"].access_min, harness.earths["E1"].body) == (
        0.0, 0.0, "body")
    assert (wire.section_mm2, wire.length_m, wire.celsius, wire.flexes, wire.traced, wire.loom) == (
        1.0, 1.0, 20.0, False, True, None)
    assert Usual().of("any loom") == Usual()


@pytest.mark.parametrize(("loom", "bends"), [
    ("tailgate hinge", True), ("handlebars", True), ("steering column", True), ("Hinges", True), ("rear", False),
    ("", False), (None, False), ("hinged", False),
])
def test_a_loom_bends_by_the_words_of_its_name(loom: str | None, bends: bool) -> None:
    assert loom_bends(loom) == bends
    if loom:
        wire = read("- tail.earth > E1", f"- {{run: tail.earth > E1, loom: {loom}}}").wires[0]
        assert wire.flexes == bends
        assert not read("- tail.earth > E1", f"- {{run: tail.earth > E1, loom: {loom}, flexes: no}}").wires[0].flexes


# --- counts


@pytest.mark.parametrize(("written", "message"), [
    ("{ways: 1}", ""), ("{ways: 200}", ""), ("{ways: 0}", "ways"), ("{ways: 201}", "ways"), ("7", ""),
    ("{ways: 6, rows: 6}", ""), ("{ways: 6, rows: 7}", "7 rows for 6 ways"),
    ("{ways: 1, rows: 2}", "2 rows for 1 way"),
    ("{ways: 40, rows: 20}", ""), ("{ways: 40, rows: 21}", "rows"), ("{ways: 40, rows: 0}", "rows"),
    ("{kind: bullets, ways: 200}", ""), ("{kind: bullets, ways: 201}", "ways"),
    ("{kind: bullets, ways: 4, rows: 2}", "bullets have no rows"),
    ("{kind: plugs, ways: 4}", "no kind of connector “plugs”"), ("{place: boot}", "ways"),
    ("boot", "its ways are missing"),
])
def test_a_connector_has_as_many_ways_and_rows_as_can_be(written: str, message: str) -> None:
    old, new = "C1: {ways: 6}", f"C1: {written}"
    if message:
        assert message in told(old, new)
    else:
        assert "C1" in read(old, new).connectors


def test_of_wrong_ways_nothing_is_said_of_the_rows() -> None:
    assert told("C1: {ways: 6}", "C1: {ways: 0, rows: 2}").count("\n") == 0


@pytest.mark.parametrize(("written", "message"), [
    ("[off, on]", ""), ("[off]", "a control has at least two positions"),
    ("[off, on, off]", "“off” is written twice"),
    ("{positions: [off, on], assumed: onn}", "no position “onn” (did you mean “on”?)"),
    ("{positions: [off, on], sprung: off}", "neither yes nor no"), ("{positions: [off, on], sprung: on}", ""),
    ("{positions: [off, on], sprung: [off]}", "“off” cannot spring back (it is where the others spring back to)"),
    ("{positions: [off, on], sprung: [onn]}", "“onn” cannot spring back (did you mean “on”?)"),
    ("{positions: [off, on], drives: [up]}", "no position “up”"), ("{positions: [off, on], rolls: [on]}", ""),
    ("lights", "its positions are missing"), ("{positions: [off, 'o,n']}", "contains “,”"),
])
def test_a_control_has_two_positions_or_more(written: str, message: str) -> None:
    if message:
        assert message in told("lights: [off, on]", f"lights: {written}")
    else:
        assert read("lights: [off, on]", f"lights: {written}").controls["lights"].positions == ("off", "on")


def test_out_of_which_positions_a_control_springs_back() -> None:
    """Out of all but the first by `yes`, and by naming them all; else out of those that are named."""
    def sprung(written: str) -> tuple[bool, tuple[str, ...]]:
        old, new = "lights: [off, on]", f"lights: {{positions: [off, on, flash], {written}}}"
        control = read(old, new).controls["lights"]
        return control.sprung, control.springs

    assert sprung("sprung: yes") == (True, ()) == sprung("sprung: [on, flash]")
    assert sprung("sprung: no") == (False, ())
    assert sprung("sprung: flash") == (True, ("flash",)) == sprung("sprung: [flash]")


@pytest.mark.parametrize(("ways", "message"), [
    ("C1.1", ""), ("C1.6", ""), ("C1.7", "way 7 of C1 (C1 has 6 ways)"), ("C1.0", "way 0 of C1"),
    ("C1.x", "way “x” of C1"),
    ("C1", "C1 without a way (C1.1 to C1.6)"), ("B1.200", ""), ("B1.201", "bullet 201 of B1"),
    ("C1.00001", "way “00001”"),
])
def test_a_wire_ends_in_a_way_that_there_is(ways: str, message: str) -> None:
    old, new = "- tail.earth > E1", f"- tail.earth > {ways}"
    if message:
        assert message in told(old, new)
    else:
        assert read(old, new).wires[0].run == ("tail.earth", ways)


def test_a_run_has_no_more_points_than_anybody_draws() -> None:
    def run(points: int) -> str:
        return "- " + " > ".join(["tail.earth", *("S1", "E1") * (points // 2)][:points])

    assert len(read("- tail.earth > E1", run(MAX_POINTS)).wires[0].run) == MAX_POINTS == 100
    assert "101 points in one run" in told("- tail.earth > E1", run(MAX_POINTS + 1))


def test_lengths_are_given_for_the_whole_or_for_each_conductor() -> None:
    """A run over a way is two conductors: 3 m are 1.5 m each."""
    def lengths(written: str) -> list[float]:
        wire = read("- tail.earth > E1", f"- {{run: tail.earth > C1.1 > E1, length: {written}}}").wires[0]
        assert wire.length_m == pytest.approx(sum(s.length_m for s in wire.segments))
        return [s.length_m for s in wire.segments]

    assert lengths("3 m") == [1.5, 1.5] and lengths("[1 m, 2 m]") == [1.0, 2.0]
    old = "- tail.earth > E1"
    assert "3 lengths for 2 conductors" in told(old, "- {run: tail.earth > C1.1 > E1, length: [1 m, 2 m, 3 m]}")
    assert "2 lengths for 1 conductor (" in told(old, "- {run: tail.earth > E1, length: [1 m, 2 m]}")


def test_reading_stops_where_nobody_reads_on() -> None:
    notes = Notes()
    for k in range(MAX_PROBLEMS - 1):
        notes.add(Mark("f", k + 1, 1), f"{k}")
    assert len(notes.problems) == MAX_PROBLEMS - 1
    with pytest.raises(ProblemsError) as caught:
        notes.add(Mark("f", 1, 1), "last")
    assert len(caught.value.problems) == MAX_PROBLEMS + 1
    assert caught.value.problems[-1].message == "reading stopped here: too many problems"
    few = Notes(most=2)
    few.add(Mark("f", 9, 1), "later")
    with pytest.raises(ProblemsError) as caught:
        few.add(Mark("f", 2, 1), "earlier")
    assert [p.message for p in caught.value.problems][:2] == ["earlier", "later"], "in the order of the file"


@pytest.mark.parametrize(("written", "value", "wrong"), [
    ("3", 3, False), ("1", 1, False), ("9", 9, False), ("0", 5, True), ("10", 5, True), ("3.5", 5, True),
    ("three", 5, True), ("-3", 5, True),
])
def test_a_whole_number_lies_within_its_borders(written: str, value: int, wrong: bool) -> None:
    notes = Notes()
    key = TextNode("ways", MARK, inline=False)
    fields = Fields(TableNode(MARK, {"ways": (key, TextNode(written, MARK, inline=False))}), "it", ("ways",), notes)
    found = fields.whole("ways", 5, 1, 9)
    assert bool(notes.problems) == wrong and (wrong or found == value)
    assert Fields(TableNode(MARK), "it", ("ways",), notes).whole("ways", 5, 1, 9) == 5


# --- bullets


def test_a_wire_takes_the_next_bullet_that_no_run_calls_by_its_number() -> None:
    blocks = {"B1": Connector("B1", 0, kind="bullets"), "B2": Connector("B2", 2, kind="bullets"),
              "C1": Connector("C1", 6)}
    numbered = [*numbered_in(["x.a > B1.2 > y.b", "B1/4 > B2.x", "C1.1 > B1.12345", "B1 > E1"], blocks)]
    assert numbered == [("B1", 2), ("B1", 4)]
    seats, notes = Seats(blocks, numbered), Notes()
    assert [seats.free("B1", MARK, "wire w1", notes) for _ in range(4)] == ["B1.1", "B1.3", "B1.5", "B1.6"]
    assert [seats.free("B2", MARK, "wire w2", notes) for _ in range(2)] == ["B2.1", "B2.2"] and not notes.problems
    seats.free("B2", MARK, "wire w3", notes)
    assert [p.message for p in notes.problems] == ["wire w3: B2 takes 2 bullets, and all are taken"]
    joints = seats.joints()
    assert [j.a for j in joints if j.b == "B1"] == [f"B1.{n}" for n in range(1, 7)] and blocks["B1"].ways == 6


def test_a_sleeve_into_which_one_wire_is_pushed_takes_two() -> None:
    assert read("- tail.earth > E1", "- tail.earth > B1").connectors["B1"].ways == 2
    assert read().connectors["B1"].ways == 2
    through = read("- tail.earth > E1", "- tail.earth > B1 > E1").wires[0]
    assert through.run == ("tail.earth", "B1.1", "B1.2", "E1") and len(through.segments) == 2


# --- who means whom


@pytest.mark.parametrize(("old", "new", "message"), [
    ("splices: {S1: }", "splices: {C1: }", "the splice “C1” has the name of a connector (line 10)"),
    ("splices: {S1: }", "splices: {c1: }", "“c1” and “C1” (line 10) differ only in capitals"),
    ("earths: {E1: }", "earths: {E1: , tail: }", "the earth “tail” has the name of a part (line 9)"),
    ("earths: {E1: }", "earths: {E1: {body: tail}}", "the body “tail” has the name of a part"),
    ("  lights: [off, on]", "  lights: [off, on]\n  Lights: [off, on]",
     "“Lights” and “lights” differ only in capitals"),
    ("lamp: R5W}", "lamp: R5W, also: [switch]}", "tail: also “switch” already means switch"),
    ("- tail.earth > E1", "- tail.earth > E1 > E1", "“E1” stands twice in a row"),
    ("- tail.earth > E1", "- tail.earth", "a run needs at least two points"),
    ("- tail.earth > E1", "- tail.earth > > E1", "a point is missing in the run"),
    ("- tail.earth > E1", "- tail.earth -> E1", "“->” in the run"),
    ("- tail.earth > E1", "- tail.earth > S1.2", "S1 is a splice and has no terminals"),
    ("- tail.earth > E1", "- tail.earth > E1.2", "E1 is an earth and has no terminals"),
    ("- tail.earth > E1", "- B1.1 > B1.2", "there is no wire between bullets of one block"),
])
def test_one_name_means_one_thing_and_a_run_leads_somewhere(old: str, new: str, message: str) -> None:
    assert message in told(old, new)
