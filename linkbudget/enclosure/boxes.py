"""A radio inside a closed metal box: a balance between what leaks, and what is lost inside.

The slot rule has no place here. Inside, the field builds up until the openings and the lossy parts
take what the radio puts in; so the quality factor counts as much as the opening.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from linkbudget.core.decibels import power_ratio_from_db
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.box_fit import require_antenna_fits, require_sound
from linkbudget.enclosure.cut_off import (
    CUT_OFF_CAUTIONS,
    CUT_OFF_METHOD,
    cut_off_leaks,
    cut_off_loss,
    is_cut_off,
)
from linkbudget.enclosure.effect import (
    BAND_MEANING,
    THROUGH_OPENINGS,
    THROUGH_SHEET,
    MetalEffect,
    PathLoss,
    loss_quantity,
    one_after_another,
    scatter_of,
    side_by_side,
    strongest_first,
)
from linkbudget.enclosure.geometry import Box, FarEnd
from linkbudget.enclosure.leaks import Leak, leaks_of, leaks_together
from linkbudget.enclosure.plate_shares import plane_detuning_db
from linkbudget.enclosure.sides import toward_loss
from linkbudget.enclosure.walls import (
    not_below_zero,
    share_loss_db,
    sheet_note,
    solid_wall_db,
)
from linkbudget.physics.cavity import lowest_resonance_hz, opening_quality_factor
from linkbudget.physics.propagation import wavelength_m

BALANCE_METHOD = "power balance of a resonant box, openings by polarisability and slot resonance"
IMAGE_METHOD = "image theory at half the height to the nearer wall; unknown in a resonant box"
TOTAL_METHOD = "radiated power in all directions; " + BALANCE_METHOD

_TELLING_NULL_DB, _DEEP_NULL_DB = 3.0, 20.0
_TELLING_SHARE = 0.1  # of all that leaves: a null in a lesser opening moves nothing

_STANDING_PLACES = (
    "where the field inside stands still, or along a narrow slot, tens of dB less leave."
)
_NEAR_PLACES = (
    "each box width between antenna and opening is worth some 27 dB, so place and distance"
    " decide: state them."
)

_HELD_UP, _TURNED = "a place that nobody knows", "an antenna turned to all axes alike"

_CAUTIONS = (
    "Seams, gaps of the lid and cable entries leak as well; what is not stated is not counted.",
    "Closed forms, held against finite differences for boxes of 120 to 400 mm at 2.4 and 5 GHz with"
    " quality factors of 30 to 300; a measurement with the lid on and off replaces this estimate.",
)


def box_effect(box: Box, frequency_hz: float, toward: FarEnd) -> MetalEffect:
    """Return what a closed box round the radio costs.

    Parameters
    ----------
    box : Box
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
        The lid is above. Counts where the wall of every opening is known, else all sides are alike.

    Returns
    -------
    MetalEffect
        Paths and total. The band is 12 dB wide at most before detuning and side, where the quality
        factor is stated; without it 10 dB more for each decade it may lie in. Below the first
        resonance 20 dB, where all places are known, and the detuning is contained in it.

    Raises
    ------
    MissingData
        Where no opening is stated.
    InputError
        Where the geometry is impossible.

    Notes
    -----
    Below the first resonance: ``cut_off``. Above it a balance.
    Share of the power that leaves through one path: ``(Q / Qi) / (1 + sum(Q / Qj))`` with
    ``Qi = 8 pi V / (wavelength a)`` and ``a`` the area that its openings swallow.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, power
    balance of apertures and walls (from memory).
    """
    require_possible(box, frequency_hz)
    leaks = box_leaks(box, frequency_hz)
    paths = _paths(box, frequency_hz, leaks)
    inside = not_below_zero(side_by_side([path.loss for path in paths], TOTAL_METHOD))
    side = toward_loss(leaks, toward)
    way_out = inside if side is None else one_after_another(inside, side, TOTAL_METHOD)
    detuning = None if is_cut_off(box, frequency_hz) else _detuning(box, frequency_hz)
    total = way_out if detuning is None else one_after_another(way_out, detuning, TOTAL_METHOD)
    return MetalEffect(
        toward=toward,
        detuning=detuning,
        paths=paths,
        dominant=paths[0].name,
        total=total,
        largest_gain=None,
        cautions=box_cautions(box, frequency_hz, leaks),
        scatter=scatter_of("scatter_box" if side is None else "scatter_beside"),
    )


def box_loss(box: Box, frequency_hz: float, quality_factor: float) -> Quantity:
    """Return accepted over radiated power of a box whose quality factor is known.

    Parameters
    ----------
    box : Box
        With at least one opening.
    frequency_hz : float
        Frequency [Hz].
    quality_factor : float
        Of the box with all that is in it, openings closed [1].

    Returns
    -------
    Quantity
        Loss over the whole sphere, detuning not included [dB].

    Raises
    ------
    InputError, MissingData
        As ``box_effect``.
    """
    return radiated_loss(replace(box, quality_factor=quality_factor), frequency_hz)


def radiated_loss(box: Box, frequency_hz: float) -> Quantity:
    """Return accepted over radiated power of a box.

    Parameters
    ----------
    box : Box
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    Quantity
        Loss over the whole sphere, detuning not included [dB].

    Raises
    ------
    InputError, MissingData
        As ``box_effect``.
    """
    require_possible(box, frequency_hz)
    paths = _paths(box, frequency_hz, box_leaks(box, frequency_hz))
    return not_below_zero(side_by_side([path.loss for path in paths], TOTAL_METHOD))


def first_resonance_hz(box: Box) -> float:
    """Return the lowest resonance of the empty box.

    Parameters
    ----------
    box : Box

    Returns
    -------
    float
        ``c/2 sqrt(1/a^2 + 1/b^2)`` of the two longest inner dimensions [Hz].

    References
    ----------
    D. M. Pozar, Microwave Engineering, rectangular waveguide cavity resonators (from memory).
    """
    return lowest_resonance_hz(box.sides_m)


def box_quality(box: Box) -> Quantity:
    """Return the quality factor with openings closed: stated, or what is common, and its band."""
    common = metal_bands()["box_quality_factor"]
    if box.quality_factor is None:
        meaning = common.source.document
        return Quantity(
            common.value, "1", "assumed", common.low, common.high, meaning, BAND_MEANING
        )
    return Quantity(box.quality_factor, "1", "stated", source="quality factor of the box")


def require_possible(box: Box, frequency_hz: float) -> None:
    """Refuse a box that cannot be made, or cannot hold its antenna at a frequency [Hz].

    Raises
    ------
    InputError, MissingData
        Where the geometry is impossible, or no opening is known.
    """
    require_sound(box)
    require_antenna_fits(box, frequency_hz)


def box_leaks(box: Box, frequency_hz: float) -> tuple[Leak, ...]:
    """Return what leaves by each opening, by the model that holds at a frequency [Hz]."""
    return (cut_off_leaks if is_cut_off(box, frequency_hz) else leaks_of)(box, frequency_hz)


def _paths(box: Box, frequency_hz: float, leaks: Sequence[Leak]) -> tuple[PathLoss, ...]:
    wall_db = solid_wall_db(box.metal, box.thickness_m, frequency_hz)
    governs = max(leaks, key=lambda one: one.area_m2)
    notes = {
        THROUGH_OPENINGS: f"the {governs.name} governs",
        THROUGH_SHEET: sheet_note(wall_db),
    }
    if is_cut_off(box, frequency_hz):
        losses_of = {
            THROUGH_OPENINGS: cut_off_loss(leaks),
            THROUGH_SHEET: loss_quantity(wall_db, wall_db, wall_db, CUT_OFF_METHOD),
        }
        return strongest_first([PathLoss(name, losses_of[name], notes[name]) for name in notes])
    sheet_m2 = _wall_area_m2(box) * power_ratio_from_db(-wall_db)
    quality, spread = box_quality(box), leaks_together(leaks)
    low, high = quality.band
    cases = ((quality.value, spread.typical_m2), (high, spread.high_m2), (low, spread.low_m2))
    losses = [
        _losses_db(box, frequency_hz, q, {THROUGH_OPENINGS: area_m2, THROUGH_SHEET: sheet_m2})
        for q, area_m2 in cases
    ]
    return strongest_first([PathLoss(name, _band(losses, name), notes[name]) for name in notes])


def _band(losses: Sequence[dict[str, float]], name: str) -> Quantity:
    typical, *ends = (max(0.0, loss[name]) for loss in losses)
    # beside openings that take more, the sheet takes less: its ends lie the other way round
    return loss_quantity(typical, min(typical, *ends), max(typical, *ends), BALANCE_METHOD)


def _losses_db(
    box: Box, frequency_hz: float, quality_factor: float, areas_m2: dict[str, float]
) -> dict[str, float]:
    """Return the loss of each path by name [dB]."""
    volume_m3 = math.prod(box.sides_m)
    leaks = {
        name: quality_factor / opening_quality_factor(volume_m3, area_m2, frequency_hz)
        for name, area_m2 in areas_m2.items()
    }
    everything = 1.0 + sum(leaks.values())
    return {name: share_loss_db(leak / everything) for name, leak in leaks.items()}


def _wall_area_m2(box: Box) -> float:
    a, b, c = box.sides_m
    return 2.0 * (a * b + b * c + c * a)


def _detuning(box: Box, frequency_hz: float) -> Quantity:
    shortest_m = min(box.sides_m)
    value = plane_detuning_db(shortest_m / 2.0, frequency_hz)
    return loss_quantity(
        value, 0.0, plane_detuning_db(shortest_m / 4.0, frequency_hz), IMAGE_METHOD
    )


def box_cautions(box: Box, frequency_hz: float, leaks: Sequence[Leak]) -> tuple[str, ...]:
    """Return where the estimate of a box ends, most telling first."""
    below = is_cut_off(box, frequency_hz)
    cautions = list(CUT_OFF_CAUTIONS if below else _range_cautions(box, frequency_hz))
    if box.quality_factor is None and not below:
        common = metal_bands()["box_quality_factor"]
        cautions.append(
            f"The quality factor of the box is not known: {common.value:g} is assumed and the band"
            f" covers {common.low:g} to {common.high:g}; a decade of it is 10 dB for a small"
            " opening."
        )
    if not all(one.placed for one in leaks):
        cautions.append(
            f"Not known: {_missing_places(box, leaks)}. Seven places in ten lie in the band; "
            + (_NEAR_PLACES if below else _STANDING_PLACES)
        )
    cautions.extend(_null_cautions(leaks, _TURNED if below else _HELD_UP))
    if any(one.opening.wall is None for one in leaks):
        cautions.append(
            "Power in all directions, since the wall of an opening is not known: on the side of the"
            " openings expect about 3 dB less loss, on the far side about 10 dB more."
        )
    return (*cautions, *(_CAUTIONS[:1] if below else _CAUTIONS))


def _missing_places(box: Box, leaks: Sequence[Leak]) -> str:
    """Name what has no place: the antenna, and of each opening what nobody said."""
    missing = ["the place of the antenna"] if box.antenna is None else []
    for one in leaks:
        opening = one.opening
        facts = {
            "wall": opening.wall,
            "direction": opening.along or opening.shape == "round" or None,
            "place": opening.place_m,
        }
        unsaid = [name for name, fact in facts.items() if fact is None]
        if unsaid:
            listed = " and ".join(filter(None, [", ".join(unsaid[:-1]), unsaid[-1]]))
            missing.append(f"{listed} of the {one.name}")
    return "; ".join(missing)


def _null_cautions(leaks: Sequence[Leak], assumed: str) -> list[str]:
    floor_db = -metal_bands()["box_null_floor"].value
    total_m2 = sum(one.area_m2 for one in leaks)
    cautions = []
    for one in leaks:
        if one.null_db < _TELLING_NULL_DB or one.area_m2 < _TELLING_SHARE * total_m2:
            continue
        deep = "over " if one.null_db > _DEEP_NULL_DB else ""
        cautions.append(
            f"The {one.name} lies in a null of this antenna: in a bare box"
            f" {deep}{min(one.null_db, _DEEP_NULL_DB):.0f} dB less would leave by it than the"
            " typical figure says, outside the band. Board, cables and feed break such a null:"
            f" {floor_db:g} dB under {assumed} is assumed."
        )
    return cautions


def _range_cautions(box: Box, frequency_hz: float) -> tuple[str, ...]:
    wavelength = wavelength_m(frequency_hz)
    checks = (
        ("longest side", max(box.sides_m), "box_length_range"),
        ("longest opening", max(o.length_m for o in box.openings), "box_opening_range"),
    )
    cautions = []
    for what, value_m, name in checks:
        band = metal_bands()[name]
        if not band.holds(value_m / wavelength):
            cautions.append(
                f"The {what}, {value_m / wavelength:.3g} wavelengths, lies outside the computed"
                f" {band.low:g} to {band.high:g}; take the band as an order of magnitude."
            )
    return tuple(cautions)
