"""From evidence to suspects: every fault and the pairs that matter, weighed and counted by repair."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from tracer.base_rates import FURTHER_FAULTS, UNDESCRIBED
from tracer.changes import ChangeTable
from tracer.circuit import NO_CHANGE, OPEN_OHM, Change, Floats, Ints, Setup
from tracer.evidence import Evidence, FuseSeen, LampSeen, Reading, Symptom, Test
from tracer.faults import Fault, Variant, list_faults
from tracer.harness import Harness, VehicleState
from tracer.likelihood import (
    fuse_loglik,
    lamp_loglik,
    others_loglik,
    undescribed_seen,
    undescribed_value,
    value_loglik,
)
from tracer.pairs import candidate_pairs
from tracer.predictions import Panel, Predictor
from tracer.ranking import posterior

# A hypothesis this far (natural log) behind the best is not simulated for further evidence: four
# plain contradictions behind. A single fault that explains something may yet be half of a pair.
_HOPELESS = 25.0
_EXPLAINS = 3.0  # ln likelihood gained over a healthy vehicle
_ALL_IN_STATES = 6  # states in which every single fault is simulated, the oddest first
_MOST_PAIRS = 700
_NEARER_PAIRS = 5  # leading pairs whose neighbours, then whose severities are all tried
_NEAR_JOINTS = 3
_PAIR_MUST_GAIN = 1.5  # ln likelihood that a pair must gain over its better member
_BLOWN_STAYS = 0.75  # share of shorts met with the fuse already blown


@dataclass(frozen=True)
class Hypothesis:
    """One or several faults at given severities. `prior` is relative."""

    faults: tuple[Fault, ...]
    variants: tuple[Variant, ...]
    prior: float

    @property
    def change(self) -> Change:
        total = NO_CHANGE
        for v in self.variants:
            total = total | v.change
        return total

    @property
    def repair(self) -> str:
        return " and ".join(sorted({f.repair for f in self.faults}))

    @property
    def repair_min(self) -> float:
        return sum({f.repair: f.repair_min for f in self.faults}.values())

    def says(self) -> str:
        said = []
        for f, v in zip(self.faults, self.variants, strict=True):
            said.append(f.says + (f" ({v.says})" if v.says and v.says != "open" else ""))
        return "; and ".join(said)


@dataclass(frozen=True)
class Suspect:
    """Hypotheses with one repair, counted together.

    Attributes:
        repair: What one would do.
        share: Posterior probability.
        rows: Indices into `Diagnosis.hypotheses`, likeliest first.
        best: The likeliest hypothesis.
        alike: Repairs of other suspects that look the same in every vehicle state.
    """

    repair: str
    share: float
    rows: tuple[int, ...]
    best: Hypothesis
    alike: tuple[str, ...] = ()


@dataclass(frozen=True)
class Diagnosis:
    """All hypotheses weighed against all evidence.

    Attributes:
        loglik: (E, H) ln probability of each piece of evidence under each hypothesis.
        share: (H,) posterior; with `undescribed` it sums to one.
        healthy: (E,) ln probability of the evidence on a healthy vehicle.
        beyond: (E,) ln probability under "not described by the harness file".
    """

    predictor: Predictor
    evidence: tuple[Evidence, ...]
    hypotheses: tuple[Hypothesis, ...]
    loglik: Floats
    share: Floats
    undescribed: float
    healthy: Floats
    beyond: Floats
    suspects: tuple[Suspect, ...] = field(default=())

    @cached_property
    def nothing_fits(self) -> bool:
        """No described hypothesis explains the evidence better than no explanation at all."""
        return self.undescribed > 0.5

    @cached_property
    def as_when_healthy(self) -> bool:
        """The healthy vehicle does all that was seen, as well as any fault explains it: no part has failed."""
        if not self.evidence:
            return False
        whole = float(self.healthy.sum())
        return bool(whole > self.loglik.sum(axis=0).max() - 1.0 and whole > self.beyond.sum())

    def contradictions(self) -> tuple[tuple[int, int], ...]:
        """Pairs of evidence about one lamp in one state that exclude each other."""
        clashes = []
        for i, j in combinations(range(len(self.evidence)), 2):
            one, two = self.evidence[i], self.evidence[j]
            if not (isinstance(one, Symptom) and isinstance(two, Symptom)) or one.state != two.state:
                continue
            for a in one.seen:
                for b in two.seen:
                    if isinstance(a, LampSeen) and isinstance(b, LampSeen) and _exclude(a, b):
                        clashes.append((i, j))
        return tuple(dict.fromkeys(clashes))


def _exclude(a: LampSeen, b: LampSeen) -> bool:
    """Two looks at one lamp that cannot both be right."""
    flashes = a.flash is not None and b.flash is not None and (a.flash == "steady") != (b.flash == "steady")
    return a.lamp == b.lamp and (not a.words & b.words or flashes)


class Investigator:
    """Holds a harness's faults and predictor; weighs evidence as often as asked."""

    def __init__(self, harness: Harness, supply_v: float | None = None) -> None:
        self.harness = harness
        self.supply_v = supply_v
        self.predictor = Predictor(harness, supply_v)
        self.faults = list_faults(harness)
        self._singles: tuple[Hypothesis, ...] | None = None
        self._at_node: tuple[dict[str, set[str]], dict[str, list[Fault]]] | None = None

    @property
    def singles(self) -> tuple[Hypothesis, ...]:
        """Every fault at every severity; shorts also with the fuse they blow left blown."""
        if self._singles is None:
            total = sum(f.rate for f in self.faults)
            plain = [
                Hypothesis((f,), (v,), f.rate / total * v.weight) for f in self.faults for v in f.variants
            ]
            self._singles = self._with_blown_fuses(plain)
        return self._singles

    def _with_blown_fuses(self, plain: list[Hypothesis]) -> tuple[Hypothesis, ...]:
        joins = [i for i, h in enumerate(plain) if h.variants[0].change.added and not h.variants[0].change.set_ohm]
        table = self.predictor.table([plain[i].change for i in joins])
        blown = np.zeros((len(joins), len(self.predictor.fuses)), dtype=bool)
        for state in basic_states(self.harness):
            blown |= self.predictor.settled(self.predictor.setup(state), table).blown
        out = list(plain)
        for i, row in zip(joins, blown, strict=True):
            if not row.any():
                continue
            names = [f for f, b in zip(self.predictor.fuses, row, strict=True) if b]
            h, v = plain[i], plain[i].variants[0]
            links = Change(set_ohm=tuple((f"{n} link", OPEN_OHM) for n in names))
            says = "; ".join(filter(None, [v.says, f"which has blown {' and '.join(names)}"]))
            stays = Variant(v.weight, v.change | links, says)
            out[i] = Hypothesis(h.faults, h.variants, h.prior * (1 - _BLOWN_STAYS))
            out.append(Hypothesis(h.faults, (stays,), h.prior * _BLOWN_STAYS))
        return tuple(out)

    def diagnose(
        self, evidence: Sequence[Evidence], pairs: bool = True, discount: Mapping[str, float] | None = None
    ) -> Diagnosis:
        """Weigh every single fault, and the pairs that matter, against the evidence. `discount`: factor on
        the prior of a repair that was made and did not help."""
        beyond = np.array([undescribed_loglik(e, self.predictor) for e in evidence])
        healthy = self._weigh([Hypothesis((), (), 1.0)], evidence)[:, 0]
        rows = list(self.singles)
        parts: list[tuple[Ints, Floats]] = []
        loglik = self._weigh(rows, evidence, healthy, parts if pairs else None)
        if pairs and len(evidence):
            extra, weighed = self._pairs(parts, evidence, healthy)
            alone = dict(zip((h.variants[0] for h in rows), loglik.sum(axis=0), strict=True))
            together = weighed.sum(axis=0)
            # A pair that explains no more than one of its members adds nothing but a guess.
            worth = [
                k for k, h in enumerate(extra)
                if together[k] > max(alone[v] for v in h.variants) + _PAIR_MUST_GAIN
            ]
            rows += [extra[k] for k in worth]
            loglik = np.hstack([loglik, weighed[:, worth]])
        factor = discount or {}
        prior = np.array([h.prior * factor.get(h.repair, 1.0) for h in rows])
        result = posterior(prior, loglik, UNDESCRIBED, beyond)
        diagnosis = Diagnosis(
            self.predictor, tuple(evidence), tuple(rows), loglik, result.share, result.undescribed, healthy, beyond
        )
        return _with_suspects(diagnosis)

    def loglik_of(self, hypotheses: Sequence[Hypothesis], item: Evidence) -> Floats:
        """ln probability (H,) of one piece of evidence under given hypotheses (severities of a fault in order)."""
        return np.asarray(self._weigh(hypotheses, [item])[0])

    def _weigh(
        self, rows: Sequence[Hypothesis], evidence: Sequence[Evidence], healthy: Floats | None = None,
        parts: list[tuple[Ints, Floats]] | None = None,
    ) -> Floats:
        """ln probabilities (E, H). With `healthy`, the same of a healthy vehicle, the oddest evidence is
        weighed first. `parts` is filled with the rows still simulated and their gain over the healthy vehicle
        (N, rows), thing by thing; then a row that explains something is kept however badly it fits."""
        if not rows or not evidence:
            return np.zeros((len(evidence), len(rows)))
        # Faults that change the same thing (a wire and its leg in a splice) are simulated once.
        found: dict[Change, int] = {}
        one_of = np.array([found.setdefault(h.change, len(found)) for h in rows], dtype=np.intp)
        changes = list(found)
        table = self.predictor.table(changes)
        prev, following = _neighbours(rows, one_of)
        total = np.full(len(changes), -np.inf)
        np.maximum.at(total, one_of, np.log(np.maximum([h.prior for h in rows], 1e-300)))
        out = np.zeros((len(evidence), len(changes)))
        active = np.arange(len(changes))
        panels: dict[VehicleState, tuple[Ints, Panel]] = {}
        looks: dict[Setup, tuple[Ints, Panel]] = {}
        values: dict[Test, tuple[Ints, Floats]] = {}
        gained = np.zeros(len(changes))
        for e in range(len(evidence)) if healthy is None else np.argsort(healthy, kind="stable"):
            item = evidence[e]
            out[e] = undescribed_loglik(item, self.predictor)  # what a hopeless row keeps
            if isinstance(item, Symptom):
                panel = self._panel(item.state, table, active, panels)
                said = symptom_parts(self.predictor, panel, item)
                usual = symptom_parts(self.predictor, self.predictor.healthy(item.state), item)
            else:
                if item.test.kind == "look":
                    panel, seen = self._look(item.test, changes, active, looks), item.value.seen
                    own = lamp_loglik(panel, self.predictor, seen) if seen else np.zeros(len(active))
                else:
                    predicted = self._observed(item.test, changes, active, values)
                    own = self._reading_loglik(item, predicted, active, prev, following)
                said = own[None]
                usual = np.full((1, 1), 0.0 if healthy is None else healthy[e])
            ll = said.sum(axis=0)
            out[e, active] = ll
            total[active] += ll
            hopeful = total[active] > total[active].max() - _HOPELESS
            if parts is not None:
                theirs = np.flatnonzero(np.isin(one_of, active))
                parts.append((theirs, (said - usual)[:, np.searchsorted(active, one_of[theirs])]))
                gained[active] += np.maximum(said - usual, 0.0).sum(axis=0)
                hopeful |= (gained[active] > _EXPLAINS) | (len(panels) < _ALL_IN_STATES)
            active = active[hopeful]
        return np.asarray(out[:, one_of])

    # What a set-up shows does not change however often it is looked at: one solution serves every entry of a
    # job. Rows are only ever dropped, so that what was solved for more of them holds for those left.

    def _panel(
        self, state: VehicleState, table: ChangeTable, active: Ints, known: dict[VehicleState, tuple[Ints, Panel]]
    ) -> Panel:
        if state not in known:
            known[state] = (active, self.predictor.panel(self.predictor.setup(state), table.rows(active)))
        solved, panel = known[state]
        return panel if len(solved) == len(active) else panel.rows(np.searchsorted(solved, active))

    def _look(
        self, test: Test, changes: Sequence[Change], active: Ints, known: dict[Setup, tuple[Ints, Panel]]
    ) -> Panel:
        done = test.change(self.predictor.circuit)
        setup = self.predictor.setup(test.state, done)
        if setup not in known:
            table = self.predictor.table([changes[i] for i in active], done)
            known[setup] = (active, self.predictor.panel(setup, table))
        solved, panel = known[setup]
        return panel if len(solved) == len(active) else panel.rows(np.searchsorted(solved, active))

    def _observed(
        self, test: Test, changes: Sequence[Change], active: Ints, known: dict[Test, tuple[Ints, Floats]]
    ) -> Floats:
        if test not in known:
            known[test] = (active, self.predictor.observed(test, [changes[i] for i in active]))
        solved, values = known[test]
        return values if len(solved) == len(active) else values[np.searchsorted(solved, active)]

    def _reading_loglik(
        self, item: Reading, predicted: Floats, active: Ints, prev: Ints, following: Ints
    ) -> Floats:
        p, f = _among(active, prev), _among(active, following)
        return value_loglik(
            predicted, item.value, item, self.predictor.emf, self.predictor.supply_measured, p, f
        )

    def _pairs(
        self, parts: Sequence[tuple[Ints, Floats]], evidence: Sequence[Evidence], healthy: Floats
    ) -> tuple[list[Hypothesis], Floats]:
        """Pairs that promise to explain more than one fault alone, and (E, pairs) ln probabilities."""
        singles = self.singles
        gain = np.zeros((sum(len(g) for _, g in parts), len(singles)))
        alive = np.zeros(len(singles), dtype=bool)
        row = 0
        for active, g in parts:
            gain[row : row + len(g), active] = g
            row += len(g)
        if parts:
            alive[parts[-1][0]] = True
        log_prior = np.log(np.maximum([h.prior for h in singles], 1e-300))
        chosen = candidate_pairs(gain, log_prior, [h.faults[0].name for h in singles], alive, _MOST_PAIRS)
        first = [h for i, j in chosen if (h := _together(singles[i], singles[j]))]
        weighed = self._weigh(first, evidence, healthy)
        # What one fault hides from the other no estimate sees; but the leading pairs are near such a pair.
        for nearby in (self._with_neighbours, self._at_all_severities):
            more = nearby(_leading(first, weighed), {h.variants for h in first})
            weighed = np.hstack([weighed, self._weigh(more, evidence, healthy)])
            first += more
        return first, weighed

    @cached_property
    def _severities(self) -> dict[str, list[Hypothesis]]:
        found: dict[str, list[Hypothesis]] = {}
        for h in self.singles:
            found.setdefault(h.faults[0].name, []).append(h)
        return found

    def _at_all_severities(
        self, leading: Sequence[tuple[Fault, ...]], done: Container[tuple[Variant, ...]]
    ) -> list[Hypothesis]:
        return [
            h for a, b in leading for one in self._severities[a.name] for two in self._severities[b.name]
            if (h := _together(one, two)) and h.variants not in done
        ]

    def _with_neighbours(
        self, leading: Sequence[tuple[Fault, ...]], done: Container[tuple[Variant, ...]]
    ) -> list[Hypothesis]:
        """One of a pair exchanged for a fault close by in the circuit (an earth point for a lamp's own earth)."""
        found: dict[tuple[Variant, ...], Hypothesis] = {}
        for pair in leading:
            for kept, other in (pair, pair[::-1]):
                one = max(self._severities[kept.name], key=lambda h: h.prior)
                for near in self._near(other):
                    for h in (self._severities[near.name][0], self._severities[near.name][-1]):
                        both = _together(one, h)
                        if both and both.variants not in done:
                            found.setdefault(both.variants, both)
        return list(found.values())

    def _near(self, fault: Fault) -> list[Fault]:
        """Faults within a few joints of a fault, not counting paths through the body."""
        if self._at_node is None:
            links: dict[str, set[str]] = {}
            bodies = set(self.harness.bodies())
            for d in self.predictor.circuit.linear:
                if d.a not in bodies and d.b not in bodies:
                    links.setdefault(d.a, set()).add(d.b)
                    links.setdefault(d.b, set()).add(d.a)
            at: dict[str, list[Fault]] = {}
            for f in self.faults:
                for node in {f.node, *(f.across or ())} - bodies:
                    at.setdefault(node, []).append(f)
            self._at_node = links, at
        links, at = self._at_node
        reached = {fault.node, *(fault.across or ())} - set(self.harness.bodies())
        for _ in range(_NEAR_JOINTS):
            reached |= {n for node in reached for n in links.get(node, ())}
        return list(dict.fromkeys(f for node in sorted(reached) for f in at.get(node, ()) if f is not fault))


