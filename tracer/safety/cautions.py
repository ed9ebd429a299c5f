"""Cautions, attached to tests and repairs by rule."""

from __future__ import annotations

from tracer.harness.model import Harness
from tracer.observation.evidence import Test

LOCAL_RULES = "Local rules and licensed practice come first."


def cautions_for(test: Test, harness: Harness) -> tuple[str, ...]:
    """The usual cautions for one test, most important first."""
    said: list[str] = []
    state = dict(test.state.positions)
    hazards = {*test.hazards}
    if "ohmmeter on a fed circuit" in hazards:
        said.append(
            "Disconnect the battery before measuring resistance (earth lead first); keep sparks from battery gas."
        )
    if test.at_rest:
        if test.battery_off(harness):
            said.append(
                "Disconnect the battery before insulation or tape is handled (earth lead first); keep sparks from "
                "battery gas."
            )
        said.append(
            "Everything off and the key out, handbrake on, wheels chocked; hands clear of belts, fans and what may "
            "move by itself."
        )
    if "wires moved while live" in hazards:
        said.append(
            "Move wires by sound insulation, a lamp with a dry cloth (hot); nothing bare near metal, hands clear of "
            "belts, fans and what may move by itself."
        )
    gear = next((c for c in state if "gear" in c.casefold()), None)
    if gear and not test.dead and state[gear] != harness.controls[gear].positions[0]:
        said.append("Vehicle in gear: engine off, handbrake on, wheels chocked.")
    if test.state.engine_running:
        said.append("Engine running: exhaust extraction, clear of belts and fan, out of gear.")
    elif not test.dead and state.get("ignition") == "on":
        said.append(
            "Ignition on, engine off: short spells only where the engine has contact breakers (the coil heats)."
        )
    if "unfused lead" in hazards:
        said.append("Use a fused lead; never feed a circuit that runs through a control module or an airbag.")
    if "hot lamp" in hazards:
        said.append("Lamps are hot after use: let them cool; leave discharge lamps alone (high voltage).")
    if "fuse in a short" in hazards:
        said.append("No larger fuse than belongs there, and no wire in its place: what blew it may still be there.")
    if "plug or fuse pulled" in hazards:
        said.append("Switch off before unplugging; airbag and high-voltage connectors (yellow, orange) stay shut.")
    if "wires cut" in hazards:
        said.append(
            "Cut nothing before the battery is off, mark the wires, and remake the splice for their size, insulated, "
            "before it is back on."
        )
    if "clamp at a wire" in hazards:
        said.append("Clamp one wire alone, clear of moving and hot parts; pull no wire out of its connector for it.")
    if "probe at live contacts" in hazards:
        said.append("Probe without bridging neighbouring contacts; airbag and high-voltage wiring left alone.")
    return (*said, LOCAL_RULES)


def repair_cautions() -> tuple[str, ...]:
    """Cautions that go with every repair."""
    return (
        "Disconnect the battery before cutting, soldering or crimping; no naked flame near fuel or battery gas.",
        "Fit the fuse and wire size the circuit was built with.",
        LOCAL_RULES,
    )
