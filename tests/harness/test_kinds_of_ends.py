"""What an end of a wire list may be: whoever adds a kind to `END_KINDS` is told what else that takes."""

from __future__ import annotations

from typing import Any, cast

import pytest

from tests.harness.test_builders import PARTS
from tests.made_up_arm import ARM
from tracer.harness.file.from_list import TO_FILL_IN, harness_from_list
from tracer.harness.file.vague_ends import END_KINDS, guess_of
from tracer.harness.part_kinds import KINDS


def written(name: str, kind: str) -> str:
    text, _ = harness_from_list(
        f"from,to,size mm²\nbattery.+,{name},1\n{name},E1,1\n", "list", "It", "12 V", "negative", ends={name: kind})
    return text


@pytest.mark.parametrize("kind", END_KINDS)
def test_an_end_called_by_the_name_of_its_kind_is_one(kind: str) -> None:
    assert guess_of(f"left {kind}", 1)[0] == kind, f"{kind}: no row of words in vague_ends.py says so"


@pytest.mark.parametrize("kind", [k for k in END_KINDS if k in KINDS])
@pytest.mark.parametrize("name", ["thing", "F1", "left lamp"])
def test_what_an_end_is_told_to_be_is_written_as_that(name: str, kind: str) -> None:
    """Whatever else its name or its terminals would say."""
    required = [k for k, s in KINDS[kind].settings.items() if s.required]
    entry = f"  {name}: {{kind: {kind}{''.join(f', {k}: {TO_FILL_IN}' for k in required)}}}"
    assert entry in written(name, kind), f"{kind}: a wire list does not write it"


@pytest.mark.parametrize("kind", [k for k in END_KINDS if k in KINDS])
def test_the_terminals_of_an_end_are_those_of_its_kind(kind: str) -> None:
    """A switch has those that its contacts name."""
    settings = KINDS[kind].settings.values()
    known = [{*p.terminals} for p in PARTS if p.kind == kind]
    assert any(s.type == "contacts" for s in settings) or {*END_KINDS[kind]} <= set[str]().union(*known), (
        f"{kind}: END_KINDS gives it terminals that it does not have")


def test_a_kind_that_is_added_needs_no_other_table(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(KINDS, "arm", ARM)
    monkeypatch.setitem(cast(Any, END_KINDS), "arm", ("feed", "earth"))
    text = written("left thing", "arm")
    assert "  left thing: {kind: arm, lamp: to fill in}\n" in text
    assert "battery.+ > left thing.feed" in text and "left thing.earth > E1" in text
    with pytest.raises(AssertionError, match=r"arm: no row of words in vague_ends\.py says so"):
        test_an_end_called_by_the_name_of_its_kind_is_one("arm")
    monkeypatch.setitem(cast(Any, END_KINDS), "lamp", ("fed", "earth"))
    with pytest.raises(AssertionError, match="lamp: END_KINDS gives it terminals that it does not have"):
        test_the_terminals_of_an_end_are_those_of_its_kind("lamp")
