"""The form on which is marked what was seen: controls as chips, lamps on a plan, fuses and relays beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from msgspec import Struct, field
from werkzeug.datastructures import MultiDict

from tracer.errors import SymptomError
from tracer.job.job import Job
from tracer.job.values import VehicleState
from tracer.present.conversation.core import seen_words, understand
from tracer.present.conversation.vehicle_plan import Placed, VehiclePlan, plan_of

LOOKS: Final = (
    ("dark", "dark"), ("faint", "glows faintly"), ("dim", "dim"), ("normal", "lit as normal"),
    ("bright", "too bright"),
)
FLASHES: Final = (
    ("flashing", "flashes"), ("fast", "flashes fast"), ("slow", "flashes slowly"), ("steady", "stays on"),
)
_PLAIN: Final = ("on", "pressed", "pulled", "open", "down")  # positions that say nothing without their control


class Chip(Struct, frozen=True):
    """One position of a control, to be chosen."""

    value: str
    label: str
    small: str
    full: str
    on: bool


class Marks(Struct):
    """What is marked on the form."""

    state: VehicleState
    looks: dict[str, tuple[str, str, bool]] = field(default_factory=dict)
    parts: dict[str, str] = field(default_factory=dict)  # fuse or relay → what it does
    others_normal: bool = False

    def words(self) -> str:
        """In the words that a job takes.

        Raises:
            SymptomError: Nothing is marked.
        """
        said = {lamp: " ".join(filter(None, [look, flash, "sometimes" * some]))
                for lamp, (look, flash, some) in self.looks.items()}
        said |= self.parts
        if not said and not self.others_normal:
            raise SymptomError("nothing is marked", "tap a lamp that does otherwise than it should, and say how")
        return seen_words(self.state, said, self.others_normal)


def chips_of(job: Job, state: VehicleState) -> list[Chip]:
    """A chip for every position of a control other than at rest, and one for the engine."""
    chips = []
    for c in job.harness.controls.values():
        for p in c.positions[1:]:
            plain = len(c.positions) == 2 or p in _PLAIN
            label, small = (c.name if p in _PLAIN else f"{c.name} {p}", "") if plain else (p, c.name)
            chips.append(Chip(f"{c.name}\t{p}", label, small, f"{c.name} {p}", state[c.name] == p))
    return [*chips, Chip("engine", "engine running", "", "engine running", state.engine_running)]


def state_from(form: MultiDict[str, str], job: Job) -> VehicleState:
    """The state that the chips of a form say.

    Raises:
        TracerError: Two positions of one control, or one that is not there any more.
    """
    chosen = {c.name: c.positions[0] for c in job.harness.controls.values()}
    given: dict[str, str] = {}
    for value in form.getlist("set"):
        control, _, position = value.partition("\t")
        if control != "engine" and given.setdefault(control, position) != position:
            raise SymptomError(f"{control} cannot stand at {given[control]} and at {position} at once",
                               "leave one of them")
    return job.harness.state(chosen | given, "engine" in form.getlist("set"))


def marks_from(form: MultiDict[str, str], job: Job, state: VehicleState | None = None) -> Marks:
    """What a form marks; `state` where that is given already.

    Raises:
        TracerError: As `state_from`.
    """
    marks = Marks(state or state_from(form, job), others_normal=bool(form.get("others")))
    for lamp in (f.lamp for f in job.harness.lamps()):
        look, flash = form.get(f"look:{lamp}", ""), form.get(f"flash:{lamp}", "")
        if look or flash:
            marks.looks[lamp] = look, flash, bool(form.get(f"some:{lamp}"))
    for name in parts_heard(job):
        if does := form.get(f"part:{name}", ""):
            marks.parts[name] = does
    return marks


def marks_of_words(job: Job, text: str) -> tuple[str, Marks]:
    """Words said back, and the marks that they put on the plan; of several states none, since the plan shows one.

    Raises:
        TracerError: Not understood.
    """
    found = understand(job, text)
    looks = found.looks if found.states == 1 else {}
    return found.says, Marks(found.state, {k: v for k, v in looks.items() if v[0] or v[1]})


def parts_heard(job: Job) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Fuses and relays, each with what may be said of it: (word, in words)."""
    said = {"fuse": (("blown", "blown"), ("holds", "holds")),
            "relay": (("clicks", "clicks"), ("buzzes", "chatters"), ("silent", "silent"))}
    return {p.name: said[p.kind] for p in job.harness.parts.values() if p.kind in said}


class Spot(Struct, frozen=True):
    """A lamp as a target on the plan."""

    placed: Placed
    usual: str  # how it looks in this state when all is well
    look: str
    flash: str
    some: bool

    @property
    def lit(self) -> bool:
        return self.usual != "dark"


def spots_of(job: Job, marks: Marks) -> tuple[VehiclePlan, dict[str, Spot]]:
    """The plan and every lamp on it with how it should look and what is marked."""
    plan = plan_of(job.harness)
    every = [p for cell in plan.cells.values() for p in cell] + list(plan.unplaced)
    usual = dict(job.usual_looks(marks.state, [p.lamp for p in every]))
    return plan, {p.lamp: Spot(p, usual[p.lamp], *marks.looks.get(p.lamp, ("", "", False))) for p in every}
