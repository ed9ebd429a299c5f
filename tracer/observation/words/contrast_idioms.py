"""Turns of phrase that say two things of one lamp, or of two, by one word: "only", "until", "the other stays on",
"when I brake and when I reverse". Put into sentences that say both.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.act_idioms import acts_plainly
from tracer.observation.words.pair_idioms import HOW, ROWS
from tracer.observation.words.patterns import SIDE, Pattern, put_plainly
from tracer.observation.words.plain_words import SOUNDS_LIKE

_FUSE: Final = r"(?:(?:the |a |my |its |that )?(?:[\w-]+ ){0,2}?fuses?(?: (?:no\.? |number )?\d+)?|F\d+)"
_IN_REVERSE: Final = (
    r"(?:(?:in|on|with) (?:\w+ )?revers(?:e|ing)(?: gear)?(?: (?:in|on|engaged|selected))?|(?:when|whenever|with|if|"
    r"while|once|as soon as|every time) (?:(?!and\b|but\b)[\w']+ ){0,4}?(?:revers(?:e|es|ing)|back(?:s|ing)? up)(?: "
    r"gear)?(?: (?:is |goes )?(?:in|on|engaged|selected))?)"
)
_TAIL: Final = (
    rf"(?P<who>(?:(?:the|my|that|both|a|{SIDE}|driver'?s|passenger'?s|[lrno]/?[hs]|rear|back)(?:[ -]hand)?(?: side)? "
    rf")*"
    r"(?:tails?(?: ?(?:light|lamp)s?)?|(?:rear|back) (?:light|lamp)s?)(?: (?:on|at) the (?:\w+(?:[ -]hand)? "
    r")?(?:side|"
    rf"{SIDE}))?)"
)
_GLOWS: Final = (
    rf"(?:(?P<glow>(?:glow|glimmer)s?{HOW}?|(?:shows?|gives?|gets?)(?: off| out)? (?:only |just )*(?:a |the "
    rf")?(?:\w+ "
    rf")?(?:glow|glimmer)|(?:lights?(?: up)?|comes? (?:on|up)|shines?|burns?|(?:is |are )?lit){HOW}|(?:is|are) "
    r"(?:faint|dim)ly lit)|(?P<on>works?|lights?(?: up)?|comes? (?:on|up)|shines?|burns?|(?:is |are )?(?:lit|on))|"
    r"(?P<flick>"
    r"flickers?))"
)
_ONLY: Final = r"(?:only|just)(?: ever)?"
_NOT: Final = r"(?:never|does not|do not|doesn't|don't|won't|will not)(?: ever)?"
_BAR: Final = (r"(?:except(?:ing)?|unless|until|other than|apart from|but|bar)(?: for)?(?: (?:when|if) (?=in\b))?")
# "Only in reverse", however it is turned: it is dark else.
_ONLY_IN_REVERSE: Final = tuple(Pattern(rf"^\s*{said}(?:,? (?:and |but )?(?:it's |is )?(?:nothing|dead|dark|"
    r"out|no light|not)(?: at all)? (?:with|on|when|for|otherwise)\b[^,]*)?\W*$", 2) for said in (
    rf"only {_IN_REVERSE},? (?:does |do |will |is |are )?{_TAIL} {_GLOWS}",
    rf"(?:it's |it is )?only {_IN_REVERSE}(?: that|,) {_TAIL} {_GLOWS}",
    rf"(?:the )?only time(?: that)? {_TAIL} (?:ever )?{_GLOWS} is {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?only(?: ever)? {_GLOWS} {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?(?:{_ONLY} )?{_GLOWS},?(?: -)? (?:and |but )?(?:that's |it's )?only {_IN_REVERSE}",
    rf"{_TAIL} (?:will |does )?(?:{_ONLY} )?{_GLOWS} {_IN_REVERSE},? (?:and )?only(?: then| there)?",
    rf"{_TAIL} {_NOT} {_GLOWS},? {_BAR} {_IN_REVERSE}",
))
_UNTIL_REVERSE: Final = Pattern(
    rf"^\s*{_TAIL} (?:(?:is |stays |are )?(?:dead|dark|out|off|unlit)|{_NOT} (?:work|light(?: up)?|come on))(?: "
    rf"(?:all the time"
    rf"|always))?,? (?:until|til+|unless|except when|before) (?:\w+ ){{0,4}}?(?:reverse|reversing|backing|back "
    rf"up)(?: gear)?"
    rf"(?: (?:in|on|engaged|selected|is in|goes in))?,? ?(?:and |but )?(?:then |when )?(?:(?:it|they)(?:'s|'re| is| "
    rf"are)? |"
    rf"there's )?(?:just |only )?(?:a )?(?:(?:dull|dim|faint|weak|slight) )?(?:{_GLOWS}|(?P<dim>dim|faint|dull|"
    rf"weak)(?:ly)?"
    rf"(?: lit)?|(?P<none>))\W*$", 2)
_REAR_LIGHT: Final = Pattern(r"\b(?:rear|back) (?=(?:light|lamp))", 2)
# What is well until something is switched on, and then goes out: nothing is said of what else there is.
_MOVED: Final = (
    r"(?:brak\w*|revers\w*|indicat\w*|signal\w*|\w*lights?|lamps?|horn|hazards?|wipers?|blower|heater|"
    r"pedal)"
)
_ALL: Final = (
    r"(?P<who>(?:all |both |the |my |of |its )*(?:trailer|caravan|car|van)?(?:'s)? ?(?:lights|lamps|lot)(?: (?:on|"
    r"of) "
    r"(?:the |my )?(?:trailer|caravan))?|everything (?:on|at) (?:the |my )?(?:trailer|caravan|back|rear)"
    r"(?: of the \w+)?)"
)
_WELL: Final = (
    r"(?:(?:is|are|was|were|all|just|perfectly|quite|seem|look|'re|works?|working|(?:stays?|is|are) (?:on|lit)|light"
    r"(?: up)?) ?)*(?:fine|ok|okay|good|normal|all right|alright|perfect|works?|working|well|on|lit|light|there)?"
)
_GOES: Final = (
    r"(?:(?:it|they|the lot|everything|all of them) )?(?:all )?(?:just )?(?P<goes>(?:go(?:es)?|gets?) (?:all "
    r")?(?:out|off|"
    r"dim|dark|dead|faint|dull|black|down)|cuts? out|dies?|dims?|fades?|disappears?|vanish(?:es)?|drops? out|packs? "
    r"up)"
    r"|(?P<off>out|off) (?:it|they) go(?:es)?|(?:and )?(?:then )?(?P<none>nothing|nowt|darkness|blackness|dark|black)"
    r"(?: at all)?"
)
_UNTIL: Final = Pattern(
    rf"^\s*{_ALL} {_WELL},? ?(?:un|')?til+ (?P<when>(?=[^,]*\b{_MOVED}\b)[^,]+?)(?:,? (?:and |but )?(?:then |when )?"
    rf"(?:{_GOES})(?: altogether| again| completely)?)?\W*$", 2)
_UNTIL_OUT: Final = Pattern(
    rf"^\s*{_ALL} (?P<well>{_WELL}),? (?:but )?(?:then )?(?:(?P<i>i|you|we) )(?P<act>[^,]+?)(?:,| and|, and)(?: "
    rf"then)? "
    rf"(?:{_GOES})\W*$", 2)
_BUT_OUT: Final = Pattern(
    rf"^\s*{_ALL} {_WELL},? (?:but|then|and then) (?:they |it |all |just )*(?P<goes>go(?:es)? (?:out|off|dim|dead|"
    rf"dark)|"
    r"cuts? out|dies?|dims?|fades?) (?P<when>(?:when|whenever|as soon as|once|if|with|the moment|under|on) .+)$", 2)
# The other of two, after one that goes out.
_MATE: Final = Pattern(
    rf"^(?P<main>(?=.*\b(?:out|off|dies?|dead|dark|dims?|dim|fades?|faint|vanish\w*|disappear\w*|"
    rf"cuts?)\b)(?=.*\b(?:when"
    r"|with|on|in|under|if|whenever|as|brak\w+|press\w+|revers\w+|indicat\w+|signal\w+)\b)(?!.*\bonly\b)(?!(?:the |"
    r"my "
    rf")?(?:{SIDE})?(?:[ -]hand)? ?(?:brake|stop)s? ?l?)[^,]+?),?(?: (?:but|and|while|whereas|though|yet))?(?: "
    rf"(?P<not>"
    rf"not))? (?:the )?(?P<side>{SIDE}|other)(?:[ -]hand)?(?: (?:one|side|tail|light|lamp|tail ?light|tail ?lamp))*"
    r"(?(not)|(?: (?:just |still |happily )*(?:stays?|remains?|keeps?|burns?|carries)(?: (?:on|lit|alight|going|"
    r"burning|"
    r"bright|put|there|as it (?:is|was)|the same|unaffected))+|(?: is|'s)? (?:still (?:on|lit)|not affected|"
    r"unaffected)))"
    r"(?P<rest> (?:when|with) [^,]+)?\W*$", 2)
_ONE_OF_TWO: Final = Pattern(
    rf"^\s*(?:just |only )?one (?:of the )?(?P<who>(?:[\w/]+ ){{0,2}}?(?:tail|stop|brake|side|head|rear)? ?(?:light|"
    rf"lamp|tail)"
    rf")s? (?P<does>[^,]+?),? (?:(?:the|on the|it's the) )?(?P<side>{SIDE})(?:[ -]hand)?(?: one| side)?,? (?:and |"
    rf"but )?"
    r"(?:the )?other(?: one)? (?:just |still )*(?:stays? (?:on|lit)|is (?:fine|ok|good)|(?:is |'s )?(?:fine|ok|"
    r"unaffected|works|"
    r"good))\W*$", 2)
_LAMP: Final = Pattern(
    rf"\b(?P<towed>(?:trailer|caravan) )?{SIDE}(?:[ -]hand)? (?:rear |front |back )?(?P<lamp>tail|indicator|head "
    rf"?light|head ?lamp|"
    r"plate)\b", 2)
_STATE: Final = r"(?:when|whenever|if|with|in|on|under|while|every time|as soon as)"
_DOES: Final = (
    r"(?:brak(?:e|ing)|revers(?:e|ing)|(?:indicat|signal|signall)(?:e|ing)?(?: (?:left|right))?|dip(?:ping)?)")
# Two states, in each of which it is so.
_TWO_STATES: Final = Pattern(
    rf"^\s*(?P<said>(?P<fuse>{_FUSE} )?[^,]*?) (?:both |either )?(?P<a>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b"
    rf"(?: (?:left|right|on|gear|pedal|in))*)"
    rf"(?P<sep>,? (?:and|or|as well as|and also|and again|plus)(?: also)?) (?P<b>{_STATE} "
    rf"(?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: "
    r"(?:left|right|on|gear|pedal|in))*)(?: (?:too|as well|also|alike))?\W*$", 2)
_TWO_FIRST: Final = Pattern(
    rf"^\s*(?:both )?(?P<a>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: (?:left|right|on|gear))*) (?:and|or|as "
    rf"well "
    rf"as) (?P<b>{_STATE} (?:(?!{_STATE}\b)[^,])*?\b{_MOVED}\b(?: (?:left|right|on|gear))*),? (?P<said>{_FUSE} "
    rf".+)$", 2)
_OR: Final = Pattern(
    rf"^\s*(?P<said>[^,]+?) (?P<w>when|if|whenever|on|whether) (?P<i>(?:i |you |we )?)(?:either )?(?P<a>{_DOES}) or "
    rf"(?P<i2>(?:i "
    rf"|you |we )?)(?P<b>{_DOES})\W*$", 2)
_AND: Final = Pattern(
    rf"^\s*(?P<said>(?P<fuse>{_FUSE} )?[^,]+?) (?P<w>when|if|whenever|on|)(?(w) ?)(?P<i>(?:i |you |we "
    rf")?)(?P<a>{_DOES}) and "
    rf"(?P<i2>(?:i |you |we )?)(?P<b>{_DOES})\W*$", 2)
_BLOWS: Final = Pattern(r"\b(?:(?:blow|pop|go|melt|fail)(?:s|es|ing|n)?|blew|went|popped)\b", 2)
_ONE_WAY: Final = Pattern(
    r"\b(?:one (?:side|way)\b.*\b(?:the )?other|the other (?:side|way|one)|only one (?:side|way)|on one side)\b", 2)
_RATE: Final = Pattern(r"\b(?:too |very |twice as )?(?:fast|quick|rapid|slow)\b|\bdouble speed\b", 2)
_SIDED: Final = Pattern(rf"\b(?:{SIDE}|trailer|caravan)\b", 2)
_NOT_WHEN: Final = Pattern(
    rf"^\s*(?P<said>(?P<fuse>{_FUSE}) [^,]*?\b{_MOVED}[^,]*?),? (?:but )?not (?P<b>{_STATE} "
    rf"[^,]*\b{_MOVED}\b[^,]*)$", 2)
_GOES_ON: Final = Pattern(r"\bgoes\s*$", 2)
_BEAMS: Final = Pattern(r"\b(?P<no>both|neither|either) §(?P<b>\w+)§", 2)
_SIDES: Final = {"near": "nearside", "off": "offside"}


def contrasts_plainly(text: str) -> str:
    """The sentence as it says both of what it tells by one word; several sentences where it takes them."""
    for sounds, written in SOUNDS_LIKE:
        text = sounds.sub(written, text)
    text = put_plainly(text.rstrip(), ROWS)
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
        on = found["on"] or found["none"] is not None
        return f"{who} dead. {who} {'comes on' if on else 'flickers' if found['flick'] else 'glows'} in reverse"
    if found := _UNTIL.match(text) or _BUT_OUT.match(text):
        goes = found["goes"] or "go out"
        return f"{found['who']} {_as_many(goes, found['who'])} {_when(found['when'])}"
    if found := _UNTIL_OUT.match(text) if " i " in small or " you " in small or " we " in small else None:
        return f"{found['who']} {_as_many(found['goes'] or 'go out', found['who'])} when {found['i']} {found['act']}"
    if found := _ONE_OF_TWO.match(text):
        return f"{found['side']} {found['who']} {acts_plainly(found['does'])}, the other one is fine"
    if found := _MATE.match(text):
        main = acts_plainly(found["main"])
        lamp = _LAMP.search(main) if found["side"].lower() != "other" else None
        other = f"the {found['side']} one" if lamp is None else f"{lamp['towed'] or ''}{found['side']} {lamp['lamp']}"
        return f"{main}{found['rest'] or ''}, {other} is fine"
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
    if found := _NOT_WHEN.match(text):
        return f"{found['said']}. {found['fuse']} holds {found['b']}"
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
        second = f"{w} {found['i2'] or found['i']}{found['b']}"
        return f"{said} {w} {found['i']}{found['a']}. {said} {second}", text
    return ()


def one_and_the_other(text: str) -> tuple[str, ...]:
    """Of "fast one side, normal the other" the two ways in which it may be meant; nothing of other sentences."""
    if not _ONE_WAY.search(text) or _SIDED.search(text) or not (rate := _RATE.search(text)):
        return ()
    return tuple(f"{a} indicators {rate.group()}, {b} indicators normal" for a, b in (("left", "right"), ("right",
        "left")))


def _beams(found: re.Match[str]) -> str:
    main = found["b"].lower() in ("main", "full", "high")
    beam = "main beam" if main else "dipped beam"
    return f"both {beam}s" if found["no"].lower() == "both" else f"neither {beam}"


def _as_many(goes: str, who: str) -> str:
    """What they do, of one or several as they are spoken of."""
    return goes if not who.lower().startswith("everything") else re.sub(r"^(go|die|dim|fade)\b", r"\1es", goes)


def _when(said: str) -> str:
    return said if re.match(rf"{_STATE}\b|the moment", said, 2) else f"when {said}"
