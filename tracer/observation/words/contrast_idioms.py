"""Turns of phrase that say two things of one lamp, or of two, by one word: "only", "until", "the other stays on", "when
I brake and when I reverse". Put into sentences that say both.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.act_idioms import acts_plainly
from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_FUSE: Final = r"(?:(?:the |a |my |its |that )?(?:[\w-]+ ){0,2}?fuses?(?: (?:no\.? |number )?\d+)?|F\d+)"
_IN_REVERSE: Final = (
    r"(?:(?:in|on|with) (?:\w+ )?revers(?:e|ing)(?: gear)?(?: (?:in|on|engaged|selected))?|(?:when|whenever|with|if|"
    r"while|once|as soon as|every time) (?:(?!and\b|but\b)[\w']+ ){0,4}?(?:revers(?:e|es|ing)|back(?:s|ing)? up)(?: "
    r"gear)?(?: (?:is |goes )?(?:in|on|engaged|selected))?)"
)
_TAIL: Final = (
    rf"(?P<who>(?:(?:the|my|that|both|a|{SIDE}|driver'?s|passenger'?s|[lrno]/?[hs]|rear|back)(?:[ -]hand)?(?: side)? )*"
    r"(?:tails?(?: ?(?:light|lamp)s?)?|(?:rear|back) (?:light|lamp)s?)(?: (?:on|at) the (?:\w+(?:[ -]hand)? )?(?:side|"
    rf"{SIDE}))?)"
)
_HOW: Final = r"(?: (?:very |only |just |ever so )*(?:faint|dim|weak|feeble|dull|a bit|slight|a little)(?:ly)?)"
_GLOWS: Final = (
    rf"(?:(?P<glow>(?:glow|glimmer)s?{_HOW}?|(?:shows?|gives?|gets?)(?: off| out)? (?:only |just )*(?:a |the )?(?:\w+ "
    rf")?(?:glow|glimmer)|(?:lights?(?: up)?|comes? (?:on|up)|shines?|burns?|(?:is |are )?lit){_HOW}|(?:is|are) "
    r"(?:faint|dim)ly lit)|(?P<on>lights?(?: up)?|comes? (?:on|up)|shines?|burns?|(?:is |are )?(?:lit|on))|(?P<flick>"
    r"flickers?))"
)
_ONLY: Final = r"(?:only|just)(?: ever)?"
_NOT: Final = r"(?:never|does not|do not|doesn't|don't|won't|will not)(?: ever)?"
_BAR: Final = (r"(?:except(?:ing)?|unless|until|other than|apart from|but|bar)(?: for)?(?: (?:when|if) (?=in\b))?")
# "Only in reverse", however it is turned: it is dark else.
_ONLY_IN_REVERSE: Final = tuple(Pattern(rf"^\s*{said}\W*$", 2) for said in (
    rf"only {_IN_REVERSE},? (?:does |do |will |is |are )?{_TAIL} {_GLOWS}",
    rf"(?:it's |it is )?only {_IN_REVERSE}(?: that|,) {_TAIL} {_GLOWS}",
    rf"(?:the )?only time(?: that)? {_TAIL} (?:ever )?{_GLOWS} is {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?(?:only|just)(?: ever)? {_GLOWS} {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?(?:{_ONLY} )?{_GLOWS},?(?: -)? (?:and |but )?(?:that's |it's )?only {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?(?:{_ONLY} )?{_GLOWS} {_IN_REVERSE},? (?:and )?only(?: then| there)?",
    rf"{_TAIL} {_NOT} {_GLOWS},? {_BAR} {_IN_REVERSE}",
))
_UNTIL_REVERSE: Final = Pattern(
    rf"^\s*{_TAIL} (?:(?:is |stays |are )?(?:dead|dark|out|off|unlit)|{_NOT} (?:work|light(?: up)?|come on))(?: (?:all the time"
    rf"|always))?,? (?:until|til+|unless|except when|before) (?:\w+ ){{0,4}}?(?:reverse|reversing|backing|back up)(?: gear)?"
    rf"(?: (?:in|on|engaged|selected|is in|goes in))?,? (?:and |but )?(?:then |when )?(?:(?:it|they)(?:'s|'re| is| are)? |"
    rf"there's )?(?:just |only )?(?:a )?(?:(?:dull|dim|faint|weak|slight) )?(?:{_GLOWS}|(?P<dim>dim|faint|dull|weak)(?:ly)?"
    rf"(?: lit)?)\W*$", 2)
_REAR_LIGHT: Final = Pattern(r"\b(?:rear|back) (?=(?:light|lamp))", 2)
# What is well until something is switched on, and then goes out: nothing is said of what else there is.
_ALL: Final = (
    r"(?P<who>(?:all |both |the |my |of |its )*(?:trailer|caravan|car|van)?(?:'s)? ?(?:lights|lamps|lot)(?: (?:on|of) "
    r"(?:the |my )?(?:trailer|caravan))?|everything (?:on|at) (?:the |my )?(?:trailer|caravan|back|rear)"
    r"(?: of the \w+)?)"
)
_WELL: Final = (
    r"(?:(?:is|are|was|were|all|just|perfectly|quite|seem|look|'re|works?|working|(?:stays?|is|are) (?:on|lit)|light"
    r"(?: up)?) ?)*(?:fine|ok|okay|good|normal|all right|alright|perfect|works?|working|well|on|lit|light|there)?"
)
_GOES: Final = (
    r"(?:(?:it|they|the lot|everything|all of them) )?(?:all )?(?:just )?(?P<goes>(?:go(?:es)?|gets?) (?:all )?(?:out|off|"
    r"dim|dark|dead|faint|dull|black|down)|cuts? out|dies?|dims?|fades?|disappears?|vanish(?:es)?|drops? out|packs? up)"
    r"|(?P<off>out|off) (?:it|they) go(?:es)?|(?:and )?(?:then )?(?P<none>nothing|nowt|darkness|blackness|dark|black)"
    r"(?: at all)?"
)
_UNTIL: Final = Pattern(
    rf"^\s*{_ALL} {_WELL},? ?(?:un|')?til+ (?P<when>[^,]+?),? (?:and |but )?(?:then |when )?(?:{_GOES})"
    r"(?: altogether| again| completely)?\W*$", 2)
_UNTIL_OUT: Final = Pattern(
    rf"^\s*{_ALL} (?P<well>{_WELL}),? (?:but )?(?:then )?(?:(?P<i>i|you|we) )(?P<act>[^,]+?)(?:,| and|, and)(?: then)? "
    rf"(?:{_GOES})\W*$", 2)
_BUT_OUT: Final = Pattern(
    rf"^\s*{_ALL} {_WELL},? (?:but|then|and then) (?:they |it |all |just )*(?P<goes>go(?:es)? (?:out|off|dim|dead|dark)|"
    r"cuts? out|dies?|dims?|fades?) (?P<when>(?:when|whenever|as soon as|once|if|with|the moment|under|on) .+)$", 2)
# The other of two, after one that goes out.
_MATE: Final = Pattern(
    rf"^(?P<main>(?=.*\b(?:out|off|dies?|dead|dark|dims?|dim|fades?|faint|vanish\w*|disappear\w*|cuts?)\b)(?=.*\b(?:when"
    r"|with|on|in|under|if|whenever|as|brak\w+|press\w+|revers\w+|indicat\w+|signal\w+)\b)(?!.*\bonly\b)(?!(?:the |my "
    rf")?(?:{SIDE})?(?:[ -]hand)? ?(?:brake|stop)s? ?l?)[^,]+?),?(?: (?:but|and|while|whereas|though|yet))?(?: (?P<not>"
    rf"not))? (?:the )?(?P<side>{SIDE}|other)(?:[ -]hand)?(?: (?:one|side|tail|light|lamp|tail ?light|tail ?lamp))*"
    r"(?(not)|(?: (?:just |still |happily )*(?:stays?|remains?|keeps?|burns?|carries)(?: (?:on|lit|alight|going|burning|"
    r"bright|put|there|as it (?:is|was)|the same|unaffected))+|(?: is|'s)? (?:still (?:on|lit)|not affected|unaffected)))"
    r"(?P<rest> (?:when|with) [^,]+)?\W*$", 2)
_ONE_OF_TWO: Final = Pattern(
    rf"^\s*(?:just |only )?one (?:of the )?(?P<who>(?:[\w/]+ ){{0,2}}?(?:tail|stop|brake|side|head|rear)? ?(?:light|lamp|tail)"
    rf")s? (?P<does>[^,]+?),? (?:(?:the|on the|it's the) )?(?P<side>{SIDE})(?:[ -]hand)?(?: one| side)?,? (?:and |but )?"
    r"(?:the )?other(?: one)? (?:just |still )*(?:stays? (?:on|lit)|is (?:fine|ok|good)|(?:is |'s )?(?:fine|ok|unaffected|works|"
    r"good))\W*$", 2)
_STATE: Final = r"(?:when|whenever|if|with|in|on|under|while|every time|as soon as)"
_DOES: Final = (
    r"(?:brak(?:e|ing)|revers(?:e|ing)|(?:indicat|signal|signall)(?:e|ing)?(?: (?:left|right))?|dip(?:ping)?)")
_MOVED: Final = r"(?:brak\w*|revers\w*|indicat\w*|signal\w*|\w*lights?|lamps?|horn|hazards?|wipers?|blower|heater|pedal)"
# Two states, in each of which it is so.
_TWO_STATES: Final = Pattern(
    rf"^\s*(?P<said>(?P<fuse>{_FUSE} )?[^,]*?) (?:both |either )?(?P<a>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b"
    rf"(?: (?:left|right|on|gear|pedal|in))*)"
    rf"(?P<sep>,? (?:and|or|as well as|and also|plus)(?: also)?) (?P<b>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: "
    r"(?:left|right|on|gear|pedal|in))*)(?: (?:too|as well|also|alike))?\W*$", 2)
_TWO_FIRST: Final = Pattern(
    rf"^\s*(?:both )?(?P<a>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: (?:left|right|on|gear))*) (?:and|or|as well "
    rf"as) (?P<b>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: (?:left|right|on|gear))*),? (?P<said>{_FUSE} .+)$", 2)
_OR: Final = Pattern(
    rf"^\s*(?P<said>[^,]+?) (?P<w>when|if|whenever|on|whether) (?P<i>(?:i |you |we )?)(?:either )?(?P<a>{_DOES}) or (?P<i2>(?:i "
    rf"|you |we )?)(?P<b>{_DOES})\W*$", 2)
_AND: Final = Pattern(
    rf"^\s*(?P<said>(?P<fuse>{_FUSE} )?[^,]+?) (?P<w>when|if|whenever|on|)(?(w) ?)(?P<i>(?:i |you |we )?)(?P<a>{_DOES}) and "
    rf"(?P<i2>(?:i |you |we )?)(?P<b>{_DOES})\W*$", 2)
_BLOWS: Final = Pattern(r"\b(?:blow|pop|go|melt|fail)(?:s|es|ing)?\b", 2)
_ONE_WAY: Final = Pattern(
    r"\b(?:one (?:side|way)\b.*\b(?:the )?other|the other (?:side|way|one)|only one (?:side|way)|on one side)\b", 2)
_RATE: Final = Pattern(r"\b(?:too |very |twice as )?(?:fast|quick|rapid|slow)\b|\bdouble speed\b", 2)
_SIDED: Final = Pattern(rf"\b(?:{SIDE}|trailer|caravan)\b", 2)
_GOES_ON: Final = Pattern(r"\bgoes\s*$", 2)
_TURNING: Final = r"(?P<who>(?:the |my |both |all )*(?:indicators?|winkers?|blinkers?|flashers?|turn signals?))"
_LIT: Final = (r"(?:(?:just |only |all |do |simply )*(?:come on|light(?: up)?|work|stay on|stay lit|burn|glow|go on|are "
               r"(?:on|lit|there|steady|just on)|sit there(?: lit)?|on)(?: (?:steady|solid|all right|ok|fine|permanently|"
               r"all the time|constantly))*)")
_FLASH: Final = r"(?:flash|blink|wink)(?:es|ing)?"
_DENIES: Final = r"(?:do not|don't|won't|will not|never|aren't|are not|not|no|without|refuse to|fail to|stopped)(?: any)?"
# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
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
     r",? (?:but |and )?(?:that's (?:it|all)|nothing (?:more|else))(?:,| and| -)* (?=(?:no|not|don't|won't|without|they don't) "
     r"?(?:flash|blink|wink)\w*)", " and "),
    (("flash", "blink", "wink"), rf"^\s*{_TURNING} (?:just |only |do )?(?:light(?: up)?|come on|burn|glow),? (?:but |and |yet )*"
     rf"(?:they )?{_DENIES} {_FLASH}(?: at all)?\W*$", r"\g<who> come on but do not flash"),
    ((" they go", " it goes"), r", then (?P<off>off|out) (?P<they>they|it) (?P<go>go|goes)\b", r", then \g<they> \g<go> \g<off>"),
    (("stay",), r"^(?P<who>(?!.*\b(?:stop|brake)s?\b ?l?)[^,]+?) stays? (?:on|lit|bright)(?: fine| ok)? (?:un|')?til+ "
     r"(?=(?:i|you|we|the (?:brake|engine|indicator|light))\b)(?!.*\b(?:off|out|then|and)\b)", r"\g<who> works until "),
    (("only one", "just one"),
     rf"^\s*(?:only|just) one (?:of the )?(?P<who>[\w ]+?)s? (?:works?|comes? on|lights?(?: up)?|is lit|lit|is working|on),? "
     rf"(?:and )?(?:it's |that's )?(?:on )?(?:the )?(?P<side>{SIDE})(?:[ -]hand)?(?: one| side)?\W*$",
     r"only the \g<side> \g<who> works"),
    (("revers",),
     rf"^\s*(?:in|with|when i|as i|when|on)? ?revers(?:e|ing)(?: in)?(?:,|:)? (?:the )?(?P<side>{SIDE})(?:[ -]hand)? (?:lamp|light|"
     r"one)(?:'s| is)? (?P<look>on|fine|ok|okay|good|works|lit|dim|weak|poor|faint|normal)(?=,| but\b| and\b| while\b)",
     r"in reverse, \g<side> reversing light \g<look>"),
    # What a glow is said to be.
    (("it's ", "it is ", "they're "),
     r"\b(?:it's|it is) (?:just |only )?(?:a |an )?(?:(?:dull|dim|faint|weak|slight|tiny) )*(?P<g>glow|glimmer)\b",
     r"it \g<g>s"),
    # Both headlamps, of which only the beam is named.
    ((" on ",),
     r"^\s*(?P<no>both|neither|either)(?: sides?| of them)?(?: are| is)? (?P<look>dead|out|dark|off|dim|weak|faint|work|"
     r"works|fail|gone|not working|not lit|come on|comes on|lights?(?: up)?) (?:on|with) (?:the )?(?P<b>dip|dipped|low|"
     r"main|full|high)(?: ?beams?)?\W*$", r"\g<no> §\g<b>§ \g<look>"),
    ((" on ",),
     r"^\s*(?:nothing|no lights?)(?: at all)? on (?:the )?(?P<b>dip|dipped|low|main|full|high)(?: ?beams?)?,? (?:on )?(?:either side|"
     r"both sides|left or right|left and right|right or left)\W*$", r"both §\g<b>§ dead"),
    (("dipped", " dip"), r"\bworks? (?:dipped|on dip)\s*$", "works on dipped beam"),
    # What is dim beside another, in reverse.
    (("there",), r"\b(?P<who>(?:light|lamp|tail|one)s?) there(?= (?:is|are|only|just|dim|weak|faint|glows?|hardly|barely"
     r"|poor|flickers?|works?)\b)", r"\g<who> on that side"),
    (("revers", "back up", "backing"),
     rf"(?P<who>\btail(?: ?(?:light|lamp))?s?(?: on the \w+(?: side)?)?) (?:also )?(?:lights(?: up)?|light up|comes? (?:on|up)|"
     rf"shines?|burns?|is lit|lit){_HOW}(?= *(?:$|,| and\b| but\b| when\b| in\b| with\b| while\b| if\b))",
     r"\g<who> glows"),
    (("reversing ", "reverse "),
     rf"(?P<start>^\s*|, |\bbut |\band )(?:the )?(?P<side>{SIDE} )?(?:reversing|reverse)(?: one)?(?P<side2> (?:on the "
     rf")?{SIDE})?(?: side)?(?P<s3> one)? (?=(?:is )?(?:fine|ok|okay|good|works|working|all right|normal)\b(?! (?:on|in) "
     rf"the {SIDE}))", r"\g<start>\g<side>reversing light\g<side2> "),
    (("reversing ", "reverse "),
     rf"^\s*(?:the )?(?:reversing|reverse)(?: ?(?:light|lamp))? (?P<good>fine|ok|okay|good|works|on) on the (?P<side>"
     rf"{SIDE})(?:[ -]hand)?(?: side)?(?=,)", r"\g<side> reversing light \g<good>"),
    (("back", "revers"), r"\b(?:as|when|while|whenever|whilst) (?:i|you|we|she|he)(?:'m|'re|'s| am| are| is)? "
     r"back(?:s|ing)? up\b", "in reverse"),
    (("revers", "backing"),
     r"^\s*(?:backing up|reversing|(?:going|putting it|shifting) into reverse|(?:selecting|engaging) reverse|reverse(?: gear)?) "
     r"(?:also )?(?:lights(?: up)?|brings (?:on|up)|puts on|turns on|makes) (?P<who>(?:the |my )?[^,]*?\btail(?: ?(?:light|lamp)"
     r"s?)?(?: on the \w+)?)(?: (?:glow|light(?: up)?|come on))?(?P<how> (?:very |just |only )?(?:faintly|dimly|weakly|a bit|"
     r"slightly|up))*(?P<rest>,? (?:and|but|with) .+)$", r"in reverse, \g<who> glows\g<rest>"),
    (("revers", "backing"),
     rf"^\s*(?:i get )?(?:nothing|no light|dead) (?:from|on|out of) (?P<a>(?:the |my )?[^,]*?\btail(?: ?(?:light|lamp))?),? "
     r"(?:except(?: for)?|but|apart from|bar|other than) (?:for )?(?:a |the )?(?:\w+ )?(?:glow|glimmer|flicker)s? (?:in|when|"
     r"with|on) .*(?:revers|back)\w*.*$", r"\g<a> only glows in reverse"),
    (("away",), r"\b(?P<does>(?:flicker|glow|flash|blink|wink|tick|blar)(?:ing|s)) away\b", r"\g<does>"),
    (("light", "come", "shin"),
     r"(?P<who>\b(?:indicators?|winkers?|blinkers?|flashers?)(?: on the \w+(?: side)?)?) (?:lights?(?: up)?|comes? (?:on|up)|"
     rf"shines?){_HOW} (?P<w>when|whenever|every time|each time|as|if|with|under|on) (?=[^,]*\bbrak)", r"\g<who> glows \g<w> "),
    (("winkers on", "indicators on", "indicator on", "blinkers on", "flashers on", "hazards on", "brakes on", "brake on"),
     r"^\s*(?:the )?(?P<what>(?:left |right )?(?:winkers?|indicators?|blinkers?|flashers?|hazards|brakes?)) on(?P<sep>,| and|:| "
     r"-) (?=(?:the |both |all |my |rear )?(?:tails?|lights|back|rear)\b)", r"with the \g<what> on, "),
    (("indicating", "signalling", "signaling"), r"^\s*(?P<s>left|right) (?:indicating|signall?ing)\b", r"indicating \g<s>"),
    # How fast they go, side by side.
    (("fast", "quick", "rapid", "slow"),
     rf"^\s*(?P<how>(?:too |very )?(?:fast|quick|rapid|slow|double speed)) (?:flash(?:ing|es)?|blink(?:ing|s)?|wink(?:ing|s)?|tick(?:ing|s)?|"
     rf"click(?:ing|s)?)(?: (?:on|to))?(?: the)? (?P<a>{SIDE})(?:[ -]hand)?(?: side)?,? (?:but |and )?(?P<two>normal|fine|ok|"
     rf"okay|good|slow|all right)(?: (?:on|to))?(?: the)? (?P<b>{SIDE})(?:[ -]hand)?(?: side)?\W*$",
     r"\g<a> indicators \g<how>, \g<b> indicators \g<two>"),
    (("fast", "quick", "rapid", "slow", "double"),
     rf"^\s*(?P<how>(?:too |very )?(?:fast|quick|rapid|slow|double speed|double)) (?:flash(?:ing|es)?|blink(?:ing|s)?|wink(?:ing|s)?|"
     rf"tick(?:ing|s)?|click(?:ing|s)?)(?: (?:on|to))?(?: the)? (?P<a>{SIDE})(?:[ -]hand)?(?: side)?,? (?:but |and )?(?:the )?(?P<b>"
     rf"{SIDE})(?:[ -]hand)?(?: side)?(?: is|'s)? (?P<two>normal|fine|ok|okay|good|all right)\W*$",
     r"\g<a> indicators \g<how>, \g<b> indicators \g<two>"),
    (("fast", "quick", "rapid", "mad", "slow", "double"),
     rf"\b(?P<s>{SIDE})(?:[ -]hand)? (?:signal|side|turn)s? (?=(?:is |goes |flash\w* |blink\w* |wink\w* |tick\w* )*(?:too |very "
     r"|far |much )*(?:fast|quick|rapid|slow|double|normal))", r"\g<s> indicators "),
    (("fast", "quick", "rapid", "mad", "slow", "double"),
     r"\b(?:indicating|signalling|signaling|turning) (?:to the )?(?P<s>left|right)(?: side)?,? (?:is|it|it's|goes|they|"
     r"flash\w*|blink\w*|ticks?|does|go|works?) (?:goes |is |go )?(?P<how>(?:(?:too|very|all|far|much|really|way|at) )*"
     r"(?:fast|quick|quickly|rapid|rapidly|slow|slowly|double speed|double quick|like mad)\b)",
     r"\g<s> indicators \g<how>"),
    (("signal", "indicat"), rf"(?P<start>^\s*|, |\bbut |\band )(?:signal|indicate|turn) (?P<s>left|right) (?=(?:is|goes|flashes|too|"
     r"very|fine|ok|normal|fast)\b)", r"\g<start>\g<s> indicators "),
    (("fast", "quick", "rapid", "mad", "slow", "double", "clappers"),
     r"^\s*(?:it |they )?(?P<does>flash|blink|wink|tick|click|go)(?:es|s)? (?P<how>(?:(?:too|very|far|much|really|way) )*(?:fast|"
     r"quick|quickly|rapid|rapidly|slow|slowly|double speed|like mad|like the clappers)) (?=(?:when|with|if|on|while) [^,]*\b(?:"
     r"indicat|signal|wink|turn))", r"indicators flash \g<how> "),
    (("speed", "rate", "pace"), r"\b(?:at )?(?:a |the )?(?:normal|usual|right|proper|correct) (?:speed|rate|pace)\b",
     "normal"),
    (("clicking", "ticking", "click", "tick"),
     r"\b(?P<what>clicking|ticking|click|tick) (?:is |goes )(?:(?:far|much|way|really|very) )*too (?:rapid|quick|fast)\b",
     r"\g<what> is too fast"),
    # With each flash.
    (("flash", "blink", "wink", "pulse", "tick", "indicator"),
     r"^\s*(?:each|every) (?:flash|blink|wink|pulse|tick|click)(?: (?:of|from) (?:the |an? )?(?:\w+ )?(?:indicators?|winkers?|"
     r"flashers?|blinkers?))?,? (?:makes?|causes|sends|takes|pulls|dims|dips|drops)?,? ?(?P<who>(?:the |my |all |both )*[\w ]*?"
     r"(?:lights|lamps|tails|tail)) ?(?:to )?(?:(?:go|get|goes) )?(?:dim(?:mer|s)?|dips?|fades?|down|drops?|low|dull)?(?: (?:down|"
     r"a (?:bit|little|touch)|slightly))*\W*$", r"\g<who> go dim with the indicators on"),
    (("flash", "blink", "wink", "indicat"),
     r"\b(?:(?:go|get)(?:es|s)? )?(?:bright(?:en|er)?s?(?: up)? and (?:then )?(?:dim(?:mer)?s?|dull|fades?)|dim(?:mer)?s? and (?:"
     r"then )?bright(?:en|er)?s?(?: up)?|up and down)(?: again)?(?= (?:with|in time|when|as|whenever)\b[^,]*\b(?:flash|blink|"
     r"wink|indicat))", "go dim"),
    (("flash", "blink", "wink", "pulse", "tick"),
     r"\b(?:with|at|on|for|every time|each time)? ?(?:each|every) (?:flash|blink|wink|pulse|tick|click)(?: (?:of|from) "
     r"(?:the |an? )?(?:indicators?|winkers?|flashers?|blinkers?))?\s*$", " §flash"),
    (("flash", "blink", "wink", "pulse", "tick"), r"^(?=.*\b(?:indicat|signal|wink|turn signal|blink|hazard|flasher)\w*)(?P<a>.*?),? +§flash$", r"\g<a> with each flash"),
    (("flash", "blink", "wink", "pulse", "tick"), " +§flash", " with the indicators on"),
    (("each ", "every ", "indicat", "signal", "wink", "hazard", "flasher"),
     r"(?P<who>\b(?:lights|lamps|tails|tail|light|lamp)(?: on the \w+)?) (?:all |both )?(?:(?:go(?:es)? down|dips?|drops?"
     r"|sinks?|goes? (?:a bit |slightly |a little )(?:dim|down|low)(?:mer)?)(?: down)?|(?:dims?|fades?)(?= (?:a |slight|some)))"
     r"(?: (?:a (?:bit|little|touch|tad|fraction)|slightly|somewhat))*(?= (?:with|when|while|whenever|in time|as|every|"
     r"each)\b|\s*$)", r"\g<who> go dim"),
))
_BEAMS: Final = Pattern(r"\b(?P<no>both|neither|either) §(?P<b>\w+)§", 2)
_SIDES: Final = {"near": "nearside", "off": "offside"}


def contrasts_plainly(text: str) -> str:
    """The sentence as it says both of what it tells by one word; several sentences where it takes them."""
    text = put_plainly(text.rstrip(), _ROWS)
    if "§" in text:
        text = _BEAMS.sub(_beams, text)
    small = text.lower()
    for pattern in _ONLY_IN_REVERSE if "revers" in small or "back" in small else ():
        if found := pattern.match(text):
            who = _REAR_LIGHT.sub("tail ", found["who"])
            glows = "glows" if found["glow"] else "flickers" if found["flick"] else "comes on"
            return f"{who} dead. {who} {glows} in reverse"
    if "revers" in small and (found := _UNTIL_REVERSE.match(text)):
        who = _REAR_LIGHT.sub("tail ", found["who"])
        return f"{who} dead. {who} {'comes on' if found['on'] else 'flickers' if found['flick'] else 'glows'} in reverse"
    if found := _UNTIL.match(text) or _BUT_OUT.match(text):
        goes = found["goes"] or "go out"
        return f"{found['who']} {_as_many(goes, found['who'])} {_when(found['when'])}"
    if found := _UNTIL_OUT.match(text) if " i " in small or " you " in small or " we " in small else None:
        return f"{found['who']} {_as_many(found['goes'] or 'go out', found['who'])} when {found['i']} {found['act']}"
    if found := _ONE_OF_TWO.match(text):
        return f"{found['side']} {found['who']} {acts_plainly(found['does'])}, the other one is fine"
    if found := _MATE.match(text):
        main = acts_plainly(found["main"])
        return f"{main}{found['rest'] or ''}, the {found['side']} one is fine"
    return _two_states(text)


def _two_states(text: str) -> str:
    """"F2 blows when I brake and when I reverse", of each by itself; as it is, if it is no such turn. What is said of
    lamps so, with "and", may be so with both on."""
    for pattern in (_TWO_STATES, _TWO_FIRST):
        found = pattern.match(text)
        either = found and (" or" in found.groupdict().get("sep", "") if found.groupdict().get("sep") else False)
        blows = found and re.match(_FUSE, found["said"].strip(), 2) and _BLOWS.search(found["said"])
        if found and (blows or either):
            said = _GOES_ON.sub("blows", found["said"]) if blows else found["said"]
            return f"{said} {found['a']}. {said} {found['b']}"
    if found := _OR.match(text):
        second, when = found["i2"] or found["i"], found["w"].replace("whether", "when")
        return f"{found['said']} {when} {found['i']}{found['a']}. {found['said']} {when} {second}{found['b']}"
    return text


def each_and_both(text: str) -> tuple[str, ...]:
    """Of what is said of lamps so, with "and", or of a fuse "when braking and reversing": with each, and with both at
    once; nothing of other sentences."""
    found = _TWO_STATES.match(text.strip())
    if found and " and" in found["sep"] and found["a"][:3].lower() == found["b"][:3].lower() == "whe" and not (
            found["fuse"]):
        said = found["said"]
        return f"{said} {found['a']}. {said} {found['b']}", f"{said} {found['a']} and {found['b']}"
    if (found := _AND.match(text.strip())) and found["fuse"]:
        said, w = found["said"], found["w"] or "when"
        when, second = f"{w} {found['i']}", f"{w} {found['i2'] or found['i']}{found['b']}"
        return f"{said} {when}{found['a']}. {said} {second}", f"{said} {when}{found['a']} and {second}"
    return ()


def one_and_the_other(text: str) -> tuple[str, ...]:
    """Of "fast one side, normal the other" the two ways in which it may be meant; nothing of other sentences."""
    if not _ONE_WAY.search(text) or _SIDED.search(text) or not (rate := _RATE.search(text)):
        return ()
    return tuple(f"{a} indicators {rate.group()}, {b} indicators normal" for a, b in (("left", "right"), ("right", "left")))


def _beams(found: re.Match[str]) -> str:
    main = found["b"].lower() in ("main", "full", "high")
    beam = "main beam" if main else "dipped beam"
    return f"both {beam}s" if found["no"].lower() == "both" else f"neither {beam}"


def _as_many(goes: str, who: str) -> str:
    """What they do, of one or several as they are spoken of."""
    return goes if not who.lower().startswith("everything") else re.sub(r"^(go|die|dim|fade)\b", r"\1es", goes)


def _when(said: str) -> str:
    return said if re.match(rf"{_STATE}\b|the moment", said, 2) else f"when {said}"
