"""How a control stands or is moved, told in any run of small words: "when you slip her into reverse", "the driver
applies the brakes", "going backwards", "with the stalk pushed left". Put as when it is so.

A run of words that only say who does it, and with what movement, is one circumstance with the control that it ends
in; what else the words are makes no difference. Common practice, no source: how tradesmen and owners speak.
"""

from __future__ import annotations

import re
from typing import Final

from tracer.observation.words.patterns import INDICATOR, SIDE, Pattern, put_plainly

_SINCE: Final = (
    r"when(?:ever)?|while|whilst|if|once|(?:as )?soon as|the moment|the minute|the second|the instant|every ?time|"
    r"each time|any ?time"
)
# "On", "with" and "as" begin one only before what is done: a lamp that "comes on in reverse" comes on.
_WHEN: Final = (
    rf"(?P<w>{_SINCE}|(?:up)?on (?=\w+ing\b)|after (?=\w+ing\b)|during|by (?=\w+ing\b)|as (?=(?:i|you|we|he|she|it|"
    rf"the|"
    r"my)\b)|with (?!(?:my |your |the |his |her |me |a )?(?:foot|toe)\b))"
)
_PERSON: Final = (
    r"i|i'm|im|i've|ive|i am|me|you|you're|youre|you've|we|we're|we've|he|he's|she|she's|it|it's|they|they're|one|"
    r"someone|somebody|anyone|anybody|"
    r"(?:the |my |our |his |her )?(?:driver|customer|owner|lad|wife|husband|mate|missus|dad|son|daughter|boy|fella|"
    r"bloke|chap|operator|rider)(?:'s)?"
)
_VEHICLE: Final = (
    r"(?:the |my |this |that |his |her )?(?:car|van|vehicle|truck|lorry|tractor|bike|coach|bus|motor|thing)"
)
_SMALL: Final = (
    r"is|are|am|was|'s|the|a|my|his|her|your|our|its|me|him|them|in|into|onto|to|of|up|over|down|back|just|only|ever|"
    r"actually|first|then|gently|hard|right|being|gets?|getting|got|goes|go|going|went|try|tries|"
    r"trying|start|starts|starting|begin|begins|beginning|attempt|attempting|want|wants|come|comes|coming|need"
)
_MOVES: Final = (
    r"put|puts|putting|place|places|placed|placing|shift|shifts|shifted|shifting|move|moves|moved|moving|drop|drops|"
    r"dropped|dropping|pop|pops|popped|popping|slip|slips|slipped|slipping|slot|slots|slotted|slotting|stick|sticks|"
    r"sticking|stuck|throw|throws|thrown|throwing|knock|knocks|knocked|knocking|pull|pulls|pulled|pulling|push|"
    r"pushes|"
    r"pushed|pushing|click|clicks|clicked|clicking|flick|flicks|flicked|flicking|bung|bungs|bunged|shove|shoves|"
    r"shoved|chuck|chucks|chucked|set|sets|setting|use|uses|used|using|operate|operates|operated|operating|hit|hits|"
    r"hitting|turn|turns|turned|turning|switch|switches|switched|switching|work|works|working"
)
_GEARS: Final = (
    r"select|selects|selected|selecting|engage|engages|engaged|engaging|choose|chooses|chose|chosen|choosing|find|"
    r"finds|"
    r"finding|change|changes|changed|changing|drive|drives|driving|gear|gears|gear ?lever|gear ?stick|lever|selector|"
    r"gear ?box|box|auto|automatic|roll|rolls|rolling"
)
_PRESSES: Final = (
    r"press|presses|pressed|pressing|pres|touch|touches|touched|touching|tap|taps|tapped|tapping|dab|dabs|dabbed|"
    r"dabbing|"
    r"tread|treads|treading|trod|step|steps|stepped|stepping|stand|stands|standing|stamp|stamps|stamping|squeeze|"
    r"squeezes|squeezed|squeezing|apply|applies|applied|applying|lean|leans|leaning|rest|rests|resting|hold|holds|"
    r"held|"
    r"holding|keep|keeps|keeping|pump|pumps|pumping|depress|depresses|depressed|depressing|foot|toe|jab|jabs|jam|"
    r"jams|"
    r"slam|slams|slamming|hammer|hammers|ease|eases|on|put my foot|boot"
)


