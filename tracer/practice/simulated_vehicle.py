"""A vehicle with a known fault that answers tests: to practise on, and to measure the tool by."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.circuit.model import NO_CHANGE, Change
from tracer.faults import Fault
from tracer.harness.inspectable import Thing
from tracer.harness.model import Harness, VehicleState
from tracer.inference.explanation import say_lamp, say_value
from tracer.inference.visual_inspection import shows_in, where_seen, worked_at
from tracer.inference.wire_ends import across, at_end
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.observation.words.looked_over import MOST_LOST_V


class PracticeVehicle:
    """Answers what an electrician would see and measure on a vehicle with the fault `truth`.

    `supply_v`: the battery's own voltage, which the tool is not told. `faults`: what the change is of, for a look
    along a wire or into a plug; without them nobody can look there. `predictor`: one of this harness and voltage,
    where several vehicles share it.
    """

    def __init__(
        self, harness: Harness, truth: Change, supply_v: float | None = None, faults: Sequence[Fault] = (),
        predictor: Predictor | None = None,
    ) -> None:
        self.harness = harness
        self.truth = truth
        self.faults = faults
        self._predictor = predictor or Predictor(harness, supply_v)

    def answer(self, test: Test) -> str:
        """What the test shows, as the electrician would type it: "dark", "normal, flashing", "11.83 V"."""
        predictor = self._predictor
        if test.row.findings:
            found, nothing = test.row.findings
            if test.row.moves:
                return found if self._worked(test) else nothing
            if test.row.at_end:
                return found if self._lost(test) else nothing
            return self._look_over(test.thing(self.harness), found, nothing)
        if not test.row.of_lamps:
            return say_value(test.kind, float(predictor.observed(test, [self.truth])[0]))
        done = test.change(predictor.circuit)
        panel = predictor.panel(predictor.setup(test.state, done), predictor.table([self.truth], done))
        return _typed(say_lamp(panel, predictor, test.lamp))

    def _worked(self, test: Test) -> bool:
        """Whether the watched lamp comes or goes: a switch that is set wrong works by hand. All other faults stay."""
        predictor, thing = self._predictor, test.thing(self.harness)
        if thing not in [worked_at(f) for f in self.faults]:
            return False
        panel = predictor.panel(predictor.setup(test.state), predictor.table([self.truth]))
        return bool(shows_in(panel, predictor, test)[0])

    def _lost(self, test: Test) -> bool:
        """Whether volts are lost at the end of a wire by what lies there."""
        lies_there, share = at_end(test, self.faults, self.truth, self.harness)
        along = float(self._predictor.observed(across(test), [self.truth])[0])
        return lies_there > 0.5 and abs(along) * share > MOST_LOST_V

    def _look_over(self, thing: Thing, found: str, nothing: str) -> str:
        """What is mostly found in sight is found."""
        if not self.faults:
            return "could not"
        seen = max(where_seen(f, self.harness).get(thing, 0.0) for f in self.faults)
        return found if seen >= 0.5 else nothing

    def looks(self, state: VehicleState) -> dict[str, str]:
        """Every lamp's look in a state, as `answer` says it."""
        return looks_of(self._predictor, self.truth, [state])[0]


def looks_of(predictor: Predictor, truth: Change, states: Sequence[VehicleState]) -> list[dict[str, str]]:
    """Every lamp's look in each of the states, with what is really there."""
    if truth == NO_CHANGE:
        predictor.know(states)
        panels = [predictor.healthy(state) for state in states]
    else:
        table = predictor.table([truth])
        panels = predictor.panels([(predictor.setup(state), table) for state in states])
    return [{f.lamp: _typed(say_lamp(panel, predictor, f.lamp)) for f in predictor.lamps} for panel in panels]


def _typed(look: str) -> str:
    """A look as one would type it."""
    return look.replace(" instead of flashing", "")
