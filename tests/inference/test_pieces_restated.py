"""The pieces of weighing that are plain arithmetic, each beside the same in loops over plain numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, pairwise
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from msgspec.structs import replace

from tests.small_vehicle import tool
from tracer.circuit.model import AddedBranch, Change
from tracer.faults import Fault, Variant, find_fault
from tracer.faults.making import Rewired, Scale
from tracer.harness.base_rates import FURTHER_FAULTS
from tracer.inference.bayes import Posterior, posterior
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.finer_severities import finer, points_around, severity_of, spread
from tracer.inference.hypotheses import Hypothesis, by_change, with_loose_contacts
from tracer.inference.repaired_in_vain import chastened, left_behind, left_of
from tracer.inference.repeated_judgements import cells_of
from tracer.inference.search_bound import Search, as_share, gains, left_out_loglik
from tracer.inference.searches import with_suspects

SCALE = Scale(lambda ohm: Change(set_ohm=(("it", ohm),)), "Ω", 0.1, 1000.0, "about {:.2g} Ω")


def invented(name: str, grid: Sequence[float] = (), repair: str = "", scale: Scale | None = SCALE) -> Fault:
    """A fault with so many severities, each as likely as another."""
    variants = tuple(Variant(1 / len(grid), SCALE.change(x), f"{x:g}", x) for x in grid) or (
        Variant(1.0, Change(dead=(name,))),)
    return Fault(name, "way bad", name, repair or name, 1.0, 1.0, variants, "n", None, (name,),
                 scale=scale if grid else None)


def rows_of(fault: Fault, prior: float = 0.01, awake: float = 1.0) -> list[Hypothesis]:
    return [Hypothesis((fault,), (v,), prior * v.weight, awake) for v in fault.variants]


# --- Bayes' rule


@pytest.mark.parametrize("seed", range(6))
def test_bayes_rule(seed: int) -> None:
    """Hypothesis by hypothesis, and the surprise of each piece of evidence given those before it."""
    rng = np.random.default_rng(seed)
    prior, ll, beyond = rng.uniform(0, 1, 7), rng.normal(-3, 2, (5, 7)), rng.normal(-4, 1, 5)
    prior[3], ll[2, 5], unknown = 0.0, -np.inf, 0.07
    found = posterior(prior, ll, unknown, beyond)
    weights = [*(prior / prior.sum() * (1 - unknown)).tolist(), unknown]
    before = sum(weights)
    for e in range(5):
        said = [*ll[e].tolist(), beyond[e]]
        weights = [w * math.exp(x) for w, x in zip(weights, said, strict=True)]
        assert found.surprise[e] == pytest.approx(-math.log(sum(weights) / before))
        before = sum(weights)
    assert found.log_evidence == pytest.approx(math.log(before))
    assert found.share == pytest.approx([w / before for w in weights[:-1]])
    assert found.undescribed == pytest.approx(weights[-1] / before)


# --- after a repair in vain


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("failed", [False, True])
def test_what_a_repair_in_vain_leaves(seed: int, failed: bool) -> None:
    """In a twentieth of jobs something misled: half of these a reading, which spoke against each of what is left by
    its share and by no more than strays can."""
    rng = np.random.default_rng(seed)
    raw = rng.uniform(0, 1, 6) ** 8
    raw[0] = rng.choice([5.0, 500.0, 1e5])
    share, unknown = (raw / raw.sum() * 0.99), 0.01
    factor = np.where(rng.uniform(size=6) < 0.3, 0.03, 1.0)
    factor[0] = 0.03
    if seed == 7:
        factor[:] = 0.03
    found, undescribed = chastened(Posterior(share, unknown, 0.0, np.zeros(0)), factor, failed)
    misled = 0.05 if failed else 0.0
    left = sum(s for s, f in zip(share.tolist(), factor.tolist(), strict=True) if f == 1.0)
    read = min(misled * 0.5, left / 0.03)
    weights = []
    for s, f in zip(share.tolist(), factor.tolist(), strict=True):
        weights.append((1 - misled) * s * f + (read * s / left if f == 1.0 and read > 0 else 0.0))
    beyond = (1 - misled) * unknown + misled - read
    whole = sum(weights) + beyond
    assert found == pytest.approx([w / whole for w in weights]) and undescribed == pytest.approx(beyond / whole)
    assert found.sum() + undescribed == pytest.approx(1.0)


def test_a_repair_leaves_less_of_all_that_it_mends() -> None:
    """Of one fault by whatever holds it, too; of two by the repair of both."""
    one, two = invented("a"), invented("b")
    alone, both = Hypothesis((one,), one.variants, 0.1), Hypothesis((one, two), (*one.variants, *two.variants), 0.1)
    discount, mends = {"a": 0.03, "holder": 0.5, "a and b": 0.2}, {"a": ("a", "holder")}
    assert left_of(alone, discount, mends) == pytest.approx(0.015)
    assert left_of(alone, discount, {}) == pytest.approx(0.03)
    assert left_of(both, discount, mends) == pytest.approx(0.2)
    assert left_of(both, {"a": 0.03}, mends) == 1.0 and left_of(alone, {}, mends) == 1.0


def test_what_is_left_was_read_beside_what_was_mended() -> None:
    """Before the repair as both together, after it alone; of all severities of what was mended the one that fitted
    best then stands for it, with the prior of all. As often as not a repair in vain mended something bad as well."""
    bad, left = invented("bad", (1.0, 10.0)), [invented(n) for n in ("x", "y", "z")]
    priors = zip(left, (0.1, 0.2, 0.0), strict=True)
    rows = [*rows_of(bad, 0.4), *(Hypothesis((f,), f.variants, p) for f, p in priors)]
    loglik = np.array([
        [-1.0, -0.5, -9.0, -9.0, -9.0], [-1.0, -3.0, -2.0, -2.0, -2.0], [-30.0, -30.0, -1.0, -2.0, 0.0]])
    asked: list[tuple[int, int, list[int]]] = []

    def weigh(hypotheses: Sequence[Hypothesis], first: int, end: int) -> np.ndarray[Any, Any]:
        asked.append((first, end, [len(h.faults) for h in hypotheses]))
        names = [f.name for f in left]
        if hypotheses and len(hypotheses[0].faults) == 1:
            return loglik[first:end]
        return np.array([[-5.0 - names.index(h.faults[0].name)] * (end - first) for h in hypotheses]).T

    def both(one: Hypothesis, two: Hypothesis) -> Hypothesis | None:
        assert two.prior == pytest.approx(0.4) and two.variants[0].severity == 1.0
        return Hypothesis((*one.faults, *two.faults), (*one.variants, *two.variants), one.prior * 0.01)

    found, ll = left_behind(rows, loglik, {"bad": 2, "never tried": 1}, weigh, both)
    assert [h.faults[0].name for h in found] == ["x", "y"], "what is sure not to be is not tried"
    assert [h.prior for h in found] == pytest.approx([0.1 * 0.3, 0.2 * 0.3])
    assert all(h.mended == (bad,) for h in found)
    assert asked == [(2, 3, [1] * 5), (0, 2, [2, 2])]
    assert ll.tolist() == [[-5.0, -6.0], [-5.0, -6.0], [-1.0, -2.0]]
    none, empty = left_behind(rows, loglik, {"never tried": 1, "bad": 0}, weigh, both)
    assert none == [] and empty.shape == (3, 0)


# --- severities between the grid's


@pytest.mark.parametrize(("grid", "best", "points"), [
    ((1.0, 2.0), 1.0, (1 / 1.7, 1.0, math.sqrt(2), 2.0)), ((1.0, 2.0), 2.0, (1.0, math.sqrt(2), 2.0, 3.4)),
    ((1.0, 1.4, 2.0), 1.4, (1.0, math.sqrt(1.4), 1.4, math.sqrt(2.8), 2.0)),
    ((0.1, 0.2), 0.1, (0.1, math.sqrt(0.02), 0.2)), ((500.0, 1000.0), 1000.0, (500.0, math.sqrt(5e5), 1000.0)),
    ((1.0, 1000.0), 1.0, (1 / 1.7, *(1000 ** (k / 7) for k in range(8)))),
    ((1.0, 3.0), 1.0, (1 / 1.7, 1.0, 3 ** (1 / 3), 3 ** (2 / 3), 3.0)),
])
def test_severities_lie_a_factor_of_half_as_much_again_apart(
    grid: Sequence[float], best: float, points: Sequence[float],
) -> None:
    """Around the one that fits best, one step of the grid to either side, six between at most; beyond an end by 1.7,
    as far as the fault can be that bad."""
    assert points_around(grid, best, invented("it", grid)) == pytest.approx(points)


@pytest.mark.parametrize("seed", range(5))
def test_what_the_grid_had_is_shared_out_by_how_much_of_the_scale_each_stands_for(seed: int) -> None:
    rng = np.random.default_rng(seed)
    grid = np.sort(10 ** rng.uniform(-1, 3, 4))
    points = np.sort(np.concatenate([grid, 10 ** rng.uniform(-1, 3, 5)]))
    weight = rng.uniform(0.1, 1, 4)

    def widths(x: np.ndarray[Any, Any]) -> list[float]:
        y = [math.log(v) for v in x]
        edges = [y[0] - (y[1] - y[0]) / 2, *((a + b) / 2 for a, b in pairwise(y)), y[-1] + (y[-1] - y[-2]) / 2]
        return [b - a for a, b in pairwise(edges)]

    own, new = widths(grid), widths(points)
    out = []
    for x, wide in zip(points, new, strict=True):
        density = [w / g for w, g in zip(weight, own, strict=True)]
        if x <= grid[0] or x >= grid[-1]:
            at = density[0] if x <= grid[0] else density[-1]
        else:
            k = next(k for k in range(3) if grid[k] <= x <= grid[k + 1])
            t = math.log(x / grid[k]) / math.log(grid[k + 1] / grid[k])
            at = density[k] * (1 - t) + density[k + 1] * t
        out.append(at * wide)
    expected = [x * weight.sum() / sum(out) for x in out]
    assert spread(points.tolist(), grid.tolist(), weight) == pytest.approx(expected)
    assert spread([1.0, 2.0], [1.0], np.array([0.4])).tolist() == [0.2, 0.2]


def names(level: Sequence[float], readings: int = 0) -> set[str]:
    """Which of as many faults, each as far behind the best as said, are looked at more closely."""
    rows = [h for k, x in enumerate(level) for h in rows_of(invented(f"f{k}", (1.0, 2.0)), 0.02)]
    found = finer(rows, np.repeat(np.array(level, dtype=float), 2), readings)
    return {h.faults[0].name for h in found.rows}


def test_as_many_faults_are_looked_at_more_closely_as_come_near() -> None:
    """Within sixteen of the best, fourteen of them at most; and four more that would be near but for the width of the
    grid, which costs five and a half a reading."""
    assert names([0.0, -15.9, -16.1]) == {"f0", "f1"}
    assert names([0.0, -15.9, -16.1], 1) == {"f0", "f1", "f2"}
    assert names([0.0, -21.4, -21.6], 1) == {"f0", "f1"} and names([0.0, -26.9, -27.1], 2) == {"f0", "f1"}
    assert names([-x for x in range(15)]) == {f"f{x}" for x in range(14)}
    assert names([0.0, *(-17.0 - x / 10 for x in range(9))], 1) == {"f0", "f1", "f2", "f3", "f4"}
    assert finer([], np.zeros(0)).rows == ()


def test_only_what_has_degrees_is_looked_at_more_closely() -> None:
    """One severity is no grid; no scale, or a fault that was mended beside it, has none between; what comes and goes
    is spread by itself. Together they weigh as before, and the grid's own keep their words."""
    plain, one, none = invented("a", (1.0, 2.0)), invented("b", (1.0,)), invented("c", (1.0, 2.0), scale=None)
    mended = [replace(h, mended=(one,)) for h in rows_of(invented("d", (1.0, 2.0)))]
    loose = rows_of(plain, 0.004, 0.5)
    rows = [*rows_of(plain), *rows_of(one), *rows_of(none), *mended, *loose]
    found = finer(rows, np.zeros(len(rows)))
    assert set(found.old) == {0, 1, len(rows) - 2, len(rows) - 1}
    for awake, prior in ((1.0, 0.01), (0.5, 0.004)):
        own = [h for h in found.rows if h.awake == awake]
        assert sum(h.prior for h in own) == pytest.approx(prior)
        at = [h.variants[0].severity or 0.0 for h in own]
        assert at == sorted(at) and {1.0, 2.0} < {*at}
    said = {h.variants[0].severity: h.variants[0].says for h in found.rows}
    assert said[1.0] == "1" and said[2.0] == "2" and severity_of(plain, 1.5).says == "about 1.5 Ω"
    deviation = replace(invented("line"), rewired=Rewired("line", ("p", "q")))
    beside = [Hypothesis((plain, deviation), (v, *deviation.variants), 0.01) for v in plain.variants]
    kept = finer(beside, np.zeros(2)).rows
    assert kept and all(h.faults == (plain, deviation) and h.variants[1:] == deviation.variants for h in kept)
    other = invented("other")
    two = [Hypothesis((plain, other), (v, *other.variants), 0.01) for v in plain.variants]
    assert finer(two, np.zeros(2)).rows == ()


