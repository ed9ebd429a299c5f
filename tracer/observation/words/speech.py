"""A tradesman's sentence understood: which lamps, how they looked, in which states of the vehicle.

The states that were not said are those in which the statement means something: what is dark, dim or flashes wrongly
is looked at where the healthy vehicle lights it, what is lit without a word of when, where it should be dark.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from tracer.harness.lamp_purposes import BEAMS, INDICATORS
from tracer.harness.model import VehicleState
from tracer.observation.evidence import ALL_WORDS, LIT, LensSeen, Symptom
from tracer.observation.words.lamps_called import NONE
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.speech_apart import told_apart
from tracer.observation.words.speech_choices import of_one
from tracer.observation.words.speech_clauses import Clause, clauses_of, vehicle_only, with_ones
from tracer.observation.words.speech_lamps import Meant
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_looks import (
    DARK,
    ON,
    SHORT,
    STAYS,
    USUAL,
    WORKS,
    Say,
    Verdict,
    denied,
    verdict,
)
from tracer.observation.words.speech_named import AS_DARK, NamedReader
from tracer.observation.words.speech_parts import hear
from tracer.observation.words.speech_states import NotHere, NotUnderstood, Understood
from tracer.observation.words.speech_things import BY_ITSELF
from tracer.observation.words.speech_who import Who
from tracer.observation.words.story_said import Told, story_of

_TOGETHER = Pattern(r"\b(?:comes?|lights?|goes|going|coming)\b.*\btogether\b", 2)
_ALTOGETHER = Pattern(r"\b(?:altogether|completely|totally|entirely|stone dead|at all)\b", 2)


def read_speech(text: str, lexicon: Lexicon) -> Understood:
    """Understand a sentence as it is spoken.

    Raises:
        NotUnderstood: It is not, or could mean several things.
    """
    heard = hear(text, lexicon)
    clauses = clauses_of(heard.chunks)
    if not clauses:
        raise NotUnderstood("it is not said what was seen", strange=bool(heard.around.since))
    reader = Reader(lexicon, heard, text)
    if heard.inside:
        open_ = "leaves open which" if of_one(heard) else "is not known here"
        whole = [] if of_one(heard) else reader.without(clauses)
        raise NotUnderstood(f"“{' '.join(heard.inside)}” {open_}", [*whole, *reader.guesses(clauses)], True)
    failed = [f for a in told_apart(clauses, heard, lexicon.healthy) or [heard.around] for f in a.failed]
    if failed:
        raise NotUnderstood(f"“{failed[0]}” is no position of a control of this vehicle",
                            [*reader.without(clauses), *reader.guesses(clauses)], True)
    spoken, told = reader.read(clauses), heard.around.since
    return _with_story(spoken, story_of(told, spoken.symptoms)) if told else spoken


def _with_story(spoken: Understood, told: Told) -> Understood:
    return replace(spoken, assumed=(*spoken.assumed, *told.assumed()), unused=(*spoken.unused, *told.unused),
                   story=told.story)


def tells_only_story(text: str, lexicon: Lexicon) -> bool:
    """Whether a sentence says what was done to the vehicle, and nothing else."""
    heard = hear(text, lexicon)
    return bool(heard.around.since) and not clauses_of(heard.chunks) and heard.around.trivial and not heard.unknown


def _by_what_is_said(whos: Sequence[Who], told: Verdict, altogether: bool, flashing: bool) -> None:
    """Which lamps are meant by how they do: "the left rear cluster is dead", or "the left rear lamp is completely
    dead", is all of it, a tell-tale that flashes that of the indicators."""
    for who in whos:
        if who.functions == ["tell-tale"] and told.flash and not (who.names or who.colour):
            who.functions = ["tell-tale", "indicator"]
        rest = told.flash == "flashing" and "rest" in who.said  # "the whole rear pulses" is more than the indicators
        if who.whole and not who.functions and (flashing or rest or told.flash in ("fast", "slow")):
            who.functions = ["indicator"]  # "the rest on that side go quick", "nothing else on the left does"
        if who.functions == ["head"] and told.words == AS_DARK.words and altogether:
            who.functions = ["dipped", "main"]
        corner = bool(who.sides and who.ends)
        light = altogether and (who.noun or corner) and not who.names and bool(who.sides or who.ends)
        unit = bool({"cluster", "clusters"} & {*who.said})
        if (unit or light) and not who.exact and not who.functions and told.words == AS_DARK.words:
            who.quantity = "everything" if who.quantity in ("all", "both") else who.quantity or "everything"