def _run(*words: str) -> str:
    return rf"(?:(?:{'|'.join((_PERSON, _VEHICLE, _SMALL, _MOVES, *words))}),? ?)"


# What follows and makes it another thing, or the contrary, or one of two.
_NO_LAMP: Final = (
    r"(?! ?-?(?:light|lamp|lite|bulb|one|buzzer|bleeper|beeper|alarm|switch|sensor|fluid|fuse|lever|failure|pad)s?\b)"
    r"(?! (?:is |are |and |or |then )*(?:up|released|not|off|isn't|aren't|let|brak\w+|revers\w+|indicat\w+|"
    r"signal\w*|when|or|but not)\b)")
# Said of a control by its own name and position ("when gear reverse") it is read as it stands: a run has a word more.
_REVERSE: Final = Pattern(
    rf"\b{_WHEN} ?(?!(?:gear|gear ?box|lever|selector) reverse\b)(?:(?:{_run(_GEARS)}){{1,8}}?revers(?:e|es|ed|ing)|"
    rf"reversing)(?: gear)?{_NO_LAMP}"
    r"(?: (?:is|gets|goes|being|has been)(?= (?:in|engaged|selected|put in)\b))?(?: (?:in|engaged|selected|put in|"
    r"found))?(?! (?:left|right|on)\b)|"
    rf"\b{_WHEN.replace('<w>', '<w2>')} ?(?:{_run(_GEARS)}){{0,8}}?(?:backwards?(?! (?:and|or) forwards?)|"
    rf"backs? up{_NO_LAMP}|backing(?: up)?{_NO_LAMP})", 2)
_REVERSE_ALONE: Final = Pattern(
    r"(?:^\s*|(?<=, )|(?<=\. ))(?:going|driving|rolling|moving) backwards,? |(?:^\s*|(?<=\. ))reverse (?:gear "
    r")?(?:in|"
    r"engaged|selected) ?[:,-] ?", 2)
_BRAKE: Final = Pattern(
    rf"\b{_WHEN} ?(?!brake pedal pressed\b)(?:(?:{_run(_PRESSES)}){{1,9}}?(?<!foot )(?<!front )(?<!rear )(?<!hand "
    rf")(?<!back )"
    rf"(?:(?:brake )?pedal|brak(?:es?|ed|ing)\b)|braking\b){_NO_LAMP}(?: pedal{_NO_LAMP}|(?! pedal\b))(?: (?:is|are|"
    rf"gets?|go(?:es)?|being|"
    rf"comes?))?(?: (?:on(?! the\b| both\b| left\b| right"
    r"\b)|down|in|pressed|applied|depressed|touched|pushed|held|used|hard|gently|lightly|slightly|to the floor))*", 2)
_SLOWING: Final = Pattern(rf"\b{_WHEN} ?(?:(?:{_PERSON}) )?(?:is |are |am )?(?:slow(?:s|ing)? down|slowing)\b(?! "
 rf"flash)", 2)
_STALK: Final = (r"(?:(?:the )?(?:indicator |turn |signal |direction )?(?:stalk|arm|lever|switch|indicators?|"
 r"winkers?|"
                 r"blinkers?|flashers?|turn signals?|trafficators?))")
_SIGNAL: Final = Pattern(
    rf"\b{_WHEN} ?(?!indicator (?:stalk|switch) \w+\b|indicators (?:left|right)\b)"
    rf"(?:{_run('press', 'presses', 'pressed')}){{0,6}}?(?:(?:indicat|signal|wink|blink)(?:e|es|ing|l?ing|s)?|"
    rf"{_STALK})(?: (?:is|goes|being|pushed|put|moved|over|up|down|to|for|the|a|going|on|towards))* "
    r"(?P<s>left|right)\b(?! ?(?:hand )?(?:lamp|light|one|rear|front|indicator|winker|tail|stop|side (?:lamp|"
    r"light)))", 2)
