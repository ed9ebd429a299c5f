"""The conversation: from what was seen through tests and repair to the proof."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress

from tracer.errors import JobFileError, TracerError, UnknownNameError
from tracer.guide.seen import compose
from tracer.guide.talk import KEYS, Ask, Back, Other, Say, Skip, Stop, Talk, look_words, looks_lines, minutes
from tracer.job.job import Job, Recorded
from tracer.job.typed import example_sentence, parse_test, parse_value, state_words, test_key
from tracer.job.values import Caution, ProofCheck, Proposal, Step, Test, VehicleState
from tracer.present.job_words import (
    caution_lines,
    change_lines,
    check_lines,
    failed,
    note_lines,
    overview,
    say_event,
    shares,
    test_steps,
    unit_of,
    why_lines,
)
from tracer.present.text_lines import plural, quoted
from tracer.units import percent


class Guide:
    """One sitting: screen after screen until the job is closed or somebody stops."""

    def __init__(self, job: Job, ask: Ask, say: Say, width: int) -> None:
        self.job, self.harness = job, job.harness
        self.talk = Talk(ask, say, width, self._why)
        self.proposal: Proposal | None = None
        self._planned_at = -1  # number of events when the proposal was made
        self._passed: set[int] = set()  # proof checks skipped in this session
        self._more_seen = False  # ask whether something else was seen before the first test

    def run(self) -> int:
        try:
            self._greet()
            while not self.job.closed:
                self._turn()
            return self._close()
        except Stop as stop:
            self._farewell()
            return stop.status
        except EOFError:
            self.talk.say("")
            self._farewell()
            return 0
        except KeyboardInterrupt:
            self.talk.say("")
            self._farewell()
            return 130
        except TracerError as error:
            self.talk.write(f"Cannot go on: {error}")
            self._farewell()
            return 1

    def _turn(self) -> None:
        """One screen; the letters that leave it."""
        try:
            if not self.job.evidence and not self.job.repairs:
                self._first_symptom()
            elif self.job.proof is not None and not failed(self.job):
                self._prove()
            elif self._more_seen:
                self._more_symptoms()
            else:
                self._next_step()
        except Back:
            self._undo()
        except Skip:
            self.talk.write("There is nothing to skip here; d stops.")
        except Other:
            try:
                self._other()
            except (Back, Skip, Other):
                self.talk.write("Nothing recorded.")

    def _inside(self, do: Callable[[], None]) -> None:
        """Questions that follow from a choice: going back from the first one only returns to the choice."""
        try:
            do()
        except Back:
            self.talk.write("Nothing recorded.")

    # --- start and end

    def _greet(self) -> None:
        job = self.job
        self.talk.write(f"{job.vehicle or 'Vehicle without a name'} ({job.harness.title})")
        if job.complaint:
            self.talk.write(f"Complaint: {job.complaint}")
        if job.harness_changed:
            self.talk.write("Note: the harness file has changed since this job was started.")
        if job.other_names:
            self.talk.write("Note: the job file has another name too (a hard link), which does not show what is "
                            "recorded here.")
        for e in job.earlier_jobs:
            done = f": {'; '.join(e.repairs)}" if e.repairs else ", nothing repaired"
            self.talk.write(f"Earlier job on this vehicle, {e.started[:10]}{done}")
        if job.differences:
            self.talk.write(f"Differs from the harness file: {'; '.join(job.differences)}")
        if job.entries:
            self.talk.write("The job goes on where it stopped.")
            self.talk.working()
        self.talk.write(f"At every question: {KEYS}")

    def _farewell(self) -> None:
        self.talk.write("Stopped. Everything recorded so far is saved. To go on:")
        self.talk.say(f"  tracer guide {quoted(str(self.job.path))}")

    def _why(self, rank: int) -> None:
        if not 1 <= rank <= len(self.job.suspects()):
            self.talk.say(f"There are {len(self.job.suspects())} suspects.")
            return
        self.talk.show(why_lines(self.job, rank, self._current(), self.talk.width))

    def _current(self) -> Proposal | None:
        return self.proposal if self._planned_at == len(self.job.events()) else None

    # --- what was seen

    def _first_symptom(self) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        self.talk.say("WHAT WAS SEEN? Describe one position of the controls at a time.")
        if self.talk.choose("How?", ["put together by numbers", "in own words"], 1) == 1:
            self._inside(self._by_numbers)
        else:
            self._inside(self._own_words)
        self._more_seen = bool(self.job.evidence)

    def _more_symptoms(self) -> None:
        options = ["on to the tests", "something was seen in other positions of the controls too"]
        if self.talk.choose("And now?", options, 1) == 2:
            self._inside(self._by_numbers)
        else:
            self._more_seen = False

    def _by_numbers(self) -> None:
        text = compose(self.talk, self.harness)
        self._record(lambda: self.job.symptom(text))

    def _own_words(self) -> None:
        self.talk.write(f"Such as: {example_sentence(self.harness)}")

        def understand(typed: str) -> None:
            self._record(lambda: self.job.symptom(typed))

        self.talk.question("What was seen", understand)

    # --- the next step

    def _next_step(self) -> None:
        p = self._plan()
        if p.kind == "give up":
            self._give_up(p)
        elif p.test is not None:
            self._test(p, p.test)
        else:
            self._repair(p)

    def _plan(self) -> Proposal:
        current = self._current()
        if current is None:
            self.talk.working()
            current = self.job.next()
            self.proposal, self._planned_at = current, len(self.job.events())
        return current

    def _test(self, p: Proposal, test: Test) -> None:
        self.talk.show(overview(self.job, self.talk.width, {e.repair: e.shows for e in p.expectations}))
        if p.kind == "repair":
            self.talk.write(f"CONFIRM before anything is taken apart: {p.says}")
        else:
            self.talk.write(f"NEXT TEST, {p.cost:.0f} min" if p.cost >= 1 else "NEXT TEST, less than a minute")
        self._cautions(p.cautions)
        for n, step in enumerate(test_steps(self.job, test), 1):
            self.talk.write(step, first=f" {n}. ")
        if p.also:
            self.talk.write(f"Look from there also at: {', '.join(p.also)}.", first="    ")
        self._notes(p.cautions)
        looks = test.row.choices
        unit, name = unit_of(test), test_key(test)

        def understand(typed: str) -> None:
            value = look_words(typed, looks) if looks else f"{typed} {unit}" if typed[-1:].isdigit() else typed
            parse_value(value, test.kind, test.lamp, bool(test.in_hand))
            self._record(lambda: self.job.reading(name, value))

        try:
            choices = looks_lines(looks, self.talk.width) if looks else [""]
            self.talk.question(test.row.question, understand, choices=choices)
        except Skip:
            self.job.reading(name, "skipped")
            self.talk.write("Noted as not done.")
            return
        if p.also:
            self._inside(lambda: self._seen_with(test.state, p.also))

    def _seen_with(self, state: VehicleState, lamps: Sequence[str]) -> None:
        """What the lamps showed that are seen together with the one of the test."""
        usual = ", ".join(f"{lamp} {look}" for lamp, look in self.job.usual_looks(state, lamps))
        options = [f"as they should: {usual}", "not all of them", "did not look"]
        answer = self.talk.choose("And the lamps seen from there?", options, 1)
        if answer == 3:
            return
        text = f"{usual} when {state_words(state)}" if answer == 1 else compose(self.talk, self.harness, state)
        self._record(lambda: self.job.symptom(text))

    def _cautions(self, cautions: Sequence[Caution]) -> None:
        """What is to be read before the step."""
        self.talk.show(caution_lines(cautions, self.talk.width))

    def _notes(self, cautions: Sequence[Caution]) -> None:
        self.talk.show(note_lines(cautions, self.talk.width))

    def _steps(self, steps: Sequence[Step]) -> None:
        for n, step in enumerate(steps, 1):
            self.talk.write(step.text, first=f" {n}. ")

    def _record(self, do: Callable[[], Recorded]) -> None:
        """Record something and show what it did to the list of suspects."""
        self.talk.working()
        before = shares(self.job)
        recorded = do()
        event = next(e for e in self.job.events() if e.number == recorded.number)
        self.talk.write(f"Recorded: {say_event(self.job, event).strip()}")
        if recorded.remark:
            self.talk.write(recorded.remark, first="Note: ")
        self.talk.show(change_lines(before, shares(self.job), self.talk.width))

    def _repair(self, p: Proposal) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        suspect = p.suspect
        self._cautions(p.cautions)
        self.talk.write(f"REPAIR, about {p.cost:.0f} min: {p.says}")
        if suspect is not None:
            self.talk.write(f"{p.why}.", first="  ")
            if suspect.inseparable:
                others = " or ".join(suspect.inseparable)
                self.talk.write(f"Or: {others}. No electrical test splits them: look closely, and do what is cheaper "
                                "first.", first="  ")
            nodes = dict.fromkeys(f.node for f in suspect.best.faults if f.node)
            places = dict.fromkeys(self.harness.place_of(n)[0] for n in nodes)
            self.talk.write(f"Fault: {suspect.best.says()}. Where: {', '.join(places)}.", first="  ")
        self._steps(p.repair_steps)
        self._notes(p.cautions)
        try:
            options = ["yes, as said above", "something else was repaired", "not yet: stop here"]
            answer = self.talk.choose("Was it repaired?", options)
        except Skip:
            self.talk.write("No test is worth more than trying this. Other tests can be recorded with o; d stops.")
            return
        if answer == 3:
            raise Stop
        self._inside(lambda: self._repaired(p.says if answer == 1 else ""))

    def _repaired(self, what: str) -> None:
        what = what or self.talk.text("What was repaired?")
        parts = self.talk.text("Parts fitted, with commas between?", "none")
        took = self.talk.question("Minutes the repair took?", minutes, "not noted")
        self.talk.working()
        listed = [] if parts == "none" else [part.strip() for part in parts.split(",") if part.strip()]
        proof = self.job.repaired(what, listed, took)
        self._passed.clear()
        self.talk.write(
            f"Recorded. Now {plural(len(proof.checks), 'proof check')}: chance of a further fault "
            f"{percent(proof.risk_before)} before, {percent(proof.risk_after)} if all come out right."
        )

    def _give_up(self, p: Proposal) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        self._cautions(p.cautions)
        self.talk.write(f"NO FURTHER TEST: {p.says}.")
        self._notes(p.cautions)
        options = ["record something else that was seen or measured", "it was found and repaired", "stop here"]
        answer = self.talk.choose("And now?", options)
        if answer == 1:
            raise Other
        if answer == 3:
            raise Stop(1)
        self._inside(lambda: self._repaired(""))

    # --- proof

    def _prove(self) -> None:
        proof = self.job.proof
        assert proof is not None
        left = [c for c in proof.checks if c.number not in self.job.proof_results]
        ready = [c for c in left if c.number not in self._passed]
        self.talk.show(overview(self.job, self.talk.width))
        if not ready:
            answer = self.talk.choose("All other checks are done. Those skipped:", ["make them now", "stop here"], 1)
            if answer == 2:
                raise Stop
            self._passed.clear()
            return
        check = ready[0]
        self.talk.show(check_lines(self.job, check, len(proof.checks), self.talk.width))
        try:
            if self.talk.choose("What do they show?", ["all exactly so", "something is different"]) == 1:
                self.talk.working()
                self.job.prove(check.number, "ok")
            else:
                self._inside(lambda: self._disprove(check))
        except Skip:
            self._passed.add(check.number)
            self.talk.write("Left open for now.")

    def _disprove(self, check: ProofCheck) -> None:
        text = compose(self.talk, self.harness, check.state)
        self.talk.working()
        recorded = self.job.prove(check.number, text)
        self.talk.write(f"Recorded: {recorded.understood}.", "The job is open again; what was seen now counts.")

    def _close(self) -> int:
        self.talk.show(overview(self.job, self.talk.width))
        last = self.job.repairs[-1].data
        risk = last.get("risk after")
        rest = f" Chance of a further fault that no check would have shown: {percent(float(risk))}." if risk else ""
        self.talk.write(f"CLOSED: repaired and proven ({last.get('repair', '')}).{rest}", "The report:")
        self.talk.say(f"  tracer report {quoted(str(self.job.path))} -o report.html")
        return 0

    # --- at any point

    def _undo(self) -> None:
        said: dict[int, str] = {}
        with suppress(TracerError):  # it can be taken back even where it is not understood any more
            said = {e.number: say_event(self.job, e).strip() for e in self.job.record.living}
        try:
            taken = self.job.undo()
        except JobFileError as error:
            self.talk.write(f"{error}.")
            return
        events = [e for e in self.job.events() if e.number == taken.number - 1]
        if taken.kind == "symptom" and events and events[0].kind == "proof" and not events[0].withdrawn:
            taken = self.job.undo()  # the failed proof check that the symptom was written for
        self.talk.write(f"Taken back: entry {said.get(taken.number, taken.number)}")
        self._more_seen = False

    def _other(self) -> None:
        options = ["something seen, by numbers", "something seen, in own words", "something measured", "a note"]
        match self.talk.choose("What is it?", options, 1):
            case 1:
                self._by_numbers()
            case 2:
                self._own_words()
            case 3:
                self._measured()
            case _:
                self.job.note(self.talk.text("Note"))

    def _measured(self) -> None:
        self.talk.write("Say the test in words, such as: volts at C2.3 when gear reverse")
        self.talk.write("volt drop A to B when …, ohms A to B, amps A to B when …, "
                        "test lamp at A when …, look left rear tail when …, inspect A to B, inspect C2, "
                        "wiggle C2 and watch left rear tail when …",
                    first="  or: ")

        def understand(typed: str) -> tuple[str, Test]:
            try:
                return typed, self.job.find_test(typed)
            except UnknownNameError:
                return typed, parse_test(typed, self.harness)

        words, test = self.talk.question("Test", understand)
        unit = unit_of(test)

        def value(typed: str) -> None:
            text = f"{typed} {unit}" if unit and typed[-1:].isdigit() else typed
            parse_value(text, test.kind, test.lamp, bool(test.in_hand))
            self._record(lambda: self.job.reading(words, text))

        question = test.row.asks if test.row.by_hand else "How did it look (in words)?"
        self.talk.question(f"Reading in {unit}?" if unit else question, value)
