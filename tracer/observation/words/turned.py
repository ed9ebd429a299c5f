"""Sentences that tell of two states, or of two lamps, in one turn of phrase, put into such as are read one by one.

"The left tail works until I brake" is "left tail works. left tail goes out when I brake", and so is "left stop only
works with the lights off"; "…, works otherwise" after the state is put where it is read. "Only" on one side, or on
one beam, says that the other is dead; so does "but not", and "only works with the lights on" that it is dead without.
"""

from __future__ import annotations

import re
from functools import lru_cache, reduce
from typing import Final

from tracer.observation.words.act_idioms import acts_plainly
from tracer.observation.words.cause_idioms import causes_plainly
from tracer.observation.words.contrast_idioms import contrasts_plainly
from tracer.observation.words.corrected import corrected
from tracer.observation.words.headed import under_heading
from tracer.observation.words.idioms import said_plainly
from tracer.observation.words.lamp_idioms import lamps_plainly
from tracer.observation.words.look_idioms import looks_plainly
from tracer.observation.words.often_idioms import often_plainly
from tracer.observation.words.order_idioms import order_plainly
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.scene_idioms import scene_plainly
from tracer.observation.words.sense_idioms import sense_plainly

_GOOD: Final = (
    r"(?:works?|work(?:s|ing)? (?:fine|ok|okay|well)|(?:is|are) (?:fine|ok|okay|good|all right|normal)|ok|fine)"
)
_VERB: Final = (
    r"(?:go(?:es)?|is|are|gets?|turns?(?! ?-?(?:signal|light|lamp|indicator)s?\b)|comes?|flickers?|dims?|glows?|"
    r"cuts?|"
    r"dies?|stops?|does|do|won'?t|flash|flicker|dead|dark|dim|out|faint|weak|lit|bright|flashes)"
)
_OTHERWISE: Final = Pattern(
    rf"(?P<who>.+?) (?P<does>{_VERB}\b.*?) (?P<when>(?:when|whenever|if|with|as soon as) .+?),? (?:but |and )?"
    rf"(?:it )?(?:{_GOOD} (?:otherwise|apart from that|the rest of the time)|otherwise (?:it )?{_GOOD})", 2)
_SO_IS: Final = Pattern(
    rf"(?P<who>[^,]+?) (?P<does>(?!stops?\b(?! working)){_VERB}\b[^,]*?|"
    r"(?:not|isn't|aren't|doesn't|don't) [^,]+?),?(?: and)? "
    r"(?:so|neither|nor) (?:is|are|does|do) (?P<two>[^,]+)", 2)
SENTENCES: Final = Pattern(r"\.\s+(?=\S)")
_NUMBER: Final = Pattern(r"\b(fuse) (?:n(?:o|r)\.?|number|#) ?(?=\d)", 2)  # before a full stop parts sentences
_TWO: Final = Pattern(
    rf"(?P<who>.+?) (?P<does>(?:is |are |very |quite )*{_VERB}\b.*?) (?P<when>(?:when|with|while|if) [^,]+?),? "
    r"(?:but |and )?(?:it |they )?(?:is |are |then )?(?:ok|okay|fine|bright|normal|good|all right|"
    r"works?(?: fine| ok)?) (?P<two>(?:when|with|once|if) .+)", 2)
_UNTIL_THEN: Final = Pattern(
    rf"(?P<who>.+?) (?P<good>{_GOOD}|(?:are |is |stays? )?(?:on|lit)|burns?) until (?P<when>.+?),? (?:then|when then|"
    rf"and then|whereupon) (?P<what>.+)", 2)
_ONE: Final = Pattern(r"\b(left|right|other) (?:one|side)\b", 2)
_SIDED: Final = Pattern(r"\b(?:left|right|[nol]/?[sh]|near ?side|off ?side|r/?h)\b", 2)
_THEY: Final = Pattern(r"^(?:it|they|that)\b", 2)
_DOES: Final = Pattern(rf"^{_VERB}\b", 2)
_GOOD_BUT: Final = Pattern(
    rf"(?P<who>.+?) (?P<good>{_GOOD}),? (?:but|and) (?:they |it |then )?(?P<bad>(?:go|goes|cuts?|turns?|drops?|die|"
    r"dies|dims?|fades?|gets?|flickers?|stops?|packs?) ?.*?) "
    r"(?P<when>(?:when|whenever|as soon as|once|if|with|the moment) .+)", 2)
