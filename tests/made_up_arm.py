"""A kind of part that somebody might add, for tests of what a newcomer forgets: a semaphore arm with its lamp.

Invented: a car with two arms that a solenoid lifts; up, each closes the contact that feeds its own lamp.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tracer.harness.built_parts import Built, Kind, Setting, lamp_in_holder
from tracer.harness.devices import RelayContact, Resistor
from tracer.harness.node import inside, terminal_at

CAR = """
harness: Invented car with arms
system: 12 V negative earth
colours: IEC 60757
usual: {size: 1 mm², length: 1.5 m}
controls:
  arm switch: [off, left, right]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 15 A}
  arm switch: {kind: switch, control: arm switch, contacts: {left: [15-L], right: [15-R]}}
  left arm: {kind: arm, lamp: 3 W, place: left door pillar}
  right arm: {kind: arm, lamp: 3 W, place: right door pillar}
earths: {E1: battery strap, E2: door pillars}
wires:
  - {run: battery.- > E1, size: 16 mm²}
  - {run: battery.+ > F1.in, size: 6 mm²}
  - F1.out > arm switch.15
  - arm switch.L > left arm.feed
  - arm switch.R > right arm.feed
  - left arm.earth > E2
  - right arm.earth > E2
"""
COIL_W = 36.0  # 4 ohm at 12 V


def build_arm(name: str, s: Mapping[str, Any], system_v: float) -> Built:
    coil, up, feed = f"{name} coil", inside(name, "arm up"), terminal_at(name, "feed")
    return Built(("feed", "earth"), (
        Resistor(coil, feed, terminal_at(name, "earth"), system_v**2 / COIL_W, "coil"),
        RelayContact(f"{name} contact", feed, up, coil, True, 0.6 * system_v, 0.3 * system_v),
        *lamp_in_holder(name, [name], ["feed"], s["lamp"], system_v, fed=up),
    ))


ARM = Kind("an arm with its lamp", {"lamp": Setting("lamp", required=True, means="watts")}, build_arm)
