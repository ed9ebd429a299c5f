"""Whoever adds a kind of part writes one builder; here is said what the builder forgets.

Every kind stands on the device bench, built here with other settings and for other voltages.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from msgspec.structs import astuple, replace

from tests.device_bench import BENCH
from tracer.harness.built_parts import Built, Setting
from tracer.harness.devices import Joint, RelayContact, Resistor, ends
from tracer.harness.file.parts import SETTING_TYPES
from tracer.harness.file.text import read_harness
from tracer.harness.lamp_feeds import earthed_at, fed_by
from tracer.harness.model import Harness, Part
from tracer.harness.node import node_of, terminal_at
from tracer.harness.part_kinds import KINDS
from tracer.inference.hypotheses import basic_states
from tracer.observation.forward_model import Predictor
from tracer.observation.instruments import lamp_ends

HARNESS = read_harness(BENCH, "bench")
PARTS = list(HARNESS.parts.values())
VOLTS = (6.0, 12.0, 24.0)
USUAL = re.compile(r"usual ([\d.]+) (?:(V|ohm)\b|of the system voltage)")
LIT = -0.3  # decades of light below that at its own volts, from which a lamp counts as lit
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
    absent = {*KINDS} - {p.kind for p in PARTS}
    assert not absent, f"put it on the bench of tests/device_bench.py: {absent}"


@pytest.mark.parametrize("kind", KINDS)
def test_every_setting_has_a_type_that_is_read(kind: str) -> None:
    for name, setting in KINDS[kind].settings.items():
        assert setting.type in SETTING_TYPES, f"{kind}: “{name}” has the type “{setting.type}”, which nothing reads"
        assert (setting.type == "choice") == bool(setting.choices), f"{kind}: the choices of “{name}”"
        assert setting.means, f"{kind}: what “{name}” means"


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
    part = next((p for p in PARTS if p.kind == kind), None)
    assert part is not None, f"{kind}: not on the bench of tests/device_bench.py"
    for name, setting in KINDS[kind].settings.items():
        if setting.type in OTHER and not {name, f"{kind} {name}"} & ELSEWHERE:
            changed = OTHER[setting.type](part.settings[name], setting)
            assert built(part, **{name: changed}) != built(part), f"{kind}: its builder passes “{name}” over"


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_said_to_be_usual_is_what_is_built(kind: str) -> None:
    """“usual 85 ohm in a 12 V system”: given so, the part is the same as with nothing said, to a hundredth."""
    part = next(p for p in PARTS if p.kind == kind)
    for name, setting in KINDS[kind].settings.items():
        said = USUAL.search(setting.means)
        if said is not None:
            value = float(said[1]) * (1.0 if said[2] else 12.0)
            usual, given = (numbers(built(part, **{name: x})) for x in (setting.default, value))
            assert usual == pytest.approx(given, rel=0.01), f"{kind}: “{name}”, {said[0]}, is not what is built"


def numbers(made: Built) -> list[float]:
    return [x for d in made.devices for x in astuple(d) if isinstance(x, float) and not math.isnan(x)]


def test_a_part_of_two_terminals_has_none_to_spare() -> None:
    """But for a fuse, of which a rule of its own says what hangs on it."""
    spare = {p.kind for p in PARTS if KINDS[p.kind].spare and len(p.terminals) < 3}
    assert spare <= {"fuse"}, f"`spare`, and with a terminal left without a wire nothing works: {spare - {'fuse'}}"


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_coils_pull_in_at_the_voltage_of_their_vehicle(part: Part) -> None:
    """What pulls in at 7 V never does on 6 V, and far too early on 24 V."""
    shares = []
    for volts in VOLTS:
        made = built(part, volts)
        coils = {d.name for d in made.devices if isinstance(d, Resistor) and d.works_contacts}
        moved = [d for d in made.devices if isinstance(d, RelayContact) and d.coil in coils]
        for d in moved:
            assert 0 < d.drop_out_v < d.pick_up_v < 0.85 * volts, (
                f"{part.kind}: its coil pulls in at {d.pick_up_v:.1f} V of {volts:g}, lets go at {d.drop_out_v:.1f}")
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


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_every_terminal_and_every_inner_point_leads_on(part: Part) -> None:
    """A terminal on which nothing hangs is one too many; an inner point that joins nothing, as behind a contact whose
    lamp was left on the feed, leads nowhere."""
    joined = Counter(n for d in part.devices for n in ends(d))
    own = {n for n in joined if node_of(n).owner == part.name}
    terminals = {terminal_at(part.name, t) for t in part.terminals}
    for node in sorted(terminals - own):
        raise AssertionError(f"{part.kind}: nothing in it hangs on its terminal {node}")
    for node in sorted(n for n in own if not node_of(n).inner):
        assert node in terminals, f"{part.kind}: something in it hangs on {node}, which is no terminal of it"
    for node in sorted(n for n in own if node_of(n).inner):
        assert joined[node] > 1, f"{part.kind}: what leads to {node} leads nowhere, nothing else hangs there"


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_a_coil_takes_the_same_watts_at_any_voltage(part: Part) -> None:
    """As long as the file does not give its ohms. One for 12 V would burn on 24 V and lift nothing on 6 V."""
    unsaid = {k: s.default for k, s in KINDS[part.kind].settings.items() if s.type == "resistance" and not s.required}
    watts = [[v**2 / d.ohm for d in built(part, v, **unsaid).devices if isinstance(d, Resistor) and d.role == "coil"]
             for v in VOLTS]
    for other in watts[1:]:
        assert other == pytest.approx(watts[0]), f"{part.kind}: its coil takes {watts} W on {VOLTS} V"


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_a_lamp_is_called_after_its_part(part: Part) -> None:
    """By its name alone, or with that of one of its terminals: what people call it is found by these words."""
    for lamp in part.lamps:
        assert lamp.lamp in {part.name, *(f"{part.name} {t}" for t in part.terminals)}, (
            f"{part.kind}: its lamp is called “{lamp.lamp}”, and the part “{part.name}”")


def test_what_stands_on_the_bench_works_there() -> None:
    """In one of the states that are always looked at each lamp is lit, and each coil pulls in and is let go."""
    assert not idle(HARNESS), "; ".join(idle(HARNESS))


def idle(harness: Harness) -> list[str]:
    """What does nothing in any basic state: lamps that are never lit, coils that never move."""
    predictor = Predictor(harness)
    panels = [predictor.healthy(s) for s in basic_states(harness)]
    kind_of = {d.name: p.kind for p in harness.parts.values() for d in p.devices}
    out = [f"{kind_of[f.name]}: {f.lamp} is lit in no state" for i, f in enumerate(predictor.lamps)
           if max(p.flux[0, i] for p in panels) < LIT]
    for i, relay in enumerate(predictor.relays):
        held = {bool(p.pulled_in[0, i]) for p in panels}
        if len(held) < 2:
            does = "is never let go" if True in held else "pulls in in no state"
            out.append(f"{harness.parts[relay].kind}: the coil of {relay} {does}")
    return out


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
