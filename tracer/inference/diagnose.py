"""From evidence to suspects: every fault and the pairs that matter, weighed and counted by repair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np

from tracer.cache import Kept
from tracer.circuit.change_table import ChangeTable
from tracer.circuit.model import NO_CHANGE, Bools, Change, Floats, Ints, Setup, distinct
from tracer.faults import Variant, list_faults
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.model import Harness, VehicleState
from tracer.inference.battery_voltage import FACTORS, SupplyDoubt
from tracer.inference.bayes import posterior
from tracer.inference.diagnosis import Diagnosis, with_suspects
from tracer.inference.hypotheses import Hypothesis, by_change, single_hypotheses, with_loose_contacts
from tracer.inference.likelihood import (
    as_meant,
    by_permanence,
    carelessly,
    contradicted,
    look_loglik,
    note_said,
    symptom_parts,
    undescribed_loglik,
    value_loglik,
    wiggled_loglik,
)
from tracer.inference.multiple_faults import Several, key_of, worth_keeping
from tracer.inference.repeated_judgements import SaidBefore, cells_of
from tracer.inference.search_bound import Search, as_share, gains, left_out_loglik
from tracer.inference.unmodelled_cause import Undescribed
from tracer.inference.visual_inspection import found_loglik, hand_chances, shows_in
from tracer.inference.word_model import CARELESS_SHARE, SHIFT_WEIGHTS, SHIFTS, UNSHIFTED, Eye
from tracer.observation.consistency import comes_and_goes, first_said
from tracer.observation.evidence import Evidence, Reading, Symptom, Test, Value, by_hand
from tracer.observation.forward_model import Panel, Predictor

# A hypothesis this far (natural log) behind the best is not simulated for further evidence: four
# plain contradictions behind. A single fault that explains something may yet be half of a pair.
_HOPELESS = 25.0
_EXPLAINS = 3.0  # ln likelihood gained over a healthy vehicle
_ALL_IN_STATES = 6  # states in which every single fault is simulated, the oddest first


class Investigator:
    """Holds a harness's faults and predictor; weighs evidence as often as asked."""

    def __init__(self, harness: Harness, supply_v: float | None = None, kept: Kept | None = None) -> None:
        self.harness = harness
        self.kept = kept or Kept()
        self.supply_v = supply_v
        self.predictor = Predictor(harness, supply_v)
        self._steps: dict[Test, dict[Variant, tuple[float, float]]] = {}
        self.faults = list_faults(harness)
        self._several = Several(self.predictor.circuit, self.faults)
        self._singles: tuple[Hypothesis, ...] | None = None

    @property
    def singles(self) -> tuple[Hypothesis, ...]:
        """Every fault at every severity; shorts also with the fuse they blow left blown."""
        if self._singles is None:
            self._singles = single_hypotheses(self.faults, self.predictor, self.kept)
        return self._singles

    def diagnose(
        self, evidence: Sequence[Evidence], pairs: bool = True, discount: Mapping[str, float] | None = None,
        triples: bool = False,
    ) -> Diagnosis:
        """Weigh every single fault, and the pairs (and triples) that matter, against the evidence. `discount`:
        factor on the prior of a repair that was made and did not help."""
        whole, evidence = evidence, [as_meant(e, self.predictor) for e in evidence]
        fresh = first_said(evidence)
        evidence = [evidence[e] for e in fresh]
        tried, left_out = 0, -np.inf
        random = np.array([undescribed_loglik(e, self.predictor) for e in evidence])
        undescribed = Undescribed(self.predictor)
        beyond = np.array([undescribed.weigh(e) for e in evidence])
        healthy = self._weigh([Hypothesis((), (), 1.0)], evidence)[:, 0]
        rows = with_loose_contacts(self.singles) if comes_and_goes(evidence) else list(self.singles)
        parts: list[tuple[Ints, Floats, float]] = []
        loglik = self._weigh(rows, evidence, healthy, parts if pairs else None)
        if pairs and len(evidence):
            known = {key_of(h): float(ll) for h, ll in zip(rows, loglik.sum(axis=0), strict=True)}
            gain, alive = gains(rows, parts)
            lead = int(np.argmax(loglik.sum(axis=0) + np.log(np.maximum([h.prior for h in rows], 1e-300))))
            own = loglik[:, lead]
            unexplained = bool(own.sum() < -3.0 - 0.5 * len(own)) or bool(contradicted(own, random).any())
            extra, weighed = self._several.pairs(
                rows, gain, alive, lambda h: self._weigh(h, evidence, healthy), thorough=unexplained or triples
            )
            tried = len(extra)
            # `gain` is that of a careful observer, so the healthy vehicle is weighed by the same eyes here.
            careful = sum(usual for _, _, usual in parts)
            left_out = left_out_loglik(rows, gain, alive, extra, careful)
            worth = worth_keeping(extra, weighed, known)
            if triples:
                known |= {key_of(h): float(ll) for h, ll in zip(extra, weighed.sum(axis=0), strict=True)}
                third = self._several.triples(rows, gain, alive, extra, weighed)
                weighed_third = self._weigh(third, evidence, healthy)
                worth += [len(extra) + k for k in worth_keeping(third, weighed_third, known)]
                extra, weighed = [*extra, *third], np.hstack([weighed, weighed_third])
            rows += [extra[k] for k in worth]
            loglik = np.hstack([loglik, weighed[:, worth]])
        factor = discount or {}
        prior = np.array([h.prior * factor.get(h.repair, 1.0) for h in rows])
        result = posterior(prior, loglik, UNDESCRIBED, beyond)
        # What was said again tells nothing new: probability one beside what was said before.
        parted = (_spread(part, fresh, len(whole)) for part in (loglik, healthy, beyond, random))
        loglik, healthy, beyond, random = parted
        diagnosis = Diagnosis(
            self.predictor, tuple(whole), tuple(rows), loglik, result.share, result.undescribed, healthy, beyond,
            random, Search(len(self.faults), tried, as_share(left_out, prior, result.log_evidence), triples),
        )
        return with_suspects(diagnosis)

    def loglik_of(self, hypotheses: Sequence[Hypothesis], item: Evidence) -> Floats:
        """ln probability (H,) of one piece of evidence under given hypotheses (severities of a fault in order)."""
        return np.asarray(self._weigh(hypotheses, [as_meant(item, self.predictor)])[0])

    def _weigh(
        self, rows: Sequence[Hypothesis], evidence: Sequence[Evidence], healthy: Floats | None = None,
        parts: list[tuple[Ints, Floats, float]] | None = None,
    ) -> Floats:
        """ln probabilities (E, H). With `healthy`, the same of a healthy vehicle, the oddest evidence is
        weighed first. `parts` is filled with the rows still simulated, their gain over the healthy vehicle
        (N, rows), thing by thing, and how likely all that is on a healthy vehicle; then a row that explains something
        is kept however badly it fits."""
        if not rows or not evidence:
            return np.zeros((len(evidence), len(rows)))
        changes, one_of = by_change(rows)
        table = self.predictor.table(changes)
        prev, following = _neighbours(rows, one_of)
        single = all(len(h.faults) <= 1 for h in rows)
        row_of = np.zeros(len(changes), dtype=np.intp)  # a row of each change
        row_of[one_of] = np.arange(len(rows))
        total = np.log(np.maximum([h.prior for h in rows], 1e-300))
        loose = np.array([h.awake < 1 for h in rows])
        out = np.zeros((len(evidence), len(rows)))
        kept = np.arange(len(rows))
        panels: dict[VehicleState, tuple[Ints, Panel]] = {}
        looks: dict[Setup, tuple[Ints, Panel]] = {}
        values: dict[Test, tuple[Ints, Floats]] = {}
        weighed: dict[tuple[Test, Value], tuple[Ints, Floats]] = {}
        stepped: set[Test] = set()
        gained = np.zeros(len(rows))
        supply = SupplyDoubt(len(changes))
        one, lamps = np.zeros(1, dtype=np.intp), len(self.predictor.lamps)
        said_of, usually_said = SaidBefore(len(changes), lamps), SaidBefore(1, lamps)
        # (S, H) ln weight of each kind of observer, with what was seen so far: three eyes, and a careless one.
        observers = np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)
        observer = np.repeat(np.log(observers)[:, None], len(rows), axis=1)
        active, at = np.unique(one_of, return_inverse=True)
        nears: dict[Test, Floats] = {}  # as long as the same rows are active
        for e in _order(evidence, healthy):
            item, moved = evidence[e], None
            if by_hand(item):
                continue
            if isinstance(item, Symptom):
                panel_of = partial(self._panel, table=table, active=active, known=panels)
                cells, sound = (cells_of(f(item.state).flux) for f in (panel_of, self.predictor.healthy))
                before = said_of.recall(cells, active, item.light)
                usually = usually_said.recall(sound, one, item.light)
                each = [
                    (symptom_parts(self.predictor, item, panel_of, before, by),
                     symptom_parts(self.predictor, item, self.predictor.healthy, usually, by))
                    for by in SHIFTS
                ]
                note_said(said_of, self.predictor, item, cells, active)
                note_said(usually_said, self.predictor, item, sound, one)
            else:
                if item.test.row.of_lamps:
                    panel = self._look(item.test, changes, active, looks)
                    known = self.predictor.healthy(item.test.state)
                    cells = cells_of(panel.flux)
                    before = said_of.recall(cells, active, "")
                    owns = [look_loglik(panel, self.predictor, item.value, known, Eye(by), before) for by in SHIFTS]
                    note_said(said_of, self.predictor, item, cells, active)
                else:
                    predicted = self._observed(item.test, changes, active, values)
                    if single and item.test not in stepped:  # at its first entry most rows are alive
                        stepped.add(item.test)
                        self._steps[item.test] = _steps(rows, one_of, active, predicted, prev, following)
                    near = nears.get(item.test, predicted)
                    if not single and item.test not in nears:
                        near = nears[item.test] = np.array([
                            self._near(rows[r], item.test, v) for r, v in zip(row_of[active], predicted, strict=True)
                        ])
                    own = self._reading_loglik(item, predicted, near, active, prev, following, supply, weighed)
                    owns = [own] * len(SHIFTS)
                    if item.value.wiggled:
                        unmoved = float(self.predictor.observed(item.test, [NO_CHANGE])[0])
                        moved = wiggled_loglik(predicted, unmoved, item.value, item.test.kind, self.predictor.emf)
                each = [(own[None], np.full((1, 1), 0.0 if healthy is None else healthy[e])) for own in owns]
            said, usual = each[UNSHIFTED]
            if isinstance(item, Symptom) or item.value.seen is not None:
                each.append((carelessly(said, item, self.predictor), carelessly(usual, item, self.predictor)))
                before = np.logaddexp.reduce(observer[:, kept], axis=0)
                for k, (by_him, usual_by_him) in enumerate(each):
                    lasting, now_and_then = moved or by_permanence(by_him, usual_by_him, item)
                    observer[k, kept] += np.where(loose[kept], now_and_then[at], lasting[at])
                ll = np.logaddexp.reduce(observer[:, kept], axis=0) - before
            else:  # a meter tells everybody the same
                lasting, now_and_then = moved or by_permanence(said, usual, item)
                ll = np.where(loose[kept], now_and_then[at], lasting[at])
            total[kept] += ll
            # A row that was given up comes no nearer to the one that leads.
            out[e] = min(undescribed_loglik(item, self.predictor), float(ll[total[kept].argmax()]))
            out[e, kept] = ll
            hopeful = total[kept] > total[kept].max() - _HOPELESS
            if parts is not None:
                parts.append((kept, (said - usual)[:, at], float(usual.sum())))
                gained[kept] += np.maximum(said - usual, 0.0).sum(axis=0)[at]
                hopeful |= (gained[kept] > _EXPLAINS) | (len(panels) < _ALL_IN_STATES)
            if not hopeful.all():
                kept = kept[hopeful]
                active = distinct(one_of[kept])
                at = np.searchsorted(active, one_of[kept])
                nears.clear()

        def shows(test: Test) -> Bools:
            found, panel = np.zeros(len(rows), dtype=bool), self._panel(test.state, table, active, panels)
            found[kept] = shows_in(panel, self.predictor, test)[at]
            return found

        # What the eye finds, and what moves, goes by the fault itself and not only by what it changes.
        for e, item in enumerate(evidence):
            if by_hand(item):
                out[e] = found_loglik(item, hand_chances(item.test, rows, shows, self.harness))
                if parts is not None:
                    of_sound = 0.0 if healthy is None else float(healthy[e])
                    parts.append((kept, out[e, kept][None] - of_sound, of_sound))
        return out

    # What a set-up shows does not change however often it is looked at: one solution serves every entry of a
    # job. Rows are only ever dropped, so that what was solved for more of them holds for those left.

    def _panel(
        self, state: VehicleState, table: ChangeTable, active: Ints, known: dict[VehicleState, tuple[Ints, Panel]]
    ) -> Panel:
        if state not in known:
            rows = self.predictor.setup(state), table.rows(active)
            known[state] = (active, self.predictor.looks([rows])[0])
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

    def _near(self, row: Hypothesis, test: Test, predicted: float) -> float:
        """What several faults would show if the one that matters most were a step more or less severe."""
        if len(row.faults) < 2:
            return predicted
        steps = self._steps.get(test, {})
        here, there = max((steps[v] for v in row.variants if v in steps), default=(0.0, 0.0),
                          key=lambda s: abs(s[1] - s[0]) if np.isfinite(s).all() else 0.0)
        if test.row.log_scale:  # which may be open in both
            return there if there != here else predicted
        return predicted + there - here

    def _reading_loglik(
        self, item: Reading, predicted: Floats, near: Floats, active: Ints, prev: Ints, following: Ints,
        supply: SupplyDoubt, weighed: dict[tuple[Test, Value], tuple[Ints, Floats]],
    ) -> Floats:
        """`near`: as `_near`. Without it several faults would be judged by a sharper rule than one alone, whose
        grid of severities is coarse too, and win by that. `weighed` keeps what readings said before at every
        supply (supplies, rows)."""
        key = item.test, item.value
        if key not in weighed:
            n = len(active)
            p, f = _among(active, prev), _among(active, following)
            every = predicted
            if near is not predicted:
                every = np.concatenate([predicted, near])
                p = np.where(p == np.arange(n), n + np.arange(n), p)
                spread = np.arange(n, 2 * n)
                p, f = np.concatenate([p, spread]), np.concatenate([f, spread])
            emf, known = self.predictor.emf, self.predictor.supply_measured
            if known or not item.test.row.of_supply:
                found = [value_loglik(every, item.value, item, emf, known, p, f)[:n]]
            else:
                found = [value_loglik(every * x, item.value, item, emf * x, True, p, f)[:n] for x in FACTORS]
            weighed[key] = active, np.array(found)
        rows, said = weighed[key]
        if len(rows) != len(active):
            said = said[:, np.searchsorted(rows, active)]
        return said[0] if len(said) == 1 else supply.weigh(active, said)


