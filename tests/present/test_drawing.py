"""The drawing of a sub-circuit: what is in it, that it can be read, and that no name breaks it."""

from __future__ import annotations

import os
import random
import re
import struct
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pygraphviz
import pytest
from msgspec.structs import replace

from tests.long import in_turn, large_long
from tests.present.font_widths import BOLD, FONTS, REGULAR, Font, codes, widest
from tracer.circuit.model import OPEN_OHM, Change
from tracer.errors import DrawingError, UnknownNameError
from tracer.faults import list_faults
from tracer.harness.devices import Joint
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.observation.forward_model import Predictor
from tracer.present.drawing.canvas import Canvas, Lettering, Page, Stroke, add_lettering, element_id
from tracer.present.drawing.draw import draw, draw_on_canvas, with_crossed
from tracer.present.drawing.graph import build_picture
from tracer.present.drawing.lettering import clean, shorten, width_of, wrap
from tracer.present.drawing.scope import devices_named, slope_of, sub_circuit
from tracer.present.drawing.selection import view_of_harness
from tracer.present.drawing.view import Mark, View

MODELS = Path(__file__).parents[2] / "harness_models"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def pickup() -> Harness:
    return load_harness(MODELS / "pickup.yaml")


def lost_earth(harness: Harness) -> View:
    """The left rear unit without its earth, in reverse: current looks for another way."""
    predictor = Predictor(harness)
    change = Change(set_ohm=(("E4 earth joint", OPEN_OHM),))
    setup = predictor.setup(harness.state({"gear": "reverse"}))
    settled = predictor.settled(setup, predictor.table([change]))
    volts = {n: float(settled.solution.volts[0, i]) for n, i in predictor.circuit.index.items()}
    linear = predictor.circuit.linear
    conducts = predictor.circuit.conductances(setup)
    flow = {d.name: float((volts[d.a] - volts[d.b]) * s) for d, s in zip(linear, conducts, strict=True)}
    flow |= {d.name: float(settled.solution.port_i[0, i]) for i, d in enumerate(predictor.circuit.ports)}
    flow["E4 earth joint"] = 0.0
    back = [d.name for d in predictor.circuit.ports if d.name.startswith("left rear ") and flow[d.name] < -0.02]
    return View(
        "Left rear lamp unit", "Invented pick-up", sub_circuit(harness, ["left rear", "right rear tail"]),
        (
            Mark(1, ("E4 earth joint",), "Earth point E4 open"), Mark(2, ("C2 way 5",), "Way 5 of C2 open"),
            Mark(3, ("wire left rear.earth – C2.5",), "Wire broken"), Mark(4, ("S13",), "Elsewhere"),
        ),
        (("T1", "left rear.earth"), ("T2", "E4"), ("T3", "C2.5'"), ("T4", "S5")), volts, flow,
        frozenset([*back, "wire S6 – C2.2", "wire C2.2 – left rear.stop"]),
        {"left rear stop": "faint", "left rear reversing": "dim"}, "ignition on, gear reverse",
    )


def root_of(harness: Harness, view: View) -> ElementTree.Element:
    return ElementTree.fromstring(draw(harness, view, "svg"))


def texts(root: ElementTree.Element) -> list[str]:
    return [t.text or "" for t in root.iter(f"{SVG}text")]


def overlaps(canvas: Canvas) -> list[str]:
    """Lettering that runs into other lettering, or that a line goes through."""
    boxes = canvas.boxes()
    words = [text for *_, text in boxes]
    left, top, right, bottom = np.array([box[:4] for box in boxes]).reshape(-1, 4).T
    across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    down = np.minimum(bottom[:, None], bottom) - np.maximum(top[:, None], top)
    found = [f"{words[i]} on {words[j]}" for i, j in np.argwhere(np.tril((across > 0.5) & (down > 0.5), -1))]
    lines = np.array([
        (*one, *other, op.width / 2) for op in canvas.ops if isinstance(op, Stroke) and op.colour != "#ffffff"
        for one, other in zip(op.points, op.points[1:], strict=False)
        if min(abs(one[0] - other[0]), abs(one[1] - other[1])) <= 0.1  # else a blade or a cross, inside its sign
    ]).reshape(-1, 5)
    x1, y1, x2, y2, half = lines.T[:, :, None]
    across = np.minimum(right, np.maximum(x1, x2) + half) - np.maximum(left, np.minimum(x1, x2) - half)
    down = np.minimum(bottom, np.maximum(y1, y2) + half) - np.maximum(top, np.minimum(y1, y2) - half)
    return found + [f"a line through {words[j]}" for _, j in np.argwhere((across > 0.5) & (down > 1.0))]


