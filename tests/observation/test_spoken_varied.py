"""Two hundred sentences put together from phrases written down here by hand, whose meaning is known by construction.

Nothing is taken from the reader: the phrases are what people at a counter say (common practice, no source), the seed
is fixed. One sentence in three has one or two slips of the typing finger in words of six letters and more.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.library import MODELS
from tracer.errors import TracerError
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import LampSeen, Symptom
from tracer.observation.words.symptoms import understand

SALOON = load_harness(Path(MODELS) / "saloon_1970s.yaml")
LIT = "faint dim normal bright"
SIDES = {
    "left": ["left", "n/s", "nearside", "left hand", "l/h", "near side", "passenger's side"],
    "right": ["right", "o/s", "offside", "right hand", "r/h", "off side", "driver's side"],
}
# Lamp (with its side left out) → what it is called, and the moves that switch it on.
LAMPS: dict[str, tuple[list[str], dict[str, str]]] = {
    "{} rear stop": (["brake light", "stop light", "stop lamp", "brake lamp", "rear brake light"],
                     {"brake pedal": "pressed"}),
    "{} rear tail": (["tail light", "tail lamp", "tail", "rear tail light"], {"lamp switch": "side"}),
    "{} rear indicator": (["rear indicator", "rear flasher", "rear winker", "back blinker", "rear turn signal"], {}),
    "{} front indicator": (["front indicator", "front flasher", "front winker"], {}),
    "{} reversing lamp": (["reversing light", "reverse light", "reversing lamp", "reverse lamp"],
                          {"gear": "reverse"}),
    "{} headlamp main": (["main beam", "high beam", "full beam"], {"lamp switch": "head", "dip switch": "main"}),
    "{} headlamp dip": (["dipped beam", "dip beam", "low beam", "headlight"], {"lamp switch": "head"}),
    "{} front side": (["sidelight", "side light", "front sidelight", "parking light"], {"lamp switch": "side"}),
}
# What is said of a lamp in its own state: words, whether sometimes.
OWN: list[tuple[str, str, bool]] = [
    *((said, "dark", False) for said in (
        "dead", "is dead", "out", "is out", "not working", "doesn't work", "won't come on", "is gone", "does not "
                                                                                                       "light",
        "isn't working", "has packed up", "won't light", "not lit", "no good")),
    *((said, "dim", False) for said in ("dim", "is weak", "poor", "is dull", "very poor", "is a bit dim",
                                             "half bright")),
    *((said, "normal", False) for said in ("fine", "OK", "works", "is all right", "good", "is working")),
    *((said, "dark", True) for said in ("cuts out now and then", "works sometimes", "is intermittent", "comes and "
                                                                                                       "goes",
                                        "goes out over bumps")),
    *((said, "dark faint dim", True) for said in ("flickers", "is flickering")),
    *((said, "bright", False) for said in ("too bright", "is too bright")),
]
# What is said of a lamp in the state of another.
FOREIGN: list[tuple[str, str]] = [
    ("comes on", LIT), ("lights up", LIT), ("is lit", LIT), ("glows", "faint"), ("glows faintly", "faint"),
    ("is dim", "dim"),
    ("lights", LIT),
]
WHEN: list[tuple[list[str], dict[str, str]]] = [
    (["when I brake", "with my foot on the brake", "when braking", "as soon as I brake", "when you press the brake"],
     {"brake pedal": "pressed"}),
    (["with the sidelights on", "on sidelights", "when the side lights are on"], {"lamp switch": "side"}),
    (["in reverse", "when I select reverse", "when I put it in reverse", "when reversing"], {"gear": "reverse"}),
    (["when indicating left", "with the left indicator on", "when I indicate left"], {"indicator stalk": "left"}),
    (["when indicating right", "with the right flasher going"], {"indicator stalk": "right"}),
    (["on main beam", "with full beam on"], {"lamp switch": "head", "dip switch": "main"}),
]


@dataclass(frozen=True)
class Case:
    text: str
    meant: frozenset[tuple[tuple[tuple[str, str], ...], str, frozenset[str], bool]]


def _moves(symptom: Symptom) -> tuple[tuple[str, str], ...]:
    base = SALOON.state({})
    return tuple(sorted((c, p) for c, p in symptom.state.positions if p != base[c]))


def _means(symptoms: Sequence[Symptom]) -> object:
    out = set()
    for s in symptoms:
        for one in s.seen:
            if not isinstance(one, LampSeen) or one.flash not in (None, "fast", "steady"):
                return one
            out.add((_moves(s), one.lamp, one.words, one.sometimes))
    return frozenset(out)


def _slipped(text: str, rng: random.Random) -> str:
    """One or two words with a letter left out, doubled, wrong or exchanged with the next."""
    words = text.split(" ")
    long = [i for i, w in enumerate(words) if len(w) >= 6 and w.isalpha() and w not in ("doesn't", "nothing")]
    for i in rng.sample(long, min(len(long), rng.choice([1, 1, 2]))):
        w, at = words[i], rng.randrange(1, len(words[i]) - 1)
        words[i] = rng.choice([
            w[:at] + w[at + 1 :], w[:at] + w[at] + w[at:], w[:at] + w[at + 1] + w[at] + w[at + 2 :],
            w[:at] + rng.choice("aeiostn") + w[at + 1 :],
        ])
    return " ".join(words)


def _case(rng: random.Random) -> Case:
    lamp = rng.choice(list(LAMPS))
    called, moves = LAMPS[lamp]
    name, kind = rng.choice(called), rng.random()
    which = rng.choice(["left", "right", "left", "right", "both"])
    sides = ["left", "right"] if which == "both" else [which]
    looks = OWN
    if "indicator" in lamp:
        looks = [o for o in OWN if o[1] != "bright"]
    if name == "headlight":  # whoever finds them good has tried main beam too
        looks = [o for o in looks if o[1] != "normal"]
    foreign = kind < 0.35 and name != "headlight"  # which filament of it shines nobody can see
    look, words, sometimes = rng.choice(looks)
    own = [(s, {"indicator stalk": s} if "indicator" in lamp else moves) for s in sides]
    when = ""
    if foreign:
        whens, where = rng.choice([w for w in WHEN if not any(set(m.items()) & set(w[1].items()) for _, m in own)])
        (look, words), sometimes, when = rng.choice(FOREIGN), False, rng.choice(whens)
        own = [(s, where) for s in sides]
    elif rng.random() < 0.2:
        look = f"{look}, every time" if not sometimes and words == "dark" else look
    meant = frozenset(
        (tuple(sorted(m.items())), lamp.format(s), frozenset(words.split()), sometimes) for s, m in own
    )
    if which == "both":
        plural = "tail lights" if name == "tail" else f"{name}s"
        subject = rng.choice([f"both {plural}", f"{plural} on both sides", f"left and right {plural}"])
        for one, several in (("doesn't", "don't"), ("isn't", "aren't"), ("is ", "are "), ("has ", "have ")):
            look = look.replace(one, several)
        text = f"{subject} {look}"
    else:
        side = rng.choice(SIDES[which])
        plain_side = rng.choice(["left", "left hand side", "nearside"] if which == "left" else
                                ["right", "right hand side", "offside"])
        text = rng.choice([f"{side} {name} {look}", f"the {side} {name} {look}", f"{name} on the {plain_side} {look}",
                           f"{name} {look} on the {plain_side}"])
    if when:
        text = rng.choice([f"{text} {when}", f"{when} the {text.removeprefix('the ')}", f"{text}, {when}"])
    if rng.random() < 1 / 3:
        text = _slipped(text, rng)
    return Case(text, meant)


def test_two_hundred_sentences_are_understood_or_offered_and_hardly_one_is_taken_wrongly() -> None:
    rng = random.Random(20)
    cases = [_case(rng) for _ in range(200)]
    right, offered, wrong, missed = 0, 0, [], []
    for case in cases:
        try:
            found = _means(understand(case.text, SALOON).symptoms)
        except TracerError as error:
            ready = [_means(understand(c, SALOON).symptoms) for c in error.choices]
            if case.meant in ready:
                offered += 1
            else:
                missed.append((case.text, str(error), error.choices))
            continue
        if found == case.meant:
            right += 1
        else:
            wrong.append((case.text, found, case.meant))
    print(f"understood {right}, offered {offered}, missed {len(missed)}, wrong {len(wrong)} of {len(cases)}")
    assert len(wrong) <= 2, wrong
    assert right + offered >= 190, missed
