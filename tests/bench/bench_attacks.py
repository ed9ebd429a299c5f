"""Hostile and unlucky use, class by class: files written over, damaged jobs, escapes, forged results, kills.

Prints a table: tries, how many were refused with a message (status 2, or 1 where only the bare record is given), how
many went through, and the harm done: crashes, files lost, control characters printed, answers changed, acknowledged
entries lost. Each harm is printed with the seed that makes it again. Ends with status 1 if there was any.

    .venv-tests/bin/python tests/bench/bench_attacks.py --tries 3000
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import re
import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.job.test_job_file import HEADER, kill_while_appending
from tests.library import MODELS
from tracer.cache import FOLDER_VARIABLE, own_folder
from tracer.commands import main
from tracer.job import file as job_file
from tracer.job.job import Job

CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
REAR = (MODELS / "rear_end.yaml").read_text(encoding="utf-8")
WALL_S = 170.0


@dataclass
class Class:
    """What came of one class of attacks."""

    name: str
    tries: int = 0
    refused: int = 0
    through: int = 0
    harm: list[str] = field(default_factory=list)


def run(*args: str) -> tuple[int, str]:
    """A command in this process: its status, or 99 for a crash, and all that it printed."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        try:
            main(list(args))
        except SystemExit as left:
            return (left.code if isinstance(left.code, int) else 1), out.getvalue()
        except BaseException:
            return 99, out.getvalue() + traceback.format_exc()
    return 0, out.getvalue()


def noted(one: Class, code: int, printed: str, what: str) -> None:
    """Count a try; a crash and a control character are harm in every class."""
    one.tries += 1
    one.refused += code in (1, 2)
    one.through += code == 0
    if code not in (0, 1, 2):
        one.harm.append(f"{what}: crash\n{printed[-1500:]}")
    elif CONTROL.search(printed):
        one.harm.append(f"{what}: printed {CONTROL.search(printed)!r}")


def sound_job(folder: Path) -> bytes:
    """A job with an entry of every kind; the folder holds its harness too."""
    (folder / "van.yaml").write_text(REAR, encoding="utf-8")
    job = Job.create(folder / "job.yaml", folder / "van.yaml", "Van", "no tail lamp")
    job.symptom("left tail dark, everything else normal when lamp switch side")
    job.next()
    job.reading("ohms left rear.earth to E1", "0.2 Ω")
    job.reading("look left rear tail when lamp switch side", "dim")
    job.note("damp boot")
    job.repaired("1", ["ring terminal"], 12, {1: "ok"})
    return (folder / "job.yaml").read_bytes()


