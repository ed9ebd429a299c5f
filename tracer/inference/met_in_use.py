"""States that everybody meets in use though no lamp needs them: braking and signalling with the lights on.

By night nobody brakes with the lights off. What is odd only then, as a lamp unit that goes dark altogether because
its earth is lost while each of its lamps alone finds a way back through the others, strikes as much as what is odd by
day, and is told as often.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from tracer.harness.lamp_purposes import INDICATORS, lamp_purposes
from tracer.harness.model import VehicleState
from tracer.inference.meant_states import LIT_ABOVE
from tracer.observation.forward_model import Predictor

_SIGNALS: Final = frozenset(("stop", *INDICATORS))


def met_by_night(predictor: Predictor, states: Sequence[VehicleState]) -> list[VehicleState]:
    """The first of some states in which the side lamps are lit, joined with each in which a signal is; without those
    that are among them."""
    harness, rest = predictor.harness, frozenset(predictor.harness.state({}).positions)
    night = next((s for s in states if _lit(predictor, s, frozenset(("side",)))), None)
    if night is None or frozenset(night.positions) == rest:
        return []
    lights = dict(frozenset(night.positions) - rest)
    found = []
    for state in states:
        moved = dict(frozenset(state.positions) - rest)
        if moved and not moved.keys() & lights.keys() and _lit(predictor, state, _SIGNALS):
            found.append(harness.state({**lights, **moved}))
    return [s for s in dict.fromkeys(found) if s not in states]


def _lit(predictor: Predictor, state: VehicleState, purposes: frozenset[str]) -> bool:
    flux, of = predictor.healthy(state).flux[0], lamp_purposes(predictor.harness)
    lit = (n for n, i in predictor.lamp_index.items() if flux[i] > LIT_ABOVE)
    return any(of.get(n, frozenset()) & purposes for n in lit)
