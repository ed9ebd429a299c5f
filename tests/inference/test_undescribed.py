"""The share for what the harness file does not describe: worked by hand, and in lists with and without slips."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tracer.checking.survey import states_up_to_pairs
from tracer.inference.diagnose import Investigator
from tracer.inference.likelihood import as_meant
from tracer.inference.unmodelled_cause import Undescribed
from tracer.observation.evidence import LampSeen, Symptom


@cache
def pickup() -> Investigator:
    return tool_on(MODELS / "pickup.yaml")


def look(lamp: str, word: str, **controls: str) -> Symptom:
    state = pickup().harness.state({name.replace("_", " "): position for name, position in controls.items()})
    return Symptom(state, (LampSeen(lamp, frozenset({word})),))


def test_one_complaint_by_hand() -> None:
    """A touched lamp shows anything always (a fifth for each word) or in three states of ten: (0.2 + 0.3 · 0.2) / 2 =
    0.13. Of an untouched one hardly anybody complains: 0.01 / N, a careless person 0.11 / N, less than 2e-5. Of
    26 lamps it touches 26, 7.8, 2.6 or 0.78; twice the one that was told of would not strike, each further doubling
    costs 0.4: 13 times is 3.70 doublings, 3.9 times 1.96, 1.3 times 0.379. On average it touches, as far as nobody
    would have said more, 0.1 · 0.4^3.70 + 0.3 · (0.3 · 0.4^1.96 + 0.1 · 0.4^0.379 + 0.03) = 0.04847 of them."""
    one = Undescribed(pickup().sayable).weigh(look("left rear stop", "dark", brake_pedal="pressed"))
    assert np.exp(one) == pytest.approx(0.04847 * 0.13, abs=3e-5)


def test_an_answer_by_hand() -> None:
    """Asked for that lamp: an untouched one is called so by a slip, 0.005 / 5 = 0.001, by a careless person with
    0.9 · 0.001 + 0.1 · 0.2 = 0.0209: 0.97 · 0.001 + 0.03 · 0.0209 = 0.001597; a touched one with
    (0.2 + 0.3 · 0.2 + 0.7 · 0.001) / 2 = 0.13035."""
    asked = replace(look("left rear stop", "dark", brake_pedal="pressed"), asked=True)
    one = Undescribed(pickup().sayable).weigh(asked)
    assert np.exp(one) == pytest.approx(0.229 * 0.13035 + 0.771 * 0.001597, rel=1e-4)


def test_a_complaint_of_a_lamp_that_should_be_dark_by_hand() -> None:
    """Bright and normal are one word there, of four: (0.25 + 0.3 · 0.25) / 2 = 0.1625 if the lamp is touched."""
    for word in ("bright", "normal"):
        one = Undescribed(pickup().sayable).weigh(
            as_meant(look("left rear stop", word, lamp_switch="side"), pickup().predictor))
        assert np.exp(one) == pytest.approx(0.04847 * 0.1625, abs=3e-5)
        found = pickup().diagnose([look("left rear stop", word, lamp_switch="side")], pairs=False)
        assert found.beyond[0] == pytest.approx(one, abs=1e-12)


def test_the_order_of_what_was_said_does_not_matter() -> None:
    said = [
        look("left rear stop", "dark", brake_pedal="pressed"), look("left rear tail", "bright", lamp_switch="side"),
        look("left rear stop", "normal", brake_pedal="pressed", lamp_switch="side"),
        Symptom(pickup().harness.state({}), (), others_normal=True),
    ]
    one, two = Undescribed(pickup().sayable), Undescribed(pickup().sayable)
    there, back = sum(one.weigh(s) for s in said), sum(two.weigh(s) for s in said[::-1])
    assert there == pytest.approx(back, abs=1e-9)


def test_a_lamp_at_odds_again_and_again_counts_for_it_and_one_after_the_other_does_not() -> None:
    """Six complaints in a survey of all lamps: all of one lamp, or of six lamps once each."""
    harness = pickup().harness
    lamps = ["left rear stop", "right rear tail", "left front side", "right headlamp main", "panel lamp 1",
             "left rear indicator"]
    states = states_up_to_pairs(harness, None)[:6]

    def weigh(names: list[str]) -> float:
        own = Undescribed(pickup().sayable)
        looks = [(LampSeen(name, frozenset({"faint"})),) for name in names]
        return sum(own.weigh(Symptom(s, seen, True)) for s, seen in zip(states, looks, strict=True))

    assert weigh(lamps[:1] * 6) > weigh(lamps) + 10


def test_ten_slips_among_six_hundred_looks_are_no_reason_to_give_up() -> None:
    """A dead tail lamp: dark in 2 states with the lights on, "everything else normal" in 24; ten times another lamp,
    each another one, is called dim by a slip. Taken for as likely as any word, ten such complaints speak for "not
    described" with 0.2 against 0.02 (a careless person's) each, which made its share 98 %."""
    harness, lamp = pickup().harness, "left rear tail"
    predictor = pickup().predictor
    usual = {s: predictor.healthy(s).flux[0, predictor.lamp_index[lamp]] for s in states_up_to_pairs(harness, None)}
    lit, dark = [s for s in usual if usual[s] > -0.5][:2], [s for s in usual if usual[s] < -3][:22]
    wrong = [f.lamp for f in predictor.lamps if f.lamp != lamp][:10]
    said = [Symptom(s, (LampSeen(lamp, frozenset({"dark"})),), True) for s in lit]
    said += [Symptom(s, (LampSeen(name, frozenset({"dim"})),), True) for s, name in zip(dark, wrong, strict=False)]
    said += [Symptom(s, (), True) for s in dark[len(wrong):]]
    found = pickup().diagnose(said, pairs=False)
    assert lamp in found.suspects[0].repair
    assert found.undescribed < 0.001
