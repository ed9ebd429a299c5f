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
    r"winkers?|beams?|dip|hazards|sides))"
)
_NUMBERS: Final = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("never",), r"\bnever (?P<does>does|do)(?= *(?:$|,))", r"\g<does>n't"),
    (("no flash",), r"\b(?P<on>(?:stays?|just|solid|lit|on)),? (?:but |and )?(?:with )?no flash(?:ing)?(?= *(?:$|,))",
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
     r"back|front))?)(?: end| side| cluster| unit| lot)?\b(?! ?(?:lamp|light|indicator|tail|stop|brake|head))",
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
     r"\b(?:nearly|almost|all but|practically|virtually|pretty much|pretty well) (?:goes?|going|went) (?:right "
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
     r"\b(?:gets?|goes?|go|is|are) bright(?:er)? (?:when|if|as) (?:i |you |we |it's |it is )?rev(?:s|ved|ving)?(?: it"
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
     rf"(?:^\s*|(?<=, ))(?:i've |i have |we've |we have |it's |it has |has )?lost {_LOST}(?= *(?:$|,| but\b| and\b))",
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
     r")?(?:trailer|"
     rf"caravan|{_PLACE}))\b(?! (?:light|lamp|indicator|tail|stop|brake))", r"nothing \g<where> \g<does>"),
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
     r"or three times),? (?:and |then |but |it |they )+(?:stops?(?: dead)?|goes? (?:out|off|dead)|dies?|die|packs? "
     r"(?:up|in)|quits?)\s*$",
     "goes out after a while"),
    (("the old ",), r"\bthe old (?:girl|lady|dear|bus|beast|boy)'s ", ""),
    (("cut", "goes out", "go out", "drop"),
     r"\b(?P<out>cuts? out|goes? out|go out|drops? out) for (?:(?:a|one|half a|a couple of|a few|two) )?(?:split "
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
