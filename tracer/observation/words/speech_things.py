"""Fuses, loads and relays in a spoken sentence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.harness.lamp_purposes import INDICATORS
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, LensSeen, LoadSeen, RelaySeen, Seen, Sound, Symptom
from tracer.observation.words.lamps_called import FUNCTIONS, NONE, NOUNS
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain
from tracer.observation.words.speech_clauses import Clause, completed
from tracer.observation.words.speech_lamps import Meant
from tracer.observation.words.speech_looks import DARK, DIM, ON, STAYS, WORKS, Say, Verdict, denied, verdict
from tracer.observation.words.speech_states import NotHere, NotUnderstood, StateReader
from tracer.observation.words.speech_who import Who
from tracer.observation.words.words import singular, tokens

WEAK: Final = frozenset({"dim", "faint"})
_QUIET: Final = Pattern(r"\b(?<!stays )(?<!keeps )quiet(?:er|ly)?\b", 2)  # of a relay no click, of a horn little
_KEEPS: Final = Pattern(r"\b(?:again|keeps?|every|each|always|another|second|third)\b", 2)
_SOUNDERS: Final = frozenset({"horn", "horns", "buzzer", "bell", "siren"})
_ONLY: Final = Pattern(r"\bonly\b", 2)
BY_ITSELF: Final = Pattern(r"\b(?:on (?:its|their) own|by (?:itself|themselves))\b")


def _beside_its_lamp(reader: StateReader, clause: Clause, name: str) -> bool:
    """Whether a lamp that burns with a load is said to do as it should or to fail: "the bleeper sounds but no
    reverse light" is told where both should work."""
    others = [w for c in reader.clauses if c is not clause and not c.thing[0] and not any(
        k.on and not k.usual for k in c.says) for w in completed(c.whos)]
    of_it = [FUNCTIONS[w] for w in name.split() if w in FUNCTIONS]  # "only the reversing buzzer sounds, light is off"
    for who in others if reader.around.trivial else ():
        bare = who.noun and not (who.names or who.exact or who.sides or who.ends)
        for function in who.functions or (of_it if bare else ()):
            lamps = reader.lexicon.lamps.called(function)
            if any({*reader.healthy.own(n)} & {*reader.healthy.own(name)} for n in lamps):
                return True
    return False


