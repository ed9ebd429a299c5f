"""Speed of the engine on a generated whole vehicle, against others in one run, with the targets beside.

    python tests/bench/bench_engine.py [--sparse 40] [--spice 12] [--share 1]

Ours: every variant of every single fault in 12 vehicle states, fuses, relays and both phases of the flasher
included. Theirs, on a random sample and extrapolated: one plain Newton a hypothesis and state with scipy's
sparse LU, fuses blown and relays standing as we found them; and one run of ngspice each.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np  # noqa: E402
import numpy.typing as npt  # noqa: E402
from scipy.sparse import csc_matrix  # noqa: E402
from scipy.sparse.linalg import splu  # noqa: E402

from tests.bench.generated import STATES, harness_text  # noqa: E402
from tests.ngspice import node_volts, run_ngspice  # noqa: E402
from tracer.circuit.change_table import tabulate  # noqa: E402
from tracer.circuit.device_laws import PortLaws  # noqa: E402
from tracer.circuit.model import OPEN_OHM, Change, Setup  # noqa: E402
from tracer.circuit.network import LEAK_S  # noqa: E402
from tracer.circuit.spice import netlist  # noqa: E402
from tracer.faults import list_faults  # noqa: E402
from tracer.harness.file.text import read_harness  # noqa: E402
from tracer.observation.forward_model import Predictor  # noqa: E402

Floats = npt.NDArray[np.float64]


class Vehicle:
    """The generated vehicle with all its hypotheses."""

    def __init__(self, halves: int, share: float = 1.0) -> None:
        self.harness = read_harness(harness_text(halves))
        self.predictor = Predictor(self.harness)
        faults = list_faults(self.harness)
        changes = [v.change for f in faults for v in f.variants]
        step = max(int(1 / share), 1)
        self.changes = changes[::step]
        self.says = (
            f"{len(self.predictor.circuit.nodes)} nodes, {sum(len(w.segments) for w in self.harness.wires)} lengths "
            f"of wire, {len(self.harness.lamps())} lamps, {len(faults)} faults, {len(self.changes)} hypotheses"
        )

    def setups(self) -> list[Setup]:
        return [self.predictor.setup(self.harness.state(s)) for s in STATES]

    def seconds(self) -> float:
        """CPU seconds of all predictions, nothing kept from before."""
        fresh = Predictor(self.harness)
        begun = time.process_time()
        table = fresh.table(self.changes)
        for setup in self.setups():
            fresh.panel(setup, table)
        return time.process_time() - begun


class SparseNewton:
    """A decent plain way: nodal equations, sparse LU, the same steps as the engine's own full Newton."""

    def __init__(self, vehicle: Vehicle) -> None:
        self.circuit = vehicle.predictor.circuit
        self.laws = PortLaws(self.circuit.ports)

    def solve(self, setup: Setup, change: Change, pulled_in: frozenset[str]) -> Floats:
        """Node voltages."""
        circuit = self.circuit
        n = len(circuit.nodes)
        table = tabulate(circuit, [change])
        g = circuit.conductances(setup, pulled_in)
        delta = table.deltas(g, np.zeros(len(g), dtype=bool), setup.done.gone, setup.state)[0]
        on = table.port_factor[0]
        (ea, eb), (pa, pb) = circuit.branch_ends, circuit.port_ends
        a = np.concatenate([ea, table.a[0], pa])
        b = np.concatenate([eb, table.b[0], pb])
        injected = np.zeros(n)
        running = setup.state.engine_running
        for s in circuit.sources:
            plus, minus = circuit.node(s.plus), circuit.node(s.minus)
            emf = s.emf(running) * setup.done.emf_in(running) * change.emf_in(running)
            injected[plus] += emf / s.ohm
            injected[minus] -= emf / s.ohm
            a, b = np.append(plus, a), np.append(minus, b)
        sources = np.array([1 / s.ohm for s in circuit.sources])
        linear = np.concatenate([sources, g, delta])
        every = np.arange(n)
        rows, columns = np.concatenate([a, b, a, b, every]), np.concatenate([a, b, b, a, every])
        leak = np.full(n, LEAK_S)
        leak[0] += 1e9
        volts = np.zeros(n)
        for step in range(200):
            v = volts[pa] - volts[pb]
            i, slope = self.laws.current_and_slope(v)
            tangent = self.laws.secant(v, i, slope) if step % 12 < 4 else slope
            cond = np.concatenate([linear, tangent * on])
            matrix = csc_matrix((np.concatenate([cond, cond, -cond, -cond, leak]), (rows, columns)), shape=(n, n))
            into = injected.copy()
            rest = (i - tangent * v) * on
            np.add.at(into, pa, -rest)
            np.add.at(into, pb, rest)
            moved = np.clip(splu(matrix).solve(into) - volts, -5.0, 5.0)
            volts = volts + moved
            if step % 12 >= 4 and np.abs(moved).max() < 1e-6:
                return np.asarray(volts)
        raise AssertionError("the sparse solver did not converge")


