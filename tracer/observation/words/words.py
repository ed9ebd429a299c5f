"""What people call things: the words of lamps and of how lamps look.

Names are compared as sets of words: order, plurals, "lamp" and "the" do not matter, and what is
left must all occur in the words of the lamp (its name, its part's names, its place).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.errors import SymptomError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness

MAX_TEXT: Final = 2000  # characters; nobody types more, and matching takes time


def word_set(text: str) -> frozenset[str]:
    """The words of a text with spaces between them."""
    return frozenset(text.split())


_TOKEN = re.compile(r"[^\W_]+(?:'[^\W_]+)?|[,;&+/]")
_COMPOUND = re.compile(r"(\w{3,})(lamps?|lights?)")
_HANDS = re.compile(r"\b([lr])/h(s?)\b")
SEPARATORS: Final = frozenset({",", ";", "&", "+", "/", "and", "but", "or", "plus"})
HARMLESS: Final = word_set(
    "the a an of on at in its my that this one ones is are was were be been being it them they still just now also "
    "only bit little slightly rather quite stays stay remains remain does do did seems looks look appears goes go "
    "gets get too very there then up rate speed to by hand s with"
)
_SOFT: Final = word_set("lamp light bulb unit filament signal beam cluster assembly")
_ALL: Final = frozenset({"all", "both", "every", "each", "any"})
_OTHER: Final = frozenset({"other", "else", "rest", "remaining"})
_EVERYTHING: Final = frozenset({"everything", "rest", "others"})
_ACROSS: Final = frozenset({"left", "right"})
_ALONG: Final = frozenset({"rear", "front", "upper", "lower", "centre", "center", "middle"})
# Whoever says "the indicators" means the lamps outside, not the tell-tale for them.
_TELL_TALE: Final = "tell"

_SAME: Final = tuple(word_set(s) for s in (
    "stop brake", "reversing reverse backup", "indicator blinker winker turn direction", "dip dipped low",
    "main high full", "number licence license registration", "side position parking", "rear back",
    "tell warning pilot", "panel dashboard instrument",
))
_LETTERS: Final[Mapping[str, tuple[str, ...]]] = {
    "l": ("left",), "lh": ("left",), "lhs": ("left",), "rh": ("right",), "rhs": ("right",),
    "r": ("right", "rear"), "f": ("front",),
}


def tokens(text: str) -> list[str]:
    """Words and separators of a text, in lower case; "headlamps" is two words."""
    out: list[str] = []
    lowered = _HANDS.sub(r"\1h\2", text.lower().replace("’", "'"))
    for token in _TOKEN.findall(lowered):
        compound = _COMPOUND.fullmatch(token)
        if compound:
            out += compound.groups()
        elif token in ("telltale", "telltales"):
            out += ["tell", token[4:]]
        elif token in ("numberplate", "numberplates"):
            out += ["number", token[6:]]
        else:
            out.append(token)
    return out


def singular(word: str) -> str:
    """The word without its plural ending."""
    if len(word) > 4 and word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def check_length(text: str) -> str:
    """The text, if it is not too long to be meant.

    Raises:
        SymptomError: Longer than `MAX_TEXT`.
    """
    if len(text) > MAX_TEXT:
        raise SymptomError(f"“{clip(text)}” is too long", f"at most {MAX_TEXT} characters")
    return text


def listed(names: Iterable[str], joint: str = "or") -> str:
    """Names in a row: "a, b or c"."""
    names = list(names)
    if len(names) > 8:
        names = [*names[:7], f"{len(names) - 7} others"]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" {joint} " + names[-1] if names else "none"


def alternatives(word: str, vocabulary: Collection[str]) -> tuple[str, ...]:
    """The known words that a typed (singular) word may stand for: itself, else a word of the same
    meaning, else those it abbreviates."""
    if word in vocabulary:
        return (word,)
    same = [s for group in _SAME if word in group for s in sorted(group) if s in vocabulary]
    if same:
        return tuple(same)
    if word in _LETTERS:
        return tuple(w for w in _LETTERS[word] if w in vocabulary)
    return tuple(sorted(v for v in vocabulary if v.startswith(word))) if len(word) >= 3 else ()


def occurs(words: Sequence[str], options: Sequence[tuple[str, ...]], known: frozenset[str]) -> bool:
    """Whether every typed word finds its place in `known`; one letter does not use up another's word."""
    sure = {o[0] for o in options if len(o) == 1}
    return all(
        any(x in known and (len(o) == 1 or len(w) > 1 or x not in sure) for x in o)
        for w, o in zip(words, options, strict=True)
    )


