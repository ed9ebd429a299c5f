"""Instruments as a part of the circuit: what each shows at one joint, worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracer.circuit.device_laws import filament_current
from tracer.circuit.model import OHMMETER_LEADS_OHM, OPEN_OHM, AddedBranch, Change
from tracer.errors import ReadingError, TracerError
from tracer.faults import list_faults
from tracer.harness.file.text import read_harness
from tracer.inference.explanation import say_value
from tracer.inference.likelihood import look_loglik
from tracer.inference.reading_likelihood import value_loglik
from tracer.inference.word_model import likely_word
from tracer.observation.evidence import Reading, Test, Value
from tracer.observation.forward_model import Predictor
from tracer.observation.instruments import LED_TESTER
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import (
    parse_value,
    test_as_data,
    test_from_data,
    test_key,
    value_as_data,
    value_from_data,
)
from tracer.planning.costs import Standing, minutes_of
from tracer.present.job_words import test_steps as steps_of
from tracer.present.job_words import test_words as words_of
from tracer.safety.advice import cautions_of, of_test
from tracer.safety.facts import UNKNOWN

RIG = """\
harness: Invented rig of one lamp
system: 12 V negative earth
controls: {switch: [off, on]}
parts:
  battery: {kind: battery, voltage: 12.6 V}
  F1: {kind: fuse, rating: 8 A}
  switch: {kind: switch, control: switch, contacts: {on: [30-54]}}
  lamp: {kind: lamp, lamp: P21W}
  side lamp: {kind: lamp, lamp: R5W}
splices: {S1: here}
connectors: {C1: {ways: 2}}
earths: {E1: battery, E2: lamp}
wires:
  - {run: battery.- > E1, size: 16 mm²}
  - battery.+ > F1.in
  - F1.out > switch.30
  - switch.54 > S1
  - S1 > C1.1 > lamp.feed
  - S1 > side lamp.feed
  - lamp.earth > C1.2 > E2
  - side lamp.earth > E2
