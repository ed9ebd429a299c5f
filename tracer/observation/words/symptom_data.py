"""What was seen as plain data of a job file, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

from tracer.errors import SymptomError, UnknownNameError, did_you_mean
from tracer.harness.devices import FuseLink
from tracer.harness.model import Harness
from tracer.observation.evidence import (
    ALL_WORDS,
    WORDS,
    Compared,
    Comparison,
    FuseSeen,
    FuseTime,
    LampSeen,
    LensSeen,
    Light,
    LoadSeen,
    RelaySeen,
    Seen,
    Sound,
    Symptom,
)
from tracer.observation.words.states import state_as_data, state_from_data

FLASHES: Final = ("steady", "flashing", "slow", "fast")
MORE: Final = "more"  # key of what one sentence said of further vehicle states


def fuses(harness: Harness) -> dict[str, tuple[str, ...]]:
    """The fuses of a harness with their other names."""
    return {p.name: p.also for p in harness.parts.values() if any(isinstance(d, FuseLink) for d in p.devices)}


def relays(harness: Harness) -> dict[str, tuple[str, ...]]:
    """What clicks: whatever moves contacts by a coil, and flasher units, with their other names."""
    return {p.name: p.also for p in harness.parts.values() if p.coils or p.flashes}


def loads(harness: Harness) -> dict[str, tuple[str, ...]]:
    """What works without being a lamp, a horn or a motor, with its other names."""
    return {p.name: p.also for p in harness.parts.values() if p.working}


def symptoms_as_data(symptoms: Sequence[Symptom]) -> dict[str, Any]:
    """What one sentence told, of one vehicle state or several, as plain data for one entry of a job file."""
    first, *further = [symptom_as_data(s) for s in symptoms]
    for data in further:
        del data["text"]
    return first | ({MORE: further} if further else {})


def symptoms_from_data(data: Mapping[str, Any], harness: Harness) -> tuple[Symptom, ...]:
    """The symptoms of one recorded entry; errors as `symptom_from_data`."""
    further = data.get(MORE, [])
    if not isinstance(further, (list, tuple)) or not all(isinstance(m, Mapping) for m in further):
        raise SymptomError("what was seen in further states is not recorded as a list", f"{MORE}: [{{state: …}}]")
    text = {"text": data.get("text", "")}
    return tuple(symptom_from_data(one, harness) for one in (data, *({**m, **text} for m in further)))


def symptom_as_data(symptom: Symptom) -> dict[str, Any]:
    """The symptom as plain data for a job file, with the whole vehicle state."""
    return {
        "text": symptom.text, **state_as_data(symptom.state), "seen": [_seen_as_data(s) for s in symptom.seen],
        "everything else normal": symptom.others_normal,
        **({"light": symptom.light} if symptom.light else {}),
        **({"only": list(symptom.only)} if symptom.only else {}),
    }


def _seen_as_data(one: Seen) -> dict[str, Any]:
    match one:
        case FuseSeen():
            told = {"when": one.when} if one.when else {}
            marks = {k: True for k in ("once", "whenever") if getattr(one, k)}
            return {"fuse": one.fuse, "blown": one.blown, **told, **marks}
        case RelaySeen():
            return {"relay": one.relay, "does": one.does}
        case LoadSeen():
            marks = {k: True for k in ("sometimes", "weak") if getattr(one, k)}
            return {"load": one.load, "works": one.works, **marks}
        case Compared():
            doubt = {"doubtful": True} if one.doubtful else {}
            return {"lamp": one.lamp, "against": one.other, "how": one.how, **doubt}
        case LensSeen():
            return {"any of": list(one.lamps), **{k: v for k, v in lamp_as_data(one.looks[0]).items() if k != "lamp"}}
    return lamp_as_data(one)


def lamp_as_data(seen: LampSeen) -> dict[str, Any]:
    """How a lamp looked as plain data."""
    data: dict[str, Any] = {"lamp": seen.lamp, "words": [w for w in WORDS if w in seen.words]}
    data |= {"flash": seen.flash} if seen.flash else {}
    data |= {"sometimes": True} if seen.sometimes else {}
    data |= {k: True for k in ("moved", "fine") if getattr(seen, k)}
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
    told = {k: data.get(k, False) for k in ("sometimes", "doubtful", "moved", "fine")}
    if not all(isinstance(t, bool) for t in told.values()):
        raise wrong
    for known in FLASHES:
        if flash == known:
            return LampSeen(lamp, frozenset(words), known, **told)
    if flash is not None:
        raise wrong
    return LampSeen(lamp, frozenset(words), None, **told)


def _fuse_from_data(data: Mapping[str, Any], harness: Harness) -> FuseSeen:
    fuse, blown, when = data["fuse"], data.get("blown"), data.get("when", "")
    once, whenever = data.get("once", False), data.get("whenever", False)
    times: tuple[FuseTime, ...] = get_args(FuseTime)
    if not isinstance(fuse, str) or not isinstance(blown, bool) or when not in times or type(once) is not bool or (
            type(whenever) is not bool):
        raise SymptomError("a fuse is not recorded as fuse and blown", "{fuse: F3, blown: true}")
    if fuse not in fuses(harness):
        raise UnknownNameError(f"no fuse “{fuse}”", did_you_mean(fuse, fuses(harness)))
    return FuseSeen(fuse, blown, next(t for t in times if t == when), once, whenever)


def _load_from_data(data: Mapping[str, Any], harness: Harness) -> LoadSeen:
    load, works, sometimes = data["load"], data.get("works"), data.get("sometimes", False)
    weak = data.get("weak", False)
    if not isinstance(load, str) or not all(isinstance(x, bool) for x in (works, sometimes, weak)) or weak > works:
        raise SymptomError("a load is not recorded as load and works", "{load: horn, works: false}")
    if load not in loads(harness):
        raise UnknownNameError(f"no load “{load}”", did_you_mean(load, loads(harness)))
    return LoadSeen(load, works is True, sometimes, weak)


def _lens_from_data(data: Mapping[str, Any], harness: Harness) -> LensSeen:
    lamps = data["any of"]
    if not isinstance(lamps, (list, tuple)) or not lamps:
        raise SymptomError("a lens is not recorded as a list of lamps", "{any of: [left rear stop, left rear tail]}")
    looks = tuple(lamp_from_data({**data, "lamp": lamp}) for lamp in lamps)
    for look in looks:
        harness.lamp(look.lamp)
    return LensSeen(looks)


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
    seen = [_seen_from_data(one, harness) for one in listed_seen]
    light, only = data.get("light", ""), data.get("only", [])
    named = isinstance(only, (list, tuple)) and all(isinstance(c, str) for c in only)
    if light not in get_args(Light) or not named:
        raise SymptomError("light is recorded as day or night, and only as a list of controls", "light: day")
    for control in only:
        if control not in harness.controls:
            raise UnknownNameError(f"no control “{control}”", did_you_mean(control, harness.controls))
    return Symptom(state_from_data(data, harness), tuple(seen), others, text, light, tuple(only))


def _seen_from_data(one: Any, harness: Harness) -> Seen:
    named = one if isinstance(one, Mapping) else {}
    for key, read in (("fuse", _fuse_from_data), ("relay", _sound_from_data), ("load", _load_from_data),
                      ("any of", _lens_from_data), ("against", _comparison_from_data)):
        if key in named:
            return read(named, harness)
    lamp = lamp_from_data(one)
    harness.lamp(lamp.lamp)
    return lamp
