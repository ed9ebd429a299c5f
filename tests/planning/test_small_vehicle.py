"""From the complaint to the repair on a vehicle of two lamps: whatever is broken, a few tests lead to it, and every
step on the way keeps what a plan promises."""

from __future__ import annotations

import re

import numpy as np
import pytest
from msgspec.structs import replace

from tests.small_vehicle import ON, complaint, read, tool, with_fault
from tracer.observation.evidence import Evidence, Test
from tracer.observation.words.probes import parse_test
from tracer.planning import next_step
from tracer.planning.costs import ALSO_MIN, Standing, after_test, minutes_of
from tracer.planning.cures import rows_to_plan_with
from tracer.planning.engine import Choice, Option, Problem
from tracer.planning.next_step import Proposal, propose
from tracer.safety.permitted import forbidden
from tracer.units import percent

BOTH = {"ignition": "on", "lights": "on"}


def promised(step: Proposal, standing: Standing, made: list[Test]) -> None:
    """What holds of any step."""
    harness = tool().harness
    assert step.bound <= step.minutes + 1e-6 and 0 < step.cost <= step.minutes + 1e-6
    assert step.options and step.options[0].cost == pytest.approx(step.cost)
    others = [o.minutes for o in step.options[1:]]  # the chosen one comes first
    assert others == sorted(others)
    assert sum(e.share for e in step.expectations) <= 1 + 1e-6
    if step.test is None:
        return
    assert not forbidden(step.test, harness) and step.test not in made
    if step.kind == "test":
        assert step.cost == pytest.approx(minutes_of(step.test, standing, harness) + ALSO_MIN * len(step.also))
    planned = step.planned
    assert planned is not None
    prior = np.asarray(planned.problem.prior)
    for check in planned.problem.checks:
        table = np.asarray(check.likelihood)
        assert table.sum(axis=0) == pytest.approx(1.0)
        average = table[:, :-1] @ (prior[:-1] / prior[:-1].sum())  # half of it, and half of anything
        assert table[:, -1] == pytest.approx(0.5 * average + 0.5 / len(table), abs=1e-3)


@pytest.mark.parametrize(("fault", "most"), {
    "filament open: tail": 2, "fuse blown: F1": 4, "switch never makes: light switch 15-58": 5, "earth open: E2": 4,
    "wire open: light switch.58 – S1": 5, "holder open: plate holder contact": 5,
}.items())
def test_a_few_tests_lead_to_what_is_broken(fault: str, most: int) -> None:
    """There are some 17 places where a lamp may be parted from the battery: to halve them takes five tests at most,
    and a lamp in the hand one."""
    own, vehicle = with_fault(fault)
    evidence: list[Evidence] = [complaint(vehicle)]
    standing, made = Standing(tool().harness.state(BOTH)), list[Test]()
    while True:
        diagnosis = tool().diagnose(evidence, pairs=False)
        step = propose(diagnosis, standing)
        promised(step, standing, made)
        if step.test is None:
            break
        made.append(step.test)
        evidence.append(read(step.test, vehicle))
        standing = after_test(step.test, standing, tool().harness)
        assert len(made) <= most
    assert (step.kind, step.says) == ("repair", own.repair)
    assert step.suspect is not None and step.sure > 0.5 and f"{percent(step.suspect.share)} sure" in step.why
    assert "; then " not in step.why, "no line leads elsewhere than the file says"
    also = re.search(r"with what is mended on the way \((.*?)\)", step.why)
    if also:  # it is likelier by what its repair mends besides, and that is named
        named = [s.share for s in diagnosis.suspects if s.repair in also[1].split("; ")]
        assert sum(named) > 0.5 * (step.sure - step.suspect.share) > 0 and step.says not in also[1]


def test_from_where_the_battery_is_off_a_live_test_costs_putting_it_on() -> None:
    _, vehicle = with_fault("fuse blown: F1")
    diagnosis = tool().diagnose([complaint(vehicle)], pairs=False)
    on = Standing(tool().harness.state(BOTH))
    first, then = (propose(diagnosis, where) for where in (on, replace(on, battery_off=True)))
    assert first.test is not None and then.test is not None and then.minutes > first.minutes
    assert minutes_of(first.test, replace(on, battery_off=True), tool().harness) > first.cost


@pytest.mark.parametrize("fault", ["filament open: tail", "fuse blown: F1", "earth open: E2"])
def test_planned_with_are_the_repairs_that_hold_99_in_a_hundred_and_no_more(fault: str) -> None:
    """Of each its likeliest severities, which carry the whole share of the repair."""
    diagnosis = tool().diagnose([complaint(with_fault(fault)[1])], pairs=False)
    rows, shares = rows_to_plan_with(diagnosis)
    described = float(np.asarray(diagnosis.share).sum())
    planned = [s for s in diagnosis.suspects if {*s.rows} & {*rows}]
    assert planned == list(diagnosis.suspects[:len(planned)]) and len(set(rows)) == len(rows) == len(shares)
    assert all(1 <= len({*s.rows} & {*rows}) <= 4 for s in planned)
    assert float(shares.sum()) == pytest.approx(sum(s.share for s in planned))
    held = [sum(s.share for s in planned[:n]) for n in (len(planned) - 1, len(planned))]
    assert held[0] <= 0.99 * described and (held[1] > 0.99 * described or len(planned) == 24)


def test_who_is_planned_with_does_not_hang_on_how_much_nobody_described() -> None:
    """99 in a hundred of what is described at all: half of everything, or nearly all of it."""
    whole = tool().diagnose([complaint(with_fault("filament open: tail")[1])], pairs=False)
    half = replace(whole, share=0.5 * whole.share, undescribed=0.5 + 0.5 * whole.undescribed, suspects=tuple(
        replace(s, share=0.5 * s.share) for s in whole.suspects))
    assert rows_to_plan_with(half)[0] == rows_to_plan_with(whole)[0]
    assert rows_to_plan_with(half)[1] == pytest.approx(0.5 * rows_to_plan_with(whole)[1])


@pytest.mark.parametrize(("fault", "measured"), [
    ("switch never makes: light switch 15-58", "drop"), ("earth open: E2", "drop"), ("filament open: tail", "ohms"),
    ("fuse blown: F1", ""),
])
def test_what_was_repaired_in_vain_is_measured_before_it_is_repaired_again(
    fault: str, measured: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the plan leads nowhere else: across the thing itself, or a lamp in the hand. Only of what nothing can be
    measured on is it said that the circuit is to be traced by hand; not before it was repaired at all."""
    def same_again(problem: Problem, *_: object, **__: object) -> Choice:
        likeliest = int(problem.label[int(np.argmax(problem.prior[:-1]))])
        return Choice("repair", likeliest, 20.0, 10.0, "settled", (Option("repair", likeliest, 20.0, 10.0, (1.0,)),))

    own, vehicle = with_fault(fault)
    told: list[Evidence] = [complaint(vehicle)]
    told += [read(parse_test(f"volts {at} when {ON}", tool().harness), vehicle) for at in ("F1.out", "S1")]
    found, standing = tool().diagnose(told, pairs=False), Standing(tool().harness.state(BOTH))
    monkeypatch.setattr(next_step, "choose", same_again)
    untried, again = propose(found, standing), propose(found, standing, tried={own.repair: len(told)})
    assert (untried.kind, untried.says) == ("repair", own.repair)
    if not measured:
        assert again.kind == "give up" and again.test is None
        return
    assert (again.kind, again.says) == ("repair", own.repair)
    assert again.test is not None and again.test.kind == measured
