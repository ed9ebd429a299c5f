"""What a lamp or a fuse reads that was taken out: a circuit of its own, however large the vehicle is."""

from __future__ import annotations

from collections.abc import Container, Sequence

import numpy as np
from msgspec.structs import replace

from tracer.circuit.change_fields import Named
from tracer.circuit.model import Change, Circuit, Floats
from tracer.harness.model import Harness
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor

_OPEN_OHM = 1e6  # nothing leaks in the hand: more is what the solver's last nanoamperes make of an open circuit


class InHand:
    """Resistances across things that a test takes out of the vehicle, for all of the rows of `changes`."""

    def __init__(self, harness: Harness, changes: Sequence[Change]) -> None:
        self._harness = harness
        self._changes = changes
        self._of_part: dict[str, tuple[Predictor, list[Change], list[int]]] = {}

    def ohms(self, test: Test, part: str) -> Floats:
        """What the ohmmeter shows (H,) in a test that takes a thing out of `part` and measures it, Ω."""
        if part not in self._of_part:
            alone = replace(
                self._harness, parts={part: self._harness.parts[part]}, connectors={}, splices={}, earths={},
                wires=(), joints=(),
            )
            predictor = Predictor(alone)
            # Most faults are elsewhere: to the part they are no fault at all.
            found: dict[Change, int] = {}
            one_of = [found.setdefault(_within(c, predictor.circuit), len(found)) for c in self._changes]
            self._of_part[part] = predictor, list(found), one_of
        predictor, changes, one_of = self._of_part[part]
        ohm = predictor.observed(test, changes)
        return np.asarray(np.where(ohm > _OPEN_OHM, np.inf, ohm)[one_of])


def _within(change: Change, circuit: Circuit) -> Change:
    """The part of a change that lies in a circuit."""
    known: dict[Named, Container[str]] = {
        "branch": circuit.branch_index, "port": circuit.port_index, "node": circuit.index}
    lies_in = change.only(lambda row: bool(row.names))
    return lies_in.kept(lambda named, name: named not in known or name in known[named])
