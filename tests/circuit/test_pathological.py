"""Circuits that break solvers: each must converge or say that it did not, soon, and never give NaN."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import combinations

import numpy as np
import pytest

from tests.circuits import circuit_of, harness_of
from tests.dense import Dense
from tracer.circuit.change_table import tabulate
from tracer.circuit.device_laws import filament_current
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import (
    LEAST_OHM,
    NO_CHANGE,
    OHMMETER_V,
    OPEN_OHM,
    AddedBranch,
    Change,
    Circuit,
    Setup,
    TestLamp,
)
from tracer.circuit.settled import Settled
from tracer.circuit.solver import RESIDUAL_LIMIT_A
from tracer.harness.devices import (
    Conductor,
    Device,
    Dimmer,
    Diode,
    Filament,
    FilamentLaw,
    FlasherContact,
    FuseLink,
    Joint,
    LedLaw,
    RelayContact,
    Resistor,
    Source,
    SwitchContact,
)
from tracer.harness.model import VehicleState
from tracer.observation.forward_model import Predictor

LAW = FilamentLaw(25 / 13.5, 13.5, watts=21.0)
BATTERY = Source("battery", "B", "body", 12.6, 0.02)
METER_OHM = 1e7  # digital multimeter, common practice, no source
SOON_S = 5.0  # a hang takes for ever; the circuits here take milliseconds


def lamp(name: str, a: str, b: str, law: FilamentLaw = LAW) -> Filament:
    return Filament(name, a, b, name, name, law)


@contextmanager
def soon() -> Iterator[None]:
    start = time.process_time()
    yield
    assert time.process_time() - start < SOON_S


def settled(circuit: Circuit, *changes: Change, setup: Setup | None = None, **positions: str) -> Settled:
    """Solve; whatever comes of it must be finite, and correct wherever it claims to be usable."""
    setup = setup or Setup(VehicleState(tuple(positions.items())))
    with soon():
        result = Settler(circuit).solve(setup, tabulate(circuit, list(changes) or [NO_CHANGE]))
    solution = result.solution
    for array in (solution.volts, solution.port_v, solution.port_i, solution.residual_a):
        assert np.isfinite(array).all()
    assert (solution.residual_a[result.usable] < 10 * RESIDUAL_LIMIT_A).all()
    return result


def volts(circuit: Circuit, *changes: Change, setup: Setup | None = None, **positions: str) -> dict[str, float]:
    result = settled(circuit, *changes, setup=setup, **positions)
    assert result.usable.all()
    return dict(zip(circuit.nodes, result.solution.volts[0].tolist(), strict=True))


def test_everything_open() -> None:
    """Every branch open at once: the live terminal keeps the battery's voltage, all else reads 0 V."""
    circuit = circuit_of([
        BATTERY, SwitchContact("s", "B", "c", "light", frozenset({"on"})), Conductor("w", "c", "d", 0.05),
        Joint("j", "d", "e", "way"), lamp("l", "e", "f"), Conductor("earth", "f", "body", 0.01),
    ], {"light": ["off", "on"]})
    every = Change(set_ohm=tuple((d.name, OPEN_OHM) for d in circuit.linear), dead=("l",))
    for position in ("off", "on"):
        v = volts(circuit, every, light=position)

        assert v.pop("B") == pytest.approx(12.6, abs=1e-6)
        assert max(map(abs, v.values())) < 1e-6


def test_nothing_but_a_battery() -> None:
    """No branch and no lamp at all, also with a path added to it."""
    circuit = circuit_of([BATTERY])

    assert volts(circuit)["B"] == pytest.approx(12.6, abs=1e-6)
    assert volts(circuit, Change(added=(AddedBranch("B", "body", 0.61),)))["B"] == pytest.approx(
        12.6 * 0.61 / 0.63, abs=1e-6
    )


def test_no_source_at_all() -> None:
    """A vehicle without its battery, and a battery that is taken off: everything reads 0 V."""
    rig: list[Device] = [Conductor("w", "B", "c", 0.05), lamp("l", "c", "body")]
    off = Setup(VehicleState(()), "lit", Change(disconnected=True))

    assert max(map(abs, volts(circuit_of(rig)).values())) == 0.0
    assert max(map(abs, volts(circuit_of([*rig, BATTERY]), setup=off).values())) == 0.0


