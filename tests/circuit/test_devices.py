"""Every kind of part, as a harness file writes it: what it is made of and how it behaves, worked by hand."""

from __future__ import annotations

import re

import jsonschema
import numpy as np
import pytest
import yaml

from tests.device_bench import BENCH
from tracer.checking.simulation import simulate
from tracer.circuit.change_table import tabulate
from tracer.circuit.device_laws import NO_LIGHT, PortLaws, filament_current
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import NO_CHANGE, Setup, build_circuit
from tracer.errors import TracerError
from tracer.harness.devices import Diode, FilamentLaw, LedLaw, RelayContact, Resistor, SwitchContact
from tracer.harness.file.schema import schema
from tracer.harness.file.text import dump_harness, read_harness
from tracer.harness.lamp_laws import lamp_laws
from tracer.harness.model import Harness
from tracer.harness.part_kinds import KINDS
from tracer.observation.forward_model import Predictor

HARNESS = read_harness(BENCH)


def settled_volts(harness: Harness, node: str, **positions: str) -> float:
    circuit = build_circuit(harness)
    setup = Setup(harness.state({k.replace("_", " "): p for k, p in positions.items()}))
    settled = Settler(circuit).solve(setup, tabulate(circuit, [NO_CHANGE]))
    assert settled.usable.all()
    return float(settled.solution.volts[0, circuit.node(node)])


def words(harness: Harness, **positions: str) -> dict[str, float]:
    """log10 of every lamp's light in a state, healthy."""
    p = Predictor(harness)
    panel = p.healthy(harness.state({k.replace("_", " "): x for k, x in positions.items()}))
    assert panel.usable.all()
    return {f.lamp: float(panel.flux[0, i]) for i, f in enumerate(p.lamps)}


def bench(old: str, new: str) -> Harness:
    assert BENCH.count(old) == 1
    return read_harness(BENCH.replace(old, new))


def test_the_bench_has_every_kind() -> None:
    assert {p.kind for p in HARNESS.parts.values()} == set(KINDS)


def test_the_bench_survives_a_round_trip_and_fits_the_schema() -> None:
    validator = jsonschema.Draft202012Validator(schema())
    validator.validate(yaml.load(BENCH, Loader=yaml.BaseLoader))
    validator.validate(yaml.safe_load(BENCH))
    again = read_harness(dump_harness(HARNESS))

    assert again == HARNESS
    assert dump_harness(again) == dump_harness(HARNESS)


# --- LED lamps ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("lamp", "system_v", "watts"), [
    ("LED 2 W", 12.0, (2.0,)), ("LED 3/0.5 W", 12.0, (3.0, 0.5)), ("led 1,5 W", 24.0, (1.5,)),
    ("LED 1 W", 6.0, (1.0,)),
])
def test_led_lamps_take_their_watts_at_system_voltage(lamp: str, system_v: float, watts: tuple[float, ...]) -> None:
    for law, w in zip(lamp_laws(lamp, system_v), watts, strict=True):
        assert isinstance(law, LedLaw)
        assert filament_current(law, system_v) * system_v == pytest.approx(w, rel=1e-3)


def test_an_led_substitute_works_where_the_regulation_wants_it_to() -> None:
    """An LED substitute for a W5W works from 9 to 16 V and takes at most 2 W at 12 V (GTB CE-5549, GRE-81-04)."""
    (law,) = lamp_laws("LED 2 W", 12.0)
    nine, sixteen = (float(PortLaws([law]).log_light(np.array([v]))[0]) for v in (9.0, 16.0))

    assert 10**nine > 0.3
    assert 10**sixteen < 2.0


def test_reversed_leds_leak_and_stay_dark() -> None:
    """−12 V across a leakage of 1 MΩ is −12 µA, and no light."""
    (law,) = lamp_laws("LED 2 W", 12.0)

    assert filament_current(law, -12.0) == pytest.approx(-12e-6, rel=1e-3)
    assert PortLaws([law]).log_light(np.array([-12.0]))[0] == NO_LIGHT


