"""Whoever adds a kind of fault says of it whether its repair renews anything, and whether an eye finds it."""

from __future__ import annotations

import pytest

from tests.device_bench import BENCH
from tests.library import MODELS
from tracer.faults import Fault, list_faults
from tracer.harness.base_rates import RATES, RENEWS_NOTHING
from tracer.harness.devices import Resistor
from tracer.harness.file.text import load_harness, read_harness
from tracer.inference.visual_inspection import VISIBLE

# Words with which a repair begins that leaves everything in the vehicle that was in it, and with which something new
# goes in (a length of wire, a joint).
_LEAVES = {"clean the", "clean and", "change", "turn", "dry", "adjust", "plug", "take", "put bullet"}
_RENEWS = {"new", "renew", "remake", "join the", "repair the", "part and"}
# What is wrong inside something, or with a battery: nothing is seen there (judgement). All else is seen, as often as
# its row in `VISIBLE` says.
_INSIDE = {"battery", "buzzer", "charging", "clip", "dimmer", "diode", "flasher", "load", "motor", "not", "relay",
           "switch", "unit"}
_SEEN_ALL_THE_SAME = {"battery terminal bad", "lamp unit wet", "switch bypassed", "switch dead",
                      "switch out of adjustment"}


@pytest.fixture(scope="module")
def every() -> dict[str, Fault]:
    """One fault of each kind that the models and the bench have."""
    harnesses = [load_harness(p) for p in sorted(MODELS.glob("*.yaml"))] + [read_harness(BENCH, "bench")]
    return {f.kind: f for h in harnesses for f in list_faults(h)}


def test_what_a_repair_renews_is_what_its_words_say(every: dict[str, Fault]) -> None:
    for kind, fault in every.items():
        first = {" ".join(fault.repair.replace(",", "").split()[:n]) for n in (1, 2)}
        if first & _LEAVES:
            assert kind in RENEWS_NOTHING, (kind, fault.repair)
        if first & _RENEWS:
            assert kind not in RENEWS_NOTHING, (kind, fault.repair)


def test_of_every_kind_of_fault_it_is_said_whether_it_is_seen() -> None:
    """A kind that nobody finds by eye lies inside something; a kind without row would silently be one of these."""
    hidden = RATES.keys() - VISIBLE.keys()
    assert {kind.split()[0] for kind in hidden} <= _INSIDE
    assert hidden.isdisjoint(_SEEN_ALL_THE_SAME)


@pytest.mark.parametrize("coil", ["85 ohm", "4 ohm", "0.8 ohm"])
def test_what_is_wrong_with_something_ohmic_changes_its_ohms(coil: str) -> None:
    """What changes nothing is no fault: by at least a half, whatever the thing itself has."""
    harness = read_harness(BENCH.replace("quench: diode", f"quench: diode, coil: {coil}"))
    own = {d.name: d.ohm for d in harness.devices() if isinstance(d, Resistor)}
    said = [(f.name, own[name] / ohm) for f in list_faults(harness) for v in f.variants
            for name, ohm in v.change.set_ohm if name in own]
    assert [name for name, share in said if 1 / 1.5 < share < 1.5] == []
    assert any(name.startswith("relay coil shorted: horn relay") for name, _ in said)
