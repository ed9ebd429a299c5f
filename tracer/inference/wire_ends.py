"""Which end of a wire loses volts: a terminal, the joint at the wire's other end, or the wire between them.

All three are one resistance to every probe that a harness file has a place for. A meter from the terminal to a pin in
the insulation behind it reads what the crimp alone loses. Its figures are judgement: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from tracer.circuit.model import Change, Floats
from tracer.faults import Fault
from tracer.harness.devices import Conductor, Source
from tracer.harness.model import Harness
from tracer.observation.evidence import Evidence, Reading, Test

if TYPE_CHECKING:
    from tracer.inference.hypotheses import Hypothesis

# Kinds that lie where a wire ends: at `Fault.node`, in each of their lengths.
AT_END: Final = frozenset({
    "terminal off", "terminal bad", "splice leg open", "splice leg bad", "splice open", "splice bad", "eyelet open",
    "eyelet bad", "battery terminal bad",
})
# Kinds that lie along a length, mostly nowhere near the finger's width that is measured; a strap is as often bad in
# one of its lugs as in its braid. At the battery its lug is the clamp, which is a suspect of its own.
_ALONG: Final[Mapping[str, float]] = {"wire open": 0.05, "wire bad": 0.05, "strap open": 0.25, "strap bad": 0.25}
_AT_BATTERY = 0.05
_READ_RIGHT, _READ_WRONG = 0.97, 0.03  # a pin in the wrong wire, or one that does not reach the copper
_NONE_V, _ALL_V = 0.05, 0.2  # lost at a crimp: less is a sound one, more is said of every time
_MOST_ENDS = 8
_LEAST = 0.01  # share of the suspects at one end, below which it is not thought of


def across(test: Test) -> Test:
    """The volt drop along the whole wire, both its ends included, as the test finds it."""
    return Test("drop", test.state, test.plus, test.minus)


def at_end(test: Test, faults: Sequence[Fault], change: Change, harness: Harness) -> tuple[float, float]:
    """How likely the faults lie at the end that a test measures, and which share of the volts that the wire loses is
    lost to them: what is bad there is added to the length's own copper."""
    return _at_end(test, faults, change, *_wire(test, harness))


def _wire(test: Test, harness: Harness) -> tuple[Mapping[str, float], bool]:
    """Ω of the lengths of wire that a test measures an end of, and whether that end is at the battery."""
    lengths = {s.name: s.ohm for w in harness.wires for s in w.segments if {s.a, s.b} == {test.plus, test.minus}}
    return lengths, any(isinstance(d, Source) and test.plus in (d.plus, d.minus) for d in harness.devices())


def _at_end(
    test: Test, faults: Sequence[Fault], change: Change, lengths: Mapping[str, float], post: bool
) -> tuple[float, float]:
    bad = [(name, ohm) for name, ohm in change.set_ohm if name in lengths]
    added = max((1 - lengths[name] / max(ohm, lengths[name], 1e-9) for name, ohm in bad), default=0.0)
    return max((_at(f, test.plus, lengths, post) for f in faults), default=0.0) if bad else 0.0, added


def _at(fault: Fault, node: str, lengths: Collection[str], post: bool) -> float:
    if not {*fault.elements} & {*lengths}:
        return 0.0
    along = _ALONG.get(fault.kind, 0.0)
    return float(fault.node == node) if _lies_at_end(fault) else min(along, _AT_BATTERY) if post else along


def _lies_at_end(fault: Fault) -> bool:
    """An earth point on what does not conduct is bad at every eyelet."""
    return fault.kind in AT_END or (fault.kind in ("earth open", "earth bad") and fault.across is None)


def end_chances(test: Test, hypotheses: Sequence[Hypothesis], along: Floats, harness: Harness) -> Floats:
    """(H,) probability that volts are found lost at the end of a wire.

    Args:
        along: (H,) V that the wire loses with both its ends.
    """
    wire = _wire(test, harness)
    found = np.array([_at_end(test, h.faults, h.change, *wire) for h in hypotheses]).reshape(-1, 2)
    awake = np.array([h.awake for h in hypotheses])
    told = np.clip((np.nan_to_num(np.abs(along)) * found[:, 1] - _NONE_V) / (_ALL_V - _NONE_V), 0.0, 1.0)
    return np.asarray(_READ_WRONG + (_READ_RIGHT - _READ_WRONG) * told * awake * found[:, 0])


def worth_probing(
    hypotheses: Sequence[Hypothesis], shares: Floats, evidence: Sequence[Evidence], harness: Harness
) -> list[tuple[str, str]]:
    """Ends of wires, (end, other end), at which some of the hypotheses' faults lie, and others along the same wire or
    at its other end: the likeliest first, none that was measured.

    Args:
        shares: (H,) how likely the hypotheses are.
    """
    known = {(i.test.plus, i.test.minus) for i in evidence
             if isinstance(i, Reading) and i.test.row.at_end and i.value.found is not None}
    wires = {s.name: s for w in harness.wires for s in w.segments}
    weight: dict[tuple[str, str], float] = {}
    repairs: dict[str, set[str]] = {}
    for h, share in zip(hypotheses, shares.tolist(), strict=True):
        for f in h.faults:
            for s in (wires[e] for e in f.elements if e in wires):
                repairs.setdefault(s.name, set()).add(f.repair)
            for end in _ends(f, wires):
                weight[end] = weight.get(end, 0.0) + share
    several = {frozenset((s.a, s.b)) for name, s in wires.items() if len(repairs.get(name, ())) > 1}
    likely = [e for e, w in weight.items() if w > _LEAST and e not in known and frozenset(e) in several]
    return sorted(likely, key=lambda e: (-round(weight[e], 6), e))[:_MOST_ENDS]


def _ends(fault: Fault, wires: Mapping[str, Conductor]) -> Iterator[tuple[str, str]]:
    if _lies_at_end(fault):
        own = [wires[e] for e in fault.elements if e in wires]
        yield from ((fault.node, s.b if s.a == fault.node else s.a) for s in own if fault.node in (s.a, s.b))
