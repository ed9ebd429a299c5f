"""Which fault an exercise hides: drawn by base rate within a level, the same for the same seed."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.circuit.model import NO_CHANGE, Change
from tracer.errors import TracerError
from tracer.faults import Fault, Variant, list_deviations, list_faults
from tracer.harness.model import Harness, VehicleState
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor
from tracer.practice.simulated_vehicle import looks_of

# What each level hides, in the order in which one learns it. (Judgement: common practice, no source.)
LEVELS: Final[Mapping[int, str]] = {
    1: "a lamp, its holder or a fuse",
    2: "a bad contact or a bad earth",
    3: "current that comes back through other lamps",
    4: "a short, or wires that touch",
    5: "two faults at once",
    6: "a fault that comes and goes",
    7: "a fault, and wiring that is otherwise than the file says",
}
_LAMPS: Final = ("filament", "lamp", "holder", "both lamps", "fuse blown", "single lamp", "twin lamp")
_CONTACTS: Final = ("earth", "eyelet", "strap", "mounting", "way bad", "way open", "terminal", "clip", "splice",
                    "holder bad", "switch bad", "battery terminal", "connector unplugged")
_SHORTS: Final = ("wire to body", "wires joined", "ways joined", "holder shorted", "filaments bridged",
                  "switch never", "connector wet", "lamp unit wet")
# What opens a way through other lamps: an earth that is gone, or copper where none belongs.
_BACK_FEEDS: Final = ("earth", "eyelet", "strap", "mounting", "holder", "way", "wires", "splice", "filaments",
                      "diode", "lamp unit", "connector wet")
_DRAWS: Final = 400  # faults tried until one shows
_DEVIATIONS: Final = 6  # of the wiring, tried with each


class Hidden(Struct, frozen=True):
    """What is wrong with the vehicle: the faults, each at one severity. `loose`: it comes and goes; `otherwise`: in
    what the vehicle is wired otherwise than its file says, and works."""

    faults: tuple[Fault, ...]
    variants: tuple[Variant, ...]
    loose: bool = False
    otherwise: tuple[Fault, ...] = ()

    @property
    def change(self) -> Change:
        found = self.sound
        for v in self.variants:
            found = found | v.change
        return found

    @property
    def sound(self) -> Change:
        """What is left when everything is repaired: how this vehicle is wired."""
        found = NO_CHANGE
        for f in self.otherwise:
            found = found | f.variants[0].change
        return found

    @property
    def names(self) -> tuple[str, ...]:
        both = zip(self.faults, self.variants, strict=True)
        return (*(f"{f.name} ({v.says})" if v.says else f.name for f, v in both), *(f.name for f in self.otherwise))

    def without(self, cured: frozenset[str]) -> Hidden:
        """What is left when the faults of these names are repaired."""
        left = [(f, v) for f, v in zip(self.faults, self.variants, strict=True) if f.name not in cured]
        return Hidden(tuple(f for f, _ in left), tuple(v for _, v in left), self.loose, self.otherwise)


def digest(hidden: Hidden, seed: int) -> str:
    """A seal on what is hidden: tells at the end that it was this all the time, and nothing before."""
    text = "\n".join([str(seed), *hidden.names, str(hidden.loose)])
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


class Oddity(Struct, frozen=True):
    """A lamp that does otherwise than it should in a state, and how."""

    state: VehicleState
    lamp: str
    look: str
    usual: str


def oddities(predictor: Predictor, change: Change, states: Sequence[VehicleState]) -> Iterator[Oddity]:
    """What a change alters for the eye, state by state."""
    sound, faulty = (looks_of(predictor, c, states) for c in (NO_CHANGE, change))
    for state, good, bad in zip(states, sound, faulty, strict=True):
        for lamp, usual in good.items():
            if bad[lamp] != usual and _striking(bad[lamp], usual):
                yield Oddity(state, lamp, bad[lamp], usual)


def _striking(look: str, usual: str) -> bool:
    """Whether anybody would remark on it: not a lamp that is a little brighter than it was."""
    return bool({look.partition(",")[0], usual.partition(",")[0]} & {"dark", "faint", "dim"}) or (
        look.partition(",")[2] != usual.partition(",")[2])


def draw(harness: Harness, level: int, seed: int) -> Hidden:
    """A fault of a level that somebody would come into the workshop for.

    Raises:
        TracerError: No such level, or this harness has no fault of the level that shows.
    """
    if level not in LEVELS:
        raise TracerError(f"no level {level}", "; ".join(f"{n}: {says}" for n, says in LEVELS.items()))
    rng = random.Random(f"{seed} {level}")
    predictor, states = Predictor(harness), basic_states(harness)
    pool = [f for f in list_faults(harness) if _of_level(f, level)]
    for _ in range(_DRAWS if pool else 0):
        hidden = _drawn(pool, level, rng)
        if level == 7:
            hidden = replace(hidden, otherwise=_otherwise(harness, hidden, predictor, states, rng))
            if not hidden.otherwise:
                continue
        seen = list(oddities(predictor, hidden.change, states))
        if not seen or (level == 3 and not any(o.usual == "dark" for o in seen)):
            continue
        if level == 5 and not all(any(oddities(predictor, v.change, states)) for v in hidden.variants):
            continue
        return hidden
    raise TracerError(f"this harness has no fault of level {level} ({LEVELS[level]}) that shows",
                      "take a harness that nobody has followed: tracer new FILE --like HARNESS" if level == 7
                      else "take another level")


def _otherwise(
    harness: Harness, hidden: Hidden, predictor: Predictor, states: Sequence[VehicleState], rng: random.Random
) -> tuple[Fault, ...]:
    """One thing in which the wiring is otherwise than the file says: all works so, and the fault shows another way
    with it than the file would have it. Nothing where none of those drawn does that."""
    every = list_deviations(harness)
    plain = list(oddities(predictor, hidden.change, states))
    for one in rng.sample(every, min(_DEVIATIONS, len(every))):
        so = replace(hidden, otherwise=(one,))
        if not any(oddities(predictor, so.sound, states)) and list(oddities(predictor, so.change, states)) != plain:
            return (one,)
    return ()


def _of_level(fault: Fault, level: int) -> bool:
    match level:
        case 1:
            return fault.kind.startswith(_LAMPS) and not fault.kind.startswith("lamp unit")
        case 2:
            return fault.kind.startswith(_CONTACTS)
        case 3:
            return fault.kind.startswith(_BACK_FEEDS)
        case 4:
            return fault.kind.startswith(_SHORTS)
        case 6:
            return fault.comes_and_goes >= 0.2
        case _:
            return True


def _drawn(pool: Sequence[Fault], level: int, rng: random.Random) -> Hidden:
    faults: list[Fault] = []
    while len(faults) < (2 if level == 5 else 1):
        fault = rng.choices(pool, [f.rate for f in pool])[0]
        if all(fault.repair != f.repair and not {*fault.elements} & {*f.elements} for f in faults):
            faults.append(fault)
    variants = tuple(rng.choices(f.variants, [v.weight for v in f.variants])[0] for f in faults)
    return Hidden(tuple(faults), variants, level == 6)