def _steps(
    rows: Sequence[Hypothesis], one_of: Ints, active: Ints, predicted: Floats, prev: Ints, following: Ints
) -> dict[Variant, tuple[float, float]]:
    """For each severity of each single fault what a test shows, and what it would show at the next severity that
    differs more; only where there is one."""
    shown = dict(zip(active.tolist(), predicted.tolist(), strict=True))
    out: dict[Variant, tuple[float, float]] = {}
    for row, change in zip(rows, one_of.tolist(), strict=True):
        here = shown.get(change)
        if here is None or not row.variants:
            continue
        near = [shown[int(n)] for n in (prev[change], following[change]) if int(n) != change and int(n) in shown]
        if near:
            out[row.variants[0]] = (here, max(near, key=lambda v: abs(v - here)))
    return out


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


def _order(evidence: Sequence[Evidence], healthy: Floats | None) -> Sequence[int]:
    """The oddest first, so that what does not fit is dropped early; looks made as tests after what was said, which
    they may repeat. What differs only by rounding keeps its order: the same reading taken a hundred times."""
    if healthy is None:
        return range(len(evidence))
    again = np.array([isinstance(i, Reading) and i.test.row.of_lamps for i in evidence])
    return [int(e) for e in np.lexsort((np.round(healthy, 6), again))]


def _spread(part: Floats, rows: Sequence[int], count: int) -> Floats:
    out = np.zeros((count, *part.shape[1:]))
    out[rows] = part
    return out
