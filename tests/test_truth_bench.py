"""Holds the bench of an independent truth to something outside itself: published lamp values, ngspice, counting."""

from __future__ import annotations

import math
import random
from pathlib import Path

import numpy as np
import pytest

from tests.bench.bench_calibration import error_by_odds
from tests.bench.truth import laws
from tests.bench.truth.as_rated import places_by_rates, weights_by_rates
from tests.bench.truth.circuit import _BUILD, NOT_BUILT, Edit, Netlist, netlist_of
from tests.bench.truth.circuit import Path as Path_
from tests.bench.truth.electrician import NOT_MADE, Electrician
from tests.bench.truth.faults import WEIGHTS, Fault, Maker, makers
from tests.bench.truth.further_faults import draw, every
from tests.bench.truth.jobs import _burns
from tests.bench.truth.observer import Draw, Observer
from tests.bench.truth.oracle import Oracle
from tests.bench.truth.person import SHAPES, SLIP, STRIKING, Statement, chances, events, likelihood, speak
from tests.bench.truth.picture import Known, know, show, walk
from tests.bench.truth.random_vehicles import random_vehicle
from tests.bench.truth.repairs import credit, keys_of, right
from tests.bench.truth.solve import settle, wired
from tests.bench.truth.spice import PROGRAM, by_ngspice
from tests.bench.truth.two_faults import TwoFaults, elements
from tests.bench.truth.vehicle import read_vehicle
from tests.bench.truth.voltages import rated
from tracer import TracerError, list_faults, load_harness
from tracer.circuit.device_laws import filament_current
from tracer.circuit.model import NO_CHANGE, Change
from tracer.harness.lamp_laws import lamp_laws
from tracer.harness.model import VehicleState
from tracer.harness.part_kinds import KINDS as PART_KINDS
from tracer.observation.evidence import Test
from tracer.observation.forward_model import Predictor
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.words.readings import parse_value

MODELS = Path(__file__).parents[1] / "harness_models"


