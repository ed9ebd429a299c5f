"""What one clause of a sentence, or a control that was named, tells of its lamps."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.harness.lamp_purposes import other_side
from tracer.observation.evidence import LampSeen
from tracer.observation.words.lamps_called import FUNCTIONS
from tracer.observation.words.speech_clauses import Clause
from tracer.observation.words.speech_lamps import Meant
from tracer.observation.words.speech_looks import ON, SHORT, Verdict
from tracer.observation.words.speech_states import NotUnderstood
from tracer.observation.words.speech_where import WhereReader

_NO_LAMPS: Final = frozenset({"tell-tale", "hazard", "panel"})  # of which a side tells nothing


class SceneReader(WhereReader):
    """Finds what was switched on, and which lamps that is about."""

    def _by_control(self, clauses: Sequence[Clause]) -> list[Clause]:
        """"Right comes on with the brake, left doesn't": what one side does and the other should is what that control
        is there for."""
        sides = [w.sides for c in clauses for w in c.whos if w.place_only and not (w.ends or w.other)]
        if len(clauses) != 2 or sorted(s for side in sides for s in side) != ["left", "right"] or not (
                clauses[0].says == [ON] and clauses[1].says == [SHORT]):
            return list(clauses)
        said = self._states_said()
        own = {f: self.lexicon.lamps.called(f) for f in dict.fromkeys(FUNCTIONS.values()) if f not in _NO_LAMPS}
        sided = {f: [n for n in lamps if self.lexicon.lamps.side[n]] for f, lamps in own.items()}
        fit = [f for f, lamps in sided.items() if lamps and all(
            any(s in self.healthy.own(n) for s in said) for n in lamps)]
        if len(fit) != 1 or self.around.trivial:
            return list(clauses)
        self.assumed.append(f"of the {fit[0]} lamps")
        return [replace(c, whos=[replace(w, functions=fit, noun=True) for w in c.whos]) for c in clauses]

    def _scene(self, clauses: Sequence[Clause]) -> list[Clause]:
        """"Reversing right on, left tail flickers": the first says which lamps were switched on. "Fog tell-tale lit,
        fog lamp dead": what it tells of comes first, since that is what was switched on."""
        first = clauses[0]
        if len(clauses) == 2 and first.says == [ON] and self.around.trivial and _tell_of(first, clauses[1]):
            return [clauses[1], first]
        reversing = bool(first.whos) and all(w.functions == ["reversing"] for w in first.whos)
        lit = [k for k in first.says if not (k.usual and reversing)]  # "reversing left on OK"
        bare_on = len(lit) == 1 and lit[0].on and not lit[0].stays and first.whos
        said_on = "on" in self.text.lower().split(",")[0].split()
        if len(clauses) < 2 or not bare_on or not self.around.trivial or not said_on:
            return list(clauses)
        meant = self._meant(first)
        states = self.healthy.own_for(meant.lamps[0], meant.purpose)
        if len(states) == 1:
            self.around.moves = [m | self.healthy.moves(states[0]) for m in self.around.moves]
            self._take(states[0])
        return list(clauses)

    def in_reverse_too(self, clauses: Sequence[Clause]) -> None:
        """"Reversing light fine, left tail flickers", or "glows": whoever sees the first has selected reverse, and
        whether the second is so in reverse is asked.

        Raises:
            NotUnderstood: It is left open.
        """
        moving = self.heard.moving
        if self.tried or len(clauses) < 2 or moving & {*clauses[-1].scenes} or any(c.fronted for c in clauses):
            return
        *firsts, second = clauses
        reverse, weak = self.healthy.of_purpose(("reversing",)), [k for k in second.says if k.flicker or k.weak]
        of_it = all("reversing" in w.functions or (w.place_only and c is not firsts[0])
                    for c in firsts for w in c.whos)
        of_it &= not any("reversing" in w.functions for w in second.whos)
        said_on = "on" in self.text.lower().split(",")[0].split()
        if reverse is None or not weak or not of_it or any(
                (k.on and said_on) or k.flash for c in firsts for k in c.says):
            return
        moves = self.healthy.moves(reverse)
        if not (all(c.whos for c in firsts) and second.whos and all(w.functions for w in second.whos)) or any(
                m and not m.items() <= moves.items() for m in self.around.moves):
            return
        there, apart = self._anew(), self._anew()
        there.around.moves = [{**moves}]
        there.around.told |= {*moves}
        ready = [there.read([replace(c, scenes=[]) for c in clauses]).symptoms, apart.read(clauses).symptoms]
        raise NotUnderstood("it is not said whether both are so in reverse", ready)

    def mates_there(self) -> None:
        """"Left tail goes out when I brake, the right one is fine": that one is so with the brake on, for all that it
        needs none to be lit."""
        for state, lamps in self.ceased.items():
            moves = self.healthy.moves(state).items()
            for lamp, mate in [(n, other_side(n)) for n in sorted(lamps)]:
                apart = self.scenes.get(mate) and self.scenes.get(mate) != self.scenes.get(lamp)
                if mate == lamp or apart or mate in self.found[state] or mate not in self.healthy.on(state):
                    continue
                for other, seen in self.found.items():
                    look = seen.get(mate)
                    well = isinstance(look, LampSeen) and look.plain and "normal" in look.words and not look.flash
                    if look is not None and well and self.healthy.moves(other).items() < moves:
                        self.found[state][mate] = look
                        if mate not in self.healthy.on(other):
                            del seen[mate]
                        break
        self.found = {state: seen for state, seen in self.found.items() if seen}

    def steady_there(self, meant: Meant, told: Verdict) -> Verdict:
        """Indicators that "stay on when I signal" are lit, and do not flash."""
        signalled = any(n in self.healthy.on(s) for n in meant.lamps for s in self._states_said())
        if told.stays and meant.purpose == "indicator" and signalled:
            return replace(told, stays=False, flash="steady")
        return told

    def burned(self, meant: Meant) -> tuple[str, ...]:
        """Of several lamps behind one lens those that may burn before what was told is switched on."""
        return tuple(n for n in meant.lamps if "side" in self.healthy.purposes[n] and not any(
            self.healthy.moves(o).items() <= m.items() for o in self._own_quietly(n,
             meant) for m in self.around.moves))

    def _flashing_there(self, meant: Meant, told: Verdict) -> Meant:
        """"Both rear lamps flash when I brake and indicate": of what is behind each lens that which is lit there."""
        if not meant.lens or meant.any_of or told.flash != "flashing" or self.around.trivial:
            return meant
        parts = self.lexicon.lamps.names.parts
        on = [n for n in parts if all(n in self.healthy.on(s) for s in self._states_said())]
        units = dict.fromkeys(parts[n] for n in meant.lamps)
        lit = tuple(n for unit in units for n in on if parts[n] == unit)
        every = {parts[n] for n in lit} == {parts[n] for n in meant.lamps}
        return Meant(lit, purpose=meant.purpose) if every else meant


def _tell_of(tell_tale: Clause, clause: Clause) -> bool:
    """Whether a clause is about the lamps of a tell-tale."""
    whos = [*tell_tale.whos, *clause.whos]
    if len(whos) != 2 or "tell-tale" not in whos[0].functions:
        return False
    return bool(whos[1].functions) and {*whos[1].functions} == {*whos[0].functions} - {"tell-tale"}
