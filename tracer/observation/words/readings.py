"""Readings as people type them: "11.9 V", "0.3 ohm", "open", "between 3 and 5 V", "flashes fast"."""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Mapping
from typing import Any, Final, get_args

from tracer.errors import ReadingError, SymptomError, UnitError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import bulb_positions
from tracer.harness.model import Harness
from tracer.harness.terminal_words import parts_wired
from tracer.observation.actions import Action, Intervention
from tracer.observation.evidence import LAMP_TESTERS, LampSeen, Test, TestKind, Value, inspection
from tracer.observation.words.looked_over import parse_found, parse_moved, recorded_thing
from tracer.observation.words.looks import parse_look
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.probes import parse_test
from tracer.observation.words.states import state_as_data, state_from_data
from tracer.observation.words.symptoms import fuses, lamp_as_data, lamp_from_data
from tracer.observation.words.terminals import terminals_of
from tracer.observation.words.words import MAX_TEXT, tokens
from tracer.units import ambiguous, parse_quantity, unit_names

__all__ = [
    "NO_INFORMATION", "parse_test", "parse_value", "test_as_data", "test_from_data", "test_key",
    "value_as_data", "value_from_data",
]

FORMS: Final = "write it like `11.9 V`, `0.3 ohm`, `1.8 A`, `open`, `lit` or `dark`"
MAX_V: Final = 60.0  # above every reading in a 6, 12 or 24 V vehicle
MAX_A: Final = 200.0  # above every current that flows in lighting for longer than a fuse takes
MAX_OHM: Final = 1e9  # beyond every meter
# Quoted limits of the continuity beeper in seven multimeter manuals: < 10, five of 50 to 70, < 120 ohm.
# A beep bounds by the usual limit; silence only by the lowest, since the meter in hand may be that one.
BEEP_BELOW_OHM: Final = 50.0
SILENT_ABOVE_OHM: Final = 10.0
NO_INFORMATION: Final = (-math.inf, math.inf)  # low and high of a test that gave no reading

_PREFIX: Final[Mapping[TestKind, str]] = {
    "look": "L", "volts": "V", "drop": "D", "ohms": "R", "test lamp": "P", "LED tester": "E", "current": "A",
    "inspect": "I", "wiggle": "W",
}
_NUMBER = r"[-+]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_UNIT = r"[A-Za-zΩ\u2126µ]+"
_PLAIN = Pattern(rf"({_NUMBER})\s*({_UNIT})?")
_AROUND = Pattern(rf"({_NUMBER})\s*({_UNIT})?\s*(?:±|\+\s*/?\s*-)\s*({_NUMBER})\s*({_UNIT}|%)?")
_BETWEEN = Pattern(
    rf"(?:between|from)?\s*({_NUMBER})\s*({_UNIT})?\s*(?:-|to|and|\.\.\.?|…)\s*({_NUMBER})\s*({_UNIT})?",
    re.IGNORECASE,
)
_BOUND = Pattern(
    rf"(<=?|>=?|≤|≥|less than|more than|below|above|under|over|at most|at least|up to)\s*({_NUMBER})\s*({_UNIT})?",
    re.IGNORECASE,
)
_ABOUT = Pattern(r"(?:about|around|approx\.?|approximately|roughly|ca\.?|~|≈)\s*", re.IGNORECASE)
_SKIPPED = Pattern(
    r"skip|skipped|not done|not measured|no reading|n/?a|(?:i )?(?:could not|couldn't|cannot|can't|did not|didn't)"
    r"(?: (?:do|measure|reach|get at|see|read|look)(?: (?:it|that|there|anything))?)?", re.IGNORECASE,
)
_OPEN = Pattern(
    r"open|open circuit|o\.?l\.?|over ?range|over ?load|infinite|infinity|∞|no continuity", re.IGNORECASE
)
_LEAD_BLEW = Pattern(
    r"(?:the )?(?:(?:temporary |test )?lead(?:'s)? )?fuse(?: of the (?:temporary |test )?lead)? (?:has |is )?"
    r"(?:blew|blows|blown|gone|went|popped|melted)", re.IGNORECASE,
)
_BEEP = Pattern(r"(?:it )?(?:beeps?|beeped|beeping)|continuity", re.IGNORECASE)
_SILENT = Pattern(r"(?:it )?(?:does not|doesn't|did not|didn't|no|not) (?:beep|beeping)|silent", re.IGNORECASE)
_DIMENSION: Final = {"ohms": "resistance", "current": "current"}
_EXAMPLE: Final = {"voltage": "11.9 V", "resistance": "0.3 ohm", "current": "1.8 A"}
_SHOWS: Final = {"voltage": "volts", "resistance": "ohms", "current": "amperes", "power": "watts"}


