"""What somebody told is weighed once for all that it fits as well, and comes out as weighed for each."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.bench_small_files import lamps_on_one_fuse, many_lamps
from tracer.harness.file.text import read_harness
from tracer.inference import twin_rows
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.evidence import LIT, FuseSeen, LampSeen, Symptom

SIDES = many_lamps(60).replace("lamp 3:", "left tail:").replace("lamp 3.feed", "left tail.feed").replace(
    "lamp 23:", "right tail:").replace("lamp 23.feed", "right tail.feed")
DARK, DIM = frozenset({"dark"}), frozenset({"dim"})


def diagnosed(text: str, told: list[Symptom], pairs: bool) -> tuple[Investigator, Diagnosis]:
    investigator = Investigator(read_harness(text))
    return investigator, investigator.diagnose(told, pairs=pairs)


TOLD = {
    "one dark": (LampSeen("lamp 1", DARK),),
    "two dim": (LampSeen("lamp 1", DIM), LampSeen("lamp 30", DIM)),
    "one lit unasked": (LampSeen("lamp 40", LIT),),
}


@pytest.mark.parametrize(("text", "told"), [
    pytest.param(text, told, id=f"{name}: {told}", marks=[] if told == own else [pytest.mark.long])
    for name, text, own in (
        ("on three fuses", many_lamps(60), "one dark"), ("on one", lamps_on_one_fuse(50), "two dim"),
        ("two with sides", SIDES, "one lit unasked"),
    )
    for told in TOLD
])
def test_weighed_once_is_as_weighed_for_each(text: str, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    harness = read_harness(text)
    state = harness.state({"lights": "off" if "unasked" in told else "on"})
    items = [Symptom(state, TOLD[told]), Symptom(state, (LampSeen("lamp 2", frozenset({"normal"})),), asked=True)]
    few, found = diagnosed(text, items[:1 if "dim" in told else 2], True)
    assert few.twins.changes([h.change for h in few.singles], items) is not None
    monkeypatch.setattr(twin_rows, "_FEW", 10**9)
    _, plain = diagnosed(text, items[:1 if "dim" in told else 2], True)
    assert [h.says() for h in found.hypotheses] == [h.says() for h in plain.hypotheses]
    np.testing.assert_allclose(found.share, plain.share, rtol=1e-6, atol=1e-9)
    live = plain.share > 1e-6
    np.testing.assert_allclose(found.loglik[:, live], plain.loglik[:, live], atol=1e-6)


def test_a_fuse_that_was_named_has_no_twin(monkeypatch: pytest.MonkeyPatch) -> None:
    told = [Symptom(read_harness(many_lamps(60)).state({"lights": "on"}), (FuseSeen("F1", True),))]
    _, found = diagnosed(many_lamps(60), told, False)
    monkeypatch.setattr(twin_rows, "_FEW", 10**9)
    _, plain = diagnosed(many_lamps(60), told, False)
    np.testing.assert_allclose(found.share, plain.share, rtol=1e-6, atol=1e-9)
    leading = found.hypotheses[int(found.share.argmax())]
    assert "F1" in leading.says() or "lamp" in leading.says()
