"""Several faults at once: the pairs and triples that are worth simulating."""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping, Sequence
from functools import cached_property
from itertools import combinations

import numpy as np

from tracer.circuit.model import Bools, Circuit, Floats
from tracer.faults import Fault, Variant
from tracer.harness.base_rates import BOTH_SIDES, DIFFERENCE_ALONE, FURTHER_FAULTS
from tracer.harness.lamp_purposes import other_side
from tracer.inference.branches import Branches
from tracer.inference.hypotheses import Hypothesis, together
from tracer.inference.pair_candidates import candidate_pairs, falling
from tracer.inference.search_bound import PAIR_MUST_GAIN
from tracer.inference.wiring_pairs import fed_there, relieved, wiring_pairs, with_second_deviation

Key = tuple[tuple[Variant, ...], float]  # of a hypothesis: its severities and how much of the time it shows
Weigh = Callable[[Sequence[Hypothesis]], Floats]

_MOST_PAIRS = 700
_FEW_PAIRS = 200  # where one fault alone explains everything
_NEARER_PAIRS = 5  # leading pairs whose neighbours, then whose severities are all tried
_NEAR_JOINTS = 3
_MOST_NEAR = 400  # faults, the nearest: more than near any on a vehicle, fewer than at a splice of 200 wires
_LEADING_SINGLES, _EACH_SEVERITY, _MOST_LEFT = 8, 2, 120  # for what lies near them without one of its lines
_BESIDE = float(np.log(DIFFERENCE_ALONE * FURTHER_FAULTS))  # ln of what a deviation's prior lacks beside a fault
_PAIRS_EXTENDED, _THIRDS = 40, 15  # pairs to which a third fault is added, and how many thirds each


