"""Patterns of typed words, compiled when one is first asked for: there are dozens, and most commands read none."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, Final

SIDE: Final = r"(?:left|right|near ?side|off ?side|n/s|o/s)"
PLACE: Final = rf"(?:(?:{SIDE}|front|rear|back)(?:[ -]hand)?(?: side)? )"
INDICATOR: Final = r"(?:indicators?|winkers?|flashers?|blinkers?|trafficators?|turn signals?)"
# How often, in words that leave no doubt.
AT_TIMES: Final = (
    r"sometimes|now and (?:then|again)|occasionally|at times|once in a while|from time to time|intermittent(?:ly)?|"
    r"some of the time|every so often"
)


class Pattern:
    """What of `re.Pattern` is used here."""

    def __init__(self, text: str, flags: int = 0) -> None:
        self._text, self._flags = text, flags

    @cached_property
    def _compiled(self) -> re.Pattern[str]:
        return re.compile(self._text, self._flags)

    def match(self, text: str, start: int = 0) -> re.Match[str] | None:
        return self._compiled.match(text, start)

    def search(self, text: str, start: int = 0) -> re.Match[str] | None:
        return self._compiled.search(text, start)

    def fullmatch(self, text: str) -> re.Match[str] | None:
        return self._compiled.fullmatch(text)

    def finditer(self, text: str) -> Iterator[re.Match[str]]:
        return self._compiled.finditer(text)

    def split(self, text: str, maxsplit: int = 0) -> list[str | Any]:
        return self._compiled.split(text, maxsplit)

    def subn(self, by: str, text: str) -> tuple[str, int]:
        return self._compiled.subn(by, text)

    def sub(self, by: str | Callable[[re.Match[str]], str], text: str, count: int = 0) -> str:
        return self._compiled.sub(by, text, count)


def put_plainly(text: str, rows: Iterable[tuple[Sequence[str], Pattern, str]]) -> str:
    """The sentence with turns of phrase put into other words, row by row; a row is tried only where one of the words
    that stand before its pattern stood in the sentence."""
    small = text.lower()
    for hints, pattern, plain in rows:
        if any(h in small for h in hints):
            text = pattern.sub(plain, text)
    return text
