"""Harness files: what a line becomes, what an overlay changes, and that nothing bad escapes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tracer import standards
from tracer.errors import ProblemsError, TracerError
from tracer.harness.devices import FuseLink, Joint, SwitchContact
from tracer.harness.file.starter import STARTERS, starter_text
from tracer.harness.file.text import dump_harness, load_harness, read_harness
from tracer.harness.model import Harness

MODELS = Path(__file__).parents[2] / "harness_models"
MODEL_FILES = sorted(MODELS.glob("*.yaml"))

SMALL = """\
harness: Small
system: 12 V negative earth
colours: IEC 60757
usual: {size: 1 mm², length: 1 m, loom: main}
controls:
  ignition: {positions: [off, on], assumed: on, also: [key]}
  light: [off, on]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 8 A, place: fuse box, access: 1 min}
  light switch: {kind: switch, control: light, contacts: {on: [30-58]}}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}, place: corner, also: [rear left]}
connectors:
  C1: {ways: 6, rows: 2, place: boot}
splices:
  S1: under the dash
earths:
  E1: chassis rail
  E2: {place: wooden floor, body: none}
wires:
  - {run: battery.+ > F1.in, size: 14 AWG}
  - {run: F1.out > light switch.30}
  - {run: light switch.58 > C1.3 > S1 > left rear.tail, colour: GNBK, length: 3 m, loom: rear, name: tail feed}
  - {run: C1.5 > left rear.stop, length: 40 cm}
  - left rear.earth > E1
