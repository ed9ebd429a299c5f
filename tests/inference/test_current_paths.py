"""Where the current goes: Kirchhoff's law of currents at every point, and the way told in words."""

from __future__ import annotations

import pytest

from tests.library import MODELS, tool_on
from tests.small_vehicle import tool
from tracer.circuit.model import NO_CHANGE, Change
from tracer.faults import Fault, find_fault
from tracer.harness.devices import Source
from tracer.inference.current_paths import Flow, flow, path_through, say_path

REAR_END = tool_on(MODELS / "rear_end.yaml")


def flowing(change: Change = NO_CHANGE, **controls: str) -> Flow:
    running = controls.pop("engine", "") == "running"
    state = REAR_END.harness.state({n.replace("_", " "): p for n, p in controls.items()}, running)
    return flow(REAR_END.predictor, REAR_END.predictor.setup(state), change)


def change(name: str) -> Change:
    return find_fault(REAR_END.faults, name).variants[0].change


def balanced(found: Flow) -> None:
    """At every point."""
    sums: dict[str, float] = {}
    for x in found.branches:
        assert x.amps > 0, "every branch is told in the direction of its current"
        sums[x.a] = sums.get(x.a, 0.0) - x.amps
        sums[x.b] = sums.get(x.b, 0.0) + x.amps
    # A fuse that blew carries nothing, and of stray currents below the least that is listed there are some.
    assert sums == pytest.approx(dict.fromkeys(sums, 0.0), abs=0.01)


@pytest.mark.parametrize(("fault", "controls"), [
    ("", {"lamp_switch": "side"}), ("", {"lamp_switch": "side", "brake_pedal": "pressed"}),
    ("earth open: E1", {"brake_pedal": "pressed", "lamp_switch": "side"}),
    ("wire to body: brake switch.54 – C1.3", {"brake_pedal": "pressed"}),
    ("ways joined: C1 ways 2 and 3", {"lamp_switch": "side"}),
    ("battery terminal bad: battery.+", {"brake_pedal": "pressed"}),
    ("battery low", {"brake_pedal": "pressed"}), ("not charging", {"lamp_switch": "side", "engine": "running"}),
    ("charging too high", {"lamp_switch": "side", "engine": "running"}),
])
def test_what_flows_to_a_point_flows_from_it(fault: str, controls: dict[str, str]) -> None:
    """Kirchhoff: what the battery gives as well, which ends at both its poles, low or charged."""
    names = [f.name for f in REAR_END.faults if f.name.startswith(fault)] if fault else []
    assert bool(names) == bool(fault)
    balanced(flowing(change(names[0]) if names else NO_CHANGE, **controls))


@pytest.mark.parametrize("fault", tool().faults, ids=lambda fault: fault.name)
def test_what_flows_to_a_point_flows_from_it_whatever_is_broken(fault: Fault) -> None:
    """The battery and each wire, joint, switch and lamp of a small vehicle."""
    own, state = tool().predictor, tool().harness.state({"ignition": "on", "lights": "on"})
    for variant in fault.variants:
        balanced(flow(own, own.setup(state), variant.change))


def test_the_battery_gives_what_the_lamps_take() -> None:
    """Three 5 W lamps at 12 V and two of 21 W: about 15/12 + 42/12 A, from plus through them and to minus."""
    found = flowing(lamp_switch="side", brake_pedal="pressed")
    (battery,) = [x for x in found.branches if isinstance(x.device, Source)]
    assert (battery.a, battery.b) == ("battery.-", "battery.+")
    lamps = sum(amps for name, amps in found.signed.items() if name.endswith("filament"))
    assert battery.amps == pytest.approx(lamps, rel=1e-2) and battery.amps == pytest.approx(57 / 12, rel=0.15)


def test_the_way_goes_from_the_battery_through_the_lamp_to_the_body() -> None:
    found, lamp = flowing(brake_pedal="pressed"), REAR_END.harness.lamp("left rear stop")
    path = path_through(found, lamp, REAR_END.predictor)
    assert path[0].a == "battery.+" and [x.b for x in path[:-1]] == [x.a for x in path[1:]]
    assert [x.amps for x in path if x.name == lamp.name] == [max(x.amps for x in path if x.name == lamp.name)]
    said = say_path(path, lamp)
    places = ["battery", "F3", "brake switch (15-54)", "C1/3", "the left rear stop filament", "earth point E1"]
    assert [said.index(p) for p in places] == sorted(said.index(p) for p in places)
    assert "BKRD wire" in said and "BACK" not in said
    assert "BACK through the left rear stop filament (back-feed)" in say_path(path, lamp, frozenset({lamp.name}))


def test_a_lamp_without_current_has_no_way() -> None:
    found, lamp = flowing(lamp_switch="side"), REAR_END.harness.lamp("left rear stop")
    assert path_through(found, lamp, REAR_END.predictor) == ()
    assert say_path((), lamp) == "no current reaches left rear stop"


def test_what_touches_is_told_as_a_false_path() -> None:
    """The stop lamps' feed touches that of the right tail: with the pedal pressed the tail is lit through it."""
    fault = find_fault(REAR_END.faults, "ways joined: C1 ways 2 and 3")
    lamp = REAR_END.harness.lamp("right rear tail")
    found = flowing(fault.variants[-1].change, brake_pedal="pressed")
    assert "the false path way 3 of C1" in say_path(path_through(found, lamp, REAR_END.predictor), lamp)
