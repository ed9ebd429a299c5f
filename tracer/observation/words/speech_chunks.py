"""What stands at one word of a spoken sentence: lamps, a look, a fuse, a load, a relay."""

from __future__ import annotations

from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS, QUANTITIES, TOWED
from tracer.observation.words.speech_colours import colour_at
from tracer.observation.words.speech_lexicon import HEARD, VEHICLE, Lexicon
from tracer.observation.words.speech_looks import OUT, Say, say_at
from tracer.observation.words.speech_who import Who
from tracer.observation.words.words import singular, word_set

CUT: Final = "|"
SEPARATORS: Final = frozenset({CUT, ",", "and", "but", "or", "then", "yet", "while", "except"})  # of parts
_AT_THE: Final = [["at", "the"], ["on", "the"], ["in", "the"]]  # "the one at the back"
_A_LAMP: Final = word_set("light lamp bulb lens")


class Chunk(Struct):
    """Lamps (`who`), a look (`say`), a fuse, load or relay (`thing`), or a parting ("")."""

    kind: str
    who: Who | None = None
    say: Say | None = None
    thing: str = ""
    either: bool = False  # joined with the one before by "or"
    joined: bool = False  # … by "and" or a comma
    scene: int | None = None  # the circumstance that stood here


def chunk_at(words: list[str], at: int, lexicon: Lexicon) -> tuple[Chunk | None, int]:
    """The chunk that begins at a word, and how many words it takes."""
    for size in range(min(6, len(words) - at), 0, -1):
        named = lexicon.spelled.get(tuple(words[at : at + size]))
        if named is None:
            continue
        kind, name = named
        if kind == "lamp" and all(_common(w, lexicon) for w in words[at : at + size]):
            continue  # told by its words as well as by its name
        if kind == "lamp" and not (at + size < len(words) and _more_of_a_name(words[at + size])):
            bulb = at + size < len(words) and words[at + size] in _A_LAMP  # "right marker light"
            return Chunk("who", Who([*words[at : at + size]], exact=(name,))), size + bulb
        beside = {*words[max(at - 1, 0) : at], *words[at + size : at + size + 1]}
        if kind == "fuse" and all(_common(w, lexicon) for w in words[at : at + size]) and "fuse" not in beside:
            continue  # a fuse marked "STOP" is not what "stop lamps" are
        if kind != "lamp":
            return Chunk(kind, thing=name), size
    if colour := lexicon.tell_tales and colour_at(words, at):
        return Chunk("who", Who([words[at]], functions=["tell-tale"], colour=colour)), 1
    if singular(words[at]) == "arrow" and lexicon.tell_tales:
        return Chunk("who", Who([words[at]], functions=["tell-tale", "indicator"], plural=words[at] == "arrows")), 1
    if singular(words[at]) in ("fuse", "relay"):
        return Chunk(singular(words[at])), 1
    if words[at] in ("stop", "stops", "stopped") and at and _lamps_stop(words, at):
        return Chunk("say", say=OUT), 1  # "the indicators stop when …": no stop lamp is meant
    say, size = say_at(words, at)
    of_load = at and {(words[at - 1],), (singular(words[at - 1]),)} & lexicon.last_of_loads
    if words[at] in ("stop", "stops") and say is None and of_load:
        return Chunk("say", say=OUT), 1  # "the blower stops": no lamp is meant
    if say is not None and not (words[at] == "dips" and at + 1 < len(words) and say_at(words, at + 1)[0]):
        return Chunk("say", say=say), size
    if singular(words[at]) in FUNCTIONS and words[at + 1 : at + 2] and words[at + 1] in HEARD and (
            (words[at + 1],) in lexicon.spelled):  # "reversing buzzer", which is called "reverse buzzer"
        kind, name = lexicon.spelled[(words[at + 1],)]
        return Chunk(kind, thing=name), 2
    if (singular(words[at]) in (*TOWED, *NOUNS) or words[at] in VEHICLE) and words[at + 1:at + 2] and (
            words[at + 1] in HEARD) and (words[at + 1],) in lexicon.spelled:  # "caravan fridge", "lights buzzer"
        kind, name = lexicon.spelled[(words[at + 1],)]
        return Chunk(kind, thing=name), 2
    if words[at] in lexicon.switched and singular(" ".join(words[at + 1 : at + 2])) in NOUNS:
        lamps = lexicon.lit_by(lexicon.switched[words[at]])
        side = words[at - 1] if at and words[at - 1] in ("left", "right") else ""
        lamps = tuple(n for n in lamps if lexicon.lamps.side[n] == side) or lamps
        return (Chunk("who", Who(words[at : at + 2], exact=lamps)), 2) if lamps else (None, 0)
    who = _who_word(words, at, lexicon)
    return (Chunk("who", who), 1) if who else (None, 0)


