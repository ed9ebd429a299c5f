"""Every pattern is healthy in all its options, mirrored and in both colour codes; the lamps do what they are for.

Which lamps light is worked out here from the answers alone (common practice, no source), not from the harness.
"""

from __future__ import annotations

import re

import pytest

from tests.library import MODELS
from tests.long import in_turn, rest_long
from tests.patterns.vehicles import answers_met, at_random, chosen
from tracer.checking.rules import check
from tracer.circuit.model import NO_CHANGE
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.observation.words.states import parse_state
from tracer.patterns.answers import Answers
from tracer.patterns.file_text import harness_from_answers
from tracer.patterns.likeness import alike, same_colour
from tracer.patterns.pattern_files import TRADE, trade
from tracer.patterns.pattern_files import _part as read_part
from tracer.patterns.questions import QUESTIONS, holds
from tracer.practice.simulated_vehicle import PracticeVehicle
from tracer.standards import COLOUR_CODES, colour_words

COUNT = 30  # chosen when a test asks for them: not by every worker that only reads this file
ALL_MODELS = sorted(p.stem for p in MODELS.glob("*.yaml"))


def made(**said: str) -> Answers:
    ids = {q.id.replace(" ", "_").replace("-", "_"): q.id for q in QUESTIONS}
    answers = Answers()
    for question, answer in said.items():
        answers = answers.with_answer(ids[question], answer)
    return answers


def harness_of(answers: Answers) -> Harness:
    return read_harness(harness_from_answers(answers), "made.yaml")


@pytest.mark.parametrize("number", rest_long(range(COUNT), 6))
def test_a_vehicle_of_any_answers_is_healthy_at_once(number: int) -> None:
    answers = chosen(COUNT)[number]
    text = harness_from_answers(answers)
    assert [str(f) for f in check(read_harness(text, "made.yaml"))] == [], answers.said
    assert max(map(len, text.splitlines())) <= 140


def test_these_vehicles_have_every_answer_to_every_question() -> None:
    missing = {(q.id, c) for q in QUESTIONS for c in q.choices} - set(answers_met(chosen(COUNT)))
    assert not missing


def test_every_line_of_the_patterns_has_its_colours_in_both_codes() -> None:
    lines = {line for p in trade().parts for line in (*p.takes.values(), *p.gives.values())}
    lines |= {line for p in trade().parts for r in p.lamps for line in (*r.on, *([r.to] if r.to else []))}
    named = {line.replace("{side}", side) for line in lines for side in ("left", "right")}
    assert {line for line in named if line not in trade().colours and line not in trade().supplies} == {"saloon"}
    for line, letters in trade().colours.items():
        for code, written in zip(("BS AU 7", "IEC 60757"), letters, strict=True):
            assert colour_words(written, code), (line, code)


def test_every_file_says_where_it_comes_from() -> None:
    for path in TRADE.glob("*.yaml"):
        plain = re.sub(r"\s*\n# ", " ", path.read_text(encoding="utf-8")).casefold()
        assert "common practice, no source" in plain, path.name


@pytest.mark.parametrize("code", list(COLOUR_CODES))
def test_every_wire_has_a_colour_of_the_code(code: str) -> None:
    harness = harness_of(made(vehicle="car", colours=code, socket="13 ways", coupled="caravan", rear_fog_lamps="one",
                              reversing_lamps="two", hazards="yes", horn="relay", headlamp_switching="relays"))
    assert [w.run for w in harness.wires if not w.colour and "saloon" not in str(w.run)] == []
    assert [str(f) for f in check(harness)] == []


# --- what the lamps do --------------------------------------------------------------------------

CAR = made(vehicle="car", headlamps="four", reversing_lamps="one", rear_fog_lamps="one", plate_lamps="two",
           repeaters="one a side", road="left", built="1985 or later", high_stop_lamp="yes",
           interior_lamp="own switch")
SIDES = ("left", "right")
TAILS = {f"{s} {x}" for s in SIDES for x in ("front side", "rear tail", "number-plate lamp")} | {
    "panel lamp 1", "panel lamp 2"}


