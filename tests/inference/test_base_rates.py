"""Base rates held to figures from outside: a prior predictive check, and modes of one kind of part.

Sources: German autumn light tests, press texts of its organisers (2013, 2018, 2022): of cars with any headlamp dead
9 to 14 in a hundred have both dead; British inspection records of one year as processed by a public cost site: plate
lamps all out in 7.7 % of cars with any out. Failure modes: FMD-91 as tabled in MIL-HDBK-338B, seen second-hand in a
reliability program's data.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.test_complaints import CARS, lamps_for, own, state_for
from tests.library import MODELS
from tests.long import in_turn
from tracer.harness.base_rates import LEFT_BY_TRYING, MODES, ORDERED, PRACTICE, RATES
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import by_change
from tracer.observation.story import NO_STORY


@pytest.mark.parametrize("model", in_turn(CARS, 0))
@pytest.mark.parametrize("purpose", ["dipped", "number plate", "stop", "reversing"])
def test_all_of_a_function_dark_where_any_is(model: str, purpose: str) -> None:
    """P(every lamp of a function dark | at least one dark) before any evidence lies between 5 and 20 %: faults that
    take all of them, two lamps of one age among them."""
    state, lamps = state_for(model, purpose), lamps_for(model, purpose)
    predictor, rows = own(model).predictor, own(model).singles
    changes, one_of = by_change(rows)
    panel = predictor.looks([(predictor.setup(state), predictor.table(changes))])[0]
    dark = (panel.flux[:, [predictor.lamp_index[x] for x in lamps]] < -1.9)[one_of]
    # Inspections count all vehicles, also those whose dead lamp is changed at home and traced by nobody.
    prior = np.array([h.prior / LEFT_BY_TRYING.get(h.faults[0].kind, 1.0) for h in rows])
    share = prior[dark.all(axis=1)].sum() / prior[dark.any(axis=1)].sum()
    assert 0.05 < share < 0.20


@pytest.mark.parametrize(("kinds", "published"), [
    ((("way open",), ("way bad",), ("ways joined",)), (0.61, 0.23, 0.16)),
    ((("relay coil open", "relay stuck open", "relay bad"), ("relay stuck closed",), ("relay coil shorted",)),
     (0.55, 0.26, 0.19)),
    ((("switch never makes", "switch bad", "switch dead"), ("switch out of adjustment",), ("switch never breaks",)),
     (0.65, 0.19, 0.16)),
])
def test_modes_stand_as_published_within_a_factor_of_two(
    kinds: tuple[tuple[str, ...], ...], published: tuple[float, ...]
) -> None:
    own_rates = np.array([sum(RATES[k].rate for k in group) for group in kinds])
    ratio = own_rates / own_rates.sum() / np.array(published)
    assert ((ratio > 0.5) & (ratio < 2.0)).all(), ratio


def test_each_rate_says_where_it_comes_from() -> None:
    assert {r.source for r in RATES.values()} <= {PRACTICE, ORDERED, MODES}


def test_what_a_workshop_has_learned_moves_shares_between_kinds_and_adds_none() -> None:
    """Five times as many open ways as shipped: they gain on all else, and all faults together stay as likely beside
    what the file does not describe."""
    harness = load_harness(MODELS / "rear_end.yaml")
    plain, learned = (Investigator(harness, factor=f) for f in ({}, {"way open": 5.0}))

    def weight(of: Investigator, *kinds: str) -> float:
        return sum(h.prior for h in of.singles_of(NO_STORY)
                   if not h.faults[0].rewired and (not kinds or h.faults[0].kind in kinds))

    assert weight(learned) == pytest.approx(weight(plain))
    gained = weight(learned, "way open") / weight(learned, "filament open")
    assert gained == pytest.approx(5.0 * weight(plain, "way open") / weight(plain, "filament open"))
