"""A heading before a colon, as job cards have it: "back end: tails dim, stops out" says of each part where it is."""

from __future__ import annotations

from typing import Final

from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.patterns import SIDE, Pattern
from tracer.observation.words.words import singular, word_set

_PLACE: Final = rf"(?:{SIDE}|front|rear|back|trailer|caravan|driver'?s|passenger'?s)(?:[ -]hand)?"
_HEAD: Final = Pattern(
    rf"^\s*(?:the |my )?(?P<head>(?:head ?(?:light|lamp) )?{_PLACE}(?: (?:on|at|of) the)?(?: {_PLACE})?"
    r"(?P<unit> (?:end|side|corner|cluster|unit|lamp|light|lights|lamps|head ?light|head ?lamp))?)"
    r"(?: (?:of|on) (?:the |my )?(?:car|van|truck|lorry|tractor|bike|bus|vehicle))? ?: "
    r"(?P<rest>.+)$", 2)
_BETWEEN: Final = Pattern(r"\s*[,;]\s*(?:and |but )?|\s+(?:but|and)\s+|\s+(?=no \w)", 2)
_NO: Final = Pattern(r"^(?P<no>no|neither|only(?: the)?) ", 2)
_EMPTY: Final = word_set("end side corner cluster unit lamp light lights lamps at the of on")
_PLACES: Final = word_set("left right nearside offside n/s o/s front rear back")


def under_heading(text: str) -> str:
    """The sentence with its heading said of each part; as it is where it has none, or a part names no lamp."""
    found = _HEAD.match(text) if ":" in text else None
    if found is None:
        return text
    parts = [p for p in _BETWEEN.split(found["rest"].strip().rstrip(".")) if p.strip()]
    if len(parts) < 2 or not all(_names(p) for p in parts):
        return text
    head = [w for w in found["head"].split() if w.lower() not in _EMPTY]
    return ", ".join(_with(head, part) for part in parts)


def _names(part: str) -> bool:
    return any(singular(w) in FUNCTIONS for w in part.lower().replace("light", "").replace("lamp", "").split())


def _with(head: list[str], part: str) -> str:
    """One part with the place that the heading gives, but what it says of it itself."""
    own = {*part.lower().split()} & _PLACES
    where = [w for w in head if not (own and w.lower() in _PLACES)]
    denied = _NO.match(part)
    first, rest = (denied.group(), part[denied.end():]) if denied else ("", part)
    return f"{first}{' '.join(where)} {rest}"