def name_words(*texts: str) -> frozenset[str]:
    """The telling words of names, singular."""
    found = (t for text in texts for t in tokens(text) if t not in SEPARATORS and t not in HARMLESS)
    return frozenset(w for w in map(singular, found) if w not in HARMLESS and w not in _SOFT)


class LampNames(Struct, frozen=True):
    """The words by which the lamps of one harness may be called."""

    words: Mapping[str, frozenset[str]]  # lamp → every word that may be used for it
    bulbs: Mapping[str, str]  # lamp → glass
    exact: Mapping[frozenset[str], tuple[str, ...]]  # words of a whole name → lamps
    parts: Mapping[str, str]  # lamp → part
    vocabulary: frozenset[str]
    spelled: tuple[tuple[tuple[str, ...], str], ...]  # tokens of a lamp's name, longest first

    @classmethod
    def of(cls, harness: Harness) -> LampNames:
        """The names of a harness, gathered once as long as the same one is asked for."""
        if not _latest or _latest[0][0] is not harness:
            _latest[:] = [(harness, cls._gathered(harness))]
        return _latest[0][1]

    @classmethod
    def _gathered(cls, harness: Harness) -> LampNames:
        words: dict[str, frozenset[str]] = {}
        exact: dict[frozenset[str], list[str]] = {}
        parts: dict[str, str] = {}
        bulbs = {f.lamp: f.bulb for f in harness.lamps()}
        for part in harness.parts.values():
            for lamp in part.lamps:
                words[lamp.lamp] = name_words(lamp.lamp, part.name, *part.also, part.place)
                parts[lamp.lamp] = part.name
                for name in (lamp.lamp, *(part.also if len(part.lamps) == 1 else ())):
                    exact.setdefault(name_words(name), []).append(lamp.lamp)
        spelled = sorted(((tuple(tokens(n)), n) for n in words), key=lambda s: -len(s[0]))
        return cls(
            words, bulbs, {k: tuple(dict.fromkeys(v)) for k, v in exact.items()}, parts,
            frozenset(w for ws in words.values() for w in ws), tuple(spelled),
        )

    def matching(self, words: Sequence[str]) -> list[str]:
        """Lamps whose words contain all of these (singular, telling) words."""
        options = [alternatives(w, self.vocabulary) for w in words]
        found = [lamp for lamp, known in self.words.items() if occurs(words, options, known)]
        if not found and "side" in words and len(words) > 2 and any(_ACROSS.intersection(o) for o in options):
            return self.matching([w for w in words if w != "side"])  # "on the left side" tells no side light
        outside = [lamp for lamp in found if _TELL_TALE not in name_words(lamp)]
        if outside and not any(_TELL_TALE in o for o in options):
            return outside
        return found

    def spelled_at(self, words: Sequence[str], at: int) -> int:
        """How many words from `at` on spell a lamp's name out."""
        return next((len(s) for s, _ in self.spelled if s and tuple(words[at : at + len(s)]) == s), 0)

    def nearest_hint(self, phrase: str, words: Sequence[str]) -> str:
        """A hint naming the lamps that share most words with the phrase."""
        import difflib  # seldom needed

        options = [alternatives(w, self.vocabulary) for w in words]
        shared = {lamp: sum(any(x in known for x in o) for o in options) for lamp, known in self.words.items()}
        best = max(shared.values(), default=0)
        if best == 0:
            return did_you_mean(phrase, self.words)
        close = [lamp for lamp, n in shared.items() if n == best]
        close.sort(key=lambda lamp: -difflib.SequenceMatcher(None, phrase.lower(), lamp.lower()).ratio())
        return "did you mean " + " or ".join(f"“{c}”" for c in close[:3]) + "?"


_latest: list[tuple[Harness, LampNames]] = []


class _Item(Struct):
    """One member of "left rear stop and tail lamps": its telling words by what they tell."""

    said: str
    across: list[str]
    along: list[str]
    what: list[str]
    noun: bool  # says "lamp" itself, so that it is complete
    plural: bool
    every: bool
    both: bool
    other: bool

    @property
    def words(self) -> list[str]:
        return [*self.across, *self.along, *self.what]

    def filled(self, giver: _Item, with_what: bool) -> _Item:
        """The item with what it leaves out taken from a neighbour."""
        what = self.what or (giver.what if with_what else [])
        return replace(self, across=self.across or giver.across, along=self.along or giver.along, what=what)


