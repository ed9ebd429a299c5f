"""Which end of a wire loses volts: what no other probe parts, a voltmeter over the crimp does (worked by hand)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS
from tests.long import rest_long
from tests.shared import unremarked
from tracer.faults.mending import mended_by
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.wire_ends import across, at_end, end_chances, worth_probing
from tracer.job.job import Job
from tracer.observation.evidence import Reading, Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.readings import parse_value
from tracer.planning.costs import TAPE_MIN, Standing, minutes_of
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.present.job_words import test_words as words_of

HARNESS = load_harness(MODELS / "trailer_7pin.yaml")
PREDICTOR = Predictor(HARNESS)
FEED, SPLICE = "left lamp unit.stop", "S3"
PRESSED = HARNESS.state({"brake pedal": "pressed"})
AT_LAMP, AT_SPLICE = Test("crimp", PRESSED, FEED, SPLICE), Test("crimp", PRESSED, SPLICE, FEED)
FAULTS = {f.name: f for f in Investigator(HARNESS).faults}
TERMINAL, WIRE, LEG = (FAULTS[n] for n in (
    f"terminal bad: {FEED}", f"wire bad: {SPLICE} – {FEED}", f"splice leg bad: {SPLICE} to {FEED}"))
OHM = 2.0


def _bad(fault_name: str, ohm: float = OHM) -> Hypothesis:
    fault = FAULTS[fault_name]
    return Hypothesis((fault,), (fault.at(ohm),), 1.0)


def test_to_every_other_probe_the_three_are_one() -> None:
    changes = [_bad(f.name).change for f in (TERMINAL, WIRE, LEG)]
    for test in (Test("volts", PRESSED, FEED, "body"), Test("drop", PRESSED, SPLICE, FEED),
                 Test("look", PRESSED, lamp="left lamp unit stop")):
        if test.row.of_lamps:
            shown = PREDICTOR.panel(PREDICTOR.setup(PRESSED), PREDICTOR.table(changes)).flux[:, 0]
        else:
            shown = PREDICTOR.observed(test, changes)
        assert shown.max() - shown.min() < 1e-9


def test_what_a_crimp_loses_is_its_share_of_what_the_wire_loses() -> None:
    """2 Ω in all, of which 0.8 m of 1 mm² copper are 0.8 × 0.0172 / 1 = 0.014 Ω: 99.3 % of the volts are lost at the
    terminal; a 21 W lamp behind it takes more than 1 A, so that they are far more than a tenth of a volt."""
    copper = next(s.ohm for w in HARNESS.wires for s in w.segments if {s.a, s.b} == {FEED, SPLICE})
    there, share = at_end(AT_LAMP, [TERMINAL], _bad(TERMINAL.name).change, HARNESS)
    assert there == 1.0 and share == pytest.approx(1 - copper / OHM)
    assert at_end(AT_SPLICE, [TERMINAL], _bad(TERMINAL.name).change, HARNESS)[0] == 0.0
    assert float(PREDICTOR.observed(across(AT_LAMP), [_bad(TERMINAL.name).change])[0]) < -1.5


@pytest.mark.parametrize("test, bad", [(AT_LAMP, TERMINAL), (AT_SPLICE, LEG)])
def test_the_end_that_is_bad_loses_volts_and_nothing_else_does(test: Test, bad: object) -> None:
    rows = [_bad(f.name) for f in (TERMINAL, WIRE, LEG)]
    along = PREDICTOR.observed(across(test), [h.change for h in rows])
    for h, p in zip(rows, end_chances(test, rows, along, HARNESS).tolist(), strict=True):
        assert p > 0.9 if h.faults[0] is bad else p < 0.1


def test_a_clamp_is_told_from_the_strap_that_it_holds() -> None:
    """On the battery's post the lug of the strap is the clamp: what is lost from the post to the lead is the
    clamp's."""
    harness = load_harness(MODELS / "rear_end.yaml")
    predictor, faults = Predictor(harness), {f.name: f for f in Investigator(harness).faults}
    clamp, strap = faults["battery terminal bad: battery.-"], faults["strap bad: battery.- – E4"]
    rows = [Hypothesis((f,), (f.at(1.0),), 1.0) for f in (clamp, strap)]
    test = Test("crimp", harness.state({"brake pedal": "pressed"}), "battery.-", "E4")
    along = predictor.observed(across(test), [h.change for h in rows])
    of_clamp, of_strap = end_chances(test, rows, along, harness).tolist()
    assert of_clamp > 0.9 and of_strap < 0.1
    assert "from the post itself to the lead" in test.says(harness)


