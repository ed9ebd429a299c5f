"""One job from the first sentence to the proof, driven through the tool's public interface alone."""

from __future__ import annotations

import random
import signal
import time
import traceback
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any

from tests.bench.truth.circuit import Edit
from tests.bench.truth.electrician import Electrician, UnknownPointError, thing_key
from tests.bench.truth.faults import WEIGHTS, Fault, Maker
from tests.bench.truth.further_faults import draw
from tests.bench.truth.observer import BY_DAY, Observer
from tests.bench.truth.oracle import Oracle, person_of
from tests.bench.truth.person import Event, Statement, events, sentence, speak
from tests.bench.truth.picture import Known, tolerances, walk
from tests.bench.truth.repairs import renews, right
from tests.bench.truth.solve import NoSolutionError, settle
from tracer import Job, Limits, TracerError

MOST_STEPS = 25
BURNS_A = 80.0  # 4 mm² melts its insulation within seconds (judgement)
PROVE_MIN = 2.0
CONFIRM_MIN = 3.0  # a meter across what is about to be repaired (judgement)
_UNEXPECTED = "no leading suspect predicts"


@dataclass
class Outcome:
    """How one job went. Ranks are 0 where the true repair is not in the list."""

    vehicle: str
    number: int
    kind: str
    fault: str
    said: list[str] = field(default_factory=list)
    rank: int = 0
    ideal: int = 0
    suspects: int = 0
    leading: str = ""
    end: str = ""  # proven, closed wrong, given up, steps, crash, time
    wrong: list[str] = field(default_factory=list)  # renewed or remade in vain
    vain: list[str] = field(default_factory=list)  # cleaned, set or changed back in vain
    again: list[str] = field(default_factory=list)  # made in vain, and then once more
    stated: list[tuple[float, bool]] = field(default_factory=list)  # how sure a repair was said to be, whether right
    readings: int = 0
    unexplained: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    minutes: float = 0.0
    lost: float = 0.0  # of them by repairs made in vain
    repair: float = 0.0  # of them the right repair, and what it takes to see that it helped
    oracle: float = -1.0  # minutes of who knows the bench's laws; −1: not reckoned
    seconds: float = 0.0
    error: str = ""

    def as_data(self) -> dict[str, Any]:
        return asdict(self)


class OutOfTimeError(Exception):
    """The job took longer than it may."""


@contextmanager
def _at_most(seconds: float) -> Iterator[None]:
    def stop(signum: int, frame: FrameType | None) -> None:
        raise OutOfTimeError

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def drawn(
    known: Known, rng: random.Random, kinds: Collection[str] = (), weights: Mapping[str, float] = WEIGHTS,
    places: Mapping[str, Sequence[float]] | None = None, two: Maker | None = None,
) -> tuple[Fault, Electrician, list[Event]]:
    """A vehicle with a fault that strikes somebody, and who looks at it; the laws as in `further_faults.draw`."""
    while True:
        fault, tolerance = draw(known.net, rng, kinds, weights, places, two), tolerances(known.net, rng)
        when = "day" if rng.random() < BY_DAY else "night"
        shown = walk(known, tolerance | fault.edit)
        found = events(known, shown, when) if shown is not None and not _burns(known, tolerance | fault.edit) else []
        if found:
            return fault, Electrician(known, tolerance, fault, rng, when), found


def _burns(known: Known, edit: Edit) -> bool:
    """Whether a path that should not be there carries in any state what no wire of a lamp lasts under, and no fuse
    ends it: such a vehicle burns as soon as that is switched on, and does not come to be looked at by its lamps."""
    paths = {f"path {p.a} – {p.b}" for p in edit.add}
    return bool(paths) and any(
        abs(a) > BURNS_A for s in known.states for n, a in settle(known.net, edit, s).amps.items() if n in paths
    )


