"""Who is planned with: the hypotheses that carry what matters, and which repair cures each."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from tracer.circuit.model import Change, Floats, Ints
from tracer.inference.diagnosis import Diagnosis

_REPAIRS = 24
_ROWS_A_REPAIR = 4
_COVER = 0.99


def rows_to_plan_with(diagnosis: Diagnosis) -> tuple[list[int], Floats]:
    """Rows to plan with and their shares: the likeliest severities of each repair that matters, which
    between them carry the repair's whole share."""
    rows: list[int] = []
    shares: list[float] = []
    described, covered = float(diagnosis.share.sum()), 0.0
    for suspect in diagnosis.suspects[:_REPAIRS]:
        kept = list(suspect.rows[:_ROWS_A_REPAIR])
        own = diagnosis.share[kept]
        rows += kept
        shares += list(own * (suspect.share / own.sum()))
        covered += suspect.share
        if covered > _COVER * described:
            break
    return rows, np.array(shares)


def cures(
    diagnosis: Diagnosis, rows: Sequence[int], tried: Collection[str] = ()
) -> tuple[list[str], Ints]:
    """Repairs to plan with, and which of them cures each row. Where two faults of one thing are the same to the
    current (a wire, and its leg in the splice), no test tells them apart and whoever opens one has the other in his
    hands: the likelier suspect's repair stands for both. Two things that are the same to the current (two wires of a
    splice, one of them rubbed through) are two repairs; the eye tells them apart. Several faults at once begin with
    the repair of the one that is likelier to stand alone and was not `tried`: it is right whether there is another or
    not, and nothing is renewed beside it before the lamps were looked at again."""
    alone = {s.repair: n for n, s in enumerate(diagnosis.suspects)}
    owners: dict[Change, list[tuple[set[str], str]]] = {}
    own: dict[int, str] = {}
    # The likelier fault of those that are the same to the current, not the likelier suspect: a splice that is led by
    # its corrosion does not stand for a wire that is broken.
    for i in sorted(rows, key=lambda i: -diagnosis.share[i]):
        h = diagnosis.hypotheses[i]
        members = list(dict.fromkeys(f.repair for f in h.defects))
        first = min(members, key=lambda r: (r in tried, alone.get(r, len(alone))))
        elements = {e for f in h.defects for e in f.elements}
        known = owners.setdefault(h.change, [])
        repair = next((r for things, r in known if things & elements), None)
        if repair is None:
            repair = first if first in alone else h.repair
            known.append((elements, repair))
        own[i] = repair
    repairs = list(dict.fromkeys(own[i] for i in rows))
    return repairs, np.array([repairs.index(own[i]) for i in rows])
