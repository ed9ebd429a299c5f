"""What a job has told of the vehicle's wiring, and the overlay in which that is kept for the next one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from tracer.harness.file.dump import dump_wire, plain_or_quoted
from tracer.harness.model import Harness, Wire
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.settled_lines import SettledLine, settled_lines

LEARNED = "wiring found by readings"  # name of the overlay that the next job begins with
_FOUND = 0.8  # share from which on what is wrong is known well enough to speak of lines


def wiring_found(investigator: Investigator, then: Diagnosis, made: str | None) -> tuple[SettledLine, ...]:
    """Lines that a job has settled: with the repair that was `made` taken as right, else with a suspect that leads
    clearly."""
    suspect = next((s for s in then.suspects if s.repair == made), None)
    if suspect is None and then.suspects and then.suspects[0].share >= _FOUND:
        suspect = then.suspects[0]
    return settled_lines(investigator, then.evidence, suspect.best) if suspect is not None else ()


def learned(harness: Harness, found: Sequence[SettledLine]) -> list[tuple[str, Mapping[str, Any]]]:
    """The entries with which the next job on the vehicle knows what this one has told of the wiring."""
    return [("overlay", {"name": LEARNED, "text": overlay_text(harness, found)})] if found else []


def overlay_text(harness: Harness, found: Sequence[SettledLine]) -> str:
    """Settled lines as an overlay of the harness file."""
    wires = {w.name: w for w in harness.wires}
    bolts: dict[str, str] = {}
    parts: list[str] = []
    runs: list[str] = []
    for line in found:
        new = line.deviation.rewired if line.deviation is not None else None
        if new is not None and new.bolt:
            bolts[new.bolt] = harness.place_of(new.run[0])[0]
        if line.line in wires:
            wire = wires[line.line]
            runs.append(dump_wire(_rerun(wire, new.run) if new is not None else _traced(wire), 0, {"traced": ""}))
        elif line.line in harness.parts:
            earth = f"earth at: {plain_or_quoted(new.earth)}, " if new is not None else ""
            known = "or: [], " if harness.parts[line.line].others else ""
            parts.append(f"  {plain_or_quoted(line.line)}: {{{earth}{known}traced: yes}}")
        elif new is not None:
            runs.append(f"{{run: {' > '.join(new.run)}, traced: yes}}")
    lines = ["overlay: what readings told of the wiring"]
    lines += ["parts:", *parts] if parts else []
    earths = [f"  {plain_or_quoted(n)}: {plain_or_quoted(p)}" for n, p in bolts.items()]
    lines += ["earths:", *earths] if earths else []
    lines += ["wires:", *(f"  - {r}" for r in runs)] if runs else []
    return "\n".join(lines) + "\n"


def _traced(wire: Wire) -> Wire:
    return replace(wire, traced=True, others=())


def _rerun(wire: Wire, run: tuple[str, ...]) -> Wire:
    """A wire with another run; where that has other lengths, the whole length is kept."""
    made = replace(_traced(wire), run=run)
    if len(run) == len(wire.run):
        return made
    return replace(made, segments=(replace(wire.segments[0], length_m=wire.length_m),))
