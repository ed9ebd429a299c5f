"""Deliberate mistakes, each made in a sound harness and found at its line.

The mistakes are those people make when they copy a wiring diagram: common practice, no source. Where a
rule comes from a standard, the standard and where it was seen quoted are named beside the case.
"""

from __future__ import annotations

import inspect
import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.check_harnesses import PLUG_13, RELAY
from tracer.checking.behaviour import AMPACITY_50_C, ampacity
from tracer.checking.findings import Finding, folded
from tracer.checking.rules import RULES, check, findings_data, findings_text
from tracer.checking.scene import Scene
from tracer.errors import Mark, ProblemsError
from tracer.harness.file.text import load_harness, read_harness

MODELS = Path(__file__).parents[2] / "harness_models"
PICKUP = (MODELS / "pickup.yaml").read_text(encoding="utf-8")
TRAILER = (MODELS / "trailer_7pin.yaml").read_text(encoding="utf-8")

BASES = {"pickup": PICKUP, "trailer": TRAILER, "relay": RELAY, "plug": PLUG_13}


@dataclass(frozen=True)
class Mistake:
    """`old` is replaced by `new` in a sound harness; `rule` must find it on the line that contains `at`."""

    base: str
    old: str
    new: str
    rule: str
    at: str
    severity: str = "warning"
    also: tuple[tuple[str, str], ...] = ()  # further replacements


def _line(base: str, text: str) -> str:
    """The whole line of a harness that contains a text."""
    return next(x for x in BASES[base].splitlines(keepends=True) if text in x)


def _without(base: str, text: str, rule: str, at: str, severity: str = "warning") -> Mistake:
    return Mistake(base, _line(base, text), "", rule, at, severity)


