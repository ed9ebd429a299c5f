"""Rules that open standards give: terminal numbers of DIN 72552, trailer sockets of ISO 1724 and ISO 11446.

Numbers and footnotes as quoted on contact sheets and marking lists; the standards themselves were not read.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tracer.checking.findings import Finding
from tracer.checking.scene import Rule, Scene
from tracer.checking.wiring_graph import Neighbours, neighbours, reached
from tracer.errors import Mark
from tracer.harness.devices import Conductor, FuseLink, Joint, SwitchContact, ends
from tracer.harness.lamp_purposes import lamp_purposes, words_of
from tracer.harness.model import Connector, Part
from tracer.harness.node import node_of, terminal_at
from tracer.standards.terminals import EARTH, LIVE

# DIN 72552, outputs of switches: 54 stop, 55 fog, 56 headlamps, 56a main and 56b dipped beam, 57 side (parking),
# 58 side, tail, number plate and instruments (fog lamps are fed with them on some vehicles), L and R indicators.
_SIDE: Final = frozenset(("side", "number plate", "panel", "fog"))
_FEEDS: Final = {
    "54": ("stop lamps", frozenset(("stop",))), "55": ("fog lamps", frozenset(("fog",))),
    "56": ("headlamps", frozenset(("main", "dipped"))), "56a": ("main beam", frozenset(("main",))),
    "56b": ("dipped beam", frozenset(("dipped",))), **dict.fromkeys(("57", "57L", "57R"), ("parking lamps", _SIDE)),
    **dict.fromkeys(("58", "58L", "58R"), ("side lamps", _SIDE)),
    "L": ("left indicators", frozenset(("indicator left",))),
    "R": ("right indicators", frozenset(("indicator right",))),
}
_TAIL: Final = frozenset(("side", "number plate"))
_SOCKET_FEEDS: Final = {
    1: frozenset(("indicator left",)), 2: frozenset(("fog",)), 4: frozenset(("indicator right",)), 5: _TAIL,
    6: frozenset(("stop",)), 7: _TAIL, 8: frozenset(("reversing",)),
}
_OTHER_SIDE: Final = {5: "left", 7: "right"}  # lamps named so belong on the other tail circuit
_RETURNS: Final = (3, 11, 13)
_TAILS: Final = (5, 7)


def terminal_numbers(scene: Scene) -> Iterator[Finding]:
    """A terminal whose number says live or earth, and that does not reach it."""
    if not scene.live:
        return
    for part in scene.harness.parts.values():
        if part.coils:  # a relay's 30 and 87 are whatever it switches, and the two numberings disagree
            continue
        for terminal in part.terminals:
            node = terminal_at(part.name, terminal)
            if node in scene.lone or node not in scene.conductors:
                continue
            # 30 and 31 come straight from the battery and the body, not through the part's own contacts.
            own = tuple(d.name for d in part.devices if isinstance(d, SwitchContact) and terminal in ("30", "31"))
            from_live = reached(scene.graph, scene.live, without=own) if own else scene.from_live
            from_earth = reached(scene.graph, scene.earth, without=own) if own else scene.from_earth
            if terminal in LIVE and _in_the_return(scene, part):
                continue
            if terminal in LIVE and node not in from_live and scene.live not in scene.lone:
                where = "leads to earth" if node in from_earth else f"is not reached from {scene.live}"
                yield Finding("terminal number", "warning", f"{node} is live by its number and {where}",
                              "check which wire belongs on it", _wire_mark(scene, node, part))
            elif terminal in EARTH and node not in from_earth and scene.earth not in scene.lone:
                where = "is live" if node in from_live else "does not reach it"
                yield Finding("terminal number", "warning", f"{node} is earth by its number and {where}",
                              "check which wire belongs on it", _wire_mark(scene, node, part))
            elif terminal in LIVE and node in _bare_earth(scene):
                yield Finding("terminal number", "warning", f"{node} is live by its number and joined to earth",
                              "check which wire belongs on it", _wire_mark(scene, node, part))


def _in_the_return(scene: Scene, part: Part) -> bool:
    """Whether a flasher unit lies between stalk and earth: its outlet is earthed, lamps lead to its inlet."""
    inlet, outlet = terminal_at(part.name, "49"), terminal_at(part.name, "49a")
    earthed = _bare_earth(scene)
    return part.flashes and inlet not in scene.from_live and outlet in earthed and inlet not in earthed


def _bare_earth(scene: Scene) -> frozenset[str]:
    """Nodes that copper alone, without any contact or fuse, joins to earth."""
    copper = {n: tuple((o, d) for o, d in steps if isinstance(d, Conductor) or hasattr(d, "kind"))
              for n, steps in scene.graph.items()}
    return reached(copper, scene.earth)


def _wire_mark(scene: Scene, node: str, part: Part) -> Mark | None:
    wires = scene.conductors.get(node, [])
    return scene.mark_of(wires[0]) if wires else part.mark


def _trailer_side(scene: Scene, connector: Connector) -> tuple[dict[int, str], Neighbours, tuple[str, ...]]:
    """The node of each way on the trailer's half: the half from which the battery is not reached
    once the plug is pulled. Also the graph, and the joints of the ways."""
    joints = tuple(
        j.name for j in scene.harness.joints if j.kind == "way" and node_of(j.a).owner == connector.name
    )
    towing = reached(scene.graph, (scene.live, scene.earth), without=joints)
    found: dict[int, str] = {}
    for way in range(1, connector.ways + 1):
        both = (terminal_at(connector.name, way, far) for far in (False, True))
        halves = [n for n in both if n in scene.conductors]
        behind = [n for n in halves if n not in towing]
        if len(behind) == 1:
            found[way] = behind[0]
        elif len(behind) == 2:
            # Neither half is live with the plug pulled: feeds are written towards the trailer.
            found[way] = behind[1]
    return found, scene.graph, joints


def trailer_returns(scene: Scene) -> Iterator[Finding]:
    """ISO 11446: the three returns 3, 11 and 13 are not joined in the trailer."""
    for connector in scene.harness.plugs():
        if connector.ways != 13 or not connector.functions or not scene.live:
            continue
        side, graph, joints = _trailer_side(scene, connector)
        used = [w for w in _RETURNS if w in side]
        for way in used[1:]:
            near = reached(graph, side[way], without=joints)
            joined = [w for w in used if w < way and side[w] in near]
            if joined:
                yield Finding("returns joined", "warning",
                              f"ways {joined[0]} and {way} of {connector.name} are joined in the trailer",
                              "ISO 11446 keeps the returns 3, 11 and 13 apart: each has its own supply way",
                              scene.mark_of(scene.conductors[side[way]][0]))
                break


def plate_lamp_on_both_tails(scene: Scene) -> Iterator[Finding]:
    """ISO 1724 and ISO 11446: no lamp is common to ways 5 and 7, the two tail circuits."""
    for connector in scene.harness.plugs():
        if not all("tail" in connector.functions.get(w, "") for w in _TAILS) or not scene.live:
            continue
        side, graph, joints = _trailer_side(scene, connector)
        if not all(w in side for w in _TAILS):
            continue
        right, left = (reached(graph, side[w], without=joints) for w in _TAILS)
        if side[7] not in right:
            continue
        lamp = next((f for f in scene.harness.lamps() if {"number", "plate"} & set(f.lamp.replace("-", " ").split())
                     and set(ends(f)) & left), None)
        named = f"{lamp.lamp} joins" if lamp else "the trailer joins"
        mark = scene.part_of[lamp.name].mark if lamp else scene.mark_of(scene.conductors[side[7]][0])
        yield Finding("tail circuits joined", "warning",
                      f"{named} the two tail circuits, ways 5 and 7 of {connector.name}",
                      "feed each number-plate lamp from one of the two ways only", mark)


def switch_numbers(scene: Scene) -> Iterator[Finding]:
    """A switch's output whose number belongs to other lamps than those that hang on it: 56a and 56b changed over."""
    copper = neighbours(scene.harness, lambda d: isinstance(d, (Conductor, Joint, FuseLink)))
    for part in scene.harness.parts.values():
        if not any(isinstance(d, SwitchContact) for d in part.devices):
            continue
        for terminal in part.terminals:
            named, meant = _FEEDS.get(terminal, ("", frozenset()))
            if terminal in ("L", "R") and "49a" not in part.terminals:
                continue
            node = terminal_at(part.name, terminal)
            if meant and node in scene.conductors:
                what = f"{node} has the number of the {named}"
                yield from _fed_otherwise(scene, reached(copper, node), meant, what, _wire_mark(scene, node, part))


