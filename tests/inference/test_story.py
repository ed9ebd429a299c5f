"""What the vehicle's story makes likelier. The factors are judgement; what is held is their direction and place."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.inference.test_complaints import own
from tests.library import MODELS
from tracer import Job
from tracer.errors import TracerError
from tracer.harness.base_rates import RATES, brought
from tracer.inference.story_weights import STARTER_SERVED, WORK_MAKES, say_weights, weights
from tracer.observation.story import FOUND_GOOD, WORK, Story
from tracer.observation.words.symptoms import read_by_rules

SALOON = MODELS / "saloon_1970s.yaml"


def shares(folder: Path, name: str, story: Story | None) -> dict[str, float]:
    job = Job.create(folder / f"{name}.yaml", SALOON, story=story)
    job.symptom("left rear tail bright when lamp switch side")
    return {s.repair: s.share for s in job.suspects()}


def test_a_lamp_changed_just_there_makes_a_turned_lamp_likelier(tmp_path: Path) -> None:
    turned = "turn left rear stop + left rear tail round in its holder"
    near = Story(work=("lamp changed",), where="left rear")
    far = Story(work=("lamp changed",), where="right headlamp")
    none, here, there = (shares(tmp_path, n, s)[turned] for n, s in (("a", None), ("b", near), ("c", far)))
    assert here >= there >= none


def test_a_vehicle_that_runs_has_a_sound_battery_clamp() -> None:
    tool = own("saloon_1970s")
    found = weights(Story(runs=True), tool.faults, tool.harness)
    clamps = [f.name for f in tool.faults if f.kind == "battery terminal bad"]
    assert clamps and all(found[name] == STARTER_SERVED for name in clamps)
    assert weights(Story(since="yesterday"), tool.faults, tool.harness) == {}


def test_each_work_has_its_row() -> None:
    assert set(WORK_MAKES) == set(WORK)
    assert all(row for row in WORK_MAKES.values())


def test_the_story_comes_back_from_the_job_file(tmp_path: Path) -> None:
    story = Story(True, None, ("radio", "washed"), "dash", "last week", False)
    Job.create(tmp_path / "job.yaml", SALOON, story=story)
    assert Job(tmp_path / "job.yaml").story == story
    assert story.says() == (
        "cranks and runs as usual; before it: radio and washed at dash; since last week; sometimes"
    )


def test_unknown_work_is_refused() -> None:
    with pytest.raises(TracerError, match="“engine” is no work that a story knows"):
        Story(work=("engine",))
    with pytest.raises(TracerError, match="a story is not told as one"):
        Story.from_data({"runs": "yes"})


@pytest.mark.parametrize(("said", "work", "where", "since"), [
    ("left tail only glows since I fitted a new bulb", ("lamp changed",), "left rear tail", "i fitted a new bulb"),
    ("I changed the bulb. Left tail still out", (FOUND_GOOD,), "left rear tail", ""),
    ("left tail dead, changed the bulb no difference", (FOUND_GOOD,), "left rear tail", ""),
    ("left tail out, bulb's fine", (FOUND_GOOD,), "left rear tail", ""),
    ("left tail out even though the bulb has been replaced", (FOUND_GOOD,), "left rear tail", ""),
    ("changed both brake light bulbs, still no brake lights", (FOUND_GOOD,), "rear stop", ""),
    ("brake lights went after I put a new radio in", ("radio",), "", "i put a new radio in"),
    ("left tail out ever since the car was welded", ("body repair",), "", "the car was welded"),
    ("left tail out since the bumper was off", ("body repair",), "", "the bumper was off"),
    ("left tail out ever since we had the lamp unit off", ("body repair",), "", "we had the lamp unit off"),
    ("left tail out since last week", (), "", "last week"),
    ("left tail out, no difference", (), "", ""),
])
def test_a_complaint_tells_the_story(said: str, work: tuple[str, ...], where: str, since: str) -> None:
    told = read_by_rules(said, own("saloon_1970s").harness)
    assert told.story == Story(work=work, where=where, since=since)
    assert ("of the vehicle: " in told.remark()) == told.story.told


def test_what_a_complaint_tells_of_the_vehicle_counts_until_it_is_taken_back(tmp_path: Path) -> None:
    """A lamp of which another was put in is no likelier to be broken than any new one: the contact leads."""
    job = Job.create(tmp_path / "job.yaml", SALOON, story=Story(runs=True, work=("radio",)))
    job.symptom("left rear stop dark")
    assert job.suspects()[0].repair.startswith("new lamp")
    job.undo()
    job.symptom("left rear stop dark, changed the bulb")
    assert job.story == Story(True, None, ("radio", FOUND_GOOD), "left rear stop")
    assert not job.suspects()[0].repair.startswith("new lamp")
    assert Job(job.path).story == job.story
    job.undo()
    assert job.story == Story(runs=True, work=("radio",))


def test_a_bumper_that_was_off_speaks_for_what_was_parted_and_for_what_it_is_bolted_to() -> None:
    tool = own("bullets_1960s")
    found = weights(Story(work=("body repair",), where="left rear"), tool.faults, tool.harness)
    near = {f.kind: found.get(f.name, 1.0) for f in tool.faults if "left rear" in f"{f.name} {f.repair}"}
    assert near["bullet out"] > near["terminal off"] > near["mounting open"] > 1 == near["filament open"]


def test_a_new_lamp_says_nothing_of_the_others() -> None:
    tool = own("saloon_1970s")
    found = weights(Story(work=(FOUND_GOOD,), where="left rear tail"), tool.faults, tool.harness)
    # Of all that have it, as the table says: that most owners try the lamp, which the rates count, is told of it.
    here = found["filament open: left rear tail"] * brought("filament open")
    assert here == pytest.approx(WORK_MAKES[FOUND_GOOD]["filament open"] * RATES["filament open"].rate)
    assert "filament open: right rear tail" not in found


def test_what_a_story_does_is_said_by_its_strongest_factors_whichever_way_they_go() -> None:
    """A sixth is stronger than twice: that the lamp which was changed is the dead one comes before its holder."""
    tool = own("saloon_1970s")
    said = say_weights(Story(work=("lamp changed",), where="left rear"), tool.faults, tool.harness)
    factors = [float(s.rpartition(" × ")[2]) for s in said]
    assert [max(f, 1 / f) for f in factors] == sorted((max(f, 1 / f) for f in factors), reverse=True)
    by_kind = dict(s.rsplit(" × ", 1) for s in said)
    assert len(by_kind) == len(said), "each kind once"
    assert (by_kind["wrong lamp"], by_kind["holder bad"]) == ("10", "2") and float(by_kind["filament open"]) < 0.2
    assert [*by_kind].index("wrong lamp") < [*by_kind].index("filament open") < [*by_kind].index("holder bad")
    assert say_weights(Story(), tool.faults, tool.harness) == []
