"""One job on one vehicle: complaint, symptoms, readings, suspects, next step, repair, proof, record.

Terminal, guide and report are thin over this class; everything it knows stands in the job file.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from tracer.cache import Kept, usual_folder
from tracer.errors import JobFileError, ReadingError, TracerError, UnknownNameError, did_you_mean
from tracer.harness.differences import differences
from tracer.harness.file.nodes import clip, read_text_file
from tracer.harness.file.text import load_harness, read_harness
from tracer.harness.model import Harness, VehicleState
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis, Suspect
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.expected_results import unexpected
from tracer.inference.explanation import Reason, reason, say_lamp
from tracer.inference.likelihood import as_meant
from tracer.inference.lookalikes import with_groups
from tracer.inference.rate_sensitivity import Margin, rate_margins
from tracer.inference.settled_lines import SettledLine
from tracer.job import file as job_file
from tracer.job.earlier_jobs import EARLIER, Earlier, carried
from tracer.job.history import Entry, EntryError, History, ProofResult
from tracer.job.kinds import MARKED, read_known
from tracer.job.leads import as_connected
from tracer.job.text import Event, JobHeader
from tracer.job.wiring import learned, wiring_found
from tracer.observation.consistency import contradictions
from tracer.observation.evidence import Evidence, Reading, Symptom, Test
from tracer.observation.healthy_states import healthy_states
from tracer.observation.story import Story
from tracer.observation.words.readings import (
    parse_test,
    parse_value,
    test_as_data,
    test_from_data,
    test_key,
    value_as_data,
)
from tracer.observation.words.symptoms import symptom_as_data, symptoms_as_data, understand
from tracer.planning.constraints import Limits
from tracer.planning.costs import Standing
from tracer.planning.next_step import Proposal, propose
from tracer.planning.repair_proof import Proof, plan_proof
from tracer.safety.advice import Now, of_test, said_by, warned, warning
from tracer.safety.facts import is_live
from tracer.safety.feeds import Shorts
from tracer.safety.permitted import forbidden, refused, without_unsafe_splits
from tracer.units import whole_number

Clock = Callable[[], datetime]


def now() -> datetime:
    """The time written beside an event: this machine's clock with its zone."""
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True)
class Recorded:
    """What recording a symptom or reading led to. `understood` says back what was taken in, one line for each state.

    `remark` says what the person should know at once: a contradiction, a reading that no suspect
    explains and what that may mean, an assumption about the vehicle state.
    """

    number: int
    understood: str
    remark: str = ""


@dataclass
class _Remembered:
    """What one process has worked out of a job whose harness stays as it is: entries and proposed tests by number as
    they were understood, diagnoses by what counted, proofs by the number of their repair."""

    entries: dict[int, tuple[Entry, ...]] = field(default_factory=dict)
    proposed: dict[int, tuple[str, Test]] = field(default_factory=dict)
    diagnoses: dict[Hashable, Diagnosis] = field(default_factory=dict)
    proofs: dict[int, Proof] = field(default_factory=dict)


