"""A rate that somebody comes with: what explains it, and that it is said when nothing does."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from tests.inference.test_metamorphic import HARNESS
from tests.library import MODELS, tool_on
from tracer.harness.base_rates import FURTHER_FAULTS, UNDESCRIBED
from tracer.harness.file.text import read_harness
from tracer.inference.branches import Branches
from tracer.inference.diagnose import Investigator
from tracer.inference.likelihood import GOES_FAST
from tracer.inference.multiple_faults import Several
from tracer.inference.statement_model import REST
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, Symptom
from tracer.observation.words.symptoms import parse_symptom


@cache
def own(model: str) -> Investigator:
    return tool_on(MODELS / f"{model}.yaml")


def rate_of(fault: str) -> tuple[float, float]:
    """Flashes per minute with the stalk left, on a sound vehicle and with a fault, at its first severity."""
    one = own("saloon_1970s")
    state = one.harness.state({"indicator stalk": "left"})
    row = next(h for h in one.singles if h.faults[0].name == fault)
    panel = one.predictor.panel(one.predictor.setup(state), one.predictor.table([row.change]))
    return float(one.predictor.healthy(state).per_min[0]), float(panel.per_min[0])


def test_a_thermal_unit_goes_slow_with_a_dead_lamp() -> None:
    """Two lamps of 21 W and the tell-tale of 2.2 W on a unit for 42 W: nearly full load, near 86 per minute. With one
    lamp it carries a little over half, where the strip snaps at last (common practice, no source): far under 60."""
    sound, dead = rate_of("filament open: left rear indicator")
    assert 75 < sound < 95
    assert dead < 45


def test_nobody_comes_with_the_rate_of_a_sound_vehicle() -> None:
    """86 per minute are called fast by about one in twenty, if they are asked. Who comes with it unasked has, on a
    vehicle whose flasher is sound, nothing behind it: one of all statements, at each of the two lamps that it may be,
    or a careless person's."""
    one = own("saloon_1970s")
    found = one.diagnose([parse_symptom("winkers go fast on the left", one.harness)], pairs=False)
    names = [h.faults[0].name for h in found.hypotheses]
    unrelated = next(k for k, name in enumerate(names) if name.startswith("filament open: right head"))
    behind = 2 * REST / one.sayable.count
    assert behind < np.exp(found.loglik[0, unrelated]) < 20 * behind
    # What leads explains it: more current than the lamps draw, which heats the strip sooner; or a lamp that is
    # missed, as far as such a unit may be one that goes fast then.
    for suspect in found.suspects[:5]:
        missed = all(f.kind in ("filament open", "holder open", "holder bad") for f in suspect.best.faults)
        least = np.log(GOES_FAST) - 1.5 if missed else -1.5
        assert found.loglik[0, suspect.rows[0]] > least, suspect.repair
    assert not found.nothing_fits
    # Not described: several times what it was before. Most of it is explained by a lamp that dies, and a unit that is
    # another than the file says.
    assert found.undescribed > 4 * UNDESCRIBED


def test_a_steady_lamp_called_steady_is_no_complaint() -> None:
    one = own("saloon_1970s")
    on, left = (one.harness.state(s) for s in ({"lamp switch": "side"}, {"indicator stalk": "left"}))
    assert not one.sayable.complains(LampSeen("left rear tail", LIT, "steady"), on)
    assert one.sayable.complains(LampSeen("left rear tail", LIT, "flashing"), on)
    assert one.sayable.complains(LampSeen("left rear indicator", LIT, "steady"), left)
    assert not one.sayable.complains(LampSeen("left rear indicator", LIT, "flashing"), left)


def test_it_is_said_when_what_leads_explains_nothing() -> None:
    """A fuse that feeds nothing which braking draws on: what leads does so because it fails often."""
    one = own("glass_fibre")
    found = one.diagnose([Symptom(one.harness.state({"brake pedal": "pressed"}), (FuseSeen("F5", True),))])
    assert found.nothing_fits
    assert not one.diagnose([]).nothing_fits


