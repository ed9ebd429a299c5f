"""What was answered on a sheet as one line of text, and that line recorded in the job it was made for.

`TP1 MARK;r TEST=VALUE&LAMP=LOOK;x TEST;m REPAIR;n;k 1.3fa21c=ok;CHECKSUM`: read, not done, repaired, still as before,
a proof check with a mark of what it looks at. Signs that part things are written as % and two digits
where they stand in a name.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Final
from urllib.parse import quote, unquote

from msgspec import Struct

from tracer.errors import JobFileError, TracerError
from tracer.job.job import Job
from tracer.job.typed import test_key
from tracer.job.values import ProofCheck
from tracer.job.what_if import WhatIf, state_mark, take_over
from tracer.present.conversation.core import answer
from tracer.present.conversation.screens import Checked, Mended, NotDone, Read, Reply

HEAD: Final = "TP1"
MOST: Final = 20_000  # signs of a line
_PARTS: Final = ";=&%\n\r\t"
_NOT_WHOLE: Final = "copy it on the phone and paste it whole, from TP1 to the last sign"


def escaped(text: str) -> str:
    """A name or value as it stands in a line."""
    return "".join(quote(c) if c in _PARTS else c for c in text)


def read_field(test: str, value: str, also: Sequence[tuple[str, str]] = ()) -> str:
    """The part of a line for what a test showed."""
    more = "".join(f"&{escaped(lamp)}={escaped(look)}" for lamp, look in also)
    return f"r {escaped(test)}={escaped(value)}{more}"


def check_field(check: ProofCheck) -> str:
    """The part of a line for a proof check that came out right."""
    return f"k {check.number}.{_mark_of(check)}=ok"


def _mark_of(check: ProofCheck) -> str:
    """Six signs that stand for what is set and how the lamps must look, or what must be measured."""
    return checksum(repr((check.state, check.expected, check.again)))[:6]


def line_of(mark: str, fields: Sequence[str]) -> str:
    """A whole line."""
    said = ";".join([f"{HEAD} {mark}", *fields])
    return f"{said};{checksum(said)}"


def checksum(text: str) -> str:
    """CRC-32 of the text in UTF-8, in 8 hexadecimal digits."""
    return f"{zlib.crc32(text.encode()):08x}"


class FromSheet(Struct, frozen=True):
    """What a line led to: each entry in words, and the remarks on them."""

    said: tuple[str, ...]
    remarks: tuple[str, ...]
    last: int


def record_line(job: Job, text: str) -> FromSheet:
    """Record what was answered on a sheet, all of it or nothing.

    Raises:
        TracerError: The line is not whole, belongs to another job or to another state of this one, was recorded
            already, or something in it cannot be understood; nothing was recorded.
    """
    mark, fields, sum_ = _apart(text)
    own = f"from sheet {sum_}"
    if job.has_marked(own):
        raise JobFileError("this line was recorded already", "nothing was recorded a second time")
    if mark != state_mark(job):
        raise JobFileError("this line belongs to another job, or something was recorded in this one since its sheet "
                           "was made", "type in by hand what was measured, as far as it still holds")
    tried, said, remarks = WhatIf(job), list[str](), list[str]()
    for number, field in enumerate(fields, 1):
        try:
            done = _told(tried, field)
        except TracerError as error:
            raise JobFileError(f"answer {number} of the line: {error.message}; nothing was recorded",
                               error.hint) from error
        said += [done[0]] if done[0] else []
        remarks += [done[1]] if done[1] else []
    events = take_over(job, tried, own)
    return FromSheet(tuple(said), tuple(remarks), events[-1].number)


def _apart(text: str) -> tuple[str, list[str], str]:
    line = " ".join(text.split())
    if len(line) > MOST:
        raise JobFileError("this line is too long to be one of a sheet", _NOT_WHOLE)
    head, _, rest = line.partition(";")
    body, _, sum_ = line.rpartition(";")
    name, _, mark = head.partition(" ")
    if name != HEAD or not rest:
        raise JobFileError("this is no line of a sheet", "it begins with TP1, as the sheet shows it")
    if sum_.strip().lower() != checksum(body):
        raise JobFileError("this line is not whole, or something in it was changed", _NOT_WHOLE)
    fields = body.split(";")[1:]
    if not fields:
        raise JobFileError("nothing was answered on this sheet yet", "tap the answers first")
    return mark, fields, sum_.strip().lower()


def _told(tried: WhatIf, field: str) -> tuple[str, str]:
    """What one answer is recorded as, in words, and the remark on it."""
    kind, _, rest = field.partition(" ")
    if kind == "n":
        if not tried.repairs:
            raise JobFileError("no repair stands before “still as before”", _NOT_WHOLE)
        tried.still_as_before()
        return "still as before", ""
    if kind == "k":
        return _checked(tried, rest)
    done = answer(tried, _reply(tried, kind, rest))
    return done.recorded, done.remark


def _reply(tried: WhatIf, kind: str, rest: str) -> Reply:
    pairs = [(unquote(a), unquote(b)) for a, _, b in (p.partition("=") for p in rest.split("&"))]
    what, value = pairs[0]
    if kind in ("r", "x"):
        test = tried.find_test(what)
        tried.was_proposed(test)
        return Read(test_key(test), value, tuple(pairs[1:])) if kind == "r" else NotDone(test_key(test))
    if kind == "m":
        return Mended(what)
    raise JobFileError("this version does not know such an answer", "record it by hand")


def _checked(tried: WhatIf, rest: str) -> tuple[str, str]:
    """A check counts only where the repair as it is recorded asks for the very same look."""
    number, _, mark = rest.partition("=")[0].partition(".")
    same = [c for c in (tried.proof.checks if tried.proof else ()) if _mark_of(c) == mark]
    if not same:
        return "", f"check {number} of the sheet is none of this repair as it was recorded: make those that are left"
    done = answer(tried, Checked(same[0].number, tried.repairs[-1].number, "ok"))
    return done.recorded, done.remark
