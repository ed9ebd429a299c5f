"""Laws of the non-linear two-terminal devices, over arrays, and what a lamp's light amounts to."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tracer.harness.devices import Diode, Filament, FilamentLaw, LampLaw, LedLaw

Floats = npt.NDArray[np.float64]

FLUX_EXPONENT = 3.4  # luminous flux ~ V^3.4 (lamp-rerating tables of miniature-lamp makers, as quoted)
# Conductance that a diode is given in the linear base network; the port takes it away again. About that
# of a cold lamp: what hangs on a diode must not look cut off from the wires beside it.
DIODE_BASE_S = 1.0
# That of LEDs and of what else leaks. More than the leakage, or an opened joint beside it would look like a
# cut; not so much more that what hangs on it is the small difference of two large numbers.
LEAKY_BASE_S = 1e-4
# The light of LEDs follows their current. Below a tenth of it they stay visible for longer than a
# filament, whose light goes red and then out: looked at directly, a hundred-thousandth of the current is
# about where a glow is seen (common practice, no source). On the scale of `log_light` that is where a
# filament at a sixth of its voltage stands.
LED_GLOW_BELOW = -1.0
LED_GLOW_SLOPE = 0.43
NO_LIGHT = -6.0
_DARK_SHARE = 0.99 * 10 ** (NO_LIGHT / FLUX_EXPONENT)
_NO_CURRENT_A = 1e-9
_NOTHING_LEFT = 1e-30  # of a diode's current, as a share of what `soft_v` drives through it
# In estimates every port is a resistance: a diode or LED that blocks is this, S.
BLOCKED_S = 1e-3
# A dark lamp that a path lights takes less than (V/Vn)^-0.45 times what it has hot, S; below this share of its
# voltage it takes more, but not more than a seventh of its current.
DARK_SHARE, _DARK_FACTOR = 0.4, 0.4 ** -0.45


class PortLaws:
    """Laws of a list of ports; every method works on voltages of shape (…, ports)."""

    def __init__(self, ports: Sequence[Filament | Diode | LampLaw]) -> None:
        laws = [p.law if isinstance(p, Filament) else p for p in ports]
        self.is_filament = np.array([isinstance(law, FilamentLaw) for law in laws], dtype=bool)
        lamp = [law if isinstance(law, FilamentLaw) else FilamentLaw(1.0, 12.0) for law in laws]
        diode = [law if isinstance(law, (Diode, LedLaw)) else Diode("", "", "") for law in laws]
        # (4, P) of what a filament's law says: see `_filaments`; and (4, P) of a diode's.
        self._lamp = np.array([
            [w.v0**w.exponent / w.i0 / w.cold_ohm, 1 - w.exponent, w.sharpness, w.cold_ohm] for w in lamp
        ]).reshape(-1, 4).T
        self._diode = np.array([
            [d.threshold_v, d.ohm, d.soft_v, 1 / d.leak_ohm] for d in diode
        ]).reshape(-1, 4).T
        self._v_normal = np.array([getattr(law, "v_normal", 12.0) for law in laws])
        self._note_kinds()
        leak_s = self._diode[3]
        blocked = np.where(leak_s > 0, np.maximum(leak_s, LEAKY_BASE_S), DIODE_BASE_S)
        self.base_s = np.where(self.is_filament, 1.0 / self._lamp[3], blocked)

    def _note_kinds(self) -> None:
        self._others = (~self.is_filament).nonzero()[0]
        self._hard = np.isinf(self._lamp[2])
        self._any_hard = bool(self._hard.any())

    @cached_property
    def _others_laws(self) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Threshold, resistance, softness and leakage of those that are not filaments, and what each would carry
        at 0 V."""
        threshold, ohm, soft_v, leak_s = self._diode[:, self._others]
        return threshold, ohm, soft_v, leak_s, np.logaddexp(0.0, -threshold / soft_v)

    @property
    def leaks(self) -> bool:
        """Whether any of them passes a leakage current when it blocks."""
        return bool(self._diode[3].any())

    def __len__(self) -> int:
        return len(self.is_filament)

    def pick(self, ports: npt.NDArray[np.intp]) -> PortLaws:
        """The laws of chosen ports, repeated where a port is."""
        chosen = object.__new__(PortLaws)
        for name in ("is_filament", "_v_normal", "base_s", "_lamp", "_diode"):
            setattr(chosen, name, getattr(self, name).take(ports, axis=-1))
        chosen._note_kinds()
        return chosen

    def current_and_slope(self, v: Floats) -> tuple[Floats, Floats]:
        """Current in A and its derivative in S at voltages `v` of shape (…, ports)."""
        i, slope = self._filaments(v)
        if len(self._others):
            i[..., self._others], slope[..., self._others] = self._diodes(v[..., self._others])
        return i, slope

    def secant(self, v: Floats, i: Floats, slope: Floats) -> Floats:
        """i/v of filaments, where it is the safer slope to follow; `slope` of everything else."""
        use = self.is_filament & (np.abs(v) > 1e-9)
        return np.where(use, i / np.where(use, v, 1.0), slope)

    def _filaments(self, v: Floats) -> tuple[Floats, Floats]:
        scale, power, sharp, cold = self._lamp
        # Resistance by the power law, in units of the cold one: below 1 the floor holds.
        ratio = scale * np.maximum(np.abs(v), 1e-12) ** power
        k = np.where(self._hard, 1.0, sharp) if self._any_hard else sharp
        # R = Rc · (1 + ratio^k)^(1/k), evaluated from the larger term so that it cannot overflow.
        larger, low = np.maximum(ratio, 1.0), np.minimum(ratio, 1 / ratio) ** k
        above = 1 + low
        relative = larger * above ** (1 / k)
        # d ln R / d ln v = (1 − exponent) · ratio^k / (1 + ratio^k)
        share = np.where(ratio > 1, 1.0, low) / above
        if self._any_hard:
            relative = np.where(self._hard, larger, relative)
            share = np.where(self._hard, ratio > 1, share)
        resistance = cold * relative
        return v / resistance, (1 - power * share) / resistance

    def _diodes(self, v: Floats) -> tuple[Floats, Floats]:
        """Currents and slopes of those that are not filaments, `v` of shape (…, others)."""
        threshold, ohm, soft_v, leak_s, at_zero = self._others_laws
        x = np.maximum((v - threshold) / soft_v, -700)
        # Less its own value at 0 V: an untied diode must not drive a current.
        soft = np.logaddexp(0.0, x) - at_zero
        slope = 1 / (1 + np.exp(-np.minimum(x, 700)))
        return soft_v / ohm * soft + leak_s * v, slope / ohm + leak_s

    def reached(self, v: Floats, to: Floats) -> Floats:
        """Where Newton goes on from voltages `v` when its tangents lead `to` others, both of shape (…, ports).

        A diode that loses its current has to come down an exponential, on which tangents get no further than
        `soft_v` a step; it goes where its law gives the current that the tangents found.
        """
        if not len(self._others):
            return to
        threshold, _, soft_v, _ = self._diode
        x = np.minimum(np.maximum((v - threshold) / soft_v, -700), 700)
        whole = np.logaddexp(0.0, x)
        left = whole + (to - v) / soft_v / (1 + np.exp(-x))
        # Where next to nothing is left its law is that of its leak, and tangents lead home at once.
        use = ~self.is_filament & (to < v) & (left > _NOTHING_LEFT) & (left < whole / 2)
        left = np.where(use, left, 1.0)
        return np.where(use, threshold + soft_v * np.log(np.expm1(left)), to)

    def log_light(self, v: Floats, running: float = 1.0) -> Floats:
        """log10 of the light of every port relative to normal; `NO_LIGHT` stands for nothing at all.

        A filament's is its luminous flux, that of LEDs what an eye makes of their current.

        Args:
            v: Voltages of shape (…, ports).
            running: Factor on every lamp's normal voltage: with the engine running all are brighter.
        """
        normal = self._v_normal * running
        light = log_flux(v, normal)
        if not len(self._others):
            return light
        v, normal, leak_s = v[..., self._others], normal[self._others], self._diode[3, self._others]
        amps = self._diodes(v)[0] - leak_s * v
        full = self._diodes(normal)[0] - leak_s * normal
        lit = amps > _NO_CURRENT_A
        share = np.log10(np.where(lit, amps, 1.0) / full)
        seen = np.where(share > LED_GLOW_BELOW, share, LED_GLOW_BELOW + LED_GLOW_SLOPE * (share - LED_GLOW_BELOW))
        light[..., self._others] = np.where(lit, np.maximum(seen, NO_LIGHT), NO_LIGHT)
        return light


def warm_s(laws: PortLaws, system_v: float) -> Floats:
    """Conductance (P,) by which a port that carries nothing is taken into account, S."""
    hot = laws.current_and_slope(np.full(len(laws), system_v))[0] / system_v
    return np.asarray(np.where(laws.is_filament, _DARK_FACTOR * hot, BLOCKED_S))


def filament_current(law: LampLaw, v: float) -> float:
    """Current in A of one filament, or of LEDs, at `v` volts."""
    current, _ = PortLaws([law]).current_and_slope(np.array([v]))
    return float(current[0])


def log_flux(v: Floats, v_normal: Floats) -> Floats:
    """log10 of luminous flux relative to that at `v_normal`; `NO_LIGHT` stands for nothing at all.

    Args:
        v: Filament voltages, shape (…, lamps); the sign does not matter.
        v_normal: Voltage at which a person calls each lamp normal, shape (lamps,).
    """
    out = np.abs(v) / v_normal
    np.log10(np.fmax(out, _DARK_SHARE, out=out), out=out)  # what is not a number gives no light
    out *= FLUX_EXPONENT
    return np.maximum(out, NO_LIGHT, out=out)
