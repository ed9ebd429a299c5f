"""Where a value or a name is still right and where it is not any more: the borders that the messages name."""

from __future__ import annotations

import pytest

from tests.library import MODELS
from tracer.errors import Mark, ProblemsError, UnknownNameError
from tracer.harness.file.fields import LIMITS, Fields, good_name, quantity, text_of, texts_of, yes_no
from tracer.harness.file.from_list import harness_from_list
from tracer.harness.file.model_files import model_names, model_text, models_folder
from tracer.harness.file.nodes import ListNode, Notes, TableNode, TextNode, clip
from tracer.harness.file.text import read_harness
from tracer.harness.file.vague_ends import guess_of, kinds_of_ends, vague_ends, with_terminals

AT = Mark("f", 3, 5)


def text(written: str) -> TextNode:
    return TextNode(written, AT, inline=False)


def table(**entries: str) -> TableNode:
    return TableNode(AT, {k.replace("_", " "): (text(k.replace("_", " ")), text(v)) for k, v in entries.items()})


def told(notes: Notes) -> list[str]:
    return [p.message for p in notes.problems]


# --- quantities


@pytest.mark.parametrize(("dimension", "right", "wrong"), [
    ("section", ["0.1 mm²", "120 mm²"], ["0 mm²", "121 mm²", "-1 mm²"]),
    ("length", ["0.01 m", "50 m"], ["0 m", "51 m"]),
    ("current", ["0.02 A", "125 A"], ["0 A", "126 A"]),
    ("power", ["0.1 W", "2000 W"], ["0 W", "2001 W"]),
    ("voltage", ["0.1 V", "60 V"], ["0 V", "61 V"]),
    ("resistance", ["0.01 ohm", "10 Mohm"], ["0 ohm", "11 Mohm"]),
    ("resistance or none", ["0 ohm", "0.05 ohm", "10 Mohm"], ["-0.05 ohm", "11 Mohm"]),
    ("temperature", ["-59 °C", "0 °C", "200 °C"], ["-60 °C", "201 °C"]),
    ("duration", ["0 min", "0.05 min", "600 min"], ["-0.05 min", "601 min"]),
])
def test_a_quantity_is_taken_up_to_the_border_that_its_message_names(
    dimension: str, right: list[str], wrong: list[str]
) -> None:
    """A dimmer at its brightest has 0 Ω, and a cover that comes off at once takes 0 min; a wire of no length is a
    slip of the pen."""
    for written in right:
        notes = Notes()
        assert quantity(text(written), dimension, "it", notes) is not None and not notes.problems, written
    for written in wrong:
        notes = Notes()
        assert quantity(text(written), dimension, "it", notes) is None, written
        assert [p.hint for p in notes.problems] == [LIMITS[dimension][2]]


def test_what_is_no_text_is_called_what_it_is() -> None:
    notes = Notes()
    listed, tabled = ListNode(AT, [text("a")]), table(a="1")
    assert quantity(listed, "length", "it", notes) is None and quantity(tabled, "length", "it", notes) is None
    assert text_of(listed, "it", notes) is None and text_of(tabled, "it", notes) is None
    assert text_of(text("  "), "it", notes) is None and text_of(text(" a  b "), "it", notes) == "a b"
    assert told(notes) == ["it: expected a length, found a list", "it: expected a length, found a table",
                           "it: expected a text, found a list", "it: expected a text, found a table",
                           "it: nothing is written here"]


def test_a_single_text_is_a_list_of_one_and_an_empty_one_of_none() -> None:
    notes = Notes()
    assert [t.text for t in texts_of(text("a"), "it", notes)] == ["a"] and texts_of(text(" "), "it", notes) == []
    assert [t.text for t in texts_of(ListNode(AT, [text("a"), text("b")]), "it", notes)] == ["a", "b"]
    assert not notes.problems
    assert texts_of(table(a="1"), "it", notes) == [] and told(notes) == ["it: expected a list, found a table"]


@pytest.mark.parametrize(("written", "meant"), [
    ("yes", True), ("Yes", True), ("true", True), ("no", False), ("False", False), ("perhaps", None),
])
def test_yes_and_no(written: str, meant: bool | None) -> None:
    notes = Notes()
    assert yes_no(text(written), "it", notes) is meant and bool(notes.problems) == (meant is None)


# --- keys and names


def test_a_misspelt_key_stands_for_the_nearest_missing_one_alone() -> None:
    """"sice" is size: what else is missing is missing still, and told."""
    notes = Notes()
    fields = Fields(table(sice="1 mm²"), "wire w1", ("size", "side", "place"), notes)
    missing = [key for key in ("size", "side", "place") if fields.lacks(key)]
    assert len(missing) == 2 and "place" in missing and len(fields.meant) == 1
    assert told(notes) == ["wire w1: “sice” is not known here"]


