"""Complaints of vehicles whose names nobody has written words for: near side and off side in the file, a lamp unit
called after two of its lamps, a bell, a groom's lamp (all invented)."""

from __future__ import annotations

from functools import cache

import pytest

from tracer.errors import TracerError
from tracer.harness.file.text import read_harness
from tracer.harness.lamp_purposes import lamp_purposes, other_side
from tracer.observation.healthy_states import HealthyStates, healthy_states
from tracer.observation.words.symptoms import read_by_rules

HORSE_BOX = """
harness: Invented horse box
system: 12 V negative earth
vehicle: lorry
ignition: none
colours: IEC 60757
usual: {size: 1 mm², length: 1 m, loom: main}
controls:
  light switch: {positions: [off, side], also: [lights]}
  brake pedal: {positions: [released, pressed], sprung: yes, also: [brake]}
  indicator switch: {positions: [off, left, right], also: [indicators]}
  gear: {positions: [neutral, reverse], drives: [reverse]}
  bell button: {positions: [released, pressed], sprung: yes}
  groom lamp switch: {positions: [off, on]}
parts:
  battery: {kind: battery}
  light switch: {kind: switch, control: light switch, contacts: {side: [in-out]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [in-out]}}
  indicator switch: {kind: switch, control: indicator switch, contacts: {left: [in-L], right: [in-R]}}
  reverse switch: {kind: switch, control: gear, contacts: {reverse: [in-out]}}
  bell button: {kind: switch, control: bell button, contacts: {pressed: [in-out]}}
  groom lamp switch: {kind: switch, control: groom lamp switch, contacts: {on: [in-out]}}
  flasher can: {kind: flasher unit, load: 42 W}
  nearside tail and stop: {kind: lamp unit, lamps: {tail + stop: P21/5W}, place: nearside rear}
  offside tail and stop: {kind: lamp unit, lamps: {tail + stop: P21/5W}, place: offside rear}
  nearside front indicator: {kind: lamp, lamp: P21W, place: nearside front}
  offside front indicator: {kind: lamp, lamp: P21W, place: offside front}
  nearside rear indicator: {kind: lamp, lamp: P21W, place: nearside rear}
  offside rear indicator: {kind: lamp, lamp: P21W, place: offside rear}
  nearside marker: {kind: lamp, lamp: R5W, place: nearside front}
  offside marker: {kind: lamp, lamp: R5W, place: offside front}
  groom lamp: {kind: lamp, lamp: R10W, place: groom compartment}
  reversing bleeper: {kind: buzzer, current: 0.1 A}
  bell: {kind: load, power: 30 W}
splices: {S1: supply, S2: side lamps, S3: stop lamps, S4: left indicators, S5: right indicators, S6: earth}
earths: {E1: chassis}
wires:
  - {run: battery.+ > S1}
  - {run: S1 > light switch.in}
  - {run: S1 > brake switch.in}
  - {run: S1 > flasher can.49}
  - {run: S1 > reverse switch.in}
  - {run: S1 > bell button.in}
  - {run: S1 > groom lamp switch.in}
  - {run: flasher can.49a > indicator switch.in}
  - {run: light switch.out > S2}
  - {run: S2 > nearside tail and stop.tail}
  - {run: S2 > offside tail and stop.tail}
  - {run: S2 > nearside marker.feed}
  - {run: S2 > offside marker.feed}
  - {run: brake switch.out > S3}
  - {run: S3 > nearside tail and stop.stop}
  - {run: S3 > offside tail and stop.stop}
  - {run: indicator switch.L > S4}
  - {run: S4 > nearside front indicator.feed}
  - {run: S4 > nearside rear indicator.feed}
  - {run: indicator switch.R > S5}
  - {run: S5 > offside front indicator.feed}
  - {run: S5 > offside rear indicator.feed}
  - {run: reverse switch.out > reversing bleeper.feed}
  - {run: bell button.out > bell.feed}
  - {run: groom lamp switch.out > groom lamp.feed}
  - {run: S6 > E1}
  - {run: battery.- > E1}
""" + "".join(f"  - {{run: {part}.earth > S6}}\n" for part in (
    "nearside tail and stop", "offside tail and stop", "nearside front indicator", "offside front indicator",
    "nearside rear indicator", "offside rear indicator", "nearside marker", "offside marker", "groom lamp",
    "reversing bleeper", "bell"))


