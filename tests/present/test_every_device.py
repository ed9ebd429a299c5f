"""Every device is drawn, alone and beside others; what is not drawn is said to be missing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

import pytest
from msgspec.structs import replace

from tests.device_bench import BENCH
from tests.long import in_turn
from tests.present.groups import grouped
from tests.present.test_drawing import overlaps
from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FilamentLaw,
    FlasherContact,
    FuseLink,
    Joint,
    LedLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
    ends,
)
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.present.drawing import draw as drawing
from tracer.present.drawing import layout
from tracer.present.drawing.canvas import Canvas, Lettering, Shape
from tracer.present.drawing.draw import draw_on_canvas
from tracer.present.drawing.list_box import ListBox
from tracer.present.drawing.scope import sub_circuit
from tracer.present.drawing.symbols import SYMBOLS, UNKNOWN, symbol_of
from tracer.present.drawing.view import Mark, View

MODELS = Path(__file__).parents[2] / "harness_models"
LAW = FilamentLaw(0.42, 12.0, watts=5.0)
TURN_SIGNAL = """
harness: Invented semaphore arm
system: 12 V negative earth
colours: IEC 60757
controls: {stalk: [off, up]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 5 A}
  stalk: {kind: switch, control: stalk, contacts: {up: [in-out]}}
  arm: {kind: lamp unit, lamps: {coil: R5W, lamp: R5W}}
splices: {S1: feed}
earths: {E1: pillar, E2: battery strap}
wires:
  - {run: battery.- > E2, colour: BK, size: 16 mm²}
  - {run: battery.+ > F1.in, colour: RD, size: 2.5 mm²}
  - {run: F1.out > stalk.in, colour: RD, size: 1 mm²}
  - {run: stalk.out > S1, colour: GN, size: 1 mm²}
  - {run: S1 > arm.coil, colour: GN, size: 0.75 mm²}
  - {run: S1 > arm.lamp, colour: GNWH, size: 0.75 mm²}
  - {run: arm.earth > E1, colour: BN, size: 1 mm²}
"""


def arm(*devices: Any) -> Harness:
    """The invented vehicle with these devices inside its arm."""
    harness = read_harness(TURN_SIGNAL, "arm.yaml")
    part = replace(harness.parts["arm"], kind="semaphore", devices=devices)
    return replace(harness, parts={**harness.parts, "arm": part})


def coil(a: str = "arm.coil", b: str = "arm.earth") -> Resistor:
    return Resistor("arm coil", a, b, 4.0, "coil")


def lamp(a: str = "arm.lamp", b: str = "arm.earth", law: FilamentLaw | LedLaw = LAW) -> Filament:
    return Filament("arm lamp filament", a, b, "arm lamp", "arm lamp", law)


def holder(one: str, other: str, name: str = "arm lamp holder contact") -> Joint:
    return Joint(name, one, other, "holder", 0.005)


@dataclass(frozen=True)
class ThermalTimer:
    """A device of a class that the drawing has never heard of."""

    name: str
    a: str
    b: str


def written(canvas: Canvas) -> list[str]:
    return [op.text for op in canvas.ops if isinstance(op, Lettering)]


def strokes_of(canvas: Canvas, name: str) -> int:
    """How many strokes lie in a device's own group, those of groups inside it not counted."""
    return sum(group == name for group, _ in grouped(canvas))


def picture(harness: Harness, **view: Any) -> Canvas:
    canvas, _ = draw_on_canvas(harness, View("all", **view))
    assert not overlaps(canvas)
    return canvas


