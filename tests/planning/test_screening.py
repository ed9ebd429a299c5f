"""Which of many tests are planned with: invented candidates whose order follows from the words of the rule alone."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tests.library import MODELS
from tracer.circuit.model import Floats
from tracer.harness.file.text import load_harness
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import Test
from tracer.planning.costs import ALSO_MIN, Standing
from tracer.planning.outcomes import Candidate
from tracer.planning.screening import screened

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST = HARNESS.state({})
DIAGNOSIS = cast(Diagnosis, SimpleNamespace(predictor=SimpleNamespace(harness=HARNESS)))


def look(name: str, shown: list[float], dearer: float = 0.0) -> Candidate:
    """A look that shows "lit" with these chances, one a hypothesis; so many minutes dearer than a plain one."""
    lit = np.array(shown)
    return Candidate(Test("look", REST, lamp=name), ("lit", "dark"), np.array([lit, 1 - lit]),
                     ("other",) * round(dearer / ALSO_MIN))


def names(every: list[Candidate], shares: list[float], price: float | list[float] = 60.0,
          label: list[int] | None = None) -> list[str]:
    """Lamps of what is planned with; each hypothesis its own repair, and nothing undescribed."""
    repairs = label or list(range(len(shares)))
    prices: Floats = np.full(max(repairs) + 1, price) if isinstance(price, float) else np.array(price)
    found = screened(every, np.array([*shares, 1e-6]), np.array([*repairs, -1]), Standing(REST), DIAGNOSIS, prices)
    return [c.test.lamp for c in found]


def test_nothing_is_planned_with_where_there_is_nothing() -> None:
    assert names([], [0.5, 0.5]) == []


def test_what_tells_nothing_of_the_repair_is_left_out() -> None:
    """It parts two hypotheses of one repair; or shows the same whatever is wrong; or less than a fiftieth of a bit:
    0.5 ± 0.08 between two as likely is 2/ln 2 × 0.08² = 0.0185 bit. 0.5 ± 0.15 is 0.066."""
    sides = look("tells", [1.0, 1.0, 0.0])
    assert names([look("inside", [1.0, 0.0, 0.5]), look("nothing", [0.7] * 3), sides], [0.2, 0.2, 0.6],
                 label=[0, 0, 1]) == ["tells"]
    hardly, somewhat = look("hardly", [0.58, 0.42]), look("somewhat", [0.65, 0.35])
    assert names([hardly, somewhat], [0.5, 0.5], 1e-6) == ["somewhat"]


def test_of_looks_that_tell_the_same_the_first_stands_for_all() -> None:
    """Not so a measurement that tells the same: its errors are others."""
    first, second = look("complained of", [0.95, 0.05]), look("another", [0.95, 0.05])
    volts = Candidate(Test("volts", REST, "left rear.stop", "body"), first.outcomes, first.likelihood)
    found = screened([first, second, volts], np.array([0.5, 0.5, 1e-6]), np.array([0, 1, -1]), Standing(REST),
                     DIAGNOSIS, np.array([60.0, 60.0]))
    assert {(c.test.kind, c.test.lamp) for c in found} == {("look", "complained of"), ("volts", "")}


def test_the_quick_and_the_telling_go_before_the_rest() -> None:
    """Eighteen by bits a minute and twelve by bits; of the others none."""
    quick = [look(f"quick {k}", [0.75 + 0.002 * k, 0.25]) for k in range(18)]
    telling = [look(f"telling {k}", [0.97 + 0.002 * k, 0.02], 12.0) for k in range(12)]
    neither = [look(f"neither {k}", [0.75 + 0.002 * k, 0.25], 12.0) for k in range(20)]
    found = screened([*neither, *telling, *quick], np.array([0.5, 0.5, 1e-6]), np.array([0, 1, -1]), Standing(REST),
                     DIAGNOSIS, np.array([1e-6, 1e-6]))
    lamps = {c.test.lamp.split()[0] for c in found}
    assert lamps == {"quick", "telling"}


@pytest.mark.parametrize("seed", range(12))
def test_whoever_is_planned_with_everything_quicker_and_more_telling_is(seed: int) -> None:
    """Two suspects: what parts them better in less time is never left out for it."""
    dice = np.random.default_rng(seed)
    every = [look(f"lamp {k}", [0.5 + d / 2, 0.5 - d / 2], float(x)) for k, (d, x) in enumerate(zip(
        dice.uniform(0.2, 0.99, 70), dice.uniform(0, 20, 70), strict=True))]
    chosen = {c.test.lamp for c in screened(every, np.array([0.5, 0.5, 1e-6]), np.array([0, 1, -1]), Standing(REST),
                                            DIAGNOSIS, np.array([60.0, 60.0]))}
    seen = {c.test.lamp: (float(c.likelihood[0, 0]), len(c.also)) for c in every}
    told = {name: round(float(c.likelihood[0, 0]) * 8) for c in every for name in [c.test.lamp]}
    for name in chosen:
        tells, minutes = seen[name]
        better = {n for n, (t, m) in seen.items() if t > tells + 0.02 and m < minutes}
        # Those that tell the same within an eighth stand for each other.
        assert {told[n] for n in better} <= {told[n] for n in chosen}


def three(parting: list[Candidate], shares: tuple[float, float, float], price: float = 60.0) -> list[str]:
    """Thirty looks that part the first suspect from two others, and some that part these two alone."""
    strong = [look(f"strong {k}", [0.99, 0.01, 0.01]) for k in range(31)]
    return [n for n in names([*parting, *strong], list(shares), price) if not n.startswith("strong")]


def test_a_test_that_alone_parts_two_suspects_is_planned_with() -> None:
    """Both at 5 %, an hour lost by taking one for the other: three minutes, of which nine tenths are saved. With a
    minute lost, a ten-thousandth each, it is not worth it."""
    parting = look("parting", [0.5, 0.95, 0.05])
    assert three([parting], (0.9, 0.05, 0.05)) == ["parting"]
    assert three([parting], (0.9998, 0.0001, 0.0001), price=1.0) == []
    assert three([parting], (0.9998, 0.0001, 0.0001), price=2000.0) == ["parting"]
    assert three([parting], (0.999, 0.0005, 0.0005)) == ["parting"]  # a second saved for every minute
    assert three([look("idle", [0.5, 0.5, 0.5])], (0.9, 0.05, 0.05)) == []


def test_what_nobody_described_makes_no_test_tell_less_of_the_others() -> None:
    """Two suspects as likely, and as much again undescribed: 0.5 ± 0.15 is 0.066 bit between the two all the same."""
    somewhat = look("somewhat", [0.65, 0.35])
    found = screened([somewhat], np.array([0.25, 0.25, 0.5]), np.array([0, 1, -1]), Standing(REST), DIAGNOSIS,
                     np.array([1e-6, 1e-6]))
    assert [c.test.lamp for c in found] == ["somewhat"]


def test_a_repair_shows_what_its_likelier_severity_shows() -> None:
    """A lamp lit by fifty to one under the first repair and dark under the second tells nearly the whole bit."""
    assert names([look("tells", [1.0, 0.0, 0.0])], [0.5, 0.01, 0.49], 1e-6, label=[0, 0, 1]) == ["tells"]
    assert names([look("hardly", [0.0, 1.0, 0.0])], [0.5, 0.001, 0.499], 1e-6, label=[0, 0, 1]) == []


def test_of_two_that_part_the_same_suspects_the_quicker_is_planned_with() -> None:
    """The dearer one parts them no further: 2 minutes saved of a hundred are lost before it is made."""
    dear, cheap = look("dear", [0.5, 1.0, 0.0], 20.0), look("cheap", [0.4, 1.0, 0.0])
    assert three([dear, cheap], (0.9, 0.05, 0.05)) == ["cheap"]
    assert three([cheap, dear], (0.9, 0.05, 0.05)) == ["cheap"]
    sure, doubtful = look("sure", [0.5, 1.0, 0.0], 0.5), look("doubtful", [0.4, 0.6, 0.4])
    assert three([doubtful, sure], (0.9, 0.05, 0.05))[0] == "sure"  # twice the minutes, five times the telling


def test_equal_ones_are_planned_with_in_the_order_they_come_in() -> None:
    one, two = look("one", [0.5, 1.0, 0.0]), look("two", [0.1, 1.0, 0.0])
    assert three([one, two], (0.9, 0.05, 0.05)) == ["one"]
    assert three([two, one], (0.9, 0.05, 0.05)) == ["two"]


def test_the_costlier_confusion_is_parted_first() -> None:
    """Four suspects: the second and third at 4 %, the fourth and fifth at 1 %, each pair told apart by one test. What
    is lost is the cheaper repair times the rarer suspect: with the rarer pair's repairs ten times dearer it turns."""
    strong = [look(f"strong {k}", [0.99, 0.01, 0.01, 0.01, 0.01]) for k in range(31)]
    pairs = [look(f"pair {k}", [0.5, 0.98, 0.02, 0.02, 0.02] if k else [0.5, 0.98, 0.98, 0.98, 0.02]) for k in (1, 0)]
    # The first parts the second from all others; the second the fifth from all others.
    shares = [0.9, 0.04, 0.04, 0.01, 0.01]

    def order(price: list[float]) -> list[str]:
        return [n for n in names([*pairs, *strong], shares, price) if n.startswith("pair")]

    assert order([60.0] * 5)[0] == "pair 1"
    assert order([60.0, 6.0, 6.0, 600.0, 600.0])[0] == "pair 0"
