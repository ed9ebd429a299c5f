"""One lamp of which two things are told unasked: that it fails in one state, and is as it should be in another.

"The left tail lamp works until I brake" is a remark about that lamp. It was not passed over at a glance as one among
many that are as they should be, so that it is false no oftener than a complaint. And it is the same lamp both times:
whoever says left for right in one half of the sentence does so in the other. So with c the complaint, o that the
lamp named is as it should be and o_m the same of a lamp m that may have been meant,

    P(o | c, h) = P(o | h) + Σ over m: P(c, of m | h) / P(c | h) · (P(o_m | h) − P(o | h))

"The caravan lights go dim when I indicate" is one remark about six lamps, not six remarks: who is mistaken in it is
mistaken in all. Lamps that share one complaint and one such word therefore share one remark, each a part of it.

And it is a remark about what changes. A lamp at half of its light, that somebody sees fall to a quarter when he
indicates, was well enough to him before that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import Floats
from tracer.harness.model import VehicleState
from tracer.inference.likelihood import lamp_loglik, told_apart
from tracer.inference.repeated_judgements import Masks
from tracer.inference.statement_model import Blows, PanelOf, Sayable, Volunteer
from tracer.inference.word_model import COMPLAINT_SLIP, Eye
from tracer.observation.evidence import LIT, WORDS, Evidence, LampSeen, Symptom
from tracer.observation.forward_model import Panel, Predictor

# Of those who call a lamp well enough where it is weak already, because it gets weaker still in the other state they
# speak of, as against those who would have complained of it there too. (Judgement, no source.)
WELL_ENOUGH: Final = 0.4
_WEAKER: Final = frozenset(WORDS[: WORDS.index("normal")])

Contrast = Callable[[Eye, "Masks | None"], Floats]


class Complaint(Struct, frozen=True):
    """What somebody complained of: the lamp's look, in the sentence that has it."""

    item: Symptom
    seen: LampSeen


Complaints = Mapping[str, tuple[Complaint, ...]]  # by the name of the lamp
NO_COMPLAINTS: Final[Complaints] = MappingProxyType({})


def complaints_in(item: Symptom, sayable: Sayable) -> list[int]:
    """Which of the things said are complaints that nobody asked for."""
    if item.asked:
        return []
    return [k for k, seen in enumerate(item.seen) if sayable.complains(seen, item.state)]


def complaints_of(evidence: Sequence[Evidence], sayable: Sayable) -> Complaints:
    """Lamps that somebody complained of, unasked and without a doubt, and how."""
    found: dict[str, list[Complaint]] = {}
    for item in evidence:
        if isinstance(item, Symptom):
            for seen in (item.seen[k] for k in complaints_in(item, sayable)):
                if isinstance(seen, LampSeen) and seen.plain:
                    found.setdefault(seen.lamp, []).append(Complaint(item, seen))
    return {lamp: tuple(sorted(own, key=lambda c: (str(c.item.state), c.seen.says()))) for lamp, own in found.items()}


def corners_told(
    told: Iterable[tuple[VehicleState, frozenset[str]]], predictor: Predictor
) -> list[frozenset[str]]:
    """The lamps complained of, those of one corner together: that its stop lamp is out by day and its tail lamp by
    night is told of one corner, in one sentence or in two."""
    places = {f.lamp: part.place or part.name for part in predictor.harness.parts.values() for f in part.lamps}
    found: list[tuple[frozenset[str], frozenset[str]]] = []
    for _, lamps in told:
        own, at = lamps, frozenset(places[x] for x in lamps if x in places)
        for other in [x for x in found if x[1] & at]:
            found.remove(other)
            own, at = own | other[0], at | other[1]
        found.append((own, at))
    return [own for own, _ in found]


def lit_again(item: Symptom, complaints: Complaints) -> frozenset[str]:
    """Lamps of a symptom of which it is said that they are lit, after the same was said of another in one sentence.
    Whether "come on" is said of a glow is the choice of one word, for all lamps and states that it speaks of."""
    own = [(str(c.item.state), lamp, c.item) for lamp, told in complaints.items() for c in told
           if c.seen.words == LIT and (c.item == item or (item.text and c.item.text == item.text))]
    return frozenset(lamp for _, lamp, of in sorted(own, key=lambda c: c[:2])[1:] if of == item)


def contrasts(
    item: Symptom, complaints: Complaints, sayable: Sayable, panel_of: PanelOf, blows: Blows
) -> Iterator[tuple[int, Contrast]]:
    """Which of the things said are that a lamp complained of elsewhere is as it should be here, and how likely each
    is, (A,), to an eye and with what was said before."""
    own = complaints_in(item, sayable)
    found: dict[int, tuple[LampSeen, Complaint]] = {}
    for k, seen in enumerate(item.seen):
        if item.asked or k in own or not isinstance(seen, LampSeen) or not seen.plain:
            continue
        other = next((c for c in complaints.get(seen.lamp, ()) if c.item.state != item.state), None)
        if other is not None:
            found[k] = seen, other
    remarks = Counter(_remark(*pair) for pair in found.values())
    for k, (seen, other) in found.items():
        told = Volunteer(sayable, other.item, panel_of, blows)
        yield k, partial(_loglik, item, seen, other, told, sayable, panel_of, 1 / remarks[_remark(seen, other)])


def _remark(seen: LampSeen, complaint: Complaint) -> tuple[object, ...]:
    """What two lamps have in common of which one breath says the same: how they look here, and elsewhere."""
    return seen.words, seen.flash, complaint.item.state, complaint.seen.words, complaint.seen.flash


def _loglik(
    item: Symptom, seen: LampSeen, complaint: Complaint, told: Volunteer, sayable: Sayable, panel_of: PanelOf,
    part: float, eye: Eye, before: Masks | None,
) -> Floats:
    predictor = sayable.predictor
    panel, healthy = panel_of(item.state), predictor.healthy(item.state)

    def fine(lamp: str, before: Masks | None) -> Floats:
        look = replace(seen, lamp=lamp)
        well = np.exp(lamp_loglik(panel, predictor, look, healthy, eye, before, slip=COMPLAINT_SLIP))
        return np.maximum(well, _well_enough(predictor.lamp_index[lamp], complaint.seen, panel, there, eye))

    there = panel_of(complaint.item.state)
    own = fine(seen.lamp, before)
    whole, solved = np.exp(told.loglik(complaint.seen, eye, None)), there.usable
    p = own
    for lamp, meant in told.of_another(complaint.seen):
        share = np.where(solved, meant / whole, 0.0)
        p = p + share * (fine(predictor.lamps[lamp].lamp, None) - own)
    return np.asarray(part * np.log(p))


def _well_enough(lamp: int, complaint: LampSeen, panel: Panel, there: Panel, eye: Eye) -> Floats:
    """(A,) probability that a lamp weak here too is well enough here, since it is weaker still `there`."""
    if not complaint.words <= _WEAKER:
        return np.zeros(len(panel.flux))
    weak = eye.calls(panel.flux[:, lamp], frozenset({"dim"}), 0.0)
    brighter = told_apart(panel.flux[:, lamp], np.fmin(there.least, there.flux)[:, lamp])[..., -1]
    return np.asarray(WELL_ENOUGH * weak * brighter * there.usable)
