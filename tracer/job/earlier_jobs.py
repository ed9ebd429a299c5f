"""What an earlier job on the same vehicle leaves for the next: overlays, repairs, places opened, notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from tracer.job.text import Event

EARLIER = "earlier job"  # the kind of entry that holds it


class Earlier(Struct, frozen=True):
    """One earlier job on this vehicle.

    Attributes:
        file: Name of its job file.
        started: ISO 8601.
        status: What it said last.
        repairs, notes: In order, in words.
        opened: Places that were opened for tests.
    """

    file: str
    started: str
    complaint: str
    status: str
    repairs: tuple[str, ...]
    opened: tuple[str, ...]
    notes: tuple[str, ...]

    def as_data(self) -> dict[str, Any]:
        return {
            "file": self.file, "started": self.started, "complaint": self.complaint, "status": self.status,
            "repairs": list(self.repairs), "opened": list(self.opened), "notes": list(self.notes),
        }

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> Earlier:
        """From recorded data; what a hand left out is empty."""

        def listed(key: str) -> tuple[str, ...]:
            found = data.get(key)
            return tuple(map(str, found)) if isinstance(found, list) else ()

        file, started, complaint, status = (
            str(data.get(key) or "") for key in ("file", "started", "complaint", "status")
        )
        return cls(file, started, complaint, status, listed("repairs"), listed("opened"), listed("notes"))


def carried(
    events: Sequence[Event], file: str, complaint: str, status: str, opened: Sequence[str]
) -> list[tuple[str, Mapping[str, Any]]]:
    """The entries (kind, data) with which the next job on the vehicle begins.

    Args:
        events: The living entries of the earlier job.
        file, complaint, status: Of the earlier job.
        opened: Places opened in it.
    """
    repairs = []
    for e in events:
        if e.kind == "repaired":
            parts = ", ".join(map(str, e.data.get("parts", [])))
            repairs.append(f"{e.data.get('repair', '')}" + (f" (fitted: {parts})" if parts else ""))
    notes = tuple(str(e.data.get("text", "")) for e in events if e.kind == "note")
    started = events[0].time.isoformat(timespec="minutes") if events else ""
    own = Earlier(file, started, complaint, status, tuple(repairs), tuple(opened), notes)
    kept: list[tuple[str, Mapping[str, Any]]] = [(EARLIER, e.data) for e in events if e.kind == EARLIER]
    kept.append((EARLIER, own.as_data()))
    return kept + [("overlay", e.data) for e in events if e.kind == "overlay"]