MISTAKES = [
    # wires forgotten
    _without("pickup", "- {run: left rear.earth > C2.5", "terminal without wire", "  left rear:"),
    _without("pickup", "S13 > C6.5 > E3", "lamp without earth", "  panel lamp 1:", "error"),
    _without("pickup", "S13 > C6.5 > E3", "unused earth point", "  E3:"),
    _without("pickup", "S6 > C2.2 > left rear.stop", "terminal without wire", "  left rear:"),
    _without("pickup", "F4.out >", "fuse feeds nothing", "  F4:"),
    _without("pickup", "S2 > F1.in", "fuse feeds nothing", "  F1:"),
    _without("pickup", "lamp switch.56 > dip switch.56", "terminal without wire", "  dip switch:\n    {kind"),
    _without("pickup", "lamp switch.56 > dip switch.56", "lamp without feed", "  left headlamp: {", "error"),
    _without("pickup", "hazard switch.49 > flasher unit.49", "terminal without wire", "  flasher unit:"),
    _without("pickup", "battery.- > E6", "terminal without wire", "  battery:", "error"),
    _without("pickup", "S5 > right number-plate lamp.feed", "terminal without wire", "  right number-plate lamp:"),
    _without("relay", "horn.earth > horn button.in", "terminal without wire", "  horn:"),
    _without("relay", "battery: {kind", "battery missing", "", "error"),
    # wrong ends
    Mistake("pickup", "S6 > C2.2 > left rear.stop, colour: BKYE, length: [0.6 m, 0.2 m]", "S6 > C2.2, colour: BKYE",
            "way with one side", "run: S6 > C2.2,"),
    Mistake("relay", "C1.1 > headlamp.feed", "headlamp.feed > C1.1", "way passed by nothing", "name: from plug"),
    Mistake("pickup", "S8 > C4.5 > left repeater.feed", "S8 > C4.4 > left repeater.feed", "way used twice",
            "S8 > C4.4 > left repeater.feed"),
    Mistake("pickup", "S5 > left number-plate lamp.feed", "S6 > left number-plate lamp.earth",
            "terminal without wire", "  left number-plate lamp:"),
    Mistake("pickup", "  - {run: S4 > C1.1 > S5", "  - {run: S4 > C1.1 > E7", "short circuit", "S4 > C1.1 > E7",
            "error"),
    Mistake("pickup", "  - {run: S4 > C1.1 > S5", "  - {run: S4 > C1.1 > E7", "fuse blows", "  F3:", "error"),
    Mistake("relay", "F2.out > horn.feed", "F2.out > horn.feed > F2.out", "run in a circle", "horn.feed > F2.out"),
    Mistake("relay", "  - {run: S1 > F2.in, colour: N}\n", "  - {run: S1 > F2.in, colour: N}\n  - S1 > F2.in\n",
            "wire written twice", "  - S1 > F2.in\n"),
    Mistake("relay", "battery.- > E1, size: 16 mm², colour: B}\n  - {run: battery.+ > S1",
            "battery.+ > E1, size: 16 mm², colour: B}\n  - {run: battery.- > S1", "battery polarity", "  battery:",
            "error"),
    Mistake("relay", "S2 > E2, colour", "S2 > C1.3, colour", "way with one side", "S2 > C1.3"),
    # switches and controls
    Mistake("pickup", "contacts: {side: [30-58], head: [30-58, 30-56]}",
            "contacts: {side: [30-58], head: [30-58, 56-57]}", "lamp without feed", "  left headlamp: {", "error"),
    Mistake("pickup", "contacts: {dipped: [56-56b], main: [56-56a]}",
            "contacts: {dipped: [56-56b, 56-56a], main: [56-56b, 56-56a]}",
            "control without effect", "  dip switch: {positions"),
    Mistake("pickup", "S1 > lamp switch.30", "S1 > lamp switch.58", "terminal without wire", "  lamp switch:\n"),
    Mistake("pickup", "  gear: {positions", "  overdrive: [out, in]\n  gear: {positions", "control without effect",
            "  overdrive:"),
    Mistake("relay", "control: lights, contacts: {on: [30-56]}", "control: horn push, contacts: {pressed: [30-56]}",
            "control without effect", "  lights:"),
    Mistake("relay", "{on: [30-56]}", "{on: [30-56, 56-58, 58-30]}", "contacts in a ring", "  light switch:", "note"),
    Mistake("relay", "lamp relay.85 > S2", "lamp relay.85 > S1", "load never fed", "  lamp relay:"),
    Mistake("relay", "lamp relay.85 > S2", "lamp relay.85 > S1", "lamp never lit", "  headlamp:", "error"),
    Mistake("plug", "S1 > X1.9 > door switch.in", "S1 > X1.9 > interior lamp.feed", "lamp always lit",
            "  interior lamp:"),
    # lamps that light together and are not meant to
    Mistake("pickup", "S9 > C5.4 > right front.indicator", "S8 > C5.4 > right front.indicator", "lamps together",
            "  right front:"),
    Mistake("pickup", "S6 > C3.2 > right rear.stop", "S5 > C3.2 > right rear.stop", "lamps together",
            "  right rear:"),
    Mistake("pickup", "brake switch.54 > C1.2 > S6", "brake switch.54 > C1.2 > S5", "lamps together",
            "  left rear:"),
    Mistake("pickup", "indicator stalk.R > S9", "indicator stalk.R > S8", "lamps together", "  left repeater:"),
    Mistake("pickup", "S7 > C2.4 > left rear.reversing", "S6 > C2.4 > left rear.reversing", "lamps together",
            "  left rear:"),
    Mistake("pickup", "S10 > C6.4 > main beam tell-tale.feed, size: 0.5 mm²",
            "S10 > C1.6 > left number-plate lamp.feed, size: 0.75 mm²", "terminal without wire",
            "  main beam tell-tale:"),
    Mistake("pickup", "left: [49a-L], right: [49a-R]", "left: [49a-R], right: [49a-L]", "lamps together",
            "  left front:"),
    Mistake("pickup", "right: [49a-R]}, place: steering", "right: [49a-R, 49a-L]}, place: steering",
            "lamps together", "  left rear:"),
    Mistake("pickup", "hazard switch.R > S9", "hazard switch.R > S8", "left out of the hazard warning",
            "  right rear:"),
    Mistake("trailer", "brake switch.54 > X1.6 > S3", "brake switch.54 > X1.6 > S2", "lamps together",
            "  plate lamp:"),
    Mistake("trailer", "right lamp unit.fog", "right lamp unit.stop", "lamps together", "  right lamp unit:"),
    Mistake("pickup", "{dipped: [56-56b], main: [56-56a]}", "{dipped: [56-56a], main: [56-56b]}", "lamps together",
            "  left headlamp:"),
    Mistake("trailer", "pressed: [30-54]", "released: [30-54], pressed: [30-54]", "lamp always lit",
            "  left lamp unit:"),
    Mistake("trailer", "works: electronic, load: 21 W", "works: thermal, load: 92 W", "indicators do not flash",
            "  flasher unit:"),
    Mistake("plug", "left tail:", "lamp 1:", "purposes unknown", "  lamp 1:", "note", also=(
        ("right tail:", "lamp 2:"), ("left number-plate lamp:", "lamp 3:"), ("right number-plate lamp:", "lamp 4:"),
        ("> right tail.feed", "> lamp 2.feed"), ("> right number-plate lamp.feed", "> lamp 4.feed"),
        ("> left tail.feed", "> lamp 1.feed"), ("> left number-plate lamp.feed", "> lamp 3.feed"),
        ("- right tail.earth", "- lamp 2.earth"), ("- left tail.earth", "- lamp 1.earth"),
        ("- right number-plate lamp.earth", "- lamp 4.earth"), ("- left number-plate lamp.earth", "- lamp 3.earth"))),
    # fuses and wires
    Mistake("relay", "F1: {kind: fuse, rating: 15 A}", "F1: {kind: fuse, rating: 2 A}", "fuse blows", "  F1:",
            "error"),
    Mistake("relay", "F1: {kind: fuse, rating: 15 A}", "F1: {kind: fuse, rating: 4 A}", "fuse overloaded", "  F1:"),
    Mistake("relay", "horn: {kind: load, power: 40 W}", "horn: {kind: load, power: 1900 W}", "fuse blows", "  F2:",
            "error"),
    Mistake("relay", "F1: {kind: fuse, rating: 15 A}", "F1: {kind: fuse, rating: 30 A}", "wire too thin",
            "F1.out > lamp relay.30"),
    Mistake("relay", "F2.out > horn.feed, ", "F2.out > horn.feed, size: 0.75 mm², ", "wire too thin",
            "F2.out > horn.feed"),
    Mistake("trailer", "rating: 10 A", "rating: 20 A", "wire too thin", "  F1:"),
    Mistake("relay", "horn.earth > horn button.in, ", "horn.earth > horn button.in, size: 0.5 mm², ",
            "wire overloaded", "horn.earth > horn button.in"),
    _without("trailer", "F1.out > S1", "fuse feeds nothing", "  F1:"),
    Mistake("pickup", "F8.out > hazard switch.30", "F8.out > hazard switch.15", "terminal without wire",
            "  hazard switch:  #"),
    Mistake("relay", "colour: UW, name: from plug", "size: 0.1 mm², length: 30 m, colour: UW, name: from plug",
            "lamp never bright", "  headlamp:"),
    Mistake("trailer", "F1.out > S1, size: 2.5 mm²", "F1.out > S1, size: 0.35 mm²", "wire too thin", "F1.out > S1"),
    Mistake("pickup", "rating: 8 A, place: fuse box, also: [side light fuse]",
            "rating: 80 A, place: fuse box, also: [side light fuse]", "wire too thin", "  F3:"),
    # relays
    Mistake("relay", "light switch.56 > lamp relay.86", "lamp relay.87 > lamp relay.86", "relay feeds its own coil",
            "  lamp relay:"),
    Mistake("relay", "name: to plug}", "name: to plug}\n  - lamp relay.87 > lamp relay.86",
            "relay feeds its own coil", "  lamp relay:", "note"),
    Mistake("relay", "lamp relay: {kind: relay}\n", "lamp relay: {kind: relay}\n  battery 2: {kind: battery}\n",
            "two batteries", "  battery 2:"),
    Mistake("relay", "light switch.56 > lamp relay.86", "lamp relay.87a > lamp relay.86", "relay feeds its own coil",
            "  lamp relay:"),
    Mistake("relay", "light switch.56 > lamp relay.86", "lamp relay.87a > lamp relay.86", "relay buzzes",
            "  lamp relay:"),
    # colours
    Mistake("relay", "colour: UW, name: from plug", "colour: UR, name: from plug", "colour changes", "from plug"),
    Mistake("relay", "C1.2 > E2, colour: B}", "C1.2, colour: B}\n  - {run: C1.2 > E2, colour: N}", "colour changes",
            "C1.2 > E2, colour: N"),
    # things nothing reaches
    Mistake("trailer", "S3 > left lamp unit.stop", "S4 > left lamp unit.stop", "lamp without feed",
            "  left lamp unit:", "error"),
    Mistake("trailer", "S4: rear cross beam}", "S4: rear cross beam, S5: nowhere}", "splice with loose end", "S5:"),
    Mistake("pickup", "earth at: E1, place: left front wing", "place: left front wing", "terminal without wire",
            "  left repeater:"),
    Mistake("pickup", "left headlamp.earth > E1", "left headlamp.earth > left headlamp.dip", "lamp never lit",
            "  left headlamp: {", "error"),
    Mistake("pickup", "left rear.earth > C2.5 > E4", "left rear.earth > C2.4 > E4", "short circuit",
            "left rear.earth > C2.4 > E4", "error"),
    Mistake("relay", "  C1: {ways: 4}", "  C1: {ways: 4}\n  C2: {ways: 4}", "unused connector", "  C2:"),
    Mistake("relay", "  S1: dash", "  S1: dash\n  S3: boot", "splice with loose end", "  S3:"),
    Mistake("relay", "  C1: {ways: 4}\n", "  C1: {ways: 4}\n  B1: {kind: bullets, place: dash}\n",
            "block with loose end",
            "  B1:", also=(("  - {run: S2 > E2, colour: B}\n",
                           "  - {run: S2 > E2, colour: B}\n  - {run: S1 > B1, colour: N}\n"),)),
    Mistake("relay", "  E1: bulkhead", "  E1: bulkhead\n  E3: boot floor", "unused earth point", "  E3:"),
    Mistake("pickup", "left rear.earth > C2.5 > E4", "left rear.earth > C2.5 > S14", "lamp without earth",
            "  left rear:", "error"),
    # two filaments in series: each has less than half the light
    Mistake("relay", "headlamp.earth > C1.2 > E2, colour: B}",
            "headlamp.earth > C1.2 > pilot.feed, colour: B}\n  - pilot.earth > E2", "lamp without earth",
            "  headlamp:", "error"),
    # DIN 72552: 30 is live from the battery, 31 is earth (marks as quoted)
    Mistake("relay", "S1 > light switch.30", "S2 > light switch.30", "terminal number", "S2 > light switch.30"),
    Mistake("relay", "pressed: [in-31b]", "pressed: [31-31b]", "terminal number", "horn button.31,"),
    Mistake("pickup", "lamp switch.30, size", "lamp switch.58, size", "terminal number", "lamp switch.30 > F3.in",
            also=(("lamp switch.58 > F3.in", "lamp switch.30 > F3.in"),)),
    Mistake("pickup", "dip switch.56a > S10", "dip switch.56b > S10", "terminal number", "dip switch.56b > S10",
            also=(("dip switch.56b > S11", "dip switch.56a > S11"),)),
    Mistake("pickup", "lamp switch.58 > F3.in", "lamp switch.56 > F3.in", "terminal number", "lamp switch.56 > F3.in",
            also=(("lamp switch.56 > dip", "lamp switch.58 > dip"),)),
    Mistake("pickup", "indicator stalk.L > S8", "indicator stalk.R > S8", "terminal number", "indicator stalk.R > S8",
            also=(("indicator stalk.R > S9", "indicator stalk.L > S9"),)),
    Mistake("pickup", "brake switch.54 > C1.2 > S6", "brake switch.54 > C1.2 > S7", "terminal number",
            "brake switch.54 > C1.2 > S7"),
    # plug-in relays: contact and coil changed over (ISO 7588: 30 and 87, 85 and 86)
    Mistake("relay", "light switch.56 > lamp relay.86", "light switch.56 > lamp relay.87", "load never fed",
            "  lamp relay:", also=(("lamp relay.87 > C1.1", "lamp relay.86 > C1.1"),)),
    Mistake("relay", "F1.out > lamp relay.30", "F1.out > lamp relay.85", "fuse feeds nothing", "  F1:",
            also=(("lamp relay.85 > S2", "lamp relay.30 > S2"),)),
    Mistake("relay", "light switch.56 > lamp relay.86", "F1.out > lamp relay.86", "lamp always lit", "  headlamp:"),
    Mistake("relay", "headlamp.earth > C1.2 > E2", "headlamp.earth > C1.2 > S1", "lamp never lit", "  headlamp:",
            "error"),
    # the ways of ISO 1724 (contact sheets, as quoted)
    Mistake("trailer", "X1.1 > left", "X1.4 > left", "terminal number", "X1.4 > left",
            also=(("X1.4 > right", "X1.1 > right"),)),
    Mistake("trailer", "X1.5 > S2", "X1.6 > S2", "terminal number", "X1.6 > S2",
            also=(("X1.6 > S3", "X1.5 > S3"),)),
    Mistake("trailer", "X1.5 > S2", "X1.7 > S2", "terminal number", "X1.7 > S2",
            also=(("X1.7 > left", "X1.5 > left"),)),
    Mistake("trailer", "X1.2 > right", "X1.6 > right", "terminal number", "X1.6 > right",
            also=(("X1.6 > S3", "X1.2 > S3"),)),
    Mistake("trailer", "S4 > X1.3 > E2", "S4 > X1.2 > E2", "way used twice", "S4 > X1.2 > E2"),
    # ISO 11446: "the three return circuits shall not be connected in the trailer" (contact sheets, as quoted)
    Mistake("plug", "refrigerator.earth > X1.11 > E2", "refrigerator.earth > S4 > X1.11 > E2", "returns joined",
            "S4 > X1.11 > E2"),
    Mistake("plug", "interior lamp.earth > X1.13 > E2, size: 2.5 mm²}",
            "interior lamp.earth > X1.13 > E2, size: 2.5 mm²}\n  - interior lamp.earth > S4", "returns joined",
            "interior lamp.earth > X1.13 > E2"),
    # ISO 1724 and ISO 11446: "no lamp may have a common connection with both 5 and 7" (as quoted)
    Mistake("plug", "  - S3 > left number-plate lamp.feed", "  - S3 > left number-plate lamp.feed > S2",
            "tail circuits joined", "  left number-plate lamp:"),
    Mistake("trailer", "light switch.58L > X1.7 > left lamp unit.tail",
            "light switch.58L > X1.7 > left lamp unit.tail > S2", "tail circuits joined", "  plate lamp:"),
    # what safety needs to be told
    Mistake("pickup", ", drives: [forward, reverse]", "", "moves the vehicle", "  gear: {", "note"),
    Mistake("relay", "  lights: [off, on]", "  lights: [off, on]\n  handbrake: [released, applied]",
            "moves the vehicle", "  handbrake: [", "note"),
    _without("plug", "vehicle: trailer", "kind of vehicle", "harness: Trailer with", "note"),
]
EXTRA = {  # what else the mistake needs in order to be readable
    "S14": ("  S13: {place: back of the instruments, access: 12 min}",
            "  S13: {place: back of the instruments, access: 12 min}\n  S14: {place: nowhere}"),
    "pilot": ("  horn: {kind: load", "  pilot: {kind: lamp, lamp: H3}\n  horn: {kind: load"),
    "87a": ("lamp relay: {kind: relay}", "lamp relay: {kind: relay, contacts: change-over}"),
    "0.5 mm²": ("power: 40 W", "power: 150 W"),
    "[31-31b]": ("horn button.in", "horn button.31"),
}


