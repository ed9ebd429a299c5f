"""Readings as people type them: "11.9 V", "0.3 ohm", "open", "between 3 and 5 V", "flashes fast"."""

from __future__ import annotations

import math
import re
from typing import Final

from tracer.errors import ReadingError, SymptomError, UnitError
from tracer.harness.file.nodes import clip
from tracer.observation.evidence import Flash, LampSeen, Value
from tracer.observation.quantities import QUANTITIES, Quantity
from tracer.observation.test_kinds import KINDS, TestKind
from tracer.observation.test_row import Kind
from tracer.observation.words.looked_over import parse_found, parse_lost, parse_moved
from tracer.observation.words.looks import parse_look
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.plain_words import plain as speech_plain
from tracer.observation.words.probes import parse_test
from tracer.observation.words.reading_data import (
    test_as_data,
    test_from_data,
    test_key,
    value_as_data,
    value_from_data,
)
from tracer.observation.words.speech_lexicon import FILLERS
from tracer.observation.words.speech_looks import Say, say_at, verdict
from tracer.observation.words.words import MAX_TEXT, tokens
from tracer.units import ambiguous, parse_quantity, unit_names

__all__ = [
    "NO_INFORMATION", "parse_test", "parse_value", "test_as_data", "test_from_data", "test_key",
    "value_as_data", "value_from_data",
]

FORMS: Final = "write it like `11.9 V`, `0.3 ohm`, `1.8 A`, `open`, `lit` or `dark`"
# Quoted limits of the continuity beeper in seven multimeter manuals: < 10, five of 50 to 70, < 120 ohm.
# A beep bounds by the usual limit; silence only by the lowest, since the meter in hand may be that one.
BEEP_BELOW_OHM: Final = 50.0
SILENT_ABOVE_OHM: Final = 10.0
NO_INFORMATION: Final = (-math.inf, math.inf)  # low and high of a test that gave no reading

_NUMBER = r"[-+]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_UNIT = r"[A-Za-zΩ\u2126µ]+"
_PLAIN = Pattern(rf"({_NUMBER})\s*({_UNIT})?")
_AROUND = Pattern(rf"({_NUMBER})\s*({_UNIT})?\s*(?:±|\+\s*/?\s*-)\s*({_NUMBER})\s*({_UNIT}|%)?")
_BETWEEN = Pattern(
    rf"(?:between|from)?\s*({_NUMBER})\s*((?!(?:to|and)\b){_UNIT})?\s*(?:-|to|and|\.\.\.?|…)"
    rf"\s*({_NUMBER})\s*({_UNIT})?",
    re.IGNORECASE,
)
_BOUND = Pattern(
    rf"(<=?|>=?|≤|≥|less than|more than|below|above|under|over|at most|at least|up to)\s*({_NUMBER})\s*({_UNIT})?",
    re.IGNORECASE,
)
_ABOUT = Pattern(r"(?:about|around|approx\.?|approximately|roughly|ca\.?|~|≈)\s*", re.IGNORECASE)
_SKIPPED = Pattern(
    r"skip|skipped|not done|not measured|no reading|n/?a|(?:i )?(?:could not|couldn't|cannot|can't|did not|didn't)"
    r"(?: (?:do|measure|reach|get at|see|read|look)(?: (?:it|that|there|anything))?)?", re.IGNORECASE,
)
_OPEN = Pattern(
    r"open|open circuit|o\.?l\.?|over ?range|over ?load|infinite|infinity|∞|no continuity", re.IGNORECASE
)
_LEAD_BLEW = Pattern(
    r"(?:the )?(?:(?:temporary |test )?lead(?:'s)? )?fuse(?: of the (?:temporary |test )?lead)? (?:has |is )?"
    r"(?:blew|blows|blown|gone|went|popped|melted)", re.IGNORECASE,
)
_IT_IS = r"(?:it |it's |the |filament |lamp |bulb |fuse |is |looks |seems |has |all )*"
_BROKEN = Pattern(_IT_IS + r"(?:broken|blown|burnt out|blew|gone|dead|bad|failed|black|blackened|melted|no "
                           r"good)", re.IGNORECASE)
