"""The job file: what is written is there, whatever happens in between."""

from __future__ import annotations

import errno
import fcntl
import os
import random
import resource
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests import as_on_windows
from tests.long import examples
from tracer.errors import JobFileError, ProblemsError
from tracer.job import file as job_file
from tracer.job.file import append, create, read, withdraw
from tracer.job.text import WITHDRAWN, Event, JobHeader

NOW = datetime(2026, 5, 4, 9, 30, 15, tzinfo=timezone(timedelta(hours=2)))
HEADER = JobHeader("harness/van.yaml", "0123456789abcdef" * 4, "Van 2009", "left tail lamp: dark when wet")
TOP = f"tracer job: 1\nharness: van.yaml\nharness fingerprint: {'a' * 64}\nvehicle: Van\ncomplaint: dark\n"
ROOT = Path(__file__).resolve().parents[2]

PLAYED = os.environ.get(as_on_windows.VARIABLE) == "windows"
LOCK: set[str] = set() if PLAYED else {".job.yaml.lock"}  # what stays; there it goes with the lock

APPENDER = """
import sys
from datetime import UTC, datetime
from tracer.job.file import append
path, label, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
for i in range(count):
    event = append(path, "reading", {"from": label, "count": i, "value": "12.4 V"}, datetime.now(UTC))
    print(event.number, flush=True)
"""


def appender(path: Path, label: str, count: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-c", APPENDER, str(path), label, str(count)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT, env=environment)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    create(path, HEADER)
    return path


def hidden(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if p.name.startswith(".")}


# ---- writing and reading back


def test_what_was_appended_is_read_back(job: Path) -> None:
    data = {"text": "on", "list": [1, 2.5, None, True], "map": {"reverse": "on"}, "n": "0123"}
    first = append(job, "symptom", data, NOW.replace(microsecond=99))
    second = append(job, "reading", {"value": "12.4 V", "note": "wet\n\n  and cold"}, NOW)
    assert first == Event(1, NOW, "symptom", data)
    record = read(job)
    assert (record.header, record.events) == (HEADER, (first, second))
    assert record.events[0].time.utcoffset() == timedelta(hours=2)


def test_file_reads_as_a_person_would_write_it(job: Path) -> None:
    data = {"test": "voltage at C1.3", "value": "0.3 Ω", "note": "first line\nsecond line"}
    append(job, "reading", data, NOW)
    assert job.read_text() == (
        "tracer job: 1\nharness: harness/van.yaml\nharness fingerprint: " + HEADER.fingerprint + "\n"
        "vehicle: Van 2009\ncomplaint: 'left tail lamp: dark when wet'\nevents:\n"
        "- number: 1\n  time: 2026-05-04T09:30:15+02:00\n  kind: reading\n  test: voltage at C1.3\n"
        "  value: 0.3 Ω\n  note: |-\n    first line\n    second line\n"
    )


def test_create_with_events(tmp_path: Path) -> None:
    events = (Event(1, NOW, "symptom", {"text": "dark"}), Event(2, NOW, "withdrawn", {"entry": 1}))
    record = create(tmp_path / "a.yaml", HEADER, events)
    assert record == read(tmp_path / "a.yaml")
    assert record.events == (replace(events[0], withdrawn=True), events[1])
    with pytest.raises(JobFileError, match="cannot follow 2"):
        create(tmp_path / "b.yaml", HEADER, [events[0], events[1], events[0]])
    assert not (tmp_path / "b.yaml").exists()


def test_create_refuses_to_overwrite(job: Path, tmp_path: Path) -> None:
    before = job.read_bytes()
    (tmp_path / "dangling").symlink_to(tmp_path / "nothing")
    for path in (job, tmp_path, tmp_path / "dangling"):
        with pytest.raises(JobFileError, match="exists already"):
            create(path, HEADER)
    assert job.read_bytes() == before


@pytest.mark.parametrize("header", [
    replace(HEADER, harness="/somewhere/van.yaml"),
    replace(HEADER, harness=""),
    replace(HEADER, fingerprint="12"),
])
def test_create_refuses_a_header_that_would_not_read(tmp_path: Path, header: JobHeader) -> None:
    with pytest.raises(JobFileError, match="cannot record this"):
        create(tmp_path / "job.yaml", header)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("data", [
    {"value": float("nan")}, {"value": {1, 2}}, {"value": NOW}, {"number": 7}, {"kind": "x"},
    {"bad": "\ud800"}, {"deep": eval("[" * 60 + "]" * 60)}, {"deeper": eval("[" * 90 + "]" * 90)},
])
def test_data_that_cannot_be_recorded(job: Path, data: dict[str, object]) -> None:
    before = job.read_bytes()
    with pytest.raises(JobFileError, match="cannot record") as caught:
        append(job, "reading", data, NOW)
    assert "\n" not in str(caught.value)
    assert job.read_bytes() == before


def test_kind_and_time_that_cannot_be_recorded(job: Path) -> None:
    with pytest.raises(JobFileError, match="cannot be empty"):
        append(job, "", {}, NOW)
    with pytest.raises(JobFileError, match="no zone"):
        append(job, "reading", {}, datetime(2026, 5, 4, 9, 30))
    loop: dict[str, object] = {}
    loop["itself"] = loop
    with pytest.raises(JobFileError, match="not plain data"):
        append(job, "reading", loop, NOW)


def test_time_in_the_hour_that_comes_twice(job: Path) -> None:
    berlin = ZoneInfo("Europe/Berlin")
    for fold in (0, 1):
        append(job, "reading", {}, datetime(2026, 10, 25, 2, 30, tzinfo=berlin, fold=fold))
    first, second = read(job).events
    assert second.time - first.time == timedelta(hours=1)


SIGNS = "0123456789.eE+-_:~#'\"\n\t\r []{}&*!|>%@`,?=<ontruefalsyNYxob\x85\u2028\ufeffΩ"
AWKWARD = st.text(st.sampled_from(SIGNS))
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text() | AWKWARD,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text() | AWKWARD, inner, max_size=4),
)
KEYS = (st.text() | AWKWARD).filter(lambda key: key not in ("number", "time", "kind"))


