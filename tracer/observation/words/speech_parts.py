"""A spoken sentence in its parts: who, how, and where one ends and the next begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from tracer.harness.model import Harness
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words import speech_circumstances as circumstances
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_lamps import FUNCTIONS, NOUNS, QUANTITIES, Lamps, Who
from tracer.observation.words.speech_looks import (
    BRIGHTER_THAN,
    DIMMER_THAN,
    MOVED,
    ON,
    OUT,
    PHRASES,
    SOMETIMES,
    UNDIMMED,
    Say,
    say_at,
)
from tracer.observation.words.spelling import put_right
from tracer.observation.words.symptom_data import fuses, loads, relays
from tracer.observation.words.words import singular, word_set

_CUT: Final = "|"
FILLERS: Final = word_set(
    "the a an of on at in its it my his her our their is are was were be been being they them there still just "
    "only even "
    "also then now very really quite rather a bit little slightly both's side sides hand end i've got have has "
    "had having i "
    "i'm to for from with when while by up do does did done get gets getting seems seem looks look appears go "
    "goes keep "
    "keeps well please mate so this these those one ones set again ever always completely totally either too as than "
    "you we he she customer says said car vehicle's vehicle truck van any more s thing things by mean means lot "
    "whole "
    "circuit what whats what's about problem fault faulty pair and together much fender fenders wing wings mudguard "
    "fully"
)
_ENGLISH: Final = word_set(
    "brake brakes braking foot pedal pressed press reverse reversing gear engine running ignition door open "
    "lights light lamps "
    "since towbar fitted bumps bumpy roads rough wet hot cold indicators indicate indicating hazards hazard "
    "sidelights "
    "headlights headlight headlamp headlamps sidelight sidelamp sidelamps taillight taillights select selecting "
    "selected engage "
    "engaged pressing touch touching hitting pushing stepping applying switch switched turning turned turn signal "
    "signalling "
    "trailer caravan sometimes intermittent intermittently occasionally after while minute minutes once straight "
    "change checked replaced swapped renewed tested tried cleaned difference joy new globe globes bulb bulbs "
    "holder holders contact contacts connection connections rev revs revved revving "
    "backs own itself away immediately because changed bought never always nearside offside driver passenger"
)
_MARKS: Final = {"§n": UNDIMMED, "§s": SOMETIMES, "§m": MOVED, "§d": DIMMER_THAN, "§b": BRIGHTER_THAN}
# Words that turn the meaning round: a sentence in which one of them is not understood is not understood.
_TURNS: Final = word_set("not won't never neither nor without nobody don't doesn't isn't aren't can't")
_HEARD: Final = word_set("buzzer horn bell siren blower heater fan pump wiper wipers compressor")
_FLASHER: Final = Pattern(r"\bhead (?:lights?|lamps?) flash(?:er|ers)\b|\bflash to pass\b")
_ONE_OF: Final = Pattern(
    r"\bone (?:of (?:the|my|his|her) )?(?:head|tail|stop|brake|side|rear|front|fog|revers\w+|indicator|winker|"
    r"flasher|light|lamp|plate|number)\w*")
_SIDED: Final = Pattern(r"\b(?:left|right|other)\b")
_FUSE_NAME: Final = Pattern(r"[fF] ?0*(\d+)")
_FUSE_NUMBER: Final = Pattern(r"\bfuse (\d+)\b")


@dataclass
class Chunk:
    """Lamps (`who`), a look (`say`), a fuse, load or relay (`thing`), or a parting ("")."""

    kind: str
    who: Who | None = None
    say: Say | None = None
    thing: str = ""
    either: bool = False  # joined with the one before by "or"
    joined: bool = False  # … by "and" or a comma


@dataclass
class Heard:
    """A sentence taken apart."""

    chunks: list[Chunk]
    around: circumstances.Circumstances
    slips: list[tuple[str, str]] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    inside: list[str] = field(default_factory=list)  # unknown words amid the name of a lamp
    kerb: list[str] = field(default_factory=list)  # what nearside, offside and the seats were taken for


class Lexicon:
    """Every word that means something for one harness."""

    def __init__(self, healthy: HealthyStates) -> None:
        self.healthy, self.harness = healthy, healthy.harness
        self.lamps = Lamps(healthy)
        self.fuses, self.loads, self.relays = (f(self.harness) for f in (fuses, loads, relays))

    @cached_property
    def spelled(self) -> Mapping[tuple[str, ...], tuple[str, str]]:
        """Words of a whole name → what kind of thing, and its name."""
        out: dict[tuple[str, ...], tuple[str, str]] = {}
        for kind, known in (("relay", self.relays), ("load", self.loads), ("fuse", self.fuses)):
            for name, also in known.items():
                for called in (name, *also, *(called_by_number(name) if kind == "fuse" else ())):
                    out[tuple(plain(called).split())] = kind, name
        for lamp in self.lamps.purposes:
            out[tuple(plain(lamp).split())] = "lamp", lamp
        for word in _HEARD:  # the one that there is
            named = [name for name in self.loads if name.split()[-1] == word]
            if len(named) == 1:
                out.setdefault((word,), ("load", named[0]))
        for name in self.loads:  # "fridge" is written down for its switch
            switch = self.harness.controls.get(f"{name} switch")
            for called in switch.also if switch else ():
                out.setdefault(tuple(plain(called).removesuffix(" switch").split()), ("load", name))
        return out

    @cached_property
    def switched(self) -> Mapping[str, str]:
        """Word by which a switch is called, and none of its lamps → that control: the "plough lamp switch" says which
        is the plough lamp."""
        known = {*FUNCTIONS, *NOUNS, *self.names, "left", "right", "front", "rear"} | FILLERS
        out: dict[str, str] = {}
        for name, control in self.harness.controls.items():
            for called in (name, *control.also):
                words = [w for w in plain(called).removesuffix(" switch").split() if singular(w) not in NOUNS]
                if len(words) == 1 and called.endswith((" lamp switch", " light switch", " lights switch")) and (
                        singular(words[0]) not in known):
                    out[words[0]] = name
        return out

    def lit_by(self, control: str) -> tuple[str, ...]:
        """The lamps that never light without a control."""
        own = {lamp: self.healthy.own(lamp) for lamp in self.lamps.purposes}
        return tuple(lamp for lamp, states in own.items() if states and all(
            control in self.healthy.moves(s) for s in states))

    @cached_property
    def last_of_loads(self) -> frozenset[tuple[str, ...]]:
        """Last words of the names of loads."""
        return frozenset(words[-1:] for words, (kind, _) in self.spelled.items() if kind == "load")

    @cached_property
    def names(self) -> frozenset[str]:
        """Words of the harness's names of lamps that are no common word here."""
        own = {singular(w) for w in self.lamps.names.vocabulary}
        return frozenset(own - set(FUNCTIONS) - NOUNS - {"left", "right", "front", "rear", "back"} - FILLERS)

    @cached_property
    def known(self) -> frozenset[str]:
        """Words that are taken as they stand."""
        words = {w for phrase in PHRASES for w in phrase} | {w for s in self.spelled for w in s}
        nouns = {*FUNCTIONS, *NOUNS, *self.names, *self.switched, *_HEARD}
        words |= nouns | {f"{n}s" for n in nouns} | QUANTITIES | FILLERS | _ENGLISH
        words |= {"left", "right", "front", "rear", "back", "other", "others"}
        for control in self.harness.controls.values():
            words |= {w for n in (control.name, *control.also, *control.positions) for w in plain(n).split()}
        return frozenset(words)

    @cached_property
    def means(self) -> Mapping[str, object]:
        """Word → what it means, where several words mean the same."""
        single: dict[str, object] = {p[0]: say for p, say in PHRASES.items() if len(p) == 1}
        for word, function in FUNCTIONS.items():
            single[word] = single[f"{word}s"] = function
        return single | dict.fromkeys(("light", "lamp"), "noun")