# What is drawn -----------------------------------------------------------------------------------


def test_svg_is_well_formed_and_has_every_device(pickup: Harness) -> None:
    view = lost_earth(pickup)
    root = root_of(pickup, view)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    slope = slope_of(pickup)
    for name in view.elements:
        assert element_id("dev", name) in ids, name
    assert root.find(f"{SVG}title") is not None
    named = {g.get("data-name") for g in root.iter(f"{SVG}g")}
    assert named <= slope.by_name.keys() | slope.at.keys()
    for group in root.iter(f"{SVG}g"):
        assert group.find(f"{SVG}title") is not None


def test_ids_are_unique_and_the_same_in_every_picture(pickup: Harness) -> None:
    small = root_of(pickup, View("a", elements=sub_circuit(pickup, ["left rear tail"])))
    ids = [e.get("id") for e in small.iter() if e.get("id")]
    whole = {e.get("id") for e in root_of(pickup, View("b")).iter()}
    assert set(ids) <= whole
    assert len(ids) == len(set(ids))


def test_letters_ways_places_and_marks(pickup: Harness) -> None:
    found = texts(root_of(pickup, lost_earth(pickup)))
    for text in (
        "GYRD 0.75", "BU 1.0", "BN 1.5", "RD 6.0", "C2/3", "C1/5", "S5", "S6", "E4", "left rear chassis rail", "F1",
        "8 A", "21 W", "faint", "dim", "back-feed", "T1", "T2", "T3", "T4", "1", "2", "3", "Way 5 of C2 open",
        "Elsewhere (not in this picture)",
    ):
        assert text in found, text
    assert any("Vehicle state: ignition on, gear reverse" in t for t in found)
    assert any(t.startswith("IEC 60757: BK black") for t in found)
    calculated = [t for t in found if re.fullmatch(r"\(−?[0-9]+(\.[0-9]+)? V\)", t)]
    assert len(calculated) > 8
    # The voltage of the file stands without brackets, and nothing calculated does.
    assert [t for t in found if t.endswith(" V")] == ["12.6 V"]


def test_legend_has_only_what_occurs(pickup: Harness) -> None:
    found = " ".join(texts(root_of(pickup, View("x", elements=sub_circuit(pickup, ["E3"], with_supply=False)))))
    for absent in ("Suspects", "Test points", "back-feed", "carries current", "suspect", "violet", "Vehicle state"):
        assert absent not in found


def test_suspects_are_told_by_number_and_by_line(pickup: Harness) -> None:
    elements = sub_circuit(pickup, ["left rear reversing"])
    plain = root_of(pickup, View("x", elements=elements))
    name = "wire C2.4 – left rear.reversing"
    marked = root_of(pickup, View("x", elements=elements, suspects=(Mark(7, (name,), "broken"),)))

    def dashes(root: ElementTree.Element) -> list[float]:
        group = next(g for g in root.iter(f"{SVG}g") if g.get("data-name") == name)
        return [float(p.get("stroke-width", 0)) for p in group.iter(f"{SVG}polyline") if p.get("stroke-dasharray")]

    assert max(dashes(marked)) > 5 and not dashes(plain)
    assert texts(marked).count("7") == 2  # at the wire and in the list


@pytest.mark.parametrize("element", [
    "left rear", "left rear tail", "left rear tail filament", "left rear tail holder contact",
    "left rear stop + left rear tail holder earth", "C2", "C2 way 1", "C2.1", "S5", "S1", "E4", "F3", "F3 link",
    "lamp switch", "lamp switch 30-58", "battery", "wire S5 – C2.1", "E4 earth joint",
])
def test_everything_can_be_a_suspect(pickup: Harness, element: str) -> None:
    view = View("x", elements=sub_circuit(pickup, ["left rear tail", "left rear stop"]),
                suspects=(Mark(8, (element,), "says"),))
    canvas, _ = draw_on_canvas(pickup, view)
    root = root_of(pickup, view)
    assert texts(root).count("8") >= 2, element
    assert not overlaps(canvas)


