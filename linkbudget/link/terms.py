"""From what a data sheet states to the terms of a budget, and what stands in where it is silent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from linkbudget.core.decibels import db_from_power_ratio
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.physics.antennas import mismatch_loss_db, polarisation_loss_db
from linkbudget.physics.noise import sensitivity_dbm
from linkbudget.physics.plastics import (
    PlasticPart,
    detuned_loss_db,
    effective_permittivity,
    lowered_resonance,
    most_quality_factor,
)

Polarisation = Literal["linear", "circular", "unknown"]

_BAND = "low to high estimate"
_PLASTIC = "plastic near an antenna"


@lru_cache(maxsize=1)
def practice_rows() -> dict[str, SourcedRow]:
    """Return the typical values of the trade by their term."""
    return {row.cells["term"]: row for row in load_sourced_rows("practice/link_terms.csv")}


def _typical(term: str, unit: str, kind: Kind = "typical") -> Quantity:
    row = practice_rows()[term]
    return Quantity(
        row.number("typical_db"),
        unit,
        kind,
        row.number("low_db"),
        row.number("high_db"),
        f"{row.source}: {row.source.note}",
        _BAND,
    )


def antenna_gain(gain_dbi: float | None, efficiency: float | None) -> Quantity:
    """Return the gain toward a far end whose direction from the antenna is not known.

    Parameters
    ----------
    gain_dbi : float or None
        Peak gain of the data sheet [dBi].
    efficiency : float or None
        Radiated over accepted power [1].

    Returns
    -------
    Quantity
        Gain [dBi]: the mean over all directions, since what a pattern gives to one side it takes
        from another. From the efficiency where that is stated, else from the peak gain less what
        is typical between peak and mean; the peak bounds it above.

    Examples
    --------
    >>> print(antenna_gain(1.5, 0.5))
    -3.0 dBi (-7.5 to 1.5)
    """
    peak = practice_rows()["peak over mean gain"]
    if efficiency is not None:
        mean_dbi = db_from_power_ratio(efficiency)
        lift_db = peak.number("typical_db") if gain_dbi is None else max(0.0, gain_dbi - mean_dbi)
        bound = (
            "the stated peak gain" if gain_dbi is not None else f"typical of a peak ({peak.source})"
        )
        source = f"efficiency: the mean over all directions; high is {bound}"
        return Quantity(
            mean_dbi, "dBi", "stated", mean_dbi - lift_db, mean_dbi + lift_db, source, _BAND
        )
    if gain_dbi is not None:
        return Quantity(
            gain_dbi - peak.number("typical_db"),
            "dBi",
            "typical",
            gain_dbi - peak.number("high_db"),
            gain_dbi,
            f"stated peak gain less what is typical between peak and mean ({peak.source})",
            _BAND,
        )
    return _typical("antenna gain not stated", "dBi", "assumed")


def mismatch(return_loss_db: float | None, *, measured_at: str = "") -> Quantity:
    """Return the mismatch loss of an antenna.

    Parameters
    ----------
    return_loss_db : float or None
        Worst return loss in the band [dB].
    measured_at : str
        Where in a measured file it stands; "" where the scenario states it.

    Returns
    -------
    Quantity
        Loss [dB].
    """
    if return_loss_db is None:
        return _typical("mismatch not stated", "dB", "assumed")
    loss_db = mismatch_loss_db(return_loss_db)
    if measured_at:
        return Quantity(loss_db, "dB", "measured", source=f"worst in the band: {measured_at}")
    return Quantity(loss_db, "dB", "stated", source=f"return loss {return_loss_db:g} dB")


def polarisation(
    product: Polarisation | None, far_end: Polarisation | None, angle_deg: float | None
) -> Quantity:
    """Return the polarisation loss between two antennas.

    Parameters
    ----------
    product, far_end : {"linear", "circular", "unknown"} or None
    angle_deg : float or None
        Between two linear antennas [deg].

    Returns
    -------
    Quantity
        Loss [dB].

    Raises
    ------
    OutOfRange
        Where two linear antennas are crossed so far that their own impurity decides.
    """
    # an angle between the two has a meaning for linear antennas alone
    unsaid: Polarisation | None = None if angle_deg is None else "linear"
    both = (product or unsaid, far_end or unsaid)
    if both == ("circular", "circular"):
        return _typical("both circular", "dB")
    if set(both) == {"linear", "circular"}:
        return _typical("linear to circular", "dB")
    if "unknown" in both or None in both or angle_deg is None:
        return _typical("polarisation not stated", "dB", "assumed")
    return Quantity(
        polarisation_loss_db(angle_deg), "dB", "stated", source=f"{angle_deg:g} deg between the two"
    )


@lru_cache(maxsize=1)
def plastic_rows() -> dict[str, SourcedRow]:
    """Return what is typical of antennas beside plastic, by its name."""
    return {row.cells["term"]: row for row in load_sourced_rows("practice/plastic_bands.csv")}


def plastic(
    parts: Sequence[PlasticPart], low_hz: float, high_hz: float, return_loss_db: float | None
) -> Quantity:
    """Return the mismatch that plastic parts add to an antenna tuned without them.

    Parameters
    ----------
    parts : sequence of PlasticPart
    low_hz, high_hz : float
        Ends of the radio's band [Hz].
    return_loss_db : float or None
        Worst in the band without the parts [dB]; it bounds the antenna's quality factor above.

    Returns
    -------
    Quantity
        Loss, mean over the band [dB]. Its band: what the shift and the quality factor may be, each
        alone, as root of squares.

    Raises
    ------
    InputError, OutOfRange
        As ``physics.plastics.effective_permittivity``.
    """
    spread, quality = plastic_rows()[_PLASTIC], plastic_rows()["quality factor of an antenna"]
    most = math.inf
    if return_loss_db is not None:
        most = most_quality_factor(return_loss_db, low_hz, high_hz)
    low_q, typical_q, high_q = (min(most, quality.number(key)) for key in ("low", "value", "high"))
    middle_hz = math.sqrt(low_hz * high_hz)
    shifts_hz = lowered_range_hz(parts, middle_hz)
    lowest, typical, highest = (1.0 - shift / middle_hz for shift in shifts_hz)

    def loss_db(lowered: float, quality_factor: float) -> float:
        return detuned_loss_db(low_hz, high_hz, lowered, quality_factor)

    value = loss_db(typical, typical_q)
    down = math.hypot(value - loss_db(lowest, typical_q), value - loss_db(typical, low_q))
    up = math.hypot(loss_db(highest, typical_q) - value, loss_db(typical, high_q) - value)
    shift = f"{shifts_hz[0] / 1e6:.0f} to {shifts_hz[-1] / 1e6:.0f} MHz"
    source = (
        f"{_listed(parts)}: resonance {shift} lower ({spread.source}), quality factor"
        f" {low_q:.3g} to {high_q:.3g} ({quality.source}); not tuned again"
    )
    return Quantity(value, "dB", "typical", max(0.0, value - down), value + up, source, _BAND)


def lowered_range_hz(
    parts: Sequence[PlasticPart], frequency_hz: float
) -> tuple[float, float, float]:
    """Return how far plastic parts lower a resonance: low, typical and high.

    Parameters
    ----------
    parts : sequence of PlasticPart
    frequency_hz : float
        Resonance without them [Hz].

    Returns
    -------
    tuple of float
        Permittivities and weight at the low end, as they are, and at the high end [Hz].
    """
    weight = plastic_rows()[_PLASTIC]
    radius_m = plastic_rows()["conductor of an antenna"].number("value") * 1e-3

    def shift_hz(permittivities: Sequence[float], share: float) -> float:
        felt = [
            effective_permittivity(each, part.thickness_m, part.gap_m, frequency_hz, radius_m)
            for each, part in zip(permittivities, parts, strict=True)
        ]
        # full embedding in the densest of them is the end of it
        least = 1.0 / math.sqrt(max(permittivities))
        return (1.0 - max(least, lowered_resonance(felt, share))) * frequency_hz

    lows, highs = zip(*(part.permittivity.band for part in parts), strict=True)
    return (
        shift_hz(lows, weight.number("low")),
        shift_hz([part.permittivity.value for part in parts], weight.number("value")),
        shift_hz(highs, weight.number("high")),
    )


def _listed(parts: Sequence[PlasticPart]) -> str:
    return ", ".join(
        f"{part.thickness_m * 1e3:g} mm of {part.name} at {part.gap_m * 1e3:g} mm" for part in parts
    )


def body(loss_db: float | None) -> Quantity:
    """Return the loss by people and furniture near the far end [dB]."""
    if loss_db is None:
        return _typical("body not stated", "dB", "assumed")
    return Quantity(loss_db, "dB", "stated", source="far_end.body_loss")


def sensitivity(
    stated_dbm: float | None,
    bandwidth_hz: float,
    noise_figure_db: float | None,
    required_snr_db: float | None,
) -> Quantity:
    """Return the weakest level that the receiver still takes, as stated or from its noise.

    Parameters
    ----------
    stated_dbm : float or None
        From the data sheet [dBm]; it goes first.
    bandwidth_hz, noise_figure_db, required_snr_db : float
        Receiver bandwidth [Hz], noise figure and required signal to noise ratio [dB].

    Returns
    -------
    Quantity
        Sensitivity [dBm].
    """
    if stated_dbm is not None:
        return Quantity(stated_dbm, "dBm", "stated", source="data sheet sensitivity")
    if noise_figure_db is None or required_snr_db is None:
        raise ValueError("a checked radio states a sensitivity, or noise figure and ratio")
    level_dbm = sensitivity_dbm(bandwidth_hz, noise_figure_db, required_snr_db)
    source = "thermal noise at 290 K in the bandwidth, noise figure and required ratio"
    return Quantity(level_dbm, "dBm", "computed", source=source)


def typical_shadowing_db() -> float:
    """Return the spread of log-normal fading where nobody stated it [dB]."""
    return practice_rows()["shadowing not stated"].number("typical_db")


def cited_terms(terms: Sequence[Quantity]) -> tuple[SourcedRow, ...]:
    """Return the practice rows that these terms lean on."""
    return tuple(
        row
        for row in (*practice_rows().values(), *plastic_rows().values())
        if any(str(row.source) in term.source for term in terms)
    )
