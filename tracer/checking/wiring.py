"""Rules about how a harness is wired: what people get wrong when they copy it from paper."""

from __future__ import annotations

from collections.abc import Iterator

from tracer.checking.findings import Finding, Severity
from tracer.checking.scene import Rule, Scene
from tracer.checking.wiring_graph import batteries, behind_contact, reached, way_to
from tracer.errors import Mark
from tracer.harness.devices import Conductor, FuseLink, RelayContact, Resistor, Source, SwitchContact
from tracer.harness.model import Connector
from tracer.harness.node import far_side, node_of, terminal_at
from tracer.harness.part_kinds import KINDS
from tracer.standards import COLOUR_CODES, colour_words


def battery_missing(scene: Scene) -> Iterator[Finding]:
    """Nothing can light without a battery."""
    if not batteries(scene.harness):
        yield Finding("battery missing", "error", "there is no battery, so nothing can light",
                      "add a part like “battery: {kind: battery}” and wire both its poles")


def batteries_in_parallel(scene: Scene) -> Iterator[Finding]:
    """Two batteries are meant where they stand in series and add up to the system voltage."""
    sources = batteries(scene.harness)
    total = sum(s.volts for s in sources)
    if len(sources) < 2 or abs(total / scene.harness.system_v - 1.05) < 0.2:
        return
    names = " and ".join(scene.part_of[s.name].name for s in sources)
    system = f"{scene.harness.system_v:g} V"
    yield Finding("two batteries", "warning", f"{names}: {total:g} V together in a {system} system",
                  "leave one out, or give each its voltage if they stand in series", scene.mark_of(sources[-1]))


def battery_polarity(scene: Scene) -> Iterator[Finding]:
    """The pole on the body must be the one that the system line names."""
    sources = batteries(scene.harness)
    bodies = {e.body for e in scene.harness.earths.values() if e.body}
    if len(sources) != 1 or not bodies:
        return
    part = scene.part_of[sources[0].name]
    joined = reached(scene.graph, scene.live)
    if bodies & joined and not bodies & scene.from_earth:
        named = "positive" if scene.harness.positive_earth else "negative"
        yield Finding("battery polarity", "error",
                      f"the system has {named} earth, but {scene.live} is the pole on the body",
                      f"wire {scene.earth} to the earth point, or correct the system line", part.mark)


def lone_terminals(scene: Scene) -> Iterator[Finding]:
    """A terminal that no wire reaches."""
    for part in scene.harness.parts.values():
        if KINDS[part.kind].spare:
            continue
        for terminal in part.terminals:
            node = terminal_at(part.name, terminal)
            if node in scene.conductors or node in scene.mounted:
                continue
            scene.lone.add(node)
            hint = f"write a wire that ends at {node}"
            if terminal == "earth":
                hint += ", or “earth at: E1” if its holder is bolted to an earth point"
            severity: Severity = "error" if any(isinstance(d, Source) for d in part.devices) else "warning"
            yield Finding("terminal without wire", severity, f"no wire ends at {node}", hint, part.mark)


def lamp_without_earth(scene: Scene) -> Iterator[Finding]:
    """A lamp needs a way to earth that does not lead through another lamp.

    A tell-tale between two feeds needs none: it finds earth through the lamps of the idle side.
    """
    if not scene.live or scene.earth in scene.lone:
        return
    for part in scene.harness.parts.values():
        for lamp in part.lamps:
            away = [n for n in (lamp.a, lamp.b) if n not in scene.from_live]
            if not away or any(n in scene.from_earth for n in (lamp.a, lamp.b)):
                continue
            if terminal_at(part.name, "earth") in scene.lone:
                break
            yield Finding("lamp without earth", "error", f"{lamp.lamp} has no way to earth",
                          f"follow the earth of {part.name} on paper: a wire to an earth point is missing", part.mark)


