"""For the report: what the suspects led one to expect of each test, and which test spoke against each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.base_rates import UNDESCRIBED
from tracer.inference.bayes import posterior
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.expected_results import Expectation, expectations
from tracer.inference.explanation import predicted_words, say_evidence
from tracer.observation.evidence import Symptom, Test
from tracer.present.drawing.selection import LIVING

_LEADING = 8  # other suspects that are spoken of
_LEAST_SHARE = 0.01
_EXPECTED = 3  # suspects whose prediction is given for each test …
_WORTH = 0.005  # … if they had this probability then
_SPEAKS = 1.0  # ln likelihood by which a piece of evidence must favour the one suspect to count against another


class Course:
    """How the suspects of one diagnosis stood as its evidence came in, and what they predicted."""

    def __init__(
        self, diagnosis: Diagnosis, repaired: Suspect | None, discount: Mapping[str, float],
        numbers: Mapping[int, int],
    ) -> None:
        """`repaired`: the suspect that was repaired in the end; `numbers`: entry number by id of the evidence."""
        d = self._diagnosis = diagnosis
        self._repaired = repaired.repair if repaired else None
        self._numbers = [numbers.get(id(item), 0) for item in d.evidence]
        self._prior = _prior(d, discount)
        # After 0, 1, … pieces of evidence; what was not mentioned counts from the start.
        self._loglik = np.vstack([d.unsaid[None], d.loglik]).cumsum(axis=0)
        self._beyond = np.append(0.0, d.beyond).cumsum()
        self._known: dict[tuple[str, int, Test], Expectation] = {}

    def expected(self, test: Test, number: int) -> tuple[Expectation, ...]:
        """What the suspects that led before the entry with this number predict, and the one repaired in the end."""
        d = self._diagnosis
        k = sum(n < number for n in self._numbers)
        share = posterior(self._prior, self._loglik[k : k + 1], UNDESCRIBED, self._beyond[k : k + 1]).share
        then = sorted(((float(share[list(s.rows)].sum()), n) for n, s in enumerate(d.suspects)), key=lambda s: -s[0])
        shown = [s for n, s in enumerate(then[:_EXPECTED]) if n == 0 or s[0] >= _WORTH]
        repairs = [d.suspects[n].repair for _, n in shown]
        if self._repaired and self._repaired not in repairs:
            shown = [*shown[: _EXPECTED - 1], next(s for s in then if d.suspects[s[1]].repair == self._repaired)]
        return tuple(self._expectation(d.suspects[n], p, share, test) for p, n in shown)

    def _expectation(self, suspect: Suspect, probability: float, share: Floats, test: Test) -> Expectation:
        row = max(suspect.rows, key=lambda r: share[r])
        key = (suspect.repair, row, test)
        if key not in self._known:
            as_then = replace(suspect, best=self._diagnosis.hypotheses[row])
            self._known[key] = expectations(replace(self._diagnosis, suspects=(as_then,)), test, 1)[0]
        return replace(self._known[key], share=probability)


def _prior(d: Diagnosis, discount: Mapping[str, float]) -> Floats:
    return np.array([h.prior * discount.get(h.repair, 1.0) for h in d.hypotheses])


def ruled_out(
    diagnosis: Diagnosis, suspect: Suspect, discount: Mapping[str, float], labels: Sequence[str]
) -> list[dict[str, Any]]:
    """The other suspects that led when only symptoms were known, each with the test that spoke most against it."""
    d = diagnosis
    symptoms = [e for e, item in enumerate(d.evidence) if isinstance(item, Symptom)]
    tests = [e for e in range(len(d.evidence)) if e not in symptoms]
    prior = _prior(d, discount)
    told = np.vstack([d.unsaid[None], d.loglik[symptoms]])
    first = posterior(prior, told, UNDESCRIBED, np.append(0.0, d.beyond[symptoms])).share
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
