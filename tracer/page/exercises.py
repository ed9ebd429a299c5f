"""Exercises on the page: a vehicle with a hidden fault is asked, and answers."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Any

from flask import render_template, request
from werkzeug.wrappers import Response as AnyResponse

from tracer.errors import ReadingError, TracerError
from tracer.job.file import sealed_path
from tracer.page.folder import Folder, OpenJob
from tracer.page.shared import Pages
from tracer.practice import learner, seal
from tracer.practice.debrief import Debrief, debrief
from tracer.practice.debrief_words import debrief_lines
from tracer.practice.exercise import Exercise, free_path
from tracer.practice.hidden_faults import LEVELS, Hidden
from tracer.present.job_words import say_event
from tracer.units import whole_number

_SHOWN = 8  # of the list of suspects


class ExercisePages:
    """The views of exercises, over the pages of the folder."""

    def __init__(self, folder: Folder, pages: Pages) -> None:
        self.folder, self.pages = folder, pages
        self._told: dict[tuple[str, str], Debrief] = {}  # of exercises that are over: the plan is played once
        self._drawn: dict[tuple[str, str], Hidden] = {}  # what is hidden: drawing it may take seconds

    def rules(self) -> list[tuple[str, Callable[..., Any], list[str]]]:
        return [
            ("/exercises", self.exercises, ["GET"]), ("/exercises", self.begin, ["POST"]),
            ("/exercise/<name>", self.exercise, ["GET"]), ("/exercise/<name>", self.said, ["POST"]),
        ]

    def exercises(self) -> str:
        known = [name for name, path in self.folder.jobs().items() if sealed_path(path).is_file()]
        return render_template("exercises.html", harnesses=list(self.folder.harnesses()), levels=LEVELS, known=known)

    def begin(self) -> AnyResponse:
        form, harnesses = request.form, self.folder.harnesses()
        if form.get("vehicle_file", "") not in harnesses:
            raise ReadingError("choose a wiring file to practise on", "one of those of this folder")
        name = form.get("learner", "").strip()
        if name:
            learner.file_of(name)  # a name that cannot be kept is told at once
        path = free_path(self.folder.path)
        Exercise.begin(path, harnesses[form["vehicle_file"]], whole_number(form.get("level", "")) or 1,
                       secrets.randbelow(10**6), name)
        return self.pages.go(f"/exercise/{path.stem}")

    def exercise(self, name: str) -> str:
        with self.pages.opened(name) as opened:
            return self._shown(name, self._exercise(name, opened), opened)

    def _exercise(self, name: str, opened: OpenJob) -> Exercise:
        """The exercise of a job, its fault drawn once for what its seal says."""
        key = name, seal.read(opened.job.path).digest
        exercise = Exercise(opened.job.path, opened.job, self._drawn.get(key))
        self._drawn[key] = exercise.hidden
        return exercise

    def said(self, name: str) -> AnyResponse | str:
        """One thing asked or done; what is not understood is said on the same page, and nothing is lost."""
        with self.pages.opened(name) as opened:
            exercise = self._exercise(name, opened)
            what, words = request.form.get("what", ""), request.form.get("words", "").strip()
            try:
                told = _done(exercise, what, words)
            except TracerError as error:
                return self._shown(name, exercise, opened, wrong=str(error), choices=error.choices, typed=words)
            return self._shown(name, exercise, opened, told=told)

    def _shown(self, name: str, exercise: Exercise, opened: OpenJob, **values: Any) -> str:
        job, result, counted = exercise.job, list[str](), tuple[str, ...]()
        if exercise.over:
            seal_of = name, exercise.seal.digest
            if seal_of not in self._told:
                self._told[seal_of] = debrief(exercise)
            found = self._told[seal_of]
            result, counted = debrief_lines(found), learner.counted(exercise, found)
        events = [e for e in job.record.living if e.kind in ("symptom", "reading", "repaired", "proof")]
        return self.pages.page(
            "exercise.html", opened, name, over=exercise.over, minutes=exercise.minutes, result=result,
            counted=counted, level=exercise.seal.level, lines=[say_event(job, e) for e in events],
            suspects=[] if exercise.over else job.suspects()[:_SHOWN], **{
                "told": (), "wrong": "", "choices": (), "typed": "", **values})


def _done(exercise: Exercise, what: str, words: str) -> list[str]:
    """What came of it, in lines."""
    match what:
        case "ask":
            done = exercise.ask(words)
            return [f"{done.asked}: {done.answer}", *filter(None, [done.recorded.remark])]
        case "look":
            shown, recorded = exercise.look(words)
            return [*(f"{lamp}: {look}" for lamp, look in shown), "every other lamp: dark",
                    *filter(None, [recorded.remark])]
        case "hint":
            proposal = exercise.hint()
            return [proposal.says, *filter(None, [proposal.why])]
        case "mind":
            exercise.mind(words)
            return ["Noted."]
        case "repair":
            done_so = exercise.repair(words)
            if exercise.over:
                return [f"{done_so.repair}: done, and every lamp does what it should."]
            return [f"{done_so.repair}: {'that was wrong too, but' if done_so.helped else 'done;'} still:",
                    *done_so.left]
        case "give up":
            exercise.give_up()
            return []
    raise ReadingError("choose what to do", "ask, look, repair, a hint, or give up")
