"""The symptom-to-cause chart of a harness: what goes wrong in which vehicle state under which faults.

Faults whose lamps look the same in every state of the chart are one row: no look can tell them
apart, a measurement can.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import partial
from typing import Any, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tracer.checking.survey import states_up_to_pairs
from tracer.circuit.model import Ints
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.hypotheses import Hypothesis, basic_states, by_change
from tracer.inference.likelihood import flash_probabilities
from tracer.inference.word_model import WORD_BORDERS
from tracer.observation.evidence import WORDS
from tracer.observation.forward_model import Panel, Predictor
from tracer.observation.tables import Tables
from tracer.safety.advice import Caution, cautions_of, merged, of_look
from tracer.safety.lines import as_data, labelled
from tracer.safety.permitted import permitted_states

# What is said after the brightness; the number in the array is the place in this list.
_FLASHES: Final = ("", " flashing", " flashing slow", " flashing fast", ", steady instead of flashing")
_NORMAL: Final = WORDS.index("normal")
Codes = NDArray[np.int16]


class Cause(Struct, frozen=True):
    """One fault of a row, with the severities at which it looks like this, and its share of the base rate."""

    fault: str
    says: str
    severities: tuple[str, ...]
    repair: str
    share: float

    def text(self) -> str:
        said = self.severities
        if len(said) > 2 and all(s.startswith("about ") for s in said):
            said = (f"{said[0]} to {said[-1].removeprefix('about ')}",)
        return self.says + (f" ({', '.join(said)})" if said else "")


class Row(Struct, frozen=True):
    """Faults that look alike: causes (likeliest first), repairs, share of all base rates, and what
    goes wrong in each state of the chart ("" where nothing does)."""

    causes: tuple[Cause, ...]
    repairs: tuple[str, ...]
    share: float
    cells: tuple[str, ...]


class Chart(Struct, frozen=True):
    """Rows by share, the likeliest first.

    Attributes:
        unseen: Faults (or severities of faults) that no look in these states shows.
        left_out: Rows that `top` dropped, and their share.
    """

    title: str
    states: tuple[VehicleState, ...]
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    unseen: Row | None
    left_out: tuple[int, float] = (0, 0.0)
    cautions: tuple[Caution, ...] = ()

    def top(self, most: int) -> Chart:
        """The chart with its likeliest rows only, for one sheet on the wall."""
        rest = self.rows[most:]
        dropped = (self.left_out[0] + len(rest), self.left_out[1] + sum(r.share for r in rest))
        return replace(self, rows=self.rows[:most], left_out=dropped)

    def remarks(self) -> list[str]:
        """What the reader must know beside the rows."""
        said = ["Shares are of all faults that the harness can have, before anything was seen. Empty: as on a "
                "healthy vehicle. What is not mentioned in a state looks normal there."]
        if self.unseen is not None:
            said.append(f"No lamp shows {self.unseen.share:.1%} of the faults in these states "
                        "(most of them poor contacts that cost little light): they need a measurement.")
        if self.left_out[0]:
            said.append(f"Not shown: {self.left_out[0]} rarer rows with {self.left_out[1]:.1%} together.")
        return said

    def _above(self) -> list[str]:
        """Dangers and cautions of the states of the chart, read before any of them is set."""
        return [first + text for first, text in labelled(self.cautions)]

    def as_data(self) -> dict[str, Any]:
        """Plain values for other programs."""
        def row(r: Row) -> dict[str, Any]:
            return {
                "share": r.share, "repairs": list(r.repairs),
                "causes": [{"fault": c.fault, "says": c.says, "severities": list(c.severities), "repair": c.repair,
                            "share": c.share} for c in r.causes],
                "looks": {c: x for c, x in zip(self.columns, r.cells, strict=True) if x},
            }
        return {
            "title": self.title, "cautions": as_data(self.cautions),
            "states": [{"says": c, "positions": dict(s.positions)} for c, s in
                       zip(self.columns, self.states, strict=True)],
            "rows": [row(r) for r in self.rows], "not visible": row(self.unseen) if self.unseen else None,
            "rows left out": self.left_out[0], "share left out": self.left_out[1],
        }

    def as_text(self, width: int = 80) -> str:
        """One paragraph a row."""
        out = [textwrap.fill(f"Symptoms and causes: {self.title}", width), *(
            textwrap.fill(x, width, subsequent_indent="  ") for x in self._above())]
        for r in self.rows:
            out.append("")
            out.append(textwrap.fill(f"{r.share:6.2%}  {and_more([c.text() for c in r.causes], '; or ')}", width,
                                     subsequent_indent="        "))
            for column, cell in zip(self.columns, r.cells, strict=True):
                if cell:
                    out.append(textwrap.fill(f"{column}: {cell}", width, initial_indent="        ",
                                             subsequent_indent="          "))
            out.append(textwrap.fill(f"repair: {and_more(r.repairs, '; or ')}", width, initial_indent="        ",
                                     subsequent_indent="          "))
        out += ["", *(textwrap.fill(x, width) for x in self.remarks())]
        return "\n".join(out)

    def as_markdown(self) -> str:
        """A table; every cell's own bars and marks are escaped."""
        head = ["cause", "share", *self.columns, "repair"]
        said = [f"{x}\n" for x in map(_plain, self._above())]
        out = [f"# Symptoms and causes: {_plain(self.title)}", "", *said]
        out += [_bar(head), _bar(["---"] * len(head), raw=True)]
        out += [
            _bar([and_more([c.text() for c in r.causes], "; or "), f"{r.share:.2%}", *r.cells,
                  and_more(r.repairs, "; or ")]) for r in self.rows
        ]
        return "\n".join([*out, "", *(f"{x}\n" for x in map(_plain, self.remarks()))]).rstrip() + "\n"