def test_contacts_are_drawn_as_they_stand(pickup: Harness) -> None:
    assert "contacts drawn at rest" in texts(root_of(pickup, View("x")))
    assert "contacts drawn as in this state" in texts(root_of(pickup, lost_earth(pickup)))


# That it can be read -----------------------------------------------------------------------------


def test_a_typical_sub_circuit_fits_a4_with_readable_lettering(pickup: Harness) -> None:
    for view in (lost_earth(pickup), View("x", elements=sub_circuit(pickup, ["left rear reversing"]))):
        canvas, page = draw_on_canvas(pickup, view)
        assert sorted((page.width, page.height)) == [595, 842]
        smallest = min(op.size for op in canvas.ops if hasattr(op, "size"))
        assert smallest * page.scale >= 9.0 - 1e-9
        for left, _, right, bottom, _ in canvas.boxes():
            assert left * page.scale + page.left >= 0
            assert right * page.scale + page.left <= page.width
            assert bottom * page.scale + page.top <= page.height


@pytest.mark.parametrize("model", large_long(["pickup.yaml", "trailer_7pin.yaml"], frozenset({"pickup"})))
def test_no_label_overlaps(model: str) -> None:
    harness = load_harness(MODELS / model)
    for name in [*(f.lamp for f in harness.lamps()), *harness.connectors, *harness.splices, *harness.earths]:
        canvas, _ = draw_on_canvas(harness, View(name, elements=sub_circuit(harness, [name])))
        assert not overlaps(canvas), name


@pytest.mark.parametrize("model", in_turn([p.name for p in sorted(MODELS.glob("*.yaml"))], 1))
def test_no_label_overlaps_on_a_whole_harness(model: str) -> None:
    assert not overlaps(draw_on_canvas(load_harness(MODELS / model), View("all"))[0])


def test_a_contact_fed_from_below_stands_under_the_others() -> None:
    """The stalk of the 1950s car feeds one outlet from the brake switch above and from the flasher unit below."""
    harness = load_harness(MODELS / "car_1950s.yaml")
    page = draw(harness, View("all"), "svg").decode()
    found = re.findall(r'y="([0-9.]+)"[^>]*>(left, off|off, right|left|right)<', page)
    upper = [float(y) for y, name in found if "off" in name]
    lower = [float(y) for y, name in found if "off" not in name]
    assert (len(upper), len(lower)) == (2, 4)
    assert max(upper) + 11 < min(lower)


def test_no_label_overlaps_with_volts_and_marks(pickup: Harness) -> None:
    view = lost_earth(pickup)
    assert not overlaps(draw_on_canvas(pickup, view)[0])
    assert not overlaps(draw_on_canvas(pickup, replace(view, elements=frozenset()))[0])


def test_the_whole_harness_is_drawn_soon(pickup: Harness) -> None:
    start = time.process_time()
    assert len(draw(pickup, View("all"), "pdf")) > 5000
    assert time.process_time() - start < 20


@pytest.mark.parametrize(("fmt", "magic"), [("png", b"\x89PNG\r\n\x1a\n"), ("pdf", b"%PDF-")])
def test_png_and_pdf(pickup: Harness, fmt: str, magic: bytes) -> None:
    data = draw(pickup, lost_earth(pickup), "png" if fmt == "png" else "pdf")
    assert data.startswith(magic)
    assert len(data) > 8000
    if fmt == "png":
        width, height = struct.unpack(">II", data[16:24])
        assert abs(width - 595 * 150 / 72) < 4 and abs(height - 842 * 150 / 72) < 4


