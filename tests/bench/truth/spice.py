"""The same operating points by ngspice: many in one process, lamps and diodes as tables of their current."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.bench.truth.solve import Arrays

PROGRAM = shutil.which("ngspice")
_GRID = np.concatenate([np.linspace(0, 0.06, 25), np.linspace(0.08, 1.0, 116), np.linspace(1.03, 1.6, 20)])


def netlist_text(arrays: Arrays, number: int) -> str:
    """One circuit as ngspice reads it."""
    w = arrays.wired
    lines = [f"* circuit {number}"]
    for k in np.flatnonzero(arrays.live[:w.linear]).tolist():
        a, b = w.every[k]
        if a != b:
            lines.append(f"R{k} n{a} n{b} {arrays.ohm[k]:.9g}")
    for k, ((_, lamp, _), (a, b)) in enumerate(zip(w.laws, w.law_ends, strict=True)):
        one = w.law.of(np.array([k]))
        most = float(1.7 * (max(lamp.v0, 8.0)))
        x = most * np.concatenate([-_GRID[:0:-1], _GRID])
        if lamp.led:
            knee = float(one.threshold[0])
            x = np.unique(np.concatenate([x, np.linspace(max(knee - 2.0, 0.01), knee + 2.0, 160)]))
        else:
            x = np.unique(np.concatenate([x, lamp.v0 * np.geomspace(0.0005, 0.2, 60),
                                          -lamp.v0 * np.geomspace(0.0005, 0.2, 60)]))
        y = np.array([float(one.at(np.array([v]))[0][0]) for v in x])
        table = ",".join(f"{p:.7g},{q:.9g}" for p, q in zip(x, y, strict=True))
        lines.append(f"B{k} n{a} n{b} I=pwl(v(n{a},n{b}),{table})")
    for k, (a, b, emf, ohm) in enumerate(arrays.sources):
        lines += [f"V{k} s{k} n{b} {emf:.9g}", f"RS{k} s{k} n{a} {ohm:.9g}"]
    lines += [f"RL{n} n{n} 0 1e10" for n in range(1, len(w.nodes))]
    return "\n".join(line.replace("n0 ", "0 ").replace("(n0,", "(0,").replace(",n0)", ",0)") for line in lines)


def by_ngspice(circuits: Sequence[Arrays]) -> list[dict[str, float] | None]:
    """Node voltages of each circuit; None where ngspice found none."""
    assert PROGRAM is not None
    with tempfile.TemporaryDirectory() as folder:
        script = ["* all", ".control", "set filetype=ascii"]
        for i, arrays in enumerate(circuits):
            text = netlist_text(arrays, i) + "\n.options reltol=1e-6 abstol=1e-12 itl1=2000 gmin=1e-13\n.end\n"
            (Path(folder) / f"{i}.cir").write_text(text, encoding="utf-8")
            script += [f"source {i}.cir", "op", f"write {i}.raw", "destroy all", "remcirc"]
        (Path(folder) / "run.cir").write_text("\n".join([*script, "quit", ".endc", ".end", ""]), encoding="utf-8")
        subprocess.run([PROGRAM, "-b", "run.cir"], cwd=folder, capture_output=True, timeout=600, check=False)
        return [_read(Path(folder) / f"{i}.raw", a) for i, a in enumerate(circuits)]


def _read(raw: Path, arrays: Arrays) -> dict[str, float] | None:
    if not raw.exists():
        return None
    head, _, values = raw.read_text(encoding="utf-8", errors="replace").partition("Values:\n")
    names = [line.split()[1] for line in head.partition("Variables:\n")[2].splitlines() if line.strip()]
    numbers = [float(line.split()[-1]) for line in values.splitlines() if line.strip()]
    found = {n.removeprefix("v(").removesuffix(")"): v for n, v in zip(names, numbers, strict=True)}
    nodes = arrays.wired.nodes
    return {name: found.get(f"n{i}", 0.0) if i else 0.0 for name, i in nodes.items()} if found else None
