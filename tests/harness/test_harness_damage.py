"""Files that are no harness, or a damaged one: refused at once, with a line each, and nothing escapes.

Times are of the processor: on a busy machine the clock on the wall says nothing about the reader.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.harness.test_harness_text import MODEL_FILES, SMALL
from tests.long import examples
from tracer.errors import ProblemsError, TracerError
from tracer.harness.devices import Conductor
from tracer.harness.file.nodes import MAX_BYTES, MAX_PROBLEMS
from tracer.harness.file.starter import starter_text
from tracer.harness.file.text import dump_harness, load_harness, read_harness

# --- files that are no harness ------------------------------------------------------------------


def _error(path: Path) -> str:
    with pytest.raises(ProblemsError) as caught:
        load_harness(path)
    return str(caught.value).replace(str(path), "F")


def test_byte_order_mark_is_accepted(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    assert load_harness(path) == read_harness(SMALL)


def test_tabs_in_comments_are_accepted() -> None:
    assert read_harness("#\ta\tb\n" + SMALL + "# \tend\n") == read_harness(SMALL)


@pytest.mark.parametrize("path", MODEL_FILES, ids=lambda p: p.stem)
def test_slow_parser_reads_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where PyYAML was built without its C library."""
    expected = load_harness(path)
    monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    harness = load_harness(path)
    assert harness == expected
    assert [w.mark for w in harness.wires] == [w.mark for w in expected.wires]


def test_windows_line_ends_are_accepted() -> None:
    assert read_harness(SMALL.replace("\n", "\r\n")) == read_harness(SMALL)


def test_missing_file_suggests_a_neighbour(tmp_path: Path) -> None:
    (tmp_path / "pickup.yaml").touch()
    assert _error(tmp_path / "pikcup.yaml").endswith("no such file (did you mean “pickup.yaml”?)")
    assert _error(tmp_path / "pickup.yaml" / "x") == "F: no such file"


def test_directory_and_pipe_are_no_files(tmp_path: Path) -> None:
    assert _error(tmp_path) == "F: is a directory (give the harness file itself)"
    os.mkfifo(tmp_path / "pipe")
    assert _error(tmp_path / "pipe") == "F: is not a file"
    assert _error(tmp_path / ("x" * 300)).startswith("F: cannot be read: ")


def test_fifty_megabytes_are_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    start = time.process_time()
    assert _error(path) == "F: is too large: 50.0 MB (a harness file has at most 5 MB)"
    assert time.process_time() - start < 0.5
    with pytest.raises(ProblemsError, match="is too large"):
        read_harness("#" * (MAX_BYTES + 1))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"harness: a\nusual: {size: 1 mm\xb2}\n",
         "F:2:19: byte 0xB2 is not UTF-8 (save the file as UTF-8; in Latin-1 it would be “²”)"),
        ("é: \n".encode() + b"\xff",
         "F:2:1: byte 0xFF is not UTF-8 (save the file as UTF-8; in Latin-1 it would be “ÿ”)"),
        (b"\nx\xff", "F:2:2: byte 0xFF is not UTF-8 (save the file as UTF-8; in Latin-1 it would be “ÿ”)"),
        ("harness: a".encode("utf-16"), "F:1:1: is not UTF-8 but UTF-16 (save it as UTF-8)"),
        (b"", "F: is empty (a harness file begins with “harness: ” and a title)"),
    ],
    ids=["latin-1", "second line", "below an empty line", "utf-16", "empty"],
)
def test_bytes_that_are_no_text(tmp_path: Path, data: bytes, message: str) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(data)
    assert _error(path) == message


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000, "[" * 1_000_000, "{a: " * 300_000, "- " * 1_000_000,
        "\n".join(" " * i + "a:" for i in range(2000)), "wires:\n" + "  - x\n" * 700_000,
        "x: &a [y, y]\n" + "\n".join(f"a{i}: &b{i} [*a, *a]" for i in range(50)), "? " * 100_000,
        "a: " + "'" * 1_000_001, "harness: x\n" * 200_000, "a:\n" * 200_000, "&" * 100_000, "%" * 100_000,
        "harness: " + "9" * 1_000_000 + "\nsystem: " + "9" * 1_000_000 + " V negative earth\n",
    ],
    ids=lambda t: f"{t[:8]!r} × {len(t)}",
)
def test_bombs_die_at_once(text: str) -> None:
    start = time.process_time()
    with pytest.raises(ProblemsError) as caught:
        read_harness(text)
    assert time.process_time() - start < 2.0
    assert len(caught.value.problems) <= MAX_PROBLEMS + 1
    assert all(len(str(p)) < 400 and "\n" not in str(p) for p in caught.value.problems)


def test_many_problems_stop_the_reading() -> None:
    text = SMALL + "  - {run: F1.uot > E1}\n" * 5000
    start = time.process_time()
    with pytest.raises(ProblemsError) as caught:
        read_harness(text)
    assert time.process_time() - start < 2.0
    assert caught.value.problems[-1].message == "reading stopped here: too many problems"


def test_a_thousand_wires_are_read_quickly() -> None:
    text = SMALL + "  - {run: light switch.58 > C1.3 > left rear.tail, colour: GNBK}\n" * 1000
    start = time.process_time()
    assert sum(isinstance(d, Conductor) for d in read_harness(text).devices()) == 2007
    assert time.process_time() - start < 2.0


# --- mutations ----------------------------------------------------------------------------------

_TEXTS = [p.read_text(encoding="utf-8") for p in MODEL_FILES] + [starter_text()]
_PIECES = st.sampled_from(
    [*"{}[]:,>.'\"&*!%@`|?-#\t\n \0\u2028=/+", "9e999", "- ", ": ", "{}", "[]", "''", "~", "null", "1 m", "C1.", "é²",
     "body", "none", "kind: lamp", "---\n", "-1 A", "\ud800", "\U0001f697"]
)


@st.composite
def _mutated(draw: st.DrawFn) -> str:
    text = draw(st.sampled_from(_TEXTS))
    for _ in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            lines = text.split("\n")
            i, j = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
            what = draw(st.sampled_from(["delete", "duplicate", "swap", "copy", "indent"]))
            if what == "delete":
                del lines[i]
            elif what == "duplicate":
                lines.insert(i, lines[i])
            elif what == "swap":
                lines[i], lines[j] = lines[j], lines[i]
            elif what == "copy":
                lines[i] = lines[j]
            else:
                lines[i] = " " * draw(st.integers(1, 5)) + lines[i].lstrip()
            text = "\n".join(lines)
        else:
            at = draw(st.integers(0, max(len(text) - 1, 0)))
            width = draw(st.integers(0, 6))
            text = text[:at] + draw(_PIECES) + text[at + width :]
    return text


@settings(max_examples=examples(100, 250))
@given(_mutated())
@example(_TEXTS[0].replace("8 A", "0 A"))
@example(_TEXTS[0].replace("47 W", "0 W"))
@example(_TEXTS[0].replace("P21W", "0 W"))
@example(_TEXTS[0].replace("12 V", "0 V"))
def test_a_damaged_file_reads_or_says_why(text: str) -> None:
    """Only TracerError escapes, quickly, one line for each problem; what is read reads back equal."""
    start = time.process_time()
    try:
        harness = read_harness(text, "damaged.yaml")
    except TracerError as error:
        assert isinstance(error, ProblemsError) and error.problems
        assert all(p.file == "damaged.yaml" and "\n" not in str(p) for p in error.problems)
    else:
        assert read_harness(dump_harness(harness)) == harness
    assert time.process_time() - start < 2.0
