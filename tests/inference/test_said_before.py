"""What is said again of the same light tells little new; a contradiction counts each time.

Expected values are worked out by hand from the rule: the eye's own words stick nine times in ten, slips do not.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from tests.library import MODELS, tool_on
from tracer.checking.survey import states_up_to_pairs
from tracer.circuit.model import AddedBranch, Change
from tracer.faults import Variant
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.repeated_judgements import SaidBefore, cells_of, mask_of
from tracer.inference.word_model import (
    GLOW_BORDER_BY_DAY,
    SHIFTS,
    WORD_BORDERS,
    WORD_SLIP,
    WORD_SOFTNESS,
    Eye,
    likely_words,
    meant,
)
from tracer.observation.evidence import WORDS, LampSeen, Symptom

ON_THE_BORDER = np.array([WORD_BORDERS[2]])  # half the light: dim or normal, one as likely as the other
DIM, NORMAL, DARK, BRIGHT = (frozenset([w]) for w in ("dim", "normal", "dark", "bright"))


def again(flux: np.ndarray, words: frozenset[str], before: frozenset[str]) -> float:
    return float(Eye().calls(flux, words, WORD_SLIP, before=np.array([mask_of(before)], dtype=np.uint8))[0])


def test_a_light_on_a_border_is_called_the_same_again() -> None:
    # A slip of 0.02, a fifth of it for each word: p(dim) = 0.98 · 0.5 + 0.004 = 0.494, of which 0.490 by eye.
    sticks = 0.9 * 0.490 / 0.494
    assert again(ON_THE_BORDER, DIM, DIM) == pytest.approx(sticks * 0.984 + (1 - sticks) * 0.494, abs=2e-3)
    assert again(ON_THE_BORDER, NORMAL, DIM) == pytest.approx(sticks * 0.004 + (1 - sticks) * 0.494, abs=2e-3)


def test_a_slip_is_as_likely_the_second_time() -> None:
    """By hand: 0.02 / 5 is the slip. By day, half the time, an eye that is 4.5 times its softness off calls full
    light dark, and then again nine times in ten."""
    sound = np.array([0.0])
    eye = 0.98 * 0.5 * float(norm.cdf(np.log10(GLOW_BORDER_BY_DAY) / WORD_SOFTNESS[0]))
    assert again(sound, DARK, DARK) == pytest.approx(0.004 + 0.9 * eye / (eye + 0.004) * 0.98, rel=1e-3)
    assert again(sound, DARK, NORMAL) == pytest.approx(0.004, rel=1e-3)


@pytest.mark.parametrize("flux", [-3.0, -1.2, -0.3, 0.0, 0.17])
@pytest.mark.parametrize("before", WORDS)
def test_the_words_for_a_light_sum_to_one(flux: float, before: str) -> None:
    total = sum(again(np.array([flux]), frozenset([w]), frozenset([before])) for w in WORDS)
    assert total == pytest.approx(1.0, abs=1e-9)


def test_bright_where_a_lamp_should_be_dark_only_says_that_it_is_lit() -> None:
    assert meant(BRIGHT, -6.0) == meant(NORMAL, -6.0) == BRIGHT | NORMAL
    assert meant(DIM, -6.0) == DIM
    assert meant(DARK, -6.0) == DARK
    assert meant(BRIGHT, 0.0) == BRIGHT  # where it should be lit, too bright is too bright
    assert meant(NORMAL, -0.2) == NORMAL
    assert meant(DIM | NORMAL, -6.0) == DIM | NORMAL  # "nearly full" says that it is less than full


def test_bright_and_then_normal_for_one_light_where_a_lamp_should_be_dark() -> None:
    """A reversing lamp fully lit in neutral: bright with the ignition on, normal with the headlamps on as well.

    Worked by hand: the light lies 0.31 decades or more above the border of "dim", five times the softness of 0.06,
    and to eyes that see 0.1225 decades less three times, so that all eyes surely call it one of the two, which are
    one word. Asked for, a complaint is a slip with 0.005, in which any of the four words is as likely: 0.995 +
    0.005 / 4 = 0.99625. Whether the eye says the same again or judges anew, it is that word: 0.99625 each time. A
    careless person says it with 0.9 · 0.99625 + 0.1 / 4 = 0.92163. (As two words, bright had 0.995 · 0.01 + 0.001 to
    most eyes, and normal after bright a tenth.)"""
    investigator = tool_on(MODELS / "glass_fibre.yaml")
    harness = investigator.harness
    true = next(h for h in investigator.singles if h.faults[0].kind == "switch out of adjustment"
                and h.faults[0].name.startswith("switch out of adjustment: reversing switch"))
    assert "neutral" in true.variants[0].says
    states = [harness.state({"ignition": "on", "lamp switch": p}) for p in ("off", "head")]
    lamp = investigator.predictor.lamp_index["reversing lamp"]
    for state in states:
        assert investigator.predictor.healthy(state).flux[0, lamp] < -5
        panel = investigator.predictor.panel(
            investigator.predictor.setup(state), investigator.predictor.table([true.change]))
        assert 0.01 < panel.flux[0, lamp] < 0.05

    def say(*words: frozenset[str]) -> float:
        told = [Symptom(s, (LampSeen("reversing lamp", w),), asked=True) for s, w in zip(states, words, strict=False)]
        d = investigator.diagnose(told, pairs=False)
        return float(np.exp(d.loglik[:, d.hypotheses.index(true)].sum()))

    assert say(BRIGHT) == pytest.approx(0.97 * 0.99625 + 0.03 * 0.92163, abs=3e-4)
    assert say(BRIGHT, NORMAL) == pytest.approx(0.97 * 0.99625**2 + 0.03 * 0.92163**2, abs=3e-4)
    assert say(BRIGHT, NORMAL) == pytest.approx(say(NORMAL, BRIGHT), abs=1e-12)
    assert say(BRIGHT, NORMAL) == pytest.approx(say(NORMAL, NORMAL), abs=1e-12)
    # A change from bright to dim stays one: for none of these eyes is so much light dim, or only just.
    assert say(BRIGHT, DIM) < 0.01


def test_bright_and_normal_in_one_state_where_a_lamp_should_be_dark_do_not_clash() -> None:
    investigator = tool_on(MODELS / "glass_fibre.yaml")
    harness = investigator.harness

    def clash(**controls: str) -> bool:
        told = [Symptom(harness.state(controls), (LampSeen("reversing lamp", w),)) for w in (BRIGHT, NORMAL)]
        return bool(investigator.diagnose(told, pairs=False).contradictions())

    assert not clash(ignition="on")
    assert clash(ignition="on", gear="reverse")


def test_not_normal_said_of_a_lamp_that_should_be_dark_says_that_it_is_lit() -> None:
    """As a set of words it would leave out just the light of a lamp that is fully lit."""
    not_normal, lit = frozenset({"dark", "faint", "dim", "bright"}), frozenset({"faint", "dim", "normal", "bright"})
    assert meant(not_normal, usual=-6.0) == lit and meant(not_normal, usual=0.0) == not_normal
    investigator = tool_on(MODELS / "glass_fibre.yaml")
    harness = investigator.harness
    said = [
        investigator.diagnose([Symptom(harness.state({"ignition": "on"}), (LampSeen("reversing lamp", words),))])
        for words in (not_normal, lit)
    ]
    assert [s.repair for s in said[0].suspects[:5]] == [s.repair for s in said[1].suspects[:5]]
    assert said[0].share == pytest.approx(said[1].share, abs=1e-12)


def test_what_was_called_lit_is_called_normal_again() -> None:
    """Of any of several words the eye had one in mind: for the lamp that burns as ever, the usual one; near the
    border between two (0.001 decades of 0.06, which is 0.493 of the normal distribution) either."""
    before = np.array([mask_of(frozenset({"faint", "dim", "normal", "bright"}))], dtype=np.uint8)
    sound = np.array([0.0])
    assert Eye().calls(sound, NORMAL, WORD_SLIP, 0.0, before) == pytest.approx(0.984, abs=1e-6)
    assert Eye().calls(sound, DIM, WORD_SLIP, 0.0, before) == pytest.approx(0.004, abs=1e-6)
    assert again(np.array([-0.3]), DIM, DIM | NORMAL) == pytest.approx(0.98 * 0.493 + 0.004, abs=1e-3)


@pytest.mark.parametrize(("usual", "word"), [(0.08, "bright"), (-0.2, "dim"), (-3.9, "faint")])
def test_no_eye_complains_of_a_light_that_is_as_it_always_was(usual: float, word: str) -> None:
    """A plate lamp with a short wire, a stop lamp of a 6 V motorcycle, a lamp that is off: to an eye that draws its
    borders elsewhere they stand near or beyond one. Whoever knows them complains by a slip alone (0.005, a fifth of
    it each word; a fourth where a lamp is off, since there bright is no other word than normal). Of a lamp that has
    changed he complains as of any."""
    words, flux, slip = frozenset({word}), np.array([usual]), 0.00125 if usual < -3 else 0.001
    for shift in (*SHIFTS, -0.3, 0.3):
        assert Eye(shift).calls(flux, words, 0.005, usual) == pytest.approx(slip)
    changed = np.array([usual - 0.45 if word == "dim" else usual + 0.45])
    as_of_any = Eye().calls(changed, words, 0.005) - 0.001
    assert Eye().calls(changed, words, 0.005, usual) - slip == pytest.approx(as_of_any, abs=1e-4)


def test_what_is_told_of_a_lamp_twice_is_no_judgement_of_one_eye() -> None:
    """A 10 W lamp in the holder of a 5 W plate lamp, called bright with the side and with the head lamps. Against
    it stood some fault that shows nowhere and an eye to which every lamp is bright: two slips (0.001 each), or a
    careless person (0.03 of people, 0.02 each word) come to 1.3e-5, the lamp's base rate (0.15 of 525) to
    twenty times that."""
    investigator = tool_on(MODELS / "saloon_1970s.yaml")
    harness, lamp = investigator.harness, "right number-plate lamp"
    bright = (LampSeen(lamp, frozenset({"bright"})),)
    told = [Symptom(harness.state({"lamp switch": position}), bright) for position in ("side", "head")]
    found = investigator.diagnose(told, pairs=False)
    odd = found.share[[any(lamp in e for f in h.faults for e in (f.name, f.repair)) for h in found.hypotheses]].sum()
    assert found.suspects[0].repair == f"new lamp: {lamp}"
    assert odd > 5 * (1 - odd - found.undescribed)


def test_only_what_shone_alike_counts_as_said_before() -> None:
    said, rows = SaidBefore(2, 3), np.arange(2)
    flux = np.array([[-1.0, 0.0, 0.0], [-1.0, -2.0, 0.0]])
    assert said.recall(cells_of(flux), rows, "") is None
    said.note(cells_of(flux), rows, "", [0, 1], [mask_of(DIM), mask_of(DARK)])
    here = said.recall(cells_of(flux + 0.02), rows, "")
    assert here is not None
    assert here.tolist() == [[mask_of(DIM), mask_of(DARK), 0]] * 2
    there = said.recall(cells_of(np.zeros((2, 3))), rows, "")
    assert there is not None
    assert there.tolist() == [[0, mask_of(DARK), 0], [0, 0, 0]]
    assert said.recall(cells_of(flux), rows, "night") is None  # another light, other borders


def test_a_dim_lamp_seen_in_six_states_is_not_six_times_evidence() -> None:
    """A side lamp called dim, and again with every other control moved, which cannot matter to it. A dead short puts
    it well inside "dim" at one place of its feed and near "faint" at another; without the rule each further state
    speaks as loudly for the first as the one before."""
    investigator = tool_on(MODELS / "car_1950s.yaml")
    harness = investigator.harness
    lamp = "left front side"
    sure, near = (
        Hypothesis((), (Variant(1.0, Change(added=(AddedBranch(place, harness.reference, 0.05),))),), 1.0)
        for place in ("lamp switch.58", "S9")
    )
    others = {"brake pedal": "pressed", "indicator stalk": "left", "horn button": "pressed", "roof lamp switch": "on",
              "dip switch": "main"}
    states = [harness.state({"lamp switch": "side", **moved}) for moved in ({}, *({c: p} for c, p in others.items()))]

    def odds(count: int) -> float:
        evidence = [Symptom(s, (LampSeen(lamp, DIM),)) for s in states[:count]]
        one, two = (float(investigator.weigh([h], evidence).sum()) for h in (sure, near))
        return one - two

    assert 0.4 < odds(1) < 0.8
    assert odds(6) < 1.5 * odds(1)


def test_a_flat_battery_told_lamp_by_lamp_leads() -> None:
    """0.8 of the voltage leaves 0.8^3.4 = 0.47 of the light, next to the half at which "dim" begins: by the drop of
    its own wires one lamp is called dim and the next one normal. A bad joint near the battery takes little from few
    lamps and much from many; only the battery takes the same from all. (With borders that lay elsewhere for each lamp
    the flat battery had one ten-thousandth.)"""
    investigator = tool_on(MODELS / "tractor.yaml")
    harness = investigator.harness
    predictor = investigator.predictor
    flat = next(h for h in investigator.singles if h.faults[0].kind == "battery low" and h.variants[0].says == "flat")
    said = []
    for state in states_up_to_pairs(harness, None)[:24]:
        now = predictor.panel(predictor.setup(state), predictor.table([flat.change])).flux[0]
        pairs = zip(predictor.lamps, likely_words(now), likely_words(predictor.healthy(state).flux[0]), strict=True)
        odd = tuple(LampSeen(f.lamp, frozenset({WORDS[word]})) for f, word, usual in pairs if word != usual)
        said.append(Symptom(state, odd, True))
    assert sum(len(s.seen) for s in said) > 8
    found = investigator.diagnose(said, pairs=False)
    assert found.suspects[0].best.faults[0].kind == "battery low"
    assert found.suspects[0].share > 0.5


@pytest.mark.parametrize("word", WORDS)
def test_each_of_many_lights_is_called_as_if_it_were_the_only_one(word: str) -> None:
    """Several faults, several lamps: none has a say in what another's light is called, of one that nobody knows
    neither."""
    lights = np.array([-3.0, -1.2, WORD_BORDERS[2], 0.0, 0.17])
    before = np.array([mask_of(frozenset([w])) for w in (*WORDS[:4], word)], dtype=np.uint8)
    own = frozenset([word])
    for flux, said in ((lights, before), (np.array([lights, lights[::-1]]), np.array([before, before[::-1]]))):
        for usual in (None, 0.0):
            together = Eye().calls(flux, own, WORD_SLIP, usual, said)
            assert together.shape == flux.shape
            for at in np.ndindex(flux.shape):
                alone = Eye().calls(flux[at][None], own, WORD_SLIP, usual, said[at][None])
                assert together[at] == pytest.approx(float(alone[0]), abs=1e-12)
