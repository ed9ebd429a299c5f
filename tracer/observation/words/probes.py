"""Tests as people type them: "volts at left rear.stop when brake pressed", "ohms C2.5 to E4 with C2 unplugged"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from tracer.errors import ReadingError, TracerError, UnknownNameError, did_you_mean
from tracer.harness.file.nodes import clip
from tracer.harness.inspectable import bulb_positions
from tracer.harness.model import Harness
from tracer.harness.terminal_words import parts_wired
from tracer.observation.actions import Intervention
from tracer.observation.evidence import Test, TestKind, inspection, wiggling
from tracer.observation.words.looked_over import find_bulb, find_thing, watching
from tracer.observation.words.patterns import Pattern
from tracer.observation.words.printed_tests import read_printed
from tracer.observation.words.states import parse_state
from tracer.observation.words.symptom_data import fuses
from tracer.observation.words.terminals import SideUnsaidError, Terminals, terminals_of
from tracer.observation.words.words import LampNames, check_length, find_lamps, listed, name_words, tokens

TESTS_HINT: Final = (
    "write it like “volts at left rear.stop when brake pressed”, “volt drop A to B when …”, “ohms A to B”, "
    "“test lamp at A when …”, “amps A to B when …”, “look left rear tail when …” or “inspect A to B”"
)
DONE_HINT: Final = (
    "such as “C2 unplugged”, “F3 pulled”, “new fuse F3”, “lamp left rear stop out”, “earth lead at left rear.earth”, "
    "“feed lead from A to B”, “lamps A and B swapped”, “splice S1 parted at the wire to B”, “wires off light switch” "
    "or “battery disconnected”"
)
_CALLED: Final[tuple[tuple[TestKind, str], ...]] = (
    ("drop", r"volt(?:age|s)?[\s-]*drop"), ("volts", r"volt(?:age|s)?"), ("ohms", r"ohms?|resistance|continuity"),
    ("LED tester", r"led[\s-]*(?:tester|test[\s-]*(?:lamp|light))"), ("test lamp", r"test[\s-]*(?:lamp|light)"),
    ("current", r"(?:clamp(?:[\s-]*(?:ammeter|meter))?[\s,]*)?(?:amp(?:ere)?s|current)"
                r"|clamp(?:[\s-]*(?:ammeter|meter))?"),
    ("inspect", r"inspect(?:ion(?:\s+of)?)?|looks?\s+(?:along|over|into)"),
    ("wiggle", r"wiggl(?:e|ed|ing)|shak(?:e|ing)|tap(?:ping)?"),
    ("look", r"looks?(?:\s+at)?"),
)
_KINDS: Final = tuple(
    (kind, Pattern(rf"\s*(?:measure\s+|the\s+)*(?:{pattern})(?![\w.])[\s:]*", re.IGNORECASE))
    for kind, pattern in _CALLED
)
_SECTION = Pattern(r"(?<!\S)(?:when|while|with)(?!\S)", re.IGNORECASE)
_AT = Pattern(r"\A(?:(?:at|on|from|across|between|of|the|in)\s+)*", re.IGNORECASE)
_TWO = Pattern(r"\s+(?:to|and|against)\s+(?:the\s+)?", re.IGNORECASE)
_ATOMS = Pattern(r"\s*(?:[,;]|\band\b)\s*", re.IGNORECASE)


def _pattern(text: str) -> Pattern:
    return Pattern(rf"(?:fit |(?:a|the) |temporary )*(?:{text})", re.IGNORECASE)


_OUT = r"(?:is |are )?(?:unplugged|disconnected|apart|pulled(?: out| apart)?|removed|taken out|out)"
_ONE = r"((?:(?! and ).)+?)"
_TO_BODY = r"(?: to (?:clean )?body(?: metal)?)?"
_DONE: Final = (
    ("fuse", _pattern(r"new fuse (?:in |at |for )?(?:the )?(.+)")),
    ("swap", _pattern(rf"(?:lamps? |bulbs? )?{_ONE} and {_ONE} (?:swapped|changed over|exchanged)")),
    ("swap", _pattern(rf"(?:swap|change over|exchange) (?:the )?(?:lamps? |bulbs? )?{_ONE} and {_ONE}")),
    ("earth", _pattern(r"earth(?:ing)?(?: lead| wire)?(?: \(fused\))? (?:at|on|to|from) (.+?)" + _TO_BODY)),
    ("feed", _pattern(r"(?:fused )?feed(?: lead| wire)? from (?P<live>.+?) to (?P<fed>.+)")),
    ("feed", _pattern(r"(?:fused )?feed(?: lead| wire)? (?:at |on |to )?(?P<fed>.+?) from (?P<live>.+)")),
    ("feed", _pattern(r"(?P<fed>.+?) fed from (?P<live>.+)")),
    ("off", _pattern(r"(?:take )?(?:the )?wires (?:taken )?off (?:the )?(.+)")),
    ("part", _pattern(r"(?:splice )?(?P<splice>\S+) parted (?:at |with )?(?:the )?(?:wire |leg )?to (?P<far>.+)")),
    ("out", _pattern(rf"(.+?) {_OUT}")),
    ("out", _pattern(r"(?:unplug|disconnect|pull(?: out)?|remove|take out) (?:the )?(.+)")),
)
_NEEDS: Final = {"ohms": "a resistance has two ends", "drop": "a volt drop lies between two"}
_MAX_ATOMS: Final = 40


def parse_test(text: str, harness: Harness) -> Test:
    """Understand a test that somebody did.

    Args:
        text: `volts|volt drop|ohms|test lamp|LED tester|amps|look <points or lamp> when <state> with <what was
            done>`, `inspect <wire, plug, splice, earth point, lamp, holder or part>`, or `wiggle <such a thing> and
            watch <lamp> when <state>`. A connector way "C2.3" is
            its incoming half, "C2.3'" or "C2.3 far side" the other.

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
    kind, start = next(((k, m.end()) for k, p in _KINDS if (m := p.match(head))), (None, 0))
    if kind is None:
        raise ReadingError(f"“{clip(text)}” does not say which kind of test", TESTS_HINT)
    what = _AT.sub("", " ".join(head[start:].split()).rstrip(" ,;:"), count=1)
    if not what:
        raise ReadingError(f"“{clip(text)}” does not say {'which lamp' if kind == 'look' else 'where'}", TESTS_HINT)
    names = LampNames.of(harness)
    terminals = terminals_of(harness)
    if kind == "inspect":  # made at rest, whatever else is said of it
        return inspection(harness, find_thing(what, harness, terminals, names))
    lamp = plus = minus = ""
    thing = None
    if kind == "wiggle":
        what, watched = watching(what)
        thing, lamps = find_thing(what, harness, terminals, names), find_lamps(tokens(watched), names)
        if len(lamps) != 1:
            raise ReadingError(f"“{clip(watched)}” are {len(lamps)} lamps", "name one lamp that was watched")
        lamp = lamps[0]
    elif kind == "look":
        lamps = find_lamps(tokens(what), names)
        if len(lamps) != 1:
            raise ReadingError(f"“{clip(what)}” are {len(lamps)} lamps", "record one look for each lamp")
        lamp = lamps[0]
    else:
        kind, plus, minus = _points(kind, what, terminals)
    state_text, done = _set_up(sections, terminals, names)
    if not state_text and kind != "ohms":
        raise ReadingError(f"“{clip(text)}” does not say in which positions the controls stood",
                           "add “when”: … when ignition on, brake pressed")
    state = parse_state(", ".join(state_text), harness) if state_text else harness.state({})
    if thing is not None:
        if done:
            raise ReadingError("a lamp is watched with everything connected and working while something is wiggled",
                               "leave out what was unplugged or fitted")
        return wiggling(harness, thing, state, lamp)
    return Test(kind, state, plus, minus, lamp, done)


