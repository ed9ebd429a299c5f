"""A lamp and its like on the other side, told in one breath: by hand, on a small vehicle of two units."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.test_same_lamp import at, own
from tests.library import MODELS, tool_on
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.repeated_judgements import mask_of
from tracer.inference.side_by_side import side_by_side
from tracer.inference.word_model import SAME_AGAIN
from tracer.observation.evidence import WORDS, LampSeen, Symptom

DARK, FAINT, DIM, NORMAL = (frozenset({w}) for w in ("dark", "faint", "dim", "normal"))
SIDE = {"lights": "on"}
TAILS = ("left tail", "right tail")


def told(left: frozenset[str], right: frozenset[str], asked: bool = False, doubtful: bool = False) -> Symptom:
    looks = [LampSeen(lamp, words, doubtful=doubtful) for lamp, words in zip(TAILS, (left, right), strict=True)]
    return Symptom(at(**SIDE), tuple(looks), asked=asked)


def on_the_border(lowest: float, highest: float) -> Hypothesis:
    """A fault in what feeds both tails alike, which leaves each that light (log10)."""
    rows = [h for h in own().singles if h.awake == 1]
    panel = own().predictor.panel(own().predictor.setup(at(**SIDE)), own().predictor.table([h.change for h in rows]))
    left, right = (panel.flux[:, own().predictor.lamp_index[lamp]] for lamp in TAILS)
    chosen = np.flatnonzero((np.abs(left - right) < 0.001) & (left > lowest) & (left < highest) & panel.usable)
    return rows[int(chosen[0])]


def chance(hypothesis: Hypothesis, said: Symptom) -> float:
    return float(np.exp(own().weigh([hypothesis], [said])[0, 0]))


def test_lamps_that_shine_alike_are_called_alike() -> None:
    """A wire that feeds both leaves them at 0.4 to 0.6 of their light: each may be called dim or normal. As two
    judgements one normal and one dim would come nearly as often as both dim; from one eye, one time in ten of it."""
    border = on_the_border(-0.4, -0.2)
    alike, apart = (chance(border, told(DIM, word, asked=True)) for word in (DIM, NORMAL))
    first = chance(border, Symptom(at(**SIDE), (LampSeen("left tail", DIM),), asked=True))
    assert alike + apart == pytest.approx(first, rel=0.05)  # faint and dark are slips
    assert alike > SAME_AGAIN * first


def test_of_two_alike_one_is_not_dark_and_the_other_lit() -> None:
    """Series filaments, or a feed that both have in common, make one light of both. Told asked or unasked, that they
    differ is then a slip."""
    border = on_the_border(-2.8, -1.0)
    for asked in (True, False):
        both, one = (chance(border, told(words, FAINT, asked=asked)) for words in (FAINT, DARK))
        assert one < both / 4, asked


def test_what_can_be_told_apart_is_called_by_that_or_a_word_of_more_light() -> None:
    """The right one keeps as much light as the left one, which was called faint; a tenth of a decade more; less."""
    flux = np.array([[-1.0, -1.0], [-1.0, -0.9], [-0.9, -1.0]])
    index, mirror = {"left tail": 0, "right tail": 1}, {0: 1, 1: 0}
    before = side_by_side(told(FAINT, DARK), flux, None, index, mirror.get)
    assert before is not None
    assert before[:, 0].tolist() == [0, 0, 0]
    assert before[:, 1].tolist() == [mask_of(FAINT), mask_of(frozenset({"faint", "dim", "normal", "bright"})),
                                     mask_of(frozenset({"dark", "faint"}))]


def test_whatever_is_said_of_the_second_lamp_sums_to_one() -> None:
    """For every cause, whatever the first was called; but that the usual word is slipped four times as often as
    another, which each word has by itself (1.5 %)."""
    rows = [h for h in own().singles if h.awake == 1][::7]
    for first in WORDS:
        one = Symptom(at(**SIDE), (LampSeen("left tail", frozenset({first})),), asked=True)
        both = [told(frozenset({first}), frozenset({w}), asked=True) for w in WORDS]
        total = sum(np.exp(own().weigh(rows, [said])[0]) for said in both)
        assert total == pytest.approx(np.exp(own().weigh(rows, [one])[0]), rel=0.016)


def test_what_is_doubtful_or_has_no_like_is_left_as_it_was() -> None:
    flux = np.zeros((1, 2))
    index, mirror = {"left tail": 0, "right tail": 1}, {0: 1, 1: 0}
    assert side_by_side(told(DARK, DARK, doubtful=True), flux, None, index, mirror.get) is None
    assert side_by_side(told(DARK, DARK), flux, None, index, lambda lamp: None) is None


def test_three_like_lamps_in_a_row_have_a_third_of_the_voltage_each() -> None:
    """The motorcycle's rear indicators have lost their earth: the left one is fed, and its current goes on through
    the right one and the right front one to E6. Three equal filaments carry one current (Kirchhoff) and share what
    the left front lamp has alone; light ~ V^3.4 (lamp-rerating tables, as quoted at `FLUX_EXPONENT`). The leads of
    three lamps leave the rest of 2 % of the voltage."""
    investigator = tool_on(MODELS / "motorcycle_6v.yaml")
    predictor = investigator.predictor
    lost = next(h for h in investigator.singles if h.faults[0].name == "earth open: E7")
    setup = predictor.setup(investigator.harness.state({"indicator switch": "left"}))
    flux = predictor.panel(setup, predictor.table([lost.change])).flux[0]
    front, *row = (float(flux[predictor.lamp_index[f"{x} indicator"]])
                   for x in ("left front", "left rear", "right rear", "right front"))
    assert row == pytest.approx([row[0]] * 3, abs=1e-3)
    by_hand = front + 3.4 * np.log10(1 / 3)
    assert by_hand + 3.4 * np.log10(0.97) < row[0] < by_hand
