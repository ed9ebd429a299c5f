"""What may never be proposed, planned with, or put into a proof, and what is refused when somebody types it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Test
from tracer.safety.facts import cranks, driving, is_electronic, is_live
from tracer.safety.feeds import Shorts, feeds_of


def state_hazard(state: VehicleState, harness: Harness) -> str:
    """Why a vehicle state is never asked for; "" if it may be."""
    if cranks(harness, state):
        return "the starter would turn"
    if state.engine_running and driving(harness, state):
        return "in gear with the engine running"
    if state.engine_running and any(
        state[n] in (c.rolls or ()) and state[n] != c.assumed for n, c in harness.controls.items()
    ):
        return "the handbrake released with the engine running"
    return ""


def safe_state(state: VehicleState, harness: Harness) -> VehicleState:
    """The same state without what is never asked for: the engine stopped in gear, the ignition on in place of the
    starter."""
    if cranks(harness, state):
        moved = tuple(
            (n, harness.controls[n].assumed if cranks(harness, VehicleState(((n, p),))) else p)
            for n, p in state.positions
        )
        state = VehicleState(moved, state.engine_running)
    return replace(state, engine_running=False) if state_hazard(state, harness) else state


def safe_states(states: Iterable[VehicleState], harness: Harness) -> list[VehicleState]:
    """States that may be asked for, each made safe where it is not, each once."""
    return list(dict.fromkeys(safe_state(s, harness) for s in states))


def permitted_states(states: Iterable[VehicleState], harness: Harness) -> list[VehicleState]:
    """Those of the states that may be asked for."""
    return [s for s in states if not state_hazard(s, harness)]


def forbidden(test: Test, harness: Harness, shorts: Shorts | None = None) -> str:
    """Why a test is never proposed; "" if it may be. `shorts`: what is known of feeds that lie on the body."""
    return next(_reasons(test, harness, shorts), "")


def _reasons(test: Test, harness: Harness, shorts: Shorts | None) -> Iterator[str]:
    feeds, off = feeds_of(harness), any(i.row.disconnects for i in test.done)
    if not test.at_rest and not test.in_hand and (reason := state_hazard(test.state, harness)):
        yield reason
    if test.row.battery_off and not test.in_hand:
        if feeds.across_battery(test.plus, test.minus):
            yield "an ohmmeter across the battery"
        if test.state.engine_running:
            yield "an ohmmeter with the engine running"
    if off and not test.at_rest and test.state.engine_running:
        yield "the battery disconnected with the engine running"
    if test.row.moves and {test.plus, test.minus} & feeds.battery_bits():
        yield "battery leads moved with a load on"
    filament = "current through electronics" in test.row.hazards
    if filament and (is_electronic(harness, test.plus) or is_electronic(harness, test.minus)):
        yield "a filament test lamp on LEDs or electronics"
    if shorts is not None and is_live(test) and shorts.likely(test.state):
        yield "a feed without a fuse may lie on the body"


def refused(test: Test, harness: Harness) -> tuple[str, str] | None:
    """Why a test that somebody typed is not taken, and what to do instead: it would have destroyed the meter, and
    says nothing. None if it is taken."""
    if not test.row.battery_off or test.in_hand:
        return None
    if feeds_of(harness).across_battery(test.plus, test.minus):
        return ("an ohmmeter across the battery is destroyed, and shows nothing of the wiring",
                "measure volts there, or put the probe on the lead that was taken off the post")
    if test.state.engine_running:
        return ("an ohmmeter needs the battery off, and the battery stays on while the engine runs",
                "stop the engine, take the battery off, and measure again")
    return None


def without_unsafe_splits(diagnosis: Diagnosis) -> Diagnosis:
    """The diagnosis without the readings that split two suspects and may never be asked for."""
    harness, shorts = diagnosis.predictor.harness, Shorts(diagnosis)
    if not any(forbidden(x.test, harness, shorts) for s in diagnosis.suspects for x in s.splits):
        return diagnosis
    kept = tuple(
        replace(s, splits=tuple(x for x in s.splits if not forbidden(x.test, harness, shorts)))
        for s in diagnosis.suspects
    )
    return replace(diagnosis, suspects=kept)
