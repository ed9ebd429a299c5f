"""What hands do wrong, and what goes together: each worked by hand on the invented pick-up."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tracer.checking.simulation import Simulation, simulate
from tracer.circuit.model import AddedBranch
from tracer.faults import Fault, find_fault, list_faults
from tracer.faults.copper import Nets
from tracer.harness.file.text import dump_harness, load_harness, read_harness
from tracer.harness.node import node_of, terminal_at
from tracer.observation.forward_model import Predictor

PICKUP = load_harness(Path(__file__).parents[2] / "harness_models" / "pickup.yaml")


@cache
def faults() -> tuple[Fault, ...]:
    return list_faults(PICKUP)


def looks(fault: str, **positions: str) -> dict[str, str]:
    found = run(fault, **positions)
    return {x.lamp: x.look for x in found.lamps}


def run(fault: str, **positions: str) -> Simulation:
    return simulate(PICKUP, {k.replace("_", " "): p for k, p in positions.items()}, faults=[fault] if fault else [])


def test_a_broken_filament_has_its_voltage_on_its_contacts() -> None:
    """25 V on a 24 V vehicle were shown as 0.0: nothing drops the battery's voltage but the break itself."""
    lorry = load_harness(Path(__file__).parents[2] / "harness_models" / "lorry_24v.yaml")
    name = next(f.lamp for f in lorry.lamps() if "stop" in f.lamp)
    control = next(c for c in lorry.controls if "brake" in c)
    position = lorry.controls[control].positions[1]
    found = simulate(lorry, {control: position}, faults=[f"filament open: {name}"])
    lamp = next(x for x in found.lamps if x.lamp == name)

    assert lamp.look.startswith("dark") and lamp.amps == 0
    assert lamp.volts == pytest.approx(25.2, abs=0.5)


def test_feeds_of_two_lamps_on_each_others_terminals() -> None:
    """Side lamp and headlamp of one corner: no; indicator of the corner unit and the repeater: one net, no fault.
    The left headlamp's main beam and the left side lamp sit at one corner and are fed through C4: with them
    exchanged the side lights light the main filament."""
    name = "feeds exchanged: left headlamp.main and left front.side"
    lit = looks(name, lamp_switch="side")
    assert lit["left headlamp main"].startswith(("normal", "dim", "bright"))
    assert lit["left front side"].startswith("dark") and lit["right front side"] == "normal"

    pairs = [f.name for f in faults() if f.kind == "feeds exchanged"]
    assert not any("left front.indicator and left repeater.feed" in p for p in pairs)
    assert not any(p.count("left front.") == 2 for p in pairs), "within a unit these are wires changed over"


def test_a_stray_live_end_blows_the_fuse_of_its_circuit() -> None:
    found = run("stray live end: S5", lamp_switch="side")
    assert list(found.fuses_blow) == ["F3"]
    assert not any(f.name == "stray live end: S13" for f in faults()), "an earth splice has no live end"
    assert find_fault(faults(), "stray live end: S5").comes_and_goes == 0.6


def test_a_live_contact_on_its_shell_blows_the_fuse_in_the_state_that_feeds_it() -> None:
    name = "holder shorted: left rear stop"
    assert list(run(name, brake_pedal="pressed").fuses_blow) == ["F1"]
    assert not run(name, lamp_switch="side").fuses_blow


def test_a_wet_brake_switch_lets_the_stop_lamps_glow() -> None:
    """4 Ω in series with two 21 W filaments in parallel (25 W at 13.5 V: 1.85 A at 13.5 V each): with the pedal
    released V = 12.6 − (4.13 · 2 + 0.03) · I(V), I = 1.85 (V/13.5)^0.55 for all that the cold resistance does not
    limit. 0.13 Ω: battery 0.02, fuse and its clip 0.016, contacts 0.013, wires 0.08; 0.03 Ω of each lamp’s own."""
    leaking = find_fault(faults(), "switch leaking: brake switch 15-54")
    assert leaking.at(4.0).change.added == (AddedBranch("brake switch.15", "brake switch.54", 4.0),)
    v = 2.0
    for _ in range(400):
        hot = v / (1.85 * (v / 13.5) ** 0.55)
        r = ((13.5 / 1.85 / 13) ** 4 + hot**4) ** 0.25
        v += 0.05 * (12.6 - 8.29 * v / r - v)
    p = Predictor(PICKUP)
    found = abs(p.filament_v(p.setup(PICKUP.state({})), p.table([leaking.at(4.0).change]))[0])
    assert found[p.lamp_index["left rear stop"]] == pytest.approx(v, abs=0.08)


def test_all_contacts_of_a_switch_in_one_position() -> None:
    """“head” joins 30 with 58 and with 56; in “side” the first still closes."""
    name = "switch position dead: lamp switch head"
    head, side = looks(name, lamp_switch="head"), looks(name, lamp_switch="side")
    assert head["left rear tail"].startswith("dark") and head["left headlamp dip"].startswith("dark")
    assert side["left rear tail"] == "normal"


