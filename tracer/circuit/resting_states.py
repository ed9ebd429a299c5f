"""Rows that may have more than one resting state of their relays, to be settled from the state before.

A relay that holds on the healthy vehicle is taken to hold at first on a faulty one too. That is right unless what
hangs on its break contact is what keeps it from pulling in: with a short there, the coil never sees its pick-up
voltage when the switch is closed, though it would hold if something else had pulled it in. Such rows begin with all
relays at rest, as the vehicle does before anything is switched on.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracer.circuit.change_table import ChangeTable, pinned_open
from tracer.circuit.model import Bools, Circuit, Floats, Setup
from tracer.harness.devices import RelayContact

_STIRS_A = 0.05  # less than this in a wire does not keep a coil from pulling in


class RestingStates:
    """Tells which rows carry another current with the relays at rest than with them pulled in."""

    def __init__(self, circuit: Circuit, contacts: Sequence[RelayContact]) -> None:
        self._circuit = circuit
        self.breaks = frozenset(c.coil for c in contacts if not c.makes)

    def may_differ(self, pulled_in: frozenset[str]) -> bool:
        """Whether some relay that holds has a contact that is closed at rest; only such a one can be kept down by its
        own load."""
        return bool(self.breaks & pulled_in)

    def doubtful(
        self, setup: Setup, table: ChangeTable, at_rest_v: Floats, pulled_in: frozenset[str], pulled_v: Floats
    ) -> Bools:
        """Rows (H,) whose changes carry something else at rest than pulled in.

        Args:
            setup: Of the healthy vehicle whose node voltages are `at_rest_v` (n,) with all relays held at rest, and
                `pulled_v` (n,) with the coils `pulled_in` holding.
        """
        most = None
        for holding, volts in ((frozenset[str](), at_rest_v), (pulled_in, pulled_v)):
            g = self._circuit.conductances(setup, holding)
            deltas = table.deltas(g, pinned_open(self._circuit, setup), setup.done.removed, setup.state)
            amps = deltas * (volts[table.a] - volts[table.b])
            most = amps if most is None else most - amps
        assert most is not None
        return np.asarray((np.abs(most) > _STIRS_A).any(axis=1))