@pytest.mark.parametrize(("name", "value", "hint"), [
    ("1", "", "a comma ends the value: write the decimal point as a point"),
    ("left rear", "", "a comma ends the value: a text that contains one needs quotes"),
    ("size:1", "", "a colon needs a space after it"),
    ("1", "2", None),
])
def test_a_key_that_is_none_is_told_by_what_became_of_it(name: str, value: str, hint: str | None) -> None:
    notes = Notes()
    Fields(TableNode(AT, {name: (text(name), text(value))}), "it", ("size",), notes)
    assert notes.problems[0].hint == hint or (hint is None and "comma" not in (notes.problems[0].hint or ""))


def test_a_name_has_none_of_what_separates_points_and_the_place_of_it_is_told() -> None:
    notes = Notes()
    assert good_name(text("left rear"), "part", notes) and not notes.problems
    assert not good_name(text(" "), "part", notes)
    assert not good_name(text("a.b"), "part", notes)
    assert told(notes) == ["a part without a name", "the part name “a.b” contains “.”"]


@pytest.mark.parametrize("size", [1, 2, 60])
def test_a_text_is_cut_to_what_fits_and_not_before(size: int) -> None:
    assert clip("a" * size, size) == "a" * size
    assert clip("a" * (size + 1), size) == "a" * (size - 1) + "…" and len(clip("a" * 999, size)) == size
    assert clip(" a \n  b ") == "a b"


# --- terminals


RELAY = """\
harness: A relay, invented
system: 12 V negative earth
parts:
  battery: {kind: battery}
  relay: {kind: relay}
  diode: {kind: diode}
earths: {E1: here}
wires:
  - battery.- > E1
  - POINT > E1
"""


OTHER_RELAY = "say “contacts: change-over” or “numbering: DIN 72552” if the relay is one"


@pytest.mark.parametrize(("point", "hint"), [
    ("relay.87a", OTHER_RELAY),
    ("relay.88a", OTHER_RELAY),
    ("relay.49", "a flasher relay is “kind: flasher unit”"),
    ("diode.87a", None), ("relay.12", None),
])
def test_a_contact_that_other_relays_have_is_told_with_what_gives_it(point: str, hint: str | None) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_harness(RELAY.replace("POINT", point))
    (problem,) = caught.value.problems
    if hint is None:
        assert "DIN 72552" not in (problem.hint or "")
    else:
        assert (problem.hint or "").endswith(hint)


UNIT = """\
harness: A control unit, invented
system: 12 V negative earth
parts:
  battery: {kind: battery}
  unit: {kind: control unit, outputs: OUTPUTS}
earths: {E1: here}
wires:
  - battery.- > E1
  - battery.+ > unit.30
  - unit.31 > E1
"""


@pytest.mark.parametrize(("outputs", "message"), [
    ("{54: stop in}", ""), ("{54: stop in, 58: stop in}", ""),
    ("{54: 58, 58: tail in}", "unit, outputs: “58” is an output"),
    ("{54: 30}", "unit, outputs: “30” is the unit’s own feed or earth"),
    ("{31: stop in}", "unit, outputs: “31” is the unit’s own feed or earth"),
    ("{}", "unit, outputs: expected outputs and their inputs"),
])
def test_an_output_follows_an_input(outputs: str, message: str) -> None:
    written = UNIT.replace("OUTPUTS", outputs)
    if not message:
        assert read_harness(written).parts["unit"].terminals
        return
    with pytest.raises(ProblemsError) as caught:
        read_harness(written)
    assert [p.message for p in caught.value.problems] == [message]


# --- ends without a terminal


def test_the_wires_of_a_connector_take_its_ways_one_after_the_other_from_the_first() -> None:
    ways: dict[str, int] = {}
    kinds = {"plug": "connector", "tail": "lamp", "F1": "fuse"}
    assert with_terminals("F1 > plug > tail", kinds, ways) == "F1.out > plug.1 > tail.feed"
    assert with_terminals("F1 >  plug > tail", kinds, ways) == "F1.out > plug.2 > tail.feed"
    assert with_terminals("tail > E1", kinds, ways) == "tail.earth > E1" and ways == {"plug": 2}
    assert with_terminals("E1 > tail > F1", kinds, ways) == "E1 > tail > F1.in", "what is passed keeps its name"