def _vehicle(name: str) -> Netlist:
    return netlist_of(read_vehicle((MODELS / f"{name}.yaml").read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def rear() -> Known:
    return know(_vehicle("rear_end"))


# --- laws


def test_current_follows_the_published_exponent_near_the_rated_point() -> None:
    """0.541 (gas-filled) to 0.580 (vacuum): IES Lighting Handbook, from memory; 0.55: Fink and Beaty, as quoted."""
    (low, high), _ = laws.tungsten_current(np.array([0.9, 1.1]))
    assert 0.541 <= math.log(high / low) / math.log(1.1 / 0.9) <= 0.580


@pytest.mark.parametrize("v, lumens", [(12.0 / 13.5, 415 / 600), (12.0 / 13.5, 350 / 477), (12.0 / 13.2, 700 / 900)])
def test_light_follows_reference_fluxes_of_un_r37(v: float, lumens: float) -> None:
    """H21W and H27W (GRE-54-7), H17 (UN R37 Supplement 39); halogen lamps lose less light: within 12 %."""
    assert 10 ** laws.tungsten_light(v) == pytest.approx(lumens, rel=0.12)


def test_cold_filament_has_a_tenth_to_a_fifteenth_of_its_hot_resistance() -> None:
    """10 to 15 times nominal at switch-on (French electrical installation guide, as quoted)."""
    current, _ = laws.tungsten_current(np.array([1e-4]))
    assert 10 <= float(current[0]) / 1e-4 <= 15


def test_a_filament_glows_first_at_three_to_eight_per_cent_of_its_volts() -> None:
    """Draper's point, 798 K (as quoted): R there by R ~ T^1.2, looked for on the curve of current."""
    x = np.linspace(0.01, 0.3, 3000)
    ohm = x / laws.tungsten_current(x)[0]
    first = float(x[np.searchsorted(ohm, (798 / laws.HOT_K) ** 1.2)])
    assert 0.03 < first < 0.08


def test_words_for_a_light_sum_to_one() -> None:
    for light in np.linspace(-8, 1, 40):
        for when in ("day", "night"):
            found = laws.word_chances(float(light), when)
            assert found.sum() == pytest.approx(1.0) and (found >= 0).all()


# --- circuits


def test_every_kind_of_part_is_built_here_or_it_is_said_why_not() -> None:
    for kind in PART_KINDS:
        assert (kind in _BUILD) != (kind in NOT_BUILT), (
            f"{kind}: its builder in tests/bench/truth/circuit.py, or a line of NOT_BUILT there that says why not")
    assert {*_BUILD, *NOT_BUILT} <= {*PART_KINDS}


def test_two_lamps_in_series_share_the_voltage() -> None:
    """21 W and 5 W at 13.5 V. By hand: the 5 W lamp passes about 0.366 A, at which the stone-cold 21 W filament
    (7.29 Ω / 14.7) drops 0.18 V and the power law, which is too high so far from the rated point, 0.69 V."""
    net = _series("P21W", "R5W")
    point = settle(net, Edit(), {})
    assert point.lamp_v["one"] + point.lamp_v["two"] == pytest.approx(13.5, abs=0.02)
    assert 0.18 < point.lamp_v["one"] < 0.69
    same = settle(_series("P21W", "P21W"), Edit(), {})
    assert same.lamp_v["one"] == pytest.approx(6.75, abs=0.02)


def _series(one: str, two: str) -> Netlist:
    return netlist_of(read_vehicle(f"""
harness: two lamps
system: 12 V negative earth
parts:
  battery: {{kind: battery, voltage: 13.5 V, resistance: 0.0001 ohm}}
  one: {{kind: lamp, lamp: {one}}}
  two: {{kind: lamp, lamp: {two}}}
earths: [E1]
wires:
  - {{run: battery.- > E1, size: 16 mm², length: 0.1 m}}
  - {{run: battery.+ > one.feed, size: 16 mm², length: 0.1 m}}
  - {{run: one.earth > two.feed, size: 16 mm², length: 0.1 m}}
  - {{run: two.earth > E1, size: 16 mm², length: 0.1 m}}
"""))


@pytest.mark.skipif(PROGRAM is None, reason="the program ngspice is not installed")
def test_own_solver_agrees_with_ngspice() -> None:
    """A lost earth sends the current through other filaments: the worst case for a law of tungsten."""
    net = _vehicle("trailer_7pin")
    edit = Edit(ohm=(("earth E2", math.inf),))
    state = net.vehicle.state({"brake pedal": "pressed", "side lights": "on"})
    point = settle(net, edit, state)
    found = by_ngspice([wired(net, edit, None).at(state, False, point.pulled, point.blown, True)])[0]
    assert found is not None
    for lamp in net.lamps.values():
        assert found[lamp.a] - found[lamp.b] == pytest.approx(point.lamp_v[lamp.name], abs=0.005)


def test_halves_of_a_plug_are_told_apart_where_runs_start_at_the_lamp() -> None:
    """Feed and earth of the side lamp exchanged: it burns as ever, since both its ends change places."""
    glass = _vehicle("glass_fibre").vehicle  # its earth wires lead from splice to splice through C2
    assert {w for c, w in glass.flipped if c == "C2"} == {7, 8}
    net = _vehicle("pickup")
    assert ("C5", 6) in net.vehicle.flipped and ("C5", 3) not in net.vehicle.flipped
    # The wire to the reversing switch on the gearbox and the one back from it go through a plug of two ways.
    assert {w for c, w in net.vehicle.flipped if c == "C7"} in ({1}, {2})
    # Runs from the battery into the headlamp shell and from there to the rear, past which the bars join both halves.
    bike = _vehicle("motorcycle_6v").vehicle
    assert {w for c, w in bike.flipped if c == "C1"} in ({1, 2}, {3, 4, 5, 6})
    crossed = Edit(swap=((("way C5.3", 1), ("way C5.6", 0)),))
    point = settle(net, crossed, net.vehicle.state({"lamp switch": "side"}))
    assert not point.blown
    assert abs(point.lamp_v["right front side"]) > 11.5


def test_a_fuse_under_heavy_overload_goes_before_a_coil_moves() -> None:
    assert laws.fuse_seconds(20.0) < laws.RELAY_S < laws.fuse_seconds(3.0)
    assert laws.fuse_seconds(1.2) == math.inf


# --- people


def test_what_a_person_may_say_of_an_event_sums_to_one(rear: Known) -> None:
    rng = random.Random(5)
    seen = 0
    while seen < 12:
        shown = walk(rear, draw(rear.net, rng).edit)
        for event in events(rear, shown, "day") if shown else []:
            assert sum(chances(rear, event).values()) == pytest.approx(1 - SLIP * SHAPES["any"])
            seen += 1


def test_likelihood_is_the_frequency_with_which_it_is_said(rear: Known) -> None:
    """Against four thousand people who are shown the same vehicle: an earth lost, five things to tell."""
    shown = walk(rear, Edit(ohm=(("earth E1", math.inf),)))
    assert shown is not None
    found = events(rear, shown, "day")
    rng, counts = random.Random(1), dict[tuple[Statement, ...], int]()
    for _ in range(4000):
        said = tuple(speak(rear, found, rng))
        counts[said] = counts.get(said, 0) + 1
    common = sorted(counts, key=lambda s: -counts[s])[:8]
    for said in common:
        p = likelihood(rear, found, said)
        assert counts[said] / 4000 == pytest.approx(p, abs=4 * math.sqrt(p * (1 - p) / 4000))


def test_a_sound_vehicle_strikes_nobody(rear: Known) -> None:
    shown = walk(rear, Edit())
    assert shown is not None and events(rear, shown, "night") == []


def test_a_voltmeter_behind_a_bad_contact_reads_full_voltage_without_load(rear: Known) -> None:
    """A bad joint shows under load only (common practice, no source)."""
    person = Electrician(rear, Edit(ohm=(("way C1.3", 500.0),)), None, random.Random(1), "day")
    state = rear.net.vehicle.state({"brake pedal": "pressed"})
    point = settle(rear.net, person.edit, state, meter=("S2", "body"))
    assert point.meter < 1.0
    bare = person.edit | Edit(lamp=(("left rear stop", 0.0), ("right rear stop", 0.0)))
    assert settle(rear.net, bare, state, meter=("S2", "body")).meter > 12.0


STOP, SHELL = "left rear.stop", "left rear.earth"
PRESSED = VehicleState((("brake pedal", "pressed"),))
# Of each kind a test of the left stop lamp.
OF_KIND: dict[str, Test] = {
    **{k: Test(k, PRESSED, STOP, "body") for k in ("volts", "test lamp", "LED tester")},
    **{k: Test(k, PRESSED, STOP, SHELL) for k in ("drop", "ohms", "known-good lamp")},
    "lamp for fuse": Test("lamp for fuse", PRESSED, "F3.in", "F3.out"),
    "current": Test("current", PRESSED, "S2", STOP), "crimp": Test("crimp", PRESSED, STOP, "S2"),
    "look": Test("look", PRESSED, lamp="left rear stop"), "inspect": Test("inspect", PRESSED, "S2", STOP),
    "wiggle": Test("wiggle", PRESSED, "C1", lamp="left rear stop"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_test_can_be_made_here(kind: TestKind, rear: Known) -> None:
    """Or the list says why not. What is typed of it is an answer of that kind."""
    if kind in NOT_MADE:
        return
    assert kind in OF_KIND, f"{kind}: no example of it here"
    person = Electrician(rear, Edit(), None, random.Random(1), "day")
    person.skips = 0.0
    assert parse_value(person.answer(OF_KIND[kind], ("wire", "S2", STOP)), kind, "left rear stop")


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if row.shows_light and k not in NOT_MADE])
def test_a_lamp_in_the_hand_lights_where_the_feed_is_whole(kind: TestKind, rear: Known) -> None:
    """In the clips of the fuse, through the cold filaments of both stop lamps."""
    for edit, shown in ((Edit(ohm=(("way C1.3", math.inf),)), "dark"), (Edit(), "normal")):
        person = Electrician(rear, edit, None, random.Random(1), "day")
        person.skips = 0.0
        assert person.answer(OF_KIND[kind]) == shown


# A joint of 40 Ω in front of the stop lamps, which are broken in the second: no current, and full volts behind the
# joint for whatever draws next to nothing.
STOP_LAMPS = ("left rear stop", "right rear stop")
BAD = {
    "sound": (Edit(), NO_CHANGE),
    "a bad joint": (Edit(ohm=(("way C1.3", 40.0),)), Change(set_ohm=(("C1 way 3", 40.0),))),
    "a bad joint, its lamps broken": (
        Edit(ohm=(("way C1.3", 40.0),), lamp=tuple((n, 0.0) for n in STOP_LAMPS)),
        Change(set_ohm=(("C1 way 3", 40.0),), dead=tuple(f"{n} filament" for n in STOP_LAMPS))),
}


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if row.quantity and k not in NOT_MADE])
def test_a_meter_shows_here_what_the_tool_works_out(kind: TestKind, rear: Known) -> None:
    """To a tenth, three tenths of a volt and the ohms of its leads: laws of lamps differ, instruments must not. A
    reading under load is another than one without wherever a joint is bad."""
    predictor = Predictor(load_harness(MODELS / "rear_end.yaml"))
    for name, (edit, change) in BAD.items():
        person = Electrician(rear, edit, None, random.Random(1), "day")
        person.skips = 0.0
        said = person.answer(OF_KIND[kind])
        shown = parse_value(said, kind, "left rear stop")
        known = float(predictor.observed(OF_KIND[kind], [change])[0])
        assert 0.9 * shown.low - 0.3 <= known <= 1.1 * shown.high + 0.3, (
            f"{kind}, {name}: this electrician reads {said}, the tool {known:.2f}: does he forget what it draws?")