def _leading(pairs: Sequence[Hypothesis], weighed: Floats) -> list[tuple[Fault, ...]]:
    """The faults of the best pairs."""
    if not pairs:
        return []
    score = weighed.sum(axis=0) + np.log(np.maximum([h.prior for h in pairs], 1e-300))
    return list(dict.fromkeys(pairs[k].faults for k in np.argsort(-score)))[:_NEARER_PAIRS]


def _together(one: Hypothesis, two: Hypothesis) -> Hypothesis | None:
    """Both faults at once; None where they are faults of the same thing."""
    if set(one.faults[0].elements) & set(two.faults[0].elements):
        return None
    prior = one.prior * two.prior * FURTHER_FAULTS
    return Hypothesis((*one.faults, *two.faults), (*one.variants, *two.variants), prior)


def symptom_parts(predictor: Predictor, panel: Panel, symptom: Symptom) -> Floats:
    """ln probability (N, H) of each thing said in one symptom."""
    healthy = predictor.healthy(symptom.state)
    rows = [
        lamp_loglik(panel, predictor, seen, healthy) if isinstance(seen, LampSeen)
        else fuse_loglik(panel, predictor, seen)
        for seen in symptom.seen
    ]
    if symptom.others_normal:
        rows.append(others_loglik(panel, healthy, predictor, symptom.lamps_named()))
    return np.array(rows, dtype=float).reshape(-1, len(panel.flux))


