"""From what a data sheet states to the terms of a budget, and what stands in where it is silent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from linkbudget.core.decibels import db_from_power_ratio
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.core.stated import Stated
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.physics.antennas import (
    LARGEST_POLARISATION_ANGLE_DEG,
    mismatch_loss_db,
    polarisation_loss_db,
)
from linkbudget.physics.noise import sensitivity_dbm, thermal_noise_dbm
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


def typical_term(term: str, unit: str = "dB", kind: Kind = "typical") -> Quantity:
    """Return a typical value of the trade by its term, with its band and source."""
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


def antenna_gain(
    gain: Stated | None, efficiency: Stated | None, toward: Stated | None = None
) -> Quantity:
    """Return the gain toward a far end whose direction from the antenna is not known.

    Parameters
    ----------
    gain : Stated or None
        Peak gain of the data sheet [dBi].
    efficiency : Stated or None
        Radiated over accepted power [1].
    toward : Stated or None
        Gain in the very direction of the far end, where it is known; it goes first [dBi].

    Returns
    -------
    Quantity
        Gain [dBi]: the mean over all directions, since what a pattern gives to one side it takes
        from another. From the efficiency where that is stated, else from the peak gain less what
        is typical between peak and mean; the peak bounds it above. Where those are uncertain
        themselves, that adds to the band as root of squares.

    Examples
    --------
    >>> print(antenna_gain(Stated(1.5), Stated(0.5)))
    -3.0 dBi (-7.5 to 1.5)
    """
    if toward is not None:
        return toward.quantity("dBi", "gain toward the other end")
    peak = practice_rows()["peak over mean gain"]
    if efficiency is not None:
        mean = efficiency.through(_db_from_share, "dBi", "efficiency")
        lift_db = peak.number("typical_db")
        if gain is not None:
            lift_db = max(0.0, gain.value - mean.value)
        bound = "the stated peak gain" if gain is not None else f"typical of a peak ({peak.source})"
        source = f"efficiency: the mean over all directions; high is {bound}"
        return _widened(mean, lift_db, lift_db, mean.value, "stated", source)
    if gain is not None:
        source = f"stated peak gain less what is typical between peak and mean ({peak.source})"
        typical_db, most_db = peak.number("typical_db"), peak.number("high_db")
        found = gain.quantity("dBi", source)
        value_dbi = gain.value - typical_db
        return _widened(found, most_db - typical_db, typical_db, value_dbi, "typical", source)
    return typical_term("antenna gain not stated", "dBi", "assumed")


def peak_gain(gain: Stated | None, efficiency: Stated | None, toward: Stated | None) -> Quantity:
    """Return the gain in the best direction, as the radio rules weigh it [dBi]."""
    if gain is not None:
        return gain.quantity("dBi", "stated peak gain")
    if efficiency is None:
        if toward is not None:
            return toward.quantity("dBi", "gain toward the other end, taken as the peak", "assumed")
        return typical_term("antenna gain not stated", "dBi", "assumed")
    row = practice_rows()["peak over mean gain"]
    mean = efficiency.through(_db_from_share, "dBi", "efficiency")
    lift_db = row.number("typical_db")
    spare_db = row.number("high_db") - lift_db
    source = f"efficiency and what is typical between mean and peak ({row.source})"
    return _widened(mean, spare_db, spare_db, mean.value + lift_db, "typical", source)


def _widened(
    stated: Quantity, down_db: float, up_db: float, value: float, kind: Kind, source: str
) -> Quantity:
    """Return a value with a band of its own and that of what it rests on, root of squares."""
    low, high = stated.band
    down = math.hypot(down_db, stated.value - low)
    up = math.hypot(up_db, high - stated.value)
    return Quantity(value, stated.unit, kind, value - down, value + up, source, _BAND)


def _db_from_share(share: float) -> float:
    return db_from_power_ratio(min(max(share, 1e-5), 1.0))


def mismatch(return_loss: Stated | None, *, measured_at: str = "") -> Quantity:
    """Return the mismatch loss of an antenna.

    Parameters
    ----------
    return_loss : Stated or None
        Worst return loss in the band [dB].
    measured_at : str
        Where in a measured file it stands; "" where the scenario states it.

    Returns
    -------
    Quantity
        Loss [dB].
    """
    if return_loss is None:
        return typical_term("mismatch not stated", "dB", "assumed")
    if measured_at:
        return return_loss.through(
            mismatch_loss_db, "dB", f"worst in the band: {measured_at}", "measured"
        )
    source = f"return loss {return_loss.value:g} dB"
    return return_loss.through(lambda db: mismatch_loss_db(max(db, 0.1)), "dB", source)


def polarisation(
    product: Polarisation | None, far_end: Polarisation | None, angle_deg: Stated | None
) -> Quantity:
    """Return the polarisation loss between two antennas.

    Parameters
    ----------
    product, far_end : {"linear", "circular", "unknown"} or None
    angle_deg : Stated or None
        Between two linear antennas [deg]; all angles are alike likely where it is not stated.

    Returns
    -------
    Quantity
        Loss [dB]; beyond 80 degrees that at 80, since there the antennas' own impurity decides.

    Examples
    --------
    >>> print(polarisation("linear", "linear", None))
    3.0 dB (0.0 to 15.2)
    >>> print(polarisation("linear", "linear", Stated(90.0)))
    15.2 dB
    """
    # an angle between the two has a meaning for linear antennas alone
    unsaid: Polarisation | None = None if angle_deg is None else "linear"
    both = (product or unsaid, far_end or unsaid)
    if both == ("circular", "circular"):
        return typical_term("both circular", "dB")
    if set(both) == {"linear", "circular"}:
        return typical_term("linear to circular", "dB")
    if "unknown" in both or None in both:
        return typical_term("polarisation not stated", "dB", "assumed")
    if angle_deg is None:
        source = "two linear antennas at any angle, all alike likely"
        return Stated.between(0.0, 90.0).through(_crossed_loss_db, "dB", source, "assumed")
    source = f"{angle_deg.value:g} deg between the two"
    if angle_deg.low is None:
        if angle_deg.value > LARGEST_POLARISATION_ANGLE_DEG:
            source += f", counted as {LARGEST_POLARISATION_ANGLE_DEG:g} deg: no antenna is so pure"
        return Quantity(_crossed_loss_db(angle_deg.value), "dB", "stated", source=source)
    return angle_deg.through(_crossed_loss_db, "dB", source)


def _crossed_loss_db(angle_deg: float) -> float:
    """Return the loss at an angle of any size, the antennas' own impurity as its most [dB]."""
    acute_deg = abs((angle_deg + 90.0) % 180.0 - 90.0)
    return polarisation_loss_db(min(acute_deg, LARGEST_POLARISATION_ANGLE_DEG))


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