# --- repairs and vehicles


def test_every_repair_of_the_tool_is_understood() -> None:
    for name in ("glass_fibre", "estate_1990s", "trailer_7pin"):
        for fault in list_faults(load_harness(MODELS / f"{name}.yaml")):
            assert len(keys_of(fault.repair)) in (1, 3), fault.repair


def test_a_repair_is_right_only_where_it_names_the_place() -> None:
    cures = (("splice", "S3"), ("wire", "C1.2'", "S3"))
    assert right("remake splice S3", cures)
    assert right("repair the GYRD wire C1.2 – S3", cures)
    assert right("remake splice S3 and new fuse F2", cures)
    assert not right("repair the GYRD wire S3 – right rear.tail", cures)
    assert not right("remake splice S2", cures)
    assert right("part and repair F1.in – S1 and S3 – C1.2", cures)


def test_an_eyelet_is_mended_by_its_earth_point_by_itself_and_by_its_wire() -> None:
    net, rng = _vehicle("glass_fibre"), random.Random(3)
    faults = [m(rng) for m in makers(net)["eyelet bad"]]
    own = next(f for f in faults if "C1.8" in f.says)
    assert right("clean or renew the eyelet of the B wire from C1.8 on earth point E1", own.cures)
    assert right("clean and remake earth point E1", own.cures)
    assert right("repair the B wire C1.8 – E1", own.cures)
    assert not right("clean or renew the eyelet of the B wire from G5 on earth point E1", own.cures)


