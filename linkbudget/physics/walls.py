"""A wall by material and thickness: a plane wave through a slab, its ripple kept or averaged."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from linkbudget.physics.dielectrics import BuildingMaterial
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB, Layer, sheet_loss_db
from linkbudget.physics.validity import require_within


@dataclass(frozen=True, slots=True)
class WallLoss:
    """Loss of a wall whose thickness is not known to a fraction of the wavelength.

    Parameters
    ----------
    mean_db : float
        Of the power averaged over one ripple of thickness [dB].
    low_db, high_db : float
        Where the reflections within the wall add up, and where they cancel [dB].
    """

    mean_db: float
    low_db: float
    high_db: float


def wall_layer(material: BuildingMaterial, thickness_m: float, frequency_hz: float) -> Layer:
    """Return one layer of a wall, to be stacked with others by ``physics.sheets``.

    Parameters
    ----------
    material : BuildingMaterial
    thickness_m : float
        Thickness [m].
    frequency_hz : float
        Frequency, within the range of the material [Hz].

    Raises
    ------
    InputError, OutOfRange
        A thickness not greater than zero; a frequency outside the material's table.
    """
    found = material.at(frequency_hz)
    return Layer(
        thickness_m,
        conductivity_s_per_m=found.conductivity_s_per_m,
        relative_permittivity=found.relative_permittivity,
    )


def wall_loss_db(material: BuildingMaterial, thickness_m: float, frequency_hz: float) -> float:
    """Return the loss of a plane wave through a wall of exactly known thickness, face on.

    Parameters
    ----------
    material : BuildingMaterial
    thickness_m : float
        Thickness, known to a small part of the wavelength within: a pane, a board [m].
    frequency_hz : float
        Frequency, within the range of the material [Hz].

    Returns
    -------
    float
        Transmission loss [dB], reflections and absorption together, 200 dB at most.

    Raises
    ------
    InputError, OutOfRange
        A thickness not greater than zero; a frequency outside the material's table.

    Notes
    -----
    A homogeneous slab without openings, reinforcement or coating. Oblique waves lose more, save
    near Brewster's angle.

    References
    ----------
    ITU-R P.2040-2, slab of one layer, with the materials of its Table 3 (second hand; see the
    material's source).

    Examples
    --------
    >>> from linkbudget.physics.dielectrics import building_material
    >>> round(wall_loss_db(building_material("plasterboard"), 0.0125, 2.44e9), 2)
    1.09
    """
    return sheet_loss_db(frequency_hz, [wall_layer(material, thickness_m, frequency_hz)])


def thick_wall_loss(
    material: BuildingMaterial, thickness_m: float, frequency_hz: float
) -> WallLoss:
    """Return the loss through a wall whose thickness is known to centimetres only.

    Parameters
    ----------
    material : BuildingMaterial
    thickness_m : float
        Thickness, a quarter of the wavelength within the wall or more [m].
    frequency_hz : float
        Frequency, within the range of the material [Hz].

    Returns
    -------
    WallLoss
        Mean, and the ends of the ripple that the reflections within the wall make over a quarter
        wavelength of thickness either way.

    Raises
    ------
    OutOfRange
        A wall thinner than a quarter of the wavelength within it, whose thickness is better known:
        see ``wall_loss_db``. A frequency outside the material's table.

    Notes
    -----
    With r the reflection at one face and A the absorption once through, the share of the field is
    ``|(1 - r^2) A / (1 - r^2 A^2 exp(j phase))|``: least and most at ``1 +- |r|^2 A^2``, and its
    square averages over all phases to ``|1 - r^2|^2 A^2 / (1 - |r|^4 A^4)`` (Poisson's kernel).

    References
    ----------
    M. Born, E. Wolf, Principles of Optics, plane parallel plate (from memory). ITU-R P.2040-2 for
    the materials.

    Examples
    --------
    >>> from linkbudget.physics.dielectrics import building_material
    >>> loss = thick_wall_loss(building_material("concrete"), 0.2, 2.44e9)
    >>> round(loss.low_db, 1), round(loss.mean_db, 1), round(loss.high_db, 1)
    (14.6, 14.7, 14.8)
    """
    index = cmath.sqrt(material.at(frequency_hz).complex_permittivity(frequency_hz))
    outside_m = wavelength_m(frequency_hz)
    require_within(
        "wall thickness (m)",
        thickness_m,
        outside_m / index.real / 4.0,
        math.inf,
        "A thinner wall has a thickness that is known well enough to be used as it is.",
    )
    reflected = abs((1.0 - index) / (1.0 + index)) ** 2
    entered = abs(4.0 * index / (1.0 + index) ** 2)  # 1 - r^2
    absorbed_db = 20.0 * math.log10(math.e) * 2.0 * math.pi * thickness_m / outside_m * -index.imag
    echo = reflected * 10.0 ** (-absorbed_db / 10.0)
    once_db = absorbed_db - 20.0 * math.log10(entered)
    losses = (
        once_db + 10.0 * math.log10(1.0 - echo**2),
        once_db + 20.0 * math.log10(1.0 - echo),
        once_db + 20.0 * math.log10(1.0 + echo),
    )
    return WallLoss(*(min(loss, SHEET_LOSS_FLOOR_DB) for loss in losses))
