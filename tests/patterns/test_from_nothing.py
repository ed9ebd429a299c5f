"""Vehicles without a diagram: a conversation from nothing to a checked harness, a job on it to a proven repair."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from tracer.checking.rules import check
from tracer.circuit.model import NO_CHANGE
from tracer.errors import ProblemsError, UnknownNameError
from tracer.guide.new_vehicle import StoppedError, ask_for_vehicle
from tracer.harness.file.text import read_harness
from tracer.job.job import Job
from tracer.observation.words.readings import test_key as key_of
from tracer.observation.words.states import parse_state
from tracer.patterns.answers import Answers, choice_of, read_answers
from tracer.patterns.file_text import harness_from_answers
from tracer.patterns.questions import BY_ID, QUESTIONS
from tracer.practice.simulated_vehicle import PracticeVehicle

# What somebody at the vehicle knows, by the beginning of the question; to every other question Enter.
ESTATE = {
    "What is it called": "Invented estate", "When was it built": "1955 to 1969", "Which colour code": "British",
    "Reversing": "two", "Number-plate": "2", "How are the looms": "bullets", "Side repeaters": "none",
}
MOTORCYCLE = {
    "What is it called": "Invented twin", "What kind of vehicle": "motorcycle",
    "When was it built": "before", "How many volts": "6",
    "Which pole": "positive", "Which colour code": "BS", "Flashing": "own", "How are the rear": "own",
}
COUPLED = {
    "What is it called": "Invented car and caravan", "When was it built": "1970", "Rear fog": "one",
    "A trailer socket": "7", "What is coupled": "caravan", "How are the looms": "plugs", "Which colour": "IEC",
}


class Person:
    """Answers what it knows and presses Enter otherwise; `shown` is the screen."""

    def __init__(self, knows: dict[str, str]) -> None:
        self.knows, self.shown, self.answered = knows, list[str](), 0

    def say(self, line: str) -> None:
        self.shown.append(line)

    def ask(self, prompt: str) -> str:
        self.answered += 1
        assert self.answered < 60, self.shown[-4:]
        question = next(x for x in reversed(self.shown) if x.endswith("?"))
        return next((a for q, a in self.knows.items() if question.startswith(q)), "")


def described(knows: dict[str, str]) -> tuple[Answers, Person]:
    person = Person({**knows, "Which colour code": {"British": "BS AU 7"}.get(c, c)} if (
        c := knows.get("Which colour code", "")) else knows)
    answers, count = ask_for_vehicle(person.ask, person.say, 80)
    assert count == person.answered
    assert max(map(len, person.shown)) <= 80
    return answers, person


@pytest.mark.parametrize(("knows", "lamps"), [(ESTATE, 20), (MOTORCYCLE, 10), (COUPLED, 20)],
                         ids=["estate", "motorcycle", "coupled"])
def test_from_nothing_to_a_checked_harness_in_forty_answers(knows: dict[str, str], lamps: int) -> None:
    answers, person = described(knows)
    harness = read_harness(harness_from_answers(answers))
    assert [str(f) for f in check(harness)] == []
    assert len(harness.lamps()) >= lamps
    assert person.answered <= 40


def test_no_vehicle_asks_more_than_forty_questions() -> None:
    """Answered so that as much as possible is there, in many orders of luck."""
    for seed in range(400):
        rng, answers, count = random.Random(seed), Answers(), 0
        while (q := answers.due()) is not None:
            # What leads on: not “none” or “no”, nine times in ten.
            onward = [c for c in q.choices if c not in ("none", "no")] or ["x"]
            pick = rng.choice(onward if rng.random() < 0.9 else list(q.choices) or ["x"])
            answers, count = answers.with_answer(q.id, pick), count + 1
        assert count <= 40, answers.said
    assert len(QUESTIONS) < 50


# --- a job on each --------------------------------------------------------------------------------


def worked(path: Path, text: str, planted: str, state: str, *lamps: str) -> tuple[Job, int]:
    """A job on the vehicle, answered by a simulated one with a planted fault, until it is proven; how many repairs
    were tried in vain.

    What is complained of is how the lamps named look on it in a state.
    """
    harness = path / "vehicle.yaml"
    harness.write_text(text, encoding="utf-8")
    job = Job.create(path / "job.yaml", harness, "Invented")
    (fault,) = (f for f in job.investigator.faults if f.name.startswith(planted))
    supply_v = 0.99 * 1.05 * job.harness.system_v  # a little less than a charged battery has: the tool is not told
    vehicle = PracticeVehicle(job.harness, fault.variants[0].change, supply_v, [fault])
    looks = vehicle.looks(parse_state(state, job.harness))
    sound = PracticeVehicle(job.harness, NO_CHANGE, supply_v).looks(parse_state(state, job.harness))
    assert any(looks[lamp] != sound[lamp] for lamp in lamps)
    looks = {lamp: "lit" if sound[lamp] == "dark" and look == "normal" else look for lamp, look in looks.items()}
    job.symptom(", ".join(f"{lamp} {looks[lamp]}" for lamp in lamps) + f" when {state}")
    wrong, cured = 0, False
    for _ in range(20):
        if job.closed:
            break
        step = job.next()
        if step.test is not None:
            job.reading(key_of(step.test), vehicle.answer(step.test))
            continue
        suspect = step.suspect
        assert step.kind == "repair" and suspect is not None, step.says
        cured = fault.repair in (suspect.repair, *suspect.inseparable)
        wrong += not cured
        if cured:
            vehicle = PracticeVehicle(job.harness, NO_CHANGE, supply_v)
        number = [s.repair for s in job.suspects()].index(suspect.repair) + 1
        for c in job.repaired(str(number), minutes=5).checks:
            if c.again is not None:
                job.prove(c.number, vehicle.answer(c.again.test))
                continue
            seen, expected = vehicle.looks(c.state), dict(c.expected)
            odd = {k: v for k, v in seen.items() if v.split(",")[0] != expected.get(k, "dark").split(",")[0]}
            told = {k: "lit" if v == "normal" and expected.get(k, "dark") == "dark" else v for k, v in odd.items()}
            job.prove(c.number, ", ".join(f"{k} {v}" for k, v in told.items()) or "ok")
            if odd:
                break
    assert step.suspect is not None
    assert job.closed and cured
    return job, wrong


def _bullet_of(text: str, end: str) -> str:
    """The bullet that a terminal's wire passes last."""
    harness = read_harness(text)
    run = next(w.run for w in harness.wires if w.run[-1] == end)
    return run[-2]