def test_ways_crossed_are_undone_at_the_two_lamps_as_well() -> None:
    """One wire leads from each of the two ways to another lamp: their feeds changed over again are as at first."""
    found = [m(random.Random(1)) for name in ("pickup", "saloon_1970s", "estate_1990s")
             for m in makers(_vehicle(name))["ways crossed"]]
    own = next(f for f in found if any(k[0] == "feeds" for k in f.cures))
    one, two = next(k[1:] for k in own.cures if k[0] == "feeds")
    assert one.rpartition(".")[0] != two.rpartition(".")[0]
    assert right(f"change the wires on {two} and {one} back", own.cures)


def test_bullets_are_numbered_as_the_tool_numbers_them() -> None:
    """Each is a contact of its own, and all of a block meet in it."""
    net, harness = _vehicle("bullets_1960s"), load_harness(MODELS / "bullets_1960s.yaml")
    assert {r.a for r in net.resistances.values() if r.kind == "bullet"} == {
        j.a for j in harness.joints if j.kind == "bullet"}
    assert {frozenset((r.a, r.b)) for r in net.resistances.values() if r.kind == "wire"} == {
        frozenset((s.a, s.b)) for w in harness.wires for s in w.segments}
    out = Edit(ohm=(("bullet B2.2", math.inf),))
    point = settle(net, out, net.vehicle.state({"lighting switch": "side"}))
    dark = {n for n in ("left rear tail", "right rear tail", "number-plate lamp") if abs(point.lamp_v[n]) < 0.1}
    assert dark == {"left rear tail"}


def test_a_wire_that_burns_when_it_is_switched_on_is_no_job() -> None:
    """The side lamps of the car on bullets have no fuse. By hand 12 V over 0.1 Ω of battery, wires and switch is more
    than any wire of a lamp carries; half an ohm more leaves some 20 A; and behind a fuse nothing lasts."""
    known = know(_vehicle("bullets_1960s"))
    unfused, fused = (Edit(add=(Path_(n, "body", 0.01),)) for n in ("lighting switch.R", "brake switch.out"))
    assert _burns(known, unfused) and not _burns(known, fused)
    assert not _burns(known, Edit(add=(Path_("lighting switch.R", "body", 0.5),)))


def test_random_vehicles_are_sound_and_every_class_of_fault_is_found_on_some() -> None:
    kinds: set[str] = set()
    for n in range(6):
        text = random_vehicle(f"test {n}")
        kinds |= set(makers(netlist_of(read_vehicle(text))))
    assert {"earth point bad", "leak between ways", "battery flat", "terminal off"} <= kinds


