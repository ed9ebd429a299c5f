"""The guide, played by a mechanic who knows nothing but the screen: from what was seen to the proven repair."""

from __future__ import annotations

import errno
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from fcntl import ioctl
from pathlib import Path

import pytest

from tests.shared import investigator_for
from tracer.circuit.model import NO_CHANGE, Change
from tracer.errors import TracerError
from tracer.guide import run_guide, terminal_guide
from tracer.harness.file.text import load_harness
from tracer.harness.model import VehicleState
from tracer.harness.terminal_words import say_terminal
from tracer.inference.explanation import say_lamp, say_value
from tracer.job.job import Job
from tracer.job.what_if import state_mark
from tracer.observation.evidence import LampSeen, Reading, Symptom, Test
from tracer.observation.story import Story
from tracer.observation.test_kinds import EYES, KINDS, LOOKS, TestKind
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import test_key as key_of
from tracer.observation.words.states import parse_state
from tracer.planning.candidates import Candidates
from tracer.planning.constraints import Limits
from tracer.planning.next_step import Proposal
from tracer.present.job_words import test_words
from tracer.present.sheet.line import line_of, read_field

MODELS = Path(__file__).parents[2] / "harness_models"


ONE_LAMP = "holder open: left rear indicator holder earth"  # on the rear end: seen, measured, repaired, proven


class Mechanic:
    """Answers from the lines shown so far, on a vehicle with a planted fault.

    `first` holds, by the start of a prompt, answers to be given once before the right one.
    """

    def __init__(self, model: str, fault: str, symptom: dict[str, str]) -> None:
        self.harness = load_harness(MODELS / model)
        self.tool = investigator_for(self.harness)
        planted = [f for f in self.tool.faults if f.name.startswith(fault)]
        assert len(planted) == 1, [f.name for f in planted]
        self.repair, self.change = planted[0].repair, planted[0].variants[0].change
        self.symptom = self.harness.state(symptom)
        self.first: dict[str, list[str]] = {}
        self.asked: list[str] = []
        self._lamps: list[tuple[str, str]] | None = None

    def looks(self, state: VehicleState, change: Change | None = None) -> dict[str, str]:
        p = self.tool.predictor
        panel = p.panel(p.setup(state), p.table([self.change if change is None else change]))
        return {f.lamp: say_lamp(panel, p, f.lamp) for f in p.lamps}

    def answer(self, screen: list[str], prompt: str) -> str:
        self.asked.append(prompt)
        for start, answers in self.first.items():
            if prompt.startswith(start) and answers:
                return answers.pop(0)
        if prompt.startswith(("Does it crank", "What was worked on")):
            return ""
        if prompt.startswith("How?"):
            return "1"
        if prompt.startswith("Numbers"):
            moved = [f"{c} {p}" for c, p in self.symptom.positions if p != self.harness.controls[c].assumed]
            return " ".join(number_of(screen, words) for words in moved)
        if prompt.startswith(("Which looked wrong", "Another lamp")):
            if self._lamps is None:
                healthy = self.looks(self.symptom, NO_CHANGE)
                self._lamps = [(n, k) for n, k in self.looks(self.symptom).items() if healthy[n] != k]
                assert self._lamps
                return number_of(screen, self._lamps[0][0])
            self._lamps.pop(0)
            return self._lamps[0][0] if self._lamps else ""
        if prompt.startswith("Look "):
            assert self._lamps
            return numbers_of_look(self._lamps[0][1])
        if prompt.startswith("Was everything else normal"):
            return "2"
        if prompt.startswith(("And now?", "Parts", "Minutes")):
            return ""
        if prompt.startswith(("How does it look", "Reading in")):
            return self.measured(screen)
        if prompt.startswith(("What was found", "Is more than 0.1 V lost")):
            return "s"
        if prompt.startswith("And the lamps seen from there"):
            steps = steps_on(screen)
            state, others = self.state(steps[0]), steps[1].partition("also at: ")[2].rstrip(".").split(", ")
            now, usual = self.looks(state), self.looks(state, NO_CHANGE)
            if all(now[lamp] == usual[lamp] for lamp in others):
                return "1"
            self.symptom, self._lamps = state, None
            return "2"
        if prompt.startswith("Was it repaired"):
            if self.repair in text_from(screen, "REPAIR, about"):
                self.change = NO_CHANGE
            return "1"
        if prompt.startswith("What do they show"):
            return self.proven(screen)
        raise AssertionError(f"a question that nobody expects: {prompt}")

    def measured(self, screen: list[str]) -> str:
        """Do the steps that the screen tells, and read the result; skip what takes more than probes and eyes."""
        steps = steps_on(screen)
        if not steps[0].startswith("Set:") or not steps[1].startswith(("Look", "Voltmeter", "Test lamp")):
            return "s"
        state = self.state(steps[0])
        if steps[1].startswith("Look"):
            lamps = [f.lamp for f in self.harness.lamps() if steps[1].startswith(f"Look at: {f.lamp}")]
            return numbers_of_look(self.looks(state)[max(lamps, key=len)])
        plus, minus = self.node(steps[1].split(" on ", 1)[1]), self.node(steps[2].split(" on ", 1)[1])
        meter: TestKind = "volts" if minus in self.harness.bodies() else "drop"
        kind: TestKind = "test lamp" if steps[1].startswith("Test") else meter
        value = float(self.tool.predictor.observed(Test(kind, state, plus, minus), [self.change])[0])
        said = say_value(kind, value)
        return numbers_of_look(said) if kind == "test lamp" else said.removesuffix(" V")

    def proven(self, screen: list[str]) -> str:
        state = self.state(steps_on(screen)[0])
        looks = self.looks(state)
        shown = dict.fromkeys(looks, "dark")
        at = max(i for i, line in enumerate(screen) if "They must be:" in line)
        said = re.sub(r"\n {6}", " ", "\n".join(screen[at + 1 : screen.index("", at)]))
        for look, lamps in re.findall(r"^ {4}([a-z, ]+): (.+)$", said, re.MULTILINE):
            if look != "dark":
                shown |= dict.fromkeys(lamps.split(", "), look)
        if shown == looks:
            return "1"
        self.symptom, self._lamps = state, None
        return "2"

    def state(self, step: str) -> VehicleState:
        said = re.match(r"Set: ([^;.(]+)", step)
        assert said
        if said[1].strip() == "everything at rest":
            return parse_state("everything off", self.harness)
        return parse_state(f"{said[1].strip()}, everything else off", self.harness)

    def node(self, said: str) -> str:
        named = {say_terminal(self.harness, n): n for n in self.tool.predictor.circuit.nodes}
        return named[max((w for w in named if said.startswith(w)), key=len)]


