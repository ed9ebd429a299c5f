"""What the models in harness_models/ must do, written by hand: tables of lit lamps, and jobs with a known fault.

The tables say what the circuits are for (common practice, no source; each model is invented), not what the
simulation printed. A job plants a fault by what it does to the circuit, names what a person would say about
it, and names the repair; the reasons stand beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

from tests.shared import investigator_for
from tracer.circuit.model import OPEN_OHM, AddedBranch, Change
from tracer.harness.model import Harness
from tracer.inference.diagnose import Investigator
from tracer.job.vehicle import Vehicle
from tracer.observation.evidence import Reading, Symptom
from tracer.observation.words.probes import parse_test
from tracer.observation.words.readings import parse_value
from tracer.observation.words.symptoms import parse_symptom

MODELS = Path(__file__).parents[1] / "harness_models"


@cache
def tool_on(path: Path) -> Investigator:
    """What weighs evidence on a shipped model, the same for all tests and jobs of one worker. What jobs on it keep on
    disk, such as the fuses that its shorts blow, no worker works out a second time."""
    vehicle = Vehicle(path, [])
    return investigator_for(vehicle.harness, kept=vehicle.kept)


def reading_on(harness: Harness, test: str, shown: str) -> Reading:
    """A test and what it showed, both as typed."""
    found = parse_test(test, harness)
    return Reading(found, parse_value(shown, found.kind, found.lamp))


class Clock:
    """A clock that moves one minute at each look."""

    def __init__(self, start: str = "2026-03-04T09:00:00+01:00") -> None:
        self.time = datetime.fromisoformat(start)

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


class Ticks:
    """A clock by which a second passes at every look at it, whatever the machine does."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        self.now += 1.0
        return self.now


@dataclass(frozen=True)
class Works:
    """Which lamps a model lights. `lit`: vehicle state → lamps by name, separated by commas; every other
    lamp is dark in it. `flashing`: lamps that always flash when lit; `flashing_in`: state → further lamps that
    flash in it. `dim`: state → lamps that are lit, but not fully."""

    lit: Mapping[str, str]
    flashing: str = ""
    flashing_in: Mapping[str, str] = field(default_factory=dict)
    dim: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Job:
    """A fault, what a person says, and the repair that must be among the first `within` suspects."""

    model: str
    plant: Change
    symptoms: tuple[str, ...]
    repair: str
    within: int
    readings: tuple[tuple[str, str], ...] = ()
    # With these readings as well the repair must lead, with at least `share`.
    proof: tuple[tuple[str, str], ...] = ()
    share: float = 0.5
    # Why the repair is not among these yet, where it is known not to be.
    missed: str = ""


def evidence_from(harness: Harness, *told: str | tuple[str, str]) -> list[Symptom | Reading]:
    """What a job would hold of symptoms (text) and readings (test, value), in their order."""
    out: list[Symptom | Reading] = []
    for said in told:
        if isinstance(said, str):
            out.append(parse_symptom(said, harness))
        else:
            out.append(reading_on(harness, said[0], said[1]))
    return out


def opened(*joints: str) -> Change:
    """Contacts or wires without passage."""
    return Change(set_ohm=tuple((j, OPEN_OHM) for j in joints))


def corroded(joint: str, ohm: float) -> Change:
    """A contact that has `ohm` instead of milliohms."""
    return Change(set_ohm=((joint, ohm),))


def touching(a: str, b: str, ohm: float = 0.2) -> Change:
    """Two places joined that are not meant to be."""
    return Change(added=(AddedBranch(a, b, ohm),))


def exchanged(connector: str, one: int, two: int) -> Change:
    """Two ways changed over, both conductors written in the same direction through the connector."""
    a, b = f"{connector}.{one}", f"{connector}.{two}"
    return opened(f"{connector} way {one}", f"{connector} way {two}") | touching(a, b + "'", 0.003) | touching(
        b, a + "'", 0.003)


def broken(*filaments: str) -> Change:
    """Filaments burnt through."""
    return Change(dead=tuple(f"{f} filament" for f in filaments))