_WHOLE = Pattern(_IT_IS + r"(?:good|ok|okay|fine|whole|sound|intact|right|not (?:blown|broken))", re.IGNORECASE)
_BEEP = Pattern(r"(?:it )?(?:beeps?|beeped|beeping)|continuity", re.IGNORECASE)
_SILENT = Pattern(r"(?:it )?(?:does not|doesn't|did not|didn't|no|not) (?:beep|beeping)|silent", re.IGNORECASE)
_SHOWS: Final = {q.dimension: q.called for q in QUANTITIES} | {"power": "watts"}


def parse_value(text: str, kind: TestKind, lamp: str = "", in_hand: bool = False) -> Value:
    """What a test showed.

    Args:
        text: A number, with its unit or in that of the meter, a range, "open", "beeps", words for a lamp, "good" or
            "blown" of what is in the hand, or "found" or "nothing" of a thing looked over; a remark may follow in
            brackets. "skipped" and "could not do it" give no information: low is minus
            infinity and high infinity, without `seen`.
        kind: The kind of test; it decides which unit or words are right.
        lamp: The lamp looked at, for tests that are looks.
        in_hand: A lamp or fuse is measured out of the vehicle (`Test.in_hand`).

    Raises:
        ReadingError: Not understood, of another kind of test, or impossible.
    """
    if len(text) > MAX_TEXT:
        raise ReadingError(f"“{clip(text)}” is too long", FORMS)
    plain = re.sub(r"\([^()]*\)\s*\Z", "", text.strip()).strip().rstrip(".").replace("’", "'")
    plain = re.sub(r"[−–—]", "-", " ".join(plain.split()))
    plain = re.sub(r",? (?:while |when |on )?wiggl(?:ing|ed)(?: it)?\Z", "", plain, flags=re.IGNORECASE)
    if not plain:
        raise ReadingError("there is no reading", FORMS)
    if plain == "-" or _SKIPPED.fullmatch(plain):
        return Value(*NO_INFORMATION, text=text)
    row = KINDS[kind]
    if row.of_lamps and _LEAD_BLEW.fullmatch(plain):
        return Value(text=text, lead_blew=True)
    if row.by_hand:
        return (parse_lost if row.at_end else parse_moved if row.moves else parse_found)(text, plain)
    quantity = row.quantity
    if quantity is None:
        return _look(text, plain, row, lamp)
    by_word = _by_word(plain) or (_of_hand(plain) if in_hand else None)
    if by_word is not None:
        if not quantity.log_scale:
            raise ReadingError(f"“{clip(text)}” is for an ohmmeter; this test shows {quantity.called}",
                               f"write it like `{quantity.example}`")
        return Value(*by_word, text=text)
    low, high, resolution = _number(text, plain, quantity)
    if quantity.signless and high < 0:  # which way the clamp was held
        low, high = -high, -low
    _check_possible(text, low, high, quantity)
    return Value(low, high, resolution, text=text)


def _look(text: str, plain: str, row: Kind, lamp: str) -> Value:
    what = row.called
    if _PLAIN.fullmatch(plain):
        raise ReadingError(f"“{clip(text)}” is a number; this test is {what}", "write it like `lit`, `dim` or `dark`")
    try:
        understood = parse_look(tokens(plain))
    except SymptomError as error:
        raise ReadingError(error.message, error.hint) from error
    if understood is None:
        understood = _as_spoken(plain)
    if row.shows_light and understood == (frozenset({"bright"}), None):
        understood = frozenset({"normal", "bright"}), None  # of a tester that is all there is
    if understood is None:
        raise ReadingError(f"“{clip(text)}” is not {what}",
                           "write it like `lit`, `dark`, `faint`, `dim`, `normal`, `bright` or `flashes fast`")
    return Value(seen=LampSeen(lamp, *understood), text=text)


def _as_spoken(plain: str) -> tuple[frozenset[str], Flash | None] | None:
    """A look in the words of speech: "dull", "won't light"; None if a word is not understood."""
    words, at, says = speech_plain(plain).split(), 0, list[Say]()
    while at < len(words):
        say, size = say_at(words, at)
        if say is not None:
            says.append(say)
        elif words[at] not in FILLERS and words[at] not in ("lamp", "light", "test", ","):
            return None
        at += max(size, 1)
    told = verdict(says) if says and not any(s.blown is not None or s.sound for s in says) else None
    return (told.words, told.flash) if told is not None and not told.sometimes else None


