"""What is printed of cautions: dangers and cautions above the step, notes below it, nothing in both places."""

from __future__ import annotations

import pytest

from tests.library import MODELS, tool_on
from tracer.faults import find_fault
from tracer.safety.advice import of_repair
from tracer.safety.lines import above, as_data, notes
from tracer.safety.rules import Caution, cautions_of

SAID = (
    Caution("note", "rules", "Local rules hold."), Caution("caution", "burns", "The lamp is hot."),
    Caution("danger", "hydrogen", "No sparks."), Caution("note", "gloves", "Wear gloves.", again=True),
    Caution("caution", "glass", "Touch no glass.", again=True), Caution("danger", "wheels", "Chock it.", again=True),
)


def test_above_stands_what_may_hurt_and_below_what_is_said_once() -> None:
    """A danger is said in full again; of a caution shown before its head word is left, of a note nothing."""
    assert above(SAID) == [("DANGER: ", "No sparks."), ("DANGER: ", "Chock it."), ("Caution: ", "The lamp is hot."),
                           ("Caution: ", "as before: glass")]
    assert notes(SAID) == ["Local rules hold."]


def test_other_programs_get_all_in_full() -> None:
    assert as_data(SAID) == [{"grade": c.grade, "text": c.text} for c in SAID]


@pytest.mark.parametrize(("fault", "headlamp"), [
    ("filament open: left headlamp dip", True), ("lamp missing: left headlamp main + left headlamp dip", True),
    ("filament open: left rear tail", False), ("lamp missing: number-plate lamp", False),
    ("filament open: main beam tell-tale", False),
])
def test_whose_glass_must_not_be_held_is_said_of_the_lamp_in_the_hand(fault: str, headlamp: bool) -> None:
    """Of no other lamp of the vehicle: a tail lamp is held by its cap like any."""
    tool = tool_on(MODELS / "car_1950s.yaml")
    said = [c.text for c in cautions_of(of_repair([find_fault(tool.faults, fault)], tool.harness))]
    hot = [text for text in said if text.startswith("Hot lamp:")]
    assert len(hot) == 1 and ("not the glass" in hot[0]) == headlamp
