"""What a lamp is for: stated in the harness, or inferred from the name that the trade gives such a lamp."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

from tracer.harness.model import Harness, Part

PURPOSES: Final = (
    "stop", "side", "indicator left", "indicator right", "reversing", "fog", "dipped", "main", "number plate",
    "tell-tale", "work", "panel",
)
# How people say it, where that is not the purpose itself.
SAID: Final[Mapping[str, str]] = {
    "indicator left": "left indicator", "indicator right": "right indicator", "tell-tale": "tell-tale",
}
BEAMS: Final = frozenset(("dipped", "main"))
INDICATORS: Final = frozenset(("indicator left", "indicator right"))
LIGHTING: Final = frozenset(("side", "number plate", "panel", "dipped", "main"))

# Words in the name of a lamp that say what it is for. Common practice, no source.
_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "stop": ("stop", "brake"),
    "side": ("tail", "side", "sidelight", "position", "parking", "marker", "pilot"),
    "reversing": ("reversing", "reverse"),
    "fog": ("fog", "foglamp"),
    "dipped": ("dip", "dipped"),
    "main": ("main", "driving"),
    "number plate": ("plate",),
    "work": ("work", "working", "plough"),
    "panel": ("panel", "instrument", "instruments", "speedometer", "gauge", "clock"),
}
_TELL_TALE: Final = {"tell", "telltale", "warning"}
_INDICATOR: Final = {"indicator", "repeater", "flasher", "semaphore", "direction", "turn"}
_LEFT: Final = {"left", "lh", "l"}
_RIGHT: Final = {"right", "rh", "r"}


def words_of(name: str) -> frozenset[str]:
    """The words of a name in small letters; hyphens part words."""
    return frozenset(re.findall(r"[^\W_]+", name.lower()))


def side_of(words: frozenset[str], traffic: str = "") -> frozenset[str]:
    """"left", "right" or both, as far as words name them; the near side is at the kerb of the traffic."""
    near, off = ("right", "left") if traffic == "keeps right" else ("left", "right")
    found = {"left"} if words & _LEFT else set[str]()
    found |= {"right"} if words & _RIGHT else set()
    found |= ({near} if "nearside" in words else set()) | ({off} if "offside" in words else set())
    return frozenset(found)


def inferred(lamp: str, traffic: str = "") -> frozenset[str]:
    """The purposes that a lamp's full name tells ("left rear stop"); empty if it tells none."""
    words = words_of(lamp)
    if words & _TELL_TALE:
        return frozenset(("tell-tale",))
    found = {purpose for purpose, known in _WORDS.items() if words & set(known)}
    if words & _INDICATOR:
        found -= {"side"}  # "side repeater" says where the repeater is
        found |= {f"indicator {side}" for side in side_of(words, traffic)} or INDICATORS
    if not found and "headlamp" in words:
        return BEAMS
    return frozenset(found)


def other_side(name: str) -> str:
    """The name with left and right, near side and off side, changed over."""
    for one, other in (("left", "right"), ("nearside", "offside")):
        name = name.replace(one, "\0").replace(other, one).replace("\0", other)
    return name


def say_purposes(purposes: Iterable[str]) -> str:
    """Purposes as the lamps they name: "stop lamp", "side lamp and left indicator"."""
    return " and ".join(SAID.get(p, f"{p} lamp") for p in PURPOSES if p in purposes)


def _own_purposes(part: Part, short: str, traffic: str) -> frozenset[str]:
    """By the lamp's own name in its unit, else by the full one: the stop of "left tail and stop" is no tail."""
    own = inferred(short)
    if own & INDICATORS:
        return inferred(f"{' '.join(side_of(words_of(part.name), traffic))} {short}")
    return own or inferred(f"{part.name} {short}", traffic)


def purposes_of(part: Part, traffic: str = "") -> dict[str, frozenset[str]]:
    """What each lamp of a part is for, by the lamp's full name; nothing stated and nothing inferred: empty."""
    stated = part.settings.get("for")
    out: dict[str, frozenset[str]] = {}
    for filament in part.lamps:
        short = filament.lamp.removeprefix(part.name).strip()
        given: Iterable[str] | None = stated.get(short) if isinstance(stated, Mapping) else stated
        out[filament.lamp] = _own_purposes(part, short, traffic) if given is None else frozenset(given)
    return out


def lamp_purposes(harness: Harness) -> dict[str, frozenset[str]]:
    """What every lamp of a harness is for."""
    traffic = harness.traffic
    return {lamp: said for part in harness.parts.values() for lamp, said in purposes_of(part, traffic).items()}
