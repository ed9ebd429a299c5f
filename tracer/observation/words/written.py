"""Symptoms in the harness's own words: "left rear reversing dim, left rear tail faint when gear reverse".

Every word counts here; what a symptom says of itself is read again as the same. Speech is for `spoken`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Final

from msgspec import Struct, field

from tracer.errors import SymptomError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness
from tracer.observation.evidence import FuseSeen, FuseTime, LampSeen, LensSeen, LoadSeen, RelaySeen, Seen, Symptom
from tracer.observation.words.circumstances import comparisons, light_said, only_said
from tracer.observation.words.looks import LIGHTS, LOOKS_HINT, Look, combined, look_at, modified
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.states import parse_state
from tracer.observation.words.symptom_data import fuses, loads, relays
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
_WHEN: Final = tuple(
    Pattern(rf"(?<!\S)(?<!after a )(?:{w})(?!\S)", re.IGNORECASE) for w in ("when|while|whenever", "with|if")
)
_FIRST: Final = Pattern(r"\s*(?:when|while|whenever|with|if)\s([^:]*):(.*)", re.IGNORECASE | re.DOTALL)
_WEAK: Final = frozenset({"dim", "faint"})
_ELSE: Final = frozenset({"else", "other", "others", "rest", "remaining"})


class _Claim(Struct):
    """Words that name lamps, and the looks said of them; inner lists are joined by "or"."""

    words: list[str] = field(default_factory=list)
    looks: list[list[Look]] = field(default_factory=lambda: [[]])


class Written(Struct, frozen=True):
    """A symptom, and the lamps that were said to be as they should, lit or dark."""

    symptom: Symptom
    usual: frozenset[str]


def read_written(text: str, harness: Harness) -> Written:
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
    usual: dict[str, bool] = {}
    others_normal = False
    claims = _claims(tokens(said), names, _called(harness))
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
        as_usual = all(k.usual or k.beside for looks in claim.looks for k in looks)
        for one in said_of:
            name = _about(one)
            # "The left indicators flash fast, the left rear one is dark": what names fewer lamps is meant.
            if name not in seen or group < groups.get(name, group):
                seen[name], groups[name], usual[name] = one, group, as_usual
            elif seen[name] != one and not groups.get(name, group) < group:
                raise SymptomError(f"{seen[name].says()} and {one.says()} cannot both be",
                                   "join looks by “or” when unsure which it was")
    symptom = Symptom(state, tuple(seen.values()), others_normal, text, light, only)
    return Written(symptom, frozenset(n for n, as_usual in usual.items() if as_usual))


def _about(one: Seen) -> str:
    match one:
        case FuseSeen():
            return one.fuse
        case RelaySeen():
            return one.relay
        case LoadSeen():
            return one.load
        case LensSeen():
            return " or ".join(one.lamps)
    return one.lamp


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


def _called(harness: Harness) -> list[list[str]]:
    """The words of the names of what is no lamp: one may have a look in it, as the "lights-on buzzer"."""
    return [tokens(n) for known in (loads(harness), relays(harness), fuses(harness)) for name, also in known.items()
            for n in (name, *also) if len(tokens(n)) > 1]


def _claims(words: Sequence[str], names: LampNames, called: Sequence[Sequence[str]] = ()) -> list[_Claim]:
    """Split the tokens at the changes between lamps and looks."""
    units: list[str | Look] = []
    at = 0
    while at < len(words):
        spelled = names.spelled_at(words, at) or next((len(c) for c in called if [*words[at:at + len(c)]] == c), 0)
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
    one = "other" in claim.words and not {"all", "every", "lamps", "lights", "bulbs", "ones"} & {*claim.words}
    return bool(whole) and not (left or one) and words == frozenset({"normal"}) and flash is None


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
        return [_fuse_seen(fuse, looks)]
    load = next((n for n, also in loads(harness).items() for said in (n, *also)
                 if claim.words and name_words(said) == name_words(phrase)), None)
    if load is not None and not names.exact.get(name_words(phrase)):
        return [_load_seen(load, looks)]
    if blown:
        if names.matching([singular(w) for w in claim.words]):
            raise SymptomError(f"“{clip(phrase)}” is a lamp; fuses blow", LOOKS_HINT)
        raise UnknownNameError(f"no fuse “{clip(phrase)}”", did_you_mean(phrase, known))
    if any(k.when for k in looks):
        raise SymptomError(f"“{clip(phrase)}” is no fuse, of which is said how soon it blows", LOOKS_HINT)
    words, flash = combined(claim.looks)
    named = [n for n, s in before.items() if isinstance(s, LampSeen)]
    sometimes, doubtful, moved = modified(claim.looks)
    if either := _either(claim.words, names):
        return [LensSeen(tuple(LampSeen(lamp, words, flash, sometimes, doubtful, moved) for lamp in either))]
    lamps = find_lamps(claim.words, names, named, lit="dark" not in words)
    return [LampSeen(lamp, words, flash, sometimes, doubtful, moved) for lamp in lamps]


def _either(words: Sequence[str], names: LampNames) -> list[str]:
    """The lamps that "left rear stop or left rear tail" names, each in full; none if it is not that."""
    parts = re.split(r" or ", " ".join(words))
    spelled = {" ".join(said): lamp for said, lamp in names.spelled}
    found = [spelled.get(p, "") for p in parts]
    return found if len(parts) > 1 and all(found) else []


def _fuse_seen(fuse: str, looks: Sequence[Look]) -> FuseSeen:
    blown = {k.blown for k in looks if k.blown is not None}
    telling = [k for k in looks if not k.beside]
    if not blown and telling and all(k.words == frozenset({"normal"}) for k in telling):
        blown = {False}
    wrong = any(k.blown is None and k.words != frozenset({"normal"}) for k in telling) or any(k.moved for k in looks)
    times: set[FuseTime] = {k.when for k in looks if k.when}
    if any(k.sometimes for k in looks):
        times.add("sometimes")
    if len(blown) != 1 or wrong or len(times) > 1 or any(k.doubtful for k in looks) or (times and blown == {False}):
        raise SymptomError(f"{fuse} is a fuse", f"say “{fuse} blows” or “{fuse} holds”")
    return FuseSeen(fuse, blown.pop(), next(iter(times), ""), any(k.once for k in looks))


def _load_seen(load: str, looks: Sequence[Look]) -> LoadSeen:
    hint = f"say “{load} works”, “{load} weak” or “{load} does not work”"
    telling = [k for k in looks if not k.beside]
    works = {k.words for k in telling}
    weak = [k for k in telling if k.flash == "slow" or (k.words and k.words <= _WEAK and not k.weak)]
    if telling and len(weak) == len(telling) and not any(k.doubtful or k.moved for k in looks):
        return LoadSeen(load, True, any(k.sometimes for k in looks), True)
    known: Collection[frozenset[str] | None] = (frozenset({"normal"}), frozenset({"dark"}))
    if len(works) != 1 or not works <= set(known) or any(k.doubtful or k.moved or k.flash for k in looks):
        raise SymptomError(f"{load} is no lamp", hint)
    return LoadSeen(load, works == {frozenset({"normal"})}, any(k.sometimes for k in looks))


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
    plain = [r for r in known if harness.parts[r].coils and not harness.parts[r].lamps]
    if not said and len(plain) == 1:
        return plain[0]
    if len(found) > 1 or not said:
        raise SymptomError(f"“{clip(phrase)}” could be {listed(found or plain or known)}", "name it")
    if not found:
        raise UnknownNameError(f"no relay “{clip(phrase)}”", did_you_mean(phrase, known))
    return found[0]
