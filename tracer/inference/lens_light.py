"""What the eye sees is a lens: behind a stop filament that is dead the tail lamp still burns, by night.

Who stands behind the car then sees both lenses red, and one of them weaker. Some say that this stop lamp is dim, and
some that it does not work: it takes one who knows that there are two filaments. By how much the lens is weaker goes
by the watts of what shines in it (own calculation: of 21 and 5 W the 5 give a fifth of the light). Where the two are
exchanged the stop lamp shines weakly, and the tail lamp is too bright, and neither lens is dark. Headlamps are left
out: nobody takes the side lamp behind that glass for a beam. So is who tells of several lamps at once: it is by the
other side that a lens looks weak, and he has said what he takes them for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from msgspec.structs import replace

from tracer.circuit.model import Floats
from tracer.harness.lamp_purposes import BEAMS, lamp_purposes
from tracer.inference.meant_states import LIT_ABOVE
from tracer.observation.forward_model import Panel, Predictor

# So many judge a lamp that should be lit by all the light in its lens, the others by what it should do. (Judgement:
# as many as take one filament for another where none should shine, `statement_model.LENS_NAME`.)
LENS_SEEN = 0.3
# … a third of these where the question chose the lamp: who is sent to look at the stop lamp knows that there is one.
LENS_SEEN_ASKED = 0.1
_ONE_LENS: Final = (frozenset({"stop", "side", "fog"}), frozenset({"dipped", "main", "side"}))  # red, and white


def lenses(predictor: Predictor) -> dict[int, tuple[int, ...]]:
    """By lamp the others behind the same lens, in the same colour."""
    index, purposes = predictor.lamp_index, lamp_purposes(predictor.harness)
    out: dict[int, tuple[int, ...]] = {}
    for part in predictor.harness.parts.values():
        own = [f for f in part.lamps if f.lamp in index]
        for f in own:
            mates = [index[k.lamp] for k in own if k is not f and (k.bulb == f.bulb or any(
                purposes[f.lamp] and purposes[k.lamp] and purposes[f.lamp] | purposes[k.lamp] <= colour
                for colour in _ONE_LENS))]
            if mates:
                out[index[f.lamp]] = tuple(mates)
    return out


def seen_as_one(predictor: Predictor) -> dict[int, tuple[int, ...]]:
    """Those whose light is taken for the lamp's own: of no beam, for nobody takes the side lamp in a headlamp for
    one."""
    purposes = lamp_purposes(predictor.harness)
    return {i: mates for i, mates in lenses(predictor).items() if not purposes[predictor.lamps[i].lamp] & BEAMS}


def looked_at(
    panel: Panel, healthy: Panel, predictor: Predictor, lamp: int, mates: Sequence[int], by_lens: float = LENS_SEEN
) -> list[tuple[float, Panel, int]]:
    """What people look at who look at that lamp, how many do so, and its place in that panel."""
    if not mates:
        return [(1.0, panel, lamp)]
    return [(1 - by_lens, panel, lamp), (by_lens, lens_panel(panel, healthy, predictor, lamp, mates), 0)]


def lens_panel(panel: Panel, healthy: Panel, predictor: Predictor, lamp: int, mates: Sequence[int]) -> Panel:
    """That lamp alone, as it is to who takes all light of it and its `mates` in one lens for its own: what the lens
    has lost the lamp has. In both phases of a flasher: where the tail lamp burns behind a dead stop and turn
    filament, the lens shines weakly and does not flash."""
    own = [lamp, *mates]
    flux, least = (_of_lens(x, healthy, predictor, own)[:, None] for x in (panel.flux, panel.least))
    return replace(panel, flux=flux, least=least)


def all_as_lenses(
    panel: Panel, healthy: Panel, predictor: Predictor, as_one: Mapping[int, Sequence[int]]
) -> Panel | None:
    """What a panel is to who judges each lamp that should be lit by its lens; none where no other shines in any."""
    own = [i for i, mates in as_one.items() if healthy.flux[0, i] > LIT_ABOVE
           and (panel.flux[:, [*mates]] > LIT_ABOVE).any()]
    if not own:
        return None
    flux, least = panel.flux.copy(), panel.least.copy()
    for i in own:
        mine = [i, *as_one[i]]
        flux[:, i], least[:, i] = (_of_lens(x, healthy, predictor, mine) for x in (panel.flux, panel.least))
    return replace(panel, flux=flux, least=least)


def _of_lens(flux: Floats, healthy: Panel, predictor: Predictor, own: Sequence[int]) -> Floats:
    watts = np.array([predictor.lamps[k].law.watts for k in own])
    now, usual = (np.log10(10 ** x[:, own] @ watts) for x in (flux, healthy.flux))
    return np.asarray(healthy.flux[0, own[0]] + now - usual[0])