def test_random_vehicles_are_read_by_the_tool(tmp_path: Path) -> None:
    for n in range(3):
        path = tmp_path / f"{n}.yaml"
        path.write_text(random_vehicle(f"read {n}"), encoding="utf-8")
        try:
            load_harness(path)
        except TracerError as error:  # pragma: no cover
            pytest.fail(str(error))


def test_the_power_law_is_the_one_that_the_tool_has() -> None:
    """I ~ V^0.55, which ends at the cold resistance. At 2 % of its volts a filament that loses nothing to gas takes
    0.02^0.55 = 0.116 of its current, less what it is nearer to cold; one that does takes nearly twice that."""
    x = np.array([0.02, 0.1, 0.5])
    with_gas = laws.tungsten_current(x)[0]
    with laws.power_law():
        without = laws.tungsten_current(x)[0]
    assert without == pytest.approx(x**0.55, rel=0.06)
    assert with_gas[0] > 1.6 * without[0] and with_gas[2] == pytest.approx(without[2], rel=0.02)
    assert laws.tungsten_current(x)[0] == pytest.approx(with_gas)


def test_the_laws_of_leds_and_ratings_are_those_that_the_tool_has() -> None:
    """What explains a difference as a law of the tool's has to be its law: the current of an LED lamp of 3 W on 24 V
    at any volts, and of the lamps of the invented vehicles at 12 V, to two hundredths."""
    lamp = laws.Lamp(24.0, 3 / 24, True)
    with laws.leds_of_the_tool():
        for v in (-24.0, 1.0, 12.0, 15.0, 24.0):
            own = laws.led_current(np.array(v), np.array(lamp.threshold), np.array(lamp.ohm),
                                   np.array(laws.led_soft_v(24.0)))[0]
            assert float(own) == pytest.approx(filament_current(lamp_laws("LED 3 W", 24.0)[0], v), rel=1e-3)
    for name in ("estate_1990s", "saloon_1970s", "car_1950s", "motorcycle_6v"):
        path = MODELS / f"{name}.yaml"
        net, harness = netlist_of(read_vehicle(path.read_text(encoding="utf-8"))), load_harness(path)
        for f in harness.lamps():
            x, v = net.lamps[f.lamp], harness.system_v
            with laws.power_law():
                amps = float(laws.tungsten_current(np.array(v / x.law.v0))[0]) * x.law.a0 * rated(net, x)
            assert amps == pytest.approx(filament_current(f.law, v), rel=0.02), f.lamp


def test_the_quench_diode_of_a_relay_conducts_from_85_to_86() -> None:
    """86 is the plus end: fed the wrong way round, the diode is a short across the coil."""
    net = _vehicle("lorry_24v")
    own = net.diodes["dipped beam relay quench"]
    assert (own.a, own.b) == ("dipped beam relay.85", "dipped beam relay.86")


def test_a_switch_that_is_set_wrong_obeys_the_hand_and_is_set_right_or_renewed(rear: Known) -> None:
    own = makers(rear.net)["switch set wrong"]
    assert own and all("brake switch" in m(random.Random(0)).says for m in own), "a pedal works it, a knob does not"
    fault = own[0](random.Random(1))
    assert right("adjust brake switch", fault.cures) and right("repair or renew brake switch", fault.cures)
    person = Electrician(rear, Edit(), fault, random.Random(2), "day")
    assert person._moves(("part", "brake switch")) > 0.5 > person._moves(("part", "lamp switch"))


def test_a_lamp_that_burns_between_the_flashes_is_seen_to_flash() -> None:
    """A trailer whose earth is on the way of the right indicator: its tail lamps get their earth through the car's
    indicators, while the flasher unit feeds nothing."""
    net = _vehicle("tow_7pin")
    state = net.vehicle.state({"lamp switch": "side", "indicator stalk": "right"})
    seen = set[str]()
    for maker in makers(net)["ways crossed"]:
        edit = maker(random.Random(0)).edit
        here, on = show(net, edit, state)
        for lamp, rate in here.flash.items():
            if on.light.get(lamp, -9.0) < -3.0 < -1.0 < here.light[lamp] and rate:
                seen.add(lamp)
    assert any("tail" in lamp or "side" in lamp for lamp in seen), seen