def chart(harness: Harness, investigator: Investigator | None = None) -> Chart:
    """Predict every fault at every severity in every basic state, and in what else it takes to light
    each lamp once; faults that look alike are one row."""
    investigator = investigator or Investigator(harness)
    predictor = investigator.predictor
    # Wiring that is otherwise than the file says is no cause of anything: a chart for the wall has none.
    hypotheses = [h for h in investigator.singles if not h.deviations]
    states = chart_states(predictor)
    changes, one_of = by_change(hypotheses)
    tables = Tables(predictor, changes)
    # One row of numbers a change: −1 where a lamp looks as it should.
    looks = [tables.codes(predictor.setup(s), partial(_odd, predictor.healthy(s), predictor)) for s in states]
    odd, blown = [o for o, _ in looks], [b for _, b in looks]
    groups, group_of = _alike(np.hstack([x.astype(np.int16, copy=False) for look in looks for x in look]))
    member = group_of[one_of]
    prior = np.array([h.prior for h in hypotheses])
    prior = prior / prior.sum() if len(prior) else prior
    keep = _different(odd, blown)
    lamps = [f.lamp for f in predictor.lamps]
    rows: list[Row] = []
    unseen: Row | None = None
    sorted_by_group = np.argsort(member, kind="stable")
    ends = np.searchsorted(member[sorted_by_group], np.arange(1, groups))
    for index in np.split(sorted_by_group, ends) if groups else ():
        first = one_of[index[0]]
        cells = tuple(_cell(odd[s][first], blown[s][first], lamps, predictor.fuses) for s in keep)
        causes = _causes([hypotheses[i] for i in index], prior[index])
        repairs = tuple(dict.fromkeys(c.repair for c in causes))
        row = Row(causes, repairs, float(prior[index].sum()), cells)
        if any(cells):
            rows.append(row)
        else:
            unseen = row
    rows.sort(key=lambda r: -r.share)
    told = merged(*(cautions_of(of_look(states[s], harness)) for s in keep))
    return Chart(harness.title, tuple(states[s] for s in keep), tuple(harness.say_state(states[s]) for s in keep),
                 tuple(rows), unseen, cautions=told)


def chart_states(predictor: Predictor) -> list[VehicleState]:
    """The basic states, and for each lamp that none of them lights the first with two controls moved
    that does."""
    states = permitted_states(basic_states(predictor.harness), predictor.harness)

    def lit(state: VehicleState) -> set[int]:
        return set(np.flatnonzero(predictor.healthy(state).flux[0] > WORD_BORDERS[2]))

    predictor.know(states)
    missing = set(range(len(predictor.lamps))) - {i for s in states for i in lit(s)}
    further = permitted_states(states_up_to_pairs(predictor.harness), predictor.harness) if missing else []
    predictor.know(further)
    for state in further:
        new = missing & lit(state)
        if new:
            states.append(state)
            missing -= new
    return states


def _odd(healthy: Panel, predictor: Predictor, panel: Panel) -> Codes:
    """As `_codes`, −1 where a lamp looks as it should."""
    code = _codes(panel, predictor)
    return np.where(code == _codes(healthy, predictor)[0], np.int16(-1), code)


