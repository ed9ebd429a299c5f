"""Before anything is traced by hand: what was told unasked, and alone speaks against the likeliest suspect, is looked
at once more.

Whoever comes with three complaints has told one of them of another lamp, or as of another switch, often enough. No
described fault shows then all that was told, and "not described" leads by what nobody has verified.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from tracer.harness.model import VehicleState
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.explanation import say_evidence
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.likelihood import contradicted
from tracer.inference.visual_inspection import shows_in
from tracer.observation.evidence import Evidence, LampSeen, Reading, Symptom, Test, by_hand
from tracer.planning.candidate_looks import Looks, possible
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate
from tracer.safety.permitted import permitted_states


def still_stands(diagnosis: Diagnosis) -> bool:
    """Whether nothing that was seen or measured speaks against the likeliest suspect, but for what was told and seen
    otherwise since."""
    return bool(diagnosis.suspects) and all(_refuted(diagnosis, e) for e in _against(diagnosis))


def complaints_to_look_at(diagnosis: Diagnosis, living: Living, made: Collection[Test]) -> Iterator[Candidate]:
    """Looks at what was told unasked and speaks against the likeliest suspect, as far as nobody was sent to look at
    it since; `made`: tests made, or found not to be possible."""
    looks = Looks(living)
    for e in _against(diagnosis):
        item = diagnosis.evidence[e]
        if not isinstance(item, Symptom) or item.asked or not permitted_states([item.state], living.harness):
            continue
        for seen in item.seen:
            if not isinstance(seen, LampSeen):
                continue
            test = Test("look", item.state, lamp=seen.lamp)
            if test in made or any(_told(seen, i, item.state) for i in diagnosis.evidence[e + 1:]):
                continue
            table = looks.outcomes(living.panel(item.state), [test.lamp], item.state)[0]
            yield Candidate(test, *possible(table[:, living.one_of]), again=True)


def complaints_unseen(
    diagnosis: Diagnosis, suspect: Hypothesis, living: Living, made: Collection[Test]
) -> Iterator[Test]:
    """Looks at the lamps complained of that a suspect makes look otherwise, where nobody was sent to look at any of
    them: whoever says left for right, or tells it of another switch, would have the sound one taken apart. (Common
    practice, no source: the complaint is seen before anything is opened.)"""
    predictor, found = living.predictor, list[Test]()
    for e, item in enumerate(diagnosis.evidence):
        if not isinstance(item, Symptom) or item.asked or not permitted_states([item.state], living.harness):
            continue
        for seen in (s for s in item.seen if isinstance(s, LampSeen) and s.plain):
            if any(_told(seen, i, item.state) for i in diagnosis.evidence[e + 1:]):
                return
            test = Test("look", item.state, lamp=seen.lamp)
            panel = predictor.panel(predictor.setup(item.state), predictor.table([suspect.change]))
            if test not in made and shows_in(panel, predictor, test)[0]:
                found.append(test)
    yield from found[:1]


def said_against(diagnosis: Diagnosis) -> str:
    """What would have to be wrong for the least bad suspect, if that is little; "" otherwise."""
    wrong = _against(diagnosis)
    if not 0 < len(wrong) <= 2:
        return ""
    said = "; ".join(say_evidence(diagnosis.evidence[e], diagnosis) for e in wrong)
    return f"look again at this, which alone speaks against “{diagnosis.suspects[0].repair}”: {said}. If it stands, "


def _against(diagnosis: Diagnosis) -> list[int]:
    """The evidence that the likeliest suspect does not explain. To have looked along a wire or moved it in vain
    excludes nothing."""
    if not diagnosis.suspects or not diagnosis.evidence:
        return []
    row = diagnosis.suspects[0].rows[0]
    wrong = np.flatnonzero(contradicted(diagnosis.loglik[:, row], diagnosis.random)).tolist()
    return [e for e in wrong if not by_hand(diagnosis.evidence[e])]


def _refuted(diagnosis: Diagnosis, e: int) -> bool:
    """Whether it was told unasked, and somebody who was sent to look in that state has seen it otherwise."""
    item = diagnosis.evidence[e]
    if not isinstance(item, Symptom) or item.asked:
        return False
    told = [s for s in item.seen if isinstance(s, LampSeen)]
    return any(not s.words & look.words for s in told for later in diagnosis.evidence[e + 1:]
               for look in _told(s, later, item.state))


def _told(seen: LampSeen, item: Evidence, state: VehicleState) -> list[LampSeen]:
    """How the same lamp looked in that state to somebody who was sent to look."""
    if isinstance(item, Reading):
        own = item.value.seen if item.test.row.of_lamps and not item.test.done else None
        looks = [own] if item.test.state == state and isinstance(own, LampSeen) else []
    else:
        looks = [s for s in item.seen if isinstance(s, LampSeen)] if item.asked and item.state == state else []
    return [look for look in looks if look.lamp == seen.lamp]