def test_leds_glow_on_microamperes_and_filaments_do_not() -> None:
    """100 kΩ of green water from 12.6 V: LEDs of 2 W see (12.6 − 6)/100 kΩ = 60 µA and glow; a 5 W filament
    of 2.6 Ω cold sees a third of a millivolt."""
    (led,), (filament,) = lamp_laws("LED 2 W", 12.0), lamp_laws("R5W", 12.0)
    assert isinstance(filament, FilamentLaw)
    v = 6.0  # by halving: the voltage at which the LEDs pass what 100 kΩ leaves
    low, high = 0.0, 12.6
    while high - low > 1e-9:
        v = (low + high) / 2
        low, high = (v, high) if filament_current(led, v) < (12.6 - v) / 1e5 else (low, v)
    assert 50e-6 < filament_current(led, v) < 75e-6
    glow = float(PortLaws([led]).log_light(np.array([v]))[0])
    dark = float(PortLaws([filament]).log_light(np.array([12.6 * filament.cold_ohm / 1e5]))[0])

    assert -2.3 < glow < -1.8  # a faint glow
    assert dark == NO_LIGHT


def test_led_light_follows_the_current() -> None:
    """Half the current is half the light; a filament at half its current is at V^(1/0.55) and all but dark."""
    (law,) = lamp_laws("LED 2 W", 12.0)
    assert isinstance(law, LedLaw)
    half = law.threshold_v + (12.0 - law.threshold_v) / 2

    assert 10 ** PortLaws([law]).log_light(np.array([half]))[0] == pytest.approx(0.5, rel=0.02)


def test_led_lamps_in_a_positive_earth_vehicle_look_the_other_way() -> None:
    turned = BENCH.replace("negative earth", "positive earth").replace("battery.- >", "battery.x >")
    turned = turned.replace("battery.+ >", "battery.- >").replace("battery.x >", "battery.+ >")
    light = words(read_harness(turned), lamp_switch="side", brake_pedal="pressed")

    assert light["left rear stop"] == pytest.approx(0.0, abs=0.1)
    assert light["left rear tail"] == pytest.approx(0.0, abs=0.1)


def test_healthy_bench_lights_what_it_should() -> None:
    light = words(HARNESS, lamp_switch="side", brake_pedal="pressed", stalk="right")
    lit = {lamp for lamp, x in light.items() if x > -0.3}

    assert lit == {
        "left rear stop", "left rear tail", "right rear stop", "right rear tail", "right rear indicator",
        "panel lamp 1", "panel lamp 2", "right beam", "trailer tail",
    }


# --- dimmer, buzzer, motor, temperature ---------------------------------------------------------


def test_dimmer_steps() -> None:
    """2.2 W (0.163 A at 13.5 V) behind 20 Ω: some 3 V stay in the dimmer; in “off” it is open."""
    volts = {p: settled_volts(HARNESS, "panel lamp 1.feed", lamp_switch="side", panel_dimmer=p)
             for p in ("bright", "middle", "low", "off")}

    assert volts["bright"] > volts["middle"] > volts["low"] > 8.0
    assert 2.5 < volts["bright"] - volts["low"] < 4.5
    assert volts["off"] < 0.005  # what the other lamps' current leaves on their common earth


def test_a_buzzer_has_a_polarity() -> None:
    (buzzer,) = HARNESS.parts["buzzer"].devices[:1]
    assert isinstance(buzzer, Diode)
    laws = PortLaws([buzzer])

    assert laws.current_and_slope(np.array([12.0]))[0][0] == pytest.approx(0.1, rel=1e-3)
    assert abs(laws.current_and_slope(np.array([-12.0]))[0][0]) < 2e-5


def test_a_motor_takes_its_watts() -> None:
    (motor,) = HARNESS.parts["blower"].devices
    assert isinstance(motor, Resistor)
    assert 12.0**2 / motor.ohm == pytest.approx(40.0)


def test_conductor_temperature() -> None:
    """1 mm² (19.5 mΩ/m at 20 °C, IEC 60228 class 5): 1 + 0.00393·(t − 20) at 40 and at 90 °C; 6 AWG is 13.30 mm²."""
    wires = {w.run: w for w in HARNESS.wires}
    usual, hot = wires["S1", "F2.in"], wires["rest relay.87a", "blower.feed"]

    assert usual.segments[0].ohm == pytest.approx(0.0195 * 1.0786, rel=1e-6)
    assert hot.segments[0].ohm == pytest.approx(0.0195 * 1.2751, rel=1e-6)
    assert wires["battery.+", "S1"].section_mm2 == pytest.approx(13.302, rel=1e-3)


