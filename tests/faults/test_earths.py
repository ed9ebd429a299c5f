"""Earth points where nothing but the bolt joins the wires: invented van of wood, positive earth."""

from __future__ import annotations

import pytest

from tracer.checking.simulation import simulate
from tracer.faults import find_fault, list_faults
from tracer.harness.devices import FilamentLaw
from tracer.harness.file.text import read_harness
from tracer.observation.forward_model import Predictor

VAN = read_harness("""
harness: Invented wooden van
system: 12 V positive earth
colours: IEC 60757
controls:
  lamp switch: {positions: [off, on]}
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  lamp switch: {kind: switch, control: lamp switch, contacts: {on: [30-58]}}
  left tail: {kind: lamp, lamp: R10W}
  right tail: {kind: lamp, lamp: R10W}
splices:
  S1: {}
earths:
  E1: {place: tail board, body: none}
  E2: {place: battery tray, body: none}
wires:
  - {run: battery.- > F1.in, size: 4 mm², length: 0.5 m}
  - {run: F1.out > lamp switch.30, size: 2.5 mm², length: 0.5 m}
  - {run: lamp switch.58 > S1, size: 2.5 mm², length: 2 m, loom: main}
  - {run: S1 > left tail.feed, colour: RD, length: 0.5 m, loom: tail}
  - {run: S1 > right tail.feed, colour: RD, length: 0.5 m, loom: tail}
  - {run: left tail.earth > E1, colour: BK, length: 0.5 m, loom: tail}
  - {run: right tail.earth > E1, colour: BK, length: 0.5 m, loom: tail}
  - {run: E1 > E2, size: 4 mm², length: 3 m}
  - {run: E2 > battery.+, size: 4 mm², length: 0.5 m}
""")


def test_a_corroded_collecting_bolt_is_all_its_eyelets() -> None:
    """About 10 Ω from wire to wire, 5 Ω under each of three eyelets: each lamp has 5 Ω of its own and 5 Ω in common,
    V = 12.6 − (5 + 2·5)·I(V), but for the milliohms of wires and contacts."""
    bad = find_fault(list_faults(VAN), "earth bad: E1")
    p = Predictor(VAN)
    volts = abs(p.filament_v(p.setup(VAN.state({"lamp switch": "on"})), p.table([bad.at(10.0).change]))[0])
    law = VAN.lamps()[0].law
    assert isinstance(law, FilamentLaw)

    v = 6.0
    for _ in range(200):
        r = (law.cold_ohm**4 + (v / (law.i0 * (v / law.v0) ** law.exponent)) ** 4) ** 0.25
        v = 0.8 * v + 0.2 * (12.6 - 15.0 * v / r)
    assert volts == pytest.approx([v, v], abs=0.15)
    assert len(bad.elements) == 3


def test_a_loose_bolt_and_a_loose_eyelet() -> None:
    found = simulate(VAN, {"lamp switch": "on"}, faults=["earth open: E1"])
    assert all(x.look.startswith("dark") for x in found.lamps)
    found = simulate(VAN, {"lamp switch": "on"}, faults=["eyelet open: E1 from left tail.earth"])
    assert [x.look.split()[0] for x in found.lamps] == ["dark", "normal"]


def test_a_feed_rubbed_through_on_an_earth_wire_is_the_short_to_earth() -> None:
    """Nothing else is earth there. 0.2 Ω and some 0.15 Ω of wires and contacts from 12.6 V are over 30 A."""
    names = [f.name for f in list_faults(VAN) if f.kind == "wires joined"]
    name = "wires joined: S1 – left tail.feed and left tail.earth – E1"
    assert name in names and not any(f.kind == "wire to body" for f in list_faults(VAN))

    assert list(simulate(VAN, {"lamp switch": "on"}, faults=[name]).fuses_blow) == ["F1"]


def test_wires_that_are_earth_at_both_ends_cannot_short() -> None:
    assert not any("left tail.earth – E1 and right tail.earth – E1" in f.name for f in list_faults(VAN))


def test_an_eyelet_is_told_from_its_wire_by_the_eye_only() -> None:
    """The same change: simulated once."""
    faults = list_faults(VAN)
    eyelet = find_fault(faults, "eyelet bad: E1 from left tail.earth")
    wire = find_fault(faults, "wire bad: left tail.earth – E1")
    assert [v.change for v in eyelet.variants] == [v.change for v in wire.variants]
    assert (eyelet.node, eyelet.renews, wire.renews) == ("E1", False, True)
