"""The fault catalogue: what each kind does to the circuit, by hand; what the trade says stands at each check."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from tests.device_bench import BENCH, two_of_each
from tracer.circuit.model import NO_CHANGE, Change
from tracer.faults import Fault, find_fault, list_faults
from tracer.faults.copper import Nets, unguarded
from tracer.faults.parts import misplaced, part_faults
from tracer.faults.wires import earth_mates
from tracer.harness.base_rates import RATES, UNFUSED_SHORT
from tracer.harness.devices import FilamentLaw, LedLaw, RelayContact, Resistor
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Control, Harness, Part
from tracer.harness.node import node_of
from tracer.inference.diagnose import Investigator
from tracer.observation.forward_model import Predictor
from tracer.observation.words.symptoms import parse_symptom

MODELS = Path(__file__).parents[2] / "harness_models"

RELAY = """
harness: Invented relay feed
system: 12 V negative earth
colours: IEC 60757
controls:
  lamp switch: {positions: [off, side, head]}
  brake pedal: {positions: [released, pressed], sprung: yes}
parts:
  battery: {kind: battery}
  lamp switch: {kind: switch, control: lamp switch, contacts: {side: [30-58], head: [30-58, 30-56]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [15-54]}}
  K1: {kind: relay, contacts: change-over}
  F1: {kind: fuse, rating: 5 A}
  spot: {kind: lamp, lamp: 55 W}
  marker: {kind: lamp, lamp: 5 W}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W}}
splices:
  S1: {}
earths:
  E1: here
  E2: {place: on the engine, body: engine}
wires:
  - {run: battery.+ > S1, size: 4 mm², length: 0.5 m}
  - {run: battery.- > E1, size: 16 mm², length: 0.5 m}
  - {run: S1 > lamp switch.30, length: 0.5 m}
  - {run: S1 > brake switch.15, length: 0.5 m}
  - {run: S1 > F1.in, length: 0.5 m}
  - {run: F1.out > K1.30, length: 0.5 m}
  - {run: lamp switch.56 > K1.86, length: 0.5 m}
  - {run: K1.85 > E1, length: 0.5 m}
  - {run: K1.87 > spot.feed, length: 1 m}
  - {run: spot.earth > E1, length: 1 m}
  - {run: K1.87a > marker.feed, length: 1 m}
  - {run: marker.earth > E2, length: 1 m}
  - {run: E2 > E1, size: 16 mm², length: 0.5 m}
  - {run: lamp switch.58 > left rear.tail, length: 1 m}
  - {run: brake switch.54 > left rear.stop, length: 1 m}
  - {run: left rear.earth > E1, length: 1 m}