# --- relays -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("numbering", "contacts", "pairs"), [
    ("ISO 7588", "make", {("30", "87", True)}),
    ("ISO 7588", "break", {("30", "87a", False)}),
    ("ISO 7588", "change-over", {("30", "87", True), ("30", "87a", False)}),
    ("DIN 72552", "make", {("88", "88a", True)}),
    ("DIN 72552", "break", {("87", "87a", False)}),
    ("DIN 72552", "change-over", {("87", "87b", True), ("87", "87a", False)}),
])
def test_relay_terminals(numbering: str, contacts: str, pairs: set[tuple[str, str, bool]]) -> None:
    """ISO 7588: 30 common, 87 make, 87a break. DIN 72552: 87 common of break and change-over, 88 of make."""
    text = BENCH.replace("contacts: make, quench: diode", f"contacts: {contacts}, numbering: {numbering}")
    text = text.replace("  - S1 > horn relay.30\n  - horn relay.87 > horn.feed\n", "")
    found = {
        (d.a.rsplit(".")[-1], d.b.rsplit(".")[-1], d.makes)
        for d in read_harness(text).parts["horn relay"].devices if isinstance(d, RelayContact)
    }

    assert found == pairs


def test_relays_move() -> None:
    rest = words(HARNESS)
    flash = words(HARNESS, stalk="flash")

    assert rest["right beam"] > -0.3 > rest["left beam"]
    assert flash["left beam"] > -0.3 > flash["right beam"]
    assert settled_volts(HARNESS, "horn.feed", stalk="flash") > 11
    assert settled_volts(HARNESS, "blower.feed") > 11  # a break contact, at rest
    assert settled_volts(HARNESS, "blower.feed", lamp_switch="side") < 0.1


def test_a_quench_diode_the_wrong_way_round_is_a_short() -> None:
    """Coil fed at 85 and earthed at 86: its diode carries the current, and the fuse blows."""
    turned = bench("stalk.H > horn relay.86\n  - horn relay.85 > E3",
                   "stalk.H > horn relay.85\n  - horn relay.86 > E3")
    p = Predictor(turned)

    assert p.healthy(turned.state({"stalk": "flash"})).blown[0, p.fuses.index("F1")]
    assert not p.healthy(turned.state({})).blown.any()
    assert not Predictor(HARNESS).healthy(HARNESS.state({"stalk": "flash"})).blown.any()


def test_a_resistor_for_a_quench_diode_may_be_fed_either_way() -> None:
    turned = bench("S3 > rest relay.86\n  - rest relay.85 > E3", "S3 > rest relay.85\n  - rest relay.86 > E3")

    assert not Predictor(turned).healthy(turned.state({"lamp switch": "side"})).blown.any()
    assert settled_volts(turned, "blower.feed", lamp_switch="side") < 0.1


# --- flasher units ------------------------------------------------------------------------------


def test_the_tell_tale_terminal_follows_the_lamps() -> None:
    """C wants 0.8 of 21 W / 12 V, 1.4 A: a P21W takes 1.8 A, LEDs of 2.5 W 0.2 A."""
    left, right, off = (words(HARNESS, stalk=p)["indicator tell-tale"] for p in ("left", "right", "off"))

    assert left == pytest.approx(0.0, abs=0.1)
    assert right == off == NO_LIGHT


def test_an_electronic_flasher_without_earth_closes_nothing() -> None:
    lost = bench("  - flasher unit.31 > E3\n", "")

    assert words(HARNESS, stalk="left")["left rear indicator"] > -0.3
    assert words(lost, stalk="left")["left rear indicator"] < -3


# --- controls -----------------------------------------------------------------------------------


def test_sprung_positions() -> None:
    stalk, pedal = HARNESS.controls["stalk"], HARNESS.controls["brake pedal"]

    assert [p for p in stalk.positions if stalk.needs_holding(p)] == ["flash"]
    assert [p for p in pedal.positions if pedal.needs_holding(p)] == ["pressed"]
    assert not HARNESS.controls["ignition"].needs_holding("on")


