"""What the learner's vehicle answers: the simulated vehicle's readings as a real instrument shows them."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from typing import Final

from tracer.faults import Fault
from tracer.harness.model import Harness, VehicleState
from tracer.harness.node import node_of
from tracer.inference.visual_inspection import MOVES_LOOSE, where_seen
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.practice.hidden_faults import Hidden
from tracer.practice.simulated_vehicle import PracticeVehicle

# A common multimeter of 3½ digits: half a per cent of volts and one digit, one per cent of ohms, two of amperes.
# (Common practice, no source.)
_SPREAD: Final = {"V": (0.005, 0.01), "Ω": (0.01, 0.1), "kΩ": (0.01, 0.0), "A": (0.02, 0.01), "mA": (0.02, 1.0)}
_NUMBER: Final = re.compile(r"(-?\d+(?:\.(\d+))?) (V|Ω|kΩ|A|mA)")
# The battery of the day, as a share of what the harness file says: charged, more or less.
_BATTERY: Final = (0.955, 1.005)
AWAKE: Final = 0.5  # how often a loose contact shows in an exercise: oftener than on the road, so that it ends


class LearnersVehicle:
    """Answers as somebody would read it off. The same question asked the same number of times is answered alike."""

    def __init__(self, harness: Harness, hidden: Hidden, seed: int) -> None:
        self.harness, self.hidden, self.seed = harness, hidden, seed
        self.supply_v = Predictor(harness).emf * random.Random(f"battery {seed}").uniform(*_BATTERY)
        own = Predictor(harness, self.supply_v)
        self._bad = PracticeVehicle(harness, hidden.change, self.supply_v, hidden.faults, own)
        self._good = PracticeVehicle(harness, hidden.sound, self.supply_v, predictor=own)

    def answer(self, test: Test, asked: int) -> str:
        """What a test shows. `asked`: how many questions were asked before it, for what comes and goes."""
        chance = random.Random(f"{self.seed} {asked}")
        if test.row.findings and test.row.moves and self.hidden.loose:
            found, nothing = test.row.findings
            return found if self._moves(test) and chance.random() < MOVES_LOOSE else nothing
        here = self._bad if not self.hidden.loose or test.row.by_hand or chance.random() < AWAKE else self._good
        return _as_shown(here.answer(test), random.Random(f"{self.seed} {test.says(self.harness)}").gauss)

    def looks(self, state: VehicleState, asked: int) -> dict[str, str]:
        """Every lamp's look in a state."""
        awake = not self.hidden.loose or random.Random(f"{self.seed} {asked}").random() < AWAKE
        return (self._bad if awake else self._good).looks(state)

    def lasting_looks(self, state: VehicleState) -> dict[str, str]:
        """Every lamp's look in a state by whoever waits for what comes and goes, and moves it."""
        return self._bad.looks(state)

    def lasting_reading(self, test: Test) -> str:
        """What a test shows to him."""
        return _as_shown(self._bad.answer(test), random.Random(f"{self.seed} {test.says(self.harness)}").gauss)

    def sound_looks(self, state: VehicleState) -> dict[str, str]:
        """Every lamp's look in a state with nothing wrong."""
        return self._good.looks(state)

    def _moves(self, test: Test) -> bool:
        """Whether what is loose lies where it is moved, and shows in the lamp that is watched."""
        thing = test.thing(self.harness)
        if not any(thing in where_seen(f, self.harness) or self._holds(f, thing.name) for f in self.hidden.faults):
            return False
        bad, good = (v.looks(test.state).get(test.lamp) for v in (self._bad, self._good))
        return bad != good

    @staticmethod
    def _holds(fault: Fault, name: str) -> bool:
        return node_of(fault.node).owner == name


def _as_shown(text: str, gauss: Callable[[float, float], float]) -> str:
    """A value as the meter shows it that is in the hand today, off by its spread; anything else as it is."""
    found = _NUMBER.fullmatch(text)
    if found is None:
        return text
    share, digit = _SPREAD[found[3]]
    places = len(found[2] or "")
    value = float(found[1])
    shown = value + gauss(0.0, 1.0) * (abs(value) * share / 2 + digit / 2) if value else value
    if found[3] == "Ω":
        shown = max(shown, 0.0)
    return f"{shown + 0.0:.{places}f} {found[3]}"
