"""Where the current goes: branch currents of one hypothesis in one set-up, and the path through a
lamp in words, back-feeds named."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from tracer.circuit.change_table import pinned_open
from tracer.circuit.model import OPEN_OHM, Change, Setup
from tracer.harness.devices import Conductor, Filament, FuseLink, Joint, SwitchContact
from tracer.harness.terminal_words import say_node
from tracer.observation.forward_model import Predictor

_LEAST_A = 2e-4  # less lights nothing, not even a LED to speak of


class Branch(Struct, frozen=True):
    """One current-carrying element: current `amps` from `a` to `b` (already turned so that it is ≥ 0)."""

    name: str
    a: str
    b: str
    amps: float
    device: object | None = None


class Flow(Struct, frozen=True):
    """All currents and node voltages of one solved case."""

    volts: Mapping[str, float]
    branches: tuple[Branch, ...]
    signed: Mapping[str, float]  # device name → current from its a to its b


def flow(predictor: Predictor, setup: Setup, change: Change) -> Flow:
    """Solve one case and list what carries current."""
    circuit = predictor.circuit
    settled = predictor.settled(setup, predictor.table([change], setup.done))
    links = [f.name for f, b in zip(predictor.settler.fuses, settled.blown[0], strict=True) if b]
    change = change | Change(set_ohm=tuple((n, OPEN_OHM) for n in links))
    coils = zip(predictor.settler.coils, settled.pulled_in[0], strict=True)
    g = circuit.conductances(setup, frozenset(c for c, p in coils if p))
    table = predictor.table([change], setup.done)
    delta = table.deltas(g, pinned_open(circuit, setup), setup.done.gone, setup.state)[0]
    volts = settled.solution.volts[0]
    for k, branch in enumerate(table.branch[0]):
        if branch >= 0:
            g[branch] += delta[k]
    a, b = circuit.branch_ends
    amps = g * (volts[a] - volts[b])
    signed = {d.name: float(i) for d, i in zip(circuit.linear, amps, strict=True)}
    signed |= {d.name: float(i) for d, i in zip(circuit.ports, settled.solution.port_i[0], strict=False)}
    found = [_turned(d.name, d.a, d.b, signed[d.name], d) for d in (*circuit.linear, *circuit.ports)]
    extra = [*change.added, *setup.done.added]
    for n, x in enumerate(extra):
        if x.through and x.through in setup.done.removed:
            continue
        drop = volts[circuit.node(x.a)] - volts[circuit.node(x.b)]
        found.append(_turned(f"added {n}", x.a, x.b, float(drop / max(x.ohm, 1e-4)), x))
    source = circuit.sources[0] if circuit.sources else None
    if source is not None and not setup.done.disconnected:
        drop = volts[circuit.node(source.plus)] - volts[circuit.node(source.minus)]
        running = setup.state.engine_running
        emf = source.emf(running) * setup.done.emf_in(running) * change.emf_in(running)
        current = (emf - float(drop)) / (max(source.ohm, 1e-4) * circuit.weakened(change.battery_ohm))
        found.append(_turned(source.name, source.minus, source.plus, current, source))
    names = dict(zip(circuit.nodes, (float(v) for v in volts), strict=True))
    return Flow(names, tuple(x for x in found if x.amps > _LEAST_A), signed)


def _turned(name: str, a: str, b: str, amps: float, device: object) -> Branch:
    return Branch(name, a, b, amps, device) if amps >= 0 else Branch(name, b, a, -amps, device)


def path_through(found: Flow, lamp: Filament, predictor: Predictor) -> tuple[Branch, ...]:
    """The strongest path of current from the battery through `lamp` and back, in order; empty if the
    lamp carries none."""
    own = next((x for x in found.branches if x.name == lamp.name), None)
    if own is None:
        return ()
    sources = {s.name for s in predictor.circuit.sources}
    into: dict[str, list[Branch]] = {}
    out: dict[str, list[Branch]] = {}
    for x in found.branches:
        into.setdefault(x.b, []).append(x)
        out.setdefault(x.a, []).append(x)

    def follow(node: str, table: dict[str, list[Branch]], end: str) -> list[Branch]:
        steps: list[Branch] = []
        seen = {node}
        while node in table and len(steps) < 200:
            step = max(table[node], key=lambda x: x.amps)
            if step.name in sources:
                break
            node = getattr(step, end)
            if node in seen:
                break
            seen.add(node)
            steps.append(step)
            if node == predictor.circuit.nodes[0]:
                break
        return steps

    up = follow(own.a, into, "a")
    down = follow(own.b, out, "b")
    return (*reversed(up), own, *down)


def say_path(path: tuple[Branch, ...], lamp: Filament, against: frozenset[str] = frozenset()) -> str:
    """The path in words by part, terminal and wire colour; devices in `against` carry current the wrong way."""
    if not path:
        return f"no current reaches {lamp.lamp}"
    said: list[str] = ["battery"]
    colour = ""
    for x in path:
        d = x.device
        if isinstance(d, Conductor):
            colour = f" by the {d.colour} wire" if d.colour else ""
            continue
        text = ""
        if isinstance(d, Filament):
            text = f"the {d.lamp} filament"
            if d.name in against:
                text = f"BACK through {text} (back-feed)"
        elif isinstance(d, FuseLink):
            text = d.name.removesuffix(" link")
        elif isinstance(d, SwitchContact):
            text = f"{d.name.rsplit(' ', 1)[0]} ({d.name.rsplit(' ', 1)[1]})"
        elif isinstance(d, Joint) and d.kind in ("way", "bullet"):
            text = f"{d.a.replace('.', '/')}"
        elif isinstance(d, Joint) and d.kind == "earth":
            text = f"earth point {d.a}" if x is path[-1] or x.a == d.a else f"body → earth point {d.a}"
        elif isinstance(d, Joint):
            continue
        elif x.name.startswith("added"):
            text = f"the false path {say_node(x.a)} to {say_node(x.b)}"
        else:
            text = x.name
        if not said or said[-1] != text + colour:
            said.append(text + colour)
        colour = ""
    return " → ".join(said) + (colour and f"{colour}")
