"""Makes `tracer/observation/words/likened/examples.txt` of the sentences in `tests/observation/told/`.

    python tests/bench/make_examples.py

To add a sentence: write `model|sentence|meaning` at the end of a file there (`likened/meaning.py` has the form), run
this, and `fit_readings.py`. A test holds the file to its sentences.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

from msgspec import Struct

sys.path.insert(0, str(Path(__file__).parents[2]))

from tracer.harness.file.text import load_harness
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.likened.cues import Cues, cues_of
from tracer.observation.words.likened.examples import Example
from tracer.observation.words.likened.meaning import slotted
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_parts import hear
from tracer.observation.words.spelling import spelled_right

ROOT = Path(__file__).parents[2]
TOLD = ROOT / "tests" / "observation" / "told"
EXAMPLES = ROOT / "tracer" / "observation" / "words" / "likened" / "examples.txt"
_FRESH = "# The rules of speech were written without these."
_HEAD = "# Invented sentences: what each means, and its cues. Made of tests/observation/told by make_examples.py.\n"


class Told(Struct, frozen=True):
    """A sentence as it was said of a vehicle, and what it means."""

    model: str
    text: str
    meaning: str


@cache
def lexicon(model: str) -> Lexicon:
    return Lexicon(healthy_states(load_harness(ROOT / "harness_models" / f"{model}.yaml")))


def told_in(path: Path) -> tuple[Told, ...]:
    lines = path.read_text(encoding="utf-8").splitlines()
    return tuple(Told(*line.split("|")) for line in lines if line and not line.startswith("#"))


def fresh(path: Path) -> bool:
    """Whether the rules of speech were written without the sentences of a file."""
    return _FRESH in path.read_text(encoding="utf-8")


@cache
def cues(told: Told) -> Cues:
    words = lexicon(told.model)
    spelled, _ = spelled_right(told.text, words)
    return cues_of(spelled, words.harness.traffic, hear(spelled, words).around.since)


def examples_of(each: Iterable[Told]) -> Iterator[Example]:
    """The sentences as examples, each once; not those whose meaning has a side that they do not name."""
    known = set[Example]()
    for told in each:
        heard = cues(told)
        meaning = slotted(told.meaning, heard.sides)
        if meaning is not None and heard.words:
            example = Example(meaning, heard.words)
            if example not in known:
                known.add(example)
                yield example


def text_of(examples: Iterable[Example]) -> str:
    return _HEAD + "".join(f"{e.meaning}\t{' '.join(e.words)}\n" for e in examples)


if __name__ == "__main__":
    EXAMPLES.write_text(text_of(examples_of(t for path in sorted(TOLD.glob("*.txt")) for t in told_in(path))),
                        encoding="utf-8")
    print(f"{len(EXAMPLES.read_text(encoding='utf-8').splitlines()) - 1} examples")
