"""What a meaning says of one vehicle: its clauses as symptoms of the vehicle's own lamps in its own states."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Final

from tracer.harness.model import VehicleState
from tracer.observation.evidence import (
    LIT,
    FuseSeen,
    LampSeen,
    LensSeen,
    LoadSeen,
    RelaySeen,
    Seen,
    Symptom,
)
from tracer.observation.words.likened.meaning import LOOKS, OTHERS, Clause, clauses_of
from tracer.observation.words.speech_lexicon import Lexicon

Moves = Mapping[str, str]  # control → position

# What lamps are for in a meaning → what they are called by in `LampsCalled.called`.
_CALLED: Final = {"tail": "tail", "side": "side", "stop": "stop", "indicator": "indicator", "reversing": "reversing",
                  "dip": "dipped", "main": "main", "headlamp": "head", "plate": "number plate", "fog": "fog",
                  "work": "work", "interior": "interior", "panel": "panel"}
_BY_NAME: Final = {"highstop": "high", "repeater": "repeater", "marker": "marker"}
_THINGS: Final = ("horn", "blower", "wiper", "fridge")
_WORDS: Final = {"dark": frozenset({"dark"}), "dim": frozenset({"dim"}), "faint": frozenset({"faint"}),
                 "normal": frozenset({"normal"}), "bright": frozenset({"bright"}), "lit": LIT,
                 "flicker": frozenset({"faint", "dim", "normal"}), "sometimes-dark": frozenset({"dark"})}
_FLASHES: Final = {"pulse": "flashing", "steady": "steady", "fast": "fast", "slow": "slow"}
_RUNNING: Final = frozenset({"engine-on", "idle", "revs"})
# Which lamps tell, by what is switched on, what a fuse that is not named feeds.
_FED: Final = {"brake": "stop", "reverse": "reversing", "side": "tail", "lights": "tail", "dip": "dip",
               "main": "main", "fogswitch": "fog", "ind": "indicator", "ind-left": "indicator",
               "ind-right": "indicator"}
_AT_REST: Final = frozenset({"off", "ignition"})


class OnVehicle:
    """One vehicle's lamps and controls by the words of meanings."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon, self._lamps = lexicon, lexicon.lamps
        self._healthy = lexicon.healthy

    def sayable(self, symptoms: Sequence[Symptom]) -> bool:
        """Whether a meaning could say all this: it has no word for a fuse that holds, for a relay or a motor, for
        hazard lights, nor for most controls."""
        return all(self._sayable_seen(seen, s.state) for s in symptoms for seen in s.seen)

    def _sayable_seen(self, seen: Seen, state: VehicleState) -> bool:
        moves = self._healthy.moves(state)
        own = {n: any(self._healthy.moves(s) == moves for s in self._healthy.own(n)) for n in _names(seen)}
        match seen:
            case FuseSeen():
                return seen.blown and not seen.once and seen.when in ("", "at once")
            case LoadSeen():
                return "horn" in seen.load and not (seen.weak or seen.sometimes) and (own[seen.load] or not moves)
            case RelaySeen():
                return False
        known = [way for word, ways in self.controls.items() if word != "hazard" for way in ways]
        return all(own.values()) or all(any(way.get(c) == p for way in known) for c, p in moves.items())

    def symptoms(self, meaning: str) -> tuple[Symptom, ...]:
        """What a meaning says of this vehicle; none where it has no such lamp, control or fuse.

        Raises:
            ValueError: The meaning has another form.
        """
        told: dict[VehicleState, list[Seen]] = {}
        others = False
        for clause in clauses_of(meaning):
            if clause.implied or clause.functions == (OTHERS,):
                others |= not clause.implied
                continue
            seen = [*self._of_things(clause), *self._of_lamps(clause)]
            if not seen and clause.look != "normal":
                return ()
            for state, one in seen:
                before = told.setdefault(state, [])
                known = {k.lamp for k in before if isinstance(k, LampSeen)}
                if not (isinstance(one, LampSeen) and one.lamp in known):
                    before.append(one)
        return tuple(Symptom(state, tuple(seen), others_normal=others and not n)
                     for n, (state, seen) in enumerate(told.items()))

    def _of_lamps(self, clause: Clause) -> list[tuple[VehicleState, Seen]]:
        lamps, look = self.meant(clause), clause.look
        if not lamps or look not in LOOKS:
            return []
        running = bool(_RUNNING & {*clause.marks})
        seen = [(self._healthy.state(moves, running), _look(lamp, clause)) for lamp in lamps
                for moves in self._moves(lamp, clause)]
        one_of = clause.side == "one" or clause.functions == ("light",) or look in ("fast", "slow")
        if not one_of or len(lamps) == 1:
            return [*seen]
        by_state: dict[VehicleState, list[LampSeen]] = {}
        for state, looked in seen:
            by_state.setdefault(state, []).append(looked)
        return [(s, LensSeen(tuple(each)) if len(each) > 1 else each[0]) for s, each in by_state.items()]

    def _of_things(self, clause: Clause) -> list[tuple[VehicleState, Seen]]:
        seen: list[tuple[VehicleState, Seen]] = []
        for thing in clause.functions:
            if thing.startswith("fuse") and clause.look == "blows":
                fuse = thing[5:] or self._feeding(clause)
                seen += self._blowing(fuse, clause) if fuse in self._lexicon.fuses else []
            elif thing in _THINGS:
                names = [n for n in self._lexicon.loads if thing[:4] in n][:1]
                by_itself = clause.look == "lit" and "own" not in clause.when
                states = [self._healthy.base] if by_itself else [s for n in names for s in self._healthy.own(n)[:1]]
                works = clause.look != "dark"
                seen += [(s, LoadSeen(n, works, clause.look.startswith("sometimes"))) for n in names for s in states]
        return seen

    def _blowing(self, fuse: str, clause: Clause) -> list[tuple[VehicleState, Seen]]:
        """A fuse that blows when something is switched on, or nobody said when."""
        when = [w for w in clause.when if w in self.controls]
        if when:
            return [(self._healthy.state(m), FuseSeen(fuse, True)) for m in self._switched_on(when, "")]
        fed = [*self._healthy.fed(fuse)]
        return [(fed[0] if len(fed) == 1 else self._healthy.base, FuseSeen(fuse, True, whenever=True))]

    def _feeding(self, clause: Clause) -> str:
        """The fuse of what is switched on, where none is named; "" if that is not known."""
        function = next((_FED[w] for w in clause.when if w in _FED), "")
        for lamp in self._named(function) if function else ():
            for state in self._healthy.own(lamp)[:1]:
                if fuses := self._healthy.fuses_of(lamp, state):
                    return fuses[-1]
        return ""

    def meant(self, clause: Clause) -> list[str]:
        """The lamps of a clause."""
        found = dict[str, None]()
        for function in clause.functions:
            there = self.placed(clause, function)
            if function == "everything" and clause.side in ("left", "right"):  # of the unit there
                there = [n for n in there if "number plate" not in self._lamps.purposes[n]] or there
            found.update(dict.fromkeys(there))
        lamps = [*found]
        if "headlamp" in clause.functions:  # the beam that is switched on first
            lamps = [n for n in lamps if "main" not in self._lamps.purposes[n]] or lamps
        controls = [w for w in clause.when if w in self.controls and w not in ("brake", "lights")]
        if clause.everything and controls and "own" not in clause.when:  # of those that are lit there
            on = [self._healthy.on(self._healthy.state(m)) for m in self._switched_on(controls, "")]
            lamps = [n for n in lamps if any(n in lit for lit in on)] or lamps
        return lamps

    def _named(self, function: str) -> list[str]:
        """All lamps of a function."""
        purposes = self._lamps.purposes
        if function in _CALLED:
            called = self._lamps.called(_CALLED[function])
            apart = {"stop": "high", "tail": "marker"}.get(function)
            return [n for n in called if apart is None or apart not in n] or [*called]
        if function in _BY_NAME:
            return [n for n in purposes if _BY_NAME[function] in n]
        tell_tales = [n for n, p in purposes.items() if "tell-tale" in p]
        if function == "telltale-indicator":
            return [n for n in tell_tales if "indicator" in n] or [n for n in tell_tales if self._lamps.side[n]]
        if function == "telltale-main":
            return [n for n in tell_tales if "main" in n]
        if function in ("everything", "light"):
            inside = [n for n, p in purposes.items() if "interior" in p] if function == "light" else []
            return [n for n in purposes if n not in tell_tales and n not in inside]
        return []

    def placed(self, clause: Clause, function: str) -> list[str]:
        """The lamps of a function on the side, at the end and of the vehicle that a clause names."""
        towed, out = self._lamps.towed, self._named(function)
        if clause.vehicle and towed:
            out = [n for n in out if (n in towed) == (clause.vehicle == "trailer")]
        if clause.side in ("left", "right"):
            side = self._lamps.side
            out = [n for n in out if side[n] == clause.side] or [n for n in out if not side[n]]
        if clause.end:
            there = [n for n in out if self._lamps.end[n] == clause.end]
            out = there or ([] if function in ("everything", "light", "indicator") else out)
        return out

    def _moves(self, lamp: str, clause: Clause) -> list[Moves]:
        """The ways the controls stand in which something is told of a lamp."""
        when = tuple("own" if clause.everything and w == "lights" else w for w in clause.when)
        return self._switched_on(when, lamp)

    def _switched_on(self, when: Iterable[str], lamp: str) -> list[Moves]:
        """The ways the controls stand where all of these are switched on; none where the vehicle lacks one."""
        ways: list[Moves] = [{}]
        for word in when:
            if word not in _AT_REST:
                more = self._own(lamp) if word == "own" else self._indicating(lamp) if word == "ind" else (
                    self.controls.get(word, ()))
                ways = [{**w, **m} for w in ways for m in more]
        return ways

    def _own(self, lamp: str) -> list[Moves]:
        states = self._healthy.own(lamp) if lamp else ()
        several = "tell-tale" in self._lamps.purposes.get(lamp, ())
        return [self._healthy.moves(s) for s in (states if several else states[:1])] or [{}]

    def _indicating(self, lamp: str) -> list[Moves]:
        """The lamp's own side for an indicator, either for others."""
        side = self._lamps.side.get(lamp, "") if any(
            p.startswith("indicator") for p in self._lamps.purposes.get(lamp, ())) else ""
        return [m for word in ("ind-left", "ind-right") if not side or word.endswith(side)
                for m in self.controls.get(word, ())]

    @cached_property
    def controls(self) -> Mapping[str, Sequence[Moves]]:
        """What is switched on, in the words of meanings → the moves of controls that do it."""
        out: dict[str, list[Moves]] = {}
        for name, control in self._lexicon.harness.controls.items():
            for position in control.positions:
                for word in _switches(name, position):
                    if position != control.assumed:
                        out.setdefault(word, []).append({name: position})
        for word, function in (("side", "tail"), ("side", "side"), ("dip", "dip"), ("main", "main")):
            lamps = self._named(function)
            if word not in out and lamps and (own := self._healthy.own(lamps[0])):
                out[word] = [self._healthy.moves(own[0])]
        if "side" in out or "dip" in out:
            out["lights"] = out.get("side") or out["dip"]
        return out


def _switches(control: str, position: str) -> list[str]:
    """What a control switches on in a position, in the words of meanings."""
    name = control.casefold()
    found = [w for w in ("hazard", "horn", "door") if w in name]
    found += ["brake"] if "brake" in name and "hand" not in name else []
    found += ["fogswitch"] if "fog" in name else []
    found += ["reverse"] if position == "reverse" else []
    return found + ([f"ind-{position}"] if position in ("left", "right") else [])


def _names(seen: Seen) -> tuple[str, ...]:
    match seen:
        case LampSeen():
            return (seen.lamp,)
        case LensSeen():
            return seen.lamps
        case LoadSeen():
            return (seen.load,)
    return ()


def _look(lamp: str, clause: Clause) -> LampSeen:
    look, moved = clause.look, "moved" in clause.marks
    sometimes = moved or look == "flicker" or look.startswith("sometimes")
    return LampSeen(lamp, _WORDS.get(look, LIT), flash=_FLASHES.get(look), sometimes=sometimes, moved=moved)  # type: ignore[arg-type]