def _broken(m: Mistake) -> str:
    text = BASES[m.base]
    assert m.old in text, "the mistake no longer fits the harness"
    text = text.replace(m.old, m.new, 1)
    for old, new in m.also:
        assert old in text, "the mistake no longer fits the harness"
        text = text.replace(old, new, 1)
    for word, (old, new) in EXTRA.items():
        if word in m.new:
            assert old in text
            text = text.replace(old, new, 1)
    if m.rule == "battery missing":
        text = "".join(x for x in text.splitlines(keepends=True) if "battery." not in x)
    return text


def _begins_an_entry(text: str, mark: Mark) -> bool:
    """Whether an entry begins at the line and column: the name of a part, or the table of a wire."""
    line = text.splitlines()[mark.line - 1]
    before, after = line[: mark.column - 1], line[mark.column - 1 :]
    return bool(after) and after[0] not in " -" and before.rstrip(" -")[-1:] in ("", "{", ",", "[")


def _line_of(text: str, at: str) -> int:
    return text[: text.index(at)].count("\n") + 1


@cache
def _found(text: str) -> tuple[Finding, ...]:
    return check(read_harness(text, "h.yaml"))


def _found_by(rule: str, text: str) -> list[Finding]:
    """What is found under the name of a rule; those that speak of it are asked first, and the others only if these
    find nothing."""
    scene = Scene(read_harness(text, "h.yaml"))
    asked = sorted(RULES, key=lambda ask: f'"{rule}"' not in inspect.getsource(ask))
    return next((found for ask in asked if (found := [f for f in ask(scene) if f.rule == rule])), [])


