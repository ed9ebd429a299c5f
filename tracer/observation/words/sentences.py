"""One sentence of what somebody saw: in the harness's own words or as it is spoken, understood or asked back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.errors import SymptomError, TracerError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness
from tracer.observation.evidence import ALL_WORDS, LIT, LampSeen, Symptom
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.accounted import nearest_first
from tracer.observation.words.circumstances import A_SIDE, light_said
from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech import read_speech, tells_only_story
from tracer.observation.words.speech_choices import NOT_WELL
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_states import NotHere, NotUnderstood, Understood
from tracer.observation.words.turned import SENTENCES
from tracer.observation.words.words import name_words, singular, tokens
from tracer.observation.words.written import Written, read_written

MOST_CHOICES: Final = 3
# Complaints of the written form about when it was; where speech knew that, its own complaint is to the point.
_WHERE: Final = ("too long for one control", "in which positions", "tells only where", "does not say which position")
# What is said so is said of lamps that are switched on.
_SWITCHED: Final = Pattern(
    r"\bengine (?:is )?(?:off|stopped|not running|switched off)\b|\b(?:flickers?|flickering)\b", 2)
# Of `turned`: with what switches them on.
_SWITCHED_ON: Final = Pattern(r" (?:do|won't) work (?:with|when|whenever|while|if|as long as) ")
# What goes out, or dim, was lit before.
_CEASES: Final = Pattern(
    r"\b(?:goes|go|going|went) (?:out|off|dim|dark|dead|dull|faint|weak)\b|\b(?:cuts?|drops?|fades?) out\b"
    r"|\b(?:dims|dimmer|duller|weaker|fainter)\b", 2)
_POSITION: Final = Pattern(r"no control position “([^”]*)”", 2)
_OTHER_SIDE: Final = Pattern(rf"\b(?:with|to|than|as) {A_SIDE}\s*$", 2)
# What is said so of a lamp in a state is said of it as it should burn there: it was switched on.
_FAILS: Final = Pattern(
    r"\b(?:dead|out|fail\w*|not work(?:ing)?|(?:does|do|is|are|wo|ca)(?:n't| not) (?:work(?:ing)?|come on"
    r"|light))\b", 2)
_AT_REST_SAID: Final = Pattern(r"\b(?:off|released|up|neutral|closed|shut|open|out of)\b", 2)
_ONLY_GOOD: Final = Pattern(r"\bonly (?:bright|ok|okay|fine|good|normal|all right|works?)\b", 2)
# "Brake light off when the lights are on", and not "lights off".
_OFF: Final = Pattern(
    r"^[^,]*\b(?:light|lamp|bulb|one|tail|stop|indicator)s? (?:is |are |stays? )?off (?:when|with|if|while)\b", 2)
_GLOWS: Final = Pattern(r"\b(?:glow\w*|lit|comes? on|on dim\w*|lights? up|stays?|remains?|tell)\b", 2)
_WARNING: Final = Pattern(r"tell|warn|dash|instrument|panel|green|blue|\bred\b|amber|arrow|repeater|indicator", 2)
# The side of a door or of another lamp, as it is so: no indicator of that side.
_OF_ANOTHER: Final = Pattern(
    r"\b(?:when|with|while|whilst|whenever|if|as)\b[^,]*\b(?:left|right)(?:[ -]hand)? (?:\w+ )?(?:door|revers\w*|"
    r"tail|stop|brake"
    r"|fog|head\w*|side|plate|main|dip)\b", 2)
_INDICATES: Final = Pattern(r"indicat|wink|blink|flash|signal|turn|trafficat|hazard", 2)
_ON_DIP: Final = Pattern(r"\b(?:on|with|in|when|while) (?:the )?(?:dip|dipped|low)(?: beams?)?(?: on)?\s*$", 2)
_MOVED_DIP: Final = Pattern(r"\b(?:dip|lamp|light) ?switch\b", 2)
_NO_IGNITION: Final = Pattern(r"\b(?:ignition|key|engine)(?: is)?(?: switched| turned)? (?:off|out)\b", 2)
_PRAISED: Final = Pattern(r"\b(?:ok|okay|fine|good|works?|working|all right|perfect)\b", 2)
_WORKS: Final = Pattern(r"\bworks?\b", 2)  # nobody says so of what is dark
_EVERYTHING: Final = Pattern(
    r"\b(?:everything (?:at|on|in)|(?:lights|lamps) (?:at|on|in) the (?:rear|front|back|left|right))\b", 2)
_BATTERY: Final = (r"(?:the |my |its |her |a |had )*battery(?:'s| is| has| goes| went| keeps?| gets?| runs?| was| "
                   r"found| being| going| always| also| been)*")
_FLAT_BATTERY: Final = Pattern(
    rf"\b{_BATTERY} (?:\w+ )?(?:flat|drain\w*|dead|dies|died|down|discharg\w*|low)\b|"
    r"\b(?:drain\w*|flat(?:tens?|tening)?|kill(?:s|ing)?|eats?) (?:the |my |its )?battery\b", 2)
_CHARGING: Final = Pattern(
    r"\b(?:battery|charg(?:e|ing)|alternator) (?:warning )?(?:light|lamp)\b|"
    r"\b(?:not|isn'?t|won'?t|no|never|over|under) ?-?charg(?:e|es|ing)\b|\b(?:alternator|dynamo|generator|regulator) "
    r"(?:is |has |not |'s |been )*(?:dead|gone|bad|faulty|knackered|kaput|packed|working|charging|duff)", 2)
_AT_REST: Final = (
    "look what is lit, warm or hums with everything off, such as “left rear stop lit when everything off”; an "
    "ammeter or a clamp at the battery's lead shows whether anything draws"
)
_ALL_OTHERS: Final = Pattern(r"\b(?:else|others?|rest|all|every|each|everything|nothing)\b", 2)
_STORY: Final = "say first how the lamps do and then that, such as “brake lights dead, trailer fine on another car”"
_VOLTS: Final = (
    "charging is outside what is traced here; a voltmeter at the battery, engine at fast idle, tells; say what the "
    "lamps do, such as “everything dim with the engine running”"
)


class AskedError(SymptomError):
    """What is told is no look of a lamp: the choices are where to look for it."""


def one_sentence(text: str, whole: str, harness: Harness, own: HealthyStates) -> Understood:
    """What one sentence of a text says; arguments and errors as of `understand`."""
    try:
        written = read_written(text, harness)
        symptom = replace(_as_should(written, own), text=whole)
        dark = [s.lamp for s, was in zip(symptom.seen, written.symptom.seen, strict=True)
                if isinstance(s, LampSeen) and s != was]
        if _told_of_one(text, symptom, own):
            raise SymptomError(f"“{clip(text)}” does not say of which lamp that is told")
        if _open_when(text, symptom, own) or (dark and symptom.only):  # nor does it work "only" there
            raise SymptomError(f"“{clip(text)}” does not say in which positions the controls stood")
        if dark and ((not own.moves(symptom.state) and _PRAISED.search(text)) or _WORKS.search(text)):
            raise SymptomError(f"“{clip(text)}” does not say in which positions the controls stood")
        if _EVERYTHING.search(text) and not all(n in own.on(symptom.state) for n in symptom.lamps_named()):
            raise SymptomError(f"“{clip(text)}” does not say which lamps")  # those that are lit there, or some others
        note = (f"dark, as it should be here: {', '.join(dark)} (else say “lit”)",) if dark else ()
        return Understood((symptom,), note, verbatim=True)
    except TracerError as not_written:
        if "cannot be both" in not_written.message:
            raise  # it was understood, and contradicts itself
        try:
            said, light = light_said(text)
            spoken = read_speech(said, lexicon_of(own))
        except NotUnderstood as speech:
            if (battery := _of_the_battery(text, own)) is not None:
                raise battery from None
            choices = ready_sentences(nearest_first(speech.ready, text, lexicon_of(own)), own)
            nowhere = not_written.message.startswith("no control position") or any(
                w in not_written.message for w in _WHERE)
            position = _POSITION.match(not_written.message)
            # Nobody typed that: it is how the program put it.
            reworded = position is not None and position[1].casefold() not in whole.casefold()
            known = speech.strange or isinstance(speech, NotHere)
            if tells_only_story(said, lexicon_of(own)):
                raise SymptomError(f"“{clip(text)}”: it is not said what was seen", _STORY) from None
            if known and not choices and (nowhere or not _says_when(text)):
                hint = not_written.hint if _says_when(text) else did_you_mean(text, own.purposes)
                raise SymptomError(f"“{clip(text)}”: {speech.why}", hint) from None
            if isinstance(speech, NotHere) and speech.strange:  # another vehicle
                why = f"“{clip(text)}”: {speech.why}"
                raise SymptomError(why, "say what the lamps that it has do", choices) from None
            if not reworded and ((_says_when(text) and not (nowhere and not speech.strange)) or not choices):
                raise _with_choices(not_written, choices) from None
            kind = AskedError if speech.asks else SymptomError
            why = f"“{clip(whole if reworded else text)}”: {speech.why}"
            raise kind(why, "say which was meant", choices) from None
        symptoms = tuple(replace(s, text=whole, light=light) for s in spoken.symptoms)
        return replace(spoken, symptoms=symptoms)


def _told_of_one(text: str, symptom: Symptom, own: HealthyStates) -> bool:
    """Whether what was switched on lights one of the lamps, and another that it does not light is told as too weak:
    "tail dim, stop dead when braking", as it is spoken, says that of the second alone."""
    moves = own.moves(symptom.state)
    as_written = all(f"{control} {position}" in text for control, position in moves.items())
    if not moves or as_written or _ALL_OTHERS.search(text):
        return False
    on = own.on(symptom.state)
    lamps = [k for k in symptom.seen if isinstance(k, LampSeen)]
    if all(k.lamp in text for k in lamps):
        return False
    weak = [k for k in lamps if k.lamp not in on and k.words <= NOT_WELL and not k.flash]
    return bool(weak) and any(k.lamp in on for k in lamps)


def _of_the_battery(text: str, own: HealthyStates) -> SymptomError | None:
    """What a sentence of a battery that goes flat or is not charged is answered with; None if it is another."""
    if _CHARGING.search(text):
        return SymptomError(f"“{clip(text)}”: that is no look of a lamp", _VOLTS)
    if not _FLAT_BATTERY.search(text):
        return None
    drawing = [(Symptom(own.parked, (LampSeen(n, LIT),)),) for n in own.lit_at_rest()]
    why = f"“{clip(text)}”: a battery that goes flat is no look of a lamp"
    return AskedError(why, _AT_REST, ready_sentences(drawing, own))


def _open_when(text: str, symptom: Symptom, own: HealthyStates) -> bool:
    """Whether more was switched on than was told, by what is said of the lamps: that they go out, or flash too fast,
    where none of them should be lit."""
    if _ONLY_GOOD.search(text) and not symptom.only:
        return True  # and else it is not
    turned = any(position in ("left", "right") for position in own.moves(symptom.state).values())
    if turned and (found := _OF_ANOTHER.search(text)) and not _INDICATES.search(text, found.start()):
        return True
    if _OTHER_SIDE.search(text) or (_SWITCHED.search(text) and not _anything_on(symptom, own)):
        return True
    lamps = symptom.lamps_named()
    if lamps and all("tell-tale" in own.purposes.get(n, ()) and not _of_the_dash(n, text) for n in lamps):
        return True  # "brake lights on with the ignition off", of a car with a tell-tale for the brake pads
    looks = [s.words for s in symptom.seen if isinstance(s, LampSeen)]
    on = own.on(symptom.state)
    if lamps and all(k == {"dim"} for k in looks) and on and not {*on} & own.purposes.keys():
        # "Tail lights dim with the fridge on", which lights none; but what is written out is meant as it stands.
        return written_as(symptom, own.harness).casefold() != text.strip().casefold()
    unlit = bool(lamps) and not any(n in on for n in lamps)
    at_idle = symptom.state.engine_running and not own.moves(symptom.state)
    if unlit and at_idle and all(k == {"bright"} for k in looks):
        return True  # it was switched on
    if unlit and own.moves(symptom.state) and all(k == {"dark"} for k in looks) and _OFF.search(text):
        return True
    weak = unlit and all(k <= {"dim", "faint"} for k in looks)
    if weak and own.moves(symptom.state) and not (_GLOWS.search(text) or _AT_REST_SAID.search(text)):
        # Whether what lights it was on, or it glows.
        moved = [f"{c} {p}" for c, p in own.moves(symptom.state).items()]
        return not all(w.casefold() in text.casefold() for w in (*lamps, *moved))  # else it is meant as it stands
    if lamps and _FAILS.search(text) and not _AT_REST_SAID.search(_NO_IGNITION.sub("", text)) and not any(
            n in own.on(symptom.state) for n in lamps):
        return True
    if _ON_DIP.search(text) and not on and not _MOVED_DIP.search(text):
        return True  # "… with dipped", which is where the switch stands at rest: the headlamps were on
    rate = any(isinstance(s, LampSeen) and (s.flash in ("fast", "slow") or (
        s.flash == "steady" and s.words == ALL_WORDS)) for s in symptom.seen)
    ceases = rate or _SWITCHED_ON.search(text) or _CEASES.search(text)
    return bool(ceases) and not any(lamp in own.on(symptom.state) for lamp in symptom.lamps_named())


def _of_the_dash(lamp: str, text: str) -> bool:
    """Whether a text speaks of a tell-tale: by a word for one, or by a word of its name that no lamp is called by."""
    words = {singular(w) for w in tokens(text)}
    own = name_words(lamp) - {*FUNCTIONS} - {"tell-tale", "tell", "tale"}
    return bool(_WARNING.search(text)) or bool(own & words)


def _anything_on(symptom: Symptom, healthy: HealthyStates) -> bool:
    """Whether a control but the ignition is set in the state that was told, or a lamp that was spoken of burns there;
    "dim with the engine off" speaks of lamps that are switched on."""
    moved = [c for c in healthy.moves(symptom.state) if "ignition" not in c]
    return bool(moved) or any(lamp in healthy.on(symptom.state) for lamp in symptom.lamps_named())


def _as_should(written: Written, healthy: HealthyStates) -> Symptom:
    """What is normal where it should be dark is dark."""
    symptom = written.symptom
    seen = tuple(
        replace(s, words=frozenset({"dark"}), fine=True)
        if isinstance(s, LampSeen) and s.lamp in written.usual and s.words == {"normal"} and s.flash is None
        and s.lamp not in healthy.on(symptom.state) else s
        for s in symptom.seen
    )
    return replace(symptom, seen=seen)


def _says_when(text: str) -> bool:
    return any(f" {w} " in f" {text.casefold()} " for w in ("when", "with", "while"))


def _with_choices(error: TracerError, choices: Sequence[str]) -> TracerError:
    error.choices = tuple(choices)
    return error


def ready_sentences(ready: Sequence[Sequence[Symptom]], healthy: HealthyStates) -> tuple[str, ...]:
    """The ready sentences; those that would not be read as what they say are left out."""
    out: dict[str, None] = {}
    for symptoms in ready:
        if len(out) == MOST_CHOICES:
            break
        words = [written_as(s, healthy.harness) for s in symptoms]
        try:
            for one in words:
                read_written(one, healthy.harness)
        except TracerError:
            continue
        if words:
            out.setdefault(". ".join(words))
    return tuple(out)


def written_as(symptom: Symptom, harness: Harness) -> str:
    """A symptom in the words that are always read as the same."""
    base = harness.state({})
    moved = [f"{c} {p}" for c, p in symptom.state.positions if p != base[c]]
    moved += ["engine running"] * symptom.state.engine_running
    said = [s.says() for s in symptom.seen] + ["everything else normal"] * symptom.others_normal
    rest = next((f"{c} {p}" for c, p in base.positions), "everything off")
    return f"{', '.join(said)} when {', '.join(moved) or rest}"


def symptoms_written(sentences: str, harness: Harness) -> tuple[Symptom, ...]:
    """What ready sentences say, one after another.

    Raises:
        TracerError: They are none.
    """
    return tuple(read_written(one, harness).symptom for one in SENTENCES.split(sentences))


_latest: list[Lexicon] = []  # a job reads all its sentences against one harness


def lexicon_of(healthy: HealthyStates) -> Lexicon:
    """The words of one vehicle, gathered once as long as the same one is spoken of."""
    for found in _latest:
        if found.healthy is healthy:
            return found
    found = Lexicon(healthy)
    _latest[:] = [found]  # what another thread puts there meanwhile is not looked at
    return found