_TURN: Final = Pattern(
    rf"\b{_WHEN} ?(?:(?:{_PERSON}) )?(?:am |are |is )?(?:go|goes|going|turn|turns|turning|pull|pulling)(?: (?:to|"
    rf"off|out))?"
    r"(?: the)? (?P<s>left|right)\b(?! ?(?:hand )?(?:lamp|light|one|rear|front|indicator|tail|stop))", 2)
# Who turns left may steer or signal: with these words it is signalled.
_BY_SIGNAL: Final = Pattern(rf"\b(?:{INDICATOR}|inds?|flash\w*|blink\w*|wink\w*|tick\w*|click\w*|tell[- ]?tale|"
 rf"arrow|fuse|F\d+)\b", 2)
_SIGNAL_AT_ALL: Final = Pattern(
    rf"(?<!none )(?<!nothing )(?<!not )\b{_WHEN} ?(?:{_run('press', 'presses', 'pressed')}){{1,6}}?(?:(?:indicator |"
    rf"turn |signal )?stalk|turn signal "
    r"(?:stalk|lever)|indicator (?:lever|switch|arm))\b(?: (?:is|over|either way|up or down|both ways|up|down))*(?! "
    r"(?:left|"
    r"right|to)\b)", 2)
_EITHER: Final = Pattern(
    rf"\b{_WHEN} ?(?:(?:{_PERSON}) )(?:indicate|signal)s? (?:either (?:way|side)|both (?:ways|sides)|left or "
    rf"right)\b", 2)
# The foot that is not there.
_RELEASED: Final = Pattern(
    r"(?:,? (?:and |but |even )*)(?:(?:when|with|if|once|after|while|as soon as|though|although|even when) )?"
    r"(?:(?:i'm|i am|you're|i|you|we|he|she|im) )?(?:(?:take|takes|taking|took|lift|lifts|lifting|have|has|got|with|"
    r"keep) )?"
    r"(?:(?:my|me|your|the|his|her) )?(?<!no )(?:foot|feet|toe) (?:is |being |well |nowhere near|right |completely |"
    r"clear |away |"
    r"not |even )*(?:off|up|near|on|of|from|touching)?(?: of| from)?(?: (?:the|my))? ?"
    r"(?:brakes?|brake pedal|pedal|it|peddle)?(?: at all)?(?=\W*$|,| (?:too|either|again|both|the|left|right|they|"
    r"it)\b)", 2)
_NOT_BRAKING: Final = Pattern(
    r",? ?(?:and |but |even )*(?:(?:when|with|if|while|though|although|without|and) )?(?:(?:the |my )?(?:brakes?|"
    r"brake pedal|"
    r"pedal) (?:is |are )?(?=not ))?(?:(?:i'm|i am|you're|you are|im|"
    r"nobody is|no one is|nobody's|no one's|i) )?(?:not |without |nowhere near |isn't |even |aren't |n't |never |"
    r"nobody |no one )+(?:even )?(?:braking|(?:touching|pressing|touched|pressed)(?: (?:the|my))?(?: (?:foot "
    r"?)?(?:brakes?(?! ?-?(?:light|lamp))|brake pedal|pedal|either brake|any brake))?|"
    r"(?:using|on|near)(?: (?:the|my))? (?:foot ?)?(?:brakes?(?! ?-?(?:light|lamp))|brake pedal|pedal))(?: at "
    r"all)?(?=\W*$|,)", 2)
