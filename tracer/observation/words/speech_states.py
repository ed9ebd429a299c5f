"""In which states of the vehicle something that was said means something, and what was taken for that."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.harness.lamp_purposes import other_side
from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, Compared, Comparison, LampSeen, Seen, Symptom
from tracer.observation.healthy_states import HealthyStates
from tracer.observation.story import NO_STORY, Story
from tracer.observation.words.speech_circumstances import BOTH_WAYS
from tracer.observation.words.speech_clauses import Clause
from tracer.observation.words.speech_lamps import Meant
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_looks import Verdict
from tracer.observation.words.speech_parts import Heard
from tracer.observation.words.speech_who import Who

_DARK: Final = frozenset({"dark"})
_FLICKER_WHERE_DARK: Final = frozenset({"faint", "dim", "normal"})


class NotUnderstood(Exception):  # noqa: N818 - caught and answered with choices
    """Why a sentence is not understood. `ready`: symptoms that may have been meant, likeliest first."""

    def __init__(
        self, why: str, ready: Sequence[Sequence[Symptom]] = (), strange: bool = False, asks: bool = False
    ) -> None:
        super().__init__(why)
        self.asks = asks  # what is told is no look of a lamp, and `ready` is where to look
        self.strange = strange  # a word or a circumstance is not known here
        self.why, self.ready = why, tuple(tuple(s) for s in ready)


class NotHere(NotUnderstood):
    """The vehicle has no such lamp."""


class Understood(Struct, frozen=True):
    """What a sentence was understood to say.

    Attributes:
        symptoms: One for each vehicle state that it speaks of.
        assumed: What was taken that nobody said, in words.
        unused: Words of it that tell nothing here.
        story: What it tells of the vehicle's story.
        verbatim: It was said in the harness's own words, of which every one counts.
    """

    symptoms: tuple[Symptom, ...]
    assumed: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()
    story: Story = NO_STORY
    verbatim: bool = False

    def remark(self) -> str:
        """What was assumed and what was not used, in one line; "" if neither was."""
        taken = [f"taken: {'; '.join(self.assumed)}"] if self.assumed else []
        unused = [f"not used: {', '.join(f'“{w}”' for w in self.unused)}"] if self.unused else []
        return "; ".join([*taken, *unused])


class StateReader:
    """The states of one sentence, and what is put into them."""

    def __init__(self, lexicon: Lexicon, heard: Heard, text: str) -> None:
        self.lexicon, self.heard, self.text = lexicon, heard, text
        self.healthy: HealthyStates = lexicon.healthy
        self.around = heard.around
        self.assumed: list[str] = [*heard.kerb, *heard.around.assumed]
        self.assumed += [f"“{typed}” is {taken}" for typed, taken in heard.slips]
        self.clauses: Sequence[Clause] = ()
        self.found: dict[VehicleState, dict[str, Seen]] = {}
        self.ceased: dict[VehicleState, set[str]] = {}  # lamps that were on and went out or dim there
        self.scenes: dict[str, frozenset[int]] = {}  # of lamps: what was told of when beside them alone
        self.others_normal = self.several = self.saying_all = False
        self.of_all: set[tuple[VehicleState, str]] = set()  # looks told of all lamps at once
        self.of_several: dict[tuple[VehicleState, str], frozenset[str]] = {}  # … of several: which
        self.named: frozenset[str] = frozenset()  # the lamps of this clause
        self.before: tuple[str, ...] = ()
        self.across = False  # those were "the other one"
        self.was_bad = False  # the clause before told of a look that should not be
        self.flashed = False  # the clause before said "flashes"
        self.was_on = self.denies_on = False  # the clause before said "comes on", and this one "does not"
        self.ticking = ""  # the flasher unit, after it was spoken of
        self.taken: dict[str, None] = {}
        self.of_others = False  # when it is so was said beside another clause
        self.each_its_own = False  # clauses are told with circumstances of their own
        self.of_whole = False  # the clause before told of all lamps of a place
        self.tried = False  # one of several readings is looked into

    def _states_said(self) -> list[VehicleState]:
        return [self.healthy.state(m, bool(self.around.running)) for m in self.around.moves]

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
            raise NotHere("this vehicle has no hazard warning")
        states = self.healthy.own_for(lamp, meant.purpose)
        if "tell-tale" in self.healthy.purposes.get(lamp, ()):  # that of both sides, as one of them was spoken of
            states = tuple(s for s in states if s in self.found) or states
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
        told = "ignition" in self.around.told or "ignition" in self.healthy.moves(state)
        if ignition is not None and not told:
            self.taken[f"ignition {ignition.assumed}"] = None

    def _put(self, state: VehicleState, seen: Seen) -> None:
        key = seen.lamp if isinstance(seen, LampSeen) else seen.says()
        there = self.found.setdefault(state, {})
        excepted = self.named < self.of_several.get((state, key), frozenset())  # "tails work but the left one is dim"
        if key in there and there[key] != seen and (state, key) not in self.of_all and not excepted:
            raise NotUnderstood(f"{there[key].says()} and {seen.says()} cannot both be")
        there[key] = seen
        self.of_several[state, key] = self.named
        if self.saying_all:  # "all the lights work but the stop lamps are dim": the exception is told after it
            self.of_all.add((state, key))
        else:
            self.of_all.discard((state, key))

    def _as_before(self) -> None:
        """What "goes out" or "goes dim" when something is switched on burns as it should without it."""
        for state, lamps in self.ceased.items():
            moves = self.healthy.moves(state)
            for lamp, seen in [*self.found[state].items()]:
                if lamp not in lamps or not isinstance(seen, LampSeen):
                    continue
                cause = {c for c in moves if c in self.around.told and lamp in self.healthy.on(
                    self.healthy.state({k: p for k, p in moves.items() if k != c}))}
                before = self.healthy.state({k: p for k, p in moves.items() if k not in cause})
                words = LIT if "dark" in seen.words else frozenset({"normal"})
                if cause and lamp in self.healthy.on(before):
                    self.found.setdefault(before, {}).setdefault(lamp, LampSeen(lamp, words))
                elif not cause:
                    self._burned_before(lamp, state, words)

    def _burned_before(self, lamp: str, state: VehicleState, words: frozenset[str]) -> None:
        """What goes out as the light switch goes on to the next position burned in the one before: the lamp itself,
        or the other beam of the headlamp."""
        told = {c for c in self.healthy.moves(state) if c in self.around.told}
        rest = self.healthy.base
        for other in (lamp, *self._glass(lamp)):
            for before in self.healthy.own(other):
                apart = {c for c, p in before.positions if p != state[c]}
                if apart and apart <= told and any(before[c] != rest[c] for c in told) and (
                        other != lamp or lamp in self.healthy.on(before)):
                    self.found.setdefault(before, {}).setdefault(other, LampSeen(other, words))
                    return

    def _compare(self, lamps: Sequence[str], than: Comparison) -> None:
        """What is dimmer than its like on the other side."""
        for state, seen in self.found.items():
            for lamp in lamps:
                other = other_side(lamp)
                if other == lamp or other not in self.healthy.purposes:
                    raise NotUnderstood(f"{lamp} has no other side in the harness")
                if lamp in seen and other in lamps:
                    pairs = [(n, Compared(n, o, than)) for n, o in ((lamp, other), (other, lamp))]
                    raise NotUnderstood("it is not said which of the two",
                                        [(Symptom(state, (seen[n], against), False, ""),) for n, against in pairs])
                if lamp in seen and other in self.healthy.on(state):
                    self._put(state, Compared(lamp, other, than))

    def _before(self, who: Who) -> tuple[str, ...]:
        """The lamps that were spoken of before; of "the rest" all of them."""
        told = [n for seen in self.found.values() for n in seen if n in self.healthy.purposes]
        return tuple(dict.fromkeys(told)) if {"rest", "else"} & {*who.said} else self.before

    def _own_way(self, each: dict[VehicleState, list[str]], meant: Meant) -> dict[VehicleState, list[str]]:
        """"The left tail goes dim with the indicator" is told of the left one."""
        sides = {self.lexicon.lamps.side[n] for n in meant.lamps if "number plate" not in self.healthy.purposes[n]}
        own = {s: lamps for s, lamps in each.items() if any(p in sides for _, p in s.positions)}
        if not self.around.both_ways or len(sides) != 1 or not own or len(own) == len(each):
            return each
        self.assumed += [f"the indicators of its own side, the {next(iter(sides))}"]
        self.assumed = [a for a in self.assumed if a != BOTH_WAYS]
        return own

    def _which_way(self, each: Mapping[VehicleState, Sequence[str]], meant: Meant, told: Verdict) -> None:
        """"The side lights flash with the indicators" leaves open whether each does so with its own side's or both
        with either: that is asked back."""
        side = self.lexicon.lamps.side
        shine = self.around.both_ways and not meant.any_of and {side[n] for n in meant.lamps} >= {"left", "right"}
        if not shine or any({*lamps} & self.healthy.on(state) for state, lamps in each.items()):
            return
        turns = [next((s for p, s in state.positions if s in ("left", "right")), "") for state in each]
        own = [Symptom(state, tuple(self._seen(n, state, told) for n in lamps if side[n] == turn), False, "")
               for (state, lamps), turn in zip(each.items(), turns, strict=True)]
        both = [Symptom(s, tuple(self._seen(n, s, told) for n in lamps), False, "") for s, lamps in each.items()]
        lit = [replace(k, state=self._merged(o, self.healthy.moves(k.state))) for k in both
               for o in self._own_quietly(meant.lamps[0], meant)[:1]]  # they were on before
        raise NotUnderstood("it is not said which with which indicator", [own, both, lit, own[:1], own[1:]])

    def _seldom(self, lamp: str) -> int:
        """How seldom a lamp is meant by "the rear light"."""
        order = ("side", "stop", "dipped", "main", "indicator left", "indicator right", "reversing")
        return min((order.index(p) for p in self.healthy.purposes[lamp] if p in order), default=len(order))

    def _one_glass(self, lamps: Iterable[str]) -> bool:
        return len({self.lexicon.lamps.names.parts[n] for n in lamps}) == 1

    def _seen(self, lamp: str, state: VehicleState, told: Verdict) -> LampSeen:
        words, lit = told.words, lamp in self.healthy.on(state)
        if told.usual and not lit:  # where all is switched on for it, who says that it works has seen it lit
            moves, own = self.healthy.moves(state), map(self.healthy.moves, self.healthy.own(lamp))
            on = told.works and any(o.items() <= moves.items() for o in own)
            words = LIT if on else _DARK
        if told.flicker and not lit:
            words = _FLICKER_WHERE_DARK
        fine = told.usual and not lit and words == _DARK
        return LampSeen(lamp, words, told.flash, told.sometimes, False, told.moved, fine)
