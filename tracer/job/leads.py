"""A voltage typed without its sign, or read with the leads exchanged."""

from __future__ import annotations

from tracer.harness.model import Harness
from tracer.observation.evidence import Test, Value

# A meter that shows less than nothing against the body of a negative-earth vehicle has its leads exchanged, unless it
# is the small voltage of an earth strap while the engine cranks or charges. (Common practice, no source.)
LEADS_TURNED_V = 1.0


def as_connected(test: Test, value: Value, typed: str, harness: Harness) -> tuple[Value, str]:
    """The value with the sign that it must have, and what to say of it; "" where it stands as typed."""
    against_body = test.row.of_supply and test.row.one_point and (
        test.minus in {*harness.bodies(), harness.reference})
    if harness.positive_earth and against_body and value.low > 0 and "+" not in typed:
        # Nothing lies above the body there: the minus was not typed, or the meter was connected the other way
        # round (common practice, no source).
        return value.turned(), (
            "taken as below the body, as everything is on a positive-earth vehicle (else write it with a +)")
    if against_body and value.high < -LEADS_TURNED_V and not harness.positive_earth:
        return value.turned(), (
            "taken as above the body: the leads were the other way round, for nothing lies below it here")
    return value, ""
