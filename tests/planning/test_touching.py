"""What is measured where two things touch, and when a direct measurement is worth making: the rear end's drawing by
hand, and Ohm's law for all of its faults that join something."""

from __future__ import annotations

from functools import cache

import pytest
from msgspec.structs import replace

from tests.library import MODELS
from tests.shared import investigator_for
from tracer.circuit.model import NO_CHANGE
from tracer.faults import Fault, find_fault
from tracer.harness.file.text import load_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.visual_inspection import where_seen
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test, inspection
from tracer.planning.confirmation import (
    CHEAP_MIN,
    confirmation,
    in_sight,
    isolated,
    lamp_in_hand,
    measured,
    parted,
    shared_points,
    spans,
    supplied,
    unplugged,
)
from tracer.planning.costs import IN_HAND_MIN, WRONG_PART_MIN, Standing, minutes_of

HARNESS = load_harness(MODELS / "rear_end.yaml")
REST = HARNESS.at_rest()
PRESSED = HARNESS.state({"brake pedal": "pressed"})
LEFT, RIGHT = "left rear stop + left rear tail", "right rear stop + right rear tail"
UNPLUGGED = Intervention("unplug", "C1")


def out(bulb: str) -> Intervention:
    return Intervention("take out lamp", bulb)


@cache
def own() -> Investigator:
    return investigator_for(HARNESS)


def fault(name: str) -> Fault:
    return find_fault(own().faults, name)


def joining() -> list[Fault]:
    return [f for f in own().faults if isolated(f, HARNESS) is not None]


# --- What is pulled --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "ends", "plugs", "lamps"), [
    # The wire from C1 to the left tail lamp: the plug at its front end, the lamp at its rear one.
    ("wire to body: C1.1 – left rear.tail", ("C1.1'", "body"), [UNPLUGGED], [LEFT]),
    ("wire to body: F1.out – C1.1", ("F1.out", "body"), [UNPLUGGED], []),  # no lamp before the plug
    ("wire to body: S4 – brake switch.15", ("brake switch.15", "body"), [], []),  # no plug, no lamp
    ("wire to body: S3 – right rear.tail", ("right rear.tail", "body"), [], [RIGHT, "number-plate lamp"]),
    # A tail lamp's holder: its live side has one lamp, its earth side the three of the corner.
    ("holder shorted: left rear tail", ("left rear.tail", "left rear.earth"), [UNPLUGGED], [LEFT]),
    # The plug itself stays together where its two ways touch inside it; the lamps of the side with fewer come out.
    ("ways joined: C1 ways 1 and 2", ("C1.1", "C1.2"), [], [LEFT]),
    ("ways joined: C1 ways 2 and 5", ("C1.2", "C1.5"), [], ["right rear indicator"]),
    ("wires joined: F1.out – C1.1 and brake switch.54 – C1.3", ("C1.1", "C1.3"), [UNPLUGGED], []),
])
def test_what_is_pulled_so_that_nothing_else_joins_them(
    name: str, ends: tuple[str, str], plugs: list[Intervention], lamps: list[str],
) -> None:
    lamps_in, lamps_out = (isolated(fault(name), HARNESS, x) for x in (False, True))
    assert lamps_in == Test("ohms", REST, *ends, done=tuple(plugs))
    assert lamps_out == Test("ohms", REST, *ends, done=(*plugs, *map(out, lamps)))


@pytest.mark.parametrize("name", [
    "filament open: left rear stop", "wire open: C1.1 – left rear.tail", "earth bad: E1",
])
def test_what_joins_nothing_is_isolated_by_nothing(name: str) -> None:
    assert isolated(fault(name), HARNESS) is None and parted(fault(name), HARNESS) is None


def test_with_all_that_is_pulled_the_meter_shows_what_they_touch_with() -> None:
    """Ohm: the leak alone, within what the metre or two of wire and the leads have; on a sound vehicle at least twice
    that or open, where the lamps are out too."""
    shown = list[float]()
    for f in joining()[::3]:
        test = isolated(f, HARNESS, lamps_out=True)
        assert test is not None
        leak = f.variants[0].change
        bad, sound = own().predictor.observed(test, [leak, NO_CHANGE])
        ohm = leak.added[0].ohm
        assert bad < ohm + 0.6
        shown.append(sound / max(bad, 0.01))
    assert len(shown) > 30
    assert sum(x > 1e3 for x in shown) > 0.75 * len(shown)