def test_a_flasher_unit_for_led_lamps_tells_of_the_first_that_is_missing() -> None:
    """Two LED lamps of 3 W at 24 V take 0.21 A; one alone 0.11 A, half of what the unit is made for: an electronic
    unit doubles its rate then (UN R48 wants it told), and does not stand still."""
    net = netlist_of(read_vehicle(random_vehicle("60613 4")))
    state = net.vehicle.state({"stalk": "left"})
    assert set(show(net, Edit(), state)[0].flash.values()) == {"flashing"}
    one_dead = show(net, Edit(lamp=(("left rear indicator", 0.0),)), state)[0]
    assert one_dead.flash == {"left front indicator": "fast"}


def test_volts_are_lost_at_the_end_of_a_wire_that_is_bad_there(rear: Known) -> None:
    """A terminal that is off loses all of the supply, the same wire broken half-way nothing at its ends."""
    state = VehicleState(tuple(rear.net.vehicle.state({"brake pedal": "pressed"}).items()))
    made = {kind: [m(random.Random(3)) for m in own] for kind, own in makers(rear.net).items()}
    off = next(f for f in made["terminal off"] if "left rear.stop" in f.says)
    (wire, end), = off.ends
    far = next(n for n in (rear.net.resistances[wire].a, rear.net.resistances[wire].b) if n != end)
    broken = next(f for f in made["wire broken"] if f.says.startswith(wire))

    def read(fault: Fault, at: str, to: str) -> float:
        person = Electrician(rear, Edit(), fault, random.Random(2), "day")
        person.skips = 0.0
        return abs(float(person.answer(Test("crimp", state, at, to)).split()[0]))

    assert read(off, end, far) > 10.0
    assert read(off, far, end) < 0.05 and read(broken, end, far) < 0.05 and read(broken, far, end) < 0.05


def test_a_strap_is_a_strap_and_a_winding_may_be_bad_either_way() -> None:
    """The tractor's cab hangs on the strap E2 – E8. Of turns that are shorted a third of the ohms is left at worst, a
    corroded end adds up to nine times what the winding has (judgement)."""
    straps = [m(random.Random(n)) for m in makers(_vehicle("tractor"))["strap bad"] for n in range(8)]
    assert {f.says.rpartition(" – ")[0] for f in straps} == {"wire battery.-", "wire E2"}
    assert all(right("renew the strap E2 – E8", f.cures) for f in straps if "E8" in f.says)
    net = _vehicle("estate_1990s")
    for m in makers(net)["relay coil bad"]:
        fault = m(random.Random(5))
        (name, ohm), = fault.edit.ohm
        assert 0.33 <= ohm / net.resistances[name].ohm <= 10
        assert right(f"renew {name.removesuffix(' coil')}", fault.cures)


def test_places_are_drawn_as_often_as_the_tool_holds_them(rear: Known) -> None:
    """On the rear end three earths are of one unit each, and the strap carries all, at a quarter of their rate
    (`base_rates.SHARED_EARTH`); filaments are all alike, and of the contacts of holders (1.8 + 0.9) the mounting of
    the plate lamp is none (3.0 + 1.5)."""
    places = places_by_rates(load_harness(MODELS / "rear_end.yaml"), rear)
    found = zip(makers(rear.net)["earth point bad"], places["earth point bad"], strict=True)
    earths = {make(random.Random(0)).cures[0][1]: weight for make, weight in found}
    assert earths["E4"] == pytest.approx(earths["E1"] / 4)
    assert earths["E1"] == pytest.approx(earths["E2"])
    assert len({round(w, 9) for w in places["filament broken"]}) == 1
    assert {round(w, 9) for w in places["holder corroded"]} == {2.7, 4.5}
    drawn = [draw(rear.net, random.Random(n), ["earth point bad"], {"earth point bad": 1.0}, places).cures[0][1]
             for n in range(400)]
    assert drawn.count("E4") == pytest.approx(400 / 13, abs=17)  # three times the standard deviation


def test_of_what_is_wrong_on_both_sides_one_corner_is_seldom_told() -> None:
    """A trailer without its earth is dark on both sides: who tells one thing of it tells of one corner one time in 14
    (of 12 published cases none, by the rule of succession), and a corner is a corner where the other is sound."""
    known = know(_vehicle("trailer_7pin"))

    def told(edit: Edit) -> dict[str, float]:
        shown = walk(known, edit)
        assert shown is not None
        weights: dict[str, float] = {}
        for event in events(known, shown, "night"):
            weights[event.kind] = weights.get(event.kind, 0.0) + STRIKING[event.kind] ** 1.5
        return {kind: w / sum(weights.values()) for kind, w in weights.items()}

    both = told(Edit(ohm=(("earth E2", math.inf),)))
    assert 0.0 < both["half"] <= 1 / 14 and "corner" not in both
    one = told(Edit(ohm=(("left lamp unit stop + left lamp unit tail shell", math.inf),)))
    assert one["corner"] > 0.5 and "half" not in one


