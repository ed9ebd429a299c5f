"""A repair after the test that confirms it: the battery is taken off once, and is on again in the end."""

from __future__ import annotations

from itertools import product
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.small_vehicle import ON, tool
from tracer.observation.words.probes import parse_test
from tracer.planning.costs import Standing
from tracer.planning.told import told_of_repair
from tracer.safety.advice import Now
from tracer.safety.battery import lead_off, lead_on, still_off

# Test → whether the battery is off when it is done, of one that was off before and of one that was on.
AFTER = {
    f"volts at tail.feed when {ON}": (False, False), f"look tail when {ON}": (False, False),
    "ohms tail.feed to body": (True, True), "inspect tail.feed to S1": (True, True),
    "inspect light switch": (True, False), "": (True, False),
}


@pytest.mark.parametrize(("words", "off", "short"), [*product(AFTER, (True, False), (True, False))])
def test_the_battery_is_taken_off_where_it_is_on_and_put_back_where_it_is_off(
    words: str, off: bool, short: bool
) -> None:
    """With a feed on the body, too, where anything is looked over with the battery off."""
    harness, shorts = tool().harness, cast("Any", SimpleNamespace(anywhere=short))
    state, test = harness.state({"ignition": "on", "lights": "on"}), parse_test(words, harness) if words else None
    taken = set()
    for fault in tool().faults:
        suspect: Any = SimpleNamespace(best=SimpleNamespace(defects=(fault,)), repair=fault.repair)
        told = told_of_repair(suspect, test, Standing(state, battery_off=off), Now(state, off), shorts, harness)
        first, *_, last = (step.text for step in told["repair_steps"])
        is_off = AFTER[words][0 if off else 1] or (short and words.startswith("inspect"))
        wants = "lead off" in " ".join(r.text for r in told_of_repair(
            suspect, None, Standing(state), Now(state), shorts, harness)["repair_steps"][:1])
        taken.add(wants)
        assert (lead_off(harness) in first) == (wants and not is_off)
        assert (first == still_off(harness)) == (wants and is_off)
        assert (last == lead_on(harness)) == (wants or is_off)
    assert taken == {True, False}