def outputs(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """-o with the names of whatever must not be lost."""
    one = Class("outputs over inputs, jobs, harnesses")
    commands = ["wires van.yaml -o", "chart van.yaml -o", "simulate van.yaml --netlist", "report job.yaml -o",
                "draw job.yaml -o", "wires van.yaml --from van.csv -o", "draw van.yaml --all -o"]
    run("wires", "van.yaml", "-o", "van.csv")
    held = {"van.yaml": REAR.encode(), "job.yaml": content, "other.svg": REAR.encode(), "other.md": content,
            "other.html": REAR.encode(), "other.csv": content, "other.cir": REAR.encode()}
    os.makedirs("folder.svg", exist_ok=True)
    for name in ("hard.svg", "soft.md"):
        with contextlib.suppress(FileExistsError):
            (os.link if name.startswith("hard") else os.symlink)("van.yaml", name)
    while True:
        for name, data in held.items():
            if Path(name).read_bytes() != data if Path(name).exists() else True:
                Path(name).write_bytes(data)
        command, target = r.choice(commands), r.choice([*held, "hard.svg", "soft.md", "folder.svg", "no/such/x.svg"])
        code, printed = run(*command.split(), target)
        lost = [n for n, data in held.items() if Path(n).read_bytes() != data]
        if lost and not (target == "van.yaml" and "--from" in command and code == 0):
            one.harm.append(f"{command} {target}: {lost} lost")
        yield one, code, printed, f"{command} {target}"


def damaged(r: random.Random, content: bytes) -> bytes:
    """A job file cut, or with lines taken out, doubled, moved, or letters and numbers changed."""
    lines = content.split(b"\n")
    match r.randrange(6):
        case 0:
            return content[:r.randrange(len(content))]
        case 1:
            del lines[r.randrange(len(lines))]
        case 2:
            lines.insert(r.randrange(len(lines)), r.choice(lines))
        case 3:
            k = r.randrange(len(lines))
            odd = [b"-1", b".nan", b"[]", b"{}", b"''", b"9" * 400, b"null"]
            lines[k] = re.sub(rb"(?<=: ).*", r.choice(odd), lines[k])
        case 4:
            k = r.randrange(len(lines))
            lines[k] = re.sub(rb"\w+(?=:)", r.choice([b"kind", b"test", b"seen", b"low", b"xyz", b"check"]), lines[k])
        case _:
            out = bytearray(content)
            for _ in range(r.randrange(1, 5)):
                out[r.randrange(len(out))] = r.randrange(256)
            return bytes(out)
    return b"\n".join(lines)


def jobs(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """Damaged jobs through the commands; those that only read leave the file as it is."""
    one = Class("jobs cut and damaged")
    while True:
        bad = damaged(r, content)
        Path("bad.yaml").write_bytes(bad)
        command = r.choice(["suspects", "next --json", "report", "undo", "repaired", "differs", "draw"])
        more = ["-o", "bad.svg"] if command == "draw" else []
        code, printed = run(command.split()[0], "bad.yaml", *command.split()[1:], *more)
        if code == 2 and Path("bad.yaml").read_bytes() != bad:
            one.harm.append(f"{command}: refused, yet written")
        yield one, code, printed, command


def misspelt(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """One key or kind of a sound job misspelt: it must be named, never passed over."""
    one = Class("one word of a job misspelt")
    text = content.decode()
    events = text.index("events:")
    keys = [(m.start(1), m[1]) for m in re.finditer(r"(?:^[ -]*(?=[a-z ]+:(?: |$))|kind: )([a-z][a-z ]+)", text, re.M)
            if m.start() > events and not _named_by_user(text, m.start(1))]
    while True:
        at, word = r.choice(keys)
        k = r.randrange(1, len(word))
        wrong = word[:k] + r.choice("qxz") + word[k:]
        Path("bad.yaml").write_text(text[:at] + wrong + text[at + len(word):], encoding="utf-8")
        code, printed = run("suspects", "bad.yaml")
        if code == 0 or (code == 2 and wrong not in printed and "missing" not in printed):
            one.harm.append(f"“{word}” as “{wrong}” at {at}: passed over\n{printed[:300]}")
        yield one, code, printed, wrong


def _named_by_user(text: str, at: int) -> bool:
    """Whether this is a control's name (below `state:`): the harness has those, not the format."""
    before = text[:at].splitlines()
    indent = len(before[-1])
    above = next((line for line in reversed(before[:-1]) if len(line) - len(line.lstrip()) < indent), "")
    return above.strip() == "state:"


def escapes(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """Control characters in every text that comes from outside."""
    one = Class("escapes in texts and arguments")
    signs = ["\x1b]52;c;aGk=\x07", "\x1b[2J", "\x9b31m", "\x1b]8;;http://x\x1b\\", "\u202e", "\x08", "\x00"[:0], "\r"]
    while True:
        bad = "".join(r.choice(signs) for _ in range(r.randrange(1, 4)))
        for name in ("evil.yaml", ".evil.yaml.lock"):
            Path(name).unlink(missing_ok=True)
        job = Job.create("evil.yaml", "van.yaml", f"Van{bad}", f"dark {bad}")
        job.note(f"note {bad}")
        words = r.choice([["suspects", "evil.yaml"], ["report", "evil.yaml"], ["report", "evil.yaml", "--json"],
                          ["undo", "evil.yaml"], ["undo", "evil.yaml", "--json"], ["symptom", "evil.yaml", bad],
                          ["reading", "evil.yaml", bad, bad], ["check", f"x{bad}"], [f"x{bad}"],
                          ["next", "evil.yaml", "--at", bad], ["guide", "evil.yaml", "--json"],
                          ["new", f"n/{bad}"], ["draw", "evil.yaml", "-o", f"x{bad}"]])
        code, printed = run(*words)
        yield one, code, printed, repr(words)


def kept(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """Kept results damaged, forged, exchanged or replaced by links: the answer stays."""
    one = Class("kept results damaged and forged")
    before = os.environ.get(FOLDER_VARIABLE, "")
    victim = folder / "victim"
    victim.write_bytes(b"precious")
    try:
        os.environ[FOLDER_VARIABLE] = str(folder / "kept")
        right = run("suspects", "job.yaml")
        own = own_folder(folder / "kept")
        while True:
            files = sorted(p for p in own.iterdir())
            file, other = r.choice(files), r.choice(files)
            data = file.read_bytes() if file.is_file() else b""
            match r.randrange(5):
                case 0:
                    file.write_bytes(data[:r.randrange(len(data) + 1)])
                case 1 if data:
                    bad = bytearray(data)
                    bad[r.randrange(len(bad))] ^= 1 << r.randrange(8)
                    file.write_bytes(bad)
                case 2:
                    file.write_bytes(other.read_bytes() if other.is_file() else b"")
                case 3:
                    file.unlink()
                    file.symlink_to(victim)
                case _:
                    own.chmod(0o777)
            os.environ[FOLDER_VARIABLE] = str(folder / "kept")
            code, printed = run("suspects", "job.yaml")
            if (code, printed) != right:
                one.harm.append(f"another answer from {file.name}")
            if victim.read_bytes() != b"precious":
                one.harm.append("a link was followed")
                victim.write_bytes(b"precious")
            os.environ[FOLDER_VARIABLE] = before
            yield one, code, printed, file.name
    finally:
        os.environ[FOLDER_VARIABLE] = before


def numbers(r: random.Random, folder: Path, content: bytes) -> Iterator[tuple[Class, int, str, str]]:
    """Ranks, proof results, minutes and links of files as nobody should type them: refused, and nothing written."""
    one = Class("odd ranks, proofs and minutes")
    odd = ["²", "９９", "9" * 5000, "-1", "0", "1e3", "nan", "inf", "", " ", "0x10", "1_0", "１"]
    while True:
        Path("bad.yaml").write_bytes(content)
        value = r.choice(odd)
        words = r.choice([["repaired", "bad.yaml", "--proof", f"{value}=ok"],
                          ["repaired", "bad.yaml", "earth E1 cleaned", "--proof", f"{value}=ok"],
                          ["repaired", "bad.yaml", "earth E1 cleaned", "--proof", f"1={r.choice(['x', '', '²'])}"],
                          ["repaired", "bad.yaml", "earth E1 cleaned", f"--minutes={value}"],
                          ["suspects", "bad.yaml", f"--why={value}"]])
        code, printed = run(*words)
        if code == 2 and Path("bad.yaml").read_bytes() != content:
            one.harm.append(f"{[w[:40] for w in words]}: refused, yet written")
        yield one, code, printed, repr([w[:40] for w in words])


def kills(count: int, seed: int, folder: Path) -> Class:
    """A program that appends without end, killed at random moments."""
    one = Class("kills while writing", tries=count)
    path = folder / "killed.yaml"
    job_file.create(path, HEADER)
    try:
        seen = kill_while_appending(path, count, seed)
        one.through = seen["kills"]
    except AssertionError as error:
        one.harm.append(f"an acknowledged entry was lost: {error}")
    return one


CLASSES: tuple[tuple[Callable[..., Iterator[tuple[Class, int, str, str]]], float], ...] = (
    (outputs, 0.1), (jobs, 0.4), (misspelt, 0.15), (escapes, 0.2), (kept, 0.05), (numbers, 0.1),
)


def bench(tries: int, seed: int) -> int:
    started, rows = time.monotonic(), []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.chdir(folder)
        os.environ[FOLDER_VARIABLE] = str(folder / "common")
        content = sound_job(folder)
        for attack, share in CLASSES:
            own, limit = random.Random(f"{seed}:{attack.__name__}"), time.monotonic() + WALL_S * 0.9 * share
            one = Class(attack.__name__)
            with contextlib.closing(attack(own, folder, content)) as made:  # type: ignore[type-var]
                for _ in range(max(1, round(tries * share))):
                    one, code, printed, what = next(made)
                    noted(one, code, printed, f"seed {seed}, try {one.tries}, {what}")
                    if time.monotonic() > limit:
                        break
            rows.append(one)
            for leftover in ("bad.svg", "evil.yaml"):
                Path(leftover).unlink(missing_ok=True)
        rows.append(kills(min(20, max(3, tries // 100)), seed, folder))
        os.chdir("/")
        shutil.rmtree(folder / "common", ignore_errors=True)
    print(f"{'attack':<40}{'tries':>7}{'refused':>9}{'through':>9}{'harm':>6}")
    for row in rows:
        print(f"{row.name:<40}{row.tries:>7}{row.refused:>9}{row.through:>9}{len(row.harm):>6}")
    print(f"{sum(r.tries for r in rows)} tries in {time.monotonic() - started:.0f} s")
    for row in rows:
        for harm in row.harm[:5]:
            print(f"\n{row.name}: {harm}")
    return 1 if any(row.harm for row in rows) else 0


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--tries", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    sys.exit(bench(given.tries, given.seed))
