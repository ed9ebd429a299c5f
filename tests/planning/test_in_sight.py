"""Looks at several lamps at once: which are seen from one place (common practice, no source), and what is expected of
them together (worked by hand)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.library import tool_on
from tracer.harness.file.text import load_harness
from tracer.inference.expected_results import expectations
from tracer.job.job import Job
from tracer.observation.evidence import LampSeen, Reading, Symptom
from tracer.observation.words.readings import parse_value
from tracer.planning.candidate_looks import LOOK_OUTCOMES
from tracer.planning.candidates import Candidates
from tracer.planning.costs import ALSO_MIN, LOOK_MIN, Standing
from tracer.planning.next_step import propose
from tracer.planning.viewpoints import OTHERWISE, standpoints, together

MODELS = Path(__file__).parents[2] / "harness_models"


@pytest.mark.parametrize(
    ("model", "lamp", "place"),
    [
        ("saloon_1970s", "left reversing lamp", "behind"),
        ("saloon_1970s", "left number-plate lamp", "behind"),
        ("saloon_1970s", "right headlamp dip", "in front"),
        ("saloon_1970s", "indicator tell-tale", "the wheel"),
        ("lorry_24v", "left repeater", "in front"),
        ("lorry_24v", "work lamp", "body bulkhead"),
        ("tow_7pin", "trailer left stop", "the trailer"),
        ("tow_7pin", "car left rear stop", "behind"),
        ("motorcycle_6v", "headlamp pilot", "in front"),
    ],
)
def test_from_where_a_lamp_is_seen(model: str, lamp: str, place: str) -> None:
    assert standpoints(load_harness(MODELS / f"{model}.yaml"))[lamp] == place


def test_two_lamps_together() -> None:
    """Two suspects, each certain but for a word in fifty: both dark against one dark. What both show is the product:
    0.98², 0.98 × 0.02; words that neither expects count with the likeliest."""
    dark, normal = [0.98, 0.005, 0.005, 0.01, 0.0], [0.01, 0.005, 0.005, 0.98, 0.0]
    left = np.array([dark, dark]).T  # both suspects expect it dark: it tells nothing, and is one outcome
    right = np.array([dark, normal]).T

    said, joint = together(["left", "right"], [left, right], LOOK_OUTCOMES)

    assert said == ("left dark, right dark", "left dark, right normal", OTHERWISE)
    assert joint.sum(axis=0) == pytest.approx([1.0, 1.0])
    assert joint[0] == pytest.approx([0.99, 0.01], abs=0.02)
    assert joint[1] == pytest.approx([0.01, 0.98], abs=0.02)

    _, both = together(["left", "right"], [right, right], LOOK_OUTCOMES)
    assert both[:, 0].max() == pytest.approx(0.99**2, abs=0.01)


def test_a_look_round_tells_as_much_as_its_lamps_and_costs_a_word_more_for_each() -> None:
    own = tool_on(MODELS / "rear_end.yaml")
    state = own.harness.state({"brake pedal": "pressed"})
    found = own.diagnose([Symptom(state, (LampSeen("left rear stop", frozenset({"dim"})),))])
    every = list(Candidates(found, [s.rows[0] for s in found.suspects[:12]]).all())
    rounds = [c for c in every if c.also]
    alone = {(c.test.state, c.test.lamp) for c in every if c.test.kind == "look" and not c.test.done and not c.also}

    assert rounds
    for c in rounds:
        assert c.likelihood.sum(axis=0) == pytest.approx(np.ones(c.likelihood.shape[1]))
        there = Standing(c.test.state)
        assert c.minutes(there, own.harness) == pytest.approx(LOOK_MIN + ALSO_MIN * len(c.also))
        assert {(c.test.state, lamp) for lamp in c.also} <= set(alone)
        assert all(standpoints(own.harness)[lamp] == "behind" for lamp in c.also)


def test_what_is_proposed_says_all_the_lamps_and_is_told_as_something_seen(tmp_path: Path) -> None:
    """The usual looks, typed as the program says it, are understood; then none of those lamps is asked for again.
    (Both stop lamps of a trailer hang on a joint with the car's, and on an earth with its other lamps.)"""
    job = Job.create(tmp_path / "look.job", MODELS / "tow_7pin.yaml")
    job.symptom("trailer left stop dark, trailer right stop dark when brake pedal pressed")
    step = propose(job.diagnosis, job.standing)
    assert step.test is not None and step.test.kind == "look" and step.also
    assert step.says.endswith(f"; from there also at: {', '.join(step.also)}")
    shown = expectations(job.diagnosis, step.test, also=step.also)[0].shows
    assert all(lamp in shown for lamp in (step.test.lamp, *step.also))

    usual = job.usual_looks(step.test.state, step.also)
    said = ", ".join(f"{lamp} {look}" for lamp, look in usual)
    state = ", ".join(f"{c} {p}" for c, p in step.test.state.positions)
    job.symptom(f"{said} when {state}")

    told = job.evidence[-1]
    assert isinstance(told, Symptom) and told.lamps_named() == set(step.also)
    after = propose(job.investigator.diagnose([
        *job.evidence, Reading(step.test, parse_value("normal", "look", step.test.lamp))]), job.standing)
    same = after.test is not None and replace(after.test, lamp=step.test.lamp) == step.test  # with no fuse pulled
    asked = {after.test.lamp, *after.also} if after.test and same else set()
    assert not asked & {step.test.lamp, *step.also}
