"""Minutes: what a test or repair costs, given where the job stands.

All figures are working estimates (common practice, no source); harness files override access and
control times per item.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from msgspec import Struct

from tracer.faults import Fault
from tracer.harness.inspectable import length_m
from tracer.harness.model import Harness, VehicleState
from tracer.observation.evidence import Test
from tracer.observation.test_kinds import EYES, KINDS
from tracer.safety.facts import opens_fed

# To read what to do, wipe the hands, and write down or key in what was seen; part of each of the next.
_NOTE_MIN = 0.5
LOOK_MIN: Final = KINDS["look"].minutes + _NOTE_MIN
ALSO_MIN: Final = 0.1  # each further lamp that is seen from the same place: one word more to write down
ALONG_MIN: Final = 1.0  # a metre of loom, clip by clip
TAPE_MIN: Final = 1.5  # off a splice, and on again
IN_HAND_MIN: Final = 0.45 + _NOTE_MIN  # a look at a lamp or fuse that is out, and the ohmmeter across it
PICK_UP_MIN: Final = 0.3  # another instrument into the hand
BATTERY_MIN: Final = 2.0  # off, and the same to put it back on
HOLD_ALONE_MIN: Final = 1.5  # a sprung control held by a prop, set up alone
ENGINE_MIN: Final = 6.0  # start, exhaust, and the short run it does no good
PROVE_MIN: Final = 1.0  # looking at the lamps after a repair
GIVE_UP_MIN: Final = 150.0  # tracing it by hand when the harness file does not describe the fault
# A part renewed or taken apart that was sound: the minutes of the work count anyhow; this is on top, for
# the part, the way to fetch it, what is disturbed by taking sound things apart, and the owner's trust. An
# hour: so large that a test of a minute or two is worth its time down to a few per cent of doubt.
WRONG_PART_MIN: Final = 60.0
# The same where the repair only cleans or refits: nothing was bought, and the contacts are the better for it.
CLEANED_IN_VAIN_MIN: Final = 5.0


class Standing(Struct, frozen=True):
    """Where the job stands: what has been opened, what is in the hand, how the vehicle is set."""

    state: VehicleState
    opened: frozenset[str] = frozenset()
    instrument: str = EYES
    battery_off: bool = False
    propped: frozenset[str] = frozenset()


class TestPrice:
    """What one test costs, whatever has been done before: what does not depend on that is worked out once, since a
    plan asks in hundreds of places where the job may stand."""

    __test__ = False  # not a test class for pytest

    def __init__(self, test: Test, harness: Harness) -> None:
        self._test, self._harness = test, harness
        self._in_hand, self._at_rest = bool(test.in_hand), test.at_rest
        self._base = IN_HAND_MIN if self._in_hand else test.row.minutes + _NOTE_MIN
        self._dead, self._opens_fed = test.battery_off(harness), opens_fed(test, harness)
        self._looking = _looking_minutes(test, harness) if test.at_rest else 0.0
        self._places = _places(test, harness)
        self._done = sum(i.row.minutes for i in test.done)
        bare = "probe at live contacts" in test.row.hazards  # at a splice not without taking its tape off
        self._tape = TAPE_MIN * sum(n in harness.splices for n in test.touched) if bare else 0.0

    def minutes(self, standing: Standing) -> float:
        """Minutes of the test from where the job stands."""
        total, off = self._base, self._battery_off(standing)
        if self._opens_fed:  # off to lay it bare, on to read, off to close it again
            total += BATTERY_MIN * (2 if standing.battery_off else 3)
        elif off != standing.battery_off:
            total += BATTERY_MIN
        if self._at_rest:
            total += self._looking
        elif not off and not self._in_hand:
            total += _state_minutes(standing, self._test.state, self._harness)
        if self._test.instrument not in (EYES, standing.instrument):
            total += PICK_UP_MIN
        for place, access in self._places.items():
            if place not in standing.opened:
                total += access
        return total + self._done + self._tape

    def after(self, standing: Standing) -> Standing:
        """Where the job stands when the test is done (what was unplugged is put back)."""
        test, controls = self._test, self._harness.controls
        held = {c for c, p in test.state.positions if controls[c].needs_holding(p)}
        return Standing(
            standing.state if test.dead else test.state,
            standing.opened | frozenset(self._places),
            standing.instrument if test.instrument == EYES else test.instrument,
            self._battery_off(standing) or self._opens_fed,
            standing.propped | frozenset(held),
        )

    def _battery_off(self, standing: Standing) -> bool:
        """Whether the battery is off during the test. Neither battery nor controls matter to a lamp in the hand, nor
        to who only looks."""
        return (standing.battery_off and (self._in_hand or self._at_rest)) or self._dead


def minutes_of(test: Test, standing: Standing, harness: Harness) -> float:
    """Minutes of one test from where the job stands."""
    return TestPrice(test, harness).minutes(standing)


def after_test(test: Test, standing: Standing, harness: Harness) -> Standing:
    """Where the job stands when the test is done (what was unplugged is put back)."""
    return TestPrice(test, harness).after(standing)


def _looking_minutes(test: Test, harness: Harness) -> float:
    """What a look over a thing takes beside getting at it: along the whole wire, under the tape."""
    thing = test.thing(harness)
    return TAPE_MIN if thing.kind == "splice" else ALONG_MIN * length_m(harness, thing)


def in_vain_minutes(faults: Iterable[Fault]) -> float:
    """The price of carrying out the repairs of these faults when nothing was wrong there, beside their minutes."""
    renewed: dict[str, bool] = {}
    for f in faults:
        renewed[f.repair] = renewed.get(f.repair, False) or f.renews
    return sum(WRONG_PART_MIN if r else CLEANED_IN_VAIN_MIN for r in renewed.values())


def _state_minutes(standing: Standing, state: VehicleState, harness: Harness) -> float:
    total = 0.0
    for name in state.differing(standing.state):
        if name == "engine":
            total += ENGINE_MIN if state.engine_running else 0.1
            continue
        control = harness.controls[name]
        total += control.minutes
        held = control.needs_holding(state[name])
        if held and name not in standing.propped:
            total += HOLD_ALONE_MIN
    return total


def _places(test: Test, harness: Harness) -> dict[str, float]:
    """Places that the test opens, with their access minutes."""
    nodes = [n for n in test.touched if n not in harness.bodies()]
    for i in test.done:
        nodes += i.row.nodes(harness, i.target, i.other)
    found: dict[str, float] = {}
    for node in nodes:
        place, minutes = harness.place_of(node)
        found[place] = max(minutes, found.get(place, 0.0))
    for i in test.done:
        found |= i.row.opens(i.target)
    return found
