"""YAML text to a tree of nodes that know where they were written.

No objects are constructed: every scalar stays the text that was typed, so that `on`, `no` and
`1.0` mean themselves. The tree is built from the parser's events without recursion, hence a
file cannot exhaust the stack; aliases, which could make a small file a huge tree, are refused.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Any, Final

import yaml
from msgspec import Struct, field

from tracer.errors import Mark, Problem, ProblemsError, nearest

MAX_BYTES: Final = 5_000_000  # a harness of a thousand wires is a tenth of a megabyte
MAX_DEPTH: Final = 12  # the format itself needs five
MAX_NODES: Final = 100_000  # a wire takes about ten
MAX_PROBLEMS: Final = 100

# A NUL or an escape character means that the file is damaged. The exotic line ends that YAML allows
# are refused as well: editors do not count them, so every line number after them would be wrong.
# Named one by one: the expression of what is allowed takes ten times as long to compile.
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")
# Outside of comments: which tabs are allowed differs from one YAML program to the next.
_TAB = re.compile(r"^([^#\n\t]*)\t", re.MULTILINE)


class TextNode(Struct, frozen=True):
    """A scalar. `inline`: its characters stand one by one in the file from `mark` on."""

    text: str
    mark: Mark
    inline: bool = True

    def mark_at(self, offset: int) -> Mark:
        """The place of the character at `offset`, or of the scalar where that is unknown."""
        if not self.inline:
            return self.mark
        return Mark(self.mark.file, self.mark.line, self.mark.column + offset)


class ListNode(Struct, frozen=True):
    """A sequence."""

    mark: Mark
    items: list[Node] = field(default_factory=list)


class TableNode(Struct, frozen=True):
    """A mapping; keys are tidied (outer and repeated spaces dropped) and occur once."""

    mark: Mark
    entries: dict[str, tuple[TextNode, Node]] = field(default_factory=dict)


Node = TextNode | ListNode | TableNode


class Notes:
    """Collects problems, so that all of a file's errors are told at once."""

    def __init__(self, most: int = MAX_PROBLEMS) -> None:
        self.problems: list[Problem] = []
        self.most = most

    def add(self, mark: Mark | None, message: str, hint: str | None = None) -> None:
        self.problems.append(Problem.at(mark, message, hint))
        if len(self.problems) >= self.most:
            self.problems.append(Problem("reading stopped here: too many problems", file=mark.file if mark else None))
            self.raise_if_any()

    def raise_if_any(self) -> None:
        if not self.problems:
            return
        # In the order of the file; what has no line of its own comes last.
        order = sorted(self.problems, key=lambda p: (p.file or "", p.line or 10**9, p.column or 0))
        raise ProblemsError(dict.fromkeys(order))


def tidy(text: str) -> str:
    """The text without outer and repeated spaces: names that look alike are alike."""
    return " ".join(text.split())


def clip(text: str, size: int = 60) -> str:
    """The text, cut to what fits into a message of one line."""
    text = tidy(text)
    return text if len(text) <= size else text[: size - 1] + "…"


def _fail(file: str, message: str, hint: str | None = None, mark: Mark | None = None) -> ProblemsError:
    if mark is None:
        return ProblemsError([Problem(message, hint, file)])
    return ProblemsError([Problem.at(mark, message, hint)])


def read_text_file(path: str | os.PathLike[str]) -> str:
    """The text of a file that is small, there, and UTF-8.

    Raises:
        ProblemsError: It is not; with the line of the first byte that is no UTF-8.
    """
    file, target = str(path), Path(path)
    try:
        info = target.stat()
        if stat.S_ISDIR(info.st_mode):
            raise _fail(file, "is a directory", "give the harness file itself")
        if not stat.S_ISREG(info.st_mode):
            raise _fail(file, "is not a file")
        if info.st_size > MAX_BYTES:
            raise _fail(file, f"is too large: {info.st_size / 1e6:.1f} MB",
                        f"a harness file has at most {MAX_BYTES // 1_000_000} MB")
        with target.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise _fail(file, "no such file", _sibling(target)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _fail(file, f"cannot be read: {reason.lower()}") from None
    return _decode(data, file)


def _sibling(target: Path) -> str | None:
    try:
        names = [p.name for p in target.parent.iterdir() if p.suffix in (".yaml", ".yml")]
    except OSError:
        return None
    close = nearest(target.name, names, 1)
    return f"did you mean “{close[0]}”?" if close else None


def _decode(data: bytes, file: str) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _fail(file, "is not UTF-8 but UTF-16", "save it as UTF-8", Mark(file, 1, 1))
    data = data.removeprefix(b"\xef\xbb\xbf")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        start = data.rfind(b"\n", 0, error.start) + 1
        mark = Mark(file, data.count(b"\n", 0, error.start) + 1,
                    len(data[start : error.start].decode("utf-8", "replace")) + 1)
        byte = data[error.start]
        likely = bytes([byte]).decode("latin-1")
        guess = f"; in Latin-1 it would be “{likely}”" if likely.isprintable() else ""
        raise _fail(file, f"byte 0x{byte:02X} is not UTF-8", f"save the file as UTF-8{guess}", mark) from None


def parse_yaml(text: str, file: str, notes: Notes) -> Node:
    """The tree of a YAML text; duplicate keys are noted, everything worse raises.

    Raises:
        ProblemsError: Not YAML, or YAML that harness files have no use for (anchors, tags,
            several documents, nesting without end).
    """
    text = text.removeprefix("\ufeff")
    if len(text) > MAX_BYTES:
        raise _fail(file, f"is too large: {len(text) / 1e6:.1f} million characters")
    _check_characters(text, file)
    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        root = _tree(yaml.parse(text, Loader=loader), file, notes)
    except yaml.MarkedYAMLError as error:
        raise _syntax(error, file) from None
    except (yaml.YAMLError, UnicodeError, RecursionError) as error:
        raise _fail(file, f"cannot be read as YAML: {clip(str(error))}") from None
    if root is None or (isinstance(root, TextNode) and not root.text):
        raise _fail(file, "is empty", "a harness file begins with “harness: ” and a title")
    return root


def _check_characters(text: str, file: str) -> None:
    def place(index: int) -> Mark:
        return Mark(file, text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index))

    bad = _NOT_TEXT.search(text)
    if bad:
        what = f"character U+{ord(bad.group()):04X}"
        raise _fail(file, f"{what} cannot stand in a harness file", "is the file damaged?", place(bad.start()))
    tab = _TAB.search(text)
    if tab:
        what = "a tab in the indentation" if not tab.group(1).strip(" ") else "a tab in the line"
        raise _fail(file, what, "use spaces", place(tab.end() - 1))


