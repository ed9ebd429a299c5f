"""How lamps, fuses and loads do, as people say it: "dead", "won't come on", "stays on", "keeps blowing"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.observation.evidence import ALL_WORDS, LIT, Comparison, Flash, FuseTime
from tracer.observation.words.words import word_set


class Say(Struct, frozen=True):
    """One thing said of how something does.

    Attributes:
        usual: As it should be, whether that is lit or dark.
        on: Light, however much.
        went: It was on and ceased, or became so: it was on before.
        stays: On where it should be off.
        works: It does its work, so that it was switched on for that.
        weak: Gives way to another word ("glows dimly" is dim).
    """

    words: frozenset[str] | None = None
    flash: Flash | None = None
    usual: bool = False
    works: bool = False
    on: bool = False
    went: bool = False
    stays: bool = False
    weak: bool = False
    flicker: bool = False
    sometimes: bool = False
    moved: bool = False
    blown: bool | None = None
    once: bool = False
    when: FuseTime = ""
    sound: str = ""
    denied: bool = False  # "does not flash", which leaves open whether it is lit
    compared: Comparison | None = None  # … than the other side's
    unheard: bool = False  # in words that are not known here
    exchanged: bool = False  # … with another lamp
    apart: bool = False  # not while the other is
    short: bool = False  # "does not": what was said before

    @property
    def beside(self) -> bool:
        """Whether it only says how often or when."""
        return self in (SOMETIMES, MOVED, DIMMER_THAN, BRIGHTER_THAN)


SOMETIMES: Final = Say(sometimes=True)
MOVED: Final = Say(moved=True)
DIMMER_THAN: Final = Say(compared="dimmer")  # … than its like on the other side
BRIGHTER_THAN: Final = Say(compared="brighter")
_DARK, _FAINT, _DIM, _NORMAL, _BRIGHT = (frozenset({w}) for w in ("dark", "faint", "dim", "normal", "bright"))
DARK: Final = Say(_DARK)
OUT: Final = Say(_DARK, went=True)
WORKS: Final = Say(_NORMAL, usual=True, works=True)
USUAL: Final = Say(_NORMAL, usual=True)
ON: Final = Say(LIT, on=True)
STAYS: Final = Say(LIT, on=True, stays=True)
FLASHES: Final = Say(flash="flashing")
UNDIMMED: Final = Say(_NORMAL | _BRIGHT, went=True)  # as bright with the dimmer turned down
STEADY: Final = Say(flash="steady")
NO_FLASH: Final = Say(flash="steady", denied=True)
UNHEARD: Final = Say(unheard=True)
SHORT: Final = Say(frozenset({"dark"}), short=True)
DIM: Final = Say(_DIM)
FAST: Final = Say(flash="fast")
FLICKERS: Final = Say(_DARK | _FAINT | _DIM, flicker=True)

_ROWS: Final[tuple[tuple[Say, str], ...]] = (
    (DARK, "dark|dead|out|off|gone|black|unlit|failed|kaput|cactus|rooted|carked it|munted|had the radish|blank"
           "|inoperative|inop|broken|no light|no good|duff|"
           "finished|"
           "packed up|packed in|given up|given up the ghost|given out|not there|has gone|conked out|burnt out|had it|"
           "knackered|buggered|bust|busted|goosed|banjaxed|stuffed|shot|toast|defunct|quit|wrecked|done for|"
           "bitten the dust|gone west|gone for good|went dead|gave up|gave up the ghost|quit working|has quit|quits|"
           "gives no light|give no light|gives no light out|gives out no light|shows no light|show no light|has no "
           "light|have no light|shows nothing|show nothing|gives nothing|throws no light|not a glimmer|non "
           "functional|"
           "nonfunctional|lifeless|dead as mutton|on strike|no go|dead as a dodo|dead as a doornail|died|"
           "dead as a door nail|had its day|not playing ball|not playing"),
    (OUT, "goes out|go out|going out|went out|goes off|go off|going off|went off|cuts out|cut out|cutting out|"
          "cuts off|"
          "stop working|"
          "keeps going out|keep going out|keeps going off|keeps cutting out|keeps dropping out|"
          "packs up|pack up|packs in|pack in|"
          "stalls|stall|extinguishes|extinguish|fails|missing|unserviceable|is unserviceable|are unserviceable|"
          "defective|is defective|is missing|are missing|"
          "goes dead|go dead|drops out|drop out|dies|die|goes dark|go dark|disappears|disappear|"
          "vanishes|vanish|fades out|turns off|dies away|die away|dies off|fades away|fade away|dies out|goes black|"
          "go black|goes completely out|goes right out|go right out|goes to nothing"),
    (Say(_FAINT), "faint|faintly|very faint|barely lit|hardly lit|just lit|barely|hardly|"
                  "barely glows|hardly lights|barely lights|hardly lights up|barely lights up|hardly visible|"
                  "barely visible|"
                  "hardly glows|only just|just about lit|a glimmer|just glimmers|nearly out|almost out"),
    (Say(_FAINT, went=True), "goes faint|go faint|going faint|gets faint|went faint"),
    (Say(_FAINT, weak=True), "glows|glow|glowing|glowed|aglow|glimmers|glimmer|glimmering|glims|glim|"
                             "gleams|gleam|gleaming"),
    (DIM, "dim|weak|poor|dull|feeble|low|dimly|weakly|half bright|half as bright|half brightness|half power|yellow|"
                "yellowish|"
                "croaks|croaky|croaking|croak|hoarse|strangled|feebly|sluggish|sluggishly|lazy|wheezy|lacklustre|"
                "not bright|not very bright|not so bright|not bright enough|not as bright|too dim|too weak|poorly|"
                "down on power|not full brightness|not at full brightness"),
    (Say(_DIM, went=True), "goes dim|go dim|going dim|gets dim|goes dull|goes weak|dims|dim down|dips|fades|gets "
                           "weaker|"
                           "dimmer|duller|weaker|gets dimmer|goes down|go weak|go dull|get dim|get dimmer|fade"),
    (Say(_DIM | _FAINT), "very dim|very weak|very dull|really dim|like a candle|like candles|like a glow worm|"
                         "like glow worms|like a glowworm|like a cigarette end|like a fag end|like a dying ember|"
                         "bright as a candle"),
    (UNHEARD, "no brighter|not any brighter|not brighter|any brighter|not get brighter|not get any brighter|"
              "clicks once|click once|ticks once|clicked once|"
              "on the blink|on the fritz|playing up|plays up|play up|acting up|acts up|misbehaving|misbehaves|dodgy|"
              "iffy|ropey|ropy|wonky|funny|weird|strange|crap|rubbish|crook|up the creek|up the wall|all over the "
              "place|all over the shop|useless|temperamental|haywire|"
              "goes haywire|doing my head in"),
    (WORKS, "alive|operative|operational|behaves|behaves itself|behaving|works|work|working|works ok|work ok|"
    "works fine|work fine|"
    "working fine"),
    (USUAL, "grand|spot on|mint|tip top|bang on|hunky dory|bonzer|beaut|a1|lovely|dandy|ok|okay|fine|good|all "
            "right|alright|normal|normally|perfect|perfectly|properly|"
            "correct|"
            "correctly|behaves|behaves itself|behaving|satisfactory|serviceable|in order|working order|"
            "faultless|healthy|strong|nice and "
            "bright|good and bright|okey|is there|are there|is still there|are still there|is present|at the proper "
            "rate|at proper rate|at the normal rate|at normal "
            "speed|at the right speed|at the usual rate|lovely and bright|good and white|as it should|as they "
            "should|as usual|is good"
            "|all good"),
    (Say(_NORMAL), "full|full brightness|full power"),
    (Say(_BRIGHT), "bright|too bright|very bright|brighter|over bright|too brightly|far too bright|glaring|much "
                   "too bright"),
    (Say(_NORMAL | _BRIGHT), "brightens|brightens up|brighten|brighten up|gets brighter|get brighter|goes brighter|"
                             "go brighter"),
    (ON, "sounds|sounding|rings|ringing|beeps|beeping|bleeps|bleeping|hoots|hooting|"
         "runs|run|spins|spinning|blares|blaring|honks|honking|toots|tooting|"
         "lit|on|lights|alight|comes on|come on|comes up|come up|"
         "coming on|came on|lights up|light up|lighting up|goes on|go on|"
         "burns|burn|"
         "burning|switching on|is switching on|are switching on|shines|shine|shining|illuminated|illuminates|"
         "illuminate|switches on|turns on"),
    (Say(_FAINT | _DIM, on=True, stays=True), "stays dimly lit|stay dimly lit|stays faintly lit|stay faintly lit|"
     "stays on dimly|stays on faintly|never quite goes out|never goes right out|does not go fully out|"
     "never go out fully|never goes out fully|do not go out fully|does not go out fully|does not go right out|won't "
     "go right out|won't go out fully"),
    (STAYS, "stays on|stay on|staying on|stayed on|stuck on|always on|remains on|remain on|won't go off|won't go out|"
            "does not go off|does not go out|do not go off|do not go out|will not go off|will not go out|never "
            "goes off|"
            "never go off|never goes out|never go out|never turns off|never turn off|"
            "not going off|not going out|stays lit|stay lit|stays alight|stay alight|won't turn off|"
            "won't "
            "switch off|"
            "stays illuminated|stay illuminated|remains illuminated|remains lit|"
            "never stops|never stop|won't stop|does not stop|do not stop|"
            "sticks on|sticking on|jams on|jammed on|runs on|keeps running|keeps sounding|"
            "permanently on|keeps on|on permanently|keeps burning|lit all the time"),
    (FLASHES, "flashes|flash|flashing|blinks|blink|blinking|pulses|pulse|pulsing|pulsates|winks|winking|flashed"),
    (FAST, "fast|too fast|far too fast|far too quick|much too fast|much too quick|way too fast|way too quick|far "
     "too rapid|quick|quickly|too quick|rapid|rapidly|double speed|twice as fast|goes fast|"
                        "go fast|"
                        "going fast|very fast|faster|double time|quicker|like mad|fast flash|at double speed|"
                        "at double rate|double rate|twice the normal rate|"
                        "speeds up|like the clappers|like billy o|like billyo|like crazy|like the hammers|"
                        "like the hammers of hell|like a machine gun|ten to the dozen|nineteen to the dozen|"
                        "going mental|goes mental|go mental|going berserk|goes berserk|"
                        "going mad|goes mad|go mad|racing|races|race|double quick|at a rate of knots|twice the speed|"
                        "at twice the speed|twice the rate|twice normal speed|twice as quick|frantic|frantically"),
    (Say(flash="slow"), "slows|slows down|slow down|slowing down|runs slow|runs slowly|turns slowly|"
                        "slow|slowly|too slow|very slow|goes slow|go slow|going slow|slower|too slowly"),
    (STEADY, "steady|steadily|solid|constant|stays steady|stay steady|stays on steady|on steady|continuous|"
             "continuously"),
    (FLICKERS, "flickers|flicker|flickering|flickered|cutting in and out|cuts in "
                                               "and out|"
                                               "in and out|twinkles|wavers|flutters|flutter|fluttering"),
    (Say(blown=True), "blew again|blown again|has blown again|"
                     "blows|blow|pop|blowing|keeps blowing|keep blowing|blows again|pops|popping|keeps popping|keeps "
                      "going|"
                      "melts|keeps melting|burns out|goes pop|blows every time|keeps on blowing"),
    (Say(blown=True, once=True), "blown|blew|popped|has blown|is blown|melted|blew once"),
    (Say(blown=False), "holds|held|intact|not blown|whole|does not blow|did not blow|won't blow"),
    (Say(exchanged=True), "swapped|swapped over|swapped round|crossed|crossed over|mixed up|muddled up|transposed|"
                          "the wrong way round|wrong way round|the wrong way about|wrong way about|interchanged|"
                          "swap|swap over|swap sides|swap places|swapped sides|swapped places|change places|"
                          "changed places|changed over|do the opposite|does the opposite|opposite each other|"
                          "do the opposite of each other|work the opposite|work the opposite way round|"
                          "the opposite way round|the other way round|arseways|ass about face|arse about face|"
                          "exchanged|switched round|have switched|flash the wrong sides|the wrong sides|on the "
                          "wrong sides|wrong sides|switched over|switched places|back to front|the wrong way around"
                          "|wrong way around"),
    (Say(apart=True), "never together"),
    (Say(sound="clicks"), "clicks|click|clicking|ticks|tick|ticking|pulls in"),
    (Say(sound="buzzes"), "buzzes|buzz|buzzing|chatters|chattering|hums"),
    (Say(sound="silent"), "silent|quiet|stays silent|stays quiet|remains silent|makes no sound|"
                          "make no sound|no sound|makes no noise|make no noise|no noise|"
                          "no click|no clicking"),
)
_NEGATIONS: Final = (
    "not", "no longer", "never", "does not", "do not", "did not", "is not", "are not", "will not", "won't", "was not",
    "can not", "would not", "has not", "have not", "not even", "stopped", "stops", "refuses to", "refuse to",
    "fails to", "fail to",
)
_LIGHTING: Final = (
    "work", "working", "works", "worked", "come on", "coming on", "comes on", "come up", "light", "lighting",
    "lights",
    "lit",
    "light up", "lighting up", "shining", "on",
    "go", "going", "function", "functioning", "shine", "go on", "going on", "burn",
    "play", "honk", "ring", "hoot", "beep", "operate", "operating", "show", "showing", "turn on", "switch on",
    "illuminate", "illuminating", "illuminated", "alight", "sound", "run", "running", "turn", "turning",
    "spin", "spinning", "blow its horn", "burning", "burns", "glow", "glowing", "operational", "operative", "lit up",
    "coming", "come", "coming up", "there", "shows", "give light", "giving light", "give any light",
    "giving any light", "responding", "respond", "do anything", "doing anything", "do a thing", "bother",
     "functional",
    "seem to work", "seem to be working", "seem to come on", "seem to light", "want to work", "want to come on",
    "want to light", "get any power", "shines", "getting lit", "be on",
)
_FLASHING: Final = ("flash", "flashing", "blink", "blinking", "wink", "winking", "pulse", "flashes", "blinks")


def _table() -> dict[tuple[str, ...], Say]:
    out = {tuple(p.split()): say for say, phrases in _ROWS for p in phrases.split("|")}
    for negation in _NEGATIONS:
        for verb in _LIGHTING:
            out[(*negation.split(), *verb.split())] = DARK
        for verb in _FLASHING:
            out[(*negation.split(), *verb.split())] = NO_FLASH
        for off in ("turn off", "switch off", "shut off", "turning off", "switching off", "stop"):
            out.setdefault((*negation.split(), *off.split()), STAYS)
        for good in ("ok", "okay", "right", "normal", "good", "properly", "working properly", "work properly"):
            out[(*negation.split(), *good.split())] = Say(ALL_WORDS - _NORMAL)
        for good in ("great", "great either", "up to much", "much cop", "the best", "so good", "too good", "so hot"):
            out[(*negation.split(), *good.split())] = Say(ALL_WORDS - _NORMAL - frozenset({"bright"}))
        for sound in ("click", "clicking", "tick", "ticking", "pull in", "clicks"):
            out[(*negation.split(), *sound.split())] = Say(sound="silent")
        for lit in ("dark", "out", "off", "dead"):
            out[(*negation.split(), lit)] = ON
    return out


PHRASES: Final[Mapping[tuple[str, ...], Say]] = _table()
LONGEST: Final = max(len(p) for p in PHRASES)
# "on" before these is "the indicator on the left", not a look.
_AFTER_ON: Final = word_set("trailer caravan car van bike the left right rear front my its both one that this a all "
                            "dash dashboard")
# "The hazards work but the indicators do not": of what the first half says of the others.
_SHORT: Final = frozenset(tuple(p.split()) for p in (
    "does not", "do not", "did not", "is not", "are not", "will not", "won't", "not"))
_ENDS: Final = frozenset({"", ",", "|", "but", "and", "either", "though", "except"})
_WENT: Final = word_set("went")  # with nothing after it: "the brake lights went last week"
_AFTER_LIGHT: Final = frozenset({"beam", "beams"})
_WORK_LAMP: Final = word_set("light lights lamp lamps")


def say_at(words: Sequence[str], at: int) -> tuple[Say | None, int]:
    """What is said from `at` on, and how many words that takes; (None, 0) if nothing is."""
    for size in range(min(LONGEST, len(words) - at), 0, -1):
        phrase = tuple(words[at : at + size])
        following = words[at + size] if at + size < len(words) else ""
        say = PHRASES.get(phrase) or (SHORT if phrase in _SHORT and following in _ENDS else
                                      OUT if phrase[0] in _WENT and size == 1 and following in _ENDS else None)
        if say is None:
            continue
        if phrase in (("lights",), ("light",)) or (phrase == ("on",) and following in _AFTER_ON):
            return None, 0
        if phrase[-1] in ("full", "low") and following in _AFTER_LIGHT:
            return None, 0
        if phrase == ("work",) and following in _WORK_LAMP:
            return None, 0
        return say, size
    return None, 0


class Verdict(Struct, frozen=True):
    """What is said of one clause's lamps, all in all."""

    words: frozenset[str]
    flash: Flash | None = None
    usual: bool = False
    works: bool = False
    on: bool = False
    went: bool = False
    stays: bool = False
    flicker: bool = False
    sometimes: bool = False
    moved: bool = False
    glow: bool = False
    glows: bool = False  # "glows dimly" too: light where none is looked for
    short: bool = False  # "does not": what was said before


