"""The wiring that a job is about: the harness file it names, with what differs on this vehicle laid over it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from tracer.cache import Kept, usual_folder
from tracer.errors import JobFileError
from tracer.harness.differences import differences
from tracer.harness.file.nodes import read_text_file
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness
from tracer.harness.vehicle_kinds import TRAFFIC

Overlay = Mapping[str, Any]  # its text and the name it came under


class Vehicle:
    """A harness file with overlays, as it was read.

    Attributes:
        path: Of the harness file.
        overlays: What differs on this vehicle, in the order in which it is laid over.
        harness: Both together.
        fingerprint: Of the harness file.
    """

    def __init__(self, path: Path, overlays: Sequence[Overlay], fingerprint: str = "") -> None:
        """`fingerprint`: of the file as it was read first, where an overlay was added since.

        Raises:
            TracerError: The file cannot be read, or an overlay does not fit it.
        """
        self.path, self.overlays = path, list(overlays)
        self.harness = with_overlays(path, overlays)
        self.fingerprint = fingerprint or fingerprint_of(path)

    def as_of(self, overlays: Sequence[Overlay]) -> Vehicle:
        """Itself while the overlays are the same."""
        return self if list(overlays) == self.overlays else Vehicle(self.path, overlays, self.fingerprint)

    @property
    def stands(self) -> bool:
        """Whether the harness file is still the one that was read."""
        return fingerprint_of(self.path) == self.fingerprint

    @property
    def kept(self) -> Kept:
        """What is kept between commands about this vehicle."""
        return Kept(usual_folder(), json.dumps([self.fingerprint, *map(dict, self.overlays)]))

    @cached_property
    def differences(self) -> tuple[str, ...]:
        """In what its wiring differs from the harness file, in words."""
        return differences(load_harness(self.path), self.harness) if self.overlays else ()


def with_overlays(path: Path, overlays: Sequence[Overlay]) -> Harness:
    """The harness of a file with overlays; errors as of `Vehicle`."""
    if not overlays:
        return load_harness(path)
    text = read_text_file(path)
    return read_harness(text, str(path), [(str(o["text"]), str(o["name"])) for o in overlays])


def traffic_overlay(traffic: str) -> Overlay:
    """What says for one vehicle on which side of the road it is driven.

    Raises:
        TracerError: There is no such side.
    """
    if traffic not in TRAFFIC:
        raise JobFileError(f"traffic: no side “{traffic}”", " or ".join(f"“{side}”" for side in TRAFFIC))
    return {"name": "traffic", "text": f"overlay: traffic {traffic}\ntraffic: {traffic}\n"}


def fingerprint_of(path: Path) -> str:
    """Of the bytes of a file; "" if it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
