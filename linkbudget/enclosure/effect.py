"""What metal does to a link: the result types, and how losses with bands combine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from linkbudget.core.decibels import power_sum_db
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.geometry import FarEnd

THROUGH_SHEET = "through the sheet"
THROUGH_OPENINGS = "through the openings"
ROUND_EDGE = "round the edge"
OPEN_SIDE = "out of the open side"

BAND_MEANING = "low to high estimate"
AT_PORT = "at the antenna's port"
CONTAINED = "contained in the total"
"""What is told of a loss at the antenna's port that nobody knows apart from the whole."""

_NOTHING_LEFT_DB = 1000.0  # beyond this a power ratio underflows, and no receiver notices


@dataclass(frozen=True, slots=True)
class PathLoss:
    """One way by which power leaves toward the far end.

    Parameters
    ----------
    name : str
        "through the sheet", "through the openings", "round the edge", "out of the open side".
    loss : Quantity
        Loss of this path alone [dB], positive weakens, detuning not included; method in `source`.
    note : str
        What to know about it.
    """

    name: str
    loss: Quantity
    note: str = ""


def loss_quantity(value: float, low: float, high: float, source: str) -> Quantity:
    """Return a computed loss [dB] with its low to high band."""
    return Quantity(value, "dB", "computed", low, high, source, BAND_MEANING)


def no_scatter() -> Quantity:
    """Return the scatter of a loss that was stated for the direction that matters."""
    return loss_quantity(0.0, 0.0, 0.0, "contained in the stated attenuation")


@dataclass(frozen=True, slots=True)
class MetalEffect:
    """What the metal costs toward the far end, against the same antenna in free space.

    Parameters
    ----------
    toward : {"above", "beside", "below", "anywhere"}
        Side on which the far end is; "above" is behind a plate, "below" its lit side.
    detuning : Quantity or None
        At the antenna's port: power that the source no longer brings into the antenna, and what
        more its own loss takes, as is, not re-matched [dB]; None where it is contained in the
        total, and nobody knows it apart.
    paths : tuple of PathLoss
        Ways out, strongest first; empty where the user stated the loss.
    dominant : str
        Name of the path that carries most power.
    total : Quantity
        Loss toward the far end, detuning included [dB]; negative where the metal adds gain.
    largest_gain : Quantity or None
        How much the metal may raise the antenna's peak gain [dB], for the limit on power.
    cautions : tuple of str
        Where the estimate ends.
    scatter : Quantity
        How far a single direction may lie off the mean of its side [dB], round 0.
    """

    toward: FarEnd
    detuning: Quantity | None
    paths: tuple[PathLoss, ...]
    dominant: str
    total: Quantity
    largest_gain: Quantity | None
    cautions: tuple[str, ...]
    scatter: Quantity = field(default_factory=no_scatter)

    @property
    def way_out(self) -> Quantity:
        """Loss after the antenna's port, mean of the side [dB]: the total less the detuning.

        Its half-bands are such that, combined with those of the detuning as root of squares, they
        give the band of the total again.
        """
        if self.detuning is None:
            return self.total
        value = self.total.value - self.detuning.value
        (total_low, total_high), (low, high) = self.total.band, self.detuning.band
        down = _other_leg(self.total.value - total_low, self.detuning.value - low)
        up = _other_leg(total_high - self.total.value, high - self.detuning.value)
        return replace(self.total, value=value, low=value - down, high=value + up)

    @property
    def in_one_direction(self) -> Quantity:
        """Loss after the antenna's port toward one far end [dB]: the way out, with its scatter."""
        way_out = self.way_out
        low, high = way_out.band
        down = math.hypot(way_out.value - low, self.scatter.band[0])
        up = math.hypot(high - way_out.value, self.scatter.band[1])
        source = f"{way_out.source}; with the scatter of single directions"
        return replace(way_out, low=way_out.value - down, high=way_out.value + up, source=source)


def _other_leg(whole: float, leg: float) -> float:
    return math.sqrt(max(0.0, whole**2 - leg**2))


def scatter_of(name: str) -> Quantity:
    """Return the scatter of single directions by the name of its band."""
    band = metal_bands()[name]
    return loss_quantity(band.value, band.low, band.high, f"{band.source}: {band.source.note}")


def side_by_side(losses: Sequence[Quantity], source: str) -> Quantity:
    """Combine paths that carry power at the same time: values, lows and highs add as powers.

    Examples
    --------
    >>> two = side_by_side([Quantity(10.0, "dB", "computed"), Quantity(10.0, "dB", "computed")], "")
    >>> round(two.value, 2)
    6.99
    """
    value, low, high = (
        -power_sum_db([-min(loss_db, _NOTHING_LEFT_DB) for loss_db in column])
        for column in zip(*((loss.value, *loss.band) for loss in losses), strict=True)
    )
    return loss_quantity(value, low, high, source)


def one_after_another(first: Quantity, second: Quantity, source: str) -> Quantity:
    """Combine independent losses in series: values add, half-bands add as root of squares.

    Examples
    --------
    >>> a = loss_quantity(10.0, 7.0, 13.0, "")
    >>> one_after_another(a, loss_quantity(5.0, 1.0, 9.0, ""), "").band
    (10.0, 20.0)
    """
    value = first.value + second.value
    down = math.hypot(first.value - first.band[0], second.value - second.band[0])
    up = math.hypot(first.band[1] - first.value, second.band[1] - second.value)
    return loss_quantity(value, value - down, value + up, source)


def widened(loss: Quantity, by_db: float) -> Quantity:
    """Return the same loss with each end of its band moved out by `by_db` [dB]."""
    low, high = loss.band
    return replace(loss, low=low - by_db, high=high + by_db)


def strongest_first(paths: Sequence[PathLoss]) -> tuple[PathLoss, ...]:
    """Return the paths in rising order of loss."""
    return tuple(sorted(paths, key=lambda path: path.loss.value))