"""
HARNESS = read_harness(RIG)
PREDICTOR = Predictor(HARNESS)
HEALTHY = Change()


def bad(name: str, ohm: float) -> Change:
    return Change(set_ohm=((name, ohm),))


def shown(text: str, change: Change = HEALTHY) -> float:
    return float(PREDICTOR.observed(parse_test(text, HARNESS), [change])[0])


def word(text: str, change: Change = HEALTHY) -> str:
    return say_value(parse_test(text, HARNESS).kind, shown(text, change))


# --- which instrument is right depends on its load ------------------------------------------------


def test_one_bad_contact_and_four_instruments() -> None:
    """A switch contact of 470 Ω with both lamps out. A meter of 10 MΩ reads 12.6 V · 10 M/(10 M + 470), all of it.
    An LED tester of 680 Ω takes (12.6 − 1.8)/(470 + 680) = 9.4 mA of its 15: lit. A 5 W test lamp of 2.8 Ω cold gets
    27 mA of its 350: dark."""
    contact = bad("switch 30-54", 470.0)
    done = "when switch on with lamp lamp out, side lamp out"

    assert shown(f"volts at switch.54 {done}", contact) == pytest.approx(12.6, abs=0.01)
    assert word(f"LED tester at switch.54 {done}", contact) in ("normal", "dim")
    assert word(f"test lamp at switch.54 {done}", contact) == "dark"
    assert shown(f"amps switch.54 to S1 {done}", contact) == pytest.approx(0.0, abs=1e-6)


def test_the_led_tester_takes_a_few_milliamperes() -> None:
    """(12 − 1.8)/680 Ω = 15 mA, within the 5 to 20 mA of such testers (common practice, no source)."""
    assert filament_current(LED_TESTER, 12.0) == pytest.approx(0.015, rel=1e-3)


def test_the_led_tester_has_a_polarity_and_is_held_by_it() -> None:
    positive = RIG.replace("negative earth", "positive earth").replace("battery.- >", "battery.x >")
    positive = positive.replace("battery.+ >", "battery.- >").replace("battery.x >", "battery.+ >")
    for harness in (HARNESS, read_harness(positive)):
        p = Predictor(harness)
        seen = p.observed(parse_test("LED tester at lamp.feed when switch on", harness), [HEALTHY])
        assert likely_word(float(seen[0])) == "normal"


# --- clamp ammeter --------------------------------------------------------------------------------


def test_the_clamp_reads_the_wire_it_is_round() -> None:
    """P21W at 12.4 V: 25/13.5 · (12.4/13.5)^0.55 = 1.77 A; R5W 0.35 A; their common feed the sum."""
    wires = ("C1.1' to lamp.feed", "side lamp.feed", "S1 to switch.54")
    lamp, other, both = (shown(f"amps {w} when switch on") for w in wires)

    assert lamp == pytest.approx(1.77, rel=0.01)
    assert other == pytest.approx(0.354, rel=0.01)
    assert both == pytest.approx(lamp + other, rel=1e-3)
    assert shown("amps lamp.feed when switch off") == pytest.approx(0.0, abs=1e-6)


def test_the_clamp_knows_an_open_wire_from_a_bad_one() -> None:
    wire = next(s for w in HARNESS.wires for s in w.segments if s.b == "lamp.feed")
    amps = [shown("amps lamp.feed when switch on", bad(wire.name, ohm)) for ohm in (wire.ohm, 5.0, OPEN_OHM)]

    assert amps[0] > amps[1] > 0.8
    assert amps[2] == 0.0


def test_the_clamp_goes_with_a_wire_on_the_wrong_terminal() -> None:
    """The feeds of the two bulbs of a lamp unit changed over at the unit: the wire that should feed 21 W carries the
    current of 5 W (0.35 A), and the other way round."""
    unit = "  unit: {kind: lamp unit, lamps: {main: P21W, park: R5W}}\n"
    text = RIG.replace("  lamp: {kind: lamp, lamp: P21W}\n", unit)
    text = text.replace("lamp.feed\n  - S1", "unit.main\n  - {run: S1 > unit.park, length: 2 m}\n  - S1", 1)
    text = text.replace("- lamp.earth", "- unit.earth")
    harness = read_harness(text)
    p = Predictor(harness)
    fault = next(f for f in list_faults(harness) if f.kind == "wires changed over" and "unit" in f.name)
    main, park = (
        p.observed(parse_test(f"amps {w} when switch on", harness), [HEALTHY, fault.variants[0].change])
        for w in ("unit.main", "unit.park")
    )

    assert main == pytest.approx([1.77, 0.354], rel=0.01)
    assert park == pytest.approx([0.354, 1.77], rel=0.02)  # 2 m of wire more


def test_a_clamp_reading_weighs_the_hypotheses() -> None:
    """1.75 A ± its last digit speaks for the healthy lamp against none and against half the current."""
    reading = Reading(parse_test("amps lamp.feed when switch on", HARNESS), parse_value("1.75 A", "current"))
    predicted = np.array([shown("amps lamp.feed when switch on"), 0.0, 0.9])
    here = np.arange(3)
    p = value_loglik(predicted, reading.value, reading, 12.6, False, here, here)

    assert p[0] > max(p[1], p[2]) + 2


def test_clamp_readings_typed() -> None:
    assert parse_value("-1.8 A", "current") == Value(1.8, 1.8, 0.1, text="-1.8 A")  # whichever way it was held
    assert parse_value("300 mA", "current").low == pytest.approx(0.3)
    assert parse_value("under 0.1 A", "current").high == pytest.approx(0.1)
    for text, message in (("11.9 V", "is in volts; this test shows amperes"), ("open", "is for an ohmmeter"),
                          ("900 A", "more than a fuse lets pass"), ("lit", "not understood")):
        with pytest.raises(ReadingError, match=message):
            parse_value(text, "current")


@pytest.mark.parametrize(("text", "message"), [
    ("amps at S1 when switch on", "several wires end at S1"),
    ("amps S1 to lamp.feed when switch on", "no wire leads from S1 to lamp.feed"),
    ("amps lamp.feed", "in which positions the controls stood"),
])
def test_clamps_that_go_round_nothing(text: str, message: str) -> None:
    with pytest.raises(TracerError, match=message):
        parse_test(text, HARNESS)


# --- ohmmeter -------------------------------------------------------------------------------------


def test_a_cold_lamp_looks_like_a_short_to_earth() -> None:
    """A cold P21W is 7.29/13 = 0.56 Ω: with it in circuit the feed reads that, the R5W's 2.8 Ω beside it and the
    leads to the body, a beep on every meter; with both lamps out the line is open. A rubbed-through feed reads the
    leads and the copper with the lamps out as well."""
    short = Change(added=(AddedBranch("S1", "body", 0.05),))
    alone = "with lamp lamp out, side lamp out"
    cold = 1 / (1 / 0.561 + 1 / 2.80)

    assert shown("ohms S1 to body") == pytest.approx(cold + OHMMETER_LEADS_OHM + 0.03, abs=0.03)
    assert math.isinf(shown(f"ohms S1 to body {alone}"))
    assert shown(f"ohms S1 to body {alone}", short) == pytest.approx(OHMMETER_LEADS_OHM + 0.05, abs=0.02)
    beep = parse_value("it beeps", "ohms")
    in_circuit = Reading(parse_test("ohms S1 to body", HARNESS), beep)
    isolated = Reading(parse_test(f"ohms S1 to body {alone}", HARNESS), beep)

    def weight(reading: Reading) -> float:
        predicted = PREDICTOR.observed(reading.test, [HEALTHY, short])
        p = value_loglik(predicted, beep, reading, 12.6, False, np.arange(2), np.arange(2))
        return float(p[1] - p[0])

    assert abs(weight(in_circuit)) < 0.1  # it beeps either way
    assert weight(isolated) > 3.0


def test_leads_are_part_of_a_reading() -> None:
    """A good wire reads its leads; taken off or not, a reading of 0.0, 0.2 or 0.4 Ω speaks for it and not for 5 Ω."""
    test = parse_test("ohms F1.out to switch.30", HARNESS)
    wire = next(s.name for w in HARNESS.wires for s in w.segments if s.a == "F1.out")
    predicted = PREDICTOR.observed(test, [HEALTHY, bad(wire, 5.0)])

    assert predicted[0] == pytest.approx(OHMMETER_LEADS_OHM + 0.0195, abs=1e-3)
    for text in ("0.0 ohm", "0.2 ohm", "0.4 ohm"):
        value = parse_value(text, "ohms")
        p = value_loglik(predicted, value, Reading(test, value), 12.6, False, np.arange(2), np.arange(2))
        assert p[0] > p[1] + 2, text


def test_the_ohmmeter_does_not_warm_a_filament() -> None:
    """A milliampere through a cold P21W is half a millivolt: no light, and a twelfth of its hot resistance."""
    test = parse_test("ohms lamp.feed to lamp.earth with C1 unplugged", HARNESS)
    assert float(PREDICTOR.observed(test, [HEALTHY])[0]) - OHMMETER_LEADS_OHM == pytest.approx(7.29 / 13, rel=0.03)


# --- everything that goes with a kind of test -------------------------------------------------------


@pytest.mark.parametrize("text", ["LED tester at lamp.feed when switch on", "amps lamp.feed when switch on"])
def test_new_kinds_are_complete(text: str) -> None:
    test = parse_test(text, HARNESS)

    assert test_from_data(test_as_data(test), HARNESS) == test
    assert parse_test(words_of(test, HARNESS), HARNESS) == test
    assert test_key(test)[0] in "EA"
    assert minutes_of(test, Standing(test.state), HARNESS) > 0
    assert len(cautions_of(of_test(test, HARNESS))) >= 2
    assert any(test.instrument.split()[0].lower() in s.lower() for s in steps_of(_JobLike(), test))  # type: ignore[arg-type]
    assert test.instrument in test.says(HARNESS)


class _JobLike:
    harness = HARNESS
    standing = Standing(HARNESS.state({}))
    now, shorts = UNKNOWN, None


def test_a_test_of_a_wire_that_is_gone_is_refused() -> None:
    data = test_as_data(parse_test("amps lamp.feed when switch on", HARNESS)) | {"minus": "S1"}

    with pytest.raises(TracerError, match="no wire leads"):
        test_from_data(data, HARNESS)


def test_look_is_no_instrument() -> None:
    assert Test("look", HARNESS.state({}), lamp="lamp").instrument == "eyes"


# --- temporary leads ------------------------------------------------------------------------------


def lead_blows(text: str, change: Change = HEALTHY) -> tuple[bool, str]:
    """Whether the lead's fuse blows under a change, and how the lamp looks then."""
    test = parse_test(text, HARNESS)
    done = test.change(PREDICTOR.circuit)
    panel = PREDICTOR.panel(PREDICTOR.setup(test.state, done), PREDICTOR.table([change], done))
    assert panel.usable[0]
    return bool(panel.lead_blown[0]), likely_word(float(panel.flux[0, PREDICTOR.lamp_index[test.lamp]]))


