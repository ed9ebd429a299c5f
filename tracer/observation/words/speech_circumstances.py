"""When and how it happens, as people say it: "when I brake", "with the lights on", "in reverse", "over bumps"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from msgspec import Struct, field

from tracer.errors import TracerError
from tracer.harness.devices import Dimmer
from tracer.harness.model import Harness
from tracer.observation.evidence import FuseTime
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.circumstance_table import TABLE, TRIGGERS
from tracer.observation.words.circumstances import A_SIDE
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.states import parse_state
from tracer.observation.words.words import word_set

BOTH_WAYS: Final = "indicators to the left and to the right"  # taken of "with the indicators"
_FIRST: Final = 0xE000  # of the characters that stand for circumstances
_UNKNOWN: Final = "? "  # before a circumstance that no control has
_NO_STATE: Final = frozenset({"sometimes", "moved", "own", "weather", "place", "spot", "since", "at once", "always",
                              "after a while", "trailer", "trailer off"})
# "§s" and "§m" stay in the sentence for "sometimes" and for "as it is moved": they belong to one clause.

_PATTERNS: Final = tuple((kind, Pattern(rf"(?:(?<=\s)|\A){p}(?=\s|\Z)")) for kind, p in TABLE)
_REST: Final = Pattern(r"(?:(?<=\s)|\A)(?:but |and |only )*(?:when(?:ever)?|while|whilst|with|if|as soon as) ([^,|"
                       r"]+?)"
                       r"(?=,|\||$)")
_MARKS: Final = {"sometimes": " §s ", "weather": " §s ", "moved": " §m ", "dimmer": " §n ", "spot": " "}
_FUSES: Final = Pattern(r"\b(?:fuses?|blow|blows|blowing|blew|f\d+)\b")
_ENDS: Final = (" switch", " button", " push")
_BARE: Final = ("lever", "pedal")  # of the only one
_HANDS: Final = ("front", "hand", "rear", "foot")
_ALL_OFF: Final = Pattern(r"(?:everything|all) (?:is |else )?off\b(?![ -]?side)")
_A_SIDE: Final = Pattern(A_SIDE)
_DOES: Final = word_set("sound ring blow honk hoot beep push "
                        "i you he she use uses using put puts switch turn press pull is are on the my a "
                        "pulled pushed operated used thrown flicked running runs going working cuts kicks comes "
                        "goes in")
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


class Circumstances(Struct):
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
    ignition: str = ""  # "ignition on" or "… off", as it was said
    lights: str = ""  # "side" or "head", as it was said
    when: FuseTime = ""
    always: bool = False
    hazard: bool = False
    both_ways: bool = False  # "with the indicators": to the left and to the right
    doors: list[str] = field(default_factory=list)  # on which sides
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


class Scene(Struct, frozen=True):
    """One circumstance as it was said, which tells which controls were moved: `kind` of the table, or "" where it was
    told by the harness's own names."""

    kind: str
    said: str

    @property
    def moves(self) -> bool:
        """Whether it tells of a state of the vehicle, and not of how often or how soon."""
        return self.kind not in _NO_STATE


def take_out(text: str, healthy: HealthyStates) -> tuple[str, list[Scene]]:
    """A sentence (in small letters, words parted by one space) with `CUT` and a number where each circumstance stood,
    and these in the order of their numbers."""
    scenes: list[Scene] = []
    for kind, pattern in _PATTERNS:
        if kind in TRIGGERS and not any(t in text for t in TRIGGERS[kind]):
            continue
        while match := pattern.search(text):
            scenes.append(Scene(kind, match.group().strip()))
            mark = _MARKS.get(kind, numbered(len(scenes) - 1))
            if kind == "after a while" and not _FUSES.search(text):
                mark = " §s "  # what goes out as it warms up is sound at first
            text = text[: match.start()] + mark + text[match.end() :]
    while match := _REST.search(text):
        said, rest = _by_name(match, healthy)
        scenes.append(Scene("", said))
        text = text[: match.start()] + numbered(len(scenes) - 1) + rest + " " + text[match.end() :]
    return text, scenes


def numbered(number: int) -> str:
    """What stands for a circumstance: no letter and no digit, so that nothing takes it for a word."""
    return f" |{chr(_FIRST + number)} "


def number_of(word: str) -> int | None:
    """Which circumstance a word stands for; None if it is another."""
    return ord(word[1]) - _FIRST if len(word) == 2 and word[0] == "|" and ord(word[1]) >= _FIRST else None


