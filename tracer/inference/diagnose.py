"""From evidence to suspects: every fault and the pairs that matter, weighed and counted by repair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from tracer.cache import Kept
from tracer.circuit.model import Change, Floats
from tracer.faults import list_deviations, list_faults
from tracer.faults.mending import mended_by
from tracer.faults.runs import Runs
from tracer.harness.base_rates import GIVEN, UNDESCRIBED
from tracer.harness.model import Harness
from tracer.inference.bayes import posterior
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.finer_pairs import finer_pairs
from tracer.inference.finer_severities import Finer, finer
from tracer.inference.fresh import Fresh, times_of
from tracer.inference.hypotheses import (
    Hypothesis,
    by_change,
    by_story,
    deviating,
    single_hypotheses,
    with_loose_contacts,
)
from tracer.inference.likelihood import as_meant, contradicted, undescribed_loglik
from tracer.inference.meter_model import Steps
from tracer.inference.multiple_faults import Several, key_of, worth_keeping
from tracer.inference.repaired_in_vain import chastened, left_behind, left_of
from tracer.inference.search_bound import Search, as_share, gains, left_out_loglik
from tracer.inference.searches import with_suspects
from tracer.inference.shown import Shown, SolvedBefore
from tracer.inference.silence import MOST_SILENCE, Silence, spoken_of
from tracer.inference.statement_model import Sayable
from tracer.inference.story_weights import weights
from tracer.inference.told_amiss import as_told
from tracer.inference.twin_rows import TwinRows
from tracer.inference.unmodelled_cause import Undescribed
from tracer.inference.weighing import Parts
from tracer.observation.consistency import comes_and_goes, first_said
from tracer.observation.evidence import Evidence, Reading
from tracer.observation.forward_model import Predictor
from tracer.observation.story import NO_STORY, Story

# Natural log behind the best, within which what was not said is reckoned; the others are taken to leave unsaid
# as much as counts. Of those within it only so many are that all others together, had they left nothing unsaid, would
# hold no more than this share of what these come to.
_NEAR = 12.0
NEGLIGIBLE = 1e-3
_MEASURED = 2  # readings of a meter, from which two faults at once are weighed more closely
_THE_SAME = 1e-6  # of these logarithms: what is added up in another order
_LOOSE_SILENCE = 0.5  # what comes and goes strikes half as much (of the logarithm)


class _Sound(Struct, frozen=True):
    """ln probability (E,) of the evidence on a sound vehicle, and if anything were as likely as anything else."""

    healthy: Floats
    random: Floats


class _Together(Struct, frozen=True):
    """Several faults at once that are worth keeping, their ln probabilities (E, rows), how many pairs were tried, and
    ln of the most that those left out can hold."""

    rows: Sequence[Hypothesis] = ()
    loglik: Floats = field(default_factory=lambda: np.zeros((0, 0)))
    tried: int = 0
    left_out: float = -np.inf


class Investigator:
    """Holds a harness's faults and predictor; weighs evidence as often as asked."""

    def __init__(
        self, harness: Harness, supply_v: float | None = None, kept: Kept | None = None,
        factor: Mapping[str, float] | None = None, undescribed: float = UNDESCRIBED,
    ) -> None:
        """Args:
        factor: Kind of fault → how many times the shipped base rate it has here; a rate that the harness file gives
            stands as it is.
        undescribed: Share kept at the start for what the harness file does not describe.
        """
        self.harness = harness
        self.factor, self.undescribed = dict(factor or {}), undescribed
        self.kept = kept or Kept()
        self.supply_v = supply_v
        self.predictor = Predictor(harness, supply_v)
        self._steps: Steps = {}
        self._solved: SolvedBefore | None = None
        self._sayable: Sayable | None = None
        self._silence: Silence | None = None
        self._twins: TwinRows | None = None
        self._whole: Shown | None = None  # of all single faults, in the diagnosis at hand
        self.faults = list_faults(harness)
        self.runs = Runs(harness)
        self._mends = mended_by(self.faults)
        self.deviations = list_deviations(harness)
        self._several = Several(self.predictor.circuit, self.faults)
        self._singles: tuple[Hypothesis, ...] | None = None

    @property
    def singles(self) -> tuple[Hypothesis, ...]:
        """Every fault at every severity; shorts also with the fuse they blow left blown; then every deviation of the
        wiring from its file."""
        if self._singles is None:
            faulty = single_hypotheses(self.faults, self.predictor, self.kept)
            self._singles = (*faulty, *deviating(self.deviations))
        return self._singles

    def singles_of(self, story: Story) -> tuple[Hypothesis, ...]:
        """The singles as they stand before anything was seen: by what the workshop has learned, and by the vehicle's
        story."""
        factor = weights(story, self.faults, self.harness) if story.told else {}
        if self.factor:
            own = {f.name: 1.0 if f.source == GIVEN else self.factor.get(f.kind, 1.0) for f in self.faults}
            rate = sum(f.rate for f in self.faults)
            whole = sum(f.rate * own[f.name] for f in self.faults) / rate  # their sum stays one
            factor = {name: x / whole * factor.get(name, 1.0) for name, x in own.items()}
        return by_story(self.singles, factor) if factor else self.singles

    def diagnose(
        self, evidence: Sequence[Evidence], pairs: bool = True, discount: Mapping[str, float] | None = None,
        triples: bool = False, story: Story = NO_STORY, since: Mapping[str, int] | None = None,
    ) -> Diagnosis:
        """Weigh every single fault, and the pairs (and triples) that matter, against the evidence; without `pairs`
        single faults alone, at the severities of their grids. `discount`: factor on the prior of a repair that was
        made and did not help, `since`: how much of the evidence stood when it was made; `story`: what was told when
        the job was opened."""
        heard = as_told(evidence, self.sayable)
        fresh = Fresh(heard, since or {})
        told = fresh.told
        random = fresh.times * np.array([undescribed_loglik(e, self.predictor) for e in told])
        undescribed = Undescribed(self.sayable)
        beyond = fresh.times * np.array([undescribed.weigh(e) for e in told])
        healthy = self.weigh([Hypothesis((), (), 1.0)], told)[:, 0]
        singles = self.singles_of(story)
        loose = comes_and_goes([heard[e] for e in first_said(heard)]) or story.always is False
        rows = with_loose_contacts(singles) if loose else list(singles)
        singly, parts = len(rows), Parts()
        self._whole = None
        loglik = self.weigh(rows, told, healthy, parts if pairs else None)
        whole = self._whole
        together = _Together()
        if pairs and len(told):
            together = self._together(rows, told, loglik, parts, _Sound(healthy, random), triples)
            rows += together.rows
            loglik = np.hstack([loglik, together.loglik])
            rows, loglik = self._closer(rows, told, loglik, healthy)
        stood = {r: sum(e < n for e in fresh.places) for r, n in (since or {}).items()}
        if any(stood.values()):
            left, weighed = self._left_behind(rows[:singly], told, loglik[:, :singly], healthy, stood)
            rows += left
            loglik = np.hstack([loglik, weighed])
        factor = self.left_of(rows, discount or {})
        prior = np.array([h.prior for h in rows])
        level = np.log(np.maximum(prior * factor, 1e-300)) + loglik.sum(axis=0)
        unsaid = self._unsaid(rows, told, story, level, whole)
        result = posterior(prior, np.vstack([loglik, unsaid]), self.undescribed, np.append(beyond, 0.0))
        left_out = as_share(together.left_out, prior, result.log_evidence, self.undescribed)
        search = Search(len(self.faults), together.tried, left_out, triples)
        share, beyond_all = chastened(result, factor, any(stood.values()))
        healthy, beyond, random = (fresh.spread(part) for part in (healthy, beyond, random))
        return with_suspects(Diagnosis(
            self.predictor, tuple(evidence), tuple(rows), fresh.spread_rows(loglik), share, beyond_all, healthy,
            beyond, random, search, unsaid,
        ), self.runs)

    def _closer(
        self, rows: Sequence[Hypothesis], told: Sequence[Evidence], loglik: Floats, healthy: Floats
    ) -> tuple[list[Hypothesis], Floats]:
        """The rows, and after them what leads at more severities; what they stand for has no prior left."""
        readings = sum(times_of(e) for e in told if isinstance(e, Reading) and e.test.row.unit)
        single = finer(rows, loglik.sum(axis=0), readings)
        # Singly first: how far apart two severities of the grid are in a reading is known of single faults.
        out, loglik = self._replaced(rows, single, told, loglik, healthy)
        if readings < _MEASURED:
            return out, loglik
        return self._replaced(out, finer_pairs(out, loglik.sum(axis=0)), told, loglik, healthy)

    def _replaced(
        self, rows: Sequence[Hypothesis], closer: Finer, told: Sequence[Evidence], loglik: Floats, healthy: Floats
    ) -> tuple[list[Hypothesis], Floats]:
        old = set(closer.old)
        out = [replace(h, prior=0.0) if i in old else h for i, h in enumerate(rows)] + [*closer.rows]
        return out, np.hstack([loglik, self.weigh(closer.rows, told, healthy)])

    def _unsaid(
        self, rows: Sequence[Hypothesis], told: Sequence[Evidence], story: Story, level: Floats,
        whole: Shown | None = None,
    ) -> Floats:
        """ln of the factor (H,) for what would strike everybody and was not mentioned, of the rows near enough to
        the best to matter. `level` (H,) is ln of what each has come to; `whole`: what all single faults show."""
        if not spoken_of(told, self.sayable).volunteered:
            return np.zeros(len(rows))
        out = np.full(len(rows), np.log(MOST_SILENCE))
        order = np.argsort(-level, kind="stable")
        order = order[level[order] > level.max() - _NEAR]
        # held[k]: ln of the most that those from the k-th on hold together
        held = np.logaddexp.accumulate(level[order][::-1])[::-1]

        def end_of(floor: float) -> int:
            """Where those end that matter, with all that have come to the same: a left and a right are alike."""
            many = int((held > floor).sum())
            return int((level[order] > level[order[many - 1]] - _THE_SAME).sum()) if many else 0

        done, end = 0, end_of(held[0] + np.log(NEGLIGIBLE))
        while done < end:
            near = order[done:end]
            changes, one_of = by_change([rows[i] for i in near.tolist()])
            out[near] = self.twins.silent(self.silence, changes, told, story.alive, whole)[one_of]
            loose = near[[rows[i].awake < 1 for i in near.tolist()]]
            out[loose] *= _LOOSE_SILENCE
            known = np.logaddexp.reduce((level + out)[order[:end]])
            done, end = end, end_of(known + np.log(NEGLIGIBLE))
        return out

    def left_of(self, rows: Sequence[Hypothesis], discount: Mapping[str, float]) -> Floats:
        """What repairs that were made and did not help leave of each hypothesis (H,), as a factor."""
        return np.array([left_of(h, discount, self._mends) for h in rows]) if discount else np.ones(len(rows))

    def unsaid_of(
        self, d: Diagnosis, items: Sequence[int], story: Story, discount: Mapping[str, float]
    ) -> Floats:
        """ln of the factor (H,) for what was not mentioned, had only these pieces of the evidence been told: of the
        rows that mattered then, which are others than those that matter in the end."""
        meant = as_told([d.evidence[e] for e in items], self.sayable)
        prior = np.array([h.prior for h in d.hypotheses]) * self.left_of(d.hypotheses, discount)
        level = np.log(np.maximum(prior, 1e-300)) + d.loglik[list(items)].sum(axis=0)
        return self._unsaid(d.hypotheses, [meant[e] for e in first_said(meant)], story, level)

    def _left_behind(
        self, singles: Sequence[Hypothesis], told: Sequence[Evidence], loglik: Floats, healthy: Floats,
        since: Mapping[str, int],
    ) -> tuple[list[Hypothesis], Floats]:
        """As `repaired_in_vain.left_behind`."""
        return left_behind(
            singles, loglik, since, lambda h, first, end: self.weigh(h, told[first:end], healthy[first:end]),
            self._several.both,
        )

    def _together(
        self, rows: Sequence[Hypothesis], told: Sequence[Evidence], loglik: Floats, parts: Parts, sound: _Sound,
        triples: bool,
    ) -> _Together:
        """The pairs, and triples, that explain more than some of their members do."""
        known = {key_of(h): float(ll) for h, ll in zip(rows, loglik.sum(axis=0), strict=True)}
        gain, alive = gains(rows, parts)
        lead = int(np.argmax(loglik.sum(axis=0) + np.log(np.maximum([h.prior for h in rows], 1e-300))))
        own, times = loglik[:, lead], np.array([times_of(e) for e in told])
        unexplained = bool(own.sum() < -3.0 - 0.5 * times.sum()) or bool(
            contradicted(own / times, sound.random / times).any())
        extra, weighed = self._several.pairs(
            rows, gain, alive, lambda h: self.weigh(h, told, sound.healthy), thorough=unexplained or triples
        )
        tried = len(extra)
        # `gain` is that of a careful observer, so the healthy vehicle is weighed by the same eyes here.
        careful = sum(usual for _, _, usual in parts)
        left_out = left_out_loglik(rows, gain, alive, extra, careful)
        known |= {key_of(h): float(ll) for h, ll in zip(extra, weighed.sum(axis=0), strict=True)}
        worth = worth_keeping(extra, weighed, known)
        if triples:
            third = self._several.triples(rows, gain, alive, extra, weighed)
            weighed_third = self.weigh(third, told, sound.healthy)
            worth += [len(extra) + k for k in worth_keeping(third, weighed_third, known)]
            extra, weighed = [*extra, *third], np.hstack([weighed, weighed_third])
        return _Together([extra[k] for k in worth], weighed[:, worth], tried, left_out)

    @property
    def silence(self) -> Silence:
        """What it costs not to speak of something."""
        if self._silence is None or self._silence.predictor is not self.predictor:
            self._silence = Silence(self.sayable)
        return self._silence

    @property
    def twins(self) -> TwinRows:
        """What is alike."""
        if self._twins is None or self._twins.predictor is not self.predictor:
            self._twins = TwinRows(self.sayable)
        return self._twins

    @property
    def sayable(self) -> Sayable:
        """All that could be said of the vehicle."""
        if self._sayable is None or self._sayable.predictor is not self.predictor:
            self._sayable = Sayable(self.predictor)
        return self._sayable

    def loglik_of(self, hypotheses: Sequence[Hypothesis], item: Evidence) -> Floats:
        """ln probability (H,) of one piece of evidence under given hypotheses (severities of a fault in order)."""
        return np.asarray(self.weigh(hypotheses, [as_meant(item, self.predictor)])[0])

    def weigh(
        self, rows: Sequence[Hypothesis], evidence: Sequence[Evidence], healthy: Floats | None = None,
        parts: Parts | None = None,
    ) -> Floats:
        """ln probabilities (E, H), each given what was weighed before it; `healthy` and `parts` as in
        `weighing.weigh`."""
        if not rows or not evidence:
            return np.zeros((len(evidence), len(rows)))
        return self.twins.weigh(rows, evidence, self.shown, self._steps, healthy, parts)

    def shown(self, changes: Sequence[Change]) -> Shown:
        """What changes show, to be solved as it is asked for: of all single faults together once for all evidence."""
        if self._singles is not None and self._solved is None:
            singly = by_change(self._singles)[0]
            self._solved = SolvedBefore(self.predictor, singly, self.kept)
        known = self._solved is not None and self._solved.of(self.predictor, changes)
        shown = Shown(self.sayable, changes, self._solved if known else None)
        if known:
            self._whole = shown
        return shown
