"""How wrong a rate may be before another suspect leads, by trying; and readings through what no ohmmeter tells,
number by number."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from tests.inference.test_pieces_restated import diagnosis, invented
from tracer.inference import unknown_to_ohmmeters
from tracer.inference.diagnosis import Suspect
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.rate_sensitivity import rate_margins
from tracer.inference.unknown_to_ohmmeters import it_matters, mixed
from tracer.observation.evidence import Value

# --- how wrong a rate may be


@pytest.mark.parametrize("seed", range(6))
def test_a_rate_may_be_as_wrong_as_it_takes_for_another_to_lead(seed: int) -> None:
    """By trying: the share of all faults of a kind times more and more, or less and less, until another suspect comes
    first; the nearest five, nearest first, none beyond a thousand."""
    rng = np.random.default_rng(seed)
    kinds = ("way bad", "wire open", "earth bad")
    faults = [replace(invented(f"f{k}"), kind=kinds[rng.integers(3)], repair=f"r{k % 5}") for k in range(9)]
    rows = [Hypothesis((f,), f.variants, 0.1) for f in faults]
    share = rng.uniform(0, 1, 9) ** 3
    share = share / share.sum() * 0.97
    by_repair: dict[str, list[int]] = {}
    for k, f in enumerate(faults):
        by_repair.setdefault(f.repair, []).append(k)
    suspects = sorted((Suspect(r, float(share[own].sum()), tuple(own), rows[own[0]]) for r, own in by_repair.items()),
                      key=lambda s: -s.share)
    own = replace(diagnosis([], share.tolist(), [], rows=rows), suspects=tuple(suspects))
    wanted = []
    for kind in kinds:
        def weight(s: Suspect, factor: float, kind: str = kind) -> float:
            return sum(float(share[k]) * (factor if faults[k].kind == kind else 1.0) for k in s.rows)

        for grid in (np.geomspace(1, 1000, 2001), np.geomspace(1, 1e-3, 2001)):
            for factor in grid[1:]:
                first = max(suspects, key=lambda s: weight(s, factor))
                if first is not suspects[0] and weight(first, factor) > weight(suspects[0], factor):
                    wanted.append((kind, factor, first.repair))
                    break
    wanted.sort(key=lambda m: abs(math.log(m[1])))
    found = rate_margins(own)
    # Two may be as near as each other but for the steps of the trial.
    assert len(found) == min(len(wanted), 5)
    apart = [abs(math.log(m.factor)) for m in found]
    assert apart == sorted(apart) and apart == pytest.approx([abs(math.log(f)) for _, f, _ in wanted[:5]], abs=5e-3)
    for m in found:
        assert any((k, r) == (m.kind, m.then) and m.factor == pytest.approx(f, rel=5e-3) for k, f, r in wanted)
        assert ("frequent" if m.factor >= 1 else "rare") in m.says() and m.then in m.says()
    assert rate_margins(replace(own, suspects=own.suspects[:1])) == ()


# --- what no ohmmeter tells


@pytest.mark.parametrize(("apart", "shut", "matters"), [
    (math.inf, 5.0, True), (100.0, 100.0, False), (1e7, 0.0, True), (100.0, 101.0, False),
])
def test_it_matters_what_a_thing_is_where_it_shows(apart: float, shut: float, matters: bool) -> None:
    assert bool(it_matters(np.array([apart]), np.array([shut]))[0]) == matters


@pytest.mark.parametrize("value", [
    Value(20.0, 20.0, 0.1), Value(1e3, 1e5, 1.0), Value(math.inf, math.inf), Value(5.0, 5.0)])
@pytest.mark.parametrize(("apart", "shut"), [(math.inf, 5.0), (50.0, 5.0), (5.0, 1e4), (1e3, 10.0)])
def test_a_reading_through_it_is_that_of_open_or_of_shut_or_anything_between(
    value: Value, apart: float, shut: float,
) -> None:
    def scale(ohm: float) -> float:
        return math.log10(min(ohm if math.isfinite(ohm) else 1e7, 1e7) + 0.15)

    low, high = sorted((scale(apart), scale(shut)))
    least, most = scale(value.low), scale(value.high)
    if not value.is_range:
        least, most = least - 0.02, most + 0.02
    inside = max(min(most, high) - max(least, low), 0.0) / max(high - low, unknown_to_ohmmeters.APART)
    p = unknown_to_ohmmeters.OPEN * math.exp(-2.0) + unknown_to_ohmmeters.CONDUCTS * math.exp(-3.0)
    p += unknown_to_ohmmeters.BETWEEN * inside
    found = mixed(np.array([-2.0]), np.array([-3.0]), np.array([apart]), np.array([shut]), value)
    assert math.exp(found[0]) == pytest.approx(p)
    whole = unknown_to_ohmmeters.OPEN + unknown_to_ohmmeters.CONDUCTS + unknown_to_ohmmeters.BETWEEN
    assert whole == pytest.approx(1.0)