"""


@cache
def relay_car() -> Harness:
    return read_harness(RELAY)


@cache
def pickup() -> Harness:
    return load_harness(MODELS / "pickup.yaml")


def volts(harness: Harness, name: str, positions: dict[str, str], running: bool = False) -> dict[str, float]:
    """Filament voltages under one fault at its first severity ("" is the healthy vehicle)."""
    predictor = Predictor(harness)
    change = find_fault(list_faults(harness), name).variants[0].change if name else NO_CHANGE
    return lamp_volts(predictor, change, positions, running)


def lamp_volts(
    predictor: Predictor, change: Change, positions: dict[str, str], running: bool = False
) -> dict[str, float]:
    state = predictor.harness.state(positions, running)
    setup, table = predictor.setup(state), predictor.table([change])
    assert predictor.panel(setup, table).usable.all()
    found = predictor.filament_v(setup, table)[0]
    return {f.lamp: float(abs(v)) for f, v in zip(predictor.lamps, found, strict=True)}


def kinds(harness: Harness) -> set[str]:
    return {f.kind for f in list_faults(harness)}


# --- the list


@pytest.mark.parametrize("model", [*sorted(MODELS.glob("*.yaml")), Path("two of each kind")], ids=lambda p: p.stem)
def test_names_are_unique_and_severities_are_a_distribution(model: Path) -> None:
    faults = list_faults(load_harness(model) if model.suffix else read_harness(two_of_each(), "two of each"))

    assert [name for name, count in Counter(f.name for f in faults).items() if count > 1] == [], (
        "two faults of one name: call it after the part or the device, not after its kind")
    for f in faults:
        assert sum(v.weight for v in f.variants) == pytest.approx(1.0), f"{f.kind}: the weights of {f.name}"
        assert f.needs and f.source and f.repair_min > 0, f"{f.kind}: its row in RATES"


def test_every_kind_turns_up_somewhere() -> None:
    """Each line of the catalogue that these devices allow; diodes and loads have a harness of their own."""
    more = (
        "  D1: {kind: diode}\n  horn: {kind: load, power: 40 W}\n  fan: {kind: motor, power: 60 W, earth at: E1}\n"
        "  chime: {kind: buzzer, current: 0.1 A, earth at: E1}\n"
        "  panel dimmer: {kind: dimmer, control: lamp switch, steps: {side: 0 ohm, head: 8 ohm}}\n  marker:"
    )
    extra = RELAY.replace("  marker:", more).replace(
        "  - {run: S1 > brake switch.15, length: 0.5 m}\n",
        "  - {run: S1 > brake switch.15, length: 0.5 m}\n  - {run: brake switch.54 > D1.anode, length: 0.5 m}\n"
        "  - {run: D1.cathode > horn.feed, length: 0.5 m}\n  - {run: horn.earth > E1, length: 0.5 m}\n",
    )
    bullets = load_harness(MODELS / "bullets_1960s.yaml")
    everywhere = set[str]().union(*map(kinds, (
        relay_car(), pickup(), bullets, read_harness(extra), read_harness(BENCH))))

    assert everywhere >= set(RATES)


def test_a_given_base_rate_says_where_it_comes_from() -> None:
    given = read_harness(RELAY + "base rates: {earth bad: 8}\n")
    earth = next(f for f in list_faults(given) if f.kind == "earth bad")

    assert (earth.rate, earth.source) == (8, "the harness file")
    other = next(f for f in list_faults(given) if f.kind == "filament open")
    assert "MIL-HDBK-217F" in other.source


def test_cross_faults_keep_to_neighbours() -> None:
    """C1 has six ways in two rows: 1 2 3 over 4 5 6. Way 1 lies beside 2 and 4 and nothing else."""
    joined = [f.name.partition(", half")[0] for f in list_faults(pickup()) if f.kind == "ways joined"]
    joined = list(dict.fromkeys(x for x in joined if "C1 ways 1 " in x))

    assert joined == ["ways joined: C1 ways 1 and 2", "ways joined: C1 ways 1 and 4"]


def test_wires_join_only_within_one_loom() -> None:
    harness = pickup()
    loom = {s.name: s.loom for w in harness.wires for s in w.segments}
    for f in list_faults(harness):
        if f.kind == "wires joined":
            assert len({loom[e] for e in f.elements}) == 1


# --- what each does


def test_a_leg_out_of_its_splice_takes_what_hangs_on_it() -> None:
    dark = volts(pickup(), "splice leg open: S5 to C2.1", {"lamp switch": "side"})

    assert dark["left rear tail"] < 0.1
    assert dark["right rear tail"] > 11 and dark["left number-plate lamp"] > 11


def test_a_missing_strap_strands_the_engine_body() -> None:
    """The marker earths on the engine, which only the strap E2 – E1 joins to the body."""
    assert volts(relay_car(), "", {})["marker"] > 11
    assert volts(relay_car(), "strap open: E2 – E1", {})["marker"] < 0.1


def test_unplugging_takes_every_way() -> None:
    healthy = volts(pickup(), "", {"lamp switch": "side", "brake pedal": "pressed"})
    off = volts(pickup(), "connector unplugged: C2", {"lamp switch": "side", "brake pedal": "pressed"})

    assert healthy["left rear tail"] > 11 and off["left rear tail"] < 0.1 and off["left rear stop"] < 0.1
    assert off["right rear stop"] > 11


def test_water_lets_a_neighbour_glow() -> None:
    """Through 10 Ω from the stop feed at 12 V about 1.1 A reach the side-light feed, where two 6 W tail, two 5 W
    side, two 5 W plate and four 2.2 W panel lamps lie in parallel, cold 13.5²/W/13 each: 0.36 Ω, so 0.4 V, and a
    little more as they warm."""
    lit = volts(pickup(), "lamp unit wet: left rear", {"brake pedal": "pressed"})

    assert 0.35 < lit["left rear tail"] < 0.8
    assert volts(pickup(), "", {"brake pedal": "pressed"})["left rear tail"] < 0.05


def test_a_twin_lamp_turned_round_exchanges_its_filaments() -> None:
    """The tail contact now feeds the 21 W filament: the side lights take 25 W − 6 W more, and the lamp is bright."""
    predictor = Predictor(pickup())
    name = "lamp turned round: left rear stop + left rear tail"
    turned = find_fault(list_faults(pickup()), name).variants[0].change
    table = predictor.table([NO_CHANGE, turned])
    side = predictor.panel(predictor.setup(pickup().state({"lamp switch": "side"})), table)
    stop = predictor.panel(predictor.setup(pickup().state({"brake pedal": "pressed"})), table)
    tail_at, stop_at = predictor.lamp_index["left rear tail"], predictor.lamp_index["left rear stop"]

    # 25/6 of the watts at nearly the same voltage: 0.62 decades more light; and as much less from the other.
    assert side.flux[1, tail_at] - side.flux[0, tail_at] == pytest.approx(np.log10(25 / 6), abs=0.08)
    assert stop.flux[1, stop_at] - stop.flux[0, stop_at] == pytest.approx(-np.log10(25 / 6), abs=0.08)


def test_a_single_lamp_in_a_twin_holder_joins_the_feeds() -> None:
    """Common practice, no source: with a single-contact lamp in a stop and tail holder the side lights come on
    with the brake. Every tail lamp of the feed lights."""
    lit = volts(pickup(), "single lamp for twin: left rear stop + left rear tail", {"brake pedal": "pressed"})

    assert lit["right rear tail"] > 9 and lit["left front side"] > 9


def test_an_led_lamp_lights_as_usual_and_starves_a_thermal_flasher() -> None:
    """An eighth of the current: of 21 + 21 + 5 W the flasher is left with 26 W and a little, under 0.6 of its
    load; it slows down (the rate of a thermal unit goes with the heat of its load)."""
    predictor = Predictor(pickup())
    led = find_fault(list_faults(pickup()), "LED fitted: left rear indicator").variants[0].change
    state = pickup().state({"indicator stalk": "left"})
    panel = predictor.panel(predictor.setup(state), predictor.table([NO_CHANGE, led]))
    lamp = predictor.lamp_index["left rear indicator"]

    assert panel.flux[1, lamp] == pytest.approx(panel.flux[0, lamp], abs=0.1)
    assert panel.load[1] == pytest.approx(panel.load[0] * (26 + 0.12 * 21) / 47, abs=0.06)
    assert panel.per_min[1] < 0.75 * panel.per_min[0]


def test_a_flasher_made_for_other_lamps_keeps_another_time() -> None:
    """At half its load a thermal unit hardly heats (slow or steady); at twice its load it hurries."""
    predictor = Predictor(pickup())
    wrong = find_fault(list_faults(pickup()), "wrong flasher: flasher unit")
    more, fewer = (v.change for v in wrong.variants)
    state = pickup().state({"indicator stalk": "left"})
    panel = predictor.panel(predictor.setup(state), predictor.table([NO_CHANGE, more, fewer]))

    assert panel.load == pytest.approx(panel.load[0] * np.array([1.0, 0.5, 2.0]))
    assert panel.per_min[1] < 60 <= panel.per_min[0] <= 120 and panel.per_min[2] > panel.per_min[0]


@pytest.mark.parametrize(
    ("positions", "closed_in", "expected"),
    [
        (("off", "side", "head"), {"side", "head"}, [set(), {"off", "side", "head"}, {"head"}]),
        (("off", "side", "head"), {"head"}, [{"side", "head"}, set()]),
        (("released", "pressed"), {"pressed"}, [{"released", "pressed"}, set()]),
        (("off", "left", "right"), {"left"}, [set(), {"off", "left"}]),  # a stalk rests in the middle
    ],
)
def test_a_contact_out_of_adjustment(
    positions: tuple[str, ...], closed_in: set[str], expected: list[set[str]]
) -> None:
    found = misplaced(frozenset(closed_in), Control("x", positions, positions[0]))
    wanted = [e for e in expected if e or len(closed_in) == 1]

    assert sorted(map(sorted, found)) == sorted(map(sorted, wanted))


def test_headlamps_with_the_side_lights() -> None:
    """30-56 closes one position early: the coil is fed at “side”, and 87 lights the spot lamp."""
    predictor = Predictor(relay_car())
    faults = find_fault(list_faults(relay_car()), "switch out of adjustment: lamp switch 30-56")
    early = next(v for v in faults.variants if v.says == "closes in side and head")

    assert lamp_volts(predictor, early.change, {"lamp switch": "side"})["spot"] > 11
    assert lamp_volts(predictor, NO_CHANGE, {"lamp switch": "side"})["spot"] < 0.1
    assert lamp_volts(predictor, early.change, {"lamp switch": "off"})["spot"] < 0.1


def test_a_wrong_relay_closes_where_it_should_open() -> None:
    rest, on = (volts(relay_car(), "wrong relay: K1", {"lamp switch": p}) for p in ("off", "head"))

    assert rest["spot"] > 11 and rest["marker"] < 0.1
    assert on["spot"] < 0.1 and on["marker"] > 11


def test_a_fuse_of_half_the_rating_blows_under_its_proper_load() -> None:
    """55 W take 62 W at 13.2 V (UN R37), near 4.6 A: 5 A holds, 2.5 A (limit 1.35 times) does not."""
    assert volts(relay_car(), "", {"lamp switch": "head"})["spot"] > 11
    assert volts(relay_car(), "wrong fuse: F1", {"lamp switch": "head"})["spot"] < 0.1
    assert volts(relay_car(), "wrong fuse: F1", {"lamp switch": "off"})["marker"] > 11


def test_charging_faults_show_only_with_the_engine_running() -> None:
    """14.2 V charging: a tenth more is 15.6 V; not charging leaves the 12.6 V of the battery."""
    for name, rises in (("charging too high: battery", 1.1), ("not charging: battery", 12.6 / 14.16)):
        off, healthy = volts(relay_car(), name, {}), volts(relay_car(), "", {})
        assert off["marker"] == pytest.approx(healthy["marker"])
        on, well = volts(relay_car(), name, {}, True), volts(relay_car(), "", {}, True)
        assert on["marker"] / well["marker"] == pytest.approx(rises, abs=0.004)


def test_a_bad_battery_clamp_dims_everything() -> None:
    """1 Ω in the feed of a 4.6 A lamp: V = 12.6 − 1.0·(I(V) + 0.45) − 0.12·I(V), I by the power law, 0.45 A for
    the tail lamp and the coil, 0.12 Ω for battery 0.02, fuse 0.02, 3 m of 1 mm² 0.06 and contacts."""
    clamp = find_fault(list_faults(relay_car()), "battery terminal bad: battery.+")
    one_ohm = next(v for v in clamp.variants if v.says == "about 1 Ω")
    found = lamp_volts(Predictor(relay_car()), one_ohm.change, {"lamp switch": "head"})["spot"]
    law = next(f.law for f in relay_car().lamps() if f.lamp == "spot")
    assert isinstance(law, FilamentLaw)

    v = 9.0
    for _ in range(60):
        v = 0.5 * (v + 12.6 - 0.45 - 1.12 * law.i0 * (v / law.v0) ** law.exponent)
    assert found == pytest.approx(v, abs=0.1)


def test_a_shorted_coil_loads_its_feed() -> None:
    """1 Ω at 12 V behind 0.02 Ω of battery: about 12 A, a quarter of a volt in the battery alone."""
    well, shorted = (volts(relay_car(), n, {"lamp switch": "head"}) for n in ("", "relay coil shorted: K1"))

    assert 0.2 < well["left rear tail"] - shorted["left rear tail"] < 2.0


def test_faults_that_change_the_same_thing_share_a_row_and_a_likelihood() -> None:
    """A wire and its leg in the splice cannot be told apart: only their base rates differ."""
    investigator = Investigator(relay_car())
    symptom = parse_symptom("marker dark when lamp switch off", relay_car())
    found = investigator.diagnose([symptom])
    rows = {
        h.faults[0].name: k for k, h in enumerate(found.hypotheses)
        if len(h.faults) == 1 and h.faults[0].name in ("splice leg open: S1 to F1.in", "wire open: S1 – F1.in")
    }
    leg, wire = rows["splice leg open: S1 to F1.in"], rows["wire open: S1 – F1.in"]

    assert found.loglik[0, leg] == found.loglik[0, wire]
    assert found.share[leg] / found.share[wire] == pytest.approx(
        RATES["splice leg open"].rate / RATES["wire open"].rate
    )
    assert found.share.sum() + found.undescribed == pytest.approx(1.0, abs=1e-9)


def test_no_change_names_what_is_not_there() -> None:
    """Every element that a change touches exists in the circuit (tabulating raises otherwise)."""
    for harness in (relay_car(), pickup()):
        predictor = Predictor(harness)
        changes = [v.change for f in list_faults(harness) for v in f.variants]
        assert len(predictor.table(changes)) == len(changes)


def test_a_fault_probes_where_a_probe_can_go() -> None:
    nodes = set(Predictor(pickup()).circuit.nodes)

    def known(fault: Fault) -> bool:
        return fault.node in nodes and all(n in nodes for n in fault.across or ())

    assert [f.name for f in list_faults(pickup()) if not known(f)] == []


@pytest.mark.parametrize("model", sorted(MODELS.glob("*.yaml")), ids=lambda p: p.stem)
def test_what_a_fault_touches_can_be_drawn(model: Path) -> None:
    harness = load_harness(model)
    known = {d.name for d in harness.devices()} | set(harness.splices)

    assert [f.name for f in list_faults(harness) if not set(f.elements) <= known] == []


def test_an_led_lamp_has_no_filament_to_break() -> None:
    harness = load_harness(MODELS / "saloon_led.yaml")
    said = {f.says for f in list_faults(harness) if f.kind == "filament open"}
    leds = {f.lamp for f in harness.lamps() if isinstance(f.law, LedLaw)}

    assert leds
    assert {f"the {lamp} LED lamp is dead" for lamp in leds} <= said
    assert len(said) == len(harness.lamps())


def test_an_added_feed_comes_from_the_live_pole_of_two_batteries_in_series() -> None:
    """24 V of two: from their midpoint a lamp would have a tenth of its light (half the volts to the power 3.4)."""
    harness = load_harness(MODELS / "lorry_24v.yaml")
    assert harness.poles() == ("battery 2.+", "battery 1.-")
    lamp = next(f.lamp for f in harness.lamps() if "tail" in f.lamp)
    predictor = Predictor(harness)
    change = find_fault(list_faults(harness), f"added feed: {lamp}").variants[0].change
    volts = predictor.filament_v(predictor.setup(harness.state({})), predictor.table([change]))

    assert 22 < abs(volts[0, predictor.lamp_index[lamp]]) < 26


def test_faults_of_a_coil_come_from_the_device_whatever_kind_of_part_holds_it() -> None:
    """A coil in a part of no known kind fails as a relay's does; two coils in one part go by their own names."""
    one = Part("arm", "semaphore", ("a", "b"), (Resistor("arm coil", "arm.a", "arm.b", 4.0, "coil"),))
    two = replace(one, devices=(*one.devices, Resistor("arm hold", "arm.a", "arm.b", 40.0, "coil")))

    assert {f.name for f in part_faults(one, relay_car())} == {"relay coil open: arm", "relay coil shorted: arm"}
    assert {f.name for f in part_faults(two, relay_car())} == {
        "relay coil open: arm coil", "relay coil shorted: arm coil", "relay coil open: arm hold",
        "relay coil shorted: arm hold",
    }