FED = "look side lamp when switch off with feed lead from battery.+ to S1"


def test_a_lead_feeds_what_is_whole_and_blows_on_a_short() -> None:
    """Fed from the battery, both lamps take 2.1 A of the lead's 10. Into a short of 50 mΩ it would carry
    12.6/(0.02 + 0.03 + 0.05) = 126 A: its fuse goes at once, and the lamps are dark again."""
    assert lead_blows(FED) == (False, "normal")
    assert lead_blows(FED, Change(added=(AddedBranch("S1", "body", 0.05),))) == (True, "dark")


def test_an_earth_lead_on_a_live_terminal_blows_and_not_the_vehicle_s_fuse() -> None:
    """Of the lead's 10 A and F1's 8 A it is F1 that goes first, being the smaller; before the fuse it is the lead."""
    live = "look side lamp when switch on with earth lead at F1.in"

    assert lead_blows(live) == (True, "normal")
    assert lead_blows("look side lamp when switch on with earth lead at switch.54") == (False, "dark")


def test_many_hypotheses_blow_the_lead_each_for_itself() -> None:
    test = parse_test(FED, HARNESS)
    done = test.change(PREDICTOR.circuit)
    changes = [HEALTHY, Change(added=(AddedBranch("S1", "body", 0.05),)), bad("switch 30-54", 5.0),
               Change(added=(AddedBranch("lamp.feed", "body", 0.5),)), Change(dead=("lamp filament",)),
               bad("E2 earth joint", 1.0), Change(added=(AddedBranch("side lamp.feed", "body", 0.2),))]
    together = PREDICTOR.panel(PREDICTOR.setup(test.state, done), PREDICTOR.table(changes, done))

    assert together.lead_blown.tolist() == [False, True, False, True, False, False, True]
    for row, change in enumerate(changes):
        alone = PREDICTOR.panel(PREDICTOR.setup(test.state, done), PREDICTOR.table([change], done))
        assert together.flux[row] == pytest.approx(alone.flux[0], abs=1e-6)


