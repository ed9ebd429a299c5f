"""Symptoms as people give them: comparisons, sometimes, by day, only with, perhaps, what relays are heard to do.

Where a number is checked its derivation stands at the check; what people say is common practice, no source.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

from tests.faults.test_faults import relay_car
from tests.library import MODELS
from tests.shared import investigator_for
from tracer.circuit.model import Change
from tracer.errors import TracerError
from tracer.faults import find_fault
from tracer.harness.base_rates import AWAKE_SHARE
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.likelihood import by_permanence, compared_loglik, lamp_loglik, relay_loglik
from tracer.inference.word_model import Eye
from tracer.observation.consistency import comes_and_goes
from tracer.observation.evidence import Compared, LampSeen, Light, RelaySeen, Symptom
from tracer.observation.words.symptoms import parse_symptom, symptom_as_data, symptom_from_data

MODEL = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"


@cache
def pickup() -> Harness:
    return load_harness(MODEL)


@cache
def investigator() -> Investigator:
    return investigator_for(pickup())


def diagnose(*texts: str) -> Diagnosis:
    return investigator().diagnose([parse_symptom(t, pickup()) for t in texts])


def share(found: Diagnosis, words: str) -> float:
    return sum(s.share for s in found.suspects if words in s.repair)


@pytest.mark.parametrize(("text", "says"), [
    ("left rear tail dimmer than right rear tail when lights side", "left rear tail dimmer than right rear tail"),
    ("left rear tail is a bit dimmer than the other side when lights side",
     "left rear tail dimmer than right rear tail"),
    ("left rear tail dimmer than the right one, left rear stop dark when lights side, brake pressed",
     "left rear tail dimmer than right rear tail; left rear stop dark"),
    ("right rear stop dark and left rear tail not as bright as right rear tail when lights side and brake pressed",
     "left rear tail dimmer than right rear tail; right rear stop dark"),
    ("left and right rear tail alike when lights side", "left rear tail as bright as right rear tail"),
    ("left rear tail dimmer than left number-plate lamp when lights side",
     "left rear tail dimmer than left number-plate lamp"),
    ("left rear tail dimmer than normal when lights side", "left rear tail dim"),
    ("left rear stop sometimes dark when brake pressed", "left rear stop sometimes dark"),
    ("sometimes the left rear stop is dark when brake pressed", "left rear stop sometimes dark"),
    ("left rear tail flickers when lights side", "left rear tail sometimes dark or faint or dim"),
    ("left rear tail dark by day when gear reverse", "left rear tail dark, by day"),
    ("left rear tail faint when gear reverse in the dark", "left rear tail faint, in the dark"),
    ("left rear tail perhaps dim when lights side", "left rear tail perhaps dim"),
    ("left rear stop dim only with lights side when brake pressed",
     "left rear stop dim, only with lamp switch at side"),
    ("left rear stop dim when brake pressed, only with the lights at side",
     "left rear stop dim, only with lamp switch at side"),
    ("left rear tail faint only when gear reverse", "left rear tail faint, only with gear at reverse"),
    ("flasher unit clicks when indicators left", "flasher unit clicks"),
    ("F3 sometimes blows when lights side", "fuse F3 sometimes blows"),
])
def test_what_people_say_is_understood_and_kept(text: str, says: str) -> None:
    symptom = parse_symptom(text, pickup())

    assert symptom.says() == says
    assert symptom_from_data(symptom_as_data(symptom), pickup()) == symptom


@pytest.mark.parametrize(("text", "message"), [
    ("left rear tail dimmer than left rear tail when lights side", "left rear tail is compared with itself"),
    ("indicator tell-tale dimmer than the other side when indicators left", "has no other side in the harness"),
    ("left rear tail sometimes when lights side", "“sometimes” does not say how it looks"),
    ("all indicators alike when hazards on", "two are compared"),
    ("left rear tail dimmer than the wiper when lights side", "no lamp “wiper”"),
    ("left rear tail faint by day when gear reverse in the dark", "by day and in the dark cannot both be"),
    ("left rear tail faint when gear reverse, only with ignition on", "names no control that was moved"),
    ("relay K9 clicks when lights side", "no relay “relay k9”"),
])
def test_what_cannot_be_understood_says_why(text: str, message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_symptom(text, pickup())

    assert message in str(caught.value)
    assert caught.value.hint


def test_recorded_data_of_another_form_is_refused() -> None:
    good = symptom_as_data(parse_symptom("left rear tail dimmer than right rear tail when lights side", pickup()))
    for broken in (
        {"light": "dusk"}, {"only": ["no such control"]}, {"only": "gear"},
        {"seen": [{"relay": "K9", "does": "clicks"}]},
        {"seen": [{"lamp": "left rear tail", "against": "right rear tail", "how": "redder"}]},
        {"seen": [{"lamp": "left rear tail", "words": ["dim"], "sometimes": "yes"}]},
    ):
        with pytest.raises(TracerError):
            symptom_from_data({**good, **broken}, pickup())


# --- how likely


def test_a_comparison_is_sharper_than_a_look() -> None:
    """5 Ω in the holder of a 6 W lamp (28 Ω hot, less when dimmer): 0.55 of the light. Seen alone that lies on the
    bright side of the border to dim, 0.5; beside its neighbour it is plainly dimmer."""
    holder = find_fault(investigator().faults, "holder bad: left rear tail holder contact")
    element = holder.elements[0]
    predictor = investigator().predictor
    state = pickup().state({"lamp switch": "side"})
    table = predictor.table([Change(), Change(set_ohm=((element, 5.0),))])
    panel = predictor.panel(predictor.setup(state), table)
    alone = np.exp(lamp_loglik(panel, predictor, LampSeen("left rear tail", frozenset({"dim"}))))
    beside = np.exp(compared_loglik(panel, predictor, Compared("left rear tail", "right rear tail", "dimmer")))

    assert panel.flux[1, predictor.lamp_index["left rear tail"]] == pytest.approx(math.log10(0.55), abs=0.06)
    assert 0.05 < alone[1] < 0.5
    assert beside[1] > 0.9 and beside[0] < 0.12
    ways = [np.exp(compared_loglik(panel, predictor, Compared("left rear tail", "right rear tail", how)))
            for how in ("dimmer", "alike", "brighter")]
    # One of the three, but for who calls the dimmer one dark: by day that is conceivable.
    assert 0 <= 1 - np.sum(ways, axis=0)[0] < 1e-6
    assert 0 < 1 - np.sum(ways, axis=0)[1] < 1e-4


def test_a_comparison_moves_suspicion_to_one_side() -> None:
    found = diagnose("left rear tail dimmer than the other side when lights side")
    left, right = (sum(s.share for s in found.suspects if side in s.repair) for side in ("left rear", "right rear"))

    assert left > 5 * right
    assert found.suspects[0].repair in (
        "clean the holder of left rear stop + left rear tail", "new lamp: left rear stop + left rear tail"
    )


def test_a_glow_is_missed_by_day_and_seen_in_the_dark() -> None:
    """At 1 % of its light a lamp glows faintly; by day it passes for dark, in the dark hardly ever."""
    predictor = investigator().predictor
    panel = predictor.panel(predictor.setup(pickup().state({})), predictor.table([Change()]))
    lamp = predictor.lamp_index["left rear tail"]
    panel.flux[0, lamp] = -2.0
    seen, lights = LampSeen("left rear tail", frozenset({"dark"})), get_args(Light)
    dark = {x: float(np.exp(lamp_loglik(panel, predictor, seen, None, Eye(light=x))[0])) for x in lights}

    assert dark["day"] > 0.8 and dark["night"] < 0.02
    assert dark["night"] < dark[""] < dark["day"]


def test_perhaps_counts_for_less() -> None:
    sure = diagnose("left rear stop dark, right rear stop normal when brake pressed")
    doubtful = diagnose("left rear stop perhaps dark, right rear stop normal when brake pressed")

    assert doubtful.suspects[0].repair == sure.suspects[0].repair
    assert doubtful.suspects[0].share < sure.suspects[0].share


def test_an_intermittent_fault_survives_good_tests() -> None:
    """A fault that is awake three times in ten, against none, even odds: after 1, 3, 6 and 10 good tests .4118,
    .2554, .1053, .0275 (closed form: 0.7^n / (1 + 0.7^n))."""
    said, usual = np.array([[-1e9]]), np.array([[0.0]])  # awake it would have shown
    symptom = Symptom(pickup().state({}), (LampSeen("left rear tail", frozenset({"normal"})),))
    _, good = by_permanence(said, usual, symptom)

    assert pytest.approx(0.3) == AWAKE_SHARE
    for tests, expected in ((1, 0.4118), (3, 0.2554), (6, 0.1053), (10, 0.0275)):
        faulty = math.exp(tests * float(good[0]))
        assert faulty / (1 + faulty) == pytest.approx(expected, abs=5e-5)


def test_sometimes_means_a_contact_and_not_a_filament() -> None:
    """Common practice, no source: what comes and goes is a loose contact. A broken filament stays broken."""
    always = diagnose("left rear stop dark when brake pressed")
    at_times = diagnose("left rear stop sometimes dark when brake pressed")
    lamp = "new lamp: left rear stop"
    contacts = ("holder of left rear stop", "way C2.2")
    odds = [share(d, lamp) / sum(share(d, c) for c in contacts) for d in (always, at_times)]

    assert always.suspects[0].repair.startswith(lamp)
    assert odds[1] < odds[0] / 4
    assert at_times.suspects[0].best.says().startswith("comes and goes: ") or at_times.suspects[0].best.awake == 1.0
    assert at_times.share.sum() + at_times.undescribed == pytest.approx(1.0, abs=1e-9)


def test_seen_dark_and_then_normal_is_taken_to_come_and_go() -> None:
    evidence = [parse_symptom(f"left rear stop {look} when brake pressed", pickup()) for look in ("dark", "normal")]
    found = investigator().diagnose(evidence)

    assert comes_and_goes(evidence)
    assert found.contradictions()
    assert any(s.best.awake < 1 for s in found.suspects[:5])


def test_only_with_the_side_lights_on_speaks_for_the_common_earth() -> None:
    """Worked circuit, rows "side lights" and "side lights + stop": with its earth lost the tail is dim only with
    the brake; a bad tail holder dims it always. "Only" takes the holder away."""
    plain = diagnose("left rear tail dim when lights side and brake pressed")
    only = diagnose("left rear tail dim when lights side and brake pressed, only with brake pressed")
    words = "earth point E4"

    assert share(only, words) > share(plain, words)
    assert share(only, "holder of left rear") < share(plain, "holder of left rear")


def test_a_relay_that_clicks_has_a_sound_coil() -> None:
    """By the circuit: 86 is fed from 56, 85 is earthed. A click proves the coil and its feed, not the contact."""
    harness = relay_car()
    relay = Investigator(harness)
    dark = "spot dark when lamp switch head"
    silent = relay.diagnose([parse_symptom(f"K1 does not click, {dark}", harness)])
    clicks = relay.diagnose([parse_symptom(f"K1 clicks, {dark}", harness)])

    def by_kind(found: Diagnosis, kinds: tuple[str, ...]) -> float:
        return sum(
            float(p) for h, p in zip(found.hypotheses, found.share, strict=True) if h.faults[0].kind in kinds
        )

    coil = ("relay coil open",)
    assert by_kind(silent, coil) > 20 * by_kind(clicks, coil)
    contact = ("relay stuck open", "relay bad", "filament open", "fuse blown")
    assert by_kind(clicks, contact) > 2 * by_kind(silent, contact)
    state = harness.state({"lamp switch": "head"})
    panel = relay.predictor.panel(relay.predictor.setup(state), relay.predictor.table([Change()]))
    sounds = [parse_symptom(f"K1 {s} when lamp switch head", harness).seen[0] for s in ("clicks", "buzzes", "silent")]
    heard = [relay_loglik(panel, relay.predictor, s)[0] for s in sounds if isinstance(s, RelaySeen)]
    total = sum(math.exp(float(x)) for x in heard)
    assert total == pytest.approx(1.0)


def test_what_was_searched_is_said() -> None:
    found = diagnose("left rear reversing lamp dim, left rear tail faint when gear reverse")
    words = found.search.says()

    assert found.search.faults == len(investigator().faults) and found.search.pairs > 100
    assert 0 <= found.search.left_out < 0.2
    assert "pairs left out could hold" in words and "three faults at once" in words


def test_three_faults_are_found_on_request() -> None:
    """Three lamps with nothing in common, each seen dark in two states: their three filaments."""
    texts = (
        "left rear stop dark, right rear stop normal when lights side and brake pressed",
        "right rear reversing dark, left rear reversing normal when lights side and gear reverse",
        "left front side dark, right front side normal when lights head",
        "left rear stop dark, right rear stop normal when brake pressed",
        "right rear reversing dark, left rear reversing normal when gear reverse",
        "left front side dark, right front side normal when lights side",
    )
    evidence = [parse_symptom(t, pickup()) for t in texts]
    two, three = (investigator().diagnose(evidence, triples=t) for t in (False, True))
    wanted = {
        "filament open: left rear stop", "filament open: right rear reversing", "filament open: left front side"
    }

    assert {f.name for f in three.suspects[0].best.faults} == wanted
    assert max(len(h.faults) for h in two.hypotheses) == 2
    assert "likeliest triples" in three.search.says()


@pytest.mark.parametrize(("said", "meant"), [
    ("dipped beam relay clicks", "dipped beam relay"), ("fog relay clicks", "rear fog relay"),
    ("buzzer clicks", "buzzer relay"), ("flasher unit clicks", "flasher unit"),
    ("relay clicks", None), ("the relay clicks", None),
])
def test_of_several_relays_the_one_that_is_named_is_meant_and_none_by_the_word_alone(
    said: str, meant: str | None
) -> None:
    estate = load_harness(MODELS / "estate_1990s.yaml")
    if meant is not None:
        (seen,) = parse_symptom(f"{said} when lamp switch head", estate).seen
        assert isinstance(seen, RelaySeen) and seen.relay == meant
        return
    with pytest.raises(TracerError, match="could be dipped beam relay, rear fog relay"):
        parse_symptom(f"{said} when lamp switch head", estate)


def test_the_only_relay_needs_no_name() -> None:
    """The flasher unit, which clicks too, is not called a relay."""
    glass_fibre = load_harness(MODELS / "glass_fibre.yaml")
    (seen,) = parse_symptom("relay clicks when horn button pressed", glass_fibre).seen
    assert isinstance(seen, RelaySeen) and seen.relay == "horn relay"
