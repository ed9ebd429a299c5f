"""Where each lamp sits on a view of the vehicle from above, told by its place, its name and what it is for.

The words of `place` win over those of the name, these over the purpose; lamps of one unit sit together. What no word
places stands in a list. Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Final

from msgspec import Struct

from tracer.harness.lamp_purposes import purposes_of, words_of
from tracer.harness.model import Harness, Part

ENDS: Final = ("front", "middle", "rear", "trailer front", "trailer", "trailer rear")
SIDES: Final = ("left", "centre", "right")

_SIDE: Final[Mapping[str, str]] = {
    "left": "left", "nearside": "left", "lh": "left", "right": "right", "offside": "right", "rh": "right",
}
_END: Final[Mapping[str, str]] = {
    "front": "front", "rear": "rear", "back": "rear", "inside": "middle", "interior": "middle",
}
_WEAK_END: Final[Mapping[str, str]] = {  # things that sit at one end of every vehicle that has them
    "headlamp": "front", "nose": "front", "grille": "front", "fork": "front", "bonnet": "front", "pod": "front",
    "tailgate": "rear", "tailboard": "rear", "boot": "rear", "tail": "rear", "high-level": "rear",
    "instruments": "middle", "instrument": "middle", "dash": "middle", "roof": "middle", "speedometer": "middle",
    "tachometer": "middle", "gauge": "middle", "clock": "middle", "panel": "middle", "saloon": "middle",
    "steering": "middle", "cab": "middle",
}
_OF_PURPOSE: Final[Mapping[str, str]] = {
    "tell-tale": "middle", "panel": "middle", "dipped": "front", "main": "front", "stop": "rear",
    "number plate": "rear", "reversing": "rear",
}
_TOWED: Final = frozenset(("trailer", "caravan"))
_TWO_WHEELS: Final = frozenset(("motorcycle", "twin", "fork", "sidecar", "scooter", "handlebar"))
_DRAWN: Final[Mapping[str, frozenset[str]]] = {  # outline → words of the title
    "tractor": frozenset(("tractor", "harvester", "loader")),
    "lorry": frozenset(("lorry", "truck", "bus", "coach", "tipper")),
}
_DROPPED: Final = frozenset((*_SIDE, *_END, *_TOWED, "car", "lamp", "unit"))


class Placed(Struct, frozen=True):
    """One lamp: its full name, a short one for the plan, its end and side; both "" if nothing places it."""

    lamp: str
    short: str
    end: str
    side: str


class VehiclePlan(Struct, frozen=True):
    """All lamps of a harness from above.

    Attributes:
        outline: "motorcycle", "trailer" (nothing but a trailer), "tractor", "lorry", "car", or "grid" where none
            fits.
        cells: (end, side) → lamps, both in the order of `ENDS` and `SIDES`.
        unplaced: Lamps that nothing places.
    """

    outline: str
    cells: Mapping[tuple[str, str], tuple[Placed, ...]]
    unplaced: tuple[Placed, ...]

    def row(self, end: str) -> tuple[tuple[str, tuple[Placed, ...]], ...]:
        """The cells of one end, left to right."""
        return tuple((side, self.cells.get((end, side), ())) for side in SIDES)

    @property
    def ends(self) -> tuple[str, ...]:
        """Ends at which there is a lamp, front to rear; the vehicle's own three always unless it has none."""
        used = {end for end, _ in self.cells}
        own = [e for e in ENDS[:3] if used & set(ENDS[:3])]
        return (*own, *(e for e in ENDS[3:] if e in used))


def plan_of(harness: Harness) -> VehiclePlan:
    """The plan of any harness."""
    words = words_of(harness.title)
    every = words.union(*(words_of(p.place) for p in harness.parts.values()))
    alone = bool(words & _TOWED) and not any(_towed(p, lamp.lamp) for p in harness.parts.values() for lamp in p.lamps)
    cells: dict[tuple[str, str], list[Placed]] = {}
    unplaced: list[Placed] = []
    for part in harness.parts.values():
        purposes = purposes_of(part)
        mates = {p for said in purposes.values() for p in said}
        for lamp in (f.lamp for f in part.lamps):
            end, side = _end(part, lamp, purposes[lamp], mates), _side(part, lamp)
            if not end and not side:
                unplaced.append(Placed(lamp, lamp, "", ""))
                continue
            if _towed(part, lamp) and not alone:
                end = {"front": "trailer front", "rear": "trailer rear"}.get(end, "trailer")
            cells.setdefault((end or "middle", side or "centre"), []).append(
                Placed(lamp, lamp, end or "middle", side or "centre"))
    named = {key: _shortened(lamps) for key, lamps in cells.items()}
    order = {end: n for n, end in enumerate(ENDS)}
    ordered = dict(sorted(named.items(), key=lambda kv: (order[kv[0][0]], SIDES.index(kv[0][1]))))
    outline = "motorcycle" if every & _TWO_WHEELS else "trailer" if alone else _drawn_as(words)
    if sum(side != "centre" for _, side in named) < 2:
        outline = outline if outline == "motorcycle" else "grid"
    return VehiclePlan(outline, ordered, tuple(unplaced))


def _drawn_as(words: Iterable[str]) -> str:
    return next((outline for outline, names in _DRAWN.items() if names & set(words)), "car")


def _towed(part: Part, lamp: str) -> bool:
    return bool((words_of(lamp) | words_of(part.place)) & _TOWED)


def _side(part: Part, lamp: str) -> str:
    for words in (words_of(part.place), words_of(lamp)):
        found = {_SIDE[w] for w in words & _SIDE.keys()}
        if len(found) == 1:
            return found.pop()
    return ""


def _end(part: Part, lamp: str, purposes: Iterable[str], mates: Iterable[str]) -> str:
    place, name = words_of(part.place), words_of(lamp)
    if not place & _END.keys() and {"tell-tale", "panel"} & set(purposes):  # "rear fog tell-tale"
        return "middle"
    for words, known in ((place, _END), (name, _END), (place, _WEAK_END), (name, _WEAK_END)):
        found = {known[w] for w in words & known.keys()}
        if len(found) == 1:
            return found.pop()
    for told in (purposes, mates):
        votes = Counter(_OF_PURPOSE[p] for p in told if p in _OF_PURPOSE)
        if votes:
            return votes.most_common(1)[0][0]
    return ""


def _shortened(lamps: list[Placed]) -> tuple[Placed, ...]:
    """Without the words that their place on the plan says already, where that leaves them apart."""
    short = [" ".join(w for w in p.lamp.split() if w.lower() not in _DROPPED) or p.lamp for p in lamps]
    shown = [s if short.count(s) == 1 else p.lamp for s, p in zip(short, lamps, strict=True)]
    return tuple(Placed(p.lamp, s, p.end, p.side) for p, s in zip(lamps, shown, strict=True))
