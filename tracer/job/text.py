"""What a job file says: its header and its entries as values, and the YAML they are written in."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from functools import lru_cache
from typing import Any, Final, cast

import yaml
from msgspec import Struct, field
from msgspec.structs import astuple, replace
from yaml import MappingNode, Node, ScalarNode, SequenceNode
from yaml.reader import Reader

from tracer.errors import JobFileError, Mark, Problem, ProblemsError, did_you_mean

FORMAT: Final = 1
MAX_BYTES: Final = 20_000_000
WITHDRAWN: Final = "withdrawn"  # the only kind known here: its `entry` is the number taken back
_OWN_KEYS: Final = ("number", "time", "kind")
_HEADER_KEYS: Final = ("tracer job", "harness", "harness fingerprint", "vehicle", "complaint", "events")
_MAX_DEPTH: Final = 30
_LINE: Final = re.compile("^(?=.)", re.MULTILINE)  # the start of a line that is not empty
# One that takes all for text: what a scalar means is said below.
_LOADER: Final[Any] = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
# What an unquoted scalar means. Narrower than what the YAML writer puts in quotes, so that a text never
# comes back as something else; "on", "0123", "12:30" and dates stay the texts that were written.
_SCALARS: Final[tuple[tuple[re.Pattern[str], Callable[[str], Any]], ...]] = (
    (re.compile(r"~|null|Null|NULL|"), lambda text: None),
    (re.compile(r"true|True|TRUE|false|False|FALSE"), lambda text: text.lower() == "true"),
    (re.compile(r"[-+]?(?:0|[1-9][0-9]{0,999})"), int),
    (re.compile(r"[-+]?[0-9]+\.[0-9]*(?:[eE][-+][0-9]+)?|\.[0-9]+(?:[eE][-+][0-9]+)?"), float),
)


class JobHeader(Struct, frozen=True):
    """The harness (path relative to the job file's folder, SHA-256 of its content), vehicle, complaint."""

    harness: str
    fingerprint: str
    vehicle: str = ""
    complaint: str = ""


class Event(Struct, frozen=True):
    """One entry of the log. `withdrawn` tells that a later entry took it back."""

    number: int
    time: datetime
    kind: str
    data: Mapping[str, Any] = field(default_factory=dict)
    withdrawn: bool = False


class JobRecord(Struct, frozen=True):
    """All that a job file says; `events` in the order written, those taken back included."""

    header: JobHeader
    events: tuple[Event, ...]

    @property
    def living(self) -> tuple[Event, ...]:
        """The events that count: neither taken back nor themselves a taking back."""
        return tuple(e for e in self.events if not e.withdrawn and e.kind != WITHDRAWN)

    def checks_of(self, repair: Event) -> dict[int, bool | None]:
        """The proof checks asked for by a repair, and others recorded since, with the latest result of each: whether
        it was as expected, None for not yet taken."""
        asked = repair.data.get("checks")
        checks: dict[int, bool | None] = {int(c["number"]): None for c in asked} if isinstance(asked, list) else {}
        checks |= {int(e.data["check"]): bool(e.data["good"]) for e in self.living
                   if e.kind == "proof" and e.number > repair.number}
        return checks


def parse(content: bytes, shown: str) -> JobRecord:
    """What a file of this content says; `shown`: its name in messages.

    Raises:
        JobFileError: Empty, too big, or written by a newer format.
        ProblemsError: Something in it is wrong: every problem found, with line and column.
    """
    return _added.get((content, shown)) or _parse(content, shown)[0]


def place_of(path: str | os.PathLike[str], shown: str, number: int, where: Sequence[str | int]) -> Mark | None:
    """Where in a job file something of an entry stands: the entry with this number, and the keys and places in lists
    that lead there. What is not there is placed where it would belong."""
    with open(path, "rb") as file:
        root = _parse(file.read(MAX_BYTES + 1), shown)[1]
    listed = next((v for k, v in root.value if k.value == "events"), None)
    found: Any = next((
        entry for entry in getattr(listed, "value", ())
        if any(k.value == "number" and v.value == str(number) for k, v in entry.value)
    ), None)
    if found is None:
        return None
    mark = found.start_mark
    for step in where:
        if isinstance(step, int):
            found = found.value[step]
            mark = found.start_mark
            continue
        key, found = next(((k, v) for k, v in found.value if k.value == step), (None, found))
        if key is None:
            break
        mark = key.start_mark
    return Mark(shown, mark.line + 1, mark.column + 1)


def new_content(header: JobHeader, events: Sequence[Event]) -> bytes:
    """The content of a new job file."""
    top = dict(zip(_HEADER_KEYS[:-1], (FORMAT, *astuple(header)), strict=True))
    return (_dump(top) + "events:\n" + "".join(map(_entry, events))).encode()


def margin_at_end(content: bytes, shown: str) -> str:
    """The spaces that stand before an entry added at the end.

    Raises:
        JobFileError, ProblemsError: As `parse`; or nothing can be added there.
    """
    root = _parse(content, shown)[1]
    key, last = root.value[-1]
    block = isinstance(last, SequenceNode) and not last.flow_style
    if key.value != "events" or not (block or last.value == ""):
        hint = "`events:` must be the last section, one entry below the other, each starting with “- ”"
        raise ProblemsError([_problem(shown, last, "no entry can be added at the end of this", hint)])
    return " " * (last if block else root).start_mark.column


def with_entries(content: bytes, margin: str, events: Sequence[Event]) -> bytes:
    """The content with entries added, what stands there already byte for byte."""
    newline = "\r\n" if b"\r\n" in content else "\n"
    new = content if content.endswith(b"\n") else content + newline.encode()
    return new + re.sub(_LINE, margin, "".join(map(_entry, events))).replace("\n", newline).encode()


def clean(event: Event) -> Event:
    """The event as it can be recorded: plain data, and a time with a zone in whole seconds."""
    if event.time.utcoffset() is None:
        raise JobFileError("cannot record an event whose time has no zone")
    if taken := [key for key in _OWN_KEYS if key in event.data]:
        raise JobFileError(f"cannot record “{event.kind}” with a “{taken[0]}”: a key of the job file itself")
    try:
        data = json.loads(json.dumps(dict(event.data), allow_nan=False, ensure_ascii=False).encode())
    except (TypeError, ValueError, RecursionError) as error:
        raise JobFileError(f"cannot record what is not plain data: {error}") from error
    return replace(event, time=datetime.fromisoformat(event.time.isoformat(timespec="seconds")), data=data)


def checked(content: bytes, shown: str, header: JobHeader, events: Sequence[Event]) -> JobRecord:
    """Read what is about to be written: it must say what was meant, neither more nor less."""
    try:
        record = parse(content, shown)
    except ProblemsError as error:
        raise JobFileError(f"cannot record this in {shown}: {error.problems[0].message}") from error
    if record.header != header or _as_added(record.events) != _as_added(events):
        raise JobFileError(f"cannot record this in {shown}: it would not read back the same",
                           "a file edited by hand must end with the last entry and a line break")
    return record


def checked_at_end(old: bytes, new: bytes, shown: str, events: Sequence[Event]) -> JobRecord:
    """As `checked`, of `events` that were added to what was read as `old`: nothing above its last entry is read
    otherwise by what stands below that, so that only from there on it is read again."""
    before, root = _parse(old, shown)
    record = _with_tail(before, root, new, shown, events)
    if record is None:  # something is unusual: then all of it is read
        return checked(new, shown, before.header, [*before.events, *events])
    _added.clear()
    _added[new, shown] = record
    return record


def _with_tail(
    before: JobRecord, root: MappingNode, new: bytes, shown: str, events: Sequence[Event]
) -> JobRecord | None:
    """What is said by a file that was read as `before`, with what was added read together with its last entry; None
    where that is not just the `events` meant."""
    text, listed = new.decode(errors="surrogateescape"), next(v for k, v in root.value if k.value == "events")
    if not before.events or len(new) > MAX_BYTES or Reader.NON_PRINTABLE.search(text):
        return None
    last, begins = before.events[-1], listed.value[-1].start_mark.index
    line = text.rfind("\n", 0, begins) + 1
    if text[line:begins] != " " * listed.start_mark.column + "- ":
        return None
    tail = " " * root.start_mark.column + "events:\n" + text[line:]
    earlier = {e.number: e for e in before.events[:-1]}
    if last.kind == WITHDRAWN:
        earlier[last.data["entry"]] = replace(earlier[last.data["entry"]], withdrawn=False)
    reader = _Reader(shown)
    try:
        _check_stream(tail, shown)
        (_, entries), = cast(MappingNode, yaml.compose(tail, Loader=_LOADER)).value
        for node in entries.value:
            reader.event(node, earlier)
    except (yaml.YAMLError, ProblemsError, ValueError):  # the last: more than one section
        return None
    found = tuple(earlier.values())
    if reader.problems or _as_added(found[len(before.events) - 1:]) != _as_added([last, *events]):
        return None
    return JobRecord(before.header, found)


def _as_added(events: Sequence[Event]) -> list[Event]:
    """Entries as they were when they were added: a later one takes them back."""
    return [replace(e, withdrawn=False) for e in events]


class _Dumper(yaml.SafeDumper):
    def represent_scalar(self, tag: str, value: Any, style: str | None = None) -> ScalarNode:
        """Show several lines as they are, but quote what a line added below by hand would change."""
        if re.search("[\n\x85\u2028\u2029]", value):
            style = '"' if re.search("[\x85\u2028\u2029]|\n$", value) else "|"
        return super().represent_scalar(tag, value, style)


def _dump(data: Mapping[str, Any]) -> str:
    return str(yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100))


