"""Shortcuts of the solver change nothing: states solved from another state's network, shorts estimated first."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from msgspec.structs import replace

from tests.bench.bench_small_files import many_lamps
from tests.library import MODELS
from tests.long import large_long
from tracer.circuit import port_newton
from tracer.circuit import shared_networks as sharing
from tracer.circuit.change_table import tabulate
from tracer.circuit.fuse_screening import blown
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.model import AddedBranch, Change, Circuit, Floats, Setup, TestLamp, build_circuit
from tracer.circuit.shared_networks import SharingSolver
from tracer.circuit.solver import VERY_LARGE, Solver
from tracer.faults import list_faults
from tracer.harness.devices import SwitchContact
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor
from tracer.observation.instruments import lamp_of_tester


def added_paths(harness: Harness) -> list[Change]:
    changes = [v.change for f in list_faults(harness) for v in f.variants]
    return list(dict.fromkeys(c for c in changes if c.added and not c.set_ohm))


@pytest.mark.parametrize("model", ["rear_end", "motorcycle_6v", "car_1950s", "saloon_led"])
def test_estimates_find_every_fuse_that_solving_all_rows_finds(model: str) -> None:
    """saloon_led has relays, diodes and LEDs; the others no relay."""
    harness = load_harness(MODELS / f"{model}.yaml")
    settler = Settler(build_circuit(harness))
    setups = [Setup(s) for s in basic_states(harness)]
    table = tabulate(settler.circuit, added_paths(harness))
    every = np.any([settler.solve(s, table).blown for s in setups], axis=0)
    assert every.any()
    assert np.array_equal(blown(settler, setups, table), every)


TWO_FUSES = """harness: two lamps, invented
system: 12 V negative earth
controls: {switch: {positions: [off, on]}}
parts:
  battery: {kind: battery, resistance: 0.02 ohm}
  F1: {kind: fuse, rating: 10 A}
  F2: {kind: fuse, rating: 5 A}
  key: {kind: switch, control: switch, contacts: {on: [in-out]}}
  one: {kind: lamp, lamp: P21W}
  two: {kind: lamp, lamp: R5W}
earths: {E1: {}}
wires:
  - {run: battery.- > E1, size: 35 mm², length: 0.5 m}
  - {run: battery.+ > F1.in, size: 2.5 mm², length: 1.5 m}
  - {run: battery.+ > key.in, size: 2.5 mm², length: 1.5 m}
  - {run: key.out > F2.in, size: 2.5 mm², length: 1.5 m}
  - {run: F1.out > one.feed, size: 1.5 mm², length: 4 m}
  - {run: F2.out > two.feed, size: 1.5 mm², length: 4 m}
  - {run: one.earth > E1, size: 2.5 mm², length: 1.5 m}
  - {run: two.earth > E1, size: 2.5 mm², length: 1.5 m}
"""


def test_what_blows_by_hand() -> None:
    """A blade fuse opens from 1.35 times its rating: F1 above 13.5 A, F2 above 6.75 A.

    A wire of 4 m and 1.5 mm² has 0.0175 · 4 / 1.5 = 0.05 Ω, one of 1.5 m and 2.5 mm² 0.01 Ω. A short of 0.05 Ω
    behind either fuse: some 12 V over 0.15 Ω, 80 A. A path of 1.5 Ω to the body: below 12.8/1.5 =
    8.5 A besides lamp one's 1.8 A, which F1 carries; F2 does not, with lamp two's 0.4 A. The two feeds joined: with
    the switch off F1 feeds both lamps, 2.2 A; with it on they share, and nothing blows.
    """
    harness = read_harness(TWO_FUSES, "two.yaml")
    settler = Settler(build_circuit(harness))
    paths = [("one.feed", "body", 0.05), ("two.feed", "body", 0.05), ("one.feed", "body", 1.5),
             ("two.feed", "body", 1.5), ("one.feed", "two.feed", 0.05)]
    table = tabulate(settler.circuit, [Change(added=(AddedBranch(*p),)) for p in paths])
    states = [Setup(harness.state({"switch": p})) for p in ("off", "on")]
    found = blown(settler, states, table)
    assert [f.name for f in settler.fuses] == ["F1 link", "F2 link"]
    assert found.tolist() == [[True, False], [False, True], [False, False], [False, True], [False, False]]
    assert not blown(settler, states[:1], table)[[1, 3]].any()  # behind the open switch there is nothing to blow


class _Counting(SharingSolver):
    """Counts the solutions that took another state's network."""

    count = 0

    def _like(
        self, setup: Setup, rows: int, pulled_in: frozenset[str]
    ) -> tuple[Setup, frozenset[str]] | None:
        found = super()._like(setup, rows, pulled_in)
        self.count += found is not None
        return found


