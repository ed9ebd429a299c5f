"""The coming steps of a job as a tree: a box for every step, a way out of it for every answer.

What is likeliest to be met is worked out first, so that a sheet that ends early ends where few come.
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Iterator
from itertools import count
from typing import Final

from msgspec import Struct, field

from tracer.errors import JobFileError, TracerError
from tracer.job.job import Job
from tracer.job.typed import parse_test
from tracer.job.values import Harness, Proposal, Test
from tracer.job.what_if import WhatIf, state_mark
from tracer.planning.branches import Branch, branches_of
from tracer.planning.costs import minutes_of
from tracer.present.conversation.core import answer, screen_of, screen_of_proposal
from tracer.present.conversation.screens import GiveUp, Mend, Mended, NotDone, Prove, Read, Step
from tracer.present.job_words import failed, short_state, test_words

MOST_DEPTH: Final = 8
MOST_MINUTES: Final = 0.9
_LEAST_REACHED: Final = 0.004  # share of the cases below which a box is not worked out
_COULD_NOT: Final = 0.03  # of the cases in which a step cannot be done (judgement)
_NOT_CURED: Final = 0.005  # of the cases in which a repair does not help, at least
_CHECKS: Final = 0.3  # how much the checks of a repair matter beside a further box (judgement)
MOST_BOXES: Final = 150

Progress = Callable[[float, int], None]


class Way(Struct):
    """A way out of a box.

    Attributes:
        kind: "read", "not done", "cured" or "not cured".
        says: The answer in words.
        share: Of the cases at the box.
        value, also: As `Read` takes them; low, high: of a number.
        to: The box it leads to; None: ask the tool again.
    """

    kind: str
    says: str
    share: float
    value: str = ""
    also: tuple[tuple[str, str], ...] = ()
    low: float = -float("inf")
    high: float = float("inf")
    to: Box | None = None


class Box(Struct):
    """A step on the sheet.

    Attributes:
        number: As it stands on the sheet, from 1 (0: not numbered yet).
        screen: What is shown of it.
        minutes: Of the step itself.
        ahead: Expected to a proven repair, thinking anew at each step.
        test: In words that a job takes.
        turn: Which way a number typed without its sign is taken: "-" below the body, "+" above it, "" as it is.
        checks: Of the repair, each as its screen.
    """

    screen: Step | Mend | GiveUp
    minutes: float
    ahead: float
    test: str = ""
    turn: str = ""
    checks: tuple[Prove, ...] = ()
    ways: list[Way] = field(default_factory=list)
    number: int = 0

    def expected(self) -> float:
        """Minutes to a proven repair by the sheet alone; where it ends, as the tool expects from there on."""
        total, rest = self.minutes, 1.0
        for w in self.ways:
            if w.kind == "not done":
                continue
            rest -= w.share
            if w.kind != "cured":
                total += w.share * (w.to.expected() if w.to is not None else self._anew)
        return total + max(rest, 0.0) * self._anew

    def covered(self) -> float:
        """Share of the cases that come from here to a repair that helps."""
        return sum(
            w.share * (1.0 if w.kind == "cured" else w.to.covered() if w.to is not None else 0.0)
            for w in self.ways if w.kind != "not done"
        )

    @property
    def _anew(self) -> float:
        return max(self.ahead - self.minutes, 0.0)


class Sheet(Struct, frozen=True):
    """The tree of a job.

    Attributes:
        mark: Of the job and where it stands.
        boxes: By number, the first first.
        covered: Share of the cases in which the sheet leads to a repair.
        anew, by_sheet: Expected minutes to a proven repair: thinking anew at each step, and by the sheet.
        cut: Why it ends where it does: "" where all that is likely stands on it.
    """

    mark: str
    boxes: tuple[Box, ...]
    covered: float
    anew: float
    by_sheet: float
    cut: str


def grow(
    job: Job, depth: int = MOST_DEPTH, minutes: float = MOST_MINUTES, progress: Progress = lambda share, boxes: None,
    clock: Callable[[], float] = time.monotonic,
) -> Sheet:
    """Work the coming steps out, likeliest first.

    Args:
        depth: Steps in a row at most.
        minutes: Of working at most.
        progress: Told after every box: the share of the cases done with, and how many boxes there are.
        clock: Seconds.

    Raises:
        TracerError: There is nothing to plan: no symptom yet, or repaired already.
    """
    return _Grower(depth, clock() + 60.0 * minutes, progress, clock).grow(job)


class _Open(Struct, order=True):
    """A way that is still to be followed, or (`way` None) a repair whose checks are; what matters most first."""

    order: tuple[float, int]
    way: Way | None
    job: WhatIf
    box: Box
    depth: int
    reach: float


class _Grower:
    """Makes the boxes of one sheet."""

    def __init__(self, depth: int, until: float, progress: Progress, clock: Callable[[], float]) -> None:
        self.depth, self.until, self.progress, self.clock = depth, until, progress, clock
        self.open: list[_Open] = []
        self.counted = count()
        self.longest = 0.0  # s that a box took

    def grow(self, job: Job) -> Sheet:
        if not job.evidence and not job.repairs:
            raise JobFileError("nothing was recorded yet that steps could follow from", "record what was seen first")
        if job.proof is not None and not failed(job):
            raise JobFileError("it is repaired; what is left are the checks of the repair", "make these first")
        first = self._box(WhatIf(job), 1.0, 1)
        made, cut = 1, ""
        while self.open:
            left = sum(o.reach for o in self.open if o.way is not None and o.way.kind != "not done")
            self.progress(1.0 - min(left, 1.0), made)
            now = heapq.heappop(self.open)
            if self.clock() + self.longest > self.until or made >= MOST_BOXES:
                cut = cut or ("the time to work it out was over" if made < MOST_BOXES else "it is long enough")
                continue
            began = self.clock()
            if now.way is None:
                assert isinstance(now.box.screen, Mend)
                now.box.checks = _checks(now.job, now.box.screen.what)
            elif now.depth > self.depth:
                cut = cut or f"it goes {self.depth} steps deep"
                continue
            else:
                now.way.to = self._box(self._after(now.way, now.box, now.job), now.reach, now.depth)
                made += 1
            self.longest = max(self.longest, self.clock() - began)
        boxes = tuple(_numbered(first))
        self.progress(1.0, made)
        return Sheet(state_mark(job), boxes, first.covered(), first.ahead, first.expected(), cut)

    @staticmethod
    def _after(way: Way, box: Box, before: WhatIf) -> WhatIf:
        """The job as it stands after a way was taken."""
        job = WhatIf(before)
        if way.kind == "read":
            answer(job, Read(box.test, way.value, way.also))
        elif way.kind == "not done":
            answer(job, NotDone(box.test))
        else:
            assert isinstance(box.screen, Mend)
            job.repaired_in_vain(box.screen.what)
        return job

    def _box(self, job: WhatIf, reach: float, depth: int) -> Box:
        """The step that a job comes to, and its ways out."""
        p = job.next()
        screen = screen_of_proposal(job, p)
        if isinstance(screen, Step):
            assert p.test is not None
            box = Box(screen, minutes_of(p.test, job.standing, job.harness), p.minutes, _words(p.test, job.harness))
            box.turn = _turned(p.test, job.harness)
            box.ways = [*self._read(job, p, p.test), Way("not done", "could not do it", _COULD_NOT)]
        elif isinstance(screen, Mend):
            left = max(1.0 - p.sure, _NOT_CURED)
            box = Box(screen, p.cost, p.minutes)
            self._later(reach, _CHECKS * reach, None, job, box, depth)
            box.ways = [Way("cured", "all right", 1.0 - left), Way("not cured", "still as before", left)]
        else:
            assert isinstance(screen, GiveUp)
            return Box(screen, p.cost, p.minutes)
        for way in box.ways:
            share = reach * way.share
            if way.kind != "cured" and share >= _LEAST_REACHED:
                self._later(share, share, way, job, box, depth + 1)
        return box

    def _later(self, reach: float, matters: float, way: Way | None, job: WhatIf, box: Box, depth: int) -> None:
        heapq.heappush(self.open, _Open((-matters, next(self.counted)), way, job, box, depth, reach))

    @staticmethod
    def _read(job: WhatIf, p: Proposal, test: Test) -> Iterator[Way]:
        for b in branches_of(job.diagnosis, test, p.also):
            yield Way("read", _says(b, test), b.share, b.value, b.also, b.low, b.high)


def _words(test: Test, harness: Harness) -> str:
    """A test in as few words as are read back as the same: controls that stand as usual are left out."""
    whole, done = test_words(test, harness), "".join(f", {i.words()}" for i in test.done)
    short = f"{test.row.words(test.spot(harness))} when {short_state(harness, test.state)}{done}"
    try:
        return short if len(short) < len(whole) and parse_test(short, harness) == test else whole
    except TracerError:
        return whole


def _turned(test: Test, harness: Harness) -> str:
    """As a job takes a voltage against the body: nothing lies above it where the earth is positive, or below it."""
    if not (test.row.of_supply and test.row.one_point and test.minus in {*harness.bodies(), harness.reference}):
        return ""
    return "-" if harness.positive_earth else "+"


def _says(b: Branch, test: Test) -> str:
    if not b.also:
        return b.value
    by: dict[str, list[str]] = {}
    for lamp, look in ((test.lamp, b.value), *b.also):
        by.setdefault(look, []).append(lamp)
    return "; ".join(f"{look}: {', '.join(lamps)}" for look, lamps in by.items())


def _checks(job: WhatIf, repair: str) -> tuple[Prove, ...]:
    """The proof checks of a repair, in order."""
    done, out = WhatIf(job), list[Prove]()
    answer(done, Mended(repair))
    while isinstance(screen := screen_of(done), Prove):
        out.append(screen)
        done.prove(screen.check.number, "ok")
    return tuple(out)


def _numbered(first: Box) -> Iterator[Box]:
    """Box by box in the order of the sheet: the likeliest way of each follows it at once."""
    todo, number = [first], count(1)
    while todo:
        box = todo.pop()
        box.number = next(number)
        yield box
        todo += [w.to for w in sorted(box.ways, key=lambda w: w.share) if w.to is not None]
