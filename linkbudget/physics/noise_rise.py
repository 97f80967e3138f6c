"""What other senders and fast ports add to a receiver's noise, and how often.

Everything is counted at the receiver's port and in its noise bandwidth. Interference adds to the
noise in power, as noise does; a receiver that overloads loses more. The rise of the noise is the
loss of sensitivity.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import overload

import numpy as np

from linkbudget.core.decibels import FloatArray, power_sum_db
from linkbudget.core.quantity import Quantity
from linkbudget.core.tables import load_sourced_rows
from linkbudget.physics.arrays import float_or_array
from linkbudget.physics.propagation import free_space_loss_db
from linkbudget.physics.validity import require_positive, require_within

WIRELESS_LAN_BANDWIDTH_HZ = 20e6  # the narrow channel of IEEE 802.11 at 2.4 GHz (from memory)
_MOST_INTERFERERS = 12  # 4096 states


@dataclass(frozen=True, slots=True)
class Interferer:
    """A sender that is on the air for part of the time.

    Parameters
    ----------
    name : str
        Whose it is.
    active : float
        Share of the time in which it sends [1].
    level_dbm : float
        Its power in the receiver's noise bandwidth, at the receiver's port [dBm].
    """

    name: str
    active: float
    level_dbm: float

    def __post_init__(self) -> None:
        """Refuse a share of the time that is none."""
        require_within(f"{self.name}: share of the time", self.active, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class NoiseState:
    """A share of the time [1] and the rise of the noise in it [dB]."""

    share: float
    rise_db: float


@overload
def noise_rise_db(noise_dbm: float, interference_dbm: float) -> float: ...
@overload
def noise_rise_db(noise_dbm: float, interference_dbm: FloatArray) -> FloatArray: ...
def noise_rise_db(noise_dbm: float, interference_dbm: float | FloatArray) -> float | FloatArray:
    """Return by how much interference raises a noise level, which is the sensitivity lost.

    Parameters
    ----------
    noise_dbm : float
        Noise of the receiver: thermal noise plus noise figure [dBm].
    interference_dbm : float or array of any shape
        Interference in the same bandwidth, at the same port; minus infinity for none [dBm].

    Returns
    -------
    float or array of the same shape
        Rise, zero or more [dB].

    Notes
    -----
    ``10 log10(1 + 10^((I - N)/10))``: 3.01 dB where both are alike.

    Examples
    --------
    >>> round(noise_rise_db(-104.0, -104.0), 2), round(noise_rise_db(-104.0, -114.0), 2)
    (3.01, 0.41)
    """
    over_db = np.asarray(interference_dbm, dtype=float) - noise_dbm
    rise_db = 10.0 / math.log(10.0) * np.logaddexp(0.0, over_db * math.log(10.0) / 10.0)
    return float_or_array(np.asarray(rise_db))


def interference_dbm_from_rise(noise_dbm: float, rise_db: float) -> float:
    """Return the interference behind a rise of the noise, inverse of ``noise_rise_db``.

    Parameters
    ----------
    noise_dbm : float
        Noise of the receiver [dBm].
    rise_db : float
        Rise of the noise, as measured with the interference on and off, zero or more [dB].

    Returns
    -------
    float
        Interference in the same bandwidth; minus infinity for no rise [dBm].

    Raises
    ------
    OutOfRange
        Where the rise is negative.

    Examples
    --------
    >>> round(interference_dbm_from_rise(-104.0, 10.0), 2)
    -94.46
    """
    require_within("rise of the noise (dB)", rise_db, 0.0, 200.0)
    if rise_db == 0.0:
        return -math.inf
    return noise_dbm + 10.0 * math.log10(math.expm1(rise_db * math.log(10.0) / 10.0))


def noise_states(noise_dbm: float, interferers: Sequence[Interferer]) -> tuple[NoiseState, ...]:
    """Return how long the noise is raised by how much.

    Parameters
    ----------
    noise_dbm : float
        Noise of the receiver [dBm].
    interferers : sequence of Interferer
        At most twelve, each on and off by itself.

    Returns
    -------
    tuple of NoiseState
        Every combination that occurs, from the smallest rise to the largest. Shares sum to one.

    Raises
    ------
    OutOfRange
        Where there are more than twelve.

    Examples
    --------
    >>> for state in noise_states(-104.0, [Interferer("neighbour", 0.25, -94.0)]):
    ...     print(f"{state.share:.2f} of the time {state.rise_db:.1f} dB")
    0.75 of the time 0.0 dB
    0.25 of the time 10.4 dB
    """
    require_within("number of interferers", len(interferers), 0, _MOST_INTERFERERS)
    states = []
    for on in product((False, True), repeat=len(interferers)):
        share = math.prod(
            one.active if sends else 1.0 - one.active
            for one, sends in zip(interferers, on, strict=True)
        )
        levels = [one.level_dbm for one, sends in zip(interferers, on, strict=True) if sends]
        if share > 0.0:
            total_dbm = power_sum_db([noise_dbm, *levels])
            states.append(NoiseState(share, total_dbm - noise_dbm))
    return tuple(sorted(states, key=lambda state: state.rise_db))


def rise_not_exceeded_db(states: Sequence[NoiseState], share: float) -> float:
    """Return the rise that the noise stays within for a share of the time.

    Parameters
    ----------
    states : sequence of NoiseState
        From the smallest rise to the largest, as ``noise_states`` returns them.
    share : float
        Share of the time, 0 to 1 [1].

    Returns
    -------
    float
        Smallest such rise [dB].

    Raises
    ------
    OutOfRange
        Where the share is not between 0 and 1.

    Examples
    --------
    >>> states = (NoiseState(0.75, 0.0), NoiseState(0.25, 10.4))
    >>> rise_not_exceeded_db(states, 0.7), rise_not_exceeded_db(states, 0.9)
    (0.0, 10.4)
    """
    require_within("share of the time", share, 0.0, 1.0)
    reached = 0.0
    for state in states:
        reached += state.share
        if reached >= share * (1.0 - 1e-12):
            return state.rise_db
    return states[-1].rise_db


def received_density_dbm_per_hz(
    eirp_dbm: float,
    distance_m: float,
    frequency_hz: float,
    antenna_gain_dbi: float = 0.0,
    bandwidth_hz: float = WIRELESS_LAN_BANDWIDTH_HZ,
) -> float:
    """Return the power spectral density that a neighbour brings to the receiver's port.

    Parameters
    ----------
    eirp_dbm : float
        Equivalent isotropically radiated power of the neighbour while it sends [dBm].
    distance_m : float
        Distance, free space [m].
    frequency_hz : float
        Centre of the neighbour's channel [Hz].
    antenna_gain_dbi : float
        Gain of the receiver's antenna toward the neighbour, mismatch taken off [dBi].
    bandwidth_hz : float
        Width over which the neighbour spreads its power evenly [Hz].

    Returns
    -------
    float
        Density inside that width [dBm/Hz].

    Raises
    ------
    InputError, OutOfRange
        Where the bandwidth is not greater than zero, or the distance is below wavelength/2 pi.

    Notes
    -----
    Walls between are not in it: take their loss off the radiated power.

    Examples
    --------
    >>> round(received_density_dbm_per_hz(20.0, 10.0, 2.437e9), 1)
    -113.2
    """
    require_positive("bandwidth of the neighbour (Hz)", bandwidth_hz)
    received_dbm = eirp_dbm - free_space_loss_db(frequency_hz, distance_m) + antenna_gain_dbi
    return received_dbm - 10.0 * math.log10(bandwidth_hz)


def neighbour_level_dbm(
    density_dbm_per_hz: float,
    offset_hz: float,
    channel_bandwidth_hz: float,
    rejection_db: float,
    bandwidth_hz: float = WIRELESS_LAN_BANDWIDTH_HZ,
) -> float:
    """Return what a neighbour's signal counts for in a receiver's channel.

    Parameters
    ----------
    density_dbm_per_hz : float
        Power spectral density at the receiver's port, even over the neighbour's width [dBm/Hz].
    offset_hz : float
        From the neighbour's centre to the receiver's [Hz].
    channel_bandwidth_hz : float
        Noise bandwidth of the receiver [Hz].
    rejection_db : float
        By how much the receiver weakens what lies beside its channel, zero or more; may be infinite
        [dB].
    bandwidth_hz : float
        Width of the neighbour's signal [Hz].

    Returns
    -------
    float
        Level that would do the same inside the channel; minus infinity for none [dBm].

    Raises
    ------
    InputError, OutOfRange
        Where a width is not greater than zero or the rejection is negative.

    Notes
    -----
    Power in the shared width counts in full, the rest less the rejection. What the neighbour itself
    sends beyond its width, which the receiver cannot reject, is not in it: beside a strong
    neighbour the level is too low by that.

    Examples
    --------
    >>> round(neighbour_level_dbm(-113.2, 0.0, 1e6, 40.0), 1)
    -53.2
    >>> round(neighbour_level_dbm(-113.2, 25e6, 1e6, 40.0), 1)
    -80.2
    """
    require_positive("bandwidth of the receiver (Hz)", channel_bandwidth_hz)
    require_positive("bandwidth of the neighbour (Hz)", bandwidth_hz)
    require_within("rejection beside the channel (dB)", rejection_db, 0.0, math.inf)
    reach_hz = 0.5 * (channel_bandwidth_hz + bandwidth_hz) - abs(offset_hz)
    shared_hz = min(max(reach_hz, 0.0), channel_bandwidth_hz, bandwidth_hz)
    counted_hz = shared_hz + (bandwidth_hz - shared_hz) * 10.0 ** (-rejection_db / 10.0)
    return density_dbm_per_hz + 10.0 * math.log10(counted_hz) if counted_hz > 0.0 else -math.inf


def fast_port_rise() -> Quantity:
    """Return the rise of the noise at 2.4 GHz by a fast USB port in use beside the receiver.

    Returns
    -------
    Quantity
        Rise over the noise of the receiver, low to high as the trade reports it [dB].

    Examples
    --------
    >>> print(fast_port_rise())
    10.0 dB (0.0 to 20.0)
    """
    (row,) = load_sourced_rows("practice/noise_rise.csv")
    return Quantity(
        row.number("typical_db"),
        "dB",
        "typical",
        row.number("low_db"),
        row.number("high_db"),
        f"{row.source}: {row.source.note}",
        "low to high estimate",
    )
