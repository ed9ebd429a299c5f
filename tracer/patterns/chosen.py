"""Which parts, controls, zones and fuses a vehicle has by its answers, and which line each terminal is on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from tracer.patterns.answers import Answers
from tracer.patterns.pattern_files import (
    CONSUMERS,
    LampRow,
    PartRow,
    Settings,
    ZoneRow,
    each_text,
    in_sides,
    questions_asked,
    trade,
)
from tracer.patterns.questions import holds

SIDES: Final = ("left", "right")
SOCKET: Final = "X1"
CASE: Final = "case"  # of a switch that is bolted on and earths its terminal 31 so


class Part(Struct, frozen=True):
    """A part of the vehicle. `takes`, `gives`: terminal → line; `earth_at`: it is bolted to its earth point.
    `asked`: the questions that it stands on."""

    name: str
    kind: str
    zone: str
    place: str
    access: str
    settings: Mapping[str, Settings]
    takes: Mapping[str, str]
    gives: Mapping[str, str]
    pattern: str
    earth_at: bool = False
    also: tuple[str, ...] = ()
    asked: frozenset[str] = frozenset()
    lamps: Mapping[str, str] = field(default_factory=dict)  # names of a unit's bulb → bulb

    def of(self, *kinds: str) -> bool:
        """Whether it is of one of these kinds. Rows of patterns have no devices yet that could be asked."""
        return self.kind in kinds


class Vehicle(Struct, frozen=True):
    """What the answers make: parts, controls by name, zones by name. `lines`: line → the line that it is."""

    known: Mapping[str, str]
    parts: tuple[Part, ...]
    controls: Mapping[str, Settings]
    zones: Mapping[str, ZoneRow]
    lines: Mapping[str, str]

    def line(self, name: str) -> str:
        """The line that a line is part of, where nothing lies between the two."""
        while name in self.lines:
            name = self.lines[name]
        return name


def vehicle_of(answers: Answers) -> Vehicle:
    """The vehicle that answers describe."""
    known = answers.known()
    words = _words(known)
    parts = [p for row in trade().parts if holds(row.when, known) for p in _parts(row, known, words)]
    sources = {k: v.format(**words) for k, v in trade().supplies.items()}
    parts = [q for p in parts if (q := _without_idle_outputs(p, parts, sources)) is not None]
    given = {line for p in parts for line in p.gives.values()}
    fuses = list(_fuses(parts, known, given, sources))
    fed = {line for p in fuses for line in p.feeds}
    lines = {k: v for k, v in sources.items() if k not in given and k not in fed}
    lines |= {line: p.out for p in fuses for line in p.feeds if line != p.out}
    controls = {
        row.name: row.settings for row in trade().controls
        if holds(row.when, known) and any(p.settings.get("control") == row.name for p in parts)
    }
    zones = {z.zone: z for row in trade().zones if holds(row.when, known) for z in _zones(row, words)}
    return Vehicle(known, (*parts, *(f.part for f in fuses)), controls, zones, lines)


def _words(known: Mapping[str, str]) -> dict[str, str]:
    """What stands for the words in braces."""
    offside = "right" if known["road"] == "left" else "left"
    alone = known["vehicle"] in ("trailer", "caravan")
    return {
        **{k: v for k, v in known.items() if k != "title"}, "offside": offside,
        "nearside": "left" if offside == "right" else "right",
        "socket zone": "towing vehicle" if alone else "rear", "socket place": "draw bar" if alone else "tow bar",
        "side": "{side}",
    }


def _parts(row: PartRow, known: Mapping[str, str], words: Mapping[str, str]) -> Iterator[Part]:
    for side in SIDES if row.sides else ("",):
        def said(text: str, side: str = side) -> str:
            return in_sides(text.format(**words), side)

        lamps = [r for r in row.lamps if holds(r.when, known) and r.only in ("", _which(side, words))]
        if row.lamps and not lamps:
            continue
        takes = {said(t): said(line) for t, line in row.takes.items()}
        asked = {*row.told, *questions_asked(row.when)} | {q for r in lamps for q in questions_asked(r.when)}
        settings = {k: each_text(v, said) for k, v in row.settings.items()}
        for key in ("lamp", "power"):
            if key in settings:
                settings[key] = bulb(settings[key], known)
        if lamps and all(r.own_earth for r in lamps):  # its common earth is what takes the current back
            takes["earth"] = said(lamps[0].to)
            lamps = [replace(r, own_earth="", to="") for r in lamps]
        settings |= _unit(lamps, known, said)
        for r in lamps:
            takes |= {name.strip(): said(line) for name, line in zip(r.names.split("+"), r.on, strict=True)}
            takes |= {r.own_earth: said(r.to)} if r.own_earth else {}
        common = not lamps or any(not r.own_earth for r in lamps)
        earth = row.kind in CONSUMERS and "earth" not in takes and common
        bolted = earth and bool(row.earthed) and known.get(row.earthed) == "holder" and known["body"] == "steel"
        if earth and not bolted:
            takes["earth"] = "earth"
        if row.earthed == CASE and known["body"] == "steel":
            bolted, takes = True, {t: line for t, line in takes.items() if line != "earth"}
        elif row.earthed and row.earthed != CASE:
            asked.add(row.earthed)
        yield Part(
            said(row.name), row.kind, said(row.zone), said(row.place), said(row.access), settings, takes,
            _poles({said(t): said(line) for t, line in row.gives.items()}, known), row.pattern, bolted,
            tuple(said(a) for a in row.also), frozenset(asked), {r.names: bulb(r.bulb, known) for r in lamps},
        )


def _which(side: str, words: Mapping[str, str]) -> str:
    return "nearside" if side == words["nearside"] else "offside"


def _poles(gives: Mapping[str, str], known: Mapping[str, str]) -> dict[str, str]:
    """The battery's poles by name: which of them is earthed is an answer."""
    earthed, live = ("+", "-") if known["earth"] == "positive" else ("-", "+")
    return {{"live": live, "earthed": earthed}.get(t, t): line for t, line in gives.items()}


