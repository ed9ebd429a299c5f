"""Tests and what they showed as plain data of a job file, and back."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from typing import Any, Final

from tracer.errors import ReadingError, SymptomError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import bulb_positions
from tracer.harness.model import Harness
from tracer.harness.terminal_words import parts_wired
from tracer.observation.actions import ACTIONS, Intervention, Target
from tracer.observation.evidence import Test, Value, inspection
from tracer.observation.quantities import QUANTITIES
from tracer.observation.test_kinds import KINDS
from tracer.observation.words.looked_over import recorded_thing
from tracer.observation.words.states import state_as_data, state_from_data
from tracer.observation.words.symptom_data import fuses, lamp_as_data, lamp_from_data
from tracer.observation.words.terminals import terminals_of

_MAX: Final = max(q.most for q in QUANTITIES)


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
        elif isinstance(number, bool) or not isinstance(number, (int, float)) or not abs(number) <= _MAX:
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
    kind = next((k for k in KINDS if k == texts["test"]), None)
    if kind is None:
        raise ReadingError(f"no kind of test “{clip(texts['test'])}”", did_you_mean(texts["test"], KINDS))
    nodes, row = terminals_of(harness).nodes, KINDS[kind]
    if row.at_rest:
        return inspection(harness, recorded_thing(texts["plus"], texts["minus"], texts["lamp"], harness))
    if row.takes_lamp:
        harness.lamp(texts["lamp"])
    if row.takes_thing:
        recorded_thing(texts["plus"], texts["minus"], "", harness)
    elif not row.takes_lamp:
        for node in (texts["plus"], texts["minus"]):
            _known(node, nodes, "terminal")
        if refused := row.refuses(harness, texts["plus"], texts["minus"]):
            raise ReadingError(*refused)
        if row.takes_wire and texts["minus"] not in terminals_of(harness).wired_to(texts["plus"]):
            raise UnknownNameError(f"no wire leads from {texts['plus']} to {texts['minus']}")
    interventions = tuple(_intervention(i, harness, nodes) for i in done)
    state = state_from_data(data, harness)
    return Test(kind, state, texts["plus"], texts["minus"], texts["lamp"], interventions)


def _intervention(data: Any, harness: Harness, nodes: Mapping[str, None]) -> Intervention:
    wrong = ReadingError("what was done is not recorded as action and target", "{action: unplug, target: C2}")
    if not isinstance(data, Mapping):
        raise wrong
    action = next((a for a in ACTIONS if a == data.get("action")), None)
    target, other = data.get("target", ""), data.get("other", "")
    if action is None or not isinstance(target, str) or not isinstance(other, str):
        raise wrong
    row = ACTIONS[action]
    for name, sort in ((target, row.target), (other, row.other)):
        known, what = _of_sort(sort, target, harness, nodes)
        if known is not None:
            _known(name, known, what)
    return Intervention(action, target, other)


def _of_sort(
    sort: Target | None, target: str, harness: Harness, nodes: Mapping[str, None]
) -> tuple[Mapping[str, object] | None, str]:
    """All things of a sort that something can be done to, and what one is called; None where there is no choice."""
    match sort:
        case "connector":
            return harness.connectors, "connector"
        case "bullet":
            return {j.a: j for j in harness.joints if j.kind == "bullet"}, "bullet"
        case "fuse":
            return fuses(harness), "fuse"
        case "lamp":
            return bulb_positions(harness), "lamp"
        case "part":
            return dict.fromkeys(parts_wired(harness)), "part with wires"
        case "splice":
            return harness.splices, "splice"
        case "leg":
            return dict.fromkeys(harness.far_ends(target)), f"wire at {target} to"
        case "node":
            return nodes, "terminal"
    return None, ""


def _known(name: str, known: Mapping[str, object], what: str) -> None:
    if name not in known:
        raise UnknownNameError(f"no {what} “{clip(name)}”", did_you_mean(name, known))


def test_key(test: Test) -> str:
    """A short name that stays with the test: its kind and four characters of a hash, like "V-3f2a"."""
    plain = json.dumps(test_as_data(test), sort_keys=True)
    return f"{test.row.letter}-{hashlib.sha256(plain.encode()).hexdigest()[:4]}"


test_as_data.__test__ = test_from_data.__test__ = test_key.__test__ = False  # type: ignore[attr-defined]
