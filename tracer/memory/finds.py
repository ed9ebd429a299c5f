"""What one job leaves in the memory: what was found, on which group of vehicles, with which equipment."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, Literal

from msgspec import Struct

from tracer.faults import Fault
from tracer.harness.base_rates import GIVEN, brought
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.harness.vehicle_kinds import kinds_in_title

Outcome = Literal["found", "not described", "given up"]
OUTCOMES: Final[tuple[Outcome, ...]] = ("found", "not described", "given up")
_WIRE_KINDS: Final = ("wire", "old repair", "strap", "stray live end")


class Group(Struct, frozen=True):
    """Vehicles that are taken to be alike: of one kind, and of one age (a decade, such as "1970s"); "" is unknown."""

    vehicle: str
    age: str


class Find(Struct, frozen=True, order=True):
    """A kind of fault that was found. `share`: how much of one find it is, where what was repaired could have been
    several kinds (a bad earth and an open one have one repair)."""

    kind: str
    share: float
    part: str = ""
    place: str = ""


class Learned(Struct, frozen=True):
    """One job as the memory keeps it.

    Attributes:
        id: Of the job, however its file is called.
        entries: How many entries its file had: of two states of one job the longer one counts.
        environment: What the vehicle had gone through, in the words of its story.
        equipment: Kind of fault → of how many elements the vehicle can have it, counted by their shipped rates.
    """

    id: str
    entries: int
    outcome: Outcome
    group: Group
    finds: tuple[Find, ...] = ()
    environment: tuple[str, ...] = ()
    equipment: tuple[tuple[str, float], ...] = ()

    @property
    def digest(self) -> str:
        """Of the equipment: vehicles wired alike share it."""
        return hashlib.sha256(repr(self.equipment).encode()).hexdigest()[:32]


def equipment(faults: Iterable[Fault]) -> tuple[tuple[str, float], ...]:
    """Kind → number of elements that can have it, each counted by its share of the shipped rate of its kind (a wire
    that bends counts several times, a shared earth a quarter)."""
    found: dict[str, float] = {}
    for f in faults:
        weight = 1.0 if f.source == GIVEN else f.rate / brought(f.kind)
        found[f.kind] = found.get(f.kind, 0.0) + weight
    return tuple(sorted((kind, round(n, 6)) for kind, n in found.items()))


def group_of(harness: Harness, words: str = "") -> Group:
    """The group of a vehicle: kinds by its harness file, else by what its title says; a decade by the first year
    in `words` (as the papers say), else in the title."""
    kinds = harness.vehicle or kinds_in_title(harness.title)
    return Group("+".join(kinds), decade(words) or decade(harness.title))


def decade(words: str) -> str:
    """The decade of the first year between 1900 and 2099 that stands in words as a number of its own, as "1970s"."""
    for word in words.translate(dict.fromkeys(map(ord, "-/,()"), " ")).split():
        digits = word.removesuffix("s").removesuffix("’").removesuffix("'")
        if len(digits) == 4 and digits.isascii() and digits.isdecimal() and digits[:2] in ("19", "20"):
            return f"{digits[:3]}0s"
    return ""


def finds_of(
    repair: str, faults: Sequence[Fault], harness: Harness, weighed: Mapping[str, float] | None = None
) -> tuple[Find, ...]:
    """What a repair says was found; empty where no fault of the harness has it.

    Args:
        weighed: Kind → share, as it stood when the repair was recorded; without it the kinds that have this repair
            share one find by their rates.
    """
    wanted = repair.strip().casefold()
    own = [f for f in faults if f.repair.casefold() == wanted]
    if not own:  # several faults at once have their repairs joined
        parts = [p.strip() for p in wanted.split(" and ")]
        return _of_several(parts, faults, harness) if len(parts) > 1 else ()
    total: dict[str, float] = {}
    for f in own:
        total[f.kind] = total.get(f.kind, 0.0) + f.rate
    given = {k: v for k, v in (weighed or {}).items() if k in total and v > 0}
    shares = given or total
    whole = sum(shares.values())
    return tuple(sorted(
        Find(kind, round(value / whole, 6), _part(next(f for f in own if f.kind == kind), harness),
             harness.place_of(own[0].node)[0][:80])
        for kind, value in shares.items()
    ))


def _of_several(parts: Sequence[str], faults: Sequence[Fault], harness: Harness) -> tuple[Find, ...]:
    """Finds of "this and that"; repairs have “and” in themselves, so that the longest that are repairs are taken."""
    repairs = {f.repair.casefold() for f in faults}
    found: list[Find] = []
    start = 0
    while start < len(parts):
        end = next((e for e in range(len(parts), start, -1) if " and ".join(parts[start:e]) in repairs), None)
        if end is None:
            return ()
        found += finds_of(" and ".join(parts[start:end]), faults, harness)
        start = end
    return tuple(sorted(found))


def _part(fault: Fault, harness: Harness) -> str:
    """Kind of the part that a fault lies in."""
    if fault.kind.startswith(_WIRE_KINDS):
        return "wire"
    owner = node_of(fault.node).owner
    if owner in harness.parts:
        return harness.parts[owner].kind
    if owner in harness.connectors:
        return "connector"
    return "splice" if owner in harness.splices else "earth point" if owner in harness.earths else ""
