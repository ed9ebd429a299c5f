"""Turns of phrase about how often it is so, what moves it, and what was done before: "half the time", "when it's
bumpy", "has to be tapped to work", "since the hitch went on it keeps blowing fuse 3". Put into the words that are
read.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern, put_plainly

_COUNT: Final = r"(?:two|three|four|five|six|ten|\d+|a few|several)"
_NOW: Final = (
    r"(?:only |just |about |maybe )*(?:(?:some|part|half|most|a third|a quarter) (?:of )?the time|(?:half|most|some) "
    rf"times|one (?:time|push|press|go|try) (?:in|out of) {_COUNT}|once in (?:a (?:while|blue moon)|every "
    rf"{_COUNT})(?: goes| times| tries)?|"
    rf"(?:one|two) (?:in|out of|times out of|times in) {_COUNT}(?: times| goes| tries)?|every (?:other|second|third) "
    rf"(?:time|go|try|press|push)|every {_COUNT} (?:times|goes|tries|presses)|"
    r"one (?:day|minute|time)(?:,| and| but)? (?:not|dead|gone)(?: the)? (?:next|another)|now an(?:d|')? (?:then|"
    r"again|agen)|every so often|every once in a while|on occasions?|from time to time|on a good "
    r"day|on and off|off and on|by fits and starts|in fits and starts|(?:if|when) (?:i'm|you're|we're|i am|you are) "
    r"(?:lucky|in luck)|with (?:a bit of )?luck|(?:when|if|as and when) (?:it|she|he|they)(?:'s|'re| is| are)? (?:in "
    r"the "
    r"mood|wants? to|suits?(?: it| her)?|likes?|feels? inclined|feels? up to it|fanc(?:y|ies) it|can be bothered)|"
    r"(?:not|but not) (?:always|every time)|at (?:random|whim)|randomly|spasmodically|sporadically|erratically)"
)
_SO: Final = (
    r"(?:temperamental|moody|on one minute(?:,| and)? off the next|fine one minute(?:,| and)? (?:dead|out|off) the "
    r"next|hit "
    r"(?:and|or|an) miss|patchy|erratic|unreliable|sporadic|spasmodic|a lottery|in and out|up and down)"
)
_LAMP: Final = (
    r"(?:light|lamp|tail|stop|indicator|winker|blinker|fog|beam|headlight|headlamp|horn|plate|repeater|taillight)s?")
_BLOW: Final = (
    r"(?:tap|thump|kick|hit|wiggle|slam|bang|knock|shake|jiggle|clout|slap|smack|whack|belt|bash|poke|nudge|twist|"
    r"wobble)"
)
_HIT: Final = (
    r"(?:tapped|thumped|kicked|hit|wiggled|banged|knocked|shaken|jiggled|clouted|slapped|smacked|whacked|belted|"
    r"bashed|"
    r"poked|nudged|twisted|given a \w+)"
)
_WORKS: Final = (
    r"(?:works?|comes? (?:on|back|alive|good|up)|lights?(?: up)?|goes|go|burns?|shines?|does anything|be persuaded)"
)
_FUSE: Final = r"(?P<fuse>(?:the |a |my )?(?:[\w-]+ )?fuse(?: (?:no\.? |number )?\d+)?|F ?\d+)"
_FUSE2: Final = _FUSE.replace("<fuse>", "<fuse2>")
_BLOWS: Final = r"(?:blow|pop|melt|go|los|kill|tak|eat|break)(?:s|es|ing|e|ping|out)?(?: out)?"
_IT: Final = r"(?:it|she|he|the (?:car|van|truck|pick-?up|tractor|lorry|thing|bike)|this (?:car|van|thing)|we|i|they)"
_KEEPS: Final = (
    r"(?:(?:has|have|'s|'ve|is|just|now|then|always|also|been|that|which) )*(?:keeps?|kept|been|started|"
    r"will|would)(?: on)?"
)
_OVER: Final = (
    r"(?:repeatedly|(?:over|again|time) (?:and|an) (?:over|again|time)(?: again)?|time after time|regularly|"
    r"continually|"
    r"constantly|continuously|non ?-?stop|one after (?:another|the other)|all the time)"
)
_DONE: Final = (
    r"(?P<done>fitted|put (?:on|in)|installed|wired(?: in| up)?|changed|replaced|repaired|fixed|mended|welded|added|"
    r"done|bolted "
    r"on|straightened|resprayed|rebuilt|renewed|swapped|moved)"
)
_WHEN: Final = (
    r"(?P<ago> (?:only |just )?(?:last \w+|this \w+|recently|lately|yesterday|the other (?:day|week)|(?:a|an|two|"
    r"three|"
    r"four|\d|a few|a couple of) \w+ ago|in \w+|on \w+day|before (?:that|this)|not long ago|a while back|for (?:it|"
    r"her)))?"
)
_WORK: Final = (
    r"(?P<thing>(?!fuse|blow|keep|was|were|been|got|since|it |when|after|started|a |the |f\d)[\w-]+(?: (?!was|were|"
    r"been|got|has)[\w-]+)"
    r"{0,4}?)"
)
_ROAD: Final = r"(?:road|lane|track|drive|ground|surface|going|street|tarmac|field|ride)s?"
_BAD: Final = r"(?:rough|bad|bumpy|uneven|poor|pot ?-?holed|rutted|broken up|lumpy|in a state)"
_MOVES: Final = r"(?:bounc|jolt|rattl|rock|shak|jar|bump|lurch|judder|vibrat)(?:es|e|s|ing|ed)?"
# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    (("rev", "brk"), r"\brev(?:\.|s)?(?= (?:light|lamp|lite|left|right|one|l/?h|r/?h|n/?s|o/?s)\w*)", "reversing"),
    (("rev",), r"\b(?P<in>in|into|selecting|select|with) rev\b(?!\w)", r"\g<in> reverse"),
    # How often.
    (("sometimes",), r"^\s*sometimes (?P<who>(?:the |my )?[\w/ -]+?) (?P<does>works?|comes? on|lights?(?: up)?|"
     r"sounds?|"
     r"goes|is on),? (?:and |but |or )?(?:then )?(?:sometimes|other times|at other times|and others) (?:it |they )?"
     r"(?:just )?(?:doesn't|don't|does not|do not|won't|not|is not|isn't|is dead|dead|nothing)(?: work| come on| "
     r"light| "
     r"sound)?\W*$", r"\g<who> works sometimes"),
    (("sometimes",), r"^\s*(?P<who>(?:the |my )?[\w/ -]+?) sometimes (?P<does>works?|comes? on|lights?(?: up)?|"
     r"sounds?|"
     r"goes),? (?:and |but |or )?(?:sometimes|other times) (?:it |they )?(?:just )?(?:doesn't|don't|does not|do not|"
     r"won't|"
     r"not|is not|isn't|is dead|dead)(?: work| come on| light| sound)?\W*$", r"\g<who> works sometimes"),
    (("horn", "hooter"),
     rf"\b(?P<who>horn|hooter) (?:only |just )*(?:works?|sounds?|toots?|beeps?|honks?|hoots?|blows?|goes|peeps?) "
     rf"(?:only )?"
     rf"(?:{_NOW}|sometimes|intermittently|occasionally)(?= *(?:$|,))", r"\g<who> works sometimes"),
    ((" time", "now an", " once ", " every ", " on ", " off ", " luck", "mood", " next", "want", "suit", " like",
     "feel", "fanc",
      "bother", "always", "random", "spasm", "sporad", "errat", " fits", " in ", " two ", " one ", "whim"),
     rf"(?:(?P<only>only |just )?(?P<does>\b(?:works?|comes? on|lights?(?: up)?|goes out|goes off|flickers?|cuts? "
     rf"out|"
     rf"shines?|burns?|blows?|goes|dead|sounds?|flash(?:es)?|is (?:out|on|dead)))),? (?:but )?{_NOW}(?= *(?:$|,| "
     rf"when\b|"
     r" over\b| with\b))", r"\g<does> sometimes"),
    (("hit ", "temper", "moody", "one minute", "patchy", "erratic", "unreliable", "sporadic", "spasmodic", "lottery"),
     rf"\b(?:(?:is|are|a bit|very|rather|pretty) )*{_SO}(?= *(?:$|,| over\b| on\b| when\b))", "works sometimes"),
    ((" always",), r"\b(?:won't|will not|doesn't|don't|does not|do not) always (?:work|sound|come on|light(?: up)?|"
     r"go|flash)\b",
     "works sometimes"),
    (("horn", "hooter"), rf"^.*?\b(?:press|push|try|hit)(?:ing)? (?:on )?the (?P<who>horn|hooter)(?: button| push)? "
     rf"{_COUNT} "
     r"times (?:before|for|to|till|until)\b.*$", r"\g<who> works sometimes"),
    (("horn",
     "hooter"), r"\b(?P<who>horn|hooter) keeps (?:on )?(?:stopping|cutting out|packing (?:up|in)|dying|going "
     r"(?:off|dead))\b",
     r"\g<who> works sometimes"),
    # What shakes it.
    (("road", "lane", "track", "drive", "ground", "surface", "going", "street", "tarmac", "field", "ride"),
     rf"\b(?:when|whenever|if|where|as|once) (?:the |our |my |a )?{_ROAD}(?:'s| is| are| gets?| was| turns)? (?:(?:a "
     rf"bit|"
     rf"very|really|too|at all|all) )*{_BAD}", "over bumps"),
    (("bump", "rough"), rf"\b(?:when|whenever|if|where|as|once) (?:it's|it is|it gets|it was|things get|the ride "
     rf"gets) "
     rf"(?:(?:a bit|very|really|too|at all) )*{_BAD}(?: going)?", "over bumps"),
    (("bounc", "jolt", "rattl", "rock", "shak", "jar", "bump", "lurch", "judder", "vibrat"),
     rf"\b(?:when|whenever|if|as|every time|each time) {_IT}(?:'s|'re| is| are| gets?| starts?)? {_MOVES}(?: "
     rf"(?:about|"
     r"around|along|hard|over (?:a|the) \w+|at all|a bit))*", "over bumps"),
    (("bump", "jolt", "pothole", "hole", "kerb"),
     r"\b(?:with|at|on|over|for) (?:each|every|any|the slightest|the least|the smallest) (?:little |big |small |"
     r"single )?"
     r"(?:bump|jolt|pothole|pot hole|kerb|lump|hump)s?(?: in the \w+)?", "over bumps"),
    (("rough", "bump", "bad ", "hole", "rut", "uneven", "lumpy"),
     rf"\b(?:on|down|over|along|across|up) (?:(?:the|a|our|my|any|those|these|some|all) )*(?:\w+ )?{_BAD} (?:bits?|"
     rf"stretch(?:es)?|patch(?:es)?|parts?|old |farm |country )*(?:{_ROAD})?(?= *(?:$|,| and\b| but\b))",
     "over bumps"),
    (("drain", "manhole", "crossing", "railway", "expansion", "cattle"),
     r"\b(?:over|across|on|hitting) (?:(?:the|a|any|some) )*(?:drain(?: cover)?s?|manholes?(?: covers?)?|level "
     r"crossings?|"
     r"railway (?:lines?|crossings?)|expansion joints?|cats? ?eyes?|gull(?:y|ies))", "over bumps"),
    ((" and go", " an go", " n go"), r"\b(?:(?:keeps?|is|are) )?com(?:es?|ing) (?:and|an|n|'n'|&) go(?:es|ing)?(?= "
     r"over "
     r"bumps\b)", "cuts out"),
    ((" and go", " an go", " n go"), r"\b(?:(?:keeps?|is|are) )?com(?:es?|ing) (?:and|an|n|'n'|&) go(?:es|ing)?(?= "
     r"*$)",
     "work sometimes"),
    (("rough",), r"\bon the rough(?= *(?:$|,| and\b| but\b))", "over bumps"),
    ((" along", " about"), r"\b(?:as|when|while|whilst) (?:i|you|we|she|it)(?:'m|'re|'s| am| are| is)? (?:go|goes|"
     r"going|driv\w+|mov\w+|"
     r"travel\w*|bowl\w*)(?: (?:along|about|down the road))+", "when driving along"),
    # What a tap does.
    ((" tap", " thump", " knock", " bang", " clout", " slap", " smack", " kick", " hit", "tap ", "thump ", "give ",
     "bang ", "knock "),
     r"(?P<and>(?:\band|,|\bthen) )(?:it's|it is|they're|they are) (?:on|back|lit|working|alive|fine|ok)(?: on)?(?: "
     r"again)?\W*$",
     r"\g<and>it works"),
    (("need", "want"), rf"^\s*(?P<who>[^,]+?\b{_LAMP}\b) (?:needs?|wants?) (?:a |some )(?:good |bit of a |gentle "
     rf")?(?:{_BLOW}|"
     r"tapping|thumping|banging)(?: every time| each time| now and then)?\W*$", r"\g<who> works when I tap it"),
    (("to be ",), rf"^\s*(?P<who>[^,]+?\b{_LAMP}\b(?: on the \w+(?: side)?)?) (?:has|have|needs?|wants?|had) (?:got "
     rf")?to "
     rf"be {_HIT}(?: (?:hard|first|a few times|about|a bit))*(?: (?:to|before|for) (?:(?:it|they|them) )?(?:to "
     rf")?(?:will "
     rf")?(?:{_WORKS}|get it (?:going|on|to \w+)|make it \w+))?\W*$", r"\g<who> works when I tap it"),
    ((" tap", " thump", " knock", " bang", " clout", " slap", " smack", " kick", " hit", " nudge", " wiggle",
     " shake",
      " whack", " bash", " jiggle"),
     rf"^\s*(?P<who>[^,:]+?\b{_LAMP}\b(?: on the \w+(?: side)?)?) (?:is dead,? (?:but |and )?|dead,? (?:but "
     rf")?)?(?:will |"
     rf"only |just |always |usually )*(?:{_WORKS})(?: (?:again|fine|ok))?(?: only)? (?:after|with|once (?:i|you) "
     rf"(?:give|gave) it|if (?:i|you) give it|when (?:i|you) give it|following|from) (?:a|an|one|some) (?:\w+ )?(?:"
     rf"{_BLOW}|tapping|thumping|banging)(?: (?:on|to|with|from) [\w' ]+)?\W*$", r"\g<who> works when I tap it"),
    ((" tap", " thump", " knock", " bang", " clout", " slap", " smack", " kick", " hit", " nudge", " wiggle",
     " shake",
      " whack", " bash", " jiggle"),
     rf"^\s*(?P<who>[^,:]+?\b{_LAMP}\b(?: on the \w+(?: side)?)?)(?: (?:is )?(?:dead|out|dark))?(?:[:,;]| -)? (?:but "
     rf"|and "
     rf"|only )?(?:a|one) (?:\w+ )?{_BLOW}(?: (?:on|with|from) [\w' ]+?)? (?:gets|sets|brings|puts|makes|starts|"
     rf"wakes|"
     r"sorts|cures|fixes|will get|does)(?: (?:it|them))?(?: (?:going|on|off again|to (?:work|life|light)|back|right|"
     r"up|"
     r"working|work|light|come on|to come on|for a (?:while|bit)))*\W*$", r"\g<who> works when I tap it"),
    ((" tap", " thump", " knock", " bang", " clout", " slap", " smack", " kick", " hit", " nudge", " wiggle",
     " shake",
      " whack", " bash", " jiggle"),
     rf"^\s*(?P<who>[^,:]+?\b{_LAMP}\b(?: on the \w+(?: side)?)?)(?:[:,;]| -) (?:i |you |we |i've |you've )*(?:have|"
     rf"has|"
     rf"need|got|had)(?: got)? to (?:keep )?(?:give (?:it|them) (?:a |some )?(?:\w+ )?)?{_BLOW}(?:ping|ing|ting)?(?: "
     rf"(?:it|"
     rf"them|the \w+))?(?: (?:to|and|before|then|so|hard|with [\w ]+?))* (?:it |they )?(?:get (?:it|them) |make "
     rf"(?:it|"
     rf"them) )?(?:going|working|on|to work|lit|work|light|{_WORKS})(?: up)?\W*$", r"\g<who> works when I tap it"),
    ((" tap", " thump", " knock", " bang", " clout", " slap", " smack", " kick"),
     rf"^\s*(?P<who>[^,:]+?\b{_LAMP}\b)(?:[:,;]| -) (?:{_BLOW}) (?:it|them)(?:,| and|, and)? (?:it |they "
     rf")?(?:{_WORKS})"
     r"(?:[,.;]| and| but|, then) .*\b(?:out|off|dead|dark|gone)(?: again)?\W*$", r"\g<who> works when I tap it"),
    # Which fuse it is that blows, and since when.
    (("bang", "pop", "phut", "ping", "snap", "gone", "goes the", "click"),
     r"^(?P<act>\s*(?:(?:when|as soon as|the moment|if|with) )?[^,]*?\b(?:brak\w*|pedal|revers\w*|indicat\w*|"
     r"signal\w*|"
     r"lights?|horn|left|right|on))(?:,| -|;|:|\.\.+)?(?: (?:and|then|it's|there's|,|-))* ?(?:(?:bang|pop|phut|ping|"
     r"snap|"
     r"click|poof)(?:,| -|!)?(?: (?:and|-|there))* )?(?:there )?goes (?:the |my |that |another |a "
     r")?(?P<fuse>fuse(?: "
     r"\d+)?|F\d+)\W*$", r"\g<act>, the \g<fuse> blows"),
    (("bang", "pop", "phut", "ping", "snap", "gone", "click"),
     r"^(?P<act>\s*(?:(?:when|as soon as|the moment|if|with) )?[^,]*?\b(?:brak\w*|pedal|revers\w*|indicat\w*|"
     r"signal\w*|"
     r"lights?|horn|left|right|on))(?:,| -|;|:|\.\.+)(?: (?:and|then|it's|,|-))* ?(?:(?:bang|pop|phut|ping|snap|"
     r"click|"
     r"poof)(?:,| -|!)?(?: (?:and|-))* )?(?:the |my |that |another |a )?(?P<fuse>fuse(?: \d+)?|F\d+)(?:'s| is| "
     r"has)? "
     r"(?:gone|blown|goes|dead|blows|out|pops)\W*$", r"\g<act>, the \g<fuse> blows"),
    (("blow", "pop", "melt", "taking", "takes", "kill", "los", "eat", "break"),
     rf"^(?P<since>\s*(?:ever )?(?:since|after) (?!.*\bfuse\b.*\b(?:blow|keep)).+?),? (?:{_IT} )?{_KEEPS} {_BLOWS} "
     rf"{_FUSE}(?: {_OVER})?\W*$", r"\g<fuse> keeps blowing \g<since>"),
    (("blow", "pop", "melt", "taking", "takes", "kill", "los", "eat", "break"),
     rf"^\s*(?:{_IT} )?(?:{_KEEPS} {_BLOWS} {_FUSE}|{_BLOWS} {_FUSE2} {_OVER})(?: {_OVER})?(?P<rest>(?:,| since\b| "
     rf"after\b"
     r"| when\b| with\b| as\b| ever\b).*|\W*)$", r"\g<fuse>\g<fuse2> keeps blowing\g<rest>"),
    (("repeat", "over and", "again", "time ", "regular", "contin", "const", "stop", "few", "one after", "every ",
     " a "),
     rf"\b{_FUSE} (?:(?:has|is|been|just|have) )*(?:blow|go|pop|keep)(?:s|es|ing)?(?: blowing| going| popping)? "
     rf"{_OVER}"
     r"(?= *(?:$|,| since\b| after\b| when\b| ever\b))", r"\g<fuse> keeps blowing"),
    (("started", "began"), rf"^(?P<told>\s*{_FUSE}\b[^,]*),? (?:and )?(?:it |this |that |which )?(?:all |only "
     rf")?(?:started|began)"
     r"(?: doing (?:it|this|that))?(?: right| just)? (?:when|after) (?=(?:the|they|we|i|my|he|she|someone|somebody|"
     r"a)\b)",
     r"\g<told> since "),
    ((" only ",), r"\b(?P<f>fuse(?: \d+)?|F\d+) only (?:goes|blows|pops) (?=(?:when|if|in|with|on|as|under)\b)",
     r"\g<f> blows only "),
    # Work in a clause of its own.
    (("fuse", "f1", "f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9"),
     rf"^(?!.*\bsince [^,]*$)\s*(?:(?:and|we|i|he|she|they|the garage|my \w+|had|have|has|'ve|'s|just|got|been|"
     rf"recently|only) )*(?:a |an |the "
     rf"|my |new |some )*{_WORK} (?:(?:was|were|got|has been|had been|been|just) )*{_DONE}{_WHEN}(?:,| and|, and|,? "
     rf"but|;|"
     rf" -)? (?:(?:now|since then|ever since|and|then|it's been) )*(?P<told>(?:{_FUSE}|(?:it )?{_KEEPS} {_BLOWS} "
     rf"{_FUSE2}).*)"
     r"$", r"\g<told> since a \g<thing> was \g<done>\g<ago>"),
    (("fuse", "f1", "f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9"),
     rf"^(?!.*\bsince\b)(?P<told>\s*(?:(?:the |a |my )?(?:[\w-]+ )?fuse(?: \d+)?|F\d+) [^,]*), (?:and )?(?:(?:we|i|"
     rf"he|she|they|'ve|have|"
     rf"had|just|got|only|it's|there was|there's) )*(?:a |an |the |my |new )*{_WORK} (?:(?:was|were|got|has been|had "
     rf"been|"
     rf"been|just) )*{_DONE}{_WHEN}\W*$", r"\g<told>, since a \g<thing> was \g<done>\g<ago>"),
    (("blow", "pop"), rf"^\s*(?:{_IT} )?{_KEEPS} {_BLOWS} {_FUSE}", r"\g<fuse> keeps blowing"),
    (("f1", "f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9", "fuse"),
     rf"\b(?:{_IT}(?:'s|'ve| has| have)? )?(?:eaten|eats|been through|gone through|had|used|blown|lost) (?:two|three|"
     rf"four|"
     rf"five|six|\d|several|loads of|a few|a lot of|dozens of) (?:lots of )?(?P<fuse>F\d+|fuse \d+)s?\b(?= *(?:$|,| "
     rf"since\b|"
     rf" now\b| already\b))(?: now| already)?", r"\g<fuse> keeps blowing"),
    (("bang ", "pop ", "phut "), r"^\s*(?:bang|pop|phut) goes (?:the |my )?(?P<fuse>fuse(?: \d+)?|F\d+)(?: "
     r"again)?(?= "
     r"(?:when|as|if|every|with|on|the moment)\b)", r"\g<fuse> blows"),
    (("running",), r"(?P<good>\b(?:fine|ok|okay|good|normal|bright|all right)) (?:once |when )?running\W*$",
     r"\g<good> with "
     r"the engine running"),
    (("fitted", "wired", "install", "put ", "changed", "replaced", "swapped"),
     rf"^(?!.*\bsince [^,]*$)\s*(?P<by>(?:we|i|he|she|they|the garage|somebody|someone|my \w+)) (?:(?:have|had|'ve|"
     rf"has|just|"
     rf"only|recently) )*(?P<did>fitted|wired(?: in| up)?|installed|put (?:in|on)|changed|replaced|swapped|repaired|"
     rf"welded) "
     rf"(?P<what>(?:a|an|the|my|some|new) [\w -]+?){_WHEN}(?:,| and|, and|,? but|;| -) (?:(?:now|since then|ever "
     rf"since|and|then) "
     rf")*(?P<told>(?:(?:the |a )?fuse(?: \d+)?|F\d+|it keeps) .*)$",
     r"\g<told> since \g<by> \g<did> \g<what>\g<ago>"),
    (("new ",), r"^(?!.*\bsince\b)(?P<told>\s*(?:(?:the |a |my )?fuse(?: \d+)?|F\d+) [^,]*), (?:and )?(?:a |had a |"
     r"got a )?new "
     r"(?P<thing>(?!fuse|bulb)[\w-]+(?: [\w-]+)?) (?P<ago>last \w+|this \w+|yesterday|recently|in \w+|\w+ \w+ "
     r"ago)\W*$",
     r"\g<told> since a new \g<thing> was fitted \g<ago>"),
    (("kept",), r"\b(?P<f>fuse(?: \d+)?|F\d+) (?:has |have |'s )?kept (?:on )?(?P<does>blowing|going|popping)",
     r"\g<f> keeps \g<does>"),
    (("contin", "constant", "incess", "break"),
     r"^(?!.*\b(?:indicat|wink|blink|flash|fuse))(?P<a>.*\b(?:on|lit|burns?|burning|stays? on|shines?|glows?)) "
     r"(?:continuously|"
     r"continually|constantly|incessantly|without a break)\b", r"\g<a> all the time"),
    # Lit without end.
    (("time", "day and", "24", "clock", "stop", "morning"),
     r"\b(?:all of the time|(?:for )?the whole (?:of the )?time|(?:by )?(?:day and night|night and day)|24[ /]7|"
     r"twenty ?-?four seven|(?:a?round) the clock|non ?-?stop|all day(?: long)?(?: and all night)?|morning,? noon "
     r"and "
     r"night)\b", "all the time"),
    # A whole unit.
    (("no light", "no lamp", "nothing"), rf"^\s*(?:there's |there are |i've got )?(?:no (?:lights?|lamps?)|nothing) "
     rf"(?:in|from|at) "
     rf"(?:the )?(?P<place>(?:(?:{SIDE}|rear|back|front)(?:[ -]hand)?(?: side)? ?){{1,2}}) (?:cluster|unit|corner|"
     rf"light unit|lamp "
     r"unit)(?: works?| lights?(?: up)?)?\W*$", r"everything at the \g<place> dead"),
    (("whole", "hole ", "complete", "entire", "lot", "everything in", "all of it", "every "),
     rf"^\s*(?:the )?(?:(?:whole|hole|complete|entire)(?: of the)? )?(?P<place>(?:(?:{SIDE}|rear|back|front)(?:[ "
     rf"-]hand)?(?:"
     rf" side)? ){{1,2}})(?:(?:light|lamp|unit|cluster|assembly|corner)s? ?)+(?P<on>(?:(?:on the )?{SIDE} )?)(?:'s |"
     rf"is |has |"
     rf"are )?(?:gone out|gone dead|gone|out|dead|dark|unlit|not working|not lit|doesn't work|isn't working)(?:,| "
     rf"-)? ?"
     r"(?P<all>(?:and )?(?:everything in it|the (?:whole )?lot(?: of it)?|all of it|every (?:lamp|bulb|light)(?: in "
     r"it)?|"
     r"the whole thing|completely|totally)|)\W*$", r"§unit \g<place>\g<on>§\g<all>§\g<0>"),
))
_UNIT: Final = Pattern(r"^§unit (?P<place>[^§]*)§(?P<all>[^§]*)§(?P<said>.*)$", 2)
_WHOLE: Final = Pattern(r"^\s*(?:the )?(?:whole|hole|complete|entire)\b", 2)


def often_plainly(text: str) -> str:
    """The sentence with how often it is so, what moves it and what was done before in plain words."""
    text = put_plainly(text, _ROWS)
    if found := _UNIT.match(text):
        if not found["all"] and not _WHOLE.match(found["said"]):
            return found["said"]  # "left rear lamp dead" may be one of them
        place = found["place"].replace("on the ", "").strip()
        if "corner" not in found["said"].lower():  # what sits in it, and no lamp beside it
            return f"the {place} cluster completely dead"
        return f"everything at the {place} dead"
    return text
