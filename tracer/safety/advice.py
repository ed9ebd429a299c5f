"""The one door for planning and the faces: cautions and ordered steps of a test, a repair, a proof or a look."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tracer.faults import Fault
from tracer.harness.model import Harness, VehicleState
from tracer.observation.evidence import Test
from tracer.safety.facts import UNKNOWN, Facts, Now
from tracer.safety.feeds import Shorts
from tracer.safety.order import Step, steps_of_look, steps_of_repair, steps_of_test
from tracer.safety.permitted import state_hazard
from tracer.safety.rules import Caution, cautions_of, rules_for


def of_test(test: Test, harness: Harness, now: Now = UNKNOWN, shorts: Shorts | None = None) -> Facts:
    """The facts of a test. With a feed on the body even what is done at rest is done with the battery off."""
    live = None if test.dead or test.in_hand else test.state
    return Facts(harness, "test", now, test, state=live, short=shorts is not None and shorts.anywhere)


def of_repair(
    faults: Sequence[Fault], harness: Harness, now: Now = UNKNOWN, shorts: Shorts | None = None
) -> Facts:
    return Facts(harness, "repair", now, faults=tuple(faults), short=shorts is not None and shorts.anywhere)


def of_look(state: VehicleState, harness: Harness, now: Now = UNKNOWN, proof: bool = False) -> Facts:
    return Facts(harness, "proof" if proof else "look", now, state=state)


def of_tracing(harness: Harness, now: Now = UNKNOWN, shorts: Shorts | None = None) -> Facts:
    return Facts(harness, "trace", now, short=shorts is not None and shorts.anywhere)


def steps_of(facts: Facts, repair: str = "", reading: Sequence[str] = (), setting: str = "") -> tuple[Step, ...]:
    """The ordered lines of any step but tracing by hand, which has none."""
    if facts.test is not None:
        return steps_of_test(facts, reading, setting)
    if facts.what == "repair":
        return steps_of_repair(facts, repair)
    return steps_of_look(facts, setting) if facts.state is not None else ()


def said_by(facts: Iterable[Facts]) -> frozenset[str]:
    """Names of the rules whose cautions these steps showed."""
    return frozenset(r.name for f in facts for r in rules_for(f))


def merged(*several: Sequence[Caution]) -> tuple[Caution, ...]:
    """The cautions of steps that are shown together, gravest first, each once."""
    order = ("danger", "caution", "note")
    found = dict.fromkeys(c for one in several for c in one)
    return tuple(sorted(found, key=lambda c: order.index(c.grade)))


def warning(state: VehicleState, harness: Harness) -> str:
    """What is said of a state that somebody saw or measured in and that is never asked for; "" otherwise."""
    return warned(state_hazard(state, harness))


def warned(reason: str) -> str:
    """A reason why something is never asked for, as the warning to whoever did it."""
    return f"dangerous as it was done ({reason}); it is kept as seen, and not asked for again" if reason else ""


__all__ = [
    "Caution", "Facts", "Now", "Step", "cautions_of", "merged", "of_look", "of_repair", "of_test", "of_tracing",
    "said_by", "steps_of", "warned", "warning",
]
