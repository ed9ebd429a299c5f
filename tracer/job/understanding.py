"""What follows from the record of a job: history, diagnosis, proposed tests, proof.

Each is worked out when it is asked for, and once. A record that grows is understood anew, but what was worked out of
its vehicle before is remembered.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from functools import cached_property

from msgspec import Struct, field

from tracer.errors import TracerError, UnknownNameError
from tracer.harness.base_rates import UNDESCRIBED
from tracer.inference.diagnose import Investigator
from tracer.inference.diagnosis import Diagnosis
from tracer.inference.diagnosis_cache import diagnosed
from tracer.inference.lookalikes import with_groups
from tracer.inference.settled_lines import SettledLine
from tracer.job.history import Entry, EntryError, History
from tracer.job.learning import Remembered, remembered
from tracer.job.text import Event, JobRecord
from tracer.job.vehicle import Vehicle
from tracer.job.wiring import wiring_found
from tracer.observation.evidence import Test
from tracer.observation.words.reading_data import test_from_data
from tracer.planning.repair_proof import Proof, plan_proof
from tracer.safety.advice import Now, of_test, said_by
from tracer.safety.feeds import Shorts
from tracer.safety.permitted import without_unsafe_splits


class _Remembered(Struct):
    """What one process has worked out of a job whose harness stays as it is: entries and proposed tests by number as
    they were understood, diagnoses by what counted, those with who looks like whom by
    the diagnosis, proofs by the number of their repair."""

    entries: dict[int, tuple[Entry, ...]] = field(default_factory=dict)
    proposed: dict[int, tuple[str, Test]] = field(default_factory=dict)
    diagnoses: dict[Hashable, Diagnosis] = field(default_factory=dict)
    grouped: dict[int, Diagnosis] = field(default_factory=dict)
    proofs: dict[int, Proof] = field(default_factory=dict)
    investigator: Investigator | None = None
    learned: Remembered | None = None


class Understanding:
    """A job as its record stands."""

    def __init__(self, record: JobRecord, vehicle: Vehicle, before: Understanding | None = None) -> None:
        """`before`: how the job was understood until now."""
        self.record, self._vehicle = record, vehicle
        self.harness = vehicle.harness
        self._remembered = _Remembered()
        if before is not None and before._vehicle is vehicle:
            self._remembered = before._remembered

    def branch(self, vehicle: Vehicle) -> Understanding:
        """The same, to go on from in another way: what is added there is not remembered here. `vehicle`: the same
        wiring."""
        own, known = Understanding(self.record, vehicle), self._remembered
        own._remembered = _Remembered(
            dict(known.entries), dict(known.proposed), dict(known.diagnoses), dict(known.grouped),
            dict(known.proofs), self.investigator, known.learned)
        return own

    @cached_property
    def history(self) -> History:
        """What has been told and done so far."""
        return History(self.record.living, self.harness, self._remembered.entries)

    @property
    def investigator(self) -> Investigator:
        """Faults and their predictions; they stay true as long as harness and battery do."""
        known = self._remembered.investigator
        if known is None or known.supply_v != self.history.supply_v:
            rates = self.learned.rates
            known = Investigator(
                self.harness, self.history.supply_v, self._vehicle.kept, rates.factor if rates else None,
                rates.undescribed if rates else UNDESCRIBED,
            )
            self._remembered.investigator = known
        return known

    def take_over(self, other: Understanding) -> None:
        """Use what was worked out of the same wiring for another job; of other wiring nothing."""
        if other.harness == self.harness:
            self._remembered.investigator = other._remembered.investigator

    @property
    def learned(self) -> Remembered:
        """What the workshop's memory says of this vehicle; read once, so that a job is weighed by the same rates from
        its opening to its end."""
        if self._remembered.learned is None:
            self._remembered.learned = remembered(self.record, self.harness)
        return self._remembered.learned

    # --- how likely what is

    @cached_property
    def weighed(self) -> Diagnosis:
        """The diagnosis, without who looks like whom: choosing a test needs that of none but what it repairs."""
        return self._diagnose(self.history)

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """Every suspect weighed against the evidence; repairs already made and found wrong count little."""
        return self._grouped(self.weighed)

    @cached_property
    def wide_diagnosis(self) -> Diagnosis:
        """The same with three faults at once tried as well."""
        return self._grouped(self._diagnose(self.history, triples=True))

    def diagnosis_before(self, number: int) -> Diagnosis:
        """The diagnosis as it stood just before the entry with this number."""
        return self._diagnose(self.history.before(number))

    def _diagnose(self, then: History, triples: bool = False) -> Diagnosis:
        """Weighed once in one process for what counts, however often it is asked for."""
        key = (self.history.supply_v, then.evidence, tuple(then.made_in_vain.items()), tuple(then.tried.items()),
               triples, then.story)
        known = self._remembered.diagnoses
        if key not in known:
            known[key] = diagnosed(self.investigator, then.evidence, then.made_in_vain, triples, self._vehicle.kept,
                                   then.story, then.tried)
        return known[key]

    def _grouped(self, weighed: Diagnosis) -> Diagnosis:
        """It with who looks like whom, which is found out once as well."""
        known = self._remembered.grouped
        if id(weighed) not in known:  # as long as it is remembered, no other has its number
            known[id(weighed)] = without_unsafe_splits(with_groups(weighed))
        return known[id(weighed)]

    @cached_property
    def wiring(self) -> tuple[SettledLine, ...]:
        """Lines of the harness file that were not sure and that readings have settled."""
        last = self.history.repairs[-1] if self.history.repairs else None
        if not self.harness.unsure:
            return ()
        then = self.diagnosis_before(last.number) if last is not None else self.weighed
        return wiring_found(self.investigator, then, None if last is None else str(last.data.get("repair", "")))

    # --- what was proposed, and what was said of safety with it

    @cached_property
    def proposed(self) -> Mapping[str, Test]:
        """Tests proposed so far, by their short names."""
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
        by_name = {k.casefold(): t for k, t in self.proposed.items()}
        if text.strip().casefold() in by_name:
            return by_name[text.strip().casefold()]
        if len(text.split()) == 1 and text[1:2] == "-":
            known = ", ".join(self.proposed) or "none so far"
            raise UnknownNameError(f"no test “{text}” was proposed in this job", f"proposed: {known}")
        from tracer.observation.words.probes import parse_test  # of use here alone, and much to read in

        return parse_test(text, self.harness)

    @property
    def said(self) -> frozenset[str]:
        """Names of the safety rules whose cautions were shown in this job: with every test that was proposed before
        the last entry, and with every repair."""
        last = max((e.number for e in self.history.entries), default=0)
        shown = [test_from_data(e.data["test"], self.harness) for e in self.record.events
                 if e.kind == "proposed" and e.number < last]
        return said_by([of_test(t, self.harness) for t in shown])

    @property
    def now(self) -> Now:
        """How the vehicle stands, for what is said of safety."""
        return self._now(self.history)

    def _now(self, then: History) -> Now:
        return Now(then.standing.state, then.standing.battery_off, self.said)

    @cached_property
    def shorts(self) -> Shorts:
        """What is known of feeds without a fuse that may lie on the body."""
        return Shorts(self.weighed)

    # --- proof

    @cached_property
    def proof(self) -> Proof | None:
        """The proof checks of the last repair, if there was one."""
        repairs, known = self.history.repairs, self._remembered.proofs
        if not repairs:
            return None
        number = repairs[-1].number
        if number not in known:  # what was seen before a repair does not change any more
            known[number] = self._proof_of(self.history.before(number))
        return known[number]

    def proof_of_now(self) -> Proof:
        """The proof checks of a repair that is made now."""
        return self._proof_of(self.history)

    def proof_stands(self, repair: Event, proof: Proof) -> None:
        """These are the checks of this repair, unless it has some already."""
        self._remembered.proofs.setdefault(repair.number, proof)

    def _proof_of(self, then: History) -> Proof:
        """Whatever was complained of in the job is looked at again, not only what counts since the last repair."""
        return plan_proof(self.investigator, [e.item for e in then.told], self._now(then))

    @cached_property
    def closed(self) -> bool:
        """A repair was made and every proof check came out as expected."""
        results = self.history.proof_results
        return self.proof is not None and all(
            c.number in results and results[c.number].good for c in self.proof.checks
        )

    def status(self) -> str:
        """One line: where the job is."""
        if self.closed:
            return "closed: repaired and proven"
        if self.proof is not None:
            results = self.history.proof_results
            left = [c.number for c in self.proof.checks if c.number not in results]
            bad = [r.number for r in results.values() if not r.good]
            if bad:
                return f"open: proof check {', '.join(map(str, bad))} failed"
            return f"repaired; proof checks left: {', '.join(map(str, left))}"
        return "open" if self.history.entries else "open: no symptom recorded yet"