def bulb(name: str, known: Mapping[str, str]) -> str:
    """The bulb or the watts that stand behind a name of bulbs.yaml."""
    if name in ("headlamp", "inner headlamp"):
        name = f"{name} {known['headlamp bulbs']}"
    return trade().bulbs[name][known["volts"]] if name in trade().bulbs else name


def _unit(lamps: list[LampRow], known: Mapping[str, str], said: object) -> dict[str, Settings]:
    """The settings of a lamp unit: its bulbs, what they are for, earth terminals of their own."""
    if not lamps:
        return {}
    assert callable(said)
    out: dict[str, Settings] = {"lamps": {r.names: bulb(r.bulb, known) for r in lamps}}
    own = {r.names: r.own_earth for r in lamps if r.own_earth}
    if own:
        out["own earth"] = own
    purposes = {said(lamp): [said(p) for p in told] for r in lamps for lamp, told in r.purposes.items()}
    if purposes:
        out["for"] = purposes
    return out


def _without_idle_outputs(part: Part, parts: list[Part], sources: Mapping[str, str]) -> Part | None:
    """The part without contacts to lines that nothing takes, such as a stalk without front indicators; None where
    that leaves nothing of it."""
    taken = {line for p in parts for line in p.takes.values()}
    for _ in sources:
        taken |= {sources[line] for line in taken if line in sources}
    idle = {t for t, line in part.gives.items() if line not in taken and part.of("switch")}
    if not idle:
        return part
    contacts = {
        position: [pair for pair in pairs if not set(pair.split("-")) & idle]
        for position, pairs in part.settings["contacts"].items()
    }
    if not any(contacts.values()):
        return None
    settings = {**part.settings, "contacts": {p: pairs for p, pairs in contacts.items() if pairs}}
    return replace(part, settings=settings, gives={t: line for t, line in part.gives.items() if t not in idle})


class _Fuse(Struct, frozen=True):
    part: Part
    out: str
    feeds: tuple[str, ...]


def _fuses(
    parts: list[Part], known: Mapping[str, str], given: set[str], sources: Mapping[str, str]
) -> Iterator[_Fuse]:
    """The fuses that feed something that is there."""
    wanted = {line for p in parts for line in p.takes.values()}
    for _ in range(len(sources)):  # a line that only others hang on is wanted too
        wanted |= {sources[line] for line in wanted if line in sources and line not in given}
    number = 0
    for row in trade().fuses:
        feeds = tuple(line for line in row.feeds if line in wanted and line not in given)
        if not holds(row.when, known) or not feeds:
            continue
        number += 1
        alone = known["vehicle"] in ("trailer", "caravan")
        zone, place = ("dash", "fuse box")
        if row.source == "battery pole" or alone:
            zone = "towing vehicle" if alone else "frame" if known["vehicle"] == "motorcycle" else "engine bay"
            place = "towing vehicle" if alone else "beside the battery"
        elif known["vehicle"] == "motorcycle":
            zone, place = "frame", "under the saddle"
        settings: dict[str, Settings] = {"rating": ""}
        if known["fuse type"] != "blade":
            settings["type"] = known["fuse type"]
        out = f"F{number} out"
        yield _Fuse(Part(
            f"F{number}", "fuse", zone, place, "1 min", settings, {"in": row.source}, {"out": out}, "fuses",
            asked=frozenset(("fuses",)), also=(f"{_said(feeds)} fuse",),
        ), out, feeds)


def _said(lines: tuple[str, ...]) -> str:
    """The lines that a fuse feeds, as a name for it: “stop, reversing and indicator”."""
    names = [line.removesuffix(" supply") for line in lines]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _zones(row: ZoneRow, words: Mapping[str, str]) -> Iterator[ZoneRow]:
    for side in SIDES if row.sides else ("",):
        def said(text: str, side: str = side) -> str:
            return in_sides(text.format(**words), side)

        yield replace(row, zone=said(row.zone), plug=(said(row.plug[0]), said(row.plug[1])),
                      joints=(said(row.joints[0]), said(row.joints[1])), earth=tuple(map(said, row.earth)))