@pytest.mark.parametrize("count", [2, 20, 100])
def test_all_lamps_in_series(count: int) -> None:
    """Equal lamps share equally, however cold they are; all carry the same current."""
    nodes = ["B", *(f"k{i}" for i in range(1, count)), "body"]
    circuit = circuit_of([BATTERY, *(lamp(f"l{i}", nodes[i], nodes[i + 1]) for i in range(count))])
    v = volts(circuit)

    assert np.diff([v[n] for n in nodes]) == pytest.approx([-v["B"] / count] * count, abs=2e-6)  # less the leaks
    amps = filament_current(LAW, v["B"] / count)
    assert v["B"] == pytest.approx(12.6 - 0.02 * amps, rel=1e-6)


def test_hard_cornered_lamps_in_series() -> None:
    """The law whose slope jumps where the cold resistance takes over, with lamps on both sides of the jump."""
    laws = [FilamentLaw(w / 13.5, 13.5, 0.55, 13.0, math.inf, w) for w in (1.2, 5.0, 21.0, 55.0, 60.0)]
    nodes = ["B", "a", "b", "c", "d", "body"]
    circuit = circuit_of([BATTERY, *(lamp(f"l{i}", nodes[i], nodes[i + 1], law) for i, law in enumerate(laws))])
    v = volts(circuit)
    drops = [v[nodes[i]] - v[nodes[i + 1]] for i in range(5)]
    amps = [filament_current(law, drop) for law, drop in zip(laws, drops, strict=True)]

    assert amps == pytest.approx([amps[0]] * 5, rel=1e-6)
    assert drops[0] > 10 > 0.1 > drops[4]


def test_zero_length_wires() -> None:
    """Wires of no resistance, alone, in a ring, and across the battery's own terminals' wires."""
    ring = ["a", "b", "c", "a"]
    circuit = circuit_of([
        BATTERY, Conductor("feed", "B", "a", 0.0), Conductor("twin", "B", "a", 0.0),
        *(Conductor(f"ring {i}", ring[i], ring[i + 1], 0.0) for i in range(3)), lamp("l", "c", "body"),
    ])
    v = volts(circuit)
    amps = filament_current(LAW, v["c"])

    assert v["B"] == pytest.approx(12.6 - 0.02 * amps, abs=1e-6)
    assert 0 < v["B"] - v["c"] < 2 * LEAST_OHM * amps


def test_dead_short_of_zero_ohms() -> None:
    """A bare short across the battery: its internal resistance alone limits the current."""
    v = volts(circuit_of([BATTERY, lamp("l", "B", "body")]), Change(added=(AddedBranch("B", "body", 0.0),)))

    assert v["B"] == pytest.approx(12.6 * LEAST_OHM / (0.02 + LEAST_OHM), rel=1e-3)


@pytest.mark.parametrize(("second", "expected"), [(12.6, 12.6), (12.0, 12.3), (-12.6, 0.0)])
def test_two_batteries(second: float, expected: float) -> None:
    """In parallel, unequal, and against one another: hundreds of amperes, but a solution."""
    circuit = circuit_of([
        BATTERY, Source("second", "C", "body", second, 0.02), Conductor("link", "B", "C", 1e-4),
        Resistor("load", "C", "body", 1000.0),
    ])
    v = volts(circuit)

    assert (v["B"] + v["C"]) / 2 == pytest.approx(expected, abs=2e-3)


def test_battery_of_no_resistance() -> None:
    """Two ideal batteries of different voltage on one node."""
    circuit = circuit_of([
        Source("one", "B", "body", 12.0, 0.0), Source("two", "B", "body", 13.0, 0.0), lamp("l", "B", "body"),
    ])

    assert volts(circuit)["B"] == pytest.approx(12.5, abs=1e-3)


def relay(coil_from: str, makes: bool) -> list[Device]:
    return [
        Resistor("coil", coil_from, "body", 85.0, "coil"),
        RelayContact("contact", "B", "out", "coil", makes, 7.0, 3.0), Resistor("load", "out", "body", 10.0),
    ]


