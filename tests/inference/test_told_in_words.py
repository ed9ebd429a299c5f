"""Complaints in people's own words, and what must lead: from the sentence to the first suspect (all invented).

Which kinds of fault explain a complaint is common practice, no source.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.library import MODELS
from tests.long import in_turn, rest_long
from tests.shared import investigator_for
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Symptom
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.symptoms import read_by_rules


@cache
def own(model: str) -> Investigator:
    return investigator_for(load_harness(MODELS / f"{model}.yaml"))


def diagnosis(model: str, *said: str) -> Diagnosis:
    vehicle = own(model)
    healthy = healthy_states(vehicle.harness, vehicle.predictor)
    return weighed(model, tuple(s for one in said for s in read_by_rules(one, vehicle.harness, healthy).symptoms))


@cache
def weighed(model: str, told: tuple[Symptom, ...]) -> Diagnosis:
    """Once, in however many ways it was said."""
    return own(model).diagnose(told)


# Whatever parts a lamp unit from the body: an earth point, the mounting, the wire there, its ways and terminals.
OF_THE_EARTH = {"earth open", "earth bad", "mounting open", "mounting bad", "wire open", "way open", "way bad",
                "eyelet bad", "terminal bad"}


@pytest.mark.parametrize("said", [
    "left rear cluster: everything glows when indicating left",
    "everything at the left rear glows when I indicate left",
])
@pytest.mark.parametrize("model", in_turn([
    "pickup", "rear_end", "bullets_1960s", "tractor", "lorry_24v", "saloon_1970s", "estate_1990s"], 1))
def test_all_of_a_cluster_that_glows_has_lost_its_earth(model: str, said: str) -> None:
    """Nobody looks which of its lamps do: back-fed, some glow and some stay dark."""
    found = diagnosis(model, said)
    first = found.listed[0]

    assert {f.kind for f in first.best.faults} <= OF_THE_EARTH, first.repair
    assert found.undescribed < 0.05


@pytest.mark.parametrize("model", in_turn([
    "pickup", "rear_end", "bullets_1960s", "tractor", "lorry_24v", "saloon_1970s"], 2))
def test_so_has_one_that_glows_with_the_other_side(model: str) -> None:
    """It is the earth of the unit that is fed, where each has its own, and the common one where there is one."""
    found = diagnosis(model, "left rear cluster: everything glows when indicating right")
    first = found.listed[0]

    assert {f.kind for f in first.best.faults} <= OF_THE_EARTH, first.repair
    assert found.undescribed < 0.05


def test_everything_dim_with_the_lights_on_is_what_is_on() -> None:
    vehicle = own("estate_1990s")
    for said in ("everything at the back dim with the sidelights on",
                 "all the lights at the rear dim with the lights on"):
        (symptom,) = read_by_rules(said, vehicle.harness).symptoms
        assert {*symptom.lamps_named()} == {"left rear tail", "right rear tail", "left number-plate lamp",
                                            "right number-plate lamp"}


@pytest.mark.parametrize(("model", "said"), [
    ("saloon_1970s", "horn weak"), ("tractor", "the horn is very quiet"), ("saloon_1970s", "heater fan slow"),
    ("tractor", "wipers slow"), ("car_1950s", "horn only croaks"),
])
def test_what_is_weak_has_lost_volts_on_its_way(model: str, said: str) -> None:
    """It runs, so that nothing in its feed is broken or blown; an earth that is shared may have gone altogether."""
    found = diagnosis(model, said)
    kinds = {f.kind for f in found.listed[0].best.faults}

    assert all(k.endswith("bad") or k == "earth open" for k in kinds), kinds
    assert found.undescribed < 0.05


def test_what_is_weak_is_weighed_against_dead_and_well() -> None:
    """Of a fuse that is blown nobody says that the horn is weak, and of a bad contact nobody that it is dead."""
    def share(said: str, kind: str) -> float:
        return sum(s.share for s in diagnosis("saloon_1970s", said).suspects if s.best.faults[0].kind == kind)

    assert share("horn weak", "fuse blown") < 0.01 < share("horn dead", "fuse blown")
    assert share("horn weak", "clip bad") > 3 * share("horn dead", "clip bad")


@pytest.mark.parametrize("model", in_turn(["pickup", "saloon_1970s", "glass_fibre", "motorcycle_6v"], 0))
def test_a_thermal_flasher_that_goes_fast_misses_a_lamp(model: str) -> None:
    """Such a unit slows down; but hot-wire ones do not, and many an electronic one has come in its place. A wet plug
    or wires that touch would have to load it, which is far to seek (common practice, no source)."""
    found = diagnosis(model, "left indicator goes fast")
    first, second = found.listed[:2]

    for suspect in (first, second):
        (fault,) = suspect.best.faults
        assert fault.kind == "filament open" and "left" in fault.name
    wet = sum(s.share for s in found.suspects if s.best.faults[0].kind == "connector wet")
    assert wet < first.share / 2


@pytest.mark.parametrize("model", in_turn(["pickup", "saloon_1970s", "glass_fibre", "car_1950s"], 1))
def test_one_that_goes_fast_on_both_sides_is_bad_itself(model: str) -> None:
    found = diagnosis(model, "indicators flash too fast on both sides")
    assert {f.kind for f in found.listed[0].best.faults} <= {"wrong flasher", "flasher bad"}


@pytest.mark.parametrize("said", rest_long(["no lights down the left side", "no lights on the left",
                                            "lights out all down the n/s",
                                            "none of the lights down the near side work"]))
def test_the_lights_down_a_side_are_no_headlamp(said: str) -> None:
    """They hang on a fuse of their own, which leads."""
    vehicle = own("estate_1990s")
    (symptom,) = read_by_rules(said, vehicle.harness).symptoms
    found = diagnosis("estate_1990s", said)

    assert {*symptom.lamps_named()} == {"left rear tail", "left headlamp side"}
    assert found.listed[0].repair == "new fuse F1"
