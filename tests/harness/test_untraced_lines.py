"""Lines that nobody followed, alternatives of a line, and bullets, as the format takes them and gives them back."""

from __future__ import annotations

import pytest

from tracer.errors import ProblemsError
from tracer.harness.file.dump import dump_harness
from tracer.harness.file.schema import schema
from tracer.harness.file.text import read_harness
from tracer.harness.file.wire_list import wire_list_text
from tracer.harness.file.wires_in import lay_in
from tracer.harness.model import Harness

HEAD = """harness: Bullets
system: 12 V positive earth
usual: {traced: no}
controls: {lights: [off, side]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A}
  switch: {kind: switch, control: lights, contacts: {side: [30-58]}}
  left tail: {kind: lamp, lamp: R5W, earth at: E2}
  right tail: {kind: lamp, lamp: R5W, traced: yes}
connectors:
  B1: {kind: bullets, ways: 4, place: boot}
  B2: bullets
  C1: 2
earths: [E1, E2, E3]
wires:
  - {run: battery.+ > E1, traced: yes}
  - battery.- > F1.in
  - F1.out > B2 > switch.30
  - {run: switch.58 > C1.1 > B1.2, length: [3 m, 1 m]}
  - B1 > left tail.feed
  - B1 > right tail.feed
"""
LAST = "  - {run: right tail.earth > E2, or: [right tail.earth > E3, right tail.earth > B2]}\n"


def read(text: str) -> Harness:
    return read_harness(text, "f")


def test_a_file_reads_back_as_it_was_written() -> None:
    h = read(HEAD + LAST)
    assert [w.traced for w in h.wires] == [True, False, False, False, False, False, False]
    assert h.wires[-1].others == (("right tail.earth", "E3"), ("right tail.earth", "B2"))
    assert not h.parts["left tail"].traced and h.parts["right tail"].traced
    assert read(dump_harness(h)) == h


def test_a_part_may_name_where_else_it_may_be_bolted() -> None:
    text = HEAD.replace("earth at: E2}", "earth at: E2, or: [E3, E1], traced: yes}") + LAST
    h = read(text)
    assert h.parts["left tail"].others == ("E3", "E1") and h.unsure
    assert read(dump_harness(h)) == h and "or: [E3, E1]" in dump_harness(h)
    one = read(text.replace("or: [E3, E1]", "or: E3"))
    assert one.parts["left tail"].others == ("E3",)
    for over in ("{earth at: E3}", "{or: []}"):  # seen since, or measured
        laid = read_harness(text, "f", [(f"overlay: found\nparts:\n  left tail: {over}\n", "o")])
        assert not laid.parts["left tail"].others


@pytest.mark.parametrize(("entry", "said"), [
    ("lamp: R5W, earth at: E2, or: E9}", "f:9:56: left tail, or: no earth “E9”"),
    ("lamp: R5W, earth at: E2, or: E2}", "f:9:56: left tail, or: “E2” is where “earth at” has it"),
    ("lamp: R5W, or: E3}", "f:9:42: left tail, or: goes with “earth at”"),
])
def test_what_is_wrong_with_where_else_it_may_be_bolted(entry: str, said: str) -> None:
    with pytest.raises(ProblemsError) as error:
        read(HEAD.replace("lamp: R5W, earth at: E2}", entry) + LAST)
    assert said in str(error.value)


def test_a_wire_list_loses_nothing_of_it() -> None:
    h = read(HEAD + LAST)
    listed = wire_list_text(h)
    assert lay_in(dump_harness(h), "f", listed, "l")[1].wires == h.wires
    certain = read(HEAD.replace("usual: {traced: no}", "usual: {traced: yes}") + "  - right tail.earth > E2\n")
    assert "traced" not in wire_list_text(certain)  # a list of what is certain stays as short as it was


def test_bullets_take_the_next_free_place() -> None:
    """B1.2 is written, so that the wires that name the block alone get 1 and 3; a run through a sleeve takes two."""
    h = read(HEAD + LAST)
    ends = [(s.a, s.b) for w in h.wires for s in w.segments]
    assert ("F1.out", "B2.1") in ends and ("B2.2", "switch.30") in ends
    assert ("C1.1'", "B1.2") in ends and ("B1.1", "left tail.feed") in ends and ("B1.3", "right tail.feed") in ends
    joints = {j.name: (j.a, j.b) for j in h.joints if j.kind == "bullet"}
    assert joints["B1 bullet 3"] == ("B1.3", "B1") and len(joints) == 5
    assert (h.connectors["B1"].ways, h.connectors["B2"].ways) == (4, 2)
    assert [s.length_m for s in h.wires[2].segments] == [0.5, 0.5]  # the sleeve between them has no length


@pytest.mark.parametrize(("line", "said"), [
    ("  - {run: right tail.earth > E2, traced: perhaps}",
     "f:23:42: wire w7, traced: “perhaps” is neither yes nor no"),
    ("  - {run: right tail.earth > E2, or: E3}", "f:23:38: wire w7, or: a run needs at least two points"),
    ("  - {run: right tail.earth > E2, or: [right tail.earth > E4]}",
     "f:23:58: wire w7, or: no part, connector, splice or earth “E4”"),
    ("  - {run: right tail.earth > E2, or: right tail.earth > C1.2}",
     "f:23:5: wire w7, or: no wire of this file leads to C1.2"),
    ("  - right tail.earth > B1 > B2.4", None),
    ("  - {run: B1.1 > B1.2}", "f:23:11: wire w7: there is no wire between bullets of one block"),
    ("  - right tail.earth > B1.5", "f:23:24: wire w7: bullet 5 of B1"),
    ("  - right tail.earth > B1 > E2", "f:23:24: wire w7: B1 takes 4 bullets, and all are taken"),
])
def test_what_is_wrong_is_told_at_its_place(line: str, said: str | None) -> None:
    if said is None:
        assert read(HEAD + line.replace(" > B1", "")).connectors["B2"].ways == 4
        return
    with pytest.raises(ProblemsError) as error:
        read(HEAD + line + "\n")
    assert said in str(error.value)


def test_bullets_have_neither_rows_nor_a_standard() -> None:
    wrong = HEAD.replace("B2: bullets", "B2: {kind: bullets, rows: 2}")
    wrong = wrong.replace("C1: 2", "C1: {kind: bullet, ways: 2}")
    with pytest.raises(ProblemsError) as error:
        read(wrong + LAST)
    assert "f:13:29: connector B2: bullets have no rows" in str(error.value)
    assert "no kind of connector “bullet” (did you mean “bullets”?)" in str(error.value)


def test_an_overlay_says_what_was_traced() -> None:
    over = "overlay: found\nwires:\n  - {run: right tail.earth > E3, traced: yes, name: w7}\n"
    h = read_harness(HEAD + LAST, "f", [(over, "o")])
    assert h.wires[-1].traced and h.wires[-1].run == ("right tail.earth", "E3") and not h.wires[-1].others
    assert not h.parts["left tail"].traced  # the usual of the file still holds for what the overlay does not name


def test_the_schema_takes_it() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    import yaml

    data = yaml.safe_load(HEAD + LAST)
    data["controls"] = {"lights": ["off", "side"]}
    jsonschema.validate(data, schema())
    data["parts"]["left tail"]["or"] = ["E3"]
    jsonschema.validate(data, schema())
    data["wires"][0]["traced"] = "perhaps"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema())
