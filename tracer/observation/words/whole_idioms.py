"""Turns of phrase about all the lamps of a vehicle, of an end or of a unit, and what is well beside them: "the rear
has gone completely dead, front all good", "all dim with the engine off, fine when she's running". Put into the words
that are read.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_DEAD: Final = r"(?:dead|out|off|dark|black|gone|u/s|not working|kaput)"
_LIST: Final = (
    r"(?:(?:and |no )*(?:tail|stop|brake|indicator|flasher|winker|reverse|reversing|fog|side|marker)s?(?: ?(?:light|"
    r"lamp)s?)?"
    r"(?:,| and|,? ) ?)+"
)
_GOOD: Final = (
    r"(?:'s| is| are| lights?| lamps?| ones?| seems?| all| still| working| works?| perfectly)*(?: (?:fine|good|ok|"
    r"okay|works?|"
    r"working|all right|alright|perfect|normal|as it should|well))(?: ok| fine| normally)?"
)
_ALL: Final = Pattern(
    r"^(?:.*\b(?:engine[^,]*?(?:off|stopped)|not running)[ ,]+(?:and |then )?)?(?:with |the )*(?:everything|every "
    r"(?:light|lamp)|"
    r"all (?:of )?(?:the |my |me |its |our )?(?:lights|lamps)|the lot|(?:the )?whole lot|(?:lights|lamps) (?:are "
    r")?all|all)\b", 2)
_WEAK: Final = Pattern(r"\b(?:dim|dull|weak|poor|faint|low|yellow|dimmer|down)\b", 2)
_STOPPED: Final = Pattern(
    r"\b(?:engine|motor) (?:is )?(?:off|stopped|not running|switched off|isn't running|not on)\b|\b(?:when|while|"
    r"with) "
    r"(?:it's |she's |the "
    r"(?:car|van|bike) is )?(?:stopped|not running|standing)\b|\b(?:with|when) the engine (?:off|stopped)\b|"
    r"\bunless the engine|"
    r"\b(?:with|without) (?:the )?engine not\b", 2)
_RUNS: Final = Pattern(
    r"\b(?:engine (?:is )?(?:running|on|started|going)|(?:when|once|with|if|while) (?:it |it's |she's |she |the "
    r"engine )?(?:runs?|"
    r"running|started|starts)|start(?:s|ed)? (?:it|her|him|the engine|up)|some revs|(?:with|at) revs|revv?(?:ed|"
    r"ing)?|"
    r"rev (?:it|her)|fire (?:it|her) up)\b", 2)
_WELL: Final = Pattern(r"\b(?:fine|ok|okay|good|normal|come right|bright|brightens?|better|all right|alright|"
 r"perfect|come up|"
 r"comes up|improve"
                       r"s?|pick up|picks up)\b", 2)
_ONE_LAMP: Final = Pattern(
    r"\b(?:tails?|stops?|brakes?|indicators?|winkers?|head\w*|dip|dipped|main|plate|fogs?|revers\w+|side\w*|left|"
    r"right|n/s|o/s|nearside|offside|"
    r"except|trailer|caravan|dash|rear|front)\b", 2)
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # "Left rear unit dead, tail, stop, flasher, the lot".
    (("lot", "everything", " all"), rf"^(?:the )?(?:whole )?(?P<p>{SIDE}(?:[ -]hand)?(?: side)?(?: (?:rear|front|"
     rf"back))?)"
     rf"(?: (?:unit|cluster|lamp|light|corner|end))?(?: is|'s)? {_DEAD},? {_LIST}(?:the (?:whole )?lot|everything|"
     rf"all(?: of (?:it|"
     r"them))?)\W*$", r"everything at the \g<p> dead"),
    (("all of", "whole lot", "everything"), rf"^(?:the )?(?P<p>{SIDE}(?:[ -]hand)?(?: side)?(?: (?:rear|front|"
     rf"back))|(?:rear|back|front) {SIDE})(?: is|'s)? {_DEAD}, (?:all of "
     r"(?:it|them)|the whole lot|everything|the lot)\W*$", r"everything at the \g<p> dead"),
    (("none of", "no lights", "no lamps"), rf"^(?:there are |i have |i've |got )*(?:none of the|no) "
     rf"(?P<p>{SIDE}(?:[ -]hand)?(?: side)? (?:rear|front|back)) (?:lights|lamps) (?:are |do |will )?"
     r"(?:work(?:s|ing)?|light(?: up)?|lit|come on|on)\W*$", r"everything at the \g<p> dead"),
    (("no lights", "no lamps"), rf"^(?:there are |i have |i've |got )*no (?:lights|lamps)(?: at all| working| lit)* "
     rf"(?:on|at|in) the (?P<p>{SIDE}(?:[ -]hand)?(?: side)? (?:rear|front|"
     r"back))(?: corner| end| at all)*\W*$", r"everything at the \g<p> dead"),
    (("nothing", "no light"), rf"^(?:nothing|no lights?)(?: (?:is )?(?:working|works|lit|lights|on|at all))* (?:in|"
     rf"on|at) the (?P<p>{SIDE}(?:[ -]hand)?(?: side)? (?:rear|front|back)) (?:cluster|unit|"
     r"assembly|light|lamp)\W*$", r"the \g<p> cluster completely dead"),
    (("trailer", "caravan"), rf"^(?:there's |there are )?(?:no (?:lights|lamps)|nothing)(?: at all| whatsoever| "
     rf"works?| lights?(?: up)?)* (?:on|at|down) the (?P<s>{SIDE})(?:[ -]hand)?(?: side)? of the "
     r"(?P<e>trailer|caravan)(?: at all| works?)*\W*$", r"all lamps on the \g<s> of the \g<e> dead"),
    (("whole", "entire", "complete"), rf"^(?:the |my )?(?:whole|entire|complete) (?:of the )?(?:tail|rear|back) "
     rf"?(?:light|lamp)? ?(?:assembly|cluster|unit|lamp|light)? (?:on|at) the (?P<s>{SIDE})(?:[ -]"
     rf"hand)?(?: side)?(?: is|'s)? {_DEAD}\W*$", r"the \g<s> rear cluster completely dead"),
    (("whole", "entire", "complete"), rf"^(?:the |my )?(?:whole|entire|complete) (?:of the )?(?P<p>{SIDE}(?:[ "
     rf"-]hand)?(?: side)? (?:rear|front|back)) (?:light |lamp )?(?:unit|assembly)(?: is|'s)? "
     rf"(?:completely |all )?{_DEAD}\W*$", r"the \g<p> cluster completely dead"),
    (("every bulb", "every lamp", "every light", "all the bulbs", "whole lamp"), rf"^(?:every (?:bulb|lamp|light)|"
     rf"all the (?:bulbs|lamps)) (?:in|of) the (?P<p>{SIDE}(?:[ -]hand)?(?: side)? (?:rear|front|back)) "
     rf"(?:lamp|light|unit|cluster)(?: is|'s| are)? {_DEAD}\W*$", r"the \g<p> cluster completely dead"),
    (("car ", "van "), r"^(?:the )?(?P<b>trailer|caravan) and (?P<a>car|van) (?P<l>(?:brake|stop|tail|side|plate) "
     r"?(?:lights|lamps))(?: are)?(?: all| both)?\b", r"car \g<l> and \g<b> \g<l>"),
    (("dead", "nothing", " out"), rf"^(?P<a>(?:.*\b{_DEAD}|(?:nothing|none)\b[^,]*)),? (?:-+ )?(?:(?:and |nor |or "
     rf")*(?:not|no) (?:the )?(?:tail|stop|brake|indicator|flasher|winker|revers\w+|fog|side|marker)s?"
     r"(?: ?(?:light|lamp)s?)?,? ?){2,}\W*$", r"\g<a>"),
    (("the lot", "everything"), rf"^(?P<a>.*\b(?:all|everything)\b.*\b(?:dead|out|dark|gone)\b[^,]*), {_LIST}(?:the "
     rf"(?:whole )?lot|everything)\W*$", r"\g<a>"),
    (("cluster", "unit"), rf"^(?:the )?(?P<p>(?:rear|back|front) {SIDE}|{SIDE}(?:[ -]hand)?(?: side)? (?:rear|back|"
     rf"front)) (?:light |lamp )?(?:cluster|unit),? (?:none of (?:the )?(?:lights|lamps|bulbs)|nothing)(?: in it)? "
     r"(?:works?|lights?(?: up)?|lit|comes? on)\b", r"the \g<p> cluster completely dead"),
    # "The rear of the car has gone completely dead".
    (("rear", "back", "front"), r"^(?:the )?(?:whole )?(?P<e>rear|back|front)(?: end)?(?: of (?:the |my |a "
     r")?(?:car|van|vehicle|"
     r"truck|lorry|tractor))? (?:has |have |is |'s |just |all )*(?:gone |went )?(?:completely |totally |all |stone "
     r"|entirely )*"
     r"(?:dead|out|dark|black)\b", r"everything at the \g<e> dead"),
    (("otherwise",), r",? (?:but |and )?otherwise (?:all|everything|all the rest|the rest)(?:'s| is| are)? (?:fine|"
     r"ok|okay|good|"
     r"normal|working|works|well)\W*$", ", everything else is ok"),
    (("tickover", "idle"), r"^(?P<a>[^,]+? (?:dim|weak|poor|dull)) (?P<b>at (?:tickover|idle)),? and (?:also "
     r")?(?:with |when )?(?:the )?"
     r"(?:engine|motor)(?: is)? (?:off|stopped|not running)\W*$", r"\g<a> \g<b>. \g<a> with the engine off"),
    (("whatever", "matter"), r",? (?:whatever|no matter what|whichever \w+|no matter which \w+) (?:i|you|we|he) "
     r"[^,]*", ""),
    (("trailer", "caravan"), r"^(?:there's |there are |i've |got )*(?:no (?:lights|lamps)|nothing)(?: at all| "
     r"whatsoever| works?| lights?(?: up)?)* (?:on|at|"
     r"from) the (?P<e>trailer|caravan)(?: (?:at all|works?|lights?(?: up)?))*(?=\W*$|[,.])", r"everything on the "
      r"\g<e> dead"),
    (("no ", "nothing", "dead"), r"^(?:there are |i have |i've |got )*(?:no (?:rear|back) (?:lights|lamps) "
     r"(?:whatsoever|at all|of any (?:kind|sort))|no (?:lights|lamps)(?: at all| "
     r"whatsoever)? (?:on|at|in) the (?:rear|back)(?: end)?(?: of the \w+)?(?: at all| whatsoever)?|nothing (?:on|"
     r"at) the (?:rear|back)(?: end)? (?:works|lights(?: up)?|comes on)|(?:completely |totally |all )?"
     r"dead at the (?:rear|back))(?=\W*$|,)", "everything at the rear dead"),
    # What is well beside it.
    (("rear", "front", "back"), rf"^(?P<a>.*\b(?:everything|nothing|no lights?|all (?:the )?lights)\b.*?),? (?:but |"
     rf"and )?(?:the )?"
     rf"(?P<e>front|rear|back)(?: end)?{_GOOD}\W*$", r"\g<a>. everything at the \g<e> is fine"),
    (("caravan", "trailer"), rf"^(?P<a>.*\b(?:everything|nothing|no lights?|all (?:the )?lights|"
     rf"dead)\b.*\b(?:trailer|caravan)\b"
     rf"[^,]*),? (?:but |and )?(?:the |my )?(?P<e>car|van|truck|tractor|pick ?up)(?:'s)?{_GOOD}\W*$",
     r"\g<a>. everything on the \g<e> is fine"),
    (("cluster", "unit", "everything", "whole", "all "), rf"^(?P<a>(?:.*\b(?:whole|everything|cluster|unit|all "
     rf"(?:the )?lights)\b"
     rf".*){_DEAD}),? (?:but |and )?(?:the )?(?P<e>{SIDE} (?:rear|front|back)|[no]/?s/?[rf])(?: side| one| unit| "
     rf"cluster)?"
     rf"{_GOOD}\W*$", r"\g<a>. everything at the \g<e> is fine"),
    (("car and", "van and", "tractor and", "truck and"), r"\b(?P<a>car|van|tractor|truck) (?:and|&) (?P<b>trailer|"
     r"caravan) "
     r"(?P<l>(?:brake|stop|tail|side|plate|number ?plate|indicator|reverse|reversing|fog) ?(?:lights|lamps|s)?|"
     r"indicators)"
     r"(?: are)?(?: all| both)?\b", r"car \g<l> and \g<b> \g<l>"),
))


_NO_REAR: Final = Pattern(
    r"^(?:there are |i have |i've |got |we've )*(?:no|none of the|neither) (?:rear|back) (?:lights|lamps)(?: (?:are "
    r")?(?:work\w*|"
    r"light\w*(?: up)?|lit|come on|coming on|on))?(?: at all| whatsoever)?\W*$", 2)


def no_rear_lights(text: str) -> tuple[str, ...]:
    """Of "no rear lights" that the tail lamps are meant, or all that is there; nothing of other sentences."""
    if not _NO_REAR.match(text):
        return ()
    return "both tail lamps dead", "everything at the rear dead"


def whole_plainly(text: str) -> str:
    """The sentence with what is told of all lamps in the words that are read."""
    return put_plainly(_by_engine(text), _ROWS)


def _by_engine(text: str) -> str:
    """"All dim with it stopped, fine with some revs", in whatever order: of everything, without the engine and
    with."""
    if not any(w in text.lower() for w in ("engine", "motor", "stopped", "running")):
        return text
    said = _ALL.match(text) and all(p.search(text) for p in (_WEAK, _STOPPED, _RUNS, _WELL))
    if not said or _ONE_LAMP.search(text):
        return text
    return "all lights dim with the engine off. all lights do work when the engine is running"
