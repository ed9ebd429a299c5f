"""Damaged harness files and wire lists, a fixed set: they are read and checked, or refused with a place.

tests/bench/bench_fuzz.py runs the same generator over 20,000 cases.
"""

from __future__ import annotations

import random
import time

import pytest

from tests.long import rest_long
from tests.mutations import bases, mutated, mutated_list
from tracer.checking.rules import check, findings_text
from tracer.errors import ProblemsError, TracerError
from tracer.harness.file.from_list import harness_from_list
from tracer.harness.file.text import dump_harness, read_harness
from tracer.harness.file.wire_list import wire_list_text
from tracer.harness.file.wires_in import lay_in

SOUND = bases()
SMALL = [n for n in sorted(SOUND) if len(SOUND[n]) < 3000]


@pytest.mark.parametrize("seed", rest_long(range(8), 3))
def test_damaged_files(seed: int) -> None:
    r = random.Random(seed)
    loaded = 0
    for _ in range(30):
        text = mutated(SOUND[r.choice(SMALL)], r)
        start = time.process_time()
        try:
            harness = read_harness(text, "f")
        except ProblemsError as error:
            assert error.problems and all(p.file == "f" and "\n" not in str(p) for p in error.problems)
        else:
            loaded += 1
            assert read_harness(dump_harness(harness)) == harness
            assert findings_text(check(harness))
        assert time.process_time() - start < 2.0, text
    assert loaded >= 3  # else nothing was checked


@pytest.mark.parametrize("seed", rest_long(range(4), 2))
def test_damaged_lists(seed: int) -> None:
    r = random.Random(seed)
    laid = 0
    for _ in range(40):
        base = SOUND[r.choice(SMALL)]
        listed = mutated_list(wire_list_text(read_harness(base), r.random() < 0.5), r)
        start = time.process_time()
        try:
            text, harness, _ = lay_in(base, "f", listed, "l")
        except TracerError as error:
            assert isinstance(error, ProblemsError) and all(p.file in ("f", "l") for p in error.problems)
        else:
            laid += 1
            assert read_harness(text) == harness
        try:
            harness_from_list(listed, "l", "Title", "12 V", "negative")
        except ProblemsError as error:
            assert all(p.file == "l" for p in error.problems)
        assert time.process_time() - start < 2.0, listed
    assert laid >= 3


def test_the_generator_makes_the_same_cases_again() -> None:
    assert [mutated(SOUND["relay"], random.Random(n)) for n in range(20)] == [
        mutated(SOUND["relay"], random.Random(n)) for n in range(20)
    ]


def test_parts_that_are_not_wired_yet_cost_next_to_nothing() -> None:
    """Three hundred loose diodes beside a trailer took two seconds to check, beside an estate car twenty."""
    many = "".join(f"  P{i}: {{kind: diode}}\n  tail {i}: {{kind: lamp, lamp: 5 W}}\n" for i in range(100))
    text = SOUND["trailer_7pin.yaml"].replace("parts:\n", f"parts:\n{many}", 1)
    start = time.process_time()
    found = check(read_harness(text))
    assert time.process_time() - start < 1.0
    assert {f.rule for f in found} == {"terminal without wire"} and len(found) == 400
