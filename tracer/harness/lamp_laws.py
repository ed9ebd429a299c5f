"""What current a lamp takes that is given as a category, in watts or as LEDs: the laws of its filaments."""

from __future__ import annotations

import re

from tracer import standards
from tracer.errors import TracerError, did_you_mean
from tracer.harness.devices import FilamentLaw, LampLaw, LedLaw

# LED lamps (common practice, no source, but for the range in which an LED substitute for a W5W has to
# work, 9 to 16 V in a 12 V system: GTB CE-5549 in GRE-81-04): three or four diodes in series leave 0.4 of
# the system's voltage to their resistor; each of them gives e times the current for about 45 mV more.
_LED_THRESHOLD = 0.6
_LED_SOFT = 1 / 75
_LED = re.compile(r"LED\s+([\d.,/\s]+?)\s*W", re.IGNORECASE)
MAX_LAMP_W = 250.0


def _watts(numbers: str) -> tuple[float, ...]:
    """The watts of "21" or "21/5"; nothing if that is none, or none that a lamp can have."""
    try:
        watts = tuple(float(n.replace(",", ".")) for n in numbers.split("/"))
    except ValueError:
        return ()
    return watts if all(0.1 <= w <= MAX_LAMP_W for w in watts) else ()


def lamp_laws(lamp: str, system_v: float) -> tuple[LampLaw, ...]:
    """Laws of the filaments of a lamp given as category ("P21/5W"), watts ("21 W", "21/5 W") or LEDs ("LED 2 W").

    The watts of LEDs are those they take at system voltage.

    Raises:
        TracerError: Unknown category or unreadable watts.
    """
    text = lamp.strip()
    led = _LED.fullmatch(text)
    if led is not None and _watts(led.group(1)):
        threshold = _LED_THRESHOLD * system_v
        return tuple(
            LedLaw(threshold, (system_v - threshold) * system_v / w, _LED_SOFT * system_v, watts=w, v_normal=system_v)
            for w in _watts(led.group(1))
        )
    category = standards.LAMPS.get(text)
    if category is None:
        watts = _watts(text[:-1].strip()) if text[-1:] in ("W", "w") else ()
        if not watts:
            raise TracerError(
                f"“{lamp}” is not a lamp", did_you_mean(lamp, standards.LAMPS) + " or watts like 21 W or LED 2 W"
            )
        # A bare "21 W" means the usual 21 W lamp, which takes more than its name at test voltage.
        by_watts = {c.watts: c for c in reversed(standards.LAMPS.values()) if c.test_v == 13.5}
        category = by_watts.get(watts) or standards.LampCategory(watts, watts)
    test_v = category.test_v_at(system_v)
    return tuple(
        FilamentLaw(i0=w / test_v, v0=test_v, watts=name, v_normal=system_v)
        for name, w in zip(category.watts_at(system_v), category.test_watts_at(system_v), strict=True)
    )
