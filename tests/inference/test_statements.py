"""What is told unasked: how likely each statement is, and that nothing is counted that nobody could have said.

The small vehicle has two rear units, each stop and tail. Its statements are few enough to be enumerated; another
reckoning of the same model, by the normal distribution of scipy and the variable elimination of pgmpy, has to give
the same shares.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest
from scipy.stats import norm

from tests.inference.test_ranking_inference import LAMPS, Floats, infer
from tests.library import MODELS, tool_on
from tracer.harness.base_rates import UNDESCRIBED
from tracer.harness.file.text import read_harness
from tracer.harness.model import VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis
from tracer.inference.same_lamp import complaints_in
from tracer.inference.seldom_seen import ALONE
from tracer.inference.silence import DEAD_UNMENTIONED, GOES_ON, MOST_SILENCE, ONE_SIDE
from tracer.inference.statement_model import (
    BESIDE,
    LENS_NAME,
    LIGHT_IMAGINED,
    NEAR_WORD,
    OTHER_SIDE,
    OTHER_STATE,
    REST,
)
from tracer.inference.unmodelled_cause import Undescribed
from tracer.inference.word_model import (
    CARELESS_SHARE,
    CARELESS_SLIP,
    GLOW_BORDER_BY_DAY,
    KNOWN_WITHIN,
    SHIFT_WEIGHTS,
    SHIFTS,
    WORD_BORDERS,
    WORD_SOFTNESS,
)
from tracer.observation.evidence import WORDS, FuseSeen, LampSeen, LoadSeen, RelaySeen, Symptom
from tracer.observation.words.symptoms import parse_symptom

SLIPS = NEAR_WORD + OTHER_SIDE + BESIDE + OTHER_STATE


@cache
def two_lamps() -> Investigator:
    return Investigator(read_harness(LAMPS, "two lamps"))


@cache
def pickup() -> Investigator:
    return tool_on(MODELS / "pickup.yaml")


def single(investigator: Investigator, name: str) -> Hypothesis:
    return next(h for h in investigator.singles if h.faults[0].name == name)


def every_statement(investigator: Investigator) -> Iterator[Symptom]:
    """Each complaint that can be made in the basic states. Where a lamp should be dark, normal and bright are one
    word."""
    sayable = investigator.sayable
    for state in sayable.states:
        for lamp in investigator.predictor.lamps:
            for words in (*(frozenset({w}) for w in WORDS[:3]), frozenset({"normal"}), frozenset({"bright"})):
                dark = float(investigator.predictor.healthy(state).flux[0, investigator.predictor.lamp_index[
                    lamp.lamp]]) < -3
                if dark and words == {"bright"}:
                    continue
                words = frozenset({"normal", "bright"}) if dark and words == {"normal"} else words
                said = Symptom(state, (LampSeen(lamp.lamp, words),))
                if complaints_in(said, sayable):
                    yield said
        for fuse in investigator.predictor.fuses:
            yield Symptom(state, (FuseSeen(fuse, True),))
        for load in investigator.predictor.loads:  # works, or does not: the other of the two is usual
            yield Symptom(state, (LoadSeen(load, True),))
        for relay in investigator.predictor.relays:  # of three sounds one is usual
            yield from (Symptom(state, (RelaySeen(relay, does),)) for does in ("clicks", "buzzes"))


def test_horns_and_relays_count_among_what_can_be_said() -> None:
    """A motorcycle with a horn, and a car with a horn and relays."""
    for model in ("motorcycle_6v", "glass_fibre"):
        own = tool_on(MODELS / f"{model}.yaml")
        assert own.predictor.loads and len(list(every_statement(own))) == own.sayable.count
    assert own.predictor.relays


def test_behind_one_lens_shine_the_other_filaments_of_its_colour() -> None:
    """A unit of tail and stop in one twin bulb, and the amber indicator beside them: red shines for red, and no lamp
    for itself."""
    sayable = tool_on(MODELS / "rear_end.yaml").sayable
    assert sayable.behind_one_lens("left rear stop") == ["left rear tail"]
    assert sayable.behind_one_lens("left rear tail") == ["left rear stop"]
    assert sayable.behind_one_lens("left rear indicator") == sayable.behind_one_lens("number-plate lamp") == []


@pytest.mark.parametrize("name", [
    "filament open: left stop", "filament open: right tail", "earth open: E2",
])
def test_each_odd_thing_gives_rise_to_one_statement(name: str) -> None:
    """Over all N statements the chances of a careful person sum to one for each odd thing, less what a slip would put
    where nothing is said so (at most all slips), and ε_rest for what has nothing behind it."""
    own = two_lamps()
    said = list(every_statement(own))
    assert len(said) == own.sayable.count
    h = single(own, name)
    total = sum(_careful(own, h, s) for s in said)
    odd = sum(
        abs(max(float(a), -3.0) - max(float(b), -3.0)) > 0.3
        for s in own.sayable.states
        for a, b in zip(
            own.predictor.panel(own.predictor.setup(s), own.predictor.table([h.change])).flux[0],
            own.predictor.healthy(s).flux[0], strict=True,
        )
    )
    assert odd >= 1
    assert odd * (1 - SLIPS) - 0.1 < total - REST < odd + 0.1


def test_on_a_sound_vehicle_only_the_rest_is_said() -> None:
    own = two_lamps()
    total = sum(_careful(own, Hypothesis((), (), 1.0), s) for s in every_statement(own))
    assert total == pytest.approx(REST, abs=2e-3)


def _careful(own: Investigator, h: Hypothesis, said: Symptom) -> float:
    """Probability that a careful person with a middling eye makes a statement: without the careless share."""
    both = float(np.exp(own.loglik_of([h], said)[0]))
    anything = 1 / own.sayable.count
    return (both - CARELESS_SHARE * CARELESS_SLIP * anything) / (1 - CARELESS_SHARE * CARELESS_SLIP)


def word_table(flux: Floats, usual: float, word: frozenset[str], shift: float) -> Floats:
    """P(a lamp of log10 flux (H,) is called so), slips apart; its own reckoning of the eye."""
    edges = np.concatenate([[-np.inf], WORD_BORDERS, [np.inf]])
    soft = np.concatenate([[1.0], WORD_SOFTNESS, [1.0]])
    by_day = np.concatenate([[-np.inf, np.log10(GLOW_BORDER_BY_DAY)], WORD_BORDERS[1:], [np.inf]])
    below = [norm.cdf((e[:, None] - (flux + shift)[None]) / soft[:, None]) for e in (edges, by_day)]
    sure = np.mean([np.diff(np.maximum.accumulate(b, axis=0), axis=0) for b in below], axis=0)
    own = int(np.diff(norm.cdf((edges - usual) / soft)).argmax())
    known = np.exp(-0.5 * ((np.maximum(flux, -4.0) - max(usual, -4.0)) / KNOWN_WITHIN) ** 2)
    sure = (1 - known) * sure + known * np.eye(5)[own][:, None]
    if WORDS[own] in word:
        return np.zeros(len(flux))  # no complaint
    return np.asarray(sure[[k for k, w in enumerate(WORDS) if w in word]].sum(axis=0))


def reckoned(own: Investigator, lamp: str, word: str, state: VehicleState, mistaken: list[VehicleState]) -> Floats:
    """P(statement | fault, observer), (H, 4): the formula of the developers' page, written out once more."""
    predictor, table = own.predictor, own.predictor.table([h.change for h in own.singles])
    side, unit = {"left": "right", "right": "left"}, {"stop": "tail", "tail": "stop"}
    where, what = lamp.split()

    def called(name: str, at: VehicleState, words: frozenset[str], shift: float) -> Floats:
        i, k = (predictor.lamp_index[f"{name.split()[0]} {n}"] for n in (name.split()[1], unit[name.split()[1]]))
        flux, sound = predictor.panel(predictor.setup(at), table).flux, predictor.healthy(at).flux
        own = word_table(flux[:, i], float(sound[0, i]), words, shift)
        if sound[0, i] < -1.2:
            return own
        # It should burn: three in ten see one red lens, of which the stop lamp gives 21 parts of 26.
        parts = {"stop": 21.0, "tail": 5.0}
        a, b = parts[name.split()[1]], parts[unit[name.split()[1]]]
        lens, usual = (np.log10(a * 10 ** x[:, i] + b * 10 ** x[:, k]) for x in (flux, sound))
        of_lens = word_table(sound[0, i] + lens - usual[0], float(sound[0, i]), words, shift)
        return np.asarray(0.7 * own + 0.3 * of_lens)

    usual = float(predictor.healthy(state).flux[0, predictor.lamp_index[lamp]])
    lit = frozenset({"normal", "bright"})
    words = lit if usual < -3 and word in lit else frozenset({word})
    near = np.zeros(len(own.singles))
    for k, other in enumerate(WORDS):
        beside = [WORDS[n] for n in (k - 1, k + 1) if 0 <= n < 5]
        if other not in words and any(w in words for w in beside):
            imagined = LIGHT_IMAGINED if other == "dark" else 1.0
            share = imagined * sum(w in words for w in beside) / len(beside)
            near += share * called(lamp, state, frozenset({other}), 0.0)
    slips = NEAR_WORD * near + OTHER_SIDE * called(f"{side[where]} {what}", state, words, 0.0)
    slips += BESIDE * called(f"{where} {unit[what]}", state, words, 0.0)
    for s in mistaken:
        slips += OTHER_STATE / len(mistaken) * called(lamp, s, words, 0.0)
    anything = 1 / own.sayable.count
    mate = f"{where} {unit[what]}"
    guess = LENS_NAME if max(usual, float(predictor.healthy(state).flux[0, predictor.lamp_index[mate]])) < -3 else 0.0

    def seen(shift: float) -> Floats:  # of two filaments that should be dark, nobody knows which one shines
        if "dark" in words:
            return called(lamp, state, words, shift)
        return (1 - guess) * called(lamp, state, words, shift) + guess * called(mate, state, words, shift)

    eyes = [(1 - SLIPS) * seen(s) + slips + REST * anything for s in SHIFTS]
    return np.array([*eyes, (1 - CARELESS_SLIP) * eyes[1] + CARELESS_SLIP * anything]).T