ARMS: dict[str, tuple[Any, ...]] = {
    "coil and lamp side by side": (coil(), lamp()),
    "coil and lamp in a holder": (
        coil(), holder("arm.lamp", "arm/live"), lamp("arm/live", "arm/shell"),
        Joint("arm lamp holder earth", "arm/shell", "arm.earth", "holder earth"),
    ),
    "coil and lamp on the same terminals": (coil("arm.lamp"), lamp()),
    "lamp before the coil in the file": (lamp(), coil("arm.lamp")),
    "coil in series with a lamp": (coil("arm.coil", "arm/between"), lamp("arm/between", "arm.earth")),
    "coil, LED lamp and quench diode": (
        coil(), lamp(law=LedLaw(8.0, 60.0, 0.3, watts=0.5)),
        Diode("arm quench diode", "arm.earth", "arm.coil", role="quench"),
    ),
    "coil and twin filaments in one shell": (
        coil(), holder("arm.lamp", "arm/live"), lamp("arm/live", "arm/shell"),
        Filament("arm mark filament", "arm.coil", "arm/shell", "arm mark", "arm lamp", LAW),
        Joint("arm lamp holder earth", "arm/shell", "arm.earth", "holder earth"),
    ),
    "three resistors that meet inside": tuple(
        Resistor(f"arm track {t}", f"arm.{t}", "arm/star", 10.0) for t in ("coil", "lamp", "earth")
    ),
}


@pytest.mark.parametrize("name", ARMS)
def test_a_coil_beside_a_lamp_is_drawn(name: str) -> None:
    harness = arm(*ARMS[name])
    canvas = picture(harness)
    for device in ARMS[name]:
        told_beside = isinstance(device, (Joint, Diode))
        assert device.name in canvas.named()
        assert told_beside or strokes_of(canvas, device.name) >= 1, device.name
    found = written(canvas)
    assert "Not drawn here" not in found and "?" not in found
    if any(isinstance(d, Resistor) and d.role == "coil" for d in ARMS[name]):
        assert {"coil", "coil + diode"} & set(found)
    if any(isinstance(d, Filament) for d in ARMS[name]):
        assert any(re.fullmatch(r"(LED )?(5|0\.5) W", t) for t in found)


@pytest.mark.parametrize("name", [n for n, own in ARMS.items() if {"arm coil", "arm lamp filament"} <= {
    d.name for d in own}])
def test_a_coil_beside_a_lamp_is_drawn_where_the_lamp_is(name: str) -> None:
    """In the circuit of the lamp alone, and where somebody picked its filament: with what feeds it."""
    harness = arm(*ARMS[name])
    for elements in (sub_circuit(harness, ["arm lamp"]), frozenset(["arm lamp filament"])):
        canvas, _ = draw_on_canvas(harness, View("a lamp", elements=elements))
        assert {"arm coil", "arm lamp filament"} <= canvas.named()
        assert {"coil", "coil + diode"} & set(written(canvas))
    used = {n for d in harness.parts["arm"].devices for n in ends(d)}
    feeds = {s.name for wire in harness.wires for s in wire.segments if {s.a, s.b} & used}
    assert feeds <= sub_circuit(harness, ["arm lamp"])


def test_a_lamp_beside_a_coil_says_what_it_does_and_can_be_a_suspect() -> None:
    harness = arm(*ARMS["coil and lamp in a holder"])
    canvas = picture(harness, lamps={"arm lamp": "faint"}, suspects=(
        Mark(1, ("arm lamp",), "lamp"), Mark(2, ("arm coil",), "coil"), Mark(3, ("arm lamp holder earth",), "earth"),
    ))
    found = written(canvas)
    assert "faint" in found
    assert [found.count(n) for n in ("1", "2", "3")] == [2, 2, 2]  # at the device and in the list


def test_signs_side_by_side_and_in_series_do_not_lie_on_each_other() -> None:
    """The middle of each sign, from its own strokes: apart sideways or apart in height."""
    for name, along in (("coil and lamp on the same terminals", 0), ("coil in series with a lamp", 1)):
        canvas = picture(arm(*ARMS[name]))
        boxes = []
        for device in ("arm coil", "arm lamp filament"):
            points = [p for op in inside(canvas, device) for p in getattr(op, "points", ())]
            boxes.append([(min(v), max(v)) for v in zip(*points, strict=True)][along])
        (_, upper), (lower, _) = sorted(boxes)
        assert upper <= lower + 0.01, name


def inside(canvas: Canvas, name: str) -> list[Any]:
    """What is drawn in a device's group; an ellipse by its outline."""
    out: list[Any] = []
    for group, op in grouped(canvas):
        if group == name and not isinstance(op, Lettering):
            if isinstance(op, Shape) and op.ellipse:
                (x, y), (rx, ry) = op.points
                op = replace(op, points=((x - rx, y - ry), (x + rx, y + ry)))
            out.append(op)
    return out


