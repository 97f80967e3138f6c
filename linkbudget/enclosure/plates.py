"""An antenna near a plate or a tray: what is lost to detuning, and where the power goes.

A plate destroys no power, it redirects it. Three simple forms say how much: image theory for the
detuning, a leak round each edge that falls as one over the distance, and the power balance for the
lit side. Their constants stand in ``data/practice/metal_bands.csv``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
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
from linkbudget.enclosure.plate_cautions import FINAL_CAUTIONS, PARASITIC, place_cautions
from linkbudget.enclosure.walls import (
    require_openings_fit,
    share_loss_db,
    through_openings,
    through_sheet,
)
from linkbudget.physics.antennas import (
    HALF_WAVE_RESISTANCE_OHM,
    image_impedance_ohm,
    source_mismatch_loss_db,
)
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

_FURTHEST_OUTSIDE = 2.5  # as a factor on either end of the fitted range

IMAGE_METHOD = "image theory, half-wave dipole along the sheet, faded out toward the edges"
EDGE_METHOD = "leak round the edges, fitted to method-of-moments plates"
BALANCE_METHOD = "power balance: what does not go behind the sheet goes out of its open side"
SPHERE_METHOD = "total radiated power: both sides together, then detuning"
TOTAL_METHOD = "paths added as powers, then detuning; bands as root of squares"

_OTHER_ANTENNA = (
    "The closed forms hold for a flat dipole; this antenna is another, or stands over a board, and"
    " may lose next to nothing: the band is opened to zero."
)


@dataclass(frozen=True, slots=True)
class _Leak:
    """Share of power that passes the two long sides together, and each end, from 0 to 1."""

    sides: float
    end: float

    @property
    def behind(self) -> float:
        """Power behind the sheet, over the power there in free space."""
        return 1.0 - (1.0 - self.sides) * (1.0 - self.end) ** 2

    @property
    def cover(self) -> float:
        """How far the sheet acts as an endless plane: 1, down to 0 for none."""
        return (1.0 - self.sides) * (1.0 - self.end)


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
    Power behind the sheet over that in free space: ``u = 1 - product(1 - g)`` over the edges, with
    ``g = 1 / (1 + q / s)`` and ``s = s0 wavelength (1 + (h / h0)^2)`` at depth ``h``. The way to an
    edge, ``q = (e + sqrt(e^2 + 4 k wavelength h)) / 2``, runs softly to zero outside it; a skirt of
    height ``t`` adds ``2 m q t / (q + t)``. At the two ends the way starts at the antenna's tip, a
    quarter wavelength out, and the leak is a share of ``s``. The lit side gets ``2 - u``.

    Fitted to plates of 60 to 400 mm, 4.5 to 45 mm deep, at 2.44 GHz; only the lengths in
    wavelengths count. Outside that range the band is wider and a caution says so.
    """
    _require_possible(plate)
    leak = _leak(plate, frequency_hz)
    extra_db, cautions = outside_range(plate, frequency_hz)
    detuning = _detuning(plate, frequency_hz, leak.cover, extra_db)
    behind = widened(_behind(leak.behind), extra_db)
    shadow = (
        PathLoss(ROUND_EDGE, behind, "means over the side behind the sheet"),
        through_sheet(plate.metal, plate.thickness_m, frequency_hz),
        *_openings(plate, frequency_hz),
    )
    lit = (PathLoss(OPEN_SIDE, _lit(behind), "the sheet reflects toward this side"),)
    side = (PathLoss(OPEN_SIDE, widened(_beside(leak.behind), extra_db), "grazing the sheet"),)
    by_side = {"above": shadow, "below": lit, "beside": side}
    if toward == "anywhere":
        paths = tuple(_of_whole_sphere(path) for path in (*lit, *shadow))
        total = _anywhere(_total(paths, detuning), detuning)
    else:
        paths = by_side[toward]
        total = _total(paths, detuning)
    ordered = strongest_first(paths)
    return MetalEffect(
        toward=toward,
        detuning=detuning,
        paths=ordered,
        dominant=ordered[0].name,
        total=total,
        largest_gain=_peak_gain(),
        cautions=(*cautions, *place_cautions(plate, frequency_hz, detuning), *FINAL_CAUTIONS),
        scatter=_scatter(toward, lit[0].loss, behind),
    )


