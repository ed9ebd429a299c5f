"""Exercises: the same seed gives the same vehicle, the answer stands nowhere before the end, the plan finds it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.long import rest_long
from tracer.errors import JobFileError, TracerError, UnknownNameError
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness
from tracer.inference.hypotheses import basic_states
from tracer.observation.evidence import Symptom
from tracer.observation.forward_model import Predictor
from tracer.observation.words.probes import parse_test
from tracer.observation.words.states import state_words
from tracer.observation.words.symptoms import parse_symptom
from tracer.patterns.likeness import alike
from tracer.practice.answers import LearnersVehicle
from tracer.practice.complaint import complaint
from tracer.practice.debrief import debrief
from tracer.practice.exercise import Exercise
from tracer.practice.hidden_faults import LEVELS, draw, oddities
from tracer.practice.plan_player import play_plan

REAR = MODELS / "rear_end.yaml"


@pytest.fixture
def begun(tmp_path: Path) -> Exercise:
    return Exercise.begin(tmp_path / "lesson.yaml", REAR, 2, 2)


def test_the_same_seed_hides_the_same_fault_and_another_seed_mostly_another() -> None:
    harness = load_harness(REAR)
    drawn = [draw(harness, 2, seed).names for seed in range(8)]
    assert drawn == [draw(harness, 2, seed).names for seed in range(8)]
    assert len(set(drawn)) > 3


@pytest.mark.parametrize("level", [n for n in LEVELS if n < 7])
def test_every_level_gives_a_complaint_that_the_job_understands(level: int) -> None:
    harness = load_harness(MODELS / "car_1950s.yaml")
    hidden = draw(harness, level, 1)
    said = complaint(harness, hidden, 1)
    assert 1 <= len(said) <= 2
    for sentence in said:
        assert parse_symptom(sentence, harness).seen
    assert len(hidden.faults) == (2 if level == 5 else 1)


def test_wiring_that_is_otherwise_is_no_fault_and_shows_in_the_fault(tmp_path: Path) -> None:
    """A copy of a model that nobody has followed: the vehicle works with what is otherwise; the answer says it."""
    path = tmp_path / "alike.yaml"
    path.write_text(alike(REAR.read_text(encoding="utf-8"), "rear_end.yaml"), encoding="utf-8")
    exercise = Exercise.begin(tmp_path / "lesson.yaml", path, 7, 1)
    hidden = draw(exercise.job.harness, 7, 1)
    states = basic_states(exercise.job.harness)
    assert len(hidden.faults) == len(hidden.otherwise) == 1
    assert list(oddities(Predictor(exercise.job.harness), hidden.sound, states)) == []
    assert exercise.repair(hidden.faults[0].repair).left == ()
    assert exercise.answer == (
        hidden.faults[0].says, f"not as the file says, and no fault: {hidden.otherwise[0].says}")


def test_an_unknown_level_is_refused() -> None:
    with pytest.raises(TracerError, match="no level 9"):
        draw(load_harness(REAR), 9, 1)


def test_the_answer_stands_in_no_file_before_the_end(begun: Exercise) -> None:
    hidden = draw(begun.job.harness, 2, 2)
    begun.hint()
    written = "".join(p.read_text(encoding="utf-8") for p in begun.path.parent.iterdir() if p.is_file())
    for fault, variant in zip(hidden.faults, hidden.variants, strict=True):
        assert fault.name not in written
        assert fault.says not in written
        assert fault.repair not in written
        assert not variant.says or f"{fault.says} ({variant.says})" not in written
    with pytest.raises(JobFileError, match="not over"):
        _ = begun.answer


def test_the_seal_tells_a_changed_harness(tmp_path: Path) -> None:
    """A fault that is another than at the beginning is no exercise any more."""
    own = tmp_path / "own.yaml"
    own.write_bytes(REAR.read_bytes())
    exercise = Exercise.begin(tmp_path / "lesson.yaml", own, 2, 7)
    seal = tmp_path / "lesson.yaml.sealed"
    data = json.loads(seal.read_text(encoding="utf-8"))
    seal.write_text(json.dumps({**data, "digest": "0" * 64}), encoding="utf-8")
    with pytest.raises(JobFileError, match="another than at the beginning"):
        Exercise(exercise.path)


@pytest.mark.parametrize("content", ["", "{", "[]", '{"exercise": 99}', '{"exercise": 1, "level": "x"}',
                                     '{"exercise": 1, "level": [], "seed": 1, "digest": 3}'])
def test_a_damaged_seal_is_said_in_words(begun: Exercise, content: str) -> None:
    begun.path.with_name("lesson.yaml.sealed").write_text(content, encoding="utf-8")
    with pytest.raises(JobFileError, match="damaged or of a newer version"):
        Exercise(begun.path)


def test_a_job_that_is_no_exercise_is_said_in_words(begun: Exercise) -> None:
    begun.path.with_name("lesson.yaml.sealed").unlink()
    with pytest.raises(JobFileError, match="no exercise"):
        Exercise(begun.path)


def test_what_is_asked_is_answered_and_stands_in_the_job(begun: Exercise) -> None:
    lamp = begun.job.harness.lamps()[0].lamp
    done = begun.ask(f"look {lamp} when brake pedal pressed")
    assert done.answer.partition(",")[0] in ("dark", "faint", "dim", "normal")
    again = Exercise(begun.path)
    assert [e.item for e in again.job.entries] == [e.item for e in begun.job.entries]


def test_a_meter_is_off_by_its_spread_and_the_same_each_time() -> None:
    """Half a per cent and a digit: 12.5 V reads within 0.2 V, and not always the same on another day's meter."""
    harness = load_harness(REAR)
    hidden = draw(harness, 1, 7)
    test = parse_test("volts at battery.+ when brake pedal released", harness)
    shown = {seed: LearnersVehicle(harness, hidden, seed).answer(test, 0) for seed in range(6)}
    assert shown == {seed: LearnersVehicle(harness, hidden, seed).answer(test, 3) for seed in range(6)}
    volts = {float(text.removesuffix(" V")) for text in shown.values()}
    assert len(volts) > 3
    assert all(0.94 * harness.system_v < v < 1.08 * harness.system_v for v in volts)


