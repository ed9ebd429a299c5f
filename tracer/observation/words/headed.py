"""A heading before a colon, as job cards have it: "back end: tails dim, stops out" says of each part where it is."""

from __future__ import annotations

from typing import Final

from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.patterns import SIDE, Pattern
from tracer.observation.words.words import singular, word_set

_PLACE: Final = rf"(?:{SIDE}|front|rear|back|trailer|caravan|driver'?s|passenger'?s)(?:[ -]hand)?"
_HEAD: Final = Pattern(
    rf"^\s*(?:the |my )?(?P<head>(?:head ?(?:light|lamp) )?{_PLACE}(?: side)?(?: (?:on|at|of) the)?(?: {_PLACE})?"
    r"(?P<unit> (?:end|side|corner|cluster|unit|lamp|light|lights|lamps|head ?light|head ?lamp))?)"
    r"(?: (?:of|on) (?:the |my )?(?:car|van|truck|lorry|tractor|bike|bus|vehicle))? ?: "
    r"(?P<rest>.+)$", 2)
# "Right rear tail, stop, indicator: all dead", "trailer right side: nothing works", "stop lamps: nothing".
_ALL_OF: Final = Pattern(r" ?: (?=(?:all|both|each)(?: of them)? (?:is |are )?"
    r"(?:dead|out|off|dark|gone|dim|weak|faint|dull|fine|ok|okay|good|work|working|not working|unlit|not lit)\.?"
    r"$)", 2)
_ALL_THERE: Final = Pattern(
    rf"^\s*(?:the |my )?(?P<towed>(?:trailer|caravan) )?(?P<place>{_PLACE}(?: {_PLACE})?)(?: (?:end|side|corner|"
    rf"cluster|unit))? ?: (?:everything|nothing|it|all|the lot)(?:'s| is)? ?(?:(?:at all|all) )*(?:works?|lights?(?: "
    r"up)?|dead|out|dark|gone|off|not working|works at all)\.?\s*$", 2)
_NOTHING_OF: Final = Pattern(
    r"^\s*(?P<who>(?:the |my |both )?(?:[\w/]+ ){0,3}?(?:lights|lamps|indicators|stops|tails|beams|dips)) ?[:,] "
    r"(?:nothing|nowt|none|not (?:a single )?one)(?: of them)?(?: at all| works?| lights?)*(?:,? (?:on |at "
    r")?(?:either|both|neither) sides?)?\.?\s*$", 2)
_NOTHING_OF_ONE: Final = Pattern(
    rf"^\s*(?:the |my )?(?P<a>{SIDE} )?(?P<who>(?:(?:front|rear) )?(?:tail|stop|brake|indicator|winker|dip|main|"
    rf"reversing|fog|plate)(?: ?(?:light|lamp|beam))?)(?P<b> {SIDE})? ?[:,?] (?:nothing|nowt)\.?\s*$", 2)
# A place said last of a list: "no tail, stop or indicator at the right rear".
_LISTED: Final = Pattern(
    r"^\s*(?:there's |there is |i've |got )*no (?P<list>\w+(?: ?lights?| ?lamps?)?(?:, (?:no )?\w+(?: ?lights?| "
    r"?lamps?)?)*,? (?:or|and|nor|no) (?:no )?\w+(?: ?lights?| ?lamps?)?),? (?:at|on|in) the (?P<place>"
    rf"{_PLACE}(?: {_PLACE})?)(?: (?:end|side|corner|cluster|unit))?\s*$", 2)
_BETWEEN: Final = Pattern(r"\s*[,;]\s*(?:and |but )?|\s+(?:but|and)\s+|\s+(?=no \w)", 2)
_COMMAS: Final = Pattern(r",? (?:or|and|nor|no) (?:no )?|, (?:no )?", 2)
_NO: Final = Pattern(r"^(?P<no>no|neither|only(?: the)?) ", 2)
_EMPTY: Final = word_set("end side corner cluster unit lamp light lights lamps at the of on")
_PLACES: Final = word_set("left right nearside offside n/s o/s front rear back")


def under_heading(text: str) -> str:
    """The sentence with its heading said of each part; as it is where it has none, or a part names no lamp."""
    if found := _LISTED.match(text):
        parts = [p.removeprefix("no ") for p in _COMMAS.split(found["list"])]
        text = f"{found['place']}: {', '.join(f'no {p}' for p in parts)}"
    if found := _NOTHING_OF.match(text):
        return f"{found['who']} dead"
    if (found := _NOTHING_OF_ONE.match(text)) and (found["a"] or found["b"]):
        return f"{(found['a'] or found['b']).strip()} {found['who']} dead"
    if found := _ALL_THERE.match(text):
        of = f" of the {found['towed'].strip()}" if found["towed"] else ""
        return f"everything on the {found['place']}{of} dead"
    text = _ALL_OF.sub(" ", text)
    found = _HEAD.match(text) if ":" in text else None
    if found is None:
        return text
    parts = [p for p in _BETWEEN.split(found["rest"].strip().rstrip(".")) if p.strip()]
    if not all(_names(p) for p in parts) or (len(parts) < 2 and not _NO.match(parts[0])):
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
