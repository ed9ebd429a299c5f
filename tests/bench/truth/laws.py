"""Laws of devices, by physics and from memory: tungsten, light-emitting diodes, fuses, and what an eye calls a light.

Tungsten: power in = radiation + loss to gas and leads, P = c (T^n − T0^n) + k (T − T0), with R = R0 (T/T0)^1.2. The
exponent of radiation is above Stefan and Boltzmann's 4 because tungsten's emissivity rises with temperature
(0.10 at 1200 K, 0.28 at 2600 K, from memory: n about 4.9); a tenth of the power goes by conduction in small
gas-filled lamps (from memory; at a seventh they would glow first above 8 % of their volts, which is too much). Light
goes by Wien's law at 560 nm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
T = TypeVar("T")

ROOM_K = 293.0
HOT_K = 2750.0
RADIATION = 4.75
GAS_SHARE = 0.10
R_EXPONENT = 1.2  # R ~ T^1.2: Jones and Langmuir's table within 4 % (from memory)
WIEN_K = 14388.0 / 0.56  # c2 / λ, λ = 0.56 µm
NO_LIGHT = -9.0

# Volts at which the watts of a lamp count, by system (UN R119 as quoted: 6.75, 13.5, 28.0; headlamps UN R37: 13.2).
TEST_V = {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}
HEAD_V = {6.0: 6.3, 12.0: 13.2, 24.0: 28.0}
# Typical watts there of 12 V lamps, the brighter first (UN R37's objective values less their tolerance; from memory,
# but for 26.5 and 6.6 W of the 21/5 W lamp, which were read).
CATEGORIES: dict[str, tuple[float, ...]] = {
    "P21W": (25,), "PY21W": (25,), "P21/5W": (25, 6), "PY21/5W": (25, 6), "W21W": (25,), "W21/5W": (25, 6),
    "C21W": (25,), "R10W": (10,), "R5W": (5,), "W5W": (5,), "C5W": (5,), "T4W": (4,), "W3W": (3,), "W16W": (19.4,),
}
HEADLAMPS: dict[str, tuple[float, ...]] = {
    "H1": (64,), "H3": (64,), "H4": (70.8, 64.2), "H7": (55,), "R2": (47, 42),
}
OF_24_V = {25.0: 28.0, 6.0: 10.0, 5.0: 7.0, 10.0: 12.7, 4.0: 5.0, 64.0: 79.0}


# The power law I ~ V^0.55 all the way down: nothing is lost to gas or leads, P ~ T^n − T0^n alone, with
# 1 − 2 · 1.2 / (n + 1.2) = 0.55. What differs from the tool by this alone is a difference of two named laws.
POWER_LAW = 2 * R_EXPONENT / 0.45 - R_EXPONENT, 0.0
_law: list[tuple[float, float]] = []  # exponent of radiation and share of conduction, where others for a while


# Of LEDs: the threshold as a share of their volts, V for e times the current, and S that leak when they are reversed.
LED_SHARE, LED_SOFT_V, LED_LEAK_S = 0.58, 0.14, 1 / 1.5e6  # a chain of three: three times nkT/q
# The same of the tool, softness as a share of the volts.
TOOL_LED_SHARE, TOOL_LED_SOFT, TOOL_LED_LEAK_S = 0.6, 1 / 75, 1e-6
_leds: list[bool] = []  # not empty: LEDs are those of the tool for a while


@contextmanager
def _for_a_while(laws: list[T], law: T) -> Iterator[None]:
    laws.append(law)
    try:
        yield
    finally:
        laws.pop()


def leds_of_the_tool() -> AbstractContextManager[None]:
    """LED lamps by the tool's figures, for as long as it lasts."""
    return _for_a_while(_leds, True)


LEAK_S, TOOL_LEAK_S = 1e-10, 1e-9  # from every node to the body, so that what floats has a voltage at all
_leaks: list[bool] = []  # not empty: those of the tool for a while


def leaks_of_the_tool() -> AbstractContextManager[None]:
    """What floats leaks to the body as with the tool, for as long as it lasts."""
    return _for_a_while(_leaks, True)


def leak_s() -> float:
    """S from every node to the body."""
    return TOOL_LEAK_S if _leaks else LEAK_S


def power_law() -> AbstractContextManager[None]:
    """Every filament by the power law, for as long as it lasts."""
    return _for_a_while(_law, POWER_LAW)


def _tungsten() -> tuple[Floats, Floats, Floats]:
    return _curve(*(_law[-1] if _law else (RADIATION, GAS_SHARE)))


@cache
def _curve(exponent: float, gas: float) -> tuple[Floats, Floats, Floats]:
    """Volts and amperes relative to the rated point, and log10 of light, over rising temperature."""
    t = np.concatenate([[ROOM_K], ROOM_K + np.geomspace(0.05, 1.3 * HOT_K, 1500)])
    radiated = (t**exponent - ROOM_K**exponent) / (HOT_K**exponent - ROOM_K**exponent)
    lost = (t - ROOM_K) / (HOT_K - ROOM_K)
    watts = (1 - gas) * radiated + gas * lost
    ohm = (t / HOT_K) ** R_EXPONENT
    light = -WIEN_K * (1 / t - 1 / HOT_K) / math.log(10)
    return np.sqrt(watts * ohm), np.sqrt(watts / ohm), np.maximum(light, NO_LIGHT)