class Several:
    """Candidates made of the single faults of one harness."""

    def __init__(self, circuit: Circuit, faults: Sequence[Fault]) -> None:
        self._circuit = circuit
        self._faults = faults
        self._branches = Branches(circuit, faults)

    def pairs(
        self, rows: Sequence[Hypothesis], gain: Floats, alive: Bools, weigh: Weigh, thorough: bool = True
    ) -> tuple[list[Hypothesis], Floats]:
        """Pairs that promise to explain more than one fault alone, and (E, pairs) ln probabilities.

        Args:
            rows: Single faults.
            gain: (P, H) ln likelihood of each thing said, less that of the healthy vehicle.
            alive: (H,) rows whose gains are known for everything.
            weigh: Gives (E, H) ln probabilities of the evidence.
            thorough: More of them, and what lies near the leading ones.
        """
        log_prior = np.log(np.maximum([h.prior for h in rows], 1e-300))
        log_prior = log_prior - np.where([bool(h.deviations) for h in rows], _BESIDE, 0.0)
        most = _MOST_PAIRS if thorough else _FEW_PAIRS
        chosen = candidate_pairs(gain, log_prior, [h.faults[0].name for h in rows], alive, most)
        first = [h for i, j in chosen if (h := self.both(rows[i], rows[j]))]
        known = {key_of(h) for h in first}
        wiring = [*wiring_pairs(rows, gain, alive, self.around, thorough), *self._without_a_line(rows, gain, alive)]
        if thorough:
            wiring += fed_there(rows, alive, self._lines_at(rows), self._circuit.harness.earths)
        for h in wiring:
            if key_of(h) not in known:
                known.add(key_of(h))
                first.append(h)
        weighed = weigh(first)
        if thorough:
            further = with_second_deviation(first, _score(first, weighed), rows, gain, alive)
            weighed = np.hstack([weighed, weigh(further)])
            first += further
        severities: dict[str, list[Hypothesis]] = {}
        for h in rows:
            severities.setdefault(h.faults[0].name, []).append(h)
        # What one fault hides from the other no estimate sees; but the leading pairs are near such a pair.
        for nearby in (self._with_neighbours, self._at_all_severities) if thorough else (self._at_all_severities,):
            leading = _leading(first, weighed)
            if not thorough:  # how bad a fault is beside a line that leads elsewhere the fault alone does not tell
                leading = [pair for pair in leading if pair[-1].rewired is not None and self._left_by(pair[-1])]
            more = nearby(leading, severities, {key_of(h) for h in first})
            weighed = np.hstack([weighed, weigh(more)])
            first += more
        return first, weighed

    def _without_a_line(self, rows: Sequence[Hypothesis], gain: Floats, alive: Bools) -> list[Hypothesis]:
        """What lies next to the leading single faults, as the point on which they are earthed, where a line that the
        file has there leads elsewhere, or one leads there that the file has elsewhere. A lamp bolted to an earth
        point from which its neighbour was taken off shows the same whether its own bolt is bad or the point."""
        lines = self._lines_at(rows)
        if not lines or not len(gain):
            return []
        plain = alive & np.array([not h.deviations for h in rows])
        level = np.where(plain, np.log(np.maximum([h.prior for h in rows], 1e-300)), -np.inf)
        best = falling(level + gain.sum(axis=0), _LEADING_SINGLES).tolist()
        lead = [rows[k].faults[0] for k in best]
        around = self._reached({n for f in lead for n in (f.node, *(f.across or ()))})
        near = {f.name for f in around if f.node in lines}
        found: dict[str, list[int]] = {}
        severe = {rows[k].variants[0].severity for k in best}
        alike = np.array([h.variants[0].severity in severe for h in rows])
        for k in np.lexsort((-np.where(plain, gain.sum(axis=0), -np.inf), ~alike)).tolist():
            own = found.setdefault(rows[k].faults[0].name, [])
            if plain[k] and rows[k].faults[0].name in near and len(own) < _EACH_SEVERITY:
                own.append(k)
        pairs = [(k, d) for own in found.values() for k in own for d in lines[rows[k].faults[0].node]]
        pairs.sort(key=lambda x: -round(float(level[x[0]]) + float(np.log(rows[x[1]].prior)), 6))
        made = (together(rows[k], rows[d]) for k, d in pairs[:_MOST_LEFT])
        return [*(h for h in made if h is not None), *relieved(rows, gain, alive, lines)]

    def _lines_at(self, rows: Sequence[Hypothesis]) -> dict[str, list[int]]:
        """The deviations by the points that they leave, and that they lead to."""
        lines: dict[str, list[int]] = {}
        for k, h in enumerate(rows):
            if h.deviations and (left := self._left_by(h.faults[0])):
                lines.setdefault(left, []).append(k)
                lines.setdefault(h.variants[0].change.added[0].b, []).append(k)
        return lines

    def _left_by(self, deviation: Fault) -> str:
        """The point to which a line does not lead, though the file says so; "" where it says nothing of a line."""
        change = deviation.variants[0].change
        if not change.set_ohm or not change.added:
            return ""
        at = self._circuit.branch_index.get(change.set_ohm[0][0])
        if at is None:
            return ""
        device = self._circuit.linear[at]
        return device.b if device.a == change.added[0].a else device.a

    def both(self, one: Hypothesis, two: Hypothesis) -> Hypothesis | None:
        """Two single faults at once, with how likely the second is once there is the first: in one branch, or the
        same on the other side of the vehicle, likelier than anywhere."""
        a, b = one.faults[0], two.faults[0]
        if a.rewired is not None or b.rewired is not None:  # which was there all along, wherever it lies
            return together(one, two)
        likelier = self._branches.likelier(a, b)
        if a.kind == b.kind in BOTH_SIDES and other_side(a.name) == b.name and _alike(one, two):
            likelier = max(likelier, BOTH_SIDES[a.kind] / (FURTHER_FAULTS * max(one.prior, two.prior)))
        return together(one, two, likelier=likelier)

    def triples(
        self, rows: Sequence[Hypothesis], gain: Floats, alive: Bools, pairs: Sequence[Hypothesis], weighed: Floats
    ) -> list[Hypothesis]:
        """The leading pairs, each with the faults that explain most of what it leaves unexplained."""
        where = {key_of(h): k for k, h in enumerate(rows)}
        weight = np.where(alive, np.log(np.maximum([h.prior for h in rows], 1e-300)), -np.inf)
        out: dict[frozenset[str], Hypothesis] = {}
        two = [k for k in np.argsort(-_score(pairs, weighed), kind="stable").tolist() if len(pairs[k].faults) == 2]
        for k in two[:_PAIRS_EXTENDED]:
            pair = pairs[k]
            members = [m for v in pair.variants for m in (where.get(((v,), pair.awake), where.get(((v,), 1.0))),)]
            has = np.max([gain[:, m] for m in members if m is not None] or [np.zeros(len(gain))], axis=0)
            promise = weight + np.maximum(gain - np.maximum(has, 0.0)[:, None], 0.0).sum(axis=0)
            for third in np.argsort(-promise, kind="stable")[:_THIRDS]:
                h = together(pair, rows[third])
                if h is not None:
                    out.setdefault(frozenset(f.name for f in h.faults), h)
        return list(out.values())

    def _with_neighbours(
        self, leading: Sequence[tuple[Fault, ...]], severities: Mapping[str, Sequence[Hypothesis]],
        done: Container[Key],
    ) -> list[Hypothesis]:
        """One of a pair exchanged for a fault close by in the circuit (an earth point for a lamp's own earth)."""
        found: dict[Key, Hypothesis] = {}
        for pair in leading:
            for kept, other in (pair, pair[::-1]) if len(pair) == 2 else ():
                one = max(severities[kept.name], key=lambda h: h.prior)
                for near in self._near(other):
                    for h in (severities[near.name][0], severities[near.name][-1]):
                        both = self.both(one, h)
                        if both and key_of(both) not in done:
                            found.setdefault(key_of(both), both)
        return list(found.values())

    def _at_all_severities(
        self, leading: Sequence[tuple[Fault, ...]], severities: Mapping[str, Sequence[Hypothesis]],
        done: Container[Key],
    ) -> list[Hypothesis]:
        return [
            h for pair in leading if len(pair) == 2 for a, b in [pair]
            for one in severities[a.name] for two in severities[b.name]
            if (h := self.both(one, two)) and key_of(h) not in done
        ]

    @cached_property
    def _at_node(self) -> tuple[dict[str, set[str]], dict[str, list[Fault]]]:
        """Neighbours of each node, and the faults at it; paths through the body do not count."""
        links: dict[str, set[str]] = {}
        bodies = set(self._circuit.harness.bodies())
        for d in self._circuit.linear:
            if d.a not in bodies and d.b not in bodies:
                links.setdefault(d.a, set()).add(d.b)
                links.setdefault(d.b, set()).add(d.a)
        at: dict[str, list[Fault]] = {}
        for f in self._faults:
            for node in {f.node, *(f.across or ())} - bodies:
                at.setdefault(node, []).append(f)
        return links, at

    def _near(self, fault: Fault) -> list[Fault]:
        """Faults within a few joints of a fault, not counting paths through the body."""
        return [f for f in self._reached({fault.node, *(fault.across or ())}) if f is not fault]

    def around(self, node: str) -> list[Fault]:
        """Faults within a few joints of a node, not counting paths through the body."""
        return self._reached({node})

    def _reached(self, nodes: set[str]) -> list[Fault]:
        links, at = self._at_node
        reached = nodes - set(self._circuit.harness.bodies())
        found = _at(reached, at)
        for _ in range(_NEAR_JOINTS):
            reached |= {n for node in reached for n in links.get(node, ())}
            before, found = found, _at(reached, at)
            if len(found) > _MOST_NEAR:
                return list(dict.fromkeys([*before, *found]))[:_MOST_NEAR]
        return found