@pytest.mark.parametrize(("lamp", "word", "controls", "mistaken"), [
    ("left stop", "dark", {"brake": "pressed"}, [{"lights": "on", "brake": "pressed"}, {}]),
    ("right tail", "dim", {"lights": "on"}, [{}]),
    ("left tail", "faint", {"brake": "pressed"}, [{"lights": "on", "brake": "pressed"}, {}]),
    ("right stop", "normal", {}, [{"lights": "on"}]),
])
def test_one_complaint_against_exact_inference(
    lamp: str, word: str, controls: dict[str, str], mistaken: list[dict[str, str]]
) -> None:
    own = two_lamps()
    state = own.harness.state(controls)
    said = Symptom(state, (LampSeen(lamp, frozenset({word})),))
    found = own.diagnose([said], pairs=False)
    chance = reckoned(own, lamp, word, state, [own.harness.state(m) for m in mistaken])
    beyond = float(np.exp(Undescribed(own.sayable).weigh(said))) if word != "normal" else float(
        np.exp(found.beyond[0]))
    prior = np.array([h.prior for h in own.singles])
    prior = prior / prior.sum() * (1 - UNDESCRIBED)
    told = np.vstack([chance, np.full((1, 4), beyond)])
    silence = np.append(np.exp(found.unsaid), 1.0)
    assert silence.min() >= MOST_SILENCE * DEAD_UNMENTIONED - 1e-12
    usual = own.predictor.healthy(state).flux[0, own.predictor.lamp_index[lamp]]
    struck = 1.0 if usual < -3 else ALONE  # what shines unasked; one lamp that should be lit
    groups = np.add.outer(np.arange(4), ALONE * np.arange(5)).ravel()
    told_share = struck / (struck + groups)
    expected = told_share * (1 - GOES_ON * (1 - told_share))
    assert np.abs(silence[silence > 0.3, None] - expected).min(axis=1) == pytest.approx(0.0, abs=1e-9)
    expected = infer({
        "cause": ((), np.append(prior, UNDESCRIBED)),
        "observer": ((), np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)),
        "told": (("cause", "observer"), np.array([told, 1 - told])),
        "rest unsaid": (("cause",), np.array([silence, 1 - silence])),
    }, "cause", {"told": 0, "rest unsaid": 0})
    assert found.share == pytest.approx(expected[:-1], abs=5e-4)
    assert found.undescribed == pytest.approx(expected[-1], abs=3e-4)


