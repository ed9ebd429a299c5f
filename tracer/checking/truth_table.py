"""What each lamp of the healthy vehicle does in each position of its controls."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product
from typing import Any

from msgspec import Struct

from tracer.checking.survey import MOST_STATES, Survey, states_up_to_pairs
from tracer.harness.lighting_states import lighting_states
from tracer.harness.model import Harness, VehicleState

_MOST_COMBINATIONS = 128  # a lamp that hangs on more controls than that is shown in the states tried


class Line(Struct, frozen=True):
    """One look, and where it is seen: the positions of each control that lead to it (any if absent)."""

    positions: Mapping[str, tuple[str, ...]]
    look: str

    def says(self) -> str:
        said = [f"{c} {' or '.join(p)}" for c, p in self.positions.items()]
        return ", ".join(said) or "always"


class LampGroup(Struct, frozen=True):
    """Lamps that always look alike, the controls they hang on, and what they do.

    `otherwise` is the look wherever no line applies.
    """

    lamps: tuple[str, ...]
    controls: tuple[str, ...]
    lines: tuple[Line, ...]
    otherwise: str


class TruthTable(Struct, frozen=True):
    """The healthy vehicle, lamp by state.

    Attributes:
        states: Every state that was tried; `said` has them in words.
        lamps: Lamps that do not look the same in all of them.
        looks: (states × lamps) in words.
        steady: Lamps that never change, with their look.
        groups: The same by lamp, for people.
    """

    states: tuple[VehicleState, ...]
    said: tuple[str, ...]
    lamps: tuple[str, ...]
    looks: tuple[tuple[str, ...], ...]
    steady: Mapping[str, str]
    groups: tuple[LampGroup, ...]

    def as_data(self) -> dict[str, Any]:
        """Plain values for other programs."""
        return {
            "states": [
                {"says": said, "positions": dict(state.positions), "lamps": dict(zip(self.lamps, row, strict=True))}
                for state, said, row in zip(self.states, self.said, self.looks, strict=True)
            ],
            "never changing": dict(self.steady),
            "by lamp": [
                {
                    "lamps": list(g.lamps), "controls": list(g.controls), "otherwise": g.otherwise,
                    "looks": [
                        {"when": {c: list(p) for c, p in x.positions.items()}, "look": x.look} for x in g.lines
                    ],
                }
                for g in self.groups
            ],
        }

    def as_text(self, width: int = 80) -> str:
        """By lamp: what it does, and in which positions."""
        out: list[str] = []
        for g in self.groups:
            out.append(textwrap.fill(", ".join(g.lamps), width))
            for line in g.lines:
                out += _dotted(line.says(), line.look, width)
            out += _dotted("otherwise", g.otherwise, width)
            out.append("")
        if self.steady:
            out.append("in every position:")
            out += [row for lamp, look in self.steady.items() for row in _dotted(lamp, look, width)]
        return "\n".join(out).rstrip()


def truth_table(harness: Harness, survey: Survey | None = None) -> TruthTable:
    """Solve the healthy vehicle in all states with up to two controls moved, in those with more that a lamp needs,
    and each lamp in every combination of the controls that it hangs on."""
    survey = survey or Survey(harness)
    states = [*states_up_to_pairs(harness, 2 * MOST_STATES), *_around(lighting_states(harness), harness)]
    tried = {s: h.looks for s, h in zip(states, survey.together(states), strict=True)}
    lamps = [f.lamp for f in harness.lamps()]
    controls = {lamp: _controls_of(lamp, tried, harness) for lamp in lamps}
    full: dict[str, dict[tuple[str, ...], str]] = {}
    for lamp, own in controls.items():
        count = 1
        for c in own:
            count *= len(harness.controls[c].positions)
        if count > _MOST_COMBINATIONS:
            own = controls[lamp] = own[:0]
        full[lamp] = {}
        every = list(product(*(harness.controls[c].positions for c in own))) if own else []
        solved = survey.together(harness.state(dict(zip(own, positions, strict=True))) for positions in every)
        for positions, healthy in zip(every, solved, strict=True):
            tried[healthy.state] = healthy.looks
            full[lamp][positions] = healthy.looks[lamp]
    changing = [lamp for lamp in lamps if len({looks[lamp] for looks in tried.values()}) > 1]
    first = next(iter(tried.values()), {})
    return TruthTable(
        tuple(tried), tuple(harness.say_state(s) for s in tried), tuple(changing),
        tuple(tuple(looks[lamp] for lamp in changing) for looks in tried.values()),
        {lamp: first[lamp] for lamp in lamps if lamp not in changing},
        _groups([lamp for lamp in changing if controls[lamp]], controls, full, harness),
    )


def _around(states: Sequence[VehicleState], harness: Harness) -> Iterator[VehicleState]:
    """States in which one more control is moved, or one of those that are is elsewhere: what matters beside them."""
    for state in states:
        for control in harness.controls.values():
            for position in control.positions:
                yield harness.state({**dict(state.positions), control.name: position}, state.engine_running)


def _controls_of(lamp: str, tried: Mapping[VehicleState, Mapping[str, str]], harness: Harness) -> tuple[str, ...]:
    """Controls whose movement alone changes the lamp's look somewhere."""
    found: set[str] = set()
    for name in harness.controls:
        by_rest: dict[tuple[tuple[str, str], ...], set[str]] = {}
        for state, looks in tried.items():
            rest = tuple(cp for cp in state.positions if cp[0] != name)
            by_rest.setdefault(rest, set()).add(looks[lamp])
        if any(len(looks) > 1 for looks in by_rest.values()):
            found.add(name)
    return tuple(c for c in harness.controls if c in found)


