"""What the evidence says of itself: contradictions, however much was said."""

from __future__ import annotations

import random
from itertools import combinations

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.observation.consistency import _exclude, contradictions
from tracer.observation.evidence import LampSeen, Symptom
from tracer.observation.words.symptoms import parse_symptom

SAID = ("left rear tail dark", "left rear tail normal", "left rear tail dim", "right rear tail dark",
        "left rear tail dark, right rear tail normal", "right rear tail faint, left rear tail bright")


def one_by_one(told: list[Symptom]) -> set[tuple[int, int]]:
    return {
        (i, j) for (i, one), (j, two) in combinations(enumerate(told), 2) if one.state == two.state
        and any(isinstance(a, LampSeen) and isinstance(b, LampSeen) and _exclude(a, b)
                for a in one.seen for b in two.seen)
    }


def test_all_pairs_are_found_in_order() -> None:
    harness, dice = load_harness(MODELS / "pickup.yaml"), random.Random(5)
    told = [parse_symptom(f"{dice.choice(SAID)} when lamp switch {dice.choice(['side', 'head'])}", harness)
            for _ in range(40)]
    found = contradictions(told)
    assert found and list(found) == sorted(one_by_one(told))


def test_ten_thousand_of_a_few_kinds_are_compared_once() -> None:
    harness = load_harness(MODELS / "pickup.yaml")
    kinds = [parse_symptom(f"{s} when lamp switch side", harness) for s in (SAID[0], SAID[3])]
    assert contradictions(kinds * 5000) == ()


def test_flashing_contradicts_steady_and_nothing_that_says_neither() -> None:
    lit = frozenset({"normal"})
    flashing, steady, unsaid = (LampSeen("tail", lit, flash) for flash in ("flashing", "steady", None))
    assert _exclude(flashing, steady) and _exclude(steady, LampSeen("tail", lit, "fast"))
    assert not _exclude(flashing, LampSeen("tail", lit, "fast"))
    assert not any(_exclude(a, unsaid) or _exclude(unsaid, a) for a in (flashing, steady, unsaid))
