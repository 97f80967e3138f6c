"""Re-matching: the best network of two lossy parts, over the band."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray

ComplexArray = NDArray[np.complex128]

COIL_QUALITY, CAPACITOR_QUALITY = 30.0, 100.0
"""Quality factors of small chip parts near 2.4 GHz; common practice, from memory [1]."""


@dataclass(frozen=True, slots=True)
class Matched:
    """What a network brings from the source into the antenna, over the band.

    Parameters
    ----------
    accepted : array
        Share of the available power that enters the network, at each frequency [1].
    delivered : array
        Share of the available power that reaches the antenna, at each frequency [1].
    network : str
        Its parts in words, from the source to the antenna.
    """

    accepted: FloatArray
    delivered: FloatArray
    network: str


def unmatched(antenna_ohm: ComplexArray, source_ohm: float) -> Matched:
    """Return what a source brings into the antenna without any part in between."""
    taken = _accepted(antenna_ohm, source_ohm)
    return Matched(taken, taken, "no parts")


def best_match(frequencies_hz: FloatArray, antenna_ohm: ComplexArray, source_ohm: float) -> Matched:
    """Return the best of all networks of two parts, and of none, averaged over the band.

    Parameters
    ----------
    frequencies_hz : array
        Across the band, the middle one in the middle [Hz].
    antenna_ohm : array
        Impedance at the antenna's port at each of them [ohm].
    source_ohm : float
        Resistance of the source [ohm].

    Notes
    -----
    Each network is designed for its middle frequency and parts without loss, then computed with
    coils of quality factor 30 and capacitors of 100. No parts at all is one of the choices: a
    network may cost more than it mends.

    References
    ----------
    D. M. Pozar, Microwave Engineering, matching with lumped elements, L networks (from memory).
    """
    middle = len(frequencies_hz) // 2
    trials = [unmatched(antenna_ohm, source_ohm)]
    ratio = frequencies_hz / frequencies_hz[middle]
    for series_ohm, shunt_s, at_source in _networks(complex(antenna_ohm[middle]), source_ohm):
        series, shunt = _coil_or_capacitor(series_ohm, ratio), _shunt_part(shunt_s, ratio)
        trials.append(_through(antenna_ohm, source_ohm, series, shunt, shunt_at_source=at_source))
    return max(trials, key=lambda trial: float(trial.delivered.mean()))


def _networks(load: complex, source: float) -> Iterator[tuple[float, float, bool]]:
    """Yield series reactance [ohm], shunt susceptance [S], and whether the shunt is at the source.

    At the source: ``1 / (j B + 1 / (Z + j X)) = Rs``, for R < Rs.
    At the antenna: ``j X + 1 / (j B + 1 / Z) = Rs``, for Re(1/Z) < 1/Rs.
    """
    if load.real < source:
        root = math.sqrt(load.real * (source - load.real))
        for sign in (1.0, -1.0):
            yield sign * root - load.imag, sign * root / (load.real * source), True
    admittance = 1.0 / load
    if admittance.real < 1.0 / source:
        root = math.sqrt(admittance.real * (1.0 / source - admittance.real))
        for sign in (1.0, -1.0):
            yield sign * root * source / admittance.real, sign * root - admittance.imag, False


def _coil_or_capacitor(reactance_ohm: float, ratio: FloatArray) -> ComplexArray:
    """Return the impedance of a real part over frequency, from its reactance in the middle."""
    coil = reactance_ohm > 0.0
    reactance = reactance_ohm * (ratio if coil else 1.0 / ratio)
    quality = COIL_QUALITY if coil else CAPACITOR_QUALITY
    part: ComplexArray = np.abs(reactance) / quality + 1j * reactance
    return part


def _shunt_part(susceptance_s: float, ratio: FloatArray) -> ComplexArray:
    # no part at all where its susceptance is nothing
    return _coil_or_capacitor(-1.0 / (susceptance_s or 1e-12), ratio)


def _through(
    antenna: ComplexArray,
    source: float,
    series: ComplexArray,
    shunt: ComplexArray,
    *,
    shunt_at_source: bool,
) -> Matched:
    # the share of power that passes a part: resistances in series, conductances in parallel
    if shunt_at_source:
        inner = series + antenna
        seen = 1.0 / (1.0 / shunt + 1.0 / inner)
        passed = (1.0 / inner).real / (1.0 / seen).real * antenna.real / inner.real
        words = f"shunt {_named(shunt)}, series {_named(series)}"
    else:
        inner = 1.0 / (1.0 / shunt + 1.0 / antenna)
        seen = series + inner
        passed = inner.real / seen.real * (1.0 / antenna).real / (1.0 / inner).real
        words = f"series {_named(series)}, shunt {_named(shunt)}"
    accepted = _accepted(seen, source)
    return Matched(accepted, accepted * passed, words)


def _named(part: ComplexArray) -> str:
    return "coil" if cmath.phase(complex(part[0])) > 0.0 else "capacitor"


def _accepted(load: ComplexArray, source: float) -> FloatArray:
    taken: FloatArray = 4.0 * load.real * source / np.abs(load + source) ** 2
    return taken