def sample(vehicle: Vehicle, count: int, seed: int) -> list[tuple[Setup, Change, frozenset[str], Floats]]:
    """Set-ups, changes with the fuses they blow, relays that hold, and our node voltages."""
    rng = random.Random(seed)
    chosen = [(rng.choice(vehicle.setups()), rng.choice(vehicle.changes)) for _ in range(count)]
    out = []
    settler = vehicle.predictor.settler
    for setup in dict.fromkeys(s for s, _ in chosen):
        changes = [c for s, c in chosen if s == setup]
        filler = vehicle.changes[:40]  # so that they are solved as one solves many
        settled = settler.solve(setup, vehicle.predictor.table([*changes, *filler]))
        for row, change in enumerate(changes):
            links = [f for f, blown in zip(settler.fuses, settled.blown[row], strict=True) if blown]
            coils = frozenset(c for c, p in zip(settler.coils, settled.pulled_in[row], strict=True) if p)
            whole = change | Change(set_ohm=tuple((f.name, OPEN_OHM) for f in links))
            out.append((setup, whole, coils, settled.solution.volts[row]))
    return out


def line(what: str, figure: str, target: str, good: bool) -> None:
    print(f"{what:<58} {figure:>18}   target {target:<10} {'met' if good else 'NOT MET'}", flush=True)


def run(*args: str) -> tuple[float, float]:
    """Seconds and MB of a command."""
    begun = time.perf_counter()
    child = subprocess.Popen(args, cwd=ROOT, stdout=subprocess.DEVNULL)
    _, _, usage = os.wait4(child.pid, 0)
    return time.perf_counter() - begun, usage.ru_maxrss / 1024


def all_predictions(share: float) -> None:
    """What the subprocess does whose memory is measured."""
    Vehicle(1, share).seconds()
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def main(argv: Sequence[str] | None = None) -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sparse", type=int, default=40, help="sample for sparse LU")
    parser.add_argument("--spice", type=int, default=12, help="sample for ngspice")
    parser.add_argument("--share", type=float, default=1.0, help="share of the hypotheses, to be quicker")
    parser.add_argument("--turns", type=int, default=3, help="how often the doubled vehicle is solved")
    parser.add_argument("--only", choices=["predictions"], help=argparse.SUPPRESS)
    args = parser.parse_args(argv)
    if args.only:
        all_predictions(args.share)
        return
    # First, since a child's peak counts what its parent had.
    _, memory = run(sys.executable, __file__, "--only", "predictions", "--share", str(args.share))
    start = min(run(sys.executable, "-m", "tracer", "--help")[0] for _ in range(5))
    vehicle = Vehicle(1, args.share)
    count = len(vehicle.changes) * len(STATES)
    print(f"generated vehicle: {vehicle.says}, {len(STATES)} vehicle states\n")
    ours = vehicle.seconds()
    print(f"ours: {ours:.1f} s CPU for {count} predictions, {1e6 * ours / count:.0f} µs each\n")

    plain = SparseNewton(vehicle)
    worst, begun, spent = 0.0, 0.0, 0.0
    cases = sample(vehicle, args.sparse, 1)
    for setup, change, coils, volts in cases:
        begun = time.process_time()
        found = plain.solve(setup, change, coils)
        spent += time.process_time() - begun
        worst = max(worst, float(np.abs(found - volts).max()))
    ratio = spent / len(cases) / (ours / count)
    line(f"against sparse LU, {len(cases)} sampled at {1000 * spent / len(cases):.1f} ms, extrapolated",
         f"{ratio:.0f} times", "≥ 100", ratio >= 100)
    line("largest difference from it in any node's voltage", f"{1000 * worst:.4f} mV", "≤ 1 mV", worst <= 1e-3)

    cases = sample(vehicle, args.spice, 2)
    spent, worst = 0.0, 0.0
    circuit = vehicle.predictor.circuit
    with tempfile.TemporaryDirectory() as folder:
        for setup, change, coils, volts in cases:
            text = netlist(circuit, setup, change, coils)
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            read = run_ngspice([text], Path(folder))[0]
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            spent += after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
            worst = max(worst, float(np.abs(node_volts(circuit, read) - volts).max()))
    ratio = spent / len(cases) / (ours / count)
    line(f"against ngspice, {len(cases)} sampled at {1000 * spent / len(cases):.0f} ms CPU, extrapolated",
         f"{ratio:.0f} times", "≥ 1000", ratio >= 1000)
    line("largest difference from it in any node's voltage", f"{1000 * worst:.4f} mV", "≤ 1 mV", worst <= 1e-3)

    quarter, half = (Vehicle(1, args.share * x) for x in (0.25, 0.5))
    each = [1e6 * t / len(v.changes) / len(STATES) for v, t in
            ((quarter, quarter.seconds()), (half, half.seconds()), (vehicle, ours))]
    line("µs a prediction with ¼, ½ and all hypotheses", " ".join(f"{x:.0f}" for x in each), "not rising",
         each[2] <= 1.1 * each[0])
    double = Vehicle(2, args.share)
    # A machine's pace changes by several per cent from one minute to the next: in turn, and the least of each counts.
    turns = [(vehicle.seconds(), double.seconds()) for _ in range(args.turns)]
    twice = min(d for _, d in turns) / min(s for s, _ in turns)
    print(", ".join(f"{s:.2f} and {d:.2f} s" for s, d in turns))
    line(f"doubled vehicle ({len(double.changes)} hypotheses)", f"{twice:.2f} times", "≤ 2.5", twice <= 2.5)
    line("peak memory of the process that predicts", f"{memory:.0f} MB", "< 500 MB", memory < 500)
    line("import and tracer --help, best of 5", f"{start:.2f} s", "< 0.3 s", start < 0.3)


if __name__ == "__main__":
    main()
