"""Complaints made of parts, with what each means, against what is heard: thousands that nobody wrote by hand.

    python tests/bench/bench_made_sentences.py [--model pickup] [--count 500] [--seed 1] [--show 3]

Each sentence is put together from a lamp as people call it, how it does, when it is so, and a second part (the other
side, another lamp, all others), in everyday orders and with everyday signs between. What it means follows from the
parts and not from the words, so it is judged without anybody: right; asked with the right choice among the first
three; asked without; wrong. Kinds of sentence are told apart by what the second part is, where it stands when it is
so, and what joins the parts. All words are invented here, as people speak (common practice, no source).
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tracer import TracerError
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness, VehicleState
from tracer.observation.evidence import LampSeen, LensSeen, Symptom
from tracer.observation.healthy_states import healthy_states
from tracer.observation.words.symptoms import understand

MODELS: Final = Path(__file__).resolve().parents[2] / "harness_models"
_SIDES: Final = {"left": ("left", "l/h", "nearside", "n/s", "left hand", "lh"),
                 "right": ("right", "r/h", "offside", "o/s", "right hand", "rh")}
_OTHER: Final = {"left": "right", "right": "left"}
_BAD: Final = {
    "dark": ("dead", "out", "not working", "doesn't work", "won't come on", "gone", "isn't working", "not lit"),
    "dim": ("dim", "weak", "dull", "is dim", "very dim", "poor"),
}
_GOOD: Final = ("ok", "fine", "works", "is ok", "all right", "good", "is working", "works fine")
_JOINTS: Final = (", ", " but ", ", but ", " and ", "; ", ". ")


@dataclass(frozen=True)
class Called:
    """Lamps of one purpose: what people call them, how they say when it is so, and what was switched on then."""

    words: tuple[str, ...]
    purpose: str  # a word of the harness's names
    when: tuple[str, ...]
    control: str
    positions: frozenset[str]


_LAMPS: Final = (
    Called(("brake light", "stop light", "stop lamp", "brake lamp"), "stop",
           ("when I brake", "with the brakes on", "on braking", "with my foot on the brake"),
           "brake pedal", frozenset({"pressed"})),
    Called(("tail light", "tail lamp", "tail"), "tail",
           ("with the lights on", "on sidelights", "when I put the lights on"), "lamp switch",
           frozenset({"side", "head"})),
    Called(("dipped beam", "dip beam", "low beam"), "dip", ("with the headlights on", "on dip"), "lamp switch",
           frozenset({"head"})),
    Called(("main beam", "high beam"), "main", ("on main", "with main beam on"), "lamp switch", frozenset({"head"})),
    Called(("reversing light", "reverse light"), "reversing", ("in reverse", "when I reverse"), "gear",
           frozenset({"reverse"})),
    Called(("rear indicator", "back indicator", "rear winker"), "rear indicator",
           ("when indicating", "with the indicators on"), "indicator stalk", frozenset({"left", "right"})),
)


@dataclass(frozen=True)
class Meant:
    """One of these lamps looks so while the control stands in one of the positions."""

    lamps: frozenset[str]
    look: str  # dark, dim or good
    control: str
    positions: frozenset[str]


@dataclass(frozen=True)
class Made:
    text: str
    meant: tuple[Meant, ...]
    others: bool  # all others are as they should be
    kind: str


class Maker:
    """Makes sentences of one vehicle."""

    def __init__(self, harness: Harness, seed: str) -> None:
        self.dice, self._names = random.Random(seed), [f.lamp for f in harness.lamps()]
        self.lamps = [c for c in _LAMPS if c.control in harness.controls and all(self._of(c, s) for s in _SIDES)]

    def _of(self, called: Called, side: str) -> frozenset[str]:
        words = {side, *called.purpose.split()}
        return frozenset(n for n in self._names if words <= {*n.split()})

    def _meant(self, called: Called, side: str, look: str) -> Meant:
        return Meant(self._of(called, side), look, called.control, called.positions)

    def sentence(self) -> Made:
        dice = self.dice
        called, side = dice.choice(self.lamps), dice.choice([*_SIDES])
        other, n = _OTHER[side], dice.randrange(len(_SIDES[side]))
        its, theirs = _SIDES[side][n], _SIDES[other][n]
        look, bad = dice.choice([(look, word) for look, words in _BAD.items() for word in words])
        word = dice.choice(called.words)
        who = dice.choice((f"{its} {word}", f"the {its} {word}", f"my {its} {word}", f"{word} on the {side}"))
        when = dice.choice(called.when) if dice.random() < 0.6 else ""
        meant, kind, second = [self._meant(called, side, look)], dice.choice(
            ("alone", "other side good", "other side bad", "other lamp good", "all others good")), ""
        if kind == "other side good":
            second = dice.choice((f"{theirs} one", theirs, f"the {theirs} one", "other side", "the other one"))
            second += f" {dice.choice(_GOOD)}"
            meant.append(self._meant(called, other, "good"))
        elif kind == "other side bad":
            how = "dark" if look == "dim" else "dim"
            second = f"{dice.choice((f'{theirs} one', theirs, 'other one'))} {dice.choice(_BAD[how])}"
            meant.append(self._meant(called, other, how))
        elif kind == "other lamp good":
            another = dice.choice(
                [c for c in self.lamps if c is not called and c.purpose in ("stop", "tail", "reversing")])
            second = f"{dice.choice(('', its + ' '))}{dice.choice(another.words)} {dice.choice(_GOOD)}"
            meant.append(self._meant(another, side, "good"))
        elif kind == "all others good":
            second = dice.choice(("everything else", "all else", "the rest"))
            second += dice.choice((" ok", " fine", " works"))
        joint = dice.choice(_JOINTS) if second else ""
        where = dice.choice(("first", "between", "last")) if when else "never"
        if where == "last" and kind in ("other lamp good", "all others good"):
            where = "between"  # said last it is told of both
        text = {"first": f"{when}{dice.choice((' ', ', '))}{who} {bad}{joint}{second}",
                "between": f"{who} {bad} {when}{joint}{second}", "last": f"{who} {bad}{joint}{second} {when}",
                "never": f"{who} {bad}{joint}{second}"}[where]
        return Made(text, tuple(meant), kind == "all others good",
                    f"{kind}, when it is so {where}, “{joint.strip() or '-'}”")


def amiss(symptoms: Sequence[Symptom], made: Made) -> str:
    """What was heard otherwise than it was meant; "" where nothing was."""
    told: list[tuple[frozenset[str], LampSeen, VehicleState]] = []
    for symptom in symptoms:
        for seen in symptom.seen:
            if not isinstance(seen, (LampSeen, LensSeen)):
                return f"heard of {seen.says()}"
            first = seen.looks[0] if isinstance(seen, LensSeen) else seen
            told.append((frozenset(seen.lamps if isinstance(seen, LensSeen) else [seen.lamp]), first, symptom.state))
    for one in made.meant:
        there = [k for lamps, k, state in told if lamps & one.lamps and state[one.control] in one.positions]
        if not there:
            return f"nothing of {sorted(one.lamps)[0]}"
        if any(bool(k.words & {"dark", "dim", "faint"}) == (one.look == "good") or (
                one.look != "good" and one.look not in k.words) for k in there):
            return f"{sorted(one.lamps)[0]} is {there[0].look()}"
    named = frozenset(n for one in made.meant for n in one.lamps)
    if extra := [lamps for lamps, k, _ in told if not lamps & named and not (made.others and k.words == {"normal"})]:
        return f"nobody spoke of {sorted(extra[0])[0]}"
    praised = any(k.words == {"normal"} for _, k, _ in told)  # "the rest" may be those of the same kind
    return "nothing of the others" if made.others and not (praised or any(s.others_normal for s in symptoms)) else ""


def main() -> None:
    """Print the shares, and the kinds that were heard wrongly or asked without the right choice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", default="pickup")
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--show", type=int, default=3, help="examples a kind")
    given = parser.parse_args()
    harness = load_harness(MODELS / f"{given.model}.yaml")
    own, maker = healthy_states(harness), Maker(harness, given.seed)
    found, by_kind = Counter[str](), Counter[str]()
    shown = defaultdict[tuple[str, str], list[str]](list)
    for _ in range(given.count):
        made = maker.sentence()
        by_kind[made.kind] += 1
        why = ""
        try:
            why = amiss(understand(made.text, harness, own).symptoms, made)
            came = "WRONG" if why else "right"
        except TracerError as error:
            offered = (understand(choice, harness, own).symptoms for choice in error.choices[:3])
            came = "asked, right choice" if any(not amiss(s, made) for s in offered) else "asked without"
        found[came] += 1
        if came in ("WRONG", "asked without"):
            shown[came, made.kind].append(f"{made.text}{' -> ' if why else ''}{why}")
    print(", ".join(f"{came} {count} ({count / given.count:.1%})" for came, count in found.most_common()))
    for (came, kind), texts in sorted(shown.items(), key=lambda x: (x[0][0], -len(x[1]))):
        print(f"{came}: {kind}: {len(texts)} of {by_kind[kind]}", *(f"    {t}" for t in texts[:given.show]), sep="\n")


if __name__ == "__main__":
    main()
