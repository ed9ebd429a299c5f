"""What somebody took back in the middle of a sentence: "the offside one, sorry, I mean the nearside"."""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

_HESITATES: Final = r"(?:(?:no|oh|er+m?|um+|ah|well|actually|and|or|but),? )*"
# With "no" alone, commas on both sides: "no" between lamps is else what there is none of.
_MARK: Final = Pattern(
    rf"(?:(?:,|;| -+|\.\.+) *| ){_HESITATES}(?:(?:sorry|pardon|(?:hang|hold) on|wait(?: a (?:minute|sec|second"
    rf"|moment|"
    r"bit))?|i mean|i meant|correction|my mistake|i tell a lie|tell a lie|scratch that|make that|or rather|excuse me)"
    r"\b|(?<=, )no(?=,))(?:,? (?:no|i mean|i meant|it's|it was|that's|that was|make that|sorry|wait|not that))*,? "
    r"(?:on |at )?", 2)
_SIDE: Final = r"left|right|near ?side|off ?side|n/s|o/s|driver'?s side|passenger'?s side"
_END: Final = r"front|rear|back"
_FUNCTION: Final = (
    r"(?:brake|stop|tail|(?<!near )(?<!off )(?<!left )(?<!right )(?<!hand )(?<!'s )side|indicator|winker|blinker"
    r"|fog|revers(?:e|ing)|main(?: beam)?|dip(?:ped)?(?: beam)?|head|"
    r"plate|number ?plate|marker)s?"
)
_KINDS: Final = tuple(Pattern(rf"\b(?:{kind})\b", 2) for kind in (_SIDE, _END, _FUNCTION))
_WORD: Final = rf"(?:{_SIDE}|{_END}|{_FUNCTION}(?: ?(?:light|lamp|bulb)s?)?)"
_INSTEAD: Final = Pattern(rf"(?P<new>(?:the )?{_WORD}(?:[ -]hand)?(?: (?:{_WORD}|side|hand))*)(?: "
                          rf"ones?\b)?(?P<rest>.*)", 2)
_AGAIN: Final = Pattern(r"^(?:,? (?:that|which|it|they)(?:'s| is| are)?\b|'s\b|,)", 2)


def corrected(text: str) -> str:
    """The sentence with what was put right in place of what was taken back; as it is where that is not plain."""
    mark = _MARK.search(text)
    instead = mark and _INSTEAD.match(text, mark.end())
    if mark is None or instead is None:
        return text
    before = text[: mark.start()]
    for kind in _KINDS:
        new = [m.group() for m in kind.finditer(instead["new"])]
        old = [*kind.finditer(before)]
        if not new:
            continue
        if len({m.group().lower() for m in old}) != 1 or len(new) > 1:
            return text  # nothing of the kind was said before, or several things were
        before = f"{before[: old[-1].start()]}{new[0]}{before[old[-1].end():]}"
    return f"{before} {_AGAIN.sub('', instead['rest']).strip()}".strip()
