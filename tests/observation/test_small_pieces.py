"""The small pieces of what is observed: what excludes what, stories, numbers as they are said, and the battery that a
vehicle is taken to have. Each over everything that can be."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import MODELS, tool_on
from tests.small_vehicle import ON, tool
from tracer.circuit.model import NO_CHANGE, Change
from tracer.errors import SymptomError
from tracer.harness.file.text import read_harness
from tracer.observation.actions import Intervention
from tracer.observation.consistency import comes_and_goes, contradictions, first_said
from tracer.observation.evidence import Evidence, Flash, LampSeen, Reading, Symptom, Value
from tracer.observation.forward_model import Predictor
from tracer.observation.quantities import CURRENT, QUANTITIES, RESISTANCE, VOLTAGE
from tracer.observation.story import FOUND_GOOD, WORK, Story
from tracer.observation.tables import Tables
from tracer.observation.words.probes import parse_test

HARNESS = tool().harness
STATES = HARNESS.state({"ignition": "on", "lights": "on"}), HARNESS.state({"ignition": "on", "lights": "off"})

# --- what excludes what

FLASHES: tuple[Flash | None, ...] = None, "steady", "slow", "flashing"
LOOKS = [
    LampSeen(lamp, frozenset(words), flash, sometimes)
    for lamp, words, flash, sometimes in product(
        ("tail", "plate"), (("dark",), ("dim", "faint"), ("normal",), ("dim", "normal")), FLASHES, (False, True))
]


def exclude(a: LampSeen, b: LampSeen) -> bool:
    """In plain words: one lamp, nothing of it only sometimes, and either no word for both, or steady and flashing."""
    if a.lamp != b.lamp or a.sometimes or b.sometimes:
        return False
    if not {*a.words} & {*b.words}:
        return True
    if a.flash is None or b.flash is None:
        return False
    return (a.flash == "steady" and b.flash != "steady") or (b.flash == "steady" and a.flash != "steady")


def test_two_looks_at_one_lamp_exclude_each_other_only_in_one_state() -> None:
    for a, b in product(LOOKS, LOOKS):
        for one, two in ((0, 0), (0, 1)):
            told: list[Evidence] = [Symptom(STATES[one], (a,)), Symptom(STATES[two], (b,))]
            wanted = ((0, 1),) if one == two and exclude(a, b) else ()
            assert contradictions(told) == wanted, (a, b)


def test_of_many_complaints_every_pair_that_clashes_is_told_in_order() -> None:
    dark, lit = (LampSeen("tail", frozenset({w})) for w in ("dark", "normal"))
    told: list[Evidence] = [Symptom(STATES[0], (x,)) for x in (dark, lit, dark, lit)]
    assert contradictions(told) == ((0, 1), (0, 3), (1, 2), (2, 3))
    both: list[Evidence] = [Symptom(STATES[0], (dark, lit)), Symptom(STATES[0], (dark, lit))]
    assert contradictions(both) == ((0, 1),), "what contradicts itself does so each time it is said"
    assert contradictions(both[:1]) == ()


def reading(words: str, value: Value) -> Reading:
    return Reading(parse_test(words, HARNESS), value)


def test_what_was_said_before_counts_once_and_a_meter_each_time() -> None:
    """Word for word, however it was asked for; of looks over one thing the last."""
    dark = Symptom(STATES[0], (LampSeen("tail", frozenset({"dark"})),), text="tail dark")
    volts = reading(f"volts tail.feed when {ON}", Value(12.0, 12.0))
    look = reading(f"look tail when {ON}", Value(seen=LampSeen("tail", frozenset({"dark"}))))
    one, other = (reading(f"inspect {x}", Value(found=False)) for x in ("S1", "E2"))
    found = reading("inspect S1", Value(found=True))
    again, elsewhere = replace(dark, text="the tail lamp is dark", asked=True), replace(dark, state=STATES[1])
    told: list[Evidence] = [dark, volts, again, volts, one, look, look, other, found, elsewhere]
    assert first_said(told) == [0, 1, 3, 5, 6, 7, 8, 9]


@pytest.mark.parametrize(("told", "so"), [
    ([], False), ([Symptom(STATES[0], (LampSeen("tail", frozenset({"dark"})),))], False),
    ([Symptom(STATES[0], (LampSeen("tail", frozenset({"dark"}), None, True),))], True),
    ([Symptom(STATES[k], (LampSeen("tail", frozenset({w})),)) for k, w in ((0, "dark"), (0, "normal"))], True),
    ([Symptom(STATES[k], (LampSeen("tail", frozenset({w})),)) for k, w in ((0, "dark"), (1, "normal"))], False),
    ([reading(f"volts tail.feed when {ON}", Value(3.0, 11.0, text="3 to 11 V"))], False),
    ([reading(f"volts tail.feed when {ON}", Value(3.0, 11.0, text="3 to 11 V as it was wiggled"))], True),
    ([reading(f"wiggle S1, watch tail when {ON}", Value(found=True))], True),
    ([reading(f"wiggle S1, watch tail when {ON}", Value(found=False))], False),
    ([reading("inspect S1", Value(found=True))], False),
])
def test_a_fault_comes_and_goes_where_something_was_both(told: list[Evidence], so: bool) -> None:
    assert comes_and_goes(told) == so


# --- stories

PARTS: dict[str, tuple[Any, ...]] = {
    "runs": (None, True, False), "driven_here": (None, True, False), "work": ((), ("radio",), ("washed", "radio")),
    "where": ("", "boot"), "since": ("", "May"), "always": (None, True, False),
}
STORIES = [Story(**dict(zip(PARTS, values, strict=True))) for values in product(*PARTS.values())]


def test_every_story_is_told_whole() -> None:
    """In words each part that was told and no other; back from a job file the same; the starter is served where it
    cranks or came by itself."""
    assert Story.__struct_fields__ == tuple(PARTS)
    words = {"runs": ("cranks and runs as usual", "does not crank or run well"),
             "driven_here": ("was driven here", "was brought here"), "always": ("always", "sometimes")}
    for s in STORIES:
        assert Story.from_data(s.as_data()) == s and s.told == (s != Story()) == bool(s.as_data())
        wanted = [words[k][0 if getattr(s, k) else 1] for k in ("runs", "driven_here") if getattr(s, k) is not None]
        if s.work:
            wanted.append(f"before it: {' and '.join(s.work)}{' at boot' if s.where else ''}")
        wanted += ["since May"] if s.since else []
        wanted += [words["always"][0 if s.always else 1]] if s.always is not None else []
        assert s.says() == "; ".join(wanted)
        assert s.alive == (s.runs is True or s.driven_here is True)


def test_of_two_stories_the_later_counts_for_what_can_be_only_once() -> None:
    for one in STORIES[::7]:
        for two in STORIES[::5]:
            both = one.and_then(two)
            for key in ("runs", "driven_here", "always"):
                assert getattr(both, key) == (getattr(one, key) if getattr(two, key) is None else getattr(two, key))
            for key in ("where", "since"):
                assert getattr(both, key) == (getattr(two, key) or getattr(one, key))
            assert {*both.work} == {*one.work, *two.work} and len(both.work) == len({*both.work})


@pytest.mark.parametrize("data", [
    {"runs": "yes"}, {"runs": 1}, {"driven_here": 0}, {"always": "no"}, {"where": 3}, {"since": True},
    {"work": "radio"}, {"work": [3]}, {"work": ["tea"]}, {"work": {"radio": 1}},
])
def test_a_story_of_another_form_is_refused(data: dict[str, Any]) -> None:
    with pytest.raises(SymptomError):
        Story.from_data(data)


def test_work_has_a_word_for_each_kind() -> None:
    assert len({*WORK}) == len(WORK) == 8 and FOUND_GOOD in WORK
    assert all(Story(work=(w,)).told for w in WORK)


# --- numbers as they are said


@pytest.mark.parametrize(("value", "said"), [
    (12.0, "12.00 V"), (0.006, "0.01 V"), (0.0049, "0.00 V"), (-0.0049, "0.00 V"), (-0.006, "-0.01 V"),
    (-0.0, "0.00 V"), (-12.346, "-12.35 V"), (0.0, "0.00 V"),
])
def test_volts_are_said_to_a_hundredth_and_none_has_no_sign(value: float, said: str) -> None:
    assert VOLTAGE.say(value) == said


@pytest.mark.parametrize(("value", "said"), [
    (0.0, "0.0 Ω"), (0.34, "0.3 Ω"), (99.94, "99.9 Ω"), (100.0, "100 Ω"), (470.4, "470 Ω"), (5e6, "5000000 Ω"),
    (5.1e6, "open"), (float("inf"), "open"),
])
def test_ohms_are_said_to_a_tenth_below_a_hundred(value: float, said: str) -> None:
    assert RESISTANCE.say(value) == said


def test_each_quantity_is_weighed_as_its_meter_goes() -> None:
    """Volts have a sign and go with the battery, a clamp shows no sign, ohms go by decades."""
    assert [(q.unit, q.signless, q.of_supply, q.log_scale) for q in QUANTITIES] == [
        ("V", False, True, False), ("Ω", False, False, True), ("A", True, False, False)]
    assert [q.most for q in QUANTITIES] == [60.0, 1e9, 200.0] and CURRENT.say(1.234) == "1.23 A"


# --- the vehicle's battery


@pytest.mark.parametrize(("system", "volts", "emf"), [
    ("24 V", ("12.6 V", "12.6 V"), 25.2), ("12 V", ("6.3 V", "6.3 V"), 12.6), ("12 V", ("12.6 V", "12.6 V"), 12.6),
    ("12 V", ("12.6 V",), 12.6), ("24 V", ("25.0 V", "25.0 V"), 25.0), ("24 V", ("12.0 V", "18.0 V"), 30.0),
])
def test_batteries_in_series_count_together_where_that_is_nearer_to_the_system(
    system: str, volts: tuple[str, ...], emf: float,
) -> None:
    parts = "".join(f"  battery {k}: {{kind: battery, voltage: {v}}}\n" for k, v in enumerate(volts, 1))
    wires = "".join(f"  - battery {k}.+ > battery {k + 1}.-\n" for k in range(1, len(volts)))
    harness = read_harness(f"harness: it, invented\nsystem: {system} negative earth\nparts:\n{parts}"
                           "  tail: {kind: lamp, lamp: 5 W}\nearths: {E1: }\nwires:\n  - battery 1.- > E1\n"
                           f"{wires}  - battery {len(volts)}.+ > tail.feed\n  - tail.earth > E1\n")
    assert Predictor(harness).emf == pytest.approx(emf) and not Predictor(harness).supply_measured
    measured = Predictor(harness, 0.9 * emf)
    assert measured.emf == pytest.approx(0.9 * emf) and measured.supply_measured


# --- tables


def test_what_is_wide_stands_in_a_table_of_its_own_and_shows_the_same() -> None:
    """Sixty-four changes in one, however many of them open a path that is there already; all together, some of them,
    or none that is wide."""
    predictor = tool().predictor
    singles = list(dict.fromkeys(h.change for h in tool().singles))[:40]
    names = [d.name for d in predictor.circuit.linear]
    same = [(names[0], 0.001)] * 63
    changes = [*singles[:20], Change(set_ohm=(*same, (names[1], 5.0))), *singles[20:],
               Change(set_ohm=(*same, (names[1], 5.0), (names[2], 5.0)))]
    setup = predictor.setup(STATES[0])
    alone = [predictor.panel(setup, predictor.table([c])) for c in changes]
    whole = Tables(predictor, changes).look(setup)
    assert whole.flux == pytest.approx(np.vstack([p.flux for p in alone]), abs=1e-6)
    for active in ([0, 3, 20, 41], [20, 41], [1, 2, 5], [41], list(range(42))):
        some = Tables(predictor, changes).look(setup, np.array(active))
        assert some.flux == pytest.approx(whole.flux[active], abs=1e-9), active
    assert Tables(predictor, [NO_CHANGE]).look(setup).flux == pytest.approx(predictor.healthy(STATES[0]).flux)


# --- what is done to lamps


def test_a_lamp_that_is_out_is_dark_and_two_that_are_changed_over_are_watched() -> None:
    """All filaments of one glass at once, and of no other."""
    harness = tool_on(MODELS / "rear_end.yaml").harness
    bulbs = dict.fromkeys(f.bulb for f in harness.lamps())
    assert len(bulbs) < len(harness.lamps())
    for bulb, other in product(bulbs, bulbs):
        own, both = ({f.lamp for f in harness.lamps() if f.bulb in some} for some in ({bulb}, {bulb, other}))
        assert {*Intervention("take out lamp", bulb).dark(harness)} == own
        if bulb != other:
            assert {*Intervention("swap lamps", bulb, other).watched(harness)} == both
            assert not {*Intervention("swap lamps", bulb, other).dark(harness)}
