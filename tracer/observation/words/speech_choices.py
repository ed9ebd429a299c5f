"""What may have been meant by a sentence that is not understood, or not altogether: ready symptoms to choose from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from copy import deepcopy
from typing import Final, Self

from msgspec.structs import replace

from tracer.harness.lamp_purposes import INDICATORS
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, RelaySeen, Seen, Symptom
from tracer.observation.words.lamps_called import NONE, TOWED
from tracer.observation.words.speech_clauses import Clause, completed
from tracer.observation.words.speech_lamps import Meant, Unclear
from tracer.observation.words.speech_lexicon import VEHICLE
from tracer.observation.words.speech_looks import (
    DARK,
    DIM,
    FAST,
    FLICKERS,
    NO_FLASH,
    ON,
    USUAL,
    Say,
    Verdict,
    verdict,
)
from tracer.observation.words.speech_parts import Heard
from tracer.observation.words.speech_states import NotHere, NotUnderstood, Understood
from tracer.observation.words.speech_things import ThingReader
from tracer.observation.words.speech_who import Who

# What a bulb that keeps blowing may show in the end: how it looks, and whether with the engine running.
_BLOWING: Final = ((Say(frozenset({"bright"})), True), (Say(frozenset({"dark"}), sometimes=True, moved=True), False),
                   (DARK, False))
NOT_WELL: Final = frozenset({"dark", "faint", "dim"})
_LOOKS: Final = (DARK, DIM, FLICKERS)
_TURNING: Final = (FAST, DARK, NO_FLASH)  # of what flashes


def of_one(heard: Heard) -> bool:
    return bool(heard.inside) and all(w.startswith("one ") for w in heard.inside)


def _one_by_one(options: Sequence[Meant], heard: Heard, purposes: Mapping[str, frozenset[str]]) -> Sequence[Meant]:
    """What may be meant; lamp by lamp where "one" of them was spoken of."""
    if not of_one(heard):
        return options
    lamps = [n for option in options for n in option.lamps]
    dipped = [n for n in lamps if "dipped" in purposes[n]] if any("head" in w for w in heard.inside) else []
    return [Meant((n,)) for n in dipped or lamps]  # without a word of main beam it is the dipped one


def _open(clause: Clause) -> bool:
    """Whether it tells of lamps, and not in words that are known how they look."""
    return bool(clause.whos) and not clause.thing[0] and verdict(clause.says) is None and not any(
        s.blown is not None or s.sound for s in clause.says) and not any(w.quantity in NONE for w in clause.whos)


def _filled(clause: Clause, look: Say) -> Clause:
    return replace(clause, says=[look, *(s for s in clause.says if s.beside)]) if _open(clause) else clause


def _of_nobody(clause: Clause) -> bool:
    """Whether no lamp is named that an open clause could be about: "always both", "each time"."""
    return _open(clause) and not any(w.functions or w.names or w.exact or w.sides or w.ends or w.other or w.noun
                                     for w in clause.whos)


def _contrasts(clauses: Sequence[Clause]) -> bool:
    """Whether what is open stands beside something that fails: "right one weak, other one lovely" says of the second
    that it is well, or else the same."""
    before = [c for c in clauses if not _open(c)]
    return bool(before) and all((told := verdict(c.says)) is not None and not (told.usual or told.on) for c in before)


class ChoiceReader(ThingReader):
    """Offers what may have been meant."""

    def read(self, clauses: Sequence[Clause]) -> Understood:
        raise NotImplementedError  # pragma: no cover - of the reader of lamps

    def _say(self, meant: Meant, told: Verdict, head: bool, hazard: bool) -> None:
        raise NotImplementedError  # pragma: no cover - of the reader of lamps

    def _ready(self, meant: Meant, told: Verdict) -> tuple[Symptom, ...]:
        """The symptoms if these lamps were meant."""
        fresh = type(self)(self.lexicon, self.heard, self.text)
        fresh.around = self.around
        try:
            fresh._say(meant, told, False, False)
        except NotUnderstood:
            return ()
        return tuple(Symptom(s, tuple(seen.values()), False, "") for s, seen in fresh.found.items())

    def not_here(self, named: LookupError, whos: Sequence[Who], clause: Clause) -> NotHere:
        """What a sentence of lamps that the vehicle has not is answered with."""
        other = any({*w.names} & (VEHICLE | TOWED) for w in whos)
        return NotHere(f"this vehicle has no “{named.args[0]}”", self.guesses([clause]), other)

    def _anew(self) -> Self:
        """Another reader of the same sentence, that looks into one of several readings."""
        fresh = type(self)(self.lexicon, self.heard, self.text)
        fresh.around, fresh.tried = deepcopy(self.around), True
        return fresh

    def if_meant(self, meant: Meant, clause: Clause | None, told: Verdict) -> tuple[Symptom, ...]:
        """The symptoms of the whole sentence if one clause meant these lamps: what is said of others is not lost."""
        rest = [c for c in self.clauses if c is not clause]
        sides = list({self.lexicon.lamps.side[n] for n in meant.lamps})
        if self.tried or clause is None or not rest or (meant.any_of and len(sides) > 1) or len(clause.whos) > 1:
            return self._ready(meant, told)
        first = clause.whos[0]
        none = first.quantity if first.quantity in NONE else ""  # "no lamps come on"
        who = replace(first, sides=sides) if meant.any_of else Who(["these"], exact=meant.lamps, quantity=none)
        named = replace(clause, whos=[who])
        try:
            others = [self._of_the_same(c, meant) for c in self.clauses]
            heard = [named if c is clause else o for c, o in zip(self.clauses, others, strict=True)]
            return self._anew().read(heard).symptoms
        except NotUnderstood:
            return self._ready(meant, told)

    def _of_the_same(self, clause: Clause, meant: Meant) -> Clause:
        """A clause that names neither the vehicle nor its trailer, told of that of which the others are told."""
        lamps = self.lexicon.lamps
        behind = {n in lamps.towed for n in meant.lamps}
        if not lamps.towed or len(behind) != 1:
            return clause
        if any(w.own or w.exact or TOWED & {*w.names} for w in clause.whos):
            return clause  # "trailer plate light and right tail"
        towed = sorted(TOWED & self.lexicon.names)
        return replace(clause, whos=[
            w if w.whole else replace(w, names=[*w.names, *towed]) if behind == {True} else replace(w, own=True)
            for w in clause.whos])

    def bulbs_blow(self, clause: Clause) -> NotUnderstood:
        """"Keeps blowing bulbs" tells of a history and of no look: what could be behind it is asked back."""
        bare = [w for w in clause.whos if w.noun and not (w.functions or w.names or w.exact or w.sides or w.ends)]
        whos = [w for w in clause.whos if w not in bare] or [
            w for c in self.clauses if c is not clause and not c.says for w in c.whos] or clause.whos
        others = [c for c in self.clauses if c is clause or c.says]  # "left tail keeps blowing bulbs"
        for who in whos:
            who.plural |= any(w.plural for w in bare)
        ready: list[tuple[Symptom, ...]] = []
        for told, running in _BLOWING:
            fresh = type(self)(self.lexicon, self.heard, self.text)
            fresh.around = deepcopy(self.around)
            fresh.around.running = running or fresh.around.running
            filled = [replace(c, whos=whos, says=[told]) if c is clause else c for c in others]
            try:
                ready.append(fresh.read(filled).symptoms)
            except NotUnderstood as open_:
                ready += open_.ready
        why = ("bulbs that keep blowing get too many volts (then they are too bright with the engine running), are "
               "shaken, or sit in a loose holder; that they blow does not say which")
        return NotUnderstood(why, ready, asks=True)

    @contextmanager
    def _turned(self, clause: Clause, meant: Meant) -> Iterator[None]:
        """"The green one flashes fast on the left": the one tell-tale of both sides, as it signals to one."""
        self._warned(clause, meant)
        sides = {s for w in clause.whos for s in w.sides}
        of_both = all("tell-tale" in self.healthy.purposes[n] and not self.lexicon.lamps.side[n] for n in meant.lamps)
        state = self.healthy.of_purpose([f"indicator {s}" for s in sides]) if len(sides) == 1 else None
        before = self.around.moves
        if state is not None and of_both and self.around.trivial:
            self._take(state)
            self.around.moves = [m | self.healthy.moves(state) for m in before]
        yield
        self.around.moves = before

    def _warned(self, clause: Clause, meant: Meant) -> None:
        """A tell-tale "comes on over bumps" where it should be dark, or only then; "both green ones come on" as one
        signals, or unasked: that is asked back."""
        tell_tales = all("tell-tale" in self.healthy.purposes[n] for n in meant.lamps)
        on = any(k.on for k in clause.says) and not any(k.stays or k.usual for k in clause.says)
        on |= any(k.flash == "flashing" for k in clause.says) and "together" in self.text.lower().split()
        if not (tell_tales and on and self.around.trivial):
            return
        lit = [(Symptom(s, tuple(LampSeen(n, LIT) for n in meant.lamps), False, ""),) for s in self._states_said()]
        signals = [self.healthy.of_purpose((f"indicator {side}",)) for side in ("left", "right")]
        turns = [s for s in signals if s is not None]
        if {self.lexicon.lamps.side[n] for n in meant.lamps} >= {"left", "right"}:
            both = [(Symptom(s, tuple(LampSeen(n, LIT, "flashing") for n in meant.lamps), False, ""),) for s in turns]
            raise NotUnderstood("it is not said whether they do as one signals", [*both, *lit])
        if any(k.moved for k in clause.says):
            at_times = [Symptom(s, tuple(LampSeen(n, LIT, None, True, False, True) for n in meant.lamps), False, "")
                        for s in self._states_said()]
            dark = self._ready(meant, Verdict(frozenset({"dark"}), sometimes=True, moved=True))
            raise NotUnderstood("it is not said whether it comes on that should be dark", [at_times, dark])

    def together(self, meant: Meant) -> None:
        """"Stop and indicator come on together": which of them was switched on is asked back."""
        if any("tell-tale" in self.healthy.purposes[n] for n in meant.lamps):
            return
        states = dict.fromkeys(s for n in meant.lamps for s in self._own_quietly(n, Meant((n,))))
        ready = [(Symptom(state, tuple(LampSeen(n, LIT) for n in others), False, ""),) for state in states
                 if (others := [n for n in meant.lamps if n not in self.healthy.on(state)])]
        if ready:
            raise NotUnderstood("it is not said what was switched on as they come on together", ready)

    def _as_what(self, meant: Meant, told: Verdict) -> None:
        """"Brake lights dead while indicating", or dim, of a lamp that flashes as well: whether the brake was on is
        asked."""
        if meant.purpose != "stop" or not told.words <= NOT_WELL or told.flash or self.around.trivial:
            return
        said = self._states_said()
        own = [o for n in meant.lamps for o in self._own_quietly(n, meant)]
        braked = any(self.healthy.moves(o).items() <= self.healthy.moves(s).items() for o in own for s in said)
        flashing = [n for n in meant.lamps if self.healthy.purposes[n] & INDICATORS]
        if braked or not own or not any(n in self.healthy.on(s) for n in flashing for s in said):
            return
        dark_there = [(self._merged(own[0], self.healthy.moves(s)), meant.lamps) for s in said]
        without = [(s, tuple(n for n in meant.lamps if n in self.healthy.on(s))) for s in said]
        ready = [[Symptom(s, tuple(LampSeen(n, told.words) for n in lamps), False, "") for s, lamps in way]
                 for way in (dark_there, without)]
        raise NotUnderstood("it is not said whether the brake was on", ready)

    def _indicator_stays(self, lamp: str, meant: Meant) -> NotUnderstood:
        steady = self._ready(meant, Verdict(LIT, "steady"))
        at_rest = [Symptom(s, tuple(LampSeen(n, LIT) for n in meant.lamps), False, "") for s in self._states_said()]
        return NotUnderstood(f"“stays on” of {lamp} leaves open whether it does not flash or does not go out",
                             [steady, at_rest])

    def with_looks(self, clauses: Sequence[Clause]) -> list[tuple[Symptom, ...]]:
        """The whole sentence, with the likeliest looks put where none was understood: what is said of one lamp is no
        word of another."""
        turning = {"indicator", "hazard"} & {f for c in clauses if _open(c) for w in completed(c.whos)
                                             for f in w.functions}
        out: list[tuple[Symptom, ...]] = []
        told = [c for c in clauses if not _of_nobody(c)]
        if told and not any(map(_open, told)):
            return self._told_alone(told)
        clauses = told or clauses
        looks = _TURNING if turning else _LOOKS if self.around.trivial else (ON, *_LOOKS)
        for look in (USUAL, *looks) if _contrasts(clauses) else looks:
            try:
                symptoms = self._anew().read([_filled(c, look) for c in clauses]).symptoms
            except NotUnderstood as open_:
                out += open_.ready
                continue
            if not any(self._healthy(seen, s.state) for s in symptoms for seen in s.seen):
                out.append(symptoms)
        return out

    def _told_alone(self, clauses: Sequence[Clause]) -> list[tuple[Symptom, ...]]:
        """What is said in words that are known, where the rest names no lamp."""
        try:
            return [self._anew().read(deepcopy(list(clauses))).symptoms]
        except NotUnderstood as open_:
            return [*open_.ready]

    def _healthy(self, seen: Seen, state: VehicleState) -> bool:
        """Whether a lamp that should be dark is, or is lit that should be: nobody complains of that in odd words."""
        lit = isinstance(seen, LampSeen) and seen.lamp in self.healthy.on(state)
        return isinstance(seen, LampSeen) and seen.flash is None and (
            (lit and seen.words == LIT) or (not lit and seen.words == frozenset({"dark"})))

    def without(self, clauses: Sequence[Clause]) -> list[tuple[Symptom, ...]]:
        """The whole sentence as if the words that are not known had not been said; none where one of them may be the
        look, or what a fuse held without."""
        return [] if any(_open(c) or c.thing[0] == "fuse" for c in clauses) else self._told_alone(clauses)

    def _of_things(self, clause: Clause) -> list[tuple[Symptom, ...]]:
        """What may be said of the fuse, load or relay of a clause."""
        kind, name = clause.thing
        try:
            if kind == "load":
                return self._load_ready(name)
            if kind == "fuse":
                seen = [FuseSeen(f, True) for f in ([name] if name else self._fuses_meant(clause))]
                return [self._fuse_ready(s) for s in seen]
            relays = [] if kind != "relay" else [name] if name else self._relays_meant(clause)
        except NotUnderstood as open_:
            return [*open_.ready]
        return [(Symptom(self._pulled(r)[0], (RelaySeen(r, "silent"),), False, ""),) for r in relays]

    def _each_one(self, clauses: Sequence[Clause]) -> list[tuple[Symptom, ...]]:
        """The whole sentence with each lamp that "one of them" may be: what is said beside it is not lost."""
        self.clauses = clauses
        out: list[tuple[Symptom, ...]] = []
        for clause in clauses:
            told = verdict(clause.says)
            try:
                options: Sequence[Meant] = [self.lexicon.lamps.meant(w) for w in completed(clause.whos)]
            except Unclear as unclear:
                options = unclear.options
            except LookupError:
                continue
            one_by_one = _one_by_one(options, self.heard, self.healthy.purposes)
            if told is not None and not told.usual and len(clause.whos) == 1 and len(one_by_one) > 1:
                out += [self.if_meant(option, clause, told) for option in one_by_one]
        return out

    def guesses(self, clauses: Sequence[Clause]) -> list[tuple[Symptom, ...]]:
        """The nearest symptoms to clauses of which something was not understood."""
        one = of_one(self.heard)
        out = self._each_one(clauses) if one and len(clauses) > 1 else []
        out += self.with_looks(clauses) if any(map(_open, clauses)) and not one else []
        for clause in clauses:
            out += self._of_things(clause)
            told = verdict(clause.says) or Verdict(frozenset({"dark"}))
            if told.usual and one and len(clauses) > 1:
                continue  # "high beam works, one low beam dead": it is not of that
            if any(w.quantity in NONE for w in clause.whos):
                told = Verdict(frozenset({"dark"}))
            for who in completed(clause.whos):
                for less in (who, replace(who, names=[]), replace(who, ends=[]), replace(who, sides=[], names=[]),
                             replace(who, ends=[], names=[], functions=who.functions[:1])):
                    try:
                        options: Sequence[Meant] = [self.lexicon.lamps.meant(less, self.before)]
                    except Unclear as unclear:
                        options = unclear.options
                    except LookupError:
                        continue
                    said = _one_by_one(options, self.heard, self.healthy.purposes)
                    out += [self._ready(option, told) for option in said]
        return [s for n, s in enumerate(out) if s and s not in out[:n]]
