"""What was told and speaks against the likeliest suspect is looked at again; what that is, and once only."""

from __future__ import annotations

from msgspec.structs import replace

from tests.library import MODELS, reading_on, tool_on
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.observation.evidence import Evidence, Reading, Symptom, Test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning.live_hypotheses import Living
from tracer.planning.look_again import complaints_to_look_at, complaints_unseen, said_against, still_stands

HARNESS = load_harness(MODELS / "rear_end.yaml")
PRESSED = HARNESS.state({"brake pedal": "pressed"})
EARTH = "left rear stop dark, left rear tail dark when lamp switch side, brake pedal pressed"


def own() -> Investigator:
    return tool_on(MODELS / "rear_end.yaml")


def reading(text: str, value: str) -> Reading:
    return reading_on(HARNESS, text, value)


def against(*items: Evidence) -> Diagnosis:
    """The fuse of the left side lamps has nothing to do with a stop lamp: whatever was told of that speaks against
    it. Only this suspect is left, so that it is the likeliest."""
    tail = parse_symptom("left rear tail dark when lamp switch side", HARNESS)
    diagnosis = own().diagnose([tail, *items], pairs=False)
    row = next(i for i, h in enumerate(diagnosis.hypotheses) if h.faults[0].name == "fuse blown: F1")
    one = diagnosis.hypotheses[row]
    return replace(diagnosis, suspects=(Suspect(one.repair, 1.0, (row,), one),))


SLIP = parse_symptom("left rear stop dark when brake pedal pressed", HARNESS)
RIGHT = parse_symptom("left rear stop normal when brake pedal pressed", HARNESS)
LOOK = Test("look", PRESSED, lamp="left rear stop")


def looks(diagnosis: Diagnosis, made: tuple[Test, ...] = ()) -> list[Test]:
    living = Living(diagnosis, [s.rows[0] for s in diagnosis.suspects])
    out = list(complaints_to_look_at(diagnosis, living, made))
    assert all(c.again for c in out)
    return [c.test for c in out]


def test_what_alone_speaks_against_the_likeliest_is_looked_at_again_once() -> None:
    assert looks(against(SLIP)) == [LOOK]
    assert looks(against(RIGHT)) == []  # it speaks for nobody and against nobody
    assert looks(against(SLIP), (LOOK,)) == []
    assert looks(against(replace(SLIP, asked=True))) == []  # whoever was sent to look has seen it
    assert looks(against(SLIP, replace(RIGHT, asked=True))) == []
    assert looks(against(SLIP, RIGHT)) == [LOOK]  # told once more, unasked
    elsewhere = replace(parse_symptom("left rear stop dark when brake pedal released", HARNESS), asked=True)
    assert looks(against(SLIP, elsewhere)) == [LOOK]
    seen = reading("look left rear stop when brake pedal pressed", "normal")
    assert looks(against(SLIP, seen)) == []
    other = reading("look right rear stop when brake pedal pressed", "normal")
    assert looks(against(SLIP, other)) == [LOOK]


def test_what_was_seen_otherwise_since_speaks_against_nobody() -> None:
    assert still_stands(against()) and still_stands(against(RIGHT))
    assert not still_stands(against(SLIP))
    assert still_stands(against(SLIP, replace(RIGHT, asked=True)))
    assert not still_stands(against(SLIP, replace(SLIP, asked=True)))
    volts = reading("volts left rear.stop when brake pedal pressed", "0 V")
    assert not still_stands(against(volts))  # a meter is not told
    assert not still_stands(replace(against(), suspects=()))


def test_what_stands_against_it_is_said_where_it_is_little() -> None:
    assert said_against(against()) == ""
    said = said_against(against(SLIP))
    assert "alone speaks against “new fuse F1”" in said and "left rear stop dark" in said
    others = [parse_symptom(f"{lamp} dark when {when}", HARNESS) for lamp, when in (
        ("right rear stop", "brake pedal pressed"), ("left rear indicator", "indicator stalk left"))]
    assert said_against(against(SLIP, *others)) == ""  # three things are more than a slip
    assert said_against(against(SLIP, others[0])).count(";") >= 1


def test_the_lamp_complained_of_is_seen_before_something_is_opened_for_it() -> None:
    """If what is suspected shows at it, and nobody was sent there yet."""
    diagnosis = own().diagnose([parse_symptom(EARTH, HARNESS)], pairs=False)
    living = Living(diagnosis, [diagnosis.suspects[0].rows[0]])
    best, state = diagnosis.suspects[0].best, parse_symptom(EARTH, HARNESS).state
    stop, tail = (Test("look", state, lamp=f"left rear {x}") for x in ("stop", "tail"))
    assert list(complaints_unseen(diagnosis, best, living, ())) == [stop]
    assert list(complaints_unseen(diagnosis, best, living, (stop,))) == [tail]
    assert list(complaints_unseen(diagnosis, best, living, (stop, tail))) == []
    other = next(h for h in diagnosis.hypotheses if h.faults[0].name == "fuse blown: F2")
    assert list(complaints_unseen(diagnosis, other, living, ())) == []
    asked = replace(diagnosis, evidence=tuple(replace(e, asked=True) for e in diagnosis.evidence
                                              if isinstance(e, Symptom)))
    assert list(complaints_unseen(asked, best, living, ())) == []
    looked = Reading(stop, parse_value("dark", "look", "left rear stop"))
    assert list(complaints_unseen(replace(diagnosis, evidence=(*diagnosis.evidence, looked)), best, living, ())) == []
