"""Two things told of one lamp, and words that say less than they might: by hand, on a small vehicle of two units."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.inference.test_ranking_inference import LAMPS
from tracer.harness.file.text import read_harness
from tracer.harness.model import VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.lens_light import LENS_SEEN
from tracer.inference.same_lamp import WELL_ENOUGH
from tracer.inference.statement_model import LIGHT_IMAGINED, LIT_SAID, NEAR_WORD, OTHER_SIDE, REST
from tracer.inference.word_model import CARELESS_SHARE, CARELESS_SLIP, COMPLAINT_SLIP, WORD_SLIP
from tracer.observation.evidence import LIT, WORDS, LampSeen, Symptom

DARK, NORMAL = frozenset({"dark"}), frozenset({"normal"})


@cache
def own() -> Investigator:
    return Investigator(read_harness(LAMPS, "two lamps"))


def at(**controls: str) -> VehicleState:
    return own().harness.state(controls)


BOTH, SIDE = {"lights": "on", "brake": "pressed"}, {"lights": "on"}
FAILS = "left tail dark with the lights on and the brake pressed"


def told(words: frozenset[str], lamp: str = "left tail", **controls: str) -> Symptom:
    return Symptom(at(**controls), (LampSeen(lamp, words),))


def single(name: str) -> Hypothesis:
    return next(h for h in own().singles if h.faults[0].name == name)


def works(hypothesis: Hypothesis, *before: Symptom, fine: Symptom | None = None) -> float:
    """P(the left tail is as it should be with the lights on | what else was told)."""
    fine = fine or told(NORMAL, **SIDE)
    return float(np.exp(own().weigh([hypothesis], [*before, fine])[-1, 0]))


def test_a_lamp_complained_of_is_not_passed_over_as_normal() -> None:
    """The left tail is dead. That it is normal, told of it as of one among many, is a slip of 0.02, one word of five:
    0.004, and 0.02 of the careless, a tenth of whose words mean nothing. Told of the lamp that fails elsewhere it is
    as rare as a false complaint: 0.005 / 5."""
    dead, careless = single("filament open: left tail"), CARELESS_SLIP / len(WORDS)
    for slip, before in ((WORD_SLIP, ()), (COMPLAINT_SLIP, (told(DARK, **BOTH),))):
        careful = slip / len(WORDS)
        by_hand = (1 - CARELESS_SHARE) * careful + CARELESS_SHARE * ((1 - CARELESS_SLIP) * careful + careless)
        assert works(dead, *before) == pytest.approx(by_hand, rel=0.05)


def test_who_says_left_for_right_does_so_twice() -> None:
    """The right tail is dead, and "left" was said: 0.02 of those who see that behind the burning stop lamp. Then "the
    left works" is said of the right one as well."""
    right, fails = single("filament open: right tail"), told(DARK, **BOTH)
    assert np.exp(own().loglik_of([right], fails)[0]) == pytest.approx((1 - LENS_SEEN) * OTHER_SIDE, rel=0.1)
    assert works(right) > 0.95
    assert works(right, fails) < 0.02


def test_what_explains_both_is_believed() -> None:
    """The earth of the left unit lost: the tail burns through the stop filament until that is fed as well."""
    found = own().diagnose([told(DARK, **BOTH), told(NORMAL, **SIDE)])
    assert "earth" in found.suspects[0].best.faults[0].kind, found.suspects[0].repair
    dead = next(s.share for s in found.suspects if s.repair == single("filament open: left tail").repair)
    assert dead < found.suspects[0].share / 3


def test_the_order_in_which_it_is_told_changes_nothing() -> None:
    said = [told(DARK, **BOTH), told(NORMAL, **SIDE)]
    one, other = (own().diagnose(x) for x in (said, said[::-1]))
    first = {s.repair: s.share for s in one.suspects}
    assert all(s.share == pytest.approx(first[s.repair], abs=1e-9) for s in other.suspects)


def test_one_remark_about_two_lamps_can_be_false_once() -> None:
    """Both tails dark with the brake pressed and both lit without, in one breath; one open joint feeds both always.
    False of both is one false remark, 0.005 / 5, not the square of it."""
    both = ("left tail", "right tail")
    fails, fine = (Symptom(at(**state), tuple(LampSeen(lamp, words) for lamp in both))
                   for state, words in ((BOTH, DARK), (SIDE, NORMAL)))
    panel = own().predictor.panel(own().predictor.setup(fine.state), own().predictor.table(
        [h.change for h in own().singles]))
    dark = (panel.flux[:, [own().predictor.lamp_index[lamp] for lamp in both]] < -4).all(axis=1) & panel.usable
    neither = own().singles[int(np.flatnonzero(dark)[0])]
    assert 0.5 < works(neither, fails, fine=fine) / (COMPLAINT_SLIP / len(WORDS)) < 2


