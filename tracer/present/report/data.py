"""The record of a job as plain data: what was seen, measured, concluded, repaired and proven."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any

import numpy as np
from msgspec import Struct

from tracer.errors import TracerError
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.expected_results import expectations
from tracer.inference.explanation import Path, current_path, predicted_words, say_evidence
from tracer.inference.likelihood import contradicted
from tracer.job.job import Job
from tracer.job.text import Event
from tracer.observation.evidence import LampSeen, Reading, Symptom
from tracer.observation.words.reading_data import test_key, value_from_data
from tracer.observation.words.symptom_data import symptoms_from_data
from tracer.planning.costs import Standing, after_test, minutes_of
from tracer.planning.next_step import Proposal
from tracer.present.drawing.selection import LIVING, MOST_MARKS, found_words, numbered_tests
from tracer.present.report.reasoning import expected_then, ruled_out
from tracer.safety.advice import Facts, cautions_of, merged, of_repair, of_test
from tracer.safety.lines import as_data
from tracer.safety.road import APPROVED, not_for_the_road


class _Period(Struct, frozen=True):
    """The entries up to one repair (or up to now), and the diagnosis they led to."""

    diagnosis: Diagnosis
    repair: Event | None
    suspect: Suspect | None
    discount: Mapping[str, float]


def report_data(job: Job) -> dict[str, Any]:
    """Everything the report says, as plain data that JSON can hold. Times are ISO 8601; probabilities lie
    between 0 and 1; every other figure has its unit in its key."""
    periods = _periods(job)
    header = job.record.header
    times = [e.time for e in job.events()]
    return {
        "vehicle": job.vehicle,
        "complaint": job.complaint,
        "status": job.status(),
        "closed": job.closed,
        "started": _time(min(times)) if times else None,
        "last_entry": _time(max(times)) if times else None,
        "harness": {
            "title": job.harness.title,
            "file": _file_name(header.harness),
            "sha256": header.fingerprint,
            "changed_since_job_was_opened": job.harness_changed,
        },
        "seen": [_seen(job, e) for e in job.events() if e.kind == "symptom"],
        "tests": _tests(job, periods),
        "contradictions": _contradictions(job, periods),
        "reasoning": _reasoning(job, periods),
        "repairs": _repairs(job),
        "effort": {
            "tests_estimated_minutes": round(job.minutes_spent, 1),
            "repairs_recorded_minutes": _recorded_minutes(job),
            "engine_starts": job.engine_starts,
        },
        "risk_of_another_fault": _risk(job),
        "cautions": _cautions(job),
        "road": _road(job),
        "differences": {
            "overlays": [
                {"time": _time(e.time), "name": _file_name(str(e.data.get("name", ""))),
                 "text": str(e.data.get("text", "")), "withdrawn": e.withdrawn}
                for e in job.events() if e.kind == "overlay"
            ],
            "notes": [
                {"time": _time(e.time), "text": str(e.data.get("text", "")), "withdrawn": e.withdrawn}
                for e in job.events() if e.kind == "note"
            ],
            "in_words": list(job.differences),
            "wiring": _wiring(job),
            "earlier_jobs": [e.as_data() for e in job.earlier_jobs],
            "places_opened": sorted(job.standing.opened),
        },
        "open": None if job.closed else _open(job),
    }


def _wiring(job: Job) -> list[dict[str, Any]]:
    """Lines that were not sure and that readings settled; a wire that is as filed is called by its run."""
    runs = {w.name: " > ".join(w.run) for w in job.harness.wires}
    return [
        {"line": x.line, "says": x.says if x.deviation is not None else runs.get(x.line, x.line),
         "probability": round(x.chance, 4), "as_filed": x.deviation is None}
        for x in job.wiring
    ]


def _periods(job: Job) -> list[_Period]:
    periods: list[_Period] = []
    for repair in job.repairs:
        diagnosis = job.diagnosis_before(repair.number)
        name = str(repair.data.get("repair", ""))
        suspect = next((s for s in diagnosis.suspects if s.repair == name), None)
        periods.append(_Period(diagnosis, repair, suspect, job.history.before(repair.number).made_in_vain))
    if not job.repairs or any(e.number > job.repairs[-1].number for e in job.entries):
        leading = job.suspects()[0] if job.evidence and job.suspects() else None
        periods.append(_Period(job.diagnosis, None, leading, job.history.made_in_vain))
    return periods


def _period_of(periods: Sequence[_Period], number: int) -> _Period:
    return next((p for p in periods if p.repair is None or p.repair.number > number), periods[-1])


def _seen(job: Job, event: Event) -> dict[str, Any]:
    found: dict[str, Any] = {
        "number": event.number, "time": _time(event.time), "withdrawn": event.withdrawn,
        "as_said": str(event.data.get("text", "")), "looks": [], "everything_else_normal": False, "state": "",
        "after_repair": any(r.number < event.number for r in job.repairs),
    }
    try:
        symptoms = symptoms_from_data(event.data, job.harness)
    except TracerError:  # withdrawn, and the harness no longer has what it speaks of
        return found
    return found | {
        "looks": [s.says() for symptom in symptoms for s in symptom.seen],
        "everything_else_normal": any(s.others_normal for s in symptoms),
        "state": "; ".join(job.harness.say_state(s.state) for s in symptoms),
    }


def _tests(job: Job, periods: Sequence[_Period]) -> list[dict[str, Any]]:
    events = {e.number: e for e in job.events()}
    minutes = _minutes_by_event(job)
    rows = []
    for numbered in numbered_tests(job):
        if not numbered.made:
            continue
        event, test = events[numbered.event], numbered.test
        value = value_from_data(event.data["value"])
        rows.append({
            "label": numbered.label, "number": event.number, "time": _time(event.time), "name": test_key(test),
            "withdrawn": event.withdrawn, "instrument": test.instrument, "set_up": test.says(job.harness),
            "state": job.harness.say_state(test.state),
            "expected": [
                {"suspect": e.repair, "probability": round(e.share, 4), "shows": e.shows}
                for e in expected_then(job, _period_of(periods, event.number).suspect, test, event.number)
            ],
            "found": found_words(value), "done": not value.told_nothing,
            "estimated_minutes": minutes.get(event.number),
            "cautions": [c for c in as_data(cautions_of(of_test(test, job.harness))) if c["grade"] != "note"],
        })
    return rows


def _minutes_by_event(job: Job) -> dict[int, float]:
    standing, minutes = Standing(job.harness.state({})), {}
    for entry in job.entries:
        if isinstance(entry.item, Reading):
            minutes[entry.number] = round(minutes_of(entry.item.test, standing, job.harness), 1)
            standing = after_test(entry.item.test, standing, job.harness)
    return minutes


def _contradictions(job: Job, periods: Sequence[_Period]) -> list[dict[str, str]]:
    found = [
        {"first": say_evidence(p.diagnosis.evidence[i], p.diagnosis),
         "second": say_evidence(p.diagnosis.evidence[j], p.diagnosis)}
        for p in periods for i, j in p.diagnosis.contradictions()
    ]
    return [c for n, c in enumerate(found) if c not in found[:n]]


def _reasoning(job: Job, periods: Sequence[_Period]) -> dict[str, Any] | None:
    """Why the suspect that was repaired last explains what was seen; before a repair, why the likeliest does."""
    period = next((p for p in reversed(periods) if p.repair is not None), periods[-1])
    d, suspect = period.diagnosis, period.suspect
    if not d.evidence:
        return None
    found: dict[str, Any] = {
        "of": "repaired" if period.repair else "likeliest",
        "repair": str(period.repair.data.get("repair", "")) if period.repair else suspect.repair if suspect else "",
        "known_to_the_harness_file": suspect is not None, "what_is_wrong": None, "probability": None, "path": None,
        "evidence": [], "ruled_out": [], "probability_of_none_described": round(d.undescribed, 4),
    }
    if suspect is None:
        return found
    labels = {t.event: t.label for t in numbered_tests(job) if t.made}
    numbers = {id(e.item): e.number for e in job.entries}
    names = [labels.get(numbers.get(id(item), 0), "") for item in d.evidence]
    return found | {
        "what_is_wrong": suspect.best.says(),
        "probability": round(suspect.share, 4),
        "path": _path_data(current_path(d, suspect)),
        "evidence": [_fit(d, suspect, e, names[e]) for e in range(len(d.evidence))],
        "ruled_out": ruled_out(d, suspect, period.discount, names, job),
    }


def _fit(d: Diagnosis, suspect: Suspect, e: int, label: str) -> dict[str, Any]:
    item, own = d.evidence[e], float(d.loglik[e, suspect.rows[0]])
    return {
        "test": label,
        "seen": say_evidence(item, d) if isinstance(item, Symptom) else found_words(item.value),
        "predicted": predicted_words(d.predictor, suspect.best, item),
        "fits": not bool(contradicted(np.array([own]), float(d.random[e]))[0]),
        "a_healthy_vehicle_would_not": own > float(d.healthy[e]) + 1.0,
    }


def _path_data(path: Path | None) -> dict[str, Any] | None:
    return None if path is None else {
        "state": path.state, "lamp": path.lamp, "words": path.words, "back_feed_through": list(path.back_feed),
    }


def _repairs(job: Job) -> list[dict[str, Any]]:
    rows = []
    repairs = [e for e in job.events() if e.kind == "repaired"]
    standing = {r.number for r in job.repairs}
    for event in repairs:
        later = [r.number for r in job.repairs if r.number > event.number]
        rows.append({
            "number": event.number, "time": _time(event.time), "withdrawn": event.number not in standing,
            "repair": str(event.data.get("repair", "")), "parts": [str(p) for p in event.data.get("parts", [])],
            "recorded_minutes": _number(event.data.get("minutes")),
            "probability_before_repair": _number(event.data.get("share")),
            "followed_by_another": bool(later),
            "changed_what_the_vehicle_does": bool(event.data.get("changed", True)),
            "cautions": [c for c in as_data(cautions_of(_repair_facts(job, event))) if c["grade"] != "note"],
            "checks": [] if event.withdrawn else _checks(job, event, min(later, default=10**9)),
        })
    return rows


def _checks(job: Job, repair: Event, until: int) -> list[dict[str, Any]]:
    """The proof checks of one repair with their latest results; results withdrawn are told as such."""
    looks: dict[int, list[str]] = {}
    told: dict[int, list[dict[str, Any]]] = {}
    if job.proof is not None and repair.number == job.repairs[-1].number:
        checks = [(c.number, job.harness.say_state(c.state), c.because) for c in job.proof.checks]
        looks = {c.number: [c.measured(job.harness)] if c.again else [f"{lamp} {look}" for lamp, look in c.expected]
                 for c in job.proof.checks}
        told = {c.number: [x for x in as_data(c.cautions) if x["grade"] != "note"] for c in job.proof.checks}
    else:
        checks = [
            (int(c["number"]), _say_positions(job.harness, c.get("state", {})), str(c.get("because", "")))
            for c in repair.data.get("checks", [])
        ]
    results = [e for e in job.events() if e.kind == "proof" and repair.number < e.number < until]
    rows = []
    for number, state, because in checks:
        own = [e for e in results if e.data.get("check") == number]
        last = next((e for e in reversed(own) if not e.withdrawn), None)
        rows.append({
            "number": number, "state": state, "because": because, "expected": looks.get(number, []),
            "cautions": told.get(number, []),
            "result": None if last is None else "as expected" if last.data.get("good") else "not as expected",
            "found": "" if last is None else str(last.data.get("found", "")),
            "time": None if last is None else _time(last.time),
            "withdrawn_results": [str(e.data.get("found", "")) for e in own if e.withdrawn],
        })
    return rows


def _say_positions(harness: Harness, positions: Mapping[str, Any]) -> str:
    try:
        return harness.say_state(harness.state({str(k): str(v) for k, v in positions.items()}))
    except TracerError:
        return ", ".join(f"{k} {v}" for k, v in positions.items())


def _recorded_minutes(job: Job) -> float | None:
    known = [m for r in job.repairs if (m := _number(r.data.get("minutes"))) is not None]
    return round(sum(known), 1) if known else None


def _risk(job: Job) -> dict[str, Any] | None:
    """Probability that the vehicle has a further fault, before and after the proof checks."""
    if job.proof is None:
        return None
    before, after = round(job.proof.risk_before, 4), round(job.proof.risk_after, 4)
    return {"before_the_checks": before, "after_all_checks": after, "now": after if job.closed else before}


def _cautions(job: Job) -> list[dict[str, Any]]:
    """Every caution that applied in the job, gravest first, each once."""
    facts = [of_test(e.item.test, job.harness) for e in job.entries if isinstance(e.item, Reading)]
    facts += [_repair_facts(job, e) for e in job.repairs]
    return as_data(merged(*(cautions_of(f) for f in facts)))


def _repair_facts(job: Job, event: Event) -> Facts:
    """What was repaired, as far as the harness file knows it."""
    name = str(event.data.get("repair", ""))
    return of_repair([f for f in job.investigator.faults if f.repair == name][:1], job.harness)


def _lamps_wrong(job: Job) -> list[str]:
    """Lamps that were last seen otherwise than on a sound vehicle, in any state."""
    last: dict[tuple[str, VehicleState], bool] = {}
    for item in job.evidence:
        if isinstance(item, Symptom):
            state, seen = item.state, [s for s in item.seen if isinstance(s, LampSeen)]
        elif item.test.row.of_lamps and not item.test.done and item.value.seen is not None:
            state, seen = item.test.state, [item.value.seen]
        else:
            continue
        usual = dict(job.usual_looks(state, [s.lamp for s in seen]))
        for s in seen:
            word, flashes = usual[s.lamp].split(",")[0], "flashing" in usual[s.lamp]
            odd = s.flash in ("slow", "fast") or (s.flash == "steady" and flashes)
            last[s.lamp, state] = odd or word not in s.words
    return list(dict.fromkeys(lamp for (lamp, _), wrong in last.items() if wrong))


def _road(job: Job) -> dict[str, Any] | None:
    """Lamps that are not proven to work as the vehicle stands, and whether it may be driven so; None once closed."""
    if job.closed:
        return None
    looked = job.proof.checks if job.proof is not None else ()
    proven = {lamp for c in looked if c.number in job.proof_results and job.proof_results[c.number].good
              for lamp, _ in c.expected}
    wrong = [lamp for lamp in _lamps_wrong(job) if lamp not in proven]
    return {"not_proven": wrong, "says": not_for_the_road(job.harness, wrong), "lamps": APPROVED}


def _open(job: Job) -> dict[str, Any]:
    """Living suspects, and the next step."""
    checks = [] if job.proof is None else [
        c.number for c in job.proof.checks if c.number not in job.proof_results
    ]
    waiting = job.proof is not None and not any(e.number > job.repairs[-1].number for e in job.entries)
    diagnosis = job.diagnosis
    suspects = [] if waiting or not job.evidence else [
        {
            "rank": n, "repair": s.repair, "probability": round(s.share, 4), "what_would_be_wrong": s.best.says(),
            "path": _path_data(current_path(diagnosis, s)),
        }
        for n, s in enumerate(diagnosis.listed[:MOST_MARKS], 1) if s.share >= LIVING or n == 1
    ]
    step: dict[str, Any]
    if waiting:
        step = {"kind": "proof", "says": "make the proof checks that are left", "checks_left": checks}
    elif not job.evidence:
        step = {"kind": "symptom", "says": "record what was seen, and in which vehicle state"}
    else:
        step = _next_step(job)
    return {
        "suspects": suspects, "next_step": step,
        "probability_of_none_described": round(diagnosis.undescribed, 4) if job.evidence else None,
    }


def _next_step(job: Job) -> dict[str, Any]:
    """The test proposed since the last entry; else what would be proposed now (nothing is written)."""
    noted = next((t for t in numbered_tests(job) if not t.made), None)
    last = max((e.number for e in job.entries), default=0)
    if noted is not None and noted.event > last:
        says, test, kind = noted.test.says(job.harness), noted.test, "test"
    else:
        proposal: Proposal = job.next(record=False)
        says, test_or_none, kind = proposal.says, proposal.test, proposal.kind
        if test_or_none is None:
            return {"kind": kind, "says": says, "label": "", "expected": [],
                    "cautions": [c for c in as_data(proposal.cautions) if c["grade"] != "note"]}
        test = test_or_none
    if kind == "repair":
        says = f"{says}; confirm it first: {test.says(job.harness)}"
    return {
        "kind": kind, "says": says, "label": noted.label if noted is not None and noted.test == test else "",
        "expected": [
            {"suspect": e.repair, "probability": round(e.share, 4), "shows": e.shows}
            for e in expectations(job.diagnosis, test)
        ],
        "cautions": [c for c in as_data(cautions_of(of_test(test, job.harness, job.now, job.shorts)))
                     if c["grade"] != "note"],
    }


def _file_name(path: str) -> str:
    """The last part of a path, whichever way its folders are written."""
    return PureWindowsPath(PurePosixPath(path).name).name


def _time(time: datetime) -> str:
    return time.isoformat(timespec="minutes")


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
