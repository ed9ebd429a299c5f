"""Clauses of a spoken sentence: who, and what is said of them, in whatever order it came."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from tracer.observation.words.lamps_called import NONE, TOWED
from tracer.observation.words.speech_chunks import SEPARATORS, Chunk
from tracer.observation.words.speech_looks import DARK, UNHEARD, USUAL, WORKS, Say, denied
from tracer.observation.words.speech_who import Who


class Clause(Struct):
    """Whoever it is about, and what is said of them."""

    whos: list[Who] = field(default_factory=list)
    says: list[Say] = field(default_factory=list)
    thing: tuple[str, str] = ("", "")  # kind and name of a fuse, load or relay
    either: bool = False
    of: str = ""  # the load whose fuse or relay it is
    after_and: bool = False  # joined by "and" to one of which something was said
    excepted: bool = False  # from what the clause before says: told where that was
    scenes: list[int] = field(default_factory=list)  # the circumstances that it was told with, by number
    fronted: bool = False  # those stood before it

    @property
    def bare(self) -> bool:
        return not self.whos and not self.thing[0]


def clauses_of(chunks: Sequence[Chunk]) -> list[Clause]:
    """The chunks put together: who, and what is said of them, in either order."""
    chunks = _echoed(chunks)
    solid = [c for c in chunks if c.kind not in SEPARATORS]
    telling = [c for c in solid if not (c.say and c.say.beside)]
    look_first = len(telling) > 1 and telling[0].say is not None and telling[-1].say is None and not (
        telling[-1].who and telling[-1].who.place_only and any(c.who and not c.who.place_only for c in telling[:-1]))
    out: list[Clause] = [Clause()]
    parted = ""
    before: list[int] = []  # circumstances that belong to what follows
    for n, chunk in enumerate(chunks):
        now = out[-1]
        if n and chunks[n - 1].kind not in SEPARATORS:
            _put_before(now, before)  # the chunk before is the first of what they are told of
        if chunk.scene is not None:
            (before if _fronts(chunks, n) else now.scenes).append(chunk.scene)
        subject = chunk.who or chunk.kind == "fuse"
        if subject and parted in (",", "but") and _denied_alone(now) and any(c.say for c in chunks[n:]):
            out.append(now := Clause())  # "no dip on the left, main beam OK"
        if chunk.kind in SEPARATORS:
            parted = "except" if (parted, chunk.kind) == ("except", ",") else chunk.kind
            continue
        if parted == "except" and chunk.who is not None and not now.bare:
            out.append(Clause([chunk.who], excepted=True))
            parted = ""
            continue
        if subject and parted == "," and now.after_and and now.whos and not now.says and not look_first and (
                chunk.who is None or chunk.who.functions or chunk.who.names or chunk.who.exact):
            now.says = [*out[-2].says]  # "rear lamps dim and the plate lamp, headlamps OK"
            out.append(now := Clause())
        if chunk.say is not None:
            if before and now.says and not now.bare and not chunk.say.beside:  # "…, with the lights off it is fine"
                out.append(now := Clause([replace(w) for w in now.whos], thing=now.thing, of=now.of))
            if look_first and not now.bare and any(not s.beside for s in now.says) and not chunk.say.beside:
                out.append(now := Clause())
            now.says.append(chunk.say)
        elif chunk.who is not None:
            _join(chunk, parted, out, look_first, any(c.say and not c.say.beside for c in chunks[n:]))
            out[-1].after_and |= out[-1] is not now and parted == "and" and bool(now.says)
        else:
            told = any(not s.beside for s in now.says)
            several = now.thing[1] and chunk.thing not in ("", now.thing[1])  # "F1 and F2 OK"
            if now.thing[0] == "fuse" and chunk.kind == "fuse" and not told and not several:
                now.thing = ("fuse", now.thing[1] or chunk.thing)  # "fuse F3"
            elif chunk.kind in ("fuse", "relay") and not chunk.thing and now.whos and not told:
                now.thing = (chunk.kind, "")  # "side light fuse", "dipped beam relay"
            elif chunk.kind in ("fuse", "relay") and not chunk.thing and now.thing[0] == "load" and not told:
                now.thing, now.of = (chunk.kind, ""), now.thing[1]  # "horn fuse"
            else:
                if len(now.whos) > 1 and now.whos[-1].empty and now.whos[-1].quantity == "no":
                    out.append(now := Clause([now.whos.pop()]))  # "no brake lights and no horn"
                none = bool(now.whos) and not told and all(w.empty and w.quantity in ("no", "any") for w in now.whos)
                if not none and not (now.bare and (look_first or not told)):  # "no horn" is one
                    out.append(now := Clause())
                now.thing = (chunk.kind, chunk.thing)
        parted = ""
    _put_before(out[-1], before)
    return _with_exceptions([p for c in _both_told(out) if not c.bare or c.says for p in _by_switch(c)])


def _echoed(chunks: Sequence[Chunk]) -> list[Chunk]:
    """"Left stop lights with the side lights and the right one with the indicator": that does so too."""
    out: list[Chunk] = []
    told: Chunk | None = None  # what was said last before a circumstance
    whos = parted = silent = False
    for chunk in chunks:
        if chunk.scene is not None:
            if told is not None and whos and silent:
                out.append(told)
            told = next((c for c in reversed(out) if c.say and not c.say.beside), None)
            whos, silent, parted = False, True, False
        parted |= chunk.kind in SEPARATORS and chunk.scene is None
        whos |= parted and chunk.who is not None
        silent &= chunk.say is None and chunk.kind not in ("fuse", "load", "relay")
        out.append(chunk)
    return out


def _fronts(chunks: Sequence[Chunk], at: int) -> bool:
    """Whether a circumstance stands before what it is told of: at the beginning, or after what parts, with nothing
    between it and that."""
    before = next((c for c in reversed(chunks[:at]) if c.scene is None), None)
    after = next((c for c in chunks[at + 1 :] if c.scene is None), None)
    if before is None or after is None or before.kind not in SEPARATORS:
        return before is None
    return after.kind not in SEPARATORS


def _put_before(clause: Clause, scenes: list[int]) -> None:
    """Puts circumstances that stood before a clause to it."""
    clause.scenes += scenes
    clause.fronted |= bool(scenes)
    scenes.clear()


def _by_switch(clause: Clause) -> list[Clause]:
    """"No hazards, no blinkers": each by its own switch."""
    hazards = [w for w in clause.whos if "hazard" in w.functions]
    others = [w for w in clause.whos if w not in hazards]
    if not hazards or not others or clause.thing[0] or not all(w.functions and not w.noun for w in others):
        return [clause]
    return [replace(clause, whos=whos, says=[*clause.says]) for whos in (hazards, others)]


def _with_exceptions(clauses: list[Clause]) -> list[Clause]:
    """What is excepted does the contrary of the others, and is called after them: "hazards fine except the left
    rear", "left side dead except the indicator"."""
    for before, clause in pairwise(clauses):
        if not clause.excepted or not before.whos:
            continue
        telling = denied(before.says) if any(w.quantity in NONE for w in before.whos) else before.says
        clause.says = clause.says or [_contrary(telling)]
        last = before.whos[-1]
        clause.whos = [w if not (w.place_only or w.one) or w.functions else replace(
            w, functions=[*last.functions], names=[*last.names], noun=last.noun, plural=not w.one)
            for w in clause.whos]
        for who in before.whos:
            if not (who.functions or {*who.names} - TOWED or who.exact or who.quantity):
                who.quantity = "everything"
    return clauses