def parse_value(text: str, kind: TestKind, lamp: str = "") -> Value:
    """What a test showed.

    Args:
        text: A number with its unit, a range, "open", "beeps", words for a lamp, or "found" or "nothing" of a
            thing looked over; a remark may
            follow in brackets. "skipped" and "could not do it" give no information: low is minus
            infinity and high infinity, without `seen`.
        kind: The kind of test; it decides which unit or words are right.
        lamp: The lamp looked at, for tests that are looks.

    Raises:
        ReadingError: Not understood, without a unit, of another kind of test, or impossible.
    """
    if len(text) > MAX_TEXT:
        raise ReadingError(f"“{clip(text)}” is too long", FORMS)
    plain = re.sub(r"\([^()]*\)\s*\Z", "", text.strip()).strip().rstrip(".").replace("’", "'")
    plain = re.sub(r"[−–—]", "-", " ".join(plain.split()))
    plain = re.sub(r",? (?:while |when |on )?wiggl(?:ing|ed)(?: it)?\Z", "", plain, flags=re.IGNORECASE)
    if not plain:
        raise ReadingError("there is no reading", FORMS)
    if plain == "-" or _SKIPPED.fullmatch(plain):
        return Value(*NO_INFORMATION, text=text)
    if kind == "look" and _LEAD_BLEW.fullmatch(plain):
        return Value(text=text, lead_blew=True)
    if kind == "inspect":
        return parse_found(text, plain)
    if kind == "wiggle":
        return parse_moved(text, plain)
    if kind == "look" or kind in LAMP_TESTERS:
        return _look(text, plain, kind, lamp)
    dimension = _DIMENSION.get(kind, "voltage")
    by_word = _by_word(plain)
    if by_word is not None:
        if kind != "ohms":
            raise ReadingError(f"“{clip(text)}” is for an ohmmeter; this test shows {_SHOWS[dimension]}",
                               f"write it like `{_EXAMPLE[dimension]}`")
        return Value(*by_word, text=text)
    low, high, resolution = _number(text, plain, dimension)
    if dimension == "current" and high < 0:  # which way the clamp was held
        low, high = -high, -low
    _check_possible(text, low, high, dimension)
    return Value(low, high, resolution, text=text)


def _look(text: str, plain: str, kind: TestKind, lamp: str) -> Value:
    what = "the look of a lamp" if kind == "look" else "a test lamp" if kind == "test lamp" else "an LED tester"
    if _PLAIN.fullmatch(plain):
        raise ReadingError(f"“{clip(text)}” is a number; this test is {what}", "write it like `lit`, `dim` or `dark`")
    try:
        understood = parse_look(tokens(plain))
    except SymptomError as error:
        raise ReadingError(error.message, error.hint) from error
    if understood is None:
        raise ReadingError(f"“{clip(text)}” is not {what}",
                           "write it like `lit`, `dark`, `faint`, `dim`, `normal`, `bright` or `flashes fast`")
    return Value(seen=LampSeen(lamp, *understood), text=text)


def _by_word(plain: str) -> tuple[float, float] | None:
    if _OPEN.fullmatch(plain):
        return math.inf, math.inf
    if _SILENT.fullmatch(plain):
        return SILENT_ABOVE_OHM, math.inf
    return (0.0, BEEP_BELOW_OHM) if _BEEP.fullmatch(plain) else None


def _number(text: str, plain: str, dimension: str) -> tuple[float, float, float]:
    """Low, high and resolution of a number or range, in V, Ω or A."""
    about = _ABOUT.match(plain)
    if about:
        plain = plain[about.end() :]
    match = _PLAIN.fullmatch(plain)
    if match:
        value, step = _scaled(text, match.group(1), match.group(2), dimension)
        return value, value, step
    match = _AROUND.fullmatch(plain)
    if match:
        number, unit, width, width_unit = match.groups()
        percent = width_unit == "%"
        value, step = _scaled(text, number, unit or (None if percent else width_unit), dimension)
        if percent:
            around = abs(value) * _decimal(text, width) / 100
        else:
            around, step = _scaled(text, width, width_unit or unit, dimension)
        if around < 0:
            raise ReadingError(f"“{clip(text)}” has a tolerance below zero", "write it like `11.9 V ± 0.1 V`")
        return value - around, value + around, step
    match = _BETWEEN.fullmatch(plain)
    if match:
        first, first_unit, second, second_unit = match.groups()
        a, step_a = _scaled(text, first, first_unit or second_unit, dimension)
        b, step_b = _scaled(text, second, second_unit or first_unit, dimension)
        return min(a, b), max(a, b), min(step_a, step_b)
    match = _BOUND.fullmatch(plain)
    if match:
        value, step = _scaled(text, match.group(2), match.group(3), dimension)
        if match.group(1).lower() in (">", ">=", "≥", "more than", "above", "over", "at least"):
            return value, {"resistance": math.inf, "current": MAX_A}.get(dimension, MAX_V), step
        # "Below 0.2 V" is said of the size; the sign depends on which way the probes were held.
        return (min(0.0, value) if dimension == "resistance" else -abs(value)), value, step
    raise ReadingError(f"“{clip(text)}” is not understood", FORMS)


