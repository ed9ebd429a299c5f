"""Whoever adds a kind of part writes one builder; here is said what the builder forgets.

Every kind stands on the device bench, built here with other settings and for other voltages.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from msgspec.structs import replace

from tests.device_bench import BENCH
from tracer.harness.built_parts import Built, Setting
from tracer.harness.devices import Joint, RelayContact, Resistor, ends
from tracer.harness.file.text import read_harness
from tracer.harness.lamp_feeds import earthed_at, fed_by
from tracer.harness.model import Part
from tracer.harness.node import node_of, terminal_at
from tracer.harness.part_kinds import KINDS
from tracer.observation.instruments import lamp_ends

HARNESS = read_harness(BENCH, "bench")
PARTS = list(HARNESS.parts.values())
VOLTS = (6.0, 12.0, 24.0)
# Settings that say nothing of what is inside: what a lamp is for, where else it may be bolted, what heat it stands.
ELSEWHERE = {"for", "or", "resistor power"}
# Of a part as it stands on the bench, what else it needs to be bolted down.
TO_BOLT: Mapping[str, Mapping[str, Any]] = {"switch": {"contacts": {"pressed": ("31b-31",)}}}
# By the type of a setting, another value of it; the others are what a part is made of, and required.
OTHER: Mapping[str, Callable[[Any, Setting], Any]] = {
    **dict.fromkeys(("voltage", "resistance", "power", "current"), lambda value, _: 1.5 * value if value else 3.0),
    "yes or no": lambda value, _: not value,
    "choice": lambda value, setting: next(c for c in setting.choices if c != value),
    "lamp": lambda value, _: "R10W",
}


def built(part: Part, volts: float = 12.0, **other: Any) -> Built:
    return KINDS[part.kind].build(part.name, {**part.settings, **other}, volts)


def test_every_kind_stands_on_the_bench() -> None:
    assert {*KINDS} - {p.kind for p in PARTS} == set(), "put it on the bench of tests/device_bench.py"


@pytest.mark.parametrize("kind", [k for k, row in KINDS.items() if "earth at" in row.settings])
def test_a_part_that_may_be_bolted_down_has_its_earth_there(kind: str) -> None:
    """By `mounting`: a setting that the builder passes over would leave its lamp dark, and nobody told why."""
    for part in (p for p in PARTS if p.kind == kind):
        made = built(part, **{**TO_BOLT.get(kind, {}), "earth at": "E2"})
        bolted = next((d for d in made.devices if "E2" in ends(d)), None)
        assert isinstance(bolted, Joint) and bolted.kind == "stud", f"{kind}: its builder passes “earth at” over"
        inside = {n for d in made.devices if d is not bolted for n in ends(d)}
        assert bolted.a in inside, f"{kind}: nothing in it leads to where it is bolted"


@pytest.mark.parametrize("kind", KINDS)
def test_a_builder_heeds_every_setting(kind: str) -> None:
    part = next(p for p in PARTS if p.kind == kind)
    for name, setting in KINDS[kind].settings.items():
        if setting.type in OTHER and not {name, f"{kind} {name}"} & ELSEWHERE:
            changed = OTHER[setting.type](part.settings[name], setting)
            assert built(part, **{name: changed}) != built(part), f"{kind}: its builder passes “{name}” over"


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_coils_pull_in_at_the_voltage_of_their_vehicle(part: Part) -> None:
    """What pulls in at 7 V never does on 6 V, and far too early on 24 V."""
    shares = []
    for volts in VOLTS:
        made = built(part, volts)
        coils = {d.name for d in made.devices if isinstance(d, Resistor) and d.works_contacts}
        moved = [d for d in made.devices if isinstance(d, RelayContact) and d.coil in coils]
        for d in moved:
            assert 0 < d.drop_out_v < d.pick_up_v < 0.85 * volts, f"{part.kind}: its coil pulls in at {d.pick_up_v} V"
        shares.append([(d.pick_up_v / volts, d.drop_out_v / volts) for d in moved])
    for other in shares[1:]:
        assert [x for s in other for x in s] == pytest.approx([x for s in shares[0] for x in s]), part.kind


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_contacts_name_a_coil_and_lead_into_the_part(part: Part) -> None:
    """A contact with one end inside has it at `b`: what is fed through a part is looked for from its terminals."""
    moving = {d.name for d in part.devices if (isinstance(d, Resistor) and d.works_contacts) or (
        isinstance(d, Joint) and d.kind == "winding")}
    for d in part.devices:
        if isinstance(d, RelayContact):
            assert d.coil in moving, f"{d.name}: nothing in {part.name} called “{d.coil}” has the role of a coil"
            assert node_of(d.b).inner or not node_of(d.a).inner, f"{d.name}: its inner point is its `b`"


@pytest.mark.parametrize("part", [p for p in PARTS if p.lamps], ids=lambda p: p.name)
def test_every_lamp_of_the_bench_hangs_between_two_terminals(part: Part) -> None:
    for lamp in part.lamps:
        fed = [t for t in (terminal_at(part.name, x) for x in part.terminals) if lamp in fed_by(part, t)]
        assert len(fed) == 1, f"{lamp.lamp}: fed from {fed or 'no terminal'}"
        assert lamp_ends(HARNESS, lamp.lamp) == (fed[0], earthed_at(part, lamp))
        assert lamp_ends(HARNESS, lamp.lamp)[1] in {terminal_at(part.name, t) for t in part.terminals}


def test_what_is_forgotten_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A builder without its mounting, one with the pick-up voltage of 12 V, and one with a contact turned round."""
    def spoilt(kind: str, change: Callable[[Any], Any]) -> None:
        row = KINDS[kind]
        monkeypatch.setitem(KINDS, kind, replace(row, build=lambda *of: replace(
            made := row.build(*of), devices=tuple(x for d in made.devices if (x := change(d)) is not None))))

    spoilt("lamp", lambda d: None if d.name.endswith("mounting") else d)
    spoilt("relay", lambda d: replace(d, pick_up_v=7.0, drop_out_v=3.0) if isinstance(d, RelayContact) else d)
    spoilt("flasher unit", lambda d: replace(d, a=d.b, b=d.a) if isinstance(d, RelayContact) else d)
    with pytest.raises(AssertionError, match="passes “earth at” over"):
        test_a_part_that_may_be_bolted_down_has_its_earth_there("lamp")
    with pytest.raises(AssertionError, match=r"pulls in at 7\.0 V"):
        test_coils_pull_in_at_the_voltage_of_their_vehicle(HARNESS.parts["horn relay"])
    flasher = HARNESS.parts["flasher unit"]
    with pytest.raises(AssertionError, match="inner point"):
        test_contacts_name_a_coil_and_lead_into_the_part(replace(flasher, devices=built(flasher).devices))
