"""A test in the tool's own printed words, read back: whatever `Test.says` prints is understood as that test.

Nothing of those words is written here a second time: tests that the named things allow are made and printed again,
until one says the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from tracer.errors import TracerError
from tracer.harness.devices import Source
from tracer.harness.inspectable import bulb_positions, things_in
from tracer.harness.model import VehicleState
from tracer.harness.terminal_words import parts_wired
from tracer.observation.actions import ACTIONS, Intervention, Target
from tracer.observation.evidence import Test, inspection, wiggling
from tracer.observation.test_kinds import KINDS
from tracer.observation.words.states import parse_state
from tracer.observation.words.symptom_data import fuses
from tracer.observation.words.terminals import Terminals

_ALSO: Final = re.compile(r"\s*; from there also at: .*\Z", re.DOTALL)
_SET: Final = re.compile(r"\Aset (.+)\Z", re.DOTALL)
_MOST_NODES: Final = 12  # named in one text; their pairs are tried


def read_printed(text: str, terminals: Terminals) -> Test | None:
    """The test that prints itself so; None if there is none."""
    harness = terminals.harness
    if not any(f.lamp in text for f in harness.lamps()) and not any(t.name in text for t in things_in(harness)):
        return None  # whatever is tested is named
    said = " ".join(_ALSO.sub("", text).split()).rstrip(".")
    pieces = said.split("; ")
    done: list[Intervention] = []  # first, as it is done with everything off
    while pieces:
        found_one = next((i for i in _interventions(pieces[0], terminals) if i.says(harness) == pieces[0]), None)
        if found_one is None:
            break
        done.append(found_one)
        pieces = pieces[1:]
    state = harness.state({})
    if pieces and (found := _SET.match(pieces[0])):
        try:
            state = parse_state(found.group(1), harness)
        except TracerError:
            return None
        pieces = pieces[1:]
    if not pieces or len(pieces) > 2:
        return None
    observed = "; ".join(pieces)
    for test in _tests(observed, state, tuple(done), terminals):
        if test.says(harness) == said:
            return test
    return None


def _named(text: str, terminals: Terminals) -> list[str]:
    """The nodes that a text speaks of, in any of the ways in which they are printed."""
    harness = terminals.harness
    body = harness.reference
    found = [n for n, said in terminals.printed.items() if n != body and any(w in text for w in said)]
    found.sort(key=lambda n: -len(terminals.printed[n][-1]))
    return [*found[:_MOST_NODES], body]


def _tests(text: str, state: VehicleState, done: Sequence[Intervention], terminals: Terminals) -> Iterator[Test]:
    """Tests that may print the text, with what was done."""
    harness = terminals.harness
    lamps = [f.lamp for f in harness.lamps() if f.lamp in text]
    yield from (Test("look", state, lamp=lamp, done=tuple(done)) for lamp in lamps)
    things = list(things_in(harness))
    if "watch" in text:
        yield from (wiggling(harness, thing, state, lamp) for lamp in lamps for thing in things)
        return
    yield from (inspection(harness, thing) for thing in things)
    kinds = [k for k, row in KINDS.items() if row.probes]
    nodes = _named(text, terminals)
    out = next((i.target for i in done if i.row.target in ("lamp", "fuse")), None)
    if out is not None:  # in the hand, where the terminals are not printed
        inner = [n for f in harness.lamps() if f.bulb == out for n in (f.a, f.b)]
        inner += [n for p in harness.parts.values() if p.name == out for d in p.devices if not isinstance(d, Source)
                  for n in (d.a, d.b)]
        nodes = list(dict.fromkeys([*inner, *nodes]))
    for kind in kinds:
        yield from (Test(kind, state, a, b, "", tuple(done)) for a in nodes for b in nodes if a != b)


def _interventions(text: str, terminals: Terminals) -> Iterator[Intervention]:
    """What may have been done on purpose, of things that the text names."""
    harness = terminals.harness
    bullets = [n for n in _named(text, terminals) if harness.is_bullet(n)]
    things: dict[Target | None, list[str]] = {
        "connector": list(harness.connectors), "fuse": list(fuses(harness)), "lamp": list(bulb_positions(harness)),
        "node": _named(text, terminals), "splice": list(harness.splices), "bullet": bullets,
        "part": list(parts_wired(harness)), "battery": ["battery"],
    }
    for action, row in ACTIONS.items():
        for target in things.get(row.target, []):
            if row.target not in ("node", "bullet", "battery") and target not in text:
                continue
            others = harness.far_ends(target) if row.other == "leg" else things.get(row.other, [""])
            yield from (Intervention(action, target, other) for other in others if other != target)
