"""What the field solver says of a plate or tray, in the terms of the closed forms."""

from __future__ import annotations

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import (
    BAND_MEANING,
    OPEN_SIDE,
    ROUND_EDGE,
    MetalEffect,
    PathLoss,
    one_after_another,
    side_by_side,
    strongest_first,
)
from linkbudget.enclosure.fullwave import FieldComparison
from linkbudget.enclosure.geometry import FarEnd, Plate
from linkbudget.enclosure.walls import through_openings, through_sheet

METHOD = "method of moments on a wire grid, two meshes"

_CAUTIONS = (
    "Solved for the antenna, board and sheet as dimensioned; plastic, cables, a hand and the"
    " antenna's own details are not in it, and the band allows 2 dB for them.",
    "Means over a whole side; the scatter of single directions is told beside them.",
    "A measurement with and without the metal replaces this estimate.",
)


def solved_effect(
    comparison: FieldComparison, plate: Plate, frequency_hz: float, toward: FarEnd
) -> MetalEffect:
    """Return what the metal costs toward the far end, from solved fields.

    Parameters
    ----------
    comparison : FieldComparison
        The antenna with the metal and without, as is.
    plate : Plate
        For the ways that the wire grid does not hold: through the sheet and its openings.
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}

    Returns
    -------
    MetalEffect
        The scatter is that of 10 to 90 % of the directions on that side.
    """
    split = comparison.split(toward)
    port = one_after_another(
        split.detuning, split.dissipation, f"{METHOD}: mismatch and dissipation"
    )
    name = ROUND_EDGE if toward == "above" else OPEN_SIDE
    paths = [PathLoss(name, split.shadow, "mean over the side, the antenna's port not included")]
    if toward == "above":
        paths.append(through_sheet(plate.metal, plate.thickness_m, frequency_hz))
        if plate.openings:
            paths.append(through_openings(plate.openings, plate.thickness_m, frequency_hz))
    way_out = one_after_another(
        side_by_side([path.loss for path in paths], METHOD), _left_out(), METHOD
    )
    ordered = strongest_first(paths)
    return MetalEffect(
        toward=toward,
        detuning=port,
        paths=ordered,
        dominant=ordered[0].name,
        total=one_after_another(way_out, port, METHOD),
        largest_gain=_peak_gain(comparison),
        cautions=(*comparison.cautions, *_CAUTIONS),
        scatter=_scatter(comparison, toward),
    )


def _left_out() -> Quantity:
    """Return what a scene leaves out, as a band round nothing [dB]."""
    band = metal_bands()["solved_left_out"]
    return Quantity(0.0, "dB", "assumed", band.low, band.high, str(band.source), BAND_MEANING)


def _scatter(comparison: FieldComparison, toward: FarEnd) -> Quantity:
    mean = comparison.mean_gain(toward).value
    spread = comparison.spread(toward)
    low, high = min(0.0, mean - spread.high.value), max(0.0, mean - spread.low.value)
    source = f"{METHOD}: what 80 % of the directions on that side stay within"
    return Quantity(0.0, "dB", "computed", low, high, source, BAND_MEANING)


def _peak_gain(comparison: FieldComparison) -> Quantity:
    """Return how much higher the peak is, re-matched, than that of the antenna without metal."""
    with_db = comparison.with_metal.directivity_max
    without_db = comparison.without_metal.directivity_max
    value = with_db.value - without_db.value
    half = max(1.0, with_db.band[1] - with_db.value)
    return Quantity(value, "dB", "computed", value - half, value + half, METHOD, BAND_MEANING)
