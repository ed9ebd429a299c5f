"""Hypotheses: single faults at every severity, shorts with the fuse they blew, loose contacts, faults together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tracer.cache import Kept
from tracer.circuit.fuse_screening import blown
from tracer.circuit.model import NO_CHANGE, OPEN_OHM, Bools, Change, Ints, Setup
from tracer.faults import Fault, Variant
from tracer.harness.base_rates import AWAKE_SHARE, DIFFERENCE_ALONE, FURTHER_FAULTS, GIVEN, LEFT_BY_TRYING
from tracer.harness.lighting_states import lighting_states
from tracer.harness.model import Harness, VehicleState
from tracer.observation.forward_model import Predictor

_BLOWN_STAYS = 0.75  # share of shorts met with the fuse already blown


class Hypothesis(Struct, frozen=True, dict=True):
    """One or several faults at given severities. `prior` is relative; `awake` is the share of the time in which
    the fault shows, below one for a loose contact that comes and goes; `mended` were there as well until they were
    repaired."""

    faults: tuple[Fault, ...]
    variants: tuple[Variant, ...]
    prior: float
    awake: float = 1.0
    mended: tuple[Fault, ...] = ()

    @property
    def change(self) -> Change:
        return self.variants[0].change if len(self.variants) == 1 else self._changes

    @cached_property
    def _changes(self) -> Change:
        total = NO_CHANGE
        for v in self.variants:
            total = total | v.change
        return total

    @cached_property
    def defects(self) -> tuple[Fault, ...]:
        """What is to be mended: its faults without deviations of the wiring, which are none; these where there is
        nothing else."""
        return tuple(f for f in self.faults if f.rewired is None) or self.faults

    @property
    def deviations(self) -> tuple[Fault, ...]:
        """In what the wiring is otherwise than the file says."""
        if len(self.faults) == 1 and self.faults[0].rewired is None:  # most are; asked of all again and again
            return ()
        return tuple(f for f in self.faults if f.rewired is not None)

    @property
    def one_defect(self) -> bool:
        """Whether its first fault is all that is wrong, and nothing follows, or lines that lead elsewhere."""
        return bool(self.faults) and all(f.rewired is not None and f.rewired.line for f in self.faults[1:])

    @property
    def repair(self) -> str:
        return self.faults[0].repair if len(self.faults) == 1 else self._repairs

    @cached_property
    def _repairs(self) -> str:
        return " and ".join(sorted({f.repair for f in self.defects}))

    @property
    def repair_min(self) -> float:
        return sum({f.repair: f.repair_min for f in self.defects}.values())

    def says(self) -> str:
        said = []
        for f, v in zip(self.faults, self.variants, strict=True):
            said.append(f.says + (f" ({v.says})" if v.says and v.says != "open" else ""))
        before = f", beside what was mended before ({'; '.join(f.says for f in self.mended)})" if self.mended else ""
        return ("comes and goes: " if self.awake < 1 else "") + "; and ".join(said) + before


def by_change(hypotheses: Sequence[Hypothesis]) -> tuple[list[Change], Ints]:
    """What the hypotheses change, each change once, and for each hypothesis (H,) which of them is its: what changes
    the same thing (a wire and its leg in a splice) is simulated once."""
    found: dict[Change, int] = {}
    one_of = np.array([found.setdefault(h.change, len(found)) for h in hypotheses], dtype=np.intp)
    return list(found), one_of


def single_hypotheses(
    faults: Sequence[Fault], predictor: Predictor, kept: Kept | None = None
) -> tuple[Hypothesis, ...]:
    """Every fault at every severity; shorts also with the fuse they blow left blown. `kept` may know which."""
    total = sum(f.rate for f in faults)
    plain = [Hypothesis((f,), (v,), f.rate / total * v.weight) for f in faults for v in f.variants]
    joins = [i for i, h in enumerate(plain) if h.variants[0].change.added and not h.variants[0].change.set_ohm]
    changes, one_of = by_change([plain[i] for i in joins])
    states = basic_states(predictor.harness)
    predictor.remember(states, kept or Kept())
    setups = [predictor.setup(state) for state in states]
    rows = (kept or Kept()).recall(
        "blown", predictor.supply_v, lambda: {"rows": _blown(predictor, setups, changes)},
        lambda found: found["rows"].dtype == bool and found["rows"].shape == (len(changes), len(predictor.fuses)),
    )["rows"]
    out = list(plain)
    for i, row in zip(joins, rows[one_of], strict=True):
        if not row.any():
            continue
        names = [f for f, b in zip(predictor.fuses, row, strict=True) if b]
        h, v = plain[i], plain[i].variants[0]
        links = Change(set_ohm=tuple((f"{n} link", OPEN_OHM) for n in names))
        says = "; ".join(filter(None, [v.says, f"which has blown {' and '.join(names)}"]))
        stays = Variant(v.weight, v.change | links, says)
        out[i] = Hypothesis(h.faults, h.variants, h.prior * (1 - _BLOWN_STAYS))
        out.append(Hypothesis(h.faults, (stays,), h.prior * _BLOWN_STAYS))
    return tuple(out)


def _blown(predictor: Predictor, setups: Sequence[Setup], changes: Sequence[Change]) -> Bools:
    """(H, fuses) as `fuse_screening.blown`, paths at things that are alike once for all."""
    table = predictor.table(changes)
    alike = predictor.settler.twins.alike(setups[0], table)  # what is done to no vehicle is done in no state
    if alike is None:
        return blown(predictor.settler, setups, table)
    return alike.of_fuses(blown(predictor.settler, setups, table.rows(alike.first)))


def deviating(deviations: Sequence[Fault]) -> tuple[Hypothesis, ...]:
    """Each deviation of the wiring alone, with nothing to mend."""
    return tuple(Hypothesis((f,), f.variants, f.rate * DIFFERENCE_ALONE) for f in deviations)


def by_story(singles: Sequence[Hypothesis], factor: Mapping[str, float]) -> tuple[Hypothesis, ...]:
    """The same, their priors by the vehicle's story: `factor` by the fault's name."""
    return tuple(
        replace(h, prior=h.prior * factor[h.faults[0].name]) if h.faults[0].name in factor else h for h in singles
    )


def with_loose_contacts(singles: Sequence[Hypothesis]) -> list[Hypothesis]:
    """The same, each split into a fault that stays and, where its kind can be loose, one that comes and goes."""
    out = [replace(h, prior=h.prior * (1 - h.faults[0].comes_and_goes)) for h in singles]
    return out + [
        replace(h, prior=h.prior * h.faults[0].comes_and_goes, awake=AWAKE_SHARE)
        for h in singles if h.faults[0].comes_and_goes > 0
    ]


def together(*several: Hypothesis, likelier: float = 1.0) -> Hypothesis | None:
    """All these faults at once; None where two of them are faults of the same thing. `likelier`: how many times as
    likely they are together as faults that have nothing to do with each other. A deviation of the wiring was there
    all along: it needs no second misfortune."""
    seen: set[str] = set()
    for h in several:
        own = {e for f in h.faults for e in f.elements}
        if own & seen:
            return None
        seen |= own
    prior = float(np.prod([h.prior for h in several])) * likelier
    single = sum(len(h.faults) == 1 and h.faults[0].rewired is not None for h in several)
    faulty = len(several) - single
    prior *= FURTHER_FAULTS ** max(faulty - 1, 0) / DIFFERENCE_ALONE ** (single if faulty else single - 1)
    # Who tries lamps tries all that are dark: that he did not is to be had once, and not for each dead one.
    left = [{f.kind: LEFT_BY_TRYING[f.kind] for f in h.faults if f.kind in LEFT_BY_TRYING and f.source != GIVEN}
            for h in several]
    prior /= float(np.prod([min(by_kind.values()) for by_kind in left if by_kind][1:]))
    faults, variants = [f for h in several for f in h.faults], [v for h in several for v in h.variants]
    # What is to be mended stands first, however the two were found.
    order = sorted(range(len(faults)), key=lambda k: faults[k].rewired is not None)
    return Hypothesis(tuple(faults[k] for k in order), tuple(variants[k] for k in order), prior,
                      min(h.awake for h in several))


def basic_states(harness: Harness) -> list[VehicleState]:
    """Everything at its assumed position, each control in each of its other positions, and for each lamp that takes
    more than one control to light the fewest that do."""
    states = [harness.state({})]
    for control in harness.controls.values():
        for position in control.positions:
            if position != control.assumed:
                states.append(harness.state({control.name: position}))
    return list(dict.fromkeys([*states, *lighting_states(harness)]))
