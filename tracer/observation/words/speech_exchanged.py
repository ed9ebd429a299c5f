"""Lamps that light with each other's switch: "left stop and tail are swapped", "the indicators are crossed".

Each is lit in the state that should light the other, and dark in its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from tracer.observation.evidence import LIT, LampSeen, LensSeen, Symptom
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_choices import ChoiceReader
from tracer.observation.words.speech_clauses import Clause, completed
from tracer.observation.words.speech_lamps import Meant, Unclear
from tracer.observation.words.speech_states import NotUnderstood
from tracer.observation.words.speech_who import Who

_DARK = frozenset({"dark"})
_CONTRARY = Pattern(r"\bother way (?:round|around|about)|\bopposite|\bvice versa|\breversed\b", 2)


class ExchangeReader(ChoiceReader):
    """Reads which lamps change places."""

    def exchanged(self, clause: Clause) -> None:
        """What is seen of two lamps, or two groups of lamps, that change places.

        Raises:
            NotUnderstood: There are not two, it is not said on which side, or both burn together as they should.
            NotHere: The vehicle has no such lamp.
        """
        if not self.around.trivial:
            raise NotUnderstood("it is not said which lamp lights when")
        if _CONTRARY.search(self.text) and any(c is not clause and c.says for c in self.clauses):
            raise NotUnderstood("it is not said how the others do")  # "left dead, right the other way round"
        whos = completed(clause.whos)
        try:
            groups = self._two([self._part(w) for w in whos])
        except Unclear:
            ready = [self._changed(self._sided(whos, side)) for side in ("left", "right")]
            raise NotUnderstood("it is not said on which side", [r for r in ready if r]) from None
        except LookupError as error:
            raise self.not_here(error, whos, clause) from None
        found = self._changed(groups)
        if not found:
            two = len(groups) == 2
            why = "what burns together cannot be seen to change places" if two else "which two is not said"
            raise NotUnderstood(why, strange=two)
        for symptom in found:
            self._take(symptom.state)
            for seen in symptom.seen:
                self._put(symptom.state, seen)

    def apart(self, clause: Clause) -> None:
        """What is seen of two lamps that work, and never together: each in its own state, and one or the other is
        dark where both should be lit.

        Raises:
            NotUnderstood: There are not two, or one control lights both: which it is then is asked back.
            NotHere: The vehicle has no such lamp.
        """
        whos = completed(clause.whos)
        try:
            groups = self._two([self._part(w) for w in whos])
        except Unclear as unclear:
            raise NotUnderstood(f"it is not said {unclear.why}") from None
        except LookupError as error:
            raise self.not_here(error, whos, clause) from None
        if len(groups) != 2 or {*groups[0].lamps} & {*groups[1].lamps}:
            raise NotUnderstood("it is not said which two do not work together")
        dipped = [[n for n in g.lamps if "dipped" in self.healthy.purposes[n]] for g in groups]
        if all(dipped):  # "headlights" are those, where no beam was named
            groups = [replace(g, lamps=tuple(n)) for g, n in zip(groups, dipped, strict=True)]
        own, other = ([*self.healthy.own_for(g.lamps[0], g.purpose)[:1]] for g in groups)
        if not own or not other:
            raise NotUnderstood("this vehicle never lights that")
        both = self._merged(own[0], self.healthy.moves(other[0]))
        lamps = [n for g in groups for n in g.lamps]
        if both in (own[0], other[0]) or not {*lamps} <= self.healthy.on(both):
            dark = [Symptom(both, tuple(LampSeen(n, _DARK, None, True) for n in lamps), False, "")]
            raise NotUnderstood("it is not said when the one works, and when the other", [dark])
        for group, state in zip(groups, (own[0], other[0]), strict=True):
            self._take(state)
            for lamp in group.lamps:
                self._put(state, LampSeen(lamp, frozenset({"normal"})))
        self._put(both, LensSeen(tuple(LampSeen(n, _DARK) for n in lamps)))

    def _sided(self, whos: Sequence[Who], side: str) -> list[Meant]:
        try:
            return self._two([self._part(replace(w, sides=[side])) for w in whos])
        except (Unclear, LookupError):
            return []

    def _two(self, parts: Sequence[Meant]) -> list[Meant]:
        """The two that change places; of "the indicators" the one side and the other."""
        if len(parts) != 1:
            return [*parts]
        side = self.lexicon.lamps.side
        each = [tuple(n for n in parts[0].lamps if side[n] == s) for s in ("left", "right")]
        return [replace(parts[0], lamps=lamps) for lamps in each if lamps]

    def _changed(self, groups: Sequence[Meant]) -> list[Symptom]:
        """What is seen; empty if that is not told by two groups of lamps."""
        if len(groups) != 2 or {*groups[0].lamps} & {*groups[1].lamps}:
            return []
        out = []
        for own, other in (groups, groups[::-1]):
            for state in self.healthy.own_for(own.lamps[0], own.purpose)[:1]:
                lit = self.healthy.on(state)
                if {*other.lamps} & lit or not {*own.lamps} & lit:
                    return []
                seen = [LampSeen(n, LIT) for n in other.lamps] + [LampSeen(n, _DARK) for n in own.lamps if n in lit]
                out.append(Symptom(state, tuple(seen), False, ""))
        return out
