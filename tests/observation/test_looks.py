"""How many words of a sentence a look takes, wherever in it they stand."""

from __future__ import annotations

import pytest

from tracer.observation.words.looks import look_at


@pytest.mark.parametrize(("said", "words", "length"), [
    ("not a light", {"dark"}, 3), ("no light", {"dark"}, 2),
    ("not very bright", {"dark", "faint", "dim", "normal"}, 3),
])
@pytest.mark.parametrize("before", ["", "left tail", "the left tail lamp shows"])
def test_a_denial_takes_its_own_words(before: str, said: str, words: set[str], length: int) -> None:
    sentence = f"{before} {said} when braking".split()
    look, taken = look_at(sentence, len(before.split()))
    assert look is not None and look.words == frozenset(words)
    assert taken == length