# --- what was left out


@pytest.mark.parametrize("seed", range(8))
def test_the_most_that_pairs_left_out_can_hold(seed: int) -> None:
    """Each fault at the severity that fits it best; of pairs that were tried, gain nothing over their better half, or
    of which one explains nothing, none."""
    rng = np.random.default_rng(seed)
    grids = [invented(f"f{k}", (1.0, 2.0)) for k in range(6)]
    rows = [h for f, p in zip(grids, rng.uniform(0.001, 0.1, 6), strict=True) for h in rows_of(f, p)]
    gain, alive = rng.normal(0.3, 2.0, (4, 12)), rng.uniform(size=12) > 0.2
    tried = [Hypothesis((grids[0], grids[1]), (*grids[0].variants[:1], *grids[1].variants[:1]), 0.1)]
    own = [sum(max(g, 0.0) for g in gain[:, k]) for k in range(12)]
    best: dict[str, int] = {}
    for k in sorted(range(12), key=lambda k: -(math.log(rows[k].prior) + own[k])):
        if alive[k] and own[k] > 1.0:
            best.setdefault(rows[k].faults[0].name, k)
    mass = 0.0
    for i, j in combinations(best.values(), 2):
        both = sum(max(a, b, 0.0) for a, b in zip(gain[:, i], gain[:, j], strict=True))
        if {rows[i].faults[0].name, rows[j].faults[0].name} == {"f0", "f1"}:
            continue
        if both > max(gain[:, i].sum(), gain[:, j].sum()) + 1.5:
            mass += math.exp(both) * rows[i].prior * rows[j].prior
    found = left_out_loglik(rows, gain, alive, tried, -2.0)
    assert math.exp(found) == pytest.approx(mass * FURTHER_FAULTS * math.exp(-2.0))


