"""Which circumstances each clause of a sentence was told with, where they are not the same ones: "left tail dead with
the lights on, right stop dim when I brake" tells of two states, and not of one in which both are so."""

from __future__ import annotations

from collections.abc import Sequence

from tracer.observation.healthy_states import HealthyStates
from tracer.observation.words.speech_circumstances import Circumstances, told_by
from tracer.observation.words.speech_clauses import Clause
from tracer.observation.words.speech_parts import Heard


def told_apart(clauses: Sequence[Clause], heard: Heard, healthy: HealthyStates) -> list[Circumstances]:
    """The circumstances of each clause; empty where the whole sentence is told with the same ones.

    What stands before a clause is told of those after it too, as long as they have none of their own.
    """
    moving = heard.moving
    own = [moving & {*c.scenes} for c in clauses]
    later = any(said and clause.fronted for clause, said in zip(clauses[1:], own[1:], strict=True))
    if len({k for k in own if k}) < 2 and not (later and not own[0]):
        return []
    out: list[Circumstances] = []
    held: frozenset[int] = frozenset()
    for clause, said in zip(clauses, own, strict=True):
        held = said if clause.fronted else frozenset() if said else held
        told = [scene for k, scene in enumerate(heard.scenes) if k not in moving or k in (said or held)]
        out.append(told_by(told, healthy))
    return out
