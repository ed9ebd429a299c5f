"""The words of a sentence as they were said, part by part: what is named in each, what is said of that, and when.

No rule of speech is asked here: this is what those are held against (`accounted`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct, field

from tracer.observation.words.corrected import corrected
from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_looks import DARK, OUT, PHRASES, Say, say_at
from tracer.observation.words.speech_parts import side_word
from tracer.observation.words.spelling import put_right
from tracer.observation.words.words import singular, word_set

# By which light it was looked at, which is no look.
_BY_LIGHT: Final = Pattern(r",?\s*\b(?:in the dark|after dark|in darkness|in (?:broad |full |bright )?daylight)\b", 2)
_DENIES: Final = word_set("no not never neither nor none nothing nowt without won't")
_PARTING: Final = word_set(", but yet though and or except then |")
_WHEN: Final = word_set(
    "when whenever if with while whilst once until till unless as after during under every each by without "
    "before since "
    "for because")
_ON_WHAT: Final = word_set("parking dip dipped main full high low side sides head brake brakes reverse pilot")
_DIPPING: Final = word_set("lights lamps tails sides rears all just")
_ENGINE: Final = word_set("engine ignition key")
_DONE: Final = word_set("brake reverse indicate signal")
_PEDALS: Final = word_set("brake brakes pedal")
_SUBJECTS: Final = word_set("the my both all it they left right rear front only")
_BEAM: Final = word_set("main full high")
_SAME_AS: Final = word_set("is are does do")  # "dead as is the tail"
_GOES: Final = word_set("go goes went going dim dims come comes")  # "goes right out"
# Of these a noun has to follow, or they say no lamp.
_HALF_NAMES: Final = word_set("turn direction full low high inside work roof cabin")
_PLACES: Final = word_set("left right front rear")
_AT: Final = word_set("on at in the to of than as with")
_OF_A_PLACE: Final = word_set("that this same one")
_BOTH_SIDES: Final = word_set("both either all each the")
# With these lamps may be meant that are not named.
_ANY: Final = word_set(
    "everything nothing none neither all rest else other others opposite it they them each one ones both lot "
    "cluster unit "
    "end corner wing flasher")
_NO_STOP: Final = word_set("left right high the front rear")
_BACK: Final = word_set("left right light lamp end")


class Part(Struct):
    """One part of a sentence, between what parts it."""

    words: list[str] = field(default_factory=list)
    functions: dict[str, str] = field(default_factory=dict)  # word → what the lamps called so are for
    sides: set[str] = field(default_factory=set)
    ends: set[str] = field(default_factory=set)
    says: list[Say] = field(default_factory=list)
    denied: bool = False  # a denial that is no part of a look
    when: list[str] = field(default_factory=list)  # words of the circumstance
    beside: list[Say] = field(default_factory=list)  # looks said in it
    excepted: bool = False  # from what the part before says
    unnamed: bool = False  # "the lights", "the rest", "it": whose names are not in it
    fronted: bool = False  # it begins with the circumstance, and where that ends is not known

    @property
    def placed(self) -> bool:
        """Whether it tells of which lamps it is."""
        return bool(self.functions or self.sides or self.ends)

    @property
    def said(self) -> str:
        return " ".join(self.words)


class SaidParts:
    """A sentence in its parts. `words`: with slips put right; `typed`: as they came."""

    def __init__(self, text: str, lexicon: Lexicon) -> None:
        typed = plain(_BY_LIGHT.sub("", corrected(text))).split()
        words, slips = put_right(typed, lexicon.known, lexicon.means)
        words = plain(" ".join(words)).split() if slips else words
        kerb: list[str] = []
        self.typed, self.names = frozenset(typed), lexicon.names
        self.words = [side_word(w, lexicon.harness, kerb) for w in words]
        self.parts = [*self._parts()]

    def _parts(self) -> Iterator[Part]:
        part, at, circumstance = Part(), 0, False
        if self.words[1:2] == ["and"] and self.words[0] in _DONE and self._next(2) in _SUBJECTS:
            yield Part([self.words[0]], when=[self.words[0]], fronted=True)  # "brake and the tails go out"
            at = 2
        elif {*self.words[:1]} & _PEDALS and (on := {*self.words[1:2]} <= {"on", "down"} or 2 * bool(
                {*self.words[1:2]} & _GOES and {*self.words[2:3]} & {"on", "down"})) and self._next(on + 1) in (",",
                    "and"):
            at = on + 1
            yield Part(self.words[:at], when=self.words[:at], fronted=True)  # "brake goes on, tails go off"
        while at < len(self.words):
            word = self.words[at]
            if word in _PARTING:
                if part.words:
                    yield part
                part, at, circumstance = Part(excepted=word == "except"), at + 1, circumstance and word == "and"
                continue
            if part.says and part.placed and not circumstance and self._another(at):
                yield part
                part = Part()
            say, size = self._say(part, at)
            circumstance |= say is None and self._begins_circumstance(at)
            part.fronted |= circumstance and not part.words
            taken = self.words[at : at + max(size, 1)]
            if circumstance:
                part.when += taken
                part.beside += [say] if say else []
            elif say is not None:
                part.says.append(say)
            else:
                self._note(part, at)
            part.words += taken
            at += len(taken)
        if part.words:
            yield part

    def _another(self, at: int) -> bool:
        """Whether others are named from a word on, after a look and without what parts, of which a look is told too:
        "left brake dim right brake bright"."""
        ends = next((k for k in range(at, len(self.words)) if self.words[k] in _PARTING), len(self.words))
        named = self.words[at : min(ends, at + 4)]
        begins = named[:1] and named[0] in _PLACES and self.words[at - 1] not in _AT
        return bool(begins) and any(singular(w) in FUNCTIONS for w in named[1:3]) and any(
            say_at(self.words, k)[0] for k in range(at + 2, min(at + 5, len(self.words))))

    def _next(self, at: int) -> str:
        return self.words[at] if at < len(self.words) else ""

    def _say(self, part: Part, at: int) -> tuple[Say | None, int]:
        """The look that is said from a word on, where it is one."""
        say, size = say_at(self.words, at)
        word, after = self.words[at], self._next(at + size)
        if say is None:
            return (PHRASES[("goes", "dim")], 1) if self._dips(at) else (None, 0)
        # "Dead slow", "gone dim".
        gone = size == 2 and self.words[at + 1] == "gone"
        strengthens = say.words == DARK.words and (size == 1 or gone) and say_at(self.words, at + size)[0]
        beams = word == "dips" and size == 1 and not part.functions  # both of them
        stops = word == "stops" and size > 1 and not part.functions  # "stops ok" tells of stop lamps
        signal = word in ("flash", "flashing") and after in _BEAM
        on_beam = (word == "on" and after in _ON_WHAT) or (at and self.words[at - 1] in _ENGINE)
        no_look = beams or stops or signal or on_beam
        return (None, size if strengthens else 1) if strengthens or no_look else (say, size)

    def _dips(self, at: int) -> bool:
        """Whether "dip" is what lights do: "tails dip when I indicate"."""
        before = self.words[at - 1] if at else ""
        return self.words[at] == "dip" and before in _DIPPING and (
            self._next(at + 1) in _PARTING | _WHEN or at == len(self.words) - 1)

    def _begins_circumstance(self, at: int) -> bool:
        word, after = self.words[at], self._next(at + 1)
        beam_or_gear = (word == "on" and after in _ON_WHAT) or (word == "in" and after == "reverse")
        return beam_or_gear or (word in _WHEN and not (word == "as" and after in _SAME_AS))

    def _note(self, part: Part, at: int) -> None:
        """Notes a word that is no part of a look."""
        word, one = self.words[at], singular(self.words[at])
        before, after = self.words[at - 1] if at else "", singular(self._next(at + 1))
        if word in ("left", "right"):
            part.sides |= set() if word == "right" and before in _GOES else {word}
        elif word in ("front", "rear") or (word == "back" and (after in _BACK or before == "the")):
            part.ends.add("rear" if word == "back" else word)
        elif word in _DENIES:
            part.denied = True
            part.unnamed |= word in _ANY
        elif word in _ANY or (one in NOUNS and singular(before) not in FUNCTIONS and not self._own_name(before)):
            part.unnamed = True
        elif one in ("stop", "stopped") and before not in _ENGINE and (
                after.endswith("ing") or self._ceases(part, at)):
            part.says += [] if after.endswith("ing") else [OUT]
        elif word in ("high", "full") and after == "beam":
            part.functions["main"] = "main"
        elif one in FUNCTIONS and (self._listed(at) or not self._no_name(word, before, after)):
            part.functions[one] = FUNCTIONS[one]

    def _no_name(self, word: str, before: str, after: str) -> bool:
        one = singular(word)
        if word == "side" and before in _OF_A_PLACE:  # "on that side", which lights up
            return True
        if FUNCTIONS[one] == "side" and word == "sides":
            return before in _BOTH_SIDES
        return (FUNCTIONS[one] == "side" or one in _HALF_NAMES) and after not in NOUNS

    def _listed(self, at: int) -> bool:
        """Whether a word is one of several names before "lights": "head, side and tail lights"."""
        while self._next(at + 1) in (",", "and", "or") and singular(self._next(at + 2)) in FUNCTIONS:
            at += 2
            if singular(self._next(at + 1)) in NOUNS:
                return True
        return False

    def _own_name(self, word: str) -> bool:
        """Whether a word is one of the names that the harness has for its lamps."""
        return singular(word) in self.names

    def _ceases(self, part: Part, at: int) -> bool:
        """Whether "stop" is what something does."""
        word, after = self.words[at], self._next(at + 1)
        beside = (singular(self._next(at + 2)), singular(self.words[at - 1]))
        if after in ("and", "or") and all(w in FUNCTIONS for w in beside):
            return False  # "left tail stop and indicator dead"
        ends = after in ("", *_PARTING, *_WHEN)
        alone = word == "stops" and not part.words and self.words[at - 1 : at] == ["and"]
        return word == "stopped" or alone or (bool(part.words) and ends and part.words[-1] not in _NO_STOP)


def all_says(parts: Sequence[Part]) -> list[Say]:
    """Every look that was said, in circumstances too."""
    return [k for p in parts for k in (*p.says, *p.beside)]