class _Alone(SharingSolver):
    """Has a network for every set-up."""

    def _like(
        self, setup: Setup, rows: int, pulled_in: frozenset[str]
    ) -> tuple[Setup, frozenset[str]] | None:
        return None


def _volts(solver: Solver, circuit: Circuit, setup: Setup, changes: list[Change]) -> Floats:
    solution = solver.solve(setup, tabulate(circuit, changes))
    assert solution.converged.all()
    return solution.volts


@pytest.mark.parametrize(("model", "within_v"), [
    ("pickup", 2e-5), ("saloon_1970s", 2e-5), pytest.param("estate_1990s", 8e-4, marks=pytest.mark.long),
])
def test_a_state_solved_from_another_states_network_reads_the_same(model: str, within_v: float) -> None:
    """The estate has lines that nothing but electronics of 1 MΩ hold: 0.4 nA, to which a row is solved, are
    0.4 mV there, and both sides may stray by that."""
    harness = load_harness(MODELS / f"{model}.yaml")
    circuit = build_circuit(harness)
    assert len(circuit.nodes) >= 100
    faults = list_faults(harness)
    changes = [f.variants[-1].change for f in faults[::90]]
    changes += [f.variants[0].change for f in faults if f.kind.startswith("switch")][:4]
    counting, own = _Counting(circuit), Solver(circuit)
    for state in basic_states(harness)[::2]:
        for done in (Change(), Change(emf_factor=0.97), Change(set_ohm=((circuit.linear[3].name, 1e12),))):
            setup = Setup(state, done=done)
            one, two = (_volts(s, circuit, setup, changes) for s in (counting, own))
            assert np.abs(one - two).max() < within_v, (state, done)
    assert counting.count > 10


@pytest.mark.parametrize("part", [
    slice(0, 800), slice(1700, 100, -3), np.arange(1900, 300, -7), np.arange(2000) % 3 == 0,
    np.repeat([598, 560, 3], 9),
])
def test_part_of_a_table_knows_its_odd_ports(part: slice | npt.NDArray[np.intp]) -> None:
    """As a table of these rows alone does."""
    harness = load_harness(MODELS / "saloon_led.yaml")
    circuit, changes = build_circuit(harness), [v.change for f in list_faults(harness) for v in f.variants][:2000]
    found = tabulate(circuit, changes).rows(part).odd
    expected = tabulate(circuit, [changes[i] for i in np.arange(2000)[part]]).odd
    assert len(expected.row) > 2
    for name in ("row", "port", "factor", "light"):
        assert np.array_equal(getattr(found, name), getattr(expected, name))


