"""What is said of safety with a repair and with the test that confirms it first: one after the other."""

from __future__ import annotations

from typing import Any

from tracer.harness.model import Harness
from tracer.inference.diagnosis import Suspect
from tracer.observation.evidence import Test
from tracer.planning.costs import Standing, after_test
from tracer.safety.advice import Now, cautions_of, merged, of_repair, of_test, said_by, steps_of
from tracer.safety.feeds import Shorts


def told_of_repair(
    suspect: Suspect, confirm: Test | None, standing: Standing, now: Now, shorts: Shorts, harness: Harness
) -> dict[str, Any]:
    """Cautions and ordered steps of a repair, and of the test that confirms it first."""
    if confirm is None:
        facts = of_repair(suspect.best.defects, harness, now, shorts)
        return {"cautions": cautions_of(facts), "repair_steps": steps_of(facts, suspect.repair)}
    test = of_test(confirm, harness, now, shorts)
    later = after_test(confirm, standing, harness)
    then = Now(later.state, later.battery_off or test.reads_dead, now.said | said_by([test]))
    facts = of_repair(suspect.best.defects, harness, then, shorts)
    new = [c for c in cautions_of(facts) if not c.again or c.head not in {x.head for x in cautions_of(test)}]
    return {
        "cautions": merged(cautions_of(test), new), "test_cautions": cautions_of(test), "steps": steps_of(test),
        "repair_steps": steps_of(facts, suspect.repair),
    }
