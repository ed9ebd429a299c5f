"""Controls and positions as typed become the vehicle state that was meant, or an error that lists what there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from tracer.errors import SymptomError, TracerError, UnknownNameError
from tracer.harness.file.text import load_harness
from tracer.observation.words.states import parse_state

PICKUP = load_harness(Path(__file__).parents[2] / "harness_models" / "pickup.yaml")


@pytest.mark.parametrize(("text", "state"), [
    ("reverse", "ignition on, gear reverse"),
    ("the gear lever is in reverse", "ignition on, gear reverse"),
    ("foot on the brake", "ignition on, brake pedal pressed"),
    ("braking", "ignition on, brake pedal pressed"),
    ("brake not pressed", "ignition on"),
    ("side lights on", "ignition on, lamp switch side"),
    ("headlights on main beam", "ignition on, lamp switch head, dip switch main"),
    ("ignition off; hazards on", "ignition off, hazard switch on"),
    ("hazard lights on", "ignition on, hazard switch on"),
    ("ignition on gear reverse", "ignition on, gear reverse"),
    ("hazard switch", "ignition on, hazard switch on"),
    ("brake", "ignition on, brake pedal pressed"),
    ("not brake", "ignition on"),
    ("engine running", "ignition on, engine running"),
    ("engine not running", "ignition on"),
    ("the engine is running", "ignition on, engine running"),
    ("ign on + gear rev", "ignition on, gear reverse"),
    ("everything off", "ignition off"),
    ("nothing on", "ignition off"),
    ("brake pressed, everything else off", "ignition off, brake pedal pressed"),
    ("brake pedal at rest", "ignition on"),
    ("Ignition ON, Gear REVERSE", "ignition on, gear reverse"),
])
def test_states(text: str, state: str) -> None:
    assert state == PICKUP.say_state(parse_state(text, PICKUP))


@pytest.mark.parametrize(("text", "kind", "message"), [
    ("on", SymptomError,
     "“on” could be ignition on or hazard switch on (name the control as well)"),
    ("ignition on, ignition off", SymptomError,
     "ignition cannot be both on and off (record what was seen in each position as a symptom of its own)"),
    ("lights on", SymptomError,
     "“lights on” does not say which position (lamp switch: off, side, head)"),
    ("gear reserve", UnknownNameError,
     "no control position “gear reserve” (did you mean “gear reverse” or “gear neutral” or “gear forward”?)"),
    ("main beam on", SymptomError,
     "“main beam on” tells only where the dip switch stands (name the other controls too, or write "
     "“dip switch main”)"),
    ("engine running, engine off", SymptomError,
     "the engine cannot be both running and off (record what was seen in each as a symptom of its own)"),
    ("engine running backwards", SymptomError,
     "“engine running backwards” does not say whether the engine runs (say “engine running” or “engine off”)"),
    ("engine warm", SymptomError,
     "“engine warm” does not say whether the engine runs (say “engine running” or “engine off”)"),
    ("everything off, brake pressed", SymptomError,
     "“everything off” and “brake pedal pressed” cannot both be (say “everything else off”)"),
    ("everything sideways off", SymptomError,
     "“everything sideways off” is not a vehicle state (say “everything off” or “everything else off”)"),
    ("", SymptomError,
     "the position of no control is given (such as “everything off” or “ignition on”)"),
    ("x" * 2001, SymptomError, "“" + "x" * 59 + "…” is too long (at most 2000 characters)"),
    ("on " * 13, SymptomError,
     "“" + "on " * 12 + "on” is too long for one control (put commas between the controls)"),
])
def test_error_texts(text: str, kind: type[TracerError], message: str) -> None:
    with pytest.raises(TracerError) as caught:
        parse_state(text, PICKUP)

    assert message == str(caught.value)
    assert type(caught.value) is kind


@pytest.mark.parametrize("text", [
    "handbrake not pulled", "seat heater in use", "wipers not used", "spot pulled", "no wipers",
])
def test_where_no_control_is_named_all_that_there_are_are_told(text: str) -> None:
    """Little words beside an unknown thing are no hint of any control: neither some of them nor none are told."""
    with pytest.raises(UnknownNameError) as refused:
        parse_state(text, PICKUP)
    told = str(refused.value)
    assert told.startswith(f"no control position “{text}” (known: ")
    assert all(f"{name} {x}" in told for name in ("ignition", "brake pedal") for x in PICKUP.controls[name].positions)
