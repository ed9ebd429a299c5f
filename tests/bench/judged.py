"""Whether what was understood is what was meant: symptoms held against a meaning, on one vehicle.

Fair assumptions count as right: which beam, a lamp's own state or any other that lights it, one of two lamps of an
indicator that flashes too fast, "lit" for "works", a fuse told as good, which may be missing. What else is said to be
well has to be there, at least of one lamp.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from msgspec import Struct

from tracer.observation.evidence import Symptom
from tracer.observation.words.likened.meaning import Clause, clauses_of
from tracer.observation.words.likened.on_vehicle import OnVehicle
from tracer.observation.words.likened.traits import Fact, facts_of
from tracer.observation.words.speech_lexicon import Lexicon

State = frozenset[tuple[str, str]]
_UNTOLD = ("ignition", "master switch")  # controls that nobody mentions
# Looks of a meaning → those that may be read for it.
_READ_AS = {
    "dark": {"dark"}, "dim": {"dim", "faint", "pulse"}, "faint": {"faint", "dim"}, "lit": {"lit", "steady", "pulse"},
    "normal": {"lit", "pulse"}, "bright": {"lit"}, "flicker": {"sometimes", "pulse"}, "steady": {"steady"},
    "sometimes-dark": {"sometimes", "pulse"}, "sometimes-lit": {"sometimes", "pulse"}, "fast": {"fast"},
    "slow": {"slow"}, "pulse": {"pulse", "dim", "faint", "sometimes"}, "blows": {"blows"},
}
_MOST = 0.75  # of the lamps of a clause have to be read
_MOST_OF_ALL = 0.6  # where it speaks of everything, or of several kinds


class Judged(Struct, frozen=True):
    """What was meant and not understood, and what was understood and not meant."""

    lost: tuple[str, ...]
    added: tuple[str, ...]

    @property
    def right(self) -> bool:
        return not self.lost and not self.added


class Judge:
    """Holds what was understood on one vehicle against meanings."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon, self._healthy = lexicon, lexicon.healthy
        self._here = OnVehicle(lexicon)

    def judged(self, symptoms: Sequence[Symptom], meaning: str) -> Judged:
        """What is right and wrong in it.

        Raises:
            ValueError: The meaning has another form.
        """
        told = facts_of(symptoms, self._lexicon)
        others = any(s.others_normal for s in symptoms)
        meant, lost = set[Fact](), list[str]()
        for clause in clauses_of(meaning):
            if clause.functions == ("others",):
                meant |= {f for f in told if f.good}
                hits = meant if others else set()
            else:
                hits = self._hits(clause, told)
                meant |= hits
            well = clause.look in ("normal", "bright")
            enough = others or bool(hits) if well else self._enough(clause, {f.name for f in hits})
            fuse = well and clause.functions[0].startswith("fuse")  # that it is whole may be left out
            if not (clause.implied or enough or fuse):
                lost.append(f"{' '.join(clause.functions)} {clause.look}")
        # What is well, and told so beside, is no fault that nobody has.
        added = [f"{f.name} {f.look}" for f in told - meant if not f.good]
        speaks = others and not any(c.functions == ("others",) for c in clauses_of(meaning))
        return Judged(tuple(lost), (*added, *(["others normal"] if speaks and lost else [])))

    def _hits(self, clause: Clause, told: frozenset[Fact]) -> set[Fact]:
        """What was told that the clause means."""
        looks = _READ_AS.get(clause.look, {clause.look})
        tell_tale = any(f.startswith("telltale") for f in clause.functions)
        looks = looks | ({"steady"} if tell_tale and clause.look == "dark" else set())
        out = {f for f in told for thing in clause.functions if self._is_thing(thing, f) and (
            f.look in looks or (thing.startswith("fuse") and clause.look == "normal"))}
        for lamp in self._lamps(clause):
            states = self._states(lamp, clause)
            there = {f for f in told if f.name == lamp and (
                self._state(f) in states or (clause.when == ("own",) and f.good and "lit" in looks))}
            out |= {f for f in there if f.look in looks or (f.good and clause.look in ("normal", "dark"))}
        return out

    @staticmethod
    def _is_thing(thing: str, fact: Fact) -> bool:
        if thing.startswith("fuse"):
            return fact.name.startswith("fuse ") and thing[5:] in ("", fact.name[5:])
        return thing in ("horn", "blower", "wiper", "fridge") and thing[:4] in fact.name

    def _enough(self, clause: Clause, hit: set[str]) -> bool:
        lamps = self._lamps(clause)
        main = [n for n in lamps if "high" not in n] if clause.functions == ("stop",) else lamps
        main = [n for n in main if "repeater" not in n] or main
        one = clause.side == "one" or {"light", "headlamp"} & {*clause.functions}
        if not lamps or one or clause.look in ("fast", "slow", "steady", "pulse", "lit"):
            return bool(hit)
        most = _MOST_OF_ALL if clause.everything or len(clause.functions) > 1 else _MOST
        return len(hit & {*lamps}) >= most * len(main)

    def _lamps(self, clause: Clause) -> list[str]:
        lamps = self._here.meant(clause)
        if "headlamp" in clause.functions:
            lamps = [*dict.fromkeys([*lamps, *self._here.placed(clause, "main")])]
        if clause.functions == ("stop",) and clause.side not in ("left", "right"):
            lamps = [*dict.fromkeys([*lamps, *self._here.placed(clause, "highstop")])]
        return lamps

    def _states(self, lamp: str, clause: Clause) -> set[State]:
        """Every way the controls may stand in which the clause is told of a lamp."""
        ways: list[dict[str, str]] = [{}]
        for word in ("own" if clause.everything and w == "lights" else w for w in clause.when):
            more = [*self._own(lamp)] if word == "own" else [
                {**m} for w in (_EITHER.get(word, (word,))) for m in self._here.controls.get(w, ())]
            if word not in ("off", "ignition"):
                ways = [{**w, **m} for w in ways for m in more or [{"?": word}]]
        return {frozenset((c, p) for c, p in way.items() if c not in _UNTOLD) for way in ways}

    def _own(self, lamp: str) -> Iterator[dict[str, str]]:
        """Every way of few moves in which a lamp is switched on."""
        for state in self._healthy.own(lamp):
            moves = self._healthy.moves(state)
            yield moves
            if moves in [*self._here.controls.get("side", ())]:
                yield from ({**m} for w in ("dip", "main") for m in self._here.controls.get(w, ()))
            if moves in [*self._here.controls.get("brake", ())]:
                yield from ({**m} for m in self._here.controls["brake"])

    def _state(self, fact: Fact) -> State:
        return frozenset((c, p) for c, p in self._healthy.moves(fact.state).items() if c not in _UNTOLD)


_EITHER = {"ind": ("ind-left", "ind-right"), "lights": ("side", "dip", "main")}


@cache
def judge_of(lexicon: Lexicon) -> Judge:
    return Judge(lexicon)
