"""Turns of phrase that leave a word out or put it where it is not looked for: "tail light left dead", "back lights ok
front ones dead", "left tail out, right one neither", and words that only fill.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import INDICATOR, PLACE, SIDE, Pattern, put_plainly
from tracer.observation.words.plain_words import SOUNDS_LIKE

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

_LIT_ON_A_SIDE: Final = ("light is ", "lamp is ", "light on", "lamp on", "light lit", "lamp lit", "light comes",
    "lamp comes", "reversing on", "reversing is on", "reversing lit", "reverse lit")

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("tell tale",), r"\btell tale", "tell-tale"),
    # What is excepted, and how it does.
    (("bar ", "except", "apart from", " but ", "other than", "save for"),
     rf"^(?P<all>.*\b{_GOOD}),? (?:(?P<but>but(?: for)?)|bar|except(?:ing)?(?: for)?|apart from|other than|save for) "
     rf"(?P<who>(?:the |my )[^,]+?),? (?:and |but )?(?:(?:that|which|it)(?:'s| is| has)? |(?(but)(?!)|(?:is|are|"
     r"looks?) ))(?P<how>(?:(?:only|just|gone|very|rather|a bit|quite) )*)"
     rf"(?P<look>{_BAD}|dims?|faint|weak|dull|poor|bright|flickers|glows|stays on)(?P<rest>.*)$",
     r"\g<all>, but \g<who> \g<how>\g<look>\g<rest>"),
    (("bar ", "except", "apart from", " but ", "other than", "save for"),
     rf"^(?P<all>.*\b{_GOOD}|no problems?(?: with the [\w ]+?)?|nothing wrong(?: with the [\w ]+?)?),? (?:bar|"
     rf"except(?:ing)?(?: for)?|apart from|but(?: for)?|other than|save for) (?:a|an|the|one) (?P<look>dim|faint|"
     r"weak|dull|poor|dead|dark|flickering|bright) (?P<who>[^,]+?)\s*$", r"\g<all>, but \g<who> \g<look>"),
    (("no problem", "nothing wrong"),
     r"^(?:there's |there is )?(?:no problems?|nothing wrong)(?: with the (?:lights|lamps|rest|others?))?, but ",
     "everything ok, but "),
    (("all ",), rf"^all (?P<good>{_GOOD})(?=,? (?:but|bar|except|apart|other)\b)", r"everything \g<good>"),
    (("light inside", "light in the"), rf"\blight (?:inside|in the (?:{_VEHICLE}|cab|cabin))\b(?! the)", "interior "
     "light"),
    ((" side ",),
     rf"^(?:the |my )?(?P<a>{SIDE})(?:[ -]hand)? side(?: is|'s)? (?:all )?(?P<x>dead|out|dark|{_GOOD}),? (?:but |and "
     rf")?(?:the )?(?P<b>{SIDE})(?:[ -]hand)?(?: side)?(?: is|'s)? (?:all )?(?P<y>dead|out|dark|{_GOOD})\s*$",
     r"everything on the \g<a> \g<x>, everything on the \g<b> \g<y>"),
    ((" both ",), rf"(?P<on>\band \w+(?: light| lamp)? on the {SIDE})(?: are)? both (?=(?:{_BAD}|{_GOOD})\b)",
     r"\g<on> "),
    # Which lamp is lit as it is so: no indicator of that side.
    (_LIT_ON_A_SIDE,
     rf"\b(?P<w>when|while|whilst|with|whenever|if|as long as) (?P<the>the |my )?{SIDE}(?:[ -]hand)? "
     rf"(?P<who>(?:revers\w+|tail|side|brake|stop|fog|head|plate)(?: ?(?:light|lamp)s?)?(?: is| are| comes?)? (?:on|"
     rf"lit|working|burning))\b",
     r"\g<w> \g<the>\g<who>"),
    (("left and right", "right and left"),
     rf"^(?P<who>(?:the )?[\w ]+?) (?P<look>{_BAD}|{_GOOD}) (?:on |at )?(?:both )?(?:the )?(?:left and (?:the "
     rf")?right|right and (?:the )?left)(?= *(?:$|,| but\b))", r"left and right \g<who> \g<look>"),
    (("left or right", "right or left", "left and right", "either way", "both ways"),
     r"\b(?P<do>(?:indicat|signal)\w*) (?:to the )?(?:left (?:or|and) right|right (?:or|and) left)\b", r"\g<do>"),
    (("getting", "seeing"), r"\b(?:i'm |we're |i am )?(?:not|isn't|aren't) (?:getting|seeing) (?:any|a) ", "no "),
    (("not running",), r"^(?!.*\bengine\b)(?P<a>.*) when (?:it's |she's |it is )?not running\b", r"\g<a> with the "
     r"engine off"),
    (("on and ",),
     rf"^\s*(?:the |my )?(?P<what>{INDICATOR}|hazards|(?:side|head|fog) ?lights|sides|main beam|ignition)(?: (?:is|"
     rf"are))? on,? and (?=(?:the|both|all|my|everything|it|they|rear|tails?) )", r"with the \g<what> on, "),
    (("stop lights", "brake lights"),
     r"^(?:when|whenever|as soon as|once|the moment|every time) the (?:stop|brake) ?lights (?:come on|are on|light "
     r"up|go on|are lit) (?=(?:the|my|both|all|left|right)\b)", "when I brake, "),
    (("rear ", "front "),
     rf"^(?:the )?(?P<a>{SIDE} (?:rear|front)|(?:rear|front) {SIDE})(?: corner)?(?: is|'s)? (?:all )?(?P<x>dead|out|"
     rf"dark|{_GOOD}),? (?:but |and )?(?:the )?(?P<b>{SIDE} (?:rear|front)|(?:rear|front) {SIDE})(?: corner)?(?: is|"
     rf"'s)? (?:all )?(?P<y>dead|out|dark|{_GOOD})\s*$",
     r"everything at the \g<a> \g<x>, everything at the \g<b> \g<y>"),
    (("dim ", "weak ", "dull ", "poor ", "faint ", "dead "),
     rf"^(?:a )?(?P<look>dim|weak|dull|poor|faint|dead) (?P<who>(?:\w+ )?(?:\w*lamp|\w*light|tail|stop|beam|"
     rf"indicator|winker)),? (?:on )?(?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: side| "
     rf"one)?\s*$", r"\g<side> \g<who> \g<look>"),
    (("none of the", "not one of the"),
     r"\b(?:none|not (?:a single )?one) of the (?:lights|lamps|bulbs) (?P<where>(?:at|on|in) the [\w/]+(?:[ -]hand)?"
     r"(?: (?:end|side))?(?: (?:at|on|in) the [\w/]+(?:[ -]hand)?(?: (?:end|side))?)?) (?:works?|lights?(?: up)?|"
     r"comes? on|"
     r"are working|is working)(?= *(?:$|,| but\b))", r"nothing \g<where> works"),
    (("none of the", "not one of the"),
     r"\b(?:none|not (?:a single )?one) of the (?P<where>front|rear|back) (?:lights|lamps|bulbs) (?:works?|"
     r"lights?(?: up)?|comes? on|are working|is working)(?= *(?:$|,| but\b))", r"nothing works at the \g<where>"),
    (("with her ",), r"\bwith her (?P<how>stopped|off|running|going)\b", r"with the engine \g<how>"),
    (("fine until", "ok until", "good until", "fine till", "ok till"),
     r"\b(?P<f>F\d+|fuse(?: \d+)?) (?:was|were|used to be|has been|had been) (?:fine|ok|okay|good) (?:un)?till? "
     r"(?P<work>[^,]+?)(?:,| and| but) (?:and |but )?now (?:it )?(?:just )?(?:blows|goes|keeps (?:blowing|going)|"
     r"pops)(?: all the time)?", r"\g<f> "
     r"keeps blowing since \g<work>"),
    # A list without commas.
    (("left ", "right ", "n/s ", "o/s ", "side "),
     rf"(?P<a>\b{SIDE}(?:[ -]hand)? (?:(?:front|rear|back) )?{_NAME}(?: (?:light|lamp)s?)?) (?=(?:{SIDE}|both)(?:[ "
     rf"-]hand)? (?:(?:front|rear|back) )?{_NAME}\b)", r"\g<a>, "),
    (("both ",), rf"(?P<a>\bboth {_NAME}(?: (?:light|lamp)s?)?) (?=both {_NAME}\b)", r"\g<a>, "),
    ((" has", "'s got", " have", " does"),
     r"(?P<all>.*\b(?:trailer|caravan|car)\b.*?),? (?:but |and |though )?(?:the |my )?(?P<v>car|van|trailer|"
     r"caravan)(?: has|'s| have| does)(?: still)?(?: got| have)?(?: (?:both|all|it|one|them|two))?(?: of (?:them|"
     r"'?em))?\s*$", r"\g<all>, the \g<v> "
     r"is fine"),
    (("no trailer", "no caravan"), r"\bwith no (?P<t>trailer|caravan)(?: (?:on|connected|plugged in|attached|hitched|"
     r"coupled))?\b",
     r"without the \g<t>"),
    ((" door",),
     rf"^(?:the |my )?(?P<s>(?:{SIDE}|passenger'?s?|driver'?s?)(?:[ -]hand)?(?: side)? )?door (?:doesn't|does not|"
     rf"won't|will not) (?:operate|work|bring|put|switch|turn|light)(?: on| up)? (?P<who>(?:the |my )?[\w ]+?)(?: on|"
     r" up)?\s*$",
     r"\g<who> dead when I open the \g<s>door"),
    (("both ways", "either way"), r",? (?:both|either) ways?(?= *(?:$|,))", " on both sides"),
    ((" have stopped", " has stopped"), r"\b(?P<h>have|has) (?:just |now )?stopped(?= *(?:$|,))", r"\g<h> stopped "
     r"working"),
    ((" with them", " with it"), r"^(?P<all>\s*(?:when|with|whenever|as soon as) .+?,? .+?) (?:along |together "
     r")?with (?:it|them)(?: too| as well)?\s*$", r"\g<all>"),
    (("touching", "nowhere near", "not near", "off the"),
     r"\b(?:even )?(?:with|though|when) (?:(?:nobody|no ?-?one|no foot|i'm not|i am not|my foot|without|nobody's|"
     r"you're not) ?)+(?:is )?(?:nowhere |not )?(?:touching|near|on|pressing)(?: (?:the|my))? (?:brake pedal|brakes?|"
     r"pedal)\b", "with my "
     "foot off the brake"),
    (("without touch", "without press", "without brak"),
     r",? without (?:(?:me |anyone |anybody )?(?:touching|pressing)(?: on)? (?:the |my )?(?:brake pedal|brakes?|"
     r"pedal)|braking)\b",
     " with my foot off the brake"),
    (("'s ",), rf"\b(?P<who>\w*light|\w*lamp|bulb|one|tail|stop|beam|main|dip|indicator|horn|side|left|right|front|"
     rf"back|rear)'s (?=(?:all |still |very |just )?(?:{_GOOD}|{_BAD}|poor)\b)", r"\g<who> is "),
    ((" for ", " in "), r"(?P<does>\b(?:come|comes|work|works|light|lights)(?: on| up)?) (?:for|in) (?=(?:the "
     r")?(?:full|main|high|dip|dipped|low)\b)", r"\g<does> on "),
    ((" only ",), r"^of (?:the |my )(?P<who>[\w /]+?),? only (?:the )?(?P<end>front|rear|back)(?: one)? (?:works?|"
     r"lights?|flash(?:es)?|comes? on|is ok|is fine)\s*$", r"\g<who> only work at the \g<end>"),
    (("either side", "neither side", "either of the sides"),
     r",? (?:on |at )?(?:neither|either) sides?(?= *(?:$|,))", " on both sides"),
    (("all of them", "all of 'em", "the lot"),
     rf"^(?:the )?(?P<who>[\w ]+?(?:lights|lamps)) (?P<look>{_BAD}),? (?:all of (?:them|'em)|the (?:whole )?lot)(?: "
     rf"of them)?\s*$",
     r"all the \g<who> \g<look>"),
    ((" of them", " of 'em", " of em"),
     r",? (?:both|all|the pair|the lot|all four|the two) of (?:them|'?em)\s*$", ""),
    (("orange", "amber"),
     r"^(?!.*\b(?:dash|panel|instrument|tell|warning|green|arrow)\w*\b)(?P<before>.*\b)(?:orange|amber) (?P<one>one|"
     r"light|lamp|lens|bulb)(?P<s>s?)\b(?! (?:tell|for|of|warning))", r"\g<before>indicator\g<s>"),
    (("front", "back", "rear"),
     rf"^(?:the |my )?(?P<end>front|back|rear)(?: end)?(?:'s| is)? (?:all )?(?P<look>{_GOOD}|dead|out),? (?:but |and "
     rf")?(?P<rest>(?:nothing|not|no lights?|everything|none)\b.*\b(?:front|back|rear)\b.*)$",
     r"everything at the \g<end> \g<look>, \g<rest>"),
    # None of them, in more words.
    (("n't ", " not "),
     rf"\b(?:(?:the |my |this |our )?{_VEHICLE} |i |we |it |she |he )?(?:has|have|had)(?:n't| not)(?: got)? (?:any|a|"
     rf"an|either|a single|one) (?=\w)", "no "),
    (("not ", "n't "),
     r"\b(?:there (?:is|are) not|there isn't|there aren't|not) (?:a|an|one|any|even one|even a)(?: single)? (?:light|"
     r"lamp|bulb)s?(?: (?:is |that )?(?:works?|working|lit|lights(?: up)?|on|comes on|burning))? (?P<at>at|on|in) "
     rf"(?:the |my )(?P<where>(?:{SIDE}|front|rear|back)(?: (?:{SIDE}|front|rear|back))?|trailer|caravan)(?: (?:end|"
     rf"side))?(?: (?:is |are )?(?:works?|working|lit|lights(?: up"
     r")?|on|comes on|burning))?(?= *(?:$|,| but\b))", r"nothing works \g<at> the \g<where>"),
    (("not ",),
     r"\bnot (?:one|a single one|any|a one) of (?:the |my |its )(?P<who>[\w ]+?) (?P<does>works?|lights?(?: up)?|"
     r"comes? on|is lit|is working|flash(?:es)?)(?= *(?:$|,| but\b| when\b))", r"none of the \g<who> \g<does>"),
    (("not ",),
     r"\bnot (?:a single|one|even one) (?P<who>(?:[\w/]+ ){1,3}?(?:light|lamp|indicator|beam|bulb)) (?:works?|lights?"
     r"(?: up)?|comes? on|is lit|is working)(?= *(?:$|,| but\b| when\b))", r"no \g<who>s work"),
    (("still ",),
     r"(?P<before>(?:,|\bbut|\band|\bthough) (?:but |and )?)(?:(?:i|we|you|it|she|he|there)(?:'ve| have|'s| has| is| "
     r"do)? )?still (?:(?:get|gets|got|have|has) )+(?:got )?(?P<who>(?:the |my )?[\w ]+?)(?= *(?:$|,))",
     r"\g<before>\g<who> works"),
    (("still there", "still here"), r"\b(?:is |are )?still (?:there|here)(?= *(?:$|,| but\b| and\b))", "works"),
    (("worse", "worst", "mostly", "especially", "usually", "mainly", "particularly"),
     r",? ?(?:and |but )?(?:it's |it is |even |always )?(?:worse|worst|mostly|especially|usually|mainly|particularly|"
     r"more so|more often)(?: so)? (?=(?:over|on|when|if|with|in|going) )", " "),
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
     rf"(?P<look>\b(?:dead|out|dim|faint|off|not working)),? but not (?:the |my )?(?P<who>(?!{PLACE}?(?:$"
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
     rf"|right\b.*\bleft)\b).*\b{INDICATOR}\b(?: (?!flash|blink|wink|work"
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
     rf"^(?:the )?(?:{INDICATOR}) (?=(?:the )?{SIDE} (?:(?:front|rear|back) )?(?:repeater|indicator|winker"
     r"|one))", ""),
    (("any more", "anymore", "no more", " now"), r",? (?:any ?more|no more|now)(?= *(?:$|,))", ""),
    ((" and ",),
     r"(?P<before>^|, )(?:the )?(?P<a>car|trailer|caravan) and (?:the )?(?P<b>car|trailer|caravan)(?:'s)? "
     rf"(?P<who>(?:{PLACE})?{_NAME}"
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
     rf"\b(?P<look>{_GOOD}|dead|out|dim|faint|weak|bright|not working) (?=(?:the )?(?:{PLACE}){{0,2}}{_NAME}(?: "
     r"lights?| lamps?| ones?)? "
     rf"(?:is |are |both |all )*(?:{_BAD}|{_GOOD}|bright|neither|not)\b)", r"\g<look>, "),
))


def order_plainly(text: str) -> str:
    """The sentence with its words where they are looked for, and without those that only fill."""
    said = text.strip().rstrip(".!")
    for pattern, by in SOUNDS_LIKE:
        said = pattern.sub(by, said)
    return put_plainly(said, _ROWS)