def test_gains_are_those_of_the_rows_that_were_kept() -> None:
    """What was dropped on the way gains nothing after, and is not simulated to the end."""
    rows = rows_of(invented("a", (1.0, 2.0, 3.0)))
    parts = [(np.array([0, 1, 2]), np.array([[1.0, 2.0, 3.0]]), 0.0),
             (np.array([0, 2]), np.array([[4.0, 5.0]] * 2), 0.0)]
    gain, alive = gains(rows, parts)
    assert gain.tolist() == [[1.0, 2.0, 3.0], [4.0, 0.0, 5.0], [4.0, 0.0, 5.0]]
    assert alive.tolist() == [True, False, True]
    nothing, none = gains(rows, [])
    assert nothing.shape == (0, 3) and not none.any()


@pytest.mark.parametrize(("left_out", "said"), [
    (0.0, "under 0.1 %"), (0.00099, "under 0.1 %"), (0.003, "at most 0.3 %"), (0.02, "at most 2 %"),
    (0.25, "at most 25 %"),
])
def test_what_was_searched_is_said_with_what_was_not(left_out: float, said: str) -> None:
    assert Search(12, 34, left_out).says() == (
        f"searched: 12 faults and 34 pairs; pairs left out could hold {said}; not searched: faults that show only "
        "together, three faults at once")
    assert Search(12, 34, left_out, True).says() == (
        f"searched: 12 faults and 34 pairs and the likeliest triples; pairs left out could hold {said}; "
        "not searched: faults that show only together")
    assert "under" not in Search(12, 34, 0.001).says()