# "Glows in reverse, never any other time".
_ELSE_DARK: Final = Pattern(
    r"(?P<said>.+?)(?:,| -)? (?:and |but )?(?:(?:never|not) (?:at )?any other times?|at no other time|(?:never|not) "
    r"otherwise|(?:nothing|dead|dark|out)(?: (?:out of|from) (?:it|them))? (?:the rest of the time|otherwise|(?:at "
    r")?(?:any )?other times?)|otherwise (?:(?:it|they|there)(?:'s|'re| is| are| stays?)? |is |are |stays "
    r")?(?:nothing|dead|dark|out|off|unlit|(?:doesn't|don't) (?:light|work|come on))(?: (?:out of|from) (?:it|"
    r"them))?|that(?:'s| is) the only time(?: .+)?|only then|and nothing else)", 2)
_WHO_GLOWS: Final = Pattern(
    rf"(?:when I (?:reverse|brake|indicate (?:left|right)),? |(?:when|whenever|with|if|in|on|while) [^,]+, "
    rf")?(?P<who>(?:the |my )?(?:(?!{_VERB}\b)[^,])+?) (?:only |just "
    rf")?(?:{_VERB}|glimmers?|gives?|gets?|lights?(?: up)?|shines?|comes?|works?)\b.*", 2)
_DO_THERE: Final = Pattern(
    r"(?P<who>.+?) (?P<bad>(?:don't|doesn't|won't|do not|does not|will not) (?P<verb>\w+(?: on| up)?)) "
    r"(?P<when>(?:when|whenever|with|on|if|in) .+?),? (?:but |though |yet )(?:they |it )?(?:do|does|will) "
    r"(?P<two>(?:when|whenever|with|on|if|in) .+)", 2)
_GOOD_THEN: Final = Pattern(
    rf"(?P<who>(?:(?! when | with | if |,).)+?) (?P<good>(?:are |is )?(?:{_GOOD}|dim|faint|weak|dull|dead|out"
    rf"|dark)),? "
    r"(?:(?:but|and) )?(?P<when>(?:when|whenever|as soon as|once|if) [^,]+?)(?:, | (?=it |they ))"
    r"(?P<what>(?:it|they|(?:the )?(?:left|right|other) (?:one|side)) .+)", 2)
_UNTIL: Final = Pattern(rf"(?P<who>.+?) (?P<good>{_GOOD}) until (?P<when>.+)", 2)
_ONLY_OFF: Final = Pattern(
    r"(?P<who>.+?) (?:only (?:works?|lights?(?: up)?|comes? on|burns?|shines?|lit)|(?:works?|lights?(?: up)?|"
    r"comes? on) only) (?:when|with|while|if) "
    r"(?P<what>(?:the |all )*(?:\w+ )?(?:lights|lamps|indicators|hazards|headlights|headlamps|sidelights))"
    r"(?: are)?(?: switched| turned)? off", 2)
_CONTROL: Final = (
    r"(?:\w+ ){0,3}?(?:\w*lights?|\w*lamps?|\w*brakes?|indicators?|winkers?|blinkers?|hazards?|beams?|ignition|key|"
    r"parkers?|tails?|sides|reverse|gear|engine|lever|pedal|switch|horn|wipers?|blower|fogs?|dip|main)\b"
)
_ONLY_ON: Final = Pattern(
    r"(?P<who>.+?) (?:will |would )?(?:only (?:ever )?(?:works?|lights?(?: up)?|comes? on|burns?|shines?|goes on|"
    r"runs|sounds)|(?:works?|lights?(?: up)?|comes? on|burns?|shines?|runs|sounds) only) "
    rf"(?P<when>(?:when|whenever|with|while|if|as long as) (?:(?:the |my )?(?:ignition|key|engine) (?:is )?off"
    rf"|(?:i|you|we|he|she) (?:brake|indicate|signal|reverse|dip)\b(?!.*\boff\b).*|{_CONTROL}(?!.*\boff\b).*))", 2)
_COMES_ON: Final = Pattern(r"\bonly (?:ever )?(?:lights?|comes? on|burns?|shines?|goes on)\b|\b(?:lights?(?: up)?|"
    r"comes? on) only", 2)
