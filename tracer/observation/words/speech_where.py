"""In which states of the vehicle something that was said of a lamp means something."""

from __future__ import annotations

from typing import Final

from tracer.harness.lamp_purposes import INDICATORS, LIGHTING
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, LampSeen, Symptom
from tracer.observation.words.lamps_called import NONE
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_choices import NOT_WELL
from tracer.observation.words.speech_clauses import Clause
from tracer.observation.words.speech_exchanged import ExchangeReader
from tracer.observation.words.speech_lamps import Meant
from tracer.observation.words.speech_looks import Verdict
from tracer.observation.words.speech_states import NotUnderstood
from tracer.observation.words.speech_things import BY_ITSELF, WEAK

_DARK: Final = frozenset({"dark"})
_AS_WELL: Final = Pattern(
    r"\b(?:comes?|lights?|glows?|flash\w*|goes|go)\b.*\b(?:too|as well|also|instead)\W*$", 2)
_DIM: Final = frozenset({"dim"})


class WhereReader(ExchangeReader):
    """Finds the states: those that were told, those in which the lamp is lit, or with the vehicle at rest."""

    def _states(self, lamp: str, meant: Meant, told: Verdict, head: bool, hazard: bool) -> list[VehicleState]:
        """The states in which something said of a lamp means something."""
        said = self._states_said()
        if told.flash == "flashing" and self.around.trivial and BY_ITSELF.search(self.text.lower()):
            return said
        if self.denies_on and not self.around.trivial:
            return said  # "the right tail comes on with the brake, the left doesn't"
        purposes = self.healthy.purposes.get(lamp, frozenset())
        flashes, indicator = told.flash is not None, bool(purposes & INDICATORS)
        if not self.around.trivial:
            lit_there = any(lamp in self.healthy.on(s) for s in said)
            if flashes and meant.purpose == "indicator" and lit_there:  # "won't flash when I brake"
                lit_there = any(self.healthy.moves(o).items() <= self.healthy.moves(s).items() for s in said
                                for o in self._own_quietly(lamp, meant))
            bare = told.flash == "flashing" and told.words == LIT  # "flashes when I brake": where it should be dark
            rate = flashes and indicator and not bare
            needs_light = told.went or rate or (told.sometimes and told.words == _DARK)
            beside = self._glass(lamp) if head and not lit_there else ()
            if any(other in self.healthy.on(s) for other in beside for s in said):
                return []  # the other filament of the headlamp is meant
            if head and not lit_there and not told.on and not told.glows:  # they were on
                return [] if "main" in purposes else self._own_and_said(lamp, meant, hazard)
            if told.usual and not lit_there and not meant.whole and any(
                    n in self.healthy.on(s) for n in meant.lamps for s in said):
                return []  # "brake on, left is fine": those that are lit there
            apart = told.usual and (self.several or self._at_rest_beside(lamp, meant))
            if not lit_there and (apart or (self.of_others and _too_weak(told))):
                return list(self._own(lamp, meant, hazard))  # nobody praises a lamp for being dark
            own = self._own_quietly(lamp, meant)
            puts_on = any(self.healthy.moves(o).items() <= m.items() for o in own for m in self.around.moves)
            if told.went and (meant.whole or meant.lens) and lit_there and puts_on:
                return []  # it cannot go out with what puts it on
            if told.went and meant.whole and not purposes & LIGHTING:
                return []
            nothing_there = told.words == _DARK and not meant.whole and not any(  # nobody tells it
                n in self.healthy.on(s) for n in meant.lamps for s in said)
            on = {n for s in said for n in self.healthy.on(s)}
            none_lit = told.words == _DIM and bool(on) and not on & self.healthy.purposes.keys()
            if not lit_there and (needs_light or told.works or nothing_there or none_lit):
                there = self._own_and_said(lamp, meant, hazard)
                return [s for s in there if lamp in self.healthy.on(s)] if told.went and meant.whole else there
            return self._where_told(said) if told.glows or told.glow else said
        turn = [n for n in meant.lamps if self.healthy.purposes.get(n, frozenset()) & INDICATORS]
        if told.flash == "flashing" and not indicator and turn:  # "tail and indicator flash together"
            return [self._merged(o, self.healthy.moves(s)) for o in self._own(lamp, meant, hazard)
                    for s in self._own(turn[0], meant, hazard)]
        at_rest = told.on or told.stays or ((told.glow or told.glows) and self.around.always)  # "glows all the time"
        if at_rest and not flashes and (told.stays or not told.sometimes):
            if told.stays and indicator:
                raise self._indicator_stays(lamp, meant)
            if lamp in self.healthy.on(said[0]):
                return list(self._own(lamp, meant, hazard))
            if told.on and not (told.stays or self.around.always) and (there := self._beside_others(lamp, said[0])):
                return there
            self._take(said[0])
            return said
        if head and "main" in purposes and not told.usual:
            return []  # without a word of main beam it is the dipped one
        self.assumed += ["dipped beam"] * (head and not told.usual)
        return self._own_and_said(lamp, meant, hazard)

    def _with_what_lit(self, meant: Meant, told: Verdict) -> None:
        """"All the trailer's lights are dim when I indicate": whether the side lights were on is asked, since without
        them nothing else is lit."""
        purposes, said = self.healthy.purposes, self._states_said()
        if not (meant.whole and told.words <= WEAK and not told.flash) or self.around.trivial or (
                told.glow or told.glows or told.went):  # what glows should be dark, and what goes dim was lit
            return
        lit = {n for n in meant.lamps for s in said if n in self.healthy.on(s)}
        others = [n for n in meant.lamps if "side" in purposes[n]]
        if not lit or not others or any(not purposes[n] & INDICATORS for n in lit):
            return
        own = [self._merged(o, m) for o in self._own_quietly(others[0], meant) for m in self.around.moves]
        ways = [[(s, [n for n in lamps if n in self.healthy.on(s)]) for s in states]
                for states, lamps in ((own, others), (said, [*lit]), (own, meant.lamps))]
        ready = [[Symptom(s, tuple(LampSeen(n, told.words) for n in lamps), False, "") for s, lamps in way]
                 for way in ways]
        raise NotUnderstood("it is not said whether the side lights were on", ready)

    def _out_as_braking(self, meant: Meant, told: Verdict, clause: Clause | None) -> None:
        """"Trailer lights out on braking": whether those that burned go out, or those of the brake stay dark, is
        asked."""
        purposes, said = self.healthy.purposes, self._states_said()
        lit = [n for n in meant.lamps if all(n in self.healthy.on(s) for s in said)]
        others = [n for n in meant.lamps if purposes[n] & {"side", "number plate"}]
        named = clause is None or not (meant.whole or all(w.plural for w in clause.whos)) or any(
            w.functions or w.quantity in NONE for w in clause.whos)
        if named or self.tried or self.around.trivial or told.words != _DARK or told.went or not (
                lit and others and all("stop" in purposes[n] for n in lit)):
            return
        own = self._own_quietly(others[0], meant)[:1]
        burned = [self._merged(o, self.healthy.moves(s)) for s in said for o in own]
        ways = [(burned, others), (said, lit)]
        ready = [[Symptom(s, tuple(LampSeen(n, told.words) for n in lamps), False, "") for s in states]
                 for states, lamps in ways]
        raise NotUnderstood("it is not said whether they burned before", ready)

    def _dim_or_glows(self, meant: Meant, told: Verdict) -> None:
        """"The indicator is dim with the headlights on": with both on, or it glows where it should be dark; that is
        asked."""
        said = self._states_said()
        glows = told.glow or told.glows or told.on or told.stays
        if not told.words <= WEAK or glows or told.went or told.flash or told.sometimes:
            return
        if self.of_others or self.around.trivial or not any(self.around.moves):
            return
        if meant.lens or meant.whole or meant.any_of:
            return
        if {"main", "dipped"} <= {p for n in meant.lamps for p in self.healthy.purposes[n]}:
            return  # the headlamps were on, on one of the two
        own = {n: self._own_quietly(n, meant) for n in meant.lamps}
        if not all(own.values()) or any(n in self.healthy.on(s) for n in meant.lamps for s in said):
            return
        lit: dict[VehicleState, list[LampSeen]] = {}
        for lamp, states in own.items():
            for state in (self._merged(o, m) for o in states for m in self.around.moves):
                lit.setdefault(state, []).append(LampSeen(lamp, told.words))
        there = [Symptom(s, tuple(LampSeen(n, told.words) for n in meant.lamps), False, "") for s in said]
        raise NotUnderstood("it is not said whether it was switched on as well", [
            [Symptom(s, tuple(seen), False, "") for s, seen in lit.items()], there])

    def _at_rest_beside(self, lamp: str, meant: Meant) -> bool:
        """Whether only controls that do nothing for a lamp were told, at rest: "brake lights fine with the lights
        off"."""
        own = [o for o in self._own_quietly(lamp, meant) if not {*self.healthy.moves(o)} & self.around.told]
        return bool(own) and not any(self.around.moves)

    def _beside_others(self, lamp: str, rest: VehicleState) -> list[VehicleState]:
        """Where something comes on, by what was told of others: "clock light out, speedometer's lit" is where the one
        should be that is out, "brake lights faint and the reversing lamp comes on too" with the brake."""
        contrast = [s for s in self.found if s != rest and lamp in self.healthy.on(s)]
        if contrast or not _AS_WELL.search(self.text):
            return contrast
        return [s for s in self.found if lamp not in self.healthy.on(s)]

    def _where_others(self, meant: Meant) -> dict[VehicleState, list[str]]:
        """The states in which something was told of all lamps from which these are excepted."""
        out: dict[VehicleState, list[str]] = {}
        for state, seen in self.found.items():
            there = [n for n in meant.lamps if n in seen]
            if there:
                out[state] = there
            if meant.any_of:  # one of them, and of the others nobody knows
                for lamp in there:
                    del seen[lamp]
        return out

    def _own_and_said(self, lamp: str, meant: Meant, hazard: bool) -> list[VehicleState]:
        """What lights a lamp, and what was said, together."""
        return [self._merged(own, moves) for own in self._own(lamp, meant, hazard) for moves in self.around.moves]

    def _where_told(self, said: list[VehicleState]) -> list[VehicleState]:
        """Where something glows as well that should be dark: with the lights on, if those were told of before: "the
        tail goes out when I signal left and the stop glows"."""
        before = [s for s in self.found if s not in said and not self.each_its_own and any(
            self.healthy.moves(m).items() <= self.healthy.moves(s).items() for m in said)]
        return before or said


def _too_weak(told: Verdict) -> bool:
    """Whether it is told as dark or weak, and of no change or light that should not be."""
    return told.words <= NOT_WELL and not (told.glow or told.glows or told.on or told.went or told.flash)