def test_a_contact_inside_a_part_fails_with_it_and_is_not_turned_round() -> None:
    """An invented semaphore arm: its coil closes a contact inside. Nobody plugs in one of another type, its repair
    needs an arm and no relay, and it is heard as what moves; an input of electronics is not."""
    coil = Resistor("arm coil", "arm.a", "arm.b", 4.0, "coil")
    contact = RelayContact("arm contact", "arm.a", "arm/raised", "arm coil", True)
    arm = Part("arm", "semaphore", ("a", "b"), (coil, contact))
    sensed = replace(arm, devices=(replace(coil, role="input"), contact))
    found = {f.kind: f for f in part_faults(arm, relay_car())}

    assert set(found) == {
        "relay coil open", "relay coil shorted", "relay stuck open", "relay stuck closed", "relay bad",
    }
    assert found["relay coil open"].needs == found["relay bad"].needs == "the semaphore"
    assert arm.coils == (coil,) and not arm.electronic
    assert sensed.coils == () and sensed.electronic
    plugged = replace(arm, devices=(coil, replace(contact, b="arm.b")))
    assert "wrong relay" in {f.kind for f in part_faults(plugged, relay_car())}


def test_wires_of_a_switch_with_two_terminals_are_not_changed_over() -> None:
    """Either way round it joins the same two wires: by hand, nothing in the circuit differs."""
    car = read_harness(BENCH)
    over = {f.name for f in list_faults(car) if f.kind == "wires changed over"}
    assert any("head relay" in name for name in over)
    assert not any("ignition switch" in name or "lamp switch" in name or "module" in name for name in over)


