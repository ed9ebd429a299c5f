"""How likely is what somebody says of a horn, a motor or another load: it works, is weak, or does not."""

from __future__ import annotations

import numpy as np

from tracer.circuit.model import Floats
from tracer.inference.repeated_judgements import Masks
from tracer.observation.evidence import LoadSeen
from tracer.observation.forward_model import Panel, Predictor

# A horn croaks and a blower turns slowly below about half of the voltage: a quarter of the power. Whether one works
# is hard to mistake. (Common practice, no source.)
LOAD_WORKS, LOAD_SLIP = 0.25, 0.02
# Who says that it is weak has heard or seen it do something, and with less than about 0.8 of its volts.
WEAK_LOAD = (0.01, 0.65)


def load_does(panel: Panel, predictor: Predictor, seen: LoadSeen) -> Masks:
    """(H,) whether a load does as was said."""
    power = panel.power[:, predictor.loads.index(seen.load)]
    if seen.weak:
        return np.asarray((power > WEAK_LOAD[0]) & (power < WEAK_LOAD[1]))
    return np.asarray((power > LOAD_WORKS) == seen.works)


def load_loglik(panel: Panel, predictor: Predictor, seen: LoadSeen) -> Floats:
    """ln probability (H,) of whether a horn or another load works."""
    p = np.where(load_does(panel, predictor, seen), 1 - LOAD_SLIP, LOAD_SLIP)
    return np.asarray(np.log(np.where(panel.usable, p, 0.5)))
