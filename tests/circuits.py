"""Small circuits built straight from devices, for tests that work below the harness file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracer.circuit.model import Circuit, build_circuit
from tracer.harness.devices import Device
from tracer.harness.model import Control, EarthPoint, Harness, Part


def harness_of(
    devices: Sequence[Device], controls: Mapping[str, Sequence[str]] | None = None, body: str = "body"
) -> Harness:
    """A harness with one part holding the devices; node `body` is the reference."""
    return Harness(
        title="test", system_v=12.0, positive_earth=False, colour_code="IEC 60757",
        controls={n: Control(n, tuple(p), p[0]) for n, p in (controls or {}).items()},
        parts={"rig": Part("rig", "rig", (), tuple(devices))},
        connectors={}, splices={}, earths={"E": EarthPoint("E", body)}, wires=(),
    )


def circuit_of(devices: Sequence[Device], controls: Mapping[str, Sequence[str]] | None = None) -> Circuit:
    return build_circuit(harness_of(devices, controls))
