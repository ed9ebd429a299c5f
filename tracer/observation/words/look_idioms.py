"""Turns of phrase about how lamps do, put into the words that are read: "the brake doesn't make it brighter" is that
the brake light is dead, "nearly goes out" that it goes faint, "is the only one working" that the others are dead.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_TELLS: Final = (
    r"\b(?:is|are|isn't|aren't|does|doesn't|do|don't|goes|go|won't|works?|working|dim|dead|out|off|on|fine|ok|lit"
    r"|bright|flick\w+|flash\w*|faint|weak|dull|glow\w*)\b"
)
_PLACE: Final = rf"(?:{SIDE}|rear|front|back)(?:[ -]hand)?(?: (?:{SIDE}|rear|front|back))?"
_BAR: Final = r"(?:except(?:ing)?(?: for)?|apart from|bar|other than|but not)"
_NO: Final = r"(?:doesn't|does not|don't|do not|won't|will not|isn't|is not|aren't|are not|didn't)"
_BRAKES: Final = r"(?:(?:pressing|putting|touching|hitting|applying|the|my|foot|on) ?)*brakes?(?: pedal)?(?: on)?"
_ON_BRAKE: Final = (
    r"(?:when|if|as|with) (?:i |you |we |he |she )?(?:brake|braking|(?:press|hit|touch|push|put|step on"
    r"|apply)(?: on)? (?:the |my )?(?:brakes?|pedal)(?: pedal)?(?: on)?|(?:the |my )?brakes? (?:is |are )?(?:on"
    r"|pressed))"
)
_THERE: Final = r"(?:^|(?<=, )|(?<=but ))(?:(?:there's|there is|i get|i've got|we get|i have|got) )?"
_LOST: Final = (
    r"(?P<who>(?:the |my |all |both )*(?:[\w/-]+ ){0,3}?(?:\w*lights?|\w*lamps?|tails?|stops?|brakes|indicators?|"
    r"winkers?|beams?|dips?|mains?|hazards|sides))"
)
_NUMBERS: Final = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    ((" go", " goes"),
     r"(?P<who>\b(?:tail|brake|stop|side|rear|back|trailer|caravan|the|all) ?(?:lights?|lamps?)|\btails?|\bdips) "
     r"go(?:es)?(?= *(?:$|, | when\b| as soon\b| whenever\b| if\b))", r"\g<who> go out"),
    (("n't get", "cannot get", "not get"),
     r"\b(?:i |we |you )?(?:can't|cannot|can not|couldn't) get (?P<who>(?:the |my |both )?[^,]+?) to (?:go (?:off|"
     r"out)|turn off|switch off)\b", r"\g<who> stay on"),
    ((" just ", " only ", " simply "),
     r"^(?P<who>(?:the |my |both |all |left |right )*(?:indicators|winkers|blinkers|flashers|turn signals|"
     r"trafficators)) (?:just|only|simply) (?:come on|light(?: up)?|stay lit|"
     r"glow)\s*$", r"\g<who> come on and do not flash"),
    (("no wink", "no blink", "no flash"),
     r"^no (?:wink|blink|flash)(?:ing)?, (?P<who>(?:the |my )?(?:indicators|winkers|blinkers|flashers|turn signals)) "
     r"(?:(?:are|just|stay|come|all) )*(?:on|lit|light(?: up)?)(?: all the time| solid| "
     r"steady)?\s*$", r"\g<who> come on and do not "
     r"flash"),
    ((" a bit", " slightly", " a little", " a touch", " dimly", " faintly"),
     r"\b(?:comes? on|lights?(?: up)?|is on|is lit|lit) (?:just )?(?:a (?:little|wee|tiny) bit|a bit|slightly|a "
     r"little|ever so slightly|a touch|a tad)\b", "glows"),
    (("faint glow", "dim glow"), r"^(?:a |only a |just a )?(?:faint |dim |weak )+glow (?:from|in|out of) (?:the "
     r")?(?P<who>[\w /]+?)(?= (?:when|with|in|if|on braking|under)\b|$)", r"\g<who> glows"),
    (("on dip", "on main", "on low", "on full", "on high"),
     r"^\s*(?:nothing|no lights?|no head ?(?:lights?|lamps?))(?: at all)? on (?:the )?(?P<a>dip|dipped|low|main|full|"
     r"high)(?: beam)?,? (?:but |and )?(?P<good>fine|ok|okay|good|works?|all right) on (?:the )?(?P<b>dip|dipped|low|"
     r"main|full|high)(?: beam)?\s*$",
     r"\g<a> beam dead, \g<b> beam \g<good>"),
    (("on dip", "on main", "on low", "on full", "on high"),
     r"(?P<start>^\s*|, |\bbut )(?:nothing|no lights?|no head ?(?:lights?|lamps?))(?: at all)? on (?:the )?(?P<a>dip|"
     r"dipped|low|main|full|high)(?: beam)?(?= *(?:$|,| but\b))", r"\g<start>\g<a> beam dead"),
    (("down to a",), r"\b(?:is )?down to (?:just )?a (?P<how>glimmer|glow)\b", r"\g<how>s"),
    (("since",), r",? (?:that's|it's|this is|it has|it's been like that|been like that|like that)(?: been)?(?: like "
     r"that)? (?=(?:ever )?since )", " "),
    ((" until ", " till "),
     r"^(?P<fuse>(?:the |a )?(?:[\w-]+ )?fuse(?: \d+)?|F\d+) (?:holds|lasts|stays in|is (?:fine|ok|good))(?: (?:fine|"
     r"ok|good|in))? (?:un)?till? (?P<when>.+)$", r"\g<fuse> blows when \g<when>"),
    (("signal left", "signal right"),
     r"\bwhen I signal (?P<s>left|right),? (?:it|they) (?P<does>flash|blink|wink|tick|go)(?P<e>es|s)?\b", r"\g<s> "
     r"indicators \g<does>"),
    ((" off the brake", " from the brake"), r"\b(?P<glow>glows?|lit|lights?(?: up)?|comes? on|glimmers?)(?P<a> "
     r"faintly| dimly| a bit)? (?:off|from) the brakes?(?= *(?:$|,))", r"\g<glow>\g<a> when I brake"),
    (("only one", "just one"),
     r"^\s*(?:i've |there's |got )*(?:only|just) one (?P<who>[\w ]+?)(?: works?| working| lit| lights| on)?(?P<when> "
     rf"(?:on|with|in|when) [^,]+),? (?:and )?(?:it's |that's )?(?:on )?the (?P<side>{SIDE})(?:[ -]hand)?(?: one| "
     rf"side)?\s*$", r"only the "
     r"\g<side> \g<who> works\g<when>"),
    (("been going",), r"\b(?P<fuse>fuse \d+|F\d+|fuse) (?:has|have|keeps?) (?:been |on )?going\b(?! (?:in|to|into|"
     r"on)\b)",
     r"\g<fuse> keeps blowing"),
    (("work",), r"\bworks?,? but (?:they |it )?(?P<not>don't|do not|won't|doesn't|does not) (?P<does>flash|blink|"
     r"wink)\b",
     r"come on but \g<not> \g<does>"),
    (("repeater",), r"\b(?:green |little )*repeater (?P<look>(?:is )?(?:dead|out|dark|not working)) (?:on|in) the "
     r"(?:dash|dashboard|panel)\b",
     r"indicator tell-tale \g<look>"),
    (("nothing ", "no light "),
     r"^(?:there's |i get )?(?:nothing|no light)(?: lights? up| comes on| shows)? (?:on|in) the (?:dash|dashboard|"
     r"panel) (?P<when>when (?:i )?(?:indicat|signal)\w*.*)$", r"indicator tell-tale dead \g<when>"),
    ((" down",), r"\b(?P<who>tails|(?:tail|rear|back|side) ?(?:lights|lamps)|the (?:lights|lamps)) go(?:es)? "
     r"down\b(?! (?:the|a)\b)",
     r"\g<who> go dim"),
    (("perk", "pick up"), r"\b(?:perks?|picks?) up\b", "brighten up"),
    ((" on dip", " on main", " on low", " on full", " on high", "on dip ", "on main "),
     r"^\s*on (?:the )?(?P<a>dip|dipped|low|main|full|high)(?: beam)?,? (?:there's |i get |it's |they're "
     r")?(?P<x>nothing|no lights?|dead|out|dark),? (?:but |and )?on (?:the )?(?P<b>dip|dipped|low|main|full|high)(?: "
     r"beam)?,? (?:it's |they're |all )?(?P<y>fine|ok|okay|"
     r"good|works?|all right)\s*$", r"\g<a> beam dead, \g<b> beam \g<y>"),
    ((" on dip", " on main", " on low", " on full", " on high"),
     r"^\s*(?P<x>dead|out|dark|nothing) on (?P<a>dip|dipped|low|main|full|high)(?: beam)?,? (?:but |and )?(?P<y>fine|"
     r"ok|okay|good|works?|all right) on (?P<b>dip|dipped|low|main|full|high)(?: "
     r"beam)?\s*$", r"\g<a> beam dead, \g<b> beam \g<y>"),
    (("fast ", "quick ", "slow ", "fast,", "quick,"),
     rf"^\s*(?:(?:the )?(?:indicators?|winkers?|flashers?|blinkers?)|flash(?:es|ing)?|blinks?) (?P<x>(?:too "
     rf")?(?:fast|quick|quickly|slow|fine|normal|ok|okay|good)) (?:on |to )?(?:the )?(?P<a>{SIDE}),? (?:but |and "
     rf")?(?P<y>(?:too )?(?:fast|quick|quickly|slow|fine|normal|ok|"
     rf"okay|good)) (?:on |to )?(?:the )?(?P<b>{SIDE})\s*$", r"\g<a> indicators \g<x>, \g<b> indicators \g<y>"),
    (("sit there", "sits there", "sit on"), r"\b(?:just )?sits? (?:there|on)\b(?: lit| on)?", "stay on steady"),
    ((" glow",), r"(?<!a )(?<!the )\b(?:dim|faint|weak|slight|feeble) glow\b(?! (?:from|in the))",
     "glows"),
    (("bump", "pothole", "rough"),
     r"^\s*(?:the )?(?:bumps|bumpy roads?|potholes|rough roads?|rough ground) (?:puts?|makes?|knocks?|sends?|"
     r"causes?) (?P<who>(?:the |my )?(?!it\b|them\b)[^,]+?) (?:to )?(?P<how>out|off|flicker|go out|go off|cut "
     r"out)\s*$", r"\g<who> \g<how> over "
     r"bumps"),
    ((" otherwise ",), r"(?P<look>\b(?:dim|dead|out|weak|faint|poor|dull|dark|flickering)),? (?:but )?otherwise "
     r"(?:all |everything(?:'s| is)? |it's (?:all )?)?(?P<good>ok|okay|fine|good|all "
     r"right)\s*$", r"\g<look>, everything else \g<good>"),
    (("stay on", "stay lit"), r"\b(?:won't|will not|doesn't|does not|don't|do not) stay (?:on|lit)\b", "keeps going "
     "out"),
    (("brightness", "brilliance"), r"\blos(?:e|es|ing) (?:their |its |some (?:of (?:their|its) )?|a bit of "
     r")?(?:brightness|brilliance)\b",
     "go dim"),
    ((" there",), r"(?P<who>\b(?:beams?|mains?|dips?|full|lights?|lamps?|tails?|stops?|indicators?|ones?))(?:'s|'re| "
     r"is| are)? (?:still |all )?there(?= *(?:$|,| but\b))", r"\g<who> works"),
    # How fast the indicators go.
    (("rate", "speed"),
     r"\b(?:the )?(?:indicators?'? |winkers?'? )?(?:flash(?:ing|er|ers)?|blink(?:ing|er|ers)?|wink(?:ing|er|ers)?|"
     r"indicators?)(?:'s?)? (?:rate|speed)s?(?: (?P<where>(?:on |to |at )(?:the )?"
     rf"{SIDE}))?(?: is| are| goes|'s)? (?:(?:too|very|far|much|way|up|really) )*(?P<how>fast|quick|high|up|slow|low|"
     rf"normal|fine|ok|okay|double|doubled|doubles)(?:er|ly)?\b", r"indicators \g<where> \g<how>"),
    (("rate", "speed"),
     r"\bindicators +(?P<where>(?:(?:on |to |at )(?:the )?\w+/?\w*(?: ?side)? )?)(?:high|up|doubled?|doubles)\b",
     r"indicators \g<where>fast"),
    (("flash", "blink", "wink", "tick"),
     rf"(?P<before>^|, |\bbut |\band )(?:the )?(?P<s>{SIDE})(?:[ -]hand)?(?: side| ones?)? (?P<does>flash|blink|wink|"
     rf"tick)(?:es|s)?\b(?! (?:light|lamp|rate))", r"\g<before>\g<s> indicators \g<does>"),
    ((" than ", " as "),
     rf"\b(?:(?:much|a lot|far|way|twice as|a bit|double as) )*(?P<how>fast|quick|slow)(?:er|ly)? (?:than|as) (?:on "
     rf")?(?:the )?(?:{SIDE}|other)(?:[ -]hand)?(?: side| ones?)?(?= *(?:$|,))", r"\g<how>"),
    (("indicating", "signal"),
     r"(?P<before>^|, |\bbut |\band )(?:indicating|signalling|signaling) (?:to the )?(?P<s>left|right)(?: is| it's| "
     r"it is|'s| works)? (?P<how>(?:(?:too|very|all|far|much|really) )*(?:fast|quick|slow|fine|ok|okay|good|all "
     r"right|normal|dead|steady)\b)", r"\g<before>\g<s> indicators \g<how>"),
    # "Come on but no flash".
    (("no flash", "no blink", "no wink"),
     r"\b(?P<on>lights?(?: up)?|comes? on|lit|burns?|glows?|shines?|shows?),? (?:but |and |with |yet )?(?:there(?:'s|"
     r" is) )?no (?:flash|blink|wink)(?:ing)?\b", r"\g<on> and does not flash"),
    (("no flash", "no blink", "no wink"),
     r"(?P<before>^|, |\bbut )(?:there(?:'s| is) )?no (?:flash|blink|wink)(?:ing)? (?:from|on|of|out of|in) (?:the |"
     r"my |either )?(?:any of |either of |all of )?(?:the )?(?P<who>(?!left$|right$)[\w/ -]+?)(?= *(?:$|, (?!they|it|"
     r"just)| when\b))",
     r"\g<before>\g<who> does not flash"),
    # A light is dipped: it grows weak.
    (("dip",),
     r"(?P<who>\b(?:tail|back|rear|side|brake|stop|all|the) ?(?:lights|lamps)|\b(?:tails|sides|lights))(?P<just> "
     r"just| all| both| also)? dip(?: down)?(?= *(?:$|,| (?:when|with|whenever|every|each|as|in|if|"
     r"while)\b))", r"\g<who> go dim"),
    (("give", "get"),
     r"\b(?:gives?|giving|gets?)(?: off| out)? (?:(?:just|only|off|out) )*(?:a |the )?(?:(?:bit of a|tiny|slight|"
     r"little|weak|feeble) )*(?P<faint>(?:faint |dim )?)(?P<how>glow|glimmer)\b(?! from)", r"\g<how>s"),
    (("poorer", "worse"), rf"\b(?:poorer|worse|less bright) than (?=(?:on )?(?:the )?(?:{SIDE}|other))", "dimmer "
     "than "),
    (("as bright as",), rf"\b(?:isn't|aren't|is not|are not|not)(?: nearly| quite| half)? as bright as (?=(?:on "
     rf")?(?:the )?(?:{SIDE}|other))", "is dimmer than "),
    (("bumps", "potholes", "rough road"),
     r"(?:,? (?:and |but )?)(?:the )?(?P<what>bumps|potholes|rough roads?) (?:makes? (?:it|them) (?:go out|cut out|"
     r"flicker|go off|worse)|sets? (?:it|them) off|upsets? (?:it|them)|brings? it on|do(?:es)? it)",
     r" over \g<what>"),
    # Of what is heard.
    (("sound", "peep", "noise", "squeak", "murmur", "toot", "hoot", "beep", "honk", "thing"),
     r"\b(?:not a|not even a|without a|no) (?:single )?(?:sound|peep|noise|squeak|murmur|whisper|thing|toot|hoot|"
     r"beep|honk)(?: comes out)?(?: at all)? (?:from|out of) (?:the |my )?(?P<who>horn|hooter|buzzer|"
     r"bell)\b", r"\g<who> dead"),
    (("sound", "peep", "noise", "squeak", "murmur"),
     r"\b(?P<who>horn|hooter|buzzer|bell) (?:(?:does not|doesn't|won't|will not|never|can't) (?:make|give|utter)s?|"
     r"makes|gives)(?: me)? (?:a|any|no|not a|so much as a)(?: single)? (?:sound|peep|noise|squeak|"
     r"murmur)\b", r"\g<who> dead"),
    (("sound", "hoot", "honk", "beep", "toot", "blow"),
     rf"\b(?P<who>horn|hooter|buzzer|bell) (?:{_NO}|not) (?:sound|hoot|honk|beep|toot|blow)(?:ing|s)?\b", r"\g<who> "
     r"dead"),
    (("horn", "hooter"), r"\b(?P<who>horn|hooter) (?:button|push) (?P<does>does nothing|dead|is dead|does not work|"
     r"doesn't work|doesn't do anything)", r"\g<who> dead"),
    (("never",), r"\bnever (?P<does>does|do)(?= *(?:$|,))", r"\g<does>n't"),
    (("no flash", "no blink", "no wink"),
     r"\b(?P<on>(?:stays?|just|solid|lit|on)),? (?:but |and )?(?:with )?no (?:flash|blink|wink)(?:ing)?(?= *(?:$|,))",
     r"\g<on> and does not flash"),
    (("though", "mind", "innit", "tho"), r",? (?:though|tho|mind|mind you|innit)\s*$", ""),
    ((" all",), r",? (?:an'|and) all\s*$", ""),
    (("can't get", "cannot get", "couldn't get", "can not get"),
     r"\b(?:i |we )?(?:can't|cannot|can not|couldn't) get (?:any of |either of )?(?P<who>[^,]+?) to (?P<does>go"
     r"|work|come on|light(?: up)?|shine|do anything|flash|blink)(?P<where>(?: (?:at|on|in) the \w+)?)\b(?= *(?:$"
     r"|,| but\b| and\b))",
     r"\g<who>\g<where> doesn't work"),
    ((" go", " goes"),
     r"\b(?P<who>horn|hazards?(?: lights)?|indicators?|winkers?|wipers?|blower|buzzer|bleeper) (?:still "
     r")?go(?:es)?(?= *(?:$|,| but\b))", r"\g<who> works"),
    (("whole", "entire"),
     rf"\b(?:the )?(?:whole|entire) (?:of the )?(?P<place>(?:{SIDE}|rear|back|front)(?:[ -]hand)?(?: (?:{SIDE}"
     rf"|rear|"
     r"back|front))?)(?: end| side| lot)?\b(?! ?(?:cluster|unit|lamp|light|indicator|tail|stop|brake|head))",
     r"everything at the \g<place>"),
    (("dimmer",),
     r"\b(?:panel |dash |dashboard )?dimmer (?:does nothing|does not work|doesn't work|has no effect|dead|is dead"
     r"|won't work)\b", "panel lights don't dim"),
    (("only",),
     r"^(?P<who>.+?) (?:works?|comes? on|lights?(?: up)?) (?:with|on|from|off|by) the (?P<which>front|rear|back"
     r"|foot|hand) brake(?: pedal| lever)? only\s*$", r"\g<who> only works with the \g<which> brake"),
    (("led",), r"\bLED (?=(?:brake|stop|tail|indicator|winker|side|fog|revers\w+|rear|bulb|lamp|light|unit|"
     r"number|plate|marker)s?\b)", ""),
    (("running",), r"\brunning (?P<what>light|lamp)s\b", r"side \g<what>s and tail \g<what>s"),
    (("running",), r"\brunning (?P<what>light|lamp)\b", r"side and tail \g<what>s"),
    (("board",), r"\b(?P<what>trailer|caravan) (?:light(?:ing)? )?board\b", r"\g<what>"),
    (("road l",), r"\broad (?=(?:lights|lamps)\b)", ""),
    (("burn",), r"\b(?:is |are |has |have )?burn(?:ed|t)[ -]out\b", "is dead"),
    (("flash",),
     r"(?:(?<=^)|(?<=but )|(?<=and )|(?<=, )|(?<=though ))(?:the )?(?:head ?(?:light|lamp) )?flash(?:er|ing)? "
     r"(?:of )?(?=(?:main|full|high)(?: beams?)? (?:works?|is|does|comes|ok|fine|dead)\b)", ""),
    # How bright.
    (("nearly", "almost", "all but", "practically", "virtually", "pretty much"),
     r"\b(?:nearly|almost|all but|practically|virtually|pretty much|pretty well) (?:go(?:es)?|going|went) (?:right "
     r"|completely )?(?:out|off|dead|dark)\b", "goes faint"),
    (("nearly", "almost", "all but", "practically", "virtually", "pretty much", "as good as"),
     r"\b(?:nearly|almost|all but|practically|virtually|pretty much|as good as) (?:dead|dark)\b", "faint"),
    (("bright", "differen"),
     rf"\b{_BRAKES} {_NO} (?:make|get|turn)s? (?:it|them|(?:the )?(?:tail|rear)(?: ?(?:light|lamp))?s?|any)?(?: any| "
     r"much| no)? ?(?:brighter|difference)\b", "brake light dead"),
    (("bright",),
     rf"\b(?P<who>(?:the |my |both |{SIDE} |rear )*)(?:tail|side|rear)?(?: ?(?:light|lamp))?(?P<s>s?) {_NO} "
     rf"(?:get|go|come|"
     rf"become|burn|shine|turn|glow)(?: up| on)?(?: any| much)? brighter,? "
     rf"{_ON_BRAKE}", r"\g<who>brake light\g<s> dead"),
    (("bright",),
     rf"\b(?P<who>(?:brake|stop)(?: ?(?:light|lamp))?s?(?: (?:on|at) the {SIDE})?) (?:{_NO}|is no|are no)(?: "
     rf"(?:get|go|"
     r"come|make|look|shine|burn|turn|seem))?(?: any| much)? brighter than (?:the |a )?(?:tail|side)(?: ?(?:light"
     r"|lamp))?s?\s*$", r"\g<who> is dim"),
    ((" right ",),
     r"\b(?P<does>dim(?:s|med)?|go(?:es)?|went|drops?|fades?|dies?|die|cuts?) right (?P<how>down|off|out|away|"
     r"back)\b", r"\g<does> \g<how>"),
    (("rev",),
     r"\b(?:gets?|go(?:es)?|go|is|are) bright(?:er)? (?:when|if|as) (?:i |you |we |it's |it is )?rev(?:s|ved|"
     r"ving)?(?: it"
     r"| the engine| up| her)*,? (?:and|but) (?:it )?(?:goes |go |gets? |is |are )?dim(?:mer|s)? (?:at|on|when) "
     r"(?:idle|idling|tick ?over|ticking over)\b", "dim, brightens when revved"),
    (("stops ",),  # the lamps, and not that something stops: nothing stops ok
     r"(?P<before>(?:^\s*|[,;] |\bbut |\band )(?:the |both |all )*)stops (?=(?:are |is |both |all )*"
     r"(?:ok|okay|fine|good|all right|normal|dim|weak|faint|dull|bright|perfect|work"
     r"|on(?= *(?:$|,| (?:permanently|constantly|continuously|all the time))))\b)", r"\g<before>stop lights "),
    (("stops ",),
     r"(?P<before>^\s*|\b(?:ok|okay|fine|good|normal|all right|works?|working|dim|faint)(?:,| but|, but|, and| and) )"
     r"stops (?=(?:are |both |all )*(?:dead|out|not working)\b(?! slow))", r"\g<before>stop lights "),
    (("second", "third", "fourth", "fifth"),
     r",? (?:that's |it's )?(?:the |my )?(?:second|third|fourth|fifth) (?:bulb|one|lamp) (?:this|in a|in as many) "
     r"(?:week|month|year|weeks|months)\s*$", ""),
    (("hi beam", "hi-beam", "hibeam"), r"\bhi[ -]?beam\b", "high beam"),
    (("lose ", "loses ", "losing "),
     rf"(?:^\s*|(?<=, ))(?:i |you |we |he |she |it )?(?:lose|loses|am losing|keep losing) {_LOST} "
     r"(?=when|whenever|if|as soon as|once|with|every time)", r"\g<who> go out "),
    (("lost ",),
     rf"(?:^\s*|(?<=, ))(?:i've |i have |we've |we have |it's |it has |has )?lost {_LOST}(?: on both(?: sides)?| "
     rf"both sides)?(?= *(?:$|,| but\b| and\b))",
     r"\g<who> dead"),
    (("all ",),
     rf"(?P<start>^\s*|, |\bbut |\band )all (?P<look>dim|dull|weak|dead|out|good|fine|ok|okay|normal) (?P<at>on|at) "
     rf"the (?P<where>{_PLACE})(?: ends?| sides?)?(?= *(?:$|,| but\b| and\b))",
     r"\g<start>everything \g<at> the \g<where> \g<look>"),
    # Which do, and so which do not.
    (("nothing ", "no light "),
     rf"{_THERE}(?:nothing|no light)(?: at all| whatsoever)?(?: (?:lit|working))? (?:at|on|in|from|out of) (?:the "
     rf"|my )?(?P<where>{_PLACE})(?: ends?| sides?| lamps| lights)?(?= *(?:$|,| but\b(?! the (?:front|rear|back) "
     r"is\b)| and (?:the )?(?:front|rear|back|left|right)))",
     r"everything at the \g<where> dead"),
    (("nothing ", "no light "),
     rf"{_THERE}(?:nothing|no light)(?: at all| whatsoever)? (?:from|out of) (?:the |my |either |both )?"
     r"(?P<who>[\w /-]+?(?:lamps?|lights?|beams?|indicators?))(?= *(?:$|,| but\b))", r"\g<who> dead"),
    (("can't get", "cannot get", "couldn't get", "can not get"),
     r"\b(?:i |we )?(?:can't|cannot|can not|couldn't) get (?:any |a )?(?P<who>(?:main|full|high|dipped|low) beam|dip|"
     r"(?:[\w/-]+ ){0,3}?(?:lights?|lamps?|indicators?|hazards|horn|fogs?|winkers?))(?= *(?:$|,| but\b| and\b| "
     rf"(?:on|at) the (?:{_PLACE})))", r"no \g<who>"),
    (("except", "apart from", "bar ", "other than", "but not"),
     rf"^\s*(?:the )?(?P<where>{_PLACE})(?: ends?| sides?)?(?P<of> (?:of|on) the (?:trailer|caravan|car))?"
     rf"(?: (?:is|are|all))* (?P<look>dead|out|off|gone|dark),? {_BAR} (?:the |a )?"
     rf"(?P<who>(?!{_PLACE}(?: ones?| side)?$)[\w /-]+)$",
     r"everything at the \g<where>\g<of> \g<look>, \g<who> works"),
    (("nothing ",),
     r"\bnothing (?P<does>works?|lights(?: up)?|comes on|flashes|burns) (?P<where>(?:on|at|in) (?:the |my "
     rf")?(?:trailer|caravan|{_PLACE})\b(?:(?: side| end| corner)?(?: lamp| light)?(?: cluster| unit)?(?: (?:of|on) "
     rf"the (?:trailer|caravan|car))?(?= *(?:$|,| but| and))|(?! (?:light|lamp|indicator|tail|stop|brake|of|"
     r"on))))", r"nothing \g<where> \g<does>"),
    (("except", "apart from", "bar ", "other than", "but not"),
     r"^(?P<all>(?:(?!\b(?:no|nothing|none|not|neither|everything|all)\b).)+? (?:works?|working|ok|okay|fine|good"
     r"|flash(?:es)?|lit|"
     rf"light up|come on|normal)),? {_BAR} (?:the )?(?P<who>{_PLACE})(?: ones?| side)?\s*$",
     r"\g<all> but the \g<who> one does not"),
    (("except", "apart from", "bar ", "other than"),
     r"^(?P<all>(?:(?!\b(?:nothing|everything|all)\b).)+? (?:dead|out|off|gone|dark|not working|(?:don't|doesn't"
     r"|won't) (?:work|"
     rf"flash|light|come on))),? {_BAR} (?:the )?(?P<who>{_PLACE})(?: ones?| side)?\s*$",
     r"\g<all> but the \g<who> one works"),
    (("only one", "just one"),
     r"^\s*(?:i've |i have |there's |there is |got )*(?:only|just) one (?P<who>(?:\w+ ){0,2}(?:light|lamp|indicator|"
     rf"beam))(?: works| working)?,? (?:and )?(?:it's|that's|which is|it is|that is) the (?P<side>{SIDE})(?: one"
     r"| side)?\s*$", r"only the \g<side> \g<who> works"),
    (("the only ",),
     rf"^\s*(?:the )?(?P<who>{SIDE} (?:(?:rear|front) )?(?P<what>\w+))(?: light| lamp)?(?: is|'s) the only (?P=what)"
     r"(?: (?:light|lamp)s?)? (?:working|(?:that )?works|lit|on|that lights|left)\s*$",
     r"only the \g<who> light works"),
    (("the only ",),
     r"^(?P<who>.+?)(?: is|'s) the only (?:one|light|lamp)(?: that(?:'s| is)?| which)? (?:working"
     r"|works|lit|on|lights|lights up|comes on|flash\w*|left)\s*$", r"\g<who> works, the others dead"),
    (("one side",),
     r"(?P<start>^|, |\bbut |\band )(?P<who>(?!no |only )(?:(?!\bbut\b|\band\b)[^,.])+?) (?:(?:is|are|works?"
     r"|working|lit|lights|flash(?:es)?) )*(?:only (?:(?:works?|lit|flash(?:es)?) )?(?:on |at |down )?(?:the "
     r")?one side|(?:on |at |down )?one side only)\s*$",
     r"\g<start>one \g<who> dead"),
    (("get ", "got ", "there's", "there is", "there are", "have "),
     rf"^\s*(?:i|we|you|he|she|it|there)(?:'ve|'s| is| are| do| does)? ?(?:still )?(?:get|gets|got|have got|has "
     rf"got|have)? (?P<who>(?!no |none|nothing|only |neither |a |an |some |been |had )(?:(?:on|at) (?=the )"
     rf"|(?!{_TELLS})[\w'/-]+ )*?(?!{_TELLS})[\w'/-]+)(?P<rest>,? (?:but|and|yet) (?:no|not|nothing|none) "
     rf"(?!(?:when|with|if|in|on) "
     rf"(?!the {SIDE})).+)$", r"\g<who> works\g<rest>"),
    (("got it", "got one", "got them", "has it"),
     r"(?P<but>,? but )(?P<who>(?:the |my )?(?:car|trailer|caravan|van|tractor|lorry|left|right|other)(?: one| "
     r"side)?)(?:'s| has)(?: got)? (?:it|one|them)\s*$", r"\g<but>\g<who> works"),
    (("outer",), r"\b(?:the )?outer (?:ones|two|pair)\b", "the others"),
    (("outside",),
     r"^(?P<said>.*\b(?:dash|green|tell-?tale|warning)\b.*\b(?:indicat|signal|flash|blink|wink)\w*.*?)\b(?:(?:lights|"
     r"lamps|ones|indicators) outside|outside (?:lights|lamps|ones))\b", r"\g<said>indicators"),
    (("dash", "instrument"),
     r"(?P<who>\b[\w -]+? (?:light|lamp|tell-?tale)) (?:on|in|at) the (?:dash|dashboard|instruments)(?P<rest>,? "
     r"but no .+)$", r"\g<who> on the dash is lit\g<rest>"),
    # Which brake, and which beam, whatever the switch says.
    (("back brake",),
     r"\b(?P<with>(?:with|on|from|off|by|use|using|pull|press|apply|only) (?:the |my )?)back brake\b",
     r"\g<with>rear brake"),
    (("head",),
     rf"\b(?P<side>(?:{SIDE} )?)head ?(?:light|lamp)(?P<s>s?) (?:works?|is (?:fine|ok|on)|are (?:fine|ok|on)"
     rf"|comes? on|fine"
     r"|ok) on (?P<one>main|full|high|dip|dipped|low)(?: beam)?,? (?:but|and) (?:(?:there's|there is|it's got|has"
     r"|it has|i get|is|it's) )?(?:no|not on|nothing on|dead on|not) (?P<two>main|full|high|dip|dipped|low)(?: "
     r"beam)?\b",
     r"\g<side>\g<one> beam\g<s> works, \g<side>\g<two> beam\g<s> dead"),
    (("only", "just"),
     rf"^(?P<all>.*?\bhead ?(?:light|lamp)s?) (?:(?:are|is) )?(?:ok|fine|good|work) on (?P<one>main|full|high|dip"
     rf"|dipped|low)(?: beam)?,? (?:but |and )?(?:only|just) (?:the )?(?P<side>{SIDE}|driver'?s'?(?: side)?"
     rf"|passenger'?s'?"
     r"(?: side)?)(?: one| side)? (?:(?:works? )?on|works on) (?P<two>main|full|high|dip|dipped|low)(?: beam)?\s*$",
     r"\g<one> beams work, only the \g<side> \g<two> beam works"),
    (("dip",),
     r"^\s*(?:the |my )?(?:foot )?dip(?:per)? ?switch (?:does nothing|does not work|doesn't work|is dead|dead"
     r"|has no effect|won't work|not working|is stuck|stuck),? (?:and |it's |they're |the |my |head ?(?:lights?"
     r"|lamps?) )*(?:are |is )?(?:always|stays?|stuck|permanently)(?: stuck)? (?:on|in) (?:main|full|high)(?: "
     r"beam)?\s*$",
     "main beam stays on with dipped beam on, dipped beam dead"),
    (("with", "when"),
     r"(?P<who>\b(?P<side>left|right) (?:(?:front|rear|hand|side) )*(?:indicators?|winkers?|blinkers?|repeater))"
     r"(?P<does> (?:flash(?:es)?|blinks?|comes? on|lights? up|glows?|winks?)(?: as well| too)?) (?:(?:in time )?with|"
     r"along with) the (?P<other>(?!(?P=side))(?:left|right))(?: ones?| side| indicators?)?\s*$",
     r"\g<who>\g<does> when I signal \g<other>"),
    (("fridge", "refrigerator"),
     rf"\b(?P<what>fridge|refrigerator) (?:{_NO}|never|not)(?: (?:get|getting|stay|staying|go|going|keep|keeping|run|"
     r"running|be))? (?:cold|cool)(?: enough)?\b", r"\g<what> doesn't work"),
    (("stalk", "lever", "column"),
     r"^(?P<said>.*\b(?:indicators?|winkers?|blinkers?|flashers?)\b.* (?:works?|flash\w*|fine|ok|okay) .*) (?:with"
     r"|on|from|by|using|via) the (?:indicator )?(?:stalk|column switch|lever)\b", r"\g<said> with the indicators"),
    (("twice", "three", "few", "couple"),
     r"\b(?P<does>flash|blink|wink)(?:es|s)? (?:twice|three times|(?:only |just )?a (?:few|couple of) times|two "
     r"or three times),? (?:and |then |but |it |they )+(?:stops?(?: dead)?|go(?:es)? (?:out|off|dead)|dies?|die|"
     r"packs? "
     r"(?:up|in)|quits?)\s*$",
     "goes out after a while"),
    (("the old ",), r"\bthe old (?:girl|lady|dear|bus|beast|boy)'s ", ""),
    (("cut", "goes out", "go out", "drop"),
     r"\b(?P<out>cuts? out|go(?:es)? out|go out|drops? out) for (?:(?:a|one|half a|a couple of|a few|two) )?(?:split "
     r")?(?:seconds?|moments?|bit|while|instant),? (?:and |then |but |they |it )*(?:comes?|came|are|is|goes) "
     r"(?:back|on)(?: on| again)*\b", r"\g<out> sometimes"),
))
_FUSE_NUMBER: Final = Pattern(
    rf"\bfuses? (?:number )?(?:\d+ and )?(?P<n>{'|'.join(_NUMBERS)})\b(?! ?(?:amps?|sides?|of|ends?|minutes?"
    rf"|times?)\b)", 2)
_FUSES: Final = Pattern(
    r"\bfuses? (?P<one>\d+)(?:,? (?:and|&|or) |, )(?P<two>\d+)\b(?! ?(?:amps?|a)\b| ?(?:minutes?|times?)\b)", 2)


def looks_plainly(text: str) -> str:
    """The sentence with how lamps do in plain words."""
    small, text = text.lower(), put_plainly(text, _ROWS)
    while "fuse" in small and (found := _FUSE_NUMBER.search(text)):
        text = f"{text[: found.start('n')]}{_NUMBERS.index(found['n'].lower()) + 1}{text[found.end('n'):]}"
    return _FUSES.sub(r"fuse \g<one> and fuse \g<two>", text) if "fuse" in small else text