@pytest.mark.parametrize("very_large", [VERY_LARGE, 100])
@pytest.mark.parametrize("model", large_long(["saloon_led", "estate_1990s"], frozenset({"estate_1990s"})))
def test_set_ups_solved_together_come_out_as_each_by_itself(
    model: str, very_large: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Relays and blown fuses, temporary leads, test lamps and an ohmmeter included; and taken for as large as those
    vehicles whose networks are not inverted for a few rows."""
    monkeypatch.setattr(sharing, "VERY_LARGE", very_large)
    harness = load_harness(MODELS / f"{model}.yaml")
    circuit = build_circuit(harness)
    changes = list(dict.fromkeys(f.variants[-1].change for f in list_faults(harness)[::60]))
    table, one, other = tabulate(circuit, changes), circuit.linear[0], circuit.linear[-1]
    setups = [Setup(s) for s in basic_states(harness)]
    lead = AddedBranch(one.b, circuit.nodes[0], 0.05, fuse_a=5)
    setups += [
        Setup(setups[-1].state, done=done) for done in (
            Change(set_ohm=((one.name, 1e12),)), Change(added=(lead,)),
            Change(disconnected=True, ohmmeter=(other.a, other.b)),
            Change(lamps=(TestLamp(one.a, circuit.nodes[0], lamp_of_tester(12.0)),)),
            Change(lamps=(TestLamp(other.b, circuit.nodes[0], lamp_of_tester(12.0)),)),
        )
    ]
    alone, together = Settler(circuit), Settler(circuit)
    alone.solver = _Alone(circuit)
    for setup, many in zip(setups, together.solve_several([(s, table) for s in setups]), strict=True):
        single = alone.solve(setup, table)
        assert many.usable.all() and single.usable.all()
        assert np.abs(many.solution.volts - single.solution.volts).max() < 8e-4, setup
        assert np.abs(many.solution.port_v - single.solution.port_v).max() < 8e-4, setup
        for name in ("blown", "pulled_in", "restless", "lead_blown"):
            assert (getattr(many, name) == getattr(single, name)).all(), (name, setup)


@pytest.mark.parametrize("model", ["motorcycle_6v", "saloon_led"])
def test_what_no_current_flows_through_changes_no_lamp(model: str) -> None:
    predictor = Predictor(load_harness(MODELS / f"{model}.yaml"))
    changes = list(dict.fromkeys(v.change for f in list_faults(predictor.harness)[::4] for v in f.variants[:1]))
    table, idle = predictor.table(changes), 0
    for state in basic_states(predictor.harness):
        setup = predictor.setup(state)
        rest = np.flatnonzero(~predictor.disturbed([(setup, table)])[0])  # in both phases of a flasher
        panel, healthy = predictor.panel(setup, table.rows(rest)), predictor.healthy(state)
        for name in ("flux", "least"):
            one, two = (np.maximum(getattr(p, name), -2.8) for p in (panel, healthy))  # less is as good as dark
            assert np.abs(one - two).max(initial=0.0) < 1e-3, state
        assert (panel.blown == healthy.blown).all()
        idle += len(rest)
    assert idle > 50


@pytest.mark.parametrize("model", ["motorcycle_6v", "saloon_led"])
def test_looks_at_what_flashes_are_those_of_all_rows_solved(model: str) -> None:
    """While the flasher's contact is closed nothing tells one that sticks from a sound one, nor a path across it."""
    predictor = Predictor(load_harness(MODELS / f"{model}.yaml"))
    contact = predictor.flasher
    assert contact is not None
    across = Change(added=(AddedBranch(contact.a, contact.b, 0.5),))
    changes = list(dict.fromkeys(v.change for f in list_faults(predictor.harness)[::3] for v in f.variants[:1]))
    sticks = [v.change for f in list_faults(predictor.harness) if "stays closed" in f.says for v in f.variants]
    assert sticks
    table, flashing = predictor.table([*changes, across, *sticks]), 0
    for state in basic_states(predictor.harness):
        if np.isnan(predictor.healthy(state).load).all():
            continue
        setup, flashing = predictor.setup(state), flashing + 1
        [looks], panel = predictor.looks([(setup, table)]), predictor.panel(setup, table)
        for name in ("flux", "least"):
            one, two = (np.maximum(getattr(p, name), -2.8) for p in (looks, panel))
            assert np.abs(one - two).max() < 1e-3, (state, name)
        assert np.allclose(looks.per_min, panel.per_min, equal_nan=True)
        assert (looks.flux[-1] - looks.least[-1]).max() < 0.1
    assert flashing > 1


def test_conductances_are_those_of_every_branch_taken_alone() -> None:
    """What no set-up moves is not asked anew; what one moves is."""
    harness = load_harness(MODELS / "saloon_led.yaml")
    circuit = build_circuit(harness)
    for state in basic_states(harness):
        for setup in (Setup(state), Setup(state, "dark")):
            whole = circuit.conductances(setup)
            for i, d in enumerate(circuit.linear[::7]):
                alone = replace(circuit, linear=(d,))
                assert alone.conductances(setup)[0] == whole[7 * i]


def test_hundreds_of_lamps_that_go_out_at_once_are_solved_on_all_nodes(monkeypatch: pytest.MonkeyPatch) -> None:
    """A feed that opens puts out 160 lamps, a fuse that opens twenty of them: the same as with all of them solved
    together."""
    harness = read_harness(many_lamps(160))
    contact = next(d.name for d in harness.devices() if isinstance(d, SwitchContact))
    changes = [Change(((f"F{g} link", 1e9),)) for g in range(8)] + [Change(((contact, 1e9),))]
    changes += [Change(((f"F{g} link", ohm),)) for g in range(8) for ohm in (0.5, 2.0)]
    found = []
    for most in (None, 10_000):
        if most:
            monkeypatch.setattr(port_newton, "MOST_STRONG", most)
        predictor = Predictor(harness)
        panel = predictor.panel(predictor.setup(harness.state({"lights": "on"})), predictor.table(changes))
        assert panel.usable.all()
        found.append(np.maximum(panel.flux, -4.0))
    np.testing.assert_allclose(found[0], found[1], atol=1e-5)
    assert (found[0][8] < -3.9).all() and ((found[0][:8] < -3.9).sum(axis=1) == 20).all()
