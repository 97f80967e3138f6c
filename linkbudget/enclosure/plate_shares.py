"""Where the power of a flat dipole under a sheet goes: typical values of the closed forms.

Constants: ``data/practice/metal_bands.csv``. Bands and cautions: ``plates``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.geometry import Plate
from linkbudget.physics.antennas import (
    HALF_WAVE_RESISTANCE_OHM,
    image_impedance_ohm,
    source_mismatch_loss_db,
)
from linkbudget.physics.propagation import wavelength_m

_TIP = 0.25  # from the middle of a half-wave dipole to its end [wavelengths]
_MOST_OFF = 0.35  # further off the middle nothing changes [wavelengths]
_WIDE_FROM, _WIDE_TO = 0.6, 1.4  # width across the dipole that delays resonance [wavelengths]
_OFF_RESONANCE = 0.12  # a dipole this far off the middle hardly drives the sheet's resonance


@dataclass(frozen=True, slots=True)
class Shares:
    """Typical losses of a dipole under a sheet, in dB.

    Parameters
    ----------
    behind_db : float
        Behind the sheet, after the antenna's port; negative where it acts as a director.
    beside_db : float
        Within 30 degrees of the sheet's plane, after the port.
    detuning_db : float
        At the port, not re-matched.
    felt : float
        Length of the sheet along the dipole, as the dipole feels it [wavelengths].
    """

    behind_db: float
    beside_db: float
    detuning_db: float
    felt: float


@dataclass(frozen=True, slots=True)
class _Seen:
    """The sheet from the dipole: along it (u) and across (v), in wavelengths."""

    length: float
    width: float
    u: float
    v: float
    depth: float
    skirt: float


def shares_of(plate: Plate, frequency_hz: float) -> Shares:
    """Return where the power of a half-wave dipole along a sheet goes.

    Parameters
    ----------
    plate : Plate
        An upright antenna counts as one along the length.
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    Shares

    Notes
    -----
    All lengths in wavelengths. Leak past an edge: ``g = 1 / (1 + q / s)``, ``s = s0 (1 + (h / h0)^2
    + (h / h1)^4)`` at depth ``h``, way ``q = (e + sqrt(e^2 + 4 k h)) / 2``, with a skirt of height
    ``t`` longer by ``2 m q t / (q + t)``. Across the dipole ``e`` counts from its middle, along it
    from its tip, and the leak is a share of ``s``. Behind goes ``u = 1 - product(1 - g)``.

    A sheet that is short along the dipole, or that the dipole hangs over, is felt as its length or,
    where that is less, as twice the way from the middle of the dipole to the nearer end and ``b``
    more. Its shadow fades out as a logistic function of that length and ``a h``; near half a
    wavelength it turns director and detunes more than an endless plane, each as a bell curve.

    Fitted to 368 sheets of 0.2 to 4 wavelengths, antenna 0.024 to 0.8 wavelengths away.
    """
    seen = _seen(plate, frequency_hz)
    bands = metal_bands()
    deep = (seen.depth / bands["plate_depth_scale"].value) ** 2
    deeper = (seen.depth / bands["plate_far_scale"].value) ** 4
    scale = bands["plate_edge_leak"].value * (1.0 + deep + deeper)
    end = scale * bands["plate_end_share"].value
    half_length, half_width = seen.length / 2.0, seen.width / 2.0
    across = math.prod(1.0 - _past(half_width + v, scale, seen) for v in (-seen.v, seen.v))
    along = math.prod(1.0 - _past(half_length + u - _TIP, end, seen) for u in (-seen.u, seen.u))
    shadow_db = -10.0 * math.log10(1.0 - across * along)
    off = min(seen.u, _MOST_OFF)
    nearer = 2.0 * (half_length - seen.u)
    felt = min(seen.length, nearer + bands["plate_far_end"].value)
    deepened = felt + bands["plate_short_depth"].value * seen.depth
    softness = bands["plate_short_fade"].value + bands["plate_off_fade"].value * off
    grip = _logistic((deepened - bands["plate_short_length"].value) / softness)
    resonant = across * math.exp(-((seen.u / _OFF_RESONANCE) ** 2))
    behind_db = shadow_db * grip - _director_db(seen, deepened) * resonant
    bump = _bell(deepened, "plate_beside_resonance_length", "plate_beside_resonance_width")
    beside_db = (
        bands["plate_beside_share"].value * behind_db
        + bands["plate_beside_resonance"].value * bump
        - bands["plate_beside_depth"].value * seen.depth
    )
    endless_db = plane_detuning_db(plate.depth_m, frequency_hz)
    return Shares(behind_db, beside_db, endless_db * _detuned(seen, felt, across), felt)


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


def wall_distance_m(plate: Plate) -> float:
    """Return the way from the dipole to the nearest edge across it [m]; negative outside."""
    x_m, y_m = plate.place_m
    return plate.length_m / 2.0 - abs(x_m) if plate.turned else plate.width_m / 2.0 - abs(y_m)


def _seen(plate: Plate, frequency_hz: float) -> _Seen:
    wavelength = wavelength_m(frequency_hz)
    x_m, y_m = plate.place_m
    along = (plate.length_m / wavelength, abs(x_m) / wavelength)
    across = (plate.width_m / wavelength, abs(y_m) / wavelength)
    if plate.turned:
        along, across = across, along
    return _Seen(
        length=along[0],
        width=across[0],
        u=along[1],
        v=across[1],
        depth=plate.depth_m / wavelength,
        skirt=plate.skirt_m / wavelength,
    )


def _past(edge: float, scale: float, seen: _Seen) -> float:
    bands = metal_bands()
    way = (edge + math.sqrt(edge**2 + 4.0 * bands["plate_edge_zone"].value * seen.depth)) / 2.0
    if seen.skirt > 0.0:
        rim = 2.0 * way * seen.skirt / (way + seen.skirt)
        way += bands["plate_skirt_share"].value * rim
    return 1.0 / (1.0 + way / scale)


def _director_db(seen: _Seen, deepened: float) -> float:
    bands = metal_bands()
    wide = min(max(seen.width - _WIDE_FROM, 0.0), _WIDE_TO - _WIDE_FROM)
    tuned = deepened - bands["plate_director_wide"].value * wide
    bell = _bell(tuned, "plate_director_length", "plate_director_width")
    return bands["plate_director_gain"].value * bell


def _detuned(seen: _Seen, felt: float, across: float) -> float:
    """Return the detuning over that of an endless plane."""
    bands = metal_bands()
    covered = math.pow(across, bands["detuning_across"].value)
    short = (felt - bands["detuning_length"].value) / bands["detuning_fade"].value
    more = bands["detuning_resonance"].value
    more += bands["detuning_resonance_depth"].value * min(seen.depth, 0.2)
    bell = _bell(felt, "detuning_resonance_length", "detuning_resonance_width")
    return covered * _logistic(short) * (1.0 + more * bell)


def _bell(value: float, middle: str, width: str) -> float:
    bands = metal_bands()
    return math.exp(-(((value - bands[middle].value) / bands[width].value) ** 2))


def _logistic(value: float) -> float:
    return 0.5 * (1.0 + math.tanh(value / 2.0))
