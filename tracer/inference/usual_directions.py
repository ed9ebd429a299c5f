"""Which way current usually goes through each device: what goes the other way is a back-feed."""

from __future__ import annotations

from weakref import WeakKeyDictionary

from tracer.circuit.model import NO_CHANGE
from tracer.inference.current_paths import Flow, flow
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor

FLOWS_A = 0.02  # less is stray current that lights nothing
WORTH = 0.03  # share of a device's healthy current below which a reversal is not worth the name

_usual: WeakKeyDictionary[Predictor, Usual] = WeakKeyDictionary()


def usual_of(predictor: Predictor) -> Usual:
    """The usual directions, remembered as long as the predictor lives."""
    if predictor not in _usual:
        _usual[predictor] = Usual(predictor)
    return _usual[predictor]


class Usual:
    """The direction in which each device carries current on a healthy vehicle, over its states."""

    def __init__(self, predictor: Predictor) -> None:
        self.most: dict[str, float] = {}  # A, with its sign, where it is largest
        least: dict[str, float] = {}
        for state in basic_states(predictor.harness):
            for name, amps in flow(predictor, predictor.setup(state), NO_CHANGE).signed.items():
                self.most[name] = max(self.most.get(name, 0.0), amps)
                least[name] = min(least.get(name, 0.0), amps)
        for name, low in least.items():
            high = self.most[name]
            large, small = max(high, -low), min(high, -low)
            self.most[name] = (high if high >= -low else low) if small < 0.1 * large else 0.0

    def against(self, found: Flow) -> frozenset[str]:
        """Devices that carry a current worth the name against their usual direction."""
        return frozenset(
            n for n, amps in found.signed.items()
            if amps * self.most.get(n, 0.0) < 0 and abs(amps) >= max(FLOWS_A, WORTH * abs(self.most[n]))
        )
