"""Small harnesses at random: whatever is drawn, the physics says something or raises a TracerError, nothing else."""

from __future__ import annotations

import os
import random

import numpy as np
import pytest

from tests.long import rest_long
from tracer.checking.simulation import simulate
from tracer.checking.truth_table import truth_table
from tracer.errors import TracerError
from tracer.faults import Fault, list_faults
from tracer.harness.file.text import read_harness
from tracer.harness.lighting_states import lighting_states
from tracer.harness.model import Harness
from tracer.observation.forward_model import Predictor

COUNT = int(os.environ.get("TRACER_RANDOM_HARNESSES", "25"))
LAMPS = ("P21W", "R5W", "P21/5W", "LED 2 W", "55 W")


def text(rng: random.Random) -> str:
    """A harness of a few parts wired as it comes: not all of it is sensible."""
    volts, earth = rng.choice((6, 12, 24)), rng.choice(("negative", "positive"))
    live, pole = ("battery.+", "battery.-") if earth == "negative" else ("battery.-", "battery.+")
    body = rng.choice(("", "", "{body: none}"))
    parts, wires, ends, feeds = ["  battery: {kind: battery}"], [], ["E1", "E2", "S2"], ["S1"]
    wires += [f"{live} > S1", f"{pole} > E1"]
    looms = rng.choice(([""], ["a", "b"]))
    for k in range(rng.randint(1, 3)):
        parts.append(f"  F{k}: {{kind: fuse, rating: {rng.choice((5, 10))} A}}")
        wires.append(f"{rng.choice(feeds)} > F{k}.in")
        feeds.append(f"F{k}.out")
    parts.append("  sw: {kind: switch, control: light, contacts: {side: [a-b], head: [a-b, a-c]}, place: dash}")
    wires.append(f"{rng.choice(feeds)} > sw.a")
    feeds += ["sw.b", "sw.c"]
    if rng.random() < 0.6:
        kind = rng.choice(("make", "change-over", "break"))
        parts.append(f"  K: {{kind: relay, contacts: {kind}, quench: {rng.choice(('none', 'diode', 'resistor'))}}}")
        wires += [f"{rng.choice(feeds)} > K.86", f"K.85 > {rng.choice(ends)}", f"{rng.choice(feeds)} > K.30"]
        feeds += [f"K.{t}" for t in ("87", "87a") if kind == "change-over" or (t == "87") == (kind == "make")]
    if rng.random() < 0.4:
        parts.append(f"  flasher: {{kind: flasher unit, works: {rng.choice(('thermal', 'electronic'))}}}")
        wires.append(f"{rng.choice(feeds)} > flasher.49")
        feeds.append("flasher.49a")
    if rng.random() < 0.3:
        parts.append("  D: {kind: diode}")
        wires.append(f"{rng.choice(feeds)} > D.anode")
        feeds.append("D.cathode")
    way = iter(range(1, 13))
    for k in range(rng.randint(1, 4)):
        lamp, side = rng.choice(LAMPS), rng.choice(("left", "right"))
        name = f"{side} lamp {k}"
        twin = "/" in lamp
        parts.append(f"  {name}: {{kind: lamp unit, lamps: {{{'stop + tail' if twin else 'stop'}: {lamp}}},"
                     f" place: {rng.choice(('rear', 'front'))}}}")
        for terminal in ("stop", "tail") if twin else ("stop",):
            wires.append(f"{rng.choice(feeds)} > " + (f"C1.{next(way)} > " if rng.random() < 0.5 else "")
                         + f"{name}.{terminal}")
        wires.append(f"{name}.earth > " + (f"C1.{next(way)} > " if rng.random() < 0.4 else "") + rng.choice(ends))
    wires += [f"S2 > {rng.choice(('E1', 'E2'))}", f"E2 > {rng.choice(('E1', pole))}"]
    lines = []
    for w in wires:
        loom = rng.choice(looms)
        lines.append(f"  - {{run: {w}, length: {rng.choice((0.2, 1, 3))} m{', loom: ' + loom if loom else ''}}}")
    return "\n".join([
        "harness: Drawn at random", f"system: {volts} V {earth} earth", "controls:",
        "  light: {positions: [off, side, head]}", "parts:", *parts, "connectors: {C1: {ways: 12, rows: 2}}",
        "splices: {S1: {}, S2: {}}", "earths:", f"  E1: {body or 'here'}", "  E2: there", "wires:", *lines,
    ]) + "\n"


def drawn(seed: int) -> Harness:
    """The first sound one; what the reader refuses is no sound harness."""
    rng = random.Random(seed)
    while True:
        try:
            return read_harness(text(rng))
        except TracerError:
            continue


def check(faults: tuple[Fault, ...]) -> None:
    assert len({f.name for f in faults}) == len(faults)
    for f in faults:
        assert sum(v.weight for v in f.variants) == pytest.approx(1.0)
        if f.scale is not None:
            for v in f.variants:
                assert v.severity is not None and f.at(v.severity).change == v.change


@pytest.mark.parametrize("seed", rest_long(range(COUNT), 3))
def test_physics_of_any_small_harness(seed: int) -> None:
    harness = drawn(seed)
    faults = list_faults(harness)
    check(faults)
    predictor = Predictor(harness)
    table = predictor.table([v.change for f in faults for v in f.variants])
    for position in ("off", "side", "head"):
        setup = predictor.setup(harness.state({"light": position}))
        panel = predictor.panel(setup, table)
        assert panel.usable.mean() > 0.99
        assert np.isfinite(panel.flux).all()
    lighting_states(harness)
    try:
        truth_table(harness)
        for f in random.Random(seed).sample(faults, min(5, len(faults))):
            simulate(harness, {"light": "head"}, faults=[f.name])
    except TracerError:
        pass
