"""Whoever adds a kind of fault says of it whether its repair renews anything, and whether an eye finds it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Any, cast

import pytest
from msgspec.structs import replace

from tests.device_bench import BENCH
from tests.library import MODELS
from tracer.circuit.model import NO_CHANGE, Change
from tracer.errors import TracerError
from tracer.faults import Fault, list_faults
from tracer.faults.making import Variant, opened, sure
from tracer.faults.making import fault as make
from tracer.harness.base_rates import RATES
from tracer.harness.devices import Device, FlasherContact, FuseLink, RelayContact, Resistor, SwitchContact
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.inference.visual_inspection import VISIBLE, where_seen

# Words with which a repair begins that leaves everything in the vehicle that was in it, and with which something new
# goes in (a length of wire, a joint).
_LEAVES = {"clean the", "clean and", "clean bullet", "change", "turn", "dry", "adjust", "plug", "take", "put bullet",
           "free the"}
_RENEWS = {"new", "renew", "remake", "join the", "repair the", "repair or", "part and", "free or", "charge or",
           "put the", "go through"}
# Cleaned, else renewed: which of the two it counts as says `RENEWS_NOTHING` (judgement).
_EITHER = {"clean or"}
# What is wrong inside something, or with a battery: nothing is seen there (judgement). All else is seen, as often as
# its row in `VISIBLE` says.
_INSIDE = {"battery", "buzzer", "charging", "clip", "dimmer", "diode", "flasher", "load", "motor", "not", "relay",
           "switch", "unit"}
_SEEN_ALL_THE_SAME = {"battery terminal bad", "lamp unit wet", "switch bypassed", "switch dead",
                      "switch out of adjustment"}


# A wire's end is told from its wire by a test of its own (`crimp`), and lies at the end of it; a unit's input carries
# next to no current, so that no volts are dropped.
NO_DROP = {"terminal bad", "terminal off", "battery terminal bad", "unit input dead"}

Faults = list[tuple[Harness, Fault]]


@pytest.fixture(scope="module")
def every() -> Faults:
    """All faults of the models and of the bench."""
    harnesses = [load_harness(p) for p in sorted(MODELS.glob("*.yaml"))] + [read_harness(BENCH, "bench")]
    return [(h, f) for h in harnesses for f in list_faults(h)]


@pytest.fixture(scope="module")
def one(every: Faults) -> Faults:
    """One of each kind for each of these vehicles."""
    return [*{(h.title, f.kind): (h, f) for h, f in every}.values()]


def said_of_repairs(one: Faults) -> Iterator[str]:
    for _, fault in one:
        first = {" ".join(fault.repair.replace(",", "").split()[:n]) for n in (1, 2)}
        if not first & (_LEAVES | _RENEWS | _EITHER):
            yield f"{fault.kind}: “{fault.repair}” begins with no words of _LEAVES or _RENEWS, in this file"
        if first & _LEAVES and fault.renews:
            yield f"{fault.kind}: “{fault.repair}” renews nothing: its name in RENEWS_NOTHING"
        if first & _RENEWS and not fault.renews:
            yield f"{fault.kind}: “{fault.repair}” renews something, and it stands in RENEWS_NOTHING"


def test_what_a_repair_renews_is_what_its_words_say(one: Faults) -> None:
    told = [*dict.fromkeys(said_of_repairs(one))]
    assert not told, "\n".join(told)


def does_something(change: Change, harness: Harness) -> bool:
    """Whether anything of it differs from the sound vehicle. A contact that is set to its own ohms never breaks."""
    own = {d.name: d for d in harness.devices()}
    moves = (SwitchContact, RelayContact, FlasherContact)
    ohms = [(own.get(name), ohm) for name, ohm in change.set_ohm]
    closes = [own.get(name) for name, _ in change.contacts]
    return (
        any(d is None or isinstance(d, moves) or ohm != base_ohm(d) for d, ohm in ohms)
        or any(not isinstance(d, SwitchContact) or d.closed_in != where
               for d, (_, where) in zip(closes, change.contacts, strict=True))
        or any(factor != 1.0 for _, factor in (*change.scaled, *change.ratings))
        or replace(change, set_ohm=(), contacts=(), scaled=(), ratings=()) != NO_CHANGE
    )


def base_ohm(device: Device) -> float:
    return device.cold_ohm() if isinstance(device, FuseLink) else getattr(device, "ohm", math.nan)


def said_of_variants(one: Faults) -> Iterator[str]:
    for harness, fault in one:
        if not all(does_something(v.change, harness) for v in fault.variants):
            yield f"{fault.kind}: a variant of {fault.name} changes nothing"


def test_every_variant_of_a_fault_changes_something(one: Faults) -> None:
    told = [*dict.fromkeys(said_of_variants(one))]
    assert not told, "\n".join(told)


def said_of_across(one: Faults) -> Iterator[str]:
    """What raises the ohms of one device, and nothing else, drops volts across that device and nowhere else."""
    for harness, fault in one:
        own = {d.name: base_ohm(d) for d in harness.devices()}
        alone = {v.change.set_ohm[0][0] for v in fault.variants
                 if len(v.change.set_ohm) == 1 and v.change == Change(v.change.set_ohm)
                 and v.change.set_ohm[0][1] > own.get(v.change.set_ohm[0][0], math.inf)}
        if len(alone) == 1 and fault.across is None and fault.kind not in NO_DROP:
            yield f"{fault.kind}: no `across`, the two ends of {alone.pop()} where its volts are dropped"


def test_what_drops_volts_says_where(one: Faults) -> None:
    told = [*dict.fromkeys(said_of_across(one))]
    assert not told, "\n".join(told)


def said_of_places(every: Faults) -> Iterator[str]:
    seen: dict[str, set[str]] = {}
    for harness, fault in every:
        seen.setdefault(fault.kind, set()).update(thing.kind for thing in where_seen(fault, harness))
    for kind in seen.keys() & VISIBLE.keys():
        for place in {*VISIBLE[kind][0]} - seen[kind]:
            yield f"{kind}: VISIBLE has it seen at a {place}, and no such fault lies at one"


def test_a_fault_is_seen_at_each_of_its_places(every: Faults) -> None:
    told = [*dict.fromkeys(said_of_places(every))]
    assert not told, "\n".join(told)


def test_a_kind_without_a_base_rate_is_told() -> None:
    with pytest.raises(TracerError, match="no base rate for faults of the kind “made up”") as caught:
        make("made up", "left arm", "it is jammed", "free and oil it", opened("x"), "x")
    assert "RATES" in str(caught.value)


def test_of_every_kind_of_fault_it_is_said_whether_it_is_seen() -> None:
    """A kind that nobody finds by eye lies inside something; a kind without row would silently be one of these."""
    hidden = RATES.keys() - VISIBLE.keys()
    unsaid = [kind for kind in hidden if kind.split()[0] not in _INSIDE or kind in _SEEN_ALL_THE_SAME]
    assert unsaid == [], "a row in VISIBLE, or its first word in _INSIDE where it lies inside something"


@pytest.mark.parametrize("coil", ["85 ohm", "4 ohm", "0.8 ohm"])
def test_what_is_wrong_with_something_ohmic_changes_its_ohms(coil: str) -> None:
    """What changes nothing is no fault: by at least a half, whatever the thing itself has."""
    harness = read_harness(BENCH.replace("quench: diode", f"quench: diode, coil: {coil}"))
    own = {d.name: d.ohm for d in harness.devices() if isinstance(d, Resistor)}
    said = [(f.name, own[name] / ohm) for f in list_faults(harness) for v in f.variants
            for name, ohm in v.change.set_ohm if name in own]
    assert [name for name, share in said if 1 / 1.5 < share < 1.5] == []
    assert any(name.startswith("relay coil shorted: horn relay") for name, _ in said)


BENCH_OF = read_harness(BENCH, "bench")
BAD = next(f for f in list_faults(BENCH_OF) if f.kind == "relay bad")
# What was forgotten of a fault, the law that says so, and what it says.
FORGOTTEN: dict[str, tuple[Fault, Callable[[Faults], Iterator[str]], str]] = {
    "a repair in other words": (replace(BAD, repair="oil and free horn relay"), said_of_repairs,
                                "“oil and free horn relay” begins with no words of _LEAVES"),
    "a repair that renews nothing": (replace(BAD, repair="clean the horn relay"), said_of_repairs,
                                     "its name in RENEWS_NOTHING"),
    "one that renews something": (replace(BAD, renews=False), said_of_repairs, "and it stands in RENEWS_NOTHING"),
    "an empty change": (replace(BAD, variants=sure(Change())), said_of_variants, "changes nothing"),
    "one of two is empty": (replace(BAD, variants=(*BAD.variants, Variant(0.0, Change()))), said_of_variants,
                            "changes nothing"),
    "a joint as it is": (replace(BAD, variants=sure(Change((("C1 way 1", 0.003),)))), said_of_variants,
                         "changes nothing"),
    "a switch as it is": (
        replace(BAD, variants=sure(Change(contacts=(("brake switch 15-54", frozenset({"pressed"})),)))),
        said_of_variants, "changes nothing"),
    "a fuse of its own rating": (replace(BAD, variants=sure(Change(ratings=(("F1 link", 1.0),)))), said_of_variants,
                                 "changes nothing"),
    "no `across`": (replace(BAD, across=None), said_of_across, "no `across`, the two ends of horn relay 30-87"),
}


@pytest.mark.parametrize("what", FORGOTTEN)
def test_what_is_forgotten_of_a_fault_is_named(what: str) -> None:
    spoilt, law, said = FORGOTTEN[what]
    assert [*law([(BENCH_OF, BAD)])] == []
    (told,) = law([(BENCH_OF, spoilt)])
    assert told.startswith("relay bad: ") and said in told


def test_a_place_where_no_such_fault_lies_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(cast(Any, VISIBLE), "relay bad", (("part", "wire"), 0.7))
    assert [*said_of_places([(BENCH_OF, BAD)])] == [
        "relay bad: VISIBLE has it seen at a wire, and no such fault lies at one"]
