"""Turns of phrase that leave a word out or put it where it is not looked for: "tail light left dead", "back lights ok
front ones dead", "left tail out, right one neither", and words that only fill.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly
from tracer.observation.words.plain_words import SOUNDS_LIKE

_PLACE: Final = rf"(?:(?:{SIDE}|front|rear|back)(?:[ -]hand)?(?: side)? )"
_INDICATOR: Final = r"(?:indicators?|winkers?|flashers?|blinkers?|trafficators?|turn signals?)"
_BAD: Final = (
    r"(?:dead|out|dim|faint|dull|weak|off|dark|gone|not working|flickering|flickers|(?:do|does|wo|is|are)(?:n'?t| "
    r"not)"
    r"(?: (?:work(?:ing)?|come on|light(?: up)?|flash))?|won't (?:work|come on|light|flash))"
)
_GOOD: Final = r"(?:ok|okay|fine|good|works?(?: fine| ok)?|working|normal|all right|perfect)"
_VEHICLE: Final = r"(?:car|van|tractor|bike|motor ?bike|motorcycle|lorry|truck|pickup|bus|vehicle)"
_NAME: Final = (
    r"(?:brakes?|stops?|tails?|side ?lights?|head ?(?:lights?|lamps?)|dips?|mains?|indicators?|winkers?|flashers?|"
    r"fogs?|revers\w+|number plates?|plates?|plate lights?|side|head|main|dip)"
)
_AS_WELL: Final = (
    r"(?:also (?:not|doesn't|don't|isn't|aren't|dead)|not either|neither|nor|won't either|"
    r"(?:does|do|is|are|was|were)(?:n'?t| not) either)"
)

_SIDE_AFTER: Final = tuple(
    f"{what} {side}" for what in ("light", "lamp", "bulb", "lite", "brake", "stop", "tail", "fog", "plate", "dip")
    for side in ("left", "right", "near", "off", "n/s", "o/s"))

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("tell tale",), r"\btell tale", "tell-tale"),
    # "On one side only, the left works, the right does not": what is said after it is said better.
    (("one side only", "only one side"),
     rf"^(?P<who>[^,:]+?) (?:(?:works?|lit|on|is|are) )*(?:(?:on |at )?one side only|only (?:on )?one side) ?[,:;-] ?"
     rf"(?:the )?(?P<a>{SIDE})(?: one| side)? (?P<x>(?:(?!\b{SIDE}\b).)+?),? (?:and |but )?(?:the )?(?P<b>{SIDE})"
     r"(?: one| side)? (?P<y>.+)$", r"\g<a> \g<who> \g<x>, \g<b> \g<who> \g<y>"),
    # Two that do alike.
    (("also", "either", "neither", "nor"),
     rf"(?P<look>\b{_BAD}),? (?:and |but )?(?:the |my )?(?P<who>(?:(?!\b(?:and|but|it|they|that|is|are)\b)[\w'/]+ ?)"
     rf"{{1,5}}?) (?:is |are |does |do )?{_AS_WELL}(?= *(?:$|,))", r"\g<look>, \g<who> \g<look>"),
    (("stop pedal",), r"\bstop pedal\b", "brake pedal"),
    (("dips ",), r"(?P<before>^|, |\b(?:and|but) )(?P<the>the |both )?dips (?=(?:are |is |both |all )*(?:dead|out"
                 r"|ok|okay|fine|good|"
     r"dim|work|works|gone|faint|weak|not|don't|won't|normal)\b)", r"\g<before>\g<the>dipped beams "),
    (("all round", "all around"), r" all (?:a)?round(?= *(?:$|,))", ""),
    # What is well, and what is not.
    (("wrong with", "problem with", "problems with", "trouble with"),
     r"^(?:there's |there is )?(?:nothing|no|not a) ?(?:problems?|trouble|wrong)? with (?:the |my "
     r")?(?P<who>[\w' ]+?)(?=,| but\b| except\b"
     r"| apart\b|$)", r"\g<who> fine"),
    (("except that", "except for that"), r",? except (?:for )?that (?=the |my |both |left |right |all )", " but "),
    ((" but not ",),
     rf"(?P<look>\b(?:dead|out|dim|faint|off|not working)),? but not (?:the |my )?(?P<who>(?!{_PLACE}?(?:$"
     r"|ones?\b))(?!(?:when|with|if"
     r"|on|in|under)\b)[\w ]+)$", r"\g<look>, \g<who> fine"),
    (("not even", "isn't even", "aren't even"),
     r",? (?:not|isn't|aren't) even (?:a )?(?:dim\w*|glow\w*|glimmer\w*|faint\w*|flicker\w*)(?= *(?:$|,))", ""),
    ((" but ",), r"\b(?:all |both )?works?,? but (?:(?:only|very|quite|they're|it's|they are|it is|just) "
                 r")*(?=(?:dim|faint|weak|dull|slow"
     r"|fast|too bright|quick)\w*\b)", "are "),
    # Two that should not be on at once.
    (("same time", "together"),
     r"^(?P<who>(?!.*\b(?:tail|stop|brake|side|fog|head|reverse)\b)(?=.*\b(?:both|left\b.*\bright"
     rf"|right\b.*\bleft)\b).*\b{_INDICATOR}\b(?: (?!flash|blink|wink|work"
     r"|come|light|go)\w+)*?)"
     r" (?:both |all )?(?:work|flash|blink|wink|come on|light(?: up)?|go)(?:e?s)?,?(?: but)?(?: both| all)? "
     r"(?:at (?:exactly )?the same time|together)$", r"\g<who> come on together"),
    (("all other", "all the other"),
     r"\ball (?:the )?other (?P<v>caravan|trailer|car)(?:'s)? (?:lights|lamps)\b", r"the rest of the \g<v> lights"),
    (("fuse for", "fuse of"),
     r"\bfuse (?:for|of) (?:the |my |its )?(?P<who>(?:\w+ ){0,2}?(?:lights|lamps|indicators|hazards|horn|fogs"
     r"|wipers|blower|fridge))"
     r"(?= (?:goes|blows|pops|went|blew|keeps|has))", r"\g<who> fuse"),
    ((" lit", " on"),
     r"^(?P<who>(?!.*\b(?:when|with|if|while|as)\b).*?) (?:is |are )?(?:lit|on),? (?:but |and )?(?:the "
     rf")?(?P<side>{SIDE})(?: one| side)?"
     r" (?:not|isn't|is not|doesn't|unlit)$", r"\g<who> works, \g<side> dead"),
    # What only fills.
    (("indicator", "winker", "blinker"),
     rf"^(?:the )?(?:{_INDICATOR}) (?=(?:the )?{SIDE} (?:(?:front|rear|back) )?(?:repeater|indicator|winker"
     r"|one))", ""),
    (("any more", "anymore", "no more", " now"), r",? (?:any ?more|no more|now)(?= *(?:$|,))", ""),
    ((" and ",),
     r"(?P<before>^|, )(?:the )?(?P<a>car|trailer|caravan) and (?:the )?(?P<b>car|trailer|caravan)(?:'s)? "
     rf"(?P<who>(?:{_PLACE})?{_NAME}"
     rf"(?: (?:light|lamp)s?)?) (?:are |is |both )*(?P<look>{_BAD}|{_GOOD}|fast|slow|bright)(?= *(?:$|,))",
     r"\g<before>\g<a> \g<who> \g<look>, \g<b> \g<who> \g<look>"),
    (("nothing ", "none "),
     rf"(?P<before>^|, )(?P<a>{SIDE}) (?P<who>{_NAME}(?: (?:light|lamp)s?)?) (?P<look>[^,]+?),? (?:but |and "
     r")?(?:there's )?"
     rf"(?:nothing|none)(?: at all)? on (?:the )?(?P<b>{SIDE})$",
     r"\g<before>\g<a> \g<who> \g<look>, \g<b> \g<who> dead"),
    # Which one, said after it.
    (_SIDE_AFTER,
     r"(?P<before>(?:^|[,;:] |\b(?:but|and|the|my) )(?:rear |front )?)(?P<who>(?:brake|stop|tail|side|head|fog"
     r"|revers\w+|plate|number plate|dip|"
     rf"main beam) ?(?:light|lamp|bulb)?) (?P<side>{SIDE})(?:[ -]hand)?(?: side| one)? (?=(?:is |just |very "
     rf")?(?:{_BAD}|{_GOOD}|not lit|"
     rf"bright\w*|on\b|lit|stays|goes|comes|glows|flash\w*)\b(?! (?:and|hand)))", r"\g<before>\g<side> \g<who> "),
    (("side of ",), rf"\b(?P<side>{SIDE})(?:[ -]hand)? side of (?:the|my) {_VEHICLE}\b", r"\g<side>"),
    (("hardly", "barely", "scarcely", "not much", "little"),
     r"\b(?:is |are |look )?(?:hardly|barely|scarcely|not much|only a little|little)(?: any)? brighter than (?:the )?"
     r"(?:tail|side)(?: ?(?:light|lamp))?s?(?= *(?:$|,))", "is dim"),
    (("outside",), rf"\boutside,? (?=(?:the )?(?:{SIDE}|front|rear|back)\b)", ""),
    # What somebody takes to be behind it.
    (("earth", "ground", "feed", "connection"),
     r"(?P<who>^[^,]+?) (?:has|have|with|got|is|must have) (?:got )?(?:no|a bad|bad|a poor|poor|a dodgy|lost (?:its"
     r"|the)|a loose)"
     r" (?:earth|ground|feed|connection)(?: (?:i think|i reckon|maybe|probably|i guess))?, (?=.*\b(?:dim|dead|out"
     r"|faint|flicker\w*|"
     r"glow\w*|work\w*|weak|bright)\b)", r"\g<who>, "),
    # Beside which others it is dim.
    (("dimmer", "duller", "weaker", "fainter", "brighter"),
     r"\b(?:much |a lot |a bit |far |slightly |way )?(?P<how>dim|dull|weak|faint|bright)(?:m?er) than (?:on "
     r")?(?:the |my )?"
     r"(?P<other>car|trailer|caravan|van|front|rear|back)(?:'?s)?(?: ones?)?(?= *(?:$"
     r"|,))", r"\g<how>, the \g<other> ones fine"),
    ((", none ", " but none", " and none", ", nothing "),
     rf"(?P<before>^|, )(?P<on>(?:(?:the )?(?:car|trailer|caravan|front|rear|back)(?:'s)? )?)(?P<who>{_NAME}(?: "
     r"(?:light|lamp)s?)?) "
     rf"(?P<look>(?:is |are )?{_GOOD}),? (?:but |and )?(?:there's )?(?:none|nothing) (?:from|on|at|in|to) (?:the )?"
     r"(?P<other>car|trailer|caravan|front|rear|back)\b", r"\g<before>\g<on>\g<who> \g<look>, \g<other> \g<who> "
                                                          r"dead"),
    (("other", "rest", "everything else"),
     rf"(?P<look>\b(?:{_BAD}|{_GOOD}|bright)) (?=(?:the |all the )?(?:others?|rest|everything else)(?: ones?)? "
     rf"(?:do|does|is|are|all|{_GOOD}|{_BAD})\b)", r"\g<look>, "),
    (("outside",),
     r"\b(?:everything|all the lights|all lights|all) outside(?: the (?:car|van))?\b", "everything else"),
    (("stay", "keep"), r"\b(?:stay|keep)s?(?: on)? (?=(?:glow|flash|flicker|buzz|sound|blink)ing\b)", ""),
    # Where a comma would stand.
    ((" lit ", " bright ", " works ", " faint ", " not working "),
     rf"\b(?P<look>(?:not )?lit|bright|works|faint|not working|flickering) (?=(?:the )?{SIDE}(?: one| side)? (?:is "
     r"|one )?(?:lit|bright|"
     rf"{_GOOD}|{_BAD})\b)", r"\g<look>, "),
    ((" ok ", " okay ", " fine ", " good ", " dead ", " out ", " dim ", " works ", " work ", " working ", " bright "),
     rf"\b(?P<look>{_GOOD}|dead|out|dim|faint|weak|bright|not working) (?=(?:the )?(?:{_PLACE}){{0,2}}{_NAME}(?: "
     r"lights?| lamps?| ones?)? "
     rf"(?:is |are |both |all )*(?:{_BAD}|{_GOOD}|bright|neither|not)\b)", r"\g<look>, "),
))


def order_plainly(text: str) -> str:
    """The sentence with its words where they are looked for, and without those that only fill."""
    said = text.strip().rstrip(".!")
    for pattern, by in SOUNDS_LIKE:
        said = pattern.sub(by, said)
    return put_plainly(said, _ROWS)