def _contrary(says: Sequence[Say]) -> Say:
    telling = [s for s in says if not s.beside]
    if telling and all(s.usual or s.on for s in telling):
        return DARK
    if telling and all(s.words == DARK.words for s in telling):
        return WORKS
    return UNHEARD if not telling or any(s.words is None for s in telling) else USUAL


def _both_told(clauses: list[Clause]) -> list[Clause]:
    """"Horn and brake light both dead" is said of both."""
    for before, clause in reversed([*pairwise(clauses)]):
        things = {before.thing[0], clause.thing[0]}
        none = any(w.quantity in NONE for w in before.whos)  # "no bleeper but the light works"
        both = things == {"fuse"} or ("load" in things and "fuse" not in things)
        if not (before.says or none or before.bare) and clause.says and both:
            before.says = [*clause.says]
    return clauses


def _join(chunk: Chunk, parted: str, out: list[Clause], look_first: bool, more: bool) -> None:
    """Who is spoken of, put into the clause that it belongs to. `more`: how something does is still to be said."""
    who, now = chunk.who, out[-1]
    assert who is not None
    told = any(not s.beside for s in now.says)
    # "Right stop sometimes, left stop ok": that it is sometimes is all that is told of the first.
    told |= parted in (",", "but") and bool(now.says and now.whos and who.functions and who.sides and more)
    if now.bare and (look_first or not told):
        now.whos.append(who)
    elif now.says and parted and now.whos and any(_elsewhere(who, w) for w in now.whos):
        # What there is none of on the one side may be on the other: "none of the rear ones work, fronts OK".
        out.append(Clause([replace(
            w, quantity="" if w.quantity in NONE else w.quantity, sides=who.sides or w.sides, ends=who.ends or w.ends,
            exact=(), said=who.said) for w in now.whos]))  # "left tail works, right does not"
    elif now.says and parted and who.place_only and who.sides and any(_named_across(w, who.sides) for w in now.whos):
        out.append(Clause([replace(who, other=True)]))  # "caravan left tail dead, right fine"
    elif told and parted and more and not look_first and len(now.whos) == 1 and _one_end(who, now.whos[0]):
        out.append(Clause([replace(now.whos[0], ends=who.ends, said=who.said)]))  # "left winker fast, back one dead"
    elif told and parted and more and not look_first and who.sides and who.ends and all(
            w.place_only and w.sides and w.ends for w in [who, *now.whos]):
        out.append(Clause([who]))  # "left front dead, rear left fast"
    elif told and parted and more and not look_first and who.place_only and who.sides and not who.other and (
            now.whos and not any(w.sides for w in now.whos)):
        out.append(Clause([who]))  # "high level works, left and right don't"
    elif parted in (",", "but", "yet") and not told and more and who.place_only and who.sides and now.whos and (
            not who.other and all(w.sides and not w.place_only and not {*w.sides} & {*who.sides} for w in now.whos)):
        out.append(Clause([who]))  # "left tail, right dim": nothing is told of the left one
    elif who.place_only and told and parted == "" and any(w.sides and {*who.sides} - {*w.sides} for w in now.whos):
        out.append(Clause([who]))  # "left indicator flashes on the right as well": which is to be asked
    elif who.place_only and not who.other and now.whos and (told or parted in ("", ",")):
        for one in now.whos:
            one.sides += [] if one.sides else who.sides
            one.ends += [] if one.ends else who.ends
            one.said += who.said
            one.plural |= len(set(who.sides)) > 1
    elif now.thing[0] == "load" and not told and (who.functions or who.names or who.exact):
        out.append(Clause([who]))  # "horn and brake light both dead"
    elif now.thing[0] == "fuse" and not now.whos and not told:
        now.whos.append(who)
    elif told:
        if now.whos and not now.whos[-1].functions and not now.whos[-1].names and not now.whos[-1].exact and (
                not now.whos[-1].sides and not now.whos[-1].whole and now.whos[-1].noun and parted == ""):
            now.whos[-1] = who  # "light out left tail"
        else:
            out.append(Clause([who]))
    else:
        now.either |= parted == "or"
        who.joined = parted in ("and", ",", "or")
        now.whos.append(who)