_NO_TAIL: Final = Pattern(r"\b(?:stop|brake|indicator|winker|blinker|flasher|repeater)", 2)
_STOPS: Final = Pattern(r"\b(?:stop|brake)", 2)
_WITH_LIGHTS: Final = Pattern(r"\b(?:side ?|head ?|tail ?|)(?:lights|lamps|sides)\b", 2)
_BETTER: Final = Pattern(
    r"(?P<said>(?P<who>.+?) (?:(?:is|are|very|quite|rather|always) )*(?:dim|faint|weak|dull|poor|dark|dead|out))"
    r",? (?:(?:but|and|then|they|it|which) )*(?:brightens?(?: up)?|gets? (?:brighter|better)|improves?|picks? up|"
    r"comes? (?:good|right|up)) (?P<when>(?:when|whenever|with|while|if|once|as soon as) .+)", 2)


# "Dead slow" is very slow: what only makes the next word stronger.
_MERELY: Final = Pattern(
    r"\b(?:dead|super|bloody|flipping|blooming|dreadfully|awfully|terribly|horribly|ever so|proper|mighty|real|that|"
    r"well|pretty|fairly|somewhat|properly)\s+"
    r"(?=(?:slow|fast|quick|rapid|dim|faint|weak|dull|bright|steady|quiet|feeble|poor)(?:ly|er)?\b)", 2)
_SIDE: Final = (
    r"(?P<side>left|right|near ?side|off ?side|n/s|o/s|nearside|offside|driver'?s side|passenger'?s side)"
    r"(?:[ -]hand)?(?: side| one)?"
)
_OPPOSITE: Final = {
    "left": "right", "right": "left", "nearside": "offside", "offside": "nearside", "n/s": "o/s", "o/s": "n/s",
    "driver's side": "passenger's side", "passenger's side": "driver's side",
}
_SHINES: Final = (
    r"(?:works?|working|flash(?:es)?|flashing|blinks?|lights?(?: up)?|lit|comes? on|burns?|shines?|on|go)"
)
_BAD: Final = (
    r"(?:(?:is |are )?(?:out|dead|dark|not working|off)|(?:does|do|is|are)(?:n't| not) (?:work(?:ing)?|come on|"
    r"light)|won't (?:work|come on|light)|works?)"
)
_BAD_BUT: Final = Pattern(
    rf"(?P<no>neither |no )?(?P<who>.+?) (?P<bad>{_BAD})(?:,? (?:but|and|yet|though)|,) (?:(?P<first>(?:when|"
    rf"whenever|if|with) [^,]+), )?(?:they |it |both |then )?(?:both )?(?P<does>(?:comes? on|lights?(?: up)?|glows?|"
    r"works?|flash(?:es)?|burns?|shines?|flickers?)\b.*?)(?P<when> (?:(?:when|whenever|as soon as|if|with|the "
    r"moment) .+|in reverse(?: gear)?|(?:on|under) braking))?", 2)
_ONE_SIDE: Final = (
    Pattern(rf"only (?:the |my )?{_SIDE} (?P<who>.+?) {_SHINES}(?P<rest>,? (?:and|but) .+)?", 2),
    Pattern(rf"(?P<who>(?:(?!\bbut\b).)+?)(?: {_SHINES})? (?:is |are )?only (?:{_SHINES} )?(?:on |at )?(?:the "
            rf")?{_SIDE}"
            r"(?P<rest>,? (?:and|but) .+)?", 2),
    Pattern(rf"(?P<who>.+?) (?:is |are )?{_SHINES} (?:on |at )?(?:the )?{_SIDE} only(?P<rest>, .+)?", 2),
    Pattern(rf"(?P<who>.+?) (?:on |at )?(?:the )?{_SIDE} only(?: {_SHINES})?(?P<rest>, .+)?", 2),
)
_WHEN_LAST: Final = Pattern(r" (?=(?:when|with|while|if|on|in) )", 2)
_ONE_END: Final = Pattern(
    rf"(?P<who>(?:(?! but |,).)+?) (?:is |are )?(?:only (?:{_SHINES} )?(?:at |on |in )?(?:the )?(?P<end>front|rear|"
    rf"back)|{_SHINES} (?:at |on |in )(?:the )?(?P<other>front|rear|back) only)", 2)
_ONE_BEAM: Final = Pattern(
    r"(?P<all>(?:both |the |my )*)(?P<who>(?:(?:left|right|near ?side|off ?side|n/s|o/s) )?)"
    r"head ?(?:light|lamp)s? (?:is |are )?(?:only (?:works?|lit|burns?|comes? on|on)|(?:works?|lit|on) only) "
    r"(?:on |in |with )?(?:the )?(?P<beam>full|main|high|dip|dipped|low)(?:ped)?(?: beam)?", 2)