def _as_whole(whos: Sequence[Who], whole: bool) -> bool:
    """Whether all of some place is told of, in this clause or as in the one before: "left unit completely dead, right
    unit good"."""
    place = whos and all((w.place_only or (w.noun and not w.plural and (
        {"unit", "cluster"} & {*w.said} or {*w.said} <= {"left", "right", "front", "rear"}))) and not (
        w.functions or w.names or w.exact or w.one or w.other) for w in whos)
    for who in whos if place and whole else ():
        who.quantity = "everything"
    return any(w.whole for w in whos)


class Reader(NamedReader):
    """Reads the clauses of one sentence."""

    def read(self, clauses: Sequence[Clause]) -> Understood:
        """The symptoms that the clauses tell."""
        clauses, whole = with_ones(clauses), self.around
        self.in_reverse_too(clauses)
        apart = told_apart(clauses, self.heard, self.healthy)
        clauses = self.clauses = clauses if apart else self._scene(self._by_control(clauses))
        self.each_its_own = bool(apart)
        self.several = len(clauses) > 1  # what was said of the state is said of one of them
        moving = self.heard.moving
        for clause, self.around in zip(clauses, apart or [whole] * len(clauses), strict=True):
            own = moving & {*clause.scenes}
            self.of_others = self.several and not own and any(not c.fronted and moving & {*c.scenes} for c in clauses)
            self._clause(clause)
            self.scenes |= dict.fromkeys(self.named, frozenset(own))
        self.around = whole
        self._as_before()
        self.mates_there()
        if not self.found and not self.others_normal:
            raise NotUnderstood("it is not said what was seen")
        if self.others_normal and not self.found:
            self.found = {self._states_said()[0]: {}}
        symptoms = tuple(
            Symptom(state, tuple(seen.values()), self.others_normal, self.text,
                    only=tuple(c for c in self.healthy.moves(state) if c in self.around.only))
            for state, seen in self.found.items()
        )
        several = len(symptoms) > 2 and len(self.taken) > 2
        taken = ["each with what switches it on"] if several else [", ".join(self.taken)] if self.taken else []
        used_up = self.around.unused + [w for w in self.heard.unknown if w not in self.heard.inside]
        return Understood(symptoms, tuple(dict.fromkeys([*taken, *self.assumed])), tuple(dict.fromkeys(used_up)))

    # --- one clause

    def _clause(self, clause: Clause) -> None:
        kind, name = clause.thing
        if kind == "fuse":
            self._fuse(clause, name)
        elif kind == "load":
            self._load(clause, name)
        elif kind == "relay":
            self._relay(clause, name)
        elif any(s.exchanged for s in clause.says):
            self.exchanged(clause)
        elif any(s.apart for s in clause.says):
            self.apart(clause)
        elif any(s.sound for s in clause.says):
            shows = [s for s in clause.says if not s.sound]
            if clause.whos and any(not s.beside for s in shows):
                self._lamps(replace(clause, says=shows))
            if not (clause.whos and any(s.flash in ("fast", "slow") for s in shows)):  # "left flasher ticks fast"
                self._relay(clause, self._ticking(clause))
        elif any(s.blown and not s.once for s in clause.says) and clause.whos:
            raise self.bulbs_blow(clause)
        elif any(s.blown is not None for s in clause.says) and clause.whos:
            seen = [DARK if s.blown else s for s in clause.says if s.blown is not False]  # "left tail blown"
            self._clause(replace(clause, says=seen))
        else:
            self._lamps(clause)

    def _lamps(self, clause: Clause) -> None:
        if clause.bare:
            self._of_nothing(clause)
            return
        says = self._looks(clause)
        if self.was_bad and SHORT in says:
            says = [USUAL if s == SHORT else s for s in says]  # "the left flickers, the right doesn't"
        told, than = verdict(says) if says else None, next((s.compared for s in says if s.compared), None)
        if told is None:
            words = " ".join(w.words for w in clause.whos)
            raise NotUnderstood(f"“{words}” does not say how it looks", self.guesses(self.clauses))
        if any(("else" in w.said or "rest" in w.said) and not (w.sides or w.ends or w.functions or w.names)
               for w in clause.whos) and told.usual:
            self.others_normal = True
            return
        for who in clause.whos:
            if (told.usual or told.words == AS_DARK.words) and vehicle_only(who) and len(clause.whos) == 1:
                who.quantity = "everything"  # "car OK, trailer left tail out"; "trailer dead"
        _by_what_is_said(clause.whos, told, bool(_ALTOGETHER.search(self.text)), (told.short and self.flashed) or (
            self.around.trivial and told.flash == "steady" and told.words == ALL_WORDS))  # "nothing flashes"
        self.flashed = told.flash == "flashing"
        self.was_bad = not (told.usual or told.on or told.short or told.flash)
        self.of_whole = _as_whole(clause.whos, self.of_whole)
        try:
            meant = self._meant(clause, told)
        except NotHere:
            if not told.usual or any(w.sides or w.ends or w.other for w in clause.whos):
                raise
            self.around.unused.append(" ".join(w.words for w in clause.whos))  # what is not there is "fine"
            return
        if told.flash in ("fast", "slow") and self.around.trivial and not any(
                self.healthy.purposes[n] & {*INDICATORS, "tell-tale"} for n in meant.lamps):
            raise NotUnderstood(f"{' and '.join(meant.lamps[:2])} does not flash", self._other_looks(clause))
        on = {n for s in self._states_said() for n in self.healthy.on(s)}
        turns = {n for n in meant.lamps if self.healthy.purposes.get(n, frozenset()) & INDICATORS}
        if told.flash in ("fast", "slow") and meant.lens and not (self.around.trivial or self.tried or on & turns):
            raise NotUnderstood("it is not said which lamp of the cluster", self._other_looks(clause))  # "goes mad"
        if told.on and not told.stays and self.around.trivial and _TOGETHER.search(self.text):
            self.together(meant)
        meant = self._flashing_there(meant, told)
        self._as_what(meant, told)
        self.assumed += meant.assumed
        self.across = any(w.other for w in clause.whos)
        self.before, self.named = meant.lamps, frozenset(meant.lamps)
        self.saying_all = meant.whole and not clause.excepted
        self.denies_on, self.was_on = self.was_on and told.short, told.on and not told.usual
        head = any("head" in w.functions and not BEAMS & {*w.functions} for w in clause.whos)
        hazard = any("hazard" in w.functions for w in clause.whos)
        with self._turned(clause, meant):
            self._say(meant, told, head, hazard, clause)
        if than is not None and not meant.any_of:
            self._compare(meant.lamps, than)

    def _of_nothing(self, clause: Clause) -> None:
        """A look of which no lamp is known."""
        praised = verdict(clause.says)
        others = [c for c in self.clauses if c.thing[0] or any(w.functions or w.names or w.exact for w in c.whos)]
        if self.heard.unknown and others and praised is not None and praised.usual:
            return  # "beacon works but …", of a vehicle that has none: what is not known is said back
        if self.heard.unknown and self.around.trivial:
            said = " ".join(self.heard.unknown)
            raise NotHere(f"“{said}” is no lamp, fuse or load of this vehicle", strange=True)
        raise NotUnderstood("it is not said which lamp")

    def _looks(self, clause: Clause) -> list[Say]:
        """What is said of the lamps of a clause, and what that comes to here."""
        says = list(clause.says)
        if says == [ON] and self.around.trivial and all(
                self._of_thing(w) is not w for w in clause.whos):
            says = [WORKS]  # "the reversing bleeper is silent, light comes on"
        if BY_ITSELF.search(self.text.lower()):  # where it should be dark
            says = [STAYS if k == ON else k for k in says]
        if any(w.quantity in NONE for w in clause.whos):
            telling = [s for s in says if not s.beside]
            says = [s for s in says if s.beside] + denied(telling)
        if not (says or self.around.trivial or self.heard.unknown) and any("lights" in w.said for w in clause.whos):
            says = [ON]  # the verb: "left tail lights when I brake"; none in "rear lights go funny when I brake"
            for who in clause.whos:
                who.plural = len(set(who.sides)) > 1
        return says

    # --- in which states

    def _say(self, meant: Meant, told: Verdict, head: bool, hazard: bool, clause: Clause | None = None) -> None:
        """What was said of the lamps, put into the states in which it means something."""
        told = self.steady_there(meant, told)
        each = self._where_others(meant) if clause is not None and clause.excepted else {}
        self._with_what_lit(meant, told)
        self._out_as_braking(meant, told, clause)
        self._dim_or_glows(meant, told)
        turning = tuple(n for n in meant.lamps if self.healthy.purposes.get(n, frozenset()) & INDICATORS)
        rate = told.flash in ("fast", "slow") or (told.flash == "steady" and told.words == ALL_WORDS)
        if meant.lens and rate and turning:  # "the left rear light does not flash" is of the one that should
            meant = replace(meant, lamps=turning, any_of=len(turning) > 1, lens=False)
        meant = self._of_cluster(meant, told, clause)
        taken = {**self.taken}
        for now in (told, replace(told, went=False)) if meant.whole and told.went else (told,):
            if each:
                break
            self.taken = {**taken}
            for lamp in meant.lamps:  # "everything goes dim with the lights on": with nothing else on
                beam = head and bool(self.healthy.purposes[lamp] & BEAMS)  # "tail and headlight"
                for state in self._states(lamp, meant, now, beam, hazard):
                    each.setdefault(state, []).append(lamp)
        each = self._own_way(each, meant)
        if not each:
            raise NotUnderstood(f"{' and '.join(meant.lamps[:3])}: this vehicle never lights that")
        self._which_way(each, meant, told)
        if meant.purpose == "indicator" and not (told.glow or told.glows or told.flash == "flashing") and (
                told.flash is not None or not told.on):  # those of the side that was signalled
            each = {s: [n for n in lamps if n in self.healthy.on(s)] or lamps for s, lamps in each.items()}
        for state, lamps in each.items():
            if told.went and not told.sometimes and not told.moved:
                self.ceased.setdefault(state, set()).update(lamps)
            if head and (told.on or told.glows) and not meant.any_of:  # which filament, nobody can see
                bulbs = self.lexicon.lamps.names.bulbs
                for glass in dict.fromkeys(bulbs[n] for n in lamps):
                    both = tuple(self._seen(n, state, told) for n in lamps if bulbs[n] == glass)
                    self._put(state, LensSeen(both) if len(both) > 1 else both[0])
                continue
            if meant.whole and not (told.on or told.glows or told.flash == "flashing"):
                # "everything dim with the lights on" are those
                lamps = [n for n in lamps if n in self.healthy.on(state)] or lamps
            if meant.whole and self._loosely(state, lamps, told):
                continue
            if meant.any_of:
                lit = [n for n in lamps if n in self.healthy.on(state)]
                if meant.lens and not told.on:
                    lamps = lit or lamps
                if told.words == frozenset({"dark"}) and not self._one_glass(lamps):
                    lamps = lit or lamps
                elif told.words == frozenset({"dark"}):  # the whole lens is dark
                    for lamp in lit or lamps:
                        self._put(state, self._seen(lamp, state, told))
                    continue
            # The rate is the flasher's: it shows on whichever lamp of that side still burns, and nobody counts them.
            if (meant.any_of or told.flash in ("fast", "slow")) and len(lamps) > 1:
                looks = tuple(self._seen(n, state, told) for n in lamps)
                first = looks[0]
                self._put(state, LensSeen(tuple(replace(first, lamp=k.lamp) for k in looks)))
            else:
                for lamp in lamps:
                    self._put(state, self._seen(lamp, state, told))

    def _of_cluster(self, meant: Meant, told: Verdict, clause: Clause | None) -> Meant:
        """Of "the rear light" that goes out with something that which is lit there; else it is asked which.

        Raises:
            NotUnderstood: It is not said which lamp of the cluster.
        """
        if not (meant.lens and meant.any_of):
            return meant
        if told.went and not self.around.trivial and (burned := self.burned(meant)):
            return replace(meant, lamps=burned, any_of=len(burned) > 1)  # "the rear light goes out when I brake"
        # "The rear light", and not the corner; but in reverse nobody tells of the clear lamp by its corner.
        shining = {n for s in self._states_said() for n in self.healthy.on(s)} & {*meant.lamps}
        clear = any("reversing" in self.healthy.purposes[n] for n in shining)
        named = clause is not None and (clear or any(w.noun for w in clause.whos))
        if named and not self.around.trivial and not told.flash and (told.glow or told.glows) and not self.tried:
            weak = [Meant((n,)) for n in sorted(meant.lamps, key=lambda n: (n in shining, self._seldom(n)))]
            if shining:  # it is weak, or another one glows beside it
                raise NotUnderstood("it is not said which lamp of the cluster", [
                    self.if_meant(o, clause, told) for o in weak])
        there = {n for s in self._states_said() for n in self.healthy.on(s) if told.words == AS_DARK.words}
        lit = tuple(n for n in meant.lamps if n in there)
        if lit and told.went and not self.around.trivial:
            return replace(meant, lamps=lit, any_of=len(lit) > 1)
        far_apart = len({self.lexicon.lamps.end[n] for n in meant.lamps}) > 1
        if far_apart or ((self.around.trivial or told.flash is not None) and not told.on):
            options = [Meant((n,)) for n in sorted(meant.lamps, key=lambda n: (n not in there, self._seldom(n)))]
            raise NotUnderstood("it is not said which lamp of the cluster", [
                self.if_meant(o, clause, told) for o in options])
        return meant

    def _loosely(self, state: VehicleState, lamps: Sequence[str], told: Verdict) -> bool:
        """"Everything glows" in a unit where it should be dark: something does behind its lenses, and nobody looked
        behind which."""
        looks = [self._seen(n, state, told) for n in lamps if n not in self.healthy.on(state)]
        if not told.words <= LIT or told.usual or len(looks) < 2:
            return False
        self._put(state, LensSeen(tuple(looks)))
        self.assumed.append("not each of them")
        return True
