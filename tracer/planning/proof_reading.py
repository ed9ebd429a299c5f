"""The reading that is made once more after a repair, where no eye is sure to tell that all is right again.

A lamp that was dim and has two thirds of its light is called normal by many: what was found with a meter is looked
for with a meter.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tracer.circuit.model import NO_CHANGE
from tracer.errors import ReadingError
from tracer.inference.diagnose import Investigator
from tracer.inference.explanation import say_value
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.likelihood import undescribed_loglik
from tracer.inference.reading_likelihood import reading_sigma
from tracer.observation.evidence import Compared, Evidence, LampSeen, LensSeen, Reading, Seen, Symptom, Test
from tracer.safety.permitted import forbidden

_SOFT = frozenset({"faint", "dim", "bright"})  # words for a light of which the next eye may say that it is normal
_MOST_READINGS = 40  # the last of a job, that are looked through
_SIGMAS = 2.5  # about what a sound vehicle shows, within which a reading counts as right


class Remeasured(Struct, frozen=True):
    """A reading to be made again: what a sound vehicle shows, and between what, in V, whichever way the leads are."""

    test: Test
    sound: float
    low: float
    high: float

    @property
    def reads(self) -> str:
        """What the meter must show, in words."""
        sound, low, high = (say_value(self.test.kind, abs(v)) for v in (self.sound, self.low, self.high))
        return f"{sound} ({low} to {high})"

    def seen_instead(self, result: str) -> Reading | None:
        """What was measured in place of that; None if it is that.

        Raises:
            ReadingError: It is no such reading, or was not made.
        """
        from tracer.observation.words.readings import parse_value  # of use here alone, and much to read in

        value = parse_value(result, self.test.kind)
        if value.told_nothing:
            raise ReadingError("a check that was not made proves nothing",
                               f"leave it open, or write what the meter shows; it must be {self.reads}")
        ends = sorted((abs(value.low), abs(value.high)))
        return None if self.low <= ends[0] and ends[1] <= self.high else Reading(self.test, value)


def to_measure_again(
    investigator: Investigator, evidence: Sequence[Evidence], complaints: Sequence[Evidence]
) -> Remeasured | None:
    """The voltage, measured with everything connected, that was furthest from what a sound vehicle has; None where
    nothing of that kind was measured, or where lamps that were dark or shone unasked say it all.

    Args:
        complaints: What of the evidence was seen to be wrong by eye.
    """
    if complaints and not any(_soft(s) for item in complaints for s in _seen(item)):
        return None
    predictor, harness = investigator.predictor, investigator.harness
    sound, found = [Hypothesis((), (), 1.0)], list[tuple[float, Remeasured]]()
    latest = {i.test: i for i in evidence if isinstance(i, Reading) and _as_it_works(i)}
    for item in list(latest.values())[-_MOST_READINGS:]:
        if forbidden(item.test, harness):
            continue
        if investigator.loglik_of(sound, item)[0] >= undescribed_loglik(item, predictor):
            continue  # a sound vehicle may show it
        shown = float(predictor.observed(item.test, [NO_CHANGE])[0])
        rows = np.zeros(1, dtype=np.intp)
        sigma = reading_sigma(np.array([shown]), predictor.emf, predictor.supply_measured, rows, rows)
        near = _SIGMAS * float(sigma[0])
        off = abs(abs(item.value.low) - abs(shown)) / near
        found.append((off, Remeasured(item.test, shown, max(abs(shown) - near, 0.0), abs(shown) + near)))
    return max(found, key=lambda x: x[0])[1] if found else None


def _as_it_works(item: Reading) -> bool:
    """Whether it is a voltage with everything connected."""
    return item.test.row.plain_volts and not (item.value.told_nothing or item.test.done or item.value.wiggled)


def _seen(item: Evidence) -> list[Seen]:
    seen: list[Seen] = list(item.seen) if isinstance(item, Symptom) else [item.value.seen] if item.value.seen else []
    return [one for s in seen for one in (s.looks if isinstance(s, LensSeen) else (s,))]


def _soft(seen: Seen) -> bool:
    return isinstance(seen, Compared) or (isinstance(seen, LampSeen) and seen.words <= _SOFT)
