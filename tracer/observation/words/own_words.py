"""Whether a sentence is in the harness's own words, in which every word counts."""

from __future__ import annotations

from typing import Final

from tracer.errors import TracerError
from tracer.harness.model import Harness
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.sentences import symptoms_written, written_as
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.written import read_written

_IN_STATE: Final = Pattern(r"\b(?:when|while|with)\b", 2)

_VERB: Final = Pattern(r"\b(?:go(?:es|ing|ne)?|went|com(?:es?|ing)|stay(?:s|ing)?|keeps?|gets?|is|are)\b", 2)


def as_written(text: str, harness: Harness) -> bool:
    """Whether a sentence is in the harness's own words, with the state."""
    if not _IN_STATE.search(text):
        return False
    try:
        read_written(text, harness)
    except TracerError:
        return False
    return True


def ready_made(text: str, harness: Harness) -> bool:
    """Whether a text is ready sentences to the letter, as they are offered."""
    if not _IN_STATE.search(text):
        return False
    try:
        return ". ".join(written_as(s, harness) for s in symptoms_written(text, harness)) == text
    except TracerError:
        return False


def in_own_words(text: str, told: Understood, harness: Harness) -> bool:
    """Whether what a sentence told was told in the harness's own words: without a verb, which they have not, or with
    each lamp by the name that the harness has for it, or as it was offered."""
    if told.verbatim and not _VERB.search(text):
        return True
    small = text.casefold()
    named = all(lamp.casefold() in small for s in told.symptoms for lamp in s.lamps_named())
    return (named and as_written(text, harness)) or ready_made(text, harness)