def test_a_false_statement_is_one_of_hundreds_by_hand() -> None:
    """The pick-up: "left rear stop dark when brake pressed" if a filament in a headlamp is broken. Nothing behind it:
    0.01 / N of a careful person; a careless one says anything one time in ten: 0.97 · 0.01 / N + 0.03 · (0.01 · 0.9 +
    0.1) / N = 0.01297 / N. Asked for that lamp the same answer would be a slip of 0.02 / 5, or a careless one's."""
    own = pickup()
    other = single(own, "filament open: left headlamp dip")
    said = parse_symptom("left rear stop dark when brake pressed", own.harness)
    n = own.sayable.count
    assert 800 < n < 2000
    assert np.exp(own.loglik_of([other], said)[0]) == pytest.approx(0.01297 / n, rel=1e-3)


def test_a_slip_to_the_other_side_by_hand() -> None:
    """The right stop filament broken, "left rear stop dark" said: 0.02 of the statements about it are told of the
    other side; the careless say the same nine times in ten: 0.02 · (0.97 + 0.03 · 0.9) = 0.01994."""
    own = pickup()
    other = single(own, "filament open: right rear stop")
    said = parse_symptom("left rear stop dark when brake pressed", own.harness)
    assert np.exp(own.loglik_of([other], said)[0]) == pytest.approx(0.01994, rel=0.02)


def test_both_sides_told_are_no_slip_of_one() -> None:
    """Told of both sides, one dead lamp explains one of them: the other has nothing behind it."""
    own = pickup()
    one = single(own, "filament open: right rear stop")
    said = parse_symptom("both stop lamps dark when brake pressed", own.harness)
    assert np.exp(own.loglik_of([one], said)[0]) < 2 * 0.02 / own.sayable.count


