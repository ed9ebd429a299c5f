"""A repair that may be in vain waits for a test that costs next to nothing by the plan."""

from __future__ import annotations

import numpy as np
import pytest

from tests.library import MODELS
from tracer.circuit.model import Floats
from tracer.harness.file.text import load_harness
from tracer.observation.evidence import Test
from tracer.planning.engine import Choice, Option
from tracer.planning.first_steps import rather_tested
from tracer.planning.outcomes import Candidate

HARNESS = load_harness(MODELS / "trailer_7pin.yaml")
TELLS = np.array([[0.9, 0.1, 0.5], [0.1, 0.9, 0.5]])  # which of two repairs, column by column
TELLS_NOTHING = np.full((2, 3), 0.5)
LABEL = np.array([0, 1, 1, -1])


def _choice(*checks: float) -> Choice:
    """Repair 0 in 20 minutes, and checks in so many."""
    options = [Option("repair", 0, 20.0, 8.0, (0.8, 0.2))]
    options += [Option("check", k, m, 1.0, (0.5, 0.5)) for k, m in enumerate(checks)]
    return Choice("repair", 0, 20.0, 10.0, "rollout", tuple(options))


def _first(choice: Choice, tables: list[Floats], sure: float) -> tuple[str, int]:
    best = [Candidate(Test("look", HARNESS.at_rest(), lamp=f"lamp {k}"), ("lit", "dark"), t)
            for k, t in enumerate(tables)]
    prior = np.array([sure, 0.6 * (1 - sure), 0.3 * (1 - sure), 0.1 * (1 - sure)])
    found = rather_tested(choice, best, prior, LABEL)
    assert found.options[0].kind == found.kind and len(found.options) == len(choice.options)
    return found.kind, found.index


@pytest.mark.parametrize("minutes, table, sure, first", [
    (20.4, TELLS, 0.8, ("check", 0)),
    (21.5, TELLS, 0.8, ("repair", 0)),  # it is dearer
    (20.4, TELLS_NOTHING, 0.8, ("repair", 0)),  # it tells nothing
    (20.4, TELLS, 0.98, ("repair", 0)),  # there is no doubt worth a test
])
def test_a_repair_waits_for_a_telling_test_that_is_as_good(
    minutes: float, table: Floats, sure: float, first: tuple[str, int]
) -> None:
    assert _first(_choice(minutes), [table], sure) == first


def test_of_two_such_tests_the_better_one_goes_first_and_one_that_tells_nothing_never() -> None:
    assert _first(_choice(20.1, 20.3, 20.5), [TELLS_NOTHING, TELLS, TELLS], 0.7) == ("check", 1)


def test_a_chosen_test_stays() -> None:
    choice = Choice("check", 0, 19.0, 9.0, "rollout", (Option("check", 0, 19.0, 1.0, (0.5, 0.5)),))
    assert _first(choice, [TELLS], 0.7) == ("check", 0)
