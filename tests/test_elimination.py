"""The inverse by taking nodes out, against networkx and against plain linear algebra; and the engine's own two
ways to many hypotheses against each other."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from tracer import solver
from tracer.circuit import NO_CHANGE
from tracer.elimination import inverse, neighbours, solved
from tracer.faults import list_faults
from tracer.harness_file.text import load_harness
from tracer.predictions import Predictor

PICKUP = Path(__file__).parents[1] / "harness_models" / "pickup.yaml"


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
    z = inverse(neighbours(n, [(a, b, g)]), np.full(n, 1e-15))

    for one, two in rng.integers(0, n, (20, 2)):
        if one != two:
            expected = nx.resistance_distance(graph, int(one), int(two), weight="ohm", invert_weight=True)
            assert z[one, one] + z[two, two] - 2 * z[one, two] == pytest.approx(expected, rel=1e-8)


def test_small_conductances_keep_their_digits() -> None:
    """Worked by hand: 1e4 S to ground through a node that a gigaohm leaves; of 1 A into the far end of the
    gigaohm all goes through it: 1e9 V and 1e-4 V, each to rounding."""
    near = neighbours(3, [(np.array([0, 1]), np.array([1, 2]), np.array([1e4, 1e-9]))])
    v = solved(near, np.array([0.0, 1e-30, 1e-30]), np.array([0.0, 0.0, 1.0]))

    assert v[1] == pytest.approx(1e-4, rel=1e-12)
    assert v[2] - v[1] == pytest.approx(1e9, rel=1e-12)


def test_many_rows_at_once_equal_each_alone() -> None:
    """Solved as small differences from the healthy vehicle, and each from nothing: the same lamps to a microvolt."""
    harness = load_harness(PICKUP)
    changes = [NO_CHANGE, *(v.change for f in list_faults(harness) for v in f.variants)][::40]
    assert len(changes) > solver._FEW_ROWS
    predictor = Predictor(harness)
    setup = predictor.setup(harness.state({"lamp switch": "head", "brake pedal": "pressed", "gear": "reverse"}))
    together = predictor.panel(setup, predictor.table(changes))
    for row, change in enumerate(changes):
        alone = Predictor(harness).panel(setup, predictor.table([change]))
        assert np.abs(alone.volts[0] - together.volts[row]).max() < 1e-6
        assert (alone.blown[0] == together.blown[row]).all()
