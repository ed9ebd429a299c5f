"""Looks at several lamps at once: whoever stands behind a vehicle sees all its rear lamps (common practice, no
source)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import Floats
from tracer.harness.lamp_purposes import BEAMS, lamp_purposes, words_of
from tracer.harness.model import Harness

_TRAILER: Final = frozenset({"trailer", "caravan"})
_REAR: Final = frozenset({"rear", "back", "boot", "tail", "tailgate", "tailboard", "plate", "reversing"})
_FRONT: Final = frozenset({"front", "nose", "headlamp", "headlamps", "pod", "grille", "bonnet", "repeater", "wing"})
_INSIDE: Final = frozenset({"dash", "dashboard", "instrument", "instruments", "panel", "interior"})
_MOST: Final = 8  # outcomes of one look round that are planned with apart
_LIKELY: Final = 0.1  # least probability under any suspect of a word that counts as an outcome of its own
_LEAST: Final = 0.02  # the same of what several lamps show together
OTHERWISE: Final = "otherwise"


def standpoints(harness: Harness) -> dict[str, str]:
    """From where each lamp is seen: behind the vehicle or its trailer, in front of it, at the wheel; else where the
    lamp is."""
    out: dict[str, str] = {}
    purposes = lamp_purposes(harness)
    for part in harness.parts.values():
        for f in part.lamps:
            words = words_of(f"{f.lamp} {part.place}")
            if words & _TRAILER:
                out[f.lamp] = "the trailer"
            elif purposes[f.lamp] & {"tell-tale", "panel"}:
                out[f.lamp] = "the wheel"
            elif words & _REAR or purposes[f.lamp] & {"stop", "number plate", "reversing"}:
                out[f.lamp] = "behind"
            elif words & _FRONT or purposes[f.lamp] & BEAMS:
                out[f.lamp] = "in front"
            else:
                out[f.lamp] = "the wheel" if words & _INSIDE else part.place or part.name
    return out


def telling(table: Floats) -> bool:
    """Whether the living hypotheses differ in what one lamp shows; table (O, H)."""
    return bool((table.max(axis=1) - table.min(axis=1)).max() > _LIKELY)


def together(
    lamps: Sequence[str], tables: Sequence[Floats], words: Sequence[str]
) -> tuple[tuple[str, ...], Floats]:
    """The outcomes of a look at several lamps, and their probabilities under each hypothesis, (O, H).

    Args:
        tables: For each lamp (words, H), the probabilities of what it shows.
    """
    said, joint = [""], np.ones((1, tables[0].shape[1]))
    for lamp, table in zip(lamps, tables, strict=True):
        names, own = _own_outcomes(table, words)
        said = [f"{s}, {lamp} {n}".removeprefix(", ") for s in said for n in names]
        joint = (joint[:, None, :] * own[None]).reshape(-1, joint.shape[1])
        likely = joint.max(axis=1)
        kept = [k for k in np.argsort(-likely, kind="stable")[:_MOST] if likely[k] > _LEAST]
        said, joint = [said[k] for k in sorted(kept)], joint[sorted(kept)]
    rest = np.maximum(1 - joint.sum(axis=0), 1e-6)
    joint = np.vstack([joint, rest])
    return (*said, OTHERWISE), joint / joint.sum(axis=0)


def _own_outcomes(table: Floats, words: Sequence[str]) -> tuple[list[str], Floats]:
    """What one lamp shows, words that no suspect makes likely counted with the likeliest."""
    likely = table.max(axis=1)
    kept = [k for k in range(len(likely)) if likely[k] > _LIKELY]
    own = table[kept].copy()
    most = max(range(len(kept)), key=lambda k: float(table[kept[k]].mean()))
    own[most] += 1 - own.sum(axis=0)
    return [words[k] for k in kept], own
