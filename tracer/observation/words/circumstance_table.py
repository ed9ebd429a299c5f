"""How people say what is switched on, pressed or moved: one row for each way, in the order in which they are tried.

Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from tracer.observation.words.speech_beside import BESIDE
from tracer.observation.words.story_said import SAID_DONE

_THE = r"(?:the (?:car |van |truck |vehicle )?|my |his |her |its |your )?"
_PRE = (
    r"(?:but |and |only )*(?:as soon as|whenever|every time|each time|any time|the moment|when|while|whilst|if|once|"
    r"after|with|under|during|by|on|in)"
)
_PERSON = (
    r"(?:(?:i'm|you're|we're|they're|he's|she's|it's|i|you|we|they|he|she|it|someone|somebody|anyone|anybody|the "
    r"driver|"
    r"the customer|my wife|my husband|my mate)(?: |$))?(?:am |are |is |have |has |had |then )?"
)
_WHEN = rf"(?:{_PRE} {_PERSON})"
_LAMPS = r"(?:lights?|lamps?|beams?)"
_SET = (
    r"(?: is| are)?(?: on| lit| switched on| turned on| used| in use| going| flashing| working| go on| goes on| "
    r"come on| comes on| flash(?:es)?| blinks?| blinking| winks?)?"
)
_IND = (r"(?:indicators?|winkers?|flashers?|blinkers?|trafficators?|semaphores?|turn signals?|turn lights?"
        r"|direction indicators?)")

_ROUGH = (
    r"(?:bumps?|pot ?holes?|speed bumps?|speed humps?|humps?|ramps?|ruts?|cobbles|kerbs?|cattle grids?|corrugations?|"
    r"sleeping policem[ae]n|(?:rough|bad|bumpy|uneven|stony|dirt|gravel|broken) (?:roads?|ground|tracks?|lanes?|"
    r"fields?|"
    r"surfaces?|stuff|going))"
)

# What is done, in the order in which it is looked for. A position that is reached by lighting lamps goes by what they
# are for, so that it needs no name of a control.
TABLE: Final[tuple[tuple[str, str], ...]] = (
    *(("since", said) for said in SAID_DONE),
    ("side", rf"{_WHEN}{_THE}(?:side|parking|position|tail) {_LAMPS} (?:is|are) (?:on|lit)"),
    ("head", rf"{_WHEN}{_THE}head {_LAMPS} (?:is|are) (?:on|lit)"),
    ("main", rf"{_WHEN}{_THE}(?:head )?(?:{_LAMPS}|they|it) (?:is |are )?on (?:the )?(?:main|full|high)"
     rf"(?: {_LAMPS})?"),
    ("dipped", rf"{_WHEN}{_THE}(?:head )?(?:{_LAMPS}|they|it) (?:is |are )?on (?:the )?(?:dip|dipped|low)"
     rf"(?: {_LAMPS})?"),
    ("lights", rf"{_WHEN}{_THE}lights are (?:on|lit)"),
    ("brake off", r"(?:when |with |while )?(?:the |i'm |i am |you're |we're )?(?:no brakes? (?:applied|on|pressed"
                  r"|used)|"
                  r"brakes? not (?:applied|on|pressed|used)|not braking)|without (?:the brakes?|braking)(?= |$)"),
    ("brake off", r"(?:(?:even )?with |when )?(?:the |my )?(?:(?:brake )?pedal (?:is )?(?:up|released|not pressed|"
                  r"let go)|foot (?:is )?off(?: the| my)?(?: brakes?)?(?: pedal)?)"),
    ("moved", rf"{_WHEN}(?:go over|go across|hit|hitting|drive over|driving over|going over|drive on|cross) (?:the "
              rf"|a |some |any )?{_ROUGH}"),
    ("brake", rf"(?:with|when|whenever|while|along with) {_THE}(?:left |right )?(?:brake|stop) {_LAMPS}(?: is| "
     rf"are)?(?: on| lit| come on| light)?"
              r"(?= *(?:,|\||$))"),
    ("moved", rf"(?:{_PRE} {_PERSON}(?:tap|wiggle|slam|thump|hit|knock|bang|shake|move|touch|kick|waggle|jiggle|push|"
              r"tapp?ing|wiggling|slamming|thumping|hitting|knocking|banging|shaking|moving|touching|jiggling|tapped|"
              r"wiggled|slammed|thumped|knocked|shaken|moved|touched|jiggled)"
              r"(?! (?:the |my )?(?:(?:foot ?)?brake|horn|bell|hooter|button|pedal|switch))"
              r"(?: (?:on |at )?(?:it|them|that|the (?:\w+ )?(?:boot|lid|door|bonnet|tailgate|lamp|light|unit|lens|"
              r"cluster|wire|wires|wiring|loom|plug|connector|holder|bumper|wing|bulb)))?)"),
    ("moved", rf"{_PRE} (?!(?:the |my )?doors? (?:is |are )?(?:shut|closed)\b)"
              r"(?:the |my )?(?:boot|lid|door|bonnet|tailgate|lamp|light|unit|lens|cluster|wire|wires|"
              r"wiring|loom|plug|connector|holder|bumper|wing|bulb)(?: lid)? (?:is |are |gets |being )(?:tapped|"
              r"wiggled|slammed|thumped|hit|knocked|banged|shaken|moved|touched|kicked|jiggled|pushed|shut|"
              r"closed)(?: (?:shut|hard))?"),
    ("moved", rf"{_PRE} {_PERSON}(?:shut|shutting|close|closing|slam|slamming) (?:the |a |my )?(?:\w+ )?(?:door|"
              r"boot|lid|bonnet|tailgate|flap|ramp)s?(?= |$)"),
    ("moved", rf"{_PRE} {_PERSON}(?:driving|moving|rolling|going|drive|travelling|on the move)(?: along|"
              r" down the road| on the road| about)?(?=,| ,|$)"),
    ("moved", r"(?:only |when |while |going |driving |bouncing |i |it |go |goes )*(?:over|on|across|hit|hits|"
     r"hitting) (?:the |"
              rf"a |some )?{_ROUGH}"),
    ("moved", rf"(?:{_WHEN})?(?:(?:when|while|going|go|goes|driving|drive|bouncing|i|it) )*(?:across|over) (?:the |a "
     rf"|some )?"
              r"fields?(?= |$)"),
    ("brake", rf"(?<!foot ){_WHEN}brak(?:e|es|ed|ing)\b(?: pressed| applied| depressed| pushed)?(?! {_LAMPS})"
              r"(?! pedal| switch| fluid| is| are)"),
    ("brake", rf"{_WHEN}(?:press|pressing|touch|touching|hit|hitting|push|pushing|step on|stepping on|stand on|"
              rf"stamp on|stamping on|apply|applying|put|use|using|tread on|dab|pump|hold|holding|"
              r"put (?:my |your |his |the |a )?foot on|"
              rf"have my foot on) {_THE}"
              r"(?:(?:foot ?)?brakes?(?: pedal)?|pedal)(?: on| down)?(?= |$)"),
    ("brake", rf"(?:{_PRE} )?{_THE}foot (?:is )?on {_THE}brakes?(?: pedal)?"),
    ("brake", rf"(?:{_PRE} )?{_THE}(?:foot ?)?brakes?(?: pedal)?(?: is| are)?(?: on(?! the| both| left| right| "
              r"trailer"
              rf"| caravan)| "
              rf"pressed| "
              r"applied| down| depressed| held)"),
    ("brake", rf"{_PRE} {_THE}(?:foot ?)?brakes?(?= |$)(?! {_LAMPS}| pedal| switch| fluid)"),
    ("brake", r"(?:under|on|during|while|whilst|when) (?:heavy |hard )?braking"),
    ("reverse", rf"{_WHEN}(?:put|putting|select|selecting|selected|engage|engaging|go|going|stick|shift|get|pull|"
                rf"drop|use|using|find) ?(?:it |her |{_THE}(?:car|van|truck|tractor|bike|lorry|gear ?lever|lever|gear"
                rf" ?box|box) )?(?:in |into |to )?{_THE}revers(?:e|ing)(?: gear)?(?: in| is in| engaged| selected)?"
                rf"(?! {_LAMPS})"),
    ("reverse", rf"{_WHEN}{_THE}revers(?:e|ing)(?: gear)?(?: is)?(?: in| engaged| selected| on)?(?! {_LAMPS})"),
    ("reverse", rf"{_WHEN}(?:i )?(?:backs?|backing) up"),
    ("reverse", rf"{_WHEN}{_THE}(?:left |right |both )?revers(?:e|ing) {_LAMPS}(?: is| are| comes?| go(?:es)?)? "
     rf"(?:on|"
     rf"lit|alight)(?= |$)"),
    ("hazard", rf"(?:{_WHEN}(?:put |switch |turn |use |using )?(?:on )?{_THE}|{_THE})(?:hazards?(?: warning)?(?: "
               rf"{_LAMPS})?|four ?ways?)(?: is| are)? (?:on|going|flashing|switched on)(?! and off)"),
    ("hazard", rf"{_WHEN}(?:put |switch |turn |use |using )?(?:on )?{_THE}(?:hazards?(?: warning)?(?: {_LAMPS})?|"
               r"four ?ways?)(?: switch)?(?: is)?(?: pulled| pressed| used)?"),
    ("left", rf"{_WHEN}(?:indicate|indicating|signal|signalling|turn|turning|flash|flashing)(?: to)? (?:the )?left"),
    ("right", rf"{_WHEN}(?:indicate|indicating|signal|signalling|turn|turning|flash|flashing)(?: to)? (?:the "
              rf")?right"),
    ("left", r"(?:indicating|signalling|turning) (?:to the )?left"),
    ("right", r"(?:indicating|signalling|turning) (?:to the )?right"),
    ("left", rf"{_WHEN}(?:put |switch |use )?{_THE}(?:left {_IND}|{_IND} (?:on the )?left){_SET}"),
    ("right", rf"{_WHEN}(?:put |switch |use )?{_THE}(?:right {_IND}|{_IND} (?:on the )?right){_SET}"),
    ("lights", rf"{_PRE} (?:i|you|we|they|he|she|someone|somebody) turn (?:{_THE}{_LAMPS} on|on {_THE}{_LAMPS})"),
    ("lights", rf"{_PRE} turning (?:{_THE}{_LAMPS} on|on {_THE}{_LAMPS})"),
    ("both ways", rf"{_WHEN}(?:indicate|indicating|signal|signalling)(?= |$)"),
    ("both ways", rf"(?:in time )?{_WHEN}(?:put |switch |use |using )?(?:on )?{_THE}(?:either |each )?{_IND}"
                  rf"(?: (?:stalk|lever|switch)(?= *(?:,|\||$))|{_SET}(?! stalk| lever| switch))"),
    ("main", rf"{_WHEN}(?:i )?(?:use |select |flick to |put |switch (?:to |on )?|go (?:to |on )?|flash |"
             rf"(?:switching|changing|going|flicking) (?:over )?(?:from (?:the )?(?:dip|dipped|low)(?: {_LAMPS})? )?"
             r"(?=to ))?(?:to )?"
             rf"{_THE}(?:main|full|high)(?: {_LAMPS})?{_SET}(?= |$)"),
    ("dipped", rf"{_WHEN}(?:i )?(?:put |switch (?:to |on )?|go (?:to |on )?)?(?:to )?{_THE}(?:dip|dipped|low)"
               rf"(?: {_LAMPS})?{_SET}(?= |$)"),
    ("work", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}work {_LAMPS}{_SET}"),
    ("fog", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}(?:rear )?fogs?(?: {_LAMPS})?{_SET}"),
    ("side", rf"{_WHEN}(?:put |switch |turn )?(?:on )?{_THE}(?:side|parking|position|tail)s? {_LAMPS}{_SET}"
             r"(?! off| out)"),
    ("side", rf"{_WHEN}{_THE}(?:sides(?: on)?|tails(?: on)?|(?:number )?plate {_LAMPS})(?= |$)"),
    ("head", rf"{_WHEN}(?:put |(?:switch|turn|go|click|pull) (?:over )?(?:to )?)?(?:on )?{_THE}head {_LAMPS}"
             rf"{_SET}(?! off| out)"),
    ("lights off", rf"{_WHEN}(?:all )?{_THE}(?:head |side |tail |parking )?{_LAMPS}(?: is| are)? "
                   rf"(?:off|out|(?:switched|turned) off)|"
                   rf"(?:without|with no) {_THE}{_LAMPS}(?: on)?"),
    ("lights", rf"{_WHEN}(?:put|switch|turn)(?:ing)? (?:on )?{_THE}{_LAMPS}(?: on)?"),
    ("lights", rf"{_WHEN}{_THE}lights{_SET}"),
    ("lights off", r"(?<=, )(?:the )?lights (?:are )?off(?= *(?:,|\||$))"),
    ("lights", r"(?:(?<=\A)|(?<=, )|(?<=\|. ))(?:the )?lights (?:are )?on(?= *(?:,|\||$))|(?:(?<=\|. )|(?<=\|.  "
               r"))and "
               r"(?:the |my )?lights (?:are )?(?:on|lit)(?= |$)"),
    ("running", rf"(?:{_WHEN}|{_PRE} )?{_THE}engine(?: is)? (?:running|on|ticking over|idling|idles|going|started|"
                r"revved|revving|runs)"),
    ("running", r"(?:at|on) (?:idle|tickover|tick over)|(?:(?:when|while|whilst) )?"
                r"(?:(?:it|she|engine|the engine)(?:'s| is) )?(?:ticking over|idling)"),
    ("running", r"(?:at|with) (?:high |low |the )?revs|as (?:i |you |we )?rev(?: (?:it|her|the engine))?(?: up)?"),
    ("running", rf"{_WHEN}rev(?:s|ving|ved)?(?: (?:it|her|{_THE}engine))?(?: up)?(?= |$)"),
    ("stopped", rf"(?:{_WHEN}|{_PRE} )?{_THE}engine(?: is)? (?:off|stopped|not running|switched off)|(?:with no|"
                r"without the) engine(?: running)?"),
    ("ignition off", rf"(?:{_WHEN}|{_PRE} )?{_THE}(?:ignition|key)(?: is)? (?:off|out|switched off)|without (?:the )?"
                     r"(?:ignition|key)"),
    ("ignition on", r"with (?:the )?(?:ignition|key)(?= *(?:,|\||$))"),
    ("ignition on", rf"{_WHEN}(?:switch|turn|put)(?:ing)? (?:on )?{_THE}(?:ignition|key)(?: on)?(?= |$)"),
    ("ignition on", rf"(?:{_WHEN}|{_PRE} )?{_THE}(?:ignition|key)(?: is)? (?:on|switched on|turned on)"),
    ("door shut", rf"(?:{_WHEN}|{_PRE} )(?:both |all )?{_THE}(?:left |right |front |rear |any )*doors?(?: is| are)? "
                  r"(?:shut|closed)"),
    ("door", rf"(?:{_WHEN}|{_PRE} )(?:open |opening )?{_THE}(?:left |right |front |rear |driver's |any |a )*doors?"
             r"(?: is| are)?(?: opens?| opened)?(?= |$)"),
    ("door", r"(?:left|right|front|rear|any|the) doors?(?: opens?)?(?= *(?:,|\||$))"),
    ("door", r"(?:but |and |with |by |from |(?<=, )|(?<=\|. )|(?<=\|.  ))(?:the )?(?:left|right|other) "
             r"doors?(?= (?:it|works?|is|ok|fine|does)\b)"),
    ("trailer", rf"{_WHEN}towing"),
    ("trailer", rf"(?:only )?(?:{_WHEN}|{_PRE} ){_THE}(?:trailer|caravan)(?: is)?(?: on| connected| plugged in| "
                r"coupled| hooked(?: up)?| hitched(?: up)?)"),
    ("trailer off", rf"(?:{_WHEN}|{_PRE} ){_THE}(?:trailer|caravan)(?: is)? (?:off|disconnected|un(?:plugged|hooked|"
                    r"hitched|coupled))|without (?:the |my |a )?(?:trailer|caravan)(?: on)?"),
    ("dimmed", rf"{_WHEN}(?:turn|turning|set|put|wind|knock) (?:the |my )?(?:\w+ )?(?:dimmer|lights?|lamps?) "
               r"(?:right )?down(?: low)?|(?:when|with) (?:the |my )?(?:\w+ )?dimmer (?:is )?(?:turned )?"
               r"(?:right )?down(?: low)?"),
    ("dimmer", r"(?:won't|will not|do not|does not|can not|did not|never) (?:be )?(?:dims?|dimmed|turn(?:ed)? down|"
               r"dim down)(?= *(?:,|\||$))"),
    *BESIDE,
)
# A pattern is tried where one of these stands in the sentence: compiling all of them takes a fifth of a second.
TRIGGERS: Final[Mapping[str, tuple[str, ...]]] = {
    "since": ("since", "after", "checked", "changed", "replaced", "swapped", "renewed", "tested", "tried", "fitted",
              "cleaned", "new", "bulb", "globe", "holder", "trailer", "caravan", "contact", "connection", "no ",
              "still", "same", "fault", "problem", "trouble", "moved", "followed", "had ",
              "pulled", "took", "taken", "change"),
    "dimmed": ("dimmer",), "dimmer": ("dim", "down"),
    "brake": ("brak", "stop", "pedal"), "reverse": ("revers", "back"),
    "hazard": ("hazard", "four"),
    "left": ("left",), "right": ("right",),
    "both ways": ("indic", "wink", "flash", "blink", "signal", "traffic", "turn"),
    "main": ("main", "full", "high"), "dipped": ("dip", "low"), "fog": ("fog",),
    "side": ("side", "park", "posit", "tail", "plate"),
    "head": ("head",), "lights off": ("light", "lamp"), "lights": ("light", "lamp", "beam"),
    "running": ("engine", "idle", "tick", "rev"), "stopped": ("engine",), "ignition off": ("ignition", "key"),
    "ignition on": ("ignition", "key"), "door": ("door",), "door shut": ("door",),
    "brake off": ("pedal", "foot", "brak"), "work": ("work",),
    "trailer": ("trailer", "caravan", "towing"), "trailer off": ("trailer", "caravan"),
    "weather": (
        "wet", "hot", "cold", "damp", "rain", "warm", "freez", "heat"), "moved": (
        "tap", "wiggl", "slam", "thump", "hit", "knock", "bang", "shak", "mov", "touch", "kick", "waggl", "jiggl",
        "push",
        "shut", "clos", "driv", "going", "roll", "travel",
        "bump", "road", "hole", "cobble", "grid", "ground", "track", "lane", "field", "rut", "ramp", "hump", "kerb",
        "corrug", "policem", "going", "surface", "stuff"), "after a while": ("after",),
    "always": ("time", "all day", "perm", "const", "24"),
    "at once": ("once", "away", "immed", "instant"),
}
