"""Guards of the formulas: a value that no formula can take is refused in words."""

from __future__ import annotations

import math

from linkbudget.core.errors import InputError, OutOfRange


def require_positive(what: str, value: float) -> None:
    """Refuse a value that is not finite and greater than zero.

    Parameters
    ----------
    what : str
        The quantity with its unit, for the message.
    value : float
        The value, in that unit.

    Raises
    ------
    InputError
        Where it is zero, negative, infinite or not a number.

    Examples
    --------
    >>> require_positive("gap (m)", 0.0)
    Traceback (most recent call last):
    ...
    linkbudget.core.errors.InputError: found gap (m) 0; expected a finite number greater than zero
    """
    if not (math.isfinite(value) and value > 0.0):
        raise InputError(f"{what} {value:g}", "a finite number greater than zero")


def require_within(what: str, value: float, low: float, high: float, mend: str = "") -> None:
    """Refuse a value outside the closed range in which a formula holds.

    Parameters
    ----------
    what : str
        The quantity with its unit, for the message.
    value, low, high : float
        The value and the range, in that unit.
    mend : str
        How the user may go on.

    Raises
    ------
    OutOfRange
        Where the value lies outside, or is not a number.
    """
    if not low <= value <= high:
        raise OutOfRange(what, value, low, high, mend)
