"""Minutes: what a test or repair costs, given where the job stands.

All figures are working estimates (common practice, no source); harness files override access and
control times per item.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

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


@dataclass(frozen=True)
class Standing:
    """Where the job stands: what has been opened, what is in the hand, how the vehicle is set."""

    state: VehicleState
    opened: frozenset[str] = frozenset()
    instrument: str = EYES
    battery_off: bool = False
    propped: frozenset[str] = frozenset()


def minutes_of(test: Test, standing: Standing, harness: Harness) -> float:
    """Minutes of one test from where the job stands."""
    total = IN_HAND_MIN if test.in_hand else test.row.minutes + _NOTE_MIN
    off = _battery_off(test, standing, harness)
    if opens_fed(test, harness):  # off to lay it bare, on to read, off to close it again
        total += BATTERY_MIN * (2 if standing.battery_off else 3)
    elif off != standing.battery_off:
        total += BATTERY_MIN
    if test.at_rest:
        total += _looking_minutes(test, harness)
    elif not off and not test.in_hand:
        total += _state_minutes(standing, test.state, harness)
    if test.instrument not in (EYES, standing.instrument):
        total += PICK_UP_MIN
    for place, access in _places(test, harness).items():
        if place not in standing.opened:
            total += access
    total += sum(i.row.minutes for i in test.done)
    if "probe at live contacts" in test.row.hazards:  # at a splice not without taking its tape off
        total += TAPE_MIN * sum(n in harness.splices for n in (test.plus, test.minus))
    return total


def after_test(test: Test, standing: Standing, harness: Harness) -> Standing:
    """Where the job stands when the test is done (what was unplugged is put back)."""
    controls = harness.controls
    held = {c for c, p in test.state.positions if controls[c].needs_holding(p)}
    return Standing(
        standing.state if test.dead else test.state,
        standing.opened | frozenset(_places(test, harness)),
        standing.instrument if test.instrument == EYES else test.instrument,
        _battery_off(test, standing, harness) or opens_fed(test, harness),
        standing.propped | frozenset(held),
    )


def _battery_off(test: Test, standing: Standing, harness: Harness) -> bool:
    """Whether the battery is off during a test. Neither battery nor controls matter to a lamp in the hand, nor to who
    only looks."""
    left = standing.battery_off and (bool(test.in_hand) or test.at_rest)
    return left or test.battery_off(harness)


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
    nodes = [n for n in (test.plus, test.minus) if n and n not in harness.bodies()]
    for i in test.done:
        nodes += i.row.nodes(harness, i.target, i.other)
    found: dict[str, float] = {}
    for node in nodes:
        place, minutes = harness.place_of(node)
        found[place] = max(minutes, found.get(place, 0.0))
    for i in test.done:
        found |= i.row.opens(i.target)
    return found
