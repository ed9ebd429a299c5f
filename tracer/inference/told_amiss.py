"""What is told as wrong, and is just as it should be: "the left stop lamp is dark", with the side lights on.

Nobody comes to say that a lamp is dark where it always is. Where this is all that somebody tells of a state, and he
tells nothing else of that lamp, something was dark that should be lit, and he named it wrongly: the lamp on the
other side, the one beside it in the unit, or the state. So it is a complaint by a slip (`statement_model`), and not
the good news that it is by its words. Good news is told as such: "fine", "works" (`LampSeen.fine`); and so is what
stands beside a complaint, of the same lamp or in the same state: there it says by what that differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.inference.likelihood import as_meant
from tracer.inference.statement_model import Sayable
from tracer.inference.word_model import likely_word
from tracer.observation.evidence import Evidence, LampSeen, LensSeen, Symptom

_DARK: Final = frozenset({"dark"})


def as_told(evidence: Sequence[Evidence], sayable: Sayable) -> list[Evidence]:
    """The evidence, its words as they are meant, and marked (`LampSeen.amiss`) what is told as wrong and is not."""
    meant = [as_meant(e, sayable.predictor) for e in evidence]
    lamps, states = set(), set()
    for item in meant:
        if isinstance(item, Symptom):
            odd = [s for s in item.seen if sayable.complains(s, item.state)]
            states |= {item.state} if odd else set()
            for seen in odd:
                if isinstance(seen, LampSeen):
                    lamps |= {seen.lamp, *sayable.behind_one_lens(seen.lamp)}
                elif isinstance(seen, LensSeen):
                    lamps |= {*seen.lamps}

    def own(item: Evidence) -> Evidence:
        if not isinstance(item, Symptom) or item.asked or item.others_normal or item.only or item.state in states:
            return item
        if not item.seen or lamps & item.lamps_named() or not all(_dark(s, item, sayable) for s in item.seen):
            return item
        return replace(item, seen=tuple(replace(s, amiss=True) for s in item.seen if isinstance(s, LampSeen)))

    return [own(item) for item in meant]


def _dark(seen: object, item: Symptom, sayable: Sayable) -> bool:
    """Whether a lamp is plainly called dark where it should be, and not called fine."""
    if not isinstance(seen, LampSeen) or seen.words != _DARK or seen.fine or not seen.plain or seen.flash is not None:
        return False
    predictor = sayable.predictor
    return likely_word(float(predictor.healthy(item.state).flux[0, predictor.lamp_index[seen.lamp]])) == "dark"
