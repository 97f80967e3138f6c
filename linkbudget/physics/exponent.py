"""Loss by a power of the distance: the user's exponent, or one fitted to a measured series."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, MissingData
from linkbudget.physics.arrays import float_or_array, require_all_within
from linkbudget.physics.propagation import free_space_loss_db
from linkbudget.physics.validity import require_within

_FEWEST_DISTANCES = 3
_FURTHEST_STEP = 10.0  # a prediction leaves the measured distances by a decade at most
_EXPONENT_RANGE = (1.0, 8.0)


@overload
def exponent_loss_db(
    frequency_hz: float, distance_m: float, exponent: float, reference_m: float = 1.0
) -> float: ...
@overload
def exponent_loss_db(
    frequency_hz: float, distance_m: FloatArray, exponent: float, reference_m: float = 1.0
) -> FloatArray: ...
def exponent_loss_db(
    frequency_hz: float,
    distance_m: float | FloatArray,
    exponent: float,
    reference_m: float = 1.0,
) -> float | FloatArray:
    """Return the median loss that grows by a stated power of the distance.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    distance_m : float or array of any shape
        Distance, from the reference distance on [m].
    exponent : float
        2 is free space; 1 to 8 [1].
    reference_m : float
        Up to here free space holds, at least wavelength/2 pi [m].

    Returns
    -------
    float or array of the same shape
        Median transmission loss between isotropic antennas [dB]. The spread about it is log-normal
        shadowing, see ``physics.fading``.

    Raises
    ------
    OutOfRange
        Nearer than the reference distance, or an exponent out of range.

    Notes
    -----
    ``L = L_free(d0) + 10 n log10(d / d0)``.

    References
    ----------
    T. S. Rappaport, Wireless Communications, log-distance path loss (from memory).

    Examples
    --------
    >>> round(exponent_loss_db(2.4e9, 10.0, 3.0), 2)
    70.05
    """
    d = np.asarray(distance_m, dtype=float)
    require_within("path loss exponent", exponent, *_EXPONENT_RANGE)
    reference_db = free_space_loss_db(frequency_hz, reference_m)
    require_all_within(
        "distance (m)", d, reference_m, math.inf, "Nearer than the reference use free space."
    )
    return float_or_array(np.asarray(reference_db + 10.0 * exponent * np.log10(d / reference_m)))


@dataclass(frozen=True, slots=True)
class ExponentFit:
    """A straight line through measured levels over the logarithm of distance.

    Parameters
    ----------
    exponent : float
        Fall of the level in tens of dB per decade of distance [1].
    level_at_1_m_db : float
        Level of the line at 1 m [unit of the series, dB].
    residual_deviation_db : float
        Standard deviation of single readings about the line, count - 2 degrees of freedom [dB].
    exponent_error, level_error_db : float
        Standard errors of the two [1], [dB].
    covariance_db : float
        Of exponent and level at 1 m: both rise together [dB].
    count : int
        Number of readings.
    nearest_m, farthest_m : float
        Measured distances [m].
    mean_decades : float
        Mean of the decimal logarithms of the distances: there exponent and level are independent.
    """

    exponent: float
    level_at_1_m_db: float
    residual_deviation_db: float
    exponent_error: float
    level_error_db: float
    covariance_db: float
    count: int
    nearest_m: float
    farthest_m: float
    mean_decades: float

    @property
    def mean_error_db(self) -> float:
        """Standard error of the line at the mean of the logarithms [dB]."""
        return self.residual_deviation_db / math.sqrt(self.count)

    def student_factor(self, coverage: float) -> float:
        """Return how many standard errors hold a share of what the true line may be [1]."""
        from scipy.special import stdtrit

        require_within("coverage", coverage, 0.0, 1.0 - 1e-9)
        return float(stdtrit(self.count - 2, 0.5 + coverage / 2.0))

    @overload
    def level_db(self, distance_m: float) -> float: ...
    @overload
    def level_db(self, distance_m: FloatArray) -> FloatArray: ...
    def level_db(self, distance_m: float | FloatArray) -> float | FloatArray:
        """Return the level of the line at a distance [m].

        Raises
        ------
        OutOfRange
            More than a factor of ten outside the measured distances.
        """
        decades = self._decades(distance_m)
        return float_or_array(np.asarray(self.level_at_1_m_db - 10.0 * self.exponent * decades))

    @overload
    def half_interval_db(self, distance_m: float, coverage: float = 0.95) -> float: ...
    @overload
    def half_interval_db(self, distance_m: FloatArray, coverage: float = 0.95) -> FloatArray: ...
    def half_interval_db(
        self, distance_m: float | FloatArray, coverage: float = 0.95
    ) -> float | FloatArray:
        """Return how far one further reading may lie from the line, either way.

        Parameters
        ----------
        distance_m : float or array of any shape
            Where it is to be taken, within a factor of ten of the measured distances [m].
        coverage : float
            Share of further readings within the interval [1].

        Returns
        -------
        float or array of the same shape
            Half the prediction interval [dB]: grows away from the measured distances.

        Raises
        ------
        OutOfRange
            More than a factor of ten outside the measured distances; a coverage not below one.

        Notes
        -----
        ``t sqrt(s^2 + var(line))``, t the two-sided quantile of Student's law with count - 2
        degrees of freedom. Readings taken as independent, with one spread at all distances.

        References
        ----------
        N. R. Draper, H. Smith, Applied Regression Analysis, prediction of a single observation
        (from memory).
        """
        x = 10.0 * self._decades(distance_m)
        line_variance = (
            self.level_error_db**2
            - 2.0 * x * self.covariance_db
            + np.square(x * self.exponent_error)
        )
        spread_db = np.sqrt(self.residual_deviation_db**2 + np.maximum(line_variance, 0.0))
        return float_or_array(np.asarray(self.student_factor(coverage) * spread_db))

    def _decades(self, distance_m: float | FloatArray) -> FloatArray:
        d = np.asarray(distance_m, dtype=float)
        require_all_within(
            "distance (m)",
            d,
            self.nearest_m / _FURTHEST_STEP,
            self.farthest_m * _FURTHEST_STEP,
            "Measure nearer to the distance that you ask for.",
        )
        return np.asarray(np.log10(d))


def fit_exponent(distance_m: ArrayLike, level_db: ArrayLike) -> ExponentFit:
    """Fit exponent and level at 1 m to a measured series by least squares.

    Parameters
    ----------
    distance_m : array_like, shape (n,)
        Distances [m], greater than zero; several readings at one distance are welcome.
    level_db : array_like, shape (n,)
        Received levels [dBm or another level in dB]; to fit a loss, give it with its sign turned.

    Returns
    -------
    ExponentFit

    Raises
    ------
    MissingData
        Fewer than three distinct distances: two leave nothing to judge the line by.
    InputError
        Readings that do not pair up, or are no numbers.

    Notes
    -----
    ``level = a - 10 n log10(d)``, ordinary least squares; the variances follow from the residuals
    over count - 2.

    References
    ----------
    N. R. Draper, H. Smith, Applied Regression Analysis, straight line (from memory).

    Examples
    --------
    >>> fit = fit_exponent([1.0, 10.0, 100.0], [-40.0, -61.0, -88.0])
    >>> round(fit.exponent, 2), round(fit.level_at_1_m_db, 1), round(fit.residual_deviation_db, 2)
    (2.4, -39.0, 2.45)
    """
    d, level = _readings(distance_m, level_db)
    x = -10.0 * np.log10(d)  # so that the slope is the exponent itself
    middle = float(x.mean())
    square = float(np.sum(np.square(x - middle)))
    exponent = float(np.dot(x - middle, level - level.mean())) / square
    offset = float(level.mean()) - exponent * middle
    residual = level - offset - exponent * x
    variance = float(np.dot(residual, residual)) / (d.size - 2)
    return ExponentFit(
        exponent,
        offset,
        math.sqrt(variance),
        math.sqrt(variance / square),
        math.sqrt(variance * (1.0 / d.size + middle**2 / square)),
        -middle * variance / square,
        d.size,
        float(d.min()),
        float(d.max()),
        -middle / 10.0,
    )


def _readings(distance_m: ArrayLike, level_db: ArrayLike) -> tuple[FloatArray, FloatArray]:
    d = np.asarray(distance_m, dtype=float)
    level = np.asarray(level_db, dtype=float)
    if d.ndim != 1 or d.shape != level.shape:
        raise InputError(
            f"{d.size} distances and {level.size} levels", "one level for each distance"
        )
    if not (np.all(np.isfinite(d)) and np.all(np.isfinite(level)) and np.all(d > 0.0)):
        raise InputError(
            "a distance or a level that is no number, or a distance of zero or less",
            "distances greater than zero, each with a level",
        )
    distinct = np.unique(d).size
    if distinct < _FEWEST_DISTANCES:
        raise MissingData(
            f"readings at {distinct} distinct distance{'' if distinct == 1 else 's'}",
            f"at least {_FEWEST_DISTANCES}",
            "With fewer there is nothing to judge the fit by: measure at further distances.",
        )
    return d, level
