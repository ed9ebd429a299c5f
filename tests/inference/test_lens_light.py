"""Two filaments behind one red lens, of which one is dead: what is told of it by day and by night."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inference.test_complaints import own
from tracer.circuit.model import NO_CHANGE
from tracer.inference.lens_light import LENS_SEEN, LENS_SEEN_ASKED, all_as_lenses, lens_panel, seen_as_one
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value

NIGHT = {"lamp switch": "side", "brake pedal": "pressed"}
DAY = {"brake pedal": "pressed"}


def chance(word: str, fault: str, controls: dict[str, str]) -> float:
    """P(somebody comes with it that the left rear stop lamp is so | the fault) on the rear end."""
    one = own("rear_end")
    row = next(h for h in one.singles if h.faults[0].name == fault)
    said = Symptom(one.harness.state(controls), (LampSeen("left rear stop", frozenset({word})),))
    return float(np.exp(one.loglik_of([row], said)[0]))


def test_a_dead_stop_filament_leaves_the_light_of_the_tail_lamp() -> None:
    """Worked by hand: of 21 and 5 W the 5 are left, 5 / 26 of the light: log10 0.192 = -0.716."""
    predictor = own("rear_end").predictor
    fault = next(h for h in own("rear_end").singles if h.faults[0].name == "filament open: left rear stop")
    stop, tail = (predictor.lamp_index[f"left rear {n}"] for n in ("stop", "tail"))
    state = own("rear_end").harness.state(NIGHT)
    panel, sound = predictor.panel(predictor.setup(state), predictor.table([fault.change])), predictor.healthy(state)
    lost = lens_panel(panel, sound, predictor, stop, [tail]).flux[0, 0] - sound.flux[0, stop]
    assert lost == pytest.approx(np.log10(5 / 26), abs=0.05)
    assert lens_panel(sound, sound, predictor, stop, [tail]).flux[0, 0] == pytest.approx(sound.flux[0, stop])


def test_a_dead_stop_filament_is_called_dim_at_night_and_not_by_day() -> None:
    dead = "filament open: left rear stop"
    assert chance("dim", dead, NIGHT) == pytest.approx(LENS_SEEN, rel=0.15)
    assert chance("dark", dead, NIGHT) == pytest.approx(1 - LENS_SEEN, rel=0.15)
    assert chance("dim", dead, DAY) < 0.01
    assert chance("dark", dead, DAY) > 0.9


def test_a_dead_turn_filament_leaves_a_lens_that_does_not_flash() -> None:
    """Of the 1950s car stop and turn are one filament, red: with the lights on the tail lamp burns on behind that
    lens, a fifth of the light in both phases. Three in ten judge by it, and of these nearly all, slips of nine in a
    hundred and other words apart, say "dim, and does not flash"; without the lights nobody does."""
    one = own("car_1950s")
    row = next(h for h in one.singles if h.faults[0].name == "filament open: left rear stop")
    found = []
    for lights in ("side", "off"):
        state = one.harness.state({"lamp switch": lights, "indicator stalk": "left"})
        said = Symptom(state, (LampSeen("left rear stop", frozenset({"dim"}), "steady"),))
        found.append(float(np.exp(one.loglik_of([row], said)[0])))
    assert 0.8 * 0.91 * LENS_SEEN < found[0] < 0.91 * LENS_SEEN
    assert found[1] < 0.01


def test_who_is_sent_to_look_at_a_lamp_judges_less_by_its_lens() -> None:
    """One in ten: a dead stop lamp is dim to them by night. Who tells in answer, and may tell of other lamps as well,
    has said what he takes them for."""
    one = own("rear_end")
    row = next(h for h in one.singles if h.faults[0].name == "filament open: left rear stop")
    state, found = one.harness.state(NIGHT), {}
    for words in ("dim", "dark"):
        look = Reading(Test("look", state, lamp="left rear stop"), parse_value(words, "look", "left rear stop"))
        found[words] = float(np.exp(one.loglik_of([row], look)[0]))
    assert found["dim"] == pytest.approx(LENS_SEEN_ASKED, rel=0.15)
    assert found["dark"] == pytest.approx(1 - LENS_SEEN_ASKED, rel=0.05)
    told = Symptom(state, (LampSeen("left rear stop", frozenset({"dim"})),), asked=True)
    assert float(np.exp(one.loglik_of([row], told)[0])) < 0.02


def test_exchanged_feeds_leave_a_weak_stop_lamp_and_a_tail_lamp_too_bright() -> None:
    """Braking lights the 5 W: a fifth of the light (log10 5 / 21 = -0.62, own calculation). Who judges by the lens
    finds it weak, and who knows what should burn there finds that dark."""
    exchanged = "wires changed over: left rear tail and stop"
    assert chance("dim", exchanged, DAY) + chance("faint", exchanged, DAY) == pytest.approx(LENS_SEEN, rel=0.15)
    assert chance("dark", exchanged, DAY) == pytest.approx(1 - LENS_SEEN, rel=0.15)


def test_what_darkens_the_whole_lens_is_called_dark_by_night_too() -> None:
    whole = "lamp missing: left rear stop + left rear tail"
    assert chance("dark", whole, NIGHT) > 0.9
    assert chance("dim", whole, NIGHT) < 0.01


def test_a_dead_tail_filament_hides_behind_the_stop_lamp() -> None:
    """Five parts of 26 less are no complaint: who tells of it braking knows what should burn there."""
    one = own("rear_end")
    row = next(h for h in one.singles if h.faults[0].name == "filament open: left rear tail")
    found = []
    for controls in (NIGHT, {"lamp switch": "side"}):
        said = Symptom(one.harness.state(controls), (LampSeen("left rear tail", frozenset({"dark"})),))
        found.append(float(np.exp(one.loglik_of([row], said)[0])))
    assert found[0] == pytest.approx((1 - LENS_SEEN) * found[1], rel=0.1)


def test_a_stop_lamp_that_is_dim_at_night_may_be_dead() -> None:
    """Told so, the lamp is among the first three repairs, and a bad contact before it: by day it is not."""
    one = own("rear_end")
    ranks = []
    for controls in (NIGHT, DAY):
        said = Symptom(one.harness.state(controls), (LampSeen("left rear stop", frozenset({"dim"})),))
        found = one.diagnose([said], pairs=False)
        ranks.append(next(s.share for s in found.suspects if s.repair.startswith("new lamp: left rear stop")))
    assert ranks[0] > 0.15
    assert ranks[1] < 0.1


def test_both_stop_lamps_dark_are_told_as_such_by_night_too() -> None:
    """A brake switch that never makes: with both lenses alike there is no brighter one to hold a lens against."""
    one = own("rear_end")
    row = next(h for h in one.singles if h.faults[0].name.startswith("switch never makes: brake switch"))
    both = tuple(LampSeen(f"{side} rear stop", frozenset({"dark"})) for side in ("left", "right"))
    night, day = (float(np.exp(one.loglik_of([row], Symptom(one.harness.state(c), both))[0])) for c in (NIGHT, DAY))
    assert night == pytest.approx(day, rel=0.05)


def test_nobody_takes_a_side_lamp_for_a_beam() -> None:
    """Dipped beam dead, the side lamp behind the same glass burns: dark it is called, as if that were not there."""
    one, lamp = own("estate_1990s"), "left headlamp dip"
    row = next(h for h in one.singles if h.faults[0].name == f"filament open: {lamp}")
    state, index = one.harness.state({"lamp switch": "head"}), one.predictor.lamp_index
    told = {w: float(np.exp(one.loglik_of([row], Symptom(state, (LampSeen(lamp, frozenset({w})),)))[0]))
            for w in ("dark", "dim", "faint")}
    assert index["left headlamp side"] in one.sayable.lens(index[lamp])
    assert one.predictor.healthy(state).flux[0, index["left headlamp side"]] > -1
    assert told["dark"] > 0.9
    assert told["dim"] + told["faint"] < 0.02


def test_lenses_are_judged_as_wholes_where_another_lamp_shines_in_one_and_else_nobody_can() -> None:
    """By day nothing else shines behind the red lens; by night the tail lamp does, and a sound one changes nothing. A
    dead tail lamp takes its share of the light from the stop lamp's lens, where any fault asked of leaves it lit."""
    predictor = own("rear_end").predictor
    dead = next(h for h in own("rear_end").singles if h.faults[0].name == "filament open: left rear tail")
    as_one, stop = seen_as_one(predictor), predictor.lamp_index["left rear stop"]
    for controls, shines in ((DAY, False), (NIGHT, True)):
        state = own("rear_end").harness.state(controls)
        sound = predictor.healthy(state)
        whole = all_as_lenses(sound, sound, predictor, as_one)
        assert (whole is not None) == shines
        assert whole is None or whole.flux == pytest.approx(sound.flux)
    panel = predictor.panel(predictor.setup(state), predictor.table([dead.change, NO_CHANGE]))
    lenses = all_as_lenses(panel, sound, predictor, as_one)
    assert lenses is not None
    assert lenses.flux[0, stop] - sound.flux[0, stop] == pytest.approx(np.log10(21 / 26), abs=0.05)
    assert lenses.flux[1] == pytest.approx(sound.flux[0])
