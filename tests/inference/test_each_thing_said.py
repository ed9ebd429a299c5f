"""How likely what is said of one thing is: of a fuse, a load, a relay, two lamps side by side, a lens."""

from __future__ import annotations

from itertools import product
from types import SimpleNamespace
from typing import Any, cast, get_args

import numpy as np
import pytest

from tests.small_vehicle import tool
from tracer.circuit.model import NO_CHANGE
from tracer.inference import likelihood
from tracer.inference.current_paths import Flow, flow
from tracer.inference.hypotheses import basic_states
from tracer.inference.likelihood import (
    PLAIN_EYE,
    compared_loglik,
    fuse_loglik,
    lens_loglik,
    look_loglik,
    only_loglik,
    other_loglik,
    others_loglik,
    relay_loglik,
    told_apart,
)
from tracer.inference.load_likelihood import LOAD_WORKS, WEAK_LOAD, load_loglik
from tracer.inference.reading_likelihood import undescribed_value
from tracer.inference.usual_directions import Usual
from tracer.inference.word_model import WORD_SLIP
from tracer.observation.evidence import Compared, FuseSeen, LampSeen, LensSeen, LoadSeen, RelaySeen, Sound, Value
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.test_kinds import KINDS, TestKind

BOTH = [True, False]
P = cast("Predictor", SimpleNamespace(
    fuses=["F1", "F2"], loads=["horn", "fan"], relays=["K1", "K2"], lamp_index={"a": 0, "b": 1}))


def panel(**found: Any) -> Panel:
    return cast("Panel", SimpleNamespace(**{k: np.asarray(v) for k, v in found.items()}))


def lit() -> Panel:
    """The small vehicle sound, and with each of its faults."""
    own, state = tool().predictor, tool().harness.state({"ignition": "on", "lights": "on"})
    return own.panel(own.setup(state), own.table([f.variants[0].change for f in tool().faults]))


def healthy() -> Panel:
    return tool().predictor.healthy(tool().harness.state({"ignition": "on", "lights": "on"}))


def test_a_fuse_is_found_as_it_is_and_not_another_one() -> None:
    seen = panel(blown=[[True, False], [False, True], [False, False]])
    blown, whole = (np.exp(fuse_loglik(seen, P, FuseSeen("F1", x))) for x in BOTH)
    assert blown + whole == pytest.approx(1.0) and [*(blown > 0.9)] == [True, False, False] == [*(whole < 0.1)]
    assert [*(fuse_loglik(seen, P, FuseSeen("F2", True)) > np.log(0.9))] == [False, True, False]


def test_a_load_works_is_weak_or_does_not() -> None:
    """Each by the power that it takes; nothing is said of a circuit that was not solved."""
    power = np.array([0.0, 0.005, 0.02, LOAD_WORKS - 0.01, LOAD_WORKS + 0.01, 0.64, 0.66, 1.0])
    seen = panel(power=np.column_stack([np.zeros(8), power]), usable=[True] * 8)
    works, fails = (np.exp(load_loglik(seen, P, LoadSeen("fan", x))) for x in BOTH)
    assert works + fails == pytest.approx(1.0)
    assert [*(works > 0.9)] == [*(power > LOAD_WORKS)] == [*(fails < 0.1)]
    weak = np.exp(load_loglik(seen, P, LoadSeen("fan", True, weak=True)))
    assert [*(weak > 0.9)] == [WEAK_LOAD[0] < x < WEAK_LOAD[1] for x in power] and min(weak) > 0
    assert max(np.exp(load_loglik(seen, P, LoadSeen("horn", True)))) < 0.1
    unsolved = panel(power=np.ones((2, 2)), usable=[False, False])
    assert np.exp(load_loglik(unsolved, P, LoadSeen("fan", True))) == pytest.approx(0.5)


@pytest.mark.parametrize("relay", ["K2", "flasher"])
def test_of_three_sounds_one_is_heard_and_most_often_the_right_one(relay: str) -> None:
    """A flasher unit ticks where it flashes; one that is idle or stays closed is silent, and none buzzes."""
    cases = [*product(BOTH, BOTH)] if relay == "K2" else [(True, False), (False, False), (False, False)]
    clicks, buzzes = (np.array(x) for x in zip(*cases, strict=True))
    per_min = [90.0, 0.0, np.nan] if relay == "flasher" else [np.nan] * 4
    none = np.zeros(len(cases), dtype=bool)
    pulled_in, restless = (np.column_stack([none, x]) for x in (clicks, buzzes))
    for usable in BOTH:
        seen = panel(pulled_in=pulled_in, restless=restless, per_min=per_min, load=none, usable=[usable] * len(cases))
        heard = {}
        for does in get_args(Sound):
            heard[does] = np.exp(relay_loglik(seen, P, RelaySeen(relay, does)))
        assert sum(heard.values()) == pytest.approx(1.0)
        if not usable:
            assert all(x == pytest.approx(1 / 3) for x in heard.values())
            continue
        for n, (click, buzz) in enumerate(cases):
            right = "buzzes" if buzz else "clicks" if click else "silent"
            assert all(0 < x[n] < (1 if does == right else 0.5) for does, x in heard.items())
            assert heard[right][n] > 0.85
            if not buzz:  # to miss a click is likelier than to imagine one
                other = "silent" if click else "clicks"
                assert heard[other][n] == pytest.approx((1 - heard["buzzes"][n]) * (
                    likelihood.CLICK_MISSED if click else likelihood.CLICK_IMAGINED))


