"""What lamps are for: stated, inferred from names, and held against what lights together.

Which lamps may light together is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.checking.rules import check
from tracer.errors import ProblemsError
from tracer.harness.file.text import dump_harness, load_harness, read_harness
from tracer.harness.lamp_purposes import PURPOSES, inferred, lamp_purposes, purposes_of

MODELS = sorted((Path(__file__).parents[2] / "harness_models").glob("*.yaml"))
RULES = {"lamps together", "left out of the hazard warning"}

# Invented: an early car whose rear lamps are stop lamps and indicators with one filament. The stalk takes
# the brake feed on one side and the flasher unit on the other.
COMBINED = """\
harness: Combined stop and indicator lamps (invented)
system: 12 V negative earth
usual: {size: 1.5 mm², length: 2 m}
controls:
  stalk: {positions: [off, left, right]}
  brake pedal: {positions: [released, pressed], sprung: yes}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 15 A}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [30-54]}}
  flasher unit: {kind: flasher unit}
  stalk:
    {kind: switch, control: stalk,
     contacts: {off: [54-L, 54-R], left: [49a-L, 49a-FL, 54-R], right: [49a-R, 49a-FR, 54-L]}}
  left rear: {kind: lamp, lamp: P21W, for: [stop, indicator left]}
  right rear: {kind: lamp, lamp: P21W, for: [stop, indicator right]}
  left front indicator: {kind: lamp, lamp: P21W}
  right front indicator: {kind: lamp, lamp: P21W}
splices: {S1: dash}
earths: {E1: battery, E2: boot}
wires:
  - {run: battery.- > E1, size: 10 mm²}
  - {run: battery.+ > F1.in, size: 4 mm²}
  - {run: F1.out > S1, size: 2.5 mm²}
  - S1 > brake switch.30
  - S1 > flasher unit.49
  - flasher unit.49a > stalk.49a
  - brake switch.54 > stalk.54
  - stalk.L > left rear.feed
  - stalk.R > right rear.feed
  - stalk.FL > left front indicator.feed
  - stalk.FR > right front indicator.feed
  - left rear.earth > E2
  - right rear.earth > E2
  - left front indicator.earth > E2
  - right front indicator.earth > E2
"""


def _told(text: str) -> list[str]:
    return [f.message for f in check(read_harness(text, "f")) if f.rule in RULES]


@pytest.mark.parametrize(("lamp", "purposes"), [
    ("left rear stop", {"stop"}),
    ("high stop lamp", {"stop"}),
    ("right rear tail", {"side"}),
    ("left front side", {"side"}),
    ("left side repeater", {"indicator left"}),
    ("right front indicator", {"indicator right"}),
    ("indicators", set()),  # nobody calls one lamp so
    ("trailer indicator", {"indicator left", "indicator right"}),
    ("indicator tell-tale", {"tell-tale"}),
    ("main beam tell-tale", {"tell-tale"}),
    ("left headlamp dip", {"dipped"}),
    ("left headlamp main", {"main"}),
    ("left headlamp", {"dipped", "main"}),
    ("left number-plate lamp", {"number plate"}),
    ("plate lamp", {"number plate"}),
    ("rear fog lamp", {"fog"}),
    ("left rear reversing", {"reversing"}),
    ("panel lamp 3", {"panel"}),
    ("plough lamp", {"work"}),
    ("interior lamp", set()),
    ("left semaphore", {"indicator left"}),
])
def test_names_tell_what_a_lamp_is_for(lamp: str, purposes: set[str]) -> None:
    assert inferred(lamp) == purposes
    assert purposes <= set(PURPOSES)


def test_a_stated_purpose_takes_the_place_of_the_name() -> None:
    text = COMBINED.replace("left front indicator: {kind: lamp, lamp: P21W}",
                            "left front indicator: {kind: lamp unit, lamps: {a: P21W, b: P21W}, for: {a: side}}")
    text = text.replace("left front indicator.feed", "left front indicator.a")
    text += "  - left front indicator.b > stalk.FL\n"
    part = read_harness(text).parts["left front indicator"]
    assert purposes_of(part) == {"left front indicator a": {"side"}, "left front indicator b": {"indicator left"}}


def test_purposes_read_back() -> None:
    harness = read_harness(COMBINED)
    assert read_harness(dump_harness(harness)) == harness
    assert lamp_purposes(harness)["left rear"] == {"stop", "indicator left"}


def test_combined_lamps_are_not_told() -> None:
    assert [str(f) for f in check(read_harness(COMBINED))] == []


def test_combined_lamps_that_are_not_declared_are_told_with_the_declaration() -> None:
    """By the stalk's name: what lights on the left is a left indicator; a bare “left rear” says nothing."""
    text = COMBINED.replace(", for: [stop, indicator left]", ", for: stop")
    found = [f for f in check(read_harness(text, "f")) if f.rule in RULES]
    assert [f.message for f in found] == [
        "left rear, a stop lamp, lights together with left front indicator, a left indicator (stalk left)"
    ]
    assert found[0].hint.endswith("if it is meant so, say so: “for: [stop, indicator left]”")
    assert (found[0].mark and found[0].mark.line) == 15
    assert _told(COMBINED.replace(", for: [stop, indicator left]", "")) == []


