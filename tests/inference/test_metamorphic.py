"""What must not change the ranking: names, order in the file, the side, the polarity, a circuit elsewhere.

No answer is known here; two descriptions of the same thing must simply get the same shares. The harness is
invented.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import pytest
import yaml

from tests.long import in_turn
from tracer.harness.file.text import read_harness
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.observation.words.symptoms import parse_symptom

HARNESS = """\
harness: Rear end of an invented van
system: 12 V negative earth
usual: {size: 1 mm², length: 1 m, loom: rear}
controls:
  side lights: [off, on]
  brake pedal: [released, pressed]
  gear: [forward, reverse]
  indicators: [off, left, right]
parts:
  battery: {kind: battery}
  F1: {kind: fuse, rating: 10 A}
  F2: {kind: fuse, rating: 10 A}
  light switch: {kind: switch, control: side lights, contacts: {on: [30-58]}}
  brake switch: {kind: switch, control: brake pedal, contacts: {pressed: [30-54]}}
  reversing switch: {kind: switch, control: gear, contacts: {reverse: [in-out]}}
  flasher unit: {kind: flasher unit, works: electronic, load: 21 W}
  indicator switch: {kind: switch, control: indicators, contacts: {left: [49a-L], right: [49a-R]}}
  left rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W, reversing: P21W}}
  right rear: {kind: lamp unit, lamps: {stop + tail: P21/5W, indicator: P21W, reversing: P21W}}
connectors:
  C1: {ways: 5}
  C2: {ways: 5}
splices: {S1: dash, S2: rear, S3: rear, S4: rear}
earths: {E1: battery, E2: left, E3: right}
wires:
  - {run: battery.- > E1, size: 16 mm², loom: battery}
  - {run: battery.+ > F1.in, size: 4 mm², loom: battery}
  - {run: battery.+ > F2.in, size: 4 mm², loom: battery}
  - {run: F1.out > S1, loom: dash}
  - {run: S1 > light switch.30, loom: dash}
  - {run: S1 > brake switch.30, loom: dash}
  - {run: S1 > reversing switch.in, loom: dash}
  - {run: F2.out > flasher unit.49, loom: dash}
  - {run: flasher unit.49a > indicator switch.49a, loom: dash}
  - light switch.58 > S2
  - brake switch.54 > S3
  - reversing switch.out > S4
  - S2 > C1.1 > left rear.tail
  - S3 > C1.2 > left rear.stop
  - indicator switch.L > C1.3 > left rear.indicator
  - S4 > C1.4 > left rear.reversing
  - left rear.earth > C1.5 > E2
  - S2 > C2.1 > right rear.tail
  - S3 > C2.2 > right rear.stop
  - indicator switch.R > C2.3 > right rear.indicator
  - S4 > C2.4 > right rear.reversing
  - right rear.earth > C2.5 > E3