def number_of(screen: list[str], words: str) -> str:
    found = re.findall(rf"(?:^|\s)(\d+) {re.escape(words)}(?=\s{{2}}|$)", "\n".join(screen), re.MULTILINE)
    assert found, words
    return str(found[-1])


def numbers_of_look(look: str) -> str:
    words = look.replace(" instead of flashing", "").replace(",", " ").split()
    return " ".join(str(LOOKS.index(w) + 1) for w in words)


def text_from(screen: list[str], start: str) -> str:
    at = max(i for i, line in enumerate(screen) if line.startswith(start))
    return " ".join(" ".join(screen[at:]).split())


def steps_on(screen: list[str]) -> list[str]:
    """The numbered steps of the last test on the screen."""
    joined = re.sub(r"\n {4}(?=\S)", " ", "\n".join(screen))
    steps = re.findall(r"^ (\d)\. (.+)$", joined, re.MULTILINE)
    last = max(i for i, (n, _) in enumerate(steps) if n == "1")
    return [words for _, words in steps[last:]]


def too_wide(lines: list[str], width: int = 80) -> list[str]:
    """Lines wider than the terminal; a command to be copied stays whole, however long its path."""
    return [line for line in lines if len(line) > width and not line.startswith("  tracer ")]


class Player:
    """`ask` and `say` for somebody who answers; keeps every line, checks widths."""

    def __init__(self, answer: Callable[[list[str], str], str], width: int = 80) -> None:
        self.answer, self.width = answer, width
        self.lines: list[str] = []

    def say(self, line: str) -> None:
        assert too_wide([line], self.width) == [] and "\n" not in line, line
        self.lines.append(line)

    def ask(self, prompt: str) -> str:
        assert len(prompt) <= self.width - 8, prompt
        answer = self.answer(self.lines, prompt)
        self.lines.append(f"{prompt}{answer}")
        return answer

    def play(self, job: Job) -> int:
        return run_guide(job, self.ask, self.say, self.width)

    def said(self, text: str) -> bool:
        return text in " ".join(" ".join(self.lines).split())


