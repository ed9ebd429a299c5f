"""Questions and answers of the guide: numbers, defaults, and the letters that work at every question."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from tracer.errors import SymptomError, TracerError, UnknownNameError
from tracer.job.typed import LOOKS
from tracer.present.text_lines import clip, wrap
from tracer.units import whole_number

Ask = Callable[[str], str]
Say = Callable[[str], None]
T = TypeVar("T")
WORKING: Final = "working …"
NUMBERS: Final = re.compile(r"[0-9]{1,3}(?:[\s,;]+[0-9]{1,3})*")


HELP: Final = (
    "Answer by number; Enter alone takes what stands in [brackets]. At every question:",
    "  b  back: take back the last entry (the record keeps it as withdrawn)",
    "  s  skip: could not do it, show the next best; elsewhere the same as Enter",
    "  o  other: something else that was seen or measured, or a note",
    "  w  why: the reasons for suspect 1 and the path of the current; w 2: suspect 2",
    "  e  estimate: minutes and parts to expect, with a range and the dearest plausible case",
    "  d  stop: all that was recorded is saved already; the guide goes on there",
    "  ?  this help",
)
KEYS: Final = "b back · s skip · o other · w why · e estimate · d stop · ? help"


class Key(Exception):  # noqa: N818 - not an error
    """A letter that leaves the question: b, s, o or d."""


class Back(Key):
    pass


class Skip(Key):
    pass


class Other(Key):
    pass


class Stop(Key):
    def __init__(self, status: int = 0) -> None:
        super().__init__()
        self.status = status


_KEYS: Final[dict[str, type[Key]]] = {"b": Back, "s": Skip, "o": Other, "d": Stop, "quit": Stop, "exit": Stop}


def help_lines(width: int) -> list[str]:
    return [line for text in HELP for line in wrap(text.strip(), width, *_indent(text))]


def _indent(text: str) -> tuple[str, str]:
    return ("  ", "     ") if text.startswith("  ") else ("", "")


class Talk:
    """Asks until an answer is understood. `why` shows the reasons for a suspect, `estimate` what it will take."""

    def __init__(
        self, ask: Ask, say: Say, width: int, why: Callable[[int], None], estimate: Callable[[], None],
    ) -> None:
        self._ask, self.say, self.width, self._why, self._estimate = ask, say, width, why, estimate

    def write(self, *texts: str, first: str = "") -> None:
        for text in texts:
            self.show(wrap(text, self.width, first))

    def show(self, lines: Sequence[str]) -> None:
        for line in lines:
            self.say(line)

    def working(self) -> None:
        """Said before what may take over half a second."""
        self.say(WORKING)

    def question(
        self, question: str, understand: Callable[[str], T], default: str = "", choices: Sequence[str] = ()
    ) -> T:
        """Ask until the answer is understood; one that is not gets one line and the question again."""
        shown = f"{question} [{default}]" if default else question
        *above, last = wrap(shown, self.width - 12)
        above_it = ["", *choices] if choices and choices[0] else list(choices)
        self.show(above_it)
        offered: tuple[str, ...] = ()  # ready answers in place of one that was not understood
        while True:
            self.show(above)
            typed = "".join(c for c in self._ask(f"{last} > ") if c.isprintable()).strip() or default
            chosen = whole_number(typed) or 0
            if 1 <= chosen <= len(offered):
                typed = offered[chosen - 1]
            key = typed.casefold()
            if key == "s" and default:
                typed = default
            elif key in _KEYS:
                raise _KEYS[key]
            if key in ("?", "h", "help"):
                self.show(help_lines(self.width))
                self.show(above_it)
            elif re.fullmatch(r"w ?[0-9]{0,3}", key):
                self._why(int(key[1:] or 1))
                self.show(above_it)
            elif key == "e":
                self._estimate()
                self.show(above_it)
            else:
                try:
                    return understand(typed)
                except TracerError as error:
                    self.write(clip(str(error), 3 * self.width) if typed else "Type an answer; ? helps.", first="? ")
                    offered = error.choices
                    for n, choice in enumerate(offered, 1):
                        self.write(choice, first=f"  {n} ")

    def choose(self, question: str, options: Sequence[str], default: int | None = None) -> int:
        """The number of one of the options, from 1."""

        def number(typed: str) -> int:
            answer = whole_number(typed)
            if answer is None or not 1 <= answer <= len(options):
                raise UnknownNameError(f"“{clip(typed, 40)}” is not one of 1 to {len(options)}")
            return answer

        lines = [line for n, o in enumerate(options, 1) for line in wrap(o, self.width, f"  {n} ")]
        return self.question(question, number, "" if default is None else str(default), lines)

    def text(self, question: str, default: str = "") -> str:
        """Any words."""

        def some(typed: str) -> str:
            if not typed:
                raise SymptomError("an answer is needed")
            return typed

        return self.question(question, some, default)


def looks_lines(looks: Sequence[str], width: int) -> list[str]:
    """The looks of a lamp to choose from."""
    lines = ["  "]
    for n, look in enumerate(looks, 1):
        if len(lines[-1]) + len(look) + 4 > width:
            lines.append("  ")
        lines[-1] += f"{n} {look}  "
    lines = [line.rstrip() for line in lines]
    two = "two where two are true: 4 7 is normal brightness, flashing fast"
    return lines + wrap(two, width, "  ") if len(looks) > 4 else lines


def numbers(typed: str, most: int) -> list[int]:
    """Several numbers from 1 to `most`.

    Raises:
        UnknownNameError: One is out of range.
    """
    found = list(dict.fromkeys(int(n) for n in re.findall("[0-9]+", typed)))
    wrong = [n for n in found if not 1 <= n <= most]
    if wrong:
        raise UnknownNameError(f"{wrong[0]} is not one of 1 to {most}")
    return found


def look_words(typed: str, looks: Sequence[str] = LOOKS) -> str:
    """Looks by number as words; words as they are."""
    return " ".join(looks[n - 1] for n in numbers(typed, len(looks))) if NUMBERS.fullmatch(typed) else typed


def minutes(typed: str) -> float | None:
    """Minutes; None for "not noted"."""
    if typed == "not noted":
        return None
    match = re.fullmatch(r"([0-9]{1,4}(?:[.,][0-9]+)?)\s*(?:m|min|minutes?)?\.?", typed.casefold())
    if match is None:
        raise UnknownNameError(f"“{typed}” is not a number of minutes", "such as 15")
    return float(match[1].replace(",", "."))
