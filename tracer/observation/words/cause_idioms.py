"""Turns of phrase about what one thing does to another, or in its place, put into the words that are read: "the left
indicator lights the brake light" is that it comes on with the indicator, "the left one flashes instead of the right"
that it does where the right one should.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.patterns import INDICATOR, PLACE, SIDE, Pattern, put_plainly
from tracer.observation.words.words import singular

_ON_WHAT: Final = r"(?: (?:on|of) (?:the|my) (?:trailer|caravan|car|van))?"
# What is switched on, and does something to another lamp.
_AGENT: Final = (
    r"^\s*(?:(?:with|when|if|turning|switching|putting|using|on|the|my) )*"
    rf"(?P<what>{PLACE}{{0,2}}(?:{INDICATOR}|hazards?(?: lights)?|(?:foot ?)?brakes?(?: pedal)?|reverse"
    r"|(?:brake|stop|head|side|tail|fog|revers\w+) ?(?:light|lamp)s?|main beam|full beam|dip(?:ped)?(?: beam)?"
    rf"|horn|wipers?|blower|heater)){_ON_WHAT}(?: (?:switch|stalk|lever))?(?: on)?,? (?:also |only |just )?"
)
_ANOTHER: Final = (
    r"(?P<who>(?!.*\b(?:instead|when|with|if|but|dim|dead|out|ok|okay|fine|faint|weak|bright)\b)(?:(?:the|my|both"
    rf"|all|its) (?!time|way|while|same)[\w /'-]+|{PLACE}[\w /'-]+))"
)
_SHINES: Final = (
    r"(?:(?:is |are )?(?:lit|on)|lights?(?: up)?|comes? on|come up|go(?:es)? on|glows?|flash(?:es)?|flashing|blinks?|"
    r"works?|burns?|shines?)"
)

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    ((" lights ", "brings", "turns on", "puts on", "sets off", "operates", "triggers", "switches on", "activates"),
     rf"{_AGENT}(?:lights(?: up)?(?= the\b)|brings (?:on|up)|turns on|puts on|sets off|operates|triggers|switches "
     r"on|activates) "
     rf"{_ANOTHER}$", r"\g<who> comes on when \g<what> on"),
    (("bring", "turn", "put"),
     rf"{_AGENT}(?:brings?|turns?|puts?) {_ANOTHER} on(?: (?:too|as well))?$", r"\g<who> comes on when \g<what> on"),
    ((" makes ", " make ", " causes "),
     rf"{_AGENT}(?:makes?|causes?) (?P<who>.+?) (?:to )?(?P<does>go (?:dim(?:mer)?|out|faint|off|dull|dark|weak)"
     r"|come on|light(?: up)?|glow|flash|flicker|pulse|blink)(?: (?:too|as well))?$",
     r"\g<who> \g<does> when \g<what> on"),
    (("unless",),
     r"^(?:neither|none of the) (?P<who>[\w ]+?)s? (?:works?|comes? on|lights?(?: up)?) unless (?P<when>.+)$",
     r"both \g<who>s only work when \g<when>"),
    (("just ",), r"(?P<not>(?:n't|not) (?:blink|flash|wink)),? (?:but )?(?:it |they )?just (?:lights?(?: up)?|lit"
                 r"|comes? on|glows?|on)$",
     r"\g<not>, stays on"),
    (("go left", "go right", "going left", "going right"),
     r"\b(?P<w>when|if|whenever) (?:i |you |we |i'm )?go(?:ing)? (?P<side>left|right)\b", r"\g<w> I signal \g<side>"),
    # What is lit with another.
    *(((" with it", "same time"),
       rf"^(?!when|with|in |if )(?P<a>[^,]*\b{lamp}\b[^,]+?)(?:,? and|,? but|,) (?P<b>(?:the |its "
       rf")?[^,]*?\b(?:glow\w*|lights?(?: up)?|comes? on|flicker\w*|lit|faint\w*|dim\w*))(?: up)?(?: along| "
       r"together)? (?:with it|at the same time)\s*$",
       rf"{when}, \g<a> and \g<b>")
      for lamp, when in ((r"revers(?:e|ing)(?: ?(?:light|lamp))?", "in reverse"),
                         (r"(?:brake|stop) ?(?:light|lamp)", "when I brake"))),
    (("glowing", "flickering", " lit", " dim"),
     r"^(?P<a>[^,]*\brevers\w*[^,]*?),? with (?P<who>the (?:tail|stop|indicator|winker|brake light|tail light|tail "
     r"lamp)) "
     r"(?P<look>glowing|flickering|dim|lit)(?: (?:next to|beside|alongside) it)?(?: too| as well)?\s*$",
     r"in reverse, \g<a> and \g<who> \g<look> on that side"),
    # By another lamp.
    (("does", " do", "works", " lit"),
     r"\b(?P<w>when|if|as long as|while) (?:the |my )?(?P<what>(?:brake|stop|tail|side|head|fog|revers\w+|main "
     r"beam|dip)"
     r"(?: ?(?:light|lamp)s?)?|indicators?|hazards?) (?:does|do|works?|is lit|are lit)$",
     r"\g<w> the \g<what> on"),
    (("until", "till"),
     r"\bstays? (?:on|lit) (?:un|')?til+ (?:the |my )?(?P<what>(?:side|head|tail|fog)? ?(?:lights|lamps)) (?:are "
     r"|is )?"
     r"(?:switched |turned )?off\b", r"comes on with the \g<what> on"),
    (("neutral", "gear", "first", "forward"),
     r"\bcomes? on (?P<where>(?:even )?in (?:neutral|every gear|all gears|any gear|forward gears?|first(?: gear)?))"
     r"(?: too| as well)?$", r"stays on \g<where>"),
    (("works ", "operates ", "lights the", "flashes the", "turns on", "brings on"),
     rf"{_AGENT}(?:works|operates|lights|flashes|turns on|brings on) (?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: side"
     r"| ones?)?$",
     r"\g<side> indicators come on when \g<what> on"),
    # What does what that was said before.
    (("flash", "blink"),
     r"\b(?P<does>flash(?:es|ing)?|blinks?|blinking),? (?:but |and )?(?P<who>(?:nothing|none of the others?|no "
     r"others?|the rest|the "
     rf"others?|everything)(?: else)?(?: (?:on|at|of) (?:the )?{PLACE}?(?:side|{SIDE}))?) (?:does|do|is|are)$",
     r"\g<does>, \g<who> flashes"),
    # All but one of a unit.
    (("only", "just"),
     rf"^(?:the |my )?(?P<place>{PLACE}{{1,2}}|(?:trailer|caravan) )(?:(?:light|lamp|unit|cluster|corner|end|side) "
     r"?)*[,:] "
     r"(?:only|just) (?:the )?(?P<one>[\w ]+?) (?:works?|is working|working|lights?(?: up)?|is lit|lit|comes on)$",
     r"everything at the \g<place>dead except the \g<one>"),
    # What was done with the lever.
    (("flick", "push", "put", "move", "knock", "press"),
     r"\b(?P<w>when|if|as|whenever) (?P<who>i|you|we) (?:flick|push|put|move|knock|press) (?:it|the (?:stalk|lever"
     r"|switch)) "
     r"(?:to (?:the )?)?(?P<side>left|right)\b", r"\g<w> \g<who> signal \g<side>"),
    ((" off",),
     r"\b(?:even )?(?:after|when|once|with|if) (?:i |you |we )?(?:(?:have |'ve )?(?:switch|turn|shut)(?:ed|ing)? "
     r")?(?:the |my )?"
     r"(?:car|van|vehicle|tractor|bike|lorry|truck|whole thing) (?:is )?(?:switched |turned "
     r")?off\b", "with everything off"),
    (("with them", "with it", "when they're", "when it's"),
     r"(?P<if>\b(?:if|when|with|while) (?:the |my )?)(?P<what>(?:(?:side|head|tail|fog|main|dip) ?)?(?:lights|lamps"
     r"|beams?|hazards"
     r"|indicators|engine|ignition|wipers?|blower)) (?P<is>(?:is |are )?)(?P<a>on|off|running)(?P<mid>,? .*?|,? )"
     r"(?:with (?:them|it)|when (?:they're|it's|they are|it is)) (?P<b>on|off)\b",
     r"\g<if>\g<what> \g<is>\g<a>\g<mid>with the \g<what> \g<b>"),
    ((" on",),
     r"\b(?P<w>when|if|with|while) (?:the |my )?(?P<a>brakes?) and (?:the |my )?(?P<b>indicators?|lights|hazards?"
     r"|winkers?)"
     r"(?: are)?(?: both)? on(?: together)?\b", r"\g<w> the \g<a> is on and with the \g<b> on"),
    (("off",),
     r"\b(?:when|if|once|after) (?:i |you |we |he |she )?(?:switch|turn|put)(?:ing)? (?:head ?|side ?)?(?:lights"
     r"|lamps) off\b",
     "with the lights off"),
    (("on pedal", "from pedal", "off pedal"), r"(?<!foot )\b(?:on|from|off) pedal\b", "with the brake pedal"),
    (("only one of", "just one of"),
     r"^(?:only|just) one of the (?P<who>[\w ]+?)s? (?:works?|comes? on|lights?(?: up)?|is lit|flashes|flash),? "
     r"(?:and )?(?:it's |it is )?"
     rf"(?:the )?(?P<side>{SIDE})(?: one)?$", r"only the \g<side> \g<who> works"),
    # What holds back at rest again.
    (("once ", "after "),
     r"(?P<on>\bstay(?:s|ing)? (?:on|lit)) (?:once|after) (?:it'?s|i'?ve|you'?ve|we'?ve|they'?ve|it has|i|you|we) "
     r".*$",
     r"\g<on>"),
    (("back to normal", "recover", "comes back", "come back", "back up"),
     r",? (?:and |but |then )+(?:they |it )?(?:(?:go(?:es)?|comes?|are|is|gets?) back(?: to normal| up| on)?"
     r"|recovers?)"
     r" (?:when|as soon as|once|after|if) (?:i |you |we )?(?:let|lift|releas|take|took|come off|switch|turn).*$", ""),
    ((" and i ", " and you ", " and we "),
     r"\b(?P<w>when|while|if|with) (?P<one>[^,]+?) and (?P<who>i|you|we) (?P<two>(?:brake|indicate|signal|reverse"
     r"|press|"
     r"put|switch|turn|hit|touch)\b)", r"\g<w> \g<one> and when \g<who> \g<two>"),
    (("until", "till"),
     r"^(?P<who>[^,]+?) (?:is |are )?(?:dead|dark|out|off|not working|(?:do|does|wo)(?:n'?t| not) (?:work|come on"
     r"|light)|"
     r"won't (?:work|come on|light)) (?:un|')?til+ (?P<when>(?!it|they|now|today|recently)[^,]+)$",
     r"\g<who> only works when \g<when>"),
    (("nothing ", "everything "),
     r"^(?P<all>nothing works|nothing lights|everything works|nothing comes on) (?P<where>(?:on|at|in) [\w ]+?),? "
     r"(?:but|"
     r"except(?: for)?|bar|apart from) (?:for )?(?:the |my "
     r")?(?P<one>[\w ]+)$", r"\g<all> \g<where> except the \g<one>"),
    (("brake",),
     r"\b(?P<with>with|on|by|from|off) (?:the |my )?(?P<one>front|rear|back|foot|hand) brake,? (?:but )?not (?:with "
     r"|on |by |"
     r"from |off )?(?:the |my )?(?P<two>front|rear|back|foot|hand)(?: one)?$",
     r"\g<with> the \g<one> brake but not with the \g<two> brake"),
    (("brake light only", "stop light only", "stop lamp only", "brake lamp only"),
     r"\b(?P<who>(?:brake|stop) (?:light|lamp) only (?:works?|comes on|lights?(?: up)?)) (?:from|on|off|with|by) the "
     r"(?P<w>front|rear|foot|hand)(?: one)?\s*$", r"\g<who> with the \g<w> brake"),
    # In another's place.
    (("instead",), r"(?P<who>\b[\w' ]+?)(?<!brake)(?<!stop)(?<!tail)(?<!side)(?<!head)(?<!fog)(?<!ing) (?:lights"
                   r"|comes|glows)(?: up| on)? "
     r"instead$",
     r"\g<who> comes on instead"),
))
_INSTEAD: Final = Pattern(
    rf"^(?P<who>(?:the |my |both )?[^,]+?) (?P<does>{_SHINES})(?P<first> (?:when|whenever|if|with|in) [^,]+?)? "
    r"instead of (?:the |my )?(?P<other>[^,]+?)"
    r"(?P<when> (?:when|whenever|if|with|as soon as) .+)?$", 2)
# With what the lamps of a function burn.
_WITH: Final = {
    "stop": "when I brake", "tail": "with the lights on", "side": "with the lights on", "reversing": "in reverse",
    "number plate": "with the lights on", "fog": "with the fog lights on", "main": "on main beam",
    "dipped": "on dipped beam", "head": "with the headlights on",
}
# "I turn on the hazards and only the right side flashes".
_ONLY_THERE: Final = Pattern(
    r"^(?P<when>(?:(?:when|with|if|in|under|on) )?[^,:]*?\b(?P<what>hazard|indicator|winker|blinker|four ?way|brak"
    r"|revers|fog"
    rf"|head ?l|main beam|dip)[^,:]*?)[,:]? (?:only|just) (?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: side| ones?)? "
    r"(?:flash(?:es)?|works?|blinks?|lights?(?: up)?|comes? on|winks?|goes)$", 2)
_THERE: Final = {"brak": "brake light", "revers": "reversing light", "fog": "fog light", "head": "headlight",
                 "main": "main beam", "dip": "dipped beam"}
_OTHER: Final = {"left": "right", "right": "left", "near": "offside", "off": "nearside", "n/s": "o/s", "o/s": "n/s"}
_TOWED: Final = Pattern(r"\b(?:trailer|caravan|car)\b(?:'s)?", 2)
_SIDED: Final = Pattern(rf"\b{SIDE}(?:[ -]hand)?(?: side)?\b", 2)


def causes_plainly(text: str) -> str:
    """The sentence with what one thing does to another in plain words."""
    return _instead(put_plainly(text, _ROWS))


def only_there(text: str) -> str:
    """"With the hazards on, only the right side flashes" is that on the left it does not."""
    found = _ONLY_THERE.match(text) if "only" in text or "just" in text else None
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
    when = (found["when"] or found["first"] or "").strip() or (
        f"when I signal {sided.group()}" if sided and named == ["indicator"] else
        _WITH.get(named[0], "") if len(named) == 1 else "")
    return f"{who} comes on {when}. {other} dead {when}" if when else text


def _functions(words: str) -> list[str]:
    return [*dict.fromkeys(FUNCTIONS[one] for w in words.lower().replace("light", " ").split()
                           if (one := singular(w)) in FUNCTIONS)]