def test_one_of_two_wires_on_a_terminal_of_a_lamp_unit_is_changed_over() -> None:
    """The LED saloon: from the left rear indicator a wire goes on to its load resistor. By the drawing: the wire to
    the tail lamp has changed places with the feed (C2.3) or with the wire to the resistor."""
    saloon = list_faults(load_harness(MODELS / "saloon_led.yaml"))
    crossed = next(f for f in saloon if f.name == "wires changed over: left rear indicator and tail")
    assert crossed.repair == "change the wires indicator and tail at left rear back"
    assert [v.weight for v in crossed.variants] == [0.5, 0.5]
    assert [{(x.a, x.b) for x in v.change.added} for v in crossed.variants] == [
        {("C2.3'", "left rear.tail"), ("C2.1'", "left rear.indicator")},
        {("left rear load resistor.a", "left rear.tail"), ("C2.1'", "left rear.indicator")},
    ]


def test_a_wire_rubs_through_to_the_metal_that_it_lies_in() -> None:
    """The 1950s car: E10 and E11 are bolts on the rear wings, which are bodies of their own; the tractor's cab, the
    trailer behind its socket. By the drawings."""
    def bodies_of(model: str, span: str) -> set[str]:
        found = [f for f in list_faults(load_harness(MODELS / f"{model}.yaml")) if f.kind == "wire to body"
                 and f.name.endswith(span)]
        return {f.variants[0].change.added[0].b for f in found}

    assert bodies_of("tow_7pin", "trailer right.tail") == {"trailer"}
    assert bodies_of("tow_7pin", "car right rear.tail") == {"body"}
    assert bodies_of("car_1950s", "left rear.stop") == {"left rear wing"}
    assert bodies_of("lorry_24v", "fuse box") <= {"body"}