"""


@pytest.fixture(scope="module")
def small() -> Harness:
    return read_harness(SMALL, "small.yaml")


@pytest.fixture(scope="module")
def pickup() -> Harness:
    return load_harness(MODELS / "pickup.yaml")


# --- what a line becomes ----------------------------------------------------------------------


def test_head(small: Harness) -> None:
    assert (small.title, small.system_v, small.positive_earth) == ("Small", 12.0, False)
    assert (small.colour_code, small.file) == ("IEC 60757", "small.yaml")


def test_scalars_stay_text(small: Harness) -> None:
    """`off` and `on` are positions, not truth values."""
    assert small.controls["ignition"].positions == ("off", "on")
    assert small.controls["ignition"].assumed == "on"
    assert small.controls["light"].assumed == "off"


def test_run_through_a_way_arrives_and_leaves(small: Harness) -> None:
    wire = small.wires[2]
    assert wire.run == ("light switch.58", "C1.3", "S1", "left rear.tail")
    assert [(s.a, s.b) for s in wire.segments] == [
        ("light switch.58", "C1.3"), ("C1.3'", "S1"), ("S1", "left rear.tail"),
    ]
    assert [s.name for s in wire.segments] == [
        "wire light switch.58 – C1.3", "wire C1.3 – S1", "wire S1 – left rear.tail",
    ]
    assert {s.length_m for s in wire.segments} == {1.0}
    assert {(s.wire, s.loom, s.colour) for s in wire.segments} == {("tail feed", "rear", "GNBK")}


def test_run_that_begins_at_a_way_leaves_from_it(small: Harness) -> None:
    segment = small.wires[3].segments[0]
    assert (segment.a, segment.b) == ("C1.5'", "left rear.stop")
    assert segment.length_m == pytest.approx(0.4)


def test_joints_are_the_ways_in_use_and_the_earths_with_a_body(small: Harness) -> None:
    assert small.joints == (
        Joint("C1 way 3", "C1.3", "C1.3'", "way"),
        Joint("C1 way 5", "C1.5", "C1.5'", "way"),
        Joint("E1 earth joint", "E1", "body", "earth", 0.002),
    )
    assert small.earths["E2"].body is None


def test_wire_resistance_comes_from_section_and_length(small: Harness) -> None:
    tail = small.wires[2].segments[0]
    assert tail.ohm == standards.conductor_ohm(1.0, 1.0) == pytest.approx(0.0195)
    assert small.wires[0].section_mm2 == pytest.approx(2.08, abs=0.01)  # 14 AWG


def test_wires_are_named_by_position_unless_named(small: Harness) -> None:
    assert [w.name for w in small.wires] == ["w1", "w2", "tail feed", "w4", "w5"]


def test_a_bare_run_is_a_wire_with_the_usual_values(small: Harness) -> None:
    wire = small.wires[4]
    assert (wire.section_mm2, wire.length_m, wire.loom, wire.colour) == (1.0, 1.0, "main", "")


def test_parallel_conductors_have_different_names() -> None:
    text = SMALL + "  - left rear.earth > E1\n  - E1 > left rear.earth > E1\n"
    names = [s.name for w in read_harness(text).wires[4:] for s in w.segments]
    assert names == [
        "wire left rear.earth – E1", "wire left rear.earth – E1 (w6)", "wire E1 – left rear.earth",
        "wire left rear.earth – E1 (w7)",
    ]


def test_one_length_for_each_conductor() -> None:
    text = SMALL.replace("length: 3 m, loom: rear", "length: [2 m, 30 cm, 0.5 m], loom: rear")
    wire = read_harness(text).wires[2]
    assert [s.length_m for s in wire.segments] == pytest.approx([2.0, 0.3, 0.5])
    assert wire.length_m == pytest.approx(2.8)


def test_part_with_place_access_and_other_names(small: Harness) -> None:
    fuse, unit = small.parts["F1"], small.parts["left rear"]
    assert (fuse.place, fuse.access_min, fuse.terminals) == ("fuse box", 1.0, ("in", "out"))
    assert [d.rating_a for d in fuse.devices if isinstance(d, FuseLink)] == [8.0]
    assert (unit.also, unit.terminals) == (("rear left",), ("stop", "tail", "earth"))
    assert [f.lamp for f in unit.lamps] == ["left rear stop", "left rear tail"]
    assert [f.law.watts for f in unit.lamps] == [21, 5]


def test_marks_say_where_an_entry_was_written(small: Harness) -> None:
    assert str(small.parts["F1"].mark) == "small.yaml:10:3"
    assert str(small.wires[0].mark) == "small.yaml:21:5"


def test_a_contact_written_both_ways_round_is_one_contact() -> None:
    text = SMALL.replace("light: [off, on]", "light: [off, on, dim]").replace(
        "contacts: {on: [30-58]}", "contacts: {on: [30-58], dim: 58-30}"
    )
    contacts = [d for d in read_harness(text).parts["light switch"].devices if isinstance(d, SwitchContact)]
    assert [(c.name, c.closed_in) for c in contacts] == [("light switch 30-58", frozenset({"on", "dim"}))]


def test_socket_standard_gives_ways_and_functions() -> None:
    text = SMALL.replace("splices:", "  X1: {standard: ISO 1724, place: tow bar}\nsplices:")
    socket = read_harness(text).connectors["X1"]
    assert (socket.ways, socket.functions[4]) == (7, "right indicator")
    assert (1, 6) in socket.neighbours() and (6, 7) in socket.neighbours()


@pytest.mark.parametrize(
    ("written", "volts", "positive"),
    [("6 V positive earth", 6.0, True), ("24V negative earth", 24.0, False), ("12 v, Negative Earth", 12.0, False)],
)
def test_system(written: str, volts: float, positive: bool) -> None:
    harness = read_harness(SMALL.replace("12 V negative earth", written))
    assert (harness.system_v, harness.positive_earth) == (volts, positive)


def test_base_rates_override_a_kind_of_fault() -> None:
    assert read_harness(SMALL + "base rates: {earth bad: 8, wire open: 0.5}\n").base_rates == {
        "earth bad": 8.0, "wire open": 0.5,
    }


# --- overlays ---------------------------------------------------------------------------------


def test_overlay_replaces_adds_and_removes() -> None:
    overlay = """\
