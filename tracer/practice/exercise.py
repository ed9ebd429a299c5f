"""One exercise: a job on a simulated vehicle whose fault is hidden, worked like any other job.

The learner asks, the vehicle answers, `Job` records; hints, repairs and their proof go the same way. What is wrong is
drawn again from the seed each time and written nowhere before the end.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from tracer.errors import JobFileError, UnknownNameError, nearest
from tracer.faults import list_faults
from tracer.faults.mending import mended_by
from tracer.harness.file.nodes import clip
from tracer.harness.file.text import load_harness
from tracer.job.job import Job, Recorded
from tracer.observation.words.states import parse_state, state_words
from tracer.planning.costs import PROVE_MIN
from tracer.planning.next_step import Proposal
from tracer.practice import seal as sealed
from tracer.practice.answers import LearnersVehicle
from tracer.practice.complaint import complaint
from tracer.practice.hidden_faults import Hidden, digest, draw
from tracer.practice.seal import Seal
from tracer.units import whole_number

_MOST_OFFERED: Final = 4


class Answered(Struct, frozen=True):
    """What a question showed: the words recorded, the answer, and what `Job` remarks on it."""

    asked: str
    answer: str
    recorded: Recorded


class Outcome(Struct, frozen=True):
    """What a repair did. `left`: lamps that still do otherwise than they should, in words; none if all is well."""

    repair: str
    helped: bool
    left: tuple[str, ...]


def free_path(folder: Path) -> Path:
    """A name for the job of a new exercise."""
    return next(p for n in range(1, 10**6) if not (p := folder / f"practice-{n}.yaml").exists())


class Exercise:
    """A job with a hidden fault.

    Attributes:
        job: An ordinary job; what it is asked for is answered here.
        hidden: What was wrong at the beginning; not to be shown before the end (`answer`).
    """

    def __init__(self, path: str | Path, job: Job | None = None, drawn: Hidden | None = None) -> None:
        """Go on with an exercise. `job`: its job, where it is open already; `drawn`: what its seed hides, where that
        is known already.

        Raises:
            TracerError: It is none, its seal is damaged, or its harness file or this program has changed since, so
                that another fault would be hidden now.
        """
        self.path = Path(path)
        self.seal = sealed.read(self.path)
        self.job = job or Job(self.path)
        hidden = drawn or draw(self.job.harness, self.seal.level, self.seal.seed)
        if digest(hidden, self.seal.seed) != self.seal.digest:
            raise JobFileError("the hidden fault is another than at the beginning: the harness file or this program "
                               "has changed since", "begin another exercise")
        self._all = list_faults(self.job.harness)
        self.hidden = hidden
        self._standing: LearnersVehicle | None = None

    @classmethod
    def begin(cls, path: str | Path, harness: str | Path, level: int, seed: int, learner: str = "") -> Exercise:
        """Hide a fault and write the job with the customer's complaint.

        Raises:
            TracerError: The harness is not sound or has no such fault, or the job file is there already.
        """
        path = Path(path)
        model = load_harness(harness)
        hidden = draw(model, level, seed)
        said = complaint(model, hidden, seed)
        job = Job.create(path, harness, "exercise", said[0])
        sealed.write(path, Seal(level, seed, digest(hidden, seed), learner))
        for sentence in said:
            job.symptom(sentence)
        return cls(path, job, hidden)

    @property
    def vehicle(self) -> LearnersVehicle:
        """As it stands with the repairs made."""
        left = self._left()
        if self._standing is None or self._standing.hidden != left:
            self._standing = LearnersVehicle(self.job.harness, left, self.seal.seed)
        return self._standing

    # --- asking

    def ask(self, text: str) -> Answered:
        """Make a test, in the words of `Job.reading` or by its short name; what it shows is recorded.

        Raises:
            TracerError: Not understood, or a test that would destroy something; nothing was recorded.
        """
        self._need_open()
        test = self.job.find_test(text)
        answer = self.vehicle.answer(test, self._asked)
        return Answered(test.says(self.job.harness), answer, self.job.reading(text, answer))

    def look(self, state_text: str) -> tuple[tuple[tuple[str, str], ...], Recorded]:
        """Set the controls and look at all lamps: those that do anything or should, and what was recorded."""
        self._need_open()
        state = parse_state(state_text, self.job.harness)
        looks = self.vehicle.looks(state, self._asked)
        usual = dict(self.job.usual_looks(state, tuple(looks)))
        odd = {lamp: look for lamp, look in looks.items() if look != usual[lamp]}
        said = [f"{lamp} {_told(look)}" for lamp, look in odd.items()] + ["everything else normal"]
        recorded = self.job.symptom(f"{', '.join(said)} when {state_words(state)}")
        shown = tuple((lamp, look) for lamp, look in looks.items() if look != "dark" or usual[lamp] != "dark")
        return shown, recorded

    def hint(self) -> Proposal:
        """What would tell most now; that it was asked for is remembered."""
        self._need_open()
        proposal = self.job.next()
        self._keep(replace(self.seal, hints=(*self.seal.hints, self._asked)))
        return proposal

    def mind(self, words: str) -> None:
        """The learner says what is to be minded before the next step."""
        self._keep(replace(self.seal, minded=(*self.seal.minded, (self._asked, words.strip()))))

    def give_up(self) -> tuple[str, ...]:
        """Ends the exercise; what was wrong, in words."""
        self._keep(replace(self.seal, given_up=True))
        return self.answer

    # --- repair

    def repair(self, words: str) -> Outcome:
        """Carry out a repair and look whether the vehicle is right; both are recorded.

        Args:
            words: A rank in the list of suspects, or the repair in words.

        Raises:
            UnknownNameError: No such repair; `choices` are the nearest.
        """
        self._need_open()
        repair, before = self._chosen(words), len(self._left().faults)
        proof = self.job.repaired(repair)
        left, results, vehicle = list[str](), dict[int, str](), self.vehicle
        for check in proof.checks:
            if check.again is not None:
                shown = vehicle.lasting_reading(check.again.test)
                results[check.number] = shown
                if check.again.seen_instead(shown) is not None:
                    left.append(f"{check.again.test.says(self.job.harness)}: {shown}")
                continue
            looks, sound = vehicle.lasting_looks(check.state), vehicle.sound_looks(check.state)
            lamps = [lamp for lamp, _ in check.expected if looks[lamp] != sound[lamp]]
            odd = ", ".join(f"{lamp} {_told(looks[lamp])}" for lamp in lamps)
            results[check.number] = odd or "ok"
            if odd:
                left.append(f"{odd} when {state_words(check.state)}")
                break  # the first that fails is enough
        self.job.prove_all(results)
        return Outcome(repair, len(self._left().faults) < before, tuple(left))

    def _chosen(self, words: str) -> str:
        """The repair meant, as it is recorded."""
        words, suspects = words.strip(), self.job.suspects()
        rank = whole_number(words)
        if rank is not None and 1 <= rank <= len(suspects):
            return suspects[rank - 1].repair
        known = {r.casefold(): r for r in (*(s.repair for s in suspects), *(f.repair for f in self._all))}
        if words.casefold() in known:
            return known[words.casefold()]
        typed = set(words.casefold().split())
        holding = [r for plain, r in known.items() if typed and typed <= set(plain.split())]
        if len(holding) == 1:
            return holding[0]
        near = tuple(holding[:_MOST_OFFERED] or nearest(words, known.values(), _MOST_OFFERED))
        raise UnknownNameError(f"no repair “{clip(words, 60)}”",
                               "by its number in the list of suspects, or in its own words", near)

    def _left(self) -> Hidden:
        """What has not been repaired yet."""
        return self.hidden.without(frozenset(name for r in self._made() for name in self._cured_by(r)))

    def _cured_by(self, repair: str) -> frozenset[str]:
        """The hidden faults that a repair cures: what it is made for, what it mends besides, and what is the same to
        the current in the same thing. Whoever opens a splice has the leg of the wire in his hands as well."""
        made = [f for f in self._all if f.repair == repair]
        mends = mended_by(self._all)
        return frozenset(
            hidden.name for hidden, v in zip(self.hidden.faults, self.hidden.variants, strict=True)
            if repair == hidden.repair or repair in mends[hidden.name] or any(
                {*f.elements} & {*hidden.elements} and any(w.change == v.change for w in f.variants) for f in made))

    def _made(self) -> dict[str, None]:
        """Every repair that was made, each once."""
        return dict.fromkeys(r for e in self.job.repairs for r in self._single(str(e.data.get("repair", ""))))

    def _single(self, repair: str) -> frozenset[str]:
        """The repairs of which one of several faults at once consists."""
        whole = f" and {repair} and "
        return frozenset(f.repair for f in self._all if f" and {f.repair} and " in whole)

    # --- the end

    @property
    def over(self) -> bool:
        return self.seal.given_up or self.job.closed

    @property
    def answer(self) -> tuple[str, ...]:
        """What was hidden, in words.

        Raises:
            JobFileError: The exercise is not over.
        """
        if not self.over:
            raise JobFileError("the exercise is not over", "find the fault, or give up")
        otherwise = (f"not as the file says, and no fault: {f.says}" for f in self.hidden.otherwise)
        return (*(f.says for f in self.hidden.faults), *otherwise)

    @property
    def repairs_needed(self) -> tuple[str, ...]:
        """What would have put it right (errors as `answer`)."""
        return tuple(f.repair for f in self.hidden.faults) if self.answer else ()

    @property
    def minutes(self) -> float:
        """Minutes so far, by the estimates that the tool plans with: tests, repairs, and the looks after them."""
        cost: dict[str, float] = {}
        for f in self._all:
            cost[f.repair] = f.repair_min
        made = [r for e in self.job.repairs for r in self._single(str(e.data.get("repair", "")))]
        return self.job.minutes_spent + sum(cost[r] for r in made) + PROVE_MIN * len(self.job.repairs)

    def parts_in_vain(self) -> tuple[str, ...]:
        """Repairs made that renewed something sound (errors as `answer`)."""
        if not self.answer:
            return ()
        renews = {f.repair for f in self._all if f.renews}
        return tuple(r for r in self._made() if r in renews and not self._cured_by(r))

    def count(self) -> None:
        """Remember that the result stands in the learner's progress."""
        self._keep(replace(self.seal, told=True))

    @property
    def _asked(self) -> int:
        """How many entries stand: another answer each time for what comes and goes."""
        return len(self.job.entries)

    def _need_open(self) -> None:
        if self.over:
            raise JobFileError("this exercise is over", "tracer practise HARNESS begins another")

    def _keep(self, seal: Seal) -> None:
        sealed.write(self.path, seal)
        self.seal = seal


def _told(look: str) -> str:
    """A look in the words of a sentence, in which “normal” means as it should be."""
    return look.replace(",", "").replace("normal", "lit")