@pytest.mark.parametrize(("state", "lit"), [
    ("", set()),
    ("lighting switch side", TAILS),
    ("lighting switch head", TAILS | {"left headlamp dip", "right headlamp dip"}),
    ("lighting switch head, dip switch main", TAILS | {"main beam tell-tale"} | {
        f"{s} {x}" for s in SIDES for x in ("headlamp main", "main beam lamp")}),
    ("brake pedal pressed", {"left rear stop", "right rear stop", "high stop lamp"}),
    ("gear reverse", {"left rear reversing"}),
    ("indicator stalk left", {"left rear indicator", "left front indicator", "left repeater", "indicator tell-tale"}),
    ("ignition off, hazard switch on", {f"{s} {x}" for s in SIDES for x in (
        "rear indicator", "front indicator", "repeater")} | {"indicator tell-tale"}),
    ("lighting switch head, fog switch on", TAILS | {
        "left headlamp dip", "right headlamp dip", "right rear fog", "rear fog tell-tale"}),
    ("interior lamp switch on", {"interior lamp"}),
    ("ignition off, brake pedal pressed", set()),
])
def test_the_lamps_of_a_car_light_as_they_are_meant_to(state: str, lit: set[str]) -> None:
    harness = harness_of(CAR)
    looks = PracticeVehicle(harness, NO_CHANGE).looks(parse_state(state, harness) if state else harness.state({}))
    assert {lamp for lamp, look in looks.items() if look.startswith("normal")} == lit
    assert {lamp for lamp, look in looks.items() if not look.startswith(("normal", "dark"))} == set()


def test_stop_lamps_that_flash_and_the_two_tell_tales_between() -> None:
    """The stalk takes the stop feed from the lamp that it flashes; the other one goes on as a stop lamp."""
    harness = harness_of(made(vehicle="car", built="before 1955", indicators="stop lamps", tell_tales="two"))
    looks = PracticeVehicle(harness, NO_CHANGE).looks(
        parse_state("brake pedal pressed, indicator stalk left", harness))
    assert looks["left rear stop"] == "normal, flashing" and looks["right rear stop"] == "normal"
    assert looks["left front indicator"] == "normal, flashing" and looks["right front indicator"] == "dark"


def test_a_flasher_unit_in_the_return_flashes_its_side_alone() -> None:
    harness = harness_of(made(vehicle="car", flasher_in="return", hazards="no"))
    looks = PracticeVehicle(harness, NO_CHANGE).looks(parse_state("indicator stalk right", harness))
    assert {k for k, v in looks.items() if v == "normal, flashing"} == {
        "right front indicator", "right rear indicator", "right indicator tell-tale"}
    unit = next(w for w in harness.wires if "flasher unit.49a" in w.run)
    assert unit.run[-1] in harness.earths


def test_a_plug_cuts_the_own_fog_lamp_out_and_both_polarities_are_wired() -> None:
    for earth in ("negative", "positive"):
        harness = harness_of(
            made(vehicle="car", built="1985 or later", earth=earth, rear_fog_lamps="two", socket="7 ways",
                 coupled="trailer", fog_cut_out="yes"))
        vehicle = PracticeVehicle(harness, NO_CHANGE)
        on = "lighting switch head, fog switch on"
        out = vehicle.looks(parse_state(f"{on}, trailer plug out", harness))
        plugged = vehicle.looks(parse_state(on, harness))
        assert out["left rear fog"] == out["right rear fog"] == plugged["trailer right fog"] == "normal"
        assert plugged["left rear fog"] == plugged["right rear fog"] == "dark"


# --- what was told, and what was not ------------------------------------------------------------