_ONLY_BEAM: Final = Pattern(
    r"(?:i |we |you |it |he |she |has |have |got |get |gets )*only (?:the )?(?P<beam>full|main|high|dip|dipped|low)"
    r"(?:ped)? ?(?:beams?|head ?(?:light|lamp)s?|lights?)? (?:works?|lit|burns?|comes? on|on)", 2)
# Who says it, where that is not who drives: "my dad says that …".
_REPORTED: Final = Pattern(
    r"^\s*(?:(?:the|my|our|his|her|a) )?(?:\w+ ){1,2}?(?:says?|said|say|reckons?|tells? me|told me|keeps? telling me|"
    r"thinks?|complains?|reports?|swears?|claims?|mentioned)(?: that| about)?[:,]?\s+(?=\S+ \S)", 2)
_BUT_NOT: Final = Pattern(
    rf"(?P<who>.+?) {_SHINES} (?:when|with|on) (?P<one>.+?)(?:,? (?:but|and)|,) not (?:(?:when|with|on) "
    rf")?(?P<two>.+)", 2)
_WORKS_NOT: Final = Pattern(
    r"(?P<who>.+?) (?:works?|is (?:fine|ok|okay)|are (?:fine|ok|okay)|sounds?|runs?)(?: fine| ok| okay)?,? "
    r"(?:but|just|only|except) not (?P<when>(?:when|with|while|if) .+)", 2)
_IT: Final = Pattern(r"(?:it|them) (?:is |are |when )?", 2)
_BARE: Final = frozenset({"on", "off", "in", "out", "pressed", "pulled"})
_DO: Final = Pattern(
    r"(?P<said>.*(?:n'?t|\bnot|\bno|\bneither|\bnone|\bnothing|\bdead|\bout|\bdim)\b.*?(?:,|,? \b(?:but|though"
    r"|yet)) .+?) (?:do|does|is|are|will)", 2)
_NOR: Final = Pattern(rf"(?:,? (?:but|and|yet)|,(?= not)) (?:nowt|nothing|none|not) (?:on |at )?(?:the "
                      rf")?{_SIDE}(?= *(?:$|,))", 2)
_NOR_END: Final = Pattern(
    r"(?:,? (?:but|and|yet)|,(?= not)) (?:nowt|nothing|none|not) (?:(?:on|at|in) )?(?:the )?(?P<end>front|rear|back)"
    r"(?= *(?:$|,))", 2)
# What is said to be switched on, and words of the lamps that burn with it.
_PUTS_ON: Final = (("brake", ("brake", "stop")), ("braking", ("brake", "stop")), ("revers", ("revers", "back")),
                   ("indicat", ("indicat", "wink", "flash", "blink", "turn", "repeater")), ("horn", ("horn",)),
                   ("fog", ("fog",)))
_MAKES: Final = Pattern(
    r"(?:the |putting |switching |turning |pressing |touching |using |applying |pulling |on |trailer |caravan "
    r"|car )*(?P<what>(?:(?:left|right|near ?side|off ?side|n/s|o/s) )?)"
    r"(?:(?:rear|front|back) )?(?P<thing>(?:indicators?|winkers?|blinkers?|hazards?|brakes?|"
    r"(?:head|side|fog|revers(?:e|ing)|brake|stop|tail)? ?(?:light|lamp)s?|fogs?|horn|wipers?|"
    r"blower|heater(?: blower)?)(?: on)?) (?:makes?|sets?|causes?) (?P<rest>.+)", 2)
_LAST: Final = Pattern(r"(?P<first>(?!.*\bonly\b.*,).+?),? (?:but |and |(?<=, ))(?P<last>(?!it |they )(?:(?! but "
                       r"| and |,).)+)", 2)
_GROWS: Final = Pattern(r" (dim|faint|weak|dull)$", 2)
_JOINED: Final = Pattern(r"^,? ?(?:and |but )?", 2)


def _bad_but(plain: str) -> str:
    """"Neither works but both glow with the side lights on", in two; "" if it is no such turn."""
    found = _BAD_BUT.fullmatch(plain)
    when = found and (found["first"] or found["when"])
    if not found or not when or (found["bad"].startswith("work") and not found["no"]):
        return ""
    who = found["who"]
    if found["no"]:
        who = f"both {who}" + ("" if who.endswith("s") else "s")
    bad = "dead" if found["bad"].startswith("work") else found["bad"]
    return f"{who} {bad}. {who} {found['does'].strip()} {when.strip()}"