def test_a_share_of_all_and_itself() -> None:
    prior = np.array([0.2, 0.3])
    for mass, evidence in ((0.01, 0.5), (1.0, 1e-3), (1e-9, 1.0)):
        whole = evidence * prior.sum() / (1 - 0.1)
        assert as_share(math.log(mass), prior, math.log(evidence), 0.1) == pytest.approx(mass / (mass + whole))
    assert as_share(-1e6, prior, 0.0) == pytest.approx(0.0, abs=1e-300) and as_share(1e6, prior, 0.0) == 1.0


# --- a diagnosis by its numbers alone


def diagnosis(loglik: Sequence[Sequence[float]], share: Sequence[float], healthy: Sequence[float],
              **more: Any) -> Diagnosis:
    faults = [invented(f"f{k}") for k in range(len(share))]
    rows = more.pop("rows", [Hypothesis((f,), f.variants, 0.1) for f in faults])
    told = tuple(range(len(loglik)))
    random = more.pop("random", [-2.0] * len(loglik))
    return Diagnosis(cast(Any, None), cast(Any, told), tuple(rows), np.array(loglik, dtype=float).reshape(
        len(told), len(rows)), np.array(share), 1 - sum(share), np.array(healthy, dtype=float),
        np.array(more.pop("beyond", random), dtype=float), np.array(random, dtype=float), **more)


