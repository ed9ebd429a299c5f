"""Readings and tests as they are said at the vehicle, and the tool's own printed words read back."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest

from tests.library import MODELS
from tests.made_up_arm import ARM, CAR
from tracer.errors import ReadingError
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.inspectable import things_in
from tracer.harness.model import Harness
from tracer.harness.part_kinds import KINDS
from tracer.job.job import Job
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test, inspection, wiggling
from tracer.observation.test_kinds import TestKind
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value

SALOON = load_harness(Path(MODELS) / "saloon_1970s.yaml")


@pytest.mark.parametrize(("text", "kind", "low", "high"), [
    ("0.2", "ohms", 0.2, 0.2), ("12.4", "volts", 12.4, 12.4), ("1.8", "current", 1.8, 1.8), ("0,2", "drop", 0.2, 0.2),
    ("3 to 5", "volts", 3.0, 5.0), ("-12.1", "volts", -12.1, -12.1),
])
def test_a_bare_number_is_in_the_unit_of_the_meter(text: str, kind: TestKind, low: float, high: float) -> None:
    value = parse_value(text, kind)

    assert (value.low, value.high) == (low, high)


@pytest.mark.parametrize(("text", "kind", "words"), [
    ("bright", "test lamp", {"normal", "bright"}), ("dim", "test lamp", {"dim"}), ("out", "test lamp", {"dark"}),
    ("lit", "test lamp", {"faint", "dim", "normal", "bright"}), ("won't light", "test lamp", {"dark"}),
    ("dull", "look", {"dim"}), ("dead", "look", {"dark"}), ("too bright", "look", {"bright"}),
    ("poor", "look", {"dim"}),
    ("comes on", "LED tester", {"faint", "dim", "normal", "bright"}), ("not lit", "LED tester", {"dark"}),
])
def test_looks_as_the_bench_speaks(text: str, kind: TestKind, words: set[str]) -> None:
    seen = parse_value(text, kind, "left rear stop").seen

    assert seen is not None and seen.words == words


@pytest.mark.parametrize("text", ["broken", "blown", "black", "burnt out", "filament broken", "it's gone"])
def test_a_broken_lamp_or_fuse_in_the_hand_is_open(text: str) -> None:
    value = parse_value(text, "ohms", in_hand=True)

    assert (value.low, value.high) == (math.inf, math.inf)


@pytest.mark.parametrize("text", ["good", "ok", "fine", "looks good", "not blown"])
def test_a_sound_lamp_or_fuse_in_the_hand_conducts(text: str) -> None:
    value = parse_value(text, "ohms", in_hand=True)

    assert value.low == 0.0 and 30.0 < value.high < math.inf


@pytest.mark.parametrize("text", ["good", "blown"])
def test_a_wire_between_two_probes_is_measured_in_ohms(text: str) -> None:
    with pytest.raises(ReadingError):
        parse_value(text, "ohms")


@pytest.mark.parametrize(("text", "node"), [
    ("volts at C2 pin 2, lamp side when brake pressed", "C2.2'"),
    ("volts at C2 pin 2 (switch side) when brake pressed", "C2.2"),
    ("volts at way 2 of C2, left rear side when brake pressed", "C2.2'"),
    ("volts at pin 2 of C2, feed side when brake pressed", "C2.2"),
    ("volts at C4.4 (front left wing side) when brake pressed", ""),
    ("volts at C2.2 when brake pressed", "C2.2"),
    ("volts at C2.2' when brake pressed", "C2.2'"),
    ("volts at way 2 of C2, far side when brake pressed", "C2.2'"),
])
def test_a_side_of_a_plug_is_said_by_where_it_leads(text: str, node: str) -> None:
    if not node:
        with pytest.raises(ReadingError):
            parse_test(text, SALOON)
        return
    assert parse_test(text, SALOON).plus == node


@pytest.mark.parametrize(("side", "half"), [("lamp", "C1.1'"), ("switch", "C1.1"), ("relay", "")])
def test_a_side_is_where_such_devices_lie_whatever_their_part_is(
    side: str, half: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An arm with its lamp is a lamp's side, and for all its coil no relay's."""
    monkeypatch.setitem(KINDS, "arm", ARM)
    text = CAR.replace("arm switch.L > left arm", "arm switch.L > C1.1 > left arm")
    car = read_harness(text.replace("earths:", "connectors: {C1: {ways: 2}}\nearths:"), "arms")
    typed = f"volts at C1 pin 1, {side} side when arm switch left"
    if half:
        assert parse_test(typed, car).plus == half
    else:
        with pytest.raises(ReadingError):
            parse_test(typed, car)


