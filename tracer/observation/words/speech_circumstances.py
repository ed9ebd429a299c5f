"""When and how it happens, as people say it: "when I brake", "with the lights on", "in reverse", "over bumps"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from tracer.errors import TracerError
from tracer.harness.devices import Dimmer
from tracer.harness.model import Harness
from tracer.observation.evidence import FuseTime
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_beside import BESIDE
from tracer.observation.words.states import parse_state
from tracer.observation.words.story_said import SAID_DONE
from tracer.observation.words.words import word_set

CUT: Final = " | "  # stands where a circumstance was taken out: it parts clauses
# "§s" and "§m" stay in the sentence for "sometimes" and for "as it is moved": they belong to one clause.

_THE = r"(?:the |my |his |her |its |your )?"
_PRE = (
    r"(?:but |and |only )*(?:as soon as|whenever|every time|each time|any time|the moment|when|while|whilst|if|once|"
    r"after|with|under|during|by|on|in)"
)
_PERSON = (
    r"(?:(?:i'm|you're|we're|they're|he's|she's|it's|i|you|we|they|he|she|it|someone|somebody|anyone|anybody|the "
    r"driver|"
    r"the customer|my wife|my husband|my mate)(?: |$))?(?:am |are |is |have |has |had |then )?"
)
_WHEN = rf"(?:{_PRE} {_PERSON})"
_LAMPS = r"(?:lights?|lamps?|beams?)"
_SET = (
    r"(?: is| are)?(?: on| lit| switched on| turned on| going| flashing| working| go on| goes on| come on| comes on)?"
)
_IND = r"(?:indicators?|winkers?|flashers?|blinkers?|trafficators?|turn signals?|turn lights?|direction indicators?)"

# What is done, in the order in which it is looked for. A position that is reached by lighting lamps goes by what they
# are for, so that it needs no name of a control.
_TABLE: Final[tuple[tuple[str, str], ...]] = (
    *(("since", said) for said in SAID_DONE),
    ("side", rf"{_WHEN}{_THE}(?:side|parking|position|tail) {_LAMPS} (?:is|are) (?:on|lit)"),
    ("head", rf"{_WHEN}{_THE}head {_LAMPS} (?:is|are) (?:on|lit)"),
    ("main", rf"{_WHEN}{_THE}(?:head )?(?:{_LAMPS}|they|it) (?:is |are )?on (?:the )?(?:main|full|high)"
     rf"(?: {_LAMPS})?"),
    ("dipped", rf"{_WHEN}{_THE}(?:head )?(?:{_LAMPS}|they|it) (?:is |are )?on (?:the )?(?:dip|dipped|low)"
     rf"(?: {_LAMPS})?"),
    ("lights", rf"{_WHEN}{_THE}lights are (?:on|lit)"),
    ("brake off", r"(?:(?:even )?with |when )?(?:the |my )?(?:(?:brake )?pedal (?:is )?(?:up|released|not pressed|"
                  r"let go)|foot (?:is )?off(?: the| my)?(?: brakes?)?(?: pedal)?)"),
    ("moved", rf"{_WHEN}(?:go over|hit|hitting|drive over|cross) (?:the |a |some |any )?(?:bumps?|pot ?holes?|speed "
              r"bumps?|cobbles|kerbs?|rough roads?|cattle grids?)"),
    ("brake", rf"(?:with|when|whenever|along with) {_THE}(?:brake|stop) {_LAMPS}(?: on| come on| light)?"
              r"(?= *(?:,|\||$))"),
    ("moved", rf"(?:{_PRE} {_PERSON}(?:tap|wiggle|slam|thump|hit|knock|bang|shake|move|touch|kick|waggle|jiggle|push|"
              r"tapp?ing|wiggling|slamming|thumping|hitting|knocking|banging|shaking|moving|touching|jiggling|tapped|"
              r"wiggled|slammed|thumped|knocked|shaken|moved|touched|jiggled)"
              r"(?! (?:the |my )?(?:(?:foot ?)?brake|horn|bell|hooter|button|pedal|switch))"
              r"(?: (?:on |at )?(?:it|them|that|the (?:\w+ )?(?:boot|lid|door|bonnet|tailgate|lamp|light|unit|lens|"
              r"cluster|wire|wires|wiring|loom|plug|connector|holder|bumper|wing|bulb)))?)"),
    ("moved", rf"{_PRE} (?:the |my )?(?:boot|lid|door|bonnet|tailgate|lamp|light|unit|lens|cluster|wire|wires|"
              r"wiring|loom|plug|connector|holder|bumper|wing|bulb)(?: lid)? (?:is |are |gets |being )(?:tapped|"
              r"wiggled|slammed|thumped|hit|knocked|banged|shaken|moved|touched|kicked|jiggled|pushed|shut|"
              r"closed)(?: (?:shut|hard))?"),
    ("moved", rf"{_PRE} {_PERSON}(?:shut|shutting|close|closing|slam|slamming) (?:the |a |my )?(?:\w+ )?(?:door|"
              r"boot|lid|bonnet|tailgate|flap|ramp)s?(?= |$)"),
    ("moved", rf"{_PRE} {_PERSON}(?:driving|moving|rolling|going|drive|travelling|on the move)(?: along|"
              r" down the road| on the road| about)?(?=,| ,|$)"),
    ("moved", r"(?:only |when |while |going |driving |i |it |go |goes )*(?:over|on|across|hit|hits|hitting) "
              r"(?:the |a |"
              r"some )?(?:bumps?|bumpy roads?|rough roads?|pot ?holes?|speed bumps?|cobbles|cattle grids?)"),
    ("brake", rf"(?<!foot ){_WHEN}brak(?:e|es|ed|ing)\b(?: pressed| applied| depressed| pushed)?(?! {_LAMPS})"
              r"(?! pedal| switch| fluid| is| are)"),
    ("brake", rf"{_WHEN}(?:press|pressing|touch|touching|hit|hitting|push|pushing|step on|stepping on|stand on|"
              rf"stamp on|stamping on|apply|applying|put|use|using|tread on|dab|pump|hold|holding|"
              r"put (?:my |your |his |the |a )?foot on|"
              rf"have my foot on) {_THE}"
              r"(?:(?:foot ?)?brakes?(?: pedal)?|pedal)(?: on| down)?(?= |$)"),
    ("brake", rf"(?:{_PRE} )?{_THE}foot (?:is )?on {_THE}brakes?(?: pedal)?"),
    ("brake", rf"(?:{_PRE} )?{_THE}(?:foot ?)?brakes?(?: pedal)?(?: is| are)?(?: on(?! the| both| left| right)| "
              rf"pressed| "
              r"applied| down| depressed| held)"),
    ("brake", rf"{_PRE} {_THE}(?:foot ?)?brakes?(?= |$)(?! {_LAMPS}| pedal| switch| fluid)"),
    ("brake", r"(?:under|on|during|while|whilst|when) (?:heavy |hard )?braking"),
    ("reverse", rf"{_WHEN}(?:put|putting|select|selecting|selected|engage|engaging|go|going|stick|shift|get|pull|"
                rf"drop|"
                rf"use|using|find) ?(?:it |her |{_THE}(?:car|van|truck|tractor|bike|lorry|gear ?lever|lever|gear "
                rf"?box|"
                rf"box) )?(?:in |into |to )?{_THE}revers(?:e|ing)(?: gear)?(?: in| is in| engaged| selected)?"
                rf"(?! {_LAMPS})"),
    ("reverse", rf"{_WHEN}{_THE}revers(?:e|ing)(?: gear)?(?: is)?(?: in| engaged| selected| on)?(?! {_LAMPS})"),
    ("reverse", rf"{_WHEN}(?:i )?(?:backs?|backing) up"),
    ("hazard", rf"(?:{_WHEN}(?:put |switch |turn |use |using )?(?:on )?{_THE}|{_THE})(?:hazards?(?: warning)?(?: "
               rf"{_LAMPS})?|four ?ways?)(?: is| are)? (?:on|going|flashing|switched on)(?! and off)"),
    ("hazard", rf"{_WHEN}(?:put |switch |turn |use |using )?(?:on )?{_THE}(?:hazards?(?: warning)?(?: {_LAMPS})?|"
               r"four ?ways?)"),
    ("left", rf"{_WHEN}(?:indicate|indicating|signal|signalling|turn|turning|flash|flashing)(?: to)? (?:the )?left"),
    ("right", rf"{_WHEN}(?:indicate|indicating|signal|signalling|turn|turning|flash|flashing)(?: to)? (?:the "
              rf")?right"),
    ("left", r"(?:indicating|signalling|turning) (?:to the )?left"),
    ("right", r"(?:indicating|signalling|turning) (?:to the )?right"),
    ("left", rf"{_WHEN}(?:put |switch |use )?{_THE}(?:left {_IND}|{_IND} (?:on the )?left){_SET}"),
    ("right", rf"{_WHEN}(?:put |switch |use )?{_THE}(?:right {_IND}|{_IND} (?:on the )?right){_SET}"),
    ("lights", rf"{_PRE} (?:i|you|we|they|he|she|someone|somebody) turn (?:{_THE}{_LAMPS} on|on {_THE}{_LAMPS})"),
    ("lights", rf"{_PRE} turning (?:{_THE}{_LAMPS} on|on {_THE}{_LAMPS})"),
    ("both ways", rf"{_WHEN}(?:indicate|indicating|signal|signalling)(?= |$)"),
    ("both ways", rf"(?:in time )?{_WHEN}(?:put |switch |use |using )?(?:on )?{_THE}{_IND}{_SET}(?! stalk| lever| "
                  rf"switch)"),
    ("main", rf"{_WHEN}(?:i )?(?:put |switch (?:to |on )?|go (?:to |on )?|flash )?(?:to )?{_THE}(?:main|full|high)"
             rf"(?: {_LAMPS})?{_SET}(?= |$)"),
    ("dipped", rf"{_WHEN}(?:i )?(?:put |switch (?:to |on )?|go (?:to |on )?)?(?:to )?{_THE}(?:dip|dipped|low)"
               rf"(?: {_LAMPS})?{_SET}(?= |$)"),
    ("fog", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}(?:rear )?fogs?(?: {_LAMPS})?{_SET}"),
    ("side", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}(?:side|parking|position|tail)s?(?: {_LAMPS}){_SET}"),
    ("side", rf"{_WHEN}{_THE}sides(?: on)?(?= |$)"),
    ("head", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}head(?: {_LAMPS}){_SET}"),
    ("lights off", rf"{_WHEN}(?:all )?{_THE}{_LAMPS}(?: is| are)? (?:off|out|switched off)"),
    ("lights off", rf"(?:without|with no) {_THE}{_LAMPS}(?: on)?"),
    ("lights", rf"{_WHEN}(?:put|switch|turn)(?:ing)? (?:on )?{_THE}{_LAMPS}(?: on)?"),
    ("lights", rf"{_WHEN}{_THE}lights{_SET}"),
    ("lights", r"(?:(?<=\A)|(?<=[,|] ))(?:the )?lights (?:are )?on(?= *(?:,|\||$))"),
    ("running", rf"(?:{_WHEN}|{_PRE} )?{_THE}engine(?: is)? (?:running|on|ticking over|idling|going|started|revved|"
                r"revving)"),
    ("running", r"(?:at|on) (?:idle|tickover|tick over)|(?:(?:when|while|whilst) )?"
                r"(?:(?:it|she|engine|the engine)(?:'s| is) )?(?:ticking over|idling)"),
    ("running", rf"{_WHEN}rev(?:s|ving|ved)?(?: (?:it|her|{_THE}engine))?(?: up)?(?= |$)"),
    ("running", r"(?:at|with) (?:high |low |the )?revs|as (?:i |you |we )?rev(?: (?:it|her|the engine))?(?: up)?"),
    ("stopped", rf"(?:{_WHEN}|{_PRE} )?{_THE}engine(?: is)? (?:off|stopped|not running|switched off)"),
    ("stopped", r"(?:with no|without the) engine(?: running)?"),
    ("ignition off", rf"(?:{_WHEN}|{_PRE} )?{_THE}(?:ignition|key)(?: is)? (?:off|out|switched off)"),
    ("ignition off", r"without (?:the )?(?:ignition|key)"),
    ("ignition on", rf"{_WHEN}(?:switch|turn|put)(?:ing)? (?:on )?{_THE}(?:ignition|key)(?: on)?(?= |$)"),
    ("ignition on", rf"(?:{_WHEN}|{_PRE} )?{_THE}(?:ignition|key)(?: is)? (?:on|switched on|turned on)"),
    ("door shut", rf"(?:{_WHEN}|{_PRE} )(?:both |all )?{_THE}(?:left |right |front |rear |any )*doors?(?: is| are)? "
                  r"(?:shut|closed)"),
    ("door", rf"(?:{_WHEN}|{_PRE} )(?:open |opening )?{_THE}(?:left |right |front |rear |driver's |any |a )*doors?"
             r"(?: is| are)?(?: open| opened)?(?= |$)"),
    ("door", r"(?:left|right|front|rear|any|the) doors?(?: open)?(?= *(?:,|\||$))"),
    ("trailer", rf"{_WHEN}towing"),
    ("lights", r"(?:(?<=\| )|(?<=\|  ))and (?:the |my )?lights (?:are )?(?:on|lit)(?= |$)"),
    ("trailer", rf"(?:only )?(?:{_WHEN}|{_PRE} ){_THE}(?:trailer|caravan)(?: is)?(?: on| connected| plugged in| "
                r"coupled| hooked(?: up)?| hitched(?: up)?)"),
    ("trailer off", rf"(?:{_WHEN}|{_PRE} ){_THE}(?:trailer|caravan)(?: is)? (?:off|disconnected|un(?:plugged|hooked|"
                    r"hitched|coupled))|without (?:the |my |a )?(?:trailer|caravan)(?: on)?"),
    ("dimmer", r"(?:won't|will not|do not|does not|can not|did not|never) (?:be )?(?:dims?|dimmed|turn(?:ed)? down|"
               r"dim down)(?= *(?:,|\||$))"),
    *BESIDE,
)
# A pattern is tried where one of these stands in the sentence: compiling all of them takes a fifth of a second.
_TRIGGERS: Final[Mapping[str, tuple[str, ...]]] = {
    "since": ("since", "after", "checked", "changed", "replaced", "swapped", "renewed", "tested", "tried", "fitted",
              "cleaned", "new", "bulb", "globe", "holder", "trailer", "caravan", "contact", "connection", "no ",
              "still", "same", "fault", "problem", "trouble", "moved", "followed"),
    "dimmer": ("dim", "down"), "brake": ("brak", "stop", "pedal"), "reverse": ("revers", "back"),
    "hazard": ("hazard", "four"),
    "left": ("left",), "right": ("right",),
    "both ways": ("indic", "wink", "flash", "blink", "signal", "traffic", "turn"),
    "main": ("main", "full", "high"), "dipped": ("dip", "low"), "fog": ("fog",),
    "side": ("side", "park", "posit", "tail"),
    "head": ("head",), "lights off": ("light", "lamp"), "lights": ("light", "lamp", "beam"),
    "running": ("engine", "idle", "tick", "rev"), "stopped": ("engine",), "ignition off": ("ignition", "key"),
    "ignition on": ("ignition", "key"), "door": ("door",), "door shut": ("door",), "brake off": ("pedal", "foot"),
    "trailer": ("trailer", "caravan", "towing"), "trailer off": ("trailer", "caravan"),
    "weather": (
        "wet", "hot", "cold", "damp", "rain", "warm", "freez", "heat"), "moved": (
        "tap", "wiggl", "slam", "thump", "hit", "knock", "bang", "shak", "mov", "touch", "kick", "waggl", "jiggl",
        "push",
        "shut", "clos", "driv", "going", "roll", "travel",
        "bump", "road", "hole", "cobble", "grid"), "after a while": ("after",),
    "always": ("time", "perm", "const", "24"),
    "at once": ("once", "away", "immed", "instant"),
}
_PATTERNS: Final = tuple((kind, Pattern(rf"(?:(?<=\s)|\A){p}(?=\s|\Z)")) for kind, p in _TABLE)
_REST: Final = Pattern(r"(?:(?<=\s)|\A)(?:but |and |only )*(?:when(?:ever)?|while|whilst|with|if|as soon as) ([^,|"
                       r"]+?)"
                       r"(?=,|\||$)")
_MARKS: Final = {"sometimes": " §s ", "weather": " §s ", "moved": " §m ", "dimmer": " §n "}
_FUSES: Final = Pattern(r"\b(?:fuses?|blow|blows|blowing|blew|f\d+)\b")
_ENDS: Final = (" switch", " button", " push")
_DOES: Final = word_set("sound ring blow honk hoot beep push "
                        "i you he she use uses using put puts switch turn press pull is are on the my a")
_PURPOSES: Final = {
    "brake": ("stop",), "reverse": ("reversing",), "left": ("indicator left",), "right": ("indicator right",),
    "main": ("main",), "dipped": ("dipped",), "head": ("dipped",), "fog": ("fog",), "side": ("side", "number plate"),
    "lights": ("side", "number plate", "dipped"),
}
_POSITIONS: Final = {
    "hazard": ("hazards on", "hazard switch on"), "door": ("door open",), "ignition off": ("ignition off",),
    "door shut": ("door closed", "door shut"),
    "ignition on": ("ignition on",), "lights off": ("lamp switch off", "lights off", "side lights off"),
    "reverse": ("gear reverse",), "brake": ("brake pedal pressed", "brake pressed"),
    "brake off": ("brake pedal released", "brake released"),
}


@dataclass
class Circumstances:
    """When and how, taken out of a sentence.

    Attributes:
        moves: One set of control → position for each state spoken of; one empty set if none is.
        told: Controls whose position was said, the position of rest too.
        running: Whether the engine runs; None where that was not said.
        assumed: Positions that were taken to be meant, in words.
        unused: Words that tell nothing here, as they were said.
        since: What was done to the vehicle, and since when it is so, as it was said.
        failed: Words of a circumstance that no control of this vehicle has.
    """

    moves: list[dict[str, str]] = field(default_factory=lambda: [{}])
    told: set[str] = field(default_factory=set)
    running: bool | None = None
    when: FuseTime = ""
    always: bool = False
    hazard: bool = False
    both_ways: bool = False  # "with the indicators": to the left and to the right
    at_rest: set[str] = field(default_factory=set)  # controls said to stand at rest
    only: set[str] = field(default_factory=set)  # controls of "only when …"
    assumed: list[str] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)
    since: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    @property
    def trivial(self) -> bool:
        """Whether no control but ignition and engine was spoken of."""
        return not any(c for moves in self.moves for c in moves if "ignition" not in c) and not (
            {c for c in self.told if "ignition" not in c})


def take_out(text: str, healthy: HealthyStates) -> tuple[str, Circumstances]:
    """A sentence (in small letters, words parted by one space) without its circumstances, and these."""
    found = Circumstances()
    for kind, pattern in _PATTERNS:
        if kind in _TRIGGERS and not any(t in text for t in _TRIGGERS[kind]):
            continue
        while match := pattern.search(text):
            said = match.group().strip()
            before = [dict(m) for m in found.moves]
            _note(kind, said, found, healthy)
            if "only" in said.split() and kind not in (
                    "moved", "weather", "sometimes", "after a while", "trailer"):
                _only(said, before, found)
            mark = _MARKS.get(kind, CUT)
            if kind == "after a while" and not _FUSES.search(text):
                mark = " §s "  # what goes out as it warms up is sound at first
            text = text[: match.start()] + mark + text[match.end() :]
    while match := _REST.search(text):
        text = text[: match.start()] + CUT + _by_name(match, found, healthy) + " " + text[match.end() :]
    if any(c in moves for moves in found.moves for c in found.at_rest):
        found.failed.append("on and off")  # at once
    return text, found


def _by_name(match: re.Match[str], found: Circumstances, healthy: HealthyStates) -> str:
    """Takes a circumstance told by the harness's own names; gives back what words of it belong to what follows."""
    words = _with_position(match.group(1).split(), healthy.harness)
    for count in range(len(words), 0, -1):
        try:
            state = parse_state(" ".join(words[:count]), healthy.harness)
        except TracerError:
            continue
        moves = {c: state[c] for c in healthy.moves(state)}
        if "only" in match.group().split():
            found.only |= set(moves)
            if not moves:
                break
        found.moves = [m | moves for m in found.moves]
        found.told |= set(moves) | _named(words[:count], healthy.harness)
        found.running = True if state.engine_running else found.running
        return " ".join(words[count:])
    found.failed.append(match.group().strip())
    return ""