def _scaled(text: str, number: str, unit: str | None, dimension: str) -> tuple[float, float]:
    """A number in V, Ω or A and the step of its last digit."""
    if not unit:
        raise ReadingError(f"“{clip(text)}” has no unit", FORMS)
    if dimension == "resistance" and unit in ("k", "K", "M"):
        unit = unit.replace("K", "k") + "ohm"  # a meter shows no more than the letter
    try:
        factor = parse_quantity(f"1 {unit}", dimension)
    except UnitError as error:
        form = f"write it like `{_EXAMPLE[dimension]}`" + (" or `open`" if dimension == "resistance" else "")
        for other, shows in _SHOWS.items():
            if unit.lower() in {n.lower() for n in unit_names(other)} and other != dimension:
                message = f"“{clip(text)}” is in {shows}; this test shows {_SHOWS[dimension]}"
                raise ReadingError(message, form) from error
        raise ReadingError(f"“{clip(unit)}” is not a unit of {_SHOWS[dimension]}", form) from error
    decimals = len(re.split("[.,]", number)[1]) if re.search("[.,]", number) else 0
    return _decimal(text, number) * factor, 10.0**-decimals * factor


def _decimal(text: str, number: str) -> float:
    if ambiguous(number):
        raise ReadingError(f"“{clip(text)}” could mean thousands or a decimal comma",
                           f"write {number.replace(',', '')} or {number.replace(',', '.')}")
    return float(number.replace(",", "."))


def _check_possible(text: str, low: float, high: float, dimension: str) -> None:
    if dimension == "resistance":
        if low < 0:
            raise ReadingError(f"“{clip(text)}” cannot be: a resistance is not below zero",
                               "a meter that shows this sees a voltage: disconnect the battery")
        if low > MAX_OHM or MAX_OHM < high < math.inf:
            raise ReadingError(f"“{clip(text)}” is more than a meter shows", "write `open`")
    elif dimension == "current":
        if not -MAX_A <= low <= high <= MAX_A:
            raise ReadingError(f"“{clip(text)}” is more than a fuse lets pass", "check the unit: `1.8 A`, `300 mA`")
    elif not -MAX_V <= low <= high <= MAX_V:
        raise ReadingError(f"“{clip(text)}” is more than a vehicle has", "check the unit: `11.9 V`, `120 mV`")


def value_as_data(value: Value) -> dict[str, Any]:
    """The value as plain data for a job file; infinity is written "inf"."""
    data: dict[str, Any] = {"text": value.text}
    if value.found is not None:
        return data | {"found": value.found}
    numbers = {"low": value.low, "high": value.high, "resolution": value.resolution}
    if value.seen is None or (value.low, value.high, value.resolution) != (0.0, 0.0, Value().resolution):
        data |= {k: str(v) if math.isinf(v) else v for k, v in numbers.items()}
    if value.seen is not None:
        data["seen"] = lamp_as_data(value.seen)
    if value.lead_blew:
        data["lead_blew"] = True
    return data


def value_from_data(data: Mapping[str, Any]) -> Value:
    """The value of recorded data.

    Raises:
        ReadingError: The data has another form.
    """
    text = data.get("text", "")
    if not isinstance(text, str):
        raise ReadingError("the text of a reading is not recorded as text")
    seen = None
    if data.get("seen") is not None:
        try:
            seen = lamp_from_data(data["seen"])
        except SymptomError as error:
            raise ReadingError(error.message, error.hint) from error
    numbers = []
    for key, usual in (("low", 0.0), ("high", 0.0), ("resolution", Value().resolution)):
        number = data.get(key, usual)
        if number in ("inf", "-inf") and key != "resolution":
            number = float(number)
        elif isinstance(number, bool) or not isinstance(number, (int, float)) or not abs(number) <= MAX_OHM:
            raise ReadingError(f"“{clip(str(number))}” is not recorded as a number", f"{key}: 11.9")
        numbers.append(float(number))
    if numbers[2] < 0:
        raise ReadingError(f"a meter's last digit of {numbers[2]:g} cannot be", "resolution: 0.1")
    if numbers[0] > numbers[1]:
        raise ReadingError(f"a reading from {numbers[0]:g} to {numbers[1]:g} is upside down", "low comes before high")
    found = data.get("found")
    if found is not None and not isinstance(found, bool):
        raise ReadingError("whether something was found is not recorded as true or false", "found: true")
    if seen is None and found is None and "low" not in data:
        raise ReadingError("a reading is not recorded as low and high, or as seen", "low: 11.9")
    lead_blew = data.get("lead_blew", False)
    if not isinstance(lead_blew, bool):
        raise ReadingError("whether the lead's fuse blew is not recorded as true or false", "lead_blew: true")
    return Value(numbers[0], numbers[1], numbers[2], seen, text, lead_blew, found)