def scripted(*answers: str) -> Callable[[list[str], str], str]:
    """Answers in order, then the end of the input."""
    left = list(answers)

    def answer(screen: list[str], prompt: str) -> str:
        if not left:
            raise EOFError
        return left.pop(0)

    return answer


@pytest.fixture
def trailer(tmp_path: Path) -> Job:
    return Job.create(tmp_path / "job.yaml", MODELS / "trailer_7pin.yaml", "Invented trailer", "a lamp is dark")


@pytest.fixture
def rear_end(tmp_path: Path) -> Job:
    """A vehicle that is weighed in a moment, for what goes by the guide alone."""
    return Job.create(tmp_path / "job.yaml", MODELS / "rear_end.yaml", "Invented rear end", "a lamp is dark")


@pytest.mark.long  # as `test_wrong_answers_at_every_question_lose_nothing` on the trailer, by measuring
def test_pickup_from_what_was_seen_to_the_proven_repair(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "pickup.yaml", MODELS / "pickup.yaml", "Invented pick-up", "no reversing lamp")
    mechanic = Mechanic("pickup.yaml", "earth open: E4", {"gear": "reverse"})
    player = Player(mechanic.answer)
    assert player.play(job) == 0
    again = Job(tmp_path / "pickup.yaml")
    assert again.closed
    assert [e.data["repair"] for e in again.repairs] == [mechanic.repair]
    told_at_the_end(player, again, mechanic)


def told_at_the_end(player: Player, job: Job, mechanic: Mechanic) -> None:
    assert player.said("CLOSED: repaired and proven") and player.said("tracer report ")
    assert player.said("working …") and player.said("Suspects of at least 1 %")
    seen = job.entries[0].item
    assert isinstance(seen, Symptom) and seen.others_normal and seen.state == mechanic.symptom


def test_wrong_answers_at_every_question_lose_nothing(rear_end: Job) -> None:
    mechanic = Mechanic("rear_end.yaml", ONE_LAMP, {"indicator stalk": "left"})
    prompts = ("How?", "Numbers", "Which", "Look ", "Was everything", "How does", "Reading", "Was it", "What do")
    mechanic.first = {p: ["no idea", "99", "?", "w", "w 999"] for p in prompts}
    player = Player(mechanic.answer)
    assert player.play(rear_end) == 0
    assert rear_end.closed and rear_end.repairs[-1].data["repair"] == mechanic.repair
    told_at_the_end(player, Job(rear_end.path), mechanic)
    assert {e.kind for e in rear_end.events()} == {"symptom", "proposed", "reading", "repaired", "proof"}
    assert all(e.data["good"] for e in rear_end.events() if e.kind == "proof")
    for prompt in (*prompts[:5], *prompts[6:]):
        answers = [line.split(" > ", 1)[1] for line in player.lines if line.startswith(prompt) and " > " in line]
        assert answers[:5] == ["no idea", "99", "?", "w", "w 999"] and len(answers) > 5
    assert sum(line.startswith("? ") and "99" in line and "not one of 1 to" in line for line in player.lines) >= 6
    assert player.said("b back: take back the last entry") and player.said("Suspect 1, ")
    assert player.said("current: ") and player.said("There are ")