def _points(kind: TestKind, what: str, terminals: Terminals) -> tuple[TestKind, str, str]:
    """The kind of test and its two points. A voltage between two points other than the body is a drop."""
    body = terminals.harness.reference
    splits = [(what[: m.start()], what[m.end() :]) for m in _TWO.finditer(what)]
    both = [(plus, minus) for a, b in splits if (plus := terminals.find(a)) and (minus := terminals.find(b))]
    one = terminals.find(what) if both or splits else terminals.need(what)
    if one is None:
        plus, minus = both[0] if both else (terminals.need(splits[0][0]), terminals.need(splits[0][1]))
    elif kind in ("ohms", "drop"):
        raise ReadingError(f"“{clip(what)}” is one point; {_NEEDS[kind]}", f"write it like “{clip(what)} to body”")
    elif kind == "current":
        plus, minus = one, terminals.other_end(one)
    else:
        plus, minus = one, body
    if kind == "current" and minus not in terminals.wired_to(plus):
        raise ReadingError(f"no wire leads from {plus} to {minus}",
                           f"from {plus} wires lead to " + listed(terminals.wired_to(plus), "and")
                           if terminals.wired_to(plus) else f"no wire ends at {plus}")
    if plus == minus:
        raise ReadingError(f"both probes are on {plus}", "name two different points")
    return ("drop" if kind == "volts" and minus != body else kind), plus, minus


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
                if action != "out" or " and " not in text:
                    raise
    return ()


