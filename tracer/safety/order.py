"""The order of one step: make it safe, do what is done, set the vehicle, read, put back. One table of words for all
faces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from msgspec import Struct

from tracer.harness.model import Harness, VehicleState
from tracer.observation.actions import Intervention
from tracer.safety.battery import lead_off, lead_on, still_off
from tracer.safety.facts import Facts
from tracer.units import capital

Phase = Literal["safe", "do", "set", "read", "back"]
PHASES: Final[tuple[Phase, ...]] = ("safe", "do", "set", "read", "back")
OFF: Final = "Everything off, ignition off."
AGAIN: Final = "Insulate each bare end."


class Step(Struct, frozen=True):
    """One line of what to do, and to which part of the step it belongs."""

    phase: Phase
    text: str


def steps_of_test(facts: Facts, reading: Sequence[str] = (), setting: str = "") -> tuple[Step, ...]:
    """The ordered lines of a test.

    Args:
        facts: The test, and how things stand before it.
        reading: The lines of the reading itself; usual: in the test's own words.
        setting: The line that sets the vehicle; usual: its state in words.
    """
    return tuple(_test_steps(facts, reading, setting))


def _test_steps(f: Facts, reading: Sequence[str], setting: str) -> Iterator[Step]:
    test, harness = f.test, f.harness
    assert test is not None
    before_live = f.opens_fed
    if f.live and f.now.battery_off and not before_live:
        yield Step("safe", lead_on(harness))
    if f.reads_dead or before_live:
        if f.now.battery_off:
            yield Step("safe", still_off(harness))
        else:
            yield Step("safe", f"{OFF} {lead_off(harness)}")
    elif test.done or test.at_rest or f.splices:
        cool = any("hot lamp" in i.row.hazards for i in test.done)
        yield Step("safe", OFF + (" Let the lamp cool." if cool else ""))
    elif f.now.state is not None and f.now.state.engine_running and not test.state.engine_running:
        yield Step("safe", "Stop the engine.")
    for i in test.done:
        if not i.row.disconnects:
            yield Step("do", doing(i, harness))
    for splice in f.splices:
        yield Step("do", f"Take the tape off splice {splice}; keep the bare joint clear of metal.")
    if before_live:
        yield Step("do", lead_on(harness))
    if test.sets_state(harness):
        yield Step("set", setting or set_words(harness, test.state))
    yield from (Step("read", line) for line in reading or (capital(test.reading_words(harness)) + ".",))
    yield from _put_back(f)


def _put_back(f: Facts) -> Iterator[Step]:
    assert f.test is not None
    if f.held:
        yield Step("back", f"Prop out of the {' and the '.join(f.held)}.")
    if f.driving or f.released:
        names = " and ".join(n for n, _ in f.driving or f.rolling)
        yield Step("back", "Out of gear again." if f.driving else f"{capital(names)} put on again.")
    words = [w for i in reversed(f.done) if (w := putting_back(i))]
    words += [f"tape splice {s} again" for s in f.splices]
    if not words:
        return
    if f.opens_fed:
        first = f"{OFF} {lead_off(f.harness)} Then "
    else:
        first = "" if f.reads_dead or f.test.in_hand or f.test.at_rest else "Everything off; then "
    text = "; ".join(words)
    yield Step("back", f"{first}{text if first else capital(text)}.")


def steps_of_repair(facts: Facts, repair: str) -> tuple[Step, ...]:
    """The ordered lines of a repair."""
    off = "battery lead off" in facts.hazards
    if not off:
        cool = " Let the lamp cool." if "hot lamp" in facts.hazards else ""
        safe = OFF + cool
    elif facts.now.battery_off:
        safe = still_off(facts.harness)
    else:
        safe = f"{OFF} {lead_off(facts.harness)}"
    steps = [Step("safe", safe), Step("do", capital(repair) + ".")]
    if facts.short:
        steps.append(Step("back", "Ohmmeter from the feed to the body once more: near 0 Ω the battery stays off."))
    if off or facts.now.battery_off:
        steps.append(Step("back", lead_on(facts.harness)))
    return tuple(steps)


def steps_of_look(facts: Facts, setting: str = "") -> tuple[Step, ...]:
    """The ordered lines of a look in a state that a proof, a chart or a simulation asks for."""
    assert facts.state is not None
    steps = [Step("safe", lead_on(facts.harness))] if facts.now.battery_off else []
    steps.append(Step("set", setting or set_words(facts.harness, facts.state)))
    if facts.held:
        steps.append(Step("back", f"Prop out of the {' and the '.join(facts.held)}."))
    return tuple(steps)


def set_words(harness: Harness, state: VehicleState) -> str:
    return f"Set {harness.say_state(state)}."


def doing(i: Intervention, harness: Harness) -> str:
    """One thing done on purpose, as an order; bare ends are insulated with it."""
    said = i.says(harness).removesuffix(" with everything off first").replace(" (to be remade afterwards)", "")
    return capital(said) + "." + (f" {AGAIN}" if "bare ends" in i.row.hazards else "")


def putting_back(i: Intervention) -> str:
    """How one thing done on purpose is undone; "" where it stays."""
    return i.row.undone.format(target=i.target, other=i.other)