def _with_rest(both: str, rest: str) -> str:
    """What is told after "only on that side": of the other side that, and not that it is dead."""
    one, other = both.split(". ")
    side, dead = other.split()[0], other.removesuffix(" dead")
    told = Pattern(rf"(?:the )?{re.escape(side)}(?: one| side)?\b", 2)
    return f"{one}. {told.sub(dead, rest)}" if told.match(rest) else f"{both}. {rest}"


def _one_side(who: str, side: str) -> str:
    """Both halves of "only on that side"."""
    plain = side.lower().replace("r side", "rside").replace("f side", "fside").replace("rs side", "r's side")
    return f"{plain} {who} works. {_OPPOSITE[plain]} {who} dead"


def _only(plain: str) -> str:
    """What "only" on one side or beam, or "but not", says of the other; "" if there is none."""
    if found := _ONLY_BEAM.fullmatch(plain):
        main = found["beam"].lower() in ("full", "main", "high")
        return "main beam works. dipped beam dead" if main else "dipped beam works. main beam dead"
    if found := _ONE_BEAM.fullmatch(plain):
        main = found["beam"].lower() in ("full", "main", "high")
        good, bad = ("main", "dipped") if main else ("dipped", "main")
        return f"{found['who']}{good} beam works. {found['who']}{bad} beam dead"
    if sides := _only_side(plain):
        return sides
    if found := _ONE_END.fullmatch(plain):
        there, who = found["end"] or found["other"], found["who"]
        return f"{there} {who} works. {'rear' if there.lower() == 'front' else 'front'} {who} dead"
    if found := _BUT_NOT.fullmatch(plain):
        two = found["two"]
        if two.lower() in _BARE:
            two = f"{found['one'].rsplit(' ', 1)[0]} {two}"
        elif _IT.match(two):
            two = f"{found['one'].rsplit(' ', 1)[0]} {_IT.sub('', two)}"
        does = "comes on" if _of_another(found["who"], found["one"]) else "do work"
        return f"{found['who']} {does} with {found['one']}. {found['who']} won't work with {two}"
    return ""


def _only_side(plain: str) -> str:
    """The same of "only" on one side, whenever that is so: "only the left stop works when I brake"."""
    for when in (None, *reversed([*_WHEN_LAST.finditer(plain)])) if "only" in plain.lower() else ():
        said = plain if when is None else plain[: when.start()]
        for pattern in _ONE_SIDE:
            if found := pattern.fullmatch(said):
                who, rest = found["who"].strip(), found.groupdict().get("rest") or ""
                both = _one_side(who[4:] if who.lower().startswith("the ") else who, found["side"])
                if when is not None:
                    both = ". ".join(f"{half}{plain[when.start():]}" for half in both.split(". "))
                return _with_rest(both, _JOINED.sub("", rest)) if rest else both
    return ""


def _of_another(who: str, when: str) -> bool:
    """Whether what switches it on is of another lamp: "the tail comes on with the brake, but not the lights"."""
    return any(m in when.lower() and not any(o in who.lower() for o in own) for m, own in _PUTS_ON)


# What puts turns of phrase into plain words, in this order.
_PLAINLY: Final = (
    order_plainly, acts_plainly, causes_plainly, sense_plainly, scene_plainly, looks_plainly, lamps_plainly,
    said_plainly)


def works_only_there(text: str) -> bool:
    """Whether it says of something that it works in one state only: in all others that should do it is dead."""
    return _ONLY_ON.fullmatch(_bare(_as_seen(text))) is not None


def lit_only_with(text: str) -> tuple[str, ...]:
    """Of a lamp that "only comes on" with what lights another: that it is lit by that, or does its work then alone;
    nothing of other sentences."""
    plain = _bare(_as_seen(text))
    found = _ONLY_ON.fullmatch(plain)
    of_its_own = found is not None and not _of_another(found["who"], found["when"]) and not (
        _STOPS.search(found["who"]) and _WITH_LIGHTS.search(found["when"]))
    if found is None or of_its_own or not (_COMES_ON.search(text) and _NO_TAIL.search(found["who"])):
        return ()
    who, when = found["who"], found["when"]
    return f"{who} comes on {when}. {who} dead", f"{who} do work {when}. {who} dead"


