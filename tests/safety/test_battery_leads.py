"""The battery's leads in words: the earthed lead comes off first and goes on last, and no battery is left out."""

from __future__ import annotations

from functools import cache

import pytest

from tests.library import MODELS
from tracer.harness.file.text import load_harness
from tracer.harness.model import Harness
from tracer.safety.battery import batteries, earthed_lead, earthed_pole, lead_off, lead_on, still_off

ONE = {"pickup": "minus", "motorcycle_6v": "plus", "car_1950s": "plus"}


@cache
def model(name: str) -> Harness:
    return load_harness(MODELS / f"{name}.yaml")


@pytest.mark.parametrize(("name", "pole"), ONE.items())
def test_of_one_battery_the_earthed_lead_alone_is_spoken_of(name: str, pole: str) -> None:
    """With that lead off no spanner between the other pole and the body closes a circuit."""
    harness = model(name)
    other = "plus" if pole == "minus" else "minus"
    assert earthed_pole(harness) == pole and len(batteries(harness)) == 1
    assert lead_off(harness) == (
        f"Take the battery's {pole} lead off ({pole} is earthed here) and keep it clear of the post.")
    assert lead_on(harness) == f"Battery on again: its {pole} lead back on."
    assert still_off(harness) == f"The battery stays off ({pole} lead)."
    assert earthed_lead(harness) == f"the battery's {pole} lead"
    assert earthed_lead(harness, first=True) == f"the {pole} lead"
    for said in (lead_off, lead_on, still_off, earthed_lead):
        assert other not in said(harness) and "batteries" not in said(harness)


def test_of_two_batteries_the_one_that_is_earthed_comes_off_first_and_goes_on_last() -> None:
    """Battery 1 of the lorry is the one whose minus pole lies on the chassis."""
    lorry = model("lorry_24v")
    assert batteries(lorry) == ("battery 1", "battery 2")
    assert lead_off(lorry) == ("Take both batteries off: the minus lead of battery 1 first (minus is earthed here), "
                               "then the lead of battery 2.")
    assert lead_on(lorry) == "Batteries on again: the minus lead of battery 1 (earthed) last."
    assert still_off(lorry) == "The batteries stay off (minus lead)."
    assert earthed_lead(lorry) == "both batteries (minus lead of battery 1 first)"
    assert earthed_lead(lorry, first=True) == "the minus lead of battery 1, then the lead of battery 2,"