@settings(max_examples=examples(50, 300), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.dictionaries(KEYS, PLAIN, max_size=5), kind=(st.text(min_size=1) | AWKWARD).filter(bool))
@example(data={"note": "\n\xa0\nwet"}, kind="reading")  # a line of blanks that are no YAML blanks
def test_any_plain_data_survives(tmp_path: Path, data: dict[str, object], kind: str) -> None:
    path = tmp_path / "any.yaml"
    path.write_text(TOP + "events:\n")
    if kind == WITHDRAWN:
        return
    append(path, kind, data, NOW)
    append(path, "after", {}, NOW)
    assert repr(read(path).events[0]) == repr(Event(1, NOW, kind, data))


# ---- taking back


def test_withdraw_takes_back_the_last_living_event(job: Path) -> None:
    for kind in "abc":
        append(job, kind, {}, NOW)
    before = job.read_bytes()
    assert withdraw(job, NOW) == Event(3, NOW, "c", {}, withdrawn=True)
    assert withdraw(job, NOW).number == 2
    assert append(job, "d", {}, NOW).number == 6
    assert withdraw(job, NOW, number=1).kind == "a"
    record = read(job)
    assert [(e.number, e.kind, e.withdrawn) for e in record.events] == [
        (1, "a", True), (2, "b", True), (3, "c", True), (4, "withdrawn", False), (5, "withdrawn", False),
        (6, "d", False), (7, "withdrawn", False),
    ]
    assert [e.number for e in record.living] == [6]
    assert job.read_bytes().startswith(before)  # nothing is erased