def _entry(event: Event) -> str:
    rest = re.sub(_LINE, "  ", _dump({"kind": event.kind, **event.data}))
    return f"- number: {event.number}\n  time: {event.time.isoformat()}\n{rest}"


def _problem(shown: str, node: Any, message: str, hint: str | None = None) -> Problem:
    mark = getattr(node, "start_mark", node)
    return Problem(message, hint, shown, mark.line + 1, mark.column + 1)


_added: dict[tuple[bytes, str], JobRecord] = {}  # the file that was added to last, which is read again from the disk


@lru_cache(maxsize=2)  # what was read, then written: a command asks for both again
def _parse(content: bytes, shown: str) -> tuple[JobRecord, MappingNode]:
    if len(content) > MAX_BYTES:
        raise JobFileError(f"{shown}: a job file cannot be bigger than {MAX_BYTES // 1_000_000} MB")
    text = content.decode(errors="surrogateescape")
    if (bad := Reader.NON_PRINTABLE.search(text)) is not None:
        before = text[: bad.start()]
        what = "is not text in UTF-8" if "\udc80" <= bad[0] <= "\udcff" else "cannot be printed"
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        raise ProblemsError([Problem(f"this {what}", "save the file as UTF-8 text", shown, line, column)])
    try:
        _check_stream(text, shown)
        root = yaml.compose(text, Loader=_LOADER)
    except yaml.MarkedYAMLError as error:
        message = ": ".join(part for part in (error.context, error.problem) if part)
        hint = "indent by spaces as in the entry before; put a text with “: ” in it in quotes"
        mark = error.context_mark if "end of stream" in message else error.problem_mark
        raise ProblemsError([_problem(shown, mark or error.context_mark, message, hint)]) from error
    if root is None:
        raise JobFileError(f"{shown} is empty")
    reader = _Reader(shown)
    record = reader.record(root)
    if reader.problems:
        raise ProblemsError(reader.problems)
    return record, cast(MappingNode, root)