def test_relay_that_starves_itself_buzzes() -> None:
    """Fed over its own break contact a coil pulls in, loses its feed, drops out, for ever."""
    result = settled(circuit_of([BATTERY, *relay("out", makes=False)]))

    assert result.buzzing.tolist() == [True]


def test_a_lamp_behind_a_contact_that_buzzes_has_half_its_light() -> None:
    """Fed over the break contact of the coil beside it, a lamp has its full voltage and none in turn; log10(1/2) of
    its light. A second one before the contact has its full voltage in both."""
    coil = Resistor("coil", "out", "body", 85.0, "coil")
    devices: list[Device] = [BATTERY, coil, lamp("before", "B", "body"), lamp("l", "out", "body")]

    def light(contact: Device) -> list[float]:
        predictor = Predictor(harness_of([*devices, contact]))
        panel = predictor.panel(predictor.setup(VehicleState(())), predictor.table([NO_CHANGE]))
        return [float(x) for x in panel.flux[0]]

    full = light(Conductor("wire", "B", "out", 0.01))
    half = light(RelayContact("contact", "B", "out", "coil", False, 7.0, 3.0))
    assert half == pytest.approx([full[0], full[1] + math.log10(0.5)], abs=0.02)


def test_relay_that_holds_itself_does_not_buzz() -> None:
    """Fed over its own make contact it stays where it is: at rest, or in once a lead has fed it."""
    circuit = circuit_of([BATTERY, *relay("out", makes=True)])
    result = settled(circuit, NO_CHANGE, Change(added=(AddedBranch("B", "out", 0.05),)))

    assert result.buzzing.tolist() == [False, False]
    assert result.pulled_in[:, 0].tolist() == [False, True]


def test_relay_whose_load_pulls_its_supply_down_buzzes() -> None:
    """A battery so weak that the load takes the coil below its drop-out voltage."""
    circuit = circuit_of([
        Source("battery", "B", "body", 12.0, 6.0), Resistor("coil", "B", "body", 85.0, "coil"),
        RelayContact("contact", "B", "out", "coil", True, 7.0, 3.0), Resistor("load", "out", "body", 1.0),
    ])

    assert settled(circuit).buzzing.tolist() == [True]


def test_relay_holds_below_its_pick_up_voltage() -> None:
    """The load takes the coil from 11.7 to some 5 V: below pick-up (7 V), above drop-out (3 V), so it stays in."""
    circuit = circuit_of([
        Source("battery", "B", "body", 12.0, 2.0), Resistor("coil", "B", "body", 85.0, "coil"),
        RelayContact("contact", "B", "out", "coil", True, 7.0, 3.0), Resistor("load", "out", "body", 1.5),
    ])
    result = settled(circuit)

    assert 3 < result.solution.volts[0, circuit.index["B"]] < 7
    assert (result.pulled_in.tolist(), result.buzzing.tolist()) == ([[True]], [False])


def test_ohmmeter_keeps_its_voltage_beside_a_weak_battery() -> None:
    """The battery is off and weak: an open still reads the meter's own 2 V, that is, infinity."""
    circuit = circuit_of([BATTERY, Conductor("w", "B", "x", 0.05), lamp("l", "x", "body")])
    done = Change(disconnected=True, ohmmeter=("x", "body"), emf_factor=0.9)
    v = volts(circuit, Change(dead=("l",), emf_factor=0.8), setup=Setup(VehicleState(()), "lit", done))

    assert v["x"] == pytest.approx(OHMMETER_V, abs=1e-4)


def test_two_relays_that_chase_one_another() -> None:
    """A pulls B in, B throws A out: no resting state, and it says so."""
    circuit = circuit_of([
        BATTERY,
        Resistor("coil a", "a+", "body", 85.0, "coil"), RelayContact("b rest", "B", "a+", "coil b", False, 7.0, 3.0),
        Resistor("coil b", "b+", "body", 85.0, "coil"), RelayContact("a make", "B", "b+", "coil a", True, 7.0, 3.0),
    ])

    assert settled(circuit).buzzing.tolist() == [True]