def play(
    name: str, number: int, harness: Path, known: Known, oracle: Oracle | None, seed: str, folder: Path,
    seconds: float, kinds: Collection[str] = (),
) -> Outcome:
    """One job; whatever goes wrong in the tool is caught and told in the outcome."""
    rng = random.Random(f"{seed} {name} {number}")
    fault, person, found = drawn(known, rng, kinds)
    said = speak(known, found, rng)
    outcome = Outcome(name, number, fault.kind, fault.says, [sentence(known, s) for s in said])
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}-{number}.job.yaml"
    path.unlink(missing_ok=True)
    begun = time.monotonic()
    run = _Run(outcome, person, fault, known, rng)
    try:
        with _at_most(seconds):
            run.whole(Job.create(path, harness, name, ""), said, oracle.observer if oracle is not None else None)
    except OutOfTimeError:
        outcome.end = "time"
    except NoSolutionError:
        outcome.end, outcome.error = "bench", "the bench found no operating point"
    except Exception as error:
        outcome.end = "crash"
        outcome.error = f"{type(error).__name__}: {error}"
        (folder / f"{name}-{number}.traceback.txt").write_text(traceback.format_exc(), encoding="utf-8")
    outcome.seconds = time.monotonic() - begun
    if oracle is not None and outcome.end == "proven":
        other = person_of(known, person, fault, f"{seed} {name} {number}")
        least = oracle.minutes(said, fault, other, outcome.repair, run.limits.alone)
        outcome.oracle = -1.0 if least is None else least
    (folder / f"{name}-{number}.calls.txt").write_text("\n".join(run.calls) + "\n", encoding="utf-8")
    return outcome