def _with_position(words: list[str], harness: Harness) -> list[str]:
    """"With the front brake", "when I use the wipers": of a control with two positions the one that it does not stand
    in is meant."""
    plain = [w for w in words if w not in _DOES]
    for name, control in harness.controls.items():
        called = {n.casefold() for n in (name, *control.also)}
        called |= {bare for n in called for end in _ENDS if (bare := n.removesuffix(end)) != n}
        called |= {f"{n}s" for n in called}
        if " ".join(plain) in called and len(control.positions) == 2:
            return [*name.casefold().split(), next(p for p in control.positions if p != control.assumed)]
    return words


def _only(said: str, before: list[dict[str, str]], found: Circumstances) -> None:
    """Notes the controls of "only when …"; one that moves none tells nothing that could be tried."""
    moved = {c for new, old in zip(found.moves, before, strict=False) for c in new if new[c] != old.get(c)}
    found.only |= moved
    if not moved:
        found.failed.append(said)


def _named(words: list[str], harness: Harness) -> set[str]:
    return {n for n, c in harness.controls.items() if {*n.split()} & {*words} or any(a in words for a in c.also)}


def _note(kind: str, said: str, found: Circumstances, healthy: HealthyStates) -> None:
    match kind:
        case "sometimes" | "moved" | "own":
            pass  # the mark left in the sentence says of what
        case "weather" | "place":
            found.unused.append(said)
        case "since":
            found.since.append(said)
        case "at once" | "after a while":
            found.when = "at once" if kind == "at once" else "after a while"
        case "always":
            found.always = True
        case "running" | "stopped":
            if found.running not in (None, kind == "running"):
                found.failed.append(said)
            found.running = kind == "running"
        case "trailer" | "trailer off":
            towed = any({"trailer", "caravan"} & {*name.split()} for name in healthy.purposes)
            if (not towed and kind == "trailer") or "only" in said.split():
                found.unused.append(said)
            elif kind == "trailer off":
                found.failed.append(said)
        case _:
            _moved(kind, said, found, healthy)
    if said.startswith(("as soon as", "the moment")):
        found.when = "at once"