def test_a_holder_corroded_all_over() -> None:
    """Stop and tail of one holder: three contacts. At 4 Ω each the tail has 4 Ω before it; behind it 4 Ω of the earth
    contact, and beside that the way back through the cold stop filament (0.56 Ω), its contact and the other stop
    lamp: 4 + 2 · 0.56 Ω. In all 6.25 Ω: V = 12.14 − 6.25 · 0.42 A · (V/12.14)^0.55 is 9.82 V."""
    bad = find_fault(faults(), "holder corroded: left rear stop + left rear tail")
    assert {n for v in bad.variants for n, _ in v.change.set_ohm} == {
        "left rear stop holder contact", "left rear tail holder contact",
        "left rear stop + left rear tail holder earth",
    }
    lit = run("holder corroded: left rear stop + left rear tail", lamp_switch="side").lamps
    assert next(x.volts for x in lit if x.lamp == "left rear tail") == pytest.approx(9.82, abs=0.1)
    assert next(x.volts for x in lit if x.lamp == "right rear tail") > 12.0


def test_equal_lamps_of_one_age() -> None:
    lit = looks("both lamps dead: left rear stop and right rear stop", brake_pedal="pressed")
    assert lit["left rear stop"].startswith("dark") and lit["right rear stop"].startswith("dark")
    assert find_fault(faults(), "both lamps dead: left rear stop and right rear stop").repair.startswith("new lamps")


def test_a_terminal_and_an_old_repair_change_what_their_wire_does() -> None:
    wire = find_fault(faults(), "wire bad: C1.2 – S6")
    repair = find_fault(faults(), "old repair bad: C1.2 – S6")
    assert [v.change for v in wire.variants] == [v.change for v in repair.variants]
    both = find_fault(faults(), "terminal off: flasher unit.49a")
    assert len(both.elements) == 2, "two wires in one terminal fail together"
    assert not any("old repair" in f.name and "C2.1 – left rear.tail" in f.name for f in faults()), "0.2 m"


def test_wires_of_one_trunk_that_share_no_place() -> None:
    """The left and the right front loom run together from the fuse box: dip left at C4 and side right at C5."""
    ends = {e for f in faults() if f.kind == "wires joined" for e in [frozenset(f.elements)]}
    trunk = [p for p in ends if {n.split(" – ")[-1].split(".")[0] for n in p} == {"C4", "C5"}]
    assert trunk
    for pair in trunk:
        assert len({s.loom for w in PICKUP.wires for s in w.segments if s.name in pair}) == 1


def test_nets_are_copper_alone() -> None:
    nets = Nets(PICKUP)
    assert nets.same("S5", "left rear.tail") and nets.same("F3.out", "S5")
    assert not nets.same("F3.in", "F3.out") and not nets.same("lamp switch.30", "lamp switch.58")
    assert nets.earth("left rear.earth") and nets.earth("battery.-") and not nets.earth("battery.+")


def test_a_vehicle_without_conducting_body_has_no_stray_end_on_it() -> None:
    van = read_harness(
        "harness: Invented\nsystem: 12 V negative earth\nparts:\n  battery: {kind: battery}\n"
        "  A: {kind: lamp, lamp: 5 W}\n"
        "splices: {S1: here}\nearths:\n  E1: {body: none}\nwires:\n  - battery.+ > S1\n  - S1 > A.feed\n"
        "  - A.earth > E1\n  - battery.- > E1\n"
    )
    assert not any(f.kind == "stray live end" for f in list_faults(van))


FLEXING = """
harness: Invented tailgate
system: 12 V negative earth
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 5 A}
  A: {kind: lamp, lamp: 5 W}
  B: {kind: lamp, lamp: 5 W}
splices: {S1: rear}
earths: {E1: here}
usual: {length: 0.5 m, loom: tail}
wires:
  - battery.+ > F1.in
  - battery.- > E1
  - F1.out > S1
  - {run: S1 > A.feed, flexes: yes}
  - S1 > B.feed
  - {run: A.earth > E1, flexes: yes}
  - B.earth > E1
"""


def test_a_wire_that_bends_breaks_sooner_and_comes_and_goes() -> None:
    """Six times as often as the one beside it that does not (judgement, in `base_rates`); written and read again."""
    harness = read_harness(FLEXING)
    own = list_faults(harness)
    bent, still = (find_fault(own, f"wire open: S1 – {x}.feed") for x in "AB")

    assert bent.rate == pytest.approx(6 * still.rate)
    assert (bent.comes_and_goes, still.comes_and_goes) == (0.6, 0.25)
    assert read_harness(dump_harness(harness)) == harness
    usual = read_harness(FLEXING.replace("loom: tail}", "loom: tail, flexes: yes}").replace(
        "- S1 > B.feed", "- {run: S1 > B.feed, flexes: no}"))
    assert [s.flexes for w in usual.wires for s in w.segments] == [True, True, True, True, False, True, True]
    assert read_harness(dump_harness(usual)) == usual


def test_feeds_are_exchanged_only_side_by_side() -> None:
    """Two by two through all ends, as the rule says: at one place, or fed from one plug."""
    found = {frozenset(f.name.partition(": ")[2].split(" and ")) for f in faults() if f.kind == "feeds exchanged"}
    ends = [(terminal_at(p.name, t), p.place) for p in PICKUP.parts.values() if p.lamps for t in p.terminals]
    place = dict(ends)
    far = {n: {node_of(x).owner for x in PICKUP.far_ends(n)} for n, _ in ends}
    assert found
    for one, two in map(sorted, found):
        plugs = far[one] & far[two] & PICKUP.connectors.keys()
        assert place[one] == place[two] != "" or plugs
