"""How much light there is, told in a noun ("gives off a dull glow", "a bit of light from the left tail") or with its
colour ("glows dull red"). Put as what the lamp does.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_WEAK: Final = (
    r"(?:red|orange|amber|yellow|faint|dim|dull|weak|slight|feeble|small|tiny|little|low|soft|vague|poor|pale|very|"
    r"wee|"
    r"bare|real)"
)
_A: Final = (
    r"(?:(?:just|only|merely|always|really|maybe|about) )*(?:(?:a|an|the|some|any) )?(?:(?:bit|touch|hint|trace) of "
    rf"(?:a |an )?)?(?:{_WEAK} )*"
)
_GLOW: Final = r"(?:glow|glimmer|gleam|glim)(?: of light)?"
_LAMP: Final = (
    r"(?P<who>(?:(?:the|my|its|that|both|all|one|either|left|right|near ?side|off ?side|n/s|o/s|[no]s[rf]?|rear|"
    r"front|back|"
    r"trailer|caravan|car|driver'?s?|passenger'?s?|side|hand)[ -])*(?:(?:tail|stop|brake|indicator|winker|flasher|"
    r"blinker|"
    r"side|head|fog|revers(?:ing|e)(?= ?(?:light|lamp))|plate|number ?plate|marker|main|dip|dash|interior|"
    r"repeater)s?(?:[ -](?=(?:light|lamp|lite|beam|bulb|one|repeater|plate|side|tail|stop)s?\b))?)+(?:light|lamp|"
    r"lite|beam|bulb|one)?s?\b)"
)
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("lite",), r"\blite(?P<s>s?)\b", r"light\g<s>"),
    (("sort of", "kind of", "sorta", "kinda"), r"\b(?:sort of|kind of|sorta|kinda) (?=\w)", ""),
    (("l and r", "l & r", "r and l"), r"\b(?:L (?:and|&|\+) R|R (?:and|&|\+) L)\b", "left and right"),
    (("any more", "anymore", "these days", "at present"), r",? \b(?:any ?more|these days|at present)\b", ""),
    (("on both head",), r" (?:on|in|of) both head ?(?:lights|lamps)(?=\W*$|,)", ""),
    ((" bit", " little", " touch", " slightly"), r"\b(?:lights?(?: up)?|comes? (?:on|up)|glows?|shines?|is lit) "
     r"(?:just |only )?(?:ever so )?(?:a (?:tiny |little |wee "
     r"|weeny |small )?(?:bit|touch|little)|slightly)\b", "glows"),
    (("main", "full", "high", "dip", "low"), r"\bwhen (?:i|you|we) (?:flick|switch|put|click|change|turn|knock) "
     r"(?:it |them |the (?:head)?lights )?(?:up |over |down |back )?(?:to|"
     r"onto|on to) (?:the )?(?P<b>main|full|high|dip|dipped|low)(?: beam)?\b", r"on \g<b> beam"),
    (("our ",), r"\bour (?=\w)", "my "),
    (("lost ", "losing", "loses", "looses"), r"^(?:i |we |i've |we've |he's |it's )?(?:have |has )?(?:just )?lost "
     r"(?:the |my |our |its |all |both )?(?=(?:dip|main|full|high|low|brake|stop|tail|"
     r"side|head|rear|left|right|near|off|n/s|o/s|indic|revers|number|horn)[^,]*)", "no "),
    (("loses", "looses"), r"\b(?P<w>trailer|caravan|car|van) (?:loses|looses) (?:its|the|all its) (?:lights|"
     r"lamps)\b", r"\g<w> lights go out"),
    (("beam", "main", "dip"), rf"^(?:the )?(?P<b>main|full|high|dip|dipped|low)(?: beam)? (?:is )?(?P<d>out|dead|"
     rf"not working|gone) (?:on|in) (?:the )?(?P<s>{SIDE})(?:[ -]?hand)?(?: side)? head ?"
     r"(?:light|lamp)(?=\W*$|,)", r"\g<s> \g<b> beam \g<d>"),
    (("head",), rf"^(?:the |my )?(?P<s>{SIDE})(?:[ -]?hand)?(?: side)? head ?(?:lamp|light) has (?P<a>dip|dipped|"
     rf"main|full|low|high)(?: beam)?,? (?:but |and )?no (?P<b>main|full|dip|dipped|high|low)"
     r"(?: beam)?(?=\W*$|,)", r"\g<s> \g<a> beam works, \g<s> \g<b> beam dead"),
    (("beams", "dips", "mains"), r" on both (?:lamps|sides|headlamps|headlights)(?=\W*$|,| last| this| since)", ""),
    (("hyper",), rf"^hyper ?flash(?:ing|es)? (?:on|to) (?:the )?(?P<s>{SIDE})(?:[ -]hand)?(?: side)?(?: only)?\W*$",
     r"\g<s> indicators flash fast"),
    (("on full",), r"^(?!.*\b(?:dip|beam|head|main)\w*)(?P<a>.*?)\b(?:is |are )?on full(?= *(?:$|,))", r"\g<a>lit"),
    # "Braking brings up a glow in the right winker".
    (("glow", "glim", "gleam"), rf"^\s*(?:when |by )?(?P<act>(?:braking|reversing|indicating|signalling|selecting|"
     rf"engaging|"
     rf"putting|switching|turning|pressing|touching|going)\b[^,]*?) (?:brings? (?:up|on|out)|gives?(?: me| you)?|"
     rf"causes?|makes?|"
     rf"produces?|shows?|gets?(?: me| you)?) {_A}{_GLOW} (?:from|in|out of|off|on|at) (?P<who>[^,]+)",
      r"when \g<act>, "
     r"\g<who> glows"),
    # "Shows a dull glow", "has a bit of a glow to it", "there's a faint glow from the left tail".
    (("glow", "glim", "gleam"), rf"\b(?:shows?|gives?|gets?|has|have|had|throws?|makes?|puts|giving|showing|with|"
     rf"got)(?: "
     rf"(?:off|out|up|me|you))? {_A}{_GLOW}(?: (?:to|off|out of|about|from|in) (?:it|them)| out| off)?"
     r"(?! (?:from|in|out|off|of|on|to) (?!reverse))", "glows"),
    (("glow", "glim", "gleam"), rf"(?:\b(?:there's|there is|there are|i get|you get|i see|you can see|i've got|we "
     rf"get|it "
     rf"gives|gives|gives me|getting|get|shows) )?{_A}{_GLOW} (?:from|in|out of|"
     rf"off|of|on|at|to|behind) {_LAMP}", r"\g<who> glows"),
    ((" light", " bit"), rf"\b(?:gives?|gets?|shows?|has|throws?|giving|showing)(?: (?:off|out|me|you))? (?:just |"
     rf"only )?(?:(?:a|an|"
     rf"some) )?(?:bit of |touch of |(?:{_WEAK} )+)(?:a )?(?:light|lighting)(?: (?:off|out))?(?! (?:bulb|switch|"
     rf"unit))",
     "is dim"),
    ((" show",), r"\b(?:shows?|showing) (?P<w>faint|dim|weak|feeble)(?:ly)?\b", "glows"),
    # How it glows, which makes no difference to that it does.
    (("glow", "glim", "gleam"), r"\b(?:sort of|kind of|half|barely|hardly|only just|just about|ever so slightly|"
     r"sorta|kinda|"
     r"partly|partially|slightly|very faintly|faintly|weakly|dimly|feebly|dully) (?=glow|glim|gleam)", ""),
    (("glow", "glim", "gleam"), rf"\b(?P<g>glow(?:s|ing)?|glim(?:mer)?s?|gleams?)(?: (?:a|an|with a))? (?:{_WEAK} |"
     rf"dark |deep |"
     r"bright )*(?:red|orange|amber|yellow|white|blue|pink|brown)(?:dish|ish)?\b(?! (?:light|lamp|one))", r"\g<g>"),
    (("red", "orange", "amber", "yellow", "cherry"), r"\b(?P<g>comes? (?:on|up)|lights?(?: up)?|is lit|shines?|"
     r"burns?) "
     r"(?P<w>dull|dim|dark|faint|deep|cherry) (?:red|orange|amber|yellow)\b", r"\g<g> dim"),
    ((" down",), r"\b(?:is |are |a bit |well |way |a little |bit )*down on (?:light|brightness|power|output|"
     r"brilliance)(?: "
     r"output)?\b", "is dim"),
    ((" down",), r"\b(?P<l>lamp|light|beam|tail|stop|one) (?:is )?(?:well |right |way |a bit )?down(?= *(?:,|$))",
     r"\g<l> is dim"),
    (("weaker", "dimmer", "duller", "fainter", "poorer", "less bright"), r"\b(?:is |are )?(?:a |an )?(?:good |great "
     r"|fair |"
     r"lot |whole |little |bit |deal |much |far |way |rather |quite |considerably |noticeably |slightly |visibly )*"
     r"(?P<w>weaker|dimmer|duller|fainter|poorer|less bright) than (?:the )?(?P<o>near ?side|off ?side|n/s|o/s|left|"
     r"right|"
     r"other|passenger'?s?|driver'?s?)(?: (?:side|one|hand side))?", r"dimmer than the \g<o> one"),
    ((" gone ", " become ", " went ", " got ", " getting "), r"\b(?:has |have |'s |'ve )?(?:gone|become|went|got|"
     r"getting|"
     r"gotten) (?:(?:ever so|very|really|quite|rather|a bit|all|awfully|so|terribly|pretty|too|far too) "
     r")*(?P<w>weak|dim|"
     r"faint|dull|poor|yellow|feeble)\b(?! when| as)", r"is \g<w>"),
    ((" still ",), r"\b(?:(?:is|are) )?still (?:on|lit|burning|there|going|alight|shining)\b(?! (?:with|when|after|"
     r"all))", "still works"),
    ((" up ",), r"\b(?P<l>tail|stop|lamp|light|indicator|one|winker|flasher) up (?=(?:very |ever so )?(?:faint|dim|"
     r"weak))", r"\g<l> comes up "),
    ((" plate",), r"\b(?:the )?(?:lamp|light|bulb|lite)(?P<n>s?) (?:over|above|for|of|by|at|on|that lights) the "
     r"(?:rear )?(?:number|reg(?:istration)?|"
     r"licen[cs]e) ?plate\b", r"number plate light\g<n>"),
    ((" week",), r"(?<!last )(?<!this )(?<!\ba )(?<!next )(?<!every )(?<!one )(?<!all )(?<!the )(?<!each )(?<!per "
     r")\bweek\b(?! ago| later|end)",
     "weak"),
    ((" same",), r"\bon same (?=bulb|lamp)", "on the same "),
    ((" off",), r"\b(?P<l>lights|lamps|tails|beams|stops|indicators|ones|they|both) (?:all )?(?:turn|switch|shut) "
     r"off(?= (?:when|whenever|with|if|as|on|under)\b)",
     r"\g<l> go out"),
    ((" off",), r"\b(?P<l>light|lamp|tail|beam|stop|indicator|one|it) (?:turns|switches|shuts|clicks) (?:itself "
     r")?off\b", r"\g<l> goes out"),
    (("dip",), r"\b(?:the |my |both )*(?:head ?)?(?:lights|lamps) (?:all )?(?:go|goes|cut|turn) (?:out|off)(?: "
     r"altogether| completely)? when(?:ever)? (?:i |you |we )?"
     r"dip(?: (?:them|it|the (?:head)?(?:lights|lamps)|the beam))?(?=\W*$|,)", "both dipped beams dead"),
    (("dip",), r"\bwhen(?:ever)? (?:i |you |we )?dip(?: (?:them|it|the (?:head)?(?:lights|lamps)|the beam))?,? "
     r"(?:the |my |both )*(?:head ?)?(?:lights|lamps) (?:all )?"
     r"(?:go|goes|cut|turn) (?:out|off)(?: altogether| completely)?(?=\W*$|,)", "both dipped beams dead"),
    (("head",), rf"^(?:the |my )?(?P<s>{SIDE})(?:[ -]hand)?(?: side)? head ?(?:lamp|light)[,:]? (?:-+ )?no "
     rf"(?P<b>main|dip|dipped|full|high|low)(?: beam)?(?=\W*$|,)",
     r"no \g<b> beam on the \g<s>"),
    (("main", "full", "high", "dip", "low"), rf"\bwhen (?:i |you |we )?(?:put|switch|turn|select|go) (?:(?:on|to|"
     rf"onto) )?(?:the )?(?P<b>main|full|high|dip|dipped|low)"
     rf"(?: beam)?(?: on)?,? (?:only )?the (?P<s>{SIDE}|other) one\b", r"on \g<b> beam the \g<s> one"),
    (("illumination", "lighting"), r"\b(?:illumination|lighting)\b(?! (?:up|when|with|but|and|at|\w+ly))", "light"),
    (("along", "together"), r"\b(?:along|together) with (?=(?:the |my )?(?:side|head|tail|brake|stop|indic|revers|"
     r"fog|hazard|main|dip|lights))", "with "),
    (("brightly", "bright"), r"\bglow(?:s|ing)? (?:very |quite |really )?bright(?:ly)?\b", "is lit"),
    (("bright", "shine", "dim"), r"\b(?:lacks? brightness|(?:has |have )?(?:lost|lacking)(?: its| their| some)? "
     r"brightness|(?:doesn't|don't|does not|not) (?:shine|shining) "
     r"(?:properly|right|as (?:bright|it should)\w*(?: as it should)?)|(?:is|are) ?n[o']t as bright as (?:it|they) "
     r"(?:should(?: be)?|was|were|used to be)|(?:is |are )?on the "
     r"dim side)", "is dim"),
    (("beam", "light", "output"), r"\b(?:has|gives?|got|throws?|with|giving) (?:only )?(?:a |an )?(?:very |rather |"
     r"really )?(?P<w>poor|weak|dim|feeble|yellow|dull|faint) "
     r"(?:yellow )?(?:beam|light|output)\b(?! (?:bulb|switch|is))", r"is \g<w>"),
    (("back",), r"\bback(?:-| )?up (?=(?:light|lamp|lite)s?\b)", "reversing "),
    (("revers",), r"^(?P<l>(?:the |my )?revers(?:ing|e) (?:lights|lamps)) on (?:both|each) sides(?=, )",
     r"both \g<l> on"),
    (("break",), r"\bbreak(?=(?:light|lamp)s?\b)", "brake"),
    (("head",), r"^(?P<a>.*\bhead ?(?:lamp|light)\b.*\b(?:dim|dead|out|weak|poor|not working|dull|faint)\b[^,]*), "
     r"(?:on )?(?P<b>(?:dip(?:ped)?|main|full|low|high) and (?:main|dip(?:ped)?|full|low|high)|dip(?:ped)?|main|full|"
     r"high|low)(?: beam)?\W*$", r"\g<a> on \g<b> beam"),
    ((" both ",), r",? both (?=on (?:the )?(?:dip|main|full|high|low)\b)", " "),
    (("yes",), r"\bsometimes (?:yes|on),? (?:and )?sometimes (?:no|not|off)\b", "intermittent"),
    ((" over", " on ", " when", " with"), r"^(?P<a>[^,]+?) (?:works? (?:sometimes|now and (?:then|again)|on and off|"
     r"at times|intermittently|off and on|"
     r"occasionally)|comes and goes|(?:is )?intermittent|(?:is )?on and off|cuts? in and out|sometimes works),? "
     r"(?:and |but )?(?:[\w ]*?reports? )?"
     r"(?:it )?(?:(?:is |gets )?worse|cuts out|drops out|goes out|goes off|fails|dies|loses contact|goes|drops)(?: "
     r"again)? (?P<m>(?:over|on|when|"
     r"with|going over|hitting)\b[^,]*\b(?:bump|rough|pot ?hole|road|cobble|ramp|hump|track|ground|grid|rut)\w*.*)$",
     r"\g<a> sometimes goes out \g<m>"),
    ((" candle", " glow worm", " toc h"), r"\b(?P<w>poor|dim|weak|yellow|dull|faint),? (?:and )?(?:yellow )?(?:like|"
     r"as) a "
     r"(?:candle|glow ?worm)\b", r"very \g<w>"),
))


def light_plainly(text: str) -> str:
    """The sentence with the light that a noun or colour tells as what the lamp does."""
    return put_plainly(text, _ROWS)
