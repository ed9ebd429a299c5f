"""What people type about lamps and controls becomes the symptom they meant, or an error that says what to write."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.long import examples
from tracer.errors import SymptomError, TracerError, UnknownNameError
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.observation.evidence import ALL_WORDS, LIT, WORDS, Flash, FuseSeen, FuseTime, LampSeen, LensSeen, Symptom
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.states import parse_state
from tracer.observation.words.symptoms import parse_symptom, symptom_as_data, symptom_from_data
from tracer.observation.words.words import word_set

MODELS = Path(__file__).parents[2] / "harness_models"
PICKUP = load_harness(MODELS / "pickup.yaml")

Seen = tuple[str, str] | tuple[str, str, str]


def seen_in(text: str, harness: Harness = PICKUP) -> list[tuple[str, ...]]:
    """Lamp, words and flash of each lamp seen, fuses as (name, "blows" or "holds")."""
    out: list[tuple[str, ...]] = []
    for one in parse_symptom(text, harness).seen:
        if isinstance(one, FuseSeen):
            out.append((one.fuse, "blows" if one.blown else "holds"))
        elif isinstance(one, LampSeen):
            words = "lit" if one.words == LIT else " ".join(w for w in WORDS if w in one.words)
            out.append((one.lamp, words, one.flash) if one.flash else (one.lamp, words))
    return out


@pytest.mark.parametrize("text", ["lamp dark when lights on", "the lamp is dark with the lights"])
def test_a_lamp_that_is_just_called_lamp(text: str) -> None:
    """A lamp on the bench needs no other name, and a switch that is only on or off no position."""
    harness = read_harness("""
harness: Invented bench
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m}
controls: {lights: [off, on]}
parts:
  battery: {kind: battery}
  S1: {kind: switch, control: lights, contacts: {on: [in-out]}}
  lamp: {kind: lamp, lamp: P21W, earth at: E1}
earths: {E1: chassis}
wires:
  - {run: battery.- > E1}
  - {run: battery.+ > S1.in}
  - {run: S1.out > lamp.feed}
