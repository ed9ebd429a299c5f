"""Which states uncover most of what else could be wrong, against a plain count; what looks are offered and show."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.library import MODELS
from tests.shared import investigator_for
from tracer.circuit.model import Bools, Floats
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.hypotheses import basic_states, by_change
from tracer.inference.word_model import likely_word
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.candidate_looks import LOOK_OUTCOMES, Looks
from tracer.planning.live_hypotheses import Living
from tracer.planning.uncovering import MOST_LOOKS, RISK, uncovering

HARNESS = load_harness(MODELS / "rear_end.yaml")
PRESSED = HARNESS.state({"brake pedal": "pressed"})
SIDE = HARNESS.state({"lamp switch": "side"})


@cache
def own() -> Investigator:
    return investigator_for(HARNESS)


@cache
def weighed() -> tuple[list[object], Floats]:
    """What single faults change, and how likely each is among the further faults."""
    changes, one_of = by_change(own().singles)
    weight = np.bincount(one_of, weights=[h.prior for h in own().singles])
    return list(changes), np.asarray(weight / weight.sum() * RISK)


@cache
def shown(state: VehicleState) -> Bools:
    """Whether each shows: another light by more than a third of a decade, or flashing otherwise, of a lamp that is
    seen at all in either; or a fuse blows."""
    predictor = own().predictor
    panel, sound = predictor.panel(predictor.setup(state), predictor.table(weighed()[0])), predictor.healthy(state)  # type: ignore[arg-type]
    out = []
    for k in range(len(weighed()[0])):
        seen = bool(panel.blown[k].any())
        for i in range(panel.flux.shape[1]):
            if max(panel.flux[k, i], sound.flux[0, i]) <= -2.5:
                continue
            seen |= abs(panel.flux[k, i] - sound.flux[0, i]) > 0.35
            seen |= abs((panel.flux[k, i] - panel.least[k, i]) - (sound.flux[0, i] - sound.least[0, i])) > 0.5
        out.append(seen)
    return np.array(out)


@pytest.mark.parametrize("first", [[], [PRESSED], [SIDE, PRESSED]])
def test_state_after_state_uncovers_most_of_what_is_left(first: list[VehicleState]) -> None:
    """By a count over all faults, state by state; what is left is what no look shows."""
    states = basic_states(HARNESS)
    chosen, left = uncovering(own(), first, states)
    hidden, weight = np.ones(len(weighed()[0]), dtype=bool), weighed()[1]
    expected = list(first)
    for state in first:
        hidden &= ~shown(state)
    while len(expected) < MOST_LOOKS:
        worth = {s: float(weight[hidden & shown(s)].sum()) for s in states if s not in expected}
        best = max(worth, key=lambda s: worth[s], default=None)
        if best is None or worth[best] < 0.0005:
            break
        expected.append(best)
        hidden &= ~shown(best)
    assert chosen == expected and chosen[:len(first)] == first
    assert left == pytest.approx(float(weight[hidden].sum())) and 0 < left < RISK


def test_more_looks_leave_less_hidden() -> None:
    alone, most = (uncovering(own(), [], states)[1] for states in ([PRESSED], basic_states(HARNESS)))
    assert most < alone < RISK


# --- Looks -----------------------------------------------------------------------------------------------


def living(*said: str) -> Living:
    found: Diagnosis = own().diagnose([parse_symptom(x, HARNESS) for x in said], pairs=False)
    return Living(found, [s.rows[0] for s in found.suspects[:8]])


def test_the_likeliest_word_of_a_look_is_what_the_lamp_does() -> None:
    """For every lamp that clearly has one word; what flashes is said to; all words together are certain."""
    alive = living("left rear stop dark when brake pedal pressed")
    looks = Looks(alive)
    for state in (PRESSED, SIDE, HARNESS.state({"indicator stalk": "left"})):
        panel, lamps = alive.panel(state), list(own().predictor.lamp_index)
        table = looks.outcomes(panel, lamps, state)
        assert table.shape == (len(lamps), len(LOOK_OUTCOMES), len(alive.changes))
        assert table.sum(axis=1) == pytest.approx(1.0)
        for n, lamp in enumerate(lamps):
            for h in range(len(alive.changes)):
                flux, least = panel.flux[h, n], panel.least[h, n]
                word = "flashing" if flux - least > 1.5 and flux > -0.5 else likely_word(float(flux))
                if flux < -4 or flux > -0.05:
                    assert LOOK_OUTCOMES[int(table[n, :, h].argmax())] == word, (lamp, state)


def test_where_somebody_looks() -> None:
    """First where something was seen, then each control by itself, then those with one more control moved."""
    states = Looks(living("left rear stop dark when brake pedal pressed")).states()
    assert states[0] == PRESSED and len(states) == len({*states}) <= 36
    assert {*basic_states(HARNESS)} <= {*states}
    both = HARNESS.state({"brake pedal": "pressed", "lamp switch": "side"})
    turning = HARNESS.state({"brake pedal": "pressed", "indicator stalk": "left"})
    assert {both, turning} <= {*states}
    three = HARNESS.state({"brake pedal": "pressed", "lamp switch": "side", "indicator stalk": "left"})
    assert three not in states


def test_a_lamp_that_was_told_of_is_looked_at_again_only_in_doubt() -> None:
    """The stop lamp is dark whatever it is: a second look says so and is marked. The other stop lamp was not told of:
    a look at it is new. Where "everything else" was said to be normal it is none."""
    offered = list(Looks(living("left rear stop dark when brake pedal pressed")).candidates())
    here = [c for c in offered if c.test.state == PRESSED and not c.also]
    assert all(c.again == (c.test.lamp == "left rear stop") for c in here)
    assert any(c.test.lamp == "right rear stop" and c.test.state == PRESSED and not c.again for c in offered)
    told = Looks(living("left rear stop dark, everything else normal when brake pedal pressed")).candidates()
    assert not [c for c in told if c.test.lamp == "right rear stop" and c.test.state == PRESSED and not c.again]


def test_lamps_of_one_place_are_looked_at_together() -> None:
    """Each lamp once, no more than eight, the first of them the test."""
    said = "left rear stop dark, left rear tail dark when lamp switch side, brake pedal pressed"
    offered = [c for c in Looks(living(said)).candidates() if c.also]
    assert offered
    for c in offered:
        assert len({c.test.lamp, *c.also}) == len(c.also) + 1 <= 8
        assert c.likelihood.sum(axis=0) == pytest.approx(1.0)
        assert all(lamp in c.outcomes[0] for lamp in (c.test.lamp, *c.also))
