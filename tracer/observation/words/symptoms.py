"""Symptoms as people type them: "left rear reversing dim, left rear tail faint when gear reverse"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, get_args

from tracer.errors import SymptomError, UnknownNameError, did_you_mean
from tracer.harness.devices import FuseLink
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness
from tracer.observation.evidence import (
    ALL_WORDS,
    WORDS,
    Compared,
    Comparison,
    FuseSeen,
    LampSeen,
    Light,
    RelaySeen,
    Seen,
    Sound,
    Symptom,
)
from tracer.observation.words.circumstances import comparisons, light_said, only_said
from tracer.observation.words.looks import LIGHTS, LOOKS_HINT, Look, combined, look_at, modified
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.states import parse_state, state_as_data, state_from_data
from tracer.observation.words.words import (
    HARMLESS,
    SEPARATORS,
    LampNames,
    check_length,
    find_lamps,
    listed,
    name_words,
    singular,
    tokens,
)

EXAMPLE: Final = "left rear reversing dim, left rear tail faint when gear reverse"
FLASHES: Final = ("steady", "flashing", "slow", "fast")
_WHEN: Final = tuple(
    Pattern(rf"(?<!\S)(?:{w})(?!\S)", re.IGNORECASE) for w in ("when|while|whenever", "with|if")
)
_FIRST: Final = Pattern(r"\s*(?:when|while|whenever|with|if)\s([^:]*):(.*)", re.IGNORECASE | re.DOTALL)
_ELSE: Final = frozenset({"else", "other", "others", "rest", "remaining"})


@dataclass
class _Claim:
    """Words that name lamps, and the looks said of them; inner lists are joined by "or"."""

    words: list[str] = field(default_factory=list)
    looks: list[list[Look]] = field(default_factory=lambda: [[]])


def fuses(harness: Harness) -> dict[str, tuple[str, ...]]:
    """The fuses of a harness with their other names."""
    return {p.name: p.also for p in harness.parts.values() if any(isinstance(d, FuseLink) for d in p.devices)}


def parse_symptom(text: str, harness: Harness) -> Symptom:
    """Understand one symptom: lamps and how they looked, then the positions of the controls.

    Args:
        text: `<lamps> <look>, <lamps> <look>, everything else normal when <control position>, …`

    Raises:
        SymptomError: Something is missing, ambiguous or contradicts itself.
        UnknownNameError: A lamp, control or position that the harness does not have.
    """
    plain, light = light_said(check_length(text))
    said, where, needed = only_said(*_halves(plain))
    state = parse_state(where, harness)
    only = _needed(needed, harness)
    names = LampNames.of(harness)
    said, compared = comparisons(said, names)
    seen: dict[str, Seen] = {f"{c.lamp} against {c.other}": c for c in compared}
    groups: dict[str, frozenset[str]] = {}  # lamp → all that were named with it
    others_normal = False
    claims = _claims(tokens(said), names)
    if not claims and not compared:
        raise SymptomError("it is not said what was seen", f"write it like “{EXAMPLE}”")
    # "Everything else" leaves out what is named after it as well.
    for claim in sorted(claims, key=lambda c: not _ELSE.isdisjoint(c.words)):
        if not any(claim.looks) and claim.words[-1] in ("light", "lights") and len(claim.words) > 1:
            claim = _Claim(claim.words[:-1], [[LIGHTS]])  # the verb: "left tail lights when brake pressed"
        if not any(claim.looks):
            raise SymptomError(f"“{clip(' '.join(claim.words))}” does not say how it looks", LOOKS_HINT)
        if _everything_normal(claim):
            others_normal = True
            continue
        said_of = _seen(claim, names, harness, seen)
        group = frozenset(map(_about, said_of))
        for one in said_of:
            name = _about(one)
            # "The left indicators flash fast, the left rear one is dark": what names fewer lamps is meant.
            if name not in seen or group < groups.get(name, group):
                seen[name], groups[name] = one, group
            elif seen[name] != one and not groups.get(name, group) < group:
                raise SymptomError(f"{seen[name].says()} and {one.says()} cannot both be",
                                   "join looks by “or” when unsure which it was")
    return Symptom(state, tuple(seen.values()), others_normal, text, light, only)


def _about(one: Seen) -> str:
    return one.fuse if isinstance(one, FuseSeen) else one.relay if isinstance(one, RelaySeen) else one.lamp


def _needed(words: str, harness: Harness) -> tuple[str, ...]:
    """The controls that "only with …" speaks of."""
    if not words:
        return ()
    assumed = harness.state({})
    moved = tuple(c for c in parse_state(words, harness).differing(assumed) if c in harness.controls)
    if not moved:
        raise SymptomError(f"“only with {clip(words.strip())}” names no control that was moved",
                           "such as “… only with lamp switch side”")
    return moved


def _halves(text: str) -> tuple[str, str]:
    """What was seen, and in which state."""
    first = _FIRST.fullmatch(text)
    if first:
        return first.group(2), first.group(1)
    for word in _WHEN:
        match = word.search(text)
        if match:
            return text[: match.start()], text[match.end() :]
    if not text.strip():
        raise SymptomError("it is not said what was seen", f"write it like “{EXAMPLE}”")
    raise SymptomError(f"“{clip(text)}” does not say in which positions the controls stood",
                       "end it with “when”: … when ignition on, gear reverse")


def _claims(words: Sequence[str], names: LampNames) -> list[_Claim]:
    """Split the tokens at the changes between lamps and looks."""
    units: list[str | Look] = []
    at = 0
    while at < len(words):
        spelled = names.spelled_at(words, at)
        look, length = look_at(words, at) if not spelled else (None, 0)
        if look is not None:
            if words[at] == "nothing":  # "nothing else lit": of everything else, not lit
                units += ["everything", *(w for w in words[at + 1 : at + length] if w == "else")]
            units.append(look)
        else:
            length = max(spelled, 1)
            units += words[at : at + length]
        at += length
    solid = [u for u in units if isinstance(u, Look) or (u not in HARMLESS and u not in SEPARATORS)]
    if solid and isinstance(solid[0], Look) and isinstance(solid[-1], str):
        return _look_first(units)
    claims: list[_Claim] = []
    pending: list[str] = []
    for unit in units:
        if isinstance(unit, str):
            pending.append(unit)
            continue
        telling = [w for w in pending if w not in HARMLESS and w not in SEPARATORS]
        if telling or not claims:
            claims.append(_Claim(_stripped(pending)))
        elif "or" in pending:
            claims[-1].looks.append([])
        claims[-1].looks[-1].append(unit)
        pending = []
    if any(w not in HARMLESS and w not in SEPARATORS for w in pending):
        claims.append(_Claim(_stripped(pending)))
    if len(claims) > 1 and not claims[0].words:  # "sometimes the left tail is dark"
        claims[1].looks[0][:0] = [look for group in claims[0].looks for look in group]
        del claims[0]
    return claims


def _look_first(units: Sequence[str | Look]) -> list[_Claim]:
    """Claims written like "dim left rear tail, dark left rear stop"."""
    claims: list[_Claim] = []
    for unit in units:
        if isinstance(unit, str):
            claims[-1].words.append(unit) if claims else None
            continue
        telling = claims and any(w not in HARMLESS and w not in SEPARATORS for w in claims[-1].words)
        if telling or not claims:
            claims.append(_Claim())
        elif "or" in claims[-1].words:
            claims[-1].looks.append([])
        claims[-1].words = []
        claims[-1].looks[-1].append(unit)
    for claim in claims:
        claim.words = _stripped(claim.words)
    return claims


def _stripped(words: list[str]) -> list[str]:
    start, end = 0, len(words)
    while start < end and words[start] in SEPARATORS:
        start += 1
    while start < end and words[end - 1] in SEPARATORS:
        end -= 1
    return words[start:end]


def _everything_normal(claim: _Claim) -> bool:
    """Whether the claim is "everything else normal": every lamp behaves as it should, lit or not."""
    telling = {singular(w) for w in claim.words if w not in HARMLESS and w not in SEPARATORS}
    left = telling - {singular(w) for w in _ELSE} - {"everything", "all", "every", "lamp", "light", "bulb", "thing"}
    whole = telling & ({singular(w) for w in _ELSE} | {"everything", "all", "every"})
    words, flash = combined(claim.looks)
    return bool(whole) and not left and words == frozenset({"normal"}) and flash is None


def _seen(
    claim: _Claim, names: LampNames, harness: Harness, before: Mapping[str, Seen]
) -> list[Seen]:
    looks = [look for group in claim.looks for look in group]
    blown = {look.blown for look in looks if look.blown is not None}
    known = fuses(harness)
    phrase = " ".join(claim.words)
    sounds = {look.does for look in looks if look.does is not None}
    if sounds:
        if len(sounds) > 1 or any(k.words is not None or k.flash is not None or k.blown is not None for k in looks):
            raise SymptomError(f"“{clip(phrase)}” cannot both look and sound so", "say “K1 clicks” alone")
        return [RelaySeen(_relay(claim.words, harness), sounds.pop())]
    fuse = _fuse(claim.words, known, bool(blown))
    if fuse is not None:
        looks = [k for k in looks if not (k.sometimes or k.doubtful)]
        if not blown and all(look.words == frozenset({"normal"}) for look in looks):
            blown = {False}
        if len(blown) != 1 or any(look.blown is None and look.words != frozenset({"normal"}) for look in looks):
            raise SymptomError(f"{fuse} is a fuse", f"say “{fuse} blows” or “{fuse} holds”")
        return [FuseSeen(fuse, blown.pop())]
    if blown:
        if names.matching([singular(w) for w in claim.words]):
            raise SymptomError(f"“{clip(phrase)}” is a lamp; fuses blow", LOOKS_HINT)
        raise UnknownNameError(f"no fuse “{clip(phrase)}”", did_you_mean(phrase, known))
    words, flash = combined(claim.looks)
    named = [n for n, s in before.items() if isinstance(s, LampSeen)]
    lamps = find_lamps(claim.words, names, named, lit="dark" not in words)
    sometimes, doubtful = modified(claim.looks)
    return [LampSeen(lamp, words, flash, sometimes, doubtful) for lamp in lamps]


def _fuse(words: Sequence[str], known: Mapping[str, tuple[str, ...]], blows: bool) -> str | None:
    """The fuse that the words name; None if they name none."""
    said = name_words(" ".join(words)) - {"fuse"}
    called = "fuse" in map(singular, words)
    named = {f: (f, *also) if called else (f,) for f, also in known.items()}
    found = [f for f, ns in named.items() if any(said == name_words(n) - {"fuse"} for n in ns)]
    if not found and (called or blows):
        found = [f for f, also in known.items() if said and any(said <= name_words(n) for n in (f, *also))]
    if len(found) > 1:
        raise SymptomError(f"“{clip(' '.join(words))}” could be {listed(found)}", "name the fuse")
    if called and not found:
        raise UnknownNameError(f"no fuse “{clip(' '.join(words))}”", did_you_mean(" ".join(words), known))
    return found[0] if found else None


def relays(harness: Harness) -> dict[str, tuple[str, ...]]:
    """What clicks: relays and flasher units, with their other names."""
    return {p.name: p.also for p in harness.parts.values() if p.kind in ("relay", "flasher unit")}


def _relay(words: Sequence[str], harness: Harness) -> str:
    """The relay or flasher unit that the words name."""
    known = relays(harness)
    phrase = " ".join(words)
    if not known:
        raise SymptomError(f"“{clip(phrase)}”: the harness has nothing that clicks", LOOKS_HINT)
    said = {singular(t) for t in words if t not in HARMLESS and t not in SEPARATORS} - {"relay", "unit"}
    found = [
        r for r, also in known.items()
        if said and any(said <= {singular(t) for t in tokens(n)} for n in (r, *also))
    ]
    plain = [r for r in known if harness.parts[r].kind == "relay"]
    if not said and len(plain) == 1:
        return plain[0]
    if len(found) > 1 or not said:
        raise SymptomError(f"“{clip(phrase)}” could be {listed(found or plain or known)}", "name it")
    if not found:
        raise UnknownNameError(f"no relay “{clip(phrase)}”", did_you_mean(phrase, known))
    return found[0]


def symptom_as_data(symptom: Symptom) -> dict[str, Any]:
    """The symptom as plain data for a job file, with the whole vehicle state."""
    seen: list[dict[str, Any]] = []
    for one in symptom.seen:
        if isinstance(one, FuseSeen):
            seen.append({"fuse": one.fuse, "blown": one.blown})
        elif isinstance(one, RelaySeen):
            seen.append({"relay": one.relay, "does": one.does})
        elif isinstance(one, Compared):
            doubt = {"doubtful": True} if one.doubtful else {}
            seen.append({"lamp": one.lamp, "against": one.other, "how": one.how, **doubt})
        else:
            seen.append(lamp_as_data(one))
    return {
        "text": symptom.text, **state_as_data(symptom.state), "seen": seen,
        "everything else normal": symptom.others_normal,
        **({"light": symptom.light} if symptom.light else {}),
        **({"only": list(symptom.only)} if symptom.only else {}),
    }


def lamp_as_data(seen: LampSeen) -> dict[str, Any]:
    """How a lamp looked as plain data."""
    data: dict[str, Any] = {"lamp": seen.lamp, "words": [w for w in WORDS if w in seen.words]}
    data |= {"flash": seen.flash} if seen.flash else {}
    data |= {"sometimes": True} if seen.sometimes else {}
    return data | ({"doubtful": True} if seen.doubtful else {})


def lamp_from_data(data: Any) -> LampSeen:
    """How a lamp looked, from plain data. Whether the lamp exists is not checked.

    Raises:
        SymptomError: The data has another form.
    """
    wrong = SymptomError("a look is not recorded as lamp, words and flash", "{lamp: left rear tail, words: [dim]}")
    if not isinstance(data, Mapping):
        raise wrong
    lamp, words, flash = data.get("lamp"), data.get("words"), data.get("flash")
    if not isinstance(lamp, str) or not isinstance(words, (list, tuple)) or not words:
        raise wrong
    if not all(isinstance(w, str) and w in ALL_WORDS for w in words):
        raise wrong
    sometimes, doubtful = data.get("sometimes", False), data.get("doubtful", False)
    if not isinstance(sometimes, bool) or not isinstance(doubtful, bool):
        raise wrong
    for known in FLASHES:
        if flash == known:
            return LampSeen(lamp, frozenset(words), known, sometimes, doubtful)
    if flash is not None:
        raise wrong
    return LampSeen(lamp, frozenset(words), None, sometimes, doubtful)


def _sound_from_data(data: Mapping[str, Any], harness: Harness) -> RelaySeen:
    relay, does = data.get("relay"), data.get("does")
    sounds: tuple[Sound, ...] = get_args(Sound)
    if not isinstance(relay, str) or does not in sounds:
        raise SymptomError("a sound is not recorded as relay and does", "{relay: K1, does: clicks}")
    if relay not in relays(harness):
        raise UnknownNameError(f"no relay “{relay}”", did_you_mean(relay, relays(harness)))
    return RelaySeen(relay, next(s for s in sounds if s == does))


def _comparison_from_data(data: Mapping[str, Any], harness: Harness) -> Compared:
    lamp, other, how, doubt = data.get("lamp"), data.get("against"), data.get("how"), data.get("doubtful", False)
    ways: tuple[Comparison, ...] = get_args(Comparison)
    known = isinstance(lamp, str) and isinstance(other, str) and how in ways
    if not known or not isinstance(doubt, bool):
        raise SymptomError("a comparison is not recorded as lamp, against and how",
                           "{lamp: left rear tail, against: right rear tail, how: dimmer}")
    harness.lamp(str(lamp))
    harness.lamp(str(other))
    return Compared(str(lamp), str(other), next(w for w in ways if w == how), doubt)


def symptom_from_data(data: Mapping[str, Any], harness: Harness) -> Symptom:
    """The symptom of recorded data.

    Raises:
        SymptomError: The data has another form.
        UnknownNameError: A lamp, fuse, control or position that the harness no longer has.
    """
    listed_seen, others, text = data.get("seen"), data.get("everything else normal", False), data.get("text", "")
    if not isinstance(listed_seen, (list, tuple)) or not isinstance(others, bool) or not isinstance(text, str):
        raise SymptomError("a symptom is not recorded as text, state, seen and everything else normal")
    seen: list[Seen] = []
    known = fuses(harness)
    for one in listed_seen:
        if isinstance(one, Mapping) and "fuse" in one:
            fuse, blown = one["fuse"], one.get("blown")
            if not isinstance(fuse, str) or not isinstance(blown, bool):
                raise SymptomError("a fuse is not recorded as fuse and blown", "{fuse: F3, blown: true}")
            if fuse not in known:
                raise UnknownNameError(f"no fuse “{fuse}”", did_you_mean(fuse, known))
            seen.append(FuseSeen(fuse, blown))
        elif isinstance(one, Mapping) and "relay" in one:
            seen.append(_sound_from_data(one, harness))
        elif isinstance(one, Mapping) and "against" in one:
            seen.append(_comparison_from_data(one, harness))
        else:
            lamp = lamp_from_data(one)
            harness.lamp(lamp.lamp)
            seen.append(lamp)
    light, only = data.get("light", ""), data.get("only", [])
    named = isinstance(only, (list, tuple)) and all(isinstance(c, str) for c in only)
    if light not in get_args(Light) or not named:
        raise SymptomError("light is recorded as day or night, and only as a list of controls", "light: day")
    for control in only:
        if control not in harness.controls:
            raise UnknownNameError(f"no control “{control}”", did_you_mean(control, harness.controls))
    return Symptom(state_from_data(data, harness), tuple(seen), others, text, light, tuple(only))
