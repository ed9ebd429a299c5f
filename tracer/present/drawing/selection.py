"""What to draw of a job or a harness: the affected sub-circuit, suspects, test points, current and voltages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Change
from tracer.errors import TracerError, UnknownNameError
from tracer.faults import Fault
from tracer.harness.devices import Conductor, Joint, ends
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.inference.current_paths import Flow, flow, path_through
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.explanation import say_lamp
from tracer.inference.hypotheses import basic_states
from tracer.inference.usual_directions import FLOWS_A, Usual, usual_of
from tracer.job.job import Job
from tracer.observation.evidence import (
    Compared,
    Evidence,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    RelaySeen,
    Seen,
    Symptom,
    Test,
    Value,
)
from tracer.observation.forward_model import Predictor
from tracer.observation.words.reading_data import test_from_data, value_from_data
from tracer.present.drawing.scope import sub_circuit
from tracer.present.drawing.view import Mark, View
from tracer.units import percent

LIVING = 0.02  # a suspect with a smaller share is not drawn
MOST_MARKS = 6
_MANY_LAMPS = 6
_ODD = 0.3  # decades of light between a lamp that is well and one that is not


class NumberedTest(Struct, frozen=True):
    """A test of the job with its number in the list of readings.

    Attributes:
        event: Number of the job's entry; of the proposal for a test not made yet.
        made: A reading stands in the job (withdrawn or not).
        found: What it showed, None if it was not made yet.
    """

    label: str
    event: int
    test: Test
    made: bool
    withdrawn: bool = False
    found: Value | None = None

    def measured(self) -> dict[str, str]:
        """What is written at the flags of the reading."""
        if self.found is None or self.found.told_nothing or self.test.row.by_hand:
            return {}
        points, words = self.points(), found_words(self.found)
        if len(points) < 2:
            return {label: words for label, _ in points}
        return {points[0][0]: f"{words} to {points[1][0]}"}

    def points(self) -> tuple[tuple[str, str], ...]:
        """(flag, terminal) of each probe that goes to a terminal."""
        row = self.test.row
        if row.one_point:
            return ((self.label, self.test.plus),)
        if row.two_points:
            return ((f"{self.label}+", self.test.plus), (f"{self.label}−", self.test.minus))
        if row.by_hand and self.test.minus:
            return ((self.label, self.test.plus), (self.label, self.test.minus))
        return ()


def numbered_tests(job: Job) -> tuple[NumberedTest, ...]:
    """All tests in the order of their readings, T1 first, and then the test proposed last if it is not made yet.

    Withdrawn readings keep their number, so that a number never comes to mean another test.
    """
    found: list[NumberedTest] = []
    count = 1
    for event in job.events():
        if event.kind == "reading":
            try:
                test = test_from_data(event.data["test"], job.harness)
                value = value_from_data(event.data["value"])
                found.append(NumberedTest(f"T{count}", event.number, test, True, event.withdrawn, value))
            except TracerError:
                if not event.withdrawn:  # one that was withdrawn may speak of what the harness has lost
                    raise
            count += 1
    proposed = [e for e in job.record.living if e.kind == "proposed"]
    if proposed and not job.closed:
        test = test_from_data(proposed[-1].data["test"], job.harness)
        if not any(t.test == test and not t.withdrawn for t in found):
            found.append(NumberedTest(f"T{count}", proposed[-1].number, test, False))
    return tuple(found)


def found_words(value: Value) -> str:
    """What a test showed, as it was typed where that is known."""
    if value.told_nothing:
        return "not done"
    if value.text:
        return value.text.strip()
    if value.seen:
        return value.seen.says()
    return f"{value.low:g}" if not value.is_range else f"{value.low:g} to {value.high:g}"


def repaired_suspect(job: Job) -> tuple[Diagnosis, Suspect | None] | None:
    """The diagnosis before the last repair and the suspect that was repaired (None if it was none of the
    list); None if there is no repair, or symptoms or readings have come after it."""
    if not job.repairs:
        return None
    last = job.repairs[-1]
    if any(e.number > last.number for e in job.entries):
        return None
    diagnosis = job.diagnosis_before(last.number)
    return diagnosis, next((s for s in diagnosis.suspects if s.repair == last.data.get("repair")), None)


def view_of_job(
    job: Job, *, state: VehicleState | None = None, suspect: int | None = None, whole: bool = False
) -> View:
    """The affected sub-circuit of a job, with the current that flows if a suspect is true.

    Args:
        job: The job.
        state: Vehicle state to show; by default the one with the strongest complaint.
        suspect: Rank of the suspect taken as true; by default the likeliest, or the one that was repaired.
        whole: Draw the whole harness.

    Raises:
        UnknownNameError: No suspect has that rank.
    """
    diagnosis, marked, focus = _chosen(job, suspect)
    harness, predictor = job.harness, job.investigator.predictor
    change = focus.best.change if focus else NO_CHANGE
    usual = usual_of(predictor)
    shown = state or _state_to_show(diagnosis, focus, usual)
    found = flow(predictor, predictor.setup(shown), change)
    marks = tuple(Mark(rank, _elements(s), f"{s.repair} ({percent(s.share)})") for rank, s in marked)
    tests = [t for t in numbered_tests(job) if not t.withdrawn]
    points = tuple(dict.fromkeys(p for t in tests for p in t.points()))
    elements = frozenset[str]()
    if not whole and (named := _names(diagnosis, marked, focus, predictor)):
        elements = sub_circuit(harness, named) | _paths(predictor, found, named)
        elements |= _around_next(harness, elements, tests)
    said = _subtitle(job, focus, marked)
    crossed, through = _crossed(harness, change, found)
    return View(
        job.vehicle or harness.title, said, elements, marks, points, found.volts, {**found.signed, **through},
        usual.against(found), _lamp_words(predictor, shown, change), harness.say_state(shown),
        {label: words for t in tests for label, words in t.measured().items()}, crossed,
    )


def view_of_harness(harness: Harness, *, state: VehicleState | None = None, fault: Fault | None = None) -> View:
    """The whole harness; with a state or a fault, the current that flows then.

    A fault is shown at its likeliest severity, without a state in the one in which it shows most.
    """
    if state is None and fault is None:
        return View(harness.title)
    predictor = Predictor(harness)
    change = max(fault.variants, key=lambda v: v.weight).change if fault else NO_CHANGE
    shown = state or max(basic_states(harness), key=lambda s: _oddness(predictor, s, change))
    found = flow(predictor, predictor.setup(shown), change)
    marks = (Mark(1, fault.elements, fault.says),) if fault else ()
    fed = usual_of(predictor).against(found) if fault else frozenset[str]()
    crossed, through = _crossed(harness, change, found)
    return View(
        harness.title, fault.says if fault else "healthy", frozenset(), marks, (), found.volts,
        {**found.signed, **through}, fed, _lamp_words(predictor, shown, change), harness.say_state(shown),
        crossed=crossed,
    )


def _crossed(
    harness: Harness, change: Change, found: Flow
) -> tuple[dict[str, tuple[str, str]], dict[str, float]]:
    """Ways and wires that a change puts on the ends of others: the nodes that each joins then, and its current.

    Such a change opens both and adds a path from an end of each to an end of the other.
    """
    opened = {n for n, ohm in change.set_ohm if ohm >= OPEN_OHM}
    owner = {n: d for d in harness.devices() if isinstance(d, (Joint, Conductor)) and d.name in opened
             for n in ends(d)}
    joins: dict[str, tuple[str, str]] = {}
    amps: dict[str, float] = {}
    for path in change.added:
        one, other = owner.get(path.a), owner.get(path.b)
        if one is None or other is None or one is other:
            continue
        joins[one.name] = (path.a, path.b) if path.a == one.a else (path.b, path.a)
        first, second = joins[one.name]
        amps[one.name] = (found.volts[first] - found.volts[second]) / path.ohm
    return (joins, amps) if len(joins) == len(opened & {d.name for d in owner.values()}) else ({}, {})


def _elements(suspect: Suspect) -> tuple[str, ...]:
    """The devices and places that the likeliest fault of a suspect touches."""
    return tuple(dict.fromkeys(e for f in suspect.best.faults for e in f.elements))


def _chosen(job: Job, rank: int | None) -> tuple[Diagnosis, list[tuple[int, Suspect]], Suspect | None]:
    """The diagnosis to show, the suspects to mark with their rank, and the one taken as true."""
    if rank is None and (repaired := repaired_suspect(job)):
        diagnosis, suspect = repaired
        if suspect is not None:
            return diagnosis, [(1, suspect)], suspect
    else:
        diagnosis = job.diagnosis
    if rank is not None and not 1 <= rank <= len(diagnosis.suspects):
        raise UnknownNameError(f"no suspect {rank}", f"suspects 1 to {len(diagnosis.suspects)}")
    if not diagnosis.evidence and rank is None:
        return diagnosis, [], None
    ranked = list(enumerate(diagnosis.listed, 1))
    marked = [(n, s) for n, s in ranked if s.share >= LIVING][:MOST_MARKS] or ranked[:1]
    if rank is None:
        return diagnosis, marked, marked[0][1]
    chosen = ranked[rank - 1]
    return diagnosis, marked if chosen in marked else [*marked[: MOST_MARKS - 1], chosen], chosen[1]


def _state_to_show(diagnosis: Diagnosis, suspect: Suspect | None, usual: Usual) -> VehicleState:
    """The state of the strongest complaint that the suspect explains; one with a back-feed goes before."""
    predictor, harness = diagnosis.predictor, diagnosis.predictor.harness
    if suspect is None:
        return harness.state({})
    gains: dict[VehicleState, float] = {}
    for e, item in enumerate(diagnosis.evidence):
        if isinstance(item, Symptom) or (item.test.row.of_lamps and not item.test.done):
            where = item.state if isinstance(item, Symptom) else item.test.state
            gain = float(diagnosis.loglik[e, suspect.rows[0]] - diagnosis.healthy[e])
            gains[where] = gains.get(where, 0.0) + gain
    change = suspect.best.change
    if not gains:
        return max(basic_states(harness), key=lambda s: _oddness(predictor, s, change))

    def rank(where: VehicleState) -> tuple[bool, float]:
        fed = usual.against(flow(predictor, predictor.setup(where), change))
        return any(f.name in fed for f in predictor.lamps), gains[where]

    strongest = max(gains.values())
    return max((s for s, g in gains.items() if g >= strongest / 2 or g == strongest), key=rank)


def _paths(predictor: Predictor, found: Flow, lamps: Iterable[str]) -> frozenset[str]:
    """All devices on the strongest paths through lamps that carry current."""
    own = {d.name for d in predictor.harness.devices()}
    known = [f for f in predictor.lamps if f.lamp in set(lamps) and abs(found.signed.get(f.name, 0.0)) >= FLOWS_A]
    return frozenset(x.name for f in known for x in path_through(found, f, predictor) if x.name in own)


def _names(
    diagnosis: Diagnosis, marked: Sequence[tuple[int, Suspect]], focus: Suspect | None, predictor: Predictor
) -> list[str]:
    """What to draw: the suspects' elements and the lamps of the symptoms."""
    lamps = list(dict.fromkeys(lamp for item in diagnosis.evidence for lamp in _lamps_of(item)))
    if len(lamps) > _MANY_LAMPS:
        lamps = _complained(diagnosis.evidence, predictor) or lamps
    chosen = [s for _, s in marked] + ([focus] if focus else [])
    return list(dict.fromkeys([*lamps, *(e for s in chosen for e in _elements(s))]))