@pytest.mark.parametrize(("name", "splice", "far", "pulled"), [
    ("wire to body: S3 – right rear.tail", "S3", "right rear.tail", [out(RIGHT)]),
    ("wire to body: S3 – number-plate lamp.feed", "S3", "number-plate lamp.feed", [out("number-plate lamp")]),
    ("wire to body: C1.2 – S3", "S3", "C1.2'", [UNPLUGGED]),
    ("wire to body: S2 – left rear.stop", "S2", "left rear.stop", [out(LEFT)]),
    ("wire to body: S4 – brake switch.15", "S4", "brake switch.15", []),
])
def test_a_wire_of_a_splice_is_measured_parted_from_it(
    name: str, splice: str, far: str, pulled: list[Intervention],
) -> None:
    """From its own end in the splice to the body: the leak, and open on a sound vehicle or with another wire of that
    splice rubbed through, which the reading with the splice whole cannot tell from it."""
    f = fault(name)
    alone, whole = parted(f, HARNESS), isolated(f, HARNESS)
    assert alone is not None and whole is not None
    assert alone == Test("ohms", REST, splice, "body", done=(Intervention("part splice", splice, far), *pulled))
    assert alone.parted == splice
    other = next(g for g in joining() if g.kind == "wire to body" and splice in g.name and g.name != name)
    changes = [f.variants[0].change, other.variants[0].change, NO_CHANGE]
    bad, beside, sound = own().predictor.observed(alone, changes)
    assert bad < 1 and beside > 1e4 and sound > 1e4


@pytest.mark.parametrize("name", [
    "wire to body: C1.1 – left rear.tail",  # no splice at either end
    "wires joined: S4 – flasher unit.49 and flasher unit.49a – indicator stalk.49a",  # a body conducts: no earth wire
    "holder shorted: right rear tail",
])
def test_nothing_is_parted_for_what_no_splice_shares(name: str) -> None:
    assert parted(fault(name), HARNESS) is None


def test_where_no_body_conducts_a_wire_is_parted_that_touches_one_to_earth() -> None:
    """On glass fibre two wires that rub on each other are a leak to earth where one of them is one: measured from the
    live one's end in its splice to where the black wires meet, or to the black one's own end where that goes through
    the plug that is pulled. Neither for two live ones nor for two earths."""
    own_harness = load_harness(MODELS / "glass_fibre.yaml")
    boat = investigator_for(own_harness)
    tests = {f.name: parted(f, own_harness) for f in boat.faults if f.kind == "wires joined"}
    found = {name: t for name, t in tests.items() if t is not None}
    assert found and len(found) < len(tests)
    shown = list[bool]()
    for name, test in found.items():
        leak = find_fault(boat.faults, name).variants[0].change
        assert test.parted in own_harness.splices
        bad, sound = boat.predictor.observed(test, [leak, NO_CHANGE])
        assert sound > 1e3, name
        assert bad < leak.added[0].ohm + 1.0, name
        shown.append(test.minus == own_harness.reference)
    assert any(shown) and not all(shown)


def test_only_plugs_that_the_points_are_in_are_pulled() -> None:
    assert unplugged(["C1.1", "C1.4'", "S2", "left rear.stop"], HARNESS) == (UNPLUGGED,)
    assert unplugged(["S2", "left rear.stop"], HARNESS) == ()
    assert unplugged(["C1.1"], HARNESS, "C1") == ()


def test_points_between_which_several_repairs_show_alike() -> None:
    """Each wire of a splice is measured at its own end; two repairs of one wire at the same. A second fault of one
    repair is no second repair."""
    tail, plate = fault("wire to body: S3 – right rear.tail"), fault("wire to body: S3 – number-plate lamp.feed")
    assert shared_points([[tail], [tail]], HARNESS) == [{"right rear.tail", "body"}]
    assert shared_points([[tail], [plate]], HARNESS) == []
    assert shared_points([[tail, tail], [plate]], HARNESS) == []
    assert shared_points([[fault("filament open: left rear stop")]] * 2, HARNESS) == []


# --- Whether it is worth it ------------------------------------------------------------------------------


def asked(name: str, done: tuple[Test, ...] = (), doubt: float = 1.0, **more: object) -> Test | None:
    f = fault(name)
    return confirmation(own().predictor, [f], f.variants[0].change, [PRESSED, REST], Standing(PRESSED), done, doubt,
                        **more)  # type: ignore[arg-type]


def test_a_splice_is_parted_only_for_a_doubt_that_is_worth_it() -> None:
    """An hour for a wire renewed in vain, times the doubt, against the minutes it takes; below that what the meter
    shows with the splice whole has to do."""
    name = "wire to body: S3 – right rear.tail"
    alone = parted(fault(name), HARNESS)
    assert alone is not None
    worth = minutes_of(alone, Standing(PRESSED), HARNESS) / WRONG_PART_MIN
    assert asked(name, doubt=worth * 1.1) == alone
    less = asked(name, doubt=worth * 0.9)
    assert less is not None and less.kind == "ohms" and not less.parted
    assert less in [isolated(fault(name), HARNESS, x) for x in (False, True)]
    assert asked(name, (alone,)) is None
    assert asked(name, (less,), doubt=worth * 0.9) is None
    unparted = asked(name, may=lambda test: not test.parted)
    assert unparted == less
    assert asked(name, may=lambda test: False) is None