def socket_ways(scene: Scene) -> Iterator[Finding]:
    """ISO 1724 and ISO 11446: each way of a trailer's plug feeds the lamps that the standard names."""
    for connector in scene.harness.plugs():
        if "tail" not in connector.functions.get(_TAILS[0], "") or not scene.live:
            continue
        side, graph, joints = _trailer_side(scene, connector)
        for way, meant in _SOCKET_FEEDS.items():
            if way not in side or way not in connector.functions:
                continue
            what = f"way {way} of {connector.name} is for the {connector.functions[way]}"
            nodes = reached(graph, side[way], without=joints)
            yield from _fed_otherwise(scene, nodes, meant, what, scene.mark_of(scene.conductors[side[way]][0]),
                                      _OTHER_SIDE.get(way))


def _fed_otherwise(
    scene: Scene, nodes: frozenset[str], meant: frozenset[str], what: str, mark: Mark | None,
    stranger: str | None = None,
) -> Iterator[Finding]:
    """Lamps on `nodes` that are meant for something else, or whose name has the other side's word."""
    if nodes & {scene.live, scene.earth}:
        return  # everything hangs on that: another rule tells it
    purposes = lamp_purposes(scene.harness)
    odd = [
        f.lamp for f in scene.harness.lamps()
        if nodes & set(ends(f)) and purposes[f.lamp] and "tell-tale" not in purposes[f.lamp]
        and (not purposes[f.lamp] & meant or (stranger is not None and stranger in words_of(f.lamp)))
    ]
    if odd:
        more = f" and {len(odd) - 1} more" if len(odd) > 1 else ""
        yield Finding("terminal number", "warning", f"{what} and feeds {odd[0]}{more}",
                      "check which wire belongs on it; two are probably swapped", mark)


RULES: tuple[Rule, ...] = (terminal_numbers, switch_numbers, socket_ways, trailer_returns, plate_lamp_on_both_tails)