def dims(lamp: str, name: str, **state: str) -> tuple[Hypothesis, float]:
    """The hypothesis of that name that leaves the lamp weak in the state, at a third of its light or less, and the
    light there."""
    predictor, rows = own().predictor, [h for h in own().singles if h.faults[0].name == name]
    panel = predictor.panel(predictor.setup(at(**state)), predictor.table([h.change for h in rows]))
    light = panel.flux[:, predictor.lamp_index[lamp]]
    nearest = int(np.abs(light + 0.7).argmin())
    assert -1.0 < light[nearest] < -0.35, light
    return rows[nearest], float(light[nearest])


def test_weaker_still_is_a_remark_about_a_change() -> None:
    """Two faults leave the left tail weak with the lights alone. The earth of the battery dims it further when the
    stop lamps draw their current through it too, and that is what "goes dim when I brake" tells of; the lamp's own
    wire does not, and leaves a false remark."""
    own_wire, _ = dims("left tail", "wire bad: S2 – left.tail", **SIDE)
    earth, _ = dims("left tail", "earth bad: E1", **SIDE)
    complaint = told(frozenset({"dim"}), **BOTH)
    assert works(own_wire, complaint) < 0.1 < 0.3 < works(earth, complaint) < WELL_ENOUGH + 0.02
    assert works(earth) < 0.01  # by itself, that it works is false


def test_answers_are_no_remarks() -> None:
    """Who is sent to look says what he sees there, and not what he had in mind."""
    dead, fails = single("filament open: left tail"), told(DARK, **BOTH)
    asked = replace(told(NORMAL, **SIDE), asked=True)
    assert works(dead, fails, fine=asked) == pytest.approx(works(dead, fine=asked), rel=0.05)
    assert works(dead, replace(fails, asked=True)) == pytest.approx(works(dead), rel=0.05)


def test_lit_is_said_of_what_glows_less_often_than_glows() -> None:
    """The left stop with the lights on, which should be dark. Where it burns in full, "lit" is what is said of it;
    where it glows, most would say that it glows."""
    predictor, said = own().predictor, Symptom(at(**SIDE), (LampSeen("left stop", LIT),))
    rows = [h for h in own().singles if h.awake == 1]
    panel = predictor.panel(predictor.setup(said.state), predictor.table([h.change for h in rows]))
    flux, chance = panel.flux[:, predictor.lamp_index["left stop"]], np.exp(own().loglik_of(rows, said))
    glows, full = chance[(flux > -2.2) & (flux < -1.5)], chance[flux > -0.1]
    assert len(glows) and len(full)
    shares = {next(iter(words)): share for words, share in LIT_SAID[1:]}
    assert glows.max() < 1.2 * shares["faint"] * full.max()
    assert shares["faint"] < shares["dim"] < 1


def test_by_day_a_glow_is_told_as_dark() -> None:
    """A tail lamp at a fiftieth of its light: dark by day, a glow in the dark; unsaid, one of both."""
    lamp = own().predictor.lamp_index["left tail"]
    near = min(own().singles, key=lambda h: abs(float(own().predictor.panel(
        own().predictor.setup(at(**SIDE)), own().predictor.table([h.change])).flux[0, lamp]) + 1.9))
    said = told(DARK, **SIDE)
    by_light = [float(np.exp(own().loglik_of([near], replace(said, light=light))[0]))
                for light in ("night", "", "day")]
    assert by_light[0] < by_light[1] < by_light[2]
    assert by_light[1] == pytest.approx(by_light[2] / 2, rel=0.15)


def test_a_dead_lamp_is_seldom_called_faint_and_a_faint_one_dead_as_any_word_is_slipped() -> None:
    """Who says "faint" has seen light: a thirtieth of the neighbouring word's 0.03, of no other word more than
    what anything is said by chance. The other way round it is the neighbouring word."""
    dead = single("filament open: left tail")
    faint, dim = (float(np.exp(own().loglik_of([dead], told(frozenset({w}), **SIDE))[0])) for w in ("faint", "dim"))
    assert NEAR_WORD * LIGHT_IMAGINED <= faint < 1.5 * NEAR_WORD * LIGHT_IMAGINED
    assert dim < 3 * REST / own().sayable.count + 1e-3
    lamp = own().predictor.lamp_index["left tail"]
    glows = min(own().singles, key=lambda h: abs(float(own().predictor.panel(
        own().predictor.setup(at(**SIDE)), own().predictor.table([h.change])).flux[0, lamp]) + 1.2))
    assert float(np.exp(own().loglik_of([glows], told(DARK, **SIDE))[0])) > 0.5 * NEAR_WORD
