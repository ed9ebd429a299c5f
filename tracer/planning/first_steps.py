"""Which of several first steps that are nearly as good is taken."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats, Ints
from tracer.planning.engine import Choice, Option, information_gain
from tracer.planning.live_hypotheses import Living
from tracer.planning.outcomes import Candidate

_AS_GOOD: Final = 1.01  # nearer than that no rollout tells the minutes of two plans apart
_AS_TELLING: Final = 0.7  # share of the most bits told by such a step that a plainer one must tell to take its place
_SURE: Final = 0.97  # of what a repair cures, above which it is made without one test more
_HARDLY_DEARER: Final = 1.04  # times the minutes of a repair, up to which a test goes before it
_TELLS_OF_IT: Final = 0.05  # bits about that repair, being the right one or not, that such a test tells at least
_WORTH_MOVING: Final = 1.25  # times the minutes of the best step


def not_again(choice: Choice, again: Collection[int]) -> Choice:
    """A repair that did not help is not made again before it was measured to need it, as long as anything else is
    left to do: rather the ranking is wrong than the same joint twice."""
    if choice.kind != "repair" or choice.index not in again:
        return choice
    rest = [o for o in choice.options if o.kind == "check" or (o.kind == "repair" and o.index not in again)]
    if not rest:
        return choice
    others = [o for o in choice.options if o not in rest]
    return replace(choice, kind=rest[0].kind, index=rest[0].index, minutes=rest[0].minutes, options=(*rest, *others))


def rather_tested(choice: Choice, best: list[Candidate], prior: Floats, label: Ints) -> Choice:
    """A repair that may well be in vain waits for a test that tells of it and is hardly dearer by the plan: minutes
    that near to each other are not told apart, and a sound thing taken apart costs more than they say."""
    if choice.kind != "repair" or prior[label == choice.index].sum() >= _SURE * prior.sum():
        return choice
    ours = (label == choice.index)[:-1].astype(np.intp)
    near = [o for o in choice.options if o.kind == "check" and o.minutes <= _HARDLY_DEARER * choice.minutes
            and information_gain(prior[:-1], ours, best[o.index].likelihood) >= _TELLS_OF_IT]
    if not near:
        return choice
    rest = [o for o in choice.options if o is not near[0]]
    return replace(choice, kind="check", index=near[0].index, minutes=near[0].minutes, options=(near[0], *rest))


def preferred(choice: Choice, best: list[Candidate], living: Living, prior: Floats, label: Ints) -> Choice:
    """Of first steps that are as good as each other, those that tell most (a look that tells nothing is as good as
    any while much is left to do; the step after it is then no nearer), and of these the plainest: a look before a
    measurement, at a lamp that was complained of, in a state that lights few lamps; of all that is more than a look
    the nearest by the plan. What was said is not asked again before all of these, and nothing is held for it that
    need not be."""
    if choice.kind != "check":
        return choice
    named, predictor = living.affected_lamps(), living.predictor

    def plainness(o: Option) -> tuple[bool, int, bool, int, int, float]:
        test = best[o.index].test
        held = sum(predictor.harness.controls[c].needs_holding(p) for c, p in test.state.positions)
        if not test.row.of_lamps or test.done:
            return (best[o.index].again, held, True, 0, 0, o.minutes)
        lit = int((predictor.healthy(test.state).flux > -1).sum())
        rank = named.index(test.lamp) if test.lamp in named else len(named)
        return (best[o.index].again, held, False, rank, lit, o.minutes)

    near = [o for o in choice.options if o.kind == "check" and o.minutes <= choice.minutes * _AS_GOOD]
    told = {o.index: information_gain(prior[:-1], label[:-1], best[o.index].likelihood) for o in near}
    near = [o for o in near if told[o.index] >= _AS_TELLING * max(told.values())]
    near.sort(key=plainness)
    rest = [o for o in choice.options if o not in near]
    return replace(choice, index=near[0].index, minutes=near[0].minutes, options=(near[0], *near[1:], *rest))


def moved_first(choice: Choice, best: list[Candidate], plan: Callable[[Sequence[int]], Choice]) -> Choice:
    """What comes and goes is moved while it can be seen, where that is hardly dearer than the best step: in an hour
    it may be away, and a measurement taken meanwhile clears nothing. If it is dearer it is offered second.

    Args:
        plan: The choice if some of the tests (their places in `best`) were the only ones.
    """
    own = [k for k, c in enumerate(best) if c.test.row.moves]
    if choice.kind != "check" or not own:
        return choice
    moving = [o for o in choice.options if o.kind == "check" and o.index in own]
    if not moving:  # not among those that were priced
        moving = [replace(o, index=own[o.index]) for o in plan(own).options if o.kind == "check"][:1]
    if not moving:
        return choice
    # It tells something or nothing, and then the plan goes on as it would have begun.
    moving = [replace(moving[0], minutes=min(moving[0].minutes, choice.minutes + moving[0].cost))]
    rest = [o for o in choice.options if (o.kind, o.index) != ("check", moving[0].index)]
    if moving[0].minutes > choice.minutes * _WORTH_MOVING:
        return replace(choice, options=(rest[0], moving[0], *rest[1:]))
    return replace(choice, index=moving[0].index, minutes=moving[0].minutes, options=(moving[0], *rest))
