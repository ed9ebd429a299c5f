"""A spoken sentence in plain words: what is written or said in several ways is put in one."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from tracer.observation.words.patterns import Pattern

_THE_OTHER: Final = r"(left|right|near ?side|off ?side|n/s|o/s|other)(?: one| side| lamp| light| hand side)*\b"
# Words that are written as another that sounds the same.
SOUNDS_LIKE: Final = tuple((Pattern(p, 2), by) for p, by in (
    (r"\b(does|do|is|are|wo|ca|did|was|has|have|should|would|could)nt\b", r"\1n't"),
    (r"\bbreak(s?)\b(?! (?:down|up|in|out|off|into))", r"brake\1"), (r"\bbreaking\b", "braking"),
    (r"\b(light|lamp|stop|tail|one|beam|lights|lamps|tails) stops? on(?= *(?:$|,)| (?:all|after|even|when i "
     r"let|with my)\b)",
     r"\1 stays on"),
    (r"(?<!\w)'?til\b|\buntill\b", "until"), (r"\b(di|sto|ta|dro|fli)p(ed|ing)\b",
     r"\1pp\2"), (r"\btale(?=s? ?(?:light|lamp)s?\b)", "tail"), (r"\b(tell[ -])tails?\b", r"\1tale"),
    (r"\b(?:no|nr)s?\.(?= ?plates?\b)|\bnr(?= plates?\b)|\breg(?:istration)?\.?(?= (?:number )?plates?\b)", "number"),
    (r"\b(there|that|what|where)s(?= (?:not|no|a|the|nothing|dead|out|dim|fine|ok|on|off|never|only|just|all)\b)",
     r"\1's"),
    # "Stops" is what a lamp does, after the lamp or a word of how often.
    (r"(?<!\bthe )(?<!\bboth )(\b(?:light|lamp|tail|indicator|winker|blinker|flasher|beam|headlight|headlamp|fog|"
     r"plate|"
     r"repeater|taillight|sidelight|bulb)|\b(?:lights|lamps|tails|indicators|winkers|blinkers|flashers)(?= (?:\w+ "
     r")?stop )|"
     r"\b(?:sometimes|often|occasionally|suddenly|keeps?|just))((?: (?:sometimes|often|occasionally|just|suddenly|"
     r"then))?) "
     r"stops?(?= *(?:$|,)| (?:(?:sometimes|now|at times|altogether|dead) )?(?:over|on (?:a |the )?(?:bump|rough|bad|"
     r"pot|"
     r"uneven|un)\w*|when|whenever|if|with|in|as|every|under|once|for a|going over)\b)", r"\1\2 cuts out"),
    (r"(\b(?:light|lamp|tail|indicator|winker|blinker|flasher|beam|headlight|headlamp|fog|plate|repeater)) (left|"
     r"right) "
     r"stops(?= (?:over|on bump|on rough|when|whenever|if|in|as|every|under|once)\b)", r"\1 \2 cuts out"),
    (r"\b(lights?|lamps?|tails?|indicators?|beams?|plates?|ones?|keeps?) keeps? stopping\b", r"\1 keeps cutting out"),
    (r"((?:^|[,.] )(?:the |both |all |my |trailer |caravan |car )*)stops (?=(?:work|are|light up|come "
     r"on|ok|okay|fine|good)\b)",
     r"\1stop lights "),
    (r"\bstops stop (?:working|on)?(?= *(?:$|over|on|when|if))", "stops cut out "), (r"\bnon ?-?stop\b", "all the "
     "time"),
    (r"(\btail[^,]*?\bin reverse)(?: gear)?,? with (?:the |its )?((?:(?:left|right|near ?side|off ?side|n/s|o/s)(?:[ "
     r"-]hand)? "
     r"(?:side )?)?revers(?:e|ing) ?(?:light|lamp)?(?: (?:there|beside it|on that side))?)(?: is| being)? "
     r"(?=(?:(?:very|only|"
     r"just|rather) )?(?:dim|faint|weak|poor|dull|lit|on|fine|ok|working|normal|flickering|bright)\b)", r"\1, the \2 "
     r"is "),
    (r"\b(in|into|select|selecting|with) rev\b(?! (?:light|lamp|lite))", r"\1 reverse"),
    (r"\brev\.?(?= (?:light|lamp|lite)s?\b)", "reversing"), (r"\bbrk\b", "brake"), (r"\bh/(?=(?:lamp|light)s?\b)",
     "head"),
    (r"\bs/(?=(?:lamp|light)s?\b)", "side "), (r"\bnum(?:b|ber)?\.? ?pl(?:ate|t)?\b", "number plate"),
    (r"\bstops? there\b(?! (?:lamp|light))", "stays on"), (r"\b(and|then|but|they|it|just|only|indicators?|winkers?|"
     r"blinkers?|flashers?|trafficators?|turn signals?) "
     r"stops? on\b(?! "
     r"(?:the|my|a)\b)",
     r"\1 stay on"),
    (r"\bon ?/ ?off\b(?= over)|\b(?:keeps? )?going (?:on and off|off and on)\b", "intermittent"), (r"\ball the "
     r"while\b", "all the time"), (r"\beverytime\b", "every "
     "time"), (r"\bstraight off\b", "straight away"),
    (r"\b(?:at )?(?:double|twice) the (?:rate|speed)(?: of (?:the )?(?:left|right|near ?side|off ?side|n/s|o/s|other)"
     r"(?: ones?| side)?)?", "at double speed"),
    (r"\b(?:(?:blinks?|go(?:es)?|comes?|cuts?|flash(?:es)?|is|are|going|coming) )?on and off(?= (?:over|on|when|"
     r"going|"
     r"driving|if|as)\b|,? (?:worse|mostly|usually|mainly|especially))", "intermittent"),
    (r"\b(left|right)hand\b", r"\1 hand"), (r"\bboth sides' (?=\w+s\b)", "all "), (r"\bbothsides\b", "both sides"),
    (r"\b(?:whatso?ever|of (?:any|whatever) (?:kind|sort|description))\b", "at all"),
    (r"\b(both|all|neither|either|each|some) of '?em\b", r"\1 of them"),
    (r"\b(lights?|lamps?|horn|tails?|stops?|bulbs?|indicators?|winkers?|flashers?|beams?) (?:themselves|itself)\b",
     r"\1"),
    (r"\bl\.?e\.?d\.?'?s\b(?! (?:lamps?|lights?|bulbs?))", "lamps"), (r"\bplough? (?=(?:light|lamp)s?\b)", "plough "),
))
_REPLACED: Final = tuple((Pattern(p), by) for p, by in (
    (r"[’`´]", "'"), (r"[\"“”()]", " "), (r"\s-\s|[–—;:.!?](?=\s|$)", " , "),
    *((rf"\b{x[0]}\s*/?\s*s\s*/?\s*{y[0]}\b(?!\s*/)", f"{x} {y}")
      for x in ("nearside", "offside") for y in ("front", "rear")),
    (r"\b(near|off) side\b", r"\1side"), (r"\brego (?=plate)", ""), (r"\bparker(s?)\b", r"parking light\1"),
    # "All right markers", of which "all right" says nothing good.
    (r"\ball (?=(?:(?:off|near) ?side|[on]/s|right)(?:[ -]hand)? (?:side )?(?:front |rear )?"
     r"(?:lamp|light|marker|indicator|bulb)s?\b)", "all the "),
    (r"\bpark(?:ing)? ?brake\b", "handbrake"), (r"\bheater (?:fan|blower|motor)\b", "blower"),
    (r"\bbacks\b", "rears"),
    (r"\b(does|do|is|are|wo|ca|did)nt\b", r"\1n't"),
    (r"\bind(?:ic?)?(?:'?(s))?\b(?!')", r"indicator\1"),
    (r"\brear ?most\b", "rear"), (r"\b(?:front ?most|foremost)\b", "front"),
    (r"\b(?:the )?whole (?:car|van|coach|bus|truck|lorry|tractor|bike|vehicle|thing)\b", "everything"),
    (r"\bl (?=(?:rear|front|hand|back)\b)", "left "), (r"\br (?=(?:rear|front|hand|back)\b)", "right "),
    *((rf"\b(?:{a}\s*/?\s*h?\s*/?\s*{b}|{b}\s*/?\s*{a}(?:\s*/?\s*h)?)(?!\w)(?!\s*/)", f"{x} {y}")
      for x, a in (("left", "l"), ("right", "r")) for y, b in (("front", "f"), ("rear", "r"))
      if (a, b) != ("r", "r")),
    (r"\b(?:r\s*/?\s*h\s*/?\s*r|rr|r/r)(?!\w)(?!\s*/)", "right rear"), (r"\bu\s*/\s*s\b", "dead"),
    (r"\bn\s*/\s*w\b|\bnot wkg\b|\bnfg\b", "not working"),
    (r"\bd\s*/\s*s(?:ide)?\b", "driver's side"), (r"\bp\s*/\s*s(?:ide)?\b", "passenger's side"),
    (r"\bns\b", "nearside"), (r"\bos\b", "offside"),
    (r"\bno (?:lights?|lamps?) at all\b", "nothing works"), (r"\bat all\b", " "),
    (r"\ball (?:four|three|two|of (?:the|them))\b", "all"), (r"\b(?:bleeper|beeper|sounder)\b", "buzzer"),
    (r"\bback up (?=lights?\b|lamps?\b|buzzer\b|beeper\b|alarm\b)", "backup "),
    (r"^\s*(?:the )?(?:whole )?(back|rear|front)(?: end| of (?:the |my )?(?:car|van|truck|lorry|tractor|bike|"
     r"vehicle))(?: is|'s)? (?!has\b|have\b|had\b)", r" everything at the \1 "),
    (r"^\s*(?:the )?(?:whole )?(left|right|nearside|offside)(?:[ -]hand)? side of (?:the )?(back|rear|front)(?: end)?"
     r"(?: is)? ", r" everything at the \1 \2 "),
    (r"\bintermit+[ae]nt(ly)?\b", r"intermittent\1"),
    (r"\bhigh[ -]level\b", "high"), (r"\bside[ -](?=(?:repeater|marker)s?\b)", ""),
    (r",? ?(?:\b(?:but|and|all) )?\b(?:except(?:ing)?(?: for)?|apart from|barring|bar(?= (?:the|one|left|right|that"
     r"|this|near|off|n/s|o/s|both|front|rear))|other than|save for|with the exception of|excluding|but for|"
     r"aside from) (?!that\b|when\b|if\b|with\b|on\b|at\b)", " except "),
    (r"\ball else\b", "everything else"),
    (r"\bas (?:bright|good) as (?:ever|usual|normal|before|new)\b", "normal"),
    (r"\b(lights?|lamps?) (?:is |are |were )?left on\b", r"\1 on"),
    (r",? (?:although|though|whereas) (?=\w)", " but "),
    (r"\b(?:the )?remaining (?:ones|lamps|lights|two|three|four|pair)\b", "the others"),
    (r"\b(?:the )?remaining (?=\w+s\b)", "the rest of the "), (r"\bt'?other\b", "the other"), (r"\b'?(un|"
    r"uns)(?='?s? )", "one"),
    (r"\bits (?=wet|hot|cold|damp|raining|warm)", "it's "), (r"\bnear (?=one\b)", "nearside "),
    (r"\b(do|does|did) ?(?:n't|not) do (?:owt|nowt|anything|nothing|a thing|much)\b", r"\1 not work"),
    (r"\b(?:,|and|but)? ?nor (?:do|does|will|did|is|are) (?:the )?([^,]+)$", r", \1 does not work"),
    (r"\bnowt\b", "nothing"), (r"\baint\b", "is not"),
    (r",? ?(?:and )?(?:it's|its|it has|they've|they have) been (?:like (?:that|this)|that way|so) "
     r"(?=(?:ever )?since)", " , "),
    (r"\b(indicators?|winkers?|flashers?|blinkers?) stop\b(?! (?:lamps?|lights?|flash|blink|wink|work|dead|on))",
     r"\1 stop working"),
    (r"\b(?:on|at) both\b(?= *(?:,|$))", "both sides"),
    (r"\bpassenger (?=doors?\b)", "passengerside "), (r"\bdriver (?=doors?\b)", "driverside "),
    (r"\bpassenger (?=one\b|head|tail|rear|front|wing|brake|stop|ind)", "passengerside "),
    (r"\bdriver (?=one\b|head|tail|rear|front|wing|brake|stop|ind)", "driverside "),
    (r"\b(?:keeps? (?:on )?)?(?:eats?|eating|chews? through|(?:go(?:es)?|gets?|going|getting) through) (?:the |its )?"
     r"((?:\w+ ){0,3}(?:bulbs|globes))(?: like (?:no one|nobody)'?s? business| like sweets)?", r"\1 keep blowing"),
    (r"\b(bulbs|globes) (?:do not|don't|never|won't) last(?: (?:long|five minutes|a week|a month))?\b",
     r"\1 keep blowing"),
    (r"\bother (?:two|three|four|five|six|pair|ones)\b", "others"), (r"\bhyper ?flash(?:es|ing)?\b", "flash fast"),
    (r"\b(front)s? and (?:the )?(rear|back)s?\b", r"\1 \2"),
    (r"\b(?:(?:\bnot )?as|half as|nowhere near as) bright as (?:on )?(?:the )?" + _THE_OTHER, "dim §d"),
    (r"\b(?:dimmer|duller|weaker|fainter|less bright) (?:than|to) (?:on )?(?:the )?" + _THE_OTHER, "dim §d"),
    (r"\b(?:(?:very|quite|rather|much too) )?(?:dim|weak|dull|faint|poor|yellow) (?:when )?compared (?:with|to) "
     r"(?:the )?" +
     _THE_OTHER, "dim §d"),
    (r"\bbrighter (?:than|to) (?:on )?(?:the )?" + _THE_OTHER, "bright §b"),
    (r"\b(?:when |while )?(?:out of|not in) reverse(?: gear)?\b", " "),
    (r"\b(as (?:bright|dim|fast|quick|quickly|slow)) as (?:on )?(?:the )?(?:left|right|other)(?: one| side)?\b",
     r"\1"),
    (r"\bn\s*/\s*s(?:ide)?\b|\bnear[ -]?side\b", "nearside"), (r"\bo\s*/\s*s(?:ide)?\b|\boff[ -]?side\b", "offside"),
    (r"\bl\s*/\s*h(?:\s*/\s*s)?\b|\bl\.h\.|\blh\b|\blhs\b", "left"), (r"\br\s*/\s*h(?:\s*/\s*s)?\b|\brh\b|"
                                                                      r"\brhs\b", "right"),
    (r"\b(?:on|at) (?:the )?(left|right)[ -]hand[ -]side\b", r"on the \1"),
    (r"\b(left|right)[ -]hand(?:[ -]side(?! (?:light|lamp)))?\b", r"\1"), (r"\b(left|right)[ -]?most\b", r"\1"),
    (r"\bdriver'?s'?(?: side)?\b|\bdriver side\b", "driverside"),
    (r"\bpassenger'?s'?(?: side)?\b|\bpassenger side\b", "passengerside"),
    (r"\b(?:all )?(?:down|along) (?:the )?(?=(?:whole )?(?:left|right|(?:near|off|driver|passenger)side)\b)", "on "),
    (r"\btell[ -]?tales?\b", "telltale"), (r"\bnumber[ -]?plates?\b", "number plate"), (r"\bsemi[ -]", ""),
    (r"\b(head|side|tail|fog|spot|brake|stop|park|parking|reverse|reversing|rear|plate|dash|dip|main)"
     r"(lamps?|lights?|lites?|beams?)\b", r"\1 \2"),
    (r"\bcan't|\bcannot", "can not"), (r"\b(do|does|did|is|are|was|were|has|have|would)n'?t\b", r"\1 not"),
    (r"\b(\w+)'s (?=(?:fine|ok|okay|good|new|dead|out|gone|dim|faint|dull|not|lit|blown|working|broken|flashing|"
     r"stuck|been|just|only|always|still|flickering)\b)", r"\1 is "),
    (r"\b(?!(?:it|he|she|that|what|there|who|here|let|vehicle|both)'s)(\w+)'s\b", r"\1"),
    (r"\b(dosent|doesent|dosnt|doesnt)\b", "does not"), (r"\bwont\b|\bwon't", "won't"), (r"\bain't\b", "is not"),
    (r"\bthat's\b", "that is"), (r"\s*[/&+]\s*", " and "), (r"-", " "), (r"\s*,[\s,]*", " , "), (r"\s+", " "),
))


@lru_cache(maxsize=64)  # a sentence is read, and then held against what was understood
def plain(text: str) -> str:
    """The sentence in small letters, words parted by one space; what is written in several ways is written in one."""
    said = f" {text.lower()} "
    for pattern, by in (*SOUNDS_LIKE, *_REPLACED):
        said = pattern.sub(by, said)
    return said.strip()
