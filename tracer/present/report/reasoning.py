"""For the report: what the suspects led one to expect of each test, and which test spoke against each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace

from tracer.inference.bayes import posterior
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.expected_results import Expectation, expectations
from tracer.inference.explanation import predicted_words, say_evidence
from tracer.job.job import Job
from tracer.observation.evidence import Symptom, Test
from tracer.present.drawing.selection import LIVING

_LEADING = 8  # other suspects that are spoken of
_LEAST_SHARE = 0.01
_EXPECTED = 3  # suspects whose prediction is given for each test …
_WORTH = 0.005  # … if they had this probability then
_SPEAKS = 1.0  # ln likelihood by which a piece of evidence must favour the one suspect to count against another


def expected_then(job: Job, repaired: Suspect | None, test: Test, number: int) -> tuple[Expectation, ...]:
    """What the suspects that led before the entry with this number predicted, and the one repaired in the end."""
    then = job.diagnosis_before(number)
    shown = [s for n, s in enumerate(then.suspects[:_EXPECTED]) if n == 0 or s.share >= _WORTH]
    if repaired is not None and repaired.repair not in [s.repair for s in shown]:
        own = next((s for s in then.suspects if s.repair == repaired.repair), None)
        shown = [*shown[: _EXPECTED - 1], own] if own is not None else shown
    return tuple(e for s in shown for e in expectations(replace(then, suspects=(s,)), test, 1))


def ruled_out(
    diagnosis: Diagnosis, suspect: Suspect, discount: Mapping[str, float], labels: Sequence[str], job: Job
) -> list[dict[str, Any]]:
    """The other suspects that led when only symptoms were known, each with the test that spoke most against it."""
    d = diagnosis
    symptoms = [e for e, item in enumerate(d.evidence) if isinstance(item, Symptom)]
    tests = [e for e in range(len(d.evidence)) if e not in symptoms]
    prior = np.array([h.prior for h in d.hypotheses]) * job.investigator.left_of(d.hypotheses, discount)
    unsaid = job.investigator.unsaid_of(d, symptoms, job.story, discount)
    told = np.vstack([unsaid[None], d.loglik[symptoms]])
    first = posterior(prior, told, job.investigator.undescribed, np.append(0.0, d.beyond[symptoms])).share
    at_first = {s.repair: float(first[list(s.rows)].sum()) for s in d.suspects}
    others = sorted((s for s in d.suspects if s.repair != suspect.repair), key=lambda s: -at_first[s.repair])
    rows = []
    for other in others[:_LEADING]:
        if at_first[other.repair] < _LEAST_SHARE:
            break
        row: dict[str, Any] = {
            "suspect": other.repair, "probability_from_symptoms": round(at_first[other.repair], 4),
            "probability_in_the_end": round(other.share, 4), "excluded": other.share < LIVING,
            "test": None, "found": None, "would_have_shown": None,
        }
        # The form of the fault that explained the symptoms best, not the one that is left over in the end.
        then = max(other.rows, key=lambda r: first[r])
        against = {e: float(d.loglik[e, suspect.rows[0]] - d.loglik[e, then]) for e in tests}
        worst = max(against, key=lambda e: against[e], default=None)
        if worst is not None and against[worst] > _SPEAKS:
            row |= {
                "test": labels[worst],
                "found": say_evidence(d.evidence[worst], d).rpartition(": ")[2],
                "would_have_shown": predicted_words(d.predictor, d.hypotheses[then], d.evidence[worst]),
            }
        rows.append(row)
    return rows
