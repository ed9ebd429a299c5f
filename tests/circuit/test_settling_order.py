"""In which order fuses and relays act when something is switched on: each case worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.circuits import circuit_of
from tests.library import MODELS
from tracer.circuit.change_table import tabulate
from tracer.circuit.fuse_screening import blown
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, AddedBranch, Change, Circuit, Setup
from tracer.circuit.settled import Settled
from tracer.faults import find_fault, list_faults
from tracer.harness.devices import Device, FuseLink, Joint, RelayContact, Resistor, Source, SwitchContact
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.observation.forward_model import Predictor

ON = Setup(VehicleState((("light", "on"),)))
FEED: list[Device] = [
    Source("battery", "B", "body", 12.6, 0.02), SwitchContact("s", "B", "F", "light", frozenset({"on"}), 0.01),
    FuseLink("fuse", "F", "f", 10.0, 0.01), Resistor("feed", "f", "P", 0.08),
    Resistor("coil", "P", "body", 85.0, "coil"),
]
CHANGE_OVER: list[Device] = [
    RelayContact("rest", "P", "out", "coil", False, 7.0, 3.0, 0.01), Resistor("marker", "out", "body", 24.0),
    RelayContact("work", "P", "lit", "coil", True, 7.0, 3.0, 0.01), Resistor("spot", "lit", "body", 3.0),
]


def change_over() -> Circuit:
    return circuit_of([*FEED, *CHANGE_OVER], {"light": ["off", "on"]})


def short(ohm: float, node: str = "out") -> Change:
    return Change(added=(AddedBranch(node, "body", ohm),))


def settled(circuit: Circuit, *changes: Change) -> Settled:
    return Settler(circuit).solve(ON, tabulate(circuit, list(changes)))


@pytest.mark.parametrize("beside", [(), (NO_CHANGE, short(0.2), Change(set_ohm=(("spot", 6.0),)))])
def test_a_short_behind_the_break_contact_keeps_the_relay_from_pulling_in(beside: tuple[Change, ...]) -> None:
    """0.03 Ω at the marker's feed. When the switch closes the relay is at rest: 12.6 V over 0.02 + 0.01 + 0.01 +
    0.08 + 0.01 + 0.03 Ω are 79 A, of which 0.04 Ω leave the coil 3.15 V, less than the 7 V that it wants. Nothing
    moves, and the fuse goes. Pulled in, the relay would cut the short off, and all would look well: never reached."""
    result = settled(change_over(), short(0.03), *beside)

    assert result.blown[0].tolist() == [True] and result.pulled_in[0].tolist() == [False]
    assert not result.blown[1:].any() and result.pulled_in[1:].all()


def test_a_relay_that_gets_its_voltage_is_quicker_than_the_fuse() -> None:
    """0.2 Ω: 12.6 V over 0.33 Ω are 38 A, 3.8 times the rating, which the fuse holds for 40 ms at least; 0.21 Ω leave
    the coil 8.0 V. It pulls in within some 10 ms and cuts the short off."""
    result = settled(change_over(), short(0.2))

    assert not result.blown.any() and result.pulled_in.all()


def test_what_hangs_on_the_work_contact_is_as_before() -> None:
    """A short there is met only once the relay has pulled in: then the fuse goes, and the relay falls off."""
    result = settled(change_over(), NO_CHANGE, short(0.03, "lit"))

    assert result.blown[:, 0].tolist() == [False, True]
    assert result.pulled_in[:, 0].tolist() == [True, False]


def test_such_a_short_is_known_to_blow_its_fuse_without_solving_every_one() -> None:
    """The screening of shorts, which takes all as it stands on the healthy vehicle, knows of it too."""
    circuit = change_over()
    found = blown(Settler(circuit), [ON], tabulate(circuit, [short(0.03), short(0.2), short(0.03, "lit")]))

    assert found[:, 0].tolist() == [True, False, True]


def test_a_short_that_a_chattering_relay_makes_and_breaks_blows_the_fuse() -> None:
    """Coil and short (0.3 Ω) hang behind the relay's own break contact: 12.6 V over 0.43 Ω are 29 A, 0.3 Ω leave the
    coil 8.8 V, it opens, falls off, closes. 2.9 times the rating half the time is more than 1.35 times in heat (2.1
    times by root mean square)."""
    circuit = circuit_of([
        *FEED[:-1], Resistor("coil", "out", "body", 85.0, "coil"),
        RelayContact("rest", "P", "out", "coil", False, 7.0, 3.0, 0.01),
    ], {"light": ["off", "on"]})
    result = settled(circuit, NO_CHANGE, short(0.3))

    assert result.blown[:, 0].tolist() == [False, True]
    assert result.buzzing.tolist() == [True, False]


def test_of_two_fuses_in_series_the_one_that_holds_shortest_goes() -> None:
    """20 A through 10 A blade and 8 A glass. Glass is further beyond what blows it (2.5 against 1.35 times its
    rating) than blade (2 against 1.35), but holds for two minutes where blade holds for 5 s."""
    circuit = circuit_of([
        Source("battery", "B", "body", 12.6, 0.02), FuseLink("blade", "B", "x", 10.0, 0.01),
        FuseLink("glass", "x", "y", 8.0, 0.01, "glass"), Resistor("load", "y", "body", 0.59),
    ])
    settler = Settler(circuit)
    result = settler.solve(Setup(VehicleState(())), tabulate(circuit, [NO_CHANGE]))

    assert [f.name for f, b in zip(settler.fuses, result.blown[0], strict=True) if b] == ["blade"]
    assert result.blow_s[0].min() == pytest.approx(5.0, rel=0.05) and np.isinf(result.blow_s[0]).sum() == 1


@pytest.mark.parametrize("relays", [3, 14, 40])
def test_a_chain_of_relays_pulls_in_to_its_end(relays: int) -> None:
    """Each relay feeds the coil of the next, the last one a lamp of 12 Ω. By hand, from the lamp backwards: with 1 V
    at it 1/12 A flow, a contact before it (0.01 Ω) has 0.01/12 V more at its other end, where a coil of 85 Ω takes
    its share as well, and so on to the battery (0.02 + 0.01 + 0.01 + 0.001 Ω); then all of it times 12.6 V over
    that."""
    circuit = _chain(relays)
    result = settled(circuit, NO_CHANGE)

    assert result.pulled_in.all() and not result.buzzing.any() and not result.blown.any()
    assert result.solution.volts[0, circuit.node(f"P{relays}")] == pytest.approx(_at_its_end(relays), abs=1e-3)


def _at_its_end(relays: int, dead: int | None = None) -> float:
    """Volts at the lamp of a chain; `dead`: a relay whose coil takes nothing, passed by with as many ohms as its
    contact has."""
    volts, amps = 1.0, 1 / 12
    for n in reversed(range(relays)):
        volts += 0.01 * amps
        amps += 0.0 if n == dead else volts / 85
    return 12.6 / (volts + 0.041 * amps)


def test_relays_of_a_long_chain_that_stay_behind_stay_there() -> None:
    """Forty faults at once, solved together: in each the coil of another relay is open and its contact is passed by.
    All others pull in, and it does not, though in most rows, from whose network all go on, it does."""
    relays = 40
    circuit = _chain(relays)
    result = settled(circuit, *(
        Change(set_ohm=((f"coil {n}", OPEN_OHM),), added=(AddedBranch(f"P{n}", f"P{n + 1}", 0.01),))
        for n in range(relays)
    ))

    assert (result.pulled_in == ~np.eye(relays, dtype=bool)).all()
    assert result.usable.all() and not result.buzzing.any() and not result.blown.any()
    assert result.solution.volts[:, circuit.node(f"P{relays}")] == pytest.approx(
        [_at_its_end(relays, dead) for dead in range(relays)], abs=1e-3)


def test_relays_behind_one_that_never_pulls_in_stay_at_rest() -> None:
    """A coil open each, and nothing passes it by: those before it pull in, it and all behind it do not."""
    relays = 40
    result = settled(_chain(relays), *(Change(set_ohm=((f"coil {n}", OPEN_OHM),)) for n in range(relays)))

    assert (result.pulled_in == np.tri(relays, k=-1, dtype=bool)).all()


def test_a_short_at_the_end_of_a_chain_of_relays_blows_the_fuse_and_all_let_go() -> None:
    """14 relays pull in one after the other, the last one closes on 0.02 Ω: 12.6 V over 0.2 Ω, 63 A. The fuse (10 A)
    goes, and all fall off."""
    result = settled(_chain(14), NO_CHANGE, short(0.02, "P14"))

    assert result.blown[:, 0].tolist() == [False, True]
    assert result.pulled_in[0].all() and not result.pulled_in[1].any()
    assert not result.buzzing.any()


def _chain(relays: int) -> Circuit:
    devices: list[Device] = [*FEED[:3], Joint("f–P0", "f", "P0", "splice", 0.001)]
    for n in range(relays):
        devices += [Resistor(f"coil {n}", f"P{n}", "body", 85.0, "coil"),
                    RelayContact(f"contact {n}", f"P{n}", f"P{n + 1}", f"coil {n}", True, 7.0, 3.0, 0.01)]
    return circuit_of([*devices, Resistor("lamp", f"P{relays}", "body", 12.0)], {"light": ["off", "on"]})


def test_a_tell_tale_s_contact_feeds_no_flasher_that_nothing_has_started() -> None:
    """Feed and tell-tale wire changed over at a flasher unit: the feed stands on C, behind the contact of the
    tell-tale, which closes only when the unit carries current. From rest nothing flows, and nothing lights; were it
    taken to hold as on the sound vehicle, it would feed itself for ever."""
    harness = load_harness(MODELS / "car_1950s.yaml")
    predictor = Predictor(harness)
    fault = find_fault(list_faults(harness), "wires changed over: flasher unit 49 and C")
    state = harness.state({"ignition": "on", "indicator stalk": "right"})
    change = fault.variants[0].change
    panel = predictor.panel(predictor.setup(state), predictor.table([change]))
    sound = predictor.healthy(state)
    lamps = [predictor.lamp_index[n] for n in ("indicator tell-tale", "right front indicator")]
    assert (sound.flux[0, lamps] > -0.5).all(), "both burn on the sound vehicle"
    assert (panel.flux[0, lamps] < -4).all()
