"""What a repair mends besides its own fault. Common practice, no source: see `faults.mending`."""

from __future__ import annotations

from tests.library import MODELS
from tracer import list_faults, load_harness
from tracer.faults.mending import mended_by

FAULTS = {f.name: f for f in list_faults(load_harness(MODELS / "glass_fibre.yaml"))}
MENDS = mended_by(FAULTS.values())
WIRE, POINT = FAULTS["wire open: C1.8 – E1"].repair, FAULTS["earth open: E1"].repair


def test_a_new_wire_and_a_remade_earth_point_hold_the_eyelet_between_them() -> None:
    for kind in ("bad", "open"):
        eyelet = FAULTS[f"eyelet {kind}: E1 from C1.8"]
        assert MENDS[eyelet.name] == (eyelet.repair, WIRE, POINT)


def test_who_renews_less_does_not_mend_what_is_more() -> None:
    assert MENDS["wire open: C1.8 – E1"] == (WIRE,)
    assert MENDS["earth open: E1"] == (POINT,)
    assert MENDS["splice leg open: G5 to E1"] == ("remake splice G5", FAULTS["wire open: G5 – E1"].repair)
    assert MENDS["old repair open: C1.8 – E1"][1:] == MENDS["earth cut: C1.8 – E1"][1:] == (WIRE,)


def test_every_fault_is_mended_by_its_own_repair_first() -> None:
    assert MENDS.keys() == FAULTS.keys()
    assert all(MENDS[n][0] == f.repair for n, f in FAULTS.items())
