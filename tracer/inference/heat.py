"""Heat, smell, melted plastic and sparks: found where volts drop under load, and hardly anywhere else.

What is merely open carries nothing and stays cold; a contact that corrodes under load glows until it parts. The
figures are judgement: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.inspectable import Thing
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.visual_inspection import where_seen
from tracer.observation.evidence import Value

_HOT: Final = re.compile(
    r"\b(?:hot|warm|heat\w*|burn(?:t|ed|ing)|melt\w*|scorch\w*|singed|smell\w*|spark\w*|arc(?:s|ing|ed)|brown\w*)\b",
    re.IGNORECASE)
# Kinds that part with what is left of a hot joint, and those that carry what they should not.
_BURNT_APART: Final = frozenset({
    "way open", "holder open", "switch never makes", "switch dead", "relay stuck open", "splice open",
    "splice leg open", "eyelet open", "earth open", "terminal off", "old repair open", "fuse blown",
})
_OVERLOADED: Final = frozenset({
    "wire to body", "wires joined", "ways joined", "holder shorted", "stray live end", "wrong lamp", "wrong fuse",
    "added load", "relay coil shorted", "charging too high",
})
HOT_OF_BAD: Final = 0.5
HOT_OF_OVERLOADED: Final = 0.3
HOT_OF_PARTED: Final = 0.15
HOT_ELSEWHERE: Final = 0.02


def is_hot(value: Value, thing: Thing) -> bool:
    """Whether that was found of a thing. A lamp is always hot, and burnt is what it is when its filament is."""
    return bool(value.found and thing.kind != "lamp" and _HOT.search(value.text))


def hot_chances(hypotheses: Sequence[Hypothesis], thing: Thing, harness: Harness) -> Floats:
    """(H,) probability that a thing is found hot, or with the marks of it."""
    known: dict[str, float] = {}
    out = np.full(len(hypotheses), HOT_ELSEWHERE)
    for k, h in enumerate(hypotheses):
        for f in h.faults:
            if f.name not in known:
                there = thing in where_seen(f, harness) or thing.name == node_of(f.node).owner
                known[f.name] = _chance(f.kind) if there else 0.0
            out[k] = max(out[k], known[f.name])
    return out


def _chance(kind: str) -> float:
    if kind in _OVERLOADED:
        return HOT_OF_OVERLOADED
    if kind in _BURNT_APART:
        return HOT_OF_PARTED
    return HOT_OF_BAD if kind.endswith((" bad", " corroded", " wet")) else HOT_ELSEWHERE
