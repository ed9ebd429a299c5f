"""The models that come with the package: found in a clone, in an editable installation and in a wheel alike.

They stand in `harness_models/` beside the package, in a clone as where a wheel was unpacked.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from tracer.errors import UnknownNameError, did_you_mean
from tracer.harness.file.nodes import read_text_file

_FOLDER: Final = Path(__file__).resolve().parents[3] / "harness_models"


def models_folder() -> Path | None:
    """Where the models stand; None if this installation has none."""
    return _FOLDER if _FOLDER.is_dir() else None


def model_names() -> tuple[str, ...]:
    """Their names, as `model_text` takes them."""
    folder = models_folder()
    return tuple(sorted(p.stem for p in folder.glob("*.yaml"))) if folder else ()


def model_text(name: str) -> str:
    """The text of a model.

    Raises:
        UnknownNameError: No model has this name.
    """
    folder, known = models_folder(), model_names()
    plain = name.removesuffix(".yaml")
    if folder is None or plain not in known:
        raise UnknownNameError(f"no model “{name}”", did_you_mean(plain, known))
    return read_text_file(folder / f"{plain}.yaml")
