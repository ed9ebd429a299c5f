"""For the report: the way the current takes under a suspect, and which test spoke against each other suspect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tracer.base_rates import UNDESCRIBED
from tracer.devices import Filament
from tracer.evidence import LampSeen, Symptom
from tracer.harness import VehicleState
from tracer.paths import flow, path_through, say_path
from tracer.ranking import posterior
from tracer.reasons import predicted_words, say_evidence
from tracer.suspects import Diagnosis, Suspect
from tracer.view import LIVING, usual_of

_LEADING = 8  # other suspects that are spoken of
_LEAST_SHARE = 0.01
_SPEAKS = 1.0  # ln likelihood by which a piece of evidence must favour the one suspect to count against another


@dataclass(frozen=True)
class Path:
    """The way of the current through one lamp in one state; `back_feed` names lamps it passes the wrong way."""

    state: str
    lamp: str
    words: str
    back_feed: tuple[str, ...]


def current_path(diagnosis: Diagnosis, suspect: Suspect) -> Path | None:
    """The path that tells most about a suspect: through a lamp that was seen lit, with a back-feed if there is
    one; else through a lamp that stayed dark."""
    predictor, harness = diagnosis.predictor, diagnosis.predictor.harness
    usual = usual_of(predictor)
    named = {lamp for _, lamp, _ in _looked_at(diagnosis, suspect)}
    best: tuple[tuple[bool, bool, bool, float], Path] | None = None
    for state, name, gain in _looked_at(diagnosis, suspect):
        lamp = harness.lamp(name)
        found = flow(predictor, predictor.setup(state), suspect.best.change)
        amps = abs(found.signed.get(lamp.name, 0.0))
        glows = amps >= max(0.02, 0.03 * abs(usual.most.get(lamp.name, 0.0)))
        path = path_through(found, lamp, predictor) if glows else ()
        against = usual.against(found)
        passed = [x.device for x in path if isinstance(x.device, Filament)]
        fed = tuple(f.lamp for f in passed if f.name in against)
        words = say_path(path, lamp)
        for f in passed:  # what is on the way through another lamp need not flow the wrong way
            plain, wrong = f"the {f.lamp} filament", f"BACK through the {f.lamp} filament (back-feed)"
            words = words.replace(wrong, plain)
            words = words.replace(plain, wrong) if f.lamp in fed else words
        rank = (bool(named & set(fed)), bool(fed), glows, gain)
        if best is None or rank > best[0]:
            best = rank, Path(harness.say_state(state), name, words, fed)
    return best[1] if best else None


def _looked_at(diagnosis: Diagnosis, suspect: Suspect) -> list[tuple[VehicleState, str, float]]:
    """Lamps that were looked at on the undisturbed vehicle: state, lamp, and how much the suspect explains."""
    out = []
    for e, item in enumerate(diagnosis.evidence):
        gain = float(diagnosis.loglik[e, suspect.rows[0]] - diagnosis.healthy[e])
        if isinstance(item, Symptom):
            out += [(item.state, s.lamp, gain) for s in item.seen if isinstance(s, LampSeen)]
        elif item.test.kind == "look" and not item.test.done:
            out.append((item.test.state, item.test.lamp, gain))
    return out


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
