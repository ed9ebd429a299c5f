"""A job as it stands: everything that a face can ask of it. `job.Job` adds what it can be told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.explanation import Reason, reason, say_lamp
from tracer.inference.rate_sensitivity import Margin, rate_margins
from tracer.inference.settled_lines import SettledLine
from tracer.job import file as job_file
from tracer.job.earlier_jobs import EARLIER, Earlier
from tracer.job.history import Entry, History, ProofResult
from tracer.job.learning import Remembered
from tracer.job.log import Log
from tracer.job.text import Event, JobRecord
from tracer.job.understanding import Understanding
from tracer.observation.evidence import Evidence, Test
from tracer.observation.story import Story
from tracer.observation.words.reading_data import test_from_data
from tracer.planning.costs import Standing
from tracer.planning.repair_proof import Proof
from tracer.safety.advice import Now
from tracer.safety.feeds import Shorts


class JobAsItStands:
    """What the file of a job says, and what follows from that."""

    def __init__(self, log: Log) -> None:
        self._log = log
        self._understood = Understanding(log.record, log.vehicle)

    # --- the file

    @property
    def path(self) -> Path:
        return self._log.path

    @property
    def record(self) -> JobRecord:
        """All that stands in the job file."""
        return self._log.record

    @property
    def other_names(self) -> int:
        """How many other names (hard links) the job file has; what is recorded here they do not show."""
        return job_file.other_names(self.path)

    @property
    def harness(self) -> Harness:
        """Of this vehicle, with its overlays."""
        return self._log.vehicle.harness

    @property
    def harness_path(self) -> Path:
        return self._log.vehicle.path

    @property
    def harness_changed(self) -> bool:
        """Whether the harness file is another than when the job was started."""
        return self._log.harness_changed

    @property
    def differences(self) -> tuple[str, ...]:
        """In what this vehicle's wiring differs from the harness file, in words."""
        return self._log.vehicle.differences

    @property
    def vehicle(self) -> str:
        return self.record.header.vehicle

    @property
    def complaint(self) -> str:
        return self.record.header.complaint

    @property
    def earlier_jobs(self) -> tuple[Earlier, ...]:
        """Earlier jobs on this vehicle, as far as they were carried over."""
        return tuple(Earlier.of(e.data) for e in self.record.living if e.kind == EARLIER)

    def events(self) -> tuple[Event, ...]:
        return self.record.events

    def has_marked(self, mark: str) -> bool:
        """Whether an entry carries this mark, also one that was taken back."""
        return self._log.has_marked(mark)

    # --- what has been told and done

    @property
    def history(self) -> History:
        """What has been told and done so far."""
        return self._understood.history

    @property
    def repairs(self) -> tuple[Event, ...]:
        """Repairs recorded, in order."""
        return self.history.repairs

    @property
    def learned(self) -> Remembered:
        """What the workshop's memory says of this vehicle."""
        return self._understood.learned

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All living evidence, in order."""
        return self.history.entries

    @property
    def story(self) -> Story:
        """What was told of the vehicle when the job was opened."""
        return self.history.story

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """What counts now (see `History.evidence`)."""
        return self.history.evidence

    @property
    def supply_v(self) -> float | None:
        """Battery voltage as measured in this job, V; None if it was not."""
        return self.history.supply_v

    @property
    def standing(self) -> Standing:
        """Where the job stands: vehicle state, places opened, instrument in hand."""
        return self.history.standing

    @property
    def minutes_spent(self) -> float:
        """Estimated minutes of the tests made so far."""
        return self.history.minutes_spent

    @property
    def engine_starts(self) -> int:
        """Engine starts that the symptoms and tests called for."""
        return self.history.engine_starts

    @property
    def proposed(self) -> Mapping[str, Test]:
        """Tests proposed so far, by their short names."""
        return self._understood.proposed

    def find_test(self, text: str) -> Test:
        """The proposed test with that short name, else a test described in words.

        Raises:
            TracerError: Neither.
        """
        return self._understood.find_test(text)

    def reading_words(self, event: Event) -> str:
        """The test and the value of a reading, also of one that was taken back."""
        test = test_from_data(event.data["test"], self.harness)
        return f"{test.says(self.harness)}: {event.data['value'].get('text', '')}"

    # --- how likely what is

    @property
    def investigator(self) -> Investigator:
        return self._understood.investigator

    def take_over(self, other: JobAsItStands) -> None:
        """Use what was worked out for another job on a vehicle wired alike; where it is not, this does nothing."""
        self._understood.take_over(other._understood)

    @property
    def diagnosis(self) -> Diagnosis:
        """Every suspect weighed against the evidence; repairs already made and found wrong count little."""
        return self._understood.diagnosis

    @property
    def wide_diagnosis(self) -> Diagnosis:
        """The same with three faults at once tried as well."""
        return self._understood.wide_diagnosis

    def diagnosis_before(self, number: int) -> Diagnosis:
        """The diagnosis as it stood just before the entry with this number."""
        return self._understood.diagnosis_before(number)

    @property
    def shares(self) -> Mapping[str, float]:
        """Repair → how likely it is what is needed; quicker than `suspects`, which also says who looks like whom."""
        return {s.repair: s.share for s in self._understood.weighed.suspects}

    def suspects(self) -> tuple[Suspect, ...]:
        """Suspects, likeliest first."""
        return self.diagnosis.suspects

    def reason(self, suspect: Suspect, among: Diagnosis | None = None) -> Reason:
        """Why a suspect is one; `among` where it is not one of `diagnosis`."""
        return reason(among or self.diagnosis, suspect)

    def rate_margins(self, found: Diagnosis) -> tuple[Margin, ...]:
        """How wrong each base rate may be before another suspect comes first."""
        return tuple(rate_margins(found))

    @property
    def wiring(self) -> tuple[SettledLine, ...]:
        """Lines of the harness file that were not sure and that readings have settled."""
        return self._understood.wiring

    # --- the vehicle

    def need_place(self, words: str) -> None:
        """Raises:
            UnknownNameError: No place of this vehicle has these words in its name.
        """
        places = sorted({self.harness.place_of(n)[0] for n in self.investigator.predictor.circuit.nodes})
        if not any(words.casefold() in p.casefold() for p in places):
            raise UnknownNameError(f"no place “{words}”", did_you_mean(words, places))

    def usual_looks(self, state: VehicleState, lamps: Sequence[str]) -> tuple[tuple[str, str], ...]:
        """How lamps look in a state when nothing is wrong, in words: (lamp, look)."""
        predictor = self.investigator.predictor
        panel = predictor.healthy(state)
        return tuple((lamp, say_lamp(panel, predictor, lamp)) for lamp in lamps)

    @property
    def said(self) -> frozenset[str]:
        """Names of the safety rules whose cautions were shown in this job."""
        return self._understood.said

    @property
    def now(self) -> Now:
        """How the vehicle stands, for what is said of safety."""
        return self._understood.now

    @property
    def shorts(self) -> Shorts:
        """What is known of feeds without a fuse that may lie on the body."""
        return self._understood.shorts

    # --- proof

    @property
    def proof(self) -> Proof | None:
        """The proof checks of the last repair, if there was one."""
        return self._understood.proof

    @property
    def proof_results(self) -> Mapping[int, ProofResult]:
        """Latest result of each proof check since the last repair."""
        return self.history.proof_results

    @property
    def closed(self) -> bool:
        """A repair was made and every proof check came out as expected."""
        return self._understood.closed

    def status(self) -> str:
        """One line: where the job is."""
        return self._understood.status()
