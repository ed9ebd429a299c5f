"""The low-rank solver against plain nodal equations, Kirchhoff's law and the topology of the circuit."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import networkx as nx
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.dense import Dense, edges_of
from tests.long import examples, rest_long
from tests.ngspice import random_case
from tracer.circuit.change_table import tabulate
from tracer.circuit.low_rank import LowRank
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Change, Circuit, Setup, build_circuit
from tracer.circuit.solver import RESIDUAL_LIMIT_A, Solver
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness

Floats = npt.NDArray[np.float64]
PICKUP = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"


@settings(max_examples=examples(50, 150))
@given(st.integers(min_value=0, max_value=2**32 - 1))
def test_kirchhoff_on_random_circuits(seed: int) -> None:
    """Any circuit under any changes: every node's currents add up to less than a microampere, by the engine's
    own account and by a separate one that uses nothing of it but the voltages."""
    case = random_case(seed)
    solution = Solver(case.circuit).solve(case.setup, tabulate(case.circuit, [case.change]))
    dense = Dense(case.circuit, case.setup, case.change)
    volts = solution.volts[0]

    assert solution.converged.all()
    assert solution.residual_a[0] < RESIDUAL_LIMIT_A
    assert dense.residual(volts) < 1e-6


STATES: list[dict[str, str]] = [{}, {"lamp switch": "head", "brake pedal": "pressed", "indicator stalk": "left"},
                                {"ignition": "off", "hazard switch": "on", "lamp switch": "side"}]


def graph_of(circuit: Circuit, setup: Setup, change: Change) -> nx.MultiGraph:
    """Everything that conducts, batteries among it; open and dead elements left out."""
    paths = [(a, b) for a, b, _ in edges_of(circuit, setup, change)]
    paths += [(p.a, p.b) for p in circuit.ports if p.name not in change.dead]
    paths += [(s.plus, s.minus) for s in circuit.sources]
    return nx.MultiGraph(paths)


def without_common_shift(circuit: Circuit, setup: Setup, change: Change, off: Floats) -> Floats:
    """Differences of voltage less the mean one of each part that has lost its earth, battery and all: what
    such a part has against the body is a matter of gigaohms."""
    left = off.copy()
    for part in nx.connected_components(graph_of(circuit, setup, change)):
        nodes = [circuit.index[n] for n in part]
        if 0 not in nodes:
            left[nodes] -= left[nodes].mean()
    return left


@pytest.mark.parametrize("positions", rest_long([STATES[1], STATES[0], STATES[2]]))
def test_low_rank_equals_dense_on_every_fault_of_the_pickup(positions: Mapping[str, str]) -> None:
    """Every other variant of every single fault in one of the states, no fuse blowing: the same voltages to a
    microvolt. All of them with the long tests; tests/bench/bench_dense.py has every one in every state."""
    compare_with_dense(positions, STATES.index(dict(positions)), examples(2, 1) * len(STATES))


def compare_with_dense(positions: Mapping[str, str], first: int, every: int) -> None:
    harness = load_harness(PICKUP)
    circuit, setup = build_circuit(harness), Setup(harness.state(positions))
    everything = [(f.name, v.change) for f in list_faults(harness) for v in f.variants]
    faults = everything[first::every]
    solution = Solver(circuit).solve(setup, tabulate(circuit, [c for _, c in faults]))
    worst, where, shifted = 0.0, "", list[str]()
    for row, (name, change) in enumerate(faults):
        off = Dense(circuit, setup, change).solve(solution.volts[row]) - solution.volts[row]
        if np.abs(off).max() > 1e-6:
            assert np.abs(off).max() < 1e-4, name
            off = without_common_shift(circuit, setup, change, off)
            shifted.append(name)
        if np.abs(off).max() > worst:
            worst, where = float(np.abs(off).max()), name

    assert solution.converged.all()
    assert len(everything) > 2500
    assert worst < 1e-6, where
    assert len(shifted) <= 3, shifted  # the battery's own strap


@pytest.mark.parametrize("positions", STATES, ids=["as assumed", "head, stop, left", "hazard, side"])
def test_opens_that_float_are_bridges(positions: Mapping[str, str]) -> None:
    """Opening a branch leaves a floating side exactly where networkx.bridges says, the battery being a branch
    between feed and earth: there the solver sees an island, and every node of it
    reads 0 V, unless the battery is on it."""
    harness = load_harness(PICKUP)
    circuit, setup = build_circuit(harness), Setup(harness.state(positions))
    ground = circuit.nodes[0]
    graph = graph_of(circuit, setup, NO_CHANGE)
    bridges = {frozenset(e[:2]) for e in nx.bridges(graph)}
    tied = nx.node_connected_component(graph, ground)
    solver = Solver(circuit)
    base = solver.base(setup, frozenset())
    seen = {True: 0, False: 0}
    for k, d in enumerate(circuit.linear):
        edge = frozenset((d.a, d.b))
        if base.g[k] == 0 or not edge <= tied:
            continue
        one, two = (np.array([[circuit.index[x]]], dtype=np.intp) for x in (d.a, d.b))
        islands = LowRank(base.z, np.array([[-base.g[k]]]), one, two).islands
        seen[edge in bridges] += 1
        assert bool(islands) == (edge in bridges), d.name
        if edge in bridges:
            cut = graph.copy()
            cut.remove_edge(*edge)
            v = solver.solve(setup, tabulate(circuit, [Change(set_ohm=((d.name, OPEN_OHM),))])).volts[0]
            off = set(graph) - nx.node_connected_component(cut, ground)
            if not any(s.plus in off for s in circuit.sources):
                assert max(abs(v[circuit.index[n]]) for n in off) < 1e-6, d.name

    assert min(seen.values()) >= 10
