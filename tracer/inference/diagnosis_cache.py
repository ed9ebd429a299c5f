"""A job's diagnosis, weighed once however many commands ask for it: kept as arrays, and put together again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from tracer.cache import Arrays, Kept
from tracer.circuit.model import Floats
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.finer_severities import severity_of
from tracer.inference.fresh import ByPiece
from tracer.inference.hypotheses import Hypothesis, with_loose_contacts
from tracer.inference.likelihood import as_meant
from tracer.inference.search_bound import Search
from tracer.inference.searches import with_suspects
from tracer.observation.consistency import comes_and_goes, first_said
from tracer.observation.evidence import Evidence
from tracer.observation.story import NO_STORY, Story

_KEPT = ("loglik", "healthy", "beyond", "random", "unsaid")  # by evidence, but for the last
_MOST_TOGETHER = 3  # faults
_ROUNDING = 1e-6


def diagnosed(
    investigator: Investigator, evidence: Sequence[Evidence], discount: Mapping[str, float], triples: bool,
    kept: Kept, story: Story = NO_STORY, since: Mapping[str, int] | None = None,
) -> Diagnosis:
    """What `Investigator.diagnose` finds, if need be."""
    new: list[Diagnosis] = []

    def weigh() -> Arrays:
        new.append(investigator.diagnose(evidence, discount=discount, triples=triples, story=story, since=since))
        return _as_arrays(new[0], investigator)

    # What the workshop has learned is part of the question: with other rates the answer is another.
    key = (investigator.supply_v, tuple(evidence), discount, triples, story, since, investigator.factor,
           investigator.undescribed)
    found = kept.recall("diagnosis", key, weigh, lambda arrays: _fits(arrays, investigator, evidence, story))
    return new[0] if new else _of_arrays(found, investigator, evidence, triples, story)


def _as_arrays(d: Diagnosis, investigator: Investigator) -> Arrays:
    own = {id(h.variants[0]): k for k, h in enumerate(investigator.singles)}
    fault = {f.name: k for k, f in enumerate(investigator.faults)}
    between = [h for h in d.hypotheses if id(h.variants[0]) not in own]
    both = [h for h in between if any(id(v) not in own for v in h.variants[1:])]
    finer = [h for h in between if all(id(v) in own for v in h.variants[1:])]
    several = [h for h in d.hypotheses if len(h.variants) > 1 and id(h.variants[0]) in own]
    members = np.full((len(several), _MOST_TOGETHER), -1)
    for row, h in zip(members, several, strict=True):
        row[:len(h.variants)] = [own[id(v)] for v in h.variants]
    beside = np.full((len(finer), _MOST_TOGETHER - 1), -1)  # lines that lead elsewhere
    for row, h in zip(beside, finer, strict=True):
        row[:len(h.variants) - 1] = [own[id(v)] for v in h.variants[1:]]
    left = [h for h in d.hypotheses if h.mended]
    most = max((len(h.mended) for h in left), default=0)
    mended = np.full((len(left), 1 + most), -1)
    for row, h in zip(mended, left, strict=True):
        row[:1 + len(h.mended)] = [own[id(h.variants[0])], *(fault[f.name] for f in h.mended)]
    return {
        "finer": np.array([
            (fault[h.faults[0].name], h.variants[0].severity, h.prior, h.awake) for h in finer
        ], dtype=float).reshape(-1, 4), "beside": beside,
        "both": np.array([
            (*(x for f, v in zip(h.faults, h.variants, strict=True) for x in (fault[f.name], v.severity)), h.prior,
             h.awake) for h in both
        ], dtype=float).reshape(-1, 6),
        "coarse": np.array([
            i for i, h in enumerate(d.hypotheses)
            if finer and h.prior == 0.0 and len(h.variants) == 1 and not h.mended and id(h.variants[0]) in own
        ], dtype=np.intp),
        "mended": mended, "left": np.array([(h.prior, h.awake) for h in left]).reshape(-1, 2),
        **{name: getattr(d, name) for name in _KEPT[1:]}, **_rows_of(d.loglik), "share": d.share, "members": members,
        "several": np.array([(h.prior, h.awake) for h in several]).reshape(-1, 2),
        "once": np.array([d.undescribed, d.search.pairs, d.search.left_out]),
    }


def _fits(found: Arrays, investigator: Investigator, evidence: Sequence[Evidence], story: Story) -> bool:
    """Whether arrays can be this diagnosis: shapes, numbers, and shares that are shares."""
    members, several, once, share, loglik = (
        found[n] for n in ("members", "several", "once", "share", "loglik")
    )
    count, singles, mended, left = len(members), len(investigator.singles), found["mended"], found["left"]
    single, told = len(_single_rows(investigator, evidence, story)), len(evidence)
    rows = single + count + len(found["finer"]) + len(found["both"]) + len(mended)
    shaped = (
        members.shape == (count, _MOST_TOGETHER) and several.shape == (count, 2) and once.shape == (3,)
        and share.shape == (rows,) and _are_rows(loglik, found["alike"], told, rows)
        and all(found[n].shape == (told,) for n in _KEPT[1:-1]) and found["unsaid"].shape in ((rows,), (0,))
    )
    shaped = shaped and _known(mended, left, investigator) and _severities(found, single, investigator)
    shaped = shaped and members.dtype.kind == "i"
    if not shaped or any(found[n].dtype.kind != "f" for n in (*_KEPT, "share")):
        return False
    whole = float(share.sum()) + float(once[0])
    return bool(
        ((members >= -1) & (members < singles)).all() and (share >= 0).all() and abs(whole - 1) < _ROUNDING
        and 0 <= once[0] <= 1 and ((several >= 0) & (several <= 1)).all()
        and all((found[n] <= _ROUNDING).all() for n in _KEPT[1:]) and not np.isnan(loglik).any()
    )


def _rows_of(loglik: Floats | ByPiece) -> Arrays:
    if isinstance(loglik, ByPiece):
        return {"loglik": loglik.each, "alike": loglik.of}
    return {"loglik": loglik, "alike": np.zeros(0, dtype=np.intp)}


def _are_rows(loglik: NDArray[Any], alike: NDArray[Any], told: int, rows: int) -> bool:
    """Whether these are ln probabilities of so many pieces of evidence, or those of which each stands for several."""
    if not len(alike):
        return loglik.shape == (told, rows)
    whole = loglik.ndim == 2 and loglik.shape[1] == rows and alike.shape == (told,) and alike.dtype.kind == "i"
    return whole and bool(((alike >= -1) & (alike < len(loglik))).all())


def _known(mended: NDArray[Any], left: NDArray[Any], investigator: Investigator) -> bool:
    """Whether the rows that say what was mended before name faults of this harness."""
    return bool(
        mended.ndim == 2 and mended.shape[1] >= 1 and mended.dtype.kind == "i" and left.shape == (len(mended), 2)
        and ((mended[:, 0] >= 0) & (mended[:, 0] < len(investigator.singles))).all()
        and ((mended[:, 1:] >= -1) & (mended[:, 1:] < len(investigator.faults))).all()
        and ((left >= 0) & (left <= 1)).all()
    )


def _severities(found: Arrays, singles: int, investigator: Investigator) -> bool:
    """Whether the rows of severities between the grid's name faults of this harness that have such severities."""
    finer, coarse, beside, both = (found[n] for n in ("finer", "coarse", "beside", "both"))
    if beside.shape != (len(finer), _MOST_TOGETHER - 1) or beside.dtype.kind != "i":
        return False
    if ((beside < -1) | (beside >= len(investigator.singles))).any():
        return False
    if finer.ndim != 2 or finer.shape[1] != 4 or coarse.dtype.kind != "i" or coarse.ndim != 1:
        return False
    if both.ndim != 2 or both.shape[1] != 6 or ((both[:, 4:] < 0) | (both[:, 4:] > 1)).any():
        return False
    if ((coarse < 0) | (coarse >= singles)).any() or ((finer[:, 2:] < 0) | (finer[:, 2:] > 1)).any():
        return False
    for number, severity in np.vstack([finer[:, :2], both[:, :2], both[:, 2:4]]).tolist():
        if not 0 <= number < len(investigator.faults):
            return False
        scale = investigator.faults[int(number)].scale
        if scale is None or not scale.low <= severity <= scale.high:
            return False
    return True


