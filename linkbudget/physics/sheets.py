"""A plane wave through flat layers: metal sheet, plastic, coating."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM
from linkbudget.core.errors import InputError
from linkbudget.physics.validity import require_positive, require_within

SHEET_LOSS_FLOOR_DB = 200.0
"""Largest loss that is reported; a solid sheet beyond it reads "at least 200 dB".

A millimetre of metal computes to thousands of dB, which underflows and means nothing: any seam
or opening carries more.
"""


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
    Each layer is a transmission line of the material's wave impedance and propagation constant,
    in ports of 376.73 ohm; the lines are cascaded and ``-20 log10 |S21|`` is taken. An endless
    sheet without openings, in the far field of its source: a small source close by sees less
    reflection of its magnetic field.

    References
    ----------
    D. M. Pozar, Microwave Engineering, plane waves at normal incidence on a conductor, and
    transmission-line cascades (from memory). A. Arsenovic et al., scikit-rf: An Open Source Python
    Package for Microwave Network Creation, Analysis, and Calibration, IEEE Microwave Magazine 2022.

    Examples
    --------
    >>> sheet_loss_db(2.44e9, [Layer(1.5e-3, conductivity_s_per_m=2.0e7)])
    200.0
    >>> round(sheet_loss_db(2.44e9, [Layer(2e-3, relative_permittivity=3.0 - 0.03j)]), 2)
    0.06
    """
    from skrf import Frequency
    from skrf.media import Freespace

    require_positive("frequency (Hz)", frequency_hz)
    if not layers:
        raise InputError("a sheet without a layer", "at least one layer")
    point = Frequency.from_f([frequency_hz], unit="hz")
    cascade = None
    for layer in layers:
        conducts = layer.conductivity_s_per_m > 0.0
        medium = Freespace(
            point,
            z0_port=FREE_SPACE_IMPEDANCE_OHM,
            ep_r=complex(layer.relative_permittivity),
            mu_r=layer.relative_permeability,
            rho=1.0 / layer.conductivity_s_per_m if conducts else None,
        )
        line = medium.line(layer.thickness_m, "m")
        cascade = line if cascade is None else cascade**line
    transmitted = abs(complex(cascade.s[0, 1, 0])) if cascade is not None else 1.0
    if transmitted == 0.0:  # underflow in a sheet of very many skin depths
        return SHEET_LOSS_FLOOR_DB
    return min(max(-20.0 * math.log10(transmitted), 0.0), SHEET_LOSS_FLOOR_DB)