def basic_states(harness: Harness) -> list[VehicleState]:
    """Everything at its assumed position, and each control in each of its other positions."""
    states = [harness.state({})]
    for control in harness.controls.values():
        for position in control.positions:
            if position != control.assumed:
                states.append(harness.state({control.name: position}))
    return list(dict.fromkeys(states))


def undescribed_loglik(item: Evidence, predictor: Predictor) -> float:
    """ln probability of a piece of evidence under "not described by the harness file"."""
    if isinstance(item, Symptom):
        return undescribed_seen(item.seen, item.others_normal)
    if item.test.kind == "look":
        seen: Iterable[LampSeen | FuseSeen] = [item.value.seen] if item.value.seen else []
        return undescribed_seen(list(seen), False)
    return undescribed_value(item.value, item.test.kind, predictor.emf)


def _neighbours(rows: Sequence[Hypothesis], one_of: Ints) -> tuple[Ints, Ints]:
    """For each change (`one_of` gives the change of a row) that of the same fault at the next lower and higher
    severity (itself at the ends)."""
    count = int(one_of.max(initial=-1)) + 1
    prev, following = np.arange(count), np.arange(count)
    for i in range(1, len(rows)):
        same = len(rows[i].faults) == 1 and rows[i].faults == rows[i - 1].faults
        if same and len(rows[i].faults[0].variants) > 2:
            prev[one_of[i]], following[one_of[i - 1]] = one_of[i - 1], one_of[i]
    return prev, following


def _among(active: Ints, neighbour: Ints) -> Ints:
    """For each active row the place of its neighbour among the active ones; its own if that was dropped."""
    wanted = neighbour[active]
    at = np.minimum(np.searchsorted(active, wanted), len(active) - 1)
    return np.where(active[at] == wanted, at, np.arange(len(active)))


def _with_suspects(d: Diagnosis) -> Diagnosis:
    by_repair: dict[str, list[int]] = {}
    for i in np.argsort(-d.share, kind="stable"):
        by_repair.setdefault(d.hypotheses[i].repair, []).append(int(i))
    suspects = [
        Suspect(repair, float(d.share[rows].sum()), tuple(rows), d.hypotheses[rows[0]])
        for repair, rows in by_repair.items()
    ]
    suspects.sort(key=lambda s: -s.share)
    return replace(d, suspects=tuple(suspects))
