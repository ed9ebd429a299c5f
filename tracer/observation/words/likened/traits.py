"""How a reading of a sentence stands to the sentence: which cues it takes up, which it leaves, what it adds.

Each trait is a number. What they weigh is in `weights.py`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct

from tracer.harness.lamp_purposes import INDICATORS
from tracer.harness.model import VehicleState
from tracer.observation.evidence import FuseSeen, LampSeen, LensSeen, LoadSeen, RelaySeen, Seen, Symptom
from tracer.observation.words.likened.cues import Cues
from tracer.observation.words.speech_lexicon import Lexicon

_LEAST_SHARE: Final = 0.003
_NOBODY, _VERY_LIKE, _HARDLY_LIKE = 0.01, 0.8, 0.5
# A look in the reading, and the kind of word that tells of it.
_LOOKS: Final = (("dark", "dark"), ("dim", "weak"), ("faint", "glow"), ("fast", "fast"), ("sometimes", "flicker"),
                 ("moved", "hit"), ("blows", "fuse"), ("steady", "steady"), ("good", "good"))
# What is switched on, the lamps that this lights, and the kind of word that tells of it.
_LIGHTS_UP: Final[Mapping[str, frozenset[str]]] = {
    "indicate": frozenset({"indicator", "telltale-indicator", "repeater"}), "brake": frozenset({"stop", "highstop"}),
    "reverse": frozenset({"reversing"}), "hazard": frozenset(), "main": frozenset({"main", "headlamp", "telltale"}),
    "lights": frozenset({"tail", "side", "dip", "main", "headlamp", "plate", "marker", "panel", "telltale"}),
}
_TOLD: Final = ("brake", "reverse", "indicate", "hazard")
# Lamps that are told along with others of their kind.
_ALONG: Final = frozenset({"headlamp", "stop", "side", "tail", "indicator", "repeater", "dip", "main", "highstop"})
_MANY: Final = 4
_COARSE: Final = {"dim": "weak", "faint": "weak", "pulse": "weak"}


class Fact(Struct, frozen=True):
    """One thing that a reading tells: of which lamp, fuse or load, in which state, how it does."""

    name: str
    state: VehicleState
    look: str
    good: bool


def facts_of(symptoms: Sequence[Symptom], lexicon: Lexicon) -> frozenset[Fact]:
    """Everything that a reading tells, lamp by lamp."""
    return frozenset(fact for s in symptoms for seen in s.seen for fact in _facts(seen, s.state, lexicon))


def faults_of(facts: frozenset[Fact]) -> frozenset[Fact]:
    """What is not as it should be, and so what the complaint is of."""
    return frozenset(f for f in facts if not f.good)


def told_both_ways(facts: frozenset[Fact]) -> bool:
    """Whether something is told to be well and amiss in one state."""
    good = {(f.name, f.state) for f in facts if f.good}
    return bool(good & {(f.name, f.state) for f in facts if not f.good})


def alike(one: frozenset[Fact], other: frozenset[Fact]) -> float:
    """How far two complaints are the same, from 0 to 1: what both tell, of what either tells."""
    a, b = ({(f.name, f.state, _coarse(f)) for f in facts} for facts in (one, other))
    return len(a & b) / len(a | b) if a or b else 1.0


def _coarse(fact: Fact) -> str:
    """A look as people tell it: a tell-tale that is dark and one that does not flash are one complaint."""
    return "dark" if fact.look == "steady" and "tell-tale" in fact.name else _COARSE.get(fact.look, fact.look)


def _facts(seen: Seen, state: VehicleState, lexicon: Lexicon) -> list[Fact]:
    match seen:
        case LampSeen():
            look = _look(seen)
            lit = seen.lamp in lexicon.healthy.on(state)
            return [Fact(seen.lamp, state, look, (look == "lit" and lit) or (look == "dark" and not lit))]
        case LensSeen():
            return [fact for one in seen.looks for fact in _facts(one, state, lexicon)]
        case FuseSeen():
            when = lexicon.healthy.base if seen.whenever else state
            return [Fact(f"fuse {seen.fuse}", when, "blows" if seen.blown else "holds", not seen.blown)]
        case LoadSeen():
            look = "sometimes" if seen.sometimes else "dim" if seen.weak else "lit" if seen.works else "dark"
            on = seen.load in lexicon.healthy.on(state)
            return [Fact(seen.load, state, look, look == "lit" and on)]
        case RelaySeen():
            return [Fact(seen.relay, state, seen.does, False)]
    return []


def _look(seen: LampSeen) -> str:
    if seen.flash in ("steady", "fast", "slow"):
        return seen.flash
    if seen.flash == "flashing":
        return "pulse"
    if seen.sometimes or seen.moved:
        return "sometimes"
    if seen.words <= {"dim", "faint"}:
        return "faint" if seen.words == {"faint"} else "dim"
    return "lit" if "dark" not in seen.words else "dark"


class Source(Struct, frozen=True):
    """Where a reading is from, and what speaks for it.

    Attributes:
        rules: The rules of speech read it so.
        choice: Its place among the choices that the rules would have asked, from 1; 0 if it is none.
        share: Its share in the say of the sentences that are most like this one.
        agreed: The say of all that mean much the same as this.
        likeness: Of the nearest of them.
        nearest: How like the sentence the nearest of all examples is.
        unknown: Words of the sentence that none of the examples has, counted.
        made: It is made of the meaning of an example, with what the sentence names exchanged, or says beside.
        left_open: What was said and does not stand in it, or stands there and was not said, counted.
        left_out: Of how many parts of the sentence nothing stands in it.
    """

    rules: bool = False
    choice: int = 0
    share: float = 0.0
    agreed: float = 0.0
    likeness: float = 0.0
    nearest: float = 0.0
    unknown: int = 0
    made: bool = False
    left_open: int = 0
    left_out: int = 0


def traits_of(
    symptoms: Sequence[Symptom], facts: frozenset[Fact], source: Source, cues: Cues, lexicon: Lexicon,
) -> dict[str, float]:
    """Every trait of a reading of a sentence, of which these are the facts, that is not nought."""
    told = _Told(symptoms, facts, lexicon)
    found = {
        **(_by_rules(source) if source.rules else _by_others(source)),
        "say of the like": math.log(max(source.share, _LEAST_SHARE)), "likeness": source.likeness,
        "say of all alike": math.log(max(source.agreed, _LEAST_SHARE)), "agreed": source.agreed,
        "none like it": source.share == 0,
        "nothing left open": source.left_open == 0, "one thing left open": source.left_open == 1,
        "things left open": min(source.left_open, 4), "parts left out": min(source.left_out, 3),
        "which one is open": any(isinstance(k, LensSeen) for s in symptoms for k in s.seen),
        "told both ways": told_both_ways(facts),
        "so many things": min(math.log1p(len({f.name for f in faults_of(facts)})), 3.0),
        **told.looks(cues), **told.controls(cues), **told.lamps(cues), **told.places(cues),
    }
    return {name: float(value) for name, value in found.items() if value}


def _by_rules(source: Source) -> dict[str, float]:
    """What speaks for a reading of the rules, beside what speaks for any."""
    return {"by the rules": 1.0, "by the rules, nothing left open": source.left_open == 0,
            "by the rules, agreed": source.agreed, "by the rules, nobody agrees": source.agreed < _NOBODY,
            "by the rules, an example is near": source.nearest, "by the rules, unknown words": min(source.unknown, 3)}


def _by_others(source: Source) -> dict[str, float]:
    """What speaks for one of examples, or for a choice of the rules."""
    found: dict[str, float] = {f"choice {n}": source.choice == n for n in (1, 2, 3)}
    found |= {"unknown words": min(source.unknown, 3), "made of one": source.made}
    if not source.choice:
        found |= {"say, squared": source.share**2, "very like": source.likeness > _VERY_LIKE,
                  "hardly like": max(0.0, _HARDLY_LIKE - source.likeness)}
    return found


class _Told:
    """What a reading tells, gathered once."""

    def __init__(self, symptoms: Sequence[Symptom], facts: frozenset[Fact], lexicon: Lexicon) -> None:
        self._facts, self._lexicon = facts, lexicon
        self._faults = faults_of(facts)
        good = {(f.name, f.state) for f in facts if f.good}
        self._running = any(s.state.engine_running for s in symptoms)
        self._heard = any(isinstance(k, RelaySeen) for s in symptoms for k in s.seen)
        self._apart = any(s.only for s in symptoms) or len({(f.state, f.good) for f in facts}) > 1
        looks = {f.look for f in self._faults}
        moved = any(isinstance(k, LampSeen) and k.moved for s in symptoms for k in s.seen)
        well = bool(good) or any(s.others_normal for s in symptoms)
        more = (("moved", moved), ("good", well), ("steady", bool(looks & {"steady", "lit"})))
        self._looks = looks | {look for look, so in more if so}
        self._moved = {word for f in facts for control, position in lexicon.healthy.moves(f.state).items()
                       for word in _switched(control, position)}
        self._functions = {w for f in facts for w in self._of(f.name)}
        self._faulty = {w for f in self._faults for w in self._of(f.name)}
        sides, ends = lexicon.lamps.side, lexicon.lamps.end
        self._sides = {s for f in facts if (s := sides.get(f.name, ""))}
        self._ends = {e for f in facts if (e := ends.get(f.name, ""))}

    def looks(self, cues: Cues) -> dict[str, float]:
        """Looks that are told and not read, and the other way about."""
        out: dict[str, float] = {}
        for look, kind in _LOOKS:
            said = kind in cues.kinds
            out[f"{look} not read"] = said and look not in self._looks
            out[f"{look} not said"] = look in self._looks and not said
        out["engine not said"] = self._running and "engine" not in cues.kinds
        out["click not read"] = "click" in cues.kinds and not self._heard
        out["only not read"] = "only" in cues.kinds and not self._apart
        return out

    def controls(self, cues: Cues) -> dict[str, float]:
        """What is switched on beside what lights these lamps: is it said, and is what is said read?"""
        beside = {word for word in self._moved if word in _LIGHTS_UP and not self._functions & _LIGHTS_UP[word]}
        named = {*cues.functions}
        out: dict[str, float] = {}
        for word in _TOLD:
            said = word in cues.kinds
            out[f"{word} not said"] = word in beside and not said
            out[f"{word} not read"] = said and word not in self._moved and not named & _LIGHTS_UP[word]
        switched = {"light", "lights", "on"} & {*cues.words}
        out["lights not said"] = "lights" in beside and "side" not in named and not switched
        return out

    def lamps(self, cues: Cues) -> dict[str, float]:
        """Lamps that are named and not read, and the other way about."""
        named = {*cues.functions}
        return {
            "named and not read": len(named - self._functions),
            "other lamps than named": bool(self._faulty and named and not self._faulty & named),
            "read and not named": len(self._functions - named - _ALONG),
            "all, which is not said": len(self._functions) >= _MANY and "all" not in cues.kinds,
        }

    def places(self, cues: Cues) -> dict[str, float]:
        """Sides, ends and vehicles that are named and not read, and the other way about."""
        sides, towed = {*cues.sides}, self._lexicon.lamps.towed
        both = {"both", "otherside", "other"} & {*cues.words}
        on_tow = any(f.name in towed for f in self._facts)
        return {
            "side not read": len(sides - self._sides), "side not said": bool(sides and self._sides - sides),
            "both sides, of one": len(self._sides) == 2 and len(sides) == 1 and not both,
            "one side, of none": len(self._sides) == 1 and not sides,
            "trailer not read": cues.towed and not on_tow, "trailer not said": on_tow and not cues.towed,
            "front, of the rear": "front" in self._ends and "rear" in cues.kinds and "front" not in cues.kinds,
            "rear, of the front": "rear" in self._ends and "front" in cues.kinds and "rear" not in cues.kinds,
        }

    def _of(self, name: str) -> frozenset[str]:
        """What a lamp or thing is for, in the words of cues."""
        lamps = self._lexicon.lamps
        purposes = lamps.purposes.get(name)
        if purposes is None:
            return frozenset(name.split()[:1])
        if "tell-tale" in purposes:
            signals = "indicator" in name or lamps.side[name]
            return frozenset({"telltale-indicator" if signals else "telltale"})
        if "high" in name:
            return frozenset({"highstop", "stop"})
        if "repeater" in name:
            return frozenset({"repeater", "indicator"})
        if "marker" in name:
            return frozenset({"marker", "side", "tail"})
        rear = lamps.end[name] == "rear" or "tail" in name
        called = {"side": {"tail" if rear else "side"}, "number plate": {"plate"}, "dipped": {"dip", "headlamp"},
                  "main": {"main", "headlamp"}, **{p: {"indicator"} for p in INDICATORS}}
        return frozenset(w for p in purposes for w in called.get(p, {p})) or frozenset({name})


def _switched(control: str, position: str) -> list[str]:
    """What a control switches on, by the words of `_LIGHTS_UP`."""
    if "hazard" in control:
        return ["hazard"]
    if "indicator" in control or position in ("left", "right"):
        return ["indicate"]
    if "brake" in control:
        return ["brake"]
    if position in ("reverse", "main"):
        return [position]
    return ["lights"] if "lamp" in control or "light" in control else []
