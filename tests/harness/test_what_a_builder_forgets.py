"""Each omission that a newcomer can make in a builder is made here in an invented kind of part, and has to be named.

The kind is the arm of `tests/made_up_arm.py`; the laws that name what is missing are those of `test_builders.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from msgspec.structs import replace

from tests.harness import test_builders as laws
from tests.made_up_arm import ARM, CAR, build_arm
from tracer.errors import TracerError
from tracer.harness.built_parts import Built, Setting, lamp_in_holder
from tracer.harness.devices import Device, Filament, RelayContact, Resistor
from tracer.harness.file.schema import schema
from tracer.harness.file.text import read_harness
from tracer.harness.model import Harness, Part
from tracer.harness.node import inside, terminal_at
from tracer.harness.part_kinds import KINDS

UP, FEED, EARTH = inside("left arm", "arm up"), terminal_at("left arm", "feed"), terminal_at("left arm", "earth")
Spoil = Callable[[Device], Device | None]


def lamp_called(name: str) -> Callable[..., Built]:
    def build(part: str, s: Any, system_v: float) -> Built:
        made = build_arm(part, s, system_v)
        own = lamp_in_holder(part, [name.format(part)], ["feed"], s["lamp"], system_v, fed=inside(part, "arm up"))
        return replace(made, devices=(*made.devices[:2], *own))

    return build


def spoilt(spoil: Spoil, terminals: tuple[str, ...] = ("feed", "earth")) -> Callable[..., Built]:
    """The builder, each of whose devices is changed or left out."""
    def build(*of: Any) -> Built:
        return Built(terminals, tuple(x for d in build_arm(*of).devices if (x := spoil(d)) is not None))

    return build


def on(*kinds: type[Device], **change: Any) -> Spoil:
    """Devices of these classes with another field; the words {part} stand for the name of the part."""
    def spoil(d: Device) -> Device:
        own = {k: v.format(part=d.name.rpartition(" ")[0]) if isinstance(v, str) else v for k, v in change.items()}
        return replace(d, **own) if isinstance(d, kinds) else d

    return spoil


def as_it_is(d: Device) -> Device:
    return d


def lamp_on_the_feed(d: Device) -> Device:
    return replace(d, a=FEED) if d.name == "left arm holder contact" else d


def one_for_12_v(name: str, s: Any, system_v: float) -> Built:
    return replace(build_arm(name, s, system_v), devices=tuple(
        replace(d, ohm=4.0) if isinstance(d, Resistor) else d for d in build_arm(name, s, system_v).devices))


PART_LAWS = {
    "leads on": laws.test_every_terminal_and_every_inner_point_leads_on,
    "same watts": laws.test_a_coil_takes_the_same_watts_at_any_voltage,
    "called": laws.test_a_lamp_is_called_after_its_part,
    "pulls in": laws.test_coils_pull_in_at_the_voltage_of_their_vehicle,
    "contacts": laws.test_contacts_name_a_coil_and_lead_into_the_part,
}
FORGOTTEN: dict[str, tuple[Callable[..., Built], str, str]] = {
    "the lamp was left on the feed": (spoilt(lamp_on_the_feed), "leads on", f"{UP} leads nowhere"),
    "a terminal too many": (spoilt(as_it_is, ("feed", "earth", "up")), "leads on", "on its terminal left arm.up"),
    "a terminal left out": (spoilt(as_it_is, ("feed",)), "leads on", "on left arm.earth, which is no terminal"),
    "a coil for 12 V": (one_for_12_v, "same watts", r"coil takes \[\[9\.0\], \[36\.0\], \[144\.0\]\] W"),
    "a lamp called glow": (lamp_called("glow"), "called", "called “glow”, and the part “left arm”"),
    "a lamp called after its part and more": (lamp_called("{} glow"), "called", "called “left arm glow”"),
    "a pick-up voltage for 12 V": (spoilt(on(RelayContact, pick_up_v=7.8)), "pulls in", r"pulls in at 7\.8 V"),
    "drop-out above pick-up": (spoilt(on(RelayContact, drop_out_v=11.0)), "pulls in", "pulls in at"),
    "the role of the coil left out": (spoilt(on(Resistor, role="load")), "contacts", "has the role of a coil"),
    "the contact turned round": (spoilt(lambda d: replace(d, a=d.b, b=d.a) if isinstance(d, RelayContact) else d),
                                 "contacts", "its inner point is its `b`"),
}


def arms(monkeypatch: pytest.MonkeyPatch, build: Callable[..., Built]) -> Harness:
    monkeypatch.setitem(KINDS, "arm", replace(ARM, build=build))
    return read_harness(CAR, "arms")


@pytest.fixture
def arm(monkeypatch: pytest.MonkeyPatch) -> Iterator[Part]:
    yield arms(monkeypatch, build_arm).parts["left arm"]


def test_where_nothing_is_forgotten_no_law_says_anything(arm: Part, monkeypatch: pytest.MonkeyPatch) -> None:
    for law in PART_LAWS.values():
        law(arm)
    laws.test_every_setting_has_a_type_that_is_read("arm")
    assert laws.idle(arms(monkeypatch, build_arm)) == []


@pytest.mark.parametrize("what", FORGOTTEN)
def test_what_is_forgotten_of_an_arm_is_named(what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    build, law, message = FORGOTTEN[what]
    monkeypatch.setitem(KINDS, "arm", replace(ARM, build=build))
    settings = {"lamp": "3 W"}
    made = build("left arm", settings, 12.0)
    with pytest.raises(AssertionError, match=message) as caught:
        PART_LAWS[law](Part("left arm", "arm", made.terminals, made.devices, settings=settings))
    assert "arm" in str(caught.value).split(":")[0]


@pytest.mark.parametrize(("build", "said"), [
    (spoilt(on(RelayContact, makes=False)), ["arm: left arm is lit in no state"]),
    (spoilt(on(Resistor, b="{part}/{part} live")), ["arm: the coil of left arm pulls in in no state"]),
    (spoilt(lambda d: None if isinstance(d, Filament) else d), []),
], ids=["opens when it is up", "coil in series with the lamp", "no lamp"])
def test_what_does_nothing_on_the_bench_is_named(
    build: Callable[..., Built], said: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = laws.idle(arms(monkeypatch, build))
    assert {*said} <= {*found} and bool(said) == bool(found)


def test_a_type_of_a_setting_that_is_none_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the check of a file, whether it has the setting or not; by the schema; by a law."""
    lifts = Setting("volts", means="at which it rises")
    monkeypatch.setitem(KINDS, "arm", replace(ARM, settings={**ARM.settings, "lifts": lifts}))
    with pytest.raises(TracerError, match="left arm, lifts: no setting has the type “volts”"):
        read_harness(CAR, "arms")
    with pytest.raises(TracerError, match="arm, lifts: no setting has the type “volts”"):
        schema()
    with pytest.raises(AssertionError, match="arm: “lifts” has the type “volts”, which nothing reads"):
        laws.test_every_setting_has_a_type_that_is_read("arm")


def test_a_contact_that_follows_a_coil_which_is_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(TracerError) as caught:
        arms(monkeypatch, spoilt(on(RelayContact, coil="{part} solenoid")))
    said = str(caught.value)
    assert "left arm: its contact “left arm contact” names a coil “left arm solenoid” that is not in it" in said
    assert said.startswith("arms:12:3: ") and "did you mean “left arm coil”" in said
