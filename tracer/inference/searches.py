"""Suspects: hypotheses counted by repair, and repairs that are one search ranked as one.

Fourteen lengths of wire that may be rubbed through at one per cent each are not fourteen unlikely suspects: they are
a short on that run, and whoever looks for it looks for all of them. So a search ranks by what its places hold
together, and its likeliest place stands for it (`Diagnosis.searches`). What was measured parts a search: places that
it speaks for unequally are searches of their own.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec.structs import replace

from tracer.faults.runs import Run, Runs
from tracer.inference.diagnosis import Diagnosis, Suspect

# ln likelihood of all that was seen, by which two places are no longer the same search.
_SEEN_APART: Final = 1.0
_WORTH: Final = 1e-5  # share below which nobody looks
_MOST_ENDS: Final = 3


def with_suspects(d: Diagnosis, runs: Runs) -> Diagnosis:
    """The diagnosis with its hypotheses counted by repair, the likeliest repair first, and the searches that they are
    part of."""
    by_repair: dict[str, list[int]] = {}
    for i in np.argsort(-d.share, kind="stable").tolist():
        by_repair.setdefault(d.hypotheses[i].repair, []).append(i)
    suspects = [
        Suspect(repair, float(d.share[rows].sum()), tuple(rows), d.hypotheses[rows[0]])
        for repair, rows in by_repair.items()
    ]
    suspects.sort(key=lambda s: -s.share)
    found: list[Suspect] = []
    for places in _searches(d, suspects, runs):
        whole = sum(s.share for s in places)
        words = _say(places, runs) if len(places) > 1 else ""
        for n, s in enumerate(places):
            along = tuple(o.repair for o in places if o is not s)
            found.append(replace(s, along=along, search=words, search_share=whole, leads=n == 0))
    found.sort(key=lambda s: -s.share)
    return replace(d, suspects=tuple(found))


def _searches(d: Diagnosis, suspects: list[Suspect], runs: Runs) -> list[list[Suspect]]:
    """Suspects by search, in the order in which their likeliest places come."""
    found: dict[Run, list[tuple[float, list[Suspect]]]] = {}
    out: list[list[Suspect]] = []
    for s in suspects:
        run = runs.of(s.best.faults[0]) if len(s.best.faults) == 1 and s.share > _WORTH else None
        if run is None:
            out.append([s])
            continue
        own, same = _fits(d, s, run, runs), found.setdefault(run, [])
        joined = next((places for level, places in same if abs(level - own) < _SEEN_APART), None)
        if joined is None:
            out.append([])
            same.append((own, out[-1]))
        (joined if joined is not None else out[-1]).append(s)
    return out


def _fits(d: Diagnosis, suspect: Suspect, run: Run, runs: Runs) -> float:
    """ln of how well what was seen fits a place, over all severities that are looked for along the run; all but what
    is the same for all places."""
    own = [i for i in suspect.rows if len(d.hypotheses[i].faults) == 1 and runs.of(d.hypotheses[i].faults[0]) == run]
    return float(np.log(d.share[own].sum() / sum(d.hypotheses[i].prior for i in own)))


def _say(places: list[Suspect], runs: Runs) -> str:
    """What is looked for, in words."""
    faults = [s.best.faults[0] for s in places]
    run = runs.of(faults[0])
    assert run is not None
    if run[0] == "short":
        colours = runs.colours(run)
        wires = f"the {colours[0]} wires" if len(colours) == 1 else "the wires"
        ends = runs.ends(run)[:_MOST_ENDS]
        at = f" at {' and '.join(ends)}" if ends else ""
        return f"find the short to the body on {wires}{at}: {len(places)} places"
    what = "the break" if run[0] == "break" else "the bad earth joint"
    return f"find {what} along one run: {len(places)} places"