class _Run:
    """The steps of one job."""

    def __init__(
        self, outcome: Outcome, person: Electrician, fault: Fault, known: Known, rng: random.Random
    ) -> None:
        self.out, self.person, self.fault, self.known, self.rng = outcome, person, fault, known, rng
        self.calls: list[str] = [f"{fault.kind}: {fault.says}"]
        without = {t for t in ("clamp ammeter", "LED tester") if rng.random() < 0.4}
        self.limits = Limits(alone=rng.random() < 0.3, without=frozenset(without))
        self.measures_battery = rng.random() < 0.15
        self.sound = Electrician(known, Edit(), None, random.Random(0), "day")

    def whole(self, job: Job, said: Sequence[Statement], observer: Observer | None) -> None:
        for text in self.out.said:
            self._tell(job, text)
        suspects = job.suspects()
        self.out.suspects = len(suspects)
        self.out.leading = f"{suspects[0].repair} {suspects[0].share:.3f}" if suspects else ""
        self.out.rank = next((n for n, s in enumerate(suspects, 1) if right(s.repair, self.fault.cures)), 0)
        if observer is not None:
            self.out.ideal = observer.rank(said, self.fault.cures)
        batteries = self.known.net.batteries
        if self.measures_battery and len(batteries) == 1:
            control = next(iter(self.known.net.vehicle.controls.values()))
            test = f"volts battery.+ to battery.- when {control.name} {control.assumed}"
            found = job.find_test(test)
            self._record(job, test, self.person.answer(found))
        for _ in range(MOST_STEPS):
            if self._step(job):
                return
        self.out.end = "steps"

    def _tell(self, job: Job, text: str) -> None:
        self.calls.append(f"symptom {text}")
        try:
            job.symptom(text)
        except TracerError as error:
            self.out.refused.append(f"{text}: {error}")

    def _step(self, job: Job) -> bool:
        """One proposal carried out; True when the job is over."""
        step = job.next(self.limits)
        self.calls.append(f"next → {step.kind}: {step.says}")
        if step.kind == "give up":
            self.out.end = "given up"
            return True
        if step.test is not None:
            # What a repair is said to take is that of the repair, which is counted when it is made.
            self.out.minutes += step.cost if step.kind == "test" else CONFIRM_MIN
            self._test(job, step)
            return False
        assert step.suspect is not None
        return self._repair(job, step.suspect, float(step.sure))

    def _test(self, job: Job, step: Any) -> None:
        test, thing = step.test, ()
        if test.kind in ("inspect", "wiggle"):
            found = test.thing(job.harness)
            thing = thing_key(found.kind, found.name, found.other)  # type: ignore[assignment]
        try:
            answer = self.person.answer(test, thing)
        except UnknownPointError as error:
            self.out.unknown.append(f"{test.says(job.harness)}: {error}")
            answer = "could not"
        self._record(job, _key(job, test), answer)
        if step.also:
            here, _ = self.person.shown(dict(test.state.positions), bool(test.state.engine_running),
                                        self.person.done(test.done))
            words = ", ".join(f"{x} {_told(self.person.look(x, here, ()))}" for x in step.also)
            state = ", ".join(f"{c} {p}" for c, p in test.state.positions)
            if not test.done:
                self._tell(job, f"{words} when {state}" + (", engine running" if test.state.engine_running else ""))

    def _record(self, job: Job, key: str, answer: str) -> None:
        self.calls.append(f"reading {key} {answer}")
        try:
            recorded = job.reading(key, answer)
        except TracerError as error:
            self.out.refused.append(f"{key} {answer}: {error}")
            job.reading(key, "could not")
            return
        self.out.readings += 1
        if _UNEXPECTED in recorded.remark:
            self.out.unexplained.append(f"{recorded.understood} ({recorded.remark[:160]})")

    def _repair(self, job: Job, suspect: Any, sure: float) -> bool:
        good = right(suspect.repair, self.fault.cures)
        self.out.stated.append((sure, good))
        minutes = suspect.best.repair_min + PROVE_MIN
        self.out.minutes += minutes
        self.out.lost += 0.0 if good else minutes
        self.calls.append(f"repaired {suspect.repair} ({sure:.4f}) {'right' if good else 'WRONG'}")
        if good:
            self.person.fault, self.out.repair = None, minutes
        else:
            if any(x.startswith(f"{suspect.repair} at ") for x in (*self.out.wrong, *self.out.vain)):
                self.out.again.append(suspect.repair)
            made = self.out.wrong if renews(suspect.repair) else self.out.vain
            made.append(f"{suspect.repair} at {sure:.4f}")
        proof = job.repaired(suspect.repair)
        results = {c.number: self._checked(c) for c in proof.checks}
        self.calls.append(f"proof {results}")
        job.prove_all(results)
        if job.closed:
            self.out.end = "proven" if good else "closed wrong"
            return True
        if good and len(self.out.stated) > 3:
            self.out.end = "steps"
            return True
        return False

    def _checked(self, check: Any) -> str:
        """What one proof check shows: what the meter says, or "ok", or the first things that are not as they should
        be."""
        if check.again is not None:
            read = next(x for x in iter(lambda: self.person.answer(check.again.test), None) if x != "could not")
            self.out.minutes += CONFIRM_MIN
            return read
        here, _ = self.person.shown(dict(check.state.positions), bool(check.state.engine_running))
        sound, _ = self.sound.shown(dict(check.state.positions), bool(check.state.engine_running))
        odd = [f"{f} blows" for f in sorted(here.blown - sound.blown)]
        for lamp in self.known.net.lamps:
            now, then = here.light[lamp], sound.light[lamp]
            if abs(max(now, -3.0) - max(then, -3.0)) < 0.25 and here.flash.get(lamp) == sound.flash.get(lamp):
                continue
            word = self.person.look(lamp, here, ())
            lit = then > -2.0
            expected = "normal" if lit else "dark"
            if word.partition(",")[0] != expected or here.flash.get(lamp) != sound.flash.get(lamp):
                odd.append(f"{lamp} {_told(word)}")
        return ", ".join(odd[:3]) if odd else "ok"


def _told(look: str) -> str:
    """A look as it is told in a sentence, where "normal" of a lamp that should be dark means that it is dark."""
    return f"lit {look}" if look.startswith("normal") else look


def _key(job: Job, test: Any) -> str:
    """The short name under which the job noted the proposed test."""
    done = [(i.action, i.target, i.other) for i in test.done]
    for event in reversed(job.events()):
        if event.kind != "proposed":
            continue
        data = event.data["test"]
        own = [(i["action"], i["target"], i.get("other", "")) for i in data.get("done", [])]
        same = all(data.get(k, "") == v for k, v in (("test", test.kind), ("plus", test.plus), ("minus", test.minus),
                                                      ("lamp", test.lamp)))
        if same and own == done and dict(data["state"]) == dict(test.state.positions):
            return str(event.data["key"])
    raise LookupError(f"the job did not note the test it proposed: {test.says(job.harness)}")
