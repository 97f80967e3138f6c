"""Loss inside a building by ITU-R P.1238: the older distance power law and the site-general form.

Both are medians over places; a single place scatters about them by the standard deviation.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, overload

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import OutOfRange
from linkbudget.core.sources import Source
from linkbudget.core.tables import load_sourced_rows
from linkbudget.physics.arrays import float_or_array, require_all_within
from linkbudget.physics.validity import require_within

PowerLawEnvironment = Literal["residential", "house", "office", "commercial"]
SiteGeneralEnvironment = Literal["office", "corridor", "industrial"]
Sight = Literal["line of sight", "no line of sight"]

# the Recommendation says "more than 1 m"; the far end is ours, no longer path is indoors
_POWER_LAW_NEAREST_M, _POWER_LAW_FARTHEST_M = 1.0, 100.0
_OTHER_MODEL = "Beyond it, state an exponent of your own."


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """Coefficients of the distance power law in one environment and band.

    Parameters
    ----------
    environment : str
    low_hz, high_hz : float
        The band [Hz].
    coefficient : float
        Loss per decade of distance, N [dB].
    floor_losses_db : tuple of float
        Loss through one floor, two floors, ...; empty where none is tabled [dB].
    deviation_db : float
        Standard deviation over places [dB].
    source : Source
    """

    environment: str
    low_hz: float
    high_hz: float
    coefficient: float
    floor_losses_db: tuple[float, ...]
    deviation_db: float
    source: Source


@dataclass(frozen=True, slots=True)
class SiteGeneral:
    """Coefficients of the site-general form, and where they hold.

    Parameters
    ----------
    alpha, beta, gamma : float
        Of distance [1], offset [dB], of frequency [1].
    deviation_db : float
        Standard deviation over places [dB].
    low_hz, high_hz, low_m, high_m : float
        Measured frequencies [Hz] and distances [m].
    source : Source
    """

    alpha: float
    beta: float
    gamma: float
    deviation_db: float
    low_hz: float
    high_hz: float
    low_m: float
    high_m: float
    source: Source


@cache
def _power_laws() -> tuple[PowerLaw, ...]:
    return tuple(
        PowerLaw(
            row.cells["environment"],
            row.number("low_hz"),
            row.number("high_hz"),
            row.number("coefficient"),
            tuple(float(loss) for loss in row.cells["floor_losses_db"].split(";") if loss),
            row.number("deviation_db"),
            row.source,
        )
        for row in load_sourced_rows("propagation/indoor_power_law.csv")
    )


@cache
def _site_generals() -> dict[tuple[str, str], SiteGeneral]:
    return {
        (row.cells["environment"], row.cells["sight"]): SiteGeneral(
            row.number("alpha"),
            row.number("beta"),
            row.number("gamma"),
            row.number("deviation_db"),
            row.number("low_hz"),
            row.number("high_hz"),
            row.number("low_m"),
            row.number("high_m"),
            row.source,
        )
        for row in load_sourced_rows("propagation/indoor_site_general.csv")
    }


def indoor_power_law(environment: PowerLawEnvironment, frequency_hz: float) -> PowerLaw:
    """Return the coefficients of the distance power law, with their source.

    Parameters
    ----------
    environment : {"residential", "house", "office", "commercial"}
        "residential" is an apartment building.
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    PowerLaw

    Raises
    ------
    OutOfRange
        Where no row of the environment holds the frequency; all its bands are told.

    Examples
    --------
    >>> indoor_power_law("office", 2.44e9).coefficient
    30.0
    """
    laws = [law for law in _power_laws() if law.environment == environment]
    for law in laws:
        if law.low_hz <= frequency_hz <= law.high_hz:
            return law
    near = min(laws, key=lambda law: abs(law.low_hz + law.high_hz - 2.0 * frequency_hz))
    bands = ", ".join(f"{law.low_hz / 1e9:g} to {law.high_hz / 1e9:g} GHz" for law in laws)
    raise OutOfRange(
        "frequency (Hz)",
        frequency_hz,
        near.low_hz,
        near.high_hz,
        f"The indoor power law of {environment} is tabled for {bands}. {_OTHER_MODEL}",
    )


@overload
def indoor_power_law_loss_db(
    frequency_hz: float, distance_m: float, environment: PowerLawEnvironment, floors: int = 0
) -> tuple[float, float]: ...
@overload
def indoor_power_law_loss_db(
    frequency_hz: float, distance_m: FloatArray, environment: PowerLawEnvironment, floors: int = 0
) -> tuple[FloatArray, float]: ...
def indoor_power_law_loss_db(
    frequency_hz: float,
    distance_m: float | FloatArray,
    environment: PowerLawEnvironment,
    floors: int = 0,
) -> tuple[float | FloatArray, float]:
    """Return the loss by the older form of ITU-R P.1238 and its standard deviation over places.

    Parameters
    ----------
    frequency_hz : float
        Frequency, within a band of the table [Hz].
    distance_m : float or array of any shape
        Distance, 1 to 100 m [m].
    environment : {"residential", "house", "office", "commercial"}
        "residential" is an apartment building.
    floors : int
        Floors between the two ends; three at most, at 2.4 and 5.2 GHz one.

    Returns
    -------
    loss_db : float or array of the same shape
        Median loss between isotropic antennas [dB].
    deviation_db : float
        Standard deviation over places [dB].

    Raises
    ------
    OutOfRange
        Where the table or the formula does not reach.

    Notes
    -----
    ``L = 20 log10(f/MHz) + N log10(d) + Lf(n) - 28``. Walls between the ends are within N, so no
    wall may be added. The document says more than 1 m; the far end of 100 m is our own.

    References
    ----------
    ITU-R P.1238, editions up to P.1238-10, distance power law and its tables, read second hand
    or from memory as each row says.

    Examples
    --------
    >>> loss_db, deviation_db = indoor_power_law_loss_db(2.44e9, 10.0, "office")
    >>> round(loss_db, 2), deviation_db
    (69.75, 10.0)
    """
    law = indoor_power_law(environment, frequency_hz)
    require_within(
        f"floors in between ({environment}, {law.low_hz / 1e9:g} to {law.high_hz / 1e9:g} GHz)",
        floors,
        0,
        len(law.floor_losses_db),
        "The table has no loss for more; state the loss of the floors instead.",
    )
    d = np.asarray(distance_m, dtype=float)
    require_all_within("distance (m)", d, _POWER_LAW_NEAREST_M, _POWER_LAW_FARTHEST_M, _OTHER_MODEL)
    floor_db = law.floor_losses_db[floors - 1] if floors else 0.0
    at_1_m_db = 20.0 * np.log10(frequency_hz / 1e6) - 28.0
    return float_or_array(at_1_m_db + law.coefficient * np.log10(d) + floor_db), law.deviation_db


def indoor_site_general(environment: SiteGeneralEnvironment, sight: Sight) -> SiteGeneral:
    """Return the coefficients of the site-general form, with their source.

    Parameters
    ----------
    environment : {"office", "corridor", "industrial"}
    sight : {"line of sight", "no line of sight"}

    Returns
    -------
    SiteGeneral

    Examples
    --------
    >>> indoor_site_general("corridor", "line of sight").high_m
    160.0
    """
    return _site_generals()[environment, sight]


@overload
def indoor_site_general_loss_db(
    frequency_hz: float, distance_m: float, environment: SiteGeneralEnvironment, sight: Sight
) -> tuple[float, float]: ...
@overload
def indoor_site_general_loss_db(
    frequency_hz: float, distance_m: FloatArray, environment: SiteGeneralEnvironment, sight: Sight
) -> tuple[FloatArray, float]: ...
def indoor_site_general_loss_db(
    frequency_hz: float,
    distance_m: float | FloatArray,
    environment: SiteGeneralEnvironment,
    sight: Sight,
) -> tuple[float | FloatArray, float]:
    """Return the loss by the site-general form of ITU-R P.1238-11 and its standard deviation.

    Parameters
    ----------
    frequency_hz : float
        Frequency, within the measured range of the row [Hz].
    distance_m : float or array of any shape
        Distance, within the measured range of the row; one floor of a building [m].
    environment : {"office", "corridor", "industrial"}
    sight : {"line of sight", "no line of sight"}

    Returns
    -------
    loss_db : float or array of the same shape
        Median loss between isotropic antennas [dB].
    deviation_db : float
        Standard deviation over places [dB].

    Raises
    ------
    OutOfRange
        Outside the row's frequencies or distances.

    Notes
    -----
    ``L = 10 alpha log10(d) + beta + 10 gamma log10(f)``, d in m and f in GHz: beta is near the
    32.4 dB that free space costs at 1 m and 1 GHz, which no other unit of frequency gives.

    References
    ----------
    ITU-R P.1238-11, site-general form, Table 2 (from memory).

    Examples
    --------
    >>> loss_db, deviation_db = indoor_site_general_loss_db(2.44e9, 10.0, "office", "line of sight")
    >>> round(loss_db, 2), deviation_db
    (57.08, 3.76)
    """
    row = indoor_site_general(environment, sight)
    where = f"{environment}, {sight}: "
    require_within(f"{where}frequency (Hz)", frequency_hz, row.low_hz, row.high_hz, _OTHER_MODEL)
    d = np.asarray(distance_m, dtype=float)
    require_all_within(f"{where}distance (m)", d, row.low_m, row.high_m, _OTHER_MODEL)
    at_1_m_db = row.beta + 10.0 * row.gamma * np.log10(frequency_hz / 1e9)
    return float_or_array(at_1_m_db + 10.0 * row.alpha * np.log10(d)), row.deviation_db
