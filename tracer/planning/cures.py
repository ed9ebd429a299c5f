"""Who is planned with: the hypotheses that carry what matters, and which repair cures each."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Change, Floats, Ints
from tracer.faults import Fault
from tracer.faults.mending import ORDERED, mended_by
from tracer.inference.diagnosis import Diagnosis
from tracer.planning.costs import PROVE_MIN, in_vain_minutes

_REPAIRS = 24
_ROWS_A_REPAIR = 4
_COVER = 0.99
_MOST_IN_TURN = 7  # repairs that mend faults of each other, of which the best order is found


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
    """Repairs to plan with, and which of them cures each row.

    A fault may be mended by several repairs (`faults.mending`): an eyelet by cleaning it, by remaking its earth
    point, by renewing its wire. Of repairs that share faults the orders are compared in which they could be tried one
    after the other, by expected minutes, and each fault counts for the first that mends it. Nothing that renews less
    stands for what renews more: to clean an eyelet mends no broken wire, however alike the two are to the current.
    Two faults of one thing that are the same to the current, of which neither repair holds the other (a lamp fitted
    the wrong way round, or dead), are one to plan with: whoever has the thing in his hands sees which.

    Several faults at once begin with the repair of the one that is likelier to stand alone and was not `tried`: it is
    right whether there is another or not, and nothing is renewed beside it before the lamps were looked at again.
    """
    ways = _ways(diagnosis, rows, tried)
    own: dict[int, str] = {}
    for group in _connected(ways):
        order = _in_turn({i: ways[i] for i in group}, diagnosis)
        for i in group:
            own[i] = next((r for r in order if r in ways[i].repairs), ways[i].repairs[0])
    repairs = list(dict.fromkeys(own[i] for i in rows))
    return repairs, np.array([repairs.index(own[i]) for i in rows])


class _Way(Struct, frozen=True):
    """One row: the fault that is mended first, and the repairs that mend it, its own first."""

    fault: Fault
    repairs: tuple[str, ...]


def _ways(diagnosis: Diagnosis, rows: Sequence[int], tried: Collection[str]) -> dict[int, _Way]:
    hypotheses = {i: diagnosis.hypotheses[i] for i in rows}
    alone = {s.repair: n for n, s in enumerate(diagnosis.suspects)}
    first = {
        i: min(h.defects, key=lambda f: (f.repair in tried, alone.get(f.repair, len(alone))))
        for i, h in hypotheses.items()
    }
    mends = mended_by(first.values())
    begun = {i: f.repair if f.repair in alone else hypotheses[i].repair for i, f in first.items()}
    same: dict[Change, list[tuple[set[str], str]]] = {}
    out: dict[int, _Way] = {}
    # The likelier fault of those that are the same to the current first: not the likelier suspect.
    for i in sorted(rows, key=lambda i: -diagnosis.share[i]):
        h, fault = hypotheses[i], first[i]
        repairs = (begun[i], *(r for r in mends[fault.name] if r != fault.repair and r not in tried))
        if fault.kind not in ORDERED:
            elements, alike = {e for f in h.defects for e in f.elements}, same.setdefault(h.change, [])
            stands = next((r for things, r in alike if things & elements), None)
            if stands is None:
                alike.append((elements, begun[i]))
            else:
                repairs = (stands,)
        out[i] = _Way(fault, repairs)
    return out


def _connected(ways: Mapping[int, _Way]) -> Iterator[list[int]]:
    """Rows that have a repair in common, or one with another that has."""
    groups: list[tuple[set[str], list[int]]] = []
    for i, way in ways.items():
        names, own = {*way.repairs}, [i]
        apart = []
        for group in groups:
            if group[0] & names:
                names, own = names | group[0], group[1] + own
            else:
                apart.append(group)
        groups = [*apart, (names, own)]
    yield from (own for _, own in groups)


def _in_turn(ways: Mapping[int, _Way], diagnosis: Diagnosis) -> list[str]:
    """The repairs of a few rows in the order that takes fewest minutes, if nothing but trying could part them."""
    price: dict[str, tuple[float, float]] = {}
    mended: dict[str, dict[int, float]] = {}
    for i, way in ways.items():
        vain = in_vain_minutes([way.fault])
        price.setdefault(way.repairs[0], (way.fault.repair_min + PROVE_MIN + vain, vain))
        for r in way.repairs:
            mended.setdefault(r, {})[i] = float(diagnosis.share[i])
    able = sorted((r for r in mended if r in price), key=lambda r: -sum(mended[r].values()))[:_MOST_IN_TURN]
    if len(able) < 2:
        return able
    total = {i: float(diagnosis.share[i]) for i in ways}

    @cache
    def best(done: frozenset[str]) -> tuple[float, tuple[str, ...]]:
        left = {i: p for i, p in total.items() if not any(i in mended[r] for r in done)}
        mass, found = sum(left.values()), (0.0, tuple[str, ...]())
        options = [(r, sum(left.get(i, 0.0) for i in mended[r])) for r in able if r not in done]
        options = [(r, p) for r, p in options if p > 0]
        if options:
            tried = []
            for r, p in options:
                minutes, order = best(done | {r})
                tried.append((price[r][0] * mass - price[r][1] * p + minutes, (r, *order)))
            found = min(tried)
        return found

    return list(best(frozenset())[1])
