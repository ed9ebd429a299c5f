"""A fault on a vehicle whose wiring is otherwise than its file says: which of the two go together.

A deviation mostly shows nothing by itself: a lamp earthed at another point works all the same. So no estimate from
what each does alone finds the pair; but where they can meet is known. Either the fault lies where the file has the
line, and the line does not suffer; or it lies where the line truly leads, and the line suffers from it.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping, Sequence
from typing import Final

import numpy as np

from tracer.circuit.model import Bools, Floats, Ints
from tracer.faults import Fault
from tracer.harness.base_rates import DIFFERENCE_ALONE
from tracer.harness.node import node_of
from tracer.inference.hypotheses import Hypothesis, together
from tracer.inference.pair_candidates import falling

_TOUCHES: Final = 0.05  # ln likelihood by which a line must matter to something that was told
_MOST_PAIRS: Final = 260
_RARE: Final = 0.02  # odds up to which a deviation is tried only where nothing else explains what was seen
_EACH: Final = 2  # severities of one fault beside one deviation
_HOPE: Final = 14.0  # ln by which a pair may promise less than the best single fault has
_MOST_LINES, _MOST_RELIEVED = 2, 40  # deviations beside one fault, and how many such faults are tried
_DEAD_LAMP: Final = ("filament open", "lamp missing")
_MOST_FED: Final = 240  # earth points with a line that leads there
_LEADING, _FURTHER = 8, 30  # pairs to which a second deviation is added, and how many


def odds_of(h: Hypothesis) -> float:
    """The odds of a deviation beside whatever else is wrong."""
    return h.prior / DIFFERENCE_ALONE


def wiring_pairs(
    rows: Sequence[Hypothesis], gain: Floats, alive: Bools, near: Callable[[str], Sequence[Fault]],
    thorough: bool = True,
) -> list[Hypothesis]:
    """Faults with deviations that they may act on, those that promise most.

    Args:
        rows, gain, alive: As in `Several.pairs`.
        near: The faults around a node.
        thorough: With the rare ones too, for what no single fault explains.
    """
    lines = [k for k, h in enumerate(rows) if h.deviations and (thorough or odds_of(h) > _RARE)]
    if not lines or not len(gain):
        return []
    suffers = _suffering(rows, gain, alive, {e for k in lines for e in _lines_of(rows[k].faults[0])})
    log_prior = np.log(np.maximum([h.prior for h in rows], 1e-300))
    plain = np.array([not h.deviations for h in rows]) & alive
    level = np.where(plain, log_prior, -np.inf)
    best = float((level + gain.sum(axis=0)).max())
    index: dict[str, list[int]] = {}
    for k, h in enumerate(rows):
        if plain[k]:
            index.setdefault(h.faults[0].name, []).append(k)
    found: list[tuple[float, int, int]] = []
    for d in lines:
        dead = np.max([suffers[e] for e in _lines_of(rows[d].faults[0]) if e in suffers] or [gain[:, d]], axis=0)
        met = np.abs(dead) > _TOUCHES
        if not met.any():
            continue
        odds = float(np.log(odds_of(rows[d])))
        # It shields: what the fault would do there it does not do.
        shielded = np.where(met[:, None], np.maximum(gain, 0.0), gain).sum(axis=0)
        acts = (np.abs(gain[met]) > _TOUCHES).any(axis=0)
        promise = np.where(acts, level + shielded + odds, -np.inf)
        # It suffers: what the fault does there, the line being dead is the least of it.
        there = _rows_at(rows[d].faults[0], index, near)
        if len(there):
            full = np.where(met[:, None], np.maximum(np.maximum(gain[:, there], dead[:, None]), 0.0), gain[:, there])
            promise[there] = np.maximum(promise[there], level[there] + full.sum(axis=0) + odds)
        order = falling(promise, 60)
        found += [(float(promise[k]), int(k), d) for k in order if promise[k] > best - _HOPE]
    return _distinct(found, rows)


def _lines_of(deviation: Fault) -> tuple[str, ...]:
    """The lengths of wire that matter where it does: those it stands for, or beside which it lies."""
    return (*deviation.elements, *(deviation.rewired.beside if deviation.rewired is not None else ()))


def _suffering(rows: Sequence[Hypothesis], gain: Floats, alive: Bools, elements: set[str]) -> Mapping[str, Floats]:
    """What is gained by each of these wires and bolts being bad, at its best."""
    out: dict[str, Floats] = {}
    for k, h in enumerate(rows):
        own = h.faults[0].elements
        if alive[k] and len(own) == 1 and own[0] in elements and not h.deviations:
            before = out.get(own[0])
            out[own[0]] = gain[:, k] if before is None else np.where(
                np.abs(before) > np.abs(gain[:, k]), before, gain[:, k])
    return out


def _rows_at(deviation: Fault, index: Mapping[str, Sequence[int]], near: Callable[[str], Sequence[Fault]]) -> Ints:
    """The faults around the point to which the line leads."""
    new = {x.b for x in deviation.variants[0].change.added}
    names = dict.fromkeys(f.name for node in sorted(new) for f in near(node))
    return np.array([k for n in names for k in index.get(n, ())], dtype=np.intp)


def _distinct(found: list[tuple[float, int, int]], rows: Sequence[Hypothesis]) -> list[Hypothesis]:
    taken: dict[tuple[str, str], int] = {}
    out: list[Hypothesis] = []
    for _, k, d in sorted(found, key=lambda x: -round(x[0], 6)):
        key = rows[k].faults[0].name, rows[d].faults[0].name
        if taken.get(key, 0) == _EACH:
            continue
        both = together(rows[k], rows[d])
        if both is not None:
            taken[key] = taken.get(key, 0) + 1
            out.append(both)
        if len(out) == _MOST_PAIRS:
            break
    return out


def relieved(
    rows: Sequence[Hypothesis], gain: Floats, alive: Bools, lines: Mapping[str, Sequence[int]]
) -> list[Hypothesis]:
    """Faults of a point with the lines that leave it, or lead there, which take away what speaks against the fault:
    one after the other, as long as each takes away more than it costs. With both rear lamps on another bolt, that
    the file's point is open hurts neither.

    Args:
        rows, gain, alive: As in `Several.pairs`.
        lines: The deviations by the points that they leave or lead to.
    """
    every = {d: _lines_of(rows[d].faults[0]) for own in lines.values() for d in own}
    suffers = _suffering(rows, gain, alive, {e for lengths in every.values() for e in lengths})
    spoken = _spoken_of(rows, gain, alive, {node_of(rows[d].faults[0].node).owner for d in every})
    met = {
        d: (np.abs(np.max([suffers[e] for e in lengths if e in suffers] or [gain[:, d]], axis=0)) > _TOUCHES)
        | spoken[node_of(rows[d].faults[0].node).owner] for d, lengths in every.items()
    }
    found: list[tuple[float, int, list[int]]] = []
    for k, h in enumerate(rows):
        if not alive[k] or h.deviations or not (gain[:, k] < -_TOUCHES).any():
            continue
        chosen, left, promise = list[int](), gain[:, k].copy(), float(np.log(max(h.prior, 1e-300)))
        open_ones = list(lines.get(h.faults[0].node, ()))
        while open_ones and len(chosen) < _MOST_LINES:
            worth = {d: float(np.maximum(-left[met[d]], 0.0).sum() + np.log(odds_of(rows[d]))) for d in open_ones}
            best = max(open_ones, key=lambda d: round(worth[d], 6))
            if worth[best] <= 0:
                break
            chosen.append(best)
            left = np.where(met[best], np.maximum(left, 0.0), left)
            promise += float(np.log(odds_of(rows[best])))
            taken = _line_of(rows[best])
            open_ones = [d for d in open_ones if _line_of(rows[d]) != taken]
        if chosen:
            found.append((promise + float(left.sum()), k, chosen))
    found.sort(key=lambda x: -round(x[0], 6))
    made = (together(rows[k], *(rows[d] for d in chosen)) for _, k, chosen in found[:_MOST_RELIEVED])
    return [h for h in made if h is not None]


def _spoken_of(
    rows: Sequence[Hypothesis], gain: Floats, alive: Bools, owners: set[str]
) -> Mapping[str, Bools]:
    """What was told that the lamps of a part matter to. One may burn through its neighbours while the earth wire is
    off, so that the wire alone does not say that the lamp hangs on it; a dead lamp does."""
    out = {owner: np.zeros(len(gain), dtype=bool) for owner in owners}
    for k, h in enumerate(rows):
        owner = node_of(h.faults[0].node).owner
        if alive[k] and owner in out and h.faults[0].kind in _DEAD_LAMP:
            out[owner] |= np.abs(gain[:, k]) > _TOUCHES
    return out


def fed_there(
    rows: Sequence[Hypothesis], alive: Bools, lines: Mapping[str, Sequence[int]], earths: Container[str]
) -> list[Hypothesis]:
    """Earth points that are bad with a line that leads there though the file has it elsewhere: what comes along it
    feeds all that hangs on the point. Neither shows that alone, so that nothing is to be estimated from."""
    found: list[tuple[float, int, int]] = []
    taken: dict[str, int] = {}
    for k in np.lexsort((-np.array([h.prior for h in rows]),)).tolist():
        own = rows[k].faults[0]
        if not alive[k] or rows[k].deviations or own.node not in earths or taken.get(own.name, 0) == _EACH:
            continue
        taken[own.name] = taken.get(own.name, 0) + 1
        found += [(rows[k].prior * odds_of(rows[d]), k, d) for d in lines.get(own.node, ())
                  if rows[d].variants[0].change.added[0].b == own.node]
    found.sort(key=lambda x: -x[0])
    made = (together(rows[k], rows[d]) for _, k, d in found[:_MOST_FED])
    return [h for h in made if h is not None]


def _line_of(h: Hypothesis) -> str:
    own = h.faults[0].rewired
    return own.line if own is not None else ""


def with_second_deviation(
    pairs: Sequence[Hypothesis], score: Floats, rows: Sequence[Hypothesis], gain: Floats, alive: Bools
) -> list[Hypothesis]:
    """The leading pairs of a fault and a deviation, each with a further deviation that may mend what the pair still
    has against it: one whose line matters to that."""
    leading = [k for k in falling(score).tolist() if pairs[k].deviations and len(pairs[k].faults) == 2][:_LEADING]
    lines = [k for k, h in enumerate(rows) if h.deviations]
    if not leading or len(lines) < 2:
        return []
    suffers = _suffering(rows, gain, alive, {e for k in lines for e in _lines_of(rows[k].faults[0])})
    where = {id(h.variants[0]): k for k, h in enumerate(rows)}
    dead = {
        d: np.max([suffers[e] for e in _lines_of(rows[d].faults[0]) if e in suffers] or [gain[:, d]], axis=0)
        for d in lines
    }
    out = []
    for k in leading:
        members = [where[id(v)] for v in pairs[k].variants if id(v) in where]
        fault = next((m for m in members if not rows[m].deviations), None)
        first = next((m for m in members if rows[m].deviations), None)
        if fault is None or first is None:
            continue
        own = np.where(np.abs(dead[first]) > _TOUCHES, np.maximum(gain[:, fault], 0.0), gain[:, fault])
        against, here = np.maximum(-own, 0.0), {f.rewired.line for f in pairs[k].deviations if f.rewired is not None}
        promise = {
            d: float(np.log(odds_of(rows[d])) + against[np.abs(dead[d]) > _TOUCHES].sum()) for d in lines
            if getattr(rows[d].faults[0].rewired, "line", "") not in here
        }
        for d in sorted(promise, key=lambda d: -round(promise[d], 6))[:_FURTHER]:
            three = together(pairs[k], rows[d])
            if three is not None:
                out.append(three)
    return out
