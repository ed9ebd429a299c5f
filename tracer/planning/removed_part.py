"""What lamps and fuses read that were taken out: a circuit of their own, however large the vehicle is."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from tracer.circuit.change_fields import Named
from tracer.circuit.model import Change, Circuit, Floats
from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor

_OPEN_OHM = 1e6  # nothing leaks in the hand: more is what the solver's last nanoamperes make of an open circuit


def ohms_in_hand(harness: Harness, changes: Sequence[Change], tests: Mapping[Test, str]) -> list[Floats]:
    """What the ohmmeter shows (H,) of each row of `changes`, Ω, in tests that take a thing out of a part and measure
    it; all the parts lie side by side, with nothing between them."""
    if not tests:
        return []
    alone = replace(
        harness, parts={part: harness.parts[part] for part in dict.fromkeys(tests.values())}, connectors={},
        splices={}, earths={}, wires=(), joints=(),
    )
    predictor = Predictor(alone)
    # Most faults are elsewhere: to the parts they are no fault at all.
    found: dict[Change, int] = {}
    one_of = [found.setdefault(_within(c, predictor.circuit), len(found)) for c in changes]
    shown = predictor.observed_several([*tests], list(found))
    return [np.asarray(np.where(ohm > _OPEN_OHM, np.inf, ohm)[one_of]) for ohm in shown]


def _within(change: Change, circuit: Circuit) -> Change:
    """The part of a change that lies in a circuit."""
    known: dict[Named, Container[str]] = {
        "branch": circuit.branch_index, "port": circuit.port_index, "node": circuit.index}
    lies_in = change.only(lambda row: bool(row.names))
    return lies_in.kept(lambda named, name: named not in known or name in known[named])