def test_a_repair_that_did_not_help_opens_the_job_again(trailer: Job) -> None:
    stop_and_tail = "wires changed over: left lamp unit stop and tail"
    mechanic = Mechanic("trailer_7pin.yaml", stop_and_tail, {"brake pedal": "pressed"})
    mechanic.first = {"Was it": ["2"], "What was repaired": ["new lamp in the left lamp unit"],
                      "Parts": ["lamp P21/5W, grease"], "Minutes": ["soon", "7,5 min"]}
    player = Player(mechanic.answer)
    assert player.play(trailer) == 0
    assert [e.data["repair"] for e in trailer.repairs] == ["new lamp in the left lamp unit", mechanic.repair]
    assert trailer.repairs[0].data["parts"] == ["lamp P21/5W", "grease"]
    assert trailer.repairs[0].data["minutes"] == 7.5
    assert player.said("The job is open again")
    assert [e.data["good"] for e in trailer.events() if e.kind == "proof"].count(False) == 1


def test_back_takes_back_and_within_a_choice_only_returns(trailer: Job) -> None:
    seen = "left lamp unit tail dark when side lights on"
    player = Player(scripted(
        "b",  # nothing is there to be taken back
        "1", "b",  # back from the first question of the choice
        "1", "1", "1", "b", "b", "1", "2", "1", "b", "", "b", "b", "b",  # steps within: look, lamps, state
        "2", seen, "", "b",  # the symptom itself
        "2", seen, "", "1", "o", "b",
    ))
    assert player.play(trailer) == 0
    kinds = [(e.kind, e.withdrawn) for e in trailer.events() if e.kind != "proposed"]
    assert kinds[:3] == [("symptom", True), ("withdrawn", False), ("symptom", False)]
    assert player.said("nothing to take back") and player.said("Nothing recorded.")
    assert player.said("Taken back: entry 1 seen: left lamp unit tail dark (side lights on)")
    assert trailer.evidence and len(trailer.entries) >= 1


def test_a_failed_proof_check_is_taken_back_whole(trailer: Job) -> None:
    trailer.symptom("left lamp unit stop dark when brake pedal pressed")
    trailer.repaired("new lamp")
    assert Player(scripted("2", "1", "1", "", "", "b")).play(trailer) == 0
    proofs = [e for e in trailer.events() if e.kind == "proof"]
    assert proofs and not proofs[0].data["good"] and proofs[0].withdrawn
    assert [e.kind for e in trailer.record.living if e.kind != "proposed"] == ["symptom", "repaired"]


def test_skipped_tests_do_not_come_again(trailer: Job) -> None:
    trailer.symptom("left lamp unit stop dark, left lamp unit tail full brightness when brake pedal pressed")
    assert Player(scripted(*["s"] * 3)).play(trailer) == 0
    skipped = [e.item.test for e in trailer.entries if isinstance(e.item, Reading)]
    assert len(skipped) == 3 == len(set(skipped))
    assert len(trailer.evidence) == 1  # nothing was learned from what was not done
    proposal = Job(trailer.path).next()
    assert proposal.test is not None and proposal.test not in skipped


def test_something_else_can_be_recorded_at_any_point(rear_end: Job) -> None:
    rear_end.symptom("left rear tail dark when lights side")
    player = Player(scripted(
        "o", "3", "volts at C1.9 when lights side", "volts at C1.1 when lights side", "12 ohm", "12.4",
        "o", "3", "ohms C1.1 to body", "open",
        "o", "2", "everything dark", "right rear tail normal when lights side",
        "o", "4", "the plug is green inside",
        "o", "1", "1", "plate", "4", "", "1",
    ))
    assert player.play(rear_end) == 0
    assert [e.kind for e in rear_end.events() if e.kind != "proposed"] == [
        "symptom", "reading", "reading", "symptom", "note", "symptom",
    ]
    readings = [e.item for e in rear_end.entries if isinstance(e.item, Reading)]
    assert [r.test.kind for r in readings] == ["volts", "ohms"] and readings[0].value.low == 12.4
    last = rear_end.entries[-1].item
    assert isinstance(last, Symptom) and last.seen == (LampSeen("number-plate lamp", frozenset({"normal"})),)


