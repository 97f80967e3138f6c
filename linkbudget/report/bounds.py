"""Values that are bounds: what is "at least" or "at most" is never printed as if it were known."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from linkbudget.link.reach import AT_LEAST, AT_MOST

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.enclosure.paths import PathLoss
    from linkbudget.link.rooms import Room
    from linkbudget.results import VariantLink

__all__ = ["AT_LEAST", "AT_MOST", "at_end", "is_beyond_belief", "path_loss"]

_ROUNDING = 1.0 + 1e-6


def path_loss(path: PathLoss) -> Quantity:
    """Return the loss of a path, marked "at least" where its method ends at a floor."""
    return replace(path.loss, coverage=AT_LEAST) if AT_LEAST in path.note else path.loss


def is_beyond_belief(link: VariantLink, distance_m: float) -> bool:
    """Return whether the law of the room promises too much at a distance [m]."""
    return link.room is not None and distance_m > link.room.believed_to_m


def at_end(room: Room | None, distance_m: float) -> str:
    """Return "under" or "over" for a drawn distance [m] that is held where a law ends, else ""."""
    if room is None:
        return ""
    low_m, high_m = room.holds_m
    if distance_m <= low_m * _ROUNDING:
        return "under"
    return "over" if distance_m >= high_m / _ROUNDING else ""
