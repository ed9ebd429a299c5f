"""Fuses by what is seen of them: "the 10 amp one on the left of the box"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from tracer.harness.devices import FuseLink
from tracer.harness.model import Harness
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.words import tokens, word_set

_RATED: Final = Pattern(
    r"(?:\b(?:it is|it's|is) )?(?:the )?(?<![\w.])(?P<amps>\d+(?:\.\d+)?)(?:a| ?amps?)\b(?: (?:blade|glass|ceramic))?"
    r"(?P<called> (?:fuse|one)s?\b)?")
_PLACED: Final = Pattern(
    r" ?\b(?:(?:on|at|in|to|from) )?(?:(?:the|far|very|first|second|third|last|top|bottom|one) )*"
    r"(?:left|right|top|bottom|middle|end|row|corner)?(?:(?: |-)hand)?(?: (?:side|end|row|corner|one))? "
    r"?(?:of|in|from) (?:the )?(?:fuse ?)?(?:box|panel|block|board|carrier)\b(?: that)?")
_BIG: Final = Pattern(
    r"\b(?:big|large|biggest|largest) fuse\b(?: (?:by|near|next to|beside|at|on|under) (?:the )?(?:battery|bonnet|"
    r"hood|starter|solenoid))?")
_WHERE: Final = word_set("left right top bottom middle end")


def rated(text: str, harness: Harness) -> tuple[str, list[str], list[str]]:
    """A sentence with a fuse that it tells by amperes or place under its own name; the fuses that may be meant if
    they are several, for which it then has the bare word; and the words that told nothing."""
    *_, found = [None, *_RATED.finditer(text)]  # "5 amp? No, the 10 amp one"
    about = found is not None or "fuse" in text.split()
    where = _PLACED.search(text) if about else None
    unused: list[str] = []
    if where is not None and where.group().strip():
        text = f"{text[:where.start()]} {text[where.end():]}"
        *_, found = [None, *_RATED.finditer(text)]
        unused.append(where.group().strip().removesuffix(" that"))
    if found is None:
        return _largest(text, harness, unused)
    fit = [(p.name, p.place) for p in harness.parts.values() for d in p.devices
           if isinstance(d, FuseLink) and abs(d.rating_a - float(found["amps"])) < 1e-6]
    if not fit:
        return text, [], unused
    if not found["called"] and "fuse" in text.split():  # "the 10 amp brake light fuse"
        return f"{text[:found.start()]} {text[found.end():]}", [name for name, _ in fit], unused
    placed = _there(fit, unused)
    if placed and len(placed) < len(fit):
        fit, unused = placed, []
    name = fit[0][0].lower() if len(fit) == 1 else "fuse"
    return f"{text[:found.start()]} {name} {text[found.end():]}", [name for name, _ in fit], unused


def _largest(text: str, harness: Harness, unused: list[str]) -> tuple[str, list[str], list[str]]:
    """The fuse of most amperes for "the big fuse by the battery"; which it is shows in what is said back."""
    big = _BIG.search(text)
    rated = sorted((d.rating_a, p.name) for p in harness.parts.values() for d in p.devices if isinstance(d, FuseLink))
    if big is None or not rated:
        return text, [], unused
    most = [name for amps, name in rated if amps == rated[-1][0]]
    called = most[0].lower() if len(most) == 1 else "fuse"
    return f"{text[:big.start()]} {called} {text[big.end():]}", most, unused


def _there(fit: Sequence[tuple[str, str]], said: Sequence[str]) -> list[tuple[str, str]]:
    """The fuses whose place in the file has the words of where they were said to be."""
    words = {w for s in said for w in s.split()} & _WHERE
    return [(name, place) for name, place in fit if words and words <= {*tokens(place)}]