def test_what_is_at_hand_a_repair_and_the_line_of_a_sheet_can_be_told_too(trailer: Job) -> None:
    trailer.symptom("left lamp unit tail dark when side lights on")
    line = line_of(state_mark(trailer), [read_field("volts at X1.7 when side lights on", "12.4 V")])
    player = Player(scripted("o", "5", "9", "1 3", "o", "7", line[:-1], line, "o", "6", "new lamp", "", ""))
    assert player.play(trailer) == 0
    assert [e.kind for e in trailer.record.living if e.kind != "proposed"] == ["symptom", "reading", "repaired"]
    assert player.said("Steps are chosen for that") and player.said("no voltmeter")
    assert player.said("not whole") and player.said("Recorded: volts X1.7: 12.4 V")
    living = trailer.record.living
    told = next(e.data["test"] for e in living if e.kind == "reading")  # noted as the sheet's line was taken
    proposed = [e.data["test"] for e in living if e.kind == "proposed" and e.data["test"] != told]
    assert proposed and all(test["test"] != "volts" for test in proposed)


def test_every_test_that_can_be_proposed_can_be_told_in_words(tmp_path: Path) -> None:
    job = Job.create(tmp_path / "pickup.yaml", MODELS / "pickup.yaml")
    job.symptom("left rear reversing dark, left rear indicator normal steady when gear reverse")
    rows = [s.rows[0] for s in job.suspects()[:20]]
    tests = [c.test for c in Candidates(job.diagnosis, rows).all()]
    of_its_own = {kind for kind, row in KINDS.items() if row.proposed != "when asked for"}
    assert len(tests) > 100 and {t.kind for t in tests} == of_its_own - {"wiggle", "crimp"}
    assert {i.action for t in tests for i in t.done} >= {"unplug", "take out lamp", "earth lead", "swap lamps"}
    for test in tests[::3]:
        assert parse_test(test_words(test, job.harness), job.harness) == test


class ByEye(Job):
    """A job of somebody whose instruments lie at home."""

    def next(self, limits: Limits | None = None, record: bool = True) -> Proposal:
        return super().next(Limits(only=frozenset({EYES})), record)


def test_a_look_along_a_wire_is_answered_by_number(tmp_path: Path) -> None:
    """The trailer, of whose wires at S2 one is rubbed through; whoever looks has nothing but eyes left."""
    job = ByEye.create(tmp_path / "trailer.yaml", MODELS / "trailer_7pin.yaml")
    dark = "left lamp unit tail dark, right lamp unit tail dark, plate lamp dark"
    job.symptom(f"{dark} when side lights on")
    for words, shown in (
        ("look right lamp unit tail when side lights on, new fuse F1", "dark"),
        ("look right lamp unit stop when brake pedal pressed, new fuse F1", "normal"),
        ("ohms S2 to body with X1 unplugged", "0.3 ohm"),
    ):
        job.reading(words, shown)
    while (step := job.next()).test is not None and step.test.kind != "inspect":  # nor for another look at lamps
        job.reading(key_of(step.test), "could not")
    player = Player(scripted("3", "1"))
    player.play(job)

    assert player.said("Look along the wire from") and player.said("The battery stays off")
    assert any(line.startswith("What was found?") for line in player.lines)
    assert player.said("1 found 2 nothing") and player.said("3 is not one of 1 to 2")
    assert isinstance(job.evidence[-1], Reading) and job.evidence[-1].value.found is True
    assert player.said("Recorded: ") and player.said(": found")


def test_end_of_input_interrupt_and_closed_job(trailer: Job, tmp_path: Path) -> None:
    player = Player(scripted("1"))
    assert player.play(trailer) == 0
    assert player.said(f"Everything recorded so far is saved. To go on: tracer guide {trailer.path}")

    def interrupt(screen: list[str], prompt: str) -> str:
        raise KeyboardInterrupt

    player = Player(interrupt)
    assert player.play(trailer) == 130 and player.said("is saved")
    player = Player(scripted("d"))
    assert player.play(trailer) == 0 and player.said("is saved")