def test_withdraw_what_cannot_be_taken_back(job: Path) -> None:
    with pytest.raises(JobFileError, match="nothing is left to take back"):
        withdraw(job, NOW)
    append(job, "a", {}, NOW)
    withdraw(job, NOW)
    before = job.read_bytes()
    with pytest.raises(JobFileError, match="nothing is left to take back"):
        withdraw(job, NOW)
    for number in (1, 2, 9, 0):  # taken back already, a taking back, not there, not there
        with pytest.raises(JobFileError, match=f"entry {number} is not there, or"):
            withdraw(job, NOW, number)
    assert job.read_bytes() == before


# ---- edited by hand


HAND = TOP.replace("vehicle: Van", "vehicle: Van  # the blue one") + """
events:   # from the workshop
  # first visit
  - {number: 1, time: 2026-05-04 09:30:15+02:00, kind: symptom, text: "tail lamp: dark"}

  - number: 3   # 2 was a slip
    time: 2026-05-04T08:00Z
    kind: reading
    position: on
    code: 0123
    at: 12:30
    value: >
      12.4 V
# the end"""


@pytest.mark.parametrize("ending", ["", "\n", "\n\n\n", "\n   # indented remark\n"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_hand_edits_and_comments_are_kept_byte_for_byte(tmp_path: Path, ending: str, newline: str) -> None:
    path = tmp_path / "hand.yaml"
    before = (HAND + ending).replace("\n", newline).encode()
    path.write_bytes(before)
    assert append(path, "reading", {"note": "a\nb"}, NOW).number == 4
    withdraw(path, NOW)
    after = path.read_bytes()
    assert after.startswith(before)
    assert (b"\r\n" in after) == (newline == "\r\n") and after.count(b"\r") in (0, after.count(b"\n"))
    one, three, four, five = read(path).events
    assert one.data == {"text": "tail lamp: dark"}
    assert three.data == {"position": "on", "code": "0123", "at": "12:30", "value": "12.4 V\n"}
    assert (four.data, four.withdrawn, five.data) == ({"note": "a\nb"}, True, {"entry": 4})


def test_file_is_yaml_for_other_programs(job: Path) -> None:
    append(job, "reading", {"position": "on", "value": "12.4 V"}, NOW)
    plain = yaml.safe_load(job.read_text())
    assert plain["tracer job"] == 1
    own = {"number": 1, "time": NOW, "kind": "reading"}
    assert plain["events"] == [{**own, "position": "on", "value": "12.4 V"}]


EVENT = "- number: 1\n  time: 2026-05-04T09:30:15+02:00\n  kind: reading\n"


@pytest.mark.parametrize(("text", "place", "message"), [
    (TOP + "events:\n" + EVENT + "  value: 12 V: wet\n", (10, 14), "mapping values are not allowed"),
    (TOP + "events:\n" + EVENT + "\tvalue: 12\n", (10, 1), "found"),  # the two loaders word it differently
    (TOP + "events:\n" + EVENT + "  value: 'wet\n", (10, 10), "end of stream"),
    (TOP + "events:\n" + EVENT + EVENT, (10, 11), "cannot follow 1"),
    (TOP + "events:\n" + EVENT.replace("1", "2", 1) + EVENT, (10, 11), "cannot follow 2"),
    (TOP + "events:\n" + EVENT.replace("number: 1", "number: one"), (7, 11), "“one” cannot follow 0"),
    (TOP + "events:\n" + EVENT + "  kind: again\n", (10, 3), "“kind” stands here twice"),
    (TOP + "events:\n" + EVENT + "- number: 2\n", (10, 3), "missing here: time, kind"),
    (TOP + "events:\n" + EVENT.replace("+02:00", ""), (8, 9), "not a time with a zone"),
    (TOP + "events:\n" + EVENT.replace("2026-05-04T09:30:15+02:00", "this morning"), (8, 9), "not a time"),
    (TOP + "events:\n" + EVENT.replace("reading", "withdrawn\n  entry: 1"), (7, 3), "takes back no living"),
    (TOP + "events:\n" + EVENT.replace("reading", "withdrawn\n  entry: [x]"), (7, 3), "takes back no living"),
    (TOP + "events:\n- just a remark\n", (7, 3), "“key: value” lines belong here"),
    (TOP + "events: none\n", (6, 9), "entries belong here"),
    (TOP, (1, 1), "missing here: events"),
    (TOP + "events:\ncomplain: x\n", (7, 11), "“complain” is not known here"),
    (TOP.replace("job: 1", "job: 0") + "events:\n", (1, 13), "“0” is not a format"),
    (TOP.replace("van.yaml", "/somewhere/van.yaml") + "events:\n", (2, 10), "relative"),
    (TOP.replace("aaaa", "zzzz") + "events:\n", (3, 22), "SHA-256"),
    (TOP + "events: &e [*e]\n", (6, 13), "aliases"),
    (TOP + "events: !!python/name:os.system\n", (6, 9), "tags"),
    (TOP + "events: " + "[" * 500 + "]" * 500, (6, 38), "deep nesting"),
    (TOP + "events:\n---\na: 1\n", (7, 1), "another document"),
    (TOP + "events:\n# \x07\n", (7, 3), "cannot be printed"),
    ("- a list\n", (1, 1), "“key: value” lines belong here"),
])
def test_error_in_the_file_has_its_place(
    tmp_path: Path, text: str, place: tuple[int, int], message: str
) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(text)
    with pytest.raises(ProblemsError) as caught:
        read(path)
    first = caught.value.problems[0]
    assert message in first.message
    assert (first.file, first.line, first.column) == (str(path), *place)
    assert all("\n" not in str(problem) for problem in caught.value.problems)
    with pytest.raises(ProblemsError):
        append(path, "reading", {}, NOW)
    assert path.read_text() == text


def test_syntax_error_has_a_hint_and_all_problems_are_told(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(TOP + "events:\n" + EVENT + "  value: 12 V: wet\n")
    with pytest.raises(ProblemsError) as caught:
        read(path)
    assert caught.value.problems[0].hint and "quotes" in caught.value.problems[0].hint
    path.write_text(TOP.replace("aaaa", "zzzz") + "events:\n- kind: x\n- number: 1\n")
    with pytest.raises(ProblemsError) as caught:
        read(path)
    assert [p.line for p in caught.value.problems] == [3, 7, 8]


def test_alias_bomb_is_refused_at_once(tmp_path: Path) -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * 9) + "]" for i in range(1, 12)]
    (tmp_path / "job.yaml").write_text(TOP + "events:\n" + "\n".join(lines))
    started = time.process_time()
    with pytest.raises(ProblemsError, match="aliases"):
        read(tmp_path / "job.yaml")
    assert time.process_time() - started < 1


@pytest.mark.parametrize(("content", "error", "message"), [
    (b"", JobFileError, "is empty"),
    (b"\n# nothing but a remark\n", JobFileError, "is empty"),
    (TOP.encode() + b"events:\n# \xe4\n", ProblemsError, ":7:3: this is not text in UTF-8"),
    ("tracer job: 1\n".encode("utf-16"), ProblemsError, "not text in UTF-8"),
    (b"#" * 20_000_001, JobFileError, "bigger than 20 MB"),
    (b"\x00" * 100, ProblemsError, "cannot be printed"),
])
def test_content_that_is_no_job_file(
    tmp_path: Path, content: bytes, error: type[Exception], message: str
) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(content)
    for use in (lambda: read(path), lambda: append(path, "x", {}, NOW), lambda: withdraw(path, NOW)):
        with pytest.raises(error, match=message) as caught:
            use()
        assert "\n" not in str(caught.value)
    assert path.read_bytes() == content


@pytest.mark.parametrize("text", [
    TOP.replace("job: 1", "job: 2") + "events:\n" + EVENT,
    TOP.replace("job: 1", "job: '2'  # new") + "things: &x {a: !new *x}\n",
    "tracer job: 2\nall: [different",
])
def test_newer_version_is_refused_and_left_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(text)
    inode = path.stat().st_ino
    for use in (lambda: read(path), lambda: append(path, "x", {}, NOW), lambda: withdraw(path, NOW)):
        with pytest.raises(JobFileError) as caught:
            use()
        assert str(caught.value) == (
            f"{path}: written by a newer tracer (format 2); this one knows format 1: nothing was changed"
        )
    assert (path.read_text(), path.stat().st_ino) == (text, inode)


@pytest.mark.parametrize("text", [
    TOP + "events: []\n",
    TOP + "events: [{number: 1, time: 2026-05-04T09:30:15Z, kind: x}]\n",
    "events:\n" + EVENT + TOP,
    TOP + "events:\n" + EVENT + "...\n",
    TOP + "events: ~\n",
    TOP + "events:\n" + EVENT + "  note: |\n    no line break at the end",
])
def test_nothing_can_be_added_below(tmp_path: Path, text: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(text)
    read(path)
    with pytest.raises((JobFileError, ProblemsError)) as caught:
        append(path, "x", {}, NOW)
    assert "\n" not in str(caught.value)
    assert path.read_text() == text


# ---- paths, links, permissions


def test_paths_that_are_wrong(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    os.mkfifo(tmp_path / "fifo")
    cases = {
        tmp_path / "none.yaml": "is not there", tmp_path / "no" / "job.yaml": "there is no folder",
        tmp_path: "is a folder", tmp_path / "fifo": "is a folder or a device",
        tmp_path / "file" / "x": "is not there", tmp_path / ("n" * 300): "is not there",
    }
    before = sorted(tmp_path.iterdir())
    for path, message in cases.items():
        for use in (lambda p: read(p), lambda p: append(p, "x", {}, NOW), lambda p: withdraw(p, NOW)):
            with pytest.raises(JobFileError, match=message) as caught:
                use(path)
            assert "\n" not in str(caught.value)
    with pytest.raises(JobFileError, match="there is no folder"):
        create(tmp_path / "no" / "job.yaml", HEADER)
    with pytest.raises(JobFileError, match="name too long"):
        create(tmp_path / ("n" * 300), HEADER)
    assert sorted(tmp_path.iterdir()) == before


def test_link_stays_a_link_and_both_names_share_a_lock(job: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.yaml"
    link.symlink_to("../job.yaml")
    append(link, "a", {}, NOW)
    append(job, "b", {}, NOW)
    assert link.is_symlink() and os.readlink(link) == "../job.yaml"
    assert read(link) == read(job) and len(read(job).events) == 2
    assert list((tmp_path / "elsewhere").iterdir()) == [link]


def test_permissions_are_kept(job: Path) -> None:
    job.chmod(0o640)
    append(job, "a", {}, NOW)
    assert stat.S_IMODE(job.stat().st_mode) == 0o640


def test_relative_path_in_the_current_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    create("job.yaml", HEADER)
    assert append("job.yaml", "a", {}, NOW) == read("job.yaml").events[0]


def test_left_over_temporary_file_goes_with_the_next_write(job: Path, tmp_path: Path) -> None:
    (tmp_path / ".job.yaml.tmp").write_text("half an ent")
    (tmp_path / ".other.yaml.tmp").write_text("not ours")
    assert read(job).events == ()
    append(job, "a", {}, NOW)
    assert hidden(tmp_path) == LOCK | {".other.yaml.tmp"}


# ---- the disk


@contextmanager
def small_disk(folder: Path) -> Iterator[Path]:
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=32k", "tmpfs", str(folder)]
    if os.geteuid() != 0 or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a small disk can only be mounted by root with the right to mount")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def test_disk_full(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        path = disk / "job.yaml"
        create(path, HEADER)
        before = path.read_bytes()
        with pytest.raises(JobFileError, match=r"cannot write .*: No space left on device; nothing"):
            for _ in range(1000):
                before = path.read_bytes()
                append(path, "reading", {"note": "x" * 1000}, NOW)
        assert path.read_bytes() == before
        assert 3 < len(read(path).events) < 32
        assert hidden(disk) == LOCK


def test_read_only_disk(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        path = disk / "job.yaml"
        create(path, HEADER)
        before = path.read_bytes()
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        with pytest.raises(JobFileError, match=r"read-only|Read-only"):
            append(path, "reading", {}, NOW)
        with pytest.raises(JobFileError, match="Read-only"):
            create(disk / "new.yaml", HEADER)
        assert read(path).events == () and path.read_bytes() == before


@pytest.mark.skipif(PLAYED, reason="the other program does not play, and locks otherwise")
def test_file_size_limit(job: Path) -> None:
    append(job, "a", {}, NOW)
    before = job.read_bytes()

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 50, len(before) + 50))

    script = (
        "import sys\nfrom datetime import UTC, datetime\nfrom tracer.errors import JobFileError\n"
        "from tracer.job.file import append\n"
        "try:\n    append(sys.argv[1], 'reading', {'note': 'x' * 100}, datetime.now(UTC))\n"
        "except JobFileError as error:\n    print(error)\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script, str(job)], capture_output=True, text=True, check=True, cwd=ROOT,
        preexec_fn=limit, env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert result.stdout == f"cannot write {job}: File too large; nothing was changed\n"
    assert job.read_bytes() == before
    assert hidden(job.parent) == LOCK


def test_read_only_folder(job: Path, tmp_path: Path) -> None:
    append(job, "a", {}, NOW)
    before = job.read_bytes()
    if os.geteuid() != 0:
        protect, release = ["chmod", "555"], ["chmod", "755"]
    else:  # permission bits do not bind root; the immutable attribute does
        protect, release = ["chattr", "+i"], ["chattr", "-i"]
    if subprocess.run([*protect, str(tmp_path)], capture_output=True, check=False).returncode:
        pytest.skip("this file system has no immutable folders, and permissions do not bind root")
    try:
        with pytest.raises(JobFileError, match=r"cannot (write|lock) .*(Operation not permitted|Permission denied)"):
            append(job, "b", {}, NOW)
        with pytest.raises(JobFileError, match=r"cannot lock .*(Operation not permitted|Permission denied)"):
            create(tmp_path / "new.yaml", HEADER)
        assert job.read_bytes() == before and len(read(job).events) == 1
    finally:
        subprocess.run([*release, str(tmp_path)], check=True)


def test_read_only_file(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job.chmod(0o444)
    if os.geteuid() == 0:  # root may write anything: only the answer of the system is stood in for
        monkeypatch.setattr(os, "access", lambda path, mode: False)
    with pytest.raises(JobFileError, match="the file is read-only; nothing was changed"):
        append(job, "a", {}, NOW)


def test_failing_disk(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(handle: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    before = job.read_bytes()
    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(JobFileError, match="Input/output error; nothing was changed"):
        append(job, "a", {}, NOW)
    assert job.read_bytes() == before and hidden(job.parent) == LOCK


def test_content_is_on_the_disk_before_the_name(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    fsync, rename = os.fsync, os.replace

    def noted_fsync(handle: int) -> None:
        about = os.fstat(handle)
        done.append("folder" if stat.S_ISDIR(about.st_mode) else f"file of {about.st_size}")
        fsync(handle)

    def noted_replace(old: Path, new: Path) -> None:
        done.append(f"replace {new.name}")
        rename(old, new)

    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(os, "replace", noted_replace)
    append(job, "a", {}, NOW)
    assert done == [f"file of {job.stat().st_size}", "replace job.yaml", "folder"]


# ---- two programs at once, and interruptions


@pytest.mark.skipif(PLAYED, reason="locks are files of their own there")
def test_lock_held_by_another(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(job_file, "LOCK_WAIT_S", 0.2)
    before = job.read_bytes()
    with open(job.parent / ".job.yaml.lock") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        started = time.perf_counter()
        with pytest.raises(JobFileError, match="in use by another program; nothing was changed"):
            append(job, "a", {}, NOW)
        assert 0.2 <= time.perf_counter() - started < 5
        assert read(job).events == ()  # reading does not wait
    assert job.read_bytes() == before
    assert append(job, "a", {}, NOW).number == 1


def test_two_writers_lose_nothing(job: Path) -> None:
    writers = [appender(job, label, 50) for label in ("one", "two")]
    answers = [writer.communicate(timeout=120)[0].split()[1:] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0]
    events = read(job).events
    assert [e.number for e in events] == list(range(1, 101))
    for label, numbers in zip(("one", "two"), answers, strict=True):
        own = [e for e in events if e.data["from"] == label]
        assert [e.data["count"] for e in own] == list(range(50))
        assert [e.number for e in own] == [int(n) for n in numbers]


def kill_while_appending(path: Path, kills: int, seed: int) -> dict[str, int]:
    """Kill a program that appends without end, `kills` times, and check the file after each."""
    chance = random.Random(seed)
    told: dict[int, tuple[str, int]] = {}
    seen = {"kills": kills, "acknowledged": 0, "written, not acknowledged": 0, "temporary files left": 0}
    present = len(read(path).events)
    for run in range(kills):
        program = appender(path, f"run {run}", 10**6)
        assert program.stdout is not None
        assert program.stdout.readline() == b"ready\n"
        first = program.stdout.readline()
        time.sleep(chance.uniform(0, 0.06))
        program.send_signal(signal.SIGKILL)
        lines = (first + program.stdout.read()).split(b"\n")[:-1]
        program.stdout.close()
        assert program.wait() == -signal.SIGKILL
        told.update({int(number): (f"run {run}", count) for count, number in enumerate(lines)})
        events = read(path).events
        assert [e.number for e in events] == list(range(1, len(events) + 1))
        assert present + len(lines) <= len(events) <= present + len(lines) + 1
        found = {e.number: (e.data["from"], e.data["count"]) for e in events}
        assert all(found[number] == what for number, what in told.items())
        seen["written, not acknowledged"] += len(events) - present - len(lines)
        seen["temporary files left"] += (path.parent / f".{path.name}.tmp").exists()
        present = len(events)
    seen["acknowledged"] = len(told)
    append(path, "after", {}, NOW)
    assert not (path.parent / f".{path.name}.tmp").exists()
    return seen


@pytest.mark.skipif(PLAYED, reason="the other program does not play, and locks otherwise")
@pytest.mark.parametrize(("kills", "seed"), [(12, 2), pytest.param(40, 1, marks=pytest.mark.long)])
def test_killed_at_random_moments(job: Path, kills: int, seed: int) -> None:
    seen = kill_while_appending(job, kills, seed)
    print(seen)
    assert seen["acknowledged"] >= kills


def test_a_thousand_events(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    state = {"ignition": "on", "gear": "reverse"}
    data = {"test": "voltage at C1.3 against earth", "value": "12.4 V", "state": state}
    create(path, HEADER, [Event(number, NOW, "reading", data) for number in range(1, 1001)])
    moments = [time.process_time()]
    append(path, "reading", data, datetime.now(UTC))
    moments.append(time.process_time())
    assert len(read(path).events) == 1001
    moments.append(time.process_time())
    print(f"1000 events: append {moments[1] - moments[0]:.3f} s, read {moments[2] - moments[1]:.3f} s")
    assert moments[2] - moments[0] < 5
