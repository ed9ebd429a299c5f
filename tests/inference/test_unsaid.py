"""What is left unsaid tells as well: what shines or is dark elsewhere too, and what was odd before that.

The hypotheses are single faults of the models, what each shows was read off the circuit by hand; the factors are
those of `silence`.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.inference.test_ranking_inference import LAMPS
from tests.library import MODELS, tool_on
from tests.long import in_turn
from tests.small_vehicle import ON, read, tool, with_fault
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.met_in_use import met_by_night
from tracer.inference.same_lamp import complaints_of, lit_again
from tracer.inference.seldom_seen import ALONE, LESSER, SELDOM_SEEN, SeldomSeen
from tracer.inference.silence import (
    DEAD_UNMENTIONED,
    GOES_ON,
    MET_EARLIER,
    MOST_SILENCE,
    ONE_SIDE,
    SHONE_EARLIER,
    Spoken,
)
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, Symptom
from tracer.observation.story import NO_STORY
from tracer.observation.words.probes import parse_test
from tracer.observation.words.symptoms import parse_symptom

DARK = frozenset({"dark"})


@cache
def own(model: str) -> Investigator:
    return tool_on(MODELS / f"{model}.yaml")


def told(model: str, words: frozenset[str], lamps: tuple[str, ...], text: str = "", **controls: str) -> Symptom:
    state = own(model).harness.state({name.replace("_", " "): position for name, position in controls.items()})
    return Symptom(state, tuple(LampSeen(x, words) for x in lamps), False, text)


def unsaid(model: str, fault: str, *said: Symptom) -> float:
    """The factor for what a fault makes striking and nobody spoke of."""
    found = next(h for h in own(model).singles if h.faults[0].name == fault)
    return float(np.exp(own(model).silence.loglik([found.change], said)[0]))


def one_told(weight: float, left: float) -> float:
    """One thing of this weight is told, of all that strikes, and nothing more where `left` would strike as well."""
    return weight / (weight + left) * (1 - GOES_ON * left / (weight + left))


def shares(model: str, *said: Symptom) -> dict[str, float]:
    return {s.repair: s.share for s in own(model).diagnose(said).suspects}


STUCK = "switch never breaks: brake switch 15-54"
LIGHTS_STAY = "switch never breaks: lamp switch 30-58"


def test_two_red_lenses_that_shine_are_told_as_two() -> None:
    """Side lights that cannot be put out shine through both rear lenses. Told of "the left stop lamp", which is a
    guess, the right lens is left unsaid as much as if its tail lamp had been meant."""
    one, other = (unsaid("pickup", LIGHTS_STAY, told("pickup", LIT, (f"left rear {n}",))) for n in ("stop", "tail"))
    assert one == pytest.approx(other)
    assert one == pytest.approx(ONE_SIDE)


def test_what_shines_at_rest_is_not_told_as_of_the_side_lights() -> None:
    """A brake switch that never breaks lights both stop lamps all the time. Told of the left one with the side lights
    on, the right one and the time before are unsaid: a hundredth, and no silence costs more than a fiftieth."""
    seen = told("pickup", LIT, ("left rear stop",), lamp_switch="side")
    assert ONE_SIDE * SHONE_EARLIER < MOST_SILENCE
    assert unsaid("pickup", STUCK, seen) == pytest.approx(MOST_SILENCE)
    both = told("pickup", LIT, ("left rear stop", "right rear stop"), lamp_switch="side")
    assert unsaid("pickup", STUCK, both) == pytest.approx(SHONE_EARLIER)
    at_rest = told("pickup", LIT, ("left rear stop", "right rear stop"))
    assert unsaid("pickup", STUCK, at_rest) == pytest.approx(1.0)
    also = told("pickup", LIT, ("left rear stop", "right rear stop"), ignition="off")
    assert unsaid("pickup", STUCK, also) == pytest.approx(1.0)  # nobody says of the ignition that it was on


def test_that_the_engine_ran_is_no_further_control() -> None:
    """A stop lamp that is dark with the engine running is dark without it as well: nobody tells that apart."""
    dead = "filament open: left rear stop"
    for running in (False, True):
        state = own("pickup").harness.state({"brake pedal": "pressed"}, running)
        assert unsaid("pickup", dead, Symptom(state, (LampSeen("left rear stop", DARK),))) == pytest.approx(1.0)


@pytest.mark.parametrize("model", in_turn(["pickup", "glass_fibre", "saloon_1970s"], 0))
def test_a_stop_lamp_that_comes_on_with_the_side_lights_is_no_brake_switch(model: str) -> None:
    """One that never breaks, or is set so, has 5.0e-4 and 2.5e-4 of the prior, of which that silence leaves a
    fiftieth; wires changed over have 2.0e-4, of which 0.62 is left. That is 0.12 of the leader on each of these cars,
    whatever share goes to others: on the one of glass fibre no lamp is a twin, so that two kinds of rival are
    missing."""
    found = shares(model, told(model, LIT, ("left rear stop",), lamp_switch="side"))
    switch = sum(share for repair, share in found.items() if "brake switch" in repair)
    leader = next(iter(found))
    assert switch < 0.14 * found[leader]
    assert "brake switch" not in leader


def test_a_lamp_that_is_dead_before_another_is_switched_on() -> None:
    """Dark with the foot brake alone as well; told of the wrong side, that side is none the later."""
    seen = told("pickup", DARK, ("left rear stop",), lamp_switch="side", brake_pedal="pressed")
    for side in ("left", "right"):
        assert unsaid("pickup", f"filament open: {side} rear stop", seen) == pytest.approx(MET_EARLIER)
    before = told("pickup", DARK, ("left rear stop",), brake_pedal="pressed")
    assert unsaid("pickup", "filament open: left rear stop", seen, before) == pytest.approx(1.0)
    assert unsaid("pickup", "filament open: left rear stop", before) == pytest.approx(1.0)


def test_who_complains_of_one_instrument_lamp_has_looked_at_them() -> None:
    """E3 is the earth of all four, and of a tell-tale that nobody misses; that nobody speaks of instrument lamps is
    next to nothing strange in itself."""
    one = told("pickup", DARK, ("panel lamp 4",), lamp_switch="side")
    assert unsaid("pickup", "earth open: E3", one) == pytest.approx(ONE_SIDE * one_told(LESSER, SELDOM_SEEN))
    stop = told("pickup", DARK, ("left rear stop",), brake_pedal="pressed")
    assert unsaid("pickup", "earth open: E3", stop) == pytest.approx(one_told(ALONE, 5 * SELDOM_SEEN))


def test_the_main_beam_alone_is_told_of_the_main_beam() -> None:
    """Without contact 30-56 of the lamp switch both beams of the motorcycle are dark: who has no headlamp at all does
    not speak of the main beam: that one lamp is told of two things that strike, 0.3 / (0.3 + 1), and he says no more,
    1 − 0.5 / 1.3. "The headlamp is dead" is taken to speak of the dipped one, and may mean both. The tell-tale of the
    main beam adds next to nothing to either."""
    fault = next(h.faults[0].name for h in own("motorcycle_6v").singles
                 if h.faults[0].kind == "switch never makes" and "30-56" in h.faults[0].name)
    main = told("motorcycle_6v", DARK, ("headlamp main",), lamp_switch="head", dip_switch="main")
    assert unsaid("motorcycle_6v", fault, main) == pytest.approx(one_told(ALONE, 1.0 + SELDOM_SEEN))
    dip = told("motorcycle_6v", DARK, ("headlamp dip",), lamp_switch="head")
    assert unsaid("motorcycle_6v", fault, dip) == pytest.approx(one_told(ALONE, SELDOM_SEEN))


def test_one_word_for_several_glows_is_chosen_once() -> None:
    """"The stop lamps come on with the lights": of the second it is the same choice of a word."""
    both = ("left rear stop", "right rear stop")
    seen = told("pickup", LIT, both, "stop lamps come on with the side lights", lamp_switch="side")
    again = told("pickup", LIT, both, seen.text, lamp_switch="head")
    other = told("pickup", LIT, both, "they come on with the indicators", indicator_stalk="left")
    found = complaints_of([seen, again, other], own("pickup").sayable)
    told_again = [lit_again(s, found) for s in (seen, again, other)]
    assert sum(len(x) for x in told_again[:2]) == 3  # of four
    assert told_again[2] == {"right rear stop"}
    assert not lit_again(told("pickup", DARK, both, brake_pedal="pressed"), found)


def test_several_lamps_of_one_side_are_told_of_that_side() -> None:
    """The earth of the lorry's body carries the markers of both sides: who finds all four out names no side. Told of
    all four, or with something said of the right ones, nothing is unsaid."""
    left, right = (tuple(f"{side} {end} marker" for end in ("front", "rear")) for side in ("left", "right"))
    body, own_side = "earth open: E8", "earth open: E6"
    dark = told("lorry_24v", DARK, left, lamp_switch="side")
    all_four = told("lorry_24v", DARK, left + right, lamp_switch="side")
    beside = told("lorry_24v", frozenset({"normal"}), right, lamp_switch="side")
    assert unsaid("lorry_24v", body, dark) / unsaid("lorry_24v", body, all_four) == pytest.approx(ONE_SIDE)
    assert unsaid("lorry_24v", body, dark, beside) == pytest.approx(unsaid("lorry_24v", body, all_four))
    assert unsaid("lorry_24v", own_side, dark) == pytest.approx(1.0)


def test_what_one_joint_dims_on_both_sides_is_as_odd_on_either() -> None:
    """A wire that feeds both tails alike, at every resistance that dims them: the same ohms, the same light. Told of
    the left one, the right one is unsaid, whatever the last digit of either."""
    investigator = Investigator(read_harness(LAMPS, "two lamps"))
    predictor, state = investigator.predictor, investigator.harness.state({"lights": "on"})
    rows = [h for h in investigator.singles if h.faults[0].name == "wire bad: light switch.58 – S2"]
    light = predictor.panel(predictor.setup(state), predictor.table([h.change for h in rows])).flux[
        :, predictor.lamp_index["left tail"]]
    dim = [h.change for h, x in zip(rows, light, strict=True) if -1.5 < x < -0.15]
    assert len(dim) > 1
    said = Symptom(state, (LampSeen("left tail", frozenset({"dim"})),))
    assert np.exp(investigator.silence.loglik(dim, [said])) == pytest.approx([ONE_SIDE] * len(dim))


def test_one_lamp_of_a_corner_that_is_dark_by_night() -> None:
    """The earth of the right rear takes its stop lamp and its indicator. The tail lamp finds another way, by the stop
    filaments, until somebody brakes with the lights on: then all of the unit has been seen dark, a corner, and who
    tells of one lamp alone leaves that unsaid. Told of both, nothing is left, nor is under a fault of the one that
    was told."""
    stop = told("rear_end", DARK, ("right rear stop",), brake_pedal="pressed")
    turn = told("rear_end", DARK, ("right rear indicator",), indicator_stalk="right")
    assert unsaid("rear_end", "earth open: E2", stop) == pytest.approx(one_told(ALONE, 1.0))
    assert unsaid("rear_end", "earth open: E2", turn) == pytest.approx(one_told(ALONE, 1.0))
    assert unsaid("rear_end", "earth open: E2", stop, turn) == pytest.approx(1.0)
    assert unsaid("rear_end", "filament open: right rear stop", stop) == pytest.approx(1.0)


def test_which_of_the_functions_were_told() -> None:
    """Choosing n of m alike: each set of n is one of m! / (n! (m − n)!). He leaves it at that the less often, the
    more there is left: 1 − 0.5 (m − n) / m."""
    own_silence = own("rear_end").silence
    function = frozenset({"left rear stop", "right rear stop"})
    state = own("rear_end").harness.state({"brake pedal": "pressed"})
    for n, rest, sets in ((1, 1, 2), (1, 4, 5), (2, 2, 6), (3, 2, 10)):
        spoken = Spoken(frozenset(), frozenset(), frozenset(), frozenset(), False, ((state, function),) * n)
        chosen = np.exp(own_silence._chosen(np.array([float(rest)]), spoken)[0])
        assert chosen == pytest.approx((1 - 0.5 * rest / (n + rest)) / sets)


def test_a_lamp_named_for_its_like_is_not_left_unsaid() -> None:
    """The left stop lamp is dead, and the right one was told: it was the left one that was meant."""
    seen = told("rear_end", DARK, ("right rear stop",), brake_pedal="pressed")
    assert unsaid("rear_end", "filament open: left rear stop", seen) == pytest.approx(1.0)


def test_that_all_is_dim_is_not_that_all_is_dead() -> None:
    """A low battery dims everything, and somebody tells of the car's stop lamps alone: they were what he needed, and
    that he has not looked further is told by no more than a fiftieth, unless he said that all is well with the car. A
    battery clamp that is off leaves nothing: he would have said that the car is dead."""
    seen = told("tow_7pin", frozenset({"dim"}), ("car left rear stop", "car right rear stop"), brake_pedal="pressed")
    dark = told("tow_7pin", DARK, ("car left rear stop", "car right rear stop"), brake_pedal="pressed")
    rows = [h for h in own("tow_7pin").singles if h.faults[0].kind == "battery low"]
    silent = np.exp(own("tow_7pin").silence.loglik([h.change for h in rows], [seen]))
    alive = np.exp(own("tow_7pin").silence.loglik([h.change for h in rows], [seen], alive=True))
    dimmed = [s for s, a in zip(silent, alive, strict=True) if a < s / 10]
    assert dimmed and min(dimmed) >= MOST_SILENCE
    clamp = next(h for h in own("tow_7pin").singles if h.faults[0].kind == "battery terminal bad"
                 and h.variants[0].change.set_ohm and max(o for _, o in h.variants[0].change.set_ohm) >= 10)
    dead = np.exp(own("tow_7pin").silence.loglik([clamp.change], [dark])[0])
    assert MOST_SILENCE * DEAD_UNMENTIONED <= dead < DEAD_UNMENTIONED * 0.1


def test_who_speaks_of_a_rate_has_not_spoken_of_the_light() -> None:
    """The left rear indicator of the motorcycle is dead, and the unit slows down. The one in front gains a little
    light by that, which nobody complained of: not both are odd, but one lamp more."""
    state = own("motorcycle_6v").harness.state({"indicator switch": "left"})
    seen = Symptom(state, (LampSeen("left front indicator", LIT, "slow"),))
    found = unsaid("motorcycle_6v", "filament open: left rear indicator", seen)
    assert found == pytest.approx(one_told(ALONE, ALONE))


def test_a_twin_lamp_that_is_dark_altogether_by_night() -> None:
    """Without the earth of its holder the stop filament is dark, and the tail lamp comes on through it and the other
    stop lamp, until somebody brakes with the lights on: then both are dark. Who tells of the stop lamp alone leaves
    one lamp unsaid: 0.3 of 0.6, and no more of it, 3/4. Of a broken stop filament he has told all."""
    stop = told("rear_end", DARK, ("right rear stop",), brake_pedal="pressed")
    holder = "holder open: right rear stop + right rear tail holder earth"
    assert unsaid("rear_end", holder, stop) == pytest.approx(one_told(ALONE, ALONE))
    assert unsaid("rear_end", "filament open: right rear stop", stop) == pytest.approx(1.0)


def test_the_corner_across_is_left_unsaid_once() -> None:
    """The earth of all of the trailer's lamps dims both corners alike. Who tells of the left one with the lights on
    and the brake pressed leaves the right one unsaid, 0.1: once, and not for its stop lamp, for its tail lamp, and as
    another corner. Told of both corners, only that factor is gone."""
    fault = next(h for h in own("trailer_7pin").singles if h.faults[0].name == "earth bad: E2"
                 and h.variants[0].severity == 1.0)
    state = own("trailer_7pin").harness.state({"side lights": "on", "brake pedal": "pressed"})

    def dim(*sides: str) -> Symptom:
        return Symptom(state, tuple(LampSeen(f"{side} lamp unit {lamp}", frozenset({"dim"}))
                                    for side in sides for lamp in ("stop", "tail")))

    silence = own("trailer_7pin").silence
    one, both = (float(np.exp(silence.loglik([fault.change], [dim(*s)])[0])) for s in (["left"], ["left", "right"]))
    assert one == pytest.approx(ONE_SIDE * both)


def test_a_corner_told_of_in_two_sentences_is_one_corner() -> None:
    """As above, but the stop lamp is told with the brake pressed and the tail lamp with the lights on, both dark: 0.1
    for the corner across. Were it 0.1 for each sentence, it would be a fiftieth, than which no silence costs more;
    and of two corners, in which one lamp each is told, it is. The plate lamp has lost as much, and was seen with the
    tail lamp: two told of three that strike alike, by who goes on, a third of it left, half the time."""
    fault = next(h for h in own("trailer_7pin").singles if h.faults[0].name == "earth bad: E2"
                 and h.variants[0].severity == 1.0)
    stop = told("trailer_7pin", DARK, ("left lamp unit stop",), brake_pedal="pressed")
    corner, across = (told("trailer_7pin", DARK, (f"{side} lamp unit tail",), side_lights="on")
                      for side in ("left", "right"))
    silence = own("trailer_7pin").silence
    one, two = (float(np.exp(silence.loglik([fault.change], [stop, tail])[0])) for tail in (corner, across))
    assert one == pytest.approx(ONE_SIDE * 1 / 3 * (1 - GOES_ON / 3))
    assert two == pytest.approx(MOST_SILENCE)


def test_a_lamp_that_nobody_looks_at_costs_little() -> None:
    """A blown fuse takes the tell-tale with both main beams: 1 of 1.02, and one who goes on, 1/51."""
    main = told("glass_fibre", DARK, ("left headlamp main", "right headlamp main"), lamp_switch="head",
                dip_switch="main")
    assert unsaid("glass_fibre", "fuse blown: F4", main) == pytest.approx(one_told(1.0, SELDOM_SEEN))


def test_who_complains_of_the_tail_lamp_has_seen_the_plate_lamp() -> None:
    """A blown fuse takes the number-plate lamp with the right tail lamp: one told of two that strike alike, and half
    of who could have gone on would have, half of it left. Told of the plate lamp, the tail lamp strikes three times
    as much. Who complains of the side lamp in front has not stood there."""
    tail = told("rear_end", DARK, ("right rear tail",), lamp_switch="side")
    assert unsaid("rear_end", "fuse blown: F2", tail) == pytest.approx(0.5 * 0.75)
    assert unsaid("rear_end", "filament open: right rear tail", tail) == pytest.approx(1.0)
    plate = told("rear_end", DARK, ("number-plate lamp",), lamp_switch="side")
    assert unsaid("rear_end", "fuse blown: F2", plate) == pytest.approx(one_told(LESSER, ALONE))
    strikes = SeldomSeen(own("saloon_1970s").predictor).untold
    index, side = own("saloon_1970s").predictor.lamp_index, own("saloon_1970s").harness.state({"lamp switch": "side"})
    lit, dash = index["left number-plate lamp"], [index["fuel gauge lamp"], index["speedometer lamp"]]
    brake = own("saloon_1970s").harness.state({"brake pedal": "pressed"})
    assert strikes([(side, "left rear tail")])[lit] == ALONE
    assert strikes([(side, "left front side")])[lit] == strikes([(brake, "left rear stop")])[lit] == SELDOM_SEEN
    assert (strikes([(side, "clock lamp")])[dash] == LESSER).all()
    assert (strikes([(side, "left rear tail")])[dash] == SELDOM_SEEN).all()


def test_an_indicator_that_stays_lit_is_left_unsaid_as_one_that_is_dark() -> None:
    """A flasher unit whose contact stays closed lights the indicators of either side steadily: one told of two that
    strike alike. A lamp that misses its contact says nothing of the other side."""
    states = {side: own("rear_end").harness.state({"indicator stalk": side}) for side in ("left", "right")}
    left, right = (Symptom(state, (LampSeen(f"{side} rear indicator", LIT, "steady"),), False, "")
                   for side, state in states.items())
    assert unsaid("rear_end", "flasher stuck: flasher unit", left) == pytest.approx(one_told(ALONE, ALONE))
    assert unsaid("rear_end", "flasher stuck: flasher unit", left, right) == pytest.approx(1.0)
    dead = told("rear_end", DARK, ("left rear indicator",), indicator_stalk="left")
    assert unsaid("rear_end", "filament open: left rear indicator", dead) == pytest.approx(1.0)


def test_who_complains_of_the_trailer_has_not_seen_the_plate_of_the_car() -> None:
    tow = own("tow_7pin")
    side, index = tow.harness.state({"lamp switch": "side"}), tow.predictor.lamp_index
    strikes = SeldomSeen(tow.predictor).untold([(side, "trailer left tail")])
    assert (strikes[index["trailer plate lamp"]], strikes[index["car plate lamp"]]) == (ALONE, SELDOM_SEEN)


@pytest.mark.parametrize("model", ["rear_end", "saloon_1970s", "tow_7pin", "motorcycle_6v"])
def test_by_night_somebody_brakes_with_the_lights_on(model: str) -> None:
    """One more state, no basic one, with the stop lamps and the side lamps lit."""
    predictor, states = own(model).predictor, own(model).sayable.states
    (by_night,) = met_by_night(predictor, states)
    assert by_night not in states
    lit = {n for n, i in predictor.lamp_index.items() if predictor.healthy(by_night).flux[0, i] > -1}
    assert any("stop" in n for n in lit) and any("tail" in n or "side" in n for n in lit)


def test_no_state_is_met_twice() -> None:
    """Of the states at rest alone nothing is joined; nor is what is among them already."""
    investigator = Investigator(read_harness(LAMPS, "two lamps"))
    states = investigator.sayable.states
    assert met_by_night(investigator.predictor, states[:1]) == []
    night = met_by_night(investigator.predictor, states)
    assert met_by_night(investigator.predictor, [*states, *night]) == []


@pytest.mark.parametrize("said", [
    ["tail dark"], ["tail dim", "plate normal"],
])
def test_what_a_complaint_left_unsaid_is_the_same_when_it_is_judged_afterwards(said: list[str]) -> None:
    """As of the complaint alone, after a measurement and with a repair made in vain: what nobody spoke of counts for
    each fault as it did before anything was measured."""
    small = tool()
    complaints = [parse_symptom(f"{words} when {ON}", small.harness) for words in said]
    vain = {small.diagnose(complaints).suspects[0].repair: 0.03}
    for discount in ({}, vain):
        first = small.diagnose(complaints, discount=discount)
        then = {h.says(): (float(u), float(s))
                for h, u, s in zip(first.hypotheses, first.unsaid, first.share, strict=True)}
        assert len({u for u, _ in then.values()}) > 1
        measured = read(parse_test(f"volts tail.feed when {ON}", small.harness), with_fault("earth bad: E2")[1])
        for after in (first, small.diagnose([*complaints, measured], discount=discount)):
            again = small.unsaid_of(after, range(len(complaints)), NO_STORY, discount).tolist()
            now = dict(zip([h.says() for h in after.hypotheses], again, strict=True))
            matter = [h for h in then if h in now and then[h][1] > 2e-4]  # others are not reckoned closely
            assert len(matter) > 20
            assert [now[h] for h in matter] == pytest.approx([then[h][0] for h in matter], abs=1e-9)


def test_a_short_leaves_its_fuse_unsaid_where_no_fuse_was_spoken_of() -> None:
    """Whoever says which lamp is dark, and nothing of fuses, has not found one blown; who speaks of one has looked at
    them. Of a broken wire it says nothing either way."""
    state = own("rear_end").harness.state({"lamp switch": "side"})
    shorts = "wire to body: S3 – right rear.tail", "wire to body: F1.out – C1.1"
    for fault, blows in (*((s, True) for s in shorts), ("wire open: S3 – right rear.tail", False)):
        silent = unsaid("rear_end", fault, told("rear_end", DARK, ("right rear tail",), lamp_switch="side"))
        for fuse, blown in (("F1", True), ("F2", True), ("F3", False)):
            lamp = LampSeen("right rear tail", DARK)
            speaking = unsaid("rear_end", fault, Symptom(state, (lamp, FuseSeen(fuse, blown)), False, ""))
            assert speaking > 1.5 * silent if blows else speaking >= silent
