"""What somebody says they looked over, and what was found there: "the wire from S9 to C4.4", "green on way 3"."""

from __future__ import annotations

import re
from typing import Final

from tracer.errors import ReadingError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import Thing, bulb_positions, thing_at, things_in
from tracer.harness.model import Harness
from tracer.harness.node import node_of
from tracer.observation.evidence import Value
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.terminals import Terminals
from tracer.observation.words.words import LampNames, alternatives, listed, name_words, occurs

FOUND_FORMS: Final = "write it like `found`, `found: rubbed through at the clip`, `nothing` or `could not`"
THING_HINT: Final = (
    "such as “inspect S9 to C4.4”, “inspect C4”, “inspect S9”, “inspect E3”, “inspect lamp left rear stop”, “inspect "
    "holder left rear stop” or “inspect left rear”"
)
_TWO = Pattern(r"\s+(?:to|and|–|-)\s+(?:the\s+)?", re.IGNORECASE)
_LEADING = Pattern(
    r"\A(?:(?:the|a|whole|from|wire|strap|cable|lead|splice|joint|earth(?:\s+point)?|plug|connector|fuse|part|"
    r"unit)\s+)+",
    re.IGNORECASE,
)
_HOLDER = Pattern(
    r"(?:the\s+)?(?:(?:holder|socket)\s+(?:(?:of|for)\s+)?(?:the\s+)?(.+)|(.+?)\s+(?:holder|socket))", re.IGNORECASE
)
_LAMP = Pattern(r"(?:the\s+)?(?:lamp|bulb)\s+(?!unit\b)(.+)", re.IGNORECASE)

# Words for what somebody sees; whatever else is said about it is kept as it was typed.
_BAD = (
    r"found|yes|bad|damag\w*|rubb\w*|chaf\w*|worn|pinched|trapped|melt\w*|green|corro\w*|rust\w*|broken|burn\w*|"
    r"black\w*|"
    r"hot|warm|heat\w*|scorch\w*|singed|smell\w*|spark\w*|arc(?:s|ing|ed)|brown\w*|discolou?r\w*|"
    r"loose|wet|water|damp|crack\w*|cut|bare|wrong|missing|blown|bridged|pushed|spread|off|out"
)
_WELL = r"nothing|sound|good|fine|clean|ok(?:ay)?|undamaged|intact"
_NONE = rf"(?:found\s+|looks?\s+|is\s+|all\s+)?(?:{_WELL})|none|no(?:\s+(?:damage|corrosion|rust|water))?|not\s+found"
_FOUND = Pattern(
    rf"(?:something(?:\s+was)?\s+|it\s+(?:is\s+|was\s+|gets\s+|looks\s+)?)?(?:{_BAD})\b(?!\?).*",
    re.IGNORECASE | re.DOTALL,
)
_NOTHING = Pattern(
    rf"(?:{_NONE})(?:\s+(?:was|is|found|seen|wrong|bad|there|to\s+be\s+(?:found|seen)|damage))*", re.IGNORECASE
)

MOVED_FORMS: Final = "write it like `changes`, `goes out`, `does not` or `could not`"
_WATCH = Pattern(r"\s*,?\s*\b(?:and\s+)?watch(?:ing|ed)?\b\s*(?:the\s+)?", re.IGNORECASE)
_MOVES = Pattern(
    r"(?:it\s+)?(?:changes?|changed|flickers?|flickered|yes|(?:goes|went)\s+(?:out|off|dark|dim|on)|"
    r"(?:comes|came)\s+(?:on|back|and\s+goes|and\s+went))(?:\W.*)?", re.IGNORECASE | re.DOTALL
)
_STAYS = Pattern(
    r"(?:it\s+)?(?:(?:does|did)(?:\s+not|n't)(?:\s+(?:change|flicker))?|no(?:\s+change)?|nothing(?:\s+changes)?|"
    r"(?:stays|stayed|stay)(?:\s+as\s+it\s+was)?|unchanged|none)", re.IGNORECASE
)
LOST_FORMS: Final = "write it like `volts lost`, `none lost` or `0.4 V`"
MOST_LOST_V: Final = 0.1  # by a sound crimp under its load (common practice, no source)
_VOLTS = Pattern(r"([-+]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+))\s*(m?v(?:olts?)?)?", re.IGNORECASE)
_LOST = Pattern(r"yes|(?:volts?\s+(?:are\s+)?)?(?:lost|dropped)|(?:a\s+)?drops?|bad", re.IGNORECASE)
_NONE_LOST = Pattern(
    r"(?:no|none|nothing|no\s+(?:volts?|drop))(?:\s+(?:is\s+|are\s+)?lost)?|good|sound|fine", re.IGNORECASE)
_NOT_ALL_BAD = Pattern(rf"\b(?:{_WELL})\b", re.IGNORECASE)  # "found to be sound"


def parse_found(text: str, plain: str) -> Value:
    """What a look at a thing showed. `plain` is `text` without remarks in brackets.

    Raises:
        ReadingError: Neither that something was found nor that nothing was.
    """
    if _NOTHING.fullmatch(plain):
        return Value(text=text, found=False)
    if _FOUND.fullmatch(plain) and not _NOT_ALL_BAD.search(plain):
        return Value(text=text, found=True)
    raise ReadingError(f"“{clip(text)}” does not say whether something was found", FOUND_FORMS)