def _require_possible(plate: Plate) -> None:
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


def _leak(plate: Plate, frequency_hz: float) -> _Leak:
    wavelength = wavelength_m(frequency_hz)
    length_m = max(plate.length_m, plate.width_m)
    width_m = min(plate.length_m, plate.width_m)
    bands = metal_bands()
    deep = (plate.depth_m / (bands["plate_depth_scale"].value * wavelength)) ** 2
    scale_m = bands["plate_edge_leak"].value * wavelength * (1.0 + deep)
    tip_m = length_m / 2.0 - wavelength / 4.0

    def past(edge_m: float, scale_m: float) -> float:
        return 1.0 / (1.0 + _way_round_m(edge_m, plate, wavelength) / scale_m)

    near = past(plate.edge_distance_m, scale_m)
    far = past(width_m - plate.edge_distance_m, scale_m)
    return _Leak(
        sides=1.0 - (1.0 - near) * (1.0 - far),
        end=past(tip_m, scale_m * bands["plate_end_share"].value),
    )


def _way_round_m(edge_m: float, plate: Plate, wavelength: float) -> float:
    bands = metal_bands()
    zone_m2 = bands["plate_edge_zone"].value * wavelength * plate.depth_m
    way_m = (edge_m + math.sqrt(edge_m**2 + 4.0 * zone_m2)) / 2.0
    if plate.skirt_m <= 0.0:
        return way_m
    rim_m = 2.0 * way_m * plate.skirt_m / (way_m + plate.skirt_m)
    return way_m + bands["plate_skirt_share"].value * rim_m


def _detuning(plate: Plate, frequency_hz: float, cover: float, extra_db: float) -> Quantity:
    endless_db = plane_detuning_db(plate.depth_m, frequency_hz)
    value = endless_db * cover
    factors, cap = metal_bands()["detuning_spread"], metal_bands()["detuning_spread_cap"].value
    # where the sheet hardly covers the antenna, how the rest fades out is anybody's guess
    least = factors.low * min(1.0, 2.0 * cover)
    low = max(0.0, max(value * least, value - cap) - extra_db)
    high = min(value * factors.high, value + cap) + extra_db
    return loss_quantity(value, low, high, IMAGE_METHOD)


def plane_detuning_db(depth_m: float, frequency_hz: float) -> float:
    """Return what an endless conducting plane takes from a source matched to free space.

    Parameters
    ----------
    depth_m : float
        Distance from the plane to a half-wave dipole parallel to it [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Mismatch loss, no re-matching [dB].

    Examples
    --------
    >>> round(plane_detuning_db(0.012, 2.44e9), 1)
    1.8
    """
    impedance = image_impedance_ohm(depth_m, frequency_hz)
    return source_mismatch_loss_db(impedance, HALF_WAVE_RESISTANCE_OHM)


def _behind(share: float) -> Quantity:
    value = share_loss_db(share)
    spread, gain_db = metal_bands()["plate_path_spread"], metal_bands()["plate_gain_behind"].value
    # a sheet that is no parasitic element hardly ever helps the side behind it
    low = max(value + spread.low, min(value, -gain_db))
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


def _beside(share_behind: float) -> Quantity:
    bands = metal_bands()
    value = bands["plate_beside_share"].value * share_loss_db(share_behind)
    spread = bands["plate_beside_spread"]
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
        if name == "plate_length_range" and value < bands[name].low:
            extra_db += bands["plate_parasitic_spread"].value
            cautions.append(PARASITIC)
            continue
        extra_db += bands["plate_beyond_spread"].value
        cautions.append(
            f"The {what}, {value:.3g} wavelengths, lies outside the computed"
            f" {bands[name].low:g} to {bands[name].high:g}; the band is widened."
        )
    return extra_db, tuple(cautions)


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
