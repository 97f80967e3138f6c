"""Metals by name, and how deep a field enters them."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass
from functools import cache

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM
from linkbudget.core.errors import InputError
from linkbudget.core.sources import Source
from linkbudget.core.tables import load_sourced_rows
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S
from linkbudget.physics.validity import require_positive, require_within

VACUUM_PERMEABILITY_H_PER_M = FREE_SPACE_IMPEDANCE_OHM / SPEED_OF_LIGHT_M_PER_S
DB_PER_NEPER = 20.0 / math.log(10.0)  # 8.686


@dataclass(frozen=True, slots=True)
class MaterialRow:
    """One metal of the shipped table.

    Parameters
    ----------
    name : str
    conductivity_s_per_m : float
        Direct-current conductivity near 20 degC [S/m].
    relative_permeability : float
        At radio frequencies [1].
    source : Source
    """

    name: str
    conductivity_s_per_m: float
    relative_permeability: float
    source: Source


@cache
def _metals() -> dict[str, MaterialRow]:
    return {
        row.cells["name"]: MaterialRow(
            row.cells["name"],
            row.number("conductivity_s_per_m"),
            row.number("relative_permeability"),
            row.source,
        )
        for row in load_sourced_rows("materials/metals.csv")
    }


def metal_names() -> tuple[str, ...]:
    """Return the names of all metals in the shipped table, in its order.

    Examples
    --------
    >>> "copper" in metal_names()
    True
    """
    return tuple(_metals())


def metal(name: str) -> MaterialRow:
    """Look a metal up by name.

    Parameters
    ----------
    name : str
        One of ``metal_names()``; capitals and outer blanks do not matter.

    Returns
    -------
    MaterialRow
        Conductivity, permeability, and where they come from.

    Raises
    ------
    InputError
        Where the table has no such metal; the nearest name is told.

    Examples
    --------
    >>> metal("copper").conductivity_s_per_m
    58000000.0
    """
    wanted = " ".join(name.lower().split())
    row = _metals().get(wanted)
    if row is None:
        near = difflib.get_close_matches(wanted, _metals(), n=1, cutoff=0.6)
        hint = f'Did you mean "{near[0]}"? ' if near else ""
        raise InputError(
            repr(name[:60]),
            "one of " + ", ".join(_metals()),
            hint + "For another metal, state its conductivity instead.",
        )
    return row


def skin_depth_m(
    frequency_hz: float, conductivity_s_per_m: float, relative_permeability: float = 1.0
) -> float:
    """Return the depth at which a field in a good conductor has fallen to 1/e.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    conductivity_s_per_m : float
        Conductivity [S/m].
    relative_permeability : float
        Permeability over that of vacuum [1].

    Returns
    -------
    float
        Skin depth [m].

    Raises
    ------
    InputError
        Where an input is not greater than zero.

    Notes
    -----
    ``delta = 1 / sqrt(pi f mu sigma)``; holds where conduction outweighs displacement,
    ``sigma >> 2 pi f epsilon``, which every metal meets far beyond 100 GHz.

    References
    ----------
    H. W. Ott, Electromagnetic Compatibility Engineering, Wiley 2009, chapter 6, skin depth
    (from memory).

    Examples
    --------
    >>> round(skin_depth_m(1e6, 5.8e7) * 1e6, 1)
    66.1
    """
    require_positive("frequency (Hz)", frequency_hz)
    require_positive("conductivity (S/m)", conductivity_s_per_m)
    require_positive("relative permeability", relative_permeability)
    permeability = relative_permeability * VACUUM_PERMEABILITY_H_PER_M
    return 1.0 / math.sqrt(math.pi * frequency_hz * permeability * conductivity_s_per_m)


def absorption_loss_db(
    frequency_hz: float,
    thickness_m: float,
    conductivity_s_per_m: float,
    relative_permeability: float = 1.0,
) -> float:
    """Return what a wave loses on its way once through a metal, without any reflection.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    thickness_m : float
        Thickness of the metal [m], zero or more.
    conductivity_s_per_m : float
        Conductivity [S/m].
    relative_permeability : float
        Permeability over that of vacuum [1].

    Returns
    -------
    float
        Absorption loss [dB], zero or more.

    Raises
    ------
    InputError, OutOfRange
        Where an input is not physical.

    Notes
    -----
    ``A = 8.686 t / delta``. The loss of a sheet in air is more, by the reflection at its two
    faces: see ``physics.sheets``.

    References
    ----------
    MIL-HDBK-419A, Grounding, Bonding, and Shielding, volume I, equation 8-5.
    """
    require_within("thickness (m)", thickness_m, 0.0, math.inf)
    depth_m = skin_depth_m(frequency_hz, conductivity_s_per_m, relative_permeability)
    return DB_PER_NEPER * thickness_m / depth_m
