"""Rows of turns of phrase that tell of a pair, of both sides or of a lamp and its like: "they light but do not
flash", "the reversing lamp there is weak", "fast on the left, normal on the right". Put into the words that are read.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern

HOW: Final = r"(?: (?:very |only |just |ever so )*(?:faint|dim|weak|feeble|dull|a bit|slight|a little)(?:ly)?)"
_TURNING: Final = (
    r"(?P<who>(?:the |my |both |all |trailer |caravan |left |right |front |rear )*(?:indicators?|"
    r"winkers?|blinkers?|flashers?|turn signals?))"
)
_LIT: Final = (r"(?:(?:just |only |all |do |simply )*(?:come on|light(?: up)?|work|stay on|stay lit|burn|glow|go on|"
    r"are "
               r"(?:on|lit|there|steady|just on)|sit there(?: lit)?|on)(?: (?:steady|solid|all right|ok|fine|"
               r"permanently|"
               r"all the time|constantly))*)")
_DENIES: Final = (
    r"(?:do not|don't|won't|will not|never|aren't|are not|not|no|without|refuse to|fail to|stopped)(?: "
    r"any)?"
)
_FLASH: Final = r"(?:flash|blink|wink)(?:es|ing)?"
_BEAM: Final = r"(?:dip|dipped|low|main|full|high)(?: beam)?"
_BEAM_BAD: Final = r"(?:out|dead|off|dark|dim|weak|faint|not working|don't work)"
# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("horn", "hooter", "buzzer"),
     r"\b(?P<who>(?:horn|hooter|buzzer)(?: sometimes| often| just| occasionally)?) stops?(?= "
     r"*(?:$|,)| (?:when|if|with|over|on|as)\b)", r"\g<who> stops working"),
    # They light and do not flash, told of "they" first, or last.
    (("they ",), rf"^\s*they {_LIT},? (?:but |and |yet )?{_TURNING},? (?:but |and |with |just |they )*{_DENIES} "
     rf"{_FLASH}\W*$", r"\g<who> come on but do not flash"),
    (("instead of", "rather than"), rf"^\s*(?:instead of|rather than) {_FLASH},? {_TURNING} {_LIT}\W*$",
     r"\g<who> come on but do not flash"),
    (("instead of", "rather than"), rf"^\s*{_TURNING} {_LIT},? (?:instead of|rather than) {_FLASH}\W*$",
     r"\g<who> come on but do not flash"),
    (("that's it", "that's all", "nothing more", "nothing else"),
     r",? (?:but |and )?(?:that's (?:it|all)|nothing (?:more|else))(?:,| and| -)* (?=(?:no|not|don't|won't|without|"
     r"they don't) "
     r"?(?:flash|blink|wink)\w*)", " and "),
    (("flash", "blink", "wink"), rf"^\s*{_TURNING} (?:just |only |do )?(?:light(?: up)?|come on|burn|glow),? (?:but |"
     rf"and |yet )*"
     rf"(?:they )?{_DENIES} {_FLASH}(?: at all)?\W*$", r"\g<who> come on but do not flash"),
    ((" they go", " it goes"), r", then (?P<off>off|out) (?P<they>they|it) (?P<go>go|goes)\b", r", then \g<they> "
     r"\g<go> \g<off>"),
    (("stay",), r"^(?P<who>(?!.*\b(?:stop|brake)s?\b ?l?)[^,]+?) stays? (?:on|lit|bright)(?: fine| ok)? (?:un|"
     r"')?til+ "
     r"(?=(?:i|you|we|the (?:brake|engine|indicator|light))\b)(?!.*\b(?:off|out|then|and)\b)",
     r"\g<who> works until "),
    (("only one", "just one"),
     rf"^\s*(?:only|just) one (?:of the )?(?P<who>[\w ]+?)s? (?:works?|comes? on|lights?(?: up)?|is lit|lit|is "
     rf"working|on),? "
     rf"(?:and )?(?:it's |that's )?(?:on )?(?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: one| side)?\W*$",
     r"only the \g<side> \g<who> works"),
    (("revers",),
     rf"^\s*(?:in|with|when i|as i|when|on)? ?revers(?:e|ing)(?: in)?(?:,|:)? (?:the )?(?P<side>{SIDE})(?:[ -]hand)? "
     rf"(?:lamp|light|"
     r"one)(?:'s| is)? (?P<look>on|fine|ok|okay|good|works|lit|dim|weak|poor|faint|normal)(?=,| but\b| and\b| "
     r"while\b)",
     r"in reverse, \g<side> reversing light \g<look>"),
    (("foot off", "brake off", "brakes off"),
     r"^\s*(?:foot on(?: the brake)?|brakes? on),? (?P<who>[^,]+?) (?P<how>off|out|dim),? (?:and )?(?:foot|brakes?) "
     r"off(?: (?:the )?"
     r"(?:brake|it))?,? (?:(?:they|it)(?:'re|'s| are| is)? |(?P=who) )?(?:come |comes )?(?:back )?(?:on|bright|fine|"
     r"ok)(?: again)?\W*$",
     r"\g<who> go \g<how> when I brake"),
    (("so much as", "as much as", "even "), r"\b(?:(?:even )?(?:so|as) much as|even) (?=(?:touch|look|press|brake|"
     r"dab|tap|rest)\b)",
     ""),
    (("on dip", "on main", "on low", "on full", "on high"),
     rf"^\s*on (?:the )?(?P<a>{_BEAM}),? (?:both|they)(?:'re| are)? (?P<x>{_BEAM_BAD}),? (?:and |but )?on (?:the "
     rf")?(?P<b>{_BEAM}),? "
     r"(?:both|they)(?:'re| are)? (?:on|lit|fine|ok|good|work)\W*$",
     r"both \g<a> beams \g<x>, both \g<b> beams work"),
    (("on dip", "on main", "on low", "on full", "on high"),
     rf"^\s*on (?:the )?(?P<a>{_BEAM}),? (?:both|they)(?:'re| are)? (?:on|lit|fine|ok|good|work),? (?:and |but )?on "
     rf"(?:the )?(?P<b>"
     rf"{_BEAM}),? (?:both|they)(?:'re| are)? (?P<x>{_BEAM_BAD})\W*$", r"both \g<a> beams work, both \g<b> beams "
     r"\g<x>"),
    (("only", "just"),
     rf"^\s*(?:on )?(?P<a>dip|dipped|low|main|full|high)(?: beam)?(?::| -|,) (?:only|just) (?:the "
     rf")?(?P<s>{SIDE})(?:[ -]hand)?(?: side"
     r"| one)? (?:lights?(?: up)?|works?|comes? on|is lit|is on|on)\W*$", r"only the \g<s> \g<a> beam works"),
    (("nothing", "no light"),
     rf"^\s*(?:nothing|no lights?)(?: works?| lights?)? (?:on|at) the (?P<place>(?:(?:{SIDE}|rear|back|front)(?: "
     rf"hand)?(?: side)? ?)"
     r"{1,2}),? (?:except|but|bar|apart from|other than)(?: for)? (?:the )?(?P<one>tail|stop|brake|indicator|winker|"
     r"reversing|fog)(?: "
     r"?(?:light|lamp))?\W*$", r"everything at the \g<place> dead except the \g<place> \g<one>"),
    ((" ones ",), r"^(?P<a>(?:the |my |all )*(?:car|van|trailer|caravan)(?:'s)? (?:lights|lamps)\b[^,]*), "
     r"(?P<but>but |and )?"
     r"(?:the )?(?P<t>trailer|caravan|car)(?:'s)? ones\b", r"\g<a>, \g<but>\g<t> lights"),
    (("tell", "warning", "dash"),
     r"^(?P<a>(?!.*\b(?:tell|warning|dash)\b.*,)[^,]*\b(?:indicators|winkers|flashers|blinkers)\b[^,]*?),? "
     r"(?P<but>but |and )?(?:the "
     r"|its |their )?(?:tell[- ]?tale|warning (?:light|lamp)|dash(?:board)? (?:light|lamp))(?P<rest> (?:is |does |"
     r"won't |isn't |stays "
     r"|dead|out|not |never |doesn't).*)$", r"\g<a>, \g<but>the indicator tell-tale\g<rest>"),
    ((" they",), r"^\s*(?P<who>(?:the |my |both |all )*[\w ]*?(?:tails|lights|lamps)) (?:are |all "
     r")*(?:fine|ok|okay|good|all right|"
     r"work|on),? (?:but |and |then )*(?P<when>(?:when|as|if|whenever) [^,]*?(?:indicat|signal)\w*(?: left| "
     r"right)?),? they (?:all "
     r"|both )?(?:dip|dim|fade|drop|sink|go (?:down|dim))(?: (?:down|a bit|a little|slightly))*\W*$",
     r"\g<who> go dim \g<when>"),
    (("blow", "pop",
     "goes"), r"\b(?P<f>F\d+|fuse(?: \d+)?) (?P<does>blows|pops|goes) "
     r"(?=(?:braking|reversing|indicating|signalling)\b)",
     r"\g<f> blows when "),
    (("they ",), rf"^\s*they {_LIT},? (?:but |and |yet |just )*(?:they )?{_DENIES} {_FLASH}(?: at all)?\W*$",
     "indicators come on but do not flash"),
    (("permanent", "constant", "always",
     "contin"), rf"^\s*{_TURNING} (?:are |is )?(?:permanently|constantly|always|continuously) (?:lit|"
     r"on) (?=(?:when|while|as|whenever) [^,]*\b(?:indicat|signal))[^,]*$", r"\g<who> come on but do not flash"),
    (("'ve ",
     " have "), r"\b(?P<w>when|whenever|as soon as|once|the moment|if) (?P<i>i|you|we)(?:'ve| have) "
     r"(?P<act>touch|press|push|"
     r"select|brak(?=ed (?:the|,|$))|revers)e?d\b", r"\g<w> \g<i> \g<act>"),
    (("fast", "quick", "rapid"),
     rf"^\s*(?:the )?(?P<a>{SIDE}) (?:flash(?:es)?|blinks?|winks?|goes) (?P<how>(?:too |very "
     rf")?(?:fast|quick|quickly|rapidly))(?: and| "
     rf" but)? (?:the )?(?P<b>{SIDE}) (?:(?:flash(?:es)?|blinks?|winks?|goes|is) "
     rf")?(?P<two>normal|fine|ok|okay|slow|all right)\W*$",
     r"\g<a> indicators \g<how>, \g<b> indicators \g<two>"),
    (("double the",
     "twice the"), rf"\b(?:rate|speed)(?: is|'s)? (?:double|twice) (?:that of )?(?:the )?(?:{SIDE}|other)(?: one| "
     rf"side)?"
     r"(?= *(?:$|,))", "fast"),
    # What a glow is said to be.
    (("it's ", "it is ", "they're "),
     r"\b(?:it's|it is) (?:just |only )?(?:a |an )?(?:(?:dull|dim|faint|weak|slight|tiny) )*(?P<g>glow|glimmer)\b",
     r"it \g<g>s"),
    # Both headlamps, of which only the beam is named.
    ((" on ",),
     r"^\s*(?P<no>both|neither|either)(?: sides?| of them)?(?: are| is)? (?P<look>dead|out|dark|off|dim|weak|faint|"
     r"work|"
     r"works|fail|gone|not working|not lit|come on|comes on|lights?(?: up)?) (?:on|with) (?:the )?(?P<b>dip|dipped|"
     r"low|"
     r"main|full|high)(?: ?beams?)?\W*$", r"\g<no> §\g<b>§ \g<look>"),
    ((" on ",),
     r"^\s*(?:nothing|no lights?)(?: at all)? on (?:the )?(?P<b>dip|dipped|low|main|full|high)(?: ?beams?)?,? (?:on "
     r")?(?:either side|"
     r"both sides|left or right|left and right|right or left)\W*$", r"both §\g<b>§ dead"),
    (("dipped", " dip"), r"\bworks? (?:dipped|on dip)\s*$", "works on dipped beam"),
    # What is dim beside another, in reverse.
    (("there",), r"\b(?P<who>(?:light|lamp|tail|one)s?) there(?= (?:is|are|only|just|dim|weak|faint|glows?|hardly|"
     r"barely"
     r"|poor|flickers?|works?)\b)", r"\g<who> on that side"),
    (("revers", "back up", "backing"),
     rf"(?P<who>\btail(?: ?(?:light|lamp))?s?(?: on the \w+(?: side)?)?) (?:also )?(?:lights(?: up)?|light up|comes? "
     rf"(?:on|up)|"
     rf"shines?|burns?|is lit|lit){HOW}(?= *(?:$|,| and\b| but\b| when\b| in\b| with\b| while\b| if\b))",
     r"\g<who> glows"),
    (("reversing ", "reverse "),
     rf"(?P<start>^\s*|, |\bbut |\band )(?:the )?(?P<side>{SIDE} )?(?:reversing|reverse)(?: one)?(?P<side2> (?:on "
     rf"the "
     rf")?{SIDE})?(?: side)?(?P<s3> one)? (?=(?:is )?(?:fine|ok|okay|good|works|working|all right|normal)\b(?! (?:on|"
     rf"in) "
     rf"the {SIDE}))", r"\g<start>\g<side>reversing light\g<side2> "),
    (("reversing ", "reverse "),
     rf"^\s*(?:the )?(?:reversing|reverse)(?: ?(?:light|lamp))? (?P<good>fine|ok|okay|good|works|on) on the (?P<side>"
     rf"{SIDE})(?:[ -]hand)?(?: side)?(?=,)", r"\g<side> reversing light \g<good>"),
    (("back", "revers"), r"\b(?:as|when|while|whenever|whilst) (?:i|you|we|she|he)(?:'m|'re|'s| am| are| is)? "
     r"back(?:s|ing)? up\b", "in reverse"),
    (("revers", "backing"),
     r"^\s*(?:backing up|reversing|(?:going|putting it|shifting) into reverse|(?:selecting|engaging) reverse|"
     r"reverse(?: gear)?) "
     r"(?:also )?(?:lights(?: up)?|brings (?:on|up)|puts on|turns on|makes) (?P<who>(?:the |my )?[^,]*?\btail(?: "
     r"?(?:light|lamp)"
     r"s?)?(?: on the \w+)?)(?: (?:glow|light(?: up)?|come on))?(?P<how> (?:very |just |only )?(?:faintly|dimly|"
     r"weakly|a bit|"
     r"slightly|up))*(?P<rest>,? (?:and|but|with) .+)$", r"in reverse, \g<who> glows\g<rest>"),
    (("revers", "backing"),
     r"^\s*(?:i get )?(?:nothing|no light|dead) (?:from|on|out of) (?P<a>(?:the |my )?[^,]*?\btail(?: ?(?:light|"
     r"lamp))?),? "
     r"(?:except(?: for)?|but|apart from|bar|other than) (?:for )?(?:a |the )?(?:\w+ )?(?:glow|glimmer|flicker)s? "
     r"(?:in|when|"
     r"with|on) .*(?:revers|back)\w*.*$", r"\g<a> only glows in reverse"),
    (("away",), r"\b(?P<does>(?:flicker|glow|flash|blink|wink|tick|blar)(?:ing|s)) away\b", r"\g<does>"),
    (("light", "come", "shin"),
     r"(?P<who>\b(?:indicators?|winkers?|blinkers?|flashers?)(?: on the \w+(?: side)?)?) (?:lights?(?: up)?|comes? "
     r"(?:on|up)|"
     rf"shines?){HOW} (?P<w>when|whenever|every time|each time|as|if|with|under|on) (?=[^,]*\bbrak)", r"\g<who> "
     r"glows \g<w> "),
    (("winkers on", "indicators on", "indicator on", "blinkers on", "flashers on", "hazards on", "brakes on", "brake "
     "on"),
     r"^\s*(?:the )?(?P<what>(?:left |right )?(?:winkers?|indicators?|blinkers?|flashers?|hazards|brakes?)) "
     r"on(?P<sep>,| and|:| "
     r"-) (?=(?:the |both |all |my |rear )?(?:tails?|lights|back|rear)\b)", r"with the \g<what> on, "),
    (("indicating", "signalling", "signaling"), r"^\s*(?P<s>left|right) (?:indicating|signall?ing)\b", r"indicating "
     r"\g<s>"),
    # How fast they go, side by side.
    (("fast", "quick", "rapid", "slow"),
     rf"^\s*(?P<how>(?:too |very )?(?:fast|quick|rapid|slow|double speed)) (?:flash(?:ing|es)?|blink(?:ing|s)?|"
     rf"wink(?:ing|s)?|tick(?:ing|s)?|"
     rf"click(?:ing|s)?)(?: (?:on|to))?(?: the)? (?P<a>{SIDE})(?:[ -]hand)?(?: side)?,? (?:but |and )?(?P<two>normal|"
     rf"fine|ok|"
     rf"okay|good|slow|all right)(?: (?:on|to))?(?: the)? (?P<b>{SIDE})(?:[ -]hand)?(?: side)?\W*$",
     r"\g<a> indicators \g<how>, \g<b> indicators \g<two>"),
    (("fast", "quick", "rapid", "slow", "double"),
     rf"^\s*(?P<how>(?:too |very )?(?:fast|quick|rapid|slow|double speed|double)) (?:flash(?:ing|es)?|blink(?:ing|"
     rf"s)?|wink(?:ing|s)?|"
     rf"tick(?:ing|s)?|click(?:ing|s)?)(?: (?:on|to))?(?: the)? (?P<a>{SIDE})(?:[ -]hand)?(?: side)?,? (?:but |and "
     rf")?(?:the )?(?P<b>"
     rf"{SIDE})(?:[ -]hand)?(?: side)?(?: is|'s)? (?P<two>normal|fine|ok|okay|good|all right)\W*$",
     r"\g<a> indicators \g<how>, \g<b> indicators \g<two>"),
    (("fast", "quick", "rapid", "mad", "slow", "double"),
     rf"\b(?P<s>{SIDE})(?:[ -]hand)? (?:signal|side|turn)s? (?=(?:is |goes |flash\w* |blink\w* |wink\w* |tick\w* "
     rf")*(?:too |very "
     r"|far |much )*(?:fast|quick|rapid|slow|double|normal))", r"\g<s> indicators "),
    (("fast", "quick", "rapid", "mad", "slow", "double"),
     r"\b(?:indicating|signalling|signaling|turning) (?:to the )?(?P<s>left|right)(?: side)?,? (?:is|it|it's|goes|"
     r"they|"
     r"flash\w*|blink\w*|ticks?|does|go|works?) (?:goes |is |go )?(?P<how>(?:(?:too|very|all|far|much|really|way|at) "
     r")*"
     r"(?:fast|quick|quickly|rapid|rapidly|slow|slowly|double speed|double quick|like mad)\b)",
     r"\g<s> indicators \g<how>"),
    (("signal", "indicat"), r"(?P<start>^\s*|, |\bbut |\band )(?:signal|indicate|turn) (?P<s>left|right) (?=(?:is|"
     r"goes|flashes|too|"
     r"very|fine|ok|normal|fast)\b)", r"\g<start>\g<s> indicators "),
    (("fast", "quick", "rapid", "mad", "slow", "double", "clappers"),
     r"^\s*(?:it |they )?(?P<does>flash|blink|wink|tick|click|go)(?:es|s)? (?P<how>(?:(?:too|very|far|much|really|"
     r"way) )*(?:fast|"
     r"quick|quickly|rapid|rapidly|slow|slowly|double speed|like mad|like the clappers)) (?=(?:when|with|if|on|"
     r"while) [^,]*\b(?:"
     r"indicat|signal|wink|turn))", r"indicators flash \g<how> "),
    (("speed", "rate", "pace"), r"\b(?:at )?(?:a |the )?(?:normal|usual|right|proper|correct) (?:speed|rate|pace)\b",
     "normal"),
    (("clicking", "ticking", "click", "tick"),
     r"\b(?P<what>clicking|ticking|click|tick) (?:is |goes )(?:(?:far|much|way|really|very) )*too (?:rapid|quick|"
     r"fast)\b",
     r"\g<what> is too fast"),
    # With each flash.
    (("flash", "blink", "wink", "pulse", "tick", "indicator"),
     r"^\s*(?:each|every) (?:flash|blink|wink|pulse|tick|click)(?: (?:of|from) (?:the |an? )?(?:\w+ )?(?:indicators?|"
     r"winkers?|"
     r"flashers?|blinkers?))?,? (?:makes?|causes|sends|takes|pulls|dims|dips|drops)?,? ?(?P<who>(?:the |my |all |"
     r"both )*[\w ]*?"
     r"(?:lights|lamps|tails|tail)) ?(?:to )?(?:(?:go|get|goes) )?(?:dim(?:mer|s)?|dips?|fades?|down|drops?|low|"
     r"dull)?(?: (?:down|"
     r"a (?:bit|little|touch)|slightly))*\W*$", r"\g<who> go dim with the indicators on"),
    (("flash", "blink", "wink", "indicat"),
     r"\b(?:(?:go|get)(?:es|s)? )?(?:bright(?:en|er)?s?(?: up)? and (?:then )?(?:dim(?:mer)?s?|dull|fades?)|"
     r"dim(?:mer)?s? and (?:"
     r"then )?bright(?:en|er)?s?(?: up)?|up and down)(?: again)?(?= (?:with|in time|when|as|"
     r"whenever)\b[^,]*\b(?:flash|blink|"
     r"wink|indicat))", "go dim"),
    (("flash", "blink", "wink", "pulse", "tick"),
     r"\b(?:with|at|on|for|every time|each time)? ?(?:each|every) (?:flash|blink|wink|pulse|tick|click)(?: (?:of|"
     r"from) "
     r"(?:the |an? )?(?:indicators?|winkers?|flashers?|blinkers?))?\s*$", " §flash"),
    (("flash", "blink", "wink", "pulse", "tick"), r"^(?=.*\b(?:indicat|signal|wink|turn signal|blink|hazard|"
     r"flasher)\w*)(?P<a>.*?),? +§flash$", r"\g<a> with each flash"),
    (("flash", "blink", "wink", "pulse", "tick"), " +§flash", " with the indicators on"),
    (("each ", "every ", "indicat", "signal", "wink", "hazard", "flasher"),
     r"(?P<who>\b(?:lights|lamps|tails|tail|light|lamp)(?: on the \w+)?) (?:all |both )?(?:(?:go(?:es)? "
     r"down|dips?|"
     r"drops?"
     r"|sinks?|go(?:es)? (?:a bit |slightly |a little )(?:dim|down|low)(?:mer)?)(?: down)?|(?:dims?|fades?)(?= (?:a |"
     r"slight|some)))"
     r"(?: (?:a (?:bit|little|touch|tad|fraction)|slightly|somewhat))*(?= (?:with|when|while|whenever|in time|as|"
     r"every|"
     r"each)\b|\s*$)", r"\g<who> go dim"),
))