def _one_end(who: Who, last: Who) -> bool:
    """Whether it is the one end of what was spoken of: "front one", or "front left" of "left indicator"."""
    same = who.sides == last.sides if who.sides else who.one
    return bool(who.place_only and who.ends and same) and not (last.ends or last.exact)


def _named_across(who: Who, sides: Sequence[str]) -> bool:
    """Whether it is a lamp by its own name, on the other side than one of `sides`."""
    opposite = {"left": "right", "right": "left"}
    return bool(who.exact) and any(opposite[s] in who.exact[0].split() for s in sides if s in opposite)


def _denied_alone(clause: Clause) -> bool:
    """Whether it says that there is none of some lamps, and no more."""
    return bool(clause.whos) and clause.whos[0].quantity in NONE and not clause.says


def _elsewhere(who: Who, last: Who) -> bool:
    """Whether only another side or end is named than that of which something was said."""
    if who.ends and not (who.functions or who.names or who.exact or who.whole or last.exact):
        plural = {"fronts", "rears"} & {*who.said}
        if plural or (who.place_only and last.ends and not {*who.ends} & {*last.ends}):
            return bool(last.functions or last.noun or {*last.names} - TOWED) and not {*who.ends} & {*last.ends}
    return (who.place_only and not who.other and bool(who.sides) and bool(last.sides) and not last.exact
            and not {*who.sides} & {*last.sides})


