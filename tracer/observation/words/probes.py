"""Tests as people type them: "volts at left rear.stop when brake pressed", "ohms C2.5 to E4 with C2 unplugged"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from tracer.errors import ReadingError, TracerError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import bulb_positions
from tracer.harness.model import Harness
from tracer.harness.terminal_words import parts_wired
from tracer.observation.actions import ACTIONS, Action, Intervention, Target
from tracer.observation.evidence import Test, inspection, wiggling
from tracer.observation.test_kinds import KINDS, TestKind, kind_named
from tracer.observation.test_row import Kind
from tracer.observation.words.looked_over import find_bulb, find_thing, watching
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.printed_tests import read_printed
from tracer.observation.words.states import parse_state
from tracer.observation.words.symptom_data import fuses
from tracer.observation.words.terminals import SideUnsaidError, Terminals, terminals_of
from tracer.observation.words.words import LampNames, check_length, find_lamps, listed, name_words, tokens


def _quoted(examples: Sequence[str]) -> str:
    said = [f"“{x}”" for x in examples]
    return f"{', '.join(said[:-1])} or {said[-1]}"


TESTS_HINT: Final = f"write it like {_quoted([row.example for row in KINDS.values() if row.example])}"
DONE_HINT: Final = f"such as {_quoted([row.example for row in ACTIONS.values()])}"
_KINDS: Final = tuple(
    (kind, Pattern(rf"\s*(?:measure\s+|the\s+)*(?:{row.typed})(?![\w.])[\s:]*", re.IGNORECASE))
    for kind, row in KINDS.items()
)
_SECTION = Pattern(r"(?<!\S)(?:when|while|with)(?!\S)", re.IGNORECASE)
_AT = Pattern(r"\A(?:(?:at|on|from|across|between|of|the|in)\s+)*", re.IGNORECASE)
_TWO = Pattern(r"\s+(?:to|and|against)\s+(?:the\s+)?", re.IGNORECASE)
_ATOMS = Pattern(r"\s*(?:[,;]|\band\b)\s*", re.IGNORECASE)


def _pattern(text: str) -> Pattern:
    return Pattern(rf"(?:fit |(?:a|the) |temporary )*(?:{text})", re.IGNORECASE)


_OUT = r"(?:is |are )?(?:unplugged|disconnected|apart|pulled(?: out| apart)?|removed|taken out|out)"
# What was done, and how it is typed; none where only the name of the thing tells what was done.
_DONE: Final[tuple[tuple[Action | None, Pattern], ...]] = (
    *((action, _pattern(typed)) for action, row in ACTIONS.items() for typed in row.typed),
    (None, _pattern(rf"(?P<target>.+?) {_OUT}")),
    (None, _pattern(r"(?:unplug|disconnect|pull(?: out)?|remove|take out) (?:the )?(?P<target>.+)")),
)
_TAKEN_OUT: Final = {row.target: action for action, row in ACTIONS.items() if row.taken_out}
_MAX_ATOMS: Final = 40


def parse_test(text: str, harness: Harness) -> Test:
    """Understand a test that somebody did.

    Args:
        text: `<kind> <points or lamp> when <state> with <what was done>`, a thing instead of points where one is
            looked over, `<thing> and watch <lamp>` where one is moved. What a kind is called is `typed` of its row
            in `KINDS`; demo/words.md shows each. A connector way "C2.3" is its incoming half, "C2.3'" or "C2.3 far
            side" the other.

    Raises:
        ReadingError: Something is missing or ambiguous.
        UnknownNameError: A terminal, lamp, connector, fuse, control or position that the harness does not have.
        SymptomError: The vehicle state is not understood.

    What `Test.says` prints of any test is understood as well.
    """
    try:
        return _parse(text, harness)
    except TracerError as error:
        printed = read_printed(text, terminals_of(harness))
        if printed is not None:
            return printed
        if isinstance(error, SideUnsaidError):
            error.choices = tuple(text.replace(error.said, node) for node in error.choices)
        raise


def _parse(text: str, harness: Harness) -> Test:
    head, *sections = _SECTION.split(check_length(text))
    called = [(m.end(), k) for k, p in _KINDS if (m := p.match(head))]
    if not called:
        raise ReadingError(f"“{clip(text)}” does not say which kind of test", TESTS_HINT)
    start, kind = max(called)  # "volt drop" is more than "volt"
    row = KINDS[kind]
    what = _AT.sub("", " ".join(head[start:].split()).rstrip(" ,;:"), count=1)
    if not what:
        raise ReadingError(f"“{clip(text)}” does not say {'which lamp' if row.of_lamps else 'where'}", TESTS_HINT)
    names = LampNames.of(harness)
    terminals = terminals_of(harness)
    if row.at_rest:  # made at rest, whatever else is said of it
        return inspection(harness, find_thing(what, harness, terminals, names))
    lamp = plus = minus = ""
    thing = None
    if row.takes_thing:
        what, watched = watching(what)
        thing, lamps = find_thing(what, harness, terminals, names), find_lamps(tokens(watched), names)
        if len(lamps) != 1:
            raise ReadingError(f"“{clip(watched)}” are {len(lamps)} lamps", "name one lamp that was watched")
        lamp = lamps[0]
    elif row.takes_lamp:
        lamps = find_lamps(tokens(what), names)
        if len(lamps) != 1:
            raise ReadingError(f"“{clip(what)}” are {len(lamps)} lamps", "record one look for each lamp")
        lamp = lamps[0]
    else:
        kind, plus, minus = _points(kind, what, terminals, names)
    state_text, done = _set_up(sections, terminals, names)
    if not state_text and not row.battery_off:
        raise ReadingError(f"“{clip(text)}” does not say in which positions the controls stood",
                           "add “when”: … when ignition on, brake pressed")
    state = parse_state(", ".join(state_text), harness) if state_text else harness.state({})
    if row.by_hand and done:
        of_end = "a wire's end is measured with everything connected and working"
        moved = "a lamp is watched with everything connected and working while something is wiggled"
        raise ReadingError(of_end if row.at_end else moved, "leave out what was unplugged or fitted")
    if thing is not None:
        return wiggling(harness, thing, state, lamp)
    return Test(kind, state, plus, minus, lamp, done)


def _points(kind: TestKind, what: str, terminals: Terminals, names: LampNames) -> tuple[TestKind, str, str]:
    """The kind of test and its two points. A voltage between two points other than the body is a drop."""
    body, row = terminals.harness.reference, KINDS[kind]
    thing = _instead_of_points(row, what, terminals.harness, names)
    if thing:
        return (kind, *row.ends(terminals.harness, thing))
    splits = [(what[: m.start()], what[m.end() :]) for m in _TWO.finditer(what)]
    both = [(plus, minus) for a, b in splits if (plus := terminals.find(a)) and (minus := terminals.find(b))]
    one = terminals.find(what) if both or splits else terminals.need(what)
    if one is None:
        plus, minus = both[0] if both else (terminals.need(splits[0][0]), terminals.need(splits[0][1]))
    elif row.needs:
        raise ReadingError(f"“{clip(what)}” is one point; {row.needs}", f"write it like “{clip(what)} to body”")
    elif row.takes_wire:
        plus, minus = one, terminals.other_end(one)
    else:
        plus, minus = one, body
    if row.takes_wire and minus not in terminals.wired_to(plus):
        raise ReadingError(f"no wire leads from {plus} to {minus}",
                           f"from {plus} wires lead to " + listed(terminals.wired_to(plus), "and")
                           if terminals.wired_to(plus) else f"no wire ends at {plus}")
    refused = row.refuses(terminals.harness, plus, minus)
    if refused:
        raise ReadingError(*refused)
    if plus == minus:
        raise ReadingError(f"both probes are on {plus}", "name two different points")
    return (kind_named(row.between) if row.between and minus != body else kind), plus, minus


def _instead_of_points(row: Kind, what: str, harness: Harness, names: LampNames) -> str:
    """The lamp or fuse that is named instead of the two points between which it sits; "" if none is."""
    try:
        if row.named == "fuse":
            return _taken_out(f"fuse {re.sub('^fuse ', '', what, flags=re.IGNORECASE)}", harness, names).target
        lamps = find_lamps(tokens(what), names) if row.named else []
    except TracerError:  # points, then
        return ""
    return lamps[0] if len(lamps) == 1 else ""


def _set_up(
    sections: Sequence[str], terminals: Terminals, names: LampNames
) -> tuple[list[str], tuple[Intervention, ...]]:
    """The words for the vehicle state, and what was done on purpose."""
    states: list[str] = []
    done: list[Intervention] = []
    for section in sections:
        atoms = [a.strip() for a in _ATOMS.split(section) if a.strip()]
        if len(atoms) > _MAX_ATOMS:
            raise ReadingError(f"“{clip(section)}” is too long", "a test has a few conditions")
        at = 0
        while at < len(atoms):
            for size in range(min(4, len(atoms) - at), 0, -1):  # "lamps A and B swapped" holds an "and"
                found = _understood(" and ".join(atoms[at : at + size]), terminals, names)
                if found:
                    done += found
                    at += size
                    break
            else:
                _check_state(atoms[at], terminals, names)
                states.append(atoms[at])
                at += 1
    return states, tuple(done)


def _check_state(atom: str, terminals: Terminals, names: LampNames) -> None:
    """Blame a failed intervention for what is neither an intervention nor a vehicle state."""
    if not any(pattern.fullmatch(" ".join(atom.split())) for _, pattern in _DONE):
        return
    try:
        parse_state(atom, terminals.harness)
    except TracerError:
        for action, pattern in _DONE:
            match = pattern.fullmatch(" ".join(atom.split()))
            if match:
                _intervene(action, match, terminals, names)
        raise ReadingError(f"“{clip(atom)}” is not understood", DONE_HINT) from None


def _understood(text: str, terminals: Terminals, names: LampNames) -> tuple[Intervention, ...]:
    for action, pattern in _DONE:
        match = pattern.fullmatch(" ".join(text.split()))
        if match:
            try:
                return _intervene(action, match, terminals, names)
            except UnknownNameError:
                continue  # another pattern, fewer words, or a vehicle state
            except ReadingError:
                if action is not None or " and " not in text:
                    raise
    return ()


def _intervene(
    action: Action | None, match: re.Match[str], terminals: Terminals, names: LampNames
) -> tuple[Intervention, ...]:
    if action is None:
        return _out(match["target"], terminals.harness, names)
    row, said = ACTIONS[action], match.groupdict()
    target = _find(row.target, said["target"], "", terminals, names)
    other = _find(row.other, said["other"], target, terminals, names) if row.other else ""
    refused = row.refuses(terminals.harness, target, other)
    if refused:
        raise ReadingError(*refused)
    return (Intervention(action, target, other),)


def _find(sort: Target, said: str, at: str, terminals: Terminals, names: LampNames) -> str:
    """The thing of a sort that a text names; a leg leads to a node from the splice `at`."""
    harness = terminals.harness
    match sort:
        case "node":
            return terminals.need(said)
        case "lamp":
            return find_bulb(said, harness, names)
        case "splice":
            return _named(said, {s.casefold(): s for s in harness.splices}, f"no splice “{clip(said)}”")
        case "leg":
            far, ends = terminals.need(said), harness.far_ends(at)
            return _named(far, {n.casefold(): n for n in ends}, f"no wire leads from splice {at} to {far}")
        case "bullet":
            node = terminals.need(said)
            bullets = [j.a for j in harness.joints if j.kind == "bullet"]
            return _named(node, {n.casefold(): n for n in bullets}, f"{node} is no bullet")
        case "part":
            parts = parts_wired(harness)
            known = {n.casefold(): p for p in parts for n in (p, *harness.parts[p].also)}
            return _named(said, known, f"no part “{clip(said)}” with wires")
    return _taken_out(f"{sort} {said}", harness, names).target


def _named(said: str, known: Mapping[str, str], error: str) -> str:
    if said.casefold() not in known:
        raise UnknownNameError(error, did_you_mean(said, dict.fromkeys(known.values())))
    return known[said.casefold()]


def _out(said: str, harness: Harness, names: LampNames) -> tuple[Intervention, ...]:
    """What was unplugged, pulled or taken out, one thing or several."""
    try:
        return (_taken_out(said, harness, names),)
    except UnknownNameError:
        # "C2 and C3 unplugged". Lamps are left out: in "lights side and C2 unplugged" the first is a state.
        own = {n.casefold(): n for n in (*harness.connectors, *fuses(harness))}
        several = [own.get(s.casefold()) for s in _ATOMS.split(said) if s]
        if len(several) < 2 or None in several:
            raise
        return tuple(_taken_out(s, harness, names) for s in several if s)


def _taken_out(said: str, harness: Harness, names: LampNames) -> Intervention:
    """Unplugging, pulling or taking out whatever the name is of."""
    match = re.fullmatch(r"(?:the )?(?:(fuse|connector|bullet|lamp|bulb) )?(.+)", said.strip(), re.IGNORECASE)
    assert match is not None
    what, name = (match.group(1) or "").lower(), match.group(2)
    whole = name_words(said)
    if what in ("", "fuse"):
        # By its number alone, or by what it feeds with the word "fuse": "lights side" is no fuse. Nor are the
        # words of "lights side and side light fuse", though as a set they are those of the side light fuse:
        # at most a "the" may be added.
        found = [
            f for f, also in fuses(harness).items()
            if whole - {"fuse"} == name_words(f)
            or ("fuse" in whole and any(whole - {"fuse"} == name_words(n) - {"fuse"} for n in also
                                        if len(tokens(n)) >= len(tokens(said)) - 1))
        ]
        if len(found) == 1:
            return Intervention(_TAKEN_OUT["fuse"], found[0])
        if what:
            raise UnknownNameError(f"no fuse “{clip(name)}”", did_you_mean(name, fuses(harness)))
    bullets = {j.a.casefold(): j.a for j in harness.joints if j.kind == "bullet"}
    own = re.sub(r"(\d+) of (?:the )?(?:block )?(.+)", r"\2.\1", name).partition(", ")[0].casefold()
    if what == "bullet" or (not what and own in bullets):
        return Intervention(_TAKEN_OUT["bullet"], _named(own, bullets, f"no bullet “{clip(name)}”"))
    if what in ("", "connector"):
        connectors = [c for c in harness.connectors if c.casefold() == name.casefold()]
        if len(connectors) == 1:
            return Intervention(_TAKEN_OUT["connector"], connectors[0])
        if what:
            raise UnknownNameError(f"no connector “{clip(name)}”", did_you_mean(name, harness.connectors))
    if name.casefold() == "battery":
        return Intervention(_TAKEN_OUT["battery"], "battery")
    try:
        return Intervention(_TAKEN_OUT["lamp"], find_bulb(name, harness, names))
    except UnknownNameError as error:
        if what:
            raise
        known = [*harness.connectors, *fuses(harness), *bulb_positions(harness)]
        raise UnknownNameError(f"no connector, fuse or lamp “{clip(name)}”", did_you_mean(name, known)) from error
