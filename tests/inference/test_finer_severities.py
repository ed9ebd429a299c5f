"""Severities between those of the grid: their priors, and what looks alone make of a leak that lies between two."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.library import MODELS, tool_on
from tests.shared import unremarked
from tracer.faults import find_fault
from tracer.inference.finer_severities import finer
from tracer.inference.hypotheses import Hypothesis
from tracer.job.job import Job
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.practice.simulated_vehicle import PracticeVehicle


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", MODELS / "pickup.yaml")


def test_the_prior_of_a_fault_is_shared_out_among_its_severities(job: Job) -> None:
    """The leak fits best at 5 Ω: its grid has 1 and 25 Ω beside it, so that at factors of at most 1.5 four severities
    stand in each gap: (5 / 1)^(1/4) = 1.495. All together weigh as much as before, and half of them below 5 Ω."""
    fault = find_fault(job.investigator.faults, "ways joined: C2 ways 1 and 2")
    rows = [Hypothesis((fault,), (v,), 0.01 * v.weight) for v in fault.variants]
    found = finer(rows, np.array([-30.0, -9.0, -1.0, -8.0, -30.0]))

    at = [h.variants[0].severity or 0.0 for h in found.rows]
    assert found.old == (0, 1, 2, 3, 4)
    assert at == pytest.approx([0.2, *np.geomspace(1, 25, 9), 150], rel=1e-9)
    assert sum(h.prior for h in found.rows) == pytest.approx(0.01)
    assert all(h.prior > 0 for h in found.rows)


def test_a_fault_far_behind_stays_as_it_is(job: Job) -> None:
    one, two = (find_fault(job.investigator.faults, f"ways joined: C2 ways {w}") for w in ("1 and 2", "3 and 4"))
    rows = [Hypothesis((f,), (v,), 0.01 * v.weight) for f in (one, two) for v in f.variants]
    found = finer(rows, np.array([-1.0] * 5 + [-40.0] * 5))

    assert found.old == (0, 1, 2, 3, 4)


def test_a_short_is_weighed_between_its_severities_where_its_fuse_is_whole(job: Job) -> None:
    """Metal on metal blows the fuse, crust of 1.5 Ω does not: between them the fuse holds or blows with the state.
    With the fuse gone nobody sees how bad the short was."""
    own = job.investigator
    fault = next(f for f in own.faults if f.kind == "wire to body" and any(
        h.variants[0].severity is None for h in own.singles if h.faults == (f,)))
    rows = [h for h in own.singles if h.faults == (fault,)]
    whole = [i for i, h in enumerate(rows) if h.variants[0].severity is not None]
    assert len(whole) == 2 < len(rows)
    found = finer(rows, np.full(len(rows), -1.0))

    at = [h.variants[0].severity or 0.0 for h in found.rows]
    assert found.old == tuple(whole)
    assert at == sorted(at) and {0.05, 1.5} < {*at} and sum(0.05 < x < 1.5 for x in at) >= 4
    assert sum(h.prior for h in found.rows) == pytest.approx(sum(rows[i].prior for i in whole))


def test_looks_alone_find_a_leak_between_two_severities(job: Job) -> None:
    """2.2 Ω between the tail feed and the stop feed of the pick-up: neither 1 nor 5. Every lamp of the two nets
    looked at in two states, and nothing measured."""
    fault = find_fault(job.investigator.faults, "ways joined: C2 ways 1 and 2")
    vehicle = PracticeVehicle(job.harness, fault.at(2.2).change, 12.6, [fault])
    lamps = [f.lamp for f in job.harness.lamps() if any(w in f.lamp for w in ("tail", "stop", "plate", "side"))]
    with unremarked():
        for words in (f"look {x} when {state}" for state in ("brake pressed", "lamp switch side") for x in lamps):
            job.reading(words, vehicle.answer(job.find_test(words)))
    found = job.diagnosis
    leading = found.suspects[0].best
    assert leading.variants[0].severity is not None
    assert 1.2 < leading.variants[0].severity < 3.5
    own = [i for i, h in enumerate(found.hypotheses) if h.faults == (fault,)]
    best = found.hypotheses[max(own, key=lambda i: float(found.share[i]))].variants[0].severity
    assert best is not None and 1.2 < best < 3.5
    again = Job(job.path).diagnosis  # from what was kept
    assert [(s.repair, round(s.share, 9)) for s in again.suspects[:5]] == [
        (s.repair, round(s.share, 9)) for s in found.suspects[:5]]
    assert again.suspects[0].best == leading


def test_what_a_coarse_grid_makes_unlikely_is_looked_at_too() -> None:
    """The right indicators' wire has 0.05 Ω to the body behind the switch, and F1 blows when they are switched on.
    Its grid has 1.5 Ω next, which would show 11.5 V. Each 0 V was judged as anywhere between the two, so that after
    four of them wires changed over stood at 95 %, which would be odd in other ways, and the short at 1 in 10,000."""
    own = tool_on(MODELS / "bullets_1960s.yaml")
    right = "when indicator switch right"
    told: list[Evidence] = [parse_symptom(f"right rear indicator dark {right}", own.harness)]
    for words, value in (
        ("ohms right rear indicator/right rear indicator live to right rear indicator/right rear indicator shell "
         f"{right}, lamp right rear indicator out", "0.7 ohm"),
        (f"volts at right rear indicator.feed {right}", "0.00 V"),
        ("look left rear indicator when indicator switch left", "flashing"),
        (f"volts at B5 {right}", "0.00 V"), (f"volts at B5.1 {right}", "0.00 V"),
        (f"volt drop indicator switch.49a to indicator switch.R {right}", "0.00 V"),
        (f"volts at indicator switch.R {right}", "0.00 V"),
    ):
        test = parse_test(words, own.harness)
        told.append(Reading(test, parse_value(value, test.kind, test.lamp)))
    found = own.diagnose(told)
    short = [share for h, share in zip(found.hypotheses, found.share.tolist(), strict=True)
             if [f.name for f in h.faults] == ["wire to body: indicator switch.R – B5.1"]]
    assert sum(short) > 0.02
    assert found.suspects[0].share < 0.9
