"""Readings and tests as typed: numbers keep their unit and digits, what cannot be is refused with what to write."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.long import examples
from tracer.circuit.model import NO_CHANGE, build_circuit
from tracer.errors import ReadingError, SymptomError, TracerError, UnknownNameError
from tracer.harness.file.text import load_harness
from tracer.harness.inspectable import bulb_positions
from tracer.observation.actions import Intervention
from tracer.observation.evidence import LIT, WORDS, LampSeen, Test, Value
from tracer.observation.forward_model import Predictor
from tracer.observation.test_kinds import TestKind
from tracer.observation.words.readings import (
    NO_INFORMATION,
    parse_test,
    parse_value,
    test_as_data,
    test_from_data,
    test_key,
    value_as_data,
    value_from_data,
)
from tracer.observation.words.terminals import Terminals
from tracer.observation.words.words import word_set

PICKUP = load_harness(Path(__file__).parents[2] / "harness_models" / "pickup.yaml")
FORMS = "(write it like `11.9 V`, `0.3 ohm`, `1.8 A`, `open`, `lit` or `dark`)"


@pytest.mark.parametrize(("text", "kind", "low", "high", "resolution"), [
    ("11.9 V", "volts", 11.9, 11.9, 0.1),
    ("11,9V", "volts", 11.9, 11.9, 0.1),
    ("12.60 volts", "volts", 12.6, 12.6, 0.01),
    ("120 mV", "drop", 0.12, 0.12, 0.001),
    ("-0.3 V", "volts", -0.3, -0.3, 0.1),
    ("−0,05 V", "volts", -0.05, -0.05, 0.01),
    ("about 12 V", "volts", 12.0, 12.0, 1.0),
    ("0.3 ohm", "ohms", 0.3, 0.3, 0.1),
    ("0.3 Ω", "ohms", 0.3, 0.3, 0.1),
    ("0.3 \u2126", "ohms", 0.3, 0.3, 0.1),
    ("4.7 kohm", "ohms", 4700.0, 4700.0, 100.0),
    ("4.7k", "ohms", 4700.0, 4700.0, 100.0),
    ("between 3 and 5 V", "volts", 3.0, 5.0, 1.0),
    ("5 V to 3 V", "volts", 3.0, 5.0, 1.0),
    ("3–5 V", "volts", 3.0, 5.0, 1.0),
    ("900 mV - 1.2 V", "volts", 0.9, 1.2, 0.001),
    ("0.2 to 0.9 V (wiggling)", "volts", 0.2, 0.9, 0.1),
    ("2 to 11 V wiggling", "volts", 2.0, 11.0, 1.0),
    ("11.9 V ± 0.1", "volts", 11.8, 12.0, 0.1),
    ("11.9 +/- 0.1 V", "volts", 11.8, 12.0, 0.1),
    ("10.0 V ± 2 %", "volts", 9.8, 10.2, 0.1),
    ("below 0.2 V", "drop", -0.2, 0.2, 0.1),
    ("> 10 V", "volts", 10.0, 60.0, 1.0),
    ("less than 5 ohms", "ohms", 0.0, 5.0, 1.0),
    ("over 10 kohm", "ohms", 10e3, math.inf, 1e3),
    ("open", "ohms", math.inf, math.inf, 0.01),
    ("OL", "ohms", math.inf, math.inf, 0.01),
    ("over range", "ohms", math.inf, math.inf, 0.01),
    ("beeps", "ohms", 0.0, 50.0, 0.01),
    ("does not beep", "ohms", 10.0, math.inf, 0.01),
    ("could not do it", "volts", *NO_INFORMATION, 0.01),
    ("skipped", "look", *NO_INFORMATION, 0.01),
])
def test_numbers(text: str, kind: TestKind, low: float, high: float, resolution: float) -> None:
    value = parse_value(text, kind)

    assert (low, high, resolution) == pytest.approx((value.low, value.high, value.resolution))
    assert value.text == text
    assert value.seen is None


@pytest.mark.parametrize(("text", "words", "flash"), [
    ("lit", LIT, None), ("dark", {"dark"}, None), ("the lamp is faint", {"faint"}, None), ("dim or dark",
     {"dim", "dark"}, None), ("flashes fast", LIT, "fast"), ("steady", LIT, "steady"), ("normal", {"normal"}, None),
    ("nearly full", {"dim", "normal"}, None), ("not lit", {"dark"}, None), ("unsure", set(WORDS), None),
])
@pytest.mark.parametrize("kind", ["look", "test lamp"])
def test_looks(kind: TestKind, text: str, words: set[str], flash: str | None) -> None:
    value = parse_value(text, kind, "left rear tail")

    assert value.seen is not None
    assert (value.seen.lamp, value.seen.words, value.seen.flash) == ("left rear tail", frozenset(words), flash)


@pytest.mark.parametrize(("text", "kind", "message"), [
    ("12.x V", "volts", f"“12.x V” is not understood {FORMS}"),
    ("", "volts", f"there is no reading {FORMS}"),
    ("nan V", "volts", f"“nan V” is not understood {FORMS}"),
    ("inf V", "volts", f"“inf V” is not understood {FORMS}"),
    ("1e3 V", "volts", f"“1e3 V” is not understood {FORMS}"),
    ("0.3 ohm", "volts", "“0.3 ohm” is in ohms; this test shows volts (write it like `11.9 V`)"),
    ("0.36 A", "volts", "“0.36 A” is in amperes; this test shows volts (write it like `11.9 V`)"),
    ("12 V", "ohms", "“12 V” is in volts; this test shows ohms (write it like `0.3 ohm` or `open`)"),
    ("12 furlongs", "volts", "“furlongs” is not a unit of volts (write it like `11.9 V`)"),
    ("open", "volts", "“open” is for an ohmmeter; this test shows volts (write it like `11.9 V`)"),
    ("beeps", "drop", "“beeps” is for an ohmmeter; this test shows volts (write it like `11.9 V`)"),
    ("12 V", "look", "“12 V” is a number; this test is the look of a lamp (write it like `lit`, `dim` or `dark`)"),
    ("purple", "look", "“purple” is not the look of a lamp (write it like `lit`, `dark`, `faint`, `dim`, `normal`, "
     "`bright` or `flashes fast`)"),
    ("dim and dark", "look", "“dim” and “dark” cannot both be (join looks by “or” when unsure which it was)"),
    ("99 V", "volts", "“99 V” is more than a vehicle has (check the unit: `11.9 V`, `120 mV`)"),
    ("over 70 V", "volts", "“over 70 V” is more than a vehicle has (check the unit: `11.9 V`, `120 mV`)"),
    ("9" * 400 + " V", "volts",
     "“" + "9" * 59 + "…” is more than a vehicle has (check the unit: `11.9 V`, `120 mV`)"),
    ("-3 ohm", "ohms", "“-3 ohm” cannot be: a resistance is not below zero (a meter that shows this sees a voltage: "
     "disconnect the battery)"),
    ("2000 Mohm", "ohms", "“2000 Mohm” is more than a meter shows (write `open`)"),
    ("4,700 ohm", "ohms", "“4,700 ohm” could mean thousands or a decimal comma (write 4700 or 4.700)"),
    ("5 V ± -1", "volts", "“5 V ± -1” has a tolerance below zero (write it like `11.9 V ± 0.1 V`)"),
])
def test_error_texts_of_readings(text: str, kind: TestKind, message: str) -> None:
    with pytest.raises(ReadingError) as caught:
        parse_value(text, kind)

    assert message == str(caught.value)


SIDE = {"lamp switch": "side"}
LEFT = {"indicator stalk": "left"}
BRAKE = {"brake pedal": "pressed"}


@pytest.mark.parametrize(("text", "test"), [
    ("volts at left rear.stop when brake pressed", Test("volts", PICKUP.state(BRAKE), "left rear.stop", "body")),
    ("voltage at terminal stop of rear left while braking",
     Test("volts", PICKUP.state(BRAKE), "left rear.stop", "body")),
    ("volt drop left rear.earth to body when lamp switch side and brake pressed",
     Test("drop", PICKUP.state(SIDE | BRAKE), "left rear.earth", "body")),
    ("volts F3.in to F3.out when lights side", Test("drop", PICKUP.state(SIDE), "F3.in", "F3.out")),
    ("volts C2.3 when stalk left", Test("volts", PICKUP.state(LEFT), "C2.3", "body")),
    ("volts at c2.3' when stalk left", Test("volts", PICKUP.state(LEFT), "C2.3'", "body")),
    ("volts at C2.3 far side when stalk left", Test("volts", PICKUP.state(LEFT), "C2.3'", "body")),
    ("volts at way 3 of C2 (outgoing half) when stalk left", Test("volts", PICKUP.state(LEFT), "C2.3'", "body")),
    ("ohms C2.5 to E4", Test("ohms", PICKUP.state({}), "C2.5", "E4")),
    ("resistance from C2.5 to earth with C2 unplugged",
     Test("ohms", PICKUP.state({}), "C2.5", "body", done=(Intervention("unplug", "C2"),))),
    ("test lamp at C2.1 when lights side", Test("test lamp", PICKUP.state(SIDE), "C2.1", "body")),
    ("look at left rear reversing when brake pressed", Test("look", PICKUP.state(BRAKE), lamp="left rear reversing")),
])
def test_tests(text: str, test: Test) -> None:
    assert test == parse_test(text, PICKUP)


@pytest.mark.parametrize(("text", "done"), [
    ("C2 unplugged", [("unplug", "C2", "")]),
    ("C2 and C3 unplugged", [("unplug", "C2", ""), ("unplug", "C3", "")]),
    ("lamp left rear stop + tail out", [("take out lamp", "left rear stop + left rear tail", "")]),
    ("left rear tail lamp removed", [("take out lamp", "left rear stop + left rear tail", "")]),
    ("earth lead at left rear.earth", [("earth lead", "left rear.earth", "")]),
    ("a temporary earth to left rear earth", [("earth lead", "left rear.earth", "")]),
    ("F3 pulled", [("pull fuse", "F3", "")]),
    ("side light fuse out", [("pull fuse", "F3", "")]),
    ("feed lead from battery.+ to left rear.tail", [("feed lead", "left rear.tail", "battery.+")]),
    ("lamps left rear reversing and right rear reversing swapped",
     [("swap lamps", "left rear reversing", "right rear reversing")]),
    ("battery disconnected and F3 pulled", [("disconnect battery", "battery", ""), ("pull fuse", "F3", "")]),
])
def test_what_was_done_on_purpose(text: str, done: list[tuple[str, str, str]]) -> None:
    for whole in (f"look left rear reversing when lights side with {text}",
                  f"look left rear reversing when lights side and {text}"):
        test = parse_test(whole, PICKUP)

        assert done == [(i.action, i.target, i.other) for i in test.done]
        assert test.state == PICKUP.state(SIDE)


@pytest.mark.parametrize(("text", "kind", "message"), [
    ("volts left rear.stip when brake pressed", UnknownNameError,
     "left rear has no terminal “stip” (it has stop, tail, indicator, reversing and earth)"),
    ("volts left rear when brake pressed", ReadingError,
     "“left rear” does not say at which terminal (one of left rear.stop, left rear.tail, left rear.indicator, "
     "left rear.reversing or left rear.earth)"),
    ("volts at C9.1 when brake pressed", UnknownNameError,
     "no terminal “C9.1” (did you mean “C7.1” or “C6.1” or “C5.1”?)"),
    ("volts C2.9 when brake pressed", UnknownNameError,
     "way 9 of C2 is not there: C2 has 5 ways (wired: C2.1, C2.2, C2.3, C2.4 and C2.5)"),
    ("volts C1.6 when brake pressed", UnknownNameError,
     "way 6 of C1 carries no wire (wired: C1.1, C1.2, C1.3, C1.4 and C1.5)"),
    ("volts C2.3", ReadingError,
     "“volts C2.3” does not say in which positions the controls stood (add “when”: … when ignition on, "
     "brake pressed)"),
    ("volts when brake pressed", ReadingError,
     "“volts when brake pressed” does not say where (write it like “volts at left rear.stop when brake pressed”, "
     "“volt drop A to B when …”, “ohms A to B”, “test lamp at A when …”, “amps A to B when …”, “look left rear "
     "tail when …” or “inspect A to B”)"),
    ("smell of C2.3 when brake pressed", ReadingError,
     "“smell of C2.3 when brake pressed” does not say which kind of test (write it like “volts at left rear.stop "
     "when brake pressed”, “volt drop A to B when …”, “ohms A to B”, “test lamp at A when …”, “amps A to B when …”, "
     "“look left rear tail when …” or “inspect A to B”)"),
    ("ohms C2.5", ReadingError,
     "“C2.5” is one point; a resistance has two ends (write it like “C2.5 to body”)"),
    ("volts E4 to E4 when brake pressed", ReadingError, "both probes are on E4 (name two different points)"),
    ("look at all tail lamps when brake pressed", ReadingError,
     "“all tail lamps” are 2 lamps (record one look for each lamp)"),
    ("look left tail when lights side with C9 unplugged", UnknownNameError,
     "no connector, fuse or lamp “C9” (did you mean “C7” or “C6” or “C5”?)"),
    ("look left tail when lights side with lamp stop out", ReadingError,
     "“stop” could be left rear stop + left rear tail or right rear stop + right rear tail (say which lamp)"),
    ("look left tail when lights side with left rear stop and right rear indicator swapped", ReadingError,
     "left rear stop + left rear tail and right rear indicator do not fit each other's holder "
     "(change over lamps of the same kind)"),
    ("volts C2.1 when on", SymptomError,
     "“on” could be ignition on or hazard switch on (name the control as well)"),
])
def test_error_texts_of_tests(text: str, kind: type[TracerError], message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_test(text, PICKUP)

    assert message == str(caught.value)
    assert type(caught.value) is kind


def test_a_lamp_of_the_same_words_is_not_taken_out_for_a_state() -> None:
    test = parse_test("volts C2.1 when lights side and lamp left rear reversing out", PICKUP)

    assert test.state == PICKUP.state(SIDE)
    assert test.done == (Intervention("take out lamp", "left rear reversing"),)


def test_a_fuse_for_the_side_lights_is_not_pulled_for_a_state() -> None:
    """“lights side” has the words of the side light fuse."""
    test = parse_test("volts C2.1 when C2 unplugged and lights side and C3 unplugged", PICKUP)

    assert test.state == PICKUP.state(SIDE)
    assert test.done == (Intervention("unplug", "C2"), Intervention("unplug", "C3"))


def test_every_terminal_is_found_by_its_name_in_any_case() -> None:
    terminals = Terminals(PICKUP)

    assert set(build_circuit(PICKUP).nodes) <= set(terminals.nodes)
    for node in terminals.nodes:
        assert node == terminals.find(node) == terminals.find(f" {node.upper()} ")


def test_a_typed_test_can_be_predicted() -> None:
    predictor = Predictor(PICKUP)

    volts = predictor.observed(parse_test("volts at left rear.stop when brake pressed", PICKUP), [NO_CHANGE])
    ohms = predictor.observed(parse_test("ohms C2.5' to E4 with C2 unplugged", PICKUP), [NO_CHANGE])

    assert 11.0 < volts[0] < 12.6
    assert ohms[0] < 1.0


# --- laws -------------------------------------------------------------------------------------------

numbers = st.floats(-60, 60, allow_nan=False) | st.just(math.inf)
resolutions = st.sampled_from([0.001, 0.01, 0.1, 1.0])
seen = st.builds(
    LampSeen, st.sampled_from([f.lamp for f in PICKUP.lamps()]), st.frozensets(st.sampled_from(WORDS), min_size=1),
    st.sampled_from([None, "steady", "flashing", "slow", "fast"]),
)
values = (
    st.builds(lambda a, b, r, t: Value(min(a, b), max(a, b), r, None, t), numbers, numbers, resolutions, st.text())
    | st.builds(lambda s, t: Value(seen=s, text=t), seen, st.text())
    | st.builds(lambda t: Value(*NO_INFORMATION, text=t), st.text())
)
nodes = st.sampled_from(sorted(Terminals(PICKUP).nodes))
bulbs = st.sampled_from(sorted(bulb_positions(PICKUP)))
interventions = (
    st.builds(Intervention, st.just("unplug"), st.sampled_from(sorted(PICKUP.connectors)))
    | st.builds(Intervention, st.just("pull fuse"), st.sampled_from([f"F{i}" for i in range(1, 9)]))
    | st.builds(Intervention, st.just("take out lamp"), bulbs)
    | st.builds(Intervention, st.just("swap lamps"), bulbs, bulbs)
    | st.builds(Intervention, st.just("earth lead"), nodes)
    | st.builds(Intervention, st.just("feed lead"), nodes, nodes)
    | st.just(Intervention("disconnect battery", "battery"))
)
states = st.builds(
    PICKUP.state,
    st.fixed_dictionaries({c.name: st.sampled_from(c.positions) for c in PICKUP.controls.values()}), st.booleans(),
)
done = st.lists(interventions, max_size=3).map(tuple)
measuring: st.SearchStrategy[TestKind] = st.sampled_from(["volts", "drop", "ohms", "test lamp"])
tests = (
    st.builds(lambda k, s, a, b, d: Test(k, s, a, b, "", d), measuring, states, nodes, nodes, done)
    | st.builds(
        lambda s, lamp, d: Test("look", s, "", "", lamp, d), states,
        st.sampled_from([f.lamp for f in PICKUP.lamps()]), done,
    )
)


@given(values)
def test_value_data_round_trip(value: Value) -> None:
    assert value == value_from_data(json.loads(json.dumps(value_as_data(value), allow_nan=False)))


@given(tests)
def test_test_data_round_trip(test: Test) -> None:
    data = test_as_data(test)

    assert test == test_from_data(json.loads(json.dumps(data)), PICKUP)
    assert test == test_from_data(yaml.safe_load(yaml.safe_dump(data, allow_unicode=True)), PICKUP)


@given(st.integers(-5999, 5999), st.sampled_from(["{:.2f} V", "{:.2f}V", "{:.2f} volts"]))
def test_a_voltage_as_a_meter_shows_it_is_read_back(hundredths: int, form: str) -> None:
    text = form.format(hundredths / 100)

    for written in (text, text.replace(".", ",")):
        value = parse_value(written, "volts")
        assert (value.low, value.high) == pytest.approx((hundredths / 100, hundredths / 100))
        assert value.resolution == pytest.approx(0.01)


@given(tests)
def test_keys_are_short_and_stay(test: Test) -> None:
    key = test_key(test)

    assert len(key) == 6
    assert key[:2] in {"L-", "V-", "D-", "R-", "G-"}
    assert key == test_key(test_from_data(test_as_data(test), PICKUP))


def test_keys_tell_tests_apart() -> None:
    """The exact key is pinned: job files from before must find their tests again."""
    stop = parse_test("volts at left rear.stop when brake pressed", PICKUP)
    tail = parse_test("volts at left rear.tail when brake pressed", PICKUP)

    assert test_key(stop) == "V-436a"
    assert test_key(stop) != test_key(tail)


phrases = st.lists(
    st.sampled_from(sorted(word_set(
        "volts volt drop ohms test lamp look at between and to with when while C2.3 C2.3' C9.9 left rear.stop body "
        "E4 earth lead unplugged pulled out swapped feed from F3 lights side brake pressed battery disconnected ( ) "
        ". ' far way of 3 5 12.6 V mV ohm ± - > about beeps open not lit dim or dark fast steady skipped 1,234"))),
    max_size=14,
).map(" ".join)


@settings(max_examples=examples(40, 300))
@given(st.text(max_size=80) | phrases)
def test_any_text_is_understood_or_told_in_one_line(text: str) -> None:
    kinds: tuple[TestKind, ...] = ("look", "volts", "drop", "ohms", "test lamp")
    for kind in kinds:
        try:
            value = parse_value(text, kind, "left rear tail")
        except ReadingError as error:
            assert "\n" not in str(error)
        else:
            assert value.low <= value.high
            assert value == value_from_data(value_as_data(value))
    for whole in (text, f"volts C2.3 when brake pressed with {text}", f"volts {text} when brake pressed"):
        try:
            test = parse_test(whole, PICKUP)
        except TracerError as error:
            assert "\n" not in str(error)
        else:
            assert test == test_from_data(test_as_data(test), PICKUP)


@pytest.mark.parametrize("data", [
    {}, {"text": 3, "low": 1, "high": 1}, {"low": "high", "high": 1}, {"low": 2.0, "high": 1.0},
    {"low": True, "high": 1}, {"low": math.nan, "high": 1.0}, {"low": 1, "high": 1, "resolution": "inf"},
    {"seen": {"lamp": "left rear tail", "words": []}}, {"low": [1], "high": 1},
])
def test_error_value_data_of_another_form(data: dict[str, object]) -> None:
    with pytest.raises(ReadingError):
        value_from_data(data)


@pytest.mark.parametrize("change", [
    {"test": "smell"}, {"test": 3}, {"plus": "left rear.fog"}, {"minus": ""}, {"state": None}, {"done": 3},
    {"done": [3]}, {"done": [{"action": "unplug", "target": "C9"}]}, {"done": [{"action": "kick", "target": "C2"}]},
    {"done": [{"action": "swap lamps", "target": "left rear reversing"}]}, {"test": "look", "lamp": "left rear fog"},
    {"done": [{"action": "earth lead", "target": ["E4"]}]}, {"state": {"ignition": "half"}},
])
def test_error_test_data_of_another_form(change: dict[str, object]) -> None:
    data = test_as_data(parse_test("volts at left rear.stop when brake pressed", PICKUP)) | change

    with pytest.raises((ReadingError, SymptomError, UnknownNameError)):
        test_from_data(data, PICKUP)