def hear(text: str, lexicon: Lexicon) -> Heard:
    """A sentence taken apart; words that mean nothing here are kept as unknown."""
    said = plain(text)
    words, slips = put_right(said.split(), lexicon.known, lexicon.means)
    if slips:
        words = plain(" ".join(words)).split()  # "headlight" is two words
    kerb: list[str] = []
    words = [_side(w, lexicon.harness, kerb) for w in words]
    left, around = circumstances.take_out(" ".join(words), lexicon.healthy)
    heard = Heard([], around, slips, kerb=kerb)
    heard.inside += [w for w in left.split() if w in _HEARD and not any(w in s for s in lexicon.spelled)]
    if not _SIDED.search(left) and (one := _ONE_OF.search(said)):
        heard.inside.append(one.group())  # which is to be asked
    if "one side" in left and not _SIDED.search(left):
        heard.inside.append("one side")
    heard.inside += [m.group() for m in _FLASHER.finditer(said)]
    heard.inside += [f"fuse {n[1]}" for n in _FUSE_NUMBER.finditer(said) if ("fuse", n[1]) not in lexicon.spelled]
    _chunks(left.split(), lexicon, heard)
    return heard


def called_by_number(fuse: str) -> list[str]:
    """How the fuse F2 is called by its number alone."""
    number = _FUSE_NAME.fullmatch(fuse)
    return [f"fuse {number[1]}"] if number else []


def _side(word: str, harness: Harness, kerb: list[str]) -> str:
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


