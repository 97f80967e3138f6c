"""An antenna near a plate or a tray: what is lost to detuning, and where the power goes.

A plate destroys no power, it redirects it. Simple forms say how much: image theory for the
detuning, a leak round each edge that falls as one over the distance, the resonance of a short
sheet, and the power balance for the lit side. Their constants stand in
``data/practice/metal_bands.csv``.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

from linkbudget.core.decibels import power_ratio_from_db
from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import (
    BAND_MEANING,
    OPEN_SIDE,
    ROUND_EDGE,
    MetalEffect,
    PathLoss,
    loss_quantity,
    one_after_another,
    scatter_of,
    side_by_side,
    strongest_first,
    widened,
)
from linkbudget.enclosure.geometry import FarEnd, Plate, Scene
from linkbudget.enclosure.plate_cautions import (
    BESIDE_WALL,
    FINAL_CAUTIONS,
    PARASITIC,
    place_cautions,
)
from linkbudget.enclosure.plate_shares import Shares, shares_of, wall_distance_m
from linkbudget.enclosure.walls import (
    require_openings_fit,
    share_loss_db,
    through_openings,
    through_sheet,
)
from linkbudget.physics.antennas import (
    HALF_WAVE_RESISTANCE_OHM,
    image_impedance_ohm,
)
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

_FURTHEST_OUTSIDE = 2.5  # as a factor on either end of the fitted range

IMAGE_METHOD = (
    "image theory, half-wave dipole along the sheet, faded out toward the edges; resonance"
)
EDGE_METHOD = "leak round the edges and resonance of the sheet, fitted to method-of-moments plates"
BALANCE_METHOD = "power balance: what does not go behind the sheet goes out of its open side"
SPHERE_METHOD = "total radiated power: both sides together, then detuning"
TOTAL_METHOD = "paths added as powers, then detuning; bands as root of squares"

_OTHER_ANTENNA = (
    "The closed forms hold for a flat dipole; this antenna is another, or stands over a board, and"
    " may lose next to nothing: the band is opened to zero."
)


@lru_cache(maxsize=1024)  # sweeps and every radio ask for the same sheets again
def plate_effect(plate: Plate, frequency_hz: float, toward: FarEnd) -> MetalEffect:
    """Return what a plate or tray near the antenna costs toward the far end.

    Parameters
    ----------
    plate : Plate
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
        "above" is behind the sheet, "below" its lit side.

    Returns
    -------
    MetalEffect
        "above" and "below" are means over that half-space, "beside" over 30 degrees either side
        of the sheet's plane, "anywhere" over the sphere: that is the total radiated power, and how
        the sides differ stands in the scatter.

    Raises
    ------
    InputError
        Where the geometry is impossible.

    Notes
    -----
    What goes behind the sheet and what detuning takes: ``plate_shares``; the lit side gets
    ``2 - u`` of a share ``u`` behind. Direction and place of the antenna are those of the plate.

    Fitted to sheets of 25 to 480 mm, 3 to 45 mm deep, at 2.44 GHz; only the lengths in wavelengths
    count. Outside that range the band is wider and a caution says so.
    """
    require_possible(plate)
    shares = shares_of(plate, frequency_hz)
    extra_db, cautions = outside_range(plate, frequency_hz)
    tall_db, near_db = _walls(plate, wavelength_m(frequency_hz))
    detuning = _stretched(_detuning(shares, extra_db), 0.0, near_db)
    behind = _stretched(widened(_behind(shares.behind_db), extra_db), tall_db, 0.0)
    shadow = (
        PathLoss(ROUND_EDGE, behind, "means over the side behind the sheet"),
        through_sheet(plate.metal, plate.thickness_m, frequency_hz),
        *_openings(plate, frequency_hz),
    )
    lit = (PathLoss(OPEN_SIDE, _lit(behind), "the sheet reflects toward this side"),)
    side = (PathLoss(OPEN_SIDE, widened(_beside(shares.beside_db), extra_db), "grazing the sheet"),)
    by_side = {"above": shadow, "below": lit, "beside": side}
    if toward == "anywhere":
        paths = tuple(_of_whole_sphere(path) for path in (*lit, *shadow))
        total = _anywhere(_total(paths, detuning), detuning)
    else:
        paths = by_side[toward]
        total = _total(paths, detuning)
        # a director leaves the lit side a difference of large numbers, an opening is another way
        if toward != "below" or not metal_bands()["plate_short_range"].holds(shares.felt):
            most_db = metal_bands()["plate_most_spread"].value + extra_db
            total = (
                total if plate.openings else _at_most(total, most_db + tall_db, most_db + near_db)
            )
    ordered = strongest_first(paths)
    return MetalEffect(
        toward=toward,
        detuning=detuning,
        paths=ordered,
        dominant=ordered[0].name,
        total=total,
        largest_gain=_peak_gain(),
        cautions=(
            *cautions,
            *place_cautions(plate, frequency_hz, detuning, total),
            *FINAL_CAUTIONS,
        ),
        scatter=_scatter(toward, lit[0].loss, behind),
    )


def require_possible(plate: Plate) -> None:
    """Refuse a sheet that nobody could make, or an antenna that stands where none can.

    Raises
    ------
    InputError, OutOfRange
    """
    require_positive("plate length (m)", plate.length_m)
    require_positive("plate width (m)", plate.width_m)
    require_positive("depth of the antenna under the sheet (m)", plate.depth_m)
    largest_m = min(plate.length_m, plate.width_m) / 2.0
    if plate.edge_distance_m > largest_m * (1.0 + 1e-9):
        raise OutOfRange(
            "distance from the antenna to the nearest edge (m)",
            plate.edge_distance_m,
            -math.inf,
            largest_m,
            "No point of the sheet is further from an edge than half its shorter side.",
            field="edge_distance",
        )
    require_openings_fit(plate.openings, max(plate.length_m, plate.width_m))


def _detuning(shares: Shares, extra_db: float) -> Quantity:
    bands, value = metal_bands(), shares.detuning_db
    short = bands["plate_short_range"].holds(shares.felt)
    factors = bands["detuning_short_spread" if short else "detuning_spread"]
    least, cap = bands["detuning_spread_least"].value, bands["detuning_spread_cap"].value
    down = min(cap, least + value * (1.0 - factors.low))
    up = min(cap, least + value * (factors.high - 1.0))
    low = max(0.0, value - down - extra_db)
    return loss_quantity(value, low, value + up + extra_db, IMAGE_METHOD)


def _behind(value: float) -> Quantity:
    spread, gain_db = metal_bands()["plate_path_spread"], metal_bands()["plate_gain_behind"].value
    low = max(value + spread.low, min(value, 0.0) - gain_db)
    return loss_quantity(value, low, value + spread.high, EDGE_METHOD)


def _lit(behind: Quantity) -> Quantity:
    # the less goes behind, the more goes here: the high end of one is the low end of the other
    low, high = behind.band
    value, least, most = (_balance_db(loss) for loss in (behind.value, high, low))
    spread = metal_bands()["plate_lit_spread"]
    return loss_quantity(value, least + spread.low, most + spread.high, BALANCE_METHOD)


def _balance_db(behind_db: float) -> float:
    # both sides together carry 2; a director may leave little here, never nothing
    return share_loss_db(max(0.2, 2.0 - power_ratio_from_db(-behind_db)))


def _beside(value: float) -> Quantity:
    spread = metal_bands()["plate_beside_spread"]
    return loss_quantity(value, value + spread.low, value + spread.high, EDGE_METHOD)


def _openings(plate: Plate, frequency_hz: float) -> tuple[PathLoss, ...]:
    if not plate.openings:
        return ()
    return (through_openings(plate.openings, plate.thickness_m, frequency_hz),)


def _of_whole_sphere(path: PathLoss) -> PathLoss:
    # a side is half of all directions: against the power of the whole sphere it counts half
    low, high = path.loss.band
    half_db = share_loss_db(0.5)
    loss = loss_quantity(path.loss.value + half_db, low + half_db, high + half_db, path.loss.source)
    return PathLoss(path.name, loss, path.note)


def _total(paths: tuple[PathLoss, ...], detuning: Quantity) -> Quantity:
    redirected = side_by_side([path.loss for path in paths], TOTAL_METHOD)
    return one_after_another(redirected, detuning, TOTAL_METHOD)


def _at_most(total: Quantity, down_db: float, up_db: float) -> Quantity:
    """Return the total with its band cut to what the solved sheets show."""
    low, high = total.band
    value = total.value
    return replace(total, low=max(low, value - down_db), high=min(high, value + up_db))


def _stretched(loss: Quantity, down_db: float, up_db: float) -> Quantity:
    low, high = loss.band
    return replace(loss, low=low - down_db, high=high + up_db)


def _anywhere(total: Quantity, detuning: Quantity) -> Quantity:
    # what one side loses the other gets: over the sphere the detuning alone is in doubt
    low, high = detuning.band
    spread = metal_bands()["plate_total_spread"]
    value = total.value
    least = min(value, max(0.0, low + spread.low))
    return loss_quantity(value, least, max(value, high + spread.high), SPHERE_METHOD)


def _scatter(toward: FarEnd, lit: Quantity, behind: Quantity) -> Quantity:
    spread = scatter_of(f"scatter_{toward}")
    if toward != "anywhere":
        return spread
    low, high = spread.band
    return replace(spread, low=min(0.0, lit.value) + low, high=max(0.0, behind.value) + high)


def _peak_gain() -> Quantity:
    gain = metal_bands()["plate_peak_gain"]
    source = "the image doubles the field of a re-matched antenna on the lit side"
    return Quantity(gain.value, "dB", "computed", gain.low, gain.high, source, BAND_MEANING)


def outside_range(plate: Plate, frequency_hz: float) -> tuple[float, tuple[str, ...]]:
    """Return what widens the band [dB], and why."""
    wavelength = wavelength_m(frequency_hz)
    bands = metal_bands()
    length = max(plate.length_m, plate.width_m) / wavelength
    checks = (
        ("length of the sheet", length, "plate_length_range"),
        ("depth of the antenna", plate.depth_m / wavelength, "plate_depth_range"),
        ("skirt", plate.skirt_m / wavelength, "plate_skirt_range"),
    )
    extra_db = 0.0
    cautions = []
    for what, value, name in checks:
        _require_near(what, value, name, wavelength)
        if bands[name].holds(value):
            continue
        extra_db += bands["plate_beyond_spread"].value
        cautions.append(
            f"The {what}, {value:.3g} wavelengths, lies outside the computed"
            f" {bands[name].low:g} to {bands[name].high:g}; the band is widened."
        )
    if any(_walls(plate, wavelength)):
        cautions.append(BESIDE_WALL)
    if bands["plate_short_range"].holds(shares_of(plate, frequency_hz).felt):
        cautions.append(PARASITIC)
    return extra_db, tuple(cautions)


def _walls(plate: Plate, wavelength: float) -> tuple[float, float]:
    """Return how much less a tall skirt may shade, and how much more a near one detune [dB]."""
    bands = metal_bands()
    more_db = bands["plate_rim_spread"].value
    tall = not bands["plate_skirt_range"].holds(plate.skirt_m / wavelength)
    wall = wall_distance_m(plate) / wavelength
    inside = wall > 0.0 and plate.skirt_m > 0.9 * plate.depth_m
    near, clear = bands["plate_rim_range"].low, bands["plate_rim_range"].high
    share = min(1.0, max(0.0, (clear - wall) / (clear - near))) if inside else 0.0
    return more_db if tall else 0.0, more_db * share


def loosened(effect: MetalEffect, scene: Scene, frequency_hz: float) -> MetalEffect:
    """Return the closed forms' answer with a band for an antenna that they do not describe.

    Parameters
    ----------
    effect : MetalEffect
        For a half-wave dipole without loss, along the sheet.
    scene : Scene
        The antenna and board that really stand there.
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    MetalEffect
        Its low end opened to no loss at all for an upright antenna, one over a board, or one that
        is no dipole; its high end by what a lossy antenna loses more.

    Notes
    -----
    A loss resistance that does not fall with the radiation resistance takes
    ``(1 + Rl / R) / (1 + Rl / R0)`` more, with ``Rl = R0 (1 / efficiency - 1)`` and ``R`` that of
    image theory.
    """
    antenna = scene.antenna
    low, high = effect.total.band
    told = list(effect.cautions)
    flat_dipole = antenna.along != "upright" and antenna.kind in ("half-wave dipole", "chip")
    if not flat_dipole or scene.board is not None:
        low = min(low, 0.0)
        told.insert(0, _OTHER_ANTENNA)
    if antenna.efficiency < 1.0:
        per_ohm = 1.0 / antenna.efficiency - 1.0
        near = image_impedance_ohm(antenna.depth_m, frequency_hz).real
        more = (1.0 + per_ohm * HALF_WAVE_RESISTANCE_OHM / near) * antenna.efficiency
        high += max(0.0, -share_loss_db(more))
    total = replace(effect.total, low=low, high=high)
    return replace(effect, total=total, cautions=tuple(told))


def _require_near(what: str, value: float, name: str, wavelength: float) -> None:
    """Refuse what lies so far outside the fitted range that no band would be honest."""
    band = metal_bands()[name]
    low, high = band.low / _FURTHEST_OUTSIDE, band.high * _FURTHEST_OUTSIDE
    if not low <= value <= high:
        value_mm, low_mm, high_mm = (
            round(each * wavelength * 1e3, 1) for each in (value, low, high)
        )
        raise OutOfRange(
            f"{what} (mm)",
            value_mm,
            low_mm,
            high_mm,
            "The closed forms end there at this frequency: measure with and without the metal, and"
            " state the attenuation.",
            field=name.removeprefix("plate_").removesuffix("_range"),
        )
