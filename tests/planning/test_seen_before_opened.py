"""What is seen and measured before the holder of a dim lamp is cleaned (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.library import MODELS
from tests.long import rest_long
from tests.shared import investigator_for
from tracer.faults import find_fault
from tracer.harness.file.text import load_harness
from tracer.job.job import Job
from tracer.observation.evidence import Test
from tracer.planning.confirmation import confirmation, in_sight, supplied
from tracer.planning.costs import Standing
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.present.job_words import test_words

HARNESS = load_harness(MODELS / "rear_end.yaml")
OWN = investigator_for(HARNESS)
PRESSED = HARNESS.state({"brake pedal": "pressed"})
CONTACT = next(f for f in OWN.faults if f.kind == "holder bad" and f.name.startswith("holder bad: left rear stop"))


def _confirmed(ohm: float, done: tuple[Test, ...] = (), doubt: float = 0.2) -> Test | None:
    return confirmation(OWN.predictor, [CONTACT], CONTACT.at(ohm).change, [PRESSED], Standing(PRESSED), done, doubt)


def test_the_whole_supply_between_the_terminals_of_a_dim_lamp_condemns_what_lies_between() -> None:
    """3 Ω in the holder of 21 W: some 1.3 A flow, and next to nothing is lost in feed and earth, so that the whole
    supply stands between the terminals; a bad feed or earth of the same 3 Ω takes a third of it."""
    test = _confirmed(3.0)
    assert test is not None and test.kind == "drop"
    assert (test.plus, test.minus) == ("left rear.stop", "left rear.earth") == supplied(CONTACT, HARNESS)[0]
    earth = find_fault(OWN.faults, "terminal bad: left rear.earth")
    inside, outside = OWN.predictor.observed(test, [CONTACT.at(3.0).change, earth.at(3.0).change])
    assert inside > 0.95 * OWN.predictor.emf > 1.2 * outside


@pytest.mark.parametrize("done, doubt", [
    ((Test("drop", PRESSED, "left rear.stop", "left rear.earth"),), 0.2),
    ((Test("volts", PRESSED, "left rear.stop", HARNESS.reference),
      Test("volts", PRESSED, "left rear.earth", HARNESS.reference)), 0.2),
    ((), 0.01),
])
def test_it_is_not_measured_twice_nor_where_there_is_no_doubt(done: tuple[Test, ...], doubt: float) -> None:
    assert _confirmed(3.0, done, doubt) is None


@pytest.mark.parametrize("bad", rest_long(["right", "left"]))
def test_a_lamp_is_seen_before_its_holder_is_opened(bad: str, tmp_path: Path) -> None:
    """Whoever says left for right would have the sound lamp taken apart."""
    fault = find_fault(OWN.faults, CONTACT.name.replace("left", bad))
    vehicle = PracticeVehicle(HARNESS, fault.at(3.0).change, faults=[fault])
    job = Job.create(tmp_path / "seen.job", MODELS / "rear_end.yaml")
    job.symptom("left rear stop dim when brake pedal pressed")
    seen: set[str] = set()
    for _ in range(15):
        step = job.next()
        if step.test is None:
            break
        if step.test.row.of_lamps:
            seen |= {step.test.lamp, *step.also}
        job.reading(test_words(step.test, HARNESS), vehicle.answer(step.test))
        if step.also and not step.test.done:
            looks = vehicle.looks(step.test.state)
            state = ", ".join(f"{c} {p}" for c, p in step.test.state.positions)
            job.symptom(", ".join(f"{lamp} {looks[lamp]}" for lamp in step.also) + f" when {state}")
    assert step.kind == "repair" and step.suspect is not None
    assert step.suspect.repair == fault.repair
    assert f"{bad} rear stop" in seen


def test_what_is_mostly_seen_is_looked_at_before_it_is_mended() -> None:
    """To free a touching contact (6 min) the lamp comes out first: a look into its holder is half of that, and shows
    it seven times in ten. A wire that corrodes inside its insulation is not seen; a look along some metres of loom
    is no look on the way."""
    shorted = next(f for f in OWN.faults if f.kind == "holder shorted" and "left rear stop" in f.name)
    opened = frozenset({HARNESS.place_of(shorted.node)[0]})
    now = Standing(PRESSED, opened=opened, battery_off=True)
    looks = list(in_sight([shorted], HARNESS, (), now))
    assert [t.thing(HARNESS).kind for t in looks] == ["holder"]
    assert not list(in_sight([shorted], HARNESS, looks, now))
    inside = next(f for f in OWN.faults if f.kind == "wire bad")
    assert not list(in_sight([inside], HARNESS, (), now))
