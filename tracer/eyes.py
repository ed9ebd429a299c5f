"""What a person calls a light: the words, the borders between them, and how often they are wrong."""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np

from tracer.circuit import Floats, Ints
from tracer.evidence import WORDS, Light
from tracer.ranking import ordered_word_probabilities
from tracer.said_before import Masks, mask_of

# Borders between the brightness words, log10 of flux relative to normal. No published thresholds are
# known; 0.3 % of the light is where a glow is seen at all indoors, half the light is where "dim" is said.
WORD_BORDERS = np.log10([0.003, 0.06, 0.5, 1.45])
# By day a glow is only seen through the lens when it is ten times stronger (common practice, no source: hands
# are cupped round the lens); in the dark it is seen at a fifth. The other borders move with the eye.
GLOW_BORDER_BY_DAY, GLOW_BORDER_IN_THE_DARK = 0.03, 0.0006
# Standard deviation of the judgement at each border, decades: a faint glow depends on daylight and on
# looking into the lens; dim against normal is judged from memory; glare is noticed late.
WORD_SOFTNESS = np.array([0.34, 0.24, 0.09, 0.06])
# … beside what all judgements of a job share: one person's borders, one battery's voltage (3 % of it is 0.04
# decades of light). Without it, thirty lamps just below a border would speak thirty times against a flat battery.
# Standard deviation 0.08, by three points (Gauss-Hermite).
SHIFTS: Final = (-0.14, 0.0, 0.14)
SHIFT_WEIGHTS: Final = np.array([1 / 6, 2 / 3, 1 / 6])
UNSHIFTED: Final = 1
# A few observers are careless: of what they say one thing in ten has nothing to do with the vehicle. Without them,
# three slips in a long list would make the true cause impossible. In a long list their share hardly matters; in a
# short one it is what three dark lamps told one by one have to be weighed against.
CARELESS_SHARE: Final = 0.03
CARELESS_SLIP: Final = 0.1
# Wrong lamp looked at, wrong word said. A lamp that is as it should be is seldom complained of; one that
# is not is more often passed over as normal.
WORD_SLIP = 0.02
COMPLAINT_SLIP = 0.005
DOUBT_SLIP = 0.30  # "perhaps": wrong three times in ten
# The same light is called the same again nine times in ten, by whoever called it so by eye: a lamp near a border is
# not judged anew in each of twenty states. A slip is made anew each time.
SAME_AGAIN = 0.9

_GRID = np.linspace(-6.5, 2.0, 1701)


@cache
def _word_grid(light: Light = "") -> Floats:
    borders = WORD_BORDERS.copy()
    if light:
        borders[0] = np.log10(GLOW_BORDER_BY_DAY if light == "day" else GLOW_BORDER_IN_THE_DARK)
    return np.asarray(ordered_word_probabilities(_GRID, borders, WORD_SOFTNESS, 0.0))


def word_probability(
    flux: Floats, words: frozenset[str], slip: float = WORD_SLIP, light: Light = ""
) -> Floats:
    """Probability that a lamp of log10 relative flux `flux` is called one of `words`, seen in that light."""
    chosen = [i for i, w in enumerate(WORDS) if w in words]
    sure = np.interp(flux, _GRID, _word_grid(light)[:, chosen].sum(axis=1))
    return np.asarray((1 - slip) * sure + slip * len(chosen) / len(WORDS), dtype=np.float64)


def said_again(
    p: Floats, flux: Floats, words: frozenset[str], before: Masks, slip: float = WORD_SLIP, light: Light = ""
) -> Floats:
    """Probability (H,) of words for a lamp called `before` (H, bits of WORDS; 0: nothing) when it shone alike.

    As far as the eye said those words, it says them again, slips apart; `p` is the probability of the words without
    that.
    """
    return np.asarray(p + sticking(before, grid_place(flux), light) * (by_habit(words, before, slip) - p))


def by_habit(words: frozenset[str], before: Masks, slip: float) -> Floats:
    """Probability of words where the eye says again what it said before."""
    same = (before & ~np.uint8(mask_of(words))) == 0
    return np.asarray((1 - slip) * same + slip * len(words) / len(WORDS))


def sticking(before: Masks, place: Ints, light: Light = "") -> Floats:
    """Probability that words used before for a light at that place of the grid are used again because the eye, and
    no slip, had said them."""
    return np.asarray(_sticking_grid(light)[before, place])


@cache
def _sticking_grid(light: Light) -> Floats:
    """(sets of words, grid)"""
    chosen = (np.arange(1 << len(WORDS))[:, None] >> np.arange(len(WORDS))) & 1
    by_eye = (1 - WORD_SLIP) * (chosen @ _word_grid(light).T)
    slipped = np.maximum(WORD_SLIP * chosen.mean(axis=1), 1e-300)
    return np.asarray(SAME_AGAIN * by_eye / (by_eye + slipped[:, None]))


def grid_place(flux: Floats) -> Ints:
    """Where each log10 flux stands on the grid of brightness."""
    place = np.rint((flux - _GRID[0]) / (_GRID[1] - _GRID[0]))
    return np.asarray(np.clip(place, 0, len(_GRID) - 1), dtype=np.intp)


@cache
def _likely_grid() -> Ints:
    return np.asarray(_word_grid().argmax(axis=1))


def likely_words(flux: Floats) -> Ints:
    """Index in WORDS of the word that a person most likely uses for each log10 flux."""
    return _likely_grid()[grid_place(flux)]


def likely_word(flux: float) -> str:
    """The word a person most likely uses for that flux."""
    return WORDS[int(likely_words(np.array(flux)))]
