"""What an instrument that is connected changes in the circuit, and between which points it can be."""

from __future__ import annotations

from tracer.circuit.model import OPEN_OHM, AddedBranch, Change, Circuit, TestLamp
from tracer.errors import ReadingError
from tracer.harness.devices import Filament, FilamentLaw, FuseLink, LedLaw
from tracer.harness.lamp_feeds import earthed_at, fed_by
from tracer.harness.model import Harness
from tracer.harness.node import node_of, terminal_at
from tracer.standards.lamps import TEST_V

METER_OHM = 10e6  # input of a common multimeter on volts (electrician training pages)
# An LED and 680 Ω: 15 mA at 12 V (testers take 5 to 20 mA; common practice, no source). It lights through a
# contact that could not carry a lamp.
LED_TESTER = LedLaw(threshold_v=1.8, ohm=680.0, soft_v=0.045, v_normal=12.0)
TEST_LAMP_W = 5.0


def voltmeter(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(added=(AddedBranch(plus, minus, METER_OHM),))


def ohmmeter(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(disconnected=True, ohmmeter=(plus, minus))


def lamp_of_tester(volts: float) -> FilamentLaw:
    """A lamp of the vehicle's own volts in the holder of the test lamp: of 12 V it glows at best on 6 V, where a full
    feed would look like a bad one, and burns out on 24 V."""
    v = TEST_V[volts]
    return FilamentLaw(i0=TEST_LAMP_W / v, v0=v, watts=TEST_LAMP_W, v_normal=volts)


def test_lamp(circuit: Circuit, plus: str, minus: str) -> Change:
    return Change(lamps=(TestLamp(plus, minus, lamp_of_tester(circuit.harness.system_v)),))


def led_tester(circuit: Circuit, plus: str, minus: str) -> Change:
    """Held so that it can light: against the body, which may be the plus side."""
    ends = (minus, plus) if circuit.harness.positive_earth else (plus, minus)
    return Change(lamps=(TestLamp(*ends, LED_TESTER),))


def right_lamp(harness: Harness, plus: str) -> Filament | None:
    """The filament that a terminal feeds through its holder."""
    part = harness.parts.get(node_of(plus).owner)
    return next(iter(fed_by(part, plus)), None) if part else None


def known_good(circuit: Circuit, plus: str, minus: str) -> Change:
    """A lamp of the right watts; an LED the way round that it sits in its holder."""
    right = right_lamp(circuit.harness, plus)
    if right is None:
        return Change()
    turned = isinstance(right.law, LedLaw) and circuit.harness.positive_earth
    return Change(lamps=(TestLamp(*((minus, plus) if turned else (plus, minus)), right.law),))


def no_lamp_there(harness: Harness, plus: str, minus: str) -> tuple[str, str] | None:
    if right_lamp(harness, plus) is not None:
        return None
    return f"no lamp hangs on {plus}", "name the lamp: “known-good lamp at left rear stop when …”"


def lamp_ends(harness: Harness, lamp: str) -> tuple[str, str]:
    """The terminals that feed and earth a lamp."""
    part, own = next((p, f) for p in harness.parts.values() for f in p.lamps if f.lamp == lamp)
    fed = [t for t in (terminal_at(part.name, x) for x in part.terminals) if own in fed_by(part, t)]
    earth = earthed_at(part, own)
    if not fed or not earth:
        raise ReadingError(f"no terminal of {part.name} {'earths' if fed else 'feeds'} {lamp}",
                           "name the two points where a lamp is to be held: “known-good lamp A to B when …”")
    return fed[0], earth


def lamp_for_fuse(circuit: Circuit, plus: str, minus: str) -> Change:
    """The fuse is out, and the test lamp in its clips."""
    fuse = circuit.harness.parts[node_of(plus).owner]
    links = tuple((d.name, OPEN_OHM) for d in fuse.devices if isinstance(d, FuseLink))
    return test_lamp(circuit, plus, minus) | Change(set_ohm=links)


def fuse_ends(harness: Harness, fuse: str) -> tuple[str, str]:
    return terminal_at(fuse, "in"), terminal_at(fuse, "out")


def no_fuse_there(harness: Harness, plus: str, minus: str) -> tuple[str, str] | None:
    fuse = harness.parts.get(node_of(plus).owner)
    if fuse and any(isinstance(d, FuseLink) for d in fuse.devices) and node_of(minus).owner == fuse.name != minus:
        return None
    return f"no fuse sits between {plus} and {minus}", "name the fuse: “test lamp in place of F1 when …”"