def test_there_are_enough_mistakes() -> None:
    """Beside them stand those that the reader refuses, each with its whole message, in test_error_messages.py."""
    assert len({(m.rule, m.old, m.new, m.at) for m in MISTAKES}) == len(MISTAKES) >= 80


@pytest.mark.parametrize("name", list(BASES))
def test_the_sound_harnesses_have_no_findings(name: str) -> None:
    assert findings_text(_found(BASES[name])) == "nothing doubtful found"


@pytest.mark.parametrize("m", MISTAKES, ids=lambda m: f"{m.rule} {m.at.strip()}")
def test_mistake_is_found_at_its_line(m: Mistake) -> None:
    text = _broken(m)
    found = _found_by(m.rule, text)
    assert found, f"not found; instead: {findings_text(_found(text))}"
    assert {f.severity for f in found} == {m.severity}
    assert all(f.hint for f in found)
    if m.at:
        assert _line_of(text, m.at) in {f.mark.line for f in found if f.mark}
        assert all(f.mark and f.mark.file == "h.yaml" and _begins_an_entry(text, f.mark) for f in found)


def test_every_rule_is_broken_above_or_beside() -> None:
    folder = Path(__file__).parent
    sources = "".join(p.read_text(encoding="utf-8") for p in (folder.parents[1] / "tracer" / "checking").glob("*.py"))
    names = set(re.findall(r'Finding\(\s*"([^"]+)"', sources))
    told = {m.rule for m in MISTAKES}
    assert told <= names and len(RULES) >= 20 and len(told) >= 35
    # What the reader refuses first (tried below without the reader), and what no file is known to reach.
    beside = (folder / "test_value_checks.py").read_text(encoding="utf-8")
    left = {n for n in names - told if f'"{n}"' not in beside}
    assert left == {"unreadable colour", "colour code missing", "not solved"}