@pytest.mark.parametrize(("loglik", "share", "healthy", "fits"), [
    ([[-1.0, -9.0]], [0.9, 0.09], [-9.0], True), ([[-9.0, -9.0]], [0.9, 0.06], [-9.0], True),
    ([[-9.0, -9.0]], [0.8, 0.14], [-9.0], False), ([[-9.0, -9.0]], [0.9, 0.05], [-9.0], True),
    ([[-1.0, -9.0]], [0.47, 0.47], [-9.0], False), ([[-1.0, -9.0]], [0.5, 0.44], [-9.0], True),
    ([[-1.0, -1.0]], [0.3, 0.19], [-9.0], False), ([[-9.0, -9.0]], [0.8, 0.14], [-1.0], True),
    ([[-9.0, -9.0], [-1.0, -9.0]], [0.8, 0.14], [-9.0, -9.0], True),
    ([[-9.0, -9.0], [-1.0, -9.0]], [0.8, 0.14], [-9.0, -1.0], False),
    ([[-3.0, -3.0]], [0.8, 0.14], [-3.0], True), ([[-3.01, -3.01]], [0.8, 0.14], [-3.01], False),
])
def test_nothing_fits_where_what_leads_explains_nothing_that_is_odd(
    loglik: Sequence[Sequence[float]], share: Sequence[float], healthy: Sequence[float], fits: bool,
) -> None:
    """Or "not described" has more than half; not while it has next to nothing."""
    assert diagnosis(loglik, share, healthy).nothing_fits == (not fits)


