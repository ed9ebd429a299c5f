"""Sentences that lean on the one before: "left brake light dim. The other one is fine. Tail dead." """

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
        if out and _leans(_first_part(sentence, lexicon), _solid(out[-1], lexicon)):
            out[-1] = f"{out[-1].rstrip('.,; ')}, {sentence}"
        else:
            out.append(sentence)
    return ". ".join(out) if out else text


def _solid(sentence: str, lexicon: Lexicon) -> list[Chunk]:
    return [c for c in hear(sentence, lexicon).chunks if c.kind not in SEPARATORS]


def _first_part(sentence: str, lexicon: Lexicon) -> list[Chunk]:
    """What stands before the first comma: "other one fine, stop light good" leans as well."""
    chunks = hear(sentence, lexicon).chunks
    end = next((n for n, c in enumerate(chunks) if c.kind == "," and any(k.say for k in chunks[:n])), len(chunks))
    return [c for c in chunks[:end] if c.kind not in SEPARATORS]


def _leans(chunks: Sequence[Chunk], before: Sequence[Chunk]) -> bool:
    """Whether it says how another side or end does than that of which the sentence before tells, or another lamp on
    the same side."""
    who = chunks[0].who if chunks else None
    named = [c for c in chunks if c.kind != "say"]
    if who is None or len(named) != 1 or not any(c.say for c in chunks):
        return False
    there = [c.who for c in before if c.who is not None]
    tells = any(c.say for c in before) or any(w.quantity in NONE for w in there)
    if who.place_only:
        return tells and any(w.functions or w.exact for w in there)
    alone = who.functions and not (who.sides or who.plural or who.quantity or who.exact or who.names)
    return bool(tells and alone and any(w.sides for w in there))