def test_every_process_draws_the_same_picture() -> None:
    """The order of a set differs from process to process; no picture may hang on it."""
    code = (
        "from tracer import draw, load_harness, view_of_harness; import sys\n"
        f"h = load_harness({str(MODELS / 'rear_end.yaml')!r})\n"
        "sys.stdout.buffer.write(draw(h, view_of_harness(h), 'svg'))"
    )
    pictures = {
        subprocess.run([sys.executable, "-c", code], cwd=MODELS.parent, capture_output=True, check=True,
                       env={**os.environ, "PYTHONHASHSEED": seed}).stdout
        for seed in ("1", "2")
    }

    assert len(pictures) == 1


def test_the_same_view_gives_the_same_picture(pickup: Harness) -> None:
    view = lost_earth(pickup)
    assert draw(pickup, view, "svg") == draw(pickup, view, "svg")


# Names -------------------------------------------------------------------------------------------

LONG = "and on " * 28 + "end"
HOSTILE = f"""
harness: 'Motor "cycle" </title><script>alert(1)</script> & 摩托车'
system: 12 V positive earth
colours: BS AU 7
usual: {{size: 1 mm², length: 0.5 m, loom: main}}
controls:
  lights: [off, on]
  dip: [dipped, main]
parts:
  battery: {{kind: battery}}
  'F"1&amp;': {{kind: fuse, rating: 15 A}}
  light switch <script: {{kind: switch, control: lights, contacts: {{on: [30-58]}}}}
  dip switch: {{kind: switch, control: dip, contacts: {{dipped: [56-56b], main: [56-56a]}}}}
  relay {LONG}: {{kind: relay, contacts: change-over}}
  D1: {{kind: diode}}
  RES: {{kind: resistor, resistance: 10 ohm}}
  horn: {{kind: load, power: 40 W, earth at: E2}}
  'Über <b "汉字灯" \\N \\G {LONG}': {{kind: lamp, lamp: R5W}}
  head: {{kind: lamp unit, lamps: {{main + dip: H4, side {LONG}: R5W}}}}
connectors: {{'C<1&{LONG}': {{ways: 4}}}}
splices: {{'S"1 {LONG}': {LONG}}}
earths: {{E1: frame, E2: '<script>alert(2)</script> & {LONG}'}}
wires:
  - {{run: battery.+ > E1, colour: R, size: 10 mm²}}
  - {{run: 'battery.- > F"1&amp;.in', colour: N, size: 4 mm²}}
  - {{run: 'F"1&amp;.out > S"1 {LONG}', colour: NU}}
  - {{run: 'S"1 {LONG} > light switch <script.30', colour: W}}
  - {{run: 'S"1 {LONG} > relay {LONG}.30', colour: NY}}
  - {{run: 'light switch <script.58 > relay {LONG}.86', colour: UR}}
  - {{run: 'relay {LONG}.85 > E2', colour: B}}
  - {{run: 'relay {LONG}.87 > C<1&{LONG}.1 > dip switch.56', colour: UW}}
  - {{run: dip switch.56a > head.main, colour: UW}}
  - {{run: dip switch.56b > head.dip, colour: UR}}
  - {{run: 'relay {LONG}.87a > D1.anode', colour: G}}
  - {{run: D1.cathode > RES.a, colour: GP}}
  - {{run: 'RES.b > head.side {LONG}', colour: GP}}
  - {{run: head.main > horn.feed, colour: P}}
  - {{run: head.earth > E2, colour: B}}
  - {{run: 'Über <b "汉字灯" \\N \\G {LONG}.feed > S"1 {LONG}', colour: LGK}}
  - {{run: 'Über <b "汉字灯" \\N \\G {LONG}.earth > E2', colour: B}}
"""


def hostile_view(harness: Harness) -> View:
    evil = "<script>alert(3)</script>\x00\x07\u202e]]> &lt; \\N \ud800"
    return View(
        harness.title + evil, evil + LONG, frozenset(), (Mark(1, ("E2", *harness.splices), evil),),
        (("T1", "E2"), ('T"<2>', next(iter(harness.splices)))), lamps={f.lamp: evil for f in harness.lamps()},
        state=evil,
    )


