"""The results as tables: by vehicle and by class of fault, how sure the tool was, and every failure by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from statistics import mean

from tests.bench.truth.jobs import Outcome

_BINS = (0.0, 0.5, 0.7, 0.9, 0.99, 1.0000001)


def _share(values: Iterable[bool]) -> str:
    found = list(values)
    return f"{mean(found):4.0%}" if found else "   –"


def _row(name: str, own: Sequence[Outcome], width: int) -> str:
    ideal = [o for o in own if o.ideal >= 0]
    readings = sum(o.readings for o in own)
    odd = sum(len(o.unexplained) for o in own)
    over = [o for o in own if o.end not in ("crash", "bench")]
    return " | ".join([
        f"{name:{width}}", f"{len(own):4}",
        _share(o.rank == 1 for o in over), _share(0 < o.rank <= 3 for o in over),
        _share(o.ideal == 1 for o in ideal), _share(0 < o.ideal <= 3 for o in ideal),
        _share(o.end == "proven" for o in own), _share(bool(o.wrong) for o in own),
        _share(bool(o.vain) for o in own), _share(o.end == "closed wrong" for o in own),
        _share(o.end in ("given up", "steps") for o in own),
        f"{sum(o.end == 'time' for o in own):4}", f"{sum(o.end == 'crash' for o in own):5}",
        f"{mean(o.minutes for o in own):7.1f}", f"{mean(o.lost for o in own):4.1f}", f"{odd:4}/{readings:<4}",
    ])


HEAD = ("jobs | 1st  | in 3 | i1st | i in3| prvn | wrng | vain | clsw | gvup | time | crash | minutes | lost | "
        "unexplained\n"
        "(1st, in 3: true repair first / among the first three after the complaint; i…: the ideal observer on the "
        "same words;\n wrng: something renewed or remade in vain; vain: something cleaned, set or changed back in "
        "vain;\n lost: minutes of a job that repairs in vain took; clsw: closed with the fault still there; "
        "unexplained: readings\n that no suspect predicts)")


def table(outcomes: Sequence[Outcome], by: Callable[[Outcome], str], title: str) -> str:
    """One row for each group, and one for all."""
    groups: dict[str, list[Outcome]] = {}
    for o in outcomes:
        groups.setdefault(by(o), []).append(o)
    width = max([len(g) for g in groups] + [len(title)])
    rows = [_row(g, own, width) for g, own in sorted(groups.items())]
    return "\n".join([f"{title:{width}} | {HEAD}", *rows, _row("all", outcomes, width)])


def reliability(outcomes: Sequence[Outcome]) -> str:
    """How often a repair was right by the share that was stated for it when it was made."""
    made = [s for o in outcomes for s in o.stated]
    lines = ["stated share at the moment of repair | repairs | mean stated | right"]
    for low, high in pairwise(_BINS):
        own = [(p, good) for p, good in made if low <= p < high]
        if own:
            good = sum(g for _, g in own)
            lines.append(f"{low:5.2f} to {min(high, 1.0):4.2f}{'':23} | {len(own):7} | "
                         f"{mean(p for p, _ in own):11.3f} | {good} ({good / len(own):.0%})")
    return "\n".join(lines)


def beside_oracle(outcomes: Sequence[Outcome]) -> str:
    """Minutes of the jobs that were proven beside those of the oracle, where it knew the fault (`oracle.py`)."""
    groups: dict[str, list[Outcome]] = {}
    for o in outcomes:
        if o.oracle >= 0:
            groups.setdefault(o.kind, []).append(o)
    every = [o for own in groups.values() for o in own]
    lines = ["minutes beside the oracle's, of jobs proven | jobs | tool  | oracle | ratio | without the right repair"]
    for name, own in [*sorted(groups.items()), ("all", every)]:
        mine, best, repair = (sum(x) for x in ([o.minutes for o in own], [o.oracle for o in own],
                                                [o.repair for o in own]))
        finding = (mine - repair) / (best - repair) if best > repair else float("nan")
        ratio = mine / best if best else float("nan")
        lines.append(f"{name:43} | {len(own):4} | {mine:5.0f} | {best:6.0f} | {ratio:5.2f} | {finding:5.2f}")
    return "\n".join(lines)


def failures(outcomes: Sequence[Outcome]) -> str:
    """Each job that did not go as it should."""
    lines = []
    for o in outcomes:
        if o.end == "proven" and not o.wrong and not o.vain and not o.refused and not o.unknown:
            continue
        lines.append(f"{o.vehicle} {o.number} [{o.kind}: {o.fault}] {o.end} {o.error}")
        lines.append(f"    said: {'; '.join(o.said)}")
        lines.append(f"    rank {o.rank} of {o.suspects} (ideal {o.ideal}), led by {o.leading}")
        for what, found in (("wrong", o.wrong), ("in vain", o.vain), ("in vain again", o.again),
                            ("unexplained", o.unexplained[:3]), ("refused", o.refused),
                            ("unknown point", o.unknown[:2])):
            lines += [f"    {what}: {x}" for x in found]
    return "\n".join(lines) or "none"