def _chunks(words: list[str], lexicon: Lexicon, heard: Heard) -> None:
    at = 0
    last = ""  # the separator before the next chunk
    strange: list[str] = []  # unknown words since then
    while at < len(words):
        word = words[at]
        if word in (_CUT, ",", "and", "but", "or", "then", "yet", "while"):
            last = word
            strange = []
            heard.chunks.append(Chunk(word))
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
        chunk, length = _chunk_at(words, at, lexicon)
        if chunk is None:
            if word in _TURNS:
                heard.inside.append(word)
            if word not in FILLERS:
                heard.unknown.append(word)
                strange.append(word)
                before = words[at - 1] if at else ""
                # In the midst of "when I brake sideways", or of what says when: "on mains".
                if last == _CUT or before in ("on", "with", "in", "under", "when", "if", "during"):
                    heard.inside.append(word)
            at += 1
            continue
        chunk.either, chunk.joined = last == "or", last in ("and", ",")
        previous = heard.chunks[-1] if heard.chunks else None
        if strange and (chunk.kind in ("who", "fuse") or (previous is not None and previous.kind in ("who", "fuse"))):
            heard.inside += strange
        strange = []
        if chunk.who and previous and previous.who and not previous.who.exact and not chunk.who.exact:
            _add(previous.who, chunk.who)
        else:
            heard.chunks.append(chunk)
        last = ""
        at += length


def _chunk_at(words: list[str], at: int, lexicon: Lexicon) -> tuple[Chunk | None, int]:
    """The chunk that begins at a word, and how many words it takes."""
    for size in range(min(6, len(words) - at), 0, -1):
        named = lexicon.spelled.get(tuple(words[at : at + size]))
        if named is None:
            continue
        kind, name = named
        if kind == "lamp" and all(_common(w, lexicon) for w in words[at : at + size]):
            continue  # told by its words as well as by its name
        if kind == "lamp" and not (at + size < len(words) and _more_of_a_name(words[at + size])):
            return Chunk("who", Who([*words[at : at + size]], exact=(name,))), size
        if kind != "lamp":
            return Chunk(kind, thing=name), size
    if words[at] in ("fuse", "fuses"):
        return Chunk("fuse"), 1
    say, size = say_at(words, at)
    if words[at] == "stops" and say is None and at and tuple(words[at - 1 : at]) in lexicon.last_of_loads:
        return Chunk("say", say=OUT), 1  # "the blower stops": no lamp is meant
    if say is not None and not (words[at] == "dips" and at + 1 < len(words) and say_at(words, at + 1)[0]):
        return Chunk("say", say=say), size
    if singular(words[at]) in FUNCTIONS and words[at + 1 : at + 2] and words[at + 1] in _HEARD and (
            (words[at + 1],) in lexicon.spelled):  # "reversing buzzer", which is called "reverse buzzer"
        kind, name = lexicon.spelled[(words[at + 1],)]
        return Chunk(kind, thing=name), 2
    if words[at] in lexicon.switched and singular(" ".join(words[at + 1 : at + 2])) in NOUNS:
        lamps = lexicon.lit_by(lexicon.switched[words[at]])
        return (Chunk("who", Who(words[at : at + 2], exact=lamps)), 2) if lamps else (None, 0)
    who = _who_word(words, at, lexicon)
    return (Chunk("who", who), 1) if who else (None, 0)


def _common(word: str, lexicon: Lexicon) -> bool:
    one = singular(word)
    return word in ("left", "right", "front", "rear") or one in FUNCTIONS or one in NOUNS or word == "lens"


def _more_of_a_name(word: str) -> bool:
    one = singular(word)
    return one in FUNCTIONS or (one in NOUNS and one != word) or word in ("left", "right", "front", "rear")


def _who_word(words: list[str], at: int, lexicon: Lexicon) -> Who | None:
    """One word that tells which lamps."""
    word, one = words[at], singular(words[at])
    following = words[at + 1] if at + 1 < len(words) else ""
    who = Who([word])
    if word in ("left", "right"):
        who.sides = [word]
    elif at and (words[at - 1], word) in (("both", "sides"), ("either", "side"), ("each", "side")):
        who.sides = ["left", "right"]
    elif word in ("side", "sides") and (words[at - 1 : at] in (["left"], ["right"], ["other"], ["same"], ["one"])
                                        and singular(following) not in NOUNS):
        return None
    elif word in ("front", "rear", "back", "rears", "fronts", "tail") and (word != "tail" or following == "end"):
        who.ends = ["front" if word.startswith("front") else "rear"]
        who.noun = word in ("rears", "fronts")
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
    elif one in FUNCTIONS and one not in ("full", "low", "inside") and not (
            one in ("turn", "direction") and singular(following) not in (*NOUNS, "indicator")):
        who.functions = [FUNCTIONS[one]]
        who.plural = one != word
    elif one in lexicon.names:
        who.names = [one]
        who.plural = one != word
    elif one in NOUNS or word == "lens":
        who.noun, who.plural = True, one != word and word != "lens"
    elif one in ("trailer", "caravan") and {"trailer", "caravan"} & lexicon.names:
        who.names = sorted({"trailer", "caravan"} & lexicon.names)
    else:
        return None
    return who


def _add(who: Who, more: Who) -> None:
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
    if more.quantity and who.quantity not in ("nothing", "everything", "no", "none", "neither"):
        who.quantity = more.quantity