class ThingReader(StateReader):
    """Reads what is no lamp."""

    def _meant(self, clause: Clause, told: Verdict | None = None) -> Meant:
        raise NotImplementedError  # pragma: no cover - of the reader of lamps

    def _part(self, who: Who) -> Meant:
        """What a part means; a lamp in the middle has not its neighbour's side: "left tail and number plate"."""
        try:
            return self.lexicon.lamps.meant(who, self._before(who))
        except LookupError:
            if not (who.functions or who.names) or {"left", "right"} & {*who.said}:
                raise
            if who.ends and who.joined and not {"front", "rear", "back"} & {*who.said}:
                return self._part(replace(who, ends=[]))  # "left front side and tail"
            return self.lexicon.lamps.meant(replace(who, sides=[]), self.before)

    def _fuse(self, clause: Clause, name: str) -> None:
        none = bool(clause.whos) and all(w.quantity in NONE and w.empty for w in clause.whos)
        says = denied(clause.says) if none and clause.says else clause.says
        blown = {s.blown for s in says if s.blown is not None}
        blown |= {False for s in says if s.usual} | {True for s in says if s.words == frozenset({"dark"})}
        found_dead = not any(s.blown for s in says) and not _KEEPS.search(self.text)  # "is toast": once
        if len(blown) != 1:
            raise NotUnderstood("it is not said whether the fuse blows or holds")
        fuses = [name] if name else self._fuses_meant(clause)
        when = "sometimes" if any(s.sometimes or s.moved for s in says) else self.around.when
        once = any(s.once for s in says) and all(s.once for s in says if s.blown)  # not "blew, and blew again"
        once |= found_dead and True in blown and self.around.trivial and not when
        seen = FuseSeen(fuses[0], blown.pop(), when, once, self.around.trivial)
        if not seen.blown:
            seen = replace(seen, when="")
        if len(fuses) > 1 and not seen.blown and self._complained():
            for fuse in fuses:
                self._put(self._fuse_states(fuse)[0], replace(seen, fuse=fuse))
            return
        if len(fuses) > 1:
            ready = [self._fuse_ready(replace(seen, fuse=f)) for f in fuses]
            raise NotUnderstood("“fuse” leaves open which", [s for s in ready if s] or ready)
        states = self._fuse_states(fuses[0])
        if seen.once and self.around.trivial:  # found blown, whenever that was
            states = self._states_said()[:1]
        if len(states) > 1:
            states = self._states_said()[:1]
            self.assumed.append(f"not said when {fuses[0]} blows, which feeds several things")
        self._put(states[0], seen)

    def _fuse_ready(self, seen: FuseSeen) -> tuple[Symptom, ...]:
        return tuple(Symptom(s, (seen,), False, "") for s in self._fuse_states(seen.fuse)[:1])

    def _fuses_meant(self, clause: Clause) -> list[str]:
        known = self.heard.fuses or list(self.lexicon.fuses)
        if called := self._called_by(clause):
            found = called
        elif clause.of:
            found = [f for s in self.healthy.own(clause.of)[:1] for f in self.healthy.fuses_of(clause.of, s)]
        elif clause.whos:
            whos = [replace(w, plural=True) for w in clause.whos]  # "the brake light fuse" is that of both
            try:
                lamps = self._meant(Clause(whos)).lamps
            except NotUnderstood as open_:  # the vehicle's or the trailer's may hang on one fuse
                lamps = tuple(sorted({n for told in open_.ready for s in told for n in s.lamps_named()}))
            found = [f for n in lamps for s in self.healthy.own(n)[:1] for f in self.healthy.fuses_of(n, s)]
        elif wrong := self._complained():  # "brake lights dead, fuse OK": theirs
            found = [f for n in wrong for s in self.healthy.own(n)[:1] for f in self.healthy.fuses_of(n, s)]
        elif not self.around.trivial:
            state, base = self._states_said()[0], self.healthy.base
            lit = self.healthy.on(state) - self.healthy.on(base)
            found = [f for n in sorted(lit) for f in self.healthy.fuses_of(n, state)]
        else:
            found = known
        found = [f for f in dict.fromkeys(found) if not self.heard.fuses or f in self.heard.fuses] or known
        if not found:
            raise NotUnderstood("this vehicle has no fuse")
        return found

    def _called_by(self, clause: Clause) -> list[str]:
        """The one fuse whose name has all words that were said: "hazard fuse" of the "hazard and horn fuse"."""
        said = {singular(w) for who in clause.whos for w in who.said} - NOUNS
        said |= {*clause.of.lower().split()}
        named = [f for f, also in self.lexicon.fuses.items() if any(said <= {*tokens(n)} for n in also)]
        return named if said and len(named) == 1 else []

    def _complained(self) -> list[str]:
        """Lamps of which something was said that is not as it should be; if of none, those spoken of last."""
        seen = [k for there in self.found.values() for k in there.values()]
        wrong = [k.lamp for k in seen if isinstance(k, LampSeen) and not k.words & {"normal"}]
        wrong += [k.load for k in seen if isinstance(k, LoadSeen) and not k.works]
        return list(dict.fromkeys(wrong)) or list(self.before)

    def _fuse_states(self, fuse: str) -> list[VehicleState]:
        if not self.around.trivial:
            return self._states_said()[:1]
        fed = [self._merged(s, {}) for s in self.healthy.fed(fuse)]
        for state in fed[:1] if len(fed) == 1 else ():
            self._take(state)
        return fed or self._states_said()[:1]

    def _load(self, clause: Clause, name: str) -> None:
        none = any(w.quantity in NONE for w in clause.whos) and not clause.says
        silent = DIM if _QUIET.search(self.text) else DARK
        says = [ON if k.blown else silent if k.sound == "silent" else ON if k.sound else k for k in clause.says]
        if not self.around.trivial:  # "the bleeper doesn't go off when he backs up"
            says = [DARK if k == STAYS and "not go off" in plain(self.text) else k for k in says]
        if BY_ITSELF.search(self.text.lower()):  # whatever moves it, it runs where it should not
            says = [STAYS if k == ON else k for k in says]
        if any(k.sound == "clicks" for k in clause.says) and len([k for k in clause.says if not k.beside]) == 1:
            raise self._only_clicks(name)
        if any(k.moved for k in says) and not _ONLY.search(self.text) and plain(name).split()[-1] in _SOUNDERS:
            says = [STAYS if k == ON else k for k in says]  # "horn beeps when I turn the wheel"
        if any(k.usual for k in says):  # "runs fine"
            says = [k for k in says if k != ON]
        if self.around.always:  # "is permanently blaring"
            says = [STAYS if k == ON else k for k in says]
        says = says or [STAYS] * self.around.always  # a horn that blows, a buzzer that buzzes, or goes all the time
        told = verdict(denied([]) if none else says)
        dark = told is not None and told.words == frozenset({"dark"})
        weak = told is not None and ((told.words <= WEAK and not told.flash) or told.flash == "slow")
        if told is None or (told.flash and not weak) or not (dark or told.usual or told.on or weak):
            raise NotUnderstood(f"{name} is no lamp: it works, is weak or does not work", self._load_ready(name))
        if told.on and _beside_its_lamp(self, clause, name):
            told = verdict([WORKS if k == ON else k for k in says]) or told
        states = self._states_said() if not self.around.trivial else [
            self._merged(own, moves) for own in self.healthy.own(name) for moves in self.around.moves]
        if told.on and not told.usual and self.around.trivial:
            states = self._states_said()
        if not states:
            raise NotUnderstood(f"{name}: this vehicle never runs that")
        for state in states:
            runs = name in self.healthy.on(state)
            if not self.around.trivial and not runs and not told.on and self.healthy.own(name):
                # It was switched on: "the blower stops when I put the headlights on".
                own = self.healthy.own(name)[0]
                self._take(own)
                state = self._merged(own, self.healthy.moves(state))
                if told.went:
                    self._put(own, LoadSeen(name, True))
            self._take(state)
            self._put(state, LoadSeen(name, not dark, told.sometimes and not (weak and told.flicker), weak))

    def _only_clicks(self, name: str) -> NotUnderstood:
        """"Horn just clicks": its relay does, or it does itself."""
        states = self.healthy.own(name)[:1]
        relays = self._relays_meant(Clause(thing=("relay", ""), of=name)) if states else []
        heard = [RelaySeen(r, "clicks") for r in relays if r in self.healthy.pulled_in(states[0])]
        no, weak = LoadSeen(name, False), LoadSeen(name, True, weak=True)
        ways: list[tuple[Seen, ...]] = [(no, *heard), (weak,), (no,)]
        ready = [tuple(Symptom(s, seen, False, "") for s in states) for seen in ways]
        return NotUnderstood(f"“clicks” of {name} leaves open whether it does its work, and what clicks", ready)

    def _load_ready(self, name: str) -> list[tuple[Symptom, ...]]:
        ways = (LoadSeen(name, False), LoadSeen(name, True, weak=True), LoadSeen(name, True))
        return [tuple(Symptom(s, (seen,), False, "") for s in self.healthy.own(name)[:1]) for seen in ways]

    def _rates(self, rate: Say) -> list[tuple[Symptom, ...]]:
        """That the indicators of either side, or of both, flash so."""
        each = []
        for side in ("left", "right"):
            state = self.healthy.of_purpose((f"indicator {side}",))
            lit = [n for n in self.lexicon.lamps.called("indicator") if state and n in self.healthy.on(state)]
            looks = tuple(LampSeen(n, LIT, rate.flash) for n in lit)
            if state is not None and looks:
                each.append(Symptom(state, (LensSeen(looks) if len(looks) > 1 else looks[0],), False, ""))
        return [(s,) for s in each] + [tuple(each)] * (len(each) > 1)

    def _ticking(self, clause: Clause) -> str:
        """The flasher unit, if it is said that the indicators click; "" if nothing is said to."""
        units = [r for r in self.lexicon.relays if self.healthy.harness.parts[r].flashes]
        functions = {f for w in clause.whos for f in w.functions}
        if functions and functions <= {"indicator", "hazard"} and units:
            return units[0]
        if not clause.whos and units and self.before and all(
                self.healthy.purposes[n] & INDICATORS for n in self.before):
            return units[0]  # "indicators work, but no click"
        if not clause.whos and self.heard.unknown:
            raise NotUnderstood(f"“{' '.join(self.heard.unknown)}” is nothing that clicks here")
        if clause.whos:
            raise NotUnderstood(f"“{' '.join(w.words for w in clause.whos)}” is nothing that clicks")
        return ""

    def _relay(self, clause: Clause, name: str) -> None:
        rate = next((s for s in clause.says if s.flash in ("fast", "slow")), None)
        if rate is not None and clause.bare and not name and self._turning(rate):  # "ticking fast when I go left"
            return
        if rate is not None and name and self.healthy.harness.parts[name].flashes:  # "the flasher ticks like mad"
            raise NotUnderstood("it is not said to which side", self._rates(rate))
        sounds = {s.sound for s in clause.says if s.sound}
        sounds = {"silent"} if "silent" in sounds else sounds  # "the clicking is silent"
        known = [name] if name else self._relays_meant(clause)
        if len(sounds) != 1 or len(known) != 1:
            each: tuple[Sound, ...] = ("silent", "clicks", "buzzes")
            ways = [w for w in each if w in sounds] or each
            ready = [(Symptom(self._pulled(r)[0], (RelaySeen(r, does),), False, ""),)
                     for r in known for does in (ways if len(known) == 1 else ways[:1])]
            if not known:
                beside = [s for c in self.clauses if c.thing[0] == "load" for s in self._load_ready(c.thing[1])]
                raise NotHere("this vehicle has no such relay", beside)
            raise NotUnderstood("it is not said what the relay does, or which", ready)
        sound = sounds.pop()
        heard: Sound = "clicks" if sound == "clicks" else "buzzes" if sound == "buzzes" else "silent"
        states = self._pulled(known[0])
        if self.around.trivial:
            self._take(states[0])
        self.ticking = known[0] if self.healthy.harness.parts[known[0]].flashes else ""
        self._put(states[0], RelaySeen(known[0], heard))

    def _turning(self, rate: Say) -> bool:
        """Puts how fast it ticks to the indicators that are lit in the states that were said, if any are."""
        for state in self._states_said():
            lit = [n for n in self.lexicon.lamps.called("indicator") if n in self.healthy.on(state)]
            looks = tuple(LampSeen(n, LIT, rate.flash) for n in lit)
            if not looks:
                return False
            self._take(state)
            self._put(state, LensSeen(looks) if len(looks) > 1 else looks[0])
        return True

    def _pulled(self, relay: str) -> list[VehicleState]:
        """The states that were said; without any that in which a relay pulls in, or the flasher unit ticks."""
        if not self.around.trivial or self.around.always:
            return self._states_said()
        flashes = self.healthy.harness.parts[relay].flashes
        own = self.healthy.of_purpose(("indicator left",)) if flashes else self.healthy.pulls_in(relay)
        return [self._merged(own, m) for m in self.around.moves] if own is not None else self._states_said()

    def _relays_meant(self, clause: Clause) -> list[str]:
        """The relays that pull in for what was named; those of the whole vehicle where nothing was."""
        known = list(self.lexicon.relays)
        said = {singular(w) for who in clause.whos for w in who.said} - NOUNS | {*clause.of.lower().split()}
        called = [r for r, also in self.lexicon.relays.items() if any(said <= {*tokens(n)} for n in (r, *also))]
        if said and len(called) == 1:  # "fog relay" of the "rear fog relay"
            return called
        names: Sequence[str] = [clause.of] if clause.of else ()
        if clause.whos:
            whos = [replace(w, plural=True) for w in clause.whos]
            names = self._meant(Clause(whos)).lamps
        elif not clause.of:
            names = self.before  # "the fogs won't come on, no click from the relay"
            named = [r for r in known if any({FUNCTIONS.get(w) for w in plain(r).split()} & self.healthy.purposes[n]
                                             for n in names)]
            if len(named) == 1:
                return named
        states = [s for n in names for s in self.healthy.own(n)[:1]]
        at_rest = self.healthy.pulled_in(self.healthy.base)
        found = [r for r in known if any(r in self.healthy.pulled_in(s) - at_rest for s in states)]
        turning = any(self.healthy.purposes.get(n, frozenset()) & INDICATORS for n in names)
        units = [r for r in known if turning and self.healthy.harness.parts[r].flashes]
        if clause.whos or clause.of or found or units:
            return found or units  # "headlamp relay" of a vehicle that has none is no other
        return (not names and [r for r in known if not self.healthy.harness.parts[r].flashes]) or known
