"""Changes to a sheet over the antenna, and to the antenna's place under it, in closed forms."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from linkbudget.core.decibels import power_sum_db
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import ROUND_EDGE, MetalEffect
from linkbudget.enclosure.geometry import FarEnd, Opening, Plate
from linkbudget.enclosure.plates import outside_range, plate_effect
from linkbudget.enclosure.sweeps import Allowed, Sweep, gain_quantity, limit_of
from linkbudget.enclosure.walls import through_openings
from linkbudget.physics.propagation import wavelength_m

GAIN_METHOD = (
    "difference of two closed forms; what they share cancels, the rest is held against pairs of"
    " method-of-moments plates"
)

_USUAL_DEEPER_M = 0.020
_USUAL_TO_EDGE_M = -0.010

_STEPS = 11
_LEAST_WINDOW = 0.1  # [half wavelengths]
_RIM = 1.0 / 100.0  # an antenna this close to the rim of a tray touches it [wavelengths]

_DIPOLE = (
    "For a half-wave dipole along the sheet; a lossy antenna close to it gains more from depth than"
    " is told here."
)
_EDGE = (
    "The antenna moves with its board and keeps its direction. Where its place is not stated, it"
    " lies along the edge; one that points across it has lost less, and gains less, by up to 10 dB."
)
_WINDOW = (
    "By the slot rule, for an opening that plastic may close: low, it lies along the field or away"
    " from the antenna; high, in the best place. That it also detunes less is not counted."
)


def plate_sweeps(
    plate: Plate, frequency_hz: float, allowed: Allowed, *, closed_forms: bool = True
) -> Iterator[Sweep[Plate]]:
    """Yield each dimension that may change, with its steps.

    Parameters
    ----------
    plate : Plate
    frequency_hz : float
        Frequency [Hz].
    allowed : Allowed
    closed_forms : bool
        Whether only steps that these hold are asked for.
    """
    wavelength = wavelength_m(frequency_hz)
    deepest_m = metal_bands()["plate_depth_range"].high * wavelength if closed_forms else math.inf
    yield _deeper(plate, deepest_m, allowed.deeper_m)
    if _is_toward_edge(plate, allowed.to_edge_m):
        yield _toward_edge(plate, wavelength, allowed.to_edge_m)
    if plate.edge_distance_m > 0.0:
        yield _window(plate, wavelength, allowed.window_m)
    if plate.skirt_m > 0.0:
        yield _skirt(plate, allowed.lower_skirt)


def plate_gain(today: Plate, changed: Plate, frequency_hz: float, toward: FarEnd) -> Quantity:
    """Return what a change of the sheet, or of the antenna under it, gains toward the far end.

    Parameters
    ----------
    today, changed : Plate
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}

    Returns
    -------
    Quantity
        Loss today less loss then [dB], detuning included, as is. "anywhere": the typical is that of
        the total radiated power, low to high holds all sides.

    Raises
    ------
    InputError, OutOfRange
        As ``plate_effect``.

    Notes
    -----
    Both losses come from one model, whose errors are mostly the same before and after: combining
    the two bands would count them twice. So the band is that of the *differences*, seen on pairs of
    solved sheets that differ in one dimension alone. It fades in over the first 1.2 dB of change,
    since no change is no gain, exactly. Doubt of the loss itself enters once, and only where it
    does not cancel: beside an opening, which carries its own power whatever the edge does.
    """
    if toward != "anywhere":
        return _toward(today, changed, frequency_hz, toward)
    total, *sides = (
        _toward(today, changed, frequency_hz, side) for side in ("anywhere", "above", "below")
    )
    low = min(total.band[0], *(side.band[0] for side in sides))
    high = max(total.band[1], *(side.band[1] for side in sides))
    return replace(total, low=low, high=high)


def _toward(today: Plate, changed: Plate, frequency_hz: float, toward: FarEnd) -> Quantity:
    effects = [plate_effect(plate, frequency_hz, toward) for plate in (today, changed)]
    bare = [replace(plate, openings=()) for plate in (today, changed)]
    moved_db = [plate_effect(plate, frequency_hz, "above").total.value for plate in bare]
    bands = metal_bands()
    fade = min(1.0, abs(moved_db[0] - moved_db[1]) / bands["plate_change_fade"].value)
    model = bands[f"plate_change_{toward}"]
    beyond_db = max(outside_range(plate, frequency_hz)[0] for plate in (today, changed))
    value = effects[0].total.value - effects[1].total.value
    doubts = [fade * (model.low - beyond_db), fade * (model.high + beyond_db)]
    if today.edge_distance_m != changed.edge_distance_m and changed.skirt_m > 0.0:
        doubts += [fade * bands["plate_change_rim"].low, fade * bands["plate_change_rim"].high]
    if toward == "above" and (today.openings or changed.openings):
        doubts += _opening_doubts(today, changed, effects, frequency_hz)
    return gain_quantity(value, doubts, GAIN_METHOD)


def _opening_doubts(
    today: Plate, changed: Plate, effects: list[MetalEffect], frequency_hz: float
) -> list[float]:
    """Return what each doubt beside an opening does to a gain: of the edge, of old openings, new.

    Edge and old openings are the same before and after, and turned to their ends in both at once.
    """
    edge = next(path.loss for path in effects[0].paths if path.name == ROUND_EDGE)
    stay = len(today.openings)

    def gain_db(shift_db: float = 0.0, old: int = 0, new: int = 0) -> float:
        losses = []
        for plate, effect in zip((today, changed), effects, strict=True):
            own = next(path.loss.value for path in effect.paths if path.name == ROUND_EDGE)
            losses_db = [own + shift_db]
            for openings, end in ((plate.openings[:stay], old), (plate.openings[stay:], new)):
                if openings:
                    loss = through_openings(openings, plate.thickness_m, frequency_hz).loss
                    losses_db.append((loss.value, *loss.band)[end])
            port_db = effect.total.value - effect.way_out.value
            losses.append(port_db - power_sum_db([-one for one in losses_db]))
        return losses[0] - losses[1]

    cases = [gain_db(shift_db=end - edge.value) for end in edge.band]
    cases += [gain_db(old=end) for end in (1, 2)] + [gain_db(new=end) for end in (1, 2)]
    return [case - gain_db() for case in cases]


def _deeper(plate: Plate, deepest_m: float, stated_m: float | None) -> Sweep[Plate]:
    by_m, kind = limit_of(stated_m, _USUAL_DEEPER_M)
    depths_m = np.linspace(plate.depth_m, plate.depth_m + by_m, _STEPS if by_m else 1).tolist()
    steps = tuple(
        (depth_m * 1e3, replace(plate, depth_m=depth_m))
        for depth_m in depths_m
        if depth_m <= max(deepest_m * (1.0 + 1e-9), plate.depth_m)
    )
    return Sweep(
        "antenna further from the sheet",
        "antenna depth",
        "mm",
        steps,
        (plate.depth_m + by_m) * 1e3,
        kind,
        len(depths_m) - len(steps),
        (_DIPOLE,),
    )


def _is_toward_edge(plate: Plate, stated_m: float | None) -> bool:
    """Tell whether there is a way to go, or the user says that there is none."""
    if stated_m is None:
        return plate.edge_distance_m > _USUAL_TO_EDGE_M
    return stated_m < plate.edge_distance_m or math.isinf(stated_m)


def _toward_edge(plate: Plate, wavelength: float, stated_m: float | None) -> Sweep[Plate]:
    limit_m, kind = limit_of(stated_m, _USUAL_TO_EDGE_M)
    to_m = min(limit_m, plate.edge_distance_m)
    places_m = [plate.edge_distance_m]
    if to_m < plate.edge_distance_m:
        places_m = np.linspace(plate.edge_distance_m, to_m, _STEPS).tolist()
    rim_m = _RIM * wavelength
    in_tray = plate.depth_m <= plate.skirt_m + rim_m
    kept_m = [
        edge_m
        for edge_m in places_m
        if edge_m == plate.edge_distance_m or not (in_tray and abs(edge_m) < rim_m)
    ]
    return Sweep(
        "antenna moved toward the edge of the sheet, or past it",
        "distance inside the edge",
        "mm",
        tuple((edge_m * 1e3, plate.moved_to(edge_m)) for edge_m in kept_m),
        to_m * 1e3,
        kind,
        len(places_m) - len(kept_m),
        (_EDGE,),
    )


def _window(plate: Plate, wavelength: float, stated_m: float | None) -> Sweep[Plate]:
    most_m, kind = limit_of(stated_m, wavelength / 2.0)
    least_m = min(_LEAST_WINDOW * wavelength / 2.0, most_m)
    sides_m = sorted(set(np.linspace(least_m, most_m, _STEPS - 1).tolist())) if most_m else []
    # over the antenna, and closed all round: an edge is another change
    kept_m = [side_m for side_m in sides_m if side_m <= 2.0 * plate.edge_distance_m]
    windows = (Opening("rectangle", side_m, side_m) for side_m in kept_m)
    steps = (
        (window.length_m * 1e3, replace(plate, openings=(*plate.openings, window)))
        for window in windows
    )
    return Sweep(
        "square window in the sheet over the antenna",
        "side of the window",
        "mm",
        ((0.0, plate), *steps),
        most_m * 1e3,
        kind,
        len(sides_m) - len(kept_m),
        (_WINDOW,),
    )


def _skirt(plate: Plate, stated: bool | None) -> Sweep[Plate]:
    may, kind = limit_of(stated, True)
    lowest_m = 0.0 if may else plate.skirt_m
    heights_m = np.linspace(plate.skirt_m, lowest_m, math.ceil(_STEPS / 2) if may else 1).tolist()
    return Sweep(
        "skirt lower, or none",
        "height of the skirt",
        "mm",
        tuple((height_m * 1e3, replace(plate, skirt_m=height_m)) for height_m in heights_m),
        lowest_m * 1e3,
        kind,
    )
