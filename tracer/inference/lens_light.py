"""What the eye sees is a lens: behind a stop filament that is dead the tail lamp still burns, by night.

Who stands behind the car then sees both lenses red, and one of them weaker. Some say that this stop lamp is dim, and
some that it does not work: it takes one who knows that there are two filaments. By how much the lens is weaker goes
by the watts of what shines in it (own calculation: of 21 and 5 W the 5 give a fifth of the light). Where the two are
exchanged the stop lamp shines weakly, and the tail lamp is too bright, and neither lens is dark. Headlamps are left
out: nobody takes the side lamp behind that glass for a beam. So is who tells of several lamps at once: it is by the
other side that a lens looks weak, and he has said what he takes them for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tracer.circuit.model import Floats
from tracer.observation.forward_model import Panel, Predictor

# So many judge a lamp that should be lit by all the light in its lens, the others by what it should do. (Judgement:
# as many as take one filament for another where none should shine, `statement_model.LENS_NAME`.)
LENS_SEEN = 0.3


def lens_panel(panel: Panel, healthy: Panel, predictor: Predictor, lamp: int, mates: Sequence[int]) -> Panel:
    """What a panel is to who takes all light of a lamp and its `mates` in one lens for the lamp's own: what the lens
    has lost the lamp has. In both phases of a flasher: where the tail lamp burns behind a dead stop and turn
    filament, the lens shines weakly and does not flash."""
    flux, least = panel.flux.copy(), panel.least.copy()
    flux[:, lamp], least[:, lamp] = (_of_lens(x, healthy, predictor, [lamp, *mates]) for x in (flux, least))
    return replace(panel, flux=flux, least=least)


def _of_lens(flux: Floats, healthy: Panel, predictor: Predictor, own: Sequence[int]) -> Floats:
    watts = np.array([predictor.lamps[k].law.watts for k in own])
    now, usual = (np.log10(10 ** x[:, own] @ watts) for x in (flux, healthy.flux))
    return np.asarray(healthy.flux[0, own[0]] + now - usual[0])
