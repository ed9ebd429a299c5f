"""What a drawing says of a vehicle state: lamps, contacts, back-feeds, and the key to its signs."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.long import rest_long
from tests.present.groups import grouped
from tests.present.test_lines_apart import pieces, wires_of
from tracer.circuit.model import OPEN_OHM, Change
from tracer.faults import list_faults
from tracer.harness.devices import FlasherContact
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.inference.current_paths import flow
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor
from tracer.present.drawing.canvas import Canvas, Shape, Stroke
from tracer.present.drawing.draw import draw_on_canvas
from tracer.present.drawing.scope import sub_circuit
from tracer.present.drawing.selection import view_of_harness
from tracer.present.drawing.signs import Look, arrows_along
from tracer.present.drawing.symbols import lamp_words
from tracer.present.drawing.view import View

MODELS = Path(__file__).parents[2] / "harness_models"


@pytest.fixture(scope="module")
def tow() -> Harness:
    return load_harness(MODELS / "tow_7pin.yaml")


def written(canvas: Canvas) -> list[str]:
    return [text for *_, text in canvas.boxes()]


def test_what_a_lamp_does_is_not_cut(tow: Harness) -> None:
    """“normal, flashing”: the last word is the one that counts."""
    lamp = next(iter(tow.lamps()))
    for words in ("normal, flashing", "dim, flashing fast", "normal, steady instead of flashing"):
        assert " ".join(lamp_words(lamp, Look(lamps={lamp.lamp: words}))[1:]) == words
    view = view_of_harness(tow, state=tow.state({"ignition": "on", "indicator stalk": "right"}))
    canvas, _ = draw_on_canvas(tow, view)
    assert written(canvas).count("flashing") == sum("flashing" in words for words in view.lamps.values()) > 1


def test_a_flasher_contact_is_drawn_as_it_was_calculated(tow: Harness) -> None:
    """Closed in the lit phase though nothing flows, as its voltages say; open where the fault is that it is open."""
    contact = next(d for d in tow.devices() if isinstance(d, FlasherContact))
    predictor = Predictor(tow)
    setup = predictor.setup(tow.state({"ignition": "on"}))
    well = flow(predictor, setup, Change()).volts
    broken = flow(predictor, setup, Change(set_ohm=((contact.name, OPEN_OHM),))).volts

    assert well[contact.b] > 12 and broken[contact.b] < 1
    assert Look(volts=well).closed(contact)
    assert not Look(volts=broken).closed(contact)
    assert not Look().closed(contact)  # at rest


def test_the_key_says_in_which_phase_a_flasher_unit_is_drawn(tow: Harness) -> None:
    words = "flasher unit drawn as it lights"
    circuit = sub_circuit(tow, ["car right rear indicator"])
    still = View("x", elements=circuit)
    assert words in written(draw_on_canvas(tow, replace(still, state="ignition on"))[0])
    assert words not in written(draw_on_canvas(tow, still)[0])


def test_the_key_has_the_stud_that_does_not_conduct_and_wires_without_a_colour() -> None:
    glass = load_harness(MODELS / "glass_fibre.yaml")
    studs = [n for n, point in glass.earths.items() if point.body is None]
    key = " ".join(written(draw_on_canvas(glass, View("x", elements=sub_circuit(glass, studs[:1])))[0]))
    assert "stud in something that does not conduct" in key and "colour not given" not in key
    pickup = load_harness(MODELS / "pickup.yaml")
    bare = replace(pickup, wires=tuple(
        replace(w, segments=tuple(replace(s, colour="") for s in w.segments)) for w in pickup.wires))
    key = " ".join(written(draw_on_canvas(bare, View("x", elements=sub_circuit(bare, ["left rear tail"])))[0]))
    assert "colour not given" in key and "stud in something" not in key


def test_a_crossed_wire_says_whole_where_it_goes(tow: Harness) -> None:
    fault = next(f for f in list_faults(tow) if f.name == "wires changed over: trailer right indicator and tail")
    view = view_of_harness(tow, fault=fault)
    circuit = sub_circuit(tow, ["trailer right tail", "trailer right indicator"])
    found = written(draw_on_canvas(tow, replace(view, elements=circuit))[0])
    assert "crossed to trailer right.tail" in found and "crossed to trailer right.indicator" in found


# Back-feeds --------------------------------------------------------------------------------------


def heads(canvas: Canvas, wires: set[str]) -> list[tuple[str, float, float, float, float]]:
    """The hollow heads on wires: their wire, and the rectangle that each takes."""
    found = []
    for group, op in grouped(canvas):
        if group in wires and isinstance(op, Shape) and len(op.points) == 3:
            xs, ys = zip(*op.points, strict=True)
            found.append((group, min(xs), min(ys), max(xs), max(ys)))
    return found


@pytest.mark.parametrize("model", rest_long(["trailer_7pin", "tow_7pin"]))
def test_heads_of_back_feeds_lie_on_no_lettering_and_no_other_wire(model: str) -> None:
    harness = load_harness(MODELS / f"{model}.yaml")
    states = basic_states(harness)
    view = view_of_harness(harness, state=states[len(states) // 2])
    view = replace(view, back_feed=frozenset(n for n, amps in view.flow.items() if abs(amps) > 0.02))  # many of them
    canvas, _ = draw_on_canvas(harness, view)
    wires = wires_of(harness)
    found = heads(canvas, wires)
    assert len(found) > 20
    for name, left, top, right, bottom in found:
        for l2, t2, r2, b2, text in canvas.boxes():
            assert min(right, r2) - max(left, l2) < 0.5 or min(bottom, b2) - max(top, t2) < 0.5, (name, text)
        for p in pieces(canvas):
            if p.name in wires and p.name != name and not p.paper:
                box = (left, right, top, bottom) if not p.axis else (top, bottom, left, right)
                across = min(box[1], p.at + p.half) - max(box[0], p.at - p.half)
                assert across < 0.1 or min(box[3], p.high) - max(box[2], p.low) < 0.1, (name, p.name)


def test_a_head_moves_off_a_crossing_line_or_is_left_out() -> None:
    def middles(crossed: list[tuple[float, float]], length: float) -> list[float]:
        canvas = Canvas()
        arrows_along(canvas, [(0.0, 0.0), (length, 0.0)], True, crossed=crossed)
        assert not [op for op in canvas.ops if isinstance(op, Stroke)]
        return [(min(xs) + max(xs)) / 2 for op in canvas.ops if isinstance(op, Shape)
                for xs in [[x for x, _ in op.points]]]

    assert middles([], 92.0) == [23.0, 69.0]
    free, moved = middles([(70.0, 0.0)], 92.0)
    assert free == 23.0 and 12 <= abs(moved - 70.0) < 23
    assert middles([(70.0, 5.0)], 92.0) == [23.0, 69.0]  # it crosses another piece
    assert middles([(x, 0.0) for x in (6.0, 12.0, 18.0, 24.0)], 30.0) == []