WORKS: dict[str, Works] = {
    "rear_end": Works({
        "lamp switch off": "",
        "lamp switch side": "left rear tail, right rear tail, number-plate lamp",
        "brake pedal pressed": "left rear stop, right rear stop",
        "indicator stalk left": "left rear indicator",
        "indicator stalk right": "right rear indicator",
        "lamp switch side, brake pedal pressed":
            "left rear tail, right rear tail, number-plate lamp, left rear stop, right rear stop",
    }, "left rear indicator, right rear indicator"),
    "bullets_1960s": Works({
        "lighting switch off": "",
        "lighting switch side": "left rear tail, right rear tail, number-plate lamp",
        "brake pedal pressed": "left rear stop, right rear stop",
        "indicator switch left": "left rear indicator",
        "indicator switch right": "right rear indicator",
        "lighting switch side, brake pedal pressed":
            "left rear tail, right rear tail, number-plate lamp, left rear stop, right rear stop",
    }, "left rear indicator, right rear indicator"),
    "saloon_1970s": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "ignition off, indicator stalk left": "",
        "ignition off, gear reverse": "",
        "lamp switch side":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left front side, "
            "right front side, speedometer lamp, fuel gauge lamp, clock lamp",
        "ignition off, lamp switch head":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left front side, "
            "right front side, speedometer lamp, fuel gauge lamp, clock lamp, left headlamp dip, right headlamp dip",
        "lamp switch head, dip switch main":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left front side, "
            "right front side, speedometer lamp, fuel gauge lamp, clock lamp, left headlamp main, "
            "right headlamp main, main beam tell-tale",
        "dip switch main": "",
        "brake pedal pressed": "left rear stop, right rear stop",
        "gear reverse": "left reversing lamp, right reversing lamp",
        "indicator stalk left": "left rear indicator, left front indicator, indicator tell-tale",
        "indicator stalk right": "right rear indicator, right front indicator, indicator tell-tale",
        "brake pedal pressed, indicator stalk right":
            "left rear stop, right rear stop, right rear indicator, right front indicator, indicator tell-tale",
        "ignition off, door open": "interior lamp",
        "horn button pressed": "",
        "blower switch on": "",
    }, "left rear indicator, left front indicator, right rear indicator, right front indicator, indicator tell-tale"),
    "glass_fibre": Works({
        "ignition on": "",
        "ignition off, indicator stalk left": "",
        "lamp switch side":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, "
            "speedometer lamp, tachometer lamp",
        "lamp switch head":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, "
            "speedometer lamp, tachometer lamp, left headlamp dip, right headlamp dip",
        "ignition off, lamp switch head, dip switch main":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, "
            "speedometer lamp, tachometer lamp, left headlamp main, right headlamp main, main beam tell-tale",
        "brake pedal pressed": "left rear stop, right rear stop",
        "gear reverse": "reversing lamp",
        "indicator stalk left": "left rear indicator, left front indicator, left repeater, left tell-tale",
        "indicator stalk right": "right rear indicator, right front indicator, right repeater, right tell-tale",
        "ignition off, hazard switch on":
            "left rear indicator, left front indicator, left repeater, left tell-tale, right rear indicator, "
            "right front indicator, right repeater, right tell-tale",
        "horn button pressed": "",
    }, "left rear indicator, left front indicator, left repeater, left tell-tale, right rear indicator, "
       "right front indicator, right repeater, right tell-tale"),
    # The stop lamps are the rear indicators: a turned stalk takes one of them from the brake.
    "car_1950s": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "lamp switch side":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, panel lamp 1, "
            "panel lamp 2",
        "lamp switch side, panel switch off":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side",
        "lamp switch head, panel switch off":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, "
            "left headlamp dip, right headlamp dip",
        "ignition off, lamp switch head, dip switch main, panel switch off":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, "
            "left headlamp main, right headlamp main, main beam tell-tale",
        "brake pedal pressed": "left rear stop, right rear stop",
        "indicator stalk right": "right rear stop, right front indicator, indicator tell-tale",
        "indicator stalk left": "left rear stop, left front indicator, indicator tell-tale",
        "ignition off, roof lamp switch on": "roof lamp",
        "horn button pressed": "",
    }, "left front indicator, right front indicator, indicator tell-tale",
       flashing_in={"indicator stalk left": "left rear stop", "indicator stalk right": "right rear stop"}),
    "tractor": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "lamp switch side":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, panel lamp 1, "
            "panel lamp 2",
        "lamp switch head":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, panel lamp 1, "
            "panel lamp 2, left headlamp dip, right headlamp dip",
        "ignition off, lamp switch head, dip switch main":
            "left rear tail, right rear tail, number-plate lamp, left front side, right front side, panel lamp 1, "
            "panel lamp 2, left headlamp main, right headlamp main, main beam tell-tale",
        "brake pedal pressed": "left rear stop, right rear stop",
        "indicator stalk left": "left rear indicator, left front indicator, indicator tell-tale",
        "indicator stalk right": "right rear indicator, right front indicator, indicator tell-tale",
        "ignition off, hazard switch on":
            "left rear indicator, left front indicator, right rear indicator, right front indicator, "
            "indicator tell-tale",
        "ignition off, front work switch on": "left front work lamp, right front work lamp",
        "rear work switch on, front work switch on":
            "left front work lamp, right front work lamp, left rear work lamp, right rear work lamp",
        "wiper switch on": "",
        "horn button pressed": "",
    }, "left rear indicator, left front indicator, right rear indicator, right front indicator, indicator tell-tale"),
    "lorry_24v": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "master switch off, lamp switch head": "",
        "master switch off, lamp switch head, dip switch main": "",
        "lamp switch side":
            "left front side, right front side, left front marker, left rear marker, right front marker, "
            "right rear marker, left rear tail, right rear tail, number-plate lamp, panel lamp 1, panel lamp 2",
        "lamp switch side, fog switch on":
            "left front side, right front side, left front marker, left rear marker, right front marker, "
            "right rear marker, left rear tail, right rear tail, number-plate lamp, panel lamp 1, panel lamp 2",
        "ignition off, lamp switch head, fog switch on":
            "left front side, right front side, left front marker, left rear marker, right front marker, "
            "right rear marker, left rear tail, right rear tail, number-plate lamp, panel lamp 1, panel lamp 2, "
            "left headlamp dip, right headlamp dip, right rear fog, fog tell-tale",
        "lamp switch head, dip switch main":
            "left front side, right front side, left front marker, left rear marker, right front marker, "
            "right rear marker, left rear tail, right rear tail, number-plate lamp, panel lamp 1, panel lamp 2, "
            "left headlamp main, right headlamp main, main beam tell-tale",
        "brake pedal pressed": "left rear stop, right rear stop",
        "gear reverse": "left rear reversing",
        "indicator stalk left": "left front indicator, left repeater, left rear indicator, indicator tell-tale",
        "indicator stalk right": "right front indicator, right repeater, right rear indicator, indicator tell-tale",
        "ignition off, work switch on": "work lamp",
    }, "left front indicator, left repeater, left rear indicator, right front indicator, right repeater, "
       "right rear indicator, indicator tell-tale"),
    "estate_1990s": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "ignition off, indicator stalk right": "",
        "ignition off, handbrake on": "",
        "ignition start": "handbrake tell-tale, brake pad tell-tale",
        "handbrake on": "handbrake tell-tale",
        "ignition off, lamp switch side":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left headlamp side, "
            "right headlamp side, panel lamp 1, panel lamp 2, panel lamp 3",
        "lamp switch side, panel dimmer low, fog switch on":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left headlamp side, "
            "right headlamp side",
        "lamp switch head, fog switch on":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left headlamp side, "
            "right headlamp side, panel lamp 1, panel lamp 2, panel lamp 3, left headlamp dip, right headlamp dip, "
            "left rear fog, right rear fog, rear fog tell-tale",
        "lamp switch head, dip switch main":
            "left rear tail, right rear tail, left number-plate lamp, right number-plate lamp, left headlamp side, "
            "right headlamp side, panel lamp 1, panel lamp 2, panel lamp 3, left headlamp main, right headlamp main, "
            "main beam tell-tale",
        "brake pedal pressed": "left rear stop, right rear stop, high stop lamp",
        "gear reverse": "left rear reversing, right rear reversing",
        "indicator stalk left": "left rear indicator, left front indicator, left repeater, indicator tell-tale",
        "indicator stalk right": "right rear indicator, right front indicator, right repeater, indicator tell-tale",
        "ignition off, hazard switch on":
            "left rear indicator, left front indicator, left repeater, right rear indicator, right front indicator, "
            "right repeater, indicator tell-tale",
    }, "left rear indicator, left front indicator, left repeater, right rear indicator, right front indicator, "
       "right repeater, indicator tell-tale",
       dim={"lamp switch side, panel dimmer low, fog switch on": "panel lamp 1, panel lamp 2, panel lamp 3"}),
    "tow_13pin": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "lamp switch side":
            "car left rear tail, car right rear tail, car plate lamp, caravan left tail, caravan right tail, "
            "left marker, right marker, left caravan plate lamp, right caravan plate lamp",
        "brake pedal pressed": "car left rear stop, car right rear stop, caravan left stop, caravan right stop",
        "gear reverse": "car left rear reversing, caravan left reversing",
        "indicator stalk left": "car left rear indicator, caravan left indicator",
        "indicator stalk right": "car right rear indicator, caravan right indicator",
        "fog switch on": "car right rear fog, caravan right fog",
        "ignition off, saloon switch on": "saloon lamp",
        "refrigerator switch on": "",
    }, "car left rear indicator, caravan left indicator, car right rear indicator, caravan right indicator"),
    "motorcycle_6v": Works({
        "ignition on": "",
        "ignition off": "",
        "lamp switch pilot": "headlamp pilot, rear lamp tail, speedometer lamp",
        "ignition off, lamp switch pilot": "headlamp pilot, rear lamp tail, speedometer lamp",
        "lamp switch head": "headlamp dip, rear lamp tail, speedometer lamp",
        "lamp switch head, dip switch main": "headlamp main, main beam tell-tale, rear lamp tail, speedometer lamp",
        "brake lever pulled": "rear lamp stop",
        "brake pedal pressed": "rear lamp stop",
        "ignition off, brake pedal pressed": "",
        "indicator switch left": "left front indicator, left rear indicator",
        "indicator switch right": "right front indicator, right rear indicator",
        "ignition off, indicator switch right": "",
        "horn button pressed": "",
        "lamp switch pilot, brake pedal pressed, indicator switch left":
            "headlamp pilot, rear lamp tail, speedometer lamp, rear lamp stop, left front indicator, "
            "left rear indicator",
    }, "left front indicator, left rear indicator, right front indicator, right rear indicator"),
    "tow_7pin": Works({
        "ignition on": "",
        "ignition off, brake pedal pressed": "",
        "lamp switch side": "car left rear tail, car right rear tail, car plate lamp, trailer left tail, "
                            "trailer right tail, trailer plate lamp",
        "brake pedal pressed": "car left rear stop, car right rear stop, trailer left stop, trailer right stop",
        "indicator stalk left": "car left rear indicator, trailer left indicator",
        "indicator stalk right": "car right rear indicator, trailer right indicator",
        "fog switch on": "car right rear fog, trailer right fog",
        "lamp switch side, brake pedal pressed":
            "car left rear tail, car right rear tail, car plate lamp, trailer left tail, trailer right tail, "
            "trailer plate lamp, car left rear stop, car right rear stop, trailer left stop, trailer right stop",
    }, "car left rear indicator, trailer left indicator, car right rear indicator, trailer right indicator"),
}

