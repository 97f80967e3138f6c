"""Thermal noise, and the sensitivity that follows from it."""

from __future__ import annotations

import math

from linkbudget.physics.validity import require_positive, require_within

BOLTZMANN_J_PER_K = 1.380649e-23  # exact, definition of the kelvin


def thermal_noise_dbm(bandwidth_hz: float, temperature_k: float = 290.0) -> float:
    """Return the available thermal noise power in a bandwidth.

    Parameters
    ----------
    bandwidth_hz : float
        Noise bandwidth [Hz].
    temperature_k : float
        Temperature of the source [K].

    Returns
    -------
    float
        Noise power ``k T B`` [dBm].

    Raises
    ------
    InputError
        Where an input is not greater than zero.

    References
    ----------
    H. T. Friis, Noise Figures of Radio Receivers, Proc. IRE 1944: the 290 K (from memory).

    Examples
    --------
    >>> round(thermal_noise_dbm(1e6), 2)
    -113.98
    """
    require_positive("bandwidth (Hz)", bandwidth_hz)
    require_positive("temperature (K)", temperature_k)
    return 10.0 * math.log10(BOLTZMANN_J_PER_K * temperature_k * bandwidth_hz) + 30.0


def sensitivity_dbm(bandwidth_hz: float, noise_figure_db: float, required_snr_db: float) -> float:
    """Return the level that a receiver needs: noise, noise figure and required ratio.

    Parameters
    ----------
    bandwidth_hz : float
        Noise bandwidth of the receiver [Hz].
    noise_figure_db : float
        Noise figure at 290 K [dB], zero or more.
    required_snr_db : float
        Signal-to-noise ratio that the demodulator needs for the wanted error rate [dB].

    Returns
    -------
    float
        Sensitivity at the receiver's input [dBm].

    Raises
    ------
    InputError, OutOfRange
        Where the bandwidth is not greater than zero, or the noise figure is negative.

    Notes
    -----
    Thermal noise alone: interference and noise of the own product come on top.

    Examples
    --------
    >>> round(sensitivity_dbm(1e6, 6.0, 12.0))
    -96
    """
    require_within("noise figure (dB)", noise_figure_db, 0.0, 100.0)
    return thermal_noise_dbm(bandwidth_hz) + noise_figure_db + required_snr_db
