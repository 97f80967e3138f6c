"""What the metal does to the link: one door for plates, boxes and stated attenuation."""

from __future__ import annotations

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.enclosure.boxes import box_effect
from linkbudget.enclosure.effect import BAND_MEANING, MetalEffect, PathLoss, no_scatter
from linkbudget.enclosure.geometry import Box, Enclosure, FarEnd, Plate, StatedAttenuation
from linkbudget.enclosure.plates import plate_effect

__all__ = ["MetalEffect", "PathLoss", "metal_effect"]

AS_STATED = "as stated"


def metal_effect(enclosure: Enclosure, frequency_hz: float, toward: FarEnd) -> MetalEffect:
    """Return what the metal costs toward the far end, by closed forms or as stated.

    Parameters
    ----------
    enclosure : Plate, Box or StatedAttenuation
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
        Side on which the far end is, seen from a plate with the antenna under it.

    Returns
    -------
    MetalEffect
        Detuning, paths and total with low, typical and high, and where the estimate ends.

    Raises
    ------
    InputError, MissingData, OutOfRange
        Where the geometry is impossible, incomplete, or beyond the closed forms.

    Examples
    --------
    >>> from linkbudget.enclosure.geometry import Metal
    >>> lid = Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.012, 0.06)
    >>> effect = metal_effect(lid, 2.44e9, "above")
    >>> effect.dominant, f"{effect.total.value:.0f} dB"
    ('round the edge', '14 dB')
    """
    if isinstance(enclosure, Plate):
        return plate_effect(enclosure, frequency_hz, toward)
    if isinstance(enclosure, Box):
        return box_effect(enclosure, frequency_hz, toward)
    return _stated(enclosure, toward)


def _stated(stated: StatedAttenuation, toward: FarEnd) -> MetalEffect:
    if stated.spread_db < 0.0:
        raise InputError(
            f"a spread of {stated.spread_db:g} dB",
            "half the distance between low and high, zero or more",
            field="spread",
        )
    kind: Kind = "measured" if stated.measured else "stated"
    total = Quantity(
        stated.typical_db,
        "dB",
        kind,
        stated.typical_db - stated.spread_db,
        stated.typical_db + stated.spread_db,
        "attenuation of the metal in the scenario",
        BAND_MEANING,
    )
    return MetalEffect(
        toward=toward,
        detuning=None,
        paths=(),
        dominant=AS_STATED,
        total=total,
        largest_gain=None,
        cautions=("The stated attenuation is taken toward every direction alike.",),
        scatter=no_scatter(),
    )
