"""What is said of the other side, or of both alike, and leaves out what it is said of: "fast on the left, right is
fine", "they light but don't flash, hazards the same", "dipped beam out, both of them", "the plate light, left one".
Put with the lamps, and the way to signal, that were meant.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.patterns import INDICATOR, SIDE, Pattern

_SIDED: Final = Pattern(rf"\b(?P<side>{SIDE}|left|right|passenger'?s?|driver'?s?)\b", 2)
_LEFT: Final = ("left", "near", "n/s")
_RIGHT: Final = ("right", "off", "o/s")
_GOOD: Final = (
    r"(?:(?:is|are|all|perfectly|quite|still|just|works?|working|flash(?:es|ing)?|runs?|goes|seems?|going|at|the|a|"
    r"his|its) )*"
    r"(?:fine|ok|okay|okey|good|normal|normally|all right|alright|right|perfect|perfectly|works?|working|proper|"
    r"properly|"
    r"correct|correctly|steady|as (?:it|they) should(?: be)?|usual|(?:proper|normal|right|usual|correct) (?:rate|"
    r"speed|pace))"
    r"(?: (?:rate|speed|pace|though|enough))*"
)
_WAY: Final = rf"(?:the )?(?P<o>{SIDE})(?:[ -]hand)?(?: (?:side|one|ones|way|turn))?"
_MAIN: Final = r"(?P<main>.+?)"
# "…, right is fine", "… but they're OK on the right", "…, fine to the right".
_OTHER_WELL: Final = tuple(Pattern(rf"^{_MAIN}(?:,| -+|;)? ?(?:but |and |while |whereas |though |yet )*{said}\W*$",
 2) for said in (
    rf"(?:(?:on|to|at) )?{_WAY}(?:'s)? {_GOOD}",
    rf"(?:it's|its|they're|theyre|they are|it is|it|they) {_GOOD} (?:on|to|at) {_WAY}",
    rf"{_GOOD} (?:on|to|at|(?:when )?(?:turning|going|signalling|indicating)(?: to)?|when i (?:go|turn|signal|"
    rf"indicate)) {_WAY}",
))
_RATE: Final = Pattern(
    r"\b(?:fast|quick|quickly|rapid|rapidly|rac(?:e|es|ing)|mad|mental|double|twice|clappers|hyper ?flash\w*|slow|"
    r"slowly|"
    r"crazy|berserk|like billy|overtime|nineteen|dozen|speed)\b", 2)
_IND: Final = Pattern(rf"\b(?:{INDICATOR}|inds?|ticker|ticking|tick|click\w*|blink\w*|wink\w*)\b", 2)
_STEADILY: Final = Pattern(r"\b(?:solid|steady|steadily|(?:not|n't|no|never) (?:flash|blink|wink)\w*|stays? (?:on|"
 r"lit)|stuck on)\b", 2)
_TELLS: Final = Pattern(r"\b(?:green (?:light|arrow|lamp)|tell[- ]?tale|dash(?:board)? (?:light|arrow)|arrow|"
 r"warning (?:light|"
                        r"lamp))\b", 2)
_SIGNALLED: Final = Pattern(r"\b(?:when|if|while|on|as) (?:i |you )?(?:signal|indicat\w+|turn\w*|go|going) (?:to "
 r")?(?:the )?"
                            r"(?P<side>left|right)\b|\bindicating (?P<side2>left|right)\b", 2)
_FUSE: Final = Pattern(r"^(?P<fuse>(?:the |my |a )?(?:[\w-]+ ){0,2}?fuse(?: \d+)?|F\d+)\b.*\b(?:blow|pop|go|melt|"
 r"fail)(?:s|es)?\b", 2)
# Both alike, after what is told of one name.
_BOTH: Final = Pattern(
    r",? (?:(?:on|at) )?(?:both of (?:them|'em)|(?:both|either|each) sides?,?(?: (?:the )?(?:same|sme)| alike| "
    r"too)?|left (?:and|"
    r"or|&) right|right (?:and|or|&) left|n/?s (?:and|or|&) o/?s|o/?s (?:and|or|&) n/?s|(?:the )?same (?:on |at "
    r")?(?:both|"
    r"either|each|left and right)(?: sides?)?|same (?:left and right|either way))(?=\W*$|,| (?:after|since)\b)", 2)
_PLURAL: Final = Pattern(r"^(?:(?:no|my|the|both|all|these) )*(?:[\w/-]+ )*?[\w-]*(?:lights|lamps|beams|tails|stops|"
 r"indicators|"
                         r"winkers|flashers|blinkers|dips|signals|trafficators|mains|headlights|sidelights)\b", 2)
_ONE_BEAM: Final = Pattern(r"^(?:no |my |the )?(?P<who>(?:dip(?:ped)?|main|high|low|full)(?: beam)?|brake ?light|"
 r"stop ?(?:light|"
                           r"lamp)|tail ?(?:light|lamp)|head ?(?:light|lamp))(?:'s|(?= (?!s\b)))", 2)
_SAME_HAZARDS: Final = Pattern(
    rf"^(?P<who>(?:the |my |both |all )*{INDICATOR}|turn signals) (?P<does>.+?),? (?:and |but )?(?:(?:it's |it is "
    rf")?(?:the )?"
    r"same (?:with|on|for) (?:the )?hazards?|(?:the )?hazards?(?: lights| warning)?(?: are| is| do| does)?(?: just| "
    r"exactly)? ?"
    r"(?:the )?(?:same|likewise|as well|too|neither|either))\W*$", 2)
# A lamp and then its side: "the plate light, left one".
_LAMPS_FLASH: Final = Pattern(
    rf"(?P<a>\b(?:{INDICATOR}|tell[- ]?tale|arrow)\b.*?), (?:but |and )?(?:the |all |outside )*(?:lamps|lights|"
    rf"bulbs)(?: outside| themselves)? (?P<f>(?:all )?(?:flash|blink|wink)(?:ing)?)\b", 2)
_CORNERS: Final = Pattern(rf"(?P<a>\b(?:{INDICATOR}|tell[- ]?tale)\b.*?), (?:but |and )?all four(?: corners| lamps| "
 rf"bulbs| of them)? (?P<f>(?:flash|blink|wink)(?:ing)?)\b", 2)
# "Right reversing lamp lights, left one doesn't": of one switched on, and not of one that shines by itself.
_MATE_DEAD: Final = Pattern(
    rf"^(?P<s>(?:the |my )?{SIDE})(?:[ -]hand)? (?P<l>(?:rear |front )?(?:tail|stop|brake|indicator|winker|flasher|"
    rf"head|revers(?:e|ing)|fog|plate|main|dip|side)"
    r"(?: ?(?:light|lamp|beam))?) (?:lights(?: up)?|comes on|is on|is lit|lit)(?: ok| fine| all right)?,? (?:but |"
    r"and )*(?:the )?"
    rf"(?P<o>{SIDE}|other)(?:[ -]hand)?(?: one| side| lamp| light)? (?:doesn't|does not|isn't|is not|won't|will not|"
    rf"not)(?: (?:work|light|come on|lit|on)(?: up)?)?"
    r"(?P<r>(?:,| and| but) .*|)$", 2)
_APPOSED: Final = Pattern(
    rf"^(?P<who>(?!.*\b(?:left|right|near ?side|off ?side|n/s|o/s)\b)[^,]+?), (?:it's |that's |on )?(?:the "
    rf")?(?P<side>{SIDE})"
    r"(?:[ -]hand)? (?:one|side)(?P<rest>,.*| on (?:dip|main|full|high|low|both)\b.*|)$", 2)
_NONE: Final = Pattern(r"^(?:there's |i've |i have |got )*(?:no|neither|none)\b", 2)
_THIRD: Final = Pattern(r"\b(?:high|third|3rd|middle|centre|center|top)\b", 2)  # then both are not all
_ONE: Final = Pattern(r"^(?:only |just )?one (?:of (?:the|my) )?", 2)


_BRIGHT: Final = Pattern(rf"(?P<a>\b(?:dim|weak|poor|yellow|dull|faint|down)\b.*), (?:but |and |the "
 rf")*(?P<w>other(?: side| one)?|{SIDE}(?: side| one)?)"
                         r"(?:'s| is| still| nice| and| good| lovely| nice and)* bright\W*$", 2)
_STEADY: Final = Pattern(rf"^(?P<a>(?!.*\b{INDICATOR}[^,]*,)(?:the |my |both )*(?:[\w/]+ )?(?:tail|stop|brake|side|"
 rf"head|plate)[^,]*), (?P<w>{SIDE}(?: side|"
                         r" one)?) (?:is |stays |remains |burns )?steady\W*$", 2)
# "Trailer tails die when I brake, the car's stay on": these burn then too.
_BOTH_VEHICLES: Final = Pattern(
    r"^(?P<a>(?=.*\b(?:trailer|caravan)\b)(?!.*\b(?:no|brake|stop)s? ?(?:light|lamp))(?=[^,]*\b(?:go|goes|die|dies|"
    r"disappears?|drops?|cuts?|dims?|fades?|out|off|"
    r"vanish\w*)\b)(?=.*\b(?:tails?|lights|lamps|sides|sidelights)\b)[^,]*\b(?P<w>when I (?:brake|press the brake "
    r"pedal|reverse|indicate(?: left| right)?))"
    r"\b[^,]*?),? (?:but |and |while |whereas )?(?:the |my )?(?P<c>car|van|tractor|truck)(?:'s|s)?(?: (?:ones?|own|"
    r"tails?|lights?|lamps?|are|is|all|just))* "
    r"(?:stays?|remains?|keeps?|fine|ok|on|lit|all right|unaffected)(?: (?:on|lit|fine|ok|alight|put|as they are|"
    r"burning|going))*\W*$", 2)
_ONE_WAY: Final = Pattern(
    r"^(?:the |my )?(?P<i>indicator|winker|blinker|flasher|turn signal)\b(?P<r>[^,]*?\bwhen I indicate "
    r"(?P<s>left|right)\b.*)$", 2)
_WHILE: Final = Pattern(r",? (?:while|whilst|and yet) (?=(?:the )?(?!i\b|you\b|it\b|driving|moving|engine|braking|"
 r"revers|indicating)[^,]*\b(?:fine|ok|okay|good|normal|works?|working|"
                        r"all right)\W*$)", 2)


def other_side_plainly(text: str) -> str:
    """The sentence with what it leaves out of the other side, or of both."""
    text = _MATE_DEAD.sub(r"\g<s> \g<l> works, \g<o> one dead\g<r>", text)
    text = _CORNERS.sub(r"\g<a>, indicators \g<f>", text)
    text = _LAMPS_FLASH.sub(r"\g<a>, indicators \g<f>", _WHILE.sub(", ", text))
    text = _STEADY.sub(r"\g<a>, \g<w> is fine", _BRIGHT.sub(r"\g<a>, \g<w> is fine", text))
    if found := _BOTH_VEHICLES.match(text):
        return f"{found['a']}. {found['c']} tails are fine {found['w']} with the lights on"
    if (found := _ONE_WAY.match(text)) and _RATE.search(text) and not _SIDED.search(text[: found.start("s")]):
        text = f"{found['s']} {found['i']}{found['r']}"
    small = text.lower()
    if (" one" in small or " side" in small) and (found := _APPOSED.match(text)):
        who = _ONE.sub("", re.sub(r"^(?:the|my|its) ", "", found["who"], flags=2))
        text = f"{found['side']} {who}{found['rest']}"
    if "hazard" in small and (found := _SAME_HAZARDS.match(text)):
        return f"{found['who']} {found['does']}. hazards {found['does']}"
    if any(w in small for w in ("both", "same", "either", "left", "/s", "ns ")) and (found := _BOTH.search(text)):
        text = _of_both(text, found)
    return _other_well(text)


def _of_both(text: str, found: re.Match[str]) -> str:
    """Without "both sides alike", of what is named in the plural or is a beam, and of no side."""
    rest = text[: found.start()] + text[found.end():]
    if _SIDED.search(rest) or _RATE.search(rest) or _THIRD.search(rest):
        return text
    if _PLURAL.match(rest):
        return rest
    if _NONE.search(rest):
        return text
    if one := _ONE_BEAM.match(rest):
        return f"both {one['who']}s{rest[one.end():]}"
    return text


def _other_well(text: str) -> str:
    """"Fast on the left, right is fine": of the indicators of that side, or of their tell-tale, as one signals so."""
    for pattern in _OTHER_WELL:
        found = pattern.match(text)
        if found is None:
            continue
        main, other = found["main"].rstrip(" ,"), _side(found["o"])
        sides = {_side(m["side"]) for m in _SIDED.finditer(main)}
        if sides != {"right" if other == "left" else "left"}:
            continue
        signalled = _SIGNALLED.search(main)
        if _FUSE.match(main) and signalled:
            return f"{main}. {_FUSE.match(main)['fuse']} holds when I indicate {other}"  # type: ignore[index]
        if _TELLS.search(main) and signalled:
            return f"{main}. indicator tell-tale works when I indicate {other}"
        if _IND.search(main) and (_RATE.search(main) or _STEADILY.search(main)):
            return f"{main}. {other} indicators are normal"
    return text


def _side(said: str) -> str:
    return "left" if said.lower().startswith((*_LEFT, "passenger")) else "right"
