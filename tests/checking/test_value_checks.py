"""Values that cannot be right, each told with its line before anything is solved, or beside what they do."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.device_bench import BENCH
from tracer.checking import values
from tracer.checking.rules import RULES, check
from tracer.checking.scene import Scene
from tracer.errors import ProblemsError
from tracer.harness.file.text import load_harness, read_harness

RING = """\
harness: Invented rig of two relays
system: 12 V negative earth
controls: {button: [off, on]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  button: {kind: switch, control: button, contacts: {on: [in-out]}}
  one: {kind: relay}
  two: {kind: relay}
  lamp: {kind: lamp, lamp: P21W}
splices: {S1: live, S2: one feeds, S3: two feeds}
earths: {E1: here}
wires:
  - battery.- > E1
  - battery.+ > F1.in
  - F1.out > S1
  - S1 > button.in
  - S1 > one.30
  - S1 > two.30
  - one.87 > S2
  - S2 > two.86
  - two.85 > E1
  - two.87 > S3
  - S3 > one.86
  - one.85 > E1
  - S2 > lamp.feed
  - lamp.earth > E1
"""


FINDS = {
    "battery voltage": values.battery_voltage, "relay voltages": values.relay_voltages,
    "resistor overloaded": values.resistor_overloaded, "flasher rate": values.flasher_rate,
    "relays feed each other": values.relays_in_a_ring,
}


def found(text: str, rule: str) -> list[tuple[str, str, int]]:
    """(severity, message, line) of every finding of one rule."""
    scene = Scene(read_harness(text, "h.yaml"))
    findings = FINDS[rule](scene)
    return [(f.severity, f.message, f.mark.line if f.mark else 0) for f in findings if f.rule == rule]


def test_every_rule_is_asked_here() -> None:
    assert set(FINDS.values()) == set(values.RULES) <= set(RULES)


def line_of(text: str, at: str) -> int:
    return text[: text.index(at)].count("\n") + 1


def changed(old: str, new: str) -> str:
    assert BENCH.count(old) == 1
    return BENCH.replace(old, new)


@pytest.mark.parametrize(("old", "new", "rule", "severity", "message"), [
    ("battery: {kind: battery}", "battery: {kind: battery, voltage: 24 V}", "battery voltage", "error",
     "battery has 24 V in a 12 V system"),
    ("battery: {kind: battery}", "battery: {kind: battery, voltage: 6 V}", "battery voltage", "error",
     "battery has 6 V in a 12 V system"),
    ("horn relay: {kind: relay,", "horn relay: {kind: relay, pick-up: 5 V, drop-out: 6 V,", "relay voltages", "error",
     "horn relay lets go at 6 V and pulls in at 5 V"),
    ("horn relay: {kind: relay,", "horn relay: {kind: relay, pick-up: 16 V,", "relay voltages", "error",
     "horn relay pulls in at 16 V, more than the vehicle has"),
    # With the ignition on and the side lights lit the battery gives 1.877 A, the heater's share of it 0.4142 A:
    # 0.4142² × 30 = 5.15 W, a hair less than 5.15. (Without the lamp behind the control unit, 0.356 A less through
    # the battery's 0.02 Ω and its two cables, it has 9 mV more, and 5.155 W.)
    ("resistance: 30 ohm, power: 10 W", "resistance: 30 ohm, power: 2 W", "resistor overloaded", "warning",
     "heater turns 5.1 W into heat and bears 2 W"),
    ("indicator: LED 2.5 W", "indicator: P21W", "flasher rate", "", ""),
])
def test_absurd_values_are_told(old: str, new: str, rule: str, severity: str, message: str) -> None:
    text = changed(old, new)
    told = found(text, rule)
    if not message:
        assert not told
        return
    assert [(s, m.split(" (")[0]) for s, m, _ in told] == [(severity, message)]
    assert told[0][2] == line_of(text, new)


def test_leds_behind_a_unit_for_lamps_are_told() -> None:
    """The bench's right indicator: 2.5 W for 21 W. The electronic unit takes it for a lamp out."""
    told = found(BENCH, "flasher rate")

    assert [t[0] for t in told] == ["warning"]
    assert "flasher unit flashes 170 times a minute on the healthy vehicle: 12 % of its load" in told[0][1]


@pytest.mark.parametrize(("more", "severity", "what"), [
    ("", "warning", "none of them ever pulls in"),
    ("  - button.out > one.86\n", "note", "once pulled in they hold each other"),
])
def test_relays_in_a_ring(more: str, severity: str, what: str) -> None:
    told = found(RING + more, "relays feed each other")

    assert [(s, m) for s, m, _ in told] == [(severity, f"one and two feed each other's coils: {what}")]
    assert told[0][2] == line_of(RING, "  one: {kind")


def test_a_ring_with_a_break_contact_may_buzz() -> None:
    text = RING.replace("two: {kind: relay}", "two: {kind: relay, contacts: break}").replace("two.87 >", "two.87a >")

    assert [m for _, m, _ in found(text, "relays feed each other")] == [
        "one and two feed each other's coils: one of them may buzz"
    ]


@pytest.mark.parametrize(("old", "new", "message"), [
    ("usual: {size: 1 mm²", "usual: {size: 0 mm²", "“0 mm²” is out of range"),
    ("usual: {size: 1 mm²", "usual: {size: -1 mm²", "“-1 mm²” is out of range"),
    ("lamp: H1", 'lamp: "2,100 W"', "“2,100 W” could mean thousands or a decimal comma"),
    ("lamp: H1", "lamp: 2100 W", "a lamp of “2100 W” is out of range"),
    ("lamp: H1", "lamp: -5 W", "a lamp of “-5 W” is out of range"),
    ("12 V negative", "120 V negative", "system: “120 V negative earth” is not understood"),
    ("rating: 5 A", "rating: 5", "F2, rating: “5” has no unit"),
    ("rating: 5 A", "rating: -5 A", "F2, rating: “-5 A” is out of range"),
    ("rating: 5 A", 'rating: "1,000 mA"', "could mean thousands or a decimal comma"),
    ("resistance: 30 ohm", "resistance: -30 ohm", "heater, resistance: “-30 ohm” is out of range"),
    ("power: 48 W", "power: 4800 W", "horn, power: “4800 W” is out of range"),
    ("length: 0.3 m", "length: 0 m", "“0 m” is out of range"),
    ("battery: {kind: battery}", "battery: {kind: battery, voltage: 120 V}", "“120 V” is out of range"),
    ("low: 20 ohm", "low: 20 kW", "“kW” is not a unit of resistance"),
])
def test_the_reader_refuses_with_line_and_column(old: str, new: str, message: str) -> None:
    text = changed(old, new)
    with pytest.raises(ProblemsError) as caught:
        read_harness(text, "h.yaml")

    assert any(message in str(p) for p in caught.value.problems), str(caught.value)
    assert all(p.line and p.column for p in caught.value.problems)


def test_a_change_over_contact_fed_at_its_resting_side_feeds_no_coil() -> None:
    """Stop lamps that flash as well: the brake switch feeds the break contacts of two relays, the flasher unit their
    make contacts, the indicator switch their coils. None of the contacts can feed a coil, by the drawing: what is
    behind them is the stop lamp."""
    two_seater = load_harness(Path(__file__).parents[1] / "real_cases" / "R01.yaml")

    assert [f.rule for f in check(two_seater) if "relay" in f.rule] == []
