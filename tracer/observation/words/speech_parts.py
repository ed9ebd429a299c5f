"""A spoken sentence in its parts: who, how, and where one ends and the next begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec import Struct, field

from tracer.harness.model import Harness
from tracer.observation.words import speech_circumstances as circumstances
from tracer.observation.words.lamps_called import NONE, TOWED
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_chunks import CUT, SEPARATORS, Chunk, add_word, chunk_at
from tracer.observation.words.speech_fuses import rated
from tracer.observation.words.speech_lexicon import FILLERS, HEARD, VEHICLE, Lexicon
from tracer.observation.words.speech_looks import (
    BRIGHTER_THAN,
    DARK,
    DIMMER_THAN,
    MOVED,
    ON,
    PHRASES,
    SOMETIMES,
    UNDIMMED,
    UNHEARD,
    say_at,
)
from tracer.observation.words.speech_who import Who
from tracer.observation.words.spelling import put_right
from tracer.observation.words.words import singular, word_set

_MARKS: Final = {"§n": UNDIMMED, "§s": SOMETIMES, "§m": MOVED, "§d": DIMMER_THAN, "§b": BRIGHTER_THAN}
# Words that turn the meaning round: a sentence in which one of them is not understood is not understood.
_TURNS: Final = word_set("except excepting unless instead "
                        "not won't never neither nor without nobody don't doesn't isn't aren't can't")
_COUNTS: Final = word_set("two three four five six half")  # of how many it is, which is not known here
_WHICH: Final = word_set("middle centre center first second third fourth last next furthest nearest inner outer top "
                        "bottom")
_DOING: Final = word_set("going doing gone")  # tell nothing before a look, and without one nothing that is known
_LATELY: Final = word_set("last yesterday today lately recently suddenly permanently")
_FLASHER: Final = Pattern(r"\bhead (?:lights?|lamps?) flash(?:er|ers)\b|\bflash to pass\b")
_ONE_OF: Final = Pattern(
    r"\bone (?:of (?:the|my|his|her) )?(?:trailer |caravan )?(?:head|tail|stop|brake|side|rear|front|fog|revers\w+"
    r"|indicator|winker|"
    r"flasher|light|lamp|plate|number|dip|main|marker|repeater|(?:low|high|full|work) (?:beam|head|light|lamp))\w*"
    r"|\bone of (?:the|my|his|her|its) (?:\w+ ){1,3}?(?:lights|lamps|beams|indicators|repeaters|markers)\b")
_SIDED: Final = Pattern(r"\b(?:left|right|other)\b")
_PARTS: Final = Pattern(r" (?:,|\||but|and) ")
_EITHER: Final = Pattern(r"\b(?:left|right)\b")
_FUSE_NUMBER: Final = Pattern(r"\bfuse (\d+)\b")


class Heard(Struct):
    """A sentence taken apart."""

    chunks: list[Chunk]
    around: circumstances.Circumstances
    slips: list[tuple[str, str]] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    inside: list[str] = field(default_factory=list)  # unknown words amid the name of a lamp
    fuses: list[str] = field(default_factory=list)  # those of the amperes that were said
    scenes: list[circumstances.Scene] = field(default_factory=list)  # each circumstance, by its number
    kerb: list[str] = field(default_factory=list)  # what nearside, offside and the seats were taken for

    @property
    def moving(self) -> frozenset[int]:
        """Numbers of the scenes that say where controls stood."""
        return frozenset(k for k, scene in enumerate(self.scenes) if scene.moves)


def hear(text: str, lexicon: Lexicon) -> Heard:
    """A sentence taken apart; words that mean nothing here are kept as unknown."""
    said = lexicon.with_middle_stop(plain(text))
    words, slips = put_right(said.split(), lexicon.known, lexicon.means)
    if slips:
        words = plain(" ".join(words)).split()  # "headlight" is two words
    kerb: list[str] = []
    words = [side_word(w, lexicon.harness, kerb) for w in words]
    left, scenes = circumstances.take_out(" ".join(words), lexicon.healthy)
    left, fuses, beside = rated(left, lexicon.harness)
    around = circumstances.told_by(scenes, lexicon.healthy)
    around.unused += beside
    heard = Heard([], around, slips, kerb=kerb, fuses=fuses, scenes=scenes)
    heard.inside += [w for w in left.split() if w in HEARD and not any(w in s for s in lexicon.spelled)]
    one = _ONE_OF.search(said)
    own_part = one and _PARTS.split(said[: one.start()])[-1] + said[one.start():]
    if one and own_part is not None and not (_EITHER.search(left) and _EITHER.search(own_part)):
        heard.inside.append(one.group())  # which is to be asked: a side that was named before is another lamp's
    if "one side" in left and "other" not in left.split() and any(
            "one side" in part and not _SIDED.search(part) for part in _PARTS.split(left)):
        heard.inside.append("one side")
    heard.inside += [m.group() for m in _FLASHER.finditer(said)]
    heard.inside += [f"fuse {n[1]}" for n in _FUSE_NUMBER.finditer(said) if ("fuse", n[1]) not in lexicon.spelled]
    numbers = [circumstances.number_of(w) for w in left.split()]
    numbers = [n if n is not None and n < len(scenes) else None for n in numbers]  # "|" may be typed as well
    _chunks([w if n is None else CUT for w, n in zip(left.split(), numbers, strict=True)], numbers, lexicon, heard)
    return heard


def side_word(word: str, harness: Harness, kerb: list[str]) -> str:
    """Left or right for what goes by the kerb: traffic that keeps left has the near side on the left, and mostly the
    driver on the right."""
    if word not in ("nearside", "offside", "driverside", "passengerside"):
        return word
    keeps_right = harness.traffic == "keeps right"
    side = "left" if (word in ("nearside", "passengerside")) != keeps_right else "right"
    note = {"nearside": "nearside", "offside": "offside", "driverside": "driver's side",
            "passengerside": "passenger's side"}[word]
    kerb.append(f"{note} is the {side}, as where traffic keeps {'right' if keeps_right else 'left'}")
    return side


def _chunks(words: list[str], numbers: Sequence[int | None], lexicon: Lexicon, heard: Heard) -> None:
    at = 0
    last = ""  # the separator before the next chunk
    strange: list[str] = []  # unknown words since then
    while at < len(words):
        word = words[at]
        if word in SEPARATORS:
            if word == "except" and not _names_a_lamp(words, at + 1, lexicon):
                heard.inside.append(word)
            last = word
            _unheard(words[at:], strange, lexicon, heard)
            strange = []
            scene = numbers[at]
            joined = heard.scenes[scene].said.split()[0] if scene is not None else ""
            heard.chunks += [Chunk(joined)] * (joined in ("and", "but"))  # "… and when I brake …"
            heard.chunks.append(Chunk(word, scene=scene))
            at += 1
            continue
        if word in _MARKS:
            heard.chunks.append(Chunk("say", say=_MARKS[word]))
            at += 1
            continue
        shown = heard.chunks[-1].who if heard.chunks and not last else None
        if word == "lights" and shown and shown.noun and not shown.plural and not strange:
            heard.chunks.append(Chunk("say", say=ON))  # the verb: "the reversing lamp lights"
            at += 1
            continue
        chunk, length = chunk_at(words, at, lexicon)
        if words[at : at + length] in (["sounds"], ["sounding"]) and _strange_next(words, at + 1, lexicon):
            chunk = Chunk("say", say=UNHEARD)  # "sounds sick"
        if (words[at : at + length] == ["dim"] and shown and shown.plural and not heard.around.trivial
                and words[at - 1].endswith("s") and "head" not in shown.functions):
            chunk = Chunk("say", say=PHRASES[("dims",)])  # the verb: "brake lights dim when I put the lights on"
        if words[at : at + length][-1:] == ["gone"]:
            chunk = _become(words, at + length, lexicon)
        if chunk is None:
            after = chunk_at(words, at + 1, lexicon)[0] if word in _DOING and at + 1 < len(words) else None
            if after is not None and after.say:
                at += 1  # "going fast"
                continue
            _note_strange(words, at, last, strange, lexicon, heard)
            at += 1
            continue
        chunk.either, chunk.joined = last == "or", last in ("and", ",")
        beside = {chunk.kind, *(c.kind for c in heard.chunks[-1:])}
        heard.inside += strange if beside & {"who", "fuse"} else []
        strange = []
        _put(chunk, lexicon, heard)
        last = ""
        at += length
    _unheard([], strange, lexicon, heard)


def _put(chunk: Chunk, lexicon: Lexicon, heard: Heard) -> None:
    """Puts a chunk behind the others; what tells of the same lamps as the one before is put to it."""
    previous = heard.chunks[-1] if heard.chunks else None
    if chunk.who and previous and previous.who and not previous.who.exact and not chunk.who.exact:
        add_word(previous.who, chunk.who)
    elif chunk.who and previous and previous.who and _placed(previous.who, chunk.who, lexicon):
        add_word(previous.who, chunk.who)  # "plough lights at the back"
    elif chunk.who and previous and previous.who and _placed(chunk.who, previous.who, lexicon):
        add_word(chunk.who, previous.who)
        heard.chunks[-1] = chunk
    elif chunk.who and previous and previous.who and _towed_by_name(chunk.who, previous.who, lexicon):
        pass  # "right marker on the caravan"
    elif chunk.who and previous and previous.who and _towed_by_name(previous.who, chunk.who, lexicon):
        heard.chunks[-1] = chunk  # "caravan right marker"
    elif chunk.who and previous and previous.who and previous.who.said == ["no"]:
        chunk.who.quantity = "no"  # "no caravan left tail", where that is the lamp's own name
        heard.chunks[-1] = chunk
    else:
        heard.chunks.append(chunk)


def _placed(named: Who, place: Who, lexicon: Lexicon) -> bool:
    """Whether only a place is told beside lamps by their own names, some of which are there."""
    lamps = lexicon.lamps
    return bool(named.exact) and place.place_only and not (place.other or place.one) and any(
        lamps.side.get(n) in place.sides or lamps.end.get(n) in place.ends for n in named.exact)


def _names_a_lamp(words: list[str], at: int, lexicon: Lexicon) -> bool:
    """Whether the next word but fillers is of a lamp."""
    at = next((k for k in range(at, len(words)) if words[k] not in FILLERS), len(words))
    return at < len(words) and (chunk := chunk_at(words, at, lexicon)[0]) is not None and chunk.who is not None


def _note_strange(
    words: list[str], at: int, last: str, strange: list[str], lexicon: Lexicon, heard: Heard
) -> None:
    """Notes a word that is no part of a lamp, a look or a thing."""
    word = words[at]
    if word == "instead" and at == len(words) - 1 and any(
            c.say and (c.say.short or c.say.words == DARK.words) for c in heard.chunks):
        return  # "… is out, and the indicator comes on instead"
    if word in _TURNS:
        heard.inside.append(word)
    heard.around.unused += _only_of(words, at, lexicon)
    if word in FILLERS or word in VEHICLE or singular(word) in TOWED:
        return
    heard.unknown.append(word)
    strange.append(word)
    before = words[at - 1] if at else ""
    heard.inside += [word] if word in _COUNTS else []
    if word in _WHICH and words[at + 1 : at + 2] in (["one"], ["ones"]):
        heard.inside.append(f"{word} one")
    # In the midst of "when I brake sideways", or of what says when: "on mains".
    amid = last == CUT or before in ("on", "with", "in", "under", "when", "if", "during")
    if amid and word not in _LATELY:
        heard.inside.append(word)


def _towed_by_name(before: Who, who: Who, lexicon: Lexicon) -> bool:
    """Whether only the trailer, or a colour, is named before a lamp of it that has a name of its own."""
    coloured = before.colour and {*who.exact} & {*lexicon.tell_tales}  # "the red handbrake light"
    towed = bool(before.names) and {*before.names} <= TOWED and {*who.exact} <= lexicon.lamps.towed
    return len(before.said) == 1 and bool(who.exact) and bool(coloured or towed)


def _only_of(words: list[str], at: int, lexicon: Lexicon) -> list[str]:
    """"Only", where it stands before what it is said of: that it was not used is said back."""
    following = words[at + 1 : at + 2]
    said = words[at] == "only" and following and (following == ["the"] or chunk_at(words, at + 1, lexicon)[0])
    return ["only"] if said else []


def _become(words: list[str], at: int, lexicon: Lexicon) -> Chunk | None:
    """What "gone" says before the word at `at`: dark, what it has gone ("dim"), or nothing that is known ("mad")."""
    at = next((k for k in range(at, len(words)) if words[k] not in FILLERS or say_at(words, k)[0]), len(words))
    ends = at == len(words) or words[at] in SEPARATORS or words[at] in _MARKS or words[at] in _LATELY
    after = None if ends else chunk_at(words, at, lexicon)[0]
    if after is not None and after.say:
        return None
    return Chunk("say", say=DARK if ends or after is not None else UNHEARD)


def _strange_next(words: list[str], at: int, lexicon: Lexicon) -> bool:
    """Whether the next word but fillers is one that tells nothing here."""
    at = next((k for k in range(at, len(words)) if words[k] not in FILLERS), len(words))
    return at < len(words) and words[at] not in {*SEPARATORS, *_MARKS, *lexicon.known}


def _unheard(rest: list[str], strange: Sequence[str], lexicon: Lexicon, heard: Heard) -> None:
    """Unknown words after a lamp of which nothing else is said stand for what is said of it: the verdict on the next
    is not its own ("the front going like a train and the back one is dead")."""
    part: list[Chunk] = []
    for chunk in reversed(heard.chunks):
        if chunk.kind in SEPARATORS:
            break
        part += [] if chunk.say and chunk.say.beside else [chunk]
    lamps = [c.who for c in part if c.who]
    told = any(c.say for c in part) or any(w.quantity in NONE for w in lamps)
    parted = strange or rest[:1] == ["but"]  # which joins no lamps
    if parted and lamps and part[0].who and not told and not _goes_on(rest, lexicon):
        heard.chunks.append(Chunk("say", say=UNHEARD))


def _goes_on(rest: list[str], lexicon: Lexicon) -> bool:
    """Whether the next part is a verdict with no lamp of its own: "left tail wonky, dead in fact"."""
    found = False
    at = 0
    while at < len(rest):
        chunk, length = chunk_at(rest, at, lexicon)
        if chunk is not None and chunk.say is None:
            return False
        if (found and rest[at] in SEPARATORS) or (chunk is None and rest[at] not in (*SEPARATORS, *_MARKS, *FILLERS)):
            return found
        found |= chunk is not None
        at += max(length, 1)
    return found