def test_a_bullet_that_fell_out_on_the_estate(tmp_path: Path) -> None:
    text = harness_from_answers(described(ESTATE)[0])
    _, wrong = worked(tmp_path, text, f"bullet out: {_bullet_of(text, 'left rear.tail')}",
                      "lighting switch side", "left rear tail", "right rear tail")
    assert wrong == 0


@pytest.mark.long
def test_the_earth_of_a_motorcycles_rear_lamp(tmp_path: Path) -> None:
    text = harness_from_answers(described(MOTORCYCLE)[0])
    _, wrong = worked(tmp_path, text, "wire open: rear lamp.earth", "lighting switch pilot", "rear lamp tail",
                      "headlamp pilot")
    assert wrong <= 1, "cleaning the holder, which is far likelier, may be tried first"


@pytest.mark.long
def test_the_return_of_a_caravan_in_its_plug(tmp_path: Path) -> None:
    text = harness_from_answers(described(COUPLED)[0])
    _, wrong = worked(tmp_path, text, "way open: X1 way 3", "brake pedal pressed", "trailer left stop",
                      "trailer right stop", "trailer left indicator")
    assert wrong == 0


# --- what is typed wrongly -----------------------------------------------------------------------


@pytest.mark.parametrize(("question", "typed", "answer"), [
    ("volts", "12", "12 V"), ("volts", "2", "24 V"), ("built", "1967", "1955 to 1969"),
    ("built", "1948", "before 1955"),
    ("built", "1991", "1985 or later"), ("plate lamps", "2", "two"), ("fuses", "4", "four"),
    ("headlamps", "2", "two"), ("tell-tales", "0", "none"), ("repeaters", "2", "one a side"), ("fuses", "e", "each"),
    ("volts", " 6v ", "6 V"), ("earth", "pos", "positive"),
    ("vehicle", "2", "van"), ("hazards", "y", "yes"), ("title", "My  car", "My car"), ("volts", "?", None),
    ("earth", "", None), ("fuses", "Don't know", None), ("socket", "13", "13 ways"),
])
def test_answers_are_understood(question: str, typed: str, answer: str | None) -> None:
    assert choice_of(BY_ID[question], typed) == answer


