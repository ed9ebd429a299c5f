"""What was understood, held against the words that were said.

Turns of phrase and clauses are read by rules that each know a part of speech, and a rule that takes the wrong part
makes a statement that nobody made. So what came out is read back: each look, side, end, lamp, denial and
circumstance that was said has to stand in it somewhere, and what stands in it has to have been said. Where it does
not, the sentence is asked back and not recorded.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from msgspec.structs import replace

from tracer.harness.model import VehicleState
from tracer.observation.evidence import LIT, LampSeen, Symptom
from tracer.observation.words.account_reading import Reading, looks_of
from tracer.observation.words.said_parts import SaidParts, all_says
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.words import word_set

# Words without a meaning here that change nothing of what was said.
_BESIDE: Final = word_set(
    "mot fail second seconds moment completely holder left right only own itself themselves last night "
    "yesterday today week month year mostly amp amps speed touch should really now lately recently suddenly "
    "again actually basically literally obviously already honestly definitely anyway sir bloody mate lads "
    "cheers thanks help advise urgent asap job card report reported noticed found think bad time")


class Account:
    """The words of a sentence, and what of them stands in what was understood."""

    def __init__(self, text: str, lexicon: Lexicon) -> None:
        self.said, self.lexicon = SaidParts(text, lexicon), lexicon

    def left_open(self, symptoms: Sequence[Symptom], unused: Sequence[str] = ()) -> list[str]:
        """What was said and does not stand in the symptoms, and what stands there and was not said.

        Args:
            unused: Words that were not used; those without which it is the same do not count.
        """
        parts = self.said.parts
        praised = {w for p in parts if not p.placed and p.says and all(k.usual for k in p.says) for w in p.words}
        strange = [w for w in unused if w not in _BESIDE | praised and (
            w.isalpha() or (w.isdigit() and w in self.lexicon.names))]  # "3 and 4 fine", of lamps with numbers
        left = Reading(self.said, self.lexicon, symptoms).left_open()
        return [*(f"“{w}” is not known here" for w in strange), *left]

    def open_scope(self, symptoms: Sequence[Symptom]) -> bool:
        """Whether it is told of one part alone when it is so, or how often, and that was understood of another too:
        of which it is said, two ways of reading may see otherwise."""
        telling = [p for p in self.said.parts if p.says or p.denied]
        fronted, short = any(p.fronted for p in self.said.parts), any(k.short for p in telling for k in p.says)
        if len(telling) < 2 or fronted or short:
            return False
        return Reading(self.said, self.lexicon, symptoms).spreads()

    def fitting(self, symptoms: Sequence[Symptom]) -> tuple[Symptom, ...]:
        """The symptoms without what nobody said; none where the rest does not fit either."""
        left, wrong = tuple(symptoms), len(self.left_open(symptoms))
        for n, symptom in enumerate(symptoms):
            for seen in symptom.seen:
                kept = replace(left[n], seen=tuple(k for k in left[n].seen if k is not seen))
                less = (*left[:n], kept, *left[n + 1 :])
                still = len(self.left_open(less))
                if still < wrong and self._lamps_for(less) == self._lamps_for(symptoms):
                    left, wrong = less, still
        return tuple(s for s in left if s.seen or s.others_normal) if not wrong else ()

    def _lamps_for(self, symptoms: Sequence[Symptom]) -> int:
        """For how many parts of the sentence a lamp stands in the symptoms."""
        found = Reading(self.said, self.lexicon, symptoms)
        return sum(any(found.there(k, p) for k in found.lamps) for p in self.said.parts if p.functions)

    def not_exchanged(self, symptoms: Sequence[Symptom]) -> bool:
        """Whether lamps are said to be exchanged, and none is told to shine in another's place."""
        said = any(k.exchanged for k in all_says(self.said.parts))
        on = self.lexicon.healthy.on
        return said and not any(isinstance(k, LampSeen) and k.words == LIT and k.lamp not in on(s.state)
                                for s in symptoms for k in s.seen)

    def left_out(self, symptoms: Sequence[Symptom]) -> int:
        """Of how many parts of the sentence nothing stands in the symptoms."""
        return Reading(self.said, self.lexicon, symptoms).left_out()


def nearest_first(
    ready: Sequence[Sequence[Symptom]], text: str, lexicon: Lexicon, ways: Sequence[Sequence[Symptom]] = (),
    pieces: Sequence[Sequence[Symptom]] = (), sure: bool = False,
) -> list[Sequence[Symptom]]:
    """Several ready readings, those first in which everything stands that was spoken of; else as they came.

    Args:
        ways: Others, of which only those count in which all stands that was said.
        pieces: Others still, where the ready ones may be none of what was meant.
        sure: Those of the others come first: in none of the ready ones does all stand.
    """
    account = Account(text, lexicon)
    if sure or not pieces:
        whole = [way for way in (*ways, *pieces) if not account.left_open(way)]
        if sure:
            return [*whole, *(f for r in ready if (f := account.fitting(r))), *ready, *pieces]
        return sorted([*ready, *whole], key=account.left_out)
    missing = {id(way): account.left_out(way) + account.not_exchanged(way) for way in (*ready, *ways, *pieces)}
    if not min(missing.values()):  # then none of those in which something is left out
        ways, pieces = ([way for way in some if not missing[id(way)]] for some in (ways, pieces))
    return sorted([*ready, *ways, *pieces], key=lambda way: (missing[id(way)], len(account.left_open(way))))


def at_odds(one: Sequence[Symptom], other: Sequence[Symptom]) -> bool:
    """Whether two readings tell of a lamp in other states, or in the same state otherwise."""
    first, second = _by_lamp(one), _by_lamp(other)
    for lamp in first.keys() & second.keys():
        shared = first[lamp].keys() & second[lamp].keys()
        if not shared or any(not any(a.words & b.words and a.sometimes == b.sometimes for a in first[lamp][s]
                                     for b in second[lamp][s]) for s in shared):
            return True
    return False


def _by_lamp(symptoms: Sequence[Symptom]) -> dict[str, dict[VehicleState, list[LampSeen]]]:
    out: dict[str, dict[VehicleState, list[LampSeen]]] = {}
    for symptom in symptoms:
        for k in (k for seen in symptom.seen for k in looks_of(seen)):
            if isinstance(k, LampSeen):
                out.setdefault(k.lamp, {}).setdefault(symptom.state, []).append(k)
    return out
