"""A radio inside a closed metal box: a balance between what leaks, and what is lost inside.

The slot rule has no place here. Inside, the field builds up until the openings and the lossy parts
take what the radio puts in; so the quality factor counts as much as the opening.
"""

from __future__ import annotations

import math

from linkbudget.core.errors import MissingData, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import (
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
from linkbudget.enclosure.geometry import Box, FarEnd, Opening
from linkbudget.enclosure.plates import plane_detuning_db
from linkbudget.enclosure.walls import (
    not_below_zero,
    require_openings_fit,
    share_loss_db,
    sheet_note,
    solid_wall_db,
)
from linkbudget.physics.apertures import below_cutoff_db
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S, wavelength_m
from linkbudget.physics.validity import require_positive

BALANCE_METHOD = "power balance of a resonant box, openings by polarisability and slot resonance"
IMAGE_METHOD = "image theory at half the height to the nearer wall; unknown in a resonant box"
TOTAL_METHOD = "radiated power in all directions; " + BALANCE_METHOD

_CAUTIONS = (
    "Power in all directions: which wall the openings are in is not known here. On their side"
    " expect about 3 dB less loss, on the far side about 10 dB more.",
    "Place and orientation of an opening against the antenna may take tens of dB more.",
    "Seams, gaps of the lid and cable entries leak as well; what is not stated is not counted.",
    "Closed forms, checked for one box of 200 x 120 x 25 mm at 2.44 GHz with a quality factor of"
    " 100; a measurement with the lid on and off replaces this estimate.",
)


def box_effect(box: Box, frequency_hz: float, toward: FarEnd) -> MetalEffect:
    """Return what a closed box round the radio costs, the same toward every side.

    Parameters
    ----------
    box : Box
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
        Carried through: the place of the openings is not known.

    Returns
    -------
    MetalEffect
        Paths and total with a band that covers an unknown quality factor.

    Raises
    ------
    MissingData
        Where no opening is stated.
    OutOfRange
        Below the first resonance of the box, where it holds no wave.
    InputError
        Where the geometry is impossible.

    Notes
    -----
    Share of the power that leaves through one path: ``(Q / Qi) / (1 + sum(Q / Qj))`` with
    ``Qi = 8 pi V / (wavelength a)`` and ``a`` its mean transmission cross-section.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, power
    balance of apertures and walls (from memory).
    """
    _require_possible(box, frequency_hz)
    paths = _paths(box, frequency_hz)
    inside = not_below_zero(side_by_side([path.loss for path in paths], TOTAL_METHOD))
    detuning = _detuning(box, frequency_hz)
    return MetalEffect(
        toward=toward,
        detuning=detuning,
        paths=paths,
        dominant=paths[0].name,
        total=one_after_another(inside, detuning, TOTAL_METHOD),
        largest_gain=None,
        cautions=(*_range_cautions(box, frequency_hz), _quality_caution(), *_CAUTIONS),
        scatter=scatter_of("scatter_box"),
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
    InputError, MissingData, OutOfRange
        As ``box_effect``.
    """
    _require_possible(box, frequency_hz)
    require_positive("quality factor", quality_factor)
    losses = [
        _with_spread(loss_db, loss_db, loss_db)
        for loss_db in _losses_db(box, frequency_hz, quality_factor).values()
    ]
    return not_below_zero(side_by_side(losses, TOTAL_METHOD))


def _require_possible(box: Box, frequency_hz: float) -> None:
    for what, value in (("length", box.length_m), ("width", box.width_m), ("height", box.height_m)):
        require_positive(f"inner {what} of the box (m)", value)
    if not box.openings:
        raise MissingData(
            "a closed box without any opening",
            "the openings, slots and gaps of the box",
            "State them, longest first; or measure with the lid on and off, and state the"
            " attenuation.",
            field="openings",
        )
    require_openings_fit(box.openings, max(box.length_m, box.width_m, box.height_m))
    first_hz = first_resonance_hz(box)
    if frequency_hz < first_hz:
        raise OutOfRange(
            "frequency for a radio in this box (Hz)",
            frequency_hz,
            first_hz,
            math.inf,
            "Below its first resonance the box holds no wave and the power balance ends; measure"
            " with the lid on and off, and state the attenuation.",
        )


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
    _, b_m, a_m = sorted((box.length_m, box.width_m, box.height_m))
    return SPEED_OF_LIGHT_M_PER_S / 2.0 * math.hypot(1.0 / a_m, 1.0 / b_m)


def _paths(box: Box, frequency_hz: float) -> tuple[PathLoss, ...]:
    quality = metal_bands()["box_quality_factor"]
    typical = _losses_db(box, frequency_hz, quality.value)
    lossy = _losses_db(box, frequency_hz, quality.low)
    lossless = _losses_db(box, frequency_hz, quality.high)
    notes = {
        THROUGH_OPENINGS: "the longest opening governs",
        THROUGH_SHEET: sheet_note(solid_wall_db(box.metal, box.thickness_m, frequency_hz)),
    }
    return strongest_first(
        [
            PathLoss(name, _with_spread(loss_db, lossless[name], lossy[name]), notes[name])
            for name, loss_db in typical.items()
        ]
    )


def _with_spread(loss_db: float, at_least_db: float, at_most_db: float) -> Quantity:
    spread = metal_bands()["box_spread"]
    low, high = at_least_db + spread.low, at_most_db + spread.high
    return not_below_zero(loss_quantity(loss_db, low, high, BALANCE_METHOD))


def _losses_db(box: Box, frequency_hz: float, quality_factor: float) -> dict[str, float]:
    """Return the loss of each path by name [dB]."""
    wall_db = solid_wall_db(box.metal, box.thickness_m, frequency_hz)
    areas_m2 = {
        THROUGH_OPENINGS: sum(
            opening_area_m2(opening, box.thickness_m, frequency_hz) for opening in box.openings
        ),
        THROUGH_SHEET: _wall_area_m2(box) * 10.0 ** (-wall_db / 10.0),
    }
    volume_m3 = box.length_m * box.width_m * box.height_m
    wavelength = wavelength_m(frequency_hz)
    leaks = {
        name: quality_factor * wavelength * area_m2 / (8.0 * math.pi * volume_m3)
        for name, area_m2 in areas_m2.items()
    }
    offset_db = metal_bands()["box_offset"].value
    everything = 1.0 + sum(leaks.values())
    return {name: share_loss_db(leak / everything) + offset_db for name, leak in leaks.items()}


def _wall_area_m2(box: Box) -> float:
    a, b, c = box.length_m, box.width_m, box.height_m
    return 2.0 * (a * b + b * c + c * a)


def opening_area_m2(opening: Opening, thickness_m: float, frequency_hz: float) -> float:
    """Return the mean transmission cross-section of an opening, over directions and polarisations.

    Parameters
    ----------
    opening : Opening
    thickness_m : float
        Thickness of the wall [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Cross-section of all its equal openings together [m2].

    Notes
    -----
    Small: ``m 4 k^4 p^2 / (3 pi)`` with the magnetic polarisability ``p`` and the share ``m`` of
    directions that drive it, one in three for each axis of the opening. Longer, ``x = 2 L /
    wavelength``: divided by ``(1 - x^2)^2 + a_small / a_max``, so that it peaks at half a
    wavelength at ``a_max = wavelength^2 / (4 pi)``, the mean effective area of a matched slot.

    References
    ----------
    H. A. Bethe, Theory of Diffraction by Small Holes, Physical Review 66, 1944, cross-section
    ``64 k^4 r^6 / (27 pi)``; R. E. Collin, Field Theory of Guided Waves, polarisability of a
    narrow ellipse (both from memory).
    """
    wavelength = wavelength_m(frequency_hz)
    wave_number = 2.0 * math.pi / wavelength
    polarisability_m3, axes = _polarisability(opening)
    small_m2 = axes / 3.0 * 4.0 / (3.0 * math.pi) * wave_number**4 * polarisability_m3**2
    resonant_m2 = wavelength**2 / (4.0 * math.pi)
    detuned = (1.0 - (2.0 * opening.length_m / wavelength) ** 2) ** 2
    alone_m2 = small_m2 / (detuned + small_m2 / resonant_m2)
    depth_db = below_cutoff_db(opening.shape, opening.length_m, thickness_m, frequency_hz)
    together = opening.count ** metal_bands()["box_count_exponent"].value
    return float(alone_m2 * together * 10.0 ** (-depth_db / 10.0))


def _polarisability(opening: Opening) -> tuple[float, int]:
    """Return the magnetic polarisability [m3] along the opening, and how many axes have it."""
    length_m, width_m = opening.length_m, opening.width_m
    if opening.shape == "round":
        return length_m**3 / 6.0, 2  # 4 r^3 / 3
    if width_m > length_m / 2.0:
        return 0.259 * length_m**2 * width_m, 2  # 0.259 L^3 of a square hole, Cohn 1952
    return math.pi * length_m**3 / 24.0 / (math.log(4.0 * length_m / width_m) - 1.0), 1


def _detuning(box: Box, frequency_hz: float) -> Quantity:
    shortest_m = min(box.length_m, box.width_m, box.height_m)
    value = plane_detuning_db(shortest_m / 2.0, frequency_hz)
    return loss_quantity(
        value, 0.0, plane_detuning_db(shortest_m / 4.0, frequency_hz), IMAGE_METHOD
    )


def _quality_caution() -> str:
    quality = metal_bands()["box_quality_factor"]
    return (
        f"The quality factor of the box is not known: {quality.value:g} is assumed and the band"
        f" covers {quality.low:g} to {quality.high:g}; a decade of it is 10 dB for a small opening."
    )


def _range_cautions(box: Box, frequency_hz: float) -> tuple[str, ...]:
    wavelength = wavelength_m(frequency_hz)
    checks = (
        ("longest side", max(box.length_m, box.width_m, box.height_m), "box_length_range"),
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
