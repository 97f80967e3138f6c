"""Values that are bounds: what is "at least" or "at most" is never printed as if it were known."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.enclosure.paths import PathLoss
    from linkbudget.results import VariantLink

AT_LEAST = "at least"
AT_MOST = "at most"


def path_loss(path: PathLoss) -> Quantity:
    """Return the loss of a path, marked "at least" where its method ends at a floor."""
    return replace(path.loss, coverage=AT_LEAST) if AT_LEAST in path.note else path.loss


def is_beyond_free_space(link: VariantLink, distance_m: float) -> bool:
    """Return whether a distance [m] is longer than free space alone may be believed."""
    return 0.0 < link.free_space_to_m < distance_m


def reach(link: VariantLink, distance: Quantity) -> Quantity:
    """Return a reach, or a loss of reach, marked "at most" where free space alone made it."""
    if is_beyond_free_space(link, distance.value):
        return replace(distance, coverage=AT_MOST)
    return distance


def lost_reach(link: VariantLink) -> Quantity | None:
    """Return the loss of reach, marked "at most" where the reach without metal is."""
    found = link.comparison
    if found is None or found.lost_m is None:
        return None
    if is_beyond_free_space(link, found.reach_without.distance.value):
        return replace(found.lost_m, coverage=AT_MOST)
    return found.lost_m
