"""A tradesman's sentence understood: which lamps, how they looked, in which states of the vehicle.

The states that were not said are those in which the statement means something: what is dark, dim or flashes wrongly is
looked at where the healthy vehicle lights it, what is lit without a word of when, where it should be dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from tracer.harness.lamp_purposes import INDICATORS, LIGHTING
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, LensSeen, LoadSeen, RelaySeen, Seen, Sound, Symptom
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.speech_lamps import Meant, Unclear, Who
from tracer.observation.words.speech_looks import DARK, ON, Say, Verdict, denied, verdict
from tracer.observation.words.speech_parts import Chunk, Heard, Lexicon, hear

_SEPARATORS: Final = frozenset({"|", ",", "and", "but", "or", "then", "yet", "while"})
_NONE: Final = frozenset({"nothing", "no", "none", "neither"})
_FLICKER_WHERE_DARK: Final = frozenset({"faint", "dim", "normal"})


class NotUnderstood(Exception):  # noqa: N818 - caught and answered with choices
    """Why a sentence is not understood. `ready`: symptoms that may have been meant, likeliest first."""

    def __init__(self, why: str, ready: Sequence[Sequence[Symptom]] = (), strange: bool = False) -> None:
        super().__init__(why)
        self.strange = strange  # a word or a circumstance is not known here
        self.why, self.ready = why, tuple(tuple(s) for s in ready)


@dataclass
class Spoken:
    """What a sentence was understood to say.

    Attributes:
        assumed: What was taken that was not said.
        unused: Words of it that tell nothing here.
    """

    symptoms: tuple[Symptom, ...]
    assumed: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()


@dataclass
class _Clause:
    """Whoever it is about, and what is said of them."""

    whos: list[Who] = field(default_factory=list)
    says: list[Say] = field(default_factory=list)
    thing: tuple[str, str] = ("", "")  # kind and name of a fuse, load or relay
    either: bool = False

    @property
    def bare(self) -> bool:
        return not self.whos and not self.thing[0]


def read_speech(text: str, lexicon: Lexicon) -> Spoken:
    """Understand a sentence as it is spoken.

    Raises:
        NotUnderstood: It is not, or could mean several things.
    """
    heard = hear(text, lexicon)
    clauses = _clauses(heard.chunks)
    if not clauses:
        raise NotUnderstood("it is not said what was seen")
    reader = _Reader(lexicon, heard, text)
    if heard.inside:
        raise NotUnderstood(f"“{' '.join(heard.inside)}” is not known here", reader.guesses(clauses), True)
    if heard.around.failed:
        raise NotUnderstood(f"“{heard.around.failed[0]}” is no position of a control of this vehicle",
                            reader.guesses(clauses), True)
    return reader.read(clauses)


def _clauses(chunks: Sequence[Chunk]) -> list[_Clause]:
    """The chunks put together: who, and what is said of them, in either order."""
    solid = [c for c in chunks if c.kind not in _SEPARATORS]
    telling = [c for c in solid if not (c.say and c.say.beside)]
    look_first = len(telling) > 1 and telling[0].say is not None and telling[-1].say is None and not (
        telling[-1].who and telling[-1].who.place_only and any(c.who and not c.who.place_only for c in telling[:-1]))
    out: list[_Clause] = [_Clause()]
    parted = ""
    for chunk in chunks:
        now = out[-1]
        if chunk.kind in _SEPARATORS:
            parted = chunk.kind
            continue
        if chunk.say is not None:
            if look_first and not now.bare and any(not s.beside for s in now.says) and not chunk.say.beside:
                out.append(now := _Clause())
            now.says.append(chunk.say)
        elif chunk.who is not None:
            _join(chunk, parted, out, look_first)
        else:
            told = any(not s.beside for s in now.says)
            if now.thing[0] == "fuse" and chunk.kind == "fuse" and not told:
                now.thing = ("fuse", now.thing[1] or chunk.thing)  # "fuse F3"
            elif chunk.kind == "fuse" and not chunk.thing and now.whos and not told:
                now.thing = ("fuse", "")  # "side light fuse"
            else:
                if not (now.bare and (look_first or not told)):
                    out.append(now := _Clause())
                now.thing = (chunk.kind, chunk.thing)
        parted = ""
    return [c for c in out if not c.bare or c.says]


def _join(chunk: Chunk, parted: str, out: list[_Clause], look_first: bool) -> None:
    """Who is spoken of, put into the clause that it belongs to."""
    who, now = chunk.who, out[-1]
    assert who is not None
    told = any(not s.beside for s in now.says)
    if now.bare and (look_first or not told):
        now.whos.append(who)
    elif who.place_only and not who.other and now.whos and (told or parted in ("", ",")):
        for one in now.whos:
            one.sides += [] if one.sides else who.sides
            one.ends += [] if one.ends else who.ends
            one.said += who.said
            one.plural |= len(set(who.sides)) > 1
    elif now.thing[0] == "fuse" and not now.whos and not told:
        now.whos.append(who)
    elif told:
        if now.whos and not now.whos[-1].functions and not now.whos[-1].names and not now.whos[-1].exact and (
                not now.whos[-1].sides and not now.whos[-1].whole and now.whos[-1].noun and parted == ""):
            now.whos[-1] = who  # "light out left tail"
        else:
            out.append(_Clause([who]))
    else:
        now.either |= parted == "or"
        now.whos.append(who)


class _Reader:
    """Reads the clauses of one sentence."""

    def __init__(self, lexicon: Lexicon, heard: Heard, text: str) -> None:
        self.lexicon, self.heard, self.text = lexicon, heard, text
        self.healthy: HealthyStates = lexicon.healthy
        self.around = heard.around
        self.assumed: list[str] = [*heard.kerb, *heard.around.assumed]
        self.assumed += [f"“{typed}” is {taken}" for typed, taken in heard.slips]
        self.found: dict[VehicleState, dict[str, Seen]] = {}
        self.others_normal = False
        self.before: tuple[str, ...] = ()
        self.taken: dict[str, None] = {}

    def read(self, clauses: Sequence[_Clause]) -> Spoken:
        """The symptoms that the clauses tell."""
        clauses = self._scene(clauses)
        for clause in clauses:
            self._clause(clause)
        if not self.found and not self.others_normal:
            raise NotUnderstood("it is not said what was seen")
        if self.others_normal and not self.found:
            self.found = {self._states_said()[0]: {}}
        symptoms = tuple(
            Symptom(state, tuple(seen.values()), self.others_normal, self.text, only=self._only(state))
            for state, seen in self.found.items()
        )
        several = len(symptoms) > 2 and len(self.taken) > 2
        taken = ["each with what switches it on"] if several else [", ".join(self.taken)] if self.taken else []
        used_up = self.around.unused + [w for w in self.heard.unknown if w not in self.heard.inside]
        return Spoken(symptoms, tuple(dict.fromkeys([*taken, *self.assumed])), tuple(dict.fromkeys(used_up)))

    def _only(self, state: VehicleState) -> tuple[str, ...]:
        return tuple(c for c in self.healthy.moves(state) if c in self.around.only)

    def _scene(self, clauses: Sequence[_Clause]) -> list[_Clause]:
        """"Reversing right on, left tail flickers": the first says which lamps were switched on."""
        first = clauses[0]
        bare_on = len(first.says) == 1 and first.says[0].on and not first.says[0].stays and first.whos
        if len(clauses) < 2 or not bare_on or not self.around.trivial or "on" not in self.text.lower().split(",")[0].split():
            return list(clauses)
        meant = self._meant(first)
        states = self.healthy.own_for(meant.lamps[0], meant.purpose)
        if len(states) == 1:
            moves = self.healthy.moves(states[0])
            self.around.moves = [m | moves for m in self.around.moves]
            self._take(states[0])
        return list(clauses)

    # --- one clause

    def _clause(self, clause: _Clause) -> None:
        kind, name = clause.thing
        if kind == "fuse":
            self._fuse(clause, name)
        elif kind == "load":
            self._load(clause, name)
        elif kind == "relay":
            self._relay(clause, name)
        elif any(s.sound for s in clause.says) and not clause.whos:
            self._relay(clause, "")
        elif any(s.blown is not None for s in clause.says) and clause.whos:
            self._clause(replace(clause, says=[DARK if s.blown else s for s in clause.says]))  # "left tail blown"
        else:
            self._lamps(clause)

    def _lamps(self, clause: _Clause) -> None:
        if clause.bare:
            raise NotUnderstood("it is not said which lamp")
        says = list(clause.says)
        if any(w.quantity in _NONE for w in clause.whos):
            telling = [s for s in says if not s.beside]
            says = [s for s in says if s.beside] + denied(telling)
        if not says and not self.around.trivial and any("lights" in w.said for w in clause.whos):
            says = [ON]  # the verb: "left tail lights when I brake"
            for who in clause.whos:
                who.plural = len(set(who.sides)) > 1
        told = verdict(says) if says else None
        if told is None:
            words = " ".join(w.words for w in clause.whos)
            raise NotUnderstood(f"“{words}” does not say how it looks", self.guesses([clause]))
        if any("else" in w.said or "rest" in w.said for w in clause.whos) and told.usual:
            self.others_normal = True
            return
        meant = self._meant(clause, told)
        self.assumed += meant.assumed
        self.before = meant.lamps
        head = any("head" in w.functions for w in clause.whos)
        hazard = any("hazard" in w.functions for w in clause.whos)
        self._say(meant, told, head, hazard)

    def _meant(self, clause: _Clause, told: Verdict | None = None) -> Meant:
        """The lamps of a clause; what one part leaves out is taken from its neighbour."""
        whos = _completed(clause.whos)
        try:
            parts = [self.lexicon.lamps.meant(w, self.before) for w in whos]
        except Unclear as unclear:
            states = told or Verdict(frozenset({"dark"}))
            ready = [self._ready(option, states) for option in unclear.options]
            said = " and ".join(w.words for w in whos)
            raise NotUnderstood(f"“{said}” leaves open {unclear.why}", ready) from None
        except LookupError as error:
            raise NotUnderstood(f"this vehicle has no “{error.args[0]}”", self.guesses([clause])) from None
        lamps = tuple(dict.fromkeys(n for p in parts for n in p.lamps))
        purposes = {p.purpose for p in parts}
        either = clause.either or any(p.any_of for p in parts)
        return Meant(lamps, either and len(lamps) > 1, purposes.pop() if len(purposes) == 1 else None,
                     tuple(a for p in parts for a in p.assumed), any(p.whole for p in parts), any(p.lens for p in parts))

    def _ready(self, meant: Meant, told: Verdict) -> tuple[Symptom, ...]:
        """The symptoms if these lamps were meant."""
        fresh = _Reader(self.lexicon, self.heard, self.text)
        fresh.around = self.around
        try:
            fresh._say(meant, told, False, False)
        except NotUnderstood:
            return ()
        return tuple(Symptom(s, tuple(seen.values()), False, "") for s, seen in fresh.found.items())

    # --- in which states

    def _say(self, meant: Meant, told: Verdict, head: bool, hazard: bool) -> None:
        """What was said of the lamps, put into the states in which it means something."""
        each: dict[VehicleState, list[str]] = {}
        if meant.lens and meant.any_of and self.around.trivial and not told.on:
            options = [Meant((n,)) for n in sorted(meant.lamps, key=self._seldom)]
            raise NotUnderstood("it is not said which lamp of the cluster",
                                [self._ready(o, told) for o in options])
        for lamp in meant.lamps:
            for state in self._states(lamp, meant, told, head, hazard):
                each.setdefault(state, []).append(lamp)
        if not each:
            raise NotUnderstood(f"{' and '.join(meant.lamps[:3])}: this vehicle never lights that")
        for state, lamps in each.items():
            if head and told.on and not meant.any_of:  # which filament, nobody can see
                for glass in dict.fromkeys(self.lexicon.lamps.names.bulbs[n] for n in lamps):
                    both = tuple(self._seen(n, state, told) for n in lamps if self.lexicon.lamps.names.bulbs[n] == glass)
                    self._put(state, LensSeen(both) if len(both) > 1 else both[0])
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
            if meant.any_of and len(lamps) > 1:
                looks = tuple(self._seen(n, state, told) for n in lamps)
                first = looks[0]
                self._put(state, LensSeen(tuple(replace(first, lamp=k.lamp) for k in looks)))
            else:
                for lamp in lamps:
                    self._put(state, self._seen(lamp, state, told))

    def _seldom(self, lamp: str) -> int:
        """How seldom a lamp is meant by "the rear light"."""
        order = ("side", "stop", "dipped", "main", "indicator left", "indicator right", "reversing")
        return min((order.index(p) for p in self.healthy.purposes[lamp] if p in order), default=len(order))

    def _one_glass(self, lamps: Iterable[str]) -> bool:
        return len({self.lexicon.lamps.names.parts[n] for n in lamps}) == 1

    def _states_said(self) -> list[VehicleState]:
        return [self.healthy.state(m, bool(self.around.running)) for m in self.around.moves]

    def _states(self, lamp: str, meant: Meant, told: Verdict, head: bool, hazard: bool) -> list[VehicleState]:
        """The states in which something said of a lamp means something."""
        said = self._states_said()
        purposes = self.healthy.purposes.get(lamp, frozenset())
        flashes = told.flash is not None
        indicator = bool(purposes & INDICATORS)
        if not self.around.trivial:
            lit_there = any(lamp in self.healthy.on(s) for s in said)
            needs_light = told.went or flashes or (told.sometimes and told.words == frozenset({"dark"}))
            if head and not lit_there and any(other in self.healthy.on(s) for other in self._glass(lamp) for s in said):
                return []  # the other filament of the headlamp is meant
            own = self._own_quietly(lamp, meant)
            if told.went and (meant.whole or meant.lens) and lit_there and any(
                    self.healthy.moves(o).items() <= m.items() for o in own for m in self.around.moves):
                return []  # it cannot go out with what puts it on
            if told.went and meant.whole and not purposes & LIGHTING:
                return []
            if not lit_there and needs_light:
                return [self._merged(own, moves) for own in self._own(lamp, meant, hazard) for moves in self.around.moves]
            return said
        if (told.on or told.stays) and not flashes and not told.sometimes:
            if told.stays and indicator:
                raise self._indicator_stays(lamp, meant)
            if lamp in self.healthy.on(said[0]):
                return list(self._own(lamp, meant, hazard))
            self._take(said[0])
            return said
        if head and "main" in purposes and not told.usual:
            return []  # without a word of main beam it is the dipped one
        if head:
            self.assumed += ["dipped beam"] * (not told.usual)
        return [self._merged(own, moves) for own in self._own(lamp, meant, hazard) for moves in self.around.moves]

    def _glass(self, lamp: str) -> list[str]:
        names = self.lexicon.lamps.names
        return [n for n, bulb in names.bulbs.items() if bulb == names.bulbs[lamp] and n != lamp]

    def _own_quietly(self, lamp: str, meant: Meant) -> Sequence[VehicleState]:
        return self.healthy.own_for(lamp, meant.purpose)

    def _own(self, lamp: str, meant: Meant, hazard: bool) -> Sequence[VehicleState]:
        if hazard:
            for control in self.healthy.harness.controls.values():
                if "hazard" in control.name:
                    state = self.healthy.state({control.name: control.positions[-1]})
                    self._take(state)
                    return (state,)
        states = self.healthy.own_for(lamp, meant.purpose)
        for state in states:
            self._take(state)
        return states

    def _merged(self, own: VehicleState, moves: dict[str, str]) -> VehicleState:
        return self.healthy.state(self.healthy.moves(own) | moves, bool(self.around.running))

    def _take(self, state: VehicleState) -> None:
        """Notes the positions that nobody said."""
        for control, position in self.healthy.moves(state).items():
            if control not in self.around.told:
                self.taken[f"{control} {position}"] = None
        ignition = self.healthy.harness.controls.get("ignition")
        if ignition is not None and "ignition" not in self.around.told and "ignition" not in self.healthy.moves(state):
            self.taken[f"ignition {ignition.assumed}"] = None

    def _indicator_stays(self, lamp: str, meant: Meant) -> NotUnderstood:
        steady = self._ready(meant, Verdict(LIT, "steady"))
        at_rest = [Symptom(s, tuple(LampSeen(n, LIT) for n in meant.lamps), False, "") for s in self._states_said()]
        return NotUnderstood(f"“stays on” of {lamp} leaves open whether it does not flash or does not go out",
                             [steady, at_rest])

    def _seen(self, lamp: str, state: VehicleState, told: Verdict) -> LampSeen:
        words, lit = told.words, lamp in self.healthy.on(state)
        if told.usual and not lit:
            words = frozenset({"dark"})
        if told.flicker and not lit:
            words = _FLICKER_WHERE_DARK
        return LampSeen(lamp, words, told.flash, told.sometimes, False, told.moved)

    def _put(self, state: VehicleState, seen: Seen) -> None:
        key = seen.lamp if isinstance(seen, LampSeen) else seen.says()
        there = self.found.setdefault(state, {})
        if key in there and there[key] != seen:
            raise NotUnderstood(f"{there[key].says()} and {seen.says()} cannot both be")
        there[key] = seen

    # --- what is no lamp

    def _fuse(self, clause: _Clause, name: str) -> None:
        says = clause.says
        blown = {s.blown for s in says if s.blown is not None}
        blown |= {False for s in says if s.usual} | {True for s in says if s.words == frozenset({"dark"})}
        if len(blown) != 1:
            raise NotUnderstood("it is not said whether the fuse blows or holds")
        fuses = [name] if name else self._fuses_meant(clause)
        when = "sometimes" if any(s.sometimes for s in says) else self.around.when
        seen = FuseSeen(fuses[0], blown.pop(), when, any(s.once for s in says))
        if not seen.blown:
            seen = replace(seen, when="")
        if len(fuses) > 1:
            ready = [self._fuse_ready(replace(seen, fuse=f)) for f in fuses]
            raise NotUnderstood("“fuse” leaves open which", [s for s in ready if s] or ready)
        states = self._fuse_states(fuses[0])
        if seen.once and self.around.trivial:  # found blown, whenever that was
            states = self._states_said()[:1]
        if len(states) > 1:
            ready = [(Symptom(s, (seen,), False, ""),) for s in states]
            raise NotUnderstood(f"{fuses[0]} feeds several things; it is not said when it blows", ready)
        self._put(states[0], seen)

    def _fuse_ready(self, seen: FuseSeen) -> tuple[Symptom, ...]:
        return tuple(Symptom(s, (seen,), False, "") for s in self._fuse_states(seen.fuse)[:1])

    def _fuses_meant(self, clause: _Clause) -> list[str]:
        known = list(self.lexicon.fuses)
        if clause.whos:
            lamps = self._meant(clause).lamps
            found = [f for n in lamps for s in self.healthy.own(n)[:1] for f in self.healthy.fuses_of(n, s)]
        elif not self.around.trivial:
            state, base = self._states_said()[0], self.healthy.base
            lit = self.healthy.on(state) - self.healthy.on(base)
            found = [f for n in sorted(lit) for f in self.healthy.fuses_of(n, state)]
        else:
            found = known
        found = list(dict.fromkeys(found)) or known
        if not found:
            raise NotUnderstood("this vehicle has no fuse")
        return found

    def _fuse_states(self, fuse: str) -> list[VehicleState]:
        if not self.around.trivial:
            return self._states_said()[:1]
        fed = list(self.healthy.fed(fuse))
        for state in fed[:1] if len(fed) == 1 else ():
            self._take(state)
        return fed or self._states_said()[:1]

    def _load(self, clause: _Clause, name: str) -> None:
        told = verdict(denied([]) if any(w.quantity in _NONE for w in clause.whos) and not clause.says else clause.says)
        dark = told is not None and told.words == frozenset({"dark"})
        if told is None or told.flash or not (dark or told.usual or told.on):
            raise NotUnderstood(f"{name} is no lamp: it works or does not", self._load_ready(name))
        states = self._states_said() if not self.around.trivial else list(self.healthy.own(name))
        if told.on and not told.usual and self.around.trivial:
            states = self._states_said()
        if not states:
            raise NotUnderstood(f"{name}: this vehicle never runs that")
        for state in states:
            self._take(state)
            self._put(state, LoadSeen(name, not dark, told.sometimes))

    def _load_ready(self, name: str) -> list[tuple[Symptom, ...]]:
        states = self.healthy.own(name)[:1]
        return [tuple(Symptom(s, (LoadSeen(name, works),), False, "") for s in states) for works in (False, True)]

    def _relay(self, clause: _Clause, name: str) -> None:
        sounds = {s.sound for s in clause.says if s.sound}
        known = list(self.lexicon.relays)
        if len(sounds) != 1 or (not name and len(known) != 1):
            does: Sound = "clicks"
            ready = [[Symptom(self._states_said()[0], (RelaySeen(r, does),), False, "")] for r in known]
            raise NotUnderstood("it is not said what the relay does, or which" if known else "nothing clicks here", ready)
        sound = sounds.pop()
        heard: Sound = "clicks" if sound == "clicks" else "buzzes" if sound == "buzzes" else "silent"
        states = self._states_said()
        flashes = self.healthy.harness.parts[name or known[0]].kind == "flasher unit"
        if flashes and self.around.trivial:
            state = self.healthy.of_purpose(("indicator left",))
            states = [state] if state is not None else states
            self._take(states[0])
        self._put(states[0], RelaySeen(name or known[0], heard))

    # --- what may have been meant

    def guesses(self, clauses: Sequence[_Clause]) -> list[tuple[Symptom, ...]]:
        """The nearest symptoms to clauses of which something was not understood."""
        out: list[tuple[Symptom, ...]] = []
        for clause in clauses:
            told = verdict(clause.says) or Verdict(frozenset({"dark"}))
            if any(w.quantity in _NONE for w in clause.whos):
                told = Verdict(frozenset({"dark"}))
            for who in _completed(clause.whos):
                for less in (who, replace(who, names=[]), replace(who, ends=[]), replace(who, sides=[], names=[]),
                             replace(who, ends=[], names=[], functions=who.functions[:1])):
                    try:
                        options: Sequence[Meant] = [self.lexicon.lamps.meant(less, self.before)]
                    except Unclear as unclear:
                        options = unclear.options
                    except LookupError:
                        continue
                    out += [self._ready(option, told) for option in options]
        return [s for n, s in enumerate(out) if s and s not in out[:n]]


def _completed(whos: Sequence[Who]) -> list[Who]:
    """What one part of "left and right rear stop and tail lights" leaves out, taken from its neighbour."""
    out = list(whos)
    for i in range(len(out) - 2, -1, -1):
        if not out[i].exact and not out[i].functions and not out[i].names and not out[i].whole:
            after = out[i + 1]
            if after.exact or not (out[i].sides or out[i].ends):
                continue
            out[i] = replace(after, said=[*out[i].said, *after.said], sides=out[i].sides or after.sides,
                             ends=out[i].ends or after.ends, quantity=out[i].quantity or after.quantity, plural=after.plural)
    for i in range(1, len(out)):
        own, before = out[i], out[i - 1]
        if own.exact or before.exact or own.whole or own.noun and own.plural and own.sides:
            continue
        if own.functions and not own.sides and not own.ends and not own.quantity:
            sides = list(dict.fromkeys(s for b in out[:i] for s in b.sides))
            out[i] = replace(own, sides=sides, ends=before.ends, plural=own.plural or before.plural)
        elif not own.functions and not own.names and (own.sides or own.ends):
            out[i] = replace(before, sides=own.sides or before.sides, ends=own.ends or before.ends, said=own.said)
    return out
