"""A proposed test as a screen: what to do with the wires at each point, and every answer with what it means."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from tracer import standards
from tracer.harness.model import Harness
from tracer.harness.terminal_words import say_terminal
from tracer.inference.expected_results import Expectation, by_outcome
from tracer.job.job import Job
from tracer.observation.evidence import Test
from tracer.observation.words.reading_data import test_key
from tracer.planning.next_step import Proposal
from tracer.present.conversation.screens import Answer, Line, Step, Warned, WireMark
from tracer.present.job_words import ordered_steps, probe
from tracer.safety.advice import Caution

_ANSWERS = 4
_SIDE_WORDS = r"\b(left|right)\b"
_ALL_RIGHT = "all as they should be"
_SHORT_LOOK = {"normal": "lit", "normal, flashing": "flashing"}
_FLASHES = ("flashing", "slow", "fast", "steady")
_GRADES = ("danger", "caution", "note")
# What a tapped number stands for: outcomes nearer than this are one (`expected_results.by_outcome`).
_NEAR, _NEAR_PART = 0.2, 0.03


def step_of(job: Job, p: Proposal, test: Test) -> Step:
    """The screen of a proposed test."""
    row = test.row
    place = job.harness.place_of(test.plus)[0] if test.plus else ""
    expected = answers_of(job, p, test)
    chosen = {a.value for a in expected}
    more = tuple(c for c in row.choices if c not in chosen)
    if row.of_lamps and not any(word in c for c in chosen for word in _FLASHES):
        more = tuple(c for c in more if c not in _FLASHES)  # of a lamp that nobody expects to flash
    title = row.short(test.spot(job.harness))
    return Step(
        test_key(test), title[0].upper() + title[1:], p.suspect.repair if p.suspect and p.kind == "repair" else "",
        warned_of(p.cautions_of_test), tuple(_with_right(job, test, p.also)), row.question, expected, more, row.unit,
        p.also, p.cost, p.minutes, p.why,
        tuple(f"{o.says} (about {o.minutes:.0f} min in all)" for o in p.options[1:3]), place, test.lamp,
        tuple(s.text for s in ordered_steps(job, test) if s.phase == "back"),
    )


def warned_of(cautions: Iterable[Caution]) -> tuple[Warned, ...]:
    """Cautions as they are shown, danger first; a note that was said once is not said again."""
    found = [Warned(c.grade, c.text, c.head, c.again and c.grade != "danger") for c in cautions]
    return tuple(sorted((w for w in found if w.grade != "note" or not w.again), key=lambda w: _GRADES.index(w.grade)))


def lines_of(job: Job, test: Test) -> list[Line]:
    """What to do in order up to the reading, each with the wires at its point."""
    harness, lines = job.harness, []
    for text in (s.text for s in ordered_steps(job, test) if s.phase != "back"):
        wires, place = tuple[WireMark, ...](), ""
        for node in (test.plus, test.minus):
            whole = probe(harness, node) if node else ""
            if whole and whole in text and node not in harness.bodies():
                text = text.replace(whole, say_terminal(harness, node))
                wires, place = wires_at(harness, node), _place(harness, node, text)
        lines.append(Line(text, wires, place))
    return lines


def _with_right(job: Job, test: Test, also: Sequence[str]) -> Iterator[Line]:
    """The lines; of a look at several lamps with how they all are when nothing is wrong, since the answers name only
    those that are otherwise."""
    for line in lines_of(job, test):
        seen = also and line.text.startswith("Look at: ")
        yield Line(f"{line.text} Seen from there, right is: {right_looks(job, test, also)}.") if seen else line


def _place(harness: Harness, node: str, said: str) -> str:
    place, minutes = harness.place_of(node)
    where = "" if place in said else place
    reach = f"{minutes:.0f} min" if minutes >= 1 else ""
    return ", ".join(filter(None, [where, reach]))


def wires_at(harness: Harness, node: str) -> tuple[WireMark, ...]:
    """The wires that end at a terminal."""
    known = harness.colour_code in standards.COLOUR_CODES
    found: dict[WireMark, None] = {}
    for wire in harness.wires:
        if wire.colour and any(node in (s.a, s.b) for s in wire.segments):
            words = standards.colour_words(wire.colour, harness.colour_code) if known else None
            found[WireMark(words or (), wire.colour, f"{wire.section_mm2:g} mm²")] = None
    return tuple(found)


def answers_of(job: Job, p: Proposal, test: Test) -> tuple[Answer, ...]:
    """What the leading suspects would show, likeliest first."""
    row = test.row
    if row.findings is not None:
        hint = [f"{e.repair} ({e.shows})" for e in p.expectations[:2]]
        return (Answer(row.findings[0], row.findings[0], tuple(hint)), Answer(row.findings[1], row.findings[1]))
    if p.also:
        return _looks(job, p.expectations, test, p.also)
    found = [
        Answer(_short(o.shows), tapped(o.shows), o.repairs, o.share) for o in by_outcome(p.expectations)[:_ANSWERS]
        if o.shows != "no prediction"
    ]
    return tuple(found)


def _looks(job: Job, expected: Sequence[Expectation], test: Test, also: Sequence[str]) -> tuple[Answer, ...]:
    """Looks at several lamps at once, each by what is otherwise than it should be; and the usual one, if no leading
    suspect shows it."""
    groups: dict[tuple[tuple[str, str], ...], list[Expectation]] = {}
    for e in expected:
        if e.looks:
            groups.setdefault(tuple((lamp, typed_look(look)) for lamp, look in e.looks), []).append(e)
    ordered = sorted(groups.items(), key=lambda g: -sum(e.share for e in g[1]))[:_ANSWERS]
    usual = tuple((x, typed_look(look)) for x, look in job.usual_looks(test.state, (test.lamp, *also)))
    found = [
        Answer(_otherwise(looks, usual), looks[0][1], tuple(e.repair for e in es), sum(e.share for e in es),
               looks[1:])
        for looks, es in ordered
    ]
    if usual not in groups:
        found.append(Answer(_ALL_RIGHT, usual[0][1], (), None, usual[1:]))
    return tuple(found)


def _otherwise(looks: Sequence[tuple[str, str]], usual: Sequence[tuple[str, str]]) -> str:
    """The lamps that are not as they should be, by how they look; those that are dark with what is said of a lamp."""
    by: dict[str, list[str]] = {}
    for (lamp, look), (_, right) in zip(looks, usual, strict=True):
        if look != right:
            by.setdefault(look, []).append(lamp)
    if not by:
        return _ALL_RIGHT
    every = [x for x, _ in looks]
    if len({look for _, look in looks}) == 1:
        return f"all {_lit(next(iter(by)))}"
    return " · ".join(f"{together(lamps, every)} {_lit(look)}" for look, lamps in by.items())


def right_looks(job: Job, test: Test, also: Sequence[str]) -> str:
    """How the lamps of a look are when nothing is wrong: "both tail lit; left stop dark"."""
    by: dict[str, list[str]] = {}
    every = (test.lamp, *also)
    for lamp, look in job.usual_looks(test.state, every):
        by.setdefault(_SHORT_LOOK.get(typed_look(look), typed_look(look)), []).append(lamp)
    return "; ".join(f"{together(by[look], every)} {look}" for look in sorted(by, key="dark".__eq__))


def together(lamps: Sequence[str], among: Sequence[str] = ()) -> str:
    """Lamps in few words: without the words that all of them have, left and right in one."""
    every = among or lamps
    same = set.intersection(*(set(name.split()) for name in every)) if len(every) > 1 else set()
    bare = {name: " ".join(w for w in name.split() if w not in same) for name in every}
    named = all(re.search("[^\\W\\d]", re.sub(_SIDE_WORDS, "", own)) for own in bare.values())  # more than a side
    told = named and len({*bare.values()}) == len({*every})
    short = [bare[name] if told else name for name in lamps]
    out: list[str] = []
    for name in short:
        pair = name.replace("left", "right") if "left" in name else ""
        if pair and pair in short:
            out.append(name.replace("left", "both"))
        elif not ("right" in name and name.replace("right", "left") in short):
            out.append(name)
    return ", ".join(out)


def typed_look(look: str) -> str:
    """A predicted look in the words that are typed for it."""
    return look.replace(", steady instead of flashing", ", steady")


def tapped(shows: str) -> str:
    """What is recorded when an expected answer is tapped: who taps "3.40 V" saw a number near it."""
    match = re.fullmatch(r"(-?[0-9.]+) (V|A)", shows)
    if match is None:
        return typed_look(shows)
    value = float(match[1])
    return f"{value:.2f} {match[2]} ± {max(_NEAR, _NEAR_PART * abs(value)):.2f} {match[2]}"


def _short(shows: str) -> str:
    """A voltage with one decimal, as somebody reads it off at arm's length."""
    match = re.fullmatch(r"(-?[0-9.]+) V", shows)
    return f"{float(match[1]) + 0.0:.1f} V" if match else _lit(typed_look(shows))


def _lit(look: str) -> str:
    """"normal" as a brightness: of a lamp that should be dark it would be taken for that."""
    return re.sub("^normal", "lit normal", look)
