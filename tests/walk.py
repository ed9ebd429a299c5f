"""A random walk over a job: entries of every kind and every command in any order, as a person could type them.

Whatever is typed may be refused in words; nothing may end a command in any other way. After every entry the shares
are numbers and sum to one, and what an `undo` leaves is what stood before.
"""

from __future__ import annotations

import contextlib
import io
import random
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tracer import load_harness
from tracer.commands import main
from tracer.harness.model import Harness
from tracer.harness.node import terminal_at
from tracer.job.job import Job
from tracer.job.values import WORK
from tracer.observation.actions import ACTIONS
from tracer.observation.evidence import WORDS
from tracer.observation.test_kinds import INSTRUMENTS, KINDS, TestKind

STATUSES = (0, 1, 2)  # documented: done, bad news, wrong use
NUMBERS = ("0 V", "0.02 V", "-0.3 V", "4.4 V", "9.95 V", "12.4 V", "11.2 to 12 V", "27 V", "59 V", "-59 V",
           "0.1 ohm", "6 ohm", "150 ohm", "2 megohm", "open", "beeps", "0 A", "1.8 A", "120 A", "could not",
           "0 to 12 V wiggling", "flickers", "lead fuse blew", "banana", "", "1e400 V", "nan", "±3")
ENTRIES = ("symptom", "reading", "repaired", "proof", "overlay", "story")  # what says something of the vehicle
SAME = 1e-6  # of a share that was worked out in another order
TAILS = ("", "", "", ", everything else normal", ", by day", ", in the dark", " sometimes", " perhaps")


