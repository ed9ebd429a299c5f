"""What somebody does with a control or with the hand, in whatever form it is told, put as when it is so: "press the
pedal and …", "going into reverse makes …", "engage reverse: …", "the moment the brake goes down" are "when I brake";
"give it a knock and it works" is "when I tap it".

Each row is common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.hand_idioms import HITS, PERSON, UNLESS, by_hand
from tracer.observation.words.patterns import SIDE, Pattern

_THE: Final = r"(?:(?:the|my|your|its|her|his|a|any) )?"
_ON: Final = r"(?: (?:on|in|down|up|over|back|right|hard))*"
_PRESS: Final = (
    r"(?:press|push|touch|hit|appl[yi]|us[ei]|tread|step|stand|stamp|dab|pump|hold|squeeze|work|operat[ei]|tap"
    r"(?= (?:on )?(?:the )?(?:brake|pedal)))(?:es|s|ting|ping|bing|ing|ng|ed|e)?"
)
_SWITCH: Final = (
    r"(?:switch|turn|put|flick|click|knock|pull|flip|go|change|chang|move|mov|select)(?:es|s|ting|ing|ed)?"
)
_LAMPS: Final = (
    r"(?:(?:side|head|tail|fog|parking|work|full|main|high|dip(?:ped)?|low)s? ?)?(?:lights?|lamps?|beams?)"
)
_SIDED: Final = rf"(?:(?:{SIDE}|passenger'?s?|driver'?s?|front|rear|back)(?:[ -]hand)?(?: side)? )*"
_INDICATORS: Final = r"(?:indicators?|winkers?|blinkers?|flashers?|turn signals?)"
_NO_LAMP: Final = r"(?! ?-?(?:lights?|lamps?|fluid|switch|one|is|are|itself)\b)"
# What is done, and as what it is put: with a part in braces where a group of it says which.
_ACTS: Final = tuple((Pattern(rf"{said}$", 2), said, plain) for said, plain in (
    (rf"{_PRESS}{_ON} {_THE}(?:foot ?)?(?:brake pedal|brakes?|pedal)(?: on| down| in)?{_NO_LAMP}", "when I brake"),
    (r"(?:put|get|stick|keep|have)(?:ting|ping|ing)? (?:my |your |a |the )?foot (?:down )?on (?:the )?"
     r"(?:foot ?)?(?:brake pedal|brakes?|pedal)(?: down)?", "when I brake"),
    (r"(?:put|putting|get|getting|stick|sticking) (?:the )?brakes? on", "when I brake"),
    (rf"brak(?:e|ing){_NO_LAMP}", "when I brake"),
    (r"(?:put|stick|pop|drop|shove|knock|get|throw|slip|bung)(?:ting|ping|ing|s)? (?:it |her |him |the \w+ )?"
     r"(?:in|into|in to) reverse(?: gear)?", "in reverse"),
    (r"(?:go|shift|chang)(?:e|ing)? (?:in|into|in to|to) reverse(?: gear)?", "in reverse"),
    (r"(?:select|engag|choos|find|us|hit)(?:es|s|ing|ed|e)? reverse(?: gear)?", "in reverse"),
    (rf"(?:revers(?:e|ing)|back(?:ing)? up){_NO_LAMP}", "in reverse"),
    (rf"{_SWITCH} (?:(?:up|over|back|on|down) )?(?:to|onto|on to) {_THE}(?P<b>main|full|high|dip|dipped|low)(?: "
     rf"?beams?)?",
     "on {b} beam"),
    (rf"{_SWITCH} (?:(?:up|over|back|on|down) )?(?:to|onto|on to) {_THE}(?P<l>side|head)(?: ?lights?| ?lamps?|s)?",
     "with the {l} lights on"),
    (rf"{_SWITCH} (?:on )?{_THE}(?P<l>side|head)(?:lights?|lamps?|s)(?: on)?", "with the {l} lights on"),
    (rf"(?:switch|turn|put|flick|click|pull)(?:es|s|ting|ing|ed)? (?:on )?{_THE}(?P<l>{_LAMPS})(?: on)?",
     "with the {l} on"),
    (r"(?:indicat|signal)(?:e|l?ing|s)? (?:to the )?(?P<s>left|right)", "when I signal {s}"),
    (r"(?:indicat|signal)(?:e|l?ing|s)?(?: either way| either side| both ways| both sides)?", "when I indicate"),
    (rf"(?:switch|turn|put|use|us)(?:ing|ting|s)? (?:on )?{_THE}(?P<s>left |right )?{_INDICATORS}"
     rf"(?: (?P<t>left|right))?(?: on)?", "with the {s}indicators {t} on"),
    (rf"(?:switch|turn|put|use|us)(?:ing|ting|s)? (?:on )?{_THE}hazards?(?: ?(?:lights|flashers|warning))?(?: on)?",
     "with the hazards on"),
    (rf"(?:press|push|hit|sound|blow|us[ei]|try|honk|hoot|prod|jab)(?:es|s|ting|ing|ng|ed|e)?{_ON} {_THE}"
     r"(?:horn|hooter)(?: (?:button|push|ring|pad))?", "with the horn on"),
    (rf"(?:press|push|hit|prod|jab)(?:es|s|ting|ing|ed)?{_ON} {_THE}button", "with the horn on"),
    (rf"open(?:s|ing|ed)?(?: up)? {_THE}(?P<d>{_SIDED})doors?", "when I open the {d}door"),
    (r"(?:start|fir)(?:e|ing|s|ed)?(?: up)? (?:the |my )?(?:engine|motor)(?: up)?", "with the engine running"),
    (r"(?:stop|switch|turn|kill|shut)(?:ping|ing|s|ped|ed)?(?: off| down)? (?:the |my )?(?:engine|motor)(?: off| "
     r"down)?",
     "with the engine off"),
))
_THINGS: Final = r"(?:the |my )?(?:foot ?)?(?:brake pedal|brakes?)(?! ?(?:light|lamp))|reverse(?: gear)?"
_ACT: Final = "(?P<act>" + "|".join(re.sub(r"\(\?P<\w+>", "(?:", said) for _, said, _ in _ACTS) + ")"
_AGENT: Final = f"{_ACT[:-1]}|{_THINGS})"
_START: Final = r"(?P<start>^\s*|, (?:and |but |then )?)"
_TELLS: Final = (
    r"\b(?:is|are|goes|go|gets?|comes?|came|won't|don't|doesn't|isn't|aren't|do|does|dead|out|off|dim\w*|faint\w*|"
    r"flick\w+|flash\w*|blink\w*|glow\w*|glimmer\w*|blows?|pops?|works?|stays?|dies?|cuts?|puls\w+|weak|dull|dark|"
    r"poor|bright\w*|lit|lights?(?: up)?|on|nothing|no|not|fad\w+|vanish\w*|disappear\w*|drops?|dips?|gives?|"
    r"pack\w*)\b"
)
_FUSE: Final = (
    r"(?P<fuse>(?:the |a |my |its |another |that )?(?:[\w-]+ ){0,2}?fuses?(?: (?:no\.? |number )?\d+)?|F\d+)"
)
_ANOTHER: Final = r"(?P<who>(?:the |my |both |all |its |all the |one |either )*[\w/'-]+(?: [\w/'-]+)*?)"
_BARE: Final = (
    r"(?:go|come|light|glow|flash|flicker|pulse|pulsate|blink|wink|die|dim|fade|blow|pop|dip|work|glimmer|stop|"
    r"flicker|drop|cut|brighten|burn|shine|sound|turn|stay)"
)
_SILENCE: Final = (
    r"(?:there's |there is |you get |i get )?(?:nothing|nowt|no sound|no noise|not a (?:sound|thing|peep|squeak|"
    r"murmur|whisper|sausage)|silence|no response|no reaction)(?: happens| at all| comes out| to be heard| "
    r"whatsoever)*"
)
_NOTHING: Final = rf"(?:{_SILENCE}|(?:does|did) (?:nothing|nowt)|(?:doesn't|does not|won't) do (?:anything|a thing))"
# Where the parts are told apart, in this order; "{when}" is the act.
_PUT: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # "Press the horn and nothing", "X: did that, nothing".
    (("horn", "hooter", "button"), rf"{_START}(?:when |if |with )?(?:{PERSON}{_ACT}|(?:the )?(?:horn|hooter)(?: "
     rf"(?:button|push))? (?:is )?(?:pressed|pushed|operated))(?:,? and| then|,|:| -)? "
     rf"{_NOTHING}\s*$", "{start}horn dead"),
    ((" noth", " not ", " no ", " nowt", " silen"),
     rf"^\s*(?P<who>(?!when|if|with)[^,:]+?)(?:[:,]| -) {PERSON}{_ACT}(?:,? and| then|,|:| -)? {_SILENCE}\s*$",
     "{who} dead {when}"),
    # "The tails are on, then I brake and they're off".
    ((" they", " it"),
     rf"^\s*(?P<who>[^,]+?) (?:is |are )?(?:on|lit|fine|ok|okay|good|works?)(?: fine| ok)?,? (?:but |and )?(?:then "
     rf")?(?:when )?{PERSON}{_ACT}(?:,? and|,|,? then) (?:then )?(?:it|they)(?:'s|'re| is| are)? (?:go(?:es)? "
     rf")?(?P<what>off|out|dim|dead|dark|faint)\s*$", "{who} works. {who} goes {what} {when}"),
    # What an act does to a fuse, and to a lamp.
    ((" blow", " pop", " take", " kill", " knock", " melt", " lose", " cost"),
     rf"{_START}{PERSON}{_AGENT} (?:blows?|pops?|takes? out|kills?|knocks? out|melts?|loses?|costs(?: me)?) {_FUSE}"
     r"(?: (?P<soon>straight ?away|at once|immediately|instantly|every time|each time))?\s*$", "{start}{fuse} blows "
     "{soon} {when}"),
    ((" mak", " caus", " get", " send", " set", " has", " let"),
     rf"{_START}{PERSON}{_AGENT} (?:makes?|causes?|gets|sends|sets|lets|has) {_ANOTHER} (?:to )?"
     rf"(?P<does>{_BARE}\b[^,]*?)(?P<rest>,.*|)$", "{start}{who} {does} {when}{rest}"),
    ((" mak",), rf"{_START}{PERSON}{_ACT} (?:makes?) {_ANOTHER} (?P<does>dim|faint|dull|dead|weak)\s*$",
     "{start}{who} goes {does} {when}"),
    ((" kill", " put", " cut", " turn", " switch", " knock", " take"),
     rf"{_START}{PERSON}{_AGENT} (?:kills?|puts? out|cuts?(?: out| off)?|turns? off|switch(?:es)? off|knocks? out|"
     rf"takes? out) {_ANOTHER}\s*$", "{start}{who} go out {when}"),
    ((" dim", " dull", " weaken"), rf"{_START}{PERSON}{_ACT} (?:dims?|dulls|weakens) {_ANOTHER}(?: down)?\s*$",
     "{start}{who} go dim {when}"),
    ((" faintly", " dimly", " a bit", " slightly"),
     rf"{_START}{PERSON}{_ACT} (?:lights(?: up)?|brings (?:on|up)|turns on|puts on) {_ANOTHER} (?:faintly|dimly|a "
     rf"bit|slightly)\s*$", "{start}{who} glows {when}"),
    ((" pull", " drag", " bring", " take"),
     rf"{_START}{PERSON}(?:{_AGENT}|(?:the )?{_INDICATORS}) (?:pulls?|drags?|brings?|takes?) {_ANOTHER} down\s*$",
     "{start}{who} go dim {when}"),
    ((" light", " bring", " turn", " put", " set", " trigger", " switch"),
     rf"{_START}{PERSON}{_ACT} (?:lights(?: up)?|brings (?:on|up)|turns on|puts on|sets off|triggers|switches on) "
     rf"{_ANOTHER}(?: too| as well)?\s*$", "{start}{who} comes on {when}"),
    ((" puts ", " put ", " turns ", " knocks ", " takes ", " cuts ", " switches "),
     rf"{_START}{PERSON}{_AGENT} (?:puts?|turns?|knocks?|takes?|cuts?|switches) {_ANOTHER} (?:out|off)\s*$",
     "{start}{who} go out {when}"),
    (("n't ", " not "),
     rf"{_START}{PERSON}{_ACT} (?:doesn't|does not|won't|will not|fails to) (?:put|bring|turn|switch|light|operate|"
     rf"work|give)(?: on| up)? {_ANOTHER}(?: on| up)?\s*$", "{start}{who} dead {when}"),
    ((" bring", " clear", " cure", " fix"), rf"{_START}{_ACT} (?:brings? (?:it|them) (?:back|on|in|up)|cures it)\s*$",
     "{start}works {when}"),
))
# "Press it and …", said before what is so then.
_THEN: Final = Pattern(
    rf"{_START}{PERSON}{_ACT}(?P<sep>,? and(?: then)?|,? then|,|:| -) (?=.*{_TELLS})"
    r"(?!(?:when|with|on|in|if|and) )", 2)
_THEY: Final = Pattern(r"(?:the|my|both|all|it|they)\b", 2)
# After "brake and …", which else begins a list of lamps.
_SUBJECT: Final = Pattern(
    rf"(?:the|my|both|all|it|they|only|just|no|nothing|neither|{SIDE}|rear|front|back|everything|a|fuse|f\d+)\b", 2)
# "Pressing the brake the tails go out": what is done, with nothing after it that parts.
_DOING: Final = Pattern(
    rf"{_START}(?:when |while |on |by )?(?=\w+ing\b){_ACT} (?=(?:the|my|both|all|it|they|{SIDE})\b.*{_TELLS})", 2)
_FUSE_NEXT: Final = Pattern(r"(?:the |a |my )?fuse|f\d+\b", 2)
# What must stand in the sentence for those to be tried: compiling them takes time.
_CONTROLS: Final = (
    "brake", "pedal", "foot", "revers", "engine", "motor", "main", "full", "high", "dip", "low", "sides", "heads")
_STEMS: Final = (
    "press", "push", "touch", "hit", "appl", "us", "tread", "step", "stand", "stamp", "dab", "pump", "hold", "squeez",
    "operat", "work", "switch", "turn", "put", "flick", "click", "knock", "pull", "flip", "go", "chang", "mov",
    "select", "brak", "revers", "back up", "backing", "engag", "choos", "find", "open", "start", "fir", "stop",
    "kill", "shut",
    "indicat", "signal", "get", "stick", "keep", "have", "pop", "drop", "shove", "throw", "slip", "bung", "shift",
    "sound", "blow", "try", "honk", "hoot", "prod", "jab")
_AS_I: Final = Pattern(
    r"(?<!soon )\bas (?:i|you|we) (?=(?:brake|indicate|signal|reverse|press|put|touch|hit|switch|turn|select|open|"
    r"apply)\b)", 2)
_AT_ONCE: Final = Pattern(r"\b(?:immediately|directly|the minute) (?=(?:i|you|we|the brakes?|my foot|the pedal)\b"
                            r")", 2)
_STARTS: Final = Pattern(
    r"\b(?P<w>until|till|unless|when|once|as soon as|after) (?:i|you|we|he|she) (?:(?:start|fire|crank)(?:s|ed)?"
    r"(?: up)? (?:it|her|him|(?:the |my )?(?:engine|motor|car))(?: up)?|(?:start|fire)(?:s|ed)? up)\b", 2)
_ON_OFF: Final = Pattern(
    r"^\s*(?:the )?brakes? (?:go(?:es)? )?on(?:,? and|,) (?P<who>[^,]*?(?:lights|lamps|tails?|tail ?light)) "
    r"(?P<how>off|out)\s*$", 2)
_GOES_ON: Final = Pattern(
    r"^\s*(?:the |my )?(?:foot ?)?(?:brake pedal|brakes?|pedal) (?:go(?:es)? )?(?:on|down)(?:,? and|,|,? then) "
    r"(?=\w)", 2)
_SOON: Final = ("as soon as", "the moment", "the second", "the instant")
# What the control itself does, or where somebody is: "as the brake goes down", "whenever she's in reverse".
_CONTROL: Final = tuple((Pattern(rf"\b(?P<w>(?:when|whenever|while|whilst|if|once|as|as soon as|the moment|the "
    rf"second|"
                                 rf"every time|each time|with) ){said}", 2), plain) for said, plain in (
    (r"(?:the |my )?(?:foot ?)?(?:brake pedal|brakes?|pedal) (?:go(?:es)?|comes?|gets?|is|are|being) (?:put |pushed |"
     r"pressed )?(?:down|on|in)\b(?! the\b)", "I brake"),
    (r"(?:the |my )?(?:foot ?)?(?:brake pedal|brakes?|pedal) (?:is|are|being|gets?) (?:pressed|pushed|touched|"
     r"applied|used|depressed)\b(?: down)?", "I brake"),
    (r"(?:my |your |the )?foot (?:goes|is|comes|touches)(?: down)?(?: on)? (?:to )?(?:the )?(?:brake pedal|brakes?|"
     r"pedal)",
     "I brake"),
    (r"(?:i'm|i am|you're|he's|she's) on the brakes?", "I brake"),
    (r"(?:i'm|i am|you're|she's|he's|it's|it is|we're|the \w+ is|the \w+'s|(?:i|it|she|you|we|the \w+) (?:go(?:es)?|"
     r"gets?"
     r"|am|are|is)) (?:in|into|in to) reverse(?: gear)?", "I select reverse"),
    (r"reverse(?: gear)? (?:goes|is put|comes|is|gets) in\b", "I select reverse"),
    (rf"(?:i|you|we)(?:'ve| have)? {_SWITCH} (?:on )?(?:the |my )?(?P<l>side|head)s(?: ?on)?(?= (?:the|left|right|"
     rf"both|n/s|o/s|my)\b|,)", "with the {l} lights on,"),
    (r"(?:the |my )?engine (?:stops|goes off|cuts out|dies|is (?:stopped|switched off|turned off))\b", "with the "
     "engine off"),
    (r"(?:i|you|we)(?:'ve| have)? (?:switch|turn|shut)(?:ed)? (?:the |my )?(?:engine|motor) (?:off|down)", "with the "
     "engine off"),
    (r"(?:i|you|we)(?:'ve| have)? (?:stop|switch off|turn off|kill|shut off|shut down|stopped|switched off|turned "
     r"off) (?:the |my )?(?:engine|motor)", "with the engine off"),
    (r"(?:i|you|we)(?:'ve| have)? (?:hit|use|engage|find|choose|go for|click into|pick|drop into|knock it into) "
     r"reverse(?: gear)?",
     "I select reverse"),
    (rf"(?:i|you|we)(?:'ve| have)? {_SWITCH} (?:(?:up|over|back) )?(?:to|onto|on to) {_THE}"
     r"(?P<b>main|full|high|dip|dipped|low)(?: ?beams?)?", "on {b} beam"),
))
# The lamps that a circumstance lights, where only a side is named after it.
_ONE_SIDE: Final = rf"(?:the |my )?(?P<side>{SIDE})(?:[ -]hand)?(?: side| one)?"
_BAD: Final = (
    r"(?:'s| is| go(?:es)?| went| gets)? (?P<look>(?:(?:very|just|rather|only) )*(?:out|dead|dark|dim|off|weak|faint|"
    r"poor|dull|(?:doesn't|won't|isn't|does not) (?:work|working|light|come on|lit)(?: up)?))"
)
_ITS_OWN: Final = tuple((Pattern(
    rf"^\s*(?:(?P<when>{when}),? {_ONE_SIDE}{_BAD}|"
    rf"{_ONE_SIDE.replace('side>', 'side2>')}{_BAD.replace('look>', 'look2>')} "
    rf"(?P<last>{when})|(?P<none>{when}),? (?P<no>no lights?|nothing)(?: (?:at all|comes on|happens|lights(?: "
    rf"up)?))*)\s*$", 2), lamp)
    for when, lamp in (
        (r"(?:on|with|when on)(?: the)? (?:main|full|high)(?: beam)?(?: on)?", "main beam"),
        (r"(?:on|with|when on)(?: the)? (?:dip(?:ped)?|low)(?: beam)?(?: on)?", "dipped beam"),
        (r"(?:when(?:ever)? (?:i |you )?brak(?:e|ing)|with the brakes? on|(?:on|under) braking)", "brake light"),
        (r"(?:in reverse|when (?:i )?revers(?:e|ing))", "reversing light")))
_EACH_FLASH: Final = Pattern(
    rf"\b(?:every time|each time|as) (?:the |an? |my )?{_INDICATORS} (?:flash(?:es)?|blinks?|winks?|go(?:es)?|"
    rf"comes? on|"
    rf"pulses?|clicks?)|\b(?:with|on|at) (?:each|every) (?:flash|blink|wink|pulse|tick|click|beat) (?:of|from) "
    rf"(?:the "
    rf"|an? )?{_INDICATORS}", 2)
_IN_TIME: Final = Pattern(
    r"\b(?:in time|in step|in sync|in unison|in rhythm|along) with (?:the |each |every )?(?:flash(?:ing)? of (?:the "
    rf")?)?(?={_INDICATORS})", 2)
def acts_plainly(text: str) -> str:
    """The sentence with what somebody does as when it is so."""
    small = text.lower()
    if any(h in small for h in HITS):
        text = by_hand(text)
    text = _AS_I.sub("when I ", _AT_ONCE.sub("as soon as ", text))
    text = _STARTS.sub(r"\g<w> the engine is running", text)
    text = _ON_OFF.sub(r"\g<who> go \g<how> when I brake", text)
    text = _GOES_ON.sub("when I brake, ", text)
    text = _IN_TIME.sub("with the ", _EACH_FLASH.sub("with the indicators on", text))
    for pattern, plain in _CONTROL if any(h in small for h in _CONTROLS) else ():
        if found := pattern.search(text):
            text = text[: found.start()] + _as_when(found, plain) + text[found.end():]
    return _its_own(_told(text, small))


def _its_own(text: str) -> str:
    """"On main the right one goes out" is told of the right main beam."""
    for pattern, lamp in _ITS_OWN:
        if found := pattern.match(text):
            if found["none"]:
                return f"{lamp}s dead {found['none']}"
            look, when = found["look"] or found["look2"], found["when"] or found["last"]
            return f"{found['side'] or found['side2']} {lamp} {'goes out' if look.lower() == 'out' else look} {when}"
    return text


def _told(text: str, small: str) -> str:
    """The sentence with an act that something follows from, or that is done first, as when it is so."""
    for hints, pattern, plain in _PUT:
        if any(h in small for h in hints) and (found := pattern.search(text)):
            told = {k: v or "" for k, v in found.groupdict().items()} | {"when": _when(found["act"] or "")}
            return text[: found.start()] + plain.format(**told) + text[found.end():]
    if not any(h in small for h in _STEMS):
        return text
    found = _THEN.search(text)
    follows = _FUSE_NEXT if found and found["start"].strip() else _SUBJECT
    heads = found is not None and found["sep"] in (":", " -") and not found["start"].strip()
    if found and (" " in found["act"] or heads or follows.match(text, found.end())):
        return f"{text[: found.start()]}{found['start']}{_when(found['act'])}, {text[found.end():]}"
    found = _DOING.search(text)
    if found and (" " in found["act"] or _THEY.match(text, found.end())):
        return f"{text[: found.start()]}{found['start']}{_when(found['act'])}, {text[found.end():]}"
    return text


def _when(act: str) -> str:
    """An act as when it is so."""
    if re.search(r"\bfoot ?brake", act, 2):
        return "with the foot brake"  # of several
    for pattern, _, plain in _ACTS:
        if found := pattern.match(act):
            told = {k: f"{v.strip()} " if v else "" for k, v in found.groupdict().items()}
            return " ".join(plain.format(**told).split())
    return "in reverse" if act.startswith("reverse") else "when I brake" if act else "when I indicate"


def _as_when(found: re.Match[str], plain: str) -> str:
    told = plain.format(**{k: v or "" for k, v in found.groupdict().items()})
    if not told.startswith("I "):
        return told
    if (before := found["w"].strip().lower()) in UNLESS:
        return f"{before} {told}"
    soon = before in _SOON
    return f"{'as soon as' if soon else 'when'} {told}"
