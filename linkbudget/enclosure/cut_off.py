"""A radio in a box below its first resonance: near field through openings, and no quality factor.

Nothing rings, so nothing builds up. The antenna reaches an opening as through a waveguide below
cut-off, and the opening sends out what its polarisability makes of that field.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from linkbudget.core.decibels import FloatArray, db_from_power_ratio, power_ratio_from_db
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.effect import loss_quantity
from linkbudget.enclosure.geometry import Box, Opening, Wall
from linkbudget.enclosure.leaks import (
    WALL_AXIS,
    Leak,
    Site,
    antenna_source,
    leaks_together,
    sites,
    spot_place_m,
)
from linkbudget.enclosure.walls import not_below_zero, share_loss_db
from linkbudget.physics.apertures import below_cutoff_db
from linkbudget.physics.cavity import lowest_resonance_hz
from linkbudget.physics.cavity_places import SmallSource, Spot, SpotField
from linkbudget.physics.cut_off_box import radiated_share, reaching_field
from linkbudget.physics.openings import is_slot, opening_ports

CUT_OFF_METHOD = "near field below cut-off, openings by polarisability and slot resonance"

_PLACES = 64  # tried where nobody said; seven in ten of them make the band
_INSIDE = 0.8  # of each dimension in which an antenna of unknown place stands
_LEAST_SHARE = 1e-60

CUT_OFF_CAUTIONS = (
    "Below its first resonance the box holds no wave: its quality factor plays no part, and the"
    " antenna couples to the openings by its near field.",
    "Detuning dominates: so close to metal on all sides the antenna's resonance moves by more than"
    " its bandwidth. As is, a current like that in free space is assumed, at most twice it; matched"
    " anew inside the closed box, more leaves.",
    "What a board inside absorbs of the near field is in no figure here; a cable through the wall"
    " carries more out than any opening. A pair measured with the lid on and off replaces this"
    " estimate.",
)


def is_cut_off(box: Box, frequency_hz: float) -> bool:
    """Tell whether a box holds no wave: below the first resonance of the empty one."""
    return frequency_hz < lowest_resonance_hz(box.sides_m)


def cut_off_leaks(box: Box, frequency_hz: float) -> tuple[Leak, ...]:
    """Return what leaves by each entry of the openings, antenna current as in free space.

    Parameters
    ----------
    box : Box
        Sound, with at least one opening.
    frequency_hz : float
        Below the first resonance [Hz].

    Returns
    -------
    tuple of Leak
        In the order of the box; `area_m2` counts in units of the power of the free antenna.

    Notes
    -----
    Where nobody said, places and directions are tried evenly: the middle one is typical, and seven
    in ten lie in the band. Board, cables and feed carry ``box_null_floor`` of the current along
    all axes alike.
    """
    return tuple(_leak(box, opening, frequency_hz) for opening in box.openings)


def cut_off_loss(leaks: Sequence[Leak]) -> Quantity:
    """Return the loss of all openings together, the antenna's detuning in its band [dB]."""
    together, current = leaks_together(leaks), metal_bands()["box_below_current"]
    value = share_loss_db(together.typical_m2)
    above_db = db_from_power_ratio(together.high_m2 / together.typical_m2)
    below_db = db_from_power_ratio(together.typical_m2 / together.low_m2)
    low, high = (
        value - math.hypot(above_db, current.low),
        value + math.hypot(below_db, current.high),
    )
    return not_below_zero(loss_quantity(value, low, high, CUT_OFF_METHOD))


@lru_cache(maxsize=256)
def _leak(box: Box, opening: Opening, frequency_hz: float) -> Leak:
    shares = [_shares(box, opening, frequency_hz, *place) for place in _places(box, opening)]
    levels_db = np.array([db_from_power_ratio(max(share, _LEAST_SHARE)) for share, _ in shares])
    low, middle, high = (float(one) for one in np.quantile(levels_db, (0.15, 0.5, 0.85)))
    model = metal_bands()["box_below_spread"]
    return Leak(
        opening,
        power_ratio_from_db(middle),
        math.hypot(middle - low, model.low),
        math.hypot(high - middle, model.high),
        placed=len(shares) == 1,
        null_db=_null_db(*shares[0]) if len(shares) == 1 else 0.0,
    )


