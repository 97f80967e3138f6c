"""Building materials and grounds by name: permittivity and conductivity against frequency."""

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

VACUUM_PERMITTIVITY_F_PER_M = 1.0 / (FREE_SPACE_IMPEDANCE_OHM * SPEED_OF_LIGHT_M_PER_S)


@dataclass(frozen=True, slots=True)
class Dielectric:
    """A lossy material at one frequency.

    Parameters
    ----------
    relative_permittivity : float
        Real part over the permittivity of vacuum [1], one or more.
    conductivity_s_per_m : float
        Conductivity that stands for all losses [S/m], zero or more.
    """

    relative_permittivity: float
    conductivity_s_per_m: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no material is."""
        require_within("relative permittivity", self.relative_permittivity, 1.0, 1e4)
        require_within("conductivity (S/m)", self.conductivity_s_per_m, 0.0, 1e9)

    def complex_permittivity(self, frequency_hz: float) -> complex:
        """Return the relative permittivity [1] with its losses as a negative imaginary part.

        Notes
        -----
        ``eta = eps_r - j sigma / (2 pi f eps_0)``, ITU-R P.2040, complex permittivity (from
        memory).

        Examples
        --------
        >>> eta = Dielectric(5.24, 0.0916).complex_permittivity(2.4e9)
        >>> print(f"{eta:.3f}")
        5.240-0.686j
        """
        require_positive("frequency (Hz)", frequency_hz)
        loss = self.conductivity_s_per_m / (
            2.0 * math.pi * frequency_hz * VACUUM_PERMITTIVITY_F_PER_M
        )
        return complex(self.relative_permittivity, -loss)


@dataclass(frozen=True, slots=True)
class BuildingMaterial:
    """One material of the shipped table.

    Parameters
    ----------
    name : str
    a, b : float
        Relative permittivity ``a f^b``, f in GHz [1].
    c, d : float
        Conductivity ``c f^d``, f in GHz [S/m].
    low_hz, high_hz : float
        Where the fit holds [Hz].
    source : Source
    """

    name: str
    a: float
    b: float
    c: float
    d: float
    low_hz: float
    high_hz: float
    source: Source

    def holds_at(self, frequency_hz: float) -> bool:
        """Return whether the table reaches to a frequency [Hz]."""
        return self.low_hz <= frequency_hz <= self.high_hz

    def at(self, frequency_hz: float) -> Dielectric:
        """Return the material at a frequency [Hz].

        Raises
        ------
        OutOfRange
            Outside the frequencies of the table.

        References
        ----------
        ITU-R P.2040-2, equations 28 and 29 and Table 3 (second hand; see the row's source).

        Examples
        --------
        >>> concrete = building_material("concrete").at(2.4e9)
        >>> concrete.relative_permittivity, round(concrete.conductivity_s_per_m, 4)
        (5.24, 0.0916)
        """
        require_within(
            f"{self.name} is tabled against frequency; frequency (MHz)",
            frequency_hz / 1e6,
            self.low_hz / 1e6,
            self.high_hz / 1e6,
            "State the loss of the wall instead.",
        )
        ghz = frequency_hz / 1e9
        return Dielectric(self.a * ghz**self.b, self.c * ghz**self.d)


@cache
def _building_materials() -> dict[str, BuildingMaterial]:
    return {
        row.cells["name"]: BuildingMaterial(
            row.cells["name"],
            row.number("a"),
            row.number("b"),
            row.number("c"),
            row.number("d"),
            row.number("low_hz"),
            row.number("high_hz"),
            row.source,
        )
        for row in load_sourced_rows("materials/building.csv")
    }


def building_material_names() -> tuple[str, ...]:
    """Return the names of all building materials and grounds, in the table's order.

    Examples
    --------
    >>> "plasterboard" in building_material_names()
    True
    """
    return tuple(_building_materials())


def building_material(name: str) -> BuildingMaterial:
    """Look a building material or a ground up by name.

    Parameters
    ----------
    name : str
        One of ``building_material_names()``; capitals and outer blanks do not matter.

    Returns
    -------
    BuildingMaterial
        Its coefficients, and where they come from.

    Raises
    ------
    InputError
        Where the table has no such material; the nearest name is told.
    """
    wanted = " ".join(name.lower().split())
    row = _building_materials().get(wanted)
    if row is None:
        near = difflib.get_close_matches(wanted, _building_materials(), n=1, cutoff=0.6)
        hint = f'Did you mean "{near[0]}"? ' if near else ""
        raise InputError(
            repr(name[:60]),
            "one of " + ", ".join(_building_materials()),
            hint + "For another material, state the loss itself.",
        )
    return row