_LET_GO: Final = Pattern(
    r"\b(?P<w>when|once|as soon as|after|if) (?:i|you|we|he|she) (?:let(?:s)? (?:go|up|off)|release(?:s)?|"
    r"come(?:s)? off|"
    r"ease(?:s)? off|lift(?:s)? off)(?: of)?(?: the| my)?(?: (?:brakes?|brake pedal|pedal|it))?\b(?! (?:of |the |"
    r"front |hand |rear |my )*(?:button|horn|"
    r"switch|lever|stalk))", 2)
_NOWHERE: Final = Pattern(r"\b(?:off|up|nowhere|near|away|clear|not)\b", 2)
_RUNS: Final = Pattern(
    r"\b(?P<w>when|once|if|while|with) (?:she|it|he|the motor|the car|the van|the bike|the tractor)(?:'s| is)? "
    r"(?P<not>not |isn't |never )?(?:running|ticking over|started|fired up|going(?= *(?:$|,)))", 2)
# What goes out when a control is moved is lit again without: that it "comes back" then says the same.
_COMES_BACK: Final = Pattern(
    r"(?P<a>\b(?:out|off|dark|dead|dim|dims|dimmer|fainter|weaker|darker|dies?|disappears?|fades?|vanish\w*|drops? "
    r"out|cuts? out)\b[^,]*?)(?:,| and|, and|,? "
    r"then|, but)+ (?:then )?(?:it |they |she |all )?(?:(?:comes?|goes|go|lights?|is|are|works?) )?(?:back|on|again|"
    r"up|"
    r"lit|fine|ok|"
    r"okay|alight)(?: (?:on|in|again|up|to life|to normal))*,? (?:with my foot off the brake|with (?:the )?brakes? "
    r"off|(?:when|once|as soon "
    r"as|after) (?:"
    r"(?:i|you|it|it's|they|they're|he|the brakes?|the pedal|brakes?) )?(?:is |are |'s |being )?(?:releas\w+|let go|"
    r"let off|let "
    r"up|lift\w* off|come off|comes off|comes up|off)(?: (?:of )?(?:it|the brakes?|the pedal))?)\W*$", 2)
_ON_AND_OFF: Final = Pattern(
    r"^\s*(?:the )?brakes? (?:pedal )?(?:on|pressed|applied|down)[,:]? (?:and )?(?P<said>[^,]+?)(?:,| and|;) (?:the "
    r")?(?:brakes?|"
    r"foot) (?:pedal )?(?:off|released|up)(?: the brake)?(?:,| and|:)? (?:then )?(?:it |they |it's |they're |all "
    r")?(?:comes?|are|"
    r"is|works?|lights?|go|goes)? ?(?:back|on|fine|ok|okay|lit|again|up)(?: (?:on|again|up))*\W*$", 2)
_GO: Final = Pattern(r"(?<!go )(?<!goes )(?<!going )\b(?P<o>out|off|dark|dim)\s*$", 2)
_LIGHTS_ON: Final = Pattern(r"^\s*(?:the |my )*(?P<l>(?:side |head )?(?:lights|lamps)|sidelights|headlights|"
 r"sidelamps|"
                            r"headlamps) (?:are )?(?:switched |turned )?on(?:,? and|:| -) (?!brakes?\b|ignition|"
                            r"engine|key|i |you |press|foot|put )(?=\S+ \S)", 2)
