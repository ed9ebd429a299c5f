"""The questions of a new vehicle as a page: a part at a time, what was answered before in hidden fields."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from flask import render_template

from tracer.errors import TracerError
from tracer.job.new_harness import QUESTIONS, Answers, harness_from_answers, usual
from tracer.page.folder import Folder

_FIELD: Final = "a:"


def answers_from(form: Mapping[str, str]) -> tuple[Answers, dict[str, str]]:
    """What a form holds, in the order of the questions, and what of it is no answer, by question."""
    answers, wrong = Answers(), dict[str, str]()
    for q in QUESTIONS:
        typed = form.get(_FIELD + q.id)
        if typed is None or q.id not in {due.id for due in _open(answers)}:
            continue  # not sent, or no longer asked with what was answered before
        try:
            answers = answers.with_answer(q.id, typed)
        except TracerError as error:
            wrong[q.id] = str(error)
            break
    return answers, wrong


def _open(answers: Answers) -> list[Any]:
    return list(answers.due_together())


def vehicle_page(answers: Answers, wrong: Mapping[str, str]) -> str:
    """The next part of the questions."""
    questions = answers.due_together()
    known = answers.known()
    given = {f"{_FIELD}{q.id}": answers.said.get(q.id, "") for q in QUESTIONS
             if q.id in answers.said or q.id in answers.passed}
    return render_template(
        "vehicle.html", part=questions[0].part, given=given, wrong=wrong, field=_FIELD,
        questions=[(q, usual(q, known)) for q in questions], count=len(given),
    )


def write_vehicle(folder: Folder, answers: Answers) -> str:
    """The name of the new harness file."""
    return folder.add_harness(answers.known()["title"], harness_from_answers(answers))