def lamp_without_feed(scene: Scene) -> Iterator[Finding]:
    """Neither end of the lamp can be reached from the battery's live pole."""
    for part in scene.harness.parts.values():
        for lamp in part.lamps:
            reachable = lamp.a in scene.from_live or lamp.b in scene.from_live
            terminal = lamp.lamp.removeprefix(part.name).strip() or "feed"
            feed = terminal_at(part.name, terminal)
            if reachable or not scene.live or scene.live in scene.lone or feed in scene.lone:
                continue
            yield Finding("lamp without feed", "error", f"{lamp.lamp} cannot be reached from {scene.live}",
                          f"follow the feed of {lamp.lamp} back to its fuse: a wire or a contact is missing",
                          part.mark)


def one_sided_ways(scene: Scene) -> Iterator[Finding]:
    """A way with conductors on one half only, and a way whose two runs both arrive on one half."""
    for connector in scene.harness.plugs():
        if connector.functions and not _plugged_in(scene, connector):
            continue  # a trailer socket into which nothing is plugged
        for way in range(1, connector.ways + 1):
            node = terminal_at(connector.name, way)
            here, there = scene.conductors.get(node, []), scene.conductors.get(far_side(node), [])
            if bool(here) == bool(there):
                continue
            ends = here or there
            mark = scene.mark_of(ends[-1])
            wires = list(dict.fromkeys(s.wire for s in ends))
            if len(wires) == 1:
                yield Finding("way with one side", "warning",
                              f"way {way} of {connector.name} has a wire on one side only",
                              "the run goes on: write the next point after it, or a second wire", mark)
            else:
                verb = "arrive at" if here else "leave from"
                yield Finding("way passed by nothing", "warning",
                              f"wires {' and '.join(wires)} both {verb} way {way} of {connector.name}: joined "
                              "to each other, they do not pass the way",
                              f"turn one of the runs round, so that it begins or ends at {node}", mark)


def _plugged_in(scene: Scene, connector: Connector) -> bool:
    """Whether any way of a connector has wires on both halves."""
    nodes = (terminal_at(connector.name, way) for way in range(1, connector.ways + 1))
    return any(n in scene.conductors and far_side(n) in scene.conductors for n in nodes)


def way_used_twice(scene: Scene) -> Iterator[Finding]:
    """Two conductors on either side of one way: two circuits joined by a wrong number."""
    for connector in scene.harness.plugs():
        for way in range(1, connector.ways + 1):
            node = terminal_at(connector.name, way)
            here, there = scene.conductors.get(node, []), scene.conductors.get(far_side(node), [])
            if len(here) < 2 or len(there) < 2:
                continue
            scene.shared_ways.add(node)
            wires = list(dict.fromkeys(s.wire for s in here))
            free = [w for w in range(1, connector.ways + 1) if terminal_at(connector.name, w) not in scene.conductors]
            hint = "each run its own way" + (f"; free: {', '.join(map(str, free[:8]))}" if free else "")
            if _alike(here) or _alike(there):
                hint = (f"if one conductor passes it, write it once, up to a splice behind {node}, and one wire from "
                        f"there to each end; else {hint}")
            yield Finding("way used twice", "warning", f"wires {' and '.join(wires)} all pass way {way} of "
                          f"{connector.name}, which joins them", hint, scene.mark_of(here[-1]))


def _alike(conductors: list[Conductor]) -> bool:
    """Whether two of the conductors join the same two points."""
    return len({frozenset((s.a, s.b)) for s in conductors}) < len(conductors)


def unused_things(scene: Scene) -> Iterator[Finding]:
    """Connectors, splices and earth points that too few conductors reach."""
    h = scene.harness
    for connector in h.connectors.values():
        ends = [terminal_at(connector.name, w, far) for far in (False, True) for w in range(1, connector.ways + 1)]
        used = sum(len(scene.conductors.get(n, ())) for n in ends)
        if connector.kind == "bullets" and used == 1:
            yield Finding("block with loose end", "warning", f"only one wire is pushed into {connector.name}",
                          "a block joins two or more wires; write the others, or leave it out", connector.mark)
        elif not used:
            yield Finding("unused connector", "warning", f"no wire passes {connector.name}",
                          "name its ways in the runs, or leave it out", connector.mark)
    for splice in h.splices.values():
        count = len(scene.conductors.get(splice.name, []))
        if count < 2:
            yield Finding("splice with loose end", "warning",
                          f"{'only one wire meets' if count else 'no wires meet'} at splice {splice.name}",
                          "a splice joins three or more wires; write the others, or leave it out", splice.mark)
    perhaps = {end for wire in h.wires for run in wire.others for end in run}
    for earth in h.earths.values():
        if earth.name not in perhaps and earth.name not in scene.conductors and earth.name not in scene.mounted:
            yield Finding("unused earth point", "warning", f"nothing is earthed at {earth.name}",
                          "write a wire that ends there, or leave it out", earth.mark)