def _tree(events: Any, file: str, notes: Notes) -> Node | None:
    root: Node | None = None
    stack: list[ListNode | TableNode] = []
    count = 0
    keys: list[TextNode | None] = []  # the key that waits for its value, one an open mapping
    for event in events:
        where = Mark(file, event.start_mark.line + 1, event.start_mark.column + 1)
        if isinstance(event, yaml.DocumentStartEvent) and root is not None:
            raise _fail(file, "a second document begins", "one harness a file; drop the “---”", where)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None) is not None:
            raise _fail(file, f"anchors are not used in harness files: “{clip(str(event.anchor), 20)}”",
                        "write it out; a text that begins with & or * needs quotes", where)
        if getattr(event, "tag", None) is not None:
            raise _fail(file, f"tags are not used in harness files: “{clip(str(event.tag), 40)}”",
                        "a text that begins with ! needs quotes", where)
        if isinstance(event, yaml.CollectionEndEvent):
            done = stack.pop()
            if isinstance(done, TableNode):
                keys.pop()
            continue
        if not isinstance(event, (yaml.ScalarEvent, yaml.CollectionStartEvent)):
            continue
        count += 1
        if count > MAX_NODES:
            raise _fail(file, f"more than {MAX_NODES} entries", "a harness file has a few thousand", where)
        node = _node(event, where)
        hidden = isinstance(node, TextNode) and _NOT_TEXT.search(node.text)
        if hidden:  # written as an escape in quotes, past the look at the text itself
            raise _fail(file, f"character U+{ord(hidden.group()):04X} cannot stand in a harness file",
                        "leave the escape out", where)
        if stack and isinstance(stack[-1], TableNode) and keys[-1] is None:
            if not isinstance(node, TextNode):
                raise _fail(file, "a list or table stands where a name belongs",
                            "a name that begins with [ or { needs quotes", where)
            keys[-1] = node
            continue
        if not stack:
            root = node
        elif isinstance(stack[-1], ListNode):
            stack[-1].items.append(node)
        else:
            _enter(stack[-1], keys, node, notes)
        if not isinstance(node, TextNode):
            stack.append(node)
            if isinstance(node, TableNode):
                keys.append(None)
            if len(stack) > MAX_DEPTH:
                raise _fail(file, f"nested more than {MAX_DEPTH} levels deep", "is a bracket not closed?", where)
    return root


def _node(event: Any, where: Mark) -> Node:
    if isinstance(event, yaml.SequenceStartEvent):
        return ListNode(where)
    if isinstance(event, yaml.MappingStartEvent):
        return TableNode(where)
    one_line = event.start_mark.line == event.end_mark.line
    if not event.style:
        return TextNode(event.value, where, one_line)
    if event.style in "'\"":
        # Characters of a quoted text stand in the file as they are, unless some were escaped.
        width = event.end_mark.column - event.start_mark.column - 2
        plain = one_line and width == len(event.value)
        return TextNode(event.value, Mark(where.file, where.line, where.column + (plain and width > 0)), plain)
    return TextNode(event.value, where, inline=False)


def _enter(table: TableNode, keys: list[TextNode | None], node: Node, notes: Notes) -> None:
    key = keys[-1]
    keys[-1] = None
    assert key is not None
    name = tidy(key.text)
    if name in table.entries:
        first = table.entries[name][0].mark
        notes.add(key.mark, f"“{clip(name)}” is written twice",
                  f"first at line {first.line}, column {first.column}")
        return
    table.entries[name] = (key, node)


# What the parser says, and what a person most likely did.
_SYNTAX_HINTS: Final = (
    ("mapping values are not allowed", "a colon inside a text needs quotes; or the indentation is wrong"),
    ("expected ',' or", "a comma or a closing bracket is missing"),
    ("could not find expected ':'", "a colon is missing, or the line is indented wrongly"),
    ("expected <block end>", "this line is indented otherwise than the lines above it"),
    ("expected key", "this line is indented otherwise than the lines above it"),
    ("expected '-' indicator", "this line is indented otherwise than the lines above it"),
    ("unexpected end of stream", "a quotation mark is not closed"),
    ("cannot start any token", "a text that begins with this character needs quotes"),
    ("expected node content", "something is missing here, or a bracket too many"),
    ("expected the node content", "something is missing here, or a bracket too many"),
    ("escape", "in double quotes a backslash must be written twice"),
)


def _syntax(error: yaml.MarkedYAMLError, file: str) -> ProblemsError:
    said = clip(" ".join(filter(None, (error.context, error.problem))), 120)
    hint = next((h for words, h in _SYNTAX_HINTS if words in said), None)
    at = error.problem_mark or error.context_mark
    mark = Mark(file, at.line + 1, at.column + 1) if at else None
    return _fail(file, f"cannot be read as YAML: {said}", hint, mark)