def test_the_meter_is_asked_only_what_it_can_tell() -> None:
    """Where cold lamps hide the leak they come out: what is proposed tells bad from sound by a factor of two."""
    for f in joining()[1::3]:
        test = asked(f.name, doubt=0.01)
        if test is not None and test.kind == "ohms":
            bad, sound = own().predictor.observed(test, [f.variants[0].change, NO_CHANGE])
            assert sound + 0.15 > 1.9 * (bad + 0.15), f.name


def test_a_lamp_is_looked_at_in_the_hand_unless_it_is_as_good_as_sure() -> None:
    """A minute by an hour: from one or two in a hundred on. It was looked at whichever way round the leads were."""
    name = "filament open: left rear stop"
    glass = lamp_in_hand(fault(name), HARNESS, PRESSED)
    bulb = HARNESS.lamp("left rear stop")
    assert glass == Test("ohms", PRESSED, bulb.a, bulb.b, done=(out(LEFT),))
    sure = IN_HAND_MIN / WRONG_PART_MIN
    assert asked(name, doubt=sure * 1.1) == glass and asked(name, doubt=sure * 0.9) is None
    turned = replace(glass, plus=bulb.b, minus=bulb.a, state=REST)
    assert asked(name, (turned,)) is None and asked(name, may=lambda test: False) is None
    tail = HARNESS.lamp("left rear tail")
    assert asked(name, (replace(glass, plus=tail.a, minus=tail.b),)) == glass  # that was the other filament
    assert lamp_in_hand(fault("earth bad: E1"), HARNESS, PRESSED) is None
    leds = load_harness(MODELS / "saloon_led.yaml")  # which no ohmmeter lights; the headlamps have filaments
    at_rest, dead = leds.at_rest(), fault(name)
    held = {f.lamp for f in leds.lamps() if lamp_in_hand(replace(dead, elements=(f.name,)), leds, at_rest)}
    assert "left rear stop" not in held and "left headlamp dip" in held


def test_a_quick_repair_is_its_own_quickest_test() -> None:
    """And what is merely cleaned, with nothing that a probe could be put across."""
    fuse = fault("fuse blown: F1")
    assert fuse.repair_min <= CHEAP_MIN and asked(fuse.name) is None
    earth = fault("earth bad: E1")
    assert earth.repair_min > CHEAP_MIN
    test = asked(earth.name)
    assert test is not None and {test.plus, test.minus} == {"E1", "body"}
    quick = replace(earth, repair_min=CHEAP_MIN)
    assert confirmation(own().predictor, [quick], earth.variants[0].change, [PRESSED], Standing(PRESSED), ()) is None
    nothing_across = replace(earth, across=None, renews=False)
    assert confirmation(own().predictor, [nothing_across], earth.variants[0].change, [PRESSED], Standing(PRESSED),
                        ()) is None


def test_what_was_added_is_looked_for_once() -> None:
    """No circuit shows where somebody tapped a wire; whoever has looked there has looked."""
    names = [f.name for f in own().faults if f.kind in ("added load", "added feed") and where_seen(f, HARNESS)]
    assert names
    for name in names[:3]:
        look = asked(name)
        assert look is not None and look == inspection(HARNESS, next(iter(where_seen(fault(name), HARNESS))))
        assert asked(name, (look,)) is None and asked(name, may=lambda test: False) is None
        assert asked(name, (inspection(HARNESS, Test("inspect", REST, "C1").thing(HARNESS)),)) == look


def test_of_several_faults_the_first_that_can_be_measured_is() -> None:
    fuse, earth = fault("fuse blown: F1"), fault("earth bad: E1")
    both = fuse.variants[0].change | earth.variants[0].change
    test = confirmation(own().predictor, [fuse, earth], both, [PRESSED], Standing(PRESSED), ())
    assert test is not None and {test.plus, test.minus} == {"E1", "body"}
    assert confirmation(own().predictor, [], both, [PRESSED], Standing(PRESSED), ()) is None


def test_a_drop_is_measured_where_current_flows_and_ohms_where_none_can() -> None:
    """The left earth carries the stop lamps' current while the pedal is pressed; with nothing switched on there is
    no drop, and the ohmmeter is left."""
    f = fault("earth bad: E1")
    live = confirmation(own().predictor, [f], f.variants[0].change, [REST, PRESSED], Standing(REST), ())
    assert live is not None and live.state == PRESSED and live.kind in ("drop", "volts")
    dead = confirmation(own().predictor, [f], f.variants[0].change, [REST], Standing(REST), ())
    assert dead is None or dead.kind == "ohms"
    broken = fault("earth open: E1")
    ohms = confirmation(own().predictor, [broken], broken.variants[0].change, [REST], Standing(REST), ())
    assert ohms is not None and ohms.kind == "ohms"
    assert confirmation(own().predictor, [broken], broken.variants[0].change, [REST], Standing(REST), (ohms,)) is None