def told_by(scenes: Sequence[Scene], healthy: HealthyStates) -> Circumstances:
    """What several circumstances come to, if they are told at once."""
    found = Circumstances()
    for scene in scenes:
        before = [dict(m) for m in found.moves]
        if not scene.kind:
            _note_named(scene.said, found, healthy)
            continue
        _note(scene.kind, scene.said, found, healthy)
        if "only" in scene.said.split() and scene.kind not in (
                "moved", "weather", "sometimes", "after a while", "trailer"):
            _only(scene.said, before, found)
    if any(c in moves for moves in found.moves for c in found.at_rest):
        found.failed.append("on and off")  # at once
    return found


def _by_name(match: re.Match[str], healthy: HealthyStates) -> tuple[str, str]:
    """A circumstance told by the harness's own names, and what words of it belong to what follows."""
    words = _with_position(match.group(1).split(), healthy.harness)
    if _A_SIDE.fullmatch(match.group(1).strip()):
        words = []
    only = "only " * ("only" in match.group().split())
    for count in range(len(words), 0, -1):
        try:
            state = parse_state(" ".join(words[:count]), healthy.harness)
        except TracerError:
            continue
        if only and not healthy.moves(state):
            break
        return only + " ".join(words[:count]), " ".join(words[count:])
    return f"{_UNKNOWN}{match.group().strip()}", ""


def _note_named(said: str, found: Circumstances, healthy: HealthyStates) -> None:
    if said.startswith(_UNKNOWN):
        found.failed.append(said.removeprefix(_UNKNOWN))
        return
    named = said.removeprefix("only ")
    state = parse_state(named, healthy.harness)
    moves = {c: state[c] for c in healthy.moves(state)}
    if named != said:
        found.only |= set(moves)
    found.moves = [m | moves for m in found.moves]
    found.told |= set(moves) | _named(named.split(), healthy.harness)
    if _ALL_OFF.match(named):
        found.told |= {*healthy.harness.controls}
    found.running = True if state.engine_running else found.running


def _with_position(words: list[str], harness: Harness) -> list[str]:
    """"With the front brake", "when I use the wipers": of a control with two positions the one that it does not stand
    in is meant."""
    plain = [w for w in words if w not in _DOES]
    plain = plain[1:] if plain[-1:] and plain[-1] in _BARE and plain[0] in _HANDS else plain
    for name, control in harness.controls.items():
        called = {n.casefold() for n in (name, *control.also)}
        called |= {bare for n in called for end in _ENDS if (bare := n.removesuffix(end)) != n}
        called |= {f"{n}s" for n in called}
        called |= {last for last in _BARE if [n for n in harness.controls if n.endswith(f" {last}")] == [name]}
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
        case "weather" | "place" | "spot":
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
    if kind in ("ignition on", "ignition off"):
        if found.ignition not in ("", kind):
            found.failed.append(said)  # of the one lamp it is told with it on, and of the other with it off
        found.ignition = kind
    if kind in ("side", "head"):
        if found.lights not in ("", kind):
            found.failed.append(said)  # "off with side lights, on with headlights" are two states
        found.lights = kind
    if kind in ("left", "right") and any(len({m[c] for m in (old, new) if c in m}) > 1
                                         for old in before for new in options for c in new):
        found.failed.append(said)
    if kind == "brake off":
        found.told |= {c for c in healthy.harness.controls if "brake" in c}
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
        found.assumed.append(BOTH_WAYS)
    if kind == "head":
        found.assumed.append("dipped beam")
    if kind == "door" and (side := [w for w in said.split() if w in ("left", "right")]):
        if {*found.doors} - {*side}:
            found.failed.append(said)  # one door and the other, of which the file has one switch
        found.doors += side
        found.unused += side


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
    if kind in ("dimmer", "dimmed"):
        yield from ({d.control: max(d.steps, key=lambda s: s[1])[0]} for d in healthy.harness.devices()
                    if isinstance(d, Dimmer))
        return
    if kind == "work":  # of several, each with its own switch
        lamps = [n for n, purposes in healthy.purposes.items() if "work" in purposes]
        yield from ([moves] if (moves := {c: p for n in lamps for s in healthy.own(n)[:1]
                                          for c, p in healthy.moves(s).items()}) else [])
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
