"""Which lamps are meant by trade names: function, side and end, "both", "all", and the names that the harness has."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.harness.lamp_purposes import INDICATORS, other_side
from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS, TOWED, LampsCalled, tells_of
from tracer.observation.words.speech_colours import shines
from tracer.observation.words.speech_who import Who
from tracer.observation.words.words import alternatives, name_words, tokens, word_set

# One light as people speak of it, though it has two lamps.
_UNITS: Final = word_set("cluster clusters unit units")
_AS_ONE: Final = frozenset({"number plate", "main", "dipped", "head", "panel", "interior"})


class Meant(Struct, frozen=True):
    """The lamps that were meant.

    `any_of`: one of them or more, which was not said. `lens`: nothing was said of what they are for. `purpose`: what
    they were called by. `whole`: every lamp there.
    """

    lamps: tuple[str, ...]
    any_of: bool = False
    purpose: str | None = None
    assumed: tuple[str, ...] = ()
    whole: bool = False
    lens: bool = False


def half_known(parts: Sequence[Meant]) -> list[Meant]:
    """Of "left stop and left indicator" one is known, and the other may be one of several: all that could be meant;
    none where everything is known, or nothing."""
    if all(p.any_of for p in parts) or not any(p.any_of for p in parts):
        return []
    fixed = tuple(n for p in parts if not p.any_of for n in p.lamps)
    return [Meant((*fixed, n)) for p in parts if p.any_of for n in p.lamps]


class Unclear(Exception):  # noqa: N818 - a question, not an error
    """Several are possible and nothing tells which. `options`: what could be meant, likeliest first."""

    def __init__(self, options: Sequence[Meant], why: str) -> None:
        super().__init__(why)
        self.options, self.why = tuple(options), why


def _those(who: Who, before: Sequence[str]) -> tuple[str, ...]:
    """The lamps that were spoken of, where "they all", or "both lamps" of several, are those; else none.

    Raises:
        LookupError: Several are told of, and one was spoken of.
    """
    bulbs = who.quantity in ("both", "all") and bool({"lamps", "bulbs"} & {*who.said}) and not (
        who.functions or who.names or who.sides or who.ends or who.own or who.exact)
    if bulbs and len(before) == 1:
        raise LookupError(who.words)
    return tuple(before) if who.of_those or bulbs else ()


def _of_those(tell_tales: list[str], spoken_of: Sequence[frozenset[str]]) -> list[str]:
    """The one of several tell-tales that is of what was spoken of; all of them if there is none, or several."""
    purposes = {p for of in spoken_of if "tell-tale" not in of for p in of}
    own = [f for f in dict.fromkeys(FUNCTIONS.values())
           if f in purposes or (f == "indicator" and purposes & INDICATORS)]
    theirs = [n for n in tell_tales if any(tells_of(n, f) for f in own)]
    return theirs if len(theirs) == 1 else tell_tales


def _of_one_unit(lamps: list[str], called: LampsCalled, who: Who) -> list[str]:
    """Of several lamps those that sit with others in one unit: no plate lamp and no marker is of the cluster.

    Raises:
        Unclear: There is one on either side, and the side was not said.
    """
    found = [n for n in lamps if len(called.parts[n].lamps) > 1] or lamps
    sides = [s for s in ("left", "right") if any(called.side[n] == s for n in found)]
    if len(sides) > 1 and not who.sides and not {"clusters", "units", "both", "each"} & {*who.said}:
        each = [Meant(tuple(n for n in found if called.side[n] == s), whole=True) for s in sides]
        raise Unclear([*each, Meant(tuple(found), whole=True)], "which side")
    return found


class Lamps(LampsCalled):
    """Which of the lamps of a harness are meant."""

    def meant(self, who: Who, before: Sequence[str] = ()) -> Meant:
        """The lamps that were meant; `before`: those of the clause before, for "that" and "the other side".

        Raises:
            Unclear: Several readings are possible.
            LookupError: There are none such.
        """
        who = self._as_before(who, before)
        if who.exact:
            return Meant(tuple(n for n in who.exact if self.side[n] in who.sides) or who.exact)
        if "side" in who.functions and {"rear", "back", "rears"} & {*who.said} and "tail" not in who.functions:
            who = replace(who, functions=[*who.functions, "tail"])
        if who.quantity == "some":
            few = self.meant(replace(who, quantity="all"), before)
            return replace(few, any_of=len(few.lamps) > 1, assumed=(*few.assumed, "which of them was not said"))
        if "others" in who.said and before and not (who.functions or who.sides or who.ends):
            return self._others(before)
        if who.other and before:
            here = [n for n in self._others(before).lamps if self.side[n] in who.sides]
            if here and {self.side[n] for n in before} == {*who.sides}:
                return Meant(tuple(here))  # "left front dead, the other left one fast"
            return self._mirrored(who, before)
        if who.that and not who.sides and before:
            sides = {self.side[n] for n in before} - {""}
            if len(sides) == 1:
                who = replace(who, sides=list(sides))
        if those := _those(who, before):
            return Meant(those)
        if who.whole or (who.quantity in ("all", "every") and not who.functions and not who.names):
            found_all = self._everything(who)
            if {"rest", "else"} & {*who.said} and (who.sides or who.ends or who.functions or who.names):
                found_all = [n for n in found_all if n not in before] or found_all  # "rest of the dash"
            return Meant(tuple(found_all), whole=True)
        if who.plural and not who.functions and set(who.names) and set(who.names) <= TOWED:
            towed = self._placed([n for n in self.purposes if n in self.towed], who)
            if not towed:
                raise LookupError(who.words)
            return Meant(tuple(towed), whole=True)
        if "tell-tale" in who.functions or ("panel" in who.functions and len(set(who.functions)) > 1):
            return self._tell_tale(who, before)
        if set(who.functions) == {"panel"} and who.noun and not who.plural and not who.quantity:
            return self._of_the_dash(who, before)
        found: dict[str, None] = {}
        purpose = None
        head = "head" in who.functions and len(set(who.functions)) > 1
        for function in dict.fromkeys(f for f in who.functions or [""] if f != "head" or not head):
            pool = self.called(function) if function else self._unnamed(who)
            if head:  # "headlamp dip", "headlight side light": what is in the headlamp
                pool = [n for n in pool if "head" in tokens(n)] or pool
            chosen = self._placed([n for n in pool if self._named(n, who.names)], who)
            found.update(dict.fromkeys(chosen))
            if function in ("stop", "reversing", "fog", "main", "dipped", "indicator"):
                purpose = function
        lamps = self._own_vehicle(list(found), who, before)
        if not lamps:
            raise LookupError(who.words)
        if not who.functions and not who.names:
            return self._lighting(lamps, who) if who.plural else Meant(tuple(lamps), any_of=len(lamps) > 1, lens=True)
        return self._counted(lamps, who, purpose)

    def _as_before(self, who: Who, before: Sequence[str]) -> Who:
        """A side or end alone, after lamps were spoken of: those of them there, or, after a lamp in the middle, what
        is for the same on that side: "high level works, left and right don't"."""
        bare = not (who.functions or who.names or who.sides or who.ends)
        if bare and who.own and who.one and before and {*before} <= self.towed:
            return self._own_like(who, before)
        if not before or not who.place_only or who.other:
            return who
        if who.sides and who.ends:  # "left repeater dead and the left front": what does the same, there
            turning = all(self.purposes[n] & INDICATORS and "tell-tale" not in self.purposes[n] for n in before)
            return replace(who, functions=["indicator"]) if turning else who
        if who.ends:
            there = tuple(n for n in before if self.end[n] in who.ends)
            return replace(who, exact=there) if 0 < len(there) < len(before) else who
        if who.own and {*before} <= self.towed:  # "trailer left indicator dead, the car's left one fast"
            return self._own_like(who, before)
        there = tuple(n for n in before if self.side[n] in who.sides)
        same = frozenset.intersection(*[self.purposes[n] for n in before])
        if there or any(self.side[n] for n in before) or not same:
            return replace(who, exact=there) if there else who
        return replace(who, functions=[p for p in FUNCTIONS.values() if p in same][:1])

    def _own_like(self, who: Who, towed: Sequence[str]) -> Who:
        """The lamps of the car that do what those of its trailer do, on their side if none was named: "trailer left
        stop out, the car one works"."""
        does = frozenset.intersection(*[self.purposes[n] for n in towed])
        alike = "indicator" if does & INDICATORS else "tail" if {*towed} <= {*self.called("tail")} else next(
            (p for p in FUNCTIONS.values() if p in does), "")
        sides = [*who.sides] or [*{self.side[n] for n in towed}]
        return replace(who, functions=[alike], sides=sides if len(sides) == 1 else who.sides) if alike else who

    def _named(self, lamp: str, words: Iterable[str]) -> bool:
        known = self.names.words[lamp]
        return all(any(x in known for x in alternatives(w, self.names.vocabulary)) for w in words)

    def _unnamed(self, who: Who) -> list[str]:
        if who.names:
            found = [n for n in self.purposes if self._named(n, who.names)]
            outside = [n for n in found if "tell-tale" not in self.purposes[n]]
            return outside or found
        return [n for n, p in self.purposes.items()
                if not p & {"tell-tale", "panel", "number plate"} and (self.end[n] or self.side[n]) and p]

    def _lighting(self, lamps: list[str], who: Who) -> Meant:
        """"The lights", "rear lights": those of the light switch, unless the trailer's are meant."""
        # "No lights down the left side" are those along it, on one fuse in many cars; the headlamp is another thing.
        ends = {self.end[n] for n in lamps if "side" in self.purposes[n]}
        along = bool(who.sides) and not who.ends and len(ends) > 1
        wanted = {"side"} if who.ends[:1] == ["rear"] or along else {"side", "dipped"}
        found = tuple(n for n in lamps if self.purposes[n] & wanted)
        return Meant(found or tuple(lamps), assumed=("the lights of the light switch",) if found else (), lens=True)

    def _placed(self, lamps: Sequence[str], who: Who) -> list[str]:
        """The lamps on the sides and at the ends that were named."""
        found = list(lamps)
        sides = set(who.sides) & {"left", "right"}
        if sides:
            found = [n for n in found if self.side[n] in sides]
        if who.ends:
            unsaid = [n for n in found if not self.end[n]] if {self.end[n] for n in found} == {"", "rear"} else []
            found = [n for n in found if self.end[n] in who.ends] or unsaid * ("front" in who.ends)
        return found

    def _own_vehicle(self, lamps: list[str], who: Who, before: Sequence[str]) -> list[str]:
        """Without a word of a trailer either may be meant, where there is one; but the left one after the right one
        of the trailer is the trailer's."""
        towed = [n for n in lamps if n in self.towed]
        across = {n in self.towed for n in lamps if other_side(n) != n and other_side(n) in before}
        if len(across) == 1 and not (who.own or TOWED & set(who.names)):
            return [n for n in lamps if (n in self.towed) in across]
        if not towed or len(towed) == len(lamps) or TOWED & set(who.names):
            return lamps
        own = [n for n in lamps if n not in self.towed]
        if who.own:
            return own
        raise Unclear([self._counted(own, who, None), self._counted(towed, who, None)], "the vehicle's or the "
                                                                                        "trailer's")

    def _everything(self, who: Who) -> list[str]:
        outside = [n for n, p in self.purposes.items() if "tell-tale" not in p and self._named(n, who.names)]
        if who.functions:
            pool = {n for f in who.functions for n in self.called(f)}
            outside = [n for n in outside if n in pool]
        found = self._placed(outside, who)
        if who.sides:  # whoever names a corner does not mean the number plate
            found = [n for n in found if "number plate" not in self.purposes[n]] or found
        found = [n for n in found if self.purposes[n] or not who.ends] or found  # nor by its end a lamp inside
        if (TOWED & set(who.names)) or who.own:
            found = [n for n in found if (n in self.towed) != who.own]
        if not found:
            raise LookupError(who.words)
        return _of_one_unit(found, self, who) if _UNITS & {*who.said} else found

    def _tell_tale(self, who: Who, before: Sequence[str] = ()) -> Meant:
        about = [f for f in who.functions if f not in ("panel", "tell-tale", "hazard")]
        found = [
            n for n in self.called("tell-tale") if self._named(n, who.names) and all(tells_of(n, f) for f in about)
            and (not who.sides or self.side[n] in ("", *who.sides)) and (not who.colour or shines(n, who.colour))
        ]
        if not found:
            raise LookupError(who.words)
        if not (about or who.colour or who.plural or who.quantity):
            found = _of_those(found, [self.purposes[n] for n in before])
        if who.quantity == "both":
            found = [n for n in found if self.side[n]] or found
        if len(found) > 1 and not (who.plural or who.quantity in ("all", "both")):
            raise Unclear([Meant((n,)) for n in found], "which of the warning lights")
        seen = (f"the {who.colour} one is {' and '.join(found)}",) if who.colour else ()
        return Meant(tuple(found), assumed=seen)

    def _of_the_dash(self, who: Who, before: Sequence[str]) -> Meant:
        """"The light on the dash" is the tell-tale of what was spoken of, or else may be any, or the lamps of the
        instruments."""
        panel = Meant(tuple(self._placed(self.called("panel"), who)))
        if "panel" in who.said and any("panel" in name_words(n) for n in panel.lamps):
            return panel  # by their own name
        if any(self.purposes[n] & INDICATORS for n in before):
            about = tuple(n for n in self.called("tell-tale") if tells_of(n, "indicator"))
            return Meant(about, assumed=("the tell-tale of the indicators",)) if about else panel
        of = {p for n in before for p in self.purposes[n]} & {"fog", "main"}
        own = [n for n in self.called("tell-tale") if {FUNCTIONS.get(w) for w in name_words(n)} & of]
        if len(own) == 1:
            return Meant((own[0],), assumed=(f"the light of the dash is {own[0]}",))
        others = [Meant((n,)) for n in self.called("tell-tale")]
        if others:
            raise Unclear([panel, *others] if panel.lamps else others, "which light of the dash")
        if not panel.lamps:
            raise LookupError(who.words)
        return panel

    def _mirrored(self, who: Who, before: Sequence[str]) -> Meant:
        other = [other_side(lamp) for lamp in before]
        pool = {n for f in who.functions for n in self.called(f)} if who.functions else set(self.purposes)
        found = tuple(n for n in other if n in pool and n not in before)
        if not found:
            raise LookupError(who.words)
        return Meant(found)

    def _others(self, before: Sequence[str]) -> Meant:
        """"The other two": what serves the same purpose, on whichever side."""
        series = {n.rstrip("0123456789") for n in before} - {*before}
        alike = tuple(n for n in self.purposes if n not in before and n.rstrip("0123456789") in series)
        if alike and len(series) == 1:  # of lamps that are numbered those of the same name
            return Meant(alike)
        own = {p for n in before for p in self.purposes[n]}
        called = {n.split()[-1] for n in before}
        if "side" in own and len(called) == 1 and not called & {*FUNCTIONS, *NOUNS}:  # "the others" of the markers
            named = tuple(n for n in self.purposes if n.split()[-1] in called and n not in before)
            if named:
                return Meant(named)
        own |= INDICATORS if own & INDICATORS else set()
        found = tuple(n for n, p in self.purposes.items() if p & own and "tell-tale" not in p and n not in before)
        if not found:
            raise LookupError("others")
        return Meant(found)

    def _counted(self, lamps: list[str], who: Who, purpose: str | None) -> Meant:
        """As many lamps as were meant, of those that fit."""
        plural = who.plural or who.quantity in ("all", "both", "every", "each", "no", "none", "neither", "any") or (
            len(set(who.sides)) > 1 or len(set(who.ends)) > 1 or len(set(who.functions)) > 1)
        if who.quantity in ("both", "neither") and not who.sides:
            pairs = [n for n in lamps if self.side[n]] or lamps
            parts = {self.parts[n].name for n in pairs if self.side[n] == "left"}
            ends = {self.end[n] for n in pairs}
            if len(parts) > 1 and len(ends - {""}) > 1 and "head" not in who.functions:
                options = [replace(Meant(tuple(n for n in pairs if self.end[n] == e)), purpose=purpose)
                           for e in sorted(ends - {""}, reverse=True)]
                raise Unclear([*options, Meant(tuple(pairs), purpose=purpose)], "which two")
            lamps = pairs
        if plural or len(lamps) == 1:
            return Meant(tuple(lamps), purpose=purpose)
        exact = [n for n in lamps if name_words(n) == name_words(*who.names, *who.functions, *who.sides, *who.ends)]
        if len(exact) == 1:
            return Meant((exact[0],), purpose=purpose)
        if set(who.functions) <= _AS_ONE and who.functions:
            both = not who.sides and len({self.side[n] for n in lamps}) > 1
            note = ("both of them",) if both else ()
            return Meant(tuple(lamps), purpose=purpose, assumed=note)
        sides = list(dict.fromkeys(self.side[n] for n in lamps))
        if len(sides) > 1:
            options = [
                self._counted([n for n in lamps if self.side[n] == s], replace(who, sides=[s] if s else []), purpose)
                for s in sides
            ]
            raise Unclear([*options[:2], Meant(tuple(lamps), purpose=purpose)], "which side")
        return Meant(tuple(lamps), True, purpose, ("front or rear was not said",))