def test_hostile_names_do_no_harm() -> None:
    harness = read_harness(HOSTILE, "hostile.yaml")
    view = hostile_view(harness)
    root = root_of(harness, view)
    known = {"svg", "g", "title", "rect", "polyline", "polygon", "ellipse", "text"}
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= known
    assert not [a for e in root.iter() for a in e.attrib if a.startswith("on") or "href" in a]
    found = texts(root)
    assert any("汉字灯" in t for t in found) and any("Über <b" in t for t in found)
    assert any("<script>alert(2)</script>" in t for t in found)
    assert draw(harness, view, "png").startswith(b"\x89PNG")
    assert draw(harness, view, "pdf").startswith(b"%PDF")
    assert not overlaps(draw_on_canvas(harness, view)[0])


def test_lettering_is_measured_wrapped_and_shortened() -> None:
    assert width_of("汉字", 10) == pytest.approx(20)
    assert width_of("e\u0301", 10) == pytest.approx(width_of("é", 10))
    assert wrap("left rear chassis rail", 60, 10) == ["left rear", "chassis rail"]
    assert wrap("tell-tale lamp", 30, 10)[0] == "tell-"
    assert wrap("x" * 300, 50, 10, 2)[1].endswith("…")
    assert all(width_of(line, 10) <= 50 for line in wrap("汉字" * 30, 50, 10, 3))
    assert shorten("abc", 100, 10) == "abc"
    assert clean("a\nb\x00\u202ec\t d") == "a b\ufffdc d"
    assert wrap("", 50, 10) == []
    assert wrap("change ways 3 and 4 back (31 %)", 155, 10) == ["change ways 3 and 4 back", "(31 %)"]
    # A heading or an entry of the key has no room beside it, so that a long word is broken.
    assert all(width_of(line, 10) <= 50 for line in wrap("x" * 30, 50, 10, stretch=1.0))


@pytest.mark.parametrize("face", [0, 1])
def test_lettering_is_as_wide_as_the_widest_font_that_may_draw_it(face: int) -> None:
    """Judged by the font files themselves: DejaVu Sans, and Liberation Sans, which has the widths of Arial."""
    files = [FONTS / name for name in (REGULAR, BOLD)[face]]
    if not all(f.exists() for f in files):
        pytest.skip("needs the packages fonts-dejavu-core and fonts-liberation")
    fonts = [Font(f) for f in files]
    checked = 0
    for code in codes():
        wide = widest(fonts, code)
        if wide is not None:
            assert width_of(chr(code), 1000, bool(face)) == pytest.approx(wide, abs=0.01), hex(code)
            checked += 1
    assert checked > 590
    for sample in ("left rear stop + tail", "Rückfahrscheinwerfer (12.4 V) − 0.75 mm²", "lampe arrière gauche, 21 W"):
        for font in fonts:
            drawn = sum(font.width(ord(c)) or 0.0 for c in sample) / 100
            assert drawn <= width_of(sample, 10, bool(face)) <= 1.35 * drawn


def test_a_heading_is_never_cut(pickup: Harness) -> None:
    """However long title, supposition and state are: all of it is written, within the margins."""
    words = [f"word{n}" for n in range(120)]
    title = " ".join(words) + " " + "x" * 300
    view = View(title, " ".join(words), sub_circuit(pickup, ["left rear tail"]), state=" ".join(words))
    canvas, page = draw_on_canvas(pickup, view)
    said = " ".join(text for *_, text in canvas.boxes())
    assert all(said.count(w + " ") >= 3 for w in words)
    assert "…" not in said and said.count("x") >= 300
    for left, _, right, _, text in canvas.boxes():
        assert page.at((left, 0))[0] >= 0 and page.at((right, 0))[0] <= page.width, text


def test_measured_voltages_stand_at_their_test_points(pickup: Harness) -> None:
    """Without brackets and right beside the flag; what is calculated stands in brackets, and the key says so."""
    view = replace(lost_earth(pickup), measured={"T2": "3.6 V", "T3": "0.1 V to T2"})
    canvas, _ = draw_on_canvas(pickup, view)
    found = [text for *_, text in canvas.boxes()]
    for label, value in (("T2", "3.6 V"), ("T3", "0.1 V to T2")):
        assert found[found.index(label) + 1] == value
    assert found[found.index("T1") + 1] != "3.6 V"
    key = " ".join(texts(root_of(pickup, view)))
    assert "calculated, to the body" in key and "measured there" in key and "3.6 V, E4: left rear chassis rail" in key
    assert not overlaps(canvas)
    assert "measured there" not in " ".join(texts(root_of(pickup, lost_earth(pickup))))


