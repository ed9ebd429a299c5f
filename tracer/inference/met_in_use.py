"""A state that everybody meets in use though no lamp needs it: braking with the lights on.

By night nobody brakes with the lights off. What is odd only then, as a lamp unit that goes dark altogether because
its earth is lost while each of its lamps alone finds a way back through the others, strikes as much as what is odd by
day, and is told as often. Turning by night is left out: it shows little more, and every state takes its time.
"""

from __future__ import annotations

from collections.abc import Sequence

from tracer.harness.lamp_purposes import lamp_purposes
from tracer.harness.model import VehicleState
from tracer.inference.meant_states import LIT_ABOVE
from tracer.observation.forward_model import Predictor


def met_by_night(predictor: Predictor, states: Sequence[VehicleState]) -> list[VehicleState]:
    """The first of some states in which the side lamps are lit, joined with the first in which the stop lamps are;
    none if that is among them."""
    harness, rest = predictor.harness, frozenset(predictor.harness.state({}).positions)
    night, braking = (next((s for s in states if _lit(predictor, s, p)), None) for p in ("side", "stop"))
    if night is None or braking is None:
        return []
    lights, brakes = (dict(frozenset(s.positions) - rest) for s in (night, braking))
    both = harness.state({**lights, **brakes})
    return [] if lights.keys() & brakes.keys() or both in states else [both]


def _lit(predictor: Predictor, state: VehicleState, purpose: str) -> bool:
    flux, of = predictor.healthy(state).flux[0], lamp_purposes(predictor.harness)
    return any(flux[i] > LIT_ABOVE and purpose in of.get(n, ()) for n, i in predictor.lamp_index.items())
