"""For the report: the way the current takes under a suspect, and which test spoke against each other suspect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tracer.base_rates import UNDESCRIBED
from tracer.evidence import Symptom
from tracer.ranking import posterior
from tracer.reasons import predicted_words, say_evidence
from tracer.suspects import Diagnosis, Suspect
from tracer.view import LIVING

_LEADING = 8  # other suspects that are spoken of
_LEAST_SHARE = 0.01
_SPEAKS = 1.0  # ln likelihood by which a piece of evidence must favour the one suspect to count against another


def ruled_out(
    diagnosis: Diagnosis, suspect: Suspect, discount: Mapping[str, float], labels: Sequence[str]
) -> list[dict[str, Any]]:
    """The other suspects that led when only symptoms were known, each with the test that spoke most against it."""
    d = diagnosis
    symptoms = [e for e, item in enumerate(d.evidence) if isinstance(item, Symptom)]
    tests = [e for e in range(len(d.evidence)) if e not in symptoms]
    prior = np.array([h.prior * discount.get(h.repair, 1.0) for h in d.hypotheses])
    first = posterior(prior, d.loglik[symptoms], UNDESCRIBED, d.beyond[symptoms]).share
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