def _single_rows(investigator: Investigator, evidence: Sequence[Evidence], story: Story) -> list[Hypothesis]:
    """The hypotheses of one fault that are weighed with this evidence."""
    singles = investigator.singles_of(story)
    meant = [as_meant(e, investigator.predictor) for e in evidence]
    told = [meant[e] for e in first_said(meant)]
    return with_loose_contacts(singles) if comes_and_goes(told) or story.always is False else list(singles)


def _of_arrays(
    found: Arrays, investigator: Investigator, evidence: Sequence[Evidence], triples: bool, story: Story
) -> Diagnosis:
    singles = investigator.singles_of(story)
    rows = _single_rows(investigator, evidence, story)
    for members, (prior, awake) in zip(found["members"], found["several"].tolist(), strict=True):
        parts = [singles[k] for k in members[members >= 0].tolist()]
        faults, variants = tuple(p.faults[0] for p in parts), tuple(p.variants[0] for p in parts)
        rows.append(Hypothesis(faults, variants, prior, awake))
    for k in found["coarse"].tolist():
        rows[k] = replace(rows[k], prior=0.0)
    for (number, severity, prior, awake), lines in zip(found["finer"].tolist(), found["beside"], strict=True):
        own, also = investigator.faults[int(number)], [singles[k] for k in lines[lines >= 0].tolist()]
        rows.append(Hypothesis((own, *(h.faults[0] for h in also)),
                               (severity_of(own, severity), *(h.variants[0] for h in also)), prior, awake))
    for one, first, two, second, prior, awake in found["both"].tolist():
        faults = investigator.faults[int(one)], investigator.faults[int(two)]
        degrees = severity_of(faults[0], first), severity_of(faults[1], second)
        rows.append(Hypothesis(faults, degrees, prior, awake))
    for numbers, (prior, awake) in zip(found["mended"].tolist(), found["left"].tolist(), strict=True):
        was = tuple(investigator.faults[k] for k in numbers[1:] if k >= 0)
        rows.append(replace(singles[numbers[0]], prior=prior, awake=awake, mended=was))
    undescribed, pairs, left_out = found["once"].tolist()
    search = Search(len(investigator.faults), int(pairs), left_out, triples)
    loglik = ByPiece(found["loglik"], found["alike"]) if len(found["alike"]) else found["loglik"]
    return with_suspects(Diagnosis(
        investigator.predictor, tuple(evidence), tuple(rows), loglik, found["share"], undescribed,
        found["healthy"], found["beyond"], found["random"], search, found["unsaid"],
    ), investigator.runs)