@pytest.mark.parametrize(("name", "ends", "kind"), [
    ("boot joint", 1, "connector"), ("boot joint", 2, "bullets"), ("boot plug", 2, "connector"),
    ("left tail", 0, "lamp"), ("F7", 0, "fuse"), ("F7a", 0, ""), ("rear earth joint", 2, "earth"),
    ("horn", 0, "load"), ("thing", 0, ""),
])
def test_what_an_end_is_by_its_words(name: str, ends: int, kind: str) -> None:
    """A joint in which several wires end joins them; through a plug each goes on by itself."""
    assert guess_of(name, ends)[0] == kind


def test_a_vague_end_is_told_with_its_rows_and_how_many_wires_end_there() -> None:
    listed = "from,to,size mm²\nF1.out,joint,1\njoint,tail,1\nF1.in,S1,1\njoint,E1,1\nthing,unit.a,1\nunit.b,unit,1\n"
    found = {e.name: e for e in vague_ends(listed, "list")}
    assert set(found) == {"joint", "tail", "thing"}, "S1 and E1 say what they are, and unit has terminals elsewhere"
    assert (found["joint"].rows, found["joint"].ends, found["joint"].line) == (3, 3, 2)
    assert kinds_of_ends(tuple(found.values()), {"*": "splice", "tail": "earth"}) == {
        "joint": "bullets", "tail": "earth", "thing": "splice"}
    for said, message in (({"taill": "lamp"}, "no end “taill”"), ({"tail": "lamb"}, "tail: no kind of end “lamb”")):
        with pytest.raises(UnknownNameError, match=message):
            kinds_of_ends(tuple(found.values()), said)


# --- a list alone


def new(*rows: str) -> str:
    return harness_from_list("from,to,size mm²\n" + "".join(f"{r},1\n" for r in rows), "list", "It", "12 V",
                             "negative")[0]


@pytest.mark.parametrize(("terminals", "entry"), [
    ("85 86 30 87", "{kind: relay}"), ("85 86 30 87 87a", "{kind: relay, contacts: change-over}"),
    ("85 86 30 87a", "{kind: relay, contacts: break}"),
    ("85 86 30 87 87b", "{kind: relay, numbering: DIN 72552, contacts: change-over}"),
    ("85 86 30 88", "{kind: relay, numbering: DIN 72552}"),
    ("49 49a", "{kind: flasher unit}"), ("49 49a 31", "{kind: flasher unit, earth: yes}"),
    ("49 49a C", "{kind: flasher unit, tell-tale: [C]}"),
    ("49 49a 31 C C2", "{kind: flasher unit, earth: yes, tell-tale: [C, C2]}"),
    ("anode cathode", "{kind: diode}"), ("+ -", "{kind: battery}"),
    ("tail stop earth", "{kind: lamp unit, lamps: {tail: to fill in, stop: to fill in}}"),
    ("feed earth", "{kind: lamp, lamp: to fill in}"), ("1 2 3", ""),
])
def test_a_part_is_what_its_terminals_say(terminals: str, entry: str) -> None:
    """Terminals of DIN 72552 and ISO 7588; numbers alone are the ways of a connector."""
    written = new(*(f"thing.{t},E{k}" for k, t in enumerate(terminals.split(), 1)))
    assert (f"  thing: {entry}\n" in written) == bool(entry)
    assert ("  thing: {ways: 3}\n" in written) == (not entry)


@pytest.mark.parametrize(("name", "kind"), [("F3", "fuse"), ("horn fuse", "fuse"), ("brake switch", "switch")])
def test_what_has_an_in_and_an_out_is_a_fuse_by_its_name(name: str, kind: str) -> None:
    assert f"  {name}: {{kind: {kind}, " in new(f"{name}.in,S1", f"{name}.out,S2")


def test_a_name_is_an_earth_where_it_says_so_or_an_earth_wire_ends_there() -> None:
    written = new("tail.earth,left wing", "tail.feed,left tail joint", "dip.earth,S4", "S9,chassis rail", "S9,post")
    earths = written.partition("earths:\n")[2].partition("wires:")[0].split("\n")
    splices = written.partition("splices:\n")[2].partition("earths:")[0].split("\n")
    assert [e.strip(" :") for e in earths if e] == ["left wing", "chassis rail"]
    assert [s.strip(" :") for s in splices if s] == ["left tail joint", "S4", "S9", "post"]


# --- the shipped models


def test_the_models_are_found_by_name_and_a_slip_is_told() -> None:
    folder = models_folder()
    assert folder is not None and folder.samefile(MODELS) and {"pickup", "rear_end"} <= {*model_names()}
    assert model_text("pickup") == model_text("pickup.yaml") == (MODELS / "pickup.yaml").read_text(encoding="utf-8")
    with pytest.raises(UnknownNameError, match="no model “pikup”") as caught:
        model_text("pikup")
    assert "pickup" in str(caught.value)