def _moved(kind: str, said: str, found: Circumstances, healthy: HealthyStates) -> None:
    """A control that was moved."""
    options = _by_own_name(kind, said, healthy.harness) or list(_moves(kind, healthy))
    if not options:
        found.failed.append(said)
        return
    found.hazard |= kind == "hazard"
    before = found.moves
    found.moves = [{**before, **moves} for before in found.moves for moves in options]
    positions = _POSITIONS.get(kind, ())
    if kind in ("left", "right") and any(len({m[c] for m in (old, new) if c in m}) > 1
                                         for old in before for new in options for c in new):
        found.failed.append(said)
    if kind == "lights off":
        found.at_rest |= {c for c in healthy.harness.controls if c in ("lamp switch", "side lights")}
    for moves in options:
        found.told |= set(moves)
    if kind in ("lights off", "ignition on") and positions:
        named = ("ignition",) if kind == "ignition on" else ("lamp switch", "side lights")
        found.told |= {c for c in healthy.harness.controls if c in named}
    if kind == "lights":
        found.assumed.append("side lights, of “lights on”")
    if kind == "both ways":
        found.both_ways = True
        found.assumed.append("indicators to the left and to the right")
    if kind == "head":
        found.assumed.append("dipped beam")
    if kind == "door" and {"left", "right"} & {*said.split()}:
        found.unused += [w for w in said.split() if w in ("left", "right")]


def _by_own_name(kind: str, said: str, harness: Harness) -> list[dict[str, str]]:
    """The brake that was named, where there are several: "the foot brake", "the front brake"."""
    found = [
        {name: next(p for p in c.positions if p != c.assumed)} for name, c in harness.controls.items()
        if kind == "brake" and len(c.positions) == 2 and "brake" in name
        and any(f" {n} " in f" {said} " for n in (name, *c.also) if " " in n)
    ]
    return found if len(found) == 1 else []


def _moves(kind: str, healthy: HealthyStates) -> Iterator[dict[str, str]]:
    """The controls that a circumstance moves; several where it may be either of two positions."""
    if kind == "both ways":
        yield from (m for side in ("left", "right") for m in _moves(side, healthy))
        return
    if kind == "dimmer":
        yield from ({d.control: max(d.steps, key=lambda s: s[1])[0]} for d in healthy.harness.devices()
                    if isinstance(d, Dimmer))
        return
    state = healthy.of_purpose(_PURPOSES.get(kind, ()))
    if state is not None:
        yield healthy.moves(state)
        return
    for words in _POSITIONS.get(kind, ()):
        try:
            yield healthy.moves(parse_state(words, healthy.harness))
        except TracerError:
            continue
        return
