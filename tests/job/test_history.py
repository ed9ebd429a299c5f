"""What follows from the entries of a job: what still counts, what was asked for, minutes, where the job stands.

Histories are put together entry by entry, so that each rule is met by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.job.history import IN_VAIN, EntryError, History
from tracer.job.text import Event, JobHeader, JobRecord
from tracer.observation.evidence import Reading, Symptom
from tracer.observation.words.readings import parse_test, parse_value, test_as_data, value_as_data
from tracer.observation.words.symptoms import parse_symptom, symptom_as_data
from tracer.planning.costs import Standing, after_test, minutes_of

HARNESS = load_harness(MODELS / "rear_end.yaml")
START = datetime(2026, 3, 4, 9, tzinfo=UTC)
Said = tuple[str, Mapping[str, Any]]
DARK = "left rear stop dark when brake pedal pressed"
NORMAL = "left rear stop normal when brake pedal pressed"
DROP = "volt drop left rear.earth to E1 when brake pedal pressed"
LOOK = "look left rear stop when brake pedal pressed"


def seen(text: str, **also: Any) -> Said:
    return "symptom", {**symptom_as_data(parse_symptom(text, HARNESS)), **also}


def read(text: str, value: str, harness: Harness = HARNESS) -> Said:
    made = parse_test(text, harness)
    found = parse_value(value, made.kind, made.lamp, bool(made.in_hand))
    return "reading", {"test": test_as_data(made), "value": value_as_data(found)}


def proposed(text: str) -> Said:
    return "proposed", {"key": "X-1", "test": test_as_data(parse_test(text, HARNESS))}


def mended(repair: str = "clean earth point E1") -> Said:
    return "repaired", {"repair": repair, "parts": []}


def proof(check: int, good: bool) -> Said:
    return "proof", {"check": check, "good": good, "found": "ok" if good else "still as before"}


def history(*said: Said, harness: Harness = HARNESS) -> History:
    """Entries numbered from 1."""
    return History([Event(n, START + timedelta(minutes=n), k, d) for n, (k, d) in enumerate(said, 1)], harness)


def told(items: Sequence[Any]) -> list[str]:
    """Evidence in short: what was seen, or what was read."""
    return [i.says() if isinstance(i, Symptom) else f"{i.test.kind} {i.value.text}" for i in items]


STOP_DARK, STOP_NORMAL = told([parse_symptom(DARK, HARNESS)])[0], told([parse_symptom(NORMAL, HARNESS)])[0]


# --- What still counts after a repair --------------------------------------------------------------------


def test_a_repair_after_which_the_complaint_stayed_leaves_everything_standing() -> None:
    both = history(seen(DARK), read(DROP, "0.02 V"), mended(), seen(DARK))
    assert told(both.evidence) == [STOP_DARK, "drop 0.02 V", STOP_DARK]
    assert told(history(seen(DARK), mended()).evidence) == [STOP_DARK]  # nobody has looked yet


def test_a_repair_that_changed_what_the_vehicle_does_starts_afresh() -> None:
    assert told(history(seen(DARK), read(DROP, "0.02 V"), mended(), seen(NORMAL)).evidence) == [STOP_NORMAL]
    other = seen("left rear tail dark when lamp switch side")  # nothing was seen of it before
    assert len(history(seen(DARK), mended(), other).evidence) == 1
    dim = "left rear stop dim when brake pedal pressed"
    assert len(history(seen(DARK), mended(), seen(dim)).evidence) == 1
    elsewhere = seen("left rear stop dark when brake pedal released")  # in another state it is no complaint
    assert len(history(seen(DARK), mended(), elsewhere).evidence) == 1


def test_the_complaint_stayed_if_no_lamp_seen_before_looks_otherwise() -> None:
    """One more lamp may be told of; of two that were seen both must look as before."""
    two = "left rear stop dark, right rear stop dark when brake pedal pressed"
    one_mended = "left rear stop dark, right rear stop normal when brake pedal pressed"
    assert len(history(seen(DARK), mended(), seen(two)).evidence) == 2
    assert len(history(seen(two), mended(), seen(one_mended)).evidence) == 1
    assert len(history(seen(two), mended(), seen(DARK)).evidence) == 2


def test_of_several_repairs_the_last_that_changed_something_counts() -> None:
    first = history(seen(DARK), mended("a"), seen(NORMAL), mended("b"), seen(NORMAL))
    assert told(first.evidence) == [STOP_NORMAL] * 2
    second = history(seen(DARK), mended("a"), seen(DARK), mended("b"), seen(NORMAL))
    assert told(second.evidence) == [STOP_NORMAL]


def test_a_reading_that_a_proof_check_found_as_wrong_as_before_leaves_everything_standing() -> None:
    """3.4 V lost before and after; a twentieth and 0.05 V more or less is the same, and so are the leads the other
    way round. Without a failed check right before it nobody says that it was asked for."""
    def counts(after: str, *between: Said) -> int:
        return len(history(seen(DARK), read(DROP, "3.4 V"), mended(), *between, read(DROP, after)).evidence)

    failed = proof(2, False)
    assert counts("3.4 V", failed) == counts("3.5 V", failed) == counts("-3.4 V", failed) == 3
    assert counts("0.1 V", failed) == counts("3.8 V", failed) == counts("4.2 V", failed) == 1
    assert counts("3.4 V") == 1
    assert counts("3.4 V", failed, ("note", {"text": "tea"})) == 1
    assert counts("3.4 V", ("note", {"text": "tea"})) == 1
    other = history(seen(DARK), read("volt drop right rear.earth to E2 when brake pedal pressed", "3.4 V"), mended(),
                    failed, read(DROP, "3.4 V"))
    assert len(other.evidence) == 1
    assert counts("3.6 V", failed) == 3  # 0.20 V more, of 0.17 V and 0.05 V
    small = [len(history(seen(DARK), read(DROP, "0.10 V"), mended(), failed, read(DROP, after)).evidence)
             for after in ("0.14 V", "0.25 V")]
    assert small == [3, 1]
    ohms = "ohms left rear.earth to E1"
    assert len(history(seen(DARK), read(ohms, "3.4 Ω"), mended(), failed, read(ohms, "3.4 Ω")).evidence) == 1
    skipped = history(seen(DARK), read(DROP, "could not do it"), mended(), failed, read(DROP, "3.4 V"))
    assert len(skipped.evidence) == 1


def test_what_could_not_be_done_tells_nothing_and_is_known_as_skipped() -> None:
    job = history(seen(DARK), read(DROP, "could not do it"), read(LOOK, "dark"))
    assert len(job.entries) == 3 and len(job.evidence) == len(job.told) == 2
    assert [t.kind for t in job.skipped] == ["drop"]
    assert len(history(read(DROP, "could not do it")).skipped) == 1  # the first thing of a job as well
    assert history(read(DROP, "could not do it"), mended(), read(LOOK, "skipped")).skipped == (
        parse_test(LOOK, HARNESS),)  # after a repair what was in the way may be gone


# --- Repairs ---------------------------------------------------------------------------------------------


def test_a_repair_made_in_vain_counts_with_what_stood_when_it_was_made_last() -> None:
    job = history(seen(DARK), mended("a"), seen(DARK), read(DROP, "0.02 V"), mended("b"), seen(DARK), mended("a"))
    assert job.tried == {"a": 4, "b": 3}
    afresh = history(seen(DARK), read(DROP, "0.02 V"), mended("a"), seen(NORMAL), mended("b"), seen(NORMAL))
    assert afresh.tried == {"a": 0, "b": 1}  # of what still counts


def test_each_repair_in_vain_leaves_a_suspect_less() -> None:
    job = history(seen(DARK), mended("a"), seen(DARK), mended("b"), seen(DARK), mended("a"))
    assert job.made_in_vain == pytest.approx({"a": IN_VAIN**2, "b": IN_VAIN})


def test_the_latest_result_of_each_check_since_the_last_repair_counts() -> None:
    job = history(seen(DARK), mended("a"), proof(1, True), proof(2, False), mended("b"), proof(1, False),
                  proof(3, True), proof(1, True))
    assert {n: r.good for n, r in job.proof_results.items()} == {1: True, 3: True}
    assert history(seen(DARK), mended("a")).proof_results == {}
    before = history(proof(1, True), seen(DARK))
    assert set(before.proof_results) == {1}


def test_of_a_repair_the_checks_it_asked_for_and_those_taken_since_are_listed() -> None:
    asked = ("repaired", {"repair": "a", "parts": [], "checks": [{"number": 1}, {"number": 2}]})
    events = [Event(n, START, k, d) for n, (k, d) in enumerate([
        proof(2, True), asked, proof(1, False), proof(1, True), proof(4, False)], 1)]
    record = JobRecord(JobHeader("h.yaml", "0" * 64), tuple(events))
    assert record.checks_of(events[1]) == {1: True, 2: None, 4: False}


# --- What was asked for ----------------------------------------------------------------------------------


def test_who_was_sent_to_look_was_asked() -> None:
    """Right after a repair, at a proof check, or in a state in which a look was proposed; whatever is noted or
    photographed between changes nothing of it."""
    def asked(*before: Said) -> bool:
        item = history(*before, seen(DARK)).entries[-1].item
        assert isinstance(item, Symptom)
        return item.asked

    note, photo = ("note", {"text": "tea"}), ("photo", {"file": "x.jpg"})
    assert not asked() and not asked(note) and not asked(seen(NORMAL))
    assert asked(mended()) and asked(proof(1, False)) and asked(mended(), note, photo)
    assert not asked(mended(), seen(NORMAL))
    assert asked(proposed(LOOK)) and asked(proposed(LOOK), seen(NORMAL))
    assert not asked(proposed("look left rear tail when lamp switch side"))  # in another state
    assert not asked(proposed("volts left rear.stop when brake pedal pressed"))  # that was no look


def test_a_look_proposed_later_makes_nobody_asked() -> None:
    first = history(seen(DARK), proposed(LOOK), mended()).entries[0].item
    assert isinstance(first, Symptom) and not first.asked


# --- The vehicle's story ---------------------------------------------------------------------------------


def test_the_latest_story_counts_and_what_was_told_beside_complaints() -> None:
    old, new = ("story", {"work": ["radio"], "where": "dash"}), ("story", {"work": ["washed"]})
    beside = seen(DARK, story={"work": ["lamp changed"], "since": "Monday"})
    assert history(old).story.work == ("radio",)
    assert history(old, new).story.work == ("washed",) and history(old, new).story.where == ""
    both = history(beside, old).story
    assert {*both.work} == {"radio", "lamp changed"} and both.since == "Monday" and both.where == "dash"
    assert not history(seen(DARK)).story.told


# --- Where the job stands --------------------------------------------------------------------------------


def test_minutes_are_those_of_the_tests_one_after_the_other() -> None:
    """Looks told unasked cost nothing; what could not be done neither."""
    first, second = (parse_test(t, HARNESS) for t in (
        "volts left rear.stop when brake pedal pressed", DROP))
    rest = Standing(HARNESS.state({}))
    one = minutes_of(first, rest, HARNESS)
    both = one + minutes_of(second, after_test(first, rest, HARNESS), HARNESS)
    readings = read("volts left rear.stop when brake pedal pressed", "12 V"), read(DROP, "0.02 V")
    assert history(seen(DARK), *readings).minutes_spent == pytest.approx(both)
    assert both < one + minutes_of(second, rest, HARNESS)  # the lid is off, the pedal propped
    assert history(readings[0], read(DROP, "could not do it")).minutes_spent == pytest.approx(one)
    assert history(seen(DARK)).minutes_spent == 0


def test_who_has_told_of_a_lamp_has_let_go_of_the_pedal() -> None:
    """What is propped stays pressed; a switch stays where it is; and whoever saw lamps had the battery on."""
    pressed, released = HARNESS.state({"brake pedal": "pressed"}), HARNESS.state({})
    assert history(seen(DARK)).standing.state == released
    side = history(seen("left rear tail dark when lamp switch side")).standing.state
    assert side == HARNESS.state({"lamp switch": "side"})
    held = history(read("volts left rear.stop when brake pedal pressed", "12 V"), seen(DARK))
    assert held.standing.state == pressed and held.standing.propped == {"brake pedal"}
    dead = history(read("ohms left rear.earth to E1", "0.1 Ω"))
    assert dead.standing.battery_off
    assert not history(read("ohms left rear.earth to E1", "0.1 Ω"), seen(DARK)).standing.battery_off
    assert held.standing.opened == {"left rear corner"} and held.standing.instrument == "voltmeter"


def test_an_engine_is_started_once_for_all_that_follows() -> None:
    """What is looked over at rest in between stops nothing that counts."""
    def running(text: str) -> Said:
        found = parse_symptom(text, HARNESS)
        return "symptom", symptom_as_data(replace(found, state=replace(found.state, engine_running=True)))

    inspected = read("inspect C1", "nothing")
    assert history(seen(DARK)).engine_starts == 0
    assert history(running(DARK), running(NORMAL)).engine_starts == 1
    assert history(running(DARK), seen(DARK), running(DARK)).engine_starts == 2
    assert history(running(DARK), inspected, running(DARK)).engine_starts == 1


def test_a_history_is_known_as_it_stood_before_an_entry() -> None:
    job = history(seen(DARK), read(DROP, "0.02 V"), mended(), seen(NORMAL))
    then = job.before(3)
    assert len(then.entries) == 2 and not then.repairs
    assert then.entries[0].item is job.entries[0].item
    assert [e.number for e in job.entries] == [1, 2, 4]


def test_a_value_of_another_kind_of_test_is_refused_with_its_entry() -> None:
    """A light is no answer to a voltmeter, a number none to a look or a search, and so on."""
    answers = {DROP: "0.02 V", LOOK: "dark", "inspect C1": "nothing"}
    for text, value in answers.items():
        assert isinstance(history(read(text, value)).entries[0].item, Reading)
        for other, wrong in answers.items():
            if other != text:
                mixed = "reading", {"test": read(text, value)[1]["test"], "value": read(other, wrong)[1]["value"]}
                with pytest.raises(EntryError, match="entry 2 of the job"):
                    _ = history(seen(DARK), mixed).entries
        assert len(history(read(text, "could not do it")).entries) == 1


# --- What supplies the vehicle ---------------------------------------------------------------------------


def test_of_two_batteries_in_series_both_together_are_the_supply() -> None:
    """24.6 V over the lorry's two; the half of it at one of them says nothing of the other."""
    lorry = load_harness(MODELS / "lorry_24v.yaml")
    one = read("volts battery 1.+ when everything off", "12.1 V", lorry)
    both = read("volt drop battery 2.+ to battery 1.- when everything off", "24.6 V", lorry)
    assert history(one, harness=lorry).supply_v is None
    assert history(both, one, harness=lorry).supply_v == pytest.approx(24.6)