@pytest.mark.parametrize("name", ["relay", "plug", pytest.param("trailer", marks=pytest.mark.long)])
def test_no_line_can_be_forgotten_unnoticed(name: str) -> None:
    """Whatever line is left out, the file is refused or something is found. Lines that only say what is
    usual (size, length, loom) or name the harness are not part of the circuit."""
    lines = BASES[name].splitlines(keepends=True)
    silent = []
    for i, line in enumerate(lines):
        try:
            found = _found("".join(lines[:i] + lines[i + 1:]))
        except ProblemsError:
            continue
        if not found and line.strip() and not line.startswith(("#", "usual:")):
            silent.append(line)
    assert silent == []


# --- what must not be found ---------------------------------------------------------------------


@pytest.mark.parametrize("path", sorted(MODELS.glob("*.yaml")), ids=lambda p: p.stem)
def test_models_have_no_warnings(path: Path) -> None:
    assert [str(f) for f in check(load_harness(path)) if f.severity != "note"] == []


def test_a_tell_tale_between_two_feeds_is_not_without_earth() -> None:
    assert not [f for f in _found(PICKUP) if "tell-tale" in f.message]


def test_both_numberings_of_relays_are_legal() -> None:
    """DIN 72552 numbers the common contact 87, ISO 7588 numbers it 30: the lint rejects neither."""
    swapped = RELAY.replace("F1.out > lamp relay.30", "F1.out > lamp relay.x").replace(
        "lamp relay.87 > C1.1", "lamp relay.30 > C1.1").replace("lamp relay.x", "lamp relay.87")
    assert not [f for f in _found(swapped) if f.rule == "terminal number"]