@pytest.mark.parametrize("name", ["rear_end", "bullets_1960s", "trailer_7pin"])
def test_what_is_drawn_by_rates_alone_has_a_repair_and_changes_something(name: str) -> None:
    """Each class that the tool holds on that vehicle, at each of its places: the tool knows a repair of it, and what
    is drawn as the bench's own classes are comes out as before."""
    net, harness = _vehicle(name), load_harness(MODELS / f"{name}.yaml")
    rates = weights_by_rates(harness, know(net))
    assert {"lamp dead", "terminal bad", "holder shorted", "both lamps dead", "clamp bad"} <= rates.keys()
    assert ("bullet bad" in rates) == (name == "bullets_1960s")
    repairs = [f.repair for f in list_faults(harness)]
    for kind, found in every(net, rates).items():
        faults = [m(random.Random(3)) for m in found]
        assert any(right(r, f.cures) for f in faults for r in repairs), kind
        assert all(f.edit != Edit() and f.kind == kind for f in faults)
    assert every(net).keys() == makers(net).keys()


# --- the oracle


def _oracle(rear: Known, *shares: tuple[Fault, float]) -> tuple[Oracle, list[Statement]]:
    """One that knows only these faults, and what is said of the first."""
    draws, said = [], list[Statement]()
    for fault, weight in shares:
        shown = walk(rear, fault.edit)
        assert shown is not None
        found = events(rear, shown, "day")
        said = said or speak(rear, found[:1], random.Random(1))
        draws.append(Draw(weight, fault.cures, fault.edit, tuple(found), tuple(found)))
    return Oracle(Observer(rear, draws), {"left rear": ("left rear", 2.0)}), said


def test_the_oracle_checks_what_alone_explains_the_words(rear: Known) -> None:
    """By hand: the lamp got at, 2 min, taken out and looked at, 1.45 min; then the repair's own 5 min."""
    lamp = next(m(random.Random(0)) for k, m in makers_of(rear, "filament broken") if k.startswith("left rear stop"))
    oracle, said = _oracle(rear, (lamp, 1.0))
    person = Electrician(rear, Edit(), lamp, random.Random(0), "day")
    assert oracle.minutes(said, lamp, person, 5.0) == pytest.approx(8.45)


def test_the_oracle_finds_either_of_two_and_nothing_it_has_not_thought_of(rear: Known) -> None:
    """A dead filament and its open holder look alike: the lamp in the hand, then a meter across its holder, 3 min,
    for which nothing more is opened; and no look that cannot part them."""
    lamp = next(m(random.Random(0)) for k, m in makers_of(rear, "filament broken") if k.startswith("left rear stop"))
    open_ = Edit(ohm=(("left rear stop holder", math.inf),))
    holder = Fault("holder corroded", "open", open_, (("holder", "left rear"),))
    oracle, said = _oracle(rear, (lamp, 2.0), (holder, 1.0))
    for fault in (lamp, holder):
        person = Electrician(rear, Edit(), fault, random.Random(0), "day")
        taken = oracle.minutes(said, fault, person, 5.0)
        assert taken == pytest.approx(8.45 if fault is lamp else 11.45)
    switch = Fault("switch bad", "open", Edit(), (("part", "brake switch"),))
    assert oracle.minutes(said, switch, Electrician(rear, Edit(), switch, random.Random(0), "day"), 5.0) is None


def test_the_oracle_takes_the_test_after_which_least_is_left_to_do(rear: Known) -> None:
    """Eight lamps alike likely, in eight places of 2 min: one after the other they take 4.5 times 3.45 min on the
    average. A look that says which lamp is dark takes a minute or two, and then one check is left. Alone, nothing is
    measured with the pedal down."""
    lamps = [m(random.Random(0)) for _, m in makers_of(rear, "filament broken")][:8]
    oracle, said = _oracle(rear, *((x, 1.0) for x in lamps))
    for alone in (False, True):
        person = Electrician(rear, Edit(), lamps[0], random.Random(0), "day")
        taken = oracle.minutes(said, lamps[0], person, 5.0, alone)
        assert taken is not None and taken < 5.0 + 4.5 * 3.45


def makers_of(rear: Known, kind: str) -> list[tuple[str, Maker]]:
    """What makes the faults of a class, each with what it says."""
    return [(m(random.Random(0)).says, m) for m in makers(rear.net)[kind]]