def test_flasher_without_load() -> None:
    """Nothing behind the flasher: its far terminal is live when closed, dead when open, and no current."""
    circuit = circuit_of([
        BATTERY, FlasherContact("flasher", "B", "49a"),
        SwitchContact("stalk", "49a", "L", "stalk", frozenset({"on"})),
    ], {"stalk": ["off", "on"]})
    state = VehicleState((("stalk", "off"),))

    assert volts(circuit, setup=Setup(state, "lit"))["49a"] == pytest.approx(12.6, abs=1e-6)
    assert volts(circuit, setup=Setup(state, "dark"))["49a"] == pytest.approx(0.0, abs=1e-6)


def test_loop_of_contacts() -> None:
    """Closed contacts in a ring with nothing on it, floating and then tied: no current circulates."""
    ring = ["a", "b", "c", "d", "a"]
    contacts = [
        SwitchContact(f"s{i}", ring[i], ring[i + 1], "all", frozenset({"on"}), 1e-3) for i in range(4)
    ]
    circuit = circuit_of([BATTERY, *contacts, lamp("l", "B", "body")], {"all": ["off", "on"]})
    floating = volts(circuit, all="on")
    tied = volts(circuit, Change(added=(AddedBranch("B", "a", 0.05),)), all="on")

    assert max(abs(floating[n]) for n in "abcd") < 1e-6
    assert [tied[n] for n in "abcd"] == pytest.approx([tied["B"]] * 4, abs=1e-6)


@pytest.mark.parametrize("behind", ["switch", "diode", "lamp", "two opens", "pair of opens"])
def test_node_touched_only_by_a_meter_reads_nothing(behind: str) -> None:
    """A terminal that nothing ties to the circuit reads 0 V, not noise, however it came to float."""
    rigs: Mapping[str, tuple[Sequence[Device], Change]] = {
        "switch": ([SwitchContact("s", "B", "x", "light", frozenset({"on"}))], NO_CHANGE),
        "diode": ([Diode("d", "x", "B")], NO_CHANGE),
        "lamp": ([lamp("l", "B", "x")], Change(dead=("l",))),
        "two opens": (
            [Conductor("w", "B", "x", 0.01), Conductor("v", "x", "y", 0.01), lamp("l", "y", "body")],
            Change(set_ohm=(("w", OPEN_OHM), ("v", OPEN_OHM))),
        ),
        "pair of opens": (
            [Conductor("w", "B", "x", 0.01), lamp("l", "x", "body")], Change(set_ohm=(("w", OPEN_OHM),), dead=("l",))
        ),
    }
    devices, change = rigs[behind]
    circuit = circuit_of([BATTERY, lamp("other", "B", "body"), *devices], {"light": ["off", "on"]})

    metered = volts(circuit, change | Change(added=(AddedBranch("x", "body", METER_OHM),)), light="off")

    if behind == "diode":  # it leaks a nanoampere backwards
        assert 0 <= metered["x"] < 0.02
    else:
        assert abs(metered["x"]) < 1e-6
        assert abs(volts(circuit, change, light="off")["x"]) < 1e-6


def test_what_hangs_on_a_diode_alone_by_hand() -> None:
    """A wire of 2.6 mΩ comes off between a lamp and a diode that blocks, as by a check diode of an instrument panel:
    its loose end hangs on that diode and the 1 GΩ to the reference. Backwards the diode's law gives
    0.03 V / 0.05 Ω · ln(1 + e^(−0.6/0.03)) = 0.6 · 2.0612e-9 = 1.23669 nA, hence 1.23669 V: also where many rows are
    solved at once, of which the wire and the diode each take six digits."""
    circuit = circuit_of([
        BATTERY, lamp("tell-tale", "B", "x"), Conductor("w", "x", "end", 2.6e-3), Diode("d", "end", "far"),
        Conductor("feed", "B", "far", 0.02),
    ])
    change = Change(set_ohm=(("w", OPEN_OHM),))
    one, many = settled(circuit, change), settled(circuit, *[NO_CHANGE, *[change] * 40])
    for result in (one, many):
        assert result.solution.volts[-1, circuit.node("end")] == pytest.approx(1.23669, abs=2e-5)


