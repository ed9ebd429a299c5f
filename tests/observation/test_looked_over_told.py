"""What is looked over and moved, in words: which thing is meant, what was found, and what is said of neither."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.long import in_turn
from tracer.errors import ReadingError, TracerError, UnknownNameError
from tracer.harness.file.text import load_harness
from tracer.harness.inspectable import Thing, things_in
from tracer.harness.model import Harness
from tracer.observation.evidence import Test, inspection, wiggling
from tracer.observation.words.looked_over import MOST_LOST_V
from tracer.observation.words.readings import (
    parse_test,
    parse_value,
    test_as_data,
    test_from_data,
    value_as_data,
    value_from_data,
)
from tracer.planning.costs import Standing, minutes_of
from tracer.present.job_words import test_words as words_of

PATHS = sorted(MODELS.glob("*.yaml"))


@cache
def tractor() -> Harness:
    return load_harness(MODELS / "tractor.yaml")


# --- typed forms


@pytest.mark.parametrize("path", PATHS, ids=lambda p: p.stem)
def test_everything_that_can_be_looked_over_is_told_in_words_and_kept(path: Path) -> None:
    harness = load_harness(path)
    for thing in dict.fromkeys(things_in(harness)):
        test = inspection(harness, thing)
        assert test.thing(harness) == thing
        assert parse_test(words_of(test, harness), harness) == test, words_of(test, harness)
        assert test_from_data(test_as_data(test), harness) == test
        assert test.says(harness) and steps_of_plain(harness, test)
        assert minutes_of(test, Standing(harness.state({})), harness) > 0


def steps_of_plain(harness: Harness, test: Test) -> str:
    assert not test.sets_state(harness) and test.instrument == "eyes"
    return test.row.says(test.spot(harness))


@pytest.mark.parametrize(("text", "thing"), [
    ("inspect S9 to C4.4", Thing("wire", "S9", "C4.4")),
    ("look along the wire from C4.4 to S9, with its clips", Thing("wire", "S9", "C4.4")),
    ("look along the strap E8 to E2", Thing("wire", "E2", "E8")),
    ("inspect the connector C4", Thing("connector", "C4")),
    ("look into C4 with C4 unplugged", Thing("connector", "C4")),
    ("inspection of splice S9 with battery disconnected", Thing("splice", "S9")),
    ("look over earth point E3", Thing("earth point", "E3")),
    ("inspect fuse F5", Thing("fuse", "F5")),
    ("inspect lamp switch", Thing("part", "lamp switch")),
    ("inspect lamp left rear stop", Thing("lamp", "left rear stop")),
    ("inspect left rear stop lamp", Thing("lamp", "left rear stop")),
    ("look into the socket of the left rear stop", Thing("holder", "left rear stop")),
    ("inspect left rear", Thing("part", "left rear")),
])
def test_words_for_a_look(text: str, thing: Thing) -> None:
    harness = tractor()
    test = parse_test(text, harness)
    assert test.thing(harness) == thing
    assert test == inspection(harness, thing), "the same test however it was told"


@pytest.mark.parametrize(("text", "kind", "message"), [
    ("inspect C4.4", ReadingError, "“C4.4” is one terminal (name C4, or the wire: C4.4 to …)"),
    ("inspect E33", UnknownNameError, "nothing is called “E33” that could be looked over (did you mean “E3”?)"),
    ("inspect S9 to C3.4", ReadingError,
     "no wire leads from S9 to C3.4 (from S9 wires lead to indicator stalk.R, hazard switch.R, C4.4 and C4.5)"),
    ("inspect wire left rear.stop to left rear.tail", ReadingError,
     "no wire leads from left rear.stop to left rear.tail (from left rear.stop wires lead to C3.3')"),
    ("inspect lamp stop", ReadingError, "“stop” could be left rear stop or right rear stop (say which lamp)"),
])
def test_error_texts_of_things(text: str, kind: type[TracerError], message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_test(text, tractor())

    assert type(caught.value) is kind
    assert str(caught.value) == message


@pytest.mark.parametrize(("text", "found"), [
    ("found", True), ("Found: rubbed through at the grommet", True), ("yes", True), ("green", True), ("broken", True),
    ("something was rubbed through", True), ("loose (way 4)", True), ("nothing", False), ("Nothing found.", False),
    ("no", False), ("found nothing", False), ("looks good", False), ("no corrosion", False), ("clean", False),
])
def test_what_a_look_showed(text: str, found: bool) -> None:
    value = parse_value(text, "inspect")

    assert value.found is found and value.text == text and not value.told_nothing and not value.is_range
    assert value_from_data(value_as_data(value)) == value


@pytest.mark.parametrize("text", ["could not", "skipped", "could not see it", "not done"])
def test_a_look_that_was_not_possible_tells_nothing(text: str) -> None:
    value = parse_value(text, "inspect")
    assert value.told_nothing and value.found is None and value_from_data(value_as_data(value)) == value


@pytest.mark.parametrize(
    "text", ["11.9 V", "dim", "open", "found to be sound", "not bad", "perhaps", "clean but loose"]
)
def test_error_text_of_what_a_look_showed(text: str) -> None:
    with pytest.raises(ReadingError) as caught:
        parse_value(text, "inspect")

    assert str(caught.value) == (
        f"“{text}” does not say whether something was found (write it like `found`, `found: rubbed through at the "
        "clip`, `nothing` or `could not`)"
    )


@pytest.mark.parametrize(("data", "message"), [
    ({"test": "inspect", "plus": "S9", "minus": "C3.4"}, "no wire leads from S9 to C3.4"),
    ({"test": "inspect", "plus": "C44"}, "nothing is called “C44” that could be looked over (did you mean “C4”?)"),
    ({"test": "inspect"}, "nothing is called “” that could be looked over"),
    ({"test": "inspect", "plus": "left rear", "lamp": "left rear stopp"}, "no lamp “left rear stopp”"),
])
def test_recorded_looks_that_do_not_fit_the_harness(data: dict[str, str], message: str) -> None:
    state = test_as_data(inspection(tractor(), Thing("connector", "C4")))
    with pytest.raises(UnknownNameError) as caught:
        test_from_data({k: v for k, v in state.items() if k not in ("plus", "done")} | data, tractor())

    assert str(caught.value).startswith(message)


def test_recorded_finds_of_another_form() -> None:
    with pytest.raises(ReadingError, match="whether something was found is not recorded as true or false"):
        value_from_data({"text": "green", "found": "green"})


# --- wiggled, and a lamp watched


@pytest.mark.parametrize("path", in_turn(PATHS, 1), ids=lambda p: p.stem)
def test_everything_that_can_be_moved_is_told_in_words_and_kept(path: Path) -> None:
    harness = load_harness(path)
    state, lamp = harness.state({}), harness.lamps()[-1].lamp
    for thing in dict.fromkeys(things_in(harness)):
        test = wiggling(harness, thing, state, lamp)
        assert test.thing(harness) == (Thing("holder", thing.name) if thing.kind == "lamp" else thing)
        assert parse_test(words_of(test, harness), harness) == test, words_of(test, harness)
        assert test_from_data(test_as_data(test), harness) == test
        assert ", and watch the" in test.says(harness) and minutes_of(test, Standing(state), harness) >= 1.0


@pytest.mark.parametrize(("text", "message"), [
    ("wiggle C4 when brake pressed", "“C4” does not say what was moved and which lamp was watched (write it like "
                                     "“wiggle C4 and watch left rear stop when brake pressed”)"),
    ("wiggle C4 and watch both tails when lights side", "“both tails” are 2 lamps (name one lamp that was watched)"),
    ("wiggle C4 and watch left rear stop", "“wiggle C4 and watch left rear stop” does not say in which positions the "
                                           "controls stood (add “when”: … when ignition on, brake pressed)"),
    ("wiggle C4 and watch left rear stop when brake pressed, C2 unplugged",
     "a lamp is watched with everything connected and working while something is wiggled (leave out what was "
     "unplugged or fitted)"),
    ("wiggle C4.4 and watch left rear stop when brake pressed",
     "“C4.4” is one terminal (name C4, or the wire: C4.4 to …)"),
])
def test_error_texts_of_wiggles(text: str, message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_test(text, tractor())

    assert str(caught.value) == message


@pytest.mark.parametrize(("text", "found"), [
    ("changes", True), ("it flickers", True), ("goes out (at the clip)", True), ("comes on", True), ("yes", True),
    ("does not", False), ("doesn't", False), ("no change", False), ("stays as it was", False), ("nothing", False),
])
def test_what_a_wiggle_showed(text: str, found: bool) -> None:
    value = parse_value(text, "wiggle")

    assert value.found is found and value_from_data(value_as_data(value)) == value


@pytest.mark.parametrize("text", ["found", "dim", "3 V", "perhaps", "green"])
def test_error_text_of_what_a_wiggle_showed(text: str) -> None:
    with pytest.raises(ReadingError) as caught:
        parse_value(text, "wiggle")

    assert str(caught.value) == (
        f"“{text}” does not say whether the lamp changed (write it like `changes`, `goes out`, `does not` or `could "
        "not`)"
    )


# --- measured at the end of a wire


@pytest.mark.parametrize(("said", "lost"), [
    ("volts lost", True), ("0.4 V", True), ("-350 mV", True), ("1,2", True), ("yes", True),
    ("none lost", False), ("0.02 V", False), ("20 mV", False), ("nothing", False), ("no", False),
])
def test_volts_lost_are_told_in_words_or_as_the_meter_shows_them(said: str, lost: bool) -> None:
    assert parse_value(said, "crimp").found is lost


def test_a_volt_is_a_thousand_millivolts_and_the_border_is_not_lost() -> None:
    least = MOST_LOST_V * 1000
    for said, lost in ((f"{least:.0f} mV", False), (f"{least + 1:.0f} mV", True), (f"{MOST_LOST_V} V", False),
                       (f"-{MOST_LOST_V + 0.001:.3f} V", True)):
        assert parse_value(said, "crimp").found is lost, said


def test_what_is_neither_is_asked_for_again() -> None:
    with pytest.raises(ReadingError, match="does not say whether volts are lost there"):
        parse_value("2 ohm", "crimp")
    with pytest.raises(ReadingError, match="a wire's end is measured with everything connected and working"):
        parse_test("crimp C3.3' to left rear.stop when brake pressed with C4 unplugged", tractor())
