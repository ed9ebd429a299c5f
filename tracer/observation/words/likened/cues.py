"""What a sentence holds that tells: sides, what lamps are for, and its other words, in the order they were said."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, cached_property
from typing import Final

from msgspec import Struct

from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.words import singular, word_set

A: Final = "@A"  # the first side that is named
B: Final = "@B"
FUSE: Final = "#fuse"
TOWED: Final = "#trailer"
LAMP: Final = "#lamp"  # in place of what it is for, where only the order of words counts
_LIGHT: Final = r"(?:lights?|lamps?|bulbs?|lites?|lenses|lens|units?)"
_IN_DASH: Final = r"(?: ?(?:on|in) (?:the |my )?(?:dash\w*|clocks|instrument\w*|panel|cluster|cab))"
_INDICATOR: Final = (
    r"(?:indicators?|winkers?|blinkers?|flashers?|trafficators?|turn signals?|turn lights?|direction indicators?|"
    r"direction lights?|signal lights?|turn indicators?|semaphores?)")
_RIGHT: Final = Pattern(
    r"\b(?:all ?right|alright|right enough|right away|right as rain|right now|right back to)\b"
    r"|(?<=\b(?:fade|goes|come|went|turn|dims|dips) )right(?= (?:out|off|down|dim|up)\b)|(?<=\b(?:go|do) )right(?= "
    r"(?:out|off|down|dim|up)\b)|(?<=\b(?:fades|comes|turns|drops) )right(?= (?:out|off|down|dim|up)\b)")
# Sides, before words are put in one form: which of them is the near side goes by the traffic.
_SIDES: Final = tuple((Pattern(p), by) for p, by in (
    (r"\bn[/.]?s[/.]?r\b", " NEAR rear "), (r"\bo[/.]?s[/.]?r\b", " OFF rear "),
    (r"\bn[/.]?s[/.]?f\b", " NEAR front "), (r"\bo[/.]?s[/.]?f\b", " OFF front "),
    (r"\b(?:n[/.] ?s\.?|ns|near[ -]?side|pas+[ea]n?g+[ea]?r'?s?'?(?: hand)? side|kerb[ -]?side|curb[ -]?side|kerb)"
     r"(?=\W|$)", " NEAR "),
    (r"\b(?:o[/.] ?s\.?|os|off[ -]?side|driver'?s?'?(?: hand)? side)(?=\W|$)", " OFF "),
    (r"\brite\b", " right "),
    (r"\b(?:l/?h(?: side)?|left[ -]hand(?: side)?|left side)(?=\W|$)", " left "),
    (r"\b(?:r/?h(?: side)?|right[ -]hand(?: side)?|right side)(?=\W|$)", " right "),
    (r"\bpassenger'?s?\b(?! door)", " NEAR "), (r"\bdriver's\b(?! door)", " OFF "),
    (r"\bdriver (?=tail|brake|stop|head|indicator|side|rear)", " OFF "),
    (r"\b(?:on |to |of )?(?:either|both|each|two|neither) sides?\b", " both "),
    (r"\bleft (?:and|or|nor|&|\+|/) right\b|\bright (?:and|or|nor|&|\+|/) left\b", " both "),
    (r"\b(?:that|the same|this|same) side\b", " thatside "),
    (r"\b(?:the )?(?:other|opposite) (?:side|one)\b", " otherside "),
))
# What lamps are for, and what else is named.
_NAMED: Final = tuple((Pattern(p), f" #{by} ") for p, by in (
    (rf"\b(?:number|licen[cs]e|reg(?:istration)?|no\.?) ?plates? ?{_LIGHT}?\b|\bplate {_LIGHT}\b", "plate"),
    (r"\b(?:high(?:[ -]?level)?|third|3rd|upper|top|cent(?:re|er)) ?(?:mount(?:ed)? )?(?:brake|stop)s? ?"
     rf"{_LIGHT}?\b|\b(?:high(?:[ -]?level)?|third|3rd) one\b", "highstop"),
    (r"\b(?:dash|dashboard|warning|tell-?tale|green|repeater|panel)(?: \w+){0,2} (?:indicator|arrow|blinker|"
     rf"flasher|winker|turn signal)s?(?: ?{_LIGHT})?\b|\b(?:indicator|blinker|flasher|winker|turn signal)s? "
     rf"(?:warning |repeater |tell-?tale |arrow )?{_LIGHT}?{_IN_DASH}|\b(?:indicator|turn|direction) "
     rf"(?:tell-?tales?|warning {_LIGHT}|arrow|repeater in the clocks)|\barrow\b", "telltale"),
    (rf"\bblue (?:(?:main|full|high) beam )?(?:{_LIGHT}|tell-?tale|one)\b|\bmain beam (?:tell-?tales?|warning "
     rf"{_LIGHT})\b", "bluetale"),
    (rf"\bgreen (?:{_LIGHT}|one)\b", "telltale"),
    (rf"\b(?:orange|amber) (?:flashing )?(?:{_LIGHT}|ones?)\b", "indicator"),
    (rf"\bwhite (?:{_LIGHT}|ones?)\b", "reversing"), (rf"\bred (?:{_LIGHT}|ones?)\b", "tail"),
    (r"\bm(?: and |/)?beam\b", "main"), (r"\bint(?:\.|erior)? (?:lamp|light)\b", "interior"),
    (rf"\b(?:brake|stop) ?{_LIGHT}\b|\bbrakelights?\b|\bstops\b|\bbrakelamps?\b", "stop"),
    (r"(?<=left )stop\b|(?<=right )stop\b|(?<=rear )stop\b|(?<=both )stop\b|\bstop(?= "
     r"(?:dim|dead|out|poor|weak|ok|fine|feeble|dull|sometimes|on|is|was))", "stop"),
    (rf"\b(?:tail|rear side) ?{_LIGHT}\b|\btails?\b|\btaillights?\b", "tail"),
    (r"\b(?:side|parking|park|position|pilot) ?(?:lights?|lamps?|lites?)\b|\bsidelights?\b|\bsidelamps?\b|"
     r"\bsides?(?= (?:and|&) heads?\b)", "side"),
    (r"\b(?:main|full|high)[ -]?beams?\b|\bbrights\b|\bmains?\b(?! switch)", "main"),
    (r"\b(?:dip(?:ped)?|low|passing)[ -]?(?:beams?|head ?(?:lights?|lamps?)|lights?)\b|\bdip(?:ped)?\b", "dip"),
    (rf"\bhead ?{_LIGHT}\b|\bheads\b|\bheadlights?\b|\bheadlamps?\b", "headlamp"),
    (rf"\b{_INDICATOR}(?: ?{_LIGHT})?\b", "indicator"),
    (rf"\b(?:revers(?:e|ing)|rev|back[ -]?up|backing[ -]?up|reverser) ?{_LIGHT}\b|\breversers?\b", "reversing"),
    (rf"\b(?:rear )?fog ?{_LIGHT}?s?\b", "fog"), (rf"\bmarkers?(?: {_LIGHT})?\b", "marker"),
    (rf"\bwork ?{_LIGHT}\b", "work"),
    (rf"\b(?:interior|courtesy|dome|roof|inside|cabin|saloon) ?{_LIGHT}\b", "interior"),
    (r"\brepeaters?\b", "repeater"),
    (r"\b(?:horns?|hooter|klaxon|audible warning device)\b", "horn"),
    (r"\b(?:caravan|trailer|horse ?box|trailer board)(?:'s)?\b", "trailer"),
    (r"\bf ?(?:\d+)\b|\bfuse (?:number |no\.? ?)?(?:\d+)\b", "fuse"),
))
# Whole only at last, or "indicator" is found in it.
_WRITTEN: Final = {"#telltale": "#telltale-indicator", "#bluetale": "#telltale-main"}
_FUSE_NAME: Final = Pattern(r"\bf ?0*(\d+)\b|\bfuse (?:number |no\.? ?)?0*(\d+)\b", re.IGNORECASE)
_WORD: Final = Pattern(r"#[a-z-]+|[A-Za-z0-9_']+")
_IDLE: Final = word_set("the a an my his her their it its is are was were be to of i and s t he she they there me "
                        "we our im i'm it's just so")
# What words have in common. Words of one kind stand for one another where no example has the very word.
_KINDS: Final = tuple((kind, re.compile(rf"(?:{words})")) for kind, words in (
    ("dark", r"dead|out|gone|u/s|kaput|packed|nothing|no|none|neither|not|unlit|dark|failed|fail|blank|inop\w*|"
             r"duff|knackered|bust|broken|quit|lost|missing|nowt|without|never|black|kicked"),
    ("weak", r"dim|dimly|dimmer|dull|weak|weaker|poor|feeble|pale|pathetic|yellow|low|half|candle|hardly|barely|"
             r"faded|fading"),
    ("glow", r"glow|glowing|glows|glimmer\w*|faint|faintly|slight|slightly|shine\w*|shining|tiny|gleam\w*"),
    ("fast", r"fast|faster|quick|quickly|quicker|double|twice|racing|race|rapid\w*|hyper\w*|frantic\w*|dozen|speed|"
             r"mad"),
    ("flicker", r"flicker\w*|flick|blip\w*|twinkl\w*|flutter\w*|stutter\w*|jump\w*"),
    ("hit", r"tap\w*|knock\w*|thump\w*|whack\w*|bang\w*|wiggl\w*|hit|hitting|dunt|kick\w*|clout\w*|jiggl\w*|slap\w*|"
            r"smack\w*|thwack|bash\w*|punch|tweak\w*|shake|touch|nudge\w*|wallop|pat"),
    ("bump", r"bump\w*|pothole\w*|rough|rut\w*|track|cobble\w*|shak\w*|vibrat\w*"),
    ("at times", r"sometimes|intermittent\w*|occasional\w*|times|now|mostly|erratic\w*|comes|random\w*"),
    ("brake", r"brake|brakes|braking|braked|pedal|slow|slowing|stopping|foot"),
    ("reverse", r"reverse|reversing|reversed|backwards|backing|rev"),
    ("indicate", r"indicate|indicates|indicating|signal\w*|turning|turn"),
    ("engine", r"engine|motor|tickover|idle|idling|rev|revs|revved|running|start|started"),
    ("steady", r"steady|solid|constant|constantly|permanent\w*|stay|stays|stuck|always|continuous\w*"),
    ("good", r"ok|okay|fine|good|works|work|working|normal|normally|perfect|grand|spot|right|healthy|well"),
    ("all", r"all|whole|everything|every|entire|lot|complete\w*|total\w*|cluster|corner|unit"),
    ("rear", r"rear|back|behind|tail"), ("front", r"front|nose"),
    ("fuse", r"fuse|fuses|blow|blows|blowing|blew|blown|pops|popping|pop|#fuse"),
    ("off", r"off|released|letting|let|go"), ("only", r"only|just|unless|except|bar|but"),
    ("click", r"click\w*|tick\w*|relay\w*|buzz\w*|chatter\w*"), ("hazard", r"hazards?"),
))
# "Everything works except …", in which all that is not named is well.
_ALL_BUT: Final = Pattern(r"\b(?:everything|all)\b(?: \S+){0,4} (?:ok|okay|fine|good|works?|working|perfect)\b.* "
                          r"(?:except|apart|bar)\b")
_OTHERS: Final = Pattern(r"\b(?:else|rest|others?|otherwise|remainder)\b")
_NOT_LAMPS: Final = frozenset({FUSE, TOWED})


@cache
def kinds_of(word: str) -> tuple[str, ...]:
    """The kinds of word that a word is of."""
    return tuple(kind for kind, pattern in _KINDS if pattern.fullmatch(word))


class Cues(Struct, frozen=True, dict=True):
    """The words of a sentence as cues: `@A` and `@B` for sides, `#stop` for what is named, others as they are.

    Attributes:
        sides: Those that it names, left or right, in order.
        fuse: The name of the fuse that it names, such as F3.
    """

    words: tuple[str, ...]
    sides: tuple[str, ...] = ()
    fuse: str = ""

    @cached_property
    def functions(self) -> tuple[str, ...]:
        """What the lamps and things that it names are for, each once, in order."""
        return functions_of(self.words)

    @cached_property
    def towed(self) -> bool:
        return TOWED in self.words

    @cached_property
    def kinds(self) -> frozenset[str]:
        return frozenset(kind for w in self.words for kind in kinds_of(w))


    @cached_property
    def moved(self) -> bool:
        """Whether something is knocked or driven over a bump."""
        return bool({"hit", "bump"} & self.kinds)

    @cached_property
    def both_vehicles(self) -> bool:
        return self.towed and bool({"car", "tractor", "truck", "pickup", "lorry"} & {*self.words})

    @cached_property
    def others(self) -> bool:
        """Whether it is told that all else is well."""
        return self.all_but or (bool(_OTHERS.search(" ".join(self.words))) and "good" in self.kinds)

    @cached_property
    def all_but(self) -> bool:
        """Whether it is told that all is well but what is named."""
        return bool(_ALL_BUT.search(" ".join(self.words)))


def functions_of(words: Sequence[str]) -> tuple[str, ...]:
    """What is named among cues, each once, in order."""
    return tuple(dict.fromkeys(w[1:] for w in words if w.startswith("#") and w not in _NOT_LAMPS))


def cues_of(text: str, traffic: str = "", story: Sequence[str] = ()) -> Cues:
    """The cues of a sentence with its slips put right.

    Args:
        traffic: On which side the vehicle keeps, as of `Harness.traffic`: near side and off side go by it.
        story: What it tells of the vehicle's story, in plain words: no cue of what was seen, where more is said.
    """
    near, off = ("right", "left") if traffic == "keeps right" else ("left", "right")
    fuse = _FUSE_NAME.search(text)
    small = text.lower().replace("’", "'")
    said = _RIGHT.sub(" ok ", f" {small} ")
    for first in (True, False):  # some words for a side are parted when words are put in one form, some made by it
        for pattern, by in _SIDES:
            said = pattern.sub(by, said)
        said = said.replace("NEAR", near).replace("OFF", off)
        said = f" {_without(story, plain(said))} " if first else said
    for pattern, by in _NAMED:
        said = pattern.sub(by, said)
    words, sides = list[str](), list[str]()
    for found in _WORD.finditer(said):
        word = found[0]
        if word in ("left", "right"):
            if word not in sides:
                sides.append(word)
            words.append(A if word == sides[0] else B)
        else:
            words.append(_WRITTEN.get(word, word) if word.startswith("#") else singular(word))
    return Cues(tuple(words), tuple(sides), f"F{fuse[1] or fuse[2]}" if fuse else "")


def _without(phrases: Sequence[str], said: str) -> str:
    left = said
    for phrase in phrases:
        left = left.replace(phrase, " ")
    return left if len(telling(left.split())) > 1 else said


def telling(words: Sequence[str]) -> list[str]:
    """The words that are not idle."""
    return [w for w in words if w not in _IDLE]