def test_thirteen_decades_of_resistance() -> None:
    """1e-4 Ω to 1e9 Ω in one circuit, every branch once open: as the dense solver says, to a millivolt."""
    devices: list[Device] = [BATTERY]
    for k, exponent in enumerate(range(-4, 10)):
        devices.append(Resistor(f"r{k}", f"k{k}" if k else "B", f"k{k + 1}", 10.0**exponent))
        devices.append(Resistor(f"p{k}", f"k{k + 1}", "body", 10.0 ** (9 - k)))
    circuit = circuit_of(devices)
    changes = [NO_CHANGE, *(Change(set_ohm=((d.name, OPEN_OHM),)) for d in circuit.linear)]
    result = settled(circuit, *changes)

    assert result.usable.all()
    for row, change in enumerate(changes):
        direct = Dense(circuit, Setup(VehicleState(())), change).solve(np.zeros(len(circuit.nodes)))
        assert np.abs(direct - result.solution.volts[row]).max() < 1e-3, change


@pytest.mark.parametrize("ohm", [1e3, 1e6, 1e8])
def test_what_a_leak_still_feeds_is_not_cut_off(ohm: float) -> None:
    """A wire of 0.1 mΩ breaks beside a leak: behind it the leak and the meter's own gigaohm divide the voltage."""
    circuit = circuit_of([BATTERY, Conductor("w", "B", "x", 1e-4), Resistor("leak", "B", "x", ohm)])
    v = volts(circuit, Change(set_ohm=(("w", OPEN_OHM),)))

    assert v["x"] == pytest.approx(12.6 * 1e9 / (1e9 + ohm), abs=5e-3)


def test_reversed_polarity() -> None:
    """The battery turned round: lamps shine as before, diodes do what they should not."""
    rig: list[Device] = [
        lamp("l", "B", "body"), Diode("d", "B", "k"), Resistor("r", "k", "body", 10.0), Diode("z", "body", "B"),
    ]
    right = volts(circuit_of([Source("battery", "B", "body", 12.6, 0.5), *rig]))
    wrong = volts(circuit_of([Source("battery", "body", "B", 12.6, 0.5), *rig]))

    assert right["B"] > 11
    assert right["k"] == pytest.approx(right["B"] - 0.6, abs=0.2)
    assert -3 < wrong["B"] < -0.6  # the quench diode carries what the battery gives
    assert abs(wrong["k"]) < 1e-6


def test_diodes_back_to_back() -> None:
    """Two diodes that both block, and the node between them."""
    v = volts(circuit_of([BATTERY, Diode("one", "x", "B"), Diode("two", "x", "body"), lamp("l", "B", "body")]))

    assert abs(v["x"]) < 0.3  # within the threshold of either, whatever the leaks do


@pytest.mark.parametrize("build", [
    lambda: (lamp("l", "B", "B"),), lambda: (Conductor("w", "B", "B", 0.01),), lambda: (Diode("d", "body", "body"),),
], ids=["lamp", "wire", "diode"])
def test_element_on_one_node(build: Callable[[], tuple[Device, ...]]) -> None:
    """Both ends on the same terminal: it does nothing, and stops nothing."""
    circuit = circuit_of([BATTERY, *build(), Resistor("r", "B", "body", 10.0)])

    assert volts(circuit)["B"] == pytest.approx(12.6 * 10 / 10.02, abs=1e-6)


def test_fuse_that_blows_beside_one_that_holds() -> None:
    """A short behind two fuses in series: the smaller goes first and saves the larger."""
    circuit = circuit_of([
        BATTERY, FuseLink("F1", "B", "a", 30.0), FuseLink("F2", "a", "b", 5.0), lamp("l", "b", "body"),
        lamp("m", "a", "body"),
    ])
    result = settled(circuit, NO_CHANGE, Change(added=(AddedBranch("b", "body", 0.05),)))

    assert result.blown.tolist() == [[False, False], [False, True]]
    assert abs(result.solution.volts[1, circuit.index["b"]]) < 1e-6
    assert result.solution.volts[1, circuit.index["a"]] > 12


