"""What is said beside the lamps and their looks: by day or in the dark, "only with the side lights on",
and comparisons of two lamps side by side."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from tracer.errors import SymptomError
from tracer.harness.file.nodes import clip
from tracer.harness.lamp_purposes import other_side
from tracer.observation.evidence import Compared, Comparison, Light
from tracer.observation.words.looks import look_at
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.words import HARMLESS, LampNames, find_lamps, tokens

_LIGHTS: Final[tuple[tuple[Light, Pattern], ...]] = (
    ("day", Pattern(r",?\s*\b(?:by day|by daylight|in (?:broad |full |bright )?(?:daylight|sunlight|sunshine)|"
                       r"in the sun|in the daytime)\b", re.IGNORECASE)),
    ("night", Pattern(r",?\s*\b(?:in the dark|after dark|at night|by night|in darkness|at dusk|"
                         r"in (?:a|the) dark (?:garage|workshop|shed|barn))\b", re.IGNORECASE)),
)
_ONLY_WITH: Final = Pattern(r"[,;]?\s*\b(?:but |and )?only\s+(?:when|with|while|if)\b", re.IGNORECASE)
_ONLY_LAST: Final = Pattern(r"\bonly\s*[,;]?\s*$", re.IGNORECASE)
_THAN: Final = Pattern(
    r"^(?P<one>.+?)\s+(?:(?:is|are|looks?|shines?|burns?|glows?|lit|seems?)\s+)*(?P<doubt>perhaps\s+|maybe\s+)?"
    r"(?:a\s+(?:bit|little)\s+|slightly\s+|much\s+|far\s+|clearly\s+)?"
    r"(?P<how>dimmer|duller|weaker|darker|fainter|less bright|not as bright|brighter|stronger|more bright|"
    r"as bright|as dim|just as bright|equally bright|the same brightness|the same)\s+(?:than|as)\s+(?P<two>.+)$",
    re.IGNORECASE,
)
_BOTH: Final = Pattern(
    r"^(?P<both>.+?)\s+(?:(?:is|are|look|shine|burn|glow)\s+)*"
    r"(?P<how>alike|equally bright|the same|equal|of the same brightness)\s*$", re.IGNORECASE,
)
# "With the right" says beside which lamp, and no position of the indicators.
A_SIDE: Final = r"(?:the )?(?:left|right|other)(?: one| side)?"
_SIDES: Final = frozenset({"left", "right", "lh", "rh", "lhs", "rhs", "l", "r", "front", "rear", "lamp", "light"})
_HOW: Final[dict[str, Comparison]] = {
    "brighter": "brighter", "stronger": "brighter", "more bright": "brighter", "dimmer": "dimmer",
    "duller": "dimmer", "weaker": "dimmer", "darker": "dimmer", "fainter": "dimmer", "less bright": "dimmer",
    "not as bright": "dimmer",
}
_AS_USUAL: Final = Pattern(
    r"^(?:normal|usual|before|it should|they should|it was|they were|ever)\b", re.IGNORECASE
)
_OTHER_SIDE: Final = Pattern(
    r"^(?:(?:on\s+)?the\s+)?(?:other|opposite)(?:\s+(?:side|one|lamp|light))?\s*$", re.IGNORECASE
)


def light_said(text: str) -> tuple[str, Light]:
    """The text without "by day" or "in the dark", and which of them it was.

    Raises:
        SymptomError: Both.
    """
    found: Light = ""
    for light, pattern in _LIGHTS:
        text, count = pattern.subn("", text)
        if count and found:
            raise SymptomError("by day and in the dark cannot both be", "record each as a symptom of its own")
        found = light if count else found
    return text, found


def only_said(said: str, where: str) -> tuple[str, str, str]:
    """Both halves without "only", and the words of the state that it speaks of (empty if none)."""
    match = _ONLY_WITH.search(said)
    if match:
        part = said[match.end() :]
        return said[: match.start()], f"{where}, {part}", part
    match = _ONLY_WITH.search(where)
    if match:
        part = where[match.end() :]
        return said, f"{where[: match.start()]}, {part}".strip(", "), part
    if _ONLY_LAST.search(said):
        return _ONLY_LAST.sub("", said), where, where
    return said, where, ""


def comparisons(said: str, names: LampNames) -> tuple[str, list[Compared]]:
    """The text without its comparisons, and these.

    Raises:
        SymptomError: A comparison whose lamps cannot be told, or have no other side.
        UnknownNameError: A lamp that the harness does not have.
    """
    left: list[str] = []
    found: list[Compared] = []
    for clause in re.split(r"\s*[,;]\s*|\s+but\s+", said):
        rest = _one_clause(clause, names, found)
        if rest.strip():
            left.append(rest)
    return (said, []) if not found else (", ".join(left), found)


def _one_clause(clause: str, names: LampNames, found: list[Compared]) -> str:
    """What a clause says beside the comparison in it, which is put into `found`."""
    match = _THAN.match(clause)
    if match and not _AS_USUAL.match(match["two"]):
        before, one = _after_look(match["one"])
        two, after = _before_look(match["two"])
        how = _HOW.get(match["how"].lower(), "alike")
        for lamp in find_lamps(tokens(one), names, lit=True):
            other = _mirrored(lamp, names) if _OTHER_SIDE.match(two) else _single(two, one, names)
            if other == lamp:
                raise SymptomError(f"{lamp} is compared with itself", "say which other lamp was looked at")
            found.append(Compared(lamp, other, how, bool(match["doubt"])))
        return " and ".join(p for p in (before, after) if p)
    both = _BOTH.match(clause)
    if both:
        before, pair = _after_look(both["both"])
        lamps = find_lamps(tokens(pair), names, lit=True)
        if len(lamps) != 2:
            raise SymptomError(f"“{clip(pair)}” is {len(lamps)} lamp{'s' * (len(lamps) != 1)}; two are compared",
                               "name both: left rear tail and right rear tail alike")
        found.append(Compared(lamps[0], lamps[1], "alike"))
        return before
    return clause


def _single(phrase: str, one: str, names: LampNames) -> str:
    """The one lamp a comparison is with; what it leaves out is taken from the first ("… than the right one")."""
    words = [w for w in tokens(phrase) if w not in HARMLESS]
    if all(w in _SIDES for w in words):
        words += [w for w in tokens(one) if w not in HARMLESS and w not in _SIDES]
    lamps = find_lamps(words, names, lit=True)
    if len(lamps) != 1:
        raise SymptomError(f"“{clip(phrase)}” is {len(lamps)} lamps; a lamp is compared with one", "name one lamp")
    return lamps[0]


def _mirrored(lamp: str, names: LampNames) -> str:
    other = other_side(lamp)
    if other == lamp or other not in names.words:
        raise SymptomError(f"{lamp} has no other side in the harness", "name the lamp that it was compared with")
    return other


def _after_look(phrase: str) -> tuple[str, str]:
    """A phrase split after the last "and" that follows a look: "right stop dark and left tail"."""
    parts = re.split(r"\s+and\s+", phrase)
    for k in range(len(parts) - 1, 0, -1):
        if _tells_a_look(parts[k - 1]):
            return " and ".join(parts[:k]), " and ".join(parts[k:])
    return "", phrase


def _before_look(phrase: str) -> tuple[str, str]:
    """A phrase split at the first "and" that a look follows: "right tail and left stop dark"."""
    parts = re.split(r"\s+and\s+", phrase)
    if any(_tells_a_look(p) for p in parts[1:]):
        return parts[0], " and ".join(parts[1:])
    return phrase, ""


def _tells_a_look(phrase: str) -> bool:
    words: Sequence[str] = tokens(phrase)
    return any(look_at(words, at)[0] is not None for at in range(len(words)))
