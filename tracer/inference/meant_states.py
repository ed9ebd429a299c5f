"""Which vehicle state was meant by somebody who told it wrongly: the lights were on as well, or another one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Final

from tracer.harness.lamp_purposes import lamp_purposes
from tracer.harness.model import VehicleState
from tracer.observation.forward_model import Predictor

LIT_ABOVE: Final = -1.2  # decades of light: what is fainter is easily missed
_MOST_STATES: Final = 2


class MeantStates:
    """The states of one vehicle that are taken for one another."""

    def __init__(self, predictor: Predictor, basic: Sequence[VehicleState]) -> None:
        self._predictor, self._basic = predictor, basic
        self._rest = predictor.harness.state({})

    def states(self, told: VehicleState, amiss: int | None = None) -> list[tuple[VehicleState, float]]:
        """States that may have been meant instead, each with its share.

        `amiss`: a lamp that was called dark in a state in which it should be, so that one was meant that lights it.
        What it needs besides what was told goes without saying ("with the lights on the stop lamp is dark"); any
        other state is one of all that could have been told.
        """
        if amiss is None:
            found = self._mistaken(told)
            return [(s, 1 / len(found)) for s in found]
        lit = [s for s in self._basic if self._predictor.healthy(s).flux[0, amiss] > LIT_ABOVE]
        moved = frozenset(told.positions) - frozenset(self._rest.positions)
        return [(s, (1 if moved <= frozenset(s.positions) else 1 / len(self._basic)) / len(lit)) for s in lit]

    def _mistaken(self, state: VehicleState) -> list[VehicleState]:
        """The lights were on as well; a control named stood where it always does."""
        found = [state.having(c, self._rest[c]) for c, p in state.positions if p != self._rest[c]]
        if self._lights is not None and state[self._lights[0]] == self._rest[self._lights[0]]:
            found.insert(0, state.having(*self._lights))
        return found[:_MOST_STATES]

    @cached_property
    def _lights(self) -> tuple[str, str] | None:
        """The control and the position that switch the side lamps on, most of them."""
        purposes = lamp_purposes(self._predictor.harness)
        side = [self._predictor.lamp_index[n] for n, p in purposes.items() if "side" in p]
        best: tuple[int, tuple[str, str] | None] = (0, None)
        for state in self._basic if side else ():
            lit = int((self._predictor.healthy(state).flux[0, side] > LIT_ABOVE).sum())
            moved = [(c, p) for c, p in state.positions if p != self._rest[c]]
            if lit > best[0] and len(moved) == 1:
                best = lit, moved[0]
        return best[1]
