"""Sentences whose meaning is known, as cues, and which of them are most like another.

All sentences are invented. `examples.txt` has a line for each: its meaning, a tab, its cues. It is made of
`tests/observation/told/` by `tests/bench/make_examples.py`, which says how to add one.
"""

from __future__ import annotations

import heapq
import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from functools import cache, cached_property
from importlib import resources
from itertools import pairwise
from typing import Final

from msgspec import Struct

from tracer.observation.words.likened.cues import LAMP, TOWED, Cues, functions_of, kinds_of, telling
from tracer.observation.words.likened.meaning import told_of, told_outright

_NEAREST: Final = 25  # examples that have a say
_LOOKED_AT: Final = 200  # of so many, which have most of the words in common
_POWER: Final = 3.0  # by which likeness counts: the few that are very like outweigh many that are a little
_PAIR: Final = 0.8  # what two words side by side weigh, against the mean of both
_APART: Final = 0.5  # and with one between, of that
_KIND: Final = "~"


class Liked(Struct, frozen=True):
    """What sentences like one mean, in its own terms: `share` of their say, and the `likeness` of the nearest."""

    meaning: str
    share: float
    likeness: float


class Example(Struct, frozen=True):
    meaning: str
    words: tuple[str, ...]


class Examples:
    """Sentences with a meaning, weighed word by word: a word that few have tells more."""

    def __init__(self, examples: Sequence[Example]) -> None:
        self._examples = examples
        self._having: dict[str, list[int]] = defaultdict(list)
        for n, example in enumerate(examples):
            for word in {*example.words}:
                self._having[word].append(n)

    @cached_property
    def _kinds(self) -> Counter[str]:
        """Kind of word → how many examples have one."""
        out = Counter[str]()
        for word, having in self._having.items():
            for kind in kinds_of(word):
                out[kind] += len(having)
        return out

    def _rare(self, word: str) -> float:
        count = self._kinds[word[1:]] if word.startswith(_KIND) else len(self._having.get(word, ()))
        return math.log((len(self._examples) + 1) / (count + 0.5))

    def _weights(self, words: Sequence[str]) -> Mapping[str, float]:
        """Every word, kind of word and pair of words → what it weighs, together 1 by squares."""
        out: dict[str, float] = defaultdict(float)
        told = telling(words)
        lamps = [LAMP if functions_of([w]) else w for w in told]
        single = Counter([*told, *(w for w in lamps if w == LAMP), *(_KIND + k for w in words for k in kinds_of(w))])
        for word, times in single.items():
            out[word] += times * max(self._rare(word), 0.0)
        rare = {w: max(self._rare(w), 0.0) for w in {*lamps}}
        for one, other in pairwise(lamps):
            out[f"{one} {other}"] += _PAIR * (rare[one] + rare[other]) / 2
        for one, other in zip(lamps, lamps[2:], strict=False):
            out[f"{one} _ {other}"] += _APART * _PAIR * (rare[one] + rare[other]) / 2
        for end, word in ((f"^ {lamps[0]}", lamps[0]), (f"{lamps[-1]} $", lamps[-1])) if lamps else ():
            out[end] += _PAIR * rare[word]
        norm = math.sqrt(sum(w * w for w in out.values())) or 1.0
        return {k: w / norm for k, w in out.items()}

    def unknown(self, cues: Cues) -> int:
        """How many words of a sentence no example has."""
        return sum(w not in self._having for w in telling(cues.words))

    def nearest(self, cues: Cues) -> list[tuple[float, Example]]:
        """The examples that are most like a sentence, with how like, from 0 to 1; the likest first."""
        common: dict[int, float] = defaultdict(float)
        for word in {*telling(cues.words)}:
            rare = self._rare(word)
            for n in self._having.get(word, ()):
                common[n] += rare
        own = self._weights(cues.words)
        looked = []
        for n in heapq.nlargest(_LOOKED_AT, common, key=lambda n: common[n]):
            theirs = self._weights(self._examples[n].words)
            looked.append((sum(w * theirs[k] for k, w in own.items() if k in theirs), n))
        return [(likeness, self._examples[n]) for likeness, n in heapq.nlargest(_NEAREST, looked)]

    def liked(self, cues: Cues) -> list[Liked]:
        """What those that are most like a sentence mean, told of what it names itself; the likeliest first."""
        say: dict[str, float] = defaultdict(float)
        best: dict[str, tuple[float, str]] = {}
        for likeness, example in self.nearest(cues):
            meaning = _in_terms_of(cues, example)
            if meaning is not None:
                bare = told_outright(meaning)
                say[bare] += likeness**_POWER
                best.setdefault(bare, (likeness, meaning))
        whole = sum(say.values()) or 1.0
        found = [Liked(best[bare][1], said / whole, best[bare][0]) for bare, said in say.items()]
        return sorted(found, key=lambda k: -k.share)


def _in_terms_of(cues: Cues, example: Example) -> str | None:
    """The meaning of an example of what a sentence names; None where it names other kinds of things, or more."""
    named, own = functions_of(example.words), cues.functions
    if len(named) == len(own):
        functions = dict(zip(named, own, strict=True)) if named != own else {}
    elif named and own:
        return None
    else:
        functions = {}
    return told_of(example.meaning, cues.sides, functions, cues.fuse, (TOWED in example.words, cues.towed))


@cache
def known_examples() -> Examples:
    """Those that come with the package."""
    text = resources.files(__package__).joinpath("examples.txt").read_text(encoding="utf-8")
    lines = (line.split("\t") for line in text.splitlines() if line and not line.startswith("#"))
    return Examples([Example(meaning, tuple(words.split(" "))) for meaning, words in lines])
