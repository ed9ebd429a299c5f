"""Other ways to read a sentence than as a whole: part by part, as whoever listens tries it when the whole makes no
sense."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from tracer.errors import TracerError
from tracer.observation.evidence import Symptom
from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_lexicon import HEARD
from tracer.observation.words.speech_looks import say_at
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.words import singular, word_set

_BETWEEN: Final = Pattern(r"\s*[,;.](?:\s+|$)(?:and |but |yet |though )?|\s+(?:but|yet|though|and)\s+", 2)
_FRONTED: Final = Pattern(r"^\s*(?:when|whenever|with|while|if|once|on|in|as soon as|every time)\b", 2)
_BEGINS: Final = Pattern(
    r" (?=(?:the|my|both|all|left|right|near ?side|off ?side|n/s|o/s|rear|front|it|they|everything)\b)", 2)
_MOST: Final = 3
_PLACES: Final = word_set("left right nearside offside driverside passengerside front rear back")
_NONE: Final = word_set("no neither nothing none")
_IT: Final = ("it", "they", "one", "ones")
_THINGS: Final = word_set("fuse everything repeater")
_WHEN: Final = word_set("when whenever with while if once on in")


def other_ways(text: str, read: Callable[[str], Understood], asked: bool = True) -> list[tuple[Symptom, ...]]:
    """What a sentence says if its parts are read each for itself, or if what it begins with ends elsewhere.

    Args:
        read: What reads one of them.
        asked: Of a part that leaves something open each of its choices counts.
    """
    parts = _parts(text)
    return _by_parts(parts, read, asked) if len(parts) > 1 else _by_begin(text, read)


def _by_begin(text: str, read: Callable[[str], Understood]) -> list[tuple[Symptom, ...]]:
    """"When the fan is on full the dash lights go dim": with a comma where those who listen would put it."""
    if not _FRONTED.match(text) or "," in text:
        return []
    for start in _BEGINS.finditer(text):
        try:
            return [read(f"{text[: start.start()]}, {text[start.start():].strip()}").symptoms]
        except TracerError:
            continue
    return []


def _by_parts(parts: Sequence[str], read: Callable[[str], Understood], asked: bool) -> list[tuple[Symptom, ...]]:
    """The parts together; of one that is open each of its choices, beside the others."""
    ways: list[tuple[Symptom, ...]] = [()]
    for part in parts:
        try:
            told = [read(part).symptoms]
        except TracerError as error:
            if not asked:
                return []
            told = _by_begin(part, read) or [found for c in error.choices[:_MOST] if (found := _ready(c, read))]
            if not told and _names(part.split()):
                return []  # of something that is known, and not understood
        ways = [w + t for w in ways for t in told or [()]][:_MOST]
    return [w for w in ways if w]


def _ready(choice: str, read: Callable[[str], Understood]) -> tuple[Symptom, ...]:
    try:
        return read(choice).symptoms
    except TracerError:
        return ()


def _parts(text: str) -> list[str]:
    """The parts in each of which a look is told, with whom they are about; the circumstance before the first is said
    of all."""
    pieces = [plain(p) for p in _BETWEEN.split(text) if p and p.strip()]
    before = ""
    if len(pieces) > 1 and _FRONTED.match(pieces[0]) and not _looks(pieces[0].split()):
        before = f"{pieces.pop(0)}, "
    out: list[str] = []
    open_, last = "", list[str]()
    for piece in pieces:
        open_ = f"{open_} and {piece}" if open_ else piece
        words = open_.split()
        if _tells(words):
            out.append(f"{before}{_with_subject(words, last)}")
            last = _subject(words) if _named(_subject(words)) else last
            open_ = ""
    return out


def _with_subject(words: Sequence[str], last: Sequence[str]) -> str:
    """A part with whom it is about: those of the part before where it names nobody, or only another side or end."""
    own = _subject(words)
    its = next((k for k, w in enumerate(words[:-1]) if w in _IT[:2]), None)
    if last and its is not None:
        return " ".join([*words[:its], *last, *words[its + 1 :]])
    if _named(own) or not last or words[0] in _WHEN:
        return " ".join(words)
    if words[0] in ("nothing", "none"):
        words = ["dead", *words[1:]]
    where = [w for w in words if w in _PLACES]
    kept = [w for w in last if not (where and w in _PLACES)]
    return " ".join([*where, *kept, *(w for w in words if w not in _PLACES and w not in _IT)])


def _subject(words: Sequence[str]) -> list[str]:
    """The words before the look, or before it is said when."""
    end = next((k for k in range(len(words)) if words[k] in _WHEN or say_at(words, k)[0] is not None), len(words))
    return [w for w in words[:end] if w not in _NONE]


def _names(words: Sequence[str]) -> bool:
    """Whether something is named that could be told of."""
    return _named(words) or bool({*words} & _PLACES)


def _named(words: Sequence[str]) -> bool:
    return any(singular(w) in FUNCTIONS or singular(w) in NOUNS or w in HEARD or w in _THINGS for w in words)


def _looks(words: Sequence[str]) -> bool:
    return any(say_at(words, at)[0] is not None for at in range(len(words)))


def _tells(words: Sequence[str]) -> bool:
    """Whether a look, or a denial, is told."""
    return bool(_NONE & {*words}) or _looks(words)
