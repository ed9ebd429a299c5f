"""Which of several readings of a sentence is meant: how likely each is, by its traits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tracer.observation.evidence import Symptom
from tracer.observation.words.accounted import Account
from tracer.observation.words.likened.cues import cues_of
from tracer.observation.words.likened.examples import Examples, known_examples
from tracer.observation.words.likened.meaning import varied
from tracer.observation.words.likened.on_vehicle import OnVehicle
from tracer.observation.words.likened.traits import (
    Fact,
    Source,
    alike,
    facts_of,
    faults_of,
    told_both_ways,
    traits_of,
)
from tracer.observation.words.likened.weights import WEIGHTS
from tracer.observation.words.speech_lexicon import Lexicon
from tracer.observation.words.speech_parts import hear

_MOST_LIKE = 8  # readings taken from examples
_VARIED, _MADE = 3, 0.3  # so many of them are varied, and such a reading has so much of their say
_ALIKE = 0.6  # complaints of which so much is the same are one


class Reading(Struct, frozen=True):
    """One reading of a sentence.

    Attributes:
        likely: How likely it is meant, among all that were weighed.
        sure: The same together with those that complain of much the same.
        faults: What it complains of.
    """

    symptoms: tuple[Symptom, ...]
    source: Source
    traits: dict[str, float]
    faults: frozenset[Fact] = frozenset()
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
    cues = cues_of(text, lexicon.harness.traffic, hear(text, lexicon).around.since)
    account, found = Account(text, lexicon), dict[frozenset[Fact], tuple[tuple[Symptom, ...], Source]]()

    def add(symptoms: Sequence[Symptom], source: Source) -> None:
        facts = facts_of(symptoms, lexicon)
        before = found.get(facts)
        if before is None and facts and (source.rules or not told_both_ways(facts)):
            found[facts] = (tuple(symptoms), source)
        elif before is not None:
            known = before[1]
            found[facts] = (before[0], Source(
                rules=known.rules or source.rules, choice=known.choice or source.choice,
                share=known.share + source.share, likeness=max(known.likeness, source.likeness),
                made=known.made and source.made))

    add(read, Source(rules=True))
    for place, choice in enumerate(choices[:3], 1):
        add(choice, Source(choice=place))
    here, known = OnVehicle(lexicon), examples or known_examples()
    for place, liked in enumerate(known.liked(cues)[:_MOST_LIKE]):
        add(here.symptoms(liked.meaning), Source(share=liked.share, likeness=liked.likeness))
        others = varied(liked.meaning, cues.sides, cues.functions, cues.moved, cues.others, cues.both_vehicles)
        for other in others if place < _VARIED else ():
            add(here.symptoms(other), Source(share=_MADE * liked.share, likeness=liked.likeness, made=True))
    complaints = {facts: faults_of(facts) for facts in found}
    nearest = max((source.likeness for _, source in found.values()), default=0.0)
    unknown, out = known.unknown(cues), list[Reading]()
    for facts, (symptoms, source) in found.items():
        agreed = sum(found[other][1].share * alike(complaints[facts], complaints[other]) for other in found)
        source = replace(source, agreed=agreed, nearest=nearest, unknown=unknown, left_out=account.left_out(symptoms),
                         left_open=len(account.left_open(symptoms)))
        traits = traits_of(symptoms, facts, source, cues, lexicon)
        out.append(Reading(symptoms, source, traits, complaints[facts]))
    return weighed(out)


def weighed(found: Sequence[Reading], weights: Mapping[str, float] = WEIGHTS) -> list[Reading]:
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
    sure = [sum(p for p, other in zip(likely, found, strict=True) if alike(r.faults, other.faults) >= _ALIKE)
            for r in found]
    return sorted((replace(r, likely=p, sure=s) for r, p, s in zip(found, likely, sure, strict=True)),
                  key=lambda r: -r.likely)
