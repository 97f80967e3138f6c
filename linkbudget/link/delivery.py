"""The chance that a report arrives in time, and how sure that chance is."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.link.forecast import Outcome
from linkbudget.physics.retries import Chain, Hopping, delivery, tries_within
from linkbudget.physics.shadowed_fading import shadowed_outage

LONGEST_S = 10.0  # nobody waits longer for a report

# beyond them a report never or always arrives; a step at 0 dB lies in the middle between two
_MARGIN_DB = np.arange(-40.125, 60.2, 0.25)
_COARSE_DB = np.arange(-40.25, 60.3, 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class Delivery:
    """How reports arrive at the wanted distance.

    Parameters
    ----------
    latency_s : float
        Latency that is allowed [s].
    tries : int
        How many tries are surely over within it.
    chance : Outcome
        Chance that a report arrives within the latency, over places [1]; its spread is what is not
        known of the link.
    needed_s : float
        Latency within which as many reports arrive as are wanted, by the median of the level;
        infinite where 10 s do not suffice [s].
    """

    latency_s: float
    tries: int
    chance: Outcome
    needed_s: float


def delivered(
    above: Outcome, sigma_db: float, hopping: Hopping, latency_s: float, wanted: float = 0.99
) -> Delivery:
    """Return the chance that a report arrives within a latency.

    Parameters
    ----------
    above : Outcome
        How far the level lies above what the receiver needs, at the wanted distance [dB].
    sigma_db : float
        Standard deviation of shadowing, which all channels share; 0 without it [dB].
    hopping : Hopping
        Retries, channels, echoes and interference.
    latency_s : float
        Latency that is allowed [s].
    wanted : float
        Share of the reports for which a latency is looked up, between 0 and 1 [1].

    Returns
    -------
    Delivery

    Raises
    ------
    OutOfRange
        Where the latency is negative.

    Notes
    -----
    More level never makes a report later, so the quantiles of the level are those of the chance.
    Rice factor and shadowing are taken at their typical values. Shadowing is averaged in closed
    form: what each quarter of a decibel adds to the chance counts for the share of places above it.
    """

    def chance(margin_db: FloatArray) -> FloatArray:
        return _over_places(margin_db, sigma_db, _MARGIN_DB, at_a_place)

    median_db = np.array([above.median.value])
    chain = Chain(_COARSE_DB if sigma_db else median_db, hopping)

    def enough(tries: int) -> bool:
        found = chain.delivery(tries * hopping.interval_s)
        if sigma_db:
            found = _over_places(median_db, sigma_db, _COARSE_DB, found)
        return bool(found[0] >= wanted)

    at_a_place = delivery(_MARGIN_DB, hopping, latency_s)
    most = tries_within(LONGEST_S, hopping.interval_s)
    needed = 1 + bisect_left(range(1, most + 1), True, key=enough)
    return Delivery(
        latency_s,
        tries_within(latency_s, hopping.interval_s),
        above.through(chance, "1"),
        needed * hopping.interval_s if needed <= most else np.inf,
    )


def _over_places(
    margin_db: FloatArray, sigma_db: float, table_db: FloatArray, at_a_place: FloatArray
) -> FloatArray:
    """Return the mean of a chance, tabled over the margin, where shadowing moves the margin."""
    if sigma_db == 0.0:
        return np.asarray(np.interp(margin_db, table_db, at_a_place))
    middle_db = (table_db[1:] + table_db[:-1]) / 2.0
    below = shadowed_outage(np.subtract.outer(margin_db, middle_db), math.inf, sigma_db)
    return np.asarray(at_a_place[0] + (1.0 - below) @ np.diff(at_a_place))