@dataclass
class Walk:
    """One job at random on one vehicle; `wrong` is what ended otherwise than it may."""

    path: Path
    folder: Path
    rng: random.Random
    heavy: bool = True  # with drawings and reports, which take a second each
    steps: list[list[str]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    refused: int = 0
    compared: int = 0  # how often what an undo left was held against what stood before

    def __post_init__(self) -> None:
        self.harness: Harness = load_harness(self.path)
        self.job = self.folder / "job.yaml"
        self.keys: list[str] = []
        self.nodes = sorted({
            *(terminal_at(p.name, t) for p in self.harness.parts.values() for t in p.terminals),
            *self.harness.splices, *self.harness.bodies(),
            *(s.a for w in self.harness.wires for s in w.segments), "body", "nowhere.9",
        })
        self.lamps = [*(f.lamp for f in self.harness.lamps()), "no such lamp"]
        self.stood: dict[tuple[int, ...], tuple[str, dict[str, float]]] = {}
        self.call("open", str(self.job), "--harness", str(self.path), *self.story())
        self.live = Job(self.job)

    def walk(self, count: int) -> None:
        """Take steps until something is wrong."""
        for _ in range(count):
            if self.wrong:
                return
            name = self.rng.choices(list(MOVES), [w for w, _ in MOVES.values()])[0]
            MOVES[name][1](self)
            if not self.wrong and name not in ("suspects", "next", "written"):
                self.holds()

    def holds(self) -> None:
        """Note as wrong what does not hold of the job as it stands."""
        try:
            if not self.live.refresh():
                self.live = Job(self.job)
            found = self.live.diagnosis
            whole = float(found.share.sum() + found.undescribed)
            if not np.isfinite(found.share).all() or (found.share < 0).any() or abs(whole - 1) > 1e-9:
                self.wrong.append(f"{self.said()}\nthe shares sum to {whole}")
            if np.isnan(found.loglik).any() or np.isposinf(found.loglik).any():
                self.wrong.append(f"{self.said()}\na likelihood is no number")
            key = tuple(e.number for e in self.live.record.living if e.kind in ENTRIES)
            now = self.live.status(), dict(self.live.shares)
            if key in self.stood:
                self.compared += 1
                before, shares = self.stood[key]
                off = max((abs(now[1].get(r, 0.0) - shares.get(r, 0.0)) for r in {*now[1], *shares}), default=0.0)
                if now[0] != before or off > SAME:
                    self.wrong.append(f"{self.said()}\n“{before}” became “{now[0]}”, shares off by {off:.2g}")
            self.stood.setdefault(key, now)
        except Exception:  # nor may reading the job end in any way
            self.wrong.append(f"{self.said()}\n{traceback.format_exc()}")

    def story(self) -> list[str]:
        """What may be told when a job is opened."""
        out: list[str] = []
        for flags in (("--runs", "--does-not-run"), ("--driven-here", "--brought-here"), ("--always", "--sometimes")):
            out += [self.rng.choice(flags)] * (self.rng.random() < 0.2)
        if self.rng.random() < 0.3:
            out += ["--work", self.rng.choice(WORK), "--where", self.rng.choice([*self.harness.parts, "the boot"])]
        return out

    def call(self, *args: str) -> None:
        """One command as it is typed."""
        self.steps.append(list(args))
        out, err, status = io.StringIO(), io.StringIO(), 99
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                main(list(args))
        except SystemExit as done:
            status = done.code if isinstance(done.code, int) else 99
        except Exception:  # that nothing else escapes is what is tried
            self.wrong.append(f"{self.said()}\n{traceback.format_exc()}")
            return
        if status not in STATUSES or (status == 2 and not err.getvalue().strip()):
            self.wrong.append(f"{self.said()}\nended with {status}: {err.getvalue()}")
        self.refused += status == 2
        self.keys += [w.strip("():,") for w in out.getvalue().split() if len(w) > 4 and w[1:2] == "-"][:2]

    def said(self) -> str:
        """Everything typed so far, a command a line."""
        return "\n".join(" ".join(f"“{a}”" if " " in a or not a else a for a in step) for step in self.steps)

    # --- what is typed

    def state(self) -> str:
        """Some controls at positions, now and then wrong ones; sometimes nothing."""
        controls = sorted(self.harness.controls)
        some = self.rng.sample(controls, k=min(self.rng.randint(0, 2), len(controls)))
        said = [f"{c} {self.rng.choice(self.harness.controls[c].positions)}" for c in some]
        if self.rng.random() < 0.1:
            odd = ("engine running", "gear sideways", "everything off", "battery disconnected")
            said.append(self.rng.choice(odd))
        return f" when {', '.join(said)}" if said else ""

    def seen(self) -> str:
        """What was seen of a lamp, two lamps, a fuse or a relay."""
        rng, lamp = self.rng, self.rng.choice(self.lamps)
        parts = sorted(self.harness.parts)
        return rng.choice((
            f"{lamp} {rng.choice(WORDS)}", f"{lamp} {rng.choice(WORDS)} and {rng.choice(('fast', 'slow', 'steady'))}",
            f"{lamp} {rng.choice(('flickers', 'flashing', 'comes and goes', 'not lit', 'fine'))}",
            f"{lamp} {rng.choice(('dimmer', 'brighter'))} than {rng.choice(self.lamps)}",
            f"{rng.choice(parts)} {rng.choice(('blows', 'whole', 'clicks', 'silent', 'buzzes'))}",
        ))

    def test(self) -> str:
        """A test of any kind, with anything done beforehand."""
        kind: TestKind = self.rng.choice(list(KINDS))
        row, a, b = KINDS[kind], self.rng.choice(self.nodes), self.rng.choice(self.nodes)
        lamp = self.rng.choice(self.lamps)
        called = {"look": "look at", "inspect": "inspect", "wiggle": "wiggle"}.get(kind, kind)
        at = lamp if row.takes_lamp and not row.takes_thing else f"{a} to {b}" if self.rng.random() < 0.5 else a
        if row.moves:
            at = f"{a} and watch {lamp}"
        done = [self._done() for _ in range(self.rng.choice((0, 0, 0, 1, 1, 2)))]
        when = self.state()
        return f"{called} {at}{when}" + "".join(f"{' with' if not when and n == 0 else ','} {d}"
                                               for n, d in enumerate(done))

    def _done(self) -> str:
        action, rng = self.rng.choice(list(ACTIONS.values())), self.rng
        names = {
            "connector": sorted(self.harness.connectors), "lamp": self.lamps, "node": self.nodes,
            "splice": sorted(self.harness.splices), "leg": self.nodes, "part": sorted(self.harness.parts),
            "fuse": [p.name for p in self.harness.parts.values() if p.kind == "fuse"], "battery": ["battery"],
        }

        def one(sort: str | None) -> str:
            return rng.choice(names.get(sort or "") or ["nothing"])

        return action.words.format(target=one(action.target), other=one(action.other))

    def value(self) -> str:
        """A reading, of this kind of test or of another."""
        return self.rng.choice((*NUMBERS, *NUMBERS, *WORDS, "flashing", "found", "nothing", "changes", "does not"))

    # --- what is done

    def symptom(self) -> None:
        said = ", ".join(self.seen() for _ in range(self.rng.choice((1, 1, 2, 3))))
        self.call("symptom", str(self.job), said + self.rng.choice(TAILS) + self.state())

    def reading(self) -> None:
        test = self.rng.choice(self.keys) if self.keys and self.rng.random() < 0.4 else self.test()
        self.call("reading", str(self.job), test, self.value())

    def suspects(self) -> None:
        self.call("suspects", str(self.job), *self.rng.choice(((), (), ("--json",), ("--why", "1"), ("--explain",))))

    def next(self) -> None:
        limits: list[str] = []
        for flag in ("--alone", "--engine-off", "--explain", "--json"):
            limits += [flag] * (self.rng.random() < 0.15)
        if self.rng.random() < 0.2:
            limits += [self.rng.choice(("--with", "--without")), self.rng.choice(INSTRUMENTS)]
        self.call("next", str(self.job), *limits)

    def repaired(self) -> None:
        what = self.rng.choice(("1", "1", "2", "99", "the customer's patience", "renew the wire", " "))
        self.call("repaired", str(self.job), what)

    def prove(self) -> None:
        results = [
            f"{n}={self.rng.choice(('ok', 'ok', self.seen(), self.seen() + self.state(), 'banana'))}"
            for n in self.rng.sample(range(1, 10), k=self.rng.randint(1, 3))
        ]
        self.call("repaired", str(self.job), *(x for r in results for x in ("--proof", r)))

    def undo(self) -> None:
        self.call("undo", str(self.job))

    def differs(self) -> None:
        overlay = self.folder / "differs.yaml"
        lamp = self.rng.choice([f.bulb for f in self.harness.lamps()])
        name = next(p.name for p in self.harness.parts.values() if any(f.bulb == lamp for f in p.lamps))
        overlay.write_text(self.rng.choice((
            f"overlay: what differs\nparts:\n  remove: [{name}]\n",
            "overlay: what differs\nbase rates: {earth open: 3}\n", "nonsense: [", "overlay: x\n",
        )), encoding="utf-8")
        self.call("differs", str(self.job), *([str(overlay)] if self.rng.random() < 0.8 else []))

    def written(self) -> None:
        if self.heavy:
            self.call("report", str(self.job), "-o", str(self.folder / "report.html"))
            self.call("draw", str(self.job), "-o", str(self.folder / "drawing.svg"))


MOVES: dict[str, tuple[float, Callable[[Walk], None]]] = {
    "symptom": (4, Walk.symptom), "reading": (6, Walk.reading), "suspects": (1, Walk.suspects),
    "next": (2.5, Walk.next), "repaired": (1, Walk.repaired), "prove": (1, Walk.prove), "undo": (1, Walk.undo),
    "differs": (0.4, Walk.differs), "written": (0.5, Walk.written),
}
