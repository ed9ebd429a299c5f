"""Two faults at once, both measured, at severities that are on no grid (worked by hand)."""

from __future__ import annotations

import pytest

from tests.library import MODELS, evidence_from
from tests.shared import investigator_for
from tracer.faults import find_fault
from tracer.harness.file.text import load_harness
from tracer.inference.finer_pairs import finer_pairs
from tracer.inference.hypotheses import Hypothesis
from tracer.observation.evidence import Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.practice.simulated_vehicle import PracticeVehicle

HARNESS = load_harness(MODELS / "rear_end.yaml")
OWN = investigator_for(HARNESS)
EARTH, WAY = find_fault(OWN.faults, "earth bad: E1"), find_fault(OWN.faults, "way bad: C1 way 3")
NOW = "when brake pedal pressed"
TESTS = (f"volts at left rear.earth {NOW}", f"volts at left rear.stop {NOW}", f"volts at brake switch.15 {NOW}",
         f"volt drop C1.3 to C1.3' {NOW}", f"volts at E1 {NOW}")


@pytest.mark.parametrize("earth_ohm, way_ohm", [
    (5.5, 1.9), pytest.param(0.6, 1.9, marks=pytest.mark.long), pytest.param(1.9, 0.6, marks=pytest.mark.long)])
def test_two_contacts_that_were_both_measured_lead_together(earth_ohm: float, way_ohm: float) -> None:
    """Volts over each are its ohms times what flows there: the left stop lamp's current through the earth, that of
    both through the way. So the two readings give both severities; before, no two of the grid's fitted both, and a
    wet plug was as likely as its way."""
    change = EARTH.at(earth_ohm).change | WAY.at(way_ohm).change
    vehicle = PracticeVehicle(HARNESS, change, faults=[EARTH, WAY])
    looks = vehicle.looks(HARNESS.state({"brake pedal": "pressed"}))
    seen = ", ".join(f"{x} {looks[x]}" for x in ("left rear stop", "right rear stop"))
    said = evidence_from(HARNESS, f"{seen} {NOW}")
    for text in TESTS:
        test = parse_test(text, HARNESS)
        said.append(Reading(test, parse_value(vehicle.answer(test), test.kind)))

    best = OWN.diagnose(said).suspects[0]

    assert best.share > 0.8
    found = {f.name: v.severity for f, v in zip(best.best.faults, best.best.variants, strict=True)}
    assert found[EARTH.name] == pytest.approx(earth_ohm, rel=0.35)
    assert found[WAY.name] == pytest.approx(way_ohm, rel=0.35)


def test_the_prior_of_a_pair_stays_what_it_is() -> None:
    """What a pair has over all its severities is shared out anew, and what the new rows do not stand for is kept: of
    two scales of seven the cells around one point hold the product of their shares."""
    one = next(v for v in EARTH.variants if v.severity == 1.0)
    two = next(v for v in WAY.variants if v.severity == 10.0)
    whole = 1e-4
    pair = Hypothesis((EARTH, WAY), (one, two), whole * one.weight * two.weight)
    lone = Hypothesis((EARTH,), (one,), one.weight)

    found = finer_pairs([lone, pair], [0.0, 9.0])  # type: ignore[arg-type]

    assert found.old == (1,)
    held = sum(h.prior for h in found.rows)
    assert pair.prior < held < whole
    severities = sorted({h.variants[0].severity or 0.0 for h in found.rows})
    assert (severities[0], severities[-1]) == (0.3, 3.0) and len(severities) > 5
    assert len(found.rows) == len(severities) * len({h.variants[1].severity for h in found.rows})


def test_what_lies_far_behind_is_left_alone() -> None:
    one, two = EARTH.variants[1], WAY.variants[1]
    pair = Hypothesis((EARTH, WAY), (one, two), 1e-4)
    assert not finer_pairs([Hypothesis((EARTH,), (one,), 1.0), pair], [0.0, -20.0]).rows  # type: ignore[arg-type]
