"""What is told while a job is open: what is recorded of it, what is said back, what should be known at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from tracer.errors import ReadingError
from tracer.harness.model import Harness
from tracer.inference.expected_results import fits, unexpected
from tracer.inference.likelihood import as_meant
from tracer.job.log import NewEntry
from tracer.job.understanding import Understanding
from tracer.observation.consistency import contradictions
from tracer.observation.evidence import Evidence, Reading, Symptom, Test, Value
from tracer.observation.words.reading_data import test_as_data, value_as_data
from tracer.safety.advice import warned, warning
from tracer.safety.facts import is_live
from tracer.safety.permitted import forbidden, refused

if TYPE_CHECKING:
    from tracer.observation.words.symptoms import Understood

# A meter that shows less than nothing against the body of a negative-earth vehicle has its leads exchanged, unless it
# is the small voltage of an earth strap while the engine cranks or charges. (Common practice, no source.)
LEADS_TURNED_V = 1.0
_PLAINLY = 1.0  # natural log by which what leads speaks for a sign that is nowhere met on a sound vehicle


class Recorded(Struct, frozen=True):
    """What recording a symptom or reading led to. `understood` says back what was taken in, one line for each state.

    `remark` says what the person should know at once: a contradiction, a reading that no suspect
    explains and what that may mean, an assumption about the vehicle state.
    """

    number: int
    understood: str
    remark: str = ""


class TakenIn(Struct, frozen=True):
    """A reading as it is to be recorded, and what is said of it."""

    entry: NewEntry
    understood: str
    remark: str = ""


def said_of(told: Understood, number: int, job: Understanding) -> Recorded:
    """What is said of symptoms that were just recorded under this number; `job` has them already."""
    harness, before = job.harness, job.history.evidence[: -len(told.symptoms)]
    understood = "; ".join(f"{s.says()} — with {harness.say_state(s.state)}" for s in told.symptoms)
    clash = any(_contradicts(symptom, before, job) for symptom in told.symptoms)
    remarks = ["contradicts what was recorded earlier for the same lamp in the same state; both are kept"] * clash
    danger = (warning(symptom.state, harness) for symptom in told.symptoms)
    return Recorded(number, understood, "; ".join(filter(None, [*danger, told.remark(), *remarks])))


def _contradicts(symptom: Symptom, before: Sequence[Evidence], job: Understanding) -> bool:
    """Whether it contradicts what was recorded before it."""
    earlier = [e for e in before if isinstance(e, Symptom) and e.state == symptom.state]
    clash = any(contradictions([one, symptom]) for one in earlier)
    if clash:  # it takes the circuit to know which lamps should be dark
        *meant, last = (as_meant(e, job.investigator.predictor) for e in (*earlier, symptom))
        clash = any(contradictions([one, last]) for one in meant)
    return clash


def take_in(test: Test, value_text: str, job: Understanding) -> TakenIn:
    """What is recorded and said of a reading.

    Raises:
        TracerError: The value cannot be understood, or the test would have destroyed something.
    """
    harness = job.harness
    if (refusal := refused(test, harness)) is not None:
        raise ReadingError(*refusal)
    from tracer.observation.words.readings import parse_value  # of use here alone, and much to read in

    value = parse_value(value_text, test.kind, test.lamp, bool(test.in_hand))
    if value.lead_blew and not test.has_lead:
        raise ReadingError("no temporary lead is fitted in this test",
                           "a fuse of the vehicle is told as a symptom: “F3 blows when …”")
    if value.told_nothing:
        return TakenIn(_entry(test, value), f"{test.says(harness)}: not done")
    evidence = job.history.evidence
    turned, remark = _leads_as_they_were(test, value, "+" in value_text, harness)
    if remark and evidence and fits(Reading(test, value), job.diagnosis, job.investigator) > fits(
            Reading(test, turned), job.diagnosis, job.investigator) + _PLAINLY:
        remark = ""  # the battery's earth is off, and all that hangs on it lies beyond the body
    value = turned if remark else value
    strange, danger = "", forbidden(test, harness, job.shorts if evidence and is_live(test) else None)
    if evidence or test.row.of_lamps:
        strange = unexpected(Reading(test, value), job.diagnosis, job.investigator)
    remarks = "; ".join(filter(None, [warned(danger), remark, strange]))
    return TakenIn(_entry(test, value), f"{test.says(harness)}: {value_text.strip()}", remarks)


def _entry(test: Test, value: Value) -> NewEntry:
    return "reading", {"test": test_as_data(test), "value": value_as_data(value)}


def _leads_as_they_were(test: Test, value: Value, with_sign: bool, harness: Harness) -> tuple[Value, str]:
    """A voltage against the body with the sign that it can have there, and what is to be said if that is not the sign
    that was typed."""
    against_body = test.row.of_supply and test.row.one_point and (
        test.minus in {*harness.bodies(), harness.reference})
    if harness.positive_earth and against_body and value.low > 0 and not with_sign:
        # Nothing lies above the body there: the minus was not typed, or the meter was connected the other way
        # round (common practice, no source).
        return value.turned(), (
            "taken as below the body, as everything is on a positive-earth vehicle (else write it with a +)")
    if against_body and value.high < -LEADS_TURNED_V and not harness.positive_earth:
        return value.turned(), (
            "taken as above the body: the leads were the other way round, for nothing lies below it here")
    return value, ""
