"""What was understood of a sentence, held against its parts: what does not fit is told in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from tracer.harness.lamp_purposes import INDICATORS, other_side
from tracer.harness.model import VehicleState
from tracer.observation.evidence import (
    ALL_WORDS,
    LIT,
    Compared,
    LampSeen,
    LensSeen,
    LoadSeen,
    RelaySeen,
    Seen,
    Symptom,
)
from tracer.observation.words.lamps_called import FUNCTIONS, NOUNS, TOWED
from tracer.observation.words.said_parts import Part, SaidParts, all_says
from tracer.observation.words.speech_lexicon import VEHICLE, Lexicon
from tracer.observation.words.speech_looks import DIM, ON, SHORT, Say
from tracer.observation.words.words import singular, tokens, word_set

_NORMAL, _DARK, _BRIGHT, _WEAK = (frozenset(w.split()) for w in ("normal", "dark", "bright", "dim faint"))
# Words by which something is said of others, or the contrary of what the look says.
_TURNS: Final = word_set(
    "makes make dip dips dipping brighten brightens till except only but unless until just bar than other "
    "others otherwise back again instead though rest else without lost lose loses kills puts crossed one go "
    "goes do does brighter down full lights light")
_SWAPS: Final = word_set("swapped crossed mixed muddled wrong opposite swap exchanged vice versa")
# Words with which lamps may be meant that are not named.
_SEVERAL: Final = word_set(
    "both all other others every each neither either sides rest nothing everything none only opposite two pair "
    "lot same together them they makes make")
# With these a part tells of a control, or of one lamp by another.
_BY_ANOTHER: Final = word_set("make makes lever pedal brighter like dimmer whole nearly almost again")
_OTHER_THINGS: Final = word_set("bulb bulbs trailer caravan car holder battery")
_NOT_THERE: Final = word_set("off no without released up as not")  # of a circumstance that is not
_HAND: Final = word_set("switch switched lever pedal button stalk on off")
_LIGHTS: Final = word_set("lamp light lights lighting")
_ON_THE_DASH: Final = frozenset({"tell-tale", "panel"})
_NO_CONTROL: Final = word_set("turn work direction full low main high park backing number")  # in "when I turn …"
_AS_USUAL: Final = word_set("normal usual should before bright brighter ever")
_ANSWERED: Final = word_set("is are do does")  # "the left isn't lit, the right is"
_SIGNALS: Final = word_set("signal signals signalling signaling turn turns turning go going hazard hazards")
_WHERE: Final = word_set("left right front rear back side")
_OFTEN: Final = word_set("sometimes intermittent intermittently occasionally times")
_AT_TIMES: Final = _OFTEN | word_set("only now always")
_LITTLE: Final = word_set(
    "just a glow glows faintly dimly weakly flickers flicker sometimes when tap move steady")
_REVS: Final = word_set("rev revs revved revving idle idling tickover")  # of which the file knows one speed
_RATE: Final = word_set("rate speed")
_HELD: Final = word_set("other opposite others")


class _Found:
    """What was understood of a sentence, and which of it a part of the sentence is about."""

    def __init__(self, said: SaidParts, lexicon: Lexicon, symptoms: Sequence[Symptom]) -> None:
        self.said, self.lexicon, self.symptoms = said, lexicon, symptoms
        self.healthy, self.called = lexicon.healthy, lexicon.lamps
        self.words = {*said.words} | said.typed
        self.seen = [k for s in symptoms for seen in s.seen for k in looks_of(seen)]
        self.lamps = [k for k in self.seen if isinstance(k, LampSeen)]
        self.named = {n for k in self.seen for n in _lamps_of(k)}
        others = " ".join(k.says() for k in self.seen if not isinstance(k, LampSeen | Compared))
        self.things = {*others.lower().split()}
        self.apart = False
        self.others_normal = any(s.others_normal for s in symptoms)
        self.positions = {w for s in symptoms for c, p in self.healthy.moves(s.state).items()
                          for w in (*c.split(), *p.split())}
        self.on = {n for s in symptoms for n in self.healthy.on(s.state)} & self.called.purposes.keys()

    def there(self, seen: Seen, part: Part) -> bool:
        """Whether it is of a lamp that a part of the sentence may be about."""
        names = _lamps_of(seen)
        return not names or any(self._fits(n, part) for n in names)

    def _fits(self, lamp: str, part: Part) -> bool:
        side, end = self.called.side[lamp], self.called.end[lamp]
        several = len({*part.functions.values()}) > 1 or _HELD & {*part.words}  # the side may be the other's
        if part.sides and not several and side and side not in part.sides:
            return False
        if part.ends and end and end not in part.ends and not part.ends & {*tokens(lamp)}:
            return False
        about = part.functions.items()
        if "rear" in part.ends and "side" in part.functions.values() and lamp in self.called.called("tail"):
            return True
        return not about or bool(_ON_THE_DASH & {*part.functions.values()}) or any(
            lamp in self.called.called(f) or w in tokens(lamp) for w, f in about)

    def in_state(self, part: Part) -> bool:
        """Whether a part without a lamp of its own may tell which controls were moved, or of a fuse or load."""
        named = part.sides | part.ends | {*part.functions}
        return bool(named & self.positions) or bool(self.things) or self.others_normal

    def function_known(self, word: str, function: str) -> bool:
        """Whether the lamps that a word means, or a control or thing that is called so, stand in it."""
        pool = {*self.called.called(function)}
        if pool & (self.named | self.on) or {word, function} & self.positions:
            return True
        return bool({word, f"{word}s"} & self.things) or any(word in map(singular, tokens(n)) for n in self.named)

    def compatible(self, say: Say, seen: Seen, denied: bool) -> bool:
        """Whether a look that was said may be what stands there."""
        if denied:
            return _negative(seen)
        if not isinstance(seen, LampSeen) or say.short or say.exchanged or say.apart or say.unheard:
            return True
        if say.blown is not None:
            return "dark" in seen.words
        if say.sound:
            return seen.flash is not None
        if say.flash == "flashing":
            return seen.flash is not None or bool(self.healthy.purposes[seen.lamp] & INDICATORS)
        if say.flash:
            return seen.flash == say.flash
        words = say.words or ALL_WORDS
        if words == _BRIGHT and seen.words == _NORMAL and not self.words & _REVS:
            # "Dim with the engine off, bright when it runs".
            return any(k.words and k.words <= _WEAK for k in all_says(self.said.parts))
        if say.usual or say.on:
            return bool(seen.words & LIT) or seen.fine or (seen.sometimes and not self.apart)
        if say.flicker:
            return seen.sometimes or seen.words == words or seen.flash is not None
        return bool(seen.words & (_WEAK if words <= _WEAK else words))


class Reading(_Found):
    """What was understood of a sentence, held against its parts."""

    def left_open(self) -> Iterator[str]:
        """What does not fit, in words."""
        for part in self.said.parts:
            yield from self._part(part)
        yield from self._excepted()
        yield from self._circumstances()
        yield from self._of_its_own_part()
        yield from self._all_the_time()
        yield from self._controls()
        yield from self._compared()
        yield from self._alone()
        yield from self._unsaid()

    def spreads(self) -> bool:
        """Whether a circumstance of one part was understood of another."""
        there = [p for p in self.said.parts if p.when]
        others = [p for p in self.said.parts if not p.when and p.placed and (p.says or p.denied)]
        at_times = [p for p in self.said.parts if _OFTEN & {*p.words}]
        for symptom in self.symptoms:
            for k in (k for seen in symptom.seen for k in looks_of(seen) if isinstance(k, LampSeen)):
                beside = there and self._beside(k.lamp, symptom.state)
                often = k.sometimes and at_times and not any(self.there(k, p) for p in at_times)
                if often or (beside and any(self.there(k, p) for p in others)):
                    return True
        return False

    def left_out(self) -> int:
        lamps = sum(not any(self.there(k, p) for k in self.seen) and not self.in_state(p)
                    for p in self.said.parts if p.placed and not p.fronted)
        loads = {w for w, (kind, _) in self.lexicon.spelled.items() if kind == "load" and len(w) == 1}
        return lamps + sum(bool(p.says) and not self.things and any((w,) in loads for w in p.words)
                           for p in self.said.parts)

    # --- what was said stands in it

    def _part(self, part: Part) -> Iterator[str]:
        # "The front brake doesn't work the stop light".
        by_another = bool(_BY_ANOTHER & {*part.words}) or {"brake", "stop"} <= part.functions.keys()
        inside = {"head"} if "side" in part.functions.values() else set()  # "the side light in the headlamp"
        behind = {"side": "tail"} if "rear" in part.ends else {}  # "rear side light"
        unknown = [w for w, f in part.functions.items() if f not in inside and not (
            self.function_known(w, f) or (f in behind and self.function_known(behind[f], behind[f])))]
        if unknown and not self.things and not by_another and not _ON_THE_DASH & {*part.functions.values()}:
            yield f"of “{part.said}” nothing was understood"
        if unknown or by_another:
            return
        self.apart = False
        says = [k for k in part.says if not (k.beside or (part.denied and k == DIM))]
        if not part.placed or self.words & _SWAPS:
            yield from self._anywhere(part, [k for k in says if not (k.usual or k.unheard)])
            return
        there = [k for k in self.seen if self.there(k, part)]
        generally = self.things or self.others_normal or "all" in part.words
        lamp = part.functions and says not in ([], [ON]) and not generally
        # "Right stop intermittent, left ok": the other part says how often.
        self.apart = bool(part.sides) and not (part.when or _AT_TIMES & {*part.words}) and len(self.said.parts) > 1
        if not there and (lamp or not self.in_state(part)):
            yield f"of “{part.said}” nothing was understood"
        denial = [SHORT] * (part.denied and DIM not in part.says)
        if there and not all(any(self.compatible(k, s, part.denied) for s in there) for k in says or denial):
            yield f"“{part.said}” is not what was understood"

    def _anywhere(self, part: Part, says: Sequence[Say]) -> Iterator[str]:
        """A look of which it is not said whose it is has to be that of something."""
        told = says and (part.functions or not _OTHER_THINGS & {*part.words}) and not self.others_normal
        if told and not any(self.compatible(k, s, part.denied) for s in self.seen for k in says):
            yield f"“{part.said}” is not what was understood"

    def _excepted(self) -> Iterator[str]:
        """What is excepted does the contrary of the others."""
        for before, part in pairwise(self.said.parts):
            lamps = [k for k in self.lamps if self.there(k, part)] if part.excepted and part.placed else []
            dark = before.denied or any(k.words == _DARK for k in before.says)
            contrary = [k for k in lamps if (k.words & LIT if dark else not k.words & _NORMAL)]
            if lamps and not contrary:
                yield f"“{part.said}” is excepted"

    def _circumstances(self) -> Iterator[str]:
        """What is said of when stands in a state, and what is said of two states in two."""
        parts = [p for p in self.said.parts if p.when and not p.fronted]
        if len({" ".join(p.when) for p in parts if p.says}) > 1 and len({s.state for s in self.symptoms}) == 1:
            yield "it is told of two states, and one was understood"
        functions = {f for p in self.said.parts for f in p.functions.values()}
        turning = [s.state for s in self.symptoms for k in s.seen
                   if isinstance(k, LampSeen) and self.healthy.purposes[k.lamp] & INDICATORS]
        apart = any(not any("hazard" in c for c in self.healthy.moves(state)) for state in turning)
        if apart and "hazard" in functions and "indicator" not in functions:
            yield "it is told of the hazard lights"
        for part in parts:
            for word in () if _NOT_THERE & {*part.when} else map(singular, part.when):
                function = FUNCTIONS.get(word, "side")
                of_control = function not in ("side", "interior", *_ON_THE_DASH) and word not in _NO_CONTROL
                if of_control and not self.function_known(word, function):
                    yield f"“{' '.join(part.when)}” was not understood"

    def _of_its_own_part(self) -> Iterator[str]:
        """"No reverse light on the left; the right one glows with the lights on": what is said of when in one part is
        not told of the other, which says something else."""
        parts = self.said.parts
        there = [p for p in parts if p.when and (p.says or p.denied)]
        if len(there) != 1 or any(p.fronted for p in parts) or "and" in self.said.words:
            return
        for part in parts:
            if part is there[0] or not part.placed or not (part.says or part.denied) or any(
                    k.short for k in part.says) or (part.says, part.denied) == (there[0].says, there[0].denied):
                continue
            if any(isinstance(k, LampSeen) and self.there(k, part) and not self.there(k, there[0])
                   and self._beside(k.lamp, s.state) and not any(  # beside its like that goes out
                       isinstance(o, LampSeen) and o.lamp == other_side(k.lamp) and not o.words & k.words
                       for o in s.seen)
                   for s in self.symptoms for k in s.seen):
                yield f"“{part.said}” is told without “{' '.join(there[0].when)}”"

    def _beside(self, lamp: str, state: VehicleState) -> bool:
        """Whether a control was moved that a lamp does not need."""
        own = {c for s in self.healthy.own(lamp) for c in self.healthy.moves(s)}
        return any(c not in own and "ignition" not in c for c in self.healthy.moves(state))

    def _all_the_time(self) -> Iterator[str]:
        """What stays on is not told of a state in which it should be on."""
        if any(p.when for p in self.said.parts):
            return
        for part in self.said.parts:
            if not (any(k.stays for k in part.says) or "time" in part.words):
                continue
            where = [s.state for s in self.symptoms for k in s.seen if isinstance(k, LampSeen) and k.words == LIT
                     and k.flash is None and self.there(k, part) and k.lamp in self.healthy.on(s.state)]
            if where:
                yield f"“{part.said}” is told of all the time"

    def _compared(self) -> Iterator[str]:
        against = any(isinstance(k, Compared) or (isinstance(k, LampSeen) and k.flash in ("fast", "slow"))
                      for k in self.seen)
        against |= any(k.words <= _WEAK for k in self.lamps) and any(k.words == _NORMAL for k in self.lamps)
        if "than" in self.words and not against and not self.words & _AS_USUAL:
            yield "it is not understood what it is compared with"

    def _alone(self) -> Iterator[str]:
        """"Only" says of something that others, or it in other states, do otherwise: or how little it does."""
        words = self.said.words
        at = next((k for k, w in enumerate(words) if w == "only"), None)
        if at is None or any(s.only for s in self.symptoms) or not self.lamps or self.things:
            return
        after = {*words[at + 1 : at + 4]}
        merely = any(k.words and k.words <= _WEAK | _DARK
                     for p in self.said.parts if "only" in p.words for k in p.says)
        looks = {(k.words & {"normal", "bright"} != frozenset(), k.flash in (None, "flashing"), k.lamp in on)
                 for s in self.symptoms for on in (self.healthy.on(s.state),)
                 for seen in s.seen for k in looks_of(seen) if isinstance(k, LampSeen)}
        if len(looks) > 1 or merely or after & (_AT_TIMES | _LITTLE) or any(k.sometimes for k in self.lamps):
            return
        yield "“only” was not understood"

    # --- what stands in it was said

    def _controls(self) -> Iterator[str]:
        """Controls that were moved, though nobody named them and no lamp here needs them."""
        for symptom in self.symptoms:
            own = [s for k in symptom.seen for n in _lamps_of(k) for s in self.healthy.own(n)]
            needed = {c for state in own for c in self.healthy.moves(state)}
            for control, position in self.healthy.moves(symptom.state).items():
                if control not in needed and not self.things and not self._said(control, symptom.state):
                    yield f"“{control} {position}” was not said"

    def _said(self, control: str, state: VehicleState) -> bool:
        """Whether a control was named, or the lamps that it lights, or the vehicle put to rest."""
        names = (control, *self.healthy.harness.controls[control].also, state[control])
        words = {w for n in names for w in n.split()} - _WHERE  # a side alone tells of a lamp
        said = {singular(w) for w in self.words} | self.words | ({"dimmer"} if "dim" in self.words else set())
        on = self.healthy.on(state)
        needs = {n for n in on & self.called.purposes.keys() if any(
            control in self.healthy.moves(s) for s in self.healthy.own(n))}
        lit = {w for w, f in FUNCTIONS.items() if needs & {*self.called.called(f)}}
        near = {w[:4] for w in words - _HAND if len(w) > 4} & {w[:4] for w in said}  # "braking"
        of_lights = said & _LIGHTS and words & _LIGHTS
        signals = "indicator" in control and said & _SIGNALS
        at_rest = control == "ignition" and said & {"parked", "park", "nothing"}
        return bool(near or (words - _HAND | lit | {"everything", "all"}) & said or of_lights or at_rest or signals)

    def _unsaid(self) -> Iterator[str]:
        """Looks and lamps that nobody spoke of."""
        says, parts = all_says(self.said.parts), self.said.parts
        answered = any(p.words[-1] in _ANSWERED for p in parts)
        turned = bool(self.words & (_TURNS | _SWAPS)) or answered or any(p.denied for p in parts)
        plain = [k for k in self.lamps if not (k.fine or k.sometimes or k.moved)]
        if not turned and any(k.words == _NORMAL for s in self.symptoms for seen in s.seen for k in looks_of(seen)
                              if isinstance(k, LampSeen) and not self._became(k, s.state)) and not any(
                k.usual or k.on or k.went or k.short for k in says):
            yield "that something is as it should be was not said"
        if not turned and any(k.words == _DARK for k in plain) and not any(
                k.words == _DARK or k.sometimes or k.short or k.blown for k in says):
            yield "that something is dark was not said"
        if not (turned or self.words & _RATE) and any(k.flash for k in self.lamps) and not any(
                k.flash or k.stays for k in says):
            yield "that something flashes was not said"
        if not self.words & _SWAPS and not any(k.short for k in says):
            yield from self._anyway()
        if any(k.words == _DARK and k.flash for k in self.lamps):
            yield "what is dark does not flash"
        yield from self._unnamed()
        if self.words & (_SEVERAL | _SWAPS) or "brighter" in self.words or len(self.words & (TOWED | VEHICLE)) > 1:
            return
        yield from (f"{k.lamp} was not named" for k in self.lamps
                    if not any(p.fronted or self.there(k, p) for p in parts))

    def _became(self, seen: LampSeen, state: VehicleState) -> bool:
        """Whether it is told to be weak or dark where more is switched on: it was as it should be before that."""
        before = self.healthy.moves(state).items()
        return any(isinstance(k, LampSeen) and k.lamp == seen.lamp and k.words <= _WEAK | _DARK
                   and before < self.healthy.moves(s.state).items() for s in self.symptoms for k in s.seen)

    def _anyway(self) -> Iterator[str]:
        """What is told as dark where it should be dark, and nothing beside it that should be lit."""
        for symptom in self.symptoms:
            on = self.healthy.on(symptom.state)
            dark = [k.lamp for k in symptom.seen if isinstance(k, LampSeen) and k.words == _DARK and not (
                k.fine or k.sometimes or k.flash) and self.healthy.own(k.lamp)]
            if dark and not on & {*dark}:
                yield f"{dark[0]} is dark there anyway"

    def _unnamed(self) -> Iterator[str]:
        """Lamps that are called by none of the names that were said."""
        parts = self.said.parts
        functions = {w: f for p in parts for w, f in p.functions.items()}
        ends = any((p.ends and not p.functions) or p.unnamed or p.fronted for p in parts)
        sides = bool(parts) and bool(parts[0].sides) and not parts[0].functions
        if not functions or ends or sides or _ON_THE_DASH & {*functions.values()}:
            return
        if self.words & (_SWAPS | {"brighter", "only", "whole"}):
            return
        functions |= {"tail": "tail"} if "side" in functions.values() else {}
        pool = {n for f in functions.values() for n in self.called.called(f)}
        vehicles = self.words & (TOWED | VEHICLE)  # "car ok, …" is of all its lamps
        for lamp in dict.fromkeys(k.lamp for k in self.lamps if not (vehicles and (k.words == _NORMAL or k.fine))):
            if lamp not in pool and not {singular(w) for w in tokens(lamp)} & {
                    singular(w) for w in self.words} - _WHERE - NOUNS - TOWED - VEHICLE:
                yield f"{lamp} was not named"


def looks_of(seen: Seen) -> Sequence[Seen]:
    """The looks of which one or more is so; of anything else it alone."""
    return seen.looks if isinstance(seen, LensSeen) else (seen,)


def _lamps_of(seen: Seen) -> Sequence[str]:
    match seen:
        case LampSeen():
            return (seen.lamp,)
        case LensSeen():
            return seen.lamps
        case Compared():
            return (seen.lamp, seen.other)
    return ()


def _negative(seen: Seen) -> bool:
    """Whether it can be what a denial says: nothing, no flash, or that it does not go out."""
    match seen:
        case LampSeen():
            return "dark" in seen.words or seen.flash == "steady" or seen.words == LIT
        case LoadSeen():
            return not seen.works or seen.weak
        case RelaySeen():
            return seen.does == "silent"
    return True
