"""Suspects and proposals as plain data, for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tracer.inference.diagnosis import Suspect
from tracer.inference.explanation import Reason
from tracer.job.job import Job
from tracer.observation.words.reading_data import test_as_data, test_key
from tracer.planning.next_step import Proposal
from tracer.safety.lines import as_data
from tracer.safety.rules import Caution


def suspect_data(rank: int, suspect: Suspect, why: Reason | None) -> dict[str, Any]:
    out: dict[str, Any] = {
        "rank": rank,
        "repair": suspect.repair,
        "share": suspect.share,
        "fault": suspect.best.says(),
        "faults": [f.name for f in suspect.best.faults],
        "repair_minutes": suspect.best.repair_min,
        "search": suspect.search,
        "search_share": suspect.search_share,
        "also_searched": list(suspect.along),
        "looks_the_same_as": list(suspect.alike),
        "no_test_splits_it_from": list(suspect.inseparable),
        "split_by": [
            {"from": s.repair, "plus": s.test.plus, "minus": s.test.minus, "state": dict(s.test.state.positions),
             "volts": s.own_v, "volts_if_other": s.other_v}
            for s in suspect.splits
        ],
    }
    if why is not None:
        out["evidence"] = [
            {"seen": f.seen, "predicted": f.predicted, "fits": f.fits, "explains": f.explains} for f in why.fits
        ]
        out["path"], out["back_feed"], out["elsewhere"] = why.path, list(why.back_feed), list(why.elsewhere)
    return out


def cautions_data(cautions: Sequence[Caution]) -> list[dict[str, Any]]:
    """Grade and full text of each caution, gravest first."""
    return as_data(cautions)


def proposal_data(job: Job, p: Proposal) -> dict[str, Any]:
    out: dict[str, Any] = {
        "kind": p.kind,
        "says": p.says,
        "cost_minutes": p.cost,
        "expected_minutes": p.minutes,
        "bound_minutes": p.bound,
        "method": p.method,
        "why": p.why,
        "cautions": cautions_data(p.cautions),
        "steps": [{"phase": s.phase, "text": s.text} for s in (*p.steps, *p.repair_steps)],
        "expectations": [{"repair": e.repair, "share": e.share, "shows": e.shows} for e in p.expectations],
        "options": [
            {
                "says": o.says,
                "expected_minutes": o.minutes,
                "cost_minutes": o.cost,
                "outcomes": [{"shows": w, "probability": q} for w, q in o.split],
            }
            for o in p.options
        ],
    }
    if p.also:
        out["also"] = list(p.also)
    if p.test is not None:
        out["test"] = {"key": test_key(p.test), "says": p.test.says(job.harness), **test_as_data(p.test)}
    if p.suspect is not None:
        out["repair"] = p.suspect.repair
        out["share"] = p.suspect.share
    return out