SAMPLES: dict[type[Any], Any] = {
    Joint: Joint("arm one", "arm.coil", "arm.earth", "holder"),
    Conductor: Conductor("arm one", "arm.coil", "arm.earth", 0.01, "GN", 1.0),
    SwitchContact: SwitchContact("arm one", "arm.coil", "arm.earth", "stalk", frozenset(["up"])),
    Filament: lamp("arm.coil"),
    Diode: Diode("arm one", "arm.coil", "arm.earth"),
    Resistor: Resistor("arm one", "arm.coil", "arm.earth", 5.0),
    Dimmer: Dimmer("arm one", "arm.coil", "arm.earth", "stalk", (("off", 5.0),)),
    FuseLink: FuseLink("arm one", "arm.coil", "arm.earth", 5.0),
    Source: Source("arm one", "arm.coil", "arm.earth", 6.0),
    FlasherContact: FlasherContact("arm one", "arm.coil", "arm.earth"),
    RelayContact: RelayContact("arm one", "arm.coil", "arm.earth", "arm coil", True),
}


def test_every_class_of_device_has_a_row_and_a_sample() -> None:
    """A class added to `Device` is named here until it has its row in `SYMBOLS` and its sample above."""
    assert set(get_args(Device)) == set(SYMBOLS) == set(SAMPLES)


@pytest.mark.parametrize("kind", [*SAMPLES, ThermalTimer], ids=lambda k: str(k.__name__))
@pytest.mark.parametrize("beside", [False, True], ids=["alone", "beside a lamp"])
def test_every_class_of_device_is_drawn(kind: type[Any], beside: bool) -> None:
    device = SAMPLES.get(kind) or ThermalTimer("arm one", "arm.coil", "arm.earth")
    other = Filament("arm other filament", "arm.lamp", "arm.earth", "arm other", "arm other", LAW)
    canvas = picture(arm(device, *((other,) if beside else ())))
    assert inside(canvas, device.name), device.name
    assert not beside or inside(canvas, other.name)
    assert "Not drawn here" not in written(canvas)


def test_a_device_without_a_row_is_a_box_with_its_name() -> None:
    harness = arm(coil(), ThermalTimer("arm timer", "arm.lamp", "arm.earth"))
    device: Any = harness.parts["arm"].devices[1]
    assert symbol_of(device, harness.parts["arm"]) is UNKNOWN
    assert {"?", "thermal timer", "timer"} <= set(written(picture(harness)))


def test_what_is_left_out_is_said_on_the_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    """A box that forgets one of its devices: the sheet names it."""
    class Forgetful(ListBox):
        def draw(self, canvas: Canvas, x: float, y: float) -> None:
            self.rows = self.rows[1:]
            super().draw(canvas, x, y)

    monkeypatch.setattr("tracer.present.drawing.parts.ListBox", Forgetful)
    found = written(drawing.draw_on_canvas(arm(*ARMS["three resistors that meet inside"]), View("x"))[0])
    at = found.index("Not drawn here")
    assert found[at + 1].startswith("arm track coil")


@pytest.mark.parametrize("model", ["bench", *in_turn([p.name for p in sorted(MODELS.glob("*.yaml"))], 0)])
def test_every_device_of_every_model_is_drawn(model: str) -> None:
    harness = read_harness(BENCH, "bench.yaml") if model == "bench" else load_harness(MODELS / model)
    canvas = picture(harness)
    assert {d.name for d in harness.devices()} <= canvas.named()
    assert "Not drawn here" not in written(canvas)


def test_a_very_large_picture_has_every_device_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is laid out in fewer attempts leaves nothing out."""
    harness = load_harness(MODELS / "pickup.yaml")
    usual = draw_on_canvas(harness, View(title="all"))[0].named()
    for module in (drawing, layout):
        monkeypatch.setattr(module, "VERY_LARGE", 10)
    canvas = draw_on_canvas(harness, View(title="all"))[0]
    assert canvas.named() == usual
    assert not overlaps(canvas)