def test_test_lamp_across_nothing() -> None:
    """A test lamp with both clips on floating terminals, and with both on one."""
    switch = SwitchContact("s", "B", "x", "light", frozenset({"on"}))
    circuit = circuit_of([BATTERY, switch, Conductor("w", "y", "z", 0.1)], {"light": ["off", "on"]})
    state = VehicleState((("light", "off"),))
    for a, b in (("x", "y"), ("y", "z"), ("B", "B")):
        result = settled(circuit, setup=Setup(state, "lit", Change(lamps=(TestLamp(a, b, LAW),))))
        assert result.usable.all()
        assert abs(result.solution.port_i[0, -1]) < 1e-6


LED = LedLaw(7.2, 28.8, 0.16, 1e6, 2.0)


def test_leds_face_to_face() -> None:
    """Two LED lamps in series that look at one another. The second leaks v/1 MΩ; the first passes as much at
    s·ln(1 µA · r/s) below its threshold, 5.8 V: 6.8 µA in all, and 6.8 V between them."""
    v = volts(circuit_of([
        BATTERY, Filament("one", "B", "m", "one", "one", LED), Filament("two", "body", "m", "two", "two", LED),
    ]))

    assert v["m"] == pytest.approx(6.8, abs=0.05)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_leds_in_series_share(count: int) -> None:
    """Equal LED lamps in series: equal voltages, however little they pass; every node's own gigaohm takes up to one
    in a thousand of a leakage of 1 MΩ away."""
    nodes = ["B", *(f"m{i}" for i in range(1, count)), "body"]
    devices: list[Device] = [BATTERY]
    devices += [Filament(f"l{i}", nodes[i], nodes[i + 1], f"l{i}", f"l{i}", LED) for i in range(count)]
    result = settled(circuit_of(devices))

    assert result.usable.all()
    assert result.solution.port_v[0] == pytest.approx(np.full(count, 12.6 / count), rel=0.01)


def test_leds_behind_everything_open() -> None:
    """Every branch of a lamp unit of LEDs open, one after another and all at once, each LED good or dead."""
    devices: list[Device] = [
        BATTERY, Conductor("feed", "B", "s", 0.02), Joint("contact 1", "s", "a", "holder", 0.005),
        Joint("contact 2", "s", "b", "holder", 0.005), Filament("one", "a", "shell", "one", "one", LED),
        Filament("two", "b", "shell", "two", "two", LED), Joint("earth", "shell", "body", "holder earth", 0.005),
    ]
    names = ("feed", "contact 1", "contact 2", "earth")
    every = [chosen for k in range(5) for chosen in combinations(names, k)]
    opens = [Change(set_ohm=tuple((n, OPEN_OHM) for n in chosen)) for chosen in every]
    changes = opens + [x | Change(dead=("one",)) for x in opens]
    circuit = circuit_of(devices)
    result = settled(circuit, *changes)
    shell, dark = circuit.node("shell"), circuit.node("a")

    assert result.usable.all()
    for row, change in enumerate(changes):
        opened = {n for n, _ in change.set_ohm}
        v = result.solution.volts[row]
        if "feed" in opened:
            assert np.abs(np.delete(v, circuit.node("B"))).max() < 1e-6
        elif "earth" in opened and not {"contact 1", "contact 2"} <= opened and not (
            "contact 2" in opened and change.dead
        ):
            assert v[shell] > 5.0  # an LED lets the shell follow, less its threshold
        elif "contact 1" in opened and "earth" not in opened:
            assert abs(v[dark] - v[shell]) < 1e-3


def test_a_dimmer_of_no_resistance_and_one_that_is_open() -> None:
    """Its least step is its wiper alone; in a position that it does not name it is open."""
    dimmer = Dimmer("dimmer", "B", "a", "knob", (("bright", 0.0), ("low", 20.0)))
    circuit = circuit_of([BATTERY, dimmer, lamp("l", "a", "body")], {"knob": ["bright", "low", "off"]})

    assert volts(circuit, knob="bright")["a"] == pytest.approx(12.6, abs=0.1)
    assert volts(circuit, knob="off")["a"] == 0.0
    assert volts(circuit, Change(set_ohm=(("dimmer", OPEN_OHM),)), knob="bright")["a"] == pytest.approx(0.0, abs=1e-9)
