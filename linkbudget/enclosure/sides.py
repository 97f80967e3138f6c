"""On which side of a box the power comes out, where the walls of its openings are known."""

from __future__ import annotations

from collections.abc import Sequence

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import Band, metal_bands
from linkbudget.enclosure.effect import loss_quantity
from linkbudget.enclosure.geometry import FarEnd, Wall
from linkbudget.enclosure.leaks import Leak
from linkbudget.enclosure.walls import share_loss_db

SIDE_METHOD = "an opening sends into the half-space before its wall; shadow behind the box"

_FACES: dict[Wall, FarEnd] = {
    "lid": "above",
    "floor": "below",
    "front": "beside",
    "back": "beside",
    "left": "beside",
    "right": "beside",
}


def toward_loss(leaks: Sequence[Leak], toward: FarEnd) -> Quantity | None:
    """Return what one side loses against the power in all directions.

    Parameters
    ----------
    leaks : sequence of Leak
    toward : {"above", "beside", "below", "anywhere"}
        The lid is above.

    Returns
    -------
    Quantity or None
        Mean over that side [dB], negative on the side of the openings; None where the wall of an
        opening is not known or all sides count alike.
    """
    walls = [one.opening.wall for one in leaks]
    if toward == "anywhere" or None in walls:
        return None
    parts = [(one.area_m2, _side(one.opening.wall, toward)) for one in leaks if one.opening.wall]
    total_m2 = sum(area_m2 for area_m2, _ in parts)

    def together_db(level: str) -> float:
        shares = (area_m2 * 10.0 ** (-getattr(side, level) / 10.0) for area_m2, side in parts)
        return share_loss_db(sum(shares) / total_m2)

    value, low, high = (together_db(level) for level in ("value", "low", "high"))
    return loss_quantity(value, low, high, SIDE_METHOD)


def _side(wall: Wall, toward: FarEnd) -> Band:
    bands = metal_bands()
    faces = _FACES[wall]
    if "beside" in {faces, toward}:
        # from a side wall, the four sides together are as bright as above and below
        return bands["box_side_beside"]
    return bands["box_side_near" if faces == toward else "box_side_far"]