def test_what_nobody_said_is_not_traced_and_what_was_said_is() -> None:
    assert {w.traced for w in harness_of(Answers()).wires} == {False}
    all_said = Answers({q.id: a for q in QUESTIONS if q.choices and (a := Answers().known()[q.id]) in q.choices
                        and holds(q.when, Answers().known())})
    assert all(w.traced for w in harness_of(all_said).wires)
    fuses = harness_of(Answers({k: v for k, v in all_said.said.items() if k != "fuses"}))
    assert {"ignition switch.30", "F1.in"} <= {w.run[-1] for w in fuses.wires if not w.traced}
    some = harness_of(Answers({k: v for k, v in all_said.said.items() if k not in ("horn", "rear earths")}))
    untraced = {w.run[0] for w in some.wires if not w.traced} | {w.run[-1] for w in some.wires if not w.traced}
    assert {"horn.feed", "horn button.31", "left rear.earth"} <= untraced
    assert "lighting switch.56" not in untraced


@pytest.mark.parametrize("seed", range(12))
def test_where_every_question_was_answered_what_they_ask_about_is_traced(seed: int) -> None:
    """But a motorcycle's headlamp, which all of them have and nobody is asked about, and what lies behind a plug: the
    standard says what each way feeds, not how the trailer is joined and earthed."""
    harness = harness_of(at_random(seed))
    of_the_headlamp = {"lighting switch.30", "lighting switch.56", "lighting switch.57", "dip switch.56a",
                       "dip switch.56b", "dip switch.56"}
    left = [w for w in harness.wires if not w.traced and not of_the_headlamp & {w.run[0], w.run[-1]}]
    assert {w.loom for w in left} <= {"trailer"}
    fed = {w.run[-1] for w in harness.wires if w.traced}
    assert "ignition switch.30" in fed or "trailer" in harness.vehicle or "caravan" in harness.vehicle


def test_holders_bolted_on_are_not_traced_where_nobody_said_so() -> None:
    harness = harness_of(made(vehicle="car", rear_earths="holder"))
    assert harness.parts["left rear"].settings["earth at"] and not harness.parts["left rear"].traced


# --- alike, mirrored, recoloured ----------------------------------------------------------------


@pytest.mark.parametrize("name", in_turn(ALL_MODELS, 0))
def test_models_taken_alike_are_healthy_untraced_and_lit_the_other_way_round(name: str) -> None:
    text = (MODELS / f"{name}.yaml").read_text(encoding="utf-8")
    before = load_harness(MODELS / f"{name}.yaml")
    other = next(c for c in COLOUR_CODES if c != before.colour_code)
    after = read_harness(alike(text, name, other, mirrored=True), "alike.yaml")
    assert [str(f) for f in check(after)] == []
    assert {w.traced for w in after.wires} == {False} and after.colour_code == other
    assert len(after.wires) == len(before.wires)
    turned = {f.lamp.replace("left", "\0").replace("right", "left").replace("\0", "right") for f in before.lamps()}
    assert {f.lamp for f in after.lamps()} == turned


def test_mirrored_twice_is_what_it_was() -> None:
    text = (MODELS / "saloon_1970s.yaml").read_text(encoding="utf-8")
    once = alike(text, "m", mirrored=True)
    twice = read_harness(alike(once, "m", mirrored=True))
    assert [(w.run, w.colour) for w in twice.wires] == [(w.run, w.colour) for w in read_harness(text).wires]
    left = next(w for w in read_harness(once).wires if w.run[-1] == "left rear.indicator")
    assert left.colour == "GR", "green with red is the left indicators’ colour on either side of the road"


def test_colours_between_the_codes_keep_their_words() -> None:
    assert same_colour("GR", "BS AU 7", "IEC 60757") == "GNRD"
    assert same_colour("LGN", "BS AU 7", "IEC 60757") == "GNBN"  # light green is not in IEC 60757: the nearest
    assert same_colour("GYVT", "IEC 60757", "BS AU 7") == "SP"


def test_a_kind_of_part_that_no_size_is_known_for_is_told() -> None:
    """Silently it would take no current, and have the thinnest wires."""
    row = {"name": "{side} arm", "kind": "trafficator", "at": ["pillar", "door pillar", "2 min"]}
    with pytest.raises(TracerError, match="arm: nobody says what a “trafficator” takes") as caught:
        read_part(row, "rear")
    assert "sizing.py" in str(caught.value)
    assert read_part(row | {"kind": "lamp"}, "rear").kind == "lamp"
