"""What a step is, as safety sees it: the vehicle, how it stands, what is touched, and what is live meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, cached_property
from typing import Final, Literal

from msgspec import Struct

from tracer.faults import Fault
from tracer.harness.devices import Filament, FlasherContact, LedLaw
from tracer.harness.lamp_purposes import lamp_purposes, words_of
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.harness.vehicle_kinds import CRANKING_WORDS
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test
from tracer.safety.feeds import feeds_of
from tracer.safety.hazards import TRACE_HAZARDS, of_fault

What = Literal["test", "repair", "proof", "look", "trace"]


class Now(Struct, frozen=True):
    """How things stand before a step.

    Attributes:
        state: How the vehicle is set; None where nobody knows.
        battery_off: Whether the battery's earthed lead is off.
        said: Names of the rules whose caution was shown in this job.
    """

    state: VehicleState | None = None
    battery_off: bool = False
    said: frozenset[str] = frozenset()


UNKNOWN: Final = Now()  # nobody knows how things stand


class Facts(Struct, frozen=True, dict=True):
    """One step: a test, a repair of `faults`, a proof check, a look that a chart or a simulation suggests, or tracing
    by hand. `state` is what the vehicle is set to; None where nothing is live."""

    harness: Harness
    what: What
    now: Now = UNKNOWN
    test: Test | None = None
    faults: tuple[Fault, ...] = ()
    state: VehicleState | None = None
    short: bool = False  # a feed without a fuse may lie on the body

    # --- the vehicle

    @property
    def kinds(self) -> frozenset[str]:
        return frozenset(self.harness.vehicle)

    def is_a(self, *kinds: str) -> bool:
        return bool(self.kinds & {*kinds})

    @property
    def stands(self) -> bool:
        """Whether it stands on a stand rather than on chocked wheels."""
        return self.kinds == {"motorcycle"}

    # --- the state

    @property
    def running(self) -> bool:
        return self.state is not None and self.state.engine_running

    @cached_property
    def driving(self) -> tuple[tuple[str, str], ...]:
        """Controls in a position in which the engine drives the vehicle."""
        return driving(self.harness, self.state) if self.state is not None else ()

    @cached_property
    def rolling(self) -> tuple[tuple[str, str], ...]:
        """Controls in a position in which the vehicle can roll."""
        if self.state is None:
            return ()
        return tuple((n, self.state[n]) for n, c in self.harness.controls.items() if self.state[n] in (c.rolls or ()))

    @cached_property
    def released(self) -> bool:
        """Whether the step itself lets the vehicle roll: it did not stand so, or nobody would take it to."""
        before = self.now.state
        return any(
            position != self.harness.controls[name].assumed or (before is not None and before[name] != position)
            for name, position in self.rolling
        )

    @cached_property
    def cranking(self) -> bool:
        return self.state is not None and cranks(self.harness, self.state)

    @cached_property
    def held(self) -> tuple[str, ...]:
        """Controls that somebody or a prop has to hold."""
        if self.state is None:
            return ()
        return tuple(n for n, c in self.harness.controls.items() if c.needs_holding(self.state[n]))

    @property
    def ignition_on(self) -> bool:
        """Whether the ignition stands on with the engine stopped."""
        if self.state is None or self.running:
            return False
        return any("ignition" in words_of(n) and p == "on" for n, p in self.state.positions)

    # --- what is done

    @property
    def done(self) -> tuple[Intervention, ...]:
        return self.test.done if self.test is not None else ()

    @cached_property
    def hazards(self) -> frozenset[str]:
        """Names of the hazards of what is done."""
        found: set[str] = set()
        if self.test is not None:
            found |= {*self.test.hazards}
            if self.reads_dead or self.opens_fed:
                found.add("battery lead off")
        for f in self.faults:
            found |= {*of_fault(f.kind)}
        if self.what == "trace":
            found |= {*TRACE_HAZARDS}
        return frozenset(found)

    @property
    def reads_dead(self) -> bool:
        """Whether the battery is off while a test is read."""
        test = self.test
        if test is None:
            return False
        off = test.battery_off(self.harness) or any(i.row.disconnects for i in test.done)
        return off or (self.short and (test.dead or bool(test.in_hand)))

    @property
    def live(self) -> bool:
        """Whether circuits are live while a test is read."""
        return self.test is not None and is_live(self.test)

    @property
    def opens_fed(self) -> bool:
        return self.test is not None and opens_fed(self.test, self.harness)

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Terminals and things that hands, probes or tools come to."""
        return tuple(dict.fromkeys(self._nodes()))

    def _nodes(self) -> Iterator[str]:
        bodies = {*self.harness.bodies()}
        if self.test is not None:
            yield from (n for n in self.test.touched if n not in bodies)
            for i in self.done:
                yield from (n for n in (i.target, i.other) if n)
        for f in self.faults:
            yield from (n for n in (f.node, *(f.across or ())) if n and n not in bodies)

    @cached_property
    def place_words(self) -> frozenset[str]:
        """The words of the names and places of what is touched."""
        bulbs = {f.bulb: f.a for f in self.harness.lamps()}
        words: set[str] = set()
        for n in self.nodes:
            at = bulbs.get(n, n)
            words |= words_of(self.harness.place_of(at)[0]) | words_of(node_of(at).owner)
        return frozenset(words)

    @cached_property
    def lamp_purposes(self) -> frozenset[str]:
        """What the lamps are for that are taken in the hand."""
        known, bulbs = lamp_purposes(self.harness), set(self.nodes)
        own = [f for f in self.harness.lamps() if f.bulb in bulbs or f.a in bulbs or f.lamp in bulbs]
        return frozenset(p for f in own for p in known[f.lamp])

    @property
    def splices(self) -> tuple[str, ...]:
        """Splices that a probe goes to."""
        test = self.test
        if test is None or not test.row.probes:
            return ()
        return tuple(n for n in test.touched if n in self.harness.splices and n != test.parted)

    @property
    def electronics(self) -> bool:
        """Whether a probe or a lead goes to LEDs or electronics."""
        ends = [n for n in self.nodes if n]
        return any(is_electronic(self.harness, n) for n in ends)


