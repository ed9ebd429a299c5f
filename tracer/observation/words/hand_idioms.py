"""What is done to a lamp with the hand, in whatever form it is told, put as when it is tapped: "give it a knock and
it works", "needs a thump", "has to be hit to come on" are "works when I tap it".

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

PERSON: Final = r"(?:(?:i|i've|you|you've|we|we've|he|she)(?: just| only)? )?"
# What is done with the hand.
_HIT: Final = (
    r"(?:tap|thump|kick|hit|wiggl|slam|bang|knock|shak|jiggl|wagg?l|clout|slap|smack|rap|whack|belt|bash|prod|nudg|"
    r"pok|rattl|twist|clonk)(?:es|ed|ping|ging|ting|king|ing|e|s|ped|ged)?\b"
)
_BLOW: Final = (
    r"(?:tap|thump|kick|hit|wiggle|slam|bang|knock|shake|jiggle|clout|slap|smack|whack|belt|bash|poke|nudge|touch)"
)
_PLACE: Final = (
    r"(?:lens|lense|lamp|light|unit|cluster|wing|boot|body|bodywork|bed|side|back|end|tailgate|lid|door|bumper|panel|"
    r"holder|bulb|plug|connector|wiring|wires?|loom|glass|housing|casing|cover|fender|mudguard|bonnet|corner|tail|"
    r"stop|reflector|bracket|case)"
)
_NOT_HIT: Final = (  # what is pressed, or driven over
    r"foot|brake|horn|pedal|button|switch|door|key|bump|pot|hump|hole|kerb|rut|cobble|rough|road|reverse|main|dip|"
    r"full|lights|indicator|stalk|hazard|speed|gear|lever"
)
_NOT_WHAT: Final = rf"(?! (?:(?:on|in|down|up|a|an|the|my|some|any|to) )*(?:\w+ )?(?:{_NOT_HIT}))"
_HITTING: Final = (
    rf"(?:(?:(?:giv(?:e|es|ing)|gave) (?P<it>it|them|(?:the |its )?(?:[\w/]+ ){{0,3}}?[\w/]+) (?:a |one )(?:\w+ "
    rf")?{_BLOW}|{_HIT}{_NOT_WHAT}(?: (?:on|at|against))?(?: (?P<it2>it|them|that))?)(?: (?:on |at |in )?(?:the |its "
    rf"|my )?(?P<what>(?:(?!(?:and|it|they|the)\b)[\w/-]+ ){{0,3}}?{_PLACE}(?: of (?:the |its "
    rf")?\w+)?)\b)?{_NOT_WHAT})"
)
_WORKS: Final = (
    r"(?:works?|(?:comes?|came) (?:on|back|good|alive|up)|lights?(?: up)?|is (?:fine|ok|back)|goes|wakes up|shines)"
)
_AGAIN: Final = r"(?: again| on| up| fine| to life| for a (?:bit|while))*"
_WITH_WHAT: Final = r"(?: with (?:a|my|the) \w+)?"
_TAPPED: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # "Left tail, tap it and it works".
    ((" and ", ", ", " then "),
     rf"^\s*(?P<who>(?!when|if|with)[^,:]+?)(?:[:,]| -| is dead,| dead,) {PERSON}{_HITTING}(?:,? and|,|,? then) "
     rf"(?:then )?(?:it|they) (?:{_WORKS}){_AGAIN}(?:,? (?:and |but )?then (?:it |they )?(?:go(?:es)?|dies?|is|"
     rf"cuts?) "
     rf".*)?\s*$",
     r"\g<who> works when I tap it"),
    ((" and ", ", ", " then "),
     rf"^\s*(?:if |when )?{PERSON}{_HITTING}(?:,? and|,|,? then) (?:then )?(?P<who>(?!it\b|they\b)[^,]+?) "
     rf"(?:{_WORKS}){_AGAIN}\s*$", r"\g<who> works when I tap it"),
    ((" on the ", " to the ", " and "),
     rf"^\s*(?:a|one) (?:\w+ )?{_BLOW} (?:on|to|at) (?:the )?[\w/ ]+?(?:,? and| makes| gets| brings) (?P<who>[^,]+?) "
     rf"(?:{_WORKS}|work|back|on|to work|come on|light){_AGAIN}\s*$", r"\g<who> works when I tap it"),
    ((" bring", " get", " make", " set", " wake"),
     rf"^\s*{_HITTING} (?:brings?|gets?|makes?|sets?|wakes?) (?P<who>(?!it\b|them\b)[^,]+?) (?:back|on|up|to life|to "
     rf"work|work|going|working|come on|light)(?: up)?{_AGAIN}\s*$", r"\g<who> works when I tap it"),
    ((", a ", " but a ", " and a "),
     rf"^\s*(?P<who>[^,]+?) (?:is )?(?:dead|out|dark|not working),? (?:but |and )?a (?:\w+ )?{_BLOW}(?: on [\w ]+?)? "
     rf"(?:makes|gets|brings|sets) (?:it|them) (?:work|on|back|going|to work|to light|light|come on|to life)\s*$",
     r"\g<who> works when I tap it"),
    (("have to", "need to", "got to"),
     rf"^\s*(?:i |you |we |i've |you've )?(?:have|need|got|has) to {_HITTING}{_WITH_WHAT} to (?:get|make) (?P<who>it|"
     rf"[^,]+?) (?:to )?(?:work|light(?: up)?|come on|go|working|going|on|lit)\s*$", r"\g<who> works when I tap it"),
    (("if ", "when "),
     rf"^\s*(?:if|when|whenever) {PERSON}{_HIT}(?: (?:on|at))? (?P<who>(?!it\b|them\b)(?:the |my )?[^,]+?),? "
     rf"(?:and )?(?:then )?(?:it|they) "
     rf"(?:{_WORKS}){_AGAIN}\s*$", r"\g<who> works when I tap it"),
    (("if ", "when ", "once "),
     rf"^\s*(?:if|when|once) (?:tapped|hit|thumped|knocked|banged|shaken|wiggled|slapped),? (?P<who>(?:the |my "
     rf")?[^,]+?) (?:{_WORKS}){_AGAIN}\s*$",
     r"\g<who> works when I tap it"),
    (("have to", "need to", "got to"),
     rf"^\s*(?:i |you |we |i've |you've )?(?:have|need|got) to {_HIT} (?P<who>(?:the |my "
     rf")?(?:(?!\bto\b)[^,])+?)\s*$", r"\g<who> works when I tap it"),
    ((" back", " on", " again"),
     rf"^\s*(?P<who>(?:(?! (?:goes|go|is|out|dead|dies)\b)[^,])+?) (?:(?:sometimes |just )?(?:goes|go|is) (?:out|"
     rf"off|dead|dark)|out|dead|dies),? (?:and |but |then )?(?:it )?(?:comes?|goes) (?:back|on)(?: on| again)? "
     rf"(?:when|if|after) (?:i |you )?{_HIT}[^,]*\s*$", r"\g<who> works when I tap it"),
    (("need", "want"),
     rf"^\s*(?P<who>[^,]+?) (?:needs?|wants?|takes?) (?:a |some )?(?:\w+ )?(?:{_BLOW}|tapping|thumping|hitting|"
     rf"banging)(?: (?:to|before it|before they|and then it) (?:work|works|light|lights|come on|comes on|go)(?: up)?|"
     r" to get it (?:going|on|to work|working))\s*$", r"\g<who> works when I tap it"),
))
_WHO_HIT: Final = (
    Pattern(rf"^\s*{PERSON}{_HITTING}(?:,? and|,|,? then) (?:then )?(?:it|they) (?:{_WORKS}){_AGAIN}\s*$", 2),
    Pattern(rf"^\s*{_HITTING} (?:brings|gets|makes|sets|wakes) (?:it|them) (?:back|on|up|work|going|working|come on|"
        rf"light)"
            rf"{_AGAIN}\s*$", 2),
)
_WHEN_HIT: Final = Pattern(
    rf"\b(?:(?P<w>when|whenever|if|once|after|by|unless|until|till|as|every time|each time) "
    rf"{PERSON}{_HITTING}{_WITH_WHAT}|(?:with|after) (?:a |one )(?:\w+ )?{_BLOW}\b(?: (?:on|at) (?:the |its "
    rf")?[\w/]+)?)", 2)
_COMES_BACK: Final = Pattern(r"\b(?:comes?|go(?:es)?) (?:back|right|good|alive)(?: on| to life| again)* when I tap "
 r"it", 2)
_TAPPED_FIRST: Final = Pattern(r"^when I tap it(?=,? \w),? ?", 2)
_HELPS: Final = Pattern(
    rf",? (?:and |but )?(?:{_HIT}|a {_BLOW})(?: it| them)? (?:helps|cures it|does it|sorts it|brings (?:it|them) "
    rf"back)\s*$", 2)
UNLESS: Final = ("unless", "until", "till")
_A_LAMP: Final = Pattern(r"\b(?:side ?|head ?|tail ?|brake ?)?(?:light|lamp|tail|stop|indicator|winker|fog|beam|"
 r"headlight|headlamp|horn|plate)s?\b", 2)
HITS: Final = ("tap", "thump", "kick", "hit", "wig", "slam", "bang", "knock", "shak", "jig", "wag", "clout", "slap",
                "smack", "rap", "whack", "belt", "bash", "prod", "nudg", "pok", "rattl", "twist", "give", "clonk")


def taps_plainly(text: str) -> str:
    """The sentence with what is done to a lamp with the hand as "when I tap it"."""
    return _TAPPED_FIRST.sub("when I tap it, ", by_hand(text)) if any(h in text.lower() for h in HITS) else text


def by_hand(text: str) -> str:
    """The sentence with whatever is done to a lamp with the hand as "when I tap it"."""
    for pattern in _WHO_HIT:
        if found := pattern.match(text):
            who = next((w for w in (found["it"], found["what"]) if w and _A_LAMP.search(w)), "")
            if who:
                return f"{who} works when I tap it"
    for hints, pattern, plain in _TAPPED:
        if any(h in text.lower() for h in hints) and (found := pattern.match(text)):
            if found["who"].lower() == "it" and (who := next((w for w in (found["it"], found["what"]) if w), "")):
                return f"{who} works when I tap it"
            if not _A_LAMP.search(found["who"]):
                continue
            return pattern.sub(plain, text)
    text = _WHEN_HIT.sub(lambda m: f"{m['w'] if (m['w'] or '').lower() in UNLESS else 'when'} I tap it", text)
    return _HELPS.sub(" when I tap it", _COMES_BACK.sub("works when I tap it", text))
