"""Heat, smell, melted plastic, smoke and sparks in a spoken sentence: where, and what was found there.

What got hot is a thing that was looked over, and is kept as such; a lamp itself is always hot, so that of a lamp its
unit is meant, and of a light switch the part and not the lamps.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from tracer.errors import SymptomError, TracerError
from tracer.harness.devices import FuseLink, SwitchContact
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import Thing, part_of_bulb, points_of
from tracer.harness.model import Harness
from tracer.observation.evidence import LampSeen, LensSeen, Symptom
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.heat_places import handled, in_use, placed, plug_of, without_plug
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech import read_speech
from tracer.observation.words.speech_lexicon import Lexicon, called_by_number
from tracer.observation.words.speech_looks import say_at
from tracer.observation.words.speech_states import NotUnderstood
from tracer.observation.words.words import listed

_VERY: Final = r"(?:(?:very|too|really|red|so|quite|pretty|always) )*"
# What was found, as it is kept, and how it is said. "Hot" alone may be the weather, "burnt out" is a dead lamp.
_SIGNS: Final[tuple[tuple[str, Pattern], ...]] = tuple((kept, Pattern(said)) for kept, said in (
    ("hot", rf"\b(?:gets?|getting|got|is|are|was|were|runs?|running|goes|feels?|becomes?) {_VERY}(?:hot|warm)\b"
            r"(?: to (?:the )?touch)?|\b(?:red |too |very )hot\b|\bhot to (?:the )?touch\b|\boverheat\w*|"
            r"\bheat(?:s|ing|ed) up\b"),
    ("smells burnt",
     r"\b(?:there is |there's |i can |can |you |a |of |it )*(?:(?:smell|stink|reek)(?:s|ing|ed)?|smelt)\b"
     r"(?: (?:of |like |is |a |some|something |bit )*(?:burn(?:ing|t)|hot|scorch\w*|melt\w*|plastic|rubber|"
     r"insulation|wires?|electrical)\b)*|\bburn(?:ing|t) (?:plastic|rubber|wires?)\b(?! smell)|"
     r"\b(?:(?:a|an|nasty|bad|strong|funny|faint|horrible|hot|burn(?:ing|t)|melt(?:ing|ed)|electrical|fishy) )*"
     r"(?:(?:plastic|rubber|electrical|wires?|wiring|insulation) )*(?:smell|whiff|pong|stench|stink|odou?r|fumes)\b"
     r"(?: of (?:burn(?:ing|t)|hot|melt(?:ing|ed)|plastic|rubber|insulation|wires?|wiring|electrics?| )+)?"),
    ("melted", r"\bmelt(?:s|ed|ing)?\b"), ("scorched", r"\b(?:scorch\w*|singed|charred|browned)\b"),
    ("burnt", r"\b(?:burnt|burned)\b(?! out)"),
    ("sparks", r"\b(?:sparks?|sparking|sparked|arcs|arcing|arced)\b"),
    ("burnt, it smoked", r"\bsmok(?:e|es|ed|ing)\b"),
))
_SAID_AS: Final = {"sparks": "sparks", "smells burnt": "smells burnt", "burnt, it smoked": "smokes"}
_WHEN: Final = Pattern(r"\b(?:when|while|whenever|if|as soon as|after|with|once|until)\b.*$|\bon braking\b")
_DENIED: Final = Pattern(r"\b(?:not|no|never|without|nothing|none)\b|n't\b")
_BESIDE: Final = Pattern(
    r"\b(?:the|a|an|and|is|are|was|plastic|rubber|insulation|cover|casing|body|round|around|near|behind|under|inside|"
    r"from|at|of|on|in|by|coming|comes|came|come|out|pours|pouring|pins?|terminals?|green|white|black|blue|thick|"
    r"grey|"
    r"its|has|have|had|been|it|i|there|my|some|all|back|looks|gone|slightly|bit|little|also|got|number|no)\b|"
    r"[,.;:!?]")
_HOLDER: Final = Pattern(r"\b(?:(?:bulb|lamp|light)? ?(?:holder|socket))\b")
_WIRE: Final = Pattern(r"\b(?:wires?|wiring|cables?|leads?|loom)\b(?: to\b)?")
_FUSE: Final = Pattern(r"\b(?:fuse|holder|for|its|to)\b")
_SWITCH_FOR: Final = Pattern(
    r"\b(?:the )?switch (?:for|of) (?:the )?(?P<what>(?:\w+ ){0,3}?(?:lights?|lamps?|fogs?|indicators?|hazards?|"
    r"brakes?|wipers?|blower|fan|horn))\b")
_SWITCH: Final = Pattern(r"\b(.*?) ?switch\b")


def heat_said(text: str, harness: Harness, healthy: HealthyStates) -> tuple[str, str] | None:
    """The look at a thing that a sentence tells, and what was found, both as typed; None if it tells of no heat.

    Raises:
        SymptomError: It does not say what got hot, or it could be several things; `choices` are ready sentences.
    """
    plain = " ".join(text.lower().replace("’", "'").split()).rstrip(".!")
    without = _WHEN.sub(" ", plain)
    when = plain[len(without.rstrip()):].strip()
    without = _SWITCH_FOR.sub(r"\g<what> switch", without)
    signs = [kept for kept, said in _SIGNS if said.search(without)]
    if not signs or _DENIED.search(without):
        return None
    rest = without
    for _, said in _SIGNS:
        rest = said.sub(" ", rest)
    where = " ".join(_BESIDE.sub(" ", rest).split())
    things = list(dict.fromkeys(_things(where, harness, healthy)))
    if _of_a_lamp_or_fuse(signs, where, things):
        return None
    words = where.split()
    if any(say_at(words, k)[0] for k in range(len(words))):
        why = f"“{clip(text)}” tells of heat and of something else"
        raise SymptomError(why, "tell each in a sentence of its own")
    if len(things) == 1:
        return _inspection(harness, things[0]), ", ".join(signs) + (f" ({when})" if when else "")
    there = placed(where, harness) if where else []
    led_to = " ".join(_WIRE.sub(" ", where).split()) if _WIRE.search(where) else ""
    others = [] if things or there else _at_large(led_to or handled(when), when, healthy)
    raise _asked(text, where, things or there, _SAID_AS.get(signs[0], f"is {signs[0]}"), others)


def _at_large(what: str, when: str, healthy: HealthyStates) -> list[Thing]:
    """What may be meant where no thing was named: what was held, or a wire leads to, or else what was switched on."""
    harness = healthy.harness
    held = list(_things(" ".join(_BESIDE.sub(" ", what).split()), harness, healthy))
    plugs = [p for t in held for p in plug_of("plug", [t.name], harness) or ()]
    return list(dict.fromkeys([*plugs, *held] or [*in_use(when, healthy), *_carriers(harness)]))


def _asked(text: str, where: str, things: Sequence[Thing], does: str, others: Sequence[Thing]) -> SymptomError:
    """What got hot is asked back: one of several that the words fit, or of what sits there or was on."""
    choices = tuple(f"{_called(t)} {does}" for t in things or others)
    if things:
        why = f"“{where}” could be {listed([_called(t) for t in things[:3]])}"
    else:
        why = f"“{where}” is nothing of this vehicle that gets hot" if where else "it does not say what got hot"
    hint = "feel and look, then name the switch, plug, fuse, holder or lamp unit"
    return SymptomError(f"“{clip(text)}”: {why}", hint, choices[:3])


def _of_a_lamp_or_fuse(signs: Sequence[str], where: str, things: Sequence[Thing]) -> bool:
    """Whether it says no more than that a lamp is burnt or a fuse melted, as they are once they are gone."""
    if signs == ["melted"] and "holder" not in where:
        return "box" not in where and (where.startswith("fuse") or [t.kind for t in things] == ["fuse"])
    of_others = any(t.kind in ("connector", "fuse", "earth point") for t in things)
    return signs == ["burnt"] and not of_others and not any(
        w in where for w in ("holder", "socket", "switch", "stalk", "wire"))


def _inspection(harness: Harness, thing: Thing) -> str:
    if thing.kind in ("holder", "lamp"):
        return f"inspect holder {thing.name}"
    plus, minus, _ = points_of(harness, thing)
    return f"inspect {' to '.join(filter(None, (plus, minus)))}"


def _called(thing: Thing) -> str:
    return f"the holder of {thing.name}" if thing.kind == "holder" else thing.name


def _things(where: str, harness: Harness, healthy: HealthyStates) -> Iterable[Thing]:
    """What the words may mean."""
    if not where:
        return
    named = _by_name(where, harness)
    plug = plug_of(where, (), harness) is not None
    if named is not None and not (plug and named.kind == "part"):
        yield named
        return
    if "switch" in where.split():
        yield from _switches(where, harness, healthy)
        return
    if placed(where, harness):
        return  # a place, of which is asked what there
    if _WIRE.search(where):
        return  # not what it leads to
    if "fuse" in where.split():  # "the fuse holder of the left dip"
        lamps = _lamps(" ".join(_FUSE.sub(" ", where).split()), healthy)
        fuses = [f for n in lamps for s in healthy.own(n)[:1] for f in healthy.fuses_of(n, s)]
        yield from (Thing("fuse", f) for f in dict.fromkeys(fuses))
        return
    if plug:
        parts = [t.name for t in _things(without_plug(where), harness, healthy)]
        yield from plug_of(where, parts, harness) or (Thing("part", p) for p in parts)
        return
    holder = bool(_HOLDER.search(where))
    words = " ".join(_HOLDER.sub(" ", where).split()) if holder else where
    for lamp in _lamps(f"{words} lamp" if holder and "lamp" not in words else words, healthy):
        bulb = next(f.bulb for f in harness.lamps() if f.lamp == lamp)
        part = part_of_bulb(harness, bulb)
        yield Thing("holder", bulb) if holder else Thing("part", part.name)


def _by_name(where: str, harness: Harness) -> Thing | None:
    plain = _stripped(where)
    for name in harness.connectors:
        if plain == name.lower():
            return Thing("connector", name)
    for name, kind in ((n, "earth point") for n in harness.earths):
        if plain == name.lower():
            return Thing(kind, name)  # type: ignore[arg-type]
    for part in harness.parts.values():
        fuse = any(isinstance(d, FuseLink) for d in part.devices)
        called = {part.name.lower(), *(a.lower() for a in part.also)}
        if fuse and (numbers := called_by_number(part.name)):
            called |= {*numbers, *(f"box {n}" for n in numbers), f"fuse {part.name.lower()}"}
        if where in called or plain in called:
            return Thing("fuse" if fuse else "part", part.name)
    return None


def _stripped(where: str) -> str:
    words = where.split()
    while len(words) > 1 and words[0] in ("plug", "connector", "fuse", "earth", "point", "socket"):
        words = words[1:]
    return " ".join(words)


def _switches(where: str, harness: Harness, healthy: HealthyStates) -> list[Thing]:
    """The switch that is called so, or that switches what is called so."""
    found = _SWITCH.search(where)
    words = found[1].strip() if found else ""
    controlled = _controlled(harness)
    wanted = {words, f"{words} switch"}
    own = [n for n, c in controlled.items() if wanted & _names_of(harness, n, c)]
    if not own and words:
        lit = _lamps(words, healthy)
        own = [n for n, c in controlled.items() if n.endswith(("switch", "stalk")) and lit and all(
            any(c in healthy.moves(s) for s in healthy.own(lamp)) for lamp in lit)]
    return [Thing("part", n) for n in own]


def _names_of(harness: Harness, part: str, control: str) -> set[str]:
    also = harness.controls[control].also if control in harness.controls else ()
    return {n.lower() for n in (part, control, *harness.parts[part].also, *also)}


def _lamps(words: str, healthy: HealthyStates) -> list[str]:
    """The lamps that words tell of; all that they may, where that is left open."""
    try:
        told: Sequence[Symptom] = read_speech(f"{words} dark", Lexicon(healthy)).symptoms
    except NotUnderstood as error:
        told = [s for option in error.ready for s in option]
    except TracerError:
        return []
    looks = [s for item in told for s in item.seen]
    lamps = [n for s in looks for n in (s.lamps if isinstance(s, LensSeen) else (s.lamp,) if isinstance(s, LampSeen)
                                        else ())]
    return list(dict.fromkeys(lamps))


def _carriers(harness: Harness) -> list[Thing]:
    """What all the lighting goes through, where nothing was named."""
    return [Thing("part", name) for name in _controlled(harness) if name.endswith("switch")][:3]


def _controlled(harness: Harness) -> dict[str, str]:
    """Switches and the control that moves each."""
    return {p.name: d.control for p in harness.parts.values() for d in p.devices if isinstance(d, SwitchContact)}
