"""Turns of phrase about lamps, put into the words that are read: "out on both beams" is main and dip out, "and that
stays off" is that it is off, "on that side" the side that was named, "the pedal does not put it on" that it does not
work with the pedal.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import SIDE, Pattern

_LOOK: Final = (
    r"(?:out|dead|dim|faint|off|gone|dark|weak|not working|flickering|flickers|doesn't work|don't work|won't work|"
    r"isn't working|aren't working|stays on|stay on)"
)
_TELLS: Final = (
    r"\b(?:is|are|isn't|aren't|does|doesn't|do|don't|works?|working|dim|dead|out|off|on|fine|ok|lit|bright)\b"
)
_DIP: Final = r"(?:dips?|dipped|low)(?: beams?)?"
_MAIN: Final = r"(?:mains?|full|high)(?: beams?)?"
_AND_ON: Final = r"(?:and|or)(?: on)?"
_BEAMS: Final = rf"(?:both beams|either beam|(?:both )?(?:{_MAIN} {_AND_ON} {_DIP}|{_DIP} {_AND_ON} {_MAIN}))"
_CORNER: Final = rf"(?P<place>{SIDE} (?:front|rear)|(?:front|rear|back) {SIDE}) corner\b"
_HEADLAMP: Final = r"head ?(?:light|lamp)"
_UNIT: Final = rf"(?P<side>{SIDE} )?{_HEADLAMP}(?: unit)?"
_SHINES: Final = r"(?:burns?|works?|lights?(?: up)?|comes? on|is (?:on|lit))"
_MIDDLE: Final = r"(?P<one>(?:third|3rd|high|upper|top|cent(?:re|er)|middle)(?:[ -](?:level|mounted))?)"
_CONTROL: Final = r"(?:[\w']+ ){0,3}?(?:pedal|lever|brake|switch|stalk|button|knob)"
_NOT_ON: Final = (
    rf"^\s*(?:the |my )*(?P<one>{_CONTROL}) (?:doesn't|does not|won't|will not|fails to) "
    r"(?:put|bring|turn|switch|work|operate|light)s?(?: on)? (?P<who>(?:the |my )?[\w ]+?)(?: on| up)?"
)
_ONE_BRAKE: Final = r"(?:front|rear|back|foot|hand) one"
_PEDAL: Final = r"(?:pedal|lever|brakes?)"
# What does something to another lamp, which is named last.
_DOES_TO: Final = (
    r"^\s*(?:the |my |with |when |turning |switching )*(?P<what>(?:(?:left|right) )?(?:indicators?|winkers?|"
    r"blinkers?|hazards?|brakes?|(?:brake|stop|head|side|revers\w+|fog|tail) ?(?:light|lamp)s?|main beam|full beam|"
    r"horn|wipers?|blower|heater))(?: switch)?(?: on)? "
)
_TO_WHOM: Final = (
    r" (?P<who>(?!the moment |as soon |at |on |in |when |with |if |over |as |and |but |a |out |off |for |"
    r"after |some|now|again|inter"
    r"|occas|alto|compl|just|like )(?:the |my |both |all )?[\w ]+)$"
)
_PUTS_OUT: Final = r"(?:kills?|cuts?(?: out| off)?|puts? out|knocks? out|turns? off|switch(?:es)? off)"

# In this order; each with what it is put into.
_ROWS: Final = tuple((Pattern(said, 2), plain) for said, plain in (
    (r"\b(?:stays?|staying|stayed|remains?) (?=(?:off|dark|dead|out|unlit|dim|faint|bright|fast|slow)\b)", "is "),
    (r"\b(?P<not>(?:not|isn't|aren't) (?:blinking|flashing|winking)),? (?:but |it's |it is |they're |they are )?just "
     r"(?:lit|on)\b", r"\g<not>, stays on"),
    (r"\b(?:when|whenever|while|if|with) the (?:boot|lid|tailgate|hatch|bonnet)(?: lid)? (?:is )?"
     r"(?:open|up|shut|closed|down)\b", "when I move it"),
    # All lamps on one side, not the side lamps.
    (r"\b(?P<all>all (?:of )?(?:the |my |its )?)(?P<side>left|right)(?:[ -]hand)? side (?P<what>lights|lamps)\b",
     r"\g<all>\g<side> \g<what>"),
    # Both beams of a headlamp.
    (rf"^(?P<who>(?:(?!{_HEADLAMP})[^,])*?)\b{_HEADLAMP}s?\b(?P<does> [^,]*?),? (?:on|in|at|with) {_BEAMS}"
     r"(?= *(?:$|,))",
     r"\g<who>dip and main both\g<does>"),
    (rf"^(?P<who>.*?)\b{_HEADLAMP}s?,? {_BEAMS}(?P<does> .*)$", r"\g<who>dip and main both\g<does>"),
    (r"\b(?:on|for|in|during) (?:a |the )?(?P<side>left|right)(?:[ -]hand)? turns?\b(?! ?-?(?:signal|light|lamp|"
     r"indicator))", r"when I signal \g<side>"),
    (r"^\s*no (?P<one>[\w ]+?),? (?:but )?(?:just|only) (?:the )?(?P<two>[\w ]+)$", r"no \g<one>, \g<two> works"),
    (r"^\s*(?:just|only) (?:the )?(?P<two>[\w ]+?),? (?:and )?no (?P<one>[\w ]+)$", r"\g<two> works, no \g<one>"),
    (r"\bsometimes works?,? (?:and |but )?sometimes (?:not|doesn't|don't|does not|do not)\b", "works sometimes"),
    (r"\bworks? sometimes,? (?:and |but )?sometimes (?:not|doesn't|don't|does not|do not)\b", "works sometimes"),
    (r"\bworks? (?:again )?for (?:a (?:while|bit|time|few \w+)|weeks|days|hours)\b", "works"),
    (r",? but (?:none|not one)(?: of them)? (?=(?:with|on) )", ", but not "),
    (r"\b(?P<who>indicators?|winkers?|blinkers?|flashers?|turn signals?|hazards?(?: lights)?) (?:will )?"
     r"(?:stops?|quits?|ceases?) (?:flashing|blinking|winking)\b", r"\g<who> do not flash"),
    (r"(?P<one>(?:\bnot|n't) (?:flash|blink|wink)(?:ing)?\b.*?\b(?:rest|others?)"
     r"(?: of (?:them|the \w+(?:[ -]hand)? side))?) (?:is|are|do|does)\s*$", r"\g<one> flash"),
    # "Tails dead both".
    (r"(?P<start>^\s*|, |\bbut |\band )(?:the |my )?"
     r"(?P<who>(?:(?!both|all|no|but|and)[\w/-]+ ){0,3}?"
     r"(?:lights|lamps|tails|stops|repeaters|indicators|plates|markers|fogs)) "
     r"(?P<look>(?:very |quite )?(?:dead|out|dim|weak|faint|dark|fine|ok|good)) both(?= *(?:$|,))",
     r"\g<start>both \g<who> \g<look>"),
    # The beams without a word of which: those of the tell-tale that was just spoken of, else what headlamps have.
    (r"^(?P<one>.*?\b(?:main|full|high) beam (?:[\w-]+ ){0,4}?(?:tell-?tale|warning|light|lamp|repeater|indicator)\b"
     r".*?(?:,|\bbut|\bthough|\balthough|\byet|\band|;)(?: the)?) beams\b", r"\g<one> main beams"),
    (r"^(?P<the>\s*(?:the |my |all |no )?)beams(?= (?!and\b|or\b)|\s*$)", r"\g<the>headlights"),
    # By the position of the light switch, or the beam.
    (r"^\s*(?:the )?(?P<what>head|side)s?(?: ?light)? position(?: on the switch)? (?:is )?"
     r"(?:does nothing|dead|does not work|doesn't work)\s*$", r"\g<what> lights dead"),
    (r"^\s*(?:the |my )?lights? (?:work|works|are (?:ok|fine|good)) (?:on|in) (?P<one>side|head)s?(?: position)?,? "
     r"but (?:not|dead) (?:on|in) (?P<two>side|head)s?(?: position)?\s*$",
     r"\g<one> lights work, \g<two> lights dead"),
    (r"^\s*on (?P<beam>dip(?:ped)?|main|full|high|low)(?: beam)?,? (?:only|just) (?:the )?"
     rf"(?P<side>{SIDE})(?: one| side| head ?lamp| head ?light| lamp)? {_SHINES}\s*$",
     r"only the \g<side> \g<beam> beam works"),
    # The job card's own words.
    (r"^\s*(?:please |pls )?(?:check|investigate|look at|look into|see to|inspect|report(?:ed|s)?|cust(?:omer)? "
     r"(?:states|reports|complains)(?: that| of)?|fault|defect)\s*[:,-]? (?=.* )", ""),
    (r"\b(?:flash|blink|wink)(?:es|s|ed)? (?:just |only )?once,? "
     r"(?:and |but |then )*(?:just |then )?(?:stays?|remains?) (?:on|lit)\b",
     "do not flash, just stay on"),
    (r"^\s*(?P<on>(?:when|with|while|if|whenever) (?:the |my )?(?:brake|stop|revers(?:e|ing)|side|tail|head|fog) ?"
     r"(?:lights|lamps)(?: are)? on) (?=(?:the|my|both|all|left|right|front|rear) )", r"\g<on>, "),
    (r"\bside ?(?P<what>light|lamp)s?(?: at)?(?: the)? front (?P<or>and|or|nor) (?:the )?(?:back|rear)\b",
     r"side \g<what>s \g<or> tail \g<what>s"),
    # What lights instead, and what then does not.
    (r"^(?P<one>.*?\b(?:lights?(?: up)?|comes? on|glows?|flash(?:es)?|is lit)) instead of (?P<two>[^,]+)$",
     r"\g<one>, \g<two> does not"),
    (r"^\s*reversing(?: (?:the|my|a) \w+)?, ", "when reversing, "),
    (r"^\s*(?:the )?(?:indicator|indicating|signalling|signaling|signal|turn signal|winker|blinker)s?"
     r"(?: switch| stalk)?(?: to the| on| to)? (?P<side>left|right) ?[:,-] ", r"when I signal \g<side>, "),
    (r"^(?P<all>\s*when .+?, .+?),? (?:in time )?with (?:it|them)\s*$", r"\g<all>"),
    (r"\bboth sides (?=(?:flash|blink|wink))", "all indicators "),
    # When only.
    (r"\b(?:won't|will not|don't|do not|doesn't|does not) (?P<does>work|come on|light(?: up)?|shine|burn) unless ",
     r"only \g<does> when "),
    (r"\b(?:when(?:ever)? )?(?:whichever|whatever|either|no matter which|no matter what) (?:way|side) "
     r"(?:i |you |we |he |she )?(?P<does>signal|indicate|turn)(?:s|ling|ing)?\b", "when I signal"),
    # How bright, by another lamp.
    (r"\b(?:is |are |looks? |just |only )*(?:as dim as|like|no brighter than|only as bright as|the same as) "
     r"(?:a |the )?(?:tail|side) ?(?:light|lamp)?s?\s*$", "is dim"),
    (r"\b(?:just )?as bright as (?:a |the )?(?:stop|brake) ?(?:light|lamp)?s?\b", "too bright"),
    (rf"\b(?P<look>{_LOOK}) (?=(?:the )?(?:{SIDE}|other) one\b)", r"\g<look>, "),
    (r" with the others?\s*$", ""),
    # What one thing does to another.
    (r"^\s*(?:press|touch|hit|us|apply|putt)ing (?:on )?(?:the |my )?(?:foot ?)?brakes?(?: pedal)?(?: on)? "
     rf"(?P<does>dims?|{_PUTS_OUT}) (?P<who>.+)$", r"with the brake lights on \g<does> \g<who>"),
    (rf"{_DOES_TO}(?:dims?|makes? dim){_TO_WHOM}", r"\g<who> go dim when \g<what> on"),
    (rf"{_DOES_TO}{_PUTS_OUT}{_TO_WHOM}", r"\g<who> go out when \g<what> on"),
    # What is in the headlamp, and all of it.
    (r"\b(?:little|small|tiny|wee|parking|pilot|side) (?P<what>light|lamp|bulb) (?:in|inside) (?:the |its )?"
     rf"{_UNIT}\b", r"\g<side>side \g<what> of the headlamp"),
    (rf"\b(?:whole of the |the whole |whole |all of the |entire |complete ){_UNIT}\b", r"\g<side>dip and main both"),
    (rf"^\s*(?:the |my )?{_UNIT}[:,-] nothing works\s*$", r"\g<side>dip and main both dead"),
    (r",? ?\b(?:when|where|but|though) (?:it|they) should(?: be)? (?:flash|blink)(?:ing)?\b|"
     r" (?:instead of|rather than) (?:flashing|blinking|winking)\b", " and does not flash"),
    # The stop lamp in the middle.
    (rf"^\s*only (?:the )?{_MIDDLE} (?P<what>brake|stop)(?: (?:light|lamp))? "
     r"(?:works?|comes on|lights?(?: up)?|is lit)\s*$",
     r"\g<one> \g<what> light works, left and right \g<what> lights dead"),
    (r"^\s*(?:no |the |all )*(?P<what>brake|stop) ?(?:lights?|lamps?)(?: (?:are )?(?:all )?(?:out|dead|not working|"
     r"don't work))?,? (?:except(?: for)?|bar|apart from|but not|other than) (?:the )?"
     rf"{_MIDDLE}(?: (?:one|(?:brake|stop)(?: light| lamp)?))?\s*$",
     r"\g<one> \g<what> light works, left and right \g<what> lights dead"),
    (r"(?<=on) (?:but|and|with),? no (?:flash|blink)(?:ing)?\b|(?<=light),? (?:but|and) no (?:flash|blink)(?:ing)?\b",
     " and does not flash"),
    (r"\b(?:(?:little|small|tiny|wee|green|orange|amber) )*(?:indicator )?(?:repeater|arrow)(?: light| lamp)? (?:on|"
     r"in) the (?:dash|dashboard|panel|instruments|instrument panel|cluster)\b", "indicator tell-tale"),
    (r"\b(?:dash|dashboard|panel|instrument)(?: board)? (?:indicator )?repeater(?: light| lamp)?\b", "indicator "
     "tell-tale"),
    (r"\b(?:indicator )?(?:repeater|light|lamp)s? (?:on|in) (?:the )?(?:dash|dashboard|instruments|cluster) "
    r"(?=(?:doesn't"
     r"|does not|won't|isn't) (?:flash|blink|wink))", "indicator tell-tale "),
    (r"^\s*(?:the |a )?(?P<one>(?!no |neither |nothing )(?:[\w/-]+ ){0,3}?(?:light|lamp|beam|tail|"
    r"indicator)s?),? but no "
     r"(?P<two>[\w/ -]+?(?:light|lamp|beam|stop|tail|indicator|brake)s?)\s*$", r"\g<one> works, no \g<two>"),
    (r"^\s*one (?P<who>(?:[\w-]+ ){0,3}?(?:light|lamp|beam|indicator|bulb)) (?:is )?(?:fine|ok|okay|good|"
    r"works?|working),? "
     r"(?:and |but )?(?:the )?other(?: one)? (?P<look>(?:is )?(?:out|dead|dim|faint|not working)|doesn't(?: "
     r"work)?|does not"
     r"(?: work)?)\s*$", r"one \g<who> \g<look>"),
    # Of two alike that is out which should not be.
    (r"^\s*(?:(?:i|we|you|it|there)(?:'ve|'s| is| have| has)? )?(?:got )?only (?:(?:have|has|got) )?one "
     r"(?P<who>(?:of (?:the |my )?)?[\w ]*?(?:light|lamp|indicator|winker|blinker)s?)"
     r"(?: (?:is |are )?(?:works?|working|lit|on|comes? on|shines?|lights? up))?\s*$", r"one \g<who> dead"),
    (rf"(?P<look>\b{_LOOK}),? (?:and |also )?(?P<who>(?:the |my )?(?!it\b|they\b|that\b|i\b)(?:(?!{_TELLS})[\w'/]+ ?)"
     r"{1,5}?) (?:too|as well|likewise|with (?:it|them)|(?:(?:is|are|does|do|goes) )?(?:(?:just|exactly) "
     r")?(?:the )?same)"
     r"\s*$", r"\g<look>, \g<who> \g<look>"),
    (rf"\b(?:on|in|at) the {_CORNER}", r"at the \g<place>"),
    (rf"\b(?:the |my )?{_CORNER}", r"everything at the \g<place>"),
    (r" (?:just )?(?:next to|beside|alongside) (?:it|that one)\b", " on that side"),
    (r"\b(?:the )?(?:two others|other two|others two)\b", "the others"),
    # What is on in the wrong gear.
    (r"\b(?P<what>(?:revers\w*|back ?up)\b.*?\b(?:on|lit|go (?:off|out)))\b,? (?:even )?"
     r"(?:in (?:every|any|all|each|whatever|forward|first|top|the other)"
     r"(?: (?:the )?(?:other )?(?:gears?|positions?))?|in neutral|(?:in|out of) gear|"
     r"whatever gear (?:it's|it is|i'm|i am|the box is) in|regardless of (?:the )?gear|"
     r"(?:when |though )?(?:it's |it is |i'm |i am )?(?:not in|out of) reverse)\s*$", r"\g<what>"),
    # Which control puts it on, and which does not.
    (rf"{_NOT_ON}(?:,? (?:but|though|and|yet)|,) (?:the |my )*(?P<two>{_CONTROL}|{_ONE_BRAKE}) (?:does|will)\s*$",
     r"\g<who> won't work with the \g<one>. \g<who> works with the \g<two>"),
    (r"^(?P<said>.*\bbrake\b.*) with the (?P<which>front|rear|back|foot|hand) "
     r"one\b", r"\g<said> with the \g<which> brake"),
    (rf"{_NOT_ON}\s*$", r"\g<who> won't work with the \g<one>"),
    (r",? ?\b(?:even )?(?:after|when|once) (?:i |you |we |he |she |they |it )?(?:let(?:ting)? go(?: of)?|"
     rf"(?:let|letting) (?=(?:the |my )?{_PEDAL} (?:go|up)\b)|releas(?:e|ed|ing)|"
     r"(?:take|taken|took|lift) my (?:foot|hand) off) (?:the |my )?(?:(?:front|rear|foot|hand) )?(?:brake )?"
     rf"{_PEDAL}(?: go| up)?\b", ""),
    (r"\bwhen(?:ever)? (?:i |you |he |she )dip\b(?= *(?:$|[,.]))", "on dip"),
    (r"\bwith (?:the |my )?tails?\b(?= *(?:$|[,.]))", "with the tail lights on"),
))
_SIDES: Final = Pattern(
    r"\b(?P<left>left|lh|lhs|l/h|n/s left)\b|\b(?P<right>right|rh|rhs|r/h)\b|"
    r"\b(?P<near>near ?side|n/s|ns[rf]?)(?!\w)|\b(?P<off>off ?side|o/s|os[rf]?)(?!\w)", 2)
_NAMED: Final = {"left": "left", "right": "right", "near": "nearside", "off": "offside"}
_THAT_SIDE: Final = Pattern(
    r" (?:(?:on )?that side|on (?:that corner|the same (?:side|corner))|(?:of|in|on) the same (?:side|lamp|cluster|"
    r"unit|light))\b", 2)


def _that_side(text: str) -> str:
    """With the side that "on that side" speaks of; as it is where none was named, or two were."""
    found = _THAT_SIDE.search(text)
    if not found:
        return text
    named = {k for m in _SIDES.finditer(text[: found.start()]) for k, v in m.groupdict().items() if v}
    if len(named) != 1:
        return text
    return f"{text[: found.start()]} on the {_NAMED[named.pop()]}{text[found.end() :]}"


def lamps_plainly(text: str) -> str:
    """The sentence with its turns of phrase about lamps in plain words."""
    for pattern, plain in _ROWS:
        text = pattern.sub(plain, text)
    return _that_side(text)