def test_crossed_ways_are_drawn_crossed(pickup: Harness) -> None:
    """Ways 3 and 4 of C2 changed over: the line through way 3 goes on to the reversing lamp, and says so."""
    fault = next(f for f in list_faults(pickup) if f.name == "ways crossed: C2 ways 3 and 4")
    view = view_of_harness(pickup, state=pickup.state({"gear": "reverse"}), fault=fault)
    assert view.crossed == {"C2 way 3": ("C2.3", "C2.4'"), "C2 way 4": ("C2.4", "C2.3'")}
    found = texts(root_of(pickup, view))
    assert {"crossed to C2/3", "crossed to C2/4"} <= set(found)
    assert "pin in the way of another," in " ".join(found)
    rewired = with_crossed(pickup, view)
    picture = build_picture(rewired, (d.name for d in rewired.devices()))
    through = next(r for r in picture.runs if "C2 way 4" in [d.name for d in r.devices])
    assert "left rear.indicator" in (through.at_upper, through.at_lower)
    # By hand: the reversing feed now lights the indicator lamp, 21 W at about 12 V.
    assert abs(view.flow["C2 way 4"]) == pytest.approx(21 / 12, rel=0.15)
    assert not overlaps(draw_on_canvas(pickup, view)[0])


def test_what_only_joins_two_ways_is_not_drawn_crossed(pickup: Harness) -> None:
    fault = next(f for f in list_faults(pickup) if f.name == "ways joined: C2 ways 3 and 4")
    assert view_of_harness(pickup, fault=fault).crossed == {}


def test_graphviz_gets_text_and_not_its_own_escapes() -> None:
    graph = pygraphviz.AGraph()
    add_lettering(graph, "n", Lettering((20, 20), "a \\N <b> & \\", 10, "start", False, "#000000"), Page(200, 99))
    assert "a \\\\N &lt;b&gt; &amp; \\\\<" in graph.get_node("n").attr["label"]


# Errors and choices ------------------------------------------------------------------------------


def test_an_empty_view_is_refused() -> None:
    empty = Harness("", 12.0, False, "IEC 60757", {}, {}, {}, {}, {}, ())
    with pytest.raises(DrawingError, match="nothing to draw"):
        draw(empty, View("x"), "svg")


def test_unknown_names_are_refused(pickup: Harness) -> None:
    with pytest.raises(DrawingError, match=r"no device “F1 linc”.*F1 link"):
        draw(pickup, View("x", elements=frozenset(["F1 linc"])), "svg")
    with pytest.raises(UnknownNameError, match="left rear tail"):
        sub_circuit(pickup, ["left rear tial"])
    with pytest.raises(DrawingError, match="svg, png or pdf"):
        draw(pickup, View("x"), "gif")  # type: ignore[arg-type]


def test_a_lamp_brings_its_feed_and_earth_and_no_more(pickup: Harness) -> None:
    found = sub_circuit(pickup, ["left rear reversing"])
    assert {"battery", "F1 link", "reversing switch in-out", "ignition switch 30-15", "E4 earth joint"} <= found
    assert not {"brake switch 15-54", "F2 link", "left rear tail filament", "lamp switch 30-58"} & found
    lamps = {f.name for f in pickup.lamps()}
    assert found & lamps == {"left rear reversing filament"}
    assert sub_circuit(pickup, ["left rear reversing", "F1", "S3", "C2.4"]) == found


def test_an_earth_point_brings_all_that_it_serves(pickup: Harness) -> None:
    found = sub_circuit(pickup, ["E4"])
    assert {f"left rear {x} filament" for x in ("stop", "tail", "indicator", "reversing")} <= found
    assert "right rear tail filament" not in found
    assert sub_circuit(pickup, ["left rear tail", "E4"]) == found


def test_a_splice_brings_what_it_feeds(pickup: Harness) -> None:
    found = sub_circuit(pickup, ["S5"])
    lamps = {f.name for f in pickup.lamps()}
    assert found & lamps == {
        "left rear tail filament", "right rear tail filament", "left number-plate lamp filament",
        "right number-plate lamp filament",
    }


