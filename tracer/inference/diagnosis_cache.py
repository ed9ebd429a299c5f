"""A job's diagnosis, weighed once however many commands ask for it: kept as arrays, and put together again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from tracer.cache import Arrays, Kept
from tracer.inference.diagnose import NO_STORY, Investigator
from tracer.inference.diagnosis import Diagnosis, with_suspects
from tracer.inference.hypotheses import Hypothesis, by_story, with_loose_contacts
from tracer.inference.likelihood import as_meant
from tracer.inference.search_bound import Search
from tracer.inference.story_weights import weights
from tracer.observation.consistency import comes_and_goes, first_said
from tracer.observation.evidence import Evidence
from tracer.observation.story import Story

_KEPT = ("loglik", "healthy", "beyond", "random", "unsaid")
_MOST_TOGETHER = 3  # faults


def diagnosed(
    investigator: Investigator, evidence: Sequence[Evidence], discount: Mapping[str, float], triples: bool,
    kept: Kept, story: Story = NO_STORY,
) -> Diagnosis:
    """What `Investigator.diagnose` finds, if need be."""
    new: list[Diagnosis] = []

    def weigh() -> Arrays:
        new.append(investigator.diagnose(evidence, discount=discount, triples=triples, story=story))
        return _as_arrays(new[0], investigator.singles)

    key = investigator.supply_v, tuple(evidence), discount, triples, story
    found = kept.recall("diagnosis", key, weigh)
    return new[0] if new else _of_arrays(found, investigator, evidence, triples, story)


def _as_arrays(d: Diagnosis, singles: Sequence[Hypothesis]) -> Arrays:
    own = {id(h.variants[0]): k for k, h in enumerate(singles)}
    several = [h for h in d.hypotheses if len(h.variants) > 1]
    members = np.full((len(several), _MOST_TOGETHER), -1)
    for row, h in zip(members, several, strict=True):
        row[:len(h.variants)] = [own[id(v)] for v in h.variants]
    return {
        **{name: getattr(d, name) for name in _KEPT}, "share": d.share, "members": members,
        "several": np.array([(h.prior, h.awake) for h in several]).reshape(-1, 2),
        "once": np.array([d.undescribed, d.search.pairs, d.search.left_out]),
    }


def _of_arrays(
    found: Arrays, investigator: Investigator, evidence: Sequence[Evidence], triples: bool, story: Story
) -> Diagnosis:
    singles = investigator.singles
    if story.told:
        singles = by_story(singles, weights(story, investigator.faults, investigator.harness))
    meant = [as_meant(e, investigator.predictor) for e in evidence]
    told = [meant[e] for e in first_said(meant)]
    rows = with_loose_contacts(singles) if comes_and_goes(told) or story.always is False else list(singles)
    for members, (prior, awake) in zip(found["members"], found["several"].tolist(), strict=True):
        parts = [singles[k] for k in members[members >= 0].tolist()]
        faults, variants = tuple(p.faults[0] for p in parts), tuple(p.variants[0] for p in parts)
        rows.append(Hypothesis(faults, variants, prior, awake))
    undescribed, pairs, left_out = found["once"].tolist()
    search = Search(len(investigator.faults), int(pairs), left_out, triples)
    return with_suspects(Diagnosis(
        investigator.predictor, tuple(evidence), tuple(rows), found["loglik"], found["share"], undescribed,
        found["healthy"], found["beyond"], found["random"], search, found["unsaid"],
    ))
