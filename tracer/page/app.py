"""The pages: each made on this machine, each working without a script."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from flask import Flask, Response, abort, jsonify, redirect, render_template, request
from jinja2 import StrictUndefined
from markupsafe import Markup
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from tracer.errors import DrawingError, TracerError
from tracer.job.estimating import estimate_of
from tracer.job.job import Job
from tracer.job.photos import about, notes_of, photos_of
from tracer.job.typed import INSTRUMENTS
from tracer.job.values import TRAFFIC, WORK
from tracer.page.access import WrongKeys, guard
from tracer.page.exercises import ExercisePages
from tracer.page.folder import Folder, OpenJob, limits_of
from tracer.page.plans import PlanPages
from tracer.page.replies import reply_from, state_of_check, story_from
from tracer.page.seen import (
    FLASHES,
    LOOKS,
    Marks,
    chips_of,
    marks_from,
    marks_of_words,
    parts_heard,
    spots_of,
    state_from,
)
from tracer.page.shown import filters
from tracer.page.things import ThingPages
from tracer.page.typed_file import DRAWING_POLICY, TypedFiles
from tracer.page.vehicle import answers_from, vehicle_page, write_vehicle
from tracer.present.conversation.core import answer, last_own, proving, recorded, screen_of
from tracer.present.conversation.screens import Closed, Remark, Seen, Step
from tracer.present.conversation.thing import owner_in
from tracer.present.drawing.draw import draw
from tracer.present.drawing.selection import numbered_tests, view_of_job
from tracer.present.drawing.targets import targets
from tracer.present.job_words import say_event
from tracer.present.memory_words import memory_words
from tracer.present.report import Bill, customer_html, report_html
from tracer.present.suspects_screen import explained_lines, ranked
from tracer.present.text import plain

MOST_BODY: Final = 64_000  # bytes of a form
_TEMPLATES = {"seen": "seen.html", "step": "step.html", "repair": "repair.html", "proof": "proof.html",
              "closed": "closed.html", "give up": "give_up.html"}


def make_app(
    folder: Path, key: str, hosts: Collection[str], wrong: WrongKeys | None = None, ahead: bool = False
) -> Flask:
    """The application that serves the jobs of a folder.

    Args:
        key: That every request must know.
        hosts: Values of the Host header under which it is reached.
        wrong: Counts wrong keys.
        ahead: Work ahead in a thread while somebody marks what was seen.
    """
    app = Flask(__name__)
    app.config["MAX_CONTENT_LENGTH"] = MOST_BODY
    app.config["MAX_FORM_MEMORY_SIZE"] = MOST_BODY
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.undefined = StrictUndefined  # a name that a template misspells is an error
    app.jinja_env.finalize = _shown
    app.jinja_env.filters.update(filters())
    guard(app, key, hosts, wrong)
    jobs = Folder(folder)
    pages = Pages(jobs, ahead)
    every = (*pages.rules(), *PlanPages(pages).rules(), *ThingPages(pages).rules(), *TypedFiles(jobs).rules(),
             *ExercisePages(jobs, pages).rules())
    for rule, view, methods in every:
        app.add_url_rule(rule, view.__name__, view, methods=methods)
    app.register_error_handler(HTTPException, _refused)
    app.register_error_handler(TracerError, _not_possible)
    app.register_error_handler(OSError, _not_possible)
    return app


def _shown(value: object) -> object:
    """What a template prints: signs that cannot be seen are shown (and all is escaped next)."""
    return plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _refused(error: HTTPException) -> tuple[str, int]:
    said = {404: "There is no such page here. The job may have been renamed or deleted.",
            405: "That is not done this way. Go back to the job.", 413: "That is too big to be taken.",
            500: "That went wrong here. What was acknowledged before is safe; look at the record, then try again."}
    code = error.code or 500
    says = said.get(code, error.description or "That went wrong.")
    return render_template("error.html", says=says, back=None), code


def _not_possible(error: Exception) -> AnyResponse | tuple[str, int]:
    says = str(error) if isinstance(error, TracerError) else f"{getattr(error, 'strerror', '') or error}"
    if request.headers.get("Accept") == "application/json":
        return jsonify({"error": says}), 422  # type: ignore[return-value]
    return render_template("error.html", says=says, back=request.referrer if request.method == "POST" else None), 422


class Pages:
    """The views, over one folder."""

    def __init__(self, folder: Folder, ahead: bool = False) -> None:
        self.folder, self.ahead = folder, ahead

    def rules(self) -> list[tuple[str, Callable[..., Any], list[str]]]:
        get, post = ["GET"], ["POST"]
        return [
            ("/", self.jobs, get), ("/new", self.new, get), ("/new", self.start, post),
            ("/vehicle", self.vehicle, ["GET", "POST"]),
            ("/job/<name>", self.now, get), ("/job/<name>/entry", self.entry, post),
            ("/job/<name>/seen", self.seen, get), ("/job/<name>/understood", self.understood, post),
            ("/job/<name>/usual", self.usual, get), ("/job/<name>/other", self.other, get),
            ("/job/<name>/suspects", self.suspects, get), ("/job/<name>/estimate", self.estimate, get),
            ("/job/<name>/circuit", self.circuit, get),
            ("/job/<name>/circuit.svg", self.circuit_svg, get), ("/job/<name>/record", self.record, get),
            ("/job/<name>/report", self.report, get), ("/job/<name>/customer", self.customer, get),
            ("/job/<name>/stand", self.stand, get),
        ]

    @contextmanager
    def opened(self, name: str) -> Iterator[OpenJob]:
        if name not in self.folder.jobs():
            abort(404)
        with self.folder.job(name) as opened:
            yield opened

    def page(self, template: str, opened: OpenJob, name: str, **values: Any) -> str:
        """A page of a job, with what was said back to the entry named in the address."""
        said = request.args.get("said", "")
        number = int(said) if said.isdecimal() and len(said) < 9 else 0
        remark, changed = opened.remarks.get(number, ("", ""))
        return render_template(
            template, name=name, job=opened.job, stand=opened.stand, mark=secrets.token_urlsafe(9),
            said=recorded(opened.job, number) if number else "", said_number=number, remark=remark, changed=changed,
            taken_back=said == "back", last=last_own(opened.job), **values,
        )

    # --- the folder

    def jobs(self) -> str:
        return render_template("jobs.html", jobs=self.folder.listed(), folder=self.folder.path.name)

    def new(self) -> str:
        harnesses = list(self.folder.harnesses())
        earlier = [j for j in self.folder.listed() if not j.broken]
        return render_template("new.html", harnesses=harnesses, earlier=earlier, work=WORK,
                               traffic=TRAFFIC)

    def vehicle(self) -> str | AnyResponse:
        """The questions of a new vehicle; answered all, its wiring file is written."""
        answers, wrong = answers_from(request.form)
        if wrong or answers.due() is not None:
            return vehicle_page(answers, wrong)
        write_vehicle(self.folder, answers)
        return self.go("/new")

    def start(self) -> AnyResponse:
        form = request.form
        kind, _, what = form.get("vehicle_file", "").partition(":")
        if kind not in ("harness", "job"):
            raise TracerError("choose the vehicle first", "its wiring file, or an earlier job on it")
        try:
            name = self.folder.start(what if kind == "harness" else "", form.get("vehicle", "").strip(),
                                     form.get("complaint", "").strip(), what if kind == "job" else "",
                                     story_from(form), form.get("traffic", ""))
        except KeyError:
            raise TracerError("that vehicle is not in the folder any more", "choose another") from None
        return self.go(f"/job/{name}")

    def go(self, where: str) -> AnyResponse:
        if request.headers.get("Accept") == "application/json":
            return jsonify({"go": where})
        return redirect(where, 303)

    # --- the conversation

    def now(self, name: str) -> str | AnyResponse:
        with self.opened(name) as opened:
            limits = limits_of(request.args, request.args.getlist("without"))
            job = opened.job
            if limits and limits.at:
                job.need_place(limits.at)
            if job.closed or (not job.evidence and not job.repairs):
                screen = screen_of(job)
            else:
                passed = {int(n) for n in request.args.getlist("later") if n.isdecimal() and len(n) < 5}
                screen = screen_of(job, limits, None if proving(job) else opened.proposal(limits), passed)
            if isinstance(screen, Seen):
                if self.ahead:
                    opened.work_ahead()
                return self._seen_page(opened, name, Marks(job.harness.state({})))
            near = _kept_at(job, screen) if isinstance(screen, Step) else {}
            later = request.args.getlist("later")[:50]
            return self.page(_TEMPLATES[screen.kind], opened, name, screen=screen, later=later, **near)

    def entry(self, name: str) -> AnyResponse:
        form = request.form
        with self.opened(name) as opened:
            opened.take_ahead()
            reply = reply_from(form, opened.job)
            said = answer(opened.job, reply, form.get("mark", "")[:40])
            if not said.number:
                return self.go(f"/job/{name}/record?said=back")
            if said.remark or said.changed:
                opened.remarks[said.number] = said.remark, said.changed
            return self.go(f"/job/{name}{'/record' if isinstance(reply, Remark) else ''}?said={said.number}")

    def seen(self, name: str) -> str:
        with self.opened(name) as opened:
            job, check, test = opened.job, request.args.get("check", ""), request.args.get("test", "")
            if check:
                number = int(check) if check.isdecimal() and len(check) < 9 else 0
                return self._seen_page(opened, name, Marks(state_of_check(job, number)), check=number)
            if test:
                return self._seen_page(opened, name, Marks(job.find_test(test).state))
            if "set" in request.args:
                return self._seen_page(opened, name, marks_from(request.args, job))
            return self._seen_page(opened, name, Marks(job.standing.state))

    def understood(self, name: str) -> str | tuple[str, int]:
        """What words would be taken for, shown on the plan; or the plan again after controls were set."""
        with self.opened(name) as opened:
            if request.form.get("words", "").strip():
                words = request.form["words"]
                try:
                    says, marks = marks_of_words(opened.job, words)
                except TracerError as error:
                    marks = Marks(opened.job.standing.state)
                    return self._seen_page(opened, name, marks, words=words, wrong=error), 422
                return self._seen_page(opened, name, marks, says=says, words=words)
            return self._seen_page(opened, name, marks_from(request.form, opened.job))

    def _seen_page(self, opened: OpenJob, name: str, marks: Marks, **values: Any) -> str:
        plan, spots = spots_of(opened.job, marks)
        fixed = {"check": 0, "says": "", "words": "", "wrong": None} | values
        repair = opened.job.repairs[-1].number if opened.job.repairs else 0
        asks = not (opened.job.evidence or opened.job.repairs or opened.job.story.told)
        return self.page(
            "seen.html", opened, name, plan=plan, spots=spots, chips=chips_of(opened.job, marks.state), marks=marks,
            parts=parts_heard(opened.job), looks=LOOKS, flashes=FLASHES, of_repair=repair,
            setting=opened.job.harness.say_state(marks.state), asks=asks, work=WORK, **fixed,
        )

    def usual(self, name: str) -> AnyResponse:
        """Lamps that should shine when the controls are set so: lamp → look."""
        with self.opened(name) as opened:
            state = state_from(request.args, opened.job)
            every = [f.lamp for f in opened.job.harness.lamps()]
            return jsonify(dict(opened.job.usual_looks(state, every)))

    def other(self, name: str) -> str:
        """What else can be measured from here, and what else was measured or seen."""
        with self.opened(name) as opened:
            options = opened.proposal().options if opened.job.evidence and not opened.job.closed else ()
            places = sorted({i.place for table in (opened.job.harness.parts, opened.job.harness.connectors,
                                                   opened.job.harness.earths) for i in table.values() if i.place})
            return self.page("other.html", opened, name, options=options, instruments=INSTRUMENTS[1:], places=places,
                              at=request.args.get("at", ""))

    # --- what is known

    def suspects(self, name: str) -> str:
        with self.opened(name) as opened:
            job, rows = opened.job, []
            for n, s in ranked(job.diagnosis):
                share, others = job.diagnosis.standing_together(s)
                rows.append((n, s, share, others, explained_lines(job, job.diagnosis, [(n, s)], 60, True)))
            rates = job.learned.rates
            return self.page("suspects.html", opened, name, rows=rows, found=job.diagnosis, proving=proving(job),
                             memory=memory_words(rates) if rates else "", memory_note=job.learned.note)

    def estimate(self, name: str) -> str:
        """What the job will take from where it stands."""
        with self.opened(name) as opened:
            job = opened.job
            step = opened.proposal() if job.evidence and not job.closed and not proving(job) else None
            return self.page("estimate.html", opened, name, estimate=estimate_of(job, step))

    def circuit(self, name: str) -> str:
        with self.opened(name) as opened:
            job = opened.job
            tests = [(t.label, recorded(job, t.event) if t.made else f"next: {t.test.says(job.harness)}")
                     for t in numbered_tests(job) if not t.withdrawn]
            zoom = {"2": 2, "3": 3}.get(request.args.get("zoom", ""), 1)
            try:
                signs = targets(job.harness, view_of_job(job))
            except DrawingError:
                signs = []
            named = sorted({s.thing for s in signs})
            places = [[s.thing, *(round(x, 4) for x in (s.left, s.top, s.right, s.bottom))] for s in signs]
            return self.page("circuit.html", opened, name, tests=tests, zoom=zoom, named=named, places=places)

    def circuit_svg(self, name: str) -> Response:
        with self.opened(name) as opened:
            try:
                picture = draw(opened.job.harness, view_of_job(opened.job), "svg")
            except DrawingError as error:
                abort(404, str(error))
        answered = Response(picture, mimetype="image/svg+xml")
        answered.headers["Content-Security-Policy"] = DRAWING_POLICY
        return answered

    def record(self, name: str) -> str:
        with self.opened(name) as opened:
            job = opened.job
            rows = [(e, " ".join(say_event(job, e).split()[1:])) for e in reversed(job.events())
                    if e.kind not in ("proposed", "withdrawn")]
            return self.page("record.html", opened, name, rows=rows, closed=isinstance(screen_of(job), Closed)
                              if job.repairs else False)

    def report(self, name: str) -> Response:
        with self.opened(name) as opened:
            try:
                picture: str | None = draw(opened.job.harness, view_of_job(opened.job), "svg").decode()
            except DrawingError:
                picture = None
            page = report_html(opened.job, picture, "photos" in request.args)
            answered = Response(page, mimetype="text/html")
        answered.headers["Content-Security-Policy"] = DRAWING_POLICY
        return answered

    def customer(self, name: str) -> Response:
        """The page for the customer, without a price: what a workshop charges stands in no job."""
        with self.opened(name) as opened:
            answered = Response(customer_html(opened.job, Bill()), mimetype="text/html")
        answered.headers["Content-Security-Policy"] = DRAWING_POLICY
        return answered

    def stand(self, name: str) -> AnyResponse:
        """How far the job is: another number when somebody else has recorded something."""
        with self.opened(name) as opened:
            return jsonify({"stand": opened.stand})


def _kept_at(job: Job, step: Step) -> dict[str, Any]:
    """The things that a step goes to, with their photos and notes."""
    test = job.find_test(step.name)
    names = [n for n in (test.plus, test.minus, test.lamp) if n and n not in job.harness.bodies()]
    points = list(dict.fromkeys(owner_in(job.harness, n) for n in names))[:2]
    return {
        "points": points,
        "photos": [p for p in photos_of(job) if any(about(n, p.at) or p.at == n for n in (*points, *names))],
        "notes": [n for n in notes_of(job) if any(about(x, n.at) for x in (*points, *names))],
    }