_LAMP: Final = r"\b(?:glow|lit|come|light|faint|glim|stay|burn|shin|on)\w*\b"
_ROWS: Final = tuple((hints, Pattern(said, 2), plain) for hints, said, plain in (
    # Lights that are off, said at the end or first.
    ((" off",), rf"(?P<a>{_LAMP}.*?)(?:,| with|, with| and|, and) (?:the |all |my )*(?:side ?|head ?)?(?:lights|"
     rf"lamps) (?:are |all )?(?:switched |turned )?"
     r"off\W*$", r"\g<a> with the lights off"),
    ((" off",), rf"^(?:with )?(?:the |all |my )*(?:side ?|head ?)?(?:lights|lamps) (?:are |all )?(?:switched |"
     rf"turned )?off,? (?:and )?"
     rf"(?P<a>.*{_LAMP}.*)$", r"\g<a> with the lights off"),
    ((" not ", "n't ", "nt "), r",? (?:and |but )?(?:with )?(?:the |my )?(?:side ?|head ?)?lights (?:are |were "
     r")?(?:not|aren't|arent|weren't|isn't) "
     r"(?:even |actually )?(?:switched |turned )?on\W*$", " with the lights off"),
    ((" of",), r"\b(?P<g>go|goes|going|stay|stays|turn|turns|switch) of(?=\W*$|,| even| when| with| unless| until)",
     r"\g<g> off"),
    (("right ",), r"\b(?P<w>pedal|foot|brake|lever) right (?=up\b|off\b|down\b)", r"\g<w> "),
    (("back brake", "rear brake", "foot brake", "front brake"), r"\b(?:when|if|as|once|with) (?:the |my |i use the |"
     r"i press the )*(?P<b>back|rear|foot|front) "
     r"brake(?: (?:goes|is|comes) (?:on|applied|pressed|used))?\b(?! ?(?:light|lamp)s?)", r"with the \g<b> brake"),
    (("with ",), rf"^with (?P<w>(?:the |my )?(?:side ?|head ?)?lights(?: are)? on) (?=(?:the|my|both|all|{SIDE}|"
     rf"rear|front|back|trailer|caravan|tail|stop|brake|indic)\b)",
     r"with \g<w>, "),
    (("back brake", "rear brake"), r"\b(?:the |my )?(?:back|rear) brake\b(?! ?(?:light|lamp)s?)(?P<n> (?:goes|is) "
     r"on)?", r"the foot brake\g<n>"),
    (("high", "third", "top", "middle"), r"\b(?P<h>high(?: level)?|third|top|middle) (?P<o>one|brake light|stop "
     r"lamp|stop light)(?: up)? (?:in|on|at) "
     r"the (?:tailgate|rear window|back window|boot|roof|rear screen)\b", r"\g<h> \g<o>"),
    (("=",), r"^(?P<a>[^=,]+?) ?= ?(?=\w)", r"\g<a>, "),
    (("stalk",), r",? (?:with )?(?:the )?(?:indicator )?stalk (?:is )?(?:central|in the middle|centred|straight|in "
     r"the centre|not touched)\W*$", ""),
    ((" then ", " back"), r"(?P<a>\b(?:goes|go|cuts|drops) (?:out|off) (?:over|on|when|with|in)\b[^,]*?),? (?:and |"
     r"but )?then (?:it )?comes? back(?: on)?(?: by itself| on its own|"
     r" again)*\W*$", r"\g<a>"),
    (("in reverse",), r"^(?:the |with (?:the )?)?(?:car|van|vehicle|truck|lorry|tractor|bike|motor) (?:is |being "
     r")?in reverse(?: gear)?[,:]? (?:and )?(?=\S+ \S)", "in reverse, "),
    (("neutral", "reverse"), r"(?P<a>\b(?:glow|glim|faint|lit|light|comes on)\w*\b.*?),? (?:and |but )?(?:it "
     r")?(?:goes|is) (?:out|off|dark)(?: again)? (?:in|when (?:i )?(?:go|put it) (?:back )?"
     r"(?:in|into|to)|out of) (?:neutral|reverse|first|gear)\W*$", r"\g<a>"),
    (("key", "ignition"), r",? (?:and |but |then )?(?:(?:if |when |once )?(?:i |you |we )?(?:switch|turn) (?:off "
     r"the (?:key|ignition)|the (?:key|ignition) off)),? (?:and )?(?:then )?(?:they|it) (?:go(?:es)?|"
     r"turns?|switch(?:es)?) (?:out|off)\W*$", ""),
    (("brake",), r"^no (?P<l>stop|brake) ?(?:light|lamp)s?,? (?:with |on |off )?(?:the |either )?(?:front|hand)(?: "
     r"brake)? (?:or|nor|and) (?:the )?(?:foot|back|rear) brake\W*$",
     "no brake light with the front brake. no brake light with the foot brake"),
    (("when ever", "every time", "any time"), r"\bwhen ever\b", "whenever"),
    (("lever", "pedal", "either brake"), r"^no (?P<l>stop|brake) ?(?:light|lamp)s?,? (?:on|off|with|from) either "
     r"(?:the )?(?:lever "
     r"or (?:the )?pedal|pedal or (?:the )?lever|brake)\W*$",
     "no brake light with the front brake. no brake light with the foot brake"),
    (("brake lever", "front lever"), r"^(?P<l>with (?:the )?lights on,? )?when (?:i |you )(?:pull|squeeze|use|press|"
     r"touch) (?:in )?the (?:front )?(?:brake )?lever,? (?P<a>[^,]+)$",
     r"\g<a> with the front brake"),
    (("motor",), r"\b(?P<w>when|with|while|if) (?:the )?motor (?:is )?(?P<n>not running|off|stopped|running)\b",
     r"with the engine \g<n>,"),
    (("half ",), r"\bhalf (?:lights?(?: up)?|lit|glows?|comes? on)\b", "glows"),
    (("no foot", "no one's foot"), r",? (?:and |with |but )*no (?:one's )?foot (?:on|near) (?:the )?(?:brakes?|"
     r"brake pedal|pedal)(?: at all)?(?=\W*$|,)",
     " with my foot off the brake"),
    (("switch is off", "switch off", "switched off"), r",? (?:and |with )?(?:the )?(?:head)?(?:light|lamp)s? "
     r"?switch (?:is |at |in )?off\W*$", " with the lights off"),
    (("otherwise", "nothing else"), r"(?P<a>\b(?:glow|glim|faint|lit|light|comes on|dim)\w*\b.*?),? (?:and |but "
     r")?(?:(?:it |they )?(?:isn't|aren't|is not|are not|not) (?:on|lit) otherwise|nothing else "
     r"(?:is )?(?:switched )?on)\W*$", r"\g<a>"),
    (("switch to",), r"\bwhen (?:i|you|we) (?:pull|turn|put|switch|move|click) the (?:light|lamp|lighting|"
     r"lights)(?: ?switch)? (?:out |round |over )?to (?P<p>side|head)(?:lights?| ?lights?)?\b",
     r"with the \g<p> lights on"),
    (("lights on,", "lamps on,"), r"^(?:the |my )?(?P<l>(?:side |head )?(?:lights|lamps)|sidelights|headlights) on, "
     r"(?=(?:press|when|brake|i |and |put|select|in |with|indicat)\b)", r"with the \g<l> on, "),
    (("at night",), r"\b(?:when (?:i|you|we) (?:drive|am driving|go out) )at night,? ", ""),
    ((" back on", " back when"), r",? (?:but |and )?(?:it |they )?comes? back (?:on|when (?:i )?(?:go back to|am "
     r"back on|on)) (?:the )?(?P<b>dip|main|full)(?: beam)?\W*$", r", fine on \g<b>"),
    (("warning", "tell"), r"\b(?P<w>warning (?:light|lamp)|tell[- ]?tale) in (?:the )?cab\b", r"\g<w> on the dash"),
    # Well where it should be dark, which says nothing: "its fine going forwards".
    ((" forward", " otherwise", " other"), r"(?P<a>\b(?:glow|glim|faint|lit|light|comes on)\w*\b.*?),? (?:but |and "
     r")?(?:it's |its |it is |"
     r"they're |they are |is |are )?(?:(?:all )?(?:fine|ok|okay|normal|all right)|dark|out|dead|off) (?:when "
     r")?(?:(?:going |driving )?forwards?|"
     r"in (?:any |all )?other gears?|in (?:the )?forward gears)\W*$", r"\g<a>"),
    ((" otherwise",), r"(?P<a>\bglow\w*\b.*?),? (?:but |and )?otherwise (?:it's |its |is )?(?:dark|out|off|dead) "
     r"with (?:the )?lights off\W*$",
     r"\g<a> with the lights off"),
    (("flasher", "winker", "indicator", "blinker", "signal"), rf"\b(?:(?:in )?(?:time|step|sync|rhythm)|along|"
     rf"together) with (?:the |my )?(?P<s>{SIDE})"
     rf"(?:[ -]hand)? {INDICATOR}", r"when I indicate \g<s>"),
    (("until",), r"\bstays? (?:on|lit) until (?:i |you |we )?(?:turn|switch) (?:(?:the )?(?:key|ignition) off|off "
     r"(?:the )?(?:key|ignition))\b",
     "stays on with the ignition on"),
    (("lever", "brake", "pedal"), r"\b(?P<w>with|from|on|off|by) (?:the )?(?:front|hand) (?:brake )?lever\b",
     r"\g<w> the front brake"),
    # Of a machine with two brakes: "no brake light off the foot pedal, hand lever works it".
    *((hints, rf"(?P<a>.*\b(?:brake|stop) ?(?:light|lamp)\b.*), (?:but |and )?(?:the )?(?:{said})(?: brake)?(?: "
     rf"(?:lever|pedal))? (?:is |still )?"
       r"(?:ok|fine|good|works it|works|does|lights it|all right)\W*$", rf"\g<a>. brake light works with the "
        rf"{plain} brake")
      for hints, said, plain in ((("front", "hand"), "front|hand", "front"), (("foot", "rear"), "foot|rear",
       "foot"))),
    (("brake", "break", "stop"), r"^(?P<a>.*\b(?:brake ?lights|breaklights|stop ?(?:lights|lamps)|stops|"
     r"brakelights)\b[^,]*), (?:but |and )?(?:only |just )?the "
     r"(?:one|high one|third one|top one|middle one|high level one)(?: up)?(?: (?:in|on|at) the (?:tailgate|rear "
     r"window|back window|boot|top|middle|"
     r"roof))?(?: (?:still )?(?:works|lights|comes on|is fine|is ok|lit))?\W*$", "left and right stop lamps dead, "
      "high stop lamp works"),
    (("door",), rf"(?:,| with) (?:the )?(?:{SIDE} |driver'?s? |passenger'?s? )?doors?(?:'s| is| are)? (?:shut|"
     rf"closed)\W*$", " with the door shut"),
    (("door",), rf"(?:,| with) (?:the )?(?P<s>(?:{SIDE}|driver'?s?|passenger'?s?) )?door (?:is )?opened\W*$",
     r" when I open the \g<s>door"),
    ((" switch",), r" (?:at|on|by|from|with) (?:the|its) (?:own )?switch\W*$", ""),
    (("boot lid", "boot-lid"), r"\bboot[ -]lid\b", "boot"),
    (("she ", "he "), r"(?P<a>(?:,| and|, and|,? then) )(?:s?he) (?=(?:lights|works|comes|goes|glows|flashes|dies|"
     r"blows|is)\b)", r"\g<a>it "),
    ((" then ",), r"(?P<a>.*\b(?:smack|tap|thump|bang|knock|hit|wiggle|slap|clout|kick|push)\w*\b.*\b(?:works?|on|"
     r"back|lights)\b),? (?:and |but )?"
     r"then (?:it )?(?:goes|dies|cuts|is|drops|fades)(?: (?:out|off|gone))?(?: again)?\W*$", r"\g<a>"),
    (("again",), r"\bcomes? back(?: again)?(?= *$)", "works"),
    ((" mak", " caus", " let"), r"\b(?P<m>makes?|causes?|lets?) (?P<w>[^,]+?) (?:to )?going (?P<o>out|off|dim|dark|"
     r"on)\b", r"\g<m> \g<w> go \g<o>"),
    (("altogether",), r"\baltogether (?=when|with|if|on|as)", ""),
))
_FIRST: Final = tuple((Pattern(
    rf"^(?:just |only |if |when )*(?:(?:{_PERSON}) )?(?:{_MOVES}|{verbs}) (?:{_run(verbs)}){{0,7}}?{what}(?:,? "
    rf"and(?: then)?|,? then|,) "
    r"?(?=\w+ \w)", 2), does) for verbs, what, does in (
        (_GEARS, r"reverse(?: gear)?(?: in)?", "when I reverse, "),
        (_PRESSES, r"(?<!foot )(?<!front )(?<!back )(?<!rear )(?<!hand )(?:brake|brakes)(?: down| on| in)?",
         "when I brake, ")))
