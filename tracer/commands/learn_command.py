"""The command that keeps the workshop's memory."""

from __future__ import annotations

from collections import Counter
from typing import Any, Final

import click

from tracer.commands.output import json_option, show, wrapped
from tracer.errors import TracerError

_MOST_SAID: Final = 20


@click.command("learn")
@click.argument("places", nargs=-1, metavar="[FOLDER|JOB]…")
@click.option("--forget", "forgotten", multiple=True, metavar="JOB", help="Take this job out of the memory for good.")
@click.option("--export", "exported", metavar="FILE", help="Write the counts into FILE, for another workshop.")
@click.option("--merge", "merged", multiple=True, metavar="FILE", help="Take over what such a FILE counts.")
@click.option("--when-closed/--not-when-closed", "closing", default=None,
              help="From now on learn every job as soon as it is proven, or no longer.")
@json_option
def learn_command(
    places: tuple[str, ...], forgotten: tuple[str, ...], exported: str | None, merged: tuple[str, ...],
    closing: bool | None, as_json: bool,
) -> int:
    """Learn from closed and proven jobs how often each kind of fault turns up here.

    What is kept: kind of vehicle, its decade, kind of fault, kind of part, place, what the vehicle went through.
    Nothing of customers, plates or prices. Without arguments, what is known.

    \b
    Examples:
      tracer learn jobs/2025 jobs/2026
      tracer learn --when-closed
      tracer learn --forget jobs/wrong.yaml
      tracer learn --export for_the_other_workshop.sqlite
      tracer learn --merge from_the_other_workshop.sqlite
    """
    from datetime import UTC, datetime
    from pathlib import Path

    from tracer.job.learning import MEMORY_VARIABLE, Lesson, Memory, Teacher, job_files, memory_path

    where = memory_path()
    if where is None:
        raise TracerError("this workshop keeps no memory", f"the variable {MEMORY_VARIABLE} is “off”, or there is no "
                          "folder of this user")
    memory = Memory(where)
    lessons: list[Lesson] = []
    said: list[str] = []
    teacher = Teacher(memory, datetime.now(UTC))
    for place in places:
        lessons += teacher.learn(job_files([place]), named=not Path(place).is_dir())
    if places and not lessons:
        said.append(f"no job files in {', '.join(places)}")
    said += _forget(memory, forgotten)
    for file in merged:
        said.append(f"{file}: taken over what is new of it, {_jobs(memory.merge(Memory(file)))}")
    if closing is not None:
        memory.learn_when_closed(closing)
        said.append("jobs are learned as soon as they are proven" if closing else "jobs are learned on demand only")
    if exported is not None:
        said.append(f"written: {exported}, with {_jobs(memory.export(exported))}")
    show(as_json, lambda: _data(memory, lessons),
         lambda: "\n".join([*_lesson_lines(lessons), *said, *_known(memory)]))
    return 0


def _forget(memory: Any, jobs: tuple[str, ...]) -> list[str]:
    from tracer.job.kinds import read_known
    from tracer.job.learning import job_id

    said = []
    for job in jobs:
        there = memory.forget(job_id(read_known(job)))
        said.append(f"{job}: forgotten" if there else f"{job}: was not known; it will not be learned from a folder")
    return said


def _lesson_lines(lessons: list[Any]) -> list[str]:
    """What became of the files: how many, and why some were passed over."""
    if not lessons:
        return []
    count = Counter(x.became for x in lessons)
    words = {"learned": "learned", "known": "known already", "forgotten": "forgotten before and left so",
             "twice": "the same job again", "passed over": "passed over"}
    lines = [", ".join(f"{count[k]} {v}" for k, v in words.items() if count[k])]
    why = [x for x in lessons if x.why and x.became in ("twice", "passed over")]
    lines += [wrapped(f"{x.path.name}: {x.why}", "  ", "    ") for x in why[:_MOST_SAID]]
    if len(why) > _MOST_SAID:
        lines.append(f"  … and {len(why) - _MOST_SAID} more")
    return lines


def _known(memory: Any) -> list[str]:
    """What the memory holds, in words."""
    counts = memory.counts()
    if not counts.jobs:
        return ["nothing is learned yet: the shipped base rates hold"]
    lines = [wrapped(
        f"{_jobs(counts.jobs)} in {memory.path}: something found in {counts.found}, not "
        f"described by the harness file {counts.undescribed}, given up {counts.given_up}", "", "  ")]
    seen: Counter[str] = Counter()
    for b in counts.bundles:
        seen.update(dict(b.finds))
    lines += [f"  {n:6.3g} × {kind}" for kind, n in seen.most_common(_MOST_SAID)]
    return lines


def _jobs(n: int) -> str:
    return f"{n} job{'s' * (n != 1)}"


def _data(memory: Any, lessons: list[Any]) -> dict[str, Any]:
    counts = memory.counts()
    return {
        "memory": str(memory.path), "jobs": counts.jobs, "found": counts.found, "not_described": counts.undescribed,
        "given_up": counts.given_up, "learned_when_closed": memory.learns_when_closed,
        "groups": [
            {"vehicle": b.group.vehicle, "age": b.group.age, "jobs": b.jobs, "finds": dict(sorted(b.finds.items()))}
            for b in counts.bundles
        ],
        "files": [{"file": str(x.path), "became": x.became, "why": x.why} for x in lessons],
    }
