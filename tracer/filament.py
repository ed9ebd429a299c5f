"""Laws of the non-linear two-terminal devices, over arrays, and what a filament's light amounts to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from tracer.devices import Diode, Filament, FilamentLaw

Floats = npt.NDArray[np.float64]

FLUX_EXPONENT = 3.4  # luminous flux ~ V^3.4 (lamp-rerating tables of miniature-lamp makers, as quoted)
# Conductance that a diode is given in the linear base network; the port takes it away again. About that
# of a cold lamp: what hangs on a diode must not look cut off from the wires beside it.
DIODE_BASE_S = 1.0


class PortLaws:
    """Laws of a list of ports; every method works on voltages of shape (…, ports)."""

    def __init__(self, ports: Sequence[Filament | Diode | FilamentLaw]) -> None:
        laws = [p.law if isinstance(p, Filament) else p for p in ports]
        self.is_filament = np.array([isinstance(law, FilamentLaw) for law in laws], dtype=bool)
        lamp = [law if isinstance(law, FilamentLaw) else FilamentLaw(1.0, 12.0) for law in laws]
        diode = [law if isinstance(law, Diode) else Diode("", "", "") for law in laws]
        self._i0 = np.array([w.i0 for w in lamp])
        self._v0 = np.array([w.v0 for w in lamp])
        self._exponent = np.array([w.exponent for w in lamp])
        self._cold = np.array([w.cold_ohm for w in lamp])
        self._sharp = np.array([w.sharpness for w in lamp])
        self._threshold = np.array([d.threshold_v for d in diode])
        self._ohm = np.array([d.ohm for d in diode])
        self._soft = np.array([d.soft_v for d in diode])
        self.base_s = np.where(self.is_filament, 1.0 / self._cold, DIODE_BASE_S)

    def __len__(self) -> int:
        return len(self.is_filament)

    def current_and_slope(self, v: Floats) -> tuple[Floats, Floats]:
        """Current in A and its derivative in S at voltages `v` of shape (…, ports)."""
        i_lamp, g_lamp = self._filaments(v)
        if self.is_filament.all():
            return i_lamp, g_lamp
        i_diode, g_diode = self._diodes(v)
        return np.where(self.is_filament, i_lamp, i_diode), np.where(self.is_filament, g_lamp, g_diode)

    def secant(self, v: Floats, i: Floats, slope: Floats) -> Floats:
        """i/v of filaments, where it is the safer slope to follow; `slope` of everything else."""
        use = self.is_filament & (np.abs(v) > 1e-9)
        return np.where(use, i / np.where(use, v, 1.0), slope)

    def _filaments(self, v: Floats) -> tuple[Floats, Floats]:
        size = np.maximum(np.abs(v), 1e-12)
        exponent = self._exponent
        # Resistance by the power law, in units of the cold one: below 1 the floor holds.
        ratio = (self._v0 / self._i0) * (size / self._v0) ** (1 - exponent) / self._cold
        hard = np.isinf(self._sharp)
        k = np.where(hard, 1.0, self._sharp)
        # R = Rc · (1 + ratio^k)^(1/k), evaluated from the larger term so that it cannot overflow.
        low = np.minimum(ratio, 1 / ratio) ** k
        smooth = np.maximum(ratio, 1.0) * (1 + low) ** (1 / k)
        relative = np.where(hard, np.maximum(ratio, 1.0), smooth)
        resistance = self._cold * relative
        # d ln R / d ln v = (1 − exponent) · ratio^k / (1 + ratio^k)
        share = np.where(ratio > 1, 1 / (1 + low), low / (1 + low))
        share = np.where(hard, (ratio > 1).astype(float), share)
        return v / resistance, (1 - (1 - exponent) * share) / resistance

    def _diodes(self, v: Floats) -> tuple[Floats, Floats]:
        x = (v - self._threshold) / self._soft
        # Less its own value at 0 V: an untied diode must not drive a current.
        soft = np.logaddexp(0.0, np.clip(x, -700, None)) - np.logaddexp(0.0, -self._threshold / self._soft)
        slope = 1 / (1 + np.exp(-np.clip(x, -700, 700)))
        return self._soft / self._ohm * soft, slope / self._ohm


def filament_current(law: FilamentLaw, v: float) -> float:
    """Current in A of one filament at `v` volts."""
    current, _ = PortLaws([law]).current_and_slope(np.array([v]))
    return float(current[0])


def log_flux(v: Floats, v_normal: Floats) -> Floats:
    """log10 of luminous flux relative to that at `v_normal`; −6 stands for nothing at all.

    Args:
        v: Filament voltages, shape (…, lamps); the sign does not matter.
        v_normal: Voltage at which a person calls each lamp normal, shape (lamps,).
    """
    relative = np.abs(v) / v_normal
    return np.asarray(np.maximum(FLUX_EXPONENT * np.log10(np.maximum(relative, 1e-9)), -6.0))
