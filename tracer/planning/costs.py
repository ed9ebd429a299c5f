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
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.safety.facts import opens_fed

# To read what to do, wipe the hands, and write down or key in what was seen; part of each of the next.
_NOTE_MIN = 0.5
LOOK_MIN: Final = 0.15 + _NOTE_MIN
ALSO_MIN: Final = 0.1  # each further lamp that is seen from the same place: one word more to write down
OBSERVE_MIN: Final = {"look": LOOK_MIN} | {kind: minutes + _NOTE_MIN for kind, minutes in {
    "volts": 0.45, "drop": 0.75, "ohms": 0.75, "test lamp": 0.45, "LED tester": 0.45, "current": 0.55,
    "inspect": 0.35, "wiggle": 0.75}.items()}
_PROBED: Final = ("volts", "drop", "test lamp", "LED tester")  # at a splice not without taking its tape off
ALONG_MIN: Final = 1.0  # a metre of loom, clip by clip
TAPE_MIN: Final = 1.5  # off a splice, and on again
IN_HAND_MIN: Final = 0.45 + _NOTE_MIN  # a look at a lamp or fuse that is out, and the ohmmeter across it
PICK_UP_MIN: Final = 0.3  # another instrument into the hand
BATTERY_MIN: Final = 2.0  # off, and the same to put it back on
ACTION_MIN: Final = {
    "unplug": 0.8, "pull fuse": 0.4, "new fuse": 1.0, "take out lamp": 0.5, "earth lead": 1.0, "feed lead": 1.2,
    "swap lamps": 2.5, "part splice": 0.0, "take wires off": 1.5,
    "disconnect battery": 2.0,
}
PART_MIN: Final = 8.0  # a splice cut out, and a new one crimped, insulated and taped, once for all its wires
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
    instrument: str = "eyes"
    battery_off: bool = False
    propped: frozenset[str] = frozenset()


def minutes_of(test: Test, standing: Standing, harness: Harness) -> float:
    """Minutes of one test from where the job stands."""
    total = IN_HAND_MIN if test.in_hand else OBSERVE_MIN[test.kind]
    off = _battery_off(test, standing, harness)
    if opens_fed(test, harness):  # off to lay it bare, on to read, off to close it again
        total += BATTERY_MIN * (2 if standing.battery_off else 3)
    elif off != standing.battery_off:
        total += BATTERY_MIN
    if test.kind == "inspect":
        total += _looking_minutes(test, harness)
    elif not off and not test.in_hand:
        total += _state_minutes(standing, test.state, harness)
    if test.instrument not in ("eyes", standing.instrument):
        total += PICK_UP_MIN
    for place, access in _places(test, harness).items():
        if place not in standing.opened:
            total += access
    total += sum(ACTION_MIN[i.action] for i in test.done)
    if test.kind in _PROBED:
        total += TAPE_MIN * sum(n in harness.splices for n in (test.plus, test.minus))
    return total


def after_test(test: Test, standing: Standing, harness: Harness) -> Standing:
    """Where the job stands when the test is done (what was unplugged is put back)."""
    controls = harness.controls
    held = {c for c, p in test.state.positions if controls[c].needs_holding(p)}
    return Standing(
        standing.state if test.dead else test.state,
        standing.opened | frozenset(_places(test, harness)),
        standing.instrument if test.instrument == "eyes" else test.instrument,
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
        nodes += _nodes_of(i, harness)
    found: dict[str, float] = {}
    for node in nodes:
        place, minutes = harness.place_of(node)
        found[place] = max(minutes, found.get(place, 0.0))
    for i in test.done:
        if i.action == "part splice":
            found[f"splice {i.target} (parted)"] = PART_MIN
    return found


def _nodes_of(i: Intervention, harness: Harness) -> list[str]:
    if i.action in ("take out lamp", "swap lamps"):
        bulbs = {i.target, i.other} - {""}
        return [f.a for f in harness.lamps() if f.bulb in bulbs]
    if i.action == "unplug":
        return [f"{i.target}.1"]
    if i.action in ("pull fuse", "new fuse"):
        return [f"{i.target}.in"]
    if i.action == "part splice":
        return [i.target]
    if i.action == "take wires off":
        return [f"{i.target}.{harness.parts[i.target].terminals[0]}"]
    return [n for n in (i.target, i.other) if n]