def driving(harness: Harness, state: VehicleState) -> tuple[tuple[str, str], ...]:
    """Controls of a state in a position in which the engine drives the vehicle."""
    return tuple((n, state[n]) for n, c in harness.controls.items() if state[n] in (c.drives or ()))


def cranks(harness: Harness, state: VehicleState) -> bool:
    """Whether the starter turns in a state: by the name of a position, or of a control that is moved."""
    return any(_turns(n, p, harness.controls[n].positions[0]) for n, p in state.positions)


@cache
def _turns(control: str, position: str, first: str) -> bool:
    return bool(words_of(position) & CRANKING_WORDS or (words_of(control) & CRANKING_WORDS and position != first))


def is_live(test: Test) -> bool:
    """Whether circuits are live while a test is read."""
    return not test.dead and not any(i.row.disconnects for i in test.done)


def opens_fed(test: Test, harness: Harness) -> bool:
    """Whether a live test needs the battery off beforehand: bare ends or a bare joint are made that are live even
    with everything switched off."""
    if not is_live(test):
        return False
    bare = [n for n in test.touched if test.row.probes and n in harness.splices]
    bare += [n for i in test.done for n in i.row.bare(harness, i.target)]
    return bool(feeds_of(harness).live_at_rest.intersection(bare)) if bare else False


def is_electronic(harness: Harness, node: str) -> bool:
    """Whether a terminal belongs to LEDs, an electronic flasher unit, or what its name calls a control unit."""
    owner = node_of(node).owner
    if owner in harness.parts:
        return _electronic_part(harness, owner)
    # Of a splice, an earth or a way: what a wire leads to from there.
    return any(_electronic_part(harness, node_of(n).owner) for n in harness.far_ends(node))


def _electronic_part(harness: Harness, name: str) -> bool:
    part = harness.parts.get(name)
    if part is None:
        return False
    words = words_of(name)
    named = bool(words & {"ecu", "module", "electronic"}) or {"control", "unit"} <= words
    return named or any(
        (isinstance(d, Filament) and isinstance(d.law, LedLaw))
        or (isinstance(d, FlasherContact) and d.working == "electronic") for d in part.devices
    )


