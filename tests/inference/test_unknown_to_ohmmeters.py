"""An ohmmeter across electronics tells nothing of them, and across a flasher unit at rest it hardly convicts it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from tests.device_bench import BENCH
from tests.library import MODELS
from tests.shared import investigator_for
from tracer import load_harness, read_harness
from tracer.faults import Fault
from tracer.harness.devices import ends
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.unknown_to_ohmmeters import unknown_things
from tracer.observation.evidence import Evidence, Reading, Test
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom

SHOWN = ("open", "0.3", "45", "5000")
SOUND = Hypothesis((), (), 1.0)


def _of(faults: Sequence[Fault]) -> list[Hypothesis]:
    return [Hypothesis((f,), (v,), 1.0) for f in faults for v in f.variants]


def _loglik(vehicle: Investigator, rows: Sequence[Hypothesis], test: Test, shown: str) -> np.ndarray:
    return vehicle.loglik_of(rows, Reading(test, parse_value(shown, "ohms", "")))


HARNESSES = {name: load_harness(MODELS / f"{name}.yaml") for name in ("saloon_led",)} | {
    "bench": read_harness(BENCH)}  # which has electronics of every kind
INSIDE = ("unit output dead", "unit output stuck on",
          "unit output bad", "unit input dead", "filament open", "buzzer dead")


@pytest.mark.parametrize("name", HARNESSES)
def test_what_is_wrong_inside_is_as_likely_as_that_nothing_is(name: str) -> None:
    """Whatever is shown across an output, an input or an LED lamp: ln probability is that
    of the sound vehicle for every fault that lies in that thing alone."""
    vehicle = investigator_for(HARNESSES[name])
    checked = 0
    for d in unknown_things(vehicle.harness):
        own = [f for f in vehicle.faults if f.kind in INSIDE and f"'{d.name}'" in str(f.variants[0].change)]
        for shown in SHOWN:
            found = _loglik(vehicle, [SOUND, *_of(own)], Test("ohms", vehicle.harness.state({}), *ends(d)), shown)
            # Within a hundredth: the solver's digits, beside the megohms that are open.
            assert found == pytest.approx(np.full(len(found), found[0]), abs=0.01)
            checked += len(found) - 1
    assert checked


def test_a_dimmer_is_a_rheostat_and_is_measured_as_one() -> None:
    """Half an ohm is no track that is broken: its resistance in each position stands in the file."""
    vehicle = investigator_for(HARNESSES["bench"])
    own = [f for f in vehicle.faults if f.kind == "dimmer open"]
    test = parse_test("ohms dimmer.in to dimmer.out", vehicle.harness)
    sound, broken = _loglik(vehicle, [SOUND, *_of(own)], test, "0.3")
    assert sound - broken > 3


def test_open_across_the_flasher_unit_speaks_at_most_twice_as_well_for_it() -> None:
    """A dead unit is open, a sound one is so in half of the cases: odds of 2. It was convicted at 0.99."""
    vehicle = investigator_for(load_harness(MODELS / "motorcycle_6v.yaml"))
    words = "left front indicator dark, left rear indicator dark when indicator switch left"
    said = parse_symptom(words, vehicle.harness)
    test = parse_test("ohms flasher unit.49 to flasher unit.49a", vehicle.harness)
    told: list[list[Evidence]] = [[said], [said, Reading(test, parse_value("open", "ohms", ""))]]
    found = [vehicle.diagnose(evidence, pairs=False).suspects for evidence in told]
    before, after = (next(s.share for s in suspects if s.repair == "renew flasher unit") for suspects in found)
    odds = (after / (1 - after)) / (before / (1 - before))
    assert 1.0 <= odds < 2.1