def tungsten_current(x: Floats) -> tuple[Floats, Floats]:
    """I/I0 at V/V0 = x, either sign, and its slope d(I/I0)/d(V/V0)."""
    volts, amps, _ = _tungsten()
    size = np.abs(x)
    k = np.clip(np.searchsorted(volts, size), 1, len(volts) - 1)
    slope = (amps[k] - amps[k - 1]) / (volts[k] - volts[k - 1])
    return np.sign(x) * (amps[k - 1] + slope * (size - volts[k - 1])), slope


def tungsten_light(x: float) -> float:
    """log10 of the light at V/V0 = x relative to that at the rated point."""
    volts, _, light = _tungsten()
    return float(np.interp(abs(x), volts, light))


@dataclass(frozen=True)
class Lamp:
    """A filament: rated volts and amperes there. An LED lamp: its threshold in V and Ω behind it.

    LEDs conduct in one direction; reversed they leak (1.5 MΩ, from memory).
    """

    v0: float
    a0: float
    led: bool = False

    @property
    def threshold(self) -> float:
        return (TOOL_LED_SHARE if _leds else LED_SHARE) * self.v0

    @property
    def ohm(self) -> float:
        return (self.v0 - self.threshold) / self.a0


def led_soft_v(v0: float) -> float:
    """V by which an LED lamp's current grows e times, far below its threshold."""
    return TOOL_LED_SOFT * v0 if _leds else LED_SOFT_V


def led_current(v: Floats, threshold: Floats, ohm: Floats, soft: Floats) -> tuple[Floats, Floats]:
    """Current of a chain of diodes and a resistor, A, and its slope, S: softplus, and a leak."""
    z = (v - threshold) / soft
    plus = np.where(z > 30, z, np.log1p(np.exp(np.minimum(z, 30.0))))
    rest, leak_s = np.log1p(np.exp(-threshold / soft)), TOOL_LED_LEAK_S if _leds else LED_LEAK_S
    share = 1 / (1 + np.exp(-np.clip(z, -60, 60)))
    return soft / ohm * (plus - rest) + v * leak_s, share / ohm + leak_s


def lamp_light(lamp: Lamp, volts: float, factor: float = 1.0) -> float:
    """log10 of light relative to the rated lamp; `factor` on its current when another lamp is fitted."""
    if factor <= 0:
        return NO_LIGHT
    if not lamp.led:
        return max(tungsten_light(volts / lamp.v0) + math.log10(factor), NO_LIGHT)
    i, _ = led_current(np.array(volts), np.array(lamp.threshold), np.array(lamp.ohm), np.array(LED_SOFT_V))
    share = (float(i) - volts * LED_LEAK_S) / lamp.a0
    # The eye follows the current of LEDs far down; half as steep below a tenth (common practice, no source).
    return NO_LIGHT if share <= 1e-9 else max(math.log10(share) if share > 0.1 else 0.5 * math.log10(share) - 0.5,
                                               NO_LIGHT)


def lamps_of(text: str, system_v: float) -> list[Lamp]:
    """The filaments of a lamp as a harness file names it: a category, watts, or "LED 3/0.5 W"."""
    text = text.strip()
    if text.upper().startswith("LED"):
        watts = [float(w) for w in text[3:].strip().rstrip("Ww").strip().split("/")]
        return [Lamp(system_v, w / system_v, True) for w in watts]
    found = CATEGORIES.get(text) or HEADLAMPS.get(text)
    if found is None:
        watts = [float(w) for w in text.rstrip("Ww").strip().split("/")]
        v = HEAD_V[system_v] if min(watts) >= 24 else TEST_V[system_v]
        return [Lamp(v, w / v) for w in watts]
    v = HEAD_V[system_v] if text in HEADLAMPS else TEST_V[system_v]
    typical = [OF_24_V.get(float(w), w) if system_v == 24.0 else w for w in found]
    return [Lamp(v, w / v) for w in typical]


# Seconds to melt by overload: ISO 8820-3's middle, from memory; beyond six times I²t is constant.
_FUSE = np.log(np.array([[1.35, 60.0], [1.6, 8.0], [2.0, 1.2], [3.5, 0.18], [6.0, 0.05], [12.0, 0.0125],
                         [100.0, 0.00018]]))
RELAY_S = 0.008  # of a small relay to pull in or let go (from memory: 3 to 10 ms)


def fuse_seconds(overload: float) -> float:
    """Time after which a fuse melts at this multiple of its rating, s; infinite if it holds."""
    if overload < 1.35:
        return math.inf
    return float(np.exp(np.interp(math.log(overload), _FUSE[:, 0], _FUSE[:, 1])))


WORDS = ("dark", "faint", "dim", "normal", "bright")
# Borders between the words, decades of light against how that lamp always looked, and their softness. Judgement.
BORDERS = {"day": (-1.9, -1.2, -0.32, 0.2), "night": (-3.0, -1.2, -0.32, 0.2)}
SOFTNESS = (0.25, 0.18, 0.07, 0.06)


def word_chances(light: float, when: str = "day") -> Floats:
    """Probability of each of WORDS for a light, decades against the usual one. They sum to one."""
    above = [0.5 * math.erfc((b - light) / s / math.sqrt(2)) for b, s in zip(BORDERS[when], SOFTNESS, strict=True)]
    above = [1.0, *np.minimum.accumulate(above).tolist(), 0.0]
    return np.array([above[k] - above[k + 1] for k in range(len(WORDS))])