def test_where_no_current_flows_nothing_is_lost_and_nothing_is_told() -> None:
    rows = [_bad(f.name) for f in (TERMINAL, WIRE, LEG)]
    test = Test("crimp", HARNESS.at_rest(), FEED, SPLICE)
    chances = end_chances(test, rows, PREDICTOR.observed(across(test), [h.change for h in rows]), HARNESS)
    assert chances.max() - chances.min() < 1e-9


def test_a_few_milliohms_are_a_sound_crimp() -> None:
    """30 mΩ in all, half of them its copper, lose about 0.03 V at 1.75 A, by which no crimp is condemned."""
    fault = _bad(TERMINAL.name, 0.03)
    along = PREDICTOR.observed(across(AT_LAMP), [fault.change])
    assert end_chances(AT_LAMP, [fault], along, HARNESS)[0] < 0.1


def test_hands_come_to_the_end_that_is_measured_alone() -> None:
    """Nobody takes the tape off a splice to measure at the lamp."""
    now = Standing(PRESSED, instrument="voltmeter", opened=frozenset(HARNESS.place_of(n)[0] for n in (FEED, SPLICE)))
    assert minutes_of(AT_SPLICE, now, HARNESS) - minutes_of(AT_LAMP, now, HARNESS) == pytest.approx(TAPE_MIN)


@pytest.mark.parametrize("name", rest_long(f.name for f in (TERMINAL, WIRE, LEG)))
def test_what_no_other_test_parts_is_parted_before_it_is_repaired(name: str, tmp_path: Path) -> None:
    """A terminal, its wire or the joint at the wire's other end: the first repair mends what is bad. (Whoever renews
    the wire makes both its ends anew; a cleaned terminal mends neither wire nor joint.)"""
    job = Job.create(tmp_path / "end.job", MODELS / "trailer_7pin.yaml")
    fault = FAULTS[name]
    vehicle = PracticeVehicle(HARNESS, _bad(name).change, faults=[fault])
    job.symptom("left lamp unit stop dim when brake pedal pressed, everything else normal")
    with unremarked():
        for test in (Test("volts", PRESSED, SPLICE, "body"), Test("volts", PRESSED, FEED, "body")):
            job.reading(f"volts at {test.plus} when brake pedal pressed", vehicle.answer(test))
    for _ in range(12):
        step = job.next()
        assert step.kind != "give up"
        if step.test is None:
            assert step.suspect is not None
            assert step.suspect.repair in mended_by([TERMINAL, WIRE, LEG])[name]
            assert (step.suspect.repair == TERMINAL.repair) == (fault is TERMINAL)
            return
        job.reading(words_of(step.test, HARNESS), vehicle.answer(step.test))
    raise AssertionError("no repair in twelve steps")




def test_an_end_that_was_measured_is_not_proposed_again_and_one_that_could_not_be_is() -> None:
    rows = [_bad(f.name) for f in (TERMINAL, WIRE, LEG)]
    shares = np.full(3, 0.3)
    ends = {(FEED, SPLICE), (SPLICE, FEED)}
    assert set(worth_probing(rows, shares, [], HARNESS)) == ends
    for said, left in (("none lost", ends - {(FEED, SPLICE)}), ("could not", ends)):
        told = Reading(AT_LAMP, parse_value(said, "crimp"))
        assert set(worth_probing(rows, shares, [told], HARNESS)) == left, said
