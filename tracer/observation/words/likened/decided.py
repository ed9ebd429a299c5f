"""What is done with a sentence, after its readings are weighed: recorded, or asked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.errors import SymptomError, TracerError
from tracer.harness.file.nodes import clip
from tracer.observation.evidence import LensSeen, RelaySeen, Symptom
from tracer.observation.words.likened.cues import Cues, cues_of
from tracer.observation.words.likened.on_vehicle import OnVehicle
from tracer.observation.words.likened.weighed import Reading, readings
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.sentences import MOST_CHOICES, AskedError, ready_sentences, symptoms_written
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_parts import hear
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.story_said import story_of

SURE: Final = 0.9  # what the rules read is recorded where it is as likely as this
SURER: Final = 0.99  # and what they do not read
_LIKE: Final = 0.35  # what is offered unasked for is as like as this
# What the rules say of words that they do not know; all else is a question that they know to be open.
FOREIGN: Final = Pattern(r"is not known here|^no control position|does not say how it looks|was not understood")
_NAMES: Final = Pattern(r"\b(?:lights?|lamps?|lites?|bulbs?|fuses?|everything|lot)\b", re.IGNORECASE)
_QUOTED: Final = Pattern(r"“([^”]*)”(?=:)")
_EITHER: Final = Pattern(r"\bor\b", re.IGNORECASE)


def decided(text: str, spelled: str, lexicon: Lexicon, told: Understood) -> Understood:
    """What the rules have read, if that is the likeliest and likely enough.

    Raises:
        SymptomError: It is not; `choices` are the likeliest readings, that of the rules among them.
    """
    lens = any(isinstance(k, LensSeen) for s in told.symptoms for k in s.seen)
    cues = cues_of(spelled, lexicon.harness.traffic)
    either = lens and (_EITHER.search(text) or not cues.functions)
    seen = _without_relays(told.symptoms)  # of which meanings know nothing
    said = ", ".join(k.says() for s in told.symptoms for k in s.seen)
    if not seen or either or text.casefold() == said or not OnVehicle(lexicon).sayable(seen):
        return told  # no example can speak for it, nor against it
    found = readings(spelled, lexicon, seen, ())
    if seen != told.symptoms:
        found = [replace(r, symptoms=told.symptoms) if r.source.rules else r for r in found]
    read = next((r for r in found if r.source.rules), None)
    if read is None:
        return told  # of no lamp, such as two that are alike
    surely = read is found[0] and read.sure >= SURE and not _loses(told.symptoms, cues)
    if surely or not _ready([read], lexicon):  # it cannot be offered
        return told
    others = [r for r in found if r is not read]
    likeliest = sorted([read, *others[: MOST_CHOICES - 1]], key=lambda r: -r.likely)
    raise SymptomError(f"“{clip(text)}”: it may be meant in other ways", "say which was meant",
                       _ready(likeliest, lexicon))


def decided_else(text: str, spelled: str, lexicon: Lexicon, error: TracerError) -> Understood:
    """What a sentence that the rules do not read means, if that is hardly in doubt.

    Raises:
        TracerError: It is: the same error, its `choices` the likeliest readings. It quotes what was typed, and not
            what the rules have made of it.
    """
    quoted = _QUOTED.match(error.message)
    if quoted and quoted[1].rstrip("…").casefold() not in text.casefold():
        error.message = f"“{clip(text)}”{error.message[quoted.end():]}"
    if isinstance(error, AskedError):
        raise error
    choices = [symptoms_written(c, lexicon.harness) for c in error.choices]
    found = readings(spelled, lexicon, (), choices)
    cues = cues_of(spelled, lexicon.harness.traffic)
    if not choices:  # nobody asked for guesses
        names = _NAMES.search(spelled) or cues.functions
        found = [r for r in found if r.source.likeness >= _LIKE and names]
    foreign = FOREIGN.search(error.message)
    if found and foreign and _surely(found[0]) and not _loses(found[0].symptoms, cues):
        return _likened(found[0], text, spelled, lexicon)
    if choices and not foreign:  # the rules know what is open; beside that there may be what they do not see
        asked = sorted((r for r in found if r.source.choice), key=lambda r: r.source.choice)
        found = [*found[: not found[0].source.choice], *asked, *(r for r in found if not r.source.choice)]
    error.choices = _ready(found, lexicon) or error.choices
    raise error


def _without_relays(symptoms: Sequence[Symptom]) -> tuple[Symptom, ...]:
    lit = (replace(s, seen=tuple(k for k in s.seen if not isinstance(k, RelaySeen))) for s in symptoms)
    return tuple(s for s in lit if s.seen)


def _loses(symptoms: Sequence[Symptom], cues: Cues) -> bool:
    """Whether all is said to be well but what is named, and that is not read."""
    return cues.all_but and not any(s.others_normal for s in symptoms)


def _surely(reading: Reading) -> bool:
    """Whether a reading that is not of the rules is recorded unasked."""
    return reading.sure >= SURER and not reading.source.unknown and not reading.source.left_open


def _likened(reading: Reading, text: str, spelled: str, lexicon: Lexicon) -> Understood:
    """A reading as it is recorded, with what the sentence tells of the vehicle's story."""
    told = story_of(hear(spelled, lexicon).around.since, reading.symptoms)
    states = dict.fromkeys(s.state for s in reading.symptoms)
    moved = (", ".join(f"{c} {p}" for c, p in lexicon.healthy.moves(state).items()) for state in states)
    symptoms = tuple(replace(s, text=text) for s in reading.symptoms)
    return Understood(symptoms, (*filter(None, moved), *told.assumed()), told.unused, told.story)


def _ready(found: list[Reading], lexicon: Lexicon) -> tuple[str, ...]:
    return ready_sentences([r.symptoms for r in found], lexicon.healthy)
