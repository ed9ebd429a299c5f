"""Whether the small words that turn a sentence about ("only", "sometimes", "until", "and when") stand in what was
understood of it; where they do not, the ways in which it may have been meant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from msgspec.structs import replace

from tracer.errors import TracerError
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, LensSeen, LoadSeen, Seen, Symptom
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.contrast_idioms import each_and_both, one_and_the_other
from tracer.observation.words.patterns import AT_TIMES, Pattern
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.turned import lit_only_with
from tracer.observation.words.whole_idioms import no_rear_lights

_AT_TIMES: Final = Pattern(
    rf"\b(?:{AT_TIMES}|half the time|comes? and goe?s?|on occasion|when (?:it|she|they) feels? like it)\b", 2)
_ONLY: Final = Pattern(
    r"\b(?:only|just)\b[^,]*\b(?:glow|glimmer|light|come|shine|flicker|lit|on)\w*\b.* (?:when|whenever|if|with|in|on|"
    r"under|is) ",
    2)
_DARK: Final = frozenset({"dark"})
_WEAK: Final = frozenset({"dim", "faint"})
_PULSE: Final = Pattern(r"\b(?:pulse|pulsat|throb|wink|blink)\w*\b", 2)
# "Dark otherwise" may be with no light switched on.
_OTHERWISE: Final = Pattern(
    r"\b(?:(?:it's |is |stays |goes )?(?:dark|dead|out|off|nothing|unlit),? otherwise|otherwise,? (?:it's |it is |"
    r"is |stays )?(?:dark|"
    r"dead|out|off|nothing|unlit))\b", 2)
_DEAD: Final = Pattern(
    r"\b(?:does anything|neither|none|dead|dark|out|nothing|nowt|no light|not (?:work|light|lit)\w*|(?:does|do|wo|"
    r"is)n't (?:work|light|come|lit)\w*|"
    r"unlit|off|stays? off)\b", 2)


def ways_left_open(
    text: str, told: Understood, own: HealthyStates, read: Callable[[str], Understood],
) -> tuple[str, list[tuple[Symptom, ...]]]:
    """Why it is left open what was meant, and what may have been; no ways where all that was said was understood.

    Args:
        read: Reads another sentence.
    """
    symptoms = told.symptoms
    if both := _all_of(each_and_both(text), read):
        return "it is not said whether with each of them, or with both at once", both
    if sides := _all_of(one_and_the_other(text), read):
        return "it is not said which side", sides
    if lit := _all_of(lit_only_with(text), read):
        return "“only” leaves open whether it works then, or is lit by that", lit
    if _AT_TIMES.search(text) and not any(_at_times(k) for s in symptoms for k in s.seen):
        often = tuple(replace(s, seen=tuple(map(_sometimes, s.seen))) for s in symptoms)
        if often != symptoms:
            return "it says how often, and it is not sure of what", [often, symptoms]
    if pulses := _pulsing(text, symptoms, own):
        return "it leaves open whether they were switched on, and grow dim", pulses
    if (less := _glow_alone(text, symptoms, own)) is not None:
        return "it leaves open whether it is dark when it should be lit", [symptoms, less]
    if rear := _all_of(no_rear_lights(text), read):
        return "it leaves open whether only the tail lamps are meant", rear
    if (dark := _dark_else(text, told, own)) is not None:
        return "“only” leaves open whether it is dark else", [(*symptoms, dark), symptoms]
    return "", []


def _all_of(texts: Sequence[str], read: Callable[[str], Understood]) -> list[tuple[Symptom, ...]]:
    """What each of several sentences says; nothing if one is not understood, or all say the same."""
    ways = []
    for way in texts:
        try:
            ways.append(read(way).symptoms)
        except TracerError:
            return []
    return ways if len({*ways}) > 1 else []


def _at_times(seen: Seen) -> bool:
    if isinstance(seen, LensSeen):
        return any(map(_at_times, seen.looks))
    if isinstance(seen, FuseSeen):
        return seen.when == "sometimes" or seen.once
    return not isinstance(seen, LampSeen | LoadSeen) or seen.sometimes or (isinstance(seen, LampSeen) and seen.moved)


def _sometimes(seen: Seen) -> Seen:
    """The same, now and then: of what is well that it is not."""
    if isinstance(seen, LensSeen):
        return replace(seen, looks=tuple(k for look in seen.looks if isinstance(k := _sometimes(look), LampSeen)))
    if isinstance(seen, LampSeen):
        return replace(seen, words=_DARK if "normal" in seen.words and not seen.flash else seen.words, sometimes=True)
    return replace(seen, works=False, sometimes=True) if isinstance(seen, LoadSeen) else seen


def _pulsing(text: str, symptoms: Sequence[Symptom], own: HealthyStates) -> list[tuple[Symptom, ...]]:
    """"The tails pulse with the indicators": lit where they should be dark, or growing dim with the lights on."""
    seen = [(s, k) for s in symptoms for k in s.seen]
    if not seen or not _PULSE.search(text):
        return []
    lit, dim = dict[VehicleState, list[Seen]](), dict[VehicleState, list[Seen]]()
    for symptom, k in seen:
        states = own.own(k.lamp)[:1] if isinstance(k, LampSeen) else ()
        if not isinstance(k, LampSeen) or k.flash != "flashing" or not k.words <= LIT or not states or (
                "side" not in own.purposes[k.lamp]):
            return []
        state = own.harness.state({**own.moves(states[0]), **own.moves(symptom.state)})
        lit.setdefault(state, []).append(k)
        dim.setdefault(state, []).append(replace(k, words=frozenset({"dim"}), flash=None))
    on = [tuple(Symptom(state, tuple(looks), False, text) for state, looks in some.items()) for some in (dim, lit)]
    return [*on, *([tuple(symptoms)] if {s.state for s in symptoms} != {*lit} else [])]


def _glow_alone(
    text: str, symptoms: Sequence[Symptom], own: HealthyStates
) -> tuple[Symptom, ...] | None:
    """"Glows in reverse, and at no other time" may say no more than that it does not glow else: what is left without
    that it is dead as it should be lit; None where that was said."""
    if len(symptoms) != 2 or _DEAD.search(_OTHERWISE.sub(" ", text)):
        return None
    glows, dead = symptoms if own.moves(symptoms[0].state) and not _dead(symptoms[0]) else symptoms[::-1]
    lamps = {k.lamp for k in glows.seen if isinstance(k, LampSeen) and k.words <= _WEAK}
    dark = {k.lamp for k in dead.seen if isinstance(k, LampSeen)}
    return (glows,) if _dead(dead) and lamps == dark and not lamps & own.on(glows.state) else None


def _dead(symptom: Symptom) -> bool:
    return all(isinstance(k, LampSeen) and k.words == _DARK for k in symptom.seen)


def _dark_else(text: str, told: Understood, own: HealthyStates) -> Symptom | None:
    """"The right indicator only glows when I brake": it may be said that it is dark when it should be lit."""
    symptoms: Sequence[Symptom] = told.symptoms
    if len(symptoms) != 1 or "only" not in told.unused or symptoms[0].only or not _ONLY.search(text):
        return None
    state, on = symptoms[0].state, own.on(symptoms[0].state)
    lamps = [k for seen in symptoms[0].seen for k in (seen.looks if isinstance(seen, LensSeen) else (seen,))
             if isinstance(k, LampSeen)]
    if not lamps or not own.moves(state) or any(k.lamp in on or not k.words <= LIT for k in lamps):
        return None
    states = {s for k in lamps for s in own.own(k.lamp)[:1]}
    if len(states) != 1:
        return None
    return Symptom(states.pop(), tuple(dict.fromkeys(LampSeen(k.lamp, _DARK) for k in lamps)), False, text)