# --- What was measured already ---------------------------------------------------------------------------


def test_a_drop_is_known_from_both_its_ends_in_one_state() -> None:
    f = fault("wire bad: C1.1 – left rear.tail")
    (a, b), = spans(f, HARNESS)
    side = HARNESS.state({"lamp switch": "side"})

    def volts(node: str, state: object = side, *done: Intervention) -> Test:
        return Test("volts", state, node, "body", done=done)  # type: ignore[arg-type]

    assert measured([f], {volts(a), volts(b)}, HARNESS)
    assert measured([f], {Test("drop", side, b, a)}, HARNESS) and measured([f], {Test("ohms", REST, a, b)}, HARNESS)
    assert not measured([f], {volts(a)}, HARNESS) and not measured([f], set(), HARNESS)
    assert not measured([f], {volts(a), volts(b, PRESSED)}, HARNESS)
    assert not measured([f], {volts(a), volts(b, side, UNPLUGGED)}, HARNESS)
    assert not measured([f], {volts(a), Test("test lamp", side, b, "body")}, HARNESS)
    assert not measured([f], {Test("inspect", REST, a, b)}, HARNESS)  # to look along it is not to measure it
    earth = fault("earth bad: E1")  # of which one end is the body
    assert measured([earth], {volts("E1")}, HARNESS)
    assert measured([fault("earth bad: E2"), earth], {volts("E1")}, HARNESS)


def test_what_touches_is_known_by_the_parted_wire_alone_where_there_is_one() -> None:
    shared, own_wire = fault("wire to body: S3 – right rear.tail"), fault("wire to body: C1.1 – left rear.tail")
    alone = parted(shared, HARNESS)
    assert alone is not None and measured([shared], {alone}, HARNESS)
    for x in (False, True):
        whole, single = isolated(shared, HARNESS, x), isolated(own_wire, HARNESS, x)
        assert whole is not None and single is not None
        assert measured([own_wire], {single}, HARNESS)
        assert not measured([own_wire], {whole}, HARNESS)


# --- What is in sight ------------------------------------------------------------------------------------


def test_what_shows_is_looked_at_if_that_takes_little_beside_the_repair() -> None:
    """Mostly seen, nobody has looked, and less than half the repair with the way there."""
    standing = Standing(PRESSED)
    for f in own().faults:
        looks = list(in_sight([f], HARNESS, (), standing))
        for thing, seen in where_seen(f, HARNESS).items():
            test = inspection(HARNESS, thing)
            little = minutes_of(test, standing, HARNESS) < 0.5 * f.repair_min + HARNESS.place_of(f.node)[1]
            assert (test in looks) == (seen >= 0.6 and little), (f.name, thing)
        for test in looks:
            assert test not in list(in_sight([f], HARNESS, {test}, standing))
    assert any(list(in_sight([f], HARNESS, (), standing)) for f in own().faults)


def test_the_terminals_of_a_bad_holder_are_those_that_its_lamp_lies_between() -> None:
    holder = next(f for f in own().faults if f.kind == "holder bad" and "left rear tail" in f.name)
    assert supplied(holder, HARNESS) == [("left rear.tail", "left rear.earth")]
    plate = next(f for f in own().faults if f.kind == "holder bad" and "number-plate" in f.name)
    assert supplied(plate, HARNESS) == [("number-plate lamp.feed", "number-plate lamp.earth")]
    assert supplied(fault("filament open: left rear tail"), HARNESS) == []
    assert supplied(fault("earth bad: E1"), HARNESS) == []


@pytest.mark.parametrize(("model", "kinds"), [
    ("pickup", {"wire to body", "stray live end"}), ("glass_fibre", {"wires joined"}),
])
def test_a_splice_is_parted_for_a_live_wire_that_touches_earth_and_for_nothing_else(
    model: str, kinds: set[str]
) -> None:
    """Where a body conducts, that is what a live wire rubs on: two wires in a loom, were one of them an earth wire,
    are told apart at their plugs. Where none does, it is the black wire, and what touches inside a plug, a holder or
    a switch has no wire that could be parted from it."""
    harness = load_harness(MODELS / f"{model}.yaml")
    faults = investigator_for(harness).faults
    assert {"wires joined", "ways joined", "holder shorted", "switch bypassed"} <= {f.kind for f in faults}
    assert {f.kind for f in faults if parted(f, harness) is not None} == kinds