def test_parking_lamps_of_one_side_by_the_stalk_are_not_told() -> None:
    """With the ignition off some stalks light the side lamps of one side."""
    text = COMBINED.replace(", for: [stop, indicator left]", ", for: side").replace("49a-L, 49a-FL, 54-R", "49a-L")
    text = text.replace("off: [54-L, 54-R]", "off: [54-R]").replace(", 54-L]}}", "]}}")
    assert _told("".join(x for x in text.splitlines(keepends=True) if "left front" not in x)) == []


@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
def test_most_lamps_of_the_models_have_a_purpose(path: Path) -> None:
    """That no model gets a warning (tests/checking/test_harness_check.py) would prove nothing if they had none."""
    harness = load_harness(path)
    known = [lamp for lamp, said in lamp_purposes(harness).items() if said]
    assert len(known) >= 0.7 * len(harness.lamps())


@pytest.mark.parametrize(("key", "message"), [
    ("for: stopp", "f:15:44: left rear, for: no lamp is for “stopp” (did you mean “stop”?)"),
    ("for: [stop, blinker]", "f:15:51: left rear, for: no lamp is for “blinker” (known: stop, side, indicator left, "
     "indicator right, reversing, fog, dipped, main, number plate, tell-tale, work, panel)"),
    ("for: {left rear: stop}", "f:15:44: left rear, for: expected a list, found a table (write it like [one, two])"),
    ("for: []", "f:15:44: left rear, for: nothing is written here (choose stop, side, indicator left, "
     "indicator right, reversing, fog, dipped, main, number plate, tell-tale, work, panel)"),
])
def test_wrong_purposes_are_refused_with_their_place(key: str, message: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_harness(COMBINED.replace("for: [stop, indicator left]", key), "f")
    assert [str(p) for p in caught.value.problems] == [message]


@pytest.mark.parametrize(("key", "message"), [
    ("{a: stop, c: side}", "f:15:74: left rear, for: the unit has no lamp “c” (known: a, b)"),
    ("stop", "f:15:64: left rear, for: expected the names of lamps (write it like {stop: stop, tail: side})"),
    ("{a: halt}", "f:15:68: left rear, for, a: no lamp is for “halt” (known: stop, side, indicator left, "
     "indicator right, reversing, fog, dipped, main, number plate, tell-tale, work, panel)"),
])
def test_wrong_purposes_of_a_unit_are_refused_with_their_place(key: str, message: str) -> None:
    unit = f"{{kind: lamp unit, lamps: {{a: P21W, b: P21W}}, for: {key}}}"
    with pytest.raises(ProblemsError) as caught:
        read_harness(COMBINED.replace("{kind: lamp, lamp: P21W, for: [stop, indicator left]}", unit), "f")
    assert message in [str(p) for p in caught.value.problems]


def test_a_hazard_switch_of_another_name_and_a_light_for_every_day_are_not_told() -> None:
    """One position that lights both sides is a hazard switch whatever it is called; lamps that the ignition lights
    (dipped beam by day) are of one group."""
    text = (MODELS[0].parent / "pickup.yaml").read_text(encoding="utf-8")
    for old, new in [
        ("hazard switch: {positions: [off, on], also: [hazards, hazard warning]}", "four-way: [out, in]"),
        ("control: hazard switch, contacts: {off:", "control: four-way, contacts: {out:"),
        ("49], on: [30-49, 49a-L", "49], in: [30-49, 49a-L"),
    ]:
        assert old in text
        text = text.replace(old, new)
    text += "  - {run: S2 > S11, size: 2.5 mm², loom: dash}\n"
    assert _told(text) == []