def vehicle_only(who: Who) -> bool:
    """Whether only the vehicle or its trailer is named, or all of it."""
    return (who.own or (bool(who.names) and {*who.names} <= TOWED)) and not (
        who.functions or who.sides or who.ends or who.exact or who.noun or who.one
        or who.quantity not in ("", "all"))


def _placed_as(who: Who, beside: Sequence[Who]) -> Who:
    """"Left rear cluster: everything glows" is everything there."""
    place = next((w for w in beside if w is not who and (w.sides or w.ends)), None)
    if not who.whole or who.sides or who.ends or place is None:
        return who
    return replace(who, sides=place.sides, ends=place.ends, said=[*place.said, *who.said])


def completed(whos: Sequence[Who]) -> list[Who]:
    """What one part of "left and right rear stop and tail lights" leaves out, taken from its neighbour."""
    out = [_placed_as(w, whos) for w in whos]
    for i in range(len(out) - 2, -1, -1):
        towed = [n for n in out[i].names if n in TOWED]
        if {"fronts", "rears"} & {*out[i].said}:
            continue  # "the fronts and the dash"
        if not out[i].exact and not out[i].functions and len(towed) == len(out[i].names) and not out[i].whole:
            after = out[i + 1]
            if after.exact or not (out[i].sides or out[i].ends):
                continue
            out[i] = replace(after, said=[*out[i].said, *after.said], names=[*towed, *after.names],
                             sides=out[i].sides or after.sides, ends=out[i].ends or after.ends,
                             quantity=out[i].quantity or after.quantity, plural=after.plural)
    last = out[-1] if out else Who()
    trailing = bool(last.sides and last.functions) and last.said[-1] in last.sides  # "tail and stop on the right"
    if trailing and all(w.functions and not (w.plural or w.quantity or w.sides or w.exact) for w in out[:-1]):
        out[:-1] = [replace(w, sides=last.sides, ends=w.ends or last.ends) for w in out[:-1]]
    for i in range(1, len(out)):
        own, before = out[i], out[i - 1]
        towed = [n for n in (before.said if before.exact else before.names) if n in TOWED]
        if towed and own.functions and not (own.names or own.own or own.exact):  # "trailer stop and left tail"
            out[i] = own = replace(own, names=towed)
        both = own.quantity == "both" and len(out) == 2 and own.said[-1:] == ["both"]  # "left dip and main both"
        both |= own.quantity == "all" and own.said[-1:] == ["all"] and bool(own.functions)  # "tail, stop and fog all"
        placed = own.sides or own.ends or (own.quantity and not both) or own.exact
        if len(before.exact) == 1 and own.functions and own.joined and not placed:  # the lamp's own name, "and tail"
            own = replace(own, quantity="") if both else own
            out[i] = replace(own, sides=[w for w in before.said if w in ("left", "right")],
                             ends=[w for w in before.said if w in ("front", "rear")])
        if own.exact or before.exact or own.whole or (own.noun and own.plural and own.sides):
            continue
        named = own.functions or {*own.names} - TOWED
        if named and not own.sides and not own.ends and (both or not own.quantity):
            own = replace(own, quantity="") if both else own
            sides = list(dict.fromkeys(s for b in out[:i] for s in b.sides))
            out[i] = replace(own, sides=sides, ends=before.ends, plural=own.plural or before.plural)
        elif not own.functions and not own.names and (own.sides or own.ends):
            out[i] = replace(before, sides=own.sides or before.sides, ends=own.ends or before.ends, said=own.said)
    return out


