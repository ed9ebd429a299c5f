"""Every model in harness_models/ does what its vehicle is for, and its faults are found from what is seen."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import JOBS, MODELS, WORKS, Job, evidence_from
from tests.long import LARGE
from tests.shared import investigator_for
from tracer.circuit.model import NO_CHANGE, OHMMETER_LEADS_OHM, OPEN_OHM
from tracer.faults import list_faults
from tracer.harness.base_rates import RATES
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.harness.part_kinds import KINDS
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.states import parse_state
from tracer.practice.simulated_vehicle import PracticeVehicle


@cache
def harness_of(model: str) -> Harness:
    return load_harness(MODELS / f"{model}.yaml")


@cache
def investigator(model: str) -> Investigator:
    return investigator_for(harness_of(model))


def names(text: str) -> set[str]:
    return {n.strip() for n in text.split(",") if n.strip()}


@pytest.mark.parametrize("model", WORKS)
def test_each_lamp_does_what_it_is_for(model: str) -> None:
    harness, works = harness_of(model), WORKS[model]
    vehicle = PracticeVehicle(harness, NO_CHANGE)
    lamps = {f.lamp for f in harness.lamps()}
    never_named = lamps - {n for said in works.lit.values() for n in names(said)}

    assert not never_named, "the table must say for each lamp where it is lit"
    for said, listed in works.lit.items():
        lit = names(listed)
        assert lit <= lamps
        flashing = names(works.flashing) | names(works.flashing_in.get(said, ""))
        wanted = {x: "normal, flashing" if x in flashing else "normal" for x in lit}
        wanted |= dict.fromkeys(names(works.dim.get(said, "")), "dim")
        found = vehicle.looks(parse_state(said, harness))
        assert {x: look for x, look in found.items() if look != "dark"} == wanted, said


def evidence_of(job: Job, readings: tuple[tuple[str, str], ...]) -> list[Symptom | Reading]:
    return evidence_from(harness_of(job.model), *job.symptoms, *readings)


def place(diagnosis: Diagnosis, repair: str) -> int:
    return next((n for n, s in enumerate(diagnosis.suspects, 1) if s.repair == repair), 10**6)


@pytest.mark.parametrize("title", JOBS)
def test_the_vehicle_with_the_fault_looks_as_the_circuit_says(title: str) -> None:
    """What was worked out by hand is what the simulation shows."""
    job = JOBS[title]
    vehicle = PracticeVehicle(harness_of(job.model), job.plant)
    for symptom in evidence_of(job, ()):
        assert isinstance(symptom, Symptom)
        looks = vehicle.looks(symptom.state)
        for seen in symptom.seen:
            assert isinstance(seen, LampSeen)
            look = looks[seen.lamp]
            assert look.split(",")[0] in seen.words, f"{seen.lamp}: {look}"
            if seen.flash:
                assert seen.flash in look or (seen.flash == "steady" and "flash" not in look), f"{seen.lamp}: {look}"


# With parts that no other model has: a diode of a lamp check, the gang's relay of 24 V, a load resistor.
ON_LARGE = {"estate: lamp-check diode shorted", "lorry: relay contact", "LED: load resistor open"}


def _marks(title: str) -> list[pytest.MarkDecorator]:
    """Of the three jobs or more on a model one is no long one, the first unless another is named."""
    missed = [pytest.mark.xfail(reason=JOBS[title].missed, strict=True)] if JOBS[title].missed else []
    model = JOBS[title].model
    of_model = [t for t in JOBS if JOBS[t].model == model]
    repeats = title not in ON_LARGE if model in LARGE else title != of_model[0]
    return [*missed, *[pytest.mark.long] * repeats]


@pytest.mark.parametrize("title", [pytest.param(title, marks=_marks(title)) for title in JOBS])
def test_the_repair_is_among_the_first_suspects(title: str) -> None:
    job = JOBS[title]
    found = investigator(job.model).diagnose(evidence_of(job, job.readings))
    first = [f"{s.share:.2f} {s.repair}" for s in found.suspects[:5]]

    assert place(found, job.repair) <= job.within, first
    if job.proof:
        found = investigator(job.model).diagnose(evidence_of(job, job.readings + job.proof))
        assert found.suspects[0].repair == job.repair
        assert found.suspects[0].share >= job.share


def test_every_model_has_a_table_and_three_jobs() -> None:
    """The pick-up and the small trailer have their tests elsewhere."""
    models = {p.stem for p in MODELS.glob("*.yaml")} - {"pickup", "trailer_7pin"}

    assert models == set(WORKS)
    for model in models:
        assert sum(job.model == model for job in JOBS.values()) >= 3, model


def test_the_models_use_every_kind_of_part_and_show_every_kind_of_fault() -> None:
    """A reversed diode has a rate but nothing makes the fault yet; a control unit is on the device bench alone."""
    models = [harness_of(p.stem) for p in MODELS.glob("*.yaml")]

    assert {part.kind for h in models for part in h.parts.values()} == set(KINDS) - {"control unit"}
    shown = {f.kind for h in models for f in list_faults(h)}
    assert shown >= {k for k in RATES if not k.startswith("unit ")} - {"diode reversed"}


def test_an_ohmmeter_across_one_wire_shows_its_resistance_among_all_faults() -> None:
    """Ohm's law: with the battery off, what lies across the meter's ends is that wire alone, or nothing."""
    harness = harness_of("tow_7pin")
    predictor = Predictor(harness)
    faults = [(f, v.change) for f in investigator("tow_7pin").faults for v in f.variants]
    test = Test("ohms", harness.state({}), "battery.+", "S1")
    shown = predictor.observed(test, [change for _, change in faults])
    name = "wire battery.+ – S1"
    told = {change.set_ohm[0][1]: ohm for (f, change), ohm in zip(faults, shown, strict=True) if f.elements == (name,)
            and f.kind in ("wire open", "wire bad")}

    assert told.pop(OPEN_OHM) == np.inf
    assert list(told.values()) == pytest.approx([ohm + OHMMETER_LEADS_OHM for ohm in told], abs=0.02)
    assert len(told) == 7
    assert (shown > 0).all()


def test_two_batteries_in_series_are_the_supply_together() -> None:
    """Two of 12.6 V make 25.2 V (Kirchhoff); a meter on the feed of a lorry that stands at 23.9 V shows that."""
    lorry = harness_of("lorry_24v")
    test = Test("volts", lorry.state({}), "S1", "body")

    assert Predictor(lorry).emf == pytest.approx(25.2)
    assert Predictor(lorry, 23.9).observed(test, [NO_CHANGE])[0] == pytest.approx(23.9, abs=0.1)
