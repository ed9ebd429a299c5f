"""How fast indicators flash: the rate as a function of load, on the bench of every device and on small circuits."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.device_bench import BENCH
from tracer.circuit.flasher_rate import HEALTHY_PER_MIN, flashes_per_min, say_rate
from tracer.circuit.model import Change
from tracer.harness.devices import FlasherContact
from tracer.harness.file.text import read_harness
from tracer.inference.likelihood import flash_probabilities
from tracer.observation.forward_model import Predictor

PICKUP = Path(__file__).parents[2] / "harness_models" / "pickup.yaml"
THERMAL = FlasherContact("f", "a", "b", "thermal", 3.9)
ELECTRONIC = FlasherContact("f", "a", "b", "electronic", 3.9)


def rate(contact: FlasherContact, share: float) -> float:
    return float(flashes_per_min(contact, np.array([share]))[0])


@pytest.mark.parametrize("contact", [THERMAL, ELECTRONIC], ids=["thermal", "electronic"])
def test_a_healthy_unit_flashes_as_the_regulation_wants(contact: FlasherContact) -> None:
    """UN R6 and R48: 90 ± 30 per minute; with 10 % more or less current as well, and on hazard warning."""
    low, high = HEALTHY_PER_MIN
    assert all(low <= rate(contact, share) <= high for share in (0.9, 1.0, 1.1, 2.0))


def test_a_thermal_unit_slows_with_a_lamp_out_and_stops_without_load() -> None:
    """21 + 21 + 5 W less one of 21 W is 0.55 of the load; LEDs of 2 W in all three places are 0.13."""
    assert 0 < rate(THERMAL, 26 / 47) < 60
    assert rate(THERMAL, 6 / 47) == 0.0


def test_an_electronic_unit_doubles_with_a_lamp_out() -> None:
    """The lamp-out indication: twice the rate, from 90 to 180 or so; the repeater alone is not missed."""
    assert rate(ELECTRONIC, 26 / 47) == pytest.approx(2 * rate(ELECTRONIC, 1.0))
    assert rate(ELECTRONIC, 42 / 47) == rate(ELECTRONIC, 1.0)


def test_the_rate_never_falls_with_the_load() -> None:
    shares = np.linspace(0.01, 4.0, 400)

    assert (np.diff(flashes_per_min(THERMAL, shares)) >= 0).all()


@pytest.mark.parametrize(("per_min", "word"), [(0, "steady"), (59, "slow"), (60, "normal"), (90, "normal"),
                                               (120, "normal"), (121, "fast")])
def test_words_for_rates(per_min: float, word: str) -> None:
    """The borders of UN R6 and R48."""
    assert say_rate(per_min) == word


@pytest.mark.parametrize(("works", "word"), [("thermal", "steady"), ("electronic", "fast")])
def test_led_lamps_in_place_of_filaments(works: str, word: str) -> None:
    """The bench's right indicator of 2.5 W behind a unit for 21 W: a thermal unit holds it steady, an electronic one
    takes it for a lamp out."""
    harness = read_harness(BENCH.replace("works: electronic", f"works: {works}"))
    p = Predictor(harness)
    right, left = (p.healthy(harness.state({"stalk": side})) for side in ("right", "left"))
    lamp = p.lamp_index["right rear indicator"]

    assert say_rate(float(right.per_min[0])) == word
    assert say_rate(float(left.per_min[0])) == "normal"
    assert np.isnan(p.healthy(harness.state({})).per_min).all()
    chance = flash_probabilities(right, lamp, p.electronic)
    assert max(("steady", "fast", "slow"), key=lambda w: float(chance[w][0])) == word


def test_two_flasher_units_keep_their_own_rate() -> None:
    """A second unit of its own load for the left side: each side is judged by its own."""
    text = BENCH.replace("  flasher unit: {", "  second unit: {kind: flasher unit, works: thermal, load: 40 W}\n"
                         "  flasher unit: {", 1)
    text = text.replace("left: [49a-L]", "left: [49b-L]")
    text += "  - S2 > second unit.49\n  - second unit.49a > stalk.49b\n"
    harness = read_harness(text)
    p = Predictor(harness)
    left, right = (p.healthy(harness.state({"stalk": side})) for side in ("left", "right"))

    assert left.load[0] == pytest.approx(21.6 / 40, rel=0.1)
    assert 0 < left.per_min[0] < 60  # half of a thermal unit's load
    assert right.per_min[0] > 120


def test_panels_of_many_hypotheses_equal_panels_of_one() -> None:
    harness = read_harness(BENCH)
    p = Predictor(harness)
    setup = p.setup(harness.state({"stalk": "left", "lamp switch": "side"}))
    changes = [Change(), Change(dead=("left rear indicator filament",)), Change(emf_factor=0.9)]
    together = p.panel(setup, p.table(changes))

    for row, change in enumerate(changes):
        alone = p.panel(setup, p.table([change]))
        assert together.rows(np.array([row])).per_min == pytest.approx(alone.per_min, nan_ok=True)
        assert (together.pulled_in[row] == alone.pulled_in[0]).all()
    assert {"horn relay", "rest relay", "head relay"} <= {*p.relays}
    held = [[r for r, pulled in zip(p.relays, row, strict=True) if pulled] for row in together.pulled_in.tolist()]
    assert held == [["rest relay"]] * 3


def test_the_tell_tale_between_the_two_sides() -> None:
    """The pick-up's tell-tale hangs between the sides: fed from either it returns through the other side's cold
    lamps; with the hazard warning both its ends are live, and it stays dark. An LED in its place has a polarity,
    and lights on one side only."""
    text = PICKUP.read_text(encoding="utf-8")
    tell_tale = "indicator tell-tale: {kind: lamp, lamp: "
    led = text.replace(f"{tell_tale}2.2 W", f"{tell_tale}LED 0.3 W")
    assert led != text
    seen = {}
    for kind, harness in (("filament", read_harness(text)), ("LED", read_harness(led))):
        p = Predictor(harness)
        i = p.lamp_index["indicator tell-tale"]
        for name, state in (("left", {"indicator stalk": "left"}), ("right", {"indicator stalk": "right"}),
                            ("hazard", {"hazard switch": "on"})):
            panel = p.healthy(harness.state(state))
            seen[kind, name] = bool(panel.flux[0, i] > -0.3 and panel.flux[0, i] - panel.least[0, i] > 1.0)

    assert seen == {("filament", "left"): True, ("filament", "right"): True, ("filament", "hazard"): False,
                    ("LED", "left"): True, ("LED", "right"): False, ("LED", "hazard"): False}