def test_returns_joined_in_the_towing_vehicle_are_legal() -> None:
    """All three returns meet at E2 of the towing vehicle: the footnote speaks of the trailer."""
    assert PLUG_13.count("> E2") == 3
    assert not [f for f in _found(PLUG_13) if f.rule == "returns joined"]


def test_earth_side_switching_is_legal() -> None:
    """The horn button switches earth (31b, switched return: DIN 72552)."""
    assert not [f for f in _found(RELAY) if "horn" in f.message]


def test_two_batteries_in_series_are_legal() -> None:
    text = RELAY.replace("12 V negative", "24 V negative").replace(
        "battery: {kind: battery}",
        "battery: {kind: battery, voltage: 12.6 V}\n  battery 2: {kind: battery, voltage: 12.6 V}",
    ).replace("battery.+ > S1", "battery 2.+ > S1") + "  - {run: battery.+ > battery 2.-, size: 16 mm²}\n"
    assert not [f for f in _found(text) if f.rule in ("two batteries", "lamp without feed", "lamp without earth")]


def test_positive_earth_mirrors_negative_earth() -> None:
    text = RELAY.replace("negative earth", "positive earth")
    text = text.replace("battery.- > E1", "battery.x > E1").replace("battery.+ > S1", "battery.- > S1")
    assert not _found(text.replace("battery.x", "battery.+"))
    assert {f.rule for f in _found(RELAY.replace("negative earth", "positive earth"))} >= {"battery polarity"}


