"""One number or a whole array: the same guard and the same shape for both."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linkbudget.core.decibels import FloatArray
from linkbudget.physics.validity import require_within


def require_all_within(
    what: str, values: ArrayLike, low: float, high: float, mend: str = ""
) -> None:
    """Refuse values of which one lies outside the closed range in which a formula holds.

    Parameters
    ----------
    what : str
        The quantity with its unit, for the message.
    values : float or array of any shape
        The values, in that unit; none at all is in range.
    low, high : float
        The range, in that unit.
    mend : str
        How the user may go on.

    Raises
    ------
    OutOfRange
        Naming the lowest or the highest value, where it lies outside or is not a number.

    Examples
    --------
    >>> require_all_within("distance (m)", [2.0, 30.0], 2.0, 27.0)
    Traceback (most recent call last):
    ...
    linkbudget.core.errors.OutOfRange: found distance (m) 30; expected 2 to 27
    """
    array = np.asarray(values, dtype=float)
    if array.size:
        require_within(what, float(array.min()), low, high, mend)
        require_within(what, float(array.max()), low, high, mend)


def float_or_array(values: FloatArray) -> float | FloatArray:
    """Return a plain float where the array has no dimension, else the array itself.

    Examples
    --------
    >>> float_or_array(np.array(3.0))
    3.0
    """
    return float(values) if values.ndim == 0 else values