@pytest.mark.parametrize(("loglik", "healthy", "beyond", "sound"), [
    ([[-1.0, -1.5]], [-1.0], [-2.0], True), ([[-1.0, -1.5]], [-1.99], [-2.5], True),
    ([[-1.0, -1.5]], [-2.01], [-2.5], False), ([[-1.0, -1.5]], [-1.0], [-0.9], False),
    ([[-1.0, -1.5], [-2.0, 0.0]], [-1.0, -1.4], [-2.0, -2.0], True), ([], [], [], False),
])
def test_a_vehicle_is_sound_where_it_does_all_that_was_seen(
    loglik: Sequence[Sequence[float]], healthy: Sequence[float], beyond: Sequence[float], sound: bool,
) -> None:
    """Within a factor of e of what any fault makes of it, and likelier than without an explanation."""
    assert diagnosis(loglik, [0.5, 0.4], healthy, beyond=beyond).as_when_healthy == sound


def test_lines_that_lead_elsewhere_are_counted_over_all_that_has_them() -> None:
    lines = [replace(invented(n), rewired=Rewired(n, ("p", "q"))) for n in ("one", "two")]
    bad = invented("bad")
    rows = [Hypothesis((bad,), bad.variants, 0.1),
            Hypothesis((bad, lines[0]), (*bad.variants, *lines[0].variants), 0.1),
            Hypothesis((lines[1],), lines[1].variants, 0.1),
            Hypothesis((lines[0], lines[1]), (*lines[0].variants, *lines[1].variants), 0.1)]
    found = diagnosis([], [0.4, 0.1, 0.2, 0.2], [], rows=rows).deviating
    assert [*found] == ["two", "one"] and [*found.values()] == pytest.approx([0.4, 0.3])


def test_the_list_begins_with_what_leads_and_ends_with_what_stands_beside_it() -> None:
    """A search counts as a whole; what no test parts from another stands with it, once."""
    def one(name: str, share: float, **more: Any) -> Suspect:
        return Suspect(name, share, (0,), rows_of(invented(name))[0], **{"search_share": share, **more})

    suspects = (
        one("a", 0.3), one("b", 0.2, inseparable=("d", "gone")),
        one("s1", 0.15, search="find it", along=("s2",), search_share=0.25), one("d", 0.12, inseparable=("b",)),
        one("s2", 0.1, search="find it", along=("s1",), search_share=0.25, leads=False),
    )
    own = replace(diagnosis([], [0.3, 0.2], []), suspects=suspects)
    assert [s.repair for s in own.searches] == ["a", "s1", "b", "d"]
    assert [s.repair for s in own.listed] == ["b", "a", "s1", "d", "s2"]
    share, others = own.standing_together(suspects[1])
    assert share == pytest.approx(0.32) and others == ("d",)
    assert own.standing_together(suspects[2]) == (0.25, ("s2",)) and own.standing_together(suspects[0]) == (0.3, ())


# --- what is one search


class Runs:
    """Faults named after their run, and a number."""

    def of(self, fault: Fault) -> tuple[str, str] | None:
        return ("break", fault.name[:1]) if fault.name[0] in "xy" else None


@pytest.mark.parametrize(("logs", "searches"), [
    ((0.0, 0.0, 0.0), [("x1", "x2", "x3")]), ((0.0, -0.99, 0.0), [("x1", "x2", "x3")]),
    ((0.0, -1.01, 0.0), [("x1", "x3"), ("x2",)]), ((0.0, -0.7, -1.4), [("x1", "x2"), ("x3",)]),
])
def test_places_of_one_run_are_one_search_while_they_fit_alike(
    logs: Sequence[float], searches: Sequence[tuple[str, ...]],
) -> None:
    """Within a factor of e of the likeliest place of it; each place with what all of its severities hold."""
    faults = [invented(f"x{k}", (1.0, 2.0)) for k in (1, 2, 3)] + [invented("y1"), invented("z1")]
    rows = [h for f in faults for h in rows_of(f, 0.1)]
    weight = np.array([h.prior for h in rows]) * np.exp(np.array([*np.repeat(logs, 2), 1.0, 0.0]))
    found = with_suspects(diagnosis([], (weight / weight.sum() * 0.97).tolist(), [], rows=rows), cast(Any, Runs()))
    own = {s.repair: s for s in found.suspects}
    assert [s.share for s in found.suspects] == sorted((s.share for s in found.suspects), reverse=True)
    assert sum(s.share for s in found.suspects) == pytest.approx(0.97)
    for places in searches:
        whole = sum(own[p].share for p in places)
        for p in places:
            assert set(own[p].along) == {*places} - {p} and own[p].search_share == pytest.approx(whole)
            assert bool(own[p].search) == (len(places) > 1)
            assert not own[p].search or own[p].search == f"find the break along one run: {len(places)} places"
        assert sum(own[p].leads for p in places) == 1
    assert own["y1"].leads and own["z1"].leads and not own["y1"].along