def test_as_data(test: Test) -> dict[str, Any]:
    """The test as plain data for a job file, with the whole vehicle state; what is empty is left out."""
    data: dict[str, Any] = {"test": test.kind, **state_as_data(test.state)}
    data |= {k: v for k, v in (("plus", test.plus), ("minus", test.minus), ("lamp", test.lamp)) if v}
    if test.done:
        data["done"] = [
            {"action": i.action, "target": i.target} | ({"other": i.other} if i.other else {}) for i in test.done
        ]
    return data


def test_from_data(data: Mapping[str, Any], harness: Harness) -> Test:
    """The test of recorded data.

    Raises:
        ReadingError: The data has another form.
        SymptomError: Its vehicle state has.
        UnknownNameError: Something that the harness no longer has.
    """
    texts = {k: data.get(k, "") for k in ("test", "plus", "minus", "lamp")}
    done = data.get("done", [])
    if not all(isinstance(t, str) for t in texts.values()) or not isinstance(done, (list, tuple)):
        raise ReadingError("a test is not recorded as test, points or lamp, state and done", "test: volts")
    kind = next((k for k in _PREFIX if k == texts["test"]), None)
    if kind is None:
        raise ReadingError(f"no kind of test “{clip(texts['test'])}”", did_you_mean(texts["test"], _PREFIX))
    nodes = terminals_of(harness).nodes
    if kind == "inspect":
        return inspection(harness, recorded_thing(texts["plus"], texts["minus"], texts["lamp"], harness))
    if kind in ("look", "wiggle"):
        harness.lamp(texts["lamp"])
    if kind == "wiggle":
        recorded_thing(texts["plus"], texts["minus"], "", harness)
    elif kind != "look":
        for node in (texts["plus"], texts["minus"]):
            _known(node, nodes, "terminal")
        if kind == "current" and texts["minus"] not in terminals_of(harness).wired_to(texts["plus"]):
            raise UnknownNameError(f"no wire leads from {texts['plus']} to {texts['minus']}")
    interventions = tuple(_intervention(i, harness, nodes) for i in done)
    state = state_from_data(data, harness)
    return Test(kind, state, texts["plus"], texts["minus"], texts["lamp"], interventions)


def _intervention(data: Any, harness: Harness, nodes: Mapping[str, None]) -> Intervention:
    wrong = ReadingError("what was done is not recorded as action and target", "{action: unplug, target: C2}")
    if not isinstance(data, Mapping):
        raise wrong
    action: Action | None = next((a for a in get_args(Action) if a == data.get("action")), None)
    target, other = data.get("target", ""), data.get("other", "")
    if action is None or not isinstance(target, str) or not isinstance(other, str):
        raise wrong
    match action:
        case "unplug":
            _known(target, harness.connectors, "connector")
        case "pull fuse" | "new fuse":
            _known(target, fuses(harness), "fuse")
        case "take out lamp":
            _known(target, bulb_positions(harness), "lamp")
        case "swap lamps":
            _known(target, bulb_positions(harness), "lamp")
            _known(other, bulb_positions(harness), "lamp")
        case "take wires off":
            _known(target, dict.fromkeys(parts_wired(harness)), "part with wires")
        case "part splice":
            _known(target, harness.splices, "splice")
            _known(other, dict.fromkeys(harness.far_ends(target)), f"wire at {target} to")
        case "earth lead":
            _known(target, nodes, "terminal")
        case "feed lead":
            _known(target, nodes, "terminal")
            _known(other, nodes, "terminal")
    return Intervention(action, target, other)


def _known(name: str, known: Mapping[str, object], what: str) -> None:
    if name not in known:
        raise UnknownNameError(f"no {what} “{clip(name)}”", did_you_mean(name, known))


def test_key(test: Test) -> str:
    """A short name that stays with the test: its kind and four characters of a hash, like "V-3f2a"."""
    plain = json.dumps(test_as_data(test), sort_keys=True)
    return f"{_PREFIX[test.kind]}-{hashlib.sha256(plain.encode()).hexdigest()[:4]}"


test_as_data.__test__ = test_from_data.__test__ = test_key.__test__ = False  # type: ignore[attr-defined]
