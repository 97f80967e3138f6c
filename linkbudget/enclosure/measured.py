"""Measured beats computed: a pair of measurements, with and without the metal.

Nothing but the metal may change between the two. What the instrument, its cable and the far end do
is then the same in both, and drops out of the difference.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from linkbudget.core.decibels import FloatArray, db_from_power_ratio
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import MetalEffect, no_scatter, one_after_another
from linkbudget.enclosure.geometry import FarEnd
from linkbudget.physics.touchstone import BandMagnitudes, magnitudes_over_band

AS_MEASURED = "as measured"

LEAST_POINTS = 3
"""Fewest frequencies in the band, or pairs of levels, from which a spread can be taken."""

_HELPS_TOO_MUCH_DB = 10.0
_RAYLEIGH_SIGMA_DB = 10.0 / math.log(10.0) * math.pi / math.sqrt(6.0)  # of one level: 5.57 dB
_TWO_SIDED_95, _NORMAL_95 = 0.975, 1.96

_TO_PROBE = (
    "Measured toward one probe at one place: other directions, and another place of the product,"
    " may lose more or less."
)
_MISMATCH_ONLY = (
    "One port shows the mismatch alone: where the metal sends the power, its shadow, and what is"
    " lost inside the antenna are not seen, and stay computed. Two ports, antenna to a distant"
    " probe, show all of it."
)
_SWAPPED = (
    "More arrives with the metal than without by over 10 dB: are the two measurements exchanged?"
)


@dataclass(frozen=True, slots=True)
class MeasuredMetal:
    """What a pair of measurements says of the metal.

    Parameters
    ----------
    loss : Quantity
        What the metal costs [dB]; of the mismatch alone where `sees_shadow` is false.
    detuning : Quantity or None
        Part of it that is mismatch at the antenna's port [dB]; None where nobody measured it.
    estimated : Quantity or None
        What was computed for the same loss [dB].
    off_by_db : float or None
        The estimate less the measured loss [dB]: positive where the estimate feared too much.
    points : int
        Frequencies in the band, or pairs of levels.
    cautions : tuple of str
    sees_shadow : bool
        Whether the whole loss toward one direction was measured.
    toward : {"above", "beside", "below", "anywhere"} or None
        That direction; None: nobody said, and it is taken as the far end's.
    """

    loss: Quantity
    detuning: Quantity | None
    estimated: Quantity | None
    off_by_db: float | None
    points: int
    cautions: tuple[str, ...]
    sees_shadow: bool = True
    toward: FarEnd | None = None


def touchstone_loss(
    with_metal: Path | str,
    without_metal: Path | str,
    low_hz: float,
    high_hz: float,
    *,
    estimated: Quantity | None = None,
    estimated_detuning: Quantity | None = None,
    toward: FarEnd | None = None,
) -> MeasuredMetal:
    """Return what the metal costs, from two sweeps of a network analyser.

    Parameters
    ----------
    with_metal, without_metal : path
        Both of one port (the antenna), or both of two (the antenna, then a distant probe).
    low_hz, high_hz : float
        The band [Hz].
    estimated, estimated_detuning : Quantity, optional
        What was computed for the whole loss, and for the mismatch in it [dB].
    toward : {"above", "beside", "below", "anywhere"}, optional
        Where the probe stood, seen from the metal.

    Returns
    -------
    MeasuredMetal
        One port: the mismatch alone, held against `estimated_detuning`. Two: the whole loss toward
        the probe, held against `estimated`, and the mismatch in it.

    Raises
    ------
    InputError, OutOfRange
        Where a file cannot be read, the two differ in ports or in their frequencies, do not cover
        the band, or have fewer than three points in it.

    Notes
    -----
    ``loss = 10 log10(mean p without / mean p with)`` with ``p = |S21|^2`` or ``1 - |S11|^2``, both
    means over the band. The ratio of the means, since a receiver hops or spreads over the band and
    lives on its mean power; the mean of the ratios would be ruled by the nulls of one room. Low and
    high hold 90 % of the frequencies, and 1 dB at least for setting up again.
    """
    one = magnitudes_over_band(with_metal, low_hz, high_hz)
    other = magnitudes_over_band(without_metal, low_hz, high_hz)
    _require_alike(one, other, str(with_metal))
    points = len(one.measured_hz)
    detuning = _over_band(
        one.frequency_hz,
        1.0 - one.reflection**2,
        1.0 - other.reflection**2,
        "mismatch from a pair of |S11|",
    )
    if one.transmission is None or other.transmission is None:
        cautions = (_MISMATCH_ONLY, *_doubts(detuning))
        off_db = _off_by_db(estimated_detuning, detuning)
        return MeasuredMetal(
            detuning, detuning, estimated_detuning, off_db, points, cautions, sees_shadow=False
        )
    _require_received(one.transmission, with_metal)
    _require_received(other.transmission, without_metal)
    source = "pair of |S21| from the antenna to a probe, mean power over the band"
    loss = _over_band(one.frequency_hz, one.transmission**2, other.transmission**2, source)
    cautions = (_TO_PROBE, *_doubts(loss))
    off_db = _off_by_db(estimated, loss)
    return MeasuredMetal(loss, detuning, estimated, off_db, points, cautions, toward=toward)


def levels_loss(
    with_dbm: Sequence[float],
    without_dbm: Sequence[float],
    *,
    estimated: Quantity | None = None,
    toward: FarEnd | None = None,
) -> MeasuredMetal:
    """Return what the metal costs, from levels received at the same places with and without it.

    Parameters
    ----------
    with_dbm, without_dbm : sequence of float
        Received levels, place by place in the same order [dBm].
    estimated : Quantity, optional
        What was computed for the same loss [dB].
    toward : {"above", "beside", "below", "anywhere"}, optional
        Where the other end stood, seen from the metal.

    Returns
    -------
    MeasuredMetal
        Mean of the differences place by place, 95 % confidence.

    Raises
    ------
    InputError
        Where the lists are empty, differ in length, or hold what is no level.

    Notes
    -----
    The difference at each place, then their mean in dB: what the places differ in, distance and
    walls, drops out, and the rest scatters evenly enough for Student's ``t s / sqrt(n)``. The
    difference of the mean powers would be ruled by the one place nearest to the product. Both agree
    where fading is alike with and without the metal. One or two pairs have no spread of their own:
    then Rayleigh fading is taken, independent in both, ``sqrt(2) 5.57 dB`` for each difference.

    References
    ----------
    JCGM 100:2008, Guide to the expression of uncertainty in measurement, annex G, t-factor.

    Examples
    --------
    >>> str(levels_loss([-70.0, -74.0, -65.0], [-60.0, -63.0, -53.0]).loss)
    '11.0 dB (8.5 to 13.5)'
    """
    if len(with_dbm) != len(without_dbm) or not with_dbm:
        raise InputError(
            f"{len(with_dbm)} levels with the metal and {len(without_dbm)} without",
            "as many of both, at the same places in the same order",
            field="measured",
        )
    with_array, without_array = (np.array(each, dtype=float) for each in (with_dbm, without_dbm))
    differences_db = without_array - with_array
    if not np.all(np.isfinite(differences_db)):
        raise InputError("a level that is no number", "levels in dBm", field="measured")
    count = len(differences_db)
    value, half_db = float(differences_db.mean()), _half_band_db(differences_db)
    loss = Quantity(
        value,
        "dB",
        "measured",
        value - half_db,
        value + half_db,
        f"levels with and without the metal at {count} place{'s' if count > 1 else ''}",
        "95 % confidence of the mean, at least 1 dB either way",
    )
    cautions = list(_doubts(loss))
    if count < LEAST_POINTS:
        cautions.append(
            f"{count} pair{'s' if count > 1 else ''} of levels: too few for a spread of their own,"
            " the band is that of Rayleigh fading. Add places: ten or more, half a wavelength"
            " apart."
        )
    off_db = _off_by_db(estimated, loss)
    return MeasuredMetal(loss, None, estimated, off_db, count, tuple(cautions), toward=toward)


def measured_effect(measured: MeasuredMetal, estimate: MetalEffect) -> MetalEffect:
    """Return an estimate of the metal with what was measured in its place.

    Parameters
    ----------
    measured : MeasuredMetal
    estimate : MetalEffect

    Returns
    -------
    MetalEffect
        The measured total, no paths, no scatter of directions, and none of the estimate's cautions;
        or, where the mismatch alone was measured, or another direction than the far end's, the
        measured mismatch, where there is one, and the estimated way out.
    """
    elsewhere = measured.sees_shadow and measured.toward not in (None, estimate.toward)
    if elsewhere or not measured.sees_shadow:
        told = (_elsewhere(measured, estimate.toward),) if elsewhere else ()
        return replace(
            _with_mismatch(measured.detuning, estimate),
            cautions=(*told, *measured.cautions, *estimate.cautions),
        )
    return replace(
        estimate,
        detuning=measured.detuning,
        paths=(),
        dominant=AS_MEASURED,
        total=measured.loss,
        cautions=measured.cautions,
        scatter=replace(no_scatter(), kind="measured", source="contained in the measured loss"),
    )


def _with_mismatch(mismatch: Quantity | None, estimate: MetalEffect) -> MetalEffect:
    """Return the estimate with a measured mismatch in it; a stated total contains it already."""
    if mismatch is None:
        return estimate
    if estimate.detuning is None:
        return replace(estimate, detuning=mismatch)
    source = f"{mismatch.source}; the way out as estimated: {estimate.way_out.source}"
    total = one_after_another(estimate.way_out, mismatch, source)
    return replace(estimate, detuning=mismatch, total=total)


def _elsewhere(measured: MeasuredMetal, toward: FarEnd) -> str:
    where = "may be anywhere" if toward == "anywhere" else f"is {toward}"
    taken = (
        "the estimate stands, and the measurement is told beside it."
        if measured.detuning is None
        else "of this measurement the mismatch alone is taken, and the way out stays computed."
    )
    return f"Measured with the other end {measured.toward}, while the far end {where}: {taken}"


def _require_alike(one: BandMagnitudes, other: BandMagnitudes, file: str) -> None:
    if (one.transmission is None) != (other.transmission is None):
        raise InputError(
            "one port with the metal, two without, or the other way round",
            "two files with the same ports",
            file=file,
        )
    counts = len(one.measured_hz), len(other.measured_hz)
    if counts[0] != counts[1] or not np.allclose(one.measured_hz, other.measured_hz, rtol=1e-6):
        raise InputError(
            f"sweeps that differ: {counts[0]} points in the band with the metal,"
            f" {counts[1]} without",
            "the same frequencies in both",
            "Sweep both with one setting of the analyser.",
            file=file,
        )
    if counts[0] < LEAST_POINTS:
        raise InputError(
            f"{counts[0]} points in the band",
            f"at least {LEAST_POINTS}",
            "Sweep more finely.",
            file=file,
        )


def _require_received(transmission: FloatArray, path: Path | str) -> None:
    if not np.all(transmission > 0.0):
        raise InputError(
            "|S21| of 0: nothing arrives at the probe",
            "a level above the noise of the analyser",
            "Bring the probe nearer, or amplify.",
            file=str(path),
        )


def _over_band(
    frequency_hz: FloatArray, with_metal: FloatArray, without_metal: FloatArray, source: str
) -> Quantity:
    """Return the ratio of two mean powers over the band, and where 90 % of it lies [dB]."""
    value = db_from_power_ratio(
        _mean(frequency_hz, without_metal) / _mean(frequency_hz, with_metal)
    )
    single_db = 10.0 * np.log10(without_metal / with_metal)
    least, most = np.quantile(single_db, [0.05, 0.95])
    repeat_db = metal_bands()["measured_repeat"].value
    low, high = min(float(least), value - repeat_db), max(float(most), value + repeat_db)
    coverage = f"90 % of the frequencies in the band, at least {repeat_db:g} dB either way"
    return Quantity(value, "dB", "measured", low, high, source, coverage)


def _mean(frequency_hz: FloatArray, power: FloatArray) -> float:
    span_hz = float(frequency_hz[-1] - frequency_hz[0])
    return float(np.trapezoid(power, frequency_hz)) / span_hz if span_hz else float(power.mean())


def _half_band_db(differences_db: FloatArray) -> float:
    count = len(differences_db)
    if count < LEAST_POINTS:
        return _NORMAL_95 * math.sqrt(2.0) * _RAYLEIGH_SIGMA_DB / math.sqrt(count)
    from scipy.special import stdtrit

    student = float(stdtrit(count - 1, _TWO_SIDED_95))
    half_db = student * float(differences_db.std(ddof=1)) / math.sqrt(count)
    return max(half_db, metal_bands()["measured_repeat"].value)


def _off_by_db(estimated: Quantity | None, measured: Quantity) -> float | None:
    return None if estimated is None else estimated.value - measured.value


def _doubts(loss: Quantity) -> tuple[str, ...]:
    return (_SWAPPED,) if loss.value < -_HELPS_TOO_MUCH_DB else ()