def _at(nodes: set[str], faults: Mapping[str, Sequence[Fault]]) -> list[Fault]:
    return list(dict.fromkeys(f for node in sorted(nodes) for f in faults.get(node, ())))


def key_of(h: Hypothesis) -> Key:
    """The same for the same faults, whichever was found first."""
    if len(h.faults) < 2:
        return h.variants, h.awake
    order = sorted(range(len(h.faults)), key=lambda k: h.faults[k].name)
    return tuple(h.variants[k] for k in order), h.awake


def worth_keeping(extra: Sequence[Hypothesis], weighed: Floats, known: Mapping[Key, float]) -> list[int]:
    """Which of several faults together explain more than some of them do: the others add nothing but a guess."""
    out = []
    for k, (h, ll) in enumerate(zip(extra, weighed.sum(axis=0), strict=True)):
        own = key_of(h)[0]
        fewer = [v for size in range(1, len(own)) for v in combinations(own, size)]
        best = max((known[key] for v in fewer for key in ((v, h.awake), (v, 1.0)) if key in known), default=-np.inf)
        if ll > best + PAIR_MUST_GAIN:
            out.append(k)
    return out


def _alike(one: Hypothesis, two: Hypothesis) -> bool:
    """Of one severity, both lasting or both not."""
    return one.variants[0].says == two.variants[0].says and one.awake == two.awake


def _leading(pairs: Sequence[Hypothesis], weighed: Floats) -> list[tuple[Fault, ...]]:
    """The faults of the best pairs."""
    return list(dict.fromkeys(pairs[k].faults for k in falling(_score(pairs, weighed))))[:_NEARER_PAIRS]


def _score(rows: Sequence[Hypothesis], weighed: Floats) -> Floats:
    """ln posterior weight (H,), unscaled."""
    prior = np.log(np.maximum([h.prior for h in rows], 1e-300)) if rows else np.zeros(0)
    return np.asarray(weighed.sum(axis=0) + prior)