"""
JOBS = {
    "earth": ("left rear stop dim, left rear tail faint, right rear stop normal when brake pedal pressed",
              "left rear tail normal when side lights on"),
    "filament": ("right rear reversing dark, left rear reversing normal, everything else normal when gear reverse",),
    "crossed": ("left rear reversing dark, left rear indicator steady and normal when gear reverse",),
    "two faults": ("left rear stop dark when brake pedal pressed",
                   "right rear indicator dark, everything else normal when indicators right"),
}


@cache
def investigator(text: str) -> Investigator:
    return Investigator(read_harness(text, "metamorphic"))


def diagnose(text: str, job: tuple[str, ...], pairs: bool = True) -> Diagnosis:
    one = investigator(text)
    return one.diagnose([parse_symptom(s, one.harness) for s in job], pairs)


def shares(text: str, job: tuple[str, ...], pairs: bool = True) -> dict[str, float]:
    return {s.repair: s.share for s in diagnose(text, job, pairs).suspects if s.share > 1e-5}


def same(one: Mapping[str, float], two: Mapping[str, float], says: Callable[[str], str], tolerance: float) -> None:
    """The same shares when every repair of `one` is said as in `two`; things named in it in any order."""

    def sorted_parts(repair: str) -> str:
        return " ".join(sorted(repair.split()))

    renamed = {sorted_parts(says(repair)): share for repair, share in one.items()}
    there = {sorted_parts(repair): share for repair, share in two.items()}
    worth = {r for r, s in renamed.items() if s > 2e-5} | {r for r, s in there.items() if s > 2e-5}
    for repair in worth:
        assert renamed.get(repair, 0.0) == pytest.approx(there.get(repair, 0.0), abs=tolerance), repair


def compare(
    text: str, job: tuple[str, ...], other: str, other_job: tuple[str, ...], says: Callable[[str], str]
) -> None:
    """Single faults exactly; with pairs, which of equally good ones are simulated may differ a little."""
    same(shares(text, job, pairs=False), shares(other, other_job, pairs=False), says, 1e-7)
    same(shares(text, job), shares(other, other_job), says, 3e-4)


def swapped(pairs: Mapping[str, str]) -> Callable[[str], str]:
    """Exchange words both ways."""
    both = {**pairs, **{b: a for a, b in pairs.items()}}

    def say(text: str) -> str:
        for k, old in enumerate(both):
            text = text.replace(old, f"\0{k}\0")
        for k, old in enumerate(both):
            text = text.replace(f"\0{k}\0", both[old])
        return text

    return say


@pytest.mark.parametrize("job", in_turn(JOBS, 0))
def test_names_do_not_matter(job: str) -> None:
    # Which side a thing is on is no name: whoever says left for right speaks of the one on the other side.
    names = {
        "left rear": "left zebra cluster", "right rear": "right zebra cluster", "brake switch": "device nine",
        "F1": "Q7", "S3": "S77", "C1": "Z1", "E2": "E99", "reversing switch": "aa switch",
    }

    def say(text: str) -> str:
        for old, new in names.items():
            text = text.replace(old, new)
        return text

    compare(HARNESS, JOBS[job], say(HARNESS), tuple(map(say, JOBS[job])), say)


@pytest.mark.parametrize("job", in_turn(JOBS, 1))
def test_the_order_of_the_file_does_not_matter(job: str) -> None:
    data: dict[str, Any] = yaml.safe_load(HARNESS.replace("off", '"off"').replace("on]", '"on"]'))
    rng = random.Random(5)
    for section in ("parts", "connectors", "splices", "earths"):
        items = list(data[section].items())
        rng.shuffle(items)
        data[section] = dict(items)
    rng.shuffle(data["wires"])
    for part in data["parts"].values():
        if "contacts" in part:
            part["contacts"] = {("on" if k is True else k): v for k, v in part["contacts"].items()}
    text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True)
    compare(HARNESS, JOBS[job], text, JOBS[job], lambda r: r)


@pytest.mark.parametrize("job", in_turn(JOBS, 2))
def test_left_and_right_are_alike(job: str) -> None:
    # The harness is the same on both sides, so what was seen on the other side has the mirrored causes.
    mirror = swapped({
        "L and R at": "R and L at",
        "left rear": "right rear", "indicators left": "indicators right", "C1": "C2", "E2": "E3",
        "switch.L": "switch.R", "49a-L": "49a-R", " L at ": " R at ", " and L ": " and R ",
    })
    assert sorted(mirror(HARNESS).splitlines()) != HARNESS.splitlines()  # the words really change
    compare(HARNESS, JOBS[job], HARNESS, tuple(map(mirror, JOBS[job])), mirror)


@pytest.mark.parametrize("job", in_turn(JOBS, 3))
def test_polarity_does_not_matter_to_filaments(job: str) -> None:
    turned = swapped({"battery.+": "battery.-"})
    text = turned(HARNESS).replace("negative earth", "positive earth")
    compare(HARNESS, JOBS[job], text, JOBS[job], turned)


UNRELATED = HARNESS.replace("parts:\n", """\
  horn push: [released, pressed]
parts:
  F9: {kind: fuse, rating: 10 A}
  horn button: {kind: switch, control: horn push, contacts: {pressed: [in-out]}}
  horn: {kind: load, power: 40 W}
  work lamp: {kind: lamp, lamp: P21W}
""").replace("  - S2 > C1.1", """\
  - {run: battery.+ > F9.in, loom: front}
  - {run: F9.out > horn button.in, loom: front}
  - {run: horn button.out > horn.feed, loom: front}
  - {run: horn button.out > work lamp.feed, loom: front}
  - {run: horn.earth > E4, loom: front}
  - {run: work lamp.earth > E4, loom: front}
  - S2 > C1.1""").replace("E3: right}", "E3: right, E4: front}")


def explaining(text: str, job: tuple[str, ...]) -> dict[str, float]:
    """Shares of the suspects that explain all that was told, at the severities at which they do. Where some of it
    would be a slip it is one of all that can be said of the vehicle, and of a larger one more can be said."""
    found = diagnose(text, job, pairs=False)
    explains = found.loglik.sum(axis=0) > -2.5
    own = {s.repair: float(sum(found.share[i] for i in s.rows if explains[i])) for s in found.suspects
           if explains[s.rows[0]]}
    return {repair: share for repair, share in own.items() if share > 1e-5}


@pytest.mark.parametrize("job", in_turn(JOBS, 4))
def test_a_circuit_elsewhere_leaves_order_and_ratios(job: str) -> None:
    """It takes its own part of the base rates; among the causes that were there before nothing changes."""
    before, after = explaining(HARNESS, JOBS[job]), explaining(UNRELATED, JOBS[job])
    kept = {r: s for r, s in after.items() if r in before}
    # A short that drains the battery, or one that fits nothing, is all the new circuit can offer.
    assert sum(after.values()) - sum(kept.values()) < 0.02
    scale_before, scale_after = max(before.values(), default=1.0), max(kept.values(), default=1.0)
    for repair, share in before.items():
        if share > 1e-3 * scale_before:
            assert kept[repair] / scale_after == pytest.approx(share / scale_before, rel=1e-3), repair
    assert list(kept)[:3] == list(before)[:3]
    leading = [s.repair for s in diagnose(HARNESS, JOBS[job]).suspects[:2]]
    assert [s.repair for s in diagnose(UNRELATED, JOBS[job]).suspects[:2]] == leading
