"""What the evidence says of itself before any fault is thought of: what contradicts, repeats, or comes and goes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, combinations_with_replacement, product

from msgspec.structs import replace

from tracer.harness.model import VehicleState
from tracer.observation.evidence import Evidence, LampSeen, LensSeen, LoadSeen, Reading, Seen, Symptom, by_hand


def contradictions(evidence: Sequence[Evidence]) -> tuple[tuple[int, int], ...]:
    """Pairs of evidence about one lamp in one state that exclude each other."""
    alike: dict[VehicleState, dict[tuple[Seen, ...], list[int]]] = {}
    for e, item in enumerate(evidence):
        if isinstance(item, Symptom):
            alike.setdefault(item.state, {}).setdefault(item.seen, []).append(e)
    clashes: set[tuple[int, int]] = set()
    for said in alike.values():  # what was said a hundred times is compared once
        for (one, at), (two, there) in combinations_with_replacement(said.items(), 2):
            if any(isinstance(a, LampSeen) and isinstance(b, LampSeen) and _exclude(a, b) for a in one for b in two):
                pairs = combinations(at, 2) if one is two else product(at, there)
                clashes |= {(min(pair), max(pair)) for pair in pairs}
    return tuple(sorted(clashes))


def first_said(evidence: Sequence[Evidence]) -> list[int]:
    """Indices of the evidence without symptoms that were said before, word for word; of looks over one thing the
    last alone, since what hid from the eye once hides again."""
    found: dict[Evidence, int] = {}
    looked: dict[tuple[str, ...], int] = {}
    for e, item in enumerate(evidence):
        if isinstance(item, Symptom):
            found.setdefault(replace(item, text="", asked=False), e)
        elif by_hand(item):
            looked[item.test.kind, item.test.plus, item.test.minus, item.test.lamp] = e
    counts = {*found.values(), *looked.values()}
    # Readings count each time: a meter was put on again.
    return [
        e for e, item in enumerate(evidence)
        if e in counts or (isinstance(item, Reading) and not by_hand(item))
    ]


def comes_and_goes(evidence: Sequence[Evidence]) -> bool:
    """Whether something was seen only sometimes, was seen both so and otherwise, or moved with a wire."""
    readings = [i for i in evidence if isinstance(i, Reading)]
    if any(i.value.wiggled or (i.test.row.moves and i.value.found) for i in readings):
        return True
    said = any(comes_and_goes_in(s) for i in evidence if isinstance(i, Symptom) for s in i.seen)
    return said or bool(contradictions(evidence))


def comes_and_goes_in(seen: Seen) -> bool:
    """Whether something was seen only sometimes. A fuse that blows only sometimes has been blown."""
    if isinstance(seen, LensSeen):
        return seen.looks[0].sometimes
    return isinstance(seen, (LampSeen, LoadSeen)) and seen.sometimes


def _exclude(a: LampSeen, b: LampSeen) -> bool:
    """Two looks at one lamp that cannot both be right."""
    if a.sometimes or b.sometimes:
        return False
    flashes = a.flash is not None and b.flash is not None and (a.flash == "steady") != (b.flash == "steady")
    return a.lamp == b.lamp and (not a.words & b.words or flashes)
