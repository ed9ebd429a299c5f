"""What each hypothesis predicts: lamps, fuses and readings in any set-up, for all hypotheses at once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tracer.cache import Kept
from tracer.circuit.change_table import ChangeTable, set_branch, tabulate
from tracer.circuit.device_laws import NO_LIGHT, PortLaws
from tracer.circuit.flasher_rate import flashes_per_min
from tracer.circuit.fuses_and_relays import Settler
from tracer.circuit.kept_healthy import remember
from tracer.circuit.model import (
    NO_CHANGE,
    Bools,
    Change,
    Circuit,
    Floats,
    Ints,
    Setup,
    build_circuit,
)
from tracer.circuit.settled import Settled
from tracer.harness.devices import Diode, FlasherContact, Resistor
from tracer.harness.model import Harness, VehicleState
from tracer.observation.evidence import Test
from tracer.observation.meter_readings import asked_of, read
from tracer.observation.one_for_all import Asked, each_once

_MANY_ROWS = 60
_ROWS_AT_ONCE = 8192  # what more need is so large that memory is asked for anew each time
_ENTRIES_AT_ONCE = 3_000_000  # … or fewer of them, where each has hundreds of lamps or of changes
_LIGHTS_AT_ONCE = 60_000
_LN_10 = np.log(10.0)
FLASHER_IDLE_A = 0.05  # below this nothing is switched on behind the flasher


class Panel(Struct, frozen=True):
    """All lamps of the vehicle in one set-up, for H hypotheses.

    Attributes:
        flux: (H, lamps) log10 of flux relative to normal at the brighter of the flasher's phases.
        least: (H, lamps) the same in the other phase; equal to `flux` where nothing flashes.
        load: (H,) current through the flasher as a share of its full lamp set; NaN if idle.
        per_min: (H,) its flashes per minute, 0 where it stays closed; NaN if idle.
        blown: (H, fuses).
        blow_s: (H, fuses) the longest each blown one held, s; infinite where it is whole.
        pulled_in: (H, relays) in the order of `Predictor.relays`, in the lit phase: its change is heard.
        restless: (H, relays) those that buzz.
        buzzing: (H,) some relay buzzes.
        lead_blown: (H,) the fuse of a temporary lead blows.
        power: (H, loads) of `Predictor.loads` in the lit phase, a share of what each takes at the battery's voltage.
        usable: (H,) the solution converged.
    """

    flux: Floats
    least: Floats
    load: Floats
    per_min: Floats
    blown: Bools
    blow_s: Floats
    pulled_in: Bools
    restless: Bools
    buzzing: Bools
    lead_blown: Bools
    usable: Bools
    power: Floats

    @classmethod
    def empty(cls, rows: int, lamps: int, fuses: int, relays: int, loads: int) -> Panel:
        """Rows still to be filled in, with nothing that flashes."""
        flux = np.empty((rows, lamps))
        pulled_in, restless = (np.empty((rows, relays), dtype=bool) for _ in range(2))
        buzzing, lead_blown, usable = (np.empty(rows, dtype=bool) for _ in range(3))
        return cls(
            flux, flux, np.full(rows, np.nan), np.full(rows, np.nan), np.empty((rows, fuses), dtype=bool),
            np.empty((rows, fuses)), pulled_in, restless, buzzing, lead_blown, usable, np.empty((rows, loads)),
        )

    @property
    def steady(self) -> bool:
        """Whether nothing flashes in any row: then both phases are one array."""
        return self.least is self.flux

    def arrays(self) -> list[NDArray[Any]]:
        """All that it consists of."""
        return [getattr(self, n) for n in self.__struct_fields__]

    def rows(self, chosen: Ints | slice) -> Panel:
        names = [n for n in self.__struct_fields__ if not (self.steady and n == "least")]
        taken = {name: getattr(self, name)[chosen] for name in names}
        return Panel(**({"least": taken["flux"]} | taken))

    def with_rows(self, rows: Ints, part: Panel) -> Panel:
        """Some rows replaced, in place, by those of another panel."""
        out = replace(self, least=self.flux.copy()) if self.steady and not part.steady else self
        for name in self.__struct_fields__:
            getattr(out, name)[rows] = getattr(part, name)
        return out

    def flashing(self, rows: Ints, dark: Floats) -> Panel:
        """The same with rows that flash, their light (rows, lamps) in the dark phase given."""
        out = replace(self, least=self.flux.copy()) if self.steady else self
        at_once = max(_LIGHTS_AT_ONCE // max(dark.shape[1], 1), 1)
        for first in range(0, len(rows), at_once):
            its, other = rows[first:first + at_once], dark[first:first + at_once]
            lit = out.flux[its]
            out.least[its], out.flux[its] = np.minimum(lit, other), np.maximum(lit, other)
        return out


class _Part(Struct, frozen=True):
    """Rows of a panel that are to be filled in: of which panel, and from where on."""

    number: int
    first: int
    panel: Panel
    setup: Setup
    table: ChangeTable


class Predictor:
    """Predictions of one harness. Keeps the healthy panel and the factored base of each set-up."""

    def __init__(self, harness: Harness, supply_v: float | None = None) -> None:
        """`supply_v` is the battery's voltage as measured on this vehicle, if it was."""
        self.harness = harness
        self.supply_v = supply_v
        self.circuit: Circuit = build_circuit(harness)
        self.settler = Settler(self.circuit)
        self.lamps = harness.lamps()
        self.lamp_index = {f.lamp: i for i, f in enumerate(self.lamps)}
        self.fuses = [f.name.removesuffix(" link") for f in self.settler.fuses]
        self._lights = PortLaws(self.lamps)
        # Lamp of each port, −1 for none.
        self.lamp_of = np.full(len(self.circuit.ports), -1, dtype=np.intp)
        self.lamp_of[self.circuit.lamp_ports] = np.arange(len(self.lamps))
        self._flashers = [d for d in self.circuit.linear if isinstance(d, FlasherContact)]
        # The relays that one hears. A flasher unit's inner ones are a part of its own ticking.
        coils = {c: k for k, c in enumerate(self.settler.coils)}
        parts = [(p.name, d.name) for p in harness.parts.values() for d in p.coils]
        self.relays = [part for part, coil in parts if coil in coils]
        self._relay_coils = np.array([coils[coil] for _, coil in parts if coil in coils], dtype=np.intp)
        # Horn, blower and other loads that one hears or feels: the part, and the resistance in it that does the work.
        working = [(p.name, d) for p in harness.parts.values() for d in p.working]
        self.loads = [part for part, _ in working]
        self._working = [d for _, d in working]
        self._healthy: OrderedDict[Setup, Panel] = OrderedDict()
        source = next(iter(self.circuit.sources), None)
        self.emf = source.volts if source else harness.system_v
        # Batteries in series, as a lorry has them, come nearer to the system's voltage together than one does.
        together = sum(s.volts for s in self.circuit.sources)
        if abs(together - harness.system_v) < abs(self.emf - harness.system_v):
            self.emf = together
        self.supply_measured = supply_v is not None
        self._supply = Change(emf_factor=supply_v / self.emf) if supply_v and source else NO_CHANGE
        self.emf *= self._supply.emf_factor

    @property
    def flasher(self) -> FlasherContact | None:
        """The flasher unit; of several the first."""
        return self._flashers[0] if self._flashers else None

    @property
    def electronic(self) -> bool:
        """Whether the flasher is an electronic one."""
        return self.flasher is not None and self.flasher.working == "electronic"

    def setup(self, state: VehicleState, done: Change = NO_CHANGE) -> Setup:
        """The set-up on this vehicle's own battery voltage."""
        return Setup(state, "lit", done | self._supply)

    def table(self, changes: Sequence[Change], done: Change = NO_CHANGE) -> ChangeTable:
        return tabulate(self.circuit, [c.with_new(done.renewed) for c in changes], done.swapped)

    def settled(self, setup: Setup, table: ChangeTable) -> Settled:
        return self.settler.solve(setup, table)

    def panel(self, setup: Setup, table: ChangeTable) -> Panel:
        """The lamps in both phases of the flasher."""
        return self.panels([(setup, table)])[0]

    def panels(self, asked: Asked) -> list[Panel]:
        """The same in several set-ups, which are solved together."""
        return each_once(asked, self._each_panel, self.settler.twins, self.lamp_of)

    def _each_panel(self, asked: Asked) -> list[Panel]:
        counts = len(self.lamps), len(self.fuses), len(self.relays), len(self.loads)
        out = [Panel.empty(len(t), *counts) for _, t in asked]
        waiting: list[_Part] = []
        flashing = []
        for k, (setup, table) in enumerate(asked):
            at_once = _rows_at_once(table)
            for first in range(0, len(table), at_once):
                some = slice(first, first + at_once)
                its = table.rows(some) if len(table) > at_once else table
                if sum(len(x.table) for x in waiting) + len(its) > at_once:
                    flashing += self._fill(waiting)
                    waiting = []
                waiting.append(_Part(k, first, out[k].rows(some), setup, its))
        for k, rows, dark in flashing + self._fill(waiting):
            out[k] = out[k].flashing(rows, dark)
        return out

    def looks(self, asked: Asked) -> list[Panel]:
        """As `panels`, but rows through whose changes nothing flows are not solved: there all looks as on the
        healthy vehicle."""
        return each_once(asked, self._each_look, self.settler.twins, self.lamp_of)

    def _each_look(self, asked: Asked) -> list[Panel]:
        rows, sound = [np.flatnonzero(d) for d in self.disturbed(asked)], self.table([NO_CHANGE])
        new = [s for s in dict.fromkeys(setup for setup, _ in asked) if s not in self._healthy]
        # Many are put where they belong part by part.
        many = [len(some) > _rows_at_once(table) for some, (_, table) in zip(rows, asked, strict=True)]
        few = [some[:0] if m else some for some, m in zip(rows, many, strict=True)]
        found = self._each_panel([
            *((s, table.rows(some)) for (s, table), some in zip(asked, few, strict=True)), *((s, sound) for s in new)
        ])
        self._healthy |= zip(new, found[len(asked):], strict=True)
        out = []
        for (setup, table), some, m, panel in zip(asked, rows, many, found[:len(asked)], strict=True):
            if m or len(some) < len(table):
                whole = self._healthy[setup].rows(np.zeros(len(table), dtype=np.intp))
                at_once = _rows_at_once(table)
                for first in range(0, len(some) if m else 0, at_once):
                    part = some[first:first + at_once]
                    whole = whole.with_rows(part, self.panel(setup, table.rows(part)))
                panel = whole if m else whole.with_rows(some, panel)
            out.append(panel)
        return out

    def disturbed(self, asked: Asked) -> list[Bools]:
        """For each set-up the rows (H,) whose lamps may look otherwise than those of the healthy vehicle."""
        sound, setups = self.table([NO_CHANGE]), list(dict.fromkeys(setup for setup, _ in asked))
        self.settler.know(setups)
        # Where something flashes, the flasher's open contact may lay bare what nothing flows through while it is
        # closed: a contact that sticks, a path across it.
        dark = {s: s.dark_phase() for s in setups if self._flashes(s, sound)}
        self.settler.know(dark.values())
        self.settler.know_resting([*setups, *dark.values()])
        out = []
        for setup, table in asked:
            rows = self.settler.disturbed(setup, table)
            out.append(rows | self.settler.disturbed(dark[setup], table) if setup in dark else rows)
        return out

    def _fill(self, parts: Sequence[_Part]) -> list[tuple[int, Ints, Floats]]:
        """Put the rows of tables into panels, as they are in the lit phase. Which panels' rows flash, and the light
        (rows, lamps) in their dark phase."""
        solved = self.settler.solve_several([(x.setup, x.table) for x in parts])
        flashing = []
        for part, lit in zip(parts, solved, strict=True):
            out, table = part.panel, part.table
            self._light(out.flux, lit, table, part.setup)
            out.usable[:] = lit.usable
            coils = self._relay_coils
            out.blown[:], out.blow_s[:], out.lead_blown[:] = lit.blown, lit.blow_s, lit.lead_blown
            out.pulled_in[:], out.restless[:] = lit.pulled_in[:, coils], lit.restless[:, coils]
            out.buzzing[:] = lit.buzzing
            for k, load in enumerate(self._working):
                out.power[:, k] = self._power(load, lit, table)
            if not self._flashers:
                continue
            currents = np.array([self._flasher_current(f, lit, table) for f in self._flashers])
            busiest, current = currents.argmax(axis=0), currents.max(axis=0)
            busy = np.flatnonzero(current > FLASHER_IDLE_A)
            for k, unit in enumerate(self._flashers):
                rows = busy[busiest[busy] == k]
                out.load[rows] = current[rows] / (unit.load_a * table.flasher_load[rows])
                out.per_min[rows] = flashes_per_min(unit, out.load[rows])
            if len(busy):
                flashing.append((part, busy, *self._dark(part.setup, table.rows(busy))))
        solved = self.settler.solve_several([(setup, its) for *_, setup, its in flashing])
        found = []
        for (part, busy, setup, its), dark in zip(flashing, solved, strict=True):
            light = np.empty((len(busy), len(self.lamps)))
            self._light(light, dark, its, setup)
            part.panel.usable[busy] &= dark.usable
            found.append((part.number, part.first + busy, light))
        return found

    def _dark(self, setup: Setup, table: ChangeTable) -> tuple[Setup, ChangeTable]:
        """The dark phase. Few rows are not worth a network of their own: in them the contact is opened."""
        if len(table) >= _MANY_ROWS:
            return setup.dark_phase(), table
        for flasher in self._flashers:
            i = self.circuit.branch_index[flasher.name]
            stuck = ((table.branch == i) & (table.target_s >= 0.999 * self.circuit.closed_s[i])).any(axis=1)
            table = set_branch(table, np.where(stuck, -1, i), np.zeros(len(table)))
        return setup, table

    def _light(self, light: Floats, settled: Settled, table: ChangeTable, setup: Setup) -> None:
        """Fill in log10 flux (H, lamps). A filament of other watts than the holder was made for shines by its
        power."""
        # With the engine running every lamp is brighter, and people call that normal.
        source = next(iter(self.circuit.sources), None)
        normal = source.emf(setup.state.engine_running) / source.volts if source else 1.0
        at_once = max(_LIGHTS_AT_ONCE // max(len(self.lamps), 1), 1)
        for first in range(0, len(table), at_once):
            some = slice(first, first + at_once)
            v = settled.solution.port_v[some].take(self.circuit.lamp_ports, axis=1)
            light[some] = self._lights.log_light(v, normal)
        for buzzing, (port_v, _) in settled.between.items():
            # The contact is closed about half of the time, too briefly for the eye to see it come and go.
            other = self._lights.log_light(port_v[None, self.circuit.lamp_ports], normal)[0]
            light[buzzing] = np.logaddexp(light[buzzing] * _LN_10, other * _LN_10) / _LN_10 - np.log10(2)
        odd = table.odd
        its = np.flatnonzero(self.lamp_of[odd.port] >= 0)
        row, lamp, factor = odd.row[its], self.lamp_of[odd.port[its]], odd.factor[its]
        brighter = np.log10(np.where(factor > 0, factor, 1.0)) + odd.light[its]
        light[row, lamp] = np.where(factor > 0, np.maximum(light[row, lamp] + brighter, NO_LIGHT), NO_LIGHT)
        done = setup.done
        for name in (*done.dead, *(n for n, factor in done.scaled if factor == 0)):
            if (place := int(self.lamp_of[self.circuit.port_index[name]])) >= 0:
                light[:, place] = NO_LIGHT

    def filament_v(self, setup: Setup, table: ChangeTable) -> Floats:
        """(H, lamps) voltage of every filament while the flasher's contact is closed, 0 for a broken one."""
        found, port = self.settled(setup, table).solution, self.circuit.lamp_ports
        return np.where(found.port_i[:, port] != 0, found.port_v[:, port], 0.0)

    def _flashes(self, setup: Setup, sound: ChangeTable) -> bool:
        """Whether a flasher unit has anything to flash on the vehicle without a fault."""
        lit = self.settler.healthy(setup)
        return any(self._flasher_current(f, lit, sound)[0] > FLASHER_IDLE_A for f in self._flashers)

    def _flasher_current(self, flasher: FlasherContact, settled: Settled, table: ChangeTable) -> Floats:
        i = self.circuit.branch_index[flasher.name]
        g = np.full(len(table), self.circuit.closed_s[i])
        changed, branch, target_s = table.set_branches
        its = branch == i
        g[changed[its]] = target_s[its]
        across = np.abs(settled.solution.watched_v[:, self.circuit.watch_index[flasher.name]])
        for row, (_, watched_v) in settled.between.items():  # while the contact is closed
            across[row] = max(across[row], abs(watched_v[self.circuit.watch_index[flasher.name]]))
        return np.asarray(across * g)

    def _power(self, load: Resistor | Diode, settled: Settled, table: ChangeTable) -> Floats:
        """(H,) the power of a load as a share of what it takes at the battery's voltage."""
        if isinstance(load, Diode):  # a buzzer, which is silent the wrong way round
            port, found = self.circuit.port_index[load.name], settled.solution
            taken = np.maximum(found.port_v[:, port], 0.0) * np.maximum(found.port_i[:, port], 0.0)
            return np.asarray(taken * load.ohm / (self.emf * (self.emf - load.threshold_v)))
        i = self.circuit.branch_index[load.name]
        volts = settled.solution.watched_v[:, self.circuit.watch_index[load.name]]
        g = np.full(len(table), self.circuit.closed_s[i])
        row, branch, target_s = table.set_branches
        its = branch == i
        g[row[its]] = target_s[its]
        return np.asarray(volts**2 * g / (self.emf**2 * self.circuit.closed_s[i]))

    def healthy(self, state: VehicleState) -> Panel:
        """The healthy vehicle's lamps in a state (one row)."""
        setup = self.setup(state)
        if setup not in self._healthy:
            self._healthy[setup] = self.panel(setup, self.table([NO_CHANGE]))
        return self._healthy[setup]

    def know(self, states: Iterable[VehicleState]) -> None:
        """Find what `healthy` will be asked for in several states, which takes far less time than one by one."""
        new = [s for s in dict.fromkeys(map(self.setup, states)) if s not in self._healthy]
        sound = self.table([NO_CHANGE])
        self._healthy |= zip(new, self.panels([(s, sound) for s in new]), strict=True)

    def remember(self, states: Sequence[VehicleState], kept: Kept) -> None:
        """The healthy vehicle in states of which every job asks, in both phases where something flashes."""
        setups = [self.setup(state) for state in states]
        remember(self.settler, setups, kept, "healthy", self.supply_v)
        sound = self.table([NO_CHANGE])
        dark = [s.dark_phase() for s in setups if self._flashes(s, sound)]
        remember(self.settler, dark, kept, "healthy, dark phase", self.supply_v)

    def observed(self, test: Test, changes: Sequence[Change]) -> Floats:
        """What the test's instrument shows, (H,): V, Ω (leads included, inf for open), A (its size: which way a
        clamp is held says nothing), or log10 of the light of a test lamp or LED tester.

        Not for looks: those are panels.
        """
        return self.observed_several([test], changes)[0]

    def observed_several(self, tests: Sequence[Test], changes: Sequence[Change]) -> list[Floats]:
        """The same for several tests, which are solved together."""
        asked = asked_of(tests, changes, self.circuit, self.setup, self.table)
        return [shown for shown, _ in read(self.settler, asked)]


def _rows_at_once(table: ChangeTable) -> int:
    """How many rows of a table are solved together at most."""
    each = int(table.branch.shape[1]) + len(table.circuit.ports)
    return min(_ROWS_AT_ONCE, _ENTRIES_AT_ONCE // (each + 1))