def _item(words: Sequence[str], names: LampNames) -> _Item:
    item = _Item(" ".join(words), [], [], [], False, False, False, False, False)
    for word in words:
        one = singular(word)
        plain = one not in HARMLESS and word not in HARMLESS
        item.plural |= plain and one != word
        item.noun |= one in _SOFT
        item.every |= word in _ALL or word in _EVERYTHING
        item.both |= word == "both"
        item.other |= word in _OTHER or word == "others"
        if not plain or one in _SOFT or word in _ALL or word in _OTHER or word in _EVERYTHING:
            continue
        options = alternatives(one, names.vocabulary) or (one,)
        if _ACROSS.intersection(options):
            item.across.append(one)
        elif _ALONG.intersection(options):
            item.along.append(one)
        else:
            item.what.append(one)
    item.plural &= not item.every
    return item


def find_lamps(
    phrase: Sequence[str], names: LampNames, already: Collection[str] = (), lit: bool = False
) -> list[str]:
    """The lamps that a phrase like "left rear tail and stop" or "all other tail lamps" means.

    Args:
        phrase: Its tokens.
        already: Lamps that "other" leaves out.
        lit: They are said to be lit, which one phrase cannot say of both filaments of a glass.

    Raises:
        UnknownNameError: No lamp has all these words.
        SymptomError: The phrase names no lamp, or one of several without saying which.
    """
    said = clip(" ".join(phrase))
    if "or" in phrase:
        raise SymptomError(f"“{said}” leaves open which lamp it was", "name the lamp, or each lamp with “and”")
    groups: list[list[str]] = [[]]
    for token in phrase:
        if token in SEPARATORS:
            groups.append([])
        else:
            groups[-1].append(token)
    items = [_item(g, names) for g in groups if any(w not in HARMLESS for w in g)]
    if not items:
        raise SymptomError("it is not said which lamp", "put the lamp before its look: left rear tail dim")
    for i in range(len(items) - 2, -1, -1):  # "left and right tail lamps": what comes later completes
        if not items[i].noun and not items[i].every:
            items[i].plural |= items[i + 1].plural
    out: dict[str, None] = {}
    for i in range(len(items)):
        out.update(dict.fromkeys(_lamps_of(items, i, names, already, lit)))
    return list(out)


def _lamps_of(
    items: list[_Item], i: int, names: LampNames, already: Collection[str], lit: bool
) -> list[str]:
    item = items[i]
    readings = [item]  # ways to understand it, best first
    if i + 1 < len(items) and not item.noun and not item.what:
        readings.insert(0, item.filled(items[i + 1], True))
    elif i and not item.every:
        filled = item.filled(items[i - 1], not item.noun)
        if not items[i - 1].noun or (len(names.matching(item.words)) > 1 and not item.plural):
            readings.insert(0, filled)
    for reading in readings:
        if not reading.words:
            if item.every:
                return _chosen(item, list(names.words), names, already, lit)
            continue
        found = names.matching(reading.words)
        if found:
            items[i] = replace(reading, noun=item.noun)  # the next member may leave out the same words
            return _chosen(reading, found, names, already, lit)
    if not item.words:
        only = [lamp for lamp in names.words if item.noun and not name_words(lamp)]  # a lamp named “lamp”
        if len(only) == 1 or (item.noun and len(names.words) == 1):
            return only or list(names.words)
        raise SymptomError(f"“{clip(item.said)}” does not say which lamp",
                           "name it by its place and what it is: left rear tail")
    raise UnknownNameError(f"no lamp “{clip(item.said)}”", names.nearest_hint(item.said, item.words))


def _chosen(
    item: _Item, found: list[str], names: LampNames, already: Collection[str], lit: bool
) -> list[str]:
    if item.other:
        found = [lamp for lamp in found if lamp not in already]
    glasses: dict[str, str] = {}
    for lamp in found if lit and (item.every or item.plural) else ():
        first = glasses.setdefault(names.bulbs[lamp], lamp)
        if first != lamp:
            raise SymptomError(f"“{clip(item.said)}” takes in both {first} and {lamp}, which are in one glass",
                               "say which filament was lit")
    if item.both and len(found) > 2 and len({names.parts[lamp] for lamp in found}) > 2:
        raise SymptomError(f"“{clip(item.said)}” fits {len(found)} lamps: {listed(found, 'and')}",
                           "say which two, or “all” for every one of them")
    if len(found) > 1 and not (item.every or item.plural):
        options = [alternatives(w, names.vocabulary) for w in item.words]
        exact = names.exact.get(frozenset(o[0] for o in options if len(o) == 1), ())
        if len(exact) == 1 and all(len(o) == 1 for o in options):
            return list(exact)
        raise SymptomError(f"“{clip(item.said)}” could be {listed(found)}",
                           "say which one, or “all” for every one of them")
    return found
