"""What a form says, as a reply of the conversation."""

from __future__ import annotations

import json

from werkzeug.datastructures import MultiDict

from tracer.errors import ReadingError
from tracer.job.job import Job
from tracer.job.values import Story, VehicleState
from tracer.page.seen import marks_from
from tracer.present.conversation.screens import About, Checked, Mended, NotDone, Read, Remark, Reply, TakeBack, Told

Form = MultiDict[str, str]


def reply_from(form: Form, job: Job) -> Reply:
    """The reply that a form makes.

    Raises:
        TracerError: Something is missing or cannot be understood.
    """
    match form.get("what", ""):
        case "seen":
            return Told(marks_from(form, job).words())
        case "story":
            return About(story_from(form))
        case "words":
            return Told(_need(form, "words", "say what was seen"))
        case "read":
            return _read(form)
        case "not done":
            return NotDone(_need(form, "test", "say which test"))
        case "mended":
            return _mended(form)
        case "checked":
            return _checked(form, job)
        case "note":
            return Remark(_need(form, "text", "write the note first"))
        case "undo":
            return TakeBack(_number(form, "entry"))
        case _:
            raise ReadingError("the page did not say what this is", "load the page again")


def story_from(form: Form) -> Story:
    """The vehicle's story as far as it was told.

    Raises:
        TracerError: A work that is not one of those asked.
    """
    def said(name: str) -> bool | None:
        return {"yes": True, "no": False}.get(form.get(name, ""))

    texts = [form.get(name, "").strip()[:200] for name in ("where", "since")]
    return Story(said("runs"), said("driven"), tuple(form.getlist("work")), texts[0], texts[1], said("always"))


def state_of_check(job: Job, number: int) -> VehicleState:
    """The state in which a proof check is made.

    Raises:
        ReadingError: There is no such check.
    """
    checks = job.proof.checks if job.proof else ()
    found = next((c.state for c in checks if c.number == number), None)
    if found is None:
        raise ReadingError("there is no such check any more", "go on with what is shown now")
    return found


def _read(form: Form) -> Read:
    test = _need(form, "test", "say which test")
    if form.get("table"):
        try:
            also = [(str(lamp), str(look)) for lamp, look in json.loads(form["table"])]
        except (ValueError, TypeError, RecursionError):
            also = []
        if not also:
            raise ReadingError("the page did not say what was seen", "load the page again")
        return Read(test, also[0][1], tuple(also[1:]))
    value = " ".join(filter(None, [form.get("look", ""), form.get("flash", "")])) or form.get("value", "").strip()
    if not value:
        raise ReadingError("there is no reading yet", "type what the meter shows, or tap an answer")
    unit = form.get("unit", "")
    return Read(test, f"{value} {unit}" if unit and value[-1:].isdigit() else value)


def _mended(form: Form) -> Mended:
    what = form.get("own", "").strip() or _need(form, "repair", "say what was repaired")
    parts = tuple(p.strip() for p in form.get("parts", "").split(",") if p.strip())
    took = form.get("minutes", "").strip().replace(",", ".")
    try:
        minutes = float(took) if took else None
    except ValueError:
        raise ReadingError(f"“{took}” is not a number of minutes", "such as 15") from None
    if minutes is not None and not 0 <= minutes <= 10_000:
        raise ReadingError(f"“{took}” is not a number of minutes", "such as 15")
    return Mended(what, parts, minutes)


def _checked(form: Form, job: Job) -> Checked:
    number, of_repair = _number(form, "check"), _number(form, "repair")
    if form.get("result") == "ok":
        return Checked(number, of_repair, "ok")
    if "shows" in form:
        return Checked(number, of_repair, _need(form, "shows", "write what the meter shows"))
    return Checked(number, of_repair, marks_from(form, job, state_of_check(job, number)).words())


def _need(form: Form, name: str, hint: str) -> str:
    value = form.get(name, "").strip()
    if not value:
        raise ReadingError("something is missing", hint)
    return value


def _number(form: Form, name: str) -> int:
    value = form.get(name, "")
    if not value.isdecimal() or len(value) > 9:
        raise ReadingError("the page did not say which entry this is", "load the page again")
    return int(value)