def test_a_job_file_that_cannot_be_written_is_told(trailer: Job) -> None:
    trailer.symptom("left lamp unit tail dark when side lights on")
    trailer.next()
    aside = trailer.path.with_name("aside.yaml")
    trailer.path.rename(aside)
    player = Player(scripted("s"))
    assert player.play(trailer) == 1
    assert player.said("Cannot go on:") and player.said("is not there")
    assert len(Job(_back(aside, trailer.path)).events()) == 2


def _back(aside: Path, path: Path) -> Path:
    aside.rename(path)
    return path


@pytest.mark.parametrize("width", [60, 132])
def test_no_line_is_wider_than_the_terminal(trailer: Job, width: int) -> None:
    trailer.symptom("left lamp unit tail dark when side lights on")
    player = Player(scripted("?", "w", "w 2", "s", "o", "1", "", "1"), width)
    assert player.play(trailer) == 0
    assert max(len(line) for line in player.lines if line.startswith(" ")) > width - 15


# --- a real terminal


def in_front() -> None:
    """What a shell does for a program in front: the terminal is its own, and an interrupt reaches it (a program
    started in the background ignores it, and so do those that it starts)."""
    ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Terminal:
    """A program on a pseudo-terminal of 80 columns."""

    def __init__(self, *args: str) -> None:
        self.master, slave = pty.openpty()
        ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environment = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")} | {"TERM": "dumb"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tracer", *args], stdin=slave, stdout=slave, stderr=slave, env=environment,
            start_new_session=True, preexec_fn=in_front,
        )
        os.close(slave)
        self.text = ""
        self.at = 0  # what has been answered

    def lines(self) -> list[str]:
        return self.text.replace("\r\n", "\n").split("\n")

    def prompt(self) -> str | None:
        """The next question; None when the program has ended."""
        deadline = time.monotonic() + 40
        while not (len(self.text) > self.at and self.text.endswith(" > ")):
            assert time.monotonic() < deadline, self.text[-2000:]
            if select.select([self.master], [], [], 0.2)[0]:
                try:
                    part = os.read(self.master, 65536)
                except OSError as error:
                    assert error.errno == errno.EIO
                    part = b""
                if not part:
                    self.process.wait(10)
                    return None
                self.text += part.decode()
        self.at = len(self.text)
        return self.lines()[-1]

    def type(self, answer: str) -> None:
        os.write(self.master, f"{answer}\n".encode())
        while not self.text[self.at :].startswith(answer):  # the echo
            self.text += os.read(self.master, 65536).decode()
        self.at += len(answer) + 2

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self.master)


@pytest.fixture
def terminal() -> Iterator[Callable[..., Terminal]]:
    opened: list[Terminal] = []

    def start(*args: str) -> Terminal:
        opened.append(Terminal(*args))
        return opened[-1]

    yield start
    for t in opened:
        t.close()


def test_the_whole_job_in_a_terminal_with_interrupts(rear_end: Job, terminal: Callable[..., Terminal]) -> None:
    mechanic = Mechanic("rear_end.yaml", ONE_LAMP, {"indicator stalk": "left"})
    mechanic.first = {p: ["\x1b[A", "perhaps"] for p in ("How?", "Numbers", "Which", "How does", "Reading", "Was it")}
    stops = {"Reading": "c", "Was it": "d", "What do": "eof"}
    begun = 0
    while not Job(rear_end.path).closed:
        begun += 1
        assert begun < 8
        t = terminal("guide", str(rear_end.path))
        while (prompt := t.prompt()) is not None:
            stop = next((s for p, s in stops.items() if prompt.startswith(p)), None)
            if stop is None:
                answer = mechanic.answer(t.lines(), prompt)
                t.type(answer if answer.isprintable() else "up")
                continue
            stops = {p: s for p, s in stops.items() if not prompt.startswith(p)}
            before = [e.number for e in Job(rear_end.path).events()]
            os.write(t.master, {"c": b"\x03", "eof": b"\x04", "d": b"d\n"}[stop])
            assert t.prompt() is None
            assert t.process.returncode == (130 if stop == "c" else 0)
            assert "Everything recorded so far is saved" in t.text and f"tracer guide {rear_end.path}" in t.text
            assert [e.number for e in Job(rear_end.path).events()] == before
        assert too_wide(t.lines()) == []
        assert "\x1b" not in t.text and "Traceback" not in t.text
    assert t.process.returncode == 0 and "CLOSED: repaired and proven" in t.text
    assert begun == 4 and "goes on where it stopped" in t.text
    assert Job(rear_end.path).repairs[-1].data["repair"] == mechanic.repair


