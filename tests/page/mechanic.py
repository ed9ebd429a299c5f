"""Somebody at a simulated vehicle who does the whole job by taps on the pages."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from pathlib import Path

from tests.page.browser import Browser
from tracer.faults import Fault
from tracer.harness.model import VehicleState
from tracer.job.job import Job
from tracer.observation.evidence import LampSeen
from tracer.observation.words.symptoms import parse_symptom
from tracer.practice.simulated_vehicle import PracticeVehicle

LOOKS = {"dark": "dark", "faint": "glows faintly", "dim": "dim", "normal": "lit as normal", "bright": "too bright"}
FLASHES = {"flashing": "flashes", "fast": "flashes fast", "slow": "flashes slowly", "steady": "stays on"}
MOST_SCREENS = 40
# The last thing at a step that is needed to answer it.
NEEDED = "Math.round([...document.querySelectorAll('form.more')][0].getBoundingClientRect().bottom + scrollY)"


@dataclass
class Mechanic:
    """Taps, and what was met on the way.

    Attributes:
        browser: On the job's page.
        path: The job file; read only to know which test is on the screen.
        vehicle: Answers what is looked at and measured.
        fault: What is wrong with it.
        fitted: For each step, the px down to the last answer.
    """

    browser: Browser
    path: Path
    vehicle: PracticeVehicle
    fault: Fault
    supply_v: float | None = None
    taps: int = 0
    fitted: list[int] = field(default_factory=list)
    repaired: bool = False

    def tap(self, selector: str, text: str = "", through: bool = False) -> None:
        (self.browser.tap_through if through else self.browser.tap)(selector, text)
        self.taps += 1

    def tell(self, seen: str) -> None:
        """Mark on the plan what a sentence says."""
        symptom = parse_symptom(seen, Job(self.path).harness)
        self.set_controls(symptom.state)
        for s in symptom.seen:
            assert isinstance(s, LampSeen)
            self.mark(s.lamp, next(iter(s.words)), s.flash or "")
        self.tap("#seen footer .go", through=True)

    def set_controls(self, state: VehicleState) -> None:
        wanted = {f"{c}\t{p}" for c, p in state.positions}
        chips = self.browser.js("[...document.querySelectorAll('#seen [name=set]')].map(i => [i.value, i.checked])")
        for value, on in chips:
            if on != (value in wanted or (value == "engine" and state.engine_running)):
                self.tap(f"#seen [name=set][value={json.dumps(value, ensure_ascii=False)}]".replace("\\t", "\t"))

    def mark(self, lamp: str, look: str, flash: str = "") -> None:
        own = f".lamp[data-lamp={json.dumps(lamp)}]"
        self.tap(f"{own} summary")
        if flash:
            self.tap(f"{own} .looks label", FLASHES[flash])
        if look:
            self.tap(f"{own} .looks label", LOOKS[look])
        if self.browser.js(f"document.querySelector({json.dumps(own)}).open"):  # without a script it stays open
            self.tap(f"{own} summary")

    def go_on(self) -> bool:
        """Answer the screen that is shown; whether there is more to do."""
        shown = self.browser.js("document.querySelector('h1').innerText")
        if shown == "Repaired and proven":
            return False
        if shown == "No further test":
            return False
        what = self.browser.js("(document.querySelector('main form [name=what]') || {}).value")
        if what == "read":
            self.fitted.append(int(self.browser.js(NEEDED)))
            self._read()
        elif what == "mended":
            repair = self.browser.js("document.querySelector('main form [name=repair]').value")
            cured = repair == self.fault.repair or repair in self._same()
            if cured:
                self.vehicle = PracticeVehicle(self.vehicle.harness, type(self.vehicle.truth)(), self.supply_v)
            self.repaired = self.repaired or cured
            self.tap("main form.stack .go", through=True)
        elif what == "checked":
            self._check()
        else:
            raise AssertionError(self.browser.js("document.body.innerText"))
        return True

    def _same(self) -> tuple[str, ...]:
        job = Job(self.path)
        own = next((s for s in job.suspects() if s.repair == self.fault.repair), None)
        return tuple(own.inseparable) if own else ()

    def _read(self) -> None:
        test = Job(self.path).find_test(self.browser.js("document.querySelector('main form [name=test]').value"))
        answer = self.vehicle.answer(test)
        tables = self.browser.js("[...document.querySelectorAll('.answers [name=table]')].map(b => b.value)")
        if tables:
            looks = self.vehicle.looks(test.state)
            own = [[lamp, looks[lamp].replace(" instead of flashing", "")] for lamp, _ in json.loads(tables[0])]
            same = [n for n, t in enumerate(tables) if json.loads(t) == own]
            if same:
                return self.tap(f".answers > button:nth-of-type({same[0] + 1})", through=True)
            self.tap(".more a", "something", through=True)
            for lamp, look in own:
                word, _, flash = look.partition(", ")
                self.mark(lamp, word, flash.split()[-1] if flash else "")
            return self.tap("#seen footer .go", through=True)
        if answer == "could not":
            return self.tap(".more button", "could not", through=True)
        for value in self.browser.js("[...document.querySelectorAll('.answers [name=value]')].map(b => b.value)"):
            if _means(value, answer):
                return self.tap(f".answers [value={json.dumps(value, ensure_ascii=False)}]", through=True)
        if test.row.unit:
            self.tap(".pad input[name=value]")
            typed = re.sub(r" ?(V|Ω|A)$", "", answer)
            self.browser.call("Input.insertText", text=typed)
            self.taps += len(typed)
            return self.tap(".pad .go", through=True)
        self.tap(".more a", "something", through=True)
        word, _, flash = answer.partition(", ")
        self.mark(test.lamp, word, flash.split()[-1] if flash else "")
        return self.tap("#seen footer .go", through=True)

    def _check(self) -> None:
        job = Job(self.path)
        number = int(self.browser.js("document.querySelector('main form [name=check]').value"))
        assert job.proof is not None
        check = next(c for c in job.proof.checks if c.number == number)
        if check.again is not None:
            shown = self.vehicle.answer(check.again.test)
            self.browser.js(f"document.querySelector('main form [name=shows]').value = {shown!r}")
            return self.tap("main form.stack .go", "Write it down", through=True)
        looks, expected = self.vehicle.looks(check.state), dict(check.expected)
        other = {k: v for k, v in looks.items() if v.split(",")[0] != expected.get(k, "dark").split(",")[0]}
        if not other:
            return self.tap("main form.stack .go", "All exactly so", through=True)
        self.tap("main a", "Something is different", through=True)
        for lamp, look in other.items():
            word, _, flash = look.partition(", ")
            self.mark(lamp, word, flash.split()[-1] if flash else "")
        return self.tap("#seen footer .go", through=True)

    def finish(self) -> None:
        for _ in range(MOST_SCREENS):
            if not self.go_on():
                return
        raise AssertionError("no end")


def _means(value: str, answer: str) -> bool:
    """Whether who saw `answer` taps the button that records `value`."""
    if value == answer:
        return True
    about = re.fullmatch(r"(-?[0-9.]+) ([VA]) ± ([0-9.]+) [VA]", value)
    own = re.fullmatch(r"(-?[0-9.]+) ([VA])", answer)
    return bool(about and own and about[2] == own[2] and abs(float(about[1]) - float(own[1])) <= float(about[3]))


