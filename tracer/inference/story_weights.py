"""What the vehicle's story does to base rates: work done last makes some faults likelier, near where it was done.

One table, all judgement: of 47 published cases 12 had earlier work behind them; nobody has counted which.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from tracer.faults import Fault
from tracer.harness.base_rates import LEFT_BY_TRYING
from tracer.harness.lamp_purposes import words_of
from tracer.harness.model import Harness
from tracer.observation.story import FOUND_GOOD, Story

_LAMPS = dict.fromkeys(("wrong lamp", "lamp turned round", "single lamp for twin", "twin lamp for single",
                        "lamps exchanged", "lamp missing", "LED fitted", "LED fitted reversed"), 10.0)
_LOST = {"earth open": 4.0, "earth bad": 3.0, "mounting open": 4.0, "mounting bad": 3.0, "strap open": 3.0,
         "eyelet open": 4.0, "eyelet bad": 3.0}
_LOOM = {"wires changed over": 10.0, "ways crossed": 8.0, "bullets changed over": 8.0,
         "bullet in the wrong block": 8.0, "wire to body": 6.0, "wires joined": 6.0, "wire open": 4.0,
         "connector unplugged": 10.0, "bullet out": 10.0, "terminal off": 6.0, "splice open": 4.0,
         "splice leg open": 4.0, "splice bad": 3.0, "way open": 2.0}
_TAPS = {"added load": 10.0, "added joint": 10.0, "added feed": 10.0, "wire to body": 3.0, "wires joined": 3.0,
         "wrong flasher": 3.0, "fuse blown": 2.0, "wrong fuse": 4.0}
_WATER = {"connector wet": 10.0, "lamp unit wet": 10.0, "ways joined": 5.0}
_RUST = {"earth bad": 3.0, "earth open": 2.0, "mounting bad": 3.0, "holder bad": 3.0, "holder open": 2.0,
         "way bad": 3.0, "clip bad": 3.0, "clip open": 3.0, "switch bad": 3.0, "switch never makes": 2.0,
         "battery low": 3.0, "relay bad": 2.0}

# Work → kind of fault → how many times as likely it is near there.
WORK_MAKES: Final[Mapping[str, Mapping[str, float]]] = MappingProxyType({
    "lamp changed": {**_LAMPS, "holder bad": 2.0, "holder open": 2.0, "filament open": 0.05, "fuse blown": 2.0},
    FOUND_GOOD: {"filament open": 0.02, "both lamps dead": 0.1, "filaments bridged": 0.1},
    "trailer socket": _TAPS,
    "radio": _TAPS,
    "body repair": {**_LOST, **_LOOM},
    "loom opened": _LOOM,
    "washed": _WATER,
    "stood for years": _RUST,
})
_ELSEWHERE: Final = 0.3  # of a factor's logarithm, where the place of the work is known and the fault lies elsewhere
# The starter takes a hundred times a lamp's current through the battery, its clamps and its earth.
OF_THE_STARTER: Final = frozenset({"battery terminal bad", "battery low"})
STARTER_SERVED: Final = 0.05
DOES_NOT_RUN: Final = 5.0


def weights(story: Story, faults: Sequence[Fault], harness: Harness) -> dict[str, float]:
    """Factor on the base rate of each fault, by its name; only of those that the story changes."""
    out: dict[str, float] = {}
    place = words_of(story.where)
    for f in faults:
        factor = 1.0
        for work in story.work:
            made = WORK_MAKES[work].get(f.kind, 1.0)
            if made < 1:  # of all that have it: that most try the lamp is known of this one
                made = min(1.0, made / LEFT_BY_TRYING.get(f.kind, 1.0))
            if place and _near(f, place, harness):
                factor *= made
            elif made < 1:  # a lamp that is new is so itself
                factor *= 1.0 if place else made**_ELSEWHERE
            else:
                factor *= made**_ELSEWHERE if place else made
        if f.kind in OF_THE_STARTER and (story.alive or story.runs is False):
            factor *= STARTER_SERVED if story.alive else DOES_NOT_RUN
        if factor != 1.0:
            out[f.name] = factor
    return out


def _near(fault: Fault, place: frozenset[str], harness: Harness) -> bool:
    """Whether a fault lies at a place named in words."""
    own = words_of(f"{fault.name} {fault.repair} {harness.place_of(fault.node)[0]}")
    return place <= own


def say_weights(story: Story, faults: Sequence[Fault], harness: Harness) -> list[str]:
    """What the story does, kind by kind, in words; the strongest first."""
    found: dict[str, float] = {}
    by_name = weights(story, faults, harness)
    for f in faults:
        factor = by_name.get(f.name, 1.0)
        if abs(factor - 1) > abs(found.get(f.kind, 1.0) - 1):
            found[f.kind] = factor
    strongest = sorted(found.items(), key=lambda x: (-max(x[1], 1 / x[1]), x[0]))
    return [f"{kind} × {factor:.2g}" for kind, factor in strongest]
