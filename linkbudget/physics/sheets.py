"""A plane wave through flat layers: metal sheet, plastic, coating."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM
from linkbudget.core.errors import InputError
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S
from linkbudget.physics.validity import require_positive, require_within

SHEET_LOSS_FLOOR_DB = 200.0
"""Largest loss that is reported; a solid sheet beyond it reads "at least 200 dB".

A millimetre of metal computes to thousands of dB, which underflows and means nothing: any seam
or opening carries more.
"""

_MU_0 = FREE_SPACE_IMPEDANCE_OHM / SPEED_OF_LIGHT_M_PER_S  # [H/m]
_EPSILON_0 = 1.0 / (FREE_SPACE_IMPEDANCE_OHM * SPEED_OF_LIGHT_M_PER_S)  # [F/m]
_OPAQUE_NEPER = 28.0  # 243 dB of absorption: reflections do not bring that under the floor


@dataclass(frozen=True, slots=True)
class Layer:
    """One flat layer across the wave.

    Parameters
    ----------
    thickness_m : float
        Thickness along the wave [m].
    conductivity_s_per_m : float
        Conductivity [S/m]; 0 for an insulator.
    relative_permeability : float
        Permeability over that of vacuum [1].
    relative_permittivity : complex
        Permittivity over that of vacuum [1]; a negative imaginary part is lossy.
    """

    thickness_m: float
    conductivity_s_per_m: float = 0.0
    relative_permeability: float = 1.0
    relative_permittivity: complex = 1.0

    def __post_init__(self) -> None:
        """Refuse a layer that no sheet can be."""
        require_positive("layer thickness (m)", self.thickness_m)
        require_within("layer conductivity (S/m)", self.conductivity_s_per_m, 0.0, 1e12)
        require_positive("relative permeability", self.relative_permeability)
        require_positive("relative permittivity", self.relative_permittivity.real)
        if self.relative_permittivity.imag > 0.0:
            raise InputError(
                f"relative permittivity {self.relative_permittivity}",
                "an imaginary part of zero, or negative for a lossy material",
            )


def sheet_loss_db(frequency_hz: float, layers: Sequence[Layer]) -> float:
    """Return what a plane wave loses through a stack of layers in air, at normal incidence.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    layers : sequence of Layer
        In the order in which the wave meets them, at least one.

    Returns
    -------
    float
        Transmission loss [dB], reflections and absorption together, ``SHEET_LOSS_FLOOR_DB`` at
        most: there it means "at least".

    Raises
    ------
    InputError
        Where there is no layer, or the frequency is not greater than zero.

    Notes
    -----
    Each layer is a transmission line of the material's wave impedance and propagation constant; the
    chain matrices are multiplied, and between ports of Z0 = 376.73 ohm the loss is
    ``20 log10 |(A + B/Z0 + C Z0 + D) / 2|``. An endless
    sheet without openings, in the far field of its source: a small source close by sees less
    reflection of its magnetic field.

    References
    ----------
    D. M. Pozar, Microwave Engineering, plane waves at normal incidence on a conductor, and
    chain (ABCD) matrices of two-port networks (from memory).

    Examples
    --------
    >>> sheet_loss_db(2.44e9, [Layer(1.5e-3, conductivity_s_per_m=2.0e7)])
    200.0
    >>> round(sheet_loss_db(2.44e9, [Layer(2e-3, relative_permittivity=3.0 - 0.03j)]), 2)
    0.06
    """
    require_positive("frequency (Hz)", frequency_hz)
    if not layers:
        raise InputError("a sheet without a layer", "at least one layer")
    omega = 2.0 * math.pi * frequency_hz
    z0_ohm = FREE_SPACE_IMPEDANCE_OHM
    a, b, c, d = 1.0 + 0.0j, 0.0j, 0.0j, 1.0 + 0.0j
    decay = 0.0
    for layer in layers:
        wave_ohm, through = _as_line(layer, omega)
        decay += through.real
        if decay > _OPAQUE_NEPER:  # thousands of dB would overflow
            return SHEET_LOSS_FLOOR_DB
        cosh, sinh = cmath.cosh(through), cmath.sinh(through)
        a, b = a * cosh + b * sinh / wave_ohm, a * wave_ohm * sinh + b * cosh
        c, d = c * cosh + d * sinh / wave_ohm, c * wave_ohm * sinh + d * cosh
    over = abs(a + b / z0_ohm + c * z0_ohm + d) / 2.0
    return min(max(20.0 * math.log10(over), 0.0), SHEET_LOSS_FLOOR_DB)


def _as_line(layer: Layer, omega: float) -> tuple[complex, complex]:
    """Return the wave impedance of a layer [ohm], and its propagation constant times thickness."""
    permittivity = complex(layer.relative_permittivity) * _EPSILON_0
    permittivity -= 1j * layer.conductivity_s_per_m / omega
    permeability = layer.relative_permeability * _MU_0
    through = 1j * omega * cmath.sqrt(permeability * permittivity) * layer.thickness_m
    return cmath.sqrt(permeability / permittivity), through
