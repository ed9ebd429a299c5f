"""Indicators that light and do not flash, in whatever order and by whatever name it is told: "neither side flashes,
the bulbs light though", "no blinking, they burn all the time". Put as one thing.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import INDICATOR, SIDE, Pattern

_FLASH: Final = r"(?:flash(?:es|ing)?|blink(?:s|ing)?|wink(?:s|ing)?|puls(?:e|es|ing))"
_NO_FLASH: Final = Pattern(
    rf"\b(?:no|not|never|without|neither|instead of|rather than|refuse to|won't|don't|doesn't|isn't|aren't|do not|"
    rf"does not|will "
    rf"not|cannot|can't|dont|wont|doesnt|nor)(?: (?:a|the|any|actually|even|side|sides|of them|be|they|do|does|are|"
    rf"is|it))* {_FLASH}\b|"
    rf"\bno {_FLASH}\b", 2)
_LIT: Final = Pattern(
    r"\b(?:illuminat\w*|light(?:s|ing)?(?: up)?(?! ?(?:bulb|unit))|lit|burn(?:s|ing)?|comes? on|coming on|come up|"
    r"stays? (?:on|"
    r"lit)|staying on|"
    r"remain(?:s)? (?:on|lit)|glow(?:s|ing)?|steady|steadily|solid|constant(?:ly)?|permanent(?:ly)?|"
    r"continuous(?:ly)?|are on|is on|"
    r"just on|on all the time|on constantly)\b", 2)
# Not that they light, but a noun, or that they do not.
_NOUN: Final = Pattern(r"\b(?:the|my|no|both|all|tail|side|brake|head|lamps?|turn|warning|these|rear|"
 r"front) lights?\b|\bindicator lights?\b(?! (?:but|and|up|without|yet)\b)", 2)
_UNLIT: Final = Pattern(r"\b(?:don't|doesn't|won't|not|no|never|neither|nor|dont|wont|isn't|aren't|nothing) "
 r"(?:(?:even|do|does|they|it|"
                        r"any|is|are) )*(?:light(?:s|ing)?|lit|come on|comes on|on|burn\w*|glow\w*)\b", 2)
_OTHERS: Final = Pattern(
    r"\b(?:tail|stop|brake|head\w*|dip|main|plate|fog|revers\w*|side ?(?:light|lamp)s?|dash\w*|tell|warning|arrow|"
    r"green|hazards?|"
    r"relay|click\w*|tick\w*|unit|fuse|horn|buzz\w*|fast|quick|slow|rapid|except|only (?:the|on)|other|one side|"
    r"works?|fine|ok|dim|"
    r"weak|faint|sometimes|dark|dead|out|instead of the|repeaters?|trailer|caravan|car)\b", 2)
_SUBJECT: Final = Pattern(rf"\b(?:{INDICATOR}|inds|signals|bulbs|lamps|lights|they|side|both|it|left|right)\b", 2)
_ABOUT: Final = Pattern(rf"\b(?:{INDICATOR}|inds?|flash\w*|blink\w*|wink\w*)\b", 2)
_ONE: Final = Pattern(r"\b(?:indicator|winker|flasher|blinker|trafficator|turn signal)\b(?!s)", 2)
_ONE_SIDE: Final = Pattern(rf"(?<!all )\b(?P<s>{SIDE})\b(?! enough| away| up)", 2)
_EITHER: Final = Pattern(r"\b(?:both|either|neither|each|(?:left|right) (?:or|and|&|nor) (?:left|right)|n/s (?:or|"
 r"and|&) o/s)\b", 2)
_END: Final = Pattern(r"\b(?P<e>front|rear|back)\b", 2)


_HAZARDS: Final = Pattern(
    r"^(?:the |my |all )*(?:hazards?|four ?ways?)(?: warning)?(?: lights| lamps| flashers)? (?:come on|light(?: "
    r"up)?|are (?:on|lit)|stay (?:on|lit)|just)"
    r"(?: (?:come on|on|lit|up|steady|solid|constantly|all the time))*,? (?:but |and |with )?(?:they )?(?:no "
    r"flash\w*|(?:do|wo|are)n't (?:flash|blink)\w*|"
    r"(?:do |are )?not (?:flash|blink)\w*|without flashing|never flash)\W*$", 2)
_PERMANENT: Final = Pattern(
    rf"^(?:when I indicate (?P<s>left|right),? )?(?:the |my )?{INDICATOR} (?:lights? up|comes? on|is on|is lit|are "
    rf"on|are lit) (?:permanently|all the time|constantly|steadily|continuously)"
    r"(?: when I indicate(?: (?P<t>left|right))?)?\W*$", 2)
_STAYS_LIT: Final = Pattern(rf"^(?:the |my |both )*{INDICATOR} (?:come on|light(?: up)?|go on),? (?:and|but) "
 rf"(?:then )?(?:they )?"
                            r"(?:just |all )?stay (?:on|lit)\W*$", 2)


def flash_plainly(text: str) -> str:
    """The sentence as "… come on but do not flash", where that is what it says; else as it is."""
    small = text.lower()
    if not any(w in small for w in ("flash", "blink", "wink", "puls", "stay", "indicat", "signal")) or ". " in text:
        return text
    if _HAZARDS.match(text):
        return "hazards come on but do not flash"
    if found := _PERMANENT.match(text):
        return f"{found['s'] or found['t'] or ''} indicators come on but do not flash".strip()
    if _STAYS_LIT.match(text):
        return "indicators come on but do not flash"
    no_flash = _NO_FLASH.search(text)
    rest = text if no_flash is None else f"{text[: no_flash.start()]} {text[no_flash.end():]}"
    bare = _NOUN.sub(" ", rest)
    others = _UNLIT.search(rest) or _OTHERS.search(rest)
    if no_flash is None or others or not all((_LIT.search(bare), _ABOUT.search(text), _SUBJECT.search(text))):
        return text
    sides = {m["s"].lower() for m in _ONE_SIDE.finditer(text)}
    ends = {m["e"].lower() for m in _END.finditer(text)}
    if len(sides) > 1 or len(ends) > 1:
        if not _EITHER.search(text):
            return text
        sides, ends = set() if len(sides) > 1 else sides, set() if len(ends) > 1 else ends
    where = " ".join([*sides, *ends])
    if where and _ONE.search(text):
        return f"{where} indicator comes on but does not flash"
    return f"{where} indicators come on but do not flash".strip()
