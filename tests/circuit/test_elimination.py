"""The inverse by taking nodes out, against networkx and against plain linear algebra; and the engine's own two
ways to many hypotheses against each other."""

from __future__ import annotations

import math
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from tracer.circuit import solver
from tracer.circuit.device_laws import PortLaws
from tracer.circuit.elimination import Order
from tracer.circuit.model import NO_CHANGE
from tracer.circuit.node_responses import Responses
from tracer.faults import list_faults
from tracer.harness.devices import Diode
from tracer.harness.file.text import load_harness
from tracer.observation.forward_model import Predictor

PICKUP = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"


@pytest.mark.parametrize("seed", range(5))
def test_inverse_gives_the_resistances_of_networkx(seed: int) -> None:
    """Resistance between any two nodes of a random network, to 1e-9 of it."""
    rng = np.random.default_rng(seed)
    graph = nx.gnm_random_graph(40, 70, seed=seed)
    graph = graph.subgraph(max(nx.connected_components(graph), key=len)).copy()
    graph = nx.convert_node_labels_to_integers(graph)
    for _, _, data in graph.edges(data=True):
        data["ohm"] = float(10 ** rng.uniform(-3, 3))
    a, b = np.array(graph.edges).T
    g = np.array([1 / data["ohm"] for _, _, data in graph.edges(data=True)])
    n = len(graph)
    order = Order(n, graph.edges)
    z = order.inverse(order.added_up([(a, b, g)]), np.full(n, 1e-15))

    for one, two in rng.integers(0, n, (20, 2)):
        if one != two:
            expected = nx.resistance_distance(graph, int(one), int(two), weight="ohm", invert_weight=True)
            assert z[one, one] + z[two, two] - 2 * z[one, two] == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_responses_equal_the_nodal_matrix_inverted(seed: int) -> None:
    """By plain linear algebra: voltages by currents between nodes, and across some by currents through others."""
    rng = np.random.default_rng(seed)
    n, rows, width = 40, 7, 3
    one, two = rng.integers(0, n, (2, 60))
    g, to_ground = 10 ** rng.uniform(-2, 2, 60), 10 ** rng.uniform(-3, -1, n)
    order = Order(n, zip(one.tolist(), two.tolist(), strict=True))
    found = Responses(order, order.added_up([(one, two, g)]), to_ground)
    matrix = np.diag(to_ground)
    for i, k, s in zip(one, two, g, strict=True):
        matrix[[i, k], [i, k]] += s * (i != k)
        matrix[[i, k], [k, i]] -= s * (i != k)
    z = np.zeros((n, n))
    z[1:, 1:] = np.linalg.inv(matrix[1:, 1:])
    a, b, nodes = rng.integers(0, n, (3, rows, width))
    amps = rng.normal(size=(rows, width))
    each = z[:, a] - z[:, b]  # (n, rows, width)
    at_nodes = np.array([each[nodes[r], r] for r in range(rows)])
    across = np.array([each[a[r], r] - each[b[r], r] for r in range(rows)])

    assert found.volts(a, b, amps) == pytest.approx((each * amps).sum(axis=2), abs=1e-9)
    assert found.at(nodes, a, b) == pytest.approx(at_nodes, abs=1e-9)
    assert found.across(a, b) == pytest.approx(across, abs=1e-9)
    assert found.across(a[:, :1], b[:, :1]) == pytest.approx(across[:, :1, :1], abs=1e-9)


def test_a_resistance_far_from_the_reference_keeps_its_digits() -> None:
    """Worked by hand: a wire of 1 mΩ at the end of 1 GΩ has 1 mΩ to 13 digits; the difference of voltages by 1 A
    at its ends, 1e9 V, would leave four."""
    order = Order(3, [(0, 1), (1, 2)])
    conductances = order.added_up([(np.array([0, 1]), np.array([1, 2]), np.array([1e-9, 1e3]))])
    found = Responses(order, conductances, np.array([0.0, 1e-30, 1e-30]))

    assert found.across(np.array([[1]]), np.array([[2]]))[0, 0, 0] == pytest.approx(1e-3, rel=1e-13)