def with_ones(clauses: Sequence[Clause]) -> list[Clause]:
    """"The back one is dead and the offside front indicator fast": what "one" is, is said in the next clause."""
    out = list(clauses)
    for before, clause in pairwise(clauses):
        told = bool(before.whos) and all(w.functions or {*w.names} - TOWED or w.exact for w in before.whos)
        if told and clause.scenes and [w.quantity for w in clause.whos] == ["nothing"] and (
                clause.whos[0].said == ["nothing"]):
            # "Left headlamp works on main but nothing when you dip it"
            clause.whos = [replace(w, quantity="none") for w in before.whos]
        whole = next((w for w in before.whos if w.whole or (
            w.quantity in ("all", "every") and not w.functions)), None)
        if whole is not None and clause.whos and all(w.place_only and not (w.one or w.other) for w in clause.whos):
            # "Nothing on the right at the back works, left is fine": all that is there.
            clause.whos = [replace(w, quantity="everything", names=[*whole.names], ends=w.ends or [*whole.ends],
                                   sides=w.sides or [*whole.sides]) for w in clause.whos]
    for clause in clauses:
        if len(clause.whos) == 2 and (one := clause.whos[1]).one and one.names and not one.functions and (
                clause.whos[0].plural and clause.whos[0].functions + clause.whos[0].names):
            group = clause.whos[0]  # "side markers on the left: the middle one is out"
            clause.whos = [replace(one, functions=group.functions, names=[*group.names, *one.names],
                                   sides=one.sides or group.sides, ends=one.ends or group.ends, noun=True)]
    for before, clause in pairwise(clauses):
        several = before.whos and all(w.plural and w.functions and not (w.sides or w.noun) for w in before.whos)
        for who in clause.whos if several else ():
            alone = not (who.noun or who.sides or who.ends or who.quantity or who.exact or who.names)
            who.plural |= alone and bool(who.functions) and len(who.said) == 1  # "tails dead but stop works"
    for n, (before, clause) in enumerate(pairwise(clauses), 1):
        named = before.whos[-1] if before.whos else None
        if named is None or not (named.functions or {*named.names} - TOWED) or not clause.whos or not all(
                (w.place_only or {"fronts", "rears"} & {*w.said}) and not w.functions and not w.other and (
                    w.one or _denied_alone(before)) for w in clause.whos):
            continue  # "no side lights at the front, back ones OK"
        out[n] = replace(clause, whos=[replace(
            w, functions=["tail" if f == "side" and "rear" in w.ends else f for f in named.functions],
            plural=named.plural, names=[*named.names], sides=w.sides or ([*named.sides] if w.ends else []), noun=True,
            ends=w.ends or ([*named.ends] if w.sides else [])) for w in clause.whos])
    for n, (before, clause) in enumerate(pairwise(out), 1):
        named = before.whos[-1] if before.whos else None
        if named and named.functions and clause.whos and all(
                vehicle_only(replace(w, one=False)) for w in clause.whos):
            out[n] = replace(clause, whos=[replace(  # "trailer brake lights dead, the car's fine"
                w, functions=[*named.functions], plural=True, noun=True) for w in clause.whos])
    for n, (clause, after) in enumerate(pairwise(out)):
        if n or not (clause.whos and after.whos and all(w.place_only and w.one and not w.other for w in clause.whos)):
            continue
        named = after.whos[0]
        if named.functions and not named.whole:
            whos = [replace(w, functions=[*named.functions], names=[*named.names], sides=w.sides or [*named.sides],
                            ends=w.ends or ([] if w.sides else [*named.ends]), plural=named.plural, noun=True)
                    for w in clause.whos]
            out[n] = replace(clause, whos=whos)
    return out
