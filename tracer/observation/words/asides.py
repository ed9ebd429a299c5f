"""What is said beside the complaint and tells nothing of a lamp: the number of a vehicle, who stopped it, what
somebody takes to be the cause. Taken out, and said back as what was not used.

Common practice, no source: how job cards, owners and drivers speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.patterns import Pattern

_CAUSE: Final = (
    r"(?:earth|ground|wiring|wire|fuse|relay|bulb|connection|connector|corrosion|corroded|short|contact|loom|rust|"
    r"damp|"
    r"flasher (?:unit|can)|alternator|battery|fault)"
)
_GUESS: Final = (
    r"(?:(?:it's |it is |that's |is |so |so it's )*(?:probably|prob|maybe|perhaps|possibly|likely|presumably|must "
    r"be|could "
    r"be|might be|has to be|gotta be|suspected|suspecting|suspect|looks like|sounds like|smells like|thinking|"
    r"assume)|"
    r"(?:so )?i(?:'d| would|'m)? (?:think|thinking|reckon|suspect|guess|bet|say|guessing|presume|assume))"
)
_VEHICLES: Final = (
    r"(?:car|motor|tractor|bike|motorbike|motorcycle|moped|scooter|lorry|truck|wagon|van|pick ?up|coach|bus|vehicle|"
    r"old "
    r"girl|"
    r"old (?:car|van|bus)|landrover|artic|unit)"
)
_ASIDES: Final = tuple((hints, Pattern(said, 2)) for hints, said in (
    # The number of a vehicle, or of a job.
    (("unit", "fleet", "vehicle", "job", "wagon", "truck"), r"^\s*(?:unit|fleet|vehicle|job|job card|wagon|truck|"
     r"reg(?:istration)?)(?: ?(?:no\.?|number|#))? ?[a-z]{0,2}\d+[a-z]{0,3}\b\s*(?:[:;,.]|-+)?\s+(?=\S+ \S)"),
    # Who stopped it, or where it is due.
    (("police", "cops", "copper", "old bill", "pulled over", "mot ", " test"),
     r"(?:,|\.| -| and| so) ?(?:and |so )?(?:(?:the |a )?(?:customer|driver|owner|i|he|she|we|they|it|got|was|been|"
     r"has|had|"
     r"i've|have) ?)*(?:(?:stopped|pulled(?: over| up)?|done|booked|fined|warned|told) by (?:the |a )?(?:police|"
     r"cops?|"
     r"copper|old bill|law|traffic)|(?:needs?|due|up) (?:for )?(?:an? |its |the )?(?:mot|test|inspection)|mot (?:is "
     r")?(?:due|"
     r"tomorrow|next week|on \w+))\b[^,.;]*$"),
    # What somebody takes to be the cause.
    ((), rf"(?:,|;| -+|\.) ?(?:[^,;.]*\bso )?{_GUESS}\b[^,;.]*\b{_CAUSE}\w*(?: \w+)?\W*$"),
    ((), rf"(?:,|;| -+|\.) ?(?:(?:a |an |bad |poor |dodgy |dirty |loose )+{_CAUSE})(?: (?:i|he) (?:think|reckon|"
     rf"suppose)s?| ?\?|"
     r" probably| maybe| perhaps)\W*$"),
    # What the battery does of it.
    (("battery",), r"(?:,| and| so| -+) ?(?:and |so )?(?:it |that |which )?(?:(?:has |have )?(?:a )?flat battery|"
     r"(?:the |my )?"
     r"battery(?:'s| is| goes| was| keeps going| gets| always)? (?:flat|dead|drained)|(?:runs?|drains?|flattens?|"
     r"kills?|kill"
     r"ing|flattening|draining) (?:the |my )?battery(?: flat| down)?)\b[^,;]*$"),
    # Who tells it: the man behind, a driver's report.
    (("report", " say", " tell", " told", " complain"),
     r"(?:,|;|\.| -+) ?(?:the )?(?:driver|customer|owner|client|drver|he|she)(?:'s| has| have)? ?(?:reports?|"
     r"reported|says?|"
     r"said|complains?|complained|tells? me|told me|reckons?)(?: that| it's| it is| of)?(?= \w)"),
    (("report", " say", " complain"), r",? (?:the )?(?:driver|customer|owner|client) (?:reports?|says|complains|"
     r"states|tells me)\W*$"),
    (("called", "rang", "phoned", "says", "said"), r"^(?:mr|mrs|miss|ms|dr)\.? \w+ (?:called|rang|phoned|says|said|"
     r"reports?)(?: to say| in| up)?(?: that|[,:])? +(?=\S+ \S)"),
    # Words that only lend force.
    (("mate", "please", "pal ", "luv", "sir", "cheers", "ta ", "guv"),
     r",? \b(?:mate|pal|luv|love|sir|guv|guvnor|please|pls|cheers|thanks|ta)\b(?=\W*$|,)"),
))
_FAILED: Final = Pattern(
    r"^\s*(?:it |she |he |the \w+ |my \w+ |car |van )?(?:has |have |'s |just )*(?:fail(?:ed|s|ure)?|refused|knocked "
    r"back)(?: "
    r"(?:the|its|it's|an?|her|his|my))? ?(?:mot|m\.o\.t\.?|inspection|test|annual test)?(?: (?:on|for|with|because "
    r"of|due to|"
    r"over|at))?(?: (?:the|its|a))? ?[:,-]? ?(?=\S+ \S)", 2)
_ON_VEHICLE: Final = Pattern(rf",? on (?:the|my|our|his|her|this|dad's|mum's|my \w+?'?s) {_VEHICLES}(?=\W*$|,| "
 rf"(?:only|is|are|"
                             r"goes|go|won't|doesn't|when|if|with|has|have|comes?|works?|lights?)\b)", 2)
_TOWED: Final = Pattern(r"\b(?:trailer|caravan|van)\b", 2)
_HAVE: Final = Pattern(r"^(?:(?:i|we|you|he|she|they)(?:'ve| have|'s| has)|there's|there is|there are|it has) "
 r"(?:got )?no(?= \w)", 2)
_NOT_GOT: Final = Pattern(r"^(?:(?:i|we|you|he|she|they) )?(?:ain't got|aint got|haven't got|havent got|hasn't got|"
 r"have not got|don't have|dont have|haven't) "
                          r"(?:no|any|a)(?= \w)", 2)
_THIS_ONE: Final = Pattern(r" (?:on|with) (?:this|that) (?:one|job|car|motor|van|old girl)(?=\W*$| at all)", 2)
_FEW: Final = 2  # words that have to be left


def without_asides(text: str, tows: bool) -> tuple[str, list[str]]:
    """The sentence without what tells nothing of a lamp, and what that was, as it was said.

    Args:
        tows: Whether a trailer belongs to the vehicle: whose lamp it is tells something then.
    """
    small, dropped = text.lower(), list[str]()
    for hints, pattern in _ASIDES:
        if not hints or any(h in small for h in hints):
            text = _without(pattern, text, dropped)
    if "fail" in small or "refused" in small:
        text = _without(_FAILED, text, dropped)
    text = _THIS_ONE.sub("", _HAVE.sub("no", _NOT_GOT.sub("no", text)))
    if not tows and not _TOWED.search(text):
        text = _ON_VEHICLE.sub("", text)
    return text, dropped


def _without(pattern: Pattern, text: str, dropped: list[str]) -> str:
    found = pattern.search(text)
    if found is None or not found.group().strip():
        return text
    left = f"{text[: found.start()]}{',' * bool(found.start() and text[found.end():].strip())}{text[found.end():]}"
    if len(left.split()) < _FEW:
        return text
    dropped.append(found.group().strip(" ,.;:-"))
    return left