@pytest.mark.parametrize("text", [
    "the fuse blew", "lead's fuse blew", "fuse of the lead has blown", "the lead fuse is gone",
])
def test_a_blown_lead_can_be_told(text: str) -> None:
    value = parse_value(text, "look", "side lamp")

    assert value.lead_blew
    assert value_from_data(value_as_data(value)) == value


def test_a_blown_lead_speaks_for_the_short() -> None:
    test = parse_test(FED, HARNESS)
    done = test.change(PREDICTOR.circuit)
    panel = PREDICTOR.panel(
        PREDICTOR.setup(test.state, done),
        PREDICTOR.table([HEALTHY, Change(added=(AddedBranch("S1", "body", 0.05),))], done),
    )
    p = look_loglik(panel, PREDICTOR, parse_value("the fuse blew", "look", "side lamp"))

    assert p[1] > p[0] + 3


# --- test lamp ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("system", "battery", "volts"),
                         [("6 V", 6.3, 6.75), ("12 V", 12.6, 13.5), ("24 V", 25.2, 28.0)])
def test_a_test_lamp_has_the_volts_of_the_vehicle(system: str, battery: float, volts: float) -> None:
    """On a full feed it shines as it should (5 W at the test voltages of UN R37: 0.74, 0.37 and 0.18 A), and the step
    says which to take where it is not the usual one. One of 12 V on 6 V has (6.3/13.5)^3.4 = 0.07 of its light."""
    harness = read_harness(RIG.replace("12 V", system).replace("12.6 V", f"{battery} V"))
    test = parse_test("test lamp at lamp.feed when switch on", harness)
    p = Predictor(harness)
    assert likely_word(float(p.observed(test, [HEALTHY])[0])) == "normal"
    law = test.change(p.circuit).lamps[0].law
    assert filament_current(law, volts) == pytest.approx(5 / volts, rel=1e-3)
    said = test.reading_words(harness)
    assert said.startswith("test lamp" if system == "12 V" else f"{system} test lamp")
