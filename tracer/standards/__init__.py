"""Values that published standards define, a module a table, each with its source and how far it was confirmed.

"as quoted" means read on a page that quotes the standard; "memory" means recalled and not
confirmed by reading; nothing here was read in a paid standard itself.
"""

from tracer.standards.colours import BS_COLOURS, COLOUR_CODES, IEC_COLOURS, colour_words
from tracer.standards.conductors import (
    CONDUCTOR_MOHM_PER_M,
    COPPER_OHM_MM2_PER_M,
    COPPER_PER_KELVIN,
    conductor_ohm,
)
from tracer.standards.lamps import LAMPS, TEST_V, LampCategory
from tracer.standards.sockets import SOCKETS

__all__ = [
    "BS_COLOURS", "COLOUR_CODES", "CONDUCTOR_MOHM_PER_M", "COPPER_OHM_MM2_PER_M", "COPPER_PER_KELVIN", "IEC_COLOURS",
    "LAMPS", "SOCKETS", "TEST_V", "LampCategory", "colour_words", "conductor_ohm",
]