@lru_cache(maxsize=32)  # a sentence is asked for by each who reads it, two to four times
def _as_seen(text: str) -> str:
    """Without who says it, without words that only make another stronger, and with turns of phrase in plain words."""
    said = corrected(_MERELY.sub("", _NUMBER.sub(r"\1 ", _REPORTED.sub("", under_heading(text)))))
    both = often_plainly(contrasts_plainly(said))
    parts = SENTENCES.split(both) if both.count(". ") > said.count(". ") else [both]  # rows are of one sentence
    return ". ".join(reduce(lambda text, put_plainly: put_plainly(text), _PLAINLY, part) for part in parts)


def _bare(text: str) -> str:
    """Words parted by one space, without the full stop."""
    return " ".join(text.strip().rstrip(".!").split())


def turned(text: str) -> str:
    """The sentence in such as are read one by one; as it is, if it has no such turn."""
    seen = _as_seen(text)
    parts = [p for p in SENTENCES.split(seen) if p.strip()]
    return ". ".join(map(_turned, parts)) if len(parts) > 1 else _turned(seen)


def _turned(text: str) -> str:
    bare = _bare(text)
    plain = _NOR_END.sub(r", \g<end> one does not", _NOR.sub(r", \g<side> does not", bare))
    if found := _SO_IS.fullmatch(plain):
        plain = f"{found['who']} {found['does']}, {found['two']} {found['does']}"
    if found := _OTHERWISE.fullmatch(plain):
        return f"{found['who']} works. {found['who']} {found['does']} {found['when']}"
    if found := _TWO.fullmatch(plain):
        return f"{found['who']} {found['does']} {found['when']}. {found['who']} do work {found['two']}"
    if found := _ONLY_OFF.fullmatch(plain):
        return f"{found['who']} do work. {found['who']} won't work with {found['what']} on"
    if found := _ONLY_ON.fullmatch(plain):
        return f"{found['who']} do work {found['when']}. {found['who']} dead"
    if found := _BETTER.fullmatch(plain):
        return f"{found['said']}. {found['who']} do work {found['when']}"
    if (found := _ELSE_DARK.fullmatch(plain)) and (who := _WHO_GLOWS.fullmatch(found["said"])):
        return f"{found['said']}. {who['who']} dead"
    if found := _UNTIL_THEN.fullmatch(plain):
        what = _THEY.sub(found["who"], _ONE.sub(rf"\1 {found['who']}", found["what"]))
        what = f"{found['who']} {what}" if _DOES.match(what) else what
        good = "works" if found["good"].split()[-1] in ("on", "lit", "burn", "burns") else found["good"]
        return f"{found['who']} {good}. {what} when {found['when']}"
    if (found := _GOOD_THEN.fullmatch(plain)) and not _of_another_side(found["who"], found["what"]):
        what = _THEY.sub(found["who"], _ONE.sub(rf"\1 {found['who']}", found["what"]))
        return f"{found['who']} {found['good']}. {what} {found['when']}"
    if found := _DO_THERE.fullmatch(plain):
        two = f"with {found['two'][3:]}" if found["two"].lower().startswith("on ") else found["two"]
        return f"{found['who']} {found['bad']} {found['when']}. {found['who']} do {found['verb']} {two}"
    if two := _bad_but(plain):
        return two
    if found := _GOOD_BUT.fullmatch(plain):
        return f"{found['who']} {found['good']}. {found['who']} {found['bad']} {found['when']}"
    if found := _UNTIL.fullmatch(plain):
        return f"{found['who']} {found['good']}. {found['who']} goes out when {found['when']}"
    if found := _MAKES.fullmatch(plain):
        rest = _GROWS.sub(r" goes \1", found["rest"])
        return f"{rest} when {found['what']}{found['thing']} on"
    if found := _WORKS_NOT.fullmatch(plain):
        return f"{found['who']} works. {found['who']} dead {found['when']}"
    if found := _DO.fullmatch(plain):
        return f"{found['said']} works"
    return _only(plain) or _last_only(plain) or (plain if plain != bare else text)


def _of_another_side(who: str, what: str) -> bool:
    """Whether one side is spoken of and then the other: when the first is so belongs to the first, as in "left stop
    dim when I brake, right one fine"."""
    return bool(_SIDED.search(who) and _ONE.match(what.removeprefix("the ")))


def _last_only(plain: str) -> str:
    """"Pilot bulb works, headlight only on main": such a turn in the last part alone; "" if there is none."""
    found = _LAST.fullmatch(plain)
    last = _only(found["last"]) if found else ""
    return f"{found['first']}. {last}" if found and last else ""
