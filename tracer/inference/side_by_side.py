"""Two like lamps, left and right, of which one person says in one breath how they look.

He has both before him. Where they shine alike he does not call one dark and the other lit, whatever either might have
been called alone, nor the brighter one dark and the other lit; and where both stand on the border between two words
he calls both the same. So nine times in ten (`word_model.SAME_AGAIN`) he says of the second what he said of the
first, or, where he sees it brighter or darker, that or a word of more or less light.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.inference.repeated_judgements import Masks, mask_of
from tracer.observation.evidence import WORDS, LampSeen, Symptom

# Decades of light within which nobody sees a difference between two lamps of one pattern a few feet apart: an eighth.
# Side by side 1 or 2 % is told apart, and two new bulbs of one kind differ by more. (Judgement, no source.)
ALIKE: Final = 0.05


def side_by_side(
    item: Symptom, flux: Floats, before: Masks | None, lamp_index: dict[str, int], mirror: Callable[[int], int | None]
) -> Masks | None:
    """(H, lamps) words used before for lights like these, with those that the lamp on the other side was called a
    moment ago.

    Args:
        flux: (H, lamps) log10 of the light in the state of the symptom.
        before: The words used in other states, where there are any.
        mirror: The like lamp of the other side.
    """
    told: dict[int, frozenset[str]] = {}
    out = before
    for seen in item.seen:
        if not isinstance(seen, LampSeen) or not seen.plain:
            continue
        lamp = lamp_index[seen.lamp]
        other = mirror(lamp)
        if other is not None and other in told:
            out = np.zeros(flux.shape, dtype=np.uint8) if out is None else out
            brighter, words = flux[:, lamp] - flux[:, other], told[other]
            parted = [brighter <= -ALIKE, brighter >= ALIKE]
            again = np.select(parted, [mask_of(_or_less(words)), mask_of(_or_more(words))], mask_of(words))
            none = out[:, lamp] == 0
            out[none, lamp] = again[none]
        told[lamp] = seen.words
    return out


def _or_more(words: frozenset[str]) -> frozenset[str]:
    """The words, and all that say more light."""
    return frozenset(WORDS[min(map(WORDS.index, words)):])


def _or_less(words: frozenset[str]) -> frozenset[str]:
    """The words, and all that say less light."""
    return frozenset(WORDS[: max(map(WORDS.index, words)) + 1])
