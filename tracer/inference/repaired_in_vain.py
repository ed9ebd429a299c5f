"""Repairs that were made and did not help: what that leaves of the suspects, and of what was read before them.

Two things follow from a complaint that stayed. Whatever made a suspect look certain may be a mistake (a reading at
the wrong point, a harness file that is not this vehicle's), so that nothing is certain any more. And what was
repaired may have been bad as well: then what was read before the repair was read on a vehicle with two faults in it,
and says less against the one that is left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats
from tracer.inference.bayes import Posterior
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.reading_likelihood import STRAY_SHARE

# Share of jobs in which something misled that no weighing knows of, however sure it was: of 62 repairs made at 99 %
# and more, against simulated vehicles that shared nothing with it, 5 were wrong.
MISLED: Final = 0.05
# Of these the share in which it was a look or a reading, so that it is another suspect after all; in the others the
# file is not this vehicle's. (Judgement: a probe slips or an eye errs once in twenty or thirty, `STRAY_SHARE`, and a
# file that somebody checked is wrong about the circuit at hand hardly more often.)
MISREAD: Final = 0.5
# Share of repairs in vain that mended something which was bad as well: who mends a thing has it in his hands, and
# sound things are mostly left alone. (Judgement; no source.)
BAD_AS_WELL: Final = 0.3
_NEAR = 15.0  # natural log behind the best, within which a fault that may be left is tried with what was repaired
_MOST = 250

Weigh = Callable[[Sequence[Hypothesis], int, int], Floats]  # rows, first and end of the evidence → (E, rows)
Both = Callable[[Hypothesis, Hypothesis], Hypothesis | None]


def left_of(h: Hypothesis, discount: Mapping[str, float], mends: Mapping[str, tuple[str, ...]]) -> float:
    """What the repairs made leave of a hypothesis, as a factor. One fault is mended by whatever holds it, too: an
    eyelet by its earth point that was remade (`mends`: as `faults.mending.mended_by`)."""
    faults = h.defects
    own = mends.get(faults[0].name, (h.repair,)) if len({f.repair for f in faults}) == 1 else (h.repair,)
    return float(np.prod([discount.get(r, 1.0) for r in own]))


def chastened(result: Posterior, factor: Floats, failed: bool) -> tuple[Floats, float]:
    """Shares (H,) and that of "not described" once repairs have failed.

    Args:
        result: What was believed before these failures were reckoned with.
        factor: (H,) what a repair that was made leaves of each hypothesis.
        failed: Whether the complaint stayed after one.
    """
    misled = MISLED if failed else 0.0
    share = (1 - misled) * result.share * factor
    # A reading that misled spoke against what is left, each by its share, and no single one by more than strays; a
    # file that misleads speaks of nothing.
    others = result.share * (factor == 1.0)
    left = float(others.sum())
    read = min(misled * MISREAD, left / STRAY_SHARE)
    if read > 0.0:
        share = share + read * others / left
    undescribed = (1 - misled) * result.undescribed + misled - read
    total = share.sum() + undescribed
    return np.asarray(share / total), float(undescribed / total)


def left_behind(
    rows: Sequence[Hypothesis], loglik: Floats, since: Mapping[str, int], weigh: Weigh, both: Both
) -> tuple[list[Hypothesis], Floats]:
    """Single faults that were there together with what was repaired in vain, and (E, rows) ln probabilities: before a
    repair of both together, after it of what is left.

    Args:
        rows: Single faults.
        loglik: (E, H) ln probabilities of the evidence under each alone.
        since: Repair → how much of the evidence stood when it was made.
        weigh: Gives ln probabilities of a stretch of the evidence.
        both: Two faults at once with their prior, None where they are faults of one thing.
    """
    found: list[Hypothesis] = []
    weighed = [np.zeros((len(loglik), 0))]
    bad = [b for r, n in since.items() if n and (b := _as_bad(rows, loglik, r, n)) is not None]
    for mended in [(b,) for b in bad] + ([tuple(bad)] if len(bad) > 1 else []):
        some, ll = _with(rows, mended, since, len(loglik), weigh, both)
        found += some
        weighed.append(ll)
    return found, np.hstack(weighed)


def _as_bad(rows: Sequence[Hypothesis], loglik: Floats, repair: str, count: int) -> Hypothesis | None:
    """The fault that the repair was made for, as what was known then has it most likely; its prior is that of all
    its severities."""
    own = [i for i, h in enumerate(rows) if h.repair == repair and h.awake == 1]
    if not own:
        return None
    prior = np.array([rows[i].prior for i in own])
    best = int(np.argmax(np.log(np.maximum(prior, 1e-300)) + loglik[:count, own].sum(axis=0)))
    return replace(rows[own[best]], prior=float(prior.sum()))


def _with(
    rows: Sequence[Hypothesis], mended: Sequence[Hypothesis], since: Mapping[str, int], count: int, weigh: Weigh,
    both: Both,
) -> tuple[list[Hypothesis], Floats]:
    """Each fault that may be left, with those of `mended` until they were repaired."""
    last = max(since[m.repair] for m in mended)
    after = weigh(rows, last, count)
    prior = np.log(np.maximum([h.prior for h in rows], 1e-300))
    score = prior + after.sum(axis=0)
    order = [i for i in np.argsort(-score, kind="stable").tolist() if rows[i].repair not in since]
    left: list[int] = []
    out: list[Hypothesis] = []
    for i in order[:_MOST]:
        pairs = [both(rows[i], m) for m in mended]
        if score[i] < score[order[0]] - _NEAR or any(p is None for p in pairs) or rows[i].prior <= 0:
            continue
        ratio = np.prod([max(p.prior / rows[i].prior, BAD_AS_WELL) for p in pairs if p is not None])
        left.append(i)
        out.append(replace(rows[i], prior=rows[i].prior * float(ratio), mended=tuple(m.faults[0] for m in mended)))
    stretches, first = [], 0
    for end in sorted({since[m.repair] for m in mended}):
        there = [m for m in mended if since[m.repair] >= end]
        stretches.append(weigh([_at_once(rows[i], there) for i in left], first, end))
        first = end
    return out, np.vstack([*stretches, after[:, left]])


def _at_once(one: Hypothesis, others: Sequence[Hypothesis]) -> Hypothesis:
    return replace(
        one, faults=(*one.faults, *(m.faults[0] for m in others)),
        variants=(*one.variants, *(m.variants[0] for m in others)),
    )
