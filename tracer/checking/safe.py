"""What the names in a harness suggest and safety needs to be told: what drives or rolls the vehicle, what it is."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.checking.findings import Finding
from tracer.checking.scene import Rule, Scene
from tracer.errors import Mark
from tracer.harness.lamp_purposes import words_of
from tracer.harness.model import Control
from tracer.harness.vehicle_kinds import DRIVING_WORDS, ROLLING_PAIRS, ROLLING_WORDS, kinds_in_title


def drives_or_rolls(scene: Scene) -> Iterator[Finding]:
    """A control whose name is that of a gear lever or a handbrake, and that does not say what it does."""
    for control in scene.harness.controls.values():
        for words in map(words_of, (control.name, *control.also)):
            if words & DRIVING_WORDS and control.drives is None:
                yield _asked(control, "drives", "a gear lever", "the engine drives the vehicle")
                break
            if (words & ROLLING_WORDS or (any(p <= words for p in ROLLING_PAIRS) and "lever" not in words)) and (
                control.rolls is None and control.drives is None
            ):
                yield _asked(control, "rolls", "a handbrake", "the vehicle can roll")
                break


def _asked(control: Control, key: str, like: str, what: str) -> Finding:
    return Finding(
        "moves the vehicle", "note",
        f"{control.name} is {like} by its name, and it is not said in which positions {what}",
        f"write {key}: [{control.positions[-1 if key == 'drives' else 0]}], or {key}: [] if in none", control.mark,
    )


def kind_of_vehicle(scene: Scene) -> Iterator[Finding]:
    """A title that names a kind of vehicle which the file does not state."""
    kinds = kinds_in_title(scene.harness.title)
    if kinds and not scene.harness.vehicle:
        one = kinds[0] if len(kinds) == 1 else f"[{', '.join(kinds)}]"
        yield Finding("kind of vehicle", "note", "the title names a kind of vehicle, the file does not",
                      f"write vehicle: {one}; what is said of safety goes by it", Mark(scene.harness.file, 1, 1))


RULES: tuple[Rule, ...] = (drives_or_rolls, kind_of_vehicle)