""")
    assert seen_in(text, harness) == [("lamp", "dark")]
    assert parse_symptom(text, harness).state == parse_state("lights on", harness)


@pytest.mark.parametrize(("text", "seen", "state"), [
    ("rear left reversing lamp dark when ignition on, gear reverse",
     [("left rear reversing", "dark")], "ignition on, gear reverse"),
    ("all tail lamps dim, the left rear tail dark when lamp switch side",
     [("left rear tail", "dark"), ("right rear tail", "dim")], "ignition on, lamp switch side"),
    ("left rear tail dark, all tail lamps dim when lamp switch side",
     [("left rear tail", "dark"), ("right rear tail", "dim")], "ignition on, lamp switch side"),
    ("left rear reversing lamp dim, left rear tail faint when gear reverse",
     [("left rear reversing", "dim"), ("left rear tail", "faint")], "ignition on, gear reverse"),
    ("both rear stop lamps dark when brake pressed",
     [("left rear stop", "dark"), ("right rear stop", "dark")], "ignition on, brake pedal pressed"),
    ("all tail lamps and number-plate lamps normal when lamp switch side",
     [("left rear tail", "normal"), ("right rear tail", "normal"),
      ("left number-plate lamp", "normal"), ("right number-plate lamp", "normal")], "ignition on, lamp switch side"),
    ("every side light nearly full when brake pressed",
     [("left front side", "dim normal"), ("right front side", "dim normal")], "ignition on, brake pedal pressed"),
    ("left indicators flash fast when indicator stalk left",
     [("left rear indicator", "lit", "fast"), ("left front indicator", "lit", "fast")],
     "ignition on, indicator stalk left"),
    ("F3 blows when lights side", [("F3", "blows")], "ignition on, lamp switch side"),
    ("indicator tell-tale glows faintly when indicators left",
     [("indicator tell-tale", "faint")], "ignition on, indicator stalk left"),
    ("left rear tail and stop dim when lights side and brake pressed",
     [("left rear tail", "dim"), ("left rear stop", "dim")], "ignition on, lamp switch side, brake pedal pressed"),
])
def test_lamps_looks_and_controls_are_understood(text: str, seen: list[Seen], state: str) -> None:
    symptom = parse_symptom(text, PICKUP)

    assert seen == seen_in(text)
    assert state == PICKUP.say_state(symptom.state)
    assert text == symptom.text
    assert not symptom.others_normal


def test_everything_else_normal_is_a_remark_of_its_own() -> None:
    symptom = parse_symptom(
        "left rear reversing dark and left rear indicator lit steadily at full brightness, everything else normal "
        "when reverse", PICKUP)

    assert symptom.others_normal
    assert symptom.seen == (
        LampSeen("left rear reversing", frozenset({"dark"})),
        LampSeen("left rear indicator", frozenset({"normal"}), "steady"),
    )


@pytest.mark.parametrize("remark", [
    "everything else normal", "all else ok", "the rest fine", "all other lamps work", "the others normal",
    "everything else as it should",
])
def test_ways_to_say_everything_else_normal(remark: str) -> None:
    symptom = parse_symptom(f"left tail dim, {remark} when lights side", PICKUP)

    assert symptom.others_normal
    assert symptom.lamps_named() == {"left rear tail"}


def test_a_whole_vehicle_that_behaves_is_a_symptom_too() -> None:
    symptom = parse_symptom("everything normal when brake pressed", PICKUP)

    assert symptom.others_normal
    assert symptom.seen == ()


@pytest.mark.parametrize(("name", "lamps"), [
    ("LH rear rev", ["left rear reversing"]),
    ("r rear ind", ["right rear indicator"]),
    ("r/h rear stop", ["right rear stop"]),
    ("the left-hand side tail lamp", ["left rear tail"]),
    ("brake lights", ["left rear stop", "right rear stop"]),
    ("reverse lights", ["left rear reversing", "right rear reversing"]),
    ("numberplate lamps", ["left number-plate lamp", "right number-plate lamp"]),
    ("left main beam", ["left headlamp main"]),
    ("main beam tell-tale", ["main beam tell-tale"]),
    ("indicators on the left", ["left rear indicator", "left front indicator"]),
    ("left and right reversing lamps", ["left rear reversing", "right rear reversing"]),
    ("left and right rear indicators", ["left rear indicator", "right rear indicator"]),
    ("left front and rear indicators", ["left front indicator", "left rear indicator"]),
    ("left rear stop/tail", ["left rear stop", "left rear tail"]),
    ("left rear tail and right rear stop", ["left rear tail", "right rear stop"]),
    ("panel lamps 1 and 3", ["panel lamp 1", "panel lamp 3"]),
    ("left rear tail lamp and number-plate lamps",
     ["left rear tail", "left number-plate lamp", "right number-plate lamp"]),
])
def test_lamps_may_be_called_in_many_ways(name: str, lamps: Sequence[str]) -> None:
    assert list(lamps) == [s[0] for s in seen_in(f"{name} dark when everything off")]


def test_other_leaves_out_what_is_named_wherever_it_is_named() -> None:
    assert seen_in("all other stop lamps dark, left stop dim when brake pressed") == [
        ("left rear stop", "dim"), ("right rear stop", "dark")]


def test_the_indicators_do_not_include_their_tell_tale() -> None:
    """A tell-tale between the two sides stays dark with the hazards: taking it in would be false evidence."""
    assert "indicator tell-tale" not in [s[0] for s in seen_in("all indicators dark when hazards on")]
    assert seen_in("indicator tell-tale dark when hazards on") == [("indicator tell-tale", "dark")]


@pytest.mark.parametrize(("look", "words", "flash"), [
    ("out", "dark", None), ("not lit", "dark", None), ("doesn't light", "dark", None),
    ("does not work", "dark", None),
    ("dead", "dark", None), ("nearly dark", "faint", None),
    ("glows", "faint", None), ("faintly glowing", "faint", None), ("glowing dimly", "dim", None),
    ("weak", "dim", None), ("very dim", "faint dim", None), ("works", "normal", None),
    ("full brightness", "normal", None), ("not at full brightness", "faint dim", None),
    ("too bright", "bright", None), ("lit", "faint dim normal bright", None), ("on", "faint dim normal bright", None),
    ("comes on", "faint dim normal bright", None), ("lights", "faint dim normal bright", None),
    ("not dark", "faint dim normal bright", None), ("almost normal", "dim normal", None),
    ("dim or dark", "dark dim", None), ("unsure", "dark faint dim normal bright", None),
    ("flashes", "faint dim normal bright", "flashing"), ("flashing slowly", "faint dim normal bright", "slow"),
    ("flashes quickly and dim", "dim", "fast"), ("steady", "faint dim normal bright", "steady"),
    ("lit, steadily, at full brightness", "normal", "steady"), ("flashes normally", "normal", "flashing"),
    # Somebody who misses the flashing has not said that there was light.
    ("does not flash", "dark faint dim normal bright", "steady"),
    ("flashing fast or slow", "faint dim normal bright", "flashing"),
    ("steady or flashing", "faint dim normal bright", None),
])
def test_looks(look: str, words: str, flash: Flash | None) -> None:
    symptom = parse_symptom(f"left rear indicator {look} when stalk left", PICKUP)

    assert symptom.seen == (LampSeen("left rear indicator", frozenset(words.split()), flash),)


def test_looks_may_come_first() -> None:
    assert seen_in("dim left rear tail, dark left rear stop when brake pressed") == [
        ("left rear tail", "dim"), ("left rear stop", "dark")]


def test_the_state_may_come_first() -> None:
    assert seen_in("with brake pressed: left rear stop dark") == [("left rear stop", "dark")]


def test_nothing_else_lit_is_said_of_every_other_lamp() -> None:
    seen = seen_in("left tail dim, nothing else lit when lights side")

    assert seen[0] == ("left rear tail", "dim")
    assert {s[1] for s in seen[1:]} == {"dark"}
    assert len(seen) == len(PICKUP.lamps())


@pytest.mark.parametrize(("text", "seen"), [
    ("fuse F3 blown", ("F3", "blows")), ("side light fuse blows", ("F3", "blows")), ("F3 ok", ("F3", "holds")),
    ("F3 does not blow", ("F3", "holds")), ("the hazard fuse is whole", ("F8", "holds")),
])
def test_fuses(text: str, seen: tuple[str, str]) -> None:
    assert [seen] == seen_in(f"{text} when lights side")


@pytest.mark.parametrize(("text", "kind", "message"), [
    ("rear stop dark when brake pressed", SymptomError,
     "“rear stop” could be left rear stop or right rear stop (say which one, or “all” for every one of them)"),
    ("left rear revrsng dark when reverse", UnknownNameError,
     "no lamp “left rear revrsng” (did you mean “left rear reversing” or “left rear stop” or “left rear tail”?)"),
    ("both left indicators and both indicators dark when reverse", SymptomError,
     "“both indicators” fits 4 lamps: left rear indicator, right rear indicator, left front indicator and right "
     "front indicator (say which two, or “all” for every one of them)"),
    ("rear lights dim when lights side", SymptomError,
     "“rear lights” takes in both left rear stop and left rear tail, which are in one glass "
     "(say which filament was lit)"),
    ("left rear tail or stop dim when lights side", SymptomError,
     "“left rear tail or stop” leaves open which lamp it was (name the lamp, or each lamp with “and”)"),
    ("left tail wobbles when lights side", SymptomError,
     "“left tail wobbles” does not say how it looks (say dark, faint, dim, normal, bright, lit, flashing, slow, "
     "fast or steady)"),
    ("left tail dim and dark when lights side", SymptomError,
     "“dim” and “dark” cannot both be (join looks by “or” when unsure which it was)"),
    ("left tail dark and flashing when lights side", SymptomError,
     "“dark” and “flashing” cannot both be (join looks by “or” when unsure which it was)"),
    ("left tail dim, left tail dark when lights side", SymptomError,
     "left rear tail dim and left rear tail dark cannot both be (join looks by “or” when unsure which it was)"),
    ("dark when lights side", SymptomError,
     "it is not said which lamp (put the lamp before its look: left rear tail dim)"),
    ("the lamp dark when lights side", SymptomError,
     "“the lamp” does not say which lamp (name it by its place and what it is: left rear tail)"),
    ("", SymptomError,
     "it is not said what was seen (write it like “left rear reversing dim, left rear tail faint when gear "
     "reverse”)"),
    ("banana dark", SymptomError,
     "“banana dark”: “banana” is no lamp, fuse or load of this vehicle (known: left rear stop, left rear tail, left "
     "rear indicator, left rear reversing, right rear stop, right rear tail, right rear indicator, right rear "
     "reversing, left number-plate lamp, right number-plate lamp, left headlamp main, left headlamp dip, …)"),
    ("F9 blows when lights side", UnknownNameError, "no fuse “f9” (did you mean “F8” or “F7” or “F6”?)"),
    ("left tail blows when lights side", SymptomError,
     "“left tail” is a lamp; fuses blow (say dark, faint, dim, normal, bright, lit, flashing, slow, fast or steady)"),
    ("F3 dim when lights side", SymptomError, "F3 is a fuse (say “F3 blows” or “F3 holds”)"),
    ("x" * 2001, SymptomError, "“" + "x" * 59 + "…” is too long (at most 2000 characters)"),
])
def test_error_texts(text: str, kind: type[TracerError], message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_symptom(text, PICKUP)

    assert message == str(caught.value)
    assert type(caught.value) is kind


def test_an_exact_name_wins_over_longer_ones() -> None:
    harness = read_harness("""
