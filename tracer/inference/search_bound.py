"""What was looked through for a diagnosis, and the most probability that what was left out can hold."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Bools, Floats, Ints
from tracer.harness.base_rates import FURTHER_FAULTS, UNDESCRIBED
from tracer.inference.hypotheses import Hypothesis
from tracer.units import percent

PAIR_MUST_GAIN = 1.5  # ln likelihood that a pair must gain over its better member
_MOST_BOUNDED = 300  # faults whose pairs are bounded


class Search(Struct, frozen=True):
    """What was looked through, and what that leaves out.

    Attributes:
        faults: Single faults, all of them.
        pairs: Pairs that were simulated.
        left_out: The most probability that the other pairs of faults can hold of which each explains
            something by itself, if the two do not act on each other and what was seen was seen with care.
        triples: Whether three faults at once were tried.
    """

    faults: int = 0
    pairs: int = 0
    left_out: float = 0.0
    triples: bool = False

    def says(self) -> str:
        triples = " and the likeliest triples" if self.triples else ""
        tried = f"{self.faults} faults and {self.pairs} pairs{triples}"
        share = f"{100 * self.left_out:.1f} %" if self.left_out < 0.005 else percent(self.left_out)
        most = "under 0.1 %" if self.left_out < 0.001 else f"at most {share}"
        rest = "faults that show only together" + ("" if self.triples else ", three faults at once")
        return f"searched: {tried}; pairs left out could hold {most}; not searched: {rest}"


def gains(rows: Sequence[Hypothesis], parts: Sequence[tuple[Ints, Floats, float]]) -> tuple[Floats, Bools]:
    """Gain over the healthy vehicle of each row for each thing said, (P, H), and the rows (H,) simulated to the
    end."""
    gain = np.zeros((sum(len(g) for _, g, _ in parts), len(rows)))
    alive = np.zeros(len(rows), dtype=bool)
    row = 0
    for kept, g, _ in parts:
        gain[row : row + len(g), kept] = g
        row += len(g)
    if parts:
        alive[min((kept for kept, _, _ in parts), key=len)] = True  # rows are only ever dropped
    return gain, alive


def left_out_loglik(
    rows: Sequence[Hypothesis], gain: Floats, alive: Bools, tried: Sequence[Hypothesis], healthy: float
) -> float:
    """ln of the most that the prior times the likelihood of the pairs left out can add up to.

    Two faults that do not act on each other show, thing by thing, what one of them or the healthy vehicle
    shows. Pairs that could not gain over their better half are no rivals, and are not counted.
    """
    prior = np.log(np.maximum([h.prior for h in rows], 1e-300))
    own = np.maximum(gain, 0.0).sum(axis=0)
    best: dict[str, int] = {}
    for i in np.argsort(-np.where(alive & (own > 1.0), prior + own, -np.inf), kind="stable"):
        if not (alive[i] and own[i] > 1.0) or len(best) == _MOST_BOUNDED:
            break
        best.setdefault(rows[i].faults[0].name, int(i))
    chosen = np.array(list(best.values()), dtype=np.intp)
    if len(chosen) < 2:
        return -np.inf
    both = np.zeros((len(chosen), len(chosen)))
    for g in gain[:, chosen]:
        g = np.maximum(g, 0.0)
        both += np.maximum(g[:, None], g[None, :])
    alone = gain[:, chosen].sum(axis=0)
    rival = both > np.maximum(alone[:, None], alone[None, :]) + PAIR_MUST_GAIN
    place = {name: k for k, name in enumerate(best)}
    for h in (h for h in tried if len(h.faults) == 2):
        i, j = (place.get(f.name, -1) for f in h.faults)
        if i >= 0 and j >= 0:
            rival[i, j] = rival[j, i] = False
    one, two = np.nonzero(np.triu(rival, 1))
    if not len(one):
        return -np.inf
    mass = both[one, two] + prior[chosen[one]] + prior[chosen[two]]
    return float(np.logaddexp.reduce(mass) + np.log(FURTHER_FAULTS) + healthy)


def as_share(log_mass: float, prior: Floats, log_evidence: float, undescribed: float = UNDESCRIBED) -> float:
    """A weight on the scale of the unscaled prior as a share of all the evidence and itself; `undescribed` as in
    `Investigator`."""
    gap = log_evidence + np.log(prior.sum() / (1 - undescribed)) - log_mass
    return float(1 / (1 + np.exp(np.clip(gap, -700, 700))))