def watching(said: str) -> tuple[str, str]:
    """What was moved, and the lamp that was watched.

    Raises:
        ReadingError: It does not say which lamp.
    """
    found = _WATCH.search(said)
    moved, lamp = (said[: found.start()].strip(), said[found.end() :].strip()) if found else ("", "")
    if not moved or not lamp:
        raise ReadingError(f"“{clip(said)}” does not say what was moved and which lamp was watched",
                           "write it like “wiggle C4 and watch left rear stop when brake pressed”")
    return moved, lamp


def parse_moved(text: str, plain: str) -> Value:
    """Whether the lamp watched changed. `plain` is `text` without remarks in brackets.

    Raises:
        ReadingError: Neither that it did nor that it did not.
    """
    if _STAYS.fullmatch(plain):
        return Value(text=text, found=False)
    if _MOVES.fullmatch(plain):
        return Value(text=text, found=True)
    raise ReadingError(f"“{clip(text)}” does not say whether the lamp changed", MOVED_FORMS)


def parse_lost(text: str, plain: str) -> Value:
    """Whether volts are lost at the end of a wire, in words or as the meter shows them. `plain` is `text` without
    remarks in brackets.

    Raises:
        ReadingError: Neither that they are nor that they are not.
    """
    shown = _VOLTS.fullmatch(plain)
    if shown:
        volts = abs(float(shown[1].replace(",", "."))) / (1000 if (shown[2] or "").casefold().startswith("m") else 1)
        return Value(text=text, found=volts > MOST_LOST_V)
    if _NONE_LOST.fullmatch(plain):
        return Value(text=text, found=False)
    if _LOST.fullmatch(plain):
        return Value(text=text, found=True)
    raise ReadingError(f"“{clip(text)}” does not say whether volts are lost there", LOST_FORMS)


def find_thing(said: str, harness: Harness, terminals: Terminals, names: LampNames) -> Thing:
    """The thing that a text names.

    Raises:
        UnknownNameError: There is none; with the nearest.
        ReadingError: The text names several, or no wire leads between the points named.
    """
    bare = _LEADING.sub("", said, count=1) or said
    for split in _TWO.finditer(bare):
        ends = [terminals.find(x) for x in (bare[: split.start()], bare[split.end() :])]
        if ends[0] and ends[1]:
            return _wire(harness, ends[0], ends[1], terminals)
    owned = {
        name.casefold(): name for name in (*harness.splices, *harness.earths, *harness.connectors)
    } | {n.casefold(): p.name for p in harness.parts.values() for n in (p.name, *p.also)}
    for name in (said, bare):
        if name.casefold() in owned:
            return thing_at(harness, owned[name.casefold()], "", "")
    if holder := _HOLDER.fullmatch(said):
        return Thing("holder", find_bulb(holder.group(1) or holder.group(2), harness, names))
    if lamp := _LAMP.fullmatch(said):
        return Thing("lamp", find_bulb(lamp.group(1), harness, names))
    node = terminals.find(bare)
    if node is not None and any(f.a == node for f in harness.lamps()):
        return thing_at(harness, node, "", "")
    if node is not None and node not in harness.bodies():
        owner = node_of(node).owner
        raise ReadingError(f"“{clip(said)}” is one terminal", f"name {owner}, or the wire: {node} to …")
    try:
        return Thing("lamp", find_bulb(said, harness, names))
    except UnknownNameError as error:
        raise UnknownNameError(f"nothing is called “{clip(said)}” that could be looked over",
                               did_you_mean(bare, owned.values()) or THING_HINT) from error


def _wire(harness: Harness, a: str, b: str, terminals: Terminals) -> Thing:
    for thing in things_in(harness):
        if thing.kind == "wire" and {thing.name, thing.other} == {a, b}:
            return thing
    far = terminals.wired_to(a)
    raise ReadingError(f"no wire leads from {a} to {b}",
                       f"from {a} wires lead to {listed(far, 'and')}" if far else f"no wire ends at {a}")


def recorded_thing(plus: str, minus: str, lamp: str, harness: Harness) -> Thing:
    """The thing of recorded points.

    Raises:
        UnknownNameError: The harness no longer has it.
    """
    known = set(things_in(harness))
    parts = {t.name for t in known if t.kind != "wire"}
    if not minus and not lamp and not node_of(plus).inner and plus not in parts:
        message = f"nothing is called “{clip(plus)}” that could be looked over"
        raise UnknownNameError(message, did_you_mean(plus, parts))
    thing = thing_at(harness, plus, minus, lamp)
    if thing not in known:
        what = f"no wire leads from {plus} to {minus}" if minus else f"no lamp “{clip(lamp or plus)}”"
        raise UnknownNameError(what, None if minus else did_you_mean(lamp, bulb_positions(harness)))
    return thing


def find_bulb(said: str, harness: Harness, names: LampNames) -> str:
    """The glass that a text names, by its own name or by a lamp in it."""
    bulbs = bulb_positions(harness)
    for bulb in bulbs:
        if bulb.casefold() == " ".join(said.split()).casefold():
            return bulb
    words = sorted(name_words(said))
    options = [alternatives(w, names.vocabulary) for w in words]
    found = [
        bulb for bulb in bulbs
        if words and occurs(words, options, frozenset(
            w for lamp, of in names.bulbs.items() if of == bulb for w in names.words[lamp]))
    ]
    if len(found) > 1:
        raise ReadingError(f"“{clip(said)}” could be {listed(found)}", "say which lamp")
    if not found:
        raise UnknownNameError(f"no lamp “{clip(said)}”", names.nearest_hint(said, words))
    return found[0]
