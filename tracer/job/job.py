"""One job on one vehicle: complaint, symptoms, readings, suspects, next step, repair, proof, record.

Terminal, guide and report are thin over this class; everything it knows stands in the job file. It holds the file
(`log.py`) and what follows from it (`understanding.py`) together, and reasons nothing itself.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from msgspec.structs import replace

from tracer.errors import JobFileError
from tracer.harness.differences import differences
from tracer.harness.file.nodes import read_text_file
from tracer.job import file as job_file
from tracer.job.as_it_stands import JobAsItStands
from tracer.job.earlier_jobs import carried
from tracer.job.learning import learn_closed
from tracer.job.log import Clock, Log, NewEntry, now
from tracer.job.recording import Recorded, said_of, take_in
from tracer.job.repairs import chosen_repair, proof_entries, repair_entry
from tracer.job.text import Event, JobHeader
from tracer.job.understanding import Understanding
from tracer.job.vehicle import fingerprint_of, traffic_overlay, with_overlays
from tracer.job.wiring import learned
from tracer.observation.healthy_states import healthy_states
from tracer.observation.story import Story
from tracer.observation.words.reading_data import test_as_data, test_key
from tracer.observation.words.symptom_data import symptoms_as_data
from tracer.planning.constraints import Limits
from tracer.planning.next_step import Proposal, propose
from tracer.planning.repair_proof import Proof

__all__ = ["Job", "Recorded", "now"]


class Job(JobAsItStands):
    """A job and its file. Every change is written at once; reading the file gives the same job back.

    What it can be asked stands in `JobAsItStands`; what it can be told stands here.
    """

    def __init__(self, path: str | Path, clock: Clock = now) -> None:
        """Open an existing job file.

        Raises:
            TracerError: The job or its harness cannot be read, or the harness has lost something that
                the job speaks of.
        """
        super().__init__(Log(Path(path), clock))
        self.lesson = ""  # what is to be said of it, once the workshop's memory has taken this job in

    @classmethod
    def create(
        cls, path: str | Path, harness: str | Path | None = None, vehicle: str = "", complaint: str = "",
        clock: Clock = now, same_vehicle_as: str | Path | None = None, story: Story | None = None, traffic: str = "",
    ) -> Job:
        """Start a job; refuses to overwrite.

        Args:
            path: The job file to be written.
            harness: The harness file of the vehicle; may be left out with `same_vehicle_as`.
            vehicle, complaint: As the papers and the customer say.
            clock: Time of the entries.
            same_vehicle_as: An earlier job on this vehicle: in what it differs from the harness file comes
                along, and what was repaired, opened and noted then is kept for the record.
            story: How the vehicle runs, what was done to it last, and since when it is so.
            traffic: "keeps left" or "keeps right": where it is driven, which says what is near side and off side.

        Raises:
            TracerError: The harness is not sound, an overlay of the earlier job does not fit it, or the file
                cannot be written.
        """
        earlier = Job(same_vehicle_as, clock) if same_vehicle_as is not None else None
        brought: list[NewEntry] = []
        if earlier is not None:
            vehicle = vehicle or earlier.vehicle
            opened = sorted(earlier.standing.opened)
            brought = carried(earlier.record.living, earlier.path.name, earlier.complaint, earlier.status(), opened)
            brought += learned(earlier.harness, earlier.wiring)
        if traffic:
            brought.append(("overlay", traffic_overlay(traffic)))
        if story is not None and story.told:
            brought.append(("story", story.as_data()))
        if harness is None:
            if earlier is None:
                raise JobFileError("a job needs the harness file of its vehicle", "--harness FILE")
            harness = earlier.harness_path
        _begin(Path(path), Path(harness), (vehicle, complaint), brought, clock)
        new = cls(path, clock)
        if earlier is not None:
            new.take_over(earlier)
        return new

    @contextmanager
    def marking(self, mark: str) -> Iterator[None]:
        """What is recorded meanwhile carries a mark made by whoever sent it; what carries it already is not recorded
        a second time. "" marks nothing."""
        with self._log.marking(mark):
            yield

    def refresh(self) -> bool:
        """Read what others have recorded meanwhile; False if the harness file is another now: open the job anew.

        Raises:
            TracerError: The job file cannot be read any more.
        """
        stands = self._log.refresh()
        self._understand()
        return stands

    def add(self, entries: Sequence[NewEntry]) -> tuple[Event, ...]:
        """Record entries as they are, all of them or none: what was recorded on a copy of this job.

        Raises:
            TracerError: The job file cannot be written.
        """
        return self._append(*entries)

    def _append(self, *entries: NewEntry) -> tuple[Event, ...]:
        events = self._log.append(entries)
        self._understand()
        return events

    def _understand(self) -> None:
        """What was understood stands while the record is the same."""
        if self._log.record is not self._understood.record:
            self._understood = Understanding(self._log.record, self._log.vehicle, self._understood)

    # --- the next step

    def next(self, limits: Limits | None = None, record: bool = True) -> Proposal:
        """The next step; a proposed test is noted in the job file so that its short name can be used."""
        proposal = propose(
            self._understood.weighed, self.standing, limits, self.history.skipped, self.history.tried, said=self.said
        )
        if proposal.suspect is not None:
            own = next(s for s in self.suspects() if s.repair == proposal.suspect.repair)
            proposal = replace(proposal, suspect=own)
        if record and proposal.test is not None and test_key(proposal.test) not in self.proposed:
            self._append(("proposed", {"key": test_key(proposal.test), "test": test_as_data(proposal.test)}))
        return proposal

    # --- what was seen and measured

    def symptom(self, text: str) -> Recorded:
        """Record what was seen, in the harness's own words or as it is spoken; one sentence is one entry, of however
        many vehicle states it speaks.

        Raises:
            TracerError: It cannot be understood, `choices` are the nearest ready sentences; nothing was recorded.
        """
        # What hears sentences is much to read in, and no other command needs it.
        from tracer.observation.words.fuse_parted import parted_fuse
        from tracer.observation.words.heat_said import heat_said
        from tracer.observation.words.symptoms import understand

        parted = parted_fuse(text, self.harness, self.evidence, lambda fuse: self.investigator.sayable.used_in(fuse))
        healthy = healthy_states(self.harness, self.investigator.predictor)
        found = parted or heat_said(text, self.harness, healthy)
        if found is not None:
            return self.reading(*found)
        told = understand(text, self.harness, healthy)
        story = {"story": told.story.as_data()} if told.story.told else {}
        (event,) = self._append(("symptom", symptoms_as_data(told.symptoms) | story))
        return said_of(told, event.number, self._understood)

    def reading(self, test_text: str, value_text: str) -> Recorded:
        """Record a reading of a proposed test (by its short name) or of any other.

        Raises:
            TracerError: Test or value cannot be understood, or the test would have destroyed something; nothing was
                recorded.
        """
        taken = take_in(self.find_test(test_text), value_text, self._understood)
        (event,) = self._append(taken.entry)
        return Recorded(event.number, taken.understood, taken.remark)

    def tell(self, story: Story) -> None:
        """Record what is known of the vehicle's story, beside what was told of it before.

        Raises:
            TracerError: Nothing is told.
        """
        if not story.told:
            raise JobFileError("nothing is told of the vehicle's story", "how it runs, or what was done to it last")
        self._append(("story", self.story.and_then(story).as_data()))

    def note(self, text: str) -> None:
        """Record a remark for the next person."""
        self._append(("note", {"text": text}))

    def overlay(self, path: str | Path) -> tuple[str, ...]:
        """Record what differs on this vehicle from the harness file; returns what that changed, in words.

        Raises:
            TracerError: The overlay does not fit the harness.
        """
        text, before = read_text_file(path), self.harness
        data = {"name": Path(path).name, "text": text}
        with_overlays(self.harness_path, [*self._log.overlays, data])
        self._append(("overlay", data))
        return differences(before, self.harness)

    def undo(self) -> Event:
        """Take back the last entry (proposals and notes of the tool itself are passed over)."""
        taken = self._log.undo()
        self._understand()
        return taken

    # --- repair and proof

    def repaired(
        self, what: str, parts: Sequence[str] = (), minutes: float | None = None,
        results: Mapping[int, str] | None = None,
    ) -> Proof:
        """Record a repair and return the proof checks.

        Args:
            what: A rank in the list of suspects, a suspect's repair, or free words.
            results: Of its proof checks, as `prove_all` takes them: recorded with the repair, or neither is.

        Raises:
            TracerError: No such suspect or check, or a result that cannot be understood; nothing was recorded.
        """
        repair, proof = chosen_repair(what, self._understood), self._understood.proof_of_now()
        made = repair_entry(repair, parts, minutes, proof, self._understood)
        event, *_ = self._append(made, *proof_entries(proof, results or {}, self.harness))
        self._understood.proof_stands(event, proof)
        self.lesson = learn_closed(self.path)
        return proof

    def prove(self, number: int, result: str) -> Recorded:
        """Record the result of one proof check: "ok", or what was seen instead (errors as `prove_all`)."""
        self.prove_all({number: result})
        good = self.proof_results[number].good
        return Recorded(self.record.events[-1].number, f"check {number}: {'as expected' if good else result}")

    def prove_all(self, results: Mapping[int, str]) -> None:
        """Record results of proof checks, all or none: number → "ok", or what was seen instead.

        Raises:
            TracerError: No repair yet, no such check, or words that cannot be understood; nothing was
                recorded.
        """
        if self.proof is None:
            if results:
                raise JobFileError("no repair is recorded yet", "tracer repaired JOB WHAT")
            return
        self._append(*proof_entries(self.proof, results, self.harness))
        self.lesson = learn_closed(self.path)


def _begin(path: Path, harness: Path, named: tuple[str, str], brought: Sequence[NewEntry], clock: Clock) -> None:
    """Write the file of a new job; `named`: vehicle and complaint; `brought`: its first entries."""
    with_overlays(harness, [data for kind, data in brought if kind == "overlay"])
    base = Path(os.path.realpath(path)).parent
    try:  # with slashes on every system, so that the job and its harness can be taken to any other
        relative = Path(os.path.relpath(os.path.realpath(harness), base)).as_posix()
    except ValueError:
        raise JobFileError(f"{harness} is on another drive than the job", "put both on one drive") from None
    header = JobHeader(relative, fingerprint_of(harness), *named)
    job_file.create(path, header, [Event(n, clock(), *e) for n, e in enumerate(brought, 1)])