def test_silence_by_hand() -> None:
    """One dead stop lamp told. A brake switch that never makes takes both: one side told of two, 0.1. A dead tail
    beside it strikes nobody; a blown fuse that takes stop, reversing and indicators costs more, and never more than a
    fiftieth; a battery earth that leaves nothing another tenth."""
    own = pickup()
    said = [parse_symptom("left rear stop dark when brake pressed", own.harness)]
    names = ["filament open: left rear stop", "switch never makes: brake switch 15-54", "fuse blown: F1"]
    rows = [next(h for h in own.singles if h.faults[0].name.startswith(n)) for n in names]
    factors = np.exp(own.silence.loglik([h.change for h in rows], said))
    assert factors[0] == pytest.approx(1.0)
    assert factors[1] == pytest.approx(ONE_SIDE)
    assert MOST_SILENCE - 1e-9 <= factors[2] < factors[1]
    battery = [h for h in own.singles if h.faults[0].kind == "battery terminal bad" and "10" in h.variants[0].says]
    dead = np.exp(own.silence.loglik([h.change for h in battery], said))
    assert dead == pytest.approx(MOST_SILENCE * DEAD_UNMENTIONED)


def test_who_names_the_trailers_lamps_has_seen_the_cars() -> None:
    """Both stop lamps of the trailer are dark: a brake switch that never makes would take the car's as well, of which
    nobody spoke. What feeds the trailer alone leaves nothing unsaid; nor does the switch where all four are told."""
    own = tool_on(MODELS / "tow_7pin.yaml")
    switch = single(own, "switch never makes: brake switch 15-54")
    wire = next(h for h in own.singles if h.faults[0].name.startswith("wire open: X1.6 – S9"))
    trailer, all_four = (
        [parse_symptom(f"{said} when brake pressed", own.harness)] for said in (
            "trailer left stop dark, trailer right stop dark",
            "trailer left stop dark, trailer right stop dark, car left rear stop dark, car right rear stop dark"))
    told = [float(np.exp(own.silence.loglik([h.change], said))[0]) for h, said in (
        (switch, trailer), (wire, trailer), (switch, all_four))]
    assert told == pytest.approx([ONE_SIDE, 1.0, 1.0])


def test_what_was_asked_is_no_silence() -> None:
    """Sent to look at the right one as well, he said what it does: nothing is left unsaid of the brake switch."""
    own = pickup()
    said = [parse_symptom("left rear stop dark when brake pressed", own.harness),
            Symptom(own.harness.state({"brake pedal": "pressed"}),
                    (LampSeen("right rear stop", frozenset({"dark"})),), asked=True)]
    switch = next(h for h in own.singles if h.faults[0].name.startswith("switch never makes: brake switch"))
    assert own.silence.loglik([switch.change], said)[0] == pytest.approx(0.0)


def test_an_answer_is_no_statement() -> None:
    """The same words: asked for, they may be a slip of the word; volunteered, they are one of all statements."""
    own = pickup()
    other = single(own, "filament open: left headlamp dip")
    said = parse_symptom("left rear stop dark when brake pressed", own.harness)
    asked = Symptom(said.state, said.seen, asked=True)
    assert own.loglik_of([other], asked)[0] > own.loglik_of([other], said)[0] + 3


def test_a_light_behind_a_lens_has_the_name_of_any_filament_there() -> None:
    """Braking feeds the tail beside the stop, whose own filament is broken: who says "the stop lamp glows" of what he
    sees through the red lens may mean either, three times in ten; the lamp on the other side not."""
    own = two_lamps()
    state = own.harness.state({"ignition": "off"}) if "ignition" in own.harness.controls else own.harness.state({})
    index = own.predictor.lamp_index
    assert own.sayable.behind_one_lens("left stop") == ["left tail"]
    assert own.sayable.behind_one_lens("left tail") == ["left stop"]
    lit = own.predictor.healthy(state).flux[0, [index["left stop"], index["left tail"]]]
    assert (lit < -3).all()


def test_who_names_a_fuse_has_said_what_hangs_on_it() -> None:
    """A short behind the stop lamps' fuse darkens what that fuse feeds: told that it blows, nothing of that is
    unsaid."""
    own = pickup()
    short = next(h for h in own.singles if h.faults[0].kind == "wire to body" and "F1" in h.variants[0].says)
    state = own.harness.state({"brake pedal": "pressed"})
    factors = own.silence.loglik([short.change], [Symptom(state, (FuseSeen("F1", True),))])
    assert factors[0] == pytest.approx(0.0)
    assert {"left rear stop", "right rear stop"} <= own.sayable.fed_by("F1")