def _check_stream(text: str, shown: str) -> None:
    """Refuse a newer format before all else, and what a job file does not need of YAML."""
    depth, before = 0, ""
    for event in yaml.parse(text, Loader=_LOADER):
        value = str(getattr(event, "value", ""))
        newer = re.fullmatch("0*([1-9][0-9]{0,8})", value) if before == "tracer job" and depth == 1 else None
        if newer and int(newer[1]) > FORMAT:
            raise JobFileError(f"{shown}: written by a newer tracer (format {newer[1]}); "
                               f"this one knows format {FORMAT}: nothing was changed")
        before = value
        depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "tag", None) or depth > _MAX_DEPTH:
            message = "aliases (*), tags (!) and deep nesting have no place in a job file"
            raise ProblemsError([_problem(shown, event, message, "write it as plain or quoted text")])


@lru_cache(maxsize=4096)
def _meant(text: str) -> Any:
    """What an unquoted scalar means; in a job the same ones stand in every entry."""
    return next((make(text) for form, make in _SCALARS if form.fullmatch(text)), text)


class _Reader(Struct):
    """Turns the nodes of one file into a record, and gathers what is wrong with them."""

    shown: str
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, node: Node, message: str, hint: str | None = None) -> None:
        self.problems.append(_problem(self.shown, node, message, hint))

    def mapping(self, node: Node, needed: tuple[str, ...] = ()) -> dict[str, Node]:
        found: dict[str, Node] = {}
        if not isinstance(node, MappingNode):
            self.wrong(node, "“key: value” lines belong here")
            return found
        for key, value in node.value:
            name = self.text(key)
            if name in found:
                self.wrong(key, f"“{name}” stands here twice")
            found[name] = value
        if missing := [key for key in needed if key not in found]:
            self.wrong(node, "missing here: " + ", ".join(missing))
        return found

    def text(self, node: Node | None) -> str:
        if node is not None and not isinstance(node, ScalarNode):
            self.wrong(node, "a text or number belongs here")
        return str(node.value) if isinstance(node, ScalarNode) and self.value(node) is not None else ""

    def value(self, node: Node) -> Any:
        if isinstance(node, MappingNode):
            return {key: self.value(value) for key, value in self.mapping(node).items()}
        if isinstance(node, SequenceNode):
            return [self.value(item) for item in node.value]
        text = str(node.value)
        return text if cast(ScalarNode, node).style else _meant(text)

    def record(self, root: Node) -> JobRecord:
        top = self.mapping(root, _HEADER_KEYS)
        for key in [key for key in top if key not in _HEADER_KEYS]:
            self.wrong(top[key], f"“{key}” is not known here", did_you_mean(key, _HEADER_KEYS))
        version, *header = (self.text(top.get(key)) for key in _HEADER_KEYS[:-1])
        if "tracer job" in top and version != str(FORMAT):
            self.wrong(top["tracer job"], f"“{version}” is not a format of job files: {FORMAT} is")
        if "harness" in top and (not header[0] or os.path.isabs(header[0])):
            self.wrong(top["harness"], "the harness is a path relative to the folder of the job file")
        if "harness fingerprint" in top and not re.fullmatch("[0-9a-fA-F]{64}", header[1]):
            self.wrong(top["harness fingerprint"], "this is not a SHA-256 in 64 hexadecimal digits")
        listed = top.get("events")
        events: dict[int, Event] = {}
        if isinstance(listed, SequenceNode):
            for node in listed.value:
                self.event(node, events)
        elif listed is not None and self.text(listed):
            self.wrong(listed, "entries belong here, each starting with “- ”")
        return JobRecord(JobHeader(*header), tuple(events.values()))

    def event(self, node: Node, events: dict[int, Event]) -> None:
        keys = self.mapping(node, _OWN_KEYS)
        if not all(key in keys for key in _OWN_KEYS):
            return
        number, time, kind = self.value(keys["number"]), self.time(keys["time"]), self.text(keys["kind"])
        data = {key: self.value(value) for key, value in keys.items() if key not in _OWN_KEYS}
        last = next(reversed(events), 0)
        if type(number) is not int or number <= last:
            self.wrong(keys["number"], f"“{number}” cannot follow {last}", "each number once, rising")
            return
        if not kind:
            self.wrong(keys["kind"], "the kind of an entry cannot be empty")
        if kind == WITHDRAWN:
            target = events.get(data["entry"]) if type(data.get("entry")) is int else None
            if target is None or target.withdrawn or target.kind == WITHDRAWN:
                self.wrong(node, "this takes back no living entry", "`entry:` is the number of one before")
            else:
                events[target.number] = replace(target, withdrawn=True)
        events[number] = Event(number, time, kind, data)

    def time(self, node: Node) -> datetime:
        with suppress(ValueError):
            if (time := datetime.fromisoformat(self.text(node))).utcoffset() is not None:
                return time
        self.wrong(node, "this is not a time with a zone", "such as 2026-11-25T09:00:53+01:00")
        return datetime.min