def _lamps_of(item: Evidence) -> Iterable[str]:
    if isinstance(item, Symptom):
        return [x for s in item.seen for x in _things(s)]
    return [item.test.lamp] if item.test.row.of_lamps else []


def _things(s: Seen) -> tuple[str, ...]:
    match s:
        case FuseSeen():
            return (s.fuse,)
        case RelaySeen():
            return (s.relay,)
        case LensSeen():
            return s.lamps
        case LoadSeen():
            return (s.load,)
        case Compared():
            return s.lamp, s.other
    return (s.lamp,)


def _complained(evidence: Sequence[Evidence], predictor: Predictor) -> list[str]:
    """Lamps that were seen otherwise than a healthy vehicle shows them."""
    found: dict[str, None] = {}
    for item in evidence:
        if isinstance(item, Symptom):
            healthy = predictor.healthy(item.state)
            for s in item.seen:
                if isinstance(s, LampSeen) and say_lamp(healthy, predictor, s.lamp).split(",")[0] not in s.words:
                    found[s.lamp] = None
    return list(found)


def _around_next(harness: Harness, elements: frozenset[str], tests: Sequence[NumberedTest]) -> frozenset[str]:
    """What must be drawn as well to show where the next test's probes go."""
    by_name = {d.name: d for d in harness.devices()}
    shown = {n for name in elements for n in ends(by_name[name])}
    missing = [n for t in tests if not t.made for _, n in t.points() if n not in shown and not node_of(n).inner]
    return sub_circuit(harness, missing) if missing else frozenset()


def _oddness(predictor: Predictor, state: VehicleState, change: Change) -> tuple[int, float]:
    """How much a change shows in a state: lamps that look otherwise, and by how much in all."""
    panel = predictor.panel(predictor.setup(state), predictor.table([change]))
    apart = abs(panel.flux[0] - predictor.healthy(state).flux[0])
    return int((apart > _ODD).sum()), float(apart.sum())


def _lamp_words(predictor: Predictor, state: VehicleState, change: Change) -> dict[str, str]:
    panel = predictor.panel(predictor.setup(state), predictor.table([change]))
    return {f.lamp: say_lamp(panel, predictor, f.lamp) for f in predictor.lamps}


def _subtitle(job: Job, focus: Suspect | None, marked: Sequence[tuple[int, Suspect]]) -> str:
    if focus is None:
        return "nothing seen yet: healthy"
    rank = next((n for n, s in marked if s.repair == focus.repair), 0)
    found = repaired_suspect(job)
    if found and found[1] is not None and found[1].repair == focus.repair:
        return f"as found, before the repair: {focus.best.says()}"
    return f"if suspect {rank} is true: {focus.best.says()}"
