"""Where something got hot, told by a place or by when: "behind the dash", "with the headlamps on"."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from tracer.harness.devices import FuseLink, Source, SwitchContact
from tracer.harness.inspectable import Thing
from tracer.harness.lamp_purposes import purposes_of
from tracer.harness.model import Harness, Part, VehicleState
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_circumstances import take_out, told_by
from tracer.observation.words.words import singular, tokens, word_set

# What a place is called, and the words of the file's own places that it means (common practice, no source).
_PLACES: Final = (
    (word_set("dash dashboard instrument instruments"), word_set("dash instruments bulkhead")),
    (word_set("fuse fusebox"), word_set("fuse")),
    (word_set("bonnet hood"), word_set("engine bulkhead battery")),
    (word_set("engine"), word_set("engine bulkhead")), (word_set("boot trunk"), word_set("boot rear")),
    (word_set("column wheel"), word_set("column wheel")), (word_set("grille radiator"), word_set("grille radiator")),
    (word_set("roof"), word_set("roof")), (word_set("pedal pedals"), word_set("pedal")),
    (word_set("sill kick"), word_set("sill kick")), (word_set("tailgate"), word_set("tailgate")),
)
_INSTRUMENTS: Final = frozenset({"tell-tale", "panel"})
_VAGUE: Final = word_set(
    "wire wires wiring loom cable cables box panel bay area somewhere lights steering side left right inner behind "
    "inside under over or hot burning")
_PLUG: Final = Pattern(r"^(?:multi ?plug|plug|connector|connection|socket)\b *| *\b(?:plug|connector|socket)$")
_TOWED: Final = Pattern(r"\b(?:trailer|caravan|tow(?:ing|bar)?|13|7)\b")  # whose plug is at the tow bar
_HANDLED: Final = Pattern(
    r"\b(?:plug(?:ged|ging)?(?: in)?|unplug\w*|touch\w*|connect\w*|pull\w*|fit\w*|wiggle|move|push(?: in)?|press)"
    r" (?:(?:in|on|the|my|a) )*(?P<what>.+)$")


def placed(where: str, harness: Harness) -> list[Thing]:
    """What sits where somebody smells or feels it, that which carries most first; none if no place was told."""
    said = {*plain(where).split()}
    meant = [own for called, own in _PLACES if called & said]
    if not meant or said - _VAGUE - {w for called, _ in _PLACES for w in called}:
        return []
    wanted = frozenset().union(*meant)
    sides = {"left", "right"} & said
    there = [p for p in harness.parts.values() if _sits(p.place, wanted, sides) and _carries(p)]
    plugs = [Thing("connector", n) for n, c in harness.connectors.items() if _sits(c.place, wanted, sides)]
    return [*(Thing("fuse" if _fuse(p) else "part", p.name) for p in sorted(there, key=_rank)), *plugs]


def _sits(place: str, wanted: Iterable[str], sides: Iterable[str]) -> bool:
    own = {singular(w) for w in tokens(place)} | {*tokens(place)}
    return bool({*wanted} & own) and own >= {*sides}


def _fuse(part: Part) -> bool:
    return any(isinstance(d, FuseLink) for d in part.devices)


def _carries(part: Part) -> bool:
    """Whether enough flows in it to heat it: no lamp of the instruments, no battery."""
    small = bool(part.lamps) and all(p <= _INSTRUMENTS for p in purposes_of(part).values())
    return not small and not any(isinstance(d, Source) for d in part.devices)


def _rank(part: Part) -> tuple[int, float]:
    """Switches first, then fuses by their amperes, relays and all else."""
    if any(isinstance(d, SwitchContact) for d in part.devices) and not part.coils:
        return 0, 0.0
    amps = [d.rating_a for d in part.devices if isinstance(d, FuseLink)]
    return (1, -amps[0]) if amps else (2, 0.0)


def plug_of(where: str, parts: Sequence[str], harness: Harness) -> list[Thing] | None:
    """The plugs at what is called so; None if no plug was spoken of."""
    if not _PLUG.search(where):
        return None
    bar = [n for n, c in harness.connectors.items() if {"tow", "towbar"} & {*tokens(c.place)}]
    if bar and _TOWED.search(where):
        return [Thing("connector", n) for n in bar]
    return [Thing("connector", n) for n, c in harness.connectors.items()
            if any({*tokens(p)} <= {*tokens(c.place)} for p in parts)]


def without_plug(where: str) -> str:
    """Where it is, without the word that it is a plug."""
    return _PLUG.sub("", where)


def handled(when: str) -> str:
    """What somebody had in his hands as it happened: "… when I plug in the left headlight"; "" if nothing."""
    found = _HANDLED.search(when)
    return found["what"] if found else ""


def in_use(when: str, healthy: HealthyStates) -> list[Thing]:
    """What carries the current of what was switched on: its switches, its fuses, its lamp units."""
    around = told_by(take_out(plain(when), healthy)[1], healthy)
    if around.trivial or around.failed:
        return []
    state = healthy.state(around.moves[0], bool(around.running))
    lit = healthy.on(state) - healthy.on(healthy.base)
    if not lit:
        return []
    harness = healthy.harness
    switches = [Thing("part", p.name) for p in harness.parts.values() for d in p.devices[:1]
                if isinstance(d, SwitchContact) and _switches(d.control, state, lit, healthy)]
    fuses = dict.fromkeys(f for n in sorted(lit) for f in healthy.fuses_of(n, state))
    units = [p.name for p in harness.parts.values() if _carries(p) and any(f.lamp in lit for f in p.lamps)]
    return [*switches, *(Thing("fuse", f) for f in fuses), *(Thing("part", u) for u in units)]


def _switches(control: str, state: VehicleState, lit: Iterable[str], healthy: HealthyStates) -> bool:
    """Whether some of what is lit goes off in another position of a control."""
    if "ignition" in control:
        return False
    others = [p for p in healthy.harness.controls[control].positions if p != state[control]]
    return any({*lit} - healthy.on(healthy.state({**healthy.moves(state), control: p})) for p in others)