def _groups(
    lamps: Sequence[str], controls: Mapping[str, tuple[str, ...]],
    full: Mapping[str, Mapping[tuple[str, ...], str]], harness: Harness,
) -> tuple[LampGroup, ...]:
    alike: dict[tuple[tuple[str, ...], tuple[tuple[tuple[str, ...], str], ...]], list[str]] = {}
    for lamp in lamps:
        alike.setdefault((controls[lamp], tuple(full[lamp].items())), []).append(lamp)
    out = []
    for (own, items), names in alike.items():
        # What is seen most often goes without saying where; dark before anything else.
        counts = Counter(look for _, look in items)
        otherwise = "dark" if "dark" in counts else counts.most_common(1)[0][0]
        lines = []
        for look in dict.fromkeys(look for _, look in items if look != otherwise):
            for box in _merged([p for p, x in items if x == look]):
                positions = {
                    c: tuple(p for p in harness.controls[c].positions if p in chosen)
                    for c, chosen in zip(own, box, strict=True) if len(chosen) < len(harness.controls[c].positions)
                }
                lines.append(Line(positions, look))
        out.append(LampGroup(tuple(names), own, tuple(lines), otherwise))
    return tuple(out)


def _merged(rows: Sequence[tuple[str, ...]]) -> list[tuple[frozenset[str], ...]]:
    """Combinations of positions, those that differ in one control only put together."""
    boxes = [tuple(frozenset([p]) for p in row) for row in rows]
    again = True
    while again:
        again = False
        for one, two in combinations(boxes, 2):
            differing = [i for i, (a, b) in enumerate(zip(one, two, strict=True)) if a != b]
            if len(differing) == 1:
                i = differing[0]
                boxes = [b for b in boxes if b not in (one, two)]
                boxes.append((*one[:i], one[i] | two[i], *one[i + 1:]))
                again = True
                break
    return boxes


def _dotted(left: str, right: str, width: int) -> list[str]:
    """A line with leaders between what stands left and what stands right; two where it is too long."""
    room = width - len(right) - 4
    lines = textwrap.wrap(left, max(room, 20), initial_indent="  ", subsequent_indent="    ")
    last = lines[-1]
    return [*lines[:-1], f"{last} {'.' * max(width - len(last) - len(right) - 2, 1)} {right}"]