# --- what the reader refuses before any rule -----------------------------------------------------


@pytest.mark.parametrize(("old", "new"), [
    ("headlamp: {kind: lamp, lamp: H3}", "headlamp: {kind: lamp, lamp: 2100 W}"),
    ("usual: {size: 2.5 mm²", "usual: {size: 0 mm²"),
    ("12 V negative", "120 V negative"),
    ("colours: BS AU 7\n", ""),
    ("colour: UW, name: to plug", "colour: XY, name: to plug"),
    ("C1.1 > headlamp", "C1.7 > headlamp"),
])
def test_absurd_values_are_refused_with_their_line(old: str, new: str) -> None:
    assert old in RELAY
    with pytest.raises(ProblemsError) as caught:
        read_harness(RELAY.replace(old, new, 1), "h.yaml")
    assert all(p.line for p in caught.value.problems)


def test_colours_of_a_harness_that_was_not_read() -> None:
    """A harness built by a program may have letters that the reader would have refused."""
    harness = read_harness(RELAY)
    odd = replace(harness, wires=(replace(harness.wires[0], colour="QQ"), *harness.wires[1:]))
    assert [(f.rule, f.severity) for f in check(odd)] == [("unreadable colour", "error")]
    assert [f.rule for f in check(replace(harness, colour_code=""))] == ["colour code missing"]


