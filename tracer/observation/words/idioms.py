"""Turns of phrase that people use for plain things, put into the words that are read: "when it feels like it" is
sometimes, "till" is until, "with it", after something that was switched on, is with that.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

_END: Final = r"(?= *(?:$|[,.;]))"
_IT: Final = r"(?:it|they|that|he|she)"
_NUMBER: Final = (
    r"(?:about |around |roughly )?(?:\d+|a|an|one|two|three|four|five|six|ten|fifteen|twenty|thirty|a few|some|"
    r"several|half an|a couple of|a quarter of an) ?(?:odd |or so |good )?"
)
_TURNING: Final = r"(?:(?:i'm |i am |i |you |we |he |she )?(?:turn|turns|turning|move|moves|moving|swing|swinging) )"
_STEERED: Final = r"(?:steering(?: wheel)?|wheel|bars|handle ?bars?|forks)"
_PEDAL: Final = r"(?P<which>foot|hand|front|rear|back) ?(?:brake )?(?:pedal|lever|brake)"
_WHO: Final = (  # what a fuse is named by
    r"(?:(?!(?:when|with|if|and|the|a|an|its|my|that|new|every|another|as|once|each|out|through|up|fuses?)\b)"
    r"[\w/-]+ )"
)
_ANY_FUSE: Final = rf"(?:fuse F?\d+|F\d+|{_WHO}{{0,3}}fuse(?: F?\d+)?)"
_FED: Final = (
    r"(?:\w+ ){0,3}?(?:lights?|lamps?|beams?|fogs?|brakes?|indicators?|hazards?|horn|wipers?|blower|fan|heater|pump|"
    r"buzzer|fridge|radio|plate)"
)
_AGAIN: Final = r"(?:again|twice|three times|\w+ times|every time|each time)"
_FUSE: Final = (
    r"(?:the |a |my |its )?fuse (?P<does>blew|blows|has blown|is blown|keeps blowing|keeps going|went|popped)"
)

# In this order; each with what it is put into.
_ROWS: Final = tuple((Pattern(said, 2), plain) for said, plain in (
    (r"[’`´]", "'"),
    # What is no part of the complaint: a greeting, words that only fill, whose complaint it is.
    (r"^\s*(?:(?:hi|hiya|hello|hey|howya|howdy|g'?day|good (?:morning|evening|afternoon)|yeah|so|well)"
     r"(?: (?:mate|lads?|there|guys|folks|boss))?\b[,! ]+)+(?=\S+ \S)", ""),
    (r"^\s*(?:the )?(?:cust(?:omer)?|driver|owner|client|operator)s?\.? (?:states?|stated|advises?|advised|c/o|"
     r"complains of|complaining of|complaint)(?: that)?:?,? +(?=\S)", ""),
    (r"\b(?:basically|literally|to be honest|tbh|honestly|obviously|kinda|you know)\b,? ?", ""),
    (r"\bthe (?:very )?(?:second|minute|instant)(?: that)?(?= (?:i|i'm|you|we|he|she|they|it|the|my|someone)\b)",
     "as soon as"),
    (r"\b(?:un)?'?till?\b(?= )", "until"),
    (r"(?<!as )\bsoon as\b", "as soon as"),
    # Now and then.
    (rf"\b(?:only )?(?:when|whenever|if|as and when) {_IT} (?:wants?|feels?|likes?|fanc(?:y|ies)|pleases?|chooses?|"
     rf"decides?|is in the mood|are in the mood)(?: to| like it| like)?{_END}", "sometimes"),
    (r"\b(?:has|have|got|with) (?:got )?an? (?:mind|life) of (?:its|their) own\b", "works sometimes"),
    (rf",? ?(?:and |but |then )+{_IT}? ?(?:then )?(?:(?:comes?|came|goes) (?:back|right|good)|works?)"
     rf"(?: on| to life| alive| fine| ok)*(?: again| by (?:itself|themselves)| on (?:its|their) own| later"
     rf"| after a (?:bit|while))+{_END}", " sometimes"),
    (rf",? ?(?:and |but |then )+{_IT}? ?(?:then )?(?:comes?|came) (?:back|right|good)(?: on| to "
     rf"life)*{_END}", " sometimes"),
    (rf"\bafter {_NUMBER}(?:seconds?|secs?|minutes?|mins?|hours?|hrs?|miles?|while|bit)(?: or so| of driving| "
     rf"driving)?\b",
     "after a while"),
    (r"^(?P<the>\s*(?:the |my |both |no |neither )*)dips\b", r"\g<the>dipped beams"),
    (r"\b(?:does|do|did|doing|are doing|is doing) (?:absolutely )?(?:nothing|nowt|naff all|sod all|bugger "
     r"all)\b",
     "dead"),
    (r"\b(?:with|on|at) (?:each|every) flash\b|\b(?:each|every) time (?:it|they) flash(?:es)?\b", "and flashes"),
    (r"(?P<look>\b(?:dim|dull|weak|low|poor|yellow|faint)) (?:at|on|when|while) (?:idle|idling|tick ?over|"
     r"ticking over),? "
     r"(?:but |and )*(?:they're |they are |it's |it is )?(?:fine|ok|okay|bright|normal|good|all right|brighter|"
     r"better) "
     r"(?=(?:when|once|if|with|as soon as) )", r"\g<look>, brightens "),
    (r" (?:on|at) (?:that|the same) (?:side|end)\b", ""),
    (r"(?P<look>(?:is |are )?(?:out|dead|dim|faint|off|gone|not working|flickering|dark)),? (?:and so|as) (?:is|are|"
     r"does|do|has|"
     r"have) (?P<who>(?:the |my )?[^,.]+)", r"\g<look>, \g<who> \g<look>"),
    (r"^(?P<who>.*?\bhead ?(?:light|lamp)s?) (?P<one>(?:is |are )?[\w' ]+?) on (?P<a>dip|dipped|low|main|full|"
     r"high)(?: beam)?,? "
     r"(?:but |and )?(?:is |are )?(?P<two>(?!(?:and|but|(?:the )?(?:left|right|near|off|n/s|o/s|other))\b)[\w' ]+?) "
     r"on (?P<b>dip|dipped|low|main|full|high)(?: beam)?$",
     r"\g<who> \g<a> beam \g<one>, \g<who> \g<b> beam \g<two>"),
    (r"(?<!with )(?<!with the )\b(?P<beam>(?:main|dip(?:ped)?|low|full|high) beam) (?:burns?|lights?(?: up)?|"
     r"comes? on|is (?:on|lit)|on|lit)(?=,)", r"\g<beam> works"),
    (r"\b(?:blows?|blowing|pops?|popping|takes out|taking out) (?P<fuse>fuse (?:no\.? |number )?\d+|F\d+)\b",
     r"\g<fuse> blows"),
    (r"\b(?:when|whenever|if|every time|each time|as soon as) (?:i |you |we |he |she )?(?:hit|press|push|use|sound|"
     r"blow|toot|beep|honk|hoot)(?:s|es|ing)? (?:on )?the horn\b", "with the horn on,"),
    (r"\b(?:\d|two|three|four|five|several|loads of|a few) (?P<f>F\d+)s (?:have |has |are )?(?:gone|blown|popped|"
     r"went)\b", r"\g<f> keeps "
     r"blowing"),
    (r"\b(F\d+|fuse(?: \d+)?) (?:just )?goes (?:pop|bang|phut)\b", r"\1 blows"),
    (r"\b(F\d+|fuse(?: \d+)?) only (?:goes|blows|pops)\b", r"\1 blows"),
    (r"\b(fuse(?: \d+)?|F\d+) go(?:es)?\b(?! (?:in|to|into|on(?! braking))\b)", r"\1 blows"),
    (r"\b(?P<when>when|whenever|once|if|as soon as|after) (?:i |you |we |he |she )?(?:start|fire)(?:s|ed|ing)? "
     r"(?:up )?"
     r"(?:the |my )engine\b|\b(?P<then>when|whenever|once|if|as soon as|after) (?:the |my )?engine (?:starts|fires|"
     r"started|is started|fires up|starts up)\b", r"\g<when>\g<then> the engine is running"),
    (r",? ?\b(?:even )?after (?:switching|turning) (?:it |them |everything |all |the lights )?off\b", ""),
    (r"\b(everything|all)(?: is)? (?:switched|turned) off\b", r"\1 off"),
    (r"\b(all|the|left|right|rear|front|stop|tail|brake|indicator|side|marker|fog) LED(s?)\b(?! (?:lamp|bulb|"
     r"light|unit|"
     r"tester))", r"\1 lamp\2"),
    # What was done with the hand before.
    (r"\b(?:but )?(?:only )?(?:when|whenever|if|unless|as long as|while) (?:i |you |we |he |she )?(?:hold|press|"
     r"squeeze|"
     r"twist|pull|lift|bend|push|wedge|prop)(?:s|ing)? (?:on |in |up |down |against )*(?:the |its |my )?"
     r"(?:\w+ )?(?:bulbs?|wires?|plugs?|lamps?|lens|holders?|connectors?|loom|fuse|unit|cover)(?: (?:in|up|down|over|"
     r"sideways|to one side|hard|firmly))*", "when I move it"),
    (r"\b(?:when|whenever|while|if) (?:i |you )?(?:open|clos|shut|shutt|rais|lower)(?:e|s|es|ed|ing)?"
     r"(?: (?:and|or) (?:open|clos|shut|shutt)(?:e|s|es|ed|ing)?)? (?:the |my )?(?:boot|lid|tailgate|bonnet|hatch)"
     r"(?: lid)?", "when I move it"),
    (r"^\s*(?:if |when )?(?:i |you )?(?:wiggle|tap|slam|thump|hit|knock|bang|shake|move|touch|kick|waggle|"
     r"jiggle|push|twist) "
     r"the (?:\w+ ){1,3}?and (?P<rest>.+?)(?P<end>\.?)$", r"\g<rest> when I move it\g<end>"),
    (r",? ?(?:all |both )?at (?:exactly )?the same time\b(?! as)", ""),
    (r"\b(?:when|if|once|after) (?:i |you |we |he |she )?(?:turn|switch|put)(?:ing)? "
     r"(?:off (?:the |my )?(?:head|side)?\s?(?:lights|lamps)|(?:the |my )?(?:head|side)?\s?(?:lights|lamps) off)",
     "with the lights off"),
    (r"\b(?P<what>fridge|refrigerator)\b(?P<does>.*?) (?:while|when|whilst) driving\b",
     r"\g<what>\g<does> with the engine running"),
    (r" (?:while|when|whilst) driving(?: along)?(?= sometimes\b)", ""),
    # What moves a loom: the steering, the handlebars.
    (rf"\b(?:when|whenever|while|if|as) (?:the |my )?{_STEERED} (?:is |are )?(?:turned|moved|swung)"
     r"(?: (?:to (?:the )?|full(?:y)? |hard )?(?:left|right|full lock|lock))*", "when it is moved"),
    (rf"\b(?:with|when|while) (?:the |my )?{_STEERED} (?:is |are )?(?:turned|over|at|on|hard)(?: (?:to (?:the )?"
     rf"|full(?:y)? "
     r"|hard |over )?(?:left|right|full lock|lock|over))*", "when it is moved"),
    (rf"\b(?:when|whenever|while|if|as) {_TURNING}(?:the |my |your )?{_STEERED}"
     r"(?: (?:to (?:the )?|full(?:y)? |hard |over )?(?:left|right|full lock|lock))*", "when it is moved"),
    (r"^(?P<said>.*\b(?:horn|hooter)\b.*?) (?:when|whenever|if|as) (?:i |you |we |he |she )?turn(?:s|ing)?(?: to "
     r"the)? (?:left|right)\b", r"\g<said> when it is moved"),
    (r"\b(?:on|at) (?:full |hard )?(?:left |right )?lock\b|\b(?:when |while )?(?:going )?(?:round|around) "
     r"(?:corners?|bends?)\b|\b(?:when|whenever|if)(?: i'm| i am| i| you)? corner(?:ing)?\b", "when it is moved"),
    # Which brake.
    (rf"\b(?:only works?|works? only|only comes? on|comes? on only) (?:from|off|by|via|with|on|for) the {_PEDAL}\b",
     r"only works with the \g<which> brake"),
    (rf"\b(?:works?|comes? on) (?:from|off|by|via|on) the {_PEDAL}\b", r"works with the \g<which> brake"),
    (rf"\b(?:from|off|by|via) the {_PEDAL}\b", r"with the \g<which> brake"),
    (r",? (?:and )?that(?:'s| is|s) (?:it|all|that|your lot) *$", ""),
    (r"\b(?:non[ -]?stop|continually)\b", "all the time"),
    # What is heard, and what is not.
    (r"\bno (?:beep|beeping|bleep|bleeping)\b", "no buzzer"),
    (r"\b(?:(?:can|could)(?:'t| ?not)|don't|do not|never|cannot) hear (?:the |any |a )?(?P<who>(?:\w+ ){0,3}?"
     r"(?:relay|flasher|flasher unit|indicators?|blinkers?|winkers?)) (?:click|tick)(?:s|ing)?(?: any ?more| now)?\b",
     r"\g<who> does not click"),
    (r"\b(?:i )?(?:can|could) hear (?:the |a )?(?P<who>(?:\w+ ){0,3}?(?:relay|flasher|flasher unit)) (?:click|tick)"
     r"(?:s|ing)?\b", r"\g<who> clicks"),
    (r"\b(?:there is |there's )?no (?:click|tick)(?:ing)? from (?:the )?(?P<who>(?:\w+ ){0,3}?(?:relay|flasher|"
     r"flasher unit))\b", r"\g<who> does not click"),
    (r"(?<!no )\b(?:a |there is a |there's a )?(?:click|tick)(?:ing)? (?:comes )?from (?:the )?(?P<who>(?:\w+ ){0,3}?"
     r"(?:relay|flasher|flasher unit))\b", r"\g<who> clicks"),
    (r"^(?P<said>.*\b(?:tick|click|flash|blink|wink)\w*\b.*?) when (?:i |you |we )?(?:go|going) (?:to the )?"
     r"(?P<side>left|right)\b", r"\g<said> when indicating \g<side>"),
    (r"\blight (?:in|inside) (?:the |my )?(?:caravan|car|van|cab|camper)\b", "interior light"),
    # Fuses.
    (r"\b(?:car|van|truck|vehicle|tractor|lorry|bike)'s (?:own )?fuse\b", "fuse"),
    # "Three gone since Monday"; but "fuse 2 blown".
    (r"(?<!fuse)(?<!fuses),? (?:\d+|two|three|four|five|several)(?: of them)? (?:gone|blown)(?: now| already"
     r"| so far)?(?= since\b| this\b| in\b|$)", " again"),
    (rf"\bfuse (?:for|of) (?:the |my |its )?(?P<who>{_FED})\b(?! ?(?:lights?|lamps?|beams?)\b)", r"\g<who> fuse"),
    (rf"\b(?P<fuse>{_ANY_FUSE}) (?:(?:just|always) )?(?:lets? go|gives up|won't (?:stay in|hold|last)|(?:does not|"
     r"doesn't|will not|wouldn't) (?:stay in|hold|last))\b(?:(?:, | and )+(?:it )?blows\b)?",
     r"\g<fuse> keeps blowing"),
    (r"\bnew bulbs? (?:just )?(?:blew|blows?|popped|pops|went|goes)(?: straight ?away| at once| again| too)*",
     "bulb keeps blowing"),
    (r"(?:\B#|\b(?:no|nr)\.? |\bnumber ) ?(?P<n>\d+) fuse\b", r"fuse \g<n>"),
    (rf"\b(?:keeps? (?:on )?)?(?:eats?|eating|chews? (?:through|up)|(?:go(?:es)?|going|gets?|getting) through|"
     rf"munches) "
     rf"(?:the |its |my )?(?P<who>{_WHO}{{0,3}})fuses?\b(?: like \w+(?: \w+)?)?", r"\g<who>fuse keeps blowing"),
    (rf"\b(?P<keeps>(?:keeps? (?:on )?)?)(?:blows?|blowing|pop(?:s|ping)|tak(?:es?|ing) out|knock(?:s|ing) out) "
     rf"(?:the |its |my |that )?(?P<who>{_WHO}{{1,3}})fuse\b(?! box)", r"\g<who>fuse \g<keeps>blows"),
    (rf"\b(?:blew|blown|popped|took out) (?:the |its |my |that )?(?P<fuse>fuse \d+|F\d+|{_WHO}{{1,3}}fuse)"
     r"\b(?! box)", r"\g<fuse> blew"),
    (rf",? (?:(?:and|but|it|that|which|only|just|just about) )*lasted (?:only |about |all of |barely )*{_NUMBER}"
     r"(?:seconds?|secs?|minutes?|mins?|hours?|days?|miles?)(?: only)?", " blows after a while"),
    (rf"\b(?P<fuse>{_ANY_FUSE}) (?:(?:has|is|was|had|just|been) )*(?:blown|blew|gone|went|popped)\b[^,.]*[,.]? "
     r"(?:(?:and|so|then|i|we|he|she|they|have|i've) )*(?:put|fitted|stuck|replaced|changed|tried|bunged|popped)"
     r"(?: in)? (?:(?:a|the|another|new|fresh|it|one|fuse|in) ?)+,? (?:(?:and|but|that|it|which|then|'s|has) )*"
     r"(?:blew|blows|blown|gone|goes|went|pops|popped|same)\b(?: one)?(?: again| too| as well)?",
     r"\g<fuse> keeps blowing"),
    (r"(?:\A\s*|(?<=, ))(?:(?:i|we|he|she|they|i've|we've|have|has|had|just|already) )*(?:replaced|changed|renewed|"
     r"swapped|put|fitted|stuck|bunged)(?: in)? (?:(?:a|the|another|new|fresh|different) )*(?:fuse (?:in|for|into) "
     rf"(?:the )?)?(?P<fuse>{_ANY_FUSE})(?: {_AGAIN})?,?(?: (?:and|but|then|it|that|which|has|it's|both|all|"
     r"each|they))* (?:blew|blows?|went|goes|"
     r"gone|popped|pops|blown|melted)\b", r"\g<fuse> blows"),
    (rf"\b(?P<fuse>{_ANY_FUSE}) (?:(?:has|is|was|had|just|been) )*(?:went|gone|blew|blown|popped) (?:\w+ )?"
     rf"{_AGAIN}\b", r"\g<fuse> keeps blowing"),
    (rf"^(?P<who>.*\b(?:fuse|F\d+)\b[^,.]*?) (?:(?:has|have|had) )?(?:blown|blew|gone|went|popped) {_AGAIN}\b",
     r"\g<who> keeps blowing"),
    (r",? (?:that's |this is |it's |that makes )?(?:the |my )?(?:second|third|fourth|fifth|2nd|3rd|4th|5th|two|three|"
     r"four)(?: one| time| fuse)? (?:now|already|today|(?:this|in a|in two|in one) (?:week|month|day|year|weeks))\b",
     " again"),
    (r"\b(?P<fuse>fuse \d+|F\d+|fuse) (?:(?:has|just) )*(?:went|goes|gone) (?:bang|pop|phut)\b", r"\g<fuse> blew"),
    (r"\b(?P<fuse>fuse \d+|F\d+) (?:just )?went\b(?! (?:in|to|into|on))", r"\g<fuse> blew"),
    (r"\b(?:a |the |every )?new (?:fuse|one)s? (?=blows?\b|pops?\b|goes\b|went\b)", "fuse "),
    (rf"^\s*{_FUSE},? (?:and|so|then)?,? ?(?:now )?(?:there (?:is|are) |i (?:have|'ve got) |got )?(?:now )?no "
     r"(?P<who>(?:\w+ ){0,3}(?:lights?|lamps?|indicators?|brakes?|beams?|horn|winkers?|blinkers?))(?: now)?",
     r"\g<who> fuse \g<does>. no \g<who>"),
    (r"^\s*(?P<who>(?:the |my )?(?:\w+ ){0,3}?(?:lights?|lamps?|indicators?|winkers?|blinkers?|hazards?|fogs?|horn)) "
     r"(?:keeps? (?:on )?)?(?:blow(?:s|ing)?|pop(?:s|ping)?|tak(?:es?|ing) out) (?:the |its |a |their |that )?"
     r"fuses?\b", r"\g<who> fuse blows"),
    # What sounds, "goes off", "goes on and on".
    (r"\b(buzzer|bleeper|beeper|sounder|alarm|horn|siren|bell) (?:just )?(?:goes|going|keeps going|keeps) on and "
     r"on\b", r"\1 sounds all the time"),
    (r"\b(?:revers(?:e|ing)|back ?up) (?:alarm|warning)\b(?! (?:light|lamp))", "reversing buzzer"),
    (r"\b(?P<what>trailer|caravan)\b(?P<said>.*?),? (?:but )?with it (?:on|plugged in|hooked up|hitched up|"
     r"connected)\b", r"\g<what>\g<said>, with the \g<what> on,"),
    (r"\b(buzzer|bleeper|beeper|sounder|alarm|horn|siren|bell)((?: \w+)?) (?:goes|go|going|went) off\b", r"\1\2 "
     r"sounds"),
    (r"\bthen (?:it |they )?(?:just )?(?:stops?|quits?|packs? (?:up|in))\b", "then goes out"),
    # Names.
    (r"\b(speedo(?:meter)?|dash(?:board)?|panel|instruments?|gauges?|clocks?) (?:back ?light(?:s|ing)?|illumination|"
     r"lighting)\b", r"\1 light"),
    (r"\bspeedo\b", "speedometer"), (r"\brev(?:olution)? ?counter\b|\btacho\b|\brev clock\b", "tachometer"),
    (r"\b(the other(?: one| side)?)(?: is|'s)? white\b", r"\1 normal"),
    (r"\b(?:when |if |once )?(?:i |you |we |he |she )?(?:plug|plugging|plugged|hitch|hitching|couple|coupling|"
     r"connect|"
     r"connecting)(?: up| in| on)? (?:the |my |a )?(?P<what>trailer|caravan)(?: in| up| on)?(?: and|,)? ",
     r"with the \g<what> plugged in, "),
    (r"\bbulbs? (?:(?:is|are) )?all (?:working|lit|lighting)\b", "all work"),
    (r"\b(?:all|both) (?:of )?(?:the |them )?bulbs? (?:(?:is|are|do|still) )*(?:working|work|lit|light(?: up)?|"
     r"lighting)\b",
     "they all work"),
))
_BAR: Final = r"(?:except(?: for)?|excepting|apart from|bar|other than|with the exception of|save for)"
_EXCEPT: Final = (
    (Pattern(rf"(?P<all>(?:nothing|none of (?:the |its )?(?:lights|lamps)|no (?:lights|lamps)).*?),? {_BAR} "
     rf"(?P<who>[^.]+)", 2),
     r"\g<all>, but \g<who> works"),
    (Pattern(rf"(?P<all>(?:everything|all (?:of )?(?:the |its |my )?(?:others?|lights|lamps|rest)).*?"
             rf"(?:works?|working|ok|okay|fine|good|lit|normal|lights?)),? {_BAR} (?P<who>[^.]+)", 2),
     r"\g<all>, but \g<who> dead"),
)
# "The right indicator flashes the tail lights": these flash with it.
_CAUSES: Final = Pattern(
    r"^\s*(?:the |my |trailer |caravan |car )*(?P<what>(?:(?:left|right) )?(?:indicators?|winkers?|blinkers?|"
    r"hazards?|"
    r"brakes?|brake pedal|side ?lights|head ?lights))(?: switch| stalk)? (?P<does>flash(?:es)?|lights?(?: up)?|"
    r"brings? on|"
    r"turns? on|puts? on|switch(?:es)? on|operates?) (?P<who>(?:the |my |its |trailer |caravan |car |left |"
    r"right |rear |"
    r"front |both )*(?:\w+ )?(?:lights?|lamps?|indicators?|winkers?|tails?|stops?))(?: too| as well)?(?P<instead> "
    r"instead(?: of .+)?)?\s*$", 2)
# "Headlights go dim when I indicate, and flash with it": with what was told before.
_WITH_IT: Final = Pattern(
    r"(?P<before>.*\b(?:when|whenever|with|while|if|as soon as) .+?),? (?P<rest>(?:and|but) .*?) ?(?:in time |"
    r"along )?"
    rf"with (?:it|them|that|those)(?: too| as well)?{_END}", 2)
# "With the lights on and the brakes on the tails go out": where it ends that they are on.
_BOTH_ON: Final = Pattern(r"^((?:with|when) [^,]+? on and [^,]+? on) (?=(?:the (?!brakes?\b|pedal|foot ?brake)|my|"
                          r"left|right|both|all|rear|tail)\b)", 2)


def said_plainly(text: str) -> str:
    """The sentence with its turns of phrase in plain words."""
    for pattern, plain in _ROWS:
        text = pattern.sub(plain, text)
    if found := _WITH_IT.match(text):
        text = f"{found['before']} {found['rest']}{text[found.end():]}"
    for pattern, plain in _EXCEPT:
        text = pattern.sub(plain, text)
    if found := _CAUSES.match(text):
        does = "flash" if found["does"].startswith("flash") else "come on"
        text = f"{found['who']} {does} when {found['what']} on"
        text += f". {found['what']} dead" if found["instead"] else ""
    return _BOTH_ON.sub(r"\1, ", text)
