"""Sentences that name no lamp of their own: "left brake light dim. The other one is fine." lean on the one before."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from tracer.observation.words.lamps_called import NONE
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_chunks import SEPARATORS, Chunk
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_parts import hear

_ENDS: Final = Pattern(r"[.;]\s+(?=\S)")


def joined(text: str, lexicon: Lexicon) -> str:
    """The text with each sentence that leans on the one before as a part of it."""
    out: list[str] = []
    for sentence in (s for s in _ENDS.split(text) if s.strip()):
        if out and _leans(_solid(sentence, lexicon)) and _names_a_lamp(_solid(out[-1], lexicon)):
            out[-1] = f"{out[-1].rstrip('.,; ')}, {sentence}"
        else:
            out.append(sentence)
    return ". ".join(out) if out else text


def _solid(sentence: str, lexicon: Lexicon) -> list[Chunk]:
    return [c for c in hear(sentence, lexicon).chunks if c.kind not in SEPARATORS]


def _leans(chunks: Sequence[Chunk]) -> bool:
    """Whether only a side or an end is named, and then how it does there."""
    who = chunks[0].who if chunks else None
    named = [c for c in chunks if c.kind != "say"]
    return who is not None and who.place_only and len(named) == 1 and any(c.say for c in chunks)


def _names_a_lamp(chunks: Sequence[Chunk]) -> bool:
    """Whether something is said there of one sort of lamps."""
    whos = [c.who for c in chunks if c.who is not None]
    tells = any(c.say for c in chunks) or any(w.quantity in NONE for w in whos)
    return tells and any(w.functions or w.exact for w in whos)