# --- several at once, and how they are told -------------------------------------------------------


def test_several_mistakes_are_reported_in_one_run_in_the_order_of_the_file() -> None:
    text = RELAY.replace("  C1: {ways: 4}", "  C1: {ways: 4}\n  C2: {ways: 4}").replace(
        "F2: {kind: fuse, rating: 15 A}", "F2: {kind: fuse, rating: 1 A}") + "  - F2.out > C1.3\n"
    found = _found(text)
    assert {"unused connector", "fuse blows", "way with one side"} <= {f.rule for f in found}
    lines = [f.mark.line for f in found if f.mark]
    assert lines == sorted(lines)


def test_eight_mistakes_in_one_file_are_each_reported_at_their_line() -> None:
    made = [
        ("S8 > C4.5 > left repeater.feed", "S8 > C4.4 > left repeater.feed", "way used twice", None),
        ("  gear: {posit", "  overdrive: [out, in]\n  gear: {posit", "control without effect", "  overdrive:"),
        ("S9 > C5.4 > right front.", "S8 > C5.4 > right front.", "lamps together", "  right front:"),
        ("earth at: E2, place: right", "place: right", "terminal without wire", "  right repeater:"),
        ("  E7: {place", "  E8: roof\n  E7: {place", "unused earth point", "  E8:"),
        ("  C7: {ways: 2", "  C8: 2\n  C7: {ways: 2", "unused connector", "  C8:"),
        ("rating: 8 A, place: fuse box, also: [left main", "rating: 60 A, place: fuse box, also: [left main",
         "wire too thin", "F4.out >"),
        ("S7 > C3.4 > right rear.reversing, colour: BU", "S7 > C3.4, colour: BU", "way with one side", "S7 > C3.4,"),
    ]
    text = PICKUP
    for old, new, _, _ in made:
        assert old in text
        text = text.replace(old, new, 1)
    text = text.replace("S7 > C3.4, colour: BU, length: [1.1 m, 0.2 m]", "S7 > C3.4, colour: BU")
    found = {(f.rule, f.mark.line) for f in _found(text) if f.mark}
    assert [rule for _, new, rule, at in made if (rule, _line_of(text, at or new)) not in found] == []


def test_text_and_data() -> None:
    text = RELAY.replace("  C1: {ways: 4}", "  C1: {ways: 4}\n  C2: {ways: 4}")
    found = _found(text)
    assert findings_text(found).splitlines() == [
        "h.yaml:19:3: warning: no wire passes C2 (name its ways in the runs, or leave it",
        "    out)", "1 warning",
    ]
    data = findings_data(found)
    assert json.loads(json.dumps(data)) == data
    assert (data[0]["line"], data[0]["column"], data[0]["rule"]) == (19, 3, "unused connector")


def test_ampacity_follows_its_table() -> None:
    """The table is from memory: only its shape is tested."""
    assert all(ampacity(s) == pytest.approx(i) for s, i in AMPACITY_50_C.items())
    sections = [0.35, 0.5, 0.75, 1.0, 1.3, 2.0, 3.3, 60.0, 95.0]
    amps = [ampacity(s) for s in sections]
    assert amps == sorted(amps) and all(a > 0 for a in amps)


def test_steady_indicators_are_told_once() -> None:
    text = TRAILER.replace("works: electronic, load: 21 W", "works: thermal, load: 92 W")
    rules = [f.rule for f in _found(text)]
    assert "indicators do not flash" in rules
    assert "flasher rate" not in rules


def test_findings_of_one_kind_are_folded() -> None:
    dark = [Finding("lamp never lit", "error", f"no vehicle state lights lamp {n}") for n in range(200)]
    other = [Finding("fuse blows", "error", "F1 blows")] * 2
    assert folded([other[0], *dark, other[1]]) == [
        "error: F1 blows", "error: F1 blows", "error: no vehicle state lights lamp 0",
        "199 more like it, which “tracer check” lists",
    ]
    assert folded(dark[:3]) == [str(f) for f in dark[:3]]
