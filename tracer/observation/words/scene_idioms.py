"""Turns of phrase about when it is so and what was done, put into the words that are read: "I press the brake and the
tails go dim" is "when I press the brake, …", "trailer plugged in and …" is with the trailer, "since I fitted the
radio the clock lamp is out" has a comma.

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from typing import Final

from tracer.observation.words.cause_idioms import only_there
from tracer.observation.words.patterns import Pattern, put_plainly

_STARTS: Final = (
    r"(?:the|my|both|all|no|none|nothing|everything|each|either|left|right|near ?side|off ?side|n/s|o/s|rear|front|"
    r"back|brake|stop|tails?|indicators?|winkers?|blinkers?|flashers?|head ?lights?|side ?lights?|horn|wipers?|dash|"
    r"lights?|fuse|f\d+)\b"
)
_LOOKS: Final = (
    r"\b(?:is|are|goes|go|gets?|comes?|came|won't|don't|doesn't|isn't|aren't|do|does|dead|out|off|dim|faint|flick\w+|"
    r"flash\w*|blink\w*|glows?|blow(?:s|ing|n)?|blew|pop(?:s|ping)?|keeps?|works?|stays?|dies?|dims?|cuts?|pulses?|"
    r"weak|dull|dark|bright|lit|on)\b"
)
_TRAILER: Final = r"(?P<what>trailer|caravan)"
_COUPLED: Final = r"(?:plugged in|connected|hooked up|hooked on|hitched(?: up)?|coupled(?: up)?|on the back|on)"
_WHAT: Final = (
    r"(?:the |my )?(?P<what>(?:(?!(?:turn|switch|putt)ing)[\w/-]+ ){0,3}?(?:lamps?|lights?|beam|fogs?|blower|heater|"
    r"fan|wipers?|horn))"
)
_ALL: Final = r"(?:everything(?: else)?|all (?:of )?the (?:other |rest of the )?(?:lights|lamps))"
_WELL: Final = r"(?:normal|fine|ok|okay|good|all right|perfect)"

# What must stand in the sentence for a row to be tried, the row, and what it is put into; in this order.
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    ((" and ",),
     r"\b(?P<when>when|whenever|if|while|as soon as|every time|each time) (?P<who>i|you|we|he|she) "
     r"(?P<one>(?!am\b)[^,]{3,40}?) and "
     r"(?P<two>(?:brake|indicate|signal|reverse|press|put|switch|turn|sound)\b(?! ?-?(?:light|lamp|signal|switch"
     r"|pedal|indicator)))", r"\g<when> \g<who> \g<one> and \g<when> \g<who> \g<two>"),
    # What one thing does to all the others.
    (("everything", "all the"),
     rf"^\s*(?:if |when |whenever )?(?:i |you |we )?(?:turn|switch|put) (?:on )?{_WHAT}(?: on)?,? (?:(?:it |that )"
     rf"(?:makes? )?)?{_ALL} (?P<does>(?:go|goes|get|gets|is|are) (?:all )?(?:dim|faint|out|off|dull|weak)|dims?)"
     r"(?: down)?\s*$", r"everything \g<does> when \g<what> on"),
    (("everything", "all the"),
     rf"^\s*(?:(?:turning|switching|putting) (?:on )?)?{_WHAT}(?: on)? (?:dims? {_ALL}|(?:makes?|turns?) {_ALL} "
     r"(?:to )?(?:go |goes |get |turn )?(?:dim(?:mer)?|faint|dull|weak))(?: down)?\s*$",
     r"everything goes dim when \g<what> on"),
    (("trailer", "caravan"),
     rf"^\s*(?:with |when )?(?:the |my |a )?{_TRAILER} (?:is )?{_COUPLED}(?:,? and|,) ", r"with the \g<what> on, "),
    (("hitch", "hook", "coupl", "plug"),
     r"(?:^|(?<=, )|(?<=but ))(?:if |when )?(?:i |you |we )?(?:hitch|hook|couple|plug)(?: (?:it|(?:the|my) "
     r"(?:trailer|"
     r"caravan)))? (?:up|in|on)(?: (?:the|my) (?:trailer|caravan))?,? (?:and|then) ", "with the trailer on, "),
    (("unplug", "disconnect", "unhitch", "unhook", "uncouple"),
     r"^\s*(?:if |when )?(?:i |you |we )?(?:unplug|disconnect|unhitch|unhook|uncouple) (?:the |my )(?P<what>trailer|"
     r"caravan)(?: plug)?,? (?:and|then) (?P<who>.+?) (?:works?|comes? back|is|are)(?: (?:again|back|on|"
     rf"{_WELL}))*\s*$", r"\g<who> dead with the \g<what> on"),
    (("without it", "without one", "when it's off", "without the ", "on its own", "on her own", "by itself"),
     rf"^(?P<with>.*\bwith the (?:trailer|caravan)\b.*?),? (?:but |and |they are |they're )*(?:without (?:it|one|the "
     r"trailer|the caravan)|when it's off),? (?:they|it|all|everything)(?:'re|'s| are| is)?(?: all)? (?:"
     rf"{_WELL}|works?)\s*$", r"\g<with>, fine without the trailer"),
    (("on its own", "on her own", "by itself", "solo"),
     rf"^\s*(?:the |my )?(?:car|van|truck|tractor|lorry)(?: is|'s)?(?: all)? {_WELL} (?:on its own|on her own|by "
     r"itself|solo),? (?:but |and )?(?P<rest>.+)$", r"\g<rest>, fine without the trailer"),
    (("hazard", "indicator", "winker", "lights on"),
     r"^\s*(?P<when>with|when) (?P<what>(?:the |my )?(?:hazards?(?: lights)?|indicators?|winkers?|(?:head|side"
     r"|brake|fog)? ?lights)(?: are)? on) (?=(?:the )?(?:left|right) (?:ones?|hand|lamps?|lights?|tail|stop|brake"
     r"|indicator|head|side ?light|rear|front)\b)", r"\g<when> \g<what>, "),
    (("put ", "switch", "turn"),
     r"\b(?P<when>(?:when|whenever|as soon as|if|once) i (?:put|switch|turn) (?:the |my )?(?:head|side|fog)? "
     r"?(?:lights|lamps) on) (?=the (?:left|right) )", r"\g<when>, "),
    (("boot", "tailgate", "lid", "hatch", "bonnet", "pod", "flap"),
     r"\b(?P<who>(?:boot|tailgate|lid|hatch|bonnet|pod|flap)s?\b.*?) (?:when|whenever|if|once) (?:i |you |we "
     r")?(?:open|lift|raise|shut|close|slam|lower)s? (?:it|them)\b", r"\g<who> when I move it"),
    (("reverse",), r"^\s*(?:reverse|reverse gear) (?:in|engaged|selected),? ", "when I put it in reverse, "),
    (("indicator ", "indicators ", "winker", "signal "),
     r"^\s*(?:the )?(?:indicators?|winkers?|signal) (?:(?:to|on) the )?(?P<side>left|right),? and (?=(?:the|both"
     r"|all|everything|rear|tails?|it)\b)", r"when I signal \g<side>, "),
    (("'ve got", "have got"),
     r"\b(?P<when>when|if|while|whenever) (?:i|you|we)(?:'ve| have) got (?P<what>(?:(?:the|my) )?(?:\w+ ){1,3}on)\b",
     r"\g<when> \g<what>"),
    (("corner", "bend", "roundabout"),
     r"\b(?:when|whenever|if|as|every time|each time) (?:i |you |we |he |she )?(?:go|turn|drive|take|goes"
     r"|turns)(?: (?:round|around|into))? (?:a |the |any )?(?:(?:left|right|sharp|tight)(?:[ -]hand)? )?(?:corner"
     r"|bend|roundabout)s?\b",
     "when it is moved"),
    (("engine", "ignition", "key"),
     r"(?P<start>^\s*|, |\bbut |\band )(?P<what>(?:the )?(?:engine|ignition|key) (?:on|off|running|stopped)),? "
     r"(?:and )?(?=(?:the |all |both |my |left |right |everything |lights |no |every |each "
     r")(?!.*\bwhen\b))", r"\g<start>with "
     r"\g<what>, "),
    (("engine ",), r"(?P<look>\b(?:dim|poor|weak|dull|fine|ok|okay|bright|good|normal|faint|low|yellow|all right)),? "
     r"(?P<what>engine (?:is )?(?:off|running|stopped|not running))\b", r"\g<look> with the \g<what>"),
    (("problem", "trouble", "issue"),
     r"^\s*(?:i |we |he |she )?(?:have|has|having|had|got|'ve got) (?:got )?(?:a |an |some )?(?:problem|"
     r"trouble|issue)s? with "
     r"(?:the |my )?(?P<who>[\w/ ]+?), (?:it |that |they )?(?=is |are |won't|does|do )", r"\g<who> "),
    (("nor ",),
     r"(?P<start>^\s*|, |\bbut |\band )neither (?:the |my )?(?P<one>[\w ]+?) nor (?:the |my )?(?P<two>[\w ]+?) "
     r"(?:works?|comes? on|lights?(?: up)?|goes|does anything)(?= *(?:$|,| but\b| and\b))",
     r"\g<start>\g<one> dead, \g<two> dead"),
    (("left with",), r"\b(?:and |then )?(?:i am|i'm|we are|we're|it's|it is) (?:only |just )?left with "
    r"(?:only |just )?(?P<who>"
     r"[\w ]+?)\s*$", r"\g<who> work"),
    (("switch",),
     r"(?P<stays>\b(?:stays?|still|on|lit|glows?|burns?)\b[^,]*?),? (?:(?:the|its|with|after|when) "
     r")*(?:(?:fog|hazard|"
     r"light|lamp) )?switch "
     r"(?:is )?off\s*$", r"\g<stays>"),
    (("switch",),
     r"\b(?P<stays>(?:stays?|still|is|are|always) on) (?:even )?(?:with|when|after) (?:the |its )?switch "
     r"(?:is |turned "
     r"|switched )*off\b", r"\g<stays>"),
))
# "When the horn is blown", "with reverse selected": what is done to a control, in the passive.
_PASSIVE: Final = Pattern(
    r"\b(?:when|whenever|while|once|if|with|after) (?:the |my )?(?P<what>(?:(?:left|right|rear|front|head|"
    r"side|fog|work"
    r"|main|high|full|dip(?:ped)?|low|brake|hazard|foot|plough) ?)*(?:horn|hooter|reverse(?: gear)?|beams?|main|dip|"
    r"indicators?|winkers?|blinkers?|"
    r"lights?|lamps?|fogs?|hazards?|brakes?|wipers?|blower|heater|fan|pedal|lever))(?: (?:is|are|being|been|"
    r"gets|get))*"
    r" (?P<done>chosen|selected|operated|engaged|activated|used|applied|depressed|blown|sounded|pushed|pulled|working"
    r"|running|runs|run|kicks? in|starts?|started|pressed)\b", 2)
_BY_HAND: Final = ("pedal", "lever", "brake", "brakes")
_PRESSED: Final = ("operated", "applied", "used", "depressed")
# What somebody does with "it": with what was named last that it can be done with.
_WITH_IT: Final = Pattern(
    r"(?P<act>\b(?:when|whenever|if|once|after|as) (?:i |you |we |he |she )?(?:press|push|close|shut|open|"
    r"sound|toot|apply"
    r"|release)(?:s|es|ing)?) (?:it|them)\b", 2)
_HANDLED: Final = Pattern(r"\b(?:horn|hooter|door|brakes?|pedal|lever)\b", 2)
_SINCE: Final = Pattern(
    r"(?:^|(?<=, ))(?:ever |but |and )*(?:since|after(?= (?:i|we|he|she|they|somebody|someone|the garage|having"
    r"|fitting|changing)\b| (?:the|a|my|our) [^,]*?\b(?:went|was|were|got|came)\b)) (?P<what>[^,]+)$", 2)
# "Brake lights dead since the MOT and no tail lights": what else is told.
_AND_MORE: Final = Pattern(rf"(?P<work>\bsince [^,]+?) (?:and|but) (?=no |{_STARTS}[^,]*{_LOOKS})", 2)
_BEGINS: Final = Pattern(rf" (?={_STARTS})", 2)
_TELLS: Final = Pattern(_LOOKS, 2)
_DONE: Final = Pattern(
    r"\b(?:(?:wired|fitted|put|plugged|built) (?:\w+ ){1,3}(?:in|on|up)|(?:went|put|gone|came|fitted|wired|plugged|"
    r"screwed|bolted) (?:back )?in|(?:went|gone|bolted|screwed|fitted) (?:back )?(?:on|off))$", 2)
# What no account of the work ends with.
_GOES_ON: Final = Pattern(
    r"\b(?:the|a|an|my|his|her|its|new|old|other|both|all|no|left|right|rear|front|back|near ?side|off ?side|n/s"
    r"|o/s|of|to|with|at|by|for|and|or|from|under|in|on|brake|stop|tail|head|fog|horn|dash|indicator|fuse)$|(?:^"
    r"|\b(?:i|we|he|she|they|you|garage|mate|man|someone|somebody|who|and)(?:'ve)? )(?:(?:have|had|just|also) "
    r")*(?:fitted|changed|replaced|had|put|got|did|bought|washed|welded|wired|mended|repaired|renewed|painted"
    r"|swapped|towed|cleaned|moved|took|removed)$", 2)


def scene_plainly(text: str) -> str:
    """The sentence with what was done, and when it is so, in plain words."""
    return only_there(_since(_active(put_plainly(text, _ROWS))))


def _active(text: str) -> str:
    """What is done to a control said as "with it on", and "it" by its name."""
    held = _WITH_IT.search(text)
    if held and (named := [*_HANDLED.finditer(text[: held.start()])]):
        text = f"{text[: held.start()]}{held['act']} the {named[-1].group()}{text[held.end():]}"
    found = _PASSIVE.search(text)
    if found is None or (found["what"].split()[-1] in _BY_HAND and found["done"] not in _PRESSED):
        return text
    what = found["what"]
    if what.startswith("reverse"):
        return f"{text[: found.start()]}in reverse{text[found.end():]}"
    hand = " pressed" if what.split()[-1] in _BY_HAND else " on"
    return f"{text[: found.start()]}with the {what}{hand}{text[found.end():]}"


# "Bodyshop did the wing and F4 has blown ever since", "trailer socket fitted, F1 keeps blowing since".
_EVER_SINCE: Final = Pattern(
    r"^\s*(?P<work>[^,]*\b(?:fitted|wired|installed|put|did|done|had|repaired|welded|painted|went|replaced|changed|"
    r"swapped|renewed|worked)\b[^,]*?)(?:,? and|,|,? but) (?:now )?(?P<told>.+?),? (?:ever )?since(?: then)?\s*$", 2)
_STARTED: Final = Pattern(
    r"\b(?P<who>F\d+|fuse \d+|[\w ]*fuse) (?:has |have )?started (?P<does>blowing|popping|going)\b|,? (?:it |this |"
    r"which |that )?(?:all |only )?(?:started|began)(?: (?:doing it|this|it))? (?:right |just )?(?=after |when )", 2)
_AFTER_WORK: Final = Pattern(
    r"(?<=\w )after (?=(?:fitting|wiring|installing|adding|putting in|changing|replacing|having) (?:a|an|the|my|new|"
    r"in)\b)", 2)
_AFTER: Final = Pattern(r"after $", 2)
_AFTER_THAT: Final = Pattern(r"\b(?:right |just )?(?:after|when) (?=(?:the|a|i|we|they|my|it|he|she|somebody|"
    r"someone)\b)", 2)


def _since(text: str) -> str:
    """"Since I fitted the radio the clock lamp is out": with a comma where the complaint begins."""
    if "since" not in text.lower() and "after " not in text.lower():
        return text
    text = _AFTER_WORK.sub("since ", text)
    if found := _STARTED.search(text):
        again = f"{found['who']} keeps {found['does']}" if found["who"] else " "
        text = f"{text[: found.start()]}{again}{_AFTER_THAT.sub('since ', text[found.end():], 1)}"
    if (found := _EVER_SINCE.match(text)) and _TELLS.search(found["told"]):
        text = f"{found['told']} since {found['work']}"
    text = _AND_MORE.sub(r"\g<work>, ", text)
    found = _SINCE.search(text)
    if found is None:
        return text
    what, before = found["what"], text[: found.start("what")]  # up to where the work is told
    for start in _BEGINS.finditer(what):
        work, told = what[: start.start()], what[start.end():]
        if len(work.split()) > 1 and not _GOES_ON.search(_DONE.sub("done", work)) and _TELLS.search(told):
            return f"{_AFTER.sub('since ', before)}{work}, {told}"
    return text