def test_what_no_fuse_guards_lies_on_the_body_only_with_crust_between() -> None:
    """The car on bullets: its side lamps hang on the battery through the lighting switch alone, its stop lamps behind
    a fuse. What is metal on metal there burns the wire, and is not looked for by its lamps."""
    harness = load_harness(MODELS / "bullets_1960s.yaml")
    open_feeds = unguarded(harness)
    assert {"lighting switch.R", "left rear.tail", "F1.in"} <= open_feeds
    assert not {"F1.out", "left rear.stop", "left rear.earth", "E1"} & open_feeds
    shorts = {f.name.partition(": ")[2]: f for f in list_faults(harness) if f.kind == "wire to body"}
    side, stop = shorts["B2.2 – left rear.tail"], shorts["B3.2 – left rear.stop"]
    assert side.rate == pytest.approx(stop.rate * UNFUSED_SHORT)
    firm, crust = ({v.severity: v.weight for v in f.variants} for f in (stop, side))
    assert firm[0.05] > 0.5 > crust[0.05]


def test_where_no_body_conducts_every_feed_may_lie_on_the_earth_wires_of_its_loom() -> None:
    """The kit car of glass fibre. A feed has no metal to rub through to; each that runs in a loom with earth wires
    has at least one of them among what it may be joined with. On metal it has the body, and none of these."""
    glass = load_harness(MODELS / "glass_fibre.yaml")
    faults = list_faults(glass)
    names = [f.name for f in faults]
    assert len(names) == len(set(names))
    joined = [set(f.elements) for f in faults if f.kind == "wires joined"]
    nets = Nets(glass)
    segments = [s for w in glass.wires for s in w.segments if s.loom]
    for feed in (s for s in segments if not nets.earth(s.a)):
        earths = {s.name for s in segments if s.loom == feed.loom and nets.earth(s.a)}
        if earths and not any({feed.a, feed.b} & {s.a, s.b} for s in segments if s.name in earths):
            assert any(feed.name in own and own & earths for own in joined), feed.name
    assert not any(earth_mates(pickup()))


@pytest.mark.parametrize("model", ["pickup", "tractor", "glass_fibre"])
def test_wires_of_one_loom_that_end_at_one_place_may_be_rubbed_together(model: str) -> None:
    """Two switches on one column share no terminal, and their wires lie side by side all the same (common practice,
    no source): some pair of wires stands for each two live pieces of copper."""
    harness = load_harness(MODELS / f"{model}.yaml")
    nets, segments = Nets(harness), {s.name: s for w in harness.wires for s in w.segments}
    joined = [[segments[e] for e in f.elements] for f in list_faults(harness) if f.kind == "wires joined"]
    found = {(one.loom, frozenset((nets.of(one.a), nets.of(two.a)))) for one, two in joined}
    beside = 0
    for one in segments.values():
        for two in segments.values():
            apart = nets.of(one.a) != nets.of(two.a) and not nets.earth(one.a) and not nets.earth(two.a)
            places = [{harness.parts[o].place for n in (s.a, s.b) if (o := node_of(n).owner) in harness.parts}
                      for s in (one, two)]
            if one.loom and one.loom == two.loom and apart and places[0] & places[1] - {""}:
                beside += 1
                assert (one.loom, frozenset((nets.of(one.a), nets.of(two.a)))) in found
    assert beside > 20
