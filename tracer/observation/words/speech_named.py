"""Whose looks are told in a clause: what a part leaves out is taken from its neighbour, or from the clause before."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.harness.lamp_purposes import BEAMS
from tracer.observation.evidence import RelaySeen, Symptom
from tracer.observation.words.lamps_called import FUNCTIONS, NONE
from tracer.observation.words.speech_clauses import Clause, completed
from tracer.observation.words.speech_lamps import Meant, Unclear, half_known
from tracer.observation.words.speech_looks import UNHEARD, Verdict
from tracer.observation.words.speech_parts import Heard
from tracer.observation.words.speech_scene import SceneReader
from tracer.observation.words.speech_states import NotUnderstood
from tracer.observation.words.speech_who import Who

AS_DARK: Final = Verdict(frozenset({"dark"}))  # how it looks, where that is not said yet


def _of_that_thing(who: Who, heard: Heard, ticking: str, relays: Sequence[str] = ()) -> Who:
    """"The reversing buzzer is silent but the light works": that light; "flasher clicks but no lamps come on", "… but
    nothing flashes": the indicators."""
    unnamed = not (who.functions or who.names or who.exact or who.sides or who.ends)
    if ticking and unnamed and (who.noun or who.whole):
        return replace(who, functions=["indicator"], plural=True)
    things = [*relays, *(k.thing for k in heard.chunks if k.kind == "load")]
    of = [FUNCTIONS[w] for w in (things[0].split() if things else ()) if w in FUNCTIONS]
    bare = who.noun and unnamed and not (who.quantity and things[:1] != [*relays[:1]])
    return replace(who, functions=of[:1], plural=True) if bare and of else who


def _all_plural(whos: Sequence[Who]) -> list[Who]:
    """"Head, side and tail lights", "the reverse and brake lights": what stands in the plural is said of each."""
    last = whos[-1]
    plural = last.noun and last.plural and not (last.sides or last.ends)
    return [w if not (plural and w.functions) or w.noun or w.sides or w.ends or w.quantity or w.exact else
            replace(w, plural=True) for w in whos]


class NamedReader(SceneReader):
    """Finds the lamps of a clause."""

    def _of_thing(self, who: Who) -> Who:
        relays = [k.relay for seen in self.found.values() for k in seen.values() if isinstance(k, RelaySeen)]
        return _of_that_thing(who, self.heard, self.ticking, relays)

    def _other_looks(self, clause: Clause) -> list[tuple[Symptom, ...]]:
        """The sentence with other looks in place of one that cannot be; none of a reading that is one of those."""
        other = [replace(c, says=[UNHEARD] if c is clause else c.says) for c in self.clauses]
        return [] if self.tried else self.with_looks(other)

    def _meant(self, clause: Clause, told: Verdict | None = None) -> Meant:
        """The lamps of a clause; what one part leaves out is taken from its neighbour."""
        whos = _all_plural([self._of_thing(w) for w in completed(clause.whos)])
        try:
            parts = self._parts(whos)
        except Unclear as unclear:
            ready = [self.if_meant(option, clause, told or AS_DARK) for option in unclear.options]
            said = " and ".join(w.words for w in whos)
            raise NotUnderstood(f"“{said}” leaves open {unclear.why}", ready) from None
        except LookupError as error:
            raise self.not_here(error, whos, clause) from None
        if not clause.either and half_known(parts):
            parts = self._all_there_too(whos) or parts
        if not clause.either and (open_ := half_known(parts)):
            raise NotUnderstood("it is not said which lamp", [self._ready(o, told or AS_DARK) for o in open_])
        lamps = tuple(dict.fromkeys(n for p in parts for n in p.lamps))
        purposes = {p.purpose for p in parts}
        none = any(w.quantity in NONE for w in whos)  # "no stop or tail lights": neither
        either = (clause.either and not none) or any(p.any_of for p in parts)
        return Meant(lamps, either and len(lamps) > 1, purposes.pop() if len(purposes) == 1 else None,
                     tuple(a for p in parts for a in p.assumed), any(p.whole for p in parts),
                     any(p.lens for p in parts))

    def _parts(self, whos: Sequence[Who]) -> list[Meant]:
        """What each part of a clause means; a side that it leaves open is that of which was spoken before: "left stop
        out but the tail is fine"."""
        sides = {self.lexicon.lamps.side[n] for n in self.before} - {""}
        beams = len(sides) == 1 and all(w.functions and {*w.functions} <= BEAMS and not (
            w.sides or w.plural or w.quantity or w.exact) for w in whos)
        if beams:
            self.assumed.append(f"the {next(iter(sides))} one, as before")  # "left main beam works but dip doesn't"
            whos = [replace(w, sides=[*sides]) for w in whos]
        try:
            return [self._part(w) for w in whos]
        except Unclear as unclear:
            if (parts := self._of_one_side(whos)) is not None:
                return parts
            plain = all((w.functions or w.names) and not (w.sides or w.plural or w.quantity or w.exact) for w in whos)
            if len(sides) != 1 or not plain or self.across:
                raise  # "left tail out, other one fine, stop light good"
            try:
                parts = [self._there_too(replace(w, sides=[*sides])) for w in whos]
            except LookupError:
                raise unclear from None  # "left reversing lamp fine, rear fog ok", which has no left one
            self.assumed.append(f"the {sides.pop()} one, as before")
            return parts

    def _all_there_too(self, whos: Sequence[Who]) -> list[Meant] | None:
        """"Right rear tail dead, stop and flasher OK" is of that corner; None where that is not so."""
        sides = {self.lexicon.lamps.side[n] for n in self.before} - {""}
        if len(sides) != 1 or any(
                w.sides or w.plural or w.quantity or w.exact or w.other or not w.functions for w in whos):
            return None
        try:
            parts = [self._there_too(replace(w, sides=[*sides])) for w in whos]
        except LookupError:
            return None
        self.assumed.append(f"the {sides.pop()} one, as before")
        return parts

    def _there_too(self, who: Who) -> Meant:
        """A lamp at the end of which was spoken before, where else it may be either: "right rear tail dead, stop and
        flasher OK"."""
        ends = {self.lexicon.lamps.end[n] for n in self.before} - {""}
        here = replace(who, ends=[*ends]) if len(ends) == 1 and not who.ends else who
        try:
            meant = self.lexicon.lamps.meant(who, self.before)
        except Unclear:
            return self.lexicon.lamps.meant(here, self.before)
        if not meant.any_of:
            return meant
        try:
            return self.lexicon.lamps.meant(here, self.before)
        except LookupError:
            return meant

    def _of_one_side(self, whos: Sequence[Who]) -> list[Meant] | None:
        """"Left stop and rear indicator dead": one lamp after that of a side is of the same side, as far as there is
        such a one."""
        sides, left_open = whos[0].sides, [w for w in whos[1:] if not w.sides]
        if len(sides) != 1 or not left_open or any(
                w.plural or w.quantity or w.exact or w.other or not w.functions for w in left_open):
            return None
        try:
            return [self._part(w if w.sides else replace(w, sides=[*sides])) for w in whos]
        except LookupError:
            return None
