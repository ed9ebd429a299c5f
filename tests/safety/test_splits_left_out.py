"""Readings that would split two suspects and may never be asked for are left out of what is told, and no others."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from tests.small_vehicle import ON, tool
from tracer.observation.words.probes import parse_test
from tracer.observation.words.symptoms import parse_symptom
from tracer.safety import permitted
from tracer.safety.permitted import without_unsafe_splits

WORDS = ("volts at tail.feed when", "volts at S1 when", "volts at F1.out when")


@pytest.mark.parametrize("unsafe", [(), (0,), (1, 2), (0, 1, 2)], ids=str)
def test_what_is_forbidden_is_left_out_and_nothing_else(
    unsafe: tuple[int, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    harness = tool().harness
    tests = [parse_test(f"{words} {ON}", harness) for words in WORDS]
    splits: Any = tuple(SimpleNamespace(test=test) for test in tests)
    diagnosis = tool().diagnose([parse_symptom(f"tail dark when {ON}", harness)], pairs=False)
    first, second, *rest = diagnosis.suspects
    several = (replace(first, splits=splits), replace(second, splits=splits[:1]), *rest)
    diagnosis = replace(diagnosis, suspects=several)
    monkeypatch.setattr(permitted, "forbidden", lambda test, *_: test in [tests[n] for n in unsafe])
    left = without_unsafe_splits(diagnosis).suspects
    assert [s.repair for s in left] == [s.repair for s in several]
    assert [x.test for x in left[0].splits] == [t for n, t in enumerate(tests) if n not in unsafe]
    assert [x.test for x in left[1].splits] == [t for n, t in enumerate(tests[:1]) if n not in unsafe]
