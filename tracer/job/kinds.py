"""The kinds of entries that a job knows, and the keys of each: what a hand misspelt in a job file is named, not lost.

An entry of an unknown kind, or a key that nobody reads, would count for nothing without a word; one that lacks a key
could not be understood later.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from msgspec import Struct, field

from tracer.errors import Problem, ProblemsError, did_you_mean
from tracer.harness.base_rates import RATES
from tracer.job import file as job_file
from tracer.job.earlier_jobs import EARLIER
from tracer.job.text import WITHDRAWN, Event, JobRecord, place_of

_MOST: Final = 10**15
_Where = tuple[str | int, ...]
_Found = tuple[_Where, str, str | None]  # where in the entry, what is wrong, what would be right


class Row(Struct, frozen=True):
    """What an entry, or a table in it, holds: key → what belongs there; `inside`: of tables and lists of them."""

    needed: Mapping[str, str] = field(default_factory=dict)
    more: Mapping[str, str] = field(default_factory=dict)
    inside: Mapping[str, Row] = field(default_factory=dict)

    @property
    def keys(self) -> tuple[str, ...]:
        return (*self.needed, *self.more)


def _number(value: Any) -> bool:
    if isinstance(value, int):
        return not isinstance(value, bool) and abs(value) < _MOST  # some hundred digits fit no float
    return isinstance(value, float) and math.isfinite(value)


_BELONGS: Final[Mapping[str, Callable[[Any], bool]]] = {
    "a text": lambda v: isinstance(v, str) or _number(v),
    "a number": _number,
    "a whole number": lambda v: type(v) is int,
    "true or false": lambda v: isinstance(v, bool),
    "“key: value” lines": lambda v: isinstance(v, Mapping),
    "a list": lambda v: isinstance(v, list),
    "a number or inf": lambda v: _number(v) or v in ("inf", "-inf"),
}
_TEXT, _NUMBER, _WHOLE, _YES, _TABLE, _LIST, _LIMIT = _BELONGS

_SEEN: Final = Row(more={
    "lamp": _TEXT, "words": _LIST, "flash": _TEXT, "sometimes": _YES, "doubtful": _YES, "moved": _YES, "fine": _YES,
    "fuse": _TEXT, "blown": _YES, "when": _TEXT, "once": _YES, "whenever": _YES,
    "relay": _TEXT, "does": _TEXT, "load": _TEXT, "works": _YES, "weak": _YES,
    "against": _TEXT, "how": _TEXT, "any of": _LIST,
})
_SYMPTOM: Final = Row(
    {"state": _TABLE, "seen": _LIST},
    {"engine running": _YES, "everything else normal": _YES, "light": _TEXT, "only": _LIST},
    {"seen": _SEEN},
)
_TEST: Final = Row(
    {"test": _TEXT, "state": _TABLE},
    {"engine running": _YES, "plus": _TEXT, "minus": _TEXT, "lamp": _TEXT, "done": _LIST},
    {"done": Row({"action": _TEXT, "target": _TEXT}, {"other": _TEXT})},
)
_VALUE: Final = Row({}, {
    "text": _TEXT, "low": _LIMIT, "high": _LIMIT, "resolution": _NUMBER, "seen": _TABLE, "found": _YES,
    "lead_blew": _YES,
}, {"seen": _SEEN})
_STORY: Final = Row({}, {
    "runs": _YES, "driven_here": _YES, "always": _YES, "where": _TEXT, "since": _TEXT, "work": _LIST,
})
MARKED: Final = "sent as"  # may stand in every entry: the mark of whoever sent it
KINDS: Final[Mapping[str, Row]] = {
    "symptom": Row(
        _SYMPTOM.needed, {"text": _TEXT, "more": _LIST, "story": _TABLE, **_SYMPTOM.more},
        {"more": _SYMPTOM, "story": _STORY, **_SYMPTOM.inside},
    ),
    "reading": Row({"test": _TABLE, "value": _TABLE}, {}, {"test": _TEST, "value": _VALUE}),
    "proposed": Row({"key": _TEXT, "test": _TABLE}, {}, {"test": _TEST}),
    "repaired": Row(
        {"repair": _TEXT},
        {"parts": _LIST, "checks": _LIST, "risk before": _NUMBER, "risk after": _NUMBER, "minutes": _NUMBER,
         "share": _NUMBER, "kinds": _TABLE, "changed": _YES},
        {"checks": Row({"number": _WHOLE, "state": _TABLE}, {"because": _TEXT}),
         "kinds": Row(more=dict.fromkeys(RATES, _NUMBER))},
    ),
    "proof": Row({"check": _WHOLE, "good": _YES, "found": _TEXT}),
    "note": Row({"text": _TEXT}, {"at": _TEXT}),
    "photo": Row({"file": _TEXT}, {"at": _TEXT, "text": _TEXT}),
    "story": _STORY,
    "overlay": Row({"text": _TEXT}, {"name": _TEXT}),
    EARLIER: Row({}, {
        "file": _TEXT, "started": _TEXT, "complaint": _TEXT, "status": _TEXT, "repairs": _LIST, "opened": _LIST,
        "notes": _LIST,
    }),
    WITHDRAWN: Row({"entry": _WHOLE}),
}


def read_known(path: str | Path) -> JobRecord:
    """Read a job file in which every entry is of a kind known here, with the keys of that kind.

    Raises:
        JobFileError, ProblemsError: As `file.read`; or for an entry that is not, with line and column.
    """
    record = job_file.read(path)
    shown = os.fspath(path)
    problems = [
        Problem.at(place_of(path, shown, event.number, where), message, hint)
        for event in record.events for where, message, hint in _wrong(event)
    ]
    if problems:
        raise ProblemsError(problems)
    return record


def _wrong(event: Event) -> Iterator[_Found]:
    row = KINDS.get(event.kind)
    if row is None:
        yield ("kind",), f"no kind of entry “{event.kind}”", did_you_mean(event.kind, KINDS)
        return
    yield from _wrong_in({k: v for k, v in event.data.items() if k != MARKED}, row, ())
    if not isinstance(event.data.get(MARKED, ""), str):
        yield (MARKED,), f"{MARKED}: {_TEXT} belongs here", None


def _wrong_in(data: Mapping[str, Any], row: Row, at: _Where) -> Iterator[_Found]:
    for key in data:
        if key not in row.keys:
            yield (*at, key), f"“{key}” is not known here", did_you_mean(key, row.keys)
    for key in row.needed:
        if key not in data:
            yield at, f"“{key}” is missing here", f"{row.needed[key]} belongs there"
    for key, belongs in {**row.needed, **row.more}.items():
        if key not in data:
            continue
        value = data[key]
        if not _BELONGS[belongs](value):
            yield (*at, key), f"{key}: {belongs} belongs here", None
        elif key in row.inside:
            tables = enumerate(value) if isinstance(value, list) else [(None, value)]
            for number, table in tables:
                where = (*at, key) if number is None else (*at, key, number)
                if isinstance(table, Mapping):
                    yield from _wrong_in(table, row.inside[key], where)
                else:
                    yield where, f"{key}: {_TABLE} belong here", None
