"""What this installation consists of and whether anything stands in the way of working with it."""

from __future__ import annotations

import os
import platform
import stat
import sys
import tempfile
from importlib import metadata
from typing import Any, Final

from tracer import __version__
from tracer.cache import own_folder, usual_folder
from tracer.harness.file.model_files import model_names
from tracer.present.text_lines import wrap

_PACKAGES: Final = (
    "click", "filelock", "jinja2", "networkx", "numpy", "platformdirs", "pygraphviz", "pyyaml",
    "threadpoolctl",
)
_FONTS: Final = ("DejaVu Sans", "Liberation Sans", "Arial", "Helvetica")
_FONT_FOLDERS: Final = (
    "/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts", "/System/Library/Fonts",
    "/Library/Fonts", "~/Library/Fonts", r"C:\Windows\Fonts",
)
_MOST_FILES: Final = 20_000  # looked through for fonts


def looked_over(folder: str) -> dict[str, Any]:
    """Versions, fonts, folders and models; `in_the_way` lists in words what hinders work.

    Args:
        folder: Where jobs are kept.
    """
    packages = {name: _version(name) for name in _PACKAGES}
    fonts, jobs, kept, models = _fonts(), _jobs_folder(folder), _kept(), list(model_names())
    wrong = [f"{name} is not installed" for name, version in packages.items() if version is None]
    wrong += [jobs["trouble"]] if jobs["trouble"] else []
    wrong += [] if models else ["the models are missing from this installation"]
    return {
        "tracer": __version__, "python": platform.python_version(), "system": f"{platform.system()} "
        f"{platform.release()}, {platform.machine()}", "packages": packages,
        "encoding": {"output": getattr(sys.stdout, "encoding", None), "file names": sys.getfilesystemencoding()},
        "fonts": fonts, "jobs_folder": jobs, "kept_results": kept, "models": models, "in_the_way": wrong,
    }


def looked_over_lines(found: dict[str, Any], width: int) -> list[str]:
    """The same for people."""
    jobs, kept = found["jobs_folder"], found["kept_results"]
    packages = ", ".join(f"{name} {version or 'MISSING'}" for name, version in found["packages"].items())
    lines = [
        f"tracer         {found['tracer']}",
        f"Python         {found['python']} on {found['system']}",
        f"with           {packages}",
        f"terminal       {found['encoding']['output']}; file names {found['encoding']['file names']}",
        f"fonts          {', '.join(found['fonts']) or 'none of the usual: text in PNG and PDF may differ'}",
        f"jobs folder    {jobs['trouble'] or 'files can be written, renamed and deleted there'}",
        f"kept results   {kept['says']}",
        f"models         {len(found['models'])}: {', '.join(found['models'])}",
        *(f"IN THE WAY     {wrong}" for wrong in found["in_the_way"]),
        *([] if found["in_the_way"] else ["               nothing stands in the way"]),
    ]
    return [part for line in lines for part in wrap(line[15:], width, line[:15])]


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _fonts() -> list[str]:
    """Which of the usual fonts are there, by the names of their files."""
    files, seen = set[str](), 0
    for top in _FONT_FOLDERS:
        for _, _, names in os.walk(os.path.expanduser(top)):
            files.update(n.lower().replace("-", "").replace("_", "").replace(" ", "") for n in names)
            seen += len(names)
            if seen > _MOST_FILES:
                break
    return [f for f in _FONTS if any(n.startswith(f.lower().replace(" ", "")) for n in files)]


def _jobs_folder(folder: str) -> dict[str, Any]:
    """Whether a file can be written, renamed and deleted there, as every entry of a job needs it."""
    trouble = ""
    try:
        handle, name = tempfile.mkstemp(prefix=".tracer-about-", dir=folder)
        os.close(handle)
        os.replace(name, f"{name}.renamed")
        os.unlink(f"{name}.renamed")
    except OSError as error:
        trouble = f"no file can be written there: {(error.strerror or str(error)).lower()}"
    return {"writable": not trouble, "trouble": trouble}


def _kept() -> dict[str, Any]:
    base = usual_folder()
    if base is None:
        return {"says": "nothing is kept between commands", "files": 0, "bytes": 0}
    own, sizes = own_folder(base), []
    try:
        told = os.lstat(own)
        sizes = [e.stat(follow_symlinks=False).st_size for e in os.scandir(own)]
    except FileNotFoundError:
        return {"says": "none yet", "files": 0, "bytes": 0}
    except OSError as error:
        return {"says": f"not readable: {(error.strerror or str(error)).lower()}", "files": 0, "bytes": 0}
    is_open = os.name != "nt" and stat.S_IMODE(told.st_mode) & 0o077
    note, total = "; open to others: closed at next use" if is_open else "", sum(sizes)
    return {"says": f"{len(sizes)} files, {total / 1e6:.1f} MB{note}", "files": len(sizes), "bytes": total}
