"""What has been told and done in a job so far, read from its entries: evidence, repairs, minutes, engine starts."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cached_property, reduce

from msgspec import Struct
from msgspec.structs import replace

from tracer.errors import JobFileError, ReadingError, TracerError
from tracer.harness.devices import Source
from tracer.harness.model import Harness, VehicleState
from tracer.job.text import Event
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test, Value
from tracer.observation.story import Story
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.words.reading_data import test_from_data, value_from_data
from tracer.observation.words.symptom_data import symptoms_from_data
from tracer.planning.costs import Standing, after_test, minutes_of

# Share of its voltage by the harness file that a charged battery has when something else is looked for, lamps lit or
# not: of 12.6 V down to 11.8 V (common practice, no source). Outside it the battery is a suspect.
CHARGED = 0.935, 1.08
_SAME_SHARE, _SAME_V = 0.05, 0.05  # by which a reading made again differs where nothing has changed
IN_VAIN = 0.03  # what is left of a suspect's weight each time its repair was made and did not help


class Entry(Struct, frozen=True):
    """A piece of evidence with the number of its event."""

    number: int
    time: datetime
    item: Evidence


class ProofResult(Struct, frozen=True):
    """What a proof check showed."""

    number: int
    good: bool
    found: str


class EntryError(JobFileError):
    """An entry that cannot be understood, or that the harness no longer fits."""

    def __init__(self, number: int, kind: str, error: TracerError) -> None:
        super().__init__(f"entry {number} of the job ({kind}) does not fit the harness file: {error.message}",
                         error.hint or "correct it in the job file, or put the harness file back as it was")
        self.number = number


def _understood(event: Event, harness: Harness) -> tuple[Evidence, ...]:
    if event.kind == "symptom":
        return symptoms_from_data(event.data, harness)
    value = value_from_data(event.data["value"])
    test = test_from_data(event.data["test"], harness)
    if not (value.told_nothing or value.lead_blew) and not _answers(test.kind, value):
        raise ReadingError("the value is of another kind of test", "look at what stands under “value:”")
    return (Reading(test, value),)


def _answers(kind: TestKind, value: Value) -> bool:
    """Whether a value is what a test of this kind shows: a find, a light, or a number."""
    row = KINDS[kind]
    if row.findings is not None:
        return value.found is not None
    return value.seen is not None if row.quantity is None else value.seen is None and value.found is None


class History:
    """The entries of a job that stand, understood.

    Attributes:
        living: Those that were not taken back, in order.
        harness: Of the vehicle, with its overlays.
    """

    def __init__(
        self, living: Sequence[Event], harness: Harness, understood: dict[int, tuple[Entry, ...]] | None = None
    ) -> None:
        """`understood`: entries by number that were read before; what is read here is added."""
        self.living, self.harness = living, harness
        self._understood: dict[int, tuple[Entry, ...]] = {} if understood is None else understood
        self._tests: dict[int, Test] = {}  # proposed, by the number of the entry

    def before(self, number: int) -> History:
        """As it stood just before the entry with this number; its evidence is the very same objects."""
        return History([e for e in self.living if e.number < number], self.harness, self._understood)

    @cached_property
    def repairs(self) -> tuple[Event, ...]:
        """Repairs recorded, in order."""
        return tuple(e for e in self.living if e.kind == "repaired")

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """All living evidence, in order."""
        known = self._understood
        for e in self.living:
            if e.kind in ("symptom", "reading") and e.number not in known:
                try:
                    known[e.number] = tuple(
                        Entry(e.number, e.time, self._heard(e, item)) for item in _understood(e, self.harness)
                    )
                except TracerError as error:
                    raise EntryError(e.number, e.kind, error) from error
        return tuple(one for e in self.living if e.number in known for one in known[e.number])

    def _heard(self, event: Event, item: Evidence) -> Evidence:
        return replace(item, asked=self._asked(event, item)) if isinstance(item, Symptom) else item

    def _asked(self, event: Event, said: Symptom) -> bool:
        """Whether somebody was sent to look: after a repair, at a proof check, or in a state in which a look was
        proposed. Anything else he came with unasked."""
        told = self._telling
        before = bisect_left(told, event.number, key=lambda e: e.number)  # they are numbered in order
        if before and told[before - 1].kind in ("repaired", "proof"):
            return True
        looks = (self._test_of(e) for e in self._proposals if e.number < event.number)
        return any(t.row.of_lamps and t.state == said.state for t in looks)

    @cached_property
    def _telling(self) -> list[Event]:
        return [e for e in self.living if e.kind not in ("note", "photo")]

    @cached_property
    def _proposals(self) -> list[Event]:
        return [e for e in self.living if e.kind == "proposed"]

    def _test_of(self, proposal: Event) -> Test:
        known = self._tests
        if proposal.number not in known:
            known[proposal.number] = test_from_data(proposal.data["test"], self.harness)
        return known[proposal.number]

    @cached_property
    def story(self) -> Story:
        """What was told of the vehicle when the job was opened, the latest, and beside complaints."""
        told = [Story.from_data(e.data) for e in self.living if e.kind == "story"][-1:]
        told += [Story.from_data(e.data["story"]) for e in self.living if e.kind == "symptom" and "story" in e.data]
        return reduce(Story.and_then, told, Story())

    @cached_property
    def told(self) -> tuple[Entry, ...]:
        """The entries that tell something, whether they count now or not."""
        return tuple(e for e in self.entries if not told_nothing(e.item))

    @cached_property
    def evidence(self) -> tuple[Evidence, ...]:
        """What counts now. A repair that changed what the vehicle does starts afresh: only what was seen
        after it still holds. A repair after which the complaint stayed leaves everything standing."""
        since = 0
        for repair in self.repairs:
            after = [e for e in self.entries if e.number > repair.number]
            if after and not self._complaint_stayed(repair.number, after[0]):
                since = repair.number
        return tuple(e.item for e in self.told if e.number > since)

    def _complaint_stayed(self, repair: int, first: Entry) -> bool:
        """Whether the first thing seen after a repair is what was seen before it in the same state; or the reading
        that a proof check asked for, which was wrong before, is what it was."""
        if not isinstance(first.item, Symptom):
            failed = any(e.kind == "proof" and e.number == first.number - 1 for e in self.living)
            return failed and any(_same_again(first.item, e.item) for e in self.entries if e.number < repair)
        before = [e.item for e in self.entries if e.number < repair and isinstance(e.item, Symptom)]
        old = {s.lamp: s for i in before if i.state == first.item.state for s in i.seen if isinstance(s, LampSeen)}
        seen = [s for s in first.item.seen if isinstance(s, LampSeen)]
        return any(s.lamp in old for s in seen) and all(
            s.lamp not in old or bool(s.words & old[s.lamp].words) for s in seen
        )

    @property
    def skipped(self) -> tuple[Test, ...]:
        """Tests proposed that could not be done, since the last repair."""
        since = self.repairs[-1].number if self.repairs else 0
        return tuple(
            e.item.test for e in self.entries
            if e.number > since and isinstance(e.item, Reading) and told_nothing(e.item)
        )

    @cached_property
    def supply_v(self) -> float | None:
        """Voltage of this vehicle's charged battery with the engine stopped, V, as measured from pole to pole last;
        None if it was not measured, or is not that of a charged battery. A flat one is something to be found: its
        reading is evidence like any other, and a sound vehicle has another voltage."""
        poles = {*self.harness.poles()} - {""}
        body = {*self.harness.bodies(), self.harness.reference}
        for entry in reversed(self.entries):
            if not isinstance(entry.item, Reading) or not entry.item.test.row.plain_volts or told_nothing(entry.item):
                continue
            test, value = entry.item.test, entry.item.value
            ends = {test.plus, test.minus}
            whole = ends == poles or (self.harness.poles()[0] in ends and bool(ends & body))
            if poles and whole and not value.is_range and not test.done:
                share = abs(value.low) / self._charged_v(test.state.engine_running)
                low, high = CHARGED
                return share * self._charged_v(False) if low <= share <= high else None
        return None

    def _charged_v(self, engine_running: bool) -> float:
        """Between the poles by the harness file, V. Batteries in series come nearer to the system's voltage
        together than one does."""
        sources = [d for d in self.harness.devices() if isinstance(d, Source)]
        alone, together = sources[0].volts, sum(d.volts for d in sources)
        system = self.harness.system_v
        in_series = abs(together - system) < abs(alone - system)
        return sum(d.emf(engine_running) for d in (sources if in_series else sources[:1]))

    @cached_property
    def tried(self) -> Mapping[str, int]:
        """Repairs made that did not help, each with how much of the evidence that counts stood when it was made
        last."""
        since = {str(r.data.get("repair", "")): sum(e.number > r.number for e in self.told) for r in self.repairs}
        return {repair: max(len(self.evidence) - later, 0) for repair, later in since.items()}

    @cached_property
    def made_in_vain(self) -> Mapping[str, float]:
        """Repair → the factor on its weight: the more often it was made and did not help, the less."""
        made: dict[str, float] = {}
        for e in self.repairs:
            repair = str(e.data.get("repair", ""))
            made[repair] = IN_VAIN * made.get(repair, 1.0)
        return made

    @cached_property
    def proof_results(self) -> Mapping[int, ProofResult]:
        """Latest result of each proof check since the last repair."""
        last = self.repairs[-1].number if self.repairs else 0
        return {
            int(e.data["check"]): ProofResult(int(e.data["check"]), bool(e.data["good"]), str(e.data["found"]))
            for e in self.living if e.kind == "proof" and e.number > last
        }

    @cached_property
    def standing(self) -> Standing:
        """Where the job stands: vehicle state, places opened, instrument in hand."""
        standing = Standing(self.harness.state({}))
        for entry in self.told:
            if isinstance(entry.item, Symptom):
                # Whoever saw the lamps so had the battery on, and has let go of what springs back.
                state = _let_go(entry.item.state, standing.propped, self.harness)
                standing = replace(standing, state=state, battery_off=False)
            else:
                standing = after_test(entry.item.test, standing, self.harness)
        return standing

    @cached_property
    def minutes_spent(self) -> float:
        """Estimated minutes of the tests made so far."""
        standing, total = Standing(self.harness.state({})), 0.0
        for entry in self.told:
            if isinstance(entry.item, Reading):
                total += minutes_of(entry.item.test, standing, self.harness)
                standing = after_test(entry.item.test, standing, self.harness)
        return total

    @cached_property
    def engine_starts(self) -> int:
        """Engine starts that the symptoms and tests called for."""
        running, starts = False, 0
        for entry in self.entries:
            if isinstance(entry.item, Reading) and entry.item.test.at_rest:
                continue  # in between
            state = entry.item.state if isinstance(entry.item, Symptom) else entry.item.test.state
            starts += state.engine_running and not running
            running = state.engine_running
        return starts


def _let_go(state: VehicleState, propped: frozenset[str], harness: Harness) -> VehicleState:
    """A state as it stands when nobody holds anything any more; what is propped stays."""
    def left(name: str, position: str) -> str:
        control = harness.controls[name]
        if name in propped or not control.needs_holding(position):
            return position
        return control.positions[0] if control.needs_holding(control.assumed) else control.assumed

    return replace(state, positions=tuple((n, left(n, p)) for n, p in state.positions))


def _same_again(now: Reading, before: Evidence) -> bool:
    """Whether a volt drop or voltage was measured before and has hardly changed."""
    if not isinstance(before, Reading) or now.test != before.test or not now.test.row.of_supply:
        return False
    if told_nothing(now) or told_nothing(before):
        return False
    return abs(abs(now.value.low) - abs(before.value.low)) <= _SAME_SHARE * abs(before.value.low) + _SAME_V


def told_nothing(item: Evidence) -> bool:
    """A test that could not be done."""
    return isinstance(item, Reading) and item.value.told_nothing
