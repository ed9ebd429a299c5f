"""What a person calls a light: the words, the borders between them, and how often they are wrong."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Floats, Ints
from tracer.inference.bayes import normal_cdf, words_between
from tracer.inference.repeated_judgements import Masks, mask_of
from tracer.observation.evidence import ALL_WORDS, LIT, WORDS, Light

# Borders between the brightness words, log10 of flux relative to normal. No published thresholds are
# known; 0.3 % of the light is where a glow is seen at all indoors, half the light is where "dim" is said.
WORD_BORDERS = np.log10([0.003, 0.06, 0.5, 1.45])
# By day a glow is only seen through the lens when it is ten times stronger (common practice, no source: hands
# are cupped round the lens); in the dark it is seen at a fifth. The other borders move with the eye.
GLOW_BORDER_BY_DAY, GLOW_BORDER_IN_THE_DARK = 0.03, 0.0006
# Standard deviation of the judgement at each border, decades: a faint glow depends on daylight and on
# looking into the lens; dim against normal is judged from memory; glare is noticed late.
WORD_SOFTNESS = np.array([0.34, 0.24, 0.06, 0.05])
# … beside what all judgements of a job share: where one person draws the borders, one battery's voltage (3 % of it is
# 0.04 decades of light). People differ in what they call dim more than one of them does from lamp to lamp, who sees
# them one after the other and tells a quarter of the light apart: 0.10 is shared, 0.06 is not. Were it the other way
# round, thirty lamps that a flat battery takes just to a border would speak thirty times against it.
# Three points as likely as each other, of that standard deviation.
SHIFTS: Final = (-0.1225, 0.0, 0.1225)
SHIFT_WEIGHTS: Final = np.array([1 / 3, 1 / 3, 1 / 3])
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
# People complain of what has changed. Whoever knows the vehicle, or sees the like of that lamp beside it, has in mind
# how it always looks and calls that by its usual word, wherever their borders lie for other lights: nobody takes the
# tail lamp of every day for bright, or a 6 V lamp that was never better for dim, except by a slip. A light that
# differs by a tenth of a decade (a quarter) is still taken for the usual one six times in ten, one of half the light
# one time in ninety. (Common practice, no source.)
KNOWN_WITHIN = 0.1  # decades
# Where a lamp should be dark there is no usual light to hold its light against: whoever finds it lit says "bright" to
# say just that, and "normal" of the same light in the next state. There the two are one word, of four. (Judgement, no
# source.) Not so "dim", "faint" or "nearly full": who says these speaks of how much light there is and not of its
# being there, and how far that is a matter of taste the borders say.
LIT_IS_CALLED: Final = frozenset({"normal", "bright"})
NOT_NORMAL: Final = ALL_WORDS - {"normal"}  # of such a lamp it is said to say that it is lit
NO_LIGHT_BELOW = -4.0  # log10 of light that nobody sees on the darkest night: what is below looks alike

_GRID = np.linspace(-6.5, 2.0, 17001)


@cache
def _word_grid(light: Light = "") -> Floats:
    borders = WORD_BORDERS.copy()
    if light:
        borders[0] = np.log10(GLOW_BORDER_BY_DAY if light == "day" else GLOW_BORDER_IN_THE_DARK)
    below = [_below(b, s) for b, s in zip(borders.tolist(), WORD_SOFTNESS.tolist(), strict=True)]
    return np.asarray(words_between(np.stack(below, axis=-1), 0.0))


@cache
def _below(border: float, softness: float) -> Floats:
    """Probability that each light of the grid seems to be below a border; most are alike by day and in the dark."""
    return np.asarray(normal_cdf((border - _GRID) / softness))


def word_probability(
    flux: Floats, words: frozenset[str], slip: float = WORD_SLIP, light: Light = ""
) -> Floats:
    """Probability that a light of log10 relative flux `flux` is called one of `words` by somebody who has never seen
    it before."""
    return np.asarray((1 - slip) * _by_eye(flux, words, light) + slip * len(words) / len(WORDS))


def known_again(flux: Floats, usual: Floats | float) -> Floats:
    """Probability that a light is taken for the usual one of that lamp; both log10 flux."""
    apart = (np.maximum(flux, NO_LIGHT_BELOW) - np.maximum(usual, NO_LIGHT_BELOW)) / KNOWN_WITHIN
    return np.asarray(np.exp(-0.5 * apart**2))


class Eye(Struct, frozen=True):
    """Who looks: every lamp seems `shift` decades brighter to him than to others, except where he knows it.

    Attributes:
        light: By daylight, in the dark, or unsaid.
    """

    shift: float = 0.0
    light: Light = ""

    def calls(
        self, flux: Floats, words: frozenset[str], slip: float, usual: Floats | float | None = None,
        before: Masks | None = None,
    ) -> Floats:
        """Probability that he calls a lamp one of `words`; (H,), or (H, lamps) for several lamps.

        Args:
            flux: Its log10 flux, in that shape.
            slip: Probability of a word that has nothing to do with the light.
            usual: Its log10 flux on the sound vehicle; of several lamps (lamps,).
            before: What the lamp was called when it shone alike, bits of WORDS; 0: nothing; in the shape of `flux`.
                As far as the eye said those words, it says them again.
        """
        return self.calls_each(flux, (words,), slip, usual, before)[0]

    def calls_each(
        self, flux: Floats, several: Sequence[frozenset[str]], slip: float, usual: Floats | float | None = None,
        before: Masks | None = None,
    ) -> list[Floats]:
        """The same for several sets of words, each by itself."""
        seen, known, word = flux + self.shift, np.zeros(1), np.zeros(1, dtype=np.intp)
        if usual is not None:
            known, word = known_again(flux, usual), usual_word(usual)
        out = []
        for words in several:
            sure, own = _by_eye(seen, words, self.light), np.uint8(mask_of(words))
            if usual is not None:
                sure = sure + known * ((word & own != 0) - sure)
            out.append(np.asarray((1 - slip) * sure + slip * at_random(own, word)))
        if before is None:
            return out
        place = grid_place(seen)
        sticks = sticking(before, place, known, word, self.light)
        habits = (by_habit(np.uint8(mask_of(w)), before, slip, place, known, word, self.light) for w in several)
        return [np.asarray(p + sticks * (habit - p)) for p, habit in zip(out, habits, strict=True)]


def meant(words: frozenset[str], usual: float) -> frozenset[str]:
    """What is meant by words for a lamp whose log10 flux is `usual` in that state of the sound vehicle."""
    if likely_word(usual) != "dark":
        return words
    return LIT_IS_CALLED if words <= LIT_IS_CALLED else LIT if words == NOT_NORMAL else words


def usual_word(usual: Floats | float) -> Ints:
    """The word (bits) for a lamp of that log10 flux on the sound vehicle."""
    return np.asarray(1 << likely_words(np.asarray(usual)))


def at_random(words: Masks | np.uint8, usual: Masks | Ints) -> Floats:
    """Probability of words (bits) that have nothing to do with the light: any word is as likely as any other; where a
    lamp should be dark there is one less. `usual`: bits of its usual word, 0 if that does not count."""
    return np.asarray(_AT_RANDOM[(usual == 1).astype(np.intp), words])


def by_habit(
    words: Masks | np.uint8, before: Masks, slip: float, place: Ints, known: Floats, usual: Masks | Ints,
    light: Light = "",
) -> Floats:
    """Probability of words (bits) where the eye says again what it said before; the others as in `sticking`. Where
    that was any of several words, one of them was its own, the likelier for this light the likelier."""
    same: Floats = np.asarray((before & ~words) == 0, dtype=np.float64)
    partly = (same == 0) & ((before & words) != 0)
    if partly.any():
        any_of = np.maximum(_sure(before, place, known, usual, light), 1e-300)
        same = np.where(partly, _sure(before & words, place, known, usual, light) / any_of, same)
    return np.asarray((1 - slip) * same + slip * at_random(words, usual))


def sticking(before: Masks, place: Ints, known: Floats, usual: Masks | Ints, light: Light = "") -> Floats:
    """Probability that words used before for a light at that place of the grid are used again because the eye, and
    no slip, had said them. `known`: how likely it is taken for the usual light, which is called `usual` (bits)."""
    by_eye = (1 - WORD_SLIP) * _sure(before, place, known, usual, light)
    slipped = np.maximum(WORD_SLIP * at_random(before, usual), 1e-300)
    return np.asarray(SAME_AGAIN * by_eye / (by_eye + slipped))


def _sure(words: Masks, place: Ints, known: Floats, usual: Masks | Ints, light: Light) -> Floats:
    """Probability of words (bits) for a light at a place of the grid, slips apart."""
    sure = _sets_grid(light)[words, place]
    return np.asarray(sure + known * (((words & usual) != 0) - sure))


def _by_eye(flux: Floats, words: frozenset[str], light: Light) -> Floats:
    """Probability of the words for a light that is judged by itself, slips apart."""
    return np.asarray(np.interp(flux, _GRID, _sets_grid(light)[mask_of(words)]))


_SETS: Final = (np.arange(1 << len(WORDS))[:, None] >> np.arange(len(WORDS))) & 1
# Of each set, where a lamp should be lit, and where it should be dark.
_AT_RANDOM: Final = np.array([_SETS.sum(axis=1) / len(WORDS), _SETS @ np.array([2, 2, 2, 1, 1]) / 8])


@cache
def _sets_grid(light: Light) -> Floats:
    """(sets of words, grid) probability of each set. If nobody said by what light he looked, half the time by day."""
    grids = [_word_grid(light)] if light else [_word_grid(), _word_grid("day")]
    return np.asarray(_SETS @ np.mean(grids, axis=0).T, dtype=np.float64)


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