def _intervene(
    action: str, match: re.Match[str], terminals: Terminals, names: LampNames
) -> tuple[Intervention, ...]:
    harness = terminals.harness
    if action == "earth":
        return (Intervention("earth lead", terminals.need(match.group(1))),)
    if action == "feed":
        return (Intervention("feed lead", terminals.need(match["fed"]), terminals.need(match["live"])),)
    if action == "swap":
        a, b = (find_bulb(match.group(i), harness, names) for i in (1, 2))
        return (_swap(a, b, harness),)
    if action == "off":
        parts = parts_wired(harness)
        found = {n.casefold(): p for p in parts for n in (p, *harness.parts[p].also)}.get(match.group(1).casefold())
        if found is None:
            said = match.group(1)
            raise UnknownNameError(f"no part “{clip(said)}” with wires", did_you_mean(said, parts))
        return (Intervention("take wires off", found),)
    if action == "part":
        return (_parted(match["splice"], terminals.need(match["far"]), harness),)
    said = match.group(1)
    if action == "fuse":
        return (Intervention("new fuse", _taken_out(f"fuse {said}", harness, names).target),)
    try:
        return (_taken_out(said, harness, names),)
    except UnknownNameError:
        # "C2 and C3 unplugged". Lamps are left out: in "lights side and C2 unplugged" the first is a state.
        own = {n.casefold(): n for n in (*harness.connectors, *fuses(harness))}
        several = [own.get(s.casefold()) for s in _ATOMS.split(said) if s]
        if len(several) < 2 or None in several:
            raise
        return tuple(_taken_out(s, harness, names) for s in several if s)


def _parted(said: str, far: str, harness: Harness) -> Intervention:
    splice = {s.casefold(): s for s in harness.splices}.get(said.casefold())
    if splice is None:
        raise UnknownNameError(f"no splice “{clip(said)}”", did_you_mean(said, harness.splices))
    ends = harness.far_ends(splice)
    if far not in ends:
        raise UnknownNameError(f"no wire leads from splice {splice} to {far}", did_you_mean(far, ends))
    return Intervention("part splice", splice, far)


def _swap(a: str, b: str, harness: Harness) -> Intervention:
    count = {bulb: sum(f.bulb == bulb for f in harness.lamps()) for bulb in (a, b)}
    if a == b:
        raise ReadingError(f"{a} cannot be changed over with itself", "name two lamps")
    if count[a] != count[b]:
        raise ReadingError(f"{a} and {b} do not fit each other's holder", "change over lamps of the same kind")
    return Intervention("swap lamps", a, b)


def _taken_out(said: str, harness: Harness, names: LampNames) -> Intervention:
    """Unplugging, pulling or taking out whatever the name is of."""
    match = re.fullmatch(r"(?:the )?(?:(fuse|connector|lamp|bulb) )?(.+)", said.strip(), re.IGNORECASE)
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
            return Intervention("pull fuse", found[0])
        if what:
            raise UnknownNameError(f"no fuse “{clip(name)}”", did_you_mean(name, fuses(harness)))
    if what in ("", "connector"):
        connectors = [c for c in harness.connectors if c.casefold() == name.casefold()]
        if len(connectors) == 1:
            return Intervention("unplug", connectors[0])
        if what:
            raise UnknownNameError(f"no connector “{clip(name)}”", did_you_mean(name, harness.connectors))
    if name.casefold() == "battery":
        return Intervention("disconnect battery", "battery")
    try:
        return Intervention("take out lamp", find_bulb(name, harness, names))
    except UnknownNameError as error:
        if what:
            raise
        known = [*harness.connectors, *fuses(harness), *bulb_positions(harness)]
        raise UnknownNameError(f"no connector, fuse or lamp “{clip(name)}”", did_you_mean(name, known)) from error