def wire_to_itself(scene: Scene) -> Iterator[Finding]:
    """A run that comes back to a point it has passed, and a second wire between the same two points."""
    pairs: dict[frozenset[str], str] = {}
    for wire in scene.harness.wires:
        twice = next((p for i, p in enumerate(wire.run) if p in wire.run[:i]), None)
        if twice:
            yield Finding("run in a circle", "warning", f"wire {wire.name} passes {twice} twice",
                          "one of the two points is meant to be another", wire.mark)
            continue
        for s in wire.segments:
            first = pairs.setdefault(frozenset((s.a, s.b)), wire.name)
            if first != wire.name and not any(node_of(n).near in scene.shared_ways for n in (s.a, s.b)):
                yield Finding("wire written twice", "warning",
                              f"wire {wire.name} joins {s.a} and {s.b}, as wire {first} does already",
                              "leave one out, or correct where it ends", wire.mark)


def colours(scene: Scene) -> Iterator[Finding]:
    """Letters that the stated code does not have, and letters without a stated code."""
    code = scene.harness.colour_code
    for wire in scene.harness.wires:
        if not wire.colour:
            continue
        if code not in COLOUR_CODES:
            yield Finding("colour code missing", "warning", "colours are given, but not in which code",
                          "add a line “colours: IEC 60757” or “colours: BS AU 7”", wire.mark)
            return
        if not colour_words(wire.colour, code):
            yield Finding("unreadable colour", "error", f"wire {wire.name}: “{wire.colour}” is no colour of {code}",
                          "letters: " + ", ".join(f"{k} {v}" for k, v in COLOUR_CODES[code].items()), wire.mark)


def colour_changes(scene: Scene) -> Iterator[Finding]:
    """A conductor whose colour is another on the far side of a connector way. At a trailer socket
    every maker changes over to the standard's colours, so that is not told."""
    for connector in scene.harness.plugs():
        for way in range(1, connector.ways + 1):
            node = terminal_at(connector.name, way)
            here, there = scene.conductors.get(node, []), scene.conductors.get(far_side(node), [])
            if connector.functions or len(here) != 1 or len(there) != 1:
                continue
            one, two = here[0], there[0]
            if one.wire != two.wire and one.colour and two.colour and one.colour != two.colour:
                yield Finding("colour changes", "warning",
                              f"the conductor is {one.colour} before way {way} of {connector.name} and "
                              f"{two.colour} behind it",
                              "check the number of the way and the letters of both wires",
                              _later(scene, one, two))


def _later(scene: Scene, one: Conductor, two: Conductor) -> Mark | None:
    marks = [m for m in (scene.mark_of(one), scene.mark_of(two)) if m is not None]
    return max(marks, key=lambda m: m.line) if marks else None


def contact_loops(scene: Scene) -> Iterator[Finding]:
    """Contacts of one switch that close a ring: one of them changes nothing."""
    for part in scene.harness.parts.values():
        contacts = [d for d in part.devices if isinstance(d, SwitchContact)]
        for position in sorted({p for c in contacts for p in c.closed_in}):
            joined: dict[str, set[str]] = {}
            for c in contacts:
                if position not in c.closed_in:
                    continue
                one, two = joined.setdefault(c.a, {c.a}), joined.setdefault(c.b, {c.b})
                if one is two:
                    yield Finding("contacts in a ring", "note",
                                  f"{part.name}: in position {position} the contacts form a ring",
                                  f"{c.name} joins what others join already", part.mark)
                    break
                one |= two
                joined.update(dict.fromkeys(two, one))