def body(loss: Stated | None) -> Quantity:
    """Return the loss by people and furniture near the far end [dB]."""
    if loss is None:
        return typical_term("body not stated", "dB", "assumed")
    return loss.quantity("dB", "far_end.body_loss")


def sensitivity(
    stated: Stated | None,
    bandwidth_hz: float,
    noise_figure: Stated | None,
    required_snr: Stated | None,
) -> Quantity:
    """Return the weakest level that the receiver still takes, as stated or from its noise.

    Parameters
    ----------
    stated : Stated or None
        From the data sheet [dBm]; it goes first.
    bandwidth_hz : float
        Receiver bandwidth [Hz].
    noise_figure, required_snr : Stated or None
        Noise figure and required signal to noise ratio [dB]; where both are uncertain their bands
        add as root of squares.

    Returns
    -------
    Quantity
        Sensitivity [dBm].
    """
    if stated is not None:
        return stated.quantity("dBm", "data sheet sensitivity")
    if noise_figure is None or required_snr is None:
        raise ValueError("a checked radio states a sensitivity, or noise figure and ratio")
    figure, ratio = noise_figure, required_snr
    level_dbm = sensitivity_dbm(bandwidth_hz, figure.value, ratio.value)
    source = "thermal noise at 290 K in the bandwidth, noise figure and required ratio"
    uncertain = [each for each in (figure, ratio) if each.low is not None]
    if not uncertain:
        return Quantity(level_dbm, "dBm", "computed", source=source)
    if len(uncertain) == 1:  # its shape is that of the sum
        alone = uncertain[0].quantity("dBm", source, "computed")
        return alone.less(alone.value - level_dbm)
    down, up = (math.hypot(*(each.band[end] - each.value for each in uncertain)) for end in (0, 1))
    return Quantity(level_dbm, "dBm", "computed", level_dbm - down, level_dbm + up, source)


def receiver_noise_dbm(bandwidth_hz: float, noise_figure: Stated | None) -> float:
    """Return the noise of a receiver in its bandwidth [Hz]; a typical figure if none is stated."""
    row = practice_rows()["noise figure not stated"]
    figure_db = row.number("typical_db") if noise_figure is None else noise_figure.value
    return thermal_noise_dbm(bandwidth_hz) + figure_db


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
