"""What a job has told of the wiring itself: lines that are as the file has them, and lines that are otherwise.

A line is weighed against its own alternatives with whatever else is wrong taken as found: the likeliest hypothesis,
once with the line as the file has it, and once for each way in which it may be otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import NO_CHANGE
from tracer.faults import Fault, Variant
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis, deviating, together
from tracer.inference.wiring_pairs import odds_of
from tracer.observation.evidence import Evidence

# Probability from which on a line is taken as known. A line settled wrongly sends the next job astray, one left open
# costs it little: of 210 lines settled at 0.97 four were wrong (`bench_no_diagram.py`).
SETTLED: Final = 0.99
_NOTHING: Final = Variant(1.0, NO_CHANGE)
_MOVED: Final = 0.5  # share of the doubt about a line that must be gone for readings to have confirmed it


class SettledLine(Struct, frozen=True):
    """A wire or part of the file, how it is wired by all that was told, and how likely that is.

    Attributes:
        line: Name of the wire or part; "" for what the file does not have at all.
        deviation: How it is otherwise; None where it is as the file says.
    """

    line: str
    chance: float
    deviation: Fault | None = None

    @property
    def says(self) -> str:
        return self.deviation.says if self.deviation is not None else f"{self.line} is as the file has it"


def settled_lines(
    investigator: Investigator, evidence: Sequence[Evidence], found: Hypothesis
) -> tuple[SettledLine, ...]:
    """The lines that the evidence settles, when `found` is what is wrong with the vehicle (with or without
    deviations)."""
    lines: dict[str, list[Hypothesis]] = {}
    named = {w.name for w in investigator.harness.wires} | {*investigator.harness.parts}
    for h in deviating(investigator.deviations):
        own = h.faults[0].rewired
        assert own is not None
        lines.setdefault(own.line or h.faults[0].name, []).append(h)
    if not lines or not evidence:
        return ()
    rows: list[Hypothesis] = []
    spans: list[tuple[str, slice, list[Hypothesis]]] = []
    for line, ways in lines.items():
        base = _without(found, {line})
        both = [together(base, w) if base.faults else w for w in ways]
        known = [(w, b) for w, b in zip(ways, both, strict=True) if b is not None]
        start = len(rows)
        rows += [_as_filed(base, ways[0]), *(b for _, b in known)]
        spans.append((line, slice(start, len(rows)), [w for w, _ in known]))
    loglik = investigator.weigh(rows, evidence).sum(axis=0)
    out = []
    for line, span, ways in spans:
        odds = np.array([1.0, *(odds_of(w) for w in ways)])
        before = odds / odds.sum()
        weight = np.log(odds) + loglik[span]
        after = np.exp(weight - np.logaddexp.reduce(weight))
        top = int(after.argmax())
        if after[top] < SETTLED:
            continue
        if top:
            out.append(SettledLine(line, float(after[top]), ways[top - 1].faults[0]))
        elif line in named and 1 - after[0] < _MOVED * (1 - before[0]):
            out.append(SettledLine(line, float(after[0])))
    return tuple(out)


def _as_filed(base: Hypothesis, way: Hypothesis) -> Hypothesis:
    """A hypothesis with a line as the file has it, written as one of several: one fault alone is judged by its
    neighbours in severity, which are not here, and would be by a sharper rule than those it stands beside."""
    return Hypothesis((*base.faults, *way.faults), (*base.variants, _NOTHING), base.prior, base.awake)


def _without(h: Hypothesis, lines: set[str]) -> Hypothesis:
    """A hypothesis without what it says of some lines."""
    kept = [
        (f, v) for f, v in zip(h.faults, h.variants, strict=True)
        if f.rewired is None or (f.rewired.line or f.name) not in lines
    ]
    return Hypothesis(tuple(f for f, _ in kept), tuple(v for _, v in kept), h.prior, h.awake)