def _null_db(share: float, ideal: float) -> float:
    return db_from_power_ratio(max(share, _LEAST_SHARE) / max(ideal, _LEAST_SHARE))


def _places(box: Box, opening: Opening) -> Iterator[tuple[SmallSource, Site, Opening]]:
    """Yield antenna, wall and direction of the opening, and the opening at its place."""
    ways = [
        (wall, site)
        for site in sites(box, opening)
        for wall, axis in WALL_AXIS.items()
        if axis == site.wall and opening.wall in {None, wall}
    ]
    if box.antenna is not None and opening.place_m is not None and len(ways) == 1:
        wall, site = ways[0]
        yield antenna_source(box), site, replace(opening, wall=wall)
        return
    for number in range(_PLACES):
        draw = _even(number)
        wall, site = ways[number % len(ways)]
        yield _source(box, draw, number), site, _in_wall(box, opening, wall, site, draw[3:])


def _even(number: int) -> FloatArray:
    """Return five numbers from 0 to 1 of a sequence that fills the space evenly."""
    # additive recurrence by the root of x^6 = x + 1, which five dimensions share best
    steps = 1.1347241384015194 ** -np.arange(1.0, 6.0)
    return np.mod(0.5 + (number + 1) * steps, 1.0)


def _source(box: Box, draw: FloatArray, number: int) -> SmallSource:
    if box.antenna is not None:
        return antenna_source(box)
    at = [
        side_m * (0.5 + _INSIDE * (share - 0.5))
        for side_m, share in zip(box.sides_m, draw[:3], strict=True)
    ]
    return SmallSource((at[0], at[1], at[2]), number // 2 % 3)


def _in_wall(box: Box, opening: Opening, wall: Wall, site: Site, draw: FloatArray) -> Opening:
    if opening.place_m is not None:
        return replace(opening, wall=wall)
    half = {
        site.along: (box.sides_m[site.along] - opening.length_m) / 2.0,
        site.aside: (box.sides_m[site.aside] - opening.width_m) / 2.0,
    }
    first, second = (
        max(0.0, half[axis]) * (2.0 * float(one) - 1.0)
        for axis, one in zip(sorted(half), draw, strict=True)
    )
    return replace(opening, wall=wall, place_m=(first, second))


def _shares(
    box: Box,
    opening: Opening,
    frequency_hz: float,
    source: SmallSource,
    site: Site,
    placed: Opening,
) -> tuple[float, float]:
    """Return power out over that of the antenna in free space, and of an ideal dipole alone [1]."""
    spread = power_ratio_from_db(metal_bands()["box_null_floor"].value)
    quality = box.quality_factor or metal_bands()["box_quality_factor"].value
    slot = is_slot(opening.shape, opening.length_m, opening.width_m)
    spot = Spot(spot_place_m(box, placed), site.wall, site.along, opening.length_m if slot else 0.0)
    ports = opening_ports(opening.shape, opening.length_m, opening.width_m, frequency_hz)

    def along(axis: int) -> float:
        field: SpotField = reaching_field(
            box.sides_m, frequency_hz, quality, replace(source, axis=axis), spot
        )
        return radiated_share(ports, field, frequency_hz)

    each = [along(axis) for axis in range(3)]
    driven = (1.0 - spread) * each[source.axis] + spread * sum(each) / 3.0
    depth_db = below_cutoff_db(opening.shape, opening.length_m, box.thickness_m, frequency_hz)
    equal = opening.count * power_ratio_from_db(-depth_db)
    return equal * driven, equal * each[source.axis]
