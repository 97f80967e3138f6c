"""Power through a wall that is lit from one side: through its metal, and through its openings."""

from __future__ import annotations

from dataclasses import replace

from linkbudget.core.decibels import db_from_power_ratio
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import (
    THROUGH_OPENINGS,
    THROUGH_SHEET,
    PathLoss,
    loss_quantity,
    side_by_side,
)
from linkbudget.enclosure.geometry import Metal, Opening
from linkbudget.physics.apertures import below_cutoff_db, equal_openings_db, slot_shielding_db
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB, Layer, sheet_loss_db

SHEET_METHOD = "plane wave through the sheet, transmission-line cascade"
SLOT_METHOD = "slot rule, equal openings and waveguide below cut-off, wall lit from one side"


def solid_wall_db(metal: Metal, thickness_m: float, frequency_hz: float) -> float:
    """Return what a plane wave loses through a wall without openings.

    Parameters
    ----------
    metal : Metal
    thickness_m : float
        Thickness of the wall [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Loss [dB], ``SHEET_LOSS_FLOOR_DB`` at most.
    """
    layer = Layer(
        thickness_m,
        conductivity_s_per_m=metal.conductivity_s_per_m,
        relative_permeability=metal.relative_permeability,
    )
    return sheet_loss_db(frequency_hz, [layer])


def sheet_note(loss_db: float) -> str:
    """Return the words that go with a loss through solid metal."""
    if loss_db >= SHEET_LOSS_FLOOR_DB:
        return f"the metal alone: at least {SHEET_LOSS_FLOOR_DB:.0f} dB"
    return f"the metal alone: {loss_db:.0f} dB, without openings or seams"


def through_sheet(metal: Metal, thickness_m: float, frequency_hz: float) -> PathLoss:
    """Return the path through the solid metal of a wall.

    Parameters
    ----------
    metal : Metal
    thickness_m : float
        Thickness of the wall [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    PathLoss
        No band: next to the other paths it does not matter for any sheet that is worth the name.
    """
    loss_db = solid_wall_db(metal, thickness_m, frequency_hz)
    coverage = "at least" if loss_db >= SHEET_LOSS_FLOOR_DB else "exact for the stated sheet"
    loss = replace(loss_quantity(loss_db, loss_db, loss_db, SHEET_METHOD), coverage=coverage)
    return PathLoss(THROUGH_SHEET, loss, sheet_note(loss_db))


def through_openings(
    openings: tuple[Opening, ...], thickness_m: float, frequency_hz: float
) -> PathLoss:
    """Return the path through the openings of a wall that stands open on its lit side.

    Parameters
    ----------
    openings : tuple of Opening
        At least one.
    thickness_m : float
        Thickness of the wall [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    PathLoss
        The rule is the low end; typical and high allow for place and orientation.

    Notes
    -----
    Never for a radio inside a closed box: there the resonances decide.
    """
    spread = metal_bands()["plate_opening_spread"]
    losses = []
    for opening in openings:
        rule_db = _rule_db(opening, thickness_m, frequency_hz)
        losses.append(
            loss_quantity(
                rule_db + spread.value, rule_db + spread.low, rule_db + spread.high, SLOT_METHOD
            )
        )
    return PathLoss(
        THROUGH_OPENINGS,
        not_below_zero(side_by_side(losses, SLOT_METHOD)),
        "low: in the worst place, electric field across its length; a slot along the field, or"
        " away from the antenna, lets tens of dB less through",
    )


def _rule_db(opening: Opening, thickness_m: float, frequency_hz: float) -> float:
    alone_db = slot_shielding_db(opening.length_m, frequency_hz)
    depth_db = below_cutoff_db(opening.shape, opening.length_m, thickness_m, frequency_hz)
    return max(0.0, alone_db + depth_db + equal_openings_db(opening.count))


def not_below_zero(loss: Quantity) -> Quantity:
    """Return the loss with nothing of it below 0 dB: an opening does not amplify."""
    low, high = loss.band
    return loss_quantity(max(0.0, loss.value), max(0.0, low), max(0.0, high), loss.source)


def require_openings_fit(openings: tuple[Opening, ...], longest_m: float) -> None:
    """Refuse an opening that is longer than the longest wall.

    Parameters
    ----------
    openings : tuple of Opening
    longest_m : float
        Longest dimension of the walls [m].

    Raises
    ------
    InputError
        Naming the opening and the wall.
    """
    for opening in openings:
        if opening.length_m > longest_m:
            raise InputError(
                f"an opening {opening.length_m * 1e3:g} mm long",
                f"at most the {longest_m * 1e3:g} mm of the longest wall",
                field="openings",
            )


def share_loss_db(share: float) -> float:
    """Return the loss [dB] of a share of power [1]; 1000 dB for a share that underflows."""
    return -db_from_power_ratio(max(share, 1e-100))
