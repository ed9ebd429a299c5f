"""What each line carries, and with that its cross-section and the ratings of its fuse.

Currents are added up from what hangs on a line, of exclusive positions the most. A fuse bears a quarter more than
that; a wire bears its current and what its fuse lets through, and drops at most a fiftieth of the voltage. Ratings
and sections are those of the trade (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from tracer.checking.behaviour import PROTECTED_AT, ampacity
from tracer.harness.lamp_laws import lamp_laws
from tracer.patterns.chosen import Part, Vehicle
from tracer.patterns.pattern_files import CONSUMERS
from tracer.standards.conductors import conductor_ohm
from tracer.standards.fuses import carries_of
from tracer.standards.sockets import ISO_11446_MM2
from tracer.units import parse_quantity

SECTIONS: Final = (0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0)
RATINGS: Final[Mapping[str, tuple[float, ...]]] = {
    "British glass": (10, 15, 20, 25, 35, 50, 60, 70, 100), "glass": (5, 8, 10, 15, 20, 25, 30, 35, 50),
    "ceramic": (5, 8, 16, 25, 40, 50), "blade": (5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60),
}
SPARE: Final = 1.25
_DROP: Final = 0.02  # of the system's voltage along one line
_DROP_6V: Final = 0.012  # where every tenth of a volt costs light
_THICK: Final = 6.0  # nobody takes a thicker wire for its volt drop alone
_BATTERY_MM2: Final = 16.0  # the starter's cables
_THIN: Final = {"instruments": 0.75}


class Loads:
    """Amperes of every line of a vehicle, and what follows from them."""

    def __init__(self, vehicle: Vehicle) -> None:
        self._v = vehicle
        self._volts = parse_quantity(vehicle.known["volts"], "voltage")
        self._kind = vehicle.known["fuse type"]
        self._drop = _DROP_6V if self._volts < 7 else _DROP
        self._amps: dict[str, float] = {}
        self._rated: dict[str, float] = {}
        self._fed: dict[str, list[tuple[Part, str]]] = {}
        for part in vehicle.parts:
            for terminal, line in part.takes.items():
                self._fed.setdefault(vehicle.line(line), []).append((part, terminal))
        self._fuse_of = {vehicle.line(p.gives["out"]): p for p in vehicle.parts if p.kind == "fuse"}

    def amps(self, line: str, seen: frozenset[str] = frozenset()) -> float:
        """The most that a line carries."""
        line = self._v.line(line)
        if line in seen or line == "earth":
            return 0.0
        if line not in self._amps:
            total = sum(self._into(p, t, seen | {line}) for p, t in self._fed.get(line, []))
            if seen:
                return total
            self._amps[line] = total
        return self._amps[line]

    def _into(self, part: Part, terminal: str, seen: frozenset[str]) -> float:
        """What a part takes in at a terminal: its own current, or what it passes on in its worst position."""
        if part.of(*CONSUMERS):
            return self._own(part, terminal)
        if part.of("switch"):
            return max((sum(self.amps(part.gives[t], seen) for t in _joined(pairs, terminal) if t in part.gives)
                        for pairs in part.settings["contacts"].values()), default=0.0)
        if part.of("relay") and terminal != "30":
            return self._volts / (85.0 * (self._volts / 12.0) ** 2)
        if part.of("socket"):
            return self._behind_socket(part, terminal, seen)
        return sum(self.amps(line, seen) for line in part.gives.values())

    def _behind_socket(self, part: Part, way: str, seen: frozenset[str]) -> float:
        lines = [p.gives[way] for p in self._v.parts if p.kind == "socket" and way in p.gives]
        if lines:
            return sum(self.amps(line, seen) for line in lines)
        return 21.0 / self._volts  # nothing is coupled now, and something may be

    def _own(self, part: Part, terminal: str) -> float:
        if part.of("load"):
            return parse_quantity(str(part.settings["power"]), "power") / self._volts if terminal == "feed" else 0.0
        bulbs = part.lamps or {"feed": str(part.settings["lamp"])}
        for names, lamp in bulbs.items():
            for name, law in zip(names.split("+"), lamp_laws(lamp, self._volts), strict=True):
                if name.strip() == terminal:
                    return law.watts * 1.15 / self._volts  # what they take at the running voltage
        return 0.0

    def watts_of_indicators(self) -> float:
        """The full lamp set of one side, as a flasher unit is marked with."""
        best = 0.0
        for side in ("left", "right"):
            total = 0.0
            for part in self._v.parts:
                if part.name.startswith(("indicator tell", "left indicator tell", "right indicator tell")):
                    continue
                for names, lamp in (part.lamps or {"": str(part.settings.get("lamp", ""))}).items():
                    if _flashes(part, names, side):
                        total += lamp_laws(lamp, self._volts)[0].watts
            best = max(best, total)
        return best

    def rating(self, fuse: Part) -> float:
        """Amperes printed on a fuse."""
        least = SPARE * self.amps(fuse.gives["out"]) / carries_of(self._kind)
        return float(next((r for r in RATINGS[self._kind] if r >= least), RATINGS[self._kind][-1]))

    def section(self, line: str, length_m: float, loom: str) -> float:
        """Cross-section of a line in mm²."""
        name = self._v.line(line)
        if name == self._v.line("battery pole") and "battery" not in self._v.lines:
            return _BATTERY_MM2
        amps = max(self.amps(name), self._own_return(line))
        bears = self._protection(name)
        least = _THIN.get(loom, 1.0)
        for size in SECTIONS:
            drop = amps * conductor_ohm(size, length_m) / self._volts
            bright = drop <= self._drop or size >= _THICK
            if size >= least and ampacity(size) >= amps and PROTECTED_AT * ampacity(size) >= bears and bright:
                return size
        return SECTIONS[-1]

    def earth_section(self, part: Part | None, length_m: float, all_of_it: bool) -> float:
        """Cross-section of an earth wire in mm²: of a part, or where the body does not conduct of all that meets."""
        of = [part] if part is not None else [p for p in self._v.parts if p.kind in (*CONSUMERS, "socket")]
        if (part is not None and part.of("socket")) or (part is None and not all_of_it):
            of = [p for p in self._v.parts if p.kind == "socket"]
        amps = sum(self._into(p, t, frozenset()) for p in of for t in p.takes if p.takes[t] != "earth")
        if part is not None and not amps:
            amps = max((self.amps(line) for line in part.takes.values()), default=0.0)
        least = ISO_11446_MM2[3] if part is not None and part.of("socket") else 1.0
        for size in SECTIONS:
            if size >= least and ampacity(size) >= amps and (
                    amps * conductor_ohm(size, length_m) / self._volts <= self._drop or size >= _THICK):
                return size
        return SECTIONS[-1]

    def _own_return(self, line: str) -> float:
        """What comes back into a line from the earth terminals on it."""
        return sum(
            self._own(p, feed) for p in self._v.parts if p.kind in CONSUMERS
            for terminal, at in p.takes.items() if at == line and terminal in ("earth", "indicator return")
            for feed in p.takes if feed not in ("earth", "indicator return")
        )

    def _protection(self, line: str) -> float:
        """What the largest fuse in front of a line carries for good; 0 without one."""
        if line not in self._rated:
            self._rated[line] = 0.0  # rings
            fuse = self._fuse_of.get(line)
            if fuse is not None:
                self._rated[line] = self.rating(fuse) * carries_of(self._kind)
            else:
                before = [self._v.line(t) for p in self._v.parts if p.kind != "battery"
                          if line in map(self._v.line, p.gives.values()) for t in p.takes.values()]
                before += [self._v.line(t) for p in self._v.parts if p.kind == "socket"
                           for way, given in p.gives.items() if self._v.line(given) == line
                           for q in self._v.parts if q.kind == "socket" and way in q.takes for t in [q.takes[way]]]
                before += [self._v.line(t) for p in self._v.parts if p.kind in (*CONSUMERS, "relay")
                           if line in map(self._v.line, p.takes.values()) for t in p.takes.values()]
                others = [b for b in before if b not in (line, "earth")]
                self._rated[line] = max(map(self._protection, others), default=0.0)
        return self._rated[line]


def _joined(pairs: list[str], start: str) -> set[str]:
    """The terminals that a position joins with one."""
    seen, todo = {start}, [start]
    while todo:
        at = todo.pop()
        for pair in pairs:
            ends = pair.split("-")
            if at in ends:
                fresh = set(ends) - seen
                seen |= fresh
                todo += fresh
    return seen - {start}


def _flashes(part: Part, names: str, side: str) -> bool:
    """Whether a bulb is one of those that the stalk flashes on a side."""
    lines = {*part.takes.values()}
    if part.of("lamp"):
        return f"{side} indicators" in lines and part.takes.get("feed") != f"{_other(side)} indicators"
    if not part.of("lamp unit"):
        return False
    first = names.split("+")[0].strip()
    if first == "indicator":
        return bool({f"{side} indicators", f"trailer {side} indicator"} & lines)
    return first == "stop" and f"{side} stop" in lines


def _other(side: str) -> str:
    return "right" if side == "left" else "left"
