"""What somebody says they saw: in the harness's own words or as it is spoken, understood or asked back."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from itertools import combinations, islice, product
from typing import Final

from msgspec.structs import replace

from tracer.errors import SymptomError, TracerError
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness, VehicleState
from tracer.observation.evidence import LampSeen, Seen, Symptom
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.story import Story
from tracer.observation.words.accounted import Account, at_odds, nearest_first
from tracer.observation.words.asides import without_asides
from tracer.observation.words.carried import ways_left_open
from tracer.observation.words.framed import unframed
from tracer.observation.words.leaning import joined
from tracer.observation.words.likened.decided import decided, decided_else
from tracer.observation.words.other_ways import other_ways
from tracer.observation.words.own_words import as_written, in_own_words, ready_made
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plainer import plainer
from tracer.observation.words.sentences import (
    MOST_CHOICES,
    AskedError,
    lexicon_of,
    one_sentence,
    ready_sentences,
    symptoms_written,
    written_as,
)
from tracer.observation.words.speech import tells_only_story
from tracer.observation.words.speech_choices import of_one
from tracer.observation.words.speech_parts import hear
from tracer.observation.words.speech_states import Understood
from tracer.observation.words.spelling import spelled_right
from tracer.observation.words.symptom_data import (
    FLASHES,
    fuses,
    lamp_as_data,
    lamp_from_data,
    loads,
    relays,
    symptom_as_data,
    symptom_from_data,
    symptoms_as_data,
    symptoms_from_data,
)
from tracer.observation.words.turned import SENTENCES, turned, works_only_there
from tracer.observation.words.words import check_length
from tracer.observation.words.written import EXAMPLE

__all__ = [
    "EXAMPLE", "FLASHES", "Understood", "example_sentence", "fuses", "lamp_as_data", "lamp_from_data", "loads",
    "parse_symptom", "relays", "symptom_as_data", "symptom_from_data", "symptoms_as_data", "symptoms_from_data",
    "understand", "written_as",
]
_OPEN: Final = " leaves open "
_PARTS: Final = Pattern(r"\s*[,;]\s+|\.\s+|\s+-+\s+")
_FRONTED: Final = Pattern(
    r"^(?:when|as soon as) I (?:brake|press the brake pedal|reverse|indicate(?: left| right)?)(?= \S+ \S)(?! (?:and|"
    r"or|but|with)\b)", 2)
_SET: Final = Pattern(
    r"^\s*(?:with |the |my |and )*(?:(?:side|head) ?)?lights? (?:are )?(?:on|off)\s*$|^\s*(?:it|they|she|he)\b", 2)


def understand(text: str, harness: Harness, healthy: HealthyStates | None = None) -> Understood:
    """Understand a sentence about what was seen.

    Args:
        healthy: What the healthy vehicle does, if that is known already.

    Raises:
        SymptomError: It is not understood, or could mean several things; `choices` are the nearest ready sentences.
        UnknownNameError: It names something that the harness does not have, with the same.
    """
    own = healthy or healthy_states(harness)
    lexicon = lexicon_of(own)
    try:
        told = read_by_rules(text, harness, own)
    except TracerError as error:
        if ready_made(text, harness):
            return Understood(tuple(replace(s, text=text) for s in symptoms_written(text, harness)), verbatim=True)
        return decided_else(text, spelled_right(text, lexicon)[0], lexicon, error)
    if in_own_words(text, told, harness):
        return told
    return decided(text, spelled_right(text, lexicon)[0], lexicon, told)


def read_by_rules(text: str, harness: Harness, healthy: HealthyStates | None = None) -> Understood:
    """What a sentence says by the rules of speech alone; arguments and errors as of `understand`."""
    check_length(text)
    own = healthy or healthy_states(harness)
    bare, aside = without_asides(unframed(text), bool(lexicon_of(own).lamps.towed))
    spelled, slips = spelled_right(bare, lexicon_of(own))
    ways = [(plainer(bare), plainer(spelled))]
    if as_written(bare, harness):  # it is read as it stands, if that can be meant
        ways.insert(0, (bare, spelled))
    if (parted := _FRONTED.sub(r"\g<0>,", ways[-1][0])) != ways[-1][0]:  # with a comma where it is heard
        ways.append((parted, _FRONTED.sub(r"\g<0>,", ways[-1][1])))
    for way in ways:
        try:
            told, slips = _spelled_or_not(*way, slips, harness, own)
        except TracerError as error:
            for put in {*way} - {text}:  # his own words are quoted
                error.message = error.message.replace(f"“{clip(put)}”", f"“{clip(text)}”")
            if way is ways[-1]:
                raise
        else:
            break
    if way[0] == text and not slips:
        return told
    noted = (f"“{typed}” is {taken}" for typed, taken in slips)
    return replace(told, symptoms=tuple(replace(s, text=text) for s in told.symptoms), verbatim=False,
                   assumed=tuple(dict.fromkeys([*noted, *told.assumed])), unused=(*told.unused, *aside))


def _spelled_or_not(
    said: str, spelled: str, slips: list[tuple[str, str]], harness: Harness, own: HealthyStates,
) -> tuple[Understood, list[tuple[str, str]]]:
    """What a sentence says with its slips put right, else as it was typed; and the slips that counted."""
    if not slips:
        return _whole(said, harness, own), slips
    try:  # a turn of phrase is known by its words: with slips put right it may be one
        return _whole(spelled, harness, own), slips
    except TracerError as error:
        return _as_typed(error, said, harness, own), []


def _as_typed(error: TracerError, text: str, harness: Harness, own: HealthyStates) -> Understood:
    """What a sentence says as it was typed, where it is not understood with its slips put right; if it is not either,
    what may have been meant is that of the one that was put right."""
    try:
        return _whole(text, harness, own)
    except TracerError as again:
        again.choices = error.choices or again.choices
        raise again from None


def _whole(text: str, harness: Harness, own: HealthyStates) -> Understood:
    """What a sentence says, as it was typed; errors as of `understand`."""
    try:
        told = _understood(text, harness, own)
    except AskedError:
        raise
    except TracerError as error:
        error.choices = _nearest(text, [symptoms_written(c, harness) for c in error.choices], harness, own)
        raise
    why, ways = ways_left_open(text, told, own, lambda said: _understood(said, harness, own))
    if ways:
        raise SymptomError(f"“{clip(text)}”: {why}", "say which was meant", ready_sentences(ways, own))
    if told.verbatim:
        return told
    account = Account(text, lexicon_of(own))
    open_ = account.left_open(told.symptoms, told.unused)
    if not open_ and account.open_scope(told.symptoms):
        ways = other_ways(text, lambda said: _understood(said, harness, own), asked=False)
        if any(at_odds(told.symptoms, way) and not account.left_open(way) for way in ways):
            open_ = ["it is not sure of which part it is said when, or how often"]
    if not open_:
        return told
    raise SymptomError(f"“{clip(text)}”: {open_[0]}", "say which was meant, or each thing in a sentence of its own",
                       _nearest(text, [told.symptoms], harness, own, sure=True))


def _nearest(
    text: str, ready: Sequence[Sequence[Symptom]], harness: Harness, own: HealthyStates, sure: bool = False,
) -> tuple[str, ...]:
    """The ready sentences for what is not understood, or not surely: those first in which most of it stands."""
    account = Account(text, lexicon_of(own))
    ways = other_ways(text, lambda said: _understood(said, harness, own))
    open_ = sure or not ready or _strange(text, own) or any(account.left_out(r) for r in ready)
    pieces = _by_pieces(text, own) if open_ else []  # else one of the ready ones is meant
    ways, pieces = ([_joined(way) for way in some] for some in (ways, pieces))
    choices = ready_sentences(nearest_first(ready, text, lexicon_of(own), ways, pieces, sure), own)
    wrong = [len(account.left_open(symptoms_written(c, harness))) for c in choices]
    if len(choices) == MOST_CHOICES and not any(wrong):
        return choices
    plain = ready_sentences([told], own) if (told := _parts_understood(text, harness, own)) else ()
    if {*plain} - {*choices} and len(choices) == MOST_CHOICES:
        worst = max(range(MOST_CHOICES), key=lambda n: (wrong[n], n))
        choices = (*choices[:worst], *choices[worst + 1 :])
    return tuple(dict.fromkeys([*choices, *plain]))


def _parts_understood(text: str, harness: Harness, own: HealthyStates) -> tuple[Symptom, ...]:
    """What the parts of a sentence say that are understood for sure, each by itself, without those that are not:
    often they are the complaint, and the rest is talk; nothing where all or none are."""
    parts = [p for p in _PARTS.split(text) if p.strip()]
    told, sure = list[Symptom](), 0
    for part in parts if len(parts) > 1 else ():
        try:
            heard = _understood(plainer(part), harness, own)
        except TracerError as error:
            if _OPEN in error.message:
                return ()  # it is known, and one of several is meant
            continue
        account = Account(plainer(part), lexicon_of(own))
        if not _SET.match(part) and not heard.unused and not account.left_open(heard.symptoms):
            told, sure = [*told, *heard.symptoms], sure + 1
    return _joined(_told_once(told)) if 0 < sure < len(parts) else ()


def _plainly(text: str) -> list[str]:
    """The sentences of a text, with its turns of phrase in plain words."""
    return [s for s in SENTENCES.split(turned(text)) if s.strip()]


def _strange(text: str, own: HealthyStates) -> bool:
    """Whether a word was said that is not known here."""
    each = [hear(s, lexicon_of(own)) for s in _plainly(text)]
    return any(h.unknown or (h.inside and not of_one(h)) for h in each)


def _by_pieces(text: str, own: HealthyStates) -> list[tuple[Symptom, ...]]:
    """What the pieces of a text may say: of its sentences together, and of it as it was said."""
    from tracer.observation.words.speech_pieces import by_pieces  # most sentences are understood

    each = [by_pieces(s, lexicon_of(own)) or [()] for s in _plainly(text)]
    together = [tuple(s for way in ways for s in way) for ways in islice(product(*each), MOST_CHOICES)]
    return [w for w in (*together, *by_pieces(text, lexicon_of(own))) if w]


def _joined(way: Sequence[Symptom]) -> tuple[Symptom, ...]:
    """What is told of one state in several pieces, together."""
    out: dict[VehicleState, Symptom] = {}
    for told in way:
        before = out.get(told.state)
        if before is not None:
            known = {k.lamp for k in before.seen if isinstance(k, LampSeen)}  # what was said of them first holds
            more = [k for k in told.seen if not (isinstance(k, LampSeen) and k.lamp in known)]
            told = replace(before, seen=tuple(dict.fromkeys([*before.seen, *more])),
                           others_normal=before.others_normal or told.others_normal)
        out[told.state] = told
    return tuple(out.values())


def _understood(text: str, harness: Harness, own: HealthyStates) -> Understood:
    """What a text says, as its sentences are read one by one."""
    sentences = _with_story(_plainly(joined(text, lexicon_of(own))), own)
    if len(sentences) > 1:
        each = _each_sentence(sentences, text, harness, own)
        if works_only_there(text):
            each[1:] = [replace(u, symptoms=_elsewhere(u.symptoms, each[0].symptoms, own)) for u in each[1:]]
        told = _told_once([s for u in each for s in u.symptoms])
        _check_agreed(told, text)
        assumed, unused = [a for u in each for a in u.assumed], [w for u in each for w in u.unused]
        story = reduce(Story.and_then, [u.story for u in each])
        verbatim = all(u.verbatim for u in each) and ". ".join(sentences) in text
        return Understood(told, tuple(dict.fromkeys(assumed)), tuple(dict.fromkeys(unused)), story, verbatim)
    only = one_sentence(sentences[0] if sentences else text, text, harness, own)
    return replace(only, verbatim=only.verbatim and sentences == [text.strip()])


def _each_sentence(
    sentences: Sequence[str], text: str, harness: Harness, own: HealthyStates
) -> list[Understood]:
    """What each of several sentences says; if some leave open which lamp, the choices are of all of them at once."""
    each: list[Understood | TracerError] = []
    for sentence in sentences:
        try:
            each.append(one_sentence(sentence, text, harness, own))
        except TracerError as error:
            each.append(error)
    asked = [e for e in each if isinstance(e, TracerError)]
    if not asked:
        return [e for e in each if isinstance(e, Understood)]
    first, count = asked[0], len(asked[0].choices)
    same = len({e.message.rpartition(_OPEN)[2] for e in asked}) == 1 and (len(asked) == 1 or _OPEN in first.message)
    if count and same and all(len(e.choices) == count for e in asked):
        told = [e.choices if isinstance(e, TracerError) else (
            ". ".join(written_as(s, harness) for s in e.symptoms),) * count for e in each]
        if not any(_twice(way, harness) for way in zip(*told, strict=True)):
            first.choices = tuple(". ".join(w for w in way if w) for way in zip(*told, strict=True))
    raise first


def _twice(sentences: Sequence[str], harness: Harness) -> bool:
    """Whether two of several ready sentences tell of one lamp in one state."""
    told = [s.partition(" when ") for said in sentences for s in SENTENCES.split(said)]
    return any(a[2] == b[2] and any(f.lamp in a[0] and f.lamp in b[0] for f in harness.lamps())
               for a, b in combinations(told, 2))


def _elsewhere(
    symptoms: Sequence[Symptom], there: Sequence[Symptom], healthy: HealthyStates
) -> tuple[Symptom, ...]:
    """The symptoms in other states than those of which something was said: "only with the front brake" is dark with
    the foot brake."""
    said, out = {s.state for s in there}, []
    for symptom in symptoms:
        own = symptom.state
        ways = [own] if own not in said else [healthy.by_another_control(n, own) for n in symptom.lamps_named()]
        out += [replace(symptom, state=way) for way in ways[:1] if way is not None]
    return tuple(out)


def _with_story(sentences: Sequence[str], own: HealthyStates) -> list[str]:
    """The sentences, those that only say what was done to the vehicle joined to the one before, or after."""
    only = [len(sentences) > 1 and tells_only_story(s, lexicon_of(own)) for s in sentences]
    told = [s for s, alone in zip(sentences, only, strict=True) if not alone]
    if not told:
        return list(sentences)
    done = [s for s, alone in zip(sentences, only, strict=True) if alone]
    return [*told[:-1], ", ".join([told[-1].rstrip("., "), *done])]


def _told_once(symptoms: Sequence[Symptom]) -> tuple[Symptom, ...]:
    """Without looks that say of a lamp less than was said of it before: it is lit, after it works."""
    told: dict[tuple[VehicleState, str], LampSeen] = {}
    out = []
    for symptom in symptoms:
        new: list[Seen] = []
        for seen in symptom.seen:
            if isinstance(seen, LampSeen):
                before = told.setdefault((symptom.state, seen.lamp), seen)
                less = before.words <= seen.words and before == replace(seen, words=before.words)
                if less and before is not seen:
                    continue
            new.append(seen)
        if new or not symptom.seen:
            out.append(replace(symptom, seen=tuple(new)))
    return tuple(out)


def _check_agreed(symptoms: Sequence[Symptom], text: str) -> None:
    """Refuses sentences of which one tells a lamp to be dark, and another to shine, in the same state.

    Raises:
        SymptomError: They do.
    """
    told: dict[tuple[VehicleState, str], LampSeen] = {}
    for symptom in symptoms:
        for seen in (k for k in symptom.seen if isinstance(k, LampSeen)):
            before = told.setdefault((symptom.state, seen.lamp), seen)
            if not before.words & seen.words and not (before.sometimes or seen.sometimes):
                both = f"{before.says()} and {seen.says()}"
                raise SymptomError(f"“{clip(text)}”: {both} cannot both be", "say which it is")


def parse_symptom(text: str, harness: Harness, healthy: HealthyStates | None = None) -> Symptom:
    """Understand one symptom; arguments and errors as of `understand`.

    Raises:
        SymptomError: Also where the sentence speaks of several vehicle states.
    """
    found = understand(text, harness, healthy).symptoms
    if len(found) > 1:
        raise SymptomError(f"“{clip(text)}” speaks of {len(found)} vehicle states", "say one at a time",
                           tuple(written_as(s, harness) for s in found[:MOST_CHOICES]))
    return found[0]


def example_sentence(harness: Harness) -> str:
    """A sentence that can be said of this vehicle, to show how: of its first two lamps that share a state."""
    states = healthy_states(harness)
    for lamp in harness.lamps():
        for state in states.own(lamp.lamp)[:1]:
            others = [f.lamp for f in harness.lamps() if f.lamp != lamp.lamp and f.lamp in states.on(state)]
            seen = (LampSeen(lamp.lamp, frozenset({"dim"})), *(LampSeen(o, frozenset({"dark"})) for o in others[:1]))
            return written_as(Symptom(state, seen), harness)
    return EXAMPLE