# LED lamps do what the filaments did.
WORKS["saloon_led"] = WORKS["saloon_1970s"]

JOBS: dict[str, Job] = {
    # With the left unit's earth gone its tail (5 W) finds earth through its own stop lamp, the stop splice and the
    # right stop lamp, both cold: nearly full. Braking makes that way live as well, and both go out.
    "rear end: tail goes out when braking": Job(
        "rear_end", opened("E1 earth joint"),
        ("left rear tail normal, right rear tail normal when lamp switch side",
         "left rear stop dark, left rear tail dark, right rear stop normal when lamp switch side, brake pedal "
         "pressed"),
        "clean and remake earth point E1", 1),
    # The filaments of the right twin lamp touch: the stop circuit feeds the right tail circuit, and the other way
    # round; the left tail has a fuse of its own.
    "rear end: twin filaments touch": Job(
        "rear_end", touching("right rear/right rear stop live", "right rear/right rear tail live"),
        ("left rear stop full brightness, right rear stop full brightness when lamp switch side",
         "right rear tail full brightness, number-plate lamp full brightness, left rear tail dark when brake "
         "pedal pressed"),
        "new lamp: right rear stop + right rear tail", 1),
    "rear end: one lamp": Job(
        "rear_end", broken("left rear indicator"),
        ("left rear indicator dark when indicator stalk left", "right rear indicator normal flashing when indicator "
         "stalk right", "left rear stop normal when brake pedal pressed"), "new lamp: left rear indicator", 1),
    # One bullet has fallen out of the block: the block is live, the wire that left it is not.
    "bullets: a lamp's feed is out of its block": Job(
        "bullets_1960s", opened("B2 bullet 2"),
        ("left rear tail dark, right rear tail normal when lighting switch side",
         "left rear stop normal when brake pedal pressed"),
        "clean bullet B2.2 (R wire to terminal tail of left rear) and push it home", 5,
        (("volts at left rear.tail when lighting switch side", "0 V"),),
        (("volts at B2 when lighting switch side", "-12.5 V"), ("volts at B2.2 when lighting switch side", "0 V")),
        0.9),
    "bullets: the feed of a block is out": Job(
        "bullets_1960s", opened("B2 bullet 1"),
        ("left rear tail dark, right rear tail dark, number-plate lamp dark when lighting switch side",),
        "clean bullet B2.1 (R wire to terminal R of lighting switch) and push it home", 2, (),
        (("volts at B2.1 when lighting switch side", "-12.6 V"), ("volts at B2 when lighting switch side", "0 V")),
        0.9),
    # 1.5 ohm before two lamps that draw 3.2 A together at 12.6 V, by I ~ V^0.55: 8.7 V are left for the lamps (a
    # quarter of the light), 3.9 V lie across the bullet.
    "bullets: a dirty bullet": Job(
        "bullets_1960s", corroded("B3 bullet 1", 1.5),
        ("left rear stop dim, right rear stop dim when brake pedal pressed",),
        "clean bullet B3.1 (GP wire to terminal out of brake switch) and push it home", 3, (),
        (("volt drop B3.1 to B3 when brake pedal pressed", "-3.9 V"),), 0.8),
    # Braking feeds the common point of both units; from there back through the tails to the front side lamps and
    # the instruments, through the indicators to the front indicators (21 W before 21 W on both sides). By
    # I ~ V^0.55 the stop lamps keep 5.9 V (under a tenth of the light), the tails get 6 V, the 21 W lamps 3.4 V.
    "saloon: common earth of the rear lamps": Job(
        "saloon_1970s", opened("E4 earth joint"),
        ("left rear stop dim, right rear stop dim, left rear tail dim, right rear tail dim, all indicators faint "
         "when brake pedal pressed",), "clean and remake earth point E4", 1),
    # The front unit's earth gone at its plug, the 21 W lamp feeds the 5 W lamp beside it, which goes on to the right
    # tail and the instruments: 0.4 A, so the 21 W stays dark and the side lamp has 9.5 V, half its light.
    "saloon: side lamp flashes instead of the indicator": Job(
        "saloon_1970s", opened("C5 way 5"),
        ("right front indicator dark, right front side nearly full when indicator stalk right",),
        "clean or renew way C5.5", 1),
    # A thermal flasher with one of two main lamps left: just over half its load, so it is slow.
    "saloon: thermal flasher with a lamp out": Job(
        "saloon_1970s", broken("left front indicator"),
        ("left front indicator dark, left rear indicator normal slow when indicator stalk left",
         "right front indicator normal flashing when indicator stalk right"), "new lamp: left front indicator", 1),
    # Circuits that share nothing but a fuse.
    "saloon: fuse shared by four circuits": Job(
        "saloon_1970s", opened("F2 link"),
        ("left rear stop dark, right rear stop dark when brake pedal pressed", "left reversing lamp dark when gear "
         "reverse", "left front indicator dark when indicator stalk left", "left front side normal when lamp switch "
         "side"), "new fuse F2", 2),
    # The left front corner's earth splice cut off: the dipped filament (55 W) returns through both main filaments and
    # through both left indicators. By I ~ V^0.55 it keeps 6.5 V (an eighth of the light), as does the side lamp, and
    # the others get 3 V each.
    "glass fibre: earth of one corner": Job(
        "glass_fibre", opened("C2 way 7"),
        ("left headlamp dip dim, right headlamp dip normal, left headlamp main faint, right headlamp main faint, "
         "main beam tell-tale faint, left front side dim when lamp switch head",), "clean or renew way C2.7", 1),
    # 1 Ω in the earth of the whole front: 10 A at full voltage fall to 6.7 A, the lamps keep 6 V of 12. The rear
    # has a way of its own.
    "glass fibre: bad way in the front earth": Job(
        "glass_fibre", corroded("C1 way 8", 1.0),
        ("left headlamp dip dim, right headlamp dip dim, left front side dim, right front side dim, left rear tail "
         "normal when lamp switch head",), "clean or renew way C1.8", 2,
        missed="the splice, the plug wet and the eyelet come before it: in one row with it, all look alike"),
    # The rear's last earth wire broken: the reversing lamp keeps 9 V before what leads forward, the stop lamps 6 V.
    # Its eyelet on the bolt and the splice at its other end are the same to the current.
    "glass fibre: earth wire of the rear": Job(
        "glass_fibre", opened("wire G5 – E1"),
        ("left rear stop dim, right rear stop dim, left rear indicator faint, right rear indicator faint when brake "
         "pedal pressed", "reversing lamp dim when gear reverse"), "repair the B wire G5 – E1", 3),
    # The wing on its rubber beading without its strap: braking, the stop filament (21 W) feeds the tail (5 W) beside
    # it, which leads on to every side lamp; the other way round the tail finds earth through both stop lamps.
    "1950s car: strap of a rear wing": Job(
        "car_1950s", opened("E8 earth joint"),
        ("left rear tail full brightness, left rear stop dark, right rear stop normal when brake pedal pressed",
         "left rear tail normal, left rear stop dark when lamp switch side"), "clean and remake earth point E8", 4,
        (), (("volts at E8 when brake pedal pressed", "-11.6 V"),), 0.8),
    # The contact of the stalk that leads the stop feed to the right: the same lamp flashes through another contact.
    "1950s car: stop contact in the stalk": Job(
        "car_1950s", opened("indicator stalk 54-54R"),
        ("right rear stop dark, left rear stop normal when brake pedal pressed",
         "right rear stop normal flashing when indicator stalk right"), "repair or renew indicator stalk", 1),
    # The two leads of a front twin lamp changed over.
    "1950s car: leads of a twin lamp changed over": Job(
        "car_1950s", exchanged("C2", 3, 4),
        ("left front indicator normal steady, left front side dark when lamp switch side",
         "left front side normal flashing, left front indicator dark when indicator stalk left"),
        "change ways 3 and 4 of C2 back", 3),
    # The cab without its strap: 110 W of work lamps in series with three lamps of 2.2 W, which take all the voltage
    # (return through the side lamps and the main beams, both off); the flasher unit has no earth either.
    "tractor: strap of the cab": Job(
        "tractor", opened("E8 earth joint"),
        ("left front work lamp dark, right front work lamp dark, panel lamp 1 full brightness, "
         "panel lamp 2 full brightness, main beam tell-tale full brightness when front work switch on",
         "left rear indicator dark when front work switch on, indicator stalk left"),
        "clean and remake earth point E8", 1),
    # What both pairs of work lamps share and the cab's earth does not: at 1 Ω 9.4 A fall to 6.2 A, 6.4 V are left.
    "tractor: bad way in the feed to the roof": Job(
        "tractor", corroded("C2 way 1", 1.0),
        ("left front work lamp dim, right front work lamp dim, panel lamp 1 dark when front work switch on",
         "left rear work lamp dim, right rear work lamp dim when rear work switch on",
         "left headlamp dip normal, panel lamp 1 normal when lamp switch head"), "clean or renew way C2.1", 2,
        (("volts at E9 when front work switch on", "0.1 V"),)),
    # Lamp-out warning of an electronic flasher: twice as fast, its own tell-tale stays dark.
    "tractor: electronic flasher with a lamp out": Job(
        "tractor", broken("left rear indicator"),
        ("left rear indicator dark, left front indicator normal fast, indicator tell-tale dark when indicator stalk "
         "left",), "new lamp: left rear indicator", 1),
    # The body without its strap: the work lamp (70 W) feeds four markers (5 W) backwards, which lead to all side
    # lamps of the chassis.
    "lorry: strap of the body": Job(
        "lorry_24v", opened("E9 earth joint"),
        ("work lamp dark, left front marker nearly full, right front marker nearly full when work switch on",),
        "clean and remake earth point E9", 1),
    # A relay whose contact does not close; its coil has its voltage.
    "lorry: relay contact": Job(
        "lorry_24v", opened("dipped beam relay 88-88a"),
        ("left headlamp dip dark, right headlamp dip dark when lamp switch head",
         "left headlamp main normal when lamp switch head, dip switch main"), "renew dipped beam relay", 1,
        (("volts at dipped beam relay.86 when lamp switch head", "24.6 V"),)),
    "lorry: fuse of one side": Job(
        "lorry_24v", opened("F1 link"),
        ("left rear tail dark, left front marker dark, left rear marker dark, left front side dark, right rear tail "
         "normal when lamp switch side",), "new fuse F1", 2),
    # The tailgate's earth broken in its hinge: the high stop lamp (16 W) finds earth through both number-plate lamps
    # (5 W) and the side lights behind them. By I ~ V^0.55 the number-plate lamps have 8 V (a quarter of the light),
    # the stop lamp 2.5 V; switched on themselves they have 9.6 V and the stop lamp 2.9 V.
    "estate: earth of the tailgate": Job(
        "estate_1990s", opened("C4 way 4"),
        ("left number-plate lamp dim, right number-plate lamp dim, left rear stop normal when brake pedal pressed",
         "left number-plate lamp nearly full, right number-plate lamp nearly full when lamp switch side"),
        "clean or renew way C4.4", 1),
    # A lamp-check diode that conducts both ways: the handbrake switch pulls the check line down, and the brake pads'
    # diode lights their lamp, which is dark otherwise and lights when starting.
    # Two wires of its loom rubbed together across it are the same to the current.
    "estate: lamp-check diode shorted": Job(
        "estate_1990s", touching("D1.anode", "D1.cathode", 0.05),
        ("handbrake tell-tale normal, brake pad tell-tale full brightness when handbrake on",
         "brake pad tell-tale dark, handbrake tell-tale dark when ignition on",
         "brake pad tell-tale normal, handbrake tell-tale normal when ignition start"), "renew D1", 2),
    # Half an ohm in the relay's contact: 9.4 A at full voltage fall to 7.4 A and the dipped beams keep 8.7 V, a
    # third of the light; main beams go past the relay.
    "estate: burnt relay contact": Job(
        "estate_1990s", corroded("dipped beam relay 30-87", 0.5),
        ("left headlamp dip dim, right headlamp dip dim, left rear tail normal when lamp switch head",
         "left headlamp main normal, right headlamp main normal when lamp switch head, dip switch main"),
        "renew dipped beam relay", 2),
    # Damp in the body plug lets 2 kΩ pass from the permanent feed of the interior lamp to the stop circuit above it.
    # LED lamps need some 7 V to conduct: 5 V over 2 kΩ are 2.5 mA for two lamps of 250 mA, a two-hundredth each.
    # That glows; a filament would stay dark. The ignition is off, so the brake switch has nothing to pass on.
    "LED: glow with everything off": Job(
        "saloon_led", touching("C1.3", "C1.7", 2000.0),
        ("left rear stop faint, right rear stop faint when ignition off",
         "left rear stop normal, right rear stop normal when brake pedal pressed"), "dry and clean C1", 3),
    # With one load resistor open a side takes 0.25 + 0.25 + 1.6 A instead of 3.7 A: the thermal flasher unit, made
    # for 3.5 A, is slow though both lamps light.
    "LED: load resistor open": Job(
        "saloon_led", opened("left rear load resistor"),
        ("left rear indicator normal slow, left front indicator normal slow when indicator stalk left",
         "right rear indicator normal flashing when indicator stalk right"), "renew left rear load resistor", 3),
    # Without the boot earth a rear indicator's 8 Ω finds earth through two more of 8 Ω on the other side: the LED
    # beside it has a third of the voltage, 4.2 V, and needs 7 V. Stop and tail take little and light by that way.
    "LED: common earth of the rear lamps": Job(
        "saloon_led", opened("E4 earth joint"),
        ("left rear indicator dark, left front indicator normal flashing when indicator stalk left",
         "right rear indicator dark, right front indicator normal flashing when indicator stalk right",
         "left rear stop lit, right rear stop lit when brake pedal pressed"), "clean and remake earth point E4", 1),
    # The lamp return 3 open: two 21 W stop lamps in series with four pairs of 21 W and with the tails of both
    # vehicles. By I ~ V^0.55 the stop lamps keep 9 V (four tenths), the car's right tail has 3 V (a hundredth);
    # the saloon lamp has a return of its own.
    "13-pin: return of the lamps": Job(
        "tow_13pin", opened("X2 way 3"),
        ("caravan left stop dim, caravan right stop dim, car right rear tail faint when brake pedal pressed",
         "saloon lamp normal when saloon switch on"), "clean or renew way X2.3", 2),
    # Ways 4 and 5 changed over in the plug: the flasher drives the right tail circuit of the caravan.
    "13-pin: indicator and tail crossed": Job(
        "tow_13pin", exchanged("X1", 4, 5),
        ("caravan right indicator dark, caravan right tail normal flashing, right marker normal flashing when "
         "indicator stalk right",
         "caravan right indicator normal steady, right marker dark when lamp switch side"),
        "change ways 4 and 5 of X1 back", 2),
    # Water in the plug, 10 Ω between stop and left tail: five 5 W lamps behind 10 Ω have 3.4 V (a hundredth);
    # the other way round four 21 W lamps have half a volt. With X2 apart only the car's tail and plate lamp are left
    # behind 10 Ω: 2 · 0.42 A · (V/12)^0.55 · 10 Ω = 12.4 V − V gives 6.5 V, an eighth of the light.
    "13-pin: water in the plug": Job(
        "tow_13pin", touching("X1.6", "X1.7", 10.0),
        ("car left rear tail faint, caravan left tail faint, left marker faint, caravan left stop normal when brake "
         "pedal pressed", "caravan left stop dark, caravan left tail normal when lamp switch side",
         "caravan left tail dark when ignition on"),
        "dry and clean X1", 2,
        (("look car left rear tail when brake pedal pressed with X1 unplugged", "dark"),
         ("look car left rear tail when brake pedal pressed with X2 unplugged", "dim"))),
    # 1 Ω where 3.7 A should flow: at 6 V that takes two volts of the stop lamp's six, and nothing else hangs on
    # the way. A meter takes no current, so that it shows the full voltage behind it; only the drop under load
    # tells. Positive earth: everything live is below the frame. Before it come what the meter does not tell from it,
    # the holder and the lamp turned round in it.
    "motorcycle: contact that an unloaded meter misses": Job(
        "motorcycle_6v", corroded("C2 way 2", 1.0),
        ("rear lamp stop dim, everything else normal when brake pedal pressed",
         "rear lamp stop dim when brake lever pulled", "left rear indicator normal flashing when indicators left"),
        "clean or renew way C2.2", 3,
        (("volts at rear lamp.stop when brake pedal pressed with lamp rear lamp stop out", "-6.2 V"),),
        (("volt drop C2.2 to C2.2' when brake pedal pressed", "-2.2 V"),), 0.8),
    # The strap at the steering head gone, the headlamp finds earth backwards: shell → fork legs → front indicators
    # → rear indicators → mudguard, two chains of two 21 W lamps in series with 30 W. By I ~ V^0.55 the
    # headlamp keeps 3.5 V (a sixth of its light), each indicator gets 1.4 V (under a hundredth).
    "motorcycle: headlamp shell without earth": Job(
        "motorcycle_6v", opened("E2 earth joint"),
        ("headlamp main dim, all indicators faint when lights head, dip switch main",),
        "clean and remake earth point E2", 1),
    # The rear indicators' conductors changed over: the left front one still flashes by itself on the left.
    "motorcycle: rear indicators crossed": Job(
        "motorcycle_6v", exchanged("C2", 3, 4),
        ("left rear indicator dark, right rear indicator flashing, left front indicator flashing "
         "when indicators left",),
        "change ways 3 and 4 of C2 back", 2),
    # Both stop lamps of the trailer (7.4 A at full voltage) return through whatever leads forward from the
    # trailer: three pairs of 21 W lamps in series (indicators and fog, trailer and car) and some 5 W ones. By
    # I ~ V^0.55 the stop lamps keep half their voltage (a seventh of the light), the 21 W lamps get a quarter.
    "7-pin: earth of the trailer lost at the plug": Job(
        "tow_7pin", opened("X1 way 3"),
        ("trailer left stop dim, trailer right stop dim, car left rear indicator faint, "
         "car right rear indicator faint when brake pedal pressed",), "clean or renew way X1.3", 3,
        (("volts at X1.3 when brake pedal pressed", "5.7 V"), ("volts at E5 when brake pedal pressed", "0 V"))),
    # A plug rewired with stop and left tail changed over: braking lights the left tail, 5 W lamps stay dark.
    "7-pin: ways crossed after the plug was rewired": Job(
        "tow_7pin", exchanged("X1", 6, 7),
        ("trailer left tail full brightness, trailer left stop dark, trailer right stop dark when brake pedal "
         "pressed",
         "trailer left tail dark, trailer left stop full brightness, trailer right stop full brightness when "
         "lights side"),
        "change ways 6 and 7 of X1 back", 1),
    # One side's tail lamps of both vehicles: what they share is F2, its clip, the switch contact and C1.2.
    "7-pin: fuse of the right side lights": Job(
        "tow_7pin", opened("F2 link"),
        ("car right rear tail dark, trailer right tail dark, trailer plate lamp dark, car left rear tail normal "
         "when lights side",), "new fuse F2", 2),
}