class Job:
    """A job and its file. Every change is written at once; reading the file gives the same job back."""

    def __init__(self, path: str | Path, clock: Clock = now) -> None:
        """Open an existing job file.

        Raises:
            TracerError: The job or its harness cannot be read, or the harness has lost something that
                the job speaks of.
        """
        path = self.path = Path(path)
        self._clock = clock
        self._remembered = _Remembered()
        self._mark = ""
        self.record = read_known(path)
        base = Path(os.path.realpath(path)).parent
        self.harness_path = base / self.record.header.harness
        if not self.harness_path.is_file():
            raise JobFileError(
                f"the harness of this job is not there: {self.record.header.harness}",
                "put it back, or correct the line “harness:” in the job file",
            )
        self.harness: Harness = _load(self.harness_path, self._overlays)
        self._fingerprint = _fingerprint(self.harness_path)
        self.harness_changed = self._fingerprint != self.record.header.fingerprint

    @classmethod
    def create(
        cls, path: str | Path, harness: str | Path | None = None, vehicle: str = "", complaint: str = "",
        clock: Clock = now, same_vehicle_as: str | Path | None = None, story: Story | None = None,
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

        Raises:
            TracerError: The harness is not sound, an overlay of the earlier job does not fit it, or the file
                cannot be written.
        """
        path, earlier = Path(path), Job(same_vehicle_as, clock) if same_vehicle_as is not None else None
        if harness is None:
            if earlier is None:
                raise JobFileError("a job needs the harness file of its vehicle", "--harness FILE")
            harness = earlier.harness_path
        harness = Path(harness)
        brought: list[tuple[str, Mapping[str, Any]]] = []
        if earlier is not None:
            vehicle = vehicle or earlier.vehicle
            opened = sorted(earlier.standing.opened)
            brought = carried(earlier.record.living, earlier.path.name, earlier.complaint, earlier.status(), opened)
            brought += learned(earlier.harness, earlier.wiring)
        if story is not None and story.told:
            brought.append(("story", story.as_data()))
        _load(harness, [data for kind, data in brought if kind == "overlay"])
        base = Path(os.path.realpath(path)).parent
        try:  # with slashes on every system, so that the job and its harness can be taken to any other
            relative = Path(os.path.relpath(os.path.realpath(harness), base)).as_posix()
        except ValueError:
            raise JobFileError(f"{harness} is on another drive than the job", "put both on one drive") from None
        header = JobHeader(relative, _fingerprint(harness), vehicle, complaint)
        job_file.create(path, header, [Event(n, clock(), *e) for n, e in enumerate(brought, 1)])
        return cls(path, clock)

    # --- what is known

    @property
    def other_names(self) -> int:
        """How many other names (hard links) the job file has; what is recorded here they do not show."""
        return job_file.other_names(self.path)

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

    @cached_property
    def differences(self) -> tuple[str, ...]:
        """In what this vehicle's wiring differs from the harness file, in words."""
        return differences(load_harness(self.harness_path), self.harness) if self._overlays else ()

    def events(self) -> tuple[Event, ...]:
        return self.record.events

    @cached_property
    def history(self) -> History:
        """What has been told and done so far."""
        return History(self.record.living, self.harness, self._remembered.entries)

    @property
    def repairs(self) -> tuple[Event, ...]:
        """Repairs recorded, in order."""
        return self.history.repairs

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
    def _kept(self) -> Kept:
        return Kept(usual_folder(), json.dumps([self._fingerprint, *map(dict, self._overlays)]))

    @cached_property
    def investigator(self) -> Investigator:
        return Investigator(self.harness, self.supply_v, self._kept)

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """Every suspect weighed against the evidence; repairs already made and found wrong count little."""
        return without_unsafe_splits(with_groups(self._weighed))

    @cached_property
    def wide_diagnosis(self) -> Diagnosis:
        """The same with three faults at once tried as well."""
        return without_unsafe_splits(with_groups(self._diagnose(triples=True)))

    @cached_property
    def _weighed(self) -> Diagnosis:
        """The diagnosis, without who looks like whom: choosing a test needs that of none but what it repairs."""
        return self._diagnose()

    def _diagnose(self, triples: bool = False, history: History | None = None) -> Diagnosis:
        """Weighed once in one process for what counts, however often it is asked for."""
        then = history or self.history
        key = (self.supply_v, then.evidence, tuple(then.made_in_vain.items()), tuple(then.tried.items()), triples,
               then.story)
        known = self._remembered.diagnoses
        if key not in known:
            known[key] = diagnosed(self.investigator, then.evidence, then.made_in_vain, triples, self._kept,
                                   then.story, then.tried)
        return known[key]

    def diagnosis_before(self, number: int) -> Diagnosis:
        """The diagnosis as it stood just before the entry with this number."""
        return self._diagnose(history=self.history.before(number))

    @property
    def shares(self) -> Mapping[str, float]:
        """Repair → how likely it is what is needed; quicker than `suspects`, which also says who looks like whom."""
        return {s.repair: s.share for s in self._weighed.suspects}

    @cached_property
    def wiring(self) -> tuple[SettledLine, ...]:
        """Lines of the harness file that were not sure and that readings have settled."""
        last = self.repairs[-1] if self.repairs else None
        then = self.diagnosis_before(last.number) if last is not None else self._weighed
        return wiring_found(self.investigator, then, None if last is None else str(last.data.get("repair", "")))

    def suspects(self) -> tuple[Suspect, ...]:
        """Suspects, likeliest first."""
        return self.diagnosis.suspects

    def reason(self, suspect: Suspect, among: Diagnosis | None = None) -> Reason:
        """Why a suspect is one; `among` where it is not one of `diagnosis`."""
        return reason(among or self.diagnosis, suspect)

    def rate_margins(self, found: Diagnosis) -> tuple[Margin, ...]:
        """How wrong each base rate may be before another suspect comes first."""
        return tuple(rate_margins(found))

    def need_place(self, words: str) -> None:
        """Raises:
            UnknownNameError: No place of this vehicle has these words in its name.
        """
        places = sorted({self.harness.place_of(n)[0] for n in self.investigator.predictor.circuit.nodes})
        if not any(words.casefold() in p.casefold() for p in places):
            raise UnknownNameError(f"no place “{words}”", did_you_mean(words, places))

    def reading_words(self, event: Event) -> str:
        """The test and the value of a reading, also of one that was taken back."""
        test = test_from_data(event.data["test"], self.harness)
        return f"{test.says(self.harness)}: {event.data['value'].get('text', '')}"

    # --- the next step

    def next(self, limits: Limits | None = None, record: bool = True) -> Proposal:
        """The next step; a proposed test is noted in the job file so that its short name can be used."""
        proposal = propose(
            self._weighed, self.standing, limits, self.history.skipped, self.history.tried, said=self.said
        )
        if proposal.suspect is not None:
            own = next(s for s in self.suspects() if s.repair == proposal.suspect.repair)
            proposal = replace(proposal, suspect=own)
        if record and proposal.test is not None and test_key(proposal.test) not in self._proposed:
            self._append("proposed", {"key": test_key(proposal.test), "test": test_as_data(proposal.test)})
        return proposal

    @property
    def said(self) -> frozenset[str]:
        """Names of the safety rules whose cautions were shown in this job: with every test that was proposed before
        the last entry, and with every repair."""
        last = max((e.number for e in self.entries), default=0)
        shown = [test_from_data(e.data["test"], self.harness) for e in self.record.events
                 if e.kind == "proposed" and e.number < last]
        facts = [of_test(t, self.harness) for t in shown]
        return said_by(facts)

    @property
    def now(self) -> Now:
        """How the vehicle stands, for what is said of safety."""
        return Now(self.standing.state, self.standing.battery_off, self.said)

    @cached_property
    def shorts(self) -> Shorts:
        """What is known of feeds without a fuse that may lie on the body."""
        return Shorts(self._weighed)

    def usual_looks(self, state: VehicleState, lamps: Sequence[str]) -> tuple[tuple[str, str], ...]:
        """How lamps look in a state when nothing is wrong, in words: (lamp, look)."""
        predictor = self.investigator.predictor
        panel = predictor.healthy(state)
        return tuple((lamp, say_lamp(panel, predictor, lamp)) for lamp in lamps)

    @cached_property
    def _proposed(self) -> Mapping[str, Test]:
        known = self._remembered.proposed
        for e in self.record.events:
            if e.kind == "proposed" and e.number not in known:
                try:
                    known[e.number] = str(e.data["key"]), test_from_data(e.data["test"], self.harness)
                except TracerError as error:
                    raise EntryError(e.number, e.kind, error) from error
        return dict(known.values())

    def find_test(self, text: str) -> Test:
        """The proposed test with that short name, else a test described in words.

        Raises:
            TracerError: Neither.
        """
        by_name = {k.casefold(): t for k, t in self._proposed.items()}
        if text.strip().casefold() in by_name:
            return by_name[text.strip().casefold()]
        if len(text.split()) == 1 and text[1:2] == "-":
            known = ", ".join(self._proposed) or "none so far"
            raise UnknownNameError(f"no test “{text}” was proposed in this job", f"proposed: {known}")
        return parse_test(text, self.harness)

    # --- recording

    def symptom(self, text: str) -> Recorded:
        """Record what was seen, in the harness's own words or as it is spoken; one sentence is one entry, of however
        many vehicle states it speaks.

        Raises:
            TracerError: It cannot be understood, `choices` are the nearest ready sentences; nothing was recorded.
        """
        told = understand(text, self.harness, healthy_states(self.harness, self.investigator.predictor))
        event = self._append("symptom", symptoms_as_data(told.symptoms))
        understood = "; ".join(f"{s.says()} — with {self.harness.say_state(s.state)}" for s in told.symptoms)
        before = self.evidence[: -len(told.symptoms)]
        clash = any(self._contradicts(symptom, before) for symptom in told.symptoms)
        remarks = ["contradicts what was recorded earlier for the same lamp in the same state; both are kept"] * clash
        danger = (warning(symptom.state, self.harness) for symptom in told.symptoms)
        return Recorded(event.number, understood, "; ".join(filter(None, [*danger, told.remark(), *remarks])))

    def _contradicts(self, symptom: Symptom, before: Sequence[Evidence]) -> bool:
        """Whether it contradicts what was recorded before it."""
        earlier = [e for e in before if isinstance(e, Symptom) and e.state == symptom.state]
        clash = any(contradictions([one, symptom]) for one in earlier)
        if clash:  # it takes the circuit to know which lamps should be dark
            *meant, last = (as_meant(e, self.investigator.predictor) for e in (*earlier, symptom))
            clash = any(contradictions([one, last]) for one in meant)
        return clash

    def reading(self, test_text: str, value_text: str) -> Recorded:
        """Record a reading of a proposed test (by its short name) or of any other.

        Raises:
            TracerError: Test or value cannot be understood, or the test would have destroyed something; nothing was
                recorded.
        """
        test = self.find_test(test_text)
        if (refusal := refused(test, self.harness)) is not None:
            raise ReadingError(*refusal)
        value = parse_value(value_text, test.kind, test.lamp, bool(test.in_hand))
        if value.lead_blew and not test.has_lead:
            raise ReadingError("no temporary lead is fitted in this test",
                               "a fuse of the vehicle is told as a symptom: “F3 blows when …”")
        if value.told_nothing:
            event = self._append("reading", {"test": test_as_data(test), "value": value_as_data(value)})
            return Recorded(event.number, f"{test.says(self.harness)}: not done")
        value, remark = as_connected(test, value, value_text, self.harness)
        strange, danger = "", forbidden(test, self.harness, self.shorts if self.evidence and is_live(test) else None)
        if self.evidence or test.row.of_lamps:
            strange = unexpected(Reading(test, value), self.diagnosis, self.investigator)
        event = self._append("reading", {"test": test_as_data(test), "value": value_as_data(value)})
        said = f"{test.says(self.harness)}: {value_text.strip()}"
        return Recorded(event.number, said, "; ".join(filter(None, [warned(danger), remark, strange])))

    def note(self, text: str) -> None:
        """Record a remark for the next person."""
        self._append("note", {"text": text})

    def overlay(self, path: str | Path) -> tuple[str, ...]:
        """Record what differs on this vehicle from the harness file; returns what that changed, in words.

        Raises:
            TracerError: The overlay does not fit the harness.
        """
        text, before = read_text_file(path), self.harness
        data = {"name": Path(path).name, "text": text}
        _load(self.harness_path, [*self._overlays, data])
        self._append("overlay", data)
        return differences(before, self.harness)

    def undo(self) -> Event:
        """Take back the last entry (proposals and notes of the tool itself are passed over)."""
        own = [e for e in self.record.living if e.kind not in ("proposed", EARLIER)]
        if not own:
            raise JobFileError("nothing to take back", "no entry of yours stands in this job")
        taken = job_file.withdraw(self.path, self._clock(), own[-1].number)
        self._reload()
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
        repair = what.strip()
        if repair.isdecimal():
            rank = whole_number(repair)
            if self.repairs and not any(e.number > self.repairs[-1].number for e in self.entries):
                raise ReadingError(
                    f"“{self.repairs[-1].data['repair']}” stands as repaired, and the ranks have moved since",
                    "take its proof checks first, undo it, or name the repair in words",
                )
            if rank is None or not 1 <= rank <= len(self.suspects()):
                raise UnknownNameError(f"no suspect {clip(repair)}", f"there are {len(self.suspects())}")
            repair = self.suspects()[rank - 1].repair
        if not repair:
            raise ReadingError("say what was repaired", "e.g. “1” for the first suspect, or words")
        share = next((s.share for s in self.suspects() if s.repair == repair), None)
        proof = self._proof_of(self.history)
        data: dict[str, Any] = {"repair": repair, "parts": list(parts)}
        data["checks"] = [
            {"number": c.number, "state": dict(c.state.positions), "because": c.because} for c in proof.checks
        ]
        data["risk before"], data["risk after"] = round(proof.risk_before, 5), round(proof.risk_after, 5)
        if minutes is not None:
            data["minutes"] = minutes
        if share is not None:
            data["share"] = round(share, 4)
        entries = [("repaired", data), *self._proof_entries(proof, results or {})]
        self._remembered.proofs[self._append_all(entries)[0].number] = proof
        return proof

    @cached_property
    def proof(self) -> Proof | None:
        """The proof checks of the last repair, if there was one."""
        if not self.repairs:
            return None
        number = self.repairs[-1].number
        known = self._remembered.proofs
        if number not in known:  # what was seen before a repair does not change any more
            known[number] = self._proof_of(self.history.before(number))
        return known[number]

    def _proof_of(self, history: History) -> Proof:
        """Whatever was complained of in the job is looked at again, not only what counts since the last repair."""
        standing = history.standing
        now = Now(standing.state, standing.battery_off, self.said)
        return plan_proof(self.investigator, [e.item for e in history.told], now)

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
        self._append_all(self._proof_entries(self.proof, results))

    def _proof_entries(self, proof: Proof, results: Mapping[int, str]) -> list[tuple[str, Mapping[str, Any]]]:
        """What is recorded of results: for each whether it was as expected, and what was seen instead."""
        entries: list[tuple[str, Mapping[str, Any]]] = []
        for number, result in results.items():
            check = next((c for c in proof.checks if c.number == number), None)
            if check is None:
                raise UnknownNameError(f"no proof check {number}", f"checks 1 to {len(proof.checks)}")
            symptom = check.seen_instead(result, self.harness)
            entries.append(("proof", {"check": number, "good": symptom is None, "found": result.strip()}))
            if symptom is not None:
                entries.append(("symptom", symptom_as_data(symptom)))
        return entries

    @property
    def proof_results(self) -> Mapping[int, ProofResult]:
        """Latest result of each proof check since the last repair."""
        return self.history.proof_results

    @cached_property
    def closed(self) -> bool:
        """A repair was made and every proof check came out as expected."""
        proof = self.proof
        return proof is not None and all(
            c.number in self.proof_results and self.proof_results[c.number].good for c in proof.checks
        )

    def status(self) -> str:
        """One line: where the job is."""
        if self.closed:
            return "closed: repaired and proven"
        if self.proof is not None:
            left = [c.number for c in self.proof.checks if c.number not in self.proof_results]
            bad = [r.number for r in self.proof_results.values() if not r.good]
            if bad:
                return f"open: proof check {', '.join(map(str, bad))} failed"
            return f"repaired; proof checks left: {', '.join(map(str, left))}"
        if not self.entries:
            return "open: no symptom recorded yet"
        return "open"

    # --- file

    @contextmanager
    def marking(self, mark: str) -> Iterator[None]:
        """What is recorded meanwhile carries a mark made by whoever sent it; what carries it already is not recorded
        a second time. "" marks nothing."""
        self._mark = mark
        try:
            yield
        finally:
            self._mark = ""

    def has_marked(self, mark: str) -> bool:
        """Whether an entry carries this mark, also one that was taken back."""
        return bool(mark) and any(e.data.get(MARKED) == mark for e in self.record.events)

    def refresh(self) -> bool:
        """Read what others have recorded meanwhile; False if the harness file is another now: open the job anew.

        Raises:
            TracerError: The job file cannot be read any more.
        """
        if _fingerprint(self.harness_path) != self._fingerprint:
            return False
        if job_file.read(self.path).events != self.record.events:
            self._reload()
        return True

    def _append(self, kind: str, data: Mapping[str, Any]) -> Event:
        return self._append_all([(kind, data)])[0]

    def _append_all(self, entries: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[Event, ...]:
        """All of them are recorded or none; what carries the mark of now stands already."""
        if not entries:
            return ()
        if self._mark:
            known = {e.kind: e for e in self.record.events if e.data.get(MARKED) == self._mark}
            if all(kind in known for kind, _ in entries):
                return tuple(known[kind] for kind, _ in entries)
            entries = [(kind, data if kind == "proposed" else {**data, MARKED: self._mark}) for kind, data in entries]
        events = job_file.append_all(self.path, entries, self._clock())
        self._reload()
        return events

    def _reload(self) -> None:
        kept, before = self.__dict__.get("investigator"), self._overlays
        self.record = read_known(self.path)
        for name, value in list(type(self).__dict__.items()):
            if isinstance(value, cached_property):
                self.__dict__.pop(name, None)
        if self._overlays != before:
            self.harness, kept = _load(self.harness_path, self._overlays), None
            self._remembered = _Remembered()  # another vehicle, for all that was worked out
        # The faults and their predictions stay true as long as harness and battery do.
        if kept is not None and kept.supply_v == self.supply_v:
            self.__dict__["investigator"] = kept

    @property
    def _overlays(self) -> list[Mapping[str, Any]]:
        return [e.data for e in self.record.living if e.kind == "overlay"]


def _load(path: Path, overlays: Sequence[Mapping[str, Any]]) -> Harness:
    if not overlays:
        return load_harness(path)
    text = read_text_file(path)
    return read_harness(text, str(path), [(str(o["text"]), str(o["name"])) for o in overlays])


def _fingerprint(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