def _codes(panel: Panel, predictor: Predictor) -> Codes:
    """(H, lamps): the brightness word and how it flashes, in one number."""
    out = np.empty(panel.flux.shape, dtype=np.int16)
    busy = ~np.isnan(panel.load)
    for lamp in range(len(predictor.lamps)):
        words = np.searchsorted(WORD_BORDERS, panel.flux[:, lamp])
        flashes = np.zeros(len(out), dtype=np.intp)
        if predictor.flasher is not None:
            p = flash_probabilities(panel, lamp, predictor.electronic, as_filed=True)
            flashing = p["flashing"] >= 0.5
            rate = np.where(p["slow"] > 0.5 * p["flashing"], 2, np.where(p["fast"] > 0.5 * p["flashing"], 3, 1))
            held = busy & (panel.flux[:, lamp] - panel.least[:, lamp] > 0.3)
            flashes = np.where(flashing, rate, np.where(held, 4, 0))
        out[:, lamp] = np.where(words == 0, 0, words * len(_FLASHES) + flashes)
    return out


def _alike(rows: Codes) -> tuple[int, Ints]:
    """How many different rows there are, and the number of each one's kind, as `np.unique` has them; that sorts all
    rows, which takes seconds where they are many and long."""
    kinds: dict[bytes, int] = {}
    which = np.array([kinds.setdefault(row.tobytes(), len(kinds)) for row in rows], dtype=np.intp)
    firsts = np.zeros(len(kinds), dtype=np.intp)
    firsts[which[::-1]] = np.arange(len(rows))[::-1]
    place = np.empty(len(kinds), dtype=np.intp)
    place[np.lexsort(rows[firsts].T[::-1]) if rows.shape[1] else slice(None)] = np.arange(len(kinds))
    return len(kinds), place[which]


def _different(odd: Sequence[Codes], blown: Sequence[Any]) -> list[int]:
    """States that show something no earlier state shows: a control that lights nothing repeats the first."""
    seen: list[int] = []
    for s in range(len(odd)):
        same = any(np.array_equal(odd[s], odd[t]) and np.array_equal(blown[s], blown[t]) for t in seen)
        if not same and ((odd[s] >= 0).any() or blown[s].any()):
            seen.append(s)
    return seen


def _cell(odd: Codes, blown: Any, lamps: Sequence[str], fuses: Sequence[str]) -> str:
    """What goes wrong in one state: lamps of one look together."""
    by_look: dict[int, list[str]] = {}
    for lamp, code in zip(lamps, odd, strict=True):
        if code >= 0:
            by_look.setdefault(int(code), []).append(lamp)
    said = [f"{', '.join(names)} {_say_code(code)}" for code, names in by_look.items()]
    said += [f"fuse {f} blows" for f, b in zip(fuses, blown, strict=True) if b]
    return "; ".join(said)


def _say_code(code: int) -> str:
    """A look that is not the healthy one: what has its full light there should be dark, or flash otherwise."""
    word, flash = divmod(code, len(_FLASHES))
    if word == _NORMAL:
        return f"lit{_FLASHES[flash]}" if flash in (0, len(_FLASHES) - 1) else _FLASHES[flash].strip()
    return "too bright" + _FLASHES[flash] if word > _NORMAL else WORDS[word] + _FLASHES[flash]


def _causes(hypotheses: Sequence[Hypothesis], shares: Any) -> tuple[Cause, ...]:
    found: dict[str, list[tuple[Hypothesis, float]]] = {}
    for h, share in zip(hypotheses, shares, strict=True):
        found.setdefault(h.faults[0].name, []).append((h, float(share)))
    causes = []
    for name, members in found.items():
        fault = members[0][0].faults[0]
        said = tuple(dict.fromkeys(h.variants[0].says for h, _ in members if h.variants[0].says not in ("", "open")))
        causes.append(Cause(name, fault.says, said, fault.repair, sum(s for _, s in members)))
    return tuple(sorted(causes, key=lambda c: -c.share))


def and_more(said: Sequence[str], joint: str, most: int = 6) -> str:
    """The first of what is to be said, and how many more there are."""
    rest = len(said) - most
    return joint.join(said[:most]) + (f" and {rest} more" if rest > 0 else "")


def _plain(text: str) -> str:
    """Text in which Markdown sees no marks of its own."""
    text = " ".join(text.split())
    for sign in "\\`*_[]<>|#":
        text = text.replace(sign, f"\\{sign}")
    return text


def _bar(cells: Sequence[str], raw: bool = False) -> str:
    return "| " + " | ".join(c if raw else _plain(c) for c in cells) + " |"