# After "when I indicate right" these would be "the right indicators".
_BEGINS: Final = Pattern(rf" (?:{INDICATOR}|inds|tick|click)", 2)
_SOON: Final = ("as soon as", "soon as", "the moment", "the minute", "the second", "the instant")
_AT: Final = {"left": "left", "right": "right"}
_HINTS: Final = ("revers", "back", "brak", "pedal", "foot", "feet", "indic", "signal", "stalk", "wink", "blink",
 "turn",
                 "left", "right", "let", "releas", "slow", "lever", "running", "going", "started", "ticking", "fired")


def controls_plainly(text: str) -> str:
    """The sentence with what is done with a control in the words that are read."""
    text = put_plainly(_LIGHTS_ON.sub(r"with the \g<l> on, ", text), _ROWS)
    small = text.lower()
    if not any(h in small for h in _HINTS):
        return text
    for pattern, first in _FIRST if "revers" in small or "brak" in small or "pedal" in small else ():
        text = pattern.sub(first, text)
    if "revers" in small or "back" in small:
        text = _REVERSE_ALONE.sub("in reverse, ", text)
        text = _REVERSE.sub(lambda m: _as(m, "reverse"), text)
    if any(w in small for w in ("brak", "pedal", "foot", "feet", "let", "releas")):
        text = _NOT_BRAKING.sub(" with my foot off the brake", text) if "brak" in small or "pedal" in small else text
        text = _RELEASED.sub(_off, text)
        if "brak" in small or "stop" in small:
            text = _LET_GO.sub("with my foot off the brake", text)
        text = _BRAKE.sub(lambda m: _as(m, "brake"), _COMES_BACK.sub(r"\g<a>", text))
        if found := _ON_AND_OFF.match(text):
            return _GO.sub(r"go \g<o>", found["said"]) + " when I brake"
    if "slow" in small:
        text = _SLOWING.sub(lambda m: _as(m, "brake"), text)
    text = _EITHER.sub(lambda m: _as(m, "indicate"), text)
    if "left" in small or "right" in small:
        text = _SIGNAL.sub(lambda m: _as(m, f"indicate {m['s'].lower()}"), text)
        if _BY_SIGNAL.search(text):
            text = _TURN.sub(lambda m: _as(m, f"indicate {m['s'].lower()}"), text)
    text = _SIGNAL_AT_ALL.sub(lambda m: _as(m, "indicate"), text)
    return _RUNS.sub(lambda m: "with the engine off" if m["not"] else "with the engine running", text)


def _as(found: re.Match[str], does: str) -> str:
    """When it is so, in the fewest words; "as soon as" where that was said."""
    when = " ".join(((found["w"] or found["w2"]) if "w2" in found.re.groupindex else found["w"]).lower().split())
    if does == "brake" and "pedal" in found.group().lower():
        does = "press the brake pedal"  # of a machine with two brakes
    comma = "," * (does.startswith("indicate ") and _BEGINS.match(found.string, found.end()) is not None)
    return f"{'as soon as' if when in _SOON else 'when'} I {does}{comma}"


def _off(found: re.Match[str]) -> str:
    """The foot that is off the pedal; as it was said, where it is on it."""
    return " with my foot off the brake" if _NOWHERE.search(found.group()) else found.group()
