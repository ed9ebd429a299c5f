"""What is printed of cautions: dangers and cautions above the step, notes below it, nothing in both places."""

from __future__ import annotations

from tracer.safety.lines import above, as_data, notes
from tracer.safety.rules import Caution

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