@pytest.mark.parametrize(("question", "typed", "told"), [
    ("volts", "13", "volts: “13” is no choice"), ("vehicle", "tra", "could be tractor or trailer"),
    ("vehicle", "0", "is no choice"), ("volts", "3", "is no choice"), ("built", "19", "could be"),
    ("earth", "9", "is no choice"), ("title", "x" * 200, "cannot be a name"),
])
def test_answers_that_are_none_say_why(question: str, typed: str, told: str) -> None:
    with pytest.raises(UnknownNameError, match=told) as caught:
        choice_of(BY_ID[question], typed)
    assert caught.value.hint


def test_a_file_of_answers_is_read_and_its_mistakes_are_told_all_at_once() -> None:
    said = read_answers("vehicle: van\nvolts: 24 V\nearth: not known\n", "a.yaml").said
    assert said == {"vehicle": "van", "volts": "24 V"}
    with pytest.raises(ProblemsError) as caught:
        read_answers("vehicle: vann\nvolt: 12 V\nearth: [a]\nwork lamps: two\n", "a.yaml")
    told = [str(p) for p in caught.value.problems]
    assert [t.split(": ")[0] for t in told] == ["a.yaml:1:10", "a.yaml:2:1", "a.yaml:3:8", "a.yaml:4:13"]
    assert "did you mean “van” or “caravan”?" in told[0] and "did you mean “volts”?" in told[1]
    assert "not asked with “vehicle: car”" in told[3]
    for text in ("- a\n", "[]\n", "just text"):
        with pytest.raises(ProblemsError, match="no list of answers"):
            read_answers(text, "a.yaml")


def scripted(*typed: str) -> tuple[Callable[[str], str], list[str]]:
    left, shown = list(typed), list[str]()

    def ask(prompt: str) -> str:
        shown.append(prompt)
        return left.pop(0) if left else "d"

    return ask, shown


def test_back_wrong_and_stop_at_the_terminal() -> None:
    said: list[str] = []
    ask, shown = scripted("Mine", "boat", "h", "tractor", "b", "van", "1955", "d")
    with pytest.raises(StoppedError, match="nothing was written"):
        ask_for_vehicle(ask, said.append, 72)
    assert any(line.startswith("? vehicle: “boat” is no choice") for line in said)
    assert any("at every question" in line.casefold() for line in said)
    assert sum(line == "What kind of vehicle is it?" for line in said) == 2
    assert shown[-1] == "[12 V] > "


def test_what_is_usual_can_be_confirmed_with_one_key() -> None:
    """Enter takes the usual and does not say that it is so; “=” does, and its lines count as followed."""
    confirmed, _ = described({q.text: "=" for q in QUESTIONS if q.id != "title"} | {"What is it called": "Mine"})
    passed, _ = described({"What is it called": "Mine"})
    assert {k: v for k, v in confirmed.known().items() if k != "title"} == {
        k: v for k, v in passed.known().items() if k != "title"}
    assert not read_harness(harness_from_answers(confirmed)).unsure
    assert read_harness(harness_from_answers(passed)).unsure