def relay_feeds_itself(scene: Scene) -> Iterator[Finding]:
    """A relay whose own contact feeds its coil: it latches, buzzes or never pulls in."""
    for part in scene.harness.parts.values():
        coil = next((d for d in part.devices if isinstance(d, Resistor) and d.works_contacts), None)
        contacts = [d for d in part.devices if isinstance(d, RelayContact)]
        if coil is None or not scene.live:
            continue
        through = {c.name for c in contacts}
        alone = reached(scene.graph, scene.live, without=through)
        for contact in contacts:
            fed = behind_contact(contact, alone)
            behind = reached(scene.graph, fed, without=through)
            own = [n for n in (coil.a, coil.b) if n in behind and n not in scene.from_earth]
            if not own or fed in scene.from_earth:
                continue
            severity: Severity = "warning"
            if not contact.makes:
                what = "buzzes: pulling in takes its own feed away"
            elif own[0] not in alone:
                what = "never pulls in: nothing else feeds its coil"
            else:
                what, severity = "latches: once pulled in it holds itself", "note"
            yield Finding("relay feeds its own coil", severity,
                          f"{contact.name} feeds the coil of {part.name}, which {what}",
                          "right for a latching relay; else feed the coil from the control", part.mark)


def fuse_feeds_nothing(scene: Scene) -> Iterator[Finding]:
    """A fuse with a loose end, or whose current no state needs."""
    carried = {d.name for d in scene.survey.predictor.circuit.linear} if scene.seen else set()
    idle = set(scene.survey.idle(scene.seen)) if scene.seen else set()
    for part in scene.harness.parts.values():
        link = next((d for d in part.devices if isinstance(d, FuseLink)), None)
        if link is None:
            continue
        loose = [t for t in part.terminals if terminal_at(part.name, t) not in scene.conductors]
        if loose:
            yield Finding("fuse feeds nothing", "warning",
                          f"no wire ends at {' and '.join(f'{part.name}.{t}' for t in loose)}",
                          "write the missing wire; leave a spare fuse out", part.mark)
        elif (link.name in idle and link.name in carried and not any(part.name in h.blown for h in scene.seen)
              and not scene.explained(link.b, (link.name,))):
            yield Finding("fuse feeds nothing", "warning", f"{part.name} carries no current in any vehicle state",
                          "check what hangs behind it: a contact or a wire may be missing", part.mark)


def dead_short(scene: Scene) -> Iterator[Finding]:
    """A vehicle state in which live meets earth with no consumer between."""
    if not scene.live or not scene.seen:
        return
    circuit = scene.survey.predictor.circuit
    told: set[str] = set()
    for healthy in scene.seen:
        index = circuit.branch_index
        closed = {d.name for d in circuit.linear if healthy.closed[index[d.name]] and not isinstance(d, Resistor)}
        graph = {n: tuple((o, d) for o, d in steps if d.name in closed) for n, steps in scene.graph.items()}
        way = way_to(graph, scene.live, scene.earth)
        if not way:
            continue
        # Named is the last wire that is not an earth wire already: where live and earth were brought together.
        wires = [d for d in way if isinstance(d, Conductor)]
        last = next((d for d in reversed(wires) if scene.earth not in (d.a, d.b)), wires[-1]) if wires else None
        if last is None or last.name in told:
            continue
        told.add(last.name)
        yield Finding("short circuit", "error",
                      f"{scene.live} is joined to earth through {last.a} and {last.b}: no consumer between "
                      f"({scene.harness.say_state(healthy.state)})",
                      "one of the wires on this way ends at the wrong terminal", scene.mark_of(last))


RULES: tuple[Rule, ...] = (
    battery_missing, batteries_in_parallel, battery_polarity, lone_terminals, lamp_without_earth, lamp_without_feed,
    one_sided_ways, way_used_twice, unused_things, wire_to_itself, colours, colour_changes, contact_loops,
    relay_feeds_itself, fuse_feeds_nothing, dead_short,
)
