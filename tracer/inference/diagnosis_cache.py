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

_KEPT = ("loglik", "healthy", "beyond", "random", "unsaid")  # by evidence, but for the last
_MOST_TOGETHER = 3  # faults
_ROUNDING = 1e-6


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
    found = kept.recall("diagnosis", key, weigh, lambda arrays: _fits(arrays, investigator, evidence, story))
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


def _fits(found: Arrays, investigator: Investigator, evidence: Sequence[Evidence], story: Story) -> bool:
    """Whether arrays can be this diagnosis: shapes, numbers, and shares that are shares."""
    members, several, once, share, loglik = (
        found[n] for n in ("members", "several", "once", "share", "loglik")
    )
    count, singles = len(members), len(investigator.singles)
    rows, told = len(_single_rows(investigator, evidence, story)) + count, len(evidence)
    shaped = (
        members.shape == (count, _MOST_TOGETHER) and several.shape == (count, 2) and once.shape == (3,)
        and share.shape == (rows,) and loglik.shape == (told, rows)
        and all(found[n].shape == (told,) for n in _KEPT[1:-1]) and found["unsaid"].shape in ((rows,), (0,))
    )
    if not shaped or members.dtype.kind != "i" or any(found[n].dtype.kind != "f" for n in (*_KEPT, "share")):
        return False
    whole = float(share.sum()) + float(once[0])
    return bool(
        ((members >= -1) & (members < singles)).all() and (share >= 0).all() and abs(whole - 1) < _ROUNDING
        and 0 <= once[0] <= 1 and ((several >= 0) & (several <= 1)).all()
        and all((found[n] <= _ROUNDING).all() for n in _KEPT[1:]) and not np.isnan(loglik).any()
    )


def _single_rows(investigator: Investigator, evidence: Sequence[Evidence], story: Story) -> list[Hypothesis]:
    """The hypotheses of one fault that are weighed with this evidence."""
    singles = investigator.singles
    if story.told:
        singles = by_story(singles, weights(story, investigator.faults, investigator.harness))
    meant = [as_meant(e, investigator.predictor) for e in evidence]
    told = [meant[e] for e in first_said(meant)]
    return with_loose_contacts(singles) if comes_and_goes(told) or story.always is False else list(singles)


def _of_arrays(
    found: Arrays, investigator: Investigator, evidence: Sequence[Evidence], triples: bool, story: Story
) -> Diagnosis:
    singles = investigator.singles
    if story.told:
        singles = by_story(singles, weights(story, investigator.faults, investigator.harness))
    rows = _single_rows(investigator, evidence, story)
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