def test_what_comes_and_goes_is_seen_sometimes() -> None:
    harness = load_harness(REAR)
    hidden = draw(harness, 6, 3)
    vehicle = LearnersVehicle(harness, hidden, 3)
    state = parse_symptom(complaint(harness, hidden, 3)[0], harness).state
    assert len({tuple(vehicle.looks(state, asked).items()) for asked in range(12)}) == 2


def test_repairing_what_is_wrong_ends_it_and_anything_else_does_not(begun: Exercise) -> None:
    hidden = draw(begun.job.harness, 2, 2).faults[0]
    other = next(f for f in list_faults(begun.job.harness)
                 if f.kind == "filament open" and not {*f.elements} & {*hidden.elements})
    wrong = begun.repair(other.repair)
    assert not wrong.helped
    assert wrong.left
    assert not begun.over
    right = Exercise(begun.path).repair(hidden.repair)
    assert right.helped
    assert right.left == ()
    over = Exercise(begun.path)
    assert over.over
    assert over.answer == (hidden.says,)
    assert over.parts_in_vain() == (other.repair,)
    with pytest.raises(JobFileError, match="is over"):
        over.ask("look anything")


def test_a_wire_renewed_with_its_bad_terminal_is_not_renewed_in_vain(tmp_path: Path) -> None:
    """No current tells the terminal from its wire; who renews the wire has made the terminal anew as well."""
    begun = Exercise.begin(tmp_path / "lesson.yaml", MODELS / "bullets_1960s.yaml", 2, 26681)
    hidden = draw(begun.job.harness, 2, 26681).faults[0]
    assert hidden.kind == "terminal bad"
    wire = next(f for f in list_faults(begun.job.harness)
                if f.kind == "wire bad" and {*f.elements} & {*hidden.elements})
    assert begun.repair(wire.repair).helped
    over = Exercise(begun.path)
    assert over.over and over.parts_in_vain() == ()


def test_an_earth_point_remade_has_its_eyelets_clean(tmp_path: Path) -> None:
    """Every eyelet is off the point that is remade, and none of another's (common practice, no source)."""
    pickup = MODELS / "pickup.yaml"
    harness = load_harness(pickup)
    exercise = Exercise.begin(tmp_path / "lesson.yaml", pickup, 2, 15)
    assert exercise.hidden.faults[0].kind in ("eyelet bad", "eyelet open")  # what this seed hides
    points = {f.node: f.repair for f in list_faults(harness) if f.kind == "earth bad"}
    own = points.pop(exercise.hidden.faults[0].node)
    assert not exercise.repair(next(iter(points.values()))).helped
    assert exercise.repair(own).helped
    assert not exercise.vehicle.hidden.faults


def test_a_repair_is_known_by_some_of_its_words_and_offered_where_several_hold_them(begun: Exercise) -> None:
    with pytest.raises(UnknownNameError) as several:
        begun.repair("new lamp:")
    assert len(several.value.choices) > 1
    with pytest.raises(UnknownNameError, match="no repair"):
        begun.repair("")


def test_a_clumsy_learner_is_told_what_was_clumsy(begun: Exercise) -> None:
    """Asks what the complaint has said already, names no caution, renews a sound lamp, and gives up."""
    said = begun.job.evidence[0]
    assert isinstance(said, Symptom)
    for _ in range(2):
        begun.ask(f"look {sorted(said.lamps_named())[0]} when {state_words(said.state)}")
    hidden = draw(begun.job.harness, 2, 2).faults[0]
    sound = next(f.repair for f in list_faults(begun.job.harness)
                 if f.kind == "filament open" and not {*f.elements} & {*hidden.elements})
    begun.repair(sound)
    begun.give_up()
    told = debrief(begun)
    assert not told.found
    assert told.in_vain == (sound,)
    assert told.tests[1].says == "told nothing new"
    assert told.plan.found
    assert told.parted


@pytest.mark.parametrize("level", rest_long([1, 4, 2]))  # of level 2 one is played for the clumsy learner
def test_the_tools_own_plan_puts_it_right_through_the_same_exercise(level: int) -> None:
    played = play_plan(REAR, level, 11)
    assert played.found
    assert played.minutes < 90