def verdict(looks: Sequence[Say]) -> Verdict | None:
    """What several things said come to; None if they cannot all be, or say nothing."""
    sometimes, moved = any(k.sometimes for k in looks), any(k.moved for k in looks)
    flicker = any(k.flicker for k in looks)
    telling = [k for k in looks if not k.beside]
    flashes = {k.flash for k in telling if k.flash}
    if len(flashes) > 1:
        flashes.discard("flashing")
    if len(flashes) > 1:
        return None
    flash = next(iter(flashes), None)
    if flash in ("fast", "slow"):  # "flickers fast" is how it flashes
        telling = [k for k in telling if not k.flicker] or telling
        flicker = any(k.flicker for k in telling)
    heard = [k for k in telling if not k.unheard]
    if heard and not all(k.usual or k.on for k in heard):  # "is playing up, it flickers"; but "works funny"
        telling = heard
    if any(k.unheard for k in telling) or (any(k.denied for k in telling) and any(k.usual for k in telling)):
        return None  # "do not flash, the others are fine": not of the same
    firm = [k for k in telling if k.words is not None and not k.weak] or [k for k in telling if k.words is not None]
    if not telling:
        words = _DARK if sometimes or moved else frozenset[str]()
        return Verdict(words, sometimes=True, moved=moved) if words else None
    words = frozenset.intersection(*[k.words for k in firm if k.words]) if firm else (
        ALL_WORDS if all(k.denied for k in telling) else LIT)
    usual = bool(firm) and all(k.usual for k in firm)
    if flash not in (None, "steady"):
        words &= LIT
        usual = False
    if not words:
        return None
    at_times = sometimes or moved
    if at_times and (usual or (moved and all(k.on for k in firm))) and not any(k.stays for k in telling):
        return Verdict(_DARK, sometimes=True, moved=moved)  # what works now and then is dark in between
    return Verdict(
        words, flash, usual, usual and any(k.works for k in firm), bool(firm) and all(k.on for k in firm),
        any(k.went for k in telling), any(k.stays for k in telling) and flash is None, flicker, at_times or flicker,
        moved, bool(firm) and all(k.weak for k in firm),
        any(k.weak or (k.on and words <= _DIM | _FAINT) for k in telling),  # "comes on dim"
        any(k.short for k in telling),
    )


def denied(looks: Sequence[Say]) -> list[Say]:
    """What "nothing works" and "neither lights" say of each."""
    return [DARK if k.usual or k.on else replace(k, blown=False) if k.blown else
            NO_FLASH if k == FLASHES else k for k in looks] or [DARK]
