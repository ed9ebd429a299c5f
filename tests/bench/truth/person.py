"""Who brings the vehicle: which one to three things they say, in which words, and with which slips.

Everything that could be said of a vehicle and its chance is written down here once, so that the ideal observer knows
it: for every event of a vehicle the chances of all statements sum to one.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tests.bench.truth.laws import WORDS, word_chances
from tests.bench.truth.picture import Known, Shown

SLIP = 0.15
# Of the slips: neighbouring word, mirror lamp, lamp beside it, wrong state, and anything at all.
SHAPES = {"word": 0.48, "mirror": 0.2, "beside": 0.14, "state": 0.14, "any": 0.04}
COUNTS = (0.4, 0.4, 0.2)  # of one, two and three statements
# How striking an event is; which is said first goes with the power 1.5 of it.
STRIKING = {"fuse": 6.0, "function": 6.0, "corner": 4.0, "unasked": 4.5, "rate": 3.5, "single": 1.5, "small": 0.4,
            # One corner where the one across is as wrong: beside two functions, which it has then, it or the other is
            # told one time in 14. None of 12 published cases was told of one side of what was wrong on both
            # (`tracer/inference/silence.py` names them), by the rule of succession one in 14 is.
            "half": 1.08}
SAID = ("dark", "faint", "dim", "lit", "bright", "fast", "slow", "steady", "blows")
_NEAR = {
    "dark": ("faint",), "faint": ("dark", "dim"), "dim": ("faint",), "lit": ("dim",), "bright": ("lit",),
    "fast": ("slow",), "slow": ("fast", "steady"), "steady": ("slow",), "blows": ("blows",),
}
# Of the slips of a word for a lamp without light so many are of light that is not its own, the sun in its reflector.
# All of them where another lamp of the unit shines. A dim lamp called faint is a matter of degree; this is none.
# (Judgement. Of 17 published cases with lamps without light all were told as dark.)
SUN = 0.25
_SMALL = ("panel", "tell-tale", "plate", "instrument", "gauge", "clock", "speedometer", "interior")


@dataclass(frozen=True)
class Statement:
    """What is said: of these lamps (or one fuse), in a state, a word."""

    at: int
    about: tuple[str, ...]
    word: str


@dataclass(frozen=True)
class Event:
    """Something that strikes: its kind, where, and the chances of the words for it."""

    kind: str
    at: int
    about: tuple[str, ...]
    words: tuple[tuple[str, float], ...]


def events(known: Known, shown: Sequence[Shown], when: str) -> list[Event]:
    """What somebody would notice, in everyday use, in the state where it is met first."""
    out: dict[tuple[object, ...], Event] = {}

    def note(kind: str, at: int, about: tuple[str, ...], words: dict[str, float]) -> None:
        likely = max(words, key=lambda w: words[w])
        out.setdefault((about, likely), Event(kind, at, about, tuple(words.items())))

    for at, here in enumerate(shown):
        for fuse in sorted(here.blown - known.sound[at].blown):
            if not any(fuse in e.about for e in out.values()):
                note("fuse", at, (fuse,), {"blows": 1.0})
        wrong = _wrong(known, here, at, when)
        told: set[str] = set()
        for kind, group in _groups(known, at, wrong):
            if kind in ("single", "small") and group[0] in told:
                continue
            told |= set(group)
            total: dict[str, float] = {}
            for lamp in group:
                for w, p in wrong[lamp].items():
                    total[w] = total.get(w, 0.0) + p / len(group)
            note(kind, at, group, total)
    return list(out.values())


def _wrong(known: Known, here: Shown, at: int, when: str) -> dict[str, dict[str, float]]:
    """Lamps that are not as they should be, and the chances of what they are called."""
    out: dict[str, dict[str, float]] = {}
    for lamp, light in here.light.items():
        chances = dict(zip(WORDS, word_chances(known.relative(light, lamp), when).tolist(), strict=True))
        lit = known.lit(at, lamp)
        rate, usual = here.flash.get(lamp, ""), known.sound[at].flash.get(lamp, "")
        if chances["normal" if lit else "dark"] >= 0.5:
            if lit and usual and (rate or "steady") != usual and (rate or "steady") != "flashing":
                out[lamp] = {rate or "steady": 1.0}
            continue
        if lit:
            said = {w: p for w, p in chances.items() if w != "normal"}
        else:
            said = {"faint": chances["faint"], "dim": chances["dim"], "lit": chances["normal"] + chances["bright"]}
        total = sum(said.values())
        out[lamp] = {w: p / total for w, p in said.items() if p / total > 0.005}
        total = sum(out[lamp].values())
        out[lamp] = {w: p / total for w, p in out[lamp].items()}
    return out


def purpose(lamp: str) -> str:
    """What a lamp is for, by its name without its place."""
    places = ("left", "right", "front", "rear", "1", "2", "3", "4")
    return " ".join(w for w in lamp.split() if w not in places).replace("lamp unit ", "")


def _groups(known: Known, at: int, wrong: dict[str, dict[str, float]]) -> Iterator[tuple[str, tuple[str, ...]]]:
    best = {lamp: max(words, key=lambda w, x=words: x[w]) for lamp, words in wrong.items()}  # type: ignore[misc]
    lamps = known.net.lamps
    by_purpose: dict[str, list[str]] = {}
    for lamp in lamps:
        if known.lit(at, lamp):
            by_purpose.setdefault(purpose(lamp), []).append(lamp)
    for group in by_purpose.values():
        if len(group) > 1 and all(x in wrong for x in group) and len({best[x] for x in group}) == 1:
            kind = "rate" if best[group[0]] in ("fast", "slow", "steady") else "function"
            yield kind, tuple(group)
    by_part: dict[tuple[str, str], list[str]] = {}
    for lamp in wrong:
        by_part.setdefault((lamps[lamp].part, best[lamp]), []).append(lamp)
    for group in by_part.values():
        if len(group) > 1:
            yield "half" if _across(best, group) else "corner", tuple(group)
    for lamp in wrong:
        small = any(w in lamp for w in _SMALL)
        rate = best[lamp] in ("fast", "slow", "steady")
        unasked = not known.lit(at, lamp)
        yield ("small" if small else "unasked" if unasked else "rate" if rate else "single"), (lamp,)


def _across(best: dict[str, str], group: Sequence[str]) -> bool:
    """Whether the likes of these lamps on the other side are all called the same."""
    return all(mirror(x) != x and best.get(mirror(x)) == best[x] for x in group)


def mirror(name: str) -> str:
    swap = {"left": "right", "right": "left"}
    return " ".join(swap.get(w, w) for w in name.split())


def chances(known: Known, event: Event) -> dict[Statement, float]:
    """The chance of every statement that this event may lead to; the part for "anything at all" is left out."""
    out: dict[Statement, float] = {}

    def add(at: int, about: tuple[str, ...], word: str, p: float) -> None:
        key = Statement(at, about, word)
        out[key] = out.get(key, 0.0) + p

    lamps = known.net.lamps
    mirrored = tuple(sorted(mirror(x) for x in event.about))
    if mirrored == tuple(sorted(event.about)) or not all(x in lamps for x in mirrored):
        mirrored = ()
    beside: list[str] = []
    if len(event.about) == 1 and event.about[0] in lamps:
        part = lamps[event.about[0]].part
        beside = [x for x, y in lamps.items() if y.part == part and x != event.about[0]]
    elif event.about[0] not in lamps:
        fuses = [p.name for p in known.net.vehicle.parts.values() if p.kind == "fuse"]
        k = fuses.index(event.about[0])
        beside = fuses[max(k - 1, 0):k] + fuses[k + 1:k + 2]
    states = [s for s in range(len(known.states)) if s != event.at and (
        event.about[0] not in lamps or all(known.lit(s, x) == known.lit(event.at, x) for x in event.about))][:3]
    for word, p in event.words:
        near, slipped = _NEAR[word], SLIP * SHAPES["word"] * (_stray(known, event) if word == "dark" else 1.0)
        add(event.at, event.about, word, p * (1 - SLIP + SLIP * SHAPES["word"] - slipped))
        for other in near:
            add(event.at, event.about, other, p * slipped / len(near))
        for shape, places in (("mirror", [mirrored] if mirrored else []), ("beside", [(x,) for x in beside])):
            for about in places or [event.about]:
                add(event.at, about, word, p * SLIP * SHAPES[shape] / max(len(places), 1))
        for at in states or [event.at]:
            add(at, event.about, word, p * SLIP * SHAPES["state"] / max(len(states), 1))
    return out


def _stray(known: Known, event: Event) -> float:
    """How often light may be seen at lamps that have none: where another of their unit shines, as often as any."""
    lamps = known.net.lamps
    parts = {lamps[x].part for x in event.about if x in lamps}
    lit = any(known.lit(event.at, x) for x, lamp in lamps.items() if lamp.part in parts and x not in event.about)
    return 1.0 if lit else SUN


def anything(known: Known) -> float:
    """The chance of one single statement when anything at all is said."""
    return SLIP * SHAPES["any"] / (len(known.states) * len(known.net.lamps) * (len(SAID) - 1))


def sayable(known: Known, statement: Statement) -> bool:
    return len(statement.about) == 1 and statement.about[0] in known.net.lamps and statement.word != "blows"


def speak(known: Known, found: Sequence[Event], rng: random.Random) -> list[Statement]:
    """One to three statements, the most striking first."""
    left, out = list(found), []
    for _ in range(min(rng.choices((1, 2, 3), COUNTS)[0], len(left))):
        e = rng.choices(left, [STRIKING[x.kind] ** 1.5 for x in left])[0]
        left.remove(e)
        options = chances(known, e)
        if rng.random() < SLIP * SHAPES["any"]:
            out.append(Statement(rng.randrange(len(known.states)), (rng.choice(list(known.net.lamps)),),
                                 rng.choice(SAID[:-1])))
        else:
            out.append(rng.choices(list(options), list(options.values()))[0])
    return out


def likelihood(known: Known, found: Sequence[Event], said: Sequence[Statement]) -> float:
    """The exact chance that these statements, in this order, are said of a vehicle with these events."""
    n, k = len(found), len(said)
    counts = np.array(COUNTS)
    of_count = counts[k - 1] if k < n else counts[k - 1:].sum() if k == n else 0.0
    if of_count == 0.0:
        return 0.0
    rest = anything(known)
    weight = [STRIKING[e.kind] ** 1.5 for e in found]
    table = []
    for e in found:
        options = chances(known, e)
        table.append([options.get(s, 0.0) + (rest if sayable(known, s) else 0.0) for s in said])

    def follow(step: int, used: frozenset[int], left: float) -> float:
        if step == k:
            return 1.0
        total = 0.0
        for i in range(n):
            if i not in used and table[i][step] > 0:
                total += weight[i] / left * table[i][step] * follow(step + 1, used | {i}, left - weight[i])
        return total

    return float(of_count * follow(0, frozenset(), sum(weight)))


def sentence(known: Known, statement: Statement) -> str:
    """The statement as the tool takes it."""
    state = known.states[statement.at]
    moved = [f"{c} {p}" for c, p in state.items() if p != known.net.vehicle.controls[c].assumed]
    when = ", ".join(moved) or next(f"{c} {p}" for c, p in state.items())
    rates = {"fast": "flashes fast", "slow": "flashes slow", "steady": "lit, steady"}
    word = rates.get(statement.word, statement.word)
    return ", ".join(f"{x} {word}" for x in statement.about) + f" when {when}"
