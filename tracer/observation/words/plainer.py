"""A complaint in plainer words before anything is read of it: how controls stand, what is heard, how much light
there is, all the lamps, the other side. What is understood is held against the words that come of this."""

from __future__ import annotations

from functools import reduce
from typing import Final

from tracer.observation.words.control_idioms import controls_plainly
from tracer.observation.words.flash_idioms import flash_plainly
from tracer.observation.words.fuse_idioms import fuses_plainly
from tracer.observation.words.hand_idioms import taps_plainly
from tracer.observation.words.light_idioms import light_plainly
from tracer.observation.words.other_side_idioms import other_side_plainly
from tracer.observation.words.plain_words import SOUNDS_LIKE
from tracer.observation.words.sound_idioms import sounds_plainly
from tracer.observation.words.whole_idioms import whole_plainly

_IN_ORDER: Final = (
    fuses_plainly, light_plainly, controls_plainly, sounds_plainly, taps_plainly, whole_plainly, other_side_plainly,
    flash_plainly)


def plainer(text: str) -> str:
    """The sentence with its turns of phrase of these kinds in the words that are read."""
    for sounds, written in SOUNDS_LIKE:
        text = sounds.sub(written, text)
    return reduce(lambda said, plainly: plainly(said), _IN_ORDER, text)