@cache
def own(traffic: str = "") -> HealthyStates:
    return healthy_states(read_harness(HORSE_BOX + (f"traffic: {traffic}\n" if traffic else ""), "horsebox.yaml"))


def heard(said: str) -> str:
    healthy, base = own(), own().harness.state({})
    out = []
    for s in read_by_rules(said, healthy.harness, healthy).symptoms:
        moved = ", ".join(f"{c} {p}" for c, p in s.state.positions if p != base[c])
        out.append(f"{'; '.join(x.says() for x in s.seen)} when {moved or 'at rest'}")
    return " / ".join(out)


@pytest.mark.parametrize(("said", "meant"), [
    ("nearside marker out", "nearside marker dark when light switch side"),
    ("left brake light dead", "nearside tail and stop stop dark when brake pedal pressed"),
    ("offside brake light knackered, near one fine",
     "offside tail and stop stop dark; nearside tail and stop stop normal when brake pedal pressed"),
    ("nsf indicator like the clappers, rear one dead",
     "nearside front indicator lit, fast; nearside rear indicator dark when indicator switch left"),
    ("osr indicator dead, t'other side's fine",
     "offside rear indicator dark when indicator switch right / nearside rear indicator normal when indicator switch "
     "left"),
    ("passenger one at the back doesn't flash", "nearside rear indicator does not flash when indicator switch left"),
    ("tails go dim when I brake",
     "nearside tail and stop tail dim; offside tail and stop tail dim when light switch side, brake pedal pressed / "
     "nearside tail and stop tail normal; offside tail and stop tail normal when light switch side"),
    ("stop lamp on left comes on with left indicator",
     "nearside tail and stop stop lit when indicator switch left"),
    ("indicators don't do owt",
     "nearside front indicator dark; nearside rear indicator dark when indicator switch left / offside front "
     "indicator dark; offside rear indicator dark when indicator switch right"),
    ("brake lights don't work, nor do the indicators",
     "nearside tail and stop stop dark; offside tail and stop stop dark when brake pedal pressed / nearside front "
     "indicator dark; nearside rear indicator dark when indicator switch left / offside front indicator dark; "
     "offside rear indicator dark when indicator switch right"),
    ("markers OK, tail lights not",
     "nearside marker normal; offside marker normal; nearside tail and stop tail dark; offside tail and stop tail "
     "dark when light switch side"),
    ("left marker dead, right un's fine", "nearside marker dark; offside marker normal when light switch side"),
    ("groom lamp flickers when I shut the door",
     "groom lamp sometimes dark or faint or dim, as it is moved when groom lamp switch on"),
    ("groom lamp flickers when driving along",
     "groom lamp sometimes dark or faint or dim, as it is moved when groom lamp switch on"),
    ("left marker keeps going out over bumps",
     "nearside marker sometimes dark, as it is moved when light switch side"),
    ("bleeper silent in reverse", "reversing bleeper does not work when gear reverse"),
    ("bell's a bit feeble", "bell weak when bell button pressed"),
    ("tail lights go dim when I sound the bell",
     "nearside tail and stop tail dim; offside tail and stop tail dim when light switch side, bell button pressed / "
     "nearside tail and stop tail normal; offside tail and stop tail normal when light switch side"),
])
def test_it_is_understood_as_it_was_meant(said: str, meant: str) -> None:
    assert heard(said) == meant


@pytest.mark.parametrize("said", [
    "bell sounds sick", "groom lamp works funny", "wotsit silent", "left marker on the fritz",
])
def test_rather_asked_than_taken_for_something_else(said: str) -> None:
    with pytest.raises(TracerError):
        heard(said)


def test_the_near_side_is_where_the_kerb_is() -> None:
    """In the file as in speech: the lamps light with the indicator of their side."""
    for traffic, side in (("", "left"), ("keeps left", "left"), ("keeps right", "right")):
        assert lamp_purposes(own(traffic).harness)["nearside front indicator"] == {f"indicator {side}"}
    assert other_side("nearside tail and stop tail") == "offside tail and stop tail"


def test_a_unit_called_after_its_lamps_is_not_both_in_each() -> None:
    purposes = lamp_purposes(own().harness)
    assert purposes["nearside tail and stop tail"] == {"side"} and purposes["nearside tail and stop stop"] == {"stop"}
