"""What a repair in the tool's words does to the vehicle: the elements it names.

A repair is right if it names the element where the fault sits (`faults.Fault.cures`; the rule stands there). Several
repairs in one sentence are right if one of them is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache

from tests.bench.truth.faults import Key, wire_key

_TWO_WIRES = r"part and repair (.+) – (.+) and (.+) – (.+)"
_FORMS: tuple[tuple[str, Callable[[re.Match[str]], Key]], ...] = (
    (r"charge or renew (.+)", lambda m: ("part", m[1])),
    (r"put the (?:charging|regulator) right", lambda m: ("charging",)),
    (r"clean the clamp on (.+)", lambda m: ("clamp", m[1])),
    (r"clean or renew way (\S+)", lambda m: ("way", m[1].rstrip("'"))),
    (r"clean or renew the eyelet of the (?:\S+ )?wire from (.+) on earth point (.+)",
     lambda m: ("eyelet", m[2], m[1].rstrip("'"))),
    (r"clean the clips of (.+)", lambda m: ("clip", m[1])),
    (r"new fuse (.+)", lambda m: ("fuse", m[1])),
    (r"clean the holder of (.+)", lambda m: ("holder", m[1])),
    (r"new lamp: (.+)", lambda m: ("lamp", m[1])),
    (r"dry, clean and seal (.+)", lambda m: ("unit", m[1])),
    (r"clean the mounting of (.+)", lambda m: ("mounting", m[1])),
    (r"clean and remake earth point (.+)", lambda m: ("earth", m[1])),
    (r"remake splice (.+)", lambda m: ("splice", m[1])),
    (r"change ways (\S+) and (\S+) of (.+) back", lambda m: ("swap", m[3], *sorted((m[1], m[2])))),
    (r"change the wires (.+) and (.+) at (.+) back", lambda m: ("swap", m[3], *sorted((m[1], m[2])))),
    (r"dry and clean (.+)", lambda m: ("connector", m[1])),
    (r"plug (.+) together", lambda m: ("plugged", m[1])),
    (r"part and repair the (?:(\S+) and )?(\S+) wires in the (.+) loom",
     lambda m: ("joined", m[3], *sorted({c for c in (m[1], m[2]) if c}))),
    (_TWO_WIRES,
     lambda m: ("joined wires", *sorted(n.rstrip("'") for n in m.groups()))),
    (r"clean and tighten or renew the terminal on (.+)", lambda m: ("terminal", m[1])),
    (r"free the contact in the holder of (.+)", lambda m: ("holder", m[1])),
    (r"change the wires on (.+) and (.+) back", lambda m: ("feeds", *sorted((m[1], m[2])))),
    (r"clean bullet (\S+) \(.+\) and push it home", lambda m: ("bullet", m[1])),
    (r"take off the wire that bypasses (.+)", lambda m: ("bypass", m[1])),
    (r"join the (?:\S+ )?earth wire (.+) – (.+) again", lambda m: wire_key(m[1], m[2])),
    (r"go through all lamp holders and free or renew .+", lambda m: ("holders",)),
    (r"remake the old repair in the (?:\S+ )?wire (.+) – (.+)", lambda m: wire_key(m[1], m[2])),
    (r"new lamps: (.+) and (.+)", lambda m: ("lamps", m[1], m[2])),
    (r"take out or insulate the stray wire on (.+)", lambda m: ("stray", m[1])),
    (r"adjust (.+)", lambda m: ("adjusted", m[1])),
    (r"free or renew (.+)", lambda m: ("part", m[1])),
    (r"(?:repair|renew) the (?:\S+ )?(?:wire|strap) (.+) – (.+)", lambda m: wire_key(m[1], m[2])),
    (r"take off what was added at (.+)", lambda m: ("added", m[1])),
    (r"turn (.+) round.*", lambda m: ("turned", m[1])),
    (r"change (?:the lamps|over the wires at) (.+)", lambda m: ("changed over", m[1])),
    (r"(?:repair or renew|clean or renew|renew) (.+)", lambda m: ("part", m[1])),
)


def keys_of(repair: str) -> tuple[Key, ...]:
    """The elements that a repair names; a sentence that joins several is taken apart at its "and"s."""
    whole, apart = _one(repair), _apart(repair)
    if apart is not None:
        return (*keys_of(apart[0]), *keys_of(apart[1]))
    if whole is not None and whole[0] == "joined wires":  # both are repaired while they are parted
        pair = re.fullmatch(_TWO_WIRES, repair.strip())
        assert pair is not None
        return (whole, wire_key(pair[1], pair[2]), wire_key(pair[3], pair[4]))
    return (whole,) if whole is not None else ()


def _apart(repair: str) -> tuple[str, str] | None:
    """The first of several repairs in a sentence, and the rest."""
    for at in (m.start() for m in re.finditer(r" and ", repair)):
        left, right = repair[:at], repair[at + 5:]
        if _one(left) and keys_of(left) and keys_of(right):
            return left, right
    return None


def _one(text: str) -> Key | None:
    for form, made in _FORMS:
        match = re.fullmatch(form, text.strip())
        if match is not None:
            return made(match)
    return None


def right(repair: str, cures: Iterable[Key]) -> bool:
    """Whether a repair in the tool's words cures the fault."""
    plain = {_plain(k) for k in cures}
    return any(_plain(k) in plain for k in keys_of(repair))


def credit(repairs: Sequence[str], things: Sequence[Sequence[Key]]) -> list[float]:
    """To which of these repairs it goes that these things are wrong, each with its right repairs, the most proper
    first. To that which names just them; of two things that no repair names together, since one of them explains all
    that was seen, to each half. So of all that may be wrong each goes to one repair, as stated shares do."""
    named = [_named(r) for r in repairs]
    if len(things) > 1:
        own = [{_plain(k) for k in cures} for cures in things]
        both = [float(many > 1 and all(keys & cures for cures in own)) for keys, many in named]
        if any(both):
            return both
    out = [0.0] * len(repairs)
    for cures in things:
        hits = next((found for k in cures if (found := _naming(named, _plain(k)))), [])
        for n in hits:
            out[n] += 1 / len(things)
    return out


def _naming(named: Sequence[tuple[frozenset[Key], int]], key: Key) -> list[int]:
    """Which of these name one thing alone, or two lamps where both are dead."""
    lamps: frozenset[Key] = frozenset(("lamp", bulb) for bulb in key[1:]) if key[0] == "lamps" else frozenset()
    return [n for n, (keys, many) in enumerate(named) if (many == 1 and key in keys) or (many > 1 and keys == lamps)]


@lru_cache(1 << 14)
def _named(repair: str) -> tuple[frozenset[Key], int]:
    """The elements that a repair names, and how many things it is that are repaired."""
    return frozenset(_plain(k) for k in keys_of(repair)), 1 if _apart(repair) is None else 2


def renews(repair: str) -> bool:
    """Whether something is renewed or remade, rather than cleaned, set or changed back: what is lost if it was in
    vain is then a part, and not minutes alone."""
    return re.match(r"clean|dry|adjust|free|plug|change|turn|take off", repair.strip()) is None


def _plain(key: Key) -> Key:
    """A wire is the same wire whichever side of a plug its end is named by."""
    return (key[0], *sorted(p.rstrip("'") for p in key[1:])) if key[0] == "wire" else key
