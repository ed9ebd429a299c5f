"""Turns of phrase about what one thing does to another, or in its place, put into the words that are read: "the left
indicator lights the brake light" is that it comes on with the indicator, "the left one flashes instead of the right"
that it does where the right one should.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.patterns import SIDE, Pattern, put_plainly
from tracer.observation.words.plain_words import SOUNDS_LIKE
from tracer.observation.words.words import singular

_PLACE: Final = rf"(?:(?:{SIDE}|front|rear|back)(?:[ -]hand)?(?: side)? )"
_INDICATOR: Final = r"(?:indicators?|winkers?|flashers?|blinkers?|trafficators?|turn signals?)"
_ON_WHAT: Final = r"(?: (?:on|of) (?:the|my) (?:trailer|caravan|car|van))?"
# What is switched on, and does something to another lamp.
_AGENT: Final = (
    r"^\s*(?:(?:with|when|if|turning|switching|putting|using|on|the|my) )*"
    rf"(?P<what>{_PLACE}{{0,2}}(?:{_INDICATOR}|hazards?(?: lights)?|(?:foot ?)?brakes?(?: pedal)?|reverse"
    r"|(?:brake|stop|head|side|tail|fog|revers\w+) ?(?:light|lamp)s?|main beam|full beam|dip(?:ped)?(?: beam)?"
    rf"|horn|wipers?|blower|heater)){_ON_WHAT}(?: (?:switch|stalk|lever))?(?: on)?,? (?:also |only |just )?"
)
_ANOTHER: Final = (
    rf"(?P<who>(?!.*\binstead\b)(?:(?:the|my|both|all|its) (?!time|way|while|same)[\w /'-]+|{_PLACE}[\w /'-]+))"
)
_SHINES: Final = (
    r"(?:(?:is |are )?(?:lit|on)|lights?(?: up)?|comes? on|come up|goes? on|glows?|flash(?:es)?|flashing|blinks?|"
    r"works?|burns?|shines?)"
)
_BAD: Final = (
    r"(?:dead|out|dim|faint|dull|weak|off|dark|gone|not working|flickering|flickers|(?:do|does|wo|is|are)(?:n'?t| not)"
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

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("tell tale",), r"\btell tale", "tell-tale"),
    ((" lights ", "brings", "turns on", "puts on", "sets off", "operates", "triggers", "switches on", "activates"),
     rf"{_AGENT}(?:lights(?: up)?|brings (?:on|up)|turns on|puts on|sets off|operates|triggers|switches on|activates) "
     rf"{_ANOTHER}$", r"\g<who> comes on when \g<what> on"),
    (("brings", "turns", "puts"),
     rf"{_AGENT}(?:brings|turns|puts) {_ANOTHER} on(?: (?:too|as well))?$", r"\g<who> comes on when \g<what> on"),
    ((" makes ", " make ", " causes "),
     rf"{_AGENT}(?:makes?|causes?) (?P<who>.+?) (?:to )?(?P<does>go (?:dim(?:mer)?|out|faint|off|dull|dark|weak)"
     r"|come on|light(?: up)?|glow|flash|flicker|pulse|blink)(?: (?:too|as well))?$",
     r"\g<who> \g<does> when \g<what> on"),
    # "On one side only, the left works, the right does not": what is said after it is said better.
    (("one side only", "only one side"),
     rf"^(?P<who>[^,:]+?) (?:(?:works?|lit|on|is|are) )*(?:(?:on |at )?one side only|only (?:on )?one side) ?[,:;-] ?"
     rf"(?:the )?(?P<a>{SIDE})(?: one| side)? (?P<x>(?:(?!\b{SIDE}\b).)+?),? (?:and |but )?(?:the )?(?P<b>{SIDE})"
     r"(?: one| side)? (?P<y>.+)$", r"\g<a> \g<who> \g<x>, \g<b> \g<who> \g<y>"),
    # Two that do alike.
    (("also", "either", "neither", "nor"),
     rf"(?P<look>\b{_BAD}),? (?:and |but )?(?:the |my )?(?P<who>(?:(?!\b(?:and|but|it|they|that|is|are)\b)[\w'/]+ ?)"
     rf"{{1,5}}?) (?:is |are |does |do )?{_AS_WELL}(?= *(?:$|,))", r"\g<look>, \g<who> \g<look>"),
    # What only fills.
    (("any more", "anymore", "no more", " now"), r",? (?:any ?more|no more|now)(?= *(?:$|,))", ""),
    # By another lamp.
    (("does", " do", "works", " lit"),
     rf"\b(?P<w>when|if|as long as|while) (?:the |my )?(?P<what>(?:brake|stop|tail|side|head|fog|revers\w+|main beam|dip)"
     r"(?: ?(?:light|lamp)s?)?|indicators?|hazards?) (?:does|do|works?|is lit|are lit)$",
     r"\g<w> the \g<what> on"),
    (("until", "till"),
     r"\bstays? (?:on|lit) (?:un|')?til+ (?:the |my )?(?P<what>(?:side|head|tail|fog)? ?(?:lights|lamps)) (?:are |is )?"
     r"(?:switched |turned )?off\b", r"comes on with the \g<what> on"),
    (("neutral", "gear", "first", "forward"),
     r"\bcomes? on (?P<where>(?:even )?in (?:neutral|every gear|all gears|any gear|forward gears?|first(?: gear)?))"
     r"(?: too| as well)?$", r"stays on \g<where>"),
    (("left", "right", "near", "off", "n/s", "o/s"),
     rf"{_AGENT}(?:works|operates|lights|flashes|turns on|brings on) (?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: side| ones?)?$",
     r"\g<side> indicators come on when \g<what> on"),
    # What does what that was said before.
    (("flash", "blink"),
     rf"\b(?P<does>flash(?:es|ing)?|blinks?|blinking),? (?:but |and )?(?P<who>(?:nothing|none of the others?|no others?|the rest|the "
     rf"others?|everything)(?: else)?(?: (?:on|at|of) (?:the )?{_PLACE}?(?:side|{SIDE}))?) (?:does|do|is|are)$",
     r"\g<does>, \g<who> flashes"),
    ((" and ",),
     rf"(?P<before>^|, )(?:the )?(?P<a>car|trailer|caravan) and (?:the )?(?P<b>car|trailer|caravan)(?:'s)? (?P<who>(?:{_PLACE})?{_NAME}"
     rf"(?: (?:light|lamp)s?)?) (?:are |is |both )*(?P<look>{_BAD}|{_GOOD}|fast|slow|bright)(?= *(?:$|,))",
     r"\g<before>\g<a> \g<who> \g<look>, \g<b> \g<who> \g<look>"),
    # Which one, said after it.
    (("left", "right", "near", "off", "n/s", "o/s"),
     rf"(?P<before>(?:^|[,;:] |\b(?:but|and|the|my) )(?:rear |front )?)(?P<who>(?:brake|stop|tail|side|head|fog|revers\w+|plate|number plate|dip|"
     rf"main beam) ?(?:light|lamp|bulb)?) (?P<side>{SIDE})(?:[ -]hand)?(?: side| one)? (?=(?:is |just |very )?(?:{_BAD}|{_GOOD}|not lit|"
     rf"bright\w*|on\b|lit|stays|goes|comes|glows|flash\w*)\b(?! (?:and|hand)))", r"\g<before>\g<side> \g<who> "),
    (("side of ",), rf"\b(?P<side>{SIDE})(?:[ -]hand)? side of (?:the|my) {_VEHICLE}\b", r"\g<side>"),
    (("hardly", "barely", "scarcely", "not much", "little"),
     r"\b(?:is |are |look )?(?:hardly|barely|scarcely|not much|only a little|little)(?: any)? brighter than (?:the )?"
     r"(?:tail|side)(?: ?(?:light|lamp))?s?(?= *(?:$|,))", "is dim"),
    (("outside",), rf"\boutside,? (?=(?:the )?(?:{SIDE}|front|rear|back)\b)", ""),
    # All but one of a unit.
    (("only", "just"),
     rf"^(?:the |my )?(?P<place>{_PLACE}{{1,2}}|(?:trailer|caravan) )(?:(?:light|lamp|unit|cluster|corner|end|side) ?)*[,:] "
     r"(?:only|just) (?:the )?(?P<one>[\w ]+?) (?:works?|is working|working|lights?(?: up)?|is lit|lit|comes on)$",
     r"everything at the \g<place>dead except the \g<one>"),
    # What somebody takes to be behind it.
    (("earth", "ground", "feed", "connection"),
     r"(?P<who>^[^,]+?) (?:has|have|with|got|is|must have) (?:got )?(?:no|a bad|bad|a poor|poor|a dodgy|lost (?:its|the)|a loose)"
     r" (?:earth|ground|feed|connection)(?: (?:i think|i reckon|maybe|probably|i guess))?, (?=.*\b(?:dim|dead|out|faint|flicker\w*|"
     r"glow\w*|work\w*|weak|bright)\b)", r"\g<who>, "),
    # Beside which others it is dim.
    (("dimmer", "duller", "weaker", "fainter", "brighter"),
     r"\b(?:much |a lot |a bit |far |slightly |way )?(?P<how>dim|dull|weak|faint|bright)(?:m?er) than (?:on )?(?:the |my )?"
     r"(?P<other>car|trailer|caravan|van|front|rear|back)(?:'?s)?(?: ones?)?(?= *(?:$|,))", r"\g<how>, the \g<other> ones fine"),
    ((", none ", " but none", " and none", ", nothing "),
     rf"(?P<before>^|, )(?P<on>(?:(?:the )?(?:car|trailer|caravan|front|rear|back)(?:'s)? )?)(?P<who>{_NAME}(?: (?:light|lamp)s?)?) "
     rf"(?P<look>(?:is |are )?{_GOOD}),? (?:but |and )?(?:there's )?(?:none|nothing) (?:from|on|at|in|to) (?:the )?"
     r"(?P<other>car|trailer|caravan|front|rear|back)\b", r"\g<before>\g<on>\g<who> \g<look>, \g<other> \g<who> dead"),
    (("other", "rest", "everything else"),
     rf"(?P<look>\b(?:{_BAD}|{_GOOD}|bright)) (?=(?:the |all the )?(?:others?|rest|everything else)(?: ones?)? "
     rf"(?:do|does|is|are|all|{_GOOD}|{_BAD})\b)", r"\g<look>, "),
    (("outside",),
     r"\b(?:everything|all the lights|all lights|all) outside(?: the (?:car|van))?\b", "everything else"),
    # What was done with the lever.
    (("flick", "push", "put", "move", "knock", "press"),
     r"\b(?P<w>when|if|as|whenever) (?P<who>i|you|we) (?:flick|push|put|move|knock|press) (?:it|the (?:stalk|lever|switch)) "
     r"(?:to (?:the )?)?(?P<side>left|right)\b", r"\g<w> \g<who> signal \g<side>"),
    ((" off",),
     r"\b(?:even )?(?:after|when|once|with|if) (?:i |you |we )?(?:(?:have |'ve )?(?:switch|turn|shut)(?:ed|ing)? )?(?:the |my )?"
     r"(?:car|van|vehicle|tractor|bike|lorry|truck|whole thing) (?:is )?(?:switched |turned )?off\b", "with everything off"),
    (("stay", "keep"), r"\b(?:stay|keep)s?(?: on)? (?=(?:glow|flash|flicker|buzz|sound|blink)ing\b)", ""),
    (("with them", "with it", "when they're", "when it's"),
     r"(?P<if>\b(?:if|when|with|while) (?:the |my )?)(?P<what>(?:(?:side|head|tail|fog|main|dip) ?)?(?:lights|lamps|beams?|hazards"
     r"|indicators|engine|ignition|wipers?|blower)) (?P<is>(?:is |are )?)(?P<a>on|off|running)(?P<mid>,? .*?|,? )"
     r"(?:with (?:them|it)|when (?:they're|it's|they are|it is)) (?P<b>on|off)\b",
     r"\g<if>\g<what> \g<is>\g<a>\g<mid>with the \g<what> \g<b>"),
    # What holds back at rest again.
    (("once ", "after "),
     r"(?P<on>\bstay(?:s|ing)? (?:on|lit)) (?:once|after) (?:it'?s|i'?ve|you'?ve|we'?ve|they'?ve|it has|i|you|we) .*$",
     r"\g<on>"),
    (("back to normal", "recover", "comes back", "come back", "back up"),
     r",? (?:and |but |then )+(?:they |it )?(?:(?:go(?:es)?|comes?|are|is|gets?) back(?: to normal| up| on)?|recovers?)"
     r" (?:when|as soon as|once|after|if) (?:i |you |we )?(?:let|lift|releas|take|took|come off|switch|turn).*$", ""),
    ((" and i ", " and you ", " and we "),
     r"\b(?P<w>when|while|if|with) (?P<one>[^,]+?) and (?P<who>i|you|we) (?P<two>(?:brake|indicate|signal|reverse|press|"
     r"put|switch|turn|hit|touch)\b)", r"\g<w> \g<one> and when \g<who> \g<two>"),
    (("until", "till"),
     rf"^(?P<who>[^,]+?) (?:is |are )?(?:dead|dark|out|off|not working|(?:do|does|wo)(?:n'?t| not) (?:work|come on|light)|"
     r"won't (?:work|come on|light)) (?:un|')?til+ (?P<when>(?!it|they|now|today|recently)[^,]+)$",
     r"\g<who> only works when \g<when>"),
    (("nothing ", "everything "),
     rf"^(?P<all>nothing works|nothing lights|everything works|nothing comes on) (?P<where>(?:on|at|in) [\w ]+?),? (?:but|"
     r"except(?: for)?|bar|apart from) (?:for )?(?:the |my )?(?P<one>[\w ]+)$", r"\g<all> \g<where> except the \g<one>"),
    (("brake",),
     r"\b(?P<with>with|on|by|from|off) (?:the |my )?(?P<one>front|rear|back|foot|hand) brake,? (?:but )?not (?:with |on |by |"
     r"from |off )?(?:the |my )?(?P<two>front|rear|back|foot|hand)(?: one)?$",
     r"\g<with> the \g<one> brake but not with the \g<two> brake"),
    # Where a comma would stand.
    ((" lit ", " bright ", " works ", " faint ", " not working "),
     rf"\b(?P<look>(?:not )?lit|bright|works|faint|not working|flickering) (?=(?:the )?{SIDE}(?: one| side)? (?:is |one )?(?:lit|bright|"
     rf"{_GOOD}|{_BAD})\b)", r"\g<look>, "),
    ((" ok ", " okay ", " fine ", " good ", " dead ", " out ", " dim ", " works ", " work ", " working ", " bright "),
     rf"\b(?P<look>{_GOOD}|dead|out|dim|faint|weak|bright|not working) (?=(?:the )?(?:{_PLACE}){{0,2}}{_NAME}(?: lights?| lamps?| ones?)? "
     rf"(?:is |are |both |all )*(?:{_BAD}|{_GOOD}|bright|neither|not)\b)", r"\g<look>, "),
    # In another's place.
    (("instead",), r"(?P<who>\b[\w' ]+?)(?<!brake)(?<!stop)(?<!tail)(?<!side)(?<!head)(?<!fog)(?<!ing) (?:lights|comes|glows)(?: up| on)? "
     r"instead$",
     r"\g<who> comes on instead"),
))
_INSTEAD: Final = Pattern(
    rf"^(?P<who>(?:the |my |both )?[^,]+?) (?P<does>{_SHINES}) instead of (?:the |my )?(?P<other>[^,]+?)"
    r"(?P<when> (?:when|whenever|if|with|as soon as) .+)?$", 2)
# With what the lamps of a function burn.
_WITH: Final = {
    "stop": "when I brake", "tail": "with the lights on", "side": "with the lights on", "reversing": "in reverse",
    "number plate": "with the lights on", "fog": "with the fog lights on", "main": "on main beam",
    "dipped": "on dipped beam", "head": "with the headlights on",
}
# "I turn on the hazards and only the right side flashes".
_ONLY_THERE: Final = Pattern(
    rf"^(?P<when>(?:(?:when|with|if|in|under|on) )?[^,:]*?\b(?P<what>hazard|indicator|winker|blinker|four ?way|brak|revers|fog"
    rf"|head ?l|main beam|dip)[^,:]*?)[,:]? (?:only|just) (?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: side| ones?)? "
    r"(?:flash(?:es)?|works?|blinks?|lights?(?: up)?|comes? on|winks?|goes)$", 2)
_THERE: Final = {"brak": "brake light", "revers": "reversing light", "fog": "fog light", "head": "headlight",
                 "main": "main beam", "dip": "dipped beam"}
_OTHER: Final = {"left": "right", "right": "left", "near": "offside", "off": "nearside", "n/s": "o/s", "o/s": "n/s"}
_TOWED: Final = Pattern(r"\b(?:trailer|caravan|car)\b(?:'s)?", 2)
_SIDED: Final = Pattern(rf"\b{SIDE}(?:[ -]hand)?(?: side)?\b", 2)


def causes_plainly(text: str) -> str:
    """The sentence with what one thing does to another in plain words."""
    said = text.strip().rstrip(".!")
    for pattern, by in SOUNDS_LIKE:
        said = pattern.sub(by, said)
    return _instead(put_plainly(said, _ROWS))


def only_there(text: str) -> str:
    """"With the hazards on, only the right side flashes" is that on the left it does not."""
    found = _ONLY_THERE.match(text)
    if found is None:
        return text
    other = next(o for s, o in _OTHER.items() if found["side"].lower().startswith(s))
    what = next((lamp for w, lamp in _THERE.items() if found["what"].lower().startswith(w)), "indicators")
    hazards = found["what"].lower().startswith(("hazard", "four"))
    when = f"{found['when']}, " * hazards
    return f"{when}{found['side']} {what} works, {other} {what} dead"


def _instead(text: str) -> str:
    """"X lights up instead of Y": X is lit, and Y dark, where Y should be lit."""
    found = _INSTEAD.match(text) if "instead" in text.lower() else None
    if found is None:
        return text
    who, other = found["who"], found["other"]
    side = _SIDED.search(other)
    if side and not _functions(other):  # "instead of the right one"
        other = f"{side.group()} {re.sub('^(?:the|my|both) ', '', _SIDED.sub('', who).strip())}"
    elif not side and (own := _SIDED.search(who)):  # "… instead of the stop": that of the same side
        towed = _TOWED.search(who)
        other = f"{towed.group() if towed else ''} {own.group()} {other}".strip()
    named = _functions(other)
    sided = _SIDED.search(other)
    when = (found["when"] or "").strip() or (
        f"when I signal {sided.group()}" if sided and named == ["indicator"] else
        _WITH.get(named[0], "") if len(named) == 1 else "")
    return f"{who} comes on {when}. {other} dead {when}" if when else text


def _functions(words: str) -> list[str]:
    return [*dict.fromkeys(FUNCTIONS[one] for w in words.lower().replace("light", " ").split()
                           if (one := singular(w)) in FUNCTIONS)]
