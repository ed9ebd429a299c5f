"""What one sitting of the guide has in its hands: the job, the terminal, what was proposed and what was put off."""

from __future__ import annotations

from tracer.guide.talk import Talk
from tracer.job.job import Job
from tracer.job.values import Event, Limits, Proposal
from tracer.present.conversation.core import answer, last_own
from tracer.present.conversation.screens import Reply, Said, TakeBack
from tracer.present.job_words import change_lines, say_event, shares


class Sitting:
    """A job and a terminal.

    Attributes:
        limits: What the person can do now.
        passed: Proof checks put off in this sitting.
        asked: Whether the vehicle's story was asked for.
        more_seen: Whether to ask for something else that was seen before the first test.
    """

    def __init__(self, job: Job, talk: Talk) -> None:
        self.job, self.talk = job, talk
        self.limits = Limits()
        self.passed: set[int] = set()
        self.more_seen = self.asked = False
        self._proposal: Proposal | None = None
        self._planned: tuple[int, Limits] | None = None

    @property
    def _now(self) -> tuple[int, Limits]:
        return len(self.job.events()), self.limits

    @property
    def current(self) -> Proposal | None:
        """The step proposed, while it is still the one."""
        return self._proposal if self._planned == self._now else None

    def plan(self) -> Proposal:
        """The next step."""
        if (p := self.current) is None:
            self.talk.working()
            p = self._proposal = self.job.next(self.limits)
            self._planned = self._now
        return p

    def reply(self, reply: Reply) -> Said:
        """Record a reply, and say so where that may take its time."""
        self.talk.working()
        return answer(self.job, reply)

    def record(self, reply: Reply) -> None:
        """Record a reply and show what it did to the list of suspects."""
        before = shares(self.job)
        said = self.reply(reply)
        self.talk.write(f"Recorded: {say_event(self.job, self.event(said.number)).strip()}")
        if said.remark:
            self.talk.write(said.remark, first="Note: ")
        self.talk.show(change_lines(before, shares(self.job), self.talk.width))

    def take_back(self) -> str:
        """Take the last entry back; what is said of that.

        Raises:
            JobFileError: There is none.
        """
        return answer(self.job, TakeBack(last_own(self.job))).recorded

    def event(self, number: int) -> Event:
        return next(e for e in self.job.events() if e.number == number)