def test_of_two_lamps_side_by_side_one_thing_is_said() -> None:
    """The other way round by who looks at the other first; the brighter the one, the less often it is the dimmer."""
    a, b = (np.array(x) for x in zip(*product((-9.0, -0.8, -0.5, -0.2, 0.0, 0.05), repeat=2), strict=True))
    seen = panel(flux=np.column_stack([a, b]), usable=[True] * len(a))
    said = {how: compared_loglik(seen, P, Compared("a", "b", how)) for how in ("dimmer", "alike", "brighter")}
    turned = {how: compared_loglik(seen, P, Compared("b", "a", how)) for how in ("brighter", "alike", "dimmer")}
    for how, back in zip(said, turned, strict=True):
        assert said[how] == pytest.approx(turned[back])
    total = np.exp([*said.values()]).sum(axis=0)
    both = (a > -3) == (b > -3)
    assert total[both] == pytest.approx(1.0, abs=0.02)
    assert total[~both] == pytest.approx(likelihood.DARK_IS_CALLED_DIMMER, abs=0.02)  # else it is told as dark
    best = np.array([*said])[np.argmax([*said.values()], axis=0)]
    assert [*best] == ["alike" if abs(x - y) < 0.1 or max(x, y) < -3 else "dimmer" if x < y else "brighter"
                       for x, y in zip(a, b, strict=True)]
    unsolved = panel(flux=np.zeros((1, 2)), usable=[False])
    assert compared_loglik(unsolved, P, Compared("a", "b", "dimmer")) == pytest.approx(np.log(1 / 3))
    doubtful = compared_loglik(seen, P, Compared("a", "b", "dimmer", doubtful=True))
    assert np.ptp(doubtful[both]) < np.ptp(said["dimmer"][both])
    assert told_apart(a, b).sum(axis=-1) == pytest.approx(1.0)


def test_one_light_of_several_is_any_of_them() -> None:
    """As likely as that not all of them look otherwise."""
    own, looks = tool().predictor, tuple(LampSeen(x, frozenset({"dim"})) for x in ("tail", "plate"))
    each = [np.exp(lens_loglik(lit(), own, LensSeen((k,)), healthy())) for k in looks]
    both = np.exp(lens_loglik(lit(), own, LensSeen(looks), healthy()))
    assert both == pytest.approx(1 - (1 - each[0]) * (1 - each[1]), rel=1e-9) and (both >= np.maximum(*each)).all()
    assert each[0] == pytest.approx(np.exp(likelihood.lamp_loglik(lit(), own, looks[0], healthy())), rel=1e-6)


def test_only_there_says_that_elsewhere_it_does_not_look_so() -> None:
    own, dark, normal = tool().predictor, *(LampSeen("tail", frozenset({w})) for w in ("dark", "normal"))
    flux = lit().flux[:, own.lamp_index["tail"]]
    for seen, so in ((dark, flux < -4), (normal, np.abs(flux) < 0.05)):
        p = np.exp(only_loglik(lit(), healthy(), own, seen, PLAIN_EYE))
        assert so.any() and not so.all()
        assert (p[so] < 0.1).all() and p.min() >= WORD_SLIP and p.max() <= 1 - WORD_SLIP
    p = np.exp(only_loglik(lit(), healthy(), own, dark, PLAIN_EYE))
    assert p[np.abs(flux) < 0.05] == pytest.approx(1 - WORD_SLIP, abs=0.01)


def test_all_else_is_every_lamp_that_was_not_named() -> None:
    own, floor = tool().predictor, float(likelihood.OTHERS_FLOOR)
    every = [other_loglik(lit(), healthy(), own, k) for k in range(len(own.lamps))]
    for named in ((), ("tail",), ("plate",), ("tail", "plate")):
        left = [x for x, f in zip(every, own.lamps, strict=True) if f.lamp not in named]
        total = np.maximum(sum(left, np.zeros(len(lit().flux))), floor)
        assert others_loglik(lit(), healthy(), own, frozenset(named)) == pytest.approx(total)
    for x, f in zip(every, own.lamps, strict=True):
        as_usual = np.abs(lit().flux[:, own.lamp_index[f.lamp]]) < 0.05
        dark = lit().flux[:, own.lamp_index[f.lamp]] < -4
        assert x[as_usual].min() > x[dark].max() and x.max() < 0 and x.min() >= np.log(
            1 - likelihood.OTHERS_LOOKED_AT) - 1e-9


def test_a_look_that_tells_of_no_lamp_tells_of_the_fuse_in_the_lead_or_of_nothing() -> None:
    seen = panel(flux=np.zeros((2, 2)), lead_blown=[True, False])
    assert [*look_loglik(seen, P, Value())] == [0.0, 0.0]
    blew = np.exp(look_loglik(seen, P, Value(lead_blew=True)))
    assert blew[0] > 0.9 and 0 < blew[1] < 0.1


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if row.by_hand])
def test_what_nobody_describes_is_found_or_not(kind: TestKind) -> None:
    found, nothing = (np.exp(undescribed_value(Value(found=x), kind, 12.0)) for x in BOTH)
    assert found + nothing == pytest.approx(1.0) and 0 < found < 1


def test_what_never_carries_current_has_no_usual_direction() -> None:
    """And what does has that of its largest one, over the states of a sound vehicle."""
    own, usual = tool().predictor, Usual(tool().predictor).most
    every = [flow(own, own.setup(s), NO_CHANGE).signed for s in basic_states(tool().harness)]
    assert usual.keys() == {n for found in every for n in found} and any(usual.values())
    for name, most in usual.items():
        largest = max((found.get(name, 0.0) for found in every), key=abs)
        assert most == pytest.approx(largest, abs=1e-9)
    backwards = Flow({}, (), {name: -most for name, most in usual.items()})
    worth = {name for name, most in usual.items() if abs(most) > 0.1}
    assert worth and worth <= Usual(own).against(backwards)
    assert not Usual(own).against(Flow({}, (), usual))
