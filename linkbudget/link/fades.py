"""What fading may take from the level at a wanted reliability, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import Exact, of_quantity
from linkbudget.core.errors import MissingData
from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import Draws
from linkbudget.physics.rice import LARGEST_K_DB
from linkbudget.physics.shadowed_fading import LARGEST_SIGMA_DB, shadowed_margin_db

FadingModel = Literal[
    "none",
    "rayleigh",
    "rice",
    "log-normal",
    "rayleigh and log-normal",
    "rice and log-normal",
]
Share = Literal["time", "places", "time or places"]

_HELD = 0.9999  # share of the draws that the table holds; those beyond take its ends
_NO_ECHOES, _NO_DIRECT_RAY = math.inf, -math.inf
_RICE_FACTOR, _SHADOWING = "Rice factor", "spread of shadowing"
_KNOTS = {_RICE_FACTOR: 25, _SHADOWING: 9}  # of each axis; it bends most along the Rice factor


@dataclass(frozen=True)
class FadeLaw:
    """How the level varies about its median, and in how many cases the link shall work.

    Parameters
    ----------
    model : str
        "none", "rayleigh" (echoes alone), "rice" (echoes beside a direct ray), "log-normal"
        (shadowing alone), or both kinds together.
    reliability : float
        Share of the cases that shall work [1].
    share : {"time", "places", "time or places"}
        What the cases are.
    rice_factor : Quantity, optional
        Direct power over that of the echoes [dB], for "rice".
    sigma : Quantity, optional
        Standard deviation of shadowing [dB], for "log-normal".

    Raises
    ------
    MissingData
        Where the model needs a value that is not given.

    Examples
    --------
    >>> print(FadeLaw("rayleigh", 0.99).allowance)
    20.0 dB
    """

    model: FadingModel
    reliability: float
    share: Share = "time or places"
    rice_factor: Quantity | None = None
    sigma: Quantity | None = None

    def __post_init__(self) -> None:
        """Refuse a model without its value."""
        if self._has_direct_ray and self.rice_factor is None:
            raise MissingData("no Rice factor", "direct power over that of the echoes in dB")
        if self._is_shadowed and self.sigma is None:
            raise MissingData("no standard deviation", "the spread of the level in dB")

    @property
    def _has_direct_ray(self) -> bool:
        return self.model.startswith("rice")

    @property
    def _is_shadowed(self) -> bool:
        return self.model.endswith("log-normal")

    def quantities(self) -> dict[str, Quantity]:
        """Return what the law rests on, by name."""
        told = {}
        if self._has_direct_ray and self.rice_factor is not None:
            told[_RICE_FACTOR] = self.rice_factor
        if self._is_shadowed and self.sigma is not None:
            told[_SHADOWING] = self.sigma
        return told

    @property
    def typical_k_db(self) -> float:
        """Rice factor [dB]; minus infinity for echoes alone, infinity for none."""
        if self._has_direct_ray and self.rice_factor is not None:
            return self.rice_factor.value
        return _NO_DIRECT_RAY if self.model.startswith("rayleigh") else _NO_ECHOES

    @property
    def typical_sigma_db(self) -> float:
        """Standard deviation of shadowing [dB]; 0 without it."""
        return self.sigma.value if self._is_shadowed and self.sigma is not None else 0.0

    @property
    def allowance(self) -> Quantity:
        """What fading may take at the wanted reliability [dB], with its band.

        Zero or more, since a low reliability earns no bonus.
        """
        value_db = self._at(self.typical_k_db, self.typical_sigma_db)
        if self.model == "none":
            return Quantity(value_db, "dB", "stated", source="no fading")
        source = f"{self.model} fading, {self.reliability:.6g} of {self.share}, {self._relative}"
        corners = [
            self._at(k_db, sigma_db)
            for k_db in self._ends(_RICE_FACTOR, self.typical_k_db)
            for sigma_db in self._ends(_SHADOWING, self.typical_sigma_db)
        ]
        low_db, high_db = min(corners), max(corners)
        if low_db == high_db:
            return Quantity(value_db, "dB", "computed", source=source)
        return Quantity(value_db, "dB", "computed", low_db, high_db, source)

    def allowance_db(self, drawn: Draws) -> FloatArray | float:
        """Return the allowance for each draw of what the law rests on [dB].

        Parameters
        ----------
        drawn : mapping of array
            Rice factors and standard deviations by the names of ``quantities``; what is not drawn
            has its typical value.

        Notes
        -----
        By straight lines in a table, 25 Rice factors by 9 standard deviations. At 99 % that is
        within 0.1 dB of the formula for a Rice factor of 0 to 12 dB and shadowing of 3 to 7 dB.
        """
        k_db, sigma_db = drawn.get(_RICE_FACTOR), drawn.get(_SHADOWING)
        if k_db is None and sigma_db is None:
            return self._at(self.typical_k_db, self.typical_sigma_db)
        k_knots, sigma_knots, table_db = self._table
        return _between(table_db, _place(k_knots, k_db), _place(sigma_knots, sigma_db))

    @property
    def _relative(self) -> str:
        if not self._is_shadowed:
            return "relative to the mean power"
        if self.model == "log-normal":
            return "relative to the median level"
        return "relative to the mean power of the median place"

    def _at(self, k_db: float, sigma_db: float) -> float:
        return _allowance_db(self.reliability, k_db, sigma_db)

    def _ends(self, name: str, typical: float) -> tuple[float, ...]:
        quantity = self.quantities().get(name)
        return (typical,) if quantity is None else quantity.band

    @cached_property
    def _table(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Allowance over a grid that holds all but one draw in ten thousand."""
        k_knots = self._knots(_RICE_FACTOR, self.typical_k_db, -LARGEST_K_DB, LARGEST_K_DB)
        sigma_knots = self._knots(_SHADOWING, self.typical_sigma_db, 0.0, LARGEST_SIGMA_DB)
        rows = [[self._at(k_db, sigma_db) for sigma_db in sigma_knots] for k_db in k_knots]
        return np.array(k_knots), np.array(sigma_knots), np.array(rows)

    def _knots(self, name: str, typical: float, least: float, most: float) -> list[float]:
        quantity = self.quantities().get(name)
        shape = Exact(typical) if quantity is None else of_quantity(quantity)
        low, high = shape.interval(_HELD)
        if low == high:
            return [typical, typical]
        knots: list[float] = np.linspace(max(low, least), min(high, most), _KNOTS[name]).tolist()
        return knots


@lru_cache(maxsize=4096)
def _allowance_db(reliability: float, k_db: float, sigma_db: float) -> float:
    return max(0.0, shadowed_margin_db(reliability, k_db, sigma_db))


def _place(knots: FloatArray, drawn: FloatArray | None) -> FloatArray:
    """Return where each draw stands among the knots, held at the ends."""
    if drawn is None:
        return np.zeros(1)
    per_knot = (len(knots) - 1) / (knots[-1] - knots[0])
    place: FloatArray = np.clip((drawn - knots[0]) * per_knot, 0.0, len(knots) - 1.0)
    return place


def _between(table: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
    """Return bilinear values of a table at places among its rows and columns."""
    rows, columns = table.shape
    i = np.minimum(row.astype(np.intp), rows - 2)
    j = np.minimum(column.astype(np.intp), columns - 2)
    u, v = row - i, column - j
    flat, at = table.ravel(), i * columns + j
    near: FloatArray = flat[at]
    near += (flat[at + 1] - near) * v
    at += columns
    far: FloatArray = flat[at]
    far += (flat[at + 1] - far) * v
    far -= near
    far *= u
    far += near
    return far
