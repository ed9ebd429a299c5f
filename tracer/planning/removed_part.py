"""What a lamp or a fuse reads that was taken out: a circuit of its own, however large the vehicle is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

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
    branches, ports, nodes = circuit.branch_index, circuit.port_index, circuit.index
    return Change(
        set_ohm=tuple(x for x in change.set_ohm if x[0] in branches),
        added=tuple(x for x in change.added if x.a in nodes and x.b in nodes),
        dead=tuple(x for x in change.dead if x in ports),
        scaled=tuple(x for x in change.scaled if x[0] in ports),
        contacts=tuple(x for x in change.contacts if x[0] in branches),
        inverted=tuple(x for x in change.inverted if x in branches),
        ratings=tuple(x for x in change.ratings if x[0] in branches),
        light=tuple(x for x in change.light if x[0] in ports),
    )
