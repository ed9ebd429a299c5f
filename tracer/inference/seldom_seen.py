"""How single lamps strike: those that hardly anybody looks at, and who has had them before his eyes all the same.

Of a plate lamp, a tell-tale or a panel lamp nothing is said because nobody looks. But who complains of a lamp at the
rear, in a state in which the plate lamp beside it should be lit, has stood behind the vehicle in that light; and who
complains of one lamp of the dash has looked at the dash. To the first it is a lamp like any other. (Of published
cases in which a small lamp was out beside what was complained of, R13, R19 and R43, all three tell of it: clock,
ashtray and glove-box lamp in one, plate lamps in two. By the rule of succession one in five is silent.) Who
complains of a plate lamp alone has rather seen that the tail lamps burn: those strike more.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Final

import numpy as np

from tracer.circuit.model import Bools, Floats
from tracer.harness.lamp_purposes import lamp_purposes, words_of
from tracer.harness.model import VehicleState
from tracer.inference.meant_states import LIT_ABOVE
from tracer.observation.forward_model import Predictor
from tracer.observation.words.lamps_called import TOWED

# How a single lamp strikes beside a group: rear ones are seen by others alone, one headlamp hides what another lacks.
ALONE: Final = 0.3
SELDOM_SEEN: Final = 0.02  # … and one that nobody looks at
LESSER: Final = 0.1  # … such a one, for who looked where it is (judgement, as all of these)

PLATE: Final = "number plate"
NOBODY_LOOKS: Final = frozenset({PLATE, "panel", "tell-tale"})
_DASH: Final = frozenset({"panel", "tell-tale"})
_AT_THE_REAR: Final = frozenset({"rear", "tail", "stop", "brake", "reversing", "reverse"})


class SeldomSeen:
    """Of one vehicle the lamps that nobody looks at."""

    def __init__(self, predictor: Predictor) -> None:
        self._predictor = predictor
        self._names = [f.lamp for f in predictor.lamps]

    @cached_property
    def _purposes(self) -> list[frozenset[str]]:
        purposes = lamp_purposes(self._predictor.harness)
        return [purposes.get(n, frozenset()) for n in self._names]

    @cached_property
    def looked_at(self) -> Bools:
        """(lamps,) whether one sees it in ordinary use."""
        return np.array([not own or bool(own - NOBODY_LOOKS) for own in self._purposes])

    def told(self, name: str) -> float:
        """How a lamp strikes that was told of."""
        return ALONE if self.looked_at[self._predictor.lamp_index[name]] else LESSER

    def untold(self, complained: Iterable[tuple[VehicleState, str]]) -> Floats:
        """(lamps,) how each strikes somebody who complained of these lamps, each in a state."""
        out = np.where(self.looked_at, ALONE, SELDOM_SEEN)
        for state, name in complained:
            lamp, lit = self._predictor.lamp_index[name], self._predictor.healthy(state).flux[0] > LIT_ABOVE
            alike = lit & self._near(lamp)
            out[alike] = np.maximum(out[alike], self.told(name))
        return out

    def _near(self, lamp: int) -> Bools:
        """(lamps,) which lamps that nobody looks at lie where somebody looked who complained of a lamp."""
        if self._purposes[lamp] & _DASH:
            return np.array([bool(own & _DASH) for own in self._purposes])
        towed = words_of(self._names[lamp]) & TOWED
        return np.array([PLATE in own and words_of(n) & TOWED == towed and self._at_the_rear(lamp)
                         for own, n in zip(self._purposes, self._names, strict=True)])

    def _at_the_rear(self, lamp: int) -> bool:
        """Whether it is a plate lamp, or in a unit of which a lamp is called so."""
        part = next(p for p in self._predictor.harness.parts.values()
                    if any(f.lamp == self._names[lamp] for f in p.lamps))
        return PLATE in self._purposes[lamp] or any(words_of(f.lamp) & _AT_THE_REAR for f in part.lamps)
