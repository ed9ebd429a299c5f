"""What is asked again of some hypotheses is what was found of all, and what lies near a fault is bounded."""

from __future__ import annotations

import numpy as np

from tests.bench.bench_small_files import lamps_on_one_fuse
from tests.library import MODELS
from tracer.circuit.model import build_circuit
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness, read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import by_change
from tracer.inference.multiple_faults import Several
from tracer.inference.shown import Shown
from tracer.inference.statement_model import Sayable


def test_looks_are_those_of_all_where_these_were_solved() -> None:
    """Of a change that is not among them, and in a state that was not looked at, they are solved anew."""
    tool = Investigator(load_harness(MODELS / "rear_end.yaml"))
    singles, sayable = by_change(tool.singles)[0], Sayable(tool.predictor)
    shown = Shown(sayable, singles)
    seen, other = sayable.states[-1], sayable.states[0]
    whole = shown.panel(seen)
    asked = [singles[40], singles[3] | singles[200], singles[7], singles[40]]
    known, anew = shown.looks([seen, other], asked)
    assert np.array_equal(known.flux[[0, 2, 3]], whole.flux[[40, 7, 40]])
    for panel, state in ((known, seen), (anew, other)):
        plain = tool.predictor.panel(tool.predictor.setup(state), tool.predictor.table(asked))
        np.testing.assert_allclose(panel.flux, plain.flux, atol=1e-6)
        assert np.array_equal(panel.blown, plain.blown)
    shown.keep(np.arange(10))
    assert shown.whole(seen) is not None
    shown.panel(other)
    assert shown.whole(other) is None


def test_near_a_splice_of_many_wires_lie_the_nearest() -> None:
    harness = read_harness(lamps_on_one_fuse(120))
    faults = list_faults(harness)
    several = Several(build_circuit(harness), faults)
    node = next(f for f in faults if f.kind == "filament open" and f.name.endswith("lamp 7")).node
    near = [f.name for f in several.around(node)]
    assert len(near) == len(set(near)) <= 400
    assert {f.name for f in faults if node in (f.node, *(f.across or ()))} <= set(near)
    hub = several.around("S1")
    assert len(hub) == 400
    nearest = {f.name for f in faults if "S1" in (f.node, *(f.across or ()))}
    assert len(nearest) > 100 and all(f.name in nearest for f in hub[:100])
