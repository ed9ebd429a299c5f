"""What one piece of evidence says of the hypotheses, observer by observer, and what is remembered of it."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct

from tracer.circuit.model import Floats
from tracer.inference.likelihood import note_said
from tracer.inference.repeated_judgements import Cells, Masks, SaidBefore, cells_of
from tracer.inference.shown import Shown
from tracer.inference.word_model import CARELESS_SHARE, SHIFT_WEIGHTS, UNSHIFTED
from tracer.observation.evidence import Light, Reading, Symptom
from tracer.observation.forward_model import Panel

# Weight of each kind of observer: three eyes, and a careless person.
OBSERVERS: Final = np.append(SHIFT_WEIGHTS * (1 - CARELESS_SHARE), CARELESS_SHARE)


class Told(Struct, frozen=True):
    """ln probabilities of one piece of evidence.

    Attributes:
        said: By each observer (N, A) that of each thing said, for the active changes; one entry if all observers
            agree, as they do on a meter.
        usual: By each observer (N, 1) the same on a sound vehicle.
        moved: Where something was wiggled: (A,) if the fault stays and if it comes and goes, instead of `said`.
    """

    said: tuple[Floats, ...]
    usual: tuple[Floats, ...]
    moved: tuple[Floats, Floats] | None = None

    @property
    def plain(self) -> int:
        """The observer whose numbers stand for what was said where one is wanted."""
        return UNSHIFTED if len(self.said) > 1 else 0


class Memory:
    """What every lamp was called so far, by how bright each hypothesis and the sound vehicle make it."""

    def __init__(self, changes: int, lamps: int) -> None:
        self._said, self._usual = SaidBefore(changes, lamps), SaidBefore(1, lamps)
        self._one = np.zeros(1, dtype=np.intp)

    def recall(self, shown: Shown, cells: Cells, light: Light) -> Masks | None:
        """(A, lamps) words used for lights like these."""
        return self._said.recall(cells, shown.active, light)

    def recall_usual(self, sound: Panel, light: Light) -> Masks | None:
        """(1, lamps) the same on the sound vehicle."""
        return self._usual.recall(cells_of(sound.flux), self._one, light)

    def note(self, shown: Shown, item: Symptom | Reading, cells: Cells, sound: Panel | None = None) -> None:
        """Keeps what was said, on the sound vehicle too where its lamps are given."""
        note_said(self._said, shown.predictor, item, cells, shown.active)
        if sound is not None:
            note_said(self._usual, shown.predictor, item, cells_of(sound.flux), self._one)
