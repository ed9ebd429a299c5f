"""What a diagnosis holds: every hypothesis weighed against every piece of evidence, and counted by repair."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Final

import numpy as np
from msgspec import Struct, field

from tracer.circuit.model import Floats
from tracer.inference.fresh import ByPiece
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.likelihood import as_meant, contradicted
from tracer.inference.search_bound import Search
from tracer.observation.consistency import contradictions
from tracer.observation.evidence import Evidence, Test
from tracer.observation.forward_model import Predictor

_DOUBTED: Final = 0.05  # share of "not described" from which on it may be said that nothing explains what was seen


class Split(Struct, frozen=True):
    """A reading, in V, that tells a suspect from another one whose repair is `repair`."""

    repair: str
    test: Test
    own_v: float
    other_v: float


class Suspect(Struct, frozen=True):
    """Hypotheses with one repair, counted together.

    Attributes:
        repair: What one would do.
        share: Posterior probability.
        rows: Indices into `Diagnosis.hypotheses`, likeliest first.
        best: The likeliest hypothesis.
        alike: Repairs of other suspects that look the same in every vehicle state.
        inseparable: Those of them that no electrical test splits from it.
        splits: For others of them, the reading that does.
        along: Repairs of the other suspects that are one search with it, the likeliest first: the same kind of fault
            somewhere along one run.
        search: What is looked for then, in words; empty if it is looked for by itself.
        search_share: Posterior probability of that search as a whole; `share` if it is looked for by itself.
        leads: It is the likeliest place of its search, or looked for by itself.
    """

    repair: str
    share: float
    rows: tuple[int, ...]
    best: Hypothesis
    alike: tuple[str, ...] = ()
    inseparable: tuple[str, ...] = ()
    splits: tuple[Split, ...] = ()
    along: tuple[str, ...] = ()
    search: str = ""
    search_share: float = 0.0
    leads: bool = True


class Diagnosis(Struct, frozen=True, dict=True):
    """All hypotheses weighed against all evidence.

    Attributes:
        loglik: (E, H) ln probability of each piece of evidence under each hypothesis.
        share: (H,) posterior; with `undescribed` it sums to one.
        healthy: (E,) ln probability of the evidence on a healthy vehicle.
        beyond: (E,) ln probability under "not described by the harness file", each given those before.
        random: (E,) the same if any word and any value were as likely as any other: what fits does better.
        unsaid: (H,) ln of the factor for what nobody mentioned and everybody would have.
    """

    predictor: Predictor
    evidence: tuple[Evidence, ...]
    hypotheses: tuple[Hypothesis, ...]
    loglik: Floats | ByPiece
    share: Floats
    undescribed: float
    healthy: Floats
    beyond: Floats
    random: Floats
    search: Search = Search()
    unsaid: Floats = field(default_factory=lambda: np.zeros(0))
    suspects: tuple[Suspect, ...] = ()

    @cached_property
    def searches(self) -> tuple[Suspect, ...]:
        """What leads each search, the likeliest search first; what is looked for by itself is a search of its own."""
        return tuple(sorted((s for s in self.suspects if s.leads), key=lambda s: -s.search_share))

    @cached_property
    def listed(self) -> tuple[Suspect, ...]:
        """The suspects as a list of them is numbered, from 1: one for each search or group that no test parts, the
        likeliest such first; then those that stand with one of these, which have a number and no line."""
        heads, standing = [], set[str]()
        for s in self.searches:
            if s.repair not in standing:
                heads.append(s)
                standing |= {*self.standing_together(s)[1]}
        heads.sort(key=lambda s: -self.standing_together(s)[0])
        led = {s.repair for s in heads}
        return (*heads, *(s for s in self.suspects if s.repair not in led))

    def standing_together(self, suspect: Suspect) -> tuple[float, tuple[str, ...]]:
        """Share of a suspect with the other places of its search, else with those that no test parts from it, and
        the repairs of these others."""
        if suspect.search:
            return suspect.search_share, suspect.along
        near = {r for r in suspect.inseparable if r in self._alone}
        others = [self._alone[r] for r in sorted(near, key=self._order.__getitem__)]
        return suspect.share + sum(s.share for s in others), tuple(s.repair for s in others)

    @cached_property
    def _alone(self) -> Mapping[str, Suspect]:
        """The suspects that are part of no search, by repair."""
        return {s.repair: s for s in self.suspects if not s.search}

    @cached_property
    def _order(self) -> Mapping[str, int]:
        """Which place each repair has among the suspects."""
        return {s.repair: k for k, s in enumerate(self.suspects)}

    @cached_property
    def nothing_fits(self) -> bool:
        """No described hypothesis explains the evidence better than no explanation at all, or those that lead explain
        nothing of what is odd: they lead then because they fail often, whatever was said. Not while "not described"
        has next to nothing: then a slip is the likelier, and each suspect says of what."""
        return self.undescribed > 0.5 or (self.undescribed > _DOUBTED and self._explains_nothing > 0.5)

    @property
    def _explains_nothing(self) -> float:
        """Share of the hypotheses that speak against all that speaks against a sound vehicle, and of the unknown."""
        odd = np.flatnonzero(contradicted(self.healthy, self.random))
        if not len(odd):
            return 0.0
        if isinstance(self.loglik, ByPiece):
            odd = self.loglik.once(odd)
        against = contradicted(self.loglik[odd], self.random[odd][:, None]).all(axis=0)
        return self.undescribed + float(self.share[against].sum())

    @cached_property
    def deviating(self) -> Mapping[str, float]:
        """In what the wiring is otherwise than the file says, in words, and how likely each is, likeliest first."""
        shares: dict[str, float] = {}
        for h, share in zip(self.hypotheses, self.share.tolist(), strict=True):
            for f in h.deviations:
                shares[f.says] = shares.get(f.says, 0.0) + share
        return dict(sorted(shares.items(), key=lambda x: -x[1]))

    @cached_property
    def as_when_healthy(self) -> bool:
        """The healthy vehicle does all that was seen, as well as any fault explains it: no part has failed."""
        if not self.evidence:
            return False
        whole = float(self.healthy.sum())
        return bool(whole > self.loglik.sum(axis=0).max() - 1.0 and whole > self.beyond.sum())

    def contradictions(self) -> tuple[tuple[int, int], ...]:
        """Pairs of evidence about one lamp in one state that exclude each other."""
        return contradictions([as_meant(e, self.predictor) for e in self.evidence])