def test_feeds_that_start_at_the_battery_are_branches_of_their_own() -> None:
    """Two fuses on the battery's clamp: the current parts there."""
    one = Investigator(read_harness(HARNESS, "two fuses"))
    blown = {f: next(h for h in one.singles if h.faults[0].name == f"fuse blown: {f}") for f in ("F1", "F2")}
    wire = next(h for h in one.singles if h.faults[0].name == "wire open: F1.out – S1")
    several = Several(one.predictor.circuit, one.faults)
    both, beside = several.both(blown["F1"], blown["F2"]), several.both(blown["F1"], wire)
    assert both is not None and beside is not None
    apart = both.prior / (blown["F1"].prior * blown["F2"].prior)
    assert apart == pytest.approx(FURTHER_FAULTS)
    assert beside.prior / (blown["F1"].prior * wire.prior) > 5 * apart


def test_a_branch_goes_on_through_the_lamp_and_ends_where_wires_part() -> None:
    """The stop lamps' splice has a wire to each. A terminal of the one and its filament are in one branch, the
    filament of the other is not."""
    one = own("rear_end")
    several = Several(one.predictor.circuit, one.faults)
    terminal, *filaments = (next(h for h in one.singles if h.faults[0].name == name) for name in (
        "terminal off: left rear.stop", "filament open: left rear stop", "filament open: right rear stop"))
    left, right = (several.both(terminal, f) for f in filaments)
    assert left is not None and right is not None
    assert right.prior / filaments[1].prior == pytest.approx(FURTHER_FAULTS * terminal.prior)
    assert left.prior / filaments[0].prior > 5 * right.prior / filaments[1].prior


@pytest.mark.parametrize("model", ["rear_end", "trailer_7pin"])
def test_as_many_vehicles_have_two_faults_in_one_branch_whatever_their_file_describes(model: str) -> None:
    """4 of 47 published cases, of those vehicles whose first fault has anything beside it; the second by its rate."""
    one = own(model)
    branches, rate = Branches(one.predictor.circuit, one.faults), sum(f.rate for f in one.faults)
    by_name = {f.name: f for f in one.faults}
    held, pairs = 0.0, set[frozenset[str]]()
    for f in one.faults:
        for name in branches.beside(f):
            if frozenset((f.name, name)) not in pairs:
                pairs.add(frozenset((f.name, name)))
                apart = f.rate / rate * by_name[name].rate / rate * FURTHER_FAULTS
                held += apart * (branches.likelier(f, by_name[name]) - 1)
    alone = sum(f.rate for f in one.faults if not branches.beside(f)) / rate
    assert held == pytest.approx(4 / 47 * (1 - alone))
    assert alone < 0.1


def test_contacts_closed_in_turn_are_one_way_and_those_closed_at_once_are_two() -> None:
    """The indicator switch closes to the left or to the right: with the flasher unit each contact is in one branch,
    and neither with the other's wire. The lamp switch feeds both sides at once, where the current parts."""
    one = own("rear_end")
    branches = Branches(one.predictor.circuit, one.faults)
    flasher, left, tails, leads = (next(f for f in one.faults if f.name == name) for name in (
        "flasher dead: flasher unit", "switch never makes: indicator stalk 49a-L",
        "switch never makes: lamp switch 30-58L", "wire open: S1 – lamp switch.30"))
    assert {left.name, "switch dead: indicator stalk"} <= branches.beside(flasher)
    assert flasher.name in branches.beside(left)
    assert "wire open: indicator stalk.L – C1.4" in branches.beside(left) - branches.beside(flasher)
    assert "wire open: indicator stalk.R – C1.5" not in branches.beside(left)
    assert leads.name not in branches.beside(tails) and tails.name not in branches.beside(leads)


@pytest.mark.parametrize("tell_tale", ["flashes fast", "dark"])
def test_a_tell_tale_with_a_lamp_missing_goes_out_or_hurries(tell_tale: str) -> None:
    """The tractor’s unit counts its lamps for the tell-tale, and no file says what that does with one missing:
    UN R48 lets it go out or change its rate. Either way the dead lamp leads, and what only a flasher unit for other
    lamps explains, fast and with its tell-tale, does not."""
    one = own("tractor")
    said = [parse_symptom(text, one.harness) for text in (
        "right front indicator flashes fast when indicator stalk right",
        f"indicator tell-tale {tell_tale} when indicator stalk right")]
    found = one.diagnose(said)
    share = {s.repair: s.share for s in found.suspects}
    assert found.suspects[0].repair == "new lamp: right rear indicator"
    assert share["renew flasher unit"] < 0.1