def test_small_conductances_keep_their_digits() -> None:
    """Worked by hand: 1e4 S to ground through a node that a gigaohm leaves; of 1 A into the far end of the
    gigaohm all goes through it: 1e9 V and 1e-4 V, each to rounding."""
    order = Order(3, [(0, 1), (1, 2)])
    conductances = order.added_up([(np.array([0, 1]), np.array([1, 2]), np.array([1e4, 1e-9]))])
    v = order.solve(conductances[:, None], np.array([0.0, 1e-30, 1e-30]), np.array([[0.0], [0.0], [1.0]]))[:, 0]

    assert v[1] == pytest.approx(1e-4, rel=1e-12)
    assert v[2] - v[1] == pytest.approx(1e9, rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_many_networks_of_one_order_equal_plain_linear_algebra(seed: int) -> None:
    """Thirty networks that share the places of their branches, a third of them open in each."""
    rng = np.random.default_rng(seed)
    n, rows = 30, 30
    a, b = rng.integers(0, n, (2, 70))
    order = Order(n, zip(a.tolist(), b.tolist(), strict=True))
    g = np.where(rng.random((70, rows)) < 1 / 3, 0.0, 10 ** rng.uniform(-2, 2, (70, rows)))
    conductances, to_ground, injected = np.zeros((order.slots, rows)), np.full(n, 0.01), rng.normal(size=(n, rows))
    np.add.at(conductances, order.slot(a, b), g)

    volts = order.solve(conductances, to_ground, injected)

    assert order.knows(a, b).all()
    for row in range(rows):
        matrix = np.diag(to_ground)
        for one, two, s in zip(a, b, g[:, row], strict=True):
            matrix[[one, two], [one, two]] += s * (one != two)
            matrix[[one, two], [two, one]] -= s * (one != two)
        expected = np.linalg.solve(matrix[1:, 1:], injected[1:, row])
        assert np.abs(volts[1:, row] - expected).max() < 1e-9 * np.abs(expected).max()
    assert (volts[0] == 0).all()


def test_a_diode_that_loses_its_current_goes_where_it_carries_what_is_left() -> None:
    """By the law itself, i = I e^(v/s) below the threshold: a current that falls by 1e3 takes s ln 1e3 off the
    voltage, 0.21 V at 30 mV, where Newton's own step is 30 mV. Voltages that rise are left alone."""
    diode = Diode("diode", "a", "b")
    laws = PortLaws([diode])
    v = np.array([diode.threshold_v - 0.2])
    i, slope = laws.current_and_slope(v)
    to = laws.reached(v, v - i * (1 - 1e-3) / slope)

    assert v - to == pytest.approx(diode.soft_v * math.log(1e3), rel=2e-3)
    assert (laws.reached(v, v + 1.0) == v + 1.0).all()


def test_many_rows_at_once_equal_each_alone() -> None:
    """Solved as small differences from the healthy vehicle, and each from nothing: the same lamps to a microvolt."""
    harness = load_harness(PICKUP)
    changes = [NO_CHANGE, *(v.change for f in list_faults(harness) for v in f.variants)][::40]
    assert len(changes) > solver._FEW_ROWS
    predictor = Predictor(harness)
    setup = predictor.setup(harness.state({"lamp switch": "head", "brake pedal": "pressed", "gear": "reverse"}))
    table = predictor.table(changes)
    together, volts = predictor.panel(setup, table), predictor.filament_v(setup, table)
    for row, change in enumerate(changes):
        alone, own = Predictor(harness), predictor.table([change])
        assert np.abs(alone.filament_v(setup, own)[0] - volts[row]).max() < 1e-6
        assert (alone.panel(setup, own).blown[0] == together.blown[row]).all()


@pytest.mark.parametrize("beside", [1, 2, 3, 8, 9, 30])
def test_as_many_nodes_as_one_likes_leave_something_at_one_place(beside: int) -> None:
    """Nodes side by side between the same two: solved row by row as by plain linear algebra, however the arrays lie
    in memory."""
    nodes, rows = beside + 3, 4
    a = np.repeat([1, 2], beside + 1)
    b = np.concatenate([np.arange(3, nodes), [0], np.arange(3, nodes), [0]])
    order = Order(nodes, list(zip(a.tolist(), b.tolist(), strict=True)))
    rng = np.random.default_rng(beside)
    g, injected = rng.uniform(0.1, 9.0, (rows, len(a))), rng.normal(size=(nodes, rows))
    conductances = np.array([order.added_up([(a, b, x)]) for x in g]).T
    found = order.solve(conductances, np.full(nodes, 1e-9), injected)
    for k in range(rows):
        matrix = np.diag(np.full(nodes, 1e-9))
        for one, two, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            np.add.at(matrix, (one, two), sign * g[k])
        assert found[1:, k] == pytest.approx(np.linalg.solve(matrix[1:, 1:], injected[1:, k]), rel=1e-9)
    again = order.solve(np.ascontiguousarray(conductances), np.full(nodes, 1e-9), np.asfortranarray(injected))
    assert (again == found).all()