@pytest.mark.parametrize(("kind", "lit"), [("yes", True), ("no", False)])
def test_make_before_break(kind: str, lit: bool) -> None:
    """Between left and right the switch that makes before it breaks feeds both sides, the other neither."""
    harness = bench("make before break: yes", f"make before break: {kind}")
    light = words(harness, stalk="left/right")

    assert (light["left rear indicator"] > -0.3) is lit
    assert (light["right rear indicator"] > -0.3) is lit
    with pytest.raises(TracerError, match="no position “left/up”"):
        harness.state({"stalk": "left/up"})


def test_a_contact_closed_on_both_sides_stays_closed_between() -> None:
    contact = SwitchContact("c", "a", "b", "lamp switch", frozenset({"side", "head"}))

    assert [contact.closed_at(p) for p in ("off", "off/side", "side/head", "head", None)] == [
        False, False, True, True, False,
    ]


# --- bodies -------------------------------------------------------------------------------------


def test_bodies_are_joined_by_a_strap_and_glass_fibre_joins_nothing() -> None:
    """The right rear lamps sit on the chassis, which only the strap E3–E5 joins to the body."""
    loose = bench("  - {run: E3 > E5, size: 10 mm², length: 0.3 m}\n", "")

    assert words(HARNESS, brake_pedal="pressed")["right rear stop"] == pytest.approx(0.0, abs=0.15)
    assert words(loose, brake_pedal="pressed")["right rear stop"] < -4
    cut = bench("  - E6 > E4\n", "")
    assert words(cut, brake_pedal="pressed")["left rear stop"] < -2


# --- what is refused ----------------------------------------------------------------------------


@pytest.mark.parametrize(("old", "new", "message"), [
    ("lamp: LED 0.4 W", "lamp: LED 900 W", "a lamp of “LED 900 W” is out of range"),
    ("lamp: LED 0.4 W", "lamp: LED", "“LED” is no lamp"),
    ("LED 3/0.5 W", "LED 3 W", "LED 3 W has one filament, 2 lamp names are given"),
    ("low: 20 ohm", "low: 20", "dimmer, steps, low: “20” has no unit"),
    ("low: 20 ohm", "low: -20 ohm", "dimmer, steps, low: “-20 ohm” is out of range"),
    ("low: 20 ohm", "dark: 20 ohm", "dimmer, steps: panel dimmer has no position “dark”"),
    ("tell-tale: C,", "tell-tale: 49a,", "flasher unit, tell-tale: “49a” is a terminal already"),
    ("quench: diode", "quench: coil", "horn relay, quench: “coil” is no choice"),
    ("contacts: break", "contacts: brake", "rest relay, contacts: “brake” is no choice"),
    ("make before break: yes", "make before break: perhaps", "“perhaps” is neither yes nor no"),
    ("sprung: [flash]", "sprung: [off]", "control stalk, sprung: “off” cannot spring back"),
    ("sprung: [flash]", "sprung: [flush]", "control stalk, sprung: “flush” cannot spring back"),
    ("temperature: 90 °C", "temperature: 900 °C", "temperature: “900 °C” is out of range"),
    ("temperature: 90 °C", "temperature: 90", "temperature: “90” has no unit"),
    ("current: 0.1 A", "current: 0 A", "buzzer, current: “0 A” is out of range"),
])
def test_slips_are_told(old: str, new: str, message: str) -> None:
    with pytest.raises(TracerError, match=re.escape(message)) as caught:
        bench(old, new)
    assert "harness:" in str(caught.value)  # file, line and column


def test_the_bench_is_called_invented() -> None:
    assert "invented" in HARNESS.title.lower()


def test_the_netlist_of_a_simulation_is_the_settled_case() -> None:
    """A relay that pulls in is closed in the text, a blown fuse open."""
    flash = simulate(HARNESS, {"stalk": "flash"})
    turned = bench("stalk.H > horn relay.86\n  - horn relay.85 > E3",
                   "stalk.H > horn relay.85\n  - horn relay.86 > E3")
    blown = simulate(turned, {"stalk": "flash"})

    assert {"horn relay", "head relay"} <= {*flash.relays_pulled_in} and "rest relay" not in flash.relays_pulled_in
    assert "* open: head relay 87-87a" in flash.netlist
    assert "* open: head relay 87-87b" not in flash.netlist
    assert blown.fuses_blow == {"F1": "at once"}
    assert "* open: F1 link" in blown.netlist
