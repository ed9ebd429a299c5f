"""What is solved once for things built alike is what solving each for itself finds."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.bench_small_files import lamps_on_one_fuse, many_lamps
from tests.library import MODELS
from tracer.circuit import twins
from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.circuit.twins import Alike
from tracer.faults import list_faults
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.inference.hypotheses import single_hypotheses
from tracer.observation.forward_model import Panel, Predictor

LEAD = Change(added=(AddedBranch("lamp 3.feed", "E1", 2.0),))


def singles(harness: Harness) -> list[Change]:
    return list(dict.fromkeys(v.change for f in list_faults(harness) for v in f.variants))


def of(predictor: Predictor, changes: list[Change], done: Change) -> Alike:
    setup = predictor.setup(predictor.harness.state({}), done)
    found = predictor.settler.twins.alike(setup, predictor.table(changes))
    assert found is not None
    return found


def looks(harness: Harness, changes: list[Change], done: Change) -> list[Panel]:
    predictor = Predictor(harness)
    setups = [predictor.setup(harness.state({"lights": p}), done) for p in ("off", "on")]
    asked = [(s, predictor.table(changes, done)) for s in setups]
    return [*predictor.looks(asked), *predictor.panels(asked)]


ONE, TWO, FOUR = lamps_on_one_fuse(60), many_lamps(36, 18), many_lamps(68, 17).replace("15 A", "7.5 A")
LAMP_OUT, FUSE_OUT = Change(dead=("lamp 5 filament",)), Change(set_ohm=(("F1 link", OPEN_OHM),))


@pytest.mark.parametrize(("text", "done"), [
    (lamps_on_one_fuse(47), LEAD), (TWO, LAMP_OUT), (FOUR, FUSE_OUT),
    *(pytest.param(text, done, marks=[pytest.mark.long]) for text, done in (
        (ONE, Change()), (ONE, LAMP_OUT), (TWO, LEAD), (FOUR, Change()))),
])
def test_one_solved_for_all_is_as_each_solved(text: str, done: Change, monkeypatch: pytest.MonkeyPatch) -> None:
    harness = read_harness(text)
    changes = singles(harness)
    one, two = changes[::17], changes[::-19]
    changes += [a | b for a, b in zip(one, two, strict=False)]  # at two lamps, at one, at none
    found = of(Predictor(harness), changes, done)
    assert len(found.first) < 0.8 * len(changes)
    shown = looks(harness, changes, done)
    monkeypatch.setattr(twins, "_FEW_ROWS", 10**9)
    for ours, plain in zip(shown, looks(harness, changes, done), strict=True):
        np.testing.assert_allclose(np.maximum(ours.flux, -4.0), np.maximum(plain.flux, -4.0), atol=1e-6)
        assert (ours.usable == plain.usable).all() and (ours.blown == plain.blown).all()
        # Which of two fuses with the same load goes first is a matter of the last digits.
        np.testing.assert_allclose(np.sort(ours.blow_s), np.sort(plain.blow_s), rtol=1e-5)


def test_shorts_blow_the_same_fuses(monkeypatch: pytest.MonkeyPatch) -> None:
    harness = read_harness(many_lamps(80))
    faults = list_faults(harness)
    ours = single_hypotheses(faults, Predictor(harness))
    monkeypatch.setattr(twins, "_FEW_ROWS", 10**9)
    plain = single_hypotheses(faults, Predictor(harness))
    assert [h.change for h in ours] == [h.change for h in plain]
    assert sum("has blown" in h.says() for h in ours) > 80


def test_what_is_not_the_same_number_for_number_is_no_twin() -> None:
    """One lamp of twenty has a longer wire, one is of another kind."""
    text = many_lamps(20)
    other = text.replace("T0 > lamp 7.feed", "{run: T0 > lamp 7.feed, length: 1.01 m}")
    other = other.replace("lamp 9: {kind: lamp, lamp: 5 W", "lamp 9: {kind: lamp, lamp: 10 W")
    assert other.count("1.01 m") == other.count("10 W") == 1
    for harness, count in ((read_harness(text), 20), (read_harness(other), 18)):
        changes = [Change(dead=(f.name,)) for f in harness.lamps()] * 20
        assert len(of(Predictor(harness), changes, Change()).first) == 21 - count


@pytest.mark.parametrize("model", ["saloon_led", "tow_13pin", "estate_1990s"])
def test_vehicles_go_as_they_did(model: str) -> None:
    """They have no sixteen lamps that are alike."""
    harness = load_harness(MODELS / f"{model}.yaml")
    predictor = Predictor(harness)
    setup = predictor.setup(harness.state({}))
    assert predictor.settler.twins.alike(setup, predictor.table(singles(harness))) is None
