"""A plan that is begun with one more look, and what a proposal warns of before its test."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from msgspec.structs import replace

from tests.noting import noting
from tests.small_vehicle import ON, tool
from tracer.observation.words.probes import parse_test
from tracer.observation.words.symptoms import parse_symptom
from tracer.planning import next_step
from tracer.planning.costs import Standing, minutes_of
from tracer.planning.next_step import Proposal, propose
from tracer.planning.outcomes import Candidate
from tracer.safety.rules import Caution

LOOK = parse_test(f"look plate when {ON}", tool().harness)


@pytest.fixture(scope="module")
def step() -> tuple[Any, Any, Proposal]:
    """The plan and the place that a step was chosen by, and the step."""
    seen: list[Any] = []
    with pytest.MonkeyPatch.context() as patch:
        own = next_step._test
        patch.setattr(next_step, "_test", lambda where, plan: noting(seen, (plan, where), own(where, plan)))
        harness = tool().harness
        said = parse_symptom(f"tail dark when {ON}", harness)
        found = propose(tool().diagnose([said], pairs=False), Standing(harness.state({})))
    return *seen[0], found


@pytest.mark.parametrize("planned_so", [True, False])
def test_it_takes_the_minutes_of_the_look_longer_and_goes_on_as_it_was_planned(
    planned_so: bool, step: tuple[Any, Any, Proposal]
) -> None:
    """The look comes first, with its share of each outcome; whether the undescribed cause was planned with or not."""
    plan, where, _ = step
    count = len(plan.prior) - 1
    look = Candidate(LOOK, ("dark", "lit"), np.array([[0.25] * count, [0.75] * count]), again=True)
    assert plan.weights.sum() == pytest.approx(1.0) and len(plan.weights) == count == len(plan.label) - 1
    assert plan.weights / plan.weights[0] == pytest.approx(plan.prior[:-1] / plan.prior[0]) and plan.label[-1] == -1
    if not planned_so:
        without = next_step._without_last(plan.problem.checks)
        problem = replace(plan.problem, prior=plan.problem.prior[:-1], label=plan.problem.label[:-1], checks=without)
        plan = replace(plan, problem=problem)
    check = next_step._check(look, where.diagnosis, plan.weights)
    begun = plan.begun_with(check, look, where)
    minutes = minutes_of(LOOK, where.standing, where.harness)
    first, *rest = begun.choice.options
    assert (first.kind, first.index) == ("check", len(plan.checks)) == (begun.choice.kind, begun.choice.index)
    assert first.cost == pytest.approx(minutes) and first.outcomes == pytest.approx((0.25, 0.75))
    assert begun.choice.minutes == first.minutes == pytest.approx(plan.choice.minutes + minutes)
    assert tuple(rest) == tuple(plan.choice.options)
    assert begun.checks == [*plan.checks, look] and begun.problem.checks[:-1] == plan.problem.checks
    assert np.asarray(begun.problem.checks[-1].likelihood).shape == (2, len(begun.problem.prior))


def test_the_best_three_are_told_in_words_with_minutes_that_pass(step: tuple[Any, Any, Proposal]) -> None:
    """The price of a wrong part is no time at the vehicle; a plan may also be to trace it by hand."""
    plan, where, found = step
    kinds = [("check", 0), ("repair", 0), ("give up", 0), ("check", 1)]
    options = [replace(plan.choice.options[0], kind=k, index=n, minutes=20.0 + n, cost=15.0) for k, n in kinds]
    told = replace(plan, choice=replace(plan.choice, options=tuple(options))).options(where.harness)
    assert len(found.options) <= len(told) == 3
    assert told[0].cost == 15.0 and told[0].says == plan.checks[0].test.says(where.harness)
    finish = plan.problem.repairs[0].finish
    assert finish < 0 and told[1].cost == 15.0 + finish and told[1].says == f"repair: {plan.repairs[0]}"
    assert told[2].cost == 15.0 and told[2].says == "trace it by hand"


@pytest.mark.parametrize(("kind", "test", "own"), [
    ("test", LOOK, False), ("repair", None, False), ("repair", LOOK, True), ("give up", None, False),
])
def test_of_a_repair_that_is_confirmed_first_the_test_warns_of_its_own_alone(
    kind: str, test: Any, own: bool
) -> None:
    both, of_test = (tuple(cast("Caution", SimpleNamespace(head=x)) for x in heads) for heads in ("ab", "a"))
    step = Proposal(kind, "", test, None, 1.0, 1.0, 1.0, "", cautions=both, test_cautions=of_test)
    assert step.cautions_of_test == (of_test if own else both)
