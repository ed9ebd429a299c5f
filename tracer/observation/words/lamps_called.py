"""What lamps are called: by what they are for, by side and end, and by the names that the harness has."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Final

from tracer.harness.lamp_purposes import BEAMS, INDICATORS, side_of, words_of
from tracer.harness.model import Part
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.words import LampNames, name_words, tokens, word_set

# What lamps are called, by what they are for. "side" and "tail" are both position lamps: the end tells them apart.
FUNCTIONS: Final[Mapping[str, str]] = {
    **dict.fromkeys(("brake", "stop"), "stop"),
    **dict.fromkeys(("tail",), "tail"),
    **dict.fromkeys(("side", "parking", "park", "position", "pilot"), "side"),
    **dict.fromkeys(("indicator", "winker", "flasher", "blinker", "turn", "trafficator", "semaphore", "direction"),
                    "indicator"),
    **dict.fromkeys(("hazard",), "hazard"),
    **dict.fromkeys(("reverse", "reversing", "backup", "backing"), "reversing"),
    **dict.fromkeys(("head",), "head"), **dict.fromkeys(("main", "full"), "main"),
    **dict.fromkeys(("dip", "dipped", "low"), "dipped"), "fog": "fog", "work": "work",
    **dict.fromkeys(("plate", "licence", "license", "registration", "number"), "number plate"),
    **dict.fromkeys(("dash", "dashboard", "instrument", "panel"), "panel"),
    **dict.fromkeys(("warning", "telltale"), "tell-tale"),
    **dict.fromkeys(("interior", "courtesy", "roof", "cabin", "inside", "dome"), "interior"),
}
NOUNS: Final = word_set("light lamp bulb beam lens cluster unit signal lite filament globe")
QUANTITIES: Final = word_set("some all both every each everything nothing no none neither any")
NONE: Final = word_set("nothing no none neither")
_INTERIOR: Final = word_set("interior courtesy roof saloon cabin dome")
_REAR: Final = frozenset({"stop", "reversing", "number plate"})
TOWED: Final = word_set("trailer caravan")


def _by_the_kerb(lamp: str, part: Part, traffic: str) -> str:
    """The side of a lamp that is called by the near side or the off side; "" if it is not."""
    for text in (lamp, f"{part.name} {' '.join(part.also)}", part.place):
        found = side_of(words_of(text), traffic)
        if len(found) == 1:
            return next(iter(found))
    return ""


def tells_of(lamp: str, function: str) -> bool:
    """Whether a tell-tale, by its name, is that of a function."""
    said = name_words(lamp)
    if function == "stop" and "handbrake" in said:  # "the brake light on the dash"
        return True
    if function == "indicator":
        others = {"brake", "handbrake", "main", "beam", "fog", "oil"}
        return "indicator" in said or not said & others
    return any(FUNCTIONS.get(w) == function for w in said)


class LampsCalled:
    """The lamps of a harness by function, side and end."""

    def __init__(self, healthy: HealthyStates) -> None:
        self.healthy = healthy
        self.names = LampNames.of(healthy.harness)
        self.purposes = healthy.purposes
        self.parts = {f.lamp: p for p in healthy.harness.parts.values() for f in p.lamps}

    @cached_property
    def side(self) -> Mapping[str, str]:
        """Lamp → left or right; "" if it has no side."""
        traffic = self.healthy.harness.traffic
        return {lamp: self._word(lamp, ("left", "right")) or _by_the_kerb(lamp, self.parts[lamp], traffic)
                for lamp in self.purposes}

    @cached_property
    def end(self) -> Mapping[str, str]:
        """Lamp → front or rear; "" if neither is known (a repeater, the instruments)."""
        out = {}
        for lamp, purposes in self.purposes.items():
            said = self._word(lamp, ("front", "rear"))
            if "tell-tale" in purposes:
                said = ""
            elif not said and (purposes & _REAR or "tail" in name_words(lamp)):
                said = "rear"
            elif (not said and purposes & BEAMS) or "headlamp" in lamp or "headlight" in lamp:
                said = "front"
            elif not said and lamp in self.towed and not _INTERIOR & name_words(lamp):
                said = "rear"
            out[lamp] = said
        return out

    @cached_property
    def towed(self) -> frozenset[str]:
        return frozenset(lamp for lamp in self.purposes if self.names.words[lamp] & TOWED)

    def _word(self, lamp: str, options: tuple[str, str]) -> str:
        part = self.parts[lamp]
        for text in (lamp, f"{part.name} {' '.join(part.also)}", part.place):
            said = ["rear" if w == "back" else w for w in tokens(text)]
            found = [w for w in options if w in said]
            if len(found) == 1:
                return found[0]
        return ""

    def called(self, function: str) -> list[str]:
        """All lamps of a function as people say it."""
        own = self.purposes
        match function:
            case "tail":
                found = [n for n, p in own.items() if "side" in p and (self.end[n] == "rear" or "tail" in n)]
                return [n for n in found if "tail" in name_words(n)] or found
            case "side":
                named = [n for n, p in own.items() if "side" in p and "side" in name_words(n)]
                return named or [n for n, p in own.items() if "side" in p and "tail" not in name_words(n)] or [
                    n for n, p in own.items() if "side" in p]
            case "indicator" | "hazard":
                return [n for n, p in own.items() if p & INDICATORS and "tell-tale" not in p]
            case "head":
                return [n for n, p in own.items() if p & BEAMS and "tell-tale" not in p]
            case "interior":
                return [n for n in own if _INTERIOR & name_words(n)]
            case "panel":
                return [n for n, p in own.items() if "panel" in p]
            case "tell-tale":
                return [n for n, p in own.items() if "tell-tale" in p]
        return [n for n, p in own.items() if function in p and "tell-tale" not in p]