def test_a_connector_brings_all_its_ways(pickup: Harness) -> None:
    assert sub_circuit(pickup, ["C2"]) >= {d.name for d in devices_named(pickup, "C2")}
    assert len(devices_named(pickup, "C2")) == 5


def test_a_lamp_between_two_feeds_brings_its_return(pickup: Harness) -> None:
    found = sub_circuit(pickup, ["indicator tell-tale"])
    assert {"indicator tell-tale filament", "right front indicator filament", "E5 earth joint"} <= found


def test_without_the_supply_the_picture_begins_at_the_last_switch_or_fuse(pickup: Harness) -> None:
    found = sub_circuit(pickup, ["left rear tail"], with_supply=False)
    assert {"F3 link", "F3 clip", "E4 earth joint"} <= found
    assert not {"battery", "lamp switch 30-58"} & found


def test_runs_go_down_from_supply_to_earth(pickup: Harness) -> None:
    picture = build_picture(pickup, (d.name for d in pickup.devices()))
    assert {r.upper for r in picture.runs} | {r.lower for r in picture.runs} == set(picture.units)
    drawn = [d.name for r in picture.runs for d in r.devices]
    drawn += [d.name for u in picture.units.values() if u.kind != "bend" for d in u.devices]
    assert sorted(drawn) == sorted(d.name for d in pickup.devices())
    for run in picture.runs:
        assert not run.upper.startswith("earth")
        assert len(run.nodes) == len(run.devices) + 1
    halves = [u for u in picture.units.values() if u.half]
    assert {u.part.name for u in halves if u.part} == {"hazard switch"}


@pytest.mark.parametrize("model", in_turn(sorted(p.stem for p in MODELS.glob("*.yaml")), 1))
def test_no_line_breaks_off_at_a_contact(model: str) -> None:
    """A line leads on to both sides of a way or bullet, also where no wire does, as from a bullet to its block."""
    harness = load_harness(MODELS / f"{model}.yaml")
    root = root_of(harness, view_of_harness(harness))
    ends: list[tuple[float, float, bool]] = []  # of each line, and whether it leads on downwards from there
    for line in root.iter(f"{SVG}polyline"):
        points = [tuple(map(float, p.split(","))) for p in (line.get("points") or "").split()]
        for (x, y), (_, beyond) in (points[:2], points[:-3:-1]):
            ends += [(x, y, beyond > y)] if beyond != y else []
    contacts = {d.name for d in harness.devices() if isinstance(d, Joint) and d.kind in ("way", "bullet")}
    seen = 0
    for group in root.iter(f"{SVG}g"):
        sign = group.find(f"{SVG}polygon") if group.get("data-name") in contacts else None
        if sign is not None:
            corners = [tuple(map(float, p.split(","))) for p in (sign.get("points") or "").split()]
            x, y = (sum(c[k] for c in corners) / 4 for k in (0, 1))
            leads = {down for at, height, down in ends if abs(at - x) < 0.1 and abs(height - y) < 0.1}
            assert leads == {True, False}, group.get("data-name")
            seen += 1
    assert seen


def test_any_choice_of_devices_can_be_drawn(pickup: Harness) -> None:
    rng = random.Random(7)
    names = sorted(d.name for d in pickup.devices())
    for size in (1, 2, 3, 5, 8, 20, 60, 120):
        chosen = frozenset(rng.sample(names, size))
        canvas, _ = draw_on_canvas(pickup, View("x", elements=chosen))
        assert not overlaps(canvas), chosen


def test_a_resistor_shows_its_resistance_in_the_units_of_the_trade() -> None:
    """8 Ω of a load resistor rather than the 50 W it may turn into heat; 1 kΩ, not 1e+03 Ω."""
    for model, shown, count in (("saloon_led", "8 Ω", 4), ("estate_1990s", "1 kΩ", 1)):
        harness = load_harness(MODELS / f"{model}.yaml")
        parts = [p.name for p in harness.parts.values() if p.kind == "resistor"]
        root = root_of(harness, View("Resistors", harness.title, sub_circuit(harness, parts)))

        assert texts(root).count(shown) == count
