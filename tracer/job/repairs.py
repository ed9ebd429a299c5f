"""A repair and the results of its proof checks, as they are recorded."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tracer.errors import ReadingError, UnknownNameError
from tracer.harness.file.nodes import clip
from tracer.harness.model import Harness
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.job.log import NewEntry
from tracer.job.understanding import Understanding
from tracer.observation.evidence import Symptom
from tracer.observation.words.reading_data import test_as_data, value_as_data
from tracer.observation.words.symptom_data import symptom_as_data
from tracer.planning.repair_proof import Proof
from tracer.units import whole_number


def chosen_repair(what: str, job: Understanding) -> str:
    """The repair that a rank in the list of suspects stands for, or the words as they are.

    Raises:
        TracerError: No such suspect, no words, or a rank where the ranks have moved since it was seen.
    """
    repair, repairs = what.strip(), job.history.repairs
    if repair.isdecimal():
        rank, suspects = whole_number(repair), job.diagnosis.listed
        if repairs and not any(e.number > repairs[-1].number for e in job.history.entries):
            raise ReadingError(
                f"“{repairs[-1].data['repair']}” stands as repaired, and the ranks have moved since",
                "take its proof checks first, undo it, or name the repair in words",
            )
        if rank is None or not 1 <= rank <= len(suspects):
            raise UnknownNameError(f"no suspect {clip(repair)}", f"there are {len(suspects)}")
        repair = suspects[rank - 1].repair
    if not repair:
        raise ReadingError("say what was repaired", "e.g. “1” for the first suspect, or words")
    return repair


def repair_entry(
    repair: str, parts: Sequence[str], minutes: float | None, proof: Proof, job: Understanding
) -> NewEntry:
    """What is recorded of a repair: how likely it was what is needed, what was put in, and how it will be proved."""
    suspect = next((s for s in job.diagnosis.suspects if s.repair == repair), None)
    data: dict[str, Any] = {"repair": repair, "parts": list(parts)}
    data["checks"] = [
        {"number": c.number, "state": dict(c.state.positions), "because": c.because} for c in proof.checks
    ]
    data["risk before"], data["risk after"] = round(proof.risk_before, 5), round(proof.risk_after, 5)
    if minutes is not None:
        data["minutes"] = minutes
    if suspect is not None:
        data["share"] = round(suspect.share, 4)
        if kinds := _kinds(suspect, job.diagnosis):
            data["kinds"] = kinds
    return "repaired", data


def _kinds(suspect: Suspect, found: Diagnosis) -> dict[str, float]:
    """The kinds of fault that this one repair is for, with their shares of it, as they stand now: a bad earth and an
    open one are mended alike, and the workshop's memory tells them apart."""
    shares: dict[str, float] = {}
    for row in suspect.rows:
        faults = found.hypotheses[row].defects
        if len(faults) == 1:
            shares[faults[0].kind] = shares.get(faults[0].kind, 0.0) + float(found.share[row])
    whole = sum(shares.values())
    kinds = {k: round(v / whole, 4) for k, v in shares.items()} if whole > 0 else {}
    return {k: v for k, v in kinds.items() if v > 0}


def proof_entries(proof: Proof, results: Mapping[int, str], harness: Harness) -> Iterator[NewEntry]:
    """What is recorded of results: for each whether it was as expected, and what was seen or measured instead.

    Raises:
        TracerError: No such check, or words that cannot be understood.
    """
    for number, result in results.items():
        check = next((c for c in proof.checks if c.number == number), None)
        if check is None:
            raise UnknownNameError(f"no proof check {number}", f"checks 1 to {len(proof.checks)}")
        instead = check.seen_instead(result, harness)
        yield "proof", {"check": number, "good": instead is None, "found": result.strip()}
        if isinstance(instead, Symptom):
            yield "symptom", symptom_as_data(instead)
        elif instead is not None:
            yield "reading", {"test": test_as_data(instead.test), "value": value_as_data(instead.value)}
