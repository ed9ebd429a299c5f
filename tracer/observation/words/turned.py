"""Sentences that tell of two states, or of two lamps, in one turn of phrase, put into such as are read one by one.

"The left tail works until I brake" is "left tail works. left tail goes out when I brake", and so is "left stop only
works with the lights off"; "…, works otherwise" and "…, everything else normal" after the state are put where they
are read.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

_GOOD: Final = (
    r"(?:works?|work(?:s|ing)? (?:fine|ok|okay|well)|(?:is|are) (?:fine|ok|okay|good|all right|normal)|ok|fine)"
)
_VERB: Final = (
    r"(?:goes?|is|are|gets?|turns?|comes?|flickers?|dims?|glows?|cuts?|dies?|stops?|does|do|won'?t|dead|dark|dim|out|"
    r"faint|weak|lit|bright|flashes)"
)
_OTHERWISE: Final = Pattern(
    rf"(?P<who>.+?) (?P<does>{_VERB}\b.*?) (?P<when>(?:when|whenever|if|with|as soon as) .+?),? (?:but |and )?"
    rf"(?:it )?(?:{_GOOD} (?:otherwise|apart from that|the rest of the time)|otherwise (?:it )?{_GOOD})", 2)
_NUMBER: Final = Pattern(r"\b(fuse) (?:n(?:o|r)\.?|number|#) ?(?=\d)", 2)  # before a full stop parts sentences
_UNTIL: Final = Pattern(rf"(?P<who>.+?) (?P<good>{_GOOD}) until (?P<when>.+)", 2)
_ONLY_OFF: Final = Pattern(
    r"(?P<who>.+?) only (?:works?|lights?(?: up)?|comes? on|burns?|shines?|lit) (?:when|with|while|if) "
    r"(?P<what>(?:the |all )*(?:\w+ )?(?:lights|lamps|indicators|hazards|headlights|headlamps|sidelights))"
    r"(?: are)?(?: switched| turned)? off", 2)
_REST: Final = Pattern(
    r"(?P<said>.+?),? (?P<when>(?:when|with|while|if) [^,]+?),? (?:and |but )?"
    r"(?:everything else|all the rest|the rest|all (?:the )?others?) (?:is |are )?"
    r"(?:normal|ok|okay|fine|works?|good)", 2)


def turned(text: str) -> str:
    """The sentence in such as are read one by one; as it is, if it has no such turn."""
    text = _NUMBER.sub(r"\1 ", text)
    plain = " ".join(text.strip().rstrip(".!").split())
    if found := _REST.fullmatch(plain):
        return f"{found['said']}, everything else normal {found['when']}"
    if found := _OTHERWISE.fullmatch(plain):
        return f"{found['who']} works. {found['who']} {found['does']} {found['when']}"
    if found := _ONLY_OFF.fullmatch(plain):
        return f"{found['who']} goes out when {found['what']} are on"
    if found := _UNTIL.fullmatch(plain):
        return f"{found['who']} {found['good']}. {found['who']} goes out when {found['when']}"
    return text
