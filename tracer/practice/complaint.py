"""What the customer says of a hidden fault: the most striking things, in everyday words that the job understands."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Final

from tracer.errors import TracerError
from tracer.harness.model import Harness
from tracer.inference.hypotheses import basic_states
from tracer.observation.evidence import LampSeen
from tracer.observation.forward_model import Predictor
from tracer.observation.words.states import state_words
from tracer.observation.words.symptoms import parse_symptom
from tracer.practice.hidden_faults import Hidden, Oddity, oddities
from tracer.present.job_words import short_state

_MOST_STATES, _MOST_LAMPS = 2, 2
# Brightness that was seen, and whether the lamp should be dark → how a customer says it, the plain word last.
_SAID: Final = {
    ("dark", False): ("does not work", "is dead", "dark"),
    ("faint", False): ("only glows", "faint"),
    ("dim", False): ("is dim", "dim"),
    ("faint", True): ("glows", "faint"),
    ("dim", True): ("comes on dimly", "dim"),
    ("normal", True): ("comes on", "lit"),
}


def complaint(harness: Harness, hidden: Hidden, seed: int) -> tuple[str, ...]:
    """One sentence a vehicle state, the most striking state first, each understood by `Job.symptom`.

    Nobody describes every lamp in every position of the controls: at most two states and two lamps in each.
    """
    rng = random.Random(f"complaint {seed}")
    found: dict[object, list[Oddity]] = {}
    for one in oddities(Predictor(harness), hidden.change, basic_states(harness)):
        found.setdefault(one.state, []).append(one)
    left = sorted(found.values(), key=lambda odd: (-max(map(_striking, odd)), rng.random()))
    said, named = list[str](), set[str]()
    while left and len(said) < _MOST_STATES:
        odd = next((o for o in left if not named & {x.lamp for x in o}), left[0])  # the second tells of other lamps
        left.remove(odd)
        said.append(_sentence(harness, odd, hidden.loose, rng))
        named |= {o.lamp for o in odd}
    return tuple(said)


def _striking(odd: Oddity) -> int:
    """A dark lamp and one that lights falsely are noticed before one that is dim, and that before a rhythm."""
    look, usual = odd.look.partition(",")[0], odd.usual.partition(",")[0]
    return 3 if look == "dark" else 2 if usual == "dark" else 1 if look != usual else 0


def _sentence(harness: Harness, odd: Sequence[Oddity], loose: bool, rng: random.Random) -> str:
    told = sorted(odd, key=lambda o: (-_striking(o), rng.random()))[:_MOST_LAMPS]
    plain = ", ".join(_plain(o, loose) for o in told)
    spoken = ", ".join(rng.choice(_ways(o, loose)) for o in told)
    whole, short = state_words(told[0].state), short_state(harness, told[0].state)
    tried = [f"{words} when {state}" for words in (spoken, plain) for state in (short, whole)]
    return next((words for words in tried if _means(words, harness, told)), tried[-1])


def _ways(odd: Oddity, loose: bool) -> tuple[str, ...]:
    look, _, rhythm = odd.look.partition(",")
    ways = _SAID.get((look, odd.usual.startswith("dark")), ())
    if rhythm or not ways or loose:
        return (_plain(odd, loose),)
    return tuple(f"{odd.lamp} {way}" for way in ways)


def _plain(odd: Oddity, loose: bool) -> str:
    look = odd.look.replace(",", "")
    if odd.usual.startswith("dark"):
        look = look.replace("normal", "lit")
    return f"{odd.lamp} {'sometimes ' if loose else ''}{look}"


def _means(words: str, harness: Harness, told: Sequence[Oddity]) -> bool:
    """Whether the sentence is understood as it is meant."""
    try:
        symptom = parse_symptom(words, harness)
    except TracerError:
        return False
    seen = {s.lamp: s for s in symptom.seen if isinstance(s, LampSeen)}
    bright = {o.lamp: o.look.partition(",")[0] for o in told}
    return symptom.state == told[0].state and seen.keys() == bright.keys() and all(
        bright[lamp] in s.words for lamp, s in seen.items())