def _of_hand(plain: str) -> tuple[float, float] | None:
    """What is said of a lamp or fuse in the hand without a number. A glass that went black has burnt out."""
    if _BROKEN.fullmatch(plain):
        return math.inf, math.inf
    return (0.0, BEEP_BELOW_OHM) if _WHOLE.fullmatch(plain) else None


def _by_word(plain: str) -> tuple[float, float] | None:
    if _OPEN.fullmatch(plain):
        return math.inf, math.inf
    if _SILENT.fullmatch(plain):
        return SILENT_ABOVE_OHM, math.inf
    return (0.0, BEEP_BELOW_OHM) if _BEEP.fullmatch(plain) else None


def _number(text: str, plain: str, quantity: Quantity) -> tuple[float, float, float]:
    """Low, high and resolution of a number or range, in V, Ω or A."""
    about = _ABOUT.match(plain)
    if about:
        plain = plain[about.end() :]
    match = _PLAIN.fullmatch(plain)
    if match:
        value, step = _scaled(text, match.group(1), match.group(2), quantity)
        return value, value, step
    match = _AROUND.fullmatch(plain)
    if match:
        number, unit, width, width_unit = match.groups()
        percent = width_unit == "%"
        value, step = _scaled(text, number, unit or (None if percent else width_unit), quantity)
        if percent:
            around = abs(value) * _decimal(text, width) / 100
        else:
            around, step = _scaled(text, width, width_unit or unit, quantity)
        if around < 0:
            raise ReadingError(f"“{clip(text)}” has a tolerance below zero", "write it like `11.9 V ± 0.1 V`")
        return value - around, value + around, step
    match = _BETWEEN.fullmatch(plain)
    if match:
        first, first_unit, second, second_unit = match.groups()
        a, step_a = _scaled(text, first, first_unit or second_unit, quantity)
        b, step_b = _scaled(text, second, second_unit or first_unit, quantity)
        return min(a, b), max(a, b), min(step_a, step_b)
    match = _BOUND.fullmatch(plain)
    if match:
        value, step = _scaled(text, match.group(2), match.group(3), quantity)
        if match.group(1).lower() in (">", ">=", "≥", "more than", "above", "over", "at least"):
            return value, math.inf if quantity.log_scale else quantity.most, step
        # "Below 0.2 V" is said of the size; the sign depends on which way the probes were held.
        return (min(0.0, value) if quantity.log_scale else -abs(value)), value, step
    raise ReadingError(f"“{clip(text)}” is not understood", FORMS)


def _scaled(text: str, number: str, unit: str | None, quantity: Quantity) -> tuple[float, float]:
    """A number in V, Ω or A and the step of its last digit."""
    unit = unit or quantity.unit  # what the meter in hand shows
    if quantity.log_scale and unit in ("k", "K", "M"):
        unit = unit.replace("K", "k") + "ohm"  # a meter shows no more than the letter
    try:
        factor = parse_quantity(f"1 {unit}", quantity.dimension)
    except UnitError as error:
        form = f"write it like `{quantity.example}`" + (" or `open`" if quantity.log_scale else "")
        for other, shows in _SHOWS.items():
            if unit.lower() in {n.lower() for n in unit_names(other)} and other != quantity.dimension:
                message = f"“{clip(text)}” is in {shows}; this test shows {quantity.called}"
                raise ReadingError(message, form) from error
        raise ReadingError(f"“{clip(unit)}” is not a unit of {quantity.called}", form) from error
    decimals = len(re.split("[.,]", number)[1]) if re.search("[.,]", number) else 0
    return _decimal(text, number) * factor, 10.0**-decimals * factor


def _decimal(text: str, number: str) -> float:
    if ambiguous(number):
        raise ReadingError(f"“{clip(text)}” could mean thousands or a decimal comma",
                           f"write {number.replace(',', '')} or {number.replace(',', '.')}")
    return float(number.replace(",", "."))


def _check_possible(text: str, low: float, high: float, quantity: Quantity) -> None:
    if quantity.log_scale and low < 0:
        raise ReadingError(f"“{clip(text)}” cannot be: a resistance is not below zero",
                           "a meter that shows this sees a voltage: disconnect the battery")
    top = low if high == math.inf and quantity.log_scale else high
    if not -quantity.most <= low <= top <= quantity.most:
        too_much, hint = quantity.beyond
        raise ReadingError(f"“{clip(text)}” is {too_much}", hint)