def _lamps_stop(words: list[str], at: int) -> bool:
    """Whether "stop" is what lamps do: nothing follows it, and several are named before it."""
    before, following = words[at - 1], words[at + 1] if at + 1 < len(words) else ""
    several = before != singular(before) and singular(before) in (*NOUNS, *FUNCTIONS)
    several |= words[at] == "stops" and before in ("indicator", "winker", "flasher", "blinker", "light", "lamp")
    return several and following in ("", ",", CUT, "and", "but", "then")


def _common(word: str, lexicon: Lexicon) -> bool:
    one = singular(word)
    return word in ("left", "right", "front", "rear") or one in FUNCTIONS or one in NOUNS or word == "lens"


def _of_a_name(word: str, lexicon: Lexicon) -> bool:
    """Whether a number after a word may number a lamp: "panel lamp 3", not "3 gone since Monday"."""
    one = singular(word)
    return one in FUNCTIONS or one in NOUNS or one in lexicon.names or word in ("and", "or", "number")


def _more_of_a_name(word: str) -> bool:
    one = singular(word)
    return one in FUNCTIONS or (one in NOUNS and one != word) or word in ("left", "right", "front", "rear")


def _who_word(words: list[str], at: int, lexicon: Lexicon) -> Who | None:
    """One word that tells which lamps."""
    word, one = words[at], singular(words[at])
    following = words[at + 1] if at + 1 < len(words) else ""
    before = words[max(at - 3, 0) : at]
    who = Who([word], one=following in ("one", "ones") or (before[:1] == ["one"] and before[1:] in _AT_THE))
    if word in ("left", "right"):
        who.sides = [word]
    elif at and (words[at - 1], word) in (("both", "sides"), ("either", "side"), ("each", "side")):
        who.sides = ["left", "right"]
    elif word in ("side", "sides") and (words[at - 1 : at] in (["left"], ["right"], ["other"], ["same"], ["one"])
                                        and singular(following) not in NOUNS):
        return None
    elif word in ("front", "rear", "back", "rears", "fronts", "tail") and (word != "tail" or following == "end"):
        who.ends = ["front" if word.startswith("front") else "rear"]
        who.noun = who.plural = word in ("rears", "fronts")
    elif word in ("other", "others", "opposite"):
        who.other = True
    elif word in ("that", "same"):
        who.that = True
    elif word in ("nowt", "none"):
        who.quantity = "none"
    elif word == "nothing" or (word == "everything"):
        who.quantity = word
    elif word in ("else", "rest"):
        who.quantity = "everything"
    elif word in QUANTITIES:
        who.quantity = word
    elif one in ("high", "full", "low") and singular(following) == "beam":
        who.functions = ["dipped" if one == "low" else "main"]
    elif one in FUNCTIONS and one not in ("full", "low") and not (
            one in ("turn", "direction") and singular(following) not in (*NOUNS, "indicator")) and not (
            one == "inside" and singular(following) not in NOUNS):
        who.functions = [FUNCTIONS[one]]
        who.plural = one != word
    elif one in lexicon.names and not (one.isdigit() and not (at and _of_a_name(words[at - 1], lexicon))):
        who.names = [one]
        who.plural = one != word
    elif one in NOUNS or word == "lens":
        who.noun, who.plural = True, one != word and word != "lens"
    else:
        found = lexicon.vehicle_word(word if word in VEHICLE else one)
        return replace(found, one=who.one, plural=following == "ones") if found is not None else None
    return who


def add_word(who: Who, more: Who) -> None:
    """Another word of the same lamps."""
    who.said += more.said
    who.sides += more.sides
    who.ends += more.ends
    who.functions += more.functions
    who.names += more.names
    who.noun |= more.noun
    who.plural |= more.plural
    who.other |= more.other
    who.that |= more.that
    who.one |= more.one
    who.own |= more.own
    who.colour = who.colour or more.colour
    if more.quantity and who.quantity not in ("nothing", "everything", "no", "none", "neither"):
        who.quantity = more.quantity
