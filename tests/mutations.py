"""Damaged harness files and wire lists, made by a seeded generator from sound ones."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from tests.check_harnesses import PLUG_13, RELAY
from tests.harness.test_lamp_purposes import COMBINED

MODELS: Final = sorted((Path(__file__).parents[1] / "harness_models").glob("*.yaml"))
PAGE: Final = MODELS[0].parent / "README.md"

# What breaks parsers, number readers and terminals, beside what people mistype.
_PIECES: Final[tuple[str, ...]] = (
    *"{}[]:,>.'\"&*!%@`|?-#\t\n\0\r/=+~\\",
    "\u2028", "\ufeff", "\u200b", "\u202e", "\x85", "\x1b[31m", "é²", "\U0001f697",
    "\ud800", "İ", "ß", "µ", "½", "٣", "１", "null", "~", "true", "NaN", "inf", "-0", "1e999",
    "9" * 400, "0x10", "1_000", "- ", ": ", "? ", "!!python/object:os.system ", "&a ", "*a", "<<: *a", "---\n",
    "...\n", "%YAML 1.1\n", "{}",
    "[]", "''", "kind: lamp", "kind: relay", "for: stop", "body: none", "earth at: E1", "standard: ISO 1724", "C1.",
    "S1", "S1 > S1", "battery.+ > battery.-", "F1.out", "E1", "remove: [w1]", "size: 1,5 mm²", "LED 2 W",
    "sprung: [on]", " " * 2000,
)
_NUMBERS: Final = ("0", "-1", "1", "2", "7", "13", "999", "1e9", "1e-9", "0.0001", "120", "50", "5e5", "٣", "")


def bases() -> dict[str, str]:
    """Sound files by name: small ones, the files of the format page, and the models."""
    found = {"relay": RELAY, "plug": PLUG_13, "combined": COMBINED}
    found.update(re.findall(r"```yaml\n# (\S+\.yaml)\n(harness:.*?)```", PAGE.read_text(encoding="utf-8"), re.S))
    found.update({p.name: p.read_text(encoding="utf-8") for p in MODELS})
    return found


def _byte(text: str, r: random.Random) -> str:
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    for _ in range(r.randint(1, 3)):
        data[r.randrange(len(data))] = r.randrange(256)
    return data.decode("utf-8", "replace")


def _line(text: str, r: random.Random) -> str:
    lines = text.split("\n")
    i, j = r.randrange(len(lines)), r.randrange(len(lines))
    what = r.randrange(7)
    if what == 0:
        del lines[i : i + r.choice((1, 1, 1, 2, 10))]
    elif what == 1:
        lines[i:i] = [lines[i]] * int(r.choice((1, 1, 2, 30)))
    elif what == 2:
        lines[i], lines[j] = lines[j], lines[i]
    elif what == 3:
        lines[i] = lines[j]
    elif what == 4:
        lines[i] = " " * r.randrange(6) + lines[i].lstrip()
    elif what == 5:
        lines[i] += lines[j]
    else:
        lines[i] = lines[i].replace(" ", "\t", 1)
    return "\n".join(lines)


def _token(text: str, r: random.Random) -> str:
    """Exchange one token for another of the file: the slips of somebody who copies."""
    tokens = list(re.finditer(r"[\w.²/+-]+", text))
    if len(tokens) < 2:
        return text
    one, two = r.choice(tokens), r.choice(tokens)
    return text[: one.start()] + two.group() + text[one.end() :]


def _point(text: str, r: random.Random) -> str:
    """Exchange one point of a run for another: the file stays readable, the circuit does not stay the same."""
    points = list(re.finditer(r"[\w -]*\w(?:\.[\w+-]+)?(?= >)|(?<=> )[\w -]+(?:\.[\w+-]+)?", text))
    if len(points) < 2:
        return text
    one, two = r.choice(points), r.choice(points)
    point = one.group()
    indent = point[: len(point) - len(point.lstrip(" -"))] if point[:1] in " -" else ""
    return text[: one.start()] + indent + two.group().strip(" -") + text[one.end() :]


def _number(text: str, r: random.Random) -> str:
    numbers = list(re.finditer(r"\d+(?:\.\d+)?", text))
    if not numbers:
        return text
    at = r.choice(numbers)
    return text[: at.start()] + r.choice(_NUMBERS) + text[at.end() :]


def _insert(text: str, r: random.Random) -> str:
    at = r.randrange(len(text) + 1)
    return text[:at] + r.choice(_PIECES) + text[at + r.choice((0, 0, 1, 5)) :]


def _cut(text: str, r: random.Random) -> str:
    return text[: r.randrange(len(text) + 1)]


def _bomb(text: str, r: random.Random) -> str:
    what = r.randrange(6)
    if what == 0:
        return "a0: &a0 [x, x]\n" + "".join(f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]\n" for i in range(1, 30)) + text
    if what == 1:
        return text + "x: " + r.choice("[{") * r.choice((20, 5000, 100_000))
    if what == 2:
        return text.replace("wires:\n", "wires:\n" + "  - " * r.choice((15, 3000)) + "x\n", 1)
    if what == 3:
        return text + "  - " + " > ".join(["S1", "S2"] * r.choice((10, 5000))) + "\n"
    if what == 4:
        many = "".join(f"  P{i}: {{kind: diode}}\n" for i in range(r.choice((3, 300))))
        return text.replace("parts:\n", f"parts:\n{many}", 1)
    return text + text


_WAYS: Final[tuple[Callable[[str, random.Random], str], ...]] = (
    _byte, _line, _line, _token, _token, _point, _point, _point, _number, _number, _insert, _cut,
)


def mutated(text: str, r: random.Random) -> str:
    """The text with one to four damages, half of the time only such as leave it readable; now and then a bomb."""
    if r.random() < 0.02:
        return _bomb(text, r)
    ways = (_token, _point, _point, _number) if r.random() < 0.5 else _WAYS
    for _ in range(r.choice((1, 1, 1, 2, 3, 4))):
        if text:
            text = r.choice(ways)(text, r)
    return text


def mutated_list(listed: str, r: random.Random) -> str:
    """A wire list with damages."""
    for _ in range(r.choice((1, 1, 2, 3))):
        if listed:
            listed = r.choice((_byte, _line, _token, _number, _insert, _cut))(listed, r)
    return listed


def chosen(names: Sequence[str], small: Sequence[str], r: random.Random) -> str:
    """Mostly a small file, whose check takes a twentieth of a second."""
    return str(r.choice(small if r.random() < 0.85 else names))
