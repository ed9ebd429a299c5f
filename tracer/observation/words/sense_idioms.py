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
_ONE: Final = (
    rf"(?:{_LAMPS}|(?:\w+ ){{0,3}}?(?:lamp|light|beam|horn|indicator|fan|blower|wipers?|fridge|buzzer|tail|stop"
    rf"|dip|main))"
)
_VEHICLE: Final = r"(?:car|trailer|caravan|van|tractor|lorry|truck|pickup|bike)"

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # What is on first, and no comma after it.
    (("blower", "wiper", "work", "heater"),
     r"^\s*when(?:ever)? (?:the |my )?(?P<what>(?:heater )?(?:blower|fan)|heater|wipers?|work ?(?:light|lamp)s?) "
     r"(?:is|are) (?:on|going|running),? "
     r"(?=(?:the|my|both|all|left|right|head|tail|side|dash|panel|dip|main|stop|brake|indicator)\w*\b)",
     r"with the \g<what> on, "),
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
    (("matter",), r",? (?:and |but )?(?:the |my )?[\w ]+? (?:doesn't|don't|does not|do not) matter\s*$", ""),
    (("'s on", "'s off", "'s running"), r"\b(?P<who>ignition|key|engine)'s (?P<pos>on|off|running)\b",
     r"\g<who> is \g<pos>"),
    (("running",),
     r"\b(?P<w>when|while|once|with) (?:she|it|he)(?:'s| is) running\b",
     r"\g<w> the engine is running"),
    (("same day", "same time", "same week"), rf",? (?:on |at )?the same (?:day|week){_END}", ""),
    (("whatever", "makes no odds", "makes no difference"),
     r",? (?:whatever|no matter what) (?:i|you|we) do(?: with .+)?$|,? (?:and |but )?(?:the )?(?:dip ?|light "
     r")?(?:switch|"
     r"dipper) makes no (?:odds|difference)\s*$", ""),
    (("after i", "after you", "after we", "after it's", "after parking"),
     r",? (?:even )?(?:(?:about |half )?(?:an?|two|three|several|some) )?(?:hours?|minutes|ages|mins|long)? ?after "
     r"(?:(?:i|you|we)(?:'ve)? |it's |it is |it has been )?(?:parked?|parking|locked|stopped|walked away|left)(?: "
     r"it| her| up"
     r"| the \w+)*\s*$", " with everything off"),
    (("on and off",), r"\b(?:go|goes|going|come|comes|coming) on and off (?=with|in time|when|as)", "flash "),
    (("no power",),
     r"\bno (?:power|feed|volts|juice) (?:to|at) (?:anything|any of the (?:lights|lamps)) (?=on|at|in)",
     "nothing works "),
    (("reverse light", "reversing light"), rf"\bwith the revers(?:e|ing) lights?{_END}", "in reverse"),
    (("brighter", "bright"),
     r"\b(?:go(?:es)?|gets?|comes?) bright(?:er)? when (?:i |you )?(?:let off|let go(?: of)?|releas(?:e|ing)|come off"
     r"|take my "
     r"foot off) the brakes?(?: pedal)?\b", "goes dim when I brake"),
    (("revving",), r"^\s*revving (?:it |her |up |the engine |it up )*makes? (?P<rest>.+)$", r"\g<rest> when revved"),
    (("than they should", "than it should", "than normal", "than usual"),
     r"\bbrighter than (?:they|it) should(?: be)?\b|\bbrighter than (?:normal|usual)\b", "too bright"),
    (("on dip", "on main", "on low", "on high", "on full"),
     rf"^(?:the )?(?P<a>{SIDE}) head ?(?:light|lamp) (?P<x>[\w' ]+?) on (?P<b1>dip|main|low|high|full)(?: "
     rf"beam)?,? (?:and "
     rf"|but )?(?:the )?(?P<b>{SIDE})(?: one)? (?P<y>[\w' ]+?) on (?P<b2>dip|main|low|high|full)(?: beam)?\s*$",
     r"\g<a> \g<b1> beam \g<x>, \g<b> \g<b2> beam \g<y>"),
    (("only",), rf"^(?:the )?(?P<who>{_LAMPS}) only,? (?:and |but )?(?=no |none|nothing|neither)", r"\g<who> work, "),
    (("three", "3 "),
     r"^(?:the )?(?P<who>hazards?(?: lights)?|indicators|winkers|blinkers|flashers) (?:only )?(?:flash|work|light"
     r"|blink)s? "
     r"(?:only )?(?:on |at |in )?(?:the )?(?:three|3)(?: (?:corners?|lamps|lights|of (?:the )?(?:four|them"
     r"|4)))?,? (?:and "
     r"|but )?(?:the )?(?P<x>[^,]+?)(?:'s| is)? (?:dead|out|not working|missing|doesn't|won't)\s*$",
     r"\g<who> work except the \g<x>"),
    (("no ",),
     r"^\s*no (?P<who>[^,]+?) (?P<w1>(?:when|with) [^,]+?)(?:,|,? (?:but|though|yet)) (?:(?:they|it)(?:'re|'s| are"
     r"| is)? )?"
     r"(?:work|works|do|does|come on|comes on|light|lights|fine|ok|okay|good|all right) (?P<w2>(?:on|with|when) .+)$",
     r"\g<who> dead \g<w1>. \g<who> do work \g<w2>"),
    (("do work on",), r"\bdo work on (?:the )?(?P<what>parkers|sides|sidelights|parking lights|dip|main)\s*$",
     r"do work with \g<what> on"),
    (("nothing on", "none on"),
     rf"(?P<a>\b(?:works?|fine|ok|okay|good) on the {_VEHICLE}),? (?:but |and )?(?:nothing|none) on the "
     rf"(?P<v>{_VEHICLE})\s*$", r"\g<a>, the \g<v> does not"),
    ((" out ", " ok ", " dead ", " fine ", " dim "),
     rf"\b(?P<look>out|ok|okay|dead|fine|dim|good) (?=(?:{SIDE}) (?:out|ok|okay|dead|fine|dim"
     rf"|good)\b)", r"\g<look>, "),
    ((" both ",), rf"\b(?P<s>{SIDE}) both (?P<g>ok|okay|good|fine|dead|out|dim|work\w*){_END}", r"\g<s> \g<g>"),
    (("goes", " go"),
     rf"\b(?P<w>when|while|as|whenever) (?:the |my )?(?P<x>(?:{SIDE} )?(?:indicator|winker|blinker|flasher"
     rf"|hazard)s?) "
     rf"go(?:es)?{_END}", r"\g<w> \g<x> on"),
    (("works the", "brings on the", "sets off the", "operates the"),
     r"^(?:the )?(?P<s>left|right) (?:front |rear |back )?(?P<i>indicator|winker|blinker|flasher) (?:works|brings "
     r"on|sets off|"
     r"operates) the (?P<who>(?:left|right) [\w ]*?)(?: ?\bones?)?(?: as well| too)?\s*$",
     r"\g<who> \g<i> flashes when \g<s> \g<i> on"),
    (("no ",),
     r"(?P<a>\bno (?:\w+ )?(?:\w*lights|\w*lamps|indicators|winkers|blinkers|flashers|hazards|horn|tails|stops"
     r"|brakes|dips?|"
     r"mains?|beams?)) no (?=\w)", r"\g<a>, no "),
    ((" only",),
     rf"^(?P<who>.+?) (?P<bad>(?:is |are )?(?:dead|out|dim|faint|weak|flickering|flickers)) (?:on |at )?(?:the "
     rf")?(?P<s>{SIDE})"
     r"(?: side)? only\s*$", r"\g<s> \g<who> \g<bad>, the other one fine"),
    (("stops",),
     rf"\b(?P<q>both|all|the) stops\b(?=,| (?:go|come|are|glow|work|flash|stay|dim|light|and|dead|out)\b|{_END})",
     r"\g<q> stop lights"),
    ((" but ",),
     r"^(?P<all>.*\b(?:everything|all|nothing)\b[^,]*?\b(?:dead|out|works?|off|fine|ok|okay|gone|working)) but "
     r"(?:for )?(?:the "
     r"|my )?(?P<x>(?:(?!\b(?:no|not|is|are|works?|ok|okay|fine|dead|out|dim|doesn't|don't|won't|does|do|on|when"
     r"|with|it|they|"
     r"that|good|faint|lit|go(?:es)?|comes?|flash\w*|stays?|flickers?)\b)[\w -])+)$", r"\g<all> except the \g<x>"),
    (("hoot", "honk", "beep", "toot"),
     rf"\b(?:when|whenever|if|as) (?:i |you |he |she )(?:hoot|honk|beep|toot)s?{_END}", "with the horn on"),
    (("turns", "puts", "brings", "switches"),
     r"^\s*(?:pressing|touching|pushing|using|putting on) (?:on )?(?:the |my )?(?:foot ?)?brakes?(?: pedal)? "
     r"(?:turns|puts|brings|"
     r"switches) (?:on )?(?P<who>(?:the |my )?[\w ]+?)(?: on)?\s*$", r"\g<who> come on when I brake"),
    ((" after ", " once "),
     r"\b(?P<on>stays? (?:on|lit)|on|lit) (?:even )?(?:after|once) (?:i've |i |you've |you )?(?:brak(?:ing|ed)|"
     r"(?:using|touching) the "
     r"brakes?)(?= *(?:$|,))", r"\g<on>"),
    (("and stay", "then stay"),
     r"^(?P<a>(?!.*\b(?:indicat|wink|blink|flash|signal|traffic|turn)\w*\b).*?)(?:comes? on|lights?(?: up)?) (?:and|"
     r"then|and then) (?:just )?stays? (?:lit|on)\b(?! steady| solid)", r"\g<a>stays on"),
    (("and stay", "then stay"),
     r"(?:comes? on|lights?(?: up)?) (?:and|then|and then) (?:just )?stays? (?:lit|on)\b(?! steady| "
     r"solid)", "stay on steady"),
    (("so's",), r"\bso's (?=the|my|its|that)", "so is "),
    (("as bright",),
     r"\b(?:(?:only |about )?half|not|nowhere near|nothing like|barely half|a quarter) as bright as (?:(?:they|it) "
     r"(?:used to be|were|was|should be|ought to be|did)|before|usual|normal|ever)\b", "dim"),
    (("switch off", "turn off", "switched off", "turned off"),
     rf"\b(?P<on>stays? (?:on|lit)|on|lit|going) (?:even )?(?:after|when|once) (?:i |you |i've |you've )?(?:switch"
     rf"|turn)"
     rf"(?:ed)? off{_END}", r"\g<on>"),
    (("everything but", "everything except", "everything bar"),
     r"\bdo(?:es)? everything (?:but|except|bar) ", "work except "),
    (("without ",), r"\bwithout (?:any )?(?:flash|blink|wink)(?:ing|es)?\b", "and does not flash"),
    (("stay",),
     r"\b(?P<who>(?:indicator|winker|blinker|flasher)s? stays? )(?:lit|on)\b(?! steady| solid)(?=,? .*\bflash)",
     r"\g<who>on steady"),
    # The one thing at the one end or side, and another at the other.
    (("front", "back", "rear", "left", "right", "side"),
     rf"^(?:the |my )?(?P<who>{_LAMPS}|indicator|winker|blinker|flasher) (?P<one>(?:are |is )?[\w' ]+?) (?:at|on"
     rf"|to|for|in) "
     rf"(?:the )?(?P<a>front|back|rear|{SIDE})(?: side)?,? (?:but |and |yet )(?:they |it )?(?P<two>(?:are |is )?"
     rf"(?!on |at |not |dead |none|nothing|nowt|no )[\w' ]+?) (?:at|on|to|for|in) (?:the )?(?P<b>front|back|rear"
     rf"|{SIDE})(?: side)?\s*$",
     r"\g<a> \g<who> \g<one>, \g<b> \g<who> \g<two>"),
    (("left", "right"),
     r"^(?:the |my )?(?P<who>indicators?|winkers?|blinkers?|flashers?) (?P<one>(?:are |is )?[\w' ]+?) (?:on|to"
     r"|for) (?:the "
     r")?(?P<a>left|right),? (?:but |and |yet )?(?:on|to|for) (?:the )?(?P<b>left|right),? (?:it|they)(?:'s|'re)? "
     r"(?P<two>.+)$", r"\g<a> \g<who> \g<one>, \g<b> \g<who> \g<two>"),
    (("both", "all"),
     rf"^(?:the |my )?(?P<s>{SIDE}) (?:indicator|winker|blinker|flasher|signal)s? (?:flash(?:es)?|blinks?|lights?"
     rf"|works?|"
     r"brings? on|puts? on|makes?) (?:both(?: sides)?|all four|all of them|all the (?:indicators|winkers|blinkers|"
     r"flashers)|the lot)(?: flash| blink)?\s*$", r"all indicators flash when \g<s> indicator on"),
    (("with ", "when "),
     r"^(?P<who>.+?) (?P<good>(?:are |is )?(?:ok|okay|fine|good|dead|out|dim|all right)|works?) (?P<w1>(?:with"
     r"|when) "
     r"[^,]+? (?:on|off|running|stopped)),? (?:but |and )?(?P<w2>(?:with|when) [^,]+? (?:on|off|running|stopped)),? "
     r"(?:it|they)(?:'re|'s| are| is)? (?P<bad>.+)$", r"\g<who> \g<good> \g<w1>. \g<who> \g<bad> \g<w2>"),
    (("with ", "when "),
     rf"^(?P<who>(?:the |my )?{_ONE}) (?P<good>[\w ]+?) (?P<w1>(?:with|when) [^,]+? (?:on|off|running"
     rf"|stopped)),? (?:but |and "
     r")?(?:they |it )?(?P<bad>(?:go|goes|are|is|get|gets|work|works|dead|dim|flash|don't|doesn't|won't)\b[^,]*?) "
     r"(?P<w2>(?:with|when) .+? (?:on|off|running|stopped))$", r"\g<who> \g<good> \g<w1>. \g<who> \g<bad> \g<w2>"),
    (("lever", "pedal", "brake"),
     r"(?P<one>\b(?:with|by|from|off|on) (?:the |my )?(?:\w+ )?(?:lever|pedal|brake))(?:,? but|,? and|,) (?:the "
     r"|my )?"
     r"(?P<two>(?:front|rear|back|foot|hand) (?:brake )?(?:lever|pedal|brake)|brake (?:pedal|lever)|pedal|lever) "
     r"(?:does nothing|does nowt|doesn't(?: do anything)?|won't|does not)\s*$", r"\g<one>, not with the \g<two>"),
    (("lever ", "pedal ", "brake "),
     r"^(?:the |my )?(?P<one>(?:\w+ )?(?:lever|pedal|brake)) (?:works|puts on|brings on|lights|operates) the "
     r"(?P<who>(?:brake|"
     r"stop) (?:light|lamp)s?)(?:,? but|,? and|,) (?:not )?(?:the |my )?(?P<two>(?:\w+ )?(?:lever|pedal|brake))"
     r"(?: (?:doesn't|does nothing|does not|won't))?\s*$", r"\g<who> works with the \g<one>, not with the \g<two>"),
    (("nothing ", "no light"),
     r"^(?P<a>.*?\b(?P<f>fog|indicator|brake|stop|tail|side|reversing|reverse)\b.*?\b(?:tell-?tale|warning"
     r"|dash)\b.*?),? "
     r"but (?:there's |there is )?(?:nothing|no light)(?: at all)? (?:at|on|in) the (?P<where>back|rear|front)\s*$",
     r"\g<a>, \g<f> lights at the \g<where> dead"),
    (("on dash", "on the dash"),
     r"(?P<who>\b(?:warning|tell-?tale)(?: light| lamp)?) on (?:the )?dash(?:board)?(?=, .*\bdead\s*$)",
     r"\g<who> works"),
    (("or not",), r"(?P<on>\b(?:on|lit|works?|dead|out|off|dim)),? (?:if|whether) [^,.]+? or not\s*$", r"\g<on>"),
    # "While" between two that do otherwise.
    (("while", "whilst", "whereas"),
     rf",? (?:while|whilst|whereas) (?=(?:the |its |my )?(?:{SIDE}|front|rear|back|other)\b(?!.*\b(?:on|going|"
     rf"pressed|lit|open"
     r"|running)\s*$))", ", "),
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
    (("idl", "tickover", "tick over", "ticking over"),
     r"(?P<a>\b(?:fine|ok|okay|good|bright|normal|all right)) (?:when|while|once) (?:i'm |we're |it's )?(?:driving|"
     r"moving|on "
     r"the move|going along)(?: along)?(?= *(?:$|,))", r"\g<a> when revved"),
    (("dim ", "weak ", "dull ", "faint ", "poor "),
     r"^(?P<look>dim|weak|dull|faint|poor) (?P<who>(?:\w+ )?(?:lights|lamps|headlights|headlamps|tails|indicators)) "
     r"(?=unless|un'?till?|'?till?|except)", r"\g<who> \g<look> "),
    # The only time that it does anything.
    (("only time",),
     r"^(?:the )?only time (?P<who>(?:the |my )?[\w/ -]+?) (?:does|shows|gives|ever does) (?:anything|something|a "
     r"light|any light)(?: at all)? is (?P<when>(?:in |when |with |on |under |while )?[^,]+?)(?:,? (?:and |but "
     r")?(?:(?:then|when|where) )?(?:(?:it|that)(?:'s)? )?"
     r"(?:just |only )?(?P<what>(?:a )?(?:faint |dim )?(?:glow|glimmer|flicker)\w*|dim\w*|faint\w*|lights?(?: up)?|"
     r"comes on)(?: then)?)?\s*$", r"\g<who> glows \g<when>, never any other time"),
    (("the only time",),
     r"^(?P<when>reverse|in reverse|braking|under braking) is the only time (?P<who>(?:the |my )?[\w/ -]+?) "
     r"(?P<does>glows?|lights?(?: up)?|comes on|works?|does "
     r"anything)\s*$", r"\g<who> \g<does> in \g<when>, never any other time"),
    (("in in ", "in braking", "in under"), r"\bin (?:in (?=reverse)|(?=under)|(?=braking))", "in "),
    (("glows reverse",), r"\bglows reverse\b", "glows in reverse"),
    (("brake or no brake",), r",? (?:with )?brakes? or no brakes?\b", ""),
    # Unless.
    (("unless", "til", "except"),
     rf"^(?P<no>no )?(?P<who>(?:(?<=no )(?!.*\bunless it\b)|(?<!no )).+?)(?(no)| (?:{_DEAD}|never (?:lights?(?: up)?|"
     rf"works?|comes? on)))(?: at all)?,? (?:unless|un'?till?|'?till?|except(?: when)?) (?P<when>[^,]+?),? (?:(?:and|"
     r"but) )?(?:even )?(?:then|when|where) (?:(?:it|they)(?:'s| is|'re| are)? )?(?:(?:just|only|merely|but) "
     r")*(?P<what>.+)$",
     r"\g<who> dead. \g<who> \g<what> when \g<when>"),
    (("unless",),
     rf"^(?P<who>.+?) {_STAYS},? unless (?:i |you |we )?(?:turn|switch|put|knock) (?:off (?P<a>[\w /]+)|"
     r"(?P<b>[\w /]+) off)$", r"\g<who> stays on with \g<a>\g<b> on"),
    (("unless",), rf"^(?P<who>.+?) {_STAYS},? unless (?P<when>.+)$",
     r"\g<who> stays on. \g<who> goes out when \g<when>"),
    (("unless", "without me"), rf"^(?P<who>.+?) {_DEAD},? (?:unless|without me) (?P<when>{_TOUCH})$",
     r"\g<who> works when \g<when>"),
    (("unless",), r"^\s*(?:there's |there are |i've |i have |got )*no (?P<who>[^,]+?),? unless (?P<when>.+)$",
     r"\g<who> only works when \g<when>"),
    (("unless",), rf"^(?P<who>.+?) {_DEAD},? unless (?P<when>.+)$", r"\g<who> only works when \g<when>"),
    (("unless", "til"), rf"^(?P<who>.+?) (?P<look>{_WEAK}),? (?:unless|un'?till?|'?till?) (?P<when>.+)$",
     r"\g<who> \g<look>, brightens when \g<when>"),
    (("unless",),
     r"^(?P<who>.+?) (?P<good>works?(?: fine| ok)?|(?:is |are )?(?:fine|ok|okay|good|all right)),? unless "
     r"(?P<when>.+)$", r"\g<who> \g<good> until \g<when>"),
    ((" dead", " out", " off"),
     r"^(?P<who>.+?) (?:is |are )?(?:dead|out|off),? (?:and |but )?(?:it |they )?(?:only (?:works?|comes? on"
     r"|lights?)|"
     r"(?:works?|comes? on|lights?) only) (?P<when>(?:when|if|with|while) .+)$", r"\g<who> only works \g<when>"),
    # Some of several, and all of them.
    ((" one", " 1"),
     rf"^(?:the |my |all )*(?P<who>{_LAMPS}) (?:(?:are|is|all) )*(?P<look>out|dead|dim|gone|off|not working|dark),? "
     r"(?:all )?(?:but|bar|except(?: for)?|apart from) (?:one|1)(?: of them)?\s*$", r"some of the \g<who> \g<look>"),
    (("one ",),
     rf"\bone (?P<who>(?:(?!of\b)[\w-]+ ?){{1,3}}?) (?P<look>(?:is |has )?(?:out|dead|dim|faint|gone|not working"
     rf"|flickering|"
     rf"fast|slow|bright)),? (?:and )?(?:(?:it's |that's |it is )?(?:on )?the )?(?P<side>{SIDE})(?: one| "
     rf"side)?{_END}",
     r"\g<side> \g<who> \g<look>"),
    (("all ",),
     rf"^(?P<first>(?:nothing|everything|all)\b[^,]*), (?:but )?(?:the )?(?P<s>{SIDE})(?: (?P<e>front|rear|back))?"
     r"(?:[ -]hand)?(?: wing| side| end| corner)? (?:is |are )?all (?P<g>fine|ok|okay|good|working|dead|out)\s*$",
     r"\g<first>, everything on the \g<s> \g<e> \g<g>"),
    (("of the", "of my", "out of"),
     rf"^(?P<who>{_LAMPS})[,:]? (?P<few>one|{_FEW}) (?:of|out of) (?:the |them )?(?:{_MANY} )?(?:of them )?(?:is "
     rf"|are )?"
     rf"(?=(?:out|dead|dim|gone|off|not|dark|faint)\b)", r"\g<few> of the \g<who> "),
    (("one of", "one out of"), rf"^(?P<who>{_LAMPS})[,:]? one (?:of|out of) (?:the )?(?:{_MANY}|them) ",
     r"one of the \g<who> "),
    ((" of ",), rf"\b{_FEW} (?:out )?of (?:the |my |its )?(?:{_MANY} )?(?={_LAMPS}\b)", "some of the "),
    (("two ",), rf"(?P<the>^|, |\b(?:and|but) )(?:the|my) two (?={_LAMPS}\b)", r"\g<the>both "),
    (("the only ",),
     r"^(?:the )?(?P<who>.+?)(?: is|'s) the only (?P<what>one|light|lamp|indicator|winker|blinker|bulb)"
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


# "With the engine running, mad with it off".
_THING: Final = Pattern(
    r"\b(?:with|when) (?:the |my )?(?P<thing>engine|ignition|key|(?:\w* ?)lights|hazards|fogs|blower|wipers)(?: "
    r"(?:is|are|isn't))? (?:switched |turned )?(?:on|off|running|stopped|not running|going)\b", 2)
_PRONOUN: Final = Pattern(
    r"\b(?P<w>with|when|while|once|if) (?:it|them|they|she)(?:'s|'re| is| are|'s been)? (?P<pos>on|off|running|"
    r"stopped|not running|runs|going|turning(?: over)?|starts|started)\b", 2)
_GOING: Final = Pattern(r"\bengine(?:'s| is)? (?:going|turning over|ticking along)\b", 2)
_RUNS: Final = Pattern(r"\bengine (?:runs|going|turning(?: over)?|starts|started)\b", 2)


def sense_plainly(text: str) -> str:
    """The sentence with what holds, and what does not, in plain words."""
    text = _GOING.sub("engine running", text)
    found = _THING.search(text)
    if found:
        rest = _PRONOUN.sub(rf"\g<w> the {found['thing']} \g<pos>", text[found.end():])
        rest = _RUNS.sub("engine running", rest)
        text = text[: found.end()] + rest
    return put_plainly(text, _ROWS)