overlay: fitted after the vehicle was built
usual: {loom: added}
parts:
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, fog: P21W}}
  F2: {kind: fuse, rating: 5 A}
earths: {E3: new stud}
wires:
  - {run: F1.out > F2.in}
  - {run: left rear.earth > E3, name: w5}
remove: [w4]
"""
    harness = read_harness(SMALL, "small.yaml", [(overlay, "over.yaml")])
    assert harness.parts["left rear"].terminals == ("stop", "tail", "fog", "earth")
    assert list(harness.parts) == ["battery", "F1", "light switch", "left rear", "F2"]
    assert [w.name for w in harness.wires] == ["w1", "w2", "tail feed", "w5", "w6"]
    assert harness.wires[3].run == ("left rear.earth", "E3")  # re-routed
    assert (harness.wires[4].loom, harness.wires[4].section_mm2) == ("added", 1.0)
    assert "C1 way 5" not in [j.name for j in harness.joints]


def test_overlay_that_removes_a_part_must_deal_with_its_wires() -> None:
    with pytest.raises(ProblemsError) as caught:
        read_harness(SMALL, "small.yaml", [("overlay: no fuse\nremove: F1\n", "over.yaml")])
    assert [str(p) for p in caught.value.problems] == [
        "small.yaml:21:23: wire w1: no part or connector “F1” "
        "(an overlay removes it; remove or re-route this wire as well)",
        "small.yaml:22:11: wire w2: no part or connector “F1” "
        "(an overlay removes it; remove or re-route this wire as well)",
    ]


def test_overlay_may_mend_what_it_replaces() -> None:
    broken = SMALL.replace("rating: 8 A", "rating: 8")
    mended = read_harness(broken, "b", [("overlay: x\nparts: {F1: {kind: fuse, rating: 8 A}}\n", "o")])
    assert mended.parts["F1"].settings["rating"] == 8.0


def test_two_overlays_number_their_wires_on() -> None:
    overlays = [("overlay: a\nwires: [F1.in > E1]\n", "a"), ("overlay: b\nwires: [F1.in > E2]\n", "b")]
    assert [w.name for w in read_harness(SMALL, "s", overlays).wires][-2:] == ["w6", "w7"]


def test_overlay_files(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "o.yaml").write_text("overlay: 24 V\nsystem: 24 V negative earth\n", encoding="utf-8")
    assert load_harness(tmp_path / "a.yaml", [tmp_path / "o.yaml"]).system_v == 24.0


# --- there and back ---------------------------------------------------------------------------


@pytest.mark.parametrize("path", MODEL_FILES, ids=lambda p: p.stem)
def test_models_read_back_equal(path: Path) -> None:
    harness = load_harness(path)
    assert read_harness(dump_harness(harness)) == harness


def test_small_reads_back_equal() -> None:
    text = SMALL + "base rates: {earth bad: 8}\n"
    text = text.replace("[off, on]\nparts", "{positions: [off, on], sprung: yes, minutes: 1 min}\nparts")
    text = text.replace("E1: chassis rail", "E1: {place: 'a: b, c', access: 2 min, body: cab}")
    text = text.replace("splices:", "  X1: {standard: ISO 11446}\nsplices:\n  S2:")
    harness = read_harness(text)
    again = read_harness(dump_harness(harness))
    assert again == harness
    assert dump_harness(again) == dump_harness(harness)


def test_dump_tells_harnesses_apart(small: Harness) -> None:
    """Equality of harnesses is not vacuous: it sees one changed length."""
    changed = dump_harness(small).replace("length: 0.4 m", "length: 0.5 m")
    assert read_harness(changed) != small


_AWKWARD = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Zl", "Zp")), min_size=1)


@given(title=_AWKWARD, place=_AWKWARD)
def test_any_printable_text_survives_a_dump(title: str, place: str) -> None:
    harness = read_harness(SMALL)
    harness = replace(harness, title=" ".join(title.split()) or "x")
    earth = replace(harness.earths["E1"], place=" ".join(place.split()))
    harness = replace(harness, earths={**harness.earths, "E1": earth})
    if re.search("[\x7f-\x9f\ufeff\ufffe\uffff]|[\U0001fffe\U0001ffff]", title + place):
        return  # such characters are refused in a file
    assert read_harness(dump_harness(harness)) == harness


# --- models and starters ------------------------------------------------------------------------


def test_pickup_is_a_whole_exterior_lighting(pickup: Harness) -> None:
    conductors = [s for w in pickup.wires for s in w.segments]
    assert len(conductors) >= 60
    assert len(pickup.connectors) >= 5 and len(pickup.earths) >= 5
    assert sum(p.kind == "fuse" for p in pickup.parts.values()) >= 6
    lamps = {f.lamp for f in pickup.lamps()}
    for side in ("left", "right"):
        assert {f"{side} rear {x}" for x in ("stop", "tail", "indicator", "reversing")} <= lamps
        assert {f"{side} headlamp main", f"{side} headlamp dip", f"{side} front side", f"{side} repeater"} <= lamps


def test_pickup_names_are_unique(pickup: Harness) -> None:
    names = [d.name for d in pickup.devices()]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize(("unit", "connector"), [("left rear", "C2"), ("right rear", "C3")])
def test_pickup_rear_units_hang_on_one_connector(pickup: Harness, unit: str, connector: str) -> None:
    segments = [s for w in pickup.wires for s in w.segments]
    ways = {s.b.split(".")[-1]: s.a for s in segments if s.b.startswith(f"{unit}.")}
    (ways["earth"],) = (s.b for s in segments if s.a == f"{unit}.earth")
    assert len(ways) == 5
    assert {x.split(".")[0] for x in ways.values()} == {connector}
    numbers = {t: int(x.split(".")[1].rstrip("'")) for t, x in ways.items()}
    pair = tuple(sorted((numbers["indicator"], numbers["reversing"])))
    assert pair in pickup.connectors[connector].neighbours()


def test_pickup_has_no_loose_ends(pickup: Harness) -> None:
    """Every terminal is wired and every used way has both sides."""
    ends = {n for w in pickup.wires for s in w.segments for n in (s.a, s.b)}
    for part in pickup.parts.values():
        mounted = "earth at" in part.settings and part.settings["earth at"]
        for terminal in part.terminals:
            assert f"{part.name}.{terminal}" in ends or (terminal == "earth" and mounted)
    for joint in pickup.joints:
        assert joint.a in ends and (joint.kind == "earth" or joint.b in ends)


def test_trailer_is_short() -> None:
    path = MODELS / "trailer_7pin.yaml"
    assert len(path.read_text(encoding="utf-8").splitlines()) < 60
    assert load_harness(path).connectors["X1"].functions == standards.SOCKETS["ISO 1724"]


@pytest.mark.parametrize("what", list(STARTERS))
@pytest.mark.parametrize("system", ["6 V", "12 V", "24 V"])
@pytest.mark.parametrize("earth", ["negative", "positive"])
def test_starters_load(what: str, system: str, earth: str) -> None:
    text = starter_text("A van: ‘rear’, it's # odd", system, earth, what)
    harness = read_harness(text)
    assert harness.title == "A van: ‘rear’, it's # odd"
    assert (f"{harness.system_v:g} V", harness.positive_earth) == (system, earth == "positive")
    earthed = next(w for w in harness.wires if "E1" in w.run).run[0]
    assert earthed == ("battery.+" if earth == "positive" else "battery.-")
    assert text.count("#") > 8  # it explains itself


def test_starter_refuses_what_it_does_not_know() -> None:
    with pytest.raises(TracerError, match=r"no starter “reer” \(did you mean “rear” or “trailer”\?\)"):
        starter_text(what="reer")
    with pytest.raises(TracerError, match=r"no system “13 V”"):
        starter_text(system="13 V")
