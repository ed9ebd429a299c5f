"""What a face can show, as values, and what can be replied to it."""

from __future__ import annotations

from typing import ClassVar

from msgspec import Struct

from tracer.observation.story import Story
from tracer.planning.repair_proof import ProofCheck


class WireMark(Struct, frozen=True):
    """A wire at a probe point: its colours in words (main colour first; empty if unreadable), the letters as printed
    on a diagram, its size in words."""

    colours: tuple[str, ...]
    letters: str
    size: str


class Line(Struct, frozen=True):
    """One thing to do. `wires`: those at the point it speaks of; `place`: where that is, with the minutes to get
    there."""

    text: str
    wires: tuple[WireMark, ...] = ()
    place: str = ""


class Warned(Struct, frozen=True):
    """A caution: grade "danger", "caution" or "note"; `again`: it was shown in this job before, its `head` word will
    do."""

    grade: str
    text: str
    head: str
    again: bool


class Answer(Struct, frozen=True):
    """One thing that the test may show.

    Attributes:
        shows: As a person reads it.
        value: As `job.reading` takes it.
        means: The repairs that it would speak for, likeliest first; empty if none of the leading ones.
        share: Of the cases, 0 to 1; None where the tool has no number for it.
        also: (lamp, look) of lamps seen from the same place.
    """

    shows: str
    value: str
    means: tuple[str, ...] = ()
    share: float | None = None
    also: tuple[tuple[str, str], ...] = ()


class Seen(Struct, frozen=True):
    """Nothing was told yet: what was seen? `asks`: the vehicle's story was not told either, and may be asked."""

    asks: bool = False
    kind: ClassVar[str] = "seen"


class Step(Struct, frozen=True):
    """A test.

    Attributes:
        name: Short name under which its reading is recorded.
        title: In a few words.
        confirms: The repair that it confirms before anything is taken apart; "" for a test that parts suspects.
        warned: Danger first.
        lines: What to do, in order.
        question: What is asked.
        answers: Expected ones, likeliest first.
        more: Further words to choose from.
        unit: Of a meter; "" where light or a finding is told.
        also: Lamps seen from the same place.
        minutes, left: This step, and expected to a proven repair.
        why: Why this one.
        instead: Other good steps in words.
        place: Where the first probe goes.
        lamp: The lamp looked at.
        after: What is put back when it is answered.
    """

    name: str
    title: str
    confirms: str
    warned: tuple[Warned, ...]
    lines: tuple[Line, ...]
    question: str
    answers: tuple[Answer, ...]
    more: tuple[str, ...]
    unit: str
    also: tuple[str, ...]
    minutes: float
    left: float
    why: str
    instead: tuple[str, ...]
    place: str = ""
    lamp: str = ""
    after: tuple[str, ...] = ()
    kind: ClassVar[str] = "step"


class Mend(Struct, frozen=True):
    """A repair. `others`: repairs that no electrical test tells from it; `where`: places."""

    what: str
    why: str
    fault: str
    where: tuple[str, ...]
    others: tuple[str, ...]
    warned: tuple[Warned, ...]
    lines: tuple[Line, ...]
    minutes: float
    kind: ClassVar[str] = "repair"


class Prove(Struct, frozen=True):
    """A proof check. `looks`: (look, lamps); every other lamp is dark. `of_repair`: number of the repair's entry;
    `done`: checks made; `first`, `after`: what makes it safe before it, and what is put back; `put_off`: it was put
    off, and all others are done; `others`: others are left beside it; `measure`: what is measured once more, in place
    of looking at the lamps, and what it must show."""

    check: ProofCheck
    count: int
    of_repair: int
    repair: str
    setting: str
    looks: tuple[tuple[str, tuple[str, ...]], ...]
    done: int
    risk_before: float
    risk_after: float
    warned: tuple[Warned, ...] = ()
    first: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    put_off: bool = False
    others: bool = False
    measure: str = ""
    kind: ClassVar[str] = "proof"


class Closed(Struct, frozen=True):
    """Repaired and proven. `risk`: of a further fault that no check would have shown."""

    repair: str
    risk: float
    kind: ClassVar[str] = "closed"


class GiveUp(Struct, frozen=True):
    """No further test is worth its time: `says` why."""

    says: str
    warned: tuple[Warned, ...] = ()
    kind: ClassVar[str] = "give up"


Screen = Seen | Step | Mend | Prove | Closed | GiveUp


class Told(Struct, frozen=True):
    """Something was seen, in words."""

    text: str


class Read(Struct, frozen=True):
    """What a test showed: its short name or words, what was read, and the lamps seen with it."""

    test: str
    value: str
    also: tuple[tuple[str, str], ...] = ()


class NotDone(Struct, frozen=True):
    """A test that could not be made."""

    test: str


class Mended(Struct, frozen=True):
    """A repair, in the words of a suspect or in one's own; `minutes` None if not noted."""

    what: str
    parts: tuple[str, ...] = ()
    minutes: float | None = None


class Checked(Struct, frozen=True):
    """A proof check of the repair with entry number `of_repair`: "ok", or what was seen instead."""

    number: int
    of_repair: int
    result: str


class Remark(Struct, frozen=True):
    """A note for the next person."""

    text: str


class About(Struct, frozen=True):
    """What is known of the vehicle's story."""

    story: Story


class TakeBack(Struct, frozen=True):
    """The last entry is taken back, if it is still the one with this number."""

    number: int


Reply = Told | Read | NotDone | Mended | Checked | Remark | About | TakeBack


class Said(Struct, frozen=True):
    """What is said back: the entry as recorded (`number` 0 if none stands), a remark, and in one line what it
    changed."""

    number: int
    recorded: str
    remark: str = ""
    changed: str = ""