def test_what_hardly_anybody_looks_for_joins_no_search() -> None:
    faults = [invented(f"x{k}") for k in (1, 2)]
    rows = [h for f in faults for h in rows_of(f, 0.1)]
    for share, along in ((2e-5, ("x2",)), (0.9e-5, ())):
        found = with_suspects(diagnosis([], [0.9, share], [], rows=[
            rows[0], replace(rows[1], prior=share / 9)]), cast(Any, Runs()))
        assert found.suspects[0].along == along


# --- hypotheses


def test_what_changes_the_same_is_simulated_once() -> None:
    one, two = invented("a", (1.0, 2.0)), invented("b", (2.0, 3.0))
    changes, one_of = by_change([*rows_of(one), *rows_of(two)])
    assert [c.set_ohm[0][1] for c in changes] == [1.0, 2.0, 3.0] and one_of.tolist() == [0, 1, 1, 2]


def test_what_can_be_loose_is_there_twice() -> None:
    loose, tight = replace(invented("a"), comes_and_goes=0.25), invented("b")
    rows = with_loose_contacts([*rows_of(loose, 0.4), *rows_of(tight, 0.2)])
    assert [(h.faults[0].name, round(h.prior, 9), h.awake < 1) for h in rows] == [
        ("a", 0.3, False), ("b", 0.2, False), ("a", 0.1, True)]
    assert rows[-1].says() == "comes and goes: a" and rows[0].says() == "a"


def test_a_short_is_there_with_its_fuse_whole_and_blown() -> None:
    """Together they weigh as before; what adds nothing, or opens its own fuse with it, blows none."""
    own = tool()
    prior: dict[str, float] = {}
    for h in own.singles:
        prior[h.faults[0].name] = prior.get(h.faults[0].name, 0.0) + h.prior
    total = sum(f.rate for f in own.faults)
    for f in own.faults:
        assert prior[f.name] == pytest.approx(f.rate / total), f.name
    blown = [h for h in own.singles if "has blown" in h.variants[0].says]
    assert blown and all("F1" in h.variants[0].says and h.change.added for h in blown)
    short = find_fault(own.faults, "wire to body: S1 – tail.feed")
    rows = [h for h in own.singles if h.faults == (short,)]
    whole, gone = [h for h in rows if not h.change.set_ohm], [h for h in rows if h.change.set_ohm]
    assert gone and len(whole) == len(short.variants)
    assert sum(h.prior for h in gone) < sum(h.prior for h in whole) + sum(h.prior for h in gone)
    assert all(isinstance(x, AddedBranch) for h in gone for x in h.change.added)


def test_none_is_left_out_of_a_list() -> None:
    """Every fault stands in the list of suspects by its repair."""
    found = SimpleNamespace(repairs={f.repair for f in tool().faults})
    assert {s.repair for s in tool().diagnose([], pairs=False).suspects} == found.repairs


# --- words said before


def test_every_light_stands_in_a_cell_and_beside_another_but_at_the_ends() -> None:
    """The neighbour is the nearer one; beyond the brightest and the darkest cell there is none."""
    flux = np.linspace(-9.0, 5.0, 281)[:, None]
    cell, beside = (x[:, 0] for x in cells_of(flux).of(np.array([0])))
    most = int(cell.max())
    assert cell.min() == 0 and beside.min() >= 0 and beside.max() <= most and (np.diff(cell) >= 0).all()
    apart = np.abs(beside - cell)
    assert set(apart[(cell > 0) & (cell < most)].tolist()) == {1} and apart[0] <= 1 and apart[-1] <= 1
