"""The page of what can be typed holds: every example on it is read, and means what stands beside it."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from tests.library import MODELS
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Value
from tracer.observation.test_kinds import KINDS, TestKind, kind_named
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom, understand

PAGE = (Path(__file__).parents[2] / "demo" / "words.md").read_text(encoding="utf-8")
SALOON = load_harness(Path(MODELS) / "saloon_1970s.yaml")
IN_HAND = "in the hand"  # an ohmmeter's reading


def section(title: str) -> str:
    return PAGE.split(f"\n## {title}\n")[1].split("\n## ")[0]


def rows(title: str) -> list[tuple[str, ...]]:
    lines = [line for line in section(title).splitlines() if line.startswith("|")]
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in lines[2:]]


def quoted(title: str) -> list[str]:
    return re.findall(r"^- `(.+)`$", section(title), re.MULTILINE)


@pytest.mark.parametrize(("said", "understood"), rows("What was seen"))
def test_what_is_said_is_understood_as_it_stands_there(said: str, understood: str) -> None:
    assert [s.says() for s in understand(said, SALOON).symptoms] == understood.split(" / ")


@pytest.mark.parametrize("said", quoted("What was seen"))
def test_the_harness_s_own_words_are_read(said: str) -> None:
    assert parse_symptom(said, SALOON).seen


@pytest.mark.parametrize(("said", "first"), rows("What is asked back"))
def test_what_is_asked_back_is_offered(said: str, first: str) -> None:
    with pytest.raises(TracerError) as caught:
        understand(said, SALOON)
    assert caught.value.choices[0] == first


@pytest.mark.parametrize("said", quoted("Tests"))
def test_each_test_is_read(said: str) -> None:
    assert parse_test(said, SALOON).kind


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_shows_how_a_test_of_each_kind_is_typed(kind: TestKind) -> None:
    typed = [parse_test(said, SALOON).kind for said in quoted("Tests")]
    assert kind in typed, f"{kind}: no test of this kind on the page"


@pytest.mark.parametrize("test", sorted({row[0] for row in rows("Readings")}))
def test_each_reading_is_one_of_a_kind_of_test(test: str) -> None:
    assert test in (*KINDS, IN_HAND), f"{test}: no kind of test by this name"


def shown(value: Value, kind: TestKind) -> str:
    """The value as the page writes it."""
    if value.seen is not None:
        words = value.seen.words
        return value.seen.flash or ("lit" if words == {"normal", "bright"} else next(iter(words)))
    if value.low == math.inf:
        return "open"
    unit = "Ω" if kind == "ohms" else "V"
    return f"{value.low:g} {unit}" if value.low == value.high else f"{value.low:g} to {value.high:g} {unit}"


@pytest.mark.parametrize(("test", "typed", "taken"), rows("Readings"))
def test_each_reading_is_taken_as_it_stands_there(test: str, typed: str, taken: str) -> None:
    kind = kind_named("ohms" if test == IN_HAND else test)
    assert shown(parse_value(typed, kind, "left rear tail", test == IN_HAND), kind) == taken
