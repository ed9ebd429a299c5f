"""Whether a change of the code changes what the tool says: shares and proposals of recorded diagnoses, compared.

    python tests/bench/bench_recorded.py record before.json          # with the code as it was
    python tests/bench/bench_recorded.py compare before.json         # with the code as it is

Works by the public interface alone, so that it survives moves. The evidence is drawn by a fixed seed and kept in the
record; it is not meant to be realistic but to reach every model and every kind of fault.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tracer import Job, TracerError, list_faults, load_harness, simulate  # noqa: E402

MODELS = sorted((ROOT / "harness_models").glob("*.yaml"))
SHARES = 5
PLAIN = ("dark", "faint", "dim", "normal", "bright")


def sentences(model: Path, fault: str, dice: random.Random) -> list[str]:
    """What shows of a fault in up to two vehicle states, in the words of the reader."""
    harness = load_harness(model)
    states: list[dict[str, str]] = []
    for name, control in harness.controls.items():
        rest = harness.state({})[name]
        states += [{name: p} for p in control.positions if p != rest and p != "start"]
    dice.shuffle(states)
    said: list[str] = []
    for state in states:
        case = simulate(harness, state, faults=[fault])
        odd = [x for x in case.lamps if x.look != x.healthy and x.look.split(",")[0] in PLAIN]
        if odd:
            told = ", ".join(f"{x.lamp} {x.look.split(',')[0]}" for x in odd[:3])
            said.append(f"{told} when " + ", ".join(f"{c} {p}" for c, p in state.items()))
        if len(said) == 2:
            break
    return said


def drawn(count: int, seed: int) -> list[dict[str, Any]]:
    dice = random.Random(seed)
    out: list[dict[str, Any]] = []
    each = -(-count // len(MODELS))
    for model in MODELS:
        faults = [f.name for f in list_faults(load_harness(model))]
        dice.shuffle(faults)
        done = 0
        for fault in faults:
            if done == each or len(out) == count:
                break
            try:
                said = sentences(model, fault, dice)
            except TracerError:
                continue
            if said:
                out.append({"model": model.name, "fault": fault, "said": said})
                done += 1
    return out


def answer(case: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Leading suspects and the proposal of one case, or the error."""
    path = folder / "job.yaml"
    path.unlink(missing_ok=True)
    job = Job.create(path, ROOT / "harness_models" / case["model"],
                     clock=lambda: datetime(2026, 1, 1, tzinfo=UTC))
    try:
        for text in case["said"]:
            job.symptom(text)
        suspects = [[s.repair, round(s.share, 6)] for s in job.suspects()[:SHARES]]
        step = job.next(record=False)
        what = step.test.says(job.harness) if step.test is not None else step.suspect.repair if step.suspect else ""
        return {"suspects": suspects, "step": what, "minutes": round(step.minutes, 4)}
    except TracerError as error:
        return {"error": str(error)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("what", choices=["record", "compare"])
    parser.add_argument("file", type=Path)
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--seed", type=int, default=14)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if args.what == "record":
            cases = drawn(args.cases, args.seed)
            for case in cases:
                case["answer"] = answer(case, Path(folder))
            args.file.write_text(json.dumps(cases, ensure_ascii=False, indent=1), encoding="utf-8")
            print(f"{len(cases)} diagnoses recorded")
            return
        cases = json.loads(args.file.read_text(encoding="utf-8"))
        same = 0
        for case in cases:
            got = answer(case, Path(folder))
            if got == case["answer"]:
                same += 1
            else:
                print(f"{case['model']}: {case['fault']}; {' / '.join(case['said'])}")
                print(f"  before {json.dumps(case['answer'], ensure_ascii=False)}")
                print(f"  now    {json.dumps(got, ensure_ascii=False)}")
        print(f"the same in {same} of {len(cases)}")


if __name__ == "__main__":
    main()
