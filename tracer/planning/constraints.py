"""What the person can do now: where they stand, what is at hand, whether somebody helps."""

from __future__ import annotations

from msgspec import Struct

from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.observation.test_kinds import EYES


class Limits(Struct, frozen=True):
    """What the person can do now."""

    at: str | None = None
    without: frozenset[str] = frozenset()
    only: frozenset[str] = frozenset()
    alone: bool = False
    engine_off: bool = False


def allowed(test: Test, harness: Harness, limits: Limits) -> bool:
    """Whether the test can be made from where the person stands, with what is at hand."""
    if limits.engine_off and test.state.engine_running:
        return False
    if test.instrument in limits.without:
        return False
    if limits.only and test.instrument not in limits.only and test.instrument != EYES:
        return False
    # A lamp or fuse in the hand has no switch, and a look needs no hand: who stands on the pedal sees the light on
    # the wall behind (common practice, no source).
    if limits.alone and not test.in_hand and not test.row.hands_free and (
        any(c.needs_holding(test.state[n]) for n, c in harness.controls.items())
    ):
        return False
    if limits.at is None:
        return True
    places = {harness.place_of(n)[0] for n in test.touched if n not in harness.bodies()}
    return bool(places) and all(limits.at.casefold() in p.casefold() for p in places)
