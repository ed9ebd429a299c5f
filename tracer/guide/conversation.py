"""The conversation in the terminal: what comes next and what a reply does is that of every face; here it is typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tracer.errors import TracerError
from tracer.guide.seen import compose
from tracer.guide.sitting import Sitting
from tracer.guide.start_and_end import ask_story, close, farewell, greet
from tracer.guide.talk import Ask, Back, Other, Say, Skip, Stop, Talk, look_words, looks_lines
from tracer.guide.told import by_numbers, other, own_words, repaired, seen_with
from tracer.job.estimating import estimate_of
from tracer.job.job import Job
from tracer.job.typed import parse_value, test_key
from tracer.job.values import Proposal, Step, Test
from tracer.present.conversation.core import proving, screen_of
from tracer.present.conversation.screens import (
    Checked,
    Closed,
    GiveUp,
    Mend,
    NotDone,
    Prove,
    Read,
    Screen,
    Seen,
)
from tracer.present.estimate_words import estimate_lines
from tracer.present.job_words import caution_lines, check_lines, note_lines, overview, test_steps, unit_of, why_lines


class Guide:
    """One sitting: screen after screen until the job is closed or somebody stops."""

    def __init__(self, job: Job, ask: Ask, say: Say, width: int) -> None:
        self.job = job
        self.talk = Talk(ask, say, width, self._why, self._estimate)
        self.sitting = Sitting(job, self.talk)

    def run(self) -> int:
        try:
            greet(self.sitting)
            while not isinstance(screen := self._turn(), Closed):
                pass
            close(self.sitting, screen)
            return 0
        except Stop as stop:
            farewell(self.sitting)
            return stop.status
        except EOFError:
            self.talk.say("")
            farewell(self.sitting)
            return 0
        except KeyboardInterrupt:
            self.talk.say("")
            farewell(self.sitting)
            return 130
        except TracerError as error:
            self.talk.write(f"Cannot go on: {error}")
            farewell(self.sitting)
            return 1

    def _turn(self) -> Screen | None:
        """One screen; the letters that leave it. The screen is returned where nothing is left to be asked."""
        try:
            if self.sitting.more_seen and not proving(self.job):
                self._more_symptoms()
                return None
            screen = self._next()
            if isinstance(screen, Closed):
                return screen
            self._show(screen)
        except Back:
            self._undo()
        except Skip:
            self.talk.write("There is nothing to skip here; d stops.")
        except Other:
            try:
                other(self.sitting)
            except (Back, Skip, Other):
                self.talk.write("Nothing recorded.")
        return None

    def _next(self) -> Screen:
        """What comes next; a step is worked out once for what stands."""
        told = self.job.evidence or self.job.repairs
        plan = self.sitting.plan() if told and not self.job.closed and not proving(self.job) else None
        return screen_of(self.job, None, plan, self.sitting.passed)

    def _show(self, screen: Screen) -> None:
        p = self.sitting.current
        match screen:
            case Seen():
                if screen.asks and not self.sitting.asked:
                    ask_story(self.sitting)
                self._first_symptom()
            case Prove():
                self._prove(screen)
            case Mend() if p is not None:
                self._repair(screen, p)
            case GiveUp() if p is not None:
                self._give_up(p)
            case _:
                assert p is not None and p.test is not None
                self._test(p, p.test)

    def _inside(self, do: Callable[[], None]) -> None:
        """Questions that follow from a choice: going back from the first one only returns to the choice."""
        try:
            do()
        except Back:
            self.talk.write("Nothing recorded.")

    def _why(self, rank: int) -> None:
        if not 1 <= rank <= len(self.job.suspects()):
            self.talk.say(f"There are {len(self.job.suspects())} suspects.")
            return
        self.talk.show(why_lines(self.job, rank, self.sitting.current, self.talk.width))

    def _estimate(self) -> None:
        self.talk.working()
        try:
            self.talk.show(estimate_lines(estimate_of(self.job, self.sitting.current), self.talk.width))
        except TracerError as error:
            self.talk.write(f"{error}.")

    # --- what was seen

    def _first_symptom(self) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        self.talk.say("WHAT WAS SEEN? Describe one position of the controls at a time.")
        if self.talk.choose("How?", ["put together by numbers", "in own words"], 1) == 1:
            self._inside(lambda: by_numbers(self.sitting))
        else:
            self._inside(lambda: own_words(self.sitting))
        self.sitting.more_seen = bool(self.job.evidence)

    def _more_symptoms(self) -> None:
        options = ["on to the tests", "something was seen in other positions of the controls too"]
        if self.talk.choose("And now?", options, 1) == 2:
            self._inside(lambda: by_numbers(self.sitting))
        else:
            self.sitting.more_seen = False

    # --- the next step

    def _test(self, p: Proposal, test: Test) -> None:
        self.talk.show(overview(self.job, self.talk.width, {e.repair: e.shows for e in p.expectations}))
        if p.kind == "repair":
            self.talk.write(f"CONFIRM before anything is taken apart: {p.says}")
        else:
            self.talk.write(f"NEXT TEST, {p.cost:.0f} min" if p.cost >= 1 else "NEXT TEST, less than a minute")
        self.talk.show(caution_lines(p.cautions_of_test, self.talk.width))
        for n, step in enumerate(test_steps(self.job, test), 1):
            self.talk.write(step, first=f" {n}. ")
        if p.also:
            self.talk.write(f"Look from there also at: {', '.join(p.also)}.", first="    ")
        self.talk.show(note_lines(p.cautions_of_test, self.talk.width))
        looks = test.row.choices
        unit, name, sitting = unit_of(test), test_key(test), self.sitting

        def understand(typed: str) -> None:
            value = look_words(typed, looks) if looks else f"{typed} {unit}" if typed[-1:].isdigit() else typed
            parse_value(value, test.kind, test.lamp, bool(test.in_hand))
            sitting.record(Read(name, value))

        try:
            choices = looks_lines(self._called(test, looks), self.talk.width) if looks else [""]
            self.talk.question(test.row.question, understand, choices=choices)
        except Skip:
            sitting.reply(NotDone(name))
            self.talk.write("Noted as not done.")
            return
        if p.also:
            self._inside(lambda: seen_with(sitting, test.state, p.also))

    def _called(self, test: Test, looks: Sequence[str]) -> list[str]:
        """The looks to choose from; of a lamp that should be dark, "normal" would be taken for that."""
        dark = test.row.of_lamps and self.job.usual_looks(test.state, [test.lamp])[0][1] == "dark"
        return ["lit normal" if dark and look == "normal" else look for look in looks]

    def _steps(self, steps: Sequence[Step]) -> None:
        for n, step in enumerate(steps, 1):
            self.talk.write(step.text, first=f" {n}. ")

    def _repair(self, screen: Mend, p: Proposal) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        self.talk.show(caution_lines(p.cautions, self.talk.width))
        self.talk.write(f"REPAIR, about {screen.minutes:.0f} min: {screen.what}")
        if p.suspect is not None:
            self.talk.write(f"{screen.why}.", first="  ")
            if screen.others:
                self.talk.write(f"Or: {' or '.join(screen.others)}. No electrical test splits them: look closely, "
                                "and do what is cheaper first.", first="  ")
            self.talk.write(f"Fault: {screen.fault}. Where: {', '.join(screen.where)}.", first="  ")
        self._steps(p.repair_steps)
        self.talk.show(note_lines(p.cautions, self.talk.width))
        try:
            options = ["yes, as said above", "something else was repaired", "not yet: stop here"]
            answer = self.talk.choose("Was it repaired?", options)
        except Skip:
            self.talk.write("No test is worth more than trying this. Other tests can be recorded with o; d stops.")
            return
        if answer == 3:
            raise Stop
        self._inside(lambda: repaired(self.sitting, screen.what if answer == 1 else ""))

    def _give_up(self, p: Proposal) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        self.talk.show(caution_lines(p.cautions, self.talk.width))
        self.talk.write(f"NO FURTHER TEST: {p.says}.")
        self.talk.show(note_lines(p.cautions, self.talk.width))
        options = ["record something else that was seen or measured", "it was found and repaired", "stop here"]
        answer = self.talk.choose("And now?", options)
        if answer == 1:
            raise Other
        if answer == 3:
            raise Stop(1)
        self._inside(lambda: repaired(self.sitting, ""))

    # --- proof

    def _prove(self, screen: Prove) -> None:
        self.talk.show(overview(self.job, self.talk.width))
        if screen.put_off:
            answer = self.talk.choose("All other checks are done. Those skipped:", ["make them now", "stop here"], 1)
            if answer == 2:
                raise Stop
            self.sitting.passed.clear()
            return
        self.talk.show(check_lines(self.job, screen.check, screen.count, self.talk.width))
        if screen.measure:
            self._measured(screen)
            return
        try:
            if self.talk.choose("What do they show?", ["all exactly so", "something is different"]) == 1:
                self.sitting.reply(Checked(screen.check.number, screen.of_repair, "ok"))
            else:
                self._inside(lambda: self._disprove(screen))
        except Skip:
            self.sitting.passed.add(screen.check.number)
            self.talk.write("Left open for now.")

    def _measured(self, screen: Prove) -> None:
        again = screen.check.again
        assert again is not None

        def understand(typed: str) -> None:
            shown = f"{typed} {unit_of(again.test)}" if typed[-1:].isdigit() else typed
            self.sitting.reply(Checked(screen.check.number, screen.of_repair, shown))

        try:
            self.talk.question(again.test.row.question, understand)
        except Skip:
            self.sitting.passed.add(screen.check.number)
            self.talk.write("Left open for now.")

    def _disprove(self, screen: Prove) -> None:
        text = compose(self.talk, self.job.harness, screen.check.state)
        self.sitting.reply(Checked(screen.check.number, screen.of_repair, text))
        self.talk.write(f"Recorded: check {screen.check.number}: {text}.",
                        "The job is open again; what was seen now counts.")

    # --- at any point

    def _undo(self) -> None:
        try:
            self.talk.write(self.sitting.take_back())
        except TracerError as error:
            self.talk.write(f"{error}.")
            return
        self.sitting.more_seen = False