def test_interrupt_while_it_works_loses_nothing(trailer: Job, terminal: Callable[..., Terminal]) -> None:
    trailer.symptom("left lamp unit tail dark when side lights on")
    t = terminal("guide", str(trailer.path))
    assert t.prompt() is not None
    os.write(t.master, b"s\n")
    time.sleep(0.05)
    os.killpg(t.process.pid, signal.SIGINT)
    while t.prompt() is not None:  # where the question came first
        os.write(t.master, b"\x03")
    assert t.process.returncode == 130 and "Traceback" not in t.text
    assert Job(trailer.path).entries[0].number == 1


def run_piped(text: str, *args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tracer", "guide", *args], input=text, capture_output=True, text=True, timeout=60,
    )


def test_a_pipe_is_refused_and_taken_line_by_line_on_request(trailer: Job) -> None:
    refused = run_piped("1\n", str(trailer.path))
    assert refused.returncode == 2 and refused.stdout == ""
    assert "standard input is not a terminal" in refused.stderr and "--lines" in refused.stderr
    assert not trailer.events()
    done = run_piped("\n2\nleft lamp unit tail dark when side lights on\n\nd\n", str(trailer.path), "--lines")
    assert done.returncode == 0 and done.stderr == ""
    assert "How? [1] > 2" in done.stdout and too_wide(done.stdout.splitlines()) == []
    assert isinstance(Job(trailer.path).entries[0].item, Symptom)


def test_bytes_that_are_no_text_are_a_wrong_answer(trailer: Job) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tracer", "guide", str(trailer.path), "--lines"], input=b"\n\xff\xfe\n\nd\n",
        capture_output=True, timeout=60,
    )
    assert done.returncode == 0 and b"is not one of 1 to 2" in done.stdout and done.stderr == b""


def test_terminal_guide_refuses_what_is_no_terminal(trailer: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    with open(os.devnull) as nothing:
        monkeypatch.setattr(sys, "stdin", nothing)
        with pytest.raises(TracerError, match="not a terminal"):
            terminal_guide(trailer)


def test_it_opens_with_two_questions_that_enter_passes_over(tmp_path: Path) -> None:
    """How it runs, and what was done to it last: kept in the job file, asked once, and not of a job that tells it."""
    job = Job.create(tmp_path / "told.yaml", MODELS / "pickup.yaml")
    player = Player(scripted("1", "1", "d"))
    assert player.play(job) == 0
    assert Job(job.path).story == Story(runs=True, work=("lamp changed",))
    assert player.said("Recorded: cranks and runs as usual; before it: lamp changed")
    again = Player(scripted("d"))
    assert again.play(Job(job.path)) == 0 and not again.said("crank and run")

    silent = Job.create(tmp_path / "silent.yaml", MODELS / "pickup.yaml")
    player = Player(scripted("", "s", "2", "left tail dead", "d"))
    assert player.play(silent) == 0
    assert [e.kind for e in Job(silent.path).events()][:1] == ["symptom"]
    assert sum("crank and run" in line for line in player.lines) == 1

    told = Job.create(tmp_path / "opened.yaml", MODELS / "pickup.yaml", story=Story(runs=True))
    player = Player(scripted("d"))
    assert player.play(told) == 0 and not player.said("worked on or fitted last")


def test_a_trailer_does_not_crank(trailer: Job) -> None:
    player = Player(scripted("3", "d"))
    assert player.play(trailer) == 0
    assert not player.said("Does it crank") and Job(trailer.path).story == Story(work=("trailer socket",))
