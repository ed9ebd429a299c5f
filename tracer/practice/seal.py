"""What an exercise keeps beside its job: how to make the same vehicle again, and a seal on what is wrong with it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import asdict, replace

from tracer.errors import JobFileError
from tracer.job.file import sealed_path
from tracer.job.whole_file import replace_whole

_VERSION: Final = 1
_MOST_BYTES: Final = 100_000


class Seal(Struct, frozen=True):
    """The level and seed that the fault was drawn with, and its digest; never the fault.

    Attributes:
        learner: Name under which progress is kept; "" for nobody.
        digest: Of `hidden_faults.digest`.
        hints: Numbers of the entries that stood when a hint was asked for.
        minded: Cautions named by the learner before a step, as (number of entries then, words).
        given_up: Whether the answer was asked for.
        told: Whether the exercise is over and counted in the learner's progress.
    """

    level: int
    seed: int
    digest: str
    learner: str = ""
    hints: tuple[int, ...] = ()
    minded: tuple[tuple[int, str], ...] = ()
    given_up: bool = False
    told: bool = False


def write(job: Path, seal: Seal) -> None:
    """Whole or not at all."""
    text = json.dumps({"exercise": _VERSION, **asdict(seal)}, ensure_ascii=False, indent=1)
    replace_whole(sealed_path(job), (text + "\n").encode("utf-8"))


def read(job: Path) -> Seal:
    """Raises:
        JobFileError: This job is no exercise, or its seal is damaged.
    """
    path = sealed_path(job)
    if not path.is_file():
        raise JobFileError(f"{job} is no exercise: {path.name} is not beside it",
                           "tracer practise HARNESS begins one")
    wrong = JobFileError(f"{path.name} is damaged or of a newer version", "begin another exercise")
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise wrong
        data: Any = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(data, dict) or data.pop("exercise", None) != _VERSION:
            raise wrong
        seal = Seal(**data)
        minded = tuple((int(n), str(words)) for n, words in seal.minded)
        seal = replace(seal, hints=tuple(int(n) for n in seal.hints), minded=minded)
    except (OSError, ValueError, TypeError, RecursionError):
        raise wrong from None
    if not (type(seal.level) is int and type(seal.seed) is int and isinstance(seal.digest, str)
            and isinstance(seal.learner, str)):
        raise wrong
    return seal