harness: two fog lamps
system: 12 V negative earth
controls: {fog switch: [off, on]}
parts:
  battery: {kind: battery}
  fog lamp: {kind: lamp, lamp: 21 W, earth at: E1}
  spare fog lamp: {kind: lamp, lamp: 21 W, earth at: E1}
  fog switch: {kind: switch, control: fog switch, contacts: {on: [in-out]}}
earths: {E1: rear}
wires:
  - {run: battery.- > E1, size: 10 mm², length: 1 m}
  - {run: battery.+ > fog switch.in, size: 1 mm², length: 1 m}
  - {run: fog switch.out > fog lamp.feed, size: 1 mm², length: 1 m}
  - {run: fog lamp.feed > spare fog lamp.feed, size: 1 mm², length: 1 m}
""")

    assert seen_in("fog lamp dim when on", harness) == [("fog lamp", "dim")]
    assert seen_in("spare fog dim when on", harness) == [("spare fog lamp", "dim")]


def _harness_files() -> list[Path]:
    return [p for p in sorted(MODELS.glob("*.yaml")) if "\nharness:" in "\n" + p.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", _harness_files(), ids=lambda p: p.stem)
def test_every_lamp_fuse_and_position_goes_by_its_own_name(path: Path) -> None:
    harness = load_harness(path)

    for lamp in harness.lamps():
        assert [(lamp.lamp, "dim")] == seen_in(f"{lamp.lamp} dim when everything off", harness)
    for control in harness.controls.values():
        for position in control.positions:
            assert position == parse_state(f"{control.name} {position}", harness)[control.name]


# --- laws -------------------------------------------------------------------------------------------

lamp_names = st.sampled_from([f.lamp for f in PICKUP.lamps()])
word_sets = st.frozensets(st.sampled_from(WORDS), min_size=1)
flashes: st.SearchStrategy[Flash | None] = st.sampled_from([None, "steady", "flashing", "slow", "fast"])
looks = st.builds(LampSeen, lamp_names, word_sets, flashes, st.booleans(), st.booleans(), st.booleans())
fuse_looks = st.builds(FuseSeen, st.sampled_from([f"F{i}" for i in range(1, 9)]), st.booleans(),
                       st.sampled_from(get_args(FuseTime)), st.booleans())
lenses = st.builds(lambda look, names: LensSeen(tuple(replace(look, lamp=n) for n in names)), looks,
                   st.lists(lamp_names, min_size=2, max_size=3, unique=True))
states = st.builds(
    PICKUP.state,
    st.fixed_dictionaries({c.name: st.sampled_from(c.positions) for c in PICKUP.controls.values()}), st.booleans(),
)
things = st.lists(looks | fuse_looks | lenses, max_size=5).map(tuple)
symptoms = st.builds(Symptom, states, things, st.booleans(), st.text())


@given(symptoms)
def test_data_round_trip(symptom: Symptom) -> None:
    data = symptom_as_data(symptom)

    assert symptom == symptom_from_data(json.loads(json.dumps(data)), PICKUP)


@given(symptoms.filter(lambda s: s.text.isprintable()))
def test_data_round_trip_through_yaml(symptom: Symptom) -> None:
    text = yaml.safe_dump(symptom_as_data(symptom), allow_unicode=True, sort_keys=False)

    assert symptom == symptom_from_data(yaml.safe_load(text), PICKUP)


@given(st.lists(st.builds(LampSeen, lamp_names, word_sets), min_size=1, max_size=4, unique_by=lambda s: s.lamp),
       states, st.booleans())
def test_what_a_symptom_says_is_understood_as_it(seen: list[LampSeen], state: Any, others: bool) -> None:
    # Of what should be dark there "normal" says that it is; "bright" and "lit" are left to say otherwise.
    on = healthy_states(PICKUP).on(state)
    seen = [s for s in seen if s.words != {"normal"} or s.lamp in on] or [LampSeen("left rear tail", LIT)]
    positions = [f"{c} {p}" for c, p in state.positions] + ["engine running"] * state.engine_running
    text = ", ".join([s.says() for s in seen] + ["everything else normal"] * others) + " when " + ", ".join(positions)

    assert Symptom(state, tuple(seen), others, text) == parse_symptom(text, PICKUP)


phrases = st.lists(
    st.sampled_from(sorted(word_set(
        "left right rear front lamp lamps stop tail and or , ; / not all both every other everything else nothing "
        "dim dark faint lit normal flashing fast steady on off the when with while brake pressed gear reverse "
        "ignition lights side engine running indicator F3 blows fuse r l lh rev 1 very full beam head main no"))
    ), max_size=16,
).map(" ".join)


@settings(max_examples=examples(40, 300))
@given(st.text(max_size=80) | phrases)
def test_any_text_is_understood_or_told_in_one_line(text: str) -> None:
    for whole in (text, f"{text} when brake pressed", f"left tail dim when {text}"):
        try:
            symptom = parse_symptom(whole, PICKUP)
        except TracerError as error:
            assert "\n" not in str(error)
            assert isinstance(error, SymptomError | UnknownNameError)
        else:
            assert symptom.others_normal or symptom.seen
            assert symptom == symptom_from_data(symptom_as_data(symptom), PICKUP)


def test_error_data_of_a_lamp_that_is_gone() -> None:
    data = symptom_as_data(parse_symptom("left rear tail dim when lights side", PICKUP))
    data["seen"][0]["lamp"] = "left rear fog"

    with pytest.raises(UnknownNameError, match="no lamp “left rear fog”"):
        symptom_from_data(data, PICKUP)


def test_controls_the_harness_has_gained_stand_as_assumed() -> None:
    data = symptom_as_data(parse_symptom("left rear tail dim when ignition off, lights side", PICKUP))
    del data["state"]["ignition"]

    assert symptom_from_data(data, PICKUP).state["ignition"] == "on"


@pytest.mark.parametrize("change", [
    {"seen": None}, {"seen": [3]}, {"seen": [{"lamp": "left rear tail"}]}, {"text": 3}, {"state": []},
    {"seen": [{"lamp": "left rear tail", "words": ["red"]}]}, {"seen": [{"fuse": "F3", "blown": "yes"}]},
    {"seen": [{"lamp": "left rear tail", "words": ["dim"], "flash": "odd"}]}, {"state": {"ignition": True}},
    {"seen": [{"lamp": "left rear tail", "words": [["dim"]]}]}, {"engine running": "no"},
    {"everything else normal": 1}, {"state": {"ignition": "half"}}, {"seen": [{"fuse": "F9", "blown": True}]},
])
def test_error_data_of_another_form(change: Mapping[str, Any]) -> None:
    data = symptom_as_data(parse_symptom("left rear tail dim when lights side", PICKUP)) | dict(change)

    with pytest.raises((SymptomError, UnknownNameError)):
        symptom_from_data(data, PICKUP)


def test_words_of_an_unsure_look_are_all_words() -> None:
    symptom = parse_symptom("left rear tail unsure when lights side", PICKUP)

    assert symptom.seen == (LampSeen("left rear tail", ALL_WORDS),)