# --- two faults at once, and what stated shares are held against


def test_two_faults_lie_where_the_current_has_one_way_only(rear: Known) -> None:
    """By hand, on the circuit: the wire from the stop lamps' splice, its contact, the filament; at the shell the tail
    lamp's current joins. The flasher unit's current goes on through whichever contact of the stalk is closed."""
    found = every(rear.net)
    two = TwoFaults(rear.net, found, WEIGHTS)
    wire = _wire(rear, "S2", "left rear.stop")
    assert two.branch("left rear stop") == {"left rear stop", "left rear stop holder", wire}
    stalk = {r.name for r in rear.net.resistances.values() if r.name.startswith("indicator stalk")}
    assert stalk <= two.branch("flasher unit contact")
    assert not stalk <= two.branch(_wire(rear, "indicator stalk.L", "C1.4"))
    rng = random.Random(2)
    for fault in (two.make(rng) for _ in range(60)):
        one, other = fault.things
        assert one[0] != other[0] and {*one, *other} == {*fault.cures} and elements(fault.edit)
        reached = set().union(*(two.branch(e) for e in elements(fault.edit)))
        assert elements(fault.edit) <= reached


def _wire(known: Known, a: str, b: str) -> str:
    return next(r.name for r in known.net.resistances.values() if r.kind == "wire" and {r.a, r.b} == {a, b})


def test_the_observer_gives_all_that_may_be_wrong_one_share_and_of_two_either_repair_all_of_it(
    rear: Known,
) -> None:
    """A dead tail lamp, its holder open, or both: told alike, since one hides the other."""
    dead, opened = Edit(lamp=(("left rear tail", 0.0),)), Edit(ohm=(("left rear tail holder", math.inf),))
    lamp, holder = (("lamp", "left"),), (("holder", "left"), ("unit", "left"))
    draws, both = [], dead | opened
    for weight, edit, things in ((6.0, dead, (lamp,)), (3.0, opened, (holder,)), (1.0, both, (holder, lamp))):
        shown = walk(rear, edit)
        assert shown is not None
        found = tuple(events(rear, shown, "day"))
        draws.append(Draw(weight, sum(things, ()), edit, found, found, "", things))
    event = draws[0].day[0]
    observer, said = Observer(rear, draws), [Statement(event.at, event.about, "dark")]
    odds = {tuple(own[0][0] for own in things): p for things, p in observer.odds(said)}
    assert odds == pytest.approx({("lamp",): 0.6, ("holder",): 0.3, ("holder", "lamp"): 0.1})
    assert {cures[0][0]: p for cures, p in observer.ranking(said)} == pytest.approx({"lamp": 0.7, "holder": 0.4})


def test_what_is_wrong_goes_to_the_suspect_that_names_just_that() -> None:
    lamp, holder = (("lamp", "X"),), (("holder", "X"), ("unit", "left"))
    named = ["new lamp: X", "clean the holder of X", "clean the holder of X and new lamp: X"]
    assert credit(named, [lamp]) == [1, 0, 0]
    assert credit(named, [lamp, holder]) == [0, 0, 1]
    assert credit(named[:2], [lamp, holder]) == [0.5, 0.5]
    assert credit(["new lamp: X", "dry, clean and seal left"], [holder]) == [0, 1]
    wire = (("terminal", "left.stop"), ("wire", "S2", "left.stop"))
    assert credit(["repair the BK wire S2 – left.stop"], [wire]) == [1]
    assert credit(["clean and tighten or renew the terminal on left.stop", "repair the BK wire S2 – left.stop"],
                  [wire]) == [1, 0]
    assert credit(["new lamp: X and new lamp: Y", "new lamp: X"], [(("lamps", "X", "Y"),)]) == [1, 0]
    assert credit(["renew flasher unit and new fuse F2"], [(("part", "flasher unit"),)]) == [0]


def test_an_error_by_odds_is_told_from_chance() -> None:
    """Odds that lie about what was stated, by a tenth: a tool that is right shows what chance makes of it; one that
    states five in a hundred too little shows that."""
    dice = np.random.default_rng(3)
    stated = dice.uniform(0.1, 0.9, 2000)
    odds = stated + dice.normal(0, 0.1, 2000)
    error, chance = error_by_odds(stated, odds)
    assert error < 2 * chance < 0.015
    assert error_by_odds(stated - 0.05, odds)[0] == pytest.approx(0.05, abs=0.005)