def test_which_side_of_a_plug_is_asked_with_both_to_choose_from() -> None:
    with pytest.raises(ReadingError, match="does not say which side") as caught:
        parse_test("volts at C2 pin 2 when brake pressed", SALOON)

    assert caught.value.choices == ("volts at C2.2 when brake pressed", "volts at C2.2' when brake pressed")
    assert [parse_test(c, SALOON).plus for c in caught.value.choices] == ["C2.2", "C2.2'"]


def test_leads_the_other_way_round_are_noticed(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", Path(MODELS) / "rear_end.yaml")
    job.symptom("left brake light dead")

    recorded = job.reading("volts at left rear.stop when brake pressed", "-11.9")

    assert "other way round" in recorded.remark
    assert [e.data["value"]["low"] for e in job.events() if e.kind == "reading"] == [11.9]


# --- the tool's own words

MODEL_FILES = [p for p in sorted(Path(MODELS).glob("*.yaml")) if "\nharness:" in "\n" + p.read_text(encoding="utf-8")]


def _tests(harness: Harness) -> list[Test]:
    """A few tests of every kind, with every kind of thing done beforehand, at points drawn with a fixed seed."""
    rng = random.Random(11)
    nodes = [f"{p.name}.{t}" for p in harness.parts.values() for t in p.terminals]
    nodes += [n for j in harness.joints for n in (j.a, j.b) if n not in harness.bodies()]
    nodes = [n for n in nodes if n != harness.reference]
    rest, body, lamps = harness.state({}), harness.reference, harness.lamps()
    state = harness.state({c.name: c.positions[-1] for c in list(harness.controls.values())[:2]})
    out: list[Test] = []
    for _ in range(4):
        a, b = rng.sample(nodes, 2)
        kinds: tuple[TestKind, ...] = ("volts", "test lamp", "LED tester")
        out += [Test(k, state, a, body) for k in kinds]
        out += [Test("drop", state, a, b), Test("ohms", rest, a, b), Test("ohms", state, a, b)]
    out += [Test("current", state, w.segments[0].a, w.segments[0].b) for w in rng.sample(harness.wires, 3)]
    things = list(things_in(harness))
    out += [inspection(harness, t) for t in rng.sample(things, 8)]
    out += [wiggling(harness, t, state, lamps[0].lamp) for t in rng.sample(things, 3)]
    done = [
        *(Intervention("unplug", c) for c in list(harness.connectors)[:1]),
        *(Intervention("part splice", s, harness.far_ends(s)[0]) for s in list(harness.splices)[:1]),
        *(Intervention("pull fuse", p.name) for p in harness.parts.values() if p.kind == "fuse"),
        Intervention("take out lamp", lamps[0].bulb), Intervention("earth lead", lamps[0].b),
        Intervention("feed lead", lamps[0].a, nodes[0]), Intervention("disconnect battery", "battery"),
    ]
    for i in done[:8]:
        out += [Test("look", state, lamp=lamps[-1].lamp, done=(i,)), Test("volts", state, nodes[1], body, done=(i,))]
    out += [Test("ohms", rest, f.a, f.b, done=(Intervention("take out lamp", f.bulb),)) for f in lamps[:2]]
    return out


@pytest.mark.parametrize("path", MODEL_FILES, ids=lambda p: p.stem)
def test_what_is_printed_of_a_test_can_be_typed_back(path: Path) -> None:
    harness = load_harness(path)
    for test in _tests(harness):
        words = test.says(harness)
        back = parse_test(words, harness)
        assert back == test or back.says(harness) == words, words


@pytest.mark.parametrize("name", ["rear_end", "trailer_7pin"])
def test_what_next_prints_can_be_typed_back(name: str, tmp_path: Path) -> None:
    job = Job.create(tmp_path / "job.yaml", Path(MODELS) / f"{name}.yaml")
    lamp = job.harness.lamps()[0].lamp
    job.symptom(f"{lamp} dark")
    proposal = job.next()

    assert proposal.test is not None
    back = parse_test(proposal.says, job.harness)
    assert back.says(job.harness) == proposal.test.says(job.harness)


@pytest.mark.parametrize(("text", "low", "high"), [
    ("-60 to -0.4 V", -60.0, -0.4), ("between -5 and -1 V", -5.0, -1.0), ("from 1 V to 2 V", 1.0, 2.0),
    ("0.2 to 0.4 V", 0.2, 0.4), ("11.8 and 12 V", 11.8, 12.0),
])
def test_a_range_may_lie_below_zero_and_its_words_are_no_units(text: str, low: float, high: float) -> None:
    value = parse_value(text, "volts")
    assert (value.low, value.high) == (low, high)
