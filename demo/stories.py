"""The invented jobs that `play.py` plays: vehicle, planted fault, complaint, what is seen, what is measured first."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Story:
    """One job.

    Attributes:
        harness: Name of a model in harness_models.
        planted: Fault by name, at the severity that begins with `severity`; the tool is told neither.
        supply_v: The battery's own voltage, which the tool is not told either.
        seen: Symptoms as a person types them.
        measured: Tests that the person makes on their own before asking for one.
        part, minutes: Of the repair; no part was fitted if it is empty.
    """

    harness: str
    planted: str
    supply_v: float
    vehicle: str
    complaint: str
    seen: tuple[str, ...]
    part: str
    minutes: str
    severity: str = ""
    measured: tuple[str, ...] = ()


STORIES = {
    "pickup": Story(
        "pickup.yaml", "earth open: E4", 12.3, "Invented pick-up, plate T 1970",
        "Left reversing lamp is weak and something red glows with it",
        ("left rear reversing lamp dim, left rear tail faint when gear reverse",
         "right rear reversing lamp normal when gear reverse"),
        "ring terminal", "12",
    ),
    "trailer": Story(
        "tow_7pin.yaml", "ways crossed: X1 ways 5 and 6", 12.4, "Invented estate car with box trailer",
        "Since the trailer plug was renewed the trailer has no brake lamps",
        ("trailer left stop dark, trailer right stop dark, trailer right tail full brightness, trailer plate lamp "
         "full brightness when "
         "brake pedal pressed",
         "car left rear stop normal, car right rear stop normal when brake pedal pressed"),
        "", "10",
    ),
    "motorcycle": Story(
        "motorcycle_6v.yaml", "way bad: C1 way 4", 6.2, "Invented 6 V twin, positive earth",
        "Tail lamp only glows; a new lamp made no difference, the holder shows full battery voltage",
        ("rear lamp tail faint, headlamp pilot normal, speedometer lamp normal when lamp switch pilot",
         "rear lamp stop normal when brake pedal pressed"),
        "contact for C1", "15", severity="about 10",
        measured=("volts rear lamp.tail when lamp switch pilot, rear lamp tail out",
                  "volts rear lamp.tail when lamp switch pilot"),
    ),
}
