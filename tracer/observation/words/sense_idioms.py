"""Turns of phrase about what holds and what does not, put into the words that are read: "dead unless I brake" is that
it only works when I brake, "grand" is fine, "two of the four" are some of them, "whether it rains or not" is always.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_END: Final = r"(?= *(?:$|[,.;]))"
_PRAISE: Final = (
    r"(?:grand|spot[ -]on|mint|tip[ -]top|bang[ -]on|hunky[ -]dory|champion|sweet|sound|savage|bonzer|beaut|a1|"
    r"a-ok|perfect|lovely)"
)
_AFTER_PRAISE: Final = (
    r"(?= *(?:$|[,.;]| (?:but|and|until|'?till?|unless|on|at|when|with|apart|except|bar|otherwise|though|now|as)\b))"
)
_IS: Final = (
    r"(?:is|are|was|were|been|'s|'re|all|both|on|beam|dip|main|left|right|light|lamp|one|side|works?"
    r"|working)"
)
_DEAD: Final = (
    r"(?:(?:is |are )?(?:dead|out|off|dark|not working|gone)|(?:does|do|is|are)(?:n't| not) (?:work(?:ing)?|come on|"
    r"light(?: up)?|go|flash|shine)|(?:won't|will not) (?:work|come on|light(?: up)?|go|flash|shine))"
)
_WEAK: Final = r"(?:is |are )?(?:dim|faint|weak|dull|poor)"
_STAYS: Final = (
    r"(?:stays? (?:on|lit)|(?:won't|will not|(?:does|do)(?:n't| not)) (?:go (?:off|out)|turn off|switch off)|"
    r"(?:is |are )?(?:on|lit) all the time)"
)
_TOUCH: Final = (
    r"(?:(?:i|you|we|he|she) )?(?:(?:give (?:it|them) a |have a |bang|tap|hit|thump|kick|wiggl|waggl|jiggl|shak|mov|"
    r"knock|slam|clout|clatter|belt|twist|hold|press|push|squeez|touch|thrash|nudg|bash)\w*\b"
    r"(?! (?:the |my )*(?:foot|brake|horn|pedal|button|switch)).*|"
    r"it(?:'s| is) (?:moved|tapped|hit|held|wiggled|banged|shaken|thumped)\b.*)"
)
_FEW: Final = r"(?:\d|a couple|a few|two|three|four|five|several|some|half|most|one or two|two or three)"
_MANY: Final = r"(?:\d|two|three|four|five|six|eight)"
_LAMPS: Final = (
    r"(?:\w+ ){0,3}?(?:\w*lights|\w*lamps|bulbs|indicators|winkers|blinkers|flashers|repeaters|markers|beams|"
    r"tell[ -]?tales|fogs)"
)
_VEHICLE: Final = r"(?:car|trailer|caravan|van|tractor|lorry|truck|pickup|bike)"

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # As it should be.
    (("grand", "spot", "mint", "tip", "bang", "hunky", "champion", "sweet", "sound", "savage", "bonzer", "beaut",
      "a1", "a-ok", "perfect", "lovely"),
     rf"(?P<is>\b{_IS}|^|,|\bbut|\band) (?:all )?{_PRAISE}{_AFTER_PRAISE}", r"\g<is> fine"),
    ((" away",), rf"\bwork(?P<s>s|ing)? away{_END}", r"work\g<s>"),
    (("was ", "were ", "been "),
     r"\b(?:was|were|(?:has |have |had )?been) (?P<good>(?:all )?(?:fine|ok|okay|good|all right|working|normal))"
     r"(?: up)? (?='?(?:un)?till?\b)", r"\g<good> "),
    (("til",),
     r"^(?P<said>.+? (?:fine|ok|okay|good|all right|works?|working|normal) (?:un|')?till? (?:i |you |we |it|the "
     r")[^,]+?),"
     r"? (?:and |but |then )*(?:now )?(?:neither|none|they|it)(?: of them)?(?: now)? (?:does|do|will|is|are|don't|"
     r"doesn't|won't|comes?|works?|lights?|goes|go|dead|out)(?: (?:not|at|all|come|comes|on|up|work|works|light"
     r"|lit|out"
     r"|off|dead|go|goes|either))*\s*$", r"\g<said>"),
    (("come back", "comes back"),
     r",? (?:and|but) (?:then )?(?:they |it )?(?:don't|doesn't|won't|never|do not|does not) comes? back(?: on)?"
     rf"{_END}", ""),
    (("matter",), r",? (?:and |but )?(?:the |my )?[\w ]+? (?:doesn't|don't|does not|do not) matter\s*$", ""),
    # However it stands.
    (("whether", "no matter", "regardless"),
     r",?(?<!\bsay)(?<!\bknow)(?<!\btell)(?<!\bsure)(?<!\bsee) (?:no matter |regardless of |it doesn't matter "
     r")?(?:whether|no matter if|regardless if) [^,.]+? or [^,.]+"
     r"$", ""),
    (("nothing ", "everything "),
     r"\b(?P<w>with|when|while) (?:nothing(?:'s| is)?(?: else)? (?:switched |turned |is )?on|everything(?:'s| is)? "
     r"(?:switched |turned )?off|all (?:switched |turned )?off)\b", r"\g<w> everything off"),
    ((" only ", " just ", " merely ", " simply "),
     r"\b(?P<w>when|if|while|whenever) (?P<who>i|you|we|he|she) (?:only|just|merely|simply) ", r"\g<w> \g<who> "),
    # Unless.
    (("unless",),
     rf"^(?P<who>.+?) {_STAYS},? unless (?:i |you |we )?(?:turn|switch|put|knock) (?:off (?P<a>[\w /]+)|"
     r"(?P<b>[\w /]+) off)$", r"\g<who> stays on with \g<a>\g<b> on"),
    (("unless",), rf"^(?P<who>.+?) {_STAYS},? unless (?P<when>.+)$",
     r"\g<who> stays on. \g<who> goes out when \g<when>"),
    (("unless", "without me"), rf"^(?P<who>.+?) {_DEAD},? (?:unless|without me) (?P<when>{_TOUCH})$",
     r"\g<who> works when \g<when>"),
    (("unless",), rf"^(?P<who>.+?) {_DEAD},? unless (?P<when>.+)$", r"\g<who> only works when \g<when>"),
    (("unless",), rf"^(?P<who>.+?) (?P<look>{_WEAK}),? unless (?P<when>.+)$",
     r"\g<who> \g<look>, brightens when \g<when>"),
    (("unless",),
     r"^(?P<who>.+?) (?P<good>works?(?: fine| ok)?|(?:is |are )?(?:fine|ok|okay|good|all right)),? unless "
     r"(?P<when>.+)$", r"\g<who> \g<good> until \g<when>"),
    ((" dead", " out", " off"),
     r"^(?P<who>.+?) (?:is |are )?(?:dead|out|off),? (?:and |but )?(?:it |they )?(?:only (?:works?|comes? on"
     r"|lights?)|"
     r"(?:works?|comes? on|lights?) only) (?P<when>(?:when|if|with|while) .+)$", r"\g<who> only works \g<when>"),
    # Some of several, and all of them.
    (("of the", "of my", "out of"),
     rf"^(?P<who>{_LAMPS})[,:]? (?P<few>one|{_FEW}) (?:of|out of) (?:the |them )?(?:{_MANY} )?(?:of them )?(?:is "
     rf"|are )?"
     rf"(?=(?:out|dead|dim|gone|off|not|dark|faint)\b)", r"\g<few> of the \g<who> "),
    (("one of", "one out of"), rf"^(?P<who>{_LAMPS})[,:]? one (?:of|out of) (?:the )?(?:{_MANY}|them) ",
     r"one of the \g<who> "),
    ((" of ",), rf"\b{_FEW} (?:out )?of (?:the |my |its )?(?:{_MANY} )?(?={_LAMPS}\b)", "some of the "),
    (("two ",), rf"(?P<the>^|, |\b(?:and|but) )(?:the|my) two (?={_LAMPS}\b)", r"\g<the>both "),
    (("the only ",),
     r"^(?:the )?(?P<who>.+?) (?:is|'s) the only (?P<what>one|light|lamp|indicator|winker|blinker|bulb)"
     r"(?: that(?:'s| is)?| which(?:'s| is)?)? (?P<bad>not (?:working|flashing|lighting|lit|coming on)|dead|out|off|"
     r"(?:doesn't|won't|does not) (?:work|flash|light|come on))\s*$", r"\g<who> \g<bad>, the others work"),
    (("neither ", "nor "),
     rf",? (?:and |but )?(?:neither|nor) (?:do|does|is|are|will|did) (?:the |my )?(?P<who>{SIDE}[^,]*?)(?=, )",
     r", \g<who> does not work"),
    ((" not ",),
     rf",? (?:but|and|yet|though) not (?:on |at )?(?:the |my )?(?P<v>{_VEHICLE}){_END}", r", the \g<v> does not"),
    ((" lights",), rf"(?P<who>\bon the {_VEHICLE}) lights(?= *,? (?:but|the \w+ does not))", r"\g<who> works"),
    (("all ", "dead", "out", "good", "fine", "ok"),
     rf"^(?P<first>(?:all|everything) (?:\w+ )?(?:at|on|in) the (?:rear|back|front|{SIDE})\b[^,]*|(?:all|everything) "
     rf"\w+ (?:at|on|in) the (?:rear|back|front|{SIDE})(?: side)?),? (?:but |and )?(?:all |everything )?(?:is )?"
     rf"(?P<look>dead|out|good|fine|ok|okay|working|normal|works) (?P<at>at|on|in) the (?P<where>rear|back|front|"
     rf"{SIDE})(?: side)?\s*$", r"\g<first>, everything \g<at> the \g<where> \g<look>"),
    # Both, and not at once.
    ((" both", "together", "at once", "same time", "at a time"),
     r",? (?:but |just |only |though )*(?:not|never) (?:both|all|the two|two)?(?: of them)? ?(?:(?:lit|on|work"
     r"|working)"
     rf" )?(?:at once|together|at (?:the same|one) time|at a time|at the one time){_END}", " never together"),
    (("at a time",), rf",? (?:but )?(?:only )?one at a time(?: only)?(?P<rest>,? never together)?{_END}",
     " never together"),
    # Which way round.
    (("side", "cluster", "unit"),
     rf"^(?:the )?(?P<place>{SIDE}(?: (?:rear|front))?)(?:[ -]hand)?(?: side| cluster| unit| lamp)?[:,] (?:the )?"
     r"(?P<one>\w+) and (?:the )?(?P<two>\w+) (?=(?:are |have |is |have been )?(?:swapped|crossed|swap|mixed|the "
     r"wrong|reversed|transposed|back to front)\b)", r"\g<place> \g<one> and \g<place> \g<two> "),
    # Where it sits tells nothing of when.
    (("with", "on the"),
     rf"(?P<who>\b(?:left|right) (?:\w+ )?(?:indicator|winker|blinker|flasher) (?:flash(?:es)?|blinks?|comes on) "
     rf"with "
     rf"the (?:left|right)(?: one)?) on the {_VEHICLE}{_END}", r"\g<who>"),
))


def sense_plainly(text: str) -> str:
    """The sentence with what holds, and what does not, in plain words."""
    return put_plainly(text, _ROWS)
