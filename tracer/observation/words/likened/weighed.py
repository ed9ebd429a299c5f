"""Which of several readings of a sentence is meant: how likely each is, by its traits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tracer.observation.evidence import Symptom
from tracer.observation.words.accounted import Account
from tracer.observation.words.likened.cues import Cues, cues_of
from tracer.observation.words.likened.examples import Examples, known_examples
from tracer.observation.words.likened.on_vehicle import OnVehicle
from tracer.observation.words.likened.traits import Fact, Source, facts_of, faults_of, traits_of
from tracer.observation.words.likened.weights import WEIGHTS
from tracer.observation.words.speech_lexicon import Lexicon

_MOST_LIKE = 8  # readings taken from examples


class Reading(Struct, frozen=True):
    """One reading of a sentence.

    Attributes:
        likely: How likely it is meant, among all that were weighed.
        sure: The same together with those that complain of the same, and differ in what they tell to be well.
    """

    symptoms: tuple[Symptom, ...]
    source: Source
    traits: dict[str, float]
    likely: float = 0.0
    sure: float = 0.0


def readings(
    text: str, lexicon: Lexicon, read: Sequence[Symptom], choices: Sequence[Sequence[Symptom]],
    examples: Examples | None = None,
) -> list[Reading]:
    """Every reading of a sentence that is known of, the likeliest first.

    Args:
        text: The sentence, its slips put right.
        read: How the rules read it; empty where they do not.
        choices: What they would have asked.
        examples: Those that come with the package, if none are given.
    """
    cues = cues_of(text, lexicon.harness.traffic)
    account, found = Account(text, lexicon), dict[frozenset[Fact], tuple[tuple[Symptom, ...], Source]]()

    def add(symptoms: Sequence[Symptom], source: Source) -> None:
        facts = facts_of(symptoms, lexicon)
        before = found.get(facts)
        if before is None and facts:
            found[facts] = (tuple(symptoms), source)
        elif before is not None:
            known = before[1]
            found[facts] = (before[0], Source(
                known.rules or source.rules, known.choice or source.choice, max(known.share, source.share),
                max(known.likeness, source.likeness)))

    add(read, Source(rules=True))
    for place, choice in enumerate(choices[:3], 1):
        add(choice, Source(choice=place))
    here = OnVehicle(lexicon)
    for liked in (examples or known_examples()).liked(cues)[:_MOST_LIKE]:
        add(here.symptoms(liked.meaning), Source(share=liked.share, likeness=liked.likeness))
    return weighed([_read(s, source, account, cues, lexicon) for s, source in found.values()], lexicon)


def _read(symptoms: tuple[Symptom, ...], source: Source, account: Account, cues: Cues, lexicon: Lexicon) -> Reading:
    source = replace(source, left_open=len(account.left_open(symptoms)), left_out=account.left_out(symptoms))
    return Reading(symptoms, source, traits_of(symptoms, source, cues, lexicon))


def weighed(found: Sequence[Reading], lexicon: Lexicon, weights: Mapping[str, float] = WEIGHTS) -> list[Reading]:
    """Readings with how likely each is meant, the likeliest first.

    Args:
        weights: Trait → what it weighs, in natural logarithms of odds.
    """
    if not found:
        return []
    scores = [sum(weights.get(name, 0.0) * value for name, value in r.traits.items()) for r in found]
    most = max(scores)
    odds = [math.exp(score - most) for score in scores]
    likely = [o / sum(odds) for o in odds]
    complaints = [faults_of(facts_of(r.symptoms, lexicon)) for r in found]
    sure = [sum(p for p, other in zip(likely, complaints, strict=True) if other == own) for own in complaints]
    return sorted((replace(r, likely=p, sure=s) for r, p, s in zip(found, likely, sure, strict=True)),
                  key=lambda r: -r.likely)
